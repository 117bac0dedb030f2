//! What a book says of itself: its identity, its newest entry, the heads of its chains, and which
//! subjects the day's work needs.
//!
//! Promises that what it hands out was checked: the plan, the top against the newest entry, every
//! head against its seal. With all heads the cost grows with the number of subjects; without, not
//! even with that. Deliberately does not walk a chain.

use std::collections::BTreeMap;
use std::path::Path;

use chrono::{DateTime, SecondsFormat, Utc};
use rusqlite::{Connection, OptionalExtension};

use crate::book::chain::{self, BookId, TopParts};
use crate::book::damage::{Damage, Fault};
use crate::book::error::{BookError, damages};
use crate::book::opened::{self, Opened};
use crate::book::schema;

/// What the `book` table holds.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) struct Identity {
    pub id: BookId,
    pub zone: String,
    pub made: DateTime<Utc>,
    /// The text that `made` was read from, which is what the top's link is made over.
    pub made_text: String,
    pub version: i64,
}

/// What the book notes about one subject.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Head {
    /// How many entries its chain holds.
    pub n: u64,
    /// The link of the newest one.
    pub link: String,
    /// How many courses of it were open when it was last written, as the writer said.
    pub open_courses: u64,
}

/// A checked picture of the book at one moment.
#[derive(Debug, Clone)]
pub(super) struct State {
    pub identity: Identity,
    /// How many entries there are.
    pub seq: u64,
    /// How many subjects the book tells of.
    pub subjects: u64,
    /// The latest time of writing among all entries.
    pub newest: Option<DateTime<Utc>>,
    /// What the day's work needs, where that is known.
    pub opened: Option<Opened>,
    /// Whether every head was looked at, and not only those that were asked for.
    pub complete: bool,
    /// The sound heads that were looked at.
    pub heads: BTreeMap<String, Head>,
    /// What is wrong with the others.
    pub damage: Vec<Damage>,
}

impl State {
    /// Reads and checks it, with every head. Must be called inside a transaction.
    pub(super) fn load(conn: &Connection, path: &Path) -> Result<Self, BookError> {
        let mut state = Self::load_light(conn, path)?;
        state.complete(conn, path)?;
        Ok(state)
    }

    /// Reads and checks it without the heads. Must be called inside a transaction.
    pub(super) fn load_light(conn: &Connection, path: &Path) -> Result<Self, BookError> {
        schema::check_plan(conn, path)?;
        check_file(conn, path)?;
        let identity = identity(conn, path)?;
        let top = top(conn, path)?;
        let newest_link: Option<String> = conn
            .query_row(
                "SELECT link FROM entry WHERE seq = (SELECT max(seq) FROM entry) AND seq = ?1",
                [top.seq],
                |row| row.get(0),
            )
            .optional()
            .map_err(|error| BookError::from_sqlite(path, &error))?;
        let any: bool = conn
            .query_row("SELECT EXISTS (SELECT 1 FROM entry)", [], |row| row.get(0))
            .map_err(|error| BookError::from_sqlite(path, &error))?;
        let parts = TopParts {
            id: identity.id,
            zone: &identity.zone,
            made: &identity.made_text,
            version: identity.version,
            seq: top.seq,
            subjects: top.subjects,
            newest: top.newest.as_deref(),
            entry_link: newest_link.as_deref(),
        };
        let (Ok(seq), Ok(subjects)) = (u64::try_from(top.seq), u64::try_from(top.subjects)) else {
            return Err(top_changed());
        };
        if parts.link() != top.link || any != (seq > 0) || newest_link.is_some() != any {
            return Err(top_changed());
        }
        let newest = match top.newest.as_deref().map(read_time) {
            Some(None) => return Err(top_changed()),
            Some(time) => time,
            None => None,
        };
        let version =
            schema::version(conn).map_err(|error| BookError::from_sqlite(path, &error))?;
        let opened = if version > 1 {
            opened::read(conn, path, identity.id, &top.link)?
        } else {
            None
        };
        Ok(Self {
            identity,
            seq,
            subjects,
            newest,
            opened,
            complete: false,
            heads: BTreeMap::new(),
            damage: Vec::new(),
        })
    }

    /// Looks at every head.
    pub(super) fn complete(&mut self, conn: &Connection, path: &Path) -> Result<(), BookError> {
        let (heads, mut damage) = heads(conn, path, self.identity.id)?;
        let found = (heads.len() + damage.len()) as u64;
        if found != self.subjects {
            damage.push(Damage::of_book(Fault::SubjectsMissing {
                noted: self.subjects,
                found,
            }));
        }
        (self.heads, self.damage, self.complete) = (heads, damage, true);
        Ok(())
    }

    /// Sees to it that the heads of these subjects were looked at; at all heads, where one of them
    /// is not there or not as it was written.
    pub(super) fn look_at<'s>(
        &mut self,
        conn: &Connection,
        path: &Path,
        subjects: impl Iterator<Item = &'s str>,
    ) -> Result<(), BookError> {
        for subject in subjects {
            if self.complete || self.heads.contains_key(subject) {
                continue;
            }
            match self.head(conn, path, subject)? {
                Some(head) => {
                    self.heads.insert(subject.to_owned(), head);
                }
                None => self.complete(conn, path)?,
            }
        }
        Ok(())
    }

    /// One head, if it is there, as it was written, and the one that the day's work goes by.
    pub(super) fn head(
        &self,
        conn: &Connection,
        path: &Path,
        subject: &str,
    ) -> Result<Option<Head>, BookError> {
        if let Some(head) = self.heads.get(subject) {
            return Ok(Some(head.clone()));
        }
        let found = conn
            .prepare_cached(
                "SELECT subject, n, link, open_courses, seal FROM head WHERE subject = ?1",
            )
            .and_then(|mut statement| {
                statement
                    .query_row([subject], |row| head(row, self.identity.id))
                    .optional()
            });
        let found = match found {
            Ok(found) => found.and_then(|(_, head)| head),
            Err(error) if damages(&error) => None,
            Err(error) => return Err(BookError::from_sqlite(path, &error)),
        };
        let opened = self.opened.as_ref().and_then(|all| all.get(subject));
        let newest = opened.and_then(|stretches| stretches.last());
        Ok(found.filter(|head| {
            newest.is_none_or(|newest| newest.to == head.n && newest.link == head.link)
        }))
    }
}

