//! The façade of places: which book governs, and an inspection under whatever may govern.

use super::{BookName, FactsForm, Session, choose};
use crate::base::date::Date;
use crate::base::source::{SourceId, Span};
use crate::diag::{Code, Diagnostic, Diagnostics};
use crate::edition::BaseSet;
use crate::facts;
use crate::govern::{self, Known, Places, Selection, Wanted};
use crate::ir::schema::Schema;
use crate::report::{self, Judged, view};
use crate::syntax::ast::{ChangeKind, FactItem, FactsFile, Item, PlaceLineKind, Rulebook};
use std::collections::{BTreeMap, BTreeSet};

/// What selects a book, besides the facts.
#[derive(Debug, Clone, Default)]
pub struct Asked {
    /// The place; none: that of the project.
    pub place: Option<String>,
    /// The family of editions; none: the only one that the place adopts.
    pub family: Option<String>,
    /// A date of the project, as `2021-09-15`.
    pub date: Option<String>,
    /// Which date it is; none: the one that counts in the place.
    pub clock: Option<String>,
}

impl Session {
    /// All places of the loaded rulebooks, checked, with the vocabularies of the families they adopt.
    fn calendar(&self, over: &[(SourceId, &Rulebook)]) -> (Places, BTreeMap<String, Schema>, Diagnostics) {
        let trees = self.trees_over(over);
        let mut families: BTreeSet<&str> = BTreeSet::new();
        for item in trees.iter().flat_map(|(_, book)| &book.items) {
            match item {
                Item::Jurisdiction(place) => {
                    for line in &place.lines {
                        if let PlaceLineKind::Adoption { set, .. } = &line.kind {
                            families.insert(&set.edition.family.text);
                        }
                    }
                }
                Item::Changes(set) if set.changes.iter().any(|c| matches!(c.kind, ChangeKind::InForce { .. })) => {
                    families.extend(set.base.iter().map(|base| base.family.text.as_str()));
                }
                _ => {}
            }
        }
        let known: BTreeSet<String> = self.editions().into_iter().map(|b| b.family).collect();
        let mut schemas = BTreeMap::new();
        let mut diagnostics = Diagnostics::new();
        // An adoption of a family that is not loaded is told with the adoption.
        for family in families.into_iter().filter(|family| known.contains(*family)) {
            let (schema, more) = self.vocabulary(family);
            diagnostics.extend(more.into_iter().filter(|d| d.severity == crate::diag::Severity::Error));
            schemas.insert(family.to_string(), schema);
        }
        let (places, more) = govern::places(&trees, &schemas);
        diagnostics.extend(more);
        (places, schemas, diagnostics)
    }

    /// All places of the loaded rulebooks with the mistakes in them.
    pub fn places(&self) -> (Places, Diagnostics) {
        self.places_over(&[])
    }

    /// All places of the loaded rulebooks and some on top of them, with the mistakes in them.
    pub fn places_over(&self, over: &[(SourceId, &Rulebook)]) -> (Places, Diagnostics) {
        let (places, _, diagnostics) = self.calendar(over);
        (places, diagnostics)
    }

    /// Selects the books that govern. A date asked for joins the facts as if they stated it.
    ///
    /// No selection where an error is among the diagnostics.
    pub fn govern(&mut self, asked: &Asked, files: &mut Vec<FactsFile>) -> (Option<Selection>, Diagnostics) {
        self.govern_over(asked, files, &[])
    }

