//! The dose card of one day: a page to prepare from, then a panel for every dose; of many animals
//! first a list of where each stands.
//!
//! Promises: a panel is never split; panels stand in the order of work, a bookmark leads to each
//! animal; every page carries the number to call, the deferral, the book code and its own number.
//! Does not: choose, order or compute doses; [`facts`] says all that is printed.

mod check;
mod contents;
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
use crate::sheet::card::facts::{Facts, Panel};
use crate::sheet::card::grid::GAP;
use crate::sheet::card::words::{capital, counted, ordinal};
use crate::sheet::face::Faces;
use crate::sheet::page::{Bookmark, Page, Paper};
use crate::sheet::pdf::{Particulars, Writer};

/// What a long card has got done.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Done {
    /// So many doses are laid out.
    Doses(usize),
    /// So many pages are written.
    Pages(usize),
}

/// Hears how far a long card has got: what is done, of how many.
pub type Tell<'t> = &'t mut dyn FnMut(Done, usize);

/// The dose card as a PDF file.
///
/// # Errors
/// [`SheetError::MissingGlyph`] for a character that cannot be printed, [`SheetError::TooTall`]
/// for a dose whose words fill more than a page, [`SheetError::Writer`] if the writer fails.
pub fn pdf(facts: &Facts, paper: Paper) -> Result<Vec<u8>, SheetError> {
    pdf_telling(facts, paper, &mut |_, _| {})
}

/// The same, telling how far it has got.
///
/// # Errors
/// As [`pdf`].
pub fn pdf_telling(facts: &Facts, paper: Paper, tell: Tell) -> Result<Vec<u8>, SheetError> {
    let faces = Faces::load()?;
    let particulars = Particulars {
        title: format!("Dose card, {}", facts.day),
        producer: facts.version.clone(),
        made: facts.made,
    };
    let mut writer = Writer::new(&faces);
    let sides = sides(&faces, facts, paper, tell)?;
    let total = sides.len();
    for (at, side) in sides.into_iter().enumerate() {
        writer.page(&side.page(&faces, facts, paper, (at + 1, total))?)?;
        tell(Done::Pages(at + 1), total);
    }
    writer.finish(&particulars)
}

/// The dose card's pages.
///
/// # Errors
/// As [`pdf`], but for the writer's.
pub fn pages(facts: &Facts, paper: Paper) -> Result<Vec<Page>, SheetError> {
    let faces = Faces::load()?;
    let sides = sides(&faces, facts, paper, &mut |_, _| {})?;
    let total = sides.len();
    let numbered = (1..).zip(sides);
    numbered
        .map(|(number, side)| side.page(&faces, facts, paper, (number, total)))
        .collect()
}

/// The dose card of a round as a PDF file, made at the moment the round was looked at.
///
/// # Errors
/// As [`pdf`].
pub fn of_round(round: &Round, paper: PaperSize) -> Result<Vec<u8>, SheetError> {
    of_round_telling(round, paper, &mut |_, _| {})
}

/// The same, telling how far it has got.
///
/// # Errors
/// As [`pdf`].
pub fn of_round_telling(
    round: &Round,
    paper: PaperSize,
    tell: Tell,
) -> Result<Vec<u8>, SheetError> {
    let made = round.now.with_timezone(&round.zone).fixed_offset();
    pdf_telling(&from_round::facts(round, made), Paper::of(paper), tell)
}

/// What stands on one page between head and foot.
struct Side {
    title: String,
    name: String,
    gap: f32,
    blocks: Vec<Block>,
    /// Names of bookmarks, each with the place of its block among the blocks.
    bookmarks: Vec<(usize, String)>,
}

impl Side {
    fn page(
        self,
        faces: &Faces,
        facts: &Facts,
        paper: Paper,
        number: (usize, usize),
    ) -> Result<Page, SheetError> {
        let mut page = Page::new(paper, &self.name);
        let (left, top) = (paper.block_left(), paper.block_top());
        let head = frame::head(faces, facts, &self.title)?;
        head.place(&mut page, (left, top));
        let mut y = top + head.height;
        for (at, block) in self.blocks.iter().enumerate() {
            let here = self.bookmarks.iter().filter(|(place, _)| *place == at);
            page.bookmarks.extend(here.map(|(_, name)| Bookmark {
                name: name.clone(),
                top: y,
            }));
            block.place(&mut page, (left, y));
            y += block.height + self.gap;
        }
        let bottom = top + paper.block_height();
        let foot = frame::foot(faces, facts, number)?;
        foot.place(&mut page, (left, bottom - foot.height));
        Ok(page)
    }
}

