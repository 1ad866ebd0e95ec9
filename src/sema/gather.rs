//! Which items of all files belong to one edition: the vocabulary of its family and its own items.

use crate::base::printed::printed_order;
use crate::base::source::SourceId;
use crate::diag::{Code, Diagnostic, Diagnostics, nearest};
use crate::edition::Composed;
use crate::syntax::ast::*;
use std::collections::BTreeMap;

/// The name of an edition.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
pub struct Book {
    /// The family, such as `nec`.
    pub family: String,
    /// The year or other short name.
    pub year: String,
    /// The full title, or empty.
    pub title: String,
}

/// All editions that some file opens, in order of name.
pub fn editions(books: &[(SourceId, &Rulebook)]) -> Vec<Book> {
    let mut found: BTreeMap<(String, String), String> = BTreeMap::new();
    for item in books.iter().flat_map(|(_, book)| &book.items) {
        let (edition, title) = match item {
            Item::Edition(header) if header.extent == Extent::Edition => {
                ((&header.family, &header.year), &header.title)
            }
            Item::Changes(set) => match &set.edition {
                Some(edition) => ((&edition.family, &edition.year), &set.title),
                None => continue,
            },
            _ => continue,
        };
        let known = found.entry((edition.0.text.to_string(), edition.1.text.to_string())).or_default();
        if known.is_empty() {
            *known = title.as_deref().unwrap_or("").to_string();
        }
    }
    found.into_iter().map(|((family, year), title)| Book { family, year, title }).collect()
}

/// The items of one edition, sorted by what they are.
#[derive(Debug, Default)]
pub(super) struct Gathered<'a> {
    pub(super) family: String,
    pub(super) family_title: String,
    pub(super) edition_title: String,
    pub(super) choices: Vec<&'a Choice>,
    pub(super) scales: Vec<&'a Scale>,
    pub(super) things: Vec<&'a Thing>,
    pub(super) kinds: Vec<&'a Kind>,
    pub(super) defines: Vec<&'a Define>,
    pub(super) limits: Vec<&'a Limit>,
    pub(super) tables: Vec<&'a Table>,
    pub(super) readings: Vec<&'a Reading>,
    pub(super) sections: Vec<&'a Section>,
    /// Fields that amendments declare.
    pub(super) fields: Vec<&'a (Name, Field)>,
}

/// The vocabulary of the family and the items of the composed book.
pub(super) fn gather<'a>(
    books: &[(SourceId, &'a Rulebook)],
    composed: &'a Composed,
    family: &str,
    year: &str,
    diagnostics: &mut Diagnostics,
) -> Gathered<'a> {
    let mut all = Gathered { family: family.to_string(), ..Gathered::default() };
    for (_, book) in books {
        // What stands before any header belongs to nothing.
        let mut ours = None;
        for item in &book.items {
            match item {
                Item::Terms(header) => {
                    ours = Some(header.family.text == family);
                    if header.family.text == family && all.family_title.is_empty() {
                        all.family_title = header.title.as_deref().unwrap_or("").to_string();
                    }
                }
                Item::Edition(_) => ours = Some(false),
                Item::Changes(_) => {}
                other if ours.is_none() => {
                    let span = item_span(other);
                    diagnostics.push(
                        Diagnostic::error(Code::OutOfPlace, "an item stands before any header")
                            .at(span, "belongs to no edition and no vocabulary")
                            .help("start the file with `terms for NAME` or `edition NAME YEAR`"),
                    );
                    ours = Some(false);
                }
                other if ours == Some(true) => all.take(other),
                _ => {}
            }
        }
    }
    all.edition_title.clone_from(&composed.title);
    all.fields = composed.fields.iter().collect();
    composed.items.iter().for_each(|item| all.take(item));
    all.sections.sort_by_cached_key(|s| printed_order(&s.address.text));
    let known: Vec<String> = editions(books).into_iter().map(|b| format!("{} {}", b.family, b.year)).collect();
    let wanted = format!("{family} {year}").trim().to_string();
    if !known.contains(&wanted) {
        let diagnostic = Diagnostic::error(Code::NoSuchEdition, format!("there is no edition `{wanted}`"));
        let near = nearest(&wanted, known.iter().map(String::as_str)).map(str::to_string);
        let excerpt = books.iter().flat_map(|(_, book)| &book.items).find_map(|item| match item {
            Item::Edition(header) if header.family.text == family && header.year.text == year => Some(header.span),
            _ => None,
        });
        if let Some(place) = excerpt {
            diagnostics.push(
                Diagnostic::error(Code::OnlyAnExcerpt, format!("only an excerpt of `{wanted}` is loaded"))
                    .at(place, "a few paragraphs for other books to use")
                    .help(format!("`use … of {wanted}` takes its text; inspect under {}", known.join(", "))),
            );
            return all;
        }
        diagnostics.push(match near {
            Some(near) => diagnostic.help(format!("did you mean `{near}`? loaded: {}", known.join(", "))),
            None if known.is_empty() => diagnostic.help("no edition is loaded"),
            None => diagnostic.help(format!("loaded: {}", known.join(", "))),
        });
    }
    all
}

fn item_span(item: &Item) -> crate::base::source::Span {
    match item {
        Item::Terms(x) => x.span,
        Item::Edition(x) => x.span,
        Item::Choice(x) => x.name.span,
        Item::Scale(x) => x.name.span,
        Item::Thing(x) => x.name.span,
        Item::Section(x) => x.address.span,
        Item::Kind(x) => x.name.span,
        Item::Define(x) => x.name.span,
        Item::Limit(x) => x.name.span,
        Item::Table(x) => x.address.span,
        Item::Reading(x) => x.name.span,
        Item::Changes(x) => x.span,
    }
}

impl<'a> Gathered<'a> {
    fn take(&mut self, item: &'a Item) {
        match item {
            Item::Terms(_) | Item::Edition(_) | Item::Changes(_) => {}
            Item::Choice(x) => self.choices.push(x),
            Item::Scale(x) => self.scales.push(x),
            Item::Thing(x) => self.things.push(x),
            Item::Section(x) => self.sections.push(x),
            Item::Kind(x) => self.kinds.push(x),
            Item::Define(x) => self.defines.push(x),
            Item::Limit(x) => self.limits.push(x),
            Item::Table(x) => self.tables.push(x),
            Item::Reading(x) => self.readings.push(x),
        }
    }
}
