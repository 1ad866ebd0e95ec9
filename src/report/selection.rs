//! A selection as text.

use super::CAUTION;
use super::view::{Governed, PossibleBooks, Selection, VERSION};
use crate::diag::{Colour, Look};

/// With more possible outcomes than this their reasons are left to the JSON.
const SHOWN: usize = 3;

/// The selection as a view of its own.
pub fn governed(selection: Selection) -> Governed {
    Governed { version: VERSION, selection, caution: CAUTION.to_string() }
}

/// Draws which books govern and why, with the caution.
pub fn selection(selection: &Selection, look: &Look) -> String {
    selections(std::slice::from_ref(selection), look)
}

/// Draws the same for several places, one after another, with one caution.
pub fn selections(all: &[Selection], look: &Look) -> String {
    let mut text = String::new();
    for (at, selection) in all.iter().enumerate() {
        if at > 0 {
            text.push('\n');
        }
        headed(&mut text, selection, look);
    }
    text.push('\n');
    fill(&mut text, CAUTION, "", "", look);
    text
}

fn headed(text: &mut String, selection: &Selection, look: &Look) {
    let head = match (selection.place.as_str(), selection.title.as_str()) {
        ("", _) => String::new(),
        (place, "") => place.to_string(),
        (place, title) => format!("{title} ({place})"),
    };
    let stated = selection.stated.join(", ");
    let line = match (head.is_empty(), stated.is_empty()) {
        (true, _) => stated,
        (false, true) => head,
        (false, false) => format!("{head}: {stated}"),
    };
    if !line.is_empty() {
        fill(text, &line, "", "  ", look);
    }
    body(text, selection, look);
}

/// Draws the books and the reasons alone, without heading and caution, for a reader who asked a moment ago.
pub fn selection_entries(selection: &Selection, look: &Look) -> String {
    let mut text = String::new();
    body(&mut text, selection, look);
    text
}

/// The books and the reasons, without heading and caution.
pub(super) fn body(text: &mut String, selection: &Selection, look: &Look) {
    match selection.possible.as_slice() {
        [only] => {
            let governs = if only.books.len() == 1 { "governs" } else { "govern, both in force" };
            let line = format!("{} {governs}", strong(&only.books.join(" and "), look));
            fill(text, &line, "", "  ", look);
            reasons(text, only, look);
        }
        several => {
            fill(text, &strong("It is not settled which book governs", look), "", "  ", look);
            for possible in several {
                let books = match possible.books.as_slice() {
                    [] => "no book: nothing is adopted then".to_string(),
                    books => strong(&books.join(" and "), look),
                };
                let when =
                    if possible.when.is_empty() { String::new() } else { format!(", if {}", possible.when.join(", ")) };
                fill(text, &format!("{books}{when}"), "  ", "      ", look);
                if several.len() <= SHOWN {
                    reasons(text, possible, look);
                }
            }
            for ask in &selection.ask {
                let question = if ask.question.is_empty() { String::new() } else { format!(" - {}", ask.question) };
                fill(text, &format!("{}{question}", ask.say), "  state     ", "            ", look);
            }
        }
    }
}

fn reasons(text: &mut String, possible: &PossibleBooks, look: &Look) {
    for (at, reason) in possible.because.iter().enumerate() {
        let first = if at == 0 { "    because   " } else { "              " };
        let written = if reason.written.is_empty() { String::new() } else { format!(" [{}]", reason.written) };
        fill(text, &format!("{}{written}", reason.words), first, "              ", look);
    }
}

fn strong(words: &str, look: &Look) -> String {
    match look.colour {
        Colour::On => format!("\u{1b}[1m{words}\u{1b}[0m"),
        Colour::Off => words.to_string(),
    }
}

fn fill(text: &mut String, words: &str, first: &str, rest: &str, look: &Look) {
    let options = textwrap::Options::new(look.width)
        .initial_indent(first)
        .subsequent_indent(rest)
        .break_words(false)
        .word_separator(textwrap::WordSeparator::AsciiSpace)
        .word_splitter(textwrap::WordSplitter::NoHyphenation);
    for line in textwrap::wrap(words, options) {
        text.push_str(line.trim_end());
        text.push('\n');
    }
}
