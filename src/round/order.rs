//! The order of work: the keeper's own, else as the animals came in; quarantine last; within an
//! animal by when each dose is due.

use crate::ledger::Ledger;
use crate::notation::fold::same;
use crate::round::DayDose;
use crate::settings::Settings;

/// Sorts the day's doses.
pub(super) fn in_order_of_work(doses: &mut [DayDose], settings: &Settings, ledger: &Ledger) {
    let kept = |name: &str| {
        let at = settings
            .order
            .iter()
            .position(|ordered| same(ordered, name));
        at.unwrap_or(usize::MAX)
    };
    let came_in = |name: &str| {
        ledger
            .animals
            .iter()
            .position(|patient| patient.animal.name == name)
    };
    doses.sort_by_key(|dose| {
        let animal = &dose.patient.animal;
        let (kept, apart) = (kept(&animal.name), animal.quarantine);
        // An animal the keeper placed stands where it was placed, quarantine or not.
        let apart = apart && kept == usize::MAX;
        (
            apart,
            kept,
            came_in(&animal.name),
            dose.slot.closes,
            dose.slot.slot.number,
        )
    });
}
