//! The mark: the largest thing on the page, its drawing, its count of lines, its conditions.
//!
//! Promises: a mark never stands without its conditions; where there is none, NO MARK or the vet's
//! own words stand in its place, without a volume and without a drawing.
//! Does not: know where the rest of the panel stands.

use crate::sheet::SheetError;
use crate::sheet::barrel::draw;
use crate::sheet::block::Align;
use crate::sheet::card::facts::{Condition, Mark};
use crate::sheet::card::grid::{ACTED_ON, ACTION, EDGES, FINE, HEAVY};
use crate::sheet::card::rows::Writer;
use crate::sheet::card::words::{bold, plain};
use crate::sheet::face::{Face, Style};
use crate::sheet::page::{Ink, Rect};
use crate::sheet::text::{Line, Span, wrap};

impl Writer<'_> {
    /// The mark, `level` being the height of the arrow from it to the drawing.
    pub fn mark(&mut self, mark: &Mark, level: f32, area: (f32, f32)) -> Result<f32, SheetError> {
        let size = self.figure_size(mark, area)?;
        let baseline = level + 3.7;
        let zone_top = baseline - 12.9;
        // Its conditions are read before the mark, but how deep they reach is known after it.
        let before = std::mem::take(&mut self.block);
        let (figure_ends, ends) = self.figure(mark, size, baseline, area)?;
        let mut at = figure_ends;
        if let Some(below) = &mark.below {
            at = self
                .block
                .paragraph(self.faces, &bold(below, 12.0), area, at + 5.2, 5.2)?;
        }
        if let Some(scale) = &mark.scale {
            let (lead, find) = scale.count();
            let mut words = plain(lead, 12.0);
            words.extend(bold(find, 12.0));
            at = self
                .block
                .paragraph(self.faces, &words, area, at + 5.2, 5.2)?;
        }
        if let Some(draws) = &mark.draws {
            at = self
                .block
                .paragraph(self.faces, &bold(draws, 12.0), area, at + 5.2, 5.2)?;
        }
        if let Some(scale) = &mark.scale {
            let from = self.block.items.len();
            draw(scale, self.faces, &mut self.block, level, ends + 2.2)?;
            self.block.is_drawing(from, &scale.shown());
        }
        // Words such as "three quarters" reach deep below their line.
        let bottom = (at + 2.0).max(figure_ends + 4.4);
        let said = std::mem::replace(&mut self.block, before);
        let bottom = self.zone((zone_top, bottom), baseline - 3.7, area)?;
        self.block.add(&said, (0.0, 0.0));
        Ok(bottom)
    }

    /// The vet's own words in the mark's place; returns the lower edge of their zone.
    pub fn own_words(
        &mut self,
        words: &str,
        top: f32,
        area: (f32, f32),
    ) -> Result<f32, SheetError> {
        let style = Style::new(Face::BoldItalic, OWN_WORDS);
        let quoted = Span::new(&format!("“{}”", words.trim()), style);
        let inner = (area.0 + 3.2, area.1);
        let first = top + 7.2;
        let lines = wrap(self.faces, &[quoted], inner.1 - inner.0)?;
        let last = first + 7.0 * lines.len().saturating_sub(1) as f32;
        let bottom = self.zone((top + 1.0, last + 3.0), first, area)?;
        self.block.lines(&lines, inner, first, 7.0, Ink::Black);
        for rule in [area.0 + 0.2, area.0 + 1.2] {
            self.block
                .rule((rule, first - 4.6), (rule, last + 1.4), FINE);
        }
        Ok(bottom)
    }

    /// What stands left of the mark: the row's name, or the conditions in its place. Returns the
    /// lower edge of the mark's zone.
    fn zone(
        &mut self,
        (top, bottom): (f32, f32),
        level: f32,
        area: (f32, f32),
    ) -> Result<f32, SheetError> {
        let conditions = &self.panel.conditions;
        if conditions.is_empty() {
            self.row(&self.panel.act, &[], area, level)?;
            self.block.rule((area.0, bottom), (area.1, bottom), FINE);
            return Ok(bottom);
        }
        let mut words = Vec::new();
        for condition in conditions {
            let said = bold(&condition.to_string(), ACTED_ON);
            words.push(wrap(self.faces, &said, 15.4)?);
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
        if conditions.contains(&Condition::AfterCall) {
            let edge = Rect::edges(ACTION.0 - 1.6, top + 0.1, area.1, bottom - 0.3);
            self.block.dashed(edge, 0.6);
        } else {
            self.block.rule((area.0, bottom), (area.1, bottom), FINE);
        }
        Ok(bottom)
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

    /// NO MARK in the mark's place, and why.
    pub fn no_mark(&mut self, why: &str, top: f32, area: (f32, f32)) -> Result<f32, SheetError> {
        let left = area.0 + 60.0;
        let why = wrap(self.faces, &bold(why, 12.5), area.1 - left - 2.0)?;
        let height = 13.0_f32.max(why.len() as f32 * 5.2 + 3.4);
        let edge = Rect::edges(area.0 + 0.5, top, area.1 - 0.5, top + height);
        self.block.frame(edge, HEAVY);
        let middle = top + height / 2.0;
        self.row(&self.panel.act, &[], area, middle + 1.0)?;
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

/// Points.
const UNIT: f32 = 24.0;
const OWN_WORDS: f32 = 16.0;
const FIGURES: [f32; 3] = [45.0, 36.0, SMALLEST];
const SMALLEST: f32 = 30.0;

/// Millimetres.
const UNIT_GAP: f32 = 2.6;
