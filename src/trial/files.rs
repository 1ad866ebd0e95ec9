//! What comes from files and goes to them, by requests to the front.

use super::page::Page;
use super::rows;
use super::state::{FIRST_JOB, Found, Job, Sort, State, Statement, is_typed};
use super::{Did, Fulfilled, Mood, Reply, Request, Trial};
use crate::base::source::SourceId;
use crate::diag::{Code, Diagnostic, Look};
use crate::eval::Verdict;
use crate::facts::installation::Installation;
use crate::format;
use crate::ir::schema::PROJECT;
use crate::session::FactsForm;
use crate::syntax::ast::{FactsFile, Item, Rulebook, SetKind};
use crate::syntax::parse_rulebook;
use std::rc::Rc;

/// What an amendment on trial is called when it is saved without a name.
const ON_TRIAL: &str = "trial";

/// Whether an existing file may be written over.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Over {
    /// The person said so.
    Allowed,
    /// Nobody said so.
    Refused,
}

impl Trial {
    /// `load FILE`
    pub(super) fn load(&mut self, rest: &str, line: &str) -> Did {
        if rest.is_empty() {
            let bad = self.complaint(Code::Lacking, "which file shall be loaded?".to_string(), line, line, "");
            return Err(bad.help("write `load birch.facts` or `load harbor.rulebook`").into());
        }
        let path = rest.trim_matches('"').to_string();
        Ok(Reply { mood: Mood::Done, text: String::new(), request: Some(Request::Read { path }) })
    }

    /// `save facts|example|amendment [NAME] to FILE [over]`
    pub(super) fn save(&mut self, rest: &str, line: &str) -> Did {
        let usage = "write `save facts to birch.facts`, `save example to birch.rulebook` or `save amendment to harbor.rulebook`, and `over` \
                     behind it to write over an existing file";
        let Some((what, file)) = rest.split_once(" to ") else {
            let bad = self.complaint(
                Code::Lacking,
                "what shall be saved where?".to_string(),
                line,
                line,
                "this is not enough",
            );
            return Err(bad.help(usage).into());
        };
        let (path, over) = match file.trim().strip_suffix(" over") {
            Some(path) => (path.trim(), Over::Allowed),
            None => (file.trim(), Over::Refused),
        };
        let path = path.trim_matches('"').to_string();
        let (kind, name) = what.trim().split_once(' ').map_or((what.trim(), ""), |(kind, name)| (kind, name.trim()));
        let text = match kind {
            "facts" => self.facts_text(line)?,
            "example" => self.example_text(name, line)?,
            "amendment" => {
                let text = self.amendment_text(name, line)?;
                let tried = self.tried();
                let mut called = self.called(if name.is_empty() { ON_TRIAL } else { name });
                called.extend(amendments_of(&tried.1).into_iter().filter(|name| self.now.with.contains(name)));
                self.saving = Some(Kept { tried, called, path: path.clone() });
                text
            }
            other => {
                let bad = self.complaint(
                    Code::Lacking,
                    format!("`{other}` is nothing that is saved"),
                    line,
                    other,
                    "not known",
                );
                return Err(bad.help(usage).into());
            }
        };
        Ok(Reply { mood: Mood::Done, text: String::new(), request: Some(Request::Write { path, text, over }) })
    }

    /// What a request came to.
    pub(super) fn after(&mut self, request: &Request, by: Fulfilled, look: &Look) -> Did {
        let path = match request {
            Request::Read { path } | Request::Write { path, .. } => path,
        };
        match (request, by) {
            (Request::Read { path }, Fulfilled::Read(bytes)) => self.loaded(path, bytes, look),
            (_, Fulfilled::Written) => {
                let mut page = Page::new(look);
                page.fill(&format!("saved to {path}"), "", "  ");
                if let Some(kept) = self.saving.take().filter(|kept| kept.path == *path) {
                    self.kept = Some(kept);
                }
                Ok(Reply::done(page.text))
            }
            (_, Fulfilled::Exists) => {
                let bad = Diagnostic::error(Code::FileThere, format!("{path} is there already, and was left alone"));
                Err(bad.help("add `over` to write over it, or take another name").into())
            }
            (Request::Read { .. }, Fulfilled::Failed(why)) => {
                Err(Diagnostic::error(Code::FileTrouble, format!("cannot read {path}: {why}")).into())
            }
            (Request::Write { .. }, Fulfilled::Failed(why)) => {
                Err(Diagnostic::error(Code::FileTrouble, format!("cannot write {path}: {why}")).into())
            }
            (Request::Write { .. }, Fulfilled::Read(_)) => Ok(Reply::done(String::new())),
        }
    }

