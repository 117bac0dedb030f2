//! The sheets beside the dose card, made from rooms that commands have built: nothing on them
//! overlaps or is lost, every page says what it must, and the figures are those worked by hand.

#![allow(
    clippy::indexing_slicing,
    clippy::unwrap_used,
    clippy::panic,
    reason = "a test may stop at once"
)]

mod readers;
mod room;

#[path = "sheets/ahead.rs"]
mod ahead_of_time;

use chrono::{DateTime, Utc};
use readers::notation::notation_faults;
use room::{Room, Script};
use scruple::book::Book;
use scruple::ledger::Ledger;
use scruple::report::of_animal;
use scruple::round::stock::stock;
use scruple::round::{ahead, of_day, weigh_days};
use scruple::schedule::Zone;
use scruple::settings::Settings;
use scruple::sheet;
use scruple::sheet::course::CourseSheet;
use scruple::sheet::handover::HandOver;
use scruple::sheet::page::{Page, Paper};
use scruple::sheet::weighin::WeighIn;
use std::path::Path;

const PAPERS: [Paper; 2] = [Paper::A4, Paper::UsLetter];

fn zone() -> Zone {
    "Europe/Warsaw".parse().unwrap()
}

fn at(local: &str) -> DateTime<Utc> {
    let local = chrono::NaiveDateTime::parse_from_str(local, "%Y-%m-%d %H:%M").unwrap();
    local.and_local_timezone(zone()).unwrap().to_utc()
}

fn read(room: &Room) -> (Ledger, Settings) {
    let book = Book::open_read_only(Path::new(&room.path("room.scruple"))).unwrap();
    let ledger = Ledger::fold(&book.read_sound().unwrap().rows);
    let settings = ledger.settings.clone().unwrap();
    (ledger, settings)
}

/// What holds of every page of every sheet.
#[track_caller]
fn hold(pages: &[Page]) {
    for (n, page) in pages.iter().enumerate() {
        assert_eq!(page.faults(), [], "page {}", n + 1);
        let words = page.words();
        let code = words.find("Book code ").unwrap();
        let read = format!("{} {}", &words[..code], &words[code + 19..]);
        assert_eq!(notation_faults(&read), Vec::<String>::new());
        assert!(words.starts_with("DEMONSTRATION"), "{words}");
        assert!(words.ends_with("DEMONSTRATION"), "{words}");
        assert!(words.contains("555 0134"), "{words}");
        assert!(words.contains("stop and call."), "{words}");
        let number = format!("Page {} of {}", n + 1, pages.len());
        assert!(words.contains(&number), "{words}");
    }
}

const LONG: &str = "Thimblo-the-Unreasonably-Long-Named-of-the-Upper-Eastern-Greenhouse-Shelf";

/// 13 mg/kg three times, then 11 mg/kg four times, for an animal that loses weight.
fn story(name: &str, animal: &'static str, sign: &'static str) -> Room {
    let mut room = Room::new(name, "Europe/Warsaw");
    let more = format!(
        "stop_and_call_if: [\"{sign}\"], weigh_every: \"7 days\", \
         follow_ups: [FollowUp(what: \"Demonstration visit\", when: AfterLastDose(\"14 days\"))],"
    );
    let text = Script {
        more: Box::leak(more.into_boxed_str()),
        ..Script::new(
            "DEMO-0001",
            Box::leak(Box::new([animal])),
            "Phases([Phase(dose: PerBodyWeight(\"13 mg/kg\"), schedule: Every(interval: \"60 hours\", doses: 3)), Phase(gap: \"4 days\", dose: PerBodyWeight(\"11 mg/kg\"), schedule: Every(interval: \"4 days\", doses: 4))])",
        )
    }
    .text()
    .replace("dose: PerBodyWeight(\"20 mg/kg\"), route", "route");
    room.at("2001-02-20 08:00").takes_in(animal, "48 g");
    room.opens("Madeup Amber", "8 mg/mL");
    let weigh = |room: &mut Room, now: &str, weight: &str| {
        let line = format!("weigh {animal} {weight}");
        room.at(now).run(&line).ends(0);
    };
    weigh(&mut room, "2001-02-24 08:00", "\"46.5 g\" --tag just-fed");
    weigh(&mut room, "2001-03-01 08:00", "\"45 g\"");
    let path = room.write("DEMO-0001.ron", text);
    room.run(&format!("enter {path} --start \"2001-03-01 08:00\""))
        .ends(0);
    room.run(&format!("give {animal} DEMO-0001 --by AK"))
        .ends(0);
    weigh(&mut room, "2001-03-03 21:00", "\"44.6 g\"");
    room.run(&format!(
        "give {animal} DEMO-0001 --by BM --drawn \"0.08 mL\""
    ))
    .ends(0);
    room.at("2001-03-06 10:00");
    room.run(&format!(
        "partly {animal} DEMO-0001 --by AK --note \"about half\""
    ))
    .ends(0);
    weigh(&mut room, "2001-03-08 08:00", "\"42.9 g\" --tag wet");
    room
}

