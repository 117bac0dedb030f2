//! What is read in part says what the whole says: random rooms, and after every command the
//! morning look, today's card and what would be recorded, from the book as it is and from a copy
//! that no longer knows what the day's work needs and so is read whole.
//!
//! SCRUPLE_STEPS commands (16 unless set) in each of SCRUPLE_ROOMS rooms (1); SCRUPLE_SEED is printed.

#![allow(
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::indexing_slicing,
    clippy::panic
)]

mod readers;
mod room;

use chrono::{NaiveDateTime, TimeDelta};
use room::{Room, Script};
use scruple::book::{Book, BookError};
use scruple::entry::Stretch;
use std::collections::BTreeMap;

/// A small generator of its own (xorshift, Marsaglia 2003), so that a seed means the same anywhere.
struct Dice(u64);

impl Dice {
    fn below(&mut self, bound: usize) -> usize {
        self.0 ^= self.0 << 13;
        self.0 ^= self.0 >> 7;
        self.0 ^= self.0 << 17;
        (self.0 % bound as u64) as usize
    }

    fn one<'a>(&mut self, of: &[&'a str]) -> &'a str {
        of[self.below(of.len())]
    }
}

fn from_environment(name: &str, usual: u64) -> u64 {
    let set = std::env::var(name).ok();
    set.map_or(usual, |set| set.parse().expect("a number"))
}

// Two are easily taken for each other.
const ANIMALS: [&str; 5] = ["Thimblo", "Thimbla", "Nubbet", "Quillo", "Brack"];
const MEDICINES: [&str; 3] = ["Madeup Amber", "Madeup Cobalt", "Madeup Dusk"];

struct Story {
    room: Room,
    dice: Dice,
    now: NaiveDateTime,
    scripts: Vec<(String, Vec<&'static str>)>,
    bottles: u32,
    said: Vec<String>,
}

impl Story {
    fn new(name: &str, seed: u64) -> Story {
        let mut room = Room::new(name, "Europe/Warsaw");
        room.at("2001-03-01 07:00");
        for animal in &ANIMALS[..4] {
            if *animal == "Thimbla" {
                room.typing("Thimbla\n");
            }
            let add = format!("animal add {animal} --species gecko --id \"tub of {animal}\"");
            room.run(&add).ends(0);
            room.run(&format!("weigh {animal} \"40 g\"")).ends(0);
        }
        Story {
            room,
            dice: Dice(seed.wrapping_mul(0x9e37_79b9_7f4a_7c15) | 1),
            now: "2001-03-01T08:00:00".parse().unwrap(),
            scripts: Vec::new(),
            bottles: 0,
            said: Vec::new(),
        }
    }

    fn entries(&self) -> u64 {
        let book = Book::open_read_only(self.room.path("room.scruple").as_ref()).unwrap();
        book.view(|view| Ok::<_, BookError>(view.entries()))
            .unwrap()
    }

