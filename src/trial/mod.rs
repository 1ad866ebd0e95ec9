//! A trial: facts and rules stated line by line, and at once what they change. A line goes in, a reply comes out.
//!
//! The engine knows no terminal and reads no file: where a line needs one, the reply carries a [`Request`] that the front
//! fulfils. A line that fails leaves everything as it was: a statement makes a whole new [`state`] or none. [`words`] are
//! the commands, [`stating`] and [`naming`] read facts, [`rows`] finds what flips, [`telling`] tells it short, [`asking`] ranks what to find out,
//! [`reasons`] folds traces, [`working`] writes values out, [`governing`] tells which book governs, [`complete`] and [`lexical`] serve the line while it is typed. Tests: `tests/trial.rs`,
//! `tests/transcripts/try*.txt`, `tests/terminal.rs`.

mod asking;
mod choosing;
mod complete;
mod context;
mod figuring;
mod files;
mod governing;
mod lexical;
mod listing;
mod naming;
mod page;
mod reasons;
mod rows;
mod showing;
mod state;
mod stating;
mod telling;
mod words;
mod working;

pub use complete::{Candidate, Completion};
pub use files::Over;
pub use lexical::{Piece, Tint, is_unfinished, tints};

use crate::base::source::{SourceId, Span};
use crate::diag::{self, Code, Diagnostic, Diagnostics, Look};
use crate::session::Session;
use crate::syntax::{parse_changes, parse_rulebook};
use asking::Asked;
use page::{Ink, Page, few};
use rows::Row;
use state::{Sort, State, Statement, typed};
use std::rc::Rc;
use telling::Gone;
use words::{Told, Word};

/// A trial under way.
#[derive(Debug)]
pub struct Trial {
    session: Session,
    now: State,
    past: Vec<State>,
    /// Lines taken so far, and the first of the present statement.
    lines: usize,
    at_line: usize,
    /// The questions asked last, to be answered by number.
    asked: Vec<Asked>,
    /// The reasons shown last, to be unfolded.
    reasons: Vec<reasons::Subject>,
    /// What flipped last in the job at hand: number and subject.
    flipped: Vec<(String, String)>,
    /// Changes on trial as they were saved last, and as they are being saved.
    kept: Option<files::Kept>,
    saving: Option<files::Kept>,
}

/// How a line came out.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Mood {
    /// It did what it says.
    Done,
    /// It failed, and nothing changed.
    Failed,
    /// The trial is over.
    Ended,
}

/// What the front is asked to do before the line is done. Its result goes to [`Trial::fulfilled`].
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Request {
    /// Read this file.
    Read {
        /// As typed.
        path: String,
    },
    /// Write this file.
    Write {
        /// As typed.
        path: String,
        /// What it shall hold.
        text: String,
        /// Whether an existing file may be written over.
        over: Over,
    },
}

/// What the front made of a request.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Fulfilled {
    /// The bytes read.
    Read(Vec<u8>),
    /// It is written.
    Written,
    /// The file is there already, and was left alone.
    Exists,
    /// It could not be done; why, in the system's words.
    Failed(String),
}

/// The answer to a line.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Reply {
    /// How it came out.
    pub mood: Mood,
    /// What to print; empty or whole lines.
    pub text: String,
    /// What must be done first.
    pub request: Option<Request>,
}

impl Reply {
    fn done(text: String) -> Reply {
        Reply { mood: Mood::Done, text, request: None }
    }
}

/// What a line does if it does anything: its text, or what is wrong.
type Did = Result<Reply, Diagnostics>;

impl Trial {
    /// A trial over loaded rulebooks, under a book such as `nec 2020`, with one installation of which nothing is known.
    ///
    /// # Errors
    /// The book cannot be opened.
    pub fn new(session: Session, under: &str) -> Result<Trial, (Session, Diagnostics)> {
        match State::first(&session, under) {
            Ok((now, _)) => Ok(Trial {
                session,
                now,
                past: Vec::new(),
                lines: 0,
                at_line: 0,
                asked: Vec::new(),
                reasons: Vec::new(),
                flipped: Vec::new(),
                kept: None,
                saving: None,
            }),
            Err(diagnostics) => Err((session, diagnostics)),
        }
    }

    /// Gives the rulebooks back; what was said is forgotten, and its texts are kept.
    pub fn into_session(self) -> Session {
        self.session
    }

