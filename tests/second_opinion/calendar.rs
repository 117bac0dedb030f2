//! Dates, weekdays and the clocks of three zones, made here and not asked of any library.
//!
//! Promises: right for the years 2007 to 2037. Moments are milliseconds since 1970 in UTC, dates
//! days since then. The rules of the clocks: in the European Union the last Sundays of March and
//! October at 01:00 UTC (Directive 2000/84/EC); in the United States the second Sunday of March
//! and the first of November at 02:00 local time (Energy Policy Act of 2005, section 110).

use std::sync::OnceLock;

pub const MINUTE: i64 = 60_000;
pub const HOUR: i64 = 60 * MINUTE;
pub const DAY: i64 = 24 * HOUR;

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Clocks {
    Utc,
    Warsaw,
    NewYork,
}

/// Days since 1970 began, counted a year and a month at a time.
pub fn day_number(year: i64, month: i64, day: i64) -> i64 {
    let years: i64 = (1970..year).map(|y| 365 + i64::from(leap(y))).sum();
    let months: i64 = (1..month).map(|m| days_in(year, m)).sum();
    years + months + day - 1
}

fn leap(year: i64) -> bool {
    year % 4 == 0 && (year % 100 != 0 || year % 400 == 0)
}

fn days_in(year: i64, month: i64) -> i64 {
    match month {
        2 => 28 + i64::from(leap(year)),
        4 | 6 | 9 | 11 => 30,
        _ => 31,
    }
}

/// Counted from Monday as 0. The first day of 1970 was a Thursday.
pub fn weekday(day: i64) -> i64 {
    (day + 3).rem_euclid(7)
}

/// The nth Sunday of a month, or the last where `nth` is 0.
fn sunday(year: i64, month: i64, nth: i64) -> i64 {
    let first = day_number(year, month, 1);
    let sundays = (first..first + days_in(year, month)).filter(|day| weekday(*day) == 6);
    let sundays: Vec<i64> = sundays.collect();
    match nth {
        0 => sundays[sundays.len() - 1],
        nth => sundays[nth as usize - 1],
    }
}

type Summers = OnceLock<Vec<(i64, i64)>>;

static WARSAW: Summers = OnceLock::new();
static NEW_YORK: Summers = OnceLock::new();

/// Whether a moment lies in one of the summers, which are worked out once.
fn is_in(at: i64, summers: &Summers, of: impl Fn(i64) -> (i64, i64)) -> bool {
    let summers = summers.get_or_init(|| (2007..=2037).map(of).collect());
    summers.iter().any(|(from, to)| *from <= at && at < *to)
}

impl Clocks {
    fn winter(self) -> i64 {
        match self {
            Clocks::Utc => 0,
            Clocks::Warsaw => HOUR,
            Clocks::NewYork => -5 * HOUR,
        }
    }

    /// How far ahead of UTC the clocks stand.
    fn ahead(self, at: i64) -> i64 {
        let summer = match self {
            Clocks::Utc => false,
            Clocks::Warsaw => is_in(at, &WARSAW, |year| {
                let change = |month| sunday(year, month, 0) * DAY + HOUR;
                (change(3), change(10))
            }),
            Clocks::NewYork => is_in(at, &NEW_YORK, |year| {
                let (march, november) = (sunday(year, 3, 2), sunday(year, 11, 1));
                (march * DAY + 7 * HOUR, november * DAY + 6 * HOUR)
            }),
        };
        self.winter() + if summer { HOUR } else { 0 }
    }

    /// What the clocks show, as milliseconds of a day without a zone.
    pub fn local(self, at: i64) -> i64 {
        at + self.ahead(at)
    }

    pub fn date(self, at: i64) -> i64 {
        self.local(at).div_euclid(DAY)
    }

    /// The moment at which the clocks show this: the first of two; where there is none, by the
    /// offset before the change, which in these zones is winter's.
    pub fn moment(self, local: i64) -> i64 {
        let summer = local - self.winter() - HOUR;
        let winter = local - self.winter();
        if self.local(summer) == local {
            summer
        } else {
            winter
        }
    }

    /// The first moment of a date. None of these clocks jumps over midnight.
    pub fn day_start(self, date: i64) -> i64 {
        self.moment(date * DAY)
    }
}

/// Two changes worked by hand from the rules above.
#[test]
fn the_clocks_change_where_they_should() {
    // 28 March 2027 in Warsaw: 01:59 is followed by 03:00.
    let change = day_number(2027, 3, 28);
    assert_eq!(weekday(change), 6);
    let at = Clocks::Warsaw.moment(change * DAY + 2 * HOUR + 30 * MINUTE);
    assert_eq!(
        Clocks::Warsaw.local(at),
        change * DAY + 3 * HOUR + 30 * MINUTE
    );
    // 1 November 2026 in New York: 01:30 comes twice, the first at 05:30 UTC.
    let change = day_number(2026, 11, 1);
    let at = Clocks::NewYork.moment(change * DAY + HOUR + 30 * MINUTE);
    assert_eq!(at, change * DAY + 5 * HOUR + 30 * MINUTE);
}
