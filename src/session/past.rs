//! What a part of a book says, and the documents that made it so.

use super::{BookName, Session};
use crate::base::source::Span;
use crate::diag::{Diagnostics, nearest};
use crate::edition::{Atom, Atoms, Event, Sort, chain};
use crate::report;
use std::collections::BTreeSet;

/// A part with its history.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Past {
    /// The part asked for and those in it; none where it was taken out.
    pub parts: Vec<Told>,
    /// What was done, oldest document first.
    pub events: Vec<Done>,
    /// The nearest number or name, where nothing was found.
    pub near: Option<String>,
}

/// What a part says now.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Told {
    /// Its number, name and title on one line.
    pub head: String,
    /// Its printed lines.
    pub lines: Vec<String>,
    /// File and line.
    pub place: String,
}

/// What a document did.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Done {
    /// To which part.
    pub at: String,
    /// What.
    pub what: String,
    /// The document, such as `nec 2020` or `tia-23-3`.
    pub document: String,
    /// File and line.
    pub place: String,
}

impl Session {
    /// The history of a part of a book: of a section, paragraph, list item or half by its number, an exception by its number
    /// (`210.8(A) Ex. 1`), a table (`table 250.122`) or one of its rows (`table 250.122, 60 A`), a kind, definition, limit or reading,
    /// and of anything else by a name given to it. With it goes what lies in it, and what was done to what it lies in.
    pub fn past(&self, under: &str, wanted: &str) -> (Past, Diagnostics) {
        let (composed, mut diagnostics) = self.compose(under);
        let (program, more) = self.open(under);
        if diagnostics.has_errors() || more.has_errors() {
            diagnostics.extend(more);
            return (Past::default(), diagnostics);
        }
        diagnostics = more;
        let atoms = Atoms::of(&composed);
        let spellings = [wanted.to_string(), format!("table {wanted}"), format!("series {wanted}")];
        let found = spellings.iter().find_map(|wanted| atoms.find(wanted));
        let mut past = Past::default();
        let inner: Vec<usize> = found.map(|at| atoms.within(at)).unwrap_or_default();
        for at in &inner {
            let Some(atom) = atoms.all.get(*at) else { continue };
            let duty = program.duties.iter().position(|duty| duty.address == atom.at);
            let written = duty.map_or(atom.node, |duty| program.origin(program.duties[duty].origin).span);
            let mut lines: Vec<String> = atom.lines.iter().map(|line| line.text.clone()).collect();
            let beyond = duty.and_then(|duty| u32::try_from(duty).ok()).map(crate::ir::program::DutyId);
            lines.extend(beyond.map(|duty| report::beyond(&program, duty)).unwrap_or_default());
            let title = match (atom.title.as_str(), duty.and_then(|duty| program.duties.get(duty))) {
                ("", Some(duty)) => duty.title.as_str(),
                (own, _) => own,
            };
            past.parts.push(Told { head: head(atom, title), lines, place: self.written(written) });
        }
        let outer: Vec<usize> = found.map(|at| around(&atoms, at)).unwrap_or_default();
        let nodes: BTreeSet<Span> =
            inner.iter().chain(&outer).filter_map(|at| atoms.all.get(*at)).map(|atom| atom.node).collect();
        let whole = found.and_then(|at| atoms.all.get(at));
        let numbers: Vec<&str> = whole.map_or(vec![wanted], |atom| vec![&atom.at, &atom.name]);
        let mut events: Vec<(usize, &str, &Event)> = Vec::new();
        let documents = self.documents(under);
        for (key, event) in composed.history.iter().flat_map(|(key, all)| all.iter().map(move |event| (key, event))) {
            let by_number = numbers.iter().any(|number| match whole {
                // What was taken out has no longer an address that lies in others.
                None => key == number || key.strip_prefix(number).is_some_and(|rest| rest.starts_with('(')),
                Some(_) => !number.is_empty() && related(key, number),
            });
            let mine = match event.node {
                Some(node) if nodes.contains(&node) => true,
                // An exception, a kind or a row that is told under the number of what it belongs to.
                _ => by_number || event.what.starts_with(&format!("{wanted}: ")),
            };
            if mine && whole.is_none_or(|atom| !of_sibling(atom, event)) {
                let place = documents.iter().position(|known| *known == event.document).unwrap_or(documents.len());
                events.push((place, key, event));
            }
        }
        events.sort_by_key(|(place, _, event)| (*place, event.span));
        for (_, key, event) in events {
            let of = event.node.and_then(|node| atoms.all.iter().find(|atom| atom.node == node));
            let at = match of {
                // The event itself names a kind; an exception is told by its number and name.
                Some(atom) if atom.sort == Sort::Exception && !event.what.starts_with("added Ex.") => label(atom),
                _ => key.to_string(),
            };
            let done = Done {
                at,
                what: event.what.clone(),
                document: event.document.clone(),
                place: self.written(event.span),
            };
            if !past.events.contains(&done) {
                past.events.push(done);
            }
        }
        if past.parts.is_empty() && past.events.is_empty() {
            let known = atoms.all.iter().flat_map(|atom| [atom.at.as_str(), atom.name.as_str()]);
            past.near = nearest(wanted, known.filter(|name| !name.is_empty())).map(str::to_string);
        }
        (past, diagnostics)
    }

