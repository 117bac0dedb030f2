//! Backups, exports and imports: the same book, or nothing.

use crate::lived_in;
use crate::room::Room;
use std::fs;

const FILES: [&str; 5] = [
    "book.ron",
    "weights.csv",
    "doses.csv",
    "notes.csv",
    "entries.csv",
];

/// Makes another room of the book that an export holds.
fn imported(room: &Room, name: &str, export: &str) -> Room {
    let mut other = Room::without_a_book(name);
    let file = room.path(&format!("{export}/book.ron"));
    other
        .at("2001-03-01 10:00")
        .run(&format!("import {file}"))
        .ends(0)
        .says("as exported");
    other
}

fn same_export(a: &Room, of_a: &str, b: &Room, of_b: &str) {
    for file in FILES {
        let one = fs::read(a.path(&format!("{of_a}/{file}"))).unwrap();
        let other = fs::read(b.path(&format!("{of_b}/{file}"))).unwrap();
        assert_eq!(one, other, "{file}");
    }
}

#[test]
fn what_is_exported_and_imported_is_exported_as_the_same_bytes() {
    let mut room = lived_in("round-trip");
    room.run("note Nubbet \"left both crickets; \\u{e9}t\\u{e9}\" --about appetite")
        .ends(0);
    let out = room.path("out");
    room.run(&format!("export {out}"))
        .ends(0)
        .says("DEMONSTRATION")
        .says("book.ron, weights.csv, doses.csv, notes.csv, entries.csv");
    let mut other = imported(&room, "round-trip-other", "out");
    let again = other.path("out");
    other.run(&format!("export {again}")).ends(0);
    same_export(&room, "out", &other, "out");
    // And it is the same book to work with.
    for command in [
        "today --format json",
        "check --format json",
        "verify --format json",
    ] {
        assert_eq!(room.run(command).out, other.run(command).out, "{command}");
    }
    other
        .at("2001-03-01 20:00")
        .run("give Thimblo DEMO-0001")
        .ends(0);
    let text = fs::read_to_string(room.path("out/book.ron")).unwrap();
    assert!(
        text.starts_with("// ") && text.contains("// DEMONSTRATION"),
        "{text}"
    );
    for table in &FILES[1..] {
        let text = fs::read_to_string(room.path(&format!("out/{table}"))).unwrap();
        assert!(
            text.starts_with("\u{feff}\"DEMONSTRATION\","),
            "{table}: {text}"
        );
    }
}

#[test]
fn an_older_copy_is_carried_on_and_a_newer_one_is_left_alone() {
    let mut room = lived_in("carry-on");
    let (old, new) = (room.path("old"), room.path("new"));
    room.run(&format!("export {old}")).ends(0);
    let mut other = imported(&room, "carry-on-other", "old");
    room.at("2001-03-01 20:00")
        .run("give Thimblo DEMO-0001 --by BT")
        .ends(0);
    room.run("weigh Nubbet \"12.1 g\"").ends(0);
    room.run(&format!("export {new}")).ends(0);
    other
        .run(&format!("import {new}/book.ron"))
        .ends(0)
        .says("went on by 2 entries")
        .says("compare its book code");
    let out = other.path("out");
    other.run(&format!("export {out}")).ends(0);
    same_export(&room, "new", &other, "out");
    let before = other.book();
    other
        .run(&format!("import {new}/book.ron"))
        .ends(0)
        .says("holds just what the file holds; nothing was changed");
    other
        .run(&format!("import {old}/book.ron"))
        .ends(0)
        .says("and 2 entries more; nothing was changed");
    assert_eq!(other.book(), before);
}

#[test]
fn a_fork_is_not_accepted_and_the_first_differing_entry_is_named() {
    let mut room = lived_in("fork");
    let (old, new) = (room.path("old"), room.path("new"));
    room.run(&format!("export {old}")).ends(0);
    let mut other = imported(&room, "fork-other", "old");
    room.at("2001-03-01 20:00")
        .run("give Thimblo DEMO-0001")
        .ends(0);
    room.run(&format!("export {new}")).ends(0);
    other
        .at("2001-03-01 19:00")
        .run("weigh Nubbet \"12.2 g\"")
        .ends(0);
    let before = other.book();
    let entries = other.json("verify")["entries"].clone();
    other
        .run(&format!("import {new}/book.ron"))
        .ends(2)
        .says(&format!("They part at entry {entries}"))
        .says("the book has weighing of animal:Nubbet, recorded 1 March 2001 19:00:00 UTC")
        .says("the file has dose of animal:Thimblo, recorded 1 March 2001 20:00:00 UTC");
    assert_eq!(other.book(), before);
}

