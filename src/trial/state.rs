//! What holds after the statements made so far: the book, the installations, the verdicts. A statement makes a new state
//! out of the old one or none at all.

use super::rows::{self, Row};
use crate::base::source::{SourceId, Span};
use crate::diag::Diagnostics;
use crate::edition::{BaseSet, Composed, Layer};
use crate::eval::Choices;
use crate::facts::installation::Installation;
use crate::ir::program::Program;
use crate::session::{self, Session};
use crate::syntax::ast::{Change, ChangeSet, FactsFile, Item, Name, Rulebook, SetKind};
use std::rc::Rc;

/// What kind of statement a line was.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Sort {
    /// A fact.
    Fact,
    /// A change to the rules, as a line of an amendment.
    Change,
    /// A whole document of rules.
    Document,
    /// A choice: of the book, of a reading, of the job.
    Choice,
}

/// A statement as it was made.
#[derive(Debug, Clone)]
pub(super) struct Statement {
    pub(super) text: String,
    pub(super) sort: Sort,
}

/// An installation that statements are made about.
#[derive(Debug, Clone)]
pub(super) struct Job {
    pub(super) name: String,
    pub(super) facts: Rc<FactsFile>,
    pub(super) found: Rc<Found>,
}

/// What its facts come to under the book.
#[derive(Debug)]
pub(super) struct Found {
    pub(super) installation: Installation,
    pub(super) rows: Vec<Row>,
}

/// An opened book.
#[derive(Debug)]
pub(super) struct Opened {
    /// What it is called when asked of the session.
    pub(super) under: String,
    pub(super) composed: Composed,
    pub(super) program: Program,
    pub(super) choices: Choices,
    /// The number under which each duty was first printed.
    pub(super) first: Vec<String>,
}

/// Everything that holds. Cheap to copy: what did not change is shared.
#[derive(Debug, Clone)]
pub(super) struct State {
    pub(super) statements: Vec<Statement>,
    /// The edition, such as `nec 2020`.
    pub(super) edition: String,
    /// Amendments that the place puts on it, if it was taken as what governs there.
    pub(super) placed: Vec<Layer>,
    /// Amendments on top of that, in the order in which they came.
    pub(super) with: Vec<String>,
    /// Rulebooks read or typed meanwhile.
    pub(super) over: Vec<(SourceId, Rc<Rulebook>)>,
    /// Readings chosen, as `name=option`.
    pub(super) readings: Vec<String>,
    pub(super) opened: Rc<Opened>,
    pub(super) jobs: Vec<Job>,
    /// The job that facts are stated of.
    pub(super) at: usize,
}

impl State {
    /// The first state: a book and one installation of which nothing is known.
    pub(super) fn first(session: &Session, under: &str) -> Result<(State, Diagnostics), Diagnostics> {
        let (edition, with) = under.split_once(" with ").unwrap_or((under, ""));
        let with = with.split(',').map(str::trim).filter(|w| !w.is_empty()).map(str::to_string).collect();
        let mut state = State {
            statements: Vec::new(),
            edition: edition.trim().to_string(),
            placed: Vec::new(),
            with,
            over: Vec::new(),
            readings: Vec::new(),
            opened: Rc::new(Opened {
                under: String::new(),
                composed: Composed::default(),
                program: Program::default(),
                choices: Choices::default(),
                first: Vec::new(),
            }),
            jobs: vec![Job {
                name: FIRST_JOB.to_string(),
                facts: Rc::default(),
                found: Rc::new(Found { installation: Installation::default(), rows: Vec::new() }),
            }],
            at: 0,
        };
        let warnings = state.reopen(session)?;
        Ok((state, warnings))
    }

    /// The trees typed or read meanwhile, for the session.
    pub(super) fn over(&self) -> Vec<(SourceId, &Rulebook)> {
        self.over.iter().map(|(id, book)| (*id, book.as_ref())).collect()
    }

    /// The name of the book for the session.
    pub(super) fn under(&self) -> String {
        named(&self.edition, self.by_place().chain(self.with.iter().map(String::as_str)))
    }

    /// The amendments that the place puts on the edition.
    pub(super) fn by_place(&self) -> impl Iterator<Item = &str> {
        self.placed.iter().flat_map(|layer| &layer.amendments).map(String::as_str)
    }

