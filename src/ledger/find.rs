//! Finding an animal, a prescription, a bottle or a syringe by what a person typed.
//!
//! Promises: case, spaces and accents do not matter; an unambiguous beginning is enough; a near
//! miss is offered, never taken.

use crate::entry::Subject;
use crate::ledger::{Container, Ledger, Patient, Script};
use crate::notation::fold::is_unseen;
use crate::notation::fold::{fold, near, same};
use crate::rack::{Syringe, Use};

/// One of the ledger's things.
pub type Found<'a, T> = Result<&'a T, FindError>;

/// Nothing, or too much, was found.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
pub enum FindError {
    /// None of that name.
    #[error("no {what} named '{typed}' is in the book{}", offer(.what, .near))]
    Unknown {
        /// "animal", "prescription"...
        what: &'static str,
        /// What was typed.
        typed: String,
        /// The nearest names.
        near: Vec<String>,
    },
    /// It is in the book, and damaged.
    #[error(
        "what the book holds of {what} is damaged, so nothing can be added to it or read from it: write on paper what happened and when, call {call} before anything is given, and go on with the others here. To mend it: 'scruple export FOLDER', then go on in your last backup instead of this book, and type into it, each with --at, what the paper and the export have and it has not"
    )]
    Damaged {
        /// What it is: "Nubbet", "prescription DEMO-0001".
        what: String,
        /// Whom to call: a vet's name and number.
        call: String,
    },
    /// More than one begins so.
    #[error("'{typed}' could be {}: write more of the name", few(.could_be))]
    Ambiguous {
        /// What was typed.
        typed: String,
        /// The names it could be.
        could_be: Vec<String>,
    },
}

/// So many names are read one by one; a large book has a thousand that begin alike.
const NAMED: usize = 8;

fn few(names: &[String]) -> String {
    let named: Vec<&str> = names.iter().take(NAMED).map(String::as_str).collect();
    match names.len().saturating_sub(NAMED) {
        0 => named.join(" or "),
        more => format!("{} or one of {more} more", named.join(", ")),
    }
}

fn offer(what: &str, near: &[String]) -> String {
    let list = match what {
        "animal" => "scruple animal list",
        "bottle" => "scruple bottle list",
        "prescription" => "scruple check",
        _ => "scruple syringe list",
    };
    if near.is_empty() {
        format!(": look at '{list}', then write it again")
    } else {
        format!(": did you mean {}?", near.join(" or "))
    }
}

impl Ledger {
    /// The animal by its name, or by the beginning of it.
    ///
    /// # Errors
    /// [`FindError`]
    pub fn animal(&self, typed: &str) -> Found<'_, Patient> {
        let found = one("animal", typed, &self.animals, |patient| {
            &patient.animal.name
        });
        found.map_err(|fault| self.damaged_animal(typed).unwrap_or(fault))
    }

    /// The prescription by its reference, or by the beginning of it or of one of its parts: of
    /// "DEMO-0012" that is "DEMO" or "0012", but never "2".
    ///
    /// # Errors
    /// [`FindError`]
    pub fn script(&self, typed: &str) -> Found<'_, Script> {
        let found = one("prescription", typed, &self.scripts, |script| {
            &script.prescription.reference
        });
        found.map_err(|fault| self.damaged_script(typed).unwrap_or(fault))
    }

    /// That an animal of this name, or of a name that begins so, is in the book and damaged;
    /// nothing where no such one is.
    pub fn damaged_animal(&self, typed: &str) -> Option<FindError> {
        let name = self.damaged_named(typed, |subject| match subject {
            Subject::Animal(name) => Some(name),
            _ => None,
        })?;
        let scripts = self.scripts.iter();
        let mut own = scripts.filter(|script| script.prescription.is_for(&name));
        Some(FindError::Damaged {
            call: call(own.next()),
            what: name,
        })
    }

    fn damaged_script(&self, typed: &str) -> Option<FindError> {
        let reference = self.damaged_named(typed, |subject| match subject {
            Subject::Prescription(reference) => Some(reference),
            _ => None,
        })?;
        Some(FindError::Damaged {
            what: format!("prescription {reference}"),
            call: call(None),
        })
    }

    fn damaged_named(
        &self,
        typed: &str,
        name: impl Fn(Subject) -> Option<String>,
    ) -> Option<String> {
        let wanted = fold(typed);
        let subjects = self.damaged.iter().filter_map(|key| Subject::from_key(key));
        let mut names = subjects.filter_map(name);
        names.find(|name| !wanted.is_empty() && fold(name).starts_with(&wanted))
    }

    /// The bottle by its number.
    ///
    /// # Errors
    /// [`FindError`]
    pub fn bottle(&self, number: u32) -> Found<'_, Container> {
        self.bottles
            .iter()
            .find(|open| open.bottle.number == number)
            .ok_or_else(|| FindError::Unknown {
                what: "bottle",
                typed: number.to_string(),
                near: self
                    .bottles
                    .iter()
                    .map(|open| open.bottle.number.to_string())
                    .collect(),
            })
    }

    /// The syringe by its short form, "0.3/0.005" or "0.3 mL/0.005 mL", of the right use where
    /// one is named.
    ///
    /// # Errors
    /// [`FindError`]
    pub fn syringe(&self, typed: &str, used_for: Option<Use>) -> Found<'_, Syringe> {
        let bare = |text: &str| fold(text).replace("ml", "");
        let of_use =
            |syringe: &&Syringe| used_for.is_none_or(|used_for| syringe.used_for() == used_for);
        self.syringes
            .iter()
            .filter(of_use)
            .find(|syringe| bare(&syringe.short()) == bare(typed))
            .ok_or_else(|| FindError::Unknown {
                what: "syringe for this use",
                typed: typed.chars().filter(|c| !is_unseen(*c)).take(40).collect(),
                near: self
                    .syringes
                    .iter()
                    .filter(of_use)
                    .map(Syringe::short)
                    .collect(),
            })
    }
}

/// The vet of a prescription with the number to ring.
fn call(script: Option<&Script>) -> String {
    let vet = script.map(|script| &script.prescription.vet);
    vet.map_or("your vet".to_owned(), |vet| {
        format!("{}, {},", vet.name, vet.phone)
    })
}

fn one<'a, T>(
    what: &'static str,
    typed: &str,
    all: &'a [T],
    name: impl Fn(&T) -> &String,
) -> Found<'a, T> {
    if let Some(exact) = all.iter().find(|thing| same(name(thing), typed)) {
        return Ok(exact);
    }
    let wanted = fold(typed);
    // A digit in the middle of a reference names nothing.
    let begins_so = |name: &str| {
        let parts = name.split(|c: char| !c.is_alphanumeric());
        let mut parts = parts.map(fold).filter(|part| !part.is_empty());
        fold(name).starts_with(&wanted) || parts.any(|part| part.starts_with(&wanted))
    };
    let begins: Vec<&T> = all
        .iter()
        .filter(|thing| !wanted.is_empty() && begins_so(name(thing)))
        .collect();
    let typed: String = typed.chars().filter(|c| !is_unseen(*c)).take(40).collect();
    match begins.as_slice() {
        [only] => Ok(only),
        [] => {
            let names: Vec<&str> = all.iter().map(|thing| name(thing).as_str()).collect();
            let near = near(&typed, names)
                .into_iter()
                .take(3)
                .map(str::to_owned)
                .collect();
            Err(FindError::Unknown { what, typed, near })
        }
        several => Err(FindError::Ambiguous {
            typed,
            could_be: several.iter().map(|thing| name(thing).clone()).collect(),
        }),
    }
}
