//! A comparison narrowed to some sections.

use super::Comparison;
use crate::report::Only;
use std::collections::BTreeMap;

impl Comparison {
    /// The part of it that is wanted, by the numbers of either book; counts and the whole in one word are those of what is left. How
    /// many parts are unchanged is then not told.
    pub fn narrowed(mut self, only: &Only) -> Comparison {
        if only.is_all() {
            return self;
        }
        for rules in &mut self.rules {
            rules.changes.retain(|change| {
                let numbers = [&change.at, &change.was_at, &change.parts.0, &change.parts.1];
                numbers.iter().any(|number| !number.is_empty() && only.keeps(number))
            });
            let mut counts: BTreeMap<String, usize> = BTreeMap::new();
            for change in &rules.changes {
                *counts.entry(change.class.as_str().to_string()).or_default() += 1 + change.within;
            }
            rules.counts = counts;
        }
        self.outcomes.retain(|row| row.sections.iter().any(|number| !number.is_empty() && only.keeps(number)));
        self.differs = self.outcomes.iter().any(|row| row.differs);
        self.only = only.words();
        self
    }
}
