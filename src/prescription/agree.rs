//! What the fields of a prescription say to each other.
//!
//! Promises: two fields that contradict each other are not accepted, at the place of the one that
//! is most likely wrong, and the message names the other. Each check is one small function.

use crate::notation::fold;
use crate::notation::{Written, print};
use crate::prescription::dose::{Dose, Route};
use crate::prescription::fault::{At, Found};
use crate::prescription::fields::Fields;
use crate::prescription::label::Agreement;
use crate::prescription::made_up::MadeUp;
use crate::prescription::recipe::Vial;
use crate::prescription::timing::Timing;
use crate::prescription::{FollowUpDate, Prescription, WeightBasis};
use crate::quantity::{Amount, Exact, Measure, QuantityError, Span, Strength};
use crate::rack::Cut;
use crate::schedule::{AfterLate, Count, Schedule, ScheduleError, Start, Zone};
use chrono::NaiveTime;

/// The schedule from its phases; each of the vet's wishes about it is tried by itself, so that
/// each gets its own place and none hides another.
pub(super) fn schedule(
    fields: &Fields,
    timing: &Timing,
    after_late: AfterLate,
    count: Count,
    window: Option<Span>,
    found: &mut Found,
) -> Option<Schedule> {
    let phases = |upto: usize| {
        let phases = timing.phases.iter().take(upto);
        phases.map(|(phase, _)| phase.clone()).collect::<Vec<_>>()
    };
    let all = timing.phases.len();
    let tried =
        |upto, count, after_late, window| Schedule::new(phases(upto), count, after_late, window);
    if let Err(error) = tried(all, Count::Slots, AfterLate::Call, None) {
        // The first phase with which it fails is the one at fault.
        let first = (1..=all).find(|upto| {
            let error = tried(*upto, Count::Slots, AfterLate::Call, None).err();
            error.is_some_and(|error| error != ScheduleError::OpenMiddle)
        });
        let phase = first.and_then(|upto| timing.phases.get(upto - 1));
        let at = match (phase, &timing.review) {
            (Some((_, at)), _) => at,
            (None, Some(review)) => review,
            (None, None) => &timing.at,
        };
        found.add(
            at,
            error.to_string(),
            "a schedule that can be laid out as dates",
        );
        return None;
    }
    let mut add = |field: &str, error: &ScheduleError, expected: &str| {
        found.add(&fields.place(field), error.to_string(), expected);
    };
    if let Err(error) = tried(all, Count::Slots, after_late, None) {
        add("after_late", &error, "KeepCalendar or Call");
    }
    if let Err(error) = tried(all, count, AfterLate::Call, None) {
        add("count", &error, "Slots, or no count at all");
    }
    if let Err(error) = tried(all, Count::Slots, AfterLate::Call, window) {
        add(
            "window",
            &error,
            "less than half of the shortest gap between two doses",
        );
    }
    // Where only one of the wishes fails, the rest can still be checked without it.
    tried(all, count, after_late, window)
        .or_else(|_| tried(all, Count::Slots, AfterLate::Call, None))
        .ok()
}

/// A dilution against the strength of the mixture.
pub(super) fn dilution(
    made_up: &MadeUp,
    strength: Option<&Written<Strength>>,
    medicine: &Fields,
    found: &mut Found,
) {
    let wrong = match strength.map(|strength| made_up.comes_to(strength)) {
        Some(Ok(true)) => return,
        Some(Ok(false)) => {
            "what is taken and what is added do not come to the strength that is written".to_owned()
        }
        Some(Err(error)) => error.to_string(),
        None => "the strength of the mixture is not written".to_owned(),
    };
    let expected = "a strength that the dilution comes to; ask your vet which is meant";
    found.add(&medicine.place("made_up"), wrong, expected);
}

/// A powder made up in its vial against the strength of the vial made up.
pub(super) fn vial(
    vial: &Vial,
    strength: Option<&Written<Strength>>,
    medicine: &Fields,
    found: &mut Found,
) {
    let wrong = match strength.map(|strength| vial.can_be(strength)) {
        Some(Ok(true)) => return,
        Some(Ok(false)) => {
            "what the vial holds and what is added cannot come to the strength that is written"
                .to_owned()
        }
        Some(Err(error)) => error.to_string(),
        None => "the strength of the vial made up is not written".to_owned(),
    };
    let expected = "a strength that the vial comes to; ask your vet which is meant";
    found.add(&medicine.place("vial"), wrong, expected);
}