    /// The documents of a book, oldest first: its editions, then what lies on top.
    fn documents(&self, under: &str) -> Vec<String> {
        let trees = self.trees();
        let name = BookName::parse(under, &trees);
        let editions = chain(&trees, &name.family, &name.year);
        editions.into_iter().map(|(family, year)| format!("{family} {year}")).chain(name.with).collect()
    }

    fn written(&self, span: Span) -> String {
        let (line, _) = self.sources.line_column(span.source, span.start);
        let file = self.sources.get(span.source).map_or("", |source| source.name.as_str());
        format!("{file}:{line}")
    }
}

/// Whether an event, told under the number of what both stand in, is that of another exception or of another row.
fn of_sibling(atom: &Atom, event: &Event) -> bool {
    match atom.sort {
        Sort::Exception => event.what.starts_with("added Ex.") && !event.span.contains(atom.node),
        Sort::Row => {
            let keys = atom.at.split_once(", ").map_or("", |(_, keys)| keys);
            event.what.contains(" was ") && !event.what.starts_with(keys)
        }
        Sort::Section
        | Sort::Paragraph
        | Sort::Item
        | Sort::Half
        | Sort::Kind
        | Sort::Define
        | Sort::Limit
        | Sort::Table
        | Sort::Reading => false,
    }
}

/// Whether a number is another, lies in it or holds it.
fn related(key: &str, number: &str) -> bool {
    let inside = |outer: &str, inner: &str| {
        inner.strip_prefix(outer).is_some_and(|rest| rest.is_empty() || rest.starts_with(['(', ',']))
    };
    inside(key, number) || inside(number, key)
}

/// The parts that one lies in.
fn around(atoms: &Atoms, at: usize) -> Vec<usize> {
    let mut all = Vec::new();
    let mut above = atoms.all.get(at).and_then(|atom| atom.parent);
    while let Some(at) = above {
        all.push(at);
        above = atoms.all.get(at).and_then(|atom| atom.parent);
    }
    all
}

fn label(atom: &Atom) -> String {
    match atom.name.as_str() {
        "" => atom.at.clone(),
        name if name == atom.at => atom.at.clone(),
        name => format!("{} {name}", atom.at),
    }
}

fn head(atom: &Atom, title: &str) -> String {
    let sort = match atom.sort {
        Sort::Kind => "kind ",
        Sort::Define => "define ",
        Sort::Limit => "limit ",
        Sort::Reading => "reading ",
        Sort::Section | Sort::Paragraph | Sort::Item | Sort::Half | Sort::Exception | Sort::Table | Sort::Row => "",
    };
    let per = if sort.is_empty() || atom.cite == atom.at { String::new() } else { format!(", per {}", atom.cite) };
    let title = if title.is_empty() { String::new() } else { format!("  {title}") };
    format!("{sort}{}{per}{title}", label(atom))
}
