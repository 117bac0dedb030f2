//! A whole book as text, and back: one RON document that can become the book again, and tables
//! that a spreadsheet opens.
//!
//! Promises: the document holds every entry to the letter, so the same entries always give the
//! same bytes; what is read is bounded in length and depth and is refused with its line and
//! column; no cell of a table is run as a formula. It reads and writes no file, and does not judge
//! whether a chain holds: that is the book's business.

mod cell;
mod document;
mod relation;
mod tables;
#[cfg(test)]
mod tests;

pub use document::{ArchiveError, MOST_BYTES, VERSION, read, write};
pub use relation::{Fork, Relation, relation};
pub use tables::{TABLES, tables};

use crate::entry::{Entry, Happening, Row};
use chrono::{DateTime, Utc};
use std::collections::BTreeMap;

/// Everything that one book holds, as far as it can be read.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Archive {
    /// The book's identity: 32 small hexadecimal digits. None where it cannot be read.
    pub book: Option<String>,
    /// The zone it was begun with, likewise.
    pub zone: Option<String>,
    /// When it was begun, likewise.
    pub made: Option<DateTime<Utc>>,
    /// How many courses of each subject were open, where any were.
    pub open_courses: BTreeMap<String, u64>,
    /// Every entry that can be relied on, in the order they were written.
    pub entries: Vec<Row>,
    /// What can be read of those that cannot, likewise.
    pub damaged: Vec<Row>,
    /// What is wrong with the book, in words; nothing in a sound one.
    pub damage: Vec<String>,
}

impl Archive {
    /// Whether it can become the book again: nothing in it is damaged or left out.
    #[must_use]
    pub fn is_whole(&self) -> bool {
        self.damage.is_empty()
            && self.damaged.is_empty()
            && self.book.is_some()
            && self.zone.is_some()
            && self.made.is_some()
    }

    /// Whether everything in it is invented: its settings say so, readable or damaged.
    #[must_use]
    pub fn is_demonstration(&self) -> bool {
        let all = self.entries.iter().chain(&self.damaged);
        let mut settings = all.filter(|row| row.kind == "settings");
        settings.any(|row| match Entry::read(row).map(|entry| entry.what) {
            Ok(Happening::Settings(settings)) => settings.what.demonstration,
            _ => false,
        })
    }
}
