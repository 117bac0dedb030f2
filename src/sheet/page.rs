//! The page model: a page is a list of placed things, in millimetres from the top left corner.
//!
//! Promises: everything that is printed is in the list, in reading order, so a test can ask the
//! page what overlaps, what leaves its frame and what is struck through.
//! Does not: measure or break text, and knows nothing of PDF.

use unicode_normalization::UnicodeNormalization;

use crate::settings::PaperSize;
use crate::sheet::face::Style;

/// Points to millimetres: an inch is 72 points and 25.4 mm.
pub const MM_PER_PT: f32 = 25.4 / 72.0;

/// The width of the printed block on both papers, in millimetres.
pub const BLOCK_WIDTH: f32 = 194.0;

/// A paper that sheets are laid out for.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Paper {
    /// 210 by 297 mm (ISO 216).
    A4,
    /// 8.5 by 11 inches, 215.9 by 279.4 mm.
    UsLetter,
}

impl Paper {
    /// The paper that the keeper prints on.
    #[must_use]
    pub fn of(size: PaperSize) -> Self {
        match size {
            PaperSize::A4 => Self::A4,
            PaperSize::Letter => Self::UsLetter,
        }
    }

    /// Width of the sheet in millimetres.
    #[must_use]
    pub fn width(self) -> f32 {
        match self {
            Self::A4 => 210.0,
            Self::UsLetter => 215.9,
        }
    }

    /// Height of the sheet in millimetres.
    #[must_use]
    pub fn height(self) -> f32 {
        match self {
            Self::A4 => 297.0,
            Self::UsLetter => 279.4,
        }
    }

    /// Left edge of the printed block: it is centred, with 8 mm or more on both sides.
    #[must_use]
    pub fn block_left(self) -> f32 {
        match self {
            Self::A4 => 8.0,
            Self::UsLetter => 10.9,
        }
    }

    /// Top edge of the printed block.
    #[must_use]
    pub fn block_top(self) -> f32 {
        10.0
    }

    /// Height of the printed block: what common printers leave unprinted stays outside it.
    #[must_use]
    pub fn block_height(self) -> f32 {
        self.height() - 2.0 * self.block_top()
    }
}

/// Black or white: a sheet knows no other colour, and no grey.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Ink {
    /// Printed.
    Black,
    /// Left blank on top of black.
    White,
}

/// An upright rectangle, in millimetres.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Rect {
    /// Left edge.
    pub left: f32,
    /// Top edge.
    pub top: f32,
    /// Width, 0 or more.
    pub width: f32,
    /// Height, 0 or more.
    pub height: f32,
}

impl Rect {
    /// A rectangle from its left, top, right and bottom edges.
    #[must_use]
    pub fn edges(left: f32, top: f32, right: f32, bottom: f32) -> Self {
        Self {
            left,
            top,
            width: right - left,
            height: bottom - top,
        }
    }

    /// Right edge.
    #[must_use]
    pub fn right(&self) -> f32 {
        self.left + self.width
    }

    /// Bottom edge.
    #[must_use]
    pub fn bottom(&self) -> f32 {
        self.top + self.height
    }

    /// Whether the two share an area deeper than `slack` both ways.
    #[must_use]
    pub fn overlaps(&self, other: &Self, slack: f32) -> bool {
        self.left + slack < other.right()
            && other.left + slack < self.right()
            && self.top + slack < other.bottom()
            && other.top + slack < self.bottom()
    }

    /// Whether `other` lies inside, give or take `slack`.
    #[must_use]
    pub fn holds(&self, other: &Self, slack: f32) -> bool {
        self.left - slack <= other.left
            && self.top - slack <= other.top
            && other.right() <= self.right() + slack
            && other.bottom() <= self.bottom() + slack
    }

    /// The same rectangle elsewhere.
    #[must_use]
    pub fn moved(&self, right: f32, down: f32) -> Self {
        Self {
            left: self.left + right,
            top: self.top + down,
            ..*self
        }
    }
}

/// A point, in millimetres: from the left, from the top.
pub type Point = (f32, f32);

