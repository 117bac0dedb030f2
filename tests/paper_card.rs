//! The dose card made from a round: it says what the round says.

#![allow(
    clippy::indexing_slicing,
    clippy::unwrap_used,
    clippy::panic,
    reason = "a test may stop at once"
)]

#[path = "paper/room.rs"]
mod room;

use scruple::settings::PaperSize;
use scruple::sheet::card::of_round;

#[test]
fn look() {
    for paper in [PaperSize::A4, PaperSize::Letter] {
        let ledger = room::busy(paper);
        let round = room::round(&ledger);
        println!("{}", scruple::terminal::card(&round, ""));
        let bytes = of_round(&round, round.settings.paper).unwrap();
        let program = std::env::current_exe().unwrap();
        std::fs::write(
            program.with_file_name(format!("round-{paper:?}.pdf")),
            bytes,
        )
        .unwrap();
    }
}
