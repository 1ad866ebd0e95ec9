//! Small programs and installations, written node by node, for tests of the evaluator.
#![allow(dead_code, clippy::unwrap_used)]

use std::collections::BTreeMap;
use whereas::base::dimension::Dimension;
use whereas::base::number::Number;
use whereas::facts::installation::{Cell, Installation, ListCell, MaybeAbsent, Object, ObjectId, Range, Standing};
use whereas::ir::program as ir;
use whereas::ir::program::*;
use whereas::ir::schema::*;

pub const PROJECT_THING: ThingId = ThingId(0);
pub const BOX: ThingId = ThingId(1);
pub const CIRCUIT: ThingId = ThingId(2);
pub const PART: ThingId = ThingId(3);

/// Fields of a box.
pub mod of_box {
    use whereas::ir::schema::FieldId;
    pub const READY: FieldId = FieldId(0);
    pub const COLOR: FieldId = FieldId(1);
    pub const VOLUME: FieldId = FieldId(2);
    pub const HEIGHT: FieldId = FieldId(3);
    pub const SUITABLE: FieldId = FieldId(4);
    pub const CIRCUIT: FieldId = FieldId(5);
    pub const PARTS: FieldId = FieldId(6);
}

/// Fields of a circuit.
pub mod of_circuit {
    use whereas::ir::schema::FieldId;
    pub const NEW: FieldId = FieldId(0);
    pub const RATING: FieldId = FieldId(1);
    pub const BOXES: FieldId = FieldId(2);
}

/// Fields of a part.
pub mod of_part {
    use whereas::ir::schema::FieldId;
    pub const LISTED: FieldId = FieldId(0);
    pub const LENGTH: FieldId = FieldId(1);
    pub const SIZE: FieldId = FieldId(2);
}

fn field(name: &str, ty: FieldType) -> Field {
    Field {
        name: name.to_string(),
        about: String::new(),
        ty,
        may_be_absent: false,
        never_negative: false,
        at_least: 0,
        judgment: None,
        external: None,
        keyed: None,
    }
}

/// Boxes on circuits, with parts.
pub fn schema() -> Schema {
    let values = |names: &[&str]| names.iter().map(|name| (*name).to_string()).collect::<Vec<_>>();
    let domain = |name: &str, ordered: bool, names: &[&str]| Domain {
        name: name.to_string(),
        about: String::new(),
        ordered,
        values: values(names),
        value_notes: values(&vec![""; names.len()]),
        groups: Vec::new(),
    };
    let thing = |name: &str, fields: Vec<Field>| Thing {
        name: name.to_string(),
        alias: None,
        where_described: false,
        about: String::new(),
        fields,
    };
    let things = vec![
        thing(PROJECT, vec![]),
        thing(
            "box",
            vec![
                field("ready", FieldType::YesNo),
                Field { may_be_absent: true, ..field("color", FieldType::OneOf(DomainId(0))) },
                Field { never_negative: true, ..field("volume", FieldType::Quantity(Dimension::CURRENT)) },
                Field { may_be_absent: true, ..field("height", FieldType::Quantity(Dimension::LENGTH)) },
                Field { judgment: Some("the authority".to_string()), ..field("suitable", FieldType::YesNo) },
                Field { may_be_absent: true, ..field("circuit", FieldType::Ref(CIRCUIT)) },
                field("parts", FieldType::Many(PART)),
            ],
        ),
        thing(
            "circuit",
            vec![
                field("new", FieldType::YesNo),
                Field { never_negative: true, ..field("rating", FieldType::Quantity(Dimension::CURRENT)) },
                field("boxes", FieldType::Inverse(BOX, of_box::CIRCUIT)),
            ],
        ),
        thing(
            "part",
            vec![
                field("listed", FieldType::YesNo),
                Field { never_negative: true, ..field("length", FieldType::Quantity(Dimension::LENGTH)) },
                field("size", FieldType::OneOf(DomainId(1))),
            ],
        ),
    ];
    let thing_names: BTreeMap<String, ThingId> =
        (0u16..).zip(&things).map(|(at, thing)| (thing.name.clone(), ThingId(at))).collect();
    Schema {
        family: "test".to_string(),
        title: "Test".to_string(),
        things,
        domains: vec![
            domain("color", false, &["red", "green", "blue"]),
            domain("size", true, &["small", "middle", "large"]),
        ],
        thing_names,
    }
}

/// A book under construction.
pub struct Book {
    pub program: Program,
}

