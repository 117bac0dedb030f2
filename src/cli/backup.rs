//! `scruple backup`: a copy of the book, made while it is in use.
//!
//! Promises: the copy is one moment of the book, was walked from end to end and found sound, and
//! is on the disk before it takes its name.

use crate::book::BookError;
use crate::cli::Done;
use crate::cli::desk::Desk;
use crate::cli::failure::Failure;
use crate::notation::print;
use std::path::PathBuf;

/// Copies the book, also while others are using it
///
/// The copy is a book: to look into it, name it with --book. Keep it on another disk.
///
/// Examples:
///   scruple backup copy.scruple
///   scruple backup copy.scruple --replace
#[derive(Debug, clap::Args)]
#[command(verbatim_doc_comment)]
pub(crate) struct Backup {
    /// Where to put the copy
    file: PathBuf,
}

impl Backup {
    pub fn run(&self, desk: &mut Desk) -> Result<Done, Failure> {
        let open = desk.open_to_read()?;
        let replace = desk.everywhere.replace;
        open.book
            .backup(&self.file, replace)
            .map_err(|error| match error {
                BookError::AlreadyThere { path } => Failure::not_accepted(format!(
                    "{path:?} is there already and was left as it is: name another file, or add --replace"
                )),
                error => error.into(),
            })?;
        desk.banner(open.settings.demonstration)?;
        desk.say(format!(
            "A sound copy lies at {}; entries: {}. To look into it: scruple today --book {}",
            self.file.display(),
            print::count(open.ledger.entries),
            quoted(&self.file.display().to_string())
        ))?;
        Ok(Done::Well)
    }
}

/// A path as it can be typed.
fn quoted(text: &str) -> String {
    if text.contains(char::is_whitespace) {
        format!("\"{text}\"")
    } else {
        text.to_owned()
    }
}
