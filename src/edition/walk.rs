//! Every place in rules that refers to a section or table by number.

use crate::syntax::ast::*;

/// Calls `see` on each address that refers elsewhere; an item's own number is not among them.
pub(crate) fn references(items: &mut [Item], see: &mut dyn FnMut(&mut Address)) {
    for item in items {
        match item {
            Item::Section(section) => in_body(&mut section.body, see),
            Item::Kind(kind) => {
                if let Some(per) = &mut kind.per {
                    see(per);
                }
                in_items(&mut kind.items, see);
            }
            Item::Define(define) => {
                if let Some(per) = &mut define.per {
                    see(per);
                }
                in_expr(&mut define.expr, see);
            }
            Item::Limit(limit) => {
                if let Some(per) = &mut limit.per {
                    see(per);
                }
            }
            Item::Reading(reading) => {
                for option in &mut reading.options {
                    match &mut option.says {
                        ReadingSays::Items(items) => in_items(items, see),
                        ReadingSays::Value(expr) => in_expr(expr, see),
                        ReadingSays::Enough(..) => {}
                    }
                }
            }
            Item::Amount(amount) => {
                if let Some(per) = &mut amount.per {
                    see(per);
                }
                amount.lines.iter_mut().for_each(|line| in_expr(&mut line.expr, see));
            }
            Item::Terms(_)
            | Item::Edition(_)
            | Item::Choice(_)
            | Item::Scale(_)
            | Item::Thing(_)
            | Item::Table(_)
            | Item::Beside(_)
            | Item::Changes(_)
            | Item::Series(_)
            | Item::Jurisdiction(_) => {}
        }
    }
}

pub(crate) fn in_body(body: &mut Body, see: &mut dyn FnMut(&mut Address)) {
    for statement in &mut body.statements {
        match &mut statement.kind {
            StatementKind::Paragraph { body: Some(body), .. } => in_body(body, see),
            StatementKind::When(clauses) | StatementKind::AlsoWhen(clauses) | StatementKind::PermitsOnly(clauses) => {
                in_clauses(clauses, see);
            }
            StatementKind::Different(halves) => {
                halves.iter_mut().filter_map(|h| h.clauses.as_mut()).for_each(|c| in_clauses(c, see));
            }
            StatementKind::Requires(clauses, triggers) | StatementKind::Prohibits(clauses, triggers) => {
                in_clauses(clauses, see);
                if let Some(triggers) = triggers {
                    in_items(triggers, see);
                }
            }
            StatementKind::PermitsAs { clauses, .. } | StatementKind::IfProvided(_, clauses) => {
                in_clauses(clauses, see)
            }
            StatementKind::Permits(clauses, lifts) => {
                in_clauses(clauses, see);
                if let Some(lifts) = lifts {
                    see(lifts);
                }
            }
            StatementKind::Unless(head, case, alternative) => {
                if let Some(toward) = &mut head.uncounted {
                    see(toward);
                }
                in_clauses(case, see);
                if let Some(Enough::Clauses(clauses)) = alternative {
                    in_clauses(clauses, see);
                }
            }
            StatementKind::Exception(head, case, instead) => {
                if let Some(toward) = &mut head.uncounted {
                    see(toward);
                }
                in_clauses(case, see);
                in_clauses(instead, see);
            }
            StatementKind::Modifies(to, case, instead) => {
                see(to);
                in_clauses(case, see);
                in_clauses(instead, see);
            }
            StatementKind::Waives(to, case) => {
                see(to);
                if let Some(case) = case {
                    in_clauses(case, see);
                }
            }
            StatementKind::Tally(_, _, Some(filter)) => in_clauses(filter, see),
            StatementKind::Marks
            | StatementKind::Paragraph { body: None, .. }
            | StatementKind::Governs { .. }
            | StatementKind::Notes(_)
            | StatementKind::Tally(_, _, None) => {}
        }
    }
}

pub(crate) fn in_items(items: &mut Items, see: &mut dyn FnMut(&mut Address)) {
    items.all.iter_mut().for_each(|item| in_clauses(&mut item.clauses, see));
}

pub(crate) fn in_clauses(clauses: &mut Clauses, see: &mut dyn FnMut(&mut Address)) {
    for clause in &mut clauses.all {
        match &mut clause.kind {
            ClauseKind::AnyOf(list) | ClauseKind::AllOf(list) | ClauseKind::NoneOf(list) => in_items(list, see),
            ClauseKind::If(case, then) => {
                in_clauses(case, see);
                in_clauses(then, see);
            }
            ClauseKind::Quantified { quantifier, filter, consequence, predicate, .. } => {
                if let Quantifier::Bound(_, count) = quantifier {
                    in_expr(count, see);
                }
                for inner in [filter, consequence].into_iter().flatten() {
                    in_clauses(inner, see);
                }
                if let Some(predicate) = predicate {
                    in_predicate(predicate, see);
                }
            }
            ClauseKind::NoWorse(expr) => in_expr(expr, see),
            ClauseKind::Dated(..) => {}
            ClauseKind::Compare(expr, predicate) => {
                in_expr(expr, see);
                if let Some(predicate) = predicate {
                    in_predicate(predicate, see);
                }
            }
        }
    }
}

fn in_predicate(predicate: &mut Predicate, see: &mut dyn FnMut(&mut Address)) {
    if let PredicateKind::Bound(_, expr) = &mut predicate.kind {
        in_expr(expr, see);
    }
}

pub(crate) fn in_expr(expr: &mut Expr, see: &mut dyn FnMut(&mut Address)) {
    match &mut expr.kind {
        ExprKind::Lookup { table, keys, .. } => {
            see(table);
            keys.iter_mut().for_each(|k| in_expr(k, see));
        }
        ExprKind::Fold { filter: Some(filter), .. } | ExprKind::Clauses(filter) => in_clauses(filter, see),
        ExprKind::Binary(_, left, right) | ExprKind::Beyond(left, right) | ExprKind::PerOrFraction(left, right) => {
            in_expr(left, see);
            in_expr(right, see);
        }
        ExprKind::Rounded(inner, _) => in_expr(inner, see),
        ExprKind::Either(_, one, two) => {
            in_expr(one, see);
            in_expr(two, see);
        }
        ExprKind::Next { series, of, .. } => {
            see(series);
            in_expr(of, see);
        }
        ExprKind::FirstRow { table, keys, across, limit, .. } => {
            see(table);
            keys.iter_mut().for_each(|k| in_expr(k, see));
            if let Some(column) = across {
                in_expr(column, see);
            }
            in_expr(limit, see);
        }
        ExprKind::Provided(inner, case, otherwise) => {
            in_expr(inner, see);
            in_clauses(case, see);
            if let Some(other) = otherwise {
                in_expr(other, see);
            }
        }
        ExprKind::Each { filter, of, .. } => {
            if let Some(filter) = filter {
                in_clauses(filter, see);
            }
            in_expr(of, see);
        }
        ExprKind::Quantity(_)
        | ExprKind::Worded(_)
        | ExprKind::Date(_)
        | ExprKind::Path(_)
        | ExprKind::Fold { filter: None, .. } => {}
    }
}
