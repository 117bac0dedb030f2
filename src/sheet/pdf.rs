//! Pages into PDF bytes.
//!
//! Promises: the same pages and particulars give the same bytes, in one process or in many; only
//! the letters that are used are embedded, and the text can be taken out again; the file asks
//! viewers to print it at its true size.
//! Does not: read the clock (the moment is given) or lay anything out.

use std::collections::{BTreeMap, BTreeSet};

use chrono::{DateTime, FixedOffset};
use printpdf::{
    Color, FontId, Greyscale, Line, LineCapStyle, LineDashPattern, LineJoinStyle, LinePoint, Mm,
    OffsetDateTime, Op, PaintMode, PdfDocument, PdfFont, PdfFontHandle, PdfPage, PdfSaveOptions,
    Point as PdfPoint, Polygon, PolygonRing, Pt, TextItem, WindingOrder,
};
use sha2::{Digest, Sha256};

use crate::sheet::SheetError;
use crate::sheet::face::{Face, Faces};
use crate::sheet::page::{Ink, Item, MM_PER_PT, Page, Point, Rect, Run};

/// What a PDF says about itself.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Particulars {
    /// Its title.
    pub title: String,
    /// Name and version of the program.
    pub producer: String,
    /// When it was made, as the caller's clock had it.
    pub made: DateTime<FixedOffset>,
}

/// Writes pages as a PDF file.
///
/// # Errors
/// [`SheetError::MissingGlyph`] for a character that cannot be printed, [`SheetError::Writer`] if
/// the writer reports anything at all.
pub fn write(
    faces: &Faces,
    pages: &[Page],
    particulars: &Particulars,
) -> Result<Vec<u8>, SheetError> {
    let mut document = PdfDocument::new(&particulars.title);
    let info = &mut document.metadata.info;
    let made = OffsetDateTime::from_unix_timestamp(particulars.made.timestamp())
        .map_err(|why| SheetError::Writer(why.to_owned()))?;
    info.creation_date = made;
    info.modification_date = made;
    info.metadata_date = made;
    info.creator.clone_from(&particulars.producer);
    info.producer.clone_from(&particulars.producer);

    // The ids that printpdf makes up count on through the process; fixed ones do not.
    for (face, characters) in used(pages) {
        let font = PdfFont::new(faces.subset(face, &characters)?);
        document.resources.fonts.map.insert(font_id(face), font);
    }
    for (at, page) in pages.iter().enumerate() {
        document.add_bookmark(&page.name, at + 1);
    }
    document.with_pages(pages.iter().map(page_operations).collect());

    let mut warnings = Vec::new();
    let options = PdfSaveOptions {
        image_optimization: None,
        ..PdfSaveOptions::default()
    };
    let mut file = document.to_lopdf_document(&options, &mut warnings);
    if let Some(warning) = warnings.first() {
        return Err(SheetError::Writer(format!("{warning:?}")));
    }
    file.version = "1.7".to_owned();
    let fault = |_| SheetError::Writer("its parts do not hang together".to_owned());

    let info = file
        .trailer
        .get(b"Info")
        .and_then(|info| info.as_reference())
        .map_err(fault)?;
    let info = file.get_dictionary_mut(info).map_err(fault)?;
    // An empty mark makes readers take the file for PDF/X, which it is not.
    for unused in [
        "GTS_PDFXVersion",
        "Identifier",
        "Keywords",
        "Subject",
        "Author",
    ] {
        info.remove(unused.as_bytes());
    }

    let digest = hex(&Sha256::digest(fingerprint(pages, particulars)));
    let ids = file
        .trailer
        .get_mut(b"ID")
        .and_then(|ids| ids.as_array_mut())
        .map_err(fault)?;
    let mut language = None;
    for id in ids {
        // A copied string object is the way to make one without naming the writer beneath.
        let mut text = id.clone();
        text.as_str_mut()
            .map_err(fault)?
            .splice(.., b"en".iter().copied());
        language = Some(text);
        let content = id.as_str_mut().map_err(fault)?;
        content.splice(.., digest.bytes().take(32));
    }
    let catalog = file.catalog_mut().map_err(fault)?;
    if let Some(language) = language {
        catalog.set("Lang", language);
    }
    let mut viewing = emptied(catalog);
    viewing.set("PrintScaling", "None");
    viewing.set("DisplayDocTitle", true);
    catalog.set("ViewerPreferences", viewing);
    catalog.set("PageMode", "UseOutlines");
    catalog.set("PageLayout", "SinglePage");

    file.compress();
    let mut bytes = Vec::new();
    file.save_to(&mut bytes)
        .map_err(|why| SheetError::Writer(why.to_string()))?;
    Ok(bytes)
}

