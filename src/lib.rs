//! scruple turns a vet's prescription and the strength on a bottle into the line on the syringe
//! for one animal today, lays out the course, and keeps the record.
//!
//! The rooms stand in layers; a room imports only from the layers above it in this list.
//! `tests/layers.rs` holds them to it, and DEVELOPERS.md walks one command through them.

#[macro_use]
extern crate uom;

pub mod animal;
pub mod book;
pub mod bottle;
pub mod caution;
pub mod cli;
pub mod course;
pub mod dose;
pub mod entry;
pub mod ics;
pub mod json;
pub mod ledger;
pub mod notation;
pub mod phone;
pub mod prescription;
pub mod quantity;
pub mod rack;
pub mod report;
pub mod round;
pub mod schedule;
pub mod settings;
pub mod sheet;
pub mod terminal;
pub mod transfer;
pub mod zone;
