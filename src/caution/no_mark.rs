//! Why there is no mark, most telling first. Of the program we say "no mark", never "refused".

use crate::caution::Whose;
use crate::caution::words::{day, days};
use crate::notation::print;
use crate::quantity::Exact;
use chrono::NaiveDate;
use std::fmt;

/// A reason for no mark.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum NoMark {
    /// The bottle in hand reads another strength than the prescription.
    WrongStrength {
        /// The bottle's number; none for one that is not in the book.
        bottle: Option<u32>,
        /// What its label reads.
        reads: String,
        /// What the prescription says it must read.
        must_read: String,
    },
    /// The bottle's expiry has passed.
    BottleExpired {
        /// Its number.
        bottle: u32,
        /// The last day it could be used.
        on: NaiveDate,
    },
    /// The bottle's time after opening has passed.
    BottlePastDiscard {
        /// Its number.
        bottle: u32,
        /// The last day it could be used.
        on: NaiveDate,
    },
    /// The time of the aliquot thawed last has passed, and others are still frozen.
    AliquotPastDiscard {
        /// The batch's number.
        bottle: u32,
        /// The last day it could be used.
        on: NaiveDate,
    },
    /// The only bottle of this medicine was discarded or ran dry.
    BottleGone {
        /// Its number.
        bottle: u32,
    },
    /// A dose by weight, and no weighing.
    NoWeight,
    /// The weight is more than four times as old as it should be.
    WeightTooOld {
        /// Its age in days.
        age: u32,
        /// Beyond which there is no mark, in days.
        limit: u32,
        /// Whose limit.
        whose: Whose,
    },
    /// The dose is less than the smallest line at hand.
    TooSmall {
        /// The calculated measure.
        calculated: String,
        /// The smallest step at hand.
        smallest: String,
    },
    /// The nearest line is too far from the calculated dose.
    BeyondTolerance {
        /// The calculated measure.
        calculated: String,
        /// How far the nearest line is.
        difference: Exact,
        /// How far it may be.
        limit: Exact,
        /// Whose limit.
        whose: Whose,
        /// On what instrument.
        instrument: String,
    },
    /// The dose is more than any barrel at hand holds.
    TooLarge {
        /// The calculated measure.
        calculated: String,
    },
    /// Nothing at hand is meant for this use.
    NoSyringe {
        /// For the mouth, or for injection.
        needed: &'static str,
    },
    /// A medicine measured in units, and only insulin barrels at hand.
    OnlyInsulinBarrels,
    /// The exact figures do not fit, or do not belong together.
    Figures {
        /// What is wrong.
        why: String,
    },
    /// The last dose was too recent, or the first one is still to come.
    TooSoon {
        /// When it opens, in local words.
        opens: String,
        /// When the last dose was, in local words, where there was one.
        last: Option<String>,
    },
    /// It would open only after it has closed.
    Held {
        /// Why, in words.
        why: String,
    },
    /// An earlier dose of the course has not been answered for.
    EarlierUnanswered {
        /// Its number.
        number: u32,
    },
    /// Late, and the vet wrote to call.
    LateCall,
    /// The prescription's last day has passed.
    PastValidity {
        /// That day.
        on: NaiveDate,
    },
    /// The review date has passed.
    PastReview {
        /// That day.
        on: NaiveDate,
    },
    /// The clock runs before the newest entry of the book.
    ClockBehind {
        /// When the newest entry was written, in local words.
        newest: String,
    },
    /// Part of the book that the mark depends on is damaged.
    Damaged {
        /// Which part, in words.
        part: String,
    },
    /// More may have gone in than the vet wrote, and the vet has not spoken about it yet.
    Unsettled {
        /// The entry of the record.
        entry: u64,
        /// What went wrong, in words.
        what: String,
    },
    /// Every mark is behind: not recorded in time.
    NotRecorded {
        /// When it was due, in local words.
        due: String,
    },
}

