//! One expectation held against one installation under one book.

use super::book::Book;
use crate::diag::{Code, Diagnostic, nearest};
use crate::eval::{self, By, Choices, Finding, Judge, Lack, Lean, Outcome, Truth, Verdict};
use crate::facts::installation::{Installation, ObjectId, Standing};
use crate::ir::program::{DutyId, KindId, Program, RowKey, Table, TableId, TableRow};
use crate::ir::schema::ThingId;
use crate::syntax::ast::{Address, Answer, AnswerBy, Name, Said};
use std::collections::BTreeSet;

/// What is asked, resolved in one book.
#[derive(Debug, Clone)]
pub(super) enum Asked {
    /// Duties, each on its subjects.
    Duties(Vec<(DutyId, ObjectId, Standing)>),
    /// A kind or standing.
    Standing(KindId, Vec<ObjectId>),
    /// A table of the book, and the same as published.
    Table(TableId, TableId),
    /// The book has no such rule.
    Nothing,
}

/// An expectation ready to be held against what comes out, again and again.
pub(super) struct Check<'a> {
    /// Position of the book.
    pub(super) book: usize,
    /// Position of the installation.
    pub(super) installation: usize,
    pub(super) asked: Asked,
    pub(super) choices: Choices,
    pub(super) answer: &'a Answer,
    /// Position of the example.
    pub(super) example: usize,
    /// Target and variation, in words.
    pub(super) words: String,
    /// All else in the example: a violation and an open question are what it watches for.
    pub(super) rest: bool,
}

/// What came out of several duties or subjects together.
pub(super) struct Got {
    pub(super) said: Said,
    pub(super) findings: Vec<Finding>,
}

/// Whether a written name chain means an object.
pub(super) fn is_named(program: &Program, facts: &Installation, object: ObjectId, of: &[Name]) -> bool {
    let mut at = Some(object);
    let mut wanted = of.iter().peekable();
    let mut first = true;
    while let Some(id) = at {
        let here = facts.object(id);
        let name = if here.name.is_empty() { program.schema.thing(here.thing).name.as_str() } else { &here.name };
        match wanted.peek() {
            Some(next) if next.text == name => {
                wanted.next();
            }
            _ if first => return of.is_empty(),
            _ => {}
        }
        first = false;
        at = here.owner;
    }
    wanted.peek().is_none()
}

/// The objects of a thing that are meant; those merely possible only where none is stated.
fn subjects(program: &Program, facts: &Installation, thing: ThingId, of: &[Name]) -> Vec<(ObjectId, Standing)> {
    let at = usize::from(thing.0);
    let stated = facts.stated.get(at).into_iter().flatten().map(|id| (*id, Standing::Stated));
    let stated: Vec<_> = stated.filter(|(id, _)| is_named(program, facts, *id, of)).collect();
    if stated.is_empty() && of.is_empty() {
        return facts.possible.get(at).into_iter().flatten().map(|id| (*id, Standing::Possible)).collect();
    }
    stated
}

impl Asked {
    /// Finds what is asked in a book and an installation.
    pub(super) fn resolve(
        book: &Book,
        facts: &Installation,
        rule: &Name,
        of: &[Name],
        said: Said,
    ) -> Result<Asked, Diagnostic> {
        let program = &book.program;
        if said == Said::NoSuchRule {
            let standing = book.standings(&rule.text);
            let duties = book.duties(&rule.text);
            return Ok(match (duties.first(), standing.first()) {
                (None, None) => Asked::Nothing,
                (None, Some(kind)) => Asked::Standing(*kind, Vec::new()),
                (Some(_), _) => Asked::Duties(Vec::new()),
            });
        }
        if matches!(said, Said::Qualifies | Said::DoesNotQualify) || book.duties(&rule.text).is_empty() {
            let kinds = book.standings(&rule.text);
            let mut none = None;
            for kind in &kinds {
                let Some(declared) = program.kinds.get(kind.index()) else { continue };
                let found: Vec<ObjectId> =
                    subjects(program, facts, declared.thing, of).into_iter().map(|(id, _)| id).collect();
                if !found.is_empty() {
                    return Ok(Asked::Standing(*kind, found));
                }
                none = Some(declared.thing);
            }
            return Err(match none {
                Some(thing) => no_such_subject(program, facts, thing, rule, of),
                None => book.no_such_rule(&rule.text, rule.span),
            });
        }
        let mut asked = Vec::new();
        let mut thing = None;
        for duty in book.duties(&rule.text) {
            let Some(declared) = program.duties.get(duty.index()) else { continue };
            thing = Some(declared.subject);
            asked.extend(subjects(program, facts, declared.subject, of).into_iter().map(|(id, s)| (duty, id, s)));
        }
        match thing {
            Some(thing) if asked.is_empty() && !of.is_empty() => Err(no_such_subject(program, facts, thing, rule, of)),
            _ => Ok(Asked::Duties(asked)),
        }
    }

