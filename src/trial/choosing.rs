//! Commands that choose: the book, a reading, the job; what was said, and taking it back; help.

use super::governing::WHAT_GOVERNS;
use super::page::{Ink, Page, counted, few};
use super::rows;
use super::state::{Found, Job, Sort, State, Statement, is_typed};
use super::stating::{self, close, close_top};
use super::words::{self, FACTS, RULES, WORDS};
use super::{Did, Reply, Trial, naming};
use crate::base::source::SourceId;
use crate::diag::{Code, Diagnostic, Diagnostics, Look, nearest};
use crate::facts::installation::Installation;
use crate::session;
use crate::syntax::ast::{Item, Rulebook, SetKind};
use std::rc::Rc;

impl State {
    /// Takes a rulebook in; its amendments to the edition at hand are put on top. What is to be said of it.
    pub(super) fn adopt(&mut self, source: SourceId, book: Rulebook) -> Vec<String> {
        let mut notes = Vec::new();
        for item in &book.items {
            let Item::Changes(set) = item else { continue };
            if set.kind == SetKind::Edition {
                continue;
            }
            let base = set.base.as_ref().map(|b| format!("{} {}", b.family.text, b.year.text));
            match base {
                Some(base) if base != self.edition => {
                    notes.push(format!("{0} amends {base}; `under {base} with {0}` puts it in force.", set.name.text));
                }
                Some(_) | None => {
                    let name = set.name.text.to_string();
                    if !self.with.contains(&name) {
                        self.with.push(name);
                    }
                }
            }
        }
        self.over.push((source, Rc::new(book)));
        notes
    }
}

impl Trial {
    pub(super) fn help(&mut self, rest: &str, look: &Look) -> Did {
        let mut page = Page::new(look);
        match rest {
            "" => {
                page.head("State a fact", Ink::Strong);
                page.columns(&rows_of(&[(
                    "circuit EX4-1.overcurrent: 20 A",
                    "a dotted line, or a whole block as in a file of facts (`help facts`)",
                )]));
                page.head("Try a rule", Ink::Strong);
                page.columns(&rows_of(&[(
                    "in table 250.122: 20 A, copper was 12 AWG, now 10 AWG",
                    "a line of an amendment, or a whole item (`help rules`)",
                )]));
                page.head("Figure", Ink::Strong);
                page.columns(&rows_of(&[("3/4 in + 2 mm", "any expression, with units (`help figure`)")]));
                page.head("Or say", Ink::Strong);
                let all: Vec<(String, String)> = WORDS
                    .iter()
                    .map(|t| (format!("{} {}", t.name, t.shape).trim().to_string(), t.about.to_string()))
                    .collect();
                page.columns(&all);
            }
            "facts" => explained("Facts", FACTS, &mut page),
            "rules" => explained("Rules", RULES, &mut page),
            word => match WORDS.iter().find(|t| t.name == word) {
                Some(told) => {
                    page.head(format!("{} {}", told.name, told.shape).trim(), Ink::Strong);
                    page.fill(told.about, "", "");
                    explained("", told.more, &mut page);
                }
                None => {
                    let known = WORDS.iter().map(|t| t.name).chain(["facts", "rules"]);
                    let diagnostic = Diagnostic::error(Code::NoSuchTopic, format!("there is no help on `{word}`"));
                    return Err(match nearest(word, known) {
                        Some(near) => diagnostic.help(format!("did you mean `help {near}`?")),
                        None => diagnostic.help("`help` alone lists all words"),
                    }
                    .into());
                }
            },
        }
        Ok(Reply::done(page.text))
    }

