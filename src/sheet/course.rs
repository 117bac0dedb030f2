//! The course of one animal as dates and ticks: what was given, what lies ahead, the days to
//! weigh, what the vet wants beside the doses, what it takes from the bottle.
//!
//! Promises: a mark beyond today says that it is provisional, and the weight it is made from stands
//! beside it; a date that hangs on a dose still to be given says so; every record of a dose has a
//! row, also of one given twice. Does not: stand in for the day's card.

use crate::course::{Record, Standing, State};
use crate::entry::Outcome;
use crate::ledger::Dose;
use crate::notation::print;
use crate::round::say;
use crate::round::stock::say as stock;
use crate::round::tell::{follow_up_line, need};
use crate::round::{Ahead, SlotAhead};
use crate::schedule::{Due, Zone};
use crate::settings::Settings;
use crate::sheet::SheetError;
use crate::sheet::ahead::mark as mark_ahead;
use crate::sheet::card::words::{bold, plain};
use crate::sheet::face::{Face, Faces, Style};
use crate::sheet::leaf::{Front, Part, heading, pages as leaves, pdf, words};
use crate::sheet::page::{Page, Paper};
use crate::sheet::table::{Cell, Column, SIZE, rows};
use crate::sheet::text::{Span, curled};
use chrono::{DateTime, NaiveDate, Utc};

/// What the sheet is made from.
#[derive(Clone, Copy, Debug)]
pub struct CourseSheet<'a> {
    /// The course as it lies ahead.
    pub ahead: &'a Ahead<'a>,
    /// The settings.
    pub settings: &'a Settings,
    /// The book's zone.
    pub zone: Zone,
    /// The moment of looking.
    pub now: DateTime<Utc>,
}

/// The sheet as a PDF file.
///
/// # Errors
/// [`SheetError`] for a character that cannot be printed, or a fault of the writer.
pub fn of_course(sheet: &CourseSheet) -> Result<Vec<u8>, SheetError> {
    let faces = Faces::load()?;
    let parts = parts(&faces, sheet)?;
    let paper = Paper::of(sheet.settings.paper);
    pdf(&faces, &front(sheet), parts, paper)
}

/// The sheet's pages.
///
/// # Errors
/// As [`of_course`], but for the writer's.
pub fn pages(sheet: &CourseSheet, paper: Paper) -> Result<Vec<Page>, SheetError> {
    let faces = Faces::load()?;
    let parts = parts(&faces, sheet)?;
    leaves(&faces, &front(sheet), parts, paper)
}

impl CourseSheet<'_> {
    fn today(&self) -> NaiveDate {
        self.now.with_timezone(&self.zone).date_naive()
    }
}

fn front(sheet: &CourseSheet) -> Front {
    let local = sheet.now.with_timezone(&sheet.zone);
    let standing = &sheet.ahead.standing;
    let prescription = &standing.script.prescription;
    Front {
        name: standing.patient.animal.name.clone(),
        title: "Course".to_owned(),
        demonstration: sheet.settings.demonstration || prescription.demonstration,
        vets: Front::vets([&prescription.vet]),
        code: sheet.ahead.code.clone(),
        day: local.format("%a %-d %B %Y").to_string(),
        made: local.fixed_offset(),
    }
}

fn parts(faces: &Faces, sheet: &CourseSheet) -> Result<Vec<Part>, SheetError> {
    let standing = &sheet.ahead.standing;
    let prescription = &standing.script.prescription;
    let animal = &standing.patient.animal;
    let mut parts = Vec::new();
    let title = format!("{}, {}", prescription.medicine.name, prescription.reference);
    parts.push(words(faces, &bold(&title, 14.0))?);
    let who = format!("{}; {}", animal.species, say::identification(animal));
    parts.push(words(faces, &plain(&curled(&who), 10.0))?);
    let strength = prescription.strength();
    let strength = strength.map(|s| format!("; the bottle must read {s}"));
    let how = format!(
        "{}, {}{}",
        say::route(prescription),
        prescription.schedule,
        strength.unwrap_or_default()
    );
    parts.push(words(faces, &plain(&curled(&how), 10.0))?);
    let latest = standing.patient.weights.latest(sheet.now);
    let weight = latest.map_or("no weight is in the book".to_owned(), |latest| {
        let tag = latest.tag.map(|tag| format!(" ({tag})"));
        let day = say::date(latest.day(sheet.zone), sheet.today());
        let age = latest.age_in_days(sheet.today(), sheet.zone);
        let age = age.filter(|age| *age > 0).map(|age| match age {
            1 => ", 1 day old".to_owned(),
            age => format!(", {} days old", print::count(u64::from(age))),
        });
        format!(
            "latest weight {}{} on {day}{}",
            latest.weight,
            tag.unwrap_or_default(),
            age.unwrap_or_default()
        )
    });
    parts.push(words(faces, &plain(&curled(&weight), 10.0))?);
    let warning = "Draw from the day's card, never from this sheet: a mark called provisional is for today's weight and bottle, and will change with them.";
    parts.push(words(faces, &bold(&curled(warning), 10.0))?);

    parts.push(heading(
        faces,
        "Dates",
        &say::verdict(&standing.course.verdict),
    )?);
    parts.extend(dates(faces, sheet)?);
    parts.extend(below(faces, sheet)?);
    Ok(parts)
}

