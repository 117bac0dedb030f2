//! Walking entries and their chains.
//!
//! Promises to hand out each entry that can be read, to name each number that cannot, and to find
//! the first break in every chain. Deliberately does not decide what a break means for the
//! caller.

use std::cmp::Ordering;
use std::collections::{BTreeMap, BTreeSet};
use std::path::Path;

use rusqlite::Connection;
use rusqlite::types::{Type, ValueRef};

use crate::book::chain::{self, BookId, Stored};
use crate::book::damage::{Damage, Fault};
use crate::book::error::{BookError, damages};
use crate::book::opened::Noted;
use crate::book::state::{Head, read_time};
use crate::entry::Row;

/// The columns of an entry, in the order that `stored` reads them.
const COLUMNS: &str = "entry.seq, entry.subject, entry.n, entry.course, entry.kind, \
                       entry.happened_at, entry.recorded_at, entry.clock_given, entry.zone, \
                       entry.body, entry.link";

/// The entries that the index finds, each read where it stands. Without the detour SQLite would
/// take the subject and the number from the index, and damage to those of the entry itself would
/// not be seen.
const PICKED: &str = "entry AS place CROSS JOIN entry ON entry.seq = place.seq";

/// What is known of a book before its entries are walked.
pub(super) struct Known<'a> {
    /// Its identity. Without one the first link of each chain is taken as it stands.
    pub id: Option<BookId>,
    /// The sound heads. Without any (where they cannot be read) the ends of the chains are taken
    /// as they stand.
    pub heads: Option<&'a BTreeMap<String, Head>>,
    /// The number of the newest entry.
    pub last: u64,
    /// What was found so far.
    pub damage: &'a [Damage],
}

/// What walking all entries of a book found.
pub(super) struct Whole {
    /// What is wrong, with what was known before: of each chain the first finding.
    pub damage: Vec<Damage>,
    /// The subjects whose entries cannot be relied on.
    pub unsound: BTreeSet<String>,
    /// How many entries there are that can be read.
    pub entries: u64,
    /// How many subjects they belong to.
    pub subjects: u64,
}

/// Walks all entries and all chains, handing out each number with its row, where it can be read.
pub(super) fn whole(
    conn: &Connection,
    path: &Path,
    known: &Known<'_>,
    mut each: impl FnMut(u64, Option<Row>),
) -> Result<Whole, BookError> {
    let mut chains = Chains {
        id: known.id,
        tails: BTreeMap::new(),
    };
    let mut damage = known.damage.to_vec();
    let mut unsound = BTreeSet::new();
    let mut entries = 0;
    numbers(conn, path, known.last, |seq, found| {
        let row = match found {
            Found::Entry(entry) => {
                chains.step(&entry);
                row_of(&entry)
            }
            Found::Unreadable(detail, row) => {
                let fault = Fault::EntryUnreadable(detail);
                match &row {
                    // A name that no head bears may be what is damaged.
                    Some(row)
                        if known
                            .heads
                            .is_some_and(|all| all.contains_key(&row.subject)) =>
                    {
                        chains.fail(row, fault);
                    }
                    _ => damage.push(Damage::of_number(seq, fault)),
                }
                unsound.extend(row.iter().map(|row| row.subject.clone()));
                row
            }
            Found::Nothing => {
                damage.push(Damage::of_number(seq, Fault::EntryMissing));
                None
            }
        };
        entries += u64::from(row.is_some());
        each(seq, row);
    })?;
    let subjects = chains.tails.len() as u64;
    let findings = chains.finish(known.heads);
    unsound.extend(findings.keys().cloned());
    // A head that is known to be damaged says more than that it is missing among the sound.
    let told = |finding: &Damage| {
        finding.fault == Fault::HeadMissing
            && (known.damage.iter()).any(|head| head.subject == finding.subject)
    };
    damage.extend(findings.into_values().filter(|finding| !told(finding)));
    Ok(Whole {
        damage,
        unsound,
        entries,
        subjects,
    })
}

/// What was found at a number of the book.
enum Found {
    /// An entry.
    Entry(Stored),
    /// An entry that cannot be read as it was written. The text is the reason; the row is what
    /// can be made out of it, with the sign � where a text is none.
    Unreadable(String, Option<Row>),
    /// Nothing.
    Nothing,
}

