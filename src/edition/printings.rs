//! What stands in a printing of an edition: the interim amendments and errata that were issued before it.
//!
//! A document says so in its head (`in the second printing`). One that names no printing is in none: it counts where it is adopted
//! by its name.

use super::compose::sets;
use crate::base::source::SourceId;
use crate::syntax::ast::{Rulebook, SetKind};

const ORDER: [&str; 12] = [
    "first", "second", "third", "fourth", "fifth", "sixth", "seventh", "eighth", "ninth", "tenth", "eleventh",
    "twelfth",
];

/// The names of the interim amendments and errata that a printing of an edition holds, oldest printing first, then in the order
/// they were loaded. A printing holds what earlier ones held; a word that is no ordinal stands for itself alone.
pub(crate) fn printed_with(books: &[(SourceId, &Rulebook)], family: &str, year: &str, printing: &str) -> Vec<String> {
    let place = |word: &str| ORDER.iter().position(|known| *known == word);
    let holds = |own: &str| match (place(own), place(printing)) {
        (Some(own), Some(asked)) => own <= asked,
        _ => own == printing,
    };
    let mut found: Vec<(Option<usize>, String)> = sets(books)
        .filter(|set| matches!(set.kind, SetKind::Interim | SetKind::Erratum))
        .filter(|set| set.base.as_ref().is_some_and(|base| base.family.text == family && base.year.text == year))
        .filter_map(|set| {
            let own = set.printing.as_ref().filter(|own| holds(&own.text))?;
            Some((place(&own.text), set.name.text.to_string()))
        })
        .collect();
    found.sort_by_key(|(place, _)| *place);
    found.into_iter().map(|(_, name)| name).collect()
}