    fn loaded(&mut self, path: &str, bytes: Vec<u8>, look: &Look) -> Did {
        let mut next = self.now.clone();
        let statement = Statement { text: format!("load {path}"), sort: Sort::Choice };
        if path.ends_with(".rulebook") {
            let id = SourceId(u32::try_from(self.session.sources().len()).unwrap_or(u32::MAX));
            let text = crate::syntax::decode(id, bytes);
            let text = match text {
                Ok(text) => text,
                Err((lossy, diagnostic)) => {
                    self.session.note(path, &lossy);
                    return Err(diagnostic.into());
                }
            };
            let id = self.session.note(path, &text);
            let (parsed, diagnostics) = parse_rulebook(id, &text);
            if diagnostics.has_errors() {
                return Err(diagnostics);
            }
            let notes = next.adopt(id, parsed.tree);
            let warnings = next.reopen(&self.session)?;
            next.statements.push(statement);
            return Ok(self.take(next, warnings, &notes, look));
        }
        let form = FactsForm::guess(path, &bytes);
        let (file, diagnostics) = self.session.read_facts(path, bytes, form);
        if diagnostics.has_errors() {
            return Err(diagnostics);
        }
        let name = free_name(&next, path);
        let job = Job {
            name,
            facts: Rc::new(file),
            found: Rc::new(Found { installation: Installation::default(), rows: Vec::new() }),
        };
        let untouched = |job: &Job| job.name == FIRST_JOB && job.facts.items.is_empty();
        match next.jobs.iter().position(untouched) {
            Some(at) => {
                next.jobs[at] = job;
                next.at = at;
            }
            None => {
                next.jobs.push(job);
                next.at = next.jobs.len() - 1;
            }
        }
        let at = next.at;
        let mut warnings = diagnostics;
        warnings.extend(next.install(&self.session, at)?);
        next.statements.push(statement);
        let before = self.becomes(next);
        self.past.push(before);
        let mut page = Page::new(look);
        page.text.push_str(&crate::diag::render(&warnings, self.session.sources(), look));
        if let Some(job) = self.now.job() {
            page.fill(&format!("{}: {}.", job.name, rows::tally(&job.found.rows)), "", "    ");
        }
        Ok(Reply::done(page.text))
    }

    fn facts_text(&mut self, line: &str) -> Result<String, crate::diag::Diagnostics> {
        let facts = self.now.job().map(|job| Rc::clone(&job.facts)).filter(|facts| !facts.items.is_empty());
        match facts {
            Some(facts) => Ok(format::facts::file(&facts)),
            None => {
                let bad = self.complaint(Code::NothingToSave, "no facts are stated yet".to_string(), line, line, "");
                Err(bad.help("state some first; `job` tells which job is at hand").into())
            }
        }
    }

    /// The changes on trial as amendments: one, or several in a row where a later change reads what an earlier one wrote.
    fn amendment_text(&mut self, name: &str, line: &str) -> Result<String, crate::diag::Diagnostics> {
        let (changes, documents) = self.tried();
        if changes.is_empty() && documents.is_empty() {
            let bad = self.complaint(Code::NothingToSave, "no change is on trial".to_string(), line, line, "");
            return Err(bad.help("try one first: `in SECTION: FIELD was OLD, now NEW`").into());
        }
        let name = if name.is_empty() { ON_TRIAL } else { name };
        let mut text = String::new();
        if !changes.is_empty() {
            let groups = self.grouped(name, &changes);
            text.push_str(&amendments(name, &self.now.edition, &groups));
        }
        for document in documents {
            if !text.is_empty() {
                text.push('\n');
            }
            text.push_str(document.trim_end());
            text.push('\n');
        }
        self.read_again("the amendment", &text)?;
        Ok(text)
    }

    /// As few amendments as make the book that the changes made one by one.
    fn grouped(&mut self, name: &str, changes: &[String]) -> Vec<Vec<String>> {
        let mut groups: Vec<Vec<String>> = Vec::new();
        for change in changes {
            let mut joined = groups.clone();
            match joined.last_mut() {
                Some(last) => last.push(change.clone()),
                None => joined.push(vec![change.clone()]),
            }
            let done = groups.iter().map(Vec::len).sum::<usize>() + 1;
            if joined.len() > 1 || joined.first().is_some_and(|g| g.len() > 1) {
                if self.comes_to_the_same(name, &joined, done) {
                    groups = joined;
                } else {
                    groups.push(vec![change.clone()]);
                }
            } else {
                groups = joined;
            }
        }
        groups
    }

