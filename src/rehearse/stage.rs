//! The installation of an example: fixtures, facts laid over them, values changed, things taken away. Works on the tree
//! of facts, so every diagnostic of the facts points into the example.

use super::shelf::Shelf;
use crate::base::source::Span;
use crate::diag::{Code, Diagnostic, Diagnostics, nearest};
use crate::syntax::ast::{Block, Entry, EntryValue, FactItem, FactValue, FactsFile, Given, Name, Whereabouts};

/// The most steps from an example to what it is given as in.
const LONGEST_CHAIN: usize = 16;

/// So many names are listed where none is near.
const MOST_TOLD: usize = 8;

/// Builds installations.
pub(super) struct Stage<'s, 'a> {
    pub(super) shelf: &'s Shelf<'a>,
    pub(super) diagnostics: Diagnostics,
}

impl Stage<'_, '_> {
    /// Follows the givens of an example.
    pub(super) fn build(&mut self, givens: &[Given]) -> FactsFile {
        let mut file = FactsFile::default();
        self.follow(givens, &mut file, 0);
        file
    }

    fn follow(&mut self, givens: &[Given], file: &mut FactsFile, depth: usize) {
        for given in givens {
            match given {
                Given::Fixture(name) => match self.shelf.fixtures.get(name.text.as_str()) {
                    Some(fixture) if depth < LONGEST_CHAIN => self.follow(&fixture.givens, file, depth + 1),
                    Some(_) => self.circle(name),
                    None => {
                        let known: Vec<&str> = self.shelf.fixtures.keys().copied().collect();
                        self.unknown(name, "fixture", &known);
                    }
                },
                Given::AsIn(title) => self.as_in(title, file, depth),
                Given::Facts(item) => lay_over(&mut file.items, item),
                Given::But(place, value, span) => self.but(file, place, value, *span),
                Given::Without(place) => self.without(file, place),
            }
        }
    }

    fn as_in(&mut self, title: &Name, file: &mut FactsFile, depth: usize) {
        if let Some(facts) = self.shelf.files.get(title.text.as_str()) {
            facts.items.iter().for_each(|item| lay_over(&mut file.items, item));
            return;
        }
        match self.shelf.examples.iter().find(|e| e.item.title.text == title.text) {
            Some(example) if depth < LONGEST_CHAIN => self.follow(&example.item.givens, file, depth + 1),
            Some(_) => self.circle(title),
            None => {
                let known: Vec<&str> = self.shelf.examples.iter().map(|e| e.item.title.text.as_str()).collect();
                self.unknown(title, "example", &known);
            }
        }
    }

    fn circle(&mut self, name: &Name) {
        self.diagnostics.push(
            Diagnostic::error(Code::NoSuchFixture, format!("`{}` is given by itself", name.text))
                .at(name.span, "goes round in a circle")
                .help("write the facts out at one place"),
        );
    }

    fn unknown(&mut self, name: &Name, what: &str, known: &[&str]) {
        let diagnostic = Diagnostic::error(Code::NoSuchFixture, format!("there is no {what} `{}`", name.text))
            .at(name.span, "not known");
        self.diagnostics.push(match nearest(&name.text, known.iter().copied()) {
            Some(near) => diagnostic.help(format!("did you mean `{near}`?")),
            None if known.is_empty() => diagnostic.help(format!("no {what} is loaded")),
            None if known.len() <= MOST_TOLD => diagnostic.help(format!("known: {}", known.join(", "))),
            None => diagnostic
                .help("nothing loaded is called nearly so; files of facts go by their name without its ending"),
        });
    }

    /// Gives a field another value.
    pub(super) fn but(&mut self, file: &mut FactsFile, place: &Whereabouts, value: &FactValue, span: Span) {
        let entry = Entry { name: place.name.clone(), value: EntryValue::Value(value.clone(), span), span };
        let meant = |above: &[String], block: &Block| match place.of.as_slice() {
            // Without an owner: the one thing that says something of that field.
            [] => block.entries.iter().any(|e| e.name.text == place.name.text),
            owners => named(above, owners),
        };
        let mut found = 0;
        each_block(&mut file.items, &mut Vec::new(), &mut |above, block| found += usize::from(meant(above, block)));
        if self.one_of(found, place) {
            each_block(&mut file.items, &mut Vec::new(), &mut |above, block| {
                if meant(above, block) {
                    put(block, entry.clone());
                }
            });
        }
    }

