//! Readers of what a person sees: text against safe notation, and PDF pages back into text and
//! pixels.
//!
//! Promises: nothing here shares code with what writes it. A test that wants a reader says
//! `mod readers;`.

#![allow(dead_code, reason = "each test uses the readers that it needs")]
#![allow(
    clippy::indexing_slicing,
    clippy::unwrap_used,
    clippy::panic,
    reason = "a test may stop at once"
)]

pub mod notation;
#[cfg(feature = "outside")]
pub mod pdf;