    /// Another book.
    pub(super) fn under(&mut self, rest: &str, line: &str, look: &Look) -> Did {
        if rest.is_empty() {
            let mut page = Page::new(look);
            page.line(&self.now.book_name());
            return Ok(Reply::done(page.text));
        }
        if let Some(whereabouts) = rest.strip_prefix(WHAT_GOVERNS).filter(|r| r.is_empty() || r.starts_with(' ')) {
            return self.under_what_governs(whereabouts.trim(), line, look);
        }
        let (edition, with) = match rest.split_once(" with ") {
            Some((edition, with)) => (edition.trim(), Some(with)),
            None => (rest, None),
        };
        let editions = self.session.editions_over(&self.now.over());
        let full = |b: &crate::sema::Book| format!("{} {}", b.family, b.year);
        let found = (editions.iter())
            .find(|b| full(b) == edition || (b.year == edition && b.family == self.now.family()))
            .or_else(|| editions.iter().find(|b| b.year == edition));
        let Some(book) = found else {
            let names: Vec<String> = editions.iter().map(full).collect();
            let diagnostic = self.complaint(
                Code::NoSuchEdition,
                format!("there is no edition `{edition}`"),
                line,
                edition,
                "not loaded",
            );
            return Err(match nearest(edition, names.iter().map(String::as_str)) {
                Some(near) => diagnostic.help(format!("did you mean `{near}`? loaded: {}", names.join(", "))),
                None => diagnostic.help(format!("loaded: {}", names.join(", "))),
            }
            .into());
        };
        let mut next = self.now.clone();
        next.edition = full(book);
        next.placed.clear();
        let typed: Vec<String> = next.with.iter().filter(|w| is_typed(w)).cloned().collect();
        next.with = with.map_or_else(Vec::new, |with| {
            with.split(',').map(str::trim).filter(|w| !w.is_empty()).map(str::to_string).collect()
        });
        next.with.extend(typed);
        let warnings = match next.reopen(&self.session) {
            Ok(warnings) => warnings,
            Err(diagnostics) => {
                let fit = next.with.iter().any(|w| is_typed(w));
                return Err(if fit { tried_elsewhere(diagnostics, &next.edition) } else { diagnostics });
            }
        };
        next.statements.push(Statement { text: line.to_string(), sort: Sort::Choice });
        Ok(self.take(next, warnings, &[], look))
    }

    /// A disputed text read one way, or both.
    pub(super) fn read(&mut self, rest: &str, line: &str, look: &Look) -> Did {
        let mut next = self.now.clone();
        let (name, option) = match (rest.split_once(" as "), rest.strip_suffix(" both ways")) {
            (Some((name, option)), _) => (name.trim(), Some(option.trim())),
            (None, Some(name)) => (name.trim(), None),
            (None, None) => {
                let usage =
                    self.complaint(Code::Lacking, "what is read how?".to_string(), line, line, "this is not enough");
                return Err(usage.help("write `read either-path as strict`, or `read either-path both ways`").into());
            }
        };
        let known: Vec<String> = next.opened.program.readings.iter().map(|r| r.name.clone()).collect();
        if !known.iter().any(|k| k == name) {
            let title = format!("{} has no disputed text called `{name}`", self.now.edition);
            let unknown = self.complaint(Code::UnknownReading, title, line, name, "not known");
            return Err(match nearest(name, known.iter().map(String::as_str)) {
                Some(near) => unknown.help(format!("did you mean `{near}`?")),
                None if known.is_empty() => unknown.help("this edition has no disputed texts"),
                None => unknown.help(format!("one of: {}", known.join(", "))),
            }
            .into());
        }
        next.readings.retain(|r| r.split('=').next() != Some(name));
        if let Some(option) = option {
            let written = format!("{name}={option}");
            let (_, diagnostics) = session::choose(&next.opened.program, std::slice::from_ref(&written));
            if diagnostics.has_errors() {
                return Err(diagnostics);
            }
            next.readings.push(written);
        }
        let warnings = next.reopen(&self.session)?;
        next.statements.push(Statement { text: line.to_string(), sort: Sort::Choice });
        Ok(self.take(next, warnings, &[], look))
    }

