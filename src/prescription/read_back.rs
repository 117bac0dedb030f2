//! A prescription read back in plain words, line by line, to the person who typed it.
//!
//! Promises: every field that was read is said, and what the vet left open is said to be open;
//! the vet's own words stand in quotation marks as written, everything else in safe notation. No
//! line ends in a full stop, because one after a unit can be misread.

use crate::notation::print;
use crate::prescription::dose::{Dose, Route, Site};
use crate::prescription::label::Agreement;
use crate::prescription::{FollowUp, FollowUpDate, Prescription, WeightBasis};
use crate::quantity::Exact;
use crate::rack::{Cut, Rounding};
use crate::schedule::{Form, Reckoning, Rhythm, Start};
use chrono::NaiveDate;
use std::fmt::Display;

impl Prescription {
    /// The whole prescription in words, one line for each thing said.
    #[must_use]
    pub fn read_back(&self) -> Vec<String> {
        let mut lines = Vec::new();
        self.say_who(&mut lines);
        self.say_what(&mut lines);
        self.say_how(&mut lines);
        self.say_when(&mut lines);
        self.say_weighing(&mut lines);
        self.say_what_if(&mut lines);
        lines
    }

    fn say_who(&self, lines: &mut Vec<String>) {
        if self.demonstration {
            lines.push(
                "DEMONSTRATION: this medicine, this vet and these animals are invented".to_owned(),
            );
        }
        lines.push(format!(
            "Prescription {}, written on {}",
            self.reference,
            day(self.written)
        ));
        lines.push(match self.valid_until {
            Some(until) => format!("Valid until {}", day(until)),
            None => "No last day is written on which it is valid".to_owned(),
        });
        lines.push(match &self.vet.practice {
            Some(practice) => format!("Vet: {}, {practice}", self.vet.name),
            None => format!("Vet: {}", self.vet.name),
        });
        lines.push(format!("To call: {}", self.vet.phone));
        if let Some(number) = &self.vet.out_of_hours {
            lines.push(format!("To call out of hours: {number}"));
        }
        lines.push(format!("For {}", listed(&self.animals)));
        for weighed in &self.weighed {
            lines.push(format!(
                "Your vet's weight for {}: {}",
                weighed.animal, weighed.weight
            ));
        }
    }

    fn say_what(&self, lines: &mut Vec<String>) {
        let medicine = &self.medicine;
        lines.push(match &medicine.form {
            Some(form) => format!("Medicine: {}, \"{form}\"", medicine.name),
            None => format!("Medicine: {}", medicine.name),
        });
        lines.push(match &medicine.strength {
            Some(strength) => format!("Strength: {strength}"),
            None => "Strength: none is written, and the dose needs none".to_owned(),
        });
        if let Some(made) = &medicine.made_up {
            lines.push(format!(
                "Made up as your vet wrote: {} of {}, and {} of \"{}\" added",
                made.take, made.from, made.add, made.with
            ));
        }
        if let Some(vial) = &medicine.vial {
            lines.push(format!(
                "Made up in its vial as your vet wrote: {} in the vial, and {} of \"{}\" added",
                vial.holds, vial.add, vial.with
            ));
        }
        if let Some(ingredient) = &medicine.ingredient {
            lines.push(format!("Strength and dose count {ingredient} alone"));
        }
        if !medicine.same_as.is_empty() {
            lines.push(format!(
                "The same medicine as {}",
                listed(&medicine.same_as)
            ));
        }
        for (place, dose) in self.doses.iter().enumerate() {
            let said = say_dose(dose);
            lines.push(if self.doses.len() == 1 {
                format!("Dose: {said}")
            } else {
                format!("Dose in part {}: {said}", place + 1)
            });
        }
        if let Some(limit) = &self.max_dose {
            lines.push(format!("Never more than {limit} in one dose"));
        }
        if let (Some(day), Some(doses)) = (&self.max_per_day, self.doses_of_a_day()) {
            lines.push(match self.greatest_dose().filter(|_| doses > 1) {
                Some(each) => format!(
                    "Never more than {day} in one day, shared by its {doses} doses: at most {each} each"
                ),
                None => format!("Never more than {day} in one day"),
            });
        }
        match (&self.label_check, self.label_agreement()) {
            (Some(label), Some(Agreement::Apart(apart))) => lines.push(format!(
                "The label says {} at {}: {} {} than dose, weight and strength come to; pointed out above 5 percent (the program's setting, not your vet's): ask your vet",
                label.volume,
                label.weight,
                print::percent(apart, Exact::ratio(5, 100)),
                if apart.is_negative() { "less" } else { "more" },
            )),
            (Some(label), _) => lines.push(format!(
                "The label says {} at {}: that agrees",
                label.volume, label.weight
            )),
            (None, _) => {}
        }
    }

