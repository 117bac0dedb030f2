//! What it costs to record a dose so that it survives a power cut, beside SQLite doing nothing else.
//!
//!     cargo bench --bench give
//!
//! In turn, each on a book of its own (of 2 animals and of 200, each with a dose due): a dose
//! appended to an open book, and the same rows written by plain SQL into the same tables, under the
//! same guards and as durably; then `scruple give` as a process, and a process that opens the file,
//! writes such rows and ends, each on a fresh copy. The plain SQL works out no link, so its book is
//! of no use afterwards.

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
use watched::{middle, watched};

const RUNS: usize = 60;

fn main() {
    let words: Vec<String> = std::env::args().collect();
    match words.get(1).map(String::as_str) {
        Some("insert") => insert_alone(Path::new(&words[2]), &words[3]),
        _ => [2, 200].into_iter().for_each(compare),
    }
}

fn compare(animals: u32) {
    let facility = Facility {
        animals,
        entries: animals * 20,
        open: animals,
        recent: 1,
    };
    let folder = PathBuf::from(env!("CARGO_TARGET_TMPDIR")).join("give");
    std::fs::create_dir_all(&folder).expect("a folder");
    let [made, ours, plain] = ["made", "ours", "plain"].map(|name| folder.join(name));
    let _ = std::fs::remove_file(&made);
    facility.write(&made).expect("a new book");
    let mut open = facility.open_courses();
    // The first record into a new book reads everything and notes what the day's work needs.
    watched(&mut give(&made, &open.pop().unwrap()));

    let by = [
        &*format!("{animals} animals"),
        "by the clock",
        "of the processor",
    ];
    println!("{:<40}{:>16}{:>20}", by[0], by[1], by[2]);
    [&ours, &plain].iter().for_each(|to| copy(&made, to));
    let (mut by_us, mut by_sqlite) = in_process(&ours, &plain, &open);
    table(
        ["appended to an open book", "the same rows by plain SQL"],
        by_us,
        by_sqlite,
    );
    (by_us, by_sqlite) = (Vec::new(), Vec::new());
    for course in open.iter().cycle().take(RUNS) {
        [&ours, &plain].iter().for_each(|to| copy(&made, to));
        for (took, mut command) in [
            (&mut by_us, give(&ours, course)),
            (&mut by_sqlite, insert(&plain, course)),
        ] {
            let one = watched(&mut command);
            took.push((one.wall, one.processor));
        }
    }
    table(
        ["scruple give, a process", "plain SQL, a process"],
        by_us,
        by_sqlite,
    );
}

/// What it took by the clock and of the processor.
type Spent = (Duration, Duration);

fn table(names: [&str; 2], us: Vec<Spent>, sqlite: Vec<Spent>) {
    let [us, sqlite] = [us, sqlite].map(|all| {
        let (wall, processor): (Vec<_>, Vec<_>) = all.into_iter().unzip();
        [wall, processor].map(middle)
    });
    for (name, [wall, processor]) in names.into_iter().zip([us, sqlite]) {
        let (wall, processor) = (wall * 1e3, processor * 1e3);
        println!("{name:<40}{wall:>13.2} ms{processor:>17.2} ms");
    }
    let [wall, processor] = [us[0] / sqlite[0], us[1] / sqlite[1]];
    println!("{:<40}{wall:>13.2}{processor:>20.2}", "ratio");
}

/// A copy that is on the disk, so that no later waiting for the disk waits for it too.
fn copy(from: &Path, to: &Path) {
    std::fs::copy(from, to).expect("a copy");
    let file = std::fs::File::open(to).expect("the copy");
    file.sync_all().expect("the disk");
}

/// A dose appended to an open book, and plain SQL on an open connection, by turns.
fn in_process(ours: &Path, plain: &Path, open: &[Open]) -> (Vec<Spent>, Vec<Spent>) {
    let mut book = Book::open(ours).expect("the book");
    let mut conn = connect(plain);
    let (mut by_us, mut by_sqlite) = (Vec::new(), Vec::new());
    for course in open.iter().cycle().take(RUNS) {
        let subject = format!("animal:{}", course.animal);
        let dose = last_dose(&book, &subject);
        let began = (Instant::now(), on_the_processor());
        let kept = book.append(|view| {
            let opened = view.opened().map(Iterator::collect);
            let draft = Draft::from(vec![dose]);
            Ok::<_, BookError>(WithNeeds { draft, opened })
        });
        by_us.push((began.0.elapsed(), on_the_processor() - began.1));
        let kept: Vec<Row> = kept.expect("a record");
        let began = (Instant::now(), on_the_processor());
        write_as(&mut conn, &kept[0]);
        by_sqlite.push((began.0.elapsed(), on_the_processor() - began.1));
    }
    (by_us, by_sqlite)
}

/// How long this thread has had the processor. Linux alone tells it.
fn on_the_processor() -> Duration {
    let told = std::fs::read_to_string("/proc/thread-self/schedstat").unwrap_or_default();
    let spent = told.split_whitespace().next();
    Duration::from_nanos(spent.and_then(|spent| spent.parse().ok()).unwrap_or(0))
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
