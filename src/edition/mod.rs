//! Books composed from a base edition, the changes of later editions, and interim and local amendments.
//!
//! Composition works on addressed parts of syntax trees before names are resolved, so that everything after it sees one
//! flat book. All numbers in a set of changes are read in its declared base, at once. Every part touched knows the
//! documents that made it so ([`Composed::history`]). Adoption by place and date is not here yet.

mod apply;
mod atoms;
mod compose;
mod edits;
mod force;
mod graft;
mod new_marks;
mod parts;
mod reshape;
mod site;
mod tables;
mod terms;
pub(crate) mod walk;
mod words;

pub use atoms::{Atom, Atoms, Line, Sort, Until, readdressed};
pub use compose::{Composed, Event, amendments, amendments_named, applied, chain, compose};

/// Source marks as the core has them.
pub(crate) fn marks(written: &[crate::syntax::ast::Mark]) -> Vec<crate::ir::program::Mark> {
    crate::sema::marks(written)
}
