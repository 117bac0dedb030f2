//! What the vet is to be called about for a course that has no dose on the day's card.
//!
//! Promises: who looks at today's card learns of a call that waits, though nothing is due; each is
//! said once for each vet; the card of a day to come has what is known by now. Does not: repeat what
//! stands with a dose of the same vet on the card.

use crate::caution::{Caution, Level, NoMark};
use crate::course::What;
use crate::ledger::{Ledger, Patient, Script};
use crate::round::unsettled::before_the_next_mark;
use crate::round::{DayDose, Pick, Standing, day_dose};
use crate::schedule::{Zone, local_date};
use crate::settings::Settings;
use chrono::{DateTime, NaiveDate, Utc};
use std::collections::HashMap;

/// One reason to call.
#[derive(Debug)]
pub struct OffCard<'l> {
    /// About whom.
    pub patient: &'l Patient,
    /// Of which prescription.
    pub script: &'l Script,
    /// Whether its next dose has no mark until the vet has spoken.
    pub stops: bool,
    /// Why, in words.
    pub why: String,
}

impl OffCard<'_> {
    /// "STOP" or "CALL".
    #[must_use]
    pub const fn label(&self) -> &'static str {
        if self.stops { "STOP" } else { "CALL" }
    }

    /// "Thimblo, DEMO-0001" and ", not on this card. Call 555 0134. Entry 7: ...".
    #[must_use]
    pub fn words(&self) -> (String, String) {
        let prescription = &self.script.prescription;
        let whose = format!("{}, {}", self.patient.animal.name, prescription.reference);
        let phone = &prescription.vet.phone;
        (
            whose,
            format!(", not on this card. Call {phone}. {}", self.why),
        )
    }
}

/// What there is to call about beside the doses of a card.
pub(super) fn off_card<'l>(
    ledger: &'l Ledger,
    settings: &Settings,
    standings: &[Standing<'l>],
    doses: &[DayDose<'l>],
    day: NaiveDate,
    now: DateTime<Utc>,
    zone: Zone,
) -> Vec<OffCard<'l>> {
    let mut found: Vec<OffCard> = Vec::new();
    if day < local_date(now, zone) {
        return found;
    }
    let mut on_card: HashMap<&str, Vec<&DayDose>> = HashMap::new();
    for dose in doses {
        on_card
            .entry(&dose.patient.animal.name)
            .or_default()
            .push(dose);
    }
    for standing in standings {
        let (patient, script) = (standing.patient, standing.script);
        let name = &patient.animal.name;
        let ended = patient.end.as_ref().is_some_and(|(at, _)| *at <= now);
        let own = on_card.get(name.as_str()).map_or(&[][..], Vec::as_slice);
        let vet = &script.prescription.vet;
        let of_vet = |other: &Script| other.prescription.vet == *vet;
        if ended || own.iter().any(|dose| dose.script.entry == script.entry) {
            continue;
        }
        for (stops, why) in reasons(ledger, settings, standing, day, now, zone) {
            let mut said = own.iter().filter(|dose| of_vet(dose.script));
            let said = said.any(|dose| says(dose, &why));
            let mut before = found.iter().filter(|one| of_vet(one.script));
            let before = before.any(|one| one.patient.animal.name == *name && one.why == why);
            if !said && !before {
                found.push(OffCard {
                    patient,
                    script,
                    stops,
                    why,
                });
            }
        }
    }
    found
}

/// Whether a dose on the card says the same already.
fn says(dose: &DayDose, why: &str) -> bool {
    let mut cautions = dose.worked.iter().flat_map(|worked| &worked.cautions);
    let mut reasons = dose.no_mark.iter();
    cautions.any(|caution| caution.to_string() == why)
        || reasons.any(|reason| reason.to_string() == why)
}

fn reasons(
    ledger: &Ledger,
    settings: &Settings,
    standing: &Standing,
    day: NaiveDate,
    now: DateTime<Utc>,
    zone: Zone,
) -> Vec<(bool, String)> {
    let asks = ask_about(standing).map(|why| (false, why));
    let Some(slot) = standing.course.slots.iter().find(|slot| slot.waits()) else {
        let (stops, calls) = before_the_next_mark(standing, settings, now);
        let stops = stops.iter().map(|reason| (true, reason.to_string()));
        let calls = calls.iter().map(|caution| (false, caution.to_string()));
        return stops.chain(calls).chain(asks).collect();
    };
    let pick = Pick::default();
    let dose = day_dose(ledger, settings, standing, slot, pick, day, now, zone);
    let stops = dose.no_mark.iter();
    let stops = stops.filter(|reason| matches!(reason, NoMark::Unsettled { .. }));
    let stops = stops.map(|reason| (true, reason.to_string()));
    let calls = calls(&dose).map(|caution| (false, caution.to_string()));
    stops.chain(calls).chain(asks).collect()
}

fn calls<'d>(dose: &'d DayDose) -> impl Iterator<Item = &'d Caution> {
    let cautions = dose.worked.iter().flat_map(|worked| &worked.cautions);
    cautions.filter(|caution| caution.level() == Level::Call)
}

/// Why to call before the next dose of a course, in words, as its panel on the card will say:
/// beside what its verdict says already.
pub(super) fn before_the_next(
    ledger: &Ledger,
    settings: &Settings,
    standing: &Standing,
    now: DateTime<Utc>,
    zone: Zone,
) -> Vec<String> {
    let ended = (standing.patient.end.as_ref()).is_some_and(|(at, _)| *at <= now);
    let next = standing.course.slots.iter().find(|slot| slot.waits());
    let Some(slot) = next.filter(|_| !ended) else {
        return Vec::new();
    };
    let (pick, day) = (Pick::default(), local_date(now, zone));
    let dose = day_dose(ledger, settings, standing, slot, pick, day, now, zone);
    let (_, said) = before_the_next_mark(standing, settings, now);
    let calls = calls(&dose).filter(|caution| !said.contains(caution));
    calls.map(ToString::to_string).collect()
}

/// The doses that did not all go in or stay in, and that the vet has not spoken about yet.
fn ask_about(standing: &Standing) -> impl Iterator<Item = String> {
    let remarks = standing.course.remarks.iter();
    let asked = remarks.filter(|remark| {
        let kind = matches!(
            remark.what,
            What::PartlyGiven | What::BroughtUp | What::Refused | What::Missed
        );
        remark.needs_attention && kind
    });
    asked.filter_map(|remark| Some(format!("Dose {}: {}.", remark.slot?, remark.what)))
}
