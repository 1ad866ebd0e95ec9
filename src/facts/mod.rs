//! The facts of one installation: objects with cells, checked against the schema of a book.
//!
//! Reading native text is `syntax`'s work and reading JSON is [`json`]'s; both give the same syntax tree, which [`check`]
//! turns into an [`installation::Installation`]. [`value`] reads single values, [`build`] adds what the facts leave open, [`past`] the state before
//! the work.
//! [`form`] and [`json_schema`] tell people and programs what may be stated. No verdicts here. Tests stand in `tests`;
//! `testing` holds the vocabulary they share.

mod build;
mod check;
mod form;
pub mod installation;
mod json;
mod json_schema;
mod past;
#[cfg(test)]
#[allow(clippy::unwrap_used, clippy::panic)]
mod testing;
#[cfg(test)]
#[allow(clippy::unwrap_used, clippy::panic)]
mod tests;
mod value;

pub use form::{describe, form};
pub use json::read_json;
pub use json_schema::json_schema;
pub use past::install;
pub(crate) use value::{expectation, listed};
