//! Prescriptions, quantities and tables of weighings.

use crate::claims::reader::{self, Cells};
use crate::claims::{LONGEST_MESSAGE, is_a_message};
use chrono::{NaiveDate, NaiveTime};
use scruple::notation::fold::{fold, near_miss, nearest};
use scruple::notation::prone::error_prone;
use scruple::notation::{DailyRate, Notation, Written, percent};
use scruple::prescription::Prescription;
use scruple::quantity::{Amount, BodyWeight, DoseRate, Exact, Span, Strength, Volume};
use scruple::schedule::Start;
use std::fmt::Debug;

/// Any bytes as a prescription: read whole, or every fault of it named in words.
pub fn prescription(bytes: &[u8]) {
    let read = match Prescription::read_bytes(bytes, "script.ron") {
        Err(faults) => {
            assert!(!faults.list().is_empty());
            for fault in faults.list() {
                assert!(fault.line > 0 && fault.column > 0, "{fault:?}");
                is_a_message(
                    &format!("{} {}", fault.wrong, fault.expected),
                    LONGEST_MESSAGE,
                );
            }
            // It shows every line at fault, of a file that may be 64 KiB long.
            is_a_message(&faults.render(false), 64 * LONGEST_MESSAGE * 2);
            return;
        }
        Ok(read) => read,
    };
    assert_eq!(read.source().as_bytes(), bytes);
    assert_eq!(
        Prescription::read(read.source(), "again.ron").as_ref(),
        Ok(&read)
    );
    assert!(!read.vet.name.is_empty() && !read.animals.is_empty() && !read.doses.is_empty());
    for line in read.read_back() {
        is_a_message(&line, 2 * 64 * 1024);
    }
    let _ = (read.prone_words(), read.label_agreement());
    for dose in &read.doses {
        for grams in [1, 31, 4_999, 10_000_000] {
            let weight = BodyWeight::from_grams(Exact::whole(grams));
            // Every accepted figure is in the range of exact arithmetic (tests/bounds.rs).
            read.calculated(dose, Some(weight)).unwrap();
        }
    }
    let start = read.start.unwrap_or(Start {
        date: NaiveDate::from_ymd_opt(2027, 3, 22).unwrap(),
        time: NaiveTime::from_hms_opt(8, 0, 0),
    });
    if let Ok(slots) = read.schedule.expand(start, zone("Europe/Warsaw")) {
        assert!(!slots.is_empty());
    }
}

fn zone(name: &str) -> scruple::schedule::Zone {
    name.parse().unwrap()
}

/// Any text as every kind of quantity: what is accepted is written safely, and what is written is
/// read again as the same.
pub fn notation(bytes: &[u8]) {
    let Ok(text) = std::str::from_utf8(bytes) else {
        return;
    };
    reads::<BodyWeight>(text);
    reads::<Volume>(text);
    reads::<DoseRate>(text);
    reads::<DailyRate>(text);
    reads::<Amount>(text);
    reads::<Strength>(text);
    reads::<Span>(text);
    same_again(percent(text), percent);
    let folded = fold(text);
    assert_eq!(fold(&folded), folded);
    let half = (0..=text.len() / 2)
        .rev()
        .find(|at| text.is_char_boundary(*at));
    let (one, other) = text.split_at(half.unwrap_or(0));
    assert_eq!(near_miss(one, other), near_miss(other, one));
    let _ = nearest(one, ["weight", "date", other]);
    for prone in error_prone(text) {
        is_a_message(&format!("{prone:?}"), text.len() * 8 + LONGEST_MESSAGE);
    }
}

fn reads<T: Notation + PartialEq + Debug>(text: &str) {
    same_again(T::read(text), T::read);
}

fn same_again<T, E>(read: Result<Written<T>, E>, reader: impl Fn(&str) -> Result<Written<T>, E>)
where
    T: PartialEq + Debug,
    E: std::fmt::Display + Debug,
{
    match read {
        Ok(written) => {
            let text = written.text();
            assert_eq!(reader(text).unwrap(), written, "{text}");
            assert!(error_prone(text).is_empty(), "'{text}' can be misread");
        }
        Err(error) => is_a_message(&error.to_string(), LONGEST_MESSAGE),
    }
}

/// Any bytes as a table of weighings: its rows, which are the same when they are written down
/// again, or one sentence.
pub fn table(bytes: &[u8]) {
    let rows = match reader::read(bytes) {
        Ok(rows) => rows,
        Err(error) => return is_a_message(&error, LONGEST_MESSAGE),
    };
    assert!(!rows.is_empty() && rows.len() <= reader::MOST_ROWS);
    for row in &rows {
        assert!(row.line > 1);
        if let Some(fault) = &row.fault {
            is_a_message(fault, LONGEST_MESSAGE);
        }
    }
    let whole: Vec<&Cells> = rows.iter().filter(|row| row.fault.is_none()).collect();
    let mut text = String::from("tag,time,weight,name,date\r\n");
    for row in &whole {
        let quoted = |cell: &str| format!("\"{}\"", cell.replace('"', "\"\""));
        let optional = |cell: &Option<String>| quoted(cell.as_deref().unwrap_or_default());
        let cells = [
            optional(&row.tag),
            optional(&row.time),
            quoted(&row.weight),
            quoted(&row.name),
            quoted(&row.date),
        ];
        text.push_str(&(cells.join(",") + "\r\n"));
    }
    // A little longer than it was, it may pass the bound; a table of faults alone is none.
    let Ok(again) = reader::read(text.as_bytes()) else {
        assert!(whole.is_empty() || text.len() > reader::LONGEST_FILE);
        return;
    };
    let cells = |row: &Cells| {
        (
            row.name.clone(),
            row.date.clone(),
            row.weight.clone(),
            row.time.clone(),
            row.tag.clone(),
        )
    };
    assert!(
        whole
            .iter()
            .map(|row| cells(row))
            .eq(again.iter().map(cells))
    );
}
