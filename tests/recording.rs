//! What people record, in every state it can be recorded in: what should not have happened is
//! kept and flagged, what was typed in afterwards counts as if it had been typed at once, and what
//! was wrong is struck out and not removed.

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

/// Promise 7: a volume that must not be drawn is not shown, and what happened is kept.
#[test]
fn too_soon_is_loud_and_shows_no_volume() {
    let mut room = Room::with_course("soon", &Script::twice_a_day());
    room.run("give Thimblo DEMO-0001").ends(0).says("0.075 mL");
    room.at("2001-03-01 15:00");
    room.typing("no\n")
        .run("give Thimblo DEMO-0001 --by BB")
        .ends(2)
        .says("dose 2 of 6")
        .says("STOP. The last dose was Thu 1 March 08:00. Give nothing now; it opens Thu 1 March 18:30")
        .says("If it has not happened yet, do not give it: type no and call")
        .says("Nothing was kept")
        .is_silent_about("0.075");
    room.run("give Thimblo DEMO-0001 --by BB --drawn \"0.075 mL\"")
        .ends(0)
        .says("CALL YOUR VET NOW: 555 0134");
    room.run("check")
        .ends(1)
        .says("dose 2: given too soon after the dose before: call your vet now");
    room.run("animal show Thimblo").says("FLAGGED: too soon");
}

/// A sitter's lines typed in late and out of order: the same verdict as if they had been typed as
/// they happened, and no line is blamed for the order.
#[test]
fn the_order_of_typing_changes_nothing() {
    let given = [
        "2001-03-01 08:10",
        "2001-03-01 20:00",
        "2001-03-02 07:30",
        "2001-03-02 20:20",
    ];
    let mut at_once = Room::with_course("at-once", &Script::twice_a_day());
    for at in given {
        at_once.at(at).run("give Thimblo DEMO-0001 --by SI").ends(0);
    }
    let mut turned = Room::with_course("turned", &Script::twice_a_day());
    turned.at("2001-03-02 21:00");
    for at in [given[2], given[0], given[3], given[1]] {
        turned
            .run(&format!("give Thimblo DEMO-0001 --by SI --at \"{at}\""))
            .ends(0)
            .says("0.075 mL")
            .is_silent_about("STOP");
    }
    let verdict = |room: &mut Room| {
        let course = room.at("2001-03-02 21:00").course_of("Thimblo");
        let states = course["doses"].as_array().unwrap().iter();
        let states: Vec<String> = states.map(|dose| dose["state"].to_string()).collect();
        (
            course["verdict"].clone(),
            course["adherence"].clone(),
            states,
        )
    };
    assert_eq!(verdict(&mut at_once), verdict(&mut turned));
    assert_eq!(verdict(&mut turned).0["code"], "on_track");
}

/// A line typed in afterwards can show an earlier one in another light.
#[test]
fn an_entry_afterwards_shows_that_another_was_too_many() {
    let mut room = Room::with_course("light", &Script::twice_a_day());
    let second = room
        .at("2001-03-01 09:20")
        .run("give Thimblo DEMO-0001 --by BB");
    second.ends(0).is_silent_about("STOP");
    room.at("2001-03-01 12:00");
    room.run("give Thimblo DEMO-0001 --by AK --at \"2001-03-01 08:00\"")
        .ends(0)
        .says(&format!(
            "Now entry {} stands out: given beside the doses",
            second.entry()
        ));
    room.run("check").ends(1).says("beside the schedule: 1");
}

