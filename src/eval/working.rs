//! A value written out line by line, as it would be worked by hand: what was given, each named value with the numbers put
//! in, the table row or series used, and what is missing. Values not wholly known are intervals.

use super::duty::Choices;
use super::explain::Missing;
use super::known::Known;
use super::lookup;
use super::machine::{Machine, Reached};
use super::missing::Seeker;
use super::show;
use super::truth::{Lack, Truth};
use super::value::{Over, Value};
use crate::base::dimension::Dimension;
use crate::base::number::Number;
use crate::base::unit::{self, Unit};
use crate::facts::installation::{Installation, ObjectId, Range};
use crate::ir::program::{
    Expr, ExprId, FormulaId, Gives, List, Mark, Object, OriginId, Place, Program, Test, TestId, Way,
};
use crate::ir::schema::{FieldId, ThingId};
use std::collections::BTreeSet;

/// The most lines of one working; a longer one ends there.
const MOST_STEPS: usize = 400;
/// The deepest one line is unfolded.
const DEEPEST: usize = 40;

/// What can be worked out for each thing of a kind.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Sought {
    /// Its name, or the words of a duty that compare with it.
    pub name: String,
    /// Its title in our words, or empty.
    pub title: String,
    /// The section or table it comes from, or empty.
    pub cite: String,
    /// The thing it is worked out for.
    pub thing: ThingId,
    /// The expression, with variable 0 bound to such a thing.
    pub expr: ExprId,
    /// The definition or amount it is, if it is one.
    pub formula: Option<FormulaId>,
}

/// A fact that went in.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Given {
    /// Whose, in full; empty for the thing itself.
    pub of: String,
    /// Which field.
    pub field: String,
    /// What is known of it, in words.
    pub value: String,
}

/// One line of a working.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Step {
    /// The value's name, a line's number, or `total`.
    pub name: String,
    /// Whose value it is, in full; empty for the thing itself.
    pub of: String,
    /// How it is worked out, as written.
    pub words: String,
    /// The same with the numbers put in; empty where that says no more.
    pub with: String,
    /// What comes out, in words.
    pub value: String,
    /// Whether it is wholly known.
    pub known: bool,
    /// Rows used, cases that hold, and the like; empty if there is nothing to say.
    pub note: String,
    /// The section it paraphrases, or empty.
    pub cite: String,
    /// Marks of what was used.
    pub marks: Vec<Mark>,
}

/// A value worked out for one thing.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Working {
    /// Facts that went in.
    pub given: Vec<Given>,
    /// The lines, each after those it needs.
    pub steps: Vec<Step>,
    /// What comes out, in words.
    pub value: String,
    /// Whether it is wholly known.
    pub known: bool,
    /// Why it is not, in words.
    pub lacks: Vec<&'static str>,
    /// Facts that would settle it.
    pub missing: Vec<Missing>,
    /// Disputed texts it hangs on: reading, option, and what comes out under it.
    pub readings: Vec<(usize, usize, String)>,
}

