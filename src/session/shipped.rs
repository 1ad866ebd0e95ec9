//! The rulebooks that come with the program, embedded in it. A test checks that every file of `rulebooks/` is listed.

/// Path below `rulebooks/` and text of each shipped rulebook, in the order they are loaded.
pub const RULEBOOKS: &[(&str, &str)] = &[
    ("nec/terms.rulebook", include_str!("../../rulebooks/nec/terms.rulebook")),
    ("nec/2017-250.rulebook", include_str!("../../rulebooks/nec/2017-250.rulebook")),
    ("nec/2017-517-beds.rulebook", include_str!("../../rulebooks/nec/2017-517-beds.rulebook")),
    ("nec/2017-517.rulebook", include_str!("../../rulebooks/nec/2017-517.rulebook")),
    ("nec/2017-cables.rulebook", include_str!("../../rulebooks/nec/2017-cables.rulebook")),
    ("nec/2017-listing.rulebook", include_str!("../../rulebooks/nec/2017-listing.rulebook")),
];
