//! Quantities that do not belong together do not compile.
//!
//! The wrong lines stand below under `cfg(mixed)`, each with the error code that it must meet. The
//! test compiles this very file again with that `cfg` and reads the compiler's codes, so what is
//! compiled plainly beside them is the control: there, every error would be one too many.

#![allow(
    clippy::indexing_slicing,
    clippy::unwrap_used,
    reason = "a test may stop at once"
)]

use scruple::quantity::{
    Activity, BodyWeight, Exact, MassPerProduct, MassPerVolume, MassRate, MedicineMass, OutOfRange,
    ProductMass, Strength,
};
use serde_json::Value;
use std::collections::BTreeSet;
use std::process::Command;

#[cfg(mixed)]
mod mixed {
    use super::*;
    use scruple::quantity::{Amount, Tablets, Volume};

    fn milligrams_plus_units(mg: MedicineMass, units: Activity) {
        let _ = mg.plus(units); //~ E0308
        let _ = mg + units; //~ E0369
        let _ = mg < units; //~ E0308
    }

    fn dose_rate_as_strength(rate: MassRate, dose: MedicineMass) {
        let _ = Strength::MassPerVolume(rate); //~ E0308
        let _: MassPerVolume = rate; //~ E0308
        let _: MassPerVolume = rate.into(); //~ E0277
        let _ = rate.measure_of(dose); //~ E0599
    }

    fn body_weight_as_medicine(weight: BodyWeight, strength: MassPerVolume) {
        let _ = strength.measure_of(weight); //~ E0308
        let _ = Amount::Mass(weight); //~ E0308
    }

    fn paste_as_medicine(paste: ProductMass, rate: MassRate, strength: MassPerProduct) {
        let _ = strength.measure_of(paste); //~ E0308
        let _ = rate.for_weight(paste); //~ E0308
        let _: MedicineMass = paste; //~ E0308
    }

    fn dose_rate_plus_percentage(rate: MassRate, percentage: Exact) {
        let _ = rate.plus(percentage); //~ E0308
        let _ = rate + percentage; //~ E0369
    }

    fn tablets_as_volume(tablets: Tablets, volume: Volume) {
        let _ = volume.over(tablets); //~ E0308
    }

    fn what_is_stored(volume: Volume) {
        let _ = volume.0; //~ E0616
        let _ = volume.value; //~ E0609
    }
}

/// The control: the same steps with what belongs there.
#[test]
fn what_belongs_together_does_compile() -> Result<(), OutOfRange> {
    let of = |n| Exact::whole(n);
    let mg = MedicineMass::from_milligrams(of(3));
    assert_eq!(mg.plus(mg)?.milligrams(), of(6));
    assert!(Activity::from_units(of(1)) < Activity::from_units(of(2)));

    let strength = MassPerVolume::from_milligrams_per_millilitre(of(6));
    assert_eq!(
        Strength::MassPerVolume(strength).kind(),
        "a strength in mg per mL"
    );
    assert_eq!(
        strength.measure_of(mg)?.millilitres(),
        mg.over(mg.plus(mg)?)?
    );

    let rate = MassRate::from_milligrams_per_gram(of(2));
    let weight = BodyWeight::from_grams(of(5));
    assert_eq!(rate.for_weight(weight)?.milligrams(), of(10));
    assert_eq!(rate.plus(rate)?.milligrams_per_gram(), of(4));

    let paste = MassPerProduct::from_milligrams_per_gram(of(1));
    assert_eq!(paste.measure_of(mg)?, ProductMass::from_grams(of(3)));
    Ok(())
}

/// A line of this file, and the code of an error there.
type Errors = BTreeSet<(u64, String)>;

fn expected() -> Errors {
    let lines = (1..).zip(include_str!("mixing.rs").lines());
    let marked = lines.filter_map(|(line, text)| Some((line, text.split_once("//~ ")?.1)));
    marked
        .filter(|(_, code)| code.starts_with('E'))
        .map(|(line, code)| (line, code.to_owned()))
        .collect()
}

/// Compiles this file with `cfg(mixed)`, from the same features, profile and target folder as are
/// in force, so that nothing below it is built again.
fn met() -> (Errors, String) {
    let target = concat!(env!("CARGO_TARGET_TMPDIR"), "/..");
    let mut cargo = Command::new(env!("CARGO"));
    cargo
        .current_dir(env!("CARGO_MANIFEST_DIR"))
        .args(["rustc", "--test", "mixing", "--offline", "--quiet"])
        .args(["--message-format", "json", "--target-dir", target]);
    if cfg!(feature = "outside") {
        cargo.args(["--features", "outside"]);
    }
    if !cfg!(debug_assertions) {
        cargo.arg("--release");
    }
    cargo.args(["--", "--cfg", "mixed"]);
    let output = cargo.output().unwrap();
    let said = String::from_utf8_lossy(&output.stdout);
    let said = said.lines().map(|line| serde_json::from_str(line).unwrap());
    let errors = said
        .filter(|said: &Value| said["message"]["level"] == "error")
        .filter_map(|said| error(&said["message"]));
    let aside = String::from_utf8_lossy(&output.stderr).into_owned();
    (errors.collect(), aside)
}

/// The place and the code of one error; the closing "aborting due to" has neither.
fn error(message: &Value) -> Option<(u64, String)> {
    let spans = message["spans"].as_array()?;
    let line = spans.iter().find(|span| span["is_primary"] == true)?["line_start"].as_u64()?;
    Some((line, message["code"]["code"].as_str()?.to_owned()))
}

#[test]
fn what_does_not_belong_together_does_not() {
    let expected = expected();
    assert_eq!(expected.len(), 17);
    let (met, aside) = met();
    assert_eq!(met, expected, "{aside}");
}
