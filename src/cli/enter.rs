//! `scruple enter`: the vet's prescription, read back line by line, then kept.

use crate::animal::slip_between;
use crate::cli::Done;
use crate::cli::aloud::{said_aloud, worked_out};
use crate::cli::ask::{Asking, FILE_NAME, Said, complain, hear};
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
use crate::round::courses;
use crate::schedule::{Due, Slot, Start, after_date};
use crate::sheet::can_print_all_of;
use crate::terminal::wrapped;
use chrono::NaiveDate;
use std::path::{Path, PathBuf};

/// Reads a prescription back line by line, asks when it starts, and keeps it
///
/// Without a file, asks for the prescription one question at a time.
///
/// Examples:
///   scruple enter
///   scruple enter script.ron --start "2001-03-05 08:00"
#[derive(Debug, clap::Args)]
#[command(verbatim_doc_comment)]
pub(crate) struct Enter {
    /// The prescription file; docs/prescription-form.md says how to write one
    file: Option<PathBuf>,
    /// When the first dose is due: a date, with an hour or without
    #[arg(long, value_name = "TIME", requires = "file")]
    start: Option<String>,
    #[command(flatten)]
    by: By,
}

impl Enter {
    pub fn run(&self, desk: &mut Desk) -> Result<Done, Failure> {
        match &self.file {
            Some(file) => self.the_file(desk, file),
            None => by_asking(desk, self.by.initials()?),
        }
    }

