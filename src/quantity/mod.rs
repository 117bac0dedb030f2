//! Exact amounts of what a dose is made of, and spans of time. No text is read here and nothing is
//! rounded.

pub mod span;
