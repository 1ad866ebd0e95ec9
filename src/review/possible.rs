//! Whether conditions can hold together at all: proofs that they cannot, never that they can.
//!
//! Conditions are taken apart until only fields with bounds are left; whatever cannot be taken apart further stands for
//! itself, and contradicts itself turned round. A cell of the facts is one of the values its type allows, so a contradiction
//! found here holds of every installation. Where a question grows too large the answer is that they can.

use super::span::{Left, Order, turned};
use crate::ir::program::{
    Compare, Expr, ExprId, FirstRow, KindId, List, Object, Place, Program, ReadingId, Step, Test, TestId,
};
use crate::ir::schema::{FieldType, NO, ThingId, YES};
use std::collections::BTreeMap;
use std::fmt::Write;
use std::rc::Rc;

/// The most conditions looked at for one question.
const MOST_STEPS: usize = 1500;

/// Where an object stands: a variable told apart from all others, then steps.
type Spot = Vec<u32>;

/// What the variables of a condition stand for.
#[derive(Debug, Clone)]
pub(super) struct Subject {
    spot: Spot,
    thing: ThingId,
    may_be_absent: bool,
}

/// The variables in scope.
pub(super) type Scene = Rc<Vec<Subject>>;

/// A condition with what its variables stand for, and whether it should hold.
#[derive(Debug, Clone)]
pub(super) struct Wanted {
    scene: Scene,
    what: Part,
    holds: bool,
}

#[derive(Debug, Clone, Copy)]
enum Part {
    Test(TestId),
    /// A reading settled as one of its options.
    Settled(ReadingId, usize),
}

impl Wanted {
    /// What its variables stand for.
    pub(super) fn scene(&self) -> Scene {
        self.scene.clone()
    }
}

impl Subject {
    /// What kind of thing it is.
    pub(super) fn thing(&self) -> ThingId {
        self.thing
    }
}

/// What is known so far.
#[derive(Debug, Clone, Default)]
struct World {
    spots: BTreeMap<(Spot, u16), Left>,
    exprs: BTreeMap<String, Left>,
    orders: BTreeMap<(String, String), Order>,
    others: BTreeMap<String, bool>,
    readings: BTreeMap<ReadingId, usize>,
}

/// Answers questions about one book.
pub(super) struct Reason<'p> {
    pub(super) program: &'p Program,
    steps: usize,
    fresh: u32,
}

