//! Pages that the program writes, read back by a reader that shares no code with the writer: the
//! letters, the words of whole cards, and the lines on the syringe counted in pixels.

#![allow(
    clippy::unwrap_used,
    clippy::panic,
    clippy::cast_possible_truncation,
    clippy::cast_sign_loss,
    clippy::cast_precision_loss,
    reason = "a test may stop at once, and pixels are few"
)]

#[path = "paper/room.rs"]
mod room;

mod readers;

use chrono::DateTime;
use readers::notation::notation_faults;
use readers::pdf::{Pixels, pdf_pixels, pdf_text};
use scruple::notation::Notation;
use scruple::quantity::Volume;
use scruple::rack::{Needle, PrintedScale, Syringe, Use};
use scruple::settings::PaperSize;
use scruple::sheet::barrel::{Scale, draw};
use scruple::sheet::block::{Align, Block};
use scruple::sheet::card::from_round::facts;
use scruple::sheet::card::{of_round, pages};
use scruple::sheet::face::{Face, Faces, Style};
use scruple::sheet::page::{Page, Paper};
use scruple::sheet::pdf::{Particulars, write};
use scruple::sheet::text::Span;

fn written(faces: &Faces, page: Page) -> Vec<u8> {
    let particulars = Particulars {
        title: "Test".to_owned(),
        producer: "test".to_owned(),
        made: DateTime::parse_from_rfc3339("2001-03-08T07:30:00Z").unwrap(),
    };
    write(faces, &[page], &particulars).unwrap()
}

/// Letters of the languages that are written in Latin, Greek and Cyrillic, and the signs that
/// sheets use.
const LETTERS: [&str; 11] = [
    "ABCDEFGHIJKLMNOPQRSTUVWXYZ abcdefghijklmnopqrstuvwxyz",
    "0123456789 0.05 mL, 10,000 units; 5 % (half) [see] 1:1,000",
    "ÀÁÂÃÄÅÆÇÈÉÊËÌÍÎÏÐÑÒÓÔÕÖØÙÚÛÜÝÞß",
    "àáâãäåæçèéêëìíîïðñòóôõöøùúûüýþÿ",
    "ĀāĂăĄąĆćĈĉĊċČčĎďĐđĒēĔĕĖėĘęĚěĜĝĞğĠġĢģ",
    "ĤĥĦħĨĩĪīĮįİıĴĵĶķĹĺĻļĽľŁłŃńŅņŇňŐőŒœŔŕ",
    "ŘřŚśŜŝŞşŠšŢţŤťŦŧŨũŪūŬŭŮůŰűŲųŴŵŶŷŸŹźŻżŽž",
    "ΑΒΓΔΕΖΗΘΙΚΛΜΝΞΟΠΡΣΤΥΦΧΨΩ άέήίόύώϊϋΐΰ αβγδεζηθικλμνξοπρσςτυφχψω",
    "АБВГДЕЖЗИЙКЛМНОПРСТУФХЦЧШЩЪЫЬЭЮЯ Ёё Ґґ Єє Її Ђђ Љљ Њњ Ћћ Џџ",
    "абвгдежзийклмнопрстуфхцчшщъыьэюя ABC ΑΒΓ АБВ",
    "“quoted” ‘words’ vet’s · × – — ½ ¼ ¾ ° ≥ ≤",
];

#[test]
fn every_letter_that_is_printed_can_be_read_back() {
    let faces = Faces::load().unwrap();
    for face in Face::ALL {
        let style = Style { face, size: 9.0 };
        let mut block = Block::new();
        let mut baseline = 20.0;
        for letters in LETTERS {
            let spans = [Span::new(letters, style)];
            let area = (10.0, 190.0);
            block
                .line(&faces, &spans, area, baseline, Align::Left)
                .unwrap();
            baseline += 6.0;
        }
        let mut page = Page::new(Paper::A4, "Letters");
        block.place(&mut page, (0.0, 0.0));
        let read = pdf_text(&written(&faces, page));
        let lines: Vec<&str> = read.iter().flat_map(|page| page.lines()).collect();
        assert_eq!(lines, LETTERS, "{}", face.name());
    }
}

/// Without spaces: where a word ends is judged by the reader from the gaps between letters.
fn squeezed(words: &str) -> String {
    words.split_whitespace().collect()
}

#[test]
fn the_words_of_a_card_are_read_back_in_order_and_none_can_be_misread() {
    for paper in [PaperSize::A4, PaperSize::Letter] {
        for ledger in [room::busy(paper), room::quiet(paper)] {
            let round = room::round(&ledger);
            let made = round.now.with_timezone(&round.zone).fixed_offset();
            let pages = pages(&facts(&round, made), Paper::of(paper)).unwrap();
            let read = pdf_text(&of_round(&round, paper).unwrap());
            assert_eq!(read.len(), pages.len());
            for (page, text) in pages.iter().zip(&read) {
                assert_eq!(squeezed(text), squeezed(&page.words()), "{}", page.name);
                assert_eq!(notation_faults(text), Vec::<String>::new());
            }
        }
    }
}

/// 210 by 297 mm and 8.5 by 11 inches, at 72 dots to the inch.
#[test]
fn a_card_is_as_large_as_its_paper() {
    for (paper, size) in [(PaperSize::A4, (595, 842)), (PaperSize::Letter, (612, 792))] {
        let ledger = room::quiet(paper);
        let card = of_round(&room::round(&ledger), paper).unwrap();
        let pixels = pdf_pixels(&card, 0, 72.0);
        assert!(pixels.width.abs_diff(size.0) <= 1, "{}", pixels.width);
        assert!(pixels.height.abs_diff(size.1) <= 1, "{}", pixels.height);
    }
}

