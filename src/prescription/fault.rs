//! What is wrong with a prescription file: every fault found, each with its place.
//!
//! Promises: a fault names line, column and the text at fault, says what is wrong and what is
//! expected there, never offers a dose, and lets no control character through to a terminal.

use crate::notation::fold::is_unseen;
use annotate_snippets::{AnnotationKind, Level, Renderer, Snippet};
use std::fmt;
use std::ops::Range;

/// A place in the file, in bytes.
pub(super) type At = Range<usize>;

/// More faults than this help nobody; the rest are counted.
const MOST: usize = 50;
/// The longest excerpt of the text at fault, in characters.
const LONGEST_EXCERPT: usize = 60;

/// One thing that is wrong.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Fault {
    /// The line, from 1.
    pub line: usize,
    /// The column, from 1, in characters.
    pub column: usize,
    /// The text at fault, shortened; empty at the end of the file.
    pub text: String,
    /// What is wrong.
    pub wrong: String,
    /// What is expected there.
    pub expected: String,
    /// Whether it is only that something needed is not written.
    pub missing: bool,
    at: At,
}

/// Everything that is wrong with one file, in the order of its lines.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Faults {
    file: String,
    shown: String,
    list: Vec<Fault>,
    more: usize,
}

/// Faults while a file is being read.
#[derive(Debug, Default)]
pub(super) struct Found {
    list: Vec<Noted>,
    more: usize,
}

/// One fault before its place is turned into line and column.
#[derive(Debug, PartialEq, Eq)]
struct Noted {
    at: At,
    wrong: String,
    expected: String,
    missing: bool,
}

impl Found {
    /// Notes a fault. A second one at the same place that says the same is left out.
    pub(super) fn add(&mut self, at: &At, wrong: impl Into<String>, expected: impl Into<String>) {
        self.note(at, wrong.into(), expected.into(), false);
    }

    /// Notes that something needed is not written.
    pub(super) fn add_missing(&mut self, at: &At, wrong: String, expected: String) {
        self.note(at, wrong, expected, true);
    }

    fn note(&mut self, at: &At, wrong: String, expected: String, missing: bool) {
        let fault = Noted {
            at: at.clone(),
            wrong: visible(&wrong),
            expected: visible(&expected),
            missing,
        };
        if self.list.contains(&fault) {
            return;
        }
        if self.list.len() < MOST {
            self.list.push(fault);
        } else {
            self.more += 1;
        }
    }

    /// Whether nothing was wrong so far.
    pub(super) fn is_empty(&self) -> bool {
        self.list.is_empty()
    }

    /// All faults, placed in the file they were found in.
    pub(super) fn in_file(mut self, source: &str, file_name: &str) -> Faults {
        if self.list.is_empty() {
            // No way leads here; but a refusal without a word would be the worst answer.
            self.add(&(0..0), "this could not be read", "a prescription");
        }
        let mut list: Vec<Fault> = self
            .list
            .into_iter()
            .map(|noted| Fault::new(source, noted))
            .collect();
        list.sort_by_key(|fault| fault.at.start);
        Faults {
            file: visible(file_name),
            shown: printable(source),
            list,
            more: self.more,
        }
    }
}

impl Fault {
    fn new(source: &str, noted: Noted) -> Fault {
        let Noted {
            at,
            wrong,
            expected,
            missing,
        } = noted;
        let before = source.get(..at.start).unwrap_or(source);
        let line_start = before.rfind('\n').map_or(0, |end| end + 1);
        let on_line = before.get(line_start..).unwrap_or_default();
        // A byte order mark takes no column in any editor.
        let column = on_line.trim_start_matches('\u{feff}').chars().count() + 1;
        let text = source.get(at.clone()).unwrap_or_default();
        let first_line = text.lines().next().unwrap_or_default();
        let mut text = visible(&first_line.chars().take(LONGEST_EXCERPT).collect::<String>());
        if first_line.chars().count() > LONGEST_EXCERPT {
            text.push_str("...");
        }
        Fault {
            line: before.matches('\n').count() + 1,
            column,
            text,
            wrong,
            expected,
            missing,
            at,
        }
    }
}

impl fmt::Display for Fault {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "line {}, column {}: ", self.line, self.column)?;
        if !self.text.is_empty() {
            write!(f, "at {}: ", self.text)?;
        }
        write!(f, "{} (expected here: {})", self.wrong, self.expected)
    }
}

impl Faults {
    /// The faults, in the order of the file; never empty.
    #[must_use]
    pub fn list(&self) -> &[Fault] {
        &self.list
    }

    /// Each fault with the file, its line and column, and the lines around it; with colours for a
    /// terminal if wanted.
    #[must_use]
    pub fn render(&self, color: bool) -> String {
        let renderer = if color {
            Renderer::styled()
        } else {
            Renderer::plain()
        };
        let mut text = String::new();
        for fault in &self.list {
            let snippet = Snippet::source(self.shown.as_str())
                .path(self.file.as_str())
                .annotation(
                    AnnotationKind::Primary
                        .span(self.on_screen(&fault.at))
                        .label(format!("expected here: {}", fault.expected)),
                );
            let report = [Level::ERROR
                .with_name("Not accepted")
                .primary_title(fault.wrong.as_str())
                .element(snippet)];
            text.push_str(&renderer.render(&report));
            text.push_str("\n\n");
        }
        if self.more > 0 {
            text.push_str(&format!("and {} more\n", self.more));
        }
        text
    }

    /// The place held to the file and to one line, so that an excerpt stays short.
    fn on_screen(&self, at: &At) -> At {
        let mut start = at.start.min(self.shown.len());
        while !self.shown.is_char_boundary(start) {
            start -= 1;
        }
        let rest = self.shown.get(start..).unwrap_or_default();
        let length = (at.end.max(start) - start).min(rest.len());
        let line = rest.find('\n').unwrap_or(rest.len());
        let mut end = start + length.min(line);
        while !self.shown.is_char_boundary(end) {
            end -= 1;
        }
        start..end
    }
}

impl fmt::Display for Faults {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        for fault in &self.list {
            writeln!(f, "{}: {fault}", self.file)?;
        }
        if self.more > 0 {
            writeln!(f, "and {} more", self.more)?;
        }
        Ok(())
    }
}

impl std::error::Error for Faults {}

/// The text without what cannot be seen.
fn visible(text: &str) -> String {
    text.chars().filter(|c| !is_unseen(*c)).collect()
}

/// The text at the same length in bytes, with question marks for what cannot be seen, so that
/// places still fit.
fn printable(source: &str) -> String {
    let mut shown = String::with_capacity(source.len());
    for c in source.chars() {
        match c {
            '\n' => shown.push('\n'),
            '\t' | '\r' => shown.push(' '),
            c if is_unseen(c) => shown.extend(std::iter::repeat_n('?', c.len_utf8())),
            c => shown.push(c),
        }
    }
    shown
}
