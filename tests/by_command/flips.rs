//! Single changed bytes, judged by what the commands then say: each is noticed, or changes nothing
//! that is said; and never is there a mark that was not there before.

use crate::dice::{Dice, how_many};
use crate::room::Room;
use scruple::book::{Book, BookError};
use scruple::cli::{World, run};
use serde_json::Value;
use std::collections::{BTreeMap, BTreeSet};
use std::ffi::OsString;
use std::fs;

/// When the demonstration room is looked at.
const NOW: &str = "2001-03-08 19:30";

/// What the reading commands say of one state of the file, on either stream, with the exit code.
#[derive(Debug, PartialEq, Eq)]
struct Said {
    card: (u8, String, String),
    today: (u8, String, String),
    check: (u8, String, String),
    verify: (u8, String, String),
}

impl Said {
    fn by(room: &Room) -> Said {
        let run = |line: &str| answer(room, line);
        Said {
            card: run("today"),
            today: run("today --format json"),
            check: run("check --format json"),
            verify: run("verify --format json"),
        }
    }
}

/// What a command answers. A message may repeat a damaged text, so that what holds for the
/// program's own words (`Room::run` looks at them) does not hold here.
fn answer(room: &Room, line: &str) -> (u8, String, String) {
    let book = room.path("room.scruple");
    let words = ["scruple"].into_iter().chain(line.split(' '));
    let words = words.chain(["--book", &book, "--now", NOW]);
    let (mut out, mut err) = (Vec::new(), Vec::new());
    let world = World {
        now: "2100-01-01T00:00:00Z".parse().unwrap(),
        local_zone: None,
        book_from_environment: None,
        data_directory: None,
        interactive: false,
        colour: false,
        input: &mut std::io::empty(),
        out: &mut out,
        err: &mut err,
    };
    let code = run(words.map(OsString::from), world);
    let text = |bytes| String::from_utf8(bytes).unwrap();
    (code, text(out), text(err))
}

/// What one changed byte led to.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
enum Kind {
    /// Every command ends with 2: it is no longer taken for a book of this version.
    NotTakenForABook,
    /// Every command ends with 3 and says that the book is damaged.
    NoCommandGoesOn,
    /// The card says what is damaged and has no mark for it; the others are as they were.
    CardNamesIt,
    /// The card is as it was, and verifying names what is wrong.
    VerifyNamesIt,
    /// The card, which reads only what the day needs, is as it was; what reads everything, and
    /// verifying, name what is wrong.
    ///
    /// No wrong mark can hide here. The card is the same to the letter, so each mark on it is the
    /// one that the sound book gives. Nor is it right by luck: all that was read for it was held
    /// link by link against links that the book's top vouches for, and what is named as damaged is
    /// asserted to be none of that (`untouched`). So it is at rest: no mark of this day is worked
    /// out from it, and what a later day needs is noted only by a command that has read it.
    CheckNamesIt,
    /// Every command says what it said before.
    ChangesNothing,
}

/// The marks on a card: whose, of which course, which dose, in which instrument.
fn marks(card: &str) -> BTreeSet<String> {
    let card: Value = serde_json::from_str(card).unwrap();
    let doses = card["doses"].as_array().unwrap();
    doses
        .iter()
        .filter(|dose| !dose["worked"]["mark"].is_null())
        .map(|dose| {
            let which = [&dose["animal"], &dose["prescription"], &dose["dose"]];
            format!("{which:?} {} {}", dose["worked"]["mark"], dose["site"])
        })
        .collect()
}

/// The entries that the card is worked out from: their numbers in the book, and in their chains.
fn read_for_the_card(room: &Room) -> BTreeSet<(u64, String, u64)> {
    let book = Book::open_read_only(room.path("room.scruple").as_ref()).unwrap();
    let read = book.view(|view| {
        let noted = view.opened().unwrap();
        let mut read = BTreeSet::new();
        for (subject, stretches) in noted {
            // Of an animal at rest only the name counts.
            if !stretches.is_empty() {
                let rows = view.read_opened(&subject)?;
                read.extend(rows.into_iter().map(|row| (row.seq, row.subject, row.n)));
            }
        }
        Ok::<_, BookError>(read)
    });
    read.unwrap()
}

/// Whether none of the entries that were read is among those that verifying names. A finding
/// without a number is about a note that the card does not go by.
fn untouched(read: &BTreeSet<(u64, String, u64)>, verify: &str) -> bool {
    let verify: Value = serde_json::from_str(verify).unwrap();
    let findings = verify["damage"].as_array().unwrap();
    assert!(!findings.is_empty(), "{verify}");
    findings.iter().all(|finding| {
        let (seq, n) = (finding["entry"].as_u64(), finding["n"].as_u64());
        let subject = finding["subject"].as_str();
        !read
            .iter()
            .any(|read| seq == Some(read.0) || (subject == Some(&read.1) && n == Some(read.2)))
    })
}

