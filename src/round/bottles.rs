//! Which bottle a dose comes from, and what the day takes from each.

use crate::bottle::{Bottle, Usable};
use crate::dose::InHand;
use crate::ledger::{Container, Ledger};
use crate::notation::Written;
use crate::prescription::Prescription;
use crate::quantity::{Exact, Measure, Strength, Volume};
use crate::round::DayDose;
use chrono::{DateTime, NaiveDate, Utc};

/// What the day takes from one bottle.
#[derive(Debug)]
pub struct BottleUse<'l> {
    /// The bottle; none where none of this medicine is in the book.
    pub bottle: Option<&'l Bottle>,
    /// The medicine's name.
    pub medicine: &'l str,
    /// What its label must read.
    pub must_read: Option<Written<Strength>>,
    /// How it goes in, in words.
    pub route: String,
    /// How many draws have a mark.
    pub draws: u32,
    /// All marks together, without what stays in hubs; none where they are of different kinds.
    pub total: Option<Measure>,
    /// What stays in the hubs.
    pub hub_loss: Volume,
    /// Some dose from it has no mark.
    pub without_mark: u32,
    /// Some dose from it waits for a call.
    pub after_call: bool,
}

/// The bottle in hand for a prescription at a moment, for a dose on a day: of those that fit, the
/// one to be discarded first; else one that does not fit, so that the reason is seen; a picked one
/// whatever it is.
pub fn bottle_for<'l>(
    ledger: &'l Ledger,
    prescription: &Prescription,
    must_read: Option<&Written<Strength>>,
    picked: Option<u32>,
    day: NaiveDate,
    now: DateTime<Utc>,
) -> InHand<'l> {
    let over = |open: &Container| open.ended.is_some_and(|ended| ended <= now);
    if let Some(number) = picked
        && let Some(open) = ledger
            .bottles
            .iter()
            .find(|open| open.bottle.number == number)
    {
        return in_hand(open, over(open));
    }
    let of_medicine: Vec<&Container> = ledger.bottles_of(prescription).collect();
    let of_medicine = || of_medicine.iter().copied();
    let usable = |open: &&Container| {
        !over(open)
            && matches!(
                open.bottle.usable_on(day),
                Usable::Through(_) | Usable::NotYetOpen(_)
            )
    };
    // A bottle opened after the day is the last choice: a dose typed in afterwards came from the
    // one before it.
    let soonest = |open: &&Container| {
        let later = matches!(open.bottle.usable_on(day), Usable::NotYetOpen(_));
        (later, open.bottle.last_day(), open.bottle.number)
    };
    let latest = |open: &&Container| (open.bottle.last_day(), open.bottle.number);
    let fitting = of_medicine()
        .filter(usable)
        .filter(|open| open.bottle.reads(must_read));
    let chosen = fitting
        .min_by_key(soonest)
        .or_else(|| of_medicine().filter(usable).min_by_key(soonest))
        .or_else(|| of_medicine().filter(|open| !over(open)).max_by_key(latest))
        .or_else(|| of_medicine().max_by_key(latest));
    chosen.map_or(InHand::Unopened, |open| in_hand(open, over(open)))
}

fn in_hand(open: &Container, over: bool) -> InHand<'_> {
    if over {
        InHand::Gone(&open.bottle)
    } else {
        InHand::Bottle(&open.bottle)
    }
}

/// The bottles of the day, in the order in which they are first needed.
pub(super) fn of_day<'l>(doses: &[DayDose<'l>]) -> Vec<BottleUse<'l>> {
    let mut uses: Vec<BottleUse<'l>> = Vec::new();
    for dose in doses {
        let bottle = match dose.in_hand {
            InHand::Bottle(bottle) | InHand::Gone(bottle) => Some(bottle),
            InHand::Unopened | InHand::Reads(_) | InHand::OnPaper => None,
        };
        let prescription = &dose.script.prescription;
        let same = |used: &BottleUse| match (used.bottle, bottle) {
            (Some(a), Some(b)) => a.number == b.number && used.must_read == dose.must_read,
            (None, None) => used.medicine == prescription.medicine.name,
            _ => false,
        };
        let at = match uses.iter().position(same) {
            Some(at) => at,
            None => {
                uses.push(BottleUse {
                    bottle,
                    medicine: &prescription.medicine.name,
                    must_read: dose.must_read.clone(),
                    route: prescription.route.words(),
                    draws: 0,
                    total: None,
                    hub_loss: Volume::from_millilitres(Exact::ZERO),
                    without_mark: 0,
                    after_call: false,
                });
                uses.len() - 1
            }
        };
        if let Some(used) = uses.get_mut(at) {
            add(used, dose);
        }
    }
    uses
}

fn add(used: &mut BottleUse, dose: &DayDose) {
    let Some(drawn) = dose.drawn() else {
        // An application in words has no mark to miss.
        used.without_mark += u32::from(dose.worked.is_some());
        return;
    };
    let mark = drawn.chosen.mark;
    used.after_call |= dose.call_first();
    used.total = match used.total {
        None if used.draws == 0 => Some(mark.total),
        total => total.and_then(|total| total.plus(mark.total).ok()),
    };
    if let Some(syringe) = drawn.chosen.instrument.syringe() {
        let lost = syringe
            .hub_loss()
            .times(Exact::whole(i64::from(mark.draws)));
        used.hub_loss = lost
            .and_then(|lost| used.hub_loss.plus(lost))
            .unwrap_or(used.hub_loss);
    }
    used.draws += mark.draws;
}
