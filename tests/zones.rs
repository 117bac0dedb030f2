//! Local times read by two other libraries: jiff, whose code is its own and whose data is that of
//! the program, and chrono-tz, whose code and copy of the tz database (2025b) are both its own.
//!
//! 20,000 random local times in the ordinary run, a million when SCRUPLE_ZONES_IN_FULL is set; in
//! both every quarter of an hour around every change of the clocks of some zones, 2000 to 2040, and
//! every change of every zone from the first on record to 2040, and three years far beyond.

#![allow(
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::indexing_slicing,
    clippy::panic
)]

use chrono::{DateTime, Datelike, NaiveDateTime, Offset, TimeDelta, Timelike};
use chrono_tz::{TZ_VARIANTS, Tz};
use jiff::civil;
use jiff::tz::{AmbiguousOffset, TimeZone, TimeZoneDatabase};

use scruple::schedule::{ClockNote, Zone, local_date, moment};

const ZONES: [&str; 16] = [
    "Africa/Johannesburg",
    "America/Anchorage",
    "America/Chicago",
    "America/New_York",
    "America/Sao_Paulo",
    "America/St_Johns",
    "Asia/Kathmandu",
    "Asia/Tehran",
    "Asia/Tokyo",
    "Australia/Adelaide",
    "Australia/Lord_Howe",
    "Australia/Sydney",
    "Europe/London",
    "Europe/Warsaw",
    "Pacific/Apia",
    "Pacific/Chatham",
];

/// 2000-01-01 00:00 and 2040-01-01 00:00, as seconds of a local clock.
const FROM: i64 = 946_684_800;
const TO: i64 = 2_208_988_800;

struct Pair {
    ours: Zone,
    theirs: TimeZone,
}

fn pairs() -> Vec<Pair> {
    let database = TimeZoneDatabase::bundled();
    let pair = |name: &&str| Pair {
        ours: name.parse().unwrap(),
        theirs: database.get(name).unwrap(),
    };
    ZONES.iter().map(pair).collect()
}

fn civil_time(local: NaiveDateTime) -> civil::DateTime {
    let small = |n: u32| i8::try_from(n).unwrap();
    let year = i16::try_from(local.year()).unwrap();
    civil::date(year, small(local.month()), small(local.day())).at(
        small(local.hour()),
        small(local.minute()),
        small(local.second()),
        0,
    )
}

impl Pair {
    /// Both libraries on one local time: the moment, whether it is odd and how, and its date.
    fn check(&self, local: NaiveDateTime) {
        let (at, note) = moment(local, self.ours);
        let theirs = self.theirs.to_ambiguous_timestamp(civil_time(local));
        match (note, theirs.offset()) {
            (None, AmbiguousOffset::Unambiguous { .. })
            | (Some(ClockNote::ComesTwice { .. }), AmbiguousOffset::Fold { .. })
            | (Some(ClockNote::DoesNotExist { .. }), AmbiguousOffset::Gap { .. }) => {}
            (ours, theirs) => panic!("{local} in {}: {ours:?} and {theirs:?}", self.ours),
        }
        let moment = theirs.compatible().unwrap();
        assert_eq!(
            at.timestamp(),
            moment.as_second(),
            "{local} in {}",
            self.ours
        );
        let date = self.theirs.to_datetime(moment).date();
        assert_eq!(
            local_date(at, self.ours).to_string(),
            date.to_string(),
            "{local}"
        );
    }
}

fn local(seconds: i64) -> NaiveDateTime {
    DateTime::from_timestamp(seconds, 0).unwrap().naive_utc()
}

/// A plain pseudo-random sequence (SplitMix64, constants from memory), so that a failure repeats.
fn random(state: &mut u64) -> u64 {
    *state = state.wrapping_add(0x9E37_79B9_7F4A_7C15);
    let mut z = *state;
    z = (z ^ (z >> 30)).wrapping_mul(0xBF58_476D_1CE4_E5B9);
    z = (z ^ (z >> 27)).wrapping_mul(0x94D0_49BB_1331_11EB);
    z ^ (z >> 31)
}

