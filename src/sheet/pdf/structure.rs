//! The structure of a file for a reader that hears it: sections, text, drawings with their words.
//!
//! Promises: every stretch of every page has its place in the tree, in reading order, and a drawing
//! is told by the words for what it shows. Does not: tell headings, tables or lists from text, and
//! so claims no standard of accessible files.

use lopdf::{Dictionary, Document, Error, Object, ObjectId, text_string};

use crate::sheet::page::Stretch;

/// The parts of a page, each in its stretches.
pub type Parts = Vec<Vec<Stretch>>;

/// What a stretch is called in the file (ISO 32000-1, 14.8.4).
pub fn role(stretch: &Stretch) -> &'static str {
    match stretch.drawing {
        Some(_) => "Figure",
        None => "P",
    }
}

/// Gives a file the tree of its structure (ISO 32000-1, 14.7). The stretches of a page are
/// numbered from 0, as they are marked in what is drawn on it.
///
/// # Errors
/// An [`Error`] if the objects are not as printpdf makes them.
pub fn build(file: &mut Document, pages: &[Parts]) -> Result<(), Error> {
    let ids: Vec<ObjectId> = file.page_iter().collect();
    let (tree, whole) = (file.new_object_id(), file.new_object_id());
    let mut sections: Vec<Object> = Vec::new();
    let mut parents: Vec<Object> = Vec::new();
    for ((key, page), parts) in (0_i64..).zip(ids).zip(pages) {
        let mut on_page: Vec<Object> = Vec::new();
        for part in parts {
            let section = file.new_object_id();
            let mut within: Vec<Object> = Vec::new();
            for stretch in part {
                let number = i64::try_from(on_page.len()).unwrap_or(i64::MAX);
                let mut own = element(role(stretch), section);
                own.set("Pg", page);
                own.set("K", number);
                if let Some(words) = &stretch.drawing {
                    own.set("Alt", text_string(words));
                }
                let own = Object::Reference(file.add_object(own));
                on_page.push(own.clone());
                within.push(own);
            }
            let mut own = element("Sect", whole);
            own.set("K", within);
            file.set_object(section, own);
            sections.push(section.into());
        }
        file.get_dictionary_mut(page)?.set("StructParents", key);
        parents.extend([key.into(), on_page.into()]);
    }
    let mut document = element("Document", tree);
    document.set("K", sections);
    file.set_object(whole, document);

    let next = i64::try_from(pages.len()).unwrap_or(i64::MAX);
    let mut numbers = Dictionary::new();
    numbers.set("Nums", parents);
    let numbers = file.add_object(numbers);
    let mut root = Dictionary::new();
    root.set("Type", "StructTreeRoot");
    root.set("K", whole);
    root.set("ParentTree", numbers);
    root.set("ParentTreeNextKey", next);
    file.set_object(tree, root);

    let mut marked = Dictionary::new();
    marked.set("Marked", true);
    let catalog = file.catalog_mut()?;
    catalog.set("MarkInfo", marked);
    catalog.set("StructTreeRoot", tree);
    Ok(())
}

fn element(role: &str, parent: ObjectId) -> Dictionary {
    let mut element = Dictionary::new();
    element.set("S", role);
    element.set("P", parent);
    element
}
