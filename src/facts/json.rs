//! Facts in JSON (RFC 8259): the same names as in native text, read into the same syntax tree.
//!
//! Texts hold native notation and are read by the caller's `parse_value`; numbers are taken from their digits, never
//! through a binary fraction. Names that stand twice are kept, so that the check can point at both places.

use crate::base::source::{SourceId, Span};
use crate::diag::{Code, Diagnostic, Diagnostics};
use crate::syntax::ast::{
    BeforeState, Block, Entry, EntryValue, FactItem, FactRange, FactTerm, FactValue, FactsFile, Measure, Name, Number,
};
use serde::Deserialize;
use serde::de::{MapAccess, Visitor};
use serde_json::value::RawValue;
use std::borrow::Cow;
use std::collections::BTreeMap;
use std::fmt;

/// Reads one value in native notation that stands at an offset of a source.
pub type ParseValue<'a> = &'a dyn Fn(SourceId, usize, &str) -> Result<FactValue, Diagnostic>;

/// The facts in a JSON text. Never panics and never recurses deeper than facts nest, whatever the text.
pub fn read_json(source: SourceId, text: &str, parse_value: ParseValue) -> (FactsFile, Diagnostics) {
    let mut reader = Reader { source, text, parse_value, found: Diagnostics::new() };
    let items = reader.file();
    (FactsFile { items }, reader.found)
}

/// The words that leave a list open.
pub(crate) const MORE: &str = "and maybe more";
/// The name that turns an object into a list of members.
pub(crate) const MEMBERS: &str = "members";
/// The name of a member of an array, and the title of the project.
pub(crate) const NAME: &str = "name";
/// The state before the work.
pub(crate) const BEFORE: &str = "before";
/// The state before is that after the work, but for what stands under this name.
const SAME_EXCEPT: &str = "same-except";
/// The thing of which there is one.
const PROJECT: &str = crate::ir::schema::PROJECT;
/// Facts nest far less; every level is scanned once more, so depth costs time.
const DEEPEST: usize = 32;

struct Reader<'a> {
    source: SourceId,
    text: &'a str,
    parse_value: ParseValue<'a>,
    found: Diagnostics,
}

