//! Where each animal stands on a long card, by name.
//!
//! Promises: beyond ten animals every one is listed once, with the page of its first dose and
//! whether it needs a call; names much alike come to stand near each other. Does not: repeat a
//! mark.

use crate::notation::fold::fold;
use crate::sheet::SheetError;
use crate::sheet::block::{Align, Block};
use crate::sheet::card::facts::{Action, Alarm, Condition, Facts, Panel};
use crate::sheet::card::grid::{ACTED_ON, EDGES, FINE, FULL};
use crate::sheet::card::words::{bold, counted, plain};
use crate::sheet::card::{Side, filled, prepare};
use crate::sheet::face::Faces;
use crate::sheet::page::{Ink, Rect};
use crate::sheet::text::wrap;

/// So many animals need no list.
const FEW: usize = 10;

/// Columns, in millimetres.
const NAME: (f32, f32) = (2.0, 66.0);
const WHICH: (f32, f32) = (68.0, 136.0);
const STATE: (f32, f32) = (138.0, 176.0);
const PAGE: (f32, f32) = (178.0, 192.0);

/// An animal and the page of its first dose, the first page of doses being 1.
pub struct First<'a> {
    animal: &'a str,
    identification: &'a str,
    state: String,
    page: usize,
}

/// The animals of a long card by name; none where there are few.
pub(super) fn firsts<'a>(facts: &'a Facts, doses: &[Side]) -> Vec<First<'a>> {
    let mut firsts: Vec<First> = Vec::new();
    // A bookmark stands where an animal's panels begin, in the order of the panels.
    let begun = (1..).zip(doses).flat_map(|(page, side)| {
        let names = side.bookmarks.iter();
        names.map(move |(_, name)| (page, name.as_str()))
    });
    let mut panels = facts.panels.iter().peekable();
    for (page, name) in begun {
        let Some(dose) = panels.next() else { break };
        let mut states = vec![dose];
        while let Some(more) = panels.next_if(|more| more.animal == name) {
            states.push(more);
        }
        firsts.push(First {
            animal: &dose.animal,
            identification: &dose.identification,
            state: state(&states),
            page,
        });
    }
    if firsts.len() <= FEW {
        return Vec::new();
    }
    firsts.sort_by_cached_key(|first| (fold(first.animal), first.page));
    firsts
}

/// What has to be done or asked before its doses.
fn state(doses: &[&Panel]) -> String {
    let any = |is: fn(&Panel) -> bool| doses.iter().any(|dose| is(dose));
    let words = [
        (
            any(|dose| dose.alarms.iter().any(|a| matches!(a, Alarm::Stop { .. }))),
            "STOP",
        ),
        (
            any(|dose| dose.alarms.iter().any(|a| matches!(a, Alarm::Call { .. }))),
            "CALL FIRST",
        ),
        (
            any(|dose| matches!(dose.action, Action::NoMark { .. })),
            "NO MARK",
        ),
        (
            any(|dose| dose.conditions.contains(&Condition::Late)),
            "LATE",
        ),
    ];
    let said = words.into_iter().filter(|(holds, _)| *holds);
    let said: Vec<&str> = said.map(|(_, words)| words).collect();
    said.join(", ")
}

/// The pages of the list; `before` is the number of the last page before those to prepare from,
/// and of the last before the doses.
///
/// # Errors
/// [`SheetError::MissingGlyph`] for a character that cannot be printed.
pub(super) fn pages(
    faces: &Faces,
    facts: &Facts,
    firsts: &[First],
    before: (usize, usize),
    room: f32,
) -> Result<Vec<Side>, SheetError> {
    if firsts.is_empty() {
        return Ok(Vec::new());
    }
    let mut blocks = vec![prepare::deferral(faces, &facts.vets)?];
    blocks.push(begin_with(faces, facts, before.0 + 1)?);
    let mut head = Some(names(faces)?);
    for first in firsts {
        let row = row(faces, first, before.1)?;
        blocks.push(match head.take() {
            Some(mut head) => {
                head.add(&row, (0.0, head.height));
                head.height += row.height;
                head
            }
            None => row,
        });
    }
    let blocks = blocks.into_iter().map(|block| ((), block)).collect();
    let side = |(at, page): (usize, Vec<((), Block)>)| Side {
        title: "Dose card, contents".to_owned(),
        name: "Contents".to_owned(),
        gap: 0.0,
        blocks: page.into_iter().map(|(_, block)| block).collect(),
        bookmarks: (at == 0)
            .then(|| (0, "Contents".to_owned()))
            .into_iter()
            .collect(),
    };
    let pages = filled(blocks, 0.0, room);
    Ok(pages.into_iter().enumerate().map(side).collect())
}

/// Where the work begins, and whether with a call.
fn begin_with(faces: &Faces, facts: &Facts, page: usize) -> Result<Block, SheetError> {
    let mut block = Block::new();
    let calls = facts.prepare.calls.len();
    if calls == 0 {
        let words = bold(&format!("Begin on page {page}: prepare"), 13.0);
        block.line(faces, &words, FULL, 5.6, Align::Left)?;
    } else {
        let things = if calls == 1 { "thing" } else { "things" };
        let counted = counted(calls);
        let words = format!("Call before you start: {counted} {things} to ask, on page {page}");
        block.fill(Rect::edges(EDGES.0, 0.0, EDGES.1, 10.0));
        block.white(faces, &bold(&words, 15.0), (3.0, 191.0), 7.1, Align::Left)?;
    }
    block.height = 13.0;
    Ok(block)
}

fn names(faces: &Faces) -> Result<Block, SheetError> {
    let mut block = Block::new();
    for (name, area, align) in [
        ("animal, by name", NAME, Align::Left),
        ("which one it is", WHICH, Align::Left),
        ("before its doses", STATE, Align::Left),
        ("page", PAGE, Align::Right),
    ] {
        block.line(faces, &plain(name, 9.0), area, 3.2, align)?;
    }
    block.rule((FULL.0, 5.0), (FULL.1, 5.0), 0.4);
    block.height = 5.2;
    Ok(block)
}

fn row(faces: &Faces, first: &First, before: usize) -> Result<Block, SheetError> {
    const LEADING: f32 = 4.6;
    let mut block = Block::new();
    let mut last = LEADING;
    for (words, area) in [
        (bold(first.animal, ACTED_ON), NAME),
        (plain(first.identification, 9.0), WHICH),
        (bold(&first.state, 9.0), STATE),
    ] {
        let lines = wrap(faces, &words, area.1 - area.0)?;
        last = block
            .lines(&lines, area, LEADING, LEADING, Ink::Black)
            .max(last);
    }
    let page = bold(&(before + first.page).to_string(), ACTED_ON);
    block.line(faces, &page, PAGE, LEADING, Align::Right)?;
    let bottom = last + 1.6;
    block.rule((FULL.0, bottom), (FULL.1, bottom), FINE);
    block.height = bottom + 0.2;
    Ok(block)
}
