//! The report for the vet: the chart, planned against given, exceptions, what the vet said, what
//! is left.
//!
//! Promises: everything that the report holds is printed, in the words that its other faces use.
//! Does not: compute anything but where things stand on the paper.

mod chart;

use crate::report::say::{self, Cells, HEADS};
use crate::report::{Record, Report};
use crate::round::said;
use crate::round::say as words;
use crate::round::tell::{follow_up_line, kept, need};
use crate::settings::PaperSize;
use crate::sheet::SheetError;
use crate::sheet::card::words::{bold, plain};
use crate::sheet::face::{Face, Faces, Style};
use crate::sheet::leaf::{Front, Part, heading, pdf};
use crate::sheet::page::{Page, Paper};
use crate::sheet::table::{Cell, Column, SIZE, rows};
use crate::sheet::text::{Span, curled};
use crate::sheet::{leaf, table};

/// The report as a PDF file.
///
/// # Errors
/// [`SheetError`] for a character that cannot be printed, or a fault of the writer.
pub fn of_report(report: &Report, paper: PaperSize) -> Result<Vec<u8>, SheetError> {
    let faces = Faces::load()?;
    let parts = parts(&faces, report)?;
    pdf(&faces, &front(report), parts, Paper::of(paper))
}

/// The report's pages.
///
/// # Errors
/// As [`of_report`], but for the writer's.
pub fn pages(report: &Report, paper: Paper) -> Result<Vec<Page>, SheetError> {
    let faces = Faces::load()?;
    let parts = parts(&faces, report)?;
    leaf::pages(&faces, &front(report), parts, paper)
}

fn front(report: &Report) -> Front {
    let local = report.now.with_timezone(&report.zone);
    Front {
        name: report.patient.animal.name.clone(),
        title: "Report for the vet".to_owned(),
        demonstration: report.settings.demonstration,
        vets: Front::vets(report.vets.iter().copied()),
        code: report.code.clone(),
        day: local.format("%a %-d %B %Y").to_string(),
        made: local.fixed_offset(),
    }
}

fn parts(faces: &Faces, report: &Report) -> Result<Vec<Part>, SheetError> {
    let animal = &report.patient.animal;
    let who = format!("{}; {}", animal.species, words::identification(animal));
    let mut parts = vec![leaf::words(faces, &plain(&curled(&who), 10.0))?];
    let local = report.now.with_timezone(&report.zone);
    let mut state = format!("As it stood {}", local.format("%A %-d %B %Y at %H:%M"));
    if let Some((at, end)) = &report.patient.end {
        let at = say::moment(*at, report);
        state.push_str(&format!("; {}, {at}", end.how));
        let note = end.note.iter().map(|note| format!(": \"{note}\""));
        state.extend(note);
    }
    parts.push(leaf::words(faces, &plain(&curled(&state), 10.0))?);
    for damaged in &report.damaged {
        let warning = format!("Damaged in the book, and not shown here: {damaged}");
        parts.push(leaf::words(faces, &bold(&warning, 10.0))?);
    }
    parts.extend(weights(faces, report)?);
    parts.extend(seen(faces, report)?);
    for record in &report.courses {
        parts.extend(course(faces, report, record)?);
    }
    if report.courses.is_empty() {
        parts.push(leaf::words(
            faces,
            &plain("No course is in the book.", 10.0),
        )?);
    }
    Ok(parts)
}

fn weights(faces: &Faces, report: &Report) -> Result<Vec<Part>, SheetError> {
    let mut parts = vec![heading(faces, "Weight and doses", "")?];
    if report.weights.is_empty() {
        parts.push(leaf::words(
            faces,
            &plain("No weighing is in the book.", 10.0),
        )?);
        return Ok(parts);
    }
    parts.extend(chart::of(faces, report)?);
    const COLUMNS: [Column; 4] = [
        Column::new("weighed", 2.0, 40.0),
        Column::new("weight", 43.0, 66.0),
        Column::new("tag", 69.0, 90.0),
        Column::new("against the highest", 93.0, 192.0),
    ];
    let limit = report.settings.loss_percent.share();
    let lines = report.weights.iter().rev().map(|weight| {
        let tag = weight.weighing.tag.map(|tag| tag.words());
        vec![
            Cell::plain(&say::moment(weight.weighing.at, report)),
            Cell::bold(&weight.weighing.weight.to_string()),
            Cell::plain(tag.unwrap_or_default()),
            Cell::plain(&say::change(weight, limit)),
        ]
    });
    parts.extend(rows(faces, &COLUMNS, &lines.collect::<Vec<_>>(), 0.0)?);
    Ok(parts)
}