/// 13 mg/kg of 45 g is 0.585 mg, at 8 mg/mL 0.073125 mL; the mark 0.075 mL holds 0.6 mg, which is
/// 13.33 mg/kg. What was drawn instead of the second mark, 0.08 mL, holds 0.64 mg: of 44.6 g,
/// 14.35 mg/kg. Nobody knows how much of the third went in. The call is at 0.9 of 48 g: 43.2 g.
#[test]
fn the_report_gives_what_was_really_given() {
    let mut room = story("really", "Thimblo", "Demonstration sign A");
    let answer = room.at("2001-03-09 08:00").run("report Thimblo");
    answer.ends(0);
    answer.says("dose 1: given Thu 1 March 08:00; planned Thu 1 March 08:00; measured 0.075 mL; by weight 45 g; really given about 13.33 mg/kg");
    answer.says("measured 0.08 mL; by weight 44.6 g; really given about 14.35 mg/kg");
    answer.says("dose 3: partly given Tue 6 March 10:00; planned Tue 6 March 08:00; measured not known; by weight 44.6 g; partly given");
    answer.says("42.9 g (wet), about 11 percent below the highest of 28 days");
    answer.says("left: 4 doses, 0.24 mL (not a mark)");
    let json = room.json("report Thimblo");
    assert_eq!(json["weights"][4]["call_at_grams"], "216/5");
    // 0.64 mg over 0.0446 kg = 3200/223 mg/kg.
    let rows = &json["courses"][0]["rows"];
    assert_eq!(rows[1]["really_given"]["exact"], "3200/223");
    assert_eq!(rows[2]["really_given"], serde_json::Value::Null);
}

/// The band of the first dose: the mark is 0.001875 mL above 0.073125 mL, half a step of 0.1 g is
/// 0.05 g of 45 g; the syringe's share is the rack's own.
#[test]
fn the_band_has_its_three_shares() {
    let mut room = story("band", "Thimblo", "Demonstration sign A");
    let (ledger, settings) = read(&room);
    let patient = ledger.animal("Thimblo").unwrap();
    let now = at("2001-03-09 08:00");
    let report = of_animal(&ledger, &settings, patient, zone(), now).unwrap();
    let first = report.courses[0].rows[0].given.as_ref().unwrap();
    let syringe = first.dose.record.syringe.as_ref().unwrap();
    let exact = |n, d| scruple::quantity::Exact::ratio(n, d).unwrap();
    let drawn = scruple::quantity::Volume::from_millilitres(exact(75, 1_000));
    let syringes_share = syringe.tolerance(drawn).unwrap().millilitres();
    // 0.001875 over 0.073125 is 1/39; 0.05 over 45 is 1/900; 0.073125 mL is 117/1600 mL.
    let expected = exact(1, 39)
        .plus(syringes_share.over(exact(117, 1_600)).unwrap())
        .unwrap()
        .plus(exact(1, 900))
        .unwrap();
    assert_eq!(first.band, Some(expected));
    room.at("2001-03-09 08:00").run("report Thimblo").ends(0);
}