/// One run of text in one style on one baseline.
#[derive(Debug, Clone, PartialEq)]
pub struct Run {
    /// What it says.
    pub text: String,
    /// Face and size.
    pub style: Style,
    /// Where it starts.
    pub left: f32,
    /// The line that it stands on.
    pub baseline: f32,
    /// Its measured width.
    pub width: f32,
    /// Black, or white on black.
    pub ink: Ink,
    /// The area that it must not leave.
    pub frame: Rect,
}

impl Run {
    /// The area that its letters can blacken: up to the height of an ascender (0.78 em in Noto
    /// Sans), down to a descender (0.24 em) where a letter has one. Accents on capitals reach
    /// 0.2 em higher; the layout leaves them room, but they do not count here.
    #[must_use]
    pub fn inked(&self) -> Rect {
        let em = self.style.size * MM_PER_PT;
        let tall = self
            .text
            .chars()
            .any(|c| !"acegmnopqrsuvwxyz.,:;·".contains(c));
        let deep = self.text.chars().any(is_deep);
        let text = self.text.trim_end();
        let share = if self.text.is_empty() {
            0.0
        } else {
            // A trailing space is measured but prints nothing.
            let spaces = (self.text.chars().count() - text.chars().count()) as f32;
            spaces * 0.26 * em
        };
        Rect::edges(
            self.left,
            self.baseline - if tall { 0.78 } else { 0.56 } * em,
            self.left + (self.width - share).max(0.0),
            self.baseline + if deep { 0.24 } else { 0.02 } * em,
        )
    }
}

/// Whether a character reaches below the line it stands on; of letters that are not plain Latin
/// with marks above, it is taken for granted.
fn is_deep(character: char) -> bool {
    const DEEP: &str = "gjpqyJQ,;()[]{}|_/@$„‚";
    let mut parts = std::iter::once(character).nfd();
    let Some(letter) = parts.next() else {
        return false;
    };
    let below = |mark: char| matches!(mark, '\u{323}'..='\u{333}');
    let plain = letter.is_ascii() || !letter.is_alphabetic();
    DEEP.contains(letter) || !plain || parts.any(below)
}

/// One placed thing.
#[derive(Debug, Clone, PartialEq)]
pub enum Item {
    /// Text.
    Run(Run),
    /// A straight line.
    Rule {
        /// One end.
        from: Point,
        /// The other end.
        to: Point,
        /// Thickness.
        thick: f32,
        /// Black, or white on black.
        ink: Ink,
        /// Broken into dashes.
        dashed: bool,
    },
    /// An empty box, drawn on its edge.
    Frame {
        /// Its edge.
        rect: Rect,
        /// Thickness of the edge.
        thick: f32,
        /// Broken into dashes.
        dashed: bool,
    },
    /// A filled box.
    Fill {
        /// Its area.
        rect: Rect,
        /// Black or white.
        ink: Ink,
    },
    /// A filled polygon.
    Shape {
        /// Its corners, in order.
        points: Vec<Point>,
        /// Black or white.
        ink: Ink,
    },
}

impl Item {
    /// The same thing elsewhere.
    #[must_use]
    pub fn moved(&self, right: f32, down: f32) -> Self {
        let shift = |(x, y): Point| (x + right, y + down);
        match self {
            Self::Run(run) => Self::Run(Run {
                left: run.left + right,
                baseline: run.baseline + down,
                frame: run.frame.moved(right, down),
                ..run.clone()
            }),
            Self::Rule {
                from,
                to,
                thick,
                ink,
                dashed,
            } => Self::Rule {
                from: shift(*from),
                to: shift(*to),
                thick: *thick,
                ink: *ink,
                dashed: *dashed,
            },
            Self::Frame {
                rect,
                thick,
                dashed,
            } => Self::Frame {
                rect: rect.moved(right, down),
                thick: *thick,
                dashed: *dashed,
            },
            Self::Fill { rect, ink } => Self::Fill {
                rect: rect.moved(right, down),
                ink: *ink,
            },
            Self::Shape { points, ink } => Self::Shape {
                points: points.iter().copied().map(shift).collect(),
                ink: *ink,
            },
        }
    }

