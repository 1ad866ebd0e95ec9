//! Verdicts told short: what flipped, like with like, and numbers that follow one another drawn together.

use super::page::{Ink, Page, counted, few};
use super::rows::{self, Flip};
use crate::base::printed::printed_order;
use crate::eval::Verdict;

/// The most lines under one heading.
const SHOWN: usize = 12;

/// A requirement in a list: its number, its title, its subjects.
pub(super) type Line<'r> = (&'r str, &'r str, Vec<&'r str>);

/// How a change of verdict is called where the requirement or its subject is gone.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Gone {
    /// The rules changed.
    Requirement,
    /// The facts changed.
    Subject,
}

/// Draws flips, those of one kind together, the worst first.
pub(super) fn flips(all: &[Flip], gone: Gone, page: &mut Page) {
    let mut groups: Vec<(String, Ink, Vec<&Flip>)> = Vec::new();
    let mut lost: Vec<&Flip> = Vec::new();
    for flip in all {
        let head = match (flip.before, flip.after) {
            (None, Some(after)) => rows::words(after).to_string(),
            (Some(_), None) if gone == Gone::Subject => {
                lost.push(flip);
                continue;
            }
            (before, after) => format!("{} {} {}", say(before), page.arrow(), say(after)),
        };
        match groups.iter_mut().find(|(known, ..)| *known == head) {
            Some((.., flips)) => flips.push(flip),
            None => groups.push((head, ink(flip.after), vec![flip])),
        }
    }
    let weight = |ink: &Ink| match ink {
        Ink::Bad => 0,
        Ink::Open => 1,
        Ink::Good => 2,
        Ink::Strong | Ink::Faint => 3,
    };
    groups.sort_by_key(|(_, ink, _)| weight(ink));
    for (head, ink, flips) in groups {
        page.head(&head, ink);
        let mut lines: Vec<Line> = Vec::new();
        for flip in flips {
            add(&mut lines, &flip.address, &flip.title, &flip.subject);
        }
        list(&lines, SHOWN, page);
    }
    if !lost.is_empty() {
        page.head("no longer there", Ink::Faint);
        let mut subjects: Vec<(&str, Vec<&Flip>)> = Vec::new();
        for flip in lost {
            match subjects.iter_mut().find(|(known, _)| *known == flip.subject) {
                Some((_, flips)) => flips.push(flip),
                None => subjects.push((&flip.subject, vec![flip])),
            }
        }
        for (subject, flips) in subjects {
            let had = rows::tally_of(flips.iter().filter_map(|flip| flip.before));
            page.fill(&format!("{subject}, which had {had}"), "  ", "      ");
        }
    }
}

fn say(verdict: Option<Verdict>) -> &'static str {
    verdict.map_or("no such requirement", rows::words)
}

fn ink(after: Option<Verdict>) -> Ink {
    match after {
        Some(Verdict::NotMet) => Ink::Bad,
        Some(Verdict::Met) => Ink::Good,
        Some(Verdict::Undecided | Verdict::ForTheAuthority) => Ink::Open,
        Some(Verdict::NotApplicable) | None => Ink::Faint,
    }
}

/// Adds a subject to the line of its requirement.
pub(super) fn add<'r>(lines: &mut Vec<Line<'r>>, address: &'r str, title: &'r str, subject: &'r str) {
    match lines.iter_mut().find(|(known, own, _)| *known == address && *own == title) {
        Some((.., subjects)) => {
            if !subjects.contains(&subject) {
                subjects.push(subject);
            }
        }
        None => lines.push((address, title, vec![subject])),
    }
}

/// Draws lines; paragraphs of one section that say the same of the same are drawn together.
pub(super) fn list(lines: &[Line], most: usize, page: &mut Page) {
    let mut runs: Vec<(Vec<&str>, &Line)> = Vec::new();
    let mut lines: Vec<&Line> = lines.iter().collect();
    lines.sort_by_key(|line| printed_order(line.0));
    for line in lines {
        match runs.last_mut() {
            Some((addresses, first))
                if first.1 == line.1 && first.2 == line.2 && parted(first.0).0 == parted(line.0).0 =>
            {
                addresses.push(line.0);
            }
            _ => runs.push((vec![line.0], line)),
        }
    }
    for (addresses, (_, title, subjects)) in runs.iter().take(most) {
        page.fill(&format!("{}  {title}: {}", together(addresses), few(subjects)), "  ", "      ");
    }
    let more = runs.len().saturating_sub(most);
    if more > 0 {
        page.fill(
            &format!("and {} (`standing` lists all)", counted(more, "more section", "more sections")),
            "  ",
            "  ",
        );
    }
}

/// Numbers with what they share said once: `210.8(B)(1) to (3), (5), 517.13 with (A)`.
pub(super) fn together(addresses: &[&str]) -> String {
    let mut text = String::new();
    let mut at = 0;
    while let Some(address) = addresses.get(at) {
        let (stem, label) = parted(address);
        let known = at > 0 && addresses.get(at - 1).is_some_and(|before| !label.is_empty() && parted(before).0 == stem);
        // A section and its paragraphs: `517.13 with (A), (B)`.
        let under = known && addresses.get(at - 1).is_some_and(|before| parted(before).1.is_empty());
        if at > 0 {
            text.push_str(if under { " with " } else { ", " });
        }
        text.push_str(if known { label } else { address });
        // Three or more in a row are a span.
        let mut end = at;
        while let Some(next) = addresses.get(end + 1)
            && parted(next).0 == stem
            && follows(parted(addresses.get(end).unwrap_or(address)).1, parted(next).1)
        {
            end += 1;
        }
        if end > at + 1
            && let Some(last) = addresses.get(end)
        {
            text.push_str(&format!(" to {}", parted(last).1));
            at = end;
        }
        at += 1;
    }
    text
}

/// A number without its last label, and that label with its parentheses.
fn parted(address: &str) -> (&str, &str) {
    match address.rfind('(') {
        Some(at) if address.ends_with(')') => address.split_at(at),
        Some(_) | None => (address, ""),
    }
}

/// Whether one label comes right behind another: `(2)` behind `(1)`, `(C)` behind `(B)`.
fn follows(one: &str, next: &str) -> bool {
    let bare = |label: &str| label.trim_matches(['(', ')']).to_string();
    let (one, next) = (bare(one), bare(next));
    match (one.parse::<u32>(), next.parse::<u32>()) {
        (Ok(one), Ok(next)) => next == one + 1,
        _ => match (one.as_bytes(), next.as_bytes()) {
            ([one], [next]) => one.is_ascii_alphabetic() && next.is_ascii_alphabetic() && *next == *one + 1,
            _ => false,
        },
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn numbers_in_a_row_are_a_span() {
        for (given, wanted) in [
            (&["1.1"][..], "1.1"),
            (&["1.1(A)", "1.1(B)"], "1.1(A), (B)"),
            (&["1.1(A)", "1.1(B)", "1.1(C)", "1.1(E)"], "1.1(A) to (C), (E)"),
            (&["1.1(B)(9)", "1.1(B)(10)", "1.1(B)(11)", "1.1(C)", "2.1"], "1.1(B)(9) to (11), 1.1(C), 2.1"),
            (&["PJAZ", "PJOX", "1.2", "1.2(A)", "1.2(B)"], "PJAZ, PJOX, 1.2 with (A), (B)"),
        ] {
            assert_eq!(together(given), wanted);
        }
    }
}