    /// Another job.
    pub(super) fn job(&mut self, rest: &str, line: &str, look: &Look) -> Did {
        let mut page = Page::new(look);
        if rest.is_empty() {
            for (at, job) in self.now.jobs.iter().enumerate() {
                let mark = if at == self.now.at { "*" } else { " " };
                page.fill(&format!("{mark} {}: {}", job.name, rows::tally(&job.found.rows)), "", "    ");
            }
            return Ok(Reply::done(page.text));
        }
        let mut next = self.now.clone();
        if let Some(name) = rest.strip_prefix("new ").map(str::trim) {
            let plain = name.chars().all(|c| c.is_alphanumeric() || "-_.".contains(c)) && !name.is_empty();
            if !plain || next.jobs.iter().any(|j| j.name == name) {
                let title = if plain {
                    format!("there is a job `{name}` already")
                } else {
                    format!("`{name}` is no name for a job")
                };
                let bad = self.complaint(Code::BadJobName, title, line, name, "this name");
                return Err(bad.help("take another: letters, digits, hyphens").into());
            }
            next.jobs.push(Job {
                name: name.to_string(),
                facts: Rc::default(),
                found: Rc::new(Found { installation: Installation::default(), rows: Vec::new() }),
            });
            next.at = next.jobs.len() - 1;
            let at = next.at;
            next.install(&self.session, at)?;
        } else {
            let Some(at) = next.jobs.iter().position(|j| j.name == rest) else {
                let known: Vec<&str> = self.now.jobs.iter().map(|j| j.name.as_str()).collect();
                let near = nearest(rest, known.iter().copied()).map(str::to_string);
                let all = few(&known);
                let unknown =
                    self.complaint(Code::BadJobName, format!("there is no job `{rest}`"), line, rest, "not known");
                return Err(match near {
                    Some(near) => unknown.help(format!("did you mean `{near}`?")),
                    None => unknown.help(format!("jobs: {all}; `job new {rest}` starts one")),
                }
                .into());
            };
            next.at = at;
        }
        next.statements.push(Statement { text: line.to_string(), sort: Sort::Choice });
        if let Some(job) = next.job() {
            page.fill(&format!("{}: {}.", job.name, rows::tally(&job.found.rows)), "", "    ");
        }
        let before = self.becomes(next);
        self.past.push(before);
        Ok(Reply::done(page.text))
    }

    /// What was said so far.
    pub(super) fn said(&mut self, look: &Look) -> Reply {
        let mut page = Page::new(look);
        if self.now.statements.is_empty() {
            page.line("Nothing yet.");
        }
        for (at, statement) in self.now.statements.iter().enumerate() {
            let number = format!("{:>4}  ", at + 1);
            for (nth, line) in statement.text.lines().enumerate() {
                let lead = if nth == 0 { number.clone() } else { " ".repeat(6) };
                page.line(&format!("{lead}{line}"));
            }
        }
        Reply::done(page.text)
    }

    /// Takes statements back.
    pub(super) fn back(&mut self, rest: &str, line: &str, look: &Look) -> Did {
        let wanted = match rest {
            "" => 1,
            number => match number.parse::<usize>() {
                Ok(number) if number > 0 => number,
                Ok(_) | Err(_) => {
                    let bad = self.complaint(
                        Code::Lacking,
                        format!("`{number}` is no number of statements"),
                        line,
                        number,
                        "",
                    );
                    return Err(bad.help("write `back`, or `back 3` for the last three").into());
                }
            },
        };
        let there = self.past.len();
        if wanted > there {
            let said = match there {
                0 => "nothing was stated yet".to_string(),
                there => format!("only {} can be taken back", counted(there, "statement", "statements")),
            };
            let bad = self.complaint(Code::NothingToTakeBack, said, line, line, "too far back");
            return Err(bad.help("`said` lists the statements").into());
        }
        let mut page = Page::new(look);
        let mut target = None;
        for _ in 0..wanted {
            let gone = target.as_ref().unwrap_or(&self.now);
            let text = gone.statements.last().map_or("", |s| s.text.lines().next().unwrap_or(""));
            page.fill(&format!("taken back: {text}"), "", "    ");
            target = self.past.pop();
        }
        if let Some(target) = target {
            let before = self.becomes(target);
            self.tell_flips(&before, &mut page);
        }
        Ok(Reply::done(page.text))
    }

    /// Leaves out a thing or a fact.
    pub(super) fn removed(&mut self, rest: &str, line: &str, look: &Look) -> Did {
        if rest.is_empty() {
            let bad = self.complaint(Code::Lacking, "what shall be left out?".to_string(), line, line, "");
            return Err(bad.help("name a thing, a member or a fact: `remove EX4-1.overcurrent`").into());
        }
        let span = self.pointing(line, rest);
        let mut next = self.now.clone();
        let schema = &self.now.opened.program.schema;
        let Some(job) = next.jobs.get_mut(next.at) else { return Ok(Reply::done(String::new())) };
        let found = Rc::clone(&job.found);
        let names = naming::Names { schema, facts: &found.installation };
        let (path, field) = match names.whole(rest, span) {
            Ok(id) => (names.path(id), None),
            Err(unknown) => match rest.rsplit_once('.') {
                Some((owner, field)) => match names.whole(owner, span) {
                    Ok(id) => (names.path(id), Some(field)),
                    Err(_) => return Err(unknown.into()),
                },
                None => return Err(unknown.into()),
            },
        };
        let mut facts = job.facts.as_ref().clone();
        let gone = path.and_then(|path| stating::remove(schema, &mut facts, &path, field));
        if gone.is_none() {
            let bad =
                Diagnostic::error(Code::NotNamed, format!("`{rest}` was not stated")).at(span, "nothing to leave out");
            return Err(bad.help("`show NAME` tells what is stated of a thing").into());
        }
        job.facts = Rc::new(facts);
        let at = next.at;
        let warnings = next.install(&self.session, at)?;
        next.statements.push(Statement { text: line.to_string(), sort: Sort::Fact });
        Ok(self.take(next, warnings, &[], look))
    }

