//! What no keeper would type and no program should send: each ends in a clear sentence, or is kept
//! as the harmless text it is; memory is bounded; nothing panics.
//!
//! Every command runs with a bound on its whole address space, so that one which takes more than
//! is claimed is stopped by the system.

use crate::dice::how_many;
use crate::program::long_course;
use crate::room::Room;
use rusqlite::Connection;
use rusqlite::config::DbConfig;
use scruple::book::{Book, BookError};
use scruple::entry::NewRow;
use std::fs;
use std::io::{BufWriter, Write};
use std::process::{Command, Stdio};

/// What any command may take, in MiB, that is not fed a large export or a large book. (As the
/// system counts it here: everything mapped, the program's own file included.)
const ANY: u64 = 128;

/// A command that was run within a bound.
#[derive(Debug)]
struct Ran {
    code: Option<i32>,
    said: String,
}

/// Runs the program on the room's book within so many MiB of address space. Where the system has
/// no such bound it runs without.
fn within(mib: u64, room: &Room, words: &[&str], typed: &str) -> Ran {
    let mut command = Command::new("sh");
    let script = "ulimit -v \"$0\" || true; exec \"$@\"";
    command
        .args(["-c", script, &(mib * 1024).to_string()])
        .arg(env!("CARGO_BIN_EXE_scruple"))
        .args(words)
        .args([
            "--book",
            &room.path("room.scruple"),
            "--now",
            "2001-03-01 09:00",
        ])
        .stdin(Stdio::piped())
        .stdout(Stdio::piped())
        .stderr(Stdio::piped());
    let mut child = command.spawn().unwrap();
    let mut input = child.stdin.take().unwrap();
    let typed = typed.to_owned();
    // A program that stops reading leaves the rest unwritten.
    let writer = std::thread::spawn(move || drop(input.write_all(typed.as_bytes())));
    let output = child.wait_with_output().unwrap();
    writer.join().unwrap();
    let said = String::from_utf8_lossy(&output.stdout).into_owned()
        + &String::from_utf8_lossy(&output.stderr);
    let ran = Ran {
        code: output.status.code(),
        said,
    };
    let shown = || ran.said.chars().take(2_000).collect::<String>();
    // 101 is a panic; none is a signal.
    assert!(
        matches!(ran.code, Some(0..=3)),
        "{words:?}: {:?} {}",
        ran.code,
        shown()
    );
    let steers = |c: char| c.is_control() && c != '\n';
    assert!(!ran.said.contains(steers), "{words:?}: {}", shown());
    ran
}

impl Ran {
    #[track_caller]
    fn ends(&self, code: i32, phrase: &str) {
        let shown: String = self.said.chars().take(2_000).collect();
        assert_eq!(self.code, Some(code), "{shown}");
        let unbroken = self.said.split_whitespace().collect::<Vec<_>>().join(" ");
        assert!(unbroken.contains(phrase), "not said: {phrase}\n{shown}");
    }

    #[track_caller]
    fn is_short(&self) {
        assert!(
            self.said.len() < 100_000,
            "{} bytes were said, beginning {}",
            self.said.len(),
            self.said.chars().take(2_000).collect::<String>()
        );
    }
}

fn utf_16(text: &str) -> Vec<u8> {
    let mark = std::iter::once(0xfeff);
    mark.chain(text.encode_utf16())
        .flat_map(u16::to_le_bytes)
        .collect()
}

