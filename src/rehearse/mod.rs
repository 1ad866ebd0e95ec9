//! Examples and claims, run: do the rules say what the people who wrote them thought they say?
//!
//! [`shelf`] gathers what stands beside the rules, [`stage`] builds the installation of an example, [`book`] opens the
//! editions asked for, [`check`] holds one expectation against one installation under one book, `run` does all of it,
//! [`claim`] looks for installations that contradict a belief, and [`disturb`] bends the core program one place at a time
//! to see which places no expectation watches. Views and their text, JSON and JUnit forms are in [`view`], `text` and
//! `junit`. Nothing here reads a file. Nothing here proves: a claim is only ever contradicted or not.
//!
//! Tests: `tests/rehearse.rs`, `tests/transcripts/rehearse.txt`.

mod book;
mod check;
mod claim;
mod disturb;
mod junit;
mod run;
mod shelf;
mod stage;
mod text;
mod view;

pub use junit::junit;
pub use run::{Wish, rehearse};
pub use text::text;
pub use view::{
    ClaimResult, Disturbances, ExampleResult, Failure, Gap, Rehearsal, Rehearsed, Unnoticed, Waived, Witness,
};
