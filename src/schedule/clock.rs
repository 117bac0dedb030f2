//! Local clock time to moments and back, in one zone of the tz database.
//!
//! Promises: every local time has exactly one reading. One that does not exist is read with the
//! offset before the change (RFC 5545, section 3.3.5: 02:30 becomes 03:30), one that comes twice is
//! the first, and both leave a note. It never reads the present time and never guesses a zone.

use std::fmt;

use crate::zone::Zone;
use chrono::{DateTime, MappedLocalTime, NaiveDate, NaiveDateTime, NaiveTime, Offset, TimeDelta};
use chrono::{TimeZone, Utc};

/// What was odd about a local time on the one day it falls on.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum ClockNote {
    /// The clocks jump over this time.
    DoesNotExist {
        /// The local time that was meant.
        meant: NaiveDateTime,
        /// What the clock shows at the moment that is used.
        read_as: NaiveDateTime,
    },
    /// The clocks show this time twice; the first is used.
    ComesTwice {
        /// The local time that was meant.
        meant: NaiveDateTime,
    },
}

impl fmt::Display for ClockNote {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::DoesNotExist { meant, read_as } => write!(
                f,
                "the clocks go forward over {}: read as {} on that day",
                meant.format("%H:%M on %-d %B %Y"),
                read_as.format("%H:%M")
            ),
            Self::ComesTwice { meant } => write!(
                f,
                "the clocks show {} twice: the first is meant, before they go back",
                meant.format("%H:%M on %-d %B %Y")
            ),
        }
    }
}

/// The moment at which the clocks of `zone` show `local`, and a note if that is odd.
#[must_use]
pub fn moment(local: NaiveDateTime, zone: Zone) -> (DateTime<Utc>, Option<ClockNote>) {
    match zone.from_local_datetime(&local) {
        MappedLocalTime::Single(at) => (at.to_utc(), None),
        MappedLocalTime::Ambiguous(first, _) => {
            (first.to_utc(), Some(ClockNote::ComesTwice { meant: local }))
        }
        MappedLocalTime::None => {
            let at = local.and_utc() - offset_before(local, zone);
            let read_as = at.with_timezone(&zone).naive_local();
            let note = ClockNote::DoesNotExist {
                meant: local,
                read_as,
            };
            (at, Some(note))
        }
    }
}

/// How far ahead of UTC the clocks of `zone` were just before they jumped over `local`.
fn offset_before(local: NaiveDateTime, zone: Zone) -> TimeDelta {
    // The longest jump on record is a whole day, where a place crossed the date line.
    const STEP: TimeDelta = TimeDelta::minutes(15);
    let earlier = std::iter::successors(local.checked_sub_signed(STEP), |t| {
        t.checked_sub_signed(STEP)
    });
    let offset = earlier
        .take(4 * 26)
        .find_map(|t| zone.offset_from_local_datetime(&t).latest())
        .unwrap_or_else(|| zone.offset_from_utc_datetime(&local));
    TimeDelta::seconds(i64::from(offset.fix().local_minus_utc()))
}

/// The date that the clocks of `zone` show at this moment.
#[must_use]
pub fn local_date(at: DateTime<Utc>, zone: Zone) -> NaiveDate {
    at.with_timezone(&zone).date_naive()
}

/// The first moment of a local date, which is not 00:00 where the clocks jump over midnight.
#[must_use]
pub fn day_start(date: NaiveDate, zone: Zone) -> DateTime<Utc> {
    moment(date.and_time(NaiveTime::MIN), zone).0
}

/// The last moment of a local date, a nanosecond before the next one starts.
#[must_use]
pub fn day_end(date: NaiveDate, zone: Zone) -> DateTime<Utc> {
    day_start(date.succ_opt().unwrap_or(date), zone) - TimeDelta::nanoseconds(1)
}

/// A change of the clocks of a zone.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct ClockChange {
    /// The first moment of the new time.
    pub at: DateTime<Utc>,
    /// By how much the clocks go forward, or, below zero, back.
    pub by: TimeDelta,
}

/// Every change of the clocks of `zone` after one moment and up to another, in order; two within a
/// day that cancel each other out are no change.
#[must_use]
pub fn clock_changes(zone: Zone, from: DateTime<Utc>, to: DateTime<Utc>) -> Vec<ClockChange> {
    const DAY: TimeDelta = TimeDelta::days(1);
    let mut changes = Vec::new();
    let mut before = from;
    while before < to {
        let after = to.min(before + DAY);
        let by = ahead(zone, after) - ahead(zone, before);
        if !by.is_zero() {
            let at = first_ahead(zone, before, after);
            changes.push(ClockChange { at, by });
        }
        before = after;
    }
    changes
}

/// The first moment, to the second, from which the clocks stand as they do at `after`.
fn first_ahead(zone: Zone, mut before: DateTime<Utc>, mut after: DateTime<Utc>) -> DateTime<Utc> {
    let new = ahead(zone, after);
    while after - before > TimeDelta::seconds(1) {
        let middle = before + (after - before) / 2;
        if ahead(zone, middle) == new {
            after = middle;
        } else {
            before = middle;
        }
    }
    after
}

/// How far the clocks of `zone` are ahead of UTC at a moment.
fn ahead(zone: Zone, at: DateTime<Utc>) -> TimeDelta {
    let offset = zone.offset_from_utc_datetime(&at.naive_utc()).fix();
    TimeDelta::seconds(i64::from(offset.local_minus_utc()))
}
