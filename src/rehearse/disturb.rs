//! The core program bent at one place at a time: which bends does some expectation notice?
//!
//! A disturbance follows the source, not the core: what one line of a rulebook became at several places is bent at all of
//! them. Programs are bent in place and mended again; only the expectations on duties that can reach the place are asked.

use crate::base::number::Number;
use crate::base::source::Span;
use crate::ir::program::{
    CellValue, Compare, Duty, DutyId, Expr, ExprId, KindId, List, OriginId, Place, Program, Relief, TableId, TableRow,
    Test, TestId, Way,
};
use crate::ir::schema::{FieldType, MOST_VALUES, ValueSet};
use std::collections::{BTreeMap, BTreeSet};

/// How much is bent.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Extent {
    /// Parts are struck: conditions, exceptions, table rows.
    Strikes,
    /// Everything this module knows.
    All,
}

/// What kind of part is struck; nothing for other bends.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub(super) enum Part {
    Condition,
    Exception,
    Row,
    Other,
}

impl Part {
    pub(super) fn words(self) -> &'static str {
        match self {
            Part::Condition => "condition",
            Part::Exception => "exception",
            Part::Row => "table row",
            Part::Other => "part",
        }
    }
}

/// One change to the core.
#[derive(Debug, Clone)]
enum Bend {
    Test(TestId, Test),
    Expr(ExprId, Expr),
    Cell(TableId, usize, usize, CellValue),
    Row(TableId, usize),
    Relief(DutyId, usize),
    /// What a duty asks, the condition itself left alone: others may read it too.
    Asks(DutyId, TestId),
    /// When a duty applies, in the same way.
    Applies(DutyId, TestId),
}

/// What one disturbance does, and what it can reach.
pub(super) struct Disturbance {
    pub(super) at: String,
    pub(super) done: String,
    pub(super) words: String,
    pub(super) span: Span,
    pub(super) part: Part,
    bends: Vec<Bend>,
    pub(super) duties: BTreeSet<DutyId>,
    pub(super) kinds: BTreeSet<KindId>,
}

/// What a bend replaced.
enum Mend {
    Test(TestId, Test),
    Expr(ExprId, Expr),
    Cell(TableId, usize, usize, CellValue),
    Row(TableId, usize, TableRow),
    Relief(DutyId, usize, Relief),
    Asks(DutyId, TestId),
    Applies(DutyId, TestId),
}

impl Disturbance {
    /// The tables whose rows it bends.
    pub(super) fn tables(&self) -> impl Iterator<Item = TableId> {
        self.bends.iter().filter_map(|bend| match bend {
            Bend::Cell(table, ..) | Bend::Row(table, _) => Some(*table),
            Bend::Test(..) | Bend::Expr(..) | Bend::Relief(..) | Bend::Asks(..) | Bend::Applies(..) => None,
        })
    }

    /// Bends the program, asks, and mends it again.
    pub(super) fn during<T>(&self, program: &mut Program, ask: impl FnOnce(&Program) -> T) -> T {
        let mut mends: Vec<Mend> = self.bends.iter().filter_map(|bend| bend.apply(program)).collect();
        let answer = ask(program);
        while let Some(mend) = mends.pop() {
            mend.apply(program);
        }
        answer
    }
}

impl Bend {
    fn apply(&self, program: &mut Program) -> Option<Mend> {
        match self {
            Bend::Test(id, test) => {
                let slot = program.tests.get_mut(id.index())?;
                Some(Mend::Test(*id, std::mem::replace(slot, test.clone())))
            }
            Bend::Expr(id, expr) => {
                let slot = program.exprs.get_mut(id.index())?;
                Some(Mend::Expr(*id, std::mem::replace(slot, expr.clone())))
            }
            Bend::Cell(table, row, column, value) => {
                let slot = program.tables.get_mut(table.index())?.rows.get_mut(*row)?.cells.get_mut(*column)?;
                Some(Mend::Cell(*table, *row, *column, std::mem::replace(slot, value.clone())))
            }
            Bend::Row(table, row) => {
                let rows = &mut program.tables.get_mut(table.index())?.rows;
                (*row < rows.len()).then(|| Mend::Row(*table, *row, rows.remove(*row)))
            }
            Bend::Relief(duty, at) => {
                let reliefs = &mut program.duties.get_mut(duty.index())?.reliefs;
                (*at < reliefs.len()).then(|| Mend::Relief(*duty, *at, reliefs.remove(*at)))
            }
            Bend::Asks(id, test) => {
                let duty = program.duties.get_mut(id.index())?;
                Some(Mend::Asks(*id, std::mem::replace(&mut duty.asks, *test)))
            }
            Bend::Applies(id, test) => {
                let duty = program.duties.get_mut(id.index())?;
                Some(Mend::Applies(*id, std::mem::replace(&mut duty.applies, *test)))
            }
        }
    }
}

