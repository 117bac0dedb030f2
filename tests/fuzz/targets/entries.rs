//! Any entries as what a book holds, through every face. What is claimed stands in `claims`.

#![no_main]

// The reader of tables names it so.
use scruple::notation;

#[path = "../claims/mod.rs"]
mod claims;

libfuzzer_sys::fuzz_target!(|bytes: &[u8]| claims::entries(bytes));
