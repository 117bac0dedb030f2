//! `scruple enter`: the vet's prescription, read back line by line, then kept.

use crate::animal::slip_between;
use crate::cli::Done;
use crate::cli::by::By;
use crate::cli::desk::{Desk, New, Open};
use crate::cli::failure::Failure;
use crate::cli::when;
use crate::entry::{Entered, Happening, Subject};
use crate::ledger::Ledger;
use crate::notation::fold::{near_miss, same};
use crate::notation::{Notation, Written};
use crate::prescription::Prescription;
use crate::quantity::BodyWeight;
use crate::schedule::{Due, Slot, Start, after_date, rules_changed_on};
use chrono::NaiveDate;
use std::path::{Path, PathBuf};

/// Reads a prescription back line by line, asks when it starts, and keeps it
///
/// Examples:
///   scruple enter script.ron
///   scruple enter script.ron --start "2001-03-05 08:00" --yes
#[derive(Debug, clap::Args)]
#[command(verbatim_doc_comment)]
pub(crate) struct Enter {
    /// The prescription file; docs/prescription-form.md says how to write one
    file: PathBuf,
    /// When the first dose is due: a date, with an hour or without
    #[arg(long, value_name = "TIME")]
    start: Option<String>,
    #[command(flatten)]
    by: By,
}

impl Enter {
    pub fn run(&self, desk: &mut Desk) -> Result<Done, Failure> {
        let by = self.by.initials()?;
        let prescription = read_prescription(desk, &self.file)?;
        let mut open = desk.open()?;
        desk.banner(open.settings.demonstration)?;
        fits(&prescription, &open, open.today())?;
        unused(&open.ledger, &prescription)?;
        ask_about_names(desk, &open.ledger, &prescription)?;
        for line in prescription.read_back() {
            desk.say(line)?;
        }
        for prone in prescription.prone_words() {
            desk.say(format!("Note: in your vet's words, {}", prone.prone))?;
        }
        let start = self.start(desk, &prescription)?;
        let slots = prescription
            .schedule
            .expand(start, open.zone)
            .map_err(Failure::not_accepted)?;
        say_dates(desk, &prescription, &slots, open.zone)?;
        for name in &prescription.animals {
            weight_against_written(desk, &open, &prescription, name)?;
        }
        desk.confirm("Is every line as your vet wrote it, and shall it be kept?")?;
        let entered = Entered {
            source: prescription.source().to_owned(),
            file: self
                .file
                .file_name()
                .unwrap_or_default()
                .to_string_lossy()
                .into_owned(),
            start: start.date,
            start_time: start.time,
            unasked: desk.everywhere.yes,
            by,
        };
        let now = open.now;
        open.record(|ledger| {
            unused(ledger, &prescription)?;
            Ok(vec![New {
                subject: Subject::Prescription(prescription.reference.clone()),
                course: Some(prescription.reference.clone()),
                happened_at: now,
                what: Happening::Prescription(entered.clone()),
            }])
        })?;
        desk.say(format!(
            "Kept: {}, for {}.",
            prescription.reference,
            prescription.animals.join(", ")
        ))?;
        desk.say("Next: scruple today")?;
        Ok(Done::Well)
    }

    fn start(&self, desk: &mut Desk, prescription: &Prescription) -> Result<Start, Failure> {
        if let Some(typed) = &self.start {
            return read_start(typed);
        }
        if desk.everywhere.yes {
            return Err(Failure::not_accepted(
                "with --yes the start must be named: add --start with the date of the first dose, and its hour if your vet named one",
            ));
        }
        let wish = prescription.start.map(say_start);
        let question = match &wish {
            Some(wish) => format!("When is the first dose due? Your vet wrote {wish}. Write the date, and the hour if there is one:"),
            None => "When is the first dose due? Write the date, and the hour if there is one, as in 2001-03-05 08:00:".to_owned(),
        };
        match desk.ask(&question)? {
            Some(typed) if !typed.is_empty() => read_start(&typed),
            _ => Err(Failure::not_accepted("nothing was kept")),
        }
    }
}

