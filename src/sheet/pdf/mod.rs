//! Pages into PDF bytes.
//!
//! Promises: the same pages and particulars give the same bytes, in one process or in many; only
//! the letters that are used are embedded, and the text can be taken out again in the order of
//! the page; every bookmark leads to its place; the file asks viewers to print it at its true
//! size, and claims no standard that it does not keep. Pages are written one at a time, so that
//! a long run needs no more memory than its file and one page.
//! Does not: read the clock (the moment is given) or lay anything out.

mod content;
mod font;

use chrono::{DateTime, Datelike, FixedOffset, Timelike, Utc};
use miniz_oxide::deflate::compress_to_vec_zlib;
use pdf_writer::types::{PageLayout, PageMode};
use pdf_writer::{Date, Filter, Name, Pdf, Rect, Ref, TextStr};
use sha2::{Digest, Sha256};

use crate::sheet::SheetError;
use crate::sheet::face::Faces;
use crate::sheet::page::{Page, Paper};
use crate::sheet::pdf::content::{Pen, points};
use crate::sheet::pdf::font::Fonts;

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
/// [`SheetError::MissingGlyph`] for a character that cannot be printed.
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

/// How hard the pages are pressed together: of 0 to 10. Harder takes longer and gains little.
const PRESSED: u8 = 6;

const CATALOG: Ref = Ref::new(1);
const TREE: Ref = Ref::new(2);
const INFO: Ref = Ref::new(3);
const RESOURCES: Ref = Ref::new(4);
/// The first number that is free for pages, fonts and bookmarks.
const FREE: i32 = 5;

/// A file that is being written, page by page.
pub struct Writer<'f> {
    pdf: Pdf,
    fonts: Fonts<'f>,
    pages: Vec<Ref>,
    bookmarks: Vec<Bookmark>,
    digest: Sha256,
    free: i32,
}

/// A place that a bookmark leads to.
struct Bookmark {
    name: String,
    page: Ref,
    /// The height on the page, in points from its lower edge.
    height: f32,
}

impl<'f> Writer<'f> {
    /// A file without pages.
    #[must_use]
    pub fn new(faces: &'f Faces) -> Self {
        Self {
            pdf: Pdf::new(),
            fonts: Fonts::new(faces),
            pages: Vec::new(),
            bookmarks: Vec::new(),
            digest: Sha256::new(),
            free: FREE,
        }
    }

    fn next(&mut self) -> Ref {
        let next = Ref::new(self.free);
        self.free += 1;
        next
    }

    /// Adds a page.
    ///
    /// # Errors
    /// [`SheetError::MissingGlyph`] for a character that cannot be printed.
    pub fn page(&mut self, page: &Page) -> Result<(), SheetError> {
        let content = Pen::new(page.paper, &mut self.fonts).draw(&page.items)?;
        self.digest.update(&content);
        let (id, stream) = (self.next(), self.next());
        let (width, height) = size(page.paper);
        self.pdf
            .page(id)
            .media_box(Rect::new(0.0, 0.0, width, height))
            .parent(TREE)
            .contents(stream)
            .pair(Name(b"Resources"), RESOURCES);
        self.pdf
            .stream(stream, &compress_to_vec_zlib(&content, PRESSED))
            .filter(Filter::FlateDecode);
        for bookmark in &page.bookmarks {
            self.bookmarks.push(Bookmark {
                name: bookmark.name.clone(),
                page: id,
                height: points(page.paper.height() - bookmark.top),
            });
        }
        self.pages.push(id);
        Ok(())
    }

    /// Writes what the pages share, and gives the file.
    ///
    /// # Errors
    /// [`SheetError::Face`] if a face cannot be cut to the letters used.
    pub fn finish(mut self, particulars: &Particulars) -> Result<Vec<u8>, SheetError> {
        let count = i32::try_from(self.pages.len())
            .map_err(|_| SheetError::Writer("it has too many pages".to_owned()))?;
        self.pdf
            .pages(TREE)
            .kids(self.pages.iter().copied())
            .count(count);
        self.free = self.fonts.write(&mut self.pdf, RESOURCES, self.free)?;
        let outline = self.outline();
        self.digest.update(format!("{particulars:?}"));
        for bookmark in &self.bookmarks {
            self.digest.update(&bookmark.name);
        }

        let made = date(particulars.made);
        let producer = TextStr(&particulars.producer);
        self.pdf
            .document_info(INFO)
            .title(TextStr(&particulars.title))
            .creator(producer)
            .producer(producer)
            .creation_date(made)
            .modified_date(made);
        let mut catalog = self.pdf.catalog(CATALOG);
        catalog
            .pages(TREE)
            .lang(TextStr("en"))
            .page_layout(PageLayout::SinglePage);
        if let Some(outline) = outline {
            catalog.outlines(outline).page_mode(PageMode::UseOutlines);
        }
        catalog
            .viewer_preferences()
            .display_doc_title(true)
            .pair(Name(b"PrintScaling"), Name(b"None"));
        drop(catalog);
        let id: Vec<u8> = self.digest.finalize().iter().take(16).copied().collect();
        self.pdf.set_file_id((id.clone(), id));
        Ok(self.pdf.finish())
    }

    /// The bookmarks, in the order of the pages.
    fn outline(&mut self) -> Option<Ref> {
        let count = i32::try_from(self.bookmarks.len()).ok()?;
        if count == 0 {
            return None;
        }
        let root = self.next();
        let first = self.free;
        let last = first + count - 1;
        self.free += count;
        for (id, bookmark) in (first..).zip(&self.bookmarks) {
            let mut item = self.pdf.outline_item(Ref::new(id));
            item.title(TextStr(&bookmark.name)).parent(root);
            if id > first {
                item.prev(Ref::new(id - 1));
            }
            if id < last {
                item.next(Ref::new(id + 1));
            }
            item.dest()
                .page(bookmark.page)
                .xyz(0.0, bookmark.height, None);
        }
        self.pdf
            .outline(root)
            .first(Ref::new(first))
            .last(Ref::new(last))
            .count(count);
        Some(root)
    }
}

/// Width and height in points.
fn size(paper: Paper) -> (f32, f32) {
    (points(paper.width()), points(paper.height()))
}

/// A moment in universal time.
fn date(made: DateTime<FixedOffset>) -> Date {
    let made = made.with_timezone(&Utc);
    let small = |number: u32| u8::try_from(number).unwrap_or_default();
    Date::new(u16::try_from(made.year()).unwrap_or_default())
        .month(small(made.month()))
        .day(small(made.day()))
        .hour(small(made.hour()))
        .minute(small(made.minute()))
        .second(small(made.second()))
        .utc_offset_hour(0)
}

#[cfg(test)]
mod tests;
