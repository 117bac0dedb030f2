//! What it costs to record a dose so that it survives a power cut, beside SQLite doing nothing else.
//!
//!     cargo bench --bench give
//!
//! In turn, each on a book of its own (200 animals, each with a dose due): a dose appended to an
//! open book, and the same rows written by plain SQL into the same tables, under the same guards
//! and as durably; then `scruple give` as a process, and a process that opens the file, writes such
//! rows and ends. The plain SQL works out no link, so its book is of no use afterwards.

#![allow(
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::indexing_slicing,
    clippy::panic,
    reason = "a benchmark may stop at once"
)]
#![allow(
    dead_code,
    reason = "what is shared with the other benches is not all used here"
)]

#[path = "large_book/facility.rs"]
mod facility;
mod watched;

use facility::{Facility, NOW, Open};
use rusqlite::{Connection, TransactionBehavior, params};
use scruple::book::{Book, BookError, Draft, WithNeeds};
use scruple::entry::{NewRow, Row};
use std::path::{Path, PathBuf};
use std::process::{Command, Stdio};
use std::time::{Duration, Instant};
use watched::{Took, middle, watched};

const FACILITY: Facility = Facility {
    animals: 200,
    entries: 4_000,
    open: 200,
};

const RUNS: usize = 90;

fn main() {
    let words: Vec<String> = std::env::args().collect();
    match words.get(1).map(String::as_str) {
        Some("insert") => insert_alone(Path::new(&words[2]), &words[3]),
        _ => compare(),
    }
}

fn compare() {
    let folder = PathBuf::from(env!("CARGO_TARGET_TMPDIR")).join("give");
    std::fs::create_dir_all(&folder).expect("a folder");
    let ours = folder.join("ours.scruple");
    let plain = folder.join("plain.scruple");
    let _ = std::fs::remove_file(&ours);
    FACILITY.write(&ours).expect("a new book");
    let mut open = FACILITY.open_courses();
    // The first record into a new book reads everything and notes what the day's work needs.
    watched(&mut give(&ours, &open.pop().unwrap()));
    std::fs::copy(&ours, &plain).expect("a copy");

    println!("{:<44}{:>12}{:>15}", "", "by the clock", "of the processor");
    in_process(&ours, &plain, &open);
    let courses = open.split_off(open.len() - RUNS);
    let (mut by_us, mut by_sqlite) = (Vec::new(), Vec::new());
    for course in &courses {
        by_us.push(watched(&mut give(&ours, course)));
        by_sqlite.push(watched(&mut insert(&plain, course)));
    }
    let of = |took: &[Took], what: fn(&Took) -> Duration| middle(took.iter().map(what).collect());
    let [us, sqlite] = [&by_us, &by_sqlite].map(|took| {
        let wall = of(took, |took| took.wall);
        (wall, of(took, |took| took.processor))
    });
    line("scruple give, a process", us.0, Some(us.1));
    line("plain SQL, a process", sqlite.0, Some(sqlite.1));
    println!(
        "{:<44}{:>12.2}{:>15.2}",
        "ratio",
        us.0 / sqlite.0,
        us.1 / sqlite.1
    );
}

fn line(what: &str, wall: f64, processor: Option<f64>) {
    let processor = processor.map_or(String::new(), |spent| format!("{:>12.2} ms", spent * 1e3));
    println!("{what:<44}{:>9.2} ms{processor}", wall * 1e3);
}

/// A dose appended to an open book, and plain SQL on an open connection, by turns.
fn in_process(ours: &Path, plain: &Path, open: &[Open]) {
    let mut book = Book::open(ours).expect("the book");
    let mut conn = connect(plain);
    let (mut by_us, mut by_sqlite) = (Vec::new(), Vec::new());
    for course in &open[..RUNS] {
        let subject = format!("animal:{}", course.animal);
        let dose = last_dose(&book, &subject);
        let began = Instant::now();
        let kept = book.append(|view| {
            let opened = view.opened().map(Iterator::collect);
            let draft = Draft::from(vec![dose]);
            Ok::<_, BookError>(WithNeeds { draft, opened })
        });
        by_us.push(began.elapsed());
        let kept: Vec<Row> = kept.expect("a record");
        let began = Instant::now();
        write_as(&mut conn, &kept[0]);
        by_sqlite.push(began.elapsed());
    }
    let (us, sqlite) = (middle(by_us), middle(by_sqlite));
    line("a dose appended to an open book", us, None);
    line("the same rows by plain SQL", sqlite, None);
    println!("{:<44}{:>12.2}", "ratio", us / sqlite);
}

