//! Which part of a report is wanted.

use super::args::Only;
use super::outlet::Outlet;
use crate::compare::Composed;
use crate::diag::nearest;
use crate::report;

impl Only {
    /// Held against the books; none after a complaint where none of them has such a number or subject.
    pub(super) fn wanted(&self, books: &[&Composed], outlet: &mut Outlet) -> Option<report::Only> {
        let known: Vec<&str> = books.iter().flat_map(|book| book.sections()).collect();
        for section in &self.sections {
            let own = report::Only { sections: vec![section.clone()], ..report::Only::default() };
            let bare = section.split('(').next().unwrap_or(section);
            if !known.iter().any(|number| own.keeps(number) || number.split('(').next() == Some(bare)) {
                let near = nearest(section, known.iter().copied());
                let near = near.map(|near| format!("; did you mean {near}?")).unwrap_or_default();
                outlet.fail(&format!("there is no section {section} in these books{near}"));
                return None;
            }
        }
        let mut subjects = Vec::new();
        for subject in &self.subjects {
            let numbers: Vec<String> = books.iter().flat_map(|book| book.about(subject)).collect();
            if numbers.is_empty() {
                let all: std::collections::BTreeSet<String> = books.iter().flat_map(|book| book.subjects()).collect();
                let all: Vec<&str> = all.iter().map(String::as_str).collect();
                outlet.fail(&format!("no rule of these books is about {subject}; there are {}", all.join(", ")));
                return None;
            }
            subjects.push((subject.clone(), numbers));
        }
        Some(report::Only { sections: self.sections.clone(), subjects })
    }
}
