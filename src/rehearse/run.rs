//! A whole rehearsal: installations built, books opened, expectations held, claims heard, places disturbed.

use super::book::{Book, BookKey, Library};
use super::check::{Asked, Check};
use super::claim::{AskedOf, Known, Tally};
use super::disturb::{self, Disturbance, Extent, Part};
use super::shelf::{self, Placed, Shelf};
use super::stage::Stage;
use super::view::{
    ClaimResult, Disturbances, ExampleResult, Failure, Gap, Rehearsal, Rehearsed, Unnoticed, VERSION, Waived, Witness,
};
use crate::base::printed::printed_order;
use crate::base::source::{SourceId, Sources, Span};
use crate::diag::{Code, Diagnostic, Diagnostics};
use crate::eval::{By, Choices, Verdict};
use crate::facts;
use crate::facts::installation::Installation;
use crate::format;
use crate::ir::program::{DutyId, KindId, Program, TableId};
use crate::syntax::ast::{
    Address, Answer, Example, Expect, ExpectKind, FactValue, FactsFile, Name, PublishedTable, Rulebook, Said, Target,
    Whereabouts, YearSpan,
};
use std::collections::{BTreeMap, BTreeSet};

/// What is wanted of a rehearsal.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Wish {
    /// Examples and claims.
    Run,
    /// Also: which conditions, exceptions and table rows could be struck unnoticed.
    Gaps,
    /// Also: every disturbance.
    Disturb,
}

/// Runs all examples and claims of the rulebooks. `files` are facts handed in, by name: examples can be given as in them,
/// and claims are held against them too. `under` keeps to these books. Mistakes in examples are diagnostics; what could be run is run.
pub fn rehearse(
    sources: &Sources,
    trees: &[(SourceId, &Rulebook)],
    files: &[(String, FactsFile)],
    under: &[String],
    wish: Wish,
) -> (Rehearsal, Diagnostics) {
    let mut found = Diagnostics::new();
    let shelf = shelf::gather(trees, files, &mut found);
    let library = Library::new(sources, trees);
    let mut run = Run {
        sources,
        shelf: &shelf,
        library: &library,
        under,
        found,
        books: Vec::new(),
        opened: BTreeMap::new(),
        installations: Vec::new(),
        known: BTreeMap::new(),
        given_by: Vec::new(),
        checks: Vec::new(),
    };
    run.open_books();
    for (at, example) in shelf.examples.iter().enumerate() {
        run.example(at, example);
    }
    run.files();
    let rehearsal = run.all(wish);
    (rehearsal, run.once())
}

/// One way to vary what is given: fields with their values.
type Variation<'a> = Vec<(&'a Whereabouts, &'a FactValue, Span)>;

struct Run<'s, 'a> {
    sources: &'s Sources,
    shelf: &'s Shelf<'a>,
    library: &'s Library<'a>,
    under: &'s [String],
    found: Diagnostics,
    books: Vec<Book>,
    opened: BTreeMap<BookKey, usize>,
    /// Each with the position of its book.
    installations: Vec<(usize, Installation)>,
    /// By book, example and variation in words.
    known: BTreeMap<(usize, usize, String), Option<usize>>,
    /// What each installation is called.
    given_by: Vec<String>,
    checks: Vec<Check<'a>>,
}

