//! Source texts and places in them. Texts are held here and nowhere read from disk.

/// Number of a source within [`Sources`].
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord, Default)]
pub struct SourceId(pub u32);

/// A half-open byte range of one source.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord, Default)]
pub struct Span {
    /// The source the range lies in.
    pub source: SourceId,
    /// First byte.
    pub start: u32,
    /// One past the last byte.
    pub end: u32,
}

impl Span {
    /// A span over `start..end` of `source`.
    pub fn new(source: SourceId, start: usize, end: usize) -> Span {
        let clamp = |n: usize| u32::try_from(n).unwrap_or(u32::MAX);
        Span { source, start: clamp(start), end: clamp(end) }
    }

    /// Whether another lies in it.
    pub fn contains(self, other: Span) -> bool {
        self.source == other.source && self.start <= other.start && other.end <= self.end
    }

    /// The smallest span that covers both; `self` if they lie in different sources.
    pub fn to(self, other: Span) -> Span {
        if self.source != other.source {
            return self;
        }
        Span { source: self.source, start: self.start.min(other.start), end: self.end.max(other.end) }
    }
}

/// A named text.
#[derive(Debug, Clone)]
pub struct Source {
    /// What a person calls it: a path, or a name such as `standard input`.
    pub name: String,
    /// The whole text.
    pub text: String,
}

/// All texts of one run, by number.
#[derive(Debug, Clone, Default)]
pub struct Sources {
    all: Vec<Source>,
}

impl Sources {
    /// Adds a text and returns its number.
    pub fn add(&mut self, name: impl Into<String>, text: impl Into<String>) -> SourceId {
        let id = SourceId(u32::try_from(self.all.len()).unwrap_or(u32::MAX));
        self.all.push(Source { name: name.into(), text: text.into() });
        id
    }

    /// Forgets all texts but the first `kept`. Spans into the others show nothing from then on.
    pub fn truncate(&mut self, kept: usize) {
        self.all.truncate(kept);
    }

    /// How many texts there are.
    pub fn len(&self) -> usize {
        self.all.len()
    }

    /// Whether there is none.
    pub fn is_empty(&self) -> bool {
        self.all.is_empty()
    }

    /// The source with that number.
    pub fn get(&self, id: SourceId) -> Option<&Source> {
        self.all.get(id.0 as usize)
    }

    /// The text under a span; empty if the span does not fit.
    pub fn slice(&self, span: Span) -> &str {
        self.get(span.source).and_then(|s| s.text.get(span.start as usize..span.end as usize)).unwrap_or("")
    }

    /// One-based line and column (in characters) of a byte offset.
    pub fn line_column(&self, id: SourceId, offset: u32) -> (usize, usize) {
        let Some(source) = self.get(id) else { return (1, 1) };
        let mut end = (offset as usize).min(source.text.len());
        while !source.text.is_char_boundary(end) {
            end -= 1;
        }
        let before = &source.text[..end];
        let line = before.bytes().filter(|b| *b == b'\n').count() + 1;
        let column = before.rsplit('\n').next().unwrap_or("").chars().count() + 1;
        (line, column)
    }
}
