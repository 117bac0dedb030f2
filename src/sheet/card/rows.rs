//! The rows of a panel that are acted on, from the alarms to the boxes.
//!
//! Promises: long words wrap and push the rest down; the call stands before the mark it holds up.
//! Does not: print the mark itself.

use crate::sheet::SheetError;
use crate::sheet::barrel::{above_mark, below_mark, close_above_mark, close_below_mark};
use crate::sheet::block::{Align, Block};
use crate::sheet::card::facts::{Action, Alarm, Panel, Phrase};
use crate::sheet::card::grid::{
    ACTED_ON, ACTION, BROAD, CHECK, EDGES, FINE, FULL, HEAVY, LABEL, OPEN, ROW_NAME, TOP,
};
use crate::sheet::card::words::{bold, ordinal, phone, plain, spans};
use crate::sheet::face::{Faces, Style};
use crate::sheet::page::{Ink, Rect};
use crate::sheet::text::{Line, Span, unbroken, wrap};

/// Writes one panel's rows into a block.
pub struct Writer<'a> {
    pub(super) faces: &'a Faces,
    pub(super) panel: &'a Panel,
    pub(super) block: Block,
}

impl<'a> Writer<'a> {
    /// Nothing written yet.
    pub fn new(faces: &'a Faces, panel: &'a Panel) -> Self {
        Self {
            faces,
            panel,
            block: Block::new(),
        }
    }

    /// What was written.
    pub fn done(self) -> Block {
        self.block
    }

    /// The bars, and the boxes of a call; returns where the panel goes on.
    pub fn alarms(&mut self) -> Result<f32, SheetError> {
        let mut top = 0.0;
        for alarm in &self.panel.alarms {
            top = match alarm {
                Alarm::Stop { what, phone: to } => {
                    let mut words = bold(&format!("STOP. {what}: call "), BAR);
                    words.extend(phone(to, BAR, ACTED_ON));
                    self.bar(&words, top)?
                }
                Alarm::Call {
                    what,
                    phone: to,
                    measured,
                } => {
                    let mut words = bold("CALL FIRST ", BAR);
                    words.extend(phone(to, BAR, ACTED_ON));
                    words.extend(bold(&format!(": {what}"), BAR));
                    let under = self.bar(&words, top)?;
                    self.call_record(measured, under)?
                }
                Alarm::First { what } => self.white_bar(&bold(what, BAR), top)?,
            };
        }
        Ok(top)
    }

    fn bar(&mut self, words: &[Span], top: f32) -> Result<f32, SheetError> {
        let lines = wrap(self.faces, words, 188.0)?;
        let bottom = top + 3.0 + BAR_LEADING * lines.len() as f32;
        self.block.fill(Rect::edges(EDGES.0, top, EDGES.1, bottom));
        self.block
            .lines(&lines, (3.0, 191.0), top + 6.2, BAR_LEADING, Ink::White);
        Ok(bottom)
    }

    fn white_bar(&mut self, words: &[Span], top: f32) -> Result<f32, SheetError> {
        let lines = wrap(self.faces, words, 188.0)?;
        let bottom = top + 3.6 + BAR_LEADING * lines.len() as f32;
        let half = HEAVY / 2.0;
        let edge = Rect::edges(EDGES.0 + half, top + half, EDGES.1 - half, bottom - half);
        self.block.frame(edge, HEAVY);
        self.block
            .lines(&lines, (3.0, 191.0), top + 6.6, BAR_LEADING, Ink::Black);
        Ok(bottom)
    }

    /// Boxes to write the call into, before anything is drawn.
    fn call_record(&mut self, measured: &Phrase, top: f32) -> Result<f32, SheetError> {
        let (faces, block) = (self.faces, &mut self.block);
        let (high, low) = (top + 1.3, top + 9.3);
        block.field(faces, Rect::edges(2.4, high, 20.4, low), "time called")?;
        block.field(faces, Rect::edges(21.4, high, 60.0, low), "spoke to")?;
        let answers = match self.panel.action {
            Action::Mark(_) | Action::Words(_) => ["give as below", "do not give"],
            Action::NoMark { .. } => ["new card", "do not give"],
        };
        for (answer, left) in answers.into_iter().zip([62.4, 99.6]) {
            let tick = Rect::edges(left, high + 1.0, left + 6.0, low - 1.0);
            block.tick(faces, tick, &bold(answer, ACTED_ON), 132.0)?;
        }
        let mut said = spans(measured, 9.5);
        said.extend(plain(". Another dose? New card.", 9.5));
        let last = block.paragraph(faces, &said, CHECK, top + 4.2, 4.3)?;
        let bottom = (low + 1.2).max(last + 1.9);
        block.rule((FULL.0, bottom), (FULL.1, bottom), FINE);
        Ok(bottom)
    }

