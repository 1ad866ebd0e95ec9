//! Whereas: requirements of a code edition as text, run against the facts of an installation.
// The generated parser names it.
extern crate alloc;

pub mod base;
pub mod carry;
pub mod cli;
pub mod compare;
pub mod diag;
pub mod edition;
pub mod eval;
pub mod facts;
pub mod format;
pub mod govern;
pub mod ir;
pub mod rehearse;
pub mod report;
pub mod review;
pub mod sema;
pub mod session;
pub mod syntax;
pub mod tidy;
pub mod trial;
