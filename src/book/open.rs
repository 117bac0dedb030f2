//! Making and opening a book's file.
//!
//! Promises never to write over a file when making one, to change nothing in a file that is not a
//! book or is a newer one, and to say plainly why one cannot be opened. Deliberately chooses no
//! place by itself.

use std::fs::{self, File, OpenOptions};
use std::io::Read;
use std::path::{Path, PathBuf};
use std::time::Duration;

use chrono::{DateTime, Utc};
use rusqlite::config::DbConfig;
use rusqlite::{Connection, OpenFlags, Transaction, TransactionBehavior};

use crate::book::chain::{BookId, TopParts};
use crate::book::damage::Damage;
use crate::book::error::BookError;
use crate::book::schema;
use crate::book::state::{State, write_time};
use crate::book::turn;
use crate::book::{Book, data_version};

/// How long to wait for another writer before giving up. One writing takes milliseconds.
pub(super) const PATIENCE: Duration = Duration::from_secs(10);

/// The first bytes of every SQLite file (<https://www.sqlite.org/fileformat.html>, section 1.3).
const MAGIC: &[u8; 16] = b"SQLite format 3\0";

/// What to do about folders on the way to a new book that are not there.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Folders {
    /// Not accepted: the place was probably mistyped.
    MustExist,
    /// Make them.
    Make,
}

/// What a connection may do.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Access {
    Read,
    Write,
}

impl Book {
    /// Begins a new book.
    ///
    /// # Errors
    /// When a file is there already, the folder is not, or it cannot be written. No file is left
    /// then.
    pub fn create(
        path: &Path,
        zone: &str,
        id: BookId,
        made: DateTime<Utc>,
        folders: Folders,
    ) -> Result<Self, BookError> {
        let path = absolute(path)?;
        if folders == Folders::Make {
            make_folders(&path)?;
        }
        // Claims the name: from here on the file is this call's own, to fill or to take away.
        drop(
            (OpenOptions::new().write(true).create_new(true).open(&path))
                .map_err(|error| BookError::from_system(&path, &error))?,
        );
        let filled = fill(&path, zone, id, made).and_then(|()| Self::open(&path));
        if filled.is_err() {
            // The first error is the one to tell.
            let _ = fs::remove_file(&path);
        }
        filled
    }

    /// Opens a book to read and write it.
    ///
    /// # Errors
    /// When it is not there, is not a book, is a newer one, cannot be written, or is damaged as a
    /// whole.
    pub fn open(path: &Path) -> Result<Self, BookError> {
        Self::open_within(path, PATIENCE)
    }

    /// Opens a book to read and write it, waiting so long for someone else who is using it.
    ///
    /// # Errors
    /// As for [`Book::open`].
    pub fn open_within(path: &Path, patience: Duration) -> Result<Self, BookError> {
        Self::open_for(path, Access::Write, patience)
    }

    /// Opens a book to read it, in places where nothing can be written too.
    ///
    /// # Errors
    /// When it is not there, is not a book, is a newer one, or is damaged as a whole.
    pub fn open_read_only(path: &Path) -> Result<Self, BookError> {
        Self::open_read_only_within(path, PATIENCE)
    }

    /// Opens a book to read it, waiting so long for someone else who is using it.
    ///
    /// # Errors
    /// As for [`Book::open_read_only`].
    pub fn open_read_only_within(path: &Path, patience: Duration) -> Result<Self, BookError> {
        Self::open_for(path, Access::Read, patience)
    }

    /// Opens a book without looking at its heads: those of the subjects that are asked for are
    /// looked at then. Otherwise as [`Book::open_within`].
    ///
    /// # Errors
    /// As for [`Book::open`].
    pub fn open_lightly_within(path: &Path, patience: Duration) -> Result<Self, BookError> {
        Self::open_light(path, Access::Write, patience)
    }

    /// Opens a book to read it, without looking at its heads: those of the subjects that are asked
    /// for are looked at then. Otherwise as [`Book::open_read_only_within`].
    ///
    /// # Errors
    /// As for [`Book::open_read_only`].
    pub fn open_lightly_read_only_within(
        path: &Path,
        patience: Duration,
    ) -> Result<Self, BookError> {
        Self::open_light(path, Access::Read, patience)
    }

