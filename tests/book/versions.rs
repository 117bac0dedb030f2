//! Books as earlier versions of the program wrote them. A file here is never made again: each
//! must be read, and gone on from, for as long as there is a scruple.

use std::fs;

use rusqlite::Connection;
use scruple::book::{Book, BookError, BookId, WithNeeds, verify};
use scruple::entry::Stretch;

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

/// A book of version 1 is brought up when it is opened to be written, and only then.
#[test]
fn a_book_is_brought_up_when_it_is_written() {
    let folder = Folder::new();
    let path = folder.at("a.book");
    let old = include_bytes!("version-1.book");
    fs::write(&path, old).unwrap();
    let book = Book::open_read_only(&path).unwrap();
    assert_eq!(book.read_all().unwrap().len(), 7);
    let knows = |book: &Book| book.view(|view| Ok::<_, BookError>(view.opened().is_some()));
    assert!(!knows(&book).unwrap());
    drop(book);
    assert_eq!(fs::read(&path).unwrap(), old);
    let mut book = Book::open(&path).unwrap();
    let version = |path| {
        let conn = Connection::open(path).unwrap();
        let version = conn.query_row("PRAGMA user_version", [], |row| row.get::<_, i64>(0));
        version.unwrap()
    };
    assert_eq!(version(&path), 2);
    // What the day's work needs is not known until somebody says it, with an entry.
    assert!(!knows(&book).unwrap());
    let with_needs = WithNeeds {
        draft: vec![entry("animal:Thimblo", 1)].into(),
        opened: Some([("animal:Thimblo".to_owned(), vec![Stretch::WHOLE])].into()),
    };
    let kept = book.append(|_| Ok::<_, BookError>(with_needs));
    assert_eq!(kept.map_err(|error| error.to_string()).unwrap().len(), 1);
    assert!(knows(&book).unwrap());
    // An entry without it takes it away again.
    append(&mut book, vec![entry("settings", 2)]).unwrap();
    assert!(!knows(&book).unwrap());
    assert!(!knows(&Book::open(&path).unwrap()).unwrap());
    assert!(verify(&path, |_, _| {}).unwrap().is_sound());
}

/// Written by version 2, with the entries of the book of version 1. The link of what the day's
/// work needs was also worked out from the description in docs/reliability.md by a program in
/// another language (Python's sqlite3, struct and hashlib).
#[test]
fn a_book_of_version_2() {
    let folder = Folder::new();
    let path = folder.at("a.book");
    fs::write(&path, include_bytes!("version-2.book")).unwrap();
    assert!(verify(&path, |_, _| {}).unwrap().is_sound());
    let mut book = Book::open(&path).unwrap();
    assert_eq!(book.id().to_string(), "927f149e5bb20fd92c7eeb59f6127a2e");
    let rows = book.read_all().unwrap();
    assert_eq!(
        rows.last().unwrap().link,
        "ea87cddc87122b6e76e16a2ccca3478d151e2c745d51028693f69cfbdbc47ad4"
    );
    let link: String = Connection::open(&path)
        .unwrap()
        .query_row("SELECT link FROM opened_with", [], |row| row.get(0))
        .unwrap();
    assert_eq!(
        link,
        "8c29993e48138f8ea31cd1742a05ec49f3ebc6a0d11c6d5ed692434301069bab"
    );
    let (thimblo, reference) = ("animal:Thimblo", "prescription:DEMO-0001");
    book.view(|view| {
        let opened: Vec<_> = view.opened().unwrap().collect();
        let stretch = |from, to| Stretch { from, to };
        let wanted = [
            (thimblo, vec![stretch(2, Some(2)), stretch(4, None)]),
            (reference, vec![]),
            ("settings", vec![Stretch::WHOLE]),
        ];
        assert_eq!(opened, wanted.map(|(name, part)| (name.to_owned(), part)));
        let numbers = |subject| -> Vec<u64> {
            let read = view.read_opened(subject).unwrap();
            read.iter().map(|row| row.seq).collect()
        };
        assert_eq!(numbers(thimblo), [2, 3, 7]);
        assert_eq!(numbers(reference), [4]);
        Ok::<_, BookError>(())
    })
    .unwrap();
    append(&mut book, vec![entry("animal:Thimblo", 1)]).unwrap();
    assert_eq!(book.read_all().unwrap()[..7], rows[..]);
    assert!(verify(&path, |_, _| {}).unwrap().is_sound());
}
