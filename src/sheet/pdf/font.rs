//! The faces inside a file: letters numbered as they are met, cut down to those at the end.
//!
//! Promises: the numbering hangs on the pages alone; every letter can be taken out again as the
//! character it was. Does not: measure text.

use std::collections::BTreeMap;

use miniz_oxide::deflate::compress_to_vec_zlib;
use pdf_writer::types::{CidFontType, FontFlags, SystemInfo, UnicodeCmap};
use pdf_writer::{Filter, Name, Pdf, Rect, Ref, Str};
use subsetter::GlyphRemapper;

use crate::sheet::SheetError;
use crate::sheet::face::{Face, Faces};

/// The name of a face among a page's resources.
pub fn name(face: Face) -> &'static [u8] {
    match face {
        Face::Regular => b"R",
        Face::Bold => b"B",
        Face::BoldItalic => b"I",
    }
}

/// The faces of one file.
pub struct Fonts<'f> {
    faces: &'f Faces,
    cuts: [Cut; 3],
}

/// What a file holds of one face.
#[derive(Default)]
struct Cut {
    remapper: GlyphRemapper,
    /// The number in this file of each character, by its code: those of the common scripts in
    /// order, 0 where it was not met.
    common: Vec<u16>,
    others: BTreeMap<char, u16>,
    /// What each number means and how wide it is, from 1 on.
    met: Vec<(char, u16)>,
}

/// The codes up to here are looked up in order: Latin, Greek and Cyrillic.
const COMMON: usize = 0x530;

impl Cut {
    fn known(&self, character: char) -> Option<u16> {
        match self.common.get(character as usize) {
            Some(0) => None,
            Some(&number) => Some(number),
            None => self.others.get(&character).copied(),
        }
    }

    fn keep(&mut self, character: char, number: u16) {
        match self.common.get_mut(character as usize) {
            Some(place) => *place = number,
            None => {
                self.others.insert(character, number);
            }
        }
    }
}

impl<'f> Fonts<'f> {
    /// No letter met yet.
    pub fn new(faces: &'f Faces) -> Self {
        let cut = || Cut {
            common: vec![0; COMMON],
            ..Cut::default()
        };
        Self {
            faces,
            cuts: [cut(), cut(), cut()],
        }
    }

    fn cut(&mut self, face: Face) -> &mut Cut {
        let [regular, bold, slanted] = &mut self.cuts;
        match face {
            Face::Regular => regular,
            Face::Bold => bold,
            Face::BoldItalic => slanted,
        }
    }

    /// Adds the numbers of a text's letters, two bytes each.
    ///
    /// # Errors
    /// [`SheetError::MissingGlyph`] for a character that the face does not hold.
    pub fn glyphs(&mut self, face: Face, text: &str, to: &mut Vec<u8>) -> Result<(), SheetError> {
        let faces = self.faces;
        let cut = self.cut(face);
        for character in text.chars() {
            let number = match cut.known(character) {
                Some(number) => number,
                None => {
                    let (glyph, width) = faces.glyph(face, character, text)?;
                    let before = cut.remapper.num_gids();
                    let number = cut.remapper.remap(glyph);
                    // Two characters can share a shape; it is given back as the first of them.
                    if cut.remapper.num_gids() > before {
                        cut.met.push((character, width));
                    }
                    cut.keep(character, number);
                    number
                }
            };
            to.extend(number.to_be_bytes());
        }
        Ok(())
    }

    /// Writes the faces that were used and the resources that name them, numbered from `free` on;
    /// returns the next free number.
    ///
    /// # Errors
    /// [`SheetError::Face`] if a face cannot be cut.
    pub fn write(&self, pdf: &mut Pdf, resources: Ref, free: i32) -> Result<i32, SheetError> {
        let mut free = free;
        let mut named = Vec::new();
        for (face, cut) in Face::ALL.into_iter().zip(&self.cuts) {
            if !cut.met.is_empty() {
                named.push((name(face), Ref::new(free)));
                self.embed(pdf, face, cut, free)?;
                free += 5;
            }
        }
        let mut resources = pdf.indirect(resources).dict();
        let mut fonts = resources.insert(Name(b"Font")).dict();
        for (name, id) in named {
            fonts.pair(Name(name), id);
        }
        Ok(free)
    }

    fn embed(&self, pdf: &mut Pdf, face: Face, cut: &Cut, first: i32) -> Result<(), SheetError> {
        let [font, cid, descriptor, file, codes] = [0, 1, 2, 3, 4].map(|n| Ref::new(first + n));
        let shape = self.faces.shape(face);
        let bytes = subsetter::subset(face.bytes(), 0, &cut.remapper)
            .map_err(|_| SheetError::Face { face: face.name() })?;
        // Six capitals and a plus sign mark a subset (ISO 32000-1, 9.6.4).
        let title = format!("SCRUPL+{}", face.name());
        let title = Name(title.as_bytes());
        let thousandths = |units: f32| units * 1000.0 / f32::from(shape.units_per_em());

        pdf.type0_font(font)
            .base_font(title)
            .encoding_predefined(Name(b"Identity-H"))
            .descendant_font(cid)
            .to_unicode(codes);
        let identity = SystemInfo {
            registry: Str(b"Adobe"),
            ordering: Str(b"Identity"),
            supplement: 0,
        };
        let mut letters = pdf.cid_font(cid);
        letters
            .subtype(CidFontType::Type2)
            .base_font(title)
            .system_info(identity)
            .font_descriptor(descriptor)
            .default_width(0.0)
            .cid_to_gid_map_predefined(Name(b"Identity"));
        let widths = cut.met.iter().map(|(_, units)| f32::from(*units));
        letters.widths().consecutive(1, widths.map(thousandths));
        drop(letters);

        let area = shape.global_bounding_box();
        let [left, low, right, high] = [area.x_min, area.y_min, area.x_max, area.y_max]
            .map(|edge| thousandths(f32::from(edge)));
        let slant = shape.italic_angle();
        let mut flags = FontFlags::SYMBOLIC;
        flags.set(FontFlags::ITALIC, slant != 0.0);
        pdf.font_descriptor(descriptor)
            .name(title)
            .flags(flags)
            .bbox(Rect::new(left, low, right, high))
            .italic_angle(slant)
            .ascent(thousandths(f32::from(shape.ascender())))
            .descent(thousandths(f32::from(shape.descender())))
            .cap_height(thousandths(f32::from(
                shape.capital_height().unwrap_or_default(),
            )))
            // The files do not say how thick a stem is; viewers use it for stand-ins only.
            .stem_v(if face == Face::Regular { 80.0 } else { 140.0 })
            .font_file2(file);
        pdf.stream(file, &compress_to_vec_zlib(&bytes, PRESSED))
            .filter(Filter::FlateDecode)
            .pair(
                Name(b"Length1"),
                i32::try_from(bytes.len()).unwrap_or_default(),
            );

        let mut meanings = UnicodeCmap::new(Name(b"SCRUPL"), identity);
        for (number, (character, _)) in (1_u16..).zip(&cut.met) {
            meanings.pair(number, *character);
        }
        let meanings = meanings.finish();
        pdf.stream(codes, &compress_to_vec_zlib(meanings.as_slice(), PRESSED))
            .filter(Filter::FlateDecode);
        Ok(())
    }
}

/// The faces are small and written once: they are pressed as hard as it goes.
const PRESSED: u8 = 9;
