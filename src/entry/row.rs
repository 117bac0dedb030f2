//! One line of the book, before and after it was kept.
//!
//! Promises to carry exact text through unchanged. Deliberately does not look into `body`: what a
//! kind of entry means is said elsewhere, so that a book can be read, checked and copied whole
//! even where one of its bodies cannot be understood.

use chrono::{DateTime, Utc};

/// An entry that is about to be appended.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct NewRow {
    /// Whose chain the entry joins: `animal:Thimblo`, `prescription:DEMO-0001`, `bottle:1` or
    /// `settings`. At most 4,096 bytes, not empty.
    pub subject: String,
    /// The course it belongs to, where it belongs to one. At most 4,096 bytes.
    pub course: Option<String>,
    /// The kind of entry, which says how `body` is to be read. At most 4,096 bytes.
    pub kind: String,
    /// When it happened.
    pub happened_at: DateTime<Utc>,
    /// When it was written down.
    pub recorded_at: DateTime<Utc>,
    /// Whether the time of writing was given by the person instead of read from the clock.
    pub clock_given: bool,
    /// The time zone that local times in it were meant in. At most 4,096 bytes.
    pub zone: String,
    /// JSON text, kept exactly as it is. At most 1 MiB.
    pub body: String,
}

/// An entry as it stands in the book.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Row {
    /// Its number in the book, from 1, without gaps.
    pub seq: u64,
    /// Its number in the chain of its subject, from 1, without gaps.
    pub n: u64,
    /// The hash over the link before it and all its columns: 64 hexadecimal digits.
    pub link: String,
    /// Whose chain the entry stands in.
    pub subject: String,
    /// The course it belongs to, where it belongs to one.
    pub course: Option<String>,
    /// The kind of entry, which says how `body` is to be read.
    pub kind: String,
    /// When it happened.
    pub happened_at: DateTime<Utc>,
    /// When it was written down.
    pub recorded_at: DateTime<Utc>,
    /// Whether the time of writing was given by the person instead of read from the clock.
    pub clock_given: bool,
    /// The time zone that local times in it were meant in.
    pub zone: String,
    /// JSON text, exactly as it was given.
    pub body: String,
}

/// A stretch of a subject's chain.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Stretch {
    /// The number of its first entry in the chain, from 1.
    pub from: u64,
    /// That of its last; none where it goes on to the newest, whichever that is.
    pub to: Option<u64>,
}

impl Stretch {
    /// The whole chain.
    pub const WHOLE: Stretch = Stretch { from: 1, to: None };
}

impl Row {
    /// What was given when the entry was appended: the row without what the book added.
    /// Appended to an empty book of the same identity in the same order, such rows make the same
    /// chains again.
    #[must_use]
    pub fn as_given(&self) -> NewRow {
        NewRow {
            subject: self.subject.clone(),
            course: self.course.clone(),
            kind: self.kind.clone(),
            happened_at: self.happened_at,
            recorded_at: self.recorded_at,
            clock_given: self.clock_given,
            zone: self.zone.clone(),
            body: self.body.clone(),
        }
    }
}