    fn say_how(&self, lines: &mut Vec<String>) {
        lines.push(format!("How: {}", self.route.words()));
        if !self.sites.is_empty() {
            let sites: Vec<String> = self.sites.iter().map(Site::words).collect();
            lines.push(format!("Sites, in turn: {}", sites.join("; ")));
        }
        if let Some(limit) = &self.max_per_site {
            lines.push(format!("At most {limit} in one site"));
        }
        if let Some(apart) = self.apart {
            lines.push(format!("{apart} between this and anything else there"));
        }
        for (place, step) in self.recipe.iter().enumerate() {
            lines.push(format!("Step {}: \"{step}\"", place + 1));
        }
        if let Some(lasts) = self.lasts {
            lines.push(format!("From start to stop: {lasts}"));
        }
        match self.rounding {
            Rounding::Nearest => {}
            Rounding::Down => lines.push("The mark is rounded down, as your vet wrote".to_owned()),
            Rounding::Up => lines.push("The mark is rounded up, as your vet wrote".to_owned()),
        }
        if let Some(tolerance) = &self.tolerance {
            lines.push(format!(
                "The mark may be up to {tolerance} from the calculated dose, as your vet wrote"
            ));
        }
        if self.comes_in_tablets() {
            lines.push(match self.tablets {
                Cut::Whole => "Tablets are given whole".to_owned(),
                Cut::Halves => "Tablets may be cut into halves".to_owned(),
                Cut::Quarters => "Tablets may be cut into quarters".to_owned(),
            });
        }
    }

    fn say_when(&self, lines: &mut Vec<String>) {
        let schedule = &self.schedule;
        lines.push(format!("When: {schedule}"));
        self.say_reckoning(lines);
        lines.push(match self.start {
            None => "First dose: no day is written".to_owned(),
            Some(Start { date, time: None }) => format!("First dose: {}", day(date)),
            Some(Start {
                date,
                time: Some(time),
            }) => format!("First dose: {} at {}", day(date), time.format("%H:%M")),
        });
        lines.push(match schedule.window() {
            Some(window) => {
                format!("A dose may be given up to {window} before or after its time")
            }
            None => "No window is written: how early and how late a dose may be is the program's rule, not your vet's".to_owned(),
        });
        lines.push(capital(&schedule.after_late().to_string()));
    }

    /// Whether its parts go by the hour or by the day. A part with one dose goes by neither.
    fn say_reckoning(&self, lines: &mut Vec<String>) {
        let phases = self.schedule.phases();
        let starts_by_hour = self.start.is_some_and(|start| start.time.is_some());
        for (place, phase) in phases.iter().enumerate() {
            if phase.form == Form::Once {
                continue;
            }
            let has_hour = matches!(
                phase.form,
                Form::Repeating {
                    rhythm: Rhythm::Daily(_) | Rhythm::Weekly { time: Some(_), .. },
                    ..
                }
            );
            let words = match phase.form.reckoning(starts_by_hour || has_hour) {
                Reckoning::Elapsed => {
                    "by elapsed hours: when the clocks change, the hour of the dose shifts"
                }
                Reckoning::WallClock => {
                    "by the clock: the hour of the dose stays when the clocks change"
                }
                Reckoning::Dates => {
                    "by dates; if the first dose has an hour, the later ones keep it by the clock"
                }
            };
            lines.push(if phases.len() == 1 {
                format!("Counted {words}")
            } else {
                format!("Part {} is counted {words}", place + 1)
            });
        }
    }