    /// Makes what holds now the beginning: nothing before it is taken back.
    pub fn settle(&mut self) {
        self.past.clear();
        self.lines = 0;
    }

    /// The prompt: the job at hand.
    pub fn prompt(&self) -> String {
        let job = self.now.job().map_or("", |job| job.name.as_str());
        format!("{job}> ")
    }

    /// What a front says when a trial begins.
    pub fn greeting(&self, look: &Look) -> String {
        let mut page = Page::new(look);
        page.head(&format!("On trial: {}", self.now.book_name()), Ink::Strong);
        for job in &self.now.jobs {
            page.fill(&format!("{}: {}", job.name, rows::tally(&job.found.rows)), "  ", "      ");
        }
        page.fill(
            "State a fact or try a rule; `help` tells how. Nothing is written to any file unless you save it.",
            "",
            "",
        );
        page.text
    }

    /// Everything that holds, in words: what two equal trials have in common and unequal ones have not.
    pub fn stands(&self) -> String {
        let now = &self.now;
        let mut text = format!("{}\n{:?}\n{:?}\n{}\n", now.under(), now.readings, self.past.len(), now.at);
        for statement in &now.statements {
            text.push_str(&format!("{:?} {}\n", statement.sort, statement.text));
        }
        for (id, _) in &now.over {
            text.push_str(&format!("{id:?}\n"));
        }
        for job in &now.jobs {
            text.push_str(&format!("{}\n{}", job.name, crate::format::facts::file(&job.facts)));
            for row in &job.found.rows {
                text.push_str(&format!("{:?} {:?}\n", row.key, row.verdict));
            }
        }
        text.push_str(&format!("{} texts\n", self.session.sources().len()));
        text
    }

    /// Takes one line, or several that belong together.
    pub fn line(&mut self, typed: &str, look: &Look) -> Reply {
        self.at_line = self.lines + 1;
        self.lines += typed.lines().count().max(1);
        let line = typed.trim_end();
        let line = line.strip_prefix(char::from_u32(0xfeff).unwrap_or(' ')).unwrap_or(line).trim_start();
        if line.lines().all(|l| l.trim().is_empty() || l.trim_start().starts_with('#')) {
            return Reply::done(String::new());
        }
        self.attempt(look, |trial| trial.understood(line, look))
    }

    /// Goes on after a request was fulfilled, or not.
    pub fn fulfilled(&mut self, request: &Request, by: Fulfilled, look: &Look) -> Reply {
        self.attempt(look, |trial| trial.after(request, by, look))
    }

    /// Refuses what was typed when the input ended in the midst of a statement.
    pub fn broken_off(&mut self, typed: &str, look: &Look) -> Reply {
        self.attempt(look, |trial| {
            let typed = typed.trim();
            let last = typed.lines().last().unwrap_or(typed);
            let title = "the input ended in the midst of a statement".to_string();
            let broken = trial.complaint(Code::Unfinished, title, typed, last, "something is still open");
            Err(broken.help("close the brace, or end the last line without a comma").into())
        })
    }

    /// Does something, or leaves everything as it was and says what is wrong.
    fn attempt(&mut self, look: &Look, work: impl FnOnce(&mut Trial) -> Did) -> Reply {
        let texts = self.session.sources().len();
        let depth = self.past.len();
        match work(self) {
            Ok(reply) => {
                // What stated nothing needs no text to point into.
                if self.past.len() == depth {
                    self.session.forget_since(texts);
                }
                reply
            }
            Err(diagnostics) => {
                let text = diag::render(&diagnostics, self.session.sources(), look);
                self.session.forget_since(texts);
                Reply { mood: Mood::Failed, text, request: None }
            }
        }
    }

    /// Keeps a line's text so that messages can point into it.
    fn note(&mut self, line: &str) -> SourceId {
        self.session.note(&format!("line {}", self.at_line), line)
    }

    fn understood(&mut self, line: &str, look: &Look) -> Did {
        if let Some((number, value)) = answer(line) {
            return self.answered(number, value, look);
        }
        let shape = shape(line);
        if shape == Shape::Document {
            return self.document(line, look);
        }
        if shape == Shape::Change {
            return self.changed(line, look);
        }
        if let Some((told, rest)) = words::find(line) {
            // A field may be called as a command is: a colon right behind makes it a fact.
            if !rest.starts_with(':') {
                return self.command(told, rest, line, look);
            }
        }
        if stating::looks_like_facts(&self.now.opened.program.schema, line) {
            return self.stated(line, look);
        }
        self.figured(line, line, look)
    }

