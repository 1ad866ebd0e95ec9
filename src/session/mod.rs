//! The façade: texts in, diagnostics and results out. Every front stands on this and on nothing else.
//!
//! No I/O: texts are handed in as bytes with a name, and nothing is printed. The session keeps all texts, so that
//! diagnostics and results can point into them.

mod past;
mod places;
mod shipped;
mod side_by_side;

pub use places::Asked;
pub use shipped::{EXAMPLES, RULEBOOKS};

use crate::base::source::{SourceId, Sources};
use crate::carry::{self, Carried, Journey};
use crate::compare::{Dates, Overlay, Window};
use crate::diag::{Code, Diagnostic, Diagnostics, nearest};
use crate::edition::{self, BaseSet, Composed};
pub use crate::eval::Choices;
use crate::facts::installation::Installation;
pub use crate::ir::program::Program;
use crate::ir::schema::{Schema, ThingId};
use crate::rehearse::{self, Rehearsal, Wish};
use crate::report::Worksheets;
use crate::review::Review;
use crate::sema::{self, Book, Figured};
pub use crate::syntax::ast::FactsFile;
use crate::syntax::ast::{
    ChangeKind, ChangeSet, DateSide, EditionName, EntryValue, FactItem, FactRange, FactTerm, FactValue, Figure, Name,
    Rulebook,
};
use crate::syntax::{self};
use crate::tidy;

/// Loaded rulebooks and the texts of everything read so far.
#[derive(Debug, Clone, Default)]
pub struct Session {
    sources: Sources,
    books: Vec<(SourceId, Rulebook)>,
}

/// How facts are spelt.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum FactsForm {
    /// The native form.
    Native,
    /// JSON with the same names.
    Json,
}

/// The name of a book, taken apart.
struct BookName {
    family: String,
    year: String,
    with: Vec<String>,
}

impl BookName {
    /// `nec 2020 in the second printing with harbor-2021`; a printing brings the documents that it holds.
    fn parse(under: &str, books: &[(SourceId, &Rulebook)]) -> BookName {
        let (edition, with) = under.split_once(" with ").unwrap_or((under, ""));
        let printing = edition.strip_suffix(" printing").and_then(|rest| rest.rsplit_once(" in the "));
        let mut words = printing.map_or(edition, |(edition, _)| edition).trim_end_matches(',').split_whitespace();
        let family = words.next().unwrap_or("").to_string();
        let year = words.collect::<Vec<_>>().join("-");
        let mut all: Vec<String> =
            printing.map(|(_, word)| edition::printed_with(books, &family, &year, word.trim())).unwrap_or_default();
        for name in with.split(',').map(str::trim).filter(|name| !name.is_empty()) {
            if !all.iter().any(|known| known == name) {
                all.push(name.to_string());
            }
        }
        BookName { family, year, with: all }
    }
}

impl FactsForm {
    /// By the file's name, and for a nameless text by its first character.
    pub fn guess(name: &str, text: &[u8]) -> FactsForm {
        let first = text.iter().find(|b| !b.is_ascii_whitespace());
        if name.ends_with(".json") || (!name.ends_with(".facts") && first == Some(&b'{')) {
            FactsForm::Json
        } else {
            FactsForm::Native
        }
    }
}

impl Session {
    /// A session with nothing loaded.
    pub fn empty() -> Session {
        Session::default()
    }

    /// A session with the shipped rulebooks.
    pub fn shipped() -> (Session, Diagnostics) {
        let mut session = Session::empty();
        let files = RULEBOOKS.iter().map(|(name, text)| (format!("rulebooks/{name}"), text.as_bytes().to_vec()));
        let diagnostics = session.add_rulebooks(files.collect());
        (session, diagnostics)
    }

