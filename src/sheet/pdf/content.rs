//! The drawing of one page, as the operations of its content.
//!
//! Promises: things are drawn in the order in which they stand on the page; places are exact to
//! a hundredth of a point (0.004 mm). What is set already is not set again; every stretch of the
//! page is marked with its number.

use std::collections::BTreeMap;

use printpdf::{
    Color, DictItem, Greyscale, Line, LineCapStyle, LineDashPattern, LineJoinStyle, LinePoint, Op,
    PaintMode, PdfFontHandle, Point as PdfPoint, Polygon, PolygonRing, Pt, TextItem, TextMatrix,
    WindingOrder,
};

use crate::sheet::SheetError;
use crate::sheet::face::Style;
use crate::sheet::page::{Ink, Item, MM_PER_PT, Page, Paper, Point, Rect, Run, Stretch};
use crate::sheet::pdf::font::{Fonts, id};
use crate::sheet::pdf::structure::role;

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
    pub fn draw(mut self, page: &Page) -> Result<Vec<Op>, SheetError> {
        let mut stretches = (0..).zip(page.parts.iter().flatten()).peekable();
        let mut marked = false;
        for (at, item) in page.items.iter().enumerate() {
            if let Some((number, stretch)) = stretches.next_if(|(_, next)| next.from == at) {
                self.end_marked(marked);
                self.operations.push(begin_marked(number, stretch));
                marked = true;
            }
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
        self.end_marked(marked);
        self.end_text();
        Ok(self.operations)
    }

    /// Ends a stretch, if one was begun; none begins or ends amid letters.
    fn end_marked(&mut self, marked: bool) {
        self.end_text();
        if marked {
            self.operations.push(Op::EndMarkedContent);
        }
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

/// A stretch of the page under the number by which the file's structure knows it.
fn begin_marked(number: i64, stretch: &Stretch) -> Op {
    let number = ("MCID".to_owned(), DictItem::Int(number));
    Op::BeginMarkedContentWithProperties {
        tag: role(stretch).to_owned(),
        properties: DictItem::Dict {
            map: BTreeMap::from([number]),
        },
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
