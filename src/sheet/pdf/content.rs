//! The drawing of one page, as a content stream.
//!
//! Promises: things are drawn in the order in which they stand on the page; places are exact to
//! a hundredth of a point (0.004 mm). What is set already is not set again.

use pdf_writer::types::{LineCapStyle, LineJoinStyle};
use pdf_writer::{Content, Name, Str};

use crate::sheet::SheetError;
use crate::sheet::face::Style;
use crate::sheet::page::{Ink, Item, MM_PER_PT, Paper, Point, Rect, Run};
use crate::sheet::pdf::font::{Fonts, name};

/// Millimetres to points, to a hundredth of a point: shorter numbers, smaller files.
pub fn points(millimetres: f32) -> f32 {
    (millimetres / MM_PER_PT * 100.0).round() / 100.0
}

/// Draws one page.
pub struct Pen<'p, 'f> {
    content: Content,
    fonts: &'p mut Fonts<'f>,
    height: f32,
    fill: Option<Ink>,
    stroke: Option<Ink>,
    style: Option<Style>,
    thick: Option<f32>,
    dashed: Option<bool>,
    /// Letters are being set; nothing else can be drawn until they end.
    text: bool,
    glyphs: Vec<u8>,
}

impl<'p, 'f> Pen<'p, 'f> {
    /// A pen on an empty page.
    pub fn new(paper: Paper, fonts: &'p mut Fonts<'f>) -> Self {
        let mut content = Content::new();
        content
            .set_line_cap(LineCapStyle::ButtCap)
            .set_line_join(LineJoinStyle::MiterJoin);
        Self {
            content,
            fonts,
            height: paper.height(),
            fill: None,
            stroke: None,
            style: None,
            thick: None,
            dashed: None,
            text: false,
            glyphs: Vec::new(),
        }
    }

    /// Draws everything and gives the stream.
    pub fn draw(mut self, items: &[Item]) -> Result<Vec<u8>, SheetError> {
        for item in items {
            match item {
                Item::Run(run) => self.run(run)?,
                Item::Rule {
                    from,
                    to,
                    thick,
                    ink,
                    dashed,
                } => self.stroke(&[*from, *to], false, (*thick, *ink, *dashed)),
                Item::Frame {
                    rect,
                    thick,
                    dashed,
                } => self.stroke(&corners(rect), true, (*thick, Ink::Black, *dashed)),
                Item::Fill { rect, ink } => self.area(&corners(rect), *ink),
                Item::Shape { points, ink } => self.area(points, *ink),
            }
        }
        self.end_text();
        Ok(self.content.finish().into_vec())
    }

    /// Turns the page's measure from the top into PDF's from the bottom.
    fn point(&self, (x, y): Point) -> Point {
        (points(x), points(self.height - y))
    }

    fn end_text(&mut self) {
        if self.text {
            self.content.end_text();
            self.text = false;
        }
    }

    fn filled_with(&mut self, ink: Ink) {
        if self.fill != Some(ink) {
            self.content.set_fill_gray(grey(ink));
            self.fill = Some(ink);
        }
    }

    fn run(&mut self, run: &Run) -> Result<(), SheetError> {
        self.glyphs.clear();
        self.fonts
            .glyphs(run.style.face, &run.text, &mut self.glyphs)?;
        self.filled_with(run.ink);
        if !self.text {
            self.content.begin_text();
            self.text = true;
        }
        if self.style != Some(run.style) {
            let Style { face, size } = run.style;
            self.content.set_font(Name(name(face)), size);
            self.style = Some(run.style);
        }
        let (x, y) = self.point((run.left, run.baseline));
        self.content.set_text_matrix([1.0, 0.0, 0.0, 1.0, x, y]);
        self.content.show(Str(&self.glyphs));
        Ok(())
    }

    fn path(&mut self, corners: &[Point]) {
        let mut corners = corners.iter();
        if let Some(first) = corners.next() {
            let (x, y) = self.point(*first);
            self.content.move_to(x, y);
        }
        for corner in corners {
            let (x, y) = self.point(*corner);
            self.content.line_to(x, y);
        }
    }

    fn stroke(&mut self, corners: &[Point], closed: bool, (thick, ink, dashed): (f32, Ink, bool)) {
        self.end_text();
        if self.stroke != Some(ink) {
            self.content.set_stroke_gray(grey(ink));
            self.stroke = Some(ink);
        }
        if self.thick != Some(thick) {
            self.content.set_line_width(points(thick));
            self.thick = Some(thick);
        }
        if self.dashed != Some(dashed) {
            let pattern: &[f32] = if dashed { &[3.4, 2.4] } else { &[] };
            self.content.set_dash_pattern(pattern.iter().copied(), 0.0);
            self.dashed = Some(dashed);
        }
        self.path(corners);
        if closed {
            self.content.close_and_stroke();
        } else {
            self.content.stroke();
        }
    }

    fn area(&mut self, corners: &[Point], ink: Ink) {
        self.end_text();
        self.filled_with(ink);
        self.path(corners);
        self.content.fill_nonzero();
    }
}

fn corners(rect: &Rect) -> [Point; 4] {
    [
        (rect.left, rect.top),
        (rect.right(), rect.top),
        (rect.right(), rect.bottom()),
        (rect.left, rect.bottom()),
    ]
}

/// PDF's grey: 0 is black.
fn grey(ink: Ink) -> f32 {
    match ink {
        Ink::Black => 0.0,
        Ink::White => 1.0,
    }
}
