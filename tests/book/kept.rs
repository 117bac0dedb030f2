//! What was appended is there again: the plain workings of a book.

use std::collections::BTreeMap;
use std::convert::Infallible;

use chrono::{DateTime, TimeDelta, Utc};
use scruple::book::{
    AppendError, Book, BookError, Draft, Kept, MOST_BODY_BYTES, MOST_TEXT_BYTES, verify,
};
use scruple::entry::NewRow;
use sha2::{Digest, Sha256};

use crate::room::{Folder, append, append_draft, create, entry, minute, small_book};

#[test]
fn a_reopened_book_equals_the_one_that_was_written() {
    let folder = Folder::new();
    let path = folder.at("a.book");
    let mut book = create(&path);
    let mut wanted = Vec::new();
    for number in 0..40 {
        let given = vec![
            entry("animal:Thimblo", number),
            entry(
                ["animal:Nubbet", "bottle:1"][usize::try_from(number % 2).unwrap()],
                number,
            ),
        ];
        let rows = append(&mut book, given.clone()).unwrap();
        let back: Vec<NewRow> = rows.iter().map(scruple::entry::Row::as_given).collect();
        assert_eq!(back, given);
        wanted.extend(rows);
    }
    for (row, seq) in wanted.iter().zip(1..) {
        assert_eq!(row.seq, seq);
    }
    let thimblo: Vec<u64> = wanted
        .iter()
        .filter(|row| row.subject == "animal:Thimblo")
        .map(|row| row.n)
        .collect();
    assert_eq!(thimblo, (1..=40).collect::<Vec<u64>>());
    assert_eq!(book.read_all().unwrap(), wanted);
    drop(book);
    for book in [Book::open(&path), Book::open_read_only(&path)] {
        let book = book.unwrap();
        assert_eq!(book.read_all().unwrap(), wanted);
        assert_eq!(book.zone(), "Europe/Warsaw");
        assert_eq!(book.made(), minute(0));
        assert_eq!(book.newest_recorded_at().unwrap(), Some(minute(40)));
        let nubbet = book.read_subject("animal:Nubbet").unwrap();
        assert_eq!(nubbet.len(), 20);
        assert!(nubbet.iter().all(|row| wanted.contains(row)));
        assert_eq!(book.read_subject("animal:Nobody").unwrap(), Vec::new());
    }
    let verdict = verify(&path, |_, _| {}).unwrap();
    assert!(verdict.is_sound(), "{verdict:?}");
    assert_eq!((verdict.entries, verdict.subjects), (80, 3));
}

#[test]
fn every_text_comes_back_exactly() {
    let folder = Folder::new();
    let mut book = create(&folder.at("a.book"));
    let mut wanted = Vec::new();
    for text in [
        "",
        " ",
        "\0",
        "a\0b",
        "'; DROP TABLE entry; --",
        "\u{1b}[2J",
        "é",
        "e\u{301}",
        "☂ 𝄞",
        "\u{feff}",
        "\r\n",
        "NULL",
        "1",
        "1.0",
        "1e3",
        "%s",
        "?1",
    ] {
        for course in [None, Some(text.to_owned())] {
            let row = NewRow {
                subject: format!("animal:{text}"),
                course,
                kind: text.into(),
                zone: text.into(),
                body: text.into(),
                ..entry("", 1)
            };
            append(&mut book, vec![row.clone()]).unwrap();
            wanted.push(row);
        }
    }
    let found: Vec<NewRow> = book
        .read_all()
        .unwrap()
        .iter()
        .map(|row| row.as_given())
        .collect();
    assert_eq!(found, wanted);
    assert_eq!(book.read_subject("animal:a\0b").unwrap().len(), 2);
    assert_eq!(book.read_subject("animal:a").unwrap().len(), 0);
}

#[test]
fn every_time_comes_back_exactly_or_is_not_accepted() {
    let folder = Folder::new();
    let mut book = create(&folder.at("a.book"));
    let times = [
        "0000-01-01T00:00:00Z",
        "9999-12-31T23:59:59.999999999Z",
        "2027-03-22T07:00:00.5Z",
        "2027-03-22T07:00:00.000001Z",
        "2016-12-31T23:59:60Z",
    ];
    for time in times {
        let time: DateTime<Utc> = time.parse().unwrap();
        let row = NewRow {
            happened_at: time,
            recorded_at: time,
            ..entry("animal:Thimblo", 1)
        };
        append(&mut book, vec![row.clone()]).unwrap();
        let last = book.read_all().unwrap().pop().unwrap();
        assert_eq!(last.as_given(), row);
    }
    let newest = book.newest_recorded_at().unwrap();
    assert_eq!(newest, Some(times[1].parse().unwrap()));
    for time in [DateTime::<Utc>::MAX_UTC, DateTime::<Utc>::MIN_UTC] {
        let row = NewRow {
            happened_at: time,
            ..entry("animal:Thimblo", 1)
        };
        let error = append(&mut book, vec![row]).unwrap_err();
        assert!(matches!(error, BookError::OutOfTime { .. }), "{error}");
    }
    assert_eq!(book.read_all().unwrap().len(), times.len());
}

