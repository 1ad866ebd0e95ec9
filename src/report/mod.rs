//! What a person or a program reads: serialisable views of results, and their text. No meaning is decided here.
//!
//! [`view`] is the documented, versioned shape of `--json`; [`build`] fills it from the evaluator's findings; [`text`]
//! draws it for a terminal or a pipe. Markdown, HTML and SARIF are not here yet.

mod build;
mod text;
pub mod view;

pub use build::inspection;
pub use text::{Depth, text};
pub use view::{Inspection, Overall, Verdict};

/// The caution that every report ends with.
pub const CAUTION: &str = "Rules are paraphrased. The adopted text and the authority having jurisdiction govern; \
qualified persons do the work.";
