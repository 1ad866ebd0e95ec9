//! A review as text and as JSON.

use super::{Finding, Review};
use crate::base::source::Sources;
use crate::diag::{Code, Diagnostics, Look, render, to_json};
use serde_json::{Value, json};
use std::collections::BTreeMap;

/// The version of the JSON. Within a version members are only added.
const VERSION: u32 = 1;

const CAUTION: &str = "A review tells what rules say, not whether they say what the book says: rules are paraphrased, and the \
                       adopted text governs.";

impl Review {
    /// Notes with each finding under which books it was made, where it was not all of them.
    pub(super) fn tell_books(&mut self) {
        let all = &self.books;
        if all.len() == 1 {
            return;
        }
        for finding in self.findings.iter_mut().chain(self.intended.iter_mut().map(|i| &mut i.finding)) {
            let family = finding.books.first().and_then(|b| b.split(' ').next()).unwrap_or("");
            let ours = |b: &&String| b.split(' ').next() == Some(family) && !b.contains(" with ");
            let plain = finding.books.iter().filter(ours).count();
            if !finding.books.is_empty() && (plain == 0 || plain < all.iter().filter(ours).count()) {
                let shown: Vec<&str> = match plain {
                    0 => finding.books.iter().map(String::as_str).collect(),
                    _ => finding.books.iter().filter(ours).map(String::as_str).collect(),
                };
                finding.diagnostic.notes.push(format!("under {}", shown.join(", ")));
            }
        }
    }

    /// How many findings each code has, and how many of each are intended.
    pub fn counts(&self) -> BTreeMap<Code, (usize, usize)> {
        let mut counts: BTreeMap<Code, (usize, usize)> = BTreeMap::new();
        for finding in &self.findings {
            counts.entry(finding.diagnostic.code).or_default().0 += 1;
        }
        for intended in &self.intended {
            counts.entry(intended.finding.diagnostic.code).or_default().1 += 1;
        }
        counts
    }

    /// For people: findings by code, then one line that counts them.
    pub fn text(&self, sources: &Sources, look: &Look) -> String {
        let mut out = String::new();
        let counts = self.counts();
        for (code, (found, _)) in counts.iter().filter(|(_, (found, _))| *found > 0) {
            let times = if *found == 1 { String::new() } else { format!(", {found} times") };
            out.push_str(&format!("{code}  {}{times}\n\n", code.meaning()));
            let own = self.findings.iter().filter(|f| f.diagnostic.code == *code);
            let diagnostics: Diagnostics = own.map(|f| f.diagnostic.clone()).collect();
            out.push_str(&render(&diagnostics, sources, look));
            out.push('\n');
        }
        let list = |which: fn(&(usize, usize)) -> usize| {
            let each = counts.iter().filter(|(_, both)| which(both) > 0);
            each.map(|(code, both)| format!("{code} {}", which(both))).collect::<Vec<_>>().join(", ")
        };
        let found = match self.findings.len() {
            0 => "Nothing found".to_string(),
            1 => format!("1 finding: {}", list(|both| both.0)),
            many => format!("{many} findings: {}", list(|both| both.0)),
        };
        let intended = match self.intended.len() {
            0 => String::new(),
            many => format!("; {many} intended: {}", list(|both| both.1)),
        };
        out.push_str(&format!("{found}{intended}\n"));
        out
    }

    /// For programs.
    pub fn json(&self, sources: &Sources) -> Value {
        let counts: BTreeMap<&str, Value> = (self.counts().iter())
            .map(|(code, (found, intended))| (code.as_str(), json!({ "found": found, "intended": intended })))
            .collect();
        let intended = self.intended.iter().map(|one| {
            let mut told = finding_json(&one.finding, sources);
            let (line, column) = sources.line_column(one.span.source, one.span.start);
            let source = sources.get(one.span.source).map_or("", |s| s.name.as_str());
            if let Value::Object(members) = &mut told {
                members.insert("reason".to_string(), json!(one.reason));
                members.insert("said".to_string(), json!({ "source": source, "line": line, "column": column }));
            }
            told
        });
        json!({
            "version": VERSION,
            "books": self.books,
            "findings": self.findings.iter().map(|one| finding_json(one, sources)).collect::<Vec<_>>(),
            "intended": intended.collect::<Vec<_>>(),
            "counts": counts,
            "caution": CAUTION,
        })
    }
}

fn finding_json(finding: &Finding, sources: &Sources) -> Value {
    let told = to_json(&Diagnostics::from(finding.diagnostic.clone()), sources);
    let mut one = told.get(0).cloned().unwrap_or(Value::Null);
    if let Value::Object(members) = &mut one {
        members.insert("meaning".to_string(), json!(finding.diagnostic.code.meaning()));
        members.insert("books".to_string(), json!(finding.books));
    }
    one
}
