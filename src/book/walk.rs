//! Walking entries and their chains.
//!
//! Promises to hand out each entry that can be read, to name each number that cannot, and to find
//! the first break in every chain. Deliberately does not decide what a break means for the
//! caller.

use std::cmp::Ordering;
use std::collections::{BTreeMap, BTreeSet};
use std::path::Path;

use rusqlite::Connection;

use crate::book::chain::{self, BookId, Stored};
use crate::book::damage::{Damage, Fault};
use crate::book::error::{BookError, damages};
use crate::book::state::{Head, read_time};
use crate::entry::Row;

/// The columns of an entry, in the order that `stored` reads them.
const COLUMNS: &str = "seq, subject, n, course, kind, happened_at, recorded_at, clock_given, \
                       zone, body, link";

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
    let mut entries = 0;
    numbers(conn, path, known.last, |seq, found| {
        let row = match found {
            Found::Entry(entry) => {
                chains.step(&entry);
                row_of(&entry)
            }
            Found::Unreadable(detail) => {
                damage.push(Damage::of_number(seq, Fault::EntryUnreadable(detail)));
                None
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
    let unsound = findings.keys().cloned().collect();
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
    /// Nothing that can be read; the text is the reason.
    Unreadable(String),
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
            let entry = match rows.next() {
                Ok(None) => break false,
                Ok(Some(row)) => match (row.get::<_, i64>(0).map(u64::try_from), stored(row)) {
                    (Ok(Ok(seq)), entry) if seq >= next => (seq, entry),
                    _ => break true,
                },
                Err(error) if damages(&error) => break true,
                Err(error) => return Err(wrap(error)),
            };
            let (seq, entry) = entry;
            // A gap can be as wide as a damaged number makes it: only what should be there counts.
            for missing in next..seq.min(last.saturating_add(1)) {
                each(missing, Found::Nothing);
            }
            match entry {
                Ok(entry) => each(seq, Found::Entry(entry)),
                Err(error) if damages(&error) => each(seq, Found::Unreadable(error.to_string())),
                Err(error) => return Err(wrap(error)),
            }
            next = seq.saturating_add(1);
        }
    };
    for seq in next..=last {
        let found = if broken {
            match one(conn, "seq = ?1", [sql(seq)]) {
                Ok(Some(entry)) => Found::Entry(entry),
                Ok(None) => Found::Nothing,
                Err(error) if damages(&error) => Found::Unreadable(error.to_string()),
                Err(error) => return Err(wrap(error)),
            }
        } else {
            Found::Nothing
        };
        each(seq, found);
    }
    Ok(())
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
        conn.prepare_cached(&format!("SELECT {COLUMNS} FROM entry WHERE {condition}"))?;
    let mut rows = statement.query(params)?;
    rows.next()?.map(stored).transpose()
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
        match one(conn, "subject = ?1 AND n = ?2", (subject, sql(n))) {
            Ok(Some(entry)) => Ok(entry),
            Ok(None) => Err(damaged(n, None, Fault::EntryMissing)),
            Err(error) if damages(&error) => {
                Err(damaged(n, None, Fault::EntryUnreadable(error.to_string())))
            }
            Err(error) => Err(BookError::from_sqlite(path, &error)),
        }
    };
    let beyond = one(conn, "subject = ?1 AND n > ?2", (subject, sql(head.n)));
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

fn stored(row: &rusqlite::Row<'_>) -> rusqlite::Result<Stored> {
    Ok(Stored {
        seq: row.get(0)?,
        subject: row.get(1)?,
        n: row.get(2)?,
        course: row.get(3)?,
        kind: row.get(4)?,
        happened_at: row.get(5)?,
        recorded_at: row.get(6)?,
        clock_given: match row.get::<_, i64>(7)? {
            0 => false,
            1 => true,
            other => return Err(rusqlite::Error::IntegralValueOutOfRange(7, other)),
        },
        zone: row.get(8)?,
        body: row.get(9)?,
        link: row.get(10)?,
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
