//! The hand-over for a sitter: whom to ring, the week's doses, what each sign means as the vet
//! wrote it, and rows to write into.
//!
//! Promises: every pending dose of the days is here, day by day in order of work; a mark beyond the
//! first day says that it is provisional. Does not: stand in for the day's card.

use crate::caution::{Caution, NoMark};
use crate::ledger::Patient;
use crate::prescription::{Prescription, Vet};
use crate::round::stock::{Supply, say as stock};
use crate::round::{DayDose, Round, WeighDay, mark_ahead, say};
use crate::schedule::Due;
use crate::settings::Settings;
use crate::sheet::SheetError;
use crate::sheet::ahead::mark as printed;
use crate::sheet::card::words::{bold, phone, plain};
use crate::sheet::face::{Face, Faces, Style};
use crate::sheet::leaf::{Front, Part, heading, pages as leaves, pdf, words};
use crate::sheet::page::{Page, Paper};
use crate::sheet::table::{Cell, Column, SIZE, rows};
use crate::sheet::text::{Span, curled};

/// What the sheet is made from: consecutive days, the first of them today; at least one.
#[derive(Clone, Copy, Debug)]
pub struct HandOver<'a> {
    /// The days.
    pub days: &'a [Round<'a>],
    /// On which of the days which animals are to be weighed.
    pub weigh: &'a [WeighDay<'a>],
    /// What the courses need against what is in hand.
    pub stock: &'a [Supply<'a>],
    /// The settings.
    pub settings: &'a Settings,
    /// The sheet's code, made from those of its days.
    pub code: &'a str,
}

/// The sheet as a PDF file.
///
/// # Errors
/// [`SheetError`] for a character that cannot be printed, or a fault of the writer.
pub fn of_days(sheet: &HandOver) -> Result<Vec<u8>, SheetError> {
    let faces = Faces::load()?;
    let parts = parts(&faces, sheet)?;
    let paper = Paper::of(sheet.settings.paper);
    pdf(&faces, &front(sheet), parts, paper)
}

/// The sheet's pages.
///
/// # Errors
/// As [`of_days`], but for the writer's.
pub fn pages(sheet: &HandOver, paper: Paper) -> Result<Vec<Page>, SheetError> {
    let faces = Faces::load()?;
    let parts = parts(&faces, sheet)?;
    leaves(&faces, &front(sheet), parts, paper)
}

impl<'a> HandOver<'a> {
    fn doses(&self) -> impl Iterator<Item = &'a DayDose<'a>> {
        self.days.iter().flat_map(|round| &round.doses)
    }

    fn vets(&self) -> Vec<&'a Vet> {
        let mut vets: Vec<&Vet> = Vec::new();
        for dose in self.doses() {
            let vet = &dose.script.prescription.vet;
            if !vets.contains(&vet) {
                vets.push(vet);
            }
        }
        vets
    }
}

fn front(sheet: &HandOver) -> Front {
    let first = sheet.days.first();
    let last = sheet.days.last();
    let name = match (first, last) {
        (Some(first), Some(last)) => format!(
            "{} to {}",
            first.day.format("%a %-d %B"),
            last.day.format("%a %-d %B %Y")
        ),
        _ => String::new(),
    };
    let local = first.map(|round| round.now.with_timezone(&round.zone));
    Front {
        name,
        title: "Hand-over".to_owned(),
        demonstration: sheet.settings.demonstration,
        vets: Front::vets(sheet.vets()),
        code: sheet.code.to_owned(),
        day: local
            .map(|local| local.format("%a %-d %B %Y").to_string())
            .unwrap_or_default(),
        made: local.map(|local| local.fixed_offset()).unwrap_or_default(),
    }
}

