//! Folders and books for the tests of this binary.

use std::collections::BTreeMap;
use std::fs;
use std::path::{Path, PathBuf};
use std::sync::atomic::{AtomicU32, Ordering};

use chrono::{DateTime, TimeDelta, TimeZone, Utc};
use scruple::book::{AppendError, Book, BookError, BookId, Draft, Folders, WithNeeds};
use scruple::entry::{NewRow, Row, Stretch};

/// A folder of its own, taken away at the end.
pub struct Folder(PathBuf);

impl Folder {
    pub fn new() -> Self {
        static NEXT: AtomicU32 = AtomicU32::new(0);
        let name = format!(
            "book-{}-{}",
            std::process::id(),
            NEXT.fetch_add(1, Ordering::Relaxed)
        );
        let path = Path::new(env!("CARGO_TARGET_TMPDIR")).join(name);
        fs::create_dir_all(&path).unwrap();
        Self(path)
    }

    pub fn path(&self) -> &Path {
        &self.0
    }

    pub fn at(&self, file: &str) -> PathBuf {
        self.0.join(file)
    }
}

impl Drop for Folder {
    fn drop(&mut self) {
        let _ = fs::remove_dir_all(&self.0);
    }
}

/// Minute `n` after a Monday morning.
pub fn minute(n: i64) -> DateTime<Utc> {
    Utc.with_ymd_and_hms(2027, 3, 22, 7, 0, 0).unwrap() + TimeDelta::minutes(n)
}

/// An entry like those that a keeper's commands make; its number makes it differ from the others.
pub fn entry(subject: &str, number: i64) -> NewRow {
    NewRow {
        subject: subject.into(),
        course: (number % 3 == 0).then(|| "DEMO-0001".into()),
        kind: if number % 2 == 0 { "weighed" } else { "given" }.into(),
        happened_at: minute(number),
        recorded_at: minute(number + 1),
        clock_given: number % 5 == 0,
        zone: "Europe/Warsaw".into(),
        body: format!(r#"{{"number": {number}, "note": "Thimblo 34.5 g; café, µ and ☂"}}"#),
    }
}

pub fn create(path: &Path) -> Book {
    let id = BookId::from_seed("book tests");
    Book::create(path, "Europe/Warsaw", id, minute(0), Folders::MustExist).unwrap()
}

/// Appends rows that nothing is judged for.
pub fn append(book: &mut Book, rows: Vec<NewRow>) -> Result<Vec<Row>, BookError> {
    append_draft(book, rows.into())
}

pub fn append_draft(book: &mut Book, draft: Draft) -> Result<Vec<Row>, BookError> {
    book.append(|_| Ok::<_, BookError>(draft))
        .map_err(|error| match error {
            AppendError::Judged(error) | AppendError::Book(error) => error,
        })
}

/// A book of `count` entries, a few at a time, on two animals and what belongs to them. Thimblo
/// has two open courses.
pub fn small_book(path: &Path, count: i64) -> Book {
    let subjects = [
        "animal:Thimblo",
        "animal:Nubbet",
        "prescription:DEMO-0001",
        "bottle:1",
        "settings",
    ];
    let mut book = create(path);
    let rows: Vec<NewRow> = (0..count)
        .map(|n| entry(subjects[usize::try_from(n * 3 % 11).unwrap() % 5], n))
        .collect();
    for few in rows.chunks(9) {
        // Of few entries there is no part to speak of.
        let told = WithNeeds {
            draft: few.to_vec().into(),
            opened: (count >= 30 && few.last() == rows.last()).then(part),
        };
        let kept = book.append(|_| Ok::<_, BookError>(told));
        kept.map_err(|error| error.to_string()).unwrap();
    }
    let open_courses = BTreeMap::from([(String::from("animal:Thimblo"), 2)]);
    let rows = Vec::new();
    append_draft(&mut book, Draft { rows, open_courses }).unwrap();
    book
}

/// What the day's work needs of a small book: all of some, stretches of one, one by name alone.
pub fn part() -> BTreeMap<String, Vec<Stretch>> {
    let stretch = |from, to| Stretch { from, to };
    BTreeMap::from([
        ("settings".into(), vec![Stretch::WHOLE]),
        ("bottle:1".into(), vec![Stretch::WHOLE]),
        (
            "animal:Thimblo".into(),
            vec![stretch(2, Some(3)), stretch(5, None)],
        ),
        ("animal:Nubbet".into(), Vec::new()),
    ])
}
