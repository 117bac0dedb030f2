//! Walking everything there is: to say what is wrong, and to save what can be read.
//!
//! Promises to get as far as the file lets it, in a book too damaged to be opened for use.
//! Deliberately changes nothing and mends nothing.

use std::collections::{BTreeMap, BTreeSet};
use std::fs;
use std::path::{Path, PathBuf};

use chrono::{DateTime, Utc};
use rusqlite::Connection;
use rusqlite::config::DbConfig;

use crate::book::chain::{self, BookId, Stored};
use crate::book::damage::Damage;
use crate::book::error::BookError;
use crate::book::open::{self, Access};
use crate::book::state::{self, Head, Identity, State, write_time};
use crate::book::view::Reading;
use crate::book::walk::{self, Known, Whole, sql};
use crate::entry::Row;

/// How often progress is told, in entries.
const STEP: u64 = 1_024;

/// What walking a whole book found.
#[derive(Debug, Clone, PartialEq, Eq)]
#[must_use = "damage that is not looked at is not noticed"]
pub struct Verdict {
    /// How many entries were read.
    pub entries: u64,
    /// How many subjects they belong to.
    pub subjects: u64,
    /// What is wrong, the first finding of each subject; empty if the book is sound.
    pub damage: Vec<Damage>,
}

impl Verdict {
    /// Whether nothing was found.
    #[must_use]
    pub const fn is_sound(&self) -> bool {
        self.damage.is_empty()
    }
}

/// What could be saved from a book.
#[derive(Debug, Clone, PartialEq, Eq)]
#[must_use = "damage that is not looked at is not noticed"]
pub struct Rescue {
    /// The book's identity, where it can be read. With damage to the whole book it may be wrong.
    pub id: Option<BookId>,
    /// The time zone that it was begun with, likewise.
    pub zone: Option<String>,
    /// When it was begun, likewise.
    pub made: Option<DateTime<Utc>>,
    /// How many courses of each subject were open, where its head is sound.
    pub open_courses: BTreeMap<String, u64>,
    /// The entries, and what is wrong.
    pub reading: Reading,
}

/// Reads the whole book at `path`, as far as that can be done, and says what is wrong with it:
/// its plan, its top, its heads, every link of every chain and the structure of the file.
/// `progress` is told how many entries of how many were read.
///
/// # Errors
/// When the file is not there, is not a book, is a newer one, or cannot be read for another
/// reason than damage.
pub fn verify(path: &Path, mut progress: impl FnMut(u64, u64)) -> Result<Verdict, BookError> {
    let source = Source::open(path)?;
    let whole = source.walk(&mut progress, |_| {})?;
    let mut damage = whole.damage;
    damage.extend(source.structure()?);
    Ok(Verdict {
        entries: whole.entries,
        subjects: whole.subjects,
        damage,
    })
}

/// Saves what can be read of the whole book at `path`, sound or not. `progress` is told how many
/// entries of how many were read.
///
/// # Errors
/// As for [`verify`].
pub fn rescue(path: &Path, mut progress: impl FnMut(u64, u64)) -> Result<Rescue, BookError> {
    let source = Source::open(path)?;
    let mut rows = Vec::new();
    let whole = source.walk(&mut progress, |row| rows.push(row))?;
    let heads = source.heads.as_ref();
    let open_courses = heads.map(|heads| {
        let open = heads
            .iter()
            .map(|(subject, head)| (subject.clone(), head.open_courses));
        open.filter(|(_, open)| *open > 0).collect()
    });
    let identity = source.identity.as_ref();
    Ok(Rescue {
        id: identity.map(|identity| identity.id),
        zone: identity.map(|identity| identity.zone.clone()),
        made: identity.map(|identity| identity.made),
        open_courses: open_courses.unwrap_or_default(),
        reading: Reading::part(rows, whole),
    })
}

/// The place among these entries, all of one book from its first on, of the first that does not
/// follow from those before it: appended to an empty book of this identity it would not become
/// what it says it is. Tells now and then how many of how many are checked.
#[must_use]
pub fn first_unlinked(
    id: BookId,
    rows: &[Row],
    mut progress: impl FnMut(u64, u64),
) -> Option<usize> {
    let all = rows.len() as u64;
    let mut tails: BTreeMap<&str, (u64, &str)> = BTreeMap::new();
    rows.iter().zip(1..).position(|(row, seq)| {
        if seq % STEP == 0 || seq == all {
            progress(seq, all);
        }
        let (n, before) = match tails.get(row.subject.as_str()) {
            Some((n, link)) => (n + 1, (*link).to_owned()),
            None => (1, chain::root(id, &row.subject)),
        };
        let entry = Stored {
            seq: sql(row.seq),
            subject: row.subject.clone(),
            n: sql(row.n),
            course: row.course.clone(),
            kind: row.kind.clone(),
            happened_at: write_time(row.happened_at),
            recorded_at: write_time(row.recorded_at),
            clock_given: row.clock_given,
            zone: row.zone.clone(),
            body: row.body.clone(),
            link: String::new(),
        };
        tails.insert(&row.subject, (n, &row.link));
        (row.seq, row.n) != (seq, n) || chain::link(&before, &entry) != row.link
    })
}

