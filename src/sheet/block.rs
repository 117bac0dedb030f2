//! A block: a part of a page that is never split, laid out from its own top left corner.
//!
//! Promises: text goes in through one door that measures it and gives it the area it must not
//! leave. Does not: choose what stands where.

use std::ops::Range;

use crate::sheet::SheetError;
use crate::sheet::face::{Faces, Style};
use crate::sheet::page::{Ink, Item, Page, Point, Rect, Run, Stretch};
use crate::sheet::text::{Line, Span, unbroken, wrap};

/// Things placed from a corner of their own, in millimetres, in reading order.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Block {
    /// The things.
    pub items: Vec<Item>,
    /// Which of them, from one place to before another, are a drawing, and what it shows.
    pub drawings: Vec<(Range<usize>, String)>,
    /// How much of the page's height they take.
    pub height: f32,
}

/// Which edge of its area a text is set against.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Align {
    /// Its left edge.
    Left,
    /// Its right edge.
    Right,
    /// Its middle.
    Centre,
}

impl Block {
    /// An empty block.
    #[must_use]
    pub fn new() -> Self {
        Self::default()
    }

    /// Places all of this block on a page, its corner at `at`.
    pub fn place(&self, page: &mut Page, at: Point) {
        let first = page.items.len();
        page.items
            .extend(self.items.iter().map(|item| item.moved(at.0, at.1)));
        let mut stretches = Vec::new();
        let mut told = 0;
        for (things, shows) in self
            .drawings
            .iter()
            .filter(|(things, _)| !things.is_empty())
        {
            if things.start > told {
                let (from, drawing) = (first + told, None);
                stretches.push(Stretch { from, drawing });
            }
            let (from, drawing) = (first + things.start, Some(shows.clone()));
            stretches.push(Stretch { from, drawing });
            told = things.end;
        }
        if told < self.items.len() {
            let (from, drawing) = (first + told, None);
            stretches.push(Stretch { from, drawing });
        }
        if !stretches.is_empty() {
            page.parts.push(stretches);
        }
    }

    /// What was added since there were `from` things is a drawing that shows this.
    pub fn is_drawing(&mut self, from: usize, shows: &str) {
        self.drawings
            .push((from..self.items.len(), shows.to_owned()));
    }

    /// Takes over the things of another block, its corner at `at`.
    pub fn add(&mut self, other: &Self, at: Point) {
        let first = self.items.len();
        self.items
            .extend(other.items.iter().map(|item| item.moved(at.0, at.1)));
        let drawings = other.drawings.iter();
        let drawings = drawings
            .map(|(things, shows)| (first + things.start..first + things.end, shows.clone()));
        self.drawings.extend(drawings);
    }

    /// The first words in it, to name it by.
    #[must_use]
    pub fn first_words(&self) -> String {
        let first = self.items.iter().find_map(|item| match item {
            Item::Run(run) => Some(run.text.trim().to_owned()),
            _ => None,
        });
        first.unwrap_or_default()
    }

    /// One line of words that must fit between `left` and `right`; returns where it ends.
    ///
    /// # Errors
    /// [`SheetError::MissingGlyph`] for a character that cannot be printed.
    pub fn line(
        &mut self,
        faces: &Faces,
        spans: &[Span],
        area: (f32, f32),
        baseline: f32,
        align: Align,
    ) -> Result<f32, SheetError> {
        let line = unbroken(faces, spans)?;
        Ok(self.set(&line, area, baseline, align, Ink::Black))
    }

    /// White words on black, on one line.
    ///
    /// # Errors
    /// [`SheetError::MissingGlyph`] for a character that cannot be printed.
    pub fn white(
        &mut self,
        faces: &Faces,
        spans: &[Span],
        area: (f32, f32),
        baseline: f32,
        align: Align,
    ) -> Result<f32, SheetError> {
        let line = unbroken(faces, spans)?;
        Ok(self.set(&line, area, baseline, align, Ink::White))
    }

