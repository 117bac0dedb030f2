//! The private system of quantities: body weight and medicine mass are different dimensions, so
//! mixing them does not compile.
//!
//! Every unit here is its dimension's base unit with the coefficient one. Conversions are the
//! business of `notation`, in exact integers, because uom's own pass through binary floating point.

#![allow(missing_docs, reason = "uom's macros write these items")]

use crate::quantity::exact::Stored;
use std::marker::PhantomData;

/// One quantity of the system: its module, its name, its dimension and its only unit.
macro_rules! quantities {
    ($($module:ident $name:ident [$($power:ident),*] $unit:ident;)*) => {
        $(pub(crate) mod $module {
            quantity! {
                quantity: $name; "";
                dimension: Q<$($power),*>;
                units { @$unit: 1.0; "", "", ""; }
            }
            impl uom::Conversion<crate::quantity::exact::Stored> for $unit {
                type T = crate::quantity::exact::Stored;
            }
        })*
    };
}

quantities! {
    // M medicine mass, B body weight, V volume, A activity, P product mass, N tablets
    medicine_mass MedicineMass [P1, Z0, Z0, Z0, Z0, Z0] milligram;
    body_weight BodyWeight [Z0, P1, Z0, Z0, Z0, Z0] gram_of_animal;
    volume Volume [Z0, Z0, P1, Z0, Z0, Z0] millilitre;
    activity Activity [Z0, Z0, Z0, P1, Z0, Z0] unit;
    product_mass ProductMass [Z0, Z0, Z0, Z0, P1, Z0] gram_of_product;
    tablets Tablets [Z0, Z0, Z0, Z0, Z0, P1] tablet;
    mass_rate MassRate [P1, N1, Z0, Z0, Z0, Z0] milligram_per_gram;
    activity_rate ActivityRate [Z0, N1, Z0, P1, Z0, Z0] unit_per_gram;
    volume_rate VolumeRate [Z0, N1, P1, Z0, Z0, Z0] millilitre_per_gram;
    mass_per_volume MassPerVolume [P1, Z0, N1, Z0, Z0, Z0] milligram_per_millilitre;
    activity_per_volume ActivityPerVolume [Z0, Z0, N1, P1, Z0, Z0] unit_per_millilitre;
    mass_per_product MassPerProduct [P1, Z0, Z0, Z0, N1, Z0] milligram_per_gram_of_product;
    mass_per_tablet MassPerTablet [P1, Z0, Z0, Z0, Z0, N1] milligram_per_tablet;
    ratio Ratio [Z0, Z0, Z0, Z0, Z0, Z0] one;
}

system! {
    quantities: Q {
        medicine_mass: milligram, M;
        body_weight: gram_of_animal, B;
        volume: millilitre, V;
        activity: unit, A;
        product_mass: gram_of_product, P;
        tablets: tablet, N;
    }
    units: U {
        mod medicine_mass::MedicineMass,
        mod body_weight::BodyWeight,
        mod volume::Volume,
        mod activity::Activity,
        mod product_mass::ProductMass,
        mod tablets::Tablets,
        mod mass_rate::MassRate,
        mod activity_rate::ActivityRate,
        mod volume_rate::VolumeRate,
        mod mass_per_volume::MassPerVolume,
        mod activity_per_volume::ActivityPerVolume,
        mod mass_per_product::MassPerProduct,
        mod mass_per_tablet::MassPerTablet,
        mod ratio::Ratio,
    }
}

/// A quantity of the dimension `D` over the exact storage.
pub(super) type Of<D> = Quantity<D, U<Stored>, Stored>;

/// Builds a quantity from a value already in base units.
pub(super) fn of<D: Dimension + ?Sized>(value: Stored) -> Of<D> {
    Quantity {
        dimension: PhantomData,
        units: PhantomData,
        value,
    }
}
