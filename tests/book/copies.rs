//! Backups, and books made again from what was read out of another.

use std::fs;

use scruple::book::{Book, BookError, Draft, Folders, rescue, verify};
use scruple::entry::{NewRow, Row};

use crate::room::{Folder, append, append_draft, entry, small_book};

#[test]
fn a_backup_is_the_same_book() {
    let folder = Folder::new();
    let (path, copy) = (folder.at("a.book"), folder.at("b.book"));
    let mut book = small_book(&path, 50);
    book.backup(&copy, false).unwrap();
    let copied = Book::open(&copy).unwrap();
    assert_eq!(copied.read_all().unwrap(), book.read_all().unwrap());
    assert_eq!((copied.id(), copied.zone()), (book.id(), book.zone()));
    assert!(verify(&copy, |_, _| {}).unwrap().is_sound());
    // It is left alone unless it is to be replaced, and goes its own way.
    append(&mut book, vec![entry("animal:Nubbet", 60)]).unwrap();
    let error = book.backup(&copy, false).unwrap_err();
    assert!(matches!(error, BookError::AlreadyThere { .. }), "{error}");
    assert_eq!(copied.read_all().unwrap().len(), 50);
    drop(copied);
    book.backup(&copy, true).unwrap();
    let mut copied = Book::open(&copy).unwrap();
    assert_eq!(copied.read_all().unwrap().len(), 51);
    append(&mut copied, vec![entry("animal:Nubbet", 61)]).unwrap();
    assert_eq!(book.read_all().unwrap().len(), 51);
    // From a place where the book can only be read.
    let reader = Book::open_read_only(&path).unwrap();
    reader.backup(&folder.at("c.book"), false).unwrap();
    let files: Vec<_> = fs::read_dir(folder.path())
        .unwrap()
        .map(|file| file.unwrap().file_name())
        .collect();
    assert_eq!(files.len(), 3, "{files:?}");
}

#[test]
fn a_backup_is_consistent_while_others_write() {
    let folder = Folder::new();
    let path = folder.at("a.book");
    let book = small_book(&path, 50);
    std::thread::scope(|scope| {
        scope.spawn(|| {
            let mut other = Book::open(&path).unwrap();
            for number in 0..20 {
                let rows = vec![entry("animal:Thimblo", number), entry("settings", number)];
                append(&mut other, rows).unwrap();
            }
        });
        for number in 0..5 {
            let copy = folder.at(&format!("{number}.book"));
            book.backup(&copy, false).unwrap();
            let rows = Book::open(&copy).unwrap().read_all().unwrap();
            assert_eq!(rows.len() % 2, 0);
            assert_eq!(book.read_all().unwrap()[..rows.len()], rows[..]);
        }
    });
}

#[test]
fn a_backup_goes_nowhere_it_would_do_harm() {
    let folder = Folder::new();
    let path = folder.at("a.book");
    let book = small_book(&path, 50);
    let error = book.backup(&path, true).unwrap_err();
    assert!(matches!(error, BookError::OntoItself { .. }), "{error}");
    let copy = folder.at("b.book");
    fs::write(folder.at("b.book-journal"), "someone's").unwrap();
    let error = book.backup(&copy, true).unwrap_err();
    assert!(matches!(error, BookError::JournalBeside { .. }), "{error}");
    assert!(!copy.exists());
    let error = book.backup(&folder.at("nowhere/b.book"), true).unwrap_err();
    assert!(matches!(error, BookError::NoFolder { .. }), "{error}");
    // A damaged book does not take the place of a sound copy.
    let good = folder.at("good.book");
    book.backup(&good, false).unwrap();
    let bytes = fs::read(&good).unwrap();
    drop(book);
    let conn = rusqlite::Connection::open(&path).unwrap();
    let guard: String = conn
        .query_row(
            "SELECT sql FROM sqlite_schema WHERE name = 'entry_stay'",
            [],
            |row| row.get(0),
        )
        .unwrap();
    conn.execute_batch("DROP TRIGGER entry_stay; UPDATE entry SET kind = '' WHERE seq = 9")
        .unwrap();
    conn.execute_batch(&guard).unwrap();
    let book = Book::open(&path).unwrap();
    let error = book.backup(&good, true).unwrap_err();
    assert!(matches!(error, BookError::Damaged(_)), "{error}");
    assert_eq!(fs::read(&good).unwrap(), bytes);
}

/// Appended again in order to an empty book of the same identity, the entries make the same
/// chains: what an import stands on.
#[test]
fn a_book_made_again_is_the_same_book() {
    let folder = Folder::new();
    let path = folder.at("a.book");
    let book = small_book(&path, 50);
    let saved = rescue(&path, |_, _| {}).unwrap();
    assert!(saved.reading.damage.is_empty());
    let again = folder.at("again.book");
    let mut made = Book::create(
        &again,
        &saved.zone.unwrap(),
        saved.id.unwrap(),
        saved.made.unwrap(),
        Folders::MustExist,
    )
    .unwrap();
    let rows: Vec<NewRow> = saved.reading.rows.iter().map(Row::as_given).collect();
    let open_courses = saved.open_courses;
    append_draft(&mut made, Draft { rows, open_courses }).unwrap();
    assert_eq!(made.read_all().unwrap(), book.read_all().unwrap());
    let heads = |book: &Book| -> Vec<(String, scruple::book::Head)> {
        let heads: Result<_, BookError> = book.view(|view| {
            Ok(view
                .heads()
                .map(|(name, head)| (name.into(), head.clone()))
                .collect())
        });
        heads.unwrap()
    };
    assert_eq!(heads(&made), heads(&book));
    assert!(verify(&again, |_, _| {}).unwrap().is_sound());
}
