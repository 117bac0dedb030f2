//! What commands cost on a large book, and whether that grows with its history.
//!
//!     cargo bench --bench large_book                          a small comparison
//!     cargo bench --bench large_book -- compare --animals 10000 --entries 1000000 --open 40
//!     cargo bench --bench large_book -- make FILE --animals 10000 --entries 100000 --open 40
//!
//! `compare` makes two books, one with a tenth of the other's entries, and runs each command on
//! both by turns as a process of its own; it prints the middle times, their ratio and the peak of
//! memory. The books stay in the target folder's `tmp` and are used again.
//!
//! What is compared is the length of the history. What the day's work reads of an animal reaches
//! back six weeks, and to the last dose of the same medicine, which here is eight courses ago. So
//! in both books the animals with a course open have had that one and the eight before it; all
//! others, and all that is older, are a tenth in the one. With `--recent 1` the short history takes
//! that from the open animals too, and the ratio shows that as well.

#![allow(
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::indexing_slicing,
    clippy::panic,
    reason = "a benchmark may stop at once"
)]

mod facility;
mod measure;
#[path = "../watched.rs"]
mod watched;

use facility::Facility;
use std::path::{Path, PathBuf};
use std::time::Instant;

/// As many courses as there are medicines, and one more.
const RECENT: u32 = 9;

fn main() {
    let words: Vec<String> = std::env::args()
        .skip(1)
        .filter(|word| word != "--bench")
        .collect();
    let number = |name: &str, usual: u32| {
        let place = words.iter().position(|word| word == name);
        let typed = place.and_then(|place| words.get(place + 1));
        typed.map_or(usual, |typed| typed.parse().expect("a number"))
    };
    let facility = Facility {
        animals: number("--animals", 200),
        entries: number("--entries", 20_000),
        open: number("--open", 40),
        recent: number("--recent", RECENT),
    };
    match words.first().map(String::as_str) {
        Some("make") => make(Path::new(words.get(1).expect("a file")), facility),
        None | Some("compare") => measure::compare(facility, number("--runs", 9) as usize),
        Some(other) => panic!("{other} is neither make nor compare"),
    }
}

/// Where the books of a comparison lie.
fn place(facility: Facility) -> PathBuf {
    let Facility {
        animals,
        entries,
        open,
        recent,
    } = facility;
    let folder = PathBuf::from(env!("CARGO_TARGET_TMPDIR")).join("large");
    folder.join(format!("{animals}-{entries}-{open}-{recent}.scruple"))
}

fn make(path: &Path, facility: Facility) {
    let began = Instant::now();
    let entries = facility.write(path).expect("a new book");
    println!(
        "{}: {} animals, {entries} entries, {} courses open, {} MB, written in {:.1} s",
        path.display(),
        facility.animals,
        facility.open,
        std::fs::metadata(path).map_or(0, |about| about.len() / 1_000_000),
        began.elapsed().as_secs_f64()
    );
}
