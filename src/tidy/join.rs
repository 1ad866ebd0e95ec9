//! The blanks between the tokens of one line.

use super::token::{Token, What};

/// How a colon stands.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Colons {
    /// Behind its word.
    Close,
    /// The first one free, as in the heads of series and amounts.
    FirstFree,
    /// Those in braces free, as in a thing on one line.
    FreeInBraces,
}

/// The tokens as one text.
pub(super) fn join(tokens: &[Token<'_>], colons: Colons) -> String {
    let mut line = String::new();
    let (mut depth, mut seen) = (0_usize, false);
    for (at, token) in tokens.iter().enumerate() {
        let free = match colons {
            Colons::Close => false,
            Colons::FirstFree => !seen,
            Colons::FreeInBraces => depth == 1,
        };
        if token.is("{") {
            depth += 1;
        } else if token.is("}") {
            depth = depth.saturating_sub(1);
        } else if token.is(":") {
            seen = true;
        }
        if at > 0 && blank(tokens, at, free) {
            line.push(' ');
        }
        line.push_str(token.text);
    }
    line
}

/// Whether a blank stands before the token at this place.
fn blank(tokens: &[Token<'_>], at: usize, free: bool) -> bool {
    let (before, token) = (&tokens[at - 1], &tokens[at]);
    // `( A )` is a condition and `(A)` a label.
    let lone = |open: usize| {
        let [open, word, close] = tokens.get(open..open + 3).unwrap_or(&[]) else { return false };
        open.is("(") && close.is(")") && word.what == What::Word && word.text.len() <= 6
    };
    if (before.is("(") && lone(at - 1)) || (token.is(")") && at >= 2 && lone(at - 2)) {
        return token.apart;
    }
    match (before.what, token.what) {
        _ if token.is(":") => free,
        _ if token.is(",") || token.is(";") || token.is(")") || before.is("(") => false,
        _ if [",", ";", ":", "{", "}", "|", "=", "<", "+", "*"].iter().any(|sign| before.is(sign)) => true,
        _ if ["{", "}", "|", "=", "<", "+", "*"].iter().any(|sign| token.is(sign)) => true,
        (What::Text, _) | (_, What::Text) => true,
        // `6 ft (1.8 m)`: a unit behind its number, and not the head of a number such as `517.13(B)`.
        (What::Word, _) if token.is("(") && at >= 2 && is_unit_of(&tokens[at - 2], before) => true,
        (What::Word, _) if token.is("%") => !before.text.ends_with('/') || token.apart,
        (What::Sign, What::Word) if before.is(")") && token.text.starts_with(|c: char| c.is_ascii_alphabetic()) => true,
        _ => token.apart,
    }
}

fn is_unit_of(number: &Token<'_>, unit: &Token<'_>) -> bool {
    number.what == What::Word
        && number.text.starts_with(|c: char| c.is_ascii_digit())
        && unit.apart
        && unit.text.chars().all(|c| c.is_ascii_alphabetic())
}
