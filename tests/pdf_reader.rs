//! The reader of PDF pages reads pages whose every byte is written here by hand.

#![allow(
    clippy::indexing_slicing,
    clippy::unwrap_used,
    clippy::panic,
    reason = "a test may stop at once"
)]

mod readers;

use readers::pdf::{pdf_pixels, pdf_text};
use std::fmt::Write;

/// A PDF of one page for each content stream, 200 points wide and 100 high, with Helvetica as F1
/// and, as F2, Helvetica under a ToUnicode map that reads A as mu. ISO 32000-1 sections 7.5 and
/// 9.10.3.
fn pdf(pages: &[&str]) -> Vec<u8> {
    let stream = |content: &str| {
        format!(
            "<< /Length {} >>\nstream\n{content}\nendstream",
            content.len()
        )
    };
    let first_page = 6;
    let kids: Vec<String> = (0..pages.len())
        .map(|at| format!("{} 0 R", first_page + 2 * at))
        .collect();
    let map = "/CIDInit /ProcSet findresource begin 12 dict begin begincmap\n\
        1 begincodespacerange <00> <ff> endcodespacerange\n\
        1 beginbfchar <41> <03BC> endbfchar\n\
        endcmap end end";
    let mut objects = vec![
        "<< /Type /Catalog /Pages 2 0 R >>".to_owned(),
        format!(
            "<< /Type /Pages /Kids [{}] /Count {} >>",
            kids.join(" "),
            pages.len()
        ),
        "<< /Type /Font /Subtype /Type1 /BaseFont /Helvetica /Encoding /WinAnsiEncoding >>"
            .to_owned(),
        "<< /Type /Font /Subtype /Type1 /BaseFont /Helvetica /Encoding /WinAnsiEncoding \
         /ToUnicode 5 0 R >>"
            .to_owned(),
        stream(map),
    ];
    for content in pages {
        let contents = objects.len() + 2;
        objects.push(format!(
            "<< /Type /Page /Parent 2 0 R /MediaBox [0 0 200 100] /Contents {contents} 0 R \
             /Resources << /Font << /F1 3 0 R /F2 4 0 R >> >> >>"
        ));
        objects.push(stream(content));
    }

    let mut file = "%PDF-1.7\n".to_owned();
    let mut offsets = Vec::new();
    for (number, object) in (1..).zip(&objects) {
        offsets.push(file.len());
        write!(file, "{number} 0 obj\n{object}\nendobj\n").unwrap();
    }
    let table = file.len();
    writeln!(file, "xref\n0 {}\n0000000000 65535 f ", objects.len() + 1).unwrap();
    for offset in offsets {
        writeln!(file, "{offset:010} 00000 n ").unwrap();
    }
    let size = objects.len() + 1;
    write!(
        file,
        "trailer\n<< /Size {size} /Root 1 0 R >>\nstartxref\n{table}\n%%EOF\n"
    )
    .unwrap();
    file.into_bytes()
}

#[test]
fn a_line_is_what_stands_together_and_columns_stay_apart() {
    let page = "BT /F1 10 Tf 10 80 Td (Draw 0.05 mL) Tj ET \
        BT /F1 10 Tf 10 68 Td (at 08:00) Tj ET \
        BT /F1 10 Tf 150 80 Td (beside) Tj ET \
        BT /F1 10 Tf 10 50 Td [(in)-20( one )-40(run)] TJ ET";
    assert_eq!(
        pdf_text(&pdf(&[page])),
        ["Draw 0.05 mL\nat 08:00\nbeside\nin one run\n"]
    );
}

/// A figure in large type and its unit in small, shown apart: "0.075" is 5 glyphs of 0.556 em but
/// for the point of 0.278, so at 20 points it ends at 10 + 50.04 (Helvetica's widths, from the
/// AFM: memory).
#[test]
fn a_figure_and_its_unit_on_one_baseline_are_read_together() {
    let page = "BT /F1 10 Tf 63 50 Td (mL) Tj ET BT /F1 20 Tf 10 50 Td (0.075) Tj ET";
    assert_eq!(pdf_text(&pdf(&[page])), ["0.075 mL\n"]);
    let touching = "BT /F1 10 Tf 60.04 50 Td (mL) Tj ET BT /F1 20 Tf 10 50 Td (0.075) Tj ET";
    assert_eq!(pdf_text(&pdf(&[touching])), ["0.075mL\n"]);
}

#[test]
fn every_page_is_read_and_turned_and_moved_text_too() {
    let turned = "BT /F1 10 Tf 0 1 -1 0 100 10 Tm (upward) Tj ET BT /F1 10 Tf 5 5 Td (level) Tj ET";
    let moved = "q 1 0 0 1 50 30 cm BT /F1 10 Tf 0 0 Td (moved) Tj ET Q \
        BT /F1 10 Tf 28 30 Td (left) Tj ET";
    assert_eq!(
        pdf_text(&pdf(&[turned, moved])),
        ["upward\nlevel\n", "left moved\n"]
    );
}

/// What is read is what the file's own map says is shown, so a Greek letter cannot hide behind an
/// innocent code; what no map knows reads as U+FFFD.
#[test]
fn text_is_read_through_the_map_of_the_font() {
    let greek = "BT /F2 10 Tf 10 50 Td (A) Tj ET";
    assert_eq!(pdf_text(&pdf(&[greek])), ["\u{3bc}\n"]);
    let latin = "BT /F1 10 Tf 10 50 Td (\\265g \\351) Tj ET";
    assert_eq!(pdf_text(&pdf(&[latin])), ["\u{b5}g \u{e9}\n"]);
    let unknown = "BT /F1 10 Tf 10 50 Td (\\001) Tj ET";
    assert_eq!(pdf_text(&pdf(&[unknown])), ["\u{fffd}\n"]);
}

#[test]
fn pixels_are_where_the_ink_is() {
    // A black block from 50 to 100 across and from 20 to 40 up, and a red one.
    let page = "0 g 50 20 50 20 re f 1 0 0 rg 150 60 10 10 re f";
    let bytes = pdf(&["", page]);
    let pixels = pdf_pixels(&bytes, 1, 144.0);
    assert_eq!((pixels.width, pixels.height), (400, 200));
    let at = |x: usize, up: usize| pixels.at(2 * x, 2 * (100 - up));
    assert_eq!(at(75, 30), [0, 0, 0]);
    assert_eq!(at(51, 21), [0, 0, 0]);
    assert_eq!(at(49, 30), [255, 255, 255]);
    assert_eq!(at(101, 30), [255, 255, 255]);
    assert_eq!(at(75, 42), [255, 255, 255]);
    assert_eq!(at(155, 65), [255, 0, 0]);
    assert_eq!(pixels.ink(2 * 155, 2 * 35), 170);

    let blank = pdf_pixels(&bytes, 0, 72.0);
    assert!((0..200).all(|x| (0..100).all(|y| blank.ink(x, y) == 0)));
}
