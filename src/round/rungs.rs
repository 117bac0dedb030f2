//! The words of the ladder: its rows, from where to where it runs, and when to weigh before it is
//! read.
//!
//! Promises: a row says the first and the last weight of its mark; what is not shown is said.

use crate::caution::{Caution, NoMark};
use crate::dose::Row;
use crate::notation::print;
use crate::quantity::BodyWeight;
use crate::round::DayDose;

/// What comes before anything is drawn, where the animal is to be weighed first.
pub fn weigh_first(dose: &DayDose) -> Option<&'static str> {
    let mut cautions = dose.worked.iter().flat_map(|worked| &worked.cautions);
    let asked = cautions.any(is_asked);
    let mut reasons = dose.no_mark.iter();
    let wanting =
        reasons.any(|reason| matches!(reason, NoMark::NoWeight | NoMark::WeightTooOld { .. }));
    match (asked, dose.drawn()) {
        (true, Some(_)) if dose.ladder().is_empty() => Some("Weigh now; the mark stays as it is"),
        (true, Some(_)) => Some("Weigh now; then read the ladder"),
        (asked, None) if asked || wanting => Some("Weigh now; then print a new card"),
        _ => None,
    }
}

/// Whether a caution says to weigh before anything is drawn.
pub const fn is_asked(caution: &Caution) -> bool {
    matches!(
        caution,
        Caution::WeighNow { .. } | Caution::OldWeight { .. }
    )
}

/// From where to where a ladder runs, and how many of its rows are not shown below and above.
pub fn ladder_span(ladder: &[Row], below: usize, above: usize) -> Option<String> {
    let (first, last) = (ladder.first()?, ladder.last()?);
    let whole = Row {
        last: last.last,
        ..first.clone()
    };
    let span = format!("The ladder runs from {}", rung(&whole));
    Some(match (below, above) {
        (0, 0) => format!("{span}."),
        (below, 0) => format!("{span}; {below} lower not shown."),
        (0, above) => format!("{span}; {above} higher not shown."),
        (below, above) => format!("{span}; {below} lower and {above} higher not shown."),
    })
}

/// A row of the ladder's weights: "43 to 44 g", "42 g".
pub fn rung(row: &Row) -> String {
    let bare = |weight: BodyWeight| print::figure(weight.grams()).text;
    if row.first == row.last {
        format!("{} g", bare(row.first))
    } else {
        format!("{} to {} g", bare(row.first), bare(row.last))
    }
}

/// The mark of a row as it is drawn to: "0.07 mL", "line 7", "1.8 mL, 4 times"; none where there
/// would be none.
pub fn rung_mark(dose: &DayDose, row: &Row) -> Option<String> {
    let mark = row.mark.as_ref()?;
    let Some(drawn) = dose.drawn() else {
        return Some(print::measure(mark.each).to_string());
    };
    let mut spoken = drawn.chosen.instrument.spoken(mark.lines);
    spoken.after = None;
    Some(match mark.draws {
        1 => spoken.to_string(),
        draws => format!("{spoken}, {draws} times"),
    })
}
