//! What conditions and expressions read: fields, kinds, definitions, tables, series and things.

use crate::ir::program::{
    Expr, ExprId, FormulaId, KindId, List, Object, Place, Program, SeriesId, Step, TableId, Test, TestId,
};
use crate::ir::schema::{FieldId, FieldType, ThingId};
use std::collections::{BTreeMap, BTreeSet};

/// What was read.
#[derive(Debug, Clone, Default)]
pub(super) struct Reads {
    pub(super) fields: BTreeSet<(ThingId, FieldId)>,
    pub(super) kinds: BTreeSet<KindId>,
    pub(super) formulas: BTreeSet<FormulaId>,
    pub(super) tables: BTreeSet<TableId>,
    pub(super) series: BTreeSet<SeriesId>,
    pub(super) things: BTreeSet<ThingId>,
    /// The keys each look-up of a table is given.
    pub(super) lookups: Vec<(TableId, Vec<ExprId>)>,
    /// Tables read from a cell to its row: any row may be the one.
    pub(super) backwards: BTreeSet<TableId>,
}

/// Collects what is read. Kinds and definitions are named, not followed.
pub(super) struct Reader<'p> {
    program: &'p Program,
    pub(super) reads: Reads,
}

impl<'p> Reader<'p> {
    pub(super) fn new(program: &'p Program) -> Reader<'p> {
        Reader { program, reads: Reads::default() }
    }

    /// Everything a book reads.
    pub(super) fn book(program: &'p Program) -> Reads {
        let mut reader = Reader::new(program);
        for kind in &program.kinds {
            reader.test(kind.test, &mut vec![kind.thing]);
        }
        for formula in &program.formulas {
            reader.expr(formula.expr, &mut vec![formula.thing]);
            formula.lines.iter().for_each(|line| reader.expr(line.expr, &mut vec![formula.thing]));
        }
        for duty in &program.duties {
            reader.reads.things.insert(duty.subject);
            let reliefs = duty.reliefs.iter().chain(&duty.waivers).flat_map(|r| [r.case, r.test]);
            let cases = duty.replacements.iter().map(|r| r.case);
            for test in [duty.applies, duty.asks].into_iter().chain(reliefs).chain(cases) {
                reader.test(test, &mut vec![duty.subject]);
            }
        }
        reader.reads
    }

    pub(super) fn test(&mut self, id: TestId, scene: &mut Vec<ThingId>) {
        let program = self.program;
        match program.test(id) {
            Test::Always | Test::Never => {}
            Test::Not(inner) => self.test(*inner, scene),
            Test::All(inner) | Test::Any(inner) => inner.iter().for_each(|t| self.test(*t, scene)),
            Test::Choose { case, then, otherwise } => {
                [case, then, otherwise].into_iter().for_each(|t| self.test(*t, scene));
            }
            Test::In(place, _) | Test::TextIs(place, _) | Test::IsNone(place) | Test::CompareConst(place, ..) => {
                self.place(place, scene);
            }
            Test::Compare(one, _, two) | Test::CompareSteps(one, _, two) => {
                self.expr(*one, scene);
                self.expr(*two, scene);
            }
            Test::IsKind(object, kind) => {
                self.object(object, scene);
                self.reads.kinds.insert(*kind);
            }
            Test::Some(list, test) | Test::Every(list, test) => self.list(list, scene, |r, s| r.test(*test, s)),
            Test::Count(list, test, _, count) => {
                self.list(list, scene, |r, s| r.test(*test, s));
                self.expr(*count, scene);
            }
            Test::Different(halves) => {
                halves.iter().for_each(|(list, test)| self.list(list, scene, |r, s| r.test(*test, s)));
            }
            Test::Reading(_, options) => options.iter().for_each(|t| self.test(*t, scene)),
        }
    }

    pub(super) fn expr(&mut self, id: ExprId, scene: &mut Vec<ThingId>) {
        let program = self.program;
        match program.expr(id) {
            Expr::Number(_) | Expr::Value(..) => {}
            Expr::Read(place) => self.place(place, scene),
            Expr::Add(a, b)
            | Expr::Sub(a, b)
            | Expr::Mul(a, b)
            | Expr::Div(a, b)
            | Expr::Beyond(a, b)
            | Expr::Larger(a, b)
            | Expr::Smaller(a, b) => {
                self.expr(*a, scene);
                self.expr(*b, scene);
            }
            Expr::RoundUp(inner) | Expr::RoundDown(inner) | Expr::RoundUpFrom(inner, _) | Expr::Before(inner, _) => {
                self.expr(*inner, scene);
            }
            Expr::Count(list) => self.list(list, scene, |_, _| {}),
            Expr::Sum { list, of, never_negative: _ } | Expr::Largest(list, of) | Expr::Smallest(list, of) => {
                self.list(list, scene, |r, s| r.expr(*of, s));
            }
            Expr::Lookup(table, keys) => {
                self.reads.tables.insert(*table);
                self.reads.lookups.push((*table, keys.to_vec()));
                keys.iter().for_each(|k| self.expr(*k, scene));
            }
            Expr::Formula(object, formula) => {
                self.object(object, scene);
                self.reads.formulas.insert(*formula);
            }
            Expr::Provided { case, then, otherwise } => {
                self.test(*case, scene);
                self.expr(*then, scene);
                self.expr(*otherwise, scene);
            }
            Expr::Next(series, _, of) => {
                self.reads.series.insert(*series);
                self.expr(*of, scene);
            }
            Expr::FirstRow(row) => {
                self.reads.tables.insert(row.table);
                self.reads.backwards.insert(row.table);
                row.keys.iter().for_each(|k| self.expr(*k, scene));
                row.column.iter().for_each(|c| self.expr(*c, scene));
                self.expr(row.limit, scene);
            }
            Expr::Reading(_, options) => options.iter().for_each(|e| self.expr(*e, scene)),
        }
    }

    fn place(&mut self, place: &Place, scene: &[ThingId]) {
        self.object(&place.object, scene);
        self.reads.fields.insert((place.object.thing, place.field));
        if let Some(FieldType::Inverse(thing, field)) = self.field(place.object.thing, place.field) {
            self.reads.fields.insert((thing, field));
        }
    }

    fn field(&self, thing: ThingId, field: FieldId) -> Option<FieldType> {
        let thing = self.program.schema.things.get(usize::from(thing.0))?;
        thing.fields.get(usize::from(field.0)).map(|f| f.ty.clone())
    }

    /// The fields on the way to an object. Behind an owner the thing is not stored, so a reference is looked for in all.
    fn object(&mut self, object: &Object, scene: &[ThingId]) {
        self.reads.things.insert(object.thing);
        let mut at = scene.get(usize::from(object.var)).copied();
        for step in &object.steps {
            match step {
                Step::Owner => at = at.and_then(|thing| self.owner(thing)),
                Step::Project => at = self.program.schema.thing_named(crate::ir::schema::PROJECT),
                Step::Follow(field) => {
                    let things: Vec<ThingId> = match at {
                        Some(thing) => vec![thing],
                        None => (0..self.program.schema.things.len())
                            .filter_map(|i| u16::try_from(i).ok().map(ThingId))
                            .collect(),
                    };
                    let mut next = None;
                    for thing in things {
                        if let Some(FieldType::Ref(to)) = self.field(thing, *field) {
                            self.reads.fields.insert((thing, *field));
                            next = at.map(|_| to);
                        }
                    }
                    at = next;
                }
            }
        }
    }

    /// The one thing another nests in, if it is one.
    fn owner(&self, inner: ThingId) -> Option<ThingId> {
        let things = &self.program.schema.things;
        let mut owners = things
            .iter()
            .enumerate()
            .filter(|(_, thing)| thing.fields.iter().any(|f| f.ty == FieldType::Many(inner)))
            .filter_map(|(at, _)| u16::try_from(at).ok().map(ThingId));
        let first = owners.next()?;
        owners.next().is_none().then_some(first)
    }

    fn list(&mut self, list: &List, scene: &mut Vec<ThingId>, inside: impl FnOnce(&mut Self, &mut Vec<ThingId>)) {
        self.place(&list.place, scene);
        self.reads.things.insert(list.thing);
        let mut inner: Vec<ThingId> = scene.iter().take(usize::from(list.var)).copied().collect();
        while inner.len() < usize::from(list.var) {
            inner.push(list.thing);
        }
        inner.push(list.thing);
        if let Some(filter) = list.filter {
            self.test(filter, &mut inner);
        }
        inside(self, &mut inner);
    }
}

/// Whether some condition rests, through kinds and definitions too, on a field whose value somebody is named to judge.
pub(super) struct Judged<'p> {
    program: &'p Program,
    kinds: BTreeMap<KindId, bool>,
    formulas: BTreeMap<FormulaId, bool>,
}

