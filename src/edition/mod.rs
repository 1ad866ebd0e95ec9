//! Books composed from a base edition, the changes of later editions, and interim and local amendments.
//!
//! Composition works on addressed parts of syntax trees before names are resolved, so that everything after it sees one
//! flat book. All numbers in a set of changes are read in its declared base, at once. Every part touched knows the
//! documents that made it so ([`Composed::history`]). Adoption by place and date is not here yet.

mod amounts;
mod apply;
mod compose;
mod edits;
mod force;
mod graft;
mod parts;
mod reshape;
mod site;
mod tables;
mod terms;
mod walk;
mod words;

pub use compose::{Composed, Event, compose};
