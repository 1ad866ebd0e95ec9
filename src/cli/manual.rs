//! `whereas completions` and `whereas man`: what the arguments say, for a shell and for a reader.

use super::Ended;
use super::args::{CompletionsArguments, Line, ManArguments};
use super::outlet::Outlet;
use crate::diag::nearest;
use clap::CommandFactory;
use clap_mangen::Man;
use clap_mangen::roff::{Roff, bold, roman};
use std::io::Write;

/// Exit status of the commands that inspect, and what it means.
const STATUSES: &[(&str, &str)] = &[
    ("0", "all that applies is met; or the command did what it was asked"),
    ("1", "something is not met; for compare: an outcome differs; for tidy --check: a file is not tidy"),
    (
        "2",
        "the work could not be done: a mistake in the facts, the rulebooks or the command, or a line of a trial that failed",
    ),
    ("3", "nothing is violated for certain, but something is undecided or for the authority"),
];

/// What of the environment matters.
const ENVIRONMENT: &[(&str, &str)] = &[
    ("NO_COLOR", "if it is not empty there is no colour, unless --color always says so"),
    ("TERM", "dumb: no colour"),
    ("COLUMNS", "columns to fill where no terminal tells and --width is not given"),
    ("LC_ALL, LC_CTYPE, LANG", "a locale that is not UTF-8 draws with ASCII characters only"),
    ("XDG_STATE_HOME", "where the history of a trial is kept, in whereas/history; ~/.local/state if it is not set"),
];

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
    let man = Man::new(command);
    man.render_title(&mut bytes)?;
    man.render_name_section(&mut bytes)?;
    man.render_synopsis_section(&mut bytes)?;
    man.render_description_section(&mut bytes)?;
    man.render_options_section(&mut bytes)?;
    if commands {
        man.render_subcommands_section(&mut bytes)?;
    }
    section("EXIT STATUS", STATUSES, &mut bytes)?;
    section("ENVIRONMENT", ENVIRONMENT, &mut bytes)?;
    let mut caution = Roff::default();
    caution.control("SH", ["CAUTION"]);
    caution.text([roman(crate::report::CAUTION)]);
    caution.to_writer(&mut bytes)?;
    bytes.flush()?;
    Ok(bytes)
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
