//! Places where a book cannot be made, opened or written: a clear sentence, and nothing
//! acknowledged that is not kept.

use std::fs;
use std::path::{Path, PathBuf};

use rusqlite::Connection;
use scruple::book::{Book, BookError, BookId, Folders, Kept, rescue, verify};

use crate::room::{Folder, append, create, entry, minute, small_book};

/// Every way to open a file must say the same of it.
fn refused(path: &Path) -> BookError {
    let before = fs::read(path).ok();
    let error = Book::open(path).unwrap_err();
    let text = error.to_string();
    assert_eq!(Book::open_read_only(path).unwrap_err().to_string(), text);
    assert_eq!(verify(path, |_, _| {}).unwrap_err().to_string(), text);
    assert_eq!(rescue(path, |_, _| {}).unwrap_err().to_string(), text);
    assert_eq!(fs::read(path).ok(), before, "{path:?} was changed");
    assert_eq!(error.kept(), Kept::Nothing);
    assert!(text.contains(&format!("{path:?}")), "{text}");
    error
}

#[test]
fn a_file_that_is_not_a_book_is_named_as_such() {
    let folder = Folder::new();
    let path = folder.at("file");
    for (content, wanted) in [
        (
            &b"weights of Thimblo, in grams\n34.5\n"[..],
            "a file of another kind",
        ),
        (b"SQLite format 2\0 and so on", "a file of another kind"),
        (b"S", "a file of another kind"),
        (b"\xEF\xBB\xBFSQLite format 3\0", "a file of another kind"),
        (b"", "an empty file"),
    ] {
        fs::write(&path, content).unwrap();
        let error = refused(&path);
        assert!(matches!(error, BookError::NotABook { .. }), "{error}");
        assert!(!error.is_failure());
        let text = error.to_string();
        assert!(
            text.contains("is not a book of scruple") && text.contains(wanted),
            "{text}"
        );
    }
    fs::remove_file(&path).unwrap();
    let conn = Connection::open(&path).unwrap();
    conn.execute_batch("CREATE TABLE entry(a); PRAGMA journal_mode = WAL")
        .unwrap();
    drop(conn);
    let error = refused(&path);
    assert!(
        error.to_string().contains("another program's SQLite file"),
        "{error}"
    );
    let error = refused(folder.path());
    assert!(error.to_string().contains("a folder"), "{error}");
}

#[test]
fn a_header_alone_is_not_taken_for_a_book() {
    let folder = Folder::new();
    let path = folder.at("a.book");
    drop(small_book(&path, 20));
    let good = fs::read(&path).unwrap();
    for length in [
        16,
        60,
        99,
        100,
        500,
        4095,
        4096,
        8192,
        good.len() - 4096,
        good.len() - 1,
    ] {
        fs::write(&path, &good[..length]).unwrap();
        assert!(Book::open(&path).is_err(), "{length} bytes");
        assert!(
            !verify(&path, |_, _| {}).is_ok_and(|verdict| verdict.is_sound()),
            "{length} bytes"
        );
    }
    let mut longer = good.clone();
    longer.extend([0; 4096]);
    fs::write(&path, &longer).unwrap();
    assert!(matches!(Book::open(&path), Err(BookError::Damaged(_))));
}

#[test]
fn a_newer_book_is_politely_not_opened() {
    let folder = Folder::new();
    let path = folder.at("a.book");
    drop(small_book(&path, 5));
    let conn = Connection::open(&path).unwrap();
    conn.execute_batch("PRAGMA user_version = 3").unwrap();
    drop(conn);
    let error = refused(&path);
    assert!(
        matches!(error, BookError::Newer { version: 3, .. }),
        "{error}"
    );
    assert!(!error.is_failure());
    assert!(
        error.to_string().contains("written by a newer scruple"),
        "{error}"
    );
}

#[test]
fn a_place_without_a_book_is_said_to_be_one() {
    let folder = Folder::new();
    let error = refused(&folder.at("none.book"));
    assert!(matches!(error, BookError::NoBook { .. }), "{error}");
    let error = refused(&folder.at("nowhere/none.book"));
    assert!(matches!(error, BookError::NoFolder { .. }), "{error}");
    assert!(Book::open(Path::new("")).is_err());
    // Names that mean something to SQLite are names of files here.
    for name in [
        ":memory:",
        "file::memory:?cache=shared",
        "file:a.book?mode=rwc",
    ] {
        let error = Book::open(Path::new(name)).unwrap_err();
        assert!(matches!(error, BookError::NoBook { .. }), "{name}: {error}");
    }
    // A name that would steer a terminal is printed so that it cannot.
    let error = Book::open(&folder.at("\u{1b}[2Jx")).unwrap_err();
    assert!(!error.to_string().contains('\u{1b}'), "{error}");
}