    fn open_for(path: &Path, access: Access, patience: Duration) -> Result<Self, BookError> {
        let mut book = Self::open_light(path, access, patience)?;
        {
            let transaction = (book.conn.unchecked_transaction())
                .map_err(|error| BookError::from_sqlite(&book.path, &error))?;
            let version = data_version(&transaction, &book.path)?;
            if book.version == Some(version) {
                book.state.complete(&transaction, &book.path)?;
            } else {
                book.state = State::load(&transaction, &book.path)?;
                book.version = Some(version);
            }
        }
        Ok(book)
    }

    fn open_light(path: &Path, access: Access, patience: Duration) -> Result<Self, BookError> {
        let path = absolute(path)?;
        let conn = connect(&path, access, patience)?;
        let (state, version) = {
            let transaction = conn
                .unchecked_transaction()
                .map_err(|error| BookError::from_sqlite(&path, &error))?;
            let version = data_version(&transaction, &path)?;
            (State::load_light(&transaction, &path)?, version)
        };
        Ok(Self {
            conn,
            path,
            read_only: access == Access::Read,
            state,
            version: Some(version),
        })
    }
}

/// Opens a connection to a file that is a book of a version this program reads.
pub(super) fn connect(
    path: &Path,
    access: Access,
    patience: Duration,
) -> Result<Connection, BookError> {
    look_at(path)?;
    let wrap = |error| BookError::from_sqlite(path, &error);
    // For reading too: undoing a writing that was cut off needs the file to be writable. Where it
    // is not, SQLite by itself opens it to be read.
    let flags = OpenFlags::SQLITE_OPEN_READ_WRITE | OpenFlags::SQLITE_OPEN_NO_MUTEX;
    let mut conn = Connection::open_with_flags(path, flags).map_err(wrap)?;
    turn::wait(&mut conn, patience).map_err(wrap)?;
    let number = |pragma: &str| -> Result<i64, BookError> {
        conn.query_row(pragma, [], |row| row.get(0)).map_err(wrap)
    };
    if number("PRAGMA application_id")? != i64::from(schema::APPLICATION_ID) {
        let found = "another program's SQLite file";
        return Err(not_a_book(path, found));
    }
    let version = number("PRAGMA user_version")?;
    if version > schema::VERSION {
        return Err(BookError::Newer {
            path: path.to_path_buf(),
            version,
            known: schema::VERSION,
        });
    }
    if version < 1 {
        return Err(schema::changed("user_version"));
    }
    if access == Access::Write && conn.is_readonly("main").map_err(wrap)? {
        let path = path.to_path_buf();
        return Err(BookError::ReadOnly { path });
    }
    configure(&conn, access).map_err(wrap)?;
    if access == Access::Write {
        let mode: String = conn
            .query_row("PRAGMA journal_mode", [], |row| row.get(0))
            .map_err(wrap)?;
        if mode != "delete" {
            return Err(schema::changed("journal_mode"));
        }
        if version < schema::VERSION {
            bring_up(&conn, path)?;
        }
    }
    Ok(conn)
}

/// Brings a book of an earlier version to the newest, if it is sound as a whole. Of two programs
/// that open it at once the second finds it done.
fn bring_up(conn: &Connection, path: &Path) -> Result<(), BookError> {
    let wrap = |error| BookError::from_sqlite(path, &error);
    let transaction = Transaction::new_unchecked(conn, TransactionBehavior::Immediate);
    let transaction = transaction.map_err(wrap)?;
    State::load_light(&transaction, path)?;
    schema::bring_up(&transaction).map_err(wrap)?;
    transaction.commit().map_err(wrap)
}

/// What holds for one connection alone and must be said each time.
fn configure(conn: &Connection, access: Access) -> rusqlite::Result<()> {
    // Nothing that a strange file brings along may run, and our own statements may not touch the
    // file's structure.
    conn.set_db_config(DbConfig::SQLITE_DBCONFIG_TRUSTED_SCHEMA, false)?;
    conn.set_db_config(DbConfig::SQLITE_DBCONFIG_DEFENSIVE, true)?;
    conn.pragma_update(None, "cell_size_check", true)?;
    // So that a guard on DELETE also speaks when a row is replaced.
    conn.pragma_update(None, "recursive_triggers", true)?;
    // Sorting and checking must not need a writable folder for temporary files.
    conn.pragma_update(None, "temp_store", "memory")?;
    if access == Access::Write {
        // Only after the file is known to be a book: this writes to one that another program has
        // switched to another mode.
        conn.pragma_update_and_check(None, "journal_mode", "delete", |_| Ok(()))?;
        conn.pragma_update(None, "synchronous", "extra")?;
        // Where the system has a stronger way to the disk than fsync (macOS), that one.
        conn.pragma_update(None, "fullfsync", true)?;
    }
    Ok(())
}

