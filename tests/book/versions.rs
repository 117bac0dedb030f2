//! Books as earlier versions of the program wrote them. A file here is never made again: each
//! must be read, and gone on from, for as long as there is a scruple.

use std::fs;

use scruple::book::{Book, BookId, verify};

use crate::room::{Folder, append, entry};

/// Written by version 1. The links were also worked out from the description in
/// docs/reliability.md by a program in another language (Python's sqlite3, struct and hashlib),
/// which agreed with all of them, with the seals and with the top.
#[test]
fn a_book_of_version_1() {
    let folder = Folder::new();
    let path = folder.at("a.book");
    fs::write(&path, include_bytes!("version-1.book")).unwrap();
    assert!(verify(&path, |_, _| {}).unwrap().is_sound());
    let mut book = Book::open(&path).unwrap();
    assert_eq!(book.id(), BookId::from_seed("version 1"));
    assert_eq!(book.id().to_string(), "63ff49434ee603f57046e27ceb289c98");
    assert_eq!(book.zone(), "Europe/Warsaw");
    assert_eq!(book.made().to_rfc3339(), "2001-03-05T07:00:00+00:00");
    let rows = book.read_all().unwrap();
    let told: Vec<(u64, &str, u64, Option<&str>, &str)> = rows
        .iter()
        .map(|row| {
            let course = row.course.as_deref();
            (
                row.seq,
                row.subject.as_str(),
                row.n,
                course,
                row.kind.as_str(),
            )
        })
        .collect();
    assert_eq!(
        told,
        [
            (1, "settings", 1, None, "settings"),
            (2, "animal:Thimblo", 1, None, "animal added"),
            (3, "animal:Thimblo", 2, None, "weighed"),
            (4, "prescription:DEMO-0001", 1, None, "prescription entered"),
            (5, "animal:Thimblo", 3, Some("DEMO-0001"), "course begun"),
            (6, "bottle:1", 1, None, "bottle opened"),
            (7, "animal:Thimblo", 4, Some("DEMO-0001"), "given"),
        ]
    );
    assert_eq!(rows[5].body, "{\"label\":\"8 mg/mL\",\"note\":\"café ☂\"}");
    assert_eq!(
        rows[6].happened_at.to_rfc3339(),
        "2001-03-05T08:01:00+00:00"
    );
    assert_eq!(
        rows[6].recorded_at.to_rfc3339(),
        "2001-03-05T08:01:01.500+00:00"
    );
    assert!(rows[3].clock_given && !rows[6].clock_given);
    assert_eq!(
        rows[6].link,
        "b68dfd8fc598874c55642f9d7f80dcaec82c8a16dbd03c0abc157e5bf384c0fb"
    );
    append(&mut book, vec![entry("animal:Thimblo", 1)]).unwrap();
    assert_eq!(book.read_all().unwrap()[..7], rows[..]);
    assert!(verify(&path, |_, _| {}).unwrap().is_sound());
}
