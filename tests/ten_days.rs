//! Ten days in the life of an animal room, command by command: two animals with a course each, a
//! late dose, a change by phone, a lost tick, a sitter's entries typed in afterwards and out of
//! order, clocks that go forward, one death, one completion. At each moment the words are those
//! that a careful vet nurse would say.
//!
//! Thimblo: 20 mg/kg of 8 mg/mL every 48 hours, 5 doses. At 46 g: 0.92 mg, 0.115 mL; at 15 mg/kg:
//! 0.69 mg, 0.08625 mL, to the line at 0.085 mL. Nubbet: 37 mg/kg of 26 mg/mL at 08:00 and 20:00.
//! At 120 g: 4.44 mg, 0.17077 mL, to the line at 0.17 mL.

#![allow(
    clippy::unwrap_used,
    clippy::panic,
    clippy::indexing_slicing,
    reason = "a test may stop at once"
)]

mod readers;
mod room;

use room::{Room, Script};

const THIMBLO: Script = Script {
    after_late: "CountFromGiven",
    written: "2001-03-19",
    more: r#"valid_until: "2001-06-01",
    if_missed: "Demonstration instruction: ring the practice.",
    follow_ups: [FollowUp(what: "Demonstration visit", when: AfterLastDose("1 day"))],"#,
    ..Script::new(
        "DEMO-0001",
        &["Thimblo"],
        r#"Every(interval: "48 hours", doses: 5)"#,
    )
};

const NUBBET: Script = Script {
    medicine: "Madeup Cobalt",
    strength: "26 mg/mL",
    dose: "37 mg/kg",
    by_mouth: true,
    written: "2001-03-19",
    ..Script::new(
        "DEMO-0002",
        &["Nubbet"],
        r#"AtTimes(times: ["08:00", "20:00"], days: 10)"#,
    )
};

const BY_PHONE: &str = "--said-by \"Dr A. Example\" --taken-by AK";

#[test]
fn ten_days_in_the_life_of_an_animal_room() {
    let mut room = Room::new("ten-days", "Europe/Warsaw");
    first_day(&mut room);
    a_lost_tick(&mut room);
    a_late_dose(&mut room);
    a_change_by_phone(&mut room);
    the_clocks_go_forward_while_a_sitter_gives(&mut room);
    the_sitter_s_paper(&mut room);
    a_death(&mut room);
    a_completion(&mut room);
    the_history_keeps_it_all(&mut room);
}

/// Tuesday 20 March.
fn first_day(room: &mut Room) {
    room.at("2001-03-20 07:00")
        .takes_in("Thimblo", "46 g")
        .takes_in("Nubbet", "120 g")
        .opens("Madeup Amber", "8 mg/mL")
        .opens("Madeup Cobalt", "26 mg/mL");
    let file = room.write("plan.ron", THIMBLO.text());
    room.run(&format!("plan {file} --start \"2001-03-20 08:00\""))
        .ends(0)
        .says("1 Tuesday 20 March 2001 at 08:00")
        .says("4 Monday 26 March 2001 at 09:00")
        .says("on Sunday 25 March 2001 they go forward by 1 hour")
        .says("Thimblo, 46 g on 20 March 2001: 5 doses, 0.575 mL (not a mark)")
        .says("\"Demonstration visit\", 1 day after the last dose given: if all goes as planned Thu 29 March");
    room.enters(&THIMBLO, "2001-03-20 08:00")
        .enters(&NUBBET, "2001-03-20 08:00");
    room.run("check").ends(0).says("not started");
    room.at("2001-03-20 08:05");
    room.run("today")
        .says("1 of 3 Thimblo")
        .says("DRAW TO 0.115 mL")
        .says("46 g today")
        .says("DRAW TO 0.17 mL");
    // The second dose of the day is on the card with its mark, for after the first at its latest:
    // 09:30 + 12 h - 1 h 30 min.
    let card = room.json("today");
    let evening = &card["doses"][2];
    assert_eq!(evening["not_before"], "2001-03-20T19:00:00Z");
    assert_eq!(evening["worked"]["mark"]["each"]["exact"], "17/100");
    room.run("give Thimblo DEMO-0001 --by AK")
        .ends(0)
        .says("dose 1 of 5")
        .says("0.115 mL, site A, left side")
        .says("Next: dose 2, due Thu 22 March 08:00, not before Thu 22 March 02:05");
    room.run("give Nubbet DEMO-0002 --by AK")
        .ends(0)
        .says("0.17 mL");
    // 08:05 + 12 h - 1 h 30 min: five minutes after the window of the evening dose would open.
    let evening = room.dose_of("Nubbet");
    assert_eq!(
        (&evening["dose"], &evening["state"]),
        (&2.into(), &"too soon".into())
    );
    assert_eq!(evening["opens"], "2001-03-20T17:35:00Z");
    assert!(evening["worked"]["mark"].is_null());
    room.at("2001-03-20 20:00");
    room.run("give Nubbet DEMO-0002 --by AK")
        .ends(0)
        .says("dose 2 of 20");
}

