//! What a course still takes from its bottles, by the mark of the day.
//!
//! Promises: every slot that waits is counted, with what stays in the hub at each draw; where
//! there is no mark the reason is kept. A mark worked out here is for the stock, not to draw to.

use crate::caution::NoMark;
use crate::dose::Chosen;
use crate::ledger::Ledger;
use crate::quantity::{Exact, Measure, Volume};
use crate::round::dose::{dose_now, strength_now};
use crate::round::{Pick, Standing, day_dose};
use crate::schedule::{Zone, local_date};
use crate::settings::Settings;
use chrono::{DateTime, Utc};

/// What some doses take from a bottle.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Need {
    /// How many doses.
    pub doses: u32,
    /// How many draws those with a mark make.
    pub draws: u32,
    /// All marks together, without what stays in hubs; none where there is no mark.
    pub total: Option<Measure>,
    /// What stays in the hubs.
    pub hub_loss: Volume,
    /// How many of the doses have no mark.
    pub without_mark: u32,
    /// Why the first of those has none.
    pub why: Option<NoMark>,
}

impl Default for Need {
    fn default() -> Need {
        Need {
            doses: 0,
            draws: 0,
            total: None,
            hub_loss: Volume::from_millilitres(Exact::ZERO),
            without_mark: 0,
            why: None,
        }
    }
}

impl Need {
    /// Adds so many doses that each have this mark, or none and why.
    pub fn add(&mut self, doses: u32, chosen: Result<&Chosen, &NoMark>) {
        self.doses += doses;
        let chosen = match chosen {
            Ok(chosen) => chosen,
            Err(why) => {
                self.without_mark += doses;
                self.why.get_or_insert(why.clone());
                return;
            }
        };
        let mark = chosen.mark;
        let times = |count: u32| Exact::whole(i64::from(count));
        let more = mark.total.times(times(doses)).ok();
        self.total = match (self.total, more) {
            (None, more) if self.draws == 0 => more,
            (Some(total), Some(more)) => total.plus(more).ok(),
            _ => None,
        };
        let draws = mark.draws * doses;
        if let Some(syringe) = chosen.instrument.syringe() {
            let lost = syringe.hub_loss().times(times(draws));
            self.hub_loss = lost
                .and_then(|lost| self.hub_loss.plus(lost))
                .unwrap_or(self.hub_loss);
        }
        self.draws += draws;
    }

    /// Adds what others take, from the same kind of bottle.
    pub fn join(&mut self, other: &Need) {
        self.total = match (self.total, other.total) {
            (None, other) if self.draws == 0 => other,
            (total, None) if other.draws == 0 => total,
            (Some(total), Some(other)) => total.plus(other).ok(),
            _ => None,
        };
        let hubs = self.hub_loss.plus(other.hub_loss);
        self.hub_loss = hubs.unwrap_or(self.hub_loss);
        self.doses += other.doses;
        self.draws += other.draws;
        self.without_mark += other.without_mark;
        if self.why.is_none() {
            self.why.clone_from(&other.why);
        }
    }

    /// Marks and hubs together; none where there is no mark.
    pub fn in_all(&self) -> Option<Measure> {
        match self.total? {
            Measure::Volume(volume) => volume.plus(self.hub_loss).ok().map(Measure::Volume),
            other => Some(other),
        }
    }
}

/// What the slots of a course that wait still take, by today's marks; nothing where none waits or
/// the vet wrote the dose in words.
pub fn left(
    ledger: &Ledger,
    settings: &Settings,
    standing: &Standing,
    now: DateTime<Utc>,
    zone: Zone,
) -> Option<Need> {
    let (patient, script) = (standing.patient, standing.script);
    let mut need = Need::default();
    let mut worked_out = Vec::new();
    for slot in standing.course.slots.iter().filter(|s| s.waits()) {
        let dose = dose_now(patient, script, slot, now);
        if !dose.is_measured() {
            continue;
        }
        let strength = strength_now(patient, script, slot.slot.number, now);
        let known = worked_out
            .iter()
            .position(|(d, s, _)| *d == dose && *s == strength);
        let known = known.unwrap_or_else(|| {
            let day = local_date(now, zone);
            let pick = Pick::default();
            let result = day_dose(ledger, settings, standing, slot, pick, day, now, zone);
            let mark = result.worked.map(|worked| worked.mark);
            worked_out.push((dose, strength, mark));
            worked_out.len() - 1
        });
        match worked_out.get(known).and_then(|(_, _, mark)| mark.as_ref()) {
            Some(Ok(drawn)) => need.add(1, Ok(&drawn.chosen)),
            Some(Err(reasons)) => match reasons.first() {
                Some(why) => need.add(1, Err(why)),
                None => need.without_mark += 1,
            },
            None => {}
        }
    }
    (need.doses > 0).then_some(need)
}
