//! The answers as a prescription file, and what its reader says about them.
//!
//! Promises: every answer is judged by the reader of the file form and by nothing else, at once;
//! what is written at the end is a file that could have been typed. While questions are open,
//! what is still to come stands in as whatever contradicts nothing, and is never kept.

mod timing;

pub(super) use crate::cli::ask::draft::timing::not_a_number;

use crate::cli::ask::answers::Answers;
use crate::cli::ask::plan::{Key, Rare, in_tablets, parts};
use crate::prescription::{Fault, Prescription};
use chrono::NaiveDate;

/// Whose line it is.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Owner {
    /// The answer to this question.
    Answer(Key),
    /// Parentheses and names that belong to no one answer.
    Frame,
    /// Standing in for an answer that is still to come.
    StandIn,
}

/// A prescription file in the making.
pub(super) struct Draft {
    lines: Vec<(Owner, String)>,
}

impl Draft {
    /// The file as it is to be kept.
    pub fn finished(answers: &Answers, demonstration: bool) -> Draft {
        Draft::write(answers, demonstration, None)
    }

    /// The file with stand-ins for what is still open.
    pub fn so_far(answers: &Answers, today: NaiveDate) -> Draft {
        Draft::write(answers, false, Some(today))
    }

    /// Its text.
    pub fn text(&self) -> String {
        let mut text = String::new();
        for (_, line) in &self.lines {
            text.push_str(line);
            text.push('\n');
        }
        text
    }

    /// The first thing the reader finds wrong, with the answer it stands at; that something is
    /// not written yet is no fault here.
    pub fn fault(&self) -> Option<(Owner, Fault)> {
        let faults = Prescription::read(&self.text(), "answers").err()?;
        let faults = faults.list().iter().filter(|fault| !fault.missing);
        faults
            .map(|fault| (self.owner(fault.line), fault.clone()))
            .find(|(owner, _)| *owner != Owner::StandIn)
    }

    fn owner(&self, line: usize) -> Owner {
        let at = line.checked_sub(1).and_then(|at| self.lines.get(at));
        at.map_or(Owner::Frame, |(owner, _)| *owner)
    }

    fn write(answers: &Answers, demonstration: bool, today: Option<NaiveDate>) -> Draft {
        let mut writer = Writer {
            answers,
            today,
            depth: 1,
            lines: vec![(Owner::Frame, "Prescription(".to_owned())],
        };
        if demonstration {
            writer.frame("demonstration: true,");
        }
        writer.whole();
        let mut lines = writer.lines;
        lines.push((Owner::Frame, ")".to_owned()));
        Draft { lines }
    }
}

struct Writer<'a> {
    answers: &'a Answers,
    /// Today, while questions are open.
    today: Option<NaiveDate>,
    depth: usize,
    lines: Vec<(Owner, String)>,
}

