//! How a book is laid out in SQLite, and the steps from one version to the next.
//!
//! Promises that a step, once landed, is never edited: a change is a new step. The guards refuse
//! what an innocent hand might try (changing, removing or inserting out of turn); deliberately
//! they are no lock against someone who takes them away first, which is why the plan itself is
//! compared at every opening.

use std::path::Path;

use rusqlite::Connection;

use crate::book::damage::{Damage, Fault};
use crate::book::error::BookError;

/// The number in the file's header that tells a book from any other SQLite file: "SCRU" in ASCII.
pub(super) const APPLICATION_ID: i32 = 0x5343_5255;

/// The version that this program writes, and the newest that it reads.
pub(super) const VERSION: i64 = 2;

/// One table or trigger: its kind, its name, the table that it is on, and its SQL exactly as
/// SQLite keeps it.
struct Piece(&'static str, &'static str, &'static str, &'static str);

/// Everything that a book of version 1 holds, sorted by name.
const PLAN_1: [Piece; 16] = [
    Piece("table", "book", "book", BOOK),
    Piece("trigger", "book_keep", "book", BOOK_KEEP),
    Piece("trigger", "book_once", "book", BOOK_ONCE),
    Piece("trigger", "book_stay", "book", BOOK_STAY),
    Piece("table", "entry", "entry", ENTRY),
    Piece("trigger", "entry_keep", "entry", ENTRY_KEEP),
    Piece("trigger", "entry_next", "entry", ENTRY_NEXT),
    Piece("trigger", "entry_stay", "entry", ENTRY_STAY),
    Piece("table", "head", "head", HEAD),
    Piece("trigger", "head_follow", "head", HEAD_FOLLOW),
    Piece("trigger", "head_keep", "head", HEAD_KEEP),
    Piece("trigger", "head_start", "head", HEAD_START),
    Piece("table", "top", "top", TOP),
    Piece("trigger", "top_follow", "top", TOP_FOLLOW),
    Piece("trigger", "top_keep", "top", TOP_KEEP),
    Piece("trigger", "top_once", "top", TOP_ONCE),
];

/// What version 2 adds, sorted by name.
const ADDED_2: [Piece; 2] = [
    Piece("table", "opened", "opened", OPENED),
    Piece("table", "opened_with", "opened_with", OPENED_WITH),
];

/// Brings an empty file to the newest version.
pub(super) fn lay_out(conn: &Connection) -> rusqlite::Result<()> {
    for Piece(kind, _, _, sql) in &PLAN_1 {
        if *kind == "table" {
            conn.execute_batch(sql)?;
        }
    }
    for Piece(kind, _, _, sql) in &PLAN_1 {
        if *kind == "trigger" {
            conn.execute_batch(sql)?;
        }
    }
    conn.pragma_update(None, "application_id", APPLICATION_ID)?;
    conn.pragma_update(None, "user_version", 1)?;
    bring_up(conn)
}

/// Brings a book of an earlier version to the newest, inside a transaction.
pub(super) fn bring_up(conn: &Connection) -> rusqlite::Result<()> {
    if version(conn)? == 1 {
        for Piece(_, _, _, sql) in &ADDED_2 {
            conn.execute_batch(sql)?;
        }
        conn.pragma_update(None, "user_version", 2)?;
    }
    Ok(())
}

/// The version of a file.
pub(super) fn version(conn: &Connection) -> rusqlite::Result<i64> {
    conn.query_row("PRAGMA user_version", [], |row| row.get(0))
}

