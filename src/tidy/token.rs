//! Tokens of a text that is known to read: words, quoted texts, comments, and single characters for all else.

/// What a token is.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum What {
    /// A name, a number, a section number, or what stands in one.
    Word,
    /// A text with its quotes.
    Text,
    /// A comment with its `#`, without blanks behind it.
    Comment,
    /// One character.
    Sign,
}

/// A token and what stood before it.
#[derive(Debug, Clone, Copy)]
pub(super) struct Token<'t> {
    /// What it is.
    pub(super) what: What,
    /// As written.
    pub(super) text: &'t str,
    /// Whether anything blank stood before it.
    pub(super) apart: bool,
    /// Line ends before it.
    pub(super) ends: usize,
}

impl Token<'_> {
    /// Whether it is that sign or word.
    pub(super) fn is(&self, text: &str) -> bool {
        self.text == text && matches!(self.what, What::Sign | What::Word)
    }

    pub(super) fn is_comment(&self) -> bool {
        self.what == What::Comment
    }
}

/// Cuts a text. Of a text that does not read the tokens are of no use, but nothing goes wrong.
pub(super) fn cut(text: &str) -> Vec<Token<'_>> {
    let mut tokens = Vec::new();
    let (mut apart, mut ends) = (false, 0);
    let mut rest = text.strip_prefix('\u{feff}').unwrap_or(text);
    while let Some(first) = rest.chars().next() {
        let (what, length) = match first {
            '\n' => {
                ends += 1;
                apart = true;
                rest = &rest[1..];
                continue;
            }
            ' ' | '\t' | '\r' => {
                apart = true;
                rest = &rest[1..];
                continue;
            }
            '#' => (What::Comment, rest.find('\n').unwrap_or(rest.len())),
            '"' => (What::Text, rest[1..].find(['"', '\n']).map_or(rest.len(), |n| n + 2)),
            _ => match rest.find(|c| !is_of_word(c)).unwrap_or(rest.len()) {
                0 => (What::Sign, first.len_utf8()),
                length => (What::Word, length),
            },
        };
        let (text, behind) = rest.split_at(length);
        tokens.push(Token { what, text: text.trim_end(), apart, ends });
        (apart, ends) = (false, 0);
        rest = behind;
    }
    tokens
}

fn is_of_word(c: char) -> bool {
    c.is_ascii_alphanumeric() || matches!(c, '-' | '_' | '.' | '/') || !c.is_ascii()
}
