//! The first page: whom to call, what to set out, in which order to work, where to sign.
//!
//! Promises: a list of blocks, each a section's head with its first entry, a bottle or an animal,
//! so that a long page breaks only between them.
//! Does not: repeat a mark; a sum says "not a mark".

use crate::sheet::SheetError;
use crate::sheet::block::{Align, Block};
use crate::sheet::card::facts::{Bottle, Facts, Needed, Phrase, Turn, Vet};
use crate::sheet::card::frame;
use crate::sheet::card::grid::{ACTED_ON, EDGES, FINE, FULL, HEAVY};
use crate::sheet::card::words::{bold, counted, ordinal, phone, plain, spans};
use crate::sheet::face::Faces;
use crate::sheet::page::{Ink, Rect};
use crate::sheet::text::{Line, unbroken, wrap};

/// Columns, in millimetres.
const TEXT: (f32, f32) = (18.0, 192.0);
const TICK: f32 = 4.0;
const BOTTLE: (f32, f32) = (18.0, 65.5);
const MUST_READ: (f32, f32) = (66.5, 91.5);
const IT_READS: (f32, f32) = (93.5, 118.5);
const NEEDED: (f32, f32) = (121.0, 161.0);
const DISCARD: (f32, f32) = (163.0, 194.0);
const BESIDE: (f32, f32) = (124.0, 192.0);
const GETS: (f32, f32) = (106.0, 192.0);

/// What comes before every dose; the line of a late one says it again.
const ASK_FIRST: &str = "Before each dose ask whether somebody gave it. Not sure? Do not give it: call. Never a dose twice, never more to make up for one.";

/// What an unanswered call leaves to do.
const WAITS: &str = "No answer? What you are to ask about waits; ring again, or out of hours.";

/// The blocks of the first page; `marks_on` says where the marks stand: "page 2".
///
/// # Errors
/// [`SheetError::MissingGlyph`] for a character that cannot be printed.
pub fn blocks(faces: &Faces, facts: &Facts, marks_on: &str) -> Result<Vec<Block>, SheetError> {
    let prepare = &facts.prepare;
    let mut blocks = Vec::new();
    if let Some(words) = &prepare.warning {
        blocks.push(warning(faces, words)?);
    }
    blocks.push(deferral(faces, &facts.vets)?);
    let mut number = 0;
    let mut next = || {
        number += 1;
        number
    };

    if !prepare.calls.is_empty() {
        let mut block = calls_head(faces, next(), prepare.calls.len())?;
        for call in &prepare.calls {
            tick_line(faces, &mut block, call, (TEXT.0, 25.4), 12.0)?;
            blocks.push(std::mem::take(&mut block));
        }
        block.height += 0.4;
        let last = block.paragraph(faces, &plain(WAITS, ACTED_ON), TEXT, 4.6, 4.6)?;
        block.height = last + 1.6;
        blocks.push(block);
    }
    if facts.panels.is_empty() {
        let mut block = section_head(faces, next(), "Nothing to give on this day", "")?;
        let said = "No dose is open, late or held back on this card.";
        tick_free(faces, &mut block, said)?;
        blocks.push(block);
        blocks.extend(answered(faces, next(), &prepare.done)?);
        return Ok(blocks);
    }

    let aloud = "read each label aloud, write what it says";
    let mut block = section_head(faces, next(), "Set out", aloud)?;
    if !prepare.bottles.is_empty() {
        bottles_head(faces, &mut block)?;
    }
    for bottle in &prepare.bottles {
        bottle_row(faces, &mut block, bottle)?;
        blocks.push(std::mem::take(&mut block));
    }
    for (n, thing) in prepare.things.iter().enumerate() {
        if n == 0 {
            block.height += 1.6;
        }
        tick_line(faces, &mut block, thing, (TICK, TEXT.0), ACTED_ON + 0.5)?;
        blocks.push(std::mem::take(&mut block));
    }

    let stand = format!("what to draw to stands on {marks_on}");
    let mut block = section_head(faces, next(), "Order of work", &stand)?;
    let turns = prepare.turns.len();
    for (n, turn) in prepare.turns.iter().enumerate() {
        let last = n + 1 == turns;
        let place = match (n, last) {
            (0, true) => "only".to_owned(),
            (_, true) => "last".to_owned(),
            _ => ordinal(n + 1),
        };
        turn_row(faces, &mut block, turn, &place)?;
        let name = match last {
            true => "After the last",
            false => "Between animals",
        };
        cleaning(faces, &mut block, name, &turn.then)?;
        blocks.push(std::mem::take(&mut block));
    }

    let then = format!("on {marks_on}; then into the book, the same day");
    let mut block = section_head(faces, next(), "Write it down", &then)?;
    sign(faces, &mut block)?;
    blocks.push(block);
    blocks.extend(answered(faces, next(), &prepare.done)?);
    Ok(blocks)
}

