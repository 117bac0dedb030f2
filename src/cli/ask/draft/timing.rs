//! When the doses fall, written as the form has it.
//!
//! Promises: a course of one part and one of several are written from the same answers; what is
//! not a whole number where one belongs is left for the reader to name. Nothing is laid out here.

use crate::cli::ask::draft::{Owner, Writer, quoted};
use crate::cli::ask::plan::{Key, parts};
use crate::notation::{DailyRate, Notation};

impl Writer<'_> {
    pub(super) fn schedule(&mut self) {
        let parts = parts(self.answers);
        if parts == 1 {
            self.rhythm(0);
            return;
        }
        let owner = Owner::Answer(Key::Rhythm(parts - 1));
        self.inside(owner, "schedule: Phases([", "]),", |w| {
            for part in 0..parts {
                let owner = Owner::Answer(Key::Rhythm(part));
                w.inside(owner, "Phase(", "),", |w| {
                    w.text("gap", Key::Gap(part));
                    w.dose(part);
                    w.rhythm(part);
                });
            }
        });
    }

    fn rhythm(&mut self, part: u8) {
        let Some(rhythm) = self.get(Key::Rhythm(part)) else {
            if self.today.is_some() {
                self.stand_in_rhythm(part);
            }
            return;
        };
        let owner = Owner::Answer(Key::Rhythm(part));
        match rhythm.as_str() {
            "Once" => self.line(owner, "schedule: Once,"),
            "OnDays" => {
                if let Some(days) = self.get(Key::Days(part)) {
                    self.line(
                        Owner::Answer(Key::Days(part)),
                        format!("schedule: OnDays([{}]),", figures(&days)),
                    );
                }
            }
            "OnceThenAgain" => {
                if let Some(after) = self.get(Key::Interval(part)) {
                    self.line(
                        Owner::Answer(Key::Interval(part)),
                        format!("schedule: OnceThenAgain(after: {}),", quoted(&after)),
                    );
                }
            }
            rhythm if self.get(Key::End(part)).as_deref() == Some("UntilStopped") => {
                self.inside(owner, "schedule: UntilStopped(", "),", |w| {
                    w.inside(owner, &format!("rhythm: {rhythm}("), "),", |w| {
                        w.beats(part);
                    });
                    w.text("review", Key::Review(part));
                });
            }
            rhythm => {
                self.inside(owner, &format!("schedule: {rhythm}("), "),", |w| {
                    w.beats(part);
                    if let (Some(end), Some(count)) =
                        (w.get(Key::End(part)), w.get(Key::Count(part)))
                    {
                        w.line(
                            Owner::Answer(Key::Count(part)),
                            format!("{end}: {},", figures(&count)),
                        );
                    }
                });
            }
        }
    }

    fn beats(&mut self, part: u8) {
        self.text("interval", Key::Interval(part));
        for (field, key) in [("times", Key::Times(part)), ("days", Key::Weekdays(part))] {
            if let Some(items) = self.get(key) {
                let items: Vec<String> =
                    split(&items).iter().map(|i| quoted(&capital(i))).collect();
                self.line(
                    Owner::Answer(key),
                    format!("{field}: [{}],", items.join(", ")),
                );
            }
        }
        self.text("time", Key::Hour(part));
    }

    /// One that contradicts no dose: a day's total is divided as often as it says.
    fn stand_in_rhythm(&mut self, part: u8) {
        let daily = self
            .get(Key::DoseForm(part))
            .filter(|form| form == "PerDay");
        let dose = daily.and_then(|_| self.get(Key::Dose(part)));
        let times = match dose.map(|dose| DailyRate::read(&dose)) {
            Some(Ok(daily)) => daily.value().doses,
            _ => 0,
        };
        if times == 0 {
            self.line(Owner::StandIn, "schedule: Once,");
            return;
        }
        let hours: Vec<String> = (0..times).map(|hour| format!("\"{hour:02}:00\"")).collect();
        self.line(
            Owner::StandIn,
            format!("schedule: AtTimes(times: [{}], days: 1),", hours.join(", ")),
        );
    }
}

/// The first item of a list that is not a whole number.
pub(in crate::cli::ask) fn not_a_number(list: &str) -> Option<String> {
    split(bare(list)).into_iter().find(|item| {
        let digits = item.bytes().all(|b| b.is_ascii_digit());
        !digits || item.len() > 9
    })
}

/// A number without the noun that a person may write after it.
fn bare(text: &str) -> &str {
    let nouns = ["doses", "dose", "times", "days", "day"];
    let stripped = nouns.iter().find_map(|noun| text.strip_suffix(noun));
    stripped.map_or(text, str::trim_end)
}

fn figures(list: &str) -> String {
    split(bare(list)).join(", ")
}

/// A list as a person types it: commas, spaces or "and" between its items.
fn split(list: &str) -> Vec<String> {
    list.split([',', ';', ' '])
        .filter(|item| !matches!(*item, "" | "and"))
        .map(str::to_owned)
        .collect()
}

fn capital(word: &str) -> String {
    let mut letters = word.chars();
    let first = letters.next().map(char::to_uppercase);
    let rest = letters.flat_map(char::to_lowercase);
    first.into_iter().flatten().chain(rest).collect()
}
