//! Single changed bytes: each is noticed, or changes nothing that is read.

use std::collections::BTreeMap;
use std::fs;
use std::path::Path;
use std::time::Duration;

use chrono::{DateTime, Utc};
use rusqlite::Connection;
use rusqlite::config::DbConfig;
use scruple::book::{Book, BookError, WithNeeds, rescue, verify};
use scruple::entry::{Row, Stretch};

use crate::dice::{Dice, how_many};
use crate::room::{Folder, append, entry, part, small_book};

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
    part_is_as_written(path, &[&before.rows]);
    let mut broken;
    match book.read_sound() {
        Ok(reading) => {
            // A subject is there as it was, whole, or not at all.
            for subject in before.open_courses.keys() {
                let of = |rows: &[Row]| -> Vec<Row> {
                    let own = rows.iter().filter(|row| row.subject == *subject);
                    own.cloned().collect()
                };
                let found = of(&reading.rows);
                assert!(found.is_empty() || found == of(&before.rows), "{subject}");
            }
            if reading.damage.is_empty() {
                assert_eq!(reading.rows, before.rows);
            }
            assert!(reading.rows.iter().all(|row| before.rows.contains(row)));
            broken = !reading.damage.is_empty();
        }
        Err(error) => {
            assert!(matches!(error, BookError::Damaged(_)), "{error}");
            broken = true;
        }
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
    if broken {
        return Kind::NoticedInAChain;
    }
    assert_eq!(told(&book).unwrap(), *before);
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
    if sound {
        assert!(verify(path, |_, _| {}).unwrap().is_sound());
        Kind::ChangesNothing
    } else {
        Kind::NoticedByWalking
    }
}

/// What the book says that the day's work needs is read as it was at one of these moments, whole,
/// or not at all.
fn part_is_as_written(path: &Path, moments: &[&[Row]]) -> bool {
    let book = Book::open_lightly_read_only_within(path, Duration::ZERO);
    let Ok(book) = book else { return false };
    let read = book.view(|view| {
        let Some(opened) = view.opened() else {
            return Ok(None);
        };
        let opened: BTreeMap<String, Vec<Stretch>> = opened.collect();
        let rows = opened.keys().map(|subject| view.read_opened(subject));
        let rows: Result<Vec<Vec<Row>>, BookError> = rows.collect();
        Ok::<_, BookError>(Some((opened, rows?)))
    });
    let Ok(Some((opened, found))) = read else {
        return false;
    };
    assert_eq!(opened, part());
    let holds = |n: u64, stretches: &[Stretch]| {
        let in_one = |s: &Stretch| n >= s.from && s.to.is_none_or(|to| n <= to);
        n == 1 || stretches.iter().any(in_one)
    };
    let as_at = |rows: &[Row]| {
        opened
            .iter()
            .zip(&found)
            .all(|((subject, stretches), found)| {
                let own = rows.iter().filter(|row| row.subject == *subject);
                found.iter().eq(own.filter(|row| holds(row.n, stretches)))
            })
    };
    assert!(moments.iter().any(|rows| as_at(rows)));
    true
}