    fn the_file(&self, desk: &mut Desk, file: &Path) -> Result<Done, Failure> {
        let by = self.by.initials()?;
        let prescription = read_prescription(desk, file)?;
        let mut open = desk.open()?;
        desk.banner(open.settings.demonstration)?;
        fits(&prescription, &open, open.today())?;
        unused(&open.ledger, &prescription.reference)?;
        ask_about_names(desk, &open.ledger, &prescription)?;
        read_back(desk, &prescription)?;
        let start = self.start(desk, &prescription)?;
        what_it_means(desk, &open, &prescription, start)?;
        for name in &prescription.animals {
            weight_against_written(desk, &open, &prescription, name)?;
        }
        desk.confirm("Is every line as your vet wrote it, and shall it be kept?")?;
        let name = file.file_name().unwrap_or_default().to_string_lossy();
        keep(desk, &mut open, &prescription, start, &name, by)?;
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

/// Asks for a prescription, then goes the way of a file.
fn by_asking(desk: &mut Desk, by: Option<String>) -> Result<Done, Failure> {
    if desk.everywhere.yes {
        return Err(Failure::not_accepted(
            "--yes is for programs, and questions are for people: name a prescription file, or leave --yes out",
        ));
    }
    let nothing_kept = || Failure::not_accepted("nothing was kept");
    let mut open = desk.open()?;
    desk.banner(open.settings.demonstration)?;
    let mut asking = Asking::begin(desk, &open)?;
    loop {
        let asked = asking.go(desk, &open)?.ok_or_else(nothing_kept)?;
        desk.say("\nThis is what you answered. Hold every line against the label.")?;
        fits(&asked.prescription, &open, open.today())?;
        read_back(desk, &asked.prescription)?;
        what_it_means(desk, &open, &asked.prescription, asked.start)?;
        if !is_confirmed(desk)?.ok_or_else(nothing_kept)? {
            asking.back();
            continue;
        }
        match keep(
            desk,
            &mut open,
            &asked.prescription,
            asked.start,
            FILE_NAME,
            by.clone(),
        ) {
            Ok(()) => {
                offer_to_save(desk, &asked.prescription)?;
                return Ok(Done::Well);
            }
            // Somebody else has written in the book meanwhile; the answers are not lost by it.
            Err(failure) if failure.is_about_input() => complain(desk, &failure.to_string())?,
            Err(failure) => return Err(failure),
        }
        asking.back();
    }
}

/// Whether every line is right; nothing where the person quits.
fn is_confirmed(desk: &mut Desk) -> Result<Option<bool>, Failure> {
    const QUESTION: &str = "\nIs every line as your vet wrote it, and shall it be kept?\n  Type yes to keep it, back to change an answer, quit to keep nothing.\nAnswer:";
    loop {
        match hear(desk, QUESTION)? {
            Said::Quit => return Ok(None),
            Said::Back => return Ok(Some(false)),
            Said::Answer(typed) if same(&typed, "yes") => return Ok(Some(true)),
            Said::Answer(_) => complain(desk, "type yes, back or quit, in full")?,
        }
    }
}

/// The answers as a file, where one is wanted.
fn offer_to_save(desk: &mut Desk, prescription: &Prescription) -> Result<(), Failure> {
    const QUESTION: &str = "\nTo save these answers as a prescription file too, type its name.\n  A name such as script.ron; or press Enter alone.\nAnswer:";
    while let Said::Answer(name) = hear(desk, QUESTION)? {
        if name.is_empty() {
            break;
        }
        match desk.write_file(Path::new(&name), prescription.source().as_bytes()) {
            Ok(()) => {
                desk.say(format!("Saved: {}.", when::shown(&name)))?;
                break;
            }
            Err(failure) => complain(desk, &failure.to_string())?,
        }
    }
    Ok(())
}

/// Every line of it, then its figures in words.
fn read_back(desk: &mut Desk, prescription: &Prescription) -> Result<(), Failure> {
    for line in prescription.read_back() {
        desk.say(wrapped(&line, "", "   "))?;
    }
    for prone in prescription.prone_words() {
        let note = format!("Note: in your vet's words, {}", prone.prone);
        desk.say(wrapped(&note, "", "   "))?;
    }
    desk.say("Said aloud, so that a wrong figure can be heard:")?;
    for line in said_aloud(prescription) {
        desk.say(wrapped(&line, "   ", "      "))?;
    }
    Ok(())
}

/// When its doses are due, and what they come to for each animal by today's weight.
fn what_it_means(
    desk: &mut Desk,
    open: &Open,
    prescription: &Prescription,
    start: Start,
) -> Result<(), Failure> {
    let slots = prescription
        .schedule
        .expand(start, open.zone)
        .map_err(Failure::not_accepted)?;
    if start.date < prescription.written {
        return Err(Failure::not_accepted(format!(
            "the first dose would be due {}, before the prescription was written on {}: check both dates",
            when::say_day(start.date),
            when::say_day(prescription.written)
        )));
    }
    say_dates(desk, prescription, &slots, open.zone)?;
    overlaps(desk, open, prescription)?;
    for line in worked_out(open, prescription, start)? {
        desk.say(line)?;
    }
    Ok(())
}

/// Keeps it, unless the book has meanwhile got one of that reference.
fn keep(
    desk: &mut Desk,
    open: &mut Open,
    prescription: &Prescription,
    start: Start,
    file: &str,
    by: Option<String>,
) -> Result<(), Failure> {
    let entered = Entered {
        source: prescription.source().to_owned(),
        file: file.to_owned(),
        start: start.date,
        start_time: start.time,
        unasked: desk.everywhere.yes,
        by,
    };
    let now = open.now;
    open.record(|ledger| {
        unused(ledger, &prescription.reference)?;
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
    desk.say(format!("Next: scruple today{}", desk.common()))
}

/// Reads and checks a prescription file; every fault is shown at its place.
pub(super) fn read_prescription(desk: &Desk, path: &Path) -> Result<Prescription, Failure> {
    use std::io::Read;
    let name = path.display().to_string();
    let unreadable = |error: std::io::Error| {
        Failure::not_accepted(format!(
            "the file {name} could not be read ({error}): check its name and place"
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
            faults.render(desk.world.colour).trim_end()
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
    if let Some(until) = prescription.valid_until {
        not_expired(until, today)?;
    }
    not_to_come(prescription.written, today)?;
    can_print_all_of(prescription).map_err(Failure::not_accepted)?;
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

/// Whether a prescription of this last day is still valid.
pub(super) fn not_expired(until: NaiveDate, today: NaiveDate) -> Result<(), Failure> {
    if until >= today {
        return Ok(());
    }
    Err(Failure::not_accepted(format!(
        "this prescription was valid until {}: ask your vet for a new one",
        when::say_day(until)
    )))
}

/// Whether a prescription can have been written on this day.
pub(super) fn not_to_come(written: NaiveDate, today: NaiveDate) -> Result<(), Failure> {
    if written <= today {
        return Ok(());
    }
    Err(Failure::not_accepted(format!(
        "this prescription is dated {}, which is still to come: check the date with your vet",
        when::say_day(written)
    )))
}

/// A prescription names its animals in full: a beginning is not enough here.
fn known_animal(ledger: &Ledger, name: &str) -> Result<(), Failure> {
    let Some(patient) = ledger
        .animals
        .iter()
        .find(|patient| same(&patient.animal.name, name))
    else {
        if let Some(damaged) = ledger.damaged_animal(name) {
            return Err(Failure::not_accepted(damaged));
        }
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

/// Whether the book has no prescription of this reference.
pub(super) fn unused(ledger: &Ledger, reference: &str) -> Result<(), Failure> {
    let used = ledger
        .scripts
        .iter()
        .any(|s| same(&s.prescription.reference, reference));
    if used {
        return Err(Failure::not_accepted(format!(
            "a prescription {reference} is in the book already: if this is another one, give it another reference"
        )));
    }
    Ok(())
}

/// A medicine that the book knows by a name much like this one's, unless it knows this very one.
pub(super) fn known_alike<'l>(
    ledger: &'l Ledger,
    name: &str,
    is_same: impl Fn(&str) -> bool,
) -> Option<&'l str> {
    let scripts = ledger
        .scripts
        .iter()
        .flat_map(|script| script.prescription.medicine.names());
    let bottles = ledger
        .bottles
        .iter()
        .map(|container| container.bottle.medicine.as_str());
    let known: Vec<&str> = scripts.chain(bottles).collect();
    if known.iter().any(|known| is_same(known)) {
        return None;
    }
    known.into_iter().find(|known| near_miss(known, name))
}

/// A medicine's name that is nearly one already known is typed again: the gate against giving
/// twice hangs on it.
fn ask_about_names(
    desk: &mut Desk,
    ledger: &Ledger,
    prescription: &Prescription,
) -> Result<(), Failure> {
    let own = &prescription.medicine.name;
    let is_same = |known: &str| prescription.same_medicine(known);
    let Some(near) = known_alike(ledger, own, is_same) else {
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
    let first = format!("First doses: {}", first.join("; then "));
    desk.say(wrapped(&first, "", "   "))?;
    if let Some(last) = slots.last().filter(|_| slots.len() > 3) {
        desk.say(format!("Last dose, number {}: {}", last.number, said(last)))?;
    }
    for note in slots.iter().filter_map(|slot| slot.clock_note) {
        desk.say(format!("Note: {note}"))?;
    }
    if let Some(until) = prescription.valid_until {
        let beyond = after_date(slots, until, zone).count();
        if beyond > 0 {
            let caution = format!(
                "Caution: no mark for {beyond} of the doses: due after {}, the last day of this prescription (your vet's date). Ask your vet.",
                when::say_day(until)
            );
            desk.say(wrapped(&caution, "", "   "))?;
        }
    }
    Ok(())
}

/// The weight in the book and the one the vet wrote, where they are too far apart to be right
/// both: a tenfold slip is caught here.
pub(super) fn weights_apart(
    open: &Open,
    prescription: &Prescription,
    name: &str,
) -> Option<(Written<BodyWeight>, Written<BodyWeight>)> {
    let written = prescription.weight_written_for(name)?;
    let patient = open.ledger.animal(name).ok()?;
    let weighing = patient.weights.latest(open.now)?;
    let apart = chrono::TimeDelta::days(1);
    let readability = weighing.readability.value();
    slip_between(written.value(), weighing.weight.value(), apart, readability)?;
    Some((weighing.weight.clone(), written.clone()))
}

fn weight_against_written(
    desk: &mut Desk,
    open: &Open,
    prescription: &Prescription,
    name: &str,
) -> Result<(), Failure> {
    let Some((in_book, written)) = weights_apart(open, prescription, name) else {
        return Ok(());
    };
    let again = desk.ask(&format!(
        "{name} weighs {in_book} in the book and {written} on the prescription. Look at the animal, then type the weight in the book once more:"
    ))?;
    let again: Option<Written<BodyWeight>> = again.and_then(|again| BodyWeight::read(&again).ok());
    match again {
        Some(again) if again.value() == in_book.value() => Ok(()),
        _ => Err(Failure::not_accepted(
            "the two weights disagree, so nothing was kept: weigh again and ask your vet which is right",
        )),
    }
}

/// Another course of the same medicine for the same animal is said before the last question.
fn overlaps(desk: &mut Desk, open: &Open, prescription: &Prescription) -> Result<(), Failure> {
    for standing in courses(&open.ledger, open.zone, open.now).map_err(Failure::failed)? {
        let (name, other) = (&standing.patient.animal.name, &standing.script.prescription);
        let same = prescription.is_for(name) && prescription.shares_medicine(other);
        if !same || standing.course.next.is_none() {
            continue;
        }
        desk.say(format!(
            "STOP. {name} is on a course of this medicine already, {}. No dose of one is shown too soon after the other. If this one takes its place, ask your vet, then end that one first: scruple instruct {name} {} --stop-from {} --said-by NAME --taken-by INITIALS --read-back yes",
            other.reference,
            other.reference,
            standing.course.next.unwrap_or(1)
        ))?;
    }
    Ok(())
}
