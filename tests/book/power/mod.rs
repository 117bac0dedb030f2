//! Simulated power cuts: what was acknowledged is on the disk.
//!
//! A child process does its work while `strace` records every system call that touches the book's
//! folder. From the record, the disk is rebuilt as a power cut at any moment may leave it: of all
//! that was not synced by then, any part may have reached it, sector by sector and in any order,
//! names in the folder included. The book is then opened as the keeper would open it.
//!
//! Where there is no strace the tests say NOT RUN and prove nothing. They do not cover disks that
//! claim to have written what they have not, nor ones that damage bytes which nobody wrote.

mod disk;
mod record;

use std::collections::BTreeMap;
use std::fs;

use rusqlite::Connection;
use scruple::book::{Book, BookError, verify};
use scruple::entry::Row;

use crate::dice::{Dice, how_many};
use crate::power::disk::Disk;
use crate::power::record::{Event, record};
use crate::room::{Folder, create, small_book};

/// Cuts `events` short at random moments, `cuts` times, and gives `judge` the folder as it may be
/// found afterwards, with the number of entries that had been acknowledged by then.
fn cut(
    before: &BTreeMap<String, Vec<u8>>,
    events: &[Event],
    cuts: u64,
    dice: &mut Dice,
    mut judge: impl FnMut(&Folder, usize, &str),
) {
    for _ in 0..cuts {
        let moment = usize::try_from(dice.below(events.len() as u64 + 1)).unwrap();
        let mut disk = Disk::holding(before);
        for event in &events[..moment] {
            disk.take(event);
        }
        let said = events[..moment]
            .iter()
            .filter(|event| matches!(event, Event::Said(_)))
            .count();
        let folder = Folder::new();
        let how = disk.lose_power(dice, folder.path());
        judge(
            &folder,
            said,
            &format!("cut at {moment} of {}, {how}", events.len()),
        );
    }
}

fn contents(folder: &Folder) -> BTreeMap<String, Vec<u8>> {
    fs::read_dir(folder.path())
        .unwrap()
        .map(|file| file.unwrap())
        .map(|file| {
            let name = file.file_name().into_string().unwrap();
            (name, fs::read(file.path()).unwrap())
        })
        .collect()
}

/// SCRUPLE_CUTS cuts while entries are appended.
#[test]
fn what_was_acknowledged_outlives_a_power_cut() {
    let (mut dice, mut more) = (Dice::new(), Dice::new());
    let cuts = how_many("SCRUPLE_CUTS", 80);
    let recordings = cuts.div_ceil(500);
    let (mut undone, mut unsaid, mut twice) = (0, 0, 0);
    for recording in 0..recordings {
        let folder = Folder::new();
        let path = folder.at("a.book");
        drop(small_book(&path, 10));
        let before = contents(&folder);
        let Some(events) = record("append", &path, recording, 25) else {
            return;
        };
        let all = Book::open(&path).unwrap().read_all().unwrap();
        let check = |path: &std::path::Path, said: usize, how: &str| -> Vec<Row> {
            let rows = Book::open(path).and_then(|book| book.read_all());
            let rows = rows.unwrap_or_else(|error| panic!("{how}: {error}"));
            assert!(verify(path, |_, _| {}).unwrap().is_sound(), "{how}");
            assert!(
                rows.len() >= 10 + said,
                "{how}: {} of {said} are there",
                rows.len() - 10
            );
            assert_eq!(rows[..], all[..rows.len()], "{how}");
            rows
        };
        let share = cuts / recordings;
        cut(&before, &events, share, &mut dice, |left, said, how| {
            undone += u64::from(left.at("a.book-journal").exists());
            // Now and then the power goes again while the book is being opened.
            let again = contents(left);
            let rows = check(&left.at("a.book"), said, how);
            unsaid += rows.len() - 10 - said;
            if again.contains_key("a.book-journal") && recordings > 1 && twice < 4 * recordings {
                let retry = Folder::new();
                for (name, content) in &again {
                    fs::write(retry.at(name), content).unwrap();
                }
                let opening = record("open", &retry.at("a.book"), 0, 0).unwrap();
                twice += 1;
                cut(&again, &opening, 20, &mut more, |left, _, then| {
                    check(&left.at("a.book"), said, &format!("{how}, then {then}"));
                });
            }
        });
    }
    println!(
        "{cuts} power cuts in {recordings} recordings: {undone} left a journal to be undone; \
         every acknowledged entry was there, and {unsaid} more that had not been acknowledged \
         yet; {twice} openings were cut again, 20 times each"
    );
}

