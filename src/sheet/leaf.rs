//! The common shape of every sheet but the card: head and foot, and parts dealt to pages.
//!
//! Promises: the demonstration strips, the number to call, the deferral, the book code, the day,
//! the version and the page number stand on every page; no part is split; the names of a table's
//! columns stand above its rows on every page; a heading is never left alone at the foot.
//! Does not: know what the sheet is about.

use crate::prescription;
use crate::sheet::SheetError;
use crate::sheet::block::{Align, Block};
use crate::sheet::card::facts::Vet;
use crate::sheet::card::frame::{deferral, strip};
use crate::sheet::card::grid::{EDGES, FULL};
use crate::sheet::card::words::{bold, phone, plain, spans};
use crate::sheet::face::Faces;
use crate::sheet::page::{Bookmark, Ink, Page, Paper};
use crate::sheet::pdf::{Particulars, write};
use crate::sheet::text::{Line, Span, curled, unbroken, wrap};
use chrono::{DateTime, FixedOffset};

/// What stands at head and foot of a sheet.
#[derive(Debug, Clone)]
pub struct Front {
    /// Largest, at the head of every page: an animal, or a day.
    pub name: String,
    /// What the sheet is: "Report for the vet".
    pub title: String,
    /// Prints DEMONSTRATION at head and foot of every page.
    pub demonstration: bool,
    /// Whom to call.
    pub vets: Vec<Vet>,
    /// "K7M4-R2".
    pub code: String,
    /// "Thu 8 March 2001".
    pub day: String,
    /// When it was made.
    pub made: DateTime<FixedOffset>,
}

impl Front {
    /// The vets of these prescriptions, as they stand on a sheet.
    pub fn vets<'v>(vets: impl IntoIterator<Item = &'v prescription::Vet>) -> Vec<Vet> {
        let each = vets.into_iter().map(|vet| Vet {
            name: vet.name.clone(),
            practice: vet.practice.clone(),
            phone: vet.phone.clone(),
            out_of_hours: vet.out_of_hours.clone(),
        });
        each.collect()
    }
}

/// Something that is never split.
#[derive(Debug, Clone, PartialEq)]
pub struct Part {
    /// What is printed.
    pub block: Block,
    /// What stands above it where it begins a page, and above the first of its table.
    pub above: Option<Block>,
    /// It must not stand last on a page.
    pub leads: bool,
    /// It begins a page of its own.
    pub fresh: bool,
    /// A bookmark leads to it by this name.
    pub bookmark: Option<String>,
}

impl Part {
    /// A part by itself.
    pub fn alone(block: Block) -> Self {
        Self {
            block,
            above: None,
            leads: false,
            fresh: false,
            bookmark: None,
        }
    }

    /// A part that what follows belongs to.
    pub fn leading(block: Block) -> Self {
        Self {
            leads: true,
            ..Self::alone(block)
        }
    }
}

/// A sheet as a PDF file.
///
/// # Errors
/// [`SheetError`] for a character that cannot be printed, a part taller than a page, or a fault of
/// the writer.
pub fn pdf(
    faces: &Faces,
    front: &Front,
    parts: Vec<Part>,
    paper: Paper,
) -> Result<Vec<u8>, SheetError> {
    let pages = pages(faces, front, parts, paper)?;
    let particulars = Particulars {
        title: format!("{}, {}", front.title, front.name),
        producer: version(),
        made: front.made,
    };
    write(faces, &pages, &particulars)
}

/// A sheet's pages.
///
/// # Errors
/// As [`pdf`], but for the writer's.
pub fn pages(
    faces: &Faces,
    front: &Front,
    parts: Vec<Part>,
    paper: Paper,
) -> Result<Vec<Page>, SheetError> {
    let head = head(faces, front)?;
    // Its height does not hang on the numbers in it.
    let below = foot(faces, front, (1, 1))?.height;
    let room = paper.block_height() - head.height - below;
    let dealt = dealt(parts, room)?;
    let total = dealt.len();
    let (left, top) = (paper.block_left(), paper.block_top());
    let mut pages = Vec::new();
    for (at, blocks) in dealt.into_iter().enumerate() {
        let mut page = Page::new(paper, &format!("{}, page {}", front.title, at + 1));
        head.place(&mut page, (left, top));
        let mut y = top + head.height;
        if at == 0 {
            page.bookmarks.push(Bookmark {
                name: format!("{}, {}", front.title, front.name),
                top,
            });
        }
        for (block, name) in blocks {
            page.bookmarks
                .extend(name.map(|name| Bookmark { name, top: y }));
            block.place(&mut page, (left, y));
            y += block.height;
        }
        let foot = foot(faces, front, (at + 1, total))?;
        let bottom = top + paper.block_height();
        foot.place(&mut page, (left, bottom - foot.height));
        pages.push(page);
    }
    Ok(pages)
}

fn version() -> String {
    format!("scruple {}", env!("CARGO_PKG_VERSION"))
}

/// A block and the name of the bookmark that leads to it.
type Named = (Block, Option<String>);