impl Mend {
    fn apply(self, program: &mut Program) {
        match self {
            Mend::Test(id, test) => {
                if let Some(slot) = program.tests.get_mut(id.index()) {
                    *slot = test;
                }
            }
            Mend::Expr(id, expr) => {
                if let Some(slot) = program.exprs.get_mut(id.index()) {
                    *slot = expr;
                }
            }
            Mend::Cell(table, row, column, value) => {
                let row = program.tables.get_mut(table.index()).and_then(|t| t.rows.get_mut(row));
                if let Some(slot) = row.and_then(|r| r.cells.get_mut(column)) {
                    *slot = value;
                }
            }
            Mend::Row(table, at, row) => {
                if let Some(table) = program.tables.get_mut(table.index()) {
                    table.rows.insert(at.min(table.rows.len()), row);
                }
            }
            Mend::Relief(duty, at, relief) => {
                if let Some(duty) = program.duties.get_mut(duty.index()) {
                    duty.reliefs.insert(at.min(duty.reliefs.len()), relief);
                }
            }
            Mend::Asks(id, test) => {
                if let Some(duty) = program.duties.get_mut(id.index()) {
                    duty.asks = test;
                }
            }
            Mend::Applies(id, test) => {
                if let Some(duty) = program.duties.get_mut(id.index()) {
                    duty.applies = test;
                }
            }
        }
    }
}

/// Every way to disturb a program, in the order of the text. Copies of conditions are added behind the program's own.
pub(super) fn all(
    program: &mut Program,
    extent: Extent,
    asked: &BTreeSet<KindId>,
    tables: &BTreeSet<TableId>,
) -> Vec<Disturbance> {
    let mut reach = Reach::of(program, asked);
    for table in tables {
        reach.tables.entry(*table).or_default();
    }
    let mut maker = Maker {
        extent,
        found: BTreeMap::new(),
        under_not: BTreeSet::new(),
        counts: BTreeSet::new(),
        sayers: sayers(program),
    };
    for test in &program.tests {
        match test {
            Test::Not(inner) => {
                maker.under_not.insert(*inner);
            }
            Test::Count(_, _, _, count) => {
                maker.counts.insert(*count);
            }
            _ => {}
        }
    }
    for id in reach.tests.keys().copied().collect::<Vec<_>>() {
        maker.test(program, &reach, id);
    }
    for id in reach.exprs.keys().copied().collect::<Vec<_>>() {
        maker.expr(program, &reach, id);
    }
    for id in reach.tables.keys().copied().collect::<Vec<_>>() {
        maker.table(program, &reach, id);
    }
    let always = TestId(u32::try_from(program.tests.len()).unwrap_or(u32::MAX));
    program.tests.push(Test::Always);
    program.test_origins.push(OriginId(0));
    for (at, duty) in program.duties.iter().enumerate() {
        let Ok(at) = u32::try_from(at) else { continue };
        maker.duty(program, DutyId(at), duty, always);
    }
    let mut all: Vec<Disturbance> = maker.found.into_values().collect();
    all.sort_by(|a, b| (a.span, &a.done, &a.words).cmp(&(b.span, &b.done, &b.words)));
    all
}

/// From which duties and kinds each place of the core is read.
#[derive(Default)]
struct Reach {
    tests: BTreeMap<TestId, Readers>,
    exprs: BTreeMap<ExprId, Readers>,
    tables: BTreeMap<TableId, Readers>,
}

#[derive(Default, Clone)]
struct Readers {
    duties: BTreeSet<DutyId>,
    kinds: BTreeSet<KindId>,
}

/// Who reads.
#[derive(Clone, Copy)]
enum Reader {
    Duty(DutyId),
    Kind(KindId),
}