impl NoMark {
    /// A stable name for machines.
    pub const fn code(&self) -> &'static str {
        match self {
            NoMark::WrongStrength { .. } => "wrong_strength",
            NoMark::BottleExpired { .. } => "bottle_expired",
            NoMark::BottlePastDiscard { .. } => "bottle_past_discard",
            NoMark::AliquotPastDiscard { .. } => "aliquot_past_discard",
            NoMark::BottleGone { .. } => "bottle_gone",
            NoMark::NoWeight => "no_weight",
            NoMark::WeightTooOld { .. } => "weight_too_old",
            NoMark::TooSmall { .. } => "too_small",
            NoMark::BeyondTolerance { .. } => "beyond_tolerance",
            NoMark::TooLarge { .. } => "too_large",
            NoMark::NoSyringe { .. } => "no_syringe",
            NoMark::OnlyInsulinBarrels => "only_insulin_barrels",
            NoMark::Figures { .. } => "figures",
            NoMark::TooSoon { .. } => "too_soon",
            NoMark::Held { .. } => "held",
            NoMark::EarlierUnanswered { .. } => "earlier_unanswered",
            NoMark::LateCall => "late_call",
            NoMark::PastValidity { .. } => "past_validity",
            NoMark::PastReview { .. } => "past_review",
            NoMark::ClockBehind { .. } => "clock_behind",
            NoMark::Damaged { .. } => "damaged",
            NoMark::Unsettled { .. } => "unsettled",
            NoMark::NotRecorded { .. } => "not_recorded",
        }
    }

    /// Whose limit it is.
    pub const fn whose(&self) -> Whose {
        match self {
            NoMark::WeightTooOld { whose, .. } | NoMark::BeyondTolerance { whose, .. } => *whose,
            NoMark::WrongStrength { .. }
            | NoMark::TooSoon { .. }
            | NoMark::Held { .. }
            | NoMark::LateCall
            | NoMark::PastValidity { .. }
            | NoMark::PastReview { .. } => Whose::Vet,
            NoMark::BottleExpired { .. }
            | NoMark::BottlePastDiscard { .. }
            | NoMark::AliquotPastDiscard { .. } => Whose::Label,
            NoMark::BottleGone { .. }
            | NoMark::NoWeight
            | NoMark::TooSmall { .. }
            | NoMark::TooLarge { .. }
            | NoMark::NoSyringe { .. }
            | NoMark::OnlyInsulinBarrels
            | NoMark::Figures { .. }
            | NoMark::EarlierUnanswered { .. }
            | NoMark::ClockBehind { .. }
            | NoMark::Damaged { .. }
            | NoMark::Unsettled { .. }
            | NoMark::NotRecorded { .. } => Whose::Program,
        }
    }

    /// Whether a call to the vet is what comes next, rather than weighing or waiting.
    pub const fn asks_the_vet(&self) -> bool {
        !matches!(
            self,
            NoMark::NoWeight
                | NoMark::AliquotPastDiscard { .. }
                | NoMark::WeightTooOld { .. }
                | NoMark::TooSoon { .. }
                | NoMark::EarlierUnanswered { .. }
                | NoMark::ClockBehind { .. }
                | NoMark::Damaged { .. }
        )
    }

    /// Whether drawing all the same could do the greatest harm, so that it stands above all else.
    pub const fn stops(&self) -> bool {
        matches!(
            self,
            NoMark::WrongStrength { .. } | NoMark::Unsettled { .. }
        )
    }

    /// Whether waiting alone lifts it, so that it need not hold on a day to come.
    pub const fn lifts_with_time(&self) -> bool {
        matches!(self, NoMark::TooSoon { .. })
    }

    /// A few words for a headline: "Wrong strength in hand".
    pub const fn headline(&self) -> &'static str {
        match self {
            NoMark::WrongStrength { .. } => "Wrong strength in hand",
            NoMark::BottleExpired { .. } => "The bottle has expired",
            NoMark::BottlePastDiscard { .. } => "The bottle is past its discard date",
            NoMark::AliquotPastDiscard { .. } => "The thawed aliquot is past its date",
            NoMark::BottleGone { .. } => "The bottle is gone",
            NoMark::NoWeight => "No weight yet",
            NoMark::WeightTooOld { .. } => "The weight is too old",
            NoMark::TooSmall { .. } => "Too small for any line at hand",
            NoMark::BeyondTolerance { .. } => "No line comes close enough",
            NoMark::TooLarge { .. } => "Too large for any barrel at hand",
            NoMark::NoSyringe { .. } => "No syringe for this use",
            NoMark::OnlyInsulinBarrels => "Only insulin barrels at hand",
            NoMark::Figures { .. } => "The figures do not fit",
            NoMark::TooSoon { .. } => "Too soon",
            NoMark::Held { .. } => "Held",
            NoMark::EarlierUnanswered { .. } => "An earlier dose is not answered for",
            NoMark::LateCall => "Late",
            NoMark::PastValidity { .. } => "The prescription has run out",
            NoMark::PastReview { .. } => "The review date has passed",
            NoMark::ClockBehind { .. } => "The clock is behind the book",
            NoMark::Damaged { .. } => "The book is damaged",
            NoMark::Unsettled { .. } => "Your vet has not spoken yet",
            NoMark::NotRecorded { .. } => "Not recorded",
        }
    }
}