#[test]
fn another_book_is_left_as_it_is() {
    let mut room = lived_in("another");
    let out = room.path("out");
    room.run(&format!("export {out}")).ends(0);
    let mut other = Room::without_a_book("another-other");
    other.at("2001-03-01 10:00").run("begin --zone UTC").ends(0);
    let before = other.book();
    other
        .run(&format!("import {out}/book.ron"))
        .ends(2)
        .says("is another one than the file's");
    assert_eq!(other.book(), before);
    // Two demonstrations share their identity; a beginning that differs tells them apart.
    let mut third = Room::without_a_book("another-third");
    third
        .at("2001-01-02 08:00")
        .run("begin --zone UTC --demonstration")
        .ends(0);
    third
        .run(&format!("import {out}/book.ron"))
        .ends(2)
        .says("is another one");
}

/// Whatever was changed in the file, no book comes of it.
#[test]
fn a_file_that_was_changed_is_not_imported() {
    let mut room = lived_in("changed");
    let out = room.path("out");
    room.run(&format!("export {out}")).ends(0);
    let text = fs::read_to_string(room.path("out/book.ron")).unwrap();
    let last = text.lines().rfind(|line| line.contains("Entry(")).unwrap();
    let without_its_last = text.replacen(&format!("{last}\n"), "", 1);
    let utf_16: Vec<u8> = text.encode_utf16().flat_map(u16::to_le_bytes).collect();
    let cases: Vec<(Vec<u8>, &str)> = vec![
        (
            text.replacen("31 g", "13 g", 1).into(),
            "is not as it was exported",
        ),
        (
            text.replacen(
                "at: \"2001-03-01T07:00:00Z",
                "at: \"2001-03-01T07:00:01Z",
                1,
            )
            .into(),
            "is not as it was exported",
        ),
        (
            text.replacen("clock_given: true", "clock_given: false", 1)
                .into(),
            "Entry 1 of the file",
        ),
        (
            text.replacen("seq: 2,", "seq: 9,", 1).into(),
            "Entry 2 should stand",
        ),
        (
            text.replacen("n: 2,", "n: 3,", 1).into(),
            "is not as it was exported",
        ),
        (
            text.replacen("version: 1,", "version: 1, version: 1,", 1)
                .into(),
            "not an export",
        ),
        (
            text.replacen("version: 1,", "version: 2, more: [],", 1)
                .into(),
            "newer scruple",
        ),
        (
            text.replacen("damage: []", "damage: [\"x\"]", 1).into(),
            "its check code is",
        ),
        (without_its_last.into(), "its check code is"),
        (
            text.replacen(
                "made: Some(\"2001-01-01T08",
                "made: Some(\"2001-01-01T09",
                1,
            )
            .into(),
            "its check code is",
        ),
        (
            text.replacen("book: Some(\"", "book: Some(\"x", 1).into(),
            "its check code is",
        ),
        (format!("{}{}", text, "\u{0}").into(), "not an export"),
        ("(".repeat(200_000).into(), "not an export"),
        (utf_16, "not UTF-8"),
        (room.book(), "is a book, not an export"),
        (b"".to_vec(), "not an export"),
    ];
    let mut other = Room::without_a_book("changed-other");
    for (bytes, phrase) in cases {
        let file = other.write("changed.ron", &bytes);
        other.run(&format!("import {file}")).ends(2).says(phrase);
        assert!(!fs::exists(other.path("room.scruple")).unwrap(), "{phrase}");
    }
    other
        .run("import none.ron")
        .ends(2)
        .says("could not be read");
    // A place that is taken by something else is left alone.
    other.write("room.scruple", "weights");
    other
        .run(&format!("import {out}/book.ron"))
        .ends(2)
        .says("is not a book");
    assert_eq!(other.book(), b"weights");
}

