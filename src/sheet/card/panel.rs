//! One dose on paper: alarms, animal, bottle, mark with its drawing, place, weight, time, boxes.
//!
//! Promises: a panel is one block and is never split; long words wrap and push the rest down; one
//! volume stands in the action zone, and no mark stands without its conditions.
//! Does not: decide anything; it prints what the facts say.

use crate::sheet::SheetError;
use crate::sheet::barrel::{ABOVE_MARK, BELOW_MARK, draw};
use crate::sheet::block::{Align, Block};
use crate::sheet::card::check::{Room, cautions, column, vet_words};
use crate::sheet::card::facts::{Action, Alarm, Condition, Mark, Panel, Phrase};
use crate::sheet::card::grid::{
    ACTED_ON, ACTION, BROAD, CHECK, CHECK_RULE, EDGES, FINE, FULL, HEAVY, LABEL, OPEN, ROW_NAME,
    TOP,
};
use crate::sheet::card::words::{bold, phone, plain, spans};
use crate::sheet::face::{Faces, Style};
use crate::sheet::page::{Ink, Rect};
use crate::sheet::text::{Line, Span, unbroken, wrap};

/// The panel of one dose; `order` says which of the day it is: "First of three".
///
/// # Errors
/// [`SheetError::MissingGlyph`] for a character that cannot be printed.
pub fn panel(
    faces: &Faces,
    panel: &Panel,
    order: &str,
    demonstration: bool,
) -> Result<Block, SheetError> {
    let mut writer = Writer {
        faces,
        panel,
        block: Block::new(),
    };
    let top = writer.alarms()?;
    let left = writer.action(top)?;
    let mut block = writer.block;

    let mut chosen = None;
    for room in ROOMS {
        let check = column(faces, panel, order, demonstration, room)?;
        let fits = top + check.height <= left;
        chosen = Some((check, room));
        if fits {
            break;
        }
    }
    let mut bottom = left;
    if let Some((check, room)) = chosen {
        block.add(&check, (0.0, top));
        bottom = bottom.max(top + check.height);
        block.rule((CHECK_RULE, top + 1.6), (CHECK_RULE, bottom - 1.2), FINE);
        let mut at = bottom - 2.6;
        if room.no_cautions {
            at = cautions(faces, &mut block, &panel.cautions, FULL, at)?;
        }
        if room.no_vet_words {
            at = vet_words(faces, &mut block, &panel.vet_words, FULL, at)?;
        }
        bottom = bottom.max(at + 2.2);
    }
    if framed(panel) {
        let half = HEAVY / 2.0;
        let edge = Rect::edges(EDGES.0 + half, half, EDGES.1 - half, bottom - half);
        block.frame(edge, HEAVY);
    } else {
        block.rule((EDGES.0, bottom), (EDGES.1, bottom), FINE);
    }
    block.height = bottom;
    Ok(block)
}

/// STOP and CALL are framed all round.
fn framed(panel: &Panel) -> bool {
    panel
        .alarms
        .iter()
        .any(|alarm| !matches!(alarm, Alarm::First { .. }))
}

/// How the check column gives way, step by step.
const ROOMS: [Room; 4] = [
    Room {
        short_ladder: false,
        no_vet_words: false,
        no_cautions: false,
    },
    Room {
        short_ladder: true,
        no_vet_words: false,
        no_cautions: false,
    },
    Room {
        short_ladder: true,
        no_vet_words: true,
        no_cautions: false,
    },
    Room {
        short_ladder: true,
        no_vet_words: true,
        no_cautions: true,
    },
];

struct Writer<'a> {
    faces: &'a Faces,
    panel: &'a Panel,
    block: Block,
}

