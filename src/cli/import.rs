//! `scruple import`: an export becomes a book again, or carries one on.
//!
//! Promises: all of it or none of it; the same entries to the letter, so that what is exported
//! again is the same bytes. A book that has gone its own way is left as it is, and the first entry
//! that differs is named. The book knows at once what the day's work needs, so that the next command
//! need not read all of it.

use crate::book::{Book, BookError, BookId, Draft, Folders, WithNeeds, first_unlinked};
use crate::cli::Done;
use crate::cli::desk::Desk;
use crate::cli::failure::Failure;
use crate::cli::progress::Progress;
use crate::cli::when;
use crate::entry::{Row, Stretch};
use crate::notation::print;
use crate::transfer::{Archive, ArchiveError, Fork, MOST_BYTES, Relation, read, relation};
use std::collections::BTreeMap;
use std::fs::{self, File};
use std::io::Read;
use std::path::{Path, PathBuf};

/// Reads book.ron of an export: into a place where no book lies, or into an older copy of the
/// same book
///
/// Examples:
///   scruple import my-animals/book.ron
///   scruple import my-animals/book.ron --book new.scruple
#[derive(Debug, clap::Args)]
#[command(verbatim_doc_comment)]
pub(crate) struct Import {
    /// The document that export wrote: book.ron
    file: PathBuf,
}

/// What the day's work needs of all entries of the file, where that is known.
type Needed = Option<BTreeMap<String, Vec<Stretch>>>;

/// What came of it.
enum Came {
    /// A new book of so many entries.
    New(usize),
    /// So many entries were added.
    Added(usize),
    /// Nothing was to be done.
    NothingNew(usize),
}

impl Import {
    pub fn run(&self, desk: &mut Desk) -> Result<Done, Failure> {
        let path = desk.book_path()?;
        // The usual folder is made; a place that was typed may be a slip, so its folder is not.
        let named = desk.everywhere.book.is_some() || desk.world.book_from_environment.is_some();
        let folders = if named {
            Folders::MustExist
        } else {
            Folders::Make
        };
        let interactive = desk.world.interactive;
        let (archive, id) = {
            let mut progress = Progress::new(desk.world.err, interactive, "Checked");
            progress.stage("Reading the file");
            let archive = read(&bytes(&self.file)?).map_err(Failure::not_accepted)?;
            let id = checked(&archive, |done, all| progress.tell(done, all))?;
            (archive, id)
        };
        desk.banner(archive.is_demonstration())?;
        let opened = desk.open_book(&path);
        let needed = desk.needed(&archive.entries);
        let came = {
            let mut progress = Progress::new(desk.world.err, interactive, "Wrote");
            progress.stage(&format!(
                "Writing all {} entries, or none",
                print::count(archive.entries.len() as u64)
            ));
            match opened {
                Ok(book) => carry_on(book, id, &archive, needed)?,
                Err(BookError::NoBook { .. }) => begin(&path, id, &archive, needed, folders)?,
                Err(BookError::NoFolder { .. }) if !named => {
                    begin(&path, id, &archive, needed, folders)?
                }
                Err(error) => return Err(error.into()),
            }
        };
        let count = |n: usize| match n {
            1 => "1 entry".to_owned(),
            n => format!("{} entries", print::count(n as u64)),
        };
        desk.say(match came {
            Came::New(entries) => format!(
                "The book lies at {}: {}, as exported.",
                path.display(),
                count(entries)
            ),
            Came::Added(entries) => format!(
                "The book at {} went on by {}. A card printed before this may be void: compare its book code.",
                path.display(),
                count(entries)
            ),
            Came::NothingNew(0) => {
                "The book holds just what the file holds; nothing was changed.".to_owned()
            }
            Came::NothingNew(more) => format!(
                "The book holds everything in the file and {} more; nothing was changed.",
                count(more)
            ),
        })?;
        Ok(Done::Well)
    }
}

/// The file, as far as any export is long.
fn bytes(path: &Path) -> Result<Vec<u8>, Failure> {
    let unreadable = |error: std::io::Error| {
        Failure::not_accepted(format!(
            "the file {} could not be read ({error}): name the file book.ron of an export",
            path.display()
        ))
    };
    let file = File::open(path).map_err(unreadable)?;
    // Of a file the length is known before any of it is read; of a pipe it is not.
    let length = file.metadata().map_or(0, |about| about.len());
    if length > MOST_BYTES {
        return Err(Failure::not_accepted(ArchiveError::TooLong));
    }
    let mut bytes = Vec::with_capacity(usize::try_from(length).unwrap_or(0));
    // One byte more shows that it is too long.
    file.take(MOST_BYTES + 1)
        .read_to_end(&mut bytes)
        .map_err(unreadable)?;
    Ok(bytes)
}

