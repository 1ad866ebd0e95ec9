//! Places with their adoptions as checked: dates read, names resolved, windows in order.

use crate::base::date::Date;
use crate::base::source::{SourceId, Span};
use crate::diag::{Code, Diagnostic, Diagnostics, nearest};
use crate::edition::amends;
use crate::ir::schema::{FieldType, PROJECT, Schema};
use crate::syntax::ast::*;
use std::collections::{BTreeMap, BTreeSet};

/// The most places that may lie within one another.
const DEEPEST: usize = 8;

/// All places of the loaded rulebooks.
#[derive(Debug, Clone, Default)]
pub struct Places {
    pub(super) all: BTreeMap<String, Place>,
    pub(super) windows: BTreeMap<String, Vec<Window>>,
    /// The edition that each amendment is written for; none: every one.
    pub(super) bases: BTreeMap<String, Option<(String, String)>>,
}

/// A place.
#[derive(Debug, Clone)]
pub(super) struct Place {
    pub(super) name: String,
    pub(super) title: String,
    pub(super) within: Option<String>,
    pub(super) clock: Option<(String, Span)>,
    pub(super) over: Option<(LayerPolicy, Span)>,
    pub(super) adoptions: Vec<Adoption>,
    pub(super) adds: Vec<Addition>,
    /// Approved amendments and editions, with the day.
    pub(super) approved: BTreeMap<String, (i64, Span)>,
    pub(super) span: Span,
}

/// Days from a first one to one that is no longer among them.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) struct Days {
    pub(super) from: Option<i64>,
    pub(super) end: Option<i64>,
}

impl Days {
    pub(super) fn hold(self, day: i64) -> bool {
        self.from.is_none_or(|from| from <= day) && self.end.is_none_or(|end| day < end)
    }
}

/// An edition and its amendments.
#[derive(Debug, Clone)]
pub(super) struct Adopted {
    pub(super) family: String,
    pub(super) year: String,
    pub(super) with: Vec<String>,
}

impl Adopted {
    /// `nec 2017`
    pub(super) fn edition(&self) -> String {
        format!("{} {}", self.family, self.year)
    }
}

/// An adoption with the choices it leaves.
#[derive(Debug, Clone)]
pub(super) struct Adoption {
    pub(super) set: Adopted,
    pub(super) from: i64,
    /// The first day on which it no longer stands: stated, or the start of the next one.
    pub(super) end: Option<i64>,
    pub(super) graces: Vec<(Adopted, i64, Span)>,
    pub(super) early: Option<(i64, Vec<String>, Span)>,
    pub(super) stays: Vec<(Vec<String>, Adopted, Option<i64>, Span)>,
    pub(super) span: Span,
}

/// Amendments put on whatever edition governs.
#[derive(Debug, Clone)]
pub(super) struct Addition {
    pub(super) with: Vec<String>,
    pub(super) days: Days,
    pub(super) span: Span,
}

/// When an amendment is in force.
#[derive(Debug, Clone)]
pub(super) struct Window {
    pub(super) clock: String,
    pub(super) days: Days,
    pub(super) span: Span,
}

/// Reads and checks all places. `schemas` are the vocabularies by family.
pub fn places(books: &[(SourceId, &Rulebook)], schemas: &BTreeMap<String, Schema>) -> (Places, Diagnostics) {
    let mut reading = Reading { books, schemas, places: Places::default(), found: Diagnostics::new() };
    for (_, book) in books {
        for item in &book.items {
            match item {
                Item::Jurisdiction(place) => reading.place(place),
                Item::Changes(set) => reading.windows(set),
                _ => {}
            }
        }
    }
    reading.nesting();
    (reading.places, reading.found)
}

impl Places {
    /// Names and titles of all places, in order of name.
    pub fn names(&self) -> Vec<(&str, &str)> {
        self.all.values().map(|p| (p.name.as_str(), p.title.as_str())).collect()
    }

    /// Families that a place or one around it adopts, in order of name.
    pub fn families(&self, place: &str) -> Vec<String> {
        let chain = self.chain(place);
        let all: BTreeSet<String> =
            chain.iter().flat_map(|p| &p.adoptions).map(|adoption| adoption.set.family.clone()).collect();
        all.into_iter().collect()
    }

    /// Whether there is such a place.
    pub fn has(&self, place: &str) -> bool {
        self.all.contains_key(place)
    }

    /// The date of the project that counts in a place.
    pub fn clock_of(&self, place: &str) -> Option<String> {
        let chain = self.chain(place);
        super::point::clocks(&chain).last().copied().flatten().map(str::to_string)
    }

