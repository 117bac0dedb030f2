//! One container in hand: its own label strength, its dates, and whether it may still be used.
//!
//! Promises: the bottle in hand decides, so its strength is the one typed from its own label; a
//! discard date never outlives the expiry; the days of a frozen batch count from the thawing of
//! each aliquot. Whether that strength is the prescription's is judged in `dose`, and how much is
//! left in `round`.

use crate::notation::Written;
use crate::quantity::{Amount, Strength};
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
    /// How much of the product was in it when it was opened, or in each aliquot of a batch: mL,
    /// tablets, or g of paste.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub holds: Option<Written<Amount>>,
    /// Of a bottle that was made up: when, and how it was divided.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub batch: Option<Batch>,
}

/// How a batch was made up. Its final strength is the bottle's, as the vet or the pharmacist
/// wrote it; nothing is computed from what went into it.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Batch {
    /// The day it was made up.
    pub made_up: NaiveDate,
    /// Into how many aliquots it was frozen; none where it was not.
    pub aliquots: Option<u32>,
    /// The days on which aliquots were thawed, in the order it was recorded. Each thawing is an
    /// entry of its own, so there are none when it is opened into the book.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub thawed: Vec<NaiveDate>,
}

impl Batch {
    /// How many aliquots are still frozen; none where it was never frozen.
    #[must_use]
    pub fn frozen(&self) -> Option<u32> {
        let thawed = u32::try_from(self.thawed.len()).unwrap_or(u32::MAX);
        self.aliquots.map(|all| all.saturating_sub(thawed))
    }
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
    /// The last day it may be used: opening plus the days allowed, or the expiry if sooner. Of a
    /// batch of aliquots, that of the one thawed latest; of one that is all frozen, the expiry.
    pub fn last_day(&self) -> NaiveDate {
        self.in_use_since()
            .map_or(self.expiry, |day| self.last_day_from(day))
    }

    /// The last day of what is taken into use on a day: the days allowed after it, or the expiry
    /// if sooner.
    #[must_use]
    pub fn last_day_from(&self, day: NaiveDate) -> NaiveDate {
        let after = self
            .days_after_opening
            .and_then(|days| day.checked_add_days(Days::new(u64::from(days))));
        after.map_or(self.expiry, |day| day.min(self.expiry))
    }

    /// The day from which the days allowed are counted; none while a batch is all frozen.
    fn in_use_since(&self) -> Option<NaiveDate> {
        match &self.batch {
            Some(batch) if batch.aliquots.is_some() => batch.thawed.iter().max().copied(),
            _ => Some(self.opened),
        }
    }

    /// Whether it is a batch of aliquots of which none was thawed yet.
    #[must_use]
    pub fn is_all_frozen(&self) -> bool {
        self.in_use_since().is_none()
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
            holds: None,
            batch: None,
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

    /// Made up on 1 March in three aliquots, each good for 4 days once thawed.
    #[test]
    fn the_days_of_a_batch_count_from_each_thawing() {
        let mut batch = bottle(Some(4));
        batch.batch = Some(Batch {
            made_up: day(3, 1),
            aliquots: Some(3),
            thawed: Vec::new(),
        });
        assert!(batch.is_all_frozen());
        assert_eq!(batch.last_day(), day(3, 20));
        for (thawed, last, frozen) in [(3, 7, 2), (8, 12, 1), (18, 20, 0)] {
            let batch_of = batch.batch.as_mut().unwrap();
            batch_of.thawed.push(day(3, thawed));
            assert_eq!(batch_of.frozen(), Some(frozen));
            assert_eq!(batch.last_day(), day(3, last));
        }
        assert!(!batch.is_all_frozen());
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