#[test]
fn a_new_book_never_takes_the_place_of_a_file() {
    let folder = Folder::new();
    let id = BookId::random().unwrap();
    let begin = |path: &PathBuf, folders| Book::create(path, "UTC", id, minute(0), folders);
    let path = folder.at("a.book");
    fs::write(&path, "mine").unwrap();
    let error = begin(&path, Folders::Make).unwrap_err();
    assert!(matches!(error, BookError::AlreadyThere { .. }), "{error}");
    assert_eq!(fs::read(&path).unwrap(), b"mine");
    let deep = folder.at("one/two/a.book");
    let error = begin(&deep, Folders::MustExist).unwrap_err();
    assert!(matches!(error, BookError::NoFolder { .. }), "{error}");
    assert!(!folder.at("one").exists());
    let book = begin(&deep, Folders::Make).unwrap();
    assert_eq!(book.id(), id);
    assert_eq!(book.path(), deep);
    assert_eq!(book.read_all().unwrap(), []);
    assert!(verify(&deep, |_, _| {}).unwrap().is_sound());
    assert_ne!(BookId::random().unwrap(), id);
    assert_eq!(BookId::parse(&id.to_string()), Some(id));
    assert_eq!(BookId::parse("0"), None);
}

#[test]
fn a_book_opened_to_be_read_is_not_written() {
    let folder = Folder::new();
    let path = folder.at("a.book");
    let before = small_book(&path, 10).read_all().unwrap();
    let mut book = Book::open_read_only(&path).unwrap();
    let error = append(&mut book, vec![entry("settings", 1)]).unwrap_err();
    assert!(matches!(error, BookError::ReadOnly { .. }), "{error}");
    assert_eq!(book.read_all().unwrap(), before);
}

/// A journal that a cut-off writing left behind is undone by the next opening, to read or to write.
#[test]
fn a_journal_left_behind_is_undone() {
    for read in [true, false] {
        let folder = Folder::new();
        let path = folder.at("a.book");
        let before = small_book(&path, 10).read_all().unwrap();
        let (crashed, journal) = cut_off(&path);
        fs::write(&path, crashed).unwrap();
        fs::write(folder.at("a.book-journal"), journal).unwrap();
        let rows = if read {
            Book::open_read_only(&path).unwrap().read_all().unwrap()
        } else {
            Book::open(&path).unwrap().read_all().unwrap()
        };
        assert_eq!(rows, before);
        assert!(!folder.at("a.book-journal").exists());
        assert!(verify(&path, |_, _| {}).unwrap().is_sound());
    }
}

/// The book's file and its journal as they are in the middle of a writing.
fn cut_off(path: &Path) -> (Vec<u8>, Vec<u8>) {
    let conn = Connection::open(path).unwrap();
    conn.execute_batch(
        "PRAGMA cache_size = 1; BEGIN IMMEDIATE; \
         INSERT INTO entry(seq, subject, n, kind, happened_at, recorded_at, clock_given, zone, \
         body, link) SELECT 11, 'animal:Cut off', 1, kind, happened_at, recorded_at, 0, zone, \
         hex(zeroblob(100000)), link FROM entry WHERE seq = 1;",
    )
    .unwrap();
    let mut journal = path.as_os_str().to_owned();
    journal.push("-journal");
    let state = (fs::read(path).unwrap(), fs::read(journal).unwrap());
    assert!(!state.1.is_empty());
    state
}

#[cfg(unix)]
mod unix {
    use std::fs;
    use std::os::unix::fs::{MetadataExt, PermissionsExt};
    use std::os::unix::process::CommandExt;
    use std::path::Path;
    use std::process::Command;

    use scruple::book::{Book, verify};

    use crate::child::{command, said};
    use crate::places::cut_off;
    use crate::room::{Folder, small_book};

    /// What a child process that permissions bind was told when it did `job`. (They do not bind
    /// the system's administrator, so that one's child becomes somebody else.)
    fn told(job: &str, path: &Path) -> String {
        let mut command = command(job, path, 0, 0);
        if fs::metadata(path.parent().unwrap()).unwrap().uid() == 0 {
            command.uid(65_534).gid(65_534);
        }
        let output = command.output().unwrap();
        let text = String::from_utf8_lossy(&output.stdout).into_owned();
        let result = said(&text, "result ").next();
        result.unwrap_or_else(|| panic!("{output:?}")).to_owned()
    }

    fn allow(path: &Path, mode: u32) {
        fs::set_permissions(path, fs::Permissions::from_mode(mode)).unwrap();
    }

    #[test]
    fn a_file_that_may_only_be_read_is_read_and_not_written() {
        let folder = Folder::new();
        let path = folder.at("a.book");
        drop(small_book(&path, 10));
        let bytes = fs::read(&path).unwrap();
        allow(&path, 0o444);
        allow(folder.path(), 0o555);
        assert_eq!(told("read", &path), "ok");
        for job in ["open", "write"] {
            let text = told(job, &path);
            assert!(text.starts_with("failure=true kept=Nothing"), "{text}");
            assert!(text.contains("can only be read here"), "{text}");
        }
        assert_eq!(fs::read(&path).unwrap(), bytes);
        allow(folder.path(), 0o755);
    }

