//! What stopped a command: what is wrong and what to do next, and the exit code.
//!
//! Promises: 2 means not accepted and nothing written; 3 means it failed and nothing was
//! acknowledged. A message is one breath, without blame.

use std::fmt;

/// Why a command ended without doing what was asked.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Failure {
    kind: Kind,
    message: String,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Kind {
    NotAccepted,
    Failed,
}

impl Failure {
    /// The input was not accepted; nothing was written. Exit code 2.
    pub fn not_accepted(message: impl fmt::Display) -> Failure {
        Failure {
            kind: Kind::NotAccepted,
            message: message.to_string(),
        }
    }

    /// Something outside the input failed; nothing was acknowledged. Exit code 3.
    pub fn failed(message: impl fmt::Display) -> Failure {
        Failure {
            kind: Kind::Failed,
            message: message.to_string(),
        }
    }

    /// Whether it is what was typed that could not be accepted.
    pub const fn is_about_input(&self) -> bool {
        matches!(self.kind, Kind::NotAccepted)
    }

    /// The exit code.
    pub const fn code(&self) -> u8 {
        match self.kind {
            Kind::NotAccepted => 2,
            Kind::Failed => 3,
        }
    }
}

impl fmt::Display for Failure {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        // A sentence begins with a capital; what a person typed, such as a file's name, stays.
        let first = self.message.split(' ').next().unwrap_or_default();
        let is_a_word = first
            .trim_end_matches(',')
            .bytes()
            .all(|b| b.is_ascii_lowercase());
        let mut letters = self.message.chars();
        match letters.next().filter(|_| is_a_word) {
            Some(first) => write!(f, "{}{}", first.to_ascii_uppercase(), letters.as_str())?,
            None => f.write_str(&self.message)?,
        }
        if !self.message.ends_with(['.', '?', '!', '\n']) {
            f.write_str(".")?;
        }
        Ok(())
    }
}

/// Standard output was closed, or could not be written.
impl From<std::io::Error> for Failure {
    fn from(error: std::io::Error) -> Failure {
        Failure::failed(format!(
            "the output could not be written ({error}): try again"
        ))
    }
}
