//! The typefaces: Noto Sans in three cuts, measured and cut down to the letters that are used.
//!
//! Promises: every character is looked up before it is printed, and one that the face does not
//! hold is an error that names it and the text it stands in. Digits are of equal width.
//! Does not: kern, shape, or join letters; scripts that need it are not printed.

use std::collections::{BTreeMap, BTreeSet};

use printpdf::ParsedFont;
use subsetter::GlyphRemapper;

use crate::sheet::SheetError;
use crate::sheet::page::MM_PER_PT;

/// A cut of the typeface.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Face {
    /// What is read.
    Regular,
    /// What is acted on.
    Bold,
    /// The vet's own words, and nothing else.
    BoldItalic,
}

impl Face {
    /// All cuts.
    pub const ALL: [Self; 3] = [Self::Regular, Self::Bold, Self::BoldItalic];

    /// The name it carries inside a PDF.
    #[must_use]
    pub fn name(self) -> &'static str {
        match self {
            Self::Regular => "NotoSans-Regular",
            Self::Bold => "NotoSans-Bold",
            Self::BoldItalic => "NotoSans-BoldItalic",
        }
    }

    fn bytes(self) -> &'static [u8] {
        match self {
            Self::Regular => notosans::REGULAR_TTF,
            Self::Bold => notosans::BOLD_TTF,
            Self::BoldItalic => notosans::BOLD_ITALIC_TTF,
        }
    }
}

/// A face at a size.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Style {
    /// The cut.
    pub face: Face,
    /// The size in points.
    pub size: f32,
}

impl Style {
    /// A face at a size in points.
    #[must_use]
    pub const fn new(face: Face, size: f32) -> Self {
        Self { face, size }
    }

    /// Regular at a size in points.
    #[must_use]
    pub const fn regular(size: f32) -> Self {
        Self::new(Face::Regular, size)
    }

    /// Bold at a size in points.
    #[must_use]
    pub const fn bold(size: f32) -> Self {
        Self::new(Face::Bold, size)
    }

    /// The height of an em in millimetres.
    #[must_use]
    pub fn em(self) -> f32 {
        self.size * MM_PER_PT
    }
}

/// The cuts, read and ready to measure with.
#[derive(Debug)]
pub struct Faces {
    fonts: BTreeMap<Face, ParsedFont>,
}

impl Faces {
    /// Reads the faces that are built into the program.
    ///
    /// # Errors
    /// [`SheetError::Face`] if one cannot be read.
    pub fn load() -> Result<Self, SheetError> {
        let mut fonts = BTreeMap::new();
        for face in Face::ALL {
            let font = ParsedFont::from_bytes(face.bytes(), 0, &mut Vec::new())
                .ok_or(SheetError::Face { face: face.name() })?;
            fonts.insert(face, font);
        }
        Ok(Self { fonts })
    }

    fn font(&self, face: Face) -> Result<&ParsedFont, SheetError> {
        self.fonts
            .get(&face)
            .ok_or(SheetError::Face { face: face.name() })
    }

    /// The width of a text in millimetres.
    ///
    /// # Errors
    /// [`SheetError::MissingGlyph`] for a character that cannot be printed.
    pub fn width(&self, text: &str, style: Style) -> Result<f32, SheetError> {
        let font = self.font(style.face)?;
        let mut units: u32 = 0;
        for character in text.chars() {
            let advance = font
                .lookup_glyph_index(u32::from(character))
                .filter(|&glyph| glyph != 0)
                .and_then(|glyph| font.get_glyph_width(glyph))
                .ok_or_else(|| SheetError::MissingGlyph {
                    character,
                    text: text.to_owned(),
                })?;
            units = units.saturating_add(u32::from(advance));
        }
        Ok(units as f32 / f32::from(font.units_per_em) * style.em())
    }

