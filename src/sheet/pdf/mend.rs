//! What printpdf cannot be told, set in the objects that it made.
//!
//! Promises: the file has no label of a standard it does not keep, an identity that hangs on its
//! content alone, bookmarks in the order and at the height they were given, and asks to be
//! printed at its true size. Does not: touch what is drawn.

use lopdf::{Dictionary, Document, Error, Object};
use sha2::{Digest, Sha256};

/// The name by which a bookmark is handed to printpdf, which sorts those of one page by name.
pub fn numbered(number: usize, name: &str) -> String {
    format!("{number:0DIGITS$}{name}")
}

/// How many digits stand before the name.
const DIGITS: usize = 10;

/// Mends a file. `heights` are the bookmarks' in points from the lower edge of their pages.
///
/// # Errors
/// An [`Error`] if the objects are not as printpdf makes them.
pub fn mend(file: &mut Document, heights: &[f32]) -> Result<(), Error> {
    file.version = "1.7".to_owned();
    let info = file.trailer.get(b"Info")?.as_reference()?;
    let info = file.get_dictionary_mut(info)?;
    // An empty mark makes readers take the file for PDF/X, which it is not.
    for unused in [
        "GTS_PDFXVersion",
        "Identifier",
        "Keywords",
        "Subject",
        "Author",
    ] {
        info.remove(unused.as_bytes());
    }

    let catalog = file.catalog_mut()?;
    catalog.set("Lang", Object::string_literal("en"));
    catalog.set("PageLayout", "SinglePage");
    let mut viewing = Dictionary::new();
    viewing.set("PrintScaling", "None");
    viewing.set("DisplayDocTitle", true);
    catalog.set("ViewerPreferences", viewing);
    if heights.is_empty() {
        return Ok(());
    }
    catalog.set("PageMode", "UseOutlines");
    let outlines = catalog.get(b"Outlines")?.as_reference()?;
    let mut next = file.get_dictionary(outlines)?.get(b"First")?.as_reference();
    for height in heights {
        let bookmark = file.get_dictionary_mut(next?)?;
        next = bookmark.get(b"Next").and_then(Object::as_reference);
        place(bookmark, *height)?;
    }
    Ok(())
}

/// Gives a file that is otherwise finished what it is known by: a digest of all that is in it.
pub fn identify(file: &mut Document) {
    let mut digest = Sha256::new();
    for object in file.objects.values() {
        match object {
            Object::Stream(stream) => digest.update(&stream.content),
            other => digest.update(format!("{other:?}")),
        }
    }
    let id: Vec<u8> = digest.finalize().iter().take(16).copied().collect();
    let id = Object::string_literal(id);
    file.trailer.set("ID", vec![id.clone(), id]);
}

/// Takes a bookmark's number from its name and leads it to a height.
fn place(bookmark: &mut Dictionary, height: f32) -> Result<(), Error> {
    // UTF-16 after a mark of two bytes (ISO 32000-1, 7.9.2.2).
    let title = bookmark.get_mut(b"Title")?.as_str_mut()?;
    let number = 2..(2 + 2 * DIGITS).min(title.len());
    title.drain(number);
    let place = bookmark.get_mut(b"Dest")?.as_array_mut()?;
    // Page, "XYZ", left, top, magnification: 0 keeps that of the viewer (12.3.2.2).
    place.truncate(2);
    place.extend([0.into(), height.into(), 0.into()]);
    Ok(())
}