fn judge(said: &Said, before: &Said, read: &BTreeSet<(u64, String, u64)>, where_: &str) -> Kind {
    // One who is refused is told why.
    for (code, _, err) in [&said.card, &said.today, &said.check] {
        assert!(*code <= 3, "{where_}");
        assert!(
            *code < 2 || !err.trim().is_empty(),
            "{where_}: said nothing"
        );
    }
    assert_eq!(said.card.0, said.today.0, "{where_}");
    let codes = [said.card.0, said.check.0, said.verify.0];
    if said.verify.0 == 0 {
        // Found sound: then there must be nothing at all to find.
        assert_eq!(said, before, "{where_}");
        return Kind::ChangesNothing;
    }
    if codes == [2; 3] {
        return Kind::NotTakenForABook;
    }
    assert_eq!(said.verify.0, 3, "{where_}: {said:?}");
    if said.card.0 == 3 {
        assert_eq!(said.check.0, 3, "{where_}: {said:?}");
        return Kind::NoCommandGoesOn;
    }
    let (old, new) = (marks(&before.today.1), marks(&said.today.1));
    assert!(new.is_subset(&old), "{where_}: A WRONG MARK: {new:?}");
    if (&said.card, &said.today, &said.check) == (&before.card, &before.today, &before.check) {
        return Kind::VerifyNamesIt;
    }
    if (&said.card, &said.today) == (&before.card, &before.today) {
        assert!(said.check.2.contains("amaged"), "{where_}: {said:?}");
        assert!((1..=3).contains(&said.check.0), "{where_}");
        assert!(untouched(read, &said.verify.1), "{where_}: {said:?}");
        return Kind::CheckNamesIt;
    }
    // Whatever is missing or different on the card, it says that something is damaged.
    let card: Value = serde_json::from_str(&said.today.1).unwrap();
    let damaged = card["damaged"].as_array().unwrap();
    assert!(!damaged.is_empty(), "{where_}: {said:?}");
    let words = said.card.1.to_lowercase();
    assert!(words.contains("damaged"), "{where_}: {}", said.card.1);
    assert_eq!(said.check.0, 1, "{where_}");
    Kind::CardNamesIt
}

/// SCRUPLE_COMMANDS_FLIPS bytes at random places of the demonstration room's book, each by itself.
#[test]
fn a_changed_byte_is_noticed_or_changes_no_command() {
    let mut room = Room::without_a_book("flips");
    let folder = room.path("demo");
    room.at(NOW).run(&format!("demo {folder}")).ends(0);
    fs::copy(room.path("demo/room.scruple"), room.path("room.scruple")).unwrap();
    let good = room.book();
    let entries = Book::open_read_only(room.path("room.scruple").as_ref())
        .unwrap()
        .read_all()
        .unwrap()
        .len();
    let before = Said::by(&room);
    assert!(marks(&before.today.1).len() >= 3, "{}", before.today.1);
    let read = read_for_the_card(&room);
    let mut dice = Dice::new();
    let mut kinds: BTreeMap<Kind, u64> = BTreeMap::new();
    let mut fewer = 0_u64;
    let flips = how_many("SCRUPLE_COMMANDS_FLIPS", 30);
    for flip in 0..flips {
        let mut bad = good.clone();
        let change = dice.change(&mut bad, flip % 8 == 0);
        room.write("room.scruple", &bad);
        let said = Said::by(&room);
        let kind = judge(&said, &before, &read, &change);
        *kinds.entry(kind).or_default() += 1;
        if kind == Kind::CardNamesIt {
            fewer += u64::from(marks(&said.today.1).len() < marks(&before.today.1).len());
        }
        assert_eq!(room.book(), bad, "{change}: reading changed the file");
        for end in ["-journal", "-wal", "-shm"] {
            let _ = fs::remove_file(room.path(&format!("room.scruple{end}")));
        }
        if flip % 1_000 == 999 {
            println!("{} so far: {kinds:?}", flip + 1);
        }
    }
    println!(
        "{flips} changed bytes of a file of {} bytes with {entries} entries; {} marks on the card:",
        good.len(),
        marks(&before.today.1).len()
    );
    for (kind, count) in &kinds {
        println!("{count:>8} {kind:?}");
    }
    println!("{fewer:>8} times the card had fewer marks, never another one");
}
