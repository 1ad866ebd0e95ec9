//! Every number in a change, and what it stands for there.

use crate::edition::walk;
use crate::syntax::ast::*;

/// What a number stands for in a change.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Role {
    /// A part that is changed: it must be there.
    Target,
    /// A table that is changed.
    Table,
    /// The number of something new.
    Place,
    /// A part that what is put in refers to.
    Reference,
}

/// Calls `see` on each number in a change.
pub(super) fn each(kind: &mut ChangeKind, see: &mut dyn FnMut(&mut Address, Role)) {
    match kind {
        ChangeKind::In(target, edits) => {
            if let ChangeTarget::At(address) = target {
                see(address, Role::Target);
            }
            edits.iter_mut().for_each(|edit| in_edit(edit, see));
        }
        ChangeKind::InTable(address, _) | ChangeKind::DeleteTable(address) | ChangeKind::UseTable(address, _) => {
            see(address, Role::Table);
        }
        ChangeKind::Insert { at, content, .. } => {
            see(at, Role::Place);
            in_content(content, see);
        }
        ChangeKind::Delete(from, through) => {
            see(from, Role::Target);
            through.iter_mut().for_each(|through| see(through, Role::Target));
        }
        ChangeKind::Replace { at, content, .. } => {
            see(at, Role::Target);
            in_content(content, see);
        }
        ChangeKind::Renumber(from, to) | ChangeKind::Move(from, to) => {
            see(from, Role::Target);
            see(to, Role::Place);
        }
        ChangeKind::Use { what, at, .. } => {
            see(at, Role::Target);
            if let Used::Exceptions(_, Some(toward)) = what {
                see(toward, Role::Reference);
            }
        }
        ChangeKind::Waive(all, case) => {
            all.iter_mut().for_each(|a| see(a, Role::Target));
            if let Some(case) = case {
                in_clauses(case, see);
            }
        }
        ChangeKind::Release(all, provided) => {
            all.iter_mut().for_each(|a| see(a, Role::Target));
            in_clauses(provided, see);
        }
        ChangeKind::Start(at, _, _, case) | ChangeKind::Lapse(at, _, _, case) => {
            see(at, Role::Target);
            if let Some(case) = case {
                in_clauses(case, see);
            }
        }
        ChangeKind::Reserve(at) | ChangeKind::Delay { at, .. } => see(at, Role::Target),
        ChangeKind::Carry(all) => {
            for carried in all {
                match carried {
                    Carried::Part(address) => see(address, Role::Target),
                    Carried::Table(address) => see(address, Role::Table),
                    // Series have no lineage of their own: their numbers are kept.
                    Carried::Series(_) => {}
                }
            }
        }
        ChangeKind::Exclude(ranges) => {
            for (from, through) in ranges {
                see(from, Role::Target);
                through.iter_mut().for_each(|through| see(through, Role::Target));
            }
        }
        ChangeKind::Split(from, parts) => {
            see(from, Role::Target);
            for part in parts {
                see(&mut part.at, Role::Place);
                if let SplitShare::Where(case) = &mut part.gets {
                    in_clauses(case, see);
                }
            }
        }
        ChangeKind::Merge(parts, to) => {
            parts.iter_mut().for_each(|a| see(a, Role::Target));
            see(to, Role::Place);
        }
        ChangeKind::Becomes(part, place) => {
            match part {
                PartName::At(address) | PartName::Exception(_, address) => see(address, Role::Target),
            }
            match place {
                NewPlace::Item(address) => see(address, Role::Place),
                NewPlace::Exception(head) => head.uncounted.iter_mut().for_each(|a| see(a, Role::Reference)),
            }
        }
        ChangeKind::AddAfter { after, section, .. } => {
            see(after, Role::Target);
            walk::in_body(&mut section.body, &mut |a| see(a, Role::Reference));
        }
        ChangeKind::Added(item) => {
            match item.as_mut() {
                Item::Section(section) => see(&mut section.address, Role::Place),
                Item::Kind(Kind { only, .. }) | Item::Define(Define { only, .. }) | Item::Limit(Limit { only, .. }) => {
                    only.iter_mut().for_each(|a| see(a, Role::Target));
                }
                _ => {}
            }
            walk::references(std::slice::from_mut(item.as_mut()), &mut |a| see(a, Role::Reference));
        }
        ChangeKind::ReadEverywhere(old, new) => {
            in_term(old, see);
            in_term(new, see);
        }
        ChangeKind::InForce { .. }
        | ChangeKind::InSeries(..)
        | ChangeKind::Settle(..)
        | ChangeKind::NotesFall
        | ChangeKind::LimitWas(..)
        | ChangeKind::Declare { .. } => {}
    }
}

fn in_content(content: &mut Content, see: &mut dyn FnMut(&mut Address, Role)) {
    match content {
        Content::Body(body) => walk::in_body(body, &mut |a| see(a, Role::Reference)),
        Content::Items(items) => walk::in_items(items, &mut |a| see(a, Role::Reference)),
    }
}

