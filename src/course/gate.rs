//! When a slot opens and closes, where it stands, and whether a mark may be shown for it.
//!
//! Promises: a slot never opens sooner than its gap after the last dose, less the larger slack, and
//! a dose given inside its window never holds the next one. At most one slot of a course is open
//! for giving at a time.

use chrono::{DateTime, Days, NaiveDate, TimeDelta, Utc};

use super::replay::{Dose, Line, Replay};
use super::{Ending, MarkGate, Outcome, State, own_gap};
use crate::schedule::{AfterLate, Due, day_start, local_date};

/// The first moment at which a slot may be given.
#[derive(Clone, Copy)]
pub(super) struct Opening {
    pub(super) at: DateTime<Utc>,
    /// Whether the last dose, and not the slot's own window, decides it.
    pub(super) pushed: bool,
    /// Before when it would be too soon after the last dose; none where there was none.
    pub(super) after_last: Option<DateTime<Utc>>,
}

impl Replay<'_> {
    /// When a slot opens after the last dose; `None` where no gap to that dose is known.
    pub(super) fn opens(&self, index: usize, last: Option<Dose>) -> Option<Opening> {
        let line = self.lines.get(index)?;
        let zone = self.facts.zone;
        let window = line.due.opens(line.slot.slack, zone);
        let Some(last) = last else {
            return Some(Opening {
                at: window,
                pushed: false,
                after_last: None,
            });
        };
        let before = index.checked_sub(1).and_then(|i| self.lines.get(i));
        let gap = match line.slot.gap_before {
            Some(gap) => gap,
            // Before the first slot there is no gap of its own: the longer of the two courses'.
            None => own_gap(&line.slot).max(last.gap)?,
        };
        let slack = before.map_or(line.slot.slack, |before| {
            before.slot.slack.max(line.slot.slack)
        });
        let after_last = match line.due {
            Due::At(_) => last.at + gap - slack,
            Due::On(_) => {
                let days = days_up(gap) - slack.num_days();
                // Fewer than none where the slack is wider than another course's gap.
                day_start(local_date(last.at, zone) + TimeDelta::days(days), zone)
            }
        };
        Some(Opening {
            at: window.max(after_last),
            pushed: after_last > window,
            after_last: Some(after_last),
        })
    }

    /// The last moment of a slot's window.
    pub(super) fn closes(&self, index: usize) -> DateTime<Utc> {
        let line = self.lines.get(index);
        line.map_or(self.now, |line| {
            line.due.closes(line.slot.slack, self.facts.zone)
        })
    }

    /// From when a slot that nobody spoke of is not recorded: half its gap after it is due, of a
    /// single slot when the prescription is no longer valid.
    pub(super) fn not_recorded_from(&self, line: &Line) -> Option<DateTime<Utc>> {
        let zone = self.facts.zone;
        let closed = line.due.closes(line.slot.slack, zone) + TimeDelta::nanoseconds(1);
        let from = match (own_gap(&line.slot), line.due) {
            (Some(gap), Due::At(due)) => due + gap / 2,
            (Some(gap), Due::On(date)) => day_start(date + TimeDelta::days(days_up(gap / 2)), zone),
            (None, _) => day_start(self.facts.valid_until? + Days::new(1), zone),
        };
        Some(from.max(closed))
    }

    /// Where a slot stands now, or stood when the course ended.
    pub(super) fn state(&self, index: usize) -> State {
        let Some(line) = self.lines.get(index) else {
            return State::Gone;
        };
        if let Some(fill) = line.fill {
            return match fill.record.outcome {
                Outcome::PartlyGiven => State::PartlyGiven,
                Outcome::BroughtUp => State::BroughtUp,
                Outcome::Unsure => State::Unsure,
                _ => State::Given,
            };
        }
        let ended = self
            .facts
            .ended
            .map(|end| end.at)
            .filter(|at| *at <= self.now);
        let at = ended.unwrap_or(self.now);
        let closes = self.closes(index);
        match self.last_word(line, self.now) {
            Some(Outcome::Missed) => return State::Missed,
            Some(Outcome::Withheld) => return State::Withheld,
            Some(Outcome::Refused) if at > closes => return State::Refused,
            _ => {}
        }
        if self
            .stopped_from(self.now)
            .is_some_and(|from| line.slot.number >= from)
        {
            return State::Gone;
        }
        let opens = self.opens(index, self.last_dose(at));
        match opens {
            _ if self.not_recorded_from(line).is_some_and(|from| at >= from) => State::NotRecorded,
            _ if ended.is_some() => State::Gone,
            None => State::Held,
            Some(opens) if opens.at > closes => State::Held,
            Some(opens) if at < opens.at && opens.pushed => State::TooSoon,
            Some(opens) if at < opens.at => State::Planned,
            _ if at <= closes => State::Open,
            _ => State::Late,
        }
    }

    /// The latest word, up to a moment, on a slot that no dose has filled.
    pub(super) fn last_word(&self, line: &Line, at: DateTime<Utc>) -> Option<Outcome> {
        let skipped = self.left_out(line.slot.number, at);
        let skipped = skipped.map(|at| (at, Outcome::Withheld)).into_iter();
        let recorded = line
            .records
            .iter()
            .map(|record| (record.happened, record.outcome));
        skipped.chain(recorded).max().map(|(_, outcome)| outcome)
    }

    /// Whether a mark may be shown for each slot, given where each stands.
    pub(super) fn gates(&self, states: &[State]) -> Vec<MarkGate> {
        let own = states
            .iter()
            .enumerate()
            .map(|(i, state)| self.own_gate(i, *state));
        let own = own.collect::<Vec<_>>();
        let number = |i: usize| self.lines.get(i).map(|line| line.slot.number);
        let open = |i: &usize| own.get(*i).is_some_and(|gate| gate.is_open());
        let told = (0..own.len())
            .filter(open)
            .find(|i| self.told_to_dose(*i, self.now));
        let first_open = told.or_else(|| (0..own.len()).find(open));
        let waiting = states.iter().position(|state| state.blocks_later());
        let blocked_by = |i: usize, gate: &MarkGate| match gate {
            _ if Some(i) == told => None,
            gate if gate.is_open() && Some(i) != first_open => first_open,
            MarkGate::NotBefore(_) | MarkGate::TooSoonUntil(_) => waiting.filter(|w| *w < i),
            gate if gate.is_open() => waiting.filter(|w| *w < i),
            _ => None,
        };
        let each = own.iter().enumerate();
        each.map(|(i, gate)| {
            blocked_by(i, gate)
                .and_then(number)
                .map_or(*gate, MarkGate::BlockedBy)
        })
        .collect()
    }

    /// The gate of a slot by itself, whatever the slots before it do.
    fn own_gate(&self, index: usize, state: State) -> MarkGate {
        let told = self.told_to_dose(index, self.now);
        if self.has_ended() || state == State::Gone {
            return MarkGate::Ended;
        }
        if state.is_answered() && (state == State::Given || !told) {
            return MarkGate::Answered;
        }
        if let Some(passed) = self.past_its_dates(index) {
            return passed;
        }
        let opens = self
            .opens(index, self.last_dose(self.now))
            .map(|opening| opening.at);
        match (state, self.schedule.after_late(), opens) {
            _ if told => MarkGate::Allowed,
            (State::Open, _, _) => MarkGate::Allowed,
            (State::Late, AfterLate::Call, _) => MarkGate::LateCall,
            (State::Late, _, _) => MarkGate::AllowedLate,
            (State::Planned, _, Some(opens)) => {
                MarkGate::NotBefore(self.opens_after_the_one_before(index).unwrap_or(opens))
            }
            (State::TooSoon, _, Some(opens)) => MarkGate::TooSoonUntil(opens),
            (State::NotRecorded, _, _) => MarkGate::NotRecorded,
            _ => MarkGate::Held,
        }
    }

    /// When a slot opens if the one before it is still to be given, and is given at the very end of
    /// its window: what a card that shows both may say of the second.
    fn opens_after_the_one_before(&self, index: usize) -> Option<DateTime<Utc>> {
        let before = index
            .checked_sub(1)
            .filter(|before| self.state(*before).is_pending())?;
        let last = Dose {
            at: self.closes(before),
            gap: None,
        };
        self.opens(index, Some(last)).map(|opening| opening.at)
    }

    fn past_its_dates(&self, index: usize) -> Option<MarkGate> {
        let zone = self.facts.zone;
        let day = self
            .lines
            .get(index)?
            .due
            .date(zone)
            .max(local_date(self.now, zone));
        let past = |limit: Option<NaiveDate>| limit.filter(|limit| day > *limit);
        past(self.facts.valid_until)
            .map(MarkGate::ValidUntilPassed)
            .or_else(|| past(self.schedule.review()).map(MarkGate::ReviewPassed))
    }

    pub(super) fn has_ended(&self) -> bool {
        self.facts.ended.is_some_and(|end| end.at <= self.now)
    }

    /// How the course ended, if it did.
    pub(super) fn ending(&self) -> Option<Ending> {
        let ended = self
            .facts
            .ended
            .filter(|end| end.at <= self.now)
            .map(|end| end.how);
        ended.or(self.stopped_from(self.now).map(|_| Ending::StoppedByVet))
    }
}

/// Whole days, rounded up.
fn days_up(time: TimeDelta) -> i64 {
    let whole = time.num_days();
    if time > TimeDelta::days(whole) {
        whole + 1
    } else {
        whole
    }
}
