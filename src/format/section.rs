//! A section as lines, one statement a line.

use super::line;
use crate::syntax::ast::*;

/// A line and how deep it stands.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Line {
    /// Levels below the section's head.
    pub depth: usize,
    /// The words.
    pub text: String,
    /// Its marks, or empty.
    pub marks: String,
}

/// The statements of a section, in order.
pub fn body(body: &Body) -> Vec<Line> {
    let mut lines = Vec::new();
    statements(body, 1, &mut lines);
    lines
}

fn say(lines: &mut Vec<Line>, depth: usize, text: String, of: &[Mark]) {
    lines.push(Line { depth, text, marks: line::marks(of) });
}

fn statements(body: &Body, depth: usize, lines: &mut Vec<Line>) {
    for statement in &body.statements {
        one(statement, depth, lines);
    }
}

fn items(head: &str, items: &Items, depth: usize, of: &[Mark], lines: &mut Vec<Line>) {
    say(lines, depth, format!("{head} {{"), of);
    for item in &items.all {
        say(lines, depth + 1, line::item(item), &item.marks);
    }
    say(lines, depth, "}".to_string(), &[]);
}

/// Conditions behind a word; a list of its own is set a line an item.
fn conditions(word: &str, clauses: &Clauses, depth: usize, of: &[Mark], lines: &mut Vec<Line>) {
    if let [Clause { negated: false, kind, .. }] = clauses.all.as_slice() {
        let list = match kind {
            ClauseKind::AllOf(list) => Some(("all of", list)),
            ClauseKind::AnyOf(list) => Some(("any of", list)),
            ClauseKind::NoneOf(list) => Some(("none of", list)),
            ClauseKind::If(..)
            | ClauseKind::Quantified { .. }
            | ClauseKind::Dated(..)
            | ClauseKind::NoWorse(_)
            | ClauseKind::Compare(..) => None,
        };
        if let Some((quantity, list)) = list {
            return items(&format!("{word} {quantity}"), list, depth, of, lines);
        }
    }
    say(lines, depth, format!("{word} {}", line::clauses(clauses)), of);
}

fn triggered(
    word: &str,
    clauses: &Clauses,
    triggers: Option<&Items>,
    depth: usize,
    of: &[Mark],
    lines: &mut Vec<Line>,
) {
    match triggers {
        Some(triggers) => items(&format!("{word} {} where any of", line::clauses(clauses)), triggers, depth, of, lines),
        None => conditions(word, clauses, depth, of, lines),
    }
}

fn exception_head(head: &ExceptionHead) -> String {
    let mut text = match &head.number {
        Some(number) => format!("Ex. {}", number.text),
        None => "Ex.".to_string(),
    };
    if !head.to.is_empty() {
        let to: Vec<String> = head.to.iter().map(|run| line::labels(run)).collect();
        text.push_str(&format!(" to {}", to.join(", ")));
    }
    if let Some(name) = &head.name {
        text.push_str(&format!(" as {}", name.text));
    }
    if let Some(address) = &head.uncounted {
        text.push_str(&format!(", not counted toward {},", address.text));
    }
    text
}

fn one(statement: &Statement, depth: usize, lines: &mut Vec<Line>) {
    let of = &statement.marks;
    match &statement.kind {
        StatementKind::Marks => say(lines, depth, String::new(), of),
        StatementKind::Paragraph { labels, name, title, body } => {
            let mut head = line::labels(labels);
            if let Some(name) = name {
                head.push_str(&format!(" as {}", name.text));
            }
            if let Some(title) = title {
                head.push_str(&format!(" \"{title}\""));
            }
            match body {
                Some(body) => {
                    say(lines, depth, format!("{head} {{"), of);
                    statements(body, depth + 1, lines);
                    say(lines, depth, "}".to_string(), &[]);
                }
                None => say(lines, depth, format!("{head} reserved"), of),
            }
        }
        StatementKind::Governs { thing, owner } => {
            let owner = owner.as_ref().map_or_else(String::new, |o| format!(" of {}", o.text));
            say(lines, depth, format!("governs each {}{owner}", thing.text), of);
        }
        StatementKind::When(clauses) => conditions("when", clauses, depth, of, lines),
        StatementKind::AlsoWhen(clauses) => conditions("also when", clauses, depth, of, lines),
        StatementKind::Different(halves) => {
            say(lines, depth, "requires different {".to_string(), of);
            for half in halves {
                let kind = half.kind.as_ref().map_or_else(String::new, |k| format!(" of kind {}", k.text));
                let said = half.clauses.as_ref().map_or_else(String::new, |c| match half.kind {
                    Some(_) => format!(", {}", line::clauses(c)),
                    None => format!(" where {}", line::clauses(c)),
                });
                let text = format!("({}) {} {}{kind}{said}", half.label.text, half.thing.text, half.slot.text);
                say(lines, depth + 1, text, &half.marks);
            }
            say(lines, depth, "}".to_string(), &[]);
        }
        StatementKind::Requires(clauses, triggers) => {
            triggered("requires", clauses, triggers.as_ref(), depth, of, lines);
        }
        StatementKind::Prohibits(clauses, triggers) => {
            triggered("prohibits", clauses, triggers.as_ref(), depth, of, lines);
        }
        StatementKind::PermitsAs { thing, kind, clauses } => {
            conditions(&format!("permits {} as {},", thing.text, kind.text), clauses, depth, of, lines);
        }
        StatementKind::PermitsOnly(clauses) => conditions("permits only", clauses, depth, of, lines),
        StatementKind::Permits(clauses, lifts) => {
            let lifts = lifts.as_ref().map_or_else(String::new, |a| format!(" notwithstanding {}", a.text));
            say(lines, depth, format!("permits {}{lifts}", line::clauses(clauses)), of);
        }
        StatementKind::Notes(text) => say(lines, depth, format!("notes \"{text}\""), of),
        StatementKind::IfProvided(path, clauses) => {
            conditions(&format!("if provided {}, requires", line::path(path)), clauses, depth, of, lines);
        }
        StatementKind::Unless(head, case, enough) => {
            conditions(&format!("unless {} when", exception_head(head)), case, depth, of, lines);
            match enough {
                Some(Enough::Labels(runs, _)) => {
                    say(lines, depth + 1, format!("then {} is enough", line::enough(runs)), &[]);
                }
                Some(Enough::Clauses(clauses)) => {
                    say(lines, depth + 1, format!("then {} is enough", line::clauses(clauses)), &[]);
                }
                None => {}
            }
        }
        StatementKind::Exception(head, case, instead) => {
            conditions(&format!("{} when", exception_head(head)), case, depth, of, lines);
            conditions("instead requires", instead, depth + 1, &[], lines);
        }
        StatementKind::Modifies(address, case, instead) => {
            conditions(&format!("modifies {} when", address.text), case, depth, of, lines);
            conditions("instead requires", instead, depth + 1, &[], lines);
        }
        StatementKind::Waives(address, case) => match case {
            Some(case) => conditions(&format!("waives {} when", address.text), case, depth, of, lines),
            None => say(lines, depth, format!("waives {}", address.text), of),
        },
        StatementKind::Tally(name, of_list, filter) => {
            let filter = filter.as_ref().map_or_else(String::new, |c| format!(" where {}", line::clauses(c)));
            say(lines, depth, format!("tally {} = {}{filter}", name.text, line::list(of_list)), of);
        }
    }
}
