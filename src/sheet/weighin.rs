//! The sheet for the scale: one row for each animal, in order of work, to be typed in afterwards.
//!
//! Promises: the last weight stands beside the box for the new one, so that a slip shows at the
//! bench. Does not: say what a weight would mean; the program judges it when it is typed in.

use crate::ledger::{Ledger, Patient};
use crate::prescription::Vet;
use crate::round::tell::damage_first;
use crate::round::{here, say, weigh_code};
use crate::schedule::Zone;
use crate::settings::Settings;
use crate::sheet::SheetError;
use crate::sheet::card::words::{bold, plain};
use crate::sheet::face::Faces;
use crate::sheet::leaf::{Front, Part, pages as leaves, pdf, words};
use crate::sheet::page::{Page, Paper};
use crate::sheet::table::{Cell, Column, rows};
use crate::sheet::text::curled;
use chrono::{DateTime, Utc};

/// What the sheet is made from.
#[derive(Clone, Copy, Debug)]
pub struct WeighIn<'l> {
    /// Everything the book says.
    pub ledger: &'l Ledger,
    /// The settings.
    pub settings: &'l Settings,
    /// The book's zone.
    pub zone: Zone,
    /// The moment of looking.
    pub now: DateTime<Utc>,
}

/// The sheet as a PDF file.
///
/// # Errors
/// [`SheetError`] for a character that cannot be printed, or a fault of the writer.
pub fn of_room(sheet: &WeighIn) -> Result<Vec<u8>, SheetError> {
    let faces = Faces::load()?;
    let parts = parts(&faces, sheet)?;
    let paper = Paper::of(sheet.settings.paper);
    pdf(&faces, &front(sheet), parts, paper)
}

/// The sheet's pages.
///
/// # Errors
/// As [`of_room`], but for the writer's.
pub fn pages(sheet: &WeighIn, paper: Paper) -> Result<Vec<Page>, SheetError> {
    let faces = Faces::load()?;
    let parts = parts(&faces, sheet)?;
    leaves(&faces, &front(sheet), parts, paper)
}

fn front(sheet: &WeighIn) -> Front {
    let local = sheet.now.with_timezone(&sheet.zone);
    let patients = here(sheet.ledger, sheet.settings, sheet.now);
    let mut vets: Vec<&Vet> = Vec::new();
    for patient in &patients {
        for script in sheet.ledger.scripts_of(patient) {
            if !vets.contains(&&script.prescription.vet) {
                vets.push(&script.prescription.vet);
            }
        }
    }
    Front {
        name: local.format("%A %-d %B %Y").to_string(),
        title: "Weigh-in".to_owned(),
        demonstration: sheet.settings.demonstration,
        vets: Front::vets(vets),
        code: weigh_code(&patients, sheet.now),
        day: local.format("%a %-d %B %Y").to_string(),
        made: local.fixed_offset(),
    }
}

fn parts(faces: &Faces, sheet: &WeighIn) -> Result<Vec<Part>, SheetError> {
    let before = format!(
        "The scale reads {}; empty, it shows 0 g. New gloves, and the scale cleaned, between animals. Write what it shows, with its unit.",
        sheet.settings.readability
    );
    let mut parts = Vec::new();
    if let Some(stop) = damage_first(sheet.ledger) {
        parts.push(words(faces, &bold(&curled(&stop), 11.0))?);
    }
    parts.push(words(faces, &plain(&before, 11.0))?);
    parts.push(words(
        faces,
        &plain(
            "Type it in the same day. A weight that looks like a slip is asked for again, so keep this sheet until it is typed in.",
            9.0,
        ),
    )?);
    const COLUMNS: [Column; 6] = [
        Column::new("animal", 2.0, 62.0),
        Column::new("last weight", 64.0, 94.0),
        Column::new("weight now", 96.0, 126.0),
        Column::new("just fed, gravid, wet?", 128.0, 152.0),
        Column::new("time", 154.0, 172.0),
        Column::new("by", 174.0, 192.0),
    ];
    let patients = here(sheet.ledger, sheet.settings, sheet.now);
    let lines: Vec<Vec<Cell>> = patients
        .iter()
        .map(|patient| {
            vec![
                animal(patient),
                last(patient, sheet),
                Cell::Write,
                Cell::Write,
                Cell::Write,
                Cell::Write,
            ]
        })
        .collect();
    if lines.is_empty() {
        parts.push(words(faces, &plain("No animal is in the book.", 11.0))?);
    }
    parts.extend(rows(faces, &COLUMNS, &lines, 12.0)?);
    Ok(parts)
}

fn animal(patient: &Patient) -> Cell {
    let mut spans = bold(&patient.animal.name, 11.0);
    let who = format!("  {}", say::identification(&patient.animal));
    spans.extend(plain(&curled(&who), 8.0));
    Cell::Words(spans)
}

fn last(patient: &Patient, sheet: &WeighIn) -> Cell {
    let Some(latest) = patient.weights.latest(sheet.now) else {
        return Cell::plain("none in the book");
    };
    let today = sheet.now.with_timezone(&sheet.zone).date_naive();
    let tag = latest.tag.map(|tag| format!(", {tag}")).unwrap_or_default();
    let day = say::date(latest.day(sheet.zone), today);
    let mut spans = bold(&latest.weight.to_string(), 10.0);
    spans.extend(plain(&format!("{tag}, {day}"), 8.0));
    Cell::Words(spans)
}
