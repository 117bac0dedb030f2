//! The paper: printed pages laid out in millimetres, checked before they are written, and turned
//! into PDF files.
//!
//! Promises: black and white only; text is measured, wrapped and never run over; a letter that
//! the faces cannot print is an error, never a blank; the same input gives the same bytes.
//! Does not: compute a dose, read a clock, open a file, or decide which doses stand on a page.
//! It prints what it is given.

mod ahead;
pub mod barrel;
pub mod block;
pub mod card;
pub mod course;
pub mod face;
pub mod handover;
pub mod leaf;
pub mod page;
pub mod pdf;
pub mod report;
pub mod table;
pub mod text;
pub mod weighin;

use crate::prescription::{Prescription, Site};
use thiserror::Error;
use unicode_normalization::UnicodeNormalization;

/// Why a sheet could not be made. Nothing is printed in part.
#[derive(Debug, Clone, PartialEq, Eq, Error)]
pub enum SheetError {
    /// The faces hold no shape for a character of this text.
    #[error(
        "cannot print the character {} in '{}': write it with another letter",
        shown(*.character), readable(.text)
    )]
    MissingGlyph {
        /// The character that cannot be printed.
        character: char,
        /// The text that it stands in.
        text: String,
    },
    /// A face that is built into the program could not be read.
    #[error("the built-in typeface {face} cannot be read: install the program again")]
    Face {
        /// Its name.
        face: &'static str,
    },
    /// A mark that is not one of the syringe's lines.
    #[error("line {mark} is not on a syringe of {lines} lines: check the syringe's record")]
    OffTheBarrel {
        /// The line asked for.
        mark: u32,
        /// How many lines the syringe has after 0.
        lines: u32,
    },
    /// One unsplittable part is taller than a page.
    #[error(
        "the part '{}' does not fit on one page: shorten the text that is printed there",
        readable(.part)
    )]
    TooTall {
        /// What stands at the head of that part.
        part: String,
    },
    /// The PDF writer reported a fault.
    #[error("the PDF could not be written: {0}")]
    Writer(String),
}

/// A character as it can be shown in a message: itself with its code, or only its code.
fn shown(character: char) -> String {
    let code = format!("code {:04X}", u32::from(character));
    if character.is_control() {
        code
    } else {
        format!("'{character}' ({code})")
    }
}

/// Text without the control characters that must never reach a terminal.
fn readable(text: &str) -> String {
    text.chars()
        .map(|c| {
            if c.is_control() {
                char::REPLACEMENT_CHARACTER
            } else {
                c
            }
        })
        .collect()
}

/// Whether every letter of a text can be printed, so that a name is refused when it is typed
/// rather than on the day of its card.
///
/// # Errors
/// [`SheetError::MissingGlyph`] for the first that cannot.
pub fn can_print(text: &str) -> Result<(), SheetError> {
    all_printed(&[text.to_owned()])
}

/// Whether every letter of a prescription that stands on a sheet can be printed.
///
/// # Errors
/// [`SheetError::MissingGlyph`] for the first that cannot.
pub fn can_print_all_of(prescription: &Prescription) -> Result<(), SheetError> {
    let (vet, medicine) = (&prescription.vet, &prescription.medicine);
    let mut texts = vec![
        &prescription.reference,
        &vet.name,
        &vet.phone,
        &medicine.name,
    ];
    let perhaps = [
        &vet.practice,
        &vet.out_of_hours,
        &medicine.form,
        &medicine.ingredient,
        &prescription.if_missed,
        &prescription.if_brought_up,
    ];
    texts.extend(perhaps.into_iter().flatten());
    texts.extend(&prescription.stop_and_call_if);
    texts.extend(&prescription.vet_notes);
    texts.extend(
        prescription
            .follow_ups
            .iter()
            .map(|follow_up| &follow_up.what),
    );
    let mut words: Vec<String> = texts.into_iter().cloned().collect();
    words.push(prescription.route.words());
    words.extend(prescription.sites.iter().map(Site::words));
    words.extend(prescription.doses.iter().map(|dose| dose.text().to_owned()));
    all_printed(&words)
}

fn all_printed(texts: &[String]) -> Result<(), SheetError> {
    let faces = face::Faces::load()?;
    for text in texts {
        let joined: String = text.nfc().collect();
        for face in face::Face::ALL {
            faces.width(&joined, face::Style::new(face, 11.0))?;
        }
    }
    Ok(())
}
