//! What may be stated, for people: a form to fill in, in native syntax, and a list of things and fields.

use super::value::{domain_of, expectation, listed};
use crate::ir::schema::{Field, FieldType, Keyed, PROJECT, Schema, Thing, ThingId};
use std::fmt::Write;

/// A form to fill in: every field on a line of its own, unknown as yet. It reads as facts that say nothing but that there
/// may be one of each. With a thing, for that one only; a number outside the schema gives an empty form.
pub fn form(schema: &Schema, thing: Option<ThingId>) -> String {
    let mut form = Form { schema, lines: Vec::new() };
    match thing {
        Some(thing) => form.top(thing),
        None => {
            form.lines.push(Line::comment(0, &format!("Facts for {}.", schema_title(schema))));
            form.lines.push(Line::comment(0, "What is not known stays `unknown`; `none` says that it does not exist."));
            form.lines.push(Line::comment(
                0,
                "Not sure: `at least 15 A`, `copper or aluminum`, `not aluminum`, `before 2014-01-01`.",
            ));
            form.lines.push(Line::comment(0, "A list is the whole story once its line `and maybe more` is deleted."));
            match schema.thing_named(PROJECT) {
                Some(project) => form.top(project),
                None => form.lines.extend([Line::blank(), Line::text(0, "project \"Name of the project\" { }")]),
            }
            for thing in schema.top_things() {
                form.top(thing);
            }
        }
    }
    form.print()
}

fn schema_title(schema: &Schema) -> String {
    if schema.title.is_empty() { schema.family.clone() } else { schema.title.clone() }
}

struct Line {
    depth: usize,
    text: String,
    note: String,
}

impl Line {
    fn text(depth: usize, text: impl Into<String>) -> Line {
        Line { depth, text: text.into(), note: String::new() }
    }

    fn comment(depth: usize, note: &str) -> Line {
        Line { depth, text: String::new(), note: on_one_line(note) }
    }

    fn blank() -> Line {
        Line::text(0, "")
    }
}

fn on_one_line(text: &str) -> String {
    text.split_whitespace().collect::<Vec<_>>().join(" ")
}

struct Form<'a> {
    schema: &'a Schema,
    lines: Vec<Line>,
}

/// Lists nest this deep in a form.
const DEEPEST: usize = 4;
/// Notes stand in a column no further right than this.
const WIDEST: usize = 44;

impl Form<'_> {
    fn top(&mut self, id: ThingId) {
        let Some(thing) = self.schema.things.get(usize::from(id.0)) else { return };
        self.lines.push(Line::blank());
        let head = match thing.name.as_str() {
            PROJECT => "project \"Name of the project\" {".to_string(),
            name => format!("{name} {name}-1 {{"),
        };
        self.lines.push(Line { depth: 0, text: head, note: on_one_line(&thing.about) });
        self.fields(thing, 1, &mut vec![id]);
        self.lines.push(Line::text(0, "}"));
        if thing.name != PROJECT {
            let note = "delete this line when all are described".to_string();
            self.lines.push(Line { depth: 0, text: format!("and maybe more {}", thing.name), note });
        }
    }

    fn fields(&mut self, thing: &Thing, depth: usize, above: &mut Vec<ThingId>) {
        let mut measured: Vec<&str> = Vec::new();
        for field in &thing.fields {
            match (&field.ty, &field.keyed) {
                (FieldType::Inverse(..), _) => {}
                (_, Some(keyed)) => {
                    if !measured.contains(&keyed.name.as_str()) {
                        measured.push(&keyed.name);
                        self.lines.push(Line {
                            depth,
                            text: format!("{}: unknown", keyed.name),
                            note: note(field, &keyed_expectation(thing, keyed)),
                        });
                    }
                }
                (FieldType::Many(member), _) => self.list(field, *member, depth, above),
                (_, None) => self.lines.push(Line {
                    depth,
                    text: format!("{}: unknown", field.name),
                    note: note(field, &long_expectation(self.schema, field)),
                }),
            }
        }
    }

    fn list(&mut self, field: &Field, member: ThingId, depth: usize, above: &mut Vec<ThingId>) {
        let inner = self.schema.thing(member);
        let text = format!("{} {{", field.name);
        self.lines.push(Line { depth, text, note: note(field, &long_expectation(self.schema, field)) });
        if above.len() < DEEPEST && !above.contains(&member) {
            self.lines.push(Line::text(depth + 1, format!("{}-1 {{", inner.name)));
            above.push(member);
            self.fields(inner, depth + 2, above);
            above.pop();
            self.lines.push(Line::text(depth + 1, "}"));
        }
        self.lines.push(Line::text(depth + 1, "and maybe more"));
        self.lines.push(Line::text(depth, "}"));
    }

    fn print(&self) -> String {
        let width = |line: &Line| line.depth * 4 + line.text.chars().count();
        let noted = self.lines.iter().filter(|line| !line.text.is_empty() && !line.note.is_empty());
        let column = noted.map(width).filter(|width| *width <= WIDEST).max().unwrap_or(0);
        let mut text = String::new();
        for line in &self.lines {
            if !line.text.is_empty() {
                let _ = write!(text, "{:indent$}{}", "", line.text, indent = line.depth * 4);
            }
            if !line.note.is_empty() {
                let gap = if line.text.is_empty() { 0 } else { column.saturating_sub(width(line)) + 3 };
                let _ = write!(text, "{:gap$}# {}", "", line.note);
            }
            text.push('\n');
        }
        text
    }
}