impl Book {
    pub fn new() -> Book {
        let mut program = Program { schema: schema(), ..Program::default() };
        program.origins.push(Origin::default());
        Book { program }
    }

    fn origin(&mut self, words: String) -> OriginId {
        let id = OriginId(self.program.origins.len() as u32);
        self.program.origins.push(Origin { cite: String::new(), words, ..Origin::default() });
        id
    }

    pub fn test(&mut self, test: Test) -> TestId {
        let id = TestId(self.program.tests.len() as u32);
        let origin = self.origin(format!("test {}", id.0));
        self.program.tests.push(test);
        self.program.test_origins.push(origin);
        id
    }

    pub fn all(&mut self, tests: &[TestId]) -> TestId {
        self.test(Test::All(tests.into()))
    }

    pub fn any(&mut self, tests: &[TestId]) -> TestId {
        self.test(Test::Any(tests.into()))
    }

    pub fn not(&mut self, test: TestId) -> TestId {
        self.test(Test::Not(test))
    }

    pub fn is_in(&mut self, place: Place, set: ValueSet) -> TestId {
        self.test(Test::In(place, set))
    }

    pub fn compare(&mut self, left: ExprId, compare: Compare, right: ExprId) -> TestId {
        self.test(Test::Compare(left, compare, right))
    }

    pub fn expr(&mut self, expr: Expr) -> ExprId {
        let id = ExprId(self.program.exprs.len() as u32);
        let origin = self.origin(format!("expression {}", id.0));
        self.program.exprs.push(expr);
        self.program.expr_origins.push(origin);
        id
    }

    pub fn number(&mut self, number: i64) -> ExprId {
        self.expr(Expr::Number(Number::from(number)))
    }

    pub fn read(&mut self, place: Place) -> ExprId {
        self.expr(Expr::Read(place))
    }

    pub fn kind(&mut self, thing: ThingId, test: TestId) -> KindId {
        let id = KindId(self.program.kinds.len() as u32);
        self.program.kinds.push(Kind {
            name: format!("kind-{}", id.0),
            thing,
            cite: String::new(),
            test,
            origin: OriginId(0),
            readings: Box::default(),
        });
        id
    }

    pub fn formula(&mut self, thing: ThingId, expr: ExprId) -> FormulaId {
        let id = FormulaId(self.program.formulas.len() as u32);
        self.program.formulas.push(Formula { name: format!("formula-{}", id.0), thing, cite: String::new(), expr });
        id
    }

    pub fn reading(&mut self, options: usize) -> ReadingId {
        let id = ReadingId(self.program.readings.len() as u32);
        self.program.readings.push(Reading {
            name: format!("reading-{}", id.0),
            question: String::new(),
            disputed: String::new(),
            options: (0..options).map(|at| (format!("option-{at}"), String::new())).collect(),
            origin: OriginId(0),
        });
        id
    }

    pub fn table(&mut self, table: Table) -> TableId {
        let id = TableId(self.program.tables.len() as u32);
        self.program.tables.push(table);
        id
    }

    pub fn duty(&mut self, applies: TestId, asks: TestId, reliefs: &[TestId]) -> DutyId {
        let id = DutyId(self.program.duties.len() as u32);
        self.program.duties.push(Duty {
            address: format!("1.{}", id.0),
            section: 0,
            title: String::new(),
            name: String::new(),
            about: Vec::new(),
            subject: BOX,
            force: Force::Requires,
            applies,
            asks,
            reliefs: reliefs
                .iter()
                .enumerate()
                .map(|(at, test)| Relief {
                    label: format!("Ex. {}", at + 1),
                    name: String::new(),
                    case: *test,
                    test: *test,
                    origin: OriginId(0),
                })
                .collect(),
            replacements: Vec::new(),
            waivers: Vec::new(),
            readings: Box::default(),
            origin: OriginId(0),
        });
        id
    }

    pub fn always(&mut self) -> TestId {
        self.test(Test::Always)
    }

    /// A duty that applies always.
    pub fn demand(&mut self, asks: TestId) -> DutyId {
        let always = self.always();
        self.duty(always, asks, &[])
    }
}

pub fn here(var: u8, thing: ThingId) -> ir::Object {
    ir::Object { var, steps: Box::default(), thing }
}

pub fn place(var: u8, thing: ThingId, field: FieldId) -> Place {
    Place { object: here(var, thing), field }
}

pub fn box_place(field: FieldId) -> Place {
    place(0, BOX, field)
}

