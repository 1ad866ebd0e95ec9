//! Lists: things and fields, choices and values, editions, sections, units.

use super::page::{Ink, Page};
use super::state::is_typed;
use super::{Did, Reply, Trial};
use crate::base::unit;
use crate::diag::{Code, Look, nearest};
use crate::facts;
use crate::ir::schema::FieldType;
use crate::syntax::ast::{Item, SetKind};
use std::collections::BTreeMap;
use std::rc::Rc;

/// What can be listed whole.
pub(super) const TOPICS: &[&str] = &[
    "things",
    "choices",
    "editions",
    "amendments",
    "sections",
    "tables",
    "kinds",
    "amounts",
    "series",
    "places",
    "readings",
    "units",
    "jobs",
];

impl Trial {
    /// `list [TOPIC or NAME]`
    pub(super) fn list(&mut self, rest: &str, line: &str, look: &Look) -> Did {
        let opened = Rc::clone(&self.now.opened);
        let schema = &opened.program.schema;
        let mut page = Page::new(look);
        let (topic, narrowed) = rest.split_once(' ').map_or((rest, ""), |(topic, rest)| (topic, rest.trim()));
        let mut rows: Vec<(String, String)> = Vec::new();
        match topic {
            "" => {
                page.fill(&format!("{}; or a thing, a choice or a field by name", TOPICS.join(", ")), "", "");
                return Ok(Reply::done(page.text));
            }
            "things" => rows.extend(schema.things.iter().map(|thing| {
                let alias = thing.alias.as_ref().map_or_else(String::new, |a| format!(", {a}"));
                (format!("{}{alias}", thing.name), thing.about.clone())
            })),
            "choices" => rows.extend(schema.domains.iter().map(|d| (d.name.clone(), d.about.clone()))),
            "editions" => {
                let editions = self.session.editions_over(&self.now.over());
                rows.extend(editions.into_iter().map(|b| (format!("{} {}", b.family, b.year), b.title)));
            }
            "amendments" => rows.extend(self.amendments()),
            "sections" => {
                let mut seen: Vec<&str> = Vec::new();
                for section in &opened.program.sections {
                    if section.address.starts_with(narrowed) && !seen.contains(&section.address.as_str()) {
                        seen.push(&section.address);
                        rows.push((section.address.clone(), section.title.clone()));
                    }
                }
            }
            "tables" => {
                rows.extend(opened.program.tables.iter().map(|t| (format!("table {}", t.address), t.title.clone())))
            }
            "kinds" => {
                let mut kinds: BTreeMap<String, String> = BTreeMap::new();
                for kind in &opened.program.kinds {
                    let per = if kind.cite.is_empty() { String::new() } else { format!(", per {}", kind.cite) };
                    kinds.insert(kind.name.clone(), format!("of {}{per}", schema.thing(kind.thing).name));
                }
                rows.extend(kinds);
            }
            "amounts" => {
                let mut named: BTreeMap<(&str, &str), String> = BTreeMap::new();
                for formula in &opened.program.formulas {
                    let per = if formula.cite.is_empty() { String::new() } else { format!(", per {}", formula.cite) };
                    let title = if formula.title.is_empty() { String::new() } else { format!(": {}", formula.title) };
                    let of = &schema.thing(formula.thing).name;
                    named.insert((&formula.name, of), format!("of {of}{per}{title}"));
                }
                rows.extend(named.into_iter().map(|((name, _), about)| (name.to_string(), about)));
            }
            "series" => rows.extend(opened.composed.items.iter().filter_map(|item| match item {
                Item::Series(series) => {
                    let title = series.title.as_ref().map_or("", |t| t.as_str());
                    Some((format!("series {}", series.address.text), title.to_string()))
                }
                _ => None,
            })),
            "places" => {
                let (places, _) = self.session.places_over(&self.now.over());
                rows.extend(places.names().into_iter().map(|(name, title)| (name.to_string(), title.to_string())));
            }
            "readings" => rows.extend(opened.program.readings.iter().map(|reading| {
                let options: Vec<&str> = reading.options.iter().map(|(name, _)| name.as_str()).collect();
                (reading.name.clone(), format!("{} ({})", reading.question, options.join(" or ")))
            })),
            "units" => {
                let mut dimensions: Vec<(String, Vec<&str>)> = Vec::new();
                for unit in unit::all() {
                    let name = unit.dimension.name();
                    match dimensions.iter_mut().find(|(known, _)| *known == name) {
                        Some((_, units)) => units.push(unit.symbol),
                        None => dimensions.push((name, vec![unit.symbol])),
                    }
                }
                rows.extend(dimensions.into_iter().map(|(name, units)| (name, units.join(", "))));
            }
            "jobs" => return self.job("", line, look),
            name => {
                if let Some(thing) = schema.thing_named(name) {
                    let thing = schema.thing(thing);
                    let alias = thing.alias.as_ref().map_or_else(String::new, |alias| format!(", {alias}"));
                    let about = if thing.about.is_empty() { String::new() } else { format!(" - {}", thing.about) };
                    page.head(&format!("{}{alias}{about}", thing.name), Ink::Strong);
                    let mut keyed: Vec<&str> = Vec::new();
                    for field in &thing.fields {
                        // A measurement has a field for each edge it is taken from.
                        if let Some(key) = &field.keyed {
                            if keyed.contains(&key.name.as_str()) {
                                continue;
                            }
                            keyed.push(&key.name);
                        }
                        if matches!(field.ty, FieldType::Inverse(..)) {
                            continue;
                        }
                        let name = field.keyed.as_ref().map_or(&field.name, |key| &key.name);
                        let about = if field.about.is_empty() { String::new() } else { format!("{}: ", field.about) };
                        let expected = match &field.keyed {
                            Some(key) => format!("such as 2 ft from {}", key.from),
                            None => facts::expectation(schema, field),
                        };
                        rows.push((name.clone(), format!("{about}{expected}")));
                    }
                    page.columns(&rows);
                    page.fill("`list FIELD` tells the values of a choice", "  ", "  ");
                    return Ok(Reply::done(page.text));
                }
                if let Some(domain) = schema.domains.iter().find(|d| d.name == name) {
                    let joint = if domain.ordered { " < " } else { ", " };
                    page.head(&domain.name, Ink::Strong);
                    page.fill(&domain.values.join(joint), "  ", "  ");
                    let notes = domain.values.iter().zip(&domain.value_notes).filter(|(_, note)| !note.is_empty());
                    let notes: Vec<(String, String)> = notes.map(|(v, n)| (v.clone(), n.clone())).collect();
                    page.columns(&notes);
                    for (group, set) in &domain.groups {
                        let members: Vec<&str> = (domain.values.iter().enumerate())
                            .filter(|(at, _)| *at < 128 && set & (1 << at) != 0)
                            .map(|(_, v)| v.as_str())
                            .collect();
                        page.fill(&format!("{group} = {}", members.join(", ")), "  ", "      ");
                    }
                    return Ok(Reply::done(page.text));
                }
                let mut whose = 0;
                for thing in &schema.things {
                    for field in thing.fields.iter().filter(|f| f.name == name) {
                        whose += 1;
                        rows.push((format!("{} of {}", field.name, thing.name), {
                            let about =
                                if field.about.is_empty() { String::new() } else { format!("{}; ", field.about) };
                            let values = match field.ty {
                                FieldType::OneOf(domain) => schema.domain(domain).values.join(", "),
                                _ => facts::expectation(schema, field),
                            };
                            format!("{about}{values}")
                        }));
                    }
                }
                if whose == 0 {
                    let known: Vec<&str> = (TOPICS.iter().copied())
                        .chain(schema.things.iter().map(|t| t.name.as_str()))
                        .chain(schema.domains.iter().map(|d| d.name.as_str()))
                        .chain(schema.things.iter().flat_map(|t| &t.fields).map(|f| f.name.as_str()))
                        .collect();
                    let near = nearest(name, known.iter().copied()).map(str::to_string);
                    let bad = self.complaint(
                        Code::NoSuchTopic,
                        format!("there is nothing to list called `{name}`"),
                        line,
                        name,
                        "not known",
                    );
                    return Err(match near {
                        Some(near) => bad.help(format!("did you mean `list {near}`?")),
                        None => bad.help(format!("topics: {}", TOPICS.join(", "))),
                    }
                    .into());
                }
            }
        }
        if rows.is_empty() {
            page.line("None.");
        }
        page.columns(&rows);
        Ok(Reply::done(page.text))
    }

    /// Amendments loaded or typed, with what they amend.
    pub(super) fn amendments(&self) -> Vec<(String, String)> {
        let mut all = Vec::new();
        for (_, book) in self.session.trees_over(&self.now.over()) {
            for item in &book.items {
                let Item::Changes(set) = item else { continue };
                if set.kind == SetKind::Edition || is_typed(&set.name.text) {
                    continue;
                }
                let title = set.title.as_ref().map_or_else(String::new, |t| format!(" - {t}"));
                let base = set
                    .base
                    .as_ref()
                    .map_or("every base".to_string(), |b| format!("{} {}", b.family.text, b.year.text));
                all.push((set.name.text.to_string(), format!("to {base}{title}")));
            }
        }
        all
    }
}
