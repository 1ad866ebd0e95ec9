//! One operation of an amendment: written for the other book, and tried there.

use super::addresses::{self, Role};
use super::lineage::{Lineage, Whereabouts};
use super::{Fate, Moved, Operation};
use crate::base::source::Span;
use crate::compare::classes::{Class, Pair, classify};
use crate::compare::markup::{Fate as Words, Marked};
use crate::diag::{Code, Diagnostic, Diagnostics};
use crate::edition::{self, Atoms, Composed, Line, Sort};
use crate::format::{block, line};
use crate::syntax::ast::*;
use std::collections::BTreeMap;

/// What was found while writing an operation for the other book.
#[derive(Default)]
struct Found {
    moved: Vec<Moved>,
    notes: Vec<String>,
    gone: Option<String>,
    lost: Vec<(Span, String, String)>,
    /// The parts it changes, in both books.
    parts: Vec<(usize, usize)>,
}

impl Found {
    fn moved(&mut self, from: &str, to: &str) {
        let moved = Moved { from: from.to_string(), to: to.to_string() };
        if from != to && !self.moved.contains(&moved) {
            self.moved.push(moved);
        }
    }

    /// Takes in where a part is; its number there if it is anywhere.
    fn take(&mut self, place: Whereabouts, written: &str, span: Span) -> Option<String> {
        match place {
            Whereabouts::Here(number, parts) => {
                self.parts.extend(parts);
                self.moved(written, &number);
                Some(number)
            }
            Whereabouts::Gone(why) => {
                self.gone = Some(why);
                None
            }
            Whereabouts::Lost(why) => {
                self.lost.push((span, written.to_string(), why));
                None
            }
        }
    }
}

/// How much of what an operation is applied to must be as it was for it to apply unseen.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Rests {
    /// It says itself what it expects.
    ItsOldValue,
    /// On the part's own lines.
    ThePart,
    /// On the part and all that stands in it.
    AllOfIt,
}

fn rests(kind: &ChangeKind) -> Rests {
    match kind {
        ChangeKind::In(_, edits) => match edits.first() {
            Some(
                Edit::AddException(..)
                | Edit::AddItem(_)
                | Edit::AddConditions(_)
                | Edit::AddStatement(_)
                | Edit::StrikeCondition(_, None)
                | Edit::Force { .. }
                | Edit::Read(..)
                | Edit::Also(..)
                | Edit::NoLonger(..)
                | Edit::AddLine(_),
            ) => Rests::ThePart,
            Some(Edit::StrikeException(_) | Edit::StrikeItem(_)) => Rests::AllOfIt,
            Some(
                Edit::Title(..)
                | Edit::Enough(..)
                | Edit::Number(..)
                | Edit::StrikeCondition(_, Some(_))
                | Edit::WasNow(..)
                | Edit::Value(..),
            )
            | None => Rests::ItsOldValue,
        },
        ChangeKind::Insert { .. } => Rests::ThePart,
        ChangeKind::Delete(..)
        | ChangeKind::Reserve(_)
        | ChangeKind::Replace { .. }
        | ChangeKind::Use { .. }
        | ChangeKind::Waive(..)
        | ChangeKind::Release(..)
        | ChangeKind::Start(..)
        | ChangeKind::Lapse(..)
        | ChangeKind::Exclude(_)
        | ChangeKind::Split(..)
        | ChangeKind::Merge(..)
        | ChangeKind::Becomes(..)
        | ChangeKind::DeleteTable(_)
        | ChangeKind::UseTable(..) => Rests::AllOfIt,
        ChangeKind::InTable(_, edits) => match edits.first() {
            Some(TableEdit::StrikeRow(..)) => Rests::AllOfIt,
            Some(TableEdit::AddRow(_) | TableEdit::CellWas { .. }) | None => Rests::ItsOldValue,
        },
        ChangeKind::InForce { .. }
        | ChangeKind::InSeries(..)
        | ChangeKind::Renumber(..)
        | ChangeKind::Move(..)
        | ChangeKind::Carry(_)
        | ChangeKind::ReadEverywhere(..)
        | ChangeKind::Settle(..)
        | ChangeKind::NotesFall
        | ChangeKind::LimitWas(..)
        | ChangeKind::Delay { .. }
        | ChangeKind::Declare { .. }
        | ChangeKind::AddAfter { .. }
        | ChangeKind::Added(_) => Rests::ItsOldValue,
    }
}

