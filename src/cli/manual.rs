//! `scruple manual`: manual pages and shell completions, from the definitions of the commands.
//!
//! Promises: no file that is there is written over without --replace.

use crate::cli::desk::Desk;
use crate::cli::failure::Failure;
use crate::cli::{Arguments, Done};
use clap::CommandFactory;
use clap_complete::Shell;
use std::path::PathBuf;

/// Writes manual pages and shell completions into a folder
///
/// docs/installing.md says where each of them belongs.
///
/// Examples:
///   scruple manual pages
///   scruple manual pages --replace
#[derive(Debug, clap::Args)]
#[command(verbatim_doc_comment)]
pub(crate) struct Manual {
    /// The folder; it is made if it is not there
    folder: PathBuf,
}

impl Manual {
    pub fn run(&self, desk: &mut Desk) -> Result<Done, Failure> {
        let mut command = Arguments::command();
        command.build();
        let mut files: Vec<(String, Vec<u8>)> = Vec::new();
        pages(&command, "scruple", &mut files)?;
        for shell in [Shell::Bash, Shell::Zsh, Shell::Fish, Shell::PowerShell] {
            let mut text = Vec::new();
            let mut own = Arguments::command();
            clap_complete::generate(shell, &mut own, "scruple", &mut text);
            let name = match shell {
                Shell::Bash => "scruple.bash",
                Shell::Zsh => "_scruple",
                Shell::Fish => "scruple.fish",
                _ => "scruple.ps1",
            };
            files.push((name.to_owned(), text));
        }
        if !self.folder.is_dir() {
            std::fs::create_dir(&self.folder).map_err(|error| {
                Failure::not_accepted(format!(
                    "the folder {} could not be made ({error}): name another place",
                    self.folder.display()
                ))
            })?;
        }
        for (name, text) in &files {
            desk.write_file(&self.folder.join(name), text)?;
        }
        desk.say(format!(
            "Written into {}: {} manual pages, and completions for bash, zsh, fish and PowerShell.",
            self.folder.display(),
            files.len() - 4
        ))?;
        Ok(Done::Well)
    }
}

/// The page of a command, then those of its parts.
fn pages(
    command: &clap::Command,
    name: &str,
    files: &mut Vec<(String, Vec<u8>)>,
) -> Result<(), Failure> {
    let mut page = Vec::new();
    let own = command.clone().disable_help_subcommand(true);
    clap_mangen::Man::new(own).render(&mut page)?;
    files.push((format!("{name}.1"), page));
    for part in command
        .get_subcommands()
        .filter(|part| part.get_name() != "help")
    {
        pages(part, &format!("{name}-{}", part.get_name()), files)?;
    }
    Ok(())
}
