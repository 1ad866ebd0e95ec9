//! The rulebooks that come with the program, embedded in it. A test checks that every file of `rulebooks/` is listed.

/// Path below `rulebooks/` and text of each shipped rulebook, in the order they are loaded.
pub const RULEBOOKS: &[(&str, &str)] = &[("nec/terms.rulebook", include_str!("../../rulebooks/nec/terms.rulebook"))];