#[test]
fn nothing_on_a_report_overlaps_however_long_the_names() {
    let sign = "Demonstration sign A, which is written at such a length that it takes more than one line of the paper and then goes on for a while, to see what becomes of it";
    for (name, animal) in [("short", "Thimblo"), ("long", LONG)] {
        let room = story(name, animal, sign);
        let (ledger, settings) = read(&room);
        let patient = ledger.animal("Thimblo").unwrap();
        for now in ["2001-02-20 09:00", "2001-03-09 08:00", "2001-06-01 08:00"] {
            let report = of_animal(&ledger, &settings, patient, zone(), at(now)).unwrap();
            for paper in PAPERS {
                hold(&sheet::report::pages(&report, paper).unwrap());
            }
        }
    }
}

#[test]
fn a_report_is_the_same_bytes_for_the_same_moment() {
    let mut room = story("bytes", "Thimblo", "Demonstration sign A");
    room.at("2001-03-09 08:00");
    let mut written = |file: &str| {
        let path = room.path(file);
        room.run(&format!("report Thimblo --pdf {path}")).ends(0);
        std::fs::read(path).unwrap()
    };
    let once = written("once.pdf");
    assert!(once.starts_with(b"%PDF-1.7"));
    assert!(once == written("twice.pdf"));
}

#[test]
fn an_animal_without_weight_or_course_has_a_report_too() {
    let mut room = Room::new("bare", "Europe/Warsaw");
    room.run("animal add Nubbet --species \"invented newt\" --id \"tub 9\"")
        .ends(0);
    let answer = room.run("report Nubbet");
    answer.ends(0);
    answer.says("No weighing is in the book.");
    answer.says("No course is in the book.");
    let path = room.path("bare.pdf");
    room.run(&format!("report Nubbet --pdf {path}")).ends(0);
}

/// The words of pages, one page after another.
fn said(pages: &[Page]) -> String {
    let words: Vec<String> = pages.iter().map(Page::words).collect();
    words.join(" ")
}

/// 11 mg/kg of 42.9 g is 0.4719 mg, at 8 mg/mL about 0.059 mL: the line at 0.06 mL. The phase
/// begins 4 days after dose 3, which was due on 6 March: 10, 14, 18 and 22 March.
#[test]
fn the_course_sheet_marks_what_is_provisional() {
    for (name, animal) in [("course", "Thimblo"), ("course-long", LONG)] {
        let room = story(name, animal, "Demonstration sign A");
        let (ledger, settings) = read(&room);
        let (patient, script) = (ledger.animal("Thimblo").unwrap(), &ledger.scripts[0]);
        let now = at("2001-03-09 08:00");
        let ahead = ahead(&ledger, &settings, patient, script, zone(), now).unwrap();
        let sheet = CourseSheet {
            ahead: &ahead,
            settings: &settings,
            zone: zone(),
            now,
        };
        for paper in PAPERS {
            let pages = sheet::course::pages(&sheet, paper).unwrap();
            hold(&pages);
            let words = said(&pages);
            for date in [
                "Sat 10 March",
                "Wed 14 March",
                "Sun 18 March",
                "Thu 22 March",
            ] {
                assert!(words.contains(date), "{date}: {words}");
            }
            assert_eq!(words.matches("provisional: 0.06 mL").count(), 4, "{words}");
            // Weighed on 8 March, good for 7 days: by 15 March, then by 22 March.
            assert!(words.contains("by Thu 15 March"), "{words}");
            assert!(words.contains("by Thu 22 March"), "{words}");
            // The last dose on 22 March, and 14 days.
            assert!(
                words.contains("if all goes as planned Thu 5 April"),
                "{words}"
            );
            assert!(words.contains("4 doses, 0.24 mL"), "{words}");
        }
    }
}