    fn say_weighing(&self, lines: &mut Vec<String>) {
        let by_weight = self.doses.iter().any(|dose| dose.rate().is_some());
        if by_weight {
            lines.push(match &self.weight_basis {
                WeightBasis::Latest => "The dose goes by the latest weight".to_owned(),
                WeightBasis::Start => {
                    "The dose goes by the weight behind the first dose given, throughout".to_owned()
                }
                WeightBasis::Fixed(weight) => {
                    format!("The dose goes by {weight}, the weight your vet wrote, throughout")
                }
            });
        }
        if self.weigh_before_each_dose {
            lines.push("Weigh before each dose".to_owned());
        }
        match &self.weigh_every {
            Some(every) => lines.push(format!("A weight is good for {every}, as your vet wrote")),
            None if by_weight => lines.push(
                "How old a weight may be is not written: the program's setting holds, not your vet's".to_owned(),
            ),
            None => {}
        }
    }

    fn say_what_if(&self, lines: &mut Vec<String>) {
        lines.push(match &self.if_missed {
            Some(words) => format!("If a dose is missed: \"{words}\""),
            None => "If a dose is missed: nothing is written; ask your vet".to_owned(),
        });
        let can_come_up = matches!(self.route, Route::ByMouth | Route::Other(_));
        if let Some(words) = &self.if_brought_up {
            lines.push(format!("If a dose is brought up: \"{words}\""));
        } else if can_come_up {
            lines.push(
                "If a dose is brought up: nothing is written; give no more and ask your vet"
                    .to_owned(),
            );
        }
        if self.stop_and_call_if.is_empty() {
            lines
                .push("Signs at which to stop and call: none are written; ask your vet".to_owned());
        }
        for sign in &self.stop_and_call_if {
            lines.push(format!("Stop and call if: \"{sign}\""));
        }
        for note in &self.vet_notes {
            lines.push(format!("Your vet's note: \"{note}\""));
        }
        for follow_up in &self.follow_ups {
            lines.push(say_follow_up(follow_up));
        }
    }
}

fn say_dose(dose: &Dose) -> String {
    match dose {
        Dose::PerBodyWeight(rate) => format!("{rate} of body weight, each time"),
        Dose::PerDay(daily) => {
            let doses = daily.value().doses;
            if doses == 1 {
                format!("{daily}, by body weight")
            } else {
                format!("{daily}, by body weight: each dose is the day's total divided by {doses}")
            }
        }
        Dose::Fixed(amount) => format!("{amount} each time, whatever the animal weighs"),
        Dose::Application(words) => format!("\"{words}\""),
    }
}

fn say_follow_up(follow_up: &FollowUp) -> String {
    let when = match follow_up.when {
        FollowUpDate::On(date) => format!("on {}", day(date)),
        FollowUpDate::AfterFirstDose(span) => format!("{span} after the first dose given"),
        FollowUpDate::AfterLastDose(span) => format!("{span} after the last dose given"),
    };
    format!("Then: \"{}\", {when}", follow_up.what)
}

fn day(date: NaiveDate) -> impl Display {
    date.format("%A %-d %B %Y")
}

fn capital(words: &str) -> String {
    let mut chars = words.chars();
    let first = chars.next().map(char::to_uppercase);
    first.into_iter().flatten().chain(chars).collect()
}

/// "A, B and C".
fn listed(names: &[String]) -> String {
    match names {
        [] => String::new(),
        [one] => one.clone(),
        [most @ .., last] => format!("{} and {last}", most.join(", ")),
    }
}
