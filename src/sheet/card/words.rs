//! The card's own small words: spans from phrases, phone numbers, counted order.
//!
//! Does not: know where anything is printed.

use crate::sheet::card::facts::Phrase;
use crate::sheet::face::Style;
use crate::sheet::text::Span;

/// A phrase at a size in points.
pub fn spans(phrase: &Phrase, size: f32) -> Vec<Span> {
    phrase
        .stretches
        .iter()
        .map(|(bold, words)| {
            let style = if *bold {
                Style::bold(size)
            } else {
                Style::regular(size)
            };
            Span::new(words, style)
        })
        .collect()
}

/// Words in regular type.
pub fn plain(words: &str, size: f32) -> Vec<Span> {
    vec![Span::new(words, Style::regular(size))]
}

/// Words in bold type.
pub fn bold(words: &str, size: f32) -> Vec<Span> {
    vec![Span::new(words, Style::bold(size))]
}

/// A phone number as bold spans: what stands in brackets at its end is printed smaller, so that
/// the number itself is what is seen. Nothing is left out.
pub fn phone(phone: &str, size: f32, remark_size: f32) -> Vec<Span> {
    let (number, remark) = split_remark(phone);
    let mut spans = bold(number, size);
    if !remark.is_empty() {
        spans.push(Span::new(" ", Style::regular(remark_size)));
        spans.push(Span::new(remark, Style::regular(remark_size)));
    }
    spans
}

/// The number, and what stands in brackets at its end, if the number before it has digits.
fn split_remark(phone: &str) -> (&str, &str) {
    let phone = phone.trim();
    match phone.split_once('(') {
        Some((number, _)) if phone.ends_with(')') && number.chars().any(|c| c.is_ascii_digit()) => {
            let (number, remark) = phone.split_at(number.len());
            (number.trim_end(), remark)
        }
        _ => (phone, ""),
    }
}

/// A small number in words, a larger one in figures.
pub fn counted(number: usize) -> String {
    const WORDS: [&str; 10] = [
        "one", "two", "three", "four", "five", "six", "seven", "eight", "nine", "ten",
    ];
    number
        .checked_sub(1)
        .and_then(|at| WORDS.get(at))
        .map_or_else(|| number.to_string(), |&word| word.to_owned())
}

/// The place in an order, in words as far as words are short.
pub fn ordinal(number: usize) -> String {
    const WORDS: [&str; 10] = [
        "first", "second", "third", "fourth", "fifth", "sixth", "seventh", "eighth", "ninth",
        "tenth",
    ];
    if let Some(&word) = number.checked_sub(1).and_then(|at| WORDS.get(at)) {
        return word.to_owned();
    }
    let ending = match (number % 10, number % 100) {
        (1, n) if n != 11 => "st",
        (2, n) if n != 12 => "nd",
        (3, n) if n != 13 => "rd",
        _ => "th",
    };
    format!("{number}{ending}")
}

/// A sentence's first letter made a capital.
pub fn capital(words: &str) -> String {
    let mut letters = words.chars();
    letters
        .next()
        .map(|first| first.to_uppercase().chain(letters).collect())
        .unwrap_or_default()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_phone_numbers_remark_is_told_from_the_number() {
        assert_eq!(
            split_remark("555 0134 (not a number)"),
            ("555 0134", "(not a number)")
        );
        assert_eq!(split_remark("555 0134"), ("555 0134", ""));
        assert_eq!(split_remark("(0) 555 0134"), ("(0) 555 0134", ""));
        assert_eq!(split_remark("555 (01) 34"), ("555 (01) 34", ""));
    }

    #[test]
    fn order_is_said_in_words_then_figures() {
        let said: Vec<String> = [1, 3, 10, 11, 12, 13, 21, 22, 23, 111, 121]
            .into_iter()
            .map(ordinal)
            .collect();
        assert_eq!(
            said,
            [
                "first", "third", "tenth", "11th", "12th", "13th", "21st", "22nd", "23rd", "111th",
                "121st"
            ]
        );
        assert_eq!(counted(2), "two");
        assert_eq!(counted(14), "14");
        assert_eq!(capital("first of two"), "First of two");
    }
}