    /// Adds the examples and claims that are shipped beside the rulebooks. Inspections do not need them.
    pub fn add_shipped_examples(&mut self) -> Diagnostics {
        let mut diagnostics = Diagnostics::new();
        for (name, text) in EXAMPLES {
            diagnostics.extend(self.add_rulebook(&format!("rulebooks/{name}"), text.as_bytes().to_vec()));
        }
        diagnostics
    }

    /// Runs the examples and claims of everything loaded. `files` are facts read before, by the name examples call them;
    /// `under` keeps to the books named, all if empty.
    pub fn rehearse(&self, files: &[(String, FactsFile)], under: &[String], wish: Wish) -> (Rehearsal, Diagnostics) {
        rehearse::rehearse(&self.sources, &self.trees(), files, under, wish)
    }

    /// The text as it should stand, whatever it is called; nothing, beside the mistakes, if it does not read or cannot be laid
    /// out safely. It is kept for showing only and adds no rule. Without a kind, the text itself tells.
    pub fn tidy(&mut self, name: &str, bytes: Vec<u8>, kind: Option<tidy::Kind>) -> (Option<String>, Diagnostics) {
        let id = match self.keep(name, bytes) {
            Ok(id) => id,
            Err(diagnostic) => return (None, Diagnostics::from_iter([diagnostic])),
        };
        let text = self.sources.get(id).map_or("", |source| source.text.as_str());
        kind.unwrap_or_else(|| tidy::Kind::of_text(text)).tidy(id, text)
    }

    /// Looks for what can be run and probably does not say what was meant, in the books named in `under`, in all if it is
    /// empty. Books that cannot be opened are told of, and nothing is found then.
    pub fn review(&self, under: &[String]) -> (Review, Diagnostics) {
        crate::review::review(&self.sources, &self.trees(), under)
    }

    /// All texts read so far.
    pub fn sources(&self) -> &Sources {
        &self.sources
    }

    /// Keeps a text; bytes that are not UTF-8 are a diagnostic.
    fn keep(&mut self, name: &str, bytes: Vec<u8>) -> Result<SourceId, Diagnostic> {
        let id = SourceId(u32::try_from(self.sources.len()).unwrap_or(u32::MAX));
        match syntax::decode(id, bytes) {
            Ok(text) => Ok(self.sources.add(name, text)),
            Err((lossy, diagnostic)) => {
                self.sources.add(name, lossy);
                Err(diagnostic)
            }
        }
    }

    /// Reads and keeps a rulebook. What could be read is kept even where mistakes are reported.
    pub fn add_rulebook(&mut self, name: &str, bytes: Vec<u8>) -> Diagnostics {
        self.add_rulebooks(vec![(name.to_string(), bytes)])
    }

    /// Reads and keeps rulebooks, given by name and bytes, several at a time. The outcome does not depend on which is read
    /// first; mistakes come in the order of the files, those of texts that are not UTF-8 first.
    pub fn add_rulebooks(&mut self, files: Vec<(String, Vec<u8>)>) -> Diagnostics {
        let mut diagnostics = Diagnostics::new();
        let mut ids = Vec::new();
        for (name, bytes) in files {
            match self.keep(&name, bytes) {
                Ok(id) => ids.push(id),
                Err(diagnostic) => diagnostics.push(diagnostic),
            }
        }
        for (id, (tree, more)) in ids.iter().zip(side_by_side::each(&ids, |id| {
            let (parsed, diagnostics) =
                syntax::parse_rulebook(*id, self.sources.get(*id).map_or("", |s| s.text.as_str()));
            (parsed.tree, diagnostics)
        })) {
            self.books.push((*id, tree));
            diagnostics.extend(more);
        }
        diagnostics
    }

    fn trees(&self) -> Vec<(SourceId, &Rulebook)> {
        self.books.iter().map(|(id, book)| (*id, book)).collect()
    }

    /// Keeps a text that is neither rulebook nor facts of its own, such as a line typed in a trial, to point into it.
    pub fn note(&mut self, name: &str, text: &str) -> SourceId {
        self.sources.add(name, text)
    }