/// What is wrong with what the card was made from, before anything else.
fn warning(faces: &Faces, words: &str) -> Result<Block, SheetError> {
    let mut block = Block::new();
    let mut said = bold("STOP. ", 15.0);
    said.extend(bold(words, 12.0));
    let area = (3.0, EDGES.1 - 3.0);
    let lines = wrap(faces, &said, area.1 - area.0)?;
    let bottom = 3.2 + 6.0 * lines.len() as f32;
    block.fill(Rect::edges(EDGES.0, 0.0, EDGES.1, bottom));
    block.lines(&lines, area, 6.4, 6.0, Ink::White);
    block.height = bottom + 2.0;
    Ok(block)
}

/// The doses of the day that have been answered for, so that nobody looks for them.
fn answered(faces: &Faces, number: usize, done: &[String]) -> Result<Vec<Block>, SheetError> {
    let mut blocks = Vec::new();
    let mut block = section_head(faces, number, "Already answered for", "not on this card")?;
    for line in done {
        let words = plain(line, ACTED_ON);
        let last = block.paragraph(faces, &words, TEXT, block.height + 3.6, 4.8)?;
        block.height = last + 1.6;
        blocks.push(std::mem::take(&mut block));
    }
    Ok(blocks)
}

/// What every card says first, and the vets with their numbers.
pub(super) fn deferral(faces: &Faces, vets: &[Vet]) -> Result<Block, SheetError> {
    let mut block = Block::new();
    let words = bold(&frame::deferral().to_string(), 14.0);
    let said = block.paragraph(faces, &words, (FULL.0, 112.0), 6.6, 5.9)?;
    let once = plain(ASK_FIRST, ACTED_ON);
    let said = block.paragraph(faces, &once, (FULL.0, 112.0), said + 5.6, 4.6)?;
    let mut at = 1.0;
    for vet in vets {
        let name = match &vet.practice {
            Some(practice) => format!("{}, {practice}", vet.name),
            None => vet.name.clone(),
        };
        at = block.paragraph(faces, &plain(&name, 9.5), BESIDE, at + 4.0, 4.2)?;
        at = large_phone(faces, &mut block, &vet.phone, at + 9.2)?;
        if let Some(number) = &vet.out_of_hours {
            let mut words = plain("out of hours ", ACTED_ON);
            words.extend(phone(number, ACTED_ON + 0.5, 9.0));
            at = block.paragraph(faces, &words, BESIDE, at + 6.4, 5.0)?;
        }
        at += 2.0;
    }
    block.height = said.max(at) + 4.0;
    Ok(block)
}

/// The number, large, and its remark beside it or below.
fn large_phone(
    faces: &Faces,
    block: &mut Block,
    number: &str,
    baseline: f32,
) -> Result<f32, SheetError> {
    let spans = phone(number, 24.0, 9.5);
    if unbroken(faces, &spans)?.width() <= BESIDE.1 - BESIDE.0 {
        block.line(faces, &spans, BESIDE, baseline, Align::Left)?;
        return Ok(baseline);
    }
    let (large, small) = spans.split_at(1);
    let at = block.paragraph(faces, large, BESIDE, baseline, 9.0)?;
    block.paragraph(faces, small, BESIDE, at + 4.4, 4.2)
}

fn calls_head(faces: &Faces, number: usize, calls: usize) -> Result<Block, SheetError> {
    let mut block = Block::new();
    block.fill(Rect::edges(EDGES.0, 0.0, EDGES.1, 10.0));
    let figure = bold(&number.to_string(), 17.0);
    block.white(faces, &figure, (3.0, TEXT.0), 7.2, Align::Left)?;
    let things = if calls == 1 { "thing" } else { "things" };
    let title = format!("Call before you start: {} {things} to ask", counted(calls));
    block.white(faces, &bold(&title, 15.0), TEXT, 7.1, Align::Left)?;
    block.height = 12.0;
    Ok(block)
}

