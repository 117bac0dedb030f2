//! What there is to say about a course, and the word on it.
//!
//! Promises: complete means that every slot was given, in its window, at its mark, with nothing
//! beside; an end that nobody could help has quiet words; what the vet has spoken about no longer
//! needs attention.

use chrono::{DateTime, NaiveDate, TimeDelta, Utc};

use super::replay::{Line, Replay};
use super::{Adherence, Course, Ending, MarkGate, Order, Outcome, Remark, Standing, State};
use super::{Timing, TopUp, Verdict, What, doses_among};
use crate::schedule::local_date;

/// Everything there is to say about a course that has been gone through.
pub(super) fn course(replay: Replay<'_>) -> Course {
    let states = (0..replay.lines.len())
        .map(|index| replay.state(index))
        .collect::<Vec<_>>();
    let gates = replay.gates(&states);
    let slots = replay.standings(&states, &gates);
    let remarks = replay.remarks(&slots);
    let first = |standing: &Standing| standing.slot.number;
    Course {
        actionable: slots
            .iter()
            .find(|standing| standing.gate.is_open())
            .map(first),
        next: slots.iter().find(|standing| standing.waits()).map(first),
        first_dose: replay.times_gone_in().first().copied(),
        verdict: replay.verdict(&slots, &remarks),
        adherence: replay.adherence(&slots),
        remarks,
        slots,
        extras: replay.extras,
    }
}

