//! Which book governs: from a place, dates and what the project declares to an edition with its amendments, and why.
//!
//! [`calendar`] holds the places as checked, [`known`] what the facts say of the project, `point` the book at one point of
//! what may be the case, and [`select`] all points that the facts leave open. Where the law leaves a choice that nobody
//! declared, or a date or a use is not known, several books stay possible and it is said what to state; none is picked.
//! Books are composed in `edition` and run in `eval`; nothing here reads a rule.

mod calendar;
mod known;
mod point;
mod select;
mod told;

pub use calendar::{Places, places};
pub use known::{Declared, Known, place_stated};
pub use point::Because;
pub use select::{Ask, Possible, Selection, Wanted, named, select};
pub use told::told;

/// The field of the project that says where it stands.
pub const PLACE: &str = "place";
/// The field of the project that says which edition was chosen where the law leaves a choice.
pub const DECLARES: &str = "declares";
