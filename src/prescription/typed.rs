//! A prescription file as typed: its RON read into a tree in which every part knows its place.
//!
//! Promises: whatever is accepted here is RON, with the same texts that any RON reader finds (bare
//! figures are kept as typed and judged in `values`); the work and the depth are bounded. What the parts mean is not known here.
//! The reader is the project's own because a fault in one field must not hide those in the
//! others, and because a contradiction between two fields has to point at one of them.

use crate::notation::fold::is_unseen;
use crate::prescription::fault::{At, Found};

/// The longest file, in bytes. The longest sensible prescription is a few thousand.
pub(super) const LONGEST_FILE: usize = 64 * 1024;
/// Parts inside parts; the form needs six.
const DEEPEST: usize = 12;

/// One part of the file.
#[derive(Debug)]
pub(super) struct Node {
    /// Where it stands; a text with its quotation marks, a named part by its name alone.
    pub at: At,
    /// What it is.
    pub kind: Kind,
}

/// What a part can be.
#[derive(Debug)]
pub(super) enum Kind {
    /// `"in quotation marks"`
    Text(String),
    /// A bare figure, as typed.
    Figure(String),
    /// A bare word, such as `true` or `Once`.
    Word(String),
    /// `Name(...)`
    Named(Named),
    /// `[...]`
    List(Vec<Node>),
}

/// A name with what stands in its parentheses.
#[derive(Debug)]
pub(super) struct Named {
    /// The name.
    pub name: String,
    /// `field: value`, in order.
    pub fields: Vec<Field>,
    /// Values without a field name.
    pub items: Vec<Node>,
}

/// A field and its value.
#[derive(Debug)]
pub(super) struct Field {
    /// The field's name.
    pub name: String,
    /// Where the name stands.
    pub at: At,
    /// Its value.
    pub value: Node,
}

/// Reads the whole file. Nothing comes back where it is not RON; the one fault is then in `found`.
pub(super) fn read(source: &str, found: &mut Found) -> Option<Node> {
    match (Reader { source, next: 0 }).file() {
        Ok(node) => Some(node),
        Err(Slip {
            at,
            wrong,
            expected,
        }) => {
            found.add(&at, wrong, expected);
            None
        }
    }
}

/// Why the text is not RON.
struct Slip {
    at: At,
    wrong: String,
    expected: &'static str,
}

struct Reader<'a> {
    source: &'a str,
    /// The byte that is read next.
    next: usize,
}

const A_VALUE: &str = "a text in quotation marks, a whole number, a word, a list in brackets, or a name with parentheses";

impl<'a> Reader<'a> {
    fn file(mut self) -> Result<Node, Slip> {
        if self.source.len() > LONGEST_FILE {
            return Err(Slip {
                at: 0..0,
                wrong: "this file is longer than any prescription: check that it is the right one"
                    .to_owned(),
                expected: "a file of at most 64 KiB",
            });
        }
        if let Some(at) = self.old_line_end() {
            return Err(Slip {
                at: at..at + 1,
                wrong: "the lines of this file end in an old way: save it again as plain text"
                    .to_owned(),
                expected: "lines that end in a line feed",
            });
        }
        self.skip_byte_order_mark();
        self.skip_space()?;
        if self.peek().is_none() {
            return self.slip(
                0..0,
                "there is nothing in this file",
                "Prescription( ... ) with its fields",
            );
        }
        let node = self.value(0)?;
        self.skip_space()?;
        match self.peek() {
            None => Ok(node),
            // A letter, a list of notes: whatever it is, it was never meant in this form.
            Some(_) if matches!(node.kind, Kind::Word(_)) => self.slip(
                node.at,
                "this is no prescription in the form that can be read here",
                "Prescription( ... ) with its fields",
            ),
            Some(_) => {
                let at = self.here();
                self.slip(
                    at,
                    "something follows the end of the prescription",
                    "nothing after the last parenthesis; one prescription in one file",
                )
            }
        }
    }

    fn value(&mut self, depth: usize) -> Result<Node, Slip> {
        let start = self.next;
        if depth > DEEPEST {
            return self.slip(
                self.here(),
                "there are too many parts inside one another here",
                "no more than the form has",
            );
        }
        match self.peek() {
            Some('"') => {
                let text = self.text()?;
                Ok(Node {
                    at: start..self.next,
                    kind: Kind::Text(text),
                })
            }
            Some('[') => {
                self.next += 1;
                let items = self.items(']', start, |reader| reader.value(depth + 1))?;
                Ok(Node {
                    at: start..self.next,
                    kind: Kind::List(items),
                })
            }
            Some(c) if c.is_ascii_digit() => {
                let figure = self.take_while(|c| c.is_ascii_alphanumeric() || "._+-".contains(c));
                Ok(Node {
                    at: start..self.next,
                    kind: Kind::Figure(figure.to_owned()),
                })
            }
            Some(c) if starts_a_name(c) => self.word_or_name(depth),
            _ => {
                let at = self.here();
                let wrong = self.wrong_here("a value is missing here");
                self.slip(at, wrong, A_VALUE)
            }
        }
    }