/// The newest time of writing is that of the latest clock, not that of the last entry.
#[test]
fn the_newest_time_is_the_latest_one() {
    let folder = Folder::new();
    let path = folder.at("a.book");
    let mut book = create(&path);
    assert_eq!(book.newest_recorded_at().unwrap(), None);
    for number in [5, 90, 10] {
        append(&mut book, vec![entry("settings", number)]).unwrap();
    }
    assert_eq!(book.newest_recorded_at().unwrap(), Some(minute(91)));
    let book = Book::open(&path).unwrap();
    assert_eq!(book.newest_recorded_at().unwrap(), Some(minute(91)));
}

#[test]
fn what_the_judge_does_not_want_is_not_written() {
    let folder = Folder::new();
    let path = folder.at("a.book");
    let mut book = small_book(&path, 12);
    let before = book.read_all().unwrap();
    let error = book.append(|view| {
        assert_eq!(view.read_all().unwrap(), before);
        Err::<Draft, _>("the dose is not open")
    });
    assert!(matches!(
        error,
        Err(AppendError::Judged("the dose is not open"))
    ));
    let none = book.append(|_| Ok::<Draft, Infallible>(Draft::default()));
    assert_eq!(none.unwrap(), Vec::new());
    // One row too many spoils them all.
    let rows = vec![entry("animal:Thimblo", 50), entry("", 51)];
    let error = append(&mut book, rows).unwrap_err();
    assert!(matches!(error, BookError::NoSubject), "{error}");
    assert_eq!(error.kept(), Kept::Nothing);
    assert!(!error.is_failure());
    assert_eq!(book.read_all().unwrap(), before);
    assert_eq!(Book::open(&path).unwrap().read_all().unwrap(), before);
    append(&mut book, vec![entry("animal:Thimblo", 50)]).unwrap();
    assert!(verify(&path, |_, _| {}).unwrap().is_sound());
}

#[test]
fn a_panic_in_the_judge_leaves_the_book_as_it_was() {
    let folder = Folder::new();
    let path = folder.at("a.book");
    let mut book = small_book(&path, 12);
    let before = book.read_all().unwrap();
    let panicked = std::panic::catch_unwind(std::panic::AssertUnwindSafe(|| {
        book.append(|_| -> Result<Draft, Infallible> { panic!("by the test") })
    }));
    assert!(panicked.is_err());
    append(&mut book, vec![entry("settings", 60)]).unwrap();
    assert_eq!(book.read_all().unwrap()[..12], before[..]);
}

#[test]
fn texts_are_bounded() {
    let folder = Folder::new();
    let mut book = create(&folder.at("a.book"));
    let at_most = NewRow {
        subject: "s".repeat(MOST_TEXT_BYTES),
        body: "b".repeat(MOST_BODY_BYTES),
        ..entry("", 1)
    };
    append(&mut book, vec![at_most.clone()]).unwrap();
    let long = NewRow {
        kind: "k".repeat(MOST_TEXT_BYTES + 1),
        ..entry("animal:Thimblo", 1)
    };
    let longer = NewRow {
        body: "b".repeat(MOST_BODY_BYTES + 1),
        ..entry("animal:Thimblo", 1)
    };
    for row in [long, longer] {
        let error = append(&mut book, vec![row]).unwrap_err();
        assert!(matches!(error, BookError::TooLong { .. }), "{error}");
    }
    assert_eq!(book.read_all().unwrap().len(), 1);
    assert_eq!(book.read_subject(&at_most.subject).unwrap().len(), 1);
}