#[test]
fn random_local_times_are_read_alike() {
    let in_full = std::env::var_os("SCRUPLE_ZONES_IN_FULL").is_some();
    let count = if in_full { 1_000_000 } else { 20_000 };
    let (pairs, mut state) = (pairs(), 1);
    for n in 0..count {
        let seconds =
            FROM + i64::try_from(random(&mut state) % u64::try_from(TO - FROM).unwrap()).unwrap();
        pairs[n % pairs.len()].check(local(seconds - seconds % 60));
    }
}

#[test]
fn every_quarter_of_an_hour_around_every_change_is_read_alike() {
    let mut changes = 0;
    for pair in pairs() {
        let from = jiff::Timestamp::from_second(FROM).unwrap();
        for change in pair.theirs.following(from) {
            let at = change.timestamp().as_second();
            if at >= TO {
                break;
            }
            changes += 1;
            for quarter in -120..=120 {
                let offset = i64::from(change.offset().seconds());
                pair.check(local(at + offset) + TimeDelta::minutes(15 * quarter));
            }
        }
    }
    // Two a year in most of these zones, in forty years.
    assert!(changes > 500, "only {changes} changes were seen");
}

/// Every zone there is, with its name.
fn all_pairs() -> Vec<(String, Pair)> {
    let database = TimeZoneDatabase::bundled();
    let names = database.available().map(|name| name.to_string());
    // No place: clocks that are not set yet.
    let places = names.filter(|name| name != "Factory");
    let pair = |name: String| {
        let theirs = database.get(&name).unwrap();
        let ours = name.parse().unwrap();
        (name, Pair { ours, theirs })
    };
    places.map(pair).collect()
}

fn ahead(zone: &impl chrono::TimeZone, at: i64) -> i32 {
    let at = local(at);
    zone.offset_from_utc_datetime(&at).fix().local_minus_utc()
}

fn second(date: &str) -> i64 {
    format!("{date}T00:00:00Z")
        .parse::<DateTime<chrono::Utc>>()
        .unwrap()
        .timestamp()
}

impl Pair {
    /// Both libraries on how far the clocks are ahead at a moment.
    fn check_moment(&self, at: i64) -> i32 {
        let moment = jiff::Timestamp::from_second(at).unwrap();
        let ours = ahead(&self.ours, at);
        let theirs = self.theirs.to_offset(moment).seconds();
        assert_eq!(ours, theirs, "{} in {}", local(at), self.ours);
        ours
    }

    /// Both on the seconds around every change between two moments, and on what the clocks show
    /// then before and after it. Gives the changes.
    fn check_changes(&self, from: i64, to: i64) -> Vec<i64> {
        let from = jiff::Timestamp::from_second(from).unwrap();
        let changes = (self.theirs.following(from)).map(|change| change.timestamp().as_second());
        let changes: Vec<i64> = changes.take_while(|at| *at < to).collect();
        for &at in &changes {
            let around = [-86_400, -1, 0, 1, 86_400].map(|off| self.check_moment(at + off));
            for ahead in [around[1], around[2]] {
                for off in [-1, 0, 1] {
                    self.check(local(at + i64::from(ahead) + off));
                }
            }
        }
        changes
    }
}

/// From the local mean time before the first change of all to 2040, and where only the rule at the
/// end of a zone's data reaches, around the turn of one of its cycles of 400 years and at the end of
/// what the other library can count.
#[test]
fn every_zone_goes_by_the_same_clocks_in_all_years() {
    let mut many = 0;
    for (name, pair) in all_pairs() {
        pair.check_moment(second("-9998-01-01"));
        many += pair.check_changes(second("-9998-01-01"), TO).len();
        for day in (second("1970-01-01")..TO).step_by(5 * 86_400) {
            pair.check_moment(day);
        }
        for from in ["2099-01-01", "2406-01-01", "2427-01-01", "9990-01-01"] {
            let from = second(from);
            let changes = pair.check_changes(from, from + 3 * 366 * 86_400).len();
            // None, or two a year.
            assert!([0, 6, 7].contains(&changes), "{changes} in {name}");
            for day in (from..from + 3 * 366 * 86_400).step_by(7 * 86_400) {
                pair.check_moment(day);
            }
        }
    }
    assert!(many > 30_000, "only {many} changes were seen");
}

/// A book that was begun when the program had the other library's zones must still open.
#[test]
fn every_name_that_was_known_is_known() {
    for tz in TZ_VARIANTS {
        let zone: Zone = tz.name().parse().unwrap();
        assert_eq!(zone.name(), tz.name());
    }
    assert!(TZ_VARIANTS.len() > 590);
}