/// The circuit of the box judged.
pub fn its_circuit() -> ir::Object {
    ir::Object { var: 0, steps: Box::new([Step::Follow(of_box::CIRCUIT)]), thing: CIRCUIT }
}

pub fn circuit_place(field: FieldId) -> Place {
    Place { object: its_circuit(), field }
}

/// The parts of the box judged, each bound to variable 1.
pub fn parts(filter: Option<TestId>) -> List {
    List { place: box_place(of_box::PARTS), thing: PART, var: 1, filter }
}

pub fn part_place(field: FieldId) -> Place {
    place(1, PART, field)
}

/// What is known of a set of values: bits, and whether absence is possible.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Known {
    pub set: ValueSet,
    pub absent: bool,
}

/// What is known of a number: bounds in halves, and whether absence is possible. No bounds may cross.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Bounds {
    pub low: Option<i64>,
    pub high: Option<i64>,
    /// The number may be one.
    pub there: bool,
    pub absent: bool,
}

impl Bounds {
    pub const ANY: Bounds = Bounds { low: None, high: None, there: true, absent: false };
    pub fn exactly(number: i64) -> Bounds {
        Bounds { low: Some(number * 2), high: Some(number * 2), there: true, absent: false }
    }
    pub fn between(low: i64, high: i64) -> Bounds {
        Bounds { low: Some(low * 2), high: Some(high * 2), there: true, absent: false }
    }
    pub fn at_least(low: i64) -> Bounds {
        Bounds { low: Some(low * 2), ..Bounds::ANY }
    }
    pub fn or_absent(self) -> Bounds {
        Bounds { absent: true, ..self }
    }
}

#[derive(Debug, Clone)]
pub struct PartDraft {
    pub listed: ValueSet,
    pub length: Bounds,
    pub size: ValueSet,
}

impl PartDraft {
    pub fn unknown() -> PartDraft {
        PartDraft { listed: YES | NO, length: Bounds::ANY, size: 7 }
    }
    pub fn listed(listed: ValueSet) -> PartDraft {
        PartDraft { listed, ..PartDraft::unknown() }
    }
}

#[derive(Debug, Clone)]
pub struct BoxDraft {
    pub ready: ValueSet,
    pub color: Known,
    pub volume: Bounds,
    pub height: Bounds,
    pub suitable: ValueSet,
    /// Bits of the circuits it may be on.
    pub circuit: Known,
    pub parts: Vec<PartDraft>,
    pub open: bool,
}

impl BoxDraft {
    pub fn unknown() -> BoxDraft {
        BoxDraft {
            ready: YES | NO,
            color: Known { set: 7, absent: true },
            volume: Bounds::ANY,
            height: Bounds::ANY.or_absent(),
            suitable: YES | NO,
            circuit: Known { set: 3, absent: true },
            parts: Vec::new(),
            open: true,
        }
    }
}

#[derive(Debug, Clone)]
pub struct CircuitDraft {
    pub new: ValueSet,
    pub rating: Bounds,
}

/// Two circuits and some boxes on them; nothing else exists.
#[derive(Debug, Clone)]
pub struct Draft {
    pub boxes: Vec<BoxDraft>,
    pub circuits: [CircuitDraft; 2],
}

impl Draft {
    pub fn one(of: BoxDraft) -> Draft {
        let circuit = || CircuitDraft { new: YES | NO, rating: Bounds::ANY };
        Draft { boxes: vec![of], circuits: [circuit(), circuit()] }
    }