/// Compares what the file holds with what a book of this version holds. The statistics that other
/// programs leave behind change nothing that is read, and are let be.
pub(super) fn check_plan(conn: &Connection, path: &Path) -> Result<(), BookError> {
    let wrap = |error| BookError::from_sqlite(path, &error);
    let mut statement = conn
        .prepare_cached(
            "SELECT type, name, tbl_name, sql FROM sqlite_schema \
             WHERE name NOT GLOB 'sqlite_autoindex_*' AND name NOT GLOB 'sqlite_stat[0-9]' \
             ORDER BY name",
        )
        .map_err(wrap)?;
    let mut rows = statement.query([]).map_err(wrap)?;
    let added = if version(conn).map_err(wrap)? > 1 {
        &ADDED_2[..]
    } else {
        &[]
    };
    let mut plan: Vec<&Piece> = PLAN_1.iter().chain(added).collect();
    plan.sort_unstable_by_key(|Piece(_, name, ..)| *name);
    let mut plan = plan.into_iter();
    loop {
        let found = match rows.next().map_err(wrap)? {
            Some(row) => Some((
                row.get::<_, String>(0).map_err(wrap)?,
                row.get::<_, String>(1).map_err(wrap)?,
                row.get::<_, String>(2).map_err(wrap)?,
                row.get::<_, Option<String>>(3).map_err(wrap)?,
            )),
            None => None,
        };
        let other = match (plan.next(), found) {
            (None, None) => return Ok(()),
            (Some(Piece(.., name, _, _)), None) => (*name).to_owned(),
            (None, Some((_, name, ..))) => name,
            (Some(Piece(kind, name, table, sql)), Some(found)) => {
                if (&*found.0, &*found.1, &*found.2, found.3.as_deref())
                    == (*kind, *name, *table, Some(*sql))
                {
                    continue;
                }
                // Both are sorted by name: the first of the two is the odd one, missing or extra.
                found.1.min((*name).to_owned())
            }
        };
        return Err(changed(other));
    }
}

/// The finding that a table, guard or setting of the file is not as this program made it.
pub(super) fn changed(name: impl Into<String>) -> BookError {
    BookError::Damaged(Box::new(Damage::of_book(Fault::PlanChanged(name.into()))))
}

const BOOK: &str = "CREATE TABLE book(
    one INTEGER PRIMARY KEY CHECK (one = 1),
    id TEXT NOT NULL CHECK (length(id) = 32),
    zone TEXT NOT NULL,
    made TEXT NOT NULL,
    version INTEGER NOT NULL
) STRICT";

const ENTRY: &str = "CREATE TABLE entry(
    seq INTEGER PRIMARY KEY,
    subject TEXT NOT NULL,
    n INTEGER NOT NULL,
    course TEXT,
    kind TEXT NOT NULL,
    happened_at TEXT NOT NULL,
    recorded_at TEXT NOT NULL,
    clock_given INTEGER NOT NULL CHECK (clock_given IN (0, 1)),
    zone TEXT NOT NULL,
    body TEXT NOT NULL,
    link TEXT NOT NULL CHECK (length(link) = 64),
    UNIQUE (subject, n)
) STRICT";

const HEAD: &str = "CREATE TABLE head(
    subject TEXT PRIMARY KEY,
    n INTEGER NOT NULL,
    link TEXT NOT NULL,
    open_courses INTEGER NOT NULL CHECK (open_courses >= 0),
    seal TEXT NOT NULL CHECK (length(seal) = 64)
) STRICT, WITHOUT ROWID";

const TOP: &str = "CREATE TABLE top(
    one INTEGER PRIMARY KEY CHECK (one = 1),
    seq INTEGER NOT NULL,
    subjects INTEGER NOT NULL,
    newest TEXT,
    link TEXT NOT NULL CHECK (length(link) = 64)
) STRICT";

// Which subjects the day's work needs, and from where on. Without guards: it is worked out anew at
// any time, and what is not as it was written is not believed.

const OPENED: &str = "CREATE TABLE opened(
    subject TEXT NOT NULL,
    since INTEGER NOT NULL,
    n INTEGER NOT NULL,
    link TEXT NOT NULL,
    PRIMARY KEY (subject, since)
) STRICT, WITHOUT ROWID";

