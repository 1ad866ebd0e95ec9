//! What to say of a chunk the grammar could not place: parse it again with the rule that was meant, and report the
//! furthest place that made sense.

use super::letters::{Letters, Rule, rule_name};
use crate::base::source::{SourceId, Span};
use crate::diag::{Code, Diagnostic, nearest};
use pest::Parser;
use pest::error::{ErrorVariant, InputLocation};
use std::collections::BTreeSet;

/// Where a chunk was found: decides which rules may stand there.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Context {
    Book,
    Changes,
    Body,
    Items,
    Fields,
    Choice,
    Halves,
    Rows,
    Options,
    Lines,
    Facts,
    Block,
    Place,
    Fixture,
    Example,
    Grid,
    Claim,
    Survives,
}

const BOOK: &[(&str, Rule)] = &[
    ("terms", Rule::terms),
    ("examples", Rule::terms),
    ("edition", Rule::edition),
    ("excerpt", Rule::excerpt),
    ("interim", Rule::changes),
    ("erratum", Rule::changes),
    ("amendment", Rule::changes),
    ("choice", Rule::choice),
    ("scale", Rule::scale),
    ("thing", Rule::thing),
    ("section", Rule::section),
    ("kind", Rule::kind),
    ("define", Rule::define),
    ("limit", Rule::limit),
    ("table", Rule::table),
    ("reading", Rule::reading),
    ("jurisdiction", Rule::jurisdiction),
    ("fixture", Rule::fixture),
    ("example", Rule::example),
    ("claim", Rule::claim),
    ("survives", Rule::survives),
    ("amount", Rule::amount),
    ("series", Rule::series),
];
const EXAMPLE: &[(&str, Rule)] = &[
    ("given", Rule::given),
    ("but", Rule::but),
    ("without", Rule::without),
    ("expect", Rule::expect),
    ("seen", Rule::mark_line),
    ("memory", Rule::mark_line),
    ("disputed", Rule::mark_line),
    ("intended", Rule::mark_line),
];
const BODY: &[(&str, Rule)] = &[
    ("governs", Rule::governs),
    ("when", Rule::when),
    ("also", Rule::also_when),
    ("requires", Rule::requires),
    ("prohibits", Rule::prohibits),
    ("permits", Rule::permits),
    ("notes", Rule::notes),
    ("if", Rule::if_provided),
    ("unless", Rule::unless),
    ("Ex.", Rule::exception),
    ("modifies", Rule::modifies),
    ("waives", Rule::waives),
    ("tally", Rule::tally),
    ("seen", Rule::mark_line),
    ("memory", Rule::mark_line),
    ("disputed", Rule::mark_line),
    ("intended", Rule::mark_line),
];

fn meant(context: Context, words: &str) -> Result<(Rule, &'static str), Option<&'static str>> {
    let first = words.split(|c: char| c.is_whitespace() || c == '{' || c == ',' || c == ':').next().unwrap_or("");
    let table: &[(&str, Rule)] = match context {
        Context::Book if first == "edition" && words.contains(" follows ") => return Ok((Rule::changes, "edition")),
        Context::Book => BOOK,
        Context::Changes => return Ok((Rule::change, "change")),
        Context::Body if words.starts_with('(') => return Ok((Rule::paragraph, "paragraph")),
        Context::Body if words.starts_with("requires different") => return Ok((Rule::different, "requires different")),
        Context::Body if words.starts_with("permits only") => return Ok((Rule::permits_only, "permits only")),
        Context::Body if words.starts_with("permits") && words.contains(" as ") => {
            return Ok((Rule::permits_as, "permits … as"));
        }
        Context::Body => BODY,
        Context::Items => return Ok((Rule::item, "condition")),
        Context::Fields => return Ok((Rule::field, "field")),
        Context::Choice if first == "group" => return Ok((Rule::choice_group, "group")),
        Context::Choice => return Ok((Rule::choice_values, "choice")),
        Context::Halves => return Ok((Rule::half, "half")),
        Context::Rows => return Ok((Rule::table_row, "row")),
        Context::Options => return Ok((Rule::option, "reading")),
        Context::Lines => return Ok((Rule::amount_line, "line")),
        Context::Facts if first == "project" => return Ok((Rule::project, "project")),
        Context::Facts if first == "and" => return Ok((Rule::maybe_more_of, "and maybe more")),
        Context::Facts if matches!(first, "before" | "after") => {
            let rule = if first == "before" { Rule::before_state } else { Rule::after_state };
            return Ok((rule, "state"));
        }
        Context::Facts if words.contains('{') => return Ok((Rule::instance, "thing")),
        Context::Facts => return Ok((Rule::absent_kind, "thing")),
        Context::Block => return Ok((Rule::entry, "entry")),
        Context::Place => {
            return Ok(match first {
                "base" => (Rule::fixed_by, "line"),
                "over" => (Rule::over_parent, "line"),
                "approved" => (Rule::approved, "line"),
                "adds" => (Rule::adds, "line"),
                "grace" => (Rule::grace, "line"),
                "early" => (Rule::early, "line"),
                _ if words.contains(" stay") => (Rule::stay, "line"),
                _ => (Rule::adoption, "adoption"),
            });
        }
        Context::Fixture if first == "given" => return Ok((Rule::given, "given")),
        Context::Fixture if first == "but" => return Ok((Rule::but, "but")),
        Context::Fixture if words.contains('{') => return Ok((Rule::instance, "thing")),
        Context::Fixture => return Ok((Rule::absent_kind, "thing")),
        Context::Example => EXAMPLE,
        Context::Grid => return Ok((Rule::grid_row, "row")),
        Context::Claim if first == "expect" => return Ok((Rule::claim_expect, "expect")),
        Context::Claim if first == "only" => return Ok((Rule::claim_only, "only where")),
        Context::Claim => return Ok((Rule::claim_says, "claim")),
        Context::Survives => return Ok((Rule::survivor, "place")),
    };
    if let Some((keyword, rule)) = table.iter().find(|(keyword, _)| *keyword == first) {
        return Ok((*rule, keyword));
    }
    Err(nearest(first, table.iter().map(|(keyword, _)| *keyword))
        .and_then(|near| table.iter().map(|(k, _)| *k).find(|k| *k == near)))
}

fn elsewhere(context: Context, first: &str) -> Option<&'static str> {
    if context == Context::Example {
        return None;
    }
    let other = if context == Context::Book { BODY } else { BOOK };
    other.iter().map(|(k, _)| *k).find(|k| *k == first)
}