/// Whether an operation takes something out, so that it has nothing left to do where that is gone.
fn removes(kind: &ChangeKind) -> bool {
    match kind {
        ChangeKind::Delete(..) | ChangeKind::Exclude(_) | ChangeKind::DeleteTable(_) => true,
        ChangeKind::In(_, edits) => {
            matches!(edits.as_slice(), [Edit::StrikeException(_) | Edit::StrikeItem(_) | Edit::StrikeCondition(..)])
        }
        ChangeKind::InTable(_, edits) => matches!(edits.as_slice(), [TableEdit::StrikeRow(..)]),
        _ => false,
    }
}

/// Writes one operation for the other book and tries it there. None, with a diagnostic, where the lineage of a part is not on
/// record.
pub(super) fn tried(lineage: &Lineage, change: &Change, diagnostics: &mut Diagnostics) -> Option<(Change, Operation)> {
    let mut now = change.clone();
    let mut found = Found::default();
    readdress(lineage, &mut now, &mut found);
    if !found.lost.is_empty() {
        for (span, written, why) in found.lost {
            let title = format!("target moved, no mapping: {written} of {} is not in {}", lineage.from(), lineage.to());
            diagnostics.push(
                Diagnostic::error(Code::NoMapping, title)
                    .at(span, why)
                    .help("say in that edition's changes where it went (`renumber`, `move`, or one name with `as` in both), or write this line anew"),
            );
        }
        return None;
    }
    let mut operation = Operation {
        fate: Fate::Applies,
        was: block::change(change, 0),
        now: block::change(&now, 0),
        moved: found.moved,
        notes: found.notes,
        underneath: Vec::new(),
        place: String::new(),
        span: change.span,
    };
    if let Some(why) = found.gone {
        operation.fate = if removes(&change.kind) { Fate::Absorbed } else { Fate::TargetGone };
        operation.notes.push(why);
        return Some((now, operation));
    }
    if !operation.notes.is_empty() {
        operation.fate = Fate::ChangedUnderneath;
    }
    let effect = Effect::of(lineage, change);
    if let Some(since) = effect.as_ref().and_then(|effect| effect.absorbed_since(lineage)) {
        operation.fate = Fate::Absorbed;
        operation.notes = vec![format!("{since} says it itself: a candidate to retire")];
        return Some((now, operation));
    }
    let mut said = Diagnostics::new();
    edition::applied(lineage.journey.to, &lineage.alone(&now), lineage.journey.books, &mut said);
    let error = said.iter().find(|d| d.severity == crate::diag::Severity::Error);
    match error {
        // It leans on another line of the amendment: both stand or fall together.
        Some(_) if effect.is_none() => {}
        Some(error) => {
            let (fate, note) = refused(lineage, &now, error);
            operation.fate = fate;
            operation.notes.push(note);
        }
        None => {
            let rests = rests(&change.kind);
            for (at, to) in &found.parts {
                operation.underneath.extend(underneath(lineage, *at, *to, rests));
            }
            let changed = !operation.underneath.is_empty();
            // What it states is still so, but more of the part is not as it was.
            let around = rests == Rests::ItsOldValue && matches!(change.kind, ChangeKind::In(..));
            if around {
                for (at, to) in &found.parts {
                    operation.underneath.extend(underneath(lineage, *at, *to, Rests::ThePart));
                }
            }
            if !operation.underneath.is_empty() {
                let mut by: Vec<String> = Vec::new();
                for document in found.parts.iter().flat_map(|(_, to)| lineage.documents_at(*to)) {
                    if !by.contains(&document) {
                        by.push(document);
                    }
                }
                let by = if by.is_empty() { lineage.to() } else { by.join(", ") };
                if changed {
                    operation.fate = Fate::ChangedUnderneath;
                    operation.notes.push(format!("{by} changed what it is applied to"));
                } else {
                    operation.notes.push(format!("{by} changed other words of this part"));
                }
            }
            if let Some(taken) = number_taken(lineage, &now) {
                operation.fate = Fate::ChangedUnderneath;
                operation.notes.push(taken);
            }
        }
    }
    Some((now, operation))
}

impl Lineage<'_> {
    fn from(&self) -> String {
        self.journey.from.name.clone()
    }

    fn to(&self) -> String {
        self.journey.to.name.clone()
    }

    /// The amendment with one operation only.
    fn alone(&self, change: &Change) -> ChangeSet {
        ChangeSet { changes: vec![change.clone()], ..self.journey.set.clone() }
    }
}

