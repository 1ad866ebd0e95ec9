//! Choices, scales and things into the schema of facts.

use super::gather::Gathered;
use crate::base::dimension::Dimension;
use crate::base::source::Span;
use crate::diag::{Code, Diagnostic, Diagnostics, nearest};
use crate::ir::schema::{Domain, Field, FieldId, FieldType, Keyed, MOST_VALUES, Schema, Thing, ThingId, ValueSet};
use crate::syntax::ast;
use std::collections::BTreeMap;

/// The deepest nesting of things in things.
const DEEPEST: usize = 3;

pub(super) fn build(gathered: &Gathered, diagnostics: &mut Diagnostics) -> Schema {
    let mut schema =
        Schema { family: gathered.family.clone(), title: gathered.family_title.clone(), ..Schema::default() };
    let mut names: BTreeMap<String, Span> = BTreeMap::new();
    domains(gathered, &mut schema, &mut names, diagnostics);
    for thing in &gathered.things {
        declare(&mut names, &thing.name, diagnostics);
        let Ok(id) = u16::try_from(schema.things.len()) else { break };
        // The first of two stays, so that what was said of it still holds.
        schema.thing_names.entry(thing.name.text.to_string()).or_insert(ThingId(id));
        if let Some(alias) = &thing.alias {
            declare(&mut names, alias, diagnostics);
            schema.thing_names.entry(alias.text.to_string()).or_insert(ThingId(id));
        }
        schema.things.push(Thing {
            name: thing.name.text.to_string(),
            alias: thing.alias.as_ref().map(|a| a.text.to_string()),
            where_described: thing.where_described,
            about: thing.about.as_deref().unwrap_or("").to_string(),
            fields: Vec::new(),
        });
    }
    for (index, thing) in gathered.things.iter().enumerate().take(schema.things.len()) {
        let mut seen: BTreeMap<&str, Span> = BTreeMap::new();
        for field in &thing.fields {
            if let Some(first) = seen.insert(&field.name.text, field.name.span) {
                diagnostics.push(twice(&field.name, first));
                continue;
            }
            if let Some(flat) = fields(&schema, field, diagnostics) {
                schema.things[index].fields.extend(flat);
            }
        }
    }
    for (thing, field) in &gathered.fields {
        match schema.thing_named(&thing.text) {
            Some(id) if schema.field_named(id, &field.name.text).is_none() => {
                if let Some(flat) = fields(&schema, field, diagnostics) {
                    schema.things[id.0 as usize].fields.extend(flat);
                }
            }
            Some(_) => {
                let title = format!("`{}` already has a field `{}`", thing.text, field.name.text);
                diagnostics.push(Diagnostic::error(Code::DefinedTwice, title).at(field.name.span, "again here"));
            }
            None => diagnostics.push(unknown_thing(&schema, thing)),
        }
    }
    inverses(gathered, &mut schema, diagnostics);
    nesting(gathered, &schema, diagnostics);
    schema
}

fn declare(names: &mut BTreeMap<String, Span>, name: &ast::Name, diagnostics: &mut Diagnostics) {
    if let Some(first) = names.insert(name.text.to_string(), name.span) {
        diagnostics.push(twice(name, first));
    }
}

pub(super) fn twice(name: &ast::Name, first: Span) -> Diagnostic {
    Diagnostic::error(Code::DefinedTwice, format!("`{}` is defined twice", name.text))
        .at(name.span, "again here")
        .at(first, "first here")
        .help("give one of them another name")
}

fn domains(
    gathered: &Gathered,
    schema: &mut Schema,
    names: &mut BTreeMap<String, Span>,
    diagnostics: &mut Diagnostics,
) {
    for choice in &gathered.choices {
        declare(names, &choice.name, diagnostics);
        let mut domain = Domain {
            name: choice.name.text.to_string(),
            about: choice.about.as_deref().unwrap_or("").to_string(),
            ordered: false,
            values: Vec::new(),
            value_notes: Vec::new(),
            groups: Vec::new(),
        };
        let mut seen: BTreeMap<&str, Span> = BTreeMap::new();
        for (value, note) in &choice.values {
            if let Some(first) = seen.insert(&value.text, value.span) {
                diagnostics.push(twice(value, first));
                continue;
            }
            domain.values.push(value.text.to_string());
            domain.value_notes.push(note.as_deref().unwrap_or("").to_string());
        }
        too_many(&mut domain, &choice.name, diagnostics);
        for (group, members) in &choice.groups {
            if let Some(first) = seen.insert(&group.text, group.span) {
                diagnostics.push(twice(group, first));
                continue;
            }
            let mut set: ValueSet = 0;
            for member in members {
                let inner = domain.groups.iter().find(|(name, _)| *name == member.text).map(|(_, set)| *set);
                match (domain.values.iter().position(|v| *v == member.text), inner) {
                    (Some(at), _) => set |= 1 << at,
                    (None, Some(inner)) => set |= inner,
                    (None, None) => {
                        let near = nearest(&member.text, domain.values.iter().map(String::as_str));
                        let diagnostic = Diagnostic::error(
                            Code::UnknownChoiceValue,
                            format!("`{}` is not a value of `{}`", member.text, domain.name),
                        )
                        .at(member.span, "not listed above");
                        diagnostics.push(match near {
                            Some(near) => diagnostic.help(format!("did you mean `{near}`?")),
                            None => diagnostic.help("list the value first, then group it"),
                        });
                    }
                }
            }
            domain.groups.push((group.text.to_string(), set));
        }
        schema.domains.push(domain);
    }
    for scale in &gathered.scales {
        declare(names, &scale.name, diagnostics);
        let mut domain = Domain {
            name: scale.name.text.to_string(),
            about: scale.about.as_deref().unwrap_or("").to_string(),
            ordered: true,
            values: Vec::new(),
            value_notes: Vec::new(),
            groups: Vec::new(),
        };
        let mut seen: BTreeMap<&str, Span> = BTreeMap::new();
        for step in &scale.steps {
            if let Some(first) = seen.insert(&step.text, step.span) {
                diagnostics.push(twice(step, first));
                continue;
            }
            domain.values.push(step.text.to_string());
            domain.value_notes.push(String::new());
        }
        too_many(&mut domain, &scale.name, diagnostics);
        schema.domains.push(domain);
    }
}

