//! What an expression or a condition comes to.

use super::page::Page;
use super::{Did, Reply, Trial, naming, showing};
use crate::base::source::SourceId;
use crate::base::unit;
use crate::diag::{Code, Diagnostic, Look};
use crate::eval::{self, Truth};
use crate::facts::installation::ObjectId;
use crate::format;
use crate::ir::schema::{FieldType, PROJECT, ThingId};
use crate::sema::Figured;
use crate::syntax::ast::{ExprKind, Figure, Item};
use crate::syntax::parse_figure;

impl Trial {
    /// Figures `rest`, a part of the line.
    pub(super) fn figured(&mut self, rest: &str, line: &str, look: &Look) -> Did {
        if rest.is_empty() {
            let bad = self.complaint(Code::Lacking, "what shall be figured?".to_string(), line, line, "");
            return Err(bad.help("an expression, such as `3/4 in + 2 mm`").into());
        }
        let span = self.pointing(line, rest);
        let opened = std::rc::Rc::clone(&self.now.opened);
        let Some(found) = self.now.job().map(|job| std::rc::Rc::clone(&job.found)) else {
            return Ok(Reply::done(String::new()));
        };
        let names = naming::Names { schema: &opened.program.schema, facts: &found.installation };
        // A name alone, or a field of a name, is shown as stated.
        if !rest.contains([' ', '(', '{']) {
            if let Ok(id) = names.whole(rest, span) {
                let mut page = Page::new(look);
                showing::object(&opened.program, &found.installation, id, &mut page);
                return Ok(Reply::done(page.text));
            }
            if let Some((owner, field)) = rest.rsplit_once('.')
                && rest.starts_with(char::is_alphabetic)
            {
                let id = names.whole(owner, span)?;
                return self.field(names, id, field, look);
            }
        }
        if let Some(worked) = self.by_name(rest, line, look) {
            return worked;
        }
        // `EXPRESSION for NAME`, or `FIELD of NAME`: the name is found among the facts, the rest is read for its kind.
        let behind = |word: &str| -> Option<(usize, ObjectId)> {
            let at = rest
                .match_indices(word)
                .map(|(at, _)| at)
                .find(|at| rest.get(at + word.len()..).is_some_and(|name| names.whole(name, span).is_ok()))?;
            Some((at, names.whole(rest.get(at + word.len()..)?, span).ok()?))
        };
        let (text, subject) = match (behind(" for "), rest.rsplit_once(" for ")) {
            (Some((at, id)), _) => (rest.get(..at).unwrap_or(rest), Some(id)),
            (None, Some((_, name))) if !name.contains(' ') => return Err(missing_name(names, name, span)),
            (None, _) => match behind(" of ") {
                Some((at, id)) => (rest.get(..at).unwrap_or(rest), Some(id)),
                None => (rest, None),
            },
        };
        let source = self.note(line);
        let from = (rest.as_ptr() as usize).saturating_sub(line.as_ptr() as usize).min(line.len());
        let blanked = format!("{}{text}", " ".repeat(from));
        let (figure, diagnostics) = parse_figure(source, &blanked);
        let figure = match figure {
            Some(figure) if !diagnostics.has_errors() => figure,
            Some(_) | None => {
                let guess = rest.split_whitespace().next().unwrap_or("");
                let wordy = from == 0 && guess.chars().all(|c| c.is_alphabetic() || c == '-');
                return Err(if wordy { self.unknown_word(line) } else { diagnostics });
            }
        };
        let thing = match subject {
            Some(id) => found.installation.object(id).thing,
            None => opened.program.schema.thing_named(PROJECT).unwrap_or(ThingId(0)),
        };
        if let Figure::Value(expr) = &figure
            && let ExprKind::Lookup { table, keys, across: false } = &expr.kind
            && let Some(known) = opened.composed.items.iter().find_map(|item| match item {
                Item::Table(known) if known.address.text == table.text => Some(known),
                _ => None,
            })
        {
            if keys.is_empty() && subject.is_none() {
                return self.show(rest, line, look);
            }
            // Without its column the whole row is told.
            if known.across.is_some() && keys.len() == known.by.len() {
                let columns: Vec<String> = known.columns.iter().map(|(key, _)| format::line::cell_key(key)).collect();
                let object = subject.or_else(|| found.installation.anything.get(usize::from(thing.0)).copied());
                if let Some(rows) = self.whole_row(&columns, &blanked, source, (thing, object.unwrap_or(ObjectId(0)))) {
                    let mut page = Page::new(look);
                    page.columns(&rows);
                    return Ok(Reply::done(page.text));
                }
            }
        }
        let over = self.now.over();
        let (program, figured, diagnostics) =
            self.session.figure_over(&opened.under, &over, &opened.composed, thing, &figure);
        let Some(figured) = figured else {
            // A single unknown word is more likely a slip in a command than a name.
            let one = rest.split_whitespace().count() <= 2 && subject.is_none() && from == 0;
            if one && super::words::near(rest.split_whitespace().next().unwrap_or("")).is_some() {
                return Err(self.unknown_word(line));
            }
            let helped = match subject {
                Some(_) => diagnostics,
                None => diagnostics
                    .into_iter()
                    .map(|d| match d.code {
                        Code::UnknownName if d.help.is_none() => {
                            d.help("say of what: `… for NAME`, such as `for EX4-1`")
                        }
                        _ => d,
                    })
                    .collect(),
            };
            return Err(helped);
        };
        let facts = &found.installation;
        let object = subject
            .or(facts.project.filter(|id| facts.object(*id).thing == thing))
            .or_else(|| facts.anything.get(usize::from(thing.0)).copied())
            .unwrap_or(ObjectId(0));
        let mut page = Page::new(look);
        match figured {
            Figured::Value(expr, ty) => {
                let amount = eval::amount(&program, facts, &opened.choices, object, expr, &ty);
                let mut text = amount.words.clone();
                if let (Some(exact), FieldType::Quantity(dimension)) = (&amount.exact, &ty) {
                    // The same in the unit that was typed first, where that says something new.
                    let typed = first_unit(text_units(rest), *dimension);
                    let other = typed.map(|unit| unit::show(exact, *dimension, Some(unit)));
                    if let Some(other) = other.filter(|other| *other != text) {
                        text = format!("{text} = {other}");
                    }
                }
                page.fill(&text, "  ", "  ");
            }
            Figured::Holds(kind) => {
                let answer = eval::qualifies(&program, facts, &opened.choices, kind, object);
                let words = match answer {
                    Truth::Yes => "yes",
                    Truth::No => "no",
                    Truth::Unknown(_) => "not known",
                };
                let told = eval::Judge::new(&program, facts, &opened.choices).explain_kind(kind, object);
                let mut because = Vec::new();
                leaves(&told.because, &mut eval::Words::new(&program, facts), &mut because);
                let why = if because.is_empty() { String::new() } else { format!(": {}", because.join("; ")) };
                page.fill(&format!("{words}{why}"), "  ", "    ");
            }
        }
        Ok(Reply::done(page.text))
    }