/// The animal's last dose, to be recorded once more.
fn last_dose(book: &Book, subject: &str) -> NewRow {
    let rows = book.view(|view| view.read_subject(subject));
    let rows: Vec<Row> = rows.expect("the animal");
    let dose = rows.iter().rev().find(|row| row.kind == "dose");
    dose.expect("a dose").as_given()
}

fn connect(path: &Path) -> Connection {
    let conn = Connection::open(path).expect("the file");
    conn.pragma_update(None, "synchronous", "EXTRA").unwrap();
    conn
}

/// One transaction with the rows that a record changes: the entry, its subject's head, the top, and
/// what is noted for the day's work.
fn write_as(conn: &mut Connection, row: &Row) {
    let write = conn
        .transaction_with_behavior(TransactionBehavior::Immediate)
        .unwrap();
    let (subject, n, link) = (&row.subject, row.n as i64, &row.link);
    let at = row.happened_at.to_rfc3339();
    let execute = |sql: &str, values: &[&dyn rusqlite::ToSql]| {
        write.prepare_cached(sql).unwrap().execute(values).unwrap();
    };
    execute(
        "INSERT INTO entry VALUES ((SELECT max(seq) + 1 FROM entry), ?1, ?2, ?3, ?4, ?5, ?5, ?6, ?7, ?8, ?9)",
        params![
            subject,
            n,
            row.course,
            row.kind,
            at,
            row.clock_given,
            row.zone,
            row.body,
            link
        ],
    );
    execute(
        "UPDATE head SET n = ?2, link = ?3, seal = ?3 WHERE subject = ?1",
        params![subject, n, link],
    );
    execute(
        "UPDATE top SET seq = (SELECT max(seq) FROM entry), newest = ?1, link = ?2",
        params![at, link],
    );
    let since: i64 = write
        .query_row(
            "SELECT max(since) FROM opened WHERE subject = ?1",
            [subject],
            |row| row.get(0),
        )
        .unwrap();
    execute(
        "DELETE FROM opened WHERE subject = ?1 AND since = ?2",
        params![subject, since],
    );
    execute(
        "INSERT INTO opened VALUES (?1, ?2, ?3, ?4)",
        params![subject, since, n, link],
    );
    execute(
        "INSERT OR REPLACE INTO opened_with VALUES (1, ?1, ?1)",
        params![link],
    );
    write.commit().unwrap();
}

/// What the process does that only writes.
fn insert_alone(path: &Path, subject: &str) {
    let mut conn = connect(path);
    let sql = "SELECT n + 1, course, kind, clock_given, zone, body, link FROM entry \
               WHERE subject = ?1 ORDER BY n DESC LIMIT 1";
    let row = conn.query_row(sql, [subject], |row| {
        Ok(Row {
            seq: 0,
            n: row.get::<_, i64>(0)? as u64,
            link: row.get(6)?,
            subject: subject.to_owned(),
            course: row.get(1)?,
            kind: row.get(2)?,
            happened_at: chrono::Utc::now(),
            recorded_at: chrono::Utc::now(),
            clock_given: row.get(3)?,
            zone: row.get(4)?,
            body: row.get(5)?,
        })
    });
    write_as(&mut conn, &row.expect("an entry"));
}

fn insert(path: &Path, course: &Open) -> Command {
    let mut command = Command::new(std::env::current_exe().expect("this program"));
    command.arg("insert").arg(path);
    quiet(command.arg(format!("animal:{}", course.animal)));
    command
}

fn give(path: &Path, course: &Open) -> Command {
    let mut command = Command::new(env!("CARGO_BIN_EXE_scruple"));
    command.args(["give", &course.animal, &course.prescription, "--yes"]);
    command.arg("--book").arg(path).args(["--now", NOW]);
    quiet(&mut command);
    command
}

fn quiet(command: &mut Command) {
    command
        .stdin(Stdio::null())
        .stdout(Stdio::null())
        .stderr(Stdio::null());
}
