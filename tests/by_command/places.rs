//! Bad places and moments that `tests/trust/drills.rs` does not try: a disk that fills up while
//! entries are kept, a place that is mounted to be read only, a journal under a writing command, a
//! clock set back between two records, folders that are not there.

use crate::program::{acknowledged, long_course, minute, program};
use crate::room::Room;
use scruple::book::Book;
use std::fs;
use std::process::Command;

fn entries(room: &Room) -> usize {
    let place = room.path("room.scruple");
    let book = Book::open_read_only(place.as_ref()).unwrap();
    book.read_all().unwrap().len()
}

/// Runs a script as the owner of a file system of its own, in which `$DISK` is the room's folder
/// `disk`. None where this system does not let a program have one.
fn in_a_place_of_its_own(room: &Room, script: &str) -> Option<String> {
    let disk = room.path("disk");
    fs::create_dir_all(&disk).unwrap();
    let output = Command::new("unshare")
        .args(["--user", "--map-root-user", "--mount", "sh", "-c", script])
        .env_remove("SCRUPLE_BOOK")
        .env("DISK", &disk)
        .env("BOOK", room.path("room.scruple"))
        .env("SCRUPLE", env!("CARGO_BIN_EXE_scruple"))
        .output()
        .ok()?;
    let text = String::from_utf8_lossy(&output.stdout).into_owned()
        + &String::from_utf8_lossy(&output.stderr);
    if text.contains("mount: ") || text.contains("unshare: ") {
        println!("NOT RUN: {text}");
        return None;
    }
    Some(text)
}

/// One note after another, each somewhat long, until there is no room: what was acknowledged is
/// there, what was refused is not, and the first refusal is not the last word.
#[test]
fn a_disk_that_fills_up_keeps_what_was_acknowledged() {
    let room = long_course("fills");
    let before = entries(&room);
    let kib = room.book().len() / 1024 + 60;
    let script = format!(
        "set -e; mount -t tmpfs -o size={kib}k none \"$DISK\"; cp \"$BOOK\" \"$DISK/b\"; set +e; \
         words=$(printf '%0300d' 0); refused=0; i=0; \
         while [ $refused -lt 3 ] && [ $i -lt 120 ]; do i=$((i + 1)); \
           \"$SCRUPLE\" note Thimblo \"$words\" --by AK --book \"$DISK/b\" --now '2001-03-01 08:30'; code=$?; \
           echo \"code $code\"; [ $code -eq 0 ] || refused=$((refused + 1)); \
         done; cp \"$DISK/b\" \"$BOOK\"; [ ! -e \"$DISK/b-journal\" ] || cp \"$DISK/b-journal\" \"$BOOK-journal\""
    );
    let Some(text) = in_a_place_of_its_own(&room, &script) else {
        return;
    };
    let codes = |code: &str| text.lines().filter(|line| *line == code).count();
    assert_eq!(codes("code 3"), 3, "{text}");
    assert_eq!(text.matches("code ").count(), codes("code 0") + 3, "{text}");
    assert_eq!(text.matches("There is no room left").count(), 3, "{text}");
    assert_eq!(
        text.matches("Noted as entry").count(),
        codes("code 0"),
        "{text}"
    );
    assert!(codes("code 0") > 3, "{text}");
    assert_eq!(entries(&room), before + codes("code 0"));
    let walked = program(&room, &["verify"], &minute(60)).output().unwrap();
    assert_eq!(walked.status.code(), Some(0), "{walked:?}");
}

/// Mounted to be read only, which binds the administrator too: read, and not written.
#[test]
fn a_place_mounted_to_be_read_only_is_read_and_not_written() {
    let room = long_course("mounted");
    fs::create_dir_all(room.path("disk")).unwrap();
    fs::copy(room.path("room.scruple"), room.path("disk/b")).unwrap();
    let script = "set -e; mount --bind \"$DISK\" \"$DISK\"; mount -o remount,bind,ro \"$DISK\"; set +e; \
        s() { \"$SCRUPLE\" \"$@\" --book \"$DISK/b\" --now '2001-03-01 08:30' --yes; echo \"$1 $?\"; }; \
        s today; s check; s stock; s verify; \
        s weigh Thimblo '31 g'; s give Thimblo DEMO-0001; s note Thimblo calm; \
        s backup \"$DISK/copy\"; s export \"$DISK/out\"; s begin --scale '1 g' --zone UTC";
    let Some(text) = in_a_place_of_its_own(&room, script) else {
        return;
    };
    for line in [
        "today 0", "check 0", "stock 0", "verify 0", "weigh 3", "give 3", "note 3", "backup 3",
        "export 3",
    ] {
        assert!(text.lines().any(|said| said == line), "{line}\n{text}");
    }
    // There is a book already.
    assert!(text.lines().any(|said| said == "begin 2"), "{text}");
    assert_eq!(text.matches("so nothing was kept").count(), 4, "{text}");
    assert_eq!(acknowledged(&text), None, "{text}");
    assert_eq!(fs::read(room.path("disk/b")).unwrap(), room.book());
}