    fn word_or_name(&mut self, depth: usize) -> Result<Node, Slip> {
        let start = self.next;
        let name = self.take_while(continues_a_name).to_owned();
        let at = start..self.next;
        if matches!(self.peek(), Some('"' | '#')) && matches!(name.as_str(), "r" | "b" | "br") {
            return self.slip(
                at,
                format!("the letter '{name}' before this text is not used here"),
                "the quotation mark alone",
            );
        }
        let end_of_name = self.next;
        self.skip_space()?;
        if self.peek() != Some('(') {
            self.next = end_of_name;
            return Ok(Node {
                at,
                kind: Kind::Word(name),
            });
        }
        let open = self.next;
        self.next += 1;
        let mut named = Named {
            name,
            fields: Vec::new(),
            items: Vec::new(),
        };
        for part in self.items(')', open, |reader| reader.part(depth + 1))? {
            match part {
                Part::Field(field) => named.fields.push(field),
                Part::Item(node) => named.items.push(node),
            }
        }
        if let (Some(item), false) = (named.items.first(), named.fields.is_empty()) {
            return self.slip(
                item.at.clone(),
                format!("this value in {} has no field name", named.name),
                "the field's name, a colon, then the value",
            );
        }
        Ok(Node {
            at,
            kind: Kind::Named(named),
        })
    }

    /// `name: value`, or a value alone.
    fn part(&mut self, depth: usize) -> Result<Part, Slip> {
        let start = self.next;
        if self.peek().is_some_and(starts_a_name) {
            let name = self.take_while(continues_a_name).to_owned();
            let at = start..self.next;
            self.skip_space()?;
            if self.peek() == Some(':') {
                self.next += 1;
                self.skip_space()?;
                let value = self.value(depth)?;
                return Ok(Part::Field(Field { name, at, value }));
            }
            if self.peek() == Some('=') {
                let at = self.here();
                return self.slip(
                    at,
                    "an equals sign stands after the field's name",
                    "a colon",
                );
            }
            self.next = start;
        }
        self.value(depth).map(Part::Item)
    }

    /// What stands between an opening sign, already passed, and `close`, parted by commas.
    fn items<T>(
        &mut self,
        close: char,
        open: usize,
        mut one: impl FnMut(&mut Self) -> Result<T, Slip>,
    ) -> Result<Vec<T>, Slip> {
        let mut items = Vec::new();
        loop {
            self.skip_space()?;
            if self.peek() == Some(close) {
                self.next += 1;
                return Ok(items);
            }
            if self.peek().is_none() {
                return self.unclosed(open, close);
            }
            items.push(one(self)?);
            let end_of_item = self.next;
            self.skip_space()?;
            match self.peek() {
                Some(',') => self.next += 1,
                Some(c) if c == close => {}
                None => return self.unclosed(open, close),
                Some(c) => {
                    // Said where the comma belongs, which is usually at the end of a line above.
                    let missing = starts_a_name(c) || c.is_ascii_digit() || "\"[".contains(c);
                    let at = if missing {
                        end_of_item.saturating_sub(1)..end_of_item
                    } else {
                        self.here()
                    };
                    let wrong = if missing {
                        "a comma is missing after this".to_owned()
                    } else {
                        self.wrong_here("this does not belong here")
                    };
                    let expected = if close == ')' {
                        "a comma, or the closing parenthesis"
                    } else {
                        "a comma, or the closing bracket"
                    };
                    return self.slip(at, wrong, expected);
                }
            }
        }
    }

    fn unclosed<T>(&self, open: usize, close: char) -> Result<T, Slip> {
        let (wrong, expected) = if close == ')' {
            (
                "this parenthesis is never closed",
                "a closing parenthesis further on",
            )
        } else {
            (
                "this bracket is never closed",
                "a closing bracket further on",
            )
        };
        self.slip(open..open + 1, wrong, expected)
    }

    fn text(&mut self) -> Result<String, Slip> {
        let open = self.next;
        self.next += 1;
        let mut text = String::new();
        loop {
            let start = self.next;
            match self.bump() {
                Some('"') => return Ok(text),
                Some('\\') => text.push(self.escape(start)?),
                Some('\n' | '\r') | None => {
                    return self.slip(
                        open..start,
                        "this text is not closed on its own line",
                        "a quotation mark at the end of the text",
                    );
                }
                Some(c) if is_unseen(c) => {
                    return self.slip(
                        start..self.next,
                        "there is an invisible character in this text: type it afresh instead of pasting it",
                        "characters that can be seen",
                    );
                }
                Some(c) => text.push(c),
            }
        }
    }

