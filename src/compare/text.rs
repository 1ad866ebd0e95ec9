//! The comparison as text, and as Markdown.

use super::{Comparison, Row, RuleChange};
use crate::diag::Look;

/// The kind of a change that only copies.
const UNCHECKED: &str = "carried unchecked";

/// Draws a comparison: what the rules changed, then the outcomes that differ.
pub fn text(comparison: &Comparison, look: &Look) -> String {
    let mut text = format!("{}\n", comparison.books.join(" | "));
    let mut lines = |heading: &str, all: &[RuleChange]| {
        if all.is_empty() {
            return;
        }
        text.push_str(&format!("\n{heading}\n"));
        for change in all.iter().filter(|c| c.kind != UNCHECKED) {
            let options = textwrap::Options::new(look.width)
                .initial_indent("  ")
                .subsequent_indent("      ")
                .word_separator(textwrap::WordSeparator::AsciiSpace)
                .word_splitter(textwrap::WordSplitter::NoHyphenation);
            for line in textwrap::wrap(&told(change), options) {
                text.push_str(&line);
                text.push('\n');
            }
        }
        // What was only copied takes one entry.
        let copied: Vec<&str> = all.iter().filter(|c| c.kind == UNCHECKED).map(|c| c.at.as_str()).collect();
        if !copied.is_empty() {
            let options = textwrap::Options::new(look.width)
                .initial_indent("  ")
                .subsequent_indent("      ")
                .word_separator(textwrap::WordSeparator::AsciiSpace);
            for line in textwrap::wrap(&format!("carried without being checked: {}", copied.join(", ")), options) {
                text.push_str(&line);
                text.push('\n');
            }
        }
    };
    for book in comparison.books.iter().skip(1) {
        let own: Vec<RuleChange> = comparison.changes.iter().filter(|c| c.book == *book).cloned().collect();
        lines(&format!("What {book} changed"), &own);
    }
    if comparison.changes.is_empty() {
        text.push_str("\nNothing on record changed between them.\n");
    }
    if comparison.outcomes.is_empty() {
        return text + "\n" + &comparison.caution + "\n";
    }
    let differing: Vec<&Row> = comparison.outcomes.iter().filter(|row| row.differs).collect();
    let same = comparison.outcomes.len() - differing.len();
    if differing.is_empty() {
        text.push_str(&format!("\nNo outcome differs ({same} requirements)\n"));
    } else {
        text.push_str(&format!("\nOutcomes that differ ({same} stay as they are)\n"));
    }
    for row in differing {
        let section = row.sections.iter().rev().find(|s| !s.is_empty()).map_or("", String::as_str);
        text.push_str(&format!("  {section}  {}: {}\n", row.title, row.subject));
        for ((book, verdict), own) in comparison.books.iter().zip(&row.verdicts).zip(&row.sections) {
            let moved = if own.is_empty() || own == section { String::new() } else { format!(" (as {own})") };
            text.push_str(&format!("    {book:<12} {verdict}{moved}\n"));
        }
        for change in &row.because {
            let indent = "                 ";
            let options = textwrap::Options::new(look.width)
                .initial_indent("    because      ")
                .subsequent_indent(indent)
                .word_separator(textwrap::WordSeparator::AsciiSpace)
                .word_splitter(textwrap::WordSplitter::NoHyphenation);
            for line in textwrap::wrap(&told(change), options) {
                text.push_str(&line);
                text.push('\n');
            }
        }
    }
    text + "\n" + &comparison.caution + "\n"
}

fn told(change: &RuleChange) -> String {
    let marks = if change.marks.is_empty() { String::new() } else { format!(" [{}]", change.marks.join("; ")) };
    let absent = if change.kind == "absent here" { "absent here: " } else { "" };
    format!("{}  {absent}{} ({}){marks}", change.at, change.what, change.document)
}

/// The comparison as Markdown: the changes as a list, the outcomes as a table.
pub fn markdown(comparison: &Comparison) -> String {
    let cell = |text: &str| text.replace('|', "\\|");
    let mut text = format!("# {}\n", comparison.books.join(" / "));
    for book in comparison.books.iter().skip(1) {
        let own: Vec<&RuleChange> = comparison.changes.iter().filter(|c| c.book == *book).collect();
        if !own.is_empty() {
            text.push_str(&format!("\n## What {book} changed\n\n"));
        }
        for change in own {
            text.push_str(&format!("- {}\n", told(change)));
        }
    }
    if !comparison.outcomes.is_empty() {
        text.push_str(&format!("\n## Outcomes\n\n| requirement | subject | {} |\n", comparison.books.join(" | ")));
        text.push_str(&format!("|---|---|{}\n", "---|".repeat(comparison.books.len())));
        for row in &comparison.outcomes {
            let section = row.sections.iter().rev().find(|s| !s.is_empty()).map_or("", String::as_str);
            let verdicts: Vec<String> =
                row.verdicts.iter().map(|v| if row.differs { format!("**{v}**") } else { v.clone() }).collect();
            text.push_str(&format!(
                "| {} {} | {} | {} |\n",
                section,
                cell(&row.title),
                cell(&row.subject),
                verdicts.join(" | ")
            ));
        }
    }
    text + "\n" + &comparison.caution + "\n"
}
