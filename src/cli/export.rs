//! `scruple export`: everything in the book as text.
//!
//! Promises: it gets as far as the file lets it, in a damaged book too, and says what it had to
//! leave or mark; a file is never written over without --replace, and takes its name only when it
//! is whole and on the disk.

use crate::book::{Rescue, rescue};
use crate::cli::Done;
use crate::cli::desk::Desk;
use crate::cli::failure::Failure;
use crate::cli::progress::Progress;
use crate::cli::verify::name_each;
use crate::notation::print;
use crate::transfer::{Archive, TABLES, tables, write};
use std::fs::{self, File, OpenOptions};
use std::io::{ErrorKind, Write};
use std::path::{Path, PathBuf};

/// The name of the document that import reads.
const DOCUMENT: &str = "book.ron";

/// Writes everything in the book into a folder: book.ron, which import reads, and tables for a
/// spreadsheet
///
/// What can be read of a damaged book is saved too, and what is damaged is marked.
///
/// Examples:
///   scruple export my-animals
///   scruple export my-animals --replace
#[derive(Debug, clap::Args)]
#[command(verbatim_doc_comment)]
pub(crate) struct Export {
    /// The folder; it is made if it is not there
    folder: PathBuf,
}

impl Export {
    pub fn run(&self, desk: &mut Desk) -> Result<Done, Failure> {
        let path = desk.book_path()?;
        let interactive = desk.world.interactive;
        let replace = desk.everywhere.replace;
        let names = std::iter::once(DOCUMENT).chain(TABLES);
        for name in names.clone() {
            let file = self.folder.join(name);
            if !replace && fs::symlink_metadata(&file).is_ok() {
                return Err(Failure::not_accepted(format!(
                    "{} is there already: name another folder, or add --replace",
                    file.display()
                )));
            }
        }
        let archive = {
            let mut progress = Progress::new(desk.world.err, interactive, "Read");
            let read = rescue(&path, |done, all| progress.tell(done, all))?;
            let archive = archive(read);
            progress.stage("Writing the document and the tables");
            make_folder(&self.folder)?;
            let document = write(&archive).map_err(Failure::failed)?;
            let texts = std::iter::once(document).chain(tables(&archive));
            for (name, text) in names.zip(texts) {
                write_whole(&self.folder.join(name), text.as_bytes())?;
            }
            archive
        };
        desk.banner(archive.is_demonstration())?;
        desk.say(format!(
            "Exported into {}: {DOCUMENT}, {}; entries: {}.",
            self.folder.display(),
            TABLES.join(", "),
            print::count((archive.entries.len() + archive.damaged.len()) as u64)
        ))?;
        name_each(desk, archive.damage.iter())?;
        if !archive.is_whole() {
            desk.say(format!(
                "What is damaged is marked. {DOCUMENT} cannot become a book again: for that, use your last backup."
            ))?;
        }
        Ok(Done::Well)
    }
}

/// What was saved from a book, as an archive.
pub(super) fn archive(saved: Rescue) -> Archive {
    Archive {
        book: saved.id.map(|id| id.to_string()),
        zone: saved.zone,
        made: saved.made,
        open_courses: saved.open_courses,
        entries: saved.reading.rows,
        damaged: saved.reading.unsound,
        damage: (saved.reading.damage.iter())
            .map(ToString::to_string)
            .collect(),
    }
}

fn make_folder(folder: &Path) -> Result<(), Failure> {
    match fs::create_dir(folder) {
        Err(error) if error.kind() == ErrorKind::AlreadyExists && folder.is_dir() => Ok(()),
        Err(error) if error.kind() == ErrorKind::AlreadyExists => Err(Failure::not_accepted(
            format!("{} is a file: name a folder", folder.display()),
        )),
        Err(error) if error.kind() == ErrorKind::NotFound => Err(Failure::not_accepted(format!(
            "the folder that {} should lie in does not exist: make it first, or name another",
            folder.display()
        ))),
        Err(error) => Err(Failure::failed(format!(
            "the folder {} could not be made ({error}): name another place",
            folder.display()
        ))),
        Ok(()) => Ok(()),
    }
}

/// Writes a file under another name first, so that one that is there stays whole until the new one
/// is.
fn write_whole(path: &Path, bytes: &[u8]) -> Result<(), Failure> {
    let mut part = path.as_os_str().to_owned();
    part.push(format!(".part-{}", std::process::id()));
    let part = PathBuf::from(part);
    let written = OpenOptions::new()
        .write(true)
        .create_new(true)
        .open(&part)
        .and_then(|mut file: File| {
            file.write_all(bytes)?;
            file.sync_all()
        })
        .and_then(|()| fs::rename(&part, path));
    written.map_err(|error| {
        // The first error is the one to tell.
        let _ = fs::remove_file(&part);
        Failure::failed(format!(
            "{} could not be written ({error}): free some room or name another place",
            path.display()
        ))
    })
}
