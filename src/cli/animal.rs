//! `scruple animal`: who is in the room.

use crate::animal::Animal;
use crate::cli::Done;
use crate::cli::by::By;
use crate::cli::desk::{Desk, New};
use crate::cli::failure::Failure;
use crate::cli::when;
use crate::entry::{Entry, Happening, Signed, Subject};
use crate::json;
use crate::ledger::FindError;
use crate::notation::fold::{alike, is_unseen, same};
use crate::round::{history, say};
use crate::sheet;
use clap::Subcommand;

/// The animals
///
/// Examples:
///   scruple animal add Thimblo --species "invented gecko" --id "tub 4, white spot on left shoulder"
///   scruple animal show Thimblo
#[derive(Debug, clap::Args)]
#[command(verbatim_doc_comment)]
pub(crate) struct Animals {
    #[command(subcommand)]
    what: What,
}

#[derive(Debug, Subcommand)]
enum What {
    /// Takes an animal in
    ///
    /// Examples:
    ///   scruple animal add Thimblo --species "marsh gecko" --id "tub 4"
    ///   scruple animal add Quillo --species "hill rat" --id "notch, right ear" --quarantine
    #[command(verbatim_doc_comment)]
    Add(Add),
    /// Lists the animals
    ///
    /// Examples:
    ///   scruple animal list
    ///   scruple animal list --format json
    #[command(verbatim_doc_comment)]
    List,
    /// Shows one animal with its weights and courses
    ///
    /// Examples:
    ///   scruple animal show Thimblo
    ///   scruple animal show Thi --format json
    #[command(verbatim_doc_comment)]
    Show {
        /// Its name, or the beginning of it
        animal: String,
    },
}

#[derive(Debug, clap::Args)]
struct Add {
    /// Its name
    name: String,
    /// What it is
    #[arg(long)]
    species: String,
    /// What tells it from the others: tub, marks, chip
    #[arg(long, value_name = "WORDS")]
    id: String,
    /// It is in quarantine, and worked with last
    #[arg(long)]
    quarantine: bool,
    #[command(flatten)]
    by: By,
}

impl Animals {
    pub fn run(&self, desk: &mut Desk) -> Result<Done, Failure> {
        match &self.what {
            What::Add(add) => add.run(desk),
            What::List => list(desk),
            What::Show { animal } => show(desk, animal),
        }
    }
}

impl Add {
    fn run(&self, desk: &mut Desk) -> Result<Done, Failure> {
        let animal = Animal {
            name: clean("the name", &self.name)?,
            species: clean("the species", &self.species)?,
            identification: clean("the identification", &self.id)?,
            quarantine: self.quarantine,
        };
        let by = self.by.initials()?;
        let mut open = desk.open()?;
        let now = open.now;
        let others = |ledger: &crate::ledger::Ledger, is: fn(&str, &str) -> bool| {
            let names = ledger
                .animals
                .iter()
                .map(|patient| patient.animal.name.clone());
            names
                .filter(|name| is(name, &animal.name))
                .collect::<Vec<_>>()
        };
        let damaged = open.ledger.damaged_animal(&animal.name);
        if let Some(fault @ FindError::Damaged { what, .. }) = &damaged
            && same(what, &animal.name)
        {
            return Err(Failure::not_accepted(fault));
        }
        desk.banner(open.settings.demonstration)?;
        let much_alike = others(&open.ledger, alike);
        if !much_alike.is_empty() {
            let again = desk.ask(&format!(
                "{} is named much like {}: a slip between them would be easy. Type the name once more to keep it:",
                animal.name,
                much_alike.join(" and ")
            ))?;
            if !again.is_some_and(|again| same(&again, &animal.name)) {
                return Err(Failure::not_accepted(
                    "the name was not typed the same again, so nothing was kept: give it another name",
                ));
            }
        }
        open.record(|ledger| {
            if let Some(name) = others(ledger, same).first() {
                return Err(Failure::not_accepted(format!(
                    "an animal named {name} is in the book already: give this one another name"
                )));
            }
            Ok(vec![New {
                subject: Subject::Animal(animal.name.clone()),
                course: None,
                happened_at: now,
                what: Happening::Animal(Signed::new(animal.clone(), by.clone())),
            }])
        })?;
        let apart = if animal.quarantine {
            "; in quarantine, worked with last"
        } else {
            ""
        };
        desk.say(format!(
            "{}: {}; {}{apart}.",
            animal.name, animal.species, animal.identification
        ))?;
        desk.say(format!("Next: scruple weigh {} WEIGHT", animal.name))?;
        Ok(Done::Well)
    }
}

/// A name or description without anything that cannot be seen, at most 80 characters.
pub(super) fn clean(what: &str, text: &str) -> Result<String, Failure> {
    clean_up_to(80, what, text)
}

/// Somebody's own words, at most 400 characters.
pub(super) fn clean_words(what: &str, text: &str) -> Result<String, Failure> {
    clean_up_to(400, what, text)
}

