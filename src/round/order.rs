//! The order of work: the keeper's own, else as the animals came in; quarantine last; within an
//! animal by when each dose is due.

use crate::animal::Animal;
use crate::ledger::Ledger;
use crate::notation::fold::same;
use crate::round::DayDose;
use crate::settings::Settings;

/// Sorts the day's doses.
pub(super) fn in_order_of_work(doses: &mut [DayDose], settings: &Settings, ledger: &Ledger) {
    doses.sort_by_cached_key(|dose| {
        let animal = &dose.patient.animal;
        (
            place(animal, settings),
            ledger.place_of(&animal.name),
            dose.slot.closes,
            dose.slot.slot.number,
        )
    });
}

/// The place of an animal in the order of work; of equals the one that came in first.
pub(super) fn place(animal: &Animal, settings: &Settings) -> (bool, usize) {
    let mut order = settings.order.iter();
    let kept = order.position(|ordered| same(ordered, &animal.name));
    let kept = kept.unwrap_or(usize::MAX);
    // An animal the keeper placed stands where it was placed, quarantine or not.
    (animal.quarantine && kept == usize::MAX, kept)
}