/// A book that is being begun is there or not, never half.
#[test]
fn a_beginning_is_whole_or_nothing() {
    let folder = Folder::new();
    let before = contents(&folder);
    let Some(events) = record("create", &folder.at("a.book"), 0, 0) else {
        return;
    };
    let cuts = how_many("SCRUPLE_CUTS", 80) / 2;
    let (mut none, mut some) = (0, 0);
    cut(
        &before,
        &events,
        cuts,
        &mut Dice::new(),
        |left, said, how| {
            let path = left.at("a.book");
            match Book::open(&path) {
                Ok(book) => {
                    assert_eq!(book.read_all().unwrap(), [], "{how}");
                    assert!(verify(&path, |_, _| {}).unwrap().is_sound(), "{how}");
                    some += 1;
                }
                Err(BookError::NoBook { .. } | BookError::NotABook { .. }) => {
                    assert_eq!(said, 0, "{how}");
                    none += 1;
                }
                Err(error) => panic!("{how}: {error}"),
            }
        },
    );
    println!("{cuts} power cuts at a beginning: {some} whole books, {none} without one");
}

/// A backup that replaces an older one leaves the one or the other.
#[test]
fn a_backup_is_the_old_or_the_new_one() {
    let folder = Folder::new();
    let path = folder.at("a.book");
    let book = small_book(&path, 40);
    drop(create(&folder.at("a.book.copy")));
    let before = contents(&folder);
    let Some(events) = record("backup", &path, 0, 0) else {
        return;
    };
    let all = book.read_all().unwrap();
    let cuts = how_many("SCRUPLE_CUTS", 80) / 2;
    let (mut old, mut new) = (0, 0);
    cut(
        &before,
        &events,
        cuts,
        &mut Dice::new(),
        |left, said, how| {
            let copy = left.at("a.book.copy");
            assert!(verify(&copy, |_, _| {}).unwrap().is_sound(), "{how}");
            let rows = Book::open(&copy).unwrap().read_all().unwrap();
            if rows.is_empty() {
                assert_eq!(said, 0, "{how}");
                old += 1;
            } else {
                assert_eq!(rows, all, "{how}");
                new += 1;
            }
        },
    );
    println!("{cuts} power cuts at a backup: {old} left the old copy, {new} the new one");
}

/// The simulation has teeth: writers who sync less than the book does lose what they acknowledged.
#[test]
fn careless_writers_lose_what_they_acknowledged() {
    let mut dice = Dice::new();
    for mode in ["off", "normal", "full", "extra"] {
        let folder = Folder::new();
        let path = folder.at("a.book");
        let conn = Connection::open(&path).unwrap();
        conn.execute_batch("CREATE TABLE kept(n INTEGER PRIMARY KEY, text TEXT)")
            .unwrap();
        drop(conn);
        let before = contents(&folder);
        let Some(events) = record(&format!("careless {mode}"), &path, 0, 12) else {
            return;
        };
        let cuts = how_many("SCRUPLE_CUTS", 80);
        let mut lost = 0;
        cut(&before, &events, cuts, &mut dice, |left, said, _| {
            let there = Connection::open(left.at("a.book")).and_then(|conn| {
                let whole: String =
                    conn.query_row("PRAGMA integrity_check", [], |row| row.get(0))?;
                let count: i64 =
                    conn.query_row("SELECT count(*) FROM kept", [], |row| row.get(0))?;
                Ok(whole == "ok" && usize::try_from(count).unwrap() >= said)
            });
            lost += u64::from(!there.unwrap_or(false));
        });
        println!("synchronous={mode}: {lost} of {cuts} power cuts lost something acknowledged");
        match mode {
            "extra" => assert_eq!(lost, 0),
            "off" | "full" => assert!(lost > 0, "{mode}"),
            // Syncs less often than full; by how much it loses is luck.
            _ => {}
        }
    }
}