/// Says what the file is, where it is not one to open with SQLite.
fn look_at(path: &Path) -> Result<(), BookError> {
    let missing = |error: &std::io::Error| match error.kind() {
        std::io::ErrorKind::NotFound | std::io::ErrorKind::NotADirectory => match path.parent() {
            Some(folder) if !folder.is_dir() => BookError::NoFolder { path: path.into() },
            _ => BookError::NoBook { path: path.into() },
        },
        _ => BookError::from_system(path, error),
    };
    let about = fs::metadata(path).map_err(|error| missing(&error))?;
    if about.is_dir() {
        return Err(not_a_book(path, "a folder"));
    }
    if !about.is_file() {
        return Err(not_a_book(path, "a device or a pipe"));
    }
    let mut start = Vec::new();
    File::open(path)
        .and_then(|file| file.take(20).read_to_end(&mut start))
        .map_err(|error| missing(&error))?;
    if start.is_empty() {
        let found = "an empty file, as a beginning that was cut off leaves behind";
        return Err(not_a_book(path, found));
    }
    if !start.starts_with(MAGIC) {
        return Err(not_a_book(path, "a file of another kind"));
    }
    // SQLite would quietly take a file with an unknown format number for one to be read only.
    if start
        .iter()
        .skip(18)
        .any(|number| !(1..=2).contains(number))
    {
        let detail = String::from("its format number is not one that is written");
        return Err(BookError::Damaged(Box::new(Damage::of_file(detail))));
    }
    Ok(())
}

fn not_a_book(path: &Path, found: &'static str) -> BookError {
    BookError::NotABook {
        path: path.to_path_buf(),
        found,
    }
}

/// Writes the tables, the identity and the first top into an empty file, in one transaction.
fn fill(path: &Path, zone: &str, id: BookId, made: DateTime<Utc>) -> Result<(), BookError> {
    let wrap = |error| BookError::from_sqlite(path, &error);
    let flags = OpenFlags::SQLITE_OPEN_READ_WRITE | OpenFlags::SQLITE_OPEN_NO_MUTEX;
    let mut conn = Connection::open_with_flags(path, flags).map_err(wrap)?;
    turn::wait(&mut conn, PATIENCE).map_err(wrap)?;
    configure(&conn, Access::Write).map_err(wrap)?;
    let made = write_time(made);
    let parts = TopParts {
        id,
        zone,
        made: &made,
        version: schema::VERSION,
        seq: 0,
        subjects: 0,
        newest: None,
        entry_link: None,
    };
    let transaction = conn
        .transaction_with_behavior(TransactionBehavior::Immediate)
        .map_err(wrap)?;
    schema::lay_out(&transaction).map_err(wrap)?;
    transaction
        .execute(
            "INSERT INTO book(one, id, zone, made, version) VALUES (1, ?1, ?2, ?3, ?4)",
            (id.to_string(), zone, &made, schema::VERSION),
        )
        .map_err(wrap)?;
    transaction
        .execute(
            "INSERT INTO top(one, seq, subjects, newest, link) VALUES (1, 0, 0, NULL, ?1)",
            [parts.link()],
        )
        .map_err(wrap)?;
    transaction.commit().map_err(wrap)
}

/// The place from the root on. SQLite gives some short names a meaning of their own; a whole path
/// has none but its file.
pub(super) fn absolute(path: &Path) -> Result<PathBuf, BookError> {
    if path.as_os_str().is_empty() {
        return Err(BookError::NoBook { path: path.into() });
    }
    std::path::absolute(path).map_err(|error| BookError::from_system(path, &error))
}

fn make_folders(path: &Path) -> Result<(), BookError> {
    let Some(folder) = path.parent() else {
        return Ok(());
    };
    let missing: Vec<&Path> = (folder.ancestors())
        .take_while(|folder| !folder.exists())
        .collect();
    fs::create_dir_all(folder).map_err(|error| BookError::from_system(path, &error))?;
    // SQLite makes the file's own name durable; the names of new folders are ours to see to.
    missing
        .into_iter()
        .filter_map(Path::parent)
        .try_for_each(|above| {
            sync_folder(above).map_err(|error| BookError::from_system(path, &error))
        })
}

/// Makes names in a folder durable.
pub(super) fn sync_folder(folder: &Path) -> std::io::Result<()> {
    if cfg!(unix) {
        File::open(folder)?.sync_all()
    } else {
        // Elsewhere a folder cannot be opened like a file, and names are the system's own care.
        Ok(())
    }
}
