//! Columns: the margin of marks, rows, fields, options, comments at the ends of lines. Then the text.

use super::Kind;
use super::join::{Colons, join};
use super::lines::{Body, Line};
use super::token::{Token, What};
use std::collections::BTreeMap;

/// Blanks of one step.
const STEP: usize = 4;
/// Where marks begin.
const MARGIN: usize = 76;
/// Blanks between a line and its marks where no column gives them.
const GAP: usize = 4;
/// Blanks between a line and the comment at its end, where it is the longest of those in a row.
const COMMENT_GAP: usize = 5;
/// The widest name of a field or an option that others are set by.
const WIDEST_NAME: usize = 24;
/// The widest cell, or text of an option, that others are set by.
const WIDEST_CELL: usize = 72;
/// The widest line whose comment others are set by.
const WIDEST_COMMENTED: usize = 80;

/// A line whose parts stand under those of others.
struct Row {
    cells: Vec<String>,
    tail: String,
}

/// Draws lines.
pub(super) fn set(lines: Vec<Line<'_>>, kind: Kind) -> String {
    let rows: Vec<Option<Row>> = lines.iter().map(row).collect();
    let mut widths: BTreeMap<usize, Vec<usize>> = BTreeMap::new();
    let mut right: BTreeMap<usize, bool> = BTreeMap::new();
    for (line, row) in lines.iter().zip(&rows) {
        let Some(row) = row else { continue };
        let known = widths.entry(line.inside).or_default();
        for (at, cell) in row.cells.iter().enumerate() {
            let most = match line.body {
                Body::Fields | Body::Options if at == 0 => WIDEST_NAME,
                _ => WIDEST_CELL,
            };
            if known.len() <= at {
                known.push(0);
            }
            // Only marks stand behind the last cell of a row.
            let counts = at + 1 < row.cells.len() || !row.tail.is_empty();
            if counts && width(cell) <= most {
                known[at] = known[at].max(width(cell));
            }
        }
        if line.body == Body::Table
            && let Some(key) = row.cells.first().filter(|key| !key.is_empty())
        {
            *right.entry(line.inside).or_insert(true) &= is_measure(key);
        }
    }
    let mut drawn: Vec<String> = Vec::with_capacity(lines.len());
    for (line, row) in lines.iter().zip(&rows) {
        let indent = " ".repeat(line.indent * STEP);
        let text = match row {
            Some(row) => {
                let widths = widths.get(&line.inside).map_or(&[][..], Vec::as_slice);
                let right = right.get(&line.inside).copied().unwrap_or(false);
                in_columns(row, indent, line.body, widths, right)
            }
            None => {
                let (code, tail) = line.code.split_at(tail(&line.code, kind));
                with_margin(format!("{indent}{}", join(code, colons(line, kind))), &said(tail))
            }
        };
        drawn.push(text.trim_end().to_string());
    }
    comments(&lines, &mut drawn);
    let mut text = String::new();
    for (line, drawn) in lines.iter().zip(drawn) {
        if line.blank {
            text.push('\n');
        }
        text.push_str(&drawn);
        text.push('\n');
    }
    text
}

fn width(text: &str) -> usize {
    text.chars().count()
}

fn colons(line: &Line<'_>, kind: Kind) -> Colons {
    match (line.head, line.body) {
        _ if kind == Kind::Facts || line.continues => Colons::Close,
        ("thing", _) => Colons::FreeInBraces,
        ("amount" | "series", Body::Plain | Body::Changes) if line.code.iter().any(|t| t.is("{")) => Colons::FirstFree,
        (_, Body::Fields) => Colons::FirstFree,
        _ => Colons::Close,
    }
}

