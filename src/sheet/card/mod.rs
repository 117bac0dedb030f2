//! The dose card of one day: a page to prepare from, then a panel for every dose.
//!
//! Promises: a panel is never split; panels stand in the order of work; every page carries the
//! number to call, the deferral, the book code and its own number.
//! Does not: choose, order or compute doses; [`facts`] says all that is printed.

mod check;
pub mod facts;
pub(in crate::sheet) mod frame;
pub mod from_round;
pub(in crate::sheet) mod grid;
mod mark;
mod panel;
mod prepare;
mod rows;
#[cfg(test)]
mod sample;
#[cfg(test)]
mod tests;
pub(in crate::sheet) mod words;

use crate::round::Round;
use crate::settings::PaperSize;
use crate::sheet::SheetError;
use crate::sheet::block::Block;
use crate::sheet::card::facts::Facts;
use crate::sheet::card::grid::GAP;
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

/// The dose card of a round as a PDF file, made at the moment the round was looked at.
///
/// # Errors
/// As [`pdf`].
pub fn of_round(round: &Round, paper: PaperSize) -> Result<Vec<u8>, SheetError> {
    let made = round.now.with_timezone(&round.zone).fixed_offset();
    pdf(&from_round::facts(round, made), Paper::of(paper))
}

fn laid_out(faces: &Faces, facts: &Facts, paper: Paper) -> Result<Vec<Page>, SheetError> {
    // Their heights do not hang on the title and the numbers in them.
    let head = frame::head(faces, facts, "")?.height;
    let foot = frame::foot(faces, facts, (1, 1))?.height;
    let room = paper.block_height() - head - foot;
    let doses = dose_pages(faces, facts, room)?;

    let prepared = prepare_pages(faces, facts, doses.len(), room)?;
    let sides: Vec<Side> = prepared.into_iter().chain(doses).collect();
    let total = sides.len();
    let mut pages = Vec::new();
    for (at, side) in sides.into_iter().enumerate() {
        let mut page = Page::new(paper, &side.name);
        let (left, top) = (paper.block_left(), paper.block_top());
        frame::head(faces, facts, &side.title)?.place(&mut page, (left, top));
        let mut y = top + head;
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

/// The pages to prepare from. Where the marks stand hangs on how many these are, and is said on
/// them: laid out again until it is right.
fn prepare_pages(
    faces: &Faces,
    facts: &Facts,
    dose_pages: usize,
    room: f32,
) -> Result<Vec<Side>, SheetError> {
    let mut pages = Vec::new();
    let mut expected = 1;
    for _ in 0..3 {
        let marks = where_marks_stand(expected + 1, expected + dose_pages);
        let blocks = prepare::blocks(faces, facts, &marks)?;
        if let Some(tall) = blocks.iter().find(|block| block.height > room) {
            let part = tall.first_words();
            return Err(SheetError::TooTall { part });
        }
        pages = filled(
            blocks.into_iter().map(|block| ((), block)).collect(),
            0.0,
            room,
        );
        if pages.len() == expected {
            break;
        }
        expected = pages.len();
    }
    let side = |page: Vec<((), Block)>| Side {
        title: "Dose card, prepare".to_owned(),
        name: "Prepare".to_owned(),
        gap: 0.0,
        blocks: page.into_iter().map(|(_, block)| block).collect(),
    };
    Ok(pages.into_iter().map(side).collect())
}

/// The panels, in order, as many on a page as fit.
fn dose_pages(faces: &Faces, facts: &Facts, room: f32) -> Result<Vec<Side>, SheetError> {
    let total = facts.panels.len();
    let mut parts = Vec::new();
    for (at, dose) in facts.panels.iter().enumerate() {
        let order = if total == 1 {
            "The only one".to_owned()
        } else {
            capital(&format!("{} of {}", ordinal(at + 1), counted(total)))
        };
        let name = format!("{} ({})", dose.animal, dose.medicine);
        for block in panel::panel(faces, dose, &order, room)? {
            if block.height > room {
                return Err(SheetError::TooTall { part: name });
            }
            parts.push(((at + 1, name.clone()), block));
        }
    }
    let mut sides = Vec::new();
    for page in filled(parts, GAP, room) {
        let (doses, blocks): (Vec<_>, Vec<_>) = page.into_iter().unzip();
        let numbers = || doses.iter().map(|(number, _)| *number);
        let (first, last) = (numbers().min().unwrap_or(1), numbers().max().unwrap_or(1));
        let mut names: Vec<String> = doses.iter().map(|(_, name)| name.clone()).collect();
        names.dedup();
        sides.push(Side {
            title: doses_title(first, last),
            name: names.join(", "),
            gap: GAP,
            blocks,
        });
    }
    Ok(sides)
}

/// Blocks dealt to pages in order, none split; each keeps what it is tagged with.
fn filled<T>(parts: Vec<(T, Block)>, gap: f32, room: f32) -> Vec<Vec<(T, Block)>> {
    let mut pages: Vec<Vec<(T, Block)>> = Vec::new();
    let mut used = 0.0;
    for (tag, block) in parts {
        match pages.last_mut() {
            Some(page) if used + gap + block.height <= room => {
                used += gap + block.height;
                page.push((tag, block));
            }
            _ => {
                used = block.height;
                pages.push(vec![(tag, block)]);
            }
        }
    }
    pages
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
