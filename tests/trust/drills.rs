//! Bad places and bad moments: a clear sentence, 2 or 3, and nothing acknowledged that is not kept.
//!
//! What a person's own permissions decide is tried by the real program in a process of its own; the
//! system's administrator, whom they do not bind, becomes somebody else there.

use crate::lived_in;
use crate::room::Room;
use std::fs;
use std::path::Path;
use std::process::{Command, Output};
use std::time::{Duration, Instant};

/// The program, as it is started from a shell.
fn program(room: &Room, line: &str) -> Command {
    let mut command = Command::new(env!("CARGO_BIN_EXE_scruple"));
    command
        .args(line.split(' '))
        .args([
            "--book",
            &room.path("room.scruple"),
            "--now",
            "2001-03-01T10:00:00Z",
        ])
        .env_clear();
    command
}

fn told(output: &Output) -> String {
    String::from_utf8_lossy(&output.stdout).into_owned() + &String::from_utf8_lossy(&output.stderr)
}

#[test]
fn missing_places_are_named() {
    let mut room = lived_in("places");
    let nowhere = room.path("nowhere/x");
    room.run(&format!("backup {nowhere}"))
        .ends(2)
        .says("does not exist");
    room.run(&format!("export {nowhere}"))
        .ends(2)
        .says("does not exist");
    let file = room.write("file", "x");
    room.run(&format!("export {file}"))
        .ends(2)
        .says("is a file");
    let mut empty = Room::without_a_book("places-empty");
    for command in [
        "today",
        "stock",
        "settings",
        "verify",
        "weigh Thimblo \"31 g\"",
    ] {
        empty.run(command).ends(2).says("There is no book at");
    }
    let out = empty.path("out");
    empty
        .run(&format!("export {out}"))
        .ends(2)
        .says("There is no book at");
    assert!(!fs::exists(out).unwrap());
}

#[test]
fn what_is_not_a_book_or_a_newer_one_is_politely_not_opened() {
    let mut room = Room::without_a_book("strange");
    room.write("room.scruple", "weights of Thimblo\n");
    for command in ["today", "verify", "weigh Thimblo \"31 g\""] {
        room.run(command).ends(2).says("is not a book of scruple");
    }
    assert_eq!(room.book(), b"weights of Thimblo\n");
    let mut newer = lived_in("newer");
    let conn = rusqlite::Connection::open(newer.path("room.scruple")).unwrap();
    conn.execute_batch("PRAGMA user_version = 3").unwrap();
    drop(conn);
    let before = newer.book();
    for command in ["today", "verify", "weigh Thimblo \"31 g\""] {
        newer
            .run(command)
            .ends(2)
            .says("written by a newer scruple");
    }
    assert_eq!(newer.book(), before);
}

/// A clock set back: no marks, and what already happened can still be recorded, loudly.
#[test]
fn a_clock_set_back_gives_no_marks_and_keeps_what_happened() {
    let mut room = lived_in("clock");
    room.at("2001-03-01 08:30");
    let dose = room.run("today");
    dose.ends(0)
        .says("The clock is behind the newest entry of the book");
    let stock = room.json("stock");
    assert_eq!(stock["needs"][0]["doses"], 0);
    room.run("stock").says("the clock is behind the book");
    room.run("note Nubbet \"calm\"").ends(0);
    room.run("verify").ends(0);
}

/// Held for three seconds: it says that it waits, and then does what it was asked.
#[test]
fn someone_else_is_waited_for_aloud() {
    let mut room = lived_in("waiting");
    let path = room.path("room.scruple");
    let (held, holding) = std::sync::mpsc::channel();
    let someone = std::thread::spawn(move || {
        let conn = rusqlite::Connection::open(path).unwrap();
        conn.execute_batch("BEGIN EXCLUSIVE").unwrap();
        held.send(()).unwrap();
        std::thread::sleep(Duration::from_secs(3));
        conn.execute_batch("ROLLBACK").unwrap();
    });
    holding.recv().unwrap();
    room.run("weigh Nubbet \"12.1 g\"")
        .ends(0)
        .says("Someone else is using the book; waiting up to 10 seconds")
        .says("Nubbet: 12.1 g");
    someone.join().unwrap();
}