    /// The face cut down to these characters, for embedding.
    ///
    /// # Errors
    /// [`SheetError::MissingGlyph`] for a character that the face does not hold,
    /// [`SheetError::Face`] if it cannot be cut.
    pub(in crate::sheet) fn subset(
        &self,
        face: Face,
        characters: &BTreeSet<char>,
    ) -> Result<ParsedFont, SheetError> {
        let full = self.font(face)?;
        let mut remapper = GlyphRemapper::new();
        let mut codepoint_to_glyph = BTreeMap::new();
        let mut glyph_widths = BTreeMap::from([(0, full.get_glyph_width(0).unwrap_or_default())]);
        for &character in characters {
            let missing = || SheetError::MissingGlyph {
                character,
                text: character.to_string(),
            };
            let glyph = full
                .lookup_glyph_index(u32::from(character))
                .ok_or_else(missing)?;
            let width = full.get_glyph_width(glyph).ok_or_else(missing)?;
            let cut = remapper.remap(glyph);
            codepoint_to_glyph.insert(u32::from(character), cut);
            glyph_widths.insert(cut, width);
        }
        let original_bytes = subsetter::subset(face.bytes(), 0, &remapper)
            .map_err(|_| SheetError::Face { face: face.name() })?;
        Ok(ParsedFont {
            original_bytes,
            codepoint_to_glyph,
            glyph_widths,
            // Six capitals and a plus sign mark a subset (ISO 32000-1, 9.6.4).
            font_name: Some(format!("SCRUPL+{}", face.name())),
            ..full.clone()
        })
    }
}

#[cfg(test)]
#[allow(clippy::unwrap_used)]
mod tests {
    use super::*;

    #[test]
    fn a_character_that_no_face_holds_is_an_error_that_names_it() {
        let faces = Faces::load().unwrap();
        for face in Face::ALL {
            let error = faces
                .width("Thimblo 鼠", Style::new(face, 11.0))
                .unwrap_err();
            assert_eq!(
                error,
                SheetError::MissingGlyph {
                    character: '鼠',
                    text: "Thimblo 鼠".to_owned()
                }
            );
            assert!(error.to_string().contains("code 9F20"), "{error}");
            assert!(error.to_string().contains("Thimblo"), "{error}");
        }
    }

    #[test]
    fn a_control_character_is_an_error_whose_words_do_not_hold_it() {
        let faces = Faces::load().unwrap();
        let error = faces
            .width("Nub\u{1b}[2Jbet", Style::regular(11.0))
            .unwrap_err();
        assert!(error.to_string().contains("code 001B"), "{error}");
        assert!(!error.to_string().contains('\u{1b}'), "{error}");
    }

    #[test]
    fn digits_are_of_equal_width_in_every_face() {
        let faces = Faces::load().unwrap();
        for face in Face::ALL {
            let style = Style::new(face, 10.0);
            let zero = faces.width("0", style).unwrap();
            for digit in '1'..='9' {
                let width = faces.width(&digit.to_string(), style).unwrap();
                assert!((width - zero).abs() < 0.0001, "{face:?} {digit}");
            }
        }
    }

    /// Every letter of the Latin blocks of Unicode that European languages are written with.
    #[test]
    fn latin_letters_are_held() {
        let faces = Faces::load().unwrap();
        let letters: String = ('\u{20}'..='\u{7e}')
            .chain('\u{a0}'..='\u{17f}')
            .filter(|&c| c != '\u{ad}')
            .collect();
        for face in Face::ALL {
            faces.width(&letters, Style::new(face, 10.0)).unwrap();
            faces
                .width("–—‘’“”…×½¼¾→−ȘșȚțẞ€", Style::new(face, 10.0))
                .unwrap();
        }
    }

    #[test]
    fn width_grows_with_size_and_text() {
        let faces = Faces::load().unwrap();
        let at = |text, size| faces.width(text, Style::regular(size)).unwrap();
        assert!((at("0.075", 20.0) - 2.0 * at("0.075", 10.0)).abs() < 0.001);
        assert!((at("0.075 mL", 10.0) - at("0.075", 10.0) - at(" mL", 10.0)).abs() < 0.001);
        assert!(at("", 10.0).abs() < f32::EPSILON);
    }

    #[test]
    fn a_subset_is_small_and_keeps_its_widths() {
        let faces = Faces::load().unwrap();
        let characters: BTreeSet<char> = "0123456789 mL.".chars().collect();
        let cut = faces.subset(Face::Bold, &characters).unwrap();
        assert!(cut.original_bytes.len() < Face::Bold.bytes().len() / 4);
        let full = faces.font(Face::Bold).unwrap();
        for character in characters {
            let width = |font: &ParsedFont| {
                font.lookup_glyph_index(u32::from(character))
                    .and_then(|glyph| font.get_glyph_width(glyph))
            };
            assert_eq!(width(&cut), width(full));
        }
    }
}