/// A book opened as far as it can be.
struct Source {
    conn: Connection,
    path: PathBuf,
    identity: Option<Identity>,
    heads: Option<BTreeMap<String, Head>>,
    last: u64,
    damage: Vec<Damage>,
}

impl Source {
    /// Opens it and begins the transaction in which everything is read.
    fn open(path: &Path) -> Result<Self, BookError> {
        let path = open::absolute(path)?;
        let conn = open::connect(&path, Access::Read, open::PATIENCE)?;
        lenient(&conn)
            .and_then(|()| conn.execute_batch("BEGIN"))
            .map_err(|error| BookError::from_sqlite(&path, &error))?;
        let mut damage = Vec::new();
        if let Some(state) = tolerate(State::load(&conn, &path), &mut damage)? {
            damage.extend(state.damage);
            return Ok(Self {
                conn,
                path,
                identity: Some(state.identity),
                heads: Some(state.heads),
                last: state.seq,
                damage,
            });
        }
        // What stopped it is noted; the parts may still be readable one by one.
        let identity = tolerate(state::identity(&conn, &path), &mut Vec::new())?;
        let heads = match &identity {
            Some(identity) => tolerate(state::heads(&conn, &path, identity.id), &mut Vec::new())?,
            None => None,
        };
        let last = tolerate(highest(&conn, &path), &mut damage)?.unwrap_or_default();
        let heads = heads.map(|(heads, unsound)| {
            damage.extend(unsound);
            heads
        });
        Ok(Self {
            conn,
            path,
            identity,
            heads,
            last,
            damage,
        })
    }

    /// Walks every entry, handing out each that can be read.
    fn walk(
        &self,
        progress: &mut impl FnMut(u64, u64),
        mut each: impl FnMut(Row),
    ) -> Result<Whole, BookError> {
        let known = Known {
            id: self.identity.as_ref().map(|identity| identity.id),
            heads: self.heads.as_ref(),
            last: self.last,
            damage: &self.damage,
        };
        let whole = walk::whole(&self.conn, &self.path, &known, |seq, row| {
            if seq.is_multiple_of(STEP) {
                progress(seq, self.last);
            }
            row.into_iter().for_each(&mut each);
        });
        progress(self.last, self.last);
        let mut damage = self.damage.clone();
        Ok(tolerate(whole, &mut damage)?.unwrap_or(Whole {
            damage,
            unsound: BTreeSet::new(),
            entries: 0,
            subjects: 0,
        }))
    }

    /// What SQLite itself finds wrong with the file, its indexes included.
    fn structure(&self) -> Result<Vec<Damage>, BookError> {
        let mut damage = Vec::new();
        let said = self
            .conn
            .prepare("PRAGMA integrity_check(20)")
            .and_then(|mut statement| {
                let rows = statement.query_map([], |row| row.get::<_, String>(0))?;
                rows.collect::<rusqlite::Result<Vec<_>>>()
            })
            .map_err(|error| BookError::from_sqlite(&self.path, &error));
        for line in tolerate(said, &mut damage)?.unwrap_or_default() {
            if line != "ok" {
                damage.push(Damage::of_file(line));
            }
        }
        Ok(damage)
    }
}

/// Lets a guard whose text is damaged be passed over: no entry is lost for it. This connection
/// only ever reads.
fn lenient(conn: &Connection) -> rusqlite::Result<()> {
    conn.set_db_config(DbConfig::SQLITE_DBCONFIG_DEFENSIVE, false)?;
    conn.pragma_update(None, "writable_schema", true)
}

/// Notes damage and goes on; everything else is still an error.
fn tolerate<T>(
    result: Result<T, BookError>,
    damage: &mut Vec<Damage>,
) -> Result<Option<T>, BookError> {
    match result {
        Ok(value) => Ok(Some(value)),
        Err(BookError::Damaged(found)) => {
            damage.push(*found);
            Ok(None)
        }
        Err(error) => Err(error),
    }
}

/// The highest number among the entries, where the top cannot be relied on: never more than fit
/// into the file, since a damaged number can be anything.
fn highest(conn: &Connection, path: &Path) -> Result<u64, BookError> {
    /// An entry's link alone is this long.
    const FEWEST_BYTES: u64 = 64;
    let highest: i64 = conn
        .query_row("SELECT coalesce(max(seq), 0) FROM entry", [], |row| {
            row.get(0)
        })
        .map_err(|error| BookError::from_sqlite(path, &error))?;
    let length = (fs::metadata(path))
        .map_err(|error| BookError::from_system(path, &error))?
        .len();
    Ok(u64::try_from(highest)
        .unwrap_or_default()
        .min(length / FEWEST_BYTES))
}
