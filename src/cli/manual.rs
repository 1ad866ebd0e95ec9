//! `whereas completions` and `whereas man`: what the arguments say, for a shell and for a reader.

use super::Ended;
use super::args::{CompletionsArguments, Line, ManArguments};
use super::outlet::Outlet;
use crate::diag::nearest;
use clap::CommandFactory;
use clap_mangen::Man;
use clap_mangen::roff::{Roff, bold, roman};
use std::io::Write;

/// Exit statuses, and what they mean.
const STATUSES: &[(&str, &str)] = &[
    ("0", "all that applies is met; the command did what it was asked"),
    (
        "1",
        "something is not met; for compare: an outcome differs; for rehearse: something came out otherwise than written; for tidy --check: a file is not tidy",
    ),
    (
        "2",
        "the work could not be done: a mistake in the facts, the rulebooks or the command, or a line of a trial that failed",
    ),
    (
        "3",
        "nothing is violated for certain, but something is undecided or for the authority; for govern: several books may \
         govern; for work: something is missing or disputed; for carry: some operations are for a person",
    ),
];

/// What the statuses mean of a command that says nothing of its own.
const PLAIN: &[(&str, &str)] = &[("0", "it is done"), ("2", "it could not be done")];

/// What the help of a command says before it tells its exit statuses.
const LEAD: &str = "Exit status: ";

/// What of the environment matters.
const ENVIRONMENT: &[(&str, &str)] = &[
    ("NO_COLOR", "if it is not empty there is no colour, unless --color always says so"),
    ("TERM", "dumb: no colour"),
    ("COLUMNS", "columns to fill where no terminal tells and --width is not given"),
    ("LC_ALL, LC_CTYPE, LANG", "a locale that is not UTF-8 draws with ASCII characters only"),
    ("XDG_STATE_HOME", "where the history of a trial is kept, in whereas/history; ~/.local/state if it is not set"),
    ("HOME", "what ~ stands for in the name of a file in a trial, and where ~/.local/state is"),
];

/// What the help of the whole program ends with.
pub(super) fn epilogue() -> String {
    let mut text = String::new();
    for (head, rows) in [("Exit status", STATUSES), ("Environment", ENVIRONMENT)] {
        if !text.is_empty() {
            text.push('\n');
        }
        text.push_str(&format!("{head}:\n"));
        for (word, about) in rows {
            text.push_str(&format!("  {word}\n          {about}\n"));
        }
    }
    text.trim_end().to_string()
}

pub(super) fn completions(arguments: &CompletionsArguments, outlet: &mut Outlet) -> Ended {
    let mut bytes = Vec::new();
    clap_complete::generate(arguments.shell, &mut Line::command(), "whereas", &mut bytes);
    outlet.print(&String::from_utf8_lossy(&bytes));
    Ended::Well
}

pub(super) fn run(arguments: &ManArguments, outlet: &mut Outlet) -> Ended {
    let mut whole = Line::command();
    whole.build();
    let page = match &arguments.command {
        None => page(whole),
        Some(name) => {
            let found = whole.get_subcommands().find(|c| c.get_name() == name).cloned();
            let Some(found) = found else {
                let known = whole.get_subcommands().map(clap::Command::get_name);
                match nearest(name, known) {
                    Some(near) => outlet.fail(&format!("there is no command `{name}`; did you mean `{near}`?")),
                    None => outlet.fail(&format!("there is no command `{name}`; `whereas help` lists all")),
                }
                return Ended::Failed;
            };
            page(found.display_name(format!("whereas {name}")))
        }
    };
    match page {
        Ok(bytes) => {
            outlet.print(&String::from_utf8_lossy(&bytes));
            Ended::Well
        }
        Err(error) => {
            outlet.fail(&format!("cannot write the manual page: {error}"));
            Ended::Failed
        }
    }
}

fn page(command: clap::Command) -> std::io::Result<Vec<u8>> {
    let mut bytes = Vec::new();
    let commands = command.has_subcommands();
    // What the help says of exit statuses gets a section of its own.
    let long = command.get_long_about().map(ToString::to_string).unwrap_or_default();
    let (about, told) = long.split_once(LEAD).unwrap_or((&long, ""));
    let command = command.after_long_help("");
    let command = match told.is_empty() {
        true => command,
        false => command.long_about(about.trim_end().to_string()),
    };
    let own = statuses(told);
    let man = Man::new(command).source(concat!("whereas ", env!("CARGO_PKG_VERSION"))).manual("Whereas");
    man.render_title(&mut bytes)?;
    man.render_name_section(&mut bytes)?;
    man.render_synopsis_section(&mut bytes)?;
    man.render_description_section(&mut bytes)?;
    man.render_options_section(&mut bytes)?;
    if commands {
        man.render_subcommands_section(&mut bytes)?;
    }
    match (commands, own.as_slice()) {
        (true, _) => section("EXIT STATUS", STATUSES, &mut bytes)?,
        (false, []) => section("EXIT STATUS", PLAIN, &mut bytes)?,
        (false, own) => section("EXIT STATUS", own, &mut bytes)?,
    }
    section("ENVIRONMENT", ENVIRONMENT, &mut bytes)?;
    let mut caution = Roff::default();
    caution.control("SH", ["CAUTION"]);
    caution.text([roman(crate::report::CAUTION)]);
    caution.to_writer(&mut bytes)?;
    bytes.flush()?;
    Ok(bytes)
}

/// `0 it is done; 2 it is not`, one row each. What follows of it behind a full stop stays with the last.
fn statuses(told: &str) -> Vec<(&str, &str)> {
    let mut rows: Vec<(&str, &str)> = Vec::new();
    for part in told.split("; ") {
        match part.trim().split_once(' ') {
            Some((status, about)) if status.len() == 1 && status.starts_with(|c: char| c.is_ascii_digit()) => {
                rows.push((status, about.trim_end_matches('.')));
            }
            Some(_) | None => {}
        }
    }
    rows
}

fn section(head: &str, rows: &[(&str, &str)], bytes: &mut Vec<u8>) -> std::io::Result<()> {
    let mut roff = Roff::default();
    roff.control("SH", [head]);
    for (word, about) in rows {
        roff.control("TP", []);
        roff.text([bold(*word)]);
        roff.text([roman(*about)]);
    }
    roff.to_writer(bytes)
}