    /// The same with some rulebooks on top of the loaded ones.
    pub fn govern_over(
        &mut self,
        asked: &Asked,
        files: &mut Vec<FactsFile>,
        over: &[(SourceId, &Rulebook)],
    ) -> (Option<Selection>, Diagnostics) {
        let (places, schemas, mut diagnostics) = self.calendar(over);
        if diagnostics.has_errors() {
            return (None, diagnostics);
        }
        let place_stated = govern::place_stated(files);
        let (place, at) = match (&asked.place, &place_stated) {
            (Some(place), Some(stated)) if *place != stated.text => {
                let title = format!("the facts state {}, but {place} is asked for", stated.text);
                let diagnostic = Diagnostic::warning(Code::NoSuchPlace, title)
                    .at(stated.span, "stated here")
                    .help("the place asked for is used");
                diagnostics.push(diagnostic);
                (place.clone(), None)
            }
            (Some(place), _) => (place.clone(), None),
            (None, Some(stated)) => (stated.text.to_string(), Some(stated.span)),
            (None, None) => {
                let names: Vec<&str> = places.names().into_iter().map(|(name, _)| name).collect();
                let diagnostic = Diagnostic::error(Code::NoSuchPlace, "no place is given");
                diagnostics.push(match names.is_empty() {
                    true => diagnostic.help("no place is loaded; add its rulebook with --beside, or use --under"),
                    false => diagnostic
                        .help(format!("say --in PLACE, or state `place` of the project; loaded: {}", names.join(", "))),
                });
                return (None, diagnostics);
            }
        };
        let families = places.families(&place);
        let family = match (&asked.family, families.as_slice()) {
            (Some(family), _) => family.clone(),
            (None, [only]) => only.clone(),
            (None, []) => String::new(),
            (None, several) => {
                let title = format!("{place} adopts editions of {}", several.join(" and "));
                diagnostics.push(Diagnostic::error(Code::NoSuchEdition, title).help("say which with --of FAMILY"));
                return (None, diagnostics);
            }
        };
        let empty = Schema::default();
        let schema = schemas.get(&family).unwrap_or(&empty);
        if !places.has(&place) {
            let wanted = Wanted { place: &place, family: &family, schema };
            let (_, more) = govern::select(&places, &wanted, &Known::default());
            // Shown where the facts state it.
            diagnostics.extend(more.into_iter().map(|d| at.map_or(d.clone(), |at| d.at(at, "stated here"))));
            return (None, diagnostics);
        }
        let known = match self.known(asked, &places, &place, schema, files, &mut diagnostics) {
            Some(known) => known,
            None => return (None, diagnostics),
        };
        let wanted = Wanted { place: &place, family: &family, schema };
        let (selection, more) = govern::select(&places, &wanted, &known);
        // A date that no adoption covers is shown where the facts state it.
        let typed = |span: &Span| self.sources.get(span.source).is_none_or(|source| source.name != "--date");
        let date = places.clock_of(&place).and_then(|clock| stated(files, &clock)).filter(typed);
        diagnostics.extend(more.into_iter().map(|diagnostic| match date {
            Some(date) if diagnostic.code == Code::OutsideAdoptions => diagnostic.at(date, "stated here"),
            _ => diagnostic,
        }));
        ((!diagnostics.has_errors()).then_some(selection), diagnostics)
    }

    /// What the facts and the date asked for tell of the project; none after an error.
    fn known(
        &mut self,
        asked: &Asked,
        places: &Places,
        place: &str,
        schema: &Schema,
        files: &mut Vec<FactsFile>,
        diagnostics: &mut Diagnostics,
    ) -> Option<Known> {
        let clock = asked.clock.clone().or_else(|| places.clock_of(place));
        let more = self.state_date(&Asked { clock, ..asked.clone() }, schema, files);
        let failed = more.has_errors();
        diagnostics.extend(more);
        if failed {
            return None;
        }
        let all: Vec<&FactsFile> = files.iter().collect();
        let (installation, more) = facts::install(schema, &all);
        // Other things may have fields that only an amendment declares: they are checked against the book itself.
        let blocks: Vec<Span> = files
            .iter()
            .flat_map(|file| &file.items)
            .filter_map(|item| match item {
                FactItem::Project { span, .. } => Some(*span),
                _ => None,
            })
            .collect();
        let of_project =
            |span: Span| blocks.iter().any(|b| b.source == span.source && b.start <= span.start && span.end <= b.end);
        let kinds = [Code::FactWrongType, Code::NoneNotAllowed, Code::FactListMismatch, Code::FactFieldTwice];
        let wrong: Vec<Diagnostic> = more
            .into_iter()
            .filter(|d| d.place().is_some_and(of_project) && (kinds.contains(&d.code) || d.code == Code::BadDate))
            .collect();
        let failed = !wrong.is_empty();
        diagnostics.extend(wrong);
        (!failed).then(|| Known::read(schema, &installation))
    }

    /// Lets a date asked for join the facts as if they stated it; more exact than what they say, but never against it.
    pub fn state_date(&mut self, asked: &Asked, schema: &Schema, files: &mut Vec<FactsFile>) -> Diagnostics {
        let Some(date) = &asked.date else { return Diagnostics::new() };
        let Some(clock) = &asked.clock else {
            let diagnostic = Diagnostic::error(Code::NoClock, format!("{date} is the day of what?"));
            return diagnostic.help("say which date of the project it is, such as --clock permit-application").into();
        };
        let day = match Date::parse_iso(date) {
            Ok(day) => day.days_since_epoch(),
            Err(error) => return Diagnostic::error(Code::BadDate, format!("`{date}` is not a date: {error}")).into(),
        };
        if let Some(span) = stated(files, clock) {
            let (installation, _) = facts::install(schema, &files.iter().collect::<Vec<_>>());
            if !Known::read(schema, &installation).may_be(clock, day) {
                return Diagnostic::error(Code::DatesDisagree, format!("the facts and --date disagree on {clock}"))
                    .at(span, format!("--date says {date}"))
                    .help("leave --date out, or correct the facts")
                    .into();
            }
        }
        strike(files, clock);
        let text = format!("project {{ {clock}: {date} }}\n");
        let (file, diagnostics) = self.read_facts("--date", text.into_bytes(), FactsForm::Native);
        files.push(file);
        diagnostics
    }

