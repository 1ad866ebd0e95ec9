//! Mistakes and how they are told: one diagnostic type, one code and page per kind of mistake, near names, drawing and JSON.
//!
//! Owns the only use of miette (in `render`). It decides nothing about the language: who finds a mistake words the title,
//! the labels and the help. No I/O and no global state.

mod code;
mod excerpt;
mod json;
mod nearest;
mod render;

pub use code::Code;
pub use json::to_json;
pub use nearest::nearest;
pub use render::{Charset, Colour, Look, render};

use crate::base::source::Span;

/// How much a diagnostic weighs.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum Severity {
    /// The text cannot be used as it stands.
    Error,
    /// The text is used, but probably does not say what was meant.
    Warning,
    /// A remark; nothing is wrong.
    Advice,
}

impl Severity {
    /// `error`, `warning` or `advice`.
    pub fn as_str(self) -> &'static str {
        match self {
            Severity::Error => "error",
            Severity::Warning => "warning",
            Severity::Advice => "advice",
        }
    }
}

/// A place and what is to be said about it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Label {
    /// The place. It may be empty, and is clamped to its source when shown.
    pub span: Span,
    /// What is here; may be empty.
    pub text: String,
}

/// One mistake: the title says what is wrong, the labels what is where, the help what to do.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Diagnostic {
    /// The kind of mistake.
    pub code: Code,
    /// How much it weighs.
    pub severity: Severity,
    /// What is wrong, in one line without a full stop.
    pub title: String,
    /// Places; the first is the primary one.
    pub labels: Vec<Label>,
    /// What to write or do instead.
    pub help: Option<String>,
    /// Further facts, one each.
    pub notes: Vec<String>,
}

impl Diagnostic {
    /// An error without a place yet.
    pub fn error(code: Code, title: impl Into<String>) -> Self {
        Diagnostic::new(code, Severity::Error, title.into())
    }

    /// A warning without a place yet.
    pub fn warning(code: Code, title: impl Into<String>) -> Self {
        Diagnostic::new(code, Severity::Warning, title.into())
    }

    /// A remark without a place yet.
    pub fn advice(code: Code, title: impl Into<String>) -> Self {
        Diagnostic::new(code, Severity::Advice, title.into())
    }

    fn new(code: Code, severity: Severity, title: String) -> Self {
        Diagnostic { code, severity, title, labels: Vec::new(), help: None, notes: Vec::new() }
    }

    /// Adds a label; the first one added is the primary place.
    #[must_use]
    pub fn at(mut self, span: Span, text: impl Into<String>) -> Self {
        self.labels.push(Label { span, text: text.into() });
        self
    }

    /// Sets what to do instead, replacing an earlier help.
    #[must_use]
    pub fn help(mut self, text: impl Into<String>) -> Self {
        self.help = Some(text.into());
        self
    }

    /// Adds a further fact.
    #[must_use]
    pub fn note(mut self, text: impl Into<String>) -> Self {
        self.notes.push(text.into());
        self
    }

    /// The command that shows the page of its code, such as `whereas why E0301`.
    pub fn page_command(&self) -> String {
        format!("whereas why {}", self.code)
    }

    /// The primary place, if there is one.
    pub fn place(&self) -> Option<Span> {
        self.labels.first().map(|label| label.span)
    }
}

/// The diagnostics of a phase, in the order in which they were found.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Diagnostics {
    all: Vec<Diagnostic>,
}

impl Diagnostics {
    /// How many are drawn by [`render`]; the rest is counted.
    pub const SHOWN: usize = 100;

    /// None yet.
    pub fn new() -> Self {
        Diagnostics::default()
    }

    /// Adds one.
    pub fn push(&mut self, diagnostic: Diagnostic) {
        self.all.push(diagnostic);
    }

    /// Whether any of them is an error.
    pub fn has_errors(&self) -> bool {
        self.all.iter().any(|d| d.severity == Severity::Error)
    }

    /// Whether there are none.
    pub fn is_empty(&self) -> bool {
        self.all.is_empty()
    }

    /// How many there are.
    pub fn len(&self) -> usize {
        self.all.len()
    }

    /// All of them, in the order in which they were found.
    pub fn iter(&self) -> std::slice::Iter<'_, Diagnostic> {
        self.all.iter()
    }

    /// All of them by source, then by offset; those without a place come last. Equals keep the order in which they were found.
    pub fn sorted(&self) -> Vec<&Diagnostic> {
        let mut all: Vec<&Diagnostic> = self.all.iter().collect();
        all.sort_by_key(|d| match d.place() {
            Some(span) => (0, span.source, span.start),
            None => (1, Default::default(), 0),
        });
        all
    }
}

impl Extend<Diagnostic> for Diagnostics {
    fn extend<I: IntoIterator<Item = Diagnostic>>(&mut self, more: I) {
        self.all.extend(more);
    }
}

impl FromIterator<Diagnostic> for Diagnostics {
    fn from_iter<I: IntoIterator<Item = Diagnostic>>(all: I) -> Self {
        Diagnostics { all: all.into_iter().collect() }
    }
}

impl From<Diagnostic> for Diagnostics {
    fn from(one: Diagnostic) -> Self {
        Diagnostics { all: vec![one] }
    }
}

impl IntoIterator for Diagnostics {
    type Item = Diagnostic;
    type IntoIter = std::vec::IntoIter<Diagnostic>;

    fn into_iter(self) -> Self::IntoIter {
        self.all.into_iter()
    }
}

impl<'a> IntoIterator for &'a Diagnostics {
    type Item = &'a Diagnostic;
    type IntoIter = std::slice::Iter<'a, Diagnostic>;

    fn into_iter(self) -> Self::IntoIter {
        self.all.iter()
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::base::source::SourceId;

    #[test]
    fn sorted_by_source_then_offset_with_placeless_last() {
        let at = |source, start| Span::new(SourceId(source), start, start + 1);
        let mut found = Diagnostics::new();
        found.push(Diagnostic::warning(Code::NoFacts, "placeless"));
        found.push(Diagnostic::error(Code::UnknownName, "third").at(at(1, 0), ""));
        found.extend([
            Diagnostic::error(Code::UnknownName, "second").at(at(0, 9), ""),
            Diagnostic::error(Code::UnknownName, "first").at(at(0, 2), ""),
        ]);
        let titles: Vec<_> = found.sorted().iter().map(|d| d.title.as_str()).collect();
        assert_eq!(titles, ["first", "second", "third", "placeless"]);
        assert!(found.has_errors());
        assert_eq!(found.len(), 4);
    }
}
