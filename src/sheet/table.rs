//! Tables: named columns, rows that grow with their words, boxes to tick and to write into.
//!
//! Promises: words are broken within their column; a row is never split; column names come with
//! every row, to be printed where it begins a page.
//! Does not: choose columns to fit; the caller does.

use crate::sheet::SheetError;
use crate::sheet::block::Block;
use crate::sheet::card::grid::{EDGES, FINE};
use crate::sheet::card::words::{bold, plain};
use crate::sheet::face::Faces;
use crate::sheet::leaf::Part;
use crate::sheet::page::{Ink, Rect};
use crate::sheet::text::{Line, Span, wrap};

/// A column, in millimetres from the block's left edge.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Column {
    /// Its name.
    pub name: &'static str,
    /// Its left edge.
    pub left: f32,
    /// Its right edge; the next column's left is 2 mm or more further.
    pub right: f32,
}

impl Column {
    /// A column between two edges.
    pub const fn new(name: &'static str, left: f32, right: f32) -> Self {
        Self { name, left, right }
    }
}

/// What stands in a row under a column.
#[derive(Debug, Clone, PartialEq)]
pub enum Cell {
    /// Words.
    Words(Vec<Span>),
    /// An empty box to write into.
    Write,
    /// A box to tick.
    Tick,
}

impl Cell {
    /// Words in regular type.
    pub fn plain(words: &str) -> Self {
        Self::Words(plain(words, SIZE))
    }

    /// Words in bold type.
    pub fn bold(words: &str) -> Self {
        Self::Words(bold(words, SIZE))
    }
}

/// Points: the words of a table.
pub const SIZE: f32 = 9.0;
const BOX: f32 = 6.0;

/// A table's rows, each at least `lowest` millimetres high.
///
/// # Errors
/// [`SheetError::MissingGlyph`] for a character that cannot be printed.
pub fn rows(
    faces: &Faces,
    columns: &[Column],
    rows: &[Vec<Cell>],
    lowest: f32,
) -> Result<Vec<Part>, SheetError> {
    let names = names(faces, columns)?;
    let each = rows.iter().map(|cells| {
        Ok(Part {
            above: Some(names.clone()),
            ..Part::alone(row(faces, columns, cells, lowest)?)
        })
    });
    each.collect()
}

fn names(faces: &Faces, columns: &[Column]) -> Result<Block, SheetError> {
    let mut block = Block::new();
    let mut set = Vec::new();
    for column in columns {
        set.push((
            column,
            wrap(faces, &plain(column.name, 8.0), column.right - column.left)?,
        ));
    }
    let most = set.iter().map(|(_, lines)| lines.len()).max().unwrap_or(1);
    let bottom = 3.2 * most as f32;
    for (column, lines) in set {
        let first = bottom - 3.2 * lines.len().saturating_sub(1) as f32;
        block.lines(&lines, (column.left, column.right), first, 3.2, Ink::Black);
    }
    block.rule(
        (EDGES.0 + 2.0, bottom + 1.4),
        (EDGES.1 - 2.0, bottom + 1.4),
        0.5,
    );
    block.height = bottom + 1.6;
    Ok(block)
}

fn row(
    faces: &Faces,
    columns: &[Column],
    cells: &[Cell],
    lowest: f32,
) -> Result<Block, SheetError> {
    let mut block = Block::new();
    let mut set: Vec<(Column, Vec<Line>)> = Vec::new();
    let mut height = lowest;
    for (column, cell) in columns.iter().zip(cells) {
        match cell {
            Cell::Words(words) => {
                let lines = wrap(faces, words, column.right - column.left)?;
                let all: f32 = lines.iter().map(leading).sum();
                height = height.max(all + 2.0);
                set.push((*column, lines));
            }
            Cell::Write => height = height.max(BOX + 2.4),
            Cell::Tick => height = height.max(BOX + 2.4),
        }
    }
    for (column, cell) in columns.iter().zip(cells) {
        match cell {
            Cell::Words(_) => {
                let Some(place) = set.iter().position(|(own, _)| own == column) else {
                    continue;
                };
                let (_, lines) = set.swap_remove(place);
                let mut at = 0.4;
                for line in &lines {
                    at += leading(line);
                    let area = (column.left, column.right);
                    block.lines(std::slice::from_ref(line), area, at, 0.0, Ink::Black);
                }
            }
            Cell::Write => block.frame(
                Rect::edges(column.left, 1.2, column.right, height - 1.2),
                FINE,
            ),
            Cell::Tick => block.frame(
                Rect::edges(column.left, 1.2, column.left + BOX, 1.2 + BOX),
                0.5,
            ),
        }
    }
    block.rule((EDGES.0 + 2.0, height), (EDGES.1 - 2.0, height), FINE);
    block.height = height + 0.2;
    Ok(block)
}

/// From one baseline to the next.
fn leading(line: &Line) -> f32 {
    line.size() * 0.43
}
