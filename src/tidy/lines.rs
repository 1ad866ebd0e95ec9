//! Where lines begin, how far they are set in, and which are kept apart by a blank line.

use super::Kind;
use super::token::{Token, What};

/// What the lines between two braces are.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Body {
    /// Statements, conditions, facts.
    Plain,
    /// Changes to a book.
    Changes,
    /// Editions that a place adopted, with what is granted around each.
    Place,
    /// Fields of a thing.
    Fields,
    /// Values one after another.
    Values,
    /// Options of a reading.
    Options,
    /// Rows of a table.
    Table,
    /// Rows of a grid of expectations.
    Grid,
}

/// One line to be.
#[derive(Debug)]
pub(super) struct Line<'t> {
    /// What it says.
    pub(super) code: Vec<Token<'t>>,
    /// The comment at its end, or all of it.
    pub(super) comment: Option<&'t str>,
    /// Whether a blank line stands before it.
    pub(super) blank: bool,
    /// How many steps it is set in.
    pub(super) indent: usize,
    /// Which braces it stands in, by a number of their own; 0 for none.
    pub(super) inside: usize,
    /// What those braces hold.
    pub(super) body: Body,
    /// Whether it carries on what the line before says.
    pub(super) continues: bool,
    /// The first word of what it says, `add` apart.
    pub(super) head: &'t str,
}

impl Line<'_> {
    /// Whether it begins with this.
    pub(super) fn begins(&self, sign: &str) -> bool {
        self.code.first().is_some_and(|t| t.is(sign))
    }

    /// Whether a brace stays open at its end.
    pub(super) fn opens(&self) -> bool {
        self.code.last().is_some_and(|t| t.is("{"))
    }

    /// An entry of facts: `name: value` or `name { … }`.
    fn is_entry(&self) -> bool {
        matches!(self.code.as_slice(), [name, next, ..] if name.what == What::Word && (next.is(":") || next.is("{")))
    }
}

/// Gathers the tokens into lines.
pub(super) fn lay<'t>(tokens: &[Token<'t>], kind: Kind) -> Vec<Line<'t>> {
    let mut lines = cut(tokens);
    set_in(&mut lines, kind);
    keep_apart(&mut lines, kind);
    lines
}

/// For each brace, whether its pair spans lines.
fn spanning(tokens: &[Token<'_>]) -> Vec<bool> {
    let mut spans = vec![false; tokens.len()];
    let (mut open, mut ends) = (Vec::new(), 0);
    for (at, token) in tokens.iter().enumerate() {
        ends += token.ends;
        if token.is("{") {
            open.push((at, ends));
        } else if token.is("}")
            && let Some((from, then)) = open.pop()
        {
            (spans[from], spans[at]) = (ends > then, ends > then);
        }
    }
    spans
}

fn cut<'t>(tokens: &[Token<'t>]) -> Vec<Line<'t>> {
    let spans = spanning(tokens);
    let mut lines: Vec<Line<'t>> = Vec::new();
    let mut opened = false;
    for (at, token) in tokens.iter().enumerate() {
        let breaks = token.ends > 0 || (opened && !token.is_comment()) || (token.is("}") && spans[at]);
        if breaks || lines.is_empty() {
            lines.push(Line {
                code: Vec::new(),
                comment: None,
                blank: token.ends > 1,
                indent: 0,
                inside: 0,
                body: Body::Plain,
                continues: false,
                head: "",
            });
            opened = false;
        }
        if let Some(line) = lines.last_mut() {
            match token.what {
                What::Comment => line.comment = Some(token.text),
                What::Word | What::Text | What::Sign => line.code.push(*token),
            }
        }
        opened |= token.is("{") && spans[at];
    }
    lines
}

/// What a line is by its words; a comment is what it speaks of, the next line that says something.
#[derive(Debug, Clone, Copy, Default)]
struct Ahead {
    closes: bool,
    is_entry: bool,
    /// In a place: the adoption of an edition.
    adopts: bool,
    /// In a place: what is granted around the adoption before it.
    grants: bool,
}

