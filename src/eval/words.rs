//! What a trace tells, in a person's words. A trace holds numbers of things and fields; only who views it pays for words.

use super::explain::{Came, Compared, Counted, Different, Found, Missing, Open, Role, Worth};
use super::show;
use crate::facts::installation::{Installation, ObjectId};
use crate::ir::program::{Expr, ExprId, Gives, Mark, OriginId, Program, Relief};
use crate::ir::schema::{Domain, Field, FieldId, FieldType, Schema};
use std::borrow::Cow;
use std::collections::BTreeMap;

/// Puts traces of one book and one installation into words; what was said once is kept.
#[derive(Debug)]
pub struct Words<'p> {
    program: &'p Program,
    facts: &'p Installation,
    names: Vec<Option<String>>,
    values: BTreeMap<(ObjectId, FieldId), String>,
}

impl<'p> Words<'p> {
    /// For this book and installation.
    pub fn new(program: &'p Program, facts: &'p Installation) -> Words<'p> {
        Words { program, facts, names: Vec::new(), values: BTreeMap::new() }
    }

    /// The name of a thing in full: `armor of ER4-1`.
    pub fn name(&mut self, object: ObjectId) -> &str {
        let (schema, facts) = (&self.program.schema, self.facts);
        if self.names.len() <= object.index() {
            self.names.resize(facts.objects.len().max(object.index() + 1), None);
        }
        match self.names.get_mut(object.index()) {
            Some(name) => name.get_or_insert_with(|| facts.full_name(schema, object)),
            None => "",
        }
    }

    /// The name of a field of a thing.
    pub fn field(&self, object: ObjectId, field: FieldId) -> &'p str {
        &self.declared(object, field).name
    }

    /// What the facts say of a field.
    pub fn value(&mut self, object: ObjectId, field: FieldId) -> &str {
        let (schema, facts) = (&self.program.schema, self.facts);
        self.values.entry((object, field)).or_insert_with(|| {
            let stated = facts.object(object);
            show::cell(schema, facts, schema.field(stated.thing, field), &stated.cells[usize::from(field.0)])
        })
    }

    /// What part a reason plays; nothing for a part of another.
    pub fn role(&mut self, role: &Role) -> String {
        match role {
            Role::Scope => "scope".to_string(),
            Role::Asks => "asks".to_string(),
            Role::Part => String::new(),
            Role::Relief(relief) => relief_label(relief),
            Role::Replacement(label) => format!("{label} governs"),
            Role::Candidate(object) => self.name(*object).to_string(),
            Role::Reading(reading, option) => {
                let declared = self.program.readings.get(reading.index());
                let name = declared.map_or("", |r| r.name.as_str());
                let option = declared.and_then(|r| r.options.get(*option)).map_or("", |(n, _)| n.as_str());
                format!("{name}={option}")
            }
        }
    }

    /// What the facts say, or nothing.
    pub fn found(&mut self, found: &Found) -> String {
        match found {
            Found::Nothing => String::new(),
            Found::LeftOut => "further reasons left out".to_string(),
            Found::Thing(object) => self.name(*object).to_string(),
            Found::Fact { object, field, here } => {
                let name = self.field(*object, *field);
                let mut text = String::with_capacity(64);
                text.push_str(name);
                if !here {
                    text.push_str(" of ");
                    text.push_str(self.name(*object));
                }
                text.push_str(" is ");
                text.push_str(self.value(*object, *field));
                text
            }
            Found::NotDescribed(object, field) => format!("{} not described", self.field(*object, *field)),
            Found::NoneThere(object, field) => {
                let field = self.field(*object, *field);
                format!("no {field} of {}", self.name(*object))
            }
            Found::NoneSuch(object, field) => {
                let field = self.field(*object, *field);
                format!("no such {field} of {}", self.name(*object))
            }
            Found::Compared(compared) => self.compared(compared),
            Found::Counted(counted) => self.counted(counted),
            Found::Different(different) => self.different(different),
        }
    }

    fn declared(&self, object: ObjectId, field: FieldId) -> &'p Field {
        self.program.schema.field(self.facts.object(object).thing, field)
    }

    fn compared(&self, Compared { left, right }: &Compared) -> String {
        let then = matches!(self.program.expr(right.expr), Expr::Before(..));
        // What is compared is of one kind, so either side tells the other's unit.
        let ty = self.dimension(left.expr).or_else(|| self.dimension(right.expr));
        let (left, right) = (self.came(left, ty.as_ref()), self.came(right, ty.as_ref()));
        match (left.is_empty(), right.is_empty()) {
            (false, false) if then => format!("{left}, {right}"),
            (false, false) => format!("{left}, against {right}"),
            (false, true) => left,
            _ => right,
        }
    }

    fn counted(&self, Counted { surely, possibly, unbounded, wanted }: &Counted) -> String {
        let found = match (surely == possibly, unbounded) {
            (true, false) => surely.to_string(),
            (_, false) => format!("{surely} to {possibly}"),
            (_, true) => format!("{surely} or more"),
        };
        let ty = self.dimension(wanted.expr);
        let wanted = self.came(wanted, ty.as_ref());
        if wanted.is_empty() { found } else { format!("{found}, against {wanted}") }
    }

    fn different(&mut self, different: &Different) -> String {
        match different {
            Different::NothingServes(cites) => {
                let cites: Vec<&str> = cites.iter().map(|cite| self.program.origin(*cite).cite.as_str()).collect();
                format!("follows from {}: nothing serves there", cites.join(" and "))
            }
            Different::TooFew(members) => match members.as_slice() {
                [only] => {
                    format!("the only obstacle: {} would have to serve for all of them at once", self.name(*only))
                }
                _ => {
                    format!("the only obstacle: too few different ones among {}", self.names(members, ", "))
                }
            },
            Different::CanServe(halves) => {
                let names: Vec<String> = halves.iter().map(|half| self.names(half, " or ")).collect();
                format!("different ones can serve: {}", names.join("; "))
            }
        }
    }

    fn names(&mut self, objects: &[ObjectId], between: &str) -> String {
        let mut text = String::new();
        for (at, object) in objects.iter().enumerate() {
            if at > 0 {
                text.push_str(between);
            }
            text.push_str(self.name(*object));
        }
        text
    }

    /// What an expression came to, in words; nothing for one that is only written down.
    fn came(&self, Came { expr, worth, row }: &Came, ty: Option<&FieldType>) -> String {
        let words = &self.program.expr_origin(*expr).words;
        let shown = match worth {
            Worth::None => Cow::Borrowed("none"),
            Worth::Number(number) => Cow::Owned(match ty {
                Some(ty) => show::number(ty, number),
                None => number.to_string(),
            }),
            Worth::Steps(set) => match self.domain(*expr) {
                Some(domain) => Cow::Owned(show::steps(domain, *set)),
                None => Cow::Borrowed("a value"),
            },
            Worth::NotSaid => Cow::Borrowed("the book does not say"),
            Worth::NotKnown => Cow::Borrowed("not known"),
        };
        match self.program.expr(*expr) {
            Expr::Number(_) | Expr::Value(..) => String::new(),
            Expr::Before(..) if matches!(worth, Worth::None) => "not there before the work".to_string(),
            Expr::Before(..) => format!("before the work it was {shown}"),
            Expr::Lookup(..) if matches!(worth, Worth::NotSaid | Worth::NotKnown) => format!("{words}: {shown}"),
            Expr::Lookup(..) => format!("{shown} of {words}{}", row.map_or_else(String::new, |row| self.row(row))),
            _ => format!("{words} is {shown}"),
        }
    }

    /// What a row is known by, where that is not a source: ` (from memory)`.
    fn row(&self, row: OriginId) -> String {
        let told: Vec<Cow<str>> = self
            .program
            .origin(row)
            .marks
            .iter()
            .filter_map(|mark| match mark {
                Mark::Seen(_) => None,
                Mark::Memory => Some(Cow::Borrowed("from memory")),
                Mark::Disputed(what) => Some(Cow::Owned(format!("disputed: {what}"))),
                Mark::Unchecked(document) => Some(Cow::Owned(format!("carried into {document} unchecked"))),
            })
            .collect();
        if told.is_empty() { String::new() } else { format!(" ({})", told.join("; ")) }
    }

    fn domain(&self, id: ExprId) -> Option<&'p Domain> {
        let program = self.program;
        let domain = match program.expr(id) {
            Expr::Value(domain, _) => *domain,
            Expr::Read(place) => match program.schema.field(place.object.thing, place.field).ty {
                FieldType::OneOf(domain) => domain,
                _ => return None,
            },
            Expr::Lookup(table, _) => program.tables.get(table.index())?.gives?,
            Expr::Formula(_, formula) => return self.domain(program.formulas.get(formula.index())?.expr),
            Expr::Largest(_, of) | Expr::Smallest(_, of) => return self.domain(*of),
            _ => match program.gives(id) {
                Gives::Value(domain) => domain,
                _ => return None,
            },
        };
        Some(program.schema.domain(domain))
    }

    /// The type of a number, as far as a field below it tells.
    fn dimension(&self, id: ExprId) -> Option<FieldType> {
        let program = self.program;
        match program.expr(id) {
            Expr::Read(place) => Some(program.schema.field(place.object.thing, place.field).ty.clone()),
            Expr::Sum { of, .. } | Expr::Largest(_, of) | Expr::Smallest(_, of) => self.dimension(*of),
            Expr::Add(a, b) | Expr::Sub(a, b) | Expr::Beyond(a, b) => self.dimension(*a).or_else(|| self.dimension(*b)),
            Expr::Before(of, _) => self.dimension(*of),
            Expr::Formula(_, formula) => self.dimension(program.formulas.get(formula.index())?.expr),
            _ => match program.gives(id) {
                Gives::Number(dimension) => Some(FieldType::Quantity(dimension)),
                _ => None,
            },
        }
    }
}

