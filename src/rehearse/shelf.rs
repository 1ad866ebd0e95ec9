//! What stands beside the rules in all files, with the family and the section it stands beside.

use crate::base::source::SourceId;
use crate::diag::{Code, Diagnostic, Diagnostics};
use crate::syntax::ast::{Beside, Claim, Example, FactsFile, Fixture, Item, Name, Rulebook, Survives};
use std::collections::BTreeMap;

/// An item and where it stands.
pub(super) struct Placed<'a, T> {
    pub(super) item: &'a T,
    /// The family of the last header before it.
    pub(super) family: Option<&'a str>,
    /// The number of the last section before it.
    pub(super) section: Option<&'a str>,
}

/// All of it, in the order of files.
#[derive(Default)]
pub(super) struct Shelf<'a> {
    pub(super) fixtures: BTreeMap<&'a str, &'a Fixture>,
    /// Files of facts handed in, by their name.
    pub(super) files: BTreeMap<&'a str, &'a FactsFile>,
    pub(super) examples: Vec<Placed<'a, Example>>,
    pub(super) claims: Vec<Placed<'a, Claim>>,
    pub(super) survives: Vec<&'a Survives>,
}

pub(super) fn gather<'a>(
    books: &[(SourceId, &'a Rulebook)],
    files: &'a [(String, FactsFile)],
    found: &mut Diagnostics,
) -> Shelf<'a> {
    let mut titles: BTreeMap<&str, &Name> = BTreeMap::new();
    let mut shelf =
        Shelf { files: files.iter().map(|(name, file)| (name.as_str(), file)).collect(), ..Shelf::default() };
    for (_, book) in books {
        let (mut family, mut section) = (None, None);
        for item in &book.items {
            match item {
                Item::Terms(header) => family = Some(header.family.text.as_str()),
                Item::Edition(header) => family = Some(header.family.text.as_str()),
                Item::Changes(set) => {
                    family = set.edition.as_ref().or(set.base.as_ref()).map(|e| e.family.text.as_str()).or(family);
                }
                Item::Section(found) => section = Some(found.address.text.as_str()),
                Item::Beside(beside) => match beside.as_ref() {
                    Beside::Fixture(fixture) => match shelf.fixtures.get(fixture.name.text.as_str()) {
                        Some(first) => found.push(twice("fixture", &fixture.name, &first.name)),
                        None => {
                            shelf.fixtures.insert(fixture.name.text.as_str(), fixture);
                        }
                    },
                    Beside::Example(item) => {
                        if let Some(first) = titles.insert(item.title.text.as_str(), &item.title) {
                            found.push(twice("example", &item.title, first));
                        }
                        shelf.examples.push(Placed { item, family, section });
                    }
                    Beside::Claim(item) => shelf.claims.push(Placed { item, family, section }),
                    Beside::Survives(list) => shelf.survives.push(list),
                },
                Item::Choice(_)
                | Item::Jurisdiction(_)
                | Item::Scale(_)
                | Item::Thing(_)
                | Item::Kind(_)
                | Item::Define(_)
                | Item::Limit(_)
                | Item::Table(_)
                | Item::Amount(_)
                | Item::Series(_)
                | Item::Reading(_) => {}
            }
        }
    }
    shelf
}

fn twice(what: &str, name: &Name, first: &Name) -> Diagnostic {
    Diagnostic::error(Code::DefinedTwice, format!("there are two: {what} `{}`", name.text))
        .at(name.span, "the second")
        .at(first.span, "the first")
        .help("give one of them another name")
}
