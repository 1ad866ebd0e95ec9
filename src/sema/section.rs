//! Sections and paragraphs into duties, with their exceptions, waivers, modifications and lifts.
//!
//! A labelled item of a demand is a duty of its own, so a verdict cites to list-item depth. Statements that reach into
//! other sections are kept until all duties stand.

use super::lower::{Declared, Frame, Lower, Says, Side, TallyDeclared, marks};
use super::vocabulary::twice;
use crate::base::source::Span;
use crate::diag::{Code, Diagnostic, nearest};
use crate::ir::program::{
    Duty, Force, Kind, KindId, List, Mark, Note, Permission, Relief, Replacement, Section, Test, TestId,
};
use crate::ir::schema::ThingId;
use crate::syntax::ast::{self, ClauseKind, Enough, StatementKind};
use std::collections::BTreeMap;

/// What a paragraph inherits.
#[derive(Clone)]
struct Around<'a> {
    /// Number to here: `517.13(B)`.
    address: String,
    /// Labels below the section.
    labels: Vec<String>,
    title: String,
    name: String,
    about: Vec<String>,
    section: u32,
    governs: Option<ThingId>,
    /// What it is said to govern, where that is no thing; already complained of.
    misnamed: Option<Span>,
    scopes: Vec<&'a ast::Clauses>,
    marks: Vec<Mark>,
}

/// A duty in the making.
struct Draft {
    labels: Vec<String>,
    duty: Duty,
    span: Span,
    replacements: Vec<(TestId, TestId, Replacement)>,
    /// Reliefs by position that take away credit, and toward which section.
    uncounted: Vec<(usize, String)>,
}

/// A statement that reaches into other sections.
enum Reach<'a> {
    Waives {
        around: Around<'a>,
        to: &'a ast::Address,
        case: Option<&'a ast::Clauses>,
        marks: Vec<Mark>,
        span: Span,
    },
    Modifies {
        around: Around<'a>,
        to: &'a ast::Address,
        case: &'a ast::Clauses,
        instead: &'a ast::Clauses,
        marks: Vec<Mark>,
        span: Span,
    },
    Lifts {
        around: Around<'a>,
        to: &'a ast::Address,
        clauses: &'a ast::Clauses,
        marks: Vec<Mark>,
        span: Span,
    },
}

struct Drafts<'a> {
    all: Vec<Draft>,
    reaches: Vec<Reach<'a>>,
    exceptions_seen: BTreeMap<String, Span>,
    /// Kinds made ahead for tallies: filled once all duties stand.
    lost: Vec<(String, ThingId, KindId)>,
}

impl<'a> Lower<'a> {
    /// Registers what sections name before anything is lowered: permissions and tallies.
    pub(super) fn declare_section(&mut self, section: &'a ast::Section) {
        let scopes = Vec::new();
        self.declare_body(&section.body, section.address.text.to_string(), &section.address.text, scopes);
    }

    fn declare_body(&mut self, body: &'a ast::Body, address: String, section: &str, mut scopes: Vec<&'a ast::Clauses>) {
        for statement in &body.statements {
            if let StatementKind::When(clauses) = &statement.kind {
                scopes.push(clauses);
            }
        }
        for statement in &body.statements {
            match &statement.kind {
                StatementKind::PermitsAs { thing, kind, clauses } => {
                    if let Some(thing) = self.thing(thing) {
                        self.condition(
                            kind,
                            Declared {
                                name: kind.text.to_string(),
                                thing,
                                cite: address.clone(),
                                says: Says::Scoped(clauses),
                                scopes: scopes.clone(),
                                marks: marks(&statement.marks),
                                span: kind.span,
                            },
                        );
                    }
                }
                StatementKind::Tally(name, list, filter) => {
                    let tally = TallyDeclared {
                        list,
                        filter: filter.as_ref(),
                        section: section.to_string(),
                        lost: BTreeMap::new(),
                    };
                    if self.tallies.insert(name.text.to_string(), tally).is_some() {
                        let diagnostic = twice(name, name.span);
                        self.say(diagnostic);
                    }
                }
                StatementKind::Paragraph { labels, body: Some(body), .. } => {
                    let address = labelled(&address, labels);
                    self.declare_body(body, address, section, scopes.clone());
                }
                _ => {}
            }
        }
    }

    /// The kind that holds for members of a tally that satisfy some duty only through an exception that takes their
    /// credit. Its condition is filled in once all duties stand.
    pub(super) fn lost_credit(&mut self, tally: &str, thing: ThingId, span: Span) -> Option<KindId> {
        if let Some(known) = self.tallies.get(tally).and_then(|t| t.lost.get(&thing).copied()) {
            return Some(known);
        }
        let test = self.never(span);
        let origin = self.origin(span, &[]);
        let id = KindId(u32::try_from(self.program.kinds.len()).ok()?);
        let section = self.tallies.get(tally)?.section.clone();
        self.program.kinds.push(Kind {
            name: format!("without credit toward {section}"),
            thing,
            cite: section,
            test,
            origin,
            readings: Box::default(),
        });
        self.tallies.get_mut(tally)?.lost.insert(thing, id);
        Some(id)
    }

