//! Diagnostics drawn for people. The only place that knows miette.

use std::fmt;

use miette::{
    GraphicalReportHandler, GraphicalTheme, LabeledSpan, MietteError, MietteSpanContents, SourceSpan, ThemeCharacters,
    ThemeStyles,
};

use super::excerpt::{Excerpt, Excerpts, excerpts, one_line, same_length};
use super::{Diagnostic, Diagnostics, Severity};
use crate::base::source::{SourceId, Sources};

/// Whether to colour.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Colour {
    /// With terminal colours.
    On,
    /// Without any escape sequence.
    #[default]
    Off,
}

/// With which characters lines are drawn. Source text is shown as it is either way.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Charset {
    /// Box-drawing characters.
    #[default]
    Unicode,
    /// ASCII only.
    Ascii,
}

/// How diagnostics are drawn.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Look {
    /// Whether to colour.
    pub colour: Colour,
    /// Columns to wrap at; at least 40 and at most 1000 are used. Source lines are not wrapped.
    pub width: usize,
    /// The characters to draw with.
    pub charset: Charset,
}

impl Default for Look {
    fn default() -> Self {
        Look { colour: Colour::Off, width: 100, charset: Charset::Unicode }
    }
}

impl Look {
    fn columns(&self) -> usize {
        self.width.clamp(40, 1000)
    }
}

/// Draws the diagnostics in the order of their places, a blank line between two. Beyond [`Diagnostics::SHOWN`] the rest is counted.
/// The result is empty or ends with a line end, and depends on nothing but the arguments.
pub fn render(diagnostics: &Diagnostics, sources: &Sources, look: &Look) -> String {
    let sorted = diagnostics.sorted();
    let shown = &sorted[..sorted.len().min(Diagnostics::SHOWN)];
    let excerpts = excerpts(shown, sources);
    let handler = handler(look);
    let mut drawn = String::new();
    for (number, diagnostic) in shown.iter().enumerate() {
        if number > 0 {
            drawn.push('\n');
        }
        draw(&mut drawn, diagnostic, &excerpts, &handler, look);
    }
    let more = sorted.len() - shown.len();
    if more > 0 {
        drawn.push_str(&format!("\n  {more} more not shown\n"));
    }
    drawn
}

fn handler(look: &Look) -> GraphicalReportHandler {
    let styles = match look.colour {
        Colour::On => ThemeStyles::ansi(),
        Colour::Off => ThemeStyles::none(),
    };
    let characters = match look.charset {
        Charset::Unicode => ThemeCharacters::unicode(),
        Charset::Ascii => ThemeCharacters::ascii(),
    };
    GraphicalReportHandler::new_themed(GraphicalTheme { characters, styles })
        .with_links(false)
        .with_urls(false)
        .with_width(look.columns())
        .without_cause_chain()
        .without_syntax_highlighting()
}

fn draw(out: &mut String, diagnostic: &Diagnostic, excerpts: &Excerpts, handler: &GraphicalReportHandler, look: &Look) {
    let title = format!("{} {}: {}", diagnostic.severity.as_str(), diagnostic.code, one_line(&diagnostic.title));
    let primary = diagnostic.place().map(|span| span.source);
    let main = Piece::new(title, diagnostic.severity, primary, diagnostic, excerpts, look);
    let related = others(diagnostic, primary).into_iter().filter_map(|id| {
        let title = format!("see also {}", excerpts.get(&id)?.name);
        Some(Piece::new(title, Severity::Advice, Some(id), diagnostic, excerpts, look))
    });
    for piece in std::iter::once(main).chain(related) {
        let before = out.len();
        if handler.render_report(out, &piece).is_err() {
            out.truncate(before);
            out.push_str(&format!("  {piece}\n"));
        }
    }
    for label in diagnostic.labels.iter().filter(|l| !excerpts.contains_key(&l.span.source) && !l.text.is_empty()) {
        footer(out, "note: ", &label.text, look);
    }
    if let Some(help) = &diagnostic.help {
        footer(out, "help: ", help, look);
    }
    for note in &diagnostic.notes {
        footer(out, "note: ", note, look);
    }
    footer(out, "", &format!("`{}` explains", diagnostic.page_command()), look);
}