/// An empty thing of the same kind.
fn emptied<T: Default>(_: &T) -> T {
    T::default()
}

fn hex(bytes: &[u8]) -> String {
    bytes.iter().map(|byte| format!("{byte:02x}")).collect()
}

/// Everything that the file's content hangs on, as bytes.
fn fingerprint(pages: &[Page], particulars: &Particulars) -> Vec<u8> {
    format!("{particulars:?}\n{pages:?}").into_bytes()
}

fn font_id(face: Face) -> FontId {
    FontId(
        match face {
            Face::Regular => "Regular",
            Face::Bold => "Bold",
            Face::BoldItalic => "BoldItalic",
        }
        .to_owned(),
    )
}

/// The characters that the pages use of each face.
fn used(pages: &[Page]) -> BTreeMap<Face, BTreeSet<char>> {
    let mut used: BTreeMap<Face, BTreeSet<char>> = BTreeMap::new();
    for run in pages.iter().flat_map(Page::runs) {
        used.entry(run.style.face)
            .or_default()
            .extend(run.text.chars());
    }
    used
}

fn page_operations(page: &Page) -> PdfPage {
    let pen = Pen {
        height: page.paper.height(),
    };
    let mut operations = vec![
        Op::SetLineCapStyle {
            cap: LineCapStyle::Butt,
        },
        Op::SetLineJoinStyle {
            join: LineJoinStyle::Miter,
        },
    ];
    for item in &page.items {
        match item {
            Item::Run(run) => pen.text(&mut operations, run),
            Item::Rule {
                from,
                to,
                thick,
                ink,
                dashed,
            } => pen.stroke(&mut operations, &[*from, *to], false, *thick, *ink, *dashed),
            Item::Frame {
                rect,
                thick,
                dashed,
            } => pen.stroke(
                &mut operations,
                &corners(rect),
                true,
                *thick,
                Ink::Black,
                *dashed,
            ),
            Item::Fill { rect, ink } => pen.area(&mut operations, &corners(rect), *ink),
            Item::Shape { points, ink } => pen.area(&mut operations, points, *ink),
        }
    }
    PdfPage::new(Mm(page.paper.width()), Mm(page.paper.height()), operations)
}

fn corners(rect: &Rect) -> [Point; 4] {
    [
        (rect.left, rect.top),
        (rect.right(), rect.top),
        (rect.right(), rect.bottom()),
        (rect.left, rect.bottom()),
    ]
}

fn colour(ink: Ink) -> Color {
    Color::Greyscale(Greyscale {
        percent: match ink {
            Ink::Black => 0.0,
            Ink::White => 1.0,
        },
        icc_profile: None,
    })
}

/// Turns the page's measure from the top into PDF's from the bottom.
struct Pen {
    height: f32,
}

impl Pen {
    fn point(&self, (x, y): Point) -> PdfPoint {
        PdfPoint::new(Mm(x), Mm(self.height - y))
    }

    fn corner(&self, point: Point) -> LinePoint {
        LinePoint {
            p: self.point(point),
            bezier: false,
        }
    }

    fn text(&self, operations: &mut Vec<Op>, run: &Run) {
        operations.extend([
            Op::SetFillColor {
                col: colour(run.ink),
            },
            Op::StartTextSection,
            Op::SetTextCursor {
                pos: self.point((run.left, run.baseline)),
            },
            Op::SetFont {
                font: PdfFontHandle::External(font_id(run.style.face)),
                size: Pt(run.style.size),
            },
            Op::ShowText {
                items: vec![TextItem::Text(run.text.clone())],
            },
            Op::EndTextSection,
        ]);
    }

    fn stroke(
        &self,
        operations: &mut Vec<Op>,
        points: &[Point],
        closed: bool,
        thick: f32,
        ink: Ink,
        dashed: bool,
    ) {
        let dash = if dashed {
            LineDashPattern::new(0.0, &[3.4, 2.4])
        } else {
            LineDashPattern::solid()
        };
        operations.extend([
            Op::SetLineDashPattern { dash },
            Op::SetOutlineColor { col: colour(ink) },
            Op::SetOutlineThickness {
                pt: Pt(thick / MM_PER_PT),
            },
            Op::DrawLine {
                line: Line {
                    points: points.iter().map(|&point| self.corner(point)).collect(),
                    is_closed: closed,
                },
            },
        ]);
    }

