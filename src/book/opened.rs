//! Which subjects the day's work needs, and from which entry of their chains on.
//!
//! Promises: what is noted here stands only beside the very top that it was written with, and only
//! while its link holds; anything else reads as "not known", and then the whole book is read. It
//! holds no fact from which a dose could be worked out: a subject's number, its newest link, and
//! where to begin reading. Deliberately takes the judgement of what is needed from the caller.

use std::collections::BTreeMap;
use std::path::Path;

use rusqlite::{Connection, OptionalExtension};

use crate::book::chain::{self, BookId};
use crate::book::error::{BookError, damages};
use crate::book::walk::sql;

/// One stretch of a subject's chain that the day's work needs, with the link at its end.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) struct Noted {
    /// The number of its first entry; 0 where nothing but the subject's name and the first entry
    /// of its chain is needed.
    pub from: u64,
    /// The number of its last entry. Of a subject's last stretch it was the newest of the chain
    /// when this was written.
    pub to: u64,
    /// The link of that entry.
    pub link: String,
}

/// What the day's work needs: of each subject the stretches, in order, at least one.
pub(super) type Opened = BTreeMap<String, Vec<Noted>>;

/// Reads what is noted, if it was written with this top and is as it was written.
pub(super) fn read(
    conn: &Connection,
    path: &Path,
    id: BookId,
    top: &str,
) -> Result<Option<Opened>, BookError> {
    match sound(conn, id, top) {
        Ok(found) => Ok(found),
        // What cannot be read here is read from the chains themselves.
        Err(error) if damages(&error) => Ok(None),
        Err(error) => Err(BookError::from_sqlite(path, &error)),
    }
}

fn sound(conn: &Connection, id: BookId, top: &str) -> rusqlite::Result<Option<Opened>> {
    let written: Option<(String, String)> = conn
        .query_row("SELECT top, link FROM opened_with", [], |row| {
            Ok((row.get(0)?, row.get(1)?))
        })
        .optional()?;
    let Some((_, link)) = written.filter(|(with, _)| with == top) else {
        return Ok(None);
    };
    let mut statement =
        conn.prepare_cached("SELECT subject, since, n, link FROM opened ORDER BY subject, since")?;
    let mut rows = statement.query([])?;
    let mut found = Opened::new();
    while let Some(row) = rows.next()? {
        let (from, to): (i64, i64) = (row.get(1)?, row.get(2)?);
        let (Ok(from), Ok(to)) = (u64::try_from(from), u64::try_from(to)) else {
            return Ok(None);
        };
        let noted = Noted {
            from,
            to,
            link: row.get(3)?,
        };
        found.entry(row.get(0)?).or_default().push(noted);
    }
    Ok((link_of(id, top, &found) == link).then_some(found))
}

/// The link over all that is noted.
fn link_of(id: BookId, top: &str, all: &Opened) -> String {
    let rows = all.iter().flat_map(|(subject, stretches)| {
        let each = stretches.iter();
        each.map(|noted| {
            let link = noted.link.as_str();
            (subject.as_str(), sql(noted.from), sql(noted.to), link)
        })
    });
    chain::opened(id, top, rows)
}

/// Writes what is to be noted beside the new top, given what stands there now, if that is known.
pub(super) fn write(
    conn: &Connection,
    path: &Path,
    id: BookId,
    top: &str,
    before: Option<&Opened>,
    after: &Opened,
) -> Result<(), BookError> {
    put(conn, id, top, before, after).map_err(|error| BookError::from_sqlite(path, &error))
}

fn put(
    conn: &Connection,
    id: BookId,
    top: &str,
    before: Option<&Opened>,
    after: &Opened,
) -> rusqlite::Result<()> {
    let nothing = Opened::new();
    if before.is_none() {
        conn.execute("DELETE FROM opened", [])?;
    }
    let before = before.unwrap_or(&nothing);
    let changed = |subject: &&String| before.get(*subject) != after.get(*subject);
    for subject in before.keys().filter(changed) {
        conn.prepare_cached("DELETE FROM opened WHERE subject = ?1")?
            .execute([subject])?;
    }
    for subject in after.keys().filter(changed) {
        for noted in after.get(subject).into_iter().flatten() {
            conn.prepare_cached(
                "INSERT INTO opened(subject, since, n, link) VALUES (?1, ?2, ?3, ?4)",
            )?
            .execute((subject, sql(noted.from), sql(noted.to), &noted.link))?;
        }
    }
    conn.execute(
        "INSERT OR REPLACE INTO opened_with(one, top, link) VALUES (1, ?1, ?2)",
        (top, link_of(id, top, after)),
    )?;
    Ok(())
}