/// What is typed after a command: kept as text or not accepted, never run as anything.
#[test]
fn names_that_would_be_commands_elsewhere_are_names() {
    let mut room = long_course("typed");
    let entries = |room: &mut Room| room.json("verify")["entries"].as_u64().unwrap();
    let before = entries(&mut room);
    for name in [
        "x'); DROP TABLE entry; --",
        "\" OR 1=1 --",
        "$(rm -rf .) `id` ;&|",
        "../../etc",
        "%s%n%x {0}",
    ] {
        let add = [
            "animal",
            "add",
            name,
            "--species",
            name,
            "--id",
            name,
            "--yes",
        ];
        within(ANY, &room, &add, "").ends(0, name);
        within(ANY, &room, &["note", name, name, "--yes"], "").ends(0, name);
        let weigh = ["weigh", name, "31 g", "--by", "a'b", "--yes"];
        within(ANY, &room, &weigh, "").ends(0, name);
        within(ANY, &room, &["animal", "show", name], "").ends(0, name);
    }
    assert_eq!(entries(&mut room), before + 15);
    let long = "n".repeat(120_000);
    for name in [
        "\u{1b}[2J\u{7}",
        "a\u{0}b",
        "a\u{202e}b",
        "a\u{200b}b",
        "a\nb",
        "\u{7f}",
        "",
        " ",
        &long,
    ] {
        if name.contains('\0') {
            // No system passes it on as an argument.
            continue;
        }
        let add = [
            "animal",
            "add",
            name,
            "--species",
            "newt",
            "--id",
            "jar",
            "--yes",
        ];
        let ran = within(ANY, &room, &add, "");
        assert_eq!(ran.code, Some(2), "{name:?} {ran:?}");
        ran.is_short();
        for words in [
            ["weigh", name, "31 g", "--yes"],
            ["weigh", "Thimblo", name, "--yes"],
            ["give", name, "DEMO-0001", "--yes"],
            ["give", "Thimblo", name, "--yes"],
            ["check", name, "--format", "json"],
            ["today", "--date", name, "--yes"],
        ] {
            let ran = within(ANY, &room, &words, "");
            ran.is_short();
            assert_eq!(ran.code, Some(2), "{words:?} {ran:?}");
        }
    }
    // As many digits as an argument holds.
    let digits = "9".repeat(120_000);
    for weight in [
        format!("{digits} g"),
        format!("0.{digits} g"),
        format!("1e{digits} g"),
    ] {
        let ran = within(ANY, &room, &["weigh", "Thimblo", &weight, "--yes"], "");
        assert_eq!(ran.code, Some(2), "{}", ran.said);
        ran.is_short();
    }
    within(ANY, &room, &["verify"], "").ends(0, "The book is sound");
}

/// An answer without an end.
#[test]
fn an_answer_of_ten_million_letters_is_not_an_answer() {
    let room = long_course("answers");
    let typed = "y".repeat(10_000_000);
    for words in [
        vec!["weigh", "Thimblo", "3.1 g"],
        vec!["give", "Thimblo", "DEMO-0001"],
        vec!["enter"],
        vec!["round"],
    ] {
        let ran = within(ANY, &room, &words, &typed);
        ran.ends(2, "The answer is longer than any that is expected");
        ran.is_short();
    }
}

