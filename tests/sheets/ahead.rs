//! What paper says of a day to come: a mark only where time alone stands before it, with the weight
//! it is made from; else why there is none.

use crate::room::{Room, Script};
use crate::{PAPERS, hold, read, said};
use scruple::ledger::Ledger;
use scruple::round::stock::stock;
use scruple::round::{ahead, mark_ahead, of_day, weigh_days};
use scruple::schedule::Zone;
use scruple::settings::Settings;
use scruple::sheet;
use scruple::sheet::course::CourseSheet;
use scruple::sheet::handover::HandOver;

const ZONE: Zone = Zone::UTC;

/// Every 72 hours from Thu 1 March 08:00: then 4, 7 and 10 March. 31 g: 0.62 mg, 0.0775 mL, a tie
/// on S: 0.075 mL.
fn course(more: &'static str) -> Script {
    Script {
        more,
        ..Script::new(
            "DEMO-0001",
            &["Thimblo"],
            r#"Every(interval: "72 hours", doses: 4)"#,
        )
    }
}

fn utc(local: &str) -> chrono::DateTime<chrono::Utc> {
    let local = chrono::NaiveDateTime::parse_from_str(local, "%Y-%m-%d %H:%M").unwrap();
    local.and_utc()
}

/// What the course sheet says of each dose that waits.
fn on_the_sheet(ledger: &Ledger, settings: &Settings, now: &str) -> Vec<String> {
    let (patient, script) = (ledger.animal("Thimblo").unwrap(), &ledger.scripts[0]);
    let ahead = ahead(ledger, settings, patient, script, ZONE, utc(now)).unwrap();
    let marks = ahead.slots.into_iter().filter_map(|slot| slot.mark);
    marks.map(|mark| mark.words).collect()
}

/// What the hand-over says of each dose of a day.
fn on_the_day(ledger: &Ledger, settings: &Settings, now: &str, day: &str) -> Vec<String> {
    let day = utc(&format!("{day} 00:00")).date_naive();
    let round = of_day(ledger, settings, ZONE, day, utc(now)).unwrap();
    let today = utc(now).date_naive();
    let doses = round.doses.iter();
    doses
        .map(|dose| mark_ahead(dose, day, today).words)
        .collect()
}

/// The words of both sheets, the hand-over for ten days.
fn both(room: &Room, now: &str) -> (String, String) {
    let (ledger, settings) = read(room);
    let now = utc(now);
    let (patient, script) = (ledger.animal("Thimblo").unwrap(), &ledger.scripts[0]);
    let ahead = ahead(&ledger, &settings, patient, script, ZONE, now).unwrap();
    let course = CourseSheet {
        ahead: &ahead,
        settings: &settings,
        zone: ZONE,
        now,
    };
    let day = |n: u64| now.date_naive() + chrono::Days::new(n);
    let days: Vec<_> = (0..10)
        .map(|n| of_day(&ledger, &settings, ZONE, day(n), now).unwrap())
        .collect();
    let weigh = weigh_days(&ledger, &settings, ZONE, now, day(9)).unwrap();
    let stock = stock(&ledger, &settings, ZONE, now).unwrap();
    let hand_over = HandOver {
        days: &days,
        weigh: &weigh,
        stock: &stock,
        settings: &settings,
        code: "3N74-H23A",
    };
    let course = sheet::course::pages(&course, PAPERS[0]).unwrap();
    let hand_over = sheet::handover::pages(&hand_over, PAPERS[0]).unwrap();
    hold(&course);
    hold(&hand_over);
    (said(&course), said(&hand_over))
}

#[test]
fn no_provisional_mark_after_the_prescriptions_last_day() {
    let mut room = Room::with_course("validity", &course("valid_until: \"2001-03-08\","));
    room.run("give Thimblo DEMO-0001").ends(0);
    let (ledger, settings) = read(&room);
    let now = "2001-03-02 08:00";
    let over = "no mark: The prescription has run out";
    assert_eq!(
        on_the_sheet(&ledger, &settings, now),
        ["0.075 mL", "0.075 mL", over]
    );
    let day = |day| on_the_day(&ledger, &settings, now, day);
    assert_eq!(day("2001-03-07"), ["0.075 mL"]);
    assert_eq!(day("2001-03-10"), [over]);
}

/// Dose 1 is not recorded from half its gap on: 36 hours.
#[test]
fn no_provisional_mark_while_an_earlier_dose_is_unanswered() {
    let room = Room::with_course("unanswered", &course(""));
    let (ledger, settings) = read(&room);
    let now = "2001-03-03 08:00";
    let first = "no mark: An earlier dose is not answered for";
    let all = on_the_sheet(&ledger, &settings, now);
    assert_eq!(all[1..], [first, first, first], "{all:?}");
    assert_eq!(on_the_day(&ledger, &settings, now, "2001-03-07"), [first]);
}