/// A JSON value by its first letter.
enum Kind<'a> {
    Object(Vec<(Name, &'a RawValue)>),
    Array(Vec<&'a RawValue>),
    Text(String),
    Number,
    Yes,
    No,
    Null,
}

impl<'a> Reader<'a> {
    fn file(&mut self) -> Vec<FactItem> {
        let body = self.text.strip_prefix('\u{feff}').unwrap_or(self.text);
        let shift = self.text.len() - body.len();
        let whole: &RawValue = match serde_json::from_str(body) {
            Ok(whole) => whole,
            Err(error) => {
                self.malformed(shift, body, &error);
                return Vec::new();
            }
        };
        let Some(Kind::Object(pairs)) = self.kind(whole) else {
            self.unexpected(whole, "an object of things is expected", "write { \"project\": { … }, \"thing\": { … } }");
            return Vec::new();
        };
        self.items_of(&pairs)
    }

    /// The items of one state of the installation.
    fn items_of(&mut self, pairs: &[(Name, &'a RawValue)]) -> Vec<FactItem> {
        let mut items = Vec::new();
        let mut seen: BTreeMap<&str, &Name> = BTreeMap::new();
        for (name, value) in pairs {
            if let Some(first) = seen.get(name.text.as_str()) {
                self.twice(name, first);
                continue;
            }
            seen.insert(&name.text, name);
            match name.text.as_str() {
                PROJECT => items.extend(self.project(value)),
                BEFORE => items.extend(self.before(name, value)),
                _ => self.thing(name, value, &mut items),
            }
        }
        items
    }

    /// The state before the work: an object, `"none"`, `"same"`, or an object with nothing but `same-except`.
    fn before(&mut self, name: &Name, value: &'a RawValue) -> Option<FactItem> {
        let span = name.span.to(self.span(value));
        let state = match self.kind(value)? {
            Kind::Object(pairs) => match pairs.as_slice() {
                [(only, inner)] if only.text == SAME_EXCEPT => match self.kind(inner)? {
                    Kind::Object(pairs) => BeforeState::SameExcept(self.items_of(&pairs)),
                    _ => {
                        self.unexpected(inner, "an object of things is expected", "write { \"thing\": { … } }");
                        return None;
                    }
                },
                pairs => BeforeState::Stated(self.items_of(pairs)),
            },
            Kind::Null => BeforeState::Unknown,
            Kind::Text(text) if text.trim() == "none" => BeforeState::Nothing,
            Kind::Text(text) if text.trim() == "same" => BeforeState::SameExcept(Vec::new()),
            _ => {
                let help = "write \"before\": { … }, \"same\" or \"none\"";
                self.unexpected(value, "the state before the work is expected", help);
                return None;
            }
        };
        Some(FactItem::Before { state, span })
    }

    fn project(&mut self, value: &'a RawValue) -> Option<FactItem> {
        let span = self.span(value);
        let Some(Kind::Object(pairs)) = self.kind(value) else {
            self.unexpected(value, "the project is an object", "write \"project\": { \"name\": \"…\" }");
            return None;
        };
        let (title, rest) = self.named(pairs);
        let block = self.block(&rest, span, 1);
        Some(FactItem::Project { title, block, span })
    }

    /// The first text under `name`, and the other pairs.
    fn named(&mut self, pairs: Vec<(Name, &'a RawValue)>) -> (Option<Name>, Vec<(Name, &'a RawValue)>) {
        let (mut found, mut rest) = (None, Vec::new());
        for (name, value) in pairs {
            if found.is_none()
                && name.text == NAME
                && value.get().starts_with('"')
                && let Some(Kind::Text(text)) = self.kind(value)
            {
                found = Some(Name { text: text.into(), span: self.span(value) });
            } else {
                rest.push((name, value));
            }
        }
        (found, rest)
    }

    fn thing(&mut self, thing: &Name, value: &'a RawValue, items: &mut Vec<FactItem>) {
        let span = self.span(value);
        match self.kind(value) {
            Some(Kind::Object(_) | Kind::Array(_)) => {
                let block = self.members(value, 1);
                if let Some(more) = block.more {
                    items.push(FactItem::MaybeMore { thing: thing.clone(), span: more });
                }
                for entry in block.entries {
                    match entry.value {
                        EntryValue::Block(block) => {
                            let thing = Name { text: thing.text.clone(), span: thing.span };
                            items.push(FactItem::Instance { thing, name: entry.name, block, span: entry.span });
                        }
                        EntryValue::Value(_, at) => {
                            let title = format!("`{}` is a value where a {} is expected", entry.name.text, thing.text);
                            let help = format!("write \"{}\": {{ \"name of one\": {{ … }} }}", thing.text);
                            self.found.push(
                                Diagnostic::error(Code::FactListMismatch, title).at(at, "a single value").help(help),
                            );
                        }
                    }
                }
            }
            Some(Kind::Text(text)) if text.trim() == "none" => {
                items.push(FactItem::Absent { thing: thing.clone(), span: thing.span.to(span) });
            }
            Some(Kind::Null) => {}
            Some(Kind::Text(_) | Kind::Number | Kind::Yes | Kind::No) => {
                let help = format!("write \"{}\": {{ \"name of one\": {{ … }} }}, or \"none\"", thing.text);
                self.unexpected(value, "things by name are expected", &help);
            }
            None => {}
        }
    }

    // -------------------------------------------------------------------------------------------- blocks

    fn block(&mut self, pairs: &[(Name, &'a RawValue)], span: Span, depth: usize) -> Block {
        let mut block = Block { span, ..Block::default() };
        if depth > DEEPEST {
            self.found.push(
                Diagnostic::error(Code::TooDeep, "facts are nested too deep")
                    .at(span, format!("more than {DEEPEST} levels"))
                    .help("state inner things at the top level and refer to them by name"),
            );
            return block;
        }
        for (name, value) in pairs {
            if name.text == MORE {
                self.more(&mut block, name, value);
                continue;
            }
            let span = name.span.to(self.span(value));
            if let Some(value) = self.entry(value, depth) {
                block.entries.push(Entry { name: name.clone(), value, span });
            }
        }
        block
    }

    fn more(&mut self, block: &mut Block, name: &Name, value: &'a RawValue) {
        if let Some(first) = block.more {
            let first = Name { text: name.text.clone(), span: first };
            self.twice(name, &first);
            return;
        }
        match self.kind(value) {
            Some(Kind::Yes) => block.more = Some(name.span),
            Some(Kind::No) | None => {}
            Some(_) => self.unexpected(value, "true or false is expected", "write \"and maybe more\": true"),
        }
    }

    fn entry(&mut self, value: &'a RawValue, depth: usize) -> Option<EntryValue> {
        let span = self.span(value);
        Some(match self.kind(value)? {
            Kind::Object(pairs) => match self.quantity(&pairs, span) {
                Some(quantity) => EntryValue::Value(quantity?, span),
                None if pairs.iter().any(|(name, _)| name.text == MEMBERS) => {
                    EntryValue::Block(self.members(value, depth + 1))
                }
                None => EntryValue::Block(self.block(&pairs, span, depth + 1)),
            },
            Kind::Array(all) => match self.names(&all) {
                Some(terms) => EntryValue::Value(FactValue::List(terms), span),
                None => EntryValue::Block(self.members(value, depth + 1)),
            },
            Kind::Text(text) => EntryValue::Value(self.native(value, &text)?, span),
            Kind::Number => EntryValue::Value(one(FactTerm::Measure(self.measure(value, None))), span),
            Kind::Yes => EntryValue::Value(one(FactTerm::Word(Name { text: "yes".into(), span })), span),
            Kind::No => EntryValue::Value(one(FactTerm::Word(Name { text: "no".into(), span })), span),
            Kind::Null => EntryValue::Value(FactValue::Unknown, span),
        })
    }

    /// An array of texts: names of things that stand elsewhere. Nothing for other arrays; an empty one is an empty list.
    fn names(&mut self, all: &[&'a RawValue]) -> Option<Vec<FactTerm>> {
        if all.is_empty() || !all.iter().all(|value| value.get().starts_with('"')) {
            return None;
        }
        let terms = all.iter().filter_map(|value| match self.kind(value) {
            Some(Kind::Text(text)) => Some(FactTerm::Text(Name { text: text.into(), span: self.span(value) })),
            _ => None,
        });
        Some(terms.collect())
    }

    /// Members by name, in an array with `name`, or under `members` beside `and maybe more`.
    fn members(&mut self, value: &'a RawValue, depth: usize) -> Block {
        let span = self.span(value);
        if depth > DEEPEST {
            return self.block(&[], span, depth);
        }
        match self.kind(value) {
            Some(Kind::Object(pairs)) => match pairs.iter().find(|(name, _)| name.text == MEMBERS) {
                Some((_, inner))
                    if !inner.get().starts_with('{') || pairs.iter().all(|(name, _)| is_list_word(name)) =>
                {
                    let mut block = self.members(inner, depth + 1);
                    block.span = span;
                    let mut first: Option<&Name> = None;
                    for (name, value) in &pairs {
                        match (name.text.as_str(), first) {
                            (MORE, _) => self.more(&mut block, name, value),
                            (MEMBERS, None) => first = Some(name),
                            (MEMBERS, Some(first)) => self.twice(name, first),
                            _ => self.unexpected(
                                value,
                                "beside \"members\" stands only \"and maybe more\"",
                                "put it into a member",
                            ),
                        }
                    }
                    block
                }
                _ => self.block(&pairs, span, depth),
            },
            Some(Kind::Array(all)) => {
                let mut block = Block { span, ..Block::default() };
                for member in all {
                    block.entries.extend(self.member(member, depth));
                }
                block
            }
            Some(Kind::Text(_) | Kind::Number | Kind::Yes | Kind::No | Kind::Null) => {
                self.unexpected(value, "members are expected", "write an object keyed by name, or an array");
                Block { span, more: Some(span), ..Block::default() }
            }
            None => Block { span, more: Some(span), ..Block::default() },
        }
    }

    fn member(&mut self, member: &'a RawValue, depth: usize) -> Option<Entry> {
        let span = self.span(member);
        match self.kind(member)? {
            Kind::Object(pairs) => {
                let (name, rest) = self.named(pairs);
                let start = span.start as usize;
                let name = name.unwrap_or(Name { text: "".into(), span: Span::new(self.source, start, start + 1) });
                let block = self.block(&rest, span, depth + 1);
                Some(Entry { name, value: EntryValue::Block(block), span })
            }
            Kind::Text(text) => {
                let block = Block { span, ..Block::default() };
                Some(Entry { name: Name { text: text.into(), span }, value: EntryValue::Block(block), span })
            }
            Kind::Array(_) | Kind::Number | Kind::Yes | Kind::No | Kind::Null => {
                self.unexpected(member, "a member is an object or a name", "write { \"name\": \"…\", … }");
                None
            }
        }
    }

    // -------------------------------------------------------------------------------------------- values

    /// `{"value": 7.5, "unit": "ft"}`. The outer nothing: it is no such object; the inner: it is a wrong one.
    fn quantity(&mut self, pairs: &[(Name, &'a RawValue)], span: Span) -> Option<Option<FactValue>> {
        let [(first, a), (second, b)] = pairs else { return None };
        let (value, unit) = match (first.text.as_str(), second.text.as_str()) {
            ("value", "unit") => (*a, *b),
            ("unit", "value") => (*b, *a),
            _ => return None,
        };
        match (self.kind(value), self.kind(unit)) {
            (Some(Kind::Number), Some(Kind::Text(text))) => {
                let unit = Name { text: text.into(), span: self.span(unit) };
                let mut measure = self.measure(value, Some(unit));
                measure.span = span;
                Some(Some(one(FactTerm::Measure(measure))))
            }
            (Some(Kind::Text(number)), Some(Kind::Text(text))) => {
                let number = Number { text: number.into(), span: self.span(value) };
                let unit = Name { text: text.into(), span: self.span(unit) };
                Some(Some(one(FactTerm::Measure(Measure { parts: vec![(number, Some(unit))], span }))))
            }
            (Some(Kind::Object(_)), _) | (_, Some(Kind::Object(_))) => None,
            _ => {
                self.unexpected(value, "a quantity is a number and a unit", "write {\"value\": 7.5, \"unit\": \"ft\"}");
                Some(None)
            }
        }
    }

    fn measure(&self, value: &RawValue, unit: Option<Name>) -> Measure {
        let span = self.span(value);
        Measure { parts: vec![(Number { text: value.get().into(), span }, unit)], span }
    }

    fn native(&mut self, value: &RawValue, text: &str) -> Option<FactValue> {
        let start = self.span(value).start as usize + 1;
        match (self.parse_value)(self.source, start, text) {
            Ok(value) => Some(value),
            Err(mut mistake) => {
                // With escapes in the text, places inside it are only about right: keep them within the text.
                let whole = self.span(value);
                for label in &mut mistake.labels {
                    label.span.start = label.span.start.clamp(whole.start, whole.end);
                    label.span.end = label.span.end.clamp(label.span.start, whole.end);
                }
                let note = "texts in JSON hold the notation of facts; a text of its own stands in quotes within: \"\\\"…\\\"\"";
                self.found.push(mistake.note(note));
                None
            }
        }
    }

    // -------------------------------------------------------------------------------------------- JSON itself

    fn kind(&mut self, value: &'a RawValue) -> Option<Kind<'a>> {
        let text = value.get();
        let kind = match text.as_bytes().first() {
            Some(b'{') => self.pairs(text).map(Kind::Object),
            Some(b'[') => serde_json::from_str(text).map(Kind::Array),
            Some(b'"') => serde_json::from_str(text).map(Kind::Text),
            Some(b't') => Ok(Kind::Yes),
            Some(b'f') => Ok(Kind::No),
            Some(b'n') => Ok(Kind::Null),
            _ => Ok(Kind::Number),
        };
        match kind {
            Ok(kind) => Some(kind),
            Err(error) => {
                self.malformed(self.span(value).start as usize, text, &error);
                None
            }
        }
    }

    fn pairs(&self, text: &'a str) -> Result<Vec<(Name, &'a RawValue)>, serde_json::Error> {
        let pairs: Pairs = serde_json::from_str(text)?;
        pairs
            .0
            .into_iter()
            .map(|(key, value)| {
                let name: Cow<str> = serde_json::from_str::<Key>(key.get())?.0;
                Ok((Name { text: name.into(), span: self.span(key) }, value))
            })
            .collect()
    }

    fn span(&self, value: &RawValue) -> Span {
        let start = (value.get().as_ptr() as usize).saturating_sub(self.text.as_ptr() as usize);
        Span::new(self.source, start, start + value.get().len())
    }

    fn malformed(&mut self, shift: usize, text: &str, error: &serde_json::Error) {
        let line_start = match error.line() {
            0 | 1 => 0,
            line => text.match_indices('\n').nth(line - 2).map_or(text.len(), |(at, _)| at + 1),
        };
        let mut at = (line_start + error.column().saturating_sub(1)).min(text.len());
        while !text.is_char_boundary(at) {
            at -= 1;
        }
        let end = text[at..].chars().next().map_or(at, |c| at + c.len_utf8());
        let what = error.to_string();
        let what = what.split(" at line ").next().unwrap_or("");
        self.found.push(
            Diagnostic::error(Code::BadJson, "these facts are not well-formed JSON")
                .at(Span::new(self.source, shift + at, shift + end), what)
                .help("JSON is what RFC 8259 says: names and texts in double quotes, no comma before a closing brace"),
        );
    }

    fn unexpected(&mut self, value: &RawValue, what: &str, help: &str) {
        let diagnostic = Diagnostic::error(Code::BadJson, what).at(self.span(value), "this stands here");
        self.found.push(diagnostic.help(help));
    }

    fn twice(&mut self, again: &Name, first: &Name) {
        self.found.push(
            Diagnostic::error(Code::BadJson, format!("`{}` stands twice in one object", again.text))
                .at(again.span, "again here")
                .at(first.span, "first here")
                .help("put both under one name"),
        );
    }
}

fn is_list_word(name: &Name) -> bool {
    name.text == MEMBERS || name.text == MORE
}

fn one(term: FactTerm) -> FactValue {
    FactValue::OneOf(vec![FactRange { from: term, through: None }])
}

#[derive(Deserialize)]
struct Key<'a>(#[serde(borrow)] Cow<'a, str>);

/// The pairs of an object in order, names that stand twice included.
struct Pairs<'a>(Vec<(&'a RawValue, &'a RawValue)>);

impl<'de> Deserialize<'de> for Pairs<'de> {
    fn deserialize<D: serde::Deserializer<'de>>(from: D) -> Result<Self, D::Error> {
        struct InOrder;
        impl<'de> Visitor<'de> for InOrder {
            type Value = Pairs<'de>;

            fn expecting(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
                f.write_str("an object")
            }

            fn visit_map<M: MapAccess<'de>>(self, mut map: M) -> Result<Self::Value, M::Error> {
                let mut pairs = Vec::new();
                while let Some(pair) = map.next_entry()? {
                    pairs.push(pair);
                }
                Ok(Pairs(pairs))
            }
        }
        from.deserialize_map(InOrder)
    }
}