    fn area(&self, operations: &mut Vec<Op>, points: &[Point], ink: Ink) {
        operations.extend([
            Op::SetFillColor { col: colour(ink) },
            Op::DrawPolygon {
                polygon: Polygon {
                    rings: vec![PolygonRing {
                        points: points.iter().map(|&point| self.corner(point)).collect(),
                    }],
                    mode: PaintMode::Fill,
                    winding_order: WindingOrder::NonZero,
                },
            },
        ]);
    }
}

#[cfg(test)]
#[allow(clippy::unwrap_used)]
mod tests {
    use super::*;
    use crate::sheet::block::{Align, Block};
    use crate::sheet::face::Style;
    use crate::sheet::page::Paper;
    use crate::sheet::text::Span;

    fn pages(words: &str) -> Vec<Page> {
        let faces = Faces::load().unwrap();
        let mut block = Block::new();
        for (n, face) in Face::ALL.into_iter().enumerate() {
            let spans = [Span::new(words, Style::new(face, 12.0))];
            let baseline = 10.0 + 8.0 * n as f32;
            block
                .line(&faces, &spans, (0.0, 150.0), baseline, Align::Left)
                .unwrap();
        }
        block.dashed(Rect::edges(0.0, 0.0, 150.0, 50.0), 0.5);
        block.fill(Rect::edges(0.0, 60.0, 150.0, 70.0));
        [Paper::A4, Paper::UsLetter]
            .into_iter()
            .map(|paper| {
                let mut page = Page::new(paper, "Žofie, first");
                block.place(&mut page, (20.0, 20.0));
                page
            })
            .collect()
    }

    fn written(words: &str) -> Vec<u8> {
        let particulars = Particulars {
            title: "Dose card, Thursday 8 March 2001".to_owned(),
            producer: "scruple 0.1".to_owned(),
            made: DateTime::parse_from_rfc3339("2001-03-08T14:05:00+01:00").unwrap(),
        };
        write(&Faces::load().unwrap(), &pages(words), &particulars).unwrap()
    }

    fn contains(bytes: &[u8], part: &str) -> bool {
        bytes.windows(part.len()).any(|at| at == part.as_bytes())
    }

    #[test]
    fn the_same_pages_give_the_same_bytes_and_others_do_not() {
        let once = written("0.075 mL");
        assert_eq!(once, written("0.075 mL"));
        assert_ne!(once, written("0.08 mL"));
    }

    /// Runs this very test again in two other processes and compares what they wrote.
    #[test]
    fn the_same_pages_give_the_same_bytes_in_another_process() {
        const CHILD: &str = "SCRUPLE_TEST_PRINT_DIGEST";
        let digest = hex(&Sha256::digest(written("0.075 mL")));
        if std::env::var_os(CHILD).is_some() {
            println!("digest {digest}");
            return;
        }
        for _ in 0..2 {
            let output = std::process::Command::new(std::env::current_exe().unwrap())
                .args([
                    "sheet::pdf::tests::the_same_pages_give_the_same_bytes_in_another_process",
                    "--exact",
                    "--nocapture",
                ])
                .env(CHILD, "1")
                .output()
                .unwrap();
            let said = String::from_utf8(output.stdout).unwrap();
            assert!(said.contains(&format!("digest {digest}")), "{said}");
        }
    }

    #[test]
    fn the_file_says_what_it_is_and_nothing_it_is_not() {
        let bytes = written("0.075 mL");
        assert!(bytes.starts_with(b"%PDF-1.7"));
        assert!(!contains(&bytes, "GTS_PDFX"));
        assert!(contains(&bytes, "/Lang(en)"));
        assert!(contains(&bytes, "/PrintScaling/None"));
        // 14:05 at one hour ahead is 13:05 in universal time, which the file says it is in.
        assert!(contains(&bytes, "D:20010308130500+00'00'"));
        assert!(bytes.len() < 60_000, "{} bytes", bytes.len());
    }

    #[test]
    fn all_that_is_printed_has_a_letter_shape() {
        let error = Faces::load()
            .unwrap()
            .subset(Face::Regular, &BTreeSet::from(['\u{10fffd}']))
            .unwrap_err();
        assert!(matches!(error, SheetError::MissingGlyph { .. }));
    }
}
