//! The faces for a terminal: plain words, 80 columns, no colour that carries meaning.
//!
//! Promises: the mark stands alone on its line; every reason for no mark is said; control
//! characters never pass. It computes nothing and asks nothing.

mod beside;
mod card;
mod check;
mod plan;
mod report;
mod weighin;
mod working;

pub use beside::beside;
pub use card::card;
pub use check::check;
pub use plan::plan;
pub use report::report;
pub use weighin::weighin;
pub use working::working;

/// No line is longer, so that a narrow window and a screen reader can follow.
const WIDTH: usize = 80;

/// The text broken into lines, each after the first set in by `indent`.
fn wrapped(text: &str, first: &str, indent: &str) -> String {
    let mut out = String::from(first);
    let mut column = first.chars().count();
    let mut fresh = true;
    for word in text.split_whitespace() {
        let length = word.chars().count();
        if !fresh && column + 1 + length > WIDTH {
            out.push('\n');
            out.push_str(indent);
            column = indent.chars().count();
            fresh = true;
        }
        if !fresh {
            out.push(' ');
            column += 1;
        }
        out.extend(word.chars().filter(|c| !c.is_control()));
        column += length;
        fresh = false;
    }
    out
}
