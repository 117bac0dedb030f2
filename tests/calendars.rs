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
