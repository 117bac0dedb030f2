//! What was recorded, gone through in the order in which it happened, and tied to slots.
//!
//! Promises: a record is tied to one slot or listed as extra, and only when it happened decides
//! which. A late dose moves later slots where the vet chose that, and nothing else moves any.

use chrono::{DateTime, Datelike, Days, TimeDelta, Utc};

use super::{Extra, Facts, Order, Outcome, Record, Timing, What, is_about, own_gap};
use crate::schedule::{AfterLate, Count, Due, Schedule, Slot, local_date};

/// A slot with what was tied to it.
pub(super) struct Line {
    pub(super) slot: Slot,
    pub(super) due: Due,
    pub(super) records: Vec<Record>,
    pub(super) fill: Option<Fill>,
}

/// The dose that closed a slot.
#[derive(Clone, Copy)]
pub(super) struct Fill {
    pub(super) record: Record,
    pub(super) timing: Timing,
    pub(super) opens: Option<DateTime<Utc>>,
    /// It was too soon after the dose before it, not only before its own window.
    pub(super) after_another: bool,
}

/// A dose of that medicine to that animal, in this course or another.
#[derive(Clone, Copy)]
pub(super) struct Dose {
    pub(super) at: DateTime<Utc>,
    /// The other course's own gap; of a dose in this course there is no need for it.
    pub(super) gap: Option<TimeDelta>,
}

/// The vet's word to give no dose from a slot on.
struct Stop {
    from: u32,
    /// From which slot doses are given again, and when that was said.
    resumed: Option<(u32, DateTime<Utc>)>,
}

/// A course with everything up to a moment gone through.
pub(super) struct Replay<'a> {
    pub(super) facts: &'a Facts<'a>,
    pub(super) schedule: &'a Schedule,
    pub(super) now: DateTime<Utc>,
    pub(super) lines: Vec<Line>,
    pub(super) extras: Vec<Extra>,
    /// Doses of other courses up to now, and of this one as far as gone through.
    pub(super) doses: Vec<Dose>,
}

impl<'a> Replay<'a> {
    pub(super) fn new(
        facts: &'a Facts<'a>,
        schedule: &'a Schedule,
        slots: Vec<Slot>,
        now: DateTime<Utc>,
    ) -> Self {
        let others = facts.other_doses.iter();
        let others = others.filter(|dose| dose.happened <= now && dose.outcome.closes_the_gate());
        let lines = slots.into_iter().map(|slot| Line {
            due: slot.due,
            slot,
            records: Vec::new(),
            fill: None,
        });
        let mut replay = Self {
            facts,
            schedule,
            now,
            lines: lines.collect(),
            extras: Vec::new(),
            doses: others
                .map(|dose| Dose {
                    at: dose.happened,
                    gap: dose.gap,
                })
                .collect(),
        };
        let mut records = facts.records.to_vec();
        records.retain(|record| record.happened <= now);
        // Beside the time only what was said may decide, so that the order of writing never does.
        records.sort_by_key(|r| (r.happened, r.outcome, !r.at_mark, r.slot_asked, r.id));
        for record in records {
            replay.tie(record);
        }
        replay
    }

    fn tie(&mut self, record: Record) {
        let Some(index) = self.slot_for(&record) else {
            return;
        };
        let closes_the_gate = record.outcome.closes_the_gate();
        if record.outcome == Outcome::BroughtUp && self.brought_up_again(index, record) {
            // Nothing new went in, but the safe side is to count from when it came up.
            self.doses.push(Dose {
                at: record.happened,
                gap: None,
            });
            return;
        }
        let why_not = self.no_room(index, &record);
        let instructed = self.told_to_dose(index, record.happened);
        let opening = self.opens(index, self.last_dose(record.happened));
        let opens = opening.map(|opening| opening.at);
        let after_another = opening.is_none_or(|opening| {
            opening
                .after_last
                .is_some_and(|after| record.happened < after)
        });
        let closes = self.closes(index);
        if closes_the_gate {
            self.doses.push(Dose {
                at: record.happened,
                gap: None,
            });
        }
        let Some(line) = self.lines.get_mut(index) else {
            return;
        };
        if !closes_the_gate {
            line.records.push(record);
            return;
        }
        if let Some(why) = why_not {
            self.extras.push(Extra {
                record,
                nearest: line.slot.number,
                why,
            });
            return;
        }
        let timing = match opens {
            Some(opens) if record.happened >= opens && record.happened <= closes => {
                Timing::InWindow
            }
            _ if instructed => Timing::Instructed,
            Some(opens) if record.happened >= opens => Timing::Late,
            _ => Timing::TooSoon,
        };
        line.records.push(record);
        line.fill = Some(Fill {
            record,
            timing,
            opens,
            after_another,
        });
        let late = record.happened > closes;
        let counts_on = self.schedule.after_late() == AfterLate::CountFromGiven;
        if late && counts_on && record.outcome != Outcome::Unsure {
            self.move_later_slots(index, record.happened);
        }
    }

