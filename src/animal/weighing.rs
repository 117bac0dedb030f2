//! Weighings of one animal, and what can be read off them: the latest, the high of 28 days, a
//! change too quick to be true.

use crate::notation::Written;
use crate::quantity::{BodyWeight, Exact};
use crate::zone::Zone;
use chrono::{DateTime, NaiveDate, TimeDelta, Utc};
use serde::{Deserialize, Serialize};
use std::fmt;

/// What may make a weight misleading; it still counts, and the tag is shown beside it.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub enum Tag {
    /// Fed not long before.
    JustFed,
    /// Carrying eggs or young.
    Gravid,
    /// Weighed wet.
    Wet,
}

impl Tag {
    /// As it is shown beside the weight.
    pub const fn words(self) -> &'static str {
        match self {
            Tag::JustFed => "just fed",
            Tag::Gravid => "gravid",
            Tag::Wet => "wet",
        }
    }
}

impl fmt::Display for Tag {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(self.words())
    }
}

/// One body weight at one time.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Weighing {
    /// The entry that holds it; a later entry has a greater one.
    pub entry: u64,
    /// When it happened.
    pub at: DateTime<Utc>,
    /// As typed.
    pub weight: Written<BodyWeight>,
    /// The smallest step the scale shows.
    pub readability: Written<BodyWeight>,
    /// What may make it misleading.
    pub tag: Option<Tag>,
}

impl Weighing {
    /// The local day it happened on.
    pub fn day(&self, zone: Zone) -> NaiveDate {
        self.at.with_timezone(&zone).date_naive()
    }

    /// Its age on a day, in calendar days; none for a weighing after that day.
    pub fn age_in_days(&self, on: NaiveDate, zone: Zone) -> Option<u32> {
        u32::try_from(on.signed_duration_since(self.day(zone)).num_days()).ok()
    }
}

/// A weighing that is more likely a slip of the pen than a change in the animal.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Slip {
    /// Eight to twelve and a half times the last one, or so many times less: a moved point.
    Tenfold,
    /// More than a quarter up or down within seven days: the share.
    Quick(Exact),
    /// Two weighings at one time that differ by more than the scale reads.
    Disagrees,
}

/// All weighings of one animal, oldest first.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Weights(Vec<Weighing>);

impl Weights {
    /// Puts the weighings in order: by when they happened, then by entry.
    pub fn new(mut weighings: Vec<Weighing>) -> Weights {
        weighings.sort_by_key(|weighing| (weighing.at, weighing.entry));
        Weights(weighings)
    }

    /// All of them, oldest first.
    pub fn all(&self) -> &[Weighing] {
        &self.0
    }

    /// The latest that had happened by `now`.
    pub fn latest(&self, now: DateTime<Utc>) -> Option<&Weighing> {
        self.0.iter().rev().find(|weighing| weighing.at <= now)
    }

    /// The heaviest of the 28 days back from the latest weighing, inclusive. Counted from today,
    /// an alarm would fade with the clock.
    pub fn high_of_28_days(&self, now: DateTime<Utc>, zone: Zone) -> Option<&Weighing> {
        let latest = self.latest(now)?;
        let first_day = latest.day(zone) - TimeDelta::days(28);
        self.0
            .iter()
            .filter(|weighing| weighing.at <= now && weighing.day(zone) >= first_day)
            // Of equals the later is the better comparison.
            .max_by_key(|weighing| weighing.weight.value())
    }

    /// Whether a new weighing looks like a slip beside the one before it or, typed in afterwards,
    /// the one after; with the one it was held against.
    pub fn slip(&self, new: &Weighing) -> Option<(Slip, &Weighing)> {
        let before = self.0.iter().rev().find(|weighing| weighing.at <= new.at);
        let after = self.0.iter().find(|weighing| weighing.at > new.at);
        before.into_iter().chain(after).find_map(|other| {
            let slip = slip_between(
                other.weight.value(),
                new.weight.value(),
                (new.at - other.at).abs(),
                new.readability.value(),
            )?;
            Some((slip, other))
        })
    }
}

/// Whether one weight after another looks like a slip; `apart` is the time between them, and
/// `readability` the smallest step of the scale.
pub fn slip_between(
    before: BodyWeight,
    after: BodyWeight,
    apart: TimeDelta,
    readability: BodyWeight,
) -> Option<Slip> {
    let ratio = after.over(before).ok()?;
    if is_tenfold(after.grams(), before.grams()) {
        return Some(Slip::Tenfold);
    }
    let change = ratio.minus(Exact::ONE).ok()?;
    if apart.is_zero() {
        let off = after.grams().minus(before.grams()).ok()?.abs();
        return (off > readability.grams()).then_some(Slip::Disagrees);
    }
    let quarter = Exact::ratio(1, 4)?;
    (apart <= TimeDelta::days(7) && change.abs() > quarter).then_some(Slip::Quick(change))
}