fn too_many(domain: &mut Domain, name: &ast::Name, diagnostics: &mut Diagnostics) {
    if domain.values.len() > MOST_VALUES {
        let count = domain.values.len();
        diagnostics.push(
            Diagnostic::error(Code::TooManyValues, format!("`{}` has {count} values", name.text))
                .at(name.span, format!("at most {MOST_VALUES}"))
                .help("split it, or use a quantity"),
        );
        domain.values.truncate(MOST_VALUES);
        domain.value_notes.truncate(MOST_VALUES);
    }
}

/// The type a plain name means.
fn plain(schema: &Schema, name: &str) -> Option<FieldType> {
    Some(match name {
        "yes-no" => FieldType::YesNo,
        "text" => FieldType::Text,
        "date" => FieldType::Date,
        _ => {
            if let Some(at) = schema.domains.iter().position(|d| d.name == name) {
                FieldType::OneOf(crate::ir::schema::DomainId(u16::try_from(at).ok()?))
            } else if let Some(thing) = schema.thing_named(name) {
                FieldType::Ref(thing)
            } else {
                FieldType::Quantity(Dimension::named(name)?)
            }
        }
    })
}

fn unknown_type(schema: &Schema, name: &ast::Name, what: &str) -> Diagnostic {
    let known = ["yes-no", "text", "date"]
        .into_iter()
        .chain(schema.domains.iter().map(|d| d.name.as_str()))
        .chain(schema.thing_names.keys().map(String::as_str))
        .chain(Dimension::NAMED.iter().map(|(name, _)| *name));
    let near = nearest(&name.text, known);
    let diagnostic =
        Diagnostic::error(Code::UnknownName, format!("there is no {what} `{}`", name.text)).at(name.span, "not known");
    match near {
        Some(near) => diagnostic.help(format!("did you mean `{near}`?")),
        None => diagnostic.help("a type is yes-no, text, date, a dimension, a choice, a scale or a thing"),
    }
}

fn unknown_thing(schema: &Schema, name: &ast::Name) -> Diagnostic {
    let near = nearest(&name.text, schema.thing_names.keys().map(String::as_str));
    let diagnostic =
        Diagnostic::error(Code::UnknownThing, format!("there is no thing `{}`", name.text)).at(name.span, "not known");
    match near {
        Some(near) => diagnostic.help(format!("did you mean `{near}`?")),
        None => diagnostic.help("declare it with `thing name { … }`"),
    }
}

