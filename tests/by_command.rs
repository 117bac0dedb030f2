//! The book's proofs once more, through the program itself: killed at random moments, used by many
//! at once, its file changed byte by byte, in bad places, and fed what no keeper would type.
//!
//! The ordinary run takes seconds. Each proof reads from the environment how far to go, and
//! docs/reliability.md names the variables with what was measured.

#![allow(
    clippy::unwrap_used,
    clippy::panic,
    clippy::indexing_slicing,
    reason = "a test may stop at once"
)]

mod dice;
mod readers;
mod room;

#[path = "by_command/crowd.rs"]
mod crowd;
#[path = "by_command/flips.rs"]
mod flips;
#[path = "by_command/guards.rs"]
mod guards;
#[path = "by_command/hostile.rs"]
mod hostile;
#[path = "by_command/kill.rs"]
mod kill;
#[path = "by_command/places.rs"]
mod places;
#[path = "by_command/program.rs"]
mod program;