    /// The rows that are acted on; returns how far down they reach.
    pub fn action(&mut self, top: f32) -> Result<f32, SheetError> {
        let drawn = drawn(self.panel);
        let narrow = if drawn { ACTION } else { OPEN };
        let (first, lower) = if drawn { (TOP, BROAD) } else { (OPEN, OPEN) };
        let at = self.upper(top, first, lower)?;
        let core = self.core((top, at), narrow)?;
        let at = self.lower((core.words, core.close), narrow, lower)?;
        Ok(at.max(core.drawing))
    }

    /// The same for a panel that would be taller than a page: what stands above and below the mark
    /// goes across the panel, and the drawing begins below the former. Returns where the check
    /// column begins, how far down the mark reaches, and the rows that come below.
    pub fn tight(&mut self, top: f32) -> Result<(f32, f32, Block), SheetError> {
        let across = (OPEN.0, FULL.1);
        let narrow = if drawn(self.panel) { ACTION } else { OPEN };
        let at = self.upper(top, across, across)?;
        self.block
            .rule((FULL.0, at + 1.9), (FULL.1, at + 1.9), FINE);
        let column = at + 1.9;
        let core = self.core((column, at), narrow)?;
        let mut below = Writer::new(self.faces, self.panel);
        let height = below.lower((0.0, 0.0), across, across)?;
        below.block.height = height;
        Ok((column, (core.words + 1.6).max(core.drawing), below.block))
    }

    /// Who it is, and the last dose.
    fn upper(&mut self, top: f32, first: Area, upper: Area) -> Result<f32, SheetError> {
        let mut at = self.animal(top + 6.9, first)?;
        if let Some(alike) = &self.panel.alike {
            at = self.row("Which one", &bold(alike, ACTED_ON), upper, at + 5.6)?;
        }
        let last_dose = plain(&self.panel.last_dose, ACTED_ON);
        self.row("Last dose", &last_dose, upper, at + 5.6)
    }

    /// The bottle, what it is measured with, the mark: from `at` on, nothing drawn above `top`.
    fn core(&mut self, (top, at): (f32, f32), narrow: Area) -> Result<Core, SheetError> {
        let panel = self.panel;
        let scale = match &panel.action {
            Action::Mark(mark) => mark.scale.as_ref(),
            Action::Words(_) | Action::NoMark { .. } => None,
        };
        let upper = at;
        self.block
            .rule((narrow.0, at + 1.9), (narrow.1, at + 1.9), FINE);
        let mut at = self.bottle(at + 6.3, narrow)?;
        if let Some((name, words)) = &panel.measure {
            at = self.row(name, &plain(words, ACTED_ON), narrow, at + 4.4)?;
        }
        let (mut drawing, mut close) = (0.0, 0.0);
        at = match &panel.action {
            Action::Mark(mark) => {
                // Only the barrel's upper end stands beside the rows above; the rest, below them.
                let beside = upper + DESCENDER + close_above_mark();
                let highest = |scale| beside.max(top + above_mark(scale) + 0.6);
                let level = scale.map_or(0.0, highest).max(at + ABOVE_ARROW);
                if let Some(scale) = scale {
                    drawing = level + below_mark(scale) + 0.8;
                    close = level + close_below_mark(scale);
                }
                self.mark(mark, level, narrow)?
            }
            Action::Words(words) => self.own_words(words, at + 1.2, narrow)?,
            Action::NoMark { why, .. } => self.no_mark(why, at + 2.0, narrow)?,
        };
        Ok(Core {
            words: at,
            drawing,
            close,
        })
    }