/// SCRUPLE_FLIPS bytes at random places, each by itself.
#[test]
fn a_changed_byte_is_noticed_or_changes_nothing() {
    let folder = Folder::new();
    let path = folder.at("a.book");
    let book = small_book(&path, 120);
    let before = told(&book).unwrap();
    drop(book);
    assert!(part_is_as_written(&path, &[&before.rows]));
    let good = fs::read(&path).unwrap();
    let mut dice = Dice::new();
    let mut parts = 0;
    let mut kinds: BTreeMap<Kind, u64> = BTreeMap::new();
    let mut saved = BTreeMap::<usize, u64>::new();
    let flips = how_many("SCRUPLE_FLIPS", 200);
    for flip in 0..flips {
        let mut bad = good.clone();
        let change = dice.change(&mut bad, flip % 4 == 0);
        fs::write(&path, &bad).unwrap();
        println!("{change}");
        let rows = rescue(&path, |_, _| {})
            .map(|saved| saved.reading.rows.len() + saved.reading.unsound.len());
        *saved.entry(rows.unwrap_or_default()).or_default() += 1;
        parts += u64::from(part_is_as_written(&path, &[&before.rows]));
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
    println!("{parts:>8} with what the day's work needs read as it was written");
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

/// A copy put together from two moments of the same book, page by page, as a copying program makes
/// it that does not wait for the writer: noticed, or the book as it was at one of the two moments.
#[test]
fn a_copy_of_two_moments_is_noticed() {
    let folder = Folder::new();
    let path = folder.at("a.book");
    let mut book = small_book(&path, 90);
    let (older, older_rows) = (fs::read(&path).unwrap(), book.read_all().unwrap());
    for number in 100..130 {
        let subject = ["animal:Thimblo", "animal:Nubbet", "settings"][number % 3];
        let number = i64::try_from(number).unwrap();
        let told = WithNeeds {
            draft: vec![entry(subject, number)].into(),
            opened: Some(part()),
        };
        let kept = book.append(|_| Ok::<_, BookError>(told));
        kept.map_err(|error| error.to_string()).unwrap();
    }
    let (newer, newer_rows) = (fs::read(&path).unwrap(), book.read_all().unwrap());
    drop(book);
    let mut dice = Dice::new();
    let (mut whole, mut parts) = (0, 0);
    let copies = how_many("SCRUPLE_FLIPS", 200) / 3;
    for _ in 0..copies {
        let mut mixed = newer.clone();
        // From one page that lags behind to all but one.
        let share = 1 + dice.below(9);
        for (to, from) in mixed.chunks_mut(4096).zip(older.chunks(4096)) {
            if dice.below(10) < share {
                to.copy_from_slice(from);
            }
        }
        fs::write(&path, &mixed).unwrap();
        // Never some of it as it was before and some as it was after.
        parts += usize::from(part_is_as_written(&path, &[&newer_rows, &older_rows]));
        let walked = verify(&path, |_, _| {});
        let sound = walked.is_ok_and(|verdict| verdict.is_sound());
        match Book::open(&path) {
            Ok(book) => {
                let reading = book.read_sound().unwrap_or_default();
                for row in &reading.rows {
                    assert!(newer_rows.contains(row));
                }
                if sound {
                    assert!(reading.rows == newer_rows || reading.rows == older_rows);
                    whole += 1;
                }
            }
            Err(error) => assert!(!sound, "{error}"),
        }
    }
    println!(
        "{copies} mixed copies: {whole} were one of the two books, the others were noticed; in \
         {parts} what the day's work needs was that of one of the two"
    );
}

/// Texts that no command of this program writes, put in by another hand: read as damage, whatever
/// they hold and however long they are.
#[test]
fn a_hostile_book_is_damaged_and_no_more() {
    for (column, value) in [
        ("subject", "printf('%.*c', 10000000, 'x')"),
        ("body", "printf('%.*c', 5000000, '[')"),
        ("kind", "char(27) || '[2J' || char(7, 0, 8238)"),
        ("zone", "CAST(x'fffe41004200' AS TEXT)"),
        ("happened_at", "'+262143-01-01T00:00:00Z'"),
        ("recorded_at", "'2027-02-30T25:00:00Z'"),
        ("n", "9223372036854775807"),
        ("n", "-9223372036854775808"),
        ("seq", "9223372036854775807"),
        ("seq", "-9223372036854775808"),
        ("link", "replace(hex(zeroblob(32)), '0', char(1087))"),
    ] {
        let folder = Folder::new();
        let path = folder.at("a.book");
        drop(small_book(&path, 30));
        let conn = Connection::open(&path).unwrap();
        conn.set_db_config(DbConfig::SQLITE_DBCONFIG_ENABLE_TRIGGER, false)
            .unwrap();
        conn.execute_batch(&format!(
            "UPDATE entry SET {column} = {value} WHERE seq = 11"
        ))
        .unwrap();
        drop(conn);
        let verdict = verify(&path, |_, _| {}).unwrap();
        assert!(!verdict.is_sound(), "{column} = {value}");
        for damage in verdict.damage {
            let text = damage.to_string();
            assert!(!text.chars().any(char::is_control), "{text:?}");
            assert!(
                text.len() < 1_000,
                "{column} = {value}: {} bytes",
                text.len()
            );
        }
        let _ = rescue(&path, |_, _| {}).unwrap();
        if let Ok(book) = Book::open(&path) {
            assert!(!book.read_sound().unwrap().damage.is_empty());
        }
    }
}