impl Writer<'_> {
    /// The bars, and the boxes of a call; returns where the panel goes on.
    fn alarms(&mut self) -> Result<f32, SheetError> {
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
            Action::Mark(_) => ["give as below", "do not give"],
            Action::NoMark { .. } => ["new card", "do not give"],
        };
        for (answer, left) in answers.into_iter().zip([62.4, 99.6]) {
            let tick = Rect::edges(left, high + 1.0, left + 6.0, low - 1.0);
            block.tick(faces, tick, &bold(answer, ACTED_ON), 132.0)?;
        }
        let mut said = spans(measured, 9.5);
        said.extend(plain(". Another dose? Print a new card.", 9.5));
        let last = block.paragraph(faces, &said, CHECK, top + 4.2, 4.3)?;
        let bottom = (low + 1.2).max(last + 1.9);
        block.rule((FULL.0, bottom), (FULL.1, bottom), FINE);
        Ok(bottom)
    }

    /// The rows that are acted on; returns how far down they reach.
    fn action(&mut self, top: f32) -> Result<f32, SheetError> {
        let drawn = matches!(self.panel.action, Action::Mark(Mark { scale: Some(_), .. }));
        let (first, upper, narrow, lower) = if drawn {
            (TOP, BROAD, ACTION, BROAD)
        } else {
            (OPEN, OPEN, OPEN, OPEN)
        };
        let mut at = self.animal(top + 7.2, first)?;
        at = self.row(
            "Last dose",
            &plain(&self.panel.last_dose, ACTED_ON),
            upper,
            at + 6.1,
        )?;
        self.block
            .rule((narrow.0, at + 2.0), (narrow.1, at + 2.0), FINE);
        at = self.bottle(at + 6.8, narrow)?;
        if let Some((name, words)) = &self.panel.measure {
            at = self.row(name, &plain(words, ACTED_ON), narrow, at + 5.2)?;
        }
        let mut floor = 0.0_f32;
        at = match &self.panel.action {
            Action::Mark(mark) => {
                let level = at + 10.4;
                let level = if drawn {
                    level.max(top + ABOVE_MARK + 0.8)
                } else {
                    level
                };
                if drawn {
                    floor = level + BELOW_MARK + 0.8;
                }
                self.mark(mark, level, narrow)?
            }
            Action::NoMark { why, .. } => self.no_mark(why, at + 2.2, narrow)?,
        };
        if let Some(place) = &self.panel.place {
            at = self.row("Where", &bold(place, 13.0), narrow, at + 5.3)?;
            at += 0.2;
        }
        at = self.row(
            "Weight",
            &spans(&self.panel.weight, ACTED_ON),
            narrow,
            at + 5.4,
        )?;
        at = self.row("When", &when(&self.panel.when), lower, at + 5.4)?;
        if matches!(self.panel.action, Action::Mark(_)) {
            at = self.done(at + 2.0, lower)?;
        }
        Ok((at + 1.8 + if framed(self.panel) { HEAVY } else { 0.0 }).max(floor))
    }

    /// A row's name, and its words wrapped beside it.
    fn row(
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
                .paragraph(self.faces, &beside, area, at + 5.6, 5.0)
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
        let top = at + 2.3;
        let must = self.strength("must read", must_read, area)?;
        let reads = match &self.panel.it_reads {
            Some(words) => self.strength("it reads", words, area)?,
            None => {
                let mut empty = Block::new();
                let edge = Rect::edges(0.0, 0.0, EMPTY, STRENGTH);
                empty.field(self.faces, edge, "it reads")?;
                empty.height = STRENGTH;
                (empty, EMPTY)
            }
        };
        let mut corner = (area.0, top);
        self.block.add(&must.0, corner);
        let mut bottom = top + must.0.height;
        if area.0 + must.1 + 2.0 + reads.1 <= area.1 {
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
        let left = block.line(self.faces, &name, (0.0, room), 5.3, Align::Left)? + 1.8;
        let lines = wrap(self.faces, &bold(words, 13.0), room - left - 4.4)?;
        let width = lines.iter().map(Line::width).fold(0.0, f32::max) + 4.4;
        let inner = (left + 2.2, left + width - 2.2);
        let last = block.lines(&lines, inner, 5.3, 5.6, Ink::Black);
        block.height = last + 2.1;
        block.frame(Rect::edges(left, 0.0, left + width, block.height), 0.6);
        Ok((block, left + width))
    }

    /// The mark, `level` being the height of the arrow from it to the drawing.
    fn mark(&mut self, mark: &Mark, level: f32, area: (f32, f32)) -> Result<f32, SheetError> {
        let size = self.figure_size(mark, area)?;
        let baseline = level + 3.7;
        let zone_top = baseline - 13.0;
        let (mut at, ends) = self.figure(mark, size, baseline, area)?;
        if let Some(scale) = &mark.scale {
            draw(scale, self.faces, &mut self.block, level, ends + 2.2)?;
        }
        if let Some(below) = &mark.below {
            at = self
                .block
                .paragraph(self.faces, &bold(below, 12.0), area, at + 5.6, 5.2)?;
        }
        if let Some(scale) = &mark.scale {
            let count = scale.count();
            let mut words = plain(&count.lead(), 12.0);
            words.extend(bold(&count.find(), 12.0));
            at = self
                .block
                .paragraph(self.faces, &words, area, at + 5.6, 5.2)?;
        }
        if let Some(draws) = &mark.draws {
            at = self
                .block
                .paragraph(self.faces, &bold(draws, 12.0), area, at + 5.6, 5.2)?;
        }
        let zone_bottom = self.conditions(mark, (zone_top, at + 2.2), area)?;
        if mark.conditions.is_empty() {
            self.row("Draw to", &[], area, baseline - 3.7)?;
        }
        if !mark.conditions.contains(&Condition::AfterCall) {
            self.block
                .rule((area.0, zone_bottom), (area.1, zone_bottom), FINE);
        }
        Ok(zone_bottom)
    }

    /// The figure and its unit, on one line if they fit; returns the last baseline and where the
    /// line ends.
    fn figure(
        &mut self,
        mark: &Mark,
        size: Option<f32>,
        baseline: f32,
        area: (f32, f32),
    ) -> Result<(f32, f32), SheetError> {
        let spans = figure_spans(mark, size.unwrap_or(SMALLEST));
        let mut ends = area.0;
        if size.is_some() {
            for (at, span) in spans.into_iter().enumerate() {
                let from = if at == 0 { ends } else { ends + UNIT_GAP };
                let area = (from, area.1);
                ends = self
                    .block
                    .line(self.faces, &[span], area, baseline, Align::Left)?;
            }
            return Ok((baseline, ends));
        }
        let lines = wrap(self.faces, &spaced(spans), area.1 - area.0)?;
        ends += lines.last().map_or(0.0, Line::width);
        let last = self
            .block
            .lines(&lines, area, baseline, SMALLEST * 0.42, Ink::Black);
        Ok((last, ends))
    }

    /// The largest of the sizes at which figure and unit stand on one line.
    fn figure_size(&self, mark: &Mark, area: (f32, f32)) -> Result<Option<f32>, SheetError> {
        for size in FIGURES {
            let mut width = 0.0;
            for (at, span) in figure_spans(mark, size).into_iter().enumerate() {
                let gap = if at == 0 { 0.0 } else { UNIT_GAP };
                width += gap + self.faces.width(&span.text, span.style)?;
            }
            if width <= area.1 - area.0 {
                return Ok(Some(size));
            }
        }
        Ok(None)
    }

    /// The conditions in place of the row's name; returns the lower edge of the mark's zone.
    fn conditions(
        &mut self,
        mark: &Mark,
        (top, bottom): (f32, f32),
        area: (f32, f32),
    ) -> Result<f32, SheetError> {
        if mark.conditions.is_empty() {
            return Ok(bottom);
        }
        let mut words = Vec::new();
        for condition in &mark.conditions {
            let said = match condition {
                Condition::AfterCall => "only after the call",
                Condition::AfterWeighing => "weigh first",
                Condition::NotBefore(time) => &format!("not before {time}"),
                Condition::Late => "LATE",
            };
            words.push(wrap(self.faces, &bold(said, ACTED_ON), 15.4)?);
        }
        let count: usize = words.iter().map(Vec::len).sum();
        let gaps = words.len().saturating_sub(1) as f32 * 1.6;
        let needed = count as f32 * 4.6 + gaps;
        let bottom = bottom.max(top + needed + 2.4);
        self.block
            .fill(Rect::edges(EDGES.0, top, ACTION.0 - 1.6, bottom));
        let mut at = top + (bottom - top - needed) / 2.0 + 3.5;
        for lines in words {
            for line in lines {
                self.block
                    .set(&line, (0.5, 16.2), at, Align::Centre, Ink::White);
                at += 4.6;
            }
            at += 1.6;
        }
        if mark.conditions.contains(&Condition::AfterCall) {
            let edge = Rect::edges(ACTION.0 - 1.6, top + 0.3, area.1, bottom - 0.3);
            self.block.dashed(edge, 0.6);
        }
        Ok(bottom)
    }

    fn no_mark(&mut self, why: &str, top: f32, area: (f32, f32)) -> Result<f32, SheetError> {
        let left = area.0 + 60.0;
        let why = wrap(self.faces, &bold(why, 12.5), area.1 - left - 2.0)?;
        let height = 13.0_f32.max(why.len() as f32 * 5.2 + 3.4);
        let edge = Rect::edges(area.0 + 0.5, top, area.1 - 0.5, top + height);
        self.block.frame(edge, HEAVY);
        let middle = top + height / 2.0;
        self.row("Draw to", &[], area, middle + 1.0)?;
        self.block.line(
            self.faces,
            &bold("NO MARK", 30.0),
            (area.0 + 3.0, left - 2.0),
            middle + 3.8,
            Align::Left,
        )?;
        let first = middle + 1.6 - (why.len().saturating_sub(1)) as f32 * 2.6;
        self.block
            .lines(&why, (left, area.1 - 2.0), first, 5.2, Ink::Black);
        Ok(top + height)
    }

    /// Boxes to fill in when it is done.
    fn done(&mut self, top: f32, area: (f32, f32)) -> Result<f32, SheetError> {
        let bottom = top + 8.0;
        self.row("Done", &[], area, top + 5.2)?;
        let tick = Rect::edges(area.0, top + 1.0, area.0 + 6.0, top + 7.0);
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

/// What stands before the figure, the figure, its unit.
fn figure_spans(mark: &Mark, size: f32) -> Vec<Span> {
    let around = |words: &String| Span::new(words, Style::bold(UNIT));
    let figure = Span::new(&mark.figure, Style::bold(size));
    mark.before
        .iter()
        .map(around)
        .chain([figure])
        .chain(mark.unit.iter().map(around))
        .collect()
}

/// The same with spaces, for lines that are broken.
fn spaced(spans: Vec<Span>) -> Vec<Span> {
    let space = |span: Span| [span, Span::new(" ", Style::bold(UNIT))];
    spans.into_iter().flat_map(space).collect()
}

/// The times stand out.
fn when(phrase: &Phrase) -> Vec<Span> {
    phrase
        .stretches
        .iter()
        .map(|(strong, words)| {
            let style = if *strong {
                Style::bold(12.5)
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
const UNIT: f32 = 24.0;
const FIGURES: [f32; 3] = [45.0, 36.0, SMALLEST];
const SMALLEST: f32 = 30.0;

/// Millimetres.
const BAR_LEADING: f32 = 6.2;
const STRENGTH: f32 = 7.4;
const EMPTY: f32 = 22.0;
const UNIT_GAP: f32 = 2.6;
