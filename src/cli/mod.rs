//! The command line: arguments in, text and an exit status out. A thin front over [`crate::session`] and
//! [`crate::report`]; the only module that reads files, standard input and the environment, and the only one that prints.

mod args;
mod carry;
mod compare;
mod facts;
mod govern;
mod inspect;
mod manual;
mod only;
mod outlet;
mod rehearse;
mod review;
mod tidy;
mod try_files;
mod try_lines;
mod try_terminal;
mod why;
mod work;

use args::{Command, Line};
use clap::Parser;
use outlet::Outlet;
use std::ffi::OsString;
use std::process::ExitCode;

/// How a run ended.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Ended {
    /// All that applies is met, or the command did what it was asked.
    Well,
    /// Something is not met.
    NotMet,
    /// The work could not be done.
    Failed,
    /// Nothing is violated, but something is undecided or for the authority.
    Open,
}

impl From<Ended> for ExitCode {
    fn from(ended: Ended) -> ExitCode {
        ExitCode::from(match ended {
            Ended::Well => 0,
            Ended::NotMet => 1,
            Ended::Failed => 2,
            Ended::Open => 3,
        })
    }
}

/// Runs one command line.
pub fn run(arguments: impl IntoIterator<Item = OsString>) -> ExitCode {
    let line = match Line::try_parse_from(arguments) {
        Ok(line) => line,
        Err(error) => {
            let wanted = !error.use_stderr();
            // A closed pipe while showing help is a normal end.
            let _ = error.print();
            return if wanted { Ended::Well } else { Ended::Failed }.into();
        }
    };
    // Rulebooks may nest as deep as the guard allows; a stated stack keeps that independent of the calling thread.
    let work = std::thread::Builder::new().stack_size(64 << 20).spawn(move || command(line));
    match work.map(std::thread::JoinHandle::join) {
        Ok(Ok(ended)) => ended.into(),
        Ok(Err(_)) | Err(_) => Ended::Failed.into(),
    }
}

fn command(line: Line) -> Ended {
    let mut outlet = Outlet::new(line.color, line.width);
    match line.command {
        Command::Inspect(arguments) => inspect::run(arguments, &mut outlet),
        Command::Govern(arguments) => govern::run(&arguments, &mut outlet),
        Command::Work(arguments) => work::run(&arguments, &mut outlet),
        Command::Compare(arguments) => compare::run(arguments, &mut outlet),
        Command::Try(arguments) => try_lines::run(arguments, &mut outlet),
        Command::Carry(arguments) => carry::run(&arguments, &mut outlet),
        Command::Facts(arguments) => facts::run(arguments, &mut outlet),
        Command::Why(arguments) => why::run(&arguments, &mut outlet),
        Command::Rehearse(arguments) => rehearse::run(&arguments, &mut outlet),
        Command::Review(arguments) => review::run(&arguments, &mut outlet),
        Command::Tidy(arguments) => tidy::run(&arguments, &mut outlet),
        Command::Completions(arguments) => manual::completions(&arguments, &mut outlet),
        Command::Man(arguments) => manual::run(&arguments, &mut outlet),
        Command::Editions(arguments) => inspect::editions(&arguments, &mut outlet),
    }
}