impl Readers {
    fn add(&mut self, reader: Reader) {
        match reader {
            Reader::Duty(duty) => self.duties.insert(duty),
            Reader::Kind(kind) => self.kinds.insert(kind),
        };
    }

    fn join(&mut self, other: &Readers) {
        self.duties.extend(&other.duties);
        self.kinds.extend(&other.kinds);
    }
}

/// One walk from one reader.
struct Walk<'p> {
    program: &'p Program,
    /// Whether to go on into the kinds that conditions name.
    into: Into,
    tests: BTreeSet<TestId>,
    exprs: BTreeSet<ExprId>,
    tables: BTreeSet<TableId>,
}

/// Where a walk ends.
#[derive(Clone, Copy, PartialEq, Eq)]
enum Into {
    /// Nowhere: all that is read.
    Kinds,
    /// At the kinds that are named: what one kind says itself.
    Nothing,
}

/// The kinds that say conditions which have no number of their own.
fn sayers(program: &Program) -> BTreeMap<TestId, String> {
    let mut sayers = BTreeMap::new();
    for kind in &program.kinds {
        let mut walk = Walk::new(program, Into::Nothing);
        walk.test(kind.test);
        for test in walk.tests {
            sayers.entry(test).or_insert_with(|| kind.name.clone());
        }
    }
    sayers
}

impl Reach {
    fn of(program: &Program, asked: &BTreeSet<KindId>) -> Reach {
        let mut reach = Reach::default();
        for (at, duty) in program.duties.iter().enumerate() {
            let Ok(at) = u32::try_from(at) else { continue };
            let reliefs = duty.reliefs.iter().map(|r| r.test);
            reach.walk(program, Reader::Duty(DutyId(at)), [duty.applies, duty.asks].into_iter().chain(reliefs));
        }
        let granted = program.permissions.iter().map(|p| p.kind);
        for kind in granted.chain(asked.iter().copied()).collect::<BTreeSet<_>>() {
            let test = program.kinds.get(kind.index()).map(|k| k.test);
            reach.walk(program, Reader::Kind(kind), test.into_iter());
        }
        reach
    }

    fn walk(&mut self, program: &Program, reader: Reader, roots: impl Iterator<Item = TestId>) {
        let mut walk = Walk::new(program, Into::Kinds);
        roots.for_each(|root| walk.test(root));
        walk.tests.into_iter().for_each(|id| self.tests.entry(id).or_default().add(reader));
        walk.exprs.into_iter().for_each(|id| self.exprs.entry(id).or_default().add(reader));
        walk.tables.into_iter().for_each(|id| self.tables.entry(id).or_default().add(reader));
    }
}

