//! Books composed from a base edition, the changes of later editions, and interim and local amendments.
//!
//! Composition works on addressed parts of syntax trees before names are resolved, so that everything after it sees one
//! flat book. All numbers in a set of changes are read in its declared base, at once. Every part touched knows the
//! documents that made it so ([`Composed::history`]). [`layers`] stacks the amendments of places. Which book a place and a date
//! select is `govern`'s matter.

mod also;
mod amounts;
mod apply;
mod becomes;
mod compose;
mod edits;
mod force;
mod graft;
mod layers;
mod merge;
mod parts;
mod reshape;
mod shift;
mod site;
mod split;
mod tables;
mod terms;
mod walk;
mod words;

pub use compose::{Composed, Event, compose};
pub(crate) use layers::amends;
pub use layers::{BaseSet, Layer, Standing, compose_layers};