/// A mark is that of the weight, the rate, the strength and the bottle as they were then.
#[test]
fn afterwards_everything_is_as_it_was_then() {
    let mut room = Room::with_course("then", &Script::twice_a_day());
    room.at("2001-03-01 12:00")
        .run("weigh Thimblo \"33 g\"")
        .ends(0);
    room.run(&format!(
        "instruct Thimblo DEMO-0001 --rate \"10 mg/kg\" --from 1 {BY_PHONE}"
    ))
    .ends(0);
    room.run("bottle empty 1").ends(0);
    room.opens("Madeup Amber", "8 mg/mL");
    let then = room.run("give Thimblo DEMO-0001 --at \"2001-03-01 08:00\" --by AK");
    then.ends(0)
        .says("0.075 mL, site A")
        .is_silent_about("STOP");
    let history = room.run("animal show Thimblo");
    history.says("given Thu 1 March 2001 08:00, 0.075 mL, site A, left side, bottle 1, by AK");
    // 33 g at 10 mg/kg: 0.33 mg, 0.04125 mL, to the line at 0.04 mL.
    room.at("2001-03-01 20:00")
        .run("give Thimblo DEMO-0001 --by AK")
        .ends(0)
        .says("0.04 mL, site B");
}

#[test]
fn what_was_drawn_is_held_against_the_mark() {
    let mut room = Room::with_course("drawn", &Script::twice_a_day());
    // About ten times: typed again, and --yes does not stand for it.
    room.run("give Thimblo DEMO-0001 --drawn \"0.75 mL\"")
        .ends(2)
        .says("0.75 mL is about 9.7 times as much as the dose")
        .says("nothing was recorded");
    // One line less is -3.2 percent: recorded beside the mark, an exception at the end.
    room.run("give Thimblo DEMO-0001 --drawn \"0.07 mL\"")
        .ends(0)
        .says("The mark was 0.075 mL; 0.07 mL was drawn. Both are recorded")
        .is_silent_about("STOP");
    room.at("2001-03-01 20:00");
    // 0.1 mL is 29 percent more than 0.0775 mL.
    room.run("give Thimblo DEMO-0001 --drawn \"0.1 mL\"")
        .ends(0)
        .says("STOP. What was drawn is about 29 percent more than the dose; no mark is shown above 10 percent")
        .says("CALL YOUR VET NOW");
    room.run("check")
        .ends(1)
        .says("another volume than the dose: call your vet now")
        // 0.56 mg and 0.8 mg at 31 g.
        .says("really given: about 18.06 mg/kg to about 25.81 mg/kg each time, in 2 doses");
    room.at("2001-03-02 08:00");
    room.run("partly Thimblo DEMO-0001 --drawn \"0.04 mL\"")
        .ends(0)
        .is_silent_about("STOP")
        .says("Give no more of it. Ask your vet");
}

/// Rule 37: from an expired bottle, with a syringe for another use, in an insulin barrel for a
/// medicine in units.
#[test]
fn what_it_was_drawn_from_and_in_is_flagged() {
    let mut room = Room::new("flags", "UTC");
    room.at("2001-03-01 07:00").takes_in("Thimblo", "31 g");
    room.run("bottle open \"Madeup Amber\" --reads \"8 mg/mL\" --expiry 2001-03-01")
        .ends(0);
    room.enters(&Script::twice_a_day(), "2001-03-01 08:00");
    room.at("2001-03-01 08:00")
        .run("give Thimblo DEMO-0001 --syringe 1/0.01 --drawn \"0.08 mL\"")
        .ends(0)
        .says("STOP. No syringe for injection is at hand");
    room.at("2001-03-01 20:00")
        .run("give Thimblo DEMO-0001 --bottle 1")
        .ends(0);
    room.at("2001-03-02 08:00");
    room.run("give Thimblo DEMO-0001 --bottle 1 --drawn \"0.075 mL\"")
        .ends(0)
        .says("STOP. Bottle 1 expired after 1 March 2001")
        .says("CALL YOUR VET NOW");
    room.run("give Thimblo DEMO-0001 --bottle 9")
        .ends(2)
        .says("bottle");
    room.run("animal show Thimblo")
        .says("FLAGGED: no syringe for this use")
        .says("FLAGGED: the bottle had expired");
    let check = room.run("check");
    check
        .ends(1)
        .says("no syringe for this use: call your vet now")
        .says("the bottle had expired: call your vet now")
        .says("scruple instruct Thimblo DEMO-0001 --settled 10");
    for entry in [8, 10] {
        room.run(&format!(
            "instruct Thimblo DEMO-0001 --settled {entry} {BY_PHONE}"
        ))
        .ends(0);
    }
    room.run("check").ends(0).is_silent_about("expired: call");

    let units = Script {
        medicine: "Madeup Bracken",
        strength: "700 units/mL",
        dose: "900 units/kg",
        reference: "DEMO-0002",
        ..Script::twice_a_day()
    };
    room.run("syringe add 0.5/0.01 --for injection --needle fixed --scale u-100")
        .ends(0);
    room.opens("Madeup Bracken", "700 units/mL");
    room.enters(&units, "2001-03-02 08:00");
    room.run("give Thimblo DEMO-0002 --syringe 0.5/0.01 --drawn \"0.04 mL\"")
        .ends(0)
        .says("STOP. This medicine is measured in units");
    room.run("animal show Thimblo")
        .says("an insulin barrel, for a medicine measured in units");
}

