//! A damaged book: what is damaged is named, and all that can be read is saved.

use crate::lived_in;
use crate::room::Room;
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
        .says(&format!("Exported {entries} entries"))
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