/// The diagnostic for a chunk found in a context.
pub(super) fn diagnose(source: SourceId, shift: usize, chunk: &str, context: Context) -> Diagnostic {
    let trimmed = chunk.trim_end();
    let span = |from: usize, to: usize| Span::new(source, shift + from, shift + to);
    let first_line = trimmed.lines().next().unwrap_or("").trim_end();
    match meant(context, trimmed) {
        Ok((rule, what)) => match Letters::parse(rule, trimmed) {
            Err(error) => explain(source, shift, trimmed, rule, &error),
            Ok(mut pairs) => {
                let end = pairs.next().map_or(0, |p| p.as_str().trim_end().len());
                let rest = trimmed.get(end..).unwrap_or("");
                let from = end + (rest.len() - rest.trim_start().len());
                let title = format!("unexpected text behind a complete {what}");
                let length = rest.trim_start().lines().next().unwrap_or("").len();
                let mut diagnostic =
                    Diagnostic::error(Code::UnexpectedText, title).at(span(from, from + length), "not understood");
                diagnostic = diagnostic.at(span(0, end.min(first_line.len())), format!("this {what} ends before it"));
                diagnostic.help(hint(rest.trim_start()).unwrap_or("write it on a line of its own, or remove it"))
            }
        },
        Err(near) => {
            let word = first_line.split([' ', '{', ',']).next().unwrap_or("");
            let here = span(0, word.len().max(1));
            if let Some(keyword) = elsewhere(context, word) {
                let place = if context == Context::Book { "inside a section" } else { "at the top level of a file" };
                return Diagnostic::error(Code::OutOfPlace, format!("`{keyword}` stands out of place"))
                    .at(here, "not here")
                    .help(format!("it belongs {place}"));
            }
            let (what, table) = match context {
                Context::Book => ("an item", BOOK),
                Context::Example => ("a line of an example", EXAMPLE),
                _ => ("a statement", BODY),
            };
            let diagnostic =
                Diagnostic::error(Code::UnexpectedText, format!("`{word}` does not start {what}")).at(here, "here");
            match near {
                Some(near) => diagnostic.help(format!("did you mean `{near}`?")),
                None => {
                    let known: Vec<&str> = table.iter().map(|(k, _)| *k).collect();
                    diagnostic.help(format!("one of: {}", known.join(", ")))
                }
            }
        }
    }
}

