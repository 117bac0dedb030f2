//! Words in several styles, broken into lines that fit a width.
//!
//! Promises: no word is lost or changed by breaking; a number stays with the word after it (its
//! unit, its month, the rest of a phone number); "mg/mL" is never broken at its slash; nothing is
//! wider than asked, unless one letter is.
//! Does not: hyphenate, justify or place.

use std::borrow::Cow;

use unicode_normalization::UnicodeNormalization;

use crate::sheet::SheetError;
use crate::sheet::face::{Faces, Style};

/// A stretch of text in one style.
#[derive(Debug, Clone, PartialEq)]
pub struct Span {
    /// The words; runs of white space count as one space.
    pub text: String,
    /// Their face and size.
    pub style: Style,
}

impl Span {
    /// A stretch of text in one style.
    #[must_use]
    pub fn new(text: &str, style: Style) -> Self {
        Self {
            text: text.to_owned(),
            style,
        }
    }
}

/// A part of a line in one style, with its measured width.
#[derive(Debug, Clone, PartialEq)]
pub struct Piece {
    /// The words, with the space before the next piece.
    pub text: String,
    /// Their face and size.
    pub style: Style,
    /// Their width in millimetres.
    pub width: f32,
}

/// One line of text.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Line {
    /// Its parts, from left to right.
    pub pieces: Vec<Piece>,
}

impl Line {
    /// Its width in millimetres.
    #[must_use]
    pub fn width(&self) -> f32 {
        self.pieces.iter().map(|piece| piece.width).sum()
    }

    /// The size of its largest letters, in points.
    #[must_use]
    pub fn size(&self) -> f32 {
        self.pieces
            .iter()
            .map(|piece| piece.style.size)
            .fold(0.0, f32::max)
    }

    /// Its words.
    #[must_use]
    pub fn words(&self) -> String {
        let text: String = self.pieces.iter().map(|p| p.text.as_str()).collect();
        text.trim_end().to_owned()
    }
}

/// A word: what stands between two spaces, perhaps in several styles.
#[derive(Debug, Clone, Default)]
struct Word {
    parts: Vec<Span>,
    width: f32,
    /// Must stay on one line with the word after it.
    glued: bool,
}

impl Word {
    fn text(&self) -> String {
        self.parts.iter().map(|part| part.text.as_str()).collect()
    }
}

/// Words with the quotation marks and apostrophes of a printed page instead of a keyboard's.
#[must_use]
pub fn curled(words: &str) -> String {
    let mut set = String::with_capacity(words.len());
    for character in words.chars() {
        let opens = set
            .chars()
            .last()
            .is_none_or(|before| before.is_whitespace() || "([“‘".contains(before));
        set.push(match (character, opens) {
            ('"', true) => '“',
            ('"', false) => '”',
            ('\'', true) => '‘',
            ('\'', false) => '’',
            (other, _) => other,
        });
    }
    set
}

/// Breaks words into lines no wider than `width` millimetres.
///
/// # Errors
/// [`SheetError::MissingGlyph`] for a character that cannot be printed.
pub fn wrap(faces: &Faces, spans: &[Span], width: f32) -> Result<Vec<Line>, SheetError> {
    let mut lines = Vec::new();
    let mut line: Vec<Word> = Vec::new();
    for group in groups(words(faces, spans)?) {
        let mut longer = line.clone();
        longer.extend(group.clone());
        if set(faces, &longer)?.width() <= width {
            line = longer;
            continue;
        }
        if !line.is_empty() {
            lines.push(set(faces, &line)?);
            line = Vec::new();
        }
        if set(faces, &group)?.width() <= width {
            line = group;
        } else {
            // Too wide even alone on a line: first its own spaces give way, then its letters.
            let mut broken = Vec::new();
            for word in group {
                broken.extend(letters(faces, &word, width)?);
            }
            for word in broken {
                let mut longer = line.clone();
                longer.push(word.clone());
                if line.is_empty() || set(faces, &longer)?.width() <= width {
                    line = longer;
                } else {
                    lines.push(set(faces, &line)?);
                    line = vec![word];
                }
            }
        }
    }
    if !line.is_empty() {
        lines.push(set(faces, &line)?);
    }
    Ok(lines)
}

