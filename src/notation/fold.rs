//! Names compared as people mean them: without case, spaces and accents; and near misses.
//!
//! Promises: two names that differ only in case, spaces, accents or invisible characters are the
//! same name. A near miss is only ever asked about or offered, never taken for the name itself.

use unicode_normalization::UnicodeNormalization;
use unicode_normalization::char::is_combining_mark;

/// The name without case, spaces, accents and invisible characters, for comparing alone: it is
/// never printed.
#[must_use]
pub fn fold(name: &str) -> String {
    if name.is_ascii() {
        // Nothing to take apart, and most names are of this kind.
        let seen = name.chars().filter(|c| !c.is_control() && *c != ' ');
        return seen.map(|c| c.to_ascii_lowercase()).collect();
    }
    let mut folded = String::with_capacity(name.len());
    for c in name.nfkd().flat_map(char::to_lowercase).nfkd() {
        match c {
            // Letters that no decomposition takes apart.
            'ß' => folded.push_str("ss"),
            'æ' => folded.push_str("ae"),
            'œ' => folded.push_str("oe"),
            'þ' => folded.push_str("th"),
            'ø' => folded.push('o'),
            'ł' => folded.push('l'),
            'đ' | 'ð' => folded.push('d'),
            'ħ' => folded.push('h'),
            'ı' => folded.push('i'),
            c if c.is_whitespace() || is_combining_mark(c) || is_unseen(c) => {}
            c => folded.push(c),
        }
    }
    folded
}

/// Whether two names are the same name.
#[must_use]
pub fn same(a: &str, b: &str) -> bool {
    a == b || fold(a) == fold(b)
}

/// Whether two names differ, but so little that one may be a slip for the other.
#[must_use]
pub fn near_miss(a: &str, b: &str) -> bool {
    distance(a, b).is_some_and(|distance| distance > 0)
}

/// Whether two names are two, but so much alike that one is easily taken for the other: a slip of
/// the hand apart, or one the beginning of the other.
#[must_use]
pub fn alike(a: &str, b: &str) -> bool {
    Sought::new(&fold(a)).is_alike(&fold(b))
}

/// The known name nearest to `word`, if one is near.
pub fn nearest<'a>(word: &str, known: impl IntoIterator<Item = &'a str>) -> Option<&'a str> {
    near(word, known).first().copied()
}

/// The known names near to `word`, the nearest first.
pub fn near<'a>(word: &str, known: impl IntoIterator<Item = &'a str>) -> Vec<&'a str> {
    let mut found: Vec<(usize, &str)> = known
        .into_iter()
        .filter_map(|name| Some((distance(word, name)?, name)))
        .collect();
    found.sort_by_key(|(distance, _)| *distance);
    found.into_iter().map(|(_, name)| name).collect()
}

/// Characters that leave no mark on paper or screen, and those that steer a terminal.
#[must_use]
pub fn is_unseen(c: char) -> bool {
    c.is_control()
        || matches!(c,
            '\u{ad}' | '\u{34f}' | '\u{61c}' | '\u{115f}' | '\u{1160}' | '\u{17b4}' | '\u{17b5}'
            | '\u{180b}'..='\u{180f}' | '\u{200b}'..='\u{200f}' | '\u{2028}'..='\u{202e}'
            | '\u{2060}'..='\u{206f}' | '\u{2800}' | '\u{3164}' | '\u{fe00}'..='\u{fe0f}'
            | '\u{feff}' | '\u{ffa0}' | '\u{fff0}'..='\u{fffb}' | '\u{1d173}'..='\u{1d17a}'
            | '\u{e0000}'..='\u{e0fff}')
}

/// The most letters that a slip of the hand changes in a name, however long.
const SLIP_LETTERS: usize = 3;

/// How many letters a slip of the hand changes in a name of so many: one in four; with more, unlike
/// names would be offered.
#[must_use]
pub fn slip_letters(letters: usize) -> usize {
    (letters / 4).clamp(1, SLIP_LETTERS)
}

/// How many letters two names are apart, folded: changed, added, left out, or swapped with a
/// neighbour. Nothing when that is more than a slip of the hand.
fn distance(a: &str, b: &str) -> Option<usize> {
    Sought::new(&fold(a)).slip(&fold(b))
}

