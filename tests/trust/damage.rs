//! A damaged book: what is damaged is named, and all that can be read is saved.

use crate::lived_in;
use crate::room::{Room, Script};
use std::fs;

/// Changes the last place in the book's file where `from` stands.
fn change(room: &Room, from: &str, to: &str) {
    let mut bytes = room.book();
    let is = |at: &usize| bytes[*at..].starts_with(from.as_bytes());
    let at = (0..bytes.len()).rev().find(is).unwrap();
    bytes[at..at + to.len()].copy_from_slice(to.as_bytes());
    fs::write(room.path("room.scruple"), bytes).unwrap();
}

#[test]
fn a_sound_book_is_said_to_be_sound() {
    let mut room = lived_in("sound");
    room.run("verify")
        .ends(0)
        .says("DEMONSTRATION")
        .says("The book is sound");
    let verdict = room.json("verify");
    assert_eq!(verdict["sound"], true);
    assert_eq!(verdict["damage"].as_array().unwrap().len(), 0);
}

#[test]
fn the_first_damaged_entry_is_named_and_the_rest_is_saved() {
    let mut room = lived_in("weight");
    let entries = room.json("verify")["entries"].as_u64().unwrap();
    change(&room, "\"weight\":\"31 g\"", "\"weight\":\"13 g\"");
    room.run("verify")
        .ends(3)
        .says("DAMAGED. animal:Thimblo, entry 2 (number 5 in the book): the entry is not as it was written")
        .says("no mark is computed from it")
        .says("restore your last backup, or save what can still be read");
    let answer = room.run("verify --format json").ends(3).out.clone();
    let verdict: serde_json::Value = serde_json::from_str(&answer).unwrap();
    assert_eq!(verdict["sound"], false);
    assert_eq!(verdict["damage"].as_array().unwrap().len(), 1);
    assert_eq!(verdict["damage"][0]["code"], "entry_changed");
    assert_eq!(verdict["damage"][0]["subject"], "animal:Thimblo");
    assert_eq!(verdict["damage"][0]["n"], 2);
    assert_eq!(verdict["damage"][0]["entry"], 5);
    // No copy is made of it, and none takes a name.
    let copy = room.path("copy.scruple");
    room.run(&format!("backup {copy}")).ends(3);
    assert!(!fs::exists(&copy).unwrap());
    // The export holds every entry, with what is damaged apart.
    let out = room.path("out");
    room.run(&format!("export {out}"))
        .ends(0)
        .says(&format!("; entries: {entries}."))
        .says("DAMAGED. animal:Thimblo, entry 2")
        .says("cannot become a book again");
    let weights = fs::read_to_string(room.path("out/weights.csv")).unwrap();
    let line = |name: &str| {
        let found = weights.lines().find(|line| line.contains(name));
        found.unwrap().to_owned()
    };
    assert!(line("Thimblo").ends_with("\"DAMAGED\""), "{weights}");
    assert!(line("Nubbet").ends_with("\"\""), "{weights}");
    let mut other = Room::without_a_book("weight-other");
    other
        .run(&format!("import {out}/book.ron"))
        .ends(2)
        .says("saved from a damaged book");
    // The other animal goes on working.
    room.run("weigh Nubbet \"12.1 g\"").ends(0);
    room.run("today")
        .ends(0)
        .says("Part of the book is damaged");
    // A course of a damaged animal needs nothing that could be counted on.
    assert_eq!(room.json("stock")["needs"].as_array().unwrap().len(), 0);
}

/// A book too damaged to be opened for use is still saved.
#[test]
fn a_book_that_cannot_be_opened_is_saved_too() {
    let mut room = lived_in("top");
    let made = "2001-01-01T08:00:00Z";
    change(&room, made, "2002-01-01T08:00:00Z");
    let before = room.book();
    room.run("today").ends(3);
    room.run("verify").ends(3).says("DAMAGED.");
    let out = room.path("out");
    room.run(&format!("export {out}")).ends(0).says("DAMAGED.");
    let entries = fs::read_to_string(room.path("out/entries.csv")).unwrap();
    assert!(entries.contains("animal:Nubbet"), "{entries}");
    assert_eq!(room.book(), before);
}