    /// Opens this edition with other amendments on top.
    pub(super) fn open_with(
        &self,
        session: &Session,
        with: &[String],
        over: &[(SourceId, &Rulebook)],
    ) -> (Composed, Program, Diagnostics) {
        if self.placed.is_empty() {
            return session.open_over(&named(&self.edition, with.iter().map(String::as_str)), over);
        }
        let (family, year) = self.edition.split_once(' ').unwrap_or((&self.edition, ""));
        let base = BaseSet { family: family.to_string(), year: year.to_string(), layers: self.placed.clone() };
        session.open_tried(&base, &with.iter().map(String::as_str).collect::<Vec<_>>(), over)
    }

    /// The name of the book for a person: changes typed here are counted, not named.
    pub(super) fn book_name(&self) -> String {
        let typed = self.with.iter().filter(|w| is_typed(w)).count();
        let others = self.with.iter().filter(|w| !is_typed(w)).map(String::as_str);
        let text = named(&self.edition, self.by_place().chain(others));
        match typed {
            0 => text,
            1 => text + ", one change on trial",
            many => format!("{text}, {many} changes on trial"),
        }
    }

    /// Opens the book anew and every installation under it.
    pub(super) fn reopen(&mut self, session: &Session) -> Result<Diagnostics, Diagnostics> {
        let under = self.under();
        let (composed, program, mut diagnostics) = self.open_with(session, &self.with, &self.over());
        if diagnostics.has_errors() {
            return Err(diagnostics);
        }
        // A reading of another edition rests until its edition is back.
        let known: Vec<String> = (self.readings.iter())
            .filter(|r| !session::choose(&program, std::slice::from_ref(*r)).1.has_errors())
            .cloned()
            .collect();
        let (choices, _) = session::choose(&program, &known);
        let first = program.duties.iter().map(|duty| composed.first_number(&duty.address)).collect();
        self.opened = Rc::new(Opened { under, composed, program, choices, first });
        for at in 0..self.jobs.len() {
            diagnostics.extend(self.install(session, at)?);
        }
        Ok(diagnostics)
    }

    /// Judges an installation anew.
    pub(super) fn install(&mut self, session: &Session, at: usize) -> Result<Diagnostics, Diagnostics> {
        let opened = Rc::clone(&self.opened);
        let Some(job) = self.jobs.get_mut(at) else { return Ok(Diagnostics::new()) };
        let (installation, diagnostics) = session.install_shared(&opened.program, &job.facts);
        if diagnostics.has_errors() {
            return Err(diagnostics);
        }
        let rows = rows::rows(&opened, &installation);
        job.found = Rc::new(Found { installation, rows });
        Ok(diagnostics)
    }

    /// The job that facts are stated of.
    pub(super) fn job(&self) -> Option<&Job> {
        self.jobs.get(self.at)
    }

    /// The family of the book, such as `nec`.
    pub(super) fn family(&self) -> &str {
        self.edition.split_whitespace().next().unwrap_or("")
    }
}

/// An edition by name with amendments.
fn named<'a>(edition: &str, with: impl Iterator<Item = &'a str>) -> String {
    let with: Vec<&str> = with.collect();
    match with.is_empty() {
        true => edition.to_string(),
        false => format!("{edition} with {}", with.join(", ")),
    }
}

/// What an installation is called before it has a name.
pub(super) const FIRST_JOB: &str = "new-job";

/// How changes typed here are called as amendments. A name given by a person cannot hold two dots.
const TYPED: &str = "typed..";

/// Whether an amendment was typed here line by line.
pub(super) fn is_typed(amendment: &str) -> bool {
    amendment.starts_with(TYPED)
}

/// Changes as an amendment of their own to whatever book there is.
pub(super) fn typed(number: usize, changes: Vec<Change>, span: Span) -> (String, Rulebook) {
    let called = format!("{TYPED}{number}");
    let name = Name { text: called.as_str().into(), span };
    let set = ChangeSet {
        kind: SetKind::Amendment,
        name,
        edition: None,
        title: None,
        base: None,
        printing: None,
        changes,
        marks: Vec::new(),
        span,
    };
    (called, Rulebook { items: vec![Item::Changes(set)], ..Rulebook::default() })
}
