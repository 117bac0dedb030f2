//! The check column of a panel: for the second person, and for whoever wants to know why.
//!
//! Promises: everything given is printed, somewhere, but for rows of the ladder beyond the two on
//! either side of the weight in the book.
//! Does not: act on any of it, or choose what stands in the column.

use crate::sheet::SheetError;
use crate::sheet::block::{Align, Block};
use crate::sheet::card::facts::{Action, Caution, Condition, Here, Panel, Rung, VetWords, Weight};
use crate::sheet::card::grid::{CHECK, CHECKED, FINE, FULL};
use crate::sheet::card::words::{bold, plain};
use crate::sheet::face::{Face, Faces, Style};
use crate::sheet::page::{Ink, Rect};
use crate::sheet::text::{Line, Span, unbroken, wrap};

/// What always stands at the head of the column; `order` says which dose of the day this is:
/// "First of three".
pub fn head(faces: &Faces, panel: &Panel, order: &str) -> Result<Block, SheetError> {
    let mut block = Block::new();
    let mut at = 4.4;
    let order_ends = block.line(faces, &bold(order, 11.0), CHECK, at, Align::Left)?;
    if panel.demonstration {
        let line = unbroken(faces, &bold("DEMONSTRATION", 7.5))?;
        // Beside a long order there is no room for it.
        if order_ends + 1.0 + line.width() > CHECK.1 {
            at += LEADING;
        }
        block.set(&line, CHECK, at, Align::Right, Ink::Black);
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
    block.height = at + 1.0;
    Ok(block)
}

/// The words of a panel that stand in the column or below it, set at a width.
pub struct Notes {
    /// The arithmetic, in one block.
    pub working: Vec<Block>,
    /// What the checks said, a block each.
    pub cautions: Vec<Block>,
    /// What the vet wrote.
    pub vet_words: Vec<Block>,
}

impl Notes {
    /// As they stand in the column.
    pub fn narrow(faces: &Faces, panel: &Panel) -> Result<Self, SheetError> {
        let width = CHECK.1 - CHECK.0;
        Ok(Self {
            working: working(faces, &panel.working, width)?,
            cautions: cautions(faces, &panel.cautions, width)?,
            vet_words: vet_words(faces, &panel.vet_words, width, usize::MAX)?,
        })
    }

    /// As they stand below the panel, across it; the vet's words in blocks of so many lines.
    pub fn wide(faces: &Faces, panel: &Panel, lines: usize) -> Result<Self, SheetError> {
        let width = FULL.1 - FULL.0;
        let steps: Vec<String> = match panel.working.is_empty() {
            true => Vec::new(),
            false => vec![panel.working.join("; ")],
        };
        Ok(Self {
            working: working(faces, &steps, width)?,
            cautions: cautions(faces, &panel.cautions, width)?,
            vet_words: vet_words(faces, &panel.vet_words, width, lines)?,
        })
    }

    /// Those that stand below, or those that do not.
    pub fn choose(&self, below: Below, chosen: bool) -> Vec<Block> {
        let kinds = [
            (below.working, &self.working),
            (below.cautions, &self.cautions),
            (below.vet_words, &self.vet_words),
        ];
        let chosen = kinds
            .into_iter()
            .filter(|(is_below, _)| *is_below == chosen);
        chosen.flat_map(|(_, notes)| notes.clone()).collect()
    }
}

/// What stands below the panel instead of in the column.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct Below {
    /// The arithmetic.
    pub working: bool,
    /// What the checks said.
    pub cautions: bool,
    /// What the vet wrote.
    pub vet_words: bool,
}

const LEADING: f32 = 3.7;

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
    block.field(
        faces,
        Rect::edges(left, top, right, bottom),
        "what was said",
    )?;
    let (top, bottom) = row(1.0);
    let half = Rect::edges(left, top, middle - 0.5, bottom);
    block.field(faces, half, "who said it")?;
    let half = Rect::edges(middle + 0.5, top, right, bottom);
    block.field(faces, half, "time")?;
    let (top, bottom) = row(2.0);
    // Initials need little; the words beside the last box need the rest.
    let taken = Rect::edges(left, top, left + 15.5, bottom);
    block.field(faces, taken, "taken by")?;
    let back = Rect::edges(left + 16.5, top, left + 32.0, bottom);
    block.field(faces, back, "read back")?;
    let last = left + 33.0;
    let tick = Rect::edges(last, top + 1.0, last + 6.0, top + 7.0);
    block.tick(faces, tick, &plain("new card", 9.0), right)?;
    Ok(bottom)
}

/// On how many rows on either side of the weight in the book a ladder can be cut, the most first.
/// Where the animal is weighed first, its new weight has to be found in it, unless a panel as tall
/// as a page (`tight`) has no room.
pub fn reaches(panel: &Panel, tight: bool) -> Vec<usize> {
    let fewest = match panel.conditions.contains(&Condition::AfterWeighing) && !tight {
        true => 4,
        false => 2,
    };
    let most = panel.ladder.len().clamp(fewest, 12);
    (fewest..=most).rev().collect()
}

