//! The document: RON, one entry a line.
//!
//! Promises: written text is read back to the same entries; unknown and doubled fields, another
//! encoding, a deep nest and a newer version are each refused in words. Memory while reading is
//! bounded by [`MOST_BYTES`] of text and the entries in it: about four times that in all (measured:
//! 147 MiB for 38 MB of 101,001 entries).

use crate::entry::{Row, short_code};
use crate::notation::fold::is_unseen;
use crate::transfer::Archive;
use chrono::{DateTime, SecondsFormat, Utc};
use ron::ser::PrettyConfig;
use serde::{Deserialize, Serialize};
use std::borrow::Cow;
use std::collections::BTreeMap;

/// The version that is written, and the newest that is read.
pub const VERSION: u32 = 1;

/// The longest document that is read, in bytes: 1 GiB, more than a million entries.
pub const MOST_BYTES: u64 = 1 << 30;

/// Why a document was not read.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
pub enum ArchiveError {
    /// Too long.
    #[error("the file is longer than {} MiB, which no export is: check its name", MOST_BYTES >> 20)]
    TooLong,
    /// A book instead of an export of one.
    #[error(
        "the file is a book, not an export: name it with --book, or copy it with 'scruple backup'"
    )]
    Book,
    /// Not UTF-8.
    #[error(
        "the file is not UTF-8 text (byte {0}): use the file as it was exported, not one that another program has saved"
    )]
    Encoding(usize),
    /// A newer version.
    #[error("the file was exported by a newer scruple (form {0}): import it with that one")]
    Newer(u32),
    /// Not RON, or not an export.
    #[error(
        "the file is not an export of scruple (line {line}, column {column}: {why}): use the file just as 'scruple export' wrote it"
    )]
    NotAnExport {
        /// From 1.
        line: usize,
        /// From 1.
        column: usize,
        /// What the reader found, in short.
        why: String,
    },
    /// A text that is no time.
    #[error("entry {entry} has '{text}' for a time: the file was changed after it was exported")]
    Time {
        /// Its number.
        entry: u64,
        /// What stands there.
        text: String,
    },
    /// The check code is another one.
    #[error(
        "the file is not as it was exported: its check code is {found} and should be {expected}. Take another copy of it"
    )]
    Changed {
        /// As it follows from what stands in the file.
        expected: String,
        /// As it stands in the file.
        found: String,
    },
    /// The numbers do not follow each other.
    #[error(
        "entry {expected} should stand where entry {found} does: the file was changed after it was exported"
    )]
    Order {
        /// The number that should be next.
        expected: u64,
        /// The number that is there.
        found: u64,
    },
    /// It could not be written; no value of ours can cause it.
    #[error("the export could not be written as RON ({0})")]
    Write(String),
}

/// The document as it is written.
#[derive(Serialize, Deserialize)]
#[serde(rename = "Export", deny_unknown_fields)]
struct Document<'a> {
    version: u32,
    demonstration: bool,
    book: Option<Cow<'a, str>>,
    zone: Option<Cow<'a, str>>,
    made: Option<String>,
    check: String,
    damage: Vec<String>,
    open_courses: BTreeMap<String, u64>,
    entries: Vec<Line<'a>>,
    damaged: Vec<Line<'a>>,
}

/// One entry.
#[derive(Serialize, Deserialize)]
#[serde(rename = "Entry", deny_unknown_fields)]
struct Line<'a> {
    seq: u64,
    subject: Cow<'a, str>,
    n: u64,
    course: Option<Cow<'a, str>>,
    kind: Cow<'a, str>,
    happened_at: String,
    recorded_at: String,
    clock_given: bool,
    zone: Cow<'a, str>,
    body: Cow<'a, str>,
    link: Cow<'a, str>,
}

/// The beginning of a document of any version.
#[derive(Deserialize)]
#[serde(rename = "Export")]
struct Beginning {
    version: u32,
}

/// Writes the document.
///
/// # Errors
/// [`ArchiveError::Write`]
pub fn write(archive: &Archive) -> Result<String, ArchiveError> {
    let demonstration = archive.is_demonstration();
    let document = Document {
        version: VERSION,
        demonstration,
        book: archive.book.as_deref().map(Cow::Borrowed),
        zone: archive.zone.as_deref().map(Cow::Borrowed),
        made: archive.made.map(time),
        check: check_code(archive),
        damage: archive.damage.clone(),
        open_courses: archive.open_courses.clone(),
        entries: archive.entries.iter().map(line).collect(),
        damaged: archive.damaged.iter().map(line).collect(),
    };
    let layout = PrettyConfig::new()
        .depth_limit(2)
        .struct_names(true)
        .new_line("\n");
    let mut text = String::from(
        "// Everything that one book of scruple holds, one entry a line. 'scruple import' reads it.\n",
    );
    if demonstration {
        text.push_str(
            "// DEMONSTRATION: every animal, medicine, vet and figure here is invented.\n",
        );
    }
    ron::ser::to_writer_pretty(&mut text, &document, layout)
        .map_err(|error| ArchiveError::Write(error.to_string()))?;
    text.push('\n');
    Ok(text)
}

