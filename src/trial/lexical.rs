//! A line by its looks, while it is typed: whether more must follow, and with what tint each piece is set.

use super::{CHANGES, DOCUMENTS};
use crate::base::unit;

/// Whether lines typed so far end inside a brace, a parenthesis, or behind a comma.
pub fn is_unfinished(text: &str) -> bool {
    let mut open = 0i64;
    let mut comma = false;
    for line in text.lines() {
        let mut quoted = false;
        for c in line.chars() {
            match c {
                '"' => quoted = !quoted,
                '#' if !quoted => break,
                '{' | '(' if !quoted => open += 1,
                '}' | ')' if !quoted => open -= 1,
                _ => {}
            }
            if !c.is_whitespace() {
                comma = c == ',' && !quoted;
            }
        }
        // An empty line ends what a comma left open, so that nobody is caught in it.
        if line.trim().is_empty() {
            comma = false;
        }
    }
    open > 0 || comma
}

/// How a piece of a line is tinted.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Tint {
    /// As it is.
    Plain,
    /// A word that starts a command or a change.
    Lead,
    /// A word of the language.
    Joint,
    /// A number, with its unit.
    Amount,
    /// A quoted text.
    Quote,
    /// A comment.
    Remark,
}

/// A piece of a line.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Piece<'t> {
    /// The letters.
    pub text: &'t str,
    /// Their tint.
    pub tint: Tint,
}

const JOINTS: &[&str] = &[
    "is",
    "at",
    "of",
    "or",
    "x",
    "not",
    "no",
    "and",
    "any",
    "all",
    "every",
    "some",
    "where",
    "when",
    "if",
    "more",
    "less",
    "larger",
    "smaller",
    "fewer",
    "exactly",
    "before",
    "after",
    "through",
    "by",
    "from",
    "across",
    "beyond",
    "per",
    "rounded",
    "count",
    "sum",
    "largest",
    "smallest",
    "table",
    "none",
    "seen",
    "memory",
    "disputed",
    "intended",
    "then",
    "instead",
    "to",
    "as",
    "requires",
    "prohibits",
    "permits",
    "notes",
    "unless",
    "governs",
    "was",
    "now",
    "unknown",
    "maybe",
    "least",
    "most",
    "for",
    "with",
    "yes",
];

/// Cuts lines into tinted pieces; together they are the text.
pub fn tints(text: &str) -> Vec<Piece<'_>> {
    let mut pieces = Vec::new();
    let mut rest = text;
    let mut first = true;
    let mut number_before = false;
    while let Some(c) = rest.chars().next() {
        let (length, tint) = if c == '#' {
            (rest.find('\n').unwrap_or(rest.len()), Tint::Remark)
        } else if c == '"' {
            let end = rest
                .get(1..)
                .and_then(|r| r.find(['"', '\n']))
                .map_or(rest.len(), |at| at + 1 + usize::from(rest.as_bytes().get(at + 1) == Some(&b'"')));
            (end, Tint::Quote)
        } else if c.is_alphanumeric() {
            let end = rest
                .char_indices()
                .find(|(_, c)| !(c.is_alphanumeric() || "-_./%".contains(*c)))
                .map_or(rest.len(), |(at, _)| at);
            let word = rest.get(..end).unwrap_or(rest);
            let tint = if c.is_ascii_digit() || number_before && unit::lookup(word).is_some() {
                Tint::Amount
            } else if first && leads(word) {
                Tint::Lead
            } else if JOINTS.contains(&word) {
                Tint::Joint
            } else {
                Tint::Plain
            };
            first = false;
            number_before = c.is_ascii_digit();
            (end, tint)
        } else {
            if !c.is_whitespace() {
                number_before = false;
                first = first && c == '\n';
            }
            (c.len_utf8(), Tint::Plain)
        };
        let length = length.max(c.len_utf8()).min(rest.len());
        let (piece, after) = rest.split_at(length);
        pieces.push(Piece { text: piece, tint });
        rest = after;
    }
    pieces
}

fn leads(word: &str) -> bool {
    CHANGES.contains(&word)
        || DOCUMENTS.contains(&word)
        || super::words::WORDS.iter().any(|told| told.name.split(' ').next() == Some(word))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn open_braces_and_commas_ask_for_more() {
        for unfinished in ["outlet R1 {", "in 210.8(A): volts was 125 V,", "figure (1 ft", "a {\n b: 1", "x: 1, # more"]
        {
            assert!(is_unfinished(unfinished), "{unfinished}");
        }
        for whole in ["", "ask", "outlet R1 { }", "a: \"{\"", "a: 1 # {", "a: 1,\n", "a: 1,\n\n", "}"] {
            // A line end behind a comma alone still waits; an empty line ends it.
            if whole == "a: 1,\n" {
                assert!(is_unfinished(whole));
            } else {
                assert!(!is_unfinished(whole), "{whole:?}");
            }
        }
    }

    #[test]
    fn pieces_make_the_text_again() {
        for text in
            ["why 517.13(A) # so", "a: \"un\nclosed", "3/4 in + 2 mm", "été { 20 A }", "\"", "#", "a\"b\"c 12 AWG"]
        {
            let joined: String = tints(text).iter().map(|p| p.text).collect();
            assert_eq!(joined, text);
        }
        assert_eq!(tints("why x").first().map(|p| p.tint), Some(Tint::Lead));
        assert_eq!(tints("x why").last().map(|p| p.tint), Some(Tint::Plain));
        assert_eq!(tints("20 A").iter().filter(|p| p.tint == Tint::Amount).count(), 2);
    }
}