    /// Whether amendments make the same requirements as the first so many changes on trial.
    fn comes_to_the_same(&mut self, name: &str, groups: &[Vec<String>], done: usize) -> bool {
        let texts = self.session.sources().len();
        let text = amendments(name, &self.now.edition, groups);
        let id = self.session.note("the amendment", &text);
        let (parsed, diagnostics) = parse_rulebook(id, &text);
        let mut same = false;
        if !diagnostics.has_errors() {
            let named: Vec<String> = self.now.with.iter().filter(|w| !is_typed(w)).cloned().collect();
            let typed: Vec<String> = self.now.with.iter().filter(|w| is_typed(w)).take(done).cloned().collect();
            let ours: Vec<String> = names(name, groups.len());
            let book = |more: &[String]| -> Vec<String> { named.iter().chain(more).cloned().collect() };
            let mut over = self.now.over();
            let tree: Rulebook = parsed.tree;
            over.push((id, &tree));
            let (_, one, first) = self.now.open_with(&self.session, &book(&typed), &over);
            let (_, two, second) = self.now.open_with(&self.session, &book(&ours), &over);
            let said = |p: &crate::ir::program::Program| -> Vec<String> {
                p.duties.iter().map(|d| format!("{} {}", d.address, p.origin(d.origin).words)).collect()
            };
            same = !first.has_errors()
                && !second.has_errors()
                && said(&one) == said(&two)
                && self.now.jobs.iter().all(|job| {
                    let judged = |program: &crate::ir::program::Program| {
                        let (installation, _) = self.session.install_shared(program, &job.facts);
                        let choices = crate::eval::Choices::none(program);
                        let found = crate::eval::inspect(program, &installation, &choices);
                        found.into_iter().map(|f| (f.duty, f.subject, f.outcome.verdict)).collect::<Vec<_>>()
                    };
                    judged(&one) == judged(&two)
                });
        }
        self.session.forget_since(texts);
        same
    }

    /// The job at hand with the verdicts it has, as an example to be held to them. What is on trial goes with it, unless it
    /// was saved before: then it is called by the name it was saved under.
    fn example_text(&mut self, name: &str, line: &str) -> Result<String, crate::diag::Diagnostics> {
        self.facts_text(line)?;
        let Some(job) = self.now.job().cloned() else { return Ok(String::new()) };
        let title = if name.is_empty() { job.name.clone() } else { name.trim_matches('"').replace('"', "'") };
        let mut text = String::new();
        let mut with: Vec<String> = self.now.by_place().map(str::to_string).collect();
        let typed = self.tried();
        let mut documents = amendments_of(&typed.1);
        documents.retain(|name| self.now.with.contains(name));
        with.extend(self.now.with.iter().filter(|name| !is_typed(name) && !documents.contains(name)).cloned());
        if typed != (Vec::new(), Vec::new()) {
            match self.kept.as_ref().filter(|kept| kept.tried == typed) {
                Some(kept) => with.extend(kept.called.iter().cloned()),
                None => {
                    let called = self.free_amendment(&title);
                    text = self.amendment_text(&called, line)?;
                    text.push('\n');
                    with.extend(self.called(&called).into_iter().chain(documents));
                }
            }
        }
        text.push_str(&self.example(&title, &with, &job.facts));
        self.read_again("the example", &text)?;
        Ok(text)
    }

    /// The texts on trial: single changes, and whole documents.
    fn tried(&self) -> (Vec<String>, Vec<String>) {
        let of = |sort: Sort| -> Vec<String> {
            self.now.statements.iter().filter(|s| s.sort == sort).map(|s| s.text.clone()).collect()
        };
        (of(Sort::Change), of(Sort::Document))
    }

    /// The names of the amendments that the changes on trial make under this name.
    fn called(&mut self, name: &str) -> Vec<String> {
        match self.tried().0 {
            changes if changes.is_empty() => Vec::new(),
            changes => names(name, self.grouped(name, &changes).len()),
        }
    }

    /// A name for an amendment after a title, that none has.
    fn free_amendment(&self, title: &str) -> String {
        let plain: String =
            title.to_lowercase().chars().map(|c| if c.is_ascii_alphanumeric() { c } else { '-' }).collect();
        let stem = plain.split('-').filter(|part| !part.is_empty()).collect::<Vec<_>>().join("-");
        // A name starts with a letter.
        let stem =
            if stem.starts_with(|c: char| c.is_ascii_alphabetic()) { stem } else { format!("{ON_TRIAL}-{stem}") };
        let stem = stem.trim_end_matches('-').to_string();
        let known: Vec<String> = self.amendments().into_iter().map(|(name, _)| name).collect();
        let taken = |name: &str| known.iter().any(|k| k == name);
        if !taken(&stem) {
            return stem;
        }
        (2..).map(|n| format!("{stem}-{n}")).find(|name| !taken(name)).unwrap_or(stem)
    }

    /// Refuses a text that would not be read again.
    fn read_again(&mut self, called: &str, text: &str) -> Result<(), crate::diag::Diagnostics> {
        let texts = self.session.sources().len();
        let id = self.session.note(called, text);
        let (_, diagnostics) = parse_rulebook(id, text);
        if diagnostics.has_errors() {
            return Err(diagnostics);
        }
        self.session.forget_since(texts);
        Ok(())
    }

