//! `scruple` alone: what waits in every state a room can be in, what to type next, and that it
//! works as typed.

#![allow(
    clippy::unwrap_used,
    clippy::panic,
    clippy::indexing_slicing,
    reason = "a test may stop at once"
)]

mod readers;
mod room;

use room::{Room, Script};
use serde_json::Value;

/// 31 g since 1 March, a bottle, 6 doses every 12 hours from 1 March 08:00, 1 h 30 min either way.
fn lived_in(name: &str) -> Room {
    Room::with_course(name, &Script::twice_a_day())
}

/// The codes of what waits, in order.
fn codes(room: &mut Room) -> Vec<String> {
    let look = room.json("");
    let waiting = look["waiting"].as_array().unwrap().iter();
    waiting
        .map(|waits| waits["code"].as_str().unwrap().to_owned())
        .collect()
}

/// What waits under a code.
fn under(room: &mut Room, code: &str) -> Vec<Value> {
    let look = room.json("");
    let waiting = look["waiting"].as_array().unwrap().iter();
    waiting
        .filter(|waits| waits["code"] == code)
        .cloned()
        .collect()
}

fn first_command(waiting: &[Value]) -> String {
    let command = waiting[0]["next"]["commands"][0].as_str().unwrap();
    command.split(" --book ").next().unwrap().to_owned()
}

/// Every command of the look that has nothing left to fill in.
fn ready_commands(room: &mut Room) -> Vec<String> {
    let look = room.json("");
    let waiting = look["waiting"].as_array().unwrap().iter();
    let commands = waiting.flat_map(|waits| waits["next"]["commands"].as_array().unwrap().clone());
    // Each names the book and the time, so that it works as typed.
    let commands = commands.map(|command| {
        let (own, common) = command.as_str().unwrap().split_once(" --book ").unwrap();
        assert!(common.contains(" --now "), "{common}");
        own.to_owned()
    });
    const TO_FILL_IN: [&str; 9] = [
        "TIME", "INITIALS", "NAME", "WEIGHT", "STRENGTH", "DATE", "WORDS", "FILE", "CAPACITY",
    ];
    let ready = |command: &String| !command.split(' ').any(|word| TO_FILL_IN.contains(&word));
    commands.filter(ready).collect()
}

#[test]
fn without_a_book_it_says_how_to_begin() {
    let mut room = Room::without_a_book("none");
    room.run("")
        .ends(0)
        .says("There is no book yet at")
        .says("scruple begin --book")
        .says("scruple demo");
    let look = room.json("");
    assert_eq!(look["book"], false);
    assert_eq!(look["waiting"][0]["code"], "begin");
}

/// A new book is filled one thing after another; then it is quiet.
#[test]
fn a_new_book_says_what_it_still_wants() {
    let mut room = Room::bare("new", "UTC");
    room.run("")
        .ends(0)
        .says("To begin")
        .says("scruple syringe add CAPACITY/GRADUATION");
    room.run("syringe add 0.3/0.005 --for injection --needle fixed")
        .ends(0);
    room.run("").says("scruple animal add NAME");
    room.takes_in("Thimblo", "31 g");
    room.run("").says("scruple enter --book");
    room.opens("Madeup Amber", "8 mg/mL");
    room.at("2001-03-01 07:00")
        .run("weigh Thimblo \"31 g\"")
        .ends(0);
    room.enters(&Script::twice_a_day(), "2001-03-02 08:00");
    room.run("")
        .ends(0)
        .says(
            "Nothing is waiting. The next dose: Thimblo, DEMO-0001, dose 1: due Fri 2 March 08:00",
        )
        .is_silent_about("scruple ");
    assert_eq!(codes(&mut room), Vec::<String>::new());
    assert_eq!(room.json("")["next_dose"]["dose"], 1);
}

