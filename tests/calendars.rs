//! Calendars read back by a crate that shares no code with what writes them: times against the
//! plan and against clock changes worked by hand, identities, cancellations.

#![allow(
    clippy::indexing_slicing,
    clippy::unwrap_used,
    clippy::panic,
    reason = "a test may stop at once"
)]

mod readers;
mod room;

use icalendar::parser::{read_calendar, unfold};
use room::{Room, Script};
use std::collections::BTreeMap;

/// The events of a calendar: the properties of each by name, and those of its alarm as "ALARM ...".
fn events(text: &str) -> Vec<BTreeMap<String, String>> {
    for line in text.split_terminator("\r\n") {
        assert!(!line.contains(['\r', '\n']), "{line}");
        assert!(line.len() <= 75, "{line}");
    }
    let unfolded = unfold(text);
    let calendar = read_calendar(&unfolded).unwrap();
    let events = calendar.components.iter().map(|event| {
        assert_eq!(event.name.as_str(), "VEVENT");
        let own = event.properties.iter();
        let own = own.map(|p| (p.name.as_str().to_owned(), p.val.as_str().to_owned()));
        let alarms = event.components.iter().flat_map(|alarm| &alarm.properties);
        let alarms = alarms.map(|p| (format!("ALARM {}", p.name.as_str()), p.val.to_string()));
        own.chain(alarms).collect()
    });
    events.collect()
}

fn starts(events: &[BTreeMap<String, String>]) -> Vec<String> {
    events
        .iter()
        .map(|event| event["DTSTART"].clone())
        .collect()
}

fn calendar(room: &mut Room, command: &str) -> String {
    let path = room.path("calendar.ics");
    room.run(&format!("{command} --ics {path} --replace"))
        .ends(0);
    std::fs::read_to_string(path).unwrap()
}

const ELAPSED: Script = Script {
    written: "2027-03-20",
    more: "follow_ups: [FollowUp(what: \"Demonstration visit; bring the sheet, please\", when: AfterLastDose(\"14 days\"))],",
    ..Script::new(
        "DEMO-0001",
        &["Thimblo"],
        "Every(interval: \"72 hours\", doses: 7)",
    )
};

/// Clocks in Warsaw go forward on 28 March 2027 at 02:00 (IANA time zone database, Europe/Warsaw).
/// Every 72 hours from 22 March 08:00, which is 07:00 in UTC, it stays 07:00 in UTC; every 3 days
/// at 08:00 by the clock it is 06:00 in UTC from 28 March on.
#[test]
fn times_are_right_across_a_clock_change() {
    let mut room = Room::new("clocks", "Europe/Warsaw");
    room.at("2027-03-21 08:00");
    let elapsed = room.write("elapsed.ron", ELAPSED.text());
    let command = format!("plan {elapsed} --start \"2027-03-22 08:00\"");
    let read = events(&calendar(&mut room, &command));
    let days = ["0322", "0325", "0328", "0331", "0403", "0406", "0409"];
    let mut expected: Vec<String> = days.iter().map(|d| format!("2027{d}T070000Z")).collect();
    // The last dose on 9 April, and 14 days.
    expected.push("20270423".to_owned());
    assert_eq!(starts(&read), expected);

    let wall = Script {
        schedule: "Every(interval: \"3 days\", doses: 4)",
        more: "",
        ..ELAPSED
    };
    let wall = room.write("wall.ron", wall.text());
    let command = format!("plan {wall} --start \"2027-03-22 08:00\"");
    let read = events(&calendar(&mut room, &command));
    assert_eq!(
        starts(&read),
        [
            "20270322T070000Z",
            "20270325T070000Z",
            "20270328T060000Z",
            "20270331T060000Z"
        ]
    );
}

/// A course that is planned alone, in a room of its own zone: the calendar's times, which must be
/// the plan's.
fn planned(zone: &str, schedule: &'static str, start: &str) -> Vec<String> {
    let name = format!("{zone} {schedule} {start}");
    let name: String = name.chars().filter(char::is_ascii_alphanumeric).collect();
    let mut room = Room::new(&name, zone);
    room.at(start);
    let script = Script {
        written: "1997-01-01",
        ..Script::new("DEMO-0001", &["Thimblo"], schedule)
    };
    let path = room.write("plan.ron", script.text());
    let command = format!("plan {path} --start \"{start}\"");
    let read = starts(&events(&calendar(&mut room, &command)));
    let plan = room.json(&command);
    let due = plan["doses"].as_array().unwrap().iter();
    let due: Vec<String> = due
        .map(|dose| dose["due"]["at"].as_str().unwrap().replace(['-', ':'], ""))
        .collect();
    assert_eq!(read, due, "{zone}, {schedule}, {start}");
    read
}