/// What a name, a table or a section's number stands for: definitions and amounts of that name; those of a section and
/// what lies in it, with what its duties compare with; those that read a table.
pub fn sought(program: &Program, what: &str) -> Vec<Sought> {
    let of = |at: usize| -> Option<Sought> {
        let formula = program.formulas.get(at)?;
        Some(Sought {
            name: formula.name.clone(),
            title: formula.title.clone(),
            cite: formula.cite.clone(),
            thing: formula.thing,
            expr: formula.expr,
            formula: Some(FormulaId(u32::try_from(at).ok()?)),
        })
    };
    let all = 0..program.formulas.len();
    let named: Vec<Sought> = all.clone().filter(|at| program.formulas[*at].name == what).filter_map(of).collect();
    if !named.is_empty() {
        return named;
    }
    let bare = what.strip_prefix("table ").or_else(|| what.strip_prefix("series "));
    let number = bare.unwrap_or(what).trim();
    if number.is_empty() {
        return Vec::new();
    }
    // A section and a table may share a number; `table 6` means the table alone.
    let within = |cite: &str| {
        bare.is_none() && (cite == number || cite.strip_prefix(number).is_some_and(|rest| rest.starts_with('(')))
    };
    let reads = |expr: ExprId| {
        let mut found = false;
        let mut depth = 0;
        walk(program, expr, &mut depth, &mut |expr| match expr {
            Expr::Lookup(table, _) => found |= program.tables.get(table.index()).is_some_and(|t| t.address == number),
            Expr::FirstRow(row) => found |= program.tables.get(row.table.index()).is_some_and(|t| t.address == number),
            Expr::Next(series, ..) => {
                found |= program.series.get(series.index()).is_some_and(|s| s.address == number);
            }
            _ => {}
        });
        found
    };
    let mut found: Vec<Sought> = all
        .clone()
        .filter(|at| within(&program.formulas[*at].cite))
        .chain(all.clone().filter(|at| !within(&program.formulas[*at].cite) && reads(program.formulas[*at].expr)))
        .filter_map(of)
        .collect();
    for duty in &program.duties {
        let mut compared = Vec::new();
        let own = within(&duty.address);
        operands(program, duty.asks, &mut compared);
        for expr in compared {
            let known = match program.expr(expr) {
                Expr::Formula(_, formula) => found.iter().any(|s| s.formula == Some(*formula)),
                Expr::Read(_) | Expr::Number(_) | Expr::Value(..) => true,
                _ => false,
            };
            if known || !(own || reads(expr)) {
                continue;
            }
            let next = match program.expr(expr) {
                Expr::Formula(object, formula) if object.steps.is_empty() => of(formula.index()),
                _ => Some(Sought {
                    name: program.expr_origin(expr).words.clone(),
                    title: duty.title.clone(),
                    cite: duty.address.clone(),
                    thing: duty.subject,
                    expr,
                    formula: None,
                }),
            };
            found.extend(next.filter(|next| !found.contains(next)));
        }
    }
    found
}

/// Everything an expression is made of, names not followed.
fn walk(program: &Program, id: ExprId, depth: &mut usize, see: &mut dyn FnMut(&Expr)) {
    if *depth > DEEPEST {
        return;
    }
    *depth += 1;
    let expr = program.expr(id);
    see(expr);
    let mut on = |id: ExprId| walk(program, id, depth, see);
    match expr {
        Expr::Number(_) | Expr::Value(..) | Expr::Read(_) | Expr::Count(_) | Expr::Formula(..) => {}
        Expr::Add(a, b)
        | Expr::Sub(a, b)
        | Expr::Mul(a, b)
        | Expr::Div(a, b)
        | Expr::Beyond(a, b)
        | Expr::Larger(a, b)
        | Expr::Smaller(a, b) => {
            on(*a);
            on(*b);
        }
        Expr::RoundUp(a) | Expr::RoundDown(a) | Expr::RoundUpFrom(a, _) | Expr::Next(_, _, a) | Expr::Before(a, _) => {
            on(*a)
        }
        Expr::Sum { of, .. } | Expr::Largest(_, of) | Expr::Smallest(_, of) => on(*of),
        Expr::Lookup(_, keys) => keys.iter().for_each(|key| on(*key)),
        Expr::Provided { then, otherwise, .. } => {
            on(*then);
            on(*otherwise);
        }
        Expr::FirstRow(row) => row.keys.iter().chain(&row.column).chain([&row.limit]).for_each(|key| on(*key)),
        Expr::Reading(_, options) => options.iter().for_each(|option| on(*option)),
    }
    *depth -= 1;
}

/// Both sides of every comparison that a condition makes of its own subject.
fn operands(program: &Program, id: TestId, found: &mut Vec<ExprId>) {
    match program.test(id) {
        Test::Compare(a, _, b) | Test::CompareSteps(a, _, b) => found.extend([*a, *b]),
        Test::Not(inner) => operands(program, *inner, found),
        Test::All(inner) | Test::Any(inner) | Test::Reading(_, inner) => {
            inner.iter().for_each(|test| operands(program, *test, found));
        }
        Test::Choose { then, otherwise, .. } => {
            operands(program, *then, found);
            operands(program, *otherwise, found);
        }
        Test::Always
        | Test::Never
        | Test::In(..)
        | Test::TextIs(..)
        | Test::IsNone(_)
        | Test::CompareConst(..)
        | Test::IsKind(..)
        | Test::Some(..)
        | Test::Every(..)
        | Test::Count(..)
        | Test::Different(_) => {}
    }
}

