//! Exact quantities with units as types.
//!
//! Promises: what is put in comes out unchanged; nothing is a float; body weight and medicine
//! mass, milligrams and units, and grams of paste are different types. Reading and printing text
//! is the business of `notation`.

mod exact;
mod kind;
mod role;
pub mod span;
mod system;

pub use exact::{Exact, OutOfRange};
pub use kind::{Amount, DoseRate, Measure, QuantityError, Strength};
pub use role::{
    Activity, ActivityPerVolume, ActivityRate, BodyWeight, MassPerProduct, MassPerTablet,
    MassPerVolume, MassRate, MedicineMass, ProductMass, Tablets, Volume, VolumeRate,
};
pub use span::Span;
