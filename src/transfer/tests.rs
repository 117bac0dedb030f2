#![allow(clippy::unwrap_used, clippy::indexing_slicing)]

use super::{Archive, ArchiveError, Relation, read, relation, tables, write};
use crate::entry::Row;
use proptest::prelude::{Strategy, any, proptest};

fn row(seq: u64, subject: &str, kind: &str, body: &str) -> Row {
    Row {
        seq,
        n: seq,
        link: "0".repeat(64),
        subject: subject.to_owned(),
        course: seq.is_multiple_of(2).then(|| "DEMO-0001".to_owned()),
        kind: kind.to_owned(),
        happened_at: "2001-03-08T19:30:00Z".parse().unwrap(),
        recorded_at: "2001-03-08T19:30:01.5Z".parse().unwrap(),
        clock_given: seq == 1,
        zone: "Europe/Warsaw".to_owned(),
        body: body.to_owned(),
    }
}

fn archive(entries: Vec<Row>) -> Archive {
    Archive {
        book: Some("0123456789abcdef0123456789abcdef".to_owned()),
        zone: Some("Europe/Warsaw".to_owned()),
        made: Some("2001-03-01T10:00:00Z".parse().unwrap()),
        open_courses: [("animal:Thimblo".to_owned(), 2)].into(),
        entries,
        damaged: Vec::new(),
        damage: Vec::new(),
    }
}

fn two() -> Archive {
    archive(vec![
        row(1, "settings", "settings", "{}"),
        row(2, "animal:Thimblo", "weighing", "{\"weight\":\"34.5 g\"}"),
    ])
}

#[test]
fn what_is_written_is_read_back_to_the_letter() {
    let archive = two();
    let text = write(&archive).unwrap();
    assert_eq!(read(text.as_bytes()).unwrap(), archive);
    assert_eq!(write(&read(text.as_bytes()).unwrap()).unwrap(), text);
    // One entry a line: two entries, so two lines that begin one.
    let lines = text
        .lines()
        .filter(|line| line.trim_start().starts_with("Entry("));
    assert_eq!(lines.count(), 2);
    // As Windows saves it, and with the sign that it puts first.
    let saved = format!("\u{feff}{}", text.replace('\n', "\r\n"));
    assert_eq!(read(saved.as_bytes()).unwrap(), archive);
}

proptest! {
    #[test]
    fn any_text_comes_back(subject in ".*", body in ".*", zone in any::<String>(),
                           nanos in 0_u32..1_000_000_000,
                           course in proptest::option::of(".*".prop_map(String::from))) {
        let mut entry = row(1, &subject, "note", &body);
        entry.zone = zone;
        entry.course = course;
        entry.happened_at += chrono::TimeDelta::nanoseconds(i64::from(nanos));
        let archive = archive(vec![entry]);
        let text = write(&archive).unwrap();
        assert_eq!(read(text.as_bytes()).unwrap(), archive);
    }
}

#[test]
fn what_is_no_export_is_refused_with_its_place() {
    let text = write(&two()).unwrap();
    let refused = |text: &str| read(text.as_bytes()).unwrap_err().to_string();
    assert!(refused("").contains("line 1, column 1"), "{}", refused(""));
    assert!(refused("Prescription(version: 1)").contains("not an export"));
    let unknown = text.replacen("version: 1", "version: 1, colour: \"red\"", 1);
    assert!(
        refused(&unknown).contains("colour"),
        "{}",
        refused(&unknown)
    );
    let twice = text.replacen("version: 1,", "version: 1, version: 1,", 1);
    assert!(refused(&twice).contains("version"), "{}", refused(&twice));
    let newer = text.replacen("version: 1,", "version: 2, colour: \"red\",", 1);
    assert_eq!(read(newer.as_bytes()), Err(ArchiveError::Newer(2)));
    let gap = text.replacen("seq: 2", "seq: 3", 1);
    let expected = ArchiveError::Order {
        expected: 2,
        found: 3,
    };
    assert_eq!(read(gap.as_bytes()), Err(expected));
    let time = text.replacen("19:30:00Z", "25:30:00Z", 1);
    assert!(refused(&time).contains("for a time"));
    // The same moment written another way would not give the same bytes again.
    let offset = text.replacen("2001-03-08T19:30:00Z", "2001-03-08T20:30:00+01:00", 1);
    assert!(refused(&offset).contains("for a time"));
    let deep = format!("Export(version: {}", "(".repeat(100_000));
    assert!(refused(&deep).contains("not an export"));
    let digits = text.replacen("seq: 1", &format!("seq: {}", "9".repeat(100_000)), 1);
    assert!(refused(&digits).chars().count() < 400);
    let wide: Vec<u8> = text.encode_utf16().flat_map(u16::to_le_bytes).collect();
    assert!(read(&wide).is_err());
    assert_eq!(read(b"Export(\xff"), Err(ArchiveError::Encoding(8)));
    let control = refused("Export(\u{1b}[2J");
    assert!(!control.contains('\u{1b}'), "{control:?}");
}

#[test]
fn a_book_and_an_export_are_told_apart() {
    let rows = two().entries;
    assert_eq!(relation(&rows, &rows), Relation::Same);
    assert_eq!(relation(&[], &rows), Relation::Behind(2));
    assert_eq!(relation(&rows[..1], &rows), Relation::Behind(1));
    assert_eq!(relation(&rows, &rows[..1]), Relation::Ahead(1));
    let mut other = rows.clone();
    other[1].body.push(' ');
    match relation(&rows, &other) {
        Relation::Fork(fork) => assert_eq!((fork.here.seq, fork.there.seq), (2, 2)),
        other => unreachable!("{other:?}"),
    }
}