/// Works a value out for one thing.
pub fn work(program: &Program, facts: &Installation, choices: &Choices, sought: &Sought, subject: ObjectId) -> Working {
    // A working asks little, so nothing is kept between its lines.
    let known = Known::default();
    let machine = Machine::new(program, facts, choices, &known, subject);
    let mut paper = Paper {
        machine,
        subject,
        given: Vec::new(),
        facts: BTreeSet::new(),
        steps: Vec::new(),
        done: BTreeSet::new(),
        notes: Vec::new(),
        marks: Vec::new(),
        deep: 0,
    };
    match sought.formula {
        Some(formula) => paper.formula(formula, subject),
        None => {
            paper.needs(sought.expr);
            paper.step(sought.name.clone(), subject, sought.expr, &sought.cite, None, None);
        }
    }
    let (given, steps) = (paper.given, paper.steps);
    let mut machine = Machine::new(program, facts, choices, &known, subject);
    let value = machine.value(sought.expr);
    let unit = sought.formula.and_then(|f| program.formulas.get(f.index())?.unit);
    let mut readings = Vec::new();
    for (at, reading) in program.readings.iter().enumerate() {
        let Ok(number) = u32::try_from(at) else { continue };
        // A text may be disputed on the way and yet leave the value the same.
        let open = matches!(value, Value::Spread(_));
        if !open || !machine.mattered.contains(crate::ir::program::ReadingId(number)) {
            continue;
        }
        for option in 0..reading.options.len() {
            let mut chosen = choices.clone();
            chosen.set(at, option);
            let mut machine = Machine::new(program, facts, &chosen, &known, subject);
            let under = machine.value(sought.expr);
            readings.push((at, option, told(program, sought.expr, &under, unit)));
        }
    }
    let lacks = match &value {
        Value::Spread(spread) => {
            let gap = if spread.gap { Lack::GAP } else { Lack::NOTHING };
            spread.lack.and(gap).words()
        }
        Value::Absent | Value::Exact(_) | Value::Step(_) => Vec::new(),
    };
    Working {
        given,
        steps,
        known: !matches!(value, Value::Spread(_)),
        value: told(program, sought.expr, &value, unit),
        lacks,
        missing: Seeker::new(Machine::new(program, facts, choices, &known, subject)).expression(sought.expr),
        readings,
    }
}

// ------------------------------------------------------------------------------------------------ values in words

/// A value in words.
fn told(program: &Program, id: ExprId, value: &Value, unit: Option<&'static Unit>) -> String {
    let gives = type_of(program, id, 0);
    let number = |n: &Number| match gives {
        Gives::Number(dimension) => quantity(dimension, n, unit),
        Gives::Date => show::number(&crate::ir::schema::FieldType::Date, n),
        Gives::Value(_) | Gives::Untold => plain(n),
    };
    let steps = |set: u128| match gives {
        Gives::Value(domain) => show::steps(program.schema.domain(domain), set),
        Gives::Number(_) | Gives::Date | Gives::Untold => "a value".to_string(),
    };
    match value {
        Value::Absent => "none".to_string(),
        Value::Exact(n) => number(n),
        Value::Step(set) => steps(*set),
        Value::Spread(spread) => {
            let mut parts = Vec::new();
            match &spread.over {
                Over::Nothing => {}
                Over::Steps(set) => parts.push(steps(*set)),
                Over::Numbers(range) => parts.push(interval(range, &number)),
            }
            if spread.absent {
                parts.push("none".to_string());
            }
            if spread.gap {
                parts.push("the book does not say".to_string());
            }
            if parts.is_empty() { "unknown".to_string() } else { parts.join(", or ") }
        }
    }
}

fn interval(range: &Range, number: &dyn Fn(&Number) -> String) -> String {
    match (&range.low, &range.high) {
        (Some(low), Some(high)) if low == high => number(low),
        (Some(low), Some(high)) => {
            let from = if range.above_low { "more than" } else { "at least" };
            let to = if range.below_high { "less than" } else { "at most" };
            format!("{from} {} and {to} {}", number(low), number(high))
        }
        (Some(low), None) => format!("{} {}", if range.above_low { "more than" } else { "at least" }, number(low)),
        (None, Some(high)) => format!("{} {}", if range.below_high { "less than" } else { "at most" }, number(high)),
        (None, None) => "unknown".to_string(),
    }
}

/// A number with all its places where they are few, else to five of them and said to be so.
fn plain(number: &Number) -> String {
    let text = number.to_string();
    let places = text.split_once('.').map_or(0, |(_, places)| places.len());
    if number.is_terminating() && places <= 6 {
        return text;
    }
    let rounded = number.rounded(5);
    format!("about {}", rounded.trim_end_matches('0').trim_end_matches('.'))
}

