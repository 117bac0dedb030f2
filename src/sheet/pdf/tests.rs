//! What a file says, keeps and repeats.
#![allow(clippy::unwrap_used, clippy::indexing_slicing)]

use super::{Particulars, write};
use crate::sheet::SheetError;
use crate::sheet::block::{Align, Block};
use crate::sheet::face::{Face, Faces, Style};
use crate::sheet::page::{Bookmark, Page, Paper, Rect};
use crate::sheet::text::Span;
use chrono::DateTime;
use flate2::read::ZlibDecoder;
use sha2::{Digest, Sha256};
use std::io::Read;

fn hex(bytes: &[u8]) -> String {
    bytes.iter().map(|byte| format!("{byte:02x}")).collect()
}

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
    let from = block.items.len();
    block.dashed(Rect::edges(0.0, 0.0, 150.0, 50.0), 0.5);
    block.fill(Rect::edges(0.0, 60.0, 150.0, 70.0));
    block.is_drawing(from, "Two boxes");
    [Paper::A4, Paper::UsLetter]
        .into_iter()
        .map(|paper| {
            let mut page = Page::new(paper, "Žofie, first");
            block.place(&mut page, (20.0, 20.0));
            page.bookmarks.push(Bookmark {
                name: "Žofie, first".to_owned(),
                top: 20.0,
            });
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

/// How often a text is said whole: in UTF-16 after its mark (ISO 32000-1, 7.9.2.2), as hex.
fn said(bytes: &[u8], text: &str) -> usize {
    let text: Vec<u8> = std::iter::once(0xfeff)
        .chain(text.encode_utf16())
        .flat_map(u16::to_be_bytes)
        .collect();
    String::from_utf8_lossy(bytes)
        .to_uppercase()
        .matches(&format!("<{}>", hex(&text).to_uppercase()))
        .count()
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
    // No label of an archive or print standard that nobody has checked the file against.
    for label in ["GTS_PDFX", "pdfaid", "pdfuaid", "pdfxid", "OutputIntent"] {
        assert!(!contains(&bytes, label), "{label}");
    }
    assert!(contains(&bytes, "/Lang(en)"));
    assert!(contains(&bytes, "/PrintScaling/None"));
    assert!(contains(&bytes, "/DisplayDocTitle true"));
    assert_eq!(said(&bytes, "Dose card, Thursday 8 March 2001"), 1);
    // Once as what made the pages and once as what wrote the file.
    assert_eq!(said(&bytes, "scruple 0.1"), 2);
    // 14:05 at one hour ahead is 13:05 in universal time, which the file says it is in.
    assert!(contains(&bytes, "/CreationDate(D:20010308130500+00'00')"));
    // Only the letters used: the three faces whole are some 600 kB.
    assert!(bytes.len() < 20_000, "{} bytes", bytes.len());
}

/// A bookmark 20 mm from the top of an A4 page stands 277 mm, 785.2 points, from its foot; of a
/// Letter page 259.4 mm, 735.31 points.
#[test]
fn a_bookmark_leads_to_its_place() {
    let bytes = written("0.075 mL");
    assert!(contains(&bytes, "/PageMode/UseOutlines"));
    assert_eq!(said(&bytes, "Žofie, first"), 2);
    for place in ["/XYZ 0 785.2 0]", "/XYZ 0 735.31 0]"] {
        assert!(contains(&bytes, place), "{place}");
    }
}

/// What is drawn on each page of a file, without its spaces.
fn drawn(bytes: &[u8]) -> Vec<String> {
    let mut drawn = Vec::new();
    let starts = (0..bytes.len()).filter(|at| bytes[*at..].starts_with(b"stream\n"));
    for start in starts {
        let mut text = String::new();
        let read = ZlibDecoder::new(&bytes[start + 7..]).read_to_string(&mut text);
        if read.is_ok() && text.contains("BDC") {
            drawn.push(text.split_whitespace().collect());
        }
    }
    drawn
}

/// Text and drawing of each page are marked apart, and stand in the file's tree with the words for
/// the drawing; all that is drawn is marked.
#[test]
fn a_reader_that_hears_the_page_is_told_what_is_text_and_what_a_drawing_shows() {
    let bytes = written("0.075 mL");
    assert!(contains(&bytes, "/MarkInfo<</Marked true>>"));
    assert!(contains(&bytes, "/StructTreeRoot "));
    let text = String::from_utf8_lossy(&bytes).into_owned();
    let count = |part: &str| text.matches(part).count();
    for (part, times) in [
        ("/S/Document", 1),
        ("/S/Sect", 2),
        ("/S/Figure", 2),
        ("/S/P/P", 2),
        ("/Alt(Two boxes)", 2),
        ("/StructParents 0", 1),
        ("/StructParents 1", 1),
    ] {
        assert_eq!(count(part), times, "{part}");
    }
    let pages = drawn(&bytes);
    assert_eq!(pages.len(), 2);
    for page in pages {
        let at = |part: &str| {
            page.find(part)
                .unwrap_or_else(|| unreachable!("{part}: {page}"))
        };
        let (begin, amid) = (at("/P<</MCID0>>BDC"), at("EMC/Figure<</MCID1>>BDC"));
        assert!(
            begin < at("Tj") && page.rfind("Tj").unwrap() < amid,
            "{page}"
        );
        assert!(amid < at("re") || amid < at("m"), "{page}");
        assert!(page.ends_with("EMC"), "{page}");
    }
}

/// Pages are finished some at a time: every page of a long file has its own words, and letters that
/// come late are known to pages that came early.
#[test]
fn every_page_of_a_long_file_is_its_own() {
    let faces = Faces::load().unwrap();
    let particulars = Particulars {
        title: "Long".to_owned(),
        producer: "scruple 0.1".to_owned(),
        made: DateTime::parse_from_rfc3339("2001-03-08T14:05:00+01:00").unwrap(),
    };
    let of = |letter: char| {
        let mut block = Block::new();
        let spans = [Span::new(&letter.to_string(), Style::new(Face::Bold, 12.0))];
        block
            .line(&faces, &spans, (0.0, 150.0), 10.0, Align::Left)
            .unwrap();
        let mut page = Page::new(Paper::A4, "letter");
        block.place(&mut page, (20.0, 20.0));
        page
    };
    let letters: Vec<char> = ('A'..='Z').chain('a'..='z').collect();
    let pages: Vec<Page> = letters.iter().map(|letter| of(*letter)).collect();
    let drawn = drawn(&write(&faces, &pages, &particulars).unwrap());
    assert_eq!(drawn.len(), 52);
    // The letters are numbered as they are met, from 1.
    for (number, page) in (1..).zip(drawn) {
        assert!(
            page.contains(&format!("<{number:04X}>Tj")),
            "{number}: {page}"
        );
    }
}

/// They stand in the order of the page, whatever their names; a file without any opens without
/// their list.
#[test]
fn bookmarks_keep_the_order_of_the_page() {
    let faces = Faces::load().unwrap();
    let particulars = Particulars {
        title: "Order".to_owned(),
        producer: "scruple 0.1".to_owned(),
        made: DateTime::parse_from_rfc3339("2001-03-08T14:05:00+01:00").unwrap(),
    };
    let mut page = Page::new(Paper::A4, "Order");
    let without = write(&faces, &[page.clone()], &particulars).unwrap();
    assert!(!contains(&without, "UseOutlines") && !contains(&without, "/XYZ"));

    for (name, top) in [("Žofie", 10.0), ("Brio", 30.0), ("Aster", 50.0)] {
        page.bookmarks.push(Bookmark {
            name: name.to_owned(),
            top,
        });
    }
    let bytes = write(&faces, &[page], &particulars).unwrap();
    let text = String::from_utf8_lossy(&bytes).into_owned();
    let places: Vec<usize> = ["/XYZ 0 813.54 0]", "/XYZ 0 756.85 0]", "/XYZ 0 700.16 0]"]
        .into_iter()
        .map(|place| text.find(place).unwrap())
        .collect();
    assert!(places.is_sorted(), "{places:?}");
    for name in ["Žofie", "Brio", "Aster"] {
        assert_eq!(said(&bytes, name), 1, "{name}");
    }
}

#[test]
fn all_that_is_printed_has_a_letter_shape() {
    let faces = Faces::load().unwrap();
    let error = faces
        .width("0.075 \u{10fffd}", Style::regular(9.0))
        .unwrap_err();
    assert!(matches!(error, SheetError::MissingGlyph { .. }));
}