    /// The installation, with the first box's number.
    pub fn build(&self) -> (Installation, ObjectId) {
        let mut inst =
            Installation { stated: vec![Vec::new(); 4], possible: vec![Vec::new(); 4], ..Installation::default() };
        let push = |inst: &mut Installation, thing: ThingId, standing, name: &str, owner, cells: Vec<Cell>| {
            let id = ObjectId(inst.objects.len() as u32);
            inst.objects.push(Object { thing, standing, name: name.into(), owner, cells: cells.into() });
            if standing == Standing::Stated {
                inst.stated[thing.0 as usize].push(id);
            }
            id
        };
        inst.project = Some(push(&mut inst, PROJECT_THING, Standing::Stated, "", None, vec![]));
        // Objects of which nothing is known come first: their lists refer to one another.
        let first = inst.objects.len() as u32;
        inst.anything = (0..4).map(|at| ObjectId(first + at)).collect();
        let open = |more: ThingId| {
            Cell::List(Box::new(ListCell { more: Some(ObjectId(first + u32::from(more.0))), ..ListCell::default() }))
        };
        let unknown = |count: usize| vec![Cell::Unknown; count];
        push(&mut inst, PROJECT_THING, Standing::Possible, "", None, vec![]);
        let mut cells = unknown(6);
        cells.push(open(PART));
        push(&mut inst, BOX, Standing::Possible, "", None, cells);
        let mut cells = unknown(2);
        cells.push(open(BOX));
        push(&mut inst, CIRCUIT, Standing::Possible, "", None, cells);
        push(&mut inst, PART, Standing::Possible, "", Some(ObjectId(first + 1)), unknown(3));
        let mut circuits = Vec::new();
        for (at, draft) in self.circuits.iter().enumerate() {
            let cells = vec![values(draft.new, false, 3), number(draft.rating), Cell::Unknown];
            circuits.push(push(&mut inst, CIRCUIT, Standing::Stated, &format!("C{at}"), None, cells));
        }
        let mut boxes = Vec::new();
        for (at, draft) in self.boxes.iter().enumerate() {
            let mut cells = vec![
                values(draft.ready, false, 3),
                values(draft.color.set, draft.color.absent, 7),
                number(draft.volume),
                number(draft.height),
                values(draft.suitable, false, 3),
                reference(draft.circuit, &circuits),
            ];
            cells.push(Cell::Unknown);
            let id = push(&mut inst, BOX, Standing::Stated, &format!("B{at}"), None, cells);
            boxes.push(id);
            let mut members = Vec::new();
            for (k, part) in draft.parts.iter().enumerate() {
                let cells = vec![values(part.listed, false, 3), number(part.length), values(part.size, false, 7)];
                members.push(push(&mut inst, PART, Standing::Stated, &format!("P{k}"), Some(id), cells));
            }
            let more = draft.open.then(|| push(&mut inst, PART, Standing::Possible, "", Some(id), unknown(3)));
            inst.possible[PART.0 as usize].extend(more);
            inst.objects[id.index()].cells[6] =
                Cell::List(Box::new(ListCell { members: members.into(), perhaps: Box::default(), more }));
        }
        for (at, id) in circuits.iter().enumerate() {
            let (mut members, mut perhaps) = (Vec::new(), Vec::new());
            for (draft, id) in self.boxes.iter().zip(&boxes) {
                if draft.circuit.set & (1 << at) != 0 {
                    let certain = draft.circuit.set.count_ones() == 1 && !draft.circuit.absent;
                    if certain { members.push(*id) } else { perhaps.push(*id) }
                }
            }
            inst.objects[id.index()].cells[2] =
                Cell::List(Box::new(ListCell { members: members.into(), perhaps: perhaps.into(), more: None }));
        }
        let first_box = boxes[0];
        (inst, first_box)
    }
}

fn maybe(absent: bool) -> MaybeAbsent {
    if absent { MaybeAbsent::Perhaps } else { MaybeAbsent::Present }
}

fn values(set: ValueSet, absent: bool, all: ValueSet) -> Cell {
    match (set, absent) {
        (0, _) => Cell::Absent,
        (set, absent) if set == all && (absent || all == 3) => Cell::Unknown,
        (set, absent) => Cell::Values(set, maybe(absent)),
    }
}

fn number(bounds: Bounds) -> Cell {
    let half = |halves: i64| Number::from_ratio(halves, 2).unwrap();
    match bounds {
        Bounds { there: false, .. } => Cell::Absent,
        Bounds { low: Some(low), high: Some(high), absent: false, .. } if low == high => Cell::Number(half(low)),
        Bounds { low: None, high: None, .. } => Cell::Unknown,
        Bounds { low, high, absent, .. } => {
            Cell::Range(Box::new(Range { low: low.map(half), high: high.map(half), ..Range::default() }), maybe(absent))
        }
    }
}

fn reference(known: Known, circuits: &[ObjectId]) -> Cell {
    let ids: Vec<ObjectId> =
        circuits.iter().enumerate().filter(|(at, _)| known.set & (1 << at) != 0).map(|(_, id)| *id).collect();
    match (ids.as_slice(), known.absent) {
        ([], _) => Cell::Absent,
        ([one], false) => Cell::Object(*one),
        ([_, _], true) => Cell::Unknown,
        (ids, absent) => Cell::OneOfObjects(ids.into(), maybe(absent)),
    }
}
