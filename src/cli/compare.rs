//! `whereas compare`: books side by side, for the rules alone or for an installation.

use super::Ended;
use super::args::CompareArguments;
use super::outlet::Outlet;
use crate::compare::{self, Side};
use crate::report;
use crate::session::{self, FactsForm, Session};
use std::path::{Path, PathBuf};

pub(super) fn run(arguments: CompareArguments, outlet: &mut Outlet) -> Ended {
    let Some(mut session) = outlet.session(&arguments.rules) else { return Ended::Failed };
    let (what, own): (Vec<String>, Vec<String>) =
        arguments.what.into_iter().partition(|argument| !argument.ends_with(".rulebook"));
    if !outlet.add_rulebooks(&mut session, own.iter().map(Path::new)) {
        return Ended::Failed;
    }
    let (books, facts) = sorted(&session, &what);
    if books.len() < 2 {
        let known: Vec<String> = session.editions().iter().map(|b| format!("\"{} {}\"", b.family, b.year)).collect();
        outlet.fail(&format!("two or more books are compared; loaded: {}", known.join(", ")));
        return Ended::Failed;
    }
    let mut files = Vec::new();
    for path in &facts {
        let Some(bytes) = outlet.read(path) else { return Ended::Failed };
        let shown = path.display().to_string();
        let form = FactsForm::guess(&shown, &bytes);
        let (file, diagnostics) = session.read_facts(&shown, bytes, form);
        outlet.complain(&diagnostics, &session);
        if diagnostics.has_errors() {
            return Ended::Failed;
        }
        files.push(file);
    }
    let mut sides = Vec::new();
    let mut strangers = 0;
    for under in &books {
        // Amendments count as far as they are in force for the project, as in an inspection.
        if !files.is_empty() {
            let (selection, diagnostics) = session.govern_named(under, &files);
            outlet.complain(&diagnostics, &session);
            if diagnostics.has_errors() {
                return Ended::Failed;
            }
            if let Some(selection) = selection {
                let (inspection, diagnostics) = session.inspect_governed(&selection, &files, &arguments.readings);
                outlet.complain(&diagnostics, &session);
                let Some(inspection) = inspection else { return Ended::Failed };
                if inspection.governing.edition != *under {
                    for because in selection.possible.iter().flat_map(|possible| &possible.because) {
                        outlet.fail(&format!("{under}: {}", because.words));
                    }
                }
                let settled = match selection.possible.as_slice() {
                    [only] => only.books.first(),
                    _ => None,
                };
                let mut composed = match settled {
                    Some(book) => session.open_set(book).0,
                    None => session.compose(under).0,
                };
                composed.name = inspection.governing.edition.clone();
                sides.push((composed, Some(inspection), session.overlays(under)));
                continue;
            }
        }
        let (composed, diagnostics) = session.compose(under);
        let overlays = session.overlays(under);
        // Without facts the rules are compared as they are composed, whatever their words mean.
        let inspection = if files.is_empty() && !composed.items.is_empty() {
            outlet.complain(&diagnostics, &session);
            if diagnostics.has_errors() {
                return Ended::Failed;
            }
            None
        } else {
            let (program, diagnostics) = session.open(under);
            outlet.complain(&diagnostics, &session);
            if diagnostics.has_errors() {
                return Ended::Failed;
            }
            // A reading may belong to one of the books only; one that belongs to none is a mistake.
            let (choices, diagnostics) = session::choose(&program, &arguments.readings);
            strangers += usize::from(diagnostics.has_errors());
            if strangers == books.len() {
                outlet.complain(&diagnostics, &session);
                return Ended::Failed;
            }
            let (installation, diagnostics) = session.install(&program, &files);
            outlet.complain(&diagnostics, &session);
            if diagnostics.has_errors() {
                return Ended::Failed;
            }
            Some(report::inspection(&program, &installation, &choices))
        };
        sides.push((composed, inspection, overlays));
    }
    let sides: Vec<Side> =
        sides.iter().map(|(book, found, overlays)| Side { book, inspection: found.as_ref(), overlays }).collect();
    let found = compare::comparison(&sides, &session::dates(&files));
    let books: Vec<&compare::Composed> = sides.iter().map(|side| side.book).collect();
    let Some(only) = arguments.only.wanted(&books, outlet) else { return Ended::Failed };
    let found = found.narrowed(&only, &books);
    if arguments.json {
        match serde_json::to_string_pretty(&found) {
            Ok(text) => outlet.print(&format!("{text}\n")),
            Err(error) => {
                outlet.fail(&format!("cannot write JSON: {error}"));
                return Ended::Failed;
            }
        }
    } else if arguments.markdown {
        outlet.print(&compare::markdown(&found));
    } else {
        let look = outlet.out_look();
        outlet.print(&compare::text(&found, &look));
    }
    if found.differs { Ended::NotMet } else { Ended::Well }
}

/// Which arguments name books and which name files. A bare year stands for the family that has it.
fn sorted(session: &Session, what: &[String]) -> (Vec<String>, Vec<PathBuf>) {
    let editions = session.editions();
    let (mut books, mut facts) = (Vec::new(), Vec::new());
    for argument in what {
        let (edition, with) = argument.split_once(" with ").map_or((argument.as_str(), None), |(e, w)| (e, Some(w)));
        let found = editions.iter().find(|b| format!("{} {}", b.family, b.year) == edition || b.year == edition);
        match (found, with) {
            (Some(book), None) => books.push(format!("{} {}", book.family, book.year)),
            (Some(book), Some(with)) => books.push(format!("{} {} with {with}", book.family, book.year)),
            (None, Some(_)) => books.push(argument.clone()),
            // What is no file either was meant as a book, and is answered as one.
            (None, None)
                if Path::new(argument).extension().is_none() && argument != "-" && !Path::new(argument).exists() =>
            {
                books.push(argument.clone());
            }
            (None, None) => facts.push(PathBuf::from(argument)),
        }
    }
    (books, facts)
}
