//! Every kind of sheet, drawn by a renderer that shares no code with the writer: what the page
//! model says is what the paper shows, and it is still read as a black and white copy.

#![allow(
    clippy::indexing_slicing,
    clippy::unwrap_used,
    clippy::panic,
    clippy::cast_possible_truncation,
    clippy::cast_sign_loss,
    clippy::cast_precision_loss,
    reason = "a test may stop at once, and pixels are few"
)]

#[path = "paper/all.rs"]
mod all;
#[path = "paper/room.rs"]
mod room;

mod readers;

use all::{Sheet, sheets};
use readers::notation::notation_faults;
use readers::pdf::{Pixels, pdf_drawn, pdf_pixels};
use scruple::settings::PaperSize;
use scruple::sheet::page::{Ink, Item, MM_PER_PT, Page, Rect};

const PAPERS: [PaperSize; 2] = [PaperSize::A4, PaperSize::Letter];

fn every_sheet(animals: usize) -> impl Iterator<Item = Sheet> {
    PAPERS.into_iter().flat_map(move |paper| {
        let ledger = room::busy(paper);
        sheets(&ledger, paper, animals)
    })
}

/// Drawing is slow without optimisation: the first page of a sheet and the first of the doses, or
/// with `SCRUPLE_PIXELS=all` every page.
fn drawn_pages(sheet: &Sheet) -> Vec<usize> {
    let all = std::env::var("SCRUPLE_PIXELS").is_ok_and(|wish| wish == "all");
    let pages = (0..sheet.pages.len()).collect::<Vec<usize>>();
    let first = |name: &str| sheet.pages.iter().position(|page| page.name.contains(name));
    match first("Madeup") {
        _ if all => pages,
        Some(doses) => vec![0, doses],
        None => vec![0],
    }
}

/// The text is taken out in the order of the page model: what a screen reader says.
#[test]
fn every_sheet_is_read_back_as_it_was_laid_out() {
    for sheet in every_sheet(6) {
        let read = pdf_drawn(&sheet.bytes);
        assert_eq!(read.len(), sheet.pages.len(), "{}", sheet.name);
        for (page, text) in sheet.pages.iter().zip(&read) {
            let words = page.words();
            let squeezed: String = words.split_whitespace().collect();
            assert_eq!(*text, squeezed, "{}: {}", sheet.name, page.name);
            // A book code is letters and digits by chance.
            let code = words.find("Book code ").unwrap();
            let notation = format!("{} {}", &words[..code], &words[code + 19..]);
            assert_eq!(
                notation_faults(&notation),
                Vec::<String>::new(),
                "{}",
                sheet.name
            );
        }
    }
}

/// The pixels that an area covers.
fn covered(area: &Rect, dots_per_mm: f32, pixels: &Pixels) -> impl Iterator<Item = (usize, usize)> {
    let clip = |at: f32, most: usize| ((at * dots_per_mm).max(0.0) as usize).min(most);
    let (left, right) = (
        clip(area.left, pixels.width),
        clip(area.right() + 1.0 / dots_per_mm, pixels.width),
    );
    let (top, bottom) = (
        clip(area.top, pixels.height),
        clip(area.bottom() + 1.0 / dots_per_mm, pixels.height),
    );
    (top..bottom).flat_map(move |y| (left..right).map(move |x| (x, y)))
}

/// The areas that the page model says are printed on, each with what it may reach beyond.
fn printed(page: &Page) -> Vec<Rect> {
    const EDGE: f32 = 0.3;
    let around = |(x1, y1): (f32, f32), (x2, y2): (f32, f32), by: f32| {
        Rect::edges(
            x1.min(x2) - by,
            y1.min(y2) - by,
            x1.max(x2) + by,
            y1.max(y2) + by,
        )
    };
    let area = |item: &Item| match item {
        Item::Run(run) => {
            // Accents on capitals and the tails of slanted letters.
            let (inked, em) = (run.inked(), run.style.size * MM_PER_PT);
            Rect::edges(
                inked.left - 0.12 * em - EDGE,
                inked.top - 0.28 * em,
                inked.right() + 0.12 * em + EDGE,
                inked.bottom() + EDGE,
            )
        }
        Item::Rule {
            from, to, thick, ..
        } => around(*from, *to, thick / 2.0 + EDGE),
        Item::Frame { rect, .. } | Item::Fill { rect, .. } => {
            around((rect.left, rect.top), (rect.right(), rect.bottom()), 1.0)
        }
        Item::Shape { points, .. } => {
            let x = || points.iter().map(|point| point.0);
            let y = || points.iter().map(|point| point.1);
            let least = |each: &mut dyn Iterator<Item = f32>| each.fold(f32::MAX, f32::min);
            let most = |each: &mut dyn Iterator<Item = f32>| each.fold(f32::MIN, f32::max);
            around(
                (least(&mut x()), least(&mut y())),
                (most(&mut x()), most(&mut y())),
                EDGE,
            )
        }
    };
    page.items.iter().map(area).collect()
}

/// A frame is printed on its edge alone: what stands inside it must be in the model too.
fn outside_frames(page: &Page) -> Vec<Rect> {
    let inside = page.items.iter().filter_map(|item| match item {
        Item::Frame { rect, thick, .. } => {
            let by = thick / 2.0 + 0.3;
            Some(Rect::edges(
                rect.left + by,
                rect.top + by,
                rect.right() - by,
                rect.bottom() - by,
            ))
        }
        _ => None,
    });
    inside.collect()
}