/// A quantity in the unit it is told in, or the one that says it shortest.
fn quantity(dimension: Dimension, number: &Number, unit: Option<&'static Unit>) -> String {
    let told = |unit: &Unit| {
        let value = unit::from_base(number, unit)?;
        let symbol = if unit.symbol.is_empty() { String::new() } else { format!(" {}", unit.symbol) };
        Some((value.abs() < Number::ONE, format!("{}{symbol}", plain(&value))))
    };
    if let Some(unit) = unit
        && unit.dimension == dimension
        && let Some((_, text)) = told(unit)
    {
        return text;
    }
    let common = unit::all().filter(|u| u.dimension == dimension && show::is_common(u.symbol));
    // Exact before rounded, and of rounded ones those that keep most places.
    let rank = |(small, text): &(bool, String)| {
        let about = text.starts_with("about");
        (about, about && *small, text.len())
    };
    let best = common.filter_map(told).min_by_key(rank).map(|(_, text)| text);
    best.unwrap_or_else(|| match dimension.is_dimensionless() {
        true => plain(number),
        false => unit::show(number, dimension, None),
    })
}

/// What an expression gives, names followed.
fn type_of(program: &Program, id: ExprId, depth: usize) -> Gives {
    match (program.gives(id), program.expr(id)) {
        (Gives::Untold, _) if depth > DEEPEST => Gives::Untold,
        (Gives::Untold, Expr::Read(place)) => match program.schema.field(place.object.thing, place.field).ty {
            crate::ir::schema::FieldType::Quantity(dimension) => Gives::Number(dimension),
            crate::ir::schema::FieldType::OneOf(domain) => Gives::Value(domain),
            crate::ir::schema::FieldType::Date => Gives::Date,
            _ => Gives::Untold,
        },
        (Gives::Untold, Expr::Formula(_, formula)) => {
            program.formulas.get(formula.index()).map_or(Gives::Untold, |f| type_of(program, f.expr, depth + 1))
        }
        (
            Gives::Untold,
            Expr::Add(a, _)
            | Expr::Provided { then: a, .. }
            | Expr::Larger(a, _)
            | Expr::Smaller(a, _)
            | Expr::Sum { of: a, .. }
            | Expr::Largest(_, a)
            | Expr::Smallest(_, a)
            | Expr::Mul(a, _),
        ) => type_of(program, *a, depth + 1),
        (Gives::Untold, Expr::Reading(_, options)) => {
            options.first().map_or(Gives::Untold, |first| type_of(program, *first, depth + 1))
        }
        (told, _) => told,
    }
}

// ------------------------------------------------------------------------------------------------ the paper

struct Paper<'p> {
    machine: Machine<'p>,
    subject: ObjectId,
    given: Vec<Given>,
    facts: BTreeSet<(ObjectId, FieldId)>,
    steps: Vec<Step>,
    done: BTreeSet<(FormulaId, ObjectId)>,
    notes: Vec<String>,
    marks: Vec<Mark>,
    deep: usize,
}

impl<'p> Paper<'p> {
    fn name_of(&self, object: ObjectId) -> String {
        if object == self.subject {
            return String::new();
        }
        self.machine.facts.full_name(&self.machine.program.schema, object)
    }

