//! The book at one point: every date, use, declaration and approval taken as known.

use super::calendar::{Adopted, Adoption, Place, Places};
use crate::base::date::Date;
use crate::base::source::Span;
use crate::diag::{Code, Diagnostic};
use crate::edition::{BaseSet, Layer, Standing};
use crate::syntax::ast::LayerPolicy;
use std::collections::BTreeMap;

/// One way the open facts may turn out.
#[derive(Debug, Clone, Default)]
pub(super) struct Point {
    /// By clock; none: there is no such date.
    pub(super) days: BTreeMap<String, Option<i64>>,
    /// The use of the project, by field.
    pub(super) values: BTreeMap<String, String>,
    pub(super) declared: Option<String>,
    /// Whether amendments without a record of it are approved.
    pub(super) approved: BTreeMap<String, bool>,
}

/// A reason with where it is written.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Because {
    /// In words.
    pub words: String,
    /// Where it is written.
    pub span: Option<Span>,
}

/// What governs at a point.
#[derive(Debug, Clone, Default)]
pub(super) struct At {
    /// Books in force together; empty: nothing is adopted.
    pub(super) books: Vec<BaseSet>,
    pub(super) because: Vec<Because>,
    /// Layers that contradict one another, and deviations left out.
    pub(super) found: Vec<Diagnostic>,
    /// Whether what is declared is a choice that the law offers.
    pub(super) offered: bool,
}

impl At {
    fn because(&mut self, words: String, span: Span) {
        self.because.push(Because { words, span: Some(span) });
    }
}

/// A day as written.
pub(super) fn date(day: i64) -> String {
    Date::from_days_since_epoch(day).map_or_else(|| "a day out of range".to_string(), |date| date.to_string())
}

/// The clocks of a chain of places, each its own or that of the place around it.
pub(super) fn clocks<'c>(chain: &[&'c Place]) -> Vec<Option<&'c str>> {
    let mut last = None;
    chain
        .iter()
        .map(|place| {
            if let Some((clock, _)) = &place.clock {
                last = Some(clock.as_str());
            }
            last
        })
        .collect()
}

/// What governs in a chain of places, for one family of editions.
pub(super) fn at(places: &Places, chain: &[&Place], family: &str, point: &Point) -> At {
    let mut at = At::default();
    let clocks = clocks(chain);
    for (index, place) in chain.iter().enumerate() {
        let Some(clock) = clocks.get(index).copied().flatten() else { continue };
        let Some(day) = point.days.get(clock).copied().flatten() else { continue };
        let own = adopted(place, family, clock, day, point, &mut at);
        let around = at.books.last().map(|book| Adopted {
            family: book.family.clone(),
            year: book.year.clone(),
            with: Vec::new(),
        });
        let span = own.as_ref().map_or(place.span, |(_, span)| *span);
        let Some(set) = own.map(|(set, _)| set).or(around) else { continue };
        let (set, span) = with_additions(places, place, set, day, span, &mut at);
        let amendments = in_force(places, &set.with, point, &mut at);
        layer(chain, place, &set, amendments, day, span, point, &mut at);
    }
    at
}

/// An edition with the amendments that a place adds to it, as far as they are written for it.
fn with_additions(
    places: &Places,
    place: &Place,
    mut set: Adopted,
    day: i64,
    mut span: Span,
    at: &mut At,
) -> (Adopted, Span) {
    for addition in place.adds.iter().filter(|a| a.days.hold(day)) {
        for name in &addition.with {
            let base = places.bases.get(name).cloned().flatten();
            match base {
                Some((family, year)) if family != set.family || year != set.year => {
                    let words =
                        format!("{name} of {} is written for {family} {year}, not {}", place.name, set.edition());
                    at.because(words, addition.span);
                }
                _ => {
                    at.because(
                        format!("{} adds {name} from {}", place.name, date(addition.days.from.unwrap_or_default())),
                        addition.span,
                    );
                    set.with.push(name.clone());
                    span = addition.span;
                }
            }
        }
    }
    (set, span)
}

/// What governs where a book is named rather than found by place: its amendments as far as they are in force.
pub(super) fn at_named(places: &Places, set: &Adopted, point: &Point) -> At {
    let mut at = At { offered: true, ..At::default() };
    let amendments = in_force(places, &set.with, point, &mut at);
    at.books.push(base(set, "", amendments, Standing::Unsaid));
    at
}

