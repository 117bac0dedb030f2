//! One cell of a table: always quoted, and nothing that a spreadsheet would run.
//!
//! A cell that begins with = + - @, a tab or a line end may be taken for a formula (the OWASP page
//! "CSV Injection" names these, and the wide forms of the signs). An apostrophe before it makes it
//! text. A spreadsheet set to another separator takes the line apart at that, so the same is done
//! after every semicolon, comma, bar, tab and line end inside a cell.

/// Writes one row with its line end.
pub(super) fn row<'a>(cells: impl IntoIterator<Item = &'a str>, into: &mut String) {
    for (at, cell) in cells.into_iter().enumerate() {
        if at > 0 {
            into.push(',');
        }
        push(cell, into);
    }
    into.push_str("\r\n");
}

fn push(cell: &str, into: &mut String) {
    into.push('"');
    if cell.starts_with(['\t', '\r', '\n']) {
        into.push('\'');
    }
    // A cell, or what would be one elsewhere, begins here.
    let mut begins = true;
    for c in cell.chars() {
        if begins && is_sign(c) {
            into.push('\'');
        }
        begins = is_separator(c) || (begins && (c.is_whitespace() || c == '"'));
        match c {
            '"' => into.push_str("\"\""),
            // A byte that ends the text for some readers.
            '\0' => into.push('\u{fffd}'),
            c => into.push(c),
        }
    }
    into.push('"');
}

const fn is_sign(c: char) -> bool {
    matches!(
        c,
        '=' | '+' | '-' | '@' | '\u{ff1d}' | '\u{ff0b}' | '\u{ff0d}' | '\u{ff20}'
    )
}

const fn is_separator(c: char) -> bool {
    matches!(c, ';' | ',' | '|' | '\t' | '\r' | '\n')
}
