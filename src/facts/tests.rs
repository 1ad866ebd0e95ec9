//! Values, names, possible objects, computed lists, every diagnostic, JSON and forms.

use super::installation::{Cell, MaybeAbsent, Range, Standing};
use super::testing::{
    CIRCUIT, FEEDER, OUTLET, PART, PATH, SPACE, cell, codes, find, from_json, good, list, schema, stated,
};
use crate::base::date::Date;
use crate::base::number::Number;
use crate::base::source::SourceId;
use crate::diag::{Code, Severity};
use crate::ir::schema::{NO, YES};
use proptest::prelude::*;

fn decimal(text: &str) -> Number {
    Number::parse_decimal(text).unwrap()
}

fn outlet(line: &str) -> super::installation::Installation {
    good(&format!("outlet O1 {{ {line} }}\n"))
}

fn day(text: &str) -> Number {
    Number::from(Date::parse_iso(text).unwrap().days_since_epoch())
}

fn between(low: Option<Number>, above_low: bool, high: Option<Number>, below_high: bool) -> Cell {
    Cell::Range(Box::new(Range { low, above_low, high, below_high }), MaybeAbsent::Present)
}

#[test]
fn quantities_are_exact_in_base_units() {
    // 1 ft = 0.3048 m and 1 in = 25.4 mm exactly (international yard and pound agreement, 1959).
    for (written, metres) in [
        ("7 1/2 ft", "2.286"),
        ("6 ft 6 in", "1.9812"),
        ("3/4 in", "0.01905"),
        ("2.3 m", "2.3"),
        ("-6 ft 6 in", "-1.9812"),
    ] {
        assert_eq!(
            cell(&outlet(&format!("height: {written}")), "O1", "height"),
            &Cell::Number(decimal(metres)),
            "{written}"
        );
    }
    assert_eq!(cell(&outlet("fill: 40 %"), "O1", "fill"), &Cell::Number(decimal("0.4")));
    assert_eq!(cell(&outlet("fill: 0.4"), "O1", "fill"), &Cell::Number(decimal("0.4")));
    assert_eq!(cell(&outlet("count: 3"), "O1", "count"), &Cell::Number(Number::from(3)));
    assert_eq!(cell(&outlet("ambient: 86 degF"), "O1", "ambient"), &Cell::Number(Number::from(30)));
}

#[test]
fn partial_numbers_become_ranges() {
    let circuit = |value: &str| {
        let facts = good(&format!("branch-circuit B {{ overcurrent: {value} }}\n"));
        cell(&facts, "B", "overcurrent").clone()
    };
    let amps = |n: i64| Some(Number::from(n));
    assert_eq!(circuit("at least 15 A and at most 20 A"), between(amps(15), false, amps(20), false));
    assert_eq!(circuit("15 A or 20 A"), between(amps(15), false, amps(20), false));
    assert_eq!(circuit("15 A through 20 A"), between(amps(15), false, amps(20), false));
    assert_eq!(circuit("20 A or 20 A"), Cell::Number(Number::from(20)));
    assert_eq!(circuit("more than 15 A"), between(amps(15), true, None, false));
    assert_eq!(circuit("less than 20 A"), between(amps(0), false, amps(20), true));
    assert_eq!(circuit("at least 20 A and at most 20 A"), Cell::Number(Number::from(20)));
    assert_eq!(circuit("unknown"), Cell::Unknown);
}

#[test]
fn before_excludes_the_day_and_through_includes_it() {
    let installed = |value: &str| cell(&outlet(&format!("installed: {value}")), "O1", "installed").clone();
    assert_eq!(installed("2021-09-15"), Cell::Number(day("2021-09-15")));
    assert_eq!(installed("before 2014-01-01"), between(None, false, Some(day("2013-12-31")), false));
    assert_eq!(installed("through 2014-01-01"), between(None, false, Some(day("2014-01-01")), false));
    assert_eq!(installed("after 2014-01-01"), between(Some(day("2014-01-02")), false, None, false));
    let both = installed("2014-01-01 through 2014-03-31");
    assert_eq!(both, between(Some(day("2014-01-01")), false, Some(day("2014-03-31")), false));
    assert_eq!(installed("after 2014-01-01 and before 2014-01-03"), Cell::Number(day("2014-01-02")));
    assert_eq!(installed("none"), Cell::Absent);
}