impl<'p> Reason<'p> {
    pub(super) fn new(program: &'p Program) -> Reason<'p> {
        Reason { program, steps: 0, fresh: 1 }
    }

    /// The scene of a rule about one thing.
    pub(super) fn scene(&self, thing: ThingId) -> Scene {
        Rc::new(vec![Subject { spot: vec![0], thing, may_be_absent: false }])
    }

    /// The scene within a list: one of its members is looked at.
    pub(super) fn member(&mut self, scene: &Scene, list: &List) -> Scene {
        self.fresh += 1;
        self.member_as(scene, list, self.fresh)
    }

    fn member_as(&self, scene: &Scene, list: &List, number: u32) -> Scene {
        let at = usize::from(list.var);
        let mut subjects: Vec<Subject> = scene.iter().take(at).cloned().collect();
        // A variable between that is not bound here is never read within.
        while subjects.len() < at {
            subjects.extend(scene.first().cloned());
            if scene.is_empty() {
                break;
            }
        }
        subjects.push(Subject { spot: vec![number], thing: list.thing, may_be_absent: false });
        Rc::new(subjects)
    }

    pub(super) fn holds(&self, scene: &Scene, test: TestId) -> Wanted {
        Wanted { scene: scene.clone(), what: Part::Test(test), holds: true }
    }

    pub(super) fn fails(&self, scene: &Scene, test: TestId) -> Wanted {
        Wanted { scene: scene.clone(), what: Part::Test(test), holds: false }
    }

    /// False if no installation can be as wanted.
    pub(super) fn possible(&mut self, wanted: &[Wanted]) -> bool {
        self.steps = 0;
        self.go(wanted.to_vec(), Vec::new(), World::default())
    }

    fn go(&mut self, mut todo: Vec<Wanted>, mut splits: Vec<Vec<Vec<Wanted>>>, mut world: World) -> bool {
        // What was wanted first is looked at first.
        todo.reverse();
        let mut nested: Vec<(Scene, List, Vec<(TestId, bool)>)> = Vec::new();
        while let Some(one) = todo.pop() {
            self.steps += 1;
            if self.steps > MOST_STEPS {
                return true;
            }
            if !self.take(one, &mut todo, &mut splits, &mut nested, &mut world) {
                return false;
            }
        }
        for (scene, list, tests) in nested {
            let inner = self.member(&scene, &list);
            let wanted = tests
                .into_iter()
                .map(|(test, holds)| Wanted { scene: inner.clone(), what: Part::Test(test), holds })
                .collect();
            if !self.go(wanted, Vec::new(), world.clone()) {
                return false;
            }
        }
        let Some(at) = splits.iter().enumerate().min_by_key(|(_, split)| split.len()).map(|(at, _)| at) else {
            return true;
        };
        let split = splits.swap_remove(at);
        split.into_iter().any(|one| self.go(one, splits.clone(), world.clone()))
    }

    /// Takes one condition in. False if it contradicts what is known.
    fn take(
        &mut self,
        one: Wanted,
        todo: &mut Vec<Wanted>,
        splits: &mut Vec<Vec<Vec<Wanted>>>,
        nested: &mut Vec<(Scene, List, Vec<(TestId, bool)>)>,
        world: &mut World,
    ) -> bool {
        let Wanted { scene, what, holds } = one;
        let id = match what {
            Part::Test(id) => id,
            Part::Settled(reading, option) => return *world.readings.entry(reading).or_insert(option) == option,
        };
        let with = |test: TestId, holds: bool| Wanted { scene: scene.clone(), what: Part::Test(test), holds };
        match self.program.test(id) {
            Test::Always => holds,
            Test::Never => !holds,
            Test::Not(inner) => {
                todo.push(with(*inner, !holds));
                true
            }
            Test::All(inner) | Test::Any(inner) => {
                let all = matches!(self.program.test(id), Test::All(_));
                if all == holds {
                    todo.extend(inner.iter().map(|t| with(*t, holds)));
                    return true;
                }
                match inner.as_ref() {
                    [] => false,
                    [only] => {
                        todo.push(with(*only, holds));
                        true
                    }
                    several => {
                        splits.push(several.iter().map(|t| vec![with(*t, holds)]).collect());
                        true
                    }
                }
            }
            Test::Choose { case, then, otherwise } => {
                splits.push(vec![
                    vec![with(*case, true), with(*then, holds)],
                    vec![with(*case, false), with(*otherwise, holds)],
                ]);
                true
            }
            Test::Reading(reading, options) => {
                match world.readings.get(reading).and_then(|at| options.get(*at)) {
                    Some(option) => todo.push(with(*option, holds)),
                    None => splits.push(
                        (options.iter().enumerate())
                            .map(|(at, option)| {
                                let what = Part::Settled(*reading, at);
                                vec![Wanted { scene: scene.clone(), what, holds: true }, with(*option, holds)]
                            })
                            .collect(),
                    ),
                }
                true
            }
            Test::In(place, set) => match self.left(world, &scene, place) {
                Some(left) => left.within(*set, holds),
                None => true,
            },
            Test::TextIs(place, text) => match self.left(world, &scene, place) {
                Some(left) => left.says(text, holds),
                None => true,
            },
            Test::IsNone(place) => {
                let may_be = self.subject(&scene, &place.object).is_none_or(|s| s.may_be_absent);
                match self.left(world, &scene, place) {
                    Some(left) if holds => left.gone(),
                    Some(left) if !may_be => left.present(),
                    Some(_) | None => true,
                }
            }
            Test::CompareConst(place, compare, number) => match self.left(world, &scene, place) {
                Some(left) => left.compared(*compare, number, holds),
                None => true,
            },
            Test::Compare(left, compare, right) => self.compared(world, &scene, *left, *compare, *right, holds),
            Test::CompareSteps(left, compare, right) => self.stepped(world, &scene, *left, *compare, *right, holds),
            Test::IsKind(object, kind) => self.of_kind(&scene, object, *kind, holds, todo),
            Test::Some(list, test) => {
                let key = self.test_key(id, &scene);
                if *world.others.entry(key).or_insert(holds) != holds {
                    return false;
                }
                if holds {
                    let tests = list.filter.into_iter().chain([*test]).map(|t| (t, true)).collect();
                    nested.push((scene, list.clone(), tests));
                }
                true
            }
            Test::Every(list, test) => {
                let key = self.test_key(id, &scene);
                if *world.others.entry(key).or_insert(holds) != holds {
                    return false;
                }
                if !holds && !self.subject(&scene, &list.place.object).is_none_or(|s| s.may_be_absent) {
                    let tests = list.filter.iter().map(|t| (*t, true)).chain([(*test, false)]).collect();
                    nested.push((scene, list.clone(), tests));
                }
                true
            }
            Test::Count(list, test, compare, count) => {
                let certain = !self.subject(&scene, &list.place.object).is_none_or(|s| s.may_be_absent);
                let number = match self.program.expr(*count) {
                    Expr::Number(number) if holds || certain => number.clone(),
                    _ => {
                        let key = self.test_key(id, &scene);
                        return *world.others.entry(key).or_insert(holds) == holds;
                    }
                };
                let key = format!("number {}", self.list_key(list, Some(*test), &scene));
                world.exprs.entry(key).or_insert_with(Left::count).compared(*compare, &number, holds)
            }
            Test::Different(_) => {
                let key = self.test_key(id, &scene);
                *world.others.entry(key).or_insert(holds) == holds
            }
        }
    }

    fn of_kind(&mut self, scene: &Scene, object: &Object, kind: KindId, holds: bool, todo: &mut Vec<Wanted>) -> bool {
        let (Some(subject), Some(kind)) = (self.subject(scene, object), self.program.kinds.get(kind.index())) else {
            return true;
        };
        // What is not there is of no kind, whatever the kind says of it.
        if !holds && subject.may_be_absent {
            return true;
        }
        let inner = Rc::new(vec![Subject { may_be_absent: false, ..subject }]);
        todo.push(Wanted { scene: inner, what: Part::Test(kind.test), holds });
        true
    }

    // -------------------------------------------------------------------------------------------- places

    /// What an object stands for.
    fn subject(&self, scene: &Scene, object: &Object) -> Option<Subject> {
        let schema = &self.program.schema;
        let start = scene.get(usize::from(object.var))?;
        let mut subject = start.clone();
        for step in &object.steps {
            match step {
                Step::Owner => subject.spot.push(1),
                Step::Project => subject.spot = vec![u32::MAX],
                Step::Follow(field) => {
                    let known = schema.things.get(usize::from(subject.thing.0))?.fields.get(usize::from(field.0));
                    // Behind an owner the thing is not tracked, so absence is not ruled out.
                    let certain =
                        subject.spot.first() != Some(&u32::MAX) && !subject.spot.iter().skip(1).any(|s| *s == 1);
                    subject.may_be_absent |= !certain || known.is_none_or(|f| f.may_be_absent);
                    if let Some(FieldType::Ref(thing)) = known.map(|f| f.ty.clone()) {
                        subject.thing = thing;
                    }
                    subject.spot.push(2 + u32::from(field.0));
                }
            }
        }
        subject.thing = object.thing;
        Some(subject)
    }

    /// What is left of a field.
    fn left<'w>(&self, world: &'w mut World, scene: &Scene, place: &Place) -> Option<&'w mut Left> {
        let subject = self.subject(scene, &place.object)?;
        let schema = &self.program.schema;
        let field = schema.things.get(usize::from(subject.thing.0))?.fields.get(usize::from(place.field.0))?;
        let absent = subject.may_be_absent || field.may_be_absent;
        let all = match field.ty {
            FieldType::YesNo => Left::values(YES | NO, absent),
            FieldType::OneOf(domain) => Left::values(schema.domain(domain).all(), absent),
            FieldType::Quantity(_) => Left::numbers(field.never_negative, absent),
            FieldType::Date => Left::numbers(false, absent),
            FieldType::Text => Left::text(absent),
            FieldType::Ref(_) | FieldType::Many(_) | FieldType::ManyRef(_) | FieldType::Inverse(..) => {
                // Only whether it is there can be asked of these.
                Left::numbers(false, absent)
            }
        };
        Some(world.spots.entry((subject.spot, place.field.0)).or_insert(all))
    }

    // -------------------------------------------------------------------------------------------- comparisons

    fn compared(
        &self,
        world: &mut World,
        scene: &Scene,
        left: ExprId,
        compare: Compare,
        right: ExprId,
        holds: bool,
    ) -> bool {
        match (self.program.expr(left), self.program.expr(right)) {
            (Expr::Read(place), Expr::Number(number)) => match self.left(world, scene, place) {
                Some(left) => left.compared(compare, number, holds),
                None => true,
            },
            (Expr::Number(number), Expr::Read(place)) => match self.left(world, scene, place) {
                Some(left) => left.compared(turned(compare), number, holds),
                None => true,
            },
            (_, Expr::Number(number)) => {
                let key = self.expr_key(left, scene);
                let left = world.exprs.entry(key).or_insert_with(|| Left::numbers(false, true));
                left.compared(compare, number, holds)
            }
            _ => self.ordered(world, scene, left, compare, right, holds),
        }
    }

    fn stepped(
        &self,
        world: &mut World,
        scene: &Scene,
        left: ExprId,
        compare: Compare,
        right: ExprId,
        holds: bool,
    ) -> bool {
        if let (Expr::Read(place), Expr::Value(domain, set)) = (self.program.expr(left), self.program.expr(right))
            && set.count_ones() == 1
        {
            let all = self.program.schema.domain(*domain).all();
            let below = set - 1;
            let wanted = match compare {
                Compare::AtLeast => !below,
                Compare::AtMost => below | set,
                Compare::MoreThan => !(below | set),
                Compare::LessThan => below,
                Compare::Equal => *set,
            };
            return match self.left(world, scene, place) {
                Some(left) => left.within(wanted & all, holds),
                None => true,
            };
        }
        self.ordered(world, scene, left, compare, right, holds)
    }

    fn ordered(
        &self,
        world: &mut World,
        scene: &Scene,
        left: ExprId,
        compare: Compare,
        right: ExprId,
        holds: bool,
    ) -> bool {
        let (one, two) = (self.expr_key(left, scene), self.expr_key(right, scene));
        let (key, compare) = if one <= two { ((one, two), compare) } else { ((two, one), turned(compare)) };
        world.orders.entry(key).or_insert_with(Order::any).compared(compare, holds)
    }

    // -------------------------------------------------------------------------------------------- names for what stands for itself

    fn object_key(&self, object: &Object, scene: &Scene) -> String {
        match self.subject(scene, object) {
            Some(subject) => format!("{:?}", subject.spot),
            None => format!("{object:?}"),
        }
    }

    fn place_key(&self, place: &Place, scene: &Scene) -> String {
        format!("{}#{}", self.object_key(&place.object, scene), place.field.0)
    }

    /// A list with what is asked of its members, the members called alike wherever the list stands.
    fn list_key(&self, list: &List, test: Option<TestId>, scene: &Scene) -> String {
        let inner = self.member_as(scene, list, u32::MAX - 1 - u32::from(list.var));
        let mut key = self.place_key(&list.place, scene);
        for test in list.filter.into_iter().chain(test) {
            let _ = write!(key, " where {}", self.test_key(test, &inner));
        }
        key
    }

    fn test_key(&self, id: TestId, scene: &Scene) -> String {
        let of = |tests: &[TestId]| tests.iter().map(|t| self.test_key(*t, scene)).collect::<Vec<_>>().join(", ");
        match self.program.test(id) {
            Test::Always => "always".to_string(),
            Test::Never => "never".to_string(),
            Test::Not(inner) => format!("not ({})", self.test_key(*inner, scene)),
            Test::All(inner) => format!("all ({})", of(inner)),
            Test::Any(inner) => format!("any ({})", of(inner)),
            Test::Choose { case, then, otherwise } => format!("case ({})", of(&[*case, *then, *otherwise])),
            Test::In(place, set) => format!("{} in {set:x}", self.place_key(place, scene)),
            Test::TextIs(place, text) => format!("{} is {text:?}", self.place_key(place, scene)),
            Test::IsNone(place) => format!("{} none", self.place_key(place, scene)),
            Test::Compare(one, compare, two) | Test::CompareSteps(one, compare, two) => {
                format!("{} {compare:?} {}", self.expr_key(*one, scene), self.expr_key(*two, scene))
            }
            Test::CompareConst(place, compare, number) => {
                format!("{} {compare:?} {number:?}", self.place_key(place, scene))
            }
            Test::IsKind(object, kind) => format!("{} kind {}", self.object_key(object, scene), kind.0),
            Test::Some(list, test) => format!("some ({})", self.list_key(list, Some(*test), scene)),
            Test::Every(list, test) => format!("every ({})", self.list_key(list, Some(*test), scene)),
            Test::Count(list, test, compare, count) => format!(
                "count ({}) {compare:?} {}",
                self.list_key(list, Some(*test), scene),
                self.expr_key(*count, scene)
            ),
            Test::Different(halves) => {
                let halves: Vec<String> = halves.iter().map(|(l, t)| self.list_key(l, Some(*t), scene)).collect();
                format!("different ({})", halves.join(", "))
            }
            Test::Reading(reading, options) => format!("reading {} ({})", reading.0, of(options)),
        }
    }

    fn expr_key(&self, id: ExprId, scene: &Scene) -> String {
        let two = |word: &str, one: &ExprId, two: &ExprId| {
            format!("({} {word} {})", self.expr_key(*one, scene), self.expr_key(*two, scene))
        };
        let all = |exprs: &[ExprId]| exprs.iter().map(|e| self.expr_key(*e, scene)).collect::<Vec<_>>().join(", ");
        match self.program.expr(id) {
            Expr::Number(number) => format!("{number:?}"),
            Expr::Value(domain, set) => format!("{}:{set:x}", domain.0),
            Expr::Read(place) => self.place_key(place, scene),
            Expr::Add(a, b) => two("+", a, b),
            Expr::Sub(a, b) => two("-", a, b),
            Expr::Mul(a, b) => two("x", a, b),
            Expr::Div(a, b) => two("/", a, b),
            Expr::Beyond(a, b) => two("beyond", a, b),
            Expr::Larger(a, b) => two("larger", a, b),
            Expr::Smaller(a, b) => two("smaller", a, b),
            Expr::RoundUp(inner) => format!("up ({})", self.expr_key(*inner, scene)),
            Expr::RoundDown(inner) => format!("down ({})", self.expr_key(*inner, scene)),
            Expr::RoundUpFrom(inner, from) => format!("up from {from:?} ({})", self.expr_key(*inner, scene)),
            Expr::Count(list) => format!("count ({})", self.list_key(list, None, scene)),
            Expr::Sum { list, of, never_negative: _ } => self.fold_key("sum", list, *of, scene),
            Expr::Largest(list, of) => self.fold_key("largest", list, *of, scene),
            Expr::Smallest(list, of) => self.fold_key("smallest", list, *of, scene),
            Expr::Lookup(table, keys) => format!("table {} ({})", table.0, all(keys)),
            Expr::Formula(object, formula) => format!("{} formula {}", self.object_key(object, scene), formula.0),
            Expr::Before(inner, _) => format!("before ({})", self.expr_key(*inner, scene)),
            Expr::Provided { case, then, otherwise } => {
                format!("({} if {})", all(&[*then, *otherwise]), self.test_key(*case, scene))
            }
            Expr::Next(series, way, of) => format!("next {} {way:?} ({})", series.0, self.expr_key(*of, scene)),
            Expr::FirstRow(row) => {
                let FirstRow { table, keys, column, compare, limit } = row.as_ref();
                let column = column.map(|c| self.expr_key(c, scene)).unwrap_or_default();
                format!("row {} ({}; {column}) {compare:?} {}", table.0, all(keys), self.expr_key(*limit, scene))
            }
            Expr::Reading(reading, options) => format!("reading {} ({})", reading.0, all(options)),
        }
    }

    fn fold_key(&self, word: &str, list: &List, of: ExprId, scene: &Scene) -> String {
        let inner = self.member_as(scene, list, u32::MAX - 1 - u32::from(list.var));
        format!("{word} ({}) of {}", self.list_key(list, None, scene), self.expr_key(of, &inner))
    }
}