/// Wednesday 21 March: BB gives the evening dose and does not tick it.
fn a_lost_tick(room: &mut Room) {
    room.at("2001-03-21 08:10");
    room.run("give Nubbet DEMO-0002 --by BB")
        .ends(0)
        .says("dose 3 of 20");
    room.at("2001-03-21 21:31");
    room.run("check Nubbet")
        .ends(1)
        .says("needs attention")
        .says("dose 4: late")
        .says("Ask everyone who could have given it")
        .is_silent_about("missed");
    // Thursday 22 March, early: it is not recorded, and no later dose has a mark until someone
    // answers for it.
    room.at("2001-03-22 07:45");
    room.run("check Nubbet")
        .ends(1)
        .says("dose 4: not recorded: ask everyone who could have given it; if unsure do not give, call your vet")
        .says("scruple give Nubbet DEMO-0002 --dose 4 --at TIME --by INITIALS")
        .says("scruple missed Nubbet DEMO-0002 --dose 4")
        .says("scruple unsure Nubbet DEMO-0002 --dose 4 --at TIME");
    let card = room.run("today");
    card.says("Dose 4 has not been answered for");
    // BB remembers.
    room.run("give Nubbet DEMO-0002 --at \"2001-03-21 20:10\" --by BB")
        .ends(0)
        .says("dose 4 of 20")
        .says("given Wed 21 March 20:10, 0.17 mL")
        .is_silent_about("STOP")
        .says("Next: dose 5, due Thu 22 March 08:00 (open)");
    room.run("check Nubbet")
        .ends(0)
        .says("on track")
        .says("given in its window: 4");
    room.at("2001-03-22 08:00");
    room.run("give Nubbet DEMO-0002 --by AK")
        .ends(0)
        .says("dose 5 of 20");
}

/// Thursday 22 March: Thimblo's dose was due at 08:00 and its window closed at 14:00.
fn a_late_dose(room: &mut Room) {
    room.at("2001-03-22 15:30");
    room.run("check Thimblo")
        .ends(1)
        .says("dose 2: late")
        .says("If nobody did, look at its mark, which says LATE")
        .says("scruple give Thimblo DEMO-0001 --dose 2");
    room.run("today").says("LATE").says("0.115 mL");
    room.run("give Thimblo DEMO-0001 --by AK")
        .ends(0)
        .says("dose 2 of 5")
        .says("LATE, 0.115 mL, site B, right side")
        .says("Next: dose 3, due Sat 24 March 15:30, not before Sat 24 March 09:30");
    room.run("check Thimblo")
        .ends(0)
        .says("on track")
        .says("given in its window: 1; given late: 1; longest gap 55 h 25 min");
    room.at("2001-03-22 20:00");
    room.run("give Nubbet DEMO-0002 --by AK")
        .ends(0)
        .says("dose 6 of 20");
}

/// Friday 23 March: the vet rings.
fn a_change_by_phone(room: &mut Room) {
    room.at("2001-03-23 08:00");
    room.run("give Nubbet DEMO-0002 --by AK")
        .ends(0)
        .says("dose 7 of 20");
    let before = room.at("2001-03-24 08:00").json("today")["book_code"].clone();
    room.at("2001-03-23 14:10");
    // Another kind of rate, and one ten times as much, are not taken down.
    room.run(&format!(
        "instruct Thimblo DEMO-0001 --rate \"15 units/kg\" {BY_PHONE} --read-back yes"
    ))
    .ends(2)
    .says("read it back to your vet");
    room.run(&format!(
        "instruct Thimblo DEMO-0001 --rate \"200 mg/kg\" {BY_PHONE} --read-back yes"
    ))
    .ends(2)
    .says("200 mg/kg is 10 times as much as 20 mg/kg")
    .says("nothing was kept");
    room.run(&format!(
        "instruct Nubbet DEMO-0001 --rate \"15 mg/kg\" {BY_PHONE} --read-back yes"
    ))
    .ends(2)
    .says("Prescription DEMO-0001 is not for Nubbet, but for Thimblo");
    let said = room.run(&format!(
        "instruct Thimblo DEMO-0001 --rate \"15 mg/kg\" {BY_PHONE} --read-back no --paper-awaited"
    ));
    said.ends(0)
        .says("Dr A. Example to AK, Fri 23 March 14:10, NOT READ BACK; paper awaited:")
        .says("Thimblo, DEMO-0001: from dose 3 on, 15 mg/kg each time")
        .says("Before, dose 3: 20 mg/kg by 46 g, from bottle 1 (8 mg/mL): 0.115 mL")
        .says("From now, dose 3: 15 mg/kg by 46 g, from bottle 1 (8 mg/mL): 0.085 mL")
        .says("Cards printed before this are void");
    let entry = said.entry();
    room.run("check Thimblo")
        .ends(0)
        .says(&format!("NOT READ BACK, paper awaited (entry {entry})"));
    room.run(&format!("confirm {entry} --read-back --paper-came --by AK"))
        .ends(0);
    room.run("check Thimblo").is_silent_about("awaited");
    let after = room.at("2001-03-24 08:00").json("today")["book_code"].clone();
    assert_ne!(before, after, "an old card is betrayed by its code");
    room.at("2001-03-23 20:15");
    room.run("give Nubbet DEMO-0002 --by AK")
        .ends(0)
        .says("dose 8 of 20");
}

