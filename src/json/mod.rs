//! The face for programs: stable JSON on every reading command, written down in docs/json.md.
//!
//! Promises: each quantity is its exact fraction, what a person is shown, and its UCUM code; each
//! finding has a code, whose limit it is, and its words. It computes nothing.

mod check;
mod keeping;
mod morning;
mod plan;
mod quantity;
mod report;
mod room;
mod round;
mod stock;

pub use check::check;
pub use keeping::{Finding, Soundness, settings, verify};
pub use morning::{morning, no_book};
pub use plan::plan;
pub use quantity::Quantity;
pub use report::report;
pub use room::{animal, animals, bottles, syringes};
pub use round::{today, working};
pub use stock::stock;

use serde::Serialize;

/// One line of JSON; the values are the program's own, so nothing in them can fail to be written.
fn text(value: &impl Serialize) -> String {
    serde_json::to_string_pretty(value).unwrap_or_else(|error| format!("{{\"error\":\"{error}\"}}"))
}
