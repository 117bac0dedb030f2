//! Error-prone notation in a person's own words: pointed out, never changed.
//!
//! Promises: what is found is on published lists of notation that has been misread (the Joint
//! Commission's "Do Not Use" list, 2018; ISMP's list of error-prone abbreviations, 2005 edition;
//! NIST SP 811 section 7.2 for the space before a unit), and each finding says what to write
//! instead. It names no medicine, so the parts of those lists that are medicines' names are left
//! out. Quantities in fields of their own are read by `read`, which refuses the same forms.

use std::fmt;
use std::ops::Range;

/// One place that can be misread.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Prone {
    /// Where in the text, in bytes.
    pub at: Range<usize>,
    /// What stands there.
    pub found: String,
    /// What to write instead.
    pub instead: &'static str,
}

impl fmt::Display for Prone {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "'{}' can be misread: {}", self.found, self.instead)
    }
}

/// Everything in the text that can be misread, in order; one finding for each word.
#[must_use]
pub fn error_prone(text: &str) -> Vec<Prone> {
    let words = words(text);
    let next = words.iter().skip(1).map(|word| word.text).chain([""]);
    words
        .iter()
        .zip(next)
        .filter_map(|(word, next)| {
            let instead = judge(word.text, next)?;
            let found = word.text.trim_end_matches(TAIL);
            Some(Prone {
                at: word.at..word.at + found.len(),
                found: found.to_owned(),
                instead,
            })
        })
        .collect()
}

struct Word<'a> {
    at: usize,
    text: &'a str,
}

/// Signs that may stand at the end of a word without belonging to it.
const TAIL: [char; 9] = [',', ';', ':', '!', '?', ')', ']', '"', '\''];
const HEAD: [char; 4] = ['(', '[', '"', '\''];

fn words(text: &str) -> Vec<Word<'_>> {
    let mut words = Vec::new();
    let mut at = 0;
    for piece in text.split_inclusive(char::is_whitespace) {
        let word = piece.trim_end();
        let bare = word.trim_start_matches(HEAD);
        if !bare.is_empty() {
            words.push(Word {
                at: at + word.len() - bare.len(),
                text: bare,
            });
        }
        at += piece.len();
    }
    words
}

/// What to write instead of this word, if it can be misread. `next` is the word after it.
fn judge(word: &str, next: &str) -> Option<&'static str> {
    let bare = word.trim_end_matches(TAIL);
    sign(bare)
        .or_else(|| abbreviation(bare, next))
        .or_else(|| figure(bare, next))
        .or_else(|| slash(bare))
        .or_else(|| stop_after_unit(word, next))
}

fn sign(word: &str) -> Option<&'static str> {
    let mut chars = word.chars().peekable();
    while let Some(c) = chars.next() {
        let instead = match c {
            '\u{b5}' | '\u{3bc}' => "write mcg",
            '@' => "write 'at'",
            '&' | '+' => "write 'and'",
            '<' => "write 'less than'",
            '>' => "write 'more than'",
            '^' => "write the figure out in full",
            // Beside C or F it is a temperature; alone it has meant hours, and is read as a zero.
            '\u{b0}' if !matches!(chars.peek(), Some('C' | 'F')) => "write 'hours'",
            // The apothecary's signs (ISMP, from memory).
            '\u{2108}' | '\u{2125}' | '\u{292}' => "write the weight in mg or g",
            _ => continue,
        };
        return Some(instead);
    }
    None
}