impl fmt::Display for NoMark {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            NoMark::WrongStrength { bottle, reads, must_read } => {
                match bottle {
                    Some(number) => write!(f, "Bottle {number}")?,
                    None => f.write_str("The bottle in hand")?,
                }
                write!(
                    f,
                    " reads {reads}, the prescription {must_read}. Draw nothing from it; ask your vet."
                )
            }
            NoMark::BottleExpired { bottle, on } => write!(
                f,
                "Bottle {bottle} expired after {} (the label's date). Set it aside; ask your vet for another.",
                day(*on)
            ),
            NoMark::BottlePastDiscard { bottle, on } => write!(
                f,
                "Bottle {bottle} was to be discarded after {} (the label's limit). Set it aside; ask your vet for another.",
                day(*on)
            ),
            NoMark::AliquotPastDiscard { bottle, on } => write!(
                f,
                "The aliquot of bottle {bottle} thawed last was to be used through {} (the label's limit). Discard it, thaw the next one, and record that with 'scruple bottle thaw'.",
                day(*on)
            ),
            NoMark::BottleGone { bottle } => write!(
                f,
                "Bottle {bottle} is empty or discarded. Record the next one with 'scruple bottle open', or ask your vet."
            ),
            NoMark::NoWeight => f.write_str("There is no weighing in the book. Weigh the animal, then look again."),
            NoMark::WeightTooOld { age, limit, whose } => write!(
                f,
                "The weight is {} old; beyond {} there is no mark (four times {}). Weigh the animal, then look again.",
                days(*age),
                days(*limit),
                match whose {
                    Whose::Vet => "your vet's limit",
                    Whose::Keeper => "your setting",
                    Whose::Program | Whose::Label => "the program's setting, not your vet's",
                }
            ),
            NoMark::TooSmall { calculated, smallest } => write!(
                f,
                "The dose is {calculated} and the smallest line at hand is {smallest}. Nothing at hand can measure it; ask your vet."
            ),
            NoMark::BeyondTolerance { calculated, difference, limit, whose, instrument } => write!(
                f,
                "The dose is {calculated}; the nearest line of {instrument} is {} {}, and the limit is {} ({}). Ask your vet.",
                print::percent(*difference, Some(*limit)),
                if difference.is_negative() { "less" } else { "more" },
                print::percent(*limit, None),
                whose.words()
            ),
            NoMark::TooLarge { calculated } => {
                write!(f, "The dose is {calculated}, more than any barrel at hand holds. Ask your vet.")
            }
            NoMark::NoSyringe { needed } => write!(
                f,
                "No syringe {needed} is at hand. Add the one you have with 'scruple syringe add', or ask your vet."
            ),
            NoMark::OnlyInsulinBarrels => f.write_str(
                "This medicine is measured in units, and an insulin barrel counts units of another strength. Ask your vet for a syringe marked in mL.",
            ),
            NoMark::Figures { why } => write!(f, "{why}."),
            NoMark::TooSoon { opens, last } => {
                match last {
                    Some(last) => write!(f, "The last dose was {last}.")?,
                    None => f.write_str("It is too soon.")?,
                }
                write!(f, " Give nothing now; it opens {opens}, and its mark is shown from then on.")
            }
            NoMark::Held { why } => write!(f, "{why} Ask your vet."),
            NoMark::EarlierUnanswered { number } => write!(
                f,
                "Dose {number} has not been answered for. Ask everyone who could have given it, then record it; if unsure do not give, call."
            ),
            NoMark::LateCall => f.write_str("It is late, and your vet wrote to call when a dose is late."),
            NoMark::PastValidity { on } => write!(
                f,
                "The prescription was valid until {} (your vet's date). Ask your vet.",
                day(*on)
            ),
            NoMark::PastReview { on } => write!(
                f,
                "The course was to be reviewed by {} (your vet's date). Ask your vet.",
                day(*on)
            ),
            NoMark::ClockBehind { newest } => write!(
                f,
                "The clock is behind the newest entry of the book, {newest}. Set the clock right, then look again."
            ),
            NoMark::Damaged { part } => write!(
                f,
                "{part} is damaged in the book, and this mark depends on it. Look at your last copy of the book; if unsure, call."
            ),
            NoMark::Unsettled { entry, what } => write!(
                f,
                "Entry {entry}: {what}. Draw nothing until your vet has said how to go on, and that is recorded (scruple instruct, --settled {entry})."
            ),
            NoMark::NotRecorded { due } => write!(
                f,
                "Not recorded, due {due}: ask everyone who could have given it; if unsure do not give, call."
            ),
        }
    }
}
