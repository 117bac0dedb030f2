//! From the bytes of a file to its text.
//!
//! Promises: UTF-8 is read, with or without a byte order mark; anything else is named as what it
//! is, and never guessed at.

use crate::prescription::fault::At;

/// Bytes that are no plain text.
pub(super) struct Undecoded<'a> {
    /// What could be read before it went wrong.
    pub before: &'a str,
    /// Where it went wrong.
    pub at: At,
    /// What is wrong.
    pub wrong: &'static str,
}

/// What a file has to be.
pub(super) const PLAIN_TEXT: &str = "plain text, saved as UTF-8";

/// The text of a file.
pub(super) fn decode(bytes: &[u8]) -> Result<&str, Undecoded<'_>> {
    // UTF-16 begins with a mark, or shows itself by a nothing beside every plain letter.
    let marked = matches!(bytes, [0xff, 0xfe, ..] | [0xfe, 0xff, ..]);
    if marked || bytes.iter().take(64).any(|byte| *byte == 0) {
        return Err(Undecoded {
            before: "",
            at: 0..0,
            wrong: "this file is saved as UTF-16, or is no text at all: save it again as plain text",
        });
    }
    std::str::from_utf8(bytes).map_err(|error| {
        let end = error.valid_up_to();
        let before = bytes.get(..end).unwrap_or_default();
        Undecoded {
            before: std::str::from_utf8(before).unwrap_or_default(),
            at: end..end,
            wrong: "something here is not text in UTF-8: save the file again as plain text",
        }
    })
}
