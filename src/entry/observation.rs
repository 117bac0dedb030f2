//! What somebody saw about an animal, in their own words.
//!
//! Promises: the words are kept as typed. Nothing is computed from them: whether what was seen is
//! one of the vet's signs is for a person to say.

use serde::{Deserialize, Serialize};
use std::fmt;

/// What an observation is about.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum About {
    /// What it ate.
    Appetite,
    /// What it passed.
    Droppings,
    /// Its skin coming off.
    Shedding,
    /// A wound.
    Wound,
    /// Anything else.
    #[default]
    Other,
}

impl About {
    /// A stable name for machines, and the word that is shown.
    #[must_use]
    pub const fn word(self) -> &'static str {
        match self {
            Self::Appetite => "appetite",
            Self::Droppings => "droppings",
            Self::Shedding => "shedding",
            Self::Wound => "wound",
            Self::Other => "other",
        }
    }
}

impl fmt::Display for About {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(self.word())
    }
}

/// One observation.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Observation {
    /// What it is about.
    pub about: About,
    /// What was seen, in the person's own words.
    pub words: String,
    /// Initials.
    pub by: Option<String>,
}
