//! The words for where a slot stands, what there is to remark, and how a course ended.
//!
//! Promises: plain and without reproach; the clock alone never says "missed".

use std::fmt;

use super::{Remark, State, What};

impl fmt::Display for State {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(match self {
            Self::Planned => "planned",
            Self::TooSoon => "too soon",
            Self::Open => "open",
            Self::Late => "late",
            Self::NotRecorded => "not recorded",
            Self::Held => "held",
            Self::Given => "given",
            Self::PartlyGiven => "partly given",
            Self::BroughtUp => "brought up",
            Self::Refused => "refused by the animal",
            Self::Missed => "missed",
            Self::Withheld => "withheld",
            Self::Unsure => "unsure",
            Self::Gone => "none: the course has ended",
        })
    }
}

impl What {
    /// What it is, without what to do about it.
    pub fn fact(self) -> String {
        let whole = self.to_string();
        whole.split(": ").next().unwrap_or_default().to_owned()
    }
}

impl Remark {
    /// What it is, and what to do about it where that is still to be done.
    pub fn words(&self) -> String {
        match self.needs_attention {
            true => self.what.to_string(),
            false => self.what.fact(),
        }
    }
}

impl fmt::Display for What {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(match self {
            Self::LateNow => "late",
            Self::NotRecorded => {
                "not recorded: ask everyone who could have given it; if unsure do not give, call \
                 your vet"
            }
            Self::Held => "held: too close to the last dose all through its window; ask your vet",
            Self::GivenTooSoon => "given too soon after the dose before: call your vet now",
            Self::GivenBeforeItsWindow => "given before its window opened: call your vet now",
            Self::GivenLate => "given late",
            Self::GivenAsInstructed => "given outside its window on the vet's instruction",
            Self::AgainstInstruction => {
                "given though the vet had said not to give it: call your vet now"
            }
            Self::UnsureAgainstInstruction => {
                "unsure whether it was given, though the vet had said not to give it: call your vet \
                 now"
            }
            Self::NotAtMark => "what was drawn was not the mark, or there was no mark",
            Self::PartlyGiven => "partly given: give no more of it unless your vet says so",
            Self::BroughtUp => "brought up: give no more of it unless your vet says so",
            Self::Refused => "refused by the animal: ask your vet",
            Self::Missed => "missed: ask your vet",
            Self::Withheld => "withheld on the vet's instruction",
            Self::RecordedAsWithheld => "withheld; you recorded that the vet said to leave it out",
            Self::Unsure => "unsure whether it was given: do not give it; call your vet",
            Self::Extra => "given beside the doses of the schedule: call your vet now",
            Self::UnsureExtra => {
                "unsure whether one was given beside the doses of the schedule: do not give it; \
                 call your vet now"
            }
            Self::AfterTheEnd => "recorded for a time after the course had ended: check the time",
            Self::ReviewPassed => "the review date has passed: ask your vet whether it goes on",
            Self::ValidUntilPassed => {
                "the prescription is no longer valid and doses are left: ask your vet"
            }
        })
    }
}
