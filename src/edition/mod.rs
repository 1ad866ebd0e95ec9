//! Books composed from a base edition, the changes of later editions, and interim and local amendments.
//!
//! Composition works on addressed parts of syntax trees before names are resolved, so that everything after it sees one
//! flat book. All numbers in a set of changes are read in its declared base, at once. Every part touched knows the
//! documents that made it so ([`Composed::history`]). [`layers`] stacks the amendments of places. Which book a place and a date
//! select is `govern`'s matter.

mod also;
mod amounts;
mod apply;
mod atoms;
mod becomes;
mod compose;
mod edits;
mod force;
mod graft;
mod layers;
mod merge;
mod new_marks;
mod parts;
mod printings;
mod reshape;
mod shift;
mod site;
mod split;
mod tables;
mod terms;
pub(crate) mod walk;
mod words;

pub use atoms::{Atom, Atoms, Line, Sort, Until, readdressed};
pub use compose::{Composed, Event, amendments, amendments_named, applied, chain, compose};
pub(crate) use layers::amends;
pub use layers::{BaseSet, Layer, Standing, compose_layers, compose_tried};
pub(crate) use printings::printed_with;

/// Source marks as the core has them.
pub(crate) fn marks(written: &[crate::syntax::ast::Mark]) -> Vec<crate::ir::program::Mark> {
    crate::sema::marks(written)
}