impl<'a> Run<'_, 'a> {
    /// Diagnostics, each once: a mistake in an example shows in every book.
    fn once(&mut self) -> Diagnostics {
        let mut once: Vec<Diagnostic> = Vec::new();
        for diagnostic in std::mem::take(&mut self.found) {
            if !once.contains(&diagnostic) {
                once.push(diagnostic);
            }
        }
        let mut all = Diagnostics::new();
        once.into_iter().for_each(|d| all.push(d));
        all
    }

    fn wanted(&self, key: &BookKey) -> bool {
        self.under.is_empty() || self.under.iter().any(|name| *name == key.words() || *name == key.year)
    }

    /// Opens every book that an example or a claim asks for.
    fn open_books(&mut self) {
        let mut keys: BTreeSet<BookKey> = BTreeSet::new();
        let mut claims: BTreeMap<BookKey, Vec<(usize, &Placed<crate::syntax::ast::Claim>)>> = BTreeMap::new();
        let mut tables: BTreeMap<BookKey, Vec<&PublishedTable>> = BTreeMap::new();
        for example in &self.shelf.examples {
            let books = self.books_of(example);
            for expect in &example.item.expects {
                if let ExpectKind::Table(table) = &expect.kind {
                    books.iter().for_each(|key| tables.entry(key.clone()).or_default().push(table));
                }
            }
            keys.extend(books);
        }
        for (at, claim) in self.shelf.claims.iter().enumerate() {
            let under = claim.item.under.as_ref();
            let books = self.library.books(under, claim.family, claim.item.title.span, &mut self.found);
            for key in books {
                claims.entry(key).or_default().push((at, claim));
            }
        }
        keys.extend(claims.keys().cloned());
        for key in keys {
            if self.wanted(&key)
                && let Some(book) = self.library.open(
                    &key,
                    claims.get(&key).map_or(&[], Vec::as_slice),
                    tables.get(&key).map_or(&[], Vec::as_slice),
                    &mut self.found,
                )
            {
                self.opened.insert(key, self.books.len());
                self.books.push(book);
            }
        }
    }

    fn books_of(&mut self, example: &Placed<Example>) -> Vec<BookKey> {
        let under = example.item.under.as_ref();
        self.library.books(under, example.family, example.item.title.span, &mut self.found)
    }

    // -------------------------------------------------------------------------------------------- examples

    fn example(&mut self, at: usize, example: &Placed<'a, Example>) {
        if example.item.expects.is_empty() {
            self.found.push(
                Diagnostic::error(Code::ExpectsNothing, "an example expects nothing")
                    .at(example.item.title.span, "no `expect` in it")
                    .help("write `expect NUMBER of NAME: met`; facts that only others use are a `fixture`"),
            );
            return;
        }
        let mut stage = Stage { shelf: self.shelf, diagnostics: Diagnostics::new() };
        let file = stage.build(&example.item.givens);
        let broken = stage.diagnostics.has_errors();
        self.found.extend(stage.diagnostics);
        if broken {
            return;
        }
        for key in self.books_of(example) {
            if let Some(book) = self.opened.get(&key).copied() {
                self.under_book(at, example, &file, book);
            }
        }
    }

    fn under_book(&mut self, at: usize, example: &Placed<'a, Example>, file: &FactsFile, book: usize) {
        let mut spoken: BTreeSet<DutyId> = BTreeSet::new();
        let mut rests = Vec::new();
        for expect in &example.item.expects {
            if let ExpectKind::Table(table) = &expect.kind {
                self.table(at, file, book, table);
                continue;
            }
            match &expect.target {
                Some(Target::EverythingElse(within)) => rests.push((expect, within)),
                Some(Target::At(rule, of)) => {
                    let rule = Name { text: rule.text.clone(), span: rule.span };
                    spoken.extend(self.books.get(book).map(|b| b.duties(&rule.text)).unwrap_or_default());
                    self.expect(at, file, book, expect, &rule, of);
                }
                None => match example.section {
                    Some(section) => {
                        let rule = Name { text: section.into(), span: expect.span };
                        spoken.extend(self.books.get(book).map(|b| b.duties(section)).unwrap_or_default());
                        self.expect(at, file, book, expect, &rule, &[]);
                    }
                    None => self.found.push(
                        Diagnostic::error(Code::NoSuchTargetRule, "it is not said which rule this expects of")
                            .at(expect.span, "no section stands before the example")
                            .help("write `expect NUMBER with FIELD VALUE: met | …`"),
                    ),
                },
            }
        }
        for (expect, within) in rests {
            self.rest(at, file, book, expect, within, &spoken);
        }
    }

    /// The arms of an expectation that speak of a book.
    fn expect(&mut self, at: usize, file: &FactsFile, book: usize, expect: &'a Expect, rule: &Name, of: &[Name]) {
        for (variation, answer) in self.arms(book, expect) {
            let Some(installation) = self.installed(at, file, book, &variation) else { continue };
            let (Some(opened), Some((_, facts))) = (self.books.get(book), self.installations.get(installation)) else {
                continue;
            };
            let asked = match Asked::resolve(opened, facts, rule, of, answer.said) {
                Ok(asked) => asked,
                Err(diagnostic) => {
                    self.found.push(diagnostic);
                    continue;
                }
            };
            let choices = match chosen(&opened.program, answer) {
                Ok(choices) => choices,
                Err(diagnostic) => {
                    self.found.push(diagnostic);
                    continue;
                }
            };
            let of: String = of.iter().map(|n| format!(" of {}", n.text)).collect();
            let varied = told(&variation);
            let with = if varied.is_empty() { String::new() } else { format!(" with {varied}") };
            let words = format!("{}{of}{with}", rule.text);
            self.checks.push(Check { book, installation, asked, choices, answer, example: at, words, rest: false });
        }
    }

    /// A table of the book beside the same as published.
    fn table(&mut self, at: usize, file: &FactsFile, book: usize, table: &'a PublishedTable) {
        let Some(installation) = self.installed(at, file, book, &Vec::new()) else { return };
        let Some(asked) = self.books.get(book).and_then(|b| b.published.get(&table.span)) else { return };
        let (asked, words) = (asked.clone(), format!("table {}", table.address.text));
        let (choices, answer) = match self.books.get(book) {
            Some(opened) => (Choices::none(&opened.program), &table.answer),
            None => return,
        };
        self.checks.push(Check { book, installation, asked, choices, answer, example: at, words, rest: false });
    }

    fn rest(
        &mut self,
        at: usize,
        file: &FactsFile,
        book: usize,
        expect: &'a Expect,
        within: &[Address],
        spoken: &BTreeSet<DutyId>,
    ) {
        for (variation, answer) in self.arms(book, expect) {
            let Some(installation) = self.installed(at, file, book, &variation) else { continue };
            let (Some(opened), Some((_, facts))) = (self.books.get(book), self.installations.get(installation)) else {
                continue;
            };
            let asked = Asked::rest(&opened.program, facts, within, spoken);
            let choices = match chosen(&opened.program, answer) {
                Ok(choices) => choices,
                Err(diagnostic) => {
                    self.found.push(diagnostic);
                    continue;
                }
            };
            let words = "everything else".to_string();
            self.checks.push(Check { book, installation, asked, choices, answer, example: at, words, rest: true });
        }
    }

    fn arms(&mut self, book: usize, expect: &'a Expect) -> Vec<(Variation<'a>, &'a Answer)> {
        let mut arms: Vec<(Variation<'a>, &'a Answer)> = Vec::new();
        match &expect.kind {
            ExpectKind::Plain(all) => {
                let spans: Vec<Option<&YearSpan>> = all.iter().map(|(years, _)| years.as_ref()).collect();
                let speaks = self.speaking(book, &spans);
                arms.extend(all.iter().zip(speaks).filter(|(_, s)| *s).map(|((_, answer), _)| (Vec::new(), answer)));
            }
            ExpectKind::Table(_) => {}
            ExpectKind::Varied(place, all) => {
                arms.extend(all.iter().map(|(value, span, answer)| (vec![(place, value, *span)], answer)));
            }
            ExpectKind::Grid { fields, answers, rows } => {
                let spans: Vec<Option<&YearSpan>> = answers.iter().map(Option::as_ref).collect();
                let speaks = self.speaking(book, &spans);
                for row in rows {
                    let values = fields.iter().zip(&row.values);
                    let variation: Variation =
                        values.filter_map(|(field, (value, span))| Some((field, value.as_ref()?, *span))).collect();
                    let speaking = row.answers.iter().zip(&speaks).filter(|(_, s)| **s);
                    arms.extend(speaking.map(|(answer, _)| (variation.clone(), answer)));
                }
            }
        }
        arms
    }

    /// Which arms speak of a book: those that name its year, or where none does those that name no year.
    fn speaking(&mut self, book: usize, spans: &[Option<&YearSpan>]) -> Vec<bool> {
        match self.books.get(book) {
            Some(opened) => speaking(self.library, &opened.key, spans, &mut self.found),
            None => Vec::new(),
        }
    }

    /// The installation of an example with some values varied; none if the facts are wrong.
    fn installed(&mut self, at: usize, file: &FactsFile, book: usize, variation: &Variation) -> Option<usize> {
        let words = told(variation);
        let key = (book, at, words.clone());
        if let Some(known) = self.known.get(&key) {
            return *known;
        }
        let mut stage = Stage { shelf: self.shelf, diagnostics: Diagnostics::new() };
        let mut varied = file.clone();
        for (place, value, span) in variation {
            stage.but(&mut varied, place, value, *span);
        }
        let mut mistakes = stage.diagnostics;
        let mut made = None;
        if !mistakes.has_errors() {
            let schema = &self.books.get(book)?.program.schema;
            let (installation, more) = facts::install(schema, &[&varied]);
            mistakes.extend(more);
            if !mistakes.has_errors() {
                made = Some(self.installations.len());
                self.installations.push((book, installation));
                let title = self.shelf.examples.get(at).map_or("", |e| e.item.title.text.as_str());
                self.given_by.push(match words.is_empty() {
                    true => format!("\"{title}\""),
                    false => format!("\"{title}\" with {words}"),
                });
            }
        }
        self.found.extend(mistakes);
        self.known.insert(key, made);
        made
    }

    /// Facts handed in: installations for claims, with nothing expected of them.
    fn files(&mut self) {
        for (book, opened) in self.books.iter().enumerate() {
            for (name, file) in &self.shelf.files {
                let (installation, mistakes) = facts::install(&opened.program.schema, &[file]);
                if !mistakes.has_errors() {
                    self.installations.push((book, installation));
                    self.given_by.push((*name).to_string());
                }
                self.found.extend(mistakes);
            }
        }
    }

    // -------------------------------------------------------------------------------------------- what comes out

    fn all(&mut self, wish: Wish) -> Rehearsal {
        let examples = self.examples();
        let claims = self.claims();
        let well = examples.iter().all(|e| e.failures.is_empty());
        let settled = claims.iter().flat_map(|c| &c.under).all(|w| w.as_expected);
        let rules = self.rules();
        let (gaps, disturbances) = match wish {
            Wish::Run => (None, None),
            Wish::Gaps => (Some(self.gaps()), None),
            Wish::Disturb => (None, Some(self.disturbances())),
        };
        Rehearsal {
            version: VERSION,
            books: self.books.iter().map(|b| b.key.words()).collect(),
            examples,
            claims,
            rules,
            gaps,
            disturbances,
            as_expected: well && settled,
            caution: "An example shows that the rules say what their writer meant, not that the writer is right: rules are \
                      paraphrased, and the adopted text governs. A claim that nothing contradicts is not thereby proved."
                .to_string(),
        }
    }

    fn place(&self, span: Span) -> String {
        let (line, _) = self.sources.line_column(span.source, span.start);
        format!("{}:{line}", self.sources.get(span.source).map_or("", |s| s.name.as_str()))
    }

    fn examples(&self) -> Vec<ExampleResult> {
        let mut all: Vec<ExampleResult> = (self.shelf.examples.iter())
            .map(|example| ExampleResult {
                title: example.item.title.text.to_string(),
                place: self.place(example.item.title.span),
                under: Vec::new(),
                checks: 0,
                failures: Vec::new(),
            })
            .collect();
        for check in &self.checks {
            let (Some(book), Some((_, facts)), Some(result)) =
                (self.books.get(check.book), self.installations.get(check.installation), all.get_mut(check.example))
            else {
                continue;
            };
            result.checks += 1;
            let name = book.key.words();
            if !result.under.contains(&name) {
                result.under.push(name);
            }
            if let Some(got) = check.differs(&book.program, facts) {
                let rule = match &check.asked {
                    Asked::Duties(duties) if !check.rest => duties.first().and_then(|(duty, _, _)| {
                        let duty = book.program.duties.get(duty.index())?;
                        Some(self.place(book.program.origin(duty.origin).span))
                    }),
                    Asked::Standing(kind, _) => {
                        let kind = book.program.kinds.get(kind.index());
                        kind.map(|kind| self.place(book.program.origin(kind.origin).span))
                    }
                    Asked::Table(table, _) => {
                        let table = book.program.tables.get(table.index());
                        table.map(|table| self.place(book.program.origin(table.origin).span))
                    }
                    Asked::Duties(_) | Asked::Nothing => None,
                };
                result.failures.push(Failure {
                    under: book.key.words(),
                    asked: check.words.clone(),
                    expected: match &check.asked {
                        Asked::Table(..) => "as published".to_string(),
                        Asked::Duties(_) | Asked::Standing(..) | Asked::Nothing => {
                            self.sources.slice(check.answer.span).to_string()
                        }
                    },
                    got,
                    place: self.place(check.answer.span),
                    rule,
                });
            }
        }
        all.retain(|example| example.checks > 0);
        all
    }

    fn claims(&mut self) -> Vec<ClaimResult> {
        let mut all = Vec::new();
        let mut known = Known::new();
        for (at, placed) in self.shelf.claims.iter().enumerate() {
            let claim = placed.item;
            let mut under = Vec::new();
            for (position, book) in self.books.iter().enumerate() {
                let Some(kinds) = book.claims.get(&at).copied() else { continue };
                let mut tally = Tally::default();
                let duties = book.duties(&claim.rule.text);
                let asked = AskedOf { book, claim, duties: &duties, kinds };
                for (number, (of, facts)) in self.installations.iter().enumerate() {
                    if *of == position {
                        tally.hear(&asked, number, facts, &mut known);
                    }
                }
                let answer = tally.answer(claim);
                let spans: Vec<Option<&YearSpan>> = claim.expects.iter().map(|(years, ..)| years.as_ref()).collect();
                let speaks = speaking(self.library, &book.key, &spans, &mut self.found);
                let expected = claim.expects.iter().zip(speaks).find(|(_, s)| *s).map(|((_, answer, _), _)| *answer);
                let witness = tally
                    .witness
                    .and_then(|(number, thing)| self.given_by.get(number).map(|title| format!("{thing} in {title}")));
                under.push(Witness {
                    book: book.key.words(),
                    answer: answer.words().to_string(),
                    expected: expected.map(|e| e.words().to_string()),
                    as_expected: expected.is_none_or(|e| e == answer),
                    supporting: tally.supporting,
                    contradicting: tally.contradicting,
                    open: tally.open,
                    witness,
                });
            }
            let mut statement =
                format!("{} {} {}", claim.rule.text, claim.verb.words(), format::line::clauses(&claim.says));
            if let Some(only) = &claim.only {
                statement.push_str(&format!(", only where {}", format::line::clauses(only)));
            }
            let place = self.place(claim.title.span);
            if !under.is_empty() {
                all.push(ClaimResult { title: claim.title.text.to_string(), statement, place, under });
            }
        }
        all
    }

    /// What expectations say of each rule.
    fn rules(&self) -> Vec<Rehearsed> {
        let mut said: BTreeMap<String, (String, BTreeSet<String>)> = BTreeMap::new();
        for book in &self.books {
            for duty in &book.program.duties {
                said.entry(duty.address.clone()).or_insert_with(|| (duty.title.clone(), BTreeSet::new()));
            }
        }
        for check in self.checks.iter().filter(|c| !c.rest) {
            let (Some(book), Some((_, facts))) =
                (self.books.get(check.book), self.installations.get(check.installation))
            else {
                continue;
            };
            for finding in check.asked.got(&book.program, facts, &check.choices).findings {
                let Some(duty) = book.program.duties.get(finding.duty.index()) else { continue };
                let words = match (finding.outcome.verdict, finding.outcome.by) {
                    (Verdict::Met, Some(By::Relief(at))) => {
                        format!("met by {}", duty.reliefs.get(at).map_or("", |r| r.label.as_str()))
                    }
                    (Verdict::Met, _) => "met".to_string(),
                    (Verdict::NotMet, _) => "not met".to_string(),
                    (Verdict::NotApplicable, _) => "not applicable".to_string(),
                    (Verdict::Undecided, _) => "undecided".to_string(),
                    (Verdict::ForTheAuthority, _) => "for the authority".to_string(),
                };
                if let Some((_, verdicts)) = said.get_mut(&duty.address) {
                    verdicts.insert(words);
                }
            }
        }
        let mut all: Vec<Rehearsed> = said
            .into_iter()
            .map(|(rule, (title, verdicts))| Rehearsed { rule, title, verdicts: verdicts.into_iter().collect() })
            .collect();
        all.sort_by_cached_key(|r| printed_order(&r.rule));
        all
    }

    // -------------------------------------------------------------------------------------------- disturbances

    fn gaps(&mut self) -> Vec<Gap> {
        let bent = self.disturb(Extent::Strikes);
        let mut gaps: Vec<Gap> = (bent.unnoticed.into_iter())
            .filter(|(told, part)| *part != Part::Other && self.waiver(told).is_none())
            .map(|(told, part)| Gap {
                at: told.at,
                part: part.words().to_string(),
                words: told.words,
                under: told.under,
            })
            .collect();
        gaps.sort_by_cached_key(|g| printed_order(&g.at));
        gaps
    }

    /// The waiver of a disturbance: its reason, and the positions of its list and its line.
    fn waiver(&self, told: &Unnoticed) -> Option<(&'a str, (usize, usize))> {
        let words = format!("`{}` {}", told.words, told.done);
        let lists = self.shelf.survives.iter().enumerate();
        lists
            .flat_map(|(list, survives)| {
                survives.places.iter().enumerate().map(move |(line, p)| (list, line, *survives, p))
            })
            .find(|(_, _, _, (place, part))| {
                let rest = told.at.strip_prefix(place.text.as_str());
                rest.is_some_and(|rest| rest.is_empty() || rest.starts_with('('))
                    && part.as_ref().is_none_or(|part| words.contains(part.text.as_str()))
            })
            .map(|(list, line, survives, _)| (survives.reason.text.as_str(), (list, line)))
    }

    fn disturbances(&mut self) -> Disturbances {
        let bent = self.disturb(Extent::All);
        let (mut left, mut waived, mut used) = (Vec::new(), Vec::new(), BTreeSet::new());
        for (disturbance, _) in bent.unnoticed {
            match self.waiver(&disturbance) {
                Some((reason, line)) => {
                    used.insert(line);
                    waived.push(Waived { disturbance, reason: reason.to_string() });
                }
                None => left.push(disturbance),
            }
        }
        let mut idle = Vec::new();
        for (list, survives) in self.shelf.survives.iter().enumerate() {
            for (line, (place, _)) in survives.places.iter().enumerate() {
                if !used.contains(&(list, line)) {
                    idle.push(format!("{}  {}", place.text, self.place(place.span)));
                }
            }
        }
        Disturbances {
            tried: bent.under.iter().map(|(_, tried, _)| tried).sum(),
            noticed: bent.under.iter().map(|(_, _, noticed)| noticed).sum(),
            under: bent.under,
            files: bent.files.into_iter().map(|(file, (tried, noticed))| (file, tried, noticed)).collect(),
            unnoticed: left,
            waived,
            idle_waivers: idle,
        }
    }

    /// Bends every book; what nobody noticed, with the books in which nobody did.
    fn disturb(&mut self, extent: Extent) -> Bent {
        let mut bent = Bent::default();
        let mut unnoticed: BTreeMap<(Span, String, String), (Unnoticed, Part)> = BTreeMap::new();
        for at in 0..self.books.len() {
            let watch = Watch::of(self, at);
            let Some(book) = self.books.get(at) else { continue };
            let name = book.key.words();
            let mut program = book.program.clone();
            let all = disturb::all(&mut program, extent, &watch.kinds, &watch.tables.keys().copied().collect());
            let (mut tried, mut noticed) = (0, 0);
            for disturbance in &all {
                let file = self.sources.get(disturbance.span.source).map_or("", |s| s.name.as_str());
                let of_file = bent.files.entry(file.to_string()).or_default();
                tried += 1;
                of_file.0 += 1;
                if self.is_noticed(&mut program, disturbance, &watch) {
                    noticed += 1;
                    of_file.1 += 1;
                    continue;
                }
                let key = (disturbance.span, disturbance.done.clone(), disturbance.words.clone());
                let entry = unnoticed.entry(key).or_insert_with(|| {
                    let told = Unnoticed {
                        at: disturbance.at.clone(),
                        done: disturbance.done.clone(),
                        words: disturbance.words.clone(),
                        place: self.place(disturbance.span),
                        under: Vec::new(),
                    };
                    (told, disturbance.part)
                });
                entry.0.under.push(name.clone());
            }
            bent.under.push((name, tried, noticed));
        }
        bent.unnoticed = unnoticed.into_values().collect();
        bent
    }

    fn is_noticed(&self, program: &mut Program, disturbance: &Disturbance, watch: &Watch) -> bool {
        let mut asked: BTreeSet<usize> = BTreeSet::new();
        for duty in &disturbance.duties {
            asked.extend(watch.duties.get(duty).into_iter().flatten());
        }
        for kind in &disturbance.kinds {
            asked.extend(watch.standings.get(kind).into_iter().flatten());
        }
        for table in disturbance.tables() {
            asked.extend(watch.tables.get(&table).into_iter().flatten());
        }
        let sharp = asked.iter().filter_map(|at| self.checks.get(*at));
        let blunt = watch.rests.iter().filter_map(|at| self.checks.get(*at));
        disturbance.during(program, |program| {
            let facts = |check: &Check| self.installations.get(check.installation).map(|(_, facts)| facts);
            sharp.into_iter().any(|check| facts(check).is_some_and(|facts| !check.is_well(program, facts)))
                || blunt.into_iter().any(|check| {
                    facts(check).is_some_and(|facts| !check.is_well_for(program, facts, &disturbance.duties))
                })
        })
    }
}

