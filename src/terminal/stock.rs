//! What the courses need and what is in hand, on a terminal.

use crate::round::stock::Supply;
use crate::round::stock::say::{bottle, lasts, must_read, needed, without_mark};
use crate::terminal::wrapped;

/// One medicine after another.
pub fn stock(supplies: &[Supply]) -> String {
    if supplies.is_empty() {
        return "No course needs anything more.".to_owned();
    }
    let mut lines = vec![wrapped(
        "Marks at today's weights, with what stays in the hubs. No figure here is a mark to draw to; a bottle that is not in the book is not counted.",
        "",
        "",
    )];
    for supply in supplies {
        lines.push(String::new());
        one(supply, &mut lines);
    }
    lines.join("\n")
}

fn one(supply: &Supply, lines: &mut Vec<String>) {
    lines.push(wrapped(
        &format!("{}, {}", supply.medicine, must_read(supply)),
        "",
        "   ",
    ));
    let mut row = |label: &str, text: &str| {
        lines.push(wrapped(text, &format!("   {label:<10}"), "             "));
    };
    row("Needed", &needed(supply));
    for left_out in &supply.without_mark {
        row("Excluded", &without_mark(left_out));
    }
    if supply.bottles.is_empty() {
        row("In hand", "no bottle of it is in the book");
    }
    for (at, held) in supply.bottles.iter().enumerate() {
        let lead = if at == 0 { "In hand" } else { "" };
        row(lead, &bottle(held, Some("scruple bottle left")));
    }
    row("Lasts", &lasts(supply));
}