    fn without(&mut self, file: &mut FactsFile, place: &Whereabouts) {
        let mut found = 0;
        let whole: Vec<Name> = std::iter::once(&place.name).chain(&place.of).cloned().collect();
        file.items.retain(|item| match item {
            FactItem::Instance { name, .. } if place.of.is_empty() && name.text == place.name.text => {
                found += 1;
                false
            }
            _ => true,
        });
        each_block(&mut file.items, &mut Vec::new(), &mut |above, block| {
            block.entries.retain(|entry| {
                let mut path = above.to_vec();
                path.push(entry.name.text.to_string());
                let goes = named(&path, &whole);
                found += usize::from(goes);
                !goes
            });
        });
        self.one_of(found, place);
    }

    fn one_of(&mut self, found: usize, place: &Whereabouts) -> bool {
        let words = place.words();
        if found == 0 && self.diagnostics.has_errors() {
            // What it changes may be what could not be given.
            return false;
        }
        if found == 0 {
            let what = if place.of.is_empty() { "is not given here" } else { "names nothing that is given" };
            self.diagnostics.push(
                Diagnostic::error(Code::NothingNamed, format!("`{words}` {what}"))
                    .at(place.span(), "not found")
                    .help("name the owner, as in `size of green`; `of project` is the project"),
            );
        } else if found > 1 {
            self.diagnostics.push(
                Diagnostic::error(Code::SeveralNamed, format!("`{words}` could mean {found} things"))
                    .at(place.span(), "which one?")
                    .help("name its owners too, as in `size of green of EX4-1`"),
            );
        }
        found == 1
    }
}

/// Whether a block's names end in these owners, innermost first, others between them allowed.
fn named(above: &[String], owners: &[Name]) -> bool {
    let Some((innermost, outer)) = owners.split_first() else { return false };
    let Some((last, mut rest)) = above.split_last() else { return false };
    if *last != innermost.text {
        return false;
    }
    for owner in outer {
        match rest.iter().rposition(|name| *name == owner.text) {
            Some(at) => rest = rest.get(..at).unwrap_or(&[]),
            None => return false,
        }
    }
    true
}

/// Every block with the names that lead to it, outermost first.
fn each_block(items: &mut [FactItem], above: &mut Vec<String>, see: &mut dyn FnMut(&[String], &mut Block)) {
    for item in items {
        let (name, block) = match item {
            FactItem::Project { block, .. } => ("project".to_string(), block),
            FactItem::Instance { name, block, .. } => (name.text.to_string(), block),
            // A change in an example is made to the installation as it is, not as it was before the work.
            FactItem::Absent { .. } | FactItem::MaybeMore { .. } | FactItem::Before { .. } => continue,
        };
        above.push(name);
        in_block(block, above, see);
        above.pop();
    }
}

fn in_block(block: &mut Block, above: &mut Vec<String>, see: &mut dyn FnMut(&[String], &mut Block)) {
    see(above, block);
    for entry in &mut block.entries {
        if let EntryValue::Block(inner) = &mut entry.value {
            above.push(entry.name.text.to_string());
            in_block(inner, above, see);
            above.pop();
        }
    }
}

fn put(block: &mut Block, entry: Entry) {
    match block.entries.iter_mut().find(|e| e.name.text == entry.name.text) {
        Some(known) => *known = entry,
        None => block.entries.push(entry),
    }
}

/// Lays one item of facts over those given: blocks of one name are joined, values replaced.
fn lay_over(items: &mut Vec<FactItem>, item: &FactItem) {
    for known in items.iter_mut() {
        match (known, item) {
            (FactItem::Project { title, block, .. }, FactItem::Project { title: new, block: over, .. }) => {
                if new.is_some() {
                    title.clone_from(new);
                }
                join(block, over);
                return;
            }
            (
                FactItem::Instance { thing, name, block, .. },
                FactItem::Instance { thing: of, name: called, block: over, .. },
            ) if thing.text == of.text && name.text == called.text => {
                join(block, over);
                return;
            }
            _ => {}
        }
    }
    items.push(item.clone());
}

fn join(block: &mut Block, over: &Block) {
    if over.more.is_some() {
        block.more = over.more;
    }
    for entry in &over.entries {
        let known = block.entries.iter_mut().find(|e| e.name.text == entry.name.text);
        match (known, &entry.value) {
            (Some(Entry { value: EntryValue::Block(own), .. }), EntryValue::Block(new)) => join(own, new),
            (Some(known), _) => *known = entry.clone(),
            (None, _) => block.entries.push(entry.clone()),
        }
    }
}