/// A section's number, its title and what is to be known about it.
fn section_head(
    faces: &Faces,
    number: usize,
    title: &str,
    beside: &str,
) -> Result<Block, SheetError> {
    let mut block = Block::new();
    block.rule((EDGES.0, 3.0), (EDGES.1, 3.0), 0.5);
    let figure = bold(&number.to_string(), 18.0);
    block.line(faces, &figure, (FULL.0, TEXT.0), 9.6, Align::Left)?;
    let ends = block.line(faces, &bold(title, 15.0), TEXT, 9.4, Align::Left)?;
    block.line(
        faces,
        &plain(beside, 10.0),
        (ends + 4.0, TEXT.1),
        9.4,
        Align::Right,
    )?;
    block.height = 11.6;
    Ok(block)
}

/// A line with a box to tick before it; `columns` are where the box and the words start.
fn tick_line(
    faces: &Faces,
    block: &mut Block,
    words: &Phrase,
    columns: (f32, f32),
    size: f32,
) -> Result<(), SheetError> {
    let top = block.height + 0.6;
    block.frame(Rect::edges(columns.0, top, columns.0 + 5.6, top + 5.6), 0.5);
    let last = block.paragraph(
        faces,
        &spans(words, size),
        (columns.1, TEXT.1),
        top + 4.2,
        5.2,
    )?;
    block.height = last + 1.9;
    Ok(())
}

fn tick_free(faces: &Faces, block: &mut Block, words: &str) -> Result<(), SheetError> {
    let at = block.height + 4.2;
    let last = block.paragraph(faces, &plain(words, 12.0), TEXT, at, 5.2)?;
    block.height = last + 3.0;
    Ok(())
}

fn bottles_head(faces: &Faces, block: &mut Block) -> Result<(), SheetError> {
    let at = block.height + 3.2;
    for (name, area) in [
        ("bottle", BOTTLE),
        ("must read", MUST_READ),
        ("it reads", IT_READS),
        ("needed in the bottle", NEEDED),
        ("discard after", DISCARD),
    ] {
        block.line(faces, &plain(name, 9.0), area, at, Align::Left)?;
    }
    block.rule((TEXT.0, at + 1.8), (EDGES.1, at + 1.8), 0.4);
    block.height = at + 1.8;
    Ok(())
}

fn bottle_row(faces: &Faces, block: &mut Block, bottle: &Bottle) -> Result<(), SheetError> {
    let top = block.height;
    let medicine = block.paragraph(faces, &bold(&bottle.medicine, 13.0), BOTTLE, top + 5.0, 5.4)?;
    let which = block.paragraph(
        faces,
        &plain(&bottle.which, ACTED_ON),
        BOTTLE,
        medicine + 4.7,
        4.6,
    )?;
    let must = match &bottle.must_read {
        Some(words) => boxed(faces, block, words, MUST_READ, top + 1.5, 0.6)?,
        None => top,
    };
    let reads = match &bottle.it_reads {
        None if bottle.must_read.is_none() => top,
        Some(words) => boxed(faces, block, words, IT_READS, top + 1.5, 0.6)?,
        None => {
            let empty = Rect::edges(IT_READS.0, top + 1.5, IT_READS.1, top + 9.5);
            block.frame(empty, FINE);
            empty.bottom()
        }
    };
    let needed = match &bottle.needed {
        Needed::Draws { words, total } => {
            let mut at = block.paragraph(faces, &bold(words, ACTED_ON), NEEDED, top + 5.0, 4.8)?;
            if let Some(total) = total {
                let words = format!("{total}, not a mark");
                at = block.paragraph(faces, &plain(&words, 8.5), NEEDED, at + 4.4, 4.0)?;
            }
            at + 1.6
        }
        Needed::NoMark => {
            let edge = Rect::edges(NEEDED.0, top + 1.9, NEEDED.1 - 1.0, top + 9.3);
            block.frame(edge, HEAVY);
            let area = (edge.left, edge.right());
            block.line(
                faces,
                &bold("NO MARK", 13.0),
                area,
                top + 7.3,
                Align::Centre,
            )?;
            edge.bottom()
        }
    };
    let mut discard = top + 5.0;
    if let Some(date) = &bottle.discard_after {
        discard = block.paragraph(faces, &plain(date, ACTED_ON), DISCARD, discard, 4.8)?;
    }
    if let Some(remark) = &bottle.remark {
        let at = if bottle.discard_after.is_some() {
            discard + 4.8
        } else {
            discard
        };
        discard = block.paragraph(faces, &plain(remark, ACTED_ON), DISCARD, at, 4.8)?;
    }
    let bottom = [must, reads, needed, which + 0.8, discard + 0.8]
        .into_iter()
        .fold(top + 9.5, f32::max)
        + 1.2;
    block.frame(Rect::edges(TICK, top + 2.7, TICK + 5.6, top + 8.3), 0.5);
    block.rule((TEXT.0, bottom), (EDGES.1, bottom), FINE);
    block.height = bottom;
    Ok(())
}