#[test]
fn no_provisional_mark_from_a_damaged_book_or_by_a_clock_behind_it() {
    let mut room = Room::with_course("doubt", &course(""));
    room.run("give Thimblo DEMO-0001").ends(0);
    let (ledger, settings) = read(&room);
    let behind = "no mark: The clock is behind the book";
    let now = "2001-03-01 07:30";
    assert_eq!(on_the_sheet(&ledger, &settings, now), [behind; 4]);
    assert_eq!(on_the_day(&ledger, &settings, now, "2001-03-04"), [behind]);
    let ledger = ledger.with_damage([Some("settings".to_owned())]);
    let damaged = "no mark: The book is damaged";
    let now = "2001-03-02 08:00";
    assert_eq!(on_the_sheet(&ledger, &settings, now), [damaged; 3]);
    assert_eq!(on_the_day(&ledger, &settings, now, "2001-03-04"), [damaged]);
}

/// Given at 15:00, an hour after its window, dose 2 opens on 4 March at 15:00 less 6 hours: too
/// soon until then, and well inside its own window, which ends at 14:00.
#[test]
fn what_time_alone_lifts_leaves_a_provisional_mark() {
    let mut room = Room::with_course("lifts", &course(""));
    room.at("2001-03-01 15:00")
        .run("give Thimblo DEMO-0001")
        .ends(0);
    let state = room.json("today --date 2001-03-04")["doses"][0]["no_mark"][0]["code"].clone();
    assert_eq!(state, "too_soon");
    let (ledger, settings) = read(&room);
    let now = "2001-03-01 15:30";
    assert_eq!(on_the_sheet(&ledger, &settings, now), ["0.075 mL"; 3]);
    assert_eq!(
        on_the_day(&ledger, &settings, now, "2001-03-04"),
        ["0.075 mL"]
    );
}

/// Opened on 1 March, to be used within 6 days; a weight more than 28 days old gives no mark.
#[test]
fn bottle_and_weight_are_judged_on_the_day_of_the_dose() {
    let mut room = Room::new("that-day", "UTC");
    room.at("2001-03-01 07:00").takes_in("Thimblo", "31 g");
    room.run("bottle open \"Madeup Amber\" --reads \"8 mg/mL\" --expiry 2099-12 --discard-after \"6 days\"")
        .ends(0);
    room.enters(&course(""), "2001-03-01 08:00");
    let (ledger, settings) = read(&room);
    let past = "no mark: The bottle is past its discard date";
    let all = on_the_sheet(&ledger, &settings, "2001-03-01 08:00");
    assert_eq!(all[..2], ["0.075 mL", "0.075 mL"], "{all:?}");
    assert_eq!(all[3], past, "{all:?}");
    let slow = Script {
        schedule: r#"Every(interval: "20 days", doses: 3)"#,
        ..course("")
    };
    let room = Room::with_course("that-day-weight", &slow);
    let (ledger, settings) = read(&room);
    assert_eq!(
        on_the_sheet(&ledger, &settings, "2001-03-01 08:00"),
        ["0.075 mL", "0.075 mL", "no mark: The weight is too old"]
    );
}

/// 31 g, then 27 g: 12.9 percent down. 20 mg/kg of 27 g is 0.54 mg, 0.0675 mL, a tie on S:
/// 0.065 mL.
#[test]
fn a_mark_that_waits_for_a_call_says_so_beside_its_weight() {
    let mut room = Room::with_course("call", &course(""));
    room.run("give Thimblo DEMO-0001").ends(0);
    room.at("2001-03-02 08:00")
        .run("weigh Thimblo \"27 g\"")
        .ends(0);
    let (course, hand_over) = both(&room, "2001-03-02 09:00");
    for words in [course, hand_over] {
        for age in ["2 days", "5 days", "8 days"] {
            let mark =
                format!("provisional: 0.065 mL after the call by 27 g on Fri 2 March, {age} old");
            assert!(words.contains(&mark), "{mark}: {words}");
        }
    }
}

/// 20 mg/kg of the 20 g that the vet wrote is 0.4 mg, 0.05 mL.
#[test]
fn the_weight_beside_a_mark_is_the_one_that_it_is_made_from() {
    let mut room = Room::with_course("fixed", &course("weight_basis: Fixed(\"20 g\"),"));
    room.run("give Thimblo DEMO-0001").ends(0);
    let (course, hand_over) = both(&room, "2001-03-02 09:00");
    for words in [&course, &hand_over] {
        let mark = "provisional: 0.05 mL by 20 g, as your vet wrote";
        assert_eq!(words.matches(mark).count(), 3, "{words}");
    }
    assert!(
        course.contains("latest weight 31 g on Thu 1 March, 1 day old"),
        "{course}"
    );
}

