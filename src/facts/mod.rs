//! The facts of one installation: objects with cells, checked against the schema of a book.
//!
//! Reading native text is `syntax`'s work and reading JSON is [`json`]'s; both give the same syntax tree, which [`check`]
//! turns into an [`installation::Installation`]. No verdicts here.

pub mod installation;
