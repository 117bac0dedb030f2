//! The book is held to its promises here: by hands that try to get around it, by damaged bytes, by
//! many writers at once, by processes killed while they write and by simulated power cuts.
//!
//! The ordinary run takes seconds. Each proof reads from the environment how far to go, and
//! docs/reliability.md names the variables with what was measured.

#![allow(
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::indexing_slicing,
    clippy::panic
)]

mod append_only;
mod child;
mod copies;
mod cost;
mod crowd;
mod damage;
#[path = "../dice/mod.rs"]
mod dice;
mod flips;
mod kept;
mod kill;
mod places;
mod power;
mod room;
mod versions;
