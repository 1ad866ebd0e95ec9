//! A source made fit to be shown: line table, nothing that a terminal would obey, labels clamped to what exists.

use std::collections::BTreeMap;

use super::Diagnostic;
use crate::base::source::{Source, SourceId, Sources, Span};

/// Lines longer than this many bytes are shown as a window around the label.
const LONG_LINE: usize = 400;
/// Bytes of a long line shown on either side of a label.
const AROUND: usize = 60;
/// Longest label, in bytes, drawn on a long line.
const LONGEST_LABEL: usize = 120;
/// Most lines that one label may cover when drawn; beyond, only its first line is marked.
const MOST_LINES: usize = 8;

/// The sources that labels name.
pub(super) type Excerpts = BTreeMap<SourceId, Excerpt>;

/// Prepares every source that a label of these diagnostics names.
pub(super) fn excerpts(diagnostics: &[&Diagnostic], sources: &Sources) -> Excerpts {
    let mut all = Excerpts::new();
    for label in diagnostics.iter().flat_map(|d| &d.labels) {
        let id = label.span.source;
        if let Some(source) = sources.get(id).filter(|_| !all.contains_key(&id)) {
            all.insert(id, Excerpt::new(source));
        }
    }
    all
}

/// One source, prepared once per report. Byte offsets are those of the source: every replaced character keeps its length.
#[derive(Debug)]
pub(super) struct Excerpt {
    /// The name of the source, fit to be shown.
    pub(super) name: String,
    /// The text, always with a final line end.
    text: String,
    /// Length of the source itself.
    length: usize,
    /// Where each line begins.
    starts: Vec<usize>,
}

/// Bytes to show, with the zero-based line on which they begin.
#[derive(Debug, PartialEq, Eq)]
pub(super) struct Window<'a> {
    pub(super) text: &'a str,
    pub(super) start: usize,
    pub(super) line: usize,
    pub(super) lines: usize,
}

impl Excerpt {
    pub(super) fn new(source: &Source) -> Excerpt {
        let mut text = same_length(&source.text);
        let length = text.len();
        let starts = std::iter::once(0).chain(text.match_indices('\n').map(|(at, _)| at + 1)).collect();
        if !text.ends_with('\n') {
            text.push('\n');
        }
        Excerpt { name: one_line(&source.name), text, length, starts }
    }

    /// The range of a span within the source, on character boundaries. Past the end counts as the end.
    pub(super) fn range(&self, span: Span) -> (usize, usize) {
        let start = self.boundary((span.start as usize).min(self.length));
        let end = self.boundary((span.end as usize).min(self.length));
        (start, end.max(start))
    }

    /// The range to draw for a span: always on an existing character (the final line end counts as one), without trailing blanks,
    /// and cut where it would fill the screen.
    pub(super) fn drawn(&self, span: Span) -> (usize, usize) {
        let (start, end) = self.range(span);
        let start = self.boundary(start.min(self.text.len() - 1));
        let mut end = end.max(start);
        let line = self.line_of(start);
        if self.line_of(end) - line >= MOST_LINES {
            end = self.line_end(line);
        }
        if self.line_end(line) - self.starts[line] > LONG_LINE {
            end = self.boundary(end.min(start + LONGEST_LABEL)).max(start);
        }
        let kept = start + self.text[start..end].trim_end().len();
        // A label on blanks alone keeps its first character, so that it stays visible.
        let first = self.text[start..end].chars().next().map_or(0, char::len_utf8);
        (start, kept.max(start + first))
    }

    /// One-based line and column (in characters) of an offset.
    pub(super) fn line_column(&self, offset: usize) -> (usize, usize) {
        let offset = self.boundary(offset);
        let line = self.line_of(offset);
        (line + 1, self.text[self.starts[line]..offset].chars().count() + 1)
    }

