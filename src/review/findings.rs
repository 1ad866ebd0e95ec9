//! Findings as they are made: each once, with the books it holds in.

use crate::base::source::{Sources, Span};
use crate::diag::{Code, Diagnostic};
use std::collections::BTreeMap;

/// A finding, and the books it was made in.
#[derive(Debug, Clone)]
pub(super) struct Found {
    pub(super) diagnostic: Diagnostic,
    pub(super) books: Vec<String>,
}

/// All findings so far, by code and place.
#[derive(Debug, Default)]
pub(super) struct Findings {
    all: BTreeMap<(Code, Span), Found>,
}

impl Findings {
    /// Adds a finding made in a book. One of the same code at the same place is the same finding.
    pub(super) fn add(&mut self, book: &str, diagnostic: Diagnostic) {
        let Some(place) = diagnostic.place() else { return };
        let found = self.all.entry((diagnostic.code, place)).or_insert(Found { diagnostic, books: Vec::new() });
        if !book.is_empty() && !found.books.iter().any(|b| b == book) {
            found.books.push(book.to_string());
        }
    }

    /// How many there are.
    pub(super) fn len(&self) -> usize {
        self.all.len()
    }

    /// All of them by code, then by place. Of what stands over several lines the first is shown.
    pub(super) fn done(self, sources: &Sources) -> Vec<Found> {
        let mut all: Vec<Found> = self.all.into_values().collect();
        for label in all.iter_mut().flat_map(|found| &mut found.diagnostic.labels) {
            let text = sources.slice(label.span);
            let first = text.lines().next().unwrap_or("").trim_end().trim_end_matches('{').trim_end();
            if first.len() < text.trim_end().len() && !first.is_empty() {
                let start = label.span.start as usize;
                label.span = Span::new(label.span.source, start, start + first.len());
            }
        }
        all
    }
}

/// Words of a rule in a title: on one line, and not too many.
pub(super) fn short(words: &str) -> String {
    const MOST: usize = 70;
    if words.chars().count() <= MOST {
        return words.to_string();
    }
    let cut: String = words.chars().take(MOST).collect();
    format!("{} …", cut.rsplit_once(' ').map_or(cut.as_str(), |(before, _)| before))
}