/// Whether it can become a book: whole, and every entry as it was when it was exported.
fn checked(archive: &Archive, progress: impl FnMut(u64, u64)) -> Result<BookId, Failure> {
    if !archive.is_whole() {
        return Err(Failure::not_accepted(
            "this export was saved from a damaged book, so it cannot become a book again: use your last backup, and read the tables beside it for what is missing there",
        ));
    }
    let id = archive.book.as_deref().and_then(BookId::parse);
    let id = id.ok_or_else(|| {
        Failure::not_accepted(
            "the file does not say which book it is of: use the file as it was exported",
        )
    })?;
    match first_unlinked(id, &archive.entries, progress) {
        None => Ok(id),
        Some(at) => Err(Failure::not_accepted(format!(
            "entry {} of the file is not as it was exported: take another copy of it",
            archive.entries.get(at).map_or(0, |row| row.seq)
        ))),
    }
}

/// Makes a new book; none is left where that fails.
fn begin(
    path: &Path,
    id: BookId,
    archive: &Archive,
    needed: Needed,
    folders: Folders,
) -> Result<Came, Failure> {
    let (Some(zone), Some(made)) = (&archive.zone, archive.made) else {
        return Err(Failure::not_accepted(
            "the file does not say when its book was begun",
        ));
    };
    let mut book = Book::create(path, zone, id, made, folders)?;
    let all = draft(archive, 0, needed);
    let kept = book.append(|_| Ok::<_, Failure>(all));
    drop(book);
    let kept = kept.map_err(Failure::from).and_then(|kept| {
        if kept == archive.entries {
            Ok(Came::New(kept.len()))
        } else {
            Err(Failure::failed(
                "the entries did not become what the file holds, so the new book was taken away again",
            ))
        }
    });
    if kept.is_err() {
        // The first error is the one to tell.
        let _ = fs::remove_file(path);
    }
    kept
}

/// Adds what a book of the same identity does not hold yet.
fn carry_on(
    mut book: Book,
    id: BookId,
    archive: &Archive,
    needed: Needed,
) -> Result<Came, Failure> {
    let place = book.path().display().to_string();
    let same = book.id() == id
        && Some(book.zone()) == archive.zone.as_deref()
        && Some(book.made()) == archive.made;
    if !same {
        return Err(Failure::not_accepted(format!(
            "the book at {place} is another one than the file's, and was left as it is: name a place where no book lies with --book"
        )));
    }
    let mut nothing_new = None;
    let kept = book.append(|view| {
        let rows = view.read_all()?;
        match relation(&rows, &archive.entries) {
            Relation::Fork(fork) => Err(parted(&fork, &place)),
            Relation::Same => {
                nothing_new = Some(0);
                Ok(WithNeeds::default())
            }
            Relation::Ahead(more) => {
                nothing_new = Some(more);
                Ok(WithNeeds::default())
            }
            Relation::Behind(_) => Ok(draft(archive, rows.len(), needed)),
        }
    })?;
    Ok(match nothing_new {
        Some(more) => Came::NothingNew(more),
        None => Came::Added(kept.len()),
    })
}

/// All entries of the file but the first so many.
fn draft(archive: &Archive, but: usize, needed: Needed) -> WithNeeds {
    let rows = archive.entries.iter().skip(but);
    WithNeeds {
        draft: Draft {
            rows: rows.map(Row::as_given).collect(),
            open_courses: archive.open_courses.clone(),
        },
        opened: needed,
    }
}

/// Both have gone on, each in its own way.
fn parted(fork: &Fork, place: &str) -> Failure {
    let said = |row: &Row| {
        format!(
            "{} of {}, recorded {}",
            when::shown(&row.kind),
            when::shown(&row.subject),
            row.recorded_at.format("%-d %B %Y %H:%M:%S UTC")
        )
    };
    Failure::not_accepted(format!(
        "the book at {place} and the file have each gone on in their own way, so neither can carry the other on, and nothing was changed. They part at entry {}: the book has {}; the file has {}. Decide which one to go on with, then record in it by hand what only the other has",
        fork.here.seq,
        said(&fork.here),
        said(&fork.there)
    ))
}
