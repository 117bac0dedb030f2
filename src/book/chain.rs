//! The hashes that hold a book together.
//!
//! Promises that two different rows never feed the hash the same bytes: every field goes in with
//! its length before it, and every kind of hash starts with its own name. Deliberately without a
//! key: who can write the file can also compute these, so they show accidents, not forgery.

use std::fmt;

use rusqlite::Connection;
use sha2::{Digest, Sha256};

use crate::book::error::BookError;

/// The identity of one book, the same in all its copies: 16 bytes.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub struct BookId([u8; 16]);

impl BookId {
    /// A new identity that no other book has, from the system's source of randomness (which
    /// SQLite reads for us, so that no other crate has to).
    ///
    /// # Errors
    /// When the system gives no memory for it.
    pub fn random() -> Result<Self, BookError> {
        let bytes = Connection::open_in_memory()
            .and_then(|conn| conn.query_row("SELECT randomblob(16)", [], |row| row.get(0)));
        bytes
            .map(Self)
            .map_err(|error| BookError::from_sqlite(std::path::Path::new("a new book"), &error))
    }

    /// The identity that a demonstration's seed leads to: the same for the same text.
    #[must_use]
    pub fn from_seed(seed: &str) -> Self {
        let mut hash = Hash::of("scruple demonstration");
        hash.field(seed.as_bytes());
        let mut bytes = [0; 16];
        for (to, from) in bytes.iter_mut().zip(hash.0.finalize()) {
            *to = from;
        }
        Self(bytes)
    }

    /// Reads the 32 small hexadecimal digits that an identity is written in.
    #[must_use]
    pub fn parse(text: &str) -> Option<Self> {
        let digit = |c: u8| match c {
            b'0'..=b'9' => Some(c - b'0'),
            b'a'..=b'f' => Some(c - b'a' + 10),
            _ => None,
        };
        let (pairs, rest) = text.as_bytes().as_chunks::<2>();
        if pairs.len() != 16 || !rest.is_empty() {
            return None;
        }
        let mut bytes = [0; 16];
        for (to, [high, low]) in bytes.iter_mut().zip(pairs) {
            *to = digit(*high)? << 4 | digit(*low)?;
        }
        Some(Self(bytes))
    }
}

impl fmt::Display for BookId {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        self.0.iter().try_for_each(|byte| write!(f, "{byte:02x}"))
    }
}

/// The columns of an entry as they stand in the file, text for text.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) struct Stored {
    pub seq: i64,
    pub subject: String,
    pub n: i64,
    pub course: Option<String>,
    pub kind: String,
    pub happened_at: String,
    pub recorded_at: String,
    pub clock_given: bool,
    pub zone: String,
    pub body: String,
    pub link: String,
}

/// What stands before the first link of a subject's chain.
pub(super) fn root(id: BookId, subject: &str) -> String {
    let mut hash = Hash::of("scruple chain 1");
    hash.field(&id.0);
    hash.field(subject.as_bytes());
    hash.text()
}

/// The link of an entry: over the link before it and all its columns.
pub(super) fn link(before: &str, entry: &Stored) -> String {
    let mut hash = Hash::of("scruple entry 1");
    hash.field(before.as_bytes());
    hash.field(&entry.seq.to_be_bytes());
    hash.field(entry.subject.as_bytes());
    hash.field(&entry.n.to_be_bytes());
    hash.option(entry.course.as_deref());
    hash.field(entry.kind.as_bytes());
    hash.field(entry.happened_at.as_bytes());
    hash.field(entry.recorded_at.as_bytes());
    hash.field(&[u8::from(entry.clock_given)]);
    hash.field(entry.zone.as_bytes());
    hash.field(entry.body.as_bytes());
    hash.text()
}

/// The seal of a head: over its columns and the book's identity.
pub(super) fn seal(id: BookId, subject: &str, n: i64, link: &str, open_courses: i64) -> String {
    let mut hash = Hash::of("scruple head 1");
    hash.field(&id.0);
    hash.field(subject.as_bytes());
    hash.field(&n.to_be_bytes());
    hash.field(link.as_bytes());
    hash.field(&open_courses.to_be_bytes());
    hash.text()
}

/// The link over what is noted of the subjects that the day's work needs: of each its name, where
/// to begin reading, its number and its newest link.
pub(super) fn opened<'a>(
    id: BookId,
    top: &str,
    rows: impl Iterator<Item = (&'a str, i64, i64, &'a str)>,
) -> String {
    let mut hash = Hash::of("scruple opened 1");
    hash.field(&id.0);
    hash.field(top.as_bytes());
    for (subject, since, n, link) in rows {
        hash.field(subject.as_bytes());
        hash.field(&since.to_be_bytes());
        hash.field(&n.to_be_bytes());
        hash.field(link.as_bytes());
    }
    hash.text()
}

/// What the top's link is made over: the whole `book` row, the whole `top` row, and the newest
/// entry.
pub(super) struct TopParts<'a> {
    pub id: BookId,
    pub zone: &'a str,
    pub made: &'a str,
    pub version: i64,
    pub seq: i64,
    pub subjects: i64,
    pub newest: Option<&'a str>,
    pub entry_link: Option<&'a str>,
}

impl TopParts<'_> {
    pub(super) fn link(&self) -> String {
        let mut hash = Hash::of("scruple top 1");
        hash.field(&self.id.0);
        hash.field(self.zone.as_bytes());
        hash.field(self.made.as_bytes());
        hash.field(&self.version.to_be_bytes());
        hash.field(&self.seq.to_be_bytes());
        hash.field(&self.subjects.to_be_bytes());
        hash.option(self.newest);
        hash.option(self.entry_link);
        hash.text()
    }
}

struct Hash(Sha256);

impl Hash {
    fn of(name: &str) -> Self {
        let mut hash = Self(Sha256::new());
        hash.field(name.as_bytes());
        hash
    }

    fn field(&mut self, bytes: &[u8]) {
        self.0.update((bytes.len() as u64).to_be_bytes());
        self.0.update(bytes);
    }

    /// One that is not there differs from one that is empty.
    fn option(&mut self, text: Option<&str>) {
        self.field(&[u8::from(text.is_some())]);
        self.field(text.unwrap_or_default().as_bytes());
    }

    fn text(self) -> String {
        const DIGITS: [char; 16] = [
            '0', '1', '2', '3', '4', '5', '6', '7', '8', '9', 'a', 'b', 'c', 'd', 'e', 'f',
        ];
        let mut text = String::with_capacity(64);
        for byte in self.0.finalize() {
            text.extend(DIGITS.get(usize::from(byte >> 4)));
            text.extend(DIGITS.get(usize::from(byte & 15)));
        }
        text
    }
}