fn parts(faces: &Faces, sheet: &HandOver) -> Result<Vec<Part>, SheetError> {
    let mut parts = Vec::new();
    // Every day of the sheet is read from one book.
    if let Some(first) = sheet.days.first().filter(|first| !first.damaged.is_empty()) {
        let stop = format!("STOP. {}", say::damaged(first));
        parts.push(words(faces, &bold(&curled(&stop), 11.0))?);
    }
    parts.push(heading(faces, "Whom to ring", "")?);
    for vet in sheet.vets() {
        let practice = vet.practice.iter().map(|practice| format!(", {practice}"));
        let practice: String = practice.collect();
        let mut spans = plain(&format!("{}{practice}: ", vet.name), 11.0);
        spans.extend(phone(&vet.phone, 14.0, 9.0));
        if let Some(number) = &vet.out_of_hours {
            spans.extend(plain("; out of hours ", 11.0));
            spans.extend(phone(number, 14.0, 9.0));
        }
        parts.push(words(faces, &spans)?);
    }
    parts.push(words(
        faces,
        &plain("The keeper: ______________________________", 11.0),
    )?);
    for rule in [
        "Each day, draw from that day's card, never from this sheet. A mark called provisional is for the weight and the bottle of the day this was printed.",
        "If you cannot print that day's card, give nothing that is measured: ring.",
        "Before you give anything, ask whether somebody else gave it. If unsure, do not give it: ring.",
        "Never give a dose twice, and never more to make up for one. Write down what happened and when, whatever it was.",
    ] {
        parts.push(words(faces, &plain(&curled(rule), 10.5))?);
    }
    parts.extend(unsettled(faces, sheet)?);
    for round in sheet.days {
        parts.extend(day(faces, sheet, round)?);
    }
    parts.extend(bottles(faces, sheet)?);
    parts.extend(seen(faces, sheet)?);
    parts.extend(signs(faces, sheet)?);
    parts.extend(to_write(faces)?);
    Ok(parts)
}

/// What the vet has not spoken about yet, once each: which animal and course, which entry, of when,
/// and what it was.
fn unsettled(faces: &Faces, sheet: &HandOver) -> Result<Vec<Part>, SheetError> {
    let mut parts = Vec::new();
    let mut said: Vec<u64> = Vec::new();
    for dose in sheet.doses() {
        let no_mark = dose.no_mark.iter().filter_map(|reason| match reason {
            NoMark::Unsettled { entry, what } => Some((*entry, what)),
            _ => None,
        });
        let worked = dose.worked.iter().flat_map(|worked| &worked.cautions);
        let call = worked.filter_map(|caution| match caution {
            Caution::Unsettled { entry, what } => Some((*entry, what)),
            _ => None,
        });
        for (entry, what) in no_mark.chain(call) {
            if said.contains(&entry) {
                continue;
            }
            said.push(entry);
            let name = &dose.patient.animal.name;
            let reference = &dose.script.prescription.reference;
            let mut records = dose.patient.doses.iter();
            let record = records.find(|record| record.entry == entry);
            let at = record.zip(sheet.days.first()).map(|(record, first)| {
                let at = say::moment_from(record.happened, first.now, first.zone);
                format!(", {} {at}", record.record.outcome)
            });
            let at = at.unwrap_or_default();
            let mut spans = bold(&format!("{name}, {reference}, entry {entry}{at}: "), 10.5);
            let rest = format!("{what}. Your vet has not spoken about it yet.");
            spans.extend(plain(&curled(&rest), 10.5));
            parts.push(words(faces, &spans)?);
        }
    }
    if !parts.is_empty() {
        parts.insert(
            0,
            heading(faces, "Ask the vet first", "before the next dose of each")?,
        );
    }
    Ok(parts)
}

fn day(faces: &Faces, sheet: &HandOver, round: &Round) -> Result<Vec<Part>, SheetError> {
    let title = round.day.format("%A %-d %B").to_string();
    let today = sheet.days.first().map_or(round.day, |first| first.day);
    let remark = match (round.doses.is_empty(), round.day > today) {
        (true, _) => "no dose",
        (false, true) => "print this day's card first",
        (false, false) => "use today's card",
    };
    let mut parts = vec![heading(faces, &title, remark)?];
    const COLUMNS: [Column; 7] = [
        Column::new("due", 2.0, 30.0),
        Column::new("animal", 32.0, 68.0),
        Column::new("medicine and how", 70.0, 112.0),
        Column::new("mark", 114.0, 147.0),
        Column::new("given", 148.5, 158.0),
        Column::new("time", 159.0, 175.0),
        Column::new("by", 177.0, 192.0),
    ];
    let weighed = sheet.weigh.iter().filter(|weigh| weigh.on == round.day);
    let mut lines: Vec<Vec<Cell>> = weighed.map(weighing).collect();
    lines.extend(round.doses.iter().map(|dose| line(dose, round, today)));
    parts.extend(rows(faces, &COLUMNS, &lines, 9.0)?);
    for beside in &round.beside {
        let mut spans = bold(&format!("{}: ", beside.patient.animal.name), 10.0);
        let own = format!("“{}”", beside.follow_up.what.trim());
        spans.push(Span::new(&own, Style::new(Face::BoldItalic, 10.0)));
        parts.push(words(faces, &spans)?);
    }
    if lines.is_empty() && round.beside.is_empty() {
        parts.push(words(faces, &plain("Nothing is due.", 10.0))?);
    }
    Ok(parts)
}