/// Saturday 24 and Sunday 25 March: the keeper leaves on Saturday afternoon.
fn the_clocks_go_forward_while_a_sitter_gives(room: &mut Room) {
    room.at("2001-03-24 08:00");
    room.run("give Nubbet DEMO-0002 --by AK")
        .ends(0)
        .says("dose 9 of 20");
    room.at("2001-03-24 15:30");
    room.run("today")
        .says("DRAW TO 0.085 mL")
        .says("Vet said from dose 3 on, 15 mg/kg each time: Dr A. Example to AK");
    room.run("give Thimblo DEMO-0001 --by AK")
        .ends(0)
        .says("0.085 mL, site A, left side")
        // 48 elapsed hours over the change of the clocks.
        .says("Next: dose 4, due Mon 26 March 16:30, not before Mon 26 March 10:30");
}

/// Monday 26 March: the sitter's paper is typed in, the last line first, as it lies on the table.
fn the_sitter_s_paper(room: &mut Room) {
    room.at("2001-03-26 16:30");
    room.run("check Nubbet")
        .ends(1)
        .says("dose 10: not recorded")
        .says("dose 13: not recorded");
    room.run("today").says("1 of 6 Thimblo");
    room.run("give Thimblo DEMO-0001 --by AK")
        .ends(0)
        .says("dose 4 of 5")
        .says("0.085 mL, site B, right side")
        .says("Next: dose 5, due Wed 28 March 16:30, not before Wed 28 March 10:30");
    for (at, dose, said) in [
        ("2001-03-25 20:05", "dose 12 of 20", "Sun 25 March 20:05"),
        ("2001-03-25 08:02", "dose 11 of 20", "Sun 25 March 08:02"),
        ("2001-03-24 20:00", "dose 10 of 20", "Sat 24 March 20:00"),
    ] {
        room.run(&format!("give Nubbet DEMO-0002 --at \"{at}\" --by SI"))
            .ends(0)
            .says(dose)
            .says(said)
            .says("0.17 mL")
            .is_silent_about("STOP");
    }
    // Of this morning's dose there is no tick, and the sitter does not know.
    room.run("check Nubbet")
        .ends(1)
        .says("dose 13: not recorded")
        .is_silent_about("dose 12");
    room.run("give Nubbet DEMO-0002 --at \"2001-03-26 17:00\"")
        .ends(2)
        .says("is still to come");
    let unsure = room.run(
        "unsure Nubbet DEMO-0002 --at \"2001-03-26 09:30\" --by SI --note \"no tick on the paper\"",
    );
    unsure
        .ends(0)
        .says("dose 13 of 20): unsure; if it was given, then by Mon 26 March 09:30")
        .says("Do not give it again. Call your vet: 555 0134 (not a number)");
    // It closes the gate like a dose that was given: 09:30 + 12 h - 1 h 30 min.
    let evening = room.dose_of("Nubbet");
    assert_eq!(evening["dose"], 14);
    assert_eq!(evening["opens"], "2001-03-26T18:00:00Z");
    room.run("check Nubbet")
        .ends(1)
        .says("dose 13: unsure whether it was given: do not give it; call your vet")
        .says(&format!("--settled {}", unsure.entry()));
    let entry = unsure.entry();
    room.run(&format!(
        "instruct Nubbet DEMO-0002 --settled {entry} {BY_PHONE} --read-back yes --words \"leave it, go on tonight\""
    ))
    .ends(0)
    .says("dose 13: unsure whether it was given");
    room.run("check Nubbet")
        .ends(0)
        .says("on track")
        .says("unsure: 1");
    room.at("2001-03-26 20:10");
    room.run("give Nubbet DEMO-0002 --by AK")
        .ends(0)
        .says("dose 14 of 20");
}

