//! What became of each operation, as text.

use super::{Carried, Fate, Operation};
use crate::compare::signed_line;
use crate::diag::{Colour, Look};

/// Draws what became of an amendment: one entry for each operation, then what to do.
pub fn text(carried: &Carried, look: &Look) -> String {
    let mut page = Page { look, text: String::new() };
    let from = if carried.from.is_empty() { "every base" } else { &carried.from };
    page.fill(&format!("{}, from {from} to {}", carried.amendment, carried.to), "", "  ");
    page.fill(&carried.summary(), "", "  ");
    for operation in &carried.operations {
        page.text.push('\n');
        page.operation(operation);
    }
    page.text.push('\n');
    page.fill(&carried.caution, "", "");
    page.text
}

struct Page<'l> {
    look: &'l Look,
    text: String,
}

impl Page<'_> {
    fn fill(&mut self, text: &str, first: &str, rest: &str) {
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

    fn inked(&self, text: &str, code: &str) -> String {
        match self.look.colour {
            Colour::On => format!("\u{1b}[{code}m{text}\u{1b}[0m"),
            Colour::Off => text.to_string(),
        }
    }

    fn operation(&mut self, operation: &Operation) {
        let code = match operation.fate {
            Fate::Applies => "32",
            Fate::ChangedUnderneath => "1;33",
            Fate::Absorbed => "2",
            Fate::TargetGone => "1;31",
        };
        let fate = match (operation.fate, operation.moved.is_empty()) {
            (Fate::Applies, false) => "moved".to_string(),
            (fate, true) => fate.as_str().to_string(),
            (fate, false) => format!("moved, {}", fate.as_str()),
        };
        let place = if operation.place.is_empty() { String::new() } else { format!("  {}", operation.place) };
        let head = format!("{}{}", self.inked(&fate, code), self.inked(&place, "2"));
        self.fill(&head, "", "  ");
        let mut lines = operation.was.lines();
        if let Some(first) = lines.next() {
            self.fill(first, "  ", "      ");
        }
        for line in lines {
            self.text.push_str(&format!("  {line}\n"));
        }
        for moved in &operation.moved {
            self.fill(&format!("{} is now {}", moved.from, moved.to), "    ", "      ");
        }
        for note in &operation.notes {
            self.fill(note, "    ", "      ");
        }
        for line in &operation.underneath {
            self.fill(&signed_line(line, self.look.colour), "      ", "        ");
        }
    }
}