/// Reads every entry from number 1 to `last` in order, and any beyond it. Where the file is
/// damaged on the way, goes on number by number.
fn numbers(
    conn: &Connection,
    path: &Path,
    last: u64,
    mut each: impl FnMut(u64, Found),
) -> Result<(), BookError> {
    let wrap = |error| BookError::from_sqlite(path, &error);
    let mut next = 1;
    let broken = {
        let mut statement = conn
            .prepare_cached(&format!("SELECT {COLUMNS} FROM entry ORDER BY seq"))
            .map_err(wrap)?;
        let mut rows = statement.query([]).map_err(wrap)?;
        loop {
            let row = match rows.next() {
                Ok(None) => break false,
                Ok(Some(row)) => row,
                Err(error) if damages(&error) => break true,
                Err(error) => return Err(wrap(error)),
            };
            let seq = match row.get::<_, i64>(0).map(u64::try_from) {
                Ok(Ok(seq)) if seq >= next => seq,
                _ => break true,
            };
            // A gap can be as wide as a damaged number makes it: only what should be there counts.
            for missing in next..seq.min(last.saturating_add(1)) {
                each(missing, Found::Nothing);
            }
            each(seq, found(row).map_err(wrap)?);
            next = seq.saturating_add(1);
        }
    };
    for seq in next..=last {
        if broken {
            each(seq, at(conn, seq).map_err(wrap)?);
        } else {
            each(seq, Found::Nothing);
        }
    }
    Ok(())
}

/// What stands at one number.
fn at(conn: &Connection, seq: u64) -> rusqlite::Result<Found> {
    let mut statement =
        conn.prepare_cached(&format!("SELECT {COLUMNS} FROM entry WHERE seq = ?1"))?;
    let mut rows = statement.query([sql(seq)])?;
    match rows.next() {
        Ok(None) => Ok(Found::Nothing),
        Ok(Some(row)) => found(row),
        Err(error) if damages(&error) => Ok(Found::Unreadable(error.to_string(), None)),
        Err(error) => Err(error),
    }
}

fn found(row: &rusqlite::Row<'_>) -> rusqlite::Result<Found> {
    match stored(row, exactly) {
        Ok(entry) => Ok(Found::Entry(entry)),
        Err(error) if damages(&error) => {
            let rest = stored(row, as_far_as_possible).ok();
            let rest = rest.as_ref().and_then(row_of);
            Ok(Found::Unreadable(error.to_string(), rest))
        }
        Err(error) => Err(error),
    }
}

/// A count as SQLite's own integer. Counts beyond it do not occur: each stands for a row.
pub(super) fn sql(count: u64) -> i64 {
    i64::try_from(count).unwrap_or(i64::MAX)
}

/// Reads the one entry that a condition picks.
fn one(
    conn: &Connection,
    condition: &str,
    params: impl rusqlite::Params,
) -> rusqlite::Result<Option<Stored>> {
    let mut statement =
        conn.prepare_cached(&format!("SELECT {COLUMNS} FROM {PICKED} WHERE {condition}"))?;
    let mut rows = statement.query(params)?;
    rows.next()?.map(|row| stored(row, exactly)).transpose()
}

/// Walks one subject's chain from its newest entry back, checking each link, for as long as
/// `further` wants more. Hands the entries out newest first.
pub(super) fn back(
    conn: &Connection,
    path: &Path,
    id: BookId,
    subject: &str,
    head: &Head,
    mut further: impl FnMut(Row) -> bool,
) -> Result<(), BookError> {
    let damaged =
        |n, seq, fault| BookError::Damaged(Box::new(Damage::of_entry(subject, n, seq, fault)));
    let fetch = |n: u64| -> Result<Stored, BookError> {
        match one(
            conn,
            "place.subject = +?1 AND place.n = +?2",
            (subject, sql(n)),
        ) {
            Ok(Some(entry)) => Ok(entry),
            Ok(None) => Err(damaged(n, None, Fault::EntryMissing)),
            Err(error) if damages(&error) => {
                Err(damaged(n, None, Fault::EntryUnreadable(error.to_string())))
            }
            Err(error) => Err(BookError::from_sqlite(path, &error)),
        }
    };
    let beyond = one(
        conn,
        "place.subject = +?1 AND place.n > +?2",
        (subject, sql(head.n)),
    );
    match beyond {
        Ok(None) => {}
        Ok(Some(entry)) => {
            let (n, seq) = (head.n.saturating_add(1), u64::try_from(entry.seq).ok());
            return Err(damaged(n, seq, Fault::EntryUnknown));
        }
        Err(error) => return Err(BookError::from_sqlite(path, &error)),
    }
    let mut link = head.link.clone();
    let mut here = (head.n > 0).then(|| fetch(head.n)).transpose()?;
    let mut n = head.n;
    while let Some(entry) = here {
        let before = if n > 1 { Some(fetch(n - 1)?) } else { None };
        let before_link = match &before {
            Some(entry) => entry.link.clone(),
            None => chain::root(id, subject),
        };
        let number = u64::try_from(entry.seq).ok();
        let row = row_of(&entry)
            .filter(|row| row.n == n && row.subject == subject && row.link == link)
            .filter(|_| chain::link(&before_link, &entry) == link);
        let Some(row) = row else {
            return Err(damaged(n, number, Fault::EntryChanged));
        };
        if !further(row) {
            break;
        }
        link = before_link;
        here = before;
        n -= 1;
    }
    Ok(())
}