/// A folded name that others are held against, prepared once for all of them.
#[derive(Debug)]
pub struct Sought<'n> {
    name: &'n str,
    letters: usize,
    places: Option<Places>,
}

impl<'n> Sought<'n> {
    /// Prepares a name that was folded before.
    #[must_use]
    pub fn new(name: &'n str) -> Sought<'n> {
        Sought {
            name,
            letters: letters(name),
            places: Places::of(name),
        }
    }

    /// As [`alike`], of another name that was folded before.
    #[must_use]
    pub fn is_alike(&self, other: &str) -> bool {
        let begins = self.name.starts_with(other) || other.starts_with(self.name);
        let both = !self.name.is_empty() && !other.is_empty();
        self.name != other && ((begins && both) || self.slip(other).is_some())
    }

    /// How many letters they are apart, where that is no more than a slip of the hand.
    fn slip(&self, other: &str) -> Option<usize> {
        /// No name is longer, and the work grows with the square.
        const LONGEST: usize = 120;
        let (shorter, letters) = match (self.letters, letters(other)) {
            (a, b) if a < b => (a, b),
            (a, b) => (b, a),
        };
        let most = slip_letters(letters);
        if letters > LONGEST || letters - shorter > most {
            return None;
        }
        let distance = match &self.places {
            Some(places) if other.is_ascii() => places.apart(other.as_bytes(), most)?,
            _ => strsim::osa_distance(self.name, other),
        };
        (distance <= most && distance < letters).then_some(distance)
    }
}

fn letters(name: &str) -> usize {
    match name.is_ascii() {
        true => name.len(),
        false => name.chars().count(),
    }
}

/// Where each letter stands in a name of at most 64 plain letters, a bit for each place.
#[derive(Debug)]
struct Places {
    of_letter: [u64; 128],
    length: usize,
}

impl Places {
    fn of(name: &str) -> Option<Places> {
        if !name.is_ascii() || name.len() > 64 {
            return None;
        }
        let mut of_letter = [0_u64; 128];
        for (at, letter) in name.bytes().enumerate() {
            if let Some(places) = of_letter.get_mut(usize::from(letter)) {
                *places |= 1 << at;
            }
        }
        let length = name.len();
        Some(Places { of_letter, length })
    }