impl Replay<'_> {
    fn standings(&self, states: &[State], gates: &[MarkGate]) -> Vec<Standing> {
        let judged = self.lines.iter().zip(states.iter().zip(gates)).enumerate();
        judged
            .map(|(index, (line, (state, gate)))| Standing {
                slot: line.slot.clone(),
                due: line.due,
                opens: match line.fill {
                    Some(fill) => fill.opens,
                    None => self
                        .opens(index, self.last_dose(self.now))
                        .map(|opening| opening.at),
                },
                closes: self.closes(index),
                not_recorded_from: self.not_recorded_from(line),
                state: *state,
                gate: *gate,
                timing: line.fill.map(|fill| fill.timing),
                filled_by: line.fill.map(|fill| fill.record),
                records: line.records.clone(),
                top_up: self.top_up(*state, *gate),
            })
            .collect()
    }

    fn top_up(&self, state: State, gate: MarkGate) -> TopUp {
        let written = self.facts.if_brought_up;
        match state {
            State::PartlyGiven | State::BroughtUp if written => TopUp::AsTheVetSays,
            State::PartlyGiven | State::BroughtUp | State::Unsure if gate.is_open() => {
                TopUp::AsTheVetSays
            }
            State::PartlyGiven | State::BroughtUp | State::Unsure => TopUp::Never,
            _ => TopUp::NoNeed,
        }
    }

    fn remarks(&self, slots: &[Standing]) -> Vec<Remark> {
        let mut remarks = Vec::new();
        for (line, standing) in self.lines.iter().zip(slots) {
            let slot = Some(line.slot.number);
            let now = match standing.state {
                State::Late => Some(What::LateNow),
                State::NotRecorded => Some(What::NotRecorded),
                State::Held => Some(What::Held),
                _ => None,
            };
            remarks.extend(now.map(|what| Remark {
                slot,
                record: None,
                what,
                needs_attention: true,
            }));
            self.remark_on_records(line, standing.state, &mut remarks);
        }
        for extra in &self.extras {
            remarks.push(self.remark(Some(extra.nearest), extra.record.id, extra.why));
        }
        remarks.extend(self.remark_on_dates(slots));
        remarks
    }

    fn remark_on_records(&self, line: &Line, state: State, remarks: &mut Vec<Remark>) {
        let slot = Some(line.slot.number);
        let mut say = |id, what| remarks.push(self.remark(slot, id, what));
        for record in &line.records {
            match record.outcome {
                Outcome::PartlyGiven => say(record.id, What::PartlyGiven),
                Outcome::BroughtUp => say(record.id, What::BroughtUp),
                Outcome::Unsure => say(record.id, What::Unsure),
                Outcome::Given | Outcome::Refused | Outcome::Missed | Outcome::Withheld => {}
            }
        }
        if let Some(fill) = line.fill {
            let record = fill.record;
            match fill.timing {
                Timing::InWindow => {}
                Timing::TooSoon if fill.after_another => say(record.id, What::GivenTooSoon),
                Timing::TooSoon => say(record.id, What::GivenBeforeItsWindow),
                Timing::Late => say(record.id, What::GivenLate),
                Timing::Instructed => say(record.id, What::GivenAsInstructed),
            }
            if !record.at_mark && record.outcome == Outcome::Given {
                say(record.id, What::NotAtMark);
            }
            // Whoever records that a dose is withheld records what the vet has said.
            let withheld = line.records.iter().any(|before| {
                before.outcome == Outcome::Withheld && before.happened <= record.happened
            });
            if withheld || self.skipped(line.slot.number, record.happened) {
                say(
                    record.id,
                    match record.outcome {
                        Outcome::Unsure => What::UnsureAgainstInstruction,
                        _ => What::AgainstInstruction,
                    },
                );
            }
        }
        let (said, what) = match state {
            State::Refused => (Outcome::Refused, What::Refused),
            State::Missed => (Outcome::Missed, What::Missed),
            State::Withheld if self.skipped(line.slot.number, self.now) => {
                (Outcome::Withheld, What::Withheld)
            }
            State::Withheld => (Outcome::Withheld, What::RecordedAsWithheld),
            _ => return,
        };
        match line.records.iter().rfind(|record| record.outcome == said) {
            Some(record) => say(record.id, what),
            // Left out on an instruction; nobody had to record it.
            None => remarks.push(Remark {
                slot,
                record: None,
                what,
                needs_attention: false,
            }),
        }
    }

    fn remark_on_dates(&self, slots: &[Standing]) -> Option<Remark> {
        if self.has_ended() {
            return None;
        }
        let today = local_date(self.now, self.facts.zone);
        let past = |date: Option<NaiveDate>| date.is_some_and(|date| today > date);
        let slot = slots.iter().find(|standing| standing.state.is_pending());
        let what = match slot {
            Some(_) if past(self.facts.valid_until) => What::ValidUntilPassed,
            _ if past(self.schedule.review()) && self.ending().is_none() => What::ReviewPassed,
            _ => return None,
        };
        let slot = slot.map(|standing| standing.slot.number);
        Some(Remark {
            slot,
            record: None,
            what,
            needs_attention: true,
        })
    }

    fn remark(&self, slot: Option<u32>, record: u64, what: What) -> Remark {
        let mut said = self
            .facts
            .instructions
            .iter()
            .filter(|said| said.at <= self.now);
        let settled = said.any(|said| said.order == Order::Settled { record });
        let needs_attention = !settled && what.calls_for_the_vet();
        Remark {
            slot,
            record: Some(record),
            what,
            needs_attention,
        }
    }

    fn skipped(&self, slot: u32, at: DateTime<Utc>) -> bool {
        self.left_out(slot, at).is_some()
    }

    fn verdict(&self, slots: &[Standing], remarks: &[Remark]) -> Verdict {
        let pending = slots.iter().any(|standing| standing.state.is_pending());
        let early = self.ended_early(slots, pending);
        let open_ended = self.schedule.review().is_some() && self.ending().is_none();
        let untouched = slots.iter().all(|standing| standing.records.is_empty());
        // After an early end only what was given in spite of it still matters.
        let matters = |what: What| {
            use What::{AfterTheEnd, AgainstInstruction, UnsureAgainstInstruction};
            let in_spite = [AfterTheEnd, AgainstInstruction, UnsureAgainstInstruction];
            early.is_none() || in_spite.contains(&what)
        };
        let attention = remarks
            .iter()
            .filter(|remark| remark.needs_attention && matters(remark.what));
        let attention = attention.copied().collect::<Vec<_>>();
        match early {
            _ if !attention.is_empty() => Verdict::NeedsAttention(attention),
            Some(how) => Verdict::EndedEarly(how),
            None if pending && untouched => Verdict::NotStarted,
            None if pending || open_ended => Verdict::OnTrack,
            None if remarks.is_empty() => Verdict::Complete,
            None => Verdict::CompleteWithExceptions(remarks.to_vec()),
        }
    }

    /// How the course ended before its last slot, if it did. Slots before a stop are still waited
    /// for; and the vet's stop is how a course without a number of doses is meant to end.
    fn ended_early(&self, slots: &[Standing], pending: bool) -> Option<Ending> {
        let how = self.ending()?;
        let open_ended = self.schedule.review().is_some();
        let cut_short = open_ended || slots.iter().any(|standing| !standing.state.is_answered());
        let begun = slots.iter().any(|standing| standing.filled_by.is_some());
        let as_meant = open_ended && how == Ending::StoppedByVet && begun;
        let goes_on = pending && !self.has_ended();
        (cut_short && !as_meant && !goes_on).then_some(how)
    }

    /// When doses of this course went in, in order.
    fn times_gone_in(&self) -> Vec<DateTime<Utc>> {
        let tied = self.lines.iter();
        let tied = tied.flat_map(|line| doses_among(&line.records));
        let all = tied.chain(self.extras.iter().map(|extra| &extra.record));
        let mut times = all
            .filter(|r| r.outcome.went_in())
            .map(|r| r.happened)
            .collect::<Vec<_>>();
        times.sort_unstable();
        times
    }

    fn adherence(&self, slots: &[Standing]) -> Adherence {
        let mut sum = Adherence::default();
        for standing in slots {
            let count = match (standing.state, standing.timing) {
                (State::Given, Some(Timing::TooSoon)) => &mut sum.too_soon,
                (State::Given, Some(Timing::Late)) => &mut sum.late,
                (State::Given, _) => &mut sum.in_window,
                (State::PartlyGiven | State::BroughtUp, _) => &mut sum.in_part,
                (State::Unsure, _) => &mut sum.unsure,
                (State::Refused | State::Missed | State::Withheld, _) => &mut sum.not_given,
                (State::NotRecorded, _) => &mut sum.not_recorded,
                _ => continue,
            };
            *count += 1;
        }
        for extra in &self.extras {
            match extra.record.outcome {
                Outcome::Unsure => sum.unsure += 1,
                _ => sum.extra += 1,
            }
        }
        sum.longest_gap = longest_gap(&self.times_gone_in());
        sum
    }
}

impl What {
    /// Whether it wants attention until the vet has spoken.
    fn calls_for_the_vet(self) -> bool {
        use What::{GivenAsInstructed, GivenLate, NotAtMark, RecordedAsWithheld, Withheld};
        let quiet = [
            GivenAsInstructed,
            GivenLate,
            NotAtMark,
            RecordedAsWithheld,
            Withheld,
        ];
        !quiet.contains(&self)
    }
}

fn longest_gap(times: &[DateTime<Utc>]) -> Option<TimeDelta> {
    times
        .iter()
        .zip(times.iter().skip(1))
        .map(|(a, b)| *b - *a)
        .max()
}
