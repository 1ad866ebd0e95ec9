//! The rulebooks that come with the program, embedded in it. A test checks that every file of `rulebooks/` is listed.

/// Path below `rulebooks/` and text of each shipped rulebook, in the order they are loaded.
pub const RULEBOOKS: &[(&str, &str)] = &[
    ("nec/terms.rulebook", include_str!("../../rulebooks/nec/terms.rulebook")),
    ("nec/terms-places.rulebook", include_str!("../../rulebooks/nec/terms-places.rulebook")),
    ("nec/terms-dwelling.rulebook", include_str!("../../rulebooks/nec/terms-dwelling.rulebook")),
    ("nec/2014-110.rulebook", include_str!("../../rulebooks/nec/2014-110.rulebook")),
    ("nec/2014-210-placement.rulebook", include_str!("../../rulebooks/nec/2014-210-placement.rulebook")),
    ("nec/2014-210-protection.rulebook", include_str!("../../rulebooks/nec/2014-210-protection.rulebook")),
    ("nec/2014-230-services.rulebook", include_str!("../../rulebooks/nec/2014-230-services.rulebook")),
    ("nec/2014-250.rulebook", include_str!("../../rulebooks/nec/2014-250.rulebook")),
    ("nec/2014-300.rulebook", include_str!("../../rulebooks/nec/2014-300.rulebook")),
    ("nec/2014-406-receptacles.rulebook", include_str!("../../rulebooks/nec/2014-406-receptacles.rulebook")),
    ("nec/2014-517-beds.rulebook", include_str!("../../rulebooks/nec/2014-517-beds.rulebook")),
    ("nec/2014-517.rulebook", include_str!("../../rulebooks/nec/2014-517.rulebook")),
    ("nec/2014-517-wet.rulebook", include_str!("../../rulebooks/nec/2014-517-wet.rulebook")),
    ("nec/2014-cables.rulebook", include_str!("../../rulebooks/nec/2014-cables.rulebook")),
    ("nec/2014-listing.rulebook", include_str!("../../rulebooks/nec/2014-listing.rulebook")),
    ("nec/2017.rulebook", include_str!("../../rulebooks/nec/2017.rulebook")),
    ("nec/2017-placement.rulebook", include_str!("../../rulebooks/nec/2017-placement.rulebook")),
    ("nec/2017-protection.rulebook", include_str!("../../rulebooks/nec/2017-protection.rulebook")),
    ("nec/2020.rulebook", include_str!("../../rulebooks/nec/2020.rulebook")),
    ("nec/2020-placement.rulebook", include_str!("../../rulebooks/nec/2020-placement.rulebook")),
    ("nec/2020-protection.rulebook", include_str!("../../rulebooks/nec/2020-protection.rulebook")),
    ("nec/2023.rulebook", include_str!("../../rulebooks/nec/2023.rulebook")),
    ("nec/2023-placement.rulebook", include_str!("../../rulebooks/nec/2023-placement.rulebook")),
    ("nec/2023-protection.rulebook", include_str!("../../rulebooks/nec/2023-protection.rulebook")),
    ("nec/2026.rulebook", include_str!("../../rulebooks/nec/2026.rulebook")),
    ("nec/2026-placement.rulebook", include_str!("../../rulebooks/nec/2026-placement.rulebook")),
    ("nec/2026-protection.rulebook", include_str!("../../rulebooks/nec/2026-protection.rulebook")),
    ("osha/terms.rulebook", include_str!("../../rulebooks/osha/terms.rulebook")),
    ("osha/1910-s.rulebook", include_str!("../../rulebooks/osha/1910-s.rulebook")),
    ("osha/1926-k.rulebook", include_str!("../../rulebooks/osha/1926-k.rulebook")),
];

/// Path below `rulebooks/` and text of the examples and claims that stand beside them.
pub const EXAMPLES: &[(&str, &str)] = &[
    ("nec/claims.rulebook", include_str!("../../rulebooks/nec/claims.rulebook")),
    ("nec/examples/beds.rulebook", include_str!("../../rulebooks/nec/examples/beds.rulebook")),
    ("nec/examples/cables.rulebook", include_str!("../../rulebooks/nec/examples/cables.rulebook")),
    ("nec/examples/grounding.rulebook", include_str!("../../rulebooks/nec/examples/grounding.rulebook")),
    ("nec/examples/paths.rulebook", include_str!("../../rulebooks/nec/examples/paths.rulebook")),
];
