//! The state of lowering: what is declared, which frame is being read, and the emission of nodes with their origins.

use super::amount::Worked;
use super::gather::Gathered;
use super::measure::{Size, Sizes};
use super::vocabulary::twice;
use crate::base::dimension::Dimension;
use crate::base::source::{Sources, Span};
use crate::diag::{Code, Diagnostic, Diagnostics};
use crate::ir::program::{
    Expr, ExprId, Formula, FormulaId, Gives, Kind, KindId, Mark, Object, Origin, OriginId, Program, Reading, ReadingId,
    SeriesId, Test, TestId,
};
use crate::ir::schema::{DomainId, FieldType, Schema, ThingId};
use crate::syntax::ast;
use std::collections::{BTreeMap, BTreeSet};

/// Which way a dual limit leans where it stands.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub(super) enum Side {
    /// In a duty or an exception: satisfying either system suffices.
    Favour,
    /// In a scope or trigger: it binds only if both systems say so.
    Bind,
}

impl Side {
    pub(super) fn flipped(self) -> Side {
        match self {
            Side::Favour => Side::Bind,
            Side::Bind => Side::Favour,
        }
    }
}

/// The type of an expression.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Ty {
    /// A number of a dimension, in its base unit.
    Number(Dimension),
    /// A value of a choice or scale.
    Value(DomainId),
    /// A day.
    Date,
}

/// A variable in scope.
#[derive(Debug, Clone)]
pub(super) struct Frame {
    pub(super) var: u8,
    pub(super) thing: ThingId,
    /// The word a half is called by.
    pub(super) slot: Option<String>,
}

/// What makes up a named condition.
#[derive(Clone, Copy)]
pub(super) enum Says<'a> {
    Items(&'a ast::Items),
    Reading(&'a ast::Reading),
    /// A permission with the scopes it stands in.
    Scoped(&'a ast::Clauses),
}

/// A named condition, from whatever declares it.
#[derive(Clone)]
pub(super) struct Declared<'a> {
    pub(super) name: String,
    pub(super) thing: ThingId,
    pub(super) cite: String,
    pub(super) says: Says<'a>,
    pub(super) scopes: Vec<&'a ast::Clauses>,
    pub(super) marks: Vec<Mark>,
    pub(super) span: Span,
}

#[derive(Clone, Copy)]
pub(super) enum State<T> {
    Fresh,
    Running,
    /// Its mistakes are told; they are not told again where it is used.
    Failed,
    Done(T),
}

/// A tally: a list that a counting rule names.
#[derive(Clone)]
pub(super) struct TallyDeclared<'a> {
    pub(super) list: &'a ast::ListRef,
    pub(super) filter: Option<&'a ast::Clauses>,
    /// The section it stands in, toward which exceptions may not count.
    pub(super) section: String,
    /// Set once read: the kind that holds for members that lost their credit.
    pub(super) lost: BTreeMap<ThingId, KindId>,
}

