//! Names, types and units: from syntax trees to the core program of one book. All mistakes of the phase are collected.
//!
//! [`gather`] sorts the items of all files, [`vocabulary`] builds the schema, and one [`lower::Lower`] turns conditions
//! (`clause`), expressions (`expr`), tables (`table`) and sections (`section`) into the core. Nothing is evaluated here
//! and no edition is composed.

mod amount;
mod clause;
mod contest;
mod expr;
mod figure;
mod gather;
mod literal;
mod lower;
mod measure;
mod path;
mod readings;
mod section;
mod table;
mod vocabulary;

pub use figure::{Figured, figure};
pub use gather::{Book, editions};
pub(crate) use lower::marks;

use crate::base::source::{SourceId, Sources};
use crate::diag::Diagnostics;
use crate::edition::Composed;
use crate::ir::program::Program;
use crate::syntax::ast::Rulebook;

/// The exact value of a written measure, for ordering; none if it has no known unit.
pub(crate) fn measured(measure: &crate::syntax::ast::Measure) -> Option<crate::base::number::Number> {
    literal::measure(measure).ok().map(|(value, _)| value)
}

/// Lowers a composed book of `family`. The program is complete where no error was found and must not be run where one
/// was.
pub fn lower(
    sources: &Sources,
    books: &[(SourceId, &Rulebook)],
    composed: &Composed,
    family: &str,
    year: &str,
) -> (Program, Diagnostics) {
    let mut diagnostics = Diagnostics::new();
    let gathered = gather::gather(books, composed, family, year, &mut diagnostics);
    let schema = vocabulary::build(&gathered, &mut diagnostics);
    let mut lower = lower::Lower::new(sources, schema, diagnostics);
    lower.program.edition.clone_from(&composed.name);
    lower.program.title = gathered.edition_title.clone();
    lower.reworded = Some(&composed.reworded);
    lower.declare(&gathered);
    lower.lower_all(&gathered);
    readings::settle(&mut lower.program);
    lower.program.contested = contest::contested(&lower.program, books, composed);
    (lower.program, lower.diagnostics)
}