    /// Where, by which weight, when, and the boxes: from `at` on, what is broader than the words
    /// beside the mark not above `close`.
    fn lower(
        &mut self,
        (at, close): (f32, f32),
        narrow: Area,
        lower: Area,
    ) -> Result<f32, SheetError> {
        let panel = self.panel;
        let mut at = at;
        if let Some(place) = &panel.place {
            let mut words = self.place(place, narrow)?;
            if let Some(spat_out) = &panel.spat_out {
                words.extend(plain(&format!("  {spat_out}"), ACTED_ON));
            }
            at = self.row("Where", &words, narrow, at + 4.8)?;
            at = self.sites(narrow, at)?;
        }
        at = self.row("Weight", &spans(&panel.weight, ACTED_ON), narrow, at + 4.9)?;
        let beneath = close + 0.78 * Style::regular(WHEN).em() + 0.1;
        at = self.row("When", &when(&panel.when), lower, beneath.max(at + 4.9))?;
        if !matches!(panel.action, Action::NoMark { .. }) {
            at = self.outcome(at + 1.7, lower)?;
        }
        Ok(at + 1.4 + if framed(panel) { HEAVY } else { 0.0 })
    }

    /// Where it goes, at the largest size at which it stands on one line; if none, it wraps.
    fn place(&self, place: &str, area: (f32, f32)) -> Result<Vec<Span>, SheetError> {
        for size in PLACES {
            let words = bold(place, size);
            if unbroken(self.faces, &words)?.width() <= area.1 - area.0 {
                return Ok(words);
            }
        }
        Ok(bold(place, PLACE))
    }

    /// A box to tick for each of several draws, with its site; beside each other where they fit,
    /// two in a narrow area and three in a wide one.
    fn sites(&mut self, area: (f32, f32), baseline: f32) -> Result<f32, SheetError> {
        let mut at = baseline;
        let columns = if area.1 - area.0 > WIDE { 3 } else { 2 };
        let cell = (area.1 - area.0) / columns as f32;
        let mut free = 0;
        for (n, site) in self.panel.sites.iter().enumerate() {
            let words = plain(&format!("{}: {site}", ordinal(n + 1)), ACTED_ON);
            let width = unbroken(self.faces, &words)?.width() + 7.1;
            let taken = (1..columns).find(|cells| width <= cell * *cells as f32);
            let taken = taken.unwrap_or(columns);
            if taken > free {
                at += 6.8;
                free = columns;
            }
            let left = area.0 + cell * (columns - free) as f32;
            free -= taken;
            let tick = Rect::edges(left, at - 4.2, left + 5.6, at + 1.4);
            self.block.frame(tick, 0.5);
            let words_area = (left + 7.1, area.1);
            at = self
                .block
                .paragraph(self.faces, &words, words_area, at, 4.8)?;
        }
        Ok(match self.panel.sites.is_empty() {
            true => baseline,
            false => at + 1.0,
        })
    }

    /// A row's name, and its words wrapped beside it.
    pub(super) fn row(
        &mut self,
        name: &str,
        words: &[Span],
        area: (f32, f32),
        baseline: f32,
    ) -> Result<f32, SheetError> {
        let name = wrap(self.faces, &plain(name, ROW_NAME), LABEL.1 - LABEL.0)?;
        self.block.lines(&name, LABEL, baseline, 3.3, Ink::Black);
        self.block.paragraph(self.faces, words, area, baseline, 5.0)
    }

    /// Name and identification, together on a line if they fit.
    fn animal(&mut self, baseline: f32, area: (f32, f32)) -> Result<f32, SheetError> {
        self.row("Animal", &[], area, baseline)?;
        let name = wrap(self.faces, &bold(&self.panel.animal, NAME), area.1 - area.0)?;
        let at = self.block.lines(&name, area, baseline, 8.8, Ink::Black);
        let beside = plain(&self.panel.identification, ACTED_ON);
        let width = unbroken(self.faces, &beside)?.width();
        let ends = area.0 + name.last().map_or(0.0, Line::width) + 4.0;
        if ends + width <= area.1 {
            self.block
                .line(self.faces, &beside, (ends, area.1), at, Align::Left)?;
            Ok(at)
        } else {
            self.block
                .paragraph(self.faces, &beside, area, at + 5.4, 5.0)
        }
    }

