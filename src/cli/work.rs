//! `whereas work`.

use super::Ended;
use super::args::WorkArguments;
use super::outlet::Outlet;
use crate::diag::{Code, Diagnostic};
use crate::report;
use crate::session::{self, FactsForm};

pub(super) fn run(arguments: &WorkArguments, outlet: &mut Outlet) -> Ended {
    let Some(mut session) = outlet.session(&arguments.rules) else { return Ended::Failed };
    let (program, diagnostics) = session.open(&arguments.under);
    outlet.complain(&diagnostics, &session);
    if diagnostics.has_errors() {
        return Ended::Failed;
    }
    let (choices, diagnostics) = session::choose(&program, &arguments.readings);
    outlet.complain(&diagnostics, &session);
    let mut failed = diagnostics.has_errors();
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
        let diagnostic = Diagnostic::error(Code::NoFacts, "there are no facts to work with")
            .help("describe what the value is worked out for; `whereas facts FAMILY THING --form` prints a form");
        outlet.complain(&diagnostic.into(), &session);
        return Ended::Failed;
    }
    let (installation, diagnostics) = session.install(&program, &files);
    outlet.complain(&diagnostics, &session);
    if diagnostics.has_errors() {
        return Ended::Failed;
    }
    let (sheets, diagnostics) = session.work(&program, &installation, &choices, &arguments.what);
    outlet.complain(&diagnostics, &session);
    let Some(sheets) = sheets else { return Ended::Failed };
    if arguments.json {
        match serde_json::to_string_pretty(&sheets) {
            Ok(text) => outlet.print(&format!("{text}\n")),
            Err(error) => {
                outlet.fail(&format!("cannot write JSON: {error}"));
                return Ended::Failed;
            }
        }
    } else {
        outlet.print(&report::worksheet_text(&sheets, &outlet.out_look()));
    }
    if sheets.known { Ended::Well } else { Ended::Open }
}