    /// A command that a person may type now; not each of them is accepted.
    fn command(&mut self) -> String {
        let entries = self.entries();
        let dice = &mut self.dice;
        let animal = dice.one(&ANIMALS[..4]);
        let course = if self.scripts.is_empty() {
            None
        } else {
            let latest = self.scripts.len().saturating_sub(5);
            let place = latest + dice.below(self.scripts.len() - latest);
            Some(self.scripts[place].clone())
        };
        let (reference, named) = course.clone().unwrap_or_default();
        let whose = if named.is_empty() {
            animal
        } else {
            named[dice.below(named.len())]
        };
        match dice.below(40) {
            0..=3 => self.enter(),
            4 => {
                self.bottles += 1;
                let strength = self.dice.one(&["8 mg/mL", "8 mg/mL", "10 mg/mL"]);
                let expiry = (self.now + TimeDelta::days(40)).date();
                let medicine = self.dice.one(&MEDICINES);
                format!(
                    "bottle open \"{medicine}\" --reads \"{strength}\" --expiry {expiry} --discard-after \"20 days\" --holds \"5 mL\""
                )
            }
            5 => format!(
                "bottle discard {}",
                1 + dice.below(self.bottles.max(1) as usize)
            ),
            6..=9 => format!(
                "weigh {animal} \"{}.{} g\"",
                36 + dice.below(7),
                1 + dice.below(8)
            ),
            10 => {
                let at = (self.now - TimeDelta::days(3)).format("%Y-%m-%d %H:%M");
                format!("weigh {animal} \"39.5 g\" --at \"{at}\"")
            }
            11 => format!("note {animal} \"left a cricket\" --about appetite"),
            12 => format!(
                "correct {} --because \"typed wrong\"",
                entries.saturating_sub(dice.below(25) as u64)
            ),
            13 => format!("missed {whose} {reference}"),
            14 => format!("refused {whose} {reference}"),
            15 => format!("unsure {whose} {reference}"),
            16 => {
                let at = (self.now - TimeDelta::hours(7)).format("%Y-%m-%d %H:%M");
                format!("give {whose} {reference} --at \"{at}\"")
            }
            17 => {
                let entry = entries.saturating_sub(dice.below(6) as u64);
                format!(
                    "instruct {whose} {reference} --settled {entry} --said-by \"Dr A. Example\" --taken-by AK --read-back yes"
                )
            }
            18 => format!(
                "instruct {whose} {reference} --stop-from {} --said-by \"Dr A. Example\" --taken-by AK --read-back {}",
                1 + dice.below(3),
                dice.one(&["yes", "no"])
            ),
            19 => format!("done {whose} {reference} 1"),
            20 if dice.below(5) == 0 => format!("end {animal} --how rehomed"),
            20 => "animal add Brack --species gecko --id \"tub 9\"".to_owned(),
            _ => format!("give {whose} {reference} --by AK"),
        }
    }

    /// The file of a prescription to enter.
    fn enter(&mut self) -> String {
        let number = self.scripts.len() + 1;
        let dice = &mut self.dice;
        let mut named = vec![ANIMALS[dice.below(4)]];
        if dice.below(3) == 0 {
            let other = ANIMALS[dice.below(4)];
            if other != named[0] {
                named.push(other);
            }
        }
        let reference = format!("DEMO-{number:04}");
        let schedule = match dice.below(5) {
            0 => "Once".to_owned(),
            1 => "OnDays([0, 4])".to_owned(),
            n => format!(
                "Every(interval: \"{} hours\", doses: {})",
                [12, 24, 48][n - 2],
                1 + dice.below(3)
            ),
        };
        let follow_up = match dice.below(4) {
            0 => {
                "follow_ups: [FollowUp(what: \"Demonstration visit\", when: AfterLastDose(\"2 days\"))],"
            }
            _ => "",
        };
        let written = self.now.date();
        let text = format!(
            "Prescription(\n    demonstration: true,\n    reference: \"{reference}\", written: \"{written}\",\n    vet: Vet(name: \"Dr A. Example\", phone: \"555 0134 (not a number)\"),\n    animals: {named:?},\n    medicine: Medicine(name: \"{}\", strength: \"8 mg/mL\"),\n    dose: PerBodyWeight(\"20 mg/kg\"), route: Injection(\"under the skin\"),\n    schedule: {schedule}, after_late: {},\n    {follow_up}\n)\n",
            dice.one(&MEDICINES),
            dice.one(&["KeepCalendar", "Call", "CountFromGiven"]),
        );
        self.room.write(&format!("{reference}.ron"), &text);
        self.scripts.push((reference.clone(), named));
        let start = self.now + TimeDelta::hours(self.dice.below(20) as i64);
        format!(
            "enter {} --start \"{}\"",
            self.room.path(&format!("{reference}.ron")),
            start.format("%Y-%m-%d %H:%M")
        )
    }

    /// Everything that is looked at, and how each dose would be recorded.
    fn looks(&mut self) -> Vec<String> {
        let mut lines: Vec<String> = ["", "--format json", "today", "today --format json"]
            .map(str::to_owned)
            .to_vec();
        let latest = self.scripts.len().saturating_sub(4);
        for (reference, named) in &self.scripts[latest..] {
            for animal in named {
                lines.push(format!("give {animal} {reference}"));
            }
        }
        lines.push(format!("weigh {} \"38 g\"", self.dice.one(&ANIMALS[..4])));
        lines
    }

