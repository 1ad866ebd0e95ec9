//! A part of the book as it stands with its history, or a thing as it was stated.

use super::page::{Ink, Page};
use super::state::is_typed;
use super::{Did, Reply, Trial, naming};
use crate::diag::{Code, Look, nearest};
use crate::eval;
use crate::facts::installation::{Cell, Installation, ObjectId, Standing};
use crate::format::{line, section};
use crate::ir::program::Program;
use crate::ir::schema::FieldType;
use crate::report::{self, Depth};
use crate::syntax::ast::{Body, Item, RowMode, Section, StatementKind, Table, TableKey};
use std::rc::Rc;

impl Trial {
    /// The whole report on the job at hand.
    pub(super) fn inspect(&mut self, rest: &str, line: &str, look: &Look) -> Did {
        let depth = match rest {
            "" => Depth::Brief,
            "full" => Depth::Full,
            other => {
                let bad = self.complaint(
                    Code::Lacking,
                    format!("`inspect` takes nothing or `full`, not `{other}`"),
                    line,
                    other,
                    "",
                );
                return Err(bad.help("write `inspect` or `inspect full`").into());
            }
        };
        let Some(job) = self.now.job() else { return Ok(Reply::done(String::new())) };
        let opened = &self.now.opened;
        let mut view = report::inspection(&opened.program, &job.found.installation, &opened.choices);
        view.governing.edition = self.now.book_name();
        if view.project.is_empty() {
            view.project.clone_from(&job.name);
        }
        Ok(Reply::done(report::text(&view, depth, look)))
    }