/// Where the marks at the end of a line begin, closing braces behind them included; its length if there are none.
fn tail(code: &[Token<'_>], kind: Kind) -> usize {
    let mut from = code.len();
    if kind == Kind::Facts {
        return from;
    }
    while from > 0 && code[from - 1].is("}") {
        from -= 1;
    }
    let closing = from;
    loop {
        match &code[..from] {
            [.., word, text] if text.what == What::Text && (word.is("seen") || word.is("disputed")) => from -= 2,
            [.., word, _, text] if text.what == What::Text && word.is("intended") => from -= 3,
            [.., word] if word.is("memory") => from -= 1,
            _ => break,
        }
    }
    let bare = from == 0 || code[from - 1].is(",") || code[from - 1].is("{");
    if from == closing || bare { code.len() } else { from }
}

/// Marks with two blanks between them.
fn said(tail: &[Token<'_>]) -> String {
    let mut text = String::new();
    for (at, token) in tail.iter().enumerate() {
        if at > 0 {
            // The code of a finding belongs to the word before it.
            let starts = token.what == What::Word && !tail[at - 1].is("intended");
            text.push_str(if starts { "  " } else { " " });
        }
        text.push_str(token.text);
    }
    text
}

fn with_margin(code: String, tail: &str) -> String {
    if tail.is_empty() {
        return code;
    }
    let lone = code.trim_start() == "}";
    let gap = if !lone && width(&code) + 2 <= MARGIN { MARGIN - width(&code) } else { GAP };
    format!("{code}{}{tail}", " ".repeat(gap))
}

/// The parts of a line that stand under those of others; nothing for any other line.
fn row(line: &Line<'_>) -> Option<Row> {
    let closed = !line.code.iter().any(|t| t.is("{") || t.is("}"));
    match line.body {
        _ if line.continues || line.code.is_empty() => None,
        Body::Table | Body::Grid if closed => {
            if line.code.last().is_some_and(|t| t.is(",")) || !line.code.iter().any(|t| t.is("|")) {
                return None;
            }
            let (cells, tail) = line.code.split_at(tail(&line.code, Kind::Rulebook));
            let cells = cells.split(|t| t.is("|")).map(|cell| join(cell, Colons::Close)).collect();
            Some(Row { cells, tail: said(tail) })
        }
        Body::Fields => match line.code.as_slice() {
            [name, colon, rest @ ..] if name.what == What::Word && colon.is(":") => {
                let (rest, tail) = rest.split_at(tail(rest, Kind::Rulebook));
                Some(Row { cells: vec![name.text.to_string(), join(rest, Colons::Close)], tail: said(tail) })
            }
            _ => None,
        },
        Body::Options if !line.opens() => match line.code.as_slice() {
            [name, text, rest @ ..] if name.what == What::Word && text.what == What::Text => {
                let (rest, tail) = rest.split_at(tail(rest, Kind::Rulebook));
                let cells = vec![name.text.to_string(), text.text.to_string(), join(rest, Colons::Close)];
                Some(Row { cells, tail: said(tail) })
            }
            _ => None,
        },
        Body::Table | Body::Grid | Body::Options | Body::Plain | Body::Changes | Body::Place | Body::Values => None,
    }
}

fn in_columns(row: &Row, indent: String, body: Body, widths: &[usize], right: bool) -> String {
    let last = row.cells.len().saturating_sub(1);
    let mut text = indent;
    for (at, cell) in row.cells.iter().enumerate() {
        if at > 0 {
            text.push_str(match body {
                Body::Table | Body::Grid => " | ",
                Body::Fields => " : ",
                Body::Options if at == 2 => "  ",
                Body::Options | Body::Plain | Body::Changes | Body::Place | Body::Values => " ",
            });
        }
        let rows = matches!(body, Body::Table | Body::Grid);
        let room = widths.get(at).map_or(0, |wide| wide.saturating_sub(width(cell)));
        let filled = at < last || (rows && !row.tail.is_empty());
        match (filled, right && at == 0) {
            (true, true) => text.push_str(&format!("{}{cell}", " ".repeat(room))),
            (true, false) => text.push_str(&format!("{cell}{}", " ".repeat(room))),
            (false, _) => text.push_str(cell),
        }
    }
    match body {
        _ if row.tail.is_empty() => text,
        Body::Table | Body::Grid => format!("{text}{}{}", " ".repeat(GAP), row.tail),
        Body::Fields | Body::Options | Body::Plain | Body::Changes | Body::Place | Body::Values => {
            with_margin(text, &row.tail)
        }
    }
}

/// A number with at most one unit, as keys of rows often are.
fn is_measure(key: &str) -> bool {
    let mut words = key.split(' ');
    let digits = |word: &str| word.starts_with(|c: char| c.is_ascii_digit());
    words.next().is_some_and(digits) && words.filter(|word| !digits(word)).count() <= 1 && !key.contains(',')
}

/// Puts comments at the ends of lines, those of lines in a row under one another.
fn comments(lines: &[Line<'_>], drawn: &mut [String]) {
    let ends = |at: usize| lines.get(at).is_some_and(|line| line.comment.is_some() && !line.code.is_empty());
    let mut at = 0;
    while at < lines.len() {
        if !ends(at) {
            if let (Some(comment), true) = (lines[at].comment, lines[at].code.is_empty()) {
                drawn[at] = format!("{}{comment}", " ".repeat(lines[at].indent * STEP));
            }
            at += 1;
            continue;
        }
        let mut behind = at + 1;
        while ends(behind) && !lines[behind].blank {
            behind += 1;
        }
        let wide = (at..behind).map(|line| width(&drawn[line])).filter(|w| *w <= WIDEST_COMMENTED).max().unwrap_or(0);
        for line in at..behind {
            let gap = (wide + COMMENT_GAP).saturating_sub(width(&drawn[line])).max(COMMENT_GAP);
            if let Some(comment) = lines[line].comment {
                drawn[line].push_str(&format!("{}{comment}", " ".repeat(gap)));
            }
        }
        at = behind;
    }
}