/// Rule 28: what was brought up after it was given is the same dose, and is never topped up.
#[test]
fn brought_up_after_it_was_given_is_that_same_dose() {
    let mut room = Room::with_course("up", &Script::twice_a_day());
    room.run("give Thimblo DEMO-0001 --by AK").ends(0);
    room.at("2001-03-01 08:20");
    room.run("brought-up Thimblo DEMO-0001 --by AK")
        .ends(0)
        .says("dose 1 of 6): brought up Thu 1 March 08:20")
        .says("Give no more of it. Ask your vet")
        // On the safe side the time counts from when it came up: 08:20 + 12 h - 1 h 30 min.
        .says("Next: dose 2, due Thu 1 March 20:00, not before Thu 1 March 18:50")
        .is_silent_about("STOP");
    let course = room.course_of("Thimblo");
    assert_eq!(course["doses"][0]["state"], "brought up");
    assert_eq!(course["adherence"]["extra"], 0);
    assert_eq!(course["adherence"]["in_part"], 1);
    assert!(
        room.dose_of("Thimblo")["worked"]["mark"].is_null() || room.dose_of("Thimblo")["dose"] == 2
    );
    room.run("check")
        .ends(1)
        .says("dose 1: brought up: give no more of it unless your vet says so");
    // The vet has it given again: the slot opens once more, and is filled.
    room.at("2001-03-01 09:00");
    room.run(&format!(
        "instruct Thimblo DEMO-0001 --dose-now 1 {BY_PHONE}"
    ))
    .ends(0)
    .says("It may be given until Thu 1 March 15:00");
    room.run("today")
        .says("dose 1 of 6")
        .says("DRAW TO 0.075 mL");
    room.run("give Thimblo DEMO-0001 --dose 1")
        .ends(0)
        .is_silent_about("STOP");
    room.run(&format!(
        "instruct Thimblo DEMO-0001 --dose-now 1 {BY_PHONE}"
    ))
    .ends(2)
    .says("Dose 1 has been given");
}

#[test]
fn a_refusal_leaves_it_open_and_an_answer_closes_it() {
    let mut room = Room::with_course("refused", &Script::twice_a_day());
    room.run("refused Thimblo DEMO-0001")
        .ends(0)
        .says("dose 1 of 6");
    assert_eq!(room.dose_of("Thimblo")["state"], "open");
    room.at("2001-03-01 08:30")
        .run("give Thimblo DEMO-0001")
        .ends(0)
        .is_silent_about("STOP");
    room.run("check").ends(0).says("on track");
    // Not yet due is not missed; due and answered for is.
    room.run("missed Thimblo DEMO-0001")
        .ends(2)
        .says("Dose 2 is due Thu 1 March 20:00 and is not missed yet");
    room.at("2001-03-01 21:00")
        .run("missed Thimblo DEMO-0001 --note \"no time\"")
        .ends(0);
    room.run("check")
        .ends(1)
        .says("dose 2: missed: ask your vet");
    room.at("2001-03-02 08:00")
        .run("withheld Thimblo DEMO-0001 --dose 3")
        .ends(0)
        .says("withheld, said Fri 2 March 08:00");
    let course = room.course_of("Thimblo");
    assert_eq!(course["adherence"]["not_given"], 2);
}

