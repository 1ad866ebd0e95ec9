//! A trial at a terminal: editing, completion, hints, tints and a history of lines. What is said is decided in
//! [`crate::trial`].

use super::Ended;
use super::outlet::Outlet;
use super::try_lines::say;
use crate::diag::{Colour, Look};
use crate::trial::{Completion, Mood, Tint, Trial, is_unfinished, tints};
use rustyline::completion::{Completer, FilenameCompleter, Pair};
use rustyline::error::ReadlineError;
use rustyline::highlight::{CmdKind, Highlighter};
use rustyline::hint::Hinter;
use rustyline::history::FileHistory;
use rustyline::validate::{ValidationContext, ValidationResult, Validator};
use rustyline::{ColorMode, CompletionType, Config, Context, Editor, Helper};
use std::borrow::Cow;
use std::cell::RefCell;
use std::path::PathBuf;
use std::rc::Rc;

/// Lines kept from earlier trials.
const KEPT: usize = 2000;
/// So few candidates are told what they are.
const TOLD: usize = 12;

pub(super) fn run(trial: Trial, outlet: &mut Outlet) -> Ended {
    let look = outlet.out_look();
    let colour = match look.colour {
        Colour::On => ColorMode::Forced,
        Colour::Off => ColorMode::Disabled,
    };
    let trial = Rc::new(RefCell::new(trial));
    let config = Config::builder()
        .max_history_size(KEPT)
        .map(|b| b.history_ignore_space(true).completion_type(CompletionType::List).color_mode(colour).build());
    let editor = config.and_then(Editor::<Desk, FileHistory>::with_config);
    let mut editor = match editor {
        Ok(editor) => editor,
        Err(error) => {
            outlet.fail(&format!("cannot use this terminal: {error}"));
            return Ended::Failed;
        }
    };
    editor.set_helper(Some(Desk { trial: Rc::clone(&trial), files: FilenameCompleter::new(), look }));
    let history = history();
    if let Some(history) = &history {
        // No history yet, or none that can be read: one begins.
        let _ = editor.load_history(history);
    }
    outlet.print(&trial.borrow().greeting(&look));
    loop {
        let prompt = trial.borrow().prompt();
        match editor.readline(&prompt) {
            Ok(line) => {
                if line.trim().is_empty() {
                    continue;
                }
                let _ = editor.add_history_entry(line.as_str());
                keep(&mut editor, history.as_ref());
                if say(&mut trial.borrow_mut(), &line, outlet) == Mood::Ended {
                    break;
                }
            }
            // What was typed is given up; the trial goes on.
            Err(ReadlineError::Interrupted) => {}
            Err(ReadlineError::Eof) => break,
            Err(error) => {
                outlet.fail(&format!("cannot read the line: {error}"));
                return Ended::Failed;
            }
        }
    }
    Ended::Well
}

/// Where lines are kept: `whereas/history` in the state folder of the person.
fn history() -> Option<PathBuf> {
    let state = std::env::var_os("XDG_STATE_HOME").map(PathBuf::from).filter(|p| p.is_absolute());
    let state = state.or_else(|| Some(PathBuf::from(std::env::var_os("HOME")?).join(".local/state")))?;
    Some(state.join("whereas").join("history"))
}

/// Keeps the lines. A trial does not fail because its history cannot be written.
fn keep(editor: &mut Editor<Desk, FileHistory>, history: Option<&PathBuf>) {
    let Some(history) = history else { return };
    if let Some(folder) = history.parent() {
        let _ = std::fs::create_dir_all(folder);
    }
    let _ = editor.append_history(history);
}

/// What stands ready while a line is typed.
struct Desk {
    trial: Rc<RefCell<Trial>>,
    files: FilenameCompleter,
    look: Look,
}

impl Helper for Desk {}

impl Completer for Desk {
    type Candidate = Pair;

    fn complete(&self, line: &str, at: usize, context: &Context<'_>) -> rustyline::Result<(usize, Vec<Pair>)> {
        let Some(text) = line.get(..at) else { return Ok((at, Vec::new())) };
        match self.trial.borrow().complete(text) {
            Completion::File(_) => self.files.complete(line, at, context),
            Completion::Words(from, candidates) => {
                let told = candidates.len() <= TOLD;
                let pairs = candidates.into_iter().map(|c| {
                    let about: String = c.about.chars().take(60).collect();
                    let display =
                        if told && !about.is_empty() { format!("{}  {about}", c.text) } else { c.text.clone() };
                    Pair { display, replacement: c.text }
                });
                Ok((from, pairs.collect()))
            }
        }
    }
}

impl Hinter for Desk {
    type Hint = String;

    fn hint(&self, line: &str, at: usize, _: &Context<'_>) -> Option<String> {
        if at < line.len() {
            return None;
        }
        self.trial.borrow().hint(line)
    }
}

impl Highlighter for Desk {
    fn highlight<'l>(&self, line: &'l str, _: usize) -> Cow<'l, str> {
        if self.look.colour == Colour::Off {
            return Cow::Borrowed(line);
        }
        let mut text = String::with_capacity(line.len() * 2);
        for piece in tints(line) {
            let code = match piece.tint {
                Tint::Plain => None,
                Tint::Lead => Some("1"),
                Tint::Joint => Some("34"),
                Tint::Amount => Some("36"),
                Tint::Quote => Some("32"),
                Tint::Remark => Some("2"),
            };
            match code {
                Some(code) => text.push_str(&format!("\u{1b}[{code}m{}\u{1b}[0m", piece.text)),
                None => text.push_str(piece.text),
            }
        }
        Cow::Owned(text)
    }

    fn highlight_prompt<'b, 's: 'b, 'p: 'b>(&'s self, prompt: &'p str, _: bool) -> Cow<'b, str> {
        match self.look.colour {
            Colour::Off => Cow::Borrowed(prompt),
            Colour::On => Cow::Owned(format!("\u{1b}[1m{prompt}\u{1b}[0m")),
        }
    }

    fn highlight_hint<'h>(&self, hint: &'h str) -> Cow<'h, str> {
        match self.look.colour {
            Colour::Off => Cow::Borrowed(hint),
            Colour::On => Cow::Owned(format!("\u{1b}[2m{hint}\u{1b}[0m")),
        }
    }

    fn highlight_char(&self, _: &str, _: usize, _: CmdKind) -> bool {
        self.look.colour == Colour::On
    }
}

impl Validator for Desk {
    fn validate(&self, context: &mut ValidationContext<'_>) -> rustyline::Result<ValidationResult> {
        let unfinished = is_unfinished(context.input());
        Ok(if unfinished { ValidationResult::Incomplete } else { ValidationResult::Valid(None) })
    }
}
