//! What is wrong with a book, as data and in words.
//!
//! Promises to name the place (the subject, its entry, the number in the book) and what it means
//! for the keeper. Deliberately says "not as it was written", never who or what did it: the
//! chains show accidental damage, not a determined forger.

use std::fmt;

/// What was found at one place.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Fault {
    /// An entry is there, but its columns do not give its link.
    EntryChanged,
    /// An entry that the chain tells of is not there.
    EntryMissing,
    /// An entry is there that the chain does not tell of.
    EntryUnknown,
    /// An entry is there and cannot be read; the text is the reason.
    EntryUnreadable(String),
    /// What the book notes about a subject (its newest entry, its open courses) is not as it was
    /// written.
    HeadChanged,
    /// Entries stand under a subject that the book has no note of.
    HeadMissing,
    /// The number of subjects is not the number that the book noted.
    SubjectsMissing {
        /// How many the book noted.
        noted: u64,
        /// How many are there.
        found: u64,
    },
    /// The book's identity, its zone, or what it notes about its newest entry is not as it was
    /// written.
    TopChanged,
    /// A table, an index or a guard was changed by another program; the text is its name.
    PlanChanged(String),
    /// The structure of the file itself is faulty; the text is what SQLite says of it.
    File(String),
}

/// One finding: where, and what.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Damage {
    /// The subject whose chain it breaks; none where it concerns the whole book, or where the
    /// entry cannot be read far enough to tell.
    pub subject: Option<String>,
    /// The number of the first damaged entry in its subject's chain.
    pub n: Option<u64>,
    /// The number of the first damaged entry in the book.
    pub seq: Option<u64>,
    /// What was found.
    pub fault: Fault,
}

impl Damage {
    /// A finding about an entry of a subject.
    pub(super) fn of_entry(subject: &str, n: u64, seq: Option<u64>, fault: Fault) -> Self {
        Self {
            subject: Some(subject.to_owned()),
            n: Some(n),
            seq,
            fault,
        }
    }

    /// A finding about an entry that cannot be told to belong to a subject.
    pub(super) const fn of_number(seq: u64, fault: Fault) -> Self {
        Self {
            subject: None,
            n: None,
            seq: Some(seq),
            fault,
        }
    }

    /// A finding about a subject as a whole.
    pub(super) fn of_subject(subject: &str, fault: Fault) -> Self {
        Self {
            subject: Some(subject.to_owned()),
            n: None,
            seq: None,
            fault,
        }
    }

    /// A finding about the book as a whole.
    pub(super) const fn of_book(fault: Fault) -> Self {
        Self {
            subject: None,
            n: None,
            seq: None,
            fault,
        }
    }

    /// A finding about the file as SQLite sees it.
    pub(super) const fn of_file(detail: String) -> Self {
        Self::of_book(Fault::File(detail))
    }

    /// Whether it keeps the whole book from being used, as against one subject of it.
    #[must_use]
    pub const fn stops_the_book(&self) -> bool {
        match self.fault {
            Fault::TopChanged | Fault::PlanChanged(_) | Fault::File(_) => true,
            Fault::EntryChanged
            | Fault::EntryMissing
            | Fault::EntryUnknown
            | Fault::EntryUnreadable(_)
            | Fault::HeadChanged
            | Fault::HeadMissing
            | Fault::SubjectsMissing { .. } => false,
        }
    }

    /// What follows from it for the keeper, and what to do next.
    #[must_use]
    pub const fn meaning(&self) -> &'static str {
        if self.stops_the_book() {
            "no mark is computed from this book: restore a backup, or export what can still be read"
        } else {
            "no mark is computed from it: restore a backup, or export what can still be read and \
             ask everyone what was given"
        }
    }
}

impl fmt::Display for Damage {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match (&self.subject, self.n, self.seq) {
            (Some(subject), Some(n), Some(seq)) => write!(
                f,
                "{}, entry {n} (number {seq} in the book): ",
                shown(subject)
            )?,
            (Some(subject), Some(n), None) => {
                write!(f, "{}, entry {n}: ", shown(subject))?;
            }
            (Some(subject), ..) => write!(f, "{}: ", shown(subject))?,
            (None, _, Some(seq)) => write!(f, "number {seq} in the book: ")?,
            (None, ..) => write!(f, "the book: ")?,
        }
        match &self.fault {
            Fault::EntryChanged => write!(f, "the entry is not as it was written")?,
            Fault::EntryMissing => write!(f, "an entry is missing")?,
            Fault::EntryUnknown => write!(f, "an entry stands here that the book does not know")?,
            Fault::EntryUnreadable(detail) => {
                write!(f, "the entry cannot be read ({})", shown(detail))?;
            }
            Fault::HeadChanged => write!(f, "the note of its newest entry is not as written")?,
            Fault::HeadMissing => write!(f, "the note of its newest entry is missing")?,
            Fault::SubjectsMissing { noted, found } => write!(
                f,
                "it tells of {noted} animals, prescriptions, bottles and settings together, and \
                 {found} are there"
            )?,
            Fault::TopChanged => write!(
                f,
                "its identity, its zone or the note of its newest entry is not as written"
            )?,
            Fault::PlanChanged(name) => write!(
                f,
                "another program has changed how it is laid out ({})",
                shown(name)
            )?,
            Fault::File(detail) => {
                write!(f, "the file itself is damaged ({})", shown(detail))?;
            }
        }
        write!(f, "; {}", self.meaning())
    }
}

/// The start of a text that may hold anything and be of any length, so that it can neither steer a
/// terminal nor fill it.
fn shown(text: &str) -> String {
    const MOST: usize = 200;
    let mut shown: String = text
        .chars()
        .take(MOST)
        .flat_map(char::escape_debug)
        .collect();
    if text.chars().nth(MOST).is_some() {
        shown.push('…');
    }
    shown
}