    /// The thin areas that this thing's edges blacken; nothing for text and filled areas.
    fn edges(&self) -> Vec<Rect> {
        let line = |(x1, y1): Point, (x2, y2): Point, thick: f32| {
            Rect::edges(
                x1.min(x2) - thick / 2.0,
                y1.min(y2) - thick / 2.0,
                x1.max(x2) + thick / 2.0,
                y1.max(y2) + thick / 2.0,
            )
        };
        match self {
            Self::Rule {
                from, to, thick, ..
            } if from.0 == to.0 || from.1 == to.1 => vec![line(*from, *to, *thick)],
            Self::Frame { rect, thick, .. } => {
                let (l, t, r, b) = (rect.left, rect.top, rect.right(), rect.bottom());
                vec![
                    line((l, t), (r, t), *thick),
                    line((r, t), (r, b), *thick),
                    line((r, b), (l, b), *thick),
                    line((l, b), (l, t), *thick),
                ]
            }
            _ => Vec::new(),
        }
    }
}

/// Something on a page that a reader could misread.
#[derive(Debug, Clone, PartialEq)]
pub enum Fault {
    /// Two texts on top of each other.
    Overlap(String, String),
    /// A text that leaves the area it belongs to.
    Stray(String),
    /// A text with a line or the edge of a box through it.
    Struck(String),
    /// Black text on a black area, or white text beside one.
    Unseen(String),
}

/// A place that a bookmark leads to.
#[derive(Debug, Clone, PartialEq)]
pub struct Bookmark {
    /// Its name in the list of bookmarks.
    pub name: String,
    /// How far down the page it is, in millimetres.
    pub top: f32,
}

/// A stretch of a page's things, for a reader that hears the page instead of seeing it.
#[derive(Debug, Clone, PartialEq)]
pub struct Stretch {
    /// The place of its first thing among the page's; it ends where the next begins.
    pub from: usize,
    /// What a drawing shows, in words; none for text.
    pub drawing: Option<String>,
}

/// One printed page.
#[derive(Debug, Clone, PartialEq)]
pub struct Page {
    /// Its paper.
    pub paper: Paper,
    /// What it is called where something is said about it.
    pub name: String,
    /// The places on it that bookmarks lead to, from the top down.
    pub bookmarks: Vec<Bookmark>,
    /// What stands on it, in reading order, in millimetres from the paper's top left corner.
    pub items: Vec<Item>,
    /// The parts that stand on it, in reading order, each in its stretches of text and drawing;
    /// together they hold all the things.
    pub parts: Vec<Vec<Stretch>>,
}

impl Page {
    /// An empty page.
    #[must_use]
    pub fn new(paper: Paper, name: &str) -> Self {
        Self {
            paper,
            name: name.to_owned(),
            bookmarks: Vec::new(),
            items: Vec::new(),
            parts: Vec::new(),
        }
    }

    /// The texts, in reading order.
    pub fn runs(&self) -> impl Iterator<Item = &Run> {
        self.items.iter().filter_map(|item| match item {
            Item::Run(run) => Some(run),
            _ => None,
        })
    }

    /// All the words of the page in reading order, one space between runs.
    #[must_use]
    pub fn words(&self) -> String {
        let texts: Vec<&str> = self.runs().map(|run| run.text.trim()).collect();
        texts.join(" ")
    }

    /// Everything on the page that a reader could misread; empty for a good page.
    #[must_use]
    pub fn faults(&self) -> Vec<Fault> {
        const SLACK: f32 = 0.05;
        let runs: Vec<(&Run, Rect)> = self.runs().map(|run| (run, run.inked())).collect();
        let paper = Rect::edges(0.0, 0.0, self.paper.width(), self.paper.height());
        let edges: Vec<Rect> = self.items.iter().flat_map(Item::edges).collect();
        let mut faults = Vec::new();
        for (at, (run, inked)) in runs.iter().enumerate() {
            if !run.frame.holds(inked, SLACK) || !paper.holds(inked, 0.0) {
                faults.push(Fault::Stray(run.text.clone()));
            }
            for (other, area) in runs.iter().skip(at + 1) {
                if inked.overlaps(area, SLACK) {
                    faults.push(Fault::Overlap(run.text.clone(), other.text.clone()));
                }
            }
            if run.ink == Ink::Black && edges.iter().any(|edge| edge.overlaps(inked, SLACK)) {
                faults.push(Fault::Struck(run.text.clone()));
            }
            if !self.seen(run, inked) {
                faults.push(Fault::Unseen(run.text.clone()));
            }
        }
        faults
    }

