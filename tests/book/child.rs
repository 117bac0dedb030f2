//! Work for a process of its own: this test binary started again, with a job in its environment.

use std::env;
use std::io::Write;
use std::path::PathBuf;
use std::process::{Command, Stdio};

use rusqlite::Connection;
use scruple::book::{AppendError, Book, BookError, Draft};
use scruple::entry::NewRow;

use crate::room::{append, create, entry};

/// A command that does `job` on the book at `path` when it is run.
pub fn command(job: &str, path: &std::path::Path, who: u64, count: u64) -> Command {
    let mut command = Command::new(env::current_exe().unwrap());
    command
        .args([
            "--exact",
            "child::does_its_job",
            "--nocapture",
            "--test-threads=1",
        ])
        .env("SCRUPLE_CHILD_JOB", job)
        .env("SCRUPLE_CHILD_BOOK", path)
        .env("SCRUPLE_CHILD_WHO", who.to_string())
        .env("SCRUPLE_CHILD_COUNT", count.to_string())
        .stdin(Stdio::null())
        .stdout(Stdio::piped())
        .stderr(Stdio::piped());
    command
}

/// The lines that jobs said something in, out of all that the test binary prints.
pub fn said<'a>(output: &'a str, word: &'a str) -> impl Iterator<Item = &'a str> {
    output
        .lines()
        .filter_map(move |line| line.split_once(word).map(|(_, rest)| rest.trim()))
}

/// Without a job in the environment there is nothing to do: this is where a child process enters.
#[test]
fn does_its_job() {
    let Ok(job) = env::var("SCRUPLE_CHILD_JOB") else {
        return;
    };
    let path = PathBuf::from(env::var_os("SCRUPLE_CHILD_BOOK").unwrap());
    let number = |name: &str| env::var(name).unwrap().parse::<u64>().unwrap();
    let (who, count) = (number("SCRUPLE_CHILD_WHO"), number("SCRUPLE_CHILD_COUNT"));
    match job.as_str() {
        "append" => append_and_say(&path, who, count),
        "crowd" => crowd(&path, who, count),
        "open" => say("result", &result(&Book::open(&path).map(drop))),
        "read" => say(
            "result",
            &result(&Book::open_read_only(&path).and_then(|book| book.read_all().map(drop))),
        ),
        "write" => say(
            "result",
            &result(
                &Book::open(&path)
                    .and_then(|mut book| append(&mut book, vec![entry("settings", 1)]).map(drop)),
            ),
        ),
        "fill" => fill(&path),
        "create" => {
            drop(create(&path));
            say("kept", "the beginning");
        }
        "backup" => {
            let copy = path.with_extension("book.copy");
            Book::open(&path).unwrap().backup(&copy, true).unwrap();
            say("kept", "the copy");
        }
        careless if careless.starts_with("careless ") => {
            write_carelessly(&path, careless.trim_start_matches("careless "), count);
        }
        other => panic!("no such job: {other}"),
    }
}

/// One line at once, past every buffer: what was said before a kill is in the pipe.
fn say(word: &str, text: &str) {
    let mut out = std::io::stdout().lock();
    out.write_all(format!("{word} {text}\n").as_bytes())
        .unwrap();
    out.flush().unwrap();
}

fn result(result: &Result<(), BookError>) -> String {
    match result {
        Ok(()) => String::from("ok"),
        Err(error) => format!(
            "failure={} kept={:?} {error}",
            error.is_failure(),
            error.kept()
        ),
    }
}

/// Appends weighings and doses one by one, now and then several at once, and says each that was
/// acknowledged.
fn append_and_say(path: &std::path::Path, who: u64, count: u64) {
    let mut book = Book::open(path).unwrap();
    for i in 0..count {
        let number = i64::try_from(who * 1_000_000 + i).unwrap();
        let animal = format!("animal:{}", i % 4);
        let mut rows = vec![entry(&animal, number)];
        if i % 10 == 9 {
            // Wide enough to need pages of its own.
            let body = format!("{:>9000}", number);
            rows.push(NewRow {
                body,
                ..entry("prescription:DEMO-0001", number)
            });
            rows.push(entry("bottle:1", number));
        }
        for row in append(&mut book, rows).unwrap() {
            say("kept", &format!("{} {}", row.seq, row.link));
        }
    }
}

/// Mixed entries from many processes at once. Every fifth is a try at the next slot of a dose that
/// all of them try to give; only one may.
fn crowd(path: &std::path::Path, who: u64, count: u64) {
    let mut book = Book::open(path).unwrap();
    for i in 0..count {
        let number = i64::try_from(who * 1_000_000 + i).unwrap();
        let rows = if i % 5 == 4 {
            let slot = format!("slot {}", i / 5);
            let shared = "animal:Shared";
            let given = book.append(|view| {
                let rows = view.read_subject(shared).map_err(Some)?;
                if rows.iter().any(|row| row.kind == slot) {
                    return Err(None);
                }
                let row = NewRow {
                    kind: slot.clone(),
                    ..entry(shared, number)
                };
                Ok(Draft::from(vec![row]))
            });
            match given {
                Ok(rows) => rows,
                Err(AppendError::Judged(None)) => {
                    say("closed", &slot);
                    continue;
                }
                Err(AppendError::Judged(Some(error)) | AppendError::Book(error)) => {
                    panic!("{error}")
                }
            }
        } else {
            let subject = match i % 5 {
                0 => format!("animal:own-{who}"),
                1 => String::from("bottle:1"),
                2 => String::from("settings"),
                _ => String::from("prescription:DEMO-0001"),
            };
            append(&mut book, vec![entry(&subject, number)]).unwrap()
        };
        for row in rows {
            say("kept", &format!("{} {}", row.seq, row.link));
        }
    }
}

/// Appends until something stops it, and says what.
fn fill(path: &std::path::Path) {
    let mut book = Book::open(path).unwrap();
    for number in 0..1_000_000 {
        match append(&mut book, vec![entry("animal:Thimblo", number)]) {
            Ok(rows) => say("kept", &format!("{} {}", rows[0].seq, rows[0].link)),
            Err(error) => {
                say("result", &result(&Err(error)));
                return;
            }
        }
    }
}

/// Keeps rows with SQLite alone, syncing as `mode` has it, and says each.
fn write_carelessly(path: &std::path::Path, mode: &str, count: u64) {
    let conn = Connection::open(path).unwrap();
    conn.pragma_update(None, "synchronous", mode).unwrap();
    for n in 0..count {
        let text = format!("{n:>3000}");
        conn.execute("INSERT INTO kept(text) VALUES (?1)", [text])
            .unwrap();
        say("kept", &n.to_string());
    }
}