/// Nothing is printed where the model has nothing, and nothing in a colour, and every text where it says: so what was
/// measured in the model (no text on another, none out of its frame) holds on paper.
#[test]
fn the_paper_is_printed_where_the_model_says_and_nowhere_else() {
    const DOTS_PER_INCH: f32 = 120.0;
    let dots_per_mm = DOTS_PER_INCH / 25.4;
    // The papers take turns but for the card, which is drawn for both.
    for (at, sheet) in every_sheet(1).enumerate() {
        if at % 2 == 1 && sheet.name != "dose card" {
            continue;
        }
        for number in drawn_pages(&sheet) {
            let page = &sheet.pages[number];
            assert_eq!(page.faults(), [], "{}", sheet.name);
            let pixels = pdf_pixels(&sheet.bytes, number, DOTS_PER_INCH);
            let mut allowed = vec![false; pixels.width * pixels.height];
            let mut mark = |area: &Rect, as_allowed: bool| {
                for (x, y) in covered(area, dots_per_mm, &pixels) {
                    allowed[y * pixels.width + x] = as_allowed;
                }
            };
            // First the frames with what is in them, then out again what is in them, then the rest.
            let frames = page
                .items
                .iter()
                .zip(printed(page))
                .filter(|(item, _)| matches!(item, Item::Frame { .. }));
            for (_, area) in frames {
                mark(&area, true);
            }
            for area in outside_frames(page) {
                mark(&area, false);
            }
            let others = page
                .items
                .iter()
                .zip(printed(page))
                .filter(|(item, _)| !matches!(item, Item::Frame { .. }));
            for (_, area) in others {
                mark(&area, true);
            }
            // A frame's edge inside another frame.
            for item in &page.items {
                if let Item::Frame { rect, thick, .. } = item {
                    let by = thick / 2.0 + 0.3;
                    for edge in [
                        Rect::edges(
                            rect.left - by,
                            rect.top - by,
                            rect.right() + by,
                            rect.top + by,
                        ),
                        Rect::edges(
                            rect.left - by,
                            rect.bottom() - by,
                            rect.right() + by,
                            rect.bottom() + by,
                        ),
                        Rect::edges(
                            rect.left - by,
                            rect.top - by,
                            rect.left + by,
                            rect.bottom() + by,
                        ),
                        Rect::edges(
                            rect.right() - by,
                            rect.top - by,
                            rect.right() + by,
                            rect.bottom() + by,
                        ),
                    ] {
                        mark(&edge, true);
                    }
                }
            }
            for y in 0..pixels.height {
                for x in 0..pixels.width {
                    let [r, g, b] = pixels.at(x, y);
                    assert!(r == g && g == b, "{}: a colour", sheet.name);
                    let stray = pixels.ink(x, y) > 40 && !allowed[y * pixels.width + x];
                    assert!(
                        !stray,
                        "{}, page {}: ink at {:.1}, {:.1} mm",
                        sheet.name,
                        number + 1,
                        x as f32 / dots_per_mm,
                        y as f32 / dots_per_mm
                    );
                }
            }
            for run in page
                .runs()
                .filter(|run| run.text.chars().any(char::is_alphanumeric))
            {
                let (mut dark, mut all) = (0.0_f32, 0.0_f32);
                for (x, y) in covered(&run.inked(), dots_per_mm, &pixels) {
                    dark += f32::from(pixels.ink(x, y)) / 255.0;
                    all += 1.0;
                }
                let share = match run.ink {
                    Ink::Black => dark / all,
                    Ink::White => 1.0 - dark / all,
                };
                // Letters cover between a twentieth and three fifths of the box around them.
                assert!(
                    (0.05..0.6).contains(&share),
                    "{}, page {}: {:?} covers {share}",
                    sheet.name,
                    number + 1,
                    run.text
                );
            }
        }
    }
}

/// A copier or a fax makes each dot black or white; at 204 dots to the inch (the finer of the two
/// resolutions of ITU-T T.4, from memory) no text may grow fat or fade, wherever the copier draws
/// the line.
#[test]
fn every_text_is_still_there_in_pure_black_and_white() {
    const DOTS_PER_INCH: f32 = 204.0;
    let dots_per_mm = DOTS_PER_INCH / 25.4;
    const THRESHOLDS: [u8; 3] = [96, 128, 160];
    for sheet in every_sheet(1).take(5) {
        for number in drawn_pages(&sheet) {
            let pixels = pdf_pixels(&sheet.bytes, number, DOTS_PER_INCH);
            for run in sheet.pages[number].runs() {
                let (mut grey, mut all) = (0.0_f32, 0.0_f32);
                let mut black = [0.0_f32; 3];
                for (x, y) in covered(&run.inked(), dots_per_mm, &pixels) {
                    let ink = pixels.ink(x, y);
                    grey += f32::from(ink) / 255.0;
                    all += 1.0;
                    for (sum, threshold) in black.iter_mut().zip(THRESHOLDS) {
                        *sum += f32::from(u8::from(ink > threshold));
                    }
                }
                for (black, threshold) in black.into_iter().zip(THRESHOLDS) {
                    let kept = match run.ink {
                        Ink::Black => black / grey,
                        Ink::White => (all - black) / (all - grey),
                    };
                    assert!(
                        (0.6..1.5).contains(&kept),
                        "{}, page {}: {:?} keeps {kept} at {threshold}",
                        sheet.name,
                        number + 1,
                        run.text
                    );
                }
            }
        }
    }
}
