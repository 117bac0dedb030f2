//! What a person would answer who copies a prescription from its label, question by question.
//! Written from the order of the questions, not with the program's own plan.

use scruple::notation::Written;
use scruple::prescription::{
    Dose, FollowUpDate, Prescription, Route, Side, Site, WeightBasis, Which,
};
use scruple::quantity::Strength;
use scruple::rack::{Cut, Rounding};
use scruple::schedule::{AfterLate, Count, Form, Length, Phase, Rhythm, Start};

/// One answer, and whether it picks from a list.
#[derive(Clone, Debug)]
pub struct Answer {
    pub text: String,
    pub picks: bool,
}

/// The answers so far.
#[derive(Default)]
pub struct Answers(pub Vec<Answer>);

/// Every answer for a prescription, up to the start of its course.
pub fn of(p: &Prescription, start: &str) -> Vec<Answer> {
    let mut t = Answers::default();
    t.text(p.animals.join(", "));
    t.text(&p.medicine.name);
    t.open(p.medicine.form.as_ref());
    t.open(p.strength());
    for (part, phase) in p.schedule.phases().iter().enumerate() {
        t.phase(p, phase, part, p.schedule.phases().len());
    }
    let in_tablets = matches!(
        p.strength().map(Written::value),
        Some(Strength::MassPerTablet(_))
    );
    if in_tablets {
        t.pick(match p.tablets {
            Cut::Whole => "Whole",
            Cut::Halves => "Halves",
            Cut::Quarters => "Quarters",
        });
    }
    t.advice(p, in_tablets);
    t.text(&p.vet.name);
    t.open(p.vet.practice.as_ref());
    t.text(&p.vet.phone);
    t.open(p.vet.out_of_hours.as_ref());
    t.text(p.written);
    t.open(p.valid_until);
    t.text(&p.reference);
    t.rarer(p);
    t.text(start);
    t.0
}

/// When the samples start: as the vet wrote, or on a morning.
pub fn start(start: Option<Start>) -> String {
    match start {
        Some(Start { date, time: None }) => date.to_string(),
        Some(Start {
            date,
            time: Some(time),
        }) => format!("{date} {}", time.format("%H:%M")),
        None => "2001-03-06 08:00".to_owned(),
    }
}

impl Answers {
    fn text(&mut self, answer: impl ToString) {
        self.0.push(Answer {
            text: answer.to_string(),
            picks: false,
        });
    }

    fn pick(&mut self, word: &str) {
        self.0.push(Answer {
            text: word.to_owned(),
            picks: true,
        });
    }

    /// An answer, or Enter alone.
    fn open(&mut self, answer: Option<impl ToString>) {
        self.text(answer.map_or(String::new(), |answer| answer.to_string()));
    }

    /// Each of a list, then Enter alone.
    fn each(&mut self, all: &[impl ToString]) {
        for one in all {
            self.text(one.to_string());
        }
        self.text("");
    }

    fn phase(&mut self, p: &Prescription, phase: &Phase, part: usize, parts: usize) {
        if let Some(gap) = phase.gap_before {
            self.text(gap);
        }
        let dose = p.dose(phase.dose).unwrap();
        self.pick(match dose {
            Dose::PerBodyWeight(_) => "PerBodyWeight",
            Dose::PerDay(_) => "PerDay",
            Dose::Fixed(_) => "Fixed",
            Dose::Application(_) => "Application",
        });
        self.text(dose.text());
        if part == 0 {
            self.route(p);
        }
        let open_end = self.form(&phase.form);
        if !open_end {
            self.pick(if part + 1 < parts { "yes" } else { "no" });
        }
    }

    fn route(&mut self, p: &Prescription) {
        let (route, words) = match &p.route {
            Route::Injection(words) => ("Injection", words.as_str()),
            Route::ByMouth => ("ByMouth", ""),
            Route::OnSkin(words) => ("OnSkin", words.as_str()),
            Route::InEye(which) => ("InEye", of_pair(*which)),
            Route::InEar(which) => ("InEar", of_pair(*which)),
            Route::InNose(which) => ("InNose", of_pair(*which)),
            Route::Bath(words) => ("Bath", words.as_str()),
            Route::Inhaled(words) => ("Inhaled", words.as_str()),
            Route::Other(words) => ("Other", words.as_str()),
        };
        self.pick(route);
        match &p.route {
            Route::ByMouth => {}
            Route::InEye(_) | Route::InEar(_) | Route::InNose(_) => self.pick(words),
            _ => self.text(words),
        }
        if matches!(p.route, Route::Injection(_)) {
            let sites: Vec<String> = p.sites.iter().map(site).collect();
            self.each(&sites);
        }
    }

