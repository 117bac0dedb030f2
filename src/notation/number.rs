//! Reads one decimal figure, exactly.
//!
//! Promises: what is read is never rounded; at most 8 digits, 4 of them decimals; a figure that
//! could be misread is not accepted. No units here.

use crate::notation::fault::NotationError;
use crate::quantity::Exact;

/// The most digits a figure may have once its trailing zeros are gone.
pub const DIGITS: usize = 8;
/// The most of them that may stand after the point.
pub const DECIMALS: usize = 4;

/// A figure and the safe way to write it.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Number {
    /// The exact value; not negative.
    pub value: Exact,
    /// Leading zero, no trailing zeros, commas between thousands.
    pub text: String,
}

/// Reads the figure at the front of `text`; gives it and what follows, trimmed.
///
/// # Errors
/// One [`NotationError`] for each way a figure can be misread.
pub fn read<'a>(text: &'a str, expected: &'static str) -> Result<(Number, &'a str), NotationError> {
    let whole = || text.to_owned();
    let first = text
        .chars()
        .next()
        .ok_or(NotationError::Empty { expected })?;
    match first {
        '-' | '\u{2212}' | '\u{2013}' => return Err(NotationError::Negative { text: whole() }),
        '.' => return Err(NotationError::NoLeadingZero { text: whole() }),
        c if !c.is_ascii_digit() => {
            return Err(NotationError::NotAFigure {
                text: whole(),
                expected,
            });
        }
        _ => {}
    }
    let end = text
        .find(|c: char| !(c.is_ascii_digit() || c == '.' || c == ','))
        .unwrap_or(text.len());
    let (token, rest) = text.split_at(end);
    let number = figure(token, text)?;
    let mut after = rest.chars();
    match (after.next(), after.next()) {
        (Some('e' | 'E'), Some(c)) if c.is_ascii_digit() || c == '-' || c == '+' => {
            return Err(NotationError::PowerOfTen { text: whole() });
        }
        (Some('/'), Some(c)) if c.is_ascii_digit() => {
            return Err(NotationError::Fraction { text: whole() });
        }
        (Some('^' | '\u{d7}' | '*'), _) => {
            return Err(NotationError::PowerOfTen { text: whole() });
        }
        _ => {}
    }
    let rest = rest.trim_start();
    if starts_a_range(rest) {
        return Err(NotationError::Range { text: whole() });
    }
    Ok((number, rest))
}

/// Whether what follows a figure or a unit goes on to a second figure.
pub fn starts_a_range(rest: &str) -> bool {
    let dash = rest.starts_with(['-', '\u{2013}', '\u{2014}', '\u{2212}', '~']);
    let words = ["to ", "or ", "and ", "up to "];
    dash || words.iter().any(|word| rest.starts_with(word))
}

fn figure(token: &str, text: &str) -> Result<Number, NotationError> {
    let whole = || text.to_owned();
    if token.ends_with('.') {
        return Err(NotationError::TrailingPoint { text: whole() });
    }
    let (integer, decimals) = match token.split_once('.') {
        None => (token, ""),
        Some((integer, decimals)) => (integer, decimals),
    };
    if decimals.contains('.') {
        return Err(NotationError::NotAFigure {
            text: whole(),
            expected: "one figure with one point",
        });
    }
    if !thousands_belong(integer) || decimals.contains(',') {
        return Err(NotationError::Comma { text: whole() });
    }
    let integer: String = integer.chars().filter(char::is_ascii_digit).collect();
    if integer.len() > 1 && integer.starts_with('0') {
        return Err(NotationError::ZeroInFront { text: whole() });
    }
    let decimals = decimals.trim_end_matches('0');
    if decimals.len() > DECIMALS {
        return Err(NotationError::TooManyDecimals { text: whole() });
    }
    if integer.trim_start_matches('0').len() + decimals.len() > DIGITS {
        return Err(NotationError::TooManyDigits { text: whole() });
    }
    let too_many = |_| NotationError::TooManyDigits { text: whole() };
    let n: i128 = format!("{integer}{decimals}").parse().map_err(too_many)?;
    let places = u32::try_from(decimals.len()).unwrap_or(u32::MAX);
    let value = 10_i128
        .checked_pow(places)
        .and_then(|d| Exact::ratio(n, d))
        .ok_or_else(|| NotationError::TooManyDecimals { text: whole() })?;
    let mut text = group_thousands(&integer);
    if !decimals.is_empty() {
        text.push('.');
        text.push_str(decimals);
    }
    Ok(Number { value, text })
}

/// Commas are accepted only between groups of three, as in 1,000 and 12,000,000.
fn thousands_belong(integer: &str) -> bool {
    let mut groups = integer.split(',');
    let first = groups.next().unwrap_or_default();
    let mut rest = groups.peekable();
    if rest.peek().is_none() {
        return !first.is_empty();
    }
    (1..=3).contains(&first.len()) && !first.starts_with('0') && rest.all(|group| group.len() == 3)
}

/// `1000` as `1,000`: commas from 1,000 up (references: ISMP list of error-prone notation; NHS
/// common user interface, MEDi-017).
pub fn group_thousands(digits: &str) -> String {
    let mut grouped = String::with_capacity(digits.len() + digits.len() / 3);
    for (at, digit) in digits.chars().enumerate() {
        if at > 0 && (digits.len() - at).is_multiple_of(3) {
            grouped.push(',');
        }
        grouped.push(digit);
    }
    grouped
}
