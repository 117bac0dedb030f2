//! Finished pages: what is drawn on each, pressed together, out of the file it was written in and
//! into the one that is handed over.
//!
//! Promises: what is drawn is not changed; pages keep their order; the pages of a file share one
//! list of what they may use, which is the same for all, and say nothing that goes without saying.
//! Does not: know what is drawn.

use std::io::Write;

use flate2::Compression;
use flate2::write::ZlibEncoder;
use lopdf::{Dictionary, Document, Error, Object, ObjectId, Stream};

/// What is drawn on a page, as it stands in a file.
pub struct Pressed(Vec<u8>);

/// How hard, of 9: on a long card 6 takes two thirds longer, and saves a twentieth.
const HARD: u32 = 5;

/// Takes what is drawn on each page out of a file.
///
/// # Errors
/// An [`Error`] if the objects are not as printpdf makes them.
pub fn out_of(mut file: Document) -> Result<Vec<Pressed>, Error> {
    let pages: Vec<ObjectId> = file.page_iter().collect();
    let each = pages.into_iter().map(|page| {
        let drawn = drawn(&file, page)?;
        match file.objects.remove(&drawn) {
            Some(Object::Stream(stream)) => press(&stream.content),
            _ => Err(Error::MissingXrefEntry),
        }
    });
    each.collect()
}

/// Puts what is drawn into the pages of a file, in order.
///
/// # Errors
/// An [`Error`] if the objects are not as printpdf makes them.
pub fn into(file: &mut Document, contents: Vec<Pressed>) -> Result<(), Error> {
    let pages: Vec<ObjectId> = file.page_iter().collect();
    let mut shared = None;
    for (page, Pressed(content)) in pages.into_iter().zip(contents) {
        let drawn = drawn(file, page)?;
        let mut dictionary = Dictionary::new();
        dictionary.set("Filter", "FlateDecode");
        let stream = Stream::new(dictionary, content).with_compression(false);
        file.set_object(drawn, stream);

        let page = file.get_dictionary_mut(page)?;
        // Without these a page is trimmed and cut as large as it is (ISO 32000-1, 14.11.2).
        for unneeded in ["TrimBox", "CropBox", "Annots"] {
            page.remove(unneeded.as_bytes());
        }
        let own = page.get(b"Resources")?.as_reference()?;
        let first = *shared.get_or_insert(own);
        if own != first {
            page.set("Resources", first);
            file.objects.remove(&own);
        }
    }
    Ok(())
}

/// The object of what is drawn on a page.
fn drawn(file: &Document, page: ObjectId) -> Result<ObjectId, Error> {
    file.get_dictionary(page)?.get(b"Contents")?.as_reference()
}

fn press(content: &[u8]) -> Result<Pressed, Error> {
    let mut press = ZlibEncoder::new(Vec::new(), Compression::new(HARD));
    press.write_all(content)?;
    let mut pressed = press.finish()?;
    pressed.shrink_to_fit();
    Ok(Pressed(pressed))
}
