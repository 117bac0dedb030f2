//! A length of time as a prescription writes it: so many hours, or so many days.
//!
//! The two never turn into each other: 72 hours is elapsed time, 3 days is the same hour by the
//! clock three dates later, and in a week when the clocks change they differ. No text is read here.

use std::fmt;

use thiserror::Error;

/// So many whole hours, or so many whole days, as it was written.
///
/// Make one with [`Span::hours`] or [`Span::days`], which hold it to its bounds.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Span {
    /// Elapsed hours, 1 to [`Span::MOST_HOURS`].
    Hours(u32),
    /// Calendar days, 1 to [`Span::MOST_DAYS`].
    Days(u32),
}

/// A span outside its bounds.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Error)]
pub enum SpanError {
    /// No time at all.
    #[error("a span of 0 {0} is no time at all: write 1 or more")]
    Nothing(&'static str),
    /// More hours than [`Span::MOST_HOURS`].
    #[error("{} hours is more than {} hours: write it in days", grouped(u64::from(*.0)), grouped(Span::MOST_HOURS.into()))]
    TooManyHours(u32),
    /// More days than [`Span::MOST_DAYS`].
    #[error("{} days is more than {} days: check the number", grouped(u64::from(*.0)), grouped(Span::MOST_DAYS.into()))]
    TooManyDays(u32),
}

impl Span {
    /// The most hours a span may hold: a leap year of them.
    pub const MOST_HOURS: u32 = 8_784;
    /// The most days a span may hold: ten years, with at most three leap days.
    pub const MOST_DAYS: u32 = 3_653;

    /// A span of elapsed hours.
    ///
    /// # Errors
    /// Zero, or more than [`Span::MOST_HOURS`].
    pub fn hours(hours: u32) -> Result<Self, SpanError> {
        Self::Hours(hours).checked()
    }

    /// A span of calendar days.
    ///
    /// # Errors
    /// Zero, or more than [`Span::MOST_DAYS`].
    pub fn days(days: u32) -> Result<Self, SpanError> {
        Self::Days(days).checked()
    }

    /// The span itself if it is within its bounds.
    ///
    /// # Errors
    /// Zero, or more than the bound of its unit.
    pub fn checked(self) -> Result<Self, SpanError> {
        match self {
            Self::Hours(0) => Err(SpanError::Nothing("hours")),
            Self::Days(0) => Err(SpanError::Nothing("days")),
            Self::Hours(n) if n > Self::MOST_HOURS => Err(SpanError::TooManyHours(n)),
            Self::Days(n) if n > Self::MOST_DAYS => Err(SpanError::TooManyDays(n)),
            sound => Ok(sound),
        }
    }

    /// The number of hours or days, without its unit.
    #[must_use]
    pub fn count(self) -> u32 {
        match self {
            Self::Hours(n) | Self::Days(n) => n,
        }
    }
}

impl fmt::Display for Span {
    /// "72 hours", "1 day", "1,000 hours".
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let (n, one, many) = match *self {
            Self::Hours(n) => (n, "hour", "hours"),
            Self::Days(n) => (n, "day", "days"),
        };
        write!(
            f,
            "{} {}",
            grouped(n.into()),
            if n == 1 { one } else { many }
        )
    }
}

/// A whole number with commas from 1,000 up, as safe notation has it.
#[must_use]
pub fn grouped(n: u64) -> String {
    let digits = n.to_string();
    let mut text = String::new();
    for (i, digit) in digits.chars().enumerate() {
        if i > 0 && (digits.len() - i).is_multiple_of(3) {
            text.push(',');
        }
        text.push(digit);
    }
    text
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]
    use super::{Span, SpanError, grouped};

    #[test]
    fn is_said_with_its_unit_in_full() {
        assert_eq!(Span::hours(72).unwrap().to_string(), "72 hours");
        assert_eq!(Span::hours(1).unwrap().to_string(), "1 hour");
        assert_eq!(Span::days(1).unwrap().to_string(), "1 day");
        assert_eq!(Span::days(14).unwrap().to_string(), "14 days");
        assert_eq!(Span::hours(1_000).unwrap().to_string(), "1,000 hours");
    }

    #[test]
    fn commas_stand_between_thousands_alone() {
        for (n, text) in [
            (7, "7"),
            (100, "100"),
            (1_000, "1,000"),
            (123_456, "123,456"),
            (1_234_567, "1,234,567"),
        ] {
            assert_eq!(grouped(n), text);
        }
    }

    #[test]
    fn counts_in_its_own_unit() {
        assert_eq!(Span::hours(72).unwrap().count(), 72);
        assert_eq!(Span::days(14).unwrap().count(), 14);
    }

    #[test]
    fn keeps_the_unit_it_was_written_in() {
        assert_ne!(Span::hours(72), Span::days(3));
    }

    #[test]
    fn holds_its_bounds() {
        assert_eq!(Span::hours(0), Err(SpanError::Nothing("hours")));
        assert!(Span::hours(8_784).is_ok());
        assert_eq!(Span::hours(8_785), Err(SpanError::TooManyHours(8_785)));
        assert_eq!(
            Span::hours(8_785).unwrap_err().to_string(),
            "8,785 hours is more than 8,784 hours: write it in days"
        );
        assert_eq!(Span::days(0), Err(SpanError::Nothing("days")));
        assert!(Span::days(3_653).is_ok());
        assert_eq!(Span::days(3_654), Err(SpanError::TooManyDays(3_654)));
    }
}
