//! The carried amendment as text in the language, with a comment before each line that a person has to look at.

use super::{Fate, Journey, Unit};
use crate::format::block;
use crate::syntax::ast::{Change, ChangeSet};
use std::collections::BTreeMap;

/// A piece of the draft: an operation that stands, or one that is kept as a comment.
enum Piece {
    Stands { change: usize, now: Box<Change>, comments: Vec<String> },
    Dropped { text: String, comments: Vec<String> },
}

pub(super) fn draft(journey: &Journey, units: &[Unit], counts: &BTreeMap<String, usize>) -> String {
    let mut pieces: Vec<Piece> = Vec::new();
    for unit in units {
        let operation = &unit.operation;
        let mut comments = operation.notes.clone();
        if let Some(first) = comments.first_mut() {
            let word = match operation.fate {
                Fate::ChangedUnderneath => "re-confirm",
                Fate::Absorbed => "absorbed",
                Fate::TargetGone => "target gone",
                Fate::Applies => "note",
            };
            *first = format!("{word}: {first}");
        }
        match operation.fate {
            Fate::Applies | Fate::ChangedUnderneath => {
                if comments.is_empty()
                    && let Some(Piece::Stands { change, now, comments: above }) = pieces.last_mut()
                    && *change == unit.change
                    && above.is_empty()
                    && super::addresses::joined(now, &unit.carried)
                {
                    continue;
                }
                pieces.push(Piece::Stands { change: unit.change, now: Box::new(unit.carried.clone()), comments });
            }
            Fate::Absorbed | Fate::TargetGone => pieces.push(Piece::Dropped { text: operation.now.clone(), comments }),
        }
    }
    let mut text = String::new();
    if journey.from.name != journey.to.name {
        let said = super::summary(counts);
        let head = format!("Carried from {} to {}. {said}.", journey.from.name, journey.to.name);
        text.push_str(&commented(&head, ""));
        if let Some(printing) = &journey.set.printing {
            text.push_str(&format!("# It was written against the {} printing.\n", printing.text));
        }
        text.push('\n');
    }
    let head = ChangeSet {
        base: journey.set.base.as_ref().map(|_| journey.base.clone()),
        printing: if journey.from.name == journey.to.name { journey.set.printing.clone() } else { None },
        changes: Vec::new(),
        ..journey.set.clone()
    };
    text.push_str(&block::set_head(&head));
    text.push_str(" {\n");
    for piece in &pieces {
        match piece {
            Piece::Stands { now, comments, .. } => {
                comments.iter().for_each(|comment| text.push_str(&commented(comment, "    ")));
                text.push_str(&format!("    {}\n", block::change(now, 1)));
            }
            Piece::Dropped { text: operation, comments } => {
                comments.iter().for_each(|comment| text.push_str(&commented(comment, "    ")));
                for line in operation.lines() {
                    text.push_str(&format!("    #   {line}\n"));
                }
            }
        }
    }
    text.push_str("}\n");
    text
}

/// A comment, wrapped.
fn commented(comment: &str, indent: &str) -> String {
    let lead = format!("{indent}# ");
    let options = textwrap::Options::new(110)
        .initial_indent(&lead)
        .subsequent_indent(&lead)
        .break_words(false)
        .word_separator(textwrap::WordSeparator::AsciiSpace)
        .word_splitter(textwrap::WordSplitter::NoHyphenation);
    textwrap::wrap(comment, options).iter().map(|line| format!("{line}\n")).collect()
}