fn note(field: &Field, expected: &str) -> String {
    let mut parts = Vec::new();
    if !field.about.is_empty() {
        parts.push(on_one_line(&field.about));
    }
    parts.push(expected.to_string());
    parts.extend(modifiers(field));
    parts.join("; ")
}

fn modifiers(field: &Field) -> Vec<String> {
    let mut all = Vec::new();
    if field.may_be_absent {
        all.push("may be none".to_string());
    }
    if field.never_negative {
        all.push("never negative".to_string());
    }
    if field.at_least > 0 {
        all.push(format!("at least {}", field.at_least));
    }
    if let Some(who) = &field.judgment {
        all.push(on_one_line(&format!("a judgment of the authority {who}")));
    }
    if let Some(document) = &field.external {
        all.push(on_one_line(&format!("decided elsewhere {document}")));
    }
    all
}

fn long_expectation(schema: &Schema, field: &Field) -> String {
    match domain_of(field) {
        Some(id) => listed(&schema.domain(id).values),
        None => expectation(schema, field),
    }
}

fn keyed_expectation(thing: &Thing, keyed: &Keyed) -> String {
    let same = thing.fields.iter().filter_map(|field| field.keyed.as_ref()).filter(|other| other.name == keyed.name);
    let (mut keys, mut barriers): (Vec<String>, Vec<String>) = (Vec::new(), Vec::new());
    for other in same {
        match &other.through {
            None if !keys.contains(&other.from) => keys.push(other.from.clone()),
            Some(through) if !barriers.contains(through) => barriers.push(through.clone()),
            _ => {}
        }
    }
    let first = keys.first().cloned().unwrap_or_default();
    let mut text = format!("such as 2 ft from {first}; from {}", listed(&keys));
    if !barriers.is_empty() {
        let _ = write!(text, "; through nothing or {}", listed(&barriers));
    }
    text
}

/// A list of things with their fields, types, choices and descriptions. With a thing, of that one only.
pub fn describe(schema: &Schema, thing: Option<ThingId>) -> String {
    let mut text = String::new();
    let all = (0..schema.things.len()).filter_map(|at| u16::try_from(at).ok().map(ThingId));
    for id in all.filter(|id| thing.is_none_or(|wanted| wanted == *id)) {
        if !text.is_empty() {
            text.push('\n');
        }
        describe_thing(schema, schema.thing(id), &mut text);
    }
    text
}

fn describe_thing(schema: &Schema, thing: &Thing, text: &mut String) {
    let _ = write!(text, "{}", thing.name);
    if let Some(alias) = &thing.alias {
        let _ = write!(text, " (also: {alias})");
    }
    if thing.where_described {
        text.push_str(" (asked for only where described)");
    }
    if !thing.about.is_empty() {
        let _ = write!(text, " - {}", on_one_line(&thing.about));
    }
    text.push('\n');
    let mut measured: Vec<&str> = Vec::new();
    for field in &thing.fields {
        let (name, expected) = match &field.keyed {
            Some(keyed) if measured.contains(&keyed.name.as_str()) => continue,
            Some(keyed) => {
                measured.push(&keyed.name);
                (&keyed.name, keyed_expectation(thing, keyed))
            }
            None => (&field.name, expectation(schema, field)),
        };
        let _ = writeln!(text, "  {name}: {}", [vec![expected], modifiers(field)].concat().join("; "));
        if !field.about.is_empty() {
            let _ = writeln!(text, "      {}", on_one_line(&field.about));
        }
        if let Some(id) = domain_of(field) {
            describe_values(schema, id, text);
        }
    }
}

fn describe_values(schema: &Schema, id: crate::ir::schema::DomainId, text: &mut String) {
    let domain = schema.domain(id);
    let joint = if domain.ordered { " < " } else { ", " };
    let _ = writeln!(text, "      {}", domain.values.join(joint));
    let notes = domain.values.iter().zip(&domain.value_notes).filter(|(_, note)| !note.is_empty());
    for (value, note) in notes {
        let _ = writeln!(text, "        {value}: {}", on_one_line(note));
    }
    for (name, set) in &domain.groups {
        let members = domain.values.iter().enumerate().filter(|(at, _)| *at < 128 && set & (1 << at) != 0);
        let members: Vec<&str> = members.map(|(_, value)| value.as_str()).collect();
        let _ = writeln!(text, "      {name} = {}", members.join(", "));
    }
}
