//! A small vocabulary for tests, and facts read against it.

use super::installation::{Cell, Installation, ListCell, Object, ObjectId};
use crate::base::dimension::Dimension;
use crate::base::source::SourceId;
use crate::diag::{Code, Diagnostics};
use crate::ir::schema::{Domain, DomainId, Field, FieldId, FieldType, Keyed, Schema, Thing, ThingId};

pub(super) const CIRCUIT: ThingId = ThingId(1);
pub(super) const PATH: ThingId = ThingId(2);
pub(super) const PART: ThingId = ThingId(3);
pub(super) const SPACE: ThingId = ThingId(4);
pub(super) const OUTLET: ThingId = ThingId(5);
pub(super) const FEEDER: ThingId = ThingId(6);

fn field(name: &str, ty: FieldType) -> Field {
    Field {
        name: name.to_string(),
        about: format!("the {name}"),
        ty,
        may_be_absent: false,
        never_negative: false,
        at_least: 0,
        judgment: None,
        external: None,
        keyed: None,
    }
}

fn optional(name: &str, ty: FieldType) -> Field {
    Field { may_be_absent: true, ..field(name, ty) }
}

fn never_negative(name: &str, dimension: Dimension) -> Field {
    Field { never_negative: true, ..field(name, FieldType::Quantity(dimension)) }
}

fn keyed(from: &str, through: Option<&str>) -> Field {
    let (name, ty) = match through {
        None => (format!("to-sink from {from}"), FieldType::Quantity(Dimension::LENGTH)),
        Some(through) => (format!("to-sink from {from} through {through}"), FieldType::YesNo),
    };
    let keyed = Keyed { name: "to-sink".to_string(), from: from.to_string(), through: through.map(str::to_string) };
    Field { keyed: Some(keyed), ..optional(&name, ty) }
}

fn thing(name: &str, alias: Option<&str>, fields: Vec<Field>) -> Thing {
    Thing {
        name: name.to_string(),
        alias: alias.map(str::to_string),
        where_described: false,
        about: format!("a {name}"),
        fields,
    }
}

fn domain(name: &str, ordered: bool, values: &[&str], groups: &[(&str, u128)]) -> Domain {
    Domain {
        name: name.to_string(),
        about: String::new(),
        ordered,
        values: values.iter().map(|v| (*v).to_string()).collect(),
        value_notes: vec![String::new(); values.len()],
        groups: groups.iter().map(|(name, set)| ((*name).to_string(), *set)).collect(),
    }
}

pub(super) fn schema() -> Schema {
    use FieldType::{Date, Inverse, Many, ManyRef, OneOf, Quantity, Ref, Text, YesNo};
    let domains = vec![
        domain("material", false, &["copper", "aluminum", "steel"], &[("conductive", 0b011)]),
        domain("wire-size", true, &["14 AWG", "12 AWG", "10 AWG", "8 AWG", "1/0 AWG", "250 kcmil"], &[]),
        domain("trade-size", true, &["trade 1/2", "trade 3/4", "trade 1 1/4"], &[]),
    ];
    let things = vec![
        thing("project", None, vec![field("permit-application", Date), field("place", Text)]),
        thing(
            "branch-circuit",
            Some("circuit"),
            vec![
                field("serves", Ref(SPACE)),
                never_negative("overcurrent", Dimension::CURRENT),
                Field { at_least: 1, ..field("paths", Many(PATH)) },
                field("also-serves", ManyRef(SPACE)),
            ],
        ),
        thing(
            "path",
            None,
            vec![
                field("material", OneOf(DomainId(0))),
                optional("bond", OneOf(DomainId(0))),
                field("size", OneOf(DomainId(1))),
                field("insulated", YesNo),
                optional("runs-in", Ref(PATH)),
                never_negative("length", Dimension::LENGTH),
                field("parts", Many(PART)),
            ],
        ),
        thing("part", None, vec![field("trade-size", OneOf(DomainId(2))), field("bend", Quantity(Dimension::ANGLE))]),
        thing(
            "space",
            None,
            vec![
                field("fed-by", Inverse(CIRCUIT, FieldId(0))),
                field("area", Quantity(Dimension::AREA)),
                optional("note", Text),
                field("also-fed-by", Inverse(CIRCUIT, FieldId(3))),
            ],
        ),
        thing(
            "outlet",
            None,
            vec![
                optional("height", Quantity(Dimension::LENGTH)),
                field("count", Quantity(Dimension::COUNT)),
                field("fill", Quantity(Dimension::RATIO)),
                field("ambient", Quantity(Dimension::TEMPERATURE)),
                optional("installed", Date),
                keyed("outside-edge", None),
                keyed("outside-edge", Some("door")),
                keyed("outside-edge", Some("wall")),
                keyed("bowl-edge", None),
                keyed("bowl-edge", Some("door")),
                keyed("bowl-edge", Some("wall")),
            ],
        ),
        thing("feeder", None, vec![field("rating", Quantity(Dimension::CURRENT))]),
    ];
    let mut schema =
        Schema { family: "demo".to_string(), title: "Demo code".to_string(), things, domains, ..Schema::default() };
    for (at, thing) in schema.things.iter().enumerate() {
        for name in std::iter::once(&thing.name).chain(&thing.alias) {
            schema.thing_names.insert(name.clone(), ThingId(u16::try_from(at).unwrap()));
        }
    }
    schema
}

/// Facts in native notation.
pub(super) fn stated(text: &str) -> (Installation, Diagnostics) {
    let (parsed, mut found) = crate::syntax::parse_facts(SourceId(0), text);
    let (installation, more) = super::install(&schema(), &[&parsed.tree]);
    found.extend(more);
    (installation, found)
}

/// Facts without a mistake.
pub(super) fn good(text: &str) -> Installation {
    let (installation, found) = stated(text);
    assert!(found.is_empty(), "{text}\n{found:#?}");
    installation
}

/// Facts in JSON.
pub(super) fn from_json(text: &str) -> (Installation, Diagnostics) {
    let (file, mut found) = super::read_json(SourceId(0), text, &crate::syntax::parse_fact_value);
    let (installation, more) = super::install(&schema(), &[&file]);
    found.extend(more);
    (installation, found)
}

pub(super) fn codes(found: &Diagnostics) -> Vec<Code> {
    found.iter().map(|one| one.code).collect()
}

pub(super) fn find<'a>(installation: &'a Installation, name: &str) -> (ObjectId, &'a Object) {
    let at = installation.objects.iter().position(|object| &*object.name == name);
    let at = at.unwrap_or_else(|| panic!("no {name}"));
    (ObjectId(u32::try_from(at).unwrap()), &installation.objects[at])
}

pub(super) fn cell<'a>(installation: &'a Installation, object: &str, field: &str) -> &'a Cell {
    let object = find(installation, object).1;
    let at = schema().field_named(object.thing, field).unwrap_or_else(|| panic!("no {field}"));
    &object.cells[usize::from(at.0)]
}

pub(super) fn list<'a>(installation: &'a Installation, object: &str, field: &str) -> &'a ListCell {
    match cell(installation, object, field) {
        Cell::List(list) => list,
        other => panic!("{other:?}"),
    }
}
