//! Shows that each rule of the house can fail, on small pieces of source, and that it passes what
//! it must.

use crate::rules::{self, File, Rule};
use crate::source::{outside_tests, paths, tokens};

fn faults(rule: Rule, path: &str, text: &str) -> usize {
    let file = File {
        path: path.to_owned(),
        text: text.to_owned(),
    };
    rule(&file).len()
}

#[track_caller]
fn catches(rule: Rule, path: &str, text: &str) {
    assert_eq!(faults(rule, path, text), 1, "should catch: {text}");
}

#[track_caller]
fn passes(rule: Rule, path: &str, text: &str) {
    assert_eq!(faults(rule, path, text), 0, "should pass: {text}");
}

fn texts(source: &str) -> Vec<&str> {
    tokens(source).iter().map(|token| token.text).collect()
}

fn named(source: &str) -> Vec<String> {
    let tokens = tokens(source);
    let paths = paths(&tokens);
    paths.iter().map(|path| path.parts.join("::")).collect()
}

#[test]
fn comments_strings_and_characters_are_not_code() {
    assert_eq!(texts("a // f64 \"\n/* f64 /* f64 */ f64 */ b"), ["a", "b"]);
    assert_eq!(
        texts(r##"a("f64 \" f64", r#"f64 " f64"#, b"f64")"##),
        ["a", "(", "\"\"", ",", "\"\"", ",", "\"\"", ")"]
    );
    assert_eq!(
        texts("f('\"', '\\'', b'x', x)"),
        ["f", "(", "''", ",", "''", ",", "''", ",", "x", ")"]
    );
    assert_eq!(
        texts("fn f<'a>(x: &'a str)").last_chunk(),
        Some(&["str", ")"])
    );
}

#[test]
fn figures_and_pair_fields_are_told_apart() {
    assert_eq!(texts("1.5 + x.0.1"), ["1.5", "+", "x", ".", "0", ".", "1"]);
    assert_eq!(texts("0..5"), ["0", ".", ".", "5"]);
}

#[test]
fn lines_are_counted_through_everything() {
    let tokens = tokens("a\n/* \n */ \"\n\" b");
    assert_eq!(tokens[2].text, "b");
    assert_eq!(tokens[2].line, 4);
}

#[test]
fn a_use_tree_names_each_of_its_leaves() {
    assert_eq!(
        named("use crate::{a::{B, c::D as E}, f}; g::<H>();"),
        ["use", "crate::a::B", "crate::a::c::D", "crate::f", "g", "H"]
    );
    assert_eq!(named("use super::*;"), ["use", "super::*"]);
    assert_eq!(named("x.value = crate::a::b!();"), ["x", "crate::a::b"]);
}

#[test]
fn what_is_compiled_for_tests_is_left_out() {
    let source = "a #[cfg(test)] mod tests { fn b() {} } c #[cfg(test)] mod d; e";
    let kept = outside_tests(&tokens(source));
    let kept: Vec<&str> = kept.iter().map(|token| token.text).collect();
    assert_eq!(kept, ["a", "c", "e"]);
}

#[test]
fn a_room_without_a_layer_is_caught() {
    catches(rules::has_a_layer, "parlour.rs", "");
    catches(rules::has_a_layer, "parlour/sofa.rs", "");
    passes(rules::has_a_layer, "dose/ladder.rs", "");
    passes(rules::has_a_layer, "lib.rs", "");
}

#[test]
fn imports_point_to_lower_layers_only() {
    let rule = rules::imports_from_lower_layers;
    passes(rule, "dose.rs", "use crate::rack::Mark;");
    passes(rule, "dose/a.rs", "use crate::dose::b::C;");
    catches(rule, "rack/mark.rs", "use crate::dose::Dose;");
    catches(rule, "rack/mark.rs", "use crate::caution::Finding;");
    catches(rule, "json.rs", "use crate::terminal::Table;");
    catches(rule, "rack.rs", "fn f() { crate::dose::work() }");
    catches(rule, "rack.rs", "use crate::{notation::read, dose::Dose};");
    catches(rule, "rack.rs", "pub(in crate::dose) fn f() {}");
    catches(
        rule,
        "rack.rs",
        "macro_rules! m { () => { $crate::dose::f() } }",
    );
    catches(rule, "rack.rs", "use crate::parlour::Sofa;");
    catches(
        rule,
        "dose.rs",
        "#[cfg(test)] mod tests { use crate::course::Slot; }",
    );
    passes(rule, "rack.rs", "// crate::dose::work()");
    passes(rule, "main.rs", "use scruple::cli;");
    catches(rule, "cli.rs", "use crate::main::f;");
}

#[test]
fn super_does_not_climb_out_of_a_room() {
    let rule = rules::keeps_to_its_room;
    catches(rule, "dose.rs", "use super::course::Slot;");
    catches(rule, "dose/mod.rs", "use super::course::Slot;");
    catches(rule, "dose/ladder.rs", "use super::super::course::Slot;");
    catches(rule, "dose.rs", "mod tests { use super::super::course; }");
    passes(rule, "dose/ladder.rs", "use super::Dose;");
    passes(rule, "dose.rs", "mod tests { use super::*; }");
    passes(rule, "dose.rs", "pub(super) fn f() {}");
}

#[test]
fn globs_are_for_tests() {
    let rule = rules::imports_by_name;
    catches(rule, "dose.rs", "use super::*;");
    catches(rule, "dose.rs", "use crate::rack::{self, syringe::*};");
    catches(rule, "dose.rs", "pub use crate::rack::*;");
    passes(rule, "dose.rs", "#[cfg(test)] mod tests { use super::*; }");
    passes(rule, "dose/tests.rs", "use super::*;");
    passes(rule, "dose.rs", "a * b; a::b * c");
}

#[test]
fn pure_rooms_touch_nothing() {
    let rule = rules::lower_layers_are_pure;
    for touch in [
        "use std::fs::File;",
        "use std::{fmt, io};",
        "fn f() { std::env::var(x) }",
        "use rusqlite::Connection;",
        "use printpdf::Mm;",
        "fn f() { println!(x) }",
        "fn f() { eprint!(x) }",
        "fn f() { dbg!(x) }",
    ] {
        catches(rule, "course/fold.rs", touch);
        passes(rule, "cli/today.rs", touch);
    }
    passes(rule, "report.rs", "fn print(x: u8) { print(x) }");
    passes(
        rule,
        "report.rs",
        "use std::fmt; use crate::notation::print;",
    );
}

#[test]
fn only_main_reads_the_clock() {
    let rule = rules::leaves_the_clock_to_main;
    for read in [
        "fn f() { chrono::Utc::now() }",
        "fn f() { Local::now() }",
        "use std::time::SystemTime;",
        "fn f() { std::time::Instant::now() }",
    ] {
        catches(rule, "sheet/card.rs", read);
        catches(rule, "cli/mod.rs", read);
        passes(rule, "main.rs", read);
    }
    passes(rule, "course.rs", "fn f(now: i64) { g(now) }");
}

#[test]
fn heavy_crates_keep_to_their_rooms() {
    let rule = rules::keeps_crates_in_their_rooms;
    catches(rule, "dose.rs", "use uom::si::f64::Mass;");
    catches(rule, "report.rs", "use rusqlite::Row;");
    catches(rule, "terminal.rs", "use printpdf::Mm;");
    passes(
        rule,
        "quantity/system.rs",
        "impl uom::Conversion<S> for T {}",
    );
    passes(rule, "lib.rs", "#[macro_use] extern crate uom;");
    passes(rule, "book/open.rs", "use rusqlite::Connection;");
}

#[test]
fn uom_types_do_not_leave_the_room() {
    let rule = rules::keeps_uom_types_inside;
    catches(rule, "quantity/role.rs", "pub struct Volume(pub Of<D>);");
    catches(
        rule,
        "quantity/role.rs",
        "pub fn value(&self) -> Of<D> { self.0 }",
    );
    catches(rule, "quantity/mod.rs", "pub use exact::{Exact, Stored};");
    catches(
        rule,
        "quantity/role.rs",
        "pub struct V { pub inner: Stored }",
    );
    passes(rule, "quantity/role.rs", "pub struct Volume(Of<D>);");
    passes(
        rule,
        "quantity/system.rs",
        "pub(super) type Of<D> = Quantity<D>;",
    );
    passes(
        rule,
        "quantity/role.rs",
        "pub fn grams(self) -> Exact { self.0.value.0 }",
    );
}

#[test]
fn floats_are_for_sheets() {
    let rule = rules::has_no_floats;
    catches(rule, "dose.rs", "fn f(x: f64) {}");
    catches(rule, "dose.rs", "let x = n as f32;");
    catches(rule, "dose.rs", "let x = 0.5;");
    catches(rule, "dose.rs", "let x = 5f64;");
    passes(rule, "sheet/barrel.rs", "fn f(x: f32) {}");
    passes(rule, "dose.rs", "let x = pair.0.1; \"0.5\"; 0..5");
    passes(
        rule,
        "dose.rs",
        "#[cfg(test)] mod tests { const F: f64 = 0.1; }",
    );
    passes(rule, "quantity/system.rs", "@unit: 1.0;");
    catches(rule, "quantity/system.rs", "@unit: 1.5;");
}

#[test]
fn files_open_with_their_promise_and_end_in_time() {
    let rule = rules::opens_with_a_promise;
    catches(rule, "dose.rs", "use std::fmt;");
    catches(rule, "dose.rs", "");
    catches(rule, "dose.rs", "// A plain comment.");
    passes(rule, "dose.rs", "\n//! One invariant, one absence.");
    passes(rule, "dose/tests.rs", "use super::*;");

    passes(rules::is_short, "dose.rs", &"x\n".repeat(600));
    catches(rules::is_short, "dose.rs", &"x\n".repeat(601));
}

#[test]
fn names_say_something() {
    let rule = rules::has_a_telling_name;
    catches(rule, "utils.rs", "");
    catches(rule, "dose/helpers.rs", "");
    catches(rule, "common/dose.rs", "");
    passes(rule, "dose/ladder.rs", "");
}

#[test]
fn source_is_where_its_name_says() {
    let rule = rules::sits_flat;
    catches(rule, "dose.rs", "#[path = \"x.rs\"] mod x;");
    catches(rule, "dose.rs", "include!(\"x.rs\");");
    passes(rule, "dose.rs", "include_str!(\"x.sql\"); x.include(y)");
}