/// Reads a stretch of one subject's chain, checking each link up to that of its last entry; where
/// it is the chain's last stretch, nothing may stand beyond it.
pub(super) fn stretch(
    conn: &Connection,
    path: &Path,
    id: BookId,
    subject: &str,
    noted: &Noted,
    is_last: bool,
) -> Result<Vec<Row>, BookError> {
    let damaged =
        |n, seq, fault| BookError::Damaged(Box::new(Damage::of_entry(subject, n, seq, fault)));
    let wrap = |error| BookError::from_sqlite(path, &error);
    let mut statement = conn
        .prepare_cached(&format!(
            // The signs keep SQLite from planning anew for each number.
            "SELECT {COLUMNS} FROM {PICKED} \
             WHERE place.subject = +?1 AND place.n BETWEEN +?2 AND +?3 ORDER BY place.n"
        ))
        .map_err(wrap)?;
    // With the one before it: of that only the link is needed, and the next one's own link
    // vouches for it.
    let before = noted.from.saturating_sub(1);
    let end = if is_last { i64::MAX } else { sql(noted.to) };
    let mut found = statement.query((subject, sql(before), end)).map_err(wrap)?;
    let mut rows = Vec::new();
    let (mut n, mut link) = (before.max(1), chain::root(id, subject));
    while let Some(row) = found.next().map_err(wrap)? {
        let entry = stored(row, exactly).map_err(wrap)?;
        let seq = u64::try_from(entry.seq).ok();
        if n > noted.to {
            return Err(damaged(n, seq, Fault::EntryUnknown));
        }
        if n < noted.from {
            if entry.n != sql(n) || entry.subject != subject {
                return Err(damaged(n, None, Fault::EntryMissing));
            }
        } else {
            let row = linked(&link, &entry, subject, n);
            rows.push(row.ok_or_else(|| damaged(n, seq, Fault::EntryChanged))?);
        }
        link = entry.link;
        n += 1;
    }
    if n != noted.to + 1 || link != noted.link {
        return Err(damaged(n, None, Fault::EntryMissing));
    }
    Ok(rows)
}

/// Reads the first entry of a subject's chain, checked against the subject's root.
pub(super) fn first(
    conn: &Connection,
    path: &Path,
    id: BookId,
    subject: &str,
) -> Result<Row, BookError> {
    let damaged = |fault| BookError::Damaged(Box::new(Damage::of_entry(subject, 1, None, fault)));
    let entry = one(conn, "place.subject = +?1 AND place.n = 1", [subject])
        .map_err(|error| BookError::from_sqlite(path, &error))?;
    let entry = entry.ok_or_else(|| damaged(Fault::EntryMissing))?;
    let root = chain::root(id, subject);
    linked(&root, &entry, subject, 1).ok_or_else(|| damaged(Fault::EntryChanged))
}

/// The entry as a row, if it is the one of this number in this subject's chain and follows from
/// the link before it.
fn linked(before: &str, entry: &Stored, subject: &str, n: u64) -> Option<Row> {
    let row = row_of(entry).filter(|row| row.n == n && row.subject == subject)?;
    (chain::link(before, entry) == entry.link).then_some(row)
}

/// The chains of all subjects, followed while the book is read from its first entry on.
struct Chains {
    id: Option<BookId>,
    tails: BTreeMap<String, Tail>,
}

struct Tail {
    n: u64,
    link: String,
    damage: Option<Damage>,
}

impl Chains {
    /// Follows the chain of the entry's subject by one.
    fn step(&mut self, entry: &Stored) {
        if !self.tails.contains_key(&entry.subject) {
            let link = match self.id {
                Some(id) => chain::root(id, &entry.subject),
                None => String::new(),
            };
            let tail = Tail {
                n: 0,
                link,
                damage: None,
            };
            self.tails.insert(entry.subject.clone(), tail);
        }
        let Some(tail) = self.tails.get_mut(&entry.subject) else {
            return;
        };
        let expected = tail.n + 1;
        let rootless = self.id.is_none() && tail.n == 0;
        tail.n = expected;
        if tail.damage.is_some() {
            return;
        }
        let fault = if u64::try_from(entry.n).is_ok_and(|n| n > expected) {
            Some(Fault::EntryMissing)
        } else if entry.n.unsigned_abs() != expected
            || row_of(entry).is_none()
            || !(rootless || chain::link(&tail.link, entry) == entry.link)
        {
            Some(Fault::EntryChanged)
        } else {
            None
        };
        tail.damage = fault.map(|fault| {
            let seq = u64::try_from(entry.seq).ok();
            let seq = seq.filter(|_| fault != Fault::EntryMissing);
            Damage::of_entry(&entry.subject, expected, seq, fault)
        });
        tail.link.clone_from(&entry.link);
    }

