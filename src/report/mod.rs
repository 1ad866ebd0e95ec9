//! What a person or a program reads: serialisable views of results, and their text. No meaning is decided here.
//!
//! [`view`] is the documented, versioned shape of `--json`; [`build`] fills it from the evaluator's findings; [`text`]
//! draws it for a terminal or a pipe; [`several`] joins what several books say. Markdown, HTML and SARIF are not here yet.

mod build;
mod only;
mod runs;
mod selection;
mod several;
mod text;
pub mod view;
mod worksheet;

pub(crate) use build::beyond;
pub use build::{inspection, requirement};
pub use only::{Only, narrowed};
pub use selection::{governed, selection, selection_entries, selections};
pub use several::{Judged, agreed, together};
pub use text::{Depth, entries, text};
pub use view::{Inspection, Overall, Verdict};
pub(crate) use worksheet::worksheets;
pub use worksheet::{Given, Line, Under, Wanted, Worksheet, Worksheets, worksheet_entries, worksheet_text};

/// The caution that every report ends with.
pub const CAUTION: &str = "Rules are paraphrased. The adopted text and the authority having jurisdiction govern; \
qualified persons do the work.";
