//! Reading a book as it stands inside one transaction.
//!
//! Promises that rows handed out as sound were followed link by link to the head of their
//! chain, so that nothing damaged, missing or foreign is among them. A damaged subject does not
//! keep the others from being read. Deliberately read-only.

use std::path::Path;

use chrono::{DateTime, Utc};
use rusqlite::Connection;

use crate::book::damage::Damage;
use crate::book::error::BookError;
use crate::book::state::{Head, State};
use crate::book::walk::{self, Known, Whole};
use crate::entry::Row;

/// The book as it stands, for as long as the transaction lasts.
pub struct View<'a> {
    conn: &'a Connection,
    path: &'a Path,
    state: &'a State,
}

/// All entries of a book, parted into those that can be relied on and those that cannot.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
#[must_use = "damage that is not looked at is not noticed"]
pub struct Reading {
    /// The entries of every sound subject, in the order they were written.
    pub rows: Vec<Row>,
    /// What can still be read of the damaged subjects, in the order they were written: to be
    /// saved or shown as damaged, never to compute a mark from.
    pub unsound: Vec<Row>,
    /// What is wrong; empty in a sound book.
    pub damage: Vec<Damage>,
}

impl<'a> View<'a> {
    pub(super) const fn new(conn: &'a Connection, path: &'a Path, state: &'a State) -> Self {
        Self { conn, path, state }
    }

    /// Every subject whose head is sound, by name.
    pub fn heads(&self) -> impl Iterator<Item = (&'a str, &'a Head)> {
        let state = self.state;
        state.heads.iter().map(|(name, head)| (name.as_str(), head))
    }

    /// What is known to be wrong without walking any chain.
    #[must_use]
    pub fn damage(&self) -> &'a [Damage] {
        &self.state.damage
    }

    /// How many entries the book holds.
    #[must_use]
    pub const fn entries(&self) -> u64 {
        self.state.seq
    }

    /// The latest time of writing among all entries; none in an empty book.
    #[must_use]
    pub const fn newest_recorded_at(&self) -> Option<DateTime<Utc>> {
        self.state.newest
    }

    /// Reads and checks every chain.
    ///
    /// # Errors
    /// When the book cannot be read at all. Damage is not an error here: it is in the reading.
    pub fn read_sound(&self) -> Result<Reading, BookError> {
        let known = Known {
            id: Some(self.state.identity.id),
            heads: Some(&self.state.heads),
            last: self.state.seq,
            damage: &self.state.damage,
        };
        let mut rows = Vec::new();
        let whole = walk::whole(self.conn, self.path, &known, |_, row| rows.extend(row))?;
        Ok(Reading::part(rows, whole))
    }

    /// Reads every entry of a book that is sound as a whole, in the order they were written.
    ///
    /// # Errors
    /// When the book cannot be read, or anything in it is damaged.
    pub fn read_all(&self) -> Result<Vec<Row>, BookError> {
        let reading = self.read_sound()?;
        match reading.damage.into_iter().next() {
            Some(damage) => Err(BookError::Damaged(Box::new(damage))),
            None => Ok(reading.rows),
        }
    }

    /// Reads one subject's entries, oldest first, checking its whole chain. A subject that is not
    /// in the book has none.
    ///
    /// # Errors
    /// When the book cannot be read, or that chain is damaged.
    pub fn read_subject(&self, subject: &str) -> Result<Vec<Row>, BookError> {
        self.read_back(subject, |_| true)
    }

    /// Reads one subject's newest entries, oldest first, checking each link: from the newest back
    /// to the first for which `further` answers no, which is the last one read.
    ///
    /// # Errors
    /// When the book cannot be read, or the chain is damaged as far back as it was read.
    pub fn read_back(
        &self,
        subject: &str,
        mut further: impl FnMut(&Row) -> bool,
    ) -> Result<Vec<Row>, BookError> {
        let mut rows = Vec::new();
        self.walk_back(subject, |row| {
            let more = further(&row);
            rows.push(row);
            more
        })?;
        rows.reverse();
        Ok(rows)
    }

    /// What is wrong with one subject's chain, walked from end to end; none if it is sound or the
    /// subject is not in the book.
    ///
    /// # Errors
    /// When the book cannot be read.
    pub fn damage_of(&self, subject: &str) -> Result<Option<Damage>, BookError> {
        match self.walk_back(subject, |_| true) {
            Ok(()) => Ok(None),
            Err(BookError::Damaged(damage)) => Ok(Some(*damage)),
            Err(error) => Err(error),
        }
    }

    fn walk_back(&self, subject: &str, further: impl FnMut(Row) -> bool) -> Result<(), BookError> {
        let id = self.state.identity.id;
        if let Some(head) = self.state.heads.get(subject) {
            return walk::back(self.conn, self.path, id, subject, head, further);
        }
        // No head: either the subject is not in the book, or its head is the one that is damaged
        // or lost. While any is, "not in the book" cannot be told for certain.
        let own = |damage: &&Damage| damage.subject.as_deref() == Some(subject);
        let damage = &self.state.damage;
        match damage.iter().find(own).or_else(|| damage.first()) {
            Some(damage) => Err(BookError::Damaged(Box::new(damage.clone()))),
            None => {
                // An entry that the book has no note of: walking from an empty head finds it.
                let empty = Head {
                    n: 0,
                    link: String::new(),
                    open_courses: 0,
                };
                walk::back(self.conn, self.path, id, subject, &empty, further)
            }
        }
    }
}

impl Reading {
    /// Parts rows by what walking them found.
    pub(super) fn part(rows: Vec<Row>, whole: Whole) -> Self {
        let (unsound, rows) = rows
            .into_iter()
            .partition(|row| whole.unsound.contains(&row.subject));
        Self {
            rows,
            unsound,
            damage: whole.damage,
        }
    }
}
