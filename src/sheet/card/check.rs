//! The check column of a panel: for the second person, and for whoever wants to know why.
//!
//! Promises: everything given is printed, somewhere; when the column is too full, the ladder
//! keeps two rows on either side of today's, and then the vet's words move out of the column.
//! Does not: act on any of it.

use crate::sheet::SheetError;
use crate::sheet::block::{Align, Block};
use crate::sheet::card::facts::{Action, Caution, Panel, Rung, VetWords, Weight};
use crate::sheet::card::grid::{CHECK, CHECKED, FINE};
use crate::sheet::card::words::{bold, plain};
use crate::sheet::face::{Face, Faces, Style};
use crate::sheet::page::Rect;
use crate::sheet::text::Span;

/// What a full column leaves out.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Room {
    /// Two rows on either side of today's.
    pub short_ladder: bool,
    /// The vet's words stand elsewhere.
    pub no_vet_words: bool,
    /// The cautions stand elsewhere.
    pub no_cautions: bool,
}

/// The column at its height; `order` says which dose of the day this is: "First of three".
pub fn column(
    faces: &Faces,
    panel: &Panel,
    order: &str,
    demonstration: bool,
    room: Room,
) -> Result<Block, SheetError> {
    let mut block = Block::new();
    let mut at = 4.6;
    let order_ends = block.line(faces, &bold(order, 11.0), CHECK, at, Align::Left)?;
    if demonstration {
        block.line(
            faces,
            &bold("DEMONSTRATION", 7.5),
            (order_ends + 1.0, CHECK.1),
            at,
            Align::Right,
        )?;
    }
    at = block.paragraph(
        faces,
        &plain(&panel.course, CHECKED),
        CHECK,
        at + 4.4,
        LEADING,
    )?;
    if let Some(vet) = &panel.vet {
        at = block.paragraph(faces, &plain(vet, CHECKED), CHECK, at + LEADING, LEADING)?;
    }
    if let Action::NoMark { ask_vet: true, .. } = panel.action {
        at = by_phone(faces, &mut block, at + 5.6)?;
    }
    if !panel.ladder.is_empty() {
        at = ladder(
            faces,
            &mut block,
            &panel.ladder,
            at + 5.2,
            room.short_ladder,
        )?;
    }
    if !panel.working.is_empty() {
        at += 0.8;
    }
    for line in &panel.working {
        at = block.paragraph(faces, &plain(line, CHECKED), CHECK, at + LEADING, LEADING)?;
    }
    if !room.no_cautions {
        at = cautions(faces, &mut block, &panel.cautions, CHECK, at)?;
    }
    if !room.no_vet_words {
        at = vet_words(faces, &mut block, &panel.vet_words, CHECK, at)?;
    }
    block.height = at + 1.6;
    Ok(block)
}

const LEADING: f32 = 3.9;

/// Boxes to write the call into.
fn by_phone(faces: &Faces, block: &mut Block, at: f32) -> Result<f32, SheetError> {
    block.line(
        faces,
        &bold("What the vet says, by phone", 9.5),
        CHECK,
        at,
        Align::Left,
    )?;
    let (left, right) = CHECK;
    let middle = (left + right) / 2.0;
    let row = |n: f32| (at + 2.0 + 9.0 * n, at + 10.0 + 9.0 * n);
    let (top, bottom) = row(0.0);
    block.field(faces, Rect::edges(left, top, right, bottom), "who said it")?;
    let (top, bottom) = row(1.0);
    block.field(faces, Rect::edges(left, top, middle - 0.5, bottom), "time")?;
    block.field(
        faces,
        Rect::edges(middle + 0.5, top, right, bottom),
        "taken by",
    )?;
    let (top, bottom) = row(2.0);
    block.field(
        faces,
        Rect::edges(left, top, middle - 0.5, bottom),
        "read back by",
    )?;
    let tick = Rect::edges(middle + 0.5, top + 1.0, middle + 6.5, top + 7.0);
    block.tick(faces, tick, &plain("new card", 10.0), right)?;
    Ok(bottom)
}