/// The marks at other weights, from the column's left edge: so many rows on either side of the
/// weight in the book, or of the middle.
pub fn ladder(faces: &Faces, rungs: &[Rung], reach: usize) -> Result<Block, SheetError> {
    const PITCH: f32 = 4.5;
    let mut block = Block::new();
    if rungs.is_empty() {
        return Ok(block);
    }
    let here = rungs.iter().position(|rung| rung.here.is_some());
    let middle = here.unwrap_or(rungs.len() / 2);
    let shown: Vec<&Rung> = rungs
        .iter()
        .enumerate()
        .filter(|(n, _)| n.abs_diff(middle) <= reach)
        .map(|(_, rung)| rung)
        .collect();
    let mut title = bold("Ladder", 9.5);
    title.extend(plain(" (weight not here: print a new card)", 7.5));
    block.line(faces, &title, CHECK, 4.2, Align::Left)?;
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
    // Long weights or marks take a line of their own; nothing is set smaller.
    let two_lines = weights + mark + said + apart + 1.2 > right - CHECK.0;
    let inset = (right - CHECK.0 - mark).clamp(0.0, 6.0);
    let mark_from = CHECK.0 + if two_lines { inset } else { weights + apart };
    let said_from = match two_lines {
        true => right - said,
        false => (right - said).min(mark_from + mark + 4.0),
    };
    // What is to be known stands beside the weights, if it fits there, so that the mark has room.
    let beside = two_lines && weights + said + apart <= right - CHECK.0;
    let mark_to = if beside { right } else { said_from - 1.2 };
    let pitch = if two_lines { PITCH * 1.9 } else { PITCH };
    let mut top = 5.6;
    for (n, (rung, [weights, mark, said])) in shown.iter().zip(&rows).enumerate() {
        let first = top + 3.4;
        let second = if two_lines { top + 7.3 } else { first };
        let ink = Ink::Black;
        block.set(weights, (CHECK.0, right), first, Align::Left, ink);
        if beside {
            block.set(said, (said_from, right), first, Align::Right, ink);
        }
        let align = if two_lines { Align::Left } else { Align::Right };
        block.set(mark, (mark_from, mark_to), second, align, ink);
        if !beside {
            block.set(said, (said_from, right), second, Align::Left, ink);
        }
        if rung.here == Some(Here::Today) {
            block.frame(Rect::edges(left, top, right + 0.6, top + pitch), 0.6);
        } else if shown
            .get(n + 1)
            .is_none_or(|next| next.here != Some(Here::Today))
        {
            block.rule((left, top + pitch), (right, top + pitch), FINE);
        }
        top += pitch;
    }
    // What a narrow panel leaves out, it says.
    let lower = middle.saturating_sub(reach);
    let higher = rungs.len().saturating_sub(middle + reach + 1);
    if let (Some(first), Some(last)) = (rungs.first(), rungs.last())
        && lower + higher > 0
    {
        let left_out = lower + higher;
        let rows = if left_out == 1 { "row" } else { "rows" };
        let words = format!(
            "{} to {}: {left_out} {rows} not shown",
            first.first_weight(),
            last.last_weight()
        );
        block.line(faces, &plain(&words, 7.5), CHECK, top + 2.8, Align::Left)?;
        top += 3.0;
    }
    block.height = top + 0.6;
    Ok(block)
}

/// A row of the ladder: weights, mark, what is to be known.
fn row(faces: &Faces, rung: &Rung) -> Result<[Line; 3], SheetError> {
    let style = if rung.here == Some(Here::Today) {
        Style::bold(9.5)
    } else {
        Style::regular(9.5)
    };
    let set = |words: &str| unbroken(faces, &[Span::new(words, style)]);
    let said = match (rung.here, rung.call) {
        (Some(Here::Today), true) => "today: CALL",
        (Some(Here::Today), false) => "today",
        (Some(Here::OldWeight), true) => "old weight: CALL",
        (Some(Here::OldWeight), false) => "old weight",
        (None, true) => "CALL first",
        (None, false) => "",
    };
    Ok([
        set(&rung.weights)?,
        set(rung.mark.as_deref().unwrap_or("no mark"))?,
        unbroken(faces, &bold(said, 8.5))?,
    ])
}

/// The arithmetic, in one block, from a left edge of 0.
fn working(faces: &Faces, working: &[String], width: f32) -> Result<Vec<Block>, SheetError> {
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
fn cautions(faces: &Faces, cautions: &[Caution], width: f32) -> Result<Vec<Block>, SheetError> {
    let mut notes = Vec::new();
    for caution in cautions {
        let word = match caution.weight {
            Weight::Stop => "Stop. ",
            Weight::NoMark => "No mark. ",
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
fn vet_words(
    faces: &Faces,
    said: &[VetWords],
    width: f32,
    lines: usize,
) -> Result<Vec<Block>, SheetError> {
    let mut spans = Vec::new();
    let mut before = "";
    for said in said {
        let words = said.words.trim();
        let lead = match said.lead.is_empty() {
            true => before.to_owned(),
            false => format!("{before}{}: ", said.lead),
        };
        // An instruction by phone may have no words of the vet's own beside what it changes.
        if words.is_empty() {
            spans.extend(plain(lead.trim_end_matches(": "), CHECKED));
            before = ". ";
            continue;
        }
        spans.extend(plain(&lead, CHECKED));
        let style = Style::new(Face::BoldItalic, CHECKED);
        spans.push(Span::new(&format!("“{words}”"), style));
        before = match words.ends_with(['.', '!', '?']) {
            true => " ",
            false => ". ",
        };
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
const NOTE_GAP: f32 = 1.1;
