//! Reads one value each: a name, a date, an hour, a quantity, a choice.
//!
//! Promises: what is not accepted is named at its place with what is wrong and what is expected;
//! nothing is guessed, and an impossible date is called impossible.

use crate::notation::{Notation, NotationError, Written};
use crate::prescription::fault::Found;
use crate::prescription::fields::{list, what};
use crate::prescription::typed::{Kind, Node};
use crate::schedule::Start;
use chrono::{Datelike, NaiveDate, NaiveTime};

/// The longest name, in characters: what fits a line of the card twice over.
const LONGEST_NAME: usize = 80;
/// The longest of the vet's sentences.
const LONGEST_WORDS: usize = 600;

/// A text that is not empty, with the spaces around it gone.
fn text<'a>(node: &'a Node, meaning: &str, longest: usize, found: &mut Found) -> Option<&'a str> {
    let Kind::Text(text) = &node.kind else {
        let wrong = match &node.kind {
            Kind::Named(named) if named.name == "Some" => "Some( ... ) is not used here".to_owned(),
            other => format!("{} stands here instead of a text", what(other)),
        };
        found.add(&node.at, wrong, format!("{meaning}, in quotation marks"));
        return None;
    };
    let text = text.trim();
    if text.is_empty() {
        found.add(&node.at, "nothing is written here", meaning);
        return None;
    }
    if text.chars().count() > longest {
        found.add(
            &node.at,
            format!("this is longer than {longest} characters"),
            meaning,
        );
        return None;
    }
    Some(text)
}

/// A name: spaces of every width become one ordinary space.
pub(super) fn name(node: &Node, meaning: &str, found: &mut Found) -> Option<String> {
    let name = text(node, meaning, LONGEST_NAME, found)?;
    if !name.chars().any(char::is_alphanumeric) {
        found.add(
            &node.at,
            "there is no letter and no figure in this",
            meaning,
        );
        return None;
    }
    Some(name.split_whitespace().collect::<Vec<_>>().join(" "))
}

/// The vet's own words, as written.
pub(super) fn words(node: &Node, meaning: &str, found: &mut Found) -> Option<String> {
    text(node, meaning, LONGEST_WORDS, found).map(str::to_owned)
}

/// A list of the vet's own words.
pub(super) fn all_words(node: &Node, meaning: &str, found: &mut Found) -> Option<Vec<String>> {
    all(list(node, meaning, found)?, |item| {
        words(item, meaning, found)
    })
}

/// Every item read; nothing unless all of them could be, but every one is tried.
pub(super) fn all<'a, T>(
    nodes: &'a [Node],
    mut one: impl FnMut(&'a Node) -> Option<T>,
) -> Option<Vec<T>> {
    let read: Vec<Option<T>> = nodes.iter().map(&mut one).collect();
    read.into_iter().collect()
}

/// A reference that can be typed as one word.
pub(super) fn reference(node: &Node, found: &mut Found) -> Option<String> {
    const MEANING: &str = "a reference of letters, figures, hyphens and points, without spaces";
    let reference = text(node, MEANING, 40, found)?;
    let belongs = |c: char| c.is_alphanumeric() || matches!(c, '-' | '_' | '.');
    let sound = reference.chars().all(belongs) && reference.starts_with(char::is_alphanumeric);
    if !sound {
        found.add(
            &node.at,
            format!("'{reference}' is not a reference that can be typed as one word"),
            MEANING,
        );
        return None;
    }
    Some(reference.to_owned())
}

/// A quantity with its unit.
pub(super) fn quantity<T: Notation>(
    node: &Node,
    meaning: &str,
    found: &mut Found,
) -> Option<Written<T>> {
    written(node, meaning, T::read, found)
}

/// Anything that `notation` reads from a text.
pub(super) fn written<T>(
    node: &Node,
    meaning: &str,
    read: impl Fn(&str) -> Result<Written<T>, NotationError>,
    found: &mut Found,
) -> Option<Written<T>> {
    let text = text(node, meaning, LONGEST_WORDS, found)?;
    match read(text) {
        Ok(written) => Some(written),
        Err(error) => {
            found.add(&node.at, error.to_string(), meaning);
            None
        }
    }
}

const A_DATE: &str = "a date as year, month and day, such as 2001-03-05";
const AN_HOUR: &str = "a time from 00:00 to 23:59, such as 08:00";

/// A date.
pub(super) fn date(node: &Node, found: &mut Found) -> Option<NaiveDate> {
    let text = text(node, A_DATE, LONGEST_NAME, found)?;
    match read_date(text) {
        Ok(date) => Some(date),
        Err(wrong) => {
            found.add(&node.at, wrong, A_DATE);
            None
        }
    }
}