/// Whether one figure is so many times another, or so many times less, that a point has more
/// likely moved: 8 to 12.5 times, inclusive.
pub fn is_tenfold(one: Exact, other: Exact) -> bool {
    one.over(other).is_ok_and(near_tenfold) || other.over(one).is_ok_and(near_tenfold)
}

fn near_tenfold(ratio: Exact) -> bool {
    let most = Exact::ratio(25, 2).unwrap_or(Exact::ONE);
    ratio >= Exact::whole(8) && ratio <= most
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]
    use super::*;
    use crate::notation::Notation;

    fn weighing(entry: u64, at: &str, weight: &str) -> Weighing {
        Weighing {
            entry,
            at: at.parse().unwrap(),
            weight: BodyWeight::read(weight).unwrap(),
            readability: BodyWeight::read("0.1 g").unwrap(),
            tag: None,
        }
    }

    #[test]
    fn age_counts_calendar_days_in_the_zone() {
        let zone = "Europe/Warsaw".parse().unwrap();
        // 23:30 on 1 March in Warsaw is 22:30 in UTC.
        let late = weighing(1, "2001-03-01T22:30:00Z", "31 g");
        let on = |day| NaiveDate::from_ymd_opt(2001, 3, day).unwrap();
        assert_eq!(late.age_in_days(on(1), zone), Some(0));
        assert_eq!(late.age_in_days(on(2), zone), Some(1));
        let past_midnight = weighing(1, "2001-03-01T23:30:00Z", "31 g");
        assert_eq!(past_midnight.age_in_days(on(1), zone), None);
    }

    #[test]
    fn the_high_counts_back_from_the_latest_weighing() {
        let zone = Zone::UTC;
        let weights = Weights::new(vec![
            weighing(1, "2001-03-01T08:00:00Z", "52 g"),
            weighing(2, "2001-03-02T08:00:00Z", "50 g"),
            weighing(3, "2001-03-30T08:00:00Z", "44 g"),
        ]);
        let long_after = "2001-09-01T08:00:00Z".parse().unwrap();
        // 30 March back 28 days is 2 March, inclusive: 1 March is out.
        assert_eq!(weights.high_of_28_days(long_after, zone).unwrap().entry, 2);
    }

    #[test]
    fn the_later_entry_of_one_time_is_the_latest() {
        let weights = Weights::new(vec![
            weighing(7, "2001-03-01T08:00:00Z", "31 g"),
            weighing(3, "2001-03-01T08:00:00Z", "32 g"),
        ]);
        let now = "2001-03-01T09:00:00Z".parse().unwrap();
        assert_eq!(weights.latest(now).unwrap().entry, 7);
    }

    #[test]
    fn slips_are_told_apart() {
        let weights = Weights::new(vec![weighing(1, "2001-03-01T08:00:00Z", "40 g")]);
        let slip = |at, weight| weights.slip(&weighing(2, at, weight)).map(|(slip, _)| slip);
        assert_eq!(slip("2002-03-01T08:00:00Z", "4 g"), Some(Slip::Tenfold));
        assert_eq!(slip("2002-03-01T08:00:00Z", "500 g"), Some(Slip::Tenfold));
        assert_eq!(slip("2002-03-01T08:00:00Z", "320 g"), Some(Slip::Tenfold));
        assert_eq!(slip("2002-03-01T08:00:00Z", "319 g"), None);
        assert_eq!(slip("2001-03-08T08:00:00Z", "50 g"), None);
        assert!(matches!(
            slip("2001-03-08T08:00:00Z", "50.1 g"),
            Some(Slip::Quick(_))
        ));
        assert_eq!(slip("2001-03-08T08:00:01Z", "50.1 g"), None);
        assert_eq!(slip("2001-03-01T08:00:00Z", "40.1 g"), None);
        assert_eq!(
            slip("2001-03-01T08:00:00Z", "40.2 g"),
            Some(Slip::Disagrees)
        );
    }

    #[test]
    fn a_weighing_typed_in_afterwards_is_held_against_the_next_one_too() {
        let weights = Weights::new(vec![
            weighing(1, "2001-01-01T08:00:00Z", "40 g"),
            weighing(2, "2001-03-01T08:00:00Z", "60 g"),
        ]);
        let between = weighing(3, "2001-02-27T08:00:00Z", "40 g");
        let (slip, against) = weights.slip(&between).unwrap();
        // 40 is a third less than 60, two days before it.
        assert!(matches!(slip, Slip::Quick(_)));
        assert_eq!(against.entry, 2);
    }
}