/// The clock set back: the mark is not read back to the vet.
#[test]
fn a_clock_behind_leaves_no_mark_in_an_instruction() {
    let mut room = Room::with_course("instruct", &course(""));
    room.run("give Thimblo DEMO-0001").ends(0);
    let said = "--said-by \"Dr A. Example\" --taken-by AK --read-back yes";
    let order = format!("instruct Thimblo DEMO-0001 --rate \"15 mg/kg\" {said}");
    room.at("2001-03-01 07:30")
        .run(&order)
        .says("no mark: The clock is behind the newest entry of the book")
        .is_silent_about("0.075 mL");
}

/// A sheet says to programs what stands on its paper, with a file or without one: 31 g at 20 mg/kg
/// are 0.62 mg, 0.0775 mL of 8 mg/mL, and the line below it; every mark but today's is provisional.
#[test]
fn a_sheet_answers_programs_too() {
    let mut room = Room::with_course("json", &course(""));
    let path = room.path("sheet.pdf");
    let said = room.json(&format!("sheet course Thimblo DEMO-0001 --pdf {path}"));
    assert!(std::fs::exists(&path).unwrap());
    let doses = said["doses"].as_array().unwrap();
    let provisional: Vec<bool> = doses
        .iter()
        .map(|dose| dose["mark_ahead"]["provisional"].as_bool().unwrap())
        .collect();
    assert_eq!(provisional[..3], [false, true, true]);
    let marks: Vec<&str> = doses
        .iter()
        .map(|dose| dose["mark_ahead"]["words"].as_str().unwrap())
        .collect();
    assert!(marks.iter().all(|mark| *mark == "0.075 mL"), "{marks:?}");
    let weighin = room.json("sheet weighin");
    assert_eq!(weighin["animals"][0]["name"], "Thimblo");
    let days = room.json("sheet handover --days 4");
    assert_eq!(days["days"].as_array().unwrap().len(), 4);
    assert_eq!(
        days["days"][3]["doses"][0]["mark_ahead"]["provisional"],
        true
    );
    room.run("sheet handover")
        .ends(2)
        .says("say which file to write");
}

/// A second course of one medicine: STOP, and no mark beside it.
#[test]
fn entering_a_second_course_of_a_medicine_shows_no_mark() {
    let mut room = Room::with_course("second", &course(""));
    let second = Script {
        reference: "DEMO-0002",
        ..course("")
    };
    let path = room.write("second.ron", second.text());
    room.run(&format!("enter {path} --start \"2001-03-01 20:00\""))
        .ends(0)
        .says("STOP. Thimblo is on a course of this medicine already, DEMO-0001")
        .says("no mark: Thimblo is on a course of this medicine already, DEMO-0001")
        .is_silent_about("0.075 mL");
}

/// Two people gave dose 1, at 08:00 and at 08:20: the sheet shows both, with who gave them; the
/// hand-over says which entry the vet has not spoken about, and no mark beside it.
#[test]
fn a_dose_given_twice_is_on_the_sheet_twice_and_named_to_the_sitter() {
    let mut room = Room::with_course("twice", &course(""));
    room.run("give Thimblo DEMO-0001 --by AK").ends(0);
    let twice = room
        .at("2001-03-01 08:20")
        .run("give Thimblo DEMO-0001 --dose 1 --by BM")
        .entry();
    let (course, hand_over) = both(&room, "2001-03-02 09:00");
    for record in [
        "yes Thu 1 March 08:00 AK".to_owned(),
        format!("1 entry {twice} beside the schedule given"),
        "yes Thu 1 March 08:20 BM".to_owned(),
    ] {
        assert!(course.contains(&record), "{record}: {course}");
    }
    let ask = format!(
        "Thimblo, DEMO-0001, entry {twice}, given Thu 1 March 08:20: a dose was given beside those of the schedule"
    );
    assert_eq!(hand_over.matches(&ask).count(), 1, "{hand_over}");
    let no_mark = format!("no mark: Your vet has not spoken about entry {twice}");
    assert_eq!(hand_over.matches(&no_mark).count(), 3, "{hand_over}");
    assert!(!hand_over.contains("0.075 mL"), "{hand_over}");
}

/// Refused at 08:00, given at 09:00: the row says given, and the one below what was before.
#[test]
fn what_was_recorded_before_a_dose_was_given_stays_on_the_sheet() {
    let mut room = Room::with_course("refused", &course(""));
    room.run("refused Thimblo DEMO-0001 --by AK").ends(0);
    room.at("2001-03-01 09:00")
        .run("give Thimblo DEMO-0001 --by BM")
        .ends(0);
    let (course, _) = both(&room, "2001-03-02 09:00");
    assert!(course.contains("yes Thu 1 March 09:00 BM"), "{course}");
    assert!(
        course.contains("also recorded refused by the animal Thu 1 March 08:00 AK"),
        "{course}"
    );
}