    /// What a command answers on a copy of the book, and what the book notes after it.
    fn answers(&mut self, line: &str, forget: bool) -> (String, u8, Option<Noted>) {
        let (book, kept) = (self.room.path("room.scruple"), self.room.path("kept"));
        std::fs::copy(&book, &kept).unwrap();
        if forget {
            let conn = rusqlite::Connection::open(&book).unwrap();
            conn.execute_batch("DELETE FROM opened_with; DELETE FROM opened")
                .unwrap();
        }
        let answer = self.room.run(line);
        let opened = Book::open(book.as_ref()).unwrap();
        let sound = opened.read_all().is_ok();
        let noted = opened
            .view(|view| Ok::<_, BookError>(view.opened().map(Iterator::collect)))
            .unwrap();
        drop(opened);
        std::fs::copy(&kept, &book).unwrap();
        assert!(sound);
        (
            format!("{}\n{}", answer.out, answer.err),
            answer.code,
            noted,
        )
    }

    fn step(&mut self) {
        let hours = [0, 1, 3, 8, 12, 12, 24, 24, 60, 24 * 12];
        let later = hours[self.dice.below(hours.len())];
        self.now += TimeDelta::minutes(1 + later * 60);
        let now = self.now.format("%Y-%m-%d %H:%M").to_string();
        self.room.at(&now);
        let line = self.command();
        let answer = self.room.run(&line);
        self.said.push(format!("{now} {line} -> {}", answer.code));
        assert!(answer.code <= 2, "{answer}");
        for look in self.looks() {
            let (part, code, noted) = self.answers(&look, false);
            let (whole, whole_code, needed) = self.answers(&look, true);
            if part != whole || code != whole_code {
                panic!(
                    "{look}\n--- in part ({code})\n{part}\n--- whole ({whole_code})\n{whole}\n--- after\n{}",
                    self.said.join("\n")
                );
            }
            let records = look.starts_with("give") || look.starts_with("weigh");
            if records && code == 0 {
                let noted = noted.expect("the book knows what is needed");
                let needed = needed.expect("the book knows what is needed");
                let left_out = needed.iter().find(|(subject, needed)| {
                    !noted
                        .get(*subject)
                        .is_some_and(|noted| covers(noted, needed))
                });
                assert_eq!(
                    left_out,
                    None,
                    "{look}\n{noted:?}\n{}",
                    self.said.join("\n")
                );
            }
        }
    }
}

/// Of each subject, the stretches of its chain to be read.
type Noted = BTreeMap<String, Vec<Stretch>>;

/// Whether whoever reads the first stretches has read the others.
fn covers(read: &[Stretch], wanted: &[Stretch]) -> bool {
    wanted.iter().all(|wanted| {
        read.iter().any(|read| {
            let ends = read.to.is_none_or(|to| wanted.to.is_some_and(|w| w <= to));
            read.from <= wanted.from && ends
        })
    })
}

#[test]
fn a_part_says_what_the_whole_says() {
    let (steps, rooms) = (
        from_environment("SCRUPLE_STEPS", 16),
        from_environment("SCRUPLE_ROOMS", 1),
    );
    let seed = from_environment("SCRUPLE_SEED", 1);
    for number in seed..seed + rooms {
        println!("SCRUPLE_SEED={number}");
        let mut story = Story::new(&format!("story-{number}"), number);
        for _ in 0..steps {
            story.step();
        }
        let accepted = story
            .said
            .iter()
            .filter(|said| said.ends_with("-> 0"))
            .count();
        println!("{accepted} of {steps} commands were accepted");
        assert!(accepted * 3 > steps as usize, "{}", story.said.join("\n"));
    }
}

/// Of several courses of one medicine that are over, only the last holds the one that goes on: the
/// card is the same to its code, whether or not the others were read.
#[test]
fn courses_of_one_medicine_that_are_long_over_change_nothing() {
    let script = |reference, written| Script {
        written,
        schedule: r#"Every(interval: "24 hours", doses: 2)"#,
        ..Script::new(reference, &["Thimblo"], "")
    };
    let mut room = Room::new("long-over", "UTC");
    room.at("2001-01-01 07:00").takes_in("Thimblo", "31 g");
    let courses = [
        ("DEMO-0001", "2001-01-01"),
        ("DEMO-0002", "2001-02-01"),
        ("DEMO-0003", "2001-03-01"),
        ("DEMO-0004", "2001-04-01"),
    ];
    for (reference, day) in courses {
        room.at(&format!("{day} 08:00"));
        room.run("weigh Thimblo \"31 g\"").ends(0);
        if reference == "DEMO-0001" {
            room.opens("Madeup Amber", "8 mg/mL");
        }
        let start = format!("{day} 08:00");
        room.enters(&script(reference, day), &start);
        room.run(&format!("give Thimblo {reference}")).ends(0);
        if reference != "DEMO-0004" {
            room.at(&format!("{}02 08:00", &day[..8]));
            room.run(&format!("give Thimblo {reference}")).ends(0);
        }
    }
    room.at("2001-04-02 08:00");
    let lines = ["today", "today --format json", "give Thimblo DEMO-0004"];
    let room = say_the_same(room, &lines);
    let noted = noted(&room);
    let has = |reference| noted.contains_key(&format!("prescription:{reference}"));
    assert!(!has("DEMO-0001") && !has("DEMO-0002"), "{noted:?}");
    assert!(has("DEMO-0003") && has("DEMO-0004"), "{noted:?}");
}

/// Of these commands, what is read in part says what the whole says.
fn say_the_same(room: Room, lines: &[&str]) -> Room {
    let mut story = Story {
        room,
        dice: Dice(1),
        now: "2001-01-01T08:00:00".parse().unwrap(),
        scripts: Vec::new(),
        bottles: 1,
        said: Vec::new(),
    };
    for line in lines {
        let (part, _, known) = story.answers(line, false);
        let (whole, ..) = story.answers(line, true);
        assert!(known.is_some(), "the book does not know what is needed");
        assert_eq!(part, whole, "{line}");
    }
    story.room
}

/// A dose of today stands on the card as it was given; what it was held against then is weighed
/// long before what the animal weighs by now.
#[test]
fn a_dose_of_today_is_held_against_the_weighings_of_its_moment() {
    let mut room = Room::new("weighed-since", "UTC");
    room.at("2001-03-01 07:00").takes_in("Thimblo", "31 g");
    room.at("2001-03-20 07:00")
        .run("weigh Thimblo \"31.5 g\"")
        .ends(0);
    let script = Script::twice_a_day();
    room.opens(script.medicine, script.strength)
        .enters(&script, "2001-04-02 08:00")
        .at("2001-04-02 08:00");
    room.run("give Thimblo DEMO-0001").ends(0);
    room.at("2001-04-02 09:00")
        .run("weigh Thimblo \"31.2 g\"")
        .ends(0);
    say_the_same(room, &["today", "today --format json"]);
}

/// A dose by 31 g, which is struck out: then 27 g of long before stands behind it, 31/27
/// or 15 percent less than the dose was for.
#[test]
fn the_weight_that_stands_behind_a_dose_is_read_with_it() {
    let schedule = r#"Every(interval: "20 days", doses: 4)"#;
    let script = Script::new("DEMO-0001", &["Thimblo"], schedule);
    for settled in [false, true] {
        let mut room = Room::new(&format!("stands-behind-{settled}"), "UTC");
        room.at("2001-03-01 07:00").takes_in("Thimblo", "27 g");
        room.opens(script.medicine, script.strength);
        room.at("2001-03-20 07:00");
        let weighing = room.run("weigh Thimblo \"31 g\"").ends(0).entry();
        room.enters(&script, "2001-03-20 08:00");
        room.at("2001-03-20 08:00");
        let dose = room.run("give Thimblo DEMO-0001").ends(0).entry();
        room.at("2001-03-21 08:00");
        room.run(&format!("correct {weighing} --because misread"))
            .ends(0);
        if settled {
            room.run(&format!(
                "instruct Thimblo DEMO-0001 --settled {dose} --said-by \"Dr A. Example\" --taken-by AK --read-back yes"
            ))
            .ends(0);
        }
        for day in ["04-09", "04-29", "05-19"] {
            room.at(&format!("2001-{day} 07:50"));
            room.run("weigh Thimblo \"28 g\"").ends(0);
        }
        room.at("2001-05-19 08:00");
        let lines = ["today", "today --format json", "", "give Thimblo DEMO-0001"];
        let mut room = say_the_same(room, &lines);
        let about = format!("Entry {dose}: measured by 31 g");
        let today = room.run("today");
        match settled {
            true => today.is_silent_about(&about),
            false => today.says(&about),
        };
    }
}

/// What a room's book notes that the day's work needs.
fn noted(room: &Room) -> Noted {
    let path = room.path("room.scruple");
    let book = Book::open(path.as_ref()).unwrap();
    let noted = book.view(|view| {
        let noted = view.opened().expect("the book knows what is needed");
        Ok::<_, BookError>(noted.collect())
    });
    noted.unwrap()
}

/// A record about one animal reads no other, and leaves what is noted of it; the first record of a
/// day looks at everything, so that what has come to rest is no longer noted.
#[test]
fn one_animal_is_recorded_without_the_others() {
    let mut room = Room::with_course("alone", &Script::twice_a_day());
    room.takes_in("Nubbet", "20 g");
    room.run("give Thimblo DEMO-0001").ends(0);
    let once = Script {
        schedule: "Once",
        ..Script::new("DEMO-0002", &["Nubbet"], "")
    };
    room.enters(&once, "2001-03-01 08:00");
    room.run("give Nubbet DEMO-0002").ends(0);
    let of = |room: &Room, subject: &str| noted(room).remove(subject);
    let other = of(&room, "prescription:DEMO-0002");
    assert!(other.is_some());
    // A change behind the program's back, where it must not look.
    room.at("2001-03-01 20:00");
    let path = room.path("room.scruple");
    let kept = std::fs::read(&path).unwrap();
    let conn = rusqlite::Connection::open(&path).unwrap();
    let guard = "SELECT sql FROM sqlite_master WHERE name = 'entry_stay'";
    let guard: String = conn.query_row(guard, [], |row| row.get(0)).unwrap();
    let harm = "DROP TRIGGER entry_stay; UPDATE entry SET body = body || ' ' WHERE subject = 'animal:Nubbet'";
    conn.execute_batch(&format!("{harm}; {guard}")).unwrap();
    drop(conn);
    room.run("give Thimblo DEMO-0001").ends(0).says("Recorded");
    assert_eq!(of(&room, "prescription:DEMO-0002"), other);
    room.run("today").says("Nubbet");
    std::fs::write(&path, kept).unwrap();
    room.run("give Thimblo DEMO-0001").ends(0);
    assert_eq!(of(&room, "prescription:DEMO-0002"), other);
    // Long after, the course is at rest, and is no longer noted after the first record.
    room.at("2001-03-20 08:00");
    room.run("weigh Thimblo \"31 g\"").ends(0);
    assert_eq!(of(&room, "prescription:DEMO-0002"), None);
}

/// A prescription for two is open as long as one of them has doses to come, though the other's are
/// long given: a record about that one looks at both.
#[test]
fn a_prescription_for_two_stays_noted_for_the_other() {
    let mut room = Room::new("for-two", "UTC");
    room.at("2001-03-01 07:00")
        .takes_in("Thimblo", "31 g")
        .takes_in("Nubbet", "20 g")
        .opens("Madeup Amber", "8 mg/mL");
    let once = Script {
        schedule: "Once",
        ..Script::new("DEMO-0001", &["Thimblo", "Nubbet"], "")
    };
    room.enters(&once, "2001-03-01 08:00")
        .at("2001-03-01 08:00");
    room.run("give Thimblo DEMO-0001").ends(0);
    room.at("2001-03-20 08:00");
    room.run("weigh Nubbet \"20 g\"").ends(0);
    room.run("weigh Thimblo \"31 g\"").ends(0);
    assert!(noted(&room).contains_key("prescription:DEMO-0001"));
    room.run("today").says("Nubbet");
}

/// A book from an export need not be read whole by its first command: it notes what the book notes
/// that was exported.
#[test]
fn an_import_notes_what_the_day_needs() {
    let mut room = Room::with_course("exported", &Script::twice_a_day());
    room.takes_in("Nubbet", "20 g");
    room.run("give Thimblo DEMO-0001").ends(0);
    let folder = room.path("out");
    room.run(&format!("export {folder}")).ends(0);
    let mut other = Room::without_a_book("imported");
    other.at("2001-03-01 08:00");
    other.run(&format!("import {folder}/book.ron")).ends(0);
    assert_eq!(noted(&other), noted(&room));
    // And where it carries an older copy on.
    room.at("2001-03-01 20:00");
    room.run("give Thimblo DEMO-0001").ends(0);
    room.run(&format!("export {folder} --replace")).ends(0);
    other.at("2001-03-01 20:00");
    other.run(&format!("import {folder}/book.ron")).ends(0);
    assert_eq!(noted(&other), noted(&room));
}