    /// Counts an entry that cannot be read to its subject's chain, which is broken by it.
    fn fail(&mut self, row: &Row, fault: Fault) {
        let tail = self.tails.entry(row.subject.clone()).or_insert(Tail {
            n: 0,
            link: String::new(),
            damage: None,
        });
        tail.n += 1;
        tail.damage
            .get_or_insert_with(|| Damage::of_entry(&row.subject, tail.n, Some(row.seq), fault));
    }

    /// Compares where each chain ended with the heads, and returns the first finding of each
    /// subject, by name. A subject that is not named here is sound.
    fn finish(self, heads: Option<&BTreeMap<String, Head>>) -> BTreeMap<String, Damage> {
        let mut findings = BTreeMap::new();
        let none = BTreeMap::new();
        for subject in heads.unwrap_or(&none).keys() {
            if !self.tails.contains_key(subject) {
                let damage = Damage::of_entry(subject, 1, None, Fault::EntryMissing);
                findings.insert(subject.clone(), damage);
            }
        }
        for (subject, tail) in self.tails {
            let damage = match (tail.damage, heads) {
                (None, Some(heads)) => end(&subject, tail.n, &tail.link, heads.get(&subject)),
                (damage, _) => damage,
            };
            if let Some(damage) = damage {
                findings.insert(subject, damage);
            }
        }
        findings
    }
}

/// Compares the end of a chain without a break with its head.
fn end(subject: &str, n: u64, link: &str, head: Option<&Head>) -> Option<Damage> {
    let Some(head) = head else {
        return Some(Damage::of_subject(subject, Fault::HeadMissing));
    };
    let (n, fault) = match n.cmp(&head.n) {
        Ordering::Less => (n + 1, Fault::EntryMissing),
        Ordering::Greater => (head.n + 1, Fault::EntryUnknown),
        Ordering::Equal if link != head.link => (n, Fault::EntryChanged),
        Ordering::Equal => return None,
    };
    Some(Damage::of_entry(subject, n, None, fault))
}

/// How a text column is read.
type ReadText = fn(&rusqlite::Row<'_>, usize) -> rusqlite::Result<Option<String>>;

/// As it was written, or not at all.
fn exactly(row: &rusqlite::Row<'_>, column: usize) -> rusqlite::Result<Option<String>> {
    row.get(column)
}

/// With the sign � for what is not text.
fn as_far_as_possible(row: &rusqlite::Row<'_>, column: usize) -> rusqlite::Result<Option<String>> {
    Ok(match row.get_ref(column)? {
        ValueRef::Text(bytes) | ValueRef::Blob(bytes) => {
            Some(String::from_utf8_lossy(bytes).into_owned())
        }
        ValueRef::Integer(number) => Some(number.to_string()),
        ValueRef::Null | ValueRef::Real(_) => None,
    })
}

fn stored(row: &rusqlite::Row<'_>, read: ReadText) -> rusqlite::Result<Stored> {
    let text = |column| {
        let missing = || rusqlite::Error::InvalidColumnType(column, String::new(), Type::Null);
        read(row, column)?.ok_or_else(missing)
    };
    Ok(Stored {
        seq: row.get(0)?,
        subject: text(1)?,
        n: row.get(2)?,
        course: read(row, 3)?,
        kind: text(4)?,
        happened_at: text(5)?,
        recorded_at: text(6)?,
        clock_given: match row.get::<_, i64>(7)? {
            0 => false,
            1 => true,
            other => return Err(rusqlite::Error::IntegralValueOutOfRange(7, other)),
        },
        zone: text(8)?,
        body: text(9)?,
        link: text(10)?,
    })
}

/// The entry as a row for the rooms below; none where a number or a time of it makes no sense.
pub(super) fn row_of(entry: &Stored) -> Option<Row> {
    Some(Row {
        seq: u64::try_from(entry.seq).ok()?,
        n: u64::try_from(entry.n).ok()?,
        link: entry.link.clone(),
        subject: entry.subject.clone(),
        course: entry.course.clone(),
        kind: entry.kind.clone(),
        happened_at: read_time(&entry.happened_at)?,
        recorded_at: read_time(&entry.recorded_at)?,
        clock_given: entry.clock_given,
        zone: entry.zone.clone(),
        body: entry.body.clone(),
    })
}