#[test]
fn counts_of_open_courses_are_kept_with_the_heads() {
    let folder = Folder::new();
    let path = folder.at("a.book");
    let mut book = small_book(&path, 12);
    let open = |book: &Book| -> Vec<(String, u64)> {
        let open: Result<_, BookError> = book.view(|view| {
            Ok(view
                .heads()
                .filter(|(_, head)| head.open_courses > 0)
                .map(|(subject, head)| (subject.to_owned(), head.open_courses))
                .collect())
        });
        open.unwrap()
    };
    assert_eq!(open(&book), [("animal:Thimblo".into(), 2)]);
    append(&mut book, vec![entry("animal:Thimblo", 50)]).unwrap();
    assert_eq!(open(&book), [("animal:Thimblo".into(), 2)]);
    let draft = Draft {
        rows: vec![entry("animal:Nubbet", 51), entry("animal:Pell", 52)],
        open_courses: BTreeMap::from([
            ("animal:Thimblo".into(), 0),
            ("animal:Nubbet".into(), 1),
            ("animal:Pell".into(), 3),
        ]),
    };
    append_draft(&mut book, draft).unwrap();
    let wanted = [("animal:Nubbet".into(), 1), ("animal:Pell".into(), 3)];
    assert_eq!(open(&book), wanted);
    assert_eq!(open(&Book::open(&path).unwrap()), wanted);
    let draft = Draft {
        rows: Vec::new(),
        open_courses: BTreeMap::from([("animal:Nobody".into(), 1)]),
    };
    let error = append_draft(&mut book, draft).unwrap_err();
    assert!(matches!(error, BookError::UnknownSubject { .. }), "{error}");
    assert!(verify(&path, |_, _| {}).unwrap().is_sound());
}

#[test]
fn a_subject_is_read_back_as_far_as_wanted() {
    let folder = Folder::new();
    let mut book = create(&folder.at("a.book"));
    for number in 0..20 {
        append(
            &mut book,
            vec![entry("animal:Thimblo", number), entry("settings", number)],
        )
        .unwrap();
    }
    let since = minute(15);
    let rows: Result<_, BookError> =
        book.view(|view| view.read_back("animal:Thimblo", |row| row.happened_at > since));
    let numbers: Vec<u64> = rows.unwrap().iter().map(|row| row.n).collect();
    assert_eq!(numbers, [16, 17, 18, 19, 20]);
}

/// A second connection's entries are seen, and its chains gone on from.
#[test]
fn two_open_books_follow_each_other() {
    let folder = Folder::new();
    let path = folder.at("a.book");
    let mut one = small_book(&path, 10);
    let mut two = Book::open(&path).unwrap();
    for number in 20..40 {
        let book = if number % 3 == 0 { &mut one } else { &mut two };
        append(book, vec![entry("animal:Thimblo", number)]).unwrap();
        assert_eq!(one.read_all().unwrap(), two.read_all().unwrap());
        assert_eq!(
            one.newest_recorded_at().unwrap(),
            two.newest_recorded_at().unwrap()
        );
    }
    assert_eq!(one.read_all().unwrap().len(), 30);
    assert!(verify(&path, |_, _| {}).unwrap().is_sound());
}

/// The link of a first entry, worked out by hand from the words in docs/reliability.md: every
/// field with its length in eight bytes before it, big end first, through a plain SHA-256.
#[test]
fn a_link_can_be_worked_out_from_its_description() {
    fn field(bytes: &mut Vec<u8>, text: &[u8]) {
        bytes.extend((text.len() as u64).to_be_bytes());
        bytes.extend(text);
    }
    fn hex(bytes: &[u8]) -> String {
        let digest = Sha256::digest(bytes);
        digest.iter().map(|byte| format!("{byte:02x}")).collect()
    }
    let folder = Folder::new();
    let mut book = create(&folder.at("a.book"));
    let row = NewRow {
        subject: "animal:Thimblo".into(),
        course: None,
        kind: "weighed".into(),
        happened_at: minute(0),
        recorded_at: minute(1) + TimeDelta::milliseconds(250),
        clock_given: true,
        zone: "Europe/Warsaw".into(),
        body: "{}".into(),
    };
    let kept = append(&mut book, vec![row]).unwrap().remove(0);

    let id: Vec<u8> = (0..32)
        .step_by(2)
        .map(|i| u8::from_str_radix(&book.id().to_string()[i..i + 2], 16).unwrap())
        .collect();
    let mut root = Vec::new();
    field(&mut root, b"scruple chain 1");
    field(&mut root, &id);
    field(&mut root, b"animal:Thimblo");
    let mut link = Vec::new();
    field(&mut link, b"scruple entry 1");
    field(&mut link, hex(&root).as_bytes());
    field(&mut link, &1_u64.to_be_bytes());
    field(&mut link, b"animal:Thimblo");
    field(&mut link, &1_u64.to_be_bytes());
    field(&mut link, &[0]);
    field(&mut link, b"");
    field(&mut link, b"weighed");
    field(&mut link, b"2027-03-22T07:00:00Z");
    field(&mut link, b"2027-03-22T07:01:00.250Z");
    field(&mut link, &[1]);
    field(&mut link, b"Europe/Warsaw");
    field(&mut link, b"{}");
    assert_eq!(kept.link, hex(&link));
}