    /// Selects by the windows of the amendments of a named book, such as `nec 2020 with harbor-2021`; none if none of them
    /// has a window, or an error is among the diagnostics.
    pub fn govern_named(&self, under: &str, files: &[FactsFile]) -> (Option<Selection>, Diagnostics) {
        let name = BookName::parse(under, &self.trees());
        if name.with.is_empty() {
            return (None, Diagnostics::new());
        }
        let (places, schemas, diagnostics) = self.calendar(&[]);
        if !places.have_windows(&name.with) {
            return (None, Diagnostics::new());
        }
        if diagnostics.has_errors() {
            return (None, diagnostics);
        }
        let empty = Schema::default();
        let schema = schemas.get(&name.family).unwrap_or(&empty);
        let (installation, _) = facts::install(schema, &files.iter().collect::<Vec<_>>());
        let known = Known::read(schema, &installation);
        let (selection, more) = govern::named(&places, (&name.family, &name.year), &name.with, &known);
        ((!more.has_errors()).then_some(selection), more)
    }

    /// The selection as a report shows it.
    pub fn told(&self, selection: &Selection) -> view::Selection {
        govern::told(selection, self.sources())
    }

    /// Inspects an installation under whatever may govern: books in force together must all be met, and where it is not
    /// settled which book governs a verdict is definite only where all agree. None after an error.
    pub fn inspect_governed(
        &self,
        selection: &Selection,
        files: &[FactsFile],
        readings: &[String],
    ) -> (Option<view::Inspection>, Diagnostics) {
        let mut diagnostics = Diagnostics::new();
        let mut judged: BTreeMap<&BaseSet, Judged> = BTreeMap::new();
        let books: BTreeSet<&BaseSet> = selection.possible.iter().flat_map(|p| &p.books).collect();
        let mut strangers: Vec<Diagnostics> = Vec::new();
        for book in &books {
            let (composed, program, more) = self.open_set(book);
            let broken = more.has_errors();
            add(&mut diagnostics, more);
            if broken {
                continue;
            }
            // A reading may belong to one of the books only; one that belongs to none is a mistake.
            let (choices, more) = choose(&program, readings);
            if more.has_errors() {
                strangers.push(more);
            }
            let (installation, more) = self.install(&program, files);
            let broken = more.has_errors();
            add(&mut diagnostics, more);
            if broken {
                continue;
            }
            let inspection = report::inspection(&program, &installation, &choices);
            judged.insert(book, Judged { book: book.name(), identity: composed.identity, inspection });
        }
        if strangers.len() == books.len() {
            diagnostics.extend(strangers.into_iter().next().unwrap_or_default());
        }
        if diagnostics.has_errors() {
            return (None, diagnostics);
        }
        let possible = selection
            .possible
            .iter()
            .map(|p| report::together(p.books.iter().filter_map(|book| judged.get(book).cloned()).collect()))
            .collect();
        let selecting: Vec<view::Missing> = selection
            .ask
            .iter()
            .map(|ask| view::Missing {
                of: ask.of.clone(),
                field: ask.field.clone(),
                question: ask.question.clone(),
                judgment: String::new(),
            })
            .collect();
        let inspection = report::agreed(possible, &selecting).map(|mut inspection| {
            inspection.governing.selection = Some(self.told(selection));
            inspection
        });
        (inspection, diagnostics)
    }
}

/// Adds diagnostics that are not there yet: books share most of their text.
fn add(all: &mut Diagnostics, more: Diagnostics) {
    let news: Vec<Diagnostic> = more.into_iter().filter(|d| !all.iter().any(|known| known == d)).collect();
    all.extend(news);
}

/// Where the facts state a field of the project.
fn stated(files: &[FactsFile], field: &str) -> Option<Span> {
    files.iter().flat_map(|file| &file.items).find_map(|item| match item {
        FactItem::Project { block, .. } => block.entries.iter().find(|e| e.name.text == field).map(|e| e.span),
        _ => None,
    })
}

/// Takes a field of the project out of the facts.
fn strike(files: &mut [FactsFile], field: &str) {
    for item in files.iter_mut().flat_map(|file| &mut file.items) {
        if let FactItem::Project { block, .. } = item {
            block.entries.retain(|entry| entry.name.text != field);
        }
    }
}
