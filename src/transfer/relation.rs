//! How a book stands to an export of it.

use crate::entry::Row;

/// How a book stands to an export.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Relation {
    /// Both hold the same entries.
    Same,
    /// The export has gone on from the book: it holds so many more.
    Behind(usize),
    /// The book has gone on from the export: it holds so many more.
    Ahead(usize),
    /// Both have gone on from a common beginning, each in its own way.
    Fork(Box<Fork>),
}

/// Where a book and an export part.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Fork {
    /// The first entry that differs, as the book has it.
    pub here: Row,
    /// The same number as the export has it.
    pub there: Row,
}

/// Compares the entries of a book with those of an export, both in order.
#[must_use]
pub fn relation(book: &[Row], export: &[Row]) -> Relation {
    let mut pairs = book.iter().zip(export);
    if let Some((here, there)) = pairs.find(|(here, there)| here != there) {
        let (here, there) = (here.clone(), there.clone());
        return Relation::Fork(Box::new(Fork { here, there }));
    }
    match (book.len(), export.len()) {
        (here, there) if here < there => Relation::Behind(there - here),
        (here, there) if here > there => Relation::Ahead(here - there),
        _ => Relation::Same,
    }
}