/// An entry that this program does not understand is damage too, though its chain holds.
#[test]
fn an_entry_of_an_unknown_kind_is_named() {
    let mut room = lived_in("unknown");
    let out = room.path("out");
    room.run(&format!("export {out}")).ends(0);
    let path = room.path("room.scruple");
    let mut book = scruple::book::Book::open(path.as_ref()).unwrap();
    let row = scruple::entry::NewRow {
        subject: "animal:Nubbet".into(),
        course: None,
        kind: "teleported".into(),
        happened_at: "2001-03-01T10:00:00Z".parse().unwrap(),
        recorded_at: "2001-03-01T10:00:00Z".parse().unwrap(),
        clock_given: true,
        zone: "UTC".into(),
        body: "{}".into(),
    };
    book.append(|_| Ok::<_, scruple::book::BookError>(vec![row]))
        .unwrap();
    drop(book);
    let answer = room.run("verify --format json").ends(3).out.clone();
    let verdict: serde_json::Value = serde_json::from_str(&answer).unwrap();
    assert_eq!(verdict["damage"][0]["code"], "not_understood");
    assert_eq!(verdict["damage"][0]["subject"], "animal:Nubbet");
    // It is carried along to the letter all the same.
    let new = room.path("new");
    room.run(&format!("export {new}")).ends(0);
    let mut other = Room::without_a_book("unknown-other");
    other.run(&format!("import {new}/book.ron")).ends(0);
    other
        .run(&format!("import {out}/book.ron"))
        .ends(0)
        .says("1 entry more");
}

/// Without its settings nothing of a book can be shown: then it is said that they are damaged, not
/// that there are none.
#[test]
fn damaged_settings_are_said_to_be_damaged() {
    let mut room = lived_in("damaged-settings");
    change(&room, "\"demonstration\":true", "\"demonstration\":trux");
    for command in ["today", "check", "give Thimblo DEMO-0001"] {
        room.run(command)
            .ends(3)
            .says("The book is damaged where its settings stand")
            .is_silent_about("no settings");
    }
}

/// An animal whose chain is damaged cannot be shown, and everything that leaves it out says so
/// first; what is to be recorded for it is not taken for a slip of the name.
#[test]
fn a_damaged_animal_is_missed_by_everything_that_leaves_it_out() {
    let mut room = lived_in("missed");
    change(&room, "\"weight\":\"31 g\"", "\"weight\":\"13 g\"");
    for command in ["today", "round", "stock", "sheet weighin"] {
        let stop = "STOP. Part of the book is damaged: animal:Thimblo. What depends on it has no mark, or is not shown here at all.";
        room.run(command).ends(0).says(stop);
    }
    assert_eq!(room.json("stock")["damaged"][0], "animal:Thimblo");
    let before = room.book();
    let script = Script::twice_a_day();
    let second = room.write("again.ron", script.text().replace("0001", "0002"));
    for command in [
        "give Thimblo DEMO-0001 --by AK",
        "refused thimb DEMO-0001",
        "weigh Thimblo \"31 g\"",
        "end Thimblo --how died",
        "note Thimblo \"calm\"",
        "animal add Thimblo --species \"invented gecko\" --id tub",
        &format!("enter {second} --start \"2001-03-02 08:00\""),
    ] {
        room.run(command)
            .ends(2)
            .says("What the book holds of Thimblo is damaged, so nothing can be added to it")
            .says("write on paper what happened and when, call Dr A. Example, 555 0134 (not a number), before anything is given")
            .says("To mend it: 'scruple export FOLDER', then go on in your last backup")
            .says("each with --at, what the paper and the export have and it has not")
            .is_silent_about("named")
            .is_silent_about("not in the book");
    }
    assert_eq!(room.book(), before);
    room.run("weigh Ossin \"31 g\"")
        .ends(2)
        .says("No animal named 'Ossin' is in the book");
}

/// On paper too: the first words of a hand-over and of a weigh-in sheet.
#[test]
fn paper_says_first_that_the_book_is_damaged() {
    use scruple::book::Book;
    use scruple::ledger::Ledger;
    use scruple::round::of_day;
    use scruple::sheet::page::Paper;
    use scruple::sheet::{handover, weighin};
    let room = lived_in("paper-damage");
    let book = Book::open_read_only(room.path("room.scruple").as_ref()).unwrap();
    let ledger = Ledger::fold(&book.read_sound().unwrap().rows);
    let ledger = ledger.with_damage([Some("animal:Nubbet".to_owned())]);
    let settings = ledger.settings.clone().unwrap();
    let now: chrono::DateTime<chrono::Utc> = "2001-03-01T10:00:00Z".parse().unwrap();
    let zone = scruple::schedule::Zone::UTC;
    let round = of_day(&ledger, &settings, zone, now.date_naive(), now).unwrap();
    let hand_over = handover::HandOver {
        days: &[round],
        weigh: &[],
        stock: &[],
        settings: &settings,
        code: "3N74-H23A",
    };
    let weigh_in = weighin::WeighIn {
        ledger: &ledger,
        settings: &settings,
        zone,
        now,
    };
    let hand_over = handover::pages(&hand_over, Paper::A4).unwrap();
    let weigh_in = weighin::pages(&weigh_in, Paper::A4).unwrap();
    for (pages, next) in [(hand_over, "Whom to ring"), (weigh_in, "The scale reads")] {
        let words = pages[0].words();
        let stop = words.find("STOP. Part of the book is damaged: animal:Nubbet.");
        assert!(stop.unwrap() < words.find(next).unwrap(), "{words}");
    }
}
