//! The only door between text and quantity, both ways.
//!
//! Promises: it reads exactly, prints safely, and never rounds what it reads; text to quantity to
//! text is the identity on safe text. It does not judge whether a dose is right.

mod fault;
pub mod fold;
mod number;
mod parts;
pub mod print;
pub mod prone;
mod read;
pub mod spoken;
#[cfg(test)]
mod tests;
mod unit;

pub use fault::NotationError;
pub use read::{DailyRate, Notation, percent};

use serde::{Deserialize, Deserializer, Serialize, Serializer};
use std::fmt;

/// A quantity with the safe text of the form it was typed in: "25 mg per 5 mL" stays that.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Written<T> {
    value: T,
    text: String,
}

impl<T> Written<T> {
    fn new(value: T, text: String) -> Written<T> {
        Written { value, text }
    }

    /// The safe text.
    pub fn text(&self) -> &str {
        &self.text
    }
}

impl<T: Copy> Written<T> {
    /// The exact value.
    pub fn value(&self) -> T {
        self.value
    }
}

impl<T> fmt::Display for Written<T> {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&self.text)
    }
}

/// A quantity is kept as its text, never as a binary number.
impl<T> Serialize for Written<T> {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        serializer.serialize_str(&self.text)
    }
}

impl<'de, T: Notation> Deserialize<'de> for Written<T> {
    fn deserialize<D: Deserializer<'de>>(deserializer: D) -> Result<Written<T>, D::Error> {
        let text = String::deserialize(deserializer)?;
        T::read(&text).map_err(serde::de::Error::custom)
    }
}
