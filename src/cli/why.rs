//! `whereas why`: pages of diagnostics.

use super::Ended;
use super::args::WhyArguments;
use super::outlet::Outlet;
use crate::diag::{Code, nearest};

pub(super) fn run(arguments: &WhyArguments, outlet: &mut Outlet) -> Ended {
    let Some(wanted) = &arguments.code else {
        let mut text = String::new();
        for code in Code::all() {
            text.push_str(&format!("{}  {}\n", code.as_str(), code.meaning()));
        }
        outlet.print(&text);
        return Ended::Well;
    };
    if let Some(under) = &arguments.under {
        return history(arguments, wanted, under, outlet);
    }
    match Code::parse(wanted) {
        Some(code) => {
            outlet.print(code.page());
            Ended::Well
        }
        None => {
            let near = nearest(&wanted.to_uppercase(), Code::all().iter().map(|c| c.as_str()));
            match near {
                Some(near) => outlet.fail(&format!("there is no code `{wanted}`; did you mean {near}?")),
                None => outlet.fail(&format!("there is no code `{wanted}`; `whereas why` lists all")),
            }
            Ended::Failed
        }
    }
}

/// Which documents made a section what it is.
fn history(arguments: &WhyArguments, wanted: &str, under: &str, outlet: &mut Outlet) -> Ended {
    let Some(session) = outlet.session(&arguments.rules) else { return Ended::Failed };
    let (composed, diagnostics) = session.compose(under);
    let (program, more) = session.open(under);
    outlet.complain(&more, &session);
    if diagnostics.has_errors() || more.has_errors() {
        return Ended::Failed;
    }
    let within = |address: &str| address == wanted || address.strip_prefix(wanted).is_some_and(|r| r.starts_with('('));
    let mut text = String::new();
    for duty in program.duties.iter().filter(|d| within(&d.address)) {
        let origin = program.origin(duty.origin);
        let (line, _) = session.sources().line_column(origin.span.source, origin.span.start);
        let file = session.sources().get(origin.span.source).map_or("", |s| s.name.as_str());
        text.push_str(&format!("{}  {}\n    {}\n    {file}:{line}\n", duty.address, duty.title, origin.words));
    }
    for (at, event) in composed.history_of(wanted) {
        let (line, _) = session.sources().line_column(event.span.source, event.span.start);
        let file = session.sources().get(event.span.source).map_or("", |s| s.name.as_str());
        text.push_str(&format!("{at}  {} ({})\n    {file}:{line}\n", event.what, event.document));
    }
    if text.is_empty() {
        let known: Vec<&str> = program.duties.iter().map(|d| d.address.as_str()).collect();
        match nearest(wanted, known.iter().copied()) {
            Some(near) => outlet.fail(&format!("{} says nothing at {wanted}; did you mean {near}?", composed.name)),
            None => outlet.fail(&format!("{} says nothing at {wanted}", composed.name)),
        }
        return Ended::Failed;
    }
    outlet.print(&text);
    Ended::Well
}