#[test]
fn choices_and_scales() {
    let path = |field: &str, value: &str| {
        let facts = good(&format!("branch-circuit B {{ paths {{ P {{ {field}: {value} }} }} }}\n"));
        cell(&facts, "P", field).clone()
    };
    let known = |set| Cell::Values(set, MaybeAbsent::Present);
    assert_eq!(path("insulated", "yes"), known(YES));
    assert_eq!(path("insulated", "no"), known(NO));
    assert_eq!(path("material", "copper or steel"), known(0b101));
    assert_eq!(path("material", "not steel"), known(0b011));
    assert_eq!(path("material", "conductive"), known(0b011));
    assert_eq!(path("bond", "not steel"), Cell::Values(0b011, MaybeAbsent::Perhaps));
    assert_eq!(path("bond", "copper or none"), Cell::Values(0b001, MaybeAbsent::Perhaps));
    assert_eq!(path("bond", "not none"), known(0b111));
    assert_eq!(path("bond", "none"), Cell::Absent);
    assert_eq!(path("size", "12 AWG"), known(0b10));
    assert_eq!(path("size", "1/0 AWG"), known(0b1_0000));
    assert_eq!(path("size", "at least 12 AWG"), known(0b11_1110));
    assert_eq!(path("size", "more than 12 AWG and at most 1/0 AWG"), known(0b1_1100));
    assert_eq!(path("size", "12 AWG through 8 AWG"), known(0b1110));
    let facts = good("branch-circuit B { paths { P { parts { X { trade-size: trade 1 1/4 } } } } }\n");
    assert_eq!(cell(&facts, "X", "trade-size"), &known(0b100));
}

#[test]
fn keyed_measurements_fill_flat_fields() {
    let facts = outlet("to-sink: 2 ft from outside-edge, at least 3 ft from bowl-edge through door");
    let is = |set| Cell::Values(set, MaybeAbsent::Present);
    assert_eq!(cell(&facts, "O1", "to-sink from outside-edge"), &Cell::Number(decimal("0.6096")));
    assert_eq!(cell(&facts, "O1", "to-sink from outside-edge through door"), &Cell::Unknown);
    assert_eq!(cell(&facts, "O1", "to-sink from bowl-edge"), &between(Some(decimal("0.9144")), false, None, false));
    assert_eq!(cell(&facts, "O1", "to-sink from bowl-edge through door"), &is(YES));
    assert_eq!(cell(&facts, "O1", "to-sink from bowl-edge through wall"), &is(NO));
    let facts = outlet("to-sink: 2 ft from outside-edge through door or wall, 1 ft from bowl-edge through nothing");
    assert_eq!(cell(&facts, "O1", "to-sink from outside-edge through door"), &is(YES));
    assert_eq!(cell(&facts, "O1", "to-sink from outside-edge through wall"), &is(YES));
    assert_eq!(cell(&facts, "O1", "to-sink from bowl-edge through door"), &is(NO));
    let facts = outlet("to-sink: none");
    assert_eq!(cell(&facts, "O1", "to-sink from bowl-edge"), &Cell::Absent);
    assert_eq!(cell(&facts, "O1", "to-sink from bowl-edge through door"), &Cell::Unknown);
}

