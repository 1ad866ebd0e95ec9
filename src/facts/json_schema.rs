//! What may be stated, for programs: a JSON Schema (draft 2020-12) of facts in JSON.
//!
//! The schema tells shape, names and values. Whether a unit fits its field is left to [`super::check`], since units are
//! many and partial notation is free text.

use super::json::{BEFORE, MEMBERS, MORE, NAME};
use crate::ir::schema::{Domain, Field, FieldType, PROJECT, Schema, Thing, ThingId};
use serde_json::{Map, Value, json};

/// The JSON Schema of facts; with a thing, of one such thing.
pub fn json_schema(schema: &Schema, thing: Option<ThingId>) -> Value {
    let mut root = Map::new();
    root.insert("$schema".to_string(), json!("https://json-schema.org/draft/2020-12/schema"));
    root.insert("$defs".to_string(), definitions(schema));
    let known = thing.filter(|id| usize::from(id.0) < schema.things.len());
    match known {
        Some(id) => {
            let name = &schema.thing(id).name;
            root.insert("title".to_string(), json!(name));
            root.insert("$ref".to_string(), json!(definition(name)));
        }
        None => {
            let title = if schema.title.is_empty() { &schema.family } else { &schema.title };
            root.insert("title".to_string(), json!(format!("Facts for {title}")));
            root.insert("type".to_string(), json!("object"));
            root.insert("properties".to_string(), Value::Object(top(schema)));
            root.insert("additionalProperties".to_string(), json!(false));
        }
    }
    Value::Object(root)
}

fn definition(thing: &str) -> String {
    // RFC 6901: a name may hold no bare ~ or / in a pointer; RFC 3986: nor other letters than ASCII ones in a fragment.
    let mut pointer = String::from("#/$defs/");
    for byte in thing.replace('~', "~0").replace('/', "~1").bytes() {
        match byte {
            b'A'..=b'Z' | b'a'..=b'z' | b'0'..=b'9' | b'-' | b'_' | b'.' | b'~' => pointer.push(char::from(byte)),
            _ => pointer.push_str(&format!("%{byte:02X}")),
        }
    }
    pointer
}

fn definitions(schema: &Schema) -> Value {
    let things = schema.things.iter().map(|thing| (thing.name.clone(), of_thing(schema, thing)));
    Value::Object(things.collect())
}

fn top(schema: &Schema) -> Map<String, Value> {
    let mut properties = Map::new();
    let project = match schema.thing_named(PROJECT) {
        Some(id) => json!({ "$ref": definition(&schema.thing(id).name) }),
        None => json!({ "type": "object", "properties": { NAME: { "type": "string" } } }),
    };
    properties.insert(PROJECT.to_string(), project);
    for thing in schema.things.iter().filter(|thing| thing.name != PROJECT) {
        properties.insert(thing.name.clone(), members(thing, &thing.about));
    }
    let before =
        "the installation before the work, in the same form; \"same\", \"none\", or { \"same-except\": { … } }";
    if !properties.contains_key(BEFORE) {
        properties.insert(BEFORE.to_string(), json!({ "description": before, "type": ["object", "string", "null"] }));
    }
    for (name, id) in &schema.thing_names {
        let thing = schema.thing(*id);
        if thing.name != PROJECT && !properties.contains_key(name) {
            properties.insert(name.clone(), members(thing, &thing.about));
        }
    }
    properties
}

fn of_thing(schema: &Schema, thing: &Thing) -> Value {
    let mut properties = Map::new();
    properties
        .insert(NAME.to_string(), json!({ "type": "string", "description": "its name, or the title of the project" }));
    for field in &thing.fields {
        if matches!(field.ty, FieldType::Inverse(..)) {
            continue;
        }
        if let Some(keyed) = &field.keyed
            && !properties.contains_key(&keyed.name)
        {
            let description = described(field, "such as 2 ft from a place, through a barrier or nothing");
            properties.insert(keyed.name.clone(), json!({ "description": description, "type": ["string", "null"] }));
        }
        properties.insert(field.name.clone(), of_field(schema, field));
    }
    let mut value = json!({ "type": "object", "properties": properties, "additionalProperties": false });
    if !thing.about.is_empty() {
        value["description"] = json!(thing.about);
    }
    value
}

