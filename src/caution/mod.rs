//! Checks that spoke: what was measured, the limit, whose limit it is, what to do next.
//!
//! Promises: every finding is data first and words second, and its words name the limit's owner.
//! Nothing is judged here: a finding says what another room found.

mod no_mark;
mod words;

pub use no_mark::NoMark;

use crate::notation::Written;
use crate::quantity::{Amount, BodyWeight, Exact};
use chrono::NaiveDate;
use serde::Serialize;

/// Whose limit it is.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Whose {
    /// The prescription says so.
    Vet,
    /// The keeper set it.
    Keeper,
    /// It came with the program.
    Program,
    /// It stands on the bottle.
    Label,
}

impl Whose {
    /// As it is printed beside every limit.
    pub const fn words(self) -> &'static str {
        match self {
            Whose::Vet => "your vet's",
            Whose::Keeper => "your setting",
            Whose::Program => "the program's setting, not your vet's",
            Whose::Label => "the label's",
        }
    }
}

/// How loud a finding is.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Level {
    /// Call the vet before anything is given.
    Call,
    /// Look twice.
    Caution,
    /// Worth knowing.
    Note,
}

/// Since when an animal has lost weight.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Since {
    /// The heaviest of the last 28 days.
    HighOf28Days,
    /// The weight behind the first dose of the course.
    CourseStart,
}

/// A finding beside a mark.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Caution {
    /// The animal has lost weight.
    Loss {
        /// What it weighed.
        before: Written<BodyWeight>,
        /// When.
        on: NaiveDate,
        /// What it weighs.
        now: Written<BodyWeight>,
        /// The share lost.
        share: Exact,
        /// The share at which to call.
        limit: Exact,
        /// Since when.
        since: Since,
        /// Whose limit.
        whose: Whose,
    },
    /// The weight is about ten times another, or so many times less: a point has more likely
    /// moved than the animal grown.
    Tenfold {
        /// What it weighs.
        now: Written<BodyWeight>,
        /// What it was held against.
        other: Written<BodyWeight>,
        /// The day of that weighing; none for the weight that the vet wrote.
        on: Option<NaiveDate>,
    },
    /// The prescription wants a weighing on the day of every dose, and there is none.
    WeighNow {
        /// The dose goes by that weighing, so the ladder tells its mark.
        ladder: bool,
    },
    /// Something went wrong with an earlier dose, and the vet has not spoken about it yet.
    Unsettled {
        /// The entry of the record.
        entry: u64,
        /// What went wrong, in words.
        what: String,
    },
    /// The weight is older than it should be.
    OldWeight {
        /// Its age in days.
        age: u32,
        /// The most it should be, in days.
        limit: u32,
        /// Whose limit.
        whose: Whose,
    },
    /// No weighing stands behind a weight that the vet fixed.
    NeverWeighed,
    /// The weight was taken in a state that misleads.
    Tagged {
        /// The state.
        tag: &'static str,
    },
    /// The dose by weight was more than the vet's cap, and was cut to it.
    Capped {
        /// The vet's cap.
        cap: Written<Amount>,
    },
    /// The mark is some way from the calculated dose.
    Rounded {
        /// The share, with its sign.
        difference: Exact,
        /// The share above which it is pointed out.
        limit: Exact,
        /// Whose limit.
        whose: Whose,
    },
    /// The mark uses little of the barrel, where syringes are less exact.
    LittleOfTheBarrel {
        /// A better syringe at hand.
        better: Option<String>,
    },
    /// The syringe last used stays, but a better one is at hand.
    BetterSyringe {
        /// In words.
        better: String,
    },
    /// The mark differs much from the last one given in this course.
    Jump {
        /// The last volume.
        last: String,
        /// What changed in between, if a strength or a rate did.
        changed: Option<String>,
        /// Whether it is more than the last.
        more: bool,
    },
    /// No bottle of this medicine is in the book.
    BottleNotInBook,
    /// The bottle must not be used after this day.
    DiscardAfter {
        /// Its number.
        bottle: u32,
        /// The day.
        on: NaiveDate,
        /// Whether the expiry is what ends it.
        expiry: bool,
    },
    /// The bottle is a batch of frozen aliquots, and none was thawed.
    NotThawed {
        /// Its number.
        bottle: u32,
    },
}

impl Caution {
    /// How loud.
    pub const fn level(&self) -> Level {
        match self {
            Caution::Loss { .. } | Caution::Tenfold { .. } | Caution::Unsettled { .. } => {
                Level::Call
            }
            Caution::Capped { .. } | Caution::DiscardAfter { .. } => Level::Note,
            Caution::WeighNow { .. }
            | Caution::OldWeight { .. }
            | Caution::NeverWeighed
            | Caution::Tagged { .. }
            | Caution::Rounded { .. }
            | Caution::LittleOfTheBarrel { .. }
            | Caution::BetterSyringe { .. }
            | Caution::Jump { .. }
            | Caution::BottleNotInBook
            | Caution::NotThawed { .. } => Level::Caution,
        }
    }

    /// A stable name for machines.
    pub const fn code(&self) -> &'static str {
        match self {
            Caution::Loss { .. } => "weight_loss",
            Caution::Tenfold { .. } => "tenfold_weight",
            Caution::WeighNow { .. } => "weigh_now",
            Caution::Unsettled { .. } => "unsettled",
            Caution::OldWeight { .. } => "old_weight",
            Caution::NeverWeighed => "never_weighed",
            Caution::Tagged { .. } => "tagged_weight",
            Caution::Capped { .. } => "capped",
            Caution::Rounded { .. } => "rounded",
            Caution::LittleOfTheBarrel { .. } => "little_of_the_barrel",
            Caution::BetterSyringe { .. } => "better_syringe",
            Caution::Jump { .. } => "jump",
            Caution::BottleNotInBook => "bottle_not_in_book",
            Caution::DiscardAfter { .. } => "discard_after",
            Caution::NotThawed { .. } => "not_thawed",
        }
    }

    /// Whose limit it is.
    pub const fn whose(&self) -> Whose {
        match self {
            Caution::Loss { whose, .. }
            | Caution::OldWeight { whose, .. }
            | Caution::Rounded { whose, .. } => *whose,
            Caution::WeighNow { .. } | Caution::Capped { .. } => Whose::Vet,
            Caution::DiscardAfter { .. } => Whose::Label,
            Caution::Tenfold { .. }
            | Caution::Unsettled { .. }
            | Caution::NeverWeighed
            | Caution::Tagged { .. }
            | Caution::LittleOfTheBarrel { .. }
            | Caution::BetterSyringe { .. }
            | Caution::Jump { .. }
            | Caution::BottleNotInBook
            | Caution::NotThawed { .. } => Whose::Program,
        }
    }
}