/// Reads and checks a prescription file; every fault is shown at its place.
pub(super) fn read_prescription(desk: &Desk, path: &Path) -> Result<Prescription, Failure> {
    use std::io::Read;
    let name = path.display().to_string();
    let unreadable = |error: std::io::Error| {
        Failure::not_accepted(format!(
            "{name} could not be read ({error}): check its name and place"
        ))
    };
    // No prescription comes near this; a device or a film must not fill the memory.
    let mut bytes = Vec::new();
    let file = std::fs::File::open(path).map_err(unreadable)?;
    file.take(1 << 20)
        .read_to_end(&mut bytes)
        .map_err(unreadable)?;
    Prescription::read_bytes(&bytes, &name).map_err(|faults| {
        Failure::not_accepted(format!(
            "{}\nNothing was kept. Mend the file as your vet wrote it; docs/prescription-form.md shows the form.",
            faults.render(desk.world.colour)
        ))
    })
}

/// Reads "2001-03-05" or "2001-03-05 08:00".
pub(super) fn read_start(text: &str) -> Result<Start, Failure> {
    let spaced = text.trim().replacen('T', " ", 1);
    let (day, time) = spaced.split_once(' ').unwrap_or((spaced.as_str(), ""));
    let date = when::read_day(day)?;
    if time.is_empty() {
        return Ok(Start { date, time: None });
    }
    let time = when::read_clock(time).ok_or_else(|| {
        Failure::not_accepted(format!(
            "'{}' is not an hour: write it on the 24-hour clock, as in 08:00",
            when::shown(time)
        ))
    })?;
    Ok(Start {
        date,
        time: Some(time),
    })
}

fn say_start(start: Start) -> String {
    let time = start
        .time
        .map(|time| time.format(" %H:%M").to_string())
        .unwrap_or_default();
    format!("{}{time}", start.date)
}

/// Whether this prescription may be kept in this book today.
fn fits(prescription: &Prescription, open: &Open, today: NaiveDate) -> Result<(), Failure> {
    if let Some(until) = prescription.valid_until.filter(|until| *until < today) {
        return Err(Failure::not_accepted(format!(
            "this prescription was valid until {}: ask your vet for a new one",
            when::say_day(until)
        )));
    }
    if prescription.written > today {
        return Err(Failure::not_accepted(format!(
            "this prescription is dated {}, which is still to come: check the date with your vet",
            when::say_day(prescription.written)
        )));
    }
    match (prescription.demonstration, open.settings.demonstration) {
        (true, false) => Err(Failure::not_accepted(
            "this prescription is a demonstration, so it is not kept in a real book: try it in the room that 'scruple demo' makes",
        )),
        (false, true) => Err(Failure::not_accepted(
            "this book is a demonstration, so no real prescription is kept in it: begin a book of your own with 'scruple begin'",
        )),
        _ => {
            for name in &prescription.animals {
                known_animal(&open.ledger, name)?;
            }
            Ok(())
        }
    }
}

/// A prescription names its animals in full: a beginning is not enough here.
fn known_animal(ledger: &Ledger, name: &str) -> Result<(), Failure> {
    let Some(patient) = ledger
        .animals
        .iter()
        .find(|patient| same(&patient.animal.name, name))
    else {
        let near: Vec<&str> = ledger
            .animals
            .iter()
            .map(|patient| patient.animal.name.as_str())
            .filter(|known| near_miss(known, name))
            .collect();
        return Err(Failure::not_accepted(if near.is_empty() {
            format!(
                "{name} is not in the book: take the animal in with 'scruple animal add', then enter this again"
            )
        } else {
            format!(
                "{name} is not in the book; did you mean {}? Ask your vet which animal is meant",
                near.join(" or ")
            )
        }));
    };
    if patient.end.is_some() {
        return Err(Failure::not_accepted(format!(
            "{name} is no longer here, so nothing can be given to it: check the name"
        )));
    }
    Ok(())
}

fn unused(ledger: &Ledger, prescription: &Prescription) -> Result<(), Failure> {
    let used = ledger
        .scripts
        .iter()
        .any(|s| same(&s.prescription.reference, &prescription.reference));
    if used {
        return Err(Failure::not_accepted(format!(
            "a prescription {} is in the book already: if this is another one, give it another reference",
            prescription.reference
        )));
    }
    Ok(())
}

