//! The reference semantics: one installation against one book. Strong Kleene logic over conditions, intervals over
//! numbers; nothing here ever guesses, and no definite answer changes when an unknown fact becomes known.
//!
//! [`duty`] says how conditions make verdicts, `condition` and `expression` evaluate, `matching` finds different paths,
//! and [`explain`] tells why; [`Words`] puts that into words; `working` writes a value out line by line. No clock, no I/O; explanations are made on demand
//! and cost the plain run nothing.

mod condition;
mod duty;
mod explain;
mod expression;
mod figure;
mod known;
mod lookup;
mod machine;
mod matching;
mod missing;
mod series;
mod show;
mod truth;
mod value;
mod words;
mod working;

pub use duty::{By, Choices, Finding, Judge, Lean, Outcome, Verdict, inspect, inspect_stated, judge, not_looked_at};
pub use explain::{
    Answer, Came, Compared, Counted, Different, Explanation, Found, Missing, Open, ReadingEffect, Reason, Relied, Role,
    Worth, explain,
};
pub use figure::{Amount, amount, field_words};
pub use machine::qualifies;
pub(crate) use show::values as value_words;
pub use truth::{Lack, Truth};
pub use words::Words;
pub use working::{Given, Sought, Step, Working, sought, work};