    fn command(&mut self, told: &Told, rest: &str, line: &str, look: &Look) -> Did {
        match told.word {
            Word::Help => self.help(rest, look),
            Word::Ask => Ok(self.ask(look)),
            Word::Why => self.why(rest, line, look),
            Word::Unfold => self.unfold(look),
            Word::Standing => self.standing(rest, line, look),
            Word::Inspect => self.inspect(rest, line, look),
            Word::Show => self.show(rest, line, look),
            Word::List => self.list(rest, line, look),
            Word::Under => self.under(rest, line, look),
            Word::Read => self.read(rest, line, look),
            Word::Job => self.job(rest, line, look),
            Word::Load => self.load(rest, line),
            Word::Save => self.save(rest, line),
            Word::Said => Ok(self.said(look)),
            Word::Back => self.back(rest, line, look),
            Word::Remove => self.removed(rest, line, look),
            Word::NoMore => self.no_more(rest, line, look),
            Word::Figure => self.figured(rest, line, look),
            Word::Work => self.work(rest, line, look),
            Word::Govern => self.govern(rest, line, look),
            Word::End => Ok(Reply { mood: Mood::Ended, text: String::new(), request: None }),
        }
    }

    // ------------------------------------------------------------------------------------------------ statements

    /// States facts of the job at hand.
    fn stated(&mut self, line: &str, look: &Look) -> Did {
        let source = self.note(line);
        let mut next = self.now.clone();
        let Some(job) = next.jobs.get_mut(next.at) else { return Ok(Reply::done(String::new())) };
        let names = naming::Names { schema: &self.now.opened.program.schema, facts: &job.found.installation };
        let stated = stating::read(names, source, line)?;
        let mut facts = job.facts.as_ref().clone();
        stating::merge(names.schema, &mut facts, stated.items);
        job.facts = Rc::new(facts);
        let at = next.at;
        let warnings = next.install(&self.session, at)?;
        next.statements.push(Statement { text: line.to_string(), sort: Sort::Fact });
        let mut notes = Vec::new();
        for (list, close) in &stated.opens {
            notes.push(format!("Stated by one line: there may be more {list}. `{close}` says that this is all."));
        }
        Ok(self.take(next, warnings, &notes, look))
    }

    /// Tries lines of an amendment.
    fn changed(&mut self, line: &str, look: &Look) -> Did {
        let source = self.note(line);
        let (changes, diagnostics) = parse_changes(source, line);
        if diagnostics.has_errors() {
            return Err(diagnostics);
        }
        let mut next = self.now.clone();
        let (called, book) = typed(self.at_line, changes, stating::whole(source, line));
        next.over.push((source, Rc::new(book)));
        next.with.push(called);
        let warnings = next.reopen(&self.session)?;
        next.statements.push(Statement { text: line.to_string(), sort: Sort::Change });
        Ok(self.take(next, warnings, &[], look))
    }

    /// Takes a whole document of rules; an amendment to the edition at hand is in force at once.
    fn document(&mut self, line: &str, look: &Look) -> Did {
        let source = self.note(line);
        let (parsed, diagnostics) = parse_rulebook(source, line);
        if diagnostics.has_errors() {
            return Err(diagnostics);
        }
        let mut next = self.now.clone();
        let notes = next.adopt(source, parsed.tree);
        let warnings = next.reopen(&self.session)?;
        next.statements.push(Statement { text: line.to_string(), sort: Sort::Document });
        Ok(self.take(next, warnings, &notes, look))
    }

    /// Makes a new state the present one, and says what flips.
    fn take(&mut self, next: State, warnings: Diagnostics, notes: &[String], look: &Look) -> Reply {
        let before = self.becomes(next);
        let mut page = Page::new(look);
        if !warnings.is_empty() {
            page.text.push_str(&diag::render(&warnings, self.session.sources(), look));
        }
        self.tell_flips(&before, &mut page);
        for note in notes {
            page.fill(note, "", "");
        }
        self.past.push(before);
        Reply::done(page.text)
    }

    /// Puts another state in place of the present one, which is handed out. What was asked and shown spoke of that one.
    fn becomes(&mut self, next: State) -> State {
        self.asked.clear();
        self.reasons.clear();
        if next.at != self.now.at || next.jobs.len() != self.now.jobs.len() {
            self.flipped.clear();
        }
        std::mem::replace(&mut self.now, next)
    }

