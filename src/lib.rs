//! Whereas: requirements of a code edition as text, run against the facts of an installation.
pub mod base;
pub mod diag;
pub mod facts;
pub mod ir;
pub mod sema;
pub mod syntax;
