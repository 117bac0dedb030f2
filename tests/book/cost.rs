//! What the book costs does not grow with its history.

use std::path::Path;
use std::time::{Duration, Instant};

use scruple::book::{Book, BookError, verify};
use scruple::entry::Row;

use crate::dice::how_many;
use crate::room::{Folder, append, create, entry};

/// A book of `animals` with `each` entries apiece, round after round as a keeper's days go.
fn fill(path: &Path, animals: u64, each: u64) {
    let mut book = create(path);
    for round in 0..each {
        let rows = (0..animals)
            .map(|animal| {
                let number = i64::try_from(round * animals + animal).unwrap();
                entry(&format!("animal:{animal}"), number)
            })
            .collect();
        append(&mut book, rows).unwrap();
    }
}

/// What the day's card asks of the book: opening it, and the newest ten entries of 40 animals.
fn look(path: &Path, animals: u64) -> Duration {
    let began = Instant::now();
    let book = Book::open(path).unwrap();
    for animal in 0..40 {
        let subject = format!("animal:{}", animal * animals / 40);
        let mut left = 10;
        let rows: Result<Vec<Row>, BookError> = book.view(|view| {
            view.read_back(&subject, |_| {
                left -= 1;
                left > 0
            })
        });
        assert_eq!(rows.unwrap().len(), 10);
    }
    began.elapsed()
}

/// What recording a dose asks: opening it, the animal's newest ten entries, and one more.
fn give(path: &Path) -> Duration {
    let began = Instant::now();
    let mut book = Book::open(path).unwrap();
    let given = book.append(|view| {
        let mut left = 10;
        let rows = view.read_back("animal:7", |_| {
            left -= 1;
            left > 0
        })?;
        assert_eq!(rows.len(), 10);
        Ok::<_, BookError>(vec![entry("animal:7", 1)])
    });
    assert_eq!(given.unwrap().len(), 1);
    began.elapsed()
}

fn middle(mut times: Vec<Duration>) -> Duration {
    times.sort();
    times[times.len() / 2]
}

/// SCRUPLE_COST_ANIMALS with SCRUPLE_COST_EACH entries apiece, beside the same with a tenth. The
/// ratio is held to only where the numbers were asked for: a shared machine's clock is no test.
#[test]
fn ten_times_the_history_costs_the_same() {
    let asked = std::env::var_os("SCRUPLE_COST_EACH").is_some();
    let animals = how_many("SCRUPLE_COST_ANIMALS", 100);
    let each = how_many("SCRUPLE_COST_EACH", 100);
    let folder = Folder::new();
    let (short, long) = (folder.at("short.book"), folder.at("long.book"));
    fill(&short, animals, each / 10);
    fill(&long, animals, each);
    let mut times = [const { Vec::new() }; 4];
    for _ in 0..if asked { 51 } else { 3 } {
        times[0].push(look(&short, animals));
        times[1].push(look(&long, animals));
        times[2].push(give(&short));
        times[3].push(give(&long));
    }
    let [look_short, look_long, give_short, give_long] = times.map(middle);
    let began = Instant::now();
    let verdict = verify(&long, |_, _| {}).unwrap();
    assert!(verdict.is_sound());
    println!(
        "{animals} animals, {} entries beside a tenth of them (middle times): looking {look_long:?} \
         beside {look_short:?}, recording {give_long:?} beside {give_short:?}; walking everything \
         {:?}; {} bytes",
        verdict.entries,
        began.elapsed(),
        std::fs::metadata(&long).unwrap().len()
    );
    if asked {
        assert!(look_long.as_secs_f64() <= 1.2 * look_short.as_secs_f64());
        assert!(give_long.as_secs_f64() <= 1.2 * give_short.as_secs_f64());
    }
}