impl<'p> Walk<'p> {
    fn new(program: &'p Program, into: Into) -> Walk<'p> {
        Walk { program, into, tests: BTreeSet::new(), exprs: BTreeSet::new(), tables: BTreeSet::new() }
    }

    fn test(&mut self, id: TestId) {
        if !self.tests.insert(id) {
            return;
        }
        let program = self.program;
        let Some(test) = program.tests.get(id.index()) else { return };
        match test {
            Test::Always | Test::Never | Test::In(..) | Test::TextIs(..) | Test::IsNone(_) | Test::CompareConst(..) => {
            }
            Test::Not(inner) => self.test(*inner),
            Test::All(inner) | Test::Any(inner) | Test::Reading(_, inner) => inner.iter().for_each(|t| self.test(*t)),
            Test::Choose { case, then, otherwise } => [case, then, otherwise].into_iter().for_each(|t| self.test(*t)),
            Test::Compare(a, _, b) | Test::CompareSteps(a, _, b) => {
                self.expr(*a);
                self.expr(*b);
            }
            Test::IsKind(_, kind) => {
                if let (Into::Kinds, Some(kind)) = (self.into, program.kinds.get(kind.index())) {
                    self.test(kind.test);
                }
            }
            Test::Some(list, test) | Test::Every(list, test) => {
                self.list(list);
                self.test(*test);
            }
            Test::Count(list, test, _, count) => {
                self.list(list);
                self.test(*test);
                self.expr(*count);
            }
            Test::Different(halves) => {
                for (list, test) in halves {
                    self.list(list);
                    self.test(*test);
                }
            }
        }
    }

    fn list(&mut self, list: &List) {
        list.filter.into_iter().for_each(|filter| self.test(filter));
    }

    fn expr(&mut self, id: ExprId) {
        if !self.exprs.insert(id) {
            return;
        }
        let program = self.program;
        let Some(expr) = program.exprs.get(id.index()) else { return };
        match expr {
            Expr::Number(_) | Expr::Value(..) | Expr::Read(_) => {}
            Expr::Add(a, b)
            | Expr::Sub(a, b)
            | Expr::Mul(a, b)
            | Expr::Div(a, b)
            | Expr::Beyond(a, b)
            | Expr::Larger(a, b)
            | Expr::Smaller(a, b) => {
                self.expr(*a);
                self.expr(*b);
            }
            Expr::RoundUp(a)
            | Expr::RoundDown(a)
            | Expr::RoundUpFrom(a, _)
            | Expr::Before(a, _)
            | Expr::Next(_, _, a) => self.expr(*a),
            Expr::Provided { case, then, otherwise } => {
                self.test(*case);
                self.expr(*then);
                self.expr(*otherwise);
            }
            Expr::FirstRow(row) => {
                self.tables.insert(row.table);
                row.keys.iter().chain(&row.column).chain([&row.limit]).for_each(|key| self.expr(*key));
            }
            Expr::Reading(_, options) => options.iter().for_each(|option| self.expr(*option)),
            Expr::Count(list) => self.list(list),
            Expr::Sum { list, of, .. } | Expr::Largest(list, of) | Expr::Smallest(list, of) => {
                self.list(list);
                self.expr(*of);
            }
            Expr::Lookup(table, keys) => {
                self.tables.insert(*table);
                keys.iter().for_each(|key| self.expr(*key));
            }
            Expr::Formula(_, formula) => {
                if let Some(formula) = program.formulas.get(formula.index()) {
                    self.expr(formula.expr);
                }
            }
        }
    }
}

struct Maker {
    extent: Extent,
    found: BTreeMap<(Span, String, String), Disturbance>,
    /// Conditions whose opposite is asked for: turning the opposite round turns them round.
    under_not: BTreeSet<TestId>,
    /// Expressions that members are counted against: whole numbers.
    counts: BTreeSet<ExprId>,
    sayers: BTreeMap<TestId, String>,
}

/// What is done to which words.
struct Deed {
    part: Part,
    done: String,
    origin: OriginId,
    /// Where it is, if the origin does not say it well.
    at: Option<String>,
}

impl Maker {
    fn add(&mut self, program: &Program, deed: Deed, readers: &Readers, bend: Bend) {
        if self.extent == Extent::Strikes && deed.part == Part::Other {
            return;
        }
        let origin = program.origin(deed.origin);
        let key = (origin.span, deed.done.clone(), origin.words.clone());
        let entry = self.found.entry(key).or_insert_with(|| Disturbance {
            at: deed.at.unwrap_or_else(|| match (&bend, origin.cite.as_str()) {
                (Bend::Test(id, _), "") => self.sayers.get(id).cloned().unwrap_or_default(),
                _ => origin.cite.clone(),
            }),
            done: deed.done,
            words: origin.words.clone(),
            span: origin.span,
            part: deed.part,
            bends: Vec::new(),
            duties: BTreeSet::new(),
            kinds: BTreeSet::new(),
        });
        let twice = entry.bends.iter().any(|known| match (known, &bend) {
            (Bend::Test(a, _), Bend::Test(b, _)) => a == b,
            (Bend::Expr(a, _), Bend::Expr(b, _)) => a == b,
            _ => false,
        });
        if !twice {
            entry.bends.push(bend);
        }
        entry.duties.extend(&readers.duties);
        entry.kinds.extend(&readers.kinds);
    }

    fn other(&mut self, program: &Program, done: &str, id: TestId, readers: &Readers, test: Test) {
        let Some(origin) = program.test_origins.get(id.index()).copied() else { return };
        let deed = Deed { part: Part::Other, done: done.to_string(), origin, at: None };
        self.add(program, deed, readers, Bend::Test(id, test));
    }

