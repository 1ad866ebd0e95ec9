//! Why, and why not: the reasons of verdicts, folded to what decides.

use super::page::{Ink, Page, counted, few};
use super::rows;
use super::{Did, Reply, Trial, naming, telling};
use crate::base::printed::printed_order;
use crate::diag::{Code, Look, nearest};
use crate::eval::Verdict;
use crate::facts::installation::ObjectId;
use crate::ir::program::DutyId;
use crate::report::{self, Depth, view};
use std::rc::Rc;

/// A requirement on a thing whose reasons were shown.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) struct Subject {
    duty: DutyId,
    object: ObjectId,
}

/// Which verdicts are asked about.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Sought {
    Any,
    NotMet,
}

/// So many reasons are shown at once.
const SHOWN: usize = 6;
/// A folded trace keeps so many levels.
const KEPT: usize = 2;

impl Trial {
    /// `why [not] SECTION [for NAME]`
    pub(super) fn why(&mut self, rest: &str, line: &str, look: &Look) -> Did {
        let (sought, rest) = match rest.strip_prefix("not") {
            Some(after) if after.is_empty() || after.starts_with(' ') => (Sought::NotMet, after.trim()),
            Some(_) | None => (Sought::Any, rest),
        };
        let found = self.now.job().map(|job| Rc::clone(&job.found));
        let Some(found) = found else { return Ok(Reply::done(String::new())) };
        let all: Vec<&rows::Row> = if rest.is_empty() {
            if self.flipped.is_empty() {
                let bad = self.complaint(Code::NoVerdict, "nothing flipped yet".to_string(), line, line, "of what?");
                return Err(bad.help("name a section: `why 517.13(A)`").into());
            }
            let flipped = &self.flipped;
            let here: Vec<&rows::Row> = (found.rows.iter())
                .filter(|row| flipped.iter().any(|(a, s)| *a == row.address && *s == row.key.1))
                .collect();
            if here.is_empty() {
                let gone = "what flipped last is no longer there".to_string();
                let bad = self.complaint(Code::NoVerdict, gone, line, line, "of what?");
                return Err(bad.help("name a section: `why 517.13(A)`").into());
            }
            here
        } else {
            let (section, name) = match rest.split_once(|c: char| c.is_whitespace()) {
                Some((section, rest)) => {
                    let rest = rest.trim();
                    (section, Some(rest.strip_prefix("for ").or(rest.strip_prefix("of ")).unwrap_or(rest).trim()))
                }
                None => (rest, None),
            };
            let object = match name {
                Some(name) => {
                    let span = self.pointing(line, name);
                    let names = naming::Names { schema: &self.now.opened.program.schema, facts: &found.installation };
                    Some(names.whole(name, span)?)
                }
                None => None,
            };
            let of_section: Vec<&rows::Row> = found.rows.iter().filter(|row| lies_in(row, section)).collect();
            if of_section.is_empty() {
                return Err(self.no_verdict(section, line).into());
            }
            let picked: Vec<&rows::Row> = of_section
                .into_iter()
                .filter(|row| object.is_none_or(|o| concerns(&found.installation, row.subject, o)))
                .collect();
            if picked.is_empty() {
                let title = format!("{section} says nothing of {}", name.unwrap_or(""));
                let bad = self.complaint(Code::NoVerdict, title, line, name.unwrap_or(line), "not bound by it");
                return Err(bad.help(format!("`why {section}` tells whom it binds")).into());
            }
            picked
        };
        let mut page = Page::new(look);
        let open: Vec<&rows::Row> = match sought {
            Sought::Any => all.clone(),
            Sought::NotMet => {
                let against = |row: &&rows::Row| !matches!(row.verdict, Verdict::Met | Verdict::NotApplicable);
                let found: Vec<&rows::Row> = all.iter().copied().filter(against).collect();
                // Why does it not bind at all?
                match found.is_empty() && all.iter().all(|row| row.verdict == Verdict::NotApplicable) {
                    true => all.clone(),
                    false => found,
                }
            }
        };
        if open.is_empty() {
            let mut subjects: Vec<&str> =
                all.iter().filter(|row| row.verdict == Verdict::Met).map(|row| row.key.1.as_str()).collect();
            subjects.sort_unstable();
            subjects.dedup();
            page.fill(&format!("Met for {}: nothing stands against it.", few(&subjects)), "", "  ");
            return Ok(Reply::done(page.text));
        }
        // What does not apply says least: it is told only where nothing else is there.
        let telling: Vec<&rows::Row> = open.iter().copied().filter(|r| r.verdict != Verdict::NotApplicable).collect();
        let telling = if telling.is_empty() { open } else { telling };
        self.reasons = telling.iter().map(|row| Subject { duty: row.duty, object: row.subject }).collect();
        let views = self.views(&found, SHOWN);
        let mut folded = 0;
        let views: Vec<view::Verdict> = views
            .into_iter()
            .map(|mut verdict| {
                verdict.because = (verdict.because.iter())
                    // Why an exception does not help takes one line as it is.
                    .map(|reason| match reason.role.as_str() {
                        "asks" | "scope" | "" => fold(reason, KEPT, &mut folded),
                        _ => reason.clone(),
                    })
                    .collect();
                verdict
            })
            .collect();
        page.text.push_str(&report::entries(&views, Depth::Brief, look));
        let more = self.reasons.len().saturating_sub(SHOWN);
        if more > 0 {
            page.fill(
                &format!(
                    "and {}; name the thing: `why {} for NAME`",
                    counted(more, "more like it", "more"),
                    views[0].section
                ),
                "  ",
                "  ",
            );
        }
        if folded > 0 {
            let text = page.inked(
                &format!(
                    "{} folded away; `unfold` shows them",
                    counted(folded, "finer reason is", "finer reasons are")
                ),
                Ink::Faint,
            );
            page.line(&text);
        }
        Ok(Reply::done(page.text))
    }

