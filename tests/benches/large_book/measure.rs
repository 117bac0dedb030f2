//! Commands timed as processes, by turns on two books.

use crate::facility::{Facility, NOW, Open};
use crate::{make, place};
use std::path::Path;
use std::process::{Command, Stdio};
use std::time::{Duration, Instant};

/// One book and the doses on it that are still to be given.
struct Book {
    path: std::path::PathBuf,
    open: Vec<Open>,
}

/// Times every command on both books and prints a table.
pub fn compare(large: Facility, runs: usize) {
    let small = Facility {
        entries: large.entries / 10,
        ..large
    };
    let books = [small, large].map(|facility| {
        let path = place(facility);
        if !path.exists() {
            make(&path, facility);
            // The first record into a book that does not know what the day's work needs reads
            // everything.
            let mut open = facility.open_courses();
            let mut made = Book {
                open: open.split_off(open.len() - 1),
                path: path.clone(),
            };
            let took = timed(&words("weigh", &mut made), &path);
            println!("the first record took {:.2} s", took.as_secs_f64());
        }
        // What is recorded must not be there at the next comparison.
        let copy = path.with_extension("used");
        std::fs::copy(&path, &copy).expect("a copy");
        let mut open = facility.open_courses();
        open.reverse();
        Book { path: copy, open }
    });
    let [mut small_book, mut large_book] = books;
    println!(
        "\n{} animals, {} courses open; {} entries beside {}; middle of {runs} runs of the command",
        large.animals, large.open, small.entries, large.entries
    );
    println!(
        "{:<22} {:>10} {:>10} {:>7} {:>9}",
        "", "tenth", "whole", "ratio", "memory"
    );
    for command in [
        "--version",
        "",
        "today",
        "today --format json",
        "weigh",
        "give",
        "check",
    ] {
        let (mut short, mut long) = (Vec::new(), Vec::new());
        // The first run is for the caches of the machine, and is the one whose memory is watched.
        let memory = peak(&words(command, &mut large_book), &large_book.path);
        timed(&words(command, &mut small_book), &small_book.path);
        for _ in 0..runs {
            short.push(timed(&words(command, &mut small_book), &small_book.path));
            long.push(timed(&words(command, &mut large_book), &large_book.path));
        }
        let (short, long) = (middle(short), middle(long));
        println!(
            "{:<22} {:>7.1} ms {:>7.1} ms {:>7.2} {:>5} MiB",
            if command.is_empty() {
                "(the morning look)"
            } else {
                command
            },
            short * 1e3,
            long * 1e3,
            long / short,
            memory / 1024
        );
    }
    for book in [small_book, large_book] {
        let _ = std::fs::remove_file(book.path);
    }
}

fn middle(mut times: Vec<Duration>) -> f64 {
    times.sort();
    times[times.len() / 2].as_secs_f64()
}

/// A command as it is typed; each dose is given once, each animal weighed before it is dosed.
fn words(command: &str, book: &mut Book) -> Vec<String> {
    let typed = |words: &[&str]| words.iter().map(|word| (*word).to_owned()).collect();
    let last = book
        .open
        .last()
        .expect("more courses open than runs")
        .clone();
    match command {
        "weigh" => typed(&["weigh", &last.animal, &last.weight, "--yes"]),
        "check" => typed(&["check", &last.animal]),
        "give" => {
            book.open.pop();
            typed(&["give", &last.animal, &last.prescription, "--yes"])
        }
        other => other.split_whitespace().map(str::to_owned).collect(),
    }
}

fn command(words: &[String], book: &Path) -> Command {
    let mut command = Command::new(env!("CARGO_BIN_EXE_scruple"));
    command.args(words);
    if words.first().is_none_or(|word| word != "--version") {
        command.arg("--book").arg(book).args(["--now", NOW]);
    }
    command
        .stdin(Stdio::null())
        .stdout(Stdio::null())
        .stderr(Stdio::null());
    command
}

/// How long a command takes on a book, as a process.
fn timed(words: &[String], book: &Path) -> Duration {
    let began = Instant::now();
    let status = command(words, book).status().expect("the program runs");
    let took = began.elapsed();
    assert!(
        status.code().is_some_and(|code| code < 2),
        "{words:?} ended with {status}"
    );
    took
}

/// The most memory that a command held, in KiB, as Linux tells it while it runs; 0 elsewhere.
fn peak(words: &[String], book: &Path) -> u64 {
    let mut child = command(words, book).spawn().expect("the program runs");
    let about = format!("/proc/{}/status", child.id());
    let mut most = 0;
    while child.try_wait().expect("the program ends").is_none() {
        let told = std::fs::read_to_string(&about).unwrap_or_default();
        let line = told.lines().find_map(|line| line.strip_prefix("VmHWM:"));
        let figure = line.and_then(|line| line.split_whitespace().next()?.parse().ok());
        most = most.max(figure.unwrap_or(0));
        std::thread::sleep(Duration::from_micros(500));
    }
    most
}