    pub(super) fn sections(&mut self, sections: &[&'a ast::Section]) {
        let mut drafts =
            Drafts { all: Vec::new(), reaches: Vec::new(), exceptions_seen: BTreeMap::new(), lost: Vec::new() };
        let mut seen: BTreeMap<&str, Span> = BTreeMap::new();
        for section in sections {
            if let Some(first) = seen.insert(&section.address.text, section.address.span) {
                let name = ast::Name { text: section.address.text.clone(), span: section.address.span };
                let diagnostic = twice(&name, first);
                self.say(diagnostic);
                continue;
            }
            self.section(section, &mut drafts);
        }
        let unused: Vec<(String, Span)> = self
            .reading_of_exception
            .iter()
            .filter(|(name, _)| !drafts.exceptions_seen.contains_key(*name))
            .map(|(name, (_, reading))| (name.clone(), reading.of.span))
            .collect();
        for (name, span) in unused {
            let near = nearest(&name, drafts.exceptions_seen.keys().map(String::as_str)).map(str::to_string);
            let diagnostic =
                Diagnostic::error(Code::UnknownName, format!("`{name}` is neither a thing nor an exception"))
                    .at(span, "what is read differently?");
            self.say(match near {
                Some(near) => diagnostic.help(format!("did you mean `{near}`?")),
                None => diagnostic.help("name the exception with `unless Ex. 1 as name …`"),
            });
        }
        let reaches = std::mem::take(&mut drafts.reaches);
        for reach in reaches {
            self.reach(reach, &mut drafts);
        }
        let tallies: Vec<(String, ThingId, KindId)> = self
            .tallies
            .values()
            .flat_map(|t| t.lost.iter().map(|(thing, kind)| (t.section.clone(), *thing, *kind)))
            .collect();
        drafts.lost = tallies;
        self.finish(drafts);
    }

    fn section(&mut self, section: &'a ast::Section, drafts: &mut Drafts<'a>) {
        let Ok(number) = u32::try_from(self.program.sections.len()) else { return };
        let own = body_marks(&section.body);
        let title = section.title.as_deref().unwrap_or("").to_string();
        self.program.sections.push(Section {
            address: section.address.text.to_string(),
            title: title.clone(),
            marks: own.clone(),
        });
        let around = Around {
            address: section.address.text.to_string(),
            labels: Vec::new(),
            title,
            name: section.name.as_ref().map_or_else(String::new, |n| n.text.to_string()),
            about: section.about.iter().map(|n| n.text.to_string()).collect(),
            section: number,
            governs: None,
            misnamed: None,
            scopes: Vec::new(),
            marks: own,
        };
        let before = (drafts.all.len(), drafts.reaches.len(), self.program.permissions.len(), self.program.notes.len());
        self.body(&section.body, around, drafts);
        let after = (drafts.all.len(), drafts.reaches.len(), self.program.permissions.len(), self.program.notes.len());
        let tallies = section.body.statements.iter().any(|s| matches!(s.kind, StatementKind::Tally(..)));
        if before == after && !tallies && !self.diagnostics.has_errors() {
            self.say(
                Diagnostic::warning(Code::NoRule, format!("section {} says nothing", section.address.text))
                    .at(section.address.span, "no duty, permission or note")
                    .help("write what it requires, permits or notes"),
            );
        }
    }

    fn body(&mut self, body: &'a ast::Body, mut around: Around<'a>, drafts: &mut Drafts<'a>) {
        for statement in &body.statements {
            match &statement.kind {
                StatementKind::Governs { thing, owner } => {
                    let Some(id) = self.thing(thing) else {
                        around.misnamed = Some(thing.span);
                        continue;
                    };
                    if let Some(owner) = owner
                        && let Some(owner_id) = self.thing(owner)
                        && self.owners.get(id.0 as usize).copied().flatten() != Some(owner_id)
                    {
                        self.say(
                            Diagnostic::error(
                                Code::OwnerNotReachable,
                                format!("a `{}` does not nest in a `{}`", thing.text, owner.text),
                            )
                            .at(owner.span, "not its owner")
                            .help(format!("declare `{}s: many {}` in `thing {}`", thing.text, thing.text, owner.text)),
                        );
                    }
                    around.governs = Some(id);
                }
                StatementKind::When(clauses) => around.scopes.push(clauses),
                _ => {}
            }
        }
        let first = drafts.all.len();
        let mut labels: Vec<&ast::Name> = Vec::new();
        for statement in &body.statements {
            let said = finer(marks(&statement.marks), &around.marks);
            self.statement(statement, said, &around, drafts, &mut labels);
        }
        for statement in &body.statements {
            let said = marks(&statement.marks);
            match &statement.kind {
                StatementKind::Unless(head, case, alternative) => {
                    self.permissive(head, case, alternative.as_ref(), said, &around, first, drafts);
                }
                StatementKind::Exception(head, case, instead) => {
                    self.mandatory(head, case, instead, said, &around, first, drafts);
                }
                _ => {}
            }
        }
    }

    fn statement(
        &mut self,
        statement: &'a ast::Statement,
        said: Vec<Mark>,
        around: &Around<'a>,
        drafts: &mut Drafts<'a>,
        labels: &mut Vec<&'a ast::Name>,
    ) {
        let span = statement.span;
        match &statement.kind {
            StatementKind::Marks
            | StatementKind::Governs { .. }
            | StatementKind::When(_)
            | StatementKind::Unless(..)
            | StatementKind::Exception(..)
            | StatementKind::Tally(..) => {}
            StatementKind::Paragraph { labels: own, name, title, body } => {
                if let [only] = own.as_slice() {
                    self.label_once(labels, only);
                }
                let address = labelled(&around.address, own);
                let Some(body) = body else {
                    self.program.notes.push(Note { address, text: String::new() });
                    return;
                };
                let mut inner = around.clone();
                inner.address = address;
                inner.labels.extend(own.iter().map(|l| l.text.to_string()));
                if let Some(title) = title {
                    inner.title = title.to_string();
                }
                inner.name = name.as_ref().map_or_else(String::new, |n| n.text.to_string());
                inner.marks = finer(body_marks(body), &around.marks);
                self.body(body, inner, drafts);
            }
            // With a scope beside it, it has become part of that scope when the book was composed.
            StatementKind::AlsoWhen(_) => {
                self.say(
                    Diagnostic::error(Code::OutOfPlace, "`also when` without a `when`")
                        .at(span, "everything is in scope already")
                        .help("write `when …`, or remove it"),
                );
            }
            StatementKind::Notes(text) => {
                self.program.notes.push(Note { address: around.address.clone(), text: text.to_string() });
            }
            StatementKind::PermitsAs { thing, kind, .. } => {
                let Some(thing) = self.schema().thing_named(&thing.text) else { return };
                let Some(at) = self.conditions.get(&(thing, kind.text.to_string())).copied() else { return };
                if let Some(kind) = self.kind(at, Side::Favour) {
                    self.program.permissions.push(Permission {
                        address: around.address.clone(),
                        section: around.section,
                        kind,
                    });
                }
            }
            StatementKind::Different(halves) => self.different(halves, said, around, span, drafts),
            StatementKind::Requires(clauses, None) => self.demand(clauses, Force::Requires, said, around, span, drafts),
            StatementKind::Prohibits(clauses, None) => {
                self.demand(clauses, Force::Prohibits, said, around, span, drafts);
            }
            StatementKind::PermitsOnly(clauses) => {
                self.demand(clauses, Force::PermitsOnly, said, around, span, drafts);
            }
            StatementKind::Requires(clauses, Some(items)) => {
                self.triggered(clauses, items, Force::Requires, said, around, span, drafts);
            }
            StatementKind::Prohibits(clauses, Some(items)) => {
                self.triggered(clauses, items, Force::Prohibits, said, around, span, drafts);
            }
            StatementKind::IfProvided(path, clauses) => self.if_provided(path, clauses, said, around, span, drafts),
            StatementKind::Permits(clauses, lifts) => match lifts {
                Some(to) => {
                    drafts.reaches.push(Reach::Lifts { around: around.clone(), to, clauses, marks: said, span })
                }
                None => self.permits(clauses, said, around, span),
            },
            StatementKind::Waives(to, case) => drafts.reaches.push(Reach::Waives {
                around: around.clone(),
                to,
                case: case.as_ref(),
                marks: said,
                span,
            }),
            StatementKind::Modifies(to, case, instead) => {
                drafts.reaches.push(Reach::Modifies { around: around.clone(), to, case, instead, marks: said, span })
            }
        }
    }

    // -------------------------------------------------------------------------------------------- duties

    /// Opens the frame of the thing judged and lowers the scope; none if nothing is governed.
    fn open(&mut self, around: &Around<'a>, span: Span) -> Option<(ThingId, Vec<TestId>)> {
        let Some(subject) = around.governs else {
            if around.misnamed.is_some() {
                return None;
            }
            self.say(
                Diagnostic::error(Code::GovernsNothing, format!("{} governs nothing", around.address))
                    .at(span, "of what is this demanded?")
                    .help("add a line `governs THING` to the section"),
            );
            return None;
        };
        self.frames = vec![Frame { var: 0, thing: subject, slot: None }];
        self.siblings.clear();
        self.cite = around.address.clone();
        let scopes = around.scopes.iter().map(|clauses| self.clauses(clauses, Side::Bind)).collect();
        Some((subject, scopes))
    }

    #[allow(clippy::too_many_arguments)]
    fn draft(
        &mut self,
        around: &Around<'a>,
        subject: ThingId,
        labels: &[String],
        name: &str,
        force: Force,
        applies: Vec<TestId>,
        asks: TestId,
        said: &[Mark],
        span: Span,
        drafts: &mut Drafts<'a>,
    ) {
        let mut address = around.address.clone();
        for label in labels {
            address.push_str(&format!("({label})"));
        }
        self.cite = address.clone();
        let origin = self.origin(span, said);
        let applies = self.all(applies, span);
        let own_name = if name.is_empty() && labels.is_empty() { around.name.clone() } else { name.to_string() };
        drafts.all.push(Draft {
            labels: around.labels.iter().chain(labels).cloned().collect(),
            duty: Duty {
                address,
                section: around.section,
                title: around.title.clone(),
                name: own_name,
                about: around.about.clone(),
                subject,
                force,
                applies,
                asks,
                reliefs: Vec::new(),
                replacements: Vec::new(),
                waivers: Vec::new(),
                readings: Box::default(),
                origin,
            },
            span,
            replacements: Vec::new(),
            uncounted: Vec::new(),
        });
    }

    fn demand(
        &mut self,
        clauses: &'a ast::Clauses,
        force: Force,
        said: Vec<Mark>,
        around: &Around<'a>,
        span: Span,
        drafts: &mut Drafts<'a>,
    ) {
        self.demand_under(clauses, force, &said, around, &[], "", span, drafts);
    }

    /// A demand; the labelled lines of one list become duties of their own, to any depth.
    #[allow(clippy::too_many_arguments)]
    fn demand_under(
        &mut self,
        clauses: &'a ast::Clauses,
        force: Force,
        said: &[Mark],
        around: &Around<'a>,
        labels: &[String],
        name: &str,
        span: Span,
        drafts: &mut Drafts<'a>,
    ) {
        if let [clause] = clauses.all.as_slice()
            && !clause.negated
            && let Some(items) = split_list(&clause.kind, force)
            && items.all.iter().all(|item| item.label.is_some())
            && !items.all.is_empty()
        {
            let mut seen = Vec::new();
            for item in &items.all {
                let mut inner = labels.to_vec();
                if let Some(label) = &item.label {
                    self.label_once(&mut seen, label);
                    inner.push(label.text.to_string());
                }
                let said = &finer(marks(&item.marks), said);
                let name = item.name.as_ref().map_or("", |n| n.text.as_str());
                self.demand_under(&item.clauses, force, said, around, &inner, name, item.span, drafts);
            }
            return;
        }
        let Some((subject, scopes)) = self.open(around, span) else { return };
        for label in labels {
            self.cite.push_str(&format!("({label})"));
        }
        let asks = self.asks(clauses, force, span);
        self.draft(around, subject, labels, name, force, scopes, asks, said, span, drafts);
    }

    fn asks(&mut self, clauses: &'a ast::Clauses, force: Force, span: Span) -> TestId {
        match force {
            Force::Prohibits => {
                let test = self.clauses(clauses, Side::Bind);
                self.emit(Test::Not(test), span)
            }
            Force::Requires | Force::IfProvided | Force::PermitsOnly => self.clauses(clauses, Side::Favour),
        }
    }

    #[allow(clippy::too_many_arguments)]
    fn triggered(
        &mut self,
        clauses: &'a ast::Clauses,
        items: &'a ast::Items,
        force: Force,
        said: Vec<Mark>,
        around: &Around<'a>,
        span: Span,
        drafts: &mut Drafts<'a>,
    ) {
        let mut seen = Vec::new();
        for item in &items.all {
            let Some((subject, mut scopes)) = self.open(around, span) else { return };
            let mut labels = Vec::new();
            if let Some(label) = &item.label {
                self.label_once(&mut seen, label);
                labels.push(label.text.to_string());
                self.cite.push_str(&format!("({})", label.text));
            }
            scopes.push(self.clauses(&item.clauses, Side::Bind));
            let asks = self.asks(clauses, force, span);
            let said = &finer(marks(&item.marks), &said);
            let name = item.name.as_ref().map_or("", |n| n.text.as_str());
            self.draft(around, subject, &labels, name, force, scopes, asks, said, item.span, drafts);
        }
    }

    fn if_provided(
        &mut self,
        path: &'a ast::Path,
        clauses: &'a ast::Clauses,
        said: Vec<Mark>,
        around: &Around<'a>,
        span: Span,
        drafts: &mut Drafts<'a>,
    ) {
        let Some((subject, mut scopes)) = self.open(around, span) else { return };
        match self.find(path) {
            Some(super::path::Found::Field(place)) => {
                if !self.schema().field(place.object.thing, place.field).may_be_absent {
                    let name = self.schema().field(place.object.thing, place.field).name.clone();
                    self.say(
                        Diagnostic::error(Code::NotMayBeAbsent, format!("`{name}` is always provided"))
                            .at(path.span, "cannot be absent")
                            .help(format!("declare it `{name}: …, may be absent`")),
                    );
                }
                let none = self.emit(Test::IsNone(place), path.span);
                scopes.push(self.emit(Test::Not(none), path.span));
            }
            Some(_) => self
                .say(Diagnostic::error(Code::WrongType, "only a field can be provided or not").at(path.span, "here")),
            None => {}
        }
        let asks = self.asks(clauses, Force::IfProvided, span);
        self.draft(around, subject, &[], "", Force::IfProvided, scopes, asks, &said, span, drafts);
    }

    fn different(
        &mut self,
        halves: &'a [ast::Half],
        said: Vec<Mark>,
        around: &Around<'a>,
        span: Span,
        drafts: &mut Drafts<'a>,
    ) {
        let Some((subject, scopes)) = self.open(around, span) else { return };
        let mut seen = Vec::new();
        let mut made: Vec<(List, TestId)> = Vec::new();
        let names: Vec<String> = halves.iter().map(|h| h.slot.text.to_string()).collect();
        let mut parts = Vec::new();
        for half in halves {
            self.label_once(&mut seen, &half.label);
            self.cite = format!("{}({})", around.address, half.label.text);
            self.siblings = names.iter().filter(|n| **n != half.slot.text).cloned().collect();
            let list = ast::ListRef { words: vec![half.thing.clone()], of: Vec::new(), span: half.thing.span };
            let slot = Some(half.slot.text.to_string());
            let found = self.with_list(&list, None, Side::Favour, slot, |lower| {
                let frame = lower.frames.last().cloned();
                let mut tests = Vec::new();
                if let (Some(kind), Some(frame)) = (&half.kind, frame) {
                    let object = lower.object(&frame);
                    tests.push(lower.predicate_or_say(&object, kind, Side::Favour, kind.span));
                }
                if let Some(clauses) = &half.clauses {
                    tests.push(lower.clauses(clauses, Side::Favour));
                }
                lower.all(tests, half.span)
            });
            self.siblings.clear();
            let Some((list, test)) = found else { continue };
            let own = finer(marks(&half.marks), &said);
            let asks = self.emit(Test::Some(list.clone(), test), half.span);
            made.push((list, test));
            parts.push((half, asks, own));
        }
        for (half, asks, own) in parts {
            let labels = [half.label.text.to_string()];
            let name = half.slot.text.to_string();
            self.draft(around, subject, &labels, &name, Force::Requires, scopes.clone(), asks, &own, half.span, drafts);
        }
        if made.len() == halves.len() {
            self.cite = around.address.clone();
            let asks = self.emit(Test::Different(made.into()), span);
            self.draft(around, subject, &[], "", Force::Requires, scopes, asks, &said, span, drafts);
        }
    }

    fn permits(&mut self, clauses: &'a ast::Clauses, said: Vec<Mark>, around: &Around<'a>, span: Span) {
        let Some((subject, mut all)) = self.open(around, span) else { return };
        all.push(self.clauses(clauses, Side::Favour));
        let test = self.all(all, span);
        let origin = self.origin(span, &said);
        let Ok(number) = u32::try_from(self.program.kinds.len()) else { return };
        let kind = KindId(number);
        self.program.kinds.push(Kind {
            name: "permitted".to_string(),
            thing: subject,
            cite: around.address.clone(),
            test,
            origin,
            readings: Box::default(),
        });
        self.program.permissions.push(Permission { address: around.address.clone(), section: around.section, kind });
    }

    // -------------------------------------------------------------------------------------------- exceptions

    /// The drafts of this body an exception is bound to.
    fn bound_to(
        &mut self,
        head: &ast::ExceptionHead,
        around: &Around<'a>,
        first: usize,
        drafts: &Drafts<'a>,
    ) -> Vec<usize> {
        if head.to.is_empty() {
            let all: Vec<usize> = (first..drafts.all.len()).collect();
            if all.is_empty() {
                self.say(
                    Diagnostic::error(Code::ExceptionToNothing, "an exception to nothing")
                        .at(head.span, "this section demands nothing it could except"),
                );
            }
            return all;
        }
        let mut bound = Vec::new();
        for run in &head.to {
            let wanted: Vec<String> =
                around.labels.iter().cloned().chain(run.iter().map(|l| l.text.to_string())).collect();
            let found: Vec<usize> =
                (first..drafts.all.len()).filter(|at| drafts.all[*at].labels.starts_with(&wanted)).collect();
            if found.is_empty()
                && let Some(label) = run.first()
            {
                let known: Vec<String> = drafts.all[first..]
                    .iter()
                    .map(|d| {
                        d.labels[around.labels.len().min(d.labels.len())..].iter().map(|l| format!("({l})")).collect()
                    })
                    .filter(|l: &String| !l.is_empty())
                    .collect();
                let item: String = run.iter().map(|l| format!("({})", l.text)).collect();
                self.say(
                    Diagnostic::error(Code::ExceptionToNothing, format!("there is no item {item} to except"))
                        .at(label.span, "not an item of this paragraph")
                        .help(format!("its items are {}", known.join(", "))),
                );
            }
            bound.extend(found);
        }
        bound
    }

    fn exception_name(&mut self, head: &ast::ExceptionHead, drafts: &mut Drafts<'a>) -> (String, String) {
        let label = match &head.number {
            Some(number) => format!("Ex. {}", number.text),
            None => "Ex.".to_string(),
        };
        let name = match &head.name {
            Some(name) => {
                // One exception put into every rule about a subject is one exception with one name.
                if let Some(first) = drafts.exceptions_seen.insert(name.text.to_string(), name.span)
                    && first != name.span
                {
                    let diagnostic = twice(name, first);
                    self.say(diagnostic);
                }
                name.text.to_string()
            }
            None => String::new(),
        };
        (label, name)
    }

    #[allow(clippy::too_many_arguments)]
    fn permissive(
        &mut self,
        head: &'a ast::ExceptionHead,
        case: &'a ast::Clauses,
        alternative: Option<&'a Enough>,
        said: Vec<Mark>,
        around: &Around<'a>,
        first: usize,
        drafts: &mut Drafts<'a>,
    ) {
        let (label, name) = self.exception_name(head, drafts);
        let bound = self.bound_to(head, around, first, drafts);
        let Some(sample) = bound.first().copied() else { return };
        let subject = drafts.all[sample].duty.subject;
        self.frames = vec![Frame { var: 0, thing: subject, slot: None }];
        self.cite = format!("{} {label}", around.address);
        let case_test = self.clauses(case, Side::Favour);
        let reading = self.reading_of_exception.get(&name).copied();
        let alternative_test = match (alternative, reading) {
            // A reading may dispute what the exception says, where one of its options says the same.
            (Some(said), Some((_, reading))) if !disputes(said, reading) => {
                self.say(
                    Diagnostic::error(Code::DefinedTwice, "what is enough is said twice")
                        .at(head.span, "the exception says it")
                        .at(reading.name.span, "and so do these readings")
                        .help("leave the `then` to the readings"),
                );
                None
            }
            (Some(Enough::Labels(runs, span)), None) => Some(self.enough(runs, *span, around, first, drafts)),
            (Some(Enough::Clauses(clauses)), None) => Some(self.clauses(clauses, Side::Favour)),
            (_, Some((id, reading))) => {
                let mut options = Vec::new();
                for option in &reading.options {
                    options.push(match &option.says {
                        ast::ReadingSays::Enough(runs, span) => self.enough(runs, *span, around, first, drafts),
                        ast::ReadingSays::Items(items) => self.all_items(items, Side::Favour),
                        ast::ReadingSays::Value(expr) => {
                            self.say(
                                Diagnostic::error(Code::WrongType, "a value where a condition is expected")
                                    .at(expr.span, "a reading of an exception says what is enough"),
                            );
                            self.never(expr.span)
                        }
                    });
                }
                Some(self.emit(Test::Reading(id, options.into()), reading.name.span))
            }
            (None, None) => None,
        };
        let test = match alternative_test {
            Some(alternative) => self.all(vec![case_test, alternative], head.span),
            None => case_test,
        };
        let origin = self.origin(head.span.to(case.span), &said);
        for at in bound {
            if drafts.all[at].duty.subject != subject {
                self.other_subject(head.span, subject, drafts.all[at].duty.subject);
                continue;
            }
            let draft = &mut drafts.all[at];
            if let Some(toward) = &head.uncounted {
                draft.uncounted.push((draft.duty.reliefs.len(), toward.text.to_string()));
            }
            let relief = Relief { label: label.clone(), name: name.clone(), case: case_test, test, origin };
            draft.duty.reliefs.push(relief);
        }
    }

    /// What is enough: what the named items ask.
    fn enough(
        &mut self,
        runs: &[Vec<ast::Name>],
        span: Span,
        around: &Around<'a>,
        first: usize,
        drafts: &Drafts<'a>,
    ) -> TestId {
        let mut any = Vec::new();
        for run in runs {
            let wanted: Vec<String> =
                around.labels.iter().cloned().chain(run.iter().map(|l| l.text.to_string())).collect();
            let asks: Vec<TestId> =
                drafts.all[first..].iter().filter(|d| d.labels.starts_with(&wanted)).map(|d| d.duty.asks).collect();
            if asks.is_empty() {
                let item: String = run.iter().map(|l| format!("({})", l.text)).collect();
                self.say(
                    Diagnostic::error(
                        Code::ExceptionToNothing,
                        format!("there is no item {item} that could be enough"),
                    )
                    .at(span, "not an item of this paragraph"),
                );
            }
            any.push(self.all(asks, span));
        }
        self.any(any, span)
    }

    fn other_subject(&mut self, span: Span, one: ThingId, two: ThingId) {
        let (one, two) = (self.schema().thing(one).name.clone(), self.schema().thing(two).name.clone());
        self.say(
            Diagnostic::error(
                Code::WrongType,
                format!("this is about each {one}, but it reaches a duty of each {two}"),
            )
            .at(span, "bound to both")
            .help("bind it to the items it excepts: `unless Ex. 1 to (3) …`"),
        );
    }

    #[allow(clippy::too_many_arguments)]
    fn mandatory(
        &mut self,
        head: &'a ast::ExceptionHead,
        case: &'a ast::Clauses,
        instead: &'a ast::Clauses,
        said: Vec<Mark>,
        around: &Around<'a>,
        first: usize,
        drafts: &mut Drafts<'a>,
    ) {
        let (label, _) = self.exception_name(head, drafts);
        let bound = self.bound_to(head, around, first, drafts);
        let cite = format!("{} {label}", around.address);
        self.replace(bound, &label, &cite, case, instead, &said, head.span, drafts);
    }

    #[allow(clippy::too_many_arguments)]
    fn replace(
        &mut self,
        bound: Vec<usize>,
        label: &str,
        cite: &str,
        case: &'a ast::Clauses,
        instead: &'a ast::Clauses,
        said: &[Mark],
        span: Span,
        drafts: &mut Drafts<'a>,
    ) {
        let Some(sample) = bound.first().copied() else { return };
        let subject = drafts.all[sample].duty.subject;
        self.frames = vec![Frame { var: 0, thing: subject, slot: None }];
        self.cite = cite.to_string();
        let case_test = self.clauses(case, Side::Bind);
        let instead_test = self.clauses(instead, Side::Favour);
        let origin = self.origin(span.to(instead.span), said);
        for at in bound {
            if drafts.all[at].duty.subject != subject {
                self.other_subject(span, subject, drafts.all[at].duty.subject);
                continue;
            }
            let replacement = Replacement { label: label.to_string(), case: case_test, origin };
            drafts.all[at].replacements.push((case_test, instead_test, replacement));
        }
    }

    // -------------------------------------------------------------------------------------------- reaching elsewhere

    /// The drafts a number or name means, to any depth below it.
    fn targets(&mut self, to: &ast::Address, drafts: &Drafts<'a>) -> Vec<usize> {
        let found: Vec<usize> = drafts
            .all
            .iter()
            .enumerate()
            .filter(|(_, d)| below(&d.duty.address, &to.text) || d.duty.name == to.text)
            .map(|(at, _)| at)
            .collect();
        if found.is_empty() {
            let near = nearest(&to.text, drafts.all.iter().map(|d| d.duty.address.as_str())).map(str::to_string);
            let diagnostic = Diagnostic::error(Code::UnknownSection, format!("nothing is demanded at {}", to.text))
                .at(to.span, "no duty stands under this number");
            self.say(match near {
                Some(near) => diagnostic.help(format!("did you mean {near}?")),
                None => diagnostic.help("encode that section first"),
            });
        }
        found
    }

    fn reach(&mut self, reach: Reach<'a>, drafts: &mut Drafts<'a>) {
        match reach {
            Reach::Waives { around, to, case, marks: said, span } => {
                for at in self.targets(to, drafts) {
                    let Some(mut all) = self.reaching(&around, &drafts.all[at], span) else { continue };
                    if let Some(case) = case {
                        all.push(self.clauses(case, Side::Favour));
                    }
                    let case = self.all(all, span);
                    let origin = self.origin(span, &said);
                    let not = self.emit(Test::Not(case), span);
                    let applies = self.all(vec![drafts.all[at].duty.applies, not], span);
                    let duty = &mut drafts.all[at].duty;
                    duty.applies = applies;
                    let label = format!("waived by {}", around.address);
                    duty.waivers.push(Relief { label, name: around.name.clone(), case, test: case, origin });
                }
            }
            Reach::Lifts { around, to, clauses, marks: said, span } => {
                for at in self.targets(to, drafts) {
                    let Some(mut all) = self.reaching(&around, &drafts.all[at], span) else { continue };
                    all.push(self.clauses(clauses, Side::Favour));
                    let case = self.all(all, span);
                    let origin = self.origin(span, &said);
                    let label = format!("permitted by {}", around.address);
                    let relief = Relief { label, name: around.name.clone(), case, test: case, origin };
                    drafts.all[at].duty.reliefs.push(relief);
                }
            }
            Reach::Modifies { around, to, case, instead, marks: said, span } => {
                for at in self.targets(to, drafts) {
                    let subject = drafts.all[at].duty.subject;
                    if around.governs.is_some_and(|own| own != subject) {
                        self.other_subject(span, around.governs.unwrap_or(subject), subject);
                        continue;
                    }
                    let label = format!("modified by {}", around.address);
                    self.replace(vec![at], &label, &around.address, case, instead, &said, span, drafts);
                }
            }
        }
    }

    /// Opens the frame of a duty elsewhere and lowers the scope of the statement that reaches it.
    fn reaching(&mut self, around: &Around<'a>, draft: &Draft, span: Span) -> Option<Vec<TestId>> {
        let subject = draft.duty.subject;
        if let Some(own) = around.governs
            && own != subject
        {
            self.other_subject(span, own, subject);
            return None;
        }
        let inner = Around { governs: Some(subject), ..around.clone() };
        self.open(&inner, span).map(|(_, scopes)| scopes)
    }

    // -------------------------------------------------------------------------------------------- finishing

    fn finish(&mut self, mut drafts: Drafts<'a>) {
        for at in 0..drafts.all.len() {
            let draft = &mut drafts.all[at];
            let replacements = std::mem::take(&mut draft.replacements);
            if replacements.is_empty() {
                continue;
            }
            let (span, main) = (draft.span, draft.duty.asks);
            self.cite = draft.duty.address.clone();
            let cases: Vec<TestId> = replacements.iter().map(|(case, _, _)| *case).collect();
            let case = self.any(cases, span);
            let then = if let [(_, instead, _)] = replacements.as_slice() {
                *instead
            } else {
                let each = replacements
                    .iter()
                    .map(|(case, instead, _)| {
                        let not = self.emit(Test::Not(*case), span);
                        self.emit(Test::Any(Box::new([not, *instead])), span)
                    })
                    .collect();
                self.all(each, span)
            };
            let asks = self.emit(Test::Choose { case, then, otherwise: main }, span);
            let duty = &mut drafts.all[at].duty;
            duty.asks = asks;
            duty.replacements = replacements.into_iter().map(|(_, _, replacement)| replacement).collect();
        }
        self.take_credit(&drafts);
        self.program.duties = drafts.all.into_iter().map(|d| d.duty).collect();
    }

    /// Fills the kinds of members without credit: main text fails, no other exception holds, one that says so does.
    fn take_credit(&mut self, drafts: &Drafts<'a>) {
        for (section, thing, kind) in &drafts.lost {
            let mut any = Vec::new();
            let mut last = Span::default();
            for draft in &drafts.all {
                let positions: Vec<usize> =
                    draft.uncounted.iter().filter(|(_, to)| below(to, section)).map(|(at, _)| *at).collect();
                if draft.duty.subject != *thing || positions.is_empty() {
                    continue;
                }
                let span = draft.span;
                last = span;
                self.cite = draft.duty.address.clone();
                let reliefs = &draft.duty.reliefs;
                let those: Vec<TestId> = positions.iter().filter_map(|at| Some(reliefs.get(*at)?.test)).collect();
                let others: Vec<TestId> =
                    reliefs.iter().enumerate().filter(|(at, _)| !positions.contains(at)).map(|(_, r)| r.test).collect();
                let mut all = vec![draft.duty.applies];
                all.push(self.emit(Test::Not(draft.duty.asks), span));
                for other in others {
                    all.push(self.emit(Test::Not(other), span));
                }
                all.push(self.any(those, span));
                any.push(self.all(all, span));
            }
            let test = self.any(any, last);
            if let Some(kind) = self.program.kinds.get_mut(kind.index()) {
                kind.test = test;
            }
        }
    }
}

/// Whether one option of a reading says what the exception says is enough.
fn disputes(said: &Enough, reading: &ast::Reading) -> bool {
    let Enough::Labels(runs, _) = said else { return false };
    let texts = |runs: &[Vec<ast::Name>]| -> Vec<Vec<String>> {
        runs.iter().map(|run| run.iter().map(|label| label.text.to_string()).collect()).collect()
    };
    reading.options.iter().any(|option| match &option.says {
        ast::ReadingSays::Enough(own, _) => texts(own) == texts(runs),
        ast::ReadingSays::Items(_) | ast::ReadingSays::Value(_) => false,
    })
}

/// The list whose labelled lines are duties of their own.
fn split_list(kind: &ClauseKind, force: Force) -> Option<&ast::Items> {
    match (kind, force) {
        (ClauseKind::AllOf(items), Force::Requires | Force::IfProvided) => Some(items),
        // To prohibit any of several is to prohibit each.
        (ClauseKind::AnyOf(items), Force::Prohibits) => Some(items),
        _ => None,
    }
}

/// Whether a number lies at or below another: `250.118(5)(a)` below `250.118(5)`.
fn below(address: &str, under: &str) -> bool {
    address.strip_prefix(under).is_some_and(|rest| rest.is_empty() || rest.starts_with('('))
}

fn labelled(address: &str, labels: &[ast::Name]) -> String {
    let mut out = address.to_string();
    for label in labels {
        out.push_str(&format!("({})", label.text));
    }
    out
}

/// The marks of something finer: its own, or those around it. That nobody looked holds for all that stands inside.
fn finer(own: Vec<Mark>, around: &[Mark]) -> Vec<Mark> {
    if own.is_empty() {
        return around.to_vec();
    }
    around.iter().filter(|mark| matches!(mark, Mark::Unchecked(_))).cloned().chain(own).collect()
}

/// Marks that stand on lines of their own.
fn body_marks(body: &ast::Body) -> Vec<Mark> {
    body.statements.iter().filter(|s| matches!(s.kind, StatementKind::Marks)).flat_map(|s| marks(&s.marks)).collect()
}
