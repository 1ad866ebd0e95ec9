//! `whereas govern`: which book governs in a place, and why.

use super::Ended;
use super::args::{GovernArguments, Whereabouts};
use super::outlet::Outlet;
use crate::report;
use crate::session::{Asked, FactsForm};

impl Whereabouts {
    pub(super) fn asked(&self) -> Asked {
        Asked {
            place: self.place.clone(),
            family: self.family.clone(),
            date: self.date.clone(),
            clock: self.clock.clone(),
        }
    }
}

pub(super) fn run(arguments: &GovernArguments, outlet: &mut Outlet) -> Ended {
    let Some(mut session) = outlet.session(&arguments.rules) else { return Ended::Failed };
    let mut files = Vec::new();
    for path in &arguments.facts {
        let Some(bytes) = outlet.read(path) else { return Ended::Failed };
        let shown = if path.as_os_str() == "-" { "standard input".to_string() } else { path.display().to_string() };
        let form = FactsForm::guess(&shown, &bytes);
        let (file, diagnostics) = session.read_facts(&shown, bytes, form);
        outlet.complain(&diagnostics, &session);
        if diagnostics.has_errors() {
            return Ended::Failed;
        }
        files.push(file);
    }
    let asked = arguments.whereabouts.asked();
    // Several places are asked for at once as `--in harbor-county,quay-town`.
    let places: Vec<Option<String>> = match &asked.place {
        Some(places) => places.split(',').map(|place| Some(place.trim().to_string())).collect(),
        None => vec![None],
    };
    let mut told = Vec::new();
    for place in places {
        let mut facts = files.clone();
        let (selection, diagnostics) = session.govern(&Asked { place, ..asked.clone() }, &mut facts);
        outlet.complain(&diagnostics, &session);
        let Some(selection) = selection else { return Ended::Failed };
        // A book that cannot be composed does not govern: layers may contradict one another.
        for book in selection.possible.iter().flat_map(|possible| &possible.books) {
            let (_, _, diagnostics) = session.open_set(book);
            if diagnostics.has_errors() {
                outlet.complain(&diagnostics, &session);
                return Ended::Failed;
            }
        }
        told.push(session.told(&selection));
    }
    let settled = told.iter().all(|told| told.possible.len() == 1);
    if arguments.json {
        let mut all: Vec<_> = told.into_iter().map(report::governed).collect();
        let text = match all.len() {
            1 => all.pop().map(|only| serde_json::to_string_pretty(&only)),
            _ => Some(serde_json::to_string_pretty(&all)),
        };
        match text {
            Some(Ok(text)) => outlet.print(&format!("{text}\n")),
            Some(Err(error)) => {
                outlet.fail(&format!("cannot write JSON: {error}"));
                return Ended::Failed;
            }
            None => {}
        }
    } else {
        let look = outlet.out_look();
        outlet.print(&report::selections(&told, &look));
    }
    if settled { Ended::Well } else { Ended::Open }
}
