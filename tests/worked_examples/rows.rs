//! The published rows, read from `rows.csv`: what each source printed, figure by figure.
//!
//! Promises: a figure keeps the digits it was printed with, for those say how closely it was
//! meant. Nothing of the program reads them.

use scruple::quantity::Exact;
use std::iter::Peekable;
use std::str::Chars;

/// One published example. Cells that the source left empty are empty.
#[derive(Debug)]
pub struct Row {
    pub id: String,
    pub weight: String,
    pub weight_unit: String,
    pub dose: String,
    pub dose_unit: String,
    pub concentration: String,
    pub concentration_unit: String,
    pub amount: String,
    pub amount_unit: String,
    /// In mL, whatever the cell beside it adds.
    pub volume: String,
    pub source: String,
}

/// Every row, in the order of the file.
pub fn all() -> Vec<Row> {
    let records = records(include_str!("rows.csv"));
    let mut rows = records.into_iter();
    let header = rows.next().unwrap();
    assert_eq!(header[0], "id");
    assert_eq!(header[13], "source");
    rows.map(|cells| {
        let cell = |at: usize| cells[at].clone();
        Row {
            id: cell(0),
            weight: cell(3),
            weight_unit: cell(4),
            dose: cell(5),
            dose_unit: cell(6),
            concentration: cell(7),
            concentration_unit: cell(8),
            amount: cell(9),
            amount_unit: cell(10),
            volume: cell(11),
            source: cell(13),
        }
    })
    .collect()
}

/// The row of that id.
pub fn row(id: &str) -> Row {
    let found = all().into_iter().find(|row| row.id == id);
    found.unwrap_or_else(|| panic!("no row {id} in rows.csv"))
}

impl Row {
    /// Holds our exact figure against the printed one: equal once rounded to its last digit.
    #[track_caller]
    pub fn agrees(&self, ours: Exact, printed: &str) {
        let Row { id, source, .. } = self;
        assert!(
            rounds_to(ours, printed),
            "{id}: printed {printed}, ours {}/{}; {source}",
            ours.numerator(),
            ours.denominator()
        );
    }
}

/// Whether the figure is nearer to the printed one than half of its last digit. A tie is not: which
/// way it goes is a convention, and rows that hang on one are listed as such.
pub fn rounds_to(ours: Exact, printed: &str) -> bool {
    let off = ours.minus(figure(printed)).unwrap().abs();
    let half_digit = Exact::ratio(1, 2 * 10_i128.pow(places(printed))).unwrap();
    off < half_digit
}

/// A printed figure, exactly.
pub fn figure(printed: &str) -> Exact {
    let digits: String = printed.chars().filter(|&c| c != '.').collect();
    let n = digits
        .parse()
        .unwrap_or_else(|_| panic!("not a figure: {printed}"));
    Exact::ratio(n, 10_i128.pow(places(printed))).unwrap()
}

fn places(printed: &str) -> u32 {
    let decimals = printed.split_once('.').map_or("", |(_, decimals)| decimals);
    u32::try_from(decimals.len()).unwrap()
}

/// Records of comma-separated values, with quotes around cells that hold a comma (RFC 4180).
fn records(text: &str) -> Vec<Vec<String>> {
    text.lines().map(cells).collect()
}

fn cells(line: &str) -> Vec<String> {
    let mut cells = Vec::new();
    let mut rest = line.chars().peekable();
    loop {
        let quoted = rest.next_if_eq(&'"').is_some();
        cells.push(cell(&mut rest, quoted));
        if rest.next().is_none() {
            return cells;
        }
    }
}

fn cell(rest: &mut Peekable<Chars>, quoted: bool) -> String {
    let mut cell = String::new();
    while let Some(&c) = rest.peek() {
        match c {
            ',' if !quoted => break,
            '"' if quoted => {
                rest.next();
                if rest.peek() != Some(&'"') {
                    break;
                }
                cell.push('"');
            }
            c => cell.push(c),
        }
        rest.next();
    }
    cell
}

#[test]
fn cells_may_hold_commas_and_quotes() {
    assert_eq!(cells("a,\"b, \"\"c\"\"\",,d"), ["a", "b, \"c\"", "", "d"]);
}

#[test]
fn digits_say_how_closely_a_figure_is_meant() {
    let third = Exact::ratio(1, 3).unwrap();
    assert!(rounds_to(third, "0.33"));
    assert!(!rounds_to(third, "0.34"));
    assert!(!rounds_to(third, "0.330"));
    assert!(!rounds_to(Exact::ratio(1, 8).unwrap(), "0.13"));
    assert!(rounds_to(figure("5"), "5.0"));
}
