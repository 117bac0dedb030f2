//! Elapsed and wall-clock time, against the tz database.

use super::{daily, date, days, hours, just, local, said, start, times, utc, zone};
use crate::schedule::{ClockNote, Due, Zone, clock_changes, day_end, day_start, moment};
use chrono::{DateTime, TimeDelta, Utc};

#[test]
fn seventy_two_hours_seven_times_over_a_change_of_the_clocks() {
    // Worked by hand: Warsaw goes forward on 28 March 2027, before 08:00.
    let slots = just(times(hours(72), 7))
        .expand(start("2027-03-22 08:00"), zone("Europe/Warsaw"))
        .unwrap();
    assert_eq!(
        said(&slots, zone("Europe/Warsaw")),
        [
            "2027-03-22 08:00 +01:00",
            "2027-03-25 08:00 +01:00",
            "2027-03-28 09:00 +02:00",
            "2027-03-31 09:00 +02:00",
            "2027-04-03 09:00 +02:00",
            "2027-04-06 09:00 +02:00",
            "2027-04-09 09:00 +02:00",
        ]
    );
}

/// Start, step, and what elapsed hours and the wall clock give: tz database 2026.6, computed with
/// Python's zoneinfo.
#[test]
fn elapsed_hours_and_the_clock_part_where_the_clocks_change() {
    let new_york = zone("America/New_York");
    let cases = [
        (new_york, "2026-03-07 20:00", 12, "2026-03-08 09:00 -04:00"),
        (new_york, "2026-10-31 20:00", 12, "2026-11-01 07:00 -05:00"),
        (
            zone("Europe/Warsaw"),
            "2026-03-27 08:00",
            72,
            "2026-03-30 09:00 +02:00",
        ),
        (
            zone("Europe/Warsaw"),
            "2026-10-23 08:00",
            72,
            "2026-10-26 07:00 +01:00",
        ),
        (
            zone("Australia/Lord_Howe"),
            "2026-04-04 09:00",
            24,
            "2026-04-05 08:30 +10:30",
        ),
    ];
    for (zone, from, step, expected) in cases {
        let slots = just(times(hours(step), 2))
            .expand(start(from), zone)
            .unwrap();
        assert_eq!(said(&slots, zone)[1], expected);
    }
    let clock = [
        (
            new_york,
            "2026-03-07 20:00",
            daily(&["08:00", "20:00"]),
            "2026-03-08 08:00 -04:00",
            11,
        ),
        (
            new_york,
            "2026-10-31 20:00",
            daily(&["08:00", "20:00"]),
            "2026-11-01 08:00 -05:00",
            13,
        ),
        (
            zone("Europe/Warsaw"),
            "2026-03-27 08:00",
            days(3),
            "2026-03-30 08:00 +02:00",
            71,
        ),
        (
            zone("Europe/Warsaw"),
            "2026-10-23 08:00",
            days(3),
            "2026-10-26 08:00 +01:00",
            73,
        ),
    ];
    for (zone, from, rhythm, expected, real_hours) in clock {
        let slots = just(times(rhythm, 2)).expand(start(from), zone).unwrap();
        assert_eq!(said(&slots, zone)[1], expected);
        assert_eq!(slots[0].gap_after, Some(TimeDelta::hours(real_hours)));
        assert_eq!(slots[1].gap_before, Some(TimeDelta::hours(real_hours)));
    }
    let zone = zone("Australia/Lord_Howe");
    let slots = just(times(days(1), 2))
        .expand(start("2026-04-04 09:00"), zone)
        .unwrap();
    assert_eq!(said(&slots, zone)[1], "2026-04-05 09:00 +10:30");
    assert_eq!(slots[0].gap_after, Some(TimeDelta::minutes(24 * 60 + 30)));
}

/// Changes of the clocks in 2026, as moments: tz database 2026.6, computed with Python's zoneinfo.
#[test]
fn the_clocks_change_when_the_tz_database_says() {
    let changes = [
        (zone("America/New_York"), "2026-03-08 07:00", -5, -4),
        (zone("America/New_York"), "2026-11-01 06:00", -4, -5),
        (zone("Europe/London"), "2026-03-29 01:00", 0, 1),
        (zone("Europe/London"), "2026-10-25 01:00", 1, 0),
        (zone("Europe/Warsaw"), "2026-03-29 01:00", 1, 2),
        (zone("Europe/Warsaw"), "2026-10-25 01:00", 2, 1),
        (zone("Australia/Sydney"), "2026-04-04 16:00", 11, 10),
        (zone("Australia/Sydney"), "2026-10-03 16:00", 10, 11),
    ];
    for (zone, change, before, after) in changes {
        let shown = |at: DateTime<Utc>| at.with_timezone(&zone).naive_local() - at.naive_utc();
        assert_eq!(
            shown(utc(change) - TimeDelta::seconds(1)),
            TimeDelta::hours(before)
        );
        assert_eq!(shown(utc(change)), TimeDelta::hours(after));
    }
}