fn abbreviation(word: &str, next: &str) -> Option<&'static str> {
    const EYE: &str = "write which eye, or 'daily', in words";
    // Capitals matter: "as", "ad" and "bt" are words or parts of words.
    let capitals = match word {
        "OD" | "O.D." => Some(EYE),
        "OS" | "OU" => Some("write which eye in words"),
        "AD" | "AS" | "AU" => Some("write which ear in words"),
        "HS" | "BT" => Some("write 'at bedtime'"),
        "SC" | "SQ" => Some("write 'subcutaneously'"),
        "U" | "IU" | "I.U." => Some("write 'units' in full"),
        "II" | "III" | "VI" | "VII" | "VIII" | "IX" | "XI" | "XII" => {
            Some("write the number in figures")
        }
        _ => None,
    };
    if capitals.is_some() {
        return capitals;
    }
    let lower = word.to_lowercase();
    let next = next.trim_end_matches(TAIL).to_lowercase();
    match (lower.trim_end_matches('.'), next.as_str()) {
        ("qd" | "q.d", _) => Some("write 'daily'"),
        ("qod" | "q.o.d", _) => Some("write 'every second day'"),
        ("qhs" | "qn", _) => Some("write 'nightly'"),
        ("cc", _) => Some("write mL"),
        ("ug", _) => Some("write mcg"),
        ("iu", _) => Some("write 'units' in full"),
        ("subq", _) | ("sub", "q") => Some("write 'subcutaneously'"),
        ("per", "os") => Some("write 'by mouth'"),
        ("ss", _) => Some("write 'half'"),
        ("d/c", _) => Some("write 'stop' or 'send home'"),
        (other, _) => {
            // q6h, q1d, q6PM
            let after = other.strip_prefix('q')?;
            let counted = after.starts_with(|c: char| c.is_ascii_digit());
            counted.then_some("write 'every' with hours, days or the time of day in full")
        }
    }
}

/// Units that follow a figure; what is not here is no unit to this list.
const UNITS: [&str; 16] = [
    "mg", "mcg", "g", "kg", "ml", "mL", "L", "l", "lb", "oz", "units", "unit", "tablets", "tablet",
    "ug", "u",
];

fn figure(word: &str, next: &str) -> Option<&'static str> {
    let end = word
        .find(|c: char| !(c.is_ascii_digit() || c == '.' || c == ','))
        .unwrap_or(word.len());
    let (figure, rest) = word.split_at(end);
    let number = figure.trim_end_matches(['.', ',']);
    if !number.contains(|c: char| c.is_ascii_digit()) {
        return None;
    }
    if number.starts_with('.') {
        return Some("write a zero before the point, as in 0.5");
    }
    if rest == "U" || rest == "u" || rest == "IU" {
        return Some("write 'units' in full, after a space");
    }
    if UNITS.contains(&rest.trim_end_matches('.')) {
        return Some("leave a space between the figure and its unit");
    }
    let power = rest.strip_prefix(['e', 'E']);
    if power.is_some_and(|power| !power.is_empty() && power.bytes().all(|b| b.is_ascii_digit())) {
        return Some("write the figure out in full");
    }
    let (whole, decimals) = number.split_once('.').unwrap_or((number, ""));
    if decimals.ends_with('0') && !decimals.contains('.') {
        return Some("leave out the zero at the end");
    }
    let mut groups = whole.split(',').skip(1);
    if groups.any(|group| group.len() != 3) || decimals.contains(',') {
        return Some("write a point before decimals, and commas only between thousands");
    }
    let next = next.trim_end_matches(TAIL).trim_end_matches('.');
    if rest.is_empty() && whole.len() >= 4 && !whole.contains(',') && UNITS.contains(&next) {
        return Some("write commas between thousands, as in 1,000");
    }
    None
}

/// A slash reads as a one. Unit symbols may hold one, and so may a plain half.
fn slash(word: &str) -> Option<&'static str> {
    let (before, after) = word.split_once('/')?;
    let is_unit = |part: &str| {
        UNITS.contains(&part) || matches!(part, "w" | "v" | "tablet" | "dose" | "day" | "hour")
    };
    let rate = is_unit(before) && matches!(after, "kg" | "lb" | "mL" | "ml" | "g" | "v" | "L");
    if rate || word.trim_end_matches('.') == "1/2" {
        return None;
    }
    if is_unit(before) {
        return Some("write 'per'");
    }
    Some("write it in words, without the slash")
}

/// "5 mg." in the middle of a sentence; at its end a full stop is only that.
fn stop_after_unit(word: &str, next: &str) -> Option<&'static str> {
    let unit = word.strip_suffix('.')?;
    let goes_on = next.starts_with(|c: char| c.is_lowercase() || c.is_ascii_digit());
    (UNITS.contains(&unit) && goes_on).then_some("write the unit without a full stop")
}