/// Reads a document.
///
/// # Errors
/// [`ArchiveError`]
pub fn read(bytes: &[u8]) -> Result<Archive, ArchiveError> {
    if bytes.len() as u64 > MOST_BYTES {
        return Err(ArchiveError::TooLong);
    }
    if bytes.starts_with(b"SQLite format 3") {
        return Err(ArchiveError::Book);
    }
    // UTF-16 without a mark is valid UTF-8 where every letter is plain, but full of zeros.
    if bytes.get(..2).is_some_and(|first| first.contains(&0)) {
        return Err(ArchiveError::Encoding(1));
    }
    let text = std::str::from_utf8(bytes)
        .map_err(|error| ArchiveError::Encoding(error.valid_up_to() + 1))?;
    let text = text.strip_prefix('\u{feff}').unwrap_or(text);
    let document: Document = match ron::from_str(text) {
        Ok(document) => document,
        Err(error) => {
            // A newer form may have fields that are not known here.
            if let Ok(Beginning { version }) = ron::from_str(text)
                && version > VERSION
            {
                return Err(ArchiveError::Newer(version));
            }
            let start = error.span.start;
            return Err(ArchiveError::NotAnExport {
                line: start.line,
                column: start.col,
                why: shown(&error.code.to_string()),
            });
        }
    };
    if document.version > VERSION {
        return Err(ArchiveError::Newer(document.version));
    }
    let made = match &document.made {
        Some(text) => Some(read_time(text, 0)?),
        None => None,
    };
    let archive = Archive {
        book: document.book.map(Cow::into_owned),
        zone: document.zone.map(Cow::into_owned),
        made,
        open_courses: document.open_courses,
        entries: rows(document.entries)?,
        damaged: rows(document.damaged)?,
        damage: document.damage,
    };
    if archive.damage.is_empty() {
        in_order(&archive.entries)?;
    }
    let expected = check_code(&archive);
    if document.check != expected {
        return Err(ArchiveError::Changed {
            expected,
            found: shown(&document.check),
        });
    }
    Ok(archive)
}

/// A code over what the links of the entries do not cover: where the book began, its counts, what
/// is wrong, and where every chain ends, so that an entry missing at the end is noticed too. It
/// shows accidents, not a forger.
fn check_code(archive: &Archive) -> String {
    let all = archive.entries.iter().chain(&archive.damaged);
    let ends: BTreeMap<&str, &str> = all
        .map(|row| (row.subject.as_str(), row.link.as_str()))
        .collect();
    let made = archive.made.map(time);
    let counts = (archive.entries.len(), archive.damaged.len());
    let began = (&archive.book, &archive.zone, &made);
    let text = format!(
        "{began:?} {:?} {:?} {counts:?} {ends:?}",
        archive.open_courses, archive.damage
    );
    short_code(text.as_bytes())
}

/// In a sound book the numbers follow each other from 1.
fn in_order(entries: &[Row]) -> Result<(), ArchiveError> {
    let odd = (1..)
        .zip(entries)
        .find(|(expected, row)| row.seq != *expected);
    match odd {
        Some((expected, row)) => Err(ArchiveError::Order {
            expected,
            found: row.seq,
        }),
        None => Ok(()),
    }
}

fn line(row: &Row) -> Line<'_> {
    Line {
        seq: row.seq,
        subject: Cow::Borrowed(&row.subject),
        n: row.n,
        course: row.course.as_deref().map(Cow::Borrowed),
        kind: Cow::Borrowed(&row.kind),
        happened_at: time(row.happened_at),
        recorded_at: time(row.recorded_at),
        clock_given: row.clock_given,
        zone: Cow::Borrowed(&row.zone),
        body: Cow::Borrowed(&row.body),
        link: Cow::Borrowed(&row.link),
    }
}

fn rows(lines: Vec<Line>) -> Result<Vec<Row>, ArchiveError> {
    lines
        .into_iter()
        .map(|line| {
            Ok(Row {
                seq: line.seq,
                n: line.n,
                link: line.link.into_owned(),
                subject: line.subject.into_owned(),
                course: line.course.map(Cow::into_owned),
                kind: line.kind.into_owned(),
                happened_at: read_time(&line.happened_at, line.seq)?,
                recorded_at: read_time(&line.recorded_at, line.seq)?,
                clock_given: line.clock_given,
                zone: line.zone.into_owned(),
                body: line.body.into_owned(),
            })
        })
        .collect()
}

/// RFC 3339 in UTC, with as many digits after the second as it needs: as in the book.
fn time(time: DateTime<Utc>) -> String {
    time.to_rfc3339_opts(SecondsFormat::AutoSi, true)
}

/// Reads a time that was written so, and no other way of writing it.
fn read_time(text: &str, entry: u64) -> Result<DateTime<Utc>, ArchiveError> {
    let read = DateTime::parse_from_rfc3339(text).ok();
    read.map(|at| at.with_timezone(&Utc))
        .filter(|at| time(*at) == text)
        .ok_or_else(|| ArchiveError::Time {
            entry,
            text: shown(text),
        })
}

/// The start of a text that may hold anything and be of any length.
fn shown(text: &str) -> String {
    let clean = text.chars().filter(|c| !is_unseen(*c));
    clean.take(160).collect()
}
