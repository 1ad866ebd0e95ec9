//! Books made of layers: an edition, then the amendments of each place from the outermost in.
//!
//! Amendments are written against a base, not against one another. So two layers that touch one part are in conflict unless
//! a policy says how they stand; where the inner one's text stands, the outer one's change of that part is left out before
//! anything is applied, and every stated old value is still held against the text it was written for.

use super::apply;
use super::compose::{Composed, Event, Making, edition, sets};
use super::site;
use crate::base::printed::printed_order;
use crate::base::source::{SourceId, Span};
use crate::diag::{Code, Diagnostic, Diagnostics, nearest};
use crate::format::line;
use crate::syntax::ast::*;
use std::collections::BTreeSet;

/// An edition with the amendments that are in force in a place.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct BaseSet {
    /// The family, such as `nec`.
    pub family: String,
    /// The year or other short name.
    pub year: String,
    /// Amendments by layer, the outermost place first.
    pub layers: Vec<Layer>,
}

/// The amendments of one place.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Layer {
    /// The place, or empty.
    pub place: String,
    /// The amendments, in the order in which they are applied.
    pub amendments: Vec<String>,
    /// How this layer stands to those before it.
    pub over: Standing,
}

/// How a layer stands to the layers before it.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Standing {
    /// Nothing is said: two layers must not touch one part.
    Unsaid,
    /// Its text stands where both touch one part.
    Prevails,
}

impl BaseSet {
    /// `nec 2020 with tia-20-1, harbor-2021`.
    pub fn name(&self) -> String {
        let with: Vec<&str> = self.layers.iter().flat_map(|l| &l.amendments).map(String::as_str).collect();
        match with.is_empty() {
            true => format!("{} {}", self.family, self.year),
            false => format!("{} {} with {}", self.family, self.year, with.join(", ")),
        }
    }
}

/// Composes a book of layers.
pub fn compose_layers(books: &[(SourceId, &Rulebook)], base: &BaseSet, diagnostics: &mut Diagnostics) -> Composed {
    compose_tried(books, base, &[], diagnostics)
}

/// Composes a book of layers, and on top of it amendments that are written against what the layers come to.
pub fn compose_tried(
    books: &[(SourceId, &Rulebook)],
    base: &BaseSet,
    tried: &[&str],
    diagnostics: &mut Diagnostics,
) -> Composed {
    let mut making = Making::default();
    let mut composed = edition(books, &base.family, &base.year, &mut making, diagnostics);
    let mut layers: Vec<(&Layer, Vec<ChangeSet>)> = Vec::new();
    for layer in &base.layers {
        let found = layer.amendments.iter().filter_map(|name| named(books, base, name, diagnostics)).cloned();
        layers.push((layer, found.collect()));
    }
    for at in 1..layers.len() {
        let (before, from) = layers.split_at_mut(at);
        let Some((layer, own)) = from.first() else { continue };
        let own: Vec<Touch> = own.iter().flat_map(|set| touches(set, &composed.items)).collect();
        for (outer, sets) in before {
            for set in sets {
                let theirs = touches(set, &composed.items);
                let met: Vec<(Touch, &Touch)> = theirs
                    .into_iter()
                    .filter_map(|touch| own.iter().find(|o| o.meets(&touch)).map(|o| (touch, o)))
                    .collect();
                match layer.over {
                    Standing::Unsaid => {
                        for (theirs, ours) in &met {
                            diagnostics.push(conflict(outer, layer, theirs, ours));
                        }
                    }
                    Standing::Prevails => {
                        for (theirs, ours) in &met {
                            let what = format!("not applied: {} stands before {}", ours.document, set.name.text);
                            composed.note(
                                &theirs.at,
                                Event {
                                    document: set.name.text.to_string(),
                                    what,
                                    marks: Vec::new(),
                                    span: theirs.span,
                                    node: None,
                                },
                            );
                        }
                    }
                }
                let gone: BTreeSet<(usize, usize)> = met.iter().map(|(t, _)| (t.change, t.edit)).collect();
                *set = without(set, &gone);
            }
        }
    }
    for (_, sets) in &layers {
        for set in sets {
            let name = set.name.text.to_string();
            apply::set(&mut composed, set, &name, books, &mut making, diagnostics);
        }
    }
    for name in tried {
        if let Some(set) = named(books, base, name, diagnostics) {
            apply::set(&mut composed, set, name, books, &mut making, diagnostics);
        }
    }
    super::also::fold(&mut composed.items);
    composed.name = base.name();
    let joint = if base.layers.iter().all(|layer| layer.amendments.is_empty()) { " with " } else { ", " };
    if !tried.is_empty() {
        composed.name.push_str(&format!("{joint}{}", tried.join(", ")));
    }
    composed
}

