//! A table of weighings as a spreadsheet saves it: commas between, quotation marks around what
//! holds one, a first line that names the columns.
//!
//! Promises: what is not such a table is named as what it is, with what to do; the work is
//! bounded by [`LONGEST_FILE`] and [`MOST_ROWS`]. What the cells mean is read elsewhere.

use crate::notation::fold::{fold, is_unseen, nearest};

/// The longest table, in bytes.
pub(super) const LONGEST_FILE: usize = 1 << 20;
/// The most rows below the heading.
pub(super) const MOST_ROWS: usize = 5_000;

const COLUMNS: [&str; 5] = ["name", "date", "weight", "time", "tag"];
const NEEDED: usize = 3;

/// One row, its cells as typed, without the spaces around them.
#[derive(Debug, Default, PartialEq, Eq)]
pub(super) struct Cells {
    /// The line of the file it begins on, from 1.
    pub line: usize,
    /// The animal.
    pub name: String,
    /// The day.
    pub date: String,
    /// The weight with its unit.
    pub weight: String,
    /// The hour, where one is written.
    pub time: Option<String>,
    /// What may make the weight misleading.
    pub tag: Option<String>,
    /// What is wrong with the row as a row.
    pub fault: Option<String>,
}

/// Reads the table.
///
/// # Errors
/// One sentence on why it is none, and what to do.
pub(super) fn read(bytes: &[u8]) -> Result<Vec<Cells>, String> {
    if bytes.len() > LONGEST_FILE {
        return Err(
            "this file is longer than 1 MiB: check that it is the right one, or split it"
                .to_owned(),
        );
    }
    let text = std::str::from_utf8(bytes).map_err(|_| {
        "this is not plain text in UTF-8: in your spreadsheet, save the table as 'CSV UTF-8'"
            .to_owned()
    })?;
    let text = text.strip_prefix('\u{feff}').unwrap_or(text);
    let mut lines = rows(text)?.into_iter();
    let Some((_, heading)) = lines.next() else {
        return Err("this file is empty: its first line is name,date,weight".to_owned());
    };
    let columns = columns(&heading)?;
    let mut table = Vec::new();
    for (line, cells) in lines {
        if table.len() == MOST_ROWS {
            return Err("there are more than 5,000 rows in this file: split it".to_owned());
        }
        table.push(row(line, &cells, &columns));
    }
    if table.is_empty() {
        return Err("there is no row below the first line: write one for each weighing".to_owned());
    }
    Ok(table)
}

fn columns(heading: &[String]) -> Result<Vec<usize>, String> {
    if let [only] = heading {
        for (apart, what) in [(';', "semicolons"), ('\t', "tabs")] {
            if only.contains(apart) {
                return Err(format!(
                    "the columns are separated by {what}: in your spreadsheet, save the table with commas"
                ));
            }
        }
    }
    let mut columns = Vec::new();
    for name in heading {
        let known = COLUMNS.iter().position(|column| *column == fold(name));
        let Some(column) = known else {
            let shown: String = name.chars().filter(|c| !is_unseen(*c)).take(40).collect();
            let near = nearest(name, COLUMNS).map(|near| format!("; did you mean '{near}'?"));
            return Err(format!(
                "the first line names a column '{shown}': it may name name, date, weight, time and tag{}",
                near.unwrap_or_default()
            ));
        };
        if columns.contains(&column) {
            return Err(format!("the first line names '{}' twice", fold(name)));
        }
        columns.push(column);
    }
    match (0..NEEDED).find(|needed| !columns.contains(needed)) {
        Some(missing) => Err(format!(
            "the first line does not name '{}': it is to be name,date,weight, with time and tag if you have them",
            COLUMNS.get(missing).unwrap_or(&"name")
        )),
        None => Ok(columns),
    }
}

fn row(line: usize, cells: &[String], columns: &[usize]) -> Cells {
    let mut row = Cells {
        line,
        ..Cells::default()
    };
    if cells.len() != columns.len() {
        row.fault = Some(format!(
            "it has {} cells and the first line {}; a cell with a comma in it stands in quotation marks",
            cells.len(),
            columns.len()
        ));
    }
    for (cell, column) in cells.iter().zip(columns) {
        let cell = cell.trim().to_owned();
        match column {
            0 => row.name = cell,
            1 => row.date = cell,
            2 => row.weight = cell,
            3 => row.time = Some(cell).filter(|cell| !cell.is_empty()),
            _ => row.tag = Some(cell).filter(|cell| !cell.is_empty()),
        }
    }
    row
}

