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
            let took = watched(&words("weigh", &mut made), &path);
            println!(
                "the first record, which reads everything: {:.1} s ({:.1} s of the processor), {} MiB",
                took.wall.as_secs_f64(),
                took.processor.as_secs_f64(),
                took.memory / 1024
            );
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
    println!("{:<22}{:>31}{:>31}", "", "by the clock", "of the processor");
    let [tenth, whole, ratio] = ["tenth", "whole", "ratio"];
    let columns = format!("{tenth:>12}{whole:>12}{ratio:>7}");
    println!("{:<22}{columns}{columns}{:>11}", "", "memory");
    for command in [
        "--version",
        "",
        "today",
        "today --format json",
        "weigh",
        "give",
    ] {
        let (mut short, mut long) = (Vec::new(), Vec::new());
        // The first run is for the caches of the machine.
        watched(&words(command, &mut small_book), &small_book.path);
        let memory = watched(&words(command, &mut large_book), &large_book.path).memory;
        for _ in 0..runs {
            short.push(watched(&words(command, &mut small_book), &small_book.path));
            long.push(watched(&words(command, &mut large_book), &large_book.path));
        }
        let figures = |of: fn(&Took) -> Duration| {
            let each = |all: &[Took]| middle(all.iter().map(of).collect());
            let (short, long) = (each(&short) * 1e3, each(&long) * 1e3);
            let ratio = long / short;
            format!("{short:>9.1} ms{long:>9.1} ms{ratio:>7.2}")
        };
        let name = if command.is_empty() {
            "(the morning look)"
        } else {
            command
        };
        println!(
            "{name:<22}{}{}{:>7} MiB",
            figures(|took| took.wall),
            figures(|took| took.processor),
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

/// What a command took as a process.
struct Took {
    wall: Duration,
    /// On the processor: what a busy machine adds to the clock is not in it. Linux alone tells it.
    processor: Duration,
    /// The most memory it held, in KiB; likewise.
    memory: u64,
}

/// Runs a command on a book and looks at it every tenth of a millisecond.
fn watched(words: &[String], book: &Path) -> Took {
    let began = Instant::now();
    let mut child = command(words, book).spawn().expect("the program runs");
    let folder = format!("/proc/{}", child.id());
    let about = |what| std::fs::read_to_string(format!("{folder}/{what}")).unwrap_or_default();
    let mut memory = 0;
    // It ends as a zombie, whose figures can be read until it is waited for.
    loop {
        let told = about("status");
        let line = |name| told.lines().find_map(|line| line.strip_prefix(name));
        let figure = line("VmHWM:").and_then(|line| line.split_whitespace().next()?.parse().ok());
        memory = memory.max(figure.unwrap_or(0));
        if told.is_empty() || line("State:").is_some_and(|state| state.contains('Z')) {
            break;
        }
        std::thread::sleep(Duration::from_micros(100));
    }
    let told = about("schedstat");
    let ended = began.elapsed();
    let status = child.wait().expect("the program ends");
    assert!(
        status.code().is_some_and(|code| code < 2),
        "{words:?} ended with {status}"
    );
    let spent = told
        .split_whitespace()
        .next()
        .and_then(|spent| spent.parse().ok());
    Took {
        // Where nothing is told while it runs, the end of the wait has to do.
        wall: if told.is_empty() {
            began.elapsed()
        } else {
            ended
        },
        processor: Duration::from_nanos(spent.unwrap_or(0)),
        memory,
    }
}