    /// The opposite of a condition, by way of a copy.
    fn turned(&mut self, program: &mut Program, readers: &Readers, id: TestId) {
        if self.under_not.contains(&id) || self.extent == Extent::Strikes {
            return;
        }
        let Some(copy) = copied(program, id) else { return };
        self.other(program, "turned round", id, readers, Test::Not(copy));
    }

    fn test(&mut self, program: &mut Program, reach: &Reach, id: TestId) {
        let Some(readers) = reach.tests.get(&id) else { return };
        let Some(test) = program.tests.get(id.index()).cloned() else { return };
        match &test {
            Test::Always | Test::Never | Test::Reading(..) => {}
            Test::Not(inner) => {
                if let Some(inner) = program.tests.get(inner.index()).cloned() {
                    self.other(program, "without its `not`", id, readers, inner);
                }
            }
            Test::All(inner) | Test::Any(inner) => {
                for (at, child) in inner.iter().enumerate() {
                    self.struck(program, id, at, *child, &test, readers);
                }
                if inner.len() > 1 {
                    let (done, swapped) = match &test {
                        Test::All(_) => ("any for all", Test::Any(inner.clone())),
                        _ => ("all for any", Test::All(inner.clone())),
                    };
                    self.other(program, done, id, readers, swapped);
                }
            }
            Test::Choose { then, otherwise, .. } => {
                let branch = |id: &TestId| program.tests.get(id.index()).cloned();
                if let (Some(then), Some(otherwise)) = (branch(then), branch(otherwise)) {
                    self.other(program, "the replacement always", id, readers, then);
                    self.other(program, "the replacement never", id, readers, otherwise);
                }
            }
            Test::In(place, set) => self.values(program, readers, id, place, *set),
            Test::TextIs(..) | Test::IsNone(_) | Test::IsKind(..) => self.turned(program, readers, id),
            Test::CompareConst(place, compare, number) => {
                let strict = Test::CompareConst(place.clone(), stricter(*compare), number.clone());
                self.compared(program, readers, id, *compare, strict);
                let whole = is_date(program, place);
                for (done, shifted) in shifts(number, whole) {
                    let test = Test::CompareConst(place.clone(), *compare, shifted);
                    self.other(program, done, id, readers, test);
                }
            }
            Test::Compare(a, compare, b) => {
                self.compared(program, readers, id, *compare, Test::Compare(*a, stricter(*compare), *b));
            }
            Test::CompareSteps(a, compare, b) => {
                self.compared(program, readers, id, *compare, Test::CompareSteps(*a, stricter(*compare), *b));
            }
            Test::Some(list, inner) => {
                self.other(program, "every for some", id, readers, Test::Every(list.clone(), *inner));
                if list.filter.is_some() {
                    self.other(program, "without its `where`", id, readers, Test::Some(unfiltered(list), *inner));
                }
            }
            Test::Every(list, inner) => {
                self.other(program, "some for every", id, readers, Test::Some(list.clone(), *inner));
                if list.filter.is_some() {
                    self.other(program, "without its `where`", id, readers, Test::Every(unfiltered(list), *inner));
                }
            }
            Test::Count(list, inner, compare, count) => {
                let strict = Test::Count(list.clone(), *inner, stricter(*compare), *count);
                self.compared(program, readers, id, *compare, strict);
            }
            Test::Different(halves) => {
                for at in 0..halves.len() {
                    let mut fewer = halves.to_vec();
                    let (_, half) = fewer.remove(at);
                    let words = program.test_origin(half).words.clone();
                    let done = format!("without its half `{words}`");
                    self.other(program, &done, id, readers, Test::Different(fewer.into()));
                }
            }
        }
    }

    /// A line of a list struck.
    fn struck(&mut self, program: &Program, id: TestId, at: usize, child: TestId, whole: &Test, readers: &Readers) {
        let (inner, same) = match whole {
            Test::All(inner) => (inner, matches!(program.tests.get(child.index()), Some(Test::All(_)))),
            Test::Any(inner) => (inner, matches!(program.tests.get(child.index()), Some(Test::Any(_)))),
            _ => return,
        };
        // A list in a list of the same kind is struck line by line, unless it is an item of its own.
        let (own, around) = (program.test_origin(child), program.test_origin(id));
        if same && own.cite == around.cite {
            return;
        }
        if matches!(program.tests.get(child.index()), None | Some(Test::Always | Test::Never)) {
            return;
        }
        let mut fewer = inner.to_vec();
        fewer.remove(at);
        let test = match whole {
            Test::All(_) => Test::All(fewer.into()),
            _ => Test::Any(fewer.into()),
        };
        let Some(origin) = program.test_origins.get(child.index()).copied() else { return };
        let deed = Deed { part: Part::Condition, done: "struck".to_string(), origin, at: None };
        self.add(program, deed, readers, Bend::Test(id, test));
    }