    /// All duties but those, on all that is stated; of these articles and sections, where any are named.
    pub(super) fn rest(program: &Program, facts: &Installation, within: &[Address], but: &BTreeSet<DutyId>) -> Asked {
        let meant = |address: &str| {
            within.is_empty()
                || within.iter().any(|part| {
                    let rest = address.strip_prefix(part.text.as_str());
                    rest.is_some_and(|rest| rest.is_empty() || rest.starts_with(['.', '(']))
                })
        };
        let mut asked = Vec::new();
        for (at, duty) in program.duties.iter().enumerate() {
            let Ok(at) = u32::try_from(at) else { continue };
            if meant(&duty.address) && !but.contains(&DutyId(at)) {
                let stated = facts.stated.get(usize::from(duty.subject.0)).into_iter().flatten();
                asked.extend(stated.map(|id| (DutyId(at), *id, Standing::Stated)));
            }
        }
        Asked::Duties(asked)
    }
}

fn no_such_subject(program: &Program, facts: &Installation, thing: ThingId, rule: &Name, of: &[Name]) -> Diagnostic {
    let schema = &program.schema;
    let what = of.iter().map(|n| n.text.as_str()).collect::<Vec<_>>().join(" of ");
    let name = &schema.thing(thing).name;
    let title = format!("`{}` judges each {name}, and none is called `{what}`", rule.text);
    let stated = facts.stated.get(usize::from(thing.0)).into_iter().flatten();
    let known: Vec<String> = stated.map(|id| facts.full_name(schema, *id)).collect();
    let place = of.first().map_or(rule.span, |first| first.span);
    let diagnostic = Diagnostic::error(Code::NoSuchSubject, title).at(place, "not given in this example");
    match nearest(&what, known.iter().map(String::as_str)) {
        Some(near) => diagnostic.help(format!("did you mean `{near}`?")),
        None if known.is_empty() => diagnostic.help(format!("no {name} is given")),
        None => diagnostic.help(format!("given: {}", known.join(", "))),
    }
}

/// The verdict of several together, as a section's is found from its parts.
fn together(outcomes: &[Outcome]) -> Said {
    let any = |f: &dyn Fn(&Outcome) -> bool| outcomes.iter().any(f);
    let open = |o: &Outcome| matches!(o.verdict, Verdict::Undecided | Verdict::ForTheAuthority);
    let could = |o: &Outcome| open(o) && o.lean != Lean::NoViolationPossible;
    let waits = |these: &dyn Fn(&Outcome) -> bool| {
        let mut all = outcomes.iter().filter(|o| these(o)).peekable();
        match all.peek().is_some() && all.all(|o| o.verdict == Verdict::ForTheAuthority) {
            true => Said::ForTheAuthority,
            false => Said::Undecided,
        }
    };
    if any(&|o| o.verdict == Verdict::NotMet) {
        Said::NotMet
    } else if any(&could) {
        waits(&could)
    } else if any(&|o| o.verdict == Verdict::Met) {
        Said::Met
    } else if any(&open) {
        waits(&open)
    } else {
        Said::NotApplicable
    }
}

impl Asked {
    /// What comes out.
    pub(super) fn got(&self, program: &Program, facts: &Installation, choices: &Choices) -> Got {
        match self {
            Asked::Nothing => Got { said: Said::NoSuchRule, findings: Vec::new() },
            Asked::Table(ours, published) => {
                let said = match strays(program, *ours, *published).is_empty() {
                    true => Said::Met,
                    false => Said::NotMet,
                };
                Got { said, findings: Vec::new() }
            }
            Asked::Standing(kind, objects) => {
                let answers = objects.iter().map(|object| eval::qualifies(program, facts, choices, *kind, *object));
                let all = answers.fold(Truth::Yes, Truth::and);
                let said = match all {
                    Truth::Yes => Said::Qualifies,
                    Truth::No => Said::DoesNotQualify,
                    Truth::Unknown(lack) if lack == Lack::JUDGMENT => Said::ForTheAuthority,
                    Truth::Unknown(_) => Said::Undecided,
                };
                Got { said, findings: Vec::new() }
            }
            Asked::Duties(all) => {
                let findings: Vec<Finding> = all
                    .iter()
                    .map(|(duty, subject, standing)| Finding {
                        duty: *duty,
                        subject: *subject,
                        standing: *standing,
                        outcome: outcome(program, facts, choices, *duty, *subject, *standing),
                    })
                    .collect();
                let outcomes: Vec<Outcome> = findings.iter().map(|f| f.outcome).collect();
                Got { said: together(&outcomes), findings }
            }
        }
    }
}

