//! A copy of the book while it is in use.
//!
//! Promises that the copy is one moment of the book, that it was walked from end to end and found
//! sound before it takes its name, and that it is on the disk. An older copy is replaced only by
//! a sound one, and only when that was asked for. Deliberately no export: the copy is a book.

use std::ffi::OsString;
use std::fs::{self, File, OpenOptions};
use std::path::{Path, PathBuf};

use crate::book::error::BookError;
use crate::book::verify::verify;
use crate::book::{Book, open};

impl Book {
    /// Writes a copy to `to`, over a file that is there only if `replace` says so.
    ///
    /// # Errors
    /// When a file is there and not to be replaced, the place cannot be written, or the book (and
    /// so its copy) is damaged. What was at `to` is left as it was then.
    pub fn backup(&self, to: &Path, replace: bool) -> Result<(), BookError> {
        let to = open::absolute(to)?;
        if same_file(&self.path, &to) {
            return Err(BookError::OntoItself { path: to });
        }
        // A journal left beside the old file would be taken for one of the new file.
        if ["-journal", "-wal"]
            .iter()
            .any(|end| beside(&to, end).exists())
        {
            return Err(BookError::JournalBeside { path: to });
        }
        let there = fs::symlink_metadata(&to).is_ok();
        if there && !replace {
            return Err(BookError::AlreadyThere { path: to });
        }
        let part = beside(&to, &format!(".part-{}", std::process::id()));
        let claimed = if there {
            Ok(false)
        } else {
            claim(&to).map(|()| true)
        };
        let claimed = claimed.map_err(|error| BookError::from_system(&to, &error))?;
        let done = self.copy(&part, &to);
        if done.is_err() {
            // The first error is the one to tell.
            let _ = fs::remove_file(&part);
            if claimed {
                let _ = fs::remove_file(&to);
            }
        }
        done
    }

    fn copy(&self, part: &Path, to: &Path) -> Result<(), BookError> {
        let system = |error| BookError::from_system(to, &error);
        let Some(name) = part.to_str() else {
            let detail = String::from("its name is not readable text");
            return Err(BookError::Disk {
                path: to.to_path_buf(),
                detail,
            });
        };
        claim(part).map_err(system)?;
        (self.conn.execute("VACUUM INTO ?1", [name])).map_err(|error| self.wrap(&error))?;
        let verdict = verify(part, |_, _| {})?;
        if let Some(damage) = verdict.damage.into_iter().next() {
            return Err(BookError::Damaged(Box::new(damage)));
        }
        let file = File::open(part).map_err(system)?;
        file.sync_all().map_err(system)?;
        fs::rename(part, to).map_err(system)?;
        match to.parent() {
            Some(folder) => open::sync_folder(folder).map_err(system),
            None => Ok(()),
        }
    }
}

/// Makes an empty file under a name that nothing has yet.
fn claim(path: &Path) -> std::io::Result<()> {
    let file = OpenOptions::new().write(true).create_new(true).open(path);
    file.map(drop)
}

fn beside(path: &Path, end: &str) -> PathBuf {
    let mut name = OsString::from(path.as_os_str());
    name.push(end);
    PathBuf::from(name)
}

fn same_file(one: &Path, other: &Path) -> bool {
    match (fs::canonicalize(one), fs::canonicalize(other)) {
        (Ok(one), Ok(other)) => one == other,
        _ => false,
    }
}