    /// Equality let in or left out, and the direction turned.
    fn compared(&mut self, program: &mut Program, readers: &Readers, id: TestId, compare: Compare, strict: Test) {
        let done = match compare {
            Compare::AtLeast | Compare::AtMost => "equality left out",
            Compare::MoreThan | Compare::LessThan => "equality let in",
            Compare::Equal => "at least for equal",
        };
        self.other(program, done, id, readers, strict);
        self.turned(program, readers, id);
    }

    fn values(&mut self, program: &mut Program, readers: &Readers, id: TestId, place: &Place, set: ValueSet) {
        let field = program.schema.field(place.object.thing, place.field);
        let FieldType::OneOf(domain) = field.ty else {
            self.turned(program, readers, id);
            return;
        };
        let domain = program.schema.domain(domain).clone();
        let lowest = set.trailing_zeros();
        let highest = ValueSet::BITS - 1 - set.leading_zeros().min(ValueSet::BITS - 1);
        let last = domain.values.len().min(MOST_VALUES).saturating_sub(1);
        let in_a_row = set != 0 && set.count_ones() == highest - lowest + 1;
        if domain.ordered && in_a_row && set.count_ones() > 1 {
            let mut shifted = Vec::new();
            if lowest > 0 {
                shifted.push(("from one step earlier", set | (1 << (lowest - 1))));
                shifted.push(("from one step later", set & !(1 << lowest)));
            }
            if (highest as usize) < last {
                shifted.push(("through one step more", set | (1 << (highest + 1))));
                shifted.push(("through one step less", set & !(1 << highest)));
            }
            for (done, set) in shifted {
                self.other(program, done, id, readers, Test::In(place.clone(), set));
            }
        } else if (2..=4).contains(&set.count_ones()) {
            for (at, value) in domain.values.iter().enumerate().filter(|(at, _)| set & (1 << at) != 0) {
                let done = format!("without `{value}`");
                self.other(program, &done, id, readers, Test::In(place.clone(), set & !(1 << at)));
            }
        }
        self.turned(program, readers, id);
    }

