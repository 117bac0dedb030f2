//! Finding an animal, a prescription, a bottle or a syringe by what a person typed.
//!
//! Promises: case, spaces and accents do not matter; an unambiguous beginning is enough; a near
//! miss is offered, never taken.

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
    #[error("no {what} named '{typed}' is in the book{}", offer(.near))]
    Unknown {
        /// "animal", "prescription"...
        what: &'static str,
        /// What was typed.
        typed: String,
        /// The nearest names.
        near: Vec<String>,
    },
    /// More than one begins so.
    #[error("'{typed}' could be {}: write more of the name", .could_be.join(" or "))]
    Ambiguous {
        /// What was typed.
        typed: String,
        /// The names it could be.
        could_be: Vec<String>,
    },
}

fn offer(near: &[String]) -> String {
    if near.is_empty() {
        ": look at the list, then write it again".to_owned()
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
        one("animal", typed, &self.animals, |patient| {
            &patient.animal.name
        })
    }

    /// The prescription by its reference, or by the beginning or end of it.
    ///
    /// # Errors
    /// [`FindError`]
    pub fn script(&self, typed: &str) -> Found<'_, Script> {
        one("prescription", typed, &self.scripts, |script| {
            &script.prescription.reference
        })
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
    let begins: Vec<&T> = all
        .iter()
        .filter(|thing| {
            let name = fold(name(thing));
            !wanted.is_empty() && (name.starts_with(&wanted) || name.ends_with(&wanted))
        })
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
