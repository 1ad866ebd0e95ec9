//! The rulebooks that come with the program, embedded in it. A test checks that every file of `rulebooks/` is listed.

/// Path below `rulebooks/` and text of each shipped rulebook, in the order they are loaded.
pub const RULEBOOKS: &[(&str, &str)] = &[
    ("nec/terms.rulebook", include_str!("../../rulebooks/nec/terms.rulebook")),
    ("nec/terms-dwelling.rulebook", include_str!("../../rulebooks/nec/terms-dwelling.rulebook")),
    ("nec/2014-210-protection.rulebook", include_str!("../../rulebooks/nec/2014-210-protection.rulebook")),
    ("nec/2014-230-services.rulebook", include_str!("../../rulebooks/nec/2014-230-services.rulebook")),
    ("nec/2014-250.rulebook", include_str!("../../rulebooks/nec/2014-250.rulebook")),
    ("nec/2014-406-receptacles.rulebook", include_str!("../../rulebooks/nec/2014-406-receptacles.rulebook")),
    ("nec/2014-517-beds.rulebook", include_str!("../../rulebooks/nec/2014-517-beds.rulebook")),
    ("nec/2014-517.rulebook", include_str!("../../rulebooks/nec/2014-517.rulebook")),
    ("nec/2014-cables.rulebook", include_str!("../../rulebooks/nec/2014-cables.rulebook")),
    ("nec/2014-listing.rulebook", include_str!("../../rulebooks/nec/2014-listing.rulebook")),
    ("nec/2017.rulebook", include_str!("../../rulebooks/nec/2017.rulebook")),
    ("nec/2017-protection.rulebook", include_str!("../../rulebooks/nec/2017-protection.rulebook")),
    ("nec/2020.rulebook", include_str!("../../rulebooks/nec/2020.rulebook")),
    ("nec/2020-protection.rulebook", include_str!("../../rulebooks/nec/2020-protection.rulebook")),
    ("nec/2023.rulebook", include_str!("../../rulebooks/nec/2023.rulebook")),
    ("nec/2023-protection.rulebook", include_str!("../../rulebooks/nec/2023-protection.rulebook")),
    ("nec/2026.rulebook", include_str!("../../rulebooks/nec/2026.rulebook")),
    ("nec/2026-protection.rulebook", include_str!("../../rulebooks/nec/2026-protection.rulebook")),
];
