//! What to find out next: the facts that keep verdicts open, by how many verdicts an answer decides.
//!
//! Every value that a yes-no, choice or scale field can still have is put in by turns, and the open requirements are judged
//! again; numbers are tried on either side of each limit the book compares the field with. What every answer decides is
//! certain for the former; for the latter it only bounds from above.

use super::page::{Page, counted};
use super::state::{Found, Opened, Sort, Statement};
use super::{Did, Reply, Trial, naming};
use crate::base::number::Number;
use crate::diag::{Code, Look};
use crate::eval::{self, Judge, Missing, Open};
use crate::facts::installation::{Cell, Installation, MaybeAbsent, ObjectId, Standing};
use crate::ir::program::{DutyId, Program, Test};
use crate::ir::schema::{FieldId, FieldType, ThingId, ValueSet};
use std::collections::BTreeMap;
use std::rc::Rc;

/// A question, with what an answer to it decides.
#[derive(Debug, Clone)]
pub(super) struct Asked {
    pub(super) missing: Missing,
    /// How many open requirements name it among what they lack.
    pub(super) bears_on: usize,
    /// How many are decided whatever the answer.
    pub(super) least: usize,
    /// How many are decided by the best answer.
    pub(super) most: usize,
}

/// The most questions that are tried out.
const TRIED: usize = 40;
/// The most questions shown.
const SHOWN: usize = 10;

impl Trial {
    /// Ranks the open questions of the job at hand.
    pub(super) fn ask(&mut self, look: &Look) -> Reply {
        let mut page = Page::new(look);
        let Some(found) = self.now.job().map(|job| Rc::clone(&job.found)) else { return Reply::done(String::new()) };
        let opened = Rc::clone(&self.now.opened);
        let open = found.rows.iter().filter(|row| !row.verdict.is_definite()).count();
        self.asked = questions(&opened, &found);
        if self.asked.is_empty() {
            page.line(match open {
                0 if found.rows.is_empty() => "Nothing to ask yet: state a thing first.",
                0 => "Nothing is open.",
                _ => "What is open hangs on no fact; `standing` lists it, `why` tells the reasons.",
            });
            return Reply::done(page.text);
        }
        page.line(&format!("{} open. Find out first:", counted(open, "verdict is", "verdicts are")));
        for (at, asked) in self.asked.iter().take(SHOWN).enumerate() {
            let missing = &asked.missing;
            let decides = match (asked.least, asked.most) {
                (0, 0) => format!("bears on {}", asked.bears_on),
                (0, most) => format!("decides up to {most}"),
                (least, most) if least == most => format!("decides {least}"),
                (least, most) => format!("decides {least}, up to {most}"),
            };
            let (schema, facts) = (&opened.program.schema, &found.installation);
            let question = match &*missing.question(schema, facts) {
                "" => String::new(),
                question => format!(" - {question}"),
            };
            page.fill(
                &format!("{}: {decides}{question}", missing.words(schema, facts)),
                &format!("{:>3}  ", at + 1),
                "       ",
            );
            let expected = expected(&opened.program, &found.installation, missing);
            if !expected.is_empty() {
                page.fill(&expected, "       ", "         ");
            }
            if let Some(who) = missing.judgment(schema, facts) {
                page.fill(&format!("a judgment of the authority {who}"), "       ", "         ");
            }
        }
        if self.asked.len() > SHOWN {
            page.line(&format!("     and {} more", self.asked.len() - SHOWN));
        }
        page.line("Answer by number, such as `1: yes`.");
        Reply::done(page.text)
    }

