//! Values worked out line by line: an amount, a definition, or what reads a table, for each thing it is worked out for.

use super::page::Page;
use super::{Did, Reply, Trial, naming};
use crate::diag::{Code, Diagnostic, Look};
use crate::report;
use std::rc::Rc;

impl Trial {
    /// `work WHAT [for NAME]`
    pub(super) fn work(&mut self, rest: &str, line: &str, look: &Look) -> Did {
        let Some(found) = self.now.job().map(|job| Rc::clone(&job.found)) else {
            return Ok(Reply::done(String::new()));
        };
        if rest.is_empty() {
            let bad = self.complaint(Code::Lacking, "what shall be worked out?".to_string(), line, line, "");
            return Err(bad.help("name an amount, such as `work box-fill`; `list amounts` tells them").into());
        }
        let (what, name) = match rest.rsplit_once(" for ") {
            Some((what, name)) => (what.trim(), Some(name.trim())),
            None => (rest, None),
        };
        let opened = Rc::clone(&self.now.opened);
        let facts = &found.installation;
        let subject = match name {
            Some(name) => {
                let span = self.pointing(line, name);
                let names = naming::Names { schema: &opened.program.schema, facts };
                Some(facts.full_name(&opened.program.schema, names.whole(name, span)?))
            }
            None => None,
        };
        let (sheets, diagnostics) = self.session.work(&opened.program, facts, &opened.choices, what);
        let Some(mut sheets) = sheets else {
            let span = self.pointing(line, what);
            let short = |d: Diagnostic| match d.help.as_deref().is_some_and(|help| help.starts_with("worked out there"))
            {
                true => d.help("`list amounts` tells what is"),
                false => d,
            };
            return Err(diagnostics.into_iter().map(|d| short(d).at(span, "not worked out")).collect());
        };
        if let Some(subject) = subject {
            let all: Vec<String> = sheets.worksheets.iter().map(|sheet| sheet.subject.clone()).collect();
            sheets.worksheets.retain(|sheet| sheet.subject == subject);
            if sheets.worksheets.is_empty() {
                let title = format!("{what} is not worked out for {subject}");
                let bad = self.complaint(Code::NothingToWorkFor, title, line, name.unwrap_or(line), "not of that kind");
                return Err(bad.help(format!("it is for: {}", all.join(", "))).into());
            }
        }
        Ok(Reply::done(report::worksheet_entries(&sheets, look)))
    }

    /// A definition or an amount by its bare name: what it comes to for each thing it is worked out for. None if there is
    /// nothing of that name.
    pub(super) fn by_name(&mut self, name: &str, line: &str, look: &Look) -> Option<Did> {
        let opened = Rc::clone(&self.now.opened);
        if !opened.program.formulas.iter().any(|formula| formula.name == name) {
            return None;
        }
        let found = self.now.job().map(|job| Rc::clone(&job.found))?;
        let (sheets, diagnostics) = self.session.work(&opened.program, &found.installation, &opened.choices, name);
        let Some(sheets) = sheets else {
            let span = self.pointing(line, name);
            return Some(Err(diagnostics.into_iter().map(|d| d.at(span, "of nothing here")).collect()));
        };
        let mut page = Page::new(look);
        let rows: Vec<(String, String)> =
            sheets.worksheets.iter().map(|sheet| (sheet.subject.clone(), sheet.value.clone())).collect();
        page.columns(&rows);
        if sheets.worksheets.iter().any(|sheet| sheet.lines.len() > 1 || !sheet.known) {
            page.fill(&format!("`work {name}` tells how"), "  ", "  ");
        }
        Some(Ok(Reply::done(page.text)))
    }
}