/// What somebody saw, the latest first, in their own words.
fn seen(faces: &Faces, report: &Report) -> Result<Vec<Part>, SheetError> {
    if report.notes.is_empty() {
        return Ok(Vec::new());
    }
    const COLUMNS: [Column; 4] = [
        Column::new("seen", 2.0, 40.0),
        Column::new("about", 43.0, 66.0),
        Column::new("in the words of whoever saw it", 69.0, 172.0),
        Column::new("by", 174.0, 192.0),
    ];
    let lines = report.notes.iter().rev().map(|note| {
        let seen = &note.observation;
        vec![
            Cell::plain(&say::moment(note.at, report)),
            Cell::plain(&seen.about.to_string()),
            Cell::plain(&curled(&format!("\"{}\"", seen.words))),
            Cell::plain(seen.by.as_deref().unwrap_or_default()),
        ]
    });
    let mut parts = vec![heading(faces, "Seen", "")?];
    parts.extend(rows(faces, &COLUMNS, &lines.collect::<Vec<_>>(), 0.0)?);
    Ok(parts)
}

fn course(faces: &Faces, report: &Report, record: &Record) -> Result<Vec<Part>, SheetError> {
    let checked = &record.checked;
    let standing = &checked.standing;
    let prescription = &standing.script.prescription;
    let title = format!("{}, {}", prescription.medicine.name, prescription.reference);
    let verdict = words::verdict(&standing.course.verdict);
    let mut parts = vec![heading(faces, &title, &verdict)?];
    let mut line = |spans: &[Span]| -> Result<(), SheetError> {
        parts.push(leaf::words(faces, spans)?);
        Ok(())
    };
    line(&named("Written: ", &say::written(record)))?;
    line(&plain(&kept(&standing.course.adherence), SIZE))?;
    if let Some(actual) = &checked.actual {
        line(&named("Really given: ", &actual.words()))?;
    }
    if record.rows.is_empty() {
        line(&plain("No dose has come due, and none is recorded.", SIZE))?;
    } else {
        parts.extend(planned_against_given(faces, report, record)?);
        parts.push(leaf::words(faces, &plain(&curled(say::BAND), 7.5))?);
    }
    for (lead, list) in [
        ("Exception: ", say::exceptions(record)),
        (
            "Your vet said: ",
            record
                .said
                .iter()
                .map(|said| said::in_full(said, report.zone))
                .collect(),
        ),
    ] {
        for each in list {
            parts.push(leaf::words(faces, &named(lead, &each))?);
        }
    }
    for (lead, own) in words::vet_words(prescription) {
        let lead = match lead {
            "" => "Note: ".to_owned(),
            lead => format!("{lead}: "),
        };
        let mut spans = plain(&lead, SIZE);
        let style = Style::new(Face::BoldItalic, SIZE);
        spans.push(Span::new(&format!("“{}”", own.trim()), style));
        parts.push(leaf::words(faces, &spans)?);
    }
    let left = checked.left.as_ref().map(need);
    let left = left.unwrap_or_else(|| "no dose".to_owned());
    parts.push(leaf::words(faces, &named("Left: ", &left))?);
    if let Some(held) = say::in_hand(report, record) {
        parts.push(leaf::words(faces, &named("In hand: ", &held))?);
    }
    for follow_up in &checked.follow_ups {
        let text = follow_up_line(follow_up, report.zone);
        parts.push(leaf::words(faces, &plain(&curled(&text), SIZE))?);
    }
    Ok(parts)
}

fn named(name: &str, words: &str) -> Vec<Span> {
    let mut spans = bold(name, SIZE);
    spans.extend(plain(&curled(words), SIZE));
    spans
}

fn planned_against_given(
    faces: &Faces,
    report: &Report,
    record: &Record,
) -> Result<Vec<Part>, SheetError> {
    const EDGES: [(f32, f32); 9] = [
        (2.0, 13.5),
        (15.0, 36.5),
        (38.0, 57.0),
        (58.5, 80.5),
        (82.0, 97.0),
        (98.5, 112.0),
        (113.5, 132.0),
        (133.5, 150.0),
        (152.0, 192.0),
    ];
    let columns: Vec<Column> = HEADS
        .iter()
        .zip(EDGES)
        .map(|(name, (left, right))| Column::new(name, left, right))
        .collect();
    let lines: Vec<Vec<Cell>> = record
        .rows
        .iter()
        .map(|row| {
            let Cells {
                number,
                planned,
                what,
                at,
                measured,
                weight,
                rate,
                band,
                beside,
            } = say::cells(row, report);
            let small = |words: &str| Cell::Words(plain(&curled(words), 8.0));
            vec![
                Cell::bold(&number),
                small(&planned),
                small(&what),
                small(&at),
                small(&measured),
                small(&weight),
                small(&rate),
                small(&band),
                small(&beside),
            ]
        })
        .collect();
    table::rows(faces, &columns, &lines, 0.0)
}