/// Held for good: 3, nothing asked and nothing kept. Reading goes on beside one who only writes.
#[test]
fn someone_who_does_not_let_go_is_named() {
    let mut room = lived_in("held");
    let conn = rusqlite::Connection::open(room.path("room.scruple")).unwrap();
    conn.execute_batch("BEGIN IMMEDIATE").unwrap();
    room.run("today").ends(0).is_silent_about("Someone else");
    let before = Instant::now();
    room.typing("yes\n")
        .run("give Thimblo DEMO-0001")
        .ends(3)
        .says("waiting up to 10 seconds")
        .says("is being used by someone else, so nothing was kept")
        .is_silent_about("Record this?");
    assert!(before.elapsed() < Duration::from_secs(20));
    conn.execute_batch("ROLLBACK").unwrap();
    assert_eq!(
        room.json("check Thimblo")["courses"][0]["doses"][1]["entry"],
        serde_json::Value::Null
    );
}

/// The book's file and its journal as they are in the middle of a writing.
fn cut_off(path: &Path) -> (Vec<u8>, Vec<u8>) {
    let conn = rusqlite::Connection::open(path).unwrap();
    conn.execute_batch(
        "PRAGMA cache_size = 1; BEGIN IMMEDIATE; \
         INSERT INTO entry(seq, subject, n, kind, happened_at, recorded_at, clock_given, zone, \
         body, link) SELECT (SELECT max(seq) + 1 FROM entry), 'animal:Cut off', 1, kind, \
         happened_at, recorded_at, 0, zone, hex(zeroblob(100000)), link FROM entry WHERE seq = 1;",
    )
    .unwrap();
    let mut journal = path.as_os_str().to_owned();
    journal.push("-journal");
    (fs::read(path).unwrap(), fs::read(journal).unwrap())
}

#[test]
fn a_journal_left_behind_is_undone_first() {
    let mut room = lived_in("journal");
    let sound = room.run("verify --format json").out;
    let path = room.path("room.scruple");
    let (crashed, journal) = cut_off(Path::new(&path));
    room.write("room.scruple", crashed);
    room.write("room.scruple-journal", journal);
    room.run("today").ends(0);
    assert_eq!(room.run("verify --format json").out, sound);
    assert!(!fs::exists(room.path("room.scruple-journal")).unwrap());
}

#[cfg(unix)]
mod unix {
    use super::*;
    use std::os::unix::fs::{MetadataExt, PermissionsExt};
    use std::os::unix::process::CommandExt;

    /// Runs the program as somebody whom permissions bind.
    fn bound(room: &Room, line: &str) -> (i32, String) {
        let mut command = program(room, line);
        if fs::metadata(room.path("")).unwrap().uid() == 0 {
            command.uid(65_534).gid(65_534);
        }
        let output = command.output().unwrap();
        (output.status.code().unwrap(), told(&output))
    }

    fn allow(path: &str, mode: u32) {
        fs::set_permissions(path, fs::Permissions::from_mode(mode)).unwrap();
    }

