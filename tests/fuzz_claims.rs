//! The claims that cargo-fuzz looks for a counterexample to, held here without it: on the seeds, on
//! what was found once, and on random changes of both: SCRUPLE_CHANGES of each (30 unless set), from
//! SCRUPLE_SEED.

#![allow(
    clippy::unwrap_used,
    clippy::indexing_slicing,
    reason = "a test may stop at once"
)]

// The reader of tables names it so.
use scruple::notation;

#[path = "fuzz/claims/mod.rs"]
mod claims;
mod dice;

use dice::{Dice, how_many};
use std::fs;
use std::path::Path;

/// Every file below a folder of the project.
fn files(folder: &str) -> Vec<Vec<u8>> {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join(folder);
    let mut paths: Vec<_> = fs::read_dir(folder)
        .unwrap()
        .map(|entry| entry.unwrap().path())
        .collect();
    paths.sort();
    paths.iter().map(|path| fs::read(path).unwrap()).collect()
}

fn tried(claim: fn(&[u8]), seeds: &[Vec<u8>]) {
    assert!(!seeds.is_empty());
    let mut dice = Dice::new();
    let mut below = |bound: usize| usize::try_from(dice.below(bound.max(1) as u64)).unwrap();
    let changes = how_many("SCRUPLE_CHANGES", 30);
    for seed in seeds {
        claim(seed);
        for _ in 0..changes {
            let mut bytes = seed.clone();
            for _ in 0..=below(3) {
                let at = below(bytes.len());
                let end = (at + below(12)).min(bytes.len());
                match below(4) {
                    0 => drop(bytes.drain(at..end)),
                    1 => {
                        let part: Vec<u8> = bytes.get(at..end).unwrap().to_vec();
                        let to = below(bytes.len());
                        bytes.splice(to..to, part);
                    }
                    2 => bytes.insert(at, u8::try_from(below(256)).unwrap()),
                    _ => {
                        if let Some(byte) = bytes.get_mut(at) {
                            *byte = b"0919.,\"()[] /%-+=\n\\\xff"[below(20)];
                        }
                    }
                }
            }
            claim(&bytes);
        }
    }
    println!("{changes} changes of each of {} seeds", seeds.len());
}

#[test]
fn a_prescription_is_read_whole_or_refused_in_words() {
    let mut seeds = files("schedules");
    seeds.extend(files("tests/fuzz/seeds/prescription"));
    tried(claims::prescription, &seeds);
}

#[test]
fn a_quantity_is_written_as_it_is_read() {
    tried(claims::notation, &files("tests/fuzz/seeds/notation"));
}

#[test]
fn a_table_of_weighings_is_read_as_it_is_written() {
    tried(claims::table, &files("tests/fuzz/seeds/table"));
}

#[test]
fn an_export_is_read_to_the_letter_or_refused() {
    tried(claims::import, &files("tests/fuzz/seeds/import"));
}

#[test]
fn no_entries_stop_or_steer_a_face() {
    tried(claims::entries, &files("tests/fuzz/seeds/entries"));
}
