//! One dose on paper: what is acted on at the left, what is checked at the right, the rest below.
//!
//! Promises: a panel is one block and is never split; words that do not fit beside the mark stand
//! below it at full width, and words that do not fit on the page at all go on in a block of their
//! own that the panel names.
//! Does not: decide anything; it prints what the facts say.

use crate::sheet::SheetError;
use crate::sheet::block::{Align, Block};
use crate::sheet::card::check::{Below, Notes, head, ladder, reaches, stack, stacked};
use crate::sheet::card::facts::Panel;
use crate::sheet::card::grid::{ACTED_ON, CHECK, CHECK_RULE, EDGES, FINE, FULL, HEAVY};
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
    limit: f32,
) -> Result<Vec<Block>, SheetError> {
    let mut writer = Writer::new(faces, panel);
    let mut top = writer.alarms()?;
    let mut left = writer.action(top)?;
    let mut lower = Block::new();
    if left + TURN_OVER > limit {
        writer = Writer::new(faces, panel);
        top = writer.alarms()?;
        (top, left, lower) = writer.tight(top)?;
    }
    let mut block = writer.done();

    let head = head(faces, panel, order)?;
    let narrow = Notes::narrow(faces, panel)?;
    let wide = Notes::wide(faces, panel, usize::MAX)?;
    let mut ladders = Vec::new();
    for reach in reaches(panel, lower.height > 0.0) {
        ladders.push(ladder(faces, &panel.ladder, reach)?);
    }
    let mut choices = Vec::new();
    for below in BELOW {
        let (beside, under) = (narrow.choose(below, false), wide.choose(below, true));
        for ladder in &ladders {
            let column = head.height + ladder.height + stacked(&beside) + 1.0;
            let side = left.max(top + column);
            let acted_on = side + lower.height;
            let height = match under.is_empty() {
                true => acted_on,
                false => acted_on + stacked(&under),
            };
            choices.push(Choice {
                height,
                side,
                acted_on,
                below,
                ladder,
            });
        }
    }
    let Some((choice, fits)) = best(&choices, limit) else {
        return Ok(vec![block]);
    };
    let side = choice.side;
    block.add(&head, (0.0, top));
    block.add(choice.ladder, (0.0, top + head.height));
    let notes = narrow.choose(choice.below, false);
    let beneath = top + head.height + choice.ladder.height;
    stack(&mut block, &notes, CHECK.0, beneath);
    block.rule((CHECK_RULE, top + 1.6), (CHECK_RULE, side - 1.2), FINE);

    if lower.height > 0.0 {
        block.rule((FULL.0, side), (FULL.1, side), FINE);
        block.add(&lower, (0.0, side));
    }
    let mut rest = Vec::new();
    let mut at = choice.acted_on;
    if fits {
        let under = wide.choose(choice.below, true);
        at = stack(&mut block, &under, FULL.0, at - MARGIN).max(at);
        if !under.is_empty() {
            at += MARGIN;
        }
    } else {
        let spans = bold(CONTINUED, ACTED_ON);
        at = block.paragraph(faces, &spans, FULL, at + 2.4, 5.0)? + TURN_OVER - 2.4;
        rest = continuation(faces, panel, order, (choice.below, limit))?;
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
struct Choice<'a> {
    /// Height of all together.
    height: f32,
    /// Height of mark and column alone.
    side: f32,
    /// The same with all that is acted on.
    acted_on: f32,
    below: Below,
    ladder: &'a Block,
}

/// The first of the lowest ways: the column gives way no further than it must, and then shows as
/// much of the ladder as it can. If none fits on a page, the first with which mark and column do;
/// the rest then goes on after the panel. Also whether all of it fits.
fn best<'a>(choices: &'a [Choice<'a>], limit: f32) -> Option<(&'a Choice<'a>, bool)> {
    let heights = choices.iter().map(|choice| choice.height);
    let lowest = heights.fold(f32::MAX, f32::min);
    let fits = lowest + MARGIN <= limit;
    let chosen = choices.iter().find(|choice| {
        if fits {
            choice.height <= lowest + 0.01
        } else {
            choice.acted_on + TURN_OVER <= limit
        }
    });
    let chosen = chosen.or(choices.last())?;
    Some((chosen, fits))
}

/// Height of the line that says that more stands after the panel.
const TURN_OVER: f32 = 5.2;

const CONTINUED: &str = "More stands after this panel: read it before you draw.";

/// Space between the last words and the edge.
const MARGIN: f32 = 1.6;

/// What is too long for the panel, in blocks that fit a page, each with the dose's name.
fn continuation(
    faces: &Faces,
    panel: &Panel,
    order: &str,
    (below, limit): (Below, f32),
) -> Result<Vec<Block>, SheetError> {
    let mut blocks: Vec<Block> = Vec::new();
    for note in Notes::wide(faces, panel, 10)?.choose(below, true) {
        let full = |block: &Block| block.height + stacked(std::slice::from_ref(&note)) > limit;
        if blocks.last().is_none_or(full) {
            let mut block = Block::new();
            let title = format!("{order}, {}, {}, continued", panel.animal, panel.medicine);
            let line = bold(&title, ACTED_ON);
            let area = (FULL.0, FULL.1 - 26.0);
            let last = block.paragraph(faces, &line, area, 5.0, 5.0)?;
            if panel.demonstration {
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

/// How the check column gives way: what stands below it, the preferred first.
const BELOW: [Below; 8] = {
    const fn below(working: bool, cautions: bool, vet_words: bool) -> Below {
        Below {
            working,
            cautions,
            vet_words,
        }
    }
    [
        below(false, false, false),
        below(false, false, true),
        below(true, false, false),
        below(false, true, false),
        below(true, false, true),
        below(false, true, true),
        below(true, true, false),
        below(true, true, true),
    ]
};