/// Everything laid out: the contents of a long card, the pages to prepare from, the doses.
fn sides(faces: &Faces, facts: &Facts, paper: Paper, tell: Tell) -> Result<Vec<Side>, SheetError> {
    // Their heights do not hang on the title and the numbers in them.
    let head = frame::head(faces, facts, "")?.height;
    let foot = frame::foot(faces, facts, (1, 1))?.height;
    let room = paper.block_height() - head - foot;
    let doses = dose_pages(faces, facts, room, tell)?;
    let firsts = contents::firsts(facts, &doses);
    // How many pages they fill does not hang on the numbers printed in them.
    let listed = contents::pages(faces, facts, &firsts, (0, 0), room)?.len();
    let prepared = prepare_pages(faces, facts, (listed, doses.len()), room)?;
    let before = (listed, listed + prepared.len());
    let contents = contents::pages(faces, facts, &firsts, before, room)?;
    Ok(contents.into_iter().chain(prepared).chain(doses).collect())
}

/// The pages to prepare from, after so many pages and before so many. Where the marks stand hangs
/// on how many these are, and is said on them: laid out again until it is right.
fn prepare_pages(
    faces: &Faces,
    facts: &Facts,
    (before, after): (usize, usize),
    room: f32,
) -> Result<Vec<Side>, SheetError> {
    let mut pages = Vec::new();
    let mut expected = 1;
    for _ in 0..3 {
        let first = before + expected;
        let marks = where_marks_stand(first + 1, first + after);
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
    let side = |(at, page): (usize, Vec<((), Block)>)| Side {
        title: "Dose card, prepare".to_owned(),
        name: "Prepare".to_owned(),
        gap: 0.0,
        blocks: page.into_iter().map(|(_, block)| block).collect(),
        bookmarks: (at == 0)
            .then(|| (0, "Prepare".to_owned()))
            .into_iter()
            .collect(),
    };
    Ok(pages.into_iter().enumerate().map(side).collect())
}

/// The panels, in order, as many on a page as fit.
fn dose_pages(
    faces: &Faces,
    facts: &Facts,
    room: f32,
    tell: Tell,
) -> Result<Vec<Side>, SheetError> {
    let total = facts.panels.len();
    let mut parts = Vec::new();
    for (at, dose) in facts.panels.iter().enumerate() {
        let order = if total == 1 {
            "The only one".to_owned()
        } else {
            capital(&format!("{} of {}", ordinal(at + 1), counted(total)))
        };
        for block in panel::panel(faces, dose, &order, room)? {
            if block.height > room {
                let part = named(dose);
                return Err(SheetError::TooTall { part });
            }
            parts.push((at, block));
        }
        tell(Done::Doses(at + 1), total);
    }
    let mut sides = Vec::new();
    let mut last_animal = None;
    for page in filled(parts, GAP, room) {
        let (doses, blocks): (Vec<usize>, Vec<_>) = page.into_iter().unzip();
        let first = doses.iter().min().map_or(1, |at| at + 1);
        let last = doses.iter().max().map_or(1, |at| at + 1);
        let here = || doses.iter().filter_map(|&at| facts.panels.get(at));
        let mut names: Vec<String> = here().map(named).collect();
        names.dedup();
        let mut bookmarks = Vec::new();
        for (place, dose) in here().enumerate() {
            if last_animal != Some(&dose.animal) {
                last_animal = Some(&dose.animal);
                bookmarks.push((place, dose.animal.clone()));
            }
        }
        sides.push(Side {
            title: doses_title(first, last),
            name: names.join(", "),
            gap: GAP,
            blocks,
            bookmarks,
        });
    }
    Ok(sides)
}

/// "Thimblo (Madeup Amber)".
fn named(dose: &Panel) -> String {
    format!("{} ({})", dose.animal, dose.medicine)
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