fn in_term(term: &mut ReadTerm, see: &mut dyn FnMut(&mut Address, Role)) {
    if let ReadTerm::Number(address) = term {
        see(address, Role::Reference);
    }
}

fn in_clauses(clauses: &mut Clauses, see: &mut dyn FnMut(&mut Address, Role)) {
    walk::in_clauses(clauses, &mut |a| see(a, Role::Reference));
}

fn in_edit(edit: &mut Edit, see: &mut dyn FnMut(&mut Address, Role)) {
    let mut statement = |statement: &mut Statement| {
        let mut body = Body { statements: vec![statement.clone()] };
        walk::in_body(&mut body, &mut |a| see(a, Role::Reference));
        if let Some(own) = body.statements.pop() {
            *statement = own;
        }
    };
    match edit {
        Edit::AddException(kind, span) => {
            let mut whole = Statement { kind: kind.as_ref().clone(), marks: Vec::new(), span: *span };
            statement(&mut whole);
            **kind = whole.kind;
        }
        Edit::AddStatement(own) => statement(own),
        Edit::AddItem(item) => in_clauses(&mut item.clauses, see),
        Edit::AddConditions(clauses) => in_clauses(clauses, see),
        Edit::Force { clauses: Some(clauses), .. } => in_clauses(clauses, see),
        Edit::StrikeCondition(clause, _) => {
            let mut whole = Clauses { all: vec![clause.clone()], span: clause.span };
            in_clauses(&mut whole, see);
            if let Some(own) = whole.all.pop() {
                *clause = own;
            }
        }
        Edit::Read(old, new) => {
            in_term(old, see);
            in_term(new, see);
        }
        Edit::AddLine(line) => walk::in_expr(&mut line.expr, &mut |a| see(a, Role::Reference)),
        Edit::Value(old, new, _) => {
            walk::in_expr(old, &mut |a| see(a, Role::Reference));
            walk::in_expr(new, &mut |a| see(a, Role::Reference));
        }
        Edit::Title(..)
        | Edit::Enough(..)
        | Edit::Number(..)
        | Edit::StrikeException(_)
        | Edit::Force { clauses: None, .. }
        | Edit::Also(..)
        | Edit::NoLonger(..)
        | Edit::StrikeItem(_)
        | Edit::WasNow(..) => {}
    }
}

/// Single operations of a change: one for each edit or part it touches.
pub(super) fn single(change: &Change) -> Vec<Change> {
    let with = |kind| Change { kind, marks: change.marks.clone(), span: change.span };
    match &change.kind {
        ChangeKind::In(target, edits) => {
            edits.iter().map(|e| with(ChangeKind::In(target.clone(), vec![e.clone()]))).collect()
        }
        ChangeKind::InTable(at, edits) => {
            edits.iter().map(|e| with(ChangeKind::InTable(at.clone(), vec![e.clone()]))).collect()
        }
        ChangeKind::InSeries(at, edits) => {
            edits.iter().map(|e| with(ChangeKind::InSeries(at.clone(), vec![e.clone()]))).collect()
        }
        ChangeKind::Waive(all, case) => {
            all.iter().map(|a| with(ChangeKind::Waive(vec![a.clone()], case.clone()))).collect()
        }
        ChangeKind::Release(all, provided) => {
            all.iter().map(|a| with(ChangeKind::Release(vec![a.clone()], provided.clone()))).collect()
        }
        ChangeKind::Carry(all) => all.iter().map(|a| with(ChangeKind::Carry(vec![a.clone()]))).collect(),
        ChangeKind::Exclude(all) => all.iter().map(|a| with(ChangeKind::Exclude(vec![a.clone()]))).collect(),
        _ => vec![change.clone()],
    }
}

/// Joins a single operation to one that came from the same change, if both touch the same part or do the same to several.
pub(super) fn joined(first: &mut Change, next: &Change) -> bool {
    match (&mut first.kind, &next.kind) {
        (ChangeKind::In(a, own), ChangeKind::In(b, more)) if same_target(a, b) => own.extend(more.iter().cloned()),
        (ChangeKind::InTable(a, own), ChangeKind::InTable(b, more)) if a.text == b.text => {
            own.extend(more.iter().cloned());
        }
        (ChangeKind::Waive(own, _), ChangeKind::Waive(more, _))
        | (ChangeKind::Release(own, _), ChangeKind::Release(more, _)) => own.extend(more.iter().cloned()),
        (ChangeKind::Carry(own), ChangeKind::Carry(more)) => own.extend(more.iter().cloned()),
        (ChangeKind::InSeries(a, own), ChangeKind::InSeries(b, more)) if a.text == b.text => {
            own.extend(more.iter().cloned());
        }
        (ChangeKind::Exclude(own), ChangeKind::Exclude(more)) => own.extend(more.iter().cloned()),
        _ => return false,
    }
    true
}

fn same_target(a: &ChangeTarget, b: &ChangeTarget) -> bool {
    match (a, b) {
        (ChangeTarget::At(a), ChangeTarget::At(b)) => a.text == b.text,
        (ChangeTarget::About(a), ChangeTarget::About(b)) => a.text == b.text,
        _ => false,
    }
}