    /// Forgets the texts kept since there were `texts` of them. Rulebooks read meanwhile are forgotten too.
    pub fn forget_since(&mut self, texts: usize) {
        self.sources.truncate(texts);
        self.books.retain(|(id, _)| (id.0 as usize) < texts);
    }

    /// The editions that can be opened with some rulebooks on top of the loaded ones.
    pub fn editions_over(&self, over: &[(SourceId, &Rulebook)]) -> Vec<Book> {
        sema::editions(&self.trees_over(over))
    }

    pub(crate) fn trees_over<'s>(&'s self, over: &[(SourceId, &'s Rulebook)]) -> Vec<(SourceId, &'s Rulebook)> {
        self.books.iter().map(|(id, book)| (*id, book)).chain(over.iter().copied()).collect()
    }

    /// Composes and opens a book with some rulebooks on top of the loaded ones.
    pub fn open_over(&self, under: &str, over: &[(SourceId, &Rulebook)]) -> (Composed, Program, Diagnostics) {
        let mut diagnostics = Diagnostics::new();
        let name = BookName::parse(under, &self.trees());
        let trees = self.trees_over(over);
        let with: Vec<&str> = name.with.iter().map(String::as_str).collect();
        let composed = edition::compose(&trees, &name.family, &name.year, &with, &mut diagnostics);
        let (program, more) = sema::lower(&self.sources, &trees, &composed, &name.family, &name.year);
        diagnostics.extend(more);
        (composed, program, diagnostics)
    }

    /// Composes and opens the book of a place, amendments written against what it comes to on top of it.
    pub fn open_tried(
        &self,
        base: &BaseSet,
        tried: &[&str],
        over: &[(SourceId, &Rulebook)],
    ) -> (Composed, Program, Diagnostics) {
        let mut diagnostics = Diagnostics::new();
        let trees = self.trees_over(over);
        let composed = edition::compose_tried(&trees, base, tried, &mut diagnostics);
        let (program, more) = sema::lower(&self.sources, &trees, &composed, &base.family, &base.year);
        diagnostics.extend(more);
        (composed, program, diagnostics)
    }

    /// Lowers what is to be figured beside a book that [`Session::open_over`] opened: names mean what they mean there for
    /// a thing of the given kind.
    pub fn figure_over(
        &self,
        under: &str,
        over: &[(SourceId, &Rulebook)],
        composed: &Composed,
        thing: ThingId,
        figure: &Figure,
    ) -> (Program, Option<Figured>, Diagnostics) {
        let name = BookName::parse(under, &self.trees());
        let trees = self.trees_over(over);
        sema::figure(&self.sources, &trees, composed, (&name.family, &name.year), thing, figure)
    }

    /// The editions that can be opened.
    pub fn editions(&self) -> Vec<Book> {
        sema::editions(&self.trees())
    }

    /// Composes a book by its name: an edition such as `nec 2017`, perhaps with amendments on top, as in
    /// `nec 2020 with tia-20-1, harbor-2021`. The amendments are applied whether or not their window holds; see
    /// [`Session::govern_named`].
    pub fn compose(&self, under: &str) -> (Composed, Diagnostics) {
        let mut diagnostics = Diagnostics::new();
        let name = BookName::parse(under, &self.trees());
        let with: Vec<&str> = name.with.iter().map(String::as_str).collect();
        let composed = edition::compose(&self.trees(), &name.family, &name.year, &with, &mut diagnostics);
        (composed, diagnostics)
    }

    /// Carries an amendment to a book such as `nec 2023`, from the edition it was written against. Where one name has been
    /// written against several editions, the latest before that book's counts.
    pub fn carry(&self, amendment: &str, to: &str) -> (Option<Carried>, Diagnostics) {
        let mut diagnostics = Diagnostics::new();
        let trees = self.trees();
        let name = BookName::parse(to, &trees);
        let with: Vec<&str> = name.with.iter().map(String::as_str).collect();
        let target = edition::compose(&trees, &name.family, &name.year, &with, &mut diagnostics);
        let known = self.editions();
        if !known.iter().any(|b| b.family == name.family && b.year == name.year) {
            let names: Vec<String> = known.iter().map(|b| format!("{} {}", b.family, b.year)).collect();
            let near = nearest(to, names.iter().map(String::as_str)).map(str::to_string);
            let diagnostic = Diagnostic::error(Code::NoSuchEdition, format!("there is no edition `{to}`"));
            diagnostics.push(match near {
                Some(near) => diagnostic.help(format!("did you mean `{near}`?")),
                None => diagnostic.help("load it with --rules"),
            });
        }
        let chain = edition::chain(&trees, &name.family, &name.year);
        let place = |set: &ChangeSet| {
            let base = set.base.as_ref()?;
            chain.iter().position(|(family, year)| base.family.text == family && base.year.text == year)
        };
        let sets = edition::amendments_named(&trees, amendment);
        let Some(set) = sets.iter().copied().max_by_key(|set| place(set)) else {
            let all: Vec<&str> = edition::amendments(&trees).iter().map(|set| set.name.text.as_str()).collect();
            let diagnostic = Diagnostic::error(Code::NoSuchChanges, format!("there is no amendment `{amendment}`"));
            diagnostics.push(match nearest(amendment, all.iter().copied()) {
                Some(near) => diagnostic.help(format!("did you mean `{near}`?")),
                None if all.is_empty() => diagnostic.help("no amendment is loaded; name the file it stands in"),
                None => diagnostic.help(format!("loaded: {}", all.join(", "))),
            });
            return (None, diagnostics);
        };
        let from = match &set.base {
            Some(base) => edition::compose(&trees, &base.family.text, &base.year.text, &[], &mut diagnostics),
            None => target.clone(),
        };
        if diagnostics.has_errors() {
            return (None, diagnostics);
        }
        let between: Vec<Composed> = chain
            .iter()
            .skip(place(set).map_or(chain.len(), |at| at + 1))
            .map(|(family, year)| edition::compose(&trees, family, year, &[], &mut Diagnostics::new()))
            .collect();
        let span = set.base.as_ref().map_or(set.span, |base| base.family.span.to(base.year.span));
        let word = |text: &str| Name { text: text.into(), span };
        let journey = Journey {
            books: &trees,
            set,
            from: &from,
            to: &target,
            base: EditionName { family: word(&name.family), year: word(&name.year) },
            between: &between,
        };
        let (carried, more) = carry::carry(&journey);
        let carried = carried.map(|mut carried| {
            if set.base.is_none() {
                carried.from.clear();
            }
            for operation in &mut carried.operations {
                let (line, _) = self.sources.line_column(operation.span.source, operation.span.start);
                let file = self.sources.get(operation.span.source).map_or("", |s| s.name.as_str());
                operation.place = format!("{file}:{line}");
            }
            carried
        });
        diagnostics.extend(more);
        (carried, diagnostics)
    }

    /// The amendments on top of a book, for a comparison: each with its window and the book without it.
    pub fn overlays(&self, under: &str) -> Vec<Overlay> {
        let trees = self.trees();
        let name = BookName::parse(under, &self.trees());
        let all: Vec<&str> = name.with.iter().map(String::as_str).collect();
        let without = |at: usize| {
            let rest: Vec<&str> = all.iter().enumerate().filter(|(n, _)| *n != at).map(|(_, name)| *name).collect();
            let mut diagnostics = Diagnostics::new();
            let book = edition::compose(&trees, &name.family, &name.year, &rest, &mut diagnostics);
            (!diagnostics.has_errors()).then_some(book)
        };
        let window = |amendment: &str| {
            let sets = edition::amendments_named(&trees, amendment);
            sets.iter().flat_map(|set| &set.changes).find_map(|change| match &change.kind {
                ChangeKind::InForce { from, until, clock } => Some(Window {
                    from: from.as_ref().map(|day| day.text.to_string()),
                    until: until.as_ref().map(|end| (end.date.text.to_string(), end.side == DateSide::Through)),
                    clock: clock.text.to_string(),
                }),
                _ => None,
            })
        };
        all.iter()
            .enumerate()
            .map(|(at, amendment)| Overlay {
                name: amendment.to_string(),
                window: window(amendment),
                without: without(at),
            })
            .collect()
    }

    /// Opens a book by its name. The program must not be run if an error is among the diagnostics.
    pub fn open(&self, under: &str) -> (Program, Diagnostics) {
        let name = BookName::parse(under, &self.trees());
        let (composed, mut diagnostics) = self.compose(under);
        let (program, more) = sema::lower(&self.sources, &self.trees(), &composed, &name.family, &name.year);
        diagnostics.extend(more);
        (program, diagnostics)
    }

    /// Opens a book of layers. The program must not be run if an error is among the diagnostics.
    pub fn open_set(&self, base: &BaseSet) -> (Composed, Program, Diagnostics) {
        let mut diagnostics = Diagnostics::new();
        let trees = self.trees();
        let composed = edition::compose_layers(&trees, base, &mut diagnostics);
        let (program, more) = sema::lower(&self.sources, &trees, &composed, &base.family, &base.year);
        diagnostics.extend(more);
        (composed, program, diagnostics)
    }

    /// The vocabulary of a family, as its latest edition sees it.
    pub fn vocabulary(&self, family: &str) -> (Schema, Diagnostics) {
        let editions = self.editions();
        match editions.iter().rfind(|b| b.family == family) {
            Some(book) => {
                let (program, diagnostics) = self.open(&format!("{} {}", book.family, book.year));
                (program.schema, diagnostics)
            }
            None => {
                let near = nearest(family, editions.iter().map(|b| b.family.as_str()));
                let diagnostic = Diagnostic::error(Code::NoSuchEdition, format!("no rulebook speaks of `{family}`"));
                let diagnostic = match near {
                    Some(near) => diagnostic.help(format!("did you mean `{near}`?")),
                    None => diagnostic.help("load one with --rules"),
                };
                (Schema::default(), diagnostic.into())
            }
        }
    }

    /// Reads a file of facts.
    pub fn read_facts(&mut self, name: &str, bytes: Vec<u8>, form: FactsForm) -> (FactsFile, Diagnostics) {
        let id = match self.keep(name, bytes) {
            Ok(id) => id,
            Err(diagnostic) => return (FactsFile::default(), diagnostic.into()),
        };
        let text = self.sources.get(id).map_or("", |s| s.text.as_str());
        match form {
            FactsForm::Native => {
                let (parsed, diagnostics) = syntax::parse_facts(id, text);
                (parsed.tree, diagnostics)
            }
            FactsForm::Json => crate::facts::read_json(id, text, &syntax::parse_fact_value),
        }
    }

    /// Checks one file of facts against a book.
    pub fn install_shared(&self, program: &Program, file: &FactsFile) -> (Installation, Diagnostics) {
        crate::facts::install(&program.schema, &[file])
    }

    /// Works out a definition, an amount, what a section compares with, or what reads a table or series, each for every
    /// stated thing of its kind. Errors: nothing of that name, or no such thing in the facts.
    pub fn work(
        &self,
        program: &Program,
        installation: &Installation,
        choices: &Choices,
        what: &str,
    ) -> (Option<Worksheets>, Diagnostics) {
        let what = what.trim();
        let sought = crate::eval::sought(program, what);
        if sought.is_empty() {
            let names = program.formulas.iter().map(|f| f.name.as_str());
            let numbers = program.formulas.iter().map(|f| f.cite.as_str()).filter(|cite| !cite.is_empty());
            let title = format!("nothing called `{what}` is worked out in {}", program.edition);
            let diagnostic = Diagnostic::error(Code::NothingWorkedOut, title);
            let near = nearest(what, names.clone().chain(numbers)).map(str::to_string);
            let diagnostic = match near {
                Some(near) => diagnostic.help(format!("did you mean `{near}`?")),
                None => {
                    let mut names: Vec<&str> = names.collect();
                    names.sort_unstable();
                    names.dedup();
                    diagnostic.help(format!("worked out there: {}", names.join(", ")))
                }
            };
            return (None, diagnostic.into());
        }
        let sheets = crate::report::worksheets(program, installation, choices, what, &sought);
        if sheets.worksheets.is_empty() {
            let mut things: Vec<&str> = sought.iter().map(|s| program.schema.thing(s.thing).name.as_str()).collect();
            things.sort_unstable();
            things.dedup();
            let title = format!("the facts describe nothing to work `{what}` out for");
            let diagnostic = Diagnostic::error(Code::NothingToWorkFor, title)
                .help(format!("it is worked out for each {}; describe one", things.join(" or ")));
            return (None, diagnostic.into());
        }
        (Some(sheets), Diagnostics::new())
    }

    /// Checks facts against a book.
    pub fn install(&self, program: &Program, files: &[FactsFile]) -> (Installation, Diagnostics) {
        let files: Vec<&FactsFile> = files.iter().collect();
        crate::facts::install(&program.schema, &files)
    }
}

/// The dates of the project that facts state exactly, by their names.
pub fn dates(files: &[FactsFile]) -> Dates {
    let project = files.iter().flat_map(|file| &file.items).filter_map(|item| match item {
        FactItem::Project { block, .. } => Some(block),
        _ => None,
    });
    project
        .flat_map(|block| &block.entries)
        .filter_map(|entry| match &entry.value {
            EntryValue::Value(FactValue::OneOf(all), _) => match all.as_slice() {
                [FactRange { from: FactTerm::Date(date), through: None }] => {
                    Some((entry.name.text.to_string(), date.text.to_string()))
                }
                _ => None,
            },
            _ => None,
        })
        .collect()
}

/// Chosen readings, each written `reading=option`, or `option` where only one reading has it.
pub fn choose(program: &Program, written: &[String]) -> (Choices, Diagnostics) {
    let mut choices = Choices::none(program);
    let mut diagnostics = Diagnostics::new();
    for wanted in written {
        let (reading, option) = match wanted.split_once('=') {
            Some((reading, option)) => (Some(reading.trim()), option.trim()),
            None => (None, wanted.trim()),
        };
        let mut found = Vec::new();
        for (at, known) in program.readings.iter().enumerate() {
            if reading.is_none_or(|name| name == known.name)
                && let Some(option) = known.options.iter().position(|(name, _)| name == option)
            {
                found.push((at, option));
            }
        }
        match found.as_slice() {
            [(reading, option)] => choices.set(*reading, *option),
            [] => {
                let all: Vec<String> = program
                    .readings
                    .iter()
                    .flat_map(|r| r.options.iter().map(move |(option, _)| format!("{}={option}", r.name)))
                    .collect();
                let near = nearest(wanted, all.iter().map(String::as_str)).map(str::to_string);
                let diagnostic =
                    Diagnostic::error(Code::UnknownReading, format!("no disputed text has a reading `{wanted}`"));
                diagnostics.push(match near {
                    Some(near) => diagnostic.help(format!("did you mean `{near}`?")),
                    None if all.is_empty() => diagnostic.help("this edition has no disputed texts"),
                    None => diagnostic.help(format!("one of: {}", all.join(", "))),
                });
            }
            several => {
                let names: Vec<String> =
                    several.iter().map(|(at, _)| format!("{}={option}", program.readings[*at].name)).collect();
                diagnostics.push(
                    Diagnostic::error(
                        Code::UnknownReading,
                        format!("several disputed texts have a reading `{option}`"),
                    )
                    .help(format!("write {}", names.join(" or "))),
                );
            }
        }
    }
    (choices, diagnostics)
}
