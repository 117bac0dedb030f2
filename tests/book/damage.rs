//! A damaged book goes on as far as it can: the other subjects are read and written, and all that
//! can be read is saved.

use std::fs;
use std::path::Path;

use rusqlite::Connection;
use rusqlite::config::DbConfig;
use scruple::book::{Book, BookError, BookId, Damage, Fault, rescue, verify};
use scruple::entry::Row;

use crate::room::{Folder, append, entry, small_book};

/// A book of 30 entries, changed with the guards asleep, and what it held before.
fn damaged(path: &Path, statements: &str) -> Vec<Row> {
    let before = small_book(path, 30).read_all().unwrap();
    let conn = Connection::open(path).unwrap();
    conn.set_db_config(DbConfig::SQLITE_DBCONFIG_ENABLE_TRIGGER, false)
        .unwrap();
    conn.execute_batch(statements).unwrap();
    before
}

/// An entry bears its subject twice: itself, and in the index that finds it. What is read is the
/// entry's own.
#[test]
fn an_entry_is_read_where_it_stands() {
    let folder = Folder::new();
    let path = folder.at("a.book");
    drop(small_book(&path, 30));
    let good = fs::read(&path).unwrap();
    // Only in an entry do a number and then a course or a kind stand behind the subject.
    let subject = b"animal:Thimblo";
    let next: [&[u8]; 3] = [b"DEM", b"wei", b"giv"];
    let places = good.windows(subject.len() + 4).enumerate();
    let places = places.filter(|(_, bytes)| {
        bytes.starts_with(subject) && next.iter().any(|next| bytes.ends_with(next))
    });
    let places: Vec<usize> = places.map(|(place, _)| place).collect();
    let mut noticed = 0;
    for place in places {
        let mut bad = good.clone();
        bad[place + 2] ^= 125;
        fs::write(&path, &bad).unwrap();
        let book = Book::open(&path).unwrap();
        // What a page no longer counts as its own is still there, and harmless.
        let stands = !verify(&path, |_, _| {}).unwrap().is_sound();
        assert_eq!(book.read_subject("animal:Thimblo").is_err(), stands);
        assert!(book.read_subject("animal:Nubbet").is_ok());
        noticed += u32::from(stands);
    }
    assert!(noticed > 0);
}

#[test]
fn one_damaged_subject_leaves_the_others_in_use() {
    let folder = Folder::new();
    let path = folder.at("a.book");
    let before = damaged(
        &path,
        "UPDATE entry SET body = '{}' WHERE subject = 'animal:Thimblo' AND n >= 4",
    );
    let seq = before
        .iter()
        .find(|row| row.subject == "animal:Thimblo" && row.n == 4)
        .unwrap()
        .seq;
    let wanted = Damage {
        subject: Some("animal:Thimblo".into()),
        n: Some(4),
        seq: Some(seq),
        fault: Fault::EntryChanged,
    };
    let mut book = Book::open(&path).unwrap();
    let reading = book.read_sound().unwrap();
    assert_eq!(reading.damage, std::slice::from_ref(&wanted));
    let sound: Vec<&Row> = before
        .iter()
        .filter(|row| row.subject != "animal:Thimblo")
        .collect();
    assert_eq!(reading.rows.iter().collect::<Vec<_>>(), sound);
    assert_eq!(reading.rows.len() + reading.unsound.len(), 30);
    assert!(matches!(book.read_all(), Err(BookError::Damaged(found)) if *found == wanted));
    // Walked from its newest entry, the chain breaks at the newest one that was changed.
    let error = book.read_subject("animal:Thimblo").unwrap_err();
    assert!(error.is_failure());
    let text = error.to_string();
    assert!(text.starts_with("animal:Thimblo, entry "), "{text}");
    assert!(text.contains("not as it was written"), "{text}");
    assert!(book.damage_of("animal:Thimblo").unwrap().is_some());
    assert_eq!(book.damage_of("animal:Nubbet").unwrap(), None);
    book.read_subject("animal:Nubbet").unwrap();
    // What happens is still recorded, for the others and for this one.
    append(
        &mut book,
        vec![entry("animal:Nubbet", 50), entry("animal:Thimblo", 51)],
    )
    .unwrap();
    let reading = book.read_sound().unwrap();
    assert_eq!(reading.damage, std::slice::from_ref(&wanted));
    assert_eq!(verify(&path, |_, _| {}).unwrap().damage, [wanted]);
    assert_eq!(
        reading.rows.last().unwrap().as_given(),
        entry("animal:Nubbet", 50)
    );
    assert_eq!(
        reading.unsound.last().unwrap().as_given(),
        entry("animal:Thimblo", 51)
    );
}

#[test]
fn a_chain_is_sound_as_far_back_as_it_is_read() {
    let folder = Folder::new();
    let path = folder.at("a.book");
    damaged(
        &path,
        "UPDATE entry SET body = '{}' WHERE subject = 'animal:Thimblo' AND n = 2",
    );
    let book = Book::open(&path).unwrap();
    let newest: Result<Vec<Row>, BookError> =
        book.view(|view| view.read_back("animal:Thimblo", |row| row.n > 4));
    assert_eq!(newest.unwrap()[0].n, 4);
    let further: Result<Vec<Row>, BookError> =
        book.view(|view| view.read_back("animal:Thimblo", |row| row.n > 1));
    assert!(matches!(further, Err(BookError::Damaged(damage)) if damage.n == Some(2)));
}