/// What became of disturbances.
#[derive(Default)]
struct Bent {
    /// For each book: tried and noticed.
    under: Vec<(String, usize, usize)>,
    /// For each file of rules: tried and noticed.
    files: BTreeMap<String, (usize, usize)>,
    unnoticed: Vec<(Unnoticed, Part)>,
}

/// Which expectations, all of them borne out so far, watch what in one book.
#[derive(Default)]
struct Watch {
    duties: BTreeMap<DutyId, Vec<usize>>,
    standings: BTreeMap<KindId, Vec<usize>>,
    tables: BTreeMap<TableId, Vec<usize>>,
    kinds: BTreeSet<KindId>,
    rests: Vec<usize>,
}

impl Watch {
    fn of(run: &Run, book: usize) -> Watch {
        let mut watch = Watch::default();
        let Some(opened) = run.books.get(book) else { return watch };
        for (at, check) in run.checks.iter().enumerate().filter(|(_, c)| c.book == book) {
            let Some((_, facts)) = run.installations.get(check.installation) else { continue };
            if !check.is_well(&opened.program, facts) {
                continue;
            }
            match &check.asked {
                Asked::Nothing => {}
                Asked::Table(table, _) => watch.tables.entry(*table).or_default().push(at),
                Asked::Duties(_) if check.rest => watch.rests.push(at),
                Asked::Duties(all) => {
                    for (duty, _, _) in all {
                        let watching = watch.duties.entry(*duty).or_default();
                        if watching.last() != Some(&at) {
                            watching.push(at);
                        }
                    }
                }
                Asked::Standing(kind, _) => {
                    watch.standings.entry(*kind).or_default().push(at);
                    watch.kinds.insert(*kind);
                }
            }
        }
        watch
    }
}