/// The set of changes with that name, if it is loaded and amends this base.
fn named<'b>(
    books: &[(SourceId, &'b Rulebook)],
    base: &BaseSet,
    name: &str,
    diagnostics: &mut Diagnostics,
) -> Option<&'b ChangeSet> {
    let found = super::compose::amendment(books, name, &base.family, &base.year);
    match found {
        Some(set) if amends(set, &base.family, &base.year) => Some(set),
        Some(set) => {
            diagnostics.push(other_base(set, &base.family, &base.year));
            None
        }
        None => {
            let known: Vec<&str> =
                sets(books).filter(|s| s.kind != SetKind::Edition).map(|s| s.name.text.as_str()).collect();
            let diagnostic = Diagnostic::error(Code::NoSuchChanges, format!("there is no amendment `{name}`"));
            diagnostics.push(match nearest(name, known.iter().copied()) {
                Some(near) => diagnostic.help(format!("did you mean `{near}`?")),
                None if known.is_empty() => diagnostic.help("no amendment is loaded"),
                None => diagnostic.help(format!("loaded: {}", known.join(", "))),
            });
            None
        }
    }
}

/// Whether a set of changes is written for an edition.
pub(crate) fn amends(set: &ChangeSet, family: &str, year: &str) -> bool {
    set.base.as_ref().is_none_or(|base| base.family.text == family && base.year.text == year)
}

/// What to say of an amendment used on a base that it was not written for.
pub(super) fn other_base(set: &ChangeSet, family: &str, year: &str) -> Diagnostic {
    let Some(base) = &set.base else {
        return Diagnostic::error(Code::OtherBase, format!("`{}` does not amend {family} {year}", set.name.text));
    };
    let (own_family, own_year) = (&base.family.text, &base.year.text);
    let name = &set.name.text;
    Diagnostic::error(Code::OtherBase, format!("`{name}` amends {own_family} {own_year}, not {family} {year}"))
        .at(base.family.span.to(base.year.span), "its declared base")
        .help(format!("inspect under \"{own_family} {own_year} with {name}\""))
}

/// A part that a change touches.
#[derive(Debug, Clone)]
struct Touch {
    /// The part's number or name in the base, in full.
    at: String,
    /// Which piece of it, in words; none: the whole part with all it holds.
    piece: Option<String>,
    /// The last part of a range that starts with this one.
    through: Option<String>,
    /// The change and the edit in it, by position.
    change: usize,
    edit: usize,
    document: String,
    span: Span,
}

impl Touch {
    /// Whether both touch one thing.
    fn meets(&self, other: &Touch) -> bool {
        let below = |a: &str, b: &str| {
            a.strip_prefix(b).is_some_and(|rest| rest.is_empty() || rest.starts_with('(') || rest.starts_with(" Ex."))
        };
        let inside = |a: &str, of: &Touch| {
            of.through.as_ref().is_some_and(|last| {
                let order = printed_order(a);
                below(a, last) || (printed_order(&of.at) <= order && order <= printed_order(last))
            })
        };
        if inside(&self.at, other) || inside(&other.at, self) {
            return true;
        }
        match (&self.piece, &other.piece) {
            (Some(a), Some(b)) => self.at == other.at && a == b,
            (None, Some(_)) => below(&other.at, &self.at),
            (Some(_), None) => below(&self.at, &other.at),
            (None, None) => below(&self.at, &other.at) || below(&other.at, &self.at),
        }
    }

    fn words(&self) -> String {
        match &self.piece {
            Some(piece) => format!("{piece} in {}", self.at),
            None => self.at.clone(),
        }
    }
}

fn conflict(outer: &Layer, inner: &Layer, theirs: &Touch, ours: &Touch) -> Diagnostic {
    let title = format!("{} and {} both touch {}", outer.place, inner.place, ours.words());
    Diagnostic::error(Code::LayersConflict, title)
        .at(ours.span, format!("{} of {}", ours.document, inner.place))
        .at(theirs.span, format!("{} of {}", theirs.document, outer.place))
        .help(format!(
            "say which stands: `over {}: last wins`, `strictest wins`, `no deviation` or `approval needed`",
            outer.place
        ))
}

