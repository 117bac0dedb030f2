//! What a person says became of a dose, and how a course ended.

use serde::{Deserialize, Serialize};
use std::fmt;

/// What became of a dose.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Outcome {
    /// All of it was given.
    Given,
    /// Some of it was given.
    PartlyGiven,
    /// It was given and brought up again, or spat out.
    BroughtUp,
    /// The animal would not take it; nothing went in.
    Refused,
    /// It was not given.
    Missed,
    /// It was left out on the vet's instruction.
    Withheld,
    /// Nobody knows whether it was given.
    Unsure,
}

impl Outcome {
    /// Whether medicine went in, or may have: such a dose closes its slot and the gate.
    #[must_use]
    pub const fn closes_the_gate(self) -> bool {
        matches!(
            self,
            Self::Given | Self::PartlyGiven | Self::BroughtUp | Self::Unsure
        )
    }

    /// Whether medicine surely went in.
    #[must_use]
    pub const fn went_in(self) -> bool {
        matches!(self, Self::Given | Self::PartlyGiven | Self::BroughtUp)
    }

    /// Whether it happened at a moment of its own, which says what slot it belongs to; the others
    /// are answers to what became of a slot.
    #[must_use]
    pub const fn has_its_own_time(self) -> bool {
        matches!(
            self,
            Self::Given | Self::PartlyGiven | Self::BroughtUp | Self::Refused
        )
    }
}

impl fmt::Display for Outcome {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(match self {
            Self::Given => "given",
            Self::PartlyGiven => "partly given",
            Self::BroughtUp => "brought up",
            Self::Refused => "refused by the animal",
            Self::Missed => "missed",
            Self::Withheld => "withheld",
            Self::Unsure => "unsure",
        })
    }
}

/// How a course, or an animal's stay, ended.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Ending {
    /// The animal died.
    Died,
    /// The animal went to a new home.
    Rehomed,
    /// The animal went into other care.
    Transferred,
    /// The vet stopped the course.
    StoppedByVet,
}

impl fmt::Display for Ending {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(match self {
            Self::Died => "the animal died",
            Self::Rehomed => "the animal was rehomed",
            Self::Transferred => "the animal was transferred",
            Self::StoppedByVet => "the vet stopped it",
        })
    }
}