/// Sources beside the primary one, in the order in which labels name them.
fn others(diagnostic: &Diagnostic, primary: Option<SourceId>) -> Vec<SourceId> {
    let mut all = Vec::new();
    for id in diagnostic.labels.iter().map(|label| label.span.source) {
        if Some(id) != primary && !all.contains(&id) {
            all.push(id);
        }
    }
    all
}

fn footer(out: &mut String, lead: &str, text: &str, look: &Look) {
    let (on, off) = match look.colour {
        Colour::On if !lead.is_empty() => ("\u{1b}[36m", "\u{1b}[0m"),
        Colour::On | Colour::Off => ("", ""),
    };
    let indent = " ".repeat(2 + lead.len());
    let text = same_length(text).replace('\t', " ");
    let options = textwrap::Options::new(look.columns()).initial_indent(&indent).subsequent_indent(&indent);
    let filled = textwrap::fill(text.trim_end(), options);
    let body = filled.get(indent.len()..).unwrap_or("");
    out.push_str(&format!("  {on}{lead}{off}{body}\n"));
}

/// The part of a diagnostic that lies in one source, as miette wants it.
#[derive(Debug)]
struct Piece<'a> {
    title: String,
    severity: Severity,
    excerpt: Option<&'a Excerpt>,
    labels: Vec<LabeledSpan>,
}

impl<'a> Piece<'a> {
    fn new(
        title: String,
        severity: Severity,
        source: Option<SourceId>,
        diagnostic: &Diagnostic,
        excerpts: &'a Excerpts,
        look: &Look,
    ) -> Piece<'a> {
        let excerpt = source.and_then(|id| excerpts.get(&id));
        let here = diagnostic.labels.iter().filter(|label| Some(label.span.source) == source);
        let mut labels: Vec<LabeledSpan> = Vec::new();
        if let Some(excerpt) = excerpt {
            for label in here {
                let (start, end) = excerpt.drawn(label.span);
                let text = (!label.text.is_empty()).then(|| label_text(&label.text, start, end, excerpt, look));
                labels.push(match labels.is_empty() {
                    true => LabeledSpan::new_primary_with_span(text, (start, end - start)),
                    false => LabeledSpan::new_with_span(text, (start, end - start)),
                });
            }
        }
        Piece { title, severity, excerpt, labels }
    }
}

/// The text of a label, wrapped to the columns right of its place.
fn label_text(text: &str, start: usize, end: usize, excerpt: &Excerpt, look: &Look) -> String {
    let (line, column) = excerpt.line_column(start);
    let (end_line, end_column) = excerpt.line_column(end);
    let middle = if line == end_line { column.midpoint(end_column) } else { 0 };
    // Line number, gutter and the hook in front of the text.
    let left = end_line.to_string().len() + 12 + middle;
    let columns = look.columns().saturating_sub(left).max(24);
    textwrap::fill(&one_line(text), columns)
}

impl fmt::Display for Piece<'_> {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&self.title)
    }
}

impl std::error::Error for Piece<'_> {}

impl miette::Diagnostic for Piece<'_> {
    fn severity(&self) -> Option<miette::Severity> {
        Some(match self.severity {
            Severity::Error => miette::Severity::Error,
            Severity::Warning => miette::Severity::Warning,
            Severity::Advice => miette::Severity::Advice,
        })
    }

    fn source_code(&self) -> Option<&dyn miette::SourceCode> {
        self.excerpt.map(|excerpt| excerpt as &dyn miette::SourceCode)
    }

    fn labels(&self) -> Option<Box<dyn Iterator<Item = LabeledSpan> + '_>> {
        Some(Box::new(self.labels.iter().cloned()))
    }
}

impl miette::SourceCode for Excerpt {
    fn read_span<'a>(
        &'a self,
        span: &SourceSpan,
        before: usize,
        after: usize,
    ) -> Result<Box<dyn miette::SpanContents<'a> + 'a>, MietteError> {
        let (start, end) = (span.offset(), span.offset() + span.len());
        let window = self.window(start, end, before, after).ok_or(MietteError::OutOfBounds)?;
        // Asked for no lines around, miette wants the place of the label itself, for the heading.
        let (line, column) = if before == 0 && after == 0 {
            let (line, column) = self.line_column(start);
            (line - 1, column - 1)
        } else {
            (window.line, 0)
        };
        let covered = SourceSpan::from((window.start, window.text.len()));
        let name = self.name.clone();
        Ok(Box::new(MietteSpanContents::new_named(name, window.text.as_bytes(), covered, line, column, window.lines)))
    }
}