    /// Closes a list.
    pub(super) fn no_more(&mut self, rest: &str, line: &str, look: &Look) -> Did {
        let span = self.pointing(line, rest);
        let mut next = self.now.clone();
        let schema = &self.now.opened.program.schema;
        let Some(job) = next.jobs.get_mut(next.at) else { return Ok(Reply::done(String::new())) };
        let found = Rc::clone(&job.found);
        let names = naming::Names { schema, facts: &found.installation };
        let mut facts = job.facts.as_ref().clone();
        let closed = match rest.split_once(" of ") {
            Some((list, owner)) => {
                let id = names.whole(owner, span)?;
                let list = list.trim();
                let thing = found.installation.object(id).thing;
                let known = stating::lists(schema, thing);
                if !known.contains(&list) {
                    let bad =
                        Diagnostic::error(Code::NotNamed, format!("{} has no list `{list}`", schema.thing(thing).name))
                            .at(span, "no list");
                    return Err(match nearest(list, known.iter().copied()) {
                        Some(near) => bad.help(format!("did you mean `{near}`?")),
                        None => bad.help(format!("its lists: {}", few(&known))),
                    }
                    .into());
                }
                names.path(id).and_then(|path| close(schema, &mut facts, &path, list))
            }
            None => {
                if schema.thing_named(rest).is_none() {
                    let known: Vec<&str> = schema.things.iter().map(|t| t.name.as_str()).collect();
                    let bad =
                        Diagnostic::error(Code::NotNamed, format!("there is no thing `{rest}`")).at(span, "not known");
                    return Err(match nearest(rest, known.iter().copied()) {
                        Some(near) => bad.help(format!("did you mean `{near}`?")),
                        None => bad.help("write `no more branch-circuit`, or `no more outlets of EX4-1`"),
                    }
                    .into());
                }
                close_top(schema, &mut facts, rest)
            }
        };
        if closed.is_none() {
            let bad = Diagnostic::error(Code::NotNamed, format!("`{rest}` is not open"))
                .at(span, "nothing `and maybe more` there")
                .help("a list that was never given is unknown; state it, or `none`");
            return Err(bad.into());
        }
        job.facts = Rc::new(facts);
        let at = next.at;
        let warnings = next.install(&self.session, at)?;
        next.statements.push(Statement { text: line.to_string(), sort: Sort::Fact });
        Ok(self.take(next, warnings, &[], look))
    }

    /// A command nobody knows.
    pub(super) fn unknown_word(&mut self, line: &str) -> Diagnostics {
        let first = line.split_whitespace().next().unwrap_or("");
        let near = words::near(first).map(str::to_string);
        let unknown = self.complaint(
            Code::UnknownWord,
            format!("`{first}` starts no statement, no rule and no command"),
            line,
            first,
            "not understood",
        );
        match near {
            Some(near) => unknown.help(format!("did you mean `{near}`?")),
            None => unknown.help("`help` tells what can be said"),
        }
        .into()
    }
}

/// Changes on trial that fit one edition need not fit another.
fn tried_elsewhere(diagnostics: Diagnostics, edition: &str) -> Diagnostics {
    diagnostics
        .into_iter()
        .map(|d| d.note(format!("a change on trial does not fit {edition}; `back` takes it back, `said` lists all")))
        .collect()
}

fn rows_of(rows: &[(&str, &str)]) -> Vec<(String, String)> {
    rows.iter().map(|(a, b)| ((*a).to_string(), (*b).to_string())).collect()
}

/// A text in which lines that start with two blanks are examples.
fn explained(head: &str, text: &str, page: &mut Page) {
    if !head.is_empty() {
        page.head(head, Ink::Strong);
    }
    for line in text.lines() {
        match line.strip_prefix("  ") {
            Some(example) => page.line(&format!("    {example}")),
            None => page.fill(line, "", ""),
        }
    }
}
