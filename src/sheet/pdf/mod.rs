//! Pages into PDF bytes.
//!
//! Promises: the same pages and particulars give the same bytes, in one process or in many; only
//! the letters that are used are embedded, and the text can be taken out again in the order of
//! the page; every bookmark leads to its place; the file asks viewers to print it at its true
//! size, and claims no standard that it does not keep.
//! Does not: read the clock (the moment is given) or lay anything out.

mod content;
mod font;
mod mend;

use chrono::{DateTime, FixedOffset};
use printpdf::{Mm, OffsetDateTime, PdfDocument, PdfPage, PdfSaveOptions};

use crate::sheet::SheetError;
use crate::sheet::face::Faces;
use crate::sheet::page::Page;
use crate::sheet::pdf::content::{Pen, points};
use crate::sheet::pdf::font::Fonts;
use crate::sheet::pdf::mend::{identify, mend, numbered};

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

/// A file that is being written, page by page.
pub struct Writer<'f> {
    fonts: Fonts<'f>,
    pages: Vec<PdfPage>,
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

impl<'f> Writer<'f> {
    /// A file without pages.
    #[must_use]
    pub fn new(faces: &'f Faces) -> Self {
        Self {
            fonts: Fonts::new(faces),
            pages: Vec::new(),
            bookmarks: Vec::new(),
        }
    }

    /// Adds a page.
    ///
    /// # Errors
    /// [`SheetError::MissingGlyph`] for a character that cannot be printed.
    pub fn page(&mut self, page: &Page) -> Result<(), SheetError> {
        let operations = Pen::new(page.paper, &mut self.fonts).draw(&page.items)?;
        let (width, height) = (page.paper.width(), page.paper.height());
        self.pages
            .push(PdfPage::new(Mm(width), Mm(height), operations));
        for bookmark in &page.bookmarks {
            self.bookmarks.push(Bookmark {
                name: bookmark.name.clone(),
                page: self.pages.len(),
                height: points(height - bookmark.top),
            });
        }
        Ok(())
    }

    /// Writes the pages and what they share, and gives the file.
    ///
    /// # Errors
    /// [`SheetError::Face`] if a face cannot be cut to the letters used, [`SheetError::Writer`] if
    /// the writer reports anything at all.
    pub fn finish(self, particulars: &Particulars) -> Result<Vec<u8>, SheetError> {
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
        document.with_pages(self.pages);

        let mut warnings = Vec::new();
        let options = PdfSaveOptions {
            image_optimization: None,
            ..PdfSaveOptions::default()
        };
        let mut file = document.to_lopdf_document(&options, &mut warnings);
        drop(document);
        if let Some(warning) = warnings.first() {
            return Err(SheetError::Writer(format!("{warning:?}")));
        }
        let heights: Vec<f32> = self.bookmarks.iter().map(|mark| mark.height).collect();
        mend(&mut file, &heights).map_err(|why| SheetError::Writer(why.to_string()))?;
        file.compress();
        identify(&mut file);
        let mut bytes = Vec::new();
        file.save_to(&mut bytes)
            .map_err(|why| SheetError::Writer(why.to_string()))?;
        Ok(bytes)
    }
}

#[cfg(test)]
mod tests;