/// A row to weigh an animal.
fn weighing(weigh: &WeighDay) -> Vec<Cell> {
    let mut by = bold("weigh", 10.0);
    by.extend(plain(
        match weigh.that_day {
            true => "  before its dose",
            false => "  this day or before",
        },
        8.0,
    ));
    let mut animal = bold(&weigh.patient.animal.name, 10.0);
    animal.extend(plain(&format!("  {}", who(weigh.patient)), 8.0));
    vec![
        Cell::Words(by),
        Cell::Words(animal),
        Cell::Words(plain(
            "write the weight here, and type it in before you print the card",
            8.0,
        )),
        Cell::plain("________ g"),
        Cell::plain(""),
        Cell::Write,
        Cell::Write,
    ]
}

fn line(dose: &DayDose, round: &Round, today: chrono::NaiveDate) -> Vec<Cell> {
    let prescription = &dose.script.prescription;
    let due = dose.slot.due;
    let hour = match due {
        Due::At(at) => at.with_timezone(&round.zone).format("%H:%M").to_string(),
        Due::On(_) => "this day".to_owned(),
    };
    let hour = match due.date(round.zone) == round.day {
        true => hour,
        false => say::due(due, round.zone),
    };
    let seen = say::when_due(&dose.slot, round.day, round.zone);
    let closes = &seen.closes;
    let window = match seen.opens {
        _ if dose.is_late() => {
            format!("  {}", say::closed(say::Phrase::new(), dose, round))
        }
        Some(opens) if dose.slot.never_opens() => {
            format!("  window closes {closes}; too close to the last dose until {opens}")
        }
        Some(opens) => format!("  from {opens} until {closes}"),
        None => format!("  until {closes}"),
    };
    let mut due = bold(&hour, 10.0);
    due.extend(plain(&window, 8.0));
    let mut animal = bold(&dose.patient.animal.name, 10.0);
    animal.extend(plain(&format!("  {}", who(dose.patient)), 8.0));
    if !dose.alike.is_empty() {
        let others: Vec<&str> = dose.alike.iter().map(|other| other.name.as_str()).collect();
        animal.extend(bold(&format!("; not {}", others.join(", not ")), 8.0));
    }
    let mut how = bold(&prescription.medicine.name, SIZE);
    let strength = say::must_read(dose).map(|reads| format!(", must read {reads}"));
    let mark = mark_ahead(dose, round.day, today);
    // Which site is next hangs on the doses until then.
    let place = match mark.provisional {
        true => say::route(prescription),
        false => say::place(dose),
    };
    how.extend(plain(
        &curled(&format!("{}; {place}", strength.unwrap_or_default())),
        8.0,
    ));
    let shown = dose.dose.is_measured() || mark.is_held();
    let to_give = mark.is_mark || !shown;
    let mark = match shown {
        true => printed(&mark, dose.is_late()),
        false => in_words(dose),
    };
    vec![
        Cell::Words(due),
        Cell::Words(animal),
        Cell::Words(how),
        Cell::Words(mark),
        match to_give {
            true => Cell::Tick,
            false => Cell::plain(""),
        },
        Cell::Write,
        Cell::Write,
    ]
}

/// What is not measured, as the vet wrote it.
fn in_words(dose: &DayDose) -> Vec<Span> {
    let own = format!("“{}”", dose.dose.text().trim());
    let mut spans = vec![Span::new(&own, Style::new(Face::BoldItalic, SIZE))];
    if dose.is_late() {
        spans.extend(bold(" LATE", SIZE));
    }
    if dose.call_first() {
        spans.extend(bold(" after the call", SIZE));
    }
    spans
}

fn who(patient: &Patient) -> String {
    curled(&say::identification(&patient.animal))
}

