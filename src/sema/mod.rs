//! Names, types and units: from syntax trees to the core program of one book. All mistakes of the phase are collected.
//!
//! [`gather`] sorts the items of all files, [`vocabulary`] builds the schema, and one [`lower::Lower`] turns conditions
//! (`clause`), expressions (`expr`), tables (`table`) and sections (`section`) into the core. Nothing is evaluated here
//! and no edition is composed.

mod clause;
mod expr;
mod gather;
mod literal;
mod lower;
mod measure;
mod path;
mod readings;
mod section;
mod table;
mod vocabulary;

pub use gather::{Book, editions};

use crate::base::source::{SourceId, Sources};
use crate::diag::Diagnostics;
use crate::ir::program::Program;
use crate::syntax::ast::Rulebook;

/// Lowers the edition `year` of `family` from all rulebooks. The program is complete where no error was found and must
/// not be run where one was.
pub fn lower(sources: &Sources, books: &[(SourceId, &Rulebook)], family: &str, year: &str) -> (Program, Diagnostics) {
    let mut diagnostics = Diagnostics::new();
    let gathered = gather::gather(books, family, year, &mut diagnostics);
    let schema = vocabulary::build(&gathered, &mut diagnostics);
    let mut lower = lower::Lower::new(sources, schema, diagnostics);
    lower.program.edition = format!("{family} {year}");
    lower.program.title = gathered.edition_title.clone();
    lower.declare(&gathered);
    lower.lower_all(&gathered);
    readings::settle(&mut lower.program);
    (lower.program, lower.diagnostics)
}
