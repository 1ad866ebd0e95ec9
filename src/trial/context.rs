//! Which thing a rule speaks of where it breaks off, by its looks, so that only words are offered that can mean something
//! there. A rule that is not understood so far has none, and every word is offered.

use super::Trial;
use super::complete::{Candidate, after_number, said, units};
use crate::base::unit;
use crate::ir::schema::{Field, FieldType, PROJECT, Schema, ThingId};

impl Trial {
    /// The things whose fields, kinds and names can stand behind a text: the innermost first, then its owners and the
    /// project. Empty: not known.
    pub(super) fn spoken_of(&self, text: &str) -> Vec<ThingId> {
        let program = &self.now.opened.program;
        let schema = &program.schema;
        let first = text.split_whitespace().next().unwrap_or("");
        let governs = text.rfind("governs ").and_then(|at| text.get(at + "governs ".len()..)).and_then(|rest| {
            let mut words = rest.split_whitespace().filter(|word| *word != "each");
            schema.thing_named(words.next()?)
        });
        let headed = || -> Option<ThingId> {
            let thing = match first {
                "kind" | "define" | "amount" | "reading" => {
                    text.split(" of ").nth(1)?.split(['{', ',', ' ', ':']).next()?
                }
                "limit" => PROJECT,
                _ => return None,
            };
            schema.thing_named(thing)
        };
        let addressed = || -> Option<ThingId> {
            let (head, _) = text.split_once(':')?;
            let address = head.strip_prefix("in ")?.trim();
            let meant =
                |known: &str| known == address || known.strip_prefix(address).is_some_and(|r| r.starts_with('('));
            let of_duty = program.duties.iter().find(|d| meant(&d.address) || d.name == address).map(|d| d.subject);
            let of_kind = || program.kinds.iter().find(|k| k.name == address).map(|k| k.thing);
            of_duty.or_else(of_kind)
        };
        let Some(subject) = governs.or_else(headed).or_else(addressed) else { return Vec::new() };
        let mut all = Vec::new();
        // Members of a list that is being described stand innermost.
        let line = text.rsplit(['\n', ';']).next().unwrap_or("");
        if let Some((before, _)) = line.rsplit_once(" where ")
            && let Some(list) = before.split_whitespace().last()
            && let Some(member) = member_of(schema, list)
        {
            all.push(member);
        }
        if !all.contains(&subject) {
            all.push(subject);
        }
        let mut at = 0;
        while let Some(thing) = all.get(at).copied() {
            for owner in owners(schema, thing) {
                if !all.contains(&owner) {
                    all.push(owner);
                }
            }
            at += 1;
        }
        let project = schema.thing_named(PROJECT).filter(|project| !all.contains(project));
        all.extend(project);
        all
    }

    /// Words of conditions on these things.
    pub(super) fn conditions_on(&self, things: &[ThingId], before: &str, found: &mut Vec<Candidate>) {
        let program = &self.now.opened.program;
        let schema = &program.schema;
        if let Some(field) = field_before(schema, things, before) {
            self.values_of(field, before, found);
            return;
        }
        if after_number(before) {
            units(found);
        }
        for id in things {
            let thing = schema.thing(*id);
            for field in &thing.fields {
                let name = field.keyed.as_ref().map_or(&field.name, |keyed| &keyed.name);
                found.push(said(name, &field.about));
                // A value that only one field can have may stand alone.
                if let FieldType::OneOf(domain) = field.ty {
                    let domain = schema.domain(domain);
                    found.extend(domain.values.iter().filter(|v| !v.contains(' ')).map(|v| said(v, &domain.name)));
                    found.extend(domain.groups.iter().map(|(group, _)| said(group, &domain.name)));
                }
                if let FieldType::Many(member) | FieldType::Ref(member) = field.ty {
                    let kinds = program.kinds.iter().filter(|kind| kind.thing == member);
                    found.extend(kinds.map(|kind| said(&kind.name, &kind.cite)));
                    found.push(said(&schema.thing(member).name, &schema.thing(member).about));
                }
            }
            found.push(said(&thing.name, &thing.about));
            found.extend(thing.alias.iter().map(|alias| said(alias, &thing.name)));
            found
                .extend(program.kinds.iter().filter(|kind| kind.thing == *id).map(|kind| said(&kind.name, &kind.cite)));
            let formulas = program.formulas.iter().filter(|formula| formula.thing == *id);
            found.extend(formulas.map(|formula| said(&formula.name, &formula.cite)));
        }
        self.limits(found);
        found.extend(JOINTS.iter().map(|word| said(word, "")));
    }