#[test]
fn no_cell_is_run_as_a_formula() {
    let note = |words: &str| {
        let body = serde_json::json!({ "about": "other", "words": words, "by": null });
        let [_, _, notes, _] = tables(&archive(vec![row(
            1,
            "animal:Thimblo",
            "observation",
            &body.to_string(),
        )]));
        let line = notes.lines().nth(1).unwrap_or_default().to_owned();
        assert!(
            notes.starts_with("\u{feff}\"animal\",\"day\",\"time\""),
            "{notes}"
        );
        assert!(
            notes.ends_with("\r\n") && notes.matches("\r\n").count() >= 2,
            "{notes}"
        );
        line
    };
    for (typed, cell) in [
        ("=1+1", "\"'=1+1\""),
        ("+1", "\"'+1\""),
        ("-1", "\"'-1\""),
        ("@SUM(A1)", "\"'@SUM(A1)\""),
        (" =1", "\" '=1\""),
        ("\u{ff1d}1", "\"'\u{ff1d}1\""),
        ("ate; =1+1", "\"ate; '=1+1\""),
        ("ate,-2", "\"ate,'-2\""),
        ("said \"no\"", "\"said \"\"no\"\"\""),
        ("3 - 1 = 2", "\"3 - 1 = 2\""),
        ("a\";=1", "\"a\"\";'=1\""),
    ] {
        let line = note(typed);
        assert!(line.contains(cell), "{typed}: {line}");
    }
}

#[test]
fn weights_and_doses_stand_in_their_tables() {
    let weighing =
        r#"{"weight":"1.2 kg","readability":"1 g","tag":"Wet","confirmed":true,"by":"AK"}"#;
    let dose = r#"{"outcome":"given","slot":2,"by":"BT","site":"site A, left side","bottle":1,"syringe":null,
        "drawn":null,"mark":{"lines":15,"draws":1,"total":"0.075 mL","held":"0.6 mg","weight":"46 g","strength":"8 mg/mL"},
        "at_mark":true,"flags":["too_soon"],"note":"calm"}"#;
    let correction = r#"{"entry":1,"because":"the wrong tub","by":null}"#;
    let mut archive = archive(vec![
        row(1, "animal:Thimblo", "weighing", weighing),
        row(2, "animal:Thimblo", "dose", dose),
        row(3, "animal:Thimblo", "correction", correction),
    ]);
    archive.damaged = vec![row(4, "animal:Nubbet", "weighing", weighing)];
    let [weights, doses, notes, entries] = tables(&archive);
    let line = |text: &str, at: usize| text.lines().nth(at).unwrap_or_default().to_owned();
    // 19:30 in UTC is 20:30 in Warsaw in winter.
    assert_eq!(
        line(&weights, 1),
        "\"Thimblo\",\"2001-03-08\",\"20:30\",\"Europe/Warsaw\",\"AK\",\"1.2 kg\",\"1200\",\"1 g\",\"wet\",\"yes\",\"1\",\"2001-03-08T19:30:01.500Z\",\"the wrong tub\",\"\""
    );
    assert!(
        line(&weights, 2).starts_with("\"Nubbet\"") && line(&weights, 2).ends_with("\"DAMAGED\"")
    );
    assert_eq!(
        line(&doses, 1),
        "\"Thimblo\",\"2001-03-08\",\"20:30\",\"Europe/Warsaw\",\"BT\",\"DEMO-0001\",\"\",\"given\",\"2\",\"\",\"0.075 mL\",\"1\",\"0.6 mg\",\"46 g\",\"8 mg/mL\",\"yes\",\"1\",\"\",\"site A, left side\",\"too_soon; calm\",\"2\",\"2001-03-08T19:30:01.500Z\",\"\",\"\""
    );
    assert_eq!(notes.lines().count(), 1);
    assert_eq!(parsed(&entries).len(), 5);
    for table in [&weights, &doses, &notes, &entries] {
        let rows = parsed(table);
        assert!(rows.iter().all(|row| row.len() == rows[0].len()), "{table}");
    }
    // A line end inside a cell stays inside it.
    assert_eq!(parsed(&entries)[2][9], dose);
}

/// A reader of comma-separated rows by the grammar of RFC 4180, all cells quoted.
fn parsed(text: &str) -> Vec<Vec<String>> {
    let mut rows = Vec::new();
    let mut rest = text.strip_prefix('\u{feff}').unwrap();
    while !rest.is_empty() {
        let mut cells = Vec::new();
        loop {
            rest = rest.strip_prefix('"').unwrap();
            let mut cell = String::new();
            loop {
                let at = rest.find('"').unwrap();
                cell.push_str(&rest[..at]);
                rest = &rest[at + 1..];
                match rest.strip_prefix('"') {
                    Some(after) => {
                        cell.push('"');
                        rest = after;
                    }
                    None => break,
                }
            }
            cells.push(cell);
            match rest.strip_prefix(',') {
                Some(after) => rest = after,
                None => break,
            }
        }
        rest = rest.strip_prefix("\r\n").unwrap();
        rows.push(cells);
    }
    rows
}
