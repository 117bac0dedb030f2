//! Commands timed as processes, by turns on two books.

use crate::facility::{Facility, NOW, Open};
use crate::watched::{Took, middle, watched};
use crate::{make, place};
use std::path::Path;
use std::process::{Command, Stdio};
use std::time::Duration;

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
            let took = run(&words("weigh", &mut made), &path);
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
        run(&words(command, &mut small_book), &small_book.path);
        let memory = run(&words(command, &mut large_book), &large_book.path).memory;
        for _ in 0..runs {
            short.push(run(&words(command, &mut small_book), &small_book.path));
            long.push(run(&words(command, &mut large_book), &large_book.path));
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

fn run(words: &[String], book: &Path) -> Took {
    watched(&mut command(words, book))
}
