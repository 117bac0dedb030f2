//! Files that are no plain text, too long, too deep, or made at random; and the same files read
//! by the ron crate, which shares no code with the reader here.

use super::{BASE, changed, faults, places, read};
use crate::prescription::Prescription;
use crate::prescription::fault::Found;
use crate::prescription::typed::{self, Kind, Node};
use proptest::prelude::*;

#[test]
fn line_ends_and_byte_order_marks() {
    read(&BASE.replace('\n', "\r\n"));
    read(&format!("\u{feff}{BASE}"));
    let bytes = format!("\u{feff}{}", BASE.replace('\n', "\r\n"));
    assert!(Prescription::read_bytes(bytes.as_bytes(), "script.ron").is_ok());
    // Columns and lines stay those that an editor shows.
    let bad = changed(&[("\"13 mg/kg\"", "\"13\"")]);
    for text in [bad.replace('\n', "\r\n"), format!("\u{feff}{bad}")] {
        assert_eq!(places(&faults(&text)), ["9:25"]);
    }
    assert_eq!(places(&faults("\u{feff}Medicine()")), ["1:1"]);
    let faults = faults(&BASE.replace('\n', "\r"));
    assert!(faults.to_string().contains("end in an old way"), "{faults}");
}

#[test]
fn columns_count_characters() {
    let text = changed(&[(
        "name: \"Dr A. Example\", ",
        "name: \"Dr \u{c9}x\u{e4}mple \u{1f98e}\", practise: \"x\", ",
    )]);
    assert_eq!(places(&faults(&text)), ["6:36"]);
}

#[test]
fn other_encodings_are_named() {
    let utf16 = |marked: bool, order: fn(u16) -> [u8; 2]| -> Vec<u8> {
        let mark = marked.then_some(0xfeff);
        mark.into_iter()
            .chain(BASE.encode_utf16())
            .flat_map(order)
            .collect()
    };
    for bytes in [
        utf16(true, u16::to_le_bytes),
        utf16(true, u16::to_be_bytes),
        utf16(false, u16::to_le_bytes),
        utf16(false, u16::to_be_bytes),
    ] {
        let faults = Prescription::read_bytes(&bytes, "script.ron").unwrap_err();
        assert!(faults.to_string().contains("UTF-16"), "{faults}");
    }
    // Latin-1: the name's e acute is a byte that UTF-8 does not have.
    let latin: Vec<u8> = BASE
        .replace("Thimblo", "Thimbl~")
        .bytes()
        .map(|b| if b == b'~' { 0xe9 } else { b })
        .collect();
    let faults = Prescription::read_bytes(&latin, "script.ron").unwrap_err();
    assert_eq!(places(&faults), ["7:22"]);
    assert!(
        faults.to_string().contains("is not text in UTF-8"),
        "{faults}"
    );
    assert!(Prescription::read_bytes(&[], "script.ron").is_err());
}

#[test]
fn long_and_deep_files_are_bounded() {
    let long = format!("{BASE}// {}", "x".repeat(64 * 1024));
    let found = faults(&long);
    assert!(
        found.to_string().contains("longer than any prescription"),
        "{found}"
    );
    let filled = format!("{BASE}// {}", "x".repeat(64 * 1024 - BASE.len() - 3));
    read(&filled);
    for (open, close) in [("[", "]"), ("A(", ")"), ("A(b: ", ")"), ("/*", "*/")] {
        let deep = open.repeat(20_000) + &close.repeat(20_000);
        let deep = if deep.len() > 64 * 1024 {
            open.repeat(10_000)
        } else {
            deep
        };
        assert!(!faults(&deep).list().is_empty());
    }
    // Thousands of faults are counted, not listed.
    let many = format!("Prescription({})", "zebra: 1, ".repeat(5_000));
    let found = faults(&many);
    assert!(found.list().len() <= 50);
    assert!(found.to_string().contains("more\n"), "{found}");
    assert!(found.render(false).len() < 100_000);
}

#[test]
fn no_control_character_reaches_a_terminal() {
    for bad in [
        "\u{1b}[2J",
        "\u{9b}31m",
        "\u{202e}",
        "\u{7}",
        "\u{0}",
        "\u{200b}",
    ] {
        for text in [
            changed(&[("Thimblo", bad)]),
            changed(&[("doses: 4", &format!("doses: {bad}4"))]),
            changed(&[("doses: 4", &format!("doses: x /* {bad} */"))]),
            changed(&[("    weigh_every", &format!("    {bad}weigh_every"))]),
        ] {
            let faults = Prescription::read(&text, &format!("a{bad}b.ron")).unwrap_err();
            for said in [faults.render(false), faults.to_string()] {
                let unseen = |c: &char| c.is_control() && *c != '\n';
                assert_eq!(said.chars().find(unseen), None, "{said:?}");
                assert!(!said.contains(bad), "{said:?}");
            }
        }
    }
}