fn clean_up_to(most: usize, what: &str, text: &str) -> Result<String, Failure> {
    if text.chars().any(is_unseen) {
        return Err(Failure::not_accepted(format!(
            "there is an invisible character in {what}: type it afresh instead of pasting it"
        )));
    }
    let text = text.split_whitespace().collect::<Vec<_>>().join(" ");
    if !text.is_empty() && !text.chars().any(char::is_alphanumeric) {
        return Err(Failure::not_accepted(format!(
            "there is no letter and no figure in {what}: write it in letters, so that it can be typed and said"
        )));
    }
    if text.is_empty() {
        return Err(Failure::not_accepted(format!(
            "{what} is empty: write it out"
        )));
    }
    if text.chars().count() > most {
        return Err(Failure::not_accepted(format!(
            "{what} is longer than {most} characters: shorten it"
        )));
    }
    sheet::can_print(&text).map_err(Failure::not_accepted)?;
    Ok(text)
}

fn list(desk: &mut Desk) -> Result<Done, Failure> {
    let open = desk.open_to_read()?;
    if desk.json() {
        desk.say(json::animals(
            &open.ledger,
            open.now,
            open.zone,
            open.settings.demonstration,
        ))?;
        return Ok(Done::Well);
    }
    desk.banner(open.settings.demonstration)?;
    if open.ledger.animals.is_empty() {
        desk.say("No animal is in the book yet. Take one in: scruple animal add NAME --species WORDS --id WORDS")?;
    }
    for patient in &open.ledger.animals {
        let animal = &patient.animal;
        let weight = match patient.weights.latest(open.now) {
            Some(weighing) => {
                format!(
                    "{} on {}",
                    weighing.weight,
                    when::say_day(weighing.day(open.zone))
                )
            }
            None => "not weighed yet".to_owned(),
        };
        let apart = if animal.quarantine {
            ", in quarantine"
        } else {
            ""
        };
        let gone = patient.end.as_ref().map_or("", |_| ", no longer here");
        desk.say(format!(
            "{}: {}; {}{apart}{gone}; {weight}",
            animal.name, animal.species, animal.identification
        ))?;
    }
    Ok(Done::Well)
}

fn show(desk: &mut Desk, name: &str) -> Result<Done, Failure> {
    let open = desk.open_to_read()?;
    let patient = open.ledger.animal(name).map_err(Failure::not_accepted)?;
    let subject = Subject::Animal(patient.animal.name.clone());
    let mut history = Vec::new();
    for row in open.book.read_subject(&subject.key())? {
        history.push(Entry::read(&row).map_err(Failure::failed)?);
    }
    if desk.json() {
        desk.say(json::animal(
            &open.ledger,
            patient,
            &history,
            open.now,
            open.zone,
            open.settings.demonstration,
        ))?;
        return Ok(Done::Well);
    }
    desk.banner(open.settings.demonstration)?;
    let animal = &patient.animal;
    desk.say(&animal.name)?;
    desk.say(format!("  {}", animal.species))?;
    desk.say(format!("  {}", animal.identification))?;
    if animal.quarantine {
        desk.say("  in quarantine")?;
    }
    if let Some((at, end)) = &patient.end {
        desk.say(format!("  {}, {}", end.how, when::say(*at, open.zone)))?;
    }
    desk.say("Weights")?;
    if patient.weights.all().is_empty() {
        desk.say("  none yet")?;
    }
    for weighing in patient.weights.all().iter().rev() {
        let tag = weighing
            .tag
            .map(|tag| format!(", {tag}"))
            .unwrap_or_default();
        desk.say(format!(
            "  {}: {}{tag}",
            when::say(weighing.at, open.zone),
            weighing.weight
        ))?;
    }
    if !patient.notes.is_empty() {
        desk.say("Notes")?;
        let mut notes: Vec<_> = patient.notes.iter().collect();
        notes.sort_by_key(|note| std::cmp::Reverse((note.at, note.entry)));
        for note in notes {
            desk.say(format!("  {}", say::note(note, open.zone)))?;
        }
    }
    desk.say("Courses")?;
    let mut any = false;
    for script in open.ledger.scripts_of(patient) {
        any = true;
        let prescription = &script.prescription;
        desk.say(format!(
            "  {}: {}",
            prescription.reference, prescription.medicine.name
        ))?;
    }
    if !any {
        desk.say("  none yet")?;
    }
    desk.say("Everything recorded, in the order it was written")?;
    for entry in &history {
        let out = match history::taken_out_by(&history, entry.seq) {
            Some(by) if open.ledger.corrected.contains_key(&entry.seq) => {
                format!("  STRUCK OUT by entry {by}")
            }
            _ => String::new(),
        };
        desk.say(format!(
            "  entry {}: {}{out}",
            entry.seq,
            history::words(entry, open.zone)
        ))?;
    }
    Ok(Done::Well)
}
