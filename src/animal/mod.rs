//! Who the patient is, and its weighings through time.
//!
//! Promises: the age of a weight counts calendar days; the latest weighing is the latest by when
//! it happened, then by when it was written down. No limit is judged here: the limits are
//! settings, and `dose` holds them against these facts.

mod weighing;

pub use weighing::{Slip, Tag, Weighing, Weights, is_tenfold, slip_between};

use serde::{Deserialize, Serialize};

/// One patient.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Animal {
    /// Its name, unique in the book after folding case, spaces and accents.
    pub name: String,
    /// What it is, in the keeper's words.
    pub species: String,
    /// What tells it from the others: tub, marks, chip.
    pub identification: String,
    /// Held apart: worked with last.
    pub quarantine: bool,
}