    /// Answers how doses follow each other; whether it runs until the vet says stop.
    fn form(&mut self, form: &Form) -> bool {
        let (rhythm, length) = match form {
            Form::Once => {
                self.pick("Once");
                return false;
            }
            Form::OnDays(days) => {
                self.pick("OnDays");
                let days: Vec<String> = days.iter().map(u32::to_string).collect();
                self.text(days.join(", "));
                return false;
            }
            Form::Repeating { rhythm, length } => (rhythm, length),
        };
        match rhythm {
            Rhythm::Every(span) => {
                self.pick("Every");
                self.text(span);
            }
            Rhythm::Daily(times) => {
                self.pick("AtTimes");
                let times: Vec<String> = times
                    .iter()
                    .map(|t| t.format("%H:%M").to_string())
                    .collect();
                self.text(times.join(" and "));
            }
            Rhythm::Weekly { days, time } => {
                self.pick("Weekly");
                let full = |day: &chrono::Weekday| match day {
                    chrono::Weekday::Tue => "tuesday",
                    chrono::Weekday::Wed => "Wednesday",
                    chrono::Weekday::Sat => "Saturday",
                    other => panic!("no sample has {other}"),
                };
                let days: Vec<&str> = days.iter().map(full).collect();
                self.text(days.join(", "));
                self.open(time.map(|time| time.format("%H:%M")));
            }
        }
        match length {
            Length::Doses(doses) => {
                self.pick("doses");
                self.text(doses);
            }
            Length::Days(days) => {
                self.pick("days");
                self.text(format!("{days} days"));
            }
            Length::UntilStopped { review } => {
                self.pick("UntilStopped");
                self.text(review);
                return true;
            }
        }
        false
    }

    fn advice(&mut self, p: &Prescription, in_tablets: bool) {
        self.pick(match p.schedule.after_late() {
            AfterLate::CountFromGiven => "CountFromGiven",
            AfterLate::KeepCalendar => "KeepCalendar",
            AfterLate::Call => "Call",
        });
        self.open(p.if_missed.as_ref());
        if matches!(p.route, Route::ByMouth | Route::Other(_)) {
            self.open(p.if_brought_up.as_ref());
        }
        self.each(&p.stop_and_call_if);
        self.each(&p.vet_notes);
        let measured = p.doses.first().is_some_and(Dose::is_measured);
        if measured {
            self.open(p.weigh_every.as_ref());
        }
        let of_paste = matches!(
            p.strength().map(Written::value),
            Some(Strength::MassPerProduct(_))
        ) || p.doses.iter().any(|dose| dose.text().ends_with("of paste"));
        if measured && !in_tablets && !of_paste {
            self.open(p.label_check.as_ref().map(|label| &label.volume));
            if let Some(label) = &p.label_check {
                self.text(&label.weight);
            }
        }
    }

    fn rarer(&mut self, p: &Prescription) {
        let mut one = |word: &str, answer: Option<String>| {
            if let Some(answer) = answer {
                self.pick(word);
                self.text(answer);
            }
        };
        one("max_dose", p.max_dose.as_ref().map(ToString::to_string));
        one(
            "max_per_day",
            p.max_per_day.as_ref().map(ToString::to_string),
        );
        one("apart", p.apart.map(|minutes| minutes.to_string()));
        one("lasts", p.lasts.map(|minutes| minutes.to_string()));
        one(
            "max_per_site",
            p.max_per_site.as_ref().map(ToString::to_string),
        );
        one("tolerance", p.tolerance.as_ref().map(ToString::to_string));
        one("window", p.schedule.window().map(|span| span.to_string()));
        one("ingredient", p.medicine.ingredient.clone());
        match p.rounding {
            Rounding::Nearest => {}
            Rounding::Down => self.picks(["round", "Down"]),
            Rounding::Up => self.picks(["round", "Up"]),
        }
        match &p.weight_basis {
            WeightBasis::Latest => {}
            WeightBasis::Start => self.picks(["weight_basis", "Start"]),
            WeightBasis::Fixed(weight) => {
                self.picks(["weight_basis", "Fixed"]);
                self.text(weight);
            }
        }
        if p.schedule.count() == Count::Given {
            self.pick("count");
        }
        if p.weigh_before_each_dose {
            self.pick("weigh");
        }
        if !p.weighed.is_empty() {
            self.pick("weighed");
            for name in &p.animals {
                let weighed = p.weighed.iter().find(|weighed| weighed.animal == *name);
                self.open(weighed.map(|weighed| &weighed.weight));
            }
        }
        if !p.medicine.same_as.is_empty() {
            self.pick("same_as");
            self.each(&p.medicine.same_as);
        }
        if let Some(made) = &p.medicine.made_up {
            self.pick("made_up");
            self.text(&made.from);
            self.text(&made.take);
            self.text(&made.add);
            self.text(&made.with);
        }
        if let Some(vial) = &p.medicine.vial {
            self.pick("vial");
            self.text(&vial.holds);
            self.text(&vial.add);
            self.text(&vial.with);
        }
        if !p.recipe.is_empty() {
            self.pick("recipe");
            self.each(&p.recipe);
        }
        for follow_up in &p.follow_ups {
            self.pick("follow_ups");
            self.text(&follow_up.what);
            let (from, when) = match follow_up.when {
                FollowUpDate::On(day) => ("On", day.to_string()),
                FollowUpDate::AfterFirstDose(span) => ("AfterFirstDose", span.to_string()),
                FollowUpDate::AfterLastDose(span) => ("AfterLastDose", span.to_string()),
            };
            self.pick(from);
            self.text(when);
        }
        self.text("");
    }

    fn picks(&mut self, words: [&str; 2]) {
        for word in words {
            self.pick(word);
        }
    }
}

fn of_pair(which: Which) -> &'static str {
    match which {
        Which::Left => "left",
        Which::Right => "right",
        Which::Each => "each",
    }
}

fn site(site: &Site) -> String {
    let side = match site.side {
        Some(Side::Left) => ", left",
        Some(Side::Right) => ", right",
        None => "",
    };
    format!("{}{side}", site.place)
}
