//! The dose card of one day: a page to prepare from, then a panel for every dose.
//!
//! Promises: a panel is never split; panels stand in the order of work; every page carries the
//! number to call, the deferral, the book code and its own number.
//! Does not: choose, order or compute doses; [`facts`] says all that is printed.

mod check;
pub mod facts;
mod frame;
mod grid;
mod panel;
mod prepare;
#[cfg(test)]
mod sample;
#[cfg(test)]
mod tests;
mod words;

use crate::sheet::SheetError;
use crate::sheet::block::Block;
use crate::sheet::card::facts::Facts;
use crate::sheet::card::grid::{GAP, HEAD};
use crate::sheet::card::words::{capital, counted, ordinal};
use crate::sheet::face::Faces;
use crate::sheet::page::{Page, Paper};
use crate::sheet::pdf::{Particulars, write};

/// The dose card as a PDF file.
///
/// # Errors
/// [`SheetError::MissingGlyph`] for a character that cannot be printed, [`SheetError::TooTall`]
/// for a dose whose words fill more than a page, [`SheetError::Writer`] if the writer fails.
pub fn pdf(facts: &Facts, paper: Paper) -> Result<Vec<u8>, SheetError> {
    let faces = Faces::load()?;
    let pages = laid_out(&faces, facts, paper)?;
    let particulars = Particulars {
        title: format!("Dose card, {}", facts.day),
        producer: facts.version.clone(),
        made: facts.made,
    };
    write(&faces, &pages, &particulars)
}

/// The dose card's pages.
///
/// # Errors
/// As [`pdf`], but for the writer's.
pub fn pages(facts: &Facts, paper: Paper) -> Result<Vec<Page>, SheetError> {
    laid_out(&Faces::load()?, facts, paper)
}

fn laid_out(faces: &Faces, facts: &Facts, paper: Paper) -> Result<Vec<Page>, SheetError> {
    // The foot's height does not hang on the numbers in it.
    let foot = frame::foot(faces, facts, (1, 1))?.height;
    let room = paper.block_height() - HEAD - foot;
    let doses = dose_pages(faces, facts, room)?;

    // Where the marks stand hangs on how long the first part is, and says so in it.
    let mut prepare_pages = 1;
    let mut prepared = Vec::new();
    for _ in 0..3 {
        let marks = where_marks_stand(prepare_pages + 1, prepare_pages + doses.len());
        prepared = filled(prepare::blocks(faces, facts, &marks)?, 0.0, room)?;
        if prepared.len() == prepare_pages {
            break;
        }
        prepare_pages = prepared.len();
    }

    let sides: Vec<Side> = prepared
        .into_iter()
        .map(|blocks| Side {
            title: "Dose card, prepare".to_owned(),
            name: "Prepare".to_owned(),
            gap: 0.0,
            blocks,
        })
        .chain(doses)
        .collect();
    let total = sides.len();
    let mut pages = Vec::new();
    for (at, side) in sides.into_iter().enumerate() {
        let mut page = Page::new(paper, &side.name);
        let (left, top) = (paper.block_left(), paper.block_top());
        frame::head(faces, facts, &side.title)?.place(&mut page, (left, top));
        let mut y = top + HEAD;
        for block in &side.blocks {
            block.place(&mut page, (left, y));
            y += block.height + side.gap;
        }
        let bottom = top + paper.block_height();
        let foot = frame::foot(faces, facts, (at + 1, total))?;
        foot.place(&mut page, (left, bottom - foot.height));
        pages.push(page);
    }
    Ok(pages)
}

/// What stands on one page between head and foot.
struct Side {
    title: String,
    name: String,
    gap: f32,
    blocks: Vec<Block>,
}

/// The panels, in order, as many on a page as fit.
fn dose_pages(faces: &Faces, facts: &Facts, room: f32) -> Result<Vec<Side>, SheetError> {
    let total = facts.panels.len();
    let mut blocks = Vec::new();
    for (at, dose) in facts.panels.iter().enumerate() {
        let order = if total == 1 {
            "The only one".to_owned()
        } else {
            capital(&format!("{} of {}", ordinal(at + 1), counted(total)))
        };
        let block = panel::panel(faces, dose, &order, facts.demonstration)?;
        if block.height > room {
            return Err(SheetError::TooTall {
                part: format!("{}, {}", dose.animal, dose.medicine),
            });
        }
        blocks.push(block);
    }
    let mut sides = Vec::new();
    let mut done = 0;
    for blocks in filled(blocks, GAP, room)? {
        let first = done + 1;
        done += blocks.len();
        let animals = facts.panels.iter().skip(first - 1).take(blocks.len());
        let names: Vec<String> = animals
            .map(|dose| format!("{} ({})", dose.animal, dose.medicine))
            .collect();
        sides.push(Side {
            title: doses_title(first, done),
            name: names.join(", "),
            gap: GAP,
            blocks,
        });
    }
    Ok(sides)
}

/// Blocks dealt to pages, in order, none split.
fn filled(blocks: Vec<Block>, gap: f32, room: f32) -> Result<Vec<Vec<Block>>, SheetError> {
    let mut pages: Vec<Vec<Block>> = Vec::new();
    let mut used = 0.0;
    for block in blocks {
        if block.height > room {
            let part = block.first_words();
            return Err(SheetError::TooTall { part });
        }
        match pages.last_mut() {
            Some(page) if used + gap + block.height <= room => {
                used += gap + block.height;
                page.push(block);
            }
            _ => {
                used = block.height;
                pages.push(vec![block]);
            }
        }
    }
    Ok(pages)
}

fn where_marks_stand(first: usize, last: usize) -> String {
    match last.saturating_sub(first) {
        0 => format!("page {first}"),
        1 => format!("pages {first} and {last}"),
        _ => format!("pages {first} to {last}"),
    }
}

fn doses_title(first: usize, last: usize) -> String {
    if first == last {
        format!("Dose card, {} dose", ordinal(first))
    } else if first + 1 == last {
        format!("Dose card, {} and {} dose", ordinal(first), ordinal(last))
    } else {
        format!("Dose card, {} to {} dose", ordinal(first), ordinal(last))
    }
}