    /// A dose brought up after it was given is about that dose: its slot is no longer given, and
    /// nothing new went in.
    fn brought_up_again(&mut self, index: usize, record: Record) -> bool {
        let Some(line) = self.lines.get_mut(index) else {
            return false;
        };
        match &mut line.fill {
            Some(fill) if fill.record.outcome == Outcome::Given => {
                line.records.push(record);
                fill.record = record;
                true
            }
            _ => false,
        }
    }

    /// The slot it was said to be for, else the nearest by due time, the later of two.
    fn slot_for(&self, record: &Record) -> Option<usize> {
        let asked = record.slot_asked.and_then(|number| self.index_of(number));
        let distance = |i: &usize| {
            self.lines
                .get(*i)
                .map(|line| line.due.apart(record.happened, self.facts.zone))
        };
        let known = self.known_at(record.happened);
        asked
            .or_else(|| self.given_shortly_before(record))
            .or_else(|| self.told_to_give(record))
            .or_else(|| (0..known).rev().min_by_key(distance))
    }

    /// How many slots there were at a moment. One that is added for a dose not given comes to be
    /// with that; a dose given before belongs where it belonged, whatever is added later.
    fn known_at(&self, at: DateTime<Utc>) -> usize {
        let written = self
            .schedule
            .slots()
            .filter(|_| self.schedule.count() == Count::Given);
        let Some(written) = written.and_then(|slots| usize::try_from(slots).ok()) else {
            return self.lines.len();
        };
        let not_given = self.lines.iter().enumerate().filter(|(index, line)| {
            line.fill.is_none()
                && match self.last_word(line, at) {
                    Some(Outcome::Missed | Outcome::Withheld) => true,
                    Some(Outcome::Refused) => self.closes(*index) < at,
                    _ => false,
                }
        });
        (written + not_given.count()).min(self.lines.len())
    }

    /// The slot that the vet has said to give now, where that holds at the moment of the record:
    /// then it is that one, however near another is.
    fn told_to_give(&self, record: &Record) -> Option<usize> {
        let given = |line: &Line| {
            let fill = line.fill.map(|fill| fill.record.outcome);
            fill == Some(Outcome::Given)
        };
        let told = |index: &usize| {
            self.told_to_dose(*index, record.happened)
                && self.lines.get(*index).is_some_and(|line| !given(line))
        };
        (0..self.lines.len())
            .filter(|_| record.outcome.went_in())
            .find(told)
    }

    /// The slot whose dose was brought up: the one last given, if that is no longer ago than half
    /// its gap.
    fn given_shortly_before(&self, record: &Record) -> Option<usize> {
        let filled = self.lines.iter().enumerate().filter_map(|(index, line)| {
            let given = line.fill?.record;
            is_about(record, &given, &line.slot).then_some((given.happened, index))
        });
        filled.max().map(|(_, index)| index)
    }

    /// Why a dose cannot fill the slot that it belongs to, if it cannot.
    fn no_room(&self, index: usize, record: &Record) -> Option<What> {
        let line = self.lines.get(index)?;
        let stopped = self
            .stopped_from(record.happened)
            .is_some_and(|from| line.slot.number >= from);
        if self.facts.ended.is_some_and(|end| record.happened > end.at) {
            Some(What::AfterTheEnd)
        } else if stopped {
            Some(match record.outcome {
                Outcome::Unsure => What::UnsureAgainstInstruction,
                _ => What::AgainstInstruction,
            })
        } else {
            let full = match line.fill {
                None => false,
                Some(fill) if fill.record.outcome == Outcome::Given => true,
                Some(_) => !self.told_to_dose(index, record.happened),
            };
            full.then_some(match record.outcome {
                Outcome::Unsure => What::UnsureExtra,
                _ => What::Extra,
            })
        }
    }

