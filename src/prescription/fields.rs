//! Takes the typed parts of a prescription apart: fields by name, lists, words to choose from.
//!
//! Promises: an unknown field is named with the nearest known one, a field written twice and a
//! missing one are named too, and one fault never hides the next. What a value means is read in
//! `values`.

use crate::notation::fold;
use crate::prescription::fault::{At, Found};
use crate::prescription::typed::{Kind, Named, Node};

/// The fields of one named part.
#[derive(Debug)]
pub(super) struct Fields<'a> {
    name: &'a str,
    at: &'a At,
    named: &'a Named,
    /// Known fields that an unknown one was probably meant to be.
    meant: Vec<&'static str>,
}

impl<'a> Fields<'a> {
    /// The fields of a part that must have this name.
    pub(super) fn of(
        node: &'a Node,
        name: &'static str,
        known: &[&'static str],
        found: &mut Found,
    ) -> Option<Fields<'a>> {
        match &node.kind {
            Kind::Named(named) if named.name == name => Fields::within(node, named, known, found),
            other => {
                let wrong = match other {
                    Kind::Named(named) => format!("{} stands here instead of {name}", named.name),
                    other => format!("{} stands here instead of {name}", what(other)),
                };
                found.add(&node.at, wrong, format!("{name}( ... ) with its fields"));
                None
            }
        }
    }

    /// The fields of a part whose name is known already.
    pub(super) fn within(
        node: &'a Node,
        named: &'a Named,
        known: &[&'static str],
        found: &mut Found,
    ) -> Option<Fields<'a>> {
        if let Some(item) = named.items.first() {
            found.add(
                &item.at,
                format!("this value in {} has no field name", named.name),
                format!("fields of {}: {}", named.name, known.join(", ")),
            );
            return None;
        }
        let mut meant = Vec::new();
        for (index, field) in named.fields.iter().enumerate() {
            let name = field.name.as_str();
            if !known.contains(&name) {
                let wrong = format!("{} has no field {name}", named.name);
                meant.extend(unknown(&field.at, wrong, name, known, found));
            }
            if named
                .fields
                .iter()
                .take(index)
                .any(|earlier| earlier.name == name)
            {
                found.add(
                    &field.at,
                    format!("{name} is written twice"),
                    "each field once",
                );
            }
        }
        Some(Fields {
            name: &named.name,
            at: &node.at,
            named,
            meant,
        })
    }

    /// The value of a field, if it is written.
    pub(super) fn get(&self, field: &str) -> Option<&'a Node> {
        let mut fields = self.named.fields.iter();
        fields.find(|f| f.name == field).map(|f| &f.value)
    }

    /// The value of a field that must be there; `meaning` says what it is for.
    pub(super) fn need(&self, field: &str, meaning: &str, found: &mut Found) -> Option<&'a Node> {
        let node = self.get(field);
        if node.is_none() && !self.meant.contains(&field) {
            found.add_missing(
                self.at,
                format!("{} has no {field}", self.name),
                format!("{field}: {meaning}"),
            );
        }
        node
    }

    /// Where a field's value stands, or the name of the whole part where it is not written.
    pub(super) fn place(&self, field: &str) -> At {
        self.get(field).map_or(self.at, |node| &node.at).clone()
    }

    /// A fault at a field that must not stand here.
    pub(super) fn refuse(&self, field: &str, wrong: &str, expected: &str, found: &mut Found) {
        let mut fields = self.named.fields.iter();
        if let Some(field) = fields.find(|f| f.name == field) {
            found.add(&field.at, wrong, expected);
        }
    }
}

/// A name to choose from, with or without parentheses.
#[derive(Debug)]
pub(super) struct Variant<'a> {
    /// The name, one of those known.
    pub name: &'static str,
    /// The whole part.
    pub node: &'a Node,
    /// What stands in the parentheses, where there are any.
    pub named: Option<&'a Named>,
}

/// Which of the known names this part has.
pub(super) fn variant<'a>(
    node: &'a Node,
    known: &[&'static str],
    found: &mut Found,
) -> Option<Variant<'a>> {
    let (name, named) = match &node.kind {
        Kind::Word(name) => (name, None),
        Kind::Named(named) => (&named.name, Some(named)),
        other => {
            found.add(
                &node.at,
                format!("{} stands here without a name", what(other)),
                format!("one of {}", known.join(", ")),
            );
            return None;
        }
    };
    if let Some(name) = known.iter().find(|known| *known == name) {
        return Some(Variant { name, node, named });
    }
    let wrong = format!("{name} is not known here");
    unknown(&node.at, wrong, name, known, found);
    None
}

/// A fault at a name that is not known, with the nearest known one, which comes back.
pub(super) fn unknown(
    at: &At,
    wrong: String,
    name: &str,
    known: &[&'static str],
    found: &mut Found,
) -> Option<&'static str> {
    let near = fold::nearest(name, known.iter().copied());
    let near = known.iter().find(|known| near == Some(**known)).copied();
    match near {
        Some(near) => found.add(at, format!("{wrong}; did you mean {near}?"), near),
        None => found.add(at, wrong, format!("one of {}", known.join(", "))),
    }
    near
}

impl<'a> Variant<'a> {
    /// Nothing may stand in the parentheses.
    pub(super) fn alone(&self, found: &mut Found) -> Option<()> {
        if self.named.is_some() {
            found.add(
                &self.node.at,
                format!("{} takes nothing in parentheses", self.name),
                "the name alone",
            );
            return None;
        }
        Some(())
    }

    /// The one value in the parentheses.
    pub(super) fn item(&self, meaning: &str, found: &mut Found) -> Option<&'a Node> {
        let named = self.named.filter(|named| named.fields.is_empty());
        let item = match named.map(|named| named.items.as_slice()) {
            Some([item]) => Some(item),
            _ => None,
        };
        if item.is_none() {
            found.add(
                &self.node.at,
                format!("{} takes one value in parentheses", self.name),
                format!("{}( {meaning} )", self.name),
            );
        }
        item
    }

    /// The fields in the parentheses.
    pub(super) fn fields(&self, known: &[&'static str], found: &mut Found) -> Option<Fields<'a>> {
        match self.named {
            Some(named) => Fields::within(self.node, named, known, found),
            None => {
                found.add(
                    &self.node.at,
                    format!("{} stands here without its fields", self.name),
                    format!("{}( ... ) with {}", self.name, known.join(", ")),
                );
                None
            }
        }
    }
}

/// The most items a list may have.
const MOST_ITEMS: usize = 100;

/// The items of a list that may not be empty.
pub(super) fn list<'a>(node: &'a Node, of: &str, found: &mut Found) -> Option<&'a [Node]> {
    match &node.kind {
        Kind::List(items) if items.is_empty() => {
            found.add(
                &node.at,
                "this list is empty",
                format!("at least one of {of}"),
            );
            None
        }
        Kind::List(items) if items.len() > MOST_ITEMS => {
            found.add(
                &node.at,
                "this list has more than 100 items",
                format!("a list of {of}"),
            );
            None
        }
        Kind::List(items) => Some(items),
        other => {
            found.add(
                &node.at,
                format!("{} stands here instead of a list", what(other)),
                format!("{of}, in brackets"),
            );
            None
        }
    }
}

/// What a part is, for a sentence.
pub(super) fn what(kind: &Kind) -> &'static str {
    match kind {
        Kind::Text(_) => "a text",
        Kind::Figure(_) => "a bare figure",
        Kind::Word(_) => "a bare word",
        Kind::Named(_) => "a name with parentheses",
        Kind::List(_) => "a list",
    }
}