    #[test]
    fn what_is_not_allowed_is_said() {
        let folder = Folder::new();
        let path = folder.at("a.book");
        drop(small_book(&path, 10));
        allow(&path, 0o000);
        for job in ["read", "write"] {
            let text = told(job, &path);
            assert!(
                text.contains("the system does not allow you to use"),
                "{text}"
            );
            assert!(text.starts_with("failure=true kept=Nothing"), "{text}");
        }
        // A folder in which no journal can be made: the file itself could be written.
        allow(&path, 0o666);
        allow(folder.path(), 0o555);
        assert_eq!(told("read", &path), "ok");
        let text = told("write", &path);
        assert!(text.starts_with("failure=true kept=Nothing"), "{text}");
        assert!(text.contains("a.book"), "{text}");
        println!("{text}");
        allow(folder.path(), 0o755);
        assert!(verify(&path, |_, _| {}).unwrap().is_sound());
        assert_eq!(Book::open(&path).unwrap().read_all().unwrap().len(), 10);
    }

    /// A cut-off writing in a place where it cannot be undone: reading it as it lies there would
    /// show what was never finished.
    #[test]
    fn a_journal_that_cannot_be_undone_is_said() {
        let folder = Folder::new();
        let path = folder.at("a.book");
        drop(small_book(&path, 10));
        let (crashed, journal) = cut_off(&path);
        fs::write(&path, crashed).unwrap();
        fs::write(folder.at("a.book-journal"), journal).unwrap();
        allow(&path, 0o444);
        allow(&folder.at("a.book-journal"), 0o444);
        allow(folder.path(), 0o555);
        let text = told("read", &path);
        assert!(text.starts_with("failure=true kept=Nothing"), "{text}");
        assert!(
            text.contains("was cut off and must be undone first"),
            "{text}"
        );
        allow(folder.path(), 0o755);
    }

    /// A small disk of its own that fills up. Needs Linux and the right to make one.
    #[test]
    fn a_full_disk_keeps_what_was_acknowledged() {
        let folder = Folder::new();
        let (disk, book) = (folder.at("disk"), folder.at("disk/a.book"));
        fs::create_dir(&disk).unwrap();
        drop(small_book(&folder.at("a.book"), 10));
        // The disk lives as long as the shell; the book is copied out before it goes.
        let script = "mount -t tmpfs -o size=256k tmpfs \"$1\" || exit 77; cp \"$2\" \"$1\"; \
                      shift 2; \"$@\"; cp \"$SCRUPLE_CHILD_BOOK\" \"$SCRUPLE_CHILD_BOOK.after\" \
                      2>/dev/null || cp \"$SCRUPLE_CHILD_BOOK\" \"$OUT\"";
        let job = command("fill", &book, 0, 0);
        let out = folder.at("after.book");
        let mut shell = Command::new("unshare");
        shell.args(["-r", "-m", "sh", "-c", script, "sh"]);
        shell.arg(&disk).arg(folder.at("a.book"));
        shell.arg(job.get_program()).args(job.get_args());
        for (name, value) in job.get_envs() {
            shell.env(name, value.unwrap());
        }
        shell.env("OUT", &out);
        let output = match shell.output() {
            Ok(output) if output.status.code() != Some(77) && !output.stdout.is_empty() => output,
            other => {
                println!("NOT RUN: no small disk can be made here ({other:?})");
                return;
            }
        };
        let text = String::from_utf8_lossy(&output.stdout).into_owned();
        let result = said(&text, "result ").next().unwrap();
        assert!(result.starts_with("failure=true kept=Nothing"), "{result}");
        assert!(result.contains("there is no room left"), "{result}");
        let rows = Book::open(&out).unwrap().read_all().unwrap();
        let kept: Vec<&str> = said(&text, "kept ").collect();
        assert!(kept.len() > 10, "{text}");
        assert_eq!(rows.len(), 10 + kept.len());
        for line in kept {
            let (seq, link) = line.split_once(' ').unwrap();
            assert_eq!(rows[seq.parse::<usize>().unwrap() - 1].link, link);
        }
        assert!(verify(&out, |_, _| {}).unwrap().is_sound());
    }
}

#[test]
fn creating_beside_a_stale_journal_begins_an_empty_book() {
    let folder = Folder::new();
    let old = folder.at("old.book");
    drop(small_book(&old, 10));
    let (_, journal) = cut_off(&old);
    fs::write(folder.at("new.book-journal"), journal).unwrap();
    let path = folder.at("new.book");
    let book = create(&path);
    assert_eq!(book.read_all().unwrap(), []);
    assert!(verify(&path, |_, _| {}).unwrap().is_sound());
}