    /// The last reasons in full.
    pub(super) fn unfold(&mut self, look: &Look) -> Did {
        let found = self.now.job().map(|job| Rc::clone(&job.found));
        let (Some(found), false) = (found, self.reasons.is_empty()) else {
            let bad = self.complaint(Code::NoVerdict, "no reasons were shown yet".to_string(), "unfold", "unfold", "");
            return Err(bad.help("ask `why SECTION` first").into());
        };
        let views = self.views(&found, usize::MAX);
        Ok(Reply::done(report::entries(&views, Depth::Full, look)))
    }

    fn views(&self, found: &super::state::Found, most: usize) -> Vec<view::Verdict> {
        let opened = &self.now.opened;
        self.reasons
            .iter()
            .filter(|s| {
                s.duty.index() < opened.program.duties.len() && s.object.index() < found.installation.objects.len()
            })
            .take(most)
            .map(|s| report::requirement(&opened.program, &found.installation, &opened.choices, s.duty, s.object))
            .collect()
    }

    fn no_verdict(&mut self, section: &str, line: &str) -> crate::diag::Diagnostic {
        let program = Rc::clone(&self.now.opened);
        let known = program.program.duties.iter().any(|d| within(&d.address, section));
        let edition = self.now.book_name();
        let at = line.find(section).and_then(|from| line.get(from..from + section.len())).unwrap_or(line);
        if known {
            let bad = self.complaint(
                Code::NoVerdict,
                format!("{section} binds nothing that is stated"),
                line,
                at,
                "of nothing here",
            );
            return bad.help(format!("`show {section}` tells what it governs"));
        }
        let near = nearest(section, program.program.duties.iter().map(|d| d.address.as_str())).map(str::to_string);
        let bad =
            self.complaint(Code::NoVerdict, format!("{edition} has no requirement {section}"), line, at, "not there");
        match near {
            Some(near) => bad.help(format!("did you mean {near}?")),
            None => bad.help("`list sections` tells what there is"),
        }
    }