#[cfg(test)]
mod tests {
    use std::time::{Duration, Instant};

    use super::*;
    use crate::base::source::Span;
    use crate::diag::Code;

    fn one(text: &str, start: usize, end: usize) -> String {
        let mut sources = Sources::default();
        let id = sources.add("a.rulebook", text);
        let found = Diagnostic::error(Code::UnknownName, "wrong").at(Span::new(id, start, end), "here");
        render(&found.into(), &sources, &Look::default())
    }

    #[test]
    fn the_whole_picture() {
        let mut sources = Sources::default();
        let id = sources.add(
            "demo.rulebook",
            "section 1.1 \"Height\" {\n    governs outlet\n    requires hight at least 4 ft\n}\n",
        );
        let found = Diagnostic::error(Code::UnknownField, "outlet has no field `hight`")
            .at(Span::new(id, 55, 60), "no such field")
            .help("write `height`")
            .note("an outlet has height, wet");
        let look = Look { charset: Charset::Ascii, ..Look::default() };
        let expected = "  x error E0206: outlet has no field `hight`
   ,-[demo.rulebook:3:14]
 2 |     governs outlet
 3 |     requires hight at least 4 ft
   :              ^^|^^
   :                `-- no such field
 4 | }
   `----
  help: write `height`
  note: an outlet has height, wet
  `whereas why E0206` explains
";
        assert_eq!(render(&found.into(), &sources, &look), expected);
    }

    #[test]
    fn labels_at_and_past_the_end_stay_visible() {
        for text in ["", "a", "a\n", "\n", "section\r\n", "\u{bd}", "a\n\n\n"] {
            for (start, end) in
                [(0, 0), (1, 1), (2, 2), (3, 3), (4, 90), (90, 90), (90, 2), (4_000_000_000, 9_000_000_000)]
            {
                let drawn = one(text, start, end);
                assert!(drawn.contains("here"), "{text:?} {start}..{end}\n{drawn}");
                assert!(drawn.contains("a.rulebook:"), "{text:?} {start}..{end}\n{drawn}");
            }
        }
    }

    #[test]
    fn a_second_source_is_shown_too() {
        let mut sources = Sources::default();
        let base = sources.add("base.rulebook", "limit reach = 6 ft\n");
        let local = sources.add("local.rulebook", "in 1.1: height was 5 ft\n");
        let found = Diagnostic::error(Code::UnknownSection, "the base says otherwise")
            .at(Span::new(local, 19, 23), "expects this")
            .at(Span::new(base, 14, 18), "stands here");
        let drawn = render(&found.into(), &sources, &Look::default());
        let places: Vec<_> = [
            "local.rulebook:1:20",
            "expects this",
            "see also base.rulebook",
            "base.rulebook:1:15",
            "stands here",
            "why",
        ]
        .iter()
        .map(|part| drawn.find(part))
        .collect();
        assert!(places.iter().all(Option::is_some) && places.is_sorted(), "{drawn}");
    }

    #[test]
    fn labels_of_any_shape_are_drawn_without_panic() {
        let text = "alpha beta\n\tgamma \u{bd} delta\n\n    epsilon\nzeta";
        let mut sources = Sources::default();
        let id = sources.add("a", text);
        for start in 0..=text.len() + 1 {
            for end in (0..=text.len() + 1).step_by(3) {
                let found = Diagnostic::warning(Code::RowsOverlap, "two")
                    .at(Span::new(id, start, end), "first\nof two")
                    .at(Span::new(id, end, end + 4), "second")
                    .at(Span::new(id, 3, 30), "");
                assert!(render(&found.into(), &sources, &Look { width: 0, ..Look::default() }).contains("E0405"));
            }
        }
    }