// ------------------------------------------------------------------------------------------------ numbers

fn readdress(lineage: &Lineage, change: &mut Change, found: &mut Found) {
    let labelled = relabel(lineage, change, found);
    let insert = match &change.kind {
        ChangeKind::Insert { at, .. } => at.text.rfind('(').map(|cut| at.text[..cut].to_string()),
        _ => None,
    };
    if let Some(parent) = insert
        && let Some(at) = lineage.old.find(&parent)
    {
        match lineage.part(at, &parent) {
            Whereabouts::Here(_, parts) => found.parts.extend(parts),
            place => {
                found.take(place, &parent, change.span);
            }
        }
    }
    addresses::each(&mut change.kind, &mut |address, role| {
        let written = address.text.to_string();
        let number = match role {
            Role::Target if labelled => return,
            Role::Target => match (lineage.old.find(&written), lineage.old.find(&format!("table {written}"))) {
                (None, Some(_)) => found.take(lineage.table(&written), &written, address.span),
                _ => found.take(lineage.target(&written), &written, address.span),
            },
            Role::Table => found.take(lineage.table(&written), &written, address.span),
            Role::Place => {
                let number = lineage.place(&written);
                found.moved(&written, &number);
                Some(number)
            }
            Role::Reference => match lineage.reference(&written) {
                Ok(number) => {
                    found.moved(&written, &number);
                    Some(number)
                }
                Err(why) => {
                    found.notes.push(why);
                    None
                }
            },
        };
        if let Some(number) = number {
            address.text = number.as_str().into();
        }
    });
    rows(lineage, change, found);
}

/// A change within a table rests on its row only: the row that is struck, to see whether it still says the same.
fn rows(lineage: &Lineage, change: &Change, found: &mut Found) {
    let ChangeKind::InTable(address, edits) = &change.kind else { return };
    found.parts.clear();
    if let [TableEdit::StrikeRow(keys, _)] = edits.as_slice() {
        let keys: Vec<String> = keys.iter().map(line::cell_key).collect();
        let to = lineage.new.find(&format!("table {}, {}", address.text, keys.join(", ")));
        if let Some(to) = to
            && let Some(at) = lineage.pair.alignment.from(to)
        {
            found.parts.push((at, to));
        }
    }
}

