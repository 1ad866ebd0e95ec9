//! The value of an expression in words, for a person who asks.

use super::duty::Choices;
use super::known::Known;
use super::machine::Machine;
use super::show;
use super::value::{Over, Value};
use crate::base::number::Number;
use crate::facts::installation::{Cell, Installation, MaybeAbsent, ObjectId};
use crate::ir::program::{ExprId, Program};
use crate::ir::schema::{Field, FieldType};

/// What an expression comes to.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Amount {
    /// In words, such as `20 A`, `at least 15 A`, `none`, `unknown` or `the book does not say`.
    pub words: String,
    /// The number in base units, where it is exactly known.
    pub exact: Option<Number>,
}

/// The value of an expression for one object.
pub fn amount(
    program: &Program,
    facts: &Installation,
    choices: &Choices,
    subject: ObjectId,
    expr: ExprId,
    ty: &FieldType,
) -> Amount {
    let known = Known::default();
    let mut machine = Machine::new(program, facts, choices, &known, subject);
    let value = machine.value(expr);
    let in_words = |cell: Cell| show::cell(&program.schema, facts, &plain_field(ty), &cell);
    let absent = |perhaps: bool| if perhaps { MaybeAbsent::Perhaps } else { MaybeAbsent::Present };
    match value {
        Value::Absent => Amount { words: "none".to_string(), exact: None },
        Value::Exact(number) => {
            let number = number.into_owned();
            Amount { words: show::number(ty, &number), exact: Some(number) }
        }
        Value::Step(set) => Amount { words: in_words(Cell::Values(set, MaybeAbsent::Present)), exact: None },
        Value::Spread(spread) => {
            let words = match spread.over {
                Over::Nothing if spread.absent => "none".to_string(),
                Over::Nothing => String::new(),
                Over::Numbers(range) => in_words(Cell::Range(Box::new(range), absent(spread.absent))),
                Over::Steps(set) => in_words(Cell::Values(set, absent(spread.absent))),
            };
            let gap = "the book does not say";
            let words = match (words.is_empty(), spread.gap) {
                (true, _) => gap.to_string(),
                (false, true) => format!("{words}, or {gap}"),
                (false, false) => words,
            };
            Amount { words, exact: None }
        }
    }
}

/// What is known of one field of one object, in words.
pub fn field_words(program: &Program, facts: &Installation, object: ObjectId, field: usize) -> String {
    let object = facts.object(object);
    let described = program.schema.thing(object.thing).fields.get(field);
    match (described, object.cells.get(field)) {
        (Some(field), Some(cell)) => show::cell(&program.schema, facts, field, cell),
        _ => String::new(),
    }
}

fn plain_field(ty: &FieldType) -> Field {
    Field {
        name: String::new(),
        about: String::new(),
        ty: ty.clone(),
        may_be_absent: false,
        never_negative: false,
        at_least: 0,
        judgment: None,
        external: None,
        keyed: None,
    }
}
