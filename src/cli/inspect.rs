//! `whereas inspect` and `whereas editions`.

use super::Ended;
use super::args::{EditionsArguments, InspectArguments};
use super::outlet::Outlet;
use crate::compare::Composed;
use crate::diag::{Code, Diagnostic};
use crate::report::{self, Inspection};
use crate::session::{self, Choices, FactsFile, FactsForm, Program, Session};

pub(super) fn run(arguments: InspectArguments, outlet: &mut Outlet) -> Ended {
    let Some(mut session) = outlet.session(&arguments.rules) else { return Ended::Failed };
    let mut failed = false;
    let opened = match &arguments.under {
        Some(under) => {
            let (program, diagnostics) = session.open(under);
            outlet.complain(&diagnostics, &session);
            if diagnostics.has_errors() {
                return Ended::Failed;
            }
            let (choices, diagnostics) = session::choose(&program, &arguments.readings);
            outlet.complain(&diagnostics, &session);
            failed |= diagnostics.has_errors();
            Some((under, program, choices))
        }
        None => None,
    };
    let mut files = Vec::new();
    for path in &arguments.facts {
        let Some(bytes) = outlet.read(path) else { return Ended::Failed };
        let shown = if path.as_os_str() == "-" { "standard input".to_string() } else { path.display().to_string() };
        let form = FactsForm::guess(&shown, &bytes);
        let (file, diagnostics) = session.read_facts(&shown, bytes, form);
        outlet.complain(&diagnostics, &session);
        failed |= diagnostics.has_errors();
        files.push(file);
    }
    if failed {
        return Ended::Failed;
    }
    if files.iter().all(|file| file.items.is_empty()) {
        let diagnostic = Diagnostic::error(Code::NoFacts, "there are no facts to inspect")
            .help("describe the installation; `whereas facts FAMILY THING --form` prints a form to fill in");
        outlet.complain(&diagnostic.into(), &session);
        return Ended::Failed;
    }
    let report = match &opened {
        Some((under, program, choices)) => {
            under_named(&arguments, (under, program, choices), &mut session, files, outlet)
        }
        None => under_governing(&arguments, &mut session, files, outlet),
    };
    let Some(report) = report else { return Ended::Failed };
    let Some(report) = narrowed(&arguments, report, &session, outlet) else { return Ended::Failed };
    if arguments.json {
        match serde_json::to_string_pretty(&report) {
            Ok(text) => outlet.print(&format!("{text}\n")),
            Err(error) => {
                outlet.fail(&format!("cannot write JSON: {error}"));
                return Ended::Failed;
            }
        }
    } else {
        let depth = if arguments.full { report::Depth::Full } else { report::Depth::Brief };
        let look = outlet.out_look();
        outlet.print(&report::text(&report, depth, &look));
    }
    match report.outcome {
        report::Overall::Met => Ended::Well,
        report::Overall::NotMet => Ended::NotMet,
        report::Overall::Open => Ended::Open,
    }
}

/// The part of the report that is wanted.
fn narrowed(
    arguments: &InspectArguments,
    report: Inspection,
    session: &Session,
    outlet: &mut Outlet,
) -> Option<Inspection> {
    if arguments.only.sections.is_empty() && arguments.only.subjects.is_empty() {
        return Some(report);
    }
    // Several books may govern: what is about a subject in one of them is wanted.
    let names = report.governing.edition.split(" together with ").flat_map(|name| name.split(" or "));
    let books: Vec<Composed> = names.map(|name| session.compose(name).0).collect();
    let only = arguments.only.wanted(&books.iter().collect::<Vec<_>>(), outlet)?;
    Some(report::narrowed(report, &only))
}

/// Under the book that is named. Its amendments count as far as they are in force.
fn under_named(
    arguments: &InspectArguments,
    (under, program, choices): (&str, &Program, &Choices),
    session: &mut Session,
    mut files: Vec<FactsFile>,
    outlet: &mut Outlet,
) -> Option<Inspection> {
    let diagnostics = session.state_date(&arguments.whereabouts.asked(), &program.schema, &mut files);
    outlet.complain(&diagnostics, session);
    if diagnostics.has_errors() {
        return None;
    }
    let (selection, diagnostics) = session.govern_named(under, &files);
    outlet.complain(&diagnostics, session);
    if diagnostics.has_errors() {
        return None;
    }
    if let Some(selection) = selection {
        let (inspection, diagnostics) = session.inspect_governed(&selection, &files, &arguments.readings);
        outlet.complain(&diagnostics, session);
        return inspection;
    }
    let (installation, diagnostics) = session.install(program, &files);
    outlet.complain(&diagnostics, session);
    (!diagnostics.has_errors()).then(|| report::inspection(program, &installation, choices))
}

/// Under whatever governs in the place.
fn under_governing(
    arguments: &InspectArguments,
    session: &mut Session,
    mut files: Vec<FactsFile>,
    outlet: &mut Outlet,
) -> Option<Inspection> {
    let (selection, diagnostics) = session.govern(&arguments.whereabouts.asked(), &mut files);
    outlet.complain(&diagnostics, session);
    let (inspection, diagnostics) = session.inspect_governed(&selection?, &files, &arguments.readings);
    outlet.complain(&diagnostics, session);
    inspection
}

pub(super) fn editions(arguments: &EditionsArguments, outlet: &mut Outlet) -> Ended {
    let Some(session) = outlet.session(&arguments.rules) else { return Ended::Failed };
    let mut text = String::new();
    for book in session.editions() {
        let name = format!("{} {}", book.family, book.year);
        text.push_str(&format!("{name:<12}  {}\n", book.title));
    }
    outlet.print(&text);
    Ended::Well
}
