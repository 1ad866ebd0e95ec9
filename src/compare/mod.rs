//! What differs between books: what became of each part of the rules, and for one installation the outcomes side by side.
//!
//! Parts are aligned by identity, not by printed number ([`align`]), classified ([`classes`]) and shown as mark-up of our own
//! printed lines ([`markup`]). Nothing is solved here: without an installation only the rules are compared. [`text`]
//! draws it.

pub mod align;
pub mod classes;
pub mod markup;
mod narrow;
mod outcomes;
mod text;

pub use classes::{Class, Classified, Dates, PartChange};
pub use outcomes::Row;
pub use text::{markdown, signed_line, text};

pub use crate::edition::Composed;

use crate::edition::Atoms;
use crate::report::CAUTION;
use crate::report::view::Inspection;
use classes::Pair;
use serde::Serialize;

/// The version of the shape.
pub const VERSION: u32 = 2;

/// Several books side by side, in the order asked for.
#[derive(Debug, Clone, Serialize)]
pub struct Comparison {
    /// [`VERSION`].
    pub version: u32,
    /// The books.
    pub books: Vec<String>,
    /// What each book after the first changed in the one before it.
    pub rules: Vec<Classified>,
    /// Amendments of these books of which something is to be said: redundant, of notes only, or over.
    pub amendments: Vec<AmendmentState>,
    /// One row for each requirement and subject; empty without an installation.
    pub outcomes: Vec<Row>,
    /// Whether any outcome differs.
    pub differs: bool,
    /// What the comparison is narrowed to, such as `210.8` or `about gfci`; empty: everything.
    pub only: Vec<String>,
    /// The usual caution.
    pub caution: String,
}

/// What is to be said of an amendment as a whole.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct AmendmentState {
    /// The book it is part of.
    pub book: String,
    /// Its name.
    pub name: String,
    /// [`Class::Redundant`], [`Class::AmendmentNoteOnly`] or [`Class::Expired`].
    pub class: Class,
    /// Why.
    pub note: String,
}

/// An amendment on top of a book.
pub struct Overlay {
    /// Its name.
    pub name: String,
    /// Its window: first day, last day and whether that day is inside, and the date of the project that counts.
    pub window: Option<Window>,
    /// The same book without it; none if that does not compose.
    pub without: Option<Composed>,
}

/// When an amendment is in force.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Window {
    /// The first day.
    pub from: Option<String>,
    /// The end, and whether that day is inside.
    pub until: Option<(String, bool)>,
    /// Which date of the project counts.
    pub clock: String,
}

/// One book with what was found under it.
pub struct Side<'s> {
    /// The composed book.
    pub book: &'s Composed,
    /// The inspection of the installation, if there is one.
    pub inspection: Option<&'s Inspection>,
    /// The amendments on top of it.
    pub overlays: &'s [Overlay],
}

/// Compares books in the order given, by the dates of the project that the facts state.
pub fn comparison(sides: &[Side], dates: &Dates) -> Comparison {
    let atoms: Vec<Atoms> = sides.iter().map(|side| Atoms::of(side.book)).collect();
    let pairs: Vec<Pair> = (1..sides.len())
        .map(|at| Pair::of((sides[at - 1].book, &atoms[at - 1]), (sides[at].book, &atoms[at])))
        .collect();
    let rules: Vec<Classified> = pairs.iter().map(|pair| classes::classify(pair, dates)).collect();
    let outcomes = outcomes::rows(sides, &atoms, &pairs, &rules);
    Comparison {
        version: VERSION,
        books: sides.iter().map(|s| s.book.name.clone()).collect(),
        amendments: sides.iter().zip(&atoms).flat_map(|(side, atoms)| states(side, atoms, dates)).collect(),
        differs: outcomes.iter().any(|row| row.differs),
        rules,
        outcomes,
        only: Vec::new(),
        caution: CAUTION.to_string(),
    }
}

fn states(side: &Side, atoms: &Atoms, dates: &Dates) -> Vec<AmendmentState> {
    let mut all = Vec::new();
    for overlay in side.overlays {
        let mut say = |class, note| {
            all.push(AmendmentState { book: side.book.name.clone(), name: overlay.name.clone(), class, note });
        };
        if let Some(window) = &overlay.window
            && let Some(day) = dates.get(&window.clock)
            && let Some((end, through)) = &window.until
            && (day > end || (day == end && !through))
        {
            let word = if *through { "through" } else { "before" };
            say(Class::Expired, format!("in force {word} {end} by {}; the facts say {day}", window.clock));
        }
        let Some(without) = &overlay.without else { continue };
        let plain = Atoms::of(without);
        let found = classes::classify(&Pair::of((without, &plain), (side.book, atoms)), &Dates::new());
        if found.changes.is_empty() && without.fields.len() == side.book.fields.len() {
            say(Class::Redundant, "the book says the same without it: a candidate to retire".to_string());
        } else if !found.changes.is_empty() && found.changes.iter().all(|c| c.class == Class::NoteOnly) {
            say(Class::AmendmentNoteOnly, "it changes titles and notes only".to_string());
        }
    }
    all
}
