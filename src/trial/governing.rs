//! Which book governs the job at hand: told with its reasons, or taken.

use super::page::{Ink, Page, counted};
use super::state::{Sort, Statement};
use super::{Did, Reply, Trial, stating};
use crate::base::source::Span;
use crate::diag::{Code, Diagnostic, Diagnostics, Look};
use crate::edition::BaseSet;
use crate::govern::Selection;
use crate::report;
use crate::session::Asked;
use crate::syntax::ast::FactsFile;
use crate::syntax::parse_facts;
use std::rc::Rc;

/// What stands behind `under` to take the book that governs.
pub(super) const WHAT_GOVERNS: &str = "what governs";

impl Trial {
    /// `govern [in PLACE] [on DATE [by CLOCK]]`
    pub(super) fn govern(&mut self, rest: &str, line: &str, look: &Look) -> Did {
        let asked = self.asked_of(rest, line)?;
        let (selection, warnings) = self.selected(&asked)?;
        let mut page = Page::new(look);
        page.text.push_str(&crate::diag::render(&warnings, self.session.sources(), look));
        let told = self.session.told(&selection);
        page.text.push_str(&report::selection_entries(&told, look));
        if let [possible] = selection.possible.as_slice()
            && let [book, ..] = possible.books.as_slice()
            && !self.stands_under(book)
        {
            let line =
                format!("The trial is under {}; `under {WHAT_GOVERNS}` takes what governs.", self.now.book_name());
            page.fill(&line, "", "  ");
        }
        Ok(Reply::done(page.text))
    }

    /// `under what governs [in PLACE] [on DATE [by CLOCK]]`
    pub(super) fn under_what_governs(&mut self, rest: &str, line: &str, look: &Look) -> Did {
        let asked = self.asked_of(rest, line)?;
        let (selection, mut warnings) = self.selected(&asked)?;
        let settled = selection.possible.len() == 1;
        // What may govern and is no book: nothing is adopted then.
        let books: Vec<&Vec<BaseSet>> = selection.possible.iter().map(|p| &p.books).filter(|b| !b.is_empty()).collect();
        let editions: Vec<String> =
            self.session.editions().into_iter().map(|b| format!("{} {}", b.family, b.year)).collect();
        // Of several, the latest edition with most on top of it.
        let late = |book: &&BaseSet| {
            let name = format!("{} {}", book.family, book.year);
            let amendments = book.layers.iter().map(|layer| layer.amendments.len()).sum::<usize>();
            (editions.iter().position(|edition| *edition == name), amendments)
        };
        let Some(taken) = books.iter().filter_map(|books| books.first()).max_by_key(late) else {
            let none = "nothing is adopted there that could be taken".to_string();
            return Err(self.complaint(Code::OutsideAdoptions, none, line, line, "no book").into());
        };
        let mut next = self.now.clone();
        next.edition = format!("{} {}", taken.family, taken.year);
        next.placed = taken.layers.iter().filter(|layer| !layer.amendments.is_empty()).cloned().collect();
        let by_place: Vec<String> = next.by_place().map(str::to_string).collect();
        next.with.retain(|name| super::state::is_typed(name) && !by_place.contains(name));
        if let Some(more) = self.stating(&asked)?
            && let Some(job) = next.jobs.get_mut(next.at)
        {
            let mut facts = job.facts.as_ref().clone();
            stating::merge(&self.now.opened.program.schema, &mut facts, more.items);
            job.facts = Rc::new(facts);
        }
        warnings.extend(next.reopen(&self.session)?);
        next.statements.push(Statement { text: line.to_string(), sort: Sort::Choice });
        let mut page = Page::new(look);
        if settled {
            page.text.push_str(&report::selection_entries(&self.session.told(&selection), look));
        } else {
            let many = counted(books.len(), "book", "books");
            page.head(&format!("It is not settled which book governs: {many} may"), Ink::Open);
            for ask in &selection.ask {
                page.fill(&format!("{} - {}", ask.say, ask.question), "  state     ", "            ");
            }
            let advice = format!(
                "On trial meanwhile: {}, which need not be it. `govern` tells which may; when the facts settle it, `under \
                 {WHAT_GOVERNS}` takes the right one.",
                next.book_name()
            );
            page.fill(&advice, "", "");
        }
        if books.iter().any(|books| books.len() > 1) && settled {
            let others: Vec<String> = books.iter().flat_map(|b| b.iter().skip(1)).map(BaseSet::name).collect();
            page.fill(
                &format!(
                    "On trial is the first; `under {}` turns to the other. `whereas inspect` holds both.",
                    others.join(", ")
                ),
                "",
                "",
            );
        }
        let reply = self.take(next, warnings, &[], look);
        Ok(Reply { text: page.text + &reply.text, ..reply })
    }