/// The rows that are not empty, each with the line it begins on (RFC 4180).
fn rows(text: &str) -> Result<Vec<(usize, Vec<String>)>, String> {
    let mut rows = Vec::new();
    let mut cells = vec![String::new()];
    let (mut line, mut begun) = (1, 1);
    let mut quoted_from = None;
    let mut letters = text.chars().peekable();
    while let Some(c) = letters.next() {
        let ends_line = c == '\n' || c == '\r';
        if c == '\r' && letters.peek() == Some(&'\n') {
            letters.next();
        }
        if ends_line {
            line += 1;
        }
        let fresh = cells.last().is_none_or(|cell| cell.trim().is_empty());
        match c {
            '"' if quoted_from.is_some() && letters.peek() == Some(&'"') => {
                letters.next();
                push(&mut cells, '"');
            }
            '"' if quoted_from.is_some() => quoted_from = None,
            '"' if fresh => quoted_from = Some(line),
            _ if quoted_from.is_some() => push(&mut cells, if ends_line { '\n' } else { c }),
            ',' => cells.push(String::new()),
            _ if ends_line => {
                keep(&mut rows, begun, std::mem::take(&mut cells));
                cells.push(String::new());
                begun = line;
            }
            c => push(&mut cells, c),
        }
    }
    if let Some(from) = quoted_from {
        return Err(format!(
            "a quotation mark is opened on line {from} and never closed: close it, or take it out"
        ));
    }
    keep(&mut rows, begun, cells);
    Ok(rows)
}

fn push(cells: &mut [String], c: char) {
    if let Some(cell) = cells.last_mut() {
        cell.push(c);
    }
}

fn keep(rows: &mut Vec<(usize, Vec<String>)>, line: usize, cells: Vec<String>) {
    if cells.iter().any(|cell| !cell.trim().is_empty()) {
        rows.push((line, cells));
    }
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used, clippy::indexing_slicing)]
    use super::{Cells, MOST_ROWS, read};

    fn cells(line: usize, name: &str, date: &str, weight: &str) -> Cells {
        Cells {
            line,
            name: name.to_owned(),
            date: date.to_owned(),
            weight: weight.to_owned(),
            ..Cells::default()
        }
    }

    #[test]
    fn a_plain_table() {
        let text = "name,date,weight\nThimblo,2001-03-01,31 g\nNubbet,2001-03-01,12 g\n";
        let expected = vec![
            cells(2, "Thimblo", "2001-03-01", "31 g"),
            cells(3, "Nubbet", "2001-03-01", "12 g"),
        ];
        assert_eq!(read(text.as_bytes()).unwrap(), expected);
    }

    #[test]
    fn as_a_spreadsheet_saves_it() {
        let text = "\u{feff}Weight,Name,Date,Tag,Time\r\n31 g,\"Thim\"\"blo, the first\",2001-03-01,just fed,18:30\r\n\r\n,,,,\r\n\"12 g\" ,Nubbet,2001-03-01,,\r\n";
        let table = read(text.as_bytes()).unwrap();
        assert_eq!(table.len(), 2);
        assert_eq!(table[0].name, "Thim\"blo, the first");
        assert_eq!(table[0].tag.as_deref(), Some("just fed"));
        assert_eq!(table[0].time.as_deref(), Some("18:30"));
        assert_eq!(table[1], cells(5, "Nubbet", "2001-03-01", "12 g"));
    }

    #[test]
    fn a_row_of_another_length_is_told_apart_from_the_others() {
        let text = "name,date,weight\nThimblo,2001-03-01,31,5 g\nNubbet,2001-03-01,12 g";
        let table = read(text.as_bytes()).unwrap();
        assert!(table[0].fault.as_ref().unwrap().contains("4 cells"));
        assert_eq!(table[1].fault, None);
    }

    #[test]
    fn what_is_no_such_table_is_named() {
        let many = "name,date,weight\n".to_owned() + &"a,b,c\n".repeat(MOST_ROWS + 1);
        let utf16: Vec<u8> = "name,date,weight"
            .encode_utf16()
            .flat_map(u16::to_le_bytes)
            .collect();
        let utf16 = [vec![0xff, 0xfe], utf16].concat();
        for (bytes, phrase) in [
            (b"".as_slice(), "empty"),
            (b"name,date,weight\n", "no row"),
            (b"name;date;weight\nA;2001-03-01;31 g\n", "semicolons"),
            (b"name\tdate\tweight\n", "tabs"),
            (b"name,date,wieght\n", "did you mean 'weight'"),
            (b"name,date\nA,2001-03-01\n", "does not name 'weight'"),
            (b"name,date,weight,name\n", "names 'name' twice"),
            (
                b"name,date,weight\n\"A,2001-03-01,31 g\n",
                "opened on line 2",
            ),
            (&[b'n', 0xe9], "UTF-8"),
            (&utf16, "UTF-8"),
            (many.as_bytes(), "5,000 rows"),
            (&vec![b'a'; (1 << 20) + 1], "1 MiB"),
        ] {
            let fault = read(bytes).unwrap_err();
            assert!(fault.contains(phrase), "{fault}");
        }
    }
}