fn ahead(lines: &[Line<'_>]) -> Vec<Ahead> {
    let mut next = Ahead::default();
    let mut all = vec![next; lines.len()];
    for (at, line) in lines.iter().enumerate().rev() {
        if !line.code.is_empty() {
            let grants = line.begins("early")
                || line.begins("grace")
                || line.code.windows(2).any(|pair| pair[0].is("stay") && pair[1].is("on"));
            let other = ["base", "over", "approved", "adds", "}"].iter().any(|word| line.begins(word));
            let (closes, is_entry) = (line.begins("}"), line.is_entry());
            next = Ahead { closes, is_entry, adopts: !grants && !other, grants };
        }
        all[at] = next;
    }
    all
}

struct Open {
    indent: usize,
    number: usize,
    body: Body,
    /// In a place: an adoption stands before.
    adopted: bool,
}

fn set_in(lines: &mut [Line<'_>], kind: Kind) {
    let mut open: Vec<Open> = Vec::new();
    let (mut parentheses, mut numbers, mut last) = (0_usize, 0, None);
    let (mut head, mut entry) = ("", false);
    let ahead = ahead(lines);
    for at in 0..lines.len() {
        let continues = parentheses > 0 || last == Some(",");
        let Ahead { closes, is_entry, .. } = ahead[at];
        let line = &mut lines[at];
        let mut base = open.last().map_or(0, |o| o.indent + 1);
        if let Some(place) = open.last_mut().filter(|o| o.body == Body::Place) {
            place.adopted |= ahead[at].adopts;
            base += usize::from(place.adopted && ahead[at].grants);
        }
        line.inside = open.last().map_or(0, |o| o.number);
        line.body = open.last().map_or(Body::Plain, |o| o.body);
        line.continues = continues;
        let level = line.body == Body::Values || (entry && is_entry && parentheses == 0) || closes || line.begins(")");
        line.indent = if line.begins("}") {
            open.last().map_or(0, |o| o.indent)
        } else if continues && !level {
            base + 1
        } else {
            base
        };
        if !continues && !line.code.is_empty() && !line.begins("}") {
            let mut words = line.code.iter().map(|t| t.text);
            head = words.find(|word| *word != "add").unwrap_or("");
            entry = is_entry;
        }
        line.head = head;
        for token in &line.code {
            match token.text {
                _ if token.what != What::Sign => {}
                "(" => parentheses += 1,
                ")" => parentheses = parentheses.saturating_sub(1),
                "{" => {
                    numbers += 1;
                    let body = body(kind, head, open.len());
                    open.push(Open { indent: line.indent, number: numbers, body, adopted: false });
                }
                "}" => {
                    open.pop();
                }
                _ => {}
            }
            last = Some(token.text);
        }
    }
}

fn body(kind: Kind, head: &str, depth: usize) -> Body {
    match head {
        _ if kind == Kind::Facts => Body::Plain,
        "edition" | "interim" | "erratum" | "amendment" if depth == 0 => Body::Changes,
        "jurisdiction" => Body::Place,
        "thing" => Body::Fields,
        "choice" | "scale" | "series" => Body::Values,
        "reading" => Body::Options,
        "table" => Body::Table,
        "expect" => Body::Grid,
        _ => Body::Plain,
    }
}

/// Settles the blank lines.
fn keep_apart(lines: &mut [Line<'_>], kind: Kind) {
    let mut wanted = false;
    for at in 0..lines.len() {
        let behind_brace = at > 0 && lines[at - 1].opens() && lines[at].body != Body::Changes;
        if at == 0 || lines[at].continues || lines[at].begins("}") || behind_brace {
            lines[at].blank = false;
        }
        if lines[at].continues {
            continue;
        }
        let outermost = lines[at].inside == 0;
        if wanted && outermost {
            lines[at].blank = true;
            wanted = false;
        }
        if outermost && !lines[at].code.is_empty() {
            let header = kind == Kind::Rulebook
                && ["terms", "examples", "edition", "excerpt"].contains(&lines[at].head)
                && !lines[at].code.iter().any(|t| t.is("{"));
            let spans = statement_spans(&lines[at..]);
            if header || spans {
                let mut first = at;
                while first > 0 && !lines[first].blank && lines[first - 1].code.is_empty() {
                    first -= 1;
                }
                lines[first].blank = first > 0;
                wanted = true;
            }
        }
    }
}

/// Whether the statement that begins here holds braces over several lines.
fn statement_spans(lines: &[Line<'_>]) -> bool {
    let mut own = lines.iter().enumerate().take_while(|(at, line)| *at == 0 || line.continues);
    own.any(|(_, line)| line.opens())
}