/// Tuesday 27 March and the night after it.
fn a_death(room: &mut Room) {
    room.at("2001-03-27 07:50");
    // A point in the wrong place is caught, typed again or not.
    room.typing("10.8 g\n")
        .run("weigh Nubbet \"10.6 g\"")
        .ends(2)
        .says("about ten times")
        .says("nothing was kept");
    // 106 g is 11.7 percent below 120 g.
    room.run("weigh Nubbet \"106 g\" --by AK")
        .ends(0)
        .says("Nubbet: CALL 555 0134")
        .says("about 12 percent below 120 g on 20 March 2001");
    let dose = room.at("2001-03-27 08:00").dose_of("Nubbet");
    assert_eq!(dose["call_first"], true);
    room.run("today")
        .says("CALL")
        .says("Call before you give anything");
    room.run("refused Nubbet DEMO-0002 --by AK")
        .ends(0)
        .says("dose 15 of 20): refused by the animal");
    // Nothing went in, so it stays open until its window closes; then the vet is asked.
    assert_eq!(room.dose_of("Nubbet")["state"], "open");
    room.at("2001-03-27 10:00");
    room.run("check Nubbet")
        .ends(1)
        .says("dose 15: refused by the animal: ask your vet");
    room.at("2001-03-28 07:00");
    room.run("end Nubbet --how died --at \"2001-03-28 05:30\" --note \"in the night\"")
        .ends(0)
        .says("Nubbet: the animal died, Wed 28 March 05:30")
        .says("Nothing more is planned for Nubbet; what was recorded stays")
        .is_silent_about("STOP")
        .is_silent_about("late")
        .is_silent_about("missed");
    room.run("check Nubbet")
        .ends(0)
        .says("ended early: the animal died")
        .is_silent_about("call your vet")
        .is_silent_about("next:")
        .is_silent_about("left:");
    room.run("today").is_silent_about("Nubbet");
}

/// Wednesday 28 and Thursday 29 March.
fn a_completion(room: &mut Room) {
    room.at("2001-03-28 16:30");
    room.run("give Thimblo DEMO-0001 --by AK")
        .ends(0)
        .says("dose 5 of 5")
        .says("No dose of this course is left");
    room.run("check Thimblo")
        .ends(0)
        .says("complete with exceptions")
        .says("dose 2: given late")
        .says("given in its window: 4; given late: 1")
        // 0.68 mg at 46 g is 14.78 mg/kg; 0.92 mg is 20 mg/kg.
        .says("really given: about 14.78 mg/kg to 20 mg/kg in 5 doses")
        .says("\"Demonstration visit\", 1 day after the last dose given: Thu 29 March, to come")
        .is_silent_about("left:");
    // A follow-up is due the next day, and is done when a person says so.
    room.at("2001-03-29 09:00");
    room.run("today")
        .says("No dose is due on this day")
        .says("Thimblo, DEMO-0001, then: \"Demonstration visit\"")
        .says("DUE TODAY")
        .says("scruple done Thimblo DEMO-0001 1");
    room.run("check Thimblo").ends(0).says("DUE TODAY");
    room.at("2001-03-30 09:00");
    room.run("check Thimblo").ends(1).says("OVERDUE by 1 day");
    room.run("done Thimblo DEMO-0001 1 --at \"2001-03-29 16:00\" --note \"clear\"")
        .ends(0);
    room.run("check").ends(0).says("done Thu 29 March 16:00");
    room.run("today").is_silent_about("Demonstration visit");
    room.run("done Thimblo DEMO-0001 1")
        .ends(2)
        .says("was done already");
}

/// Every recorded fact is still there, with what was true before.
fn the_history_keeps_it_all(room: &mut Room) {
    let show = room.run("animal show Thimblo");
    for said in [
        "given Tue 20 March 2001 08:05, 0.115 mL",
        "given Thu 22 March 2001 15:30, 0.115 mL",
        "Dr A. Example to AK, Fri 23 March 2001 14:10: from dose 3 on, 15 mg/kg each time",
        "was read back and its paper came",
        "given Sat 24 March 2001 15:30, 0.085 mL",
        "given Wed 28 March 2001 16:30, 0.085 mL",
        "\"Demonstration visit\" was done Thu 29 March 2001 16:00, \"clear\"",
    ] {
        show.says(said);
    }
    let show = room.run("animal show Nubbet");
    show.says("the animal died Wed 28 March 2001 05:30, \"in the night\"")
        .says("dose 13 unsure Mon 26 March 2001 09:30")
        .says("\"leave it, go on tonight\"")
        .says("refused by the animal Tue 27 March 2001 08:00");
    let history = room.json("animal show Nubbet")["history"]
        .as_array()
        .unwrap()
        .len();
    // Came in, two weighings, 14 doses of which one is unsure, a refusal, the vet's word, the end.
    assert_eq!(history, 1 + 2 + 14 + 1 + 1 + 1);
}