    /// `show 210.8(A)`, `show table 250.122`, `show metal-path`, `show EX4-1`
    pub(super) fn show(&mut self, rest: &str, typed: &str, look: &Look) -> Did {
        if rest.is_empty() {
            let bad = self.complaint(Code::Lacking, "what shall be shown?".to_string(), typed, typed, "");
            return Err(bad.help("a section, a table, a kind or a thing: `show 517.13`").into());
        }
        let mut page = Page::new(look);
        let opened = Rc::clone(&self.now.opened);
        let wanted = rest.strip_prefix("table ").or_else(|| rest.strip_prefix("series ")).unwrap_or(rest).trim();
        let mut shown = false;
        let mut addressed = wanted.to_string();
        for item in &opened.composed.items {
            match item {
                Item::Section(found) if !rest.starts_with("table ") && covers(&found.address.text, wanted) => {
                    shown |= draw_section(found, wanted, &mut page);
                }
                Item::Section(found) if found.name.as_ref().is_some_and(|n| n.text == wanted) => {
                    shown |= draw_section(found, &found.address.text, &mut page);
                }
                Item::Table(found) if found.address.text == wanted => {
                    draw_table(found, &mut page);
                    shown = true;
                }
                Item::Kind(found) if found.name.text == wanted => {
                    let per = found.per.as_ref().map_or_else(String::new, |a| format!(", per {}", a.text));
                    page.head(&format!("kind {} of {}{per}", found.name.text, found.thing.text), Ink::Strong);
                    for item in &found.items.all {
                        marked(&line::item(item), &line::marks(&item.marks), 1, &mut page);
                    }
                    shown = true;
                }
                Item::Define(found) if found.name.text == wanted => {
                    let per = found.per.as_ref().map_or_else(String::new, |a| format!(", per {}", a.text));
                    page.head(&format!("define {} of {}{per}", found.name.text, found.thing.text), Ink::Strong);
                    marked(&format!("= {}", line::expr(&found.expr)), &line::marks(&found.marks), 1, &mut page);
                    shown = true;
                }
                Item::Limit(found) if found.name.text == wanted => {
                    let text = format!("limit {} = {}", found.name.text, line::quantity(&found.quantity));
                    marked(&text, &line::marks(&found.marks), 0, &mut page);
                    shown = true;
                }
                Item::Amount(found) if found.name.text == wanted => {
                    let per = found.per.as_ref().map_or_else(String::new, |a| format!(", per {}", a.text));
                    let title = found.title.as_ref().map_or_else(String::new, |t| format!("  {t}"));
                    page.head(&format!("amount {} of {}{per}{title}", found.name.text, found.thing.text), Ink::Strong);
                    addressed = found.per.as_ref().map_or_else(|| wanted.to_string(), |a| a.text.to_string());
                    for line in &found.lines {
                        marked(&line::amount_line(line), &line::marks(&line.marks), 1, &mut page);
                    }
                    shown = true;
                }
                Item::Series(found) if found.address.text == wanted && !rest.starts_with("table ") => {
                    let title = found.title.as_ref().map_or("", |t| t.as_str());
                    page.head(format!("series {}  {title}", found.address.text).trim_end(), Ink::Strong);
                    let values: Vec<String> = found.values.iter().map(line::value).collect();
                    page.fill(&values.join(", "), "  ", "  ");
                    shown = true;
                }
                Item::Reading(found) if found.name.text == wanted => {
                    let about = found.about.as_ref().map_or_else(String::new, |a| format!(" \"{a}\""));
                    page.head(&format!("reading {} of {}{about}", found.name.text, found.of.text), Ink::Strong);
                    for option in &found.options {
                        page.fill(&format!("{}: {}", option.name.text, option.about), "  ", "      ");
                    }
                    shown = true;
                }
                _ => {}
            }
        }
        if shown {
            let besides: Vec<&str> = opened.composed.items.iter().filter_map(|item| spoken_for(item, wanted)).collect();
            if !besides.is_empty() {
                page.fill(&format!("Its words: {} (`show NAME`)", besides.join(", ")), "  ", "    ");
            }
            // Tables and series keep their history under their full name.
            let full = [rest.to_string(), format!("series {wanted}"), format!("table {wanted}")];
            let known = full.into_iter().find(|name| opened.composed.history.contains_key(name));
            self.history(&known.unwrap_or(addressed), &mut page);
            return Ok(Reply::done(page.text));
        }
        let Some(found) = self.now.job().map(|job| Rc::clone(&job.found)) else {
            return Ok(Reply::done(String::new()));
        };
        let span = self.pointing(typed, rest);
        let names = naming::Names { schema: &opened.program.schema, facts: &found.installation };
        if let Ok(id) = names.whole(rest, span) {
            object(&opened.program, &found.installation, id, &mut page);
            return Ok(Reply::done(page.text));
        }
        let mut known: Vec<String> = opened.program.duties.iter().map(|d| d.address.clone()).collect();
        known.extend(opened.composed.items.iter().filter_map(named));
        known.extend(names.stated().map(|(_, name)| name.to_string()));
        let edition = self.now.book_name();
        let unknown =
            self.complaint(Code::NoSuchTopic, format!("{edition} has nothing called {rest}"), typed, rest, "not there");
        Err(match nearest(wanted, known.iter().map(String::as_str)) {
            Some(near) => unknown.help(format!("did you mean `show {near}`?")),
            None => unknown.help("`list sections`, `list tables` and `list kinds` tell what there is"),
        }
        .into())
    }

    fn history(&self, address: &str, page: &mut Page) {
        let opened = &self.now.opened;
        let mut events = opened.composed.history_of(address);
        // What changed a kind stands with the paragraph it speaks for, under the kind's name.
        let named = format!("{address}: ");
        for (at, all) in &opened.composed.history {
            let of_it = all.iter().filter(|event| event.what.starts_with(&named));
            events.extend(of_it.map(|event| (at.as_str(), event)));
        }
        if events.is_empty() {
            page.line("Nothing on record changed it.");
            return;
        }
        page.head("History", Ink::Strong);
        let sources = self.session.sources();
        for (at, event) in events {
            let (number, _) = sources.line_column(event.span.source, event.span.start);
            let file = sources.get(event.span.source).map_or("", |s| s.name.as_str());
            let document = if is_typed(&event.document) { "on trial" } else { event.document.as_str() };
            let place = if is_typed(&event.document) { file.to_string() } else { format!("{file}:{number}") };
            page.fill(&format!("{document}: {at}  {} ({place})", event.what), "  ", "      ");
        }
    }
}