/// The marks at other weights.
fn ladder(
    faces: &Faces,
    block: &mut Block,
    rungs: &[Rung],
    at: f32,
    short: bool,
) -> Result<f32, SheetError> {
    const PITCH: f32 = 4.8;
    let today = rungs.iter().position(|rung| rung.today);
    let shown: Vec<&Rung> = rungs
        .iter()
        .enumerate()
        .filter(|(n, _)| !short || today.is_none_or(|today| n.abs_diff(today) <= 2))
        .map(|(_, rung)| rung)
        .collect();
    let title = if today.is_some() {
        "If the weight were different"
    } else {
        "The mark at each weight"
    };
    block.line(faces, &bold(title, 9.5), CHECK, at, Align::Left)?;
    let (left, right) = (CHECK.0 - 1.0, CHECK.1);
    let mut top = at + 1.5;
    for (n, rung) in shown.iter().enumerate() {
        let style = if rung.today {
            Style::bold(9.5)
        } else {
            Style::regular(9.5)
        };
        let baseline = top + 3.6;
        let span = |words: &str| [Span::new(words, style)];
        let weights = (CHECK.0, 156.0);
        block.line(faces, &span(&rung.weights), weights, baseline, Align::Left)?;
        let mark = rung.mark.as_deref().unwrap_or("no mark");
        block.line(faces, &span(mark), (156.0, 172.2), baseline, Align::Right)?;
        let said = match (rung.today, rung.call) {
            (true, true) => "today: CALL",
            (true, false) => "today",
            (false, true) => "CALL first",
            (false, false) => "",
        };
        block.line(
            faces,
            &bold(said, 8.5),
            (173.4, right),
            baseline,
            Align::Left,
        )?;
        if rung.today {
            block.frame(Rect::edges(left, top, right + 0.6, top + PITCH), 0.6);
        } else if shown.get(n + 1).is_none_or(|next| !next.today) {
            block.rule((left, top + PITCH), (right, top + PITCH), FINE);
        }
        top += PITCH;
    }
    block.line(
        faces,
        &plain("any other weight: print a new card", 8.0),
        CHECK,
        top + 3.3,
        Align::Left,
    )?;
    Ok(top + 3.3)
}

/// What the checks said, in `area`, from below `at` on; returns the last baseline.
pub fn cautions(
    faces: &Faces,
    block: &mut Block,
    cautions: &[Caution],
    area: (f32, f32),
    at: f32,
) -> Result<f32, SheetError> {
    let mut at = at;
    for caution in cautions {
        let word = match caution.weight {
            Weight::Stop => "Stop. ",
            Weight::Call => "Call. ",
            Weight::Caution => "Caution. ",
            Weight::Note => "Note. ",
        };
        let barred = caution.weight != Weight::Note;
        let mut spans = if barred {
            bold(word, CHECKED)
        } else {
            plain(word, CHECKED)
        };
        spans.extend(plain(&caution.words, CHECKED));
        let first = at + LEADING + 1.5;
        let left = if barred { area.0 + 3.2 } else { area.0 };
        at = block.paragraph(faces, &spans, (left, area.1), first, LEADING)?;
        if barred {
            block.fill(Rect::edges(area.0, first - 2.7, area.0 + 1.3, at + 0.8));
        }
    }
    Ok(at)
}

/// The vet's words, in `area`, from below `at` on; returns the last baseline.
pub fn vet_words(
    faces: &Faces,
    block: &mut Block,
    said: &[VetWords],
    area: (f32, f32),
    at: f32,
) -> Result<f32, SheetError> {
    if said.is_empty() {
        return Ok(at);
    }
    let mut spans = Vec::new();
    for said in said {
        if !said.lead.is_empty() {
            spans.extend(plain(&format!("{} ", said.lead), CHECKED));
        }
        let quoted = format!("“{}” ", said.words.trim());
        spans.push(Span::new(&quoted, Style::new(Face::BoldItalic, CHECKED)));
    }
    let first = at + LEADING + 1.7;
    let last = block.paragraph(faces, &spans, (area.0 + 3.2, area.1), first, LEADING)?;
    for rule in [area.0 + 0.3, area.0 + 1.3] {
        block.rule((rule, first - 2.7), (rule, last + 0.8), FINE);
    }
    Ok(last)
}
