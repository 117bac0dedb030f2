//! What is at hand to measure a dose with, and the only rounding in the program.
//!
//! Promises: a dose is rounded once, to a whole number of graduations of one named instrument;
//! never above the vet's cap; and where nothing at hand comes within the tolerance there is no
//! mark. Which animal, which medicine and why are not known here.

mod mark;
mod spoken;
mod syringe;
#[cfg(test)]
mod tests;

pub use mark::{Limits, Mark, Unfit, Wanted};
pub use spoken::Spoken;
pub use syringe::{Needle, PrintedScale, Syringe, SyringeError};

use crate::quantity::{Exact, Measure, OutOfRange, ProductMass, Tablets};
use serde::{Deserialize, Serialize};

/// How a dose goes in, as far as an instrument cares.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub enum Use {
    /// Through a needle.
    Injection,
    /// By mouth.
    Mouth,
}

/// Which way the one rounding goes; the vet may write down or up.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
pub enum Rounding {
    /// To the nearest graduation; a tie to the lower.
    #[default]
    Nearest,
    /// To the graduation below.
    Down,
    /// To the graduation above.
    Up,
}

/// Into what a tablet may be cut, as the vet allows.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
pub enum Cut {
    /// Not at all.
    #[default]
    Whole,
    /// Into halves.
    Halves,
    /// Into quarters.
    Quarters,
}

/// One instrument: it has a smallest step, perhaps a capacity, and a tolerance.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Instrument {
    /// A syringe of the rack.
    Syringe(Syringe),
    /// Tablets, cut as the vet allows.
    Tablets(Cut),
    /// A scale for paste, by its readability.
    PasteScale(ProductMass),
}

impl Instrument {
    /// The smallest step that can be acted on.
    pub fn step(&self) -> Measure {
        match self {
            Instrument::Syringe(syringe) => Measure::Volume(syringe.graduation()),
            Instrument::Tablets(cut) => {
                let parts = match cut {
                    Cut::Whole => 1,
                    Cut::Halves => 2,
                    Cut::Quarters => 4,
                };
                Measure::Tablets(Tablets::from_count(
                    Exact::ratio(1, parts).unwrap_or(Exact::ONE),
                ))
            }
            Instrument::PasteScale(readability) => Measure::Product(*readability),
        }
    }

    /// The most it takes at once; none where there is no limit.
    pub fn capacity(&self) -> Option<Measure> {
        match self {
            Instrument::Syringe(syringe) => Some(Measure::Volume(syringe.capacity())),
            Instrument::Tablets(_) | Instrument::PasteScale(_) => None,
        }
    }

    /// How far what it delivers may be from the mark, in the measure's own unit: for a syringe
    /// the volumetric tolerance, for a scale half its readability, for a tablet nothing known.
    ///
    /// # Errors
    /// [`OutOfRange`]
    pub fn tolerance(&self, at: Measure) -> Result<Exact, OutOfRange> {
        match (self, at) {
            (Instrument::Syringe(syringe), Measure::Volume(volume)) => {
                Ok(syringe.tolerance(volume)?.millilitres())
            }
            (Instrument::PasteScale(readability), _) => readability.grams().over(Exact::whole(2)),
            _ => Ok(Exact::ZERO),
        }
    }

    /// The syringe, where it is one.
    pub fn syringe(&self) -> Option<&Syringe> {
        match self {
            Instrument::Syringe(syringe) => Some(syringe),
            Instrument::Tablets(_) | Instrument::PasteScale(_) => None,
        }
    }

    /// In words, for a card: "0.3 mL, fixed needle, a line every 0.005 mL".
    pub fn words(&self) -> String {
        match self {
            Instrument::Syringe(syringe) => syringe.words(),
            Instrument::Tablets(Cut::Whole) => "whole tablets".to_owned(),
            Instrument::Tablets(Cut::Halves) => "tablets that can be cut into halves".to_owned(),
            Instrument::Tablets(Cut::Quarters) => {
                "tablets that can be cut into quarters".to_owned()
            }
            Instrument::PasteScale(readability) => {
                let step = crate::notation::print::figure(readability.grams());
                format!("a scale that reads {step} g")
            }
        }
    }
}
