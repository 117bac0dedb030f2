//! How far a long command has got, for a person who waits.
//!
//! Promises: one line among the messages, only where a person is looking, taken away at the end.

use crate::notation::print;
use std::io::Write;

/// The line that says how far it has got.
pub(crate) struct Progress<'p> {
    to: Option<&'p mut dyn Write>,
    what: &'static str,
    width: usize,
}

impl<'p> Progress<'p> {
    /// Begins; `what` is done to entries: "Checked".
    pub fn new(to: &'p mut dyn Write, interactive: bool, what: &'static str) -> Progress<'p> {
        Progress {
            to: interactive.then_some(to),
            what,
            width: 0,
        }
    }

    /// So many entries of so many are done.
    pub fn tell(&mut self, done: u64, all: u64) {
        let text = format!(
            "{} {} of {} entries",
            self.what,
            print::count(done),
            print::count(all)
        );
        self.show(&text);
    }

    /// Something that has no count is being done.
    pub fn stage(&mut self, text: &str) {
        self.show(text);
    }

    fn show(&mut self, text: &str) {
        let width = text.chars().count();
        let Some(to) = &mut self.to else { return };
        // A line that cannot be written is no reason to stop the work.
        let _ = write!(to, "\r{text:<width$}", width = self.width).and_then(|()| to.flush());
        self.width = self.width.max(width);
    }
}

impl Drop for Progress<'_> {
    fn drop(&mut self) {
        if self.width > 0 {
            self.show("");
            let _ = self.to.as_mut().map(|to| write!(to, "\r"));
        }
    }
}

#[cfg(test)]
mod tests {
    use super::Progress;

    #[test]
    fn it_is_one_line_that_is_taken_away_again() {
        let mut said = Vec::new();
        let mut progress = Progress::new(&mut said, true, "Checked");
        progress.tell(1_024, 2_000);
        progress.tell(2_000, 2_000);
        drop(progress);
        let first = "\rChecked 1,024 of 2,000 entries";
        let blank = format!("\r{}\r", " ".repeat(first.len() - 1));
        let expected = format!("{first}\rChecked 2,000 of 2,000 entries{blank}");
        assert_eq!(String::from_utf8_lossy(&said), expected);
    }

    #[test]
    fn where_nobody_looks_it_says_nothing() {
        let mut said = Vec::new();
        let mut progress = Progress::new(&mut said, false, "Checked");
        progress.tell(1_024, 2_000);
        progress.stage("Reading the file");
        drop(progress);
        assert!(said.is_empty());
    }
}