    /// The medicine, what its label must read, and a box for what it reads.
    fn bottle(&mut self, baseline: f32, area: (f32, f32)) -> Result<f32, SheetError> {
        let mut words = bold(&format!("{} ", self.panel.medicine), 14.0);
        if let Some(bottle) = &self.panel.bottle {
            words.extend(plain(bottle, ACTED_ON));
        }
        let at = self.row("Bottle", &words, area, baseline)?;
        let Some(must_read) = &self.panel.must_read else {
            return Ok(at);
        };
        let top = at + 1.8;
        let must = self.strength("must read", must_read, area)?;
        let reads = match &self.panel.it_reads {
            Some(words) => self.strength("it reads", words, area)?,
            None => {
                let left = area.1 - area.0 - must.1 - 2.0;
                let wide = if left < EMPTY.0 {
                    EMPTY.1
                } else {
                    left.min(EMPTY.1)
                };
                let mut empty = Block::new();
                let edge = Rect::edges(0.0, 0.0, wide, STRENGTH);
                empty.field(self.faces, edge, "it reads")?;
                empty.height = STRENGTH;
                (empty, wide)
            }
        };
        let mut corner = (area.0, top);
        self.block.add(&must.0, corner);
        let mut bottom = top + must.0.height;
        if area.0 + must.1 + 2.0 + reads.1 <= area.1 + 0.01 {
            corner.0 += must.1 + 2.0;
        } else {
            corner.1 = bottom + 1.2;
        }
        self.block.add(&reads.0, corner);
        bottom = bottom.max(corner.1 + reads.0.height);
        Ok(bottom)
    }

    /// A strength in its box with its name before it, and how wide they are together.
    fn strength(
        &self,
        name: &str,
        words: &str,
        area: (f32, f32),
    ) -> Result<(Block, f32), SheetError> {
        let mut block = Block::new();
        let room = area.1 - area.0;
        let name = plain(name, ACTED_ON);
        let left = block.line(self.faces, &name, (0.0, room), 5.1, Align::Left)? + 1.8;
        let lines = wrap(self.faces, &bold(words, 13.0), room - left - 4.4)?;
        let width = lines.iter().map(Line::width).fold(0.0, f32::max) + 4.4;
        let inner = (left + 2.2, left + width - 2.2);
        let last = block.lines(&lines, inner, 5.1, 5.6, Ink::Black);
        block.height = last + 1.9;
        block.frame(Rect::edges(left, 0.0, left + width, block.height), 0.6);
        Ok((block, left + width))
    }

    /// Boxes to fill in when it is done.
    fn outcome(&mut self, top: f32, area: (f32, f32)) -> Result<f32, SheetError> {
        let bottom = top + 7.6;
        self.row("Done", &[], area, top + 5.0)?;
        let tick = Rect::edges(area.0, top + 0.8, area.0 + 6.0, top + 6.8);
        self.block
            .tick(self.faces, tick, &bold("all given", ACTED_ON), 47.0)?;
        for (name, left, right) in [
            ("time", 47.6, 67.6),
            ("initials", 68.8, 86.0),
            ("if not all, why", 87.2, area.1),
        ] {
            self.block
                .field(self.faces, Rect::edges(left, top, right, bottom), name)?;
        }
        Ok(bottom)
    }
}

/// How far down the parts of the core reach.
struct Core {
    /// The words.
    words: f32,
    /// The whole drawing; 0 where there is none.
    drawing: f32,
    /// What of the drawing stands left of the barrel; likewise.
    close: f32,
}

/// Left and right edge.
type Area = (f32, f32);

/// Whether a syringe is drawn beside the mark.
fn drawn(panel: &Panel) -> bool {
    matches!(&panel.action, Action::Mark(mark) if mark.scale.is_some())
}

/// STOP and CALL are framed all round.
pub fn framed(panel: &Panel) -> bool {
    panel
        .alarms
        .iter()
        .any(|alarm| !matches!(alarm, Alarm::First { .. }))
}

/// The times stand out.
fn when(phrase: &Phrase) -> Vec<Span> {
    phrase
        .stretches
        .iter()
        .map(|(strong, words)| {
            let style = if *strong {
                Style::bold(WHEN)
            } else {
                Style::regular(ACTED_ON)
            };
            Span::new(words, style)
        })
        .collect()
}

/// Points.
const BAR: f32 = 15.0;
const NAME: f32 = 22.0;
const WHEN: f32 = 12.5;
const PLACE: f32 = 13.0;
const PLACES: [f32; 3] = [PLACE, 12.0, 11.5];

/// Millimetres.
const BAR_LEADING: f32 = 6.2;
const STRENGTH: f32 = 7.0;
/// From the last words before the mark to its arrow: the height of the figure, and a gap.
const ABOVE_ARROW: f32 = 10.4;
/// What letters reach below their line, and a gap.
const DESCENDER: f32 = 1.8;
/// An area wider than this takes three draws beside each other.
const WIDE: f32 = 120.0;
/// The narrowest and the widest empty box for a strength.
const EMPTY: (f32, f32) = (16.0, 26.0);
