//! `whereas rehearse`: examples and claims, run.

use super::Ended;
use super::args::RehearseArguments;
use super::outlet::Outlet;
use crate::rehearse::{self, Wish};
use crate::session::FactsForm;

pub(super) fn run(arguments: &RehearseArguments, outlet: &mut Outlet) -> Ended {
    let Some(mut session) = outlet.session_with_examples(&arguments.rules) else { return Ended::Failed };
    let (mut failed, mut files) = (false, Vec::new());
    for path in &arguments.beside {
        let Some(bytes) = outlet.read(path) else { return Ended::Failed };
        let shown = path.display().to_string();
        if shown.ends_with(".rulebook") {
            let diagnostics = session.add_rulebook(&shown, bytes);
            outlet.complain(&diagnostics, &session);
            failed |= diagnostics.has_errors();
            continue;
        }
        let form = FactsForm::guess(&shown, &bytes);
        let (file, diagnostics) = session.read_facts(&shown, bytes, form);
        outlet.complain(&diagnostics, &session);
        failed |= diagnostics.has_errors();
        let stem = path.file_stem().map(|stem| stem.to_string_lossy().into_owned()).unwrap_or(shown);
        files.push((stem, file));
    }
    if failed {
        return Ended::Failed;
    }
    let wish = match (arguments.disturb, arguments.gaps) {
        (true, _) => Wish::Disturb,
        (false, true) => Wish::Gaps,
        (false, false) => Wish::Run,
    };
    let (rehearsal, diagnostics) = session.rehearse(&files, &arguments.under, wish);
    outlet.complain(&diagnostics, &session);
    if rehearsal.examples.is_empty() && rehearsal.claims.is_empty() {
        if !diagnostics.has_errors() {
            outlet.fail("there is no example and no claim to rehearse under these books");
        }
        return Ended::Failed;
    }
    if arguments.json {
        match serde_json::to_string_pretty(&rehearsal) {
            Ok(text) => outlet.print(&format!("{text}\n")),
            Err(error) => {
                outlet.fail(&format!("cannot write JSON: {error}"));
                return Ended::Failed;
            }
        }
    } else if arguments.junit {
        match rehearse::junit(&rehearsal) {
            Ok(text) => outlet.print(&text),
            Err(error) => {
                outlet.fail(&format!("cannot write JUnit XML: {error}"));
                return Ended::Failed;
            }
        }
    } else {
        let look = outlet.out_look();
        outlet.print(&rehearse::text(&rehearsal, &look));
    }
    match (diagnostics.has_errors(), rehearsal.as_expected) {
        (true, _) => Ended::Failed,
        (false, true) => Ended::Well,
        (false, false) => Ended::NotMet,
    }
}
