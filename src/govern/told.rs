//! A selection as a report shows it.

use super::select::Selection;
use crate::base::source::Sources;
use crate::report::view;

/// The view of a selection; places are shown as file and line.
pub fn told(selection: &Selection, sources: &Sources) -> view::Selection {
    view::Selection {
        place: selection.place.clone(),
        title: selection.title.clone(),
        stated: selection.stated.clone(),
        possible: selection
            .possible
            .iter()
            .map(|possible| view::PossibleBooks {
                books: possible.books.iter().map(crate::edition::BaseSet::name).collect(),
                when: possible.when.clone(),
                because: possible
                    .because
                    .iter()
                    .map(|because| view::SelectedBy {
                        words: because.words.clone(),
                        written: because.span.map_or_else(String::new, |span| {
                            let (line, _) = sources.line_column(span.source, span.start);
                            let file = sources.get(span.source).map_or("", |s| s.name.as_str());
                            format!("{file}:{line}")
                        }),
                    })
                    .collect(),
            })
            .collect(),
        ask: selection
            .ask
            .iter()
            .map(|ask| view::SelectingFact {
                of: ask.of.clone(),
                field: ask.field.clone(),
                question: ask.question.clone(),
                say: ask.say.clone(),
            })
            .collect(),
    }
}