/// The bottles of the days' medicines, and how far they go.
fn bottles(faces: &Faces, sheet: &HandOver) -> Result<Vec<Part>, SheetError> {
    let mut parts = Vec::new();
    let needed = |supply: &&Supply| {
        let mut doses = sheet.doses();
        doses.any(|dose| supply.is_of(dose.patient, dose.script))
    };
    for supply in sheet.stock.iter().filter(needed) {
        let head = format!("{}, {}: ", supply.medicine, stock::must_read(supply));
        let mut spans = bold(&head, 10.0);
        spans.extend(plain(&curled(&stock::in_hand(supply)), 10.0));
        parts.push(words(faces, &spans)?);
    }
    if !parts.is_empty() {
        parts.insert(0, heading(faces, "Bottles", "no figure here is a mark")?);
    }
    Ok(parts)
}

/// What somebody saw of late of the animals with a dose, so that a change is noticed.
fn seen(faces: &Faces, sheet: &HandOver) -> Result<Vec<Part>, SheetError> {
    let Some(now) = sheet.days.first().map(|round| (round.now, round.zone)) else {
        return Ok(Vec::new());
    };
    let (now, zone) = now;
    let mut parts = Vec::new();
    let mut named: Vec<&str> = Vec::new();
    for dose in sheet.doses() {
        let name = dose.patient.animal.name.as_str();
        if named.contains(&name) {
            continue;
        }
        named.push(name);
        for note in say::notes_of_late(dose.patient, now) {
            let mut spans = bold(&format!("{name}: "), 10.0);
            spans.extend(plain(&curled(&say::note(note, zone)), 10.0));
            parts.push(words(faces, &spans)?);
        }
    }
    if !parts.is_empty() {
        parts.insert(
            0,
            heading(faces, "Seen of late", "in the words of whoever saw it")?,
        );
    }
    Ok(parts)
}

/// What the vet wrote, once for each prescription and each of its animals.
fn signs(faces: &Faces, sheet: &HandOver) -> Result<Vec<Part>, SheetError> {
    let mut parts = vec![heading(faces, "What to look for", "as the vet wrote it")?];
    let mut said: Vec<(&Prescription, Vec<&str>)> = Vec::new();
    for dose in sheet.doses() {
        let prescription = &dose.script.prescription;
        let name = dose.patient.animal.name.as_str();
        match said
            .iter_mut()
            .find(|(own, _)| own.reference == prescription.reference)
        {
            Some((_, names)) if names.contains(&name) => {}
            Some((_, names)) => names.push(name),
            None => said.push((prescription, vec![name])),
        }
    }
    let mut any = false;
    for (prescription, names) in said {
        for rule in say::vet_rules(prescription) {
            let head = format!("{}, {}. ", names.join(", "), prescription.medicine.name);
            let mut spans = bold(&head, 10.0);
            spans.extend(plain(&curled(&rule), 10.0));
            parts.push(words(faces, &spans)?);
            any = true;
        }
        for (lead, own) in say::vet_words(prescription) {
            let lead = if lead.is_empty() { "Note" } else { lead };
            let head = format!("{}, {}. ", names.join(", "), prescription.medicine.name);
            let mut spans = bold(&head, 10.0);
            spans.extend(plain(&format!("{lead}: "), 10.0));
            let own = format!("“{}”", own.trim());
            spans.push(Span::new(&own, Style::new(Face::BoldItalic, 10.0)));
            parts.push(words(faces, &spans)?);
            any = true;
        }
    }
    if !any {
        parts.push(words(
            faces,
            &plain("The vet wrote nothing of the kind.", 10.0),
        )?);
    }
    Ok(parts)
}

/// Rows for whatever else happens.
fn to_write(faces: &Faces) -> Result<Vec<Part>, SheetError> {
    const COLUMNS: [Column; 5] = [
        Column::new("day", 2.0, 24.0),
        Column::new("time", 26.0, 44.0),
        Column::new("animal", 46.0, 82.0),
        Column::new(
            "what happened: given, partly, brought up, refused, weight, anything odd",
            84.0,
            172.0,
        ),
        Column::new("by", 174.0, 192.0),
    ];
    let line = || {
        vec![
            Cell::Write,
            Cell::Write,
            Cell::Write,
            Cell::Write,
            Cell::Write,
        ]
    };
    let lines: Vec<Vec<Cell>> = (0..10).map(|_| line()).collect();
    let mut parts = vec![heading(
        faces,
        "Write it down",
        "to be typed in later, with its time",
    )?];
    parts.extend(rows(faces, &COLUMNS, &lines, 10.0)?);
    Ok(parts)
}
