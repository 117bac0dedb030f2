//! What the vet says afterwards, by phone: every order, for the animals named, with what it changes
//! and what cannot be.

#![allow(
    clippy::unwrap_used,
    clippy::panic,
    clippy::indexing_slicing,
    reason = "a test may stop at once"
)]

mod readers;
mod room;

use room::{Room, Script};

const BY_PHONE: &str = "--said-by \"Dr A. Example\" --taken-by AK --read-back yes";

/// An order for several animals, a stop, a skip, a later review, a late dose after a call.
#[test]
fn what_the_vet_says_holds_for_the_animals_named() {
    let script = Script {
        after_late: "Call",
        ..Script::new(
            "DEMO-0001",
            &["Thimblo", "Nubbet", "Ossin"],
            r#"Every(interval: "12 hours", doses: 6)"#,
        )
    };
    let mut room = Room::new("several", "UTC");
    room.at("2001-03-01 07:00")
        .takes_in("Thimblo", "31 g")
        .takes_in("Nubbet", "24 g")
        .takes_in("Ossin", "40 g")
        .opens("Madeup Amber", "8 mg/mL")
        .enters(&script, "2001-03-01 08:00");
    let all = room.at("2001-03-01 08:00");
    for name in ["Thimblo", "Nubbet", "Ossin"] {
        all.run(&format!("give {name} DEMO-0001")).ends(0);
    }
    room.run(&format!(
        "instruct Thimblo Nubbet DEMO-0001 --skip 3 --stop-from 5 {BY_PHONE}"
    ))
    .ends(0)
    .says("Thimblo, DEMO-0001: dose 3 is left out")
    .says("Nubbet, DEMO-0001: no dose from dose 5 on")
    .says("Not to be given: doses 5 and 6")
    .says("Recorded as entries");
    room.run(&format!(
        "instruct Thimblo Thimblo DEMO-0001 --skip 4 {BY_PHONE}"
    ))
    .ends(2)
    .says("named twice");
    let check = room.json("check");
    let of = |name: &str| {
        let courses = check["courses"].as_array().unwrap();
        courses
            .iter()
            .find(|course| course["animal"] == name)
            .unwrap()
            .clone()
    };
    for (name, left) in [("Thimblo", 2), ("Nubbet", 2), ("Ossin", 5)] {
        assert_eq!(of(name)["left"]["doses"], left, "{name}");
    }
    // Late, and the vet wants a call: no mark, until there has been one.
    room.at("2001-03-01 22:00");
    let dose = room.dose_of("Ossin");
    assert_eq!(dose["no_mark"][0]["code"], "late_call");
    room.run("check Ossin")
        .ends(1)
        .says("Do not give it without a call: 555 0134")
        .says("scruple instruct Ossin DEMO-0001 --dose-now 2");
    room.run(&format!("instruct Ossin DEMO-0001 --dose-now 2 {BY_PHONE}"))
        .ends(0)
        .says("dose 2 may be given now")
        .says("It may be given until Fri 2 March 04:00");
    room.run("give Ossin DEMO-0001")
        .ends(0)
        .is_silent_about("STOP");
    room.run("check Ossin").ends(0).says("on track");
    // A stop of the whole course.
    room.at("2001-03-01 22:05")
        .run(&format!(
            "instruct Ossin DEMO-0001 --stop-from 1 {BY_PHONE}"
        ))
        .ends(0)
        .says("no dose of this course from now on")
        .says("Not to be given: doses 3 to 6")
        .says("Then no dose of this course is left");
    room.run("check Ossin")
        .ends(0)
        .says("ended early: the vet stopped it");
    // What cannot be.
    for (order, why) in [
        ("--skip 9", "has doses 1 to 6"),
        ("--stop-from 0", "has doses 1 to 6"),
        ("--review 2001-04-01", "has an end of its own"),
        ("--rate \"10 mL/kg\"", "read it back to your vet"),
        ("--strength \"7 units/mL\"", "cannot be drawn from"),
        ("--rate \"5 to 10 mg/kg\"", "range"),
        ("--from 3", "--from goes with"),
        ("--words \"hold on\"", "ay what your vet said"),
        ("--settled 3", "no record of a dose"),
    ] {
        let before = room.book();
        room.run(&format!("instruct Thimblo DEMO-0001 {order} {BY_PHONE}"))
            .ends(2)
            .says(why);
        assert_eq!(before, room.book(), "{order}");
    }
}

/// Until the vet says stop: a review date that passes, one that is moved, and the end.
#[test]
fn a_course_until_the_vet_says_stop() {
    let script = Script::new(
        "DEMO-0001",
        &["Thimblo"],
        r#"UntilStopped(rhythm: Every(interval: "2 days"), review: "2001-03-06")"#,
    );
    let mut room = Room::with_course("until", &script);
    for day in ["01", "03", "05"] {
        room.at(&format!("2001-03-{day} 08:00"))
            .run("give Thimblo DEMO-0001")
            .ends(0);
    }
    room.at("2001-03-07 08:00");
    room.run("check")
        .ends(1)
        .says("the review date has passed: ask your vet whether it goes on")
        .says("scruple instruct Thimblo DEMO-0001 --review DATE")
        .says("scruple instruct Thimblo DEMO-0001 --stop-from 4");
    room.run(&format!(
        "instruct Thimblo DEMO-0001 --review 2001-03-05 {BY_PHONE}"
    ))
    .ends(2)
    .says("5 March 2001 is past");
    room.run(&format!(
        "instruct Thimblo DEMO-0001 --review 2001-03-12 {BY_PHONE}"
    ))
    .ends(0)
    .says("To be given as well: doses 4 to 6");
    room.run("give Thimblo DEMO-0001").ends(0).says("dose 4");
    room.at("2001-03-08 08:00")
        .run(&format!(
            "instruct Thimblo DEMO-0001 --stop-from 5 {BY_PHONE}"
        ))
        .ends(0);
    room.run("check")
        .ends(0)
        .says("complete")
        .is_silent_about("next:");
}

/// A dose now despite too soon: a mark, no alarm, and the word that it was as the vet said.
#[test]
fn a_dose_now_despite_too_soon() {
    let mut room = Room::with_course("now", &Script::twice_a_day());
    room.run("give Thimblo DEMO-0001").ends(0);
    room.at("2001-03-01 12:30");
    assert_eq!(room.json("today")["doses"][0]["dose"], 2);
    room.run(&format!(
        "instruct Thimblo DEMO-0001 --dose-now 2 {BY_PHONE}"
    ))
    .ends(0)
    .says("It may be given until Thu 1 March 18:30");
    room.run("today")
        .says("dose 2 of 6")
        .says("DRAW TO 0.075 mL")
        .says("Vet said dose 2 may be given now");
    // 12:30 is nearer to the first dose; what the vet said comes first.
    room.run("give Thimblo DEMO-0001")
        .ends(0)
        .says("dose 2 of 6")
        .says("0.075 mL")
        .is_silent_about("STOP");
    room.run("check")
        .ends(0)
        .says("on track")
        .says("given in its window: 2");
    room.run("give Thimblo DEMO-0001 --at \"2001-03-01 12:30\" --by BB --drawn \"0.075 mL\"")
        .ends(0)
        .says("STOP");
}
