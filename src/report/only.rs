//! A report narrowed to some sections: what is left is counted anew, and the whole in one word is that of what is left.

use super::build::ask_first;
use super::view::{Inspection, Overall, Verdict};

/// What a report is narrowed to.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Only {
    /// Numbers of sections, articles or paragraphs; empty: any.
    pub sections: Vec<String>,
    /// Subjects with the numbers of the sections about each; empty: any.
    pub subjects: Vec<(String, Vec<String>)>,
}

impl Only {
    /// Whether everything is wanted.
    pub fn is_all(&self) -> bool {
        self.sections.is_empty() && self.subjects.is_empty()
    }

    /// Whether a number is wanted: it is one of those named, or lies in it.
    pub fn keeps(&self, number: &str) -> bool {
        let within = |outer: &str| {
            let number = number.strip_prefix("table ").unwrap_or(number);
            let outer = outer.strip_prefix("table ").unwrap_or(outer);
            number.strip_prefix(outer).is_some_and(|rest| rest.is_empty() || rest.starts_with(['(', '.', ' ', ',']))
        };
        (self.sections.is_empty() || self.sections.iter().any(|outer| within(outer)))
            && (self.subjects.is_empty() || self.subjects.iter().flat_map(|(_, all)| all).any(|outer| within(outer)))
    }

    /// In words: `210.8`, `about gfci`.
    pub fn words(&self) -> Vec<String> {
        let subjects = self.subjects.iter().map(|(subject, _)| format!("about {subject}"));
        self.sections.iter().cloned().chain(subjects).collect()
    }
}

/// The part of an inspection that is wanted.
pub fn narrowed(mut inspection: Inspection, only: &Only) -> Inspection {
    if only.is_all() {
        return inspection;
    }
    let wanted =
        |verdict: &Verdict| only.keeps(&verdict.section) || verdict.under.iter().any(|u| only.keeps(&u.section));
    inspection.verdicts.retain(wanted);
    inspection.qualifies.retain(|qualifies| only.keeps(&qualifies.section));
    for thing in &mut inspection.not_described {
        thing.sections.retain(|section| only.keeps(section));
    }
    inspection.not_described.retain(|thing| !thing.sections.is_empty());
    inspection.ask_first = ask_first(&inspection.verdicts);
    inspection.not_looked_at.clear();
    inspection.counts = super::build::counted(&inspection.verdicts);
    let open = inspection.counts.undecided + inspection.counts.for_the_authority;
    let leans = |verdict: &&Verdict| matches!(verdict.verdict.as_str(), "undecided" | "for the authority");
    let violable = inspection.verdicts.iter().filter(leans).any(|v| v.lean != "no violation possible");
    let may_be_violated = violable || !inspection.not_described.is_empty();
    inspection.outcome = match inspection.counts.not_met {
        0 if may_be_violated || (inspection.counts.met == 0 && open > 0) => Overall::Open,
        // Looking at nothing is no success.
        0 if inspection.verdicts.is_empty() => Overall::Open,
        0 => Overall::Met,
        _ => Overall::NotMet,
    };
    inspection.only = only.words();
    inspection
}
