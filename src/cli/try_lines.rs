//! `whereas try`: opens the trial, and takes its lines from a pipe. At a terminal [`super::try_terminal`] takes over.

use super::Ended;
use super::args::{TryArguments, Whereabouts};
use super::outlet::Outlet;
use super::{try_files, try_terminal};
use crate::session::Session;
use crate::trial::{Mood, Reply, Trial, is_unfinished};
use std::io::{BufRead, IsTerminal};
use std::path::PathBuf;

/// The most bytes of one statement.
const MOST_BYTES: usize = 16 << 20;

pub(super) fn run(arguments: TryArguments, outlet: &mut Outlet) -> Ended {
    let Some(session) = outlet.session(&arguments.rules) else { return Ended::Failed };
    let books = match arguments.under {
        Some(under) => vec![under],
        None => latest(&session),
    };
    if books.is_empty() {
        outlet.fail("no edition is loaded");
        return Ended::Failed;
    }
    let Some((mut trial, replies)) = begun(session, &books, &arguments.files, outlet) else { return Ended::Failed };
    let failed = replies.iter().any(|reply| reply.mood == Mood::Failed);
    // At a terminal the greeting tells what was loaded.
    let terminal = std::io::stdin().is_terminal();
    for reply in replies.iter().filter(|reply| reply.mood == Mood::Failed || !terminal) {
        print(reply, outlet);
    }
    if failed {
        return Ended::Failed;
    }
    if let Some(line) = whereabouts(&arguments.whereabouts) {
        let reply = heard(&mut trial, &line, outlet);
        print(&reply, outlet);
        if reply.mood == Mood::Failed {
            return Ended::Failed;
        }
    }
    trial.settle();
    if terminal {
        return try_terminal::run(trial, outlet);
    }
    from_pipe(&mut trial, outlet)
}

/// The latest edition of each family, in the order in which they are loaded.
fn latest(session: &Session) -> Vec<String> {
    let editions = session.editions();
    let mut families: Vec<&str> = Vec::new();
    for book in &editions {
        if !families.contains(&book.family.as_str()) {
            families.push(&book.family);
        }
    }
    let last = |family: &&str| editions.iter().rev().find(|book| book.family == **family);
    families.iter().filter_map(last).map(|book| format!("{} {}", book.family, book.year)).collect()
}

/// A trial with the files loaded, under the first of the books that they fit, and what it said of them; under the first
/// of all if they fit none. None if no book opens.
fn begun(
    mut session: Session,
    books: &[String],
    files: &[PathBuf],
    outlet: &mut Outlet,
) -> Option<(Trial, Vec<Reply>)> {
    for (at, under) in books.iter().chain(books.first().filter(|_| books.len() > 1)).enumerate() {
        let mut trial = match Trial::new(session, under) {
            Ok(trial) => trial,
            Err((session, diagnostics)) => {
                outlet.complain(&diagnostics, &session);
                return None;
            }
        };
        let mut replies: Vec<Reply> = Vec::new();
        for file in files {
            if replies.iter().all(|reply| reply.mood != Mood::Failed) {
                replies.push(heard(&mut trial, &format!("load {}", file.display()), outlet));
            }
        }
        let fits = replies.iter().all(|reply| reply.mood != Mood::Failed);
        if fits || at == books.len() || books.len() == 1 {
            return Some((trial, replies));
        }
        session = trial.into_session();
    }
    None
}

/// The line that takes the book which governs in the place asked for; none if none is.
fn whereabouts(asked: &Whereabouts) -> Option<String> {
    let words = [("of", &asked.family), ("in", &asked.place), ("on", &asked.date), ("by", &asked.clock)];
    let said: Vec<String> =
        words.into_iter().filter_map(|(word, value)| Some(format!(" {word} {}", value.as_ref()?))).collect();
    (!said.is_empty()).then(|| format!("under what governs{}", said.concat()))
}

/// Says one line to the trial, does what it asks for, and prints what it replies.
pub(super) fn say(trial: &mut Trial, line: &str, outlet: &mut Outlet) -> Mood {
    let reply = heard(trial, line, outlet);
    print(&reply, outlet);
    reply.mood
}

/// Says one line to the trial, and does what it asks for.
fn heard(trial: &mut Trial, line: &str, outlet: &Outlet) -> Reply {
    let look = outlet.out_look();
    let mut reply = trial.line(line, &look);
    while let Some(request) = reply.request.take() {
        let by = try_files::fulfil(&request);
        let before = std::mem::replace(&mut reply, trial.fulfilled(&request, by, &look));
        reply.text = before.text + &reply.text;
    }
    reply
}

fn print(reply: &Reply, outlet: &mut Outlet) {
    if reply.mood == Mood::Failed && !(std::io::stdin().is_terminal() && std::io::stdout().is_terminal()) {
        outlet.print_to_errors(&reply.text);
    } else {
        outlet.print(&reply.text);
    }
}

/// Lines from standard input, without a prompt.
fn from_pipe(trial: &mut Trial, outlet: &mut Outlet) -> Ended {
    let mut ended = Ended::Well;
    let mut text = String::new();
    let mut bytes = Vec::new();
    let mut input = std::io::stdin().lock();
    loop {
        bytes.clear();
        match input.read_until(b'\n', &mut bytes) {
            Ok(0) => break,
            Ok(_) => {}
            Err(error) => {
                outlet.fail(&format!("cannot read standard input: {error}"));
                return Ended::Failed;
            }
        }
        // Bytes that are no text are refused by the reader of the line, as U+FFFD.
        text.push_str(&String::from_utf8_lossy(&bytes));
        if is_unfinished(&text) && text.len() < MOST_BYTES {
            continue;
        }
        match say(trial, std::mem::take(&mut text).trim_end_matches(['\r', '\n']), outlet) {
            Mood::Done => {}
            Mood::Failed => ended = Ended::Failed,
            Mood::Ended => return ended,
        }
    }
    if !text.trim().is_empty() {
        let reply = trial.broken_off(&text, &outlet.err_look());
        outlet.print_to_errors(&reply.text);
        ended = Ended::Failed;
    }
    ended
}