#[cfg(test)]
mod tests {
    use super::error_prone;

    fn found(text: &str) -> Vec<String> {
        let found = error_prone(text);
        for prone in &found {
            assert_eq!(
                text.get(prone.at.clone()),
                Some(prone.found.as_str()),
                "{text}"
            );
        }
        found.into_iter().map(|prone| prone.found).collect()
    }

    /// The Joint Commission's "Do Not Use" list (2018 text) and ISMP's list (2005 edition), as far
    /// as they name no medicine; NIST SP 811 section 7.2 for the space.
    #[test]
    fn what_the_lists_name_is_found() {
        for (text, expected) in [
            ("give .5 mL", ".5"),
            ("give 5.0 mL", "5.0"),
            ("give 0.50 mL", "0.50"),
            ("5 \u{b5}g twice", "\u{b5}g"),
            ("5 ug twice", "ug"),
            ("0.1 cc under the skin", "cc"),
            ("100 U once", "U"),
            ("100U once", "100U"),
            ("100 IU once", "IU"),
            ("100 iu once", "iu"),
            ("give QD", "QD"),
            ("give q.d. with food", "q.d."),
            ("give qod", "qod"),
            ("1 drop OD", "OD"),
            ("1 drop OS", "OS"),
            ("1 drop, AU", "AU"),
            ("every 6/24", "6/24"),
            ("for 1/7", "1/7"),
            ("give q1d", "q1d"),
            ("give q6PM", "q6PM"),
            ("q2\u{b0} while awake", "q2\u{b0}"),
            ("qhs with food", "qhs"),
            ("at HS", "HS"),
            ("SC in the flank", "SC"),
            ("(SQ)", "SQ"),
            ("sub q in the flank", "sub"),
            ("per os", "per"),
            ("30 mg/day", "mg/day"),
            ("left/right in turn", "left/right"),
            ("@ noon", "@"),
            ("food & water", "&"),
            ("if <10 g", "<10"),
            ("if >10 g", ">10"),
            ("A+B", "A+B"),
            ("10mg in all", "10mg"),
            ("5 mg. daily", "mg."),
            ("ss tablet", "ss"),
            ("10^6 units", "10^6"),
            ("1e6 units", "1e6"),
            ("D/C if worse", "D/C"),
            ("100000 units", "100000"),
            ("0,5 mL", "0,5"),
            ("phase II", "II"),
            ("100IU once", "100IU"),
            ("every 6\u{b0}", "6\u{b0}"),
            ("2 \u{2125} in all", "\u{2125}"),
        ] {
            assert_eq!(found(text), [expected], "{text}");
        }
    }

    #[test]
    fn plain_words_are_left_alone() {
        for text in [
            "",
            "Give 0.5 mL every 12 hours, under the skin.",
            "Give 5 mg. Then wait.",
            "Give 5 mg.",
            "13 mg/kg of an 8 mg/mL solution, 2.5 % w/v",
            "100,000 units in all",
            "half a tablet, or 1/2 tablet",
            "as it was, at 30 \u{b0}C",
            "keep at 30\u{b0}C",
            "ring 555 0134 (not a number)",
            "written in 2001",
            "IV line stays in",
            "add water; discuss with me",
            "a quiet, warm box",
            "3eggs and 4e",
        ] {
            assert_eq!(found(text), [] as [&str; 0], "{text}");
        }
    }

    #[test]
    fn each_says_what_to_write() {
        let all = error_prone("0.1 cc QD & .5 mL, 100u");
        let said: Vec<String> = all.iter().map(ToString::to_string).collect();
        assert_eq!(
            said,
            [
                "'cc' can be misread: write mL",
                "'QD' can be misread: write 'daily'",
                "'&' can be misread: write 'and'",
                "'.5' can be misread: write a zero before the point, as in 0.5",
                "'100u' can be misread: write 'units' in full, after a space",
            ]
        );
    }
}