    /// Which books govern the job at hand; a place and a date asked for count as if it stated them.
    fn selected(&mut self, asked: &Asked) -> Result<(Selection, Diagnostics), Diagnostics> {
        let mut facts = self.now.job().map(|job| job.facts.as_ref().clone()).unwrap_or_default();
        let now = self.now.clone();
        // On trial a place and a date may be others than those stated.
        let asked = match self.stating(asked)? {
            Some(more) => {
                stating::merge(&self.now.opened.program.schema, &mut facts, more.items);
                Asked { family: asked.family.clone(), ..Asked::default() }
            }
            None => asked.clone(),
        };
        let (selection, diagnostics) = self.session.govern_over(&asked, &mut vec![facts], &now.over());
        let diagnostics: Diagnostics = diagnostics.into_iter().map(in_words_of_a_trial).collect();
        match selection {
            Some(selection) => Ok((selection, diagnostics)),
            None => Err(diagnostics),
        }
    }

    /// The place and the date asked for, as facts.
    fn stating(&mut self, asked: &Asked) -> Result<Option<FactsFile>, Diagnostics> {
        let mut lines = Vec::new();
        if let Some(place) = &asked.place {
            lines.push(format!("place: {place}"));
        }
        if let Some(date) = &asked.date {
            let now = self.now.clone();
            let facts = self.now.job().and_then(|job| crate::govern::place_stated(std::slice::from_ref(&job.facts)));
            let place = asked.place.clone().or(facts.map(|name| name.text.to_string()));
            let clock = asked.clock.clone().or_else(|| self.session.places_over(&now.over()).0.clock_of(&place?));
            let Some(clock) = clock else { return Ok(None) };
            lines.push(format!("{clock}: {date}"));
        }
        if lines.is_empty() {
            return Ok(None);
        }
        let text = format!("project {{ {} }}", lines.join(", "));
        let source = self.note(&text);
        let (parsed, diagnostics) = parse_facts(source, &text);
        match diagnostics.has_errors() {
            true => Err(diagnostics),
            false => Ok(Some(parsed.tree)),
        }
    }

    /// Whether the trial has this book, what is on trial apart.
    fn stands_under(&self, book: &BaseSet) -> bool {
        let ours: Vec<&str> = (self.now.by_place())
            .chain(self.now.with.iter().map(String::as_str).filter(|name| !super::state::is_typed(name)))
            .collect();
        let theirs: Vec<&str> = book.layers.iter().flat_map(|layer| &layer.amendments).map(String::as_str).collect();
        self.now.edition == format!("{} {}", book.family, book.year) && ours == theirs
    }

    /// `in PLACE on DATE by CLOCK of FAMILY`, each at most once.
    fn asked_of(&mut self, rest: &str, line: &str) -> Result<Asked, Diagnostics> {
        let mut asked = Asked::default();
        let mut words = rest.split_whitespace();
        while let Some(word) = words.next() {
            let slot = match word {
                "in" => &mut asked.place,
                "on" => &mut asked.date,
                "by" => &mut asked.clock,
                "of" => &mut asked.family,
                other => {
                    let title = format!("`{other}` is none of `in`, `on`, `by` and `of`");
                    let bad = self.complaint(Code::Lacking, title, line, other, "not understood");
                    return Err(bad.help("write `govern in harbor-county on 2021-09-15`").into());
                }
            };
            let Some(value) = words.next() else {
                let bad = self.complaint(Code::Lacking, format!("`{word}` what?"), line, word, "nothing follows");
                return Err(bad.help("write `govern in harbor-county on 2021-09-15`").into());
            };
            *slot = Some(value.to_string());
        }
        if asked.clock.is_some() && asked.date.is_none() {
            let bad = self.complaint(Code::Lacking, "a clock without a date".to_string(), line, line, "");
            return Err(bad.help("write `on 2021-09-15 by permit-application`").into());
        }
        Ok(asked)
    }
}

/// What the command line says of its options, in the words of a trial.
fn in_words_of_a_trial(mut diagnostic: Diagnostic) -> Diagnostic {
    let reworded = |text: &str| {
        text.replace("say --in PLACE, or state", "say `in PLACE`, or state")
            .replace(
                "add its rulebook with --beside, or use --under",
                "`load` its rulebook, or name a book: `under nec 2020`",
            )
            .replace("such as --clock permit-application", "such as `by permit-application`")
            .replace("with --of FAMILY", "with `of FAMILY`")
            .replace("leave --date out", "leave the date out")
            .replace("--date says", "asked for is")
            .replace("--date", "the date asked for")
    };
    diagnostic.title = reworded(&diagnostic.title);
    diagnostic.help = diagnostic.help.map(|help| reworded(&help));
    for label in &mut diagnostic.labels {
        label.text = reworded(&label.text);
        // What was made of the line has no text of its own to point into.
        if label.span == Span::default() {
            label.text.clear();
        }
    }
    diagnostic
}