/// How an item or statement is written, in short.
fn shape(rule: Rule) -> Option<&'static str> {
    Some(match rule {
        Rule::terms => "terms for FAMILY \"title\"",
        Rule::excerpt => "excerpt of FAMILY YEAR \"title\"",
        Rule::edition => "edition FAMILY YEAR \"title\"",
        Rule::choice => "choice NAME { value, value }",
        Rule::scale => "scale NAME { step < step }",
        Rule::thing => "thing NAME { field : type }",
        Rule::section => "section NUMBER \"title\" { … }",
        Rule::kind => "kind NAME of THING, per NUMBER { … }",
        Rule::define => "define NAME of THING = …",
        Rule::limit => "limit NAME = 6 ft (1.8 m)",
        Rule::table => "table NUMBER by NAME: TYPE, gives TYPE { … }",
        Rule::reading => "reading NAME of THING \"question\" { option \"what it says\" { … } }",
        Rule::if_provided => "if provided FIELD, requires …",
        Rule::unless => "unless Ex. 1 when …",
        Rule::exception => "Ex. 1 when … instead requires …",
        Rule::modifies => "modifies NUMBER when … instead requires …",
        Rule::waives => "waives NUMBER when …",
        Rule::tally => "tally NAME = LIST where …",
        Rule::different => "requires different { (A) THING A of kind KIND … }",
        Rule::permits_as => "permits THING as KIND, …",
        Rule::expect => "expect NUMBER of NAME: not met",
        Rule::given => "given NAME, or given THING NAME { … }",
        Rule::but => "but FIELD of NAME: VALUE",
        Rule::field => "name : type, modifier \"description\"",
        Rule::also_when => "also when …",
        Rule::before_state => "before { … }, or before: same except { … }",
        Rule::jurisdiction => "jurisdiction NAME \"title\" within PARENT { … }",
        Rule::fixed_by => "base fixed by permit-application",
        Rule::over_parent => "over PARENT: last wins",
        Rule::approved => "approved AMENDMENT on 2022-03-01",
        Rule::adds => "adds AMENDMENT from 2021-09-01",
        Rule::grace => "grace through 2021-12-31: nec 2017 for the whole project if declared",
        Rule::early => "early from 2021-05-01 for the whole project if declared",
        Rule::stay => "one-family, two-family stay on nec 2017",
        Rule::adoption => "nec 2020 with AMENDMENT from 2021-07-01",
        _ => return None,
    })
}

/// A hint for the commonest slips.
fn hint(rest: &str) -> Option<&'static str> {
    let symbol = rest.chars().next()?;
    Some(match symbol {
        '<' => "write `less than` or `at most`",
        '>' => "write `more than` or `at least`",
        '=' => "write `is`, `at least` or `at most`",
        '&' => "a comma means `and`",
        '|' => "use `or` between values, an `any of { }` list between conditions",
        '!' => "write `not`",
        ';' => "one statement a line; a comma means `and`",
        _ if rest.starts_with("and ") => "a comma means `and`",
        _ if rest.starts_with("or ") => "`or` joins values only; for conditions write an `any of { }` list",
        _ => return None,
    })
}

/// A pest error as a diagnostic.
pub(super) fn explain(
    source: SourceId,
    shift: usize,
    text: &str,
    rule: Rule,
    error: &pest::error::Error<Rule>,
) -> Diagnostic {
    let at = match error.location {
        InputLocation::Pos(at) => at,
        InputLocation::Span((at, _)) => at,
    };
    let rest = text.get(at..).unwrap_or("");
    let word = rest.split(|c: char| c.is_whitespace() || "{}(),:".contains(c)).next().unwrap_or("");
    let length = if word.is_empty() { rest.chars().next().map_or(0, char::len_utf8) } else { word.len() };
    let found = match rest.get(..length).unwrap_or("") {
        "" => "the text ends here".to_string(),
        "\n" => "the line ends here".to_string(),
        word => format!("found `{word}`"),
    };
    let expected: BTreeSet<&str> = match &error.variant {
        ErrorVariant::ParsingError { positives, .. } => positives.iter().filter_map(|r| rule_name(*r)).collect(),
        ErrorVariant::CustomError { .. } => BTreeSet::new(),
    };
    let where_ = match rule {
        Rule::rulebook | Rule::facts => String::new(),
        rule => {
            format!(" in {}", rule_name(rule).map_or_else(|| format!("`{rule:?}`").replace('_', " "), str::to_string))
        }
    };
    let diagnostic = Diagnostic::error(Code::UnexpectedText, format!("unexpected text{where_}"))
        .at(Span::new(source, shift + at, shift + at + length), found);
    let expected: Vec<&str> = expected.into_iter().collect();
    if let (0, [], Some(shape)) = (at, expected.as_slice(), shape(rule)) {
        // A word of the language itself is missing; the parser does not say where.
        let first_line = text.lines().next().unwrap_or("").trim_end().len();
        return Diagnostic::error(Code::UnexpectedText, format!("unexpected text{where_}"))
            .at(Span::new(source, shift, shift + first_line), "a word is missing or out of order here")
            .help(format!("write it as `{shape}`"));
    }
    match (hint(rest), expected.as_slice()) {
        (Some(hint), _) => diagnostic.help(hint),
        (None, []) => diagnostic,
        (None, [one]) => diagnostic.help(format!("expected {one}")),
        (None, [many @ .., last]) => diagnostic.help(format!("expected {} or {last}", many.join(", "))),
    }
}