/// Files that are no prescription.
#[test]
fn a_hostile_prescription_is_not_accepted() {
    let room = long_course("script");
    let good = fs::read_to_string(room.path("DEMO-0001.ron"))
        .unwrap()
        .replace("DEMO-0001", "DEMO-0002");
    let with = |from: &str, to: &str| {
        assert!(good.contains(from));
        good.replacen(from, to, 1).into_bytes()
    };
    let ten_mb = "n".repeat(10_000_000);
    let digits = "9".repeat(60_000);
    for (bytes, phrase) in [
        (
            with("Dr A. Example", "Dr \u{1b}[2J Example"),
            "invisible character",
        ),
        (with("Dr A. Example", "Dr \\u{1b} Example"), "backslash"),
        (
            with("Dr A. Example", "Dr \u{202e}elpmaxE"),
            "invisible character",
        ),
        (
            with("Dr A. Example", "Dr\u{0}Example"),
            "invisible character",
        ),
        (
            with("\"Thimblo\"", &format!("\"{ten_mb}\"")),
            "longer than any prescription",
        ),
        (
            with("\"Thimblo\"", &format!("\"{}\"", "n".repeat(50_000))),
            "longer than",
        ),
        (
            with("20 mg/kg", &format!("{digits} mg/kg")),
            "longer than 600 characters",
        ),
        (
            with("doses: 100", &format!("doses: {digits}")),
            "whole number",
        ),
        (
            with("doses: 100", "doses: 99999999999999999999"),
            "whole number",
        ),
        (
            with("written:", "written: \"2001-01-01\", written:"),
            "twice",
        ),
        (vec![b'('; 60_000], "expected"),
        (
            format!("Prescription(a: {}", "[".repeat(10_000)).into_bytes(),
            "too many parts",
        ),
        (
            format!("Prescription({}", "/*".repeat(20_000)).into_bytes(),
            "never closed",
        ),
        (utf_16(&good), "UTF-16"),
        (good.replace('\n', "\r").into_bytes(), "old way"),
        (vec![0xff; 1_000], "is not text in UTF-8"),
        (Vec::new(), "nothing in this file"),
    ] {
        let file = room.write("hostile.ron", &bytes);
        for words in [
            vec!["enter", &file, "--start", "2001-03-01 20:00", "--yes"],
            vec!["plan", &file],
            vec!["work", &file, "--weight", "31 g"],
        ] {
            let ran = within(ANY, &room, &words, "");
            ran.ends(2, phrase);
            ran.is_short();
        }
    }
    // A mark at the beginning and line ends of another system are no fault; a name is a name.
    let fine = "\u{feff}".to_owned() + &good.replace('\n', "\r\n");
    let fine = fine.replace("Dr A. Example", "Dr A.'); DROP TABLE entry; --");
    let file = room.write("fine.ron", fine);
    let enter = ["enter", &file, "--start", "2001-03-01 20:00", "--yes"];
    within(ANY, &room, &enter, "").ends(0, "DROP TABLE entry; --");
    within(ANY, &room, &["verify"], "").ends(0, "The book is sound");
}

/// Files that are no table of weighings.
#[test]
fn a_hostile_table_is_not_accepted() {
    let room = long_course("table");
    let before = room.book();
    let ten_mb = "n".repeat(10_000_000);
    let digits = "9".repeat(500_000);
    let head = "name,date,weight\n";
    for (bytes, phrase) in [
        (
            format!("{head}Thim\u{1b}[2Jblo,2001-03-01,31 g\n").into_bytes(),
            "no animal of that name",
        ),
        (
            format!("{head}{ten_mb},2001-03-01,31 g\n").into_bytes(),
            "longer than 1 MiB",
        ),
        (
            format!("{head}{},2001-03-01,31 g\n", "n".repeat(900_000)).into_bytes(),
            "no animal of that name",
        ),
        (
            format!("{head}x'); DROP TABLE entry; --,2001-03-01,31 g\n").into_bytes(),
            "no animal of that name",
        ),
        (
            format!("{head}Thimblo,2001-03-01,{digits} g\n").into_bytes(),
            "Nothing was kept",
        ),
        (
            format!("{head}Thimblo,{digits},31 g\n").into_bytes(),
            "Nothing was kept",
        ),
        (
            format!("{head}Thimblo,2001-03-01,=1+1\n").into_bytes(),
            "Nothing was kept",
        ),
        (
            format!("{head}Thimblo,2001-03-01,31\u{0} g\n").into_bytes(),
            "Nothing was kept",
        ),
        ("name,name,weight\n".to_owned().into_bytes(), "twice"),
        (",".repeat(1_000_000).into_bytes(), "empty"),
        (
            format!("{head}{}", "\"".repeat(999_999)).into_bytes(),
            "never closed",
        ),
        (
            format!("{head}{}", "a,b,c\n".repeat(6_000)).into_bytes(),
            "5,000 rows",
        ),
        (
            utf_16("name,date,weight\nThimblo,2001-03-01,31 g\n"),
            "UTF-8",
        ),
    ] {
        let file = room.write("hostile.csv", &bytes);
        let ran = within(ANY, &room, &["weigh", "--from", &file, "--yes"], "");
        ran.ends(2, phrase);
        ran.is_short();
        assert_eq!(room.book(), before, "{phrase}");
    }
    let fine = "\u{feff}name,date,weight\r\n\"Thimblo\",2001-03-01,31.1 g\r\n";
    let file = room.write("fine.csv", fine);
    within(ANY, &room, &["weigh", "--from", &file, "--yes"], "").ends(0, "Kept 1 weighing");
}