/// On its day the mark is the day's own, and no longer provisional.
#[test]
fn a_mark_of_today_is_not_provisional() {
    let room = story("today", "Thimblo", "Demonstration sign A");
    let (ledger, settings) = read(&room);
    let (patient, script) = (ledger.animal("Thimblo").unwrap(), &ledger.scripts[0]);
    let now = at("2001-03-10 08:00");
    let ahead = ahead(&ledger, &settings, patient, script, zone(), now).unwrap();
    let marks = ahead.slots.iter().filter_map(|slot| slot.mark.as_ref());
    let provisional: Vec<bool> = marks.map(|mark| mark.provisional).collect();
    assert_eq!(provisional, [false, true, true, true]);
}

#[test]
fn the_hand_over_has_every_dose_of_the_week_and_every_sign() {
    for (name, animal) in [("week", "Thimblo"), ("week-long", LONG)] {
        let room = story(name, animal, "Demonstration sign A");
        let (ledger, settings) = read(&room);
        let now = at("2001-03-09 08:00");
        let day = |n: u64| now.with_timezone(&zone()).date_naive() + chrono::Days::new(n);
        let days: Vec<_> = (0..7)
            .map(|n| of_day(&ledger, &settings, zone(), day(n), now).unwrap())
            .collect();
        let weigh = weigh_days(&ledger, &settings, zone(), now, day(6)).unwrap();
        let stock = stock(&ledger, &settings, zone(), now).unwrap();
        let sheet = HandOver {
            days: &days,
            weigh: &weigh,
            stock: &stock,
            settings: &settings,
            code: "3N74-H23A",
        };
        for paper in PAPERS {
            let pages = sheet::handover::pages(&sheet, paper).unwrap();
            hold(&pages);
            let words = said(&pages);
            // 10 and 14 March fall into the seven days from 9 March.
            assert_eq!(words.matches("provisional: 0.06 mL").count(), 2, "{words}");
            assert!(words.contains("“Demonstration sign A”"), "{words}");
            assert!(words.contains("Saturday 10 March"), "{words}");
            // Which site is next hangs on the doses until then.
            assert!(!words.contains("site "), "{words}");
        }
    }
}

/// Quarantine last; an animal that has gone is not weighed.
#[test]
fn the_weigh_in_sheet_has_a_row_for_each_animal_that_is_here() {
    let mut room = story("weighin", LONG, "Demonstration sign A");
    room.run("animal add Nubbet --species \"invented newt\" --id \"tub 9\" --quarantine")
        .ends(0);
    room.takes_in("Quillo", "238 g").takes_in("Ossin", "472 g");
    room.at("2001-03-09 08:00");
    room.run("end Ossin --how rehomed").ends(0);
    let (ledger, settings) = read(&room);
    let sheet = WeighIn {
        ledger: &ledger,
        settings: &settings,
        zone: zone(),
        now: at("2001-03-09 09:00"),
    };
    for paper in PAPERS {
        let pages = sheet::weighin::pages(&sheet, paper).unwrap();
        hold(&pages);
        let words = said(&pages);
        let place = |name: &str| {
            words
                .find(name)
                .unwrap_or_else(|| panic!("{name}: {words}"))
        };
        assert!(place("Thimblo") < place("Quillo") && place("Quillo") < place("Nubbet"));
        assert!(!words.contains("Ossin"), "{words}");
        assert!(words.contains(", wet, Thu 8 March"), "{words}");
    }
    room.run("sheet weighin")
        .says("Nubbet, tub 9; in quarantine: no weight in the book");
}

#[test]
fn every_sheet_is_the_same_bytes_for_the_same_moment() {
    let mut room = story("all-bytes", "Thimblo", "Demonstration sign A");
    room.at("2001-03-09 08:00");
    for command in [
        "sheet weighin",
        "sheet course Thimblo DEMO-0001",
        "sheet handover",
    ] {
        let mut written = |file: &str| {
            let path = room.path(file);
            room.run(&format!("{command} --replace --pdf {path}"))
                .ends(0);
            std::fs::read(path).unwrap()
        };
        let once = written("once.pdf");
        assert!(once == written("twice.pdf"), "{command}");
        assert!(once.len() < 100_000, "{command}: {} bytes", once.len());
    }
}