    /// Words broken to fit between `left` and `right`, the first line on `baseline`, the next
    /// ones `leading` lower each; returns the last baseline (or `baseline` for no words).
    ///
    /// # Errors
    /// [`SheetError::MissingGlyph`] for a character that cannot be printed.
    pub fn paragraph(
        &mut self,
        faces: &Faces,
        spans: &[Span],
        area: (f32, f32),
        baseline: f32,
        leading: f32,
    ) -> Result<f32, SheetError> {
        let lines = wrap(faces, spans, area.1 - area.0)?;
        Ok(self.lines(&lines, area, baseline, leading, Ink::Black))
    }

    /// Lines that are broken already; returns the last baseline (or `baseline` for no lines).
    pub fn lines(
        &mut self,
        lines: &[Line],
        area: (f32, f32),
        baseline: f32,
        leading: f32,
        ink: Ink,
    ) -> f32 {
        let mut at = baseline;
        for (n, line) in lines.iter().enumerate() {
            if n > 0 {
                at += leading;
            }
            self.set(line, area, at, Align::Left, ink);
        }
        at
    }

    /// Sets one line; returns where its last letter ends.
    pub fn set(
        &mut self,
        line: &Line,
        area: (f32, f32),
        baseline: f32,
        align: Align,
        ink: Ink,
    ) -> f32 {
        let room = area.1 - area.0 - line.width();
        let mut left = match align {
            Align::Left => area.0,
            Align::Right => area.0 + room,
            Align::Centre => area.0 + room / 2.0,
        };
        let em = Style::regular(line.size()).em();
        let frame = Rect::edges(area.0, baseline - em, area.1, baseline + 0.3 * em);
        for piece in &line.pieces {
            self.items.push(Item::Run(Run {
                text: piece.text.clone(),
                style: piece.style,
                left,
                baseline,
                width: piece.width,
                ink,
                frame,
            }));
            left += piece.width;
        }
        left
    }

    /// A straight black line.
    pub fn rule(&mut self, from: Point, to: Point, thick: f32) {
        self.items.push(Item::Rule {
            from,
            to,
            thick,
            ink: Ink::Black,
            dashed: false,
        });
    }

    /// An empty box drawn on its edge.
    pub fn frame(&mut self, rect: Rect, thick: f32) {
        self.items.push(Item::Frame {
            rect,
            thick,
            dashed: false,
        });
    }

    /// An empty box with a dashed edge.
    pub fn dashed(&mut self, rect: Rect, thick: f32) {
        self.items.push(Item::Frame {
            rect,
            thick,
            dashed: true,
        });
    }

    /// A black area.
    pub fn fill(&mut self, rect: Rect) {
        self.items.push(Item::Fill {
            rect,
            ink: Ink::Black,
        });
    }

    /// A box to write into, its name in small letters at its top left.
    ///
    /// # Errors
    /// [`SheetError::MissingGlyph`] for a character that cannot be printed.
    pub fn field(&mut self, faces: &Faces, rect: Rect, name: &str) -> Result<(), SheetError> {
        self.frame(rect, 0.3);
        self.line(
            faces,
            &[Span::new(name, Style::regular(7.5))],
            (rect.left + 0.8, rect.right() - 0.4),
            rect.top + 2.8,
            Align::Left,
        )?;
        Ok(())
    }

    /// A box to tick, with words to its right; returns where they end.
    ///
    /// # Errors
    /// [`SheetError::MissingGlyph`] for a character that cannot be printed.
    pub fn tick(
        &mut self,
        faces: &Faces,
        rect: Rect,
        spans: &[Span],
        right: f32,
    ) -> Result<f32, SheetError> {
        self.frame(rect, 0.5);
        let line = unbroken(faces, spans)?;
        let middle = rect.top + rect.height / 2.0;
        let baseline = middle + 0.36 * Style::regular(line.size()).em();
        Ok(self.set(
            &line,
            (rect.right() + 1.5, right),
            baseline,
            Align::Left,
            Ink::Black,
        ))
    }
}
