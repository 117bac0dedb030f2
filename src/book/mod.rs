//! The book: one SQLite file that holds everything that happened, entry by entry.
//!
//! Promises that what was acknowledged is on the disk, that nothing in it is changed or removed
//! by this program, and that accidental damage is noticed before an entry is relied on: a chain of
//! hashes for each subject, a sealed head for each chain, and a top for the whole. This is the
//! only room that speaks to a database. Deliberately understands no entry's body, reads no clock
//! and keeps no forger out: who can write the file can also compute its hashes.

mod append;
mod backup;
mod chain;
mod damage;
mod error;
mod open;
mod opened;
mod schema;
mod state;
mod turn;
mod verify;
mod view;
mod walk;

use std::path::{Path, PathBuf};
use std::time::Duration;

use chrono::{DateTime, Utc};
use rusqlite::Connection;

use crate::book::state::State;
use crate::entry::Row;

pub use crate::book::append::{Draft, MOST_BODY_BYTES, MOST_TEXT_BYTES, WithNeeds};
pub use crate::book::chain::BookId;
pub use crate::book::damage::{Damage, Fault};
pub use crate::book::error::{AppendError, BookError, Kept};
pub use crate::book::open::Folders;
pub use crate::book::state::Head;
pub use crate::book::verify::{Rescue, Verdict, first_unlinked, rescue, verify};
pub use crate::book::view::{Reading, View};

/// An open book whose plan, identity, top and heads were found sound, except for the heads named
/// by [`Book::damage`]. One opened lightly has looked at no head yet: it looks at those it needs.
#[derive(Debug)]
pub struct Book {
    conn: Connection,
    path: PathBuf,
    read_only: bool,
    state: State,
    /// SQLite's number for the content that `state` was read from; none when that is not known.
    version: Option<i64>,
}

impl Book {
    /// The identity, the same in all copies of this book.
    #[must_use]
    pub const fn id(&self) -> BookId {
        self.state.identity.id
    }

    /// The time zone that the book was begun with.
    #[must_use]
    pub fn zone(&self) -> &str {
        &self.state.identity.zone
    }

    /// When the book was begun.
    #[must_use]
    pub const fn made(&self) -> DateTime<Utc> {
        self.state.identity.made
    }

    /// Where the file is.
    #[must_use]
    pub fn path(&self) -> &Path {
        &self.path
    }

    /// Whether it was opened to be read only.
    #[must_use]
    pub const fn is_read_only(&self) -> bool {
        self.read_only
    }

    /// What was found wrong with heads when it was opened or last written to.
    #[must_use]
    pub fn damage(&self) -> &[Damage] {
        &self.state.damage
    }

    /// Sets how long to wait for someone else who is using the book before giving up. Ten seconds
    /// out of the box.
    ///
    /// # Errors
    /// When SQLite does not take it.
    pub fn set_patience(&mut self, patience: Duration) -> Result<(), BookError> {
        turn::wait(&mut self.conn, patience).map_err(|error| self.wrap(&error))
    }

    /// Gives `look` the book as it stands at one moment.
    ///
    /// # Errors
    /// When the book cannot be read or is damaged as a whole; otherwise those of `look`.
    pub fn view<T, E: From<BookError>>(
        &self,
        look: impl FnOnce(&View<'_>) -> Result<T, E>,
    ) -> Result<T, E> {
        let transaction = (self.conn.unchecked_transaction()).map_err(|error| self.wrap(&error))?;
        if self.version == Some(data_version(&transaction, &self.path)?) {
            return look(&View::new(&transaction, &self.path, &self.state, true));
        }
        let state = State::load_light(&transaction, &self.path)?;
        look(&View::new(&transaction, &self.path, &state, false))
    }

    /// Reads every entry in the order they were written, checking every chain.
    ///
    /// # Errors
    /// When the book cannot be read, or anything in it is damaged.
    pub fn read_all(&self) -> Result<Vec<Row>, BookError> {
        self.view(|view| view.read_all())
    }

    /// Reads and checks every chain, and tells the sound entries from the others.
    ///
    /// # Errors
    /// When the book cannot be read at all.
    pub fn read_sound(&self) -> Result<Reading, BookError> {
        self.view(|view| view.read_sound())
    }

    /// Reads one subject's entries, oldest first, checking its whole chain. A subject that is not
    /// in the book has none.
    ///
    /// # Errors
    /// When the book cannot be read, or that chain is damaged.
    pub fn read_subject(&self, subject: &str) -> Result<Vec<Row>, BookError> {
        self.view(|view| view.read_subject(subject))
    }

    /// What is wrong with one subject's chain, walked from end to end.
    ///
    /// # Errors
    /// When the book cannot be read.
    pub fn damage_of(&self, subject: &str) -> Result<Option<Damage>, BookError> {
        self.view(|view| view.damage_of(subject))
    }

    /// The latest time of writing among all entries; none in an empty book.
    ///
    /// # Errors
    /// When the book cannot be read.
    pub fn newest_recorded_at(&self) -> Result<Option<DateTime<Utc>>, BookError> {
        self.view(|view| Ok(view.newest_recorded_at()))
    }

    fn wrap(&self, error: &rusqlite::Error) -> BookError {
        BookError::from_sqlite(&self.path, error)
    }
}

/// SQLite's number for the content of the file as this connection sees it: it changes when
/// another connection has written, and only then. Takes the read lock.
fn data_version(conn: &Connection, path: &Path) -> Result<i64, BookError> {
    conn.query_row("PRAGMA data_version", [], |row| row.get(0))
        .map_err(|error| BookError::from_sqlite(path, &error))
}
