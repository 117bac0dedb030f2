//! The faces for a terminal: plain words, 80 columns, no colour that carries meaning.
//!
//! Promises: the mark stands alone on its line; every reason for no mark is said; control
//! characters never pass. It computes nothing and asks nothing.

mod beside;
mod card;
mod check;
mod morning;
mod plan;
mod report;
mod stock;
mod weighin;
mod working;

pub use beside::beside;
pub use card::{card, off_card, one};
pub use check::check;
pub use morning::morning;
pub use plan::plan;
pub use report::report;
pub use stock::stock;
pub use weighin::weighin;
pub use working::working;

use crate::notation::fold::is_unseen;

/// No line is longer, so that a narrow window and a screen reader can follow.
const WIDTH: usize = 80;

/// The text broken into lines, each after the first set in by `indent`. A figure is never parted
/// from the word after it, which may be its unit.
pub fn wrapped(text: &str, first: &str, indent: &str) -> String {
    let mut out = String::with_capacity(first.len() + text.len() + indent.len());
    out.push_str(first);
    let mut column = first.chars().count();
    let mut fresh = true;
    let mut words = text.split_whitespace().peekable();
    let mut piece = Vec::new();
    while let Some(word) = words.next() {
        piece.push(word);
        // A row of figures longer than this may be parted after all.
        let may_grow = piece.iter().map(|word| word.len() + 1).sum::<usize>() <= WIDTH / 3;
        if word.ends_with(|c: char| c.is_ascii_digit()) && may_grow && words.peek().is_some() {
            continue;
        }
        let letters = piece.iter().map(|word| word.chars().count() + 1);
        let length = letters.sum::<usize>() - 1;
        if !fresh && column + 1 + length > WIDTH {
            out.push('\n');
            out.push_str(indent);
            column = indent.chars().count();
            fresh = true;
        }
        column += length + usize::from(!fresh);
        for word in piece.drain(..) {
            if !fresh {
                out.push(' ');
            }
            fresh = false;
            match word.bytes().all(|letter| letter.is_ascii_graphic()) {
                true => out.push_str(word),
                false => out.extend(word.chars().filter(|c| !is_unseen(*c))),
            }
        }
    }
    out
}

#[cfg(test)]
mod tests {
    use super::{WIDTH, wrapped};

    #[test]
    fn a_figure_stays_with_its_unit() {
        for filler in 0..120 {
            let text = format!("{} drawn to 0.075 mL each", "x".repeat(filler));
            for line in wrapped(&text, "", "   ").lines() {
                assert!(!line.ends_with("0.075"), "{line}");
            }
        }
    }

    #[test]
    fn no_line_is_longer_than_it_may_be() {
        let text = "For Thimblo at 46 g on Mon 5 March, 3 days old, that is 1.334 mg. ".repeat(9);
        for line in wrapped(&text, "   ", "      ").lines() {
            assert!(line.chars().count() <= WIDTH, "{line}");
        }
        assert_eq!(wrapped("a\u{1b}[2J b", "", ""), "a[2J b");
    }
}
