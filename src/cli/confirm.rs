//! `scruple confirm`: what was still wanting about an instruction has been done.
//!
//! Promises: it changes nothing about what the instruction says.

use crate::cli::Done;
use crate::cli::animal::clean;
use crate::cli::desk::{Desk, New};
use crate::cli::failure::Failure;
use crate::entry::{Confirmation, Happening, Subject};
use crate::ledger::{Ledger, Said};
use crate::round::said;

/// Records that an instruction was read back afterwards, or that its paper came
///
/// Examples:
///   scruple confirm 41 --read-back
///   scruple confirm 41 --paper-came --by AK
#[derive(Debug, clap::Args)]
#[command(verbatim_doc_comment)]
pub(crate) struct Confirm {
    /// The entry of the instruction
    entry: u64,
    /// It was read back to your vet, and was right
    #[arg(long, required_unless_present = "paper_came")]
    read_back: bool,
    /// The paper came, and says the same
    #[arg(long)]
    paper_came: bool,
    /// Your initials
    #[arg(long, value_name = "INITIALS")]
    by: Option<String>,
}

impl Confirm {
    pub fn run(&self, desk: &mut Desk) -> Result<Done, Failure> {
        let mut open = desk.open()?;
        let by = self.by.as_deref();
        let by = by.map(|by| clean("the initials", by)).transpose()?;
        desk.banner(open.settings.demonstration)?;
        let (animal, said) = self.wanted(&open.ledger)?;
        desk.say(format!("{animal}: {}.", said::instruction(said, open.zone)))?;
        desk.confirm("Is that just what your vet says?")?;
        let now = open.now;
        open.record(|ledger| {
            let (animal, said) = self.wanted(ledger)?;
            Ok(vec![New {
                subject: Subject::Animal(animal.to_owned()),
                course: Some(said.instruction.prescription.clone()),
                happened_at: now,
                what: Happening::Confirmation(Confirmation {
                    entry: self.entry,
                    read_back: self.read_back,
                    paper_came: self.paper_came,
                    by: by.clone(),
                }),
            }])
        })?;
        desk.say("Recorded.")?;
        Ok(Done::Well)
    }

    fn wanted<'l>(&self, ledger: &'l Ledger) -> Result<(&'l str, &'l Said), Failure> {
        let all = ledger.animals.iter().flat_map(|patient| {
            let said = patient.instructions.iter();
            said.map(|said| (patient.animal.name.as_str(), said))
        });
        let mut all = all.filter(|(_, said)| said.entry == self.entry);
        all.next().ok_or_else(|| {
            Failure::not_accepted(format!(
                "entry {} is no instruction that holds: 'scruple check' lists those that want something",
                self.entry
            ))
        })
    }
}