fn base(set: &Adopted, place: &str, amendments: Vec<String>, over: Standing) -> BaseSet {
    let layer = Layer { place: place.to_string(), amendments, over };
    BaseSet { family: set.family.clone(), year: set.year.clone(), layers: vec![layer] }
}

/// What a place adopted for a project of that day, its choices considered.
fn adopted(place: &Place, family: &str, clock: &str, day: i64, point: &Point, at: &mut At) -> Option<(Adopted, Span)> {
    let own = || place.adoptions.iter().filter(|a| a.set.family == family);
    let used = |classes: &[String]| point.values.values().find(|value| classes.contains(value));
    let declares = |set: &Adopted| point.declared.as_ref() == Some(&set.edition());
    let standing = own().find(|a| a.from <= day && a.end.is_none_or(|end| day < end));
    // An edition may be chosen before it binds.
    for next in own().filter(|a| day < a.from) {
        let Some((from, classes, span)) = &next.early else { continue };
        if day < *from || !(classes.is_empty() || used(classes).is_some()) {
            continue;
        }
        if declares(&next.set) {
            at.offered = true;
            at.because(
                format!("{} is declared, which {} allows from {}", next.set.edition(), place.name, date(*from)),
                *span,
            );
            return Some((next.set.clone(), *span));
        }
        at.because(format!("{} could be declared from {}; it is not", next.set.edition(), date(*from)), *span);
    }
    let standing = standing?;
    at.because(
        format!("{} adopted {} from {} by {clock}", place.name, standing.set.edition(), date(standing.from)),
        standing.span,
    );
    for (classes, set, end, span) in &standing.stays {
        if end.is_none_or(|end| day < end)
            && let Some(value) = used(classes)
        {
            at.offered |= declares(set);
            at.because(format!("{value} stays on {} in {}", set.edition(), place.name), *span);
            return Some((as_adopted(place, set, standing), *span));
        }
    }
    at.offered |= declares(&standing.set);
    for (set, end, span) in &standing.graces {
        if day >= *end {
            continue;
        }
        let until = date(end - 1);
        if declares(set) {
            at.offered = true;
            at.because(
                format!(
                    "{} is declared for the whole project, which {} allows through {until}",
                    set.edition(),
                    place.name
                ),
                *span,
            );
            return Some((as_adopted(place, set, standing), *span));
        }
        at.because(format!("{} could be declared through {until}; it is not", set.edition()), *span);
    }
    Some((standing.set.clone(), standing.span))
}

/// An older edition that may still be used: with the amendments named beside it, or else those it was adopted with here.
fn as_adopted(place: &Place, set: &Adopted, standing: &Adoption) -> Adopted {
    if !set.with.is_empty() {
        return set.clone();
    }
    let before = place
        .adoptions
        .iter()
        .rev()
        .find(|a| a.from < standing.from && a.set.family == set.family && a.set.year == set.year);
    before.map_or_else(|| set.clone(), |adoption| adoption.set.clone())
}

/// The amendments whose window holds.
fn in_force(places: &Places, amendments: &[String], point: &Point, at: &mut At) -> Vec<String> {
    let mut kept = Vec::new();
    for name in amendments {
        let windows = places.windows.get(name).map_or(&[][..], Vec::as_slice);
        let Some(first) = windows.first() else {
            kept.push(name.clone());
            continue;
        };
        let holds = windows
            .iter()
            .find(|window| point.days.get(&window.clock).copied().flatten().is_some_and(|day| window.days.hold(day)));
        let words = |window: &super::calendar::Window| {
            let days = match (window.days.from, window.days.end) {
                (Some(from), Some(end)) => format!("{} through {}", date(from), date(end - 1)),
                (Some(from), None) => format!("from {}", date(from)),
                (None, Some(end)) => format!("through {}", date(end - 1)),
                (None, None) => "always".to_string(),
            };
            format!("{days} by {}", window.clock)
        };
        match holds {
            Some(window) => {
                at.because(format!("{name} is in force {}", words(window)), window.span);
                kept.push(name.clone());
            }
            None => {
                let day = point.days.get(&first.clock).copied().flatten();
                let over = first.days.end.is_some_and(|end| day.is_some_and(|day| end <= day));
                let how = if over { "has expired" } else { "is not in force" };
                at.because(format!("{name} {how}: in force {}", words(first)), first.span);
            }
        }
    }
    kept
}

