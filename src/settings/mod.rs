//! What the keeper sets: zone, paper, scale, limits, order of work.
//!
//! Promises: every limit knows whose it is. None of them is medical: they are how old a weight
//! may be, how far a mark may be rounded, and how much a weight may change before the keeper is
//! told to call. What the vet writes in a prescription replaces them.

mod change;

pub use change::{Setting, SettingError, read_scale};

use crate::caution::Whose;
use crate::notation::{Notation, NotationError, Written};
use crate::quantity::{BodyWeight, Exact};
use serde::{Deserialize, Serialize};

/// The paper that sheets are printed on.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
pub enum PaperSize {
    /// 210 by 297 mm.
    #[default]
    A4,
    /// 8.5 by 11 inches.
    Letter,
}

/// A limit and whether the keeper set it.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Limit {
    /// Days, or percent, as the setting's name says.
    pub value: u32,
    /// Set by the keeper rather than come with the program.
    pub set: bool,
}

impl Limit {
    const fn program(value: u32) -> Limit {
        Limit { value, set: false }
    }

    const fn keeper(value: u32) -> Limit {
        Limit { value, set: true }
    }

    /// Whose limit it is.
    pub const fn whose(self) -> Whose {
        if self.set {
            Whose::Keeper
        } else {
            Whose::Program
        }
    }

    /// A percentage as a share.
    pub fn share(self) -> Exact {
        Exact::ratio(i128::from(self.value), 100).unwrap_or(Exact::ZERO)
    }
}

const WEIGHT_AGE: Limit = Limit::program(7);
const ROUNDING_CAUTION: Limit = Limit::program(5);
const ROUNDING_MOST: Limit = Limit::program(10);
const LOSS: Limit = Limit::program(10);
const LOSS_SINCE_START: Limit = Limit::program(20);

/// The settings of one book.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Settings {
    /// The IANA name of the zone the animals live in.
    pub zone: String,
    /// The paper.
    pub paper: PaperSize,
    /// The smallest step the scale shows.
    pub readability: Written<BodyWeight>,
    /// Everything in the book is invented.
    pub demonstration: bool,
    /// A weight older than so many days is pointed out; above four times as many, no mark.
    pub weight_age_days: Limit,
    /// A mark further from the calculated dose than so many percent is pointed out.
    pub rounding_caution_percent: Limit,
    /// A mark further from the calculated dose than so many percent is no mark.
    pub rounding_most_percent: Limit,
    /// So many percent below the highest of 28 days: call.
    pub loss_percent: Limit,
    /// So many percent below the weight at the start of the course: call.
    pub loss_since_start_percent: Limit,
    /// The keeper's order of work; animals not named come after, those in quarantine last.
    pub order: Vec<String>,
}

impl Settings {
    /// The settings of a new book. The limits are the program's own choices, not published
    /// figures: no source gives a number of days after which a weight is too old.
    ///
    /// # Errors
    /// [`NotationError`] when the readability is not a weight.
    pub fn new(
        zone: String,
        paper: PaperSize,
        readability: &str,
        demonstration: bool,
    ) -> Result<Settings, NotationError> {
        Ok(Settings {
            zone,
            paper,
            readability: BodyWeight::read(readability)?,
            demonstration,
            weight_age_days: WEIGHT_AGE,
            rounding_caution_percent: ROUNDING_CAUTION,
            rounding_most_percent: ROUNDING_MOST,
            loss_percent: LOSS,
            loss_since_start_percent: LOSS_SINCE_START,
            order: Vec::new(),
        })
    }
}
