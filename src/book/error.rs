//! What can go wrong with a book, in words for its keeper.
//!
//! Promises that every message says what is the matter and what to do next, and that an error
//! knows whether anything was kept. Deliberately never repairs and never guesses.

use std::path::{Path, PathBuf};

use rusqlite::ErrorCode;
use thiserror::Error;

use crate::book::damage::Damage;

/// Whether a command that ended in an error left anything in the book.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Kept {
    /// Nothing was written; the book is as it was.
    Nothing,
    /// The writing had begun to be made final when it failed: all of it stands in the book or
    /// none of it, and only looking shows which.
    Unsure,
}

/// Why a book could not be made, opened, read or written. Paths are printed in quotation marks
/// with control characters escaped.
#[derive(Debug, Error)]
pub enum BookError {
    /// There is no file at the place named.
    #[error(
        "there is no book at {path:?}: begin one there with 'scruple begin', or name yours with --book"
    )]
    NoBook {
        /// The place that was named.
        path: PathBuf,
    },
    /// The folder that should hold the file is not there.
    #[error("the folder of {path:?} does not exist: make it, or name another place")]
    NoFolder {
        /// The place that was named.
        path: PathBuf,
    },
    /// A file stands where a new one should be made.
    #[error("{path:?} is there already and was left as it is: name another place")]
    AlreadyThere {
        /// The place that was named.
        path: PathBuf,
    },
    /// A journal stands beside the file that was to be replaced.
    #[error(
        "a journal stands beside {path:?}, so it is in use or its last writing was cut off: \
         name another place"
    )]
    JournalBeside {
        /// The place that was named.
        path: PathBuf,
    },
    /// The copy was to be written over the book itself.
    #[error("{path:?} is the book itself: name another place for its copy")]
    OntoItself {
        /// The place that was named.
        path: PathBuf,
    },
    /// The file is not a book of this program.
    #[error("{path:?} is not a book of scruple, it is {found}: name your book with --book")]
    NotABook {
        /// The place that was named.
        path: PathBuf,
        /// What it is instead.
        found: &'static str,
    },
    /// The book was written by a later version of the program.
    #[error(
        "{path:?} was written by a newer scruple (book version {version}, this program reads up \
         to {known}): open it with the newer one, this one has changed nothing in it"
    )]
    Newer {
        /// The place that was named.
        path: PathBuf,
        /// The version of the book.
        version: i64,
        /// The newest version that this program reads.
        known: i64,
    },
    /// The book, or the part of it that was asked for, is not as it was written.
    #[error("{0}")]
    Damaged(Box<Damage>),
    /// The system does not let this person read or write here.
    #[error("the system does not allow you to use {path:?}: ask its owner, or name another place")]
    NotAllowed {
        /// The place that was named.
        path: PathBuf,
    },
    /// The file or its place can be read but not written.
    #[error(
        "{path:?} can only be read here, so nothing was kept: write in the original, or copy it to \
         a place where you may write"
    )]
    ReadOnly {
        /// The book.
        path: PathBuf,
    },
    /// The last writing was cut off, and undoing it needs a place that can be written.
    #[error(
        "the last writing in {path:?} was cut off and must be undone first: open it once where it \
         can be written, with its journal file beside it"
    )]
    CutOff {
        /// The book.
        path: PathBuf,
    },
    /// Another person or program is using the book.
    #[error(
        "{path:?} is being used by someone else, so nothing was kept: wait until they are done, \
         then try again"
    )]
    Locked {
        /// The book.
        path: PathBuf,
    },
    /// No room is left.
    #[error("there is no room left for {path:?}, so nothing was kept: free some, then try again")]
    Full {
        /// The book.
        path: PathBuf,
    },
    /// The disk or the network did not do what it was asked.
    #[error(
        "{path:?} could not be read or written ({detail}), so nothing was kept: check the disk, \
         then try again"
    )]
    Disk {
        /// The place that was named.
        path: PathBuf,
        /// What the system said.
        detail: String,
    },
    /// The last step of a writing failed.
    #[error(
        "{path:?} failed at the last step of writing ({detail}), so it may be kept or not: check \
         the disk, then look whether it stands in the book before you record it again"
    )]
    Unsure {
        /// The book.
        path: PathBuf,
        /// What the system said.
        detail: String,
    },
    /// A text is too long for the book.
    #[error("the {column} is {bytes} bytes long, and at most {most} are kept: shorten it")]
    TooLong {
        /// The column.
        column: &'static str,
        /// How long it is.
        bytes: usize,
        /// How long it may be.
        most: usize,
    },
    /// An entry belongs to nobody.
    #[error("an entry must say whom or what it is about: name it")]
    NoSubject,
    /// Open courses were to be noted of somebody who has no entry.
    #[error("nothing is recorded about {subject:?} yet: record that first")]
    UnknownSubject {
        /// The subject that was named.
        subject: String,
    },
    /// A time has no four-digit year.
    #[error("the {column} is not between the years 0 and 9999: check the date")]
    OutOfTime {
        /// The column.
        column: &'static str,
    },
}

