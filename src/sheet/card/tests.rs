//! What a card must never do, whatever stands on it.
#![allow(clippy::unwrap_used)]

use crate::sheet::card::sample;
use crate::sheet::card::{pages, pdf};
use crate::sheet::page::{Fault, Paper};

const PAPERS: [Paper; 2] = [Paper::A4, Paper::UsLetter];

#[test]
fn the_sample_card_has_no_faults() {
    for paper in PAPERS {
        for page in pages(&sample::card(), paper).unwrap() {
            assert_eq!(
                page.faults(),
                Vec::<Fault>::new(),
                "{paper:?} {}",
                page.name
            );
        }
    }
}

/// Leaves the sample card beside the test program, for a person to look at.
#[test]
fn the_sample_card_can_be_looked_at() {
    let program = std::env::current_exe().unwrap();
    for (paper, name) in [
        (Paper::A4, "card-a4.pdf"),
        (Paper::UsLetter, "card-letter.pdf"),
    ] {
        let bytes = pdf(&sample::card(), paper).unwrap();
        std::fs::write(program.with_file_name(name), &bytes).unwrap();
        assert!(bytes.starts_with(b"%PDF-1.7"));
    }
}