    fn expr(&mut self, program: &mut Program, reach: &Reach, id: ExprId) {
        let Some(readers) = reach.exprs.get(&id) else { return };
        let Some(expr) = program.exprs.get(id.index()).cloned() else { return };
        let mut bent: Vec<(&str, Expr)> = Vec::new();
        match &expr {
            Expr::Number(number) => {
                let whole = self.counts.contains(&id);
                bent.extend(shifts(number, whole).into_iter().map(|(done, number)| (done, Expr::Number(number))));
            }
            Expr::Value(domain, set) => {
                let last = program.schema.domain(*domain).values.len().min(MOST_VALUES).saturating_sub(1);
                let at = set.trailing_zeros() as usize;
                if set.count_ones() == 1 && program.schema.domain(*domain).ordered {
                    if at < last {
                        bent.push(("one step more", Expr::Value(*domain, set << 1)));
                    }
                    if at > 0 {
                        bent.push(("one step less", Expr::Value(*domain, set >> 1)));
                    }
                }
            }
            Expr::Read(_) | Expr::Lookup(..) | Expr::Formula(..) => {}
            Expr::Add(a, b) => bent.push(("minus for plus", Expr::Sub(*a, *b))),
            Expr::Sub(a, b) => bent.push(("plus for minus", Expr::Add(*a, *b))),
            Expr::Mul(..) | Expr::Div(..) | Expr::Before(..) | Expr::FirstRow(_) | Expr::Reading(..) => {}
            Expr::Provided { case, then, otherwise } => {
                let turned = Expr::Provided { case: *case, then: *otherwise, otherwise: *then };
                bent.push(("the other way round", turned));
            }
            Expr::Larger(a, b) => bent.push(("smaller for larger", Expr::Smaller(*a, *b))),
            Expr::Smaller(a, b) => bent.push(("larger for smaller", Expr::Larger(*a, *b))),
            Expr::Next(series, way, of) => {
                let way = match way {
                    Way::Above => Way::AtOrAbove,
                    Way::AtOrAbove => Way::Above,
                    Way::Below => Way::AtOrBelow,
                    Way::AtOrBelow => Way::Below,
                };
                bent.push(("at the value itself the other way", Expr::Next(*series, way, *of)));
            }
            Expr::Beyond(a, _) => bent.extend(program.exprs.get(a.index()).cloned().map(|a| ("without `beyond`", a))),
            Expr::RoundUp(a) => bent.push(("rounded down", Expr::RoundDown(*a))),
            Expr::RoundDown(a) => bent.push(("rounded up", Expr::RoundUp(*a))),
            Expr::RoundUpFrom(a, _) => bent.push(("rounded up", Expr::RoundUp(*a))),
            Expr::Count(list) if list.filter.is_some() => {
                bent.push(("without its `where`", Expr::Count(unfiltered(list))));
            }
            Expr::Sum { list, of, never_negative } if list.filter.is_some() => {
                let all = Expr::Sum { list: unfiltered(list), of: *of, never_negative: *never_negative };
                bent.push(("without its `where`", all));
            }
            Expr::Count(_) | Expr::Sum { .. } => {}
            Expr::Largest(list, of) => bent.push(("smallest for largest", Expr::Smallest(list.clone(), *of))),
            Expr::Smallest(list, of) => bent.push(("largest for smallest", Expr::Largest(list.clone(), *of))),
        }
        let Some(origin) = program.expr_origins.get(id.index()).copied() else { return };
        for (done, expr) in bent {
            let deed = Deed { part: Part::Other, done: done.to_string(), origin, at: None };
            self.add(program, deed, readers, Bend::Expr(id, expr));
        }
    }

    fn table(&mut self, program: &Program, reach: &Reach, id: TableId) {
        let (Some(readers), Some(table)) = (reach.tables.get(&id), program.tables.get(id.index())) else { return };
        let at_table = || Some(format!("table {}", table.address));
        let ordered = table.gives.map(|domain| program.schema.domain(domain));
        for (at, row) in table.rows.iter().enumerate() {
            let deed = Deed { part: Part::Row, done: "struck".to_string(), origin: row.origin, at: at_table() };
            self.add(program, deed, readers, Bend::Row(id, at));
            for (column, cell) in row.cells.iter().enumerate() {
                let shifted = match cell {
                    CellValue::NotPermitted => None,
                    CellValue::Number(number) => {
                        shifts(number, false).into_iter().next().map(|(done, n)| (done, CellValue::Number(n)))
                    }
                    CellValue::Value(set) => ordered.filter(|d| d.ordered && set.count_ones() == 1).map(|domain| {
                        match (set.trailing_zeros() as usize) + 1 < domain.values.len().min(MOST_VALUES) {
                            true => ("one step more", CellValue::Value(set << 1)),
                            false => ("one step less", CellValue::Value(set >> 1)),
                        }
                    }),
                };
                if let Some((done, value)) = shifted {
                    let done = match row.cells.len() {
                        1 => format!("its cell {done}"),
                        _ => format!("its cell {} {done}", column + 1),
                    };
                    let deed = Deed { part: Part::Other, done, origin: row.origin, at: at_table() };
                    self.add(program, deed, readers, Bend::Cell(id, at, column, value));
                }
            }
        }
    }