#[test]
fn a_backup_is_the_book_and_takes_no_place_by_itself() {
    let mut room = lived_in("backup");
    let (copy, out) = (room.path("copy.scruple"), room.path("out"));
    room.run(&format!("backup {copy}"))
        .ends(0)
        .says("A sound copy lies at");
    room.run(&format!("export {out}")).ends(0);
    // The copy is a book: exported it gives the same bytes.
    let mut other = Room::without_a_book("backup-other");
    fs::copy(&copy, other.path("room.scruple")).unwrap();
    let again = other.path("out");
    other.run(&format!("export {again}")).ends(0);
    same_export(&room, "out", &other, "out");
    let before = fs::read(&copy).unwrap();
    room.run("weigh Nubbet \"12.1 g\"").ends(0);
    room.run(&format!("backup {copy}"))
        .ends(2)
        .says("add --replace");
    assert_eq!(fs::read(&copy).unwrap(), before);
    room.run(&format!("backup {copy} --replace")).ends(0);
    assert_ne!(fs::read(&copy).unwrap(), before);
    let itself = room.path("room.scruple");
    room.run(&format!("backup {itself} --replace"))
        .ends(2)
        .says("is the book itself");
    room.run(&format!("export {out}"))
        .ends(2)
        .says("add --replace");
    room.run(&format!("export {out} --replace")).ends(0);
}

/// Somebody else reading, and somebody else about to write, keep no copy from being made.
#[test]
fn a_backup_is_made_while_the_book_is_in_use() {
    let mut room = lived_in("in-use");
    let conn = rusqlite::Connection::open(room.path("room.scruple")).unwrap();
    conn.execute_batch("BEGIN IMMEDIATE; SELECT * FROM entry")
        .unwrap();
    let copy = room.path("copy.scruple");
    room.run(&format!("backup {copy}")).ends(0);
    conn.execute_batch("ROLLBACK").unwrap();
    let mut other = Room::without_a_book("in-use-other");
    fs::rename(&copy, other.path("room.scruple")).unwrap();
    other.at("2001-03-01 10:00");
    assert_eq!(room.run("check").out, other.run("check").out);
}

#[test]
fn a_note_cannot_become_a_formula() {
    let mut room = lived_in("formula");
    room.run("note Nubbet \"=cmd|' /C calc'!A0\"").ends(0);
    room.run("note Nubbet \"calm; =1+1\"").ends(0);
    let out = room.path("out");
    room.run(&format!("export {out}")).ends(0);
    let notes = fs::read_to_string(room.path("out/notes.csv")).unwrap();
    assert!(notes.contains("\"'=cmd|' /C calc'!A0\""), "{notes}");
    assert!(notes.contains("\"calm; '=1+1\""), "{notes}");
}

/// What a person at a terminal sees while a long command works, beside its answer.
fn seen(room: &Room, line: &str) -> String {
    let book = room.path("room.scruple");
    let words = ["scruple"].into_iter().chain(line.split(' '));
    let words = words.chain(["--book", &book, "--now", "2001-03-01 10:00"]);
    let (mut out, mut err) = (Vec::new(), Vec::new());
    let world = scruple::cli::World {
        now: "2100-01-01T00:00:00Z".parse().unwrap(),
        local_zone: None,
        book_from_environment: None,
        data_directory: None,
        interactive: true,
        colour: false,
        input: &mut std::io::empty(),
        out: &mut out,
        err: &mut err,
    };
    let code = scruple::cli::run(words.map(std::ffi::OsString::from), world);
    let err = String::from_utf8(err).unwrap();
    assert_eq!(code, 0, "{err}");
    err
}

#[test]
fn one_who_waits_is_told_how_far_it_has_got() {
    let mut room = lived_in("progress");
    let entries = room.json("verify")["entries"].clone();
    let all = |what: &str| format!("{what} {entries} of {entries} entries");
    let out = room.path("out");
    let said = seen(&room, "verify");
    assert!(said.contains(&all("Checked")), "{said:?}");
    let said = seen(&room, &format!("export {out}"));
    assert!(said.contains(&all("Read")), "{said:?}");
    assert!(said.contains("Writing the document"), "{said:?}");
    let other = Room::without_a_book("progress-other");
    let said = seen(&other, &format!("import {out}/book.ron"));
    assert!(said.contains(&all("Checked")), "{said:?}");
    assert!(
        said.contains(&format!("Writing all {entries} entries, or none")),
        "{said:?}"
    );
    // It is taken away again at the end.
    assert!(said.ends_with('\r'), "{said:?}");
}