/// A time of day.
pub(super) fn hour(node: &Node, found: &mut Found) -> Option<NaiveTime> {
    let text = text(node, AN_HOUR, LONGEST_NAME, found)?;
    match read_hour(text) {
        Ok(hour) => Some(hour),
        Err(wrong) => {
            found.add(&node.at, wrong, AN_HOUR);
            None
        }
    }
}

/// A date, perhaps with the hour of the first dose.
pub(super) fn start(node: &Node, found: &mut Found) -> Option<Start> {
    const MEANING: &str =
        "a date such as 2001-03-05, or a date and a time such as 2001-03-05 08:00";
    let text = text(node, MEANING, LONGEST_NAME, found)?;
    let (date, hour) = match text.split_once(' ') {
        None => (text, None),
        Some((date, hour)) => (date, Some(hour.trim_start())),
    };
    let read = read_date(date).and_then(|date| {
        let time = hour.map(read_hour).transpose()?;
        Ok(Start { date, time })
    });
    match read {
        Ok(start) => Some(start),
        Err(wrong) => {
            found.add(&node.at, wrong, MEANING);
            None
        }
    }
}

fn read_date(text: &str) -> Result<NaiveDate, String> {
    let not_a_date = || format!("'{text}' is not a date as dates are written here");
    let digits = |part: &str, length: usize| {
        let sound = part.len() == length && part.bytes().all(|b| b.is_ascii_digit());
        sound.then(|| part.parse::<u32>().ok()).flatten()
    };
    let mut parts = text.split('-');
    let (Some(year), Some(month), Some(day), None) =
        (parts.next(), parts.next(), parts.next(), parts.next())
    else {
        return Err(not_a_date());
    };
    let year = digits(year, 4).and_then(|year| i32::try_from(year).ok());
    let (Some(year), Some(month), Some(day)) = (year, digits(month, 2), digits(day, 2)) else {
        return Err(not_a_date());
    };
    let Some(first) = NaiveDate::from_ymd_opt(year, month, 1) else {
        return Err(format!("there is no month {month} in '{text}'"));
    };
    if !(1970..2200).contains(&year) {
        return Err(format!("the year of '{text}' is not between 1970 and 2199"));
    }
    first.with_day(day).ok_or_else(|| {
        format!(
            "there is no such day as '{text}': {} has {} days",
            first.format("%B %Y"),
            first.num_days_in_month()
        )
    })
}

fn read_hour(text: &str) -> Result<NaiveTime, String> {
    let sound = text.len() == 5
        && text.bytes().enumerate().all(|(at, byte)| {
            if at == 2 {
                byte == b':'
            } else {
                byte.is_ascii_digit()
            }
        });
    if !sound {
        return Err(format!("'{text}' is not a time as times are written here"));
    }
    NaiveTime::parse_from_str(text, "%H:%M")
        .map_err(|_| format!("there is no such time as '{text}'"))
}

/// A whole number without a unit.
pub(super) fn whole(
    node: &Node,
    meaning: &str,
    least: u32,
    most: u32,
    found: &mut Found,
) -> Option<u32> {
    let wrong = match &node.kind {
        Kind::Figure(figure) => {
            let plain = figure.bytes().all(|b| b.is_ascii_digit())
                && figure.len() <= 9
                && (figure == "0" || !figure.starts_with('0'));
            match figure.parse::<u32>() {
                Ok(n) if plain && (least..=most).contains(&n) => return Some(n),
                Ok(n) if plain && n < least => format!("'{figure}' is too small here"),
                Ok(_) if plain => format!("'{figure}' is too large here"),
                _ => format!("'{figure}' is not a plain whole number"),
            }
        }
        Kind::Text(_) => "a text stands here instead of a number".to_owned(),
        other => format!("{} stands here instead of a number", what(other)),
    };
    let most = crate::notation::print::count(u64::from(most));
    found.add(
        &node.at,
        wrong,
        format!("{meaning}: a whole number from {least} to {most}, without quotation marks"),
    );
    None
}

/// true or false.
pub(super) fn yes_or_no(node: &Node, found: &mut Found) -> Option<bool> {
    match &node.kind {
        Kind::Word(word) if word == "true" => Some(true),
        Kind::Word(word) if word == "false" => Some(false),
        _ => {
            found.add(
                &node.at,
                "this says neither true nor false",
                "true or false, without quotation marks",
            );
            None
        }
    }
}
