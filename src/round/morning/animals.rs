//! Weights that wait: a loss that means "call", a weight that is old, one that will be tomorrow.
//!
//! Promises: the age and the loss are those that the next dose of a course would be judged by; an
//! animal is named once for each, with every vet to call about it. No limit is known here.

use crate::caution::{Caution, Level, NoMark};
use crate::dose::Worked;
use crate::ledger::Patient;
use crate::prescription::Vet;
use crate::round::morning::{Kind, Seen, Waiting};
use crate::round::{Checked, Pick, Standing, Step, day_dose, typed_name};
use chrono::NaiveDate;

/// The weights behind the next dose of every course; of each animal the most telling.
pub(super) fn weights<'l>(
    seen: &Seen<'l>,
    checked: &[Checked<'l>],
    waiting: &mut Vec<Waiting<'l>>,
) {
    // The courses of one animal come one after another.
    let same =
        |a: &Checked, b: &Checked| a.standing.patient.animal.name == b.standing.patient.animal.name;
    for own in checked.chunk_by(same) {
        let Some(patient) = own.first().map(|course| course.standing.patient) else {
            continue;
        };
        let courses = own.iter().map(|course| &course.standing);
        let found = courses.flat_map(|standing| of_course(seen, standing));
        let mut found: Vec<Found> = found.collect();
        found.sort_by_key(|found| found.urgency);
        let mut vets: Vec<&Vet> = Vec::new();
        for one in found.iter().filter(|one| one.kind == Kind::Call) {
            if !vets.contains(&one.vet) {
                vets.push(one.vet);
            }
        }
        let mut kinds = Vec::new();
        for one in found {
            if !kinds.contains(&one.kind) {
                kinds.push(one.kind);
                waiting.push(one.waits(patient, &vets));
            }
        }
    }
}

/// What a course has to say about the weight behind it.
struct Found<'l> {
    kind: Kind,
    /// The smaller, the more telling.
    urgency: u8,
    words: String,
    vet: &'l Vet,
}

impl Found<'_> {
    fn waits<'p>(self, patient: &'p Patient, vets: &[&Vet]) -> Waiting<'p> {
        let weigh = format!("scruple weigh {} WEIGHT", typed_name(&patient.animal.name));
        let step = match self.kind {
            Kind::Call => Step {
                words: format!("Call {} before anything is given.", whom(vets)),
                commands: Vec::new(),
            },
            _ => Step {
                words: "Weigh the animal:".to_owned(),
                commands: vec![weigh],
            },
        };
        Waiting {
            kind: self.kind,
            patient: Some(patient),
            script: None,
            dose: None,
            words: format!("{}: {}", patient.animal.name, self.words),
            step,
        }
    }
}

/// Their telephone numbers, each with its vet where there are several.
fn whom(vets: &[&Vet]) -> String {
    match vets {
        [vet] => vet.phone.clone(),
        several => {
            let each = several
                .iter()
                .map(|vet| format!("{}, {}", vet.name, vet.phone));
            each.collect::<Vec<_>>().join(" and ")
        }
    }
}

fn of_course<'l>(seen: &Seen, standing: &Standing<'l>) -> Vec<Found<'l>> {
    let Some(today) = worked(seen, standing, seen.day) else {
        return Vec::new();
    };
    let vet = &standing.script.prescription.vet;
    let find = |kind, urgency, words: String| Found {
        kind,
        urgency,
        words,
        vet,
    };
    let mut found = Vec::new();
    if let Err(reasons) = &today.mark {
        let reasons = reasons.iter();
        found.extend(reasons.filter_map(|reason| match reason {
            NoMark::NoWeight => Some(find(Kind::Weight, 0, "not weighed yet".to_owned())),
            NoMark::WeightTooOld { .. } => Some(find(Kind::Weight, 1, reason.to_string())),
            _ => None,
        }));
    }
    for caution in &today.cautions {
        found.extend(match caution {
            Caution::WeighNow { .. } => Some(find(Kind::Weight, 2, caution.to_string())),
            Caution::OldWeight { .. } => Some(find(Kind::Weight, 3, caution.to_string())),
            _ if caution.level() == Level::Call => Some(find(Kind::Call, 0, caution.to_string())),
            _ => None,
        });
    }
    let weighed = found.iter().any(|found| found.kind == Kind::Weight);
    let tomorrow = seen.day.succ_opt().filter(|_| !weighed);
    if let Some(worked) = tomorrow.and_then(|day| worked(seen, standing, day)) {
        let old = worked.cautions.iter();
        let old = old.filter(|caution| matches!(caution, Caution::OldWeight { .. }));
        found.extend(old.take(1).map(|_| {
            let words = "the weight is good today and too old tomorrow".to_owned();
            find(Kind::Weight, 4, words)
        }));
    }
    found
}

/// The next dose of a course, worked out as for a day; nothing where none waits, or none goes by
/// weight.
fn worked(seen: &Seen, standing: &Standing, day: NaiveDate) -> Option<Worked> {
    let slot = standing.course.slots.iter().find(|slot| slot.waits())?;
    let dose = day_dose(
        seen.ledger,
        seen.settings,
        standing,
        slot,
        Pick::default(),
        day,
        seen.now,
        seen.zone,
    );
    // "Weigh before each dose" is for the day of the dose.
    let due_today = slot.due.date(seen.zone) <= seen.day;
    dose.worked.map(|mut worked| {
        worked
            .cautions
            .retain(|caution| due_today || !matches!(caution, Caution::WeighNow { .. }));
        worked
    })
}