    /// What a look-up gives in each column; none if one of them cannot be read.
    fn whole_row(
        &self,
        columns: &[String],
        text: &str,
        source: SourceId,
        (thing, object): (ThingId, ObjectId),
    ) -> Option<Vec<(String, String)>> {
        let opened = &self.now.opened;
        let found = &self.now.job()?.found;
        let over = self.now.over();
        let mut rows = Vec::new();
        for column in columns {
            // A column for several values is read by its first.
            let key = column.split(" or ").next().unwrap_or(column);
            let (figure, diagnostics) = parse_figure(source, &format!("{text} across {key}"));
            let figure = figure.filter(|_| !diagnostics.has_errors())?;
            let (program, figured, _) =
                self.session.figure_over(&opened.under, &over, &opened.composed, thing, &figure);
            let Figured::Value(expr, ty) = figured? else { return None };
            let amount = eval::amount(&program, &found.installation, &opened.choices, object, expr, &ty);
            rows.push((column.clone(), amount.words));
        }
        Some(rows)
    }

    fn field(&self, names: naming::Names, id: ObjectId, field: &str, look: &Look) -> Did {
        let thing = names.facts.object(id).thing;
        let described = names.schema.thing(thing);
        let all: Vec<usize> = (described.fields.iter().enumerate())
            .filter(|(_, f)| f.name == field || f.keyed.as_ref().is_some_and(|k| k.name == field))
            .map(|(at, _)| at)
            .collect();
        let mut page = Page::new(look);
        for at in &all {
            let words = eval::field_words(&self.now.opened.program, names.facts, id, *at);
            if all.len() == 1 {
                page.fill(&words, "  ", "  ");
            } else if words != "unknown" {
                page.fill(&format!("{}: {words}", described.fields[*at].name), "  ", "    ");
            }
        }
        if all.is_empty() {
            let known = names.within(naming::At::Stated(id));
            let title = format!("{} has no field `{field}`", described.name);
            let bad = Diagnostic::error(Code::NotNamed, title);
            let near = crate::diag::nearest(field, known.iter().map(String::as_str)).map(str::to_string);
            return Err(match near {
                Some(near) => bad.help(format!("did you mean `{near}`?")),
                None => bad.help(format!("`list {}` tells its fields", described.name)),
            }
            .into());
        }
        if page.text.is_empty() {
            page.line("  unknown");
        }
        Ok(Reply::done(page.text))
    }
}

fn missing_name(names: naming::Names, name: &str, span: crate::base::source::Span) -> crate::diag::Diagnostics {
    match names.whole(name, span) {
        Err(diagnostic) => diagnostic.into(),
        Ok(_) => crate::diag::Diagnostics::new(),
    }
}

/// The words of a text that could be units.
fn text_units(text: &str) -> impl Iterator<Item = &str> {
    text.split(|c: char| c.is_whitespace() || c == '(' || c == ')').filter(|w| !w.is_empty())
}

fn first_unit<'t>(
    mut words: impl Iterator<Item = &'t str>,
    dimension: crate::base::dimension::Dimension,
) -> Option<&'static unit::Unit> {
    words.find_map(|word| unit::lookup(word).filter(|unit| unit.dimension == dimension))
}

fn leaves(reasons: &[eval::Reason], words: &mut eval::Words, found: &mut Vec<String>) {
    for reason in reasons {
        if reason.parts.is_empty() {
            let own = words.found(&reason.found);
            if !own.is_empty() && !found.contains(&own) && found.len() < 6 {
                found.push(own);
            }
        } else {
            leaves(&reason.parts, words, found);
        }
    }
}
