//! Appending to a book.
//!
//! Promises that what is appended was judged on the book exactly as it stood when it was written:
//! the judging closure runs inside the transaction that writes, so that two people cannot both
//! find the gate open. All rows are kept or none. Deliberately never asks anyone anything: a
//! question inside a transaction would lock everyone else out while it waits.

use std::collections::BTreeMap;
use std::path::Path;

use chrono::{DateTime, Utc};
use rusqlite::{Connection, ErrorCode, Transaction, TransactionBehavior};

use crate::book::chain::{self, Stored, TopParts};
use crate::book::damage::{Damage, Fault};
use crate::book::error::{AppendError, BookError};
use crate::book::opened::{self, Noted, Opened};
use crate::book::state::{Head, State, read_time, write_time};
use crate::book::view::View;
use crate::book::walk::{row_of, sql};
use crate::book::{Book, data_version};
use crate::entry::{NewRow, Row, Stretch};

/// The longest `body` of an entry, in bytes.
pub const MOST_BODY_BYTES: usize = 1 << 20;
/// The longest of an entry's other texts, in bytes.
pub const MOST_TEXT_BYTES: usize = 4_096;

/// What is to be appended.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Draft {
    /// The rows, in the order they are to be kept. With none, nothing is written but the counts.
    pub rows: Vec<NewRow>,
    /// How many courses of a subject are open from now on, for those where that changes. Each
    /// needs an entry of its own, in the book or in this draft.
    pub open_courses: BTreeMap<String, u64>,
}

/// A draft, with what the day's work needs once it is kept.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct WithNeeds {
    /// What is to be appended.
    pub draft: Draft,
    /// Every subject that the day's work needs, with the stretches of its chain, in order, of which
    /// the last goes on to the newest entry; with none, where only its first entry is needed.
    /// Without it the book does not know from then on, and everything has to be read, until
    /// somebody says it again.
    pub opened: Option<BTreeMap<String, Vec<Stretch>>>,
}

impl<D: Into<Draft>> From<D> for WithNeeds {
    fn from(draft: D) -> Self {
        Self {
            draft: draft.into(),
            opened: None,
        }
    }
}

impl From<Vec<NewRow>> for Draft {
    fn from(rows: Vec<NewRow>) -> Self {
        Self {
            rows,
            open_courses: BTreeMap::new(),
        }
    }
}

impl Book {
    /// Gives `judge` the book as it stands, with everyone else kept from writing, and appends
    /// what it returns. Waits its turn for as long as the book's patience lasts. When it returns
    /// rows, they are on the disk. Without rows and counts nothing is written.
    ///
    /// # Errors
    /// `Judged` with the closure's own error; `Book` when the book cannot be read or written, a
    /// text is too long, or the subject's head is damaged. Nothing is kept then, unless
    /// [`BookError::kept`] says otherwise.
    pub fn append<E, D: Into<WithNeeds>>(
        &mut self,
        judge: impl FnOnce(&View<'_>) -> Result<D, E>,
    ) -> Result<Vec<Row>, AppendError<E>> {
        let path = self.path.as_path();
        if self.read_only {
            return Err(BookError::ReadOnly { path: path.into() }.into());
        }
        let wrap = |error| BookError::from_sqlite(path, &error);
        let transaction = self
            .conn
            .transaction_with_behavior(TransactionBehavior::Immediate)
            .map_err(wrap)?;
        let version = data_version(&transaction, path)?;
        let as_before = self.version == Some(version);
        if !as_before {
            self.version = None;
            self.state = if self.state.complete {
                State::load(&transaction, path)?
            } else {
                State::load_light(&transaction, path)?
            };
            self.version = Some(version);
        }
        let view = View::new(&transaction, path, &self.state, as_before);
        let told: WithNeeds = judge(&view).map_err(AppendError::Judged)?.into();
        let draft = told.draft;
        if draft.rows.is_empty() && draft.open_courses.is_empty() {
            return Ok(Vec::new());
        }
        let subjects = draft.rows.iter().map(|row| row.subject.as_str());
        let subjects = subjects.chain(draft.open_courses.keys().map(String::as_str));
        self.state.look_at(&transaction, path, subjects)?;
        let mut change = Change::new(&self.state);
        let mut rows = Vec::with_capacity(draft.rows.len());
        for row in &draft.rows {
            rows.push(change.entry(&transaction, path, row)?);
        }
        change.heads(&transaction, path, &draft.open_courses)?;
        let top = change.top(&transaction, path)?;
        let opened = match (told.opened, top) {
            (Some(opened), Some(top)) => {
                let opened = change.opened(&transaction, path, opened)?;
                let (id, before) = (self.state.identity.id, self.state.opened.as_ref());
                opened::write(&transaction, path, id, &top, before, &opened)?;
                Some(opened)
            }
            _ => None,
        };
        let (seq, newest, subjects) = (change.seq, change.newest, change.subjects());
        let heads = change.changed;
        if let Err(error) = commit(transaction, path) {
            self.version = None;
            return Err(error.into());
        }
        self.state.seq = seq;
        self.state.newest = newest;
        self.state.subjects = subjects;
        self.state.opened = opened;
        self.state.heads.extend(heads);
        Ok(rows)
    }
}

/// Makes it final. Until the journal is gone everything can be undone; an error at that very step
/// leaves open whether it was.
fn commit(transaction: Transaction<'_>, path: &Path) -> Result<(), BookError> {
    transaction.commit().map_err(|error| {
        let known = BookError::from_sqlite(path, &error);
        match (error.sqlite_error_code(), known) {
            (Some(ErrorCode::SystemIoFailure), BookError::Disk { path, detail }) => {
                BookError::Unsure { path, detail }
            }
            (_, known) => known,
        }
    })
}

/// What a transaction has changed so far.
struct Change<'a> {
    before: &'a State,
    seq: u64,
    newest: Option<DateTime<Utc>>,
    newest_link: Option<String>,
    changed: BTreeMap<String, Head>,
}

