//! The typefaces: Noto Sans in three cuts, measured and cut down to the letters that are used.
//!
//! Promises: every character is looked up before it is printed, and one that the face does not
//! hold is an error that names it and the text it stands in. Digits are of equal width.
//! Does not: kern, shape, or join letters; scripts that need it are not printed.

use printpdf::ParsedFont;
use unicode_normalization::char::is_combining_mark;

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

    /// The file that is built into the program.
    pub(in crate::sheet) fn bytes(self) -> &'static [u8] {
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
pub struct Faces {
    cuts: [Cut; 3],
}

/// One face.
struct Cut {
    font: ParsedFont,
    /// The widths of the letters of the common scripts by their codes, in units of the face; none
    /// for what the face does not hold.
    common: Vec<Option<u16>>,
}

/// The codes up to here are measured beforehand: Latin, Greek and Cyrillic.
const COMMON: u32 = 0x530;

impl Faces {
    /// Reads the faces that are built into the program.
    ///
    /// # Errors
    /// [`SheetError::Face`] if one cannot be read.
    pub fn load() -> Result<Self, SheetError> {
        let cut = |face: Face| {
            let font = ParsedFont::from_bytes(face.bytes(), 0, &mut Vec::new())
                .ok_or(SheetError::Face { face: face.name() })?;
            let width = |code| glyph(&font, char::from_u32(code)?).map(|(_, width)| width);
            let common = (0..COMMON).map(width).collect();
            Ok(Cut { font, common })
        };
        let cuts = [
            cut(Face::Regular)?,
            cut(Face::Bold)?,
            cut(Face::BoldItalic)?,
        ];
        Ok(Self { cuts })
    }

    fn cut(&self, face: Face) -> &Cut {
        let [regular, bold, slanted] = &self.cuts;
        match face {
            Face::Regular => regular,
            Face::Bold => bold,
            Face::BoldItalic => slanted,
        }
    }

    /// The width of a text in millimetres.
    ///
    /// # Errors
    /// [`SheetError::MissingGlyph`] for a character that cannot be printed.
    pub fn width(&self, text: &str, style: Style) -> Result<f32, SheetError> {
        let cut = self.cut(style.face);
        let mut units: u32 = 0;
        for character in text.chars() {
            let width = match cut.common.get(character as usize) {
                Some(width) => *width,
                None => glyph(&cut.font, character).map(|(_, width)| width),
            };
            let width = width.ok_or_else(|| missing(character, text))?;
            units = units.saturating_add(u32::from(width));
        }
        Ok(units as f32 / f32::from(cut.font.units_per_em) * style.em())
    }

    /// The number of a character's shape in the face's own file, and its width in units; `text`
    /// is what it stands in.
    ///
    /// # Errors
    /// [`SheetError::MissingGlyph`] for a character that the face does not hold.
    pub(in crate::sheet) fn glyph(
        &self,
        face: Face,
        character: char,
        text: &str,
    ) -> Result<(u16, u16), SheetError> {
        glyph(self.font(face), character).ok_or_else(|| missing(character, text))
    }

    /// The face itself.
    pub(in crate::sheet) fn font(&self, face: Face) -> &ParsedFont {
        &self.cut(face).font
    }
}

/// A mark that no letter has taken up would be printed beside its letter: it counts as missing.
fn glyph(font: &ParsedFont, character: char) -> Option<(u16, u16)> {
    if is_combining_mark(character) {
        return None;
    }
    let glyph = font
        .lookup_glyph_index(u32::from(character))
        .filter(|&glyph| glyph != 0)?;
    Some((glyph, font.get_glyph_width(glyph)?))
}

fn missing(character: char, text: &str) -> SheetError {
    SheetError::MissingGlyph {
        character,
        text: text.to_owned(),
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

    /// Every letter of Unicode's Greek, Cyrillic, further Latin and polytonic Greek blocks, but for
    /// archaic ones and the newest.
    #[test]
    fn greek_and_cyrillic_letters_are_held() {
        let faces = Faces::load().unwrap();
        let letters: String = ('\u{386}'..='\u{3ce}')
            .chain('\u{400}'..='\u{481}')
            .chain('\u{48a}'..='\u{527}')
            .chain('\u{180}'..='\u{24f}')
            .chain('\u{1e00}'..='\u{1e9b}')
            .chain('\u{1ea0}'..='\u{1ef9}')
            .chain('\u{1f00}'..='\u{1f15}')
            .filter(|c| c.is_alphabetic())
            .collect();
        assert!(letters.chars().count() > 700);
        for face in Face::ALL {
            faces.width(&letters, Style::new(face, 10.0)).unwrap();
        }
    }

    /// "é" typed as e and an accent prints as é; an accent that no letter takes up is refused.
    #[test]
    fn accents_typed_apart_are_joined_or_said() {
        crate::sheet::can_print("Zoe\u{308} Jose\u{301}").unwrap();
        let error = crate::sheet::can_print("Q\u{30c}uillo").unwrap_err();
        assert!(error.to_string().contains("code 030C"), "{error}");
    }

    #[test]
    fn width_grows_with_size_and_text() {
        let faces = Faces::load().unwrap();
        let at = |text, size| faces.width(text, Style::regular(size)).unwrap();
        assert!((at("0.075", 20.0) - 2.0 * at("0.075", 10.0)).abs() < 0.001);
        assert!((at("0.075 mL", 10.0) - at("0.075", 10.0) - at(" mL", 10.0)).abs() < 0.001);
        assert!(at("", 10.0).abs() < f32::EPSILON);
    }
}