#[test]
fn references_lead_forward_inward_and_outward() {
    let facts = good(
        "project \"Alder House\" { place: elsewhere }
branch-circuit B1 { serves: hall, paths { armor { }, green { runs-in: armor } } }
circuit B2 { serves: hall or 101, paths { armor { }, green { runs-in: armor } } }
circuit B3 { serves { area: 10 m2 } }
space hall { note: \"none\" }
space 101 { note: none }
",
    );
    let hall = find(&facts, "hall").0;
    assert_eq!(cell(&facts, "B1", "serves"), &Cell::Object(hall));
    assert_eq!(
        cell(&facts, "B2", "serves"),
        &Cell::OneOfObjects([hall, find(&facts, "101").0].into(), MaybeAbsent::Present)
    );
    assert_eq!(cell(&facts, "hall", "note"), &Cell::Text("none".into()));
    assert_eq!(cell(&facts, "101", "note"), &Cell::Absent);
    for paths in facts.stated[usize::from(PATH.0)].chunks(2) {
        assert_eq!(facts.object(paths[1]).cells[4], Cell::Object(paths[0]));
    }
    let Cell::Object(inline) = cell(&facts, "B3", "serves") else { panic!() };
    assert_eq!(facts.full_name(&schema(), *inline), "space of B3");
    assert_eq!(facts.title, "Alder House");
    assert_eq!(facts.stated[usize::from(SPACE.0)].len(), 3);
}

#[test]
fn silence_leaves_possible_objects() {
    let facts = good("branch-circuit B { paths { P { } } }\nfeeder: none\nspace S { }\nand maybe more space\n");
    assert_eq!(list(&facts, "B", "paths").more, None);
    let parts = list(&facts, "P", "parts");
    let part = parts.more.unwrap();
    assert!(parts.members.is_empty());
    assert_eq!(facts.object(part).standing, Standing::Possible);
    assert_eq!(facts.object(part).owner, Some(find(&facts, "P").0));
    let possible = |thing: crate::ir::schema::ThingId| facts.possible[usize::from(thing.0)].len();
    assert_eq!((possible(CIRCUIT), possible(PATH), possible(PART)), (0, 0, 1));
    assert_eq!((possible(FEEDER), possible(SPACE), possible(OUTLET)), (0, 1, 1));

    let facts = good("branch-circuit B { paths { and maybe more } }\n");
    let path = list(&facts, "B", "paths").more.unwrap();
    let Cell::List(parts) = &facts.object(path).cells[6] else { panic!() };
    assert_eq!(facts.object(parts.more.unwrap()).owner, Some(path));

    let facts = good("");
    let chain = facts.possible[usize::from(PART.0)][0];
    assert_eq!(facts.full_name(&schema(), chain), "part of path of branch-circuit");
    assert!(facts.project.is_some());
    let anything = facts.anything[usize::from(PART.0)];
    assert_eq!(facts.object(anything).owner, Some(facts.anything[usize::from(PATH.0)]));
}

#[test]
fn nested_things_may_stand_alone_with_an_unknown_owner() {
    let facts = good("path P { material: copper }\n");
    assert_eq!(find(&facts, "P").1.owner, Some(facts.anything[usize::from(CIRCUIT.0)]));
}

#[test]
fn computed_lists_hold_certain_and_possible_members() {
    let facts = good(
        "circuit A { serves: S, also-serves: S, T }
circuit B { }
circuit C { serves: S or T, also-serves { T { }\n and maybe more\n } }
circuit D { serves: T, also-serves: none }
space S { }
space T { }
",
    );
    let id = |name: &str| find(&facts, name).0;
    let (s, t) = (list(&facts, "S", "fed-by"), list(&facts, "T", "fed-by"));
    assert_eq!((&*s.members, &*s.perhaps, s.more), (&[id("A")][..], &[id("B"), id("C")][..], None));
    assert_eq!((&*t.members, &*t.perhaps), (&[id("D")][..], &[id("B"), id("C")][..]));
    let (s, t) = (list(&facts, "S", "also-fed-by"), list(&facts, "T", "also-fed-by"));
    assert_eq!((&*s.members, &*s.perhaps), (&[id("A")][..], &[id("B"), id("C")][..]));
    assert_eq!((&*t.members, &*t.perhaps), (&[id("A"), id("C")][..], &[id("B")][..]));
    let facts = good("space S { }\n");
    assert_eq!(list(&facts, "S", "fed-by").more, Some(facts.possible[usize::from(CIRCUIT.0)][0]));
}

#[test]
fn each_mistake_has_its_code() {
    for (text, code) in [
        ("outlets O { }", Code::FactUnknownThing),
        ("outlet O { hight: 4 ft }", Code::FactUnknownField),
        ("outlet O { height: 4 A }", Code::FactWrongType),
        ("outlet O { height: tall }", Code::FactWrongType),
        ("outlet O { height: 4 }", Code::MissingUnit),
        ("outlet O { height: 4 feets }", Code::UnknownUnit),
        ("outlet O { height: not 4 ft }", Code::FactWrongType),
        ("outlet O { installed: 2021-02-30 }", Code::BadDate),
        ("outlet O { to-sink: 4 ft }", Code::FactWrongType),
        ("outlet O { to-sink: 4 ft from outside-eges }", Code::FactWrongType),
        ("outlet O { to-sink: 4 ft from bowl-edge through dor }", Code::FactWrongType),
        ("outlet O { to-sink: 4 ft from bowl-edge, 5 ft from bowl-edge }", Code::FactFieldTwice),
        ("outlet O { }\noutlet O { }", Code::FactNameTwice),
        ("circuit B { paths { P { }, P { } } }", Code::FactNameTwice),
        ("circuit B { serves: S, also-serves: S, S }\nspace S { }", Code::FactNameTwice),
        ("circuit B { serves: kitchen }", Code::DanglingReference),
        ("circuit B { serves: O }\noutlet O { }", Code::DanglingReference),
        ("circuit B { overcurrent: none }", Code::NoneNotAllowed),
        ("circuit B { overcurrent: -4 A }", Code::NegativeValue),
        ("outlet O { count: 1, count: 2 }", Code::FactFieldTwice),
        ("outlet O { height: at least 5 ft and at most 4 ft }", Code::NoValueLeft),
        ("outlet O { height: 5 ft through 4 ft }", Code::NoValueLeft),
        ("circuit B { paths { P { insulated: not yes or no } } }", Code::NoValueLeft),
        ("circuit B { paths { P { size: more than 250 kcmil } } }", Code::NoValueLeft),
        ("circuit B { paths { P { material: at least copper } } }", Code::FactWrongType),
        ("circuit B { paths { P { material: coper } } }", Code::FactWrongType),
        ("feeder: none\nfeeder F { }", Code::NoValueLeft),
        ("circuit B { paths: 4 ft }", Code::FactListMismatch),
        ("circuit B { paths { material: copper } }", Code::FactListMismatch),
        ("circuit B { overcurrent { } }", Code::FactListMismatch),
        ("circuit B { overcurrent: 15 A, 20 A }", Code::FactListMismatch),
        ("space S { fed-by: B }", Code::FactListMismatch),
        ("outlet O { and maybe more }", Code::FactListMismatch),
        ("circuit B { paths { } }", Code::TooFewMembers),
        ("circuit B { paths: none }", Code::TooFewMembers),
        ("circuit B { paths { P { runs-in: P } } }", Code::ReferenceCycle),
        ("circuit B { paths { P { runs-in: Q }, Q { runs-in: P }, R { runs-in: Q } } }", Code::ReferenceCycle),
    ] {
        let (_, found) = stated(&format!("{text}\n"));
        assert_eq!(codes(&found), [code], "{text}\n{found:#?}");
        let one = found.iter().next().unwrap();
        assert!(one.place().is_some() && one.help.is_some(), "{one:?}");
        assert_eq!(one.severity == Severity::Warning, code == Code::ReferenceCycle);
        if matches!(code, Code::FactNameTwice | Code::FactFieldTwice) && !text.contains("S, S") {
            assert_eq!(one.labels.len(), 2, "{one:?}");
        }
    }
}

#[test]
fn all_mistakes_are_told_and_good_parts_kept() {
    let (facts, found) = stated("outlet O { hight: 4 ft, height: 4 A, count: 3 }\nroom R { }\n");
    assert_eq!(codes(&found).len(), 3, "{found:#?}");
    assert_eq!(cell(&facts, "O", "count"), &Cell::Number(Number::from(3)));
    assert_eq!(cell(&facts, "O", "height"), &Cell::Unknown);
    assert!(found.iter().any(|one| one.help.as_deref() == Some("did you mean `height`?")), "{found:#?}");
}

#[test]
fn things_that_nest_in_themselves_end() {
    let mut schema = schema();
    let nested =
        |name: &str, ty| crate::ir::schema::Field { name: name.to_string(), ty, ..schema.things[3].fields[0].clone() };
    let fields = [
        nested("inner", crate::ir::schema::FieldType::Many(PART)),
        nested("whole", crate::ir::schema::FieldType::Many(PATH)),
        nested("twin", crate::ir::schema::FieldType::Ref(PART)),
        nested("twins", crate::ir::schema::FieldType::Inverse(PART, crate::ir::schema::FieldId(4))),
    ];
    schema.things[3].fields.extend(fields);
    let file =
        crate::syntax::parse_facts(SourceId(0), "circuit B { }\npart P { inner { P { inner { P { twin: P } } } } }\n")
            .0
            .tree;
    let (facts, found) = super::install(&schema, &[&file]);
    assert_eq!(codes(&found), [Code::ReferenceCycle], "{found:#?}");
    for at in 0..facts.objects.len() {
        assert!(!facts.full_name(&schema, super::installation::ObjectId(u32::try_from(at).unwrap())).is_empty());
    }
}

#[test]
fn many_mistakes_and_many_things_take_no_long_time() {
    let mut text = String::new();
    for at in 0..3000 {
        text.push_str(&format!(
            "circuit B{at} {{ serves: Q{at}, paths {{ P {{ size: 12 AWG }} }} }}\nspace S{at} {{ }}\n"
        ));
    }
    let started = std::time::Instant::now();
    let (facts, found) = stated(&text);
    assert_eq!(found.len(), 3000);
    assert_eq!(facts.stated[usize::from(SPACE.0)].len(), 3000);
    // Some two seconds on a slow machine without optimisation; quadratic work would take minutes.
    assert!(started.elapsed().as_secs() < 60);
}

#[test]
fn several_files_are_one_installation() {
    let read = |text: &str| crate::syntax::parse_facts(SourceId(0), text).0.tree;
    let (one, two) = (
        read("project \"P\" { place: here }\ncircuit B { serves: S }\n"),
        read("project \"P\" { permit-application: 2020-01-01 }\nspace S { }\n"),
    );
    let (facts, found) = super::install(&schema(), &[&one, &two]);
    assert!(found.is_empty(), "{found:#?}");
    let project = facts.object(facts.project.unwrap());
    assert_eq!(project.cells[1], Cell::Text("here".into()));
    assert_eq!(cell(&facts, "B", "serves"), &Cell::Object(find(&facts, "S").0));
}

#[test]
fn json_states_the_same() {
    let native = good(
        "project \"Alder House\" { permit-application: 2021-09-15, place: \"Lindal\" }
circuit B { serves: S, overcurrent: 20 A, paths { P { material: copper or steel, insulated: yes, length: 7.5 ft }\n and maybe more } }
feeder: none
space S { note: unknown, area: at least 10 m2 }
outlet O { count: 3, to-sink: 2 ft from bowl-edge through door }
",
    );
    let (json, found) = from_json(
        r#"{
  "project": { "name": "Alder House", "permit-application": "2021-09-15", "place": "\"Lindal\"" },
  "circuit": { "B": {
      "serves": "S", "overcurrent": "20 A",
      "paths": { "P": { "material": "copper or steel", "insulated": true, "length": { "value": 7.5, "unit": "ft" } },
                 "and maybe more": true } } },
  "feeder": "none",
  "space": [ { "name": "S", "note": null, "area": "at least 10 m2" } ],
  "outlet": { "O": { "count": 3, "to-sink": "2 ft from bowl-edge through door" } }
}"#,
    );
    assert!(found.is_empty(), "{found:#?}");
    assert_eq!(format!("{native:?}"), format!("{json:?}"));
    let (json, found) = from_json(
        r#"{"circuit": {"members": [{"name": "A", "also-serves": ["S"]}], "and maybe more": true}, "space": {"S": {}}}"#,
    );
    assert!(found.is_empty(), "{found:#?}");
    assert_eq!(json.possible[usize::from(CIRCUIT.0)].len(), 1);
    assert_eq!(&*list(&json, "A", "also-serves").members, &[find(&json, "S").0]);
}