/// Doses, days to weigh and follow-ups with a date, in one order of time.
fn dates(faces: &Faces, sheet: &CourseSheet) -> Result<Vec<Part>, SheetError> {
    const COLUMNS: [Column; 7] = [
        Column::new("", 2.0, 16.0),
        Column::new("when", 18.0, 52.0),
        Column::new("what", 54.0, 84.0),
        Column::new("mark", 86.0, 132.0),
        Column::new("done", 134.0, 142.0),
        Column::new("time", 144.0, 168.0),
        Column::new("by", 170.0, 192.0),
    ];
    let zone = sheet.zone;
    let date = |day: NaiveDate| say::date(day, sheet.today());
    // Of one day the weighing comes first.
    let mut lines: Vec<((NaiveDate, u8, u32), Vec<Cell>)> = Vec::new();
    for day in &sheet.ahead.weigh_by {
        let cells = vec![
            Cell::plain("weigh"),
            Cell::plain(&format!("by {}", date(*day))),
            Cell::plain("weigh, or earlier"),
            Cell::plain("____ g"),
            Cell::Tick,
            Cell::Write,
            Cell::Write,
        ];
        lines.push(((*day, 0, 0), cells));
    }
    for ahead in &sheet.ahead.slots {
        let number = ahead.slot.slot.number;
        let key = (ahead.slot.due.date(zone), 1, number);
        lines.push((key, slot(sheet, ahead)));
        lines.extend(further(sheet, ahead).map(|cells| (key, cells)));
    }
    for follow_up in &sheet.ahead.follow_ups {
        let Some(due) = follow_up.due else { continue };
        let about = match follow_up.provisional {
            true => "if all goes as planned ",
            false => "",
        };
        let mut what = vec![Span::new(
            &format!("“{}”", follow_up.what.trim()),
            Style::new(Face::BoldItalic, SIZE),
        )];
        what.extend(plain("", SIZE));
        let cells = vec![
            Cell::plain("then"),
            Cell::plain(&format!("{about}{}", when(due, sheet))),
            Cell::Words(what),
            Cell::plain(""),
            Cell::Tick,
            Cell::Write,
            Cell::Write,
        ];
        lines.push(((due.date(zone), 2, follow_up.number), cells));
    }
    lines.sort_by_key(|(key, _)| *key);
    let lines: Vec<Vec<Cell>> = lines.into_iter().map(|(_, cells)| cells).collect();
    rows(faces, &COLUMNS, &lines, 8.6)
}

fn when(due: Due, sheet: &CourseSheet) -> String {
    let day = say::date(due.date(sheet.zone), sheet.today());
    match due {
        Due::At(at) => format!("{day} {}", at.with_timezone(&sheet.zone).format("%H:%M")),
        Due::On(_) => day,
    }
}

fn slot(sheet: &CourseSheet, ahead: &SlotAhead) -> Vec<Cell> {
    let slot = &ahead.slot;
    let dose = match ahead.dose.is_measured() {
        true => plain(ahead.dose.text(), SIZE),
        false => vec![Span::new(
            &format!("“{}”", ahead.dose.text().trim()),
            Style::new(Face::BoldItalic, SIZE),
        )],
    };
    let mut cells = vec![
        Cell::bold(&format!("{}", slot.slot.number)),
        Cell::plain(&when(slot.due, sheet)),
        Cell::Words(dose),
    ];
    let waits = slot.waits();
    cells.push(match (&ahead.mark, waits) {
        (Some(mark), _) => Cell::Words(mark_ahead(mark, slot.state == State::Late)),
        (None, true) => Cell::plain(""),
        (None, false) => Cell::plain(&slot.state.to_string()),
    });
    if waits {
        cells.extend([Cell::Tick, Cell::Write, Cell::Write]);
        return cells;
    }
    let dose = told(slot).and_then(|record| recorded(sheet, &record));
    cells.extend(done(sheet, dose));
    cells
}