/// Parts dealt to pages in order.
fn dealt(parts: Vec<Part>, room: f32) -> Result<Vec<Vec<Named>>, SheetError> {
    let mut pages: Vec<Vec<Named>> = vec![Vec::new()];
    let mut used = 0.0;
    let mut over: Option<Block> = None;
    let mut waiting: Vec<Part> = Vec::new();
    for part in parts {
        waiting.push(part);
        if waiting.last().is_some_and(|part| part.leads) {
            continue;
        }
        // What leads and what it leads to stand together.
        let fresh = waiting.iter().any(|part| part.fresh);
        let mut together = Vec::new();
        let mut above = over.clone();
        for part in waiting.drain(..) {
            if part.above.is_some() && part.above != above {
                together.extend(part.above.clone().map(|above| (above, None)));
            }
            above.clone_from(&part.above);
            together.push((part.block, part.bookmark));
        }
        let height = |blocks: &[Named]| blocks.iter().map(|(block, _)| block.height).sum::<f32>();
        let empty = pages.last().is_none_or(Vec::is_empty);
        if !empty && (fresh || used + height(&together) > room) {
            pages.push(Vec::new());
            used = 0.0;
        }
        let begins = pages.last().is_none_or(Vec::is_empty);
        if begins && together.len() == 1 {
            together.splice(0..0, above.clone().map(|above| (above, None)));
        }
        over = above;
        if height(&together) > room {
            let last = together.last();
            let part = last.map(|(block, _)| block.first_words());
            return Err(SheetError::TooTall {
                part: part.unwrap_or_default(),
            });
        }
        used += height(&together);
        if let Some(page) = pages.last_mut() {
            page.extend(together);
        }
    }
    Ok(pages)
}

fn head(faces: &Faces, front: &Front) -> Result<Block, SheetError> {
    let mut block = Block::new();
    let mut top = 0.0;
    if front.demonstration {
        strip(faces, &mut block, 0.0)?;
        top = 4.4;
    }
    let title = unbroken(faces, &bold(&front.title, 12.5))?;
    let area = (EDGES.0, EDGES.1 - title.width() - 6.0);
    let last = block.paragraph(faces, &bold(&front.name, 18.0), area, top + 7.0, 7.6)?;
    block.set(&title, EDGES, top + 7.0, Align::Right, Ink::Black);
    block.rule((EDGES.0, last + 2.4), (EDGES.1, last + 2.4), 1.1);
    block.height = last + 4.0;
    Ok(block)
}

/// The columns of the foot.
const CALL: (f32, f32) = (2.0, 121.0);
const DEFERS: (f32, f32) = (124.0, 192.0);

fn foot(faces: &Faces, front: &Front, (page, pages): (usize, usize)) -> Result<Block, SheetError> {
    let mut block = Block::new();
    block.rule((EDGES.0, 0.0), (EDGES.1, 0.0), 0.5);
    let called = block.paragraph(faces, &call(&front.vets), CALL, 5.4, 5.2)?;
    let mut code = plain(&format!("{} · {} · Book code ", front.day, version()), 8.0);
    code.extend(bold(&front.code, 8.0));
    code.extend(plain(
        " (of this sheet alone; another code: an old sheet)",
        8.0,
    ));
    let left = block.paragraph(faces, &code, CALL, called + 4.6, 3.6)?;
    let deferral = wrap(faces, &spans(&deferral(), 7.5), DEFERS.1 - DEFERS.0)?;
    let ends = block.lines(&deferral, DEFERS, 3.7, 3.2, Ink::Black);
    let number = unbroken(faces, &bold(&format!("Page {page} of {pages}"), 9.0))?;
    let taken = deferral.last().map_or(0.0, Line::width) + 22.0;
    let right = match taken <= DEFERS.1 - DEFERS.0 {
        true => ends,
        false => ends + 3.6,
    };
    let last = left.max(right);
    block.set(&number, DEFERS, last, Align::Right, Ink::Black);
    block.height = last + 1.3;
    if front.demonstration {
        strip(faces, &mut block, last + 1.3)?;
        block.height += 4.4;
    }
    Ok(block)
}

/// "In doubt? Call", and every number, each with its vet where there are several.
fn call(vets: &[Vet]) -> Vec<Span> {
    const SIZE: f32 = 12.5;
    let mut spans = bold("In doubt? Call ", SIZE);
    if vets.is_empty() {
        spans.extend(bold("your vet", SIZE));
    }
    for (at, vet) in vets.iter().enumerate() {
        if at > 0 {
            spans.extend(plain("; ", SIZE));
        }
        spans.extend(plain(&format!("{} ", vet.name), 10.0));
        spans.extend(phone(&vet.phone, SIZE, 8.5));
        if let Some(number) = &vet.out_of_hours {
            spans.extend(plain(", out of hours ", 10.0));
            spans.extend(phone(number, 11.0, 8.5));
        }
    }
    spans
}

/// A heading with a rule above it, and a remark at its right.
///
/// # Errors
/// [`SheetError::MissingGlyph`] for a character that cannot be printed.
pub fn heading(faces: &Faces, words: &str, remark: &str) -> Result<Part, SheetError> {
    let mut block = Block::new();
    block.rule((EDGES.0, 2.4), (EDGES.1, 2.4), 0.5);
    let remark = unbroken(faces, &plain(&curled(remark), 9.0))?;
    let area = (FULL.0, FULL.1 - remark.width() - 4.0);
    let last = block.paragraph(faces, &bold(words, 12.5), area, 8.2, 5.4)?;
    block.set(&remark, FULL, 8.2, Align::Right, Ink::Black);
    block.height = last + 2.0;
    Ok(Part {
        bookmark: Some(words.to_owned()),
        ..Part::leading(block)
    })
}

/// Words across the sheet.
///
/// # Errors
/// [`SheetError::MissingGlyph`] for a character that cannot be printed.
pub fn words(faces: &Faces, spans: &[Span]) -> Result<Part, SheetError> {
    let size = spans.iter().map(|span| span.style.size).fold(0.0, f32::max);
    let leading = size * 0.43;
    let mut block = Block::new();
    let last = block.paragraph(faces, spans, FULL, leading, leading)?;
    block.height = last + 1.4;
    Ok(Part::alone(block))
}