    fn value(&mut self, id: ExprId) -> Value<'p> {
        let saved = self.machine.vars;
        let value = self.machine.value(id);
        self.machine.vars = saved;
        value
    }

    fn answer(&mut self, id: TestId) -> Truth {
        let saved = self.machine.vars;
        let answer = self.machine.test(id);
        self.machine.vars = saved;
        answer
    }

    fn shown(&mut self, id: ExprId) -> String {
        let value = self.value(id);
        told(self.machine.program, id, &value, None)
    }

    /// The lines of a named value of an object, once.
    fn formula(&mut self, id: FormulaId, object: ObjectId) {
        let program = self.machine.program;
        let Some(formula) = program.formulas.get(id.index()) else { return };
        if self.deep >= DEEPEST || self.steps.len() >= MOST_STEPS || !self.done.insert((id, object)) {
            return;
        }
        self.deep += 1;
        let saved = self.machine.vars;
        self.machine.bind(0, object);
        if formula.lines.is_empty() {
            self.needs(formula.expr);
            self.step(formula.name.clone(), object, formula.expr, &formula.cite, None, Some(formula.origin));
        } else {
            for line in &formula.lines {
                self.needs(line.expr);
                self.step(line.label.clone(), object, line.expr, &line.cite, formula.unit, Some(line.origin));
            }
            let with: Vec<String> = formula
                .lines
                .iter()
                .map(|line| match self.value(line.expr) {
                    Value::Spread(_) if !line.label.is_empty() => line.label.clone(),
                    value => bracketed(told(program, line.expr, &value, formula.unit)),
                })
                .collect();
            let value = self.value(formula.expr);
            self.steps.push(Step {
                name: formula.name.clone(),
                of: self.name_of(object),
                words: "the sum of these".to_string(),
                with: with.join(" + "),
                known: !matches!(value, Value::Spread(_)),
                value: told(program, formula.expr, &value, formula.unit),
                note: String::new(),
                cite: formula.cite.clone(),
                marks: program.origin(formula.origin).marks.clone(),
            });
        }
        self.machine.vars = saved;
        self.deep -= 1;
    }

    fn step(
        &mut self,
        name: String,
        object: ObjectId,
        expr: ExprId,
        cite: &str,
        unit: Option<&'static Unit>,
        origin: Option<OriginId>,
    ) {
        let program = self.machine.program;
        let value = self.value(expr);
        self.notes.clear();
        self.marks.clear();
        let with = self.with(expr, 0);
        let value_words = told(program, expr, &value, unit);
        let alone = matches!(
            program.expr(expr),
            Expr::Read(_) | Expr::Formula(..) | Expr::Lookup(..) | Expr::Number(_) | Expr::Value(..) | Expr::Count(_)
        );
        let mut marks = origin.map_or_else(Vec::new, |origin| program.origin(origin).marks.clone());
        for mark in std::mem::take(&mut self.marks) {
            if !marks.contains(&mark) {
                marks.push(mark);
            }
        }
        let mut notes = std::mem::take(&mut self.notes);
        notes.dedup();
        self.steps.push(Step {
            name,
            of: self.name_of(object),
            words: program.expr_origin(expr).words.clone(),
            with: if alone || with == value_words { String::new() } else { with },
            known: !matches!(value, Value::Spread(_)),
            value: value_words,
            note: notes.join("; "),
            cite: cite.to_string(),
            marks,
        });
    }

    /// Lines and facts that an expression needs.
    fn needs(&mut self, id: ExprId) {
        if self.deep >= DEEPEST || self.steps.len() >= MOST_STEPS {
            return;
        }
        self.deep += 1;
        let program = self.machine.program;
        match program.expr(id) {
            Expr::Number(_) | Expr::Value(..) => {}
            Expr::Read(place) => self.fact(place),
            Expr::Add(a, b)
            | Expr::Sub(a, b)
            | Expr::Mul(a, b)
            | Expr::Div(a, b)
            | Expr::Beyond(a, b)
            | Expr::Larger(a, b)
            | Expr::Smaller(a, b) => {
                self.needs(*a);
                self.needs(*b);
            }
            Expr::RoundUp(a) | Expr::RoundDown(a) | Expr::RoundUpFrom(a, _) | Expr::Next(_, _, a) => self.needs(*a),
            // The facts of the state before the work are told by the value alone.
            Expr::Before(..) => {}
            Expr::Count(list) => self.members(list, None),
            Expr::Sum { list, of, .. } | Expr::Largest(list, of) | Expr::Smallest(list, of) => {
                self.members(list, Some(*of));
            }
            Expr::Lookup(_, keys) => keys.iter().for_each(|key| self.needs(*key)),
            Expr::FirstRow(row) => {
                row.keys.iter().chain(&row.column).chain([&row.limit]).for_each(|key| self.needs(*key));
            }
            Expr::Formula(object, formula) => match self.machine.reach(object) {
                Reached::One(object) => self.formula(*formula, object),
                Reached::Absent | Reached::Anything(..) | Reached::Several(..) => {}
            },
            Expr::Provided { case, then, otherwise } => {
                self.case(*case);
                let answer = self.answer(*case);
                if answer != Truth::No {
                    self.needs(*then);
                }
                if answer != Truth::Yes {
                    self.needs(*otherwise);
                }
            }
            Expr::Reading(reading, options) => match self.machine.choices.get(*reading) {
                Some(chosen) => options.get(chosen).into_iter().for_each(|option| self.needs(*option)),
                None => options.iter().for_each(|option| self.needs(*option)),
            },
        }
        self.deep -= 1;
    }

    /// What members add is told in the line itself; here only the facts of the first few.
    fn members(&mut self, list: &List, of: Option<ExprId>) {
        let Some(owner) = self.owner(&list.place.object) else { return };
        let Some(cell) = self.machine.list_cell(owner, &list.place) else { return };
        let saved = self.machine.vars;
        for member in cell.members.iter().chain(&cell.perhaps) {
            if self.machine.meant(list, *member) == Truth::No {
                continue;
            }
            self.machine.bind(list.var, *member);
            match of.map(|of| (of, self.machine.program.expr(of))) {
                Some((_, Expr::Read(place))) => self.fact(place),
                Some((_, Expr::Formula(object, formula))) => {
                    if let (Reached::One(object), Some(formula)) =
                        (self.machine.reach(object), self.machine.program.formulas.get(formula.index()))
                        && object == *member
                    {
                        self.facts_of(object, formula.expr);
                    }
                }
                Some((of, _)) => self.facts_of(*member, of),
                None => {}
            }
        }
        self.machine.vars = saved;
    }

    /// Facts of a member that its value reads directly.
    fn facts_of(&mut self, member: ObjectId, expr: ExprId) {
        let mut places: Vec<Place> = Vec::new();
        let mut depth = 0;
        let program = self.machine.program;
        let thing = self.machine.facts.object(member).thing;
        let mut see = |expr: &Expr| match expr {
            Expr::Read(place) if place.object.steps.is_empty() => places.push(place.clone()),
            _ => {}
        };
        walk(program, expr, &mut depth, &mut |expr| {
            see(expr);
            if let Expr::Formula(object, formula) = expr
                && object.steps.is_empty()
                && object.thing == thing
                && let Some(formula) = program.formulas.get(formula.index())
            {
                walk(program, formula.expr, &mut 0, &mut see);
            }
        });
        for place in places {
            if place.object.thing == thing {
                self.fact_of(member, place.field);
            }
        }
    }

    fn owner(&self, object: &Object) -> Option<ObjectId> {
        match self.machine.reach(object) {
            Reached::One(object) => Some(object),
            Reached::Absent | Reached::Anything(..) | Reached::Several(..) => None,
        }
    }

    fn fact(&mut self, place: &Place) {
        if let Some(object) = self.owner(&place.object) {
            self.fact_of(object, place.field);
        }
    }

    fn fact_of(&mut self, object: ObjectId, field: FieldId) {
        if !self.facts.insert((object, field)) {
            return;
        }
        let facts = self.machine.facts;
        let schema = &self.machine.program.schema;
        let stated = facts.object(object);
        let declared = schema.field(stated.thing, field);
        let Some(cell) = stated.cells.get(usize::from(field.0)) else { return };
        self.given.push(Given {
            of: self.name_of(object),
            field: declared.name.clone(),
            value: show::cell(schema, facts, declared, cell),
        });
    }

    /// Facts that a case rests on.
    fn case(&mut self, id: TestId) {
        let program = self.machine.program;
        match program.test(id) {
            Test::In(place, _) | Test::TextIs(place, _) | Test::IsNone(place) | Test::CompareConst(place, ..) => {
                self.fact(place);
            }
            Test::Not(inner) => self.case(*inner),
            Test::All(inner) | Test::Any(inner) | Test::Reading(_, inner) => {
                inner.iter().for_each(|test| self.case(*test));
            }
            Test::Compare(a, _, b) | Test::CompareSteps(a, _, b) => {
                self.needs(*a);
                self.needs(*b);
            }
            Test::IsKind(object, kind) => {
                if let (Some(object), Some(kind)) = (self.owner(object), program.kinds.get(kind.index())) {
                    let saved = self.machine.vars;
                    self.machine.bind(0, object);
                    if self.deep < DEEPEST {
                        self.deep += 1;
                        self.case(kind.test);
                        self.deep -= 1;
                    }
                    self.machine.vars = saved;
                }
            }
            Test::Always
            | Test::Never
            | Test::Choose { .. }
            | Test::Some(..)
            | Test::Every(..)
            | Test::Count(..)
            | Test::Different(_) => {}
        }
    }

    // -------------------------------------------------------------------------------------------- numbers put in

    /// The expression with values in the place of names; tells the rows used on the way.
    fn with(&mut self, id: ExprId, level: u8) -> String {
        let program = self.machine.program;
        if self.deep >= DEEPEST {
            return "\u{2026}".to_string();
        }
        self.deep += 1;
        let (text, own) = match program.expr(id) {
            Expr::Number(_) => {
                let words = &program.expr_origin(id).words;
                let literal = words.starts_with(|c: char| c.is_ascii_digit() || c == '-');
                (if literal { words.clone() } else { self.shown(id) }, 4)
            }
            // A factor between two ways to measure the same.
            Expr::Mul(a, _) if program.gives(id) == Gives::Untold => (self.with(*a, level), 4),
            Expr::Add(a, b) => (format!("{} + {}", self.with(*a, 1), self.with(*b, 1)), 1),
            Expr::Sub(a, b) => (format!("{} - {}", self.with(*a, 1), self.with(*b, 2)), 1),
            Expr::Mul(a, b) => (format!("{} x {}", self.with(*a, 2), self.with(*b, 3)), 2),
            Expr::Div(a, b) => (format!("{} / {}", self.with(*a, 2), self.with(*b, 3)), 2),
            Expr::Beyond(a, b) => (format!("{} beyond {}", self.with(*a, 3), self.with(*b, 4)), 1),
            Expr::Before(..) => (format!("before the work {}", self.shown(id)), 0),
            Expr::RoundUp(a) => (format!("{} rounded up", self.rounded(*a)), 0),
            Expr::RoundDown(a) => (format!("{} rounded down", self.rounded(*a)), 0),
            Expr::RoundUpFrom(a, from) => (format!("{} rounded up from {from}", self.rounded(*a)), 0),
            Expr::Larger(a, b) => (format!("larger of {} and {}", self.with(*a, 4), self.with(*b, 4)), 0),
            Expr::Smaller(a, b) => (format!("smaller of {} and {}", self.with(*a, 4), self.with(*b, 4)), 0),
            Expr::Next(series, way, of) => {
                if let Some(series) = program.series.get(series.index()) {
                    self.marks.extend(program.origin(series.origin).marks.iter().cloned());
                    let way = match way {
                        Way::Above => "above",
                        Way::AtOrAbove => "at or above",
                        Way::Below => "below",
                        Way::AtOrBelow => "at or below",
                    };
                    let of = self.with(*of, 4);
                    (format!("next of {} {way} {of}", series.address), 0)
                } else {
                    (self.shown(id), 4)
                }
            }
            Expr::Sum { list, of, .. } => (self.summed(list, *of), 1),
            Expr::Largest(list, of) => self.extreme("largest", list, *of),
            Expr::Smallest(list, of) => self.extreme("smallest", list, *of),
            Expr::Provided { case, then, otherwise } => {
                let words = program.test_origin(*case).words.clone();
                match self.answer(*case) {
                    Truth::Yes => {
                        self.notes.push(format!("{words}: holds"));
                        (self.with(*then, level), 4)
                    }
                    Truth::No => {
                        // Whatever does not hold counts nothing, or leads on to the other case.
                        self.notes.push(format!("{words}: does not hold"));
                        (self.with(*otherwise, level), 4)
                    }
                    Truth::Unknown(_) => {
                        self.notes.push(format!("{words}: not known"));
                        (format!("{} or {}", self.with(*then, 4), self.with(*otherwise, 4)), 0)
                    }
                }
            }
            Expr::Lookup(table, keys) => {
                self.row_note(table.index(), keys);
                (self.put_in(id), 4)
            }
            Expr::FirstRow(row) => {
                if let Some(table) = program.tables.get(row.table.index()) {
                    self.marks.extend(program.origin(table.origin).marks.iter().cloned());
                    let limit = self.with(row.limit, 4);
                    let column = row.column.map(|c| format!(", column {}", self.shown(c))).unwrap_or_default();
                    self.notes.push(format!("table {}{column}: first row not below {limit}", table.address));
                }
                (self.put_in(id), 4)
            }
            Expr::Reading(reading, options) => {
                if let Some(known) = program.readings.get(reading.index()) {
                    let chosen = self.machine.choices.get(*reading).and_then(|c| known.options.get(c));
                    self.notes.push(match chosen {
                        Some((option, _)) => format!("read as {}={option}", known.name),
                        None => format!("disputed: {}", known.question),
                    });
                }
                match self.machine.choices.get(*reading).and_then(|chosen| options.get(chosen)) {
                    Some(option) => (self.with(*option, level), 4),
                    None => {
                        let all: Vec<String> = options.iter().map(|option| self.with(*option, 1)).collect();
                        (all.join(" or "), 0)
                    }
                }
            }
            Expr::Value(..) => (self.shown(id), 4),
            Expr::Read(_) | Expr::Count(_) | Expr::Formula(..) => (self.put_in(id), 4),
        };
        self.deep -= 1;
        let whole = text.starts_with('(') && text.ends_with(')');
        if own < level && !whole { format!("({text})") } else { text }
    }

    /// The value of a name where it is known; else the name, whose own line tells what is known of it.
    fn put_in(&mut self, id: ExprId) -> String {
        match self.value(id) {
            Value::Spread(_) => self.machine.program.expr_origin(id).words.clone(),
            Value::Absent | Value::Exact(_) | Value::Step(_) => self.shown(id),
        }
    }

    /// What is rounded, worked out first.
    fn rounded(&mut self, id: ExprId) -> String {
        let with = self.with(id, 1);
        match self.value(id) {
            Value::Spread(_) => with,
            Value::Absent | Value::Exact(_) | Value::Step(_) => match self.shown(id) {
                value if value == with => with,
                value => format!("{with} = {value}"),
            },
        }
    }

    /// The row and column of a table that were used, with their marks.
    fn row_note(&mut self, table: usize, keys: &[ExprId]) {
        let program = self.machine.program;
        let Some(table) = program.tables.get(table) else { return };
        let values: Vec<Value> = keys.iter().map(|key| self.value(*key)).collect();
        self.marks.extend(program.origin(table.origin).marks.iter().cloned());
        match lookup::cell_used(table, &values) {
            Some((row, _)) => {
                let Some(row) = table.rows.get(row) else { return };
                let origin = program.origin(row.origin);
                self.marks.extend(origin.marks.iter().cloned());
                let words = origin.words.split('|').next().unwrap_or("").trim();
                let column = match (table.across, keys.last()) {
                    (true, Some(key)) => format!(", column {}", self.shown(*key)),
                    _ => String::new(),
                };
                self.notes.push(format!("table {}, row {words}{column}", table.address));
            }
            None => self.notes.push(format!("table {}", table.address)),
        }
    }

    fn member_values(&mut self, list: &List, of: ExprId) -> (Vec<(String, usize)>, bool) {
        let Some(owner) = self.owner(&list.place.object) else { return (Vec::new(), true) };
        let Some(cell) = self.machine.list_cell(owner, &list.place) else { return (Vec::new(), true) };
        let saved = self.machine.vars;
        let mut told: Vec<(String, usize)> = Vec::new();
        for member in cell.members.iter().chain(&cell.perhaps) {
            let meant = self.machine.meant(list, *member);
            if meant == Truth::No {
                continue;
            }
            let mut text = bracketed(self.with(of, 2));
            if meant != Truth::Yes {
                text = format!("perhaps {text}");
            }
            match told.iter_mut().find(|(known, _)| *known == text) {
                Some((_, times)) => *times += 1,
                None => told.push((text, 1)),
            }
        }
        self.machine.vars = saved;
        (told, cell.more.is_some())
    }

    fn summed(&mut self, list: &List, of: ExprId) -> String {
        let (told, more) = self.member_values(list, of);
        let mut parts: Vec<String> = told
            .into_iter()
            .map(|(text, times)| match times {
                1 => text,
                _ if text.contains(" x ") => format!("{times} x ({text})"),
                _ => format!("{times} x {text}"),
            })
            .collect();
        if more {
            parts.push("others not listed".to_string());
        }
        if parts.is_empty() { "nothing".to_string() } else { parts.join(" + ") }
    }

    /// One value alone needs no choosing.
    fn extreme(&mut self, word: &str, list: &List, of: ExprId) -> (String, u8) {
        let text = self.listed(list, of);
        if text.contains(", ") || text == "nothing" { (format!("{word} of {text}"), 0) } else { (text, 4) }
    }

    fn listed(&mut self, list: &List, of: ExprId) -> String {
        let (told, more) = self.member_values(list, of);
        let mut parts: Vec<String> = told.into_iter().map(|(text, _)| text).collect();
        if more {
            parts.push("others not listed".to_string());
        }
        if parts.is_empty() { "nothing".to_string() } else { parts.join(", ") }
    }
}

/// Intervals are kept together.
fn bracketed(text: String) -> String {
    if text.contains(" and at ") || text.contains(" or ") { format!("({text})") } else { text }
}