    fn duty(&mut self, program: &Program, id: DutyId, duty: &Duty, always: TestId) {
        let mut readers = Readers::default();
        readers.join(&Readers { duties: BTreeSet::from([id]), kinds: BTreeSet::new() });
        for (at, relief) in duty.reliefs.iter().enumerate() {
            let done = format!("without {}", relief.label);
            let deed = Deed { part: Part::Exception, done, origin: relief.origin, at: None };
            self.add(program, deed, &readers, Bend::Relief(id, at));
        }
        // A lone condition of the scope is in no list that it could be struck from.
        if !matches!(program.tests.get(duty.applies.index()), None | Some(Test::Always | Test::All(_)))
            && let Some(origin) = program.test_origins.get(duty.applies.index()).copied()
        {
            let deed = Deed { part: Part::Condition, done: "struck".to_string(), origin, at: None };
            self.add(program, deed, &readers, Bend::Applies(id, always));
        }
        let deed = Deed {
            part: Part::Condition,
            done: format!("{} asks nothing", duty.address),
            origin: duty.origin,
            at: None,
        };
        self.add(program, deed, &readers, Bend::Asks(id, always));
    }
}

fn copied(program: &mut Program, id: TestId) -> Option<TestId> {
    let (test, origin) = (program.tests.get(id.index())?.clone(), program.test_origins.get(id.index()).copied()?);
    let copy = TestId(u32::try_from(program.tests.len()).ok()?);
    program.tests.push(test);
    program.test_origins.push(origin);
    Some(copy)
}

fn unfiltered(list: &List) -> List {
    List { filter: None, ..list.clone() }
}

fn stricter(compare: Compare) -> Compare {
    match compare {
        Compare::AtLeast => Compare::MoreThan,
        Compare::MoreThan => Compare::AtLeast,
        Compare::AtMost => Compare::LessThan,
        Compare::LessThan => Compare::AtMost,
        Compare::Equal => Compare::AtLeast,
    }
}

fn is_date(program: &Program, place: &Place) -> bool {
    matches!(program.schema.field(place.object.thing, place.field).ty, FieldType::Date)
}

/// A number a little larger and a little smaller: by a tenth; whole numbers by whole ones, dates and counts by one.
fn shifts(number: &Number, by_one: bool) -> Vec<(&'static str, Number)> {
    let one = Number::count(1);
    let ten = Number::count(10);
    let Some(tenth) = number.abs().div(&ten) else { return Vec::new() };
    let step = match (by_one, number.is_integer()) {
        (true, _) => one,
        (false, true) if number.abs() <= ten => one,
        (false, true) => tenth.ceil(),
        (false, false) => tenth,
    };
    vec![("a step more", number.add(&step)), ("a step less", number.sub(&step))]
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]

    use super::{Extent, all};
    use crate::eval::{self, Choices, Finding};
    use crate::facts::installation::Installation;
    use crate::ir::program::Program;
    use crate::session::{FactsForm, Session};
    use std::collections::BTreeSet;

    const LESSONS: [&str; 3] = [
        include_str!("../../examples/clinic/03-armor-and-green-wire.facts"),
        include_str!("../../examples/clinic/10-box-nobody-opened.facts"),
        include_str!("../../examples/clinic/11-tall-luminaire.facts"),
    ];

    fn opened() -> (Program, Vec<Installation>) {
        let (mut session, _) = Session::shipped();
        let (program, _) = session.open("nec 2017");
        let mut installations = Vec::new();
        for text in LESSONS {
            let (file, _) = session.read_facts("lesson", text.as_bytes().to_vec(), FactsForm::Native);
            installations.push(session.install(&program, &[file]).0);
        }
        (program, installations)
    }

    fn outcomes(program: &Program, installations: &[Installation]) -> Vec<Vec<Finding>> {
        let choices = Choices::none(program);
        installations.iter().map(|facts| eval::inspect(program, facts, &choices)).collect()
    }

    /// Only the duties that a disturbance names may come out otherwise, and afterwards all is as before.
    #[test]
    fn bends_reach_what_they_say_and_are_mended() {
        let (mut program, installations) = opened();
        let disturbances = all(&mut program, Extent::All, &BTreeSet::new(), &BTreeSet::new());
        assert!(disturbances.len() > 500);
        let before = outcomes(&program, &installations);
        let mut reached = 0;
        for disturbance in &disturbances {
            let during = disturbance.during(&mut program, |bent| outcomes(bent, &installations));
            for (was, is) in before.iter().flatten().zip(during.iter().flatten()) {
                assert_eq!(was.duty, is.duty);
                let same = was.outcome.verdict == is.outcome.verdict;
                assert!(same || disturbance.duties.contains(&was.duty), "{} {}", disturbance.words, disturbance.done);
                reached += usize::from(!same);
            }
        }
        assert!(reached > 500);
        assert_eq!(before, outcomes(&program, &installations));
    }
}