/// A writing command undoes what another one left half done, and then does its own.
#[test]
fn a_journal_left_behind_is_undone_before_the_next_entry() {
    let mut room = long_course("journal");
    let before = entries(&room);
    let place = room.path("room.scruple");
    let conn = rusqlite::Connection::open(&place).unwrap();
    conn.execute_batch(
        "PRAGMA cache_size = 1; BEGIN IMMEDIATE; \
         INSERT INTO entry(seq, subject, n, kind, happened_at, recorded_at, clock_given, zone, \
         body, link) SELECT (SELECT max(seq) + 1 FROM entry), 'animal:Cut off', 1, kind, \
         happened_at, recorded_at, 0, zone, hex(zeroblob(100000)), link FROM entry WHERE seq = 1;",
    )
    .unwrap();
    let (crashed, journal) = (
        room.book(),
        fs::read(room.path("room.scruple-journal")).unwrap(),
    );
    drop(conn);
    room.write("room.scruple", crashed);
    room.write("room.scruple-journal", journal);
    let given = room.run("give Thimblo DEMO-0001 --by AK");
    given.ends(0);
    assert_eq!(given.entry(), u64::try_from(before).unwrap() + 1);
    assert_eq!(entries(&room), before + 1);
    room.run("verify").ends(0);
}

/// The clock set back between two records: what is recorded then is kept, loudly; nothing that was
/// kept before is lost, and there is no mark until the clock is right again.
#[test]
fn a_clock_set_back_between_two_records_loses_neither() {
    let mut room = long_course("clock");
    let first = room.run("give Thimblo DEMO-0001 --by AK").ends(0).entry();
    room.at("2001-02-27 08:00");
    room.run("today")
        .says("The clock is behind the newest entry of the book");
    assert_eq!(
        room.dose_of("Thimblo")["worked"]["mark"],
        serde_json::Value::Null
    );
    // Nobody is asked to be believed: the record is loud, and a no keeps nothing.
    let before = room.book();
    room.typing("no\n")
        .run("weigh Thimblo \"31.1 g\"")
        .is_silent_about("DOSE");
    let after_weighing = room.book();
    room.typing("no\n").run("give Thimblo DEMO-0001").ends(2);
    assert_eq!(room.book(), after_weighing);
    drop(before);
    room.at("2001-03-01 20:00");
    let second = room.run("give Thimblo DEMO-0001 --by AK").ends(0).entry();
    assert!(second > first);
    room.run("verify").ends(0);
    let course = room.course_of("Thimblo");
    assert_eq!(course["doses"][0]["entry"], first);
    assert_eq!(course["doses"][1]["entry"], second);
}

/// A folder that is not there: nothing is begun or imported, and no folder is made of a slip.
#[test]
fn nothing_is_begun_in_a_folder_that_is_not_there() {
    let mut room = long_course("folders");
    let out = room.path("out");
    room.run(&format!("export {out}")).ends(0);
    let nowhere = room.path("nowhere/b");
    for words in [
        vec!["begin", "--scale", "1 g", "--zone", "UTC", "--yes"],
        vec!["import", &format!("{out}/book.ron")],
        vec!["today"],
        vec!["give", "Thimblo", "DEMO-0001", "--yes"],
    ] {
        let output = Command::new(env!("CARGO_BIN_EXE_scruple"))
            .args(&words)
            .args(["--book", &nowhere])
            .env_clear()
            .output()
            .unwrap();
        let said = String::from_utf8_lossy(&output.stderr).into_owned();
        assert_eq!(output.status.code(), Some(2), "{words:?}: {said}");
        assert!(
            said.contains("does not exist") || said.contains("There is no book"),
            "{said}"
        );
        assert!(!fs::exists(room.path("nowhere")).unwrap(), "{words:?}");
    }
}
