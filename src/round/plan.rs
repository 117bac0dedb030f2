//! What a prescription means before anything is kept: its dates, the changes of the clocks in
//! between, what it takes from the bottle, what comes beside the doses.
//!
//! Promises: every date is that of the schedule, in one named zone; amounts are sums of marks from
//! the one formula, with what stays in the hub at each draw. It reads no book and keeps nothing.

use crate::notation::Written;
use crate::prescription::Prescription;
use crate::quantity::BodyWeight;
use crate::round::paper::{Paper, on_paper};
use crate::round::{FollowUp, Need, as_planned};
use crate::schedule::{ClockChange, Due, Reckoning, ScheduleError, Slot, Start, Zone};
use crate::schedule::{after_date, clock_changes};

/// A prescription laid out from a start.
#[derive(Debug)]
pub struct Plan<'p> {
    /// What the vet wrote.
    pub prescription: &'p Prescription,
    /// The zone its dates and hours are in.
    pub zone: Zone,
    /// Every slot.
    pub slots: Vec<Slot>,
    /// How many slots fall after the last day on which the prescription is valid.
    pub after_validity: usize,
    /// The changes of the clocks from the first slot to the last.
    pub clock: Vec<ClockShift>,
    /// What comes beside the doses.
    pub follow_ups: Vec<FollowUp<'p>>,
}

/// A change of the clocks, and what it does to the doses after it.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct ClockShift {
    /// The change.
    pub change: ClockChange,
    /// The first slot after it, where it has an hour, and by what it is counted.
    pub first_after: Option<(u32, Reckoning)>,
}

/// What a prescription takes for one body weight.
#[derive(Clone, Debug)]
pub struct Amount {
    /// Whose weight it is, in words.
    pub whose: String,
    /// What all the doses take; nothing where none is measured out.
    pub need: Need,
}

impl<'p> Plan<'p> {
    /// Lays a prescription out.
    ///
    /// # Errors
    /// [`ScheduleError`] where it cannot be laid out from this start.
    pub fn new(
        prescription: &'p Prescription,
        start: Start,
        zone: Zone,
    ) -> Result<Plan<'p>, ScheduleError> {
        let schedule = &prescription.schedule;
        let slots = schedule.expand(start, zone)?;
        let until = prescription.valid_until;
        let after_validity = until.map_or(0, |until| after_date(&slots, until, zone).count());
        let ends = schedule.review().is_none();
        Ok(Plan {
            clock: clock(prescription, &slots, zone),
            follow_ups: as_planned(&prescription.follow_ups, &slots, ends, zone),
            prescription,
            zone,
            after_validity,
            slots,
        })
    }

    /// What all its doses take for one weight.
    pub fn amount(&self, weight: Option<&Written<BodyWeight>>, paper: &Paper) -> Need {
        let mut need = Need::default();
        for (place, dose) in self.prescription.doses.iter().enumerate() {
            let slots = self.slots.iter().filter(|slot| slot.dose == place);
            let doses = u32::try_from(slots.count()).unwrap_or(u32::MAX);
            if doses == 0 || !dose.is_measured() {
                continue;
            }
            match on_paper(self.prescription, dose, weight, paper).mark {
                Ok(drawn) => need.add(doses, Ok(&drawn.chosen)),
                Err(reasons) => {
                    if let Some(why) = reasons.first() {
                        need.add(doses, Err(why));
                    }
                }
            }
        }
        need
    }
}

fn clock(prescription: &Prescription, slots: &[Slot], zone: Zone) -> Vec<ClockShift> {
    let moment = |slot: &Slot| slot.due.opens(chrono::TimeDelta::zero(), zone);
    let (Some(first), Some(last)) = (slots.first(), slots.last()) else {
        return Vec::new();
    };
    let by_hours = matches!(first.due, Due::At(_));
    let changes = clock_changes(zone, moment(first), moment(last));
    let shifted = changes.into_iter().map(|change| {
        let after = slots.iter().find(|slot| moment(slot) >= change.at);
        let after = after.filter(|slot| matches!(slot.due, Due::At(_)));
        let first_after = after.and_then(|slot| {
            let phase = prescription.schedule.phases().get(slot.phase)?;
            Some((slot.number, phase.form.reckoning(by_hours)))
        });
        ClockShift {
            change,
            first_after,
        }
    });
    shifted.collect()
}
