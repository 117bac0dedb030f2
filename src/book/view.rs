//! Reading a book as it stands inside one transaction.
//!
//! Promises that rows handed out as sound were followed link by link to the head of their
//! chain, so that nothing damaged, missing or foreign is among them. A damaged subject does not
//! keep the others from being read. Deliberately read-only.

use std::cell::OnceCell;
use std::path::Path;

use chrono::{DateTime, Utc};
use rusqlite::Connection;

use crate::book::damage::Damage;
use crate::book::error::BookError;
use crate::book::state::{Head, State};
use crate::book::walk::{self, Known, Whole};
use crate::entry::{Row, Stretch};

/// The book as it stands, for as long as the transaction lasts.
pub struct View<'a> {
    conn: &'a Connection,
    path: &'a Path,
    state: &'a State,
    /// The same with every head, once that was asked for.
    complete: OnceCell<State>,
    as_before: bool,
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
    pub(super) const fn new(
        conn: &'a Connection,
        path: &'a Path,
        state: &'a State,
        as_before: bool,
    ) -> Self {
        Self {
            conn,
            path,
            state,
            complete: OnceCell::new(),
            as_before,
        }
    }

    /// What the book says of itself, with every head looked at.
    fn whole(&self) -> Result<&State, BookError> {
        if self.state.complete {
            return Ok(self.state);
        }
        if self.complete.get().is_none() {
            let mut state = self.state.clone();
            state.complete(self.conn, self.path)?;
            let _ = self.complete.set(state);
        }
        Ok(self.complete.get().unwrap_or(self.state))
    }

    /// Every subject whose head is sound, by name; none where the heads cannot be read.
    pub fn heads(&self) -> impl Iterator<Item = (&str, &Head)> {
        let state = self.whole().unwrap_or(self.state);
        state.heads.iter().map(|(name, head)| (name.as_str(), head))
    }

    /// What is known to be wrong without walking any chain.
    #[must_use]
    pub fn damage(&self) -> &[Damage] {
        &self.whole().unwrap_or(self.state).damage
    }

    /// The subjects that the day's work needs, as they were told when the newest entry was
    /// appended, each with the stretches of its chain; with none, only its name and first entry
    /// are needed. Nothing where that was not told or is not as it was written, and everything
    /// has to be read.
    #[must_use]
    pub fn opened(&self) -> Option<impl Iterator<Item = (String, Vec<Stretch>)> + use<'a>> {
        let all = self.state.opened.as_ref()?.iter();
        Some(all.map(|(subject, noted)| {
            let last = noted.len();
            let stretches = (1..).zip(noted).filter(|(_, noted)| noted.from > 0);
            let stretches = stretches.map(|(place, noted)| Stretch {
                from: noted.from,
                to: (place < last).then_some(noted.to),
            });
            (subject.clone(), stretches.collect())
        }))
    }

    /// Whether nobody else has written to the book since it was opened or last written to here.
    #[must_use]
    pub const fn is_as_before(&self) -> bool {
        self.as_before
    }

    /// Reads what the day's work needs of one subject, oldest first: the first entry of its chain,
    /// and the stretches that the book notes, every link checked.
    ///
    /// # Errors
    /// When the book cannot be read, it does not note that subject, or what was read is damaged.
    pub fn read_opened(&self, subject: &str) -> Result<Vec<Row>, BookError> {
        let all = self.state.opened.as_ref();
        let Some(stretches) = all.and_then(|all| all.get(subject)) else {
            let subject = subject.to_owned();
            return Err(BookError::UnknownSubject { subject });
        };
        let id = self.state.identity.id;
        let mut rows = Vec::new();
        if stretches.first().is_none_or(|noted| noted.from != 1) {
            rows.push(walk::first(self.conn, self.path, id, subject)?);
        }
        for (place, noted) in (1..).zip(stretches).filter(|(_, noted)| noted.from > 0) {
            let is_last = place == stretches.len();
            let found = walk::stretch(self.conn, self.path, id, subject, noted, is_last)?;
            rows.extend(found);
        }
        Ok(rows)
    }

    /// Whether there is a subject that begins so and has one entry alone, which nothing can have
    /// struck out.
    ///
    /// # Errors
    /// When the book cannot be read.
    pub fn has_untouched(&self, beginning: &str) -> Result<bool, BookError> {
        let found = self.conn.query_row(
            "SELECT EXISTS (SELECT 1 FROM head \
             WHERE subject >= ?1 AND subject < ?1 || char(1114111) AND n = 1)",
            [beginning],
            |row| row.get(0),
        );
        found.map_err(|error| BookError::from_sqlite(self.path, &error))
    }

    /// The names of all subjects that begin so, as they stand: enough to tell whether a name is
    /// the only one, not whether what it names is sound.
    ///
    /// # Errors
    /// When the book cannot be read.
    pub fn names(&self, beginning: &str) -> Result<Vec<String>, BookError> {
        let wrap = |error| BookError::from_sqlite(self.path, &error);
        let mut statement = self
            .conn
            .prepare_cached(
                "SELECT subject FROM head WHERE subject >= ?1 AND subject < ?1 || char(1114111)",
            )
            .map_err(wrap)?;
        let names = statement.query_map([beginning], |row| row.get(0));
        let names = names.and_then(Iterator::collect).map_err(wrap)?;
        Ok(names)
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
        let state = self.whole()?;
        let known = Known {
            id: Some(state.identity.id),
            heads: Some(&state.heads),
            last: state.seq,
            damage: &state.damage,
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
        if let Some(head) = self.state.head(self.conn, self.path, subject)? {
            return walk::back(self.conn, self.path, id, subject, &head, further);
        }
        // No head: either the subject is not in the book, or its head is the one that is damaged
        // or lost. While any is, "not in the book" cannot be told for certain.
        let own = |damage: &&Damage| damage.subject.as_deref() == Some(subject);
        let damage = &self.whole()?.damage;
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
