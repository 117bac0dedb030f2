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
use crate::sheet::page::{Ink, Rect};
use crate::sheet::text::{Line, Span, unbroken, wrap};

/// What a full column leaves out.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Room {
    /// Two rows on either side of today's.
    pub short_ladder: bool,
    /// The vet's words stand elsewhere.
    pub no_vet_words: bool,
    /// The cautions stand elsewhere.
    pub no_cautions: bool,
    /// The working stands elsewhere.
    pub no_working: bool,
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
    let width = CHECK.1 - CHECK.0;
    at += 1.0;
    if !room.no_working {
        let notes = working(faces, &panel.working, width)?;
        at = stack(&mut block, &notes, CHECK.0, at);
    }
    if !room.no_cautions {
        let notes = cautions(faces, &panel.cautions, width)?;
        at = stack(&mut block, &notes, CHECK.0, at);
    }
    if !room.no_vet_words {
        let notes = vet_words(faces, &panel.vet_words, width, usize::MAX)?;
        at = stack(&mut block, &notes, CHECK.0, at);
    }
    block.height = at + 1.4;
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
    let mut widths = [0.0_f32; 3];
    let rows: Vec<[Line; 3]> = shown
        .iter()
        .map(|rung| row(faces, rung))
        .collect::<Result<_, _>>()?;
    for row in &rows {
        for (width, cell) in widths.iter_mut().zip(row) {
            *width = width.max(cell.width());
        }
    }
    let [weights, mark, said] = widths;
    let apart = 2.0;
    // Long weights take a line of their own; nothing is set smaller.
    let two_lines = weights + mark + said + apart + 1.2 > right - CHECK.0;
    let mark_from = CHECK.0 + if two_lines { 6.0 } else { weights + apart };
    let said_from = (right - said).min(mark_from + mark + 4.0);
    let pitch = if two_lines { PITCH * 1.9 } else { PITCH };
    let mut top = at + 1.5;
    for (n, (rung, [weights, mark, said])) in shown.iter().zip(&rows).enumerate() {
        let first = top + 3.6;
        let second = if two_lines { top + 7.7 } else { first };
        let ink = Ink::Black;
        block.set(weights, (CHECK.0, right), first, Align::Left, ink);
        let marks = (mark_from, said_from - 1.2);
        block.set(mark, marks, second, Align::Right, ink);
        block.set(said, (said_from, right), second, Align::Left, ink);
        if rung.today {
            block.frame(Rect::edges(left, top, right + 0.6, top + pitch), 0.6);
        } else if shown.get(n + 1).is_none_or(|next| !next.today) {
            block.rule((left, top + pitch), (right, top + pitch), FINE);
        }
        top += pitch;
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

/// A row of the ladder: weights, mark, what is to be known.
fn row(faces: &Faces, rung: &Rung) -> Result<[Line; 3], SheetError> {
    let style = if rung.today {
        Style::bold(9.5)
    } else {
        Style::regular(9.5)
    };
    let set = |words: &str| unbroken(faces, &[Span::new(words, style)]);
    let said = match (rung.today, rung.call) {
        (true, true) => "today: CALL",
        (true, false) => "today",
        (false, true) => "CALL first",
        (false, false) => "",
    };
    Ok([
        set(&rung.weights)?,
        set(rung.mark.as_deref().unwrap_or("no mark"))?,
        unbroken(faces, &bold(said, 8.5))?,
    ])
}

/// The arithmetic, in one block, from a left edge of 0.
pub fn working(faces: &Faces, working: &[String], width: f32) -> Result<Vec<Block>, SheetError> {
    let mut block = Block::new();
    let mut at = FIRST - LEADING;
    for line in working {
        at = block.paragraph(
            faces,
            &plain(line, CHECKED),
            (0.0, width),
            at + LEADING,
            LEADING,
        )?;
    }
    block.height = at + 1.0;
    Ok(if working.is_empty() {
        Vec::new()
    } else {
        vec![block]
    })
}

/// What the checks said, a block each, from a left edge of 0.
pub fn cautions(faces: &Faces, cautions: &[Caution], width: f32) -> Result<Vec<Block>, SheetError> {
    let mut notes = Vec::new();
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
        let left = if barred { INSET } else { 0.0 };
        let mut block = Block::new();
        let last = block.paragraph(faces, &spans, (left, width), FIRST, LEADING)?;
        block.height = last + 1.0;
        if barred {
            block.fill(Rect::edges(0.0, FIRST - 2.7, 1.3, last + 0.8));
        }
        notes.push(block);
    }
    Ok(notes)
}

/// The vet's words, at most `lines` lines to a block, from a left edge of 0.
pub fn vet_words(
    faces: &Faces,
    said: &[VetWords],
    width: f32,
    lines: usize,
) -> Result<Vec<Block>, SheetError> {
    let mut spans = Vec::new();
    for said in said {
        if !said.lead.is_empty() {
            spans.extend(plain(&format!("{} ", said.lead), CHECKED));
        }
        let quoted = format!("“{}” ", said.words.trim());
        spans.push(Span::new(&quoted, Style::new(Face::BoldItalic, CHECKED)));
    }
    let set = wrap(faces, &spans, width - INSET)?;
    let mut notes = Vec::new();
    for lines in set.chunks(lines.max(1)) {
        let mut block = Block::new();
        let last = block.lines(lines, (INSET, width), FIRST, LEADING, Ink::Black);
        block.height = last + 1.0;
        for rule in [0.3, 1.3] {
            block.rule((rule, FIRST - 2.7), (rule, last + 0.8), FINE);
        }
        notes.push(block);
    }
    Ok(notes)
}

/// Puts notes below each other, from `at` on; returns where they end.
pub fn stack(block: &mut Block, notes: &[Block], left: f32, at: f32) -> f32 {
    let mut at = at;
    for note in notes {
        block.add(note, (left, at + NOTE_GAP));
        at += NOTE_GAP + note.height;
    }
    at
}

/// How high notes are together.
pub fn stacked(notes: &[Block]) -> f32 {
    notes.iter().map(|note| NOTE_GAP + note.height).sum()
}

/// The first baseline of a note, the inset of its words, the space above it.
const FIRST: f32 = 3.1;
const INSET: f32 = 3.2;
const NOTE_GAP: f32 = 1.3;
