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
