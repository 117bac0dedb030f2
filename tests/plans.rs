//! What a prescription means before anything is kept, and what the vet wants beside the doses.

#![allow(
    clippy::unwrap_used,
    clippy::panic,
    clippy::indexing_slicing,
    reason = "a test may stop at once"
)]

mod readers;
mod room;

use room::{Room, Script};

fn plan(room: &mut Room, script: &Script, more: &str) -> room::Answer {
    let path = room.write("script.ron", script.text());
    room.run(format!("plan {path} {more}").trim())
}

/// Clock tables for 2026, computed from tz database 2026.6: New York goes forward on 8 March, Lord
/// Howe back by half an hour on 5 April, Kathmandu never.
#[test]
fn clocks_are_pointed_out_for_what_they_do() {
    let mut room = Room::without_a_book("clocks");
    room.at("2026-03-01 12:00");
    let every = |schedule| Script {
        written: "2026-02-01",
        ..Script::new("DEMO-0001", &["Thimblo"], schedule)
    };
    let elapsed = every(r#"Every(interval: "12 hours", doses: 3)"#);
    plan(&mut room, &elapsed, "--start \"2026-03-07 20:00\" --zone America/New_York")
        .ends(0)
        .says("2 Sunday 8 March 2026 at 09:00")
        .says("3 Sunday 8 March 2026 at 21:00")
        .says("on Sunday 8 March 2026 they go forward by 1 hour: counted in elapsed hours, dose 1 is at 20:00 and dose 2 at 09:00");
    let by_the_clock = every(r#"AtTimes(times: ["08:00", "20:00"], doses: 3)"#);
    plan(
        &mut room,
        &by_the_clock,
        "--start \"2026-03-07 20:00\" --zone America/New_York",
    )
    .ends(0)
    .says("2 Sunday 8 March 2026 at 08:00")
    .says("by the clock the hour stays, and from dose 1 to dose 2 it is 11 hours");
    let daily = every(r#"Every(interval: "24 hours", doses: 2)"#);
    plan(
        &mut room,
        &daily,
        "--start \"2026-04-04 09:00\" --zone Australia/Lord_Howe",
    )
    .ends(0)
    .says("2 Sunday 5 April 2026 at 08:30")
    .says("they go back by 30 minutes");
    plan(
        &mut room,
        &daily,
        "--start \"2026-04-04 09:00\" --zone Asia/Kathmandu",
    )
    .ends(0)
    .says("2 Sunday 5 April 2026 at 09:00")
    .is_silent_about("Clocks:");
    // A time that the clocks jump over, said for that day alone.
    let at_night = every(r#"AtTimes(times: ["02:30"], days: 3)"#);
    plan(
        &mut room,
        &at_night,
        "--start \"2026-03-07 02:30\" --zone America/New_York",
    )
    .ends(0)
    .says("2 Sunday 8 March 2026 at 03:30")
    .says("the clocks go forward over 02:30 on 8 March 2026: read as 03:30 on that day")
    .says("3 Monday 9 March 2026 at 02:30");
    // Without an hour there is nothing for the clocks to change.
    let weekly = every(r#"Every(interval: "7 days", doses: 2)"#);
    plan(
        &mut room,
        &weekly,
        "--start 2026-03-07 --zone America/New_York",
    )
    .ends(0)
    .says("by dates: no hour is written")
    .says("no hour is written, so nothing changes");
}

/// Vancouver has gone by UTC-7 the whole year since 2026 (tz database 2026f): its clocks do not go
/// back on 1 November, as those of Los Angeles do.
#[test]
fn a_zone_goes_by_its_rules_of_2026() {
    let mut room = Room::without_a_book("rules");
    room.at("2026-10-01 12:00");
    let script = Script {
        written: "2026-09-01",
        ..Script::new(
            "DEMO-0001",
            &["Thimblo"],
            r#"Every(interval: "240 hours", doses: 4)"#,
        )
    };
    let mut last = |zone: &str| {
        let from = format!("--start \"2026-10-05 09:00\" --zone {zone}");
        let path = room.write("script.ron", script.text());
        let plan = room.json(&format!("plan {path} {from}"));
        assert_eq!(plan["clock_rules"], "2026f");
        let changes = plan["clock_changes"].as_array().unwrap().len();
        let last = plan["doses"].as_array().unwrap().last().unwrap();
        (last["local"].as_str().unwrap().to_owned(), changes)
    };
    let at = |text: &str| text.to_owned();
    assert_eq!(last("America/Vancouver"), (at("2026-11-04 09:00"), 0));
    assert_eq!(last("America/Los_Angeles"), (at("2026-11-04 08:00"), 1));
}

/// Expired, undated, from the book's own animals, a phase with another dose, and nothing kept.
#[test]
fn a_plan_reads_what_enter_does_not_accept_and_keeps_nothing() {
    let mut room = Room::new("keeps", "Europe/Warsaw");
    room.at("2001-03-01 07:00").takes_in("Thimblo", "31 g");
    room.at("2001-03-06 09:30");
    let script = Script {
        more: r#"valid_until: "2001-03-04",
        follow_ups: [
            FollowUp(what: "Demonstration weighing", when: AfterFirstDose("60 hours")),
            FollowUp(what: "Demonstration visit", when: On("2001-04-02")),
        ],"#,
        ..Script::new(
            "DEMO-0001",
            &["Thimblo", "Nubbet"],
            r#"Every(interval: "36 hours", doses: 3)"#,
        )
    };
    let before = room.book();
    plan(&mut room, &script, "")
        .ends(0)
        .says("EXPIRED: this prescription was valid until 4 March 2001")
        .says("No start is written: this is laid out as if the first dose were due now")
        .says("1 Tuesday 6 March 2001 at 09:30")
        .says("no mark for 3 of the doses: due after 4 March 2001")
        .says("Thimblo, 31 g on 1 March 2001: 3 doses, 0.225 mL (not a mark)")
        .says("Nubbet has no weight in the book, so what it takes is not worked out")
        .says("\"Demonstration weighing\", 60 hours after the first dose given: if all goes as planned Thu 8 March 21:30")
        .says("\"Demonstration visit\", on a date: Mon 2 April");
    assert_eq!(before, room.book());
    let path = room.path("script.ron");
    room.run(&format!("enter {path} --start \"2001-03-06 10:00\""))
        .ends(2)
        .says("was valid until");

    // A weight that nothing at hand can measure, beside one that can be: 0.3 g gives 0.00075 mL.
    plan(
        &mut room,
        &script,
        "--start \"2001-03-06 10:00\" --weight \"31 g\" --weight \"0.3 g\"",
    )
    .ends(0)
    .says("at 31 g: 3 doses, 0.225 mL")
    .says("at 0.3 g: 3 doses; no mark: Too small for any line at hand")
    .says("together: 6 doses, 0.225 mL (not a mark); no mark of 3: Too small");

    let path = room.write(
        "phases.ron",
        script
            .text()
            .replace("dose: PerBodyWeight(\"20 mg/kg\"),", "")
            .replace(
                r#"Every(interval: "36 hours", doses: 3)"#,
                r#"Phases([
                    Phase(dose: PerBodyWeight("20 mg/kg"), schedule: Once),
                    Phase(gap: "48 hours", dose: PerBodyWeight("10 mg/kg"), schedule: Every(interval: "48 hours", doses: 3)),
                ])"#,
            ),
    );
    // 31 g: 0.075 mL once, then 0.31 mg, 0.03875 mL, to the line at 0.04 mL, three times.
    room.run(&format!(
        "plan {path} --start \"2001-03-06 10:00\" --weight \"31 g\""
    ))
    .ends(0)
    .says("1 Tuesday 6 March 2001 at 10:00 20 mg/kg")
    .says("2 Thursday 8 March 2001 at 10:00 10 mg/kg")
    .says("at 31 g: 4 doses, 0.195 mL");
    room.run(&format!("plan {path} --start 2001-03-06"))
        .ends(2)
        .says("hour");
    room.run(&format!("plan {path} --zone Mars/North"))
        .ends(2)
        .says("is not a time zone");
}

/// From the first dose given, from the last, on a date; ahead, due, overdue, done.
#[test]
fn follow_ups_are_dated_from_what_was_given() {
    let mut room = Room::new("follow", "UTC");
    let script = Script {
        more: r#"follow_ups: [
            FollowUp(what: "first", when: AfterFirstDose("2 days")),
            FollowUp(what: "last", when: AfterLastDose("7 days")),
            FollowUp(what: "dated", when: On("2001-03-20")),
        ],"#,
        ..Script::new(
            "DEMO-0001",
            &["Thimblo", "Nubbet"],
            r#"Every(interval: "24 hours", doses: 3)"#,
        )
    };
    room.at("2001-03-01 08:00")
        .takes_in("Thimblo", "31 g")
        .takes_in("Nubbet", "24 g")
        .opens("Madeup Amber", "8 mg/mL")
        .enters(&script, "2001-03-01 09:00");
    let states = |room: &mut Room, name: &str| -> Vec<String> {
        let course = room.course_of(name);
        let all = course["follow_ups"].as_array().unwrap();
        all.iter()
            .map(|one| one["state"].as_str().unwrap().to_owned())
            .collect()
    };
    assert_eq!(states(&mut room, "Thimblo"), ["waits", "waits", "ahead"]);
    room.at("2001-03-01 10:30")
        .run("give Thimblo DEMO-0001")
        .ends(0);
    assert_eq!(states(&mut room, "Thimblo"), ["ahead", "waits", "ahead"]);
    room.at("2001-03-02 10:30")
        .run("give Thimblo DEMO-0001")
        .ends(0);
    room.at("2001-03-03 08:00");
    assert_eq!(states(&mut room, "Thimblo"), ["due", "waits", "ahead"]);
    room.run("today")
        .says("then: \"first\"")
        .is_silent_about("\"last\"");
    room.run("done Thimblo DEMO-0001 4")
        .ends(2)
        .says("follow-ups 1 to 3");
    let done = room.run("done Thimblo DEMO-0001 1 --by AK").entry();
    assert_eq!(states(&mut room, "Thimblo"), ["done", "waits", "ahead"]);
    room.run(&format!("correct {done} --because \"it was Nubbet\""))
        .ends(0);
    assert_eq!(states(&mut room, "Thimblo"), ["due", "waits", "ahead"]);
    room.run("done Thimblo DEMO-0001 1").ends(0);
    // The last dose is late: the date is that of what was given, not of what was planned.
    room.at("2001-03-04 09:00")
        .run("give Thimblo DEMO-0001 --at \"2001-03-04 08:30\"")
        .ends(0);
    let last = room.course_of("Thimblo")["follow_ups"][1].clone();
    assert_eq!(
        (&last["due"]["on"], &last["state"]),
        (&"2001-03-11".into(), &"ahead".into())
    );
    room.at("2001-03-13 09:00");
    assert_eq!(states(&mut room, "Thimblo"), ["done", "overdue", "ahead"]);
    room.run("check Thimblo").ends(1).says("OVERDUE by 2 days");
    let card = room.json("today");
    assert_eq!(card["beside"][0]["follow_up"]["days_overdue"], 2);
    // An animal that has gone has none.
    room.run("end Nubbet --how transferred").ends(0);
    assert_eq!(states(&mut room, "Nubbet"), Vec::<String>::new());
    assert_eq!(room.json("today")["beside"].as_array().unwrap().len(), 1);
}
