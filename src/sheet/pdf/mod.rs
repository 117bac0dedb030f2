//! Pages into PDF bytes.
//!
//! Promises: the same pages and particulars give the same bytes, in one process or in many; only
//! the letters that are used are embedded, and the text can be taken out again in the order of
//! the page, which is marked for readers that are heard; every bookmark leads to its place; the file asks viewers to print it at its true
//! size, and claims no standard that it does not keep.
//! Does not: read the clock (the moment is given) or lay anything out.

mod content;
mod font;
mod mend;
mod press;
mod structure;

use chrono::{DateTime, FixedOffset};
use printpdf::{Mm, OffsetDateTime, PdfDocument, PdfPage, PdfSaveOptions};

use crate::sheet::SheetError;
use crate::sheet::face::Faces;
use crate::sheet::page::Page;
use crate::sheet::pdf::content::{Pen, points};
use crate::sheet::pdf::font::Fonts;
use crate::sheet::pdf::mend::{identify, mend, numbered};
use crate::sheet::pdf::press::Pressed;
use crate::sheet::pdf::structure::Parts;

/// What a PDF says about itself.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Particulars {
    /// Its title.
    pub title: String,
    /// Name and version of the program.
    pub producer: String,
    /// When it was made, as the caller's clock had it.
    pub made: DateTime<FixedOffset>,
}

/// Writes pages as a PDF file.
///
/// # Errors
/// [`SheetError::MissingGlyph`] for a character that cannot be printed, [`SheetError::Writer`] if
/// the writer reports anything at all.
pub fn write(
    faces: &Faces,
    pages: &[Page],
    particulars: &Particulars,
) -> Result<Vec<u8>, SheetError> {
    let mut writer = Writer::new(faces);
    for page in pages {
        writer.page(page)?;
    }
    writer.finish(particulars)
}

/// A file that is being written, page by page. Pages are finished a few at a time, so that of a
/// long file neither operations nor objects are held, only what is drawn, pressed.
pub struct Writer<'f> {
    fonts: Fonts<'f>,
    waiting: Vec<PdfPage>,
    /// Width and height of each page.
    sizes: Vec<(Mm, Mm)>,
    /// What is drawn on each finished page.
    finished: Vec<Pressed>,
    parts: Vec<Parts>,
    bookmarks: Vec<Bookmark>,
}

/// A place that a bookmark leads to.
struct Bookmark {
    name: String,
    /// The number of its page, from 1.
    page: usize,
    /// The height on the page, in points from its lower edge.
    height: f32,
}

/// So many pages are finished together.
const TOGETHER: usize = 16;

impl<'f> Writer<'f> {
    /// A file without pages.
    #[must_use]
    pub fn new(faces: &'f Faces) -> Self {
        Self {
            fonts: Fonts::new(faces),
            waiting: Vec::new(),
            sizes: Vec::new(),
            finished: Vec::new(),
            parts: Vec::new(),
            bookmarks: Vec::new(),
        }
    }

    /// Adds a page.
    ///
    /// # Errors
    /// [`SheetError::MissingGlyph`] for a character that cannot be printed, [`SheetError::Writer`]
    /// if the writer reports anything at all.
    pub fn page(&mut self, page: &Page) -> Result<(), SheetError> {
        let operations = Pen::new(page.paper, &mut self.fonts).draw(page)?;
        let (width, height) = (page.paper.width(), page.paper.height());
        let size = (Mm(width), Mm(height));
        self.waiting.push(PdfPage::new(size.0, size.1, operations));
        self.sizes.push(size);
        self.parts.push(page.parts.clone());
        let number = self.finished.len() + self.waiting.len();
        for bookmark in &page.bookmarks {
            self.bookmarks.push(Bookmark {
                name: bookmark.name.clone(),
                page: number,
                height: points(height - bookmark.top),
            });
        }
        if self.waiting.len() >= TOGETHER {
            self.press()?;
        }
        Ok(())
    }

    /// Finishes the pages that wait.
    fn press(&mut self) -> Result<(), SheetError> {
        let mut part = PdfDocument::new("");
        part.resources.fonts.map = self.fonts.numbered();
        part.with_pages(std::mem::take(&mut self.waiting));
        let file = objects(&part)?;
        drop(part);
        self.finished.extend(press::out_of(file).map_err(failed)?);
        Ok(())
    }

    /// Writes the pages and what they share, and gives the file.
    ///
    /// # Errors
    /// [`SheetError::Face`] if a face cannot be cut to the letters used, [`SheetError::Writer`] if
    /// the writer reports anything at all.
    pub fn finish(mut self, particulars: &Particulars) -> Result<Vec<u8>, SheetError> {
        self.press()?;
        let mut document = PdfDocument::new(&particulars.title);
        let info = &mut document.metadata.info;
        let made = OffsetDateTime::from_unix_timestamp(particulars.made.timestamp())
            .map_err(|why| SheetError::Writer(why.to_owned()))?;
        info.creation_date = made;
        info.modification_date = made;
        info.metadata_date = made;
        info.creator.clone_from(&particulars.producer);
        info.producer.clone_from(&particulars.producer);

        // The ids that printpdf makes up count on through the process; given ones do not.
        document.resources.fonts.map = self.fonts.cut()?;
        for (number, bookmark) in self.bookmarks.iter().enumerate() {
            document.add_bookmark(&numbered(number, &bookmark.name), bookmark.page);
        }
        // What the finished pages show stands in for them on the first, until they are put in.
        let mut letters = self.fonts.every_letter();
        let pages = self.sizes.iter();
        let pages = pages.map(|size| PdfPage::new(size.0, size.1, std::mem::take(&mut letters)));
        document.with_pages(pages.collect());
        let mut file = objects(&document)?;
        drop(document);
        press::into(&mut file, self.finished).map_err(failed)?;
        structure::build(&mut file, &self.parts).map_err(failed)?;
        let heights: Vec<f32> = self.bookmarks.iter().map(|mark| mark.height).collect();
        mend(&mut file, &heights).map_err(failed)?;
        file.compress();
        identify(&mut file);
        let mut bytes = Vec::new();
        file.save_to(&mut bytes)
            .map_err(|why| SheetError::Writer(why.to_string()))?;
        Ok(bytes)
    }
}

fn failed(why: lopdf::Error) -> SheetError {
    SheetError::Writer(why.to_string())
}

/// A document as the objects of a file; anything that printpdf has to say about it is a fault.
fn objects(document: &PdfDocument) -> Result<lopdf::Document, SheetError> {
    let mut warnings = Vec::new();
    let options = PdfSaveOptions {
        image_optimization: None,
        ..PdfSaveOptions::default()
    };
    let file = document.to_lopdf_document(&options, &mut warnings);
    match warnings.first() {
        Some(warning) => Err(SheetError::Writer(format!("{warning:?}"))),
        None => Ok(file),
    }
}

#[cfg(test)]
mod tests;
