//! `whereas why`: pages of diagnostics, and the history of a part of a book.

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

/// What a part of a book says, and which documents made it so.
fn history(arguments: &WhyArguments, wanted: &str, under: &str, outlet: &mut Outlet) -> Ended {
    let Some(session) = outlet.session(&arguments.rules) else { return Ended::Failed };
    let (past, diagnostics) = session.past(under, wanted);
    outlet.complain(&diagnostics, &session);
    if diagnostics.has_errors() {
        return Ended::Failed;
    }
    if past.parts.is_empty() && past.events.is_empty() {
        let near = past.near.map(|near| format!("; did you mean {near}?")).unwrap_or_default();
        outlet.fail(&format!("{under} says nothing at {wanted}{near}"));
        return Ended::Failed;
    }
    let mut text = String::new();
    if past.parts.is_empty() {
        text.push_str(&format!("{under} has no {wanted} any more\n"));
    }
    for part in &past.parts {
        text.push_str(&format!("{}\n", part.head));
        for line in &part.lines {
            text.push_str(&format!("    {line}\n"));
        }
        text.push_str(&format!("    {}\n", part.place));
    }
    text.push_str(if past.events.is_empty() { "\nNo later document on record changed it.\n" } else { "\n" });
    for event in &past.events {
        text.push_str(&format!("{}  {} ({})\n    {}\n", event.at, event.what, event.document, event.place));
    }
    outlet.print(&text);
    Ended::Well
}