/// An unsure dose closes the gate from the latest moment at which it could have been given.
#[test]
fn unsure_goes_by_the_latest_moment_it_can_have_been() {
    let mut room = Room::with_course("unsure", &Script::twice_a_day());
    room.at("2001-03-01 18:00");
    room.run("unsure Thimblo DEMO-0001 --at \"2001-03-01 13:00\"")
        .ends(0)
        .says("dose 1 of 6): unsure; if it was given, then by Thu 1 March 13:00")
        .says("Do not give it again. Call your vet");
    // 13:00 + 12 h - 1 h 30 min = 23:30, after the window of dose 2 has closed at 21:30.
    let evening = room.at("2001-03-01 20:00").dose_of("Thimblo");
    assert_eq!(evening["state"], "held");
    room.run("check")
        .ends(1)
        .says("dose 2: held")
        .says("scruple instruct Thimblo DEMO-0001 --dose-now 2")
        .says("scruple instruct Thimblo DEMO-0001 --skip 2");
}

/// A correction, the correction of a correction, and what may not be struck out.
#[test]
fn corrections() {
    let mut room = Room::with_course("correct", &Script::twice_a_day());
    let weighing = room.run("weigh Thimblo \"38 g\"").entry();
    room.run("today").says("0.095 mL");
    let out = room.run(&format!(
        "correct {weighing} --because \"that was Nubbet\" --by AK"
    ));
    out.ends(0)
        .says(&format!("Entry {weighing}: Thimblo: weighed 38 g"))
        .says("Without it, the latest weight of Thimblo is: 31 g on 1 March 2001. Now it is: 38 g on 1 March 2001")
        .says("scruple weigh Thimblo WEIGHT --at TIME")
        .says("Nothing was removed");
    room.run("today").says("0.075 mL");
    let correction: u64 = weighing + 1;
    out.says(&format!("struck out by entry {correction}"));
    room.run(&format!("correct {weighing} --because \"again\""))
        .ends(2)
        .says("struck out already");
    room.run(&format!(
        "correct {correction} --because \"it was Thimblo after all\""
    ))
    .ends(0)
    .says("Without it, the latest weight of Thimblo is: 38 g");
    room.run("today").says("0.095 mL");
    room.run("animal show Thimblo")
        .says(&format!(
            "entry {correction}: entry {weighing} was struck out"
        ))
        .says(&format!("STRUCK OUT by entry {}", correction + 1));

    let dose = room.run("give Thimblo DEMO-0001").entry();
    room.typing("no\n")
        .run(&format!("correct {dose} --because \"typed twice\""))
        .ends(2)
        .says("Without it, dose 1 of Thimblo (DEMO-0001) is: open. Now it is: given")
        .says("Be sure that this did not happen: without it the dose may be given again")
        .says("Nothing was kept");
    assert_eq!(room.course_of("Thimblo")["adherence"]["in_window"], 1);

    for (entry, why) in [
        (4, "prescription of Thimblo is in the book"),
        (6, "is of a dose from bottle 1"),
        (7, "record of Thimblo hangs on prescription DEMO-0001"),
        (999, "no entry 999"),
        (1, "ettings are not struck out"),
    ] {
        let before = room.book();
        room.run(&format!("correct {entry} --because \"wrong\""))
            .ends(2)
            .says(why);
        assert_eq!(before, room.book());
    }
    // With nothing hanging on them they may go, and come back only while their place is free.
    room.run("animal add Wisp --species \"invented moth\" --id \"jar 2\"")
        .ends(0);
    let wisp: u64 = dose + 1;
    room.run(&format!("correct {wisp} --because \"wrong name\""))
        .ends(0);
    room.run("animal list").is_silent_about("Wisp");
    room.run("animal add Wisp --species \"invented moth\" --id \"jar 3\"")
        .ends(0);
    room.run(&format!(
        "correct {} --because \"right after all\"",
        wisp + 1
    ))
    .ends(2)
    .says("cannot count twice");
}

