//! Single changed bytes: each is noticed, or changes nothing that is read.

use std::collections::BTreeMap;
use std::fs;
use std::path::Path;

use chrono::{DateTime, Utc};
use scruple::book::{Book, BookError, rescue, verify};
use scruple::entry::Row;

use crate::room::{Dice, Folder, append, entry, how_many, small_book};

/// All that a keeper's commands can learn from a book.
#[derive(Debug, PartialEq)]
struct Told {
    id: String,
    zone: String,
    made: DateTime<Utc>,
    newest: Option<DateTime<Utc>>,
    open_courses: BTreeMap<String, u64>,
    rows: Vec<Row>,
}

fn told(book: &Book) -> Result<Told, BookError> {
    let open_courses = book.view(|view| {
        let heads = view.heads();
        Ok::<_, BookError>(
            heads
                .map(|(name, head)| (name.to_owned(), head.open_courses))
                .collect(),
        )
    })?;
    Ok(Told {
        id: book.id().to_string(),
        zone: book.zone().to_owned(),
        made: book.made(),
        newest: book.newest_recorded_at()?,
        open_courses,
        rows: book.read_all()?,
    })
}

/// What one changed byte led to.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
enum Kind {
    /// It is no longer taken for a book of this version.
    NotOpenedAsABook,
    /// Opening says that the book is damaged as a whole.
    NoticedAtOpening,
    /// Opening names the subject.
    NoticedInAHead,
    /// Reading names the subject; the others are read.
    NoticedInAChain,
    /// Nothing that is read differs, and walking everything finds what is wrong.
    NoticedByWalking,
    /// Nothing that is read differs, nothing is wrong with the file, and it is gone on from as if
    /// nothing had been.
    ChangesNothing,
}

/// Judges the book at `path`, which differs in one byte from the one that `before` was read from.
fn judge(path: &Path, before: &Told) -> Kind {
    let walked = verify(path, |_, _| {});
    let mut book = match Book::open(path) {
        Ok(book) => book,
        Err(error) => {
            assert!(
                !walked.is_ok_and(|verdict| verdict.is_sound()),
                "opening noticed what walking did not: {error}"
            );
            return match error {
                BookError::Damaged(_) => Kind::NoticedAtOpening,
                _ => Kind::NotOpenedAsABook,
            };
        }
    };
    // Whatever is read as sound is as it was written, in whole and subject by subject, whether or
    // not anything was noticed.
    assert_eq!(
        (book.id().to_string(), book.zone()),
        (before.id.clone(), &*before.zone)
    );
    assert_eq!(
        (book.made(), book.newest_recorded_at().unwrap()),
        (before.made, before.newest)
    );
    let mut broken = false;
    match book.read_sound() {
        Ok(reading) => {
            assert!(reading.rows.iter().all(|row| before.rows.contains(row)));
            let sound = |row: &&Row| !reading.unsound.iter().any(|bad| bad.subject == row.subject);
            if reading.damage.is_empty() {
                assert_eq!(reading.rows, before.rows);
            } else {
                assert!(before.rows.iter().filter(sound).count() >= reading.rows.len());
            }
            broken = !reading.damage.is_empty();
        }
        Err(error) => assert!(matches!(error, BookError::Damaged(_)), "{error}"),
    }
    for subject in before.open_courses.keys() {
        match book.read_subject(subject) {
            Ok(rows) => {
                let wanted = before.rows.iter().filter(|row| row.subject == *subject);
                assert!(rows.iter().eq(wanted), "{subject}");
            }
            Err(error) => {
                assert!(matches!(error, BookError::Damaged(_)), "{error}");
                broken = true;
            }
        }
    }
    let heads = !book.damage().is_empty();
    let sound = walked.as_ref().is_ok_and(scruple::book::Verdict::is_sound);
    if heads {
        assert!(!sound);
        return Kind::NoticedInAHead;
    }
    assert!(!(broken && sound), "reading noticed what walking did not");
    if !broken {
        assert_eq!(told(&book).unwrap(), *before);
    }
    // Going on from here must not make things worse: what was written stays as it was.
    let went_on = append(
        &mut book,
        vec![entry("animal:Nubbet", 900), entry("animal:New", 901)],
    );
    if went_on.is_ok() {
        let reading = Book::open(path).and_then(|book| book.read_sound());
        if let Ok(reading) = reading {
            let old = reading
                .rows
                .iter()
                .filter(|row| row.seq <= before.rows.len() as u64);
            assert!(old.clone().all(|row| before.rows.contains(row)));
            if sound {
                assert_eq!(old.count(), before.rows.len());
            }
        } else {
            assert!(!sound, "going on ruined a book that was found sound");
        }
    } else {
        assert!(
            !sound,
            "a book that was found sound could not be gone on from: {went_on:?}"
        );
    }
    if broken {
        Kind::NoticedInAChain
    } else if sound {
        assert!(verify(path, |_, _| {}).unwrap().is_sound());
        Kind::ChangesNothing
    } else {
        Kind::NoticedByWalking
    }
}

/// SCRUPLE_FLIPS bytes at random places, each by itself.
#[test]
fn a_changed_byte_is_noticed_or_changes_nothing() {
    let folder = Folder::new();
    let path = folder.at("a.book");
    let book = small_book(&path, 120);
    let before = told(&book).unwrap();
    drop(book);
    let good = fs::read(&path).unwrap();
    let mut dice = Dice::new();
    let mut kinds: BTreeMap<Kind, u64> = BTreeMap::new();
    let mut saved = BTreeMap::<usize, u64>::new();
    let flips = how_many("SCRUPLE_FLIPS", 300);
    for flip in 0..flips {
        let mut bad = good.clone();
        // The first page, which holds the header and the plan, is a small part of a file: every
        // fourth change is made there.
        let bound = if flip % 4 == 0 {
            4096
        } else {
            bad.len() as u64
        };
        let place = usize::try_from(dice.below(bound)).unwrap();
        let change = u8::try_from(1 + dice.below(255)).unwrap();
        bad[place] ^= change;
        fs::write(&path, &bad).unwrap();
        println!("byte {place} xor {change}");
        let rows = rescue(&path, |_, _| {})
            .map(|saved| saved.reading.rows.len() + saved.reading.unsound.len());
        *saved.entry(rows.unwrap_or_default()).or_default() += 1;
        let kind = judge(&path, &before);
        *kinds.entry(kind).or_default() += 1;
        for end in ["-journal", "-wal", "-shm"] {
            let _ = fs::remove_file(folder.at(&format!("a.book{end}")));
        }
    }
    println!("{flips} changed bytes of a file of {} bytes:", good.len());
    for (kind, count) in &kinds {
        println!("{count:>8} {kind:?}");
    }
    for (rows, count) in &saved {
        println!(
            "{count:>8} with {rows} of {} entries saved",
            before.rows.len()
        );
    }
}

/// Every byte of the file's header, each with a few changes: here a single byte means most.
#[test]
fn every_byte_of_the_header_is_noticed_or_changes_nothing() {
    let folder = Folder::new();
    let path = folder.at("a.book");
    let book = small_book(&path, 30);
    let before = told(&book).unwrap();
    drop(book);
    let good = fs::read(&path).unwrap();
    for place in 0..100 {
        for change in [1, 3, 0x80] {
            let mut bad = good.clone();
            bad[place] ^= change;
            fs::write(&path, &bad).unwrap();
            println!("byte {place} xor {change}");
            judge(&path, &before);
            for end in ["-journal", "-wal", "-shm"] {
                let _ = fs::remove_file(folder.at(&format!("a.book{end}")));
            }
        }
    }
}