    fn values_of(&self, field: &Field, before: &str, found: &mut Vec<Candidate>) {
        let schema = &self.now.opened.program.schema;
        match &field.ty {
            FieldType::OneOf(id) => {
                let domain = schema.domain(*id);
                let typed = before.split_whitespace().last().unwrap_or("");
                for (value, about) in domain.values.iter().zip(&domain.value_notes) {
                    match value.split_once(' ') {
                        Some((number, rest)) if number == typed => found.push(said(rest, about)),
                        _ => found.push(said(value, about)),
                    }
                }
                found.extend(domain.groups.iter().map(|(group, _)| said(group, "a group")));
            }
            FieldType::Quantity(dimension) => {
                if after_number(before) {
                    let of = unit::all().filter(|u| u.dimension == *dimension);
                    found.extend(of.map(|u| said(u.symbol, &dimension.name())));
                } else {
                    self.limits(found);
                    found.extend(["at least", "at most", "more than", "less than"].map(|word| said(word, "")));
                }
            }
            FieldType::YesNo => found.extend(["yes", "no"].map(|word| said(word, ""))),
            FieldType::Date
            | FieldType::Text
            | FieldType::Ref(_)
            | FieldType::Many(_)
            | FieldType::ManyRef(_)
            | FieldType::Inverse(..) => {}
        }
        if field.may_be_absent {
            found.push(said("none", "there is none"));
        }
        found.push(said("not", ""));
    }
}

/// Words that lead on within a condition or a statement.
const JOINTS: &[&str] = &[
    "not",
    "no",
    "some",
    "every",
    "at least",
    "at most",
    "more than",
    "less than",
    "is",
    "any of {",
    "all of {",
    "where",
    "requires",
    "prohibits",
    "permits",
    "unless",
    "when",
    "governs",
    "count of",
    "sum of",
    "largest",
    "table",
    "instead",
    "strike",
    "add",
];

/// The field that a comparison at the end of a text is about: behind `is`, `at least`, `was`, `now`, with values in between.
fn field_before<'s>(schema: &'s Schema, things: &[ThingId], before: &str) -> Option<&'s Field> {
    let clause = before.rsplit(['\n', '{', '}']).next().unwrap_or("");
    // `now` compares with the field named before `was`.
    let clause = match clause.rsplit_once(':') {
        Some((_, edit)) if edit.contains(" was ") => edit,
        Some(_) | None => clause.rsplit([',', ':']).next().unwrap_or(""),
    };
    let words: Vec<&str> = clause.split_whitespace().collect();
    let at = words.iter().position(|w| matches!(*w, "is" | "at" | "more" | "less" | "smaller" | "larger" | "was"))?;
    let name = words.get(at.checked_sub(1)?)?;
    things.iter().find_map(|thing| schema.field_named(*thing, name).map(|field| schema.field(*thing, field)))
}

/// The thing that the members of a list are, by the list's name or their own.
fn member_of(schema: &Schema, list: &str) -> Option<ThingId> {
    let of_list = schema.things.iter().flat_map(|thing| &thing.fields).find_map(|field| match field.ty {
        FieldType::Many(member) | FieldType::ManyRef(member) if field.name == list => Some(member),
        _ => None,
    });
    of_list.or_else(|| schema.thing_named(list))
}

/// The things that have this one in a list.
fn owners(schema: &Schema, thing: ThingId) -> Vec<ThingId> {
    let holds = |field: &Field| matches!(field.ty, FieldType::Many(member) if member == thing);
    (0u16..)
        .map(ThingId)
        .zip(&schema.things)
        .filter(|(_, owner)| owner.fields.iter().any(holds))
        .map(|(id, _)| id)
        .collect()
}