#[test]
fn a_zone_three_quarters_of_an_hour_off_is_read_to_the_minute() {
    // Asia/Kathmandu is 5 hours 45 minutes ahead (tz database).
    let zone = zone("Asia/Kathmandu");
    let slots = just(times(hours(12), 2))
        .expand(start("2026-05-01 08:00"), zone)
        .unwrap();
    assert_eq!(slots[0].due, Due::At(utc("2026-05-01 02:15")));
    assert_eq!(said(&slots, zone)[1], "2026-05-01 20:00 +05:45");
}

/// RFC 5545, section 3.3.5: a local time that does not exist is read with the offset before the
/// gap, one that comes twice is the first. The two days are those of the tz database.
#[test]
fn a_local_time_that_does_not_exist_or_comes_twice_is_read_and_said() {
    let zone = zone("America/New_York");
    let (at, note) = moment(local("2026-03-08 02:30"), zone);
    assert_eq!(at, utc("2026-03-08 07:30"));
    let read_as = local("2026-03-08 03:30");
    assert_eq!(
        note,
        Some(ClockNote::DoesNotExist {
            meant: local("2026-03-08 02:30"),
            read_as
        })
    );
    assert_eq!(
        note.unwrap().to_string(),
        "the clocks go forward over 02:30 on 8 March 2026: read as 03:30 on that day"
    );

    let (at, note) = moment(local("2026-11-01 01:30"), zone);
    assert_eq!(at, utc("2026-11-01 05:30"));
    assert_eq!(
        note,
        Some(ClockNote::ComesTwice {
            meant: local("2026-11-01 01:30")
        })
    );
    assert_eq!(
        note.unwrap().to_string(),
        "the clocks show 01:30 on 1 November 2026 twice: the first is meant, before they go back"
    );
}

#[test]
fn an_odd_local_time_shifts_its_own_day_alone() {
    let zone = zone("America/New_York");
    let slots = just(times(days(1), 3))
        .expand(start("2026-03-07 02:30"), zone)
        .unwrap();
    assert_eq!(
        said(&slots, zone),
        [
            "2026-03-07 02:30 -05:00",
            "2026-03-08 03:30 -04:00",
            "2026-03-09 02:30 -04:00"
        ]
    );
    let noted = slots
        .iter()
        .map(|slot| slot.clock_note.is_some())
        .collect::<Vec<_>>();
    assert_eq!(noted, [false, true, false]);
}

#[test]
fn a_day_that_has_no_midnight_still_starts_and_ends() {
    // Beirut goes forward at midnight on 29 March 2026; Samoa had no 30 December 2011 (tz database).
    let beirut = zone("Asia/Beirut");
    let first = day_start(date("2026-03-29"), beirut).with_timezone(&beirut);
    assert_eq!(first.naive_local(), local("2026-03-29 01:00"));
    assert_eq!(
        day_end(date("2026-03-28"), beirut),
        first.to_utc() - TimeDelta::nanoseconds(1)
    );
    let (at, note) = moment(local("2011-12-30 12:00"), zone("Pacific/Apia"));
    assert_eq!(
        at.with_timezone(&zone("Pacific/Apia")).naive_local(),
        local("2011-12-31 12:00")
    );
    assert!(matches!(note, Some(ClockNote::DoesNotExist { .. })));
}

/// Directive 2000/84/EC, articles 2 and 3: the clocks of the Union change at 01:00 in UTC on the
/// last Sundays of March and October, which were 28 March and 31 October in 2027.
#[test]
fn the_changes_of_a_year_are_found_to_the_second() {
    let year = |from, to| clock_changes(zone("Europe/Warsaw"), utc(from), utc(to));
    let changes = year("2027-01-01 00:00", "2028-01-01 00:00");
    let by: Vec<i64> = changes.iter().map(|c| c.by.num_hours()).collect();
    assert_eq!(by, [1, -1]);
    for (change, wanted) in changes.iter().zip(["2027-03-28 01:00", "2027-10-31 01:00"]) {
        let off = change.at - utc(wanted);
        assert!(
            off >= TimeDelta::zero() && off < TimeDelta::seconds(1),
            "{off}"
        );
    }
    assert_eq!(year("2027-03-28 00:59", "2027-03-28 01:01").len(), 1);
    // After the one moment, and up to the other.
    assert_eq!(year("2027-03-28 01:00", "2027-10-31 00:59"), []);
    assert_eq!(year("2027-03-01 00:00", "2027-03-28 01:00").len(), 1);
    assert_eq!(year("2027-04-01 00:00", "2027-04-01 00:00"), []);
    assert_eq!(
        clock_changes(Zone::UTC, utc("2027-01-01 00:00"), utc("2028-01-01 00:00")),
        []
    );
}

/// Warsaw goes from 02:00 to 03:00 on 28 March 2027.
#[test]
fn a_course_of_hours_that_starts_at_no_time_says_so() {
    let slots = just(times(hours(12), 2))
        .expand(start("2027-03-28 02:30"), zone("Europe/Warsaw"))
        .unwrap();
    let note = ClockNote::DoesNotExist {
        meant: local("2027-03-28 02:30"),
        read_as: local("2027-03-28 03:30"),
    };
    assert_eq!(slots[0].clock_note, Some(note));
    assert_eq!(slots[1].clock_note, None);
}
