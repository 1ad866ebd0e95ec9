//! Text for a person: inks, filling, and lists cut short. Nothing here looks at a terminal.

use crate::diag::{Charset, Colour, Look};

/// With what ink a word is set.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Ink {
    Strong,
    Faint,
    Bad,
    Open,
    Good,
}

/// Text in the making.
pub(super) struct Page<'l> {
    pub(super) look: &'l Look,
    pub(super) text: String,
}

impl<'l> Page<'l> {
    pub(super) fn new(look: &'l Look) -> Page<'l> {
        Page { look, text: String::new() }
    }

    /// A word in an ink, if there are inks.
    pub(super) fn inked(&self, text: &str, ink: Ink) -> String {
        let code = match (self.look.colour, ink) {
            (Colour::Off, _) => return text.to_string(),
            (Colour::On, Ink::Strong) => "1",
            (Colour::On, Ink::Faint) => "2",
            (Colour::On, Ink::Bad) => "1;31",
            (Colour::On, Ink::Open) => "33",
            (Colour::On, Ink::Good) => "32",
        };
        format!("\u{1b}[{code}m{text}\u{1b}[0m")
    }

    /// A line as it is.
    pub(super) fn line(&mut self, text: &str) {
        self.text.push_str(text.trim_end());
        self.text.push('\n');
    }

    /// A heading.
    pub(super) fn head(&mut self, text: &str, ink: Ink) {
        let width = self.look.width;
        for line in textwrap::wrap(text, width) {
            let line = self.inked(&line, ink);
            self.line(&line);
        }
    }

    /// Text filled to the width.
    pub(super) fn fill(&mut self, text: &str, first: &str, rest: &str) {
        let options = textwrap::Options::new(self.look.width)
            .initial_indent(first)
            .subsequent_indent(rest)
            .break_words(false)
            .word_separator(textwrap::WordSeparator::AsciiSpace)
            .word_splitter(textwrap::WordSplitter::NoHyphenation);
        for line in textwrap::wrap(text, options) {
            self.text.push_str(line.trim_end());
            self.text.push('\n');
        }
    }

    /// Words beside what they mean, the words in one column.
    pub(super) fn columns(&mut self, rows: &[(String, String)]) {
        let widest = rows.iter().map(|(word, _)| word.chars().count()).filter(|w| *w <= 34).max().unwrap_or(0);
        let rest = " ".repeat(widest + 4);
        for (word, about) in rows {
            if about.is_empty() {
                self.line(&format!("  {word}"));
            } else if word.chars().count() > widest {
                self.line(&format!("  {word}"));
                self.fill(about, &rest, &rest);
            } else {
                self.fill(about, &format!("  {word:<widest$}  "), &rest);
            }
        }
    }

    /// The arrow between two states.
    pub(super) fn arrow(&self) -> &'static str {
        match self.look.charset {
            Charset::Unicode => "\u{2192}",
            Charset::Ascii => "->",
        }
    }
}

/// Names joined by commas, cut where there are many.
pub(super) fn few(names: &[&str]) -> String {
    const SHOWN: usize = 6;
    let mut text = names.iter().take(SHOWN).copied().collect::<Vec<_>>().join(", ");
    if names.len() > SHOWN {
        text.push_str(&format!(" and {} more", names.len() - SHOWN));
    }
    text
}

/// A count and its noun.
pub(super) fn counted(count: usize, one: &str, many: &str) -> String {
    if count == 1 { format!("1 {one}") } else { format!("{count} {many}") }
}