    /// `2: 12 AWG`
    pub(super) fn answered(&mut self, number: usize, value: &str, look: &Look) -> Did {
        let asked = number.checked_sub(1).and_then(|at| self.asked.get(at)).map(|a| a.missing);
        let Some(missing) = asked else {
            let line = format!("{number}: {value}");
            let title = match self.asked.len() {
                0 => "no questions were asked yet".to_string(),
                many => format!("there is no question {number}; {} asked", counted(many, "was", "were")),
            };
            let bad = self.complaint(Code::Lacking, title, &line, &line, "which question?");
            return Err(bad.help("`ask` lists the open questions by number").into());
        };
        let Some(found) = self.now.job().map(|job| Rc::clone(&job.found)) else {
            return Ok(Reply::done(String::new()));
        };
        let schema = &self.now.opened.program.schema;
        if missing.open == Open::Before {
            let line = format!("{number}: {value}");
            let title = "this needs more than a value".to_string();
            let bad = self.complaint(Code::Lacking, title, &line, &line, "");
            return Err(bad.help("state what it was before the work in `before { … }`").into());
        }
        let thing = found.installation.object(missing.object).thing;
        let field = schema.field(thing, missing.field);
        if let Some(keyed) = &field.keyed {
            let line = format!("{number}: {value}");
            let help = format!("state the whole measurement: `NAME.{}: 2 ft from {}`", keyed.name, keyed.from);
            let bad = self.complaint(Code::Lacking, "this needs more than a value".to_string(), &line, &line, "");
            return Err(bad.help(help).into());
        }
        let name = field.name.as_str();
        let names = naming::Names { schema, facts: &found.installation };
        let path = names.path(missing.object);
        let line = match path.as_deref() {
            Some([(_, project)]) if project.is_empty() => format!("project.{name}: {value}"),
            Some([(kind, top), inner @ ..]) => {
                let mut line = format!("{kind} {top}");
                for (list, member) in inner {
                    line.push_str(&format!(".{list}.{member}"));
                }
                format!("{line}.{name}: {value}")
            }
            Some([]) | None => {
                let line = format!("{number}: {value}");
                let what = missing.words(schema, &found.installation);
                let title = format!("{what} cannot be answered in one line");
                let bad = self.complaint(Code::Lacking, title, &line, &line, "");
                return Err(bad.help("describe the thing itself first").into());
            }
        };
        let asked = std::mem::take(&mut self.asked);
        match self.stated(&line, look) {
            Ok(mut reply) => {
                reply.text = format!("{line}\n{}", reply.text);
                if let Some(Statement { sort: Sort::Fact, text, .. }) = self.now.statements.last_mut() {
                    *text = line;
                }
                Ok(reply)
            }
            Err(diagnostics) => {
                self.asked = asked;
                Err(diagnostics)
            }
        }
    }
}

/// What can be answered.
fn expected(program: &Program, facts: &Installation, missing: &Missing) -> String {
    if missing.open == Open::Before {
        return String::new();
    }
    let thing = facts.object(missing.object).thing;
    let field = program.schema.field(thing, missing.field);
    match field.ty {
        FieldType::OneOf(domain) => crate::facts::listed(&program.schema.domain(domain).values),
        FieldType::YesNo | FieldType::Inverse(..) | FieldType::Many(_) => String::new(),
        FieldType::Quantity(_) | FieldType::Date | FieldType::Text | FieldType::Ref(_) | FieldType::ManyRef(_) => {
            crate::facts::expectation(&program.schema, field)
        }
    }
}

/// All open questions, those first whose answer decides most whatever it is.
fn questions(opened: &Opened, found: &Found) -> Vec<Asked> {
    let program = &opened.program;
    let facts = &found.installation;
    let open: Vec<(DutyId, ObjectId)> =
        found.rows.iter().filter(|row| !row.verdict.is_definite()).map(|row| (row.duty, row.subject)).collect();
    let mut asked: BTreeMap<(ObjectId, FieldId), Asked> = BTreeMap::new();
    for (duty, subject) in &open {
        for missing in eval::explain(program, facts, &opened.choices, *duty, *subject).missing {
            let key = (missing.object, missing.field);
            asked.entry(key).and_modify(|known| known.bears_on += 1).or_insert(Asked {
                missing,
                bears_on: 1,
                least: 0,
                most: 0,
            });
        }
    }
    let mut all: Vec<Asked> =
        asked.into_values().filter(|a| facts.object(a.missing.object).standing == Standing::Stated).collect();
    all.sort_by_key(|a| (std::cmp::Reverse(a.bears_on), a.missing.object, a.missing.field));
    let mut trying = facts.clone();
    for one in all.iter_mut().take(TRIED) {
        try_out(opened, &mut trying, &open, one);
    }
    all.sort_by_key(|a| std::cmp::Reverse((a.least, a.most, a.bears_on)));
    all
}