/// Operations that name a part by labels behind their target; true if the target was written anew with them.
fn relabel(lineage: &Lineage, change: &mut Change, found: &mut Found) -> bool {
    let ChangeKind::In(ChangeTarget::At(target), edits) = &mut change.kind else { return false };
    let [edit] = edits.as_mut_slice() else { return false };
    let Some(home) = lineage.old.find(&target.text) else { return false };
    let span = target.span;
    let own = lineage.old_atom(home).at.clone();
    match edit {
        Edit::StrikeItem(labels) => {
            let full = format!("{own}{}", line::labels(labels));
            let Some(at) = lineage.old.find(&full) else { return false };
            if found.take(lineage.part(at, &full), &full, span).is_none() {
                return true;
            }
            let Some((_, to)) = found.parts.last().copied() else { return false };
            let parent = lineage.new_atom(to).parent.map(|p| lineage.new_atom(p).at.clone()).unwrap_or_default();
            let number = lineage.new_atom(to).at.clone();
            // The old target, if the item is still below it; else what it stands in now.
            let head = match lineage.part(home, &target.text) {
                Whereabouts::Here(head, Some((_, new))) if number.starts_with(&lineage.new_atom(new).at) => {
                    (head, lineage.new_atom(new).at.clone())
                }
                _ => (parent.clone(), parent),
            };
            target.text = head.0.as_str().into();
            *labels = split_labels(number.strip_prefix(head.1.as_str()).unwrap_or(""), span);
            true
        }
        Edit::StrikeException(name) => {
            let mut bare = name.clone();
            if bare.number.is_some() {
                bare.to.clear();
            }
            let said = block::edit(&Edit::StrikeException(bare), 0);
            let said = said.strip_prefix("strike ").unwrap_or(&said);
            let full = format!("{own} {said}");
            let Some(at) = lineage.old.find(&full) else { return false };
            if found.take(lineage.part(at, &full), &full, span).is_none() {
                return true;
            }
            let Some((_, to)) = found.parts.last().copied() else { return false };
            let number = lineage.new_atom(to).at.clone();
            if let Some((parent, head)) = number.split_once(" Ex.") {
                let stays = lineage.part(home, &target.text);
                target.text = match stays {
                    Whereabouts::Here(head, Some((_, new))) if lineage.new_atom(new).at == parent => {
                        head.as_str().into()
                    }
                    _ => parent.into(),
                };
                let head = head.trim();
                let digits = head.chars().all(|c| c.is_ascii_digit()) && !head.is_empty();
                name.number = digits.then(|| Name { text: head.into(), span });
                name.to = match head.strip_prefix("to ") {
                    Some(runs) => runs.split(", ").map(|run| split_labels(run, span)).collect(),
                    None => Vec::new(),
                };
            }
            true
        }
        Edit::Number(old, _) => {
            if let Whereabouts::Here(_, Some((_, to))) = lineage.part(home, &target.text)
                && let Some((_, head)) = lineage.new_atom(to).at.split_once(" Ex.")
            {
                let head = head.trim();
                let digits = head.chars().all(|c| c.is_ascii_digit()) && !head.is_empty();
                let new = digits.then(|| Name { text: head.into(), span });
                let number = |n: &Option<Name>| n.as_ref().map_or_else(String::new, |n| format!(" {}", n.text));
                if number(old) != number(&new) {
                    found.moved(&format!("Ex.{}", number(old)), &format!("Ex.{}", number(&new)));
                    *old = new;
                }
            }
            false
        }
        Edit::AddException(kind, _) => {
            if let StatementKind::Unless(head, ..) | StatementKind::Exception(head, ..) = kind.as_mut() {
                for run in &mut head.to {
                    let full = format!("{own}{}", line::labels(run));
                    let Some(at) = lineage.old.find(&full) else { continue };
                    match lineage.part(at, &full) {
                        Whereabouts::Here(_, Some((_, to))) => {
                            let number = &lineage.new_atom(to).at;
                            let parent = lineage.pair.alignment.to(home).map(|p| lineage.new_atom(p).at.clone());
                            if let Some(rest) = parent.and_then(|p| number.strip_prefix(p.as_str())) {
                                found.moved(&full, number);
                                *run = split_labels(rest, span);
                            }
                        }
                        Whereabouts::Here(_, None) => {}
                        Whereabouts::Gone(why) => found.notes.push(format!("{full}, which it is bound to: {why}")),
                        Whereabouts::Lost(why) => found.lost.push((span, full, why)),
                    }
                }
            }
            false
        }
        _ => false,
    }
}

fn split_labels(run: &str, span: Span) -> Vec<Name> {
    run.split(['(', ')']).filter(|l| !l.is_empty()).map(|l| Name { text: l.into(), span }).collect()
}

// ------------------------------------------------------------------------------------------------ what it does

/// What an operation did to the book it was written against: lines struck and inserted, parts added and taken out.
struct Effect {
    steps: Vec<Step>,
}

enum Step {
    /// A part of the old book got and lost lines.
    Lines { at: usize, struck: Vec<Line>, inserted: Vec<Line> },
    /// A part came, in a part of the old book or at the top.
    Added { parent: Option<usize>, sort: Sort, key: String, lines: Vec<Line> },
    /// A part of the old book went.
    Removed { at: usize },
    /// Something that lines do not show.
    Other,
}

impl Effect {
    /// None if the operation alone does not fit its own base: it leans on another.
    fn of(lineage: &Lineage, change: &Change) -> Option<Effect> {
        let mut said = Diagnostics::new();
        let amended = edition::applied(lineage.journey.from, &lineage.alone(change), lineage.journey.books, &mut said);
        if said.has_errors() {
            return None;
        }
        let after = Atoms::of(&amended);
        let pair = Pair::of((lineage.journey.from, lineage.old), (&amended, &after));
        let found = classify(&pair, &BTreeMap::new());
        let steps = found
            .changes
            .iter()
            .map(|change| {
                let (at, to) = (lineage.old.find(&change.parts.0), after.find(&change.parts.1));
                match (change.class, at, to) {
                    (Class::Changed | Class::NoteOnly | Class::Reserved, Some(at), Some(to)) => {
                        let (old, new) = (pieces(&pair.old_lines(at)), pieces(&pair.new_lines(to)));
                        Step::Lines {
                            at,
                            struck: old.iter().filter(|l| !new.contains(l)).cloned().collect(),
                            inserted: new.iter().filter(|l| !old.contains(l)).cloned().collect(),
                        }
                    }
                    (Class::Added, _, Some(to)) => {
                        let atom = &after.all[to];
                        Step::Added {
                            parent: atom.parent.and_then(|p| pair.alignment.from(p)),
                            sort: atom.sort,
                            key: if atom.name.is_empty() { atom.at.clone() } else { atom.name.clone() },
                            lines: all_lines(&after, to),
                        }
                    }
                    (Class::Removed, Some(at), _) => Step::Removed { at },
                    _ => Step::Other,
                }
            })
            .collect();
        Some(Effect { steps })
    }

