//! The faces inside a file: which letters the pages use of each, and the faces cut down to them.
//!
//! Promises: the numbering hangs on the pages alone; every letter can be taken out again as the
//! character it was. Does not: measure text.

use std::collections::{BTreeMap, BTreeSet};

use printpdf::{FontId, ParsedFont, PdfFont};
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
    used: BTreeMap<Face, BTreeSet<char>>,
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
            if !used.contains(&character) {
                self.faces.glyph(face, character, text)?;
                used.insert(character);
            }
        }
        Ok(())
    }

    /// The faces that were used, each cut down to its letters, with the names pages know them by.
    ///
    /// # Errors
    /// [`SheetError::Face`] if a face cannot be cut.
    pub fn cut(&self) -> Result<BTreeMap<FontId, PdfFont>, SheetError> {
        self.used
            .iter()
            .map(|(&face, used)| Ok((id(face), PdfFont::new(cut(self.faces, face, used)?))))
            .collect()
    }
}

/// A face cut down to some characters.
fn cut(faces: &Faces, face: Face, characters: &BTreeSet<char>) -> Result<ParsedFont, SheetError> {
    let whole = faces.font(face);
    let mut remapper = GlyphRemapper::new();
    let mut codepoint_to_glyph = BTreeMap::new();
    let mut glyph_widths = BTreeMap::from([(0, whole.get_glyph_width(0).unwrap_or_default())]);
    for &character in characters {
        let (glyph, width) = faces.glyph(face, character, character.encode_utf8(&mut [0; 4]))?;
        let number = remapper.remap(glyph);
        codepoint_to_glyph.insert(u32::from(character), number);
        glyph_widths.insert(number, width);
    }
    let original_bytes = subsetter::subset(face.bytes(), 0, &remapper)
        .map_err(|_| SheetError::Face { face: face.name() })?;
    Ok(ParsedFont {
        original_bytes,
        font_index: 0,
        // Six capitals and a plus sign mark a subset (ISO 32000-1, 9.6.4).
        font_name: Some(format!("SCRUPL+{}", face.name())),
        codepoint_to_glyph,
        glyph_widths,
        units_per_em: whole.units_per_em,
        font_metrics: whole.font_metrics.clone(),
        font_type: whole.font_type,
        pdf_font_metrics: whole.pdf_font_metrics.clone(),
    })
}

#[cfg(test)]
#[allow(clippy::unwrap_used)]
mod tests {
    use super::*;

    #[test]
    fn a_subset_is_small_and_keeps_its_widths() {
        let faces = Faces::load().unwrap();
        let characters: BTreeSet<char> = "0123456789 mL.".chars().collect();
        let less = cut(&faces, Face::Bold, &characters).unwrap();
        assert!(less.original_bytes.len() < Face::Bold.bytes().len() / 4);
        for character in characters {
            let width = |font: &ParsedFont| {
                font.lookup_glyph_index(u32::from(character))
                    .and_then(|glyph| font.get_glyph_width(glyph))
            };
            assert_eq!(width(&less), width(faces.font(Face::Bold)));
        }
    }
}
