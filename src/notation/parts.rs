//! Takes a written quantity apart: a figure, a unit, perhaps "per" so much of another unit, and
//! what is left over.
//!
//! No meaning is given to the parts here; `read` does that.

use crate::notation::fault::NotationError;
use crate::notation::fold::is_unseen;
use crate::notation::number::{self, Number};
use crate::notation::unit::Unit;

/// No quantity that anyone writes is longer than this.
const LONGEST: usize = 80;

/// A quantity taken apart.
#[derive(Clone, Debug)]
pub struct Parts<'a> {
    /// The text as it was given, tidied.
    pub text: &'a str,
    /// The figure.
    pub number: Number,
    /// The unit after the figure; none for a percentage.
    pub unit: Unit,
    /// What stands after a slash or "per".
    pub per: Option<Per>,
    /// Whatever follows, for the form to make sense of or refuse.
    pub tail: &'a str,
}

/// The part after a slash or "per".
#[derive(Clone, Debug)]
pub struct Per {
    /// The figure, where one is written: the 5 of "per 5 mL".
    pub number: Option<Number>,
    /// The unit.
    pub unit: Unit,
}

/// Folds the spaces of pasted text to one each, and refuses what cannot be seen.
///
/// # Errors
/// [`NotationError`] for an invisible character, a Greek micro sign, or a text too long.
pub fn tidy(text: &str, expected: &'static str) -> Result<String, NotationError> {
    if text.chars().count() > LONGEST {
        let text = text
            .chars()
            .take(24)
            .filter(|c| !is_unseen(*c))
            .collect::<String>()
            + "...";
        return Err(NotationError::TooLong { text, expected });
    }
    // A tab between two words is a space like any other.
    let unseen = |c: char| is_unseen(c) && c != '\t';
    if text.chars().any(unseen) {
        let text = text.chars().filter(|&c| !is_unseen(c)).collect();
        return Err(NotationError::Invisible { text });
    }
    // Spaces of every width are read as one ordinary space.
    let tidied = text.split_whitespace().collect::<Vec<_>>().join(" ");
    if tidied.is_empty() {
        return Err(NotationError::Empty { expected });
    }
    if tidied.contains(['\u{b5}', '\u{3bc}']) {
        return Err(NotationError::GreekMicro { text: tidied });
    }
    Ok(tidied)
}

/// Takes `text`, tidied before, apart.
///
/// # Errors
/// [`NotationError`]
pub fn take_apart<'a>(text: &'a str, expected: &'static str) -> Result<Parts<'a>, NotationError> {
    let (number, rest) = number::read(text, expected)?;
    if rest.is_empty() {
        return Err(NotationError::NoUnit {
            text: text.to_owned(),
            expected,
        });
    }
    let (word, rest) = word(rest);
    let unit = Unit::read(word, expected)?;
    if number::starts_a_range(rest) {
        return Err(NotationError::Range {
            text: text.to_owned(),
        });
    }
    let Some(after) = after_per(rest) else {
        return Ok(Parts {
            text,
            number,
            unit,
            per: None,
            tail: rest,
        });
    };
    // "per day" and "per hour" are no unit of measure; the form decides what they mean.
    if is_time(after) {
        return Ok(Parts {
            text,
            number,
            unit,
            per: None,
            tail: rest,
        });
    }
    let (per_number, after) = if after.starts_with(|c: char| c.is_ascii_digit()) {
        let (number, after) = number::read(after, expected)?;
        (Some(number), after)
    } else {
        (None, after)
    };
    let (per_word, tail) = self::word(after);
    if per_word.is_empty() {
        return Err(NotationError::NoUnit {
            text: text.to_owned(),
            expected,
        });
    }
    let per_unit = Unit::read(per_word, expected)?;
    if number::starts_a_range(tail) {
        return Err(NotationError::Range {
            text: text.to_owned(),
        });
    }
    let per = Some(Per {
        number: per_number,
        unit: per_unit,
    });
    Ok(Parts {
        text,
        number,
        unit,
        per,
        tail,
    })
}

/// The word at the front, up to a space or a slash, and the rest, trimmed.
fn word(text: &str) -> (&str, &str) {
    let end = text.find([' ', '/']).unwrap_or(text.len());
    let (word, rest) = text.split_at(end);
    (word, rest.trim_start())
}

/// What stands after a leading slash or "per".
pub fn after_per(rest: &str) -> Option<&str> {
    rest.strip_prefix('/')
        .or_else(|| rest.strip_prefix("per "))
        .map(str::trim_start)
}

/// Whether the text begins with an hour or a day.
pub fn is_time(text: &str) -> bool {
    is_hour(text) || is_day(text)
}

/// Whether the text begins with an hour.
pub fn is_hour(text: &str) -> bool {
    matches!(
        word(text).0,
        "h" | "hr" | "hour" | "hours" | "min" | "minute" | "s" | "second"
    )
}

/// Whether the text begins with a day. 24 alone is one, and 24 hours; 24 mL is a volume.
pub fn is_day(text: &str) -> bool {
    match word(text) {
        ("d" | "day" | "days" | "24h", _) => true,
        ("24", rest) => rest.is_empty() || is_hour(rest),
        _ => false,
    }
}