impl<'a> Change<'a> {
    const fn new(before: &'a State) -> Self {
        Self {
            before,
            seq: before.seq,
            newest: before.newest,
            newest_link: None,
            changed: BTreeMap::new(),
        }
    }

    /// The head of a subject as the transaction has left it so far, or that of a new chain.
    fn head(&self, subject: &str) -> Result<Head, BookError> {
        let head = (self.changed.get(subject)).or_else(|| self.before.heads.get(subject));
        if let Some(head) = head {
            return Ok(head.clone());
        }
        // While a head is damaged or lost, a subject without one may be that very subject: a
        // second chain must not be begun beside it.
        if let Some(damage) = self.before.damage.first() {
            return Err(BookError::Damaged(Box::new(damage.clone())));
        }
        Ok(Head {
            n: 0,
            link: chain::root(self.before.identity.id, subject),
            open_courses: 0,
        })
    }

    fn entry(&mut self, conn: &Connection, path: &Path, new: &NewRow) -> Result<Row, BookError> {
        check(new)?;
        let head = self.head(&new.subject)?;
        let mut entry = Stored {
            seq: sql(self.seq + 1),
            subject: new.subject.clone(),
            n: sql(head.n + 1),
            course: new.course.clone(),
            kind: new.kind.clone(),
            happened_at: time("time it happened", new.happened_at)?,
            recorded_at: time("time of writing", new.recorded_at)?,
            clock_given: new.clock_given,
            zone: new.zone.clone(),
            body: new.body.clone(),
            link: String::new(),
        };
        entry.link = chain::link(&head.link, &entry);
        conn.prepare_cached(
            "INSERT INTO entry(seq, subject, n, course, kind, happened_at, recorded_at, \
             clock_given, zone, body, link) VALUES (?1, ?2, ?3, ?4, ?5, ?6, ?7, ?8, ?9, ?10, ?11)",
        )
        .and_then(|mut statement| {
            statement.execute(rusqlite::params![
                entry.seq,
                entry.subject,
                entry.n,
                entry.course,
                entry.kind,
                entry.happened_at,
                entry.recorded_at,
                entry.clock_given,
                entry.zone,
                entry.body,
                entry.link,
            ])
        })
        .map_err(|error| BookError::from_sqlite(path, &error))?;
        self.seq += 1;
        self.newest = self.newest.max(Some(new.recorded_at));
        self.newest_link = Some(entry.link.clone());
        let open_courses = head.open_courses;
        let after = Head {
            n: head.n + 1,
            link: entry.link.clone(),
            open_courses,
        };
        self.changed.insert(entry.subject.clone(), after);
        row_of(&entry).ok_or(BookError::OutOfTime { column: "time" })
    }

    fn heads(
        &mut self,
        conn: &Connection,
        path: &Path,
        open_courses: &BTreeMap<String, u64>,
    ) -> Result<(), BookError> {
        for (subject, open) in open_courses {
            let mut head = self.head(subject)?;
            if head.n == 0 {
                let subject = subject.clone();
                return Err(BookError::UnknownSubject { subject });
            }
            head.open_courses = *open;
            self.changed.insert(subject.clone(), head);
        }
        for (subject, head) in &self.changed {
            let (n, open) = (sql(head.n), sql(head.open_courses));
            let seal = chain::seal(self.before.identity.id, subject, n, &head.link, open);
            let statement = if self.before.heads.contains_key(subject) {
                "UPDATE head SET n = ?2, link = ?3, open_courses = ?4, seal = ?5 WHERE subject = ?1"
            } else {
                "INSERT INTO head(subject, n, link, open_courses, seal) VALUES (?1, ?2, ?3, ?4, ?5)"
            };
            let written = conn
                .prepare_cached(statement)
                .and_then(|mut statement| statement.execute((subject, n, &head.link, open, seal)))
                .map_err(|error| BookError::from_sqlite(path, &error))?;
            if written != 1 {
                let damage = Damage::of_subject(subject, Fault::HeadMissing);
                return Err(BookError::Damaged(Box::new(damage)));
            }
        }
        Ok(())
    }