/// A prescription with the places of its fields, while it is checked.
struct Check<'a> {
    whole: &'a Prescription,
    fields: &'a Fields<'a>,
    /// Where each dose stands.
    places: &'a [At],
    timing: &'a Timing,
    strength: Option<Strength>,
}

/// Every check of two fields against each other.
pub(super) fn fields(
    whole: &Prescription,
    fields: &Fields,
    places: &[At],
    timing: &Timing,
    found: &mut Found,
) {
    let check = Check {
        whole,
        fields,
        places,
        timing,
        strength: whole.strength().map(Written::value),
    };
    check.strength_carries_dose(found);
    check.route_takes_dose(found);
    check.day_is_divided(found);
    check.max_dose_is_of_its_kind(found);
    check.day_has_a_greatest(found);
    check.words_have_their_recipe(found);
    check.sites_are_for_injection(found);
    check.rounding_has_a_mark(found);
    check.tablets_can_be_cut(found);
    check.weight_matters(found);
    check.weighed_animals_are_named(found);
    check.dates_follow_each_other(found);
    check.label_agrees(found);
}

impl Check<'_> {
    fn doses(&self) -> impl Iterator<Item = (usize, &Dose, &At)> {
        let doses = self.whole.doses.iter().zip(self.places);
        doses
            .enumerate()
            .map(|(place, (dose, at))| (place, dose, at))
    }

    fn any_dose(&self, is: impl Fn(&Dose) -> bool) -> bool {
        self.whole.doses.iter().any(is)
    }

    /// Milligrams with a strength in units, mL/kg of a paste, medicine without a strength.
    fn strength_carries_dose(&self, found: &mut Found) {
        for (_, dose, at) in self.doses() {
            match self.strength {
                None if dose.needs_strength() => found.add(
                    &self.fields.place("medicine"),
                    "the dose counts medicine, so the strength of the product is needed",
                    "Medicine( name: ..., strength: the strength as the label has it )",
                ),
                Some(strength) if !dose.goes_with(strength) => {
                    let kind = dose.sample().map_or("this dose", Amount::kind);
                    found.add(
                        at,
                        format!("the dose is {kind} and the medicine has {}: they do not go together, ask your vet which is meant", strength.kind()),
                        "a dose that is counted as the strength is",
                    );
                }
                _ => {}
            }
        }
    }

    fn route_takes_dose(&self, found: &mut Found) {
        let injected = matches!(self.whole.route, Route::Injection(_));
        let never_measured = matches!(self.whole.route, Route::Bath(_) | Route::Inhaled(_));
        let by_mouth = matches!(self.whole.route, Route::ByMouth | Route::Other(_));
        for (_, dose, at) in self.doses() {
            match dose.sample_measure(self.strength) {
                None if injected && !dose.is_measured() => found.add(
                    at,
                    "an injection is measured out, and this dose is in words only",
                    "PerBodyWeight, PerDay or Fixed",
                ),
                Some(Measure::Product(_) | Measure::Tablets(_)) if injected => found.add(
                    &self.fields.place("route"),
                    "the dose comes in grams of product or in tablets, which are not injected",
                    "another route, or a dose that is drawn up in mL",
                ),
                Some(_) if never_measured => found.add(
                    at,
                    "a bath and what is breathed in are never worked out from a weight",
                    "Application( \"your vet's words\" )",
                ),
                Some(Measure::Tablets(_)) if !by_mouth => found.add(
                    &self.fields.place("route"),
                    "the dose comes in tablets, which are given by mouth",
                    "ByMouth, or Other in your vet's words",
                ),
                _ => {}
            }
        }
    }

    fn day_is_divided(&self, found: &mut Found) {
        for (place, dose, at) in self.doses() {
            let Dose::PerDay(daily) = dose else { continue };
            let written = daily.value().doses;
            let wrong = match self.whole.schedule.doses_per_day(place) {
                Some(scheduled) if scheduled == written => continue,
                Some(scheduled) => format!(
                    "the day's total is divided into {written}, and the schedule has {scheduled} a day"
                ),
                None => "the schedule does not have the same number of doses on every day, so a day's total cannot be divided".to_owned(),
            };
            found.add(
                at,
                wrong,
                "a day divided into as many doses as the schedule has; ask your vet which is meant",
            );
        }
    }

    fn max_dose_is_of_its_kind(&self, found: &mut Found) {
        let Some(limit) = &self.whole.max_dose else {
            return;
        };
        let at = self.fields.place("max_dose");
        for (_, dose, dose_at) in self.doses() {
            match dose.sample() {
                None => found.add(
                    &at,
                    "the dose is in words only, so it has no greatest amount",
                    "no max_dose beside an Application",
                ),
                Some(amount) => match amount.held_to(Some(limit.value())) {
                    Err(QuantityError::Mixed(..)) => found.add(
                        &at,
                        format!(
                            "the greatest dose is {} and the dose is {}",
                            limit.value().kind(),
                            amount.kind()
                        ),
                        "the greatest dose counted as the dose is",
                    ),
                    Err(QuantityError::OutOfRange(error)) => {
                        found.add(&at, error.to_string(), "an amount that can be worked with");
                    }
                    Ok(held) => {
                        if matches!(dose, Dose::Fixed(_)) && held != amount {
                            found.add(
                                dose_at,
                                "this is more than max_dose",
                                "a dose within max_dose; ask your vet which is meant",
                            );
                        }
                    }
                },
            }
        }
    }

    fn day_has_a_greatest(&self, found: &mut Found) {
        let Some(day) = &self.whole.max_per_day else {
            return;
        };
        let at = self.fields.place("max_per_day");
        if self.whole.doses_of_a_day().is_none() {
            found.add(
                &at,
                "the schedule does not have the same number of doses on every day, so a day's limit cannot be shared out",
                "max_dose for one dose; ask your vet",
            );
        }
        for (_, dose, _) in self.doses() {
            let wrong = match dose.sample() {
                None => "the dose is in words only, so it has no greatest amount".to_owned(),
                Some(amount) => match amount.held_to(Some(day.value())) {
                    Err(error) => error.to_string(),
                    Ok(_) => continue,
                },
            };
            found.add(&at, wrong, "the most of a day, counted as the dose is");
        }
    }

    /// A recipe and its time belong to what is in the vet's words; time apart to eye, ear and nose.
    fn words_have_their_recipe(&self, found: &mut Found) {
        if self.whole.doses.iter().any(Dose::is_measured) {
            for field in ["recipe", "lasts"] {
                self.fields.refuse(
                    field,
                    &format!(
                        "{field} is for a dose in your vet's words, and this one is measured out"
                    ),
                    "an Application, or your vet's words in vet_notes",
                    found,
                );
            }
        }
        let paired = matches!(
            self.whole.route,
            Route::InEye(_) | Route::InEar(_) | Route::InNose(_)
        );
        if !paired {
            self.fields.refuse(
                "apart",
                "apart is for an eye, an ear or a nostril, and the route is another",
                "no apart, or one of these routes",
                found,
            );
        }
    }

    fn sites_are_for_injection(&self, found: &mut Found) {
        if !matches!(self.whole.route, Route::Injection(_)) {
            let wrong = "sites are for injections, and the route is another";
            self.fields
                .refuse("sites", wrong, "no sites, or the route Injection", found);
            let wrong = "a limit for each site is for injections, and the route is another";
            self.fields.refuse(
                "max_per_site",
                wrong,
                "no max_per_site, or the route Injection",
                found,
            );
        }
    }

    fn rounding_has_a_mark(&self, found: &mut Found) {
        if self.any_dose(Dose::is_measured) {
            return;
        }
        for field in ["round", "tolerance"] {
            let wrong = format!("the dose is in words only, so {field} has nothing to act on");
            self.fields
                .refuse(field, &wrong, "none beside an Application", found);
        }
    }

    fn tablets_can_be_cut(&self, found: &mut Found) {
        if !self.whole.comes_in_tablets() {
            let wrong = "the dose does not come in tablets";
            self.fields.refuse(
                "tablets",
                wrong,
                "no tablets, or a strength in mg per tablet",
                found,
            );
        }
        let parts = match self.whole.tablets {
            Cut::Whole => 1,
            Cut::Halves => 2,
            Cut::Quarters => 4,
        };
        for (_, dose, at) in self.doses() {
            let Some(Amount::Tablets(tablets)) = fixed(dose) else {
                continue;
            };
            let steps = tablets.count().times(Exact::whole(parts));
            if steps.is_ok_and(|steps| steps.denominator() != 1) {
                found.add(
                    at,
                    "the tablets cannot be cut into that part: tablets says how far they may be cut",
                    "whole tablets, or tablets: Halves or Quarters as your vet allows",
                );
            }
        }
    }

    fn weight_matters(&self, found: &mut Found) {
        let by_weight = self.any_dose(|dose| dose.rate().is_some());
        if !by_weight && self.whole.weight_basis != WeightBasis::Latest {
            let wrong = "the dose does not go by body weight";
            self.fields
                .refuse("weight_basis", wrong, "no weight_basis", found);
        }
    }

    fn weighed_animals_are_named(&self, found: &mut Found) {
        let at = self.fields.place("weighed");
        for (index, weighed) in self.whole.weighed.iter().enumerate() {
            let name = &weighed.animal;
            if !self.whole.animals.is_empty() && !self.whole.is_for(name) {
                let near = fold::nearest(name, self.whole.animals.iter().map(String::as_str));
                let near = near.map_or(String::new(), |near| format!("; did you mean '{near}'?"));
                found.add(
                    &at,
                    format!("'{name}' is not among the animals of this prescription{near}"),
                    "one of the animals named above",
                );
            }
            let mut earlier = self.whole.weighed.iter().take(index);
            if earlier.any(|earlier| fold::same(&earlier.animal, name)) {
                found.add(
                    &at,
                    format!("'{name}' has two weights"),
                    "one weight for each animal",
                );
            }
        }
    }

    fn dates_follow_each_other(&self, found: &mut Found) {
        let whole = self.whole;
        if whole.valid_until.is_some_and(|until| until < whole.written) {
            found.add(
                &self.fields.place("valid_until"),
                "this is before the day it was written",
                "the day it was written or a later one",
            );
        }
        if let (Some(start), Some(until)) = (whole.start, whole.valid_until)
            && start.date > until
        {
            found.add(
                &self.fields.place("start"),
                "this is after the last day on which the prescription is valid",
                "a start while it is valid",
            );
        }
        for follow_up in &whole.follow_ups {
            if let FollowUpDate::On(date) = follow_up.when
                && date < whole.written
            {
                let at = self.fields.place("follow_ups");
                found.add(
                    &at,
                    format!(
                        "'{}' is dated before the day this was written",
                        follow_up.what
                    ),
                    "the day it was written or a later one",
                );
            }
        }
        self.schedule_can_be_laid_out(found);
    }

    /// Laid out once from the day it was written, for what only dates show: a review before the
    /// first dose, more doses or more years than any course has.
    fn schedule_can_be_laid_out(&self, found: &mut Found) {
        let some_hour = NaiveTime::from_hms_opt(8, 0, 0);
        let start = self.whole.start.unwrap_or(Start {
            date: self.whole.written,
            time: None,
        });
        let start = Start {
            time: start.time.or(some_hour),
            ..start
        };
        let Err(error) = self.whole.schedule.expand(start, Zone::UTC) else {
            return;
        };
        let (at, expected) = match (&error, &self.timing.review) {
            (ScheduleError::ReviewFirst, Some(review)) => (review, "a day after the first dose"),
            _ => (&self.timing.at, "a schedule that can be laid out as dates"),
        };
        found.add(at, error.to_string(), expected);
    }

    /// The label's own volume, more than 10 percent from what is worked out.
    fn label_agrees(&self, found: &mut Found) {
        let (Some(label), Some(dose)) = (&self.whole.label_check, self.whole.doses.first()) else {
            return;
        };
        let at = self.fields.place("label_check");
        match label.against(self.whole, dose) {
            Ok(Some(Agreement::FarApart(apart))) => {
                let side = if apart.is_negative() {
                    "below"
                } else {
                    "above"
                };
                let limit = Exact::ratio(10, 100);
                found.add(
                    &at,
                    format!(
                        "the label's volume is {} {side} what dose, weight and strength come to: more than 10 percent, so one of the four is wrong",
                        print::percent(apart, limit)
                    ),
                    "figures that agree; ask your vet which is meant",
                );
            }
            Ok(None) => found.add(
                &at,
                "the dose is not drawn up in mL, so it has no volume to check",
                "no label_check",
            ),
            // A strength of another kind has been named already.
            Ok(Some(_)) | Err(QuantityError::Mixed(..)) => {}
            Err(QuantityError::OutOfRange(error)) => {
                found.add(&at, error.to_string(), "figures that can be worked with");
            }
        }
    }
}

fn fixed(dose: &Dose) -> Option<Amount> {
    match dose {
        Dose::Fixed(amount) => Some(amount.value()),
        _ => None,
    }
}