/// A strength in a box as wide as its column; returns the box's lower edge.
fn boxed(
    faces: &Faces,
    block: &mut Block,
    words: &str,
    column: (f32, f32),
    top: f32,
    thick: f32,
) -> Result<f32, SheetError> {
    let lines = wrap(faces, &bold(words, 12.5), column.1 - column.0 - 2.0)?;
    let bottom = top + 2.6 + 5.4 * lines.len() as f32;
    block.frame(Rect::edges(column.0, top, column.1, bottom), thick);
    let mut at = top + 5.6;
    for line in lines {
        block.set(&line, column, at, Align::Centre, Ink::Black);
        at += 5.4;
    }
    Ok(bottom)
}

/// An animal's turn: place in the order, name, identification, what it gets.
fn turn_row(faces: &Faces, block: &mut Block, turn: &Turn, place: &str) -> Result<(), SheetError> {
    const NAME: (f32, f32) = (18.0, 104.0);
    let top = block.height + 0.4;
    let baseline = top + 6.9;
    block.line(
        faces,
        &bold(place, 11.0),
        (1.0, TEXT.0 - 0.3),
        baseline,
        Align::Left,
    )?;
    let name = wrap(faces, &bold(&turn.animal, 22.0), NAME.1 - NAME.0)?;
    let mut at = block.lines(&name, NAME, baseline, 8.8, Ink::Black);
    let beside = plain(&turn.identification, ACTED_ON);
    let ends = NAME.0 + name.last().map_or(0.0, Line::width) + 4.0;
    if ends + unbroken(faces, &beside)?.width() <= NAME.1 {
        block.line(faces, &beside, (ends, NAME.1), at, Align::Left)?;
    } else {
        at = block.paragraph(faces, &beside, NAME, at + 5.6, 5.0)?;
    }
    let mut beside = top + 0.4;
    for line in &turn.lines {
        beside = block.paragraph(faces, &plain(line, ACTED_ON), GETS, beside + 4.7, 4.6)?;
    }
    block.height = at.max(beside) + 1.6;
    Ok(())
}

/// What is cleaned or changed before the next animal, or after the last.
fn cleaning(
    faces: &Faces,
    block: &mut Block,
    name: &str,
    steps: &[String],
) -> Result<(), SheetError> {
    if steps.is_empty() {
        return Ok(());
    }
    let (left, right) = TEXT;
    let top = block.height + 0.6;
    let mut row = top + 1.3;
    let first = left + 42.0;
    let mut at = first;
    block.line(
        faces,
        &bold(name, ACTED_ON),
        (left + 2.4, first - 1.0),
        row + 4.1,
        Align::Left,
    )?;
    for step in steps {
        let words = plain(step, ACTED_ON);
        let lines = wrap(faces, &words, right - first - 9.0)?;
        let width = lines.iter().map(Line::width).fold(0.0, f32::max) + 7.1;
        if at > first && at + width > right - 1.6 {
            at = first;
            row += 6.8;
        }
        block.frame(Rect::edges(at, row, at + 5.6, row + 5.6), 0.5);
        let last = block.lines(&lines, (at + 7.1, right - 1.6), row + 4.2, 4.8, Ink::Black);
        row = row.max(last - 4.2);
        // Steps stand in three columns where they fit.
        let column = (right - first) / 3.0;
        at += (width / column).ceil() * column;
    }
    let bottom = row + 6.9;
    block.dashed(Rect::edges(left, top, right, bottom), 0.5);
    block.height = bottom + 1.0;
    Ok(())
}

/// Boxes for names and times, and the last thing to do.
fn sign(faces: &Faces, block: &mut Block) -> Result<(), SheetError> {
    let top = block.height + 1.0;
    for (name, left, right) in [
        ("prepared by", 18.0, 62.0),
        ("time", 64.0, 90.0),
        ("checked by a second person", 98.0, 152.0),
        ("time", 154.0, 180.0),
    ] {
        block.field(faces, Rect::edges(left, top, right, top + 10.0), name)?;
    }
    block.height = top + 12.0;
    let words = Phrase::from("typed into the book");
    tick_line(faces, block, &words, (TICK, TEXT.0), ACTED_ON + 0.5)
}
