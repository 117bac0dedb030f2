//! How fast paper is made, and how large it is.
//!
//! `cargo bench --bench paper -- card 1000 card.pdf` writes a dose card of at least so many pages;
//! `page` in place of `card` writes so many plain pages of 60 short texts and 40 lines, the page
//! that the comparison in docs/paper.md gives to every writer. Without more words it says the time
//! of one page of each.

#![allow(
    clippy::unwrap_used,
    clippy::cast_precision_loss,
    reason = "a benchmark may stop at once, and counts are small"
)]

#[path = "../paper/room.rs"]
mod room;

use chrono::DateTime;
use scruple::settings::PaperSize;
use scruple::sheet::block::{Align, Block};
use scruple::sheet::card::facts::Facts;
use scruple::sheet::card::from_round::facts;
use scruple::sheet::card::pdf;
use scruple::sheet::face::{Faces, Style};
use scruple::sheet::page::{Page, Paper};
use scruple::sheet::pdf::{Particulars, Writer};
use scruple::sheet::text::Span;
use std::time::Instant;

fn main() {
    let words: Vec<String> = std::env::args()
        .skip(1)
        .filter(|word| !word.starts_with("--"))
        .collect();
    match words.as_slice() {
        [kind, pages, file] => {
            let pages = pages.parse().unwrap();
            let bytes = match kind.as_str() {
                "card" => card(pages),
                _ => plain(pages),
            };
            std::fs::write(file, bytes).unwrap();
        }
        _ => {
            for (name, made) in [("card", card as fn(usize) -> Vec<u8>), ("page", plain)] {
                let _warm = made(1);
                let begun = Instant::now();
                let bytes = made(1);
                println!("{name}: {:?}, {} bytes", begun.elapsed(), bytes.len());
            }
        }
    }
}

/// A card of the busy room's doses, over and over, of at least so many pages; for one page, of
/// the doses that stand on one.
fn card(pages: usize) -> Vec<u8> {
    let ledger = room::busy(PaperSize::A4);
    let round = room::round(&ledger);
    let whole = facts(&round, round.now.with_timezone(&round.zone).fixed_offset());
    let wanted = (pages * 2).saturating_sub(pages / 7).max(2);
    let panels = whole.panels.iter().cycle().take(wanted).cloned();
    let mut made = Facts {
        panels: panels.collect(),
        ..whole
    };
    // Two panels of one animal are one bookmark: each gets a name of its own.
    for (number, panel) in made.panels.iter_mut().enumerate() {
        panel.animal = format!("{} {number}", panel.animal);
    }
    pdf(&made, Paper::A4).unwrap()
}

/// So many pages of 60 short texts and 40 lines.
fn plain(pages: usize) -> Vec<u8> {
    let faces = Faces::load().unwrap();
    let mut writer = Writer::new(&faces);
    let mm = |points: f32| points * 25.4 / 72.0;
    for number in 0..pages {
        let mut block = Block::new();
        for line in 0..40 {
            let y = mm(40.0 + line as f32 * 19.0);
            block.rule((mm(30.0), y), (mm(565.0), y), mm(0.5));
        }
        for cell in 0..60 {
            let x = (number * 7_919 + cell * 104_729) % 99_991;
            let kind = ["dose", "volume", "rate", "at", "name"]
                .get(cell % 5)
                .unwrap();
            let text = format!("{kind} {}.{:02} mL", x / 100, x % 100);
            let left = mm(36.0 + (cell % 4) as f32 * 140.0);
            let baseline = mm(60.0 + (cell / 4) as f32 * 50.0);
            let spans = [Span::new(&text, Style::regular(10.0))];
            block
                .line(&faces, &spans, (left, 210.0), baseline, Align::Left)
                .unwrap();
        }
        let mut page = Page::new(Paper::A4, "plain");
        block.place(&mut page, (0.0, 0.0));
        writer.page(&page).unwrap();
    }
    let particulars = Particulars {
        title: "Plain pages".to_owned(),
        producer: "scruple".to_owned(),
        made: DateTime::parse_from_rfc3339("2001-03-08T07:30:00Z").unwrap(),
    };
    writer.finish(&particulars).unwrap()
}