    /// The first edition from which on the base says all of it itself; none if the book it is carried to does not.
    fn absorbed_since(&self, lineage: &Lineage) -> Option<String> {
        let real = self.steps.iter().any(|step| !matches!(step, Step::Other));
        if !real || !self.absorbed(lineage, lineage.journey.to, lineage.new, lineage.pair) {
            return None;
        }
        let mut since = lineage.to();
        for edition in lineage.journey.between.iter().rev() {
            let atoms = Atoms::of(edition);
            let pair = Pair::of((lineage.journey.from, lineage.old), (edition, &atoms));
            if !self.absorbed(lineage, edition, &atoms, &pair) {
                break;
            }
            since.clone_from(&edition.name);
        }
        Some(since)
    }

    fn absorbed(&self, lineage: &Lineage, book: &Composed, new: &Atoms, pair: &Pair) -> bool {
        if book.name == lineage.journey.from.name {
            return false;
        }
        self.steps.iter().all(|step| match step {
            Step::Lines { at, struck, inserted } => pair.alignment.to(*at).is_some_and(|to| {
                let says = pieces(&pair.new_lines(to));
                inserted.iter().all(|l| says.contains(l)) && struck.iter().all(|l| !says.contains(l))
            }),
            Step::Added { parent, sort, key, lines } => {
                let home = parent.map(|p| pair.alignment.to(p));
                new.all.iter().enumerate().any(|(at, atom)| {
                    let here = match home {
                        Some(home) => home.is_some() && atom.parent == home,
                        None => atom.name == *key || atom.at == *key,
                    };
                    here && atom.sort == *sort && pair.alignment.from(at).is_none() && all_lines(new, at) == *lines
                })
            }
            Step::Removed { at } => pair.alignment.to(*at).is_none(),
            Step::Other => false,
        })
    }
}

/// Lines with each of their conditions told apart, since conditions on one line may change one by one.
fn pieces(lines: &[Line]) -> Vec<Line> {
    let mut all = Vec::new();
    for line in lines {
        let apart =
            line.binds && !["{", "(", "\"", " then ", " instead ", ": "].iter().any(|sign| line.text.contains(sign));
        if !apart {
            all.push(line.clone());
            continue;
        }
        let (word, rest) = ["when ", "requires ", "prohibits "]
            .iter()
            .find_map(|word| Some((*word, line.text.strip_prefix(word)?)))
            .unwrap_or(("", &line.text));
        all.extend(rest.split(", ").map(|piece| Line { text: format!("{word}{piece}"), binds: true }));
    }
    all
}

/// The lines of a part and of those in it, with their labels.
fn all_lines(atoms: &Atoms, at: usize) -> Vec<Line> {
    let own = &atoms.all[at].at;
    atoms
        .within(at)
        .into_iter()
        .flat_map(|inner| {
            let atom = &atoms.all[inner];
            let label = atom.at.strip_prefix(own.as_str()).unwrap_or("").to_string();
            let label = if atom.sort == Sort::Exception { spoken(&label).to_string() } else { label };
            atom.printed().into_iter().map(move |l| Line { text: format!("{label} {}", l.text), binds: l.binds })
        })
        .collect()
}

/// How what an operation is applied to differs from what it was written for.
fn underneath(lineage: &Lineage, at: usize, to: usize, rests: Rests) -> Vec<Marked> {
    match rests {
        Rests::ItsOldValue => Vec::new(),
        Rests::ThePart => lineage.pair.class(at, to).1.into_iter().filter(|l| l.binds).collect(),
        Rests::AllOfIt => {
            let mut all = Vec::new();
            let inside = lineage.new.within(to);
            for part in &inside {
                match lineage.pair.alignment.from(*part) {
                    Some(before) => all.extend(lineage.pair.class(before, *part).1),
                    None => {
                        all.extend(labelled(lineage.new, to, *part, lineage.pair.new_lines(*part), Words::Inserted))
                    }
                }
            }
            for part in lineage.old.within(at) {
                if lineage.pair.alignment.to(part).is_none() {
                    all.extend(labelled(lineage.old, at, part, lineage.pair.old_lines(part), Words::Struck));
                }
            }
            all.retain(|l| l.binds);
            all
        }
    }
}