    /// As `strsim::osa_distance`, many times quicker: the whole column of the table that belongs to
    /// one letter of the other name is worked out at once, a bit for each letter of this one (Hyyrö,
    /// "A bit-vector algorithm for computing Levenshtein and Damerau edit distances", 2003).
    /// Nothing as soon as it is certain to be more than `most`: a letter mends one at best.
    fn apart(&self, other: &[u8], most: usize) -> Option<usize> {
        let Some(last) = self.length.checked_sub(1).map(|last| 1_u64 << last) else {
            return (other.len() <= most).then_some(other.len());
        };
        let mut distance = self.length;
        // Where the table grows by one downwards, where it shrinks by one, and where a step along
        // the diagonal costs nothing.
        let (mut grows, mut shrinks, mut free) = (u64::MAX, 0_u64, 0_u64);
        let mut before = 0;
        for (done, letter) in other.iter().enumerate() {
            if distance > most + (other.len() - done) {
                return None;
            }
            let here = self.of_letter.get(usize::from(*letter));
            let here = here.copied().unwrap_or(0);
            let swapped = ((!free & here) << 1) & before;
            let run = (here & grows).wrapping_add(grows) ^ grows;
            free = run | here | shrinks | swapped;
            let across_grows = shrinks | !(free | grows);
            let across_shrinks = free & grows;
            distance += usize::from(across_grows & last != 0);
            distance -= usize::from(across_shrinks & last != 0);
            let across_grows = (across_grows << 1) | 1;
            grows = (across_shrinks << 1) | !(free | across_grows);
            shrinks = across_grows & free;
            before = here;
        }
        (distance <= most).then_some(distance)
    }
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used, reason = "a test may stop at once")]

    use super::{Places, alike, fold, is_unseen, near, near_miss, nearest, same};
    use proptest::prelude::{ProptestConfig, prop_assert_eq, proptest};

    proptest! {
        #![proptest_config(ProptestConfig::with_cases(5_000))]

        #[test]
        fn plain_letters_are_as_far_apart_as_in_the_whole_table(
            (a, b) in ("[a-c]{0,9}|[a-e]{0,64}", "[a-c]{0,9}|[a-e]{0,70}"),
            most in 0..9_usize,
        ) {
            let places = Places::of(&a).unwrap();
            let wanted = strsim::osa_distance(&a, &b);
            prop_assert_eq!(places.apart(b.as_bytes(), 70), Some(wanted));
            let near = (wanted <= most).then_some(wanted);
            prop_assert_eq!(places.apart(b.as_bytes(), most), near);
        }
    }

    #[test]
    fn case_spaces_and_accents_do_not_make_another_name() {
        for (a, b) in [
            ("Madeup Amber", "madeup amber"),
            ("Madeup Amber", "  Madeup\u{a0}AMBER "),
            ("Madeup Amber", "MadeupAmber"),
            ("Mädeup Ambér", "Madeup Amber"),
            ("Mädeup", "Ma\u{308}deup"),
            ("Łößø", "losso"),
            ("ÆŒÞ ĐÐĦ ı", "aeoeth ddh i"),
            ("Ｍadeup", "Madeup"),
            ("Am\u{200b}ber", "Amber"),
            ("İmber", "imber"),
        ] {
            assert!(same(a, b), "{a} {b}: {} {}", fold(a), fold(b));
            assert!(!near_miss(a, b), "{a} {b}");
        }
        assert!(!same("Madeup Amber", "Madeup Umber"));
    }

    #[test]
    fn a_slip_of_the_hand_is_near() {
        for (a, b) in [
            ("Madeup Amber", "Madeup Umber"),
            ("Madeup Amber", "Madeup Abmer"),
            ("Thimblo", "Thimbo"),
            // One letter, of two bytes.
            ("Thimblo", "Thimblж"),
            ("Nub", "Nob"),
        ] {
            assert!(near_miss(a, b), "{a} {b}");
        }
        for (a, b) in [
            ("Madeup Amber", "Invented Cobalt"),
            ("Thimblo", "Nubbet"),
            ("A", "B"),
            ("", "A"),
            ("Al", "Bo"),
        ] {
            assert!(!near_miss(a, b), "{a} {b}");
        }
    }

    /// One slip in four letters, at least one and at most three.
    #[test]
    fn how_many_slips_are_near_goes_by_the_length() {
        for (a, b, near) in [
            ("Thimblo", "Thimbla", true),
            ("Thimblo", "Thambla", false),
            ("Thimblos", "Thamblas", true),
            ("Thimblos", "Thamplas", false),
            ("abcdefghijkl", "xbcdefyhijkz", true),
            ("abcdefghijklmnop", "xbcdefyhijkzmnoq", false),
        ] {
            assert_eq!(near_miss(a, b), near, "{a} {b}");
        }
        // No name is longer than 120 letters.
        for (letters, near) in [(119, true), (120, false)] {
            let name = "n".repeat(letters);
            assert_eq!(near_miss(&format!("{name}a"), &format!("{name}b")), near);
        }
    }

    #[test]
    fn names_that_are_easily_taken_for_each_other_are_alike() {
        for (a, b) in [
            ("Nub", "Nubbet"),
            ("Thimblo", "thimbol"),
            ("Moss", "Mossop"),
        ] {
            assert!(alike(a, b) && alike(b, a), "{a} {b}");
        }
        for (a, b) in [("Nubbet", "nubbet"), ("Thimblo", "Nubbet"), ("", "Nub")] {
            assert!(!alike(a, b), "{a} {b}");
        }
    }

    #[test]
    fn the_nearest_comes_first() {
        let known = ["max_dose", "max_per_site", "dose"];
        assert_eq!(nearest("maxdose", known), Some("max_dose"));
        assert_eq!(nearest("doze", known), Some("dose"));
        assert_eq!(nearest("zebra", known), None);
        assert_eq!(near("Nubet", ["Nubbet", "Nubed"]), ["Nubbet", "Nubed"]);
        assert_eq!(nearest(&"x".repeat(100_000), known), None);
    }

    #[test]
    fn what_cannot_be_seen_is_known() {
        for c in ['\u{1b}', '\u{9b}', '\u{200b}', '\u{202e}', '\u{feff}', '\n'] {
            assert!(is_unseen(c), "{c:?}");
        }
        for c in ['a', 'é', 'ł', ' ', '\u{a0}', '½', '—'] {
            assert!(!is_unseen(c), "{c:?}");
        }
    }
}
