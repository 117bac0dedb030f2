//! The working: the arithmetic of one dose, line by line with units, for a second person with a
//! hand calculator.
//!
//! Promises: every figure comes from the formula's own results; nothing is computed here but the
//! printing.

use crate::dose::choose::Chosen;
use crate::dose::formula::{Calculated, Formula};
use crate::dose::weight::WeightUsed;
use crate::notation::print;
use crate::prescription::Dose;
use crate::quantity::{Amount, DoseRate, Exact};
use crate::rack::{Instrument, PrintedScale, Rounding};

/// From the dose as written to the exact measure.
pub(super) fn to_measure(
    formula: &Formula,
    weight: Option<&WeightUsed>,
    calculated: &Calculated,
) -> Vec<String> {
    let mut lines = Vec::new();
    match (&formula.dose, formula.dose.rate(), weight) {
        (Dose::PerDay(daily), Some(rate), _) => {
            lines.push(format!("{}: each dose {}", daily.text(), print::rate(rate)))
        }
        (Dose::Fixed(amount), ..) => lines.push(format!("Each dose {amount}, whatever the weight")),
        _ => {}
    }
    if let (Some(rate), Some(used)) = (formula.dose.rate(), weight) {
        let grams = used.weight.value().grams();
        let kilograms = grams.over(Exact::whole(1_000)).unwrap_or(grams);
        let in_kg = print::figure(kilograms);
        if !used.weight.text().ends_with(" kg") {
            lines.push(format!("{} = {in_kg} kg", used.weight));
        }
        let written = match &formula.dose {
            Dose::PerBodyWeight(written) if written.text().ends_with("/kg") => {
                written.text().to_owned()
            }
            _ => print::rate(rate).to_string(),
        };
        lines.push(format!(
            "{in_kg} kg × {written} = {}",
            print::amount(calculated.uncapped)
        ));
    }
    if let Some(cap) = formula.max_dose.as_ref().filter(|_| calculated.capped) {
        lines.push(format!("At most {cap} (your vet's limit): {cap}"));
    }
    if let Some(strength) = formula
        .strength
        .as_ref()
        .filter(|_| needs_strength(calculated.amount))
    {
        let plain = print::strength(strength.value());
        if plain.text != strength.text() {
            lines.push(format!("{strength} = {plain}"));
        }
        lines.push(format!(
            "{} ÷ {} = {}",
            print::amount(calculated.amount),
            plain,
            print::measure(calculated.measure)
        ));
    }
    lines
}

/// From the exact measure to the mark and back.
pub(super) fn to_mark(
    formula: &Formula,
    calculated: &Calculated,
    chosen: &Chosen,
    held: Amount,
    rate_at_mark: Option<DoseRate>,
    weight: Option<&WeightUsed>,
) -> Vec<String> {
    let mark = &chosen.mark;
    let mut lines = Vec::new();
    let step = chosen.instrument.step();
    let steps = calculated.measure.over(step).unwrap_or(Exact::ZERO);
    let many = Exact::whole(i64::from(mark.draws));
    let each = steps.over(many).unwrap_or(steps);
    if mark.draws > 1 {
        let share = calculated
            .measure
            .times(Exact::ONE.over(many).unwrap_or(Exact::ONE));
        let share = share.unwrap_or(calculated.measure);
        lines.push(format!(
            "{} in {} equal draws: {} each",
            print::measure(calculated.measure),
            mark.draws,
            print::measure(share)
        ));
    }
    let direction = match formula.rounding {
        Rounding::Nearest => "nearest, a tie to the lower",
        Rounding::Down => "down, as your vet wrote",
        Rounding::Up => "up, as your vet wrote",
    };
    let one = each == Exact::ONE;
    let what = match &chosen.instrument {
        Instrument::Syringe(_) if one => "line",
        Instrument::Syringe(_) => "lines",
        Instrument::Tablets(_) if one => "part",
        Instrument::Tablets(_) => "parts",
        Instrument::PasteScale(_) if one => "step of the scale",
        Instrument::PasteScale(_) => "steps of the scale",
    };
    lines.push(format!(
        "÷ {} = {} {what}; {direction}: {}",
        print::measure(step),
        print::figure(each),
        mark.lines
    ));
    let times = if mark.draws > 1 {
        format!("{} times ", mark.draws)
    } else {
        String::new()
    };
    let rate = rate_at_mark.map(|rate| format!(", {}", print::rate(rate)));
    let side = if mark.difference.is_zero() {
        "exactly as calculated".to_owned()
    } else {
        let percent = print::percent(mark.difference, Some(formula.limits.none_above));
        let more = if mark.difference.is_negative() {
            "less"
        } else {
            "more"
        };
        format!("{percent} {more} than calculated")
    };
    lines.push(format!(
        "{times}{} holds {}{}: {side}",
        print::measure(mark.each),
        print::amount(held),
        rate.unwrap_or_default()
    ));
    lines.extend(band(chosen, weight));
    lines
}

/// How far the dose may be out in all, as a share of the calculated dose: the rounding, half the
/// scale's readability over the weight, and the syringe's tolerance.
fn band(chosen: &Chosen, weight: Option<&WeightUsed>) -> Option<String> {
    let mark = &chosen.mark;
    let exact_total = mark
        .total
        .figure()
        .over(Exact::ONE.plus(mark.difference).ok()?)
        .ok()?;
    let measuring = chosen
        .instrument
        .spread(mark)
        .ok()?
        .over(exact_total)
        .ok()?;
    let scale = weight.and_then(|used| {
        let readability = used.readability.as_ref()?.value();
        readability
            .over(used.weight.value())
            .ok()?
            .over(Exact::whole(2))
            .ok()
    });
    let whole = measuring.plus(scale.unwrap_or(Exact::ZERO)).ok()?;
    let source = match chosen.instrument.syringe().map(|syringe| syringe.scale()) {
        Some(PrintedScale::InsulinU100) => {
            "; the syringe's share by the form of ISO 7886-1, from memory, which does not cover insulin syringes"
        }
        Some(PrintedScale::Millilitres) => "; the syringe's share by ISO 7886-1, from memory",
        None => "",
    };
    if whole.is_zero() {
        return None;
    }
    let percent = print::percent(whole, None);
    let with = if scale.is_some() {
        "scale and instrument"
    } else {
        "instrument"
    };
    Some(format!("Within {percent} in all, with {with}{source}"))
}

fn needs_strength(amount: Amount) -> bool {
    matches!(amount, Amount::Mass(_) | Amount::Activity(_))
}