    /// What stands for a character after a backslash at `start`.
    fn escape(&mut self, start: usize) -> Result<char, Slip> {
        let c = match self.bump() {
            Some(c @ ('"' | '\\' | '\'')) => Some(c),
            Some('u') if self.peek() == Some('{') => {
                self.next += 1;
                let digits = self.take_while(|c| c.is_ascii_hexdigit()).to_owned();
                let closed = self.bump() == Some('}');
                let code = (closed && digits.len() <= 6).then(|| u32::from_str_radix(&digits, 16));
                code.and_then(Result::ok).and_then(char::from_u32)
            }
            _ => None,
        };
        match c {
            Some(c) if !is_unseen(c) => Ok(c),
            _ => {
                let end = self.next.max(start + 1);
                self.slip(
                    start..end,
                    "a backslash here does not stand for a character that can be seen",
                    "a backslash only before a quotation mark or another backslash",
                )
            }
        }
    }

    /// Passes spaces, line ends and comments.
    fn skip_space(&mut self) -> Result<(), Slip> {
        loop {
            self.take_while(|c| matches!(c, ' ' | '\t' | '\n' | '\r'));
            if self.rest().starts_with("//") {
                self.take_while(|c| c != '\n');
            } else if self.rest().starts_with("/*") {
                self.block_comment()?;
            } else {
                return Ok(());
            }
        }
    }

    /// Block comments stand inside one another in RON.
    fn block_comment(&mut self) -> Result<(), Slip> {
        let open = self.next;
        let mut depth = 0_usize;
        loop {
            if self.rest().starts_with("/*") {
                depth += 1;
                self.next += 2;
            } else if self.rest().starts_with("*/") {
                depth -= 1;
                self.next += 2;
            } else if self.bump().is_none() {
                return self.slip(
                    open..open + 2,
                    "this comment is never closed",
                    "an asterisk and a slash further on",
                );
            }
            if depth == 0 {
                return Ok(());
            }
        }
    }

    /// What is wrong with the next character, where a common slip explains it.
    fn wrong_here(&self, otherwise: &str) -> String {
        let what = match self.peek() {
            None => "the file ends too soon",
            Some('\u{201c}' | '\u{201d}' | '\u{201e}' | '\u{ab}' | '\u{bb}') => {
                "this quotation mark is curly: type a straight one"
            }
            Some('\'' | '\u{2018}' | '\u{2019}') => {
                "this is a single quotation mark: type a double one"
            }
            Some('{' | '}') => "braces are not used here: write parentheses",
            Some('+' | '-') => "a sign is not used here: write the figure alone",
            Some('#') => "a line that begins with # is not used here: a comment begins with //",
            Some(c) if is_unseen(c) || c.is_whitespace() => {
                "there is an unusual space or an invisible character here: type it afresh"
            }
            Some(_) => otherwise,
        };
        what.to_owned()
    }

    fn old_line_end(&self) -> Option<usize> {
        let bytes = self.source.as_bytes();
        let next = bytes.iter().skip(1).map(Some).chain([None]);
        bytes
            .iter()
            .zip(next)
            .position(|(byte, next)| *byte == b'\r' && next != Some(&b'\n'))
    }

    fn skip_byte_order_mark(&mut self) {
        if self.source.starts_with('\u{feff}') {
            self.next = '\u{feff}'.len_utf8();
        }
    }

    fn rest(&self) -> &'a str {
        self.source.get(self.next..).unwrap_or_default()
    }

    fn peek(&self) -> Option<char> {
        self.rest().chars().next()
    }

    fn bump(&mut self) -> Option<char> {
        let c = self.peek()?;
        self.next += c.len_utf8();
        Some(c)
    }

    fn take_while(&mut self, belongs: impl Fn(char) -> bool) -> &'a str {
        let rest = self.rest();
        let end = rest.find(|c| !belongs(c)).unwrap_or(rest.len());
        self.next += end;
        rest.get(..end).unwrap_or_default()
    }

    /// Where the next character stands; at the end, just after the last.
    fn here(&self) -> At {
        self.next..self.next + self.peek().map_or(0, char::len_utf8)
    }

    fn slip<T>(&self, at: At, wrong: impl Into<String>, expected: &'static str) -> Result<T, Slip> {
        Err(Slip {
            at,
            wrong: wrong.into(),
            expected,
        })
    }
}

enum Part {
    Field(Field),
    Item(Node),
}

fn starts_a_name(c: char) -> bool {
    c.is_ascii_alphabetic() || c == '_'
}

fn continues_a_name(c: char) -> bool {
    c.is_ascii_alphanumeric() || c == '_'
}