/// A label as it is said: an exception without a number is told by its words, not by its place among others.
fn spoken(label: &str) -> &str {
    match label.find("Ex. ") {
        Some(at) if !label[at + 4..].starts_with(|c: char| c.is_ascii_digit()) => &label[..at + 3],
        _ => label,
    }
}

fn labelled(atoms: &Atoms, home: usize, part: usize, lines: Vec<Line>, fate: Words) -> Vec<Marked> {
    let own = atoms.all[home].at.as_str();
    let label = spoken(atoms.all[part].at.strip_prefix(own).unwrap_or("")).trim_start().to_string();
    lines
        .into_iter()
        .map(|l| {
            let text = if label.is_empty() { l.text } else { format!("{label} {}", l.text) };
            Marked::whole(&Line { text, binds: l.binds }, fate)
        })
        .collect()
}

/// Why the other book refused an operation, in words of what the amendment states.
fn refused(lineage: &Lineage, change: &Change, error: &Diagnostic) -> (Fate, String) {
    let to = lineage.to();
    match error.code {
        Code::OldValueDiffers => {
            let says =
                error.labels.iter().find_map(|label| label.text.strip_prefix("says ")).unwrap_or("something else");
            let says = says.strip_prefix("is ").unwrap_or(says);
            let stated = stated(change);
            // A limit that was stated bare is answered bare.
            let limit = |text: &str| {
                let words = ["at least ", "at most ", "exactly ", "more than ", "less than "];
                words.iter().find_map(|w| text.strip_prefix(w)).map(str::to_string)
            };
            let says = match (limit(&stated), limit(says)) {
                (None, Some(bare)) => bare,
                _ => says.to_string(),
            };
            let note = match stated.as_str() {
                "" => format!("{to} says {says}: re-confirm"),
                old => format!(
                    "the base value you replaced changed: {old} in {}, {says} in {to}; to confirm, write `was {says}`",
                    lineage.from()
                ),
            };
            (Fate::ChangedUnderneath, note)
        }
        Code::NumberTaken => (Fate::ChangedUnderneath, format!("{}: choose another number", error.title)),
        Code::NoSuchTarget => {
            let fate = if removes(&change.kind) { Fate::Absorbed } else { Fate::TargetGone };
            (fate, error.title.clone())
        }
        _ => (Fate::ChangedUnderneath, format!("{to} does not take it: {}", error.title)),
    }
}

/// The old value that an operation states.
fn stated(change: &Change) -> String {
    match &change.kind {
        ChangeKind::In(_, edits) => match edits.first() {
            Some(Edit::WasNow(_, old, ..) | Edit::StrikeCondition(_, Some(old))) => line::change_value(old),
            Some(Edit::Enough(old, ..)) => line::enough(old),
            Some(Edit::Title(old, ..)) => format!("\"{old}\""),
            _ => String::new(),
        },
        ChangeKind::InTable(_, edits) => match edits.first() {
            Some(TableEdit::CellWas { old, .. }) => line::cell(old.as_ref()),
            _ => String::new(),
        },
        ChangeKind::LimitWas(_, old, _) => line::quantity(old),
        ChangeKind::Delay { old, .. } => old.text.to_string(),
        _ => String::new(),
    }
}

/// An exception whose number the other book gave to one of its own: both live, told apart by name.
fn number_taken(lineage: &Lineage, change: &Change) -> Option<String> {
    let ChangeKind::In(ChangeTarget::At(target), edits) = &change.kind else { return None };
    let [Edit::AddException(kind, _)] = edits.as_slice() else { return None };
    let (StatementKind::Unless(head, ..) | StatementKind::Exception(head, ..)) = kind.as_ref() else { return None };
    let number = head.number.as_ref()?;
    let home = lineage.new.find(&target.text)?;
    let there = lineage.new.find(&format!("{} Ex. {}", lineage.new_atom(home).at, number.text))?;
    let before = lineage
        .pair
        .alignment
        .from(there)
        .is_some_and(|at| lineage.old_atom(at).at.ends_with(&format!(" Ex. {}", number.text)));
    if before {
        return None;
    }
    let name = &lineage.new_atom(there).name;
    let name = if name.is_empty() { String::new() } else { format!(", {name}") };
    Some(format!("{} has its own Ex. {}{name}: both stand, but the number is taken", lineage.to(), number.text))
}