    /// What to show for the range with so many lines around it; `None` if that would be too much for one piece.
    pub(super) fn window(&self, start: usize, end: usize, before: usize, after: usize) -> Option<Window<'_>> {
        if start > end || end > self.text.len() {
            return None;
        }
        let first = self.line_of(start);
        let last = self.line_of(end.saturating_sub(1).max(start));
        if (first..=last).any(|line| self.is_long(line)) {
            if end - start > LONGEST_LABEL + LONG_LINE {
                return None;
            }
            let from = self.boundary(start.saturating_sub(AROUND).max(self.starts[first]));
            let to = self.boundary((end + AROUND).min(self.line_end(last))).max(end);
            return self.piece(from, to, first, last);
        }
        let top = (first.saturating_sub(before)..first).rev().take_while(|line| !self.is_long(*line)).last();
        let bottom = (last + 1..=last + after)
            .take_while(|line| self.starts.get(*line).is_some_and(|s| *s < self.text.len()) && !self.is_long(*line))
            .last();
        let (top, bottom) = (top.unwrap_or(first), bottom.unwrap_or(last));
        self.piece(self.starts[top], self.line_end(bottom), top, bottom)
    }

    fn piece(&self, from: usize, to: usize, first: usize, last: usize) -> Option<Window<'_>> {
        let text = self.text.get(from..to)?;
        Some(Window { text, start: from, line: first, lines: last - first + 1 })
    }

    fn is_long(&self, line: usize) -> bool {
        self.starts.get(line).is_some_and(|start| self.line_end(line) - start > LONG_LINE)
    }

    fn line_of(&self, offset: usize) -> usize {
        self.starts.partition_point(|start| *start <= offset).saturating_sub(1)
    }

    fn line_end(&self, line: usize) -> usize {
        self.starts.get(line + 1).copied().unwrap_or(self.text.len())
    }

    fn boundary(&self, offset: usize) -> usize {
        let mut offset = offset.min(self.text.len());
        while !self.text.is_char_boundary(offset) {
            offset -= 1;
        }
        offset
    }
}

/// A text on one line, without anything that a terminal would obey.
pub(super) fn one_line(text: &str) -> String {
    same_length(text).replace(['\n', '\r', '\t'], " ")
}

/// The text with every control or direction-changing character replaced by a visible one of the same length in bytes.
pub(super) fn same_length(text: &str) -> String {
    if text.bytes().all(|b| matches!(b, b'\n' | b'\t' | b' '..=b'~')) {
        return text.to_owned();
    }
    let mut shown = String::with_capacity(text.len());
    let mut rest = text.chars().peekable();
    while let Some(c) = rest.next() {
        shown.push(match c {
            '\n' | '\t' => c,
            '\r' if rest.peek() == Some(&'\n') => c,
            '\0'..='\u{1f}' | '\u{7f}' => '?',
            '\u{80}'..='\u{9f}' => '\u{b7}',
            '\u{61c}' => '\u{b7}',
            '\u{200b}'..='\u{200f}' | '\u{2028}'..='\u{202e}' | '\u{2060}'..='\u{206f}' | '\u{feff}' => '\u{fffd}',
            _ => c,
        });
    }
    shown
}

#[cfg(test)]
mod tests {
    use super::*;

    fn excerpt(text: &str) -> Excerpt {
        Excerpt::new(&Source { name: "a".into(), text: text.into() })
    }

    fn span(start: usize, end: usize) -> Span {
        Span::new(SourceId(0), start, end)
    }

    #[test]
    fn replaced_characters_keep_their_length() {
        let text = "a\u{1b}[31m\u{9b}\u{202e}\u{feff}\u{61c}\r\n\r\u{7f}\u{bd}";
        let shown = same_length(text);
        assert_eq!(shown.len(), text.len());
        assert!(shown.chars().all(|c| !c.is_control() || "\r\n".contains(c)));
        assert_eq!(shown.matches('\r').count(), 1);
    }

    #[test]
    fn drawn_ranges_stay_inside() {
        for text in ["", "a", "a\n", "\n\n", "\u{bd}", "\u{bd}\n", "one\ntwo"] {
            let page = excerpt(text);
            for start in 0..12 {
                for end in 0..12 {
                    let (from, to) = page.drawn(span(start, end));
                    assert!(from < page.text.len() && from <= to && to <= page.text.len(), "{text:?} {start} {end}");
                    assert!(page.window(from, to, 1, 1).is_some_and(|w| !w.text.is_empty()));
                }
            }
        }
    }

    #[test]
    fn line_and_column_agree_with_the_sources() {
        let text = "one\n\u{bd} two\r\n\nlast";
        let mut sources = Sources::default();
        let id = sources.add("a", text);
        let page = excerpt(text);
        for offset in 0..=text.len() {
            assert_eq!(page.line_column(offset), sources.line_column(id, offset as u32), "{offset}");
        }
    }

    #[test]
    fn a_long_line_is_shown_as_a_window() {
        let text = format!("short\n{}\nshort", "\u{bd}".repeat(500_000));
        let page = excerpt(&text);
        let (from, to) = page.drawn(span(400_001, 900_000));
        assert!(to - from <= LONGEST_LABEL);
        assert!(page.window(from, to, 1, 1).is_some_and(|w| w.text.len() < 400 && w.lines == 1));
        assert!(page.window(10, 900_000, 1, 1).is_none());
        assert_eq!(page.window(0, 5, 1, 1).map(|w| w.text), Some("short\n"));
    }
}