/// The outcome of a duty; of a subject that may not exist nothing definite.
fn outcome(
    program: &Program,
    facts: &Installation,
    choices: &Choices,
    duty: DutyId,
    subject: ObjectId,
    standing: Standing,
) -> Outcome {
    let outcome = eval::judge(program, facts, choices, duty, subject);
    match (standing, outcome.verdict) {
        (Standing::Stated, _) | (_, Verdict::NotApplicable) => outcome,
        (Standing::Possible, verdict) => {
            let lean = match verdict {
                Verdict::Met => Lean::NoViolationPossible,
                Verdict::NotMet => Lean::ViolatedIfItApplies,
                Verdict::NotApplicable | Verdict::Undecided | Verdict::ForTheAuthority => outcome.lean,
            };
            Outcome { verdict: Verdict::Undecided, lean, by: None, ..outcome }
        }
    }
}

/// The rows in which a table of the book is not as published, told as the book has them.
fn strays(program: &Program, ours: TableId, published: TableId) -> Vec<String> {
    let (Some(ours), Some(published)) = (program.tables.get(ours.index()), program.tables.get(published.index()))
    else {
        return vec!["no such table".to_string()];
    };
    let words = |row: &TableRow| format!("`{}`", program.origin(row.origin).words);
    let mut told = Vec::new();
    for row in &published.rows {
        match row_of(ours, &row.keys) {
            Some(own) if same_cells(ours, own, published, row) => {}
            Some(own) => told.push(words(own)),
            None => told.push(format!("no row {}", words(row))),
        }
    }
    let more = ours.rows.iter().filter(|own| row_of(published, &own.keys).is_none());
    told.extend(more.map(|own| format!("{} is not published", words(own))));
    told
}

fn row_of<'t>(table: &'t Table, keys: &[RowKey]) -> Option<&'t TableRow> {
    table.rows.iter().find(|row| row.keys == keys)
}

/// Whether each published column has the value that the book's column of that heading has.
fn same_cells(ours: &Table, own: &TableRow, published: &Table, row: &TableRow) -> bool {
    published.columns.iter().zip(&row.cells).all(|(column, cell)| {
        let at = ours.columns.iter().position(|known| known == column);
        at.and_then(|at| own.cells.get(at)) == Some(cell)
    })
}