/// The flat fields that one written field makes.
fn fields(schema: &Schema, field: &ast::Field, diagnostics: &mut Diagnostics) -> Option<Vec<Field>> {
    let mut made = Field {
        name: field.name.text.to_string(),
        about: field.about.as_deref().unwrap_or("").to_string(),
        ty: FieldType::YesNo,
        may_be_absent: false,
        never_negative: false,
        at_least: 0,
        judgment: None,
        external: None,
        keyed: None,
    };
    for modifier in &field.modifiers {
        match modifier {
            ast::Modifier::MayBeAbsent(_) => made.may_be_absent = true,
            ast::Modifier::NeverNegative(_) => made.never_negative = true,
            ast::Modifier::AtLeast(number) => made.at_least = number.text.parse().unwrap_or(0),
            ast::Modifier::Judgment(who, _) => made.judgment = Some(who.as_deref().unwrap_or("").to_string()),
            ast::Modifier::External(document, _) => {
                made.external = Some(document.as_deref().unwrap_or("").to_string());
            }
        }
    }
    let thing = |name: &ast::Name, diagnostics: &mut Diagnostics| {
        let found = schema.thing_named(&name.text);
        if found.is_none() {
            diagnostics.push(unknown_thing(schema, name));
        }
        found
    };
    match &field.ty {
        ast::FieldType::Plain(name) => match plain(schema, &name.text) {
            Some(ty) => made.ty = ty,
            None => {
                diagnostics.push(unknown_type(schema, name, "type"));
                return None;
            }
        },
        ast::FieldType::Many { thing: name, by_name } => {
            let id = thing(name, diagnostics)?;
            made.ty = if *by_name { FieldType::ManyRef(id) } else { FieldType::Many(id) };
        }
        ast::FieldType::Inverse { thing: name, .. } => {
            made.ty = FieldType::Inverse(thing(name, diagnostics)?, FieldId(0));
        }
        ast::FieldType::Keyed { dimension, key, through } => {
            let Some(ty) = Dimension::named(&dimension.text) else {
                diagnostics.push(unknown_type(schema, dimension, "dimension"));
                return None;
            };
            let domain = |name: &ast::Name, diagnostics: &mut Diagnostics| {
                let found = schema.domains.iter().find(|d| d.name == name.text);
                if found.is_none() {
                    diagnostics.push(unknown_type(schema, name, "choice"));
                }
                found
            };
            let keys = domain(key, diagnostics)?;
            let barriers = match through {
                Some(name) => Some(domain(name, diagnostics)?),
                None => None,
            };
            return Some(keyed(&made, ty, keys, barriers));
        }
    }
    let wrong = match (&made.ty, made.never_negative, made.at_least) {
        (FieldType::Quantity(_), _, 0) => None,
        (FieldType::Many(_) | FieldType::ManyRef(_), false, _) => None,
        (_, false, 0) => None,
        (_, true, _) => Some("`never negative` is for quantities"),
        _ => Some("`at least N` is for lists"),
    };
    if let Some(wrong) = wrong {
        diagnostics.push(Diagnostic::error(Code::WrongType, wrong).at(field.span, "this field is not one"));
    }
    Some(vec![made])
}

/// One measurement for each key and, for each, one yes-no for each barrier.
fn keyed(made: &Field, dimension: Dimension, keys: &Domain, barriers: Option<&Domain>) -> Vec<Field> {
    let mut flat = Vec::new();
    for key in &keys.values {
        let base = Keyed { name: made.name.clone(), from: key.clone(), through: None };
        flat.push(Field {
            name: format!("{} from {key}", made.name),
            ty: FieldType::Quantity(dimension),
            keyed: Some(base.clone()),
            ..made.clone()
        });
        for barrier in barriers.iter().flat_map(|b| &b.values) {
            flat.push(Field {
                name: format!("{} from {key} through {barrier}", made.name),
                ty: FieldType::YesNo,
                may_be_absent: false,
                never_negative: false,
                keyed: Some(Keyed { through: Some(barrier.clone()), ..base.clone() }),
                ..made.clone()
            });
        }
    }
    flat
}

/// Finds the fields that inverse lists turn round.
fn inverses(gathered: &Gathered, schema: &mut Schema, diagnostics: &mut Diagnostics) {
    for (index, thing) in gathered.things.iter().enumerate().take(schema.things.len()) {
        for field in &thing.fields {
            let ast::FieldType::Inverse { thing: other, field: back } = &field.ty else { continue };
            let Some(id) = schema.thing_named(&other.text) else { continue };
            let found = schema
                .field_named(id, &back.text)
                .filter(|f| matches!(&schema.field(id, *f).ty, FieldType::Ref(to) if to.0 as usize == index));
            match found {
                Some(found) => {
                    if let Some(at) = schema.things[index].fields.iter().position(|f| f.name == field.name.text) {
                        schema.things[index].fields[at].ty = FieldType::Inverse(id, found);
                    }
                }
                None => diagnostics.push(
                    Diagnostic::error(
                        Code::UnknownField,
                        format!("`{}` has no field `{}` that names a `{}`", other.text, back.text, thing.name.text),
                    )
                    .at(back.span, "not such a field")
                    .help(format!("declare `{}: {}` in `thing {}`", back.text, thing.name.text, other.text)),
                ),
            }
        }
    }
}

/// Things may nest [`DEEPEST`] deep and never in themselves.
fn nesting(gathered: &Gathered, schema: &Schema, diagnostics: &mut Diagnostics) {
    for thing in &gathered.things {
        let Some(start) = schema.thing_named(&thing.name.text) else { continue };
        let mut level = vec![start];
        let mut depth = 0;
        while !level.is_empty() && depth <= DEEPEST {
            level = level
                .iter()
                .flat_map(|t| &schema.thing(*t).fields)
                .filter_map(|f| match f.ty {
                    FieldType::Many(inner) => Some(inner),
                    _ => None,
                })
                .collect();
            level.sort_unstable();
            level.dedup();
            depth += 1;
        }
        if depth > DEEPEST {
            diagnostics.push(
                Diagnostic::error(Code::SubjectsTooDeep, format!("things nest more than {DEEPEST} deep"))
                    .at(thing.name.span, "from here down")
                    .help("let an inner thing refer to an outer one by name instead"),
            );
        }
    }
}