#[test]
fn json_numbers_are_taken_from_their_digits() {
    let (facts, found) = from_json(r#"{"outlet": {"O": {"count": 12345678901234567.1, "fill": 1e-1}}}"#);
    assert!(found.is_empty(), "{found:#?}");
    assert_eq!(cell(&facts, "O", "count"), &Cell::Number(decimal("12345678901234567.1")));
    assert_eq!(cell(&facts, "O", "fill"), &Cell::Number(decimal("0.1")));
}

#[test]
fn json_mistakes_show_their_place() {
    let place = |text: &str| {
        let (_, found) = from_json(text);
        let one = found.iter().next().unwrap_or_else(|| panic!("{text}")).clone();
        let span = one.place().unwrap();
        (one.code, text[span.start as usize..span.end as usize].to_string())
    };
    assert_eq!(place(r#"{ "outlet": { "O1": { "height": "4 ft", } } }"#), (Code::BadJson, "}".to_string()));
    assert_eq!(place(r#"{"outlet": {"O": {"height": "4 A"}}}"#), (Code::FactWrongType, "4 A".to_string()));
    assert_eq!(place(r#"{"outlet": {"O": {"hight": "4 ft"}}}"#), (Code::FactUnknownField, r#""hight""#.to_string()));
    assert_eq!(place(r#"{"outlet": {"O": {"height": 4}}}"#), (Code::MissingUnit, "4".to_string()));
    assert_eq!(
        place(r#"{"outlet": {"O": {"count": 4, "count": 5}}}"#),
        (Code::FactFieldTwice, r#""count""#.to_string())
    );
    assert_eq!(place(r#"{"outlet": {"O": {}}, "outlet": {}}"#), (Code::BadJson, r#""outlet""#.to_string()));
    assert_eq!(place(r#"{"outlet": 4}"#), (Code::BadJson, "4".to_string()));
    assert_eq!(place(r#"{"outlet": {"O": 4}}"#), (Code::FactListMismatch, "4".to_string()));
    assert_eq!(place("[]"), (Code::BadJson, "[]".to_string()));
    assert_eq!(place("{\n  \"ü\": nul }").0, Code::BadJson);
    assert_eq!(place("").0, Code::BadJson);
}

#[test]
fn deep_json_is_refused_not_followed() {
    let nested =
        |open: &str, close: &str| format!("{{\"outlet\": {}1{}}}", open.repeat(100_000), close.repeat(100_000));
    for text in [
        nested("{\"a\":", "}"),
        nested("[", "]"),
        nested("{\"members\":", "}"),
        nested("{\"members\":[", "]}"),
        "[".repeat(100_000),
    ] {
        let (_, found) = from_json(&text);
        assert!(found.has_errors());
    }
}

#[test]
fn forms_read_as_facts_without_a_mistake() {
    let schema = schema();
    let text = super::form(&schema, None);
    let facts = good(&text);
    assert_eq!(facts.stated[usize::from(PART.0)].len(), 1, "{text}");
    assert!(text.contains("height: unknown"), "{text}");
    assert!(text.contains("such as 7 1/2 ft"), "{text}");
    for at in 0..schema.things.len() {
        good(&super::form(&schema, Some(crate::ir::schema::ThingId(u16::try_from(at).unwrap()))));
    }
    let told = super::describe(&schema, None);
    for word in [
        "branch-circuit (also: circuit)",
        "14 AWG < 12 AWG",
        "conductive = copper, aluminum",
        "never negative",
        "may be none",
    ] {
        assert!(told.contains(word), "{word}\n{told}");
    }
    assert!(super::describe(&schema, Some(FEEDER)).starts_with("feeder"));
}

#[test]
fn the_json_schema_names_every_field() {
    let schema = schema();
    let json = super::json_schema(&schema, None);
    assert_eq!(json["$schema"], "https://json-schema.org/draft/2020-12/schema");
    for thing in &schema.things {
        for field in &thing.fields {
            let property = &json["$defs"][&thing.name]["properties"][&field.name];
            let computed = matches!(field.ty, crate::ir::schema::FieldType::Inverse(..));
            assert_eq!(property.is_object(), !computed, "{}", field.name);
        }
    }
    let material = json["$defs"]["path"]["properties"]["material"]["anyOf"][0]["enum"].to_string();
    assert_eq!(material, r#"["copper","aluminum","steel","unknown",null]"#);
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(500))]

    #[test]
    fn no_json_panics(bytes in proptest::collection::vec(any::<u8>(), 0..200)) {
        from_json(&String::from_utf8_lossy(&bytes));
    }

    #[test]
    fn no_broken_json_panics(pieces in proptest::collection::vec(prop::sample::select(vec![
        "{", "}", "[", "]", ":", ",", "\"outlet\"", "\"O\"", "\"members\"", "\"and maybe more\"", "\"name\"", "true", "null",
        "\"project\"", "\"paths\"", "\"circuit\"", "\"4 ft\"", "4", "\"\\ud800\"", "\"\\u0041\"", "\"none\"", "\"value\"", "\"unit\"", " ", "\n", "é",
    ]), 0..40)) {
        from_json(&pieces.concat());
    }

    #[test]
    fn whatever_is_stated_holds_one_cell_per_field(
        lines in proptest::collection::vec((prop::sample::select(vec!["height", "count", "to-sink", "installed", "serves", "paths"]),
            prop::sample::select(vec!["4 ft", "none", "unknown", "S", "S, T", "not S", "2 ft from bowl-edge", "at least 3", "{ }", "{ and maybe more }"])), 0..6)
    ) {
        let body: String = lines.iter().map(|(name, value)| {
            let colon = if value.starts_with('{') { " " } else { ": " };
            format!("    {name}{colon}{value}\n")
        }).collect();
        let (facts, _) = stated(&format!("outlet O {{\n{body}}}\ncircuit B {{\n{body}}}\nspace S {{ }}\n"));
        let schema = schema();
        for object in &facts.objects {
            prop_assert_eq!(object.cells.len(), schema.thing(object.thing).fields.len());
        }
    }
}