/// Files that are no export, up to the size of one that holds a million entries. What reading one
/// may take is four times its length and [`ANY`].
#[test]
fn a_hostile_export_is_not_imported() {
    let mut room = long_course("export");
    let out = room.path("out");
    room.run(&format!("export {out}")).ends(0);
    let good = fs::read_to_string(room.path("out/book.ron")).unwrap();
    let mut other = Room::without_a_book("export-other");
    let with = |from: &str, to: &str| {
        assert!(good.contains(from), "{from}");
        good.replacen(from, to, 1).into_bytes()
    };
    let ten_mb = "n".repeat(10_000_000);
    for (bytes, phrase) in [
        (with("animal:Thimblo", "animal:Thim\u{1b}[2Jblo"), "not"),
        (
            with("animal:Thimblo", &format!("animal:{ten_mb}")),
            "not as it was exported",
        ),
        (
            with("seq: 1,", &format!("seq: {ten_mb},").replace('n', "9")),
            "not an export",
        ),
        (
            with("version: 1,", "version: 1, version: 1,"),
            "not an export",
        ),
        (
            with("entries: [", "entries: [], entries: ["),
            "not an export",
        ),
        (
            with("damage: []", &format!("damage: {}", "[".repeat(1_000_000))),
            "not an export",
        ),
        (
            with(
                "zone: Some(\"UTC\")",
                "zone: Some(\"x'); DROP TABLE entry; --\")",
            ),
            "check code",
        ),
        (utf_16(&good), "not UTF-8"),
        (vec![b'('; 5_000_000], "not an export"),
        (vec![0; 5_000_000], "not UTF-8"),
        (b"Export(".to_vec(), "not an export"),
    ] {
        let file = other.write("hostile.ron", &bytes);
        let most = ANY + 4 * bytes.len() as u64 / (1 << 20);
        let ran = within(most, &other, &["import", &file], "");
        ran.ends(2, phrase);
        ran.is_short();
        assert!(!fs::exists(other.path("room.scruple")).unwrap(), "{phrase}");
    }
    // A number without an end, in a place where a number stands.
    let digits = how_many("SCRUPLE_DIGITS", 5_000_000);
    let file = other.path("digits.ron");
    let mut long = BufWriter::new(fs::File::create(&file).unwrap());
    let (before, after) = good.split_once("version: 1,").unwrap();
    write!(long, "{before}version: ").unwrap();
    let million = [b'1'; 1_000_000];
    for _ in 0..digits / 1_000_000 {
        long.write_all(&million).unwrap();
    }
    write!(long, ",{after}").unwrap();
    long.into_inner().unwrap();
    let most = ANY + 4 * digits / (1 << 20);
    let ran = within(most, &other, &["import", &file], "");
    ran.ends(2, "not an export");
    ran.is_short();
    fs::remove_file(&file).unwrap();
    // Longer than any: its length alone says so.
    let endless = fs::File::create(&file).unwrap();
    endless.set_len(1 << 40).unwrap();
    within(ANY, &other, &["import", &file], "").ends(2, "longer than 1024 MiB");
    fs::remove_file(&file).unwrap();
    // A mark at the beginning and line ends of another system are no fault.
    let fine = "\u{feff}".to_owned() + &good.replace('\n', "\r\n");
    let file = other.write("fine.ron", fine);
    other
        .at("2001-03-01 10:00")
        .run(&format!("import {file}"))
        .ends(0);
}