impl BookError {
    /// Whether anything may have been kept.
    #[must_use]
    pub const fn kept(&self) -> Kept {
        match self {
            Self::Unsure { .. } => Kept::Unsure,
            _ => Kept::Nothing,
        }
    }

    /// Whether something failed (the disk, a lock, damage), as against something that was asked
    /// for and is not accepted (a place without a book, a text too long).
    #[must_use]
    pub const fn is_failure(&self) -> bool {
        match self {
            Self::Damaged(_)
            | Self::NotAllowed { .. }
            | Self::ReadOnly { .. }
            | Self::CutOff { .. }
            | Self::Locked { .. }
            | Self::Full { .. }
            | Self::Disk { .. }
            | Self::Unsure { .. } => true,
            Self::NoBook { .. }
            | Self::NoFolder { .. }
            | Self::AlreadyThere { .. }
            | Self::JournalBeside { .. }
            | Self::OntoItself { .. }
            | Self::NotABook { .. }
            | Self::Newer { .. }
            | Self::TooLong { .. }
            | Self::NoSubject
            | Self::UnknownSubject { .. }
            | Self::OutOfTime { .. } => false,
        }
    }

    /// What SQLite said about the book at `path`, in a keeper's words.
    pub(super) fn from_sqlite(path: &Path, error: &rusqlite::Error) -> Self {
        let path = path.to_path_buf();
        if damages(error) {
            return Self::Damaged(Box::new(Damage::of_file(error.to_string())));
        }
        // The extended codes that tell a journal waiting to be undone from a file that is merely
        // not writable: SQLITE_READONLY_ROLLBACK and SQLITE_READONLY_CANTINIT.
        const CUT_OFF: [i32; 2] = [776, 1288];
        let Some(code) = error.sqlite_error() else {
            return Self::Disk {
                path,
                detail: error.to_string(),
            };
        };
        if CUT_OFF.contains(&code.extended_code) {
            return Self::CutOff { path };
        }
        match code.code {
            ErrorCode::PermissionDenied | ErrorCode::AuthorizationForStatementDenied => {
                Self::NotAllowed { path }
            }
            ErrorCode::ReadOnly => Self::ReadOnly { path },
            ErrorCode::DatabaseBusy | ErrorCode::DatabaseLocked => Self::Locked { path },
            ErrorCode::DiskFull => Self::Full { path },
            _ => Self::Disk {
                path,
                detail: error.to_string(),
            },
        }
    }

    /// What the system said about the file at `path`.
    pub(super) fn from_system(path: &Path, error: &std::io::Error) -> Self {
        use std::io::ErrorKind;
        let path = path.to_path_buf();
        match error.kind() {
            ErrorKind::NotFound => Self::NoFolder { path },
            ErrorKind::AlreadyExists => Self::AlreadyThere { path },
            ErrorKind::PermissionDenied => Self::NotAllowed { path },
            ErrorKind::ReadOnlyFilesystem => Self::ReadOnly { path },
            ErrorKind::StorageFull | ErrorKind::QuotaExceeded => Self::Full { path },
            _ => Self::Disk {
                path,
                detail: error.to_string(),
            },
        }
    }
}

/// Whether SQLite's error means that the file's content is not what was written, as against a
/// lock, a full disk or a missing permission.
pub(super) fn damages(error: &rusqlite::Error) -> bool {
    use rusqlite::Error;
    match error {
        Error::SqliteFailure(code, _) | Error::SqlInputError { error: code, .. } => matches!(
            code.code,
            // A trigger that speaks, or a statement that no longer fits the tables, means that
            // another hand has been at them: this program asks for nothing that they refuse.
            ErrorCode::DatabaseCorrupt
                | ErrorCode::NotADatabase
                | ErrorCode::ConstraintViolation
                | ErrorCode::TypeMismatch
                | ErrorCode::TooBig
                | ErrorCode::Unknown
        ),
        Error::FromSqlConversionFailure(..)
        | Error::IntegralValueOutOfRange(..)
        | Error::Utf8Error(..)
        | Error::InvalidColumnType(..)
        | Error::QueryReturnedNoRows
        | Error::QueryReturnedMoreThanOneRow => true,
        _ => false,
    }
}

/// Why nothing was appended: the judging closure's own reason, or the book's.
#[derive(Debug)]
pub enum AppendError<E> {
    /// The closure that judged the book as it stood did not want anything appended.
    Judged(E),
    /// The book could not be read or written.
    Book(BookError),
}

impl<E> From<BookError> for AppendError<E> {
    fn from(error: BookError) -> Self {
        Self::Book(error)
    }
}

impl<E: std::fmt::Display> std::fmt::Display for AppendError<E> {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        match self {
            Self::Judged(error) => error.fmt(f),
            Self::Book(error) => error.fmt(f),
        }
    }
}

impl<E: std::error::Error> std::error::Error for AppendError<E> {}