    fn tell_flips(&mut self, before: &State, page: &mut Page) {
        let many = self.now.jobs.len() > 1;
        let rebooked = !Rc::ptr_eq(&before.opened, &self.now.opened);
        let mut still = Vec::new();
        for (at, job) in self.now.jobs.iter().enumerate() {
            let known = before.jobs.iter().find(|j| j.name == job.name);
            let empty: &[Row] = &[];
            let old = known.map_or(empty, |j| j.found.rows.as_slice());
            let here = at == self.now.at;
            let all = rows::flips(old, &job.found.rows);
            if here && !all.is_empty() {
                self.flipped = all.iter().map(|f| (f.address.clone(), f.subject.clone())).collect();
            }
            if all.is_empty() && (many || !here) {
                if rebooked || here {
                    still.push(job.name.as_str());
                }
                continue;
            }
            if many {
                page.head(&job.name, Ink::Strong);
            }
            // A thing that was taken out is no change of the rules.
            let gone = if rebooked { Gone::Requirement } else { Gone::Subject };
            telling::flips(&all, gone, page);
            if rebooked && before.edition != self.now.edition {
                let other = rows::reworded(old, &before.opened, &job.found.rows, &self.now.opened);
                if !other.is_empty() {
                    page.fill(&format!("worded otherwise, to the same end: {}", telling::together(&other)), "", "    ");
                }
            }
            let tally = rows::tally(&job.found.rows);
            let lead = if all.is_empty() { "No verdict changes" } else { "Now" };
            page.fill(&format!("{lead}: {tally}."), "", "    ");
        }
        if many && !still.is_empty() {
            page.fill(&format!("No verdict changes in {}.", few(&still)), "", "");
        }
    }

    /// Whether a diagnostic can point at a part of the line: it is noted, and its place given.
    fn pointing(&mut self, line: &str, at: &str) -> Span {
        let source = self.note(line);
        let from = (at.as_ptr() as usize).checked_sub(line.as_ptr() as usize).filter(|f| *f <= line.len());
        match from {
            Some(from) => Span::new(source, from, from + at.len().max(1)),
            None => stating::whole(source, line),
        }
    }

    fn complaint(&mut self, code: Code, title: String, line: &str, at: &str, label: &str) -> Diagnostic {
        let span = self.pointing(line, at);
        Diagnostic::error(code, title).at(span, label)
    }
}

/// What a line is by its looks alone.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Shape {
    Document,
    Change,
    Other,
}

/// Words that start a line of an amendment or an item of a rulebook.
pub(crate) const CHANGES: &[&str] = &[
    "in", "insert", "delete", "reserve", "replace", "renumber", "use", "waive", "release", "start", "lapse", "delay",
    "carry", "exclude", "move", "split", "merge", "settle", "fact", "amount", "series", "add", "section", "kind",
    "define", "limit", "reading", "choice", "scale", "thing", "table",
];
/// Words that start a document.
pub(crate) const DOCUMENTS: &[&str] =
    &["amendment", "interim", "erratum", "edition", "terms", "excerpt", "jurisdiction", "example", "claim"];

fn shape(line: &str) -> Shape {
    if line.contains(" becomes ") && !line.contains([':', '{', '"']) {
        return Shape::Change;
    }
    let first = line.split(|c: char| c.is_whitespace() || c == '.' || c == ':').next().unwrap_or("");
    let behind = line.get(first.len()..).unwrap_or("");
    if !behind.starts_with(' ') || behind.trim_start().starts_with(':') {
        return Shape::Other;
    }
    if DOCUMENTS.contains(&first) {
        return Shape::Document;
    }
    let fits = match first {
        "read" => line.ends_with(" everywhere"),
        "notes" => line.starts_with("notes are "),
        "in" => line.contains(':') || line.starts_with("in force"),
        "table" => line.contains(" by ") && line.contains('{'),
        "reading" => line.contains('{'),
        first => CHANGES.contains(&first),
    };
    if fits { Shape::Change } else { Shape::Other }
}

/// `2: 12 AWG` answers the second question.
fn answer(line: &str) -> Option<(usize, &str)> {
    let (number, value) = line.split_once(':')?;
    let number = number.trim();
    if number.is_empty() || number.len() > 3 || !number.bytes().all(|b| b.is_ascii_digit()) {
        return None;
    }
    Some((number.parse().ok()?, value.trim()))
}
