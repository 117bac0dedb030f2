//! Many writers at once: none loses an entry, and a gate lets one through.

use std::collections::{BTreeMap, BTreeSet};
use std::thread;
use std::time::{Duration, Instant};

use scruple::book::{AppendError, Book, BookError, Draft, Kept, verify};

use crate::child::{command, said};
use crate::dice::how_many;
use crate::room::{Folder, append, create, entry};

#[test]
fn threads_that_append_at_once_lose_nothing() {
    let folder = Folder::new();
    let path = folder.at("a.book");
    drop(create(&path));
    let kept: Vec<_> = thread::scope(|scope| {
        let work: Vec<_> = (0..4)
            .map(|who| {
                let path = &path;
                scope.spawn(move || {
                    let mut book = Book::open(path).unwrap();
                    let mut kept = Vec::new();
                    for number in 0..15 {
                        let rows = vec![
                            entry("settings", who * 1000 + number),
                            entry(&format!("animal:{who}"), number),
                        ];
                        kept.extend(append(&mut book, rows).unwrap());
                    }
                    kept
                })
            })
            .collect();
        work.into_iter()
            .flat_map(|work| work.join().unwrap())
            .collect()
    });
    let rows = Book::open(&path).unwrap().read_all().unwrap();
    assert_eq!(rows.len(), 4 * 15 * 2);
    assert!(kept.iter().all(|row| rows.contains(row)));
}

/// SCRUPLE_CROWD processes with SCRUPLE_CROWD_ENTRIES mixed entries each.
#[test]
fn processes_that_append_at_once_lose_nothing_and_give_nothing_twice() {
    let folder = Folder::new();
    let path = folder.at("a.book");
    drop(create(&path));
    let processes = how_many("SCRUPLE_CROWD", 4);
    let entries = how_many("SCRUPLE_CROWD_ENTRIES", 25);
    let began = Instant::now();
    let children: Vec<_> = (0..processes)
        .map(|who| command("crowd", &path, who, entries).spawn().unwrap())
        .collect();
    let mut kept = BTreeMap::new();
    let mut closed = 0;
    for child in children {
        let output = child.wait_with_output().unwrap();
        let (text, errors) = (
            String::from_utf8(output.stdout).unwrap(),
            String::from_utf8_lossy(&output.stderr).into_owned(),
        );
        assert!(output.status.success(), "{text}\n{errors}");
        closed += said(&text, "closed ").count() as u64;
        for line in said(&text, "kept ") {
            let (seq, link) = line.split_once(' ').unwrap();
            let twice = kept.insert(seq.parse::<u64>().unwrap(), link.to_owned());
            assert_eq!(twice, None, "number {seq} was acknowledged twice");
        }
    }
    let took = began.elapsed();
    let rows = Book::open(&path).unwrap().read_all().unwrap();
    let found: BTreeMap<u64, String> = rows.iter().map(|row| (row.seq, row.link.clone())).collect();
    assert_eq!(found, kept);
    assert!(verify(&path, |_, _| {}).unwrap().is_sound());
    // Everyone tried every slot; each was given once, by whoever came first.
    let slots = entries / 5;
    let given: Vec<&str> = rows
        .iter()
        .filter(|row| row.subject == "animal:Shared")
        .map(|row| row.kind.as_str())
        .collect();
    assert_eq!(given.len() as u64, slots);
    assert_eq!(given.iter().collect::<BTreeSet<_>>().len() as u64, slots);
    assert_eq!(closed, (processes - 1) * slots);
    assert_eq!(rows.len() as u64 + closed, processes * entries);
    println!(
        "{processes} processes x {entries}: {} entries kept, {closed} doses found given already, \
         {took:?}",
        rows.len()
    );
}

/// What a second writer is told when the first one takes too long, and that it can then go on.
#[test]
fn a_book_in_use_is_waited_for_and_then_said_to_be_in_use() {
    let folder = Folder::new();
    let path = folder.at("a.book");
    let mut one = create(&path);
    let mut two = Book::open(&path).unwrap();
    two.set_patience(Duration::from_millis(30)).unwrap();
    let done = one.append(|view| {
        assert_eq!(view.entries(), 0);
        let error = append(&mut two, vec![entry("settings", 1)]).unwrap_err();
        assert!(matches!(error, BookError::Locked { .. }), "{error}");
        assert!(
            error.to_string().contains("being used by someone else"),
            "{error}"
        );
        assert_eq!(error.kept(), Kept::Nothing);
        assert!(error.is_failure());
        // To be read, it need not wait.
        assert_eq!(Book::open_read_only(&path).unwrap().read_all().unwrap(), []);
        Ok::<Draft, BookError>(vec![entry("settings", 2)].into())
    });
    assert_eq!(done.unwrap().len(), 1);
    append(&mut two, vec![entry("settings", 1)]).unwrap();
    assert_eq!(one.read_all().unwrap().len(), 2);
}

/// A reader who holds on keeps a writer from finishing; the writer then leaves nothing behind.
#[test]
fn a_writer_that_cannot_finish_leaves_nothing() {
    let folder = Folder::new();
    let path = folder.at("a.book");
    let mut writer = create(&path);
    append(&mut writer, vec![entry("settings", 1)]).unwrap();
    writer.set_patience(Duration::from_millis(30)).unwrap();
    let reader = Book::open_read_only(&path).unwrap();
    let held: Result<(), BookError> = reader.view(|view| {
        let before = view.read_all()?;
        let error = append(&mut writer, vec![entry("settings", 2)]).unwrap_err();
        assert!(matches!(error, BookError::Locked { .. }), "{error}");
        assert_eq!(view.read_all()?, before);
        Ok(())
    });
    held.unwrap();
    assert_eq!(reader.read_all().unwrap().len(), 1);
    let error = writer.append(|_| Err::<Draft, _>("only looking"));
    assert!(matches!(error, Err(AppendError::Judged("only looking"))));
    append(&mut writer, vec![entry("settings", 3)]).unwrap();
    assert_eq!(reader.read_all().unwrap().len(), 2);
    assert!(verify(&path, |_, _| {}).unwrap().is_sound());
}