fn top_changed() -> BookError {
    BookError::Damaged(Box::new(Damage::of_book(Fault::TopChanged)))
}

/// Two settings in the file's header that change nothing that is read today and would ruin pages
/// when it is written to: a length that is not the file's, and a switch that this program never
/// turns on.
fn check_file(conn: &Connection, path: &Path) -> Result<(), BookError> {
    let number = |pragma: &str| -> Result<i64, BookError> {
        conn.query_row(pragma, [], |row| row.get(0))
            .map_err(|error| BookError::from_sqlite(path, &error))
    };
    if number("PRAGMA auto_vacuum")? != 0 {
        return Err(schema::changed("auto_vacuum"));
    }
    let noted = number("PRAGMA page_count")?.checked_mul(number("PRAGMA page_size")?);
    let length = std::fs::metadata(path)
        .map_err(|error| BookError::from_system(path, &error))?
        .len();
    if noted.and_then(|noted| u64::try_from(noted).ok()) != Some(length) {
        let detail = String::from("its length is not the one that it notes");
        return Err(BookError::Damaged(Box::new(Damage::of_file(detail))));
    }
    Ok(())
}

/// Reads the `book` table.
pub(super) fn identity(conn: &Connection, path: &Path) -> Result<Identity, BookError> {
    let (id, zone, made_text, version): (String, String, String, i64) = conn
        .query_row("SELECT id, zone, made, version FROM book", [], |row| {
            Ok((row.get(0)?, row.get(1)?, row.get(2)?, row.get(3)?))
        })
        .map_err(|error| BookError::from_sqlite(path, &error))?;
    let (Some(id), Some(made)) = (BookId::parse(&id), read_time(&made_text)) else {
        return Err(top_changed());
    };
    Ok(Identity {
        id,
        zone,
        made,
        made_text,
        version,
    })
}

struct Top {
    seq: i64,
    subjects: i64,
    newest: Option<String>,
    link: String,
}

fn top(conn: &Connection, path: &Path) -> Result<Top, BookError> {
    conn.query_row("SELECT seq, subjects, newest, link FROM top", [], |row| {
        Ok(Top {
            seq: row.get(0)?,
            subjects: row.get(1)?,
            newest: row.get(2)?,
            link: row.get(3)?,
        })
    })
    .map_err(|error| BookError::from_sqlite(path, &error))
}

/// Reads every head: the sound ones, and one finding for each of the others.
pub(super) fn heads(
    conn: &Connection,
    path: &Path,
    id: BookId,
) -> Result<(BTreeMap<String, Head>, Vec<Damage>), BookError> {
    let wrap = |error| BookError::from_sqlite(path, &error);
    let mut statement = conn
        .prepare_cached("SELECT subject, n, link, open_courses, seal FROM head")
        .map_err(wrap)?;
    let mut rows = statement.query([]).map_err(wrap)?;
    let mut sound = BTreeMap::new();
    let mut damage = Vec::new();
    while let Some(row) = rows.next().map_err(wrap)? {
        match head(row, id) {
            Ok((subject, Some(head))) => {
                if sound.insert(subject.clone(), head).is_some() {
                    damage.push(Damage::of_subject(&subject, Fault::HeadChanged));
                }
            }
            Ok((subject, None)) => {
                damage.push(Damage::of_subject(&subject, Fault::HeadChanged));
            }
            Err(error) if damages(&error) => damage.push(Damage::of_book(Fault::HeadChanged)),
            Err(error) => return Err(wrap(error)),
        }
    }
    Ok((sound, damage))
}

fn head(row: &rusqlite::Row<'_>, id: BookId) -> rusqlite::Result<(String, Option<Head>)> {
    let subject: String = row.get(0)?;
    let (n, link, open_courses): (i64, String, i64) = (row.get(1)?, row.get(2)?, row.get(3)?);
    let seal: String = row.get(4)?;
    let head = match (u64::try_from(n), u64::try_from(open_courses)) {
        (Ok(count), Ok(open)) if chain::seal(id, &subject, n, &link, open_courses) == seal => {
            Some(Head {
                n: count,
                link,
                open_courses: open,
            })
        }
        _ => None,
    };
    Ok((subject, head))
}

/// The one way in which a time is written in a book: RFC 3339 in UTC, with as many digits after
/// the second as it needs.
pub(super) fn write_time(time: DateTime<Utc>) -> String {
    time.to_rfc3339_opts(SecondsFormat::AutoSi, true)
}

/// Reads a time that was written so.
pub(super) fn read_time(text: &str) -> Option<DateTime<Utc>> {
    DateTime::parse_from_rfc3339(text)
        .ok()
        .map(|time| time.with_timezone(&Utc))
}