const OPENED_WITH: &str = "CREATE TABLE opened_with(
    one INTEGER PRIMARY KEY CHECK (one = 1),
    top TEXT NOT NULL,
    link TEXT NOT NULL
) STRICT";

// A row that is inserted in its turn cannot replace another one, so these guards also stop
// INSERT OR REPLACE and INSERT ... ON CONFLICT DO UPDATE, which pass a guard on DELETE by.

const BOOK_ONCE: &str = "CREATE TRIGGER book_once BEFORE INSERT ON book
WHEN EXISTS (SELECT 1 FROM book)
BEGIN SELECT RAISE(ABORT, 'a book has one identity'); END";

const BOOK_STAY: &str = "CREATE TRIGGER book_stay BEFORE UPDATE ON book
BEGIN SELECT RAISE(ABORT, 'the identity of a book stays as it is'); END";

const BOOK_KEEP: &str = "CREATE TRIGGER book_keep BEFORE DELETE ON book
BEGIN SELECT RAISE(ABORT, 'the identity of a book stays as it is'); END";

const ENTRY_NEXT: &str = "CREATE TRIGGER entry_next BEFORE INSERT ON entry
WHEN NEW.seq IS NOT (SELECT coalesce(max(seq), 0) + 1 FROM entry)
  OR NEW.n IS NOT (SELECT coalesce(max(n), 0) + 1 FROM entry WHERE subject = NEW.subject)
BEGIN SELECT RAISE(ABORT, 'entries are only appended'); END";

const ENTRY_STAY: &str = "CREATE TRIGGER entry_stay BEFORE UPDATE ON entry
BEGIN SELECT RAISE(ABORT, 'entries are never changed: a correction is an entry'); END";

const ENTRY_KEEP: &str = "CREATE TRIGGER entry_keep BEFORE DELETE ON entry
BEGIN SELECT RAISE(ABORT, 'entries are never removed: a correction is an entry'); END";

const HEAD_START: &str = "CREATE TRIGGER head_start BEFORE INSERT ON head
WHEN EXISTS (SELECT 1 FROM head WHERE subject = NEW.subject)
  OR NEW.n IS NOT (SELECT max(n) FROM entry WHERE subject = NEW.subject)
  OR NEW.link IS NOT (SELECT link FROM entry WHERE subject = NEW.subject AND n = NEW.n)
BEGIN SELECT RAISE(ABORT, 'a head follows the newest entry of its subject'); END";

const HEAD_FOLLOW: &str = "CREATE TRIGGER head_follow BEFORE UPDATE ON head
WHEN NEW.subject IS NOT OLD.subject
  OR NEW.n IS NOT (SELECT max(n) FROM entry WHERE subject = NEW.subject)
  OR NEW.link IS NOT (SELECT link FROM entry WHERE subject = NEW.subject AND n = NEW.n)
  OR NEW.n < OLD.n
BEGIN SELECT RAISE(ABORT, 'a head follows the newest entry of its subject'); END";

const HEAD_KEEP: &str = "CREATE TRIGGER head_keep BEFORE DELETE ON head
BEGIN SELECT RAISE(ABORT, 'a head follows the newest entry of its subject'); END";

const TOP_ONCE: &str = "CREATE TRIGGER top_once BEFORE INSERT ON top
WHEN EXISTS (SELECT 1 FROM top)
BEGIN SELECT RAISE(ABORT, 'the top follows the newest entry'); END";

const TOP_FOLLOW: &str = "CREATE TRIGGER top_follow BEFORE UPDATE ON top
WHEN NEW.seq IS NOT (SELECT max(seq) FROM entry)
  OR NEW.seq <= OLD.seq
  OR NEW.subjects < OLD.subjects
BEGIN SELECT RAISE(ABORT, 'the top follows the newest entry'); END";

const TOP_KEEP: &str = "CREATE TRIGGER top_keep BEFORE DELETE ON top
BEGIN SELECT RAISE(ABORT, 'the top follows the newest entry'); END";