    /// An example holds the facts and every verdict that is not "not applicable".
    fn example(&self, title: &str, with: &[String], facts: &FactsFile) -> String {
        let state = &self.now;
        let with = if with.is_empty() { String::new() } else { format!(" with {}", with.join(", ")) };
        let mut text = format!("example \"{title}\" under {}{with} {{\n", state.edition);
        for item in &facts.items {
            for (at, line) in format::facts::item(item).lines().enumerate() {
                let lead = if at == 0 { "given " } else { "" };
                text.push_str(&format!("    {lead}{line}\n"));
            }
        }
        let Some(job) = state.job() else { return text + "}\n" };
        // Under a chosen reading a verdict is expected under that reading, where it hangs on it.
        let readings: Vec<String> = (state.readings.iter())
            .filter_map(|chosen| chosen.split_once('='))
            .filter(|(name, _)| state.opened.program.readings.iter().any(|r| r.name == *name))
            .map(|(name, option)| format!(" as {option} of {name}"))
            .collect();
        let open = crate::eval::Choices::none(&state.opened.program);
        let unread = (!readings.is_empty())
            .then(|| crate::eval::Judge::new(&state.opened.program, &job.found.installation, &open));
        let mut told: std::collections::BTreeSet<(&str, &str)> = std::collections::BTreeSet::new();
        for row in &job.found.rows {
            if !told.insert((&row.address, &row.key.1)) {
                continue;
            }
            let alike: Vec<Verdict> = (job.found.rows.iter())
                .filter(|r| r.address == row.address && r.key.1 == row.key.1)
                .map(|r| r.verdict)
                .collect();
            // Several requirements under one number are told together, where that is plain.
            let verdict = match alike.contains(&Verdict::NotMet) {
                true => Verdict::NotMet,
                false if alike.iter().all(|v| *v == row.verdict) => row.verdict,
                false => continue,
            };
            if verdict == Verdict::NotApplicable {
                continue;
            }
            let subject = match row.key.1.as_str() {
                PROJECT => String::new(),
                subject => format!(" of {subject}"),
            };
            let hangs = unread.as_ref().is_some_and(|judge| judge.judge(row.duty, row.subject).verdict != row.verdict);
            let reading = match (hangs, readings.as_slice()) {
                (false, _) | (true, []) => "",
                (true, [only]) => only.as_str(),
                // An example speaks of one reading at a time.
                (true, _) => continue,
            };
            text.push_str(&format!("    expect {}{subject}: {}{reading}\n", row.address, rows::words(verdict)));
        }
        text.push_str("}\n");
        text
    }
}

/// Changes that were saved, and the names they got.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) struct Kept {
    tried: (Vec<String>, Vec<String>),
    called: Vec<String>,
    path: String,
}

/// The names of the amendments in documents.
fn amendments_of(documents: &[String]) -> Vec<String> {
    let mut all = Vec::new();
    for text in documents {
        let (parsed, _) = parse_rulebook(SourceId(0), text);
        for item in &parsed.tree.items {
            if let Item::Changes(set) = item
                && set.kind != SetKind::Edition
            {
                all.push(set.name.text.to_string());
            }
        }
    }
    all
}

/// Amendments of that name, numbered where there are several.
fn amendments(name: &str, edition: &str, groups: &[Vec<String>]) -> String {
    let mut text = String::new();
    for (called, group) in names(name, groups.len()).iter().zip(groups) {
        if !text.is_empty() {
            text.push('\n');
        }
        text.push_str(&format!("amendment {called} to {edition} {{\n"));
        for change in group {
            for line in change.lines() {
                text.push_str(format!("    {line}").trim_end());
                text.push('\n');
            }
        }
        text.push_str("}\n");
    }
    text
}

fn names(name: &str, many: usize) -> Vec<String> {
    match many {
        0 | 1 => vec![name.to_string()],
        many => (1..=many).map(|n| format!("{name}-{n}")).collect(),
    }
}

/// A name for a job after a file, that no other job has.
fn free_name(state: &State, path: &str) -> String {
    let stem = path.rsplit(['/', '\\']).next().unwrap_or(path);
    let stem = stem.rsplit_once('.').map_or(stem, |(stem, _)| stem);
    let plain: String = stem.chars().map(|c| if c.is_alphanumeric() || "-_.".contains(c) { c } else { '-' }).collect();
    let plain = if plain.is_empty() { "job".to_string() } else { plain };
    let taken = |name: &str| state.jobs.iter().any(|j| j.name == name);
    if !taken(&plain) {
        return plain;
    }
    (2..).map(|n| format!("{plain}-{n}")).find(|name| !taken(name)).unwrap_or(plain)
}
