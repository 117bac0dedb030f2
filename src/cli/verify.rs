//! `scruple verify`: walks the whole book and says what is damaged and what that means.
//!
//! Promises: every entry of every chain is read, and the structure of the file; nothing is changed
//! or mended. An entry that this program does not understand counts as damage.

use crate::book::{Damage, Fault, rescue, verify};
use crate::cli::Done;
use crate::cli::desk::Desk;
use crate::cli::export::archive;
use crate::cli::failure::Failure;
use crate::cli::progress::Progress;
use crate::json;
use crate::json::{Finding, Soundness};
use crate::ledger::Ledger;
use crate::notation::print;

/// Walks the whole book, and names the first damaged entry of each animal, prescription and bottle
///
/// The exit code is 0 when the book is sound, and 3 when any of it is damaged. The chain of entries
/// shows accidents (a failing disk, a bad copy, an editor), not a determined forger.
///
/// Examples:
///   scruple verify
///   scruple verify --format json
#[derive(Debug, clap::Args)]
#[command(verbatim_doc_comment)]
pub(crate) struct Verify {}

impl Verify {
    pub fn run(&self, desk: &mut Desk) -> Result<Done, Failure> {
        let path = desk.book_path()?;
        let interactive = desk.world.interactive;
        let (verdict, read) = {
            let mut progress = Progress::new(desk.world.err, interactive, "Checked");
            let verdict = verify(&path, |done, all| progress.tell(done, all))?;
            progress.stage("Reading what the entries say");
            (verdict, rescue(&path, |_, _| {})?)
        };
        let archive = archive(read);
        let mut damage: Vec<Finding> = verdict.damage.iter().map(finding).collect();
        for fault in Ledger::fold(&archive.entries).faults {
            damage.push(Finding {
                code: "not_understood",
                subject: Some(fault.subject),
                n: None,
                entry: Some(fault.entry),
                words: fault.why,
            });
        }
        let soundness = Soundness {
            demonstration: archive.is_demonstration(),
            sound: damage.is_empty(),
            entries: verdict.entries,
            subjects: verdict.subjects,
            damage,
        };
        if desk.json() {
            desk.say(json::verify(&soundness))?;
        } else {
            say(desk, &soundness)?;
        }
        desk.world.out.flush()?;
        if soundness.sound {
            return Ok(Done::Well);
        }
        Err(Failure::failed(
            "the book is damaged: restore your last backup, or save what can still be read with 'scruple export FOLDER', and ask everyone what was given",
        ))
    }
}

/// So many places are told to a person one by one; a badly damaged book has thousands.
const SAID: usize = 100;

fn say(desk: &mut Desk, soundness: &Soundness) -> Result<(), Failure> {
    desk.banner(soundness.demonstration)?;
    desk.say(format!(
        "Entries read: {}; the animals, prescriptions, bottles and settings they are about: {}.",
        print::count(soundness.entries),
        print::count(soundness.subjects)
    ))?;
    if soundness.sound {
        desk.say("The book is sound: every entry is as it was written.")?;
    }
    name_each(desk, soundness.damage.iter().map(|finding| &finding.words))
}

/// Names what is damaged, a line each, as many as a person reads.
pub(super) fn name_each<D: std::fmt::Display>(
    desk: &mut Desk,
    damage: impl ExactSizeIterator<Item = D>,
) -> Result<(), Failure> {
    let more = damage.len().saturating_sub(SAID);
    for damage in damage.take(SAID) {
        desk.say(format!("DAMAGED. {damage}"))?;
    }
    if more > 0 {
        desk.say(format!(
            "DAMAGED. Places not named here: {}; 'scruple verify --format json' names each.",
            print::count(more as u64)
        ))?;
    }
    Ok(())
}

fn finding(damage: &Damage) -> Finding {
    let code = match damage.fault {
        Fault::EntryChanged => "entry_changed",
        Fault::EntryMissing => "entry_missing",
        Fault::EntryUnknown => "entry_unknown",
        Fault::EntryUnreadable(_) => "entry_unreadable",
        Fault::HeadChanged => "head_changed",
        Fault::HeadMissing => "head_missing",
        Fault::SubjectsMissing { .. } => "subjects_missing",
        Fault::TopChanged => "top_changed",
        Fault::PlanChanged(_) => "plan_changed",
        Fault::File(_) => "file",
    };
    Finding {
        code,
        subject: damage.subject.clone(),
        n: damage.n,
        entry: damage.seq,
        words: damage.to_string(),
    }
}
