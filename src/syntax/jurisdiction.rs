//! The tree of places: which editions a place adopted, since when, and what choice it leaves.

use super::ast::{EditionName, Mark, Name, WindowEnd};
use crate::base::source::Span;
use compact_str::CompactString;

/// `jurisdiction harbor-county "Harbor County" within lindal { … }`.
#[derive(Debug, Clone)]
pub struct Jurisdiction {
    /// Its short name.
    pub name: Name,
    /// Its title.
    pub title: Option<CompactString>,
    /// The place it lies in.
    pub within: Option<Name>,
    /// Its lines in order.
    pub lines: Vec<PlaceLine>,
    /// Place of the whole.
    pub span: Span,
}

/// One line of a place with its marks.
#[derive(Debug, Clone)]
pub struct PlaceLine {
    /// What it says.
    pub kind: PlaceLineKind,
    /// Source marks.
    pub marks: Vec<Mark>,
    /// Place of the whole.
    pub span: Span,
}

/// An edition and the amendments adopted with it: `nec 2020 with tia-20-1, harbor-2021`, perhaps as it stood in one printing:
/// `nec 2020 in the second printing`.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct EditionSet {
    /// The edition.
    pub edition: EditionName,
    /// The printing, such as `second`; none: the edition by itself.
    pub printing: Option<Name>,
    /// The amendments, in the order in which they are applied.
    pub with: Vec<Name>,
    /// Place of the whole.
    pub span: Span,
}

/// How the text of a place stands to that of the place it lies in.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum LayerPolicy {
    /// Where both touch one part, the inner place's text stands.
    LastWins,
    /// Both texts are in force.
    StrictestWins,
    /// The inner place may change nothing.
    NoDeviation,
    /// What the inner place changes counts once the outer place has approved it.
    ApprovalNeeded,
}

/// The forms of a line of a place.
#[derive(Debug, Clone)]
pub enum PlaceLineKind {
    /// `base fixed by permit-application`
    FixedBy(Name),
    /// `over lindal: strictest wins`
    Over(Name, LayerPolicy),
    /// `approved pier-2022 on 2022-03-01`, `approved nec 2017 on …`
    Approved {
        /// The amendment; or the family of the edition.
        what: Name,
        /// The year, where an edition is meant.
        year: Option<Name>,
        /// The day.
        on: Name,
    },
    /// `nec 2020 with harbor-2021 from 2021-07-01`
    Adoption {
        /// What is adopted.
        set: EditionSet,
        /// The first day.
        from: Name,
        /// The end, if one is stated.
        until: Option<WindowEnd>,
    },
    /// `adds harbor-2021 from 2021-09-01`: to whatever edition governs that the amendment is written for
    Adds {
        /// The amendments, in the order in which they are applied.
        with: Vec<Name>,
        /// The first day.
        from: Name,
        /// The end, if one is stated.
        until: Option<WindowEnd>,
    },
    /// `grace through 2021-12-31: nec 2017 for the whole project if declared`
    Grace {
        /// How long.
        until: WindowEnd,
        /// What may be chosen.
        set: EditionSet,
    },
    /// `early from 2021-05-01: one-family for the whole project if declared`
    Early {
        /// The first day of the choice.
        from: Name,
        /// For whom; empty: for everyone.
        classes: Vec<Name>,
    },
    /// `one-family, two-family stay on nec 2017`
    Stay {
        /// For whom.
        classes: Vec<Name>,
        /// On what.
        set: EditionSet,
        /// How long, if not for as long as the adoption.
        until: Option<WindowEnd>,
    },
}
