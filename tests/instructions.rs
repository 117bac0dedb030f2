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

/// A fixed dose is changed like a rate: from a dose on, with the marks before and after.
#[test]
fn a_fixed_dose_is_changed_from_a_dose_on() {
    let mut room = Room::new("fixed", "UTC");
    let text = Script::twice_a_day()
        .text()
        .replace("PerBodyWeight(\"20 mg/kg\")", "Fixed(\"0.1 mL\")");
    let path = room.write("fixed.ron", text);
    room.at("2001-03-01 07:00")
        .takes_in("Thimblo", "31 g")
        .opens("Madeup Amber", "8 mg/mL");
    room.run(&format!("enter {path} --start \"2001-03-01 08:00\""))
        .ends(0);
    room.at("2001-03-01 08:00");
    room.run("give Thimblo DEMO-0001").ends(0).says("0.1 mL");
    let order = |amount: &str| {
        format!("instruct Thimblo DEMO-0001 --fixed \"{amount}\" --from 3 {BY_PHONE}")
    };
    // Another kind of amount, a rate, and a moved point are no change of this dose.
    room.run(&order("2 mg"))
        .ends(2)
        .says("read it back to your vet");
    room.run(&format!(
        "instruct Thimblo DEMO-0001 --rate \"9 mg/kg\" {BY_PHONE}"
    ))
    .ends(2)
    .says("does not go by body weight");
    room.run(&format!(
        "instruct Thimblo DEMO-0001 --apply \"a thin film\" {BY_PHONE}"
    ))
    .ends(2)
    .says("which is not applied");
    room.run(&order("1 mL")).ends(2).says("10 times as much as");
    room.run(&order("0.15 mL"))
        .ends(0)
        .says("from dose 3 on, 0.15 mL each time")
        .says("Before, dose 3: 0.1 mL")
        .says("From now, dose 3: 0.15 mL");
    room.at("2001-03-01 20:00");
    assert_eq!(
        room.dose_of("Thimblo")["worked"]["mark"]["each"]["exact"],
        "1/10"
    );
    room.run("give Thimblo DEMO-0001").ends(0).says("0.1 mL");
    room.at("2001-03-02 08:00");
    assert_eq!(
        room.dose_of("Thimblo")["worked"]["mark"]["each"]["exact"],
        "3/20"
    );
    room.run("today")
        .ends(0)
        .says("from dose 3 on, 0.15 mL each time: Dr A. Example");
    room.run("give Thimblo DEMO-0001").ends(0).says("0.15 mL");
    // What was true before still stands in the history.
    room.run("animal show Thimblo")
        .says("from dose 3 on, 0.15 mL each time")
        .says("0.1 mL");
}

/// An application is changed in the vet's words.
#[test]
fn an_application_is_changed_in_words() {
    let mut room = Room::new("applied", "UTC");
    let script = r#"Prescription(
    demonstration: true, reference: "DEMO-0009", written: "2001-01-01",
    vet: Vet(name: "Dr A. Example", phone: "555 0134 (not a number)"),
    animals: ["Thimblo"], medicine: Medicine(name: "Madeup Indigo", form: "eye drops"),
    dose: Application("2 drops"), route: InEye("left"),
    schedule: Every(interval: "12 hours", doses: 6), after_late: KeepCalendar)"#;
    let path = room.write("drops.ron", script);
    room.at("2001-03-01 07:00").takes_in("Thimblo", "31 g");
    room.run(&format!("enter {path} --start \"2001-03-01 08:00\""))
        .ends(0);
    room.at("2001-03-01 08:00");
    room.run("give Thimblo DEMO-0009").ends(0);
    room.run(&format!(
        "instruct Thimblo DEMO-0009 --fixed \"0.1 mL\" {BY_PHONE}"
    ))
    .ends(2)
    .says("which is not the same for every weight");
    room.run(&format!(
        "instruct Thimblo DEMO-0009 --apply \"1 drop\" --from 2 {BY_PHONE}"
    ))
    .ends(0)
    .says("from dose 2 on: \"1 drop\"")
    .says("Before, dose 2: 2 drops")
    .says("From now, dose 2: 1 drop");
    room.at("2001-03-01 20:00")
        .run("today")
        .ends(0)
        .says("\"1 drop\"");
    room.run("animal show Thimblo")
        .says("from dose 2 on: \"1 drop\"");
}

/// After a stop the vet may have doses given again; those between stay out, and what was said
/// before is kept.
#[test]
fn a_stopped_course_is_resumed_by_the_vet() {
    let mut room = Room::with_course("resumed", &Script::twice_a_day());
    room.run("give Thimblo DEMO-0001").ends(0);
    let resume = |from: u32| format!("instruct Thimblo DEMO-0001 --resume-from {from} {BY_PHONE}");
    room.run(&resume(3)).ends(2).says("has not been stopped");
    room.at("2001-03-01 12:00");
    room.run("instruct Thimblo DEMO-0001 --stop-from 2 --said-by \"Dr A. Example\" --taken-by AK --read-back no")
    .ends(0)
    .says("Not to be given: doses 2 to 6");
    room.run("check Thimblo").says("ended early");
    // Dose 2 was due on 1 March at 20:00, and its window closed at 21:30.
    room.at("2001-03-02 08:30");
    room.run(&resume(2))
        .ends(2)
        .says("is past: the first that is not is dose 3, due Fri 2 March 08:00");
    room.run(&resume(4))
        .ends(0)
        .says("doses again from dose 4 on; what was stopped before it stays out")
        .says("To be given as well: doses 4 to 6")
        .says("Then next: dose 4, due Fri 2 March 20:00");
    // The stop is out of force, and that it was never read back is no longer asked about.
    room.run("check Thimblo").ends(0).says("on track");
    for (at, number) in [
        ("2001-03-02 20:00", 4),
        ("2001-03-03 08:00", 5),
        ("2001-03-03 20:00", 6),
    ] {
        room.at(at);
        assert_eq!(room.dose_of("Thimblo")["dose"], number, "{at}");
        room.run("give Thimblo DEMO-0001")
            .ends(0)
            .is_silent_about("STOP");
    }
    room.run("check Thimblo")
        .ends(0)
        .says("complete with exceptions");
    room.run("animal show Thimblo")
        .says("no dose from dose 2 on")
        .says("doses again from dose 4 on");
    // Seen at the moment between, it was stopped; and it can be stopped once more.
    room.at("2001-03-03 21:00");
    room.run(&format!(
        "instruct Thimblo DEMO-0001 --stop-from 6 {BY_PHONE}"
    ))
    .ends(0)
    .says("No dose that waits is changed by it");
}

/// A dose given minutes late hides the evening's mark until its window opens, and the words say
/// when that is: given at 09:20, inside its window, 9 h 20 min + 12 h - 1 h 30 min is 19:50.
#[test]
fn a_mark_that_waits_says_when_it_opens() {
    let mut room = Room::with_course("opens", &Script::twice_a_day());
    room.at("2001-03-01 09:20");
    room.run("give Thimblo DEMO-0001").ends(0).says(
        "due Thu 1 March 20:00, not before Thu 1 March 19:50: its mark is shown from then on",
    );
    room.at("2001-03-01 19:00")
        .run("today")
        .says("Too soon: it opens Thu 1 March 19:50")
        .says("Give nothing now; it opens Thu 1 March 19:50, and its mark is shown from then on.");
    room.at("2001-03-01 19:50");
    assert_eq!(
        room.dose_of("Thimblo")["no_mark"].as_array().unwrap().len(),
        0
    );
}