/// Books that another hand has filled: the commands say what is damaged, within eight times the
/// file and [`ANY`].
#[test]
fn a_hostile_book_stops_no_command() {
    for (number, (column, value)) in [
        ("subject", "printf('%.*c', 10000000, 'x')"),
        ("body", "printf('%.*c', 5000000, '[')"),
        ("body", "printf('{\"weight\":%.*c', 5000000, '9')"),
        ("kind", "char(27) || '[2J' || char(7, 8238)"),
        ("subject", "'animal:' || char(27) || '[2J'"),
        ("zone", "CAST(x'fffe41004200' AS TEXT)"),
        ("happened_at", "'+262143-01-01T00:00:00Z'"),
        ("n", "-9223372036854775808"),
        ("seq", "9223372036854775807"),
        ("link", "replace(hex(zeroblob(32)), '0', char(1087))"),
    ]
    .into_iter()
    .enumerate()
    {
        let room = long_course(&format!("book-{number}"));
        let conn = Connection::open(room.path("room.scruple")).unwrap();
        conn.set_db_config(DbConfig::SQLITE_DBCONFIG_ENABLE_TRIGGER, false)
            .unwrap();
        conn.execute_batch(&format!(
            "UPDATE entry SET {column} = {value} WHERE kind = 'weighing'"
        ))
        .unwrap();
        drop(conn);
        let most = ANY + 8 * room.book().len() as u64 / (1 << 20);
        let verdict = within(most, &room, &["verify"], "");
        verdict.ends(3, "DAMAGED.");
        verdict.is_short();
        let out = room.path("out");
        for words in [
            vec!["today"],
            vec!["today", "--format", "json"],
            vec!["check"],
            vec!["stock"],
            vec!["report", "Thimblo"],
            vec!["export", &out],
            vec!["weigh", "Thimblo", "31 g", "--yes"],
        ] {
            let ran = within(most, &room, &words, "");
            ran.is_short();
            assert!(!ran.said.contains("\"mark\":{"), "{words:?}: {}", ran.said);
        }
    }
}

/// A book whose chains hold, of entries that no command writes: whoever computed the links cannot
/// steer a terminal with them. What cannot be understood is damage.
#[test]
fn an_entry_that_would_steer_a_terminal_is_not_understood() {
    let room = long_course("steers");
    let mut book = Book::open(room.path("room.scruple").as_ref()).unwrap();
    let rows = book.read_all().unwrap();
    let of = |kind: &str| rows.iter().find(|row| row.kind == kind).unwrap().as_given();
    let animal = of("animal");
    let name = animal.body.replace("Thimblo", "Thim\\u001b[2Jblo");
    assert_ne!(name, animal.body);
    let added = [
        NewRow {
            body: name,
            ..animal.clone()
        },
        NewRow {
            subject: String::from("animal:\u{1b}[2J"),
            body: animal.body.replace("Thimblo", "\\u001b[2J"),
            ..animal.clone()
        },
        NewRow {
            kind: String::from("\u{1b}]0;x\u{7}"),
            ..animal.clone()
        },
        NewRow {
            body: format!("{}\u{202e}", of("weighing").body),
            ..of("weighing")
        },
    ];
    let added = added.to_vec();
    book.append(|_| Ok::<_, BookError>(added)).unwrap();
    drop(book);
    let verdict = within(ANY, &room, &["verify", "--format", "json"], "");
    verdict.ends(3, "not_understood");
    let out = room.path("out");
    for words in [
        vec!["today"],
        vec!["check"],
        vec!["animal", "list"],
        vec!["report", "Thimblo"],
        vec!["export", &out],
        vec!["give", "Thimblo", "DEMO-0001", "--yes"],
        vec!["verify"],
    ] {
        let ran = within(ANY, &room, &words, "");
        assert!(!ran.said.contains("DRAW TO"), "{words:?}: {}", ran.said);
    }
}