pub(super) struct Lower<'a> {
    pub(super) sources: &'a Sources,
    pub(super) program: Program,
    pub(super) diagnostics: Diagnostics,
    said: BTreeSet<(Code, Option<Span>, String)>,
    pub(super) declared: Vec<Declared<'a>>,
    pub(super) conditions: BTreeMap<(ThingId, String), usize>,
    pub(super) kind_state: BTreeMap<(usize, Side), State<KindId>>,
    pub(super) defines: Vec<(Worked<'a>, ThingId)>,
    pub(super) define_names: BTreeMap<(ThingId, String), usize>,
    pub(super) define_state: Vec<State<(FormulaId, Ty)>>,
    pub(super) limits: BTreeMap<String, &'a ast::Limit>,
    pub(super) series: BTreeMap<String, SeriesId>,
    pub(super) tables: BTreeMap<String, usize>,
    /// The table of the second system of a table whose cells are stated in two.
    pub(super) second_tables: BTreeMap<usize, usize>,
    pub(super) table_types: Vec<TableTypes>,
    pub(super) reading_of_exception: BTreeMap<String, (ReadingId, &'a ast::Reading)>,
    pub(super) reading_ids: BTreeMap<String, ReadingId>,
    pub(super) tallies: BTreeMap<String, TallyDeclared<'a>>,
    /// Which thing nests in which: only where there is exactly one owner.
    pub(super) owners: Vec<Option<ThingId>>,
    pub(super) frames: Vec<Frame>,
    pub(super) siblings: Vec<String>,
    pub(super) cite: String,
    /// New wording of lines that a later document changed.
    pub(super) reworded: Option<&'a BTreeMap<Span, String>>,
    /// Names of what is being lowered, for the ring of a cycle.
    pub(super) running: Vec<(String, Span)>,
    /// Measures of what is complete.
    sizes: Sizes,
    /// How many conditions and expressions stand around the one being lowered, names being followed included.
    pub(super) nested: u32,
}

/// The most conditions and expressions around another while lowering.
const MOST_NESTED: u32 = 128;
/// The longest chain of names followed while lowering.
const MOST_RUNNING: usize = 24;

/// The types of a table's keys and cells.
#[derive(Debug, Clone)]
pub(super) struct TableTypes {
    pub(super) keys: Vec<(String, Ty)>,
    pub(super) gives: Ty,
}

impl<'a> Lower<'a> {
    pub(super) fn new(sources: &'a Sources, schema: Schema, diagnostics: Diagnostics) -> Self {
        let mut owners: Vec<Vec<ThingId>> = vec![Vec::new(); schema.things.len()];
        for (index, thing) in schema.things.iter().enumerate() {
            for field in &thing.fields {
                if let (FieldType::Many(inner), Ok(owner)) = (&field.ty, u16::try_from(index)) {
                    let list = &mut owners[inner.0 as usize];
                    if !list.contains(&ThingId(owner)) {
                        list.push(ThingId(owner));
                    }
                }
            }
        }
        let owners = owners.into_iter().map(|o| if o.len() == 1 { o.first().copied() } else { None }).collect();
        Lower {
            sources,
            program: Program { schema, ..Program::default() },
            diagnostics,
            said: BTreeSet::new(),
            declared: Vec::new(),
            conditions: BTreeMap::new(),
            kind_state: BTreeMap::new(),
            defines: Vec::new(),
            define_names: BTreeMap::new(),
            define_state: Vec::new(),
            limits: BTreeMap::new(),
            series: BTreeMap::new(),
            tables: BTreeMap::new(),
            second_tables: BTreeMap::new(),
            table_types: Vec::new(),
            reading_of_exception: BTreeMap::new(),
            reading_ids: BTreeMap::new(),
            tallies: BTreeMap::new(),
            owners,
            frames: Vec::new(),
            siblings: Vec::new(),
            cite: String::new(),
            reworded: None,
            running: Vec::new(),
            sizes: Sizes::default(),
            nested: 0,
        }
    }

    pub(super) fn say(&mut self, diagnostic: Diagnostic) {
        // A scope is read once for each duty in it, and a kind once for each side it is used on.
        if self.said.insert((diagnostic.code, diagnostic.place(), diagnostic.title.clone())) {
            self.diagnostics.push(diagnostic);
        }
    }

    /// Hands out what was said so far and starts afresh, so that another reading of the same text may say it again.
    pub(super) fn afresh(&mut self) -> Diagnostics {
        self.said.clear();
        std::mem::take(&mut self.diagnostics)
    }

    pub(super) fn schema(&self) -> &Schema {
        &self.program.schema
    }

    // -------------------------------------------------------------------------------------------- declaring

    /// Registers every name, so that items may stand in any order.
    pub(super) fn declare(&mut self, gathered: &Gathered<'a>) {
        for kind in &gathered.kinds {
            if let Some(thing) = self.thing(&kind.thing) {
                self.condition(
                    &kind.name,
                    Declared {
                        name: kind.name.text.to_string(),
                        thing,
                        cite: kind.per.as_ref().map_or_else(String::new, |a| a.text.to_string()),
                        says: Says::Items(&kind.items),
                        scopes: Vec::new(),
                        marks: marks(&kind.marks),
                        span: kind.name.span,
                    },
                );
            }
        }
        for reading in &gathered.readings {
            self.declare_reading(reading);
        }
        let defines = gathered.defines.iter().map(|d| Worked::Define(d));
        for worked in defines.chain(gathered.amounts.iter().map(|a| Worked::Amount(a))) {
            if let Some(thing) = self.thing(worked.thing()) {
                self.declare_worked(worked, thing);
            }
        }
        for limit in &gathered.limits {
            if let Some(first) = self.limits.insert(limit.name.text.to_string(), limit) {
                let diagnostic = twice(&limit.name, first.name.span);
                self.say(diagnostic);
            }
        }
        for section in &gathered.sections {
            self.declare_section(section);
        }
    }

    pub(super) fn condition(&mut self, name: &ast::Name, declared: Declared<'a>) {
        let key = (declared.thing, name.text.to_string());
        if let Some(first) = self.conditions.get(&key).and_then(|at| self.declared.get(*at)) {
            let diagnostic = twice(name, first.span);
            self.say(diagnostic);
            return;
        }
        self.conditions.insert(key, self.declared.len());
        self.declared.push(declared);
    }

    fn declare_reading(&mut self, reading: &'a ast::Reading) {
        if let Some(first) = self.reading_ids.get(reading.name.text.as_str()).copied() {
            let span = self.program.origin(self.program.readings[first.index()].origin).span;
            let diagnostic = twice(&reading.name, span);
            self.say(diagnostic);
            return;
        }
        let origin = self.origin(reading.span, &marks(&reading.marks));
        let Ok(number) = u32::try_from(self.program.readings.len()) else { return };
        let id = ReadingId(number);
        self.program.readings.push(Reading {
            name: reading.name.text.to_string(),
            question: reading.about.as_deref().unwrap_or("").to_string(),
            disputed: reading.disputed.as_deref().unwrap_or("").to_string(),
            options: reading.options.iter().map(|o| (o.name.text.to_string(), o.about.to_string())).collect(),
            origin,
        });
        self.reading_ids.insert(reading.name.text.to_string(), id);
        match self.schema().thing_named(&reading.of.text) {
            Some(thing) if reading.options.iter().any(|o| matches!(o.says, ast::ReadingSays::Value(_))) => {
                self.declare_worked(Worked::Reading(reading), thing);
            }
            Some(thing) => self.condition(
                &reading.name,
                Declared {
                    name: reading.name.text.to_string(),
                    thing,
                    cite: String::new(),
                    says: Says::Reading(reading),
                    scopes: Vec::new(),
                    marks: marks(&reading.marks),
                    span: reading.name.span,
                },
            ),
            None => {
                self.reading_of_exception.insert(reading.of.text.to_string(), (id, reading));
            }
        }
    }

    /// The thing a written name means, or a diagnostic.
    pub(super) fn thing(&mut self, name: &ast::Name) -> Option<ThingId> {
        let found = self.schema().thing_named(&name.text);
        if found.is_none() {
            let near = crate::diag::nearest(&name.text, self.schema().thing_names.keys().map(String::as_str));
            let diagnostic = Diagnostic::error(Code::UnknownThing, format!("there is no thing `{}`", name.text))
                .at(name.span, "not known");
            let diagnostic = match near {
                Some(near) => diagnostic.help(format!("did you mean `{near}`?")),
                None => diagnostic.help("declare it with `thing name { … }`"),
            };
            self.say(diagnostic);
        }
        found
    }

    // -------------------------------------------------------------------------------------------- lowering

    /// Lowers everything, so that every mistake is found even where nothing is used.
    pub(super) fn lower_all(&mut self, gathered: &Gathered<'a>) {
        for series in &gathered.series {
            self.series(series);
        }
        for table in &gathered.tables {
            self.table(table);
        }
        for at in 0..self.declared.len() {
            self.kind(at, Side::Favour);
        }
        for at in 0..self.defines.len() {
            self.formula(at);
        }
        self.sections(&gathered.sections);
        let duties: Vec<TestId> = (self.program.duties.iter())
            .flat_map(|d| [d.applies, d.asks].into_iter().chain(d.reliefs.iter().map(|r| r.test)))
            .collect();
        duties.into_iter().for_each(|test| self.bounded(test));
    }

    /// A named condition in the core; lowered once for each side it is used on.
    pub(super) fn kind(&mut self, at: usize, side: Side) -> Option<KindId> {
        let declared = self.declared.get(at)?.clone();
        match self.kind_state.get(&(at, side)).copied().unwrap_or(State::Fresh) {
            State::Done(id) => return Some(id),
            State::Running => {
                self.ring(&declared.name, declared.span);
                return None;
            }
            State::Failed => return None,
            State::Fresh => {}
        }
        if self.running.len() >= MOST_RUNNING {
            self.too_much(&declared.name, declared.span, &long_chain());
            return None;
        }
        self.kind_state.insert((at, side), State::Running);
        self.running.push((declared.name.clone(), declared.span));
        let frames = std::mem::take(&mut self.frames);
        let siblings = std::mem::take(&mut self.siblings);
        let cite = std::mem::replace(&mut self.cite, declared.cite.clone());
        self.frames.push(Frame { var: 0, thing: declared.thing, slot: None });
        let test = match declared.says {
            Says::Items(items) => self.all_items(items, side),
            Says::Scoped(clauses) => {
                let mut all: Vec<TestId> =
                    declared.scopes.iter().map(|scope| self.clauses(scope, Side::Bind)).collect();
                all.push(self.clauses(clauses, side));
                self.all(all, declared.span)
            }
            Says::Reading(reading) => self.reading_condition(reading, side),
        };
        let size = self.sizes.test(&self.program, test);
        let (test, size) = match size.too_much() {
            Some(why) => {
                self.too_much(&declared.name, declared.span, &why);
                (self.never(declared.span), Size::default())
            }
            None => (test, size),
        };
        let origin = self.origin(declared.span, &declared.marks);
        self.frames = frames;
        self.siblings = siblings;
        self.cite = cite;
        self.running.pop();
        let id = KindId(u32::try_from(self.program.kinds.len()).ok()?);
        self.program.kinds.push(Kind {
            name: declared.name,
            thing: declared.thing,
            cite: declared.cite,
            test,
            origin,
            readings: Box::default(),
        });
        self.sizes.kinds.push(size);
        self.kind_state.insert((at, side), State::Done(id));
        Some(id)
    }

    fn reading_condition(&mut self, reading: &'a ast::Reading, side: Side) -> TestId {
        let mut options = Vec::new();
        for option in &reading.options {
            match &option.says {
                ast::ReadingSays::Items(items) => options.push(self.all_items(items, side)),
                ast::ReadingSays::Value(expr) => {
                    self.say(
                        Diagnostic::error(Code::WrongType, "a reading that is a value here and a condition there")
                            .at(expr.span, "this is a value"),
                    );
                    options.push(self.never(expr.span));
                }
                ast::ReadingSays::Enough(_, span) => {
                    self.say(
                        Diagnostic::error(Code::WrongType, "a reading of a thing states conditions")
                            .at(*span, "this says what is enough under an exception")
                            .at(reading.of.span, "but this is a thing"),
                    );
                    options.push(self.never(*span));
                }
            }
        }
        match self.reading_ids.get(reading.name.text.as_str()).copied() {
            Some(id) => self.emit(Test::Reading(id, options.into()), reading.name.span),
            None => self.never(reading.span),
        }
    }

    /// A named expression in the core, with its type.
    pub(super) fn formula(&mut self, at: usize) -> Option<(FormulaId, Ty)> {
        let (define, thing) = *self.defines.get(at)?;
        let (name, per) = (define.name(), define.per());
        match self.define_state.get(at).copied()? {
            State::Done(done) => return Some(done),
            State::Running => {
                self.ring(&name.text, name.span);
                return None;
            }
            State::Failed => return None,
            State::Fresh => {}
        }
        if self.running.len() >= MOST_RUNNING {
            self.too_much(&name.text, name.span, &long_chain());
            return None;
        }
        self.define_state[at] = State::Running;
        self.running.push((name.text.to_string(), name.span));
        let frames = std::mem::take(&mut self.frames);
        let cite = std::mem::replace(&mut self.cite, per.clone());
        self.frames.push(Frame { var: 0, thing, slot: None });
        let mut lines = Vec::new();
        let typed = self.worked(define, &mut lines);
        let origin = self.origin(define.span(), &marks(define.marks()));
        self.frames = frames;
        self.cite = cite;
        self.running.pop();
        let Some(typed) = typed else {
            self.define_state[at] = State::Failed;
            return None;
        };
        let size = self.sizes.expr(&self.program, typed.id);
        if let Some(why) = size.too_much() {
            self.too_much(&name.text, name.span, &why);
            self.define_state[at] = State::Fresh;
            return None;
        }
        self.sizes.formulas.push(size);
        let id = FormulaId(u32::try_from(self.program.formulas.len()).ok()?);
        self.program.formulas.push(Formula {
            name: name.text.to_string(),
            thing,
            cite: per,
            expr: typed.id,
            lines,
            unit: define.unit(),
            title: define.title().to_string(),
            origin,
        });
        self.define_state[at] = State::Done((id, typed.ty));
        Some((id, typed.ty))
    }

    /// Lowers something within everything around it, unless that is too much.
    pub(super) fn nest<T>(&mut self, span: Span, otherwise: T, inside: impl FnOnce(&mut Self) -> T) -> T {
        if self.nested >= MOST_NESTED {
            let why = format!("more than {MOST_NESTED} conditions and names stand around this");
            self.say(
                Diagnostic::error(Code::TooDeep, "conditions nest too deep")
                    .at(span, why)
                    .help("say it with fewer names, each of which says more"),
            );
            return otherwise;
        }
        self.nested += 1;
        let result = inside(self);
        self.nested -= 1;
        result
    }

    fn too_much(&mut self, name: &str, span: Span, why: &str) {
        self.say(
            Diagnostic::error(Code::TooDeep, format!("`{name}` asks for too much"))
                .at(span, why)
                .help("say it with fewer names, each of which says more"),
        );
    }

    /// Whether what a duty asks stays within bounds, all names spelt out; a mistake otherwise.
    pub(super) fn bounded(&mut self, test: TestId) {
        if let Some(why) = self.sizes.test(&self.program, test).too_much() {
            let span = self.program.test_origin(test).span;
            let diagnostic = Diagnostic::error(Code::TooDeep, "a requirement asks for too much").at(span, why);
            self.say(diagnostic.help("say it with fewer names, each of which says more"));
        }
    }

    /// Reports the ring that leads from a name back to itself.
    fn ring(&mut self, name: &str, span: Span) {
        let from = self.running.iter().rposition(|(running, at)| running == name && *at == span).unwrap_or(0);
        let ring: Vec<(String, Span)> = self.running[from..].to_vec();
        let mut words: Vec<&str> = ring.iter().map(|(name, _)| name.as_str()).collect();
        words.push(name);
        let mut diagnostic = Diagnostic::error(Code::DefinitionCycle, format!("`{name}` depends on itself"))
            .help(format!("the ring is {}; take one of them out of it", words.join(" -> ")));
        for (index, (name, span)) in ring.iter().enumerate() {
            let next = ring.get(index + 1).map_or(words[0], |(next, _)| next.as_str());
            diagnostic = diagnostic.at(*span, format!("`{name}` reads `{next}`"));
        }
        self.say(diagnostic);
    }

    // -------------------------------------------------------------------------------------------- emitting

    /// An origin under the number now cited.
    pub(super) fn origin(&mut self, span: Span, marks: &[Mark]) -> OriginId {
        let words = match self.reworded.and_then(|r| r.get(&span)) {
            Some(new) => new.clone(),
            None => words(&self.with_changes_inside(span)),
        };
        let origin = Origin { cite: self.cite.clone(), words, span, marks: marks.to_vec() };
        let id = OriginId(u32::try_from(self.program.origins.len()).unwrap_or(u32::MAX));
        self.program.origins.push(origin);
        id
    }

    /// The text of a place, with what later editions reworded within it.
    fn with_changes_inside(&self, span: Span) -> String {
        let text = self.sources.slice(span);
        let (first, last) = (Span { end: span.start, ..span }, Span { start: span.end, end: span.end, ..span });
        let mut inside: Vec<(&Span, &String)> = self
            .reworded
            .into_iter()
            .flat_map(|all| all.range(first..=last))
            .filter(|(place, _)| place.end <= span.end)
            .collect();
        inside.sort_by_key(|(place, _)| (place.start, std::cmp::Reverse(place.end)));
        let mut told = String::new();
        let mut at = 0;
        for (place, new) in inside {
            let offset = |byte: u32| byte.saturating_sub(span.start) as usize;
            let Some(before) = text.get(at..offset(place.start)) else { continue };
            told.push_str(before);
            told.push_str(new);
            at = offset(place.end);
        }
        told.push_str(text.get(at..).unwrap_or_default());
        told
    }

    pub(super) fn emit(&mut self, test: Test, span: Span) -> TestId {
        let origin = self.origin(span, &[]);
        self.emit_at(test, origin)
    }

    pub(super) fn emit_at(&mut self, test: Test, origin: OriginId) -> TestId {
        let id = TestId(u32::try_from(self.program.tests.len()).unwrap_or(u32::MAX));
        self.program.tests.push(test);
        self.program.test_origins.push(origin);
        id
    }

    pub(super) fn emit_expr(&mut self, expr: Expr, span: Span) -> ExprId {
        let origin = self.origin(span, &[]);
        let id = ExprId(u32::try_from(self.program.exprs.len()).unwrap_or(u32::MAX));
        self.program.exprs.push(expr);
        self.program.expr_types.push(Gives::Untold);
        self.program.expr_origins.push(origin);
        id
    }

    /// Stands where a mistake was reported.
    pub(super) fn never(&mut self, span: Span) -> TestId {
        self.emit(Test::Never, span)
    }

    pub(super) fn always(&mut self, span: Span) -> TestId {
        self.emit(Test::Always, span)
    }

    /// All of some; one stands for itself.
    pub(super) fn all(&mut self, mut tests: Vec<TestId>, span: Span) -> TestId {
        match (tests.len(), tests.pop()) {
            (1, Some(only)) => only,
            (_, None) => self.always(span),
            (_, Some(last)) => {
                tests.push(last);
                self.emit(Test::All(tests.into()), span)
            }
        }
    }

    /// Any of some; one stands for itself.
    pub(super) fn any(&mut self, mut tests: Vec<TestId>, span: Span) -> TestId {
        match (tests.len(), tests.pop()) {
            (1, Some(only)) => only,
            (_, None) => self.never(span),
            (_, Some(last)) => {
                tests.push(last);
                self.emit(Test::Any(tests.into()), span)
            }
        }
    }

    /// The object of a frame.
    pub(super) fn object(&self, frame: &Frame) -> Object {
        Object { var: frame.var, steps: Box::default(), thing: frame.thing }
    }

    /// The number the next variable gets.
    pub(super) fn next_var(&self) -> u8 {
        self.frames.iter().map(|f| f.var + 1).max().unwrap_or(0)
    }
}

fn long_chain() -> String {
    format!("a chain of more than {MOST_RUNNING} names not yet known leads here")
}

/// Marks of the tree as marks of the core.
pub(crate) fn marks(marks: &[ast::Mark]) -> Vec<Mark> {
    marks
        .iter()
        .map(|mark| match mark {
            ast::Mark::Seen(source) => Mark::Seen(source.to_string()),
            ast::Mark::Memory => Mark::Memory,
            ast::Mark::Disputed(how) => Mark::Disputed(how.to_string()),
            ast::Mark::Unchecked(document) => Mark::Unchecked(document.to_string()),
        })
        .collect()
}

/// Source text on one line: comments gone, blanks squeezed, a list cut at its brace.
fn words(text: &str) -> String {
    let mut out = String::new();
    for line in text.lines() {
        let mut quoted = false;
        for c in line.chars() {
            match c {
                '"' => quoted = !quoted,
                '#' if !quoted => break,
                '{' if !quoted => {
                    let head = out.trim_end().to_string();
                    return if head.is_empty() { "…".to_string() } else { head + " …" };
                }
                _ => {}
            }
            if !(c.is_whitespace() && (out.is_empty() || out.ends_with(' '))) {
                out.push(if c.is_whitespace() { ' ' } else { c });
            }
        }
        if !out.is_empty() && !out.ends_with(' ') {
            out.push(' ');
        }
    }
    without_marks(out.trim_end()).to_string()
}

/// The words before any marks at their end: marks are told apart.
fn without_marks(words: &str) -> &str {
    let mut words = words;
    loop {
        let shorter = match words.strip_suffix(" memory") {
            Some(shorter) => Some(shorter),
            None => words.strip_suffix('"').and_then(|inner| {
                let opening = inner.rfind('"')?;
                let before = inner.get(..opening)?.trim_end();
                let intended = || before.rsplit_once(" intended F").filter(|(_, code)| code.len() == 4);
                before
                    .strip_suffix(" seen")
                    .or_else(|| before.strip_suffix(" disputed"))
                    .or_else(|| intended().map(|(before, _)| before))
            }),
        };
        match shorter {
            Some(shorter) => words = shorter.trim_end(),
            None => return words,
        }
    }
}