/// The zones whose clocks tz database 2026f has otherwise than 2025b between 1970 and 2040: from
/// when, and to when or still at the end of 2039. As Python's zoneinfo tells the packages tzdata
/// 2026.6 and 2025.2 apart, hour by hour.
const OTHERWISE: [(&str, &str, &str); 22] = [
    ("Africa/Casablanca", "2026-09-20 01:00", "on"),
    ("Africa/El_Aaiun", "2026-09-20 01:00", "on"),
    ("America/Bogota", "1992-05-02 05:00", "1992-05-03 05:00"),
    ("America/Edmonton", "2026-11-01 08:00", "on"),
    ("America/Ensenada", "1970-04-26 10:00", "1975-10-26 09:00"),
    ("America/Havana", "2026-11-01 05:00", "2027-03-14 05:00"),
    ("America/Inuvik", "2026-11-01 08:00", "on"),
    ("America/Rainy_River", "2026-11-01 07:00", "on"),
    (
        "America/Santa_Isabel",
        "1970-04-26 10:00",
        "1975-10-26 09:00",
    ),
    ("America/Tijuana", "1970-04-26 10:00", "1975-10-26 09:00"),
    ("America/Vancouver", "2026-11-01 09:00", "on"),
    ("America/Winnipeg", "2026-11-01 07:00", "on"),
    ("America/Yellowknife", "2026-11-01 08:00", "on"),
    ("Asia/Tehran", "1979-05-25 21:00", "1979-05-26 21:00"),
    ("Canada/Central", "2026-11-01 07:00", "on"),
    ("Canada/Mountain", "2026-11-01 08:00", "on"),
    ("Canada/Pacific", "2026-11-01 09:00", "on"),
    ("Cuba", "2026-11-01 05:00", "2027-03-14 05:00"),
    ("Europe/Chisinau", "2022-03-27 00:00", "on"),
    ("Europe/Tiraspol", "2022-03-27 00:00", "on"),
    ("Iran", "1979-05-25 21:00", "1979-05-26 21:00"),
    ("Mexico/BajaNorte", "1970-04-26 10:00", "1975-10-26 09:00"),
];

/// The whole of 1970 to 2040 against data that another project made by its own means: the same
/// clocks at every moment and for every local time, but for those zones and times.
#[test]
fn the_other_edition_differs_where_the_clocks_were_changed_since_and_nowhere_else() {
    let mut differing = Vec::new();
    for (name, pair) in all_pairs() {
        let older: Tz = name.parse().unwrap();
        let differs = |at: &i64| ahead(&pair.ours, *at) != ahead(&older, *at);
        let mut times: Vec<i64> = (second("1970-01-01")..TO).step_by(5 * 86_400).collect();
        for change in pair.check_changes(second("1970-01-01"), TO) {
            times.extend([-86_400, -3600, -1, 0, 3600, 86_400].map(|off| change + off));
        }
        times.sort_unstable();
        let Some(first) = times.iter().copied().find(differs) else {
            for at in times {
                let shown = local(at + i64::from(ahead(&pair.ours, at)));
                assert_eq!(
                    read(&pair.ours, shown),
                    read(&older, shown),
                    "{shown} in {name}"
                );
            }
            continue;
        };
        let last = times.iter().copied().rfind(differs).unwrap();
        // To the hour.
        let hours = |at: i64| (at - at % 3600 - 5 * 86_400..at + 5 * 86_400).step_by(3600);
        let first = hours(first).find(differs).unwrap();
        let end = hours(last).filter(differs).last().unwrap() + 3600;
        let said = |at: i64| local(at).format("%Y-%m-%d %H:%M").to_string();
        let end = if end < second("2039-01-01") {
            said(end)
        } else {
            "on".to_owned()
        };
        differing.push((name, said(first), end));
    }
    let wanted = OTHERWISE.map(|(name, from, to)| (name.into(), from.into(), to.into()));
    assert_eq!(differing, wanted);
}

/// The first and the last moment at which clocks show a local time.
fn read(zone: &impl chrono::TimeZone, shown: NaiveDateTime) -> [Option<i64>; 2] {
    let read = zone.from_local_datetime(&shown).map(|at| at.timestamp());
    [read.earliest(), read.latest()]
}