fn named(item: &Item) -> Option<String> {
    match item {
        Item::Section(x) => Some(x.address.text.to_string()),
        Item::Table(x) => Some(format!("table {}", x.address.text)),
        Item::Kind(x) => Some(x.name.text.to_string()),
        Item::Define(x) => Some(x.name.text.to_string()),
        Item::Limit(x) => Some(x.name.text.to_string()),
        Item::Reading(x) => Some(x.name.text.to_string()),
        Item::Amount(x) => Some(x.name.text.to_string()),
        Item::Series(x) => Some(format!("series {}", x.address.text)),
        Item::Terms(_)
        | Item::Edition(_)
        | Item::Choice(_)
        | Item::Scale(_)
        | Item::Thing(_)
        | Item::Changes(_)
        | Item::Beside(_)
        | Item::Jurisdiction(_) => None,
    }
}

/// The name of a kind, definition or amount that paraphrases a section or what lies in it.
fn spoken_for<'i>(item: &'i Item, section: &str) -> Option<&'i str> {
    let (name, per) = match item {
        Item::Kind(kind) => (&kind.name, &kind.per),
        Item::Define(define) => (&define.name, &define.per),
        Item::Amount(amount) => (&amount.name, &amount.per),
        _ => return None,
    };
    per.as_ref().filter(|per| covers(section, &per.text)).map(|_| name.text.as_str())
}

/// Whether a section holds what is wanted, or is it.
fn covers(address: &str, wanted: &str) -> bool {
    wanted == address || wanted.strip_prefix(address).is_some_and(|rest| rest.starts_with('('))
}

fn draw_section(found: &Section, wanted: &str, page: &mut Page) -> bool {
    let rest = wanted.strip_prefix(found.address.text.as_str()).unwrap_or("");
    let mut body = &found.body;
    let mut title = found.title.as_ref().map_or_else(String::new, ToString::to_string);
    let mut left = rest;
    let mut context: Vec<section::Line> = Vec::new();
    // Down to the paragraph wanted; what surrounds it is told first, since it binds it too.
    while !left.is_empty() {
        let Some((inner, own, after)) = paragraph(body, left) else { break };
        context.extend(section::body(&surrounding(body)));
        body = inner;
        left = after;
        if let Some(own) = own {
            title = own;
        }
    }
    let address = wanted.get(..wanted.len() - left.len()).unwrap_or(wanted);
    page.head(format!("{address}  {title}").trim_end(), Ink::Strong);
    if !context.is_empty() {
        for line in &context {
            let text = page.inked(&line.text, Ink::Faint);
            page.line(&format!("{}{text}", "  ".repeat(line.depth)));
        }
    }
    let lines = section::body(body);
    // A numbered line within a list is shown without its neighbours, if it is one.
    let alone = lines.iter().any(|line| line.text.starts_with(left) && !left.is_empty());
    let mut skipped = None;
    for line in lines {
        if skipped.is_some_and(|depth| line.depth > depth) {
            continue;
        }
        skipped = (alone && !speaks_of(&line.text, left)).then_some(line.depth);
        if skipped.is_none() {
            marked(&line.text, &line.marks, line.depth, page);
        }
    }
    alone || left.is_empty()
}

/// Whether a line of a body is the labelled one, or one that binds it too.
fn speaks_of(line: &str, label: &str) -> bool {
    if line.starts_with('(') {
        return line.starts_with(label);
    }
    // An exception may be to some labels only.
    let head = line.split(" as ").next().unwrap_or(line);
    match head.split_once(" to (") {
        Some((lead, to)) if lead.contains("Ex.") => format!("({to}").contains(label),
        Some(_) | None => true,
    }
}

/// What of a body also binds its paragraphs.
fn surrounding(body: &Body) -> Body {
    let statements = body
        .statements
        .iter()
        .filter(|s| matches!(s.kind, StatementKind::Governs { .. } | StatementKind::When(_)))
        .cloned()
        .collect();
    Body { statements }
}

