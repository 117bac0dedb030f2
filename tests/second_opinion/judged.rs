//! Slots, windows, gate and verdict of a course worked out from the prose of the rules.
//!
//! Promises: no code of the program is called. Moments are milliseconds, and what ends with a
//! day ends just before the next one starts. What is left out: phases, doses counted as given,
//! what was brought up, and the vet's later instructions.

use crate::calendar::{Clocks, DAY, HOUR};

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Due {
    At(i64),
    On(i64),
}

/// How doses follow each other. Hours of the clock are milliseconds of the day.
#[derive(Clone, Debug)]
pub enum Form {
    Once,
    Hours(i64, i64),
    Days(i64, i64),
    Times(Vec<i64>, i64),
    Weekly(Vec<i64>, Option<i64>, i64),
    Listed(Vec<i64>),
}

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum AfterLate {
    CountFromGiven,
    KeepCalendar,
    Call,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Outcome {
    Given,
    Partly,
    Unsure,
    Refused,
    Missed,
    Withheld,
}

impl Outcome {
    fn closes(self) -> bool {
        matches!(self, Outcome::Given | Outcome::Partly | Outcome::Unsure)
    }
}

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum State {
    Planned,
    TooSoon,
    Open,
    Late,
    NotRecorded,
    Held,
    Gone,
    Said(Outcome),
}

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Gate {
    Allowed,
    AllowedLate,
    NotBefore(i64),
    TooSoonUntil(i64),
    Held,
    BlockedBy(usize),
    LateCall,
    NotRecorded,
    Answered,
    PastValid,
    Ended,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Timing {
    InWindow,
    TooSoon,
    Late,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Remark {
    LateNow,
    NotRecorded,
    Held,
    TooSoon,
    Partly,
    Unsure,
    /// Given after it was said to be withheld.
    WithheldBefore,
    Refused,
    Missed,
    Extra,
    AfterTheEnd,
    PastValid,
}

#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Verdict {
    NotStarted,
    OnTrack,
    /// What calls for attention, with its slot counted from 1.
    Attention(Vec<(usize, Remark)>),
    Complete,
    WithExceptions,
    EndedEarly,
}

#[derive(Clone, Debug)]
pub struct Plan {
    pub form: Form,
    pub clocks: Clocks,
    pub date: i64,
    pub hour: Option<i64>,
    pub after_late: AfterLate,
    /// The vet's window, in ms; of dates whole days.
    pub window: Option<i64>,
    pub valid_until: Option<i64>,
    /// In order; no two at one moment. The bool says that it was at the mark.
    pub records: Vec<(i64, Outcome, bool)>,
    /// Of another course: when, and its own gap.
    pub others: Vec<(i64, Option<i64>)>,
    pub ended: Option<i64>,
}

#[derive(Clone, Debug)]
pub struct Slot {
    pub due: Due,
    pub slack: i64,
    before: Option<i64>,
    after: Option<i64>,
    pub opened: Option<i64>,
    pub filled: Option<(i64, Outcome, bool)>,
    pub timing: Option<Timing>,
    said: Vec<(i64, Outcome)>,
}

#[derive(Clone, Debug)]
pub struct Answer {
    pub slots: Vec<Slot>,
    pub states: Vec<State>,
    pub gates: Vec<Gate>,
    pub opens: Vec<Option<i64>>,
    pub ends: Vec<i64>,
    pub extras: usize,
    pub verdict: Verdict,
}

impl Plan {
    fn due(&self, date: i64, hour: Option<i64>) -> Due {
        hour.map_or(Due::On(date), |hour| {
            Due::At(self.clocks.moment(date * DAY + hour))
        })
    }

    fn dues(&self) -> Vec<Due> {
        let (date, hour) = (self.date, self.hour);
        let not_sooner = |day: i64, at: Option<i64>| day > date || hour.is_none() || at >= hour;
        match &self.form {
            Form::Once => vec![self.due(date, hour)],
            Form::Hours(every, doses) => {
                let first = self.clocks.moment(date * DAY + hour.unwrap());
                (0..*doses)
                    .map(|n| Due::At(first + n * every * HOUR))
                    .collect()
            }
            Form::Days(every, doses) => (0..*doses)
                .map(|n| self.due(date + n * every, hour))
                .collect(),
            Form::Listed(days) => days.iter().map(|n| self.due(date + n, hour)).collect(),
            Form::Times(hours, doses) => {
                let mut hours = hours.clone();
                hours.sort_unstable();
                let each =
                    (date..).flat_map(|day| hours.iter().map(move |hour| (day, Some(*hour))));
                let each = each.filter(|(day, at)| not_sooner(*day, *at));
                each.take(*doses as usize)
                    .map(|(day, at)| self.due(day, at))
                    .collect()
            }
            Form::Weekly(named, at, doses) => {
                let at = at.or(hour);
                let days = (date..).filter(|day| named.contains(&crate::calendar::weekday(*day)));
                let days = days.filter(|day| not_sooner(*day, at));
                days.take(*doses as usize)
                    .map(|day| self.due(day, at))
                    .collect()
            }
        }
    }

    /// None where the vet's window reaches half way to a neighbour, or two fall on one moment.
    fn slots(&self) -> Option<Vec<Slot>> {
        let dues = self.dues();
        let gap = |a: Due, b: Due| match (a, b) {
            (Due::At(a), Due::At(b)) => b - a,
            (Due::On(a), Due::On(b)) => (b - a) * DAY,
            _ => panic!("a date beside a moment"),
        };
        let slot = |i: usize| {
            let before = (i > 0).then(|| gap(dues[i - 1], dues[i]));
            let after = dues.get(i + 1).map(|next| gap(dues[i], *next));
            let smaller = before.into_iter().chain(after).min();
            if smaller.is_some_and(|gap| gap <= 0) {
                return None;
            }
            let slack = match (self.window, dues[i], smaller) {
                (Some(window), _, Some(gap)) if 2 * window >= gap => return None,
                (Some(window), _, _) => window,
                (None, Due::At(_), gap) => gap.map_or(6 * HOUR, |gap| (gap / 8).min(6 * HOUR)),
                (None, Due::On(_), Some(gap)) if gap < 7 * DAY => 0,
                (None, Due::On(_), _) => DAY,
            };
            Some(Slot {
                due: dues[i],
                slack,
                before,
                after,
                opened: None,
                filled: None,
                timing: None,
                said: vec![],
            })
        };
        (0..dues.len()).map(slot).collect()
    }

    fn window_opens(&self, slot: &Slot) -> i64 {
        match slot.due {
            Due::At(at) => at - slot.slack,
            Due::On(date) => self.clocks.day_start(date - slot.slack / DAY),
        }
    }

    /// The first moment that is past its window.
    fn ends(&self, slot: &Slot) -> i64 {
        match slot.due {
            Due::At(at) => at + slot.slack + 1,
            Due::On(date) => self.clocks.day_start(date + slot.slack / DAY + 1),
        }
    }

    /// When a slot opens after a last dose and that dose's own gap, and whether that pushed it.
    fn opens(
        &self,
        slots: &[Slot],
        i: usize,
        last: Option<(i64, Option<i64>)>,
    ) -> Option<(i64, bool)> {
        let slot = &slots[i];
        let window = self.window_opens(slot);
        let Some((last, other)) = last else {
            return Some((window, false));
        };
        let gap = match slot.before {
            Some(gap) => gap,
            // The longer of the two courses' own; neither known: held.
            None => slot.after.into_iter().chain(other).max()?,
        };
        let slack = if i == 0 {
            slot.slack
        } else {
            slot.slack.max(slots[i - 1].slack)
        };
        let pushed = match slot.due {
            Due::At(_) => last + gap - slack,
            Due::On(_) => {
                let days = days_up(gap) - slack / DAY;
                self.clocks.day_start(self.clocks.date(last) + days)
            }
        };
        Some((pushed.max(window), pushed > window))
    }

    fn not_recorded(&self, slot: &Slot) -> Option<i64> {
        let from = match (slot.after.or(slot.before), slot.due) {
            (Some(gap), Due::At(at)) => at + gap / 2,
            (Some(gap), Due::On(date)) => self.clocks.day_start(date + days_up(gap / 2)),
            (None, _) => self.clocks.day_start(self.valid_until? + 1),
        };
        Some(from.max(self.ends(slot)))
    }

    fn apart(&self, due: Due, at: i64) -> i64 {
        match due {
            Due::At(due) => (at - due).abs(),
            Due::On(date) => (self.clocks.date(at) - date).abs(),
        }
    }

    pub fn judge(&self, now: i64) -> Option<Answer> {
        let mut slots = self.slots()?;
        let mut doses: Vec<(i64, Option<i64>)> = self
            .others
            .iter()
            .copied()
            .filter(|(at, _)| *at <= now)
            .collect();
        let mut remarks = Vec::new();
        let mut extras = 0;
        for (at, outcome, marked) in self.records.iter().copied().filter(|(at, ..)| *at <= now) {
            // The nearest by due time; exactly between two, the later.
            let nearest = (0..slots.len())
                .rev()
                .min_by_key(|i| self.apart(slots[*i].due, at));
            let i = nearest.unwrap();
            if !outcome.closes() {
                slots[i].said.push((at, outcome));
                continue;
            }
            let opens = self
                .opens(&slots, i, latest(&doses, at))
                .map(|(opens, _)| opens);
            let ends = self.ends(&slots[i]);
            doses.push((at, None));
            if self.ended.is_some_and(|end| at > end) {
                remarks.push((i + 1, Remark::AfterTheEnd));
                extras += 1;
                continue;
            }
            if slots[i].filled.is_some() {
                remarks.push((i + 1, Remark::Extra));
                extras += 1;
                continue;
            }
            let timing = match opens {
                Some(opens) if opens <= at && at < ends => Timing::InWindow,
                Some(opens) if opens <= at => Timing::Late,
                _ => Timing::TooSoon,
            };
            let due = slots[i].due;
            slots[i].filled = Some((at, outcome, marked));
            slots[i].opened = opens;
            slots[i].timing = Some(timing);
            let moves = self.after_late == AfterLate::CountFromGiven && outcome != Outcome::Unsure;
            if moves && at >= ends {
                for later in slots
                    .iter_mut()
                    .skip(i + 1)
                    .filter(|slot| slot.filled.is_none())
                {
                    later.due = match (later.due, due) {
                        (Due::At(one), Due::At(due)) => Due::At(one + at - due),
                        (Due::On(one), Due::On(due)) => Due::On(one + self.clocks.date(at) - due),
                        _ => panic!("a date beside a moment"),
                    };
                }
            }
        }
        let ended = self.ended.filter(|end| *end <= now);
        let looked = ended.unwrap_or(now);
        let opens = |i: usize, at: i64| self.opens(&slots, i, latest(&doses, at));
        let state = |i: usize| {
            let slot = &slots[i];
            let ends = self.ends(slot);
            match (slot.filled, slot.said.last()) {
                (Some((_, outcome, _)), _) => return State::Said(outcome),
                (None, Some((_, Outcome::Refused))) if looked < ends => {}
                (None, Some((_, outcome))) => return State::Said(*outcome),
                (None, None) => {}
            }
            match (self.not_recorded(slot), opens(i, looked)) {
                (Some(from), _) if looked >= from => State::NotRecorded,
                _ if ended.is_some() => State::Gone,
                (_, None) => State::Held,
                (_, Some((opens, _))) if opens >= ends => State::Held,
                (_, Some((opens, true))) if looked < opens => State::TooSoon,
                (_, Some((opens, false))) if looked < opens => State::Planned,
                _ if looked < ends => State::Open,
                _ => State::Late,
            }
        };
        let states: Vec<State> = (0..slots.len()).map(state).collect();
        let gates = self.gates(&slots, &states, &doses, now);
        for (i, state) in states.iter().enumerate() {
            let said = match state {
                State::Late => Some(Remark::LateNow),
                State::NotRecorded => Some(Remark::NotRecorded),
                State::Held => Some(Remark::Held),
                State::Said(Outcome::Partly) => Some(Remark::Partly),
                State::Said(Outcome::Unsure) => Some(Remark::Unsure),
                State::Said(Outcome::Refused) => Some(Remark::Refused),
                State::Said(Outcome::Missed) => Some(Remark::Missed),
                _ => None,
            };
            remarks.extend(said.map(|said| (i + 1, said)));
            if slots[i].timing == Some(Timing::TooSoon) {
                remarks.push((i + 1, Remark::TooSoon));
            }
            let filled = slots[i].filled.map(|(at, ..)| at);
            let withheld = |(at, said): &(i64, Outcome)| {
                *said == Outcome::Withheld && filled.is_some_and(|filled| *at <= filled)
            };
            if slots[i].said.iter().any(withheld) {
                remarks.push((i + 1, Remark::WithheldBefore));
            }
        }
        let waits = |state: &State| !matches!(state, State::Said(_) | State::Gone);
        let waiting = states.iter().position(waits);
        let past = |limit: i64| self.clocks.date(now) > limit;
        if let (Some(i), None, true) = (waiting, ended, self.valid_until.is_some_and(past)) {
            remarks.push((i + 1, Remark::PastValid));
        }
        let unanswered = states.iter().any(|state| !matches!(state, State::Said(_)));
        let early = ended.is_some() && unanswered;
        let in_spite = |what: &Remark| [Remark::AfterTheEnd, Remark::WithheldBefore].contains(what);
        remarks.retain(|(_, what)| !early || in_spite(what));
        remarks.sort_unstable();
        let well = slots.iter().all(|slot| {
            let at_mark = matches!(slot.filled, Some((_, Outcome::Given, true)));
            at_mark && slot.timing == Some(Timing::InWindow)
        });
        let touched = slots
            .iter()
            .any(|slot| slot.filled.is_some() || !slot.said.is_empty());
        let verdict = match (early, waiting) {
            _ if !remarks.is_empty() => Verdict::Attention(remarks),
            (true, _) => Verdict::EndedEarly,
            (false, Some(_)) if touched => Verdict::OnTrack,
            (false, Some(_)) => Verdict::NotStarted,
            (false, None) if well => Verdict::Complete,
            (false, None) => Verdict::WithExceptions,
        };
        let opens = (0..slots.len()).map(|i| match slots[i].filled {
            Some(_) => slots[i].opened,
            None => opens(i, now).map(|(opens, _)| opens),
        });
        Some(Answer {
            opens: opens.collect(),
            ends: slots.iter().map(|slot| self.ends(slot)).collect(),
            states,
            gates,
            extras,
            verdict,
            slots,
        })
    }

    fn gates(
        &self,
        slots: &[Slot],
        states: &[State],
        doses: &[(i64, Option<i64>)],
        now: i64,
    ) -> Vec<Gate> {
        let waits = |i: usize| !matches!(states[i], State::Said(_) | State::Gone);
        let own = |i: usize| {
            let opens = |last| self.opens(slots, i, last).map(|(opens, _)| opens);
            let due = match slots[i].due {
                Due::At(at) => self.clocks.date(at),
                Due::On(date) => date,
            };
            let day = due.max(self.clocks.date(now));
            match states[i] {
                _ if self.ended.is_some_and(|end| end <= now) => Gate::Ended,
                State::Said(_) => Gate::Answered,
                _ if self.valid_until.is_some_and(|last| day > last) => Gate::PastValid,
                State::Open => Gate::Allowed,
                State::Late if self.after_late == AfterLate::Call => Gate::LateCall,
                State::Late => Gate::AllowedLate,
                // While the one before is still to come: what holds if that is given at its very end.
                State::Planned if i > 0 && waits(i - 1) => {
                    let last = self.ends(&slots[i - 1]) - 1;
                    Gate::NotBefore(opens(Some((last, None))).unwrap())
                }
                State::Planned => Gate::NotBefore(opens(latest(doses, now)).unwrap()),
                State::TooSoon => Gate::TooSoonUntil(opens(latest(doses, now)).unwrap()),
                State::NotRecorded => Gate::NotRecorded,
                State::Held | State::Gone => Gate::Held,
            }
        };
        let own: Vec<Gate> = (0..slots.len()).map(own).collect();
        let open = |gate: &Gate| matches!(gate, Gate::Allowed | Gate::AllowedLate);
        let first_open = own.iter().position(open);
        let unspoken = states
            .iter()
            .position(|s| matches!(s, State::Late | State::NotRecorded));
        let blocked = |i: usize| match own[i] {
            gate if open(&gate) && first_open != Some(i) => first_open,
            Gate::Allowed | Gate::AllowedLate | Gate::NotBefore(_) | Gate::TooSoonUntil(_) => {
                unspoken.filter(|earlier| *earlier < i)
            }
            _ => None,
        };
        let each = own.iter().enumerate();
        each.map(|(i, gate)| blocked(i).map_or(*gate, |by| Gate::BlockedBy(by + 1)))
            .collect()
    }
}

/// The last dose up to a moment, in any course.
fn latest(doses: &[(i64, Option<i64>)], at: i64) -> Option<(i64, Option<i64>)> {
    let before = doses.iter().copied().filter(|(dose, _)| *dose <= at);
    before.max()
}

fn days_up(time: i64) -> i64 {
    (time + DAY - 1).div_euclid(DAY)
}