#[test]
fn an_open_dose_waits_until_it_is_given() {
    let mut room = lived_in("open");
    room.run("")
        .says("Open now")
        .says("Thimblo, DEMO-0001 (Madeup Amber), dose 1 of 6: due 08:00")
        .says("Look at the card, give it, record it: scruple give Thimblo DEMO-0001 --book")
        // A mark stands beside its weight and its bottle, on the card alone.
        .is_silent_about("0.075");
    assert_eq!(codes(&mut room), ["open"]);
    assert_eq!(
        ready_commands(&mut room),
        ["scruple give Thimblo DEMO-0001"]
    );
    room.run("give Thimblo DEMO-0001").ends(0);
    room.run("")
        .says("Nothing is waiting.")
        .says("Later today Thimblo, DEMO-0001, dose 2: due Thu 1 March 20:00");
    assert_eq!(room.json("")["later_today"][0]["dose"], 2);
    assert!(room.json("")["next_dose"].is_null());
}

/// From 09:30 the first dose is late, from 14:00 not recorded.
#[test]
fn late_and_not_recorded_say_whom_to_ask_first() {
    let mut room = lived_in("late");
    room.at("2001-03-01 10:00");
    assert_eq!(codes(&mut room), ["late"]);
    room.run("")
        .says("LATE Thimblo, DEMO-0001 (Madeup Amber), dose 1, due Thu 1 March 08:00: late")
        .says("Ask everyone who could have given it.")
        .says("scruple give Thimblo DEMO-0001 --dose 1");
    room.at("2001-03-01 15:00");
    assert_eq!(codes(&mut room), ["not_recorded"]);
    room.run("")
        .says("Not recorded")
        .says("if unsure do not give, call 555 0134")
        .says("scruple missed Thimblo DEMO-0001 --dose 1")
        .is_silent_about("issed by");
}

#[test]
fn a_late_dose_that_wants_a_call_is_not_offered() {
    let script = Script {
        after_late: "Call",
        ..Script::twice_a_day()
    };
    let mut room = Room::with_course("late-call", &script);
    room.at("2001-03-01 10:00")
        .run("")
        .says("Do not give it without a call: 555 0134")
        .says("scruple instruct Thimblo DEMO-0001 --dose-now 1")
        .is_silent_about("scruple give");
}

/// After a dose given very late the calendar holds the next: 13:00 + 10 h 30 min is past 21:30.
#[test]
fn a_held_dose_waits_for_the_vet() {
    let mut room = lived_in("held");
    room.at("2001-03-01 13:00")
        .run("give Thimblo DEMO-0001")
        .ends(0);
    room.at("2001-03-01 20:00");
    assert_eq!(codes(&mut room), ["held"]);
    room.run("").says("Held").says("Call 555 0134");
}

#[test]
fn what_the_vet_is_to_be_asked_stays_until_the_vet_has_spoken() {
    let mut room = lived_in("vet");
    let entry = room.run("unsure Thimblo DEMO-0001").ends(0).entry();
    // The evening's dose is not given without a call either.
    assert_eq!(codes(&mut room), ["call", "for_the_vet"]);
    room.run("")
        .says("For your vet")
        .says("unsure whether it was given")
        .says(&format!(
            "scruple instruct Thimblo DEMO-0001 --settled {entry}"
        ));
    room.run(&format!(
        "instruct Thimblo DEMO-0001 --settled {entry} --said-by \"Dr A. Example\" --taken-by AK --read-back no --paper-awaited"
    ))
    .ends(0);
    let instruction = under(&mut room, "instruction");
    assert_eq!(codes(&mut room), ["instruction"], "{instruction:?}");
    room.run("")
        .says("What your vet said")
        .says("Read it back to your vet. Its paper has not come. Then:");
    let confirm = ready_commands(&mut room);
    assert!(
        confirm[0].ends_with("--read-back --paper-came"),
        "{confirm:?}"
    );
    room.run(confirm[0].trim_start_matches("scruple ")).ends(0);
    room.run("").says("Nothing is waiting.");
}