    #[test]
    fn a_place_that_may_only_be_read_is_read_and_not_written() {
        let room = lived_in("read-only");
        let (file, folder) = (room.path("room.scruple"), room.path(""));
        let before = room.book();
        for (mode, of) in [(0o444, &file), (0o555, &folder)] {
            allow(of, mode);
            for line in [
                "today",
                "check",
                "stock",
                "settings",
                "verify",
                "animal list",
            ] {
                let (code, text) = bound(&room, line);
                assert!(code <= 1, "{line}: {text}");
            }
            for line in [
                "weigh Nubbet 12.1g",
                "note Nubbet calm",
                "settings set loss 8",
            ] {
                let (code, text) = bound(&room, line);
                assert_eq!(code, 3, "{line}: {text}");
                assert!(text.contains("nothing was kept"), "{line}: {text}");
                assert!(!text.contains("Noted"), "{line}: {text}");
            }
        }
        // A journal that was cut off cannot be undone here, so nothing is read past it.
        allow(&folder, 0o755);
        allow(&file, 0o644);
        let (crashed, journal) = cut_off(Path::new(&file));
        room.write("room.scruple", crashed);
        let journal = room.write("room.scruple-journal", journal);
        allow(&file, 0o444);
        allow(&journal, 0o444);
        allow(&folder, 0o555);
        let (code, text) = bound(&room, "today");
        assert_eq!(code, 3, "{text}");
        assert!(
            text.contains("was cut off and must be undone first"),
            "{text}"
        );
        allow(&folder, 0o755);
        fs::remove_file(&journal).unwrap();
        allow(&file, 0o644);
        room.write("room.scruple", before);
        // Nobody else's book is opened, and no export is made where nothing may be written.
        allow(&file, 0o600);
        if fs::metadata(&file).unwrap().uid() == 0 {
            let (code, text) = bound(&room, "today");
            assert_eq!(code, 3, "{text}");
            assert!(text.contains("does not allow you"), "{text}");
        }
        allow(&file, 0o644);
        allow(&folder, 0o555);
        let out = room.path("out");
        for line in [format!("export {out}"), format!("backup {out}")] {
            let (code, text) = bound(&room, &line);
            assert_eq!(code, 3, "{line}: {text}");
            assert!(!fs::exists(&out).unwrap());
        }
        allow(&folder, 0o755);
    }

    /// Runs a shell in which the room's folder is a disk of so many KiB with the book on it. None
    /// where this system does not let a program make one without being its administrator.
    fn on_a_tiny_disk(room: &Room, kib: u32, script: &str) -> Option<String> {
        let folder = room.path("disk");
        fs::create_dir_all(&folder).unwrap();
        let program = env!("CARGO_BIN_EXE_scruple");
        let script = format!(
            "set -e; mount -t tmpfs -o size={kib}k none '{folder}'; cp '{book}' '{folder}/b'; \
             s() {{ '{program}' \"$@\" --book '{folder}/b' --now '2001-03-01T10:00:00Z' --yes; }}; \
             set +e; {script}",
            book = room.path("room.scruple")
        );
        let output = Command::new("unshare")
            .args(["--user", "--map-root-user", "--mount", "sh", "-c", &script])
            .env_remove("SCRUPLE_BOOK")
            .output()
            .ok()?;
        let text = told(&output);
        if text.contains("mount: ") || text.contains("unshare: ") {
            println!("not run: {text}");
            return None;
        }
        Some(text)
    }

    /// A full disk: the disk is filled up to the last page, and every command that needs room says
    /// so with 3; what is in the book stays whole, and works again once there is room.
    #[test]
    fn a_full_disk_keeps_nothing_and_loses_nothing() {
        let room = lived_in("full");
        let kib = u32::try_from(room.book().len().div_ceil(1024)).unwrap() + 64;
        let Some(text) = on_a_tiny_disk(
            &room,
            kib,
            "cd \"$(dirname '/')\"; \
             dd if=/dev/zero of=FOLDER/fill bs=1k 2>/dev/null; \
             s weigh Nubbet '12.1 g'; echo \"weigh $?\"; \
             s note Nubbet calm; echo \"note $?\"; \
             s backup FOLDER/copy; echo \"backup $?\"; \
             s export FOLDER/out; echo \"export $?\"; \
             s verify; echo \"verify $?\"; \
             rm -r FOLDER/fill; \
             s weigh Nubbet '12.1 g'; echo \"again $?\""
                .replace("FOLDER", &room.path("disk"))
                .as_str(),
        ) else {
            return;
        };
        for line in [
            "weigh 3", "note 3", "backup 3", "export 3", "verify 0", "again 0",
        ] {
            assert!(text.lines().any(|said| said == line), "{line}\n{text}");
        }
        assert!(text.contains("There is no room left"), "{text}");
        assert!(!text.contains("Noted as"), "{text}");
        assert_eq!(text.matches("Nubbet: 12.1 g").count(), 1, "{text}");
    }
}
