//! A span of time as a vet writes it: elapsed hours, or calendar days.

use std::fmt;

/// So many hours, or so many days. They are not the same across a clock change, so neither is
/// ever turned into the other.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Span {
    /// Elapsed hours.
    Hours(u32),
    /// Calendar days.
    Days(u32),
}

impl fmt::Display for Span {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Span::Hours(1) => f.write_str("1 hour"),
            Span::Hours(n) => write!(f, "{n} hours"),
            Span::Days(1) => f.write_str("1 day"),
            Span::Days(n) => write!(f, "{n} days"),
        }
    }
}
