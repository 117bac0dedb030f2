//! The words of a caution: what was measured, the limit, whose it is, what to do next.

use crate::caution::{Caution, Since};
use crate::notation::print;
use chrono::NaiveDate;
use std::fmt;

/// "8 March 2001", as a person reads a date.
pub(super) fn day(date: NaiveDate) -> impl fmt::Display {
    date.format("%-d %B %Y")
}

impl fmt::Display for Caution {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let whose = self.whose().words();
        match self {
            Caution::Loss {
                before,
                on,
                now,
                share,
                limit,
                since,
                ..
            } => {
                let since = match since {
                    Since::HighOf28Days => "the highest of 28 days",
                    Since::CourseStart => "the start of the course",
                };
                write!(
                    f,
                    "{now} is {} below {before} on {}, {since}; the limit is {} ({whose}). Call before you give anything.",
                    print::percent(*share, Some(*limit)),
                    day(*on),
                    print::percent(*limit, None),
                )
            }
            Caution::Tenfold { now, other, on } => {
                write!(
                    f,
                    "{now} is about ten times as much or as little as {other}"
                )?;
                match on {
                    Some(on) => write!(f, " on {}", day(*on))?,
                    None => f.write_str(", which your vet wrote")?,
                }
                write!(
                    f,
                    " ({whose}). Weigh once more; if it stays, call before you give anything."
                )
            }
            Caution::Unsettled { entry, what } => write!(
                f,
                "Entry {entry}: {what}, and your vet has not spoken about it yet. Call before you give anything; then record what was said (scruple instruct, --settled {entry})."
            ),
            Caution::WeighNow { ladder: true } => write!(
                f,
                "Weigh before this dose, then read the ladder: the prescription wants it every time ({whose} rule)."
            ),
            Caution::WeighNow { ladder: false } => write!(
                f,
                "Weigh before this dose: the prescription wants it every time ({whose} rule). The mark goes by another weight and stays."
            ),
            Caution::OldWeight { age, limit, .. } => write!(
                f,
                "The weight is {} old; the limit is {} ({whose}). Weigh again before you draw.",
                days(*age),
                days(*limit)
            ),
            Caution::NeverWeighed => write!(
                f,
                "The dose goes by a weight your vet wrote, and no weighing stands in the book ({whose}). Weigh when you can."
            ),
            Caution::Tagged { tag } => write!(
                f,
                "The weight was taken {tag}, so it may mislead ({whose}). Weigh again if you can."
            ),
            Caution::Capped { cap } => {
                write!(
                    f,
                    "The dose by weight is more than {cap} ({whose} limit), so it stops there."
                )
            }
            Caution::Rounded {
                difference, limit, ..
            } => write!(
                f,
                "The mark is {} {} than calculated; pointed out above {} ({whose}). Ask your vet if you are unsure.",
                print::percent(*difference, Some(*limit)),
                if difference.is_negative() {
                    "less"
                } else {
                    "more"
                },
                print::percent(*limit, None),
            ),
            Caution::LittleOfTheBarrel { better: None } => write!(
                f,
                "This is less than 20 percent of the barrel, where syringes are less exact ({whose}). Ask your vet for a smaller one."
            ),
            Caution::LittleOfTheBarrel {
                better: Some(better),
            } => write!(
                f,
                "This is less than 20 percent of the barrel, where syringes are less exact ({whose}). At hand: {better}."
            ),
            Caution::BetterSyringe { better } => write!(
                f,
                "The syringe last used stays; a finer one is at hand: {better} ({whose}). Name it when you give if you use it."
            ),
            Caution::Jump {
                last,
                changed,
                more,
            } => {
                let size = if *more {
                    "more than 1.5 times"
                } else {
                    "less than two thirds of"
                };
                write!(
                    f,
                    "This is {size} the last volume in this course, {last} ({whose})."
                )?;
                match changed {
                    Some(changed) => write!(f, " In between: {changed}."),
                    None => f.write_str(" Check the weight and the bottle; if unsure, call."),
                }
            }
            Caution::BottleNotInBook => write!(
                f,
                "No bottle of this is in the book ({whose}). Read its label, then record it with 'scruple bottle open'."
            ),
            Caution::DiscardAfter { bottle, on, expiry } => {
                let why = if *expiry {
                    "its expiry"
                } else {
                    "days after opening"
                };
                write!(
                    f,
                    "Discard bottle {bottle} after {} ({why}, {whose}).",
                    day(*on)
                )
            }
            Caution::NotThawed { bottle } => write!(
                f,
                "Bottle {bottle} is a batch of frozen aliquots and none is recorded as thawed ({whose}). Thaw one, record it with 'scruple bottle thaw', and never freeze it again."
            ),
        }
    }
}

/// "1 day", "12 days".
pub(super) fn days(n: u32) -> String {
    if n == 1 {
        "1 day".to_owned()
    } else {
        format!("{} days", print::count(u64::from(n)))
    }
}
