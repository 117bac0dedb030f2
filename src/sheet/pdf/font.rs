//! The faces inside a file: which letters the pages use of each, and the faces cut down to them.
//!
//! Promises: a letter's number is settled when it is first met, so that pages can be finished
//! before the last is laid out, and hangs on the pages alone; every letter can be taken out again
//! as the character it was. Does not: measure text.

use std::collections::BTreeMap;

use printpdf::{FontId, Op, ParsedFont, PdfFont, PdfFontHandle, Pt, TextItem};
use subsetter::GlyphRemapper;

use crate::sheet::SheetError;
use crate::sheet::face::{Face, Faces};

/// The name of a face among a file's resources.
pub fn id(face: Face) -> FontId {
    FontId(
        match face {
            Face::Regular => "R",
            Face::Bold => "B",
            Face::BoldItalic => "I",
        }
        .to_owned(),
    )
}

/// The letters that a file uses of each face.
pub struct Fonts<'f> {
    faces: &'f Faces,
    used: BTreeMap<Face, Used>,
}

/// The letters used of one face.
#[derive(Default)]
struct Used {
    numbers: GlyphRemapper,
    /// The number of each letter inside the file, and its width in units of the face.
    letters: BTreeMap<char, (u16, u16)>,
}

impl<'f> Fonts<'f> {
    /// No letter met yet.
    pub fn new(faces: &'f Faces) -> Self {
        Self {
            faces,
            used: BTreeMap::new(),
        }
    }

    /// Takes note of a text's letters.
    ///
    /// # Errors
    /// [`SheetError::MissingGlyph`] for a character that the face does not hold.
    pub fn meet(&mut self, face: Face, text: &str) -> Result<(), SheetError> {
        let used = self.used.entry(face).or_default();
        for character in text.chars() {
            if !used.letters.contains_key(&character) {
                let (glyph, width) = self.faces.glyph(face, character, text)?;
                let number = used.numbers.remap(glyph);
                used.letters.insert(character, (number, width));
            }
        }
        Ok(())
    }

    /// The faces that were used, each cut down to its letters, with the names pages know them by.
    ///
    /// # Errors
    /// [`SheetError::Face`] if a face cannot be cut.
    pub fn cut(&self) -> Result<BTreeMap<FontId, PdfFont>, SheetError> {
        let each = self.used.iter().map(|(&face, used)| {
            let program = subsetter::subset(face.bytes(), 0, &used.numbers)
                .map_err(|_| SheetError::Face { face: face.name() })?;
            Ok((id(face), self.font(face, used, program)))
        });
        each.collect()
    }

    /// The same with nothing to draw letters from: enough to write pages that are taken out of the
    /// file they were written in.
    pub fn numbered(&self) -> BTreeMap<FontId, PdfFont> {
        let each = self.used.iter();
        each.map(|(&face, used)| (id(face), self.font(face, used, vec![0])))
            .collect()
    }

    fn font(&self, face: Face, used: &Used, program: Vec<u8>) -> PdfFont {
        let whole = self.faces.font(face);
        let letters = used.letters.iter();
        let numbers = letters.map(|(letter, (number, _))| (u32::from(*letter), *number));
        let missing = (0, whole.get_glyph_width(0).unwrap_or_default());
        PdfFont::new(ParsedFont {
            original_bytes: program,
            font_index: 0,
            // Six capitals and a plus sign mark a subset (ISO 32000-1, 9.6.4).
            font_name: Some(format!("SCRUPL+{}", face.name())),
            codepoint_to_glyph: numbers.collect(),
            glyph_widths: used.letters.values().copied().chain([missing]).collect(),
            units_per_em: whole.units_per_em,
            font_metrics: whole.font_metrics.clone(),
            font_type: whole.font_type,
            pdf_font_metrics: whole.pdf_font_metrics.clone(),
        })
    }

    /// Every letter in its face, once: printpdf puts into a file what the file's own pages show.
    /// Of letters with one shape the plainest, which comes last, is the one that is taken out
    /// again.
    pub fn every_letter(&self) -> Vec<Op> {
        let mut operations = vec![Op::StartTextSection];
        for (&face, used) in &self.used {
            let text: String = used.letters.keys().rev().collect();
            operations.extend([
                Op::SetFont {
                    font: PdfFontHandle::External(id(face)),
                    size: Pt(1.0),
                },
                Op::ShowText {
                    items: vec![TextItem::Text(text)],
                },
            ]);
        }
        operations.push(Op::EndTextSection);
        operations
    }
}

#[cfg(test)]
#[allow(clippy::unwrap_used)]
mod tests {
    use super::*;

    #[test]
    fn a_subset_is_small_and_keeps_its_widths() {
        let faces = Faces::load().unwrap();
        let characters = "0123456789 mL.";
        let mut fonts = Fonts::new(&faces);
        fonts.meet(Face::Bold, characters).unwrap();
        let cut = fonts.cut().unwrap();
        let less = &cut.get(&id(Face::Bold)).unwrap().parsed_font;
        assert!(less.original_bytes.len() < Face::Bold.bytes().len() / 4);
        for character in characters.chars() {
            let width = |font: &ParsedFont| {
                font.lookup_glyph_index(u32::from(character))
                    .and_then(|glyph| font.get_glyph_width(glyph))
            };
            assert_eq!(width(less), width(faces.font(Face::Bold)));
        }
    }

    /// What was written with a letter's number stays right, whatever is met afterwards.
    #[test]
    fn a_letter_keeps_its_number() {
        let faces = Faces::load().unwrap();
        let mut fonts = Fonts::new(&faces);
        let number = |fonts: &Fonts, letter: char| {
            let numbered = fonts.numbered();
            let font = &numbered.get(&id(Face::Bold)).unwrap().parsed_font;
            font.lookup_glyph_index(u32::from(letter)).unwrap()
        };
        fonts.meet(Face::Bold, "m").unwrap();
        let first = number(&fonts, 'm');
        fonts.meet(Face::Bold, "AΩ0a").unwrap();
        assert_eq!(number(&fonts, 'm'), first);
        assert_ne!(number(&fonts, 'a'), first);
    }
}