/// A medicine's name that is nearly one already known is typed again: the gate against giving
/// twice hangs on it.
fn ask_about_names(
    desk: &mut Desk,
    ledger: &Ledger,
    prescription: &Prescription,
) -> Result<(), Failure> {
    let own = &prescription.medicine.name;
    let scripts = ledger
        .scripts
        .iter()
        .flat_map(|script| script.prescription.medicine.names());
    let bottles = ledger
        .bottles
        .iter()
        .map(|container| container.bottle.medicine.as_str());
    let known: Vec<&str> = scripts.chain(bottles).collect();
    if known.iter().any(|name| prescription.same_medicine(name)) {
        return Ok(());
    }
    let Some(near) = known.into_iter().find(|name| near_miss(name, own)) else {
        return Ok(());
    };
    let again = desk.ask(&format!(
        "The book knows {near}; this prescription says {own}. If they are two medicines, type this one's name once more:"
    ))?;
    match again {
        Some(again) if same(&again, own) => Ok(()),
        _ => Err(Failure::not_accepted(
            "the name was not typed the same again, so nothing was kept: ask your vet which medicine is meant",
        )),
    }
}

/// The first dates with weekdays, odd local times, and slots that nothing may be given for.
fn say_dates(
    desk: &mut Desk,
    prescription: &Prescription,
    slots: &[Slot],
    zone: crate::schedule::Zone,
) -> Result<(), Failure> {
    let said = |slot: &Slot| match slot.due {
        Due::At(at) => at
            .with_timezone(&zone)
            .format("%A %-d %B %Y at %H:%M")
            .to_string(),
        Due::On(day) => day.format("%A %-d %B %Y").to_string(),
    };
    let first: Vec<String> = slots.iter().take(3).map(said).collect();
    desk.say(format!("First doses: {}", first.join("; then ")))?;
    if let Some(last) = slots.last().filter(|_| slots.len() > 3) {
        desk.say(format!("Last dose, number {}: {}", last.number, said(last)))?;
    }
    for note in slots.iter().filter_map(|slot| slot.clock_note) {
        desk.say(format!("Note: {note}"))?;
    }
    let last_day = slots.last().map(|slot| slot.due.date(zone));
    if let Some(from) = rules_changed_on(zone).filter(|from| last_day >= Some(*from)) {
        desk.say(format!(
            "Note: the clocks of {} go by new rules from {} on, which this program does not have. Check the hours from then on against another clock.",
            zone.name(),
            when::say_day(from)
        ))?;
    }
    if let Some(until) = prescription.valid_until {
        let beyond = after_date(slots, until, zone).count();
        if beyond > 0 {
            desk.say(format!(
                "Caution: {beyond} of the doses fall after {}, the last day of this prescription, and get no mark (your vet's date). Ask your vet.",
                when::say_day(until)
            ))?;
        }
    }
    Ok(())
}

/// The latest weighing against the weight the vet wrote down: a tenfold slip is caught here.
fn weight_against_written(
    desk: &mut Desk,
    open: &Open,
    prescription: &Prescription,
    name: &str,
) -> Result<(), Failure> {
    let Some(written) = prescription.weight_written_for(name) else {
        return Ok(());
    };
    let patient = open.ledger.animal(name).map_err(Failure::not_accepted)?;
    let Some(weighing) = patient.weights.latest(open.now) else {
        return Ok(());
    };
    let apart = chrono::TimeDelta::days(1);
    let readability = weighing.readability.value();
    if slip_between(written.value(), weighing.weight.value(), apart, readability).is_none() {
        return Ok(());
    }
    let again = desk.ask(&format!(
        "{name} weighs {} in the book and {written} on the prescription. Look at the animal, then type the weight in the book once more:",
        weighing.weight
    ))?;
    let again: Option<Written<BodyWeight>> = again.and_then(|again| BodyWeight::read(&again).ok());
    match again {
        Some(again) if again.value() == weighing.weight.value() => Ok(()),
        _ => Err(Failure::not_accepted(
            "the two weights disagree, so nothing was kept: weigh again and ask your vet which is right",
        )),
    }
}