/// Puts each possible answer in, and counts what it decides.
fn try_out(opened: &Opened, trying: &mut Installation, open: &[(DutyId, ObjectId)], asked: &mut Asked) {
    let program = &opened.program;
    let (object, field) = (asked.missing.object, asked.missing.field);
    let thing = trying.object(object).thing;
    let before = match trying.objects.get(object.index()).and_then(|o| o.cells.get(usize::from(field.0))) {
        Some(cell) => cell.clone(),
        None => return,
    };
    let answers = answers(program, thing, field, &before);
    if answers.cells.is_empty() {
        return;
    }
    let set = |trying: &mut Installation, cell: Cell| {
        let cells = trying.objects.get_mut(object.index()).map(|o| &mut o.cells);
        if let Some(slot) = cells.and_then(|cells| cells.get_mut(usize::from(field.0))) {
            *slot = cell;
        }
    };
    let (mut least, mut most) = (usize::MAX, 0);
    for cell in answers.cells {
        set(trying, cell);
        let judge = Judge::new(program, trying, &opened.choices);
        let decided = open.iter().filter(|(duty, subject)| judge.judge(*duty, *subject).verdict.is_definite()).count();
        least = least.min(decided);
        most = most.max(decided);
    }
    set(trying, before);
    asked.least = if answers.all { least } else { 0 };
    asked.most = most;
}

/// Answers to try.
struct Answers {
    cells: Vec<Cell>,
    /// They are all there are.
    all: bool,
}

fn answers(program: &Program, thing: ThingId, id: FieldId, known: &Cell) -> Answers {
    let field = program.schema.field(thing, id);
    let possible: ValueSet = match known {
        Cell::Values(set, _) => *set,
        _ => ValueSet::MAX,
    };
    let mut cells: Vec<Cell> = match &field.ty {
        FieldType::YesNo => [1, 2]
            .into_iter()
            .filter(|bit| possible & bit != 0)
            .map(|bit| Cell::Values(bit, MaybeAbsent::Present))
            .collect(),
        FieldType::OneOf(domain) => {
            let values = program.schema.domain(*domain).all() & possible;
            (0..128u32)
                .map(|at| 1u128 << at)
                .filter(|bit| values & bit != 0)
                .map(|bit| Cell::Values(bit, MaybeAbsent::Present))
                .collect()
        }
        FieldType::Quantity(_) => {
            let cells = thresholds(program, thing, id);
            return Answers { cells: cells.into_iter().map(Cell::Number).collect(), all: false };
        }
        FieldType::Date
        | FieldType::Text
        | FieldType::Ref(_)
        | FieldType::Many(_)
        | FieldType::ManyRef(_)
        | FieldType::Inverse(..) => Vec::new(),
    };
    if field.may_be_absent
        && matches!(known, Cell::Unknown | Cell::Values(_, MaybeAbsent::Perhaps))
        && !cells.is_empty()
    {
        cells.push(Cell::Absent);
    }
    Answers { cells, all: true }
}

/// Numbers on either side of each limit that the book compares the field with.
fn thresholds(program: &Program, thing: ThingId, field: FieldId) -> Vec<Number> {
    let mut all: Vec<Number> = Vec::new();
    for test in &program.tests {
        if let Test::CompareConst(place, _, number) = test
            && place.field == field
            && place.object.thing == thing
            && !all.contains(number)
        {
            all.push(number.clone());
        }
    }
    all.sort();
    all.truncate(12);
    let mut tried = Vec::new();
    for limit in &all {
        for thousandths in [999, 1000, 1001] {
            tried.extend(limit.mul(&Number::from(thousandths)).div(&Number::from(1000)));
        }
    }
    tried
}
