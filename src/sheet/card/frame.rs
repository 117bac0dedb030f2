//! Head and foot of every page of the card.
//!
//! Promises: the demonstration strips, the number to call, the deferral, book code, day, version
//! and page number stand on every page, whatever is between them.
//! Does not: shorten a phone number; the foot grows instead.

use crate::round::say::DEFERRAL;
use crate::sheet::SheetError;
use crate::sheet::block::{Align, Block};
use crate::sheet::card::facts::{Facts, Phrase, Vet};
use crate::sheet::card::grid::EDGES;
use crate::sheet::card::words::{bold, phone, plain, spans};
use crate::sheet::face::{Faces, Style};
use crate::sheet::page::Ink;
use crate::sheet::text::{Line, Span, curled, unbroken, wrap};

/// What every sheet says of itself, in one stretch and the two words that it comes to.
pub fn deferral() -> Phrase {
    let words = curled(DEFERRAL);
    match words.rfind(": ") {
        Some(at) => {
            let (defers, stop) = words.split_at(at + 2);
            Phrase::new().plain(defers).bold(stop)
        }
        None => Phrase::new().bold(&words),
    }
}

const STRIP: f32 = 4.4;
/// The columns of the foot.
const CALL: (f32, f32) = (2.0, 121.0);
const DEFERS: (f32, f32) = (124.0, 192.0);
/// Points.
const SMALL: f32 = 8.0;

/// DEMONSTRATION from edge to edge, between two rules.
pub fn strip(faces: &Faces, block: &mut Block, top: f32) -> Result<(), SheetError> {
    let words = ["DEMONSTRATION"; 5].join("   ·   ");
    block.rule((EDGES.0, top), (EDGES.1, top), 0.4);
    let spans: Vec<Span> = words
        .split(' ')
        .filter(|word| !word.is_empty())
        .map(|word| Span::new(&format!("{word} "), Style::bold(9.5)))
        .collect();
    block.line(faces, &spans, EDGES, top + 3.3, Align::Centre)?;
    block.rule((EDGES.0, top + STRIP), (EDGES.1, top + STRIP), 0.4);
    Ok(())
}

/// The head: the strip, the day, and what this page is.
pub fn head(faces: &Faces, facts: &Facts, title: &str) -> Result<Block, SheetError> {
    let mut block = Block::new();
    let mut top = 0.0;
    if facts.demonstration {
        strip(faces, &mut block, 0.0)?;
        top = STRIP;
    }
    let baseline = top + 7.0;
    let day_ends = block.line(faces, &bold(&facts.day, 20.0), EDGES, baseline, Align::Left)?;
    block.line(
        faces,
        &bold(title, 12.5),
        (day_ends + 4.0, EDGES.1),
        baseline,
        Align::Right,
    )?;
    block.rule((EDGES.0, top + 9.2), (EDGES.1, top + 9.2), 1.1);
    block.height = top + 10.6;
    Ok(block)
}

/// The foot: whom to call in doubt, the deferral, and what tells this page from another.
pub fn foot(
    faces: &Faces,
    facts: &Facts,
    (page, pages): (usize, usize),
) -> Result<Block, SheetError> {
    let mut block = Block::new();
    block.rule((EDGES.0, 0.0), (EDGES.1, 0.0), 0.5);
    let called = block.paragraph(faces, &call(&facts.vets), CALL, 5.7, 5.5)?;
    let day = format!("{} · {}", facts.day_short, facts.version);
    let mut code = plain(&format!("{day} · "), SMALL);
    code.extend(plain("Book code ", SMALL));
    code.extend(bold(&facts.book_code, SMALL));
    code.extend(plain(" (another: an old card)", SMALL));
    let left = block.paragraph(faces, &code, CALL, called + 4.6, 3.6)?;

    let deferral = wrap(faces, &spans(&deferral(), 7.5), DEFERS.1 - DEFERS.0)?;
    let ends = block.lines(&deferral, DEFERS, 3.7, 3.2, Ink::Black);
    let number = unbroken(faces, &bold(&format!("Page {page} of {pages}"), 9.0))?;
    let taken = deferral.last().map_or(0.0, Line::width) + 4.0 + number.width();
    let right = if taken <= DEFERS.1 - DEFERS.0 {
        ends
    } else {
        ends + 3.6
    };
    let last = left.max(right);
    block.set(&number, DEFERS, last, Align::Right, Ink::Black);
    block.height = last + 1.3;
    if facts.demonstration {
        strip(faces, &mut block, last + 1.3)?;
        block.height += STRIP;
    }
    Ok(block)
}

/// "In doubt? Draw nothing. Call", and every number on the card, each with its vet where there
/// are several.
fn call(vets: &[Vet]) -> Vec<Span> {
    const SIZE: f32 = 14.0;
    let mut spans = bold("In doubt? Draw nothing. Call ", SIZE);
    if vets.is_empty() {
        spans.extend(bold("your vet", SIZE));
    }
    for (at, vet) in vets.iter().enumerate() {
        if at > 0 {
            spans.extend(plain("; ", SIZE));
        }
        if vets.len() > 1 {
            spans.extend(plain(&format!("{} ", vet.name), 11.0));
        }
        spans.extend(phone(&vet.phone, SIZE, 9.0));
    }
    spans
}