impl<'p> Judged<'p> {
    pub(super) fn new(program: &'p Program) -> Judged<'p> {
        Judged { program, kinds: BTreeMap::new(), formulas: BTreeMap::new() }
    }

    pub(super) fn test(&mut self, test: TestId, thing: ThingId) -> bool {
        let mut reader = Reader::new(self.program);
        reader.test(test, &mut vec![thing]);
        self.rests_on(&reader.reads)
    }

    fn rests_on(&mut self, reads: &Reads) -> bool {
        let own = reads.fields.iter().any(|(thing, field)| {
            let thing = self.program.schema.things.get(usize::from(thing.0));
            thing.and_then(|t| t.fields.get(usize::from(field.0))).is_some_and(|f| f.judgment.is_some())
        });
        own || reads.kinds.iter().any(|kind| self.kind(*kind)) || reads.formulas.iter().any(|f| self.formula(*f))
    }

    pub(super) fn kind(&mut self, id: KindId) -> bool {
        if let Some(known) = self.kinds.get(&id) {
            return *known;
        }
        self.kinds.insert(id, false);
        let judged = self.program.kinds.get(id.index()).is_some_and(|kind| self.test(kind.test, kind.thing));
        self.kinds.insert(id, judged);
        judged
    }

    fn formula(&mut self, id: FormulaId) -> bool {
        if let Some(known) = self.formulas.get(&id) {
            return *known;
        }
        self.formulas.insert(id, false);
        let mut reader = Reader::new(self.program);
        if let Some(formula) = self.program.formulas.get(id.index()) {
            reader.expr(formula.expr, &mut vec![formula.thing]);
        }
        let judged = self.rests_on(&reader.reads);
        self.formulas.insert(id, judged);
        judged
    }
}