/// The record that a dose's own row tells of; none while it waits.
fn told(slot: &Standing) -> Option<Record> {
    let answer = slot.filled_by.or(slot.records.last().copied());
    answer.filter(|_| !slot.waits())
}

/// Whatever else was recorded about a dose, and what was given beside the schedule near it: a row
/// each, in the order in which it happened.
fn further<'a>(
    sheet: &'a CourseSheet,
    ahead: &'a SlotAhead,
) -> impl Iterator<Item = Vec<Cell>> + 'a {
    let slot = &ahead.slot;
    let told = told(slot).map(|record| record.id);
    let extras = sheet.ahead.standing.course.extras.iter();
    let extras = extras.filter(|extra| extra.nearest == slot.slot.number);
    let extras = extras.map(|extra| (extra.record, "beside the schedule"));
    let own = slot.records.iter().map(|record| (*record, "also recorded"));
    let mut all: Vec<(Record, &str)> = own.chain(extras).collect();
    all.retain(|(record, _)| Some(record.id) != told);
    all.sort_by_key(|(record, _)| (record.happened, record.id));
    all.into_iter().map(|(record, what)| {
        let dose = recorded(sheet, &record);
        let drawn = dose.and_then(|dose| dose.record.drawn.as_ref());
        let drawn = drawn.map(|drawn| format!(", {drawn}")).unwrap_or_default();
        let mut cells = vec![
            Cell::bold(&format!("{}", slot.slot.number)),
            Cell::plain(&format!("entry {}", record.id)),
            Cell::plain(what),
            Cell::plain(&format!("{}{drawn}", record.outcome)),
        ];
        cells.extend(done(sheet, dose));
        cells
    })
}

/// The entry of a record.
fn recorded<'a>(sheet: &CourseSheet<'a>, record: &Record) -> Option<&'a Dose> {
    let mut doses = sheet.ahead.standing.patient.doses.iter();
    doses.find(|dose| dose.entry == record.id)
}

/// Whether a dose was given, when, and by whom.
fn done(sheet: &CourseSheet, dose: Option<&Dose>) -> [Cell; 3] {
    let given = dose.is_some_and(|dose| dose.record.outcome == Outcome::Given);
    let at = dose.map(|dose| when(Due::At(dose.happened), sheet));
    let by = dose.and_then(|dose| dose.record.by.clone());
    [
        Cell::bold(if given { "yes" } else { "" }),
        Cell::plain(&at.unwrap_or_default()),
        Cell::plain(&by.unwrap_or_default()),
    ]
}

/// What it takes, and what has no date.
fn below(faces: &Faces, sheet: &CourseSheet) -> Result<Vec<Part>, SheetError> {
    let ahead = sheet.ahead;
    let mut parts = vec![heading(faces, "What it takes", "not a mark")?];
    let mut line = |text: &str| -> Result<(), SheetError> {
        parts.push(words(faces, &plain(&curled(text), 10.0))?);
        Ok(())
    };
    match &ahead.left {
        Some(left) => line(&format!("Still to come: {}.", need(left)))?,
        None => line("No measured dose is still to come.")?,
    }
    if let Some(supply) = &ahead.supply {
        if supply.need.doses > ahead.left.as_ref().map_or(0, |left| left.doses) {
            let needed = stock::needed(supply);
            line(&format!("All courses of it together: {needed}."))?;
        }
        line(&format!("In hand: {}", stock::in_hand(supply)))?;
        line("Look at the bottle, and write what it holds here: ________")?;
    }
    let prescription = &ahead.standing.script.prescription;
    if prescription.weigh_before_each_dose {
        line("Your vet wants a weighing before each dose.")?;
    } else if let Some((days, whose)) = ahead.weigh_every {
        line(&format!(
            "A weight is renewed every {} days ({}).",
            print::count(u64::from(days)),
            whose.words()
        ))?;
    }
    let undated = ahead.follow_ups.iter().filter(|f| f.due.is_none());
    for follow_up in undated {
        line(&follow_up_line(follow_up, sheet.zone))?;
    }
    for (lead, own) in say::vet_words(prescription) {
        let lead = if lead.is_empty() { "Note" } else { lead };
        let mut spans = plain(&format!("{lead}: "), 10.0);
        let own = format!("“{}”", own.trim());
        spans.push(Span::new(&own, Style::new(Face::BoldItalic, 10.0)));
        parts.push(words(faces, &spans)?);
    }
    Ok(parts)
}