    /// How many subjects the book tells of from now on.
    fn subjects(&self) -> u64 {
        let known = &self.before.heads;
        let new = (self.changed.keys()).filter(|subject| !known.contains_key(*subject));
        self.before.subjects + new.count() as u64
    }

    /// What is to be noted of the subjects that the day's work needs, with the links at the ends.
    fn opened(
        &self,
        conn: &Connection,
        path: &Path,
        opened: BTreeMap<String, Vec<Stretch>>,
    ) -> Result<Opened, BookError> {
        let mut all = Opened::new();
        for (subject, stretches) in opened {
            let noted = self.before.opened.as_ref();
            let noted = noted.and_then(|noted| noted.get(&subject));
            let end = match (self.changed.get(&subject), noted.and_then(|all| all.last())) {
                (Some(head), _) => Some((head.n, head.link.clone())),
                (None, Some(noted)) => Some((noted.to, noted.link.clone())),
                (None, None) => {
                    let head = self.before.head(conn, path, &subject)?;
                    head.map(|head| (head.n, head.link))
                }
            };
            let Some(end) = end else {
                return Err(BookError::UnknownSubject { subject });
            };
            let none = [Stretch { from: 0, to: None }];
            let stretches: &[Stretch] = match stretches.as_slice() {
                [] => &none,
                stretches => stretches,
            };
            let mut ends = Vec::with_capacity(stretches.len());
            for Stretch { from, to } in stretches {
                let (to, link) = match to {
                    Some(to) => (*to, link_at(conn, path, &subject, *to)?),
                    None => end.clone(),
                };
                ends.push(Noted {
                    from: *from,
                    to,
                    link,
                });
            }
            all.insert(subject, ends);
        }
        Ok(all)
    }

    /// Writes the top, and returns its link; none where no entry was appended.
    fn top(&self, conn: &Connection, path: &Path) -> Result<Option<String>, BookError> {
        let Some(entry_link) = &self.newest_link else {
            return Ok(None);
        };
        let identity = &self.before.identity;
        let newest = self.newest.map(write_time);
        let parts = TopParts {
            id: identity.id,
            zone: &identity.zone,
            made: &identity.made_text,
            version: identity.version,
            seq: sql(self.seq),
            subjects: sql(self.subjects()),
            newest: newest.as_deref(),
            entry_link: Some(entry_link),
        };
        let link = parts.link();
        conn.execute(
            "UPDATE top SET seq = ?1, subjects = ?2, newest = ?3, link = ?4",
            (parts.seq, parts.subjects, parts.newest, &link),
        )
        .map_err(|error| BookError::from_sqlite(path, &error))?;
        Ok(Some(link))
    }
}

/// The link of one entry of a subject, which was followed in this very transaction or the one
/// before it.
fn link_at(conn: &Connection, path: &Path, subject: &str, n: u64) -> Result<String, BookError> {
    conn.prepare_cached("SELECT link FROM entry WHERE subject = ?1 AND n = ?2")
        .and_then(|mut statement| statement.query_row((subject, sql(n)), |row| row.get(0)))
        .map_err(|error| BookError::from_sqlite(path, &error))
}

fn time(column: &'static str, time: DateTime<Utc>) -> Result<String, BookError> {
    let text = write_time(time);
    if read_time(&text) == Some(time) {
        Ok(text)
    } else {
        Err(BookError::OutOfTime { column })
    }
}

fn check(new: &NewRow) -> Result<(), BookError> {
    if new.subject.is_empty() {
        return Err(BookError::NoSubject);
    }
    for (column, text, most) in [
        ("subject", new.subject.as_str(), MOST_TEXT_BYTES),
        (
            "course",
            new.course.as_deref().unwrap_or_default(),
            MOST_TEXT_BYTES,
        ),
        ("kind", new.kind.as_str(), MOST_TEXT_BYTES),
        ("zone", new.zone.as_str(), MOST_TEXT_BYTES),
        ("entry", new.body.as_str(), MOST_BODY_BYTES),
    ] {
        if text.len() > most {
            let bytes = text.len();
            return Err(BookError::TooLong {
                column,
                bytes,
                most,
            });
        }
    }
    Ok(())
}