/// Weighed on 1 March, limit 7 days: 7 March silent, 8 March good for the last day, 9 March old.
/// An animal without a course is never asked for.
#[test]
fn a_weight_waits_when_it_is_due_and_when_it_is_old() {
    let script = Script {
        schedule: r#"Every(interval: "20 days", doses: 3)"#,
        ..Script::twice_a_day()
    };
    let mut room = Room::with_course("weights", &script);
    room.run("give Thimblo DEMO-0001").ends(0);
    for (day, said) in [
        ("07", ""),
        (
            "08",
            "Thimblo: the weight is good today and too old tomorrow",
        ),
        (
            "09",
            "Thimblo: The weight is 8 days old; the limit is 7 days (the program's setting, not your vet's)",
        ),
    ] {
        room.at(&format!("2001-03-{day} 08:00"));
        let answer = room.run("");
        if said.is_empty() {
            answer.says("Nothing is waiting.");
        } else {
            answer
                .says("Weights")
                .says(said)
                .says("scruple weigh Thimblo WEIGHT");
            assert_eq!(codes(&mut room), ["weight"], "{day}");
        }
    }
    room.at("2001-03-09 09:00")
        .run("weigh Thimblo \"31 g\"")
        .ends(0);
    room.run("").says("Nothing is waiting.");
    room.takes_in("Gravelback", "40 g");
    room.run("").says("Nothing is waiting.");
}

/// 50 g, then 44 g: 12 percent down, which comes before everything else.
#[test]
fn a_loss_of_weight_comes_first() {
    let mut room = lived_in("loss");
    room.at("2001-03-01 08:30")
        .run("weigh Thimblo \"27 g\"")
        .ends(0);
    assert_eq!(codes(&mut room), ["call", "open"]);
    room.run("")
        .says("CALL first Thimblo: 27 g is about 13 percent below 31 g")
        .says("Call 555 0134 (not a number) before anything is given.")
        .says("Call 555 0134 (not a number) before you give it.");
}

#[test]
fn an_animal_that_was_never_weighed_is_asked_for() {
    let mut room = Room::new("unweighed", "UTC");
    room.run("animal add Thimblo --species newt --id \"a tub\"")
        .ends(0);
    room.opens("Madeup Amber", "8 mg/mL");
    room.at("2001-03-01 08:00")
        .enters(&Script::twice_a_day(), "2001-03-01 08:00");
    assert_eq!(codes(&mut room), ["open", "weight"]);
    room.run("")
        .says("No mark. No weight yet: weigh first. To weigh it: scruple weigh Thimblo WEIGHT")
        .says("Thimblo: not weighed yet");
}

#[test]
fn bottles_wait_when_they_are_wanting_wrong_or_nearly_over() {
    let mut room = Room::new("bottles", "UTC");
    room.at("2001-03-01 07:00").takes_in("Thimblo", "31 g");
    room.enters(&Script::twice_a_day(), "2001-03-01 20:00");
    assert_eq!(codes(&mut room), ["bottle"]);
    room.run("")
        .says("Madeup Amber: no bottle of it is in the book")
        .says("scruple bottle open \"Madeup Amber\" --reads STRENGTH --expiry DATE");
    room.opens("Madeup Amber", "10 mg/mL");
    room.run("")
        .says("Madeup Amber: bottle 1 reads 10 mg/mL, and it must read 8 mg/mL")
        .says("Draw nothing from it. Call 555 0134");
    room.run("bottle discard 1").ends(0);
    room.run("")
        .says("Madeup Amber: bottle 1 is empty or discarded, and no other is in the book");
    // Usable through 2 March; the third dose is due on 2 March at 20:00, the fourth after it.
    room.run("bottle open \"Madeup Amber\" --reads \"8 mg/mL\" --expiry 2001-03-02")
        .ends(0);
    room.run("")
        .says("Madeup Amber: bottle 2 may be used through Fri 2 March, and a dose is due Sat 3 March 08:00")
        .says("Ask for another in time");
    room.at("2001-03-03 08:00");
    let past = under(&mut room, "bottle");
    assert_eq!(
        past[0]["words"],
        "Bottle 2, Madeup Amber: it expired after Fri 2 March"
    );
    assert_eq!(first_command(&past), "scruple bottle discard 2");
    room.run("bottle discard 2").ends(0);
    room.opens("Madeup Amber", "8 mg/mL");
    assert_eq!(under(&mut room, "bottle"), Vec::<Value>::new());
}