    /// Whether any of these amendments is in force only in a window.
    pub fn have_windows(&self, amendments: &[String]) -> bool {
        amendments.iter().any(|name| self.windows.contains_key(name))
    }

    /// A place and those around it, the outermost first; empty if there is no such place.
    pub(super) fn chain(&self, place: &str) -> Vec<&Place> {
        let mut chain = Vec::new();
        let mut at = self.all.get(place);
        while let Some(here) = at {
            if chain.len() >= DEEPEST {
                break;
            }
            chain.push(here);
            at = here.within.as_ref().and_then(|outer| self.all.get(outer));
        }
        chain.reverse();
        chain
    }
}

struct Reading<'r> {
    books: &'r [(SourceId, &'r Rulebook)],
    schemas: &'r BTreeMap<String, Schema>,
    places: Places,
    found: Diagnostics,
}

impl Reading<'_> {
    fn say(&mut self, diagnostic: Diagnostic) {
        self.found.push(diagnostic);
    }

    fn day(&mut self, date: &Name) -> Option<i64> {
        match Date::parse_iso(&date.text) {
            Ok(date) => Some(date.days_since_epoch()),
            Err(error) => {
                let title = format!("`{}` is not a date", date.text);
                self.say(Diagnostic::error(Code::BadDate, title).at(date.span, error.to_string()));
                None
            }
        }
    }

    /// The first day after a window.
    fn end(&mut self, end: &WindowEnd) -> Option<i64> {
        let day = self.day(&end.date)?;
        Some(match end.side {
            // A window ends `before` or `through` a day; the other two sides are never written there.
            DateSide::Before | DateSide::From => day,
            DateSide::Through | DateSide::After => day + 1,
        })
    }

    fn place(&mut self, tree: &Jurisdiction) {
        if let Some(first) = self.places.all.get(tree.name.text.as_str()) {
            let diagnostic = Diagnostic::error(Code::DefinedTwice, format!("`{}` is defined twice", tree.name.text))
                .at(tree.name.span, "again here")
                .at(first.span, "first here")
                .help("join them into one");
            self.say(diagnostic);
            return;
        }
        let mut place = Place {
            name: tree.name.text.to_string(),
            title: tree.title.as_deref().unwrap_or("").to_string(),
            within: tree.within.as_ref().map(|w| w.text.to_string()),
            clock: None,
            over: None,
            adoptions: Vec::new(),
            adds: Vec::new(),
            approved: BTreeMap::new(),
            span: tree.name.span,
        };
        for line in &tree.lines {
            self.line(&mut place, tree, line);
        }
        self.order(&mut place);
        self.places.all.insert(place.name.clone(), place);
    }

    fn line(&mut self, place: &mut Place, tree: &Jurisdiction, line: &PlaceLine) {
        match &line.kind {
            PlaceLineKind::FixedBy(clock) => {
                if let Some((_, first)) = &place.clock {
                    self.twice("its clock", line.span, *first);
                    return;
                }
                let families: BTreeSet<&str> = tree.lines.iter().filter_map(family_of).collect();
                for family in families {
                    self.clock(family, clock);
                }
                place.clock = Some((clock.text.to_string(), line.span));
            }
            PlaceLineKind::Over(parent, policy) => {
                if tree.within.as_ref().is_none_or(|within| within.text != parent.text) {
                    let title = format!("`{}` does not lie within `{}`", tree.name.text, parent.text);
                    let help = format!("write `jurisdiction {} within {} {{ … }}`", tree.name.text, parent.text);
                    self.say(Diagnostic::error(Code::NoSuchPlace, title).at(parent.span, "not around it").help(help));
                }
                match &place.over {
                    Some((_, first)) => self.twice("how it stands", line.span, *first),
                    None => place.over = Some((*policy, line.span)),
                }
            }
            PlaceLineKind::Approved { what, year, on } => {
                let Some(day) = self.day(on) else { return };
                let name = match year {
                    Some(year) => format!("{} {}", what.text, year.text),
                    None => what.text.to_string(),
                };
                place.approved.insert(name, (day, line.span));
            }
            PlaceLineKind::Adoption { set, from, until } => {
                let (Some(adopted), Some(from)) = (self.set(set), self.day(from)) else { return };
                let end = match until {
                    Some(until) => match self.end(until) {
                        Some(end) if end <= from => {
                            self.say(never(until.date.span, line.span));
                            return;
                        }
                        end => end,
                    },
                    None => None,
                };
                place.adoptions.push(Adoption {
                    set: adopted,
                    from,
                    end,
                    graces: Vec::new(),
                    early: None,
                    stays: Vec::new(),
                    span: line.span,
                });
            }
            PlaceLineKind::Adds { with, from, until } => {
                let Some(start) = self.day(from) else { return };
                let end = match until {
                    Some(until) => match self.end(until) {
                        Some(end) if end <= start => {
                            self.say(never(until.date.span, line.span));
                            return;
                        }
                        None => return,
                        end => end,
                    },
                    None => None,
                };
                let mut fits = true;
                for name in with {
                    fits &= self.amendment(name, None);
                }
                if fits {
                    let days = Days { from: Some(start), end };
                    let with = with.iter().map(|name| name.text.to_string()).collect();
                    place.adds.push(Addition { with, days, span: line.span });
                }
            }
            PlaceLineKind::Grace { until, set } => {
                let (adopted, end) = (self.set(set), self.end(until));
                let Some(last) = self.last(place, line) else { return };
                let (Some(adopted), Some(end)) = (adopted, end) else { return };
                if end <= last.from {
                    let other = last.span;
                    self.say(never(until.date.span, other));
                    return;
                }
                last.graces.push((adopted, end, line.span));
            }
            PlaceLineKind::Early { from, classes } => {
                let day = self.day(from);
                let Some(last) = self.last(place, line) else { return };
                let (family, start, other) = (last.set.family.clone(), last.from, last.span);
                let Some(day) = day else { return };
                if day >= start {
                    self.say(never(from.span, other));
                    return;
                }
                let classes = self.classes(&family, classes);
                if let Some(last) = place.adoptions.last_mut() {
                    last.early = Some((day, classes, line.span));
                }
            }
            PlaceLineKind::Stay { classes, set, until } => {
                let adopted = self.set(set);
                let end = match until {
                    Some(until) => match self.end(until) {
                        None => return,
                        end => end,
                    },
                    None => None,
                };
                let Some(adopted) = adopted else { return };
                if self.last(place, line).is_none() {
                    return;
                }
                let classes = self.classes(&adopted.family, classes);
                if let Some(last) = place.adoptions.last_mut() {
                    last.stays.push((classes, adopted, end, line.span));
                }
            }
        }
    }

    /// The adoption that a line belongs to: the one above it.
    fn last<'p>(&mut self, place: &'p mut Place, line: &PlaceLine) -> Option<&'p mut Adoption> {
        if place.adoptions.is_empty() {
            let diagnostic = Diagnostic::error(Code::OutOfPlace, "a choice without an adoption above it")
                .at(line.span, "belongs to no adoption")
                .help("write it below the adoption that leaves the choice");
            self.say(diagnostic);
        }
        place.adoptions.last_mut()
    }

    fn twice(&mut self, what: &str, again: Span, first: Span) {
        let title = format!("a place says {what} twice");
        self.say(Diagnostic::error(Code::DefinedTwice, title).at(again, "again here").at(first, "first here"));
    }

    /// An edition with its amendments, if both are loaded and fit.
    fn set(&mut self, set: &EditionSet) -> Option<Adopted> {
        let (family, year) = (set.edition.family.text.as_str(), set.edition.year.text.as_str());
        let known = crate::sema::editions(self.books);
        if !known.iter().any(|b| b.family == family && b.year == year) {
            let names: Vec<String> = known.iter().map(|b| format!("{} {}", b.family, b.year)).collect();
            let wanted = format!("{family} {year}");
            let near = nearest(&wanted, names.iter().map(String::as_str)).map(str::to_string);
            let diagnostic = Diagnostic::error(Code::AdoptsUnknown, format!("`{wanted}` is not loaded"))
                .at(set.edition.family.span.to(set.edition.year.span), "adopted here");
            self.say(match near {
                Some(near) => diagnostic.help(format!("did you mean `{near}`?")),
                None if names.is_empty() => diagnostic.help("no edition is loaded"),
                None => diagnostic.help(format!("loaded: {}", names.join(", "))),
            });
            return None;
        }
        let mut fits = true;
        for name in &set.with {
            fits &= self.amendment(name, Some((family, year)));
        }
        let mut with: Vec<String> = set
            .printing
            .iter()
            .flat_map(|printing| crate::edition::printed_with(self.books, family, year, &printing.text))
            .collect();
        for name in set.with.iter().map(|name| name.text.to_string()) {
            if !with.contains(&name) {
                with.push(name);
            }
        }
        fits.then(|| Adopted { family: family.to_string(), year: year.to_string(), with })
    }

    fn amendment(&mut self, name: &Name, edition: Option<(&str, &str)>) -> bool {
        let sets: Vec<&ChangeSet> = self
            .books
            .iter()
            .flat_map(|(_, book)| &book.items)
            .filter_map(|item| match item {
                Item::Changes(set) if set.kind != SetKind::Edition => Some(set),
                _ => None,
            })
            .collect();
        let Some(set) = sets.iter().find(|set| set.name.text == name.text) else {
            let near = nearest(&name.text, sets.iter().map(|s| s.name.text.as_str())).map(str::to_string);
            let title = format!("there is no amendment `{}`", name.text);
            let diagnostic = Diagnostic::error(Code::AdoptsUnknown, title).at(name.span, "adopted here");
            self.say(match near {
                Some(near) => diagnostic.help(format!("did you mean `{near}`?")),
                None => diagnostic.help("write it as `amendment NAME to EDITION { … }`"),
            });
            return false;
        };
        if let Some((family, year)) = edition
            && !amends(set, family, year)
        {
            let mut diagnostic =
                Diagnostic::error(Code::AdoptsUnknown, format!("`{}` does not amend {family} {year}", name.text))
                    .at(name.span, "adopted here");
            if let Some(base) = &set.base {
                diagnostic = diagnostic.at(base.family.span.to(base.year.span), "written for this base");
            }
            self.say(diagnostic.help("adopt it with its own base, or write one for this base"));
            return false;
        }
        true
    }

    /// Whether a clock is a date of the project; says so if not. A family without vocabulary is told elsewhere.
    fn clock(&mut self, family: &str, clock: &Name) {
        let Some(schema) = self.schemas.get(family) else { return };
        let fields: Vec<&str> = schema
            .thing_named(PROJECT)
            .map(|p| &schema.thing(p).fields)
            .into_iter()
            .flatten()
            .filter(|f| f.ty == FieldType::Date)
            .map(|f| f.name.as_str())
            .collect();
        if fields.contains(&clock.text.as_str()) {
            return;
        }
        let title = format!("`{}` is no date of the project", clock.text);
        let diagnostic = Diagnostic::error(Code::UnknownClock, title).at(clock.span, "no such date");
        let near = nearest(&clock.text, fields.iter().copied()).map(str::to_string);
        let known = fields.join(", ");
        self.say(match near {
            Some(near) => diagnostic.help(format!("did you mean `{near}`?")),
            None if known.is_empty() => diagnostic.help("give the thing `project` a field of type `date`"),
            None => diagnostic.help(format!("dates of the project: {known}")),
        });
    }

    /// The values that words stand for, groups taken apart.
    fn classes(&mut self, family: &str, words: &[Name]) -> Vec<String> {
        let Some(schema) = self.schemas.get(family) else { return Vec::new() };
        let mut all = Vec::new();
        for word in words {
            let found = super::known::values_of(schema, &word.text);
            if found.is_empty() {
                let known = super::known::words(schema);
                let near = nearest(&word.text, known.iter().map(String::as_str)).map(str::to_string);
                let title = format!("no choice of the project has `{}`", word.text);
                let diagnostic = Diagnostic::error(Code::UnknownClass, title).at(word.span, "not a value");
                self.found.push(match near {
                    Some(near) => diagnostic.help(format!("did you mean `{near}`?")),
                    None => diagnostic.help("name values of a choice field of the thing `project`"),
                });
            }
            all.extend(found);
        }
        all
    }

    /// Sorts adoptions by their start; open ends run to the next one; overlaps are told.
    fn order(&mut self, place: &mut Place) {
        place.adoptions.sort_by_key(|a| a.from);
        let families: BTreeSet<String> = place.adoptions.iter().map(|a| a.set.family.clone()).collect();
        for family in families {
            let of: Vec<usize> = (0..place.adoptions.len())
                .filter(|at| place.adoptions.get(*at).is_some_and(|a| a.set.family == family))
                .collect();
            for pair in of.windows(2) {
                let (Some(first), Some(next)) = (pair.first(), pair.last()) else { continue };
                let Some((start, span, edition)) =
                    place.adoptions.get(*next).map(|n| (n.from, n.span, n.set.edition()))
                else {
                    continue;
                };
                let Some(first) = place.adoptions.get_mut(*first) else { continue };
                let overlaps = first.from == start || first.end.is_some_and(|end| end > start);
                if overlaps {
                    let title = format!("{} and {edition} are both adopted at once", first.set.edition());
                    let diagnostic = Diagnostic::error(Code::AdoptionsOverlap, title)
                        .at(span, "starts while the other one stands")
                        .at(first.span, "stands until after that")
                        .help("end the first one before it, or leave its end out: it ends where the next one starts");
                    self.found.push(diagnostic);
                }
                first.end = Some(first.end.map_or(start, |end| end.min(start)));
            }
        }
    }

    /// Places around places: they exist, in no circle, and every adoption has a clock.
    fn nesting(&mut self) {
        let mut said: BTreeSet<String> = BTreeSet::new();
        let mut news = Vec::new();
        for place in self.places.all.values() {
            if let Some(outer) = &place.within
                && !self.places.all.contains_key(outer)
            {
                let near = nearest(outer, self.places.all.keys().map(String::as_str));
                let title = format!("there is no place `{outer}`");
                let label = format!("`{}` lies within it", place.name);
                let diagnostic = Diagnostic::error(Code::NoSuchPlace, title).at(place.span, label);
                news.push(match near {
                    Some(near) => diagnostic.help(format!("did you mean `{near}`?")),
                    None => diagnostic.help("load the file that defines it, or define it"),
                });
            }
            let mut ring = vec![place];
            let mut at = place.within.as_ref().and_then(|outer| self.places.all.get(outer));
            while let Some(outer) = at {
                if let Some(start) = ring.iter().position(|p| p.name == outer.name) {
                    if ring.iter().skip(start).all(|p| !said.contains(&p.name)) {
                        let mut diagnostic =
                            Diagnostic::error(Code::WithinInCircle, format!("`{}` lies within itself", outer.name));
                        for p in ring.iter().skip(start) {
                            let around = p.within.as_deref().unwrap_or("");
                            diagnostic = diagnostic.at(p.span, format!("`{}` lies within `{around}`", p.name));
                        }
                        news.push(diagnostic.help("the outermost place lies within nothing"));
                    }
                    said.extend(ring.iter().skip(start).map(|p| p.name.clone()));
                    break;
                }
                if ring.len() >= DEEPEST {
                    let title = format!("`{}` lies within more than {DEEPEST} places", place.name);
                    news.push(Diagnostic::error(Code::WithinInCircle, title).at(place.span, "too deep"));
                    break;
                }
                ring.push(outer);
                at = outer.within.as_ref().and_then(|outer| self.places.all.get(outer));
            }
            let chain = self.places.chain(&place.name);
            let first = place.adoptions.first().map(|a| a.span).or(place.adds.first().map(|a| a.span));
            if let Some(first) = first
                && !chain.iter().any(|p| p.clock.is_some())
            {
                let diagnostic =
                    Diagnostic::error(Code::NoClock, format!("`{}` does not say which date counts", place.name))
                        .at(first, "adopted from a day, but the day of what?")
                        .help("write `base fixed by permit-application` or another date of the project");
                news.push(diagnostic);
            }
        }
        self.found.extend(news);
    }

    fn windows(&mut self, set: &ChangeSet) {
        if set.kind == SetKind::Edition {
            return;
        }
        let base = set.base.as_ref().map(|base| (base.family.text.to_string(), base.year.text.to_string()));
        self.places.bases.insert(set.name.text.to_string(), base);
        for change in &set.changes {
            let ChangeKind::InForce { from, until, clock } = &change.kind else { continue };
            let from = match from {
                Some(from) => match self.day(from) {
                    None => continue,
                    day => day,
                },
                None => None,
            };
            let end = match until {
                Some(until) => match self.end(until) {
                    None => continue,
                    day => day,
                },
                None => None,
            };
            if let (Some(from), Some(end)) = (from, end)
                && end <= from
            {
                self.say(never(change.span, change.span));
                continue;
            }
            match &set.base {
                Some(base) => self.clock(&base.family.text, clock),
                // For every base: a date of the project in every vocabulary that is used.
                None => {
                    let families: Vec<String> = self.schemas.keys().cloned().collect();
                    families.iter().for_each(|family| self.clock(family, clock));
                }
            }
            let window = Window { clock: clock.text.to_string(), days: Days { from, end }, span: change.span };
            self.places.windows.entry(set.name.text.to_string()).or_default().push(window);
        }
    }
}

fn family_of(line: &PlaceLine) -> Option<&str> {
    match &line.kind {
        PlaceLineKind::Adoption { set, .. } => Some(&set.edition.family.text),
        _ => None,
    }
}

fn never(at: Span, start: Span) -> Diagnostic {
    let diagnostic = Diagnostic::error(Code::EmptyWindow, "a window that never opens").at(at, "ends before it starts");
    let diagnostic = if at == start { diagnostic } else { diagnostic.at(start, "starts here") };
    diagnostic.help("correct one of the two dates")
}