    fn move_later_slots(&mut self, index: usize, given: DateTime<Utc>) {
        let zone = self.facts.zone;
        let Some(due) = self.lines.get(index).map(|line| line.due) else {
            return;
        };
        for line in self
            .lines
            .iter_mut()
            .skip(index + 1)
            .filter(|line| line.fill.is_none())
        {
            line.due = match (line.due, due) {
                (Due::At(at), Due::At(due)) => Due::At(at + (given - due)),
                (Due::On(date), Due::On(due)) => {
                    let days = local_date(given, zone).num_days_from_ce() - due.num_days_from_ce();
                    Due::On(date + Days::new(u64::try_from(days).unwrap_or(0)))
                }
                (unmoved, _) => unmoved,
            };
        }
    }

    pub(super) fn index_of(&self, number: u32) -> Option<usize> {
        self.lines
            .iter()
            .position(|line| line.slot.number == number)
    }

    /// The latest dose up to a moment, in any course, among those gone through.
    pub(super) fn last_dose(&self, at: DateTime<Utc>) -> Option<Dose> {
        let before = self.doses.iter().copied().filter(|dose| dose.at <= at);
        // Of two doses at one moment, the longer gap is the safer one.
        before.max_by_key(|dose| (dose.at, dose.gap))
    }

    /// The first slot that the vet has said not to give, and not since to give again, as of a
    /// moment.
    pub(super) fn stopped_from(&self, at: DateTime<Utc>) -> Option<u32> {
        let stops = self.stops(at).into_iter();
        let in_force = stops.filter(|stop| stop.resumed.is_none());
        in_force.map(|stop| stop.from).min()
    }

    /// When the vet last said that a slot is left out, up to a moment: by itself, or between a
    /// stop and the slot from which doses are given again.
    pub(super) fn left_out(&self, slot: u32, at: DateTime<Utc>) -> Option<DateTime<Utc>> {
        let said = self.facts.instructions.iter().filter(|said| said.at <= at);
        let skipped = said.filter(|said| said.order == Order::Skip { slot });
        let skipped = skipped.map(|said| said.at);
        let stops = self.stops(at).into_iter();
        let between = stops.filter_map(|stop| {
            let (to, said) = stop.resumed?;
            (stop.from..to).contains(&slot).then_some(said)
        });
        skipped.chain(between).max()
    }

    /// The vet's stops up to a moment, each with the slot from which doses are given again.
    fn stops(&self, at: DateTime<Utc>) -> Vec<Stop> {
        let said = self.facts.instructions.iter().filter(|said| said.at <= at);
        let mut said: Vec<_> = said.collect();
        said.sort_by_key(|said| said.at);
        let mut stops: Vec<Stop> = Vec::new();
        for said in said {
            match said.order {
                Order::Stop { from } => stops.push(Stop {
                    from,
                    resumed: None,
                }),
                Order::Resume { from } => {
                    for stop in stops.iter_mut().filter(|stop| stop.resumed.is_none()) {
                        stop.resumed = Some((from, said.at));
                    }
                }
                _ => {}
            }
        }
        stops
    }

    /// Whether the vet's instruction to give a slot now stands at a moment: it lapses with the next
    /// dose, or after half the slot's gap.
    pub(super) fn told_to_dose(&self, index: usize, at: DateTime<Utc>) -> bool {
        let Some(line) = self.lines.get(index) else {
            return false;
        };
        let reach = own_gap(&line.slot).map_or(TimeDelta::hours(12), |gap| gap / 2);
        self.facts.instructions.iter().any(|said| {
            said.order
                == Order::DoseNow {
                    slot: line.slot.number,
                }
                && said.at <= at
                && at - said.at <= reach
                && !self
                    .doses
                    .iter()
                    .any(|dose| dose.at >= said.at && dose.at <= at)
        })
    }
}