    /// Whether a text stands on the ground that shows it.
    fn seen(&self, run: &Run, inked: &Rect) -> bool {
        let mut black = self.items.iter().filter_map(|item| match item {
            Item::Fill {
                rect,
                ink: Ink::Black,
            } => Some(rect),
            _ => None,
        });
        match run.ink {
            Ink::Black => !black.any(|area| area.overlaps(inked, 0.05)),
            Ink::White => black.any(|area| area.holds(inked, 0.05)),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::sheet::face::Face;

    fn run(text: &str, left: f32, baseline: f32, width: f32) -> Item {
        Item::Run(Run {
            text: text.to_owned(),
            style: Style::new(Face::Regular, 10.0),
            left,
            baseline,
            width,
            ink: Ink::Black,
            frame: Rect::edges(0.0, 0.0, 100.0, 100.0),
        })
    }

    fn page(items: Vec<Item>) -> Page {
        Page {
            items,
            ..Page::new(Paper::A4, "test")
        }
    }

    #[test]
    fn a_good_page_has_no_faults() {
        let page = page(vec![
            run("one", 10.0, 20.0, 8.0),
            run("two", 20.0, 20.0, 8.0),
            run("three", 10.0, 25.0, 10.0),
        ]);
        assert_eq!(page.faults(), []);
        assert_eq!(page.words(), "one two three");
    }

    #[test]
    fn overlapping_texts_are_found() {
        let page = page(vec![
            run("one", 10.0, 20.0, 8.0),
            run("two", 17.0, 21.0, 8.0),
        ]);
        assert_eq!(page.faults(), [Fault::Overlap("one".into(), "two".into())]);
    }

    #[test]
    fn a_text_outside_its_frame_or_the_paper_is_found() {
        let right = page(vec![run("one", 95.0, 20.0, 8.0)]);
        assert_eq!(right.faults(), [Fault::Stray("one".into())]);
        let top = page(vec![run("one", 10.0, 1.0, 8.0)]);
        assert_eq!(top.faults(), [Fault::Stray("one".into())]);
    }

    #[test]
    fn a_line_through_a_text_is_found() {
        let rule = Item::Rule {
            from: (0.0, 19.0),
            to: (50.0, 19.0),
            thick: 0.3,
            ink: Ink::Black,
            dashed: false,
        };
        let page = page(vec![rule, run("one", 10.0, 20.0, 8.0)]);
        assert_eq!(page.faults(), [Fault::Struck("one".into())]);
    }

    #[test]
    fn black_on_black_is_found() {
        let fill = Item::Fill {
            rect: Rect::edges(0.0, 0.0, 50.0, 50.0),
            ink: Ink::Black,
        };
        let page = page(vec![fill, run("one", 10.0, 20.0, 8.0)]);
        assert_eq!(page.faults(), [Fault::Unseen("one".into())]);
    }

    // ISO 216 gives A4 as 210 by 297 mm; US Letter is 8.5 by 11 inches of 25.4 mm.
    #[test]
    fn the_block_lies_inside_both_papers_with_room_for_the_printers_margin() {
        for paper in [Paper::A4, Paper::UsLetter] {
            let right = paper.width() - paper.block_left() - BLOCK_WIDTH;
            let bottom = paper.height() - paper.block_top() - paper.block_height();
            assert!((right - paper.block_left()).abs() < 0.2, "{right}");
            assert!(bottom >= 9.9, "{bottom}");
        }
        assert!((Paper::UsLetter.width() - 8.5 * 25.4).abs() < 0.001);
        assert!((Paper::UsLetter.height() - 11.0 * 25.4).abs() < 0.001);
    }
}