/// The paragraph that labels lead to, its title, and the labels left.
fn paragraph<'b, 'l>(body: &'b Body, labels: &'l str) -> Option<(&'b Body, Option<String>, &'l str)> {
    body.statements.iter().find_map(|statement| match &statement.kind {
        StatementKind::Paragraph { labels: own, title, body: Some(inner), .. } => {
            let own = line::labels(own);
            let left = labels.strip_prefix(own.as_str())?;
            Some((inner, title.as_ref().map(ToString::to_string), left))
        }
        _ => None,
    })
}

fn marked(text: &str, marks: &str, depth: usize, page: &mut Page) {
    let indent = "  ".repeat(depth);
    let marks = if marks.is_empty() { String::new() } else { format!("  {marks}") };
    page.fill(&format!("{text}{marks}"), &indent, &format!("{indent}    "));
}

fn draw_table(table: &Table, page: &mut Page) {
    let title = table.title.as_ref().map_or_else(String::new, |t| format!("  {t}"));
    page.head(&format!("table {}{title}", table.address.text), Ink::Strong);
    let key = |key: &TableKey| {
        let mode = match key.mode {
            RowMode::Exact => "",
            RowMode::NextUp => ", next row up",
            RowMode::NextDown => ", next row down",
        };
        format!("{}{mode}", key.name.text)
    };
    let by: Vec<String> = table.by.iter().map(key).collect();
    let across = table.across.as_ref().map_or_else(String::new, |k| format!(", across {}", key(k)));
    let unit = table.unit.as_ref().map_or_else(String::new, |u| format!(" in {}", u.text));
    page.fill(&format!("by {}{across}, gives {}{unit}", by.join(", "), table.gives.text), "  ", "    ");
    let mut grid: Vec<Vec<String>> = Vec::new();
    if !table.columns.is_empty() {
        let mut head = vec![String::new()];
        head.extend(table.columns.iter().map(|(key, _)| line::cell_key(key)));
        grid.push(head);
    }
    for row in &table.rows {
        let keys: Vec<String> = row.keys.iter().map(line::cell_key).collect();
        let mut cells = vec![keys.join(", ")];
        cells.extend(row.cells.iter().map(|(value, _)| line::cell(value.as_ref())));
        grid.push(cells);
    }
    let columns = grid.iter().map(Vec::len).max().unwrap_or(0);
    let widths: Vec<usize> = (0..columns)
        .map(|at| grid.iter().filter_map(|row| row.get(at)).map(|cell| cell.chars().count()).max().unwrap_or(0))
        .collect();
    for row in &grid {
        let cells: Vec<String> = row.iter().zip(&widths).map(|(cell, width)| format!("{cell:<width$}")).collect();
        page.line(&format!("  {}", cells.join(" | ")));
    }
}

/// A thing as it is stated: every field of which something is known, and its members.
pub(super) fn object(program: &Program, facts: &Installation, id: ObjectId, page: &mut Page) {
    let object = facts.object(id);
    let thing = program.schema.thing(object.thing);
    page.head(format!("{} {}", thing.name, facts.full_name(&program.schema, id)).trim(), Ink::Strong);
    let mut rows = Vec::new();
    let mut unknown = Vec::new();
    for (at, field) in thing.fields.iter().enumerate() {
        let cell = object.cells.get(at);
        let known = match (cell, &field.ty) {
            (_, FieldType::Inverse(..)) => continue,
            (Some(Cell::Unknown) | None, _) => false,
            (Some(Cell::List(list)), _) => !list.members.is_empty() || list.more.is_none(),
            (Some(_), _) => true,
        };
        if known {
            rows.push((field.name.clone(), eval::field_words(program, facts, id, at)));
        } else if field.keyed.is_none() {
            unknown.push(field.name.as_str());
        }
    }
    page.columns(&rows);
    if !unknown.is_empty() {
        page.fill(&format!("not stated: {}", unknown.join(", ")), "  ", "    ");
    }
    let members = facts.objects.iter().filter(|o| o.owner == Some(id) && o.standing == Standing::Stated).count();
    if members > 0 {
        page.fill("`show NAME` tells more of its members", "  ", "    ");
    }
}