/// 31 g: 0.075 mL a dose, nothing in a hub: 0.2 mL is enough for the two of 1 March
/// and not for the four after them.
#[test]
fn a_bottle_that_runs_out_is_pointed_out_in_time() {
    let open = |room: &mut Room, holds: &str| {
        room.run(&format!(
            "bottle open \"Madeup Amber\" --reads \"8 mg/mL\" --expiry 2099-12 --holds \"{holds}\""
        ))
        .ends(0);
    };
    let mut room = Room::new("runs-out", "UTC");
    room.at("2001-03-01 07:00").takes_in("Thimblo", "31 g");
    open(&mut room, "0.2 mL");
    room.enters(&Script::twice_a_day(), "2001-03-01 08:00");
    room.run("")
        .says("Madeup Amber: what is in hand runs out before the dose of Fri 2 March; 4 doses are not covered")
        .says("Ask for another in time; once it is in your hand: scruple bottle open \"Madeup Amber\"");
    open(&mut room, "5 mL");
    assert_eq!(under(&mut room, "bottle"), Vec::<Value>::new());
}

/// An aliquot past its days is no reason to throw away those still frozen.
#[test]
fn the_next_aliquot_is_thawed_before_the_batch_is_discarded() {
    let mut room = Room::new("aliquots", "UTC");
    room.at("2001-03-01 07:00").takes_in("Thimblo", "31 g");
    room.run("bottle open \"Madeup Amber\" --reads \"8 mg/mL\" --expiry 2001-12 --holds \"0.5 mL\" --made-up 2001-03-01 --aliquots 2 --discard-after \"3 days\"")
        .ends(0);
    room.run("bottle thaw 1").ends(0);
    room.at("2001-03-05 07:00");
    let past = under(&mut room, "bottle");
    assert_eq!(first_command(&past), "scruple bottle thaw 1", "{past:?}");
    room.run("bottle thaw 1").ends(0);
    room.at("2001-03-09 07:00");
    let past = under(&mut room, "bottle");
    assert_eq!(first_command(&past), "scruple bottle discard 1", "{past:?}");
}

#[test]
fn follow_ups_wait_from_their_day_on() {
    let script = Script {
        schedule: "Once",
        more: "follow_ups: [FollowUp(what: \"Demonstration visit\", when: AfterLastDose(\"14 days\"))],",
        ..Script::twice_a_day()
    };
    let mut room = Room::with_course("follow-ups", &script);
    room.run("give Thimblo DEMO-0001").ends(0);
    room.at("2001-03-14 08:00")
        .run("")
        .says("Nothing is waiting.");
    room.at("2001-03-15 08:00")
        .run("")
        .says("\"Demonstration visit\", due today");
    room.at("2001-03-17 08:00")
        .run("")
        .says("overdue by 2 days");
    assert_eq!(
        ready_commands(&mut room),
        ["scruple done Thimblo DEMO-0001 1"]
    );
    room.run("done Thimblo DEMO-0001 1").ends(0);
    room.run("").says("Nothing is waiting.");
}

/// After an animal's stay has ended nothing waits for it.
#[test]
fn an_ended_stay_is_quiet() {
    let mut room = lived_in("ended");
    room.at("2001-03-01 10:00")
        .run("end Thimblo --how died")
        .ends(0);
    for now in ["2001-03-01 10:00", "2001-03-20 10:00"] {
        room.at(now)
            .run("")
            .says("Nothing is waiting.")
            .is_silent_about("Thimblo");
    }
}

/// A clock set back is pointed out before anything else.
#[test]
fn a_clock_behind_the_book_comes_first() {
    let mut room = lived_in("clock");
    room.at("2001-03-01 06:00");
    assert_eq!(codes(&mut room)[0], "book");
    room.run("")
        .says("STOP: the book")
        .says("Set the clock right");
}

/// Every command that has nothing to fill in works as typed, at every hour of a course nobody
/// attends to.
#[test]
fn every_ready_command_works_as_typed() {
    let mut tried = 0;
    for (at, now) in [
        "2001-03-01 08:00",
        "2001-03-01 10:00",
        "2001-03-01 15:00",
        "2001-03-02 08:00",
        "2001-03-04 22:00",
        "2001-04-02 08:00",
    ]
    .iter()
    .enumerate()
    {
        let commands = {
            let mut room = lived_in(&format!("ready-{at}"));
            room.at(now);
            ready_commands(&mut room)
        };
        for (which, command) in commands.iter().enumerate() {
            let mut room = lived_in(&format!("ready-{at}-{which}"));
            let line = command.trim_start_matches("scruple ");
            room.at(now).run(line).ends(0);
            tried += 1;
        }
    }
    assert!(tried >= 12, "only {tried} commands were tried");
}