fn speaking(library: &Library, key: &BookKey, spans: &[Option<&YearSpan>], found: &mut Diagnostics) -> Vec<bool> {
    let mut named = |span: &YearSpan| library.spanned(&key.family, span, found).contains(&key.year);
    let own: Vec<Option<bool>> = spans.iter().map(|span| span.map(&mut named)).collect();
    let any = own.contains(&Some(true));
    own.into_iter().map(|own| own.unwrap_or(!any)).collect()
}

/// A variation in words.
fn told(variation: &Variation) -> String {
    let one = |(place, value, _): &(&Whereabouts, &FactValue, Span)| {
        format!("{} {}", place.words(), format::facts::fact_value(value))
    };
    variation.iter().map(one).collect::<Vec<_>>().join(", ")
}

/// The reading an answer is expected under.
fn chosen(program: &Program, answer: &Answer) -> Result<Choices, Diagnostic> {
    let mut choices = Choices::none(program);
    let Some((option, reading)) = &answer.reading else { return Ok(choices) };
    let mut found = Vec::new();
    for (at, known) in program.readings.iter().enumerate() {
        if reading.as_ref().is_none_or(|name| name.text == known.name)
            && let Some(option) = known.options.iter().position(|(name, _)| *name == option.text)
        {
            found.push((at, option, known.name.as_str()));
        }
    }
    match found.as_slice() {
        [(at, option, _)] => {
            choices.set(*at, *option);
            Ok(choices)
        }
        [] => {
            let title = format!("no disputed text of {} has a reading `{}`", program.edition, option.text);
            let known: Vec<&str> =
                program.readings.iter().flat_map(|r| r.options.iter().map(|(name, _)| name.as_str())).collect();
            let diagnostic = Diagnostic::error(Code::UnknownReading, title).at(option.span, "not known");
            Err(match crate::diag::nearest(&option.text, known.iter().copied()) {
                Some(near) => diagnostic.help(format!("did you mean `{near}`?")),
                None => diagnostic.help("name an option of a `reading`"),
            })
        }
        several => {
            let all: Vec<String> =
                several.iter().map(|(_, _, name)| format!("`as {} of {name}`", option.text)).collect();
            let title = format!("several disputed texts have a reading `{}`", option.text);
            Err(Diagnostic::error(Code::UnknownReading, title)
                .at(option.span, "which one?")
                .help(format!("write {}", all.join(" or "))))
        }
    }
}

impl Check<'_> {
    /// The same as [`Check::is_well`] where only these duties can have changed.
    fn is_well_for(&self, program: &Program, facts: &Installation, changed: &BTreeSet<DutyId>) -> bool {
        let Asked::Duties(all) = &self.asked else { return self.is_well(program, facts) };
        if self.answer.said != Said::NoViolation {
            return self.is_well(program, facts);
        }
        let some = all.iter().filter(|(duty, _, _)| changed.contains(duty)).copied().collect();
        let got = Asked::Duties(some).got(program, facts, &self.choices);
        matches!(got.said, Said::Met | Said::NotApplicable)
    }
}