const DOTS_PER_INCH: f32 = 508.0;
const DOTS_PER_MM: f32 = DOTS_PER_INCH / 25.4;

/// Where the drawing column of `sheet::barrel` has its parts, in millimetres from the block's
/// left edge: over the small lines of the barrel, over its bare wall side, and between the lines
/// and the numbers of the close-up.
const OVER_LINES: f32 = 118.0;
const BESIDE_LINES: f32 = 123.0;
const CLOSE_BESIDE_LINES: f32 = 97.2;
/// How far below a block's top the level of the mark stands here.
const LEVEL: f32 = 45.0;

/// A drawn syringe, seen as pixels.
struct Seen<'a> {
    pixels: &'a Pixels,
    left: f32,
    top: f32,
}

impl Seen<'_> {
    /// The black stretches down a column, each from where to where, in millimetres from the
    /// block's top.
    fn stretches(&self, column: f32) -> Vec<(f32, f32)> {
        let x = ((self.left + column) * DOTS_PER_MM).round() as usize;
        let first = (self.top * DOTS_PER_MM).round() as usize;
        let last = ((self.top + 85.0) * DOTS_PER_MM).round() as usize;
        let last = last.min(self.pixels.height);
        let mm = |y: usize| y as f32 / DOTS_PER_MM - self.top;
        let mut stretches = Vec::new();
        let mut began = None;
        for y in first..last {
            match (self.pixels.ink(x, y) > 127, began) {
                (true, None) => began = Some(y),
                (false, Some(from)) => {
                    stretches.push((mm(from), mm(y)));
                    began = None;
                }
                _ => {}
            }
        }
        stretches
    }
}

fn near(a: f32, b: f32) -> bool {
    (a - b).abs() < 1.5 / DOTS_PER_MM
}

/// A barrel of so many lines of a hundredth of a millilitre, numbered at every tenth.
fn scale(lines: u32, mark: u32) -> Scale {
    let read = |text: &str| Volume::read(text).unwrap();
    let capacity = match lines {
        100 => "1 mL".to_owned(),
        lines => format!("0.{} mL", lines / 10),
    };
    let syringe = Syringe::new(
        read(&capacity),
        read("0.01 mL"),
        Use::Injection,
        Needle::Fixed,
        PrintedScale::Millilitres,
        None,
        Some(10),
    );
    Scale::of(&syringe.unwrap(), mark).unwrap()
}

/// Twelve syringes on one page: lines, and the mark. The one of 20 lines needs no close-up.
const DRAWN: [(u32, u32); 12] = [
    (60, 1),
    (60, 15),
    (60, 20),
    (60, 59),
    (100, 7),
    (100, 50),
    (100, 99),
    (100, 100),
    (50, 10),
    (20, 7),
    (30, 29),
    (80, 64),
];

fn drawn() -> Pixels {
    let faces = Faces::load().unwrap();
    let mut page = Page::new(Paper::A4, "Syringes");
    for (at, (lines, mark)) in DRAWN.into_iter().enumerate() {
        let mut block = Block::new();
        draw(&scale(lines, mark), &faces, &mut block, LEVEL, 86.0).unwrap();
        block.place(&mut page, corner(at));
    }
    pdf_pixels(&written(&faces, page), 0, DOTS_PER_INCH)
}

fn corner(at: usize) -> (f32, f32) {
    let (column, row) = ((at % 4) as f32, (at / 4) as f32);
    (-82.0 + 50.0 * column, 5.0 + 95.0 * row)
}

/// The seal is the long black stretch beside the lines; lines are counted above it, as a person
/// counts them, and the seal's top edge stands one step below the last.
#[test]
fn the_lines_down_to_the_seal_are_as_many_as_the_mark_says() {
    let pixels = drawn();
    for (at, (lines, mark)) in DRAWN.into_iter().enumerate() {
        let (left, top) = corner(at);
        let seen = Seen {
            pixels: &pixels,
            left,
            top,
        };
        // The frame's top comes first; the seal is more than 1.5 mm of black, or what is left of
        // it at the very end of the barrel.
        let beside = seen.stretches(BESIDE_LINES);
        let seal = beside.iter().find(|(from, to)| to - from > 1.5);
        let &(edge, _) = seal.unwrap_or_else(|| panic!("no seal at {mark} of {lines}"));

        // What stands over the lines: the frame, then line 0, 1, 2 and so on.
        let over: Vec<f32> = seen
            .stretches(OVER_LINES)
            .iter()
            .skip(1)
            .map(|(from, to)| (from + to) / 2.0)
            .take_while(|line| *line < edge - 0.2)
            .collect();
        assert_eq!(over.len(), mark as usize, "lines above {mark} of {lines}");
        let zero = over.first().copied().unwrap();
        let step = (edge - zero) / mark as f32;
        for (line, height) in (0_u8..).zip(&over) {
            let should = zero + f32::from(line) * step;
            assert!(near(*height, should), "line {line} of {mark} of {lines}");
        }
    }
}

/// In the close-up the seal's edge is level with the figure.
#[test]
fn the_close_up_is_level_with_the_figure() {
    let pixels = drawn();
    let crowded = |&(_, (lines, _)): &(usize, (u32, u32))| lines != 20;
    for (at, (lines, mark)) in DRAWN.into_iter().enumerate().filter(crowded) {
        let (left, top) = corner(at);
        let seen = Seen {
            pixels: &pixels,
            left,
            top,
        };
        let stretches = seen.stretches(CLOSE_BESIDE_LINES);
        let level = stretches.iter().any(|(from, _)| near(*from, LEVEL));
        assert!(level, "{mark} of {lines}: {stretches:?}");
    }
}