/// The parts that a set of changes touches, in numbers of its base.
fn touches(set: &ChangeSet, items: &[Item]) -> Vec<Touch> {
    let mut all = Vec::new();
    for (change_at, change) in set.changes.iter().enumerate() {
        let document = set.name.text.to_string();
        let mut touch = |at: String, piece: Option<String>, edit: usize, span: Span| {
            all.push(Touch { at, piece, through: None, change: change_at, edit, document: document.clone(), span });
        };
        let number =
            |address: &Address| site::number_of(items, &address.text).unwrap_or_else(|| address.text.to_string());
        match &change.kind {
            ChangeKind::In(target, edits) => {
                let targets: Vec<String> = match target {
                    ChangeTarget::At(address) => vec![number(address)],
                    ChangeTarget::About(subject) => items
                        .iter()
                        .filter_map(|item| match item {
                            Item::Section(s) if s.about.iter().any(|a| a.text == subject.text) => {
                                Some(s.address.text.to_string())
                            }
                            _ => None,
                        })
                        .collect(),
                };
                for at in targets {
                    for (edit_at, edit) in edits.iter().enumerate() {
                        for (within, piece) in pieces(edit) {
                            touch(format!("{at}{within}"), piece, edit_at, change.span);
                        }
                    }
                }
            }
            ChangeKind::InTable(address, edits) => {
                for (edit_at, edit) in edits.iter().enumerate() {
                    let keys = |keys: &[CellKey]| keys.iter().map(line::cell_key).collect::<Vec<_>>().join(", ");
                    let piece = match edit {
                        TableEdit::AddRow(row) => keys(&row.keys),
                        TableEdit::StrikeRow(own, _) | TableEdit::CellWas { keys: own, .. } => keys(own),
                    };
                    touch(format!("table {}", address.text), Some(piece), edit_at, change.span);
                }
            }
            ChangeKind::InSeries(address, edits) => {
                for edit_at in 0..edits.len() {
                    touch(format!("series {}", address.text), None, edit_at, change.span);
                }
            }
            ChangeKind::Insert { at, .. } => touch(at.text.to_string(), None, 0, change.span),
            ChangeKind::Delete(from, None) | ChangeKind::Reserve(from) | ChangeKind::Split(from, _) => {
                touch(number(from), None, 0, change.span);
            }
            ChangeKind::Delete(from, Some(through)) => {
                touch(number(from), None, 0, change.span);
                if let Some(last) = all.last_mut() {
                    last.through = Some(number(through));
                }
            }
            ChangeKind::Exclude(ranges) => {
                for (from, through) in ranges {
                    let at = number(from);
                    let through = through.as_ref().map(number);
                    let document = document.clone();
                    let span = change.span;
                    all.push(Touch { at, piece: None, through, change: change_at, edit: 0, document, span });
                }
            }
            ChangeKind::Use { what, at, .. } => {
                let piece = match what {
                    Used::Text => None,
                    Used::Scope => Some("where it applies".to_string()),
                    Used::Exceptions(..) => Some("its exceptions".to_string()),
                };
                touch(number(at), piece, 0, change.span);
            }
            ChangeKind::DeleteTable(address) | ChangeKind::UseTable(address, _) => {
                touch(format!("table {}", address.text), None, 0, change.span);
            }
            ChangeKind::Merge(parts, _) => {
                for part in parts {
                    touch(number(part), None, 0, change.span);
                }
            }
            ChangeKind::Becomes(part, _) => {
                let at = match part {
                    PartName::At(address) => number(address),
                    PartName::Exception(name, address) => format!("{}{}", number(address), exception(name)),
                };
                touch(at, None, 0, change.span);
            }
            ChangeKind::Settle(reading, _) => {
                touch(reading.text.to_string(), Some("how it is read".to_string()), 0, change.span);
            }
            ChangeKind::LimitWas(limit, ..) => {
                touch(limit.text.to_string(), Some("its value".to_string()), 0, change.span);
            }
            ChangeKind::ReadEverywhere(old, _) => {
                touch("the whole book".to_string(), Some(term(old)), 0, change.span);
            }
            ChangeKind::NotesFall => touch("the notes".to_string(), None, 0, change.span),
            ChangeKind::Replace { at, .. } => touch(number(at), None, 0, change.span),
            ChangeKind::Renumber(from, to) | ChangeKind::Move(from, to) => {
                touch(number(from), Some("the number".to_string()), 0, change.span);
                touch(to.text.to_string(), Some("the number".to_string()), 0, change.span);
            }
            ChangeKind::Waive(addresses, _) => {
                for address in addresses {
                    touch(number(address), Some("whether it is waived".to_string()), 0, change.span);
                }
            }
            ChangeKind::Release(addresses, _) => {
                for address in addresses {
                    touch(number(address), Some("whether it is released".to_string()), 0, change.span);
                }
            }
            ChangeKind::Start(address, ..) | ChangeKind::Delay { at: address, .. } => {
                touch(number(address), Some("its start".to_string()), 0, change.span);
            }
            ChangeKind::Lapse(address, ..) => touch(number(address), Some("its end".to_string()), 0, change.span),
            ChangeKind::AddAfter { name, .. } => touch(name.text.to_string(), None, 0, change.span),
            ChangeKind::Added(item) => {
                let own = match item.as_ref() {
                    Item::Section(s) => s.address.text.to_string(),
                    Item::Kind(k) => k.name.text.to_string(),
                    Item::Table(t) => format!("table {}", t.address.text),
                    Item::Define(d) => d.name.text.to_string(),
                    Item::Limit(l) => l.name.text.to_string(),
                    Item::Reading(r) => r.name.text.to_string(),
                    _ => continue,
                };
                touch(own, None, 0, change.span);
            }
            ChangeKind::InForce { .. } | ChangeKind::Carry(_) | ChangeKind::Declare { .. } => {}
        }
    }
    all
}