/// Rule 27: the gate knows the other courses of the same medicine, by any of its names.
#[test]
fn another_course_of_the_same_medicine_closes_the_gate() {
    let mut room = Room::with_course("other", &Script::twice_a_day());
    room.run("give Thimblo DEMO-0001").ends(0);
    let second = Script {
        reference: "DEMO-0002",
        medicine: "Madeup Umbra",
        more: r#"same_as: ["Madeup Amber"],"#,
        ..Script::new(
            "DEMO-0002",
            &["Thimblo"],
            r#"Every(interval: "24 hours", doses: 3)"#,
        )
    };
    room.enters(&second, "2001-03-01 10:00");
    room.at("2001-03-01 10:00");
    let card = room.json("today");
    let doses = card["doses"].as_array().unwrap();
    let dose = doses
        .iter()
        .find(|dose| dose["prescription"] == "DEMO-0002")
        .unwrap();
    // The longer of the two gaps, 24 h, less the slack of 3 h.
    assert_eq!(dose["opens"], "2001-03-02T05:00:00Z");
    assert!(dose["worked"]["mark"].is_null());
    assert_eq!(dose["no_mark"][0]["code"], "held");
    room.run("check Thimblo DEMO-0002")
        .ends(1)
        .says("held")
        .is_silent_about("DEMO-0001");
    room.run("check DEMO-0001")
        .ends(0)
        .is_silent_about("DEMO-0002");
    room.run("give Thimblo DEMO-0002 --drawn \"0.075 mL\"")
        .ends(0)
        .says("STOP");
}

/// The wrong animal was said to have died, the wrong bottle to be empty; both are taken back.
#[test]
fn an_end_can_be_taken_back() {
    let mut room = Room::with_course("back", &Script::twice_a_day());
    let end = room.run("end Thimblo --how died").entry();
    room.run("today").is_silent_about("Thimblo");
    room.run(&format!(
        "correct {end} --because \"that was another animal\""
    ))
    .ends(0)
    .says("dose 1 of Thimblo (DEMO-0001) is: open");
    room.run("today").says("DRAW TO 0.075 mL");
    room.run("bottle empty 1").ends(0);
    room.run("today").says("Bottle 1 is empty or discarded");
    room.run(&format!("correct {} --because \"bottle 2\"", end + 2))
        .ends(0);
    room.run("today").says("DRAW TO 0.075 mL");
    // A name much like another is typed again, and --yes does not stand for it.
    let add = "animal add Thimbol --species \"invented newt\" --id \"jar 3\"";
    room.run(add).ends(2).says("Type the name once more");
    room.typing("Thimbol\n").run(add).ends(0);
}

/// A weight ten times the vet's, typed twice and yet wrong: the first dose has no dose before it to
/// be held against, so the card says to call. 310 is ten times 31.
#[test]
fn a_tenfold_first_weight_calls() {
    let mut room = Room::new("tenfold-first", "UTC");
    let mut script = Script::twice_a_day();
    script.more = "weighed: [Weighed(animal: \"Thimblo\", weight: \"31 g\")],";
    room.at("2001-03-01 07:00")
        .takes_in("Thimblo", "31 g")
        .opens(script.medicine, script.strength)
        .enters(&script, "2001-03-01 08:00");
    room.at("2001-03-01 08:00");
    room.run("today").is_silent_about("about ten times");
    room.typing("310 g\n")
        .run("weigh Thimblo \"310 g\"")
        .ends(0);
    room.run("today")
        .says("CALL")
        .says("310 g is about ten times as much or as little as 31 g, which your vet wrote");
}