const HALF_DAYS: &str = "Every(interval: \"12 hours\", doses: 3)";
const THREE_DAYS: &str = "Every(interval: \"72 hours\", doses: 2)";
const TWICE_A_DAY: &str = "AtTimes(times: [\"08:00\", \"20:00\"], doses: 3)";

/// The changes of 2026, as the IANA time zone database (2026) has them, read with another library
/// (Python's zoneinfo): New York on 8 March 07:00 and 1 November 06:00 UTC, London and Warsaw on 29
/// March and 25 October 01:00 UTC, Sydney on 4 April and 3 October 16:00 UTC, Lord Howe by half an
/// hour on 4 April 15:00 UTC, Kathmandu none. In hours that pass, and by the clock; worked by hand
/// from the offsets.
#[test]
fn calendars_are_right_across_every_change_of_a_year() {
    let table: &[(&str, &'static str, &str, &[&str])] = &[
        // Clock: 20:00, then 09:00 and 21:00 an hour later in name; 01:00, 13:00, 01:00 UTC.
        (
            "America/New_York",
            HALF_DAYS,
            "2026-03-07 20:00",
            &["20260308T010000Z", "20260308T130000Z", "20260309T010000Z"],
        ),
        // 20:00, 08:00, 20:00 by the clock: 11 hours really pass.
        (
            "America/New_York",
            TWICE_A_DAY,
            "2026-03-07 20:00",
            &["20260308T010000Z", "20260308T120000Z", "20260309T000000Z"],
        ),
        // 20:00, then 07:00 by the clock that went back.
        (
            "America/New_York",
            HALF_DAYS,
            "2026-10-31 20:00",
            &["20261101T000000Z", "20261101T120000Z", "20261102T000000Z"],
        ),
        // 20:00, 08:00, 20:00 by the clock: 13 hours pass.
        (
            "America/New_York",
            TWICE_A_DAY,
            "2026-10-31 20:00",
            &["20261101T000000Z", "20261101T130000Z", "20261102T010000Z"],
        ),
        // 08:00, then 09:00 by the clock on 30 March.
        (
            "Europe/Warsaw",
            THREE_DAYS,
            "2026-03-27 08:00",
            &["20260327T070000Z", "20260330T070000Z"],
        ),
        (
            "Europe/Warsaw",
            "Every(interval: \"3 days\", doses: 2)",
            "2026-03-27 08:00",
            &["20260327T070000Z", "20260330T060000Z"],
        ),
        // 08:00, then 07:00 by the clock on 26 October.
        (
            "Europe/Warsaw",
            THREE_DAYS,
            "2026-10-23 08:00",
            &["20261023T060000Z", "20261026T060000Z"],
        ),
        (
            "Europe/Warsaw",
            "Every(interval: \"3 days\", doses: 2)",
            "2026-10-23 08:00",
            &["20261023T060000Z", "20261026T070000Z"],
        ),
        // London is at UTC in winter and an hour before it in summer.
        (
            "Europe/London",
            "Every(interval: \"1 day\", doses: 2)",
            "2026-03-28 08:00",
            &["20260328T080000Z", "20260329T070000Z"],
        ),
        (
            "Europe/London",
            "Every(interval: \"1 day\", doses: 2)",
            "2026-10-24 08:00",
            &["20261024T070000Z", "20261025T080000Z"],
        ),
        // Sydney goes from 11 hours to 10 in April and back in October.
        (
            "Australia/Sydney",
            "Every(interval: \"1 day\", doses: 2)",
            "2026-04-04 08:00",
            &["20260403T210000Z", "20260404T220000Z"],
        ),
        (
            "Australia/Sydney",
            "Every(interval: \"24 hours\", doses: 2)",
            "2026-10-03 08:00",
            &["20261002T220000Z", "20261003T220000Z"],
        ),
        // From 11 hours to 10 and a half: 09:00, then 08:30, or 09:00 by the clock.
        (
            "Australia/Lord_Howe",
            "Every(interval: \"24 hours\", doses: 2)",
            "2026-04-04 09:00",
            &["20260403T220000Z", "20260404T220000Z"],
        ),
        (
            "Australia/Lord_Howe",
            "Every(interval: \"1 day\", doses: 2)",
            "2026-04-04 09:00",
            &["20260403T220000Z", "20260404T223000Z"],
        ),
        // 5 hours and 45 minutes before UTC all year.
        (
            "Asia/Kathmandu",
            "Every(interval: \"1 day\", doses: 2)",
            "2026-03-28 08:00",
            &["20260328T021500Z", "20260329T021500Z"],
        ),
        // There is no 02:30 on 8 March: with the offset before the change it is 03:30 (RFC 5545,
        // 3.3.5), 07:30 UTC.
        (
            "America/New_York",
            "AtTimes(times: [\"02:30\"], doses: 2)",
            "2026-03-07 02:30",
            &["20260307T073000Z", "20260308T073000Z"],
        ),
        // 01:30 comes twice on 1 November, at 05:30 and 06:30 UTC: the first is meant.
        (
            "America/New_York",
            "AtTimes(times: [\"01:30\"], doses: 2)",
            "2026-10-31 01:30",
            &["20261031T053000Z", "20261101T053000Z"],
        ),
    ];
    for (zone, schedule, start, expected) in table {
        assert_eq!(
            &planned(zone, schedule, start),
            expected,
            "{zone}, {schedule}, {start}"
        );
    }
}

/// RFC 5545, 3.8.5.3, its own examples from 2 September 1997 09:00 in New York: every other day
/// until the end of October, and weekly ten times, at 09:00 by the clock, which is 13:00 UTC and
/// from 26 October on 14:00 UTC.
#[test]
fn calendars_repeat_as_the_examples_of_the_standard() {
    let every_other = planned(
        "America/New_York",
        "Every(interval: \"2 days\", doses: 30)",
        "1997-09-02 09:00",
    );
    let september = (2..=30)
        .step_by(2)
        .map(|day| format!("199709{day:02}T130000Z"));
    let october = (2..=24)
        .step_by(2)
        .map(|day| format!("199710{day:02}T130000Z"));
    let winter = [26, 28, 30].map(|day| format!("199710{day}T140000Z"));
    let expected: Vec<String> = september.chain(october).chain(winter).collect();
    assert_eq!(every_other, expected);
    let weekly = planned(
        "America/New_York",
        "Every(interval: \"7 days\", doses: 10)",
        "1997-09-02 09:00",
    );
    let summer = [
        "0902", "0909", "0916", "0923", "0930", "1007", "1014", "1021",
    ];
    let winter = ["1028", "1104"];
    let summer = summer.map(|day| format!("1997{day}T130000Z"));
    let expected = [&summer[..], &winter.map(|day| format!("1997{day}T140000Z"))].concat();
    assert_eq!(weekly, expected);
}

#[test]
fn times_equal_the_plans_in_zones_with_odd_offsets() {
    for zone in ["America/New_York", "Australia/Lord_Howe", "Asia/Kathmandu"] {
        let mut room = Room::new(&zone.replace('/', "-"), zone);
        room.at("2027-03-01 08:00");
        let script = Script {
            written: "2027-02-20",
            ..Script::new(
                "DEMO-0001",
                &["Thimblo", "Nubbet"],
                "Every(interval: \"12 hours\", doses: 90)",
            )
        };
        let path = room.write("plan.ron", script.text());
        let command = format!("plan {path} --start \"2027-03-01 20:30\"");
        let read = events(&calendar(&mut room, &command));
        let plan = room.json(&command);
        let due = plan["doses"].as_array().unwrap().iter().map(|dose| {
            let at = dose["due"]["at"].as_str().unwrap();
            at.replace(['-', ':'], "")
        });
        let due: Vec<String> = due.collect();
        assert_eq!(due.len(), 90);
        assert_eq!(starts(&read), [due.clone(), due].concat(), "{zone}");
        let mut ids: Vec<&String> = read.iter().map(|event| &event["UID"]).collect();
        ids.sort();
        ids.dedup();
        assert_eq!(ids.len(), 180);
    }
}

/// The same dose has the same UID in a plan and in the book's calendar, before and after; what is
/// given loses its alarm; what the vet stops is cancelled, with a higher sequence.
#[test]
fn a_stop_is_exported_as_cancellations_of_the_same_events() {
    let mut room = Room::new("stop", "Europe/Warsaw");
    room.at("2027-03-22 08:00").takes_in("Thimblo", "31 g");
    room.opens("Madeup Amber", "8 mg/mL");
    let path = room.write("plan.ron", ELAPSED.text());
    let start = "--start \"2027-03-22 08:00\"";
    let planned = events(&calendar(&mut room, &format!("plan {path} {start}")));
    room.run(&format!("enter {path} {start}")).ends(0);
    let before = events(&calendar(&mut room, "today"));
    let ids = |events: &[BTreeMap<String, String>]| -> Vec<String> {
        events.iter().map(|event| event["UID"].clone()).collect()
    };
    assert_eq!(ids(&planned), ids(&before));
    for event in &before {
        assert_eq!(event["DTSTAMP"], "20270322T070000Z");
        assert_eq!(event["STATUS"], "CONFIRMED");
        assert!(event["ALARM DESCRIPTION"].starts_with("Look at today's card first"));
        assert!(event["SUMMARY"].starts_with("DEMONSTRATION: Thimblo"));
        assert!(event["DESCRIPTION"].contains("555 0134"));
        assert!(event["DESCRIPTION"].contains("stop and call."));
        assert!(
            !event["DESCRIPTION"].contains("mL"),
            "a volume would outlive its weight"
        );
    }
    room.run("give Thimblo DEMO-0001 --by AK").ends(0);
    room.at("2027-03-26 08:00");
    room.run("instruct Thimblo DEMO-0001 --stop-from 4 --said-by \"Dr A. Example\" --taken-by AK --read-back yes")
        .ends(0);
    let after = calendar(&mut room, "today");
    assert_eq!(after, calendar(&mut room, "today"), "the same bytes");
    let after = events(&after);
    let of = |uid: &str| after.iter().find(|event| event["UID"] == uid);
    assert!(of(&before[0]["UID"]).is_none(), "given, and behind");
    let sequence = |event: &BTreeMap<String, String>| event["SEQUENCE"].parse::<u64>().unwrap();
    for stopped in &before[3..7] {
        let event = of(&stopped["UID"]).unwrap();
        assert_eq!(event["STATUS"], "CANCELLED");
        assert!(!event.contains_key("ALARM ACTION"));
        assert!(sequence(event) > sequence(stopped));
    }
    // The second dose is late and waits for an answer; the third is to come.
    for waiting in &before[1..3] {
        assert_eq!(of(&waiting["UID"]).unwrap()["STATUS"], "CONFIRMED");
    }
}

#[test]
fn after_a_death_nothing_rings_any_more() {
    let mut room = Room::new("death", "Europe/Warsaw");
    room.at("2027-03-22 08:00").takes_in("Thimblo", "31 g");
    let path = room.write("plan.ron", ELAPSED.text());
    room.run(&format!("enter {path} --start \"2027-03-22 08:00\""))
        .ends(0);
    room.at("2027-03-23 08:00")
        .run("end Thimblo --how died")
        .ends(0);
    let after = events(&calendar(&mut room, "today"));
    assert_eq!(after.len(), 8);
    for event in after {
        assert_eq!(event["STATUS"], "CANCELLED");
        assert!(!event.contains_key("ALARM ACTION"));
    }
}

/// A prescription taken out by a correction is cancelled. Entered anew, with an interval mended
/// and a dose fewer, its doses are the same events and do not ring twice; the dose too many stays
/// cancelled.
#[test]
fn a_prescription_taken_out_is_cancelled_and_one_entered_anew_takes_its_place() {
    let mut room = Room::new("taken-out", "Europe/Warsaw");
    room.at("2027-03-21 08:00").takes_in("Thimblo", "31 g");
    let path = room.write("plan.ron", ELAPSED.text());
    let start = "--start \"2027-03-22 08:00\"";
    room.run(&format!("enter {path} {start}")).ends(0);
    let first = events(&calendar(&mut room, "today"));
    assert_eq!(first.len(), 8, "seven doses and a visit");
    // The book, two syringes, an animal and a weighing come before it.
    room.run("correct 6 --because \"wrong interval\"")
        .ends(0)
        .says("DEMO-0001");
    let after = events(&calendar(&mut room, "today"));
    let by_id = |events: &[BTreeMap<String, String>]| -> BTreeMap<String, String> {
        let pairs = events.iter();
        pairs
            .map(|event| (event["UID"].clone(), event["STATUS"].clone()))
            .collect()
    };
    assert_eq!(after.len(), 8);
    for event in &first {
        assert_eq!(by_id(&after)[&event["UID"]], "CANCELLED");
    }
    let mended = Script {
        schedule: "Every(interval: \"96 hours\", doses: 6)",
        ..ELAPSED
    };
    let path = room.write("mended.ron", mended.text());
    room.run(&format!("enter {path} {start}")).ends(0);
    let anew = by_id(&events(&calendar(&mut room, "today")));
    assert_eq!(anew.len(), 8, "the same events");
    for (n, event) in first.iter().enumerate() {
        let expected = if n == 6 { "CANCELLED" } else { "CONFIRMED" };
        assert_eq!(anew[&event["UID"]], expected, "dose {}", n + 1);
    }
}