/// How a report calls a relief: its label, and its name if it has one.
fn relief_label(relief: &Relief) -> String {
    if relief.name.is_empty() { relief.label.clone() } else { format!("{} {}", relief.label, relief.name) }
}

impl Missing {
    fn declared<'s>(&self, schema: &'s Schema, facts: &Installation) -> &'s Field {
        schema.field(facts.object(self.object).thing, self.field)
    }

    /// The owner's name in full.
    pub fn of(&self, schema: &Schema, facts: &Installation) -> String {
        facts.full_name(schema, self.object)
    }

    /// The field's name; for a list that is not the whole story, `other members of …`.
    pub fn name<'s>(&self, schema: &'s Schema, facts: &Installation) -> Cow<'s, str> {
        match self.open {
            Open::Value => Cow::Borrowed(&self.declared(schema, facts).name),
            Open::Others => Cow::Owned(format!("other {}", self.declared(schema, facts).name)),
            Open::Before => Cow::Borrowed("state before the work"),
        }
    }

    /// What it is, in words.
    pub fn question<'s>(&self, schema: &'s Schema, facts: &Installation) -> Cow<'s, str> {
        match self.open {
            Open::Value => Cow::Borrowed(&self.declared(schema, facts).about),
            Open::Others => Cow::Owned(format!("whether the {} stated are all", self.declared(schema, facts).name)),
            Open::Before => Cow::Borrowed("what it was before the work, in `before { … }`, or that it was not there"),
        }
    }

    /// Who may decide it, if only the authority can.
    pub fn judgment<'s>(&self, schema: &'s Schema, facts: &Installation) -> Option<&'s str> {
        match self.open {
            Open::Value => self.declared(schema, facts).judgment.as_deref(),
            Open::Others | Open::Before => None,
        }
    }

    /// The name of the field and of its owner: `size of grounding of ER4-1`.
    pub fn words(&self, schema: &Schema, facts: &Installation) -> String {
        format!("{} of {}", self.name(schema, facts), self.of(schema, facts))
    }
}
