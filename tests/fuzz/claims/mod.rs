//! What holds for any input whatever. cargo-fuzz looks for one that breaks a claim; the ordinary
//! tests try the seeds, what was found once, and random changes of both.
//!
//! Each claim panics where it is broken, as any fault of the program itself would.

#![allow(
    dead_code,
    unused_imports,
    clippy::unwrap_used,
    clippy::indexing_slicing,
    clippy::panic,
    reason = "a broken claim stops at once; a target uses one of them"
)]

mod book;
#[path = "../../../src/cli/weigh/table.rs"]
mod reader;
mod text;

pub use book::{entries, import};
pub use text::{notation, prescription, table};

use scruple::notation::fold::is_unseen;

/// The longest message that a person is to read; those about a file name every fault in it.
const LONGEST_MESSAGE: usize = 2_000;

/// What is said about any input can be read, and steers no terminal.
#[track_caller]
fn is_a_message(text: &str, longest: usize) {
    assert!(!text.trim().is_empty(), "nothing was said");
    is_plain(text);
    let length = text.chars().count();
    assert!(length <= longest, "a message of {length} letters: {text}");
}

/// Text for a terminal holds no character that would steer it, nor one that nobody sees.
#[track_caller]
fn is_plain(text: &str) {
    let steers = |c: char| is_unseen(c) && !matches!(c, '\n' | '\t');
    if let Some(c) = text.chars().find(|&c| steers(c)) {
        panic!("{c:?} would reach a terminal: {text:?}");
    }
}