fn described(field: &Field, expected: &str) -> String {
    match field.about.as_str() {
        "" => expected.to_string(),
        about => format!("{about}; {expected}"),
    }
}

fn of_field(schema: &Schema, field: &Field) -> Value {
    let expected = super::value::expectation(schema, field);
    let description = described(field, &expected);
    let partial = json!({ "type": "string", "description": "the notation of facts, partial as in `A or B`, `not A`, `at least A`" });
    match &field.ty {
        FieldType::YesNo => json!({
            "description": description,
            "anyOf": [{ "type": "boolean" }, { "enum": constants(&["yes".to_string(), "no".to_string()], field) }, partial],
        }),
        FieldType::OneOf(id) => {
            let Domain { values, groups, .. } = schema.domain(*id);
            let groups: Vec<&String> = groups.iter().map(|(name, _)| name).collect();
            let mut any = vec![json!({ "enum": constants(values, field) })];
            if !groups.is_empty() {
                any.push(json!({ "enum": groups, "description": "groups of values" }));
            }
            any.push(partial);
            json!({ "description": description, "anyOf": any })
        }
        FieldType::Quantity(dimension) => {
            let measured = json!({
                "type": "object",
                "properties": { "value": { "type": ["number", "string"] }, "unit": { "type": "string" } },
                "required": ["value", "unit"],
                "additionalProperties": false,
            });
            let mut any = vec![partial, measured, json!({ "type": "null" })];
            if dimension.is_dimensionless() {
                any.push(if field.never_negative {
                    json!({ "type": "number", "minimum": 0 })
                } else {
                    json!({ "type": "number" })
                });
            }
            json!({ "description": description, "anyOf": any })
        }
        FieldType::Date => json!({ "description": description, "type": ["string", "null"] }),
        FieldType::Text => {
            let description = format!("{description} of its own within the JSON text, or a bare word");
            json!({ "description": description, "type": ["string", "null"] })
        }
        FieldType::Ref(thing) => json!({
            "description": description,
            "anyOf": [{ "type": ["string", "null"] }, { "$ref": definition(&schema.thing(*thing).name) }],
        }),
        FieldType::Many(thing) => members(schema.thing(*thing), &description),
        FieldType::ManyRef(thing) => {
            let mut list = members(schema.thing(*thing), &description);
            if let Some(any) = list["anyOf"].as_array_mut() {
                any.push(json!({ "type": "string", "description": "names, joined by commas" }));
                any.push(json!({ "type": "array", "items": { "type": "string" } }));
            }
            list
        }
        FieldType::Inverse(..) => json!(false),
    }
}

fn constants(values: &[String], field: &Field) -> Vec<Value> {
    let mut all: Vec<Value> = values.iter().map(|value| json!(value)).collect();
    if field.may_be_absent {
        all.push(json!("none"));
    }
    all.push(json!("unknown"));
    all.push(Value::Null);
    all
}

fn members(thing: &Thing, description: &str) -> Value {
    let one = json!({ "$ref": definition(&thing.name) });
    let array = json!({ "type": "array", "items": { "anyOf": [one, { "type": "string" }] } });
    let more = json!({ "type": "boolean", "description": "there may be more than are described" });
    let by_name = json!({
        "type": "object",
        "properties": { MORE: more },
        "additionalProperties": one,
    });
    let listed = json!({
        "type": "object",
        "properties": { MEMBERS: { "anyOf": [array, by_name] }, MORE: more },
        "required": [MEMBERS],
        "additionalProperties": false,
    });
    json!({ "description": description, "anyOf": [by_name, array, listed, { "enum": ["none", "unknown", null] }] })
}
