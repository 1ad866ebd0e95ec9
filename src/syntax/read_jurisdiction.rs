//! Places: pairs to tree.

use super::Reader;
use super::ast::*;
use super::letters::Rule;
use super::read_clause::P;
use super::recover::Context;

impl Reader {
    pub(super) fn jurisdiction(&mut self, pair: P) -> Option<Jurisdiction> {
        let span = self.span(&pair);
        let mut inner = pair.into_inner();
        let name = self.name(&inner.next()?);
        let (mut title, mut within, mut lines) = (None, None, Vec::new());
        for part in inner {
            match part.as_rule() {
                Rule::text => title = self.text(part),
                Rule::name => within = Some(self.name(&part)),
                Rule::place_line => lines.extend(self.place_line(part)),
                _ => self.bad(part, Context::Place),
            }
        }
        Some(Jurisdiction { name, title, within, lines, span })
    }

    fn place_line(&mut self, pair: P) -> Option<PlaceLine> {
        let mut parts = pair.into_inner();
        let line = parts.next()?;
        let span = self.span(&line);
        let marks = parts.next().map(|p| self.marks(p)).unwrap_or_default();
        let rule = line.as_rule();
        let mut inner = line.into_inner();
        let kind = match rule {
            Rule::fixed_by => PlaceLineKind::FixedBy(self.name(&inner.next()?)),
            Rule::over_parent => {
                let parent = self.name(&inner.next()?);
                let policy = match inner.next()?.into_inner().next()?.as_rule() {
                    Rule::last_wins => LayerPolicy::LastWins,
                    Rule::strictest_wins => LayerPolicy::StrictestWins,
                    Rule::no_deviation => LayerPolicy::NoDeviation,
                    _ => LayerPolicy::ApprovalNeeded,
                };
                PlaceLineKind::Over(parent, policy)
            }
            Rule::approved => {
                let what = self.name(&inner.next()?);
                let (mut year, mut on) = (None, None);
                for part in inner {
                    match part.as_rule() {
                        Rule::edition_year => year = Some(self.name(&part)),
                        _ => on = Some(self.name(&part)),
                    }
                }
                PlaceLineKind::Approved { what, year, on: on? }
            }
            Rule::adds => {
                let (mut with, mut from, mut until) = (Vec::new(), None, None);
                for part in inner {
                    match part.as_rule() {
                        Rule::name => with.push(self.name(&part)),
                        Rule::date => from = Some(self.name(&part)),
                        _ => until = Some(self.window_end(part)?),
                    }
                }
                PlaceLineKind::Adds { with, from: from?, until }
            }
            Rule::grace => {
                let until = self.window_end(inner.next()?)?;
                PlaceLineKind::Grace { until, set: self.edition_set(inner.next()?)? }
            }
            Rule::early => {
                let from = self.name(&inner.next()?);
                let classes = inner.find(|p| p.as_rule() == Rule::classes).map(|p| self.names(p)).unwrap_or_default();
                PlaceLineKind::Early { from, classes }
            }
            Rule::stay => {
                let classes = self.names(inner.next()?);
                let set = self.edition_set(inner.next()?)?;
                let until = match inner.next() {
                    Some(part) => Some(self.window_end(part)?),
                    None => None,
                };
                PlaceLineKind::Stay { classes, set, until }
            }
            _ => {
                let set = self.edition_set(inner.next()?)?;
                let from = self.name(&inner.next()?);
                let until = match inner.next() {
                    Some(part) => Some(self.window_end(part)?),
                    None => None,
                };
                PlaceLineKind::Adoption { set, from, until }
            }
        };
        Some(PlaceLine { kind, marks, span })
    }

    fn names(&self, pair: P) -> Vec<Name> {
        pair.into_inner().map(|p| self.name(&p)).collect()
    }

    fn window_end(&self, pair: P) -> Option<WindowEnd> {
        let mut parts = pair.into_inner();
        let side = match parts.next()?.as_rule() {
            Rule::before => DateSide::Before,
            _ => DateSide::Through,
        };
        Some(WindowEnd { side, date: self.name(&parts.next()?) })
    }

    fn edition_set(&self, pair: P) -> Option<EditionSet> {
        let span = self.span(&pair);
        let mut inner = pair.into_inner();
        let edition = EditionName { family: self.name(&inner.next()?), year: self.name(&inner.next()?) };
        let (mut printing, mut with) = (None, Vec::new());
        for part in inner {
            match part.as_rule() {
                Rule::printing => printing = Some(self.name(&part)),
                _ => with.push(self.name(&part)),
            }
        }
        Some(EditionSet { edition, printing, with, span })
    }
}
