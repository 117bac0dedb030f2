//! scruple turns a vet's prescription and the strength on a bottle into the line on the syringe
//! for one animal today, lays out the course, and keeps the record.
//!
//! The rooms stand in layers; a room imports only from the layers above it in this list.
//! `tests/layers.rs` holds them to it, and DEVELOPERS.md walks one command through them.

pub mod sheet;