impl Writer<'_> {
    fn line(&mut self, owner: Owner, line: impl std::fmt::Display) {
        let indent = "    ".repeat(self.depth);
        self.lines.push((owner, format!("{indent}{line}")));
    }

    fn frame(&mut self, line: &str) {
        self.line(Owner::Frame, line);
    }

    /// Several lines inside parentheses or brackets.
    fn inside(&mut self, owner: Owner, open: &str, close: &str, body: impl FnOnce(&mut Self)) {
        self.line(owner, open);
        self.depth += 1;
        body(self);
        self.depth -= 1;
        self.line(Owner::Frame, close);
    }

    fn get(&self, key: Key) -> Option<String> {
        self.answers.filled(key).map(str::to_owned)
    }

    /// `field: "answer",` where there is one.
    fn text(&mut self, field: &str, key: Key) {
        if let Some(answer) = self.get(key) {
            self.line(Owner::Answer(key), format!("{field}: {},", quoted(&answer)));
        }
    }

    /// `field: Answer,` where there is one; the answer is one of the form's own words.
    fn word(&mut self, field: &str, key: Key) {
        if let Some(answer) = self.get(key) {
            self.line(Owner::Answer(key), format!("{field}: {answer},"));
        }
    }

    /// A list of texts, one to a line.
    fn texts(&mut self, field: &str, keys: &[(Key, String)]) {
        let Some((first, _)) = keys.first() else {
            return;
        };
        self.inside(Owner::Answer(*first), &format!("{field}: ["), "],", |w| {
            for (key, answer) in keys {
                w.line(Owner::Answer(*key), format!("{},", quoted(answer)));
            }
        });
    }

    /// The answers of a kind, in order.
    fn all(&self, of_kind: impl Fn(Key) -> bool) -> Vec<(Key, String)> {
        let all = self.answers.all().filter(|(key, _)| of_kind(*key));
        all.map(|(key, answer)| (key, answer.to_owned())).collect()
    }

    fn whole(&mut self) {
        self.text("reference", Key::Reference);
        self.text("written", Key::Written);
        if let Some(today) = self.today.filter(|_| self.get(Key::Written).is_none()) {
            self.line(Owner::StandIn, format!("written: \"{today}\","));
        }
        self.text("valid_until", Key::ValidUntil);
        self.vet();
        self.animals();
        self.medicine();
        self.bounds();
        if parts(self.answers) == 1 {
            self.dose(0);
        }
        self.how();
        self.schedule();
        self.after();
    }

    fn vet(&mut self) {
        if self.get(Key::Vet).is_none() {
            return;
        }
        self.inside(Owner::Frame, "vet: Vet(", "),", |w| {
            w.text("name", Key::Vet);
            w.text("practice", Key::Practice);
            w.text("phone", Key::Phone);
            w.text("out_of_hours", Key::OutOfHours);
        });
    }

    fn animals(&mut self) {
        let names = self.answers.animals();
        if names.is_empty() {
            return;
        }
        let list: Vec<String> = names.iter().map(|name| quoted(name)).collect();
        self.line(
            Owner::Answer(Key::Animals),
            format!("animals: [{}],", list.join(", ")),
        );
        let names: Vec<String> = names.into_iter().map(str::to_owned).collect();
        let weighed = self.all(|key| matches!(key, Key::Rare(Rare::Weighed, _)));
        let Some((first, _)) = weighed.first() else {
            return;
        };
        self.inside(Owner::Answer(*first), "weighed: [", "],", |w| {
            for (key, weight) in &weighed {
                let Key::Rare(_, at) = key else { continue };
                let name = names.get(usize::from(*at)).map(String::as_str);
                w.line(
                    Owner::Answer(*key),
                    format!(
                        "Weighed(animal: {}, weight: {}),",
                        quoted(name.unwrap_or_default()),
                        quoted(weight)
                    ),
                );
            }
        });
    }

    fn medicine(&mut self) {
        if self.get(Key::Medicine).is_none() {
            return;
        }
        self.inside(Owner::Frame, "medicine: Medicine(", "),", |w| {
            w.text("name", Key::Medicine);
            w.text("form", Key::Form);
            w.text("strength", Key::Strength);
            w.text("ingredient", Key::Rare(Rare::Ingredient, 0));
            w.made_up();
            w.vial();
        });
        let names = self.all(|key| matches!(key, Key::Rare(Rare::SameAs, _)));
        self.texts("same_as", &names);
    }

    /// Written once it is whole: half a dilution comes to nothing.
    fn made_up(&mut self) {
        let [from, take, add, with] = [
            Rare::MadeFrom,
            Rare::MadeTake,
            Rare::MadeAdd,
            Rare::MadeWith,
        ]
        .map(|r| Key::Rare(r, 0));
        if self.get(from).is_none() {
            return;
        }
        self.inside(Owner::Answer(with), "made_up: MadeUp(", "),", |w| {
            w.text("from", from);
            w.text("take", take);
            w.text("add", add);
            w.text("with", with);
        });
    }

    /// Written once it is whole.
    fn vial(&mut self) {
        let [holds, add, with] =
            [Rare::VialHolds, Rare::VialAdd, Rare::VialWith].map(|r| Key::Rare(r, 0));
        if self.get(holds).is_none() {
            return;
        }
        self.inside(Owner::Answer(with), "vial: Vial(", "),", |w| {
            w.text("holds", holds);
            w.text("add", add);
            w.text("with", with);
        });
    }

    fn bounds(&mut self) {
        self.text("max_dose", Key::Rare(Rare::MaxDose, 0));
        self.text("max_per_day", Key::Rare(Rare::MaxPerDay, 0));
        self.text("max_per_site", Key::Rare(Rare::MaxPerSite, 0));
        self.word("round", Key::Rare(Rare::Round, 0));
        self.text("tolerance", Key::Rare(Rare::Tolerance, 0));
        if in_tablets(self.answers) {
            self.word("tablets", Key::Tablets);
        }
        if self.today.is_some() && self.get(Key::Tablets).is_none() {
            self.line(Owner::StandIn, "tablets: Quarters,");
        }
    }

    fn dose(&mut self, part: u8) {
        if let (Some(form), Some(dose)) = (self.get(Key::DoseForm(part)), self.get(Key::Dose(part)))
        {
            self.line(
                Owner::Answer(Key::Dose(part)),
                format!("dose: {form}({}),", quoted(&dose)),
            );
        }
    }

    fn how(&mut self) {
        match (self.get(Key::Route), self.get(Key::RouteWords)) {
            (Some(route), None) if route == "ByMouth" => {
                self.line(Owner::Answer(Key::Route), "route: ByMouth,");
            }
            (Some(route), Some(words)) => self.line(
                Owner::Answer(Key::RouteWords),
                format!("route: {route}({}),", quoted(&words)),
            ),
            (Some(route), None) if self.today.is_some() => {
                // Which way is known, and that alone may contradict the dose.
                let words = match route.as_str() {
                    "InEye" | "InEar" | "InNose" => "each",
                    _ => "still to be asked",
                };
                self.line(
                    Owner::Answer(Key::Route),
                    format!("route: {route}({}),", quoted(words)),
                );
            }
            _ if self.today.is_some() => {
                self.line(Owner::StandIn, "route: Other(\"still to be asked\"),");
            }
            _ => {}
        }
        let sites = self.all(|key| matches!(key, Key::Site(_)));
        let Some((first, _)) = sites.first() else {
            return;
        };
        self.inside(Owner::Answer(*first), "sites: [", "],", |w| {
            for (key, site) in &sites {
                let site = match site.rsplit_once(',') {
                    Some((place, side)) => {
                        format!("Site({}, {}),", quoted(place.trim()), quoted(side.trim()))
                    }
                    None => format!("Site({}),", quoted(site)),
                };
                w.line(Owner::Answer(*key), site);
            }
        });
    }

    fn after(&mut self) {
        self.text("apart", Key::Rare(Rare::Apart, 0));
        let steps = self.all(|key| matches!(key, Key::Rare(Rare::Recipe, _)));
        self.texts("recipe", &steps);
        self.text("lasts", Key::Rare(Rare::Lasts, 0));
        self.word("after_late", Key::AfterLate);
        if self.chosen("count") {
            self.line(Owner::Answer(self.choice("count")), "count: Given,");
        }
        self.text("window", Key::Rare(Rare::Window, 0));
        self.text("weigh_every", Key::WeighEvery);
        self.weight_basis();
        if self.chosen("weigh") {
            self.line(
                Owner::Answer(self.choice("weigh")),
                "weigh: BeforeEachDose,",
            );
        }
        self.text("if_missed", Key::IfMissed);
        self.text("if_brought_up", Key::IfBroughtUp);
        let signs = self.all(|key| matches!(key, Key::Sign(_)));
        self.texts("stop_and_call_if", &signs);
        let notes = self.all(|key| matches!(key, Key::Note(_)));
        self.texts("vet_notes", &notes);
        self.label_check();
        self.follow_ups();
    }

    /// The question at which a rarer thing was chosen.
    fn choice(&self, word: &str) -> Key {
        let mut all = self.answers.all();
        let chosen = all.find(|(key, answer)| matches!(key, Key::More(_)) && *answer == word);
        chosen.map_or(Key::More(0), |(key, _)| key)
    }

    fn chosen(&self, word: &str) -> bool {
        self.answers.get(self.choice(word)) == Some(word)
    }

    fn weight_basis(&mut self) {
        let key = Key::Rare(Rare::WeightBasis, 0);
        let fixed = Key::Rare(Rare::FixedWeight, 0);
        match (self.get(key).as_deref(), self.get(fixed)) {
            (Some("Fixed"), Some(weight)) => self.line(
                Owner::Answer(fixed),
                format!("weight_basis: Fixed({}),", quoted(&weight)),
            ),
            (Some("Fixed") | None, _) => {}
            (Some(_), _) => self.word("weight_basis", key),
        }
    }

    fn label_check(&mut self) {
        let (volume, weight) = (Key::LabelVolume, Key::LabelWeight);
        if self.get(volume).is_none() {
            return;
        }
        let owner = Owner::Answer(if self.get(weight).is_some() {
            weight
        } else {
            volume
        });
        self.inside(owner, "label_check: LabelCheck(", "),", |w| {
            w.text("weight", weight);
            w.text("volume", volume);
        });
    }

    fn follow_ups(&mut self) {
        let all = self.all(|key| matches!(key, Key::Rare(Rare::FollowUp, _)));
        let Some((first, _)) = all.first() else {
            return;
        };
        self.inside(Owner::Answer(*first), "follow_ups: [", "],", |w| {
            for (key, what) in &all {
                let Key::Rare(_, at) = key else { continue };
                let from = w.get(Key::Rare(Rare::FollowUpFrom, *at));
                let when = Key::Rare(Rare::FollowUpWhen, *at);
                w.inside(Owner::Answer(*key), "FollowUp(", "),", |w| {
                    w.line(Owner::Answer(*key), format!("what: {},", quoted(what)));
                    if let (Some(from), Some(on)) = (from, w.get(when)) {
                        w.line(
                            Owner::Answer(when),
                            format!("when: {from}({}),", quoted(&on)),
                        );
                    }
                });
            }
        });
    }
}

/// A text as RON holds it.
fn quoted(text: &str) -> String {
    let escaped = text.replace('\\', "\\\\").replace('"', "\\\"");
    format!("\"{escaped}\"")
}