#[test]
fn colours_only_where_wanted() {
    let faults = faults(&changed(&[("doses: 4", "doses: 0")]));
    assert!(!faults.render(false).contains('\u{1b}'));
    assert!(faults.render(true).contains('\u{1b}'));
}

#[test]
fn the_rendering_shows_file_line_column_and_excerpt() {
    let faults = faults(&changed(&[("\"13 mg/kg\"", "\"13 mg/gk\"")]));
    let shown = faults.render(false);
    for part in [
        "Not accepted: 'gk' is not a unit",
        "script.ron:9:25",
        "dose: PerBodyWeight(\"13 mg/gk\"),",
        "^^^^^^^^^^ expected here: ",
    ] {
        assert!(shown.contains(part), "{shown}");
    }
    let fault = &faults.list()[0];
    assert_eq!(
        (fault.line, fault.column, fault.text.as_str()),
        (9, 25, "\"13 mg/gk\"")
    );
}

/// Every text in the tree, in order.
fn texts(node: &Node, all: &mut Vec<String>) {
    match &node.kind {
        Kind::Text(text) => all.push(text.clone()),
        Kind::List(items) => items.iter().for_each(|item| texts(item, all)),
        Kind::Named(named) => {
            named
                .fields
                .iter()
                .for_each(|field| texts(&field.value, all));
            named.items.iter().for_each(|item| texts(item, all));
        }
        Kind::Figure(_) | Kind::Word(_) => {}
    }
}

/// Whether every bare figure is plain; others are kept as typed and refused later, in `values`.
fn figures_are_plain(node: &Node) -> bool {
    match &node.kind {
        Kind::Figure(figure) => figure.bytes().all(|b| b.is_ascii_digit()) && figure.len() < 18,
        Kind::List(items) => items.iter().all(figures_are_plain),
        Kind::Named(named) => {
            let mut fields = named.fields.iter();
            fields.all(|field| figures_are_plain(&field.value))
                && named.items.iter().all(figures_are_plain)
        }
        Kind::Text(_) | Kind::Word(_) => true,
    }
}

/// Whether the ron crate takes the text as RON at all.
fn ron_reads(text: &str) -> bool {
    // The crate refuses a byte order mark; the reader here passes it.
    let text = text.trim_start_matches('\u{feff}');
    ron::from_str::<serde::de::IgnoredAny>(text).is_ok()
}

#[test]
fn the_ron_crate_finds_the_same_texts() {
    #[derive(serde::Deserialize)]
    struct Texts(Vec<String>);
    let list = r#"["plain", "a \"quoted\" word", "back\\slash", "it\'s", "\u{e9}\u{1F98E}", // a remark
        "/* no remark */", /* a /* nested */ remark */ "end",]"#;
    let theirs: Texts = ron::from_str(list).map(Texts).unwrap();
    let mut ours = Vec::new();
    texts(
        &typed::read(list, &mut Found::default()).unwrap(),
        &mut ours,
    );
    assert_eq!(ours, theirs.0);
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 2_000, failure_persistence: None, ..ProptestConfig::default() })]

    /// Changed anywhere, a file is read or refused with a place inside it, never a panic; and
    /// what is accepted as RON here is RON to the ron crate too.
    #[test]
    fn a_changed_file_is_read_or_refused(
        at in 0..BASE.len(),
        gone in 0_usize..12,
        new in prop_oneof![
            "[\\[\\](){}:,\"'/*\\\\#.0-9a-zA-Z \n\r\t_+-]{0,6}".prop_map(String::from),
            any::<String>(),
        ],
    ) {
        let mut text = BASE.to_owned();
        let end = (at + gone).min(text.len());
        prop_assume!(text.is_char_boundary(at) && text.is_char_boundary(end));
        text.replace_range(at..end, &new);
        if let Err(faults) = Prescription::read(&text, "script.ron") {
            prop_assert!(!faults.list().is_empty());
            for fault in faults.list() {
                let line = text.split('\n').nth(fault.line - 1);
                let width = line.map_or(0, |line| line.chars().count());
                prop_assert!(fault.column <= width + 1, "{}", fault);
            }
            prop_assert!(!faults.render(true).is_empty());
        }
        let tree = typed::read(&text, &mut Found::default());
        if tree.is_some_and(|tree| figures_are_plain(&tree)) {
            prop_assert!(ron_reads(&text), "{}", text);
        }
    }

    /// Anything at all.
    #[test]
    fn any_text_and_any_bytes_are_refused_quietly(text in any::<String>(), bytes in any::<Vec<u8>>()) {
        let faults = Prescription::read(&text, &text).unwrap_err();
        prop_assert!(!faults.render(false).is_empty());
        let faults = Prescription::read_bytes(&bytes, "script.ron").unwrap_err();
        prop_assert!(!faults.render(false).is_empty());
    }
}