/// The width of one unbroken line, in millimetres.
///
/// # Errors
/// [`SheetError::MissingGlyph`] for a character that cannot be printed.
pub fn unbroken(faces: &Faces, spans: &[Span]) -> Result<Line, SheetError> {
    set(faces, &words(faces, spans)?)
}

fn words(faces: &Faces, spans: &[Span]) -> Result<Vec<Word>, SheetError> {
    let mut words: Vec<Word> = Vec::new();
    let mut word = Word::default();
    for span in spans {
        // Letters and their accents come joined, as the faces hold them.
        let text = match span.text.is_ascii() {
            true => Cow::Borrowed(span.text.as_str()),
            false => Cow::Owned(span.text.nfc().collect()),
        };
        // Measured whole first, so that a missing letter is reported with all that it stands in.
        faces.width(&text.replace(BLANK, " "), span.style)?;
        let mut letters = String::new();
        for character in text.chars() {
            if BLANK.contains(&character) {
                push(faces, &mut word, &mut letters, span.style)?;
                if !word.parts.is_empty() {
                    words.push(std::mem::take(&mut word));
                }
            } else {
                letters.push(character);
            }
        }
        push(faces, &mut word, &mut letters, span.style)?;
    }
    if !word.parts.is_empty() {
        words.push(word);
    }
    let glued: Vec<bool> = words
        .iter()
        .zip(words.iter().skip(1))
        .map(|(word, next)| keeps_next(&word.text(), &next.text()))
        .collect();
    for (word, glued) in words.iter_mut().zip(glued) {
        word.glued = glued;
    }
    Ok(words)
}

/// What counts as a space between words.
const BLANK: [char; 5] = [' ', '\n', '\r', '\t', '\u{a0}'];

fn push(
    faces: &Faces,
    word: &mut Word,
    letters: &mut String,
    style: Style,
) -> Result<(), SheetError> {
    if !letters.is_empty() {
        word.width += faces.width(letters, style)?;
        word.parts.push(Span {
            text: std::mem::take(letters),
            style,
        });
    }
    Ok(())
}

/// A number keeps the word after it: "8 mg", "7 March", "555 0134"; a time ("14:10 until") and
/// the end of a clause ("8, then") do not.
fn keeps_next(word: &str, next: &str) -> bool {
    let bare = word.trim_start_matches(['(', '“', '‘']);
    let number = bare.starts_with(|c: char| c.is_ascii_digit())
        && bare.ends_with(|c: char| c.is_ascii_digit())
        && bare
            .chars()
            .all(|c| c.is_ascii_digit() || matches!(c, '.' | ',' | '-' | '−'));
    number && !next.starts_with('(')
}

fn groups(words: Vec<Word>) -> Vec<Vec<Word>> {
    let mut groups: Vec<Vec<Word>> = Vec::new();
    let mut open = false;
    for word in words {
        let glued = word.glued;
        match groups.last_mut() {
            Some(group) if open => group.push(word),
            _ => groups.push(vec![word]),
        }
        open = glued;
    }
    groups
}

/// A word cut into parts that fit, if it does not.
fn letters(faces: &Faces, word: &Word, width: f32) -> Result<Vec<Word>, SheetError> {
    if word.width <= width {
        return Ok(vec![word.clone()]);
    }
    let mut cut = Vec::new();
    let mut part = Word::default();
    for span in &word.parts {
        for character in span.text.chars() {
            let advance = faces.width(character.encode_utf8(&mut [0; 4]), span.style)?;
            if part.width + advance > width && !part.parts.is_empty() {
                cut.push(std::mem::take(&mut part));
            }
            part.width += advance;
            match part.parts.last_mut() {
                Some(last) if last.style == span.style => last.text.push(character),
                _ => part
                    .parts
                    .push(Span::new(character.encode_utf8(&mut [0; 4]), span.style)),
            }
        }
    }
    cut.push(part);
    Ok(cut)
}