impl Check<'_> {
    /// What came out, in words, if it is not what was expected.
    pub(super) fn differs(&self, program: &Program, facts: &Installation) -> Option<String> {
        let got = self.asked.got(program, facts, &self.choices);
        self.holds(program, facts, &got).err()
    }

    /// Whether it comes out as expected; quick, for asking often.
    pub(super) fn is_well(&self, program: &Program, facts: &Installation) -> bool {
        let got = self.asked.got(program, facts, &self.choices);
        self.said_well(&got) && (!self.asks_more() || self.holds(program, facts, &got).is_ok())
    }

    fn asks_more(&self) -> bool {
        self.answer.by.is_some() || !self.answer.needs.is_empty()
    }

    fn said_well(&self, got: &Got) -> bool {
        match self.answer.said {
            Said::NoViolation => matches!(got.said, Said::Met | Said::NotApplicable),
            said => got.said == said,
        }
    }

    fn holds(&self, program: &Program, facts: &Installation, got: &Got) -> Result<(), String> {
        if !self.said_well(got) {
            return Err(self.told(program, facts, got));
        }
        if let Some(by) = &self.answer.by {
            let known = self.known_by(program, facts, got);
            let fits = |(label, name): &(String, String)| match by {
                AnswerBy::Exception(None) => label == "Ex.",
                AnswerBy::Exception(Some(number)) => *label == format!("Ex. {}", number.text),
                AnswerBy::Named(wanted) => wanted.text == *name || wanted.text == *label,
            };
            if !known.iter().any(fits) {
                return Err(self.told(program, facts, got));
            }
        }
        if !self.answer.needs.is_empty() {
            let missing = self.missing(program, facts, got);
            let wanted: BTreeSet<String> = self.answer.needs.iter().map(|n| n.words()).collect();
            let fits = |wanted: &str, full: &str| {
                full == wanted || full.strip_prefix(wanted).is_some_and(|rest| rest.starts_with(" of "))
            };
            let all_needed = wanted.iter().all(|w| missing.iter().any(|m| fits(w, m)));
            let no_other = missing.iter().all(|m| wanted.iter().any(|w| fits(w, m)));
            if !(all_needed && no_other) {
                return Err(self.told(program, facts, got));
            }
        }
        Ok(())
    }

    /// Labels and names of the exceptions by which duties are met, or of the readings by which they are undecided.
    fn known_by(&self, program: &Program, facts: &Installation, got: &Got) -> Vec<(String, String)> {
        let mut known = Vec::new();
        if let (Asked::Standing(kind, _), Said::Undecided) = (&self.asked, got.said) {
            let readings = program.kinds.get(kind.index()).map_or(&[][..], |kind| &kind.readings);
            for reading in readings {
                let Some(declared) = program.readings.get(reading.index()) else { continue };
                let said: Vec<Said> = (0..declared.options.len())
                    .map(|option| {
                        let mut chosen = self.choices.clone();
                        chosen.set(reading.index(), option);
                        self.asked.got(program, facts, &chosen).said
                    })
                    .collect();
                if said.windows(2).any(|w| w[0] != w[1]) {
                    known.push((String::new(), declared.name.clone()));
                }
            }
        }
        for finding in &got.findings {
            let Some(duty) = program.duties.get(finding.duty.index()) else { continue };
            match (finding.outcome.verdict, finding.outcome.by) {
                (Verdict::Met, Some(By::Relief(at))) => {
                    known.extend(duty.reliefs.get(at).map(|r| (r.label.clone(), r.name.clone())));
                }
                (Verdict::Undecided, _) => {
                    let told = Judge::new(program, facts, &self.choices).explain(finding);
                    for effect in told.readings {
                        known.extend(program.readings.get(effect.reading).map(|r| (String::new(), r.name.clone())));
                    }
                }
                _ => {}
            }
        }
        known
    }

    fn missing(&self, program: &Program, facts: &Installation, got: &Got) -> BTreeSet<String> {
        let judge = Judge::new(program, facts, &self.choices);
        let schema = &program.schema;
        let mut all = BTreeSet::new();
        if let Asked::Standing(kind, objects) = &self.asked {
            for object in objects {
                let told = judge.explain_kind(*kind, *object);
                all.extend(told.missing.into_iter().map(|m| m.words(schema, facts)));
            }
        }
        for finding in got.findings.iter().filter(|f| !f.outcome.verdict.is_definite()) {
            let told = judge.explain(finding);
            all.extend(told.missing.into_iter().map(|m| m.words(schema, facts)));
        }
        all
    }

    /// What came out, in words.
    fn told(&self, program: &Program, facts: &Installation, got: &Got) -> String {
        if let Asked::Table(ours, published) = &self.asked {
            let strays = strays(program, *ours, *published);
            let few = strays.iter().take(4).cloned().collect::<Vec<_>>().join("; ");
            return match strays.len() {
                0 => "the same".to_string(),
                1..=4 => few,
                more => format!("{few}; and {} more", more - 4),
            };
        }
        let mut text = got.said.words().to_string();
        let by: BTreeSet<String> = self
            .known_by(program, facts, got)
            .into_iter()
            .map(|(label, name)| if label.is_empty() { name } else { label })
            .collect();
        if !by.is_empty() {
            text.push_str(&format!(" by {}", by.into_iter().collect::<Vec<_>>().join(", ")));
        }
        if matches!(got.said, Said::Undecided | Said::ForTheAuthority) {
            let missing = self.missing(program, facts, got);
            if !missing.is_empty() {
                let few: Vec<String> = missing.iter().take(4).cloned().collect();
                let more = if missing.len() > 4 { ", …" } else { "" };
                text.push_str(&format!(", needs {}{more}", few.join(" and ")));
            }
        }
        if self.rest && !matches!(got.said, Said::Met | Said::NotApplicable) {
            let amiss = got.findings.iter().filter(|f| {
                !matches!(f.outcome.verdict, Verdict::Met | Verdict::NotApplicable)
                    && f.outcome.lean != Lean::NoViolationPossible
            });
            let named: BTreeSet<String> = amiss
                .filter_map(|f| {
                    let duty = program.duties.get(f.duty.index())?;
                    Some(format!("{} of {}", duty.address, facts.full_name(&program.schema, f.subject)))
                })
                .collect();
            text.push_str(&format!(": {}", named.into_iter().collect::<Vec<_>>().join(", ")));
        }
        text
    }
}