/// Puts what a place adopted on what the places around it adopted.
#[allow(clippy::too_many_arguments)]
fn layer(
    chain: &[&Place],
    place: &Place,
    adopted: &Adopted,
    mut amendments: Vec<String>,
    day: i64,
    span: Span,
    point: &Point,
    at: &mut At,
) {
    let Some(outer) = at.books.last().cloned() else {
        at.books.push(base(adopted, &place.name, amendments, Standing::Unsaid));
        return;
    };
    let around = place.within.as_deref().unwrap_or("");
    let same_edition = outer.family == adopted.family && outer.year == adopted.year;
    if same_edition {
        let known: Vec<&String> = outer.layers.iter().flat_map(|l| &l.amendments).collect();
        amendments.retain(|name| !known.contains(&name));
    }
    if same_edition && amendments.is_empty() {
        return;
    }
    let deviates = || {
        let edition = (!same_edition).then(|| adopted.edition());
        edition.into_iter().chain(amendments.iter().cloned()).collect::<Vec<String>>()
    };
    let policy = place.over;
    match policy {
        Some((LayerPolicy::NoDeviation, over)) => {
            let what = deviates().join(", ");
            let diagnostic =
                Diagnostic::warning(Code::Deviation, format!("{} may not deviate from {around}", place.name))
                    .at(span, format!("{what} has no force here"))
                    .at(over, "for this reason")
                    .help(format!("what {around} adopted governs by itself"));
            at.found.push(diagnostic);
            at.because(format!("{what} has no force: {} may not deviate from {around}", place.name), over);
            return;
        }
        Some((LayerPolicy::ApprovalNeeded, over)) => {
            let mut lacking = Vec::new();
            for what in deviates() {
                let record = chain.iter().find_map(|p| p.approved.get(&what));
                let approved = match record {
                    Some((since, _)) => *since <= day,
                    None => point.approved.get(&what).copied().unwrap_or(false),
                };
                let how = match (record, approved) {
                    (Some((since, _)), true) => format!("{what} was approved on {}", date(*since)),
                    (Some((since, _)), false) => format!("{what} counts from its approval on {}", date(*since)),
                    (None, true) => format!("{what} counts if {around} approved it"),
                    (None, false) => format!("{what} does not count unless {around} approved it"),
                };
                at.because(how, record.map_or(over, |(_, span)| *span));
                if !approved {
                    lacking.push(what);
                }
            }
            if lacking.contains(&adopted.edition()) {
                return;
            }
            amendments.retain(|name| !lacking.contains(name));
            if same_edition && amendments.is_empty() {
                return;
            }
        }
        Some((LayerPolicy::LastWins, over)) => {
            at.because(format!("where {around} and {} both speak, {} prevails", place.name, place.name), over);
        }
        Some((LayerPolicy::StrictestWins, over)) => {
            at.because(format!("what {around} and {} ask is in force together", place.name), over);
        }
        None if !same_edition => {
            let title =
                format!("{around} stands on {} {}, {} on {}", outer.family, outer.year, place.name, adopted.edition());
            let theirs = chain.iter().rev().find(|p| Some(p.name.as_str()) == place.within.as_deref());
            let mut diagnostic = Diagnostic::error(Code::LayersConflict, title)
                .at(span, format!("{} of {}", adopted.edition(), place.name));
            if let Some(theirs) = theirs {
                diagnostic = diagnostic.at(theirs.span, "of the place around it");
            }
            at.found.push(diagnostic.help(format!(
                "say which stands: `over {around}: last wins`, `strictest wins`, `no deviation` or `approval needed`"
            )));
        }
        None => {}
    }
    let over = if policy.is_some() { Standing::Prevails } else { Standing::Unsaid };
    let own = match same_edition {
        true => {
            let mut own = outer;
            own.layers.push(Layer { place: place.name.clone(), amendments, over });
            own
        }
        false => base(adopted, &place.name, amendments, over),
    };
    if !matches!(policy, Some((LayerPolicy::StrictestWins, _))) {
        at.books.pop();
    }
    at.books.push(own);
}
