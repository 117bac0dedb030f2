//! `scruple done`: something that the vet wanted beside the doses was done.
//!
//! Promises: only a person says so; a follow-up that is done already is not done twice.

use crate::cli::Done;
use crate::cli::animal::{clean, clean_words};
use crate::cli::desk::{Desk, New};
use crate::cli::failure::Failure;
use crate::cli::when;
use crate::entry::{FollowUpDone, Happening, Subject};
use crate::ledger::Ledger;

/// Records that a follow-up your vet wrote was done: a visit, a test, a weighing
///
/// 'scruple check' lists them with their numbers.
///
/// Examples:
///   scruple done Thimblo DEMO-0001 1
///   scruple done Thimblo DEMO-0001 1 --at "2001-03-22 10:00" --note "sample sent" --by AK
#[derive(Debug, clap::Args)]
#[command(verbatim_doc_comment)]
pub(crate) struct FollowedUp {
    /// The animal's name, or the beginning of it
    animal: String,
    /// The prescription's reference, or the beginning of it or of one of its parts
    prescription: String,
    /// The number of the follow-up in the prescription
    number: u32,
    /// When it was done [default: now]
    #[arg(long, value_name = "TIME")]
    at: Option<String>,
    /// What came of it, in your own words
    #[arg(long, value_name = "WORDS")]
    note: Option<String>,
    /// Your initials
    #[arg(long, value_name = "INITIALS")]
    by: Option<String>,
}

impl FollowedUp {
    pub fn run(&self, desk: &mut Desk) -> Result<Done, Failure> {
        let mut open = desk.open()?;
        let at = open.happened(self.at.as_deref())?;
        let note = self.note.as_deref();
        let by = self.by.as_deref();
        let note = note.map(|note| clean_words("the note", note)).transpose()?;
        let by = by.map(|by| clean("the initials", by)).transpose()?;
        desk.banner(open.settings.demonstration)?;
        let judge = |ledger: &Ledger| self.judged(ledger, note.clone(), by.clone());
        let (animal, reference, done) = judge(&open.ledger)?;
        desk.say(format!(
            "{animal}, {reference}: \"{}\" was done {}.",
            done.what,
            when::say(at, open.zone)
        ))?;
        desk.confirm("Record this?")?;
        let rows = open.record(|ledger| {
            let (animal, reference, done) = judge(ledger)?;
            Ok(vec![New {
                subject: Subject::Animal(animal),
                course: Some(reference),
                happened_at: at,
                what: Happening::FollowUp(done),
            }])
        })?;
        let entry = rows.first().map_or(0, |row| row.seq);
        desk.say(format!("Recorded as entry {entry}."))?;
        Ok(Done::Well)
    }

    fn judged(
        &self,
        ledger: &Ledger,
        note: Option<String>,
        by: Option<String>,
    ) -> Result<(String, String, FollowUpDone), Failure> {
        let patient = ledger.animal(&self.animal).map_err(Failure::not_accepted)?;
        let script = ledger
            .script(&self.prescription)
            .map_err(Failure::not_accepted)?;
        let prescription = &script.prescription;
        let (animal, reference) = (&patient.animal.name, &prescription.reference);
        if !prescription.is_for(animal) {
            return Err(Failure::not_accepted(format!(
                "prescription {reference} is not for {animal}: check the name"
            )));
        }
        let mut wanted = (1..).zip(&prescription.follow_ups);
        let Some((number, follow_up)) = wanted.find(|(number, _)| *number == self.number) else {
            return Err(Failure::not_accepted(match prescription.follow_ups.len() {
                0 => format!(
                    "prescription {reference} has no follow-ups: write what was done with 'scruple note'"
                ),
                1 => format!("prescription {reference} has one follow-up: its number is 1"),
                many => format!(
                    "prescription {reference} has follow-ups 1 to {many}: write one of those numbers"
                ),
            }));
        };
        let already = patient
            .followed
            .iter()
            .find(|done| done.course == *reference && done.done.number == number);
        if let Some(already) = already {
            return Err(Failure::not_accepted(format!(
                "that was done already, as entry {} says: if the entry is wrong, write 'scruple correct {}' first",
                already.entry, already.entry
            )));
        }
        let done = FollowUpDone {
            number,
            what: follow_up.what.clone(),
            note,
            by,
        };
        Ok((animal.clone(), reference.clone(), done))
    }
}
