//! One container in hand: its own label strength, its dates, and whether it may still be used.
//!
//! Promises: the bottle in hand decides, so its strength is the one typed from its own label; a
//! discard date never outlives the expiry. Whether that strength is the prescription's is judged
//! in `dose`.

use crate::notation::Written;
use crate::quantity::Strength;
use chrono::{Days, NaiveDate};
use serde::{Deserialize, Serialize};

/// A bottle, tube, box or vial.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Bottle {
    /// Its number in the book, from 1.
    pub number: u32,
    /// The medicine's name as on the label.
    pub medicine: String,
    /// The strength as on the label; none for a medicine whose label states none.
    pub strength: Option<Written<Strength>>,
    /// The lot on the label.
    pub lot: Option<String>,
    /// The last day it may be used, whatever else.
    pub expiry: NaiveDate,
    /// The day it was opened.
    pub opened: NaiveDate,
    /// For how many days after opening it may be used, as the label or the vet says.
    pub days_after_opening: Option<u32>,
}

/// Whether a bottle may be used on a day.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Usable {
    /// It may, through this day.
    Through(NaiveDate),
    /// Its expiry has passed.
    Expired(NaiveDate),
    /// Its time after opening has passed.
    PastDiscard(NaiveDate),
    /// It was not yet open on that day.
    NotYetOpen(NaiveDate),
}

impl Bottle {
    /// The last day it may be used: opening plus the days allowed, or the expiry if sooner.
    pub fn last_day(&self) -> NaiveDate {
        let after_opening = self
            .days_after_opening
            .and_then(|days| self.opened.checked_add_days(Days::new(u64::from(days))));
        after_opening.map_or(self.expiry, |day| day.min(self.expiry))
    }

    /// Whether it may be used on `day`.
    pub fn usable_on(&self, day: NaiveDate) -> Usable {
        let last = self.last_day();
        if day > self.expiry {
            Usable::Expired(self.expiry)
        } else if day > last {
            Usable::PastDiscard(last)
        } else if day < self.opened {
            Usable::NotYetOpen(self.opened)
        } else {
            Usable::Through(last)
        }
    }

    /// Whether its label strength is this one: by value, however written.
    pub fn reads(&self, strength: Option<&Written<Strength>>) -> bool {
        self.strength.as_ref().map(Written::value) == strength.map(Written::value)
    }
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]
    use super::*;
    use crate::notation::Notation;

    fn day(month: u32, day: u32) -> NaiveDate {
        NaiveDate::from_ymd_opt(2001, month, day).unwrap()
    }

    fn bottle(days_after_opening: Option<u32>) -> Bottle {
        Bottle {
            number: 1,
            medicine: "Madeup Amber".to_owned(),
            strength: Some(Strength::read("8 mg/mL").unwrap()),
            lot: None,
            expiry: day(3, 20),
            opened: day(3, 1),
            days_after_opening,
        }
    }

    #[test]
    fn the_last_day_is_the_sooner_of_the_two() {
        assert_eq!(bottle(Some(9)).last_day(), day(3, 10));
        assert_eq!(bottle(Some(28)).last_day(), day(3, 20));
        assert_eq!(bottle(None).last_day(), day(3, 20));
    }

    #[test]
    fn it_may_be_used_through_its_last_day() {
        let bottle = bottle(Some(9));
        assert_eq!(bottle.usable_on(day(3, 10)), Usable::Through(day(3, 10)));
        assert_eq!(
            bottle.usable_on(day(3, 11)),
            Usable::PastDiscard(day(3, 10))
        );
        assert_eq!(bottle.usable_on(day(3, 21)), Usable::Expired(day(3, 20)));
        assert_eq!(bottle.usable_on(day(2, 28)), Usable::NotYetOpen(day(3, 1)));
    }

    #[test]
    fn strengths_are_compared_by_value() {
        let same = Strength::read("40 mg per 5 mL").unwrap();
        let other = Strength::read("10 mg/mL").unwrap();
        assert!(bottle(None).reads(Some(&same)));
        assert!(!bottle(None).reads(Some(&other)));
        assert!(!bottle(None).reads(None));
    }
}