/// What an edit touches: the part below its target, and which piece of it.
fn pieces(edit: &Edit) -> Vec<(String, Option<String>)> {
    let piece = |words: String| vec![(String::new(), Some(words))];
    match edit {
        Edit::Title(..) => piece("the title".to_string()),
        Edit::Enough(..) => piece("what is enough".to_string()),
        Edit::Number(..) => piece("the number".to_string()),
        Edit::AddException(kind, _) => match kind.as_ref() {
            StatementKind::Unless(head, ..) | StatementKind::Exception(head, ..) => match (&head.name, &head.number) {
                (Some(name), _) => piece(format!("exception {}", name.text)),
                (None, Some(number)) => vec![(format!(" Ex. {}", number.text), None)],
                (None, None) => Vec::new(),
            },
            _ => Vec::new(),
        },
        Edit::AddItem(item) => {
            vec![(item.label.as_ref().map_or_else(String::new, |l| format!("({})", l.text)), None)]
        }
        Edit::AddConditions(clauses) => clauses.all.iter().map(|c| (String::new(), Some(condition(c)))).collect(),
        Edit::StrikeException(name) => vec![(exception(name), None)],
        Edit::AddStatement(_) => piece("its last sentence".to_string()),
        Edit::Force { .. } => piece("its force".to_string()),
        Edit::Read(old, _) => piece(term(old)),
        Edit::Also(path, ..) | Edit::NoLonger(path, ..) => piece(line::path(path)),
        Edit::StrikeItem(labels) => vec![(line::labels(labels), None)],
        Edit::StrikeCondition(clause, _) => piece(condition(clause)),
        Edit::Value(..) => piece("its value".to_string()),
        Edit::AddLine(added) => {
            vec![(added.label.as_ref().map_or_else(String::new, |l| format!("({})", l.text)), None)]
        }
        Edit::WasNow(path, ..) => piece(line::path(path)),
    }
}

/// An exception as the last part of a number.
fn exception(name: &ExceptionName) -> String {
    match &name.number {
        Some(number) => format!(" Ex. {}", number.text),
        None => " Ex.".to_string(),
    }
}

/// What is read as something else.
fn term(term: &ReadTerm) -> String {
    match term {
        ReadTerm::Word(name) => format!("the word {}", name.text),
        ReadTerm::Quantity(quantity) => format!("the quantity {}", line::quantity(quantity)),
        ReadTerm::Number(address) => format!("the number {}", address.text),
        ReadTerm::Text(text, _) => format!("the words \"{text}\""),
    }
}

/// The field that a condition tests, or the whole condition.
fn condition(clause: &Clause) -> String {
    match &clause.kind {
        ClauseKind::Compare(expr, _) => line::expr(expr),
        ClauseKind::Quantified { list, .. } => line::list(list),
        _ => line::clause(clause),
    }
}

/// A set of changes without some of its edits.
fn without(set: &ChangeSet, gone: &BTreeSet<(usize, usize)>) -> ChangeSet {
    let mut kept = set.clone();
    kept.changes = set
        .changes
        .iter()
        .enumerate()
        .filter_map(|(at, change)| {
            let mut change = change.clone();
            let left = match &mut change.kind {
                ChangeKind::In(_, edits) => keep(edits, at, gone),
                ChangeKind::InTable(_, edits) => keep(edits, at, gone),
                _ => !gone.contains(&(at, 0)),
            };
            left.then_some(change)
        })
        .collect();
    kept
}

/// Whether anything is left.
fn keep<E>(edits: &mut Vec<E>, change: usize, gone: &BTreeSet<(usize, usize)>) -> bool {
    let mut at = 0;
    edits.retain(|_| {
        at += 1;
        !gone.contains(&(change, at - 1))
    });
    !edits.is_empty()
}
