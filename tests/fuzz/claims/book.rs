//! Exports and the entries of a book.

use crate::claims::{LONGEST_MESSAGE, is_a_message, is_plain};
use chrono::{DateTime, TimeDelta, Utc};
use scruple::book::{BookId, first_unlinked};
use scruple::entry::Row;
use scruple::ledger::Ledger;
use scruple::report::of_animal;
use scruple::round::stock::stock;
use scruple::round::{check, morning, of_day};
use scruple::settings::Settings;
use scruple::transfer::{Archive, Relation, read, relation, tables, write};
use scruple::{ics, json, terminal};

/// Any bytes as an export: read to the letter and written again as the same, or one sentence.
pub fn import(bytes: &[u8]) {
    let archive = match read(bytes) {
        Ok(archive) => archive,
        Err(error) => return is_a_message(&error.to_string(), LONGEST_MESSAGE),
    };
    is_carried(&archive);
    if let Some(id) = archive.book.as_deref().and_then(BookId::parse) {
        let unlinked = first_unlinked(id, &archive.entries, |_, _| {});
        assert!(unlinked.is_none_or(|at| at < archive.entries.len()));
    }
}

/// Written, read again and written as tables, it is what it was.
fn is_carried(archive: &Archive) {
    let text = write(archive).unwrap();
    let again = read(text.as_bytes());
    let sound = archive.damage.is_empty();
    let in_order = (1..)
        .zip(&archive.entries)
        .all(|(n, row): (u64, _)| row.seq == n);
    if !sound || in_order {
        assert_eq!(again.as_ref(), Ok(archive));
        assert_eq!(write(&again.unwrap()).unwrap(), text);
    }
    assert_eq!(relation(&archive.entries, &archive.entries), Relation::Same);
    for table in tables(archive) {
        is_a_table(&table);
    }
}

/// As RFC 4180 has it: every cell in quotation marks, as many in each line, and none that a
/// spreadsheet would run.
fn is_a_table(text: &str) {
    let mut rest = text.strip_prefix('\u{feff}').unwrap();
    let (mut first, mut cells) = (None, 0);
    while !rest.is_empty() {
        rest = rest.strip_prefix('"').unwrap();
        assert!(
            !rest.starts_with(['=', '+', '-', '@', '\t', '\r', '\n']),
            "a spreadsheet runs this: {rest:?}"
        );
        // A quotation mark inside a cell is doubled; a single one ends it.
        loop {
            let end = rest.find('"').unwrap();
            rest = &rest[end + 1..];
            match rest.strip_prefix('"') {
                Some(after) => rest = after,
                None => break,
            }
        }
        cells += 1;
        if let Some(after) = rest.strip_prefix("\r\n") {
            rest = after;
            assert_eq!(*first.get_or_insert(cells), cells, "{text:?}");
            cells = 0;
        } else {
            rest = rest.strip_prefix(',').unwrap();
        }
    }
    assert_eq!(cells, 0);
}

/// Any entries, each a line `subject|kind|course|minute|body`, as what a sound book holds: carried
/// to the letter, and no face of them stops or steers a terminal.
pub fn entries(bytes: &[u8]) {
    let text = String::from_utf8_lossy(bytes);
    let rows: Vec<Row> = (text.lines())
        .filter_map(|line| {
            let mut parts = line.splitn(5, '|');
            Some((
                parts.next()?,
                parts.next()?,
                parts.next()?,
                parts.next()?,
                parts.next()?,
            ))
        })
        .zip(1..)
        .map(|((subject, kind, course, minute, body), seq)| Row {
            seq,
            n: seq,
            link: String::from("0"),
            subject: subject.to_owned(),
            course: Some(course.to_owned()).filter(|course| !course.is_empty()),
            kind: kind.to_owned(),
            happened_at: at(minute.parse().unwrap_or(0)),
            recorded_at: at(minute.parse().unwrap_or(0)),
            clock_given: false,
            zone: String::from("UTC"),
            body: body.to_owned(),
        })
        .collect();
    let ledger = Ledger::fold(&rows);
    for fault in &ledger.faults {
        is_a_message(&fault.why, LONGEST_MESSAGE);
    }
    shows(&ledger, at(60 * 24 * 70));
    is_carried(&Archive {
        book: Some("0".repeat(32)),
        zone: Some(String::from("UTC")),
        made: Some(at(0)),
        entries: rows,
        ..Archive::default()
    });
}

/// Minutes after the new year of 2001; at most some thousand years.
fn at(minute: i32) -> DateTime<Utc> {
    DateTime::from_timestamp(978_307_200, 0).unwrap() + TimeDelta::minutes(minute.into())
}

/// Every face over the ledger at a moment.
fn shows(ledger: &Ledger, now: DateTime<Utc>) {
    // Where the settings cannot be read no command goes on.
    let Some(settings): Option<Settings> = ledger.settings.clone() else {
        return;
    };
    let Ok(zone) = settings.zone.parse() else {
        return;
    };
    if let Ok(seen) = morning(ledger, &settings, zone, now) {
        is_plain(&terminal::morning(&seen, ""));
        is_json(&json::morning(&seen, false, ""));
    }
    let day = now.with_timezone(&zone).date_naive();
    if let Ok(round) = of_day(ledger, &settings, zone, day, now) {
        is_plain(&terminal::card(&round, "").to_string());
        let mut written = Vec::new();
        json::today(&round, &mut written).unwrap();
        is_json(&String::from_utf8(written).unwrap());
    }
    if let Ok(courses) = check(ledger, &settings, zone, now) {
        is_plain(&terminal::check(&courses, zone, now, ""));
        is_json(&json::check(&courses, false, ""));
    }
    if let Ok(needs) = stock(ledger, &settings, zone, now) {
        is_plain(&terminal::stock(&needs));
        is_json(&json::stock(&needs, ledger, now, day, false));
    }
    let _ = ics::ahead(ledger, zone, now);
    is_json(&json::bottles(ledger, day, zone, false));
    for patient in &ledger.animals {
        if let Ok(report) = of_animal(ledger, &settings, patient, zone, now) {
            is_plain(&terminal::report(&report));
            is_json(&json::report(&report, ""));
        }
    }
}

/// It has a beginning and an end; that it is JSON is the library's own promise.
fn is_json(text: &str) {
    assert!(text.starts_with('{') && text.trim_end().ends_with('}'));
    is_plain(text);
}
