//! `scruple end`: an animal's stay ended.
//!
//! Promises: quiet words; its doses that were to come are no longer planned, needed or called
//! late; what was recorded stays.

use crate::cli::Done;
use crate::cli::animal::clean_words;
use crate::cli::by::By;
use crate::cli::desk::{Desk, New};
use crate::cli::failure::Failure;
use crate::cli::when;
use crate::entry::{End, Ending, Happening, Subject};
use crate::ledger::{Ledger, Patient};
use crate::round::{Standing, courses};
use crate::schedule::Zone;
use chrono::{DateTime, Utc};
use clap::ValueEnum;

/// Records that an animal is no longer here; its courses end with it
///
/// Examples:
///   scruple end Nubbet --how died --at "2001-03-08 06:00"
///   scruple end Thimblo --how rehomed --note "with its papers"
#[derive(Debug, clap::Args)]
#[command(verbatim_doc_comment)]
pub(crate) struct EndOfStay {
    /// The animal's name, or the beginning of it
    animal: String,
    /// How its stay ended
    #[arg(long, value_enum)]
    how: How,
    /// When [default: now]
    #[arg(long, value_name = "TIME")]
    at: Option<String>,
    /// Anything to add, in your own words
    #[arg(long, value_name = "WORDS")]
    note: Option<String>,
    #[command(flatten)]
    by: By,
}

#[derive(Clone, Copy, Debug, ValueEnum)]
enum How {
    /// The animal died
    Died,
    /// It went to a new home
    Rehomed,
    /// It went into other care
    Transferred,
}

impl From<How> for Ending {
    fn from(how: How) -> Ending {
        match how {
            How::Died => Ending::Died,
            How::Rehomed => Ending::Rehomed,
            How::Transferred => Ending::Transferred,
        }
    }
}

impl EndOfStay {
    pub fn run(&self, desk: &mut Desk) -> Result<Done, Failure> {
        let mut open = desk.open()?;
        let at = open.happened(self.at.as_deref())?;
        let note = self.note.as_deref();
        let note = note.map(|note| clean_words("the note", note)).transpose()?;
        desk.banner(open.settings.demonstration)?;
        let patient = still_here(&open.ledger, &self.animal)?;
        let name = patient.animal.name.clone();
        let how = Ending::from(self.how);
        desk.say(format!("{name}: {how}, {}.", when::say(at, open.zone)))?;
        let standings = courses(&open.ledger, open.zone, open.now).map_err(Failure::failed)?;
        for standing in standings.iter().filter(|s| s.patient.animal.name == name) {
            if let Some(words) = ends_with_it(standing) {
                desk.say(words)?;
            }
        }
        let after = patient.doses.iter().filter(|dose| dose.happened > at);
        for dose in after.filter(|dose| dose.record.outcome.closes_the_gate()) {
            desk.say(format!(
                "Entry {} is of a dose at {}, which is later: check the time.",
                dose.entry,
                when::say(dose.happened, open.zone)
            ))?;
        }
        desk.confirm("Record this?")?;
        let by = self.by.initials()?;
        let end = End { how, note, by };
        let rows = open.record(|ledger| {
            let patient = still_here(ledger, &name)?;
            Ok(vec![New {
                subject: Subject::Animal(patient.animal.name.clone()),
                course: None,
                happened_at: at,
                what: Happening::End(end.clone()),
            }])
        })?;
        let entry = rows.first().map_or(0, |row| row.seq);
        desk.say(format!(
            "Recorded as entry {entry}. Nothing more is planned for {name}; what was recorded stays."
        ))?;
        Ok(Done::Well)
    }
}

fn still_here<'l>(ledger: &'l Ledger, animal: &str) -> Result<&'l Patient, Failure> {
    let patient = ledger.animal(animal).map_err(Failure::not_accepted)?;
    match &patient.end {
        None => Ok(patient),
        Some((_, end)) => Err(Failure::not_accepted(format!(
            "the book already says of {0}: {1}. If that is wrong, look up its entry with 'scruple animal show {0}', and strike it out with 'scruple correct'",
            patient.animal.name, end.how
        ))),
    }
}

/// That an animal had left by a moment, and when.
pub(super) fn had_left(patient: &Patient, at: DateTime<Utc>, zone: Zone) -> Option<String> {
    let (left, end) = patient.end.as_ref().filter(|(left, _)| *left < at)?;
    Some(format!(
        "The book says of {}: {}, {}. Look which animal is in your hand.",
        patient.animal.name,
        end.how,
        when::say(*left, zone)
    ))
}

/// What becomes of a course that is still going on.
fn ends_with_it(standing: &Standing) -> Option<String> {
    standing.course.next?;
    let waiting = standing.course.slots.iter();
    let waiting = waiting.filter(|slot| slot.waits()).count();
    let doses = match waiting {
        1 => "1 dose is".to_owned(),
        many => format!("{many} doses are"),
    };
    Some(format!(
        "Course {} ends with it; {doses} no longer to be given.",
        standing.script.prescription.reference
    ))
}