#[test]
fn a_damaged_head_stops_its_own_subject_alone() {
    for statement in [
        "UPDATE head SET open_courses = 9 WHERE subject = 'animal:Thimblo'",
        "UPDATE head SET seal = replace(seal, 'a', 'b') WHERE subject = 'animal:Thimblo'",
        "UPDATE head SET subject = 'animal:Tximblo' WHERE subject = 'animal:Thimblo'",
        "DELETE FROM head WHERE subject = 'animal:Thimblo'",
    ] {
        let folder = Folder::new();
        let path = folder.at("a.book");
        let before = damaged(&path, statement);
        let mut book = Book::open(&path).unwrap();
        assert!(!book.damage().is_empty(), "{statement}");
        let error = book.read_subject("animal:Thimblo").unwrap_err();
        assert!(
            matches!(error, BookError::Damaged(_)),
            "{statement}: {error}"
        );
        let reading = book.read_sound().unwrap();
        assert!(!reading.damage.is_empty());
        assert!(
            reading
                .rows
                .iter()
                .all(|row| row.subject != "animal:Thimblo")
        );
        assert_eq!(reading.rows.len() + reading.unsound.len(), before.len());
        // Its chain cannot be gone on from, nor may another be begun beside it.
        let error = append(&mut book, vec![entry("animal:Thimblo", 50)]).unwrap_err();
        assert!(
            matches!(error, BookError::Damaged(_)),
            "{statement}: {error}"
        );
        let error = append(&mut book, vec![entry("animal:Tximblo", 50)]).unwrap_err();
        assert!(
            matches!(error, BookError::Damaged(_)),
            "{statement}: {error}"
        );
        append(&mut book, vec![entry("animal:Nubbet", 50)]).unwrap();
        book.read_subject("animal:Nubbet").unwrap();
        assert!(!verify(&path, |_, _| {}).unwrap().is_sound());
    }
}

#[test]
fn a_book_that_cannot_be_opened_can_still_be_saved() {
    for statement in [
        "UPDATE top SET link = replace(link, 'a', 'b')",
        "DELETE FROM top",
        "DROP TABLE top",
        "DROP TRIGGER entry_stay",
        "UPDATE book SET zone = 'UTC'",
        "PRAGMA writable_schema = ON;
         UPDATE sqlite_schema SET sql = replace(sql, 'CREATE', 'XREATE') WHERE name = 'top_keep'",
    ] {
        let folder = Folder::new();
        let path = folder.at("a.book");
        let before = damaged(&path, statement);
        assert!(
            matches!(Book::open(&path), Err(BookError::Damaged(_))),
            "{statement}"
        );
        let saved = rescue(&path, |_, _| {}).unwrap();
        assert!(!saved.reading.damage.is_empty(), "{statement}");
        assert_eq!(saved.reading.rows, before, "{statement}");
        assert_eq!(saved.id, Some(BookId::from_seed("book tests")));
        assert_eq!(
            saved.open_courses.into_iter().collect::<Vec<_>>(),
            [(String::from("animal:Thimblo"), 2)]
        );
    }
    // Without its identity no first link can be checked; the entries are there all the same.
    let folder = Folder::new();
    let path = folder.at("a.book");
    let before = damaged(&path, "DROP TABLE book");
    let saved = rescue(&path, |_, _| {}).unwrap();
    assert_eq!(saved.id, None);
    assert_eq!(saved.reading.rows, before);
}

/// Whole pages of nonsense: each is noticed, and most cost little more than what stood on them. (The
/// page that holds the way to all entries costs them all: that is what backups are for.)
#[test]
fn pages_of_nonsense_are_noticed() {
    let folder = Folder::new();
    let path = folder.at("a.book");
    let before = small_book(&path, 400).read_all().unwrap();
    let good = fs::read(&path).unwrap();
    let pages = good.len() / 4096;
    let mut counts = Vec::new();
    for page in 1..pages {
        let mut bad = good.clone();
        bad[page * 4096..(page + 1) * 4096].fill(0xA5);
        fs::write(&path, &bad).unwrap();
        match verify(&path, |_, _| {}) {
            Ok(verdict) => assert!(!verdict.is_sound(), "page {page} was not noticed"),
            Err(error) => panic!("page {page}: {error}"),
        }
        let saved = rescue(&path, |_, _| {}).unwrap().reading;
        assert!(
            saved.rows.iter().all(|row| before.contains(row)),
            "page {page}"
        );
        counts.push(saved.rows.len() + saved.unsound.len());
    }
    counts.sort_unstable();
    let middle = counts[counts.len() / 2];
    println!(
        "{pages} pages; of {} entries {} were saved at worst, {middle} in the middle",
        before.len(),
        counts[0]
    );
    assert!(middle * 10 >= before.len() * 9);
}

#[test]
fn progress_reaches_the_end() {
    let folder = Folder::new();
    let path = folder.at("a.book");
    let mut book = small_book(&path, 1);
    append(
        &mut book,
        (0..3_000).map(|number| entry("settings", number)).collect(),
    )
    .unwrap();
    let mut told = Vec::new();
    let verdict = verify(&path, |done, all| told.push((done, all))).unwrap();
    assert!(verdict.is_sound());
    assert_eq!(told, [(1024, 3001), (2048, 3001), (3001, 3001)]);
}
