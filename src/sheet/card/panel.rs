//! One dose on paper: what is acted on at the left, what is checked at the right, the rest below.
//!
//! Promises: a panel is one block and is never split; words that do not fit beside the mark stand
//! below it at full width, and words that do not fit on the page at all go on in a block of their
//! own that the panel names.
//! Does not: decide anything; it prints what the facts say.

use crate::sheet::SheetError;
use crate::sheet::block::{Align, Block};
use crate::sheet::card::check::{Room, cautions, column, stack, stacked, vet_words, working};
use crate::sheet::card::facts::Panel;
use crate::sheet::card::grid::{ACTED_ON, CHECK_RULE, EDGES, FINE, FULL, HEAVY};
use crate::sheet::card::rows::{Writer, framed};
use crate::sheet::card::words::bold;
use crate::sheet::face::Faces;
use crate::sheet::page::Rect;

/// The panel of one dose, and what goes on after it if its words are longer than `limit`
/// millimetres allow; `order` says which dose of the day it is: "First of three".
///
/// # Errors
/// [`SheetError::MissingGlyph`] for a character that cannot be printed.
pub fn panel(
    faces: &Faces,
    panel: &Panel,
    order: &str,
    demonstration: bool,
    limit: f32,
) -> Result<Vec<Block>, SheetError> {
    let mut writer = Writer::new(faces, panel);
    let top = writer.alarms()?;
    let left = writer.action(top)?;
    let mut block = writer.done();

    let mut choices = Vec::new();
    for room in ROOMS {
        let check = column(faces, panel, order, demonstration, room)?;
        let below = below(faces, panel, room, usize::MAX)?;
        let side = left.max(top + check.height);
        choices.push(Choice {
            height: side + stacked(&below),
            side,
            check,
            below,
            room,
        });
    }
    let Some((choice, fits)) = best(choices, limit) else {
        return Ok(vec![block]);
    };
    let Choice { side, check, .. } = &choice;
    let (side, check) = (*side, check);
    block.add(check, (0.0, top));
    block.rule((CHECK_RULE, top + 1.6), (CHECK_RULE, side - 1.2), FINE);

    let mut rest = Vec::new();
    let mut at = side;
    if fits {
        at = stack(&mut block, &choice.below, FULL.0, side - MARGIN).max(side);
        if !choice.below.is_empty() {
            at += MARGIN;
        }
    } else {
        let spans = bold(CONTINUED, ACTED_ON);
        at = block.paragraph(faces, &spans, FULL, at + 2.4, 5.0)? + TURN_OVER - 2.4;
        rest = continuation(faces, panel, order, demonstration, (choice.room, limit))?;
    }
    if framed(panel) {
        let half = HEAVY / 2.0;
        let edge = Rect::edges(EDGES.0 + half, half, EDGES.1 - half, at - half);
        block.frame(edge, HEAVY);
    } else {
        block.rule((EDGES.0, at), (EDGES.1, at), FINE);
    }
    block.height = at;
    rest.insert(0, block);
    Ok(rest)
}

/// One way to share the words between the column and what stands below.
struct Choice {
    /// Height of all together.
    height: f32,
    /// Height of mark and column alone.
    side: f32,
    check: Block,
    below: Vec<Block>,
    room: Room,
}

/// The first of the lowest ways: the column gives way no further than it must. If none fits on a
/// page, the first with which mark and column do; the rest then goes on after the panel. Also
/// whether all of it fits.
fn best(mut choices: Vec<Choice>, limit: f32) -> Option<(Choice, bool)> {
    let heights = choices.iter().map(|choice| choice.height);
    let lowest = heights.fold(f32::MAX, f32::min);
    let fits = lowest + MARGIN <= limit;
    let at = choices.iter().position(|choice| {
        if fits {
            choice.height <= lowest + 0.01
        } else {
            choice.side + TURN_OVER <= limit
        }
    });
    match at {
        Some(at) => Some((choices.swap_remove(at), fits)),
        None => choices.pop().map(|choice| (choice, fits)),
    }
}

/// Height of the line that says that more stands after the panel.
const TURN_OVER: f32 = 5.2;

const CONTINUED: &str = "More stands after this panel: read it before you draw.";

/// Space between the last words and the edge.
const MARGIN: f32 = 1.6;

/// What does not stand in the column.
fn below(faces: &Faces, panel: &Panel, room: Room, lines: usize) -> Result<Vec<Block>, SheetError> {
    let width = FULL.1 - FULL.0;
    let mut notes = Vec::new();
    if room.no_working {
        notes.extend(working(faces, &panel.working, width)?);
    }
    if room.no_cautions {
        notes.extend(cautions(faces, &panel.cautions, width)?);
    }
    if room.no_vet_words {
        notes.extend(vet_words(faces, &panel.vet_words, width, lines)?);
    }
    Ok(notes)
}

/// What is too long for the panel, in blocks that fit a page, each with the dose's name.
fn continuation(
    faces: &Faces,
    panel: &Panel,
    order: &str,
    demonstration: bool,
    (room, limit): (Room, f32),
) -> Result<Vec<Block>, SheetError> {
    let mut blocks: Vec<Block> = Vec::new();
    for note in below(faces, panel, room, 10)? {
        let full = |block: &Block| block.height + stacked(std::slice::from_ref(&note)) > limit;
        if blocks.last().is_none_or(full) {
            let mut block = Block::new();
            let title = format!("{order}, {}, {}, continued", panel.animal, panel.medicine);
            let line = bold(&title, ACTED_ON);
            let area = (FULL.0, FULL.1 - 26.0);
            let last = block.paragraph(faces, &line, area, 5.0, 5.0)?;
            if demonstration {
                let line = bold("DEMONSTRATION", 7.5);
                block.line(faces, &line, (area.1, FULL.1), 5.0, Align::Right)?;
            }
            block.height = last + 1.0;
            blocks.push(block);
        }
        if let Some(block) = blocks.last_mut() {
            block.height = stack(block, std::slice::from_ref(&note), FULL.0, block.height);
        }
    }
    Ok(blocks)
}

/// How the check column gives way, step by step.
const ROOMS: [Room; 5] = [
    Room {
        short_ladder: false,
        no_vet_words: false,
        no_cautions: false,
        no_working: false,
    },
    Room {
        short_ladder: true,
        no_vet_words: false,
        no_cautions: false,
        no_working: false,
    },
    Room {
        short_ladder: true,
        no_vet_words: true,
        no_cautions: false,
        no_working: false,
    },
    Room {
        short_ladder: true,
        no_vet_words: true,
        no_cautions: true,
        no_working: false,
    },
    Room {
        short_ladder: true,
        no_vet_words: true,
        no_cautions: true,
        no_working: true,
    },
];
