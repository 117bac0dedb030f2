//! `scruple note`: what somebody saw about an animal.
//!
//! Promises: the words are kept as typed. Nothing is computed from them: the vet's own signs are
//! repeated beside the note, and whether it is one of them is for a person to say.

use crate::cli::Done;
use crate::cli::by::By;
use crate::cli::desk::{Desk, New, Open};
use crate::cli::failure::Failure;
use crate::cli::when;
use crate::course::judge_in;
use crate::entry::{About, Happening, Observation, Subject};
use crate::notation::fold::is_unseen;
use crate::sheet::can_print;
use clap::ValueEnum;

/// The longest note, in characters.
const LONGEST: usize = 600;

/// Notes what you saw about an animal, in your own words
///
/// Examples:
///   scruple note Thimblo "left both crickets" --about appetite
///   scruple note Thimblo "tail tip dark, 2 mm" --about wound --at 18:30 --by AK
#[derive(Debug, clap::Args)]
#[command(verbatim_doc_comment)]
pub(crate) struct Note {
    /// The animal's name, or the beginning of it
    animal: String,
    /// What you saw
    words: String,
    /// What it is about
    #[arg(long, value_enum, default_value_t = AboutKind::Other)]
    about: AboutKind,
    /// When you saw it [default: now]
    #[arg(long, value_name = "TIME")]
    at: Option<String>,
    #[command(flatten)]
    by: By,
}

#[derive(Clone, Copy, Debug, ValueEnum)]
enum AboutKind {
    /// What it ate
    Appetite,
    /// What it passed
    Droppings,
    /// Its skin coming off
    Shedding,
    /// A wound
    Wound,
    /// Anything else
    Other,
}

impl From<AboutKind> for About {
    fn from(about: AboutKind) -> About {
        match about {
            AboutKind::Appetite => About::Appetite,
            AboutKind::Droppings => About::Droppings,
            AboutKind::Shedding => About::Shedding,
            AboutKind::Wound => About::Wound,
            AboutKind::Other => About::Other,
        }
    }
}

impl Note {
    pub fn run(&self, desk: &mut Desk) -> Result<Done, Failure> {
        let observation = Observation {
            about: self.about.into(),
            words: words(&self.words)?,
            by: self.by.initials()?,
        };
        let mut open = desk.open()?;
        let at = open.happened(self.at.as_deref())?;
        let patient = open.ledger.animal(&self.animal);
        let name = patient.map_err(Failure::not_accepted)?.animal.name.clone();
        let rows = open.record(|_| {
            Ok(vec![New {
                subject: Subject::Animal(name.clone()),
                course: None,
                happened_at: at,
                what: Happening::Observation(observation.clone()),
            }])
        })?;
        desk.banner(open.settings.demonstration)?;
        desk.say(format!(
            "Noted as entry {}: {name}, {}, {}: \"{}\"",
            rows.first().map_or(0, |row| row.seq),
            when::say(at, open.zone),
            observation.about,
            observation.words
        ))?;
        signs(desk, &open, &name)
    }
}

/// The signs that the vet wrote for the courses that are still running.
fn signs(desk: &mut Desk, open: &Open, name: &str) -> Result<Done, Failure> {
    let patient = open.ledger.animal(name).map_err(Failure::failed)?;
    for script in open.ledger.scripts_of(patient) {
        let course = judge_in(&open.ledger, patient, script, open.zone, open.now);
        let prescription = &script.prescription;
        if course.map_err(Failure::failed)?.next.is_none() {
            continue;
        }
        for sign in &prescription.stop_and_call_if {
            desk.say(format!(
                "{}: your vet wrote to stop and call if: \"{sign}\" ({}, {})",
                prescription.reference, prescription.vet.name, prescription.vet.phone
            ))?;
        }
    }
    Ok(Done::Well)
}

/// The person's own words, on one line, without anything that cannot be seen.
fn words(typed: &str) -> Result<String, Failure> {
    let typed = typed.split_whitespace().collect::<Vec<_>>().join(" ");
    if typed.is_empty() {
        return Err(Failure::not_accepted(
            "the note is empty: write what you saw",
        ));
    }
    if typed.chars().any(is_unseen) {
        return Err(Failure::not_accepted(
            "there is an invisible character in the note: type it afresh instead of pasting it",
        ));
    }
    if typed.chars().count() > LONGEST {
        return Err(Failure::not_accepted(format!(
            "the note is longer than {LONGEST} characters: make it two"
        )));
    }
    can_print(&typed).map_err(Failure::not_accepted)?;
    Ok(typed)
}