/// Sets words on one line, a space between them, joining what has one style.
fn set(faces: &Faces, words: &[Word]) -> Result<Line, SheetError> {
    let mut pieces: Vec<Piece> = Vec::new();
    for (at, word) in words.iter().enumerate() {
        if at > 0
            && let Some(last) = pieces.last_mut()
        {
            last.text.push(' ');
            last.width += faces.width(" ", last.style)?;
        }
        for part in &word.parts {
            let width = faces.width(&part.text, part.style)?;
            match pieces.last_mut() {
                Some(last) if last.style == part.style => {
                    last.text.push_str(&part.text);
                    last.width += width;
                }
                _ => pieces.push(Piece {
                    text: part.text.clone(),
                    style: part.style,
                    width,
                }),
            }
        }
    }
    Ok(Line { pieces })
}

#[cfg(test)]
#[allow(clippy::unwrap_used)]
mod tests {
    use super::*;

    const PLAIN: Style = Style::regular(11.0);
    const STRONG: Style = Style::bold(11.0);

    fn lines(spans: &[Span], width: f32) -> Vec<String> {
        let faces = Faces::load().unwrap();
        let lines = wrap(&faces, spans, width).unwrap();
        for line in &lines {
            assert!(line.width() <= width, "{line:?} is wider than {width}");
        }
        lines.iter().map(Line::words).collect()
    }

    #[test]
    fn all_words_are_kept_in_order_at_every_width() {
        let text = "tub 9, quarantine, no tail tip; weighs 1,250 g and was seen 3 times on \
                    8 March 2001 by Dr A. Example (“8 mg/mL”)";
        for width in [8.0, 20.0, 31.5, 60.0, 500.0] {
            let joined = lines(&[Span::new(text, PLAIN)], width).join(" ");
            let squeeze = |s: &str| s.replace(' ', "");
            assert_eq!(squeeze(&joined), squeeze(text), "at {width}");
        }
        let wide = lines(&[Span::new(text, PLAIN)], 60.0).join(" ");
        assert_eq!(wide, text);
    }

    #[test]
    fn a_number_stays_with_its_unit_and_a_slash_is_no_place_to_break() {
        let spans = [Span::new("must read 8 mg/mL on the label", PLAIN)];
        for width in 20..60 {
            for line in lines(&spans, width as f32) {
                assert!(!line.ends_with('8'), "{line} at {width}");
                assert!(!line.ends_with("mg/"), "{line} at {width}");
            }
        }
    }

    #[test]
    fn a_phone_number_stays_together_and_its_remark_may_go_to_the_next_line() {
        let spans = [Span::new("Call 555 0134 (not a number)", STRONG)];
        assert_eq!(lines(&spans, 30.0), ["Call 555 0134", "(not a number)"]);
    }

    #[test]
    fn a_word_too_long_for_the_line_is_cut_and_nothing_is_lost() {
        let name = "Thimblothimblothimblothimblothimblo";
        let cut = lines(&[Span::new(name, STRONG)], 20.0);
        assert!(cut.len() > 1);
        assert_eq!(cut.concat(), name);
    }

    #[test]
    fn styles_may_change_inside_a_word_and_share_a_line() {
        let faces = Faces::load().unwrap();
        let spans = [
            Span::new("Madeup Dusk", STRONG),
            Span::new(", bottle 4", PLAIN),
        ];
        let lines = wrap(&faces, &spans, 100.0).unwrap();
        let [line] = lines.as_slice() else {
            unreachable!("one line: {lines:?}")
        };
        assert_eq!(line.words(), "Madeup Dusk, bottle 4");
        assert_eq!(line.pieces.len(), 2);
        let sum =
            faces.width("Madeup Dusk", STRONG).unwrap() + faces.width(", bottle 4", PLAIN).unwrap();
        assert!((line.width() - sum).abs() < 0.001);
    }

    #[test]
    fn quotation_marks_open_and_close_and_an_apostrophe_stays_one() {
        assert_eq!(
            curled("your vet's \"on the skin\", ('scruple add')"),
            "your vet’s “on the skin”, (‘scruple add’)"
        );
    }

    #[test]
    fn nothing_makes_no_lines() {
        assert_eq!(lines(&[], 50.0), Vec::<String>::new());
        assert_eq!(lines(&[Span::new("  ", PLAIN)], 50.0), Vec::<String>::new());
    }
}