    #[test]
    fn nothing_reaches_the_terminal_but_text() {
        let drawn = one("a \u{1b}[31m\u{202e} b", 2, 7);
        assert!(!drawn.contains('\u{1b}') && !drawn.contains('\u{202e}'), "{drawn}");
        let mut sources = Sources::default();
        let id = sources.add("\u{1b}]0;x\u{7}", "text");
        let found = Diagnostic::error(Code::UnknownName, "\u{1b}[2J")
            .at(Span::new(id, 0, 4), "\u{1b}[2J")
            .help("\u{1b}[2J")
            .note("\u{9b}2J");
        let drawn = render(&found.clone().into(), &sources, &Look::default());
        assert!(drawn.chars().all(|c| !c.is_control() || c == '\n'), "{drawn}");
        let coloured = render(&found.into(), &sources, &Look { colour: Colour::On, ..Look::default() });
        assert!(coloured.contains("\u{1b}[") && !coloured.contains("\u{1b}[2J") && !coloured.contains("\u{1b}]"));
    }

    #[test]
    fn unlabelled_and_foreign_labels_are_told() {
        let sources = Sources::default();
        let foreign =
            Diagnostic::error(Code::NoFacts, "nothing to inspect").at(Span::new(SourceId(7), 1, 2), "given elsewhere");
        let drawn = render(&foreign.into(), &sources, &Look::default());
        assert!(drawn.contains("nothing to inspect") && drawn.contains("note: given elsewhere"), "{drawn}");
        let drawn = render(&Diagnostic::error(Code::NoFacts, "none").into(), &sources, &Look::default());
        assert_eq!(drawn, "  \u{d7} error E0602: none\n  `whereas why E0602` explains\n");
    }

    #[test]
    fn width_holds_for_prose() {
        let mut sources = Sources::default();
        let id = sources.add("a", "section 1.1\n");
        let long = "a fairly long explanation ".repeat(12);
        let found = Diagnostic::error(Code::UnknownName, long.clone())
            .at(Span::new(id, 0, 7), long.clone())
            .help(long.clone())
            .note(long);
        let drawn = render(&found.into(), &sources, &Look { width: 60, ..Look::default() });
        assert!(drawn.lines().all(|l| l.chars().count() <= 60), "{drawn}");
    }

    #[test]
    fn beyond_the_cap_the_rest_is_counted() {
        let mut sources = Sources::default();
        let id = sources.add("a", "x");
        let many: Diagnostics =
            (0..130).map(|_| Diagnostic::error(Code::UnknownName, "unknown").at(Span::new(id, 0, 1), "")).collect();
        let drawn = render(&many, &sources, &Look::default());
        assert_eq!(drawn.matches("error E0201").count(), Diagnostics::SHOWN);
        assert!(drawn.ends_with("\n  30 more not shown\n"));
        assert_eq!(crate::diag::to_json(&many, &sources).as_array().map(Vec::len), Some(130));
    }

    #[test]
    fn the_end_of_a_big_file_costs_little_more_than_its_start() {
        let text = "    requires height at least 4 ft\n".repeat(60_000);
        let mut sources = Sources::default();
        let id = sources.add("big.rulebook", text.clone());
        let took = |from: usize| -> Duration {
            let many: Diagnostics = (0..100)
                .map(|n| {
                    Diagnostic::error(Code::UnknownName, "unknown")
                        .at(Span::new(id, from + 34 * n, from + 34 * n + 4), "here")
                })
                .collect();
            let start = Instant::now();
            assert!(render(&many, &sources, &Look::default()).contains("big.rulebook"));
            start.elapsed()
        };
        let (first, last) = (took(0), took(text.len() - 3434));
        assert!(last < first * 50 + Duration::from_millis(20), "{first:?} {last:?}");
    }

    #[test]
    fn two_labels_far_apart_on_one_endless_line() {
        let drawn = {
            let mut sources = Sources::default();
            let id = sources.add("a.json", "x".repeat(1_000_000));
            let found = Diagnostic::error(Code::FactNameTwice, "twice")
                .at(Span::new(id, 900_000, 900_005), "again")
                .at(Span::new(id, 100, 105), "first");
            render(&found.into(), &sources, &Look::default())
        };
        assert!(drawn.contains("again") && drawn.contains("first") && drawn.len() < 2_000, "{}", drawn.len());
    }
}
