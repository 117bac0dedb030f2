//! The drawing of one page, as the operations of its content.
//!
//! Promises: things are drawn in the order in which they stand on the page; places are exact to
//! a hundredth of a point (0.004 mm). What is set already is not set again.

use printpdf::{
    Color, Greyscale, Line, LineCapStyle, LineDashPattern, LineJoinStyle, LinePoint, Op, PaintMode,
    PdfFontHandle, Point as PdfPoint, Polygon, PolygonRing, Pt, TextItem, TextMatrix, WindingOrder,
};

use crate::sheet::SheetError;
use crate::sheet::face::Style;
use crate::sheet::page::{Ink, Item, MM_PER_PT, Paper, Point, Rect, Run};
use crate::sheet::pdf::font::{Fonts, id};

/// Millimetres to points, to a hundredth of a point: shorter numbers, smaller files.
pub fn points(millimetres: f32) -> f32 {
    (millimetres / MM_PER_PT * 100.0).round() / 100.0
}

/// Draws one page.
pub struct Pen<'p, 'f> {
    operations: Vec<Op>,
    fonts: &'p mut Fonts<'f>,
    height: f32,
    fill: Option<Ink>,
    stroke: Option<Ink>,
    style: Option<Style>,
    thick: Option<f32>,
    dashed: Option<bool>,
    /// Letters are being set; nothing else can be drawn until they end.
    text: bool,
}

impl<'p, 'f> Pen<'p, 'f> {
    /// A pen on an empty page.
    pub fn new(paper: Paper, fonts: &'p mut Fonts<'f>) -> Self {
        Self {
            operations: vec![
                Op::SetLineCapStyle {
                    cap: LineCapStyle::Butt,
                },
                Op::SetLineJoinStyle {
                    join: LineJoinStyle::Miter,
                },
            ],
            fonts,
            height: paper.height(),
            fill: None,
            stroke: None,
            style: None,
            thick: None,
            dashed: None,
            text: false,
        }
    }

    /// Draws everything and gives the operations.
    pub fn draw(mut self, items: &[Item]) -> Result<Vec<Op>, SheetError> {
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
        Ok(self.operations)
    }

    /// Turns the page's measure from the top into PDF's from the bottom.
    fn point(&self, (x, y): Point) -> PdfPoint {
        PdfPoint {
            x: Pt(points(x)),
            y: Pt(points(self.height - y)),
        }
    }

    fn path(&self, corners: &[Point]) -> Vec<LinePoint> {
        let corner = |&point| LinePoint {
            p: self.point(point),
            bezier: false,
        };
        corners.iter().map(corner).collect()
    }

    fn end_text(&mut self) {
        if self.text {
            self.operations.push(Op::EndTextSection);
            self.text = false;
        }
    }

    fn filled_with(&mut self, ink: Ink) {
        if self.fill != Some(ink) {
            self.operations.push(Op::SetFillColor { col: grey(ink) });
            self.fill = Some(ink);
        }
    }

    fn run(&mut self, run: &Run) -> Result<(), SheetError> {
        self.fonts.meet(run.style.face, &run.text)?;
        self.filled_with(run.ink);
        if !self.text {
            self.operations.push(Op::StartTextSection);
            self.text = true;
        }
        if self.style != Some(run.style) {
            self.operations.push(Op::SetFont {
                font: PdfFontHandle::External(id(run.style.face)),
                size: Pt(run.style.size),
            });
            self.style = Some(run.style);
        }
        let PdfPoint { x, y } = self.point((run.left, run.baseline));
        self.operations.extend([
            Op::SetTextMatrix {
                matrix: TextMatrix::Translate(x, y),
            },
            Op::ShowText {
                items: vec![TextItem::Text(run.text.clone())],
            },
        ]);
        Ok(())
    }

    fn stroke(&mut self, corners: &[Point], closed: bool, (thick, ink, dashed): (f32, Ink, bool)) {
        self.end_text();
        if self.stroke != Some(ink) {
            self.operations.push(Op::SetOutlineColor { col: grey(ink) });
            self.stroke = Some(ink);
        }
        if self.thick != Some(thick) {
            let pt = Pt(points(thick));
            self.operations.push(Op::SetOutlineThickness { pt });
            self.thick = Some(thick);
        }
        if self.dashed != Some(dashed) {
            let dash = if dashed {
                LineDashPattern::new(0.0, &[3.4, 2.4])
            } else {
                LineDashPattern::solid()
            };
            self.operations.push(Op::SetLineDashPattern { dash });
            self.dashed = Some(dashed);
        }
        let line = Line {
            points: self.path(corners),
            is_closed: closed,
        };
        self.operations.push(Op::DrawLine { line });
    }

    fn area(&mut self, corners: &[Point], ink: Ink) {
        self.end_text();
        self.filled_with(ink);
        let points = self.path(corners);
        let polygon = Polygon {
            rings: vec![PolygonRing { points }],
            mode: PaintMode::Fill,
            winding_order: WindingOrder::NonZero,
        };
        self.operations.push(Op::DrawPolygon { polygon });
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
fn grey(ink: Ink) -> Color {
    Color::Greyscale(Greyscale {
        percent: match ink {
            Ink::Black => 0.0,
            Ink::White => 1.0,
        },
        icc_profile: None,
    })
}