    /// `standing [SECTION or NAME]`
    pub(super) fn standing(&mut self, rest: &str, line: &str, look: &Look) -> Did {
        let mut page = Page::new(look);
        let Some(job) = self.now.job().cloned() else { return Ok(Reply::done(String::new())) };
        let found = &job.found;
        let picked: Vec<&rows::Row> = if rest.is_empty() {
            found.rows.iter().collect()
        } else {
            let of_section: Vec<&rows::Row> = found.rows.iter().filter(|row| lies_in(row, rest)).collect();
            if of_section.is_empty() {
                let numbered = rest.starts_with(|c: char| c.is_ascii_digit()) && !rest.contains(' ');
                let span = self.pointing(line, rest);
                let names = naming::Names { schema: &self.now.opened.program.schema, facts: &found.installation };
                match names.whole(rest, span) {
                    Ok(id) => found.rows.iter().filter(|row| concerns(&found.installation, row.subject, id)).collect(),
                    Err(_) if numbered => return Err(self.no_verdict(rest, line).into()),
                    Err(unknown) => return Err(unknown.into()),
                }
            } else {
                of_section
            }
        };
        page.head(&format!("{}, under {}", job.name, self.now.book_name()), Ink::Strong);
        let order = [
            (Verdict::NotMet, "Not met", Ink::Bad),
            (Verdict::Undecided, "Undecided", Ink::Open),
            (Verdict::ForTheAuthority, "For the authority", Ink::Open),
            (Verdict::Met, "Met", Ink::Good),
            (Verdict::NotApplicable, "Does not apply", Ink::Faint),
        ];
        for (verdict, head, ink) in order {
            let of: Vec<&&rows::Row> = picked.iter().filter(|row| row.verdict == verdict).collect();
            if of.is_empty() {
                continue;
            }
            page.head(head, ink);
            if verdict == Verdict::NotApplicable && picked.len() > of.len() {
                // Told only where nothing of the section applies.
                let mut sections: Vec<&str> = of.iter().map(|row| row.address.as_str()).collect();
                sections.retain(|s| !picked.iter().any(|r| r.address == **s && r.verdict != verdict));
                sections.sort_by_key(|a| printed_order(a));
                sections.dedup();
                if sections.is_empty() {
                    sections.push("nothing else");
                }
                page.fill(&telling::together(&sections), "  ", "  ");
                continue;
            }
            let mut lines: Vec<telling::Line> = Vec::new();
            for row in of {
                telling::add(&mut lines, &row.address, &row.title, &row.key.1);
            }
            telling::list(&lines, usize::MAX, &mut page);
        }
        if picked.is_empty() {
            page.line("No requirement concerns it yet.");
        }
        Ok(Reply::done(page.text))
    }
}

/// Whether a row belongs to a section or paragraph, or is called so.
fn lies_in(row: &rows::Row, section: &str) -> bool {
    within(&row.address, section) || (!row.name.is_empty() && row.name == section)
}

fn within(address: &str, section: &str) -> bool {
    address.strip_prefix(section).is_some_and(|rest| rest.is_empty() || rest.starts_with('('))
}

/// Whether the thing is meant by a name, itself or by one of its owners.
fn concerns(facts: &crate::facts::installation::Installation, subject: ObjectId, named: ObjectId) -> bool {
    let mut at = Some(subject);
    while let Some(id) = at {
        if id == named {
            return true;
        }
        at = facts.object(id).owner;
    }
    false
}

/// A reason without what lies deeper than so many levels; what is left out is counted.
fn fold(reason: &view::Reason, levels: usize, folded: &mut usize) -> view::Reason {
    let mut kept = reason.clone();
    if levels == 0 {
        *folded += count(&kept.because);
        kept.because.clear();
        return kept;
    }
    kept.because = reason.because.iter().map(|part| fold(part, levels - 1, folded)).collect();
    kept
}

fn count(reasons: &[view::Reason]) -> usize {
    reasons.iter().map(|reason| 1 + count(&reason.because)).sum()
}
