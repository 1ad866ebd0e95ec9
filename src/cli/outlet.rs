//! Where output goes and how it looks there; reading of files and folders.

use super::args::{ColourWhen, Rules};
use crate::diag::{self, Charset, Code, Colour, Diagnostic, Diagnostics, Look};
use crate::session::Session;
use std::io::{IsTerminal, Read, Write};
use std::path::Path;

/// The look of standard output and of standard error.
pub(super) struct Outlet {
    colour: ColourWhen,
    width: Option<usize>,
}

/// The most bytes one text may have, to be refused before it is read to the end.
const MOST_BYTES: u64 = 17 << 20;

impl Outlet {
    pub(super) fn new(colour: ColourWhen, width: Option<usize>) -> Outlet {
        Outlet { colour, width }
    }

    fn look(&self, terminal: bool) -> Look {
        let colour = match self.colour {
            ColourWhen::Always => true,
            ColourWhen::Never => false,
            ColourWhen::Auto => {
                let refused = std::env::var_os("NO_COLOR").is_some_and(|v| !v.is_empty());
                let dumb = std::env::var_os("TERM").is_some_and(|v| v == "dumb");
                terminal && !refused && !dumb
            }
        };
        let width = self.width.unwrap_or_else(|| {
            let columns = std::env::var("COLUMNS").ok().and_then(|c| c.parse().ok());
            let measured = if terminal { terminal_width() } else { None };
            measured.or(columns).unwrap_or(100)
        });
        let locale =
            ["LC_ALL", "LC_CTYPE", "LANG"].iter().find_map(|v| std::env::var(v).ok().filter(|v| !v.is_empty()));
        // Where no locale is stated a pipe is taken for UTF-8: rulebooks are.
        let utf8 = locale.is_none_or(|l| l.to_lowercase().replace('-', "").contains("utf8"));
        Look {
            colour: if colour { Colour::On } else { Colour::Off },
            width: width.clamp(40, 200),
            charset: if utf8 { Charset::Unicode } else { Charset::Ascii },
        }
    }

    /// The look of standard output.
    pub(super) fn out_look(&self) -> Look {
        self.look(std::io::stdout().is_terminal())
    }

    /// Prints to standard output. A closed pipe is a normal end.
    pub(super) fn print(&mut self, text: &str) {
        let mut out = std::io::stdout().lock();
        let _ = out.write_all(text.as_bytes()).and_then(|()| out.flush());
    }

    /// Prints drawn text to standard error.
    pub(super) fn print_to_errors(&mut self, text: &str) {
        let mut err = std::io::stderr().lock();
        let _ = err.write_all(text.as_bytes()).and_then(|()| err.flush());
    }

    /// The look of standard error.
    pub(super) fn err_look(&self) -> Look {
        self.look(std::io::stderr().is_terminal())
    }

    /// Prints diagnostics to standard error.
    pub(super) fn complain(&mut self, diagnostics: &Diagnostics, session: &Session) {
        if diagnostics.is_empty() {
            return;
        }
        let text = diag::render(diagnostics, session.sources(), &self.look(std::io::stderr().is_terminal()));
        let mut err = std::io::stderr().lock();
        let _ = err.write_all(text.as_bytes()).and_then(|()| err.flush());
    }

    /// Says in one line what could not be done.
    pub(super) fn fail(&mut self, what: &str) {
        let mut err = std::io::stderr().lock();
        let _ = writeln!(err, "whereas: {what}");
    }

    /// Writes a file that must not exist yet: whole or not at all. False, with the reason said, if it cannot.
    pub(super) fn write_new(&mut self, path: &Path, text: &str) -> bool {
        let file = std::fs::File::create_new(path);
        let written = file.and_then(|mut file| {
            let done = file.write_all(text.as_bytes()).and_then(|()| file.sync_all());
            if done.is_err() {
                // Half a rulebook is worse than none.
                let _ = std::fs::remove_file(path);
            }
            done
        });
        match written {
            Ok(()) => true,
            Err(error) if error.kind() == std::io::ErrorKind::AlreadyExists => {
                self.fail(&format!("{} exists already and is left as it is; name another file", path.display()));
                false
            }
            Err(error) => {
                self.fail(&format!("cannot write {}: {error}", path.display()));
                false
            }
        }
    }

    /// Replaces what a file holds: written beside it and put in its place, so that it is never half there. False, with the
    /// reason said, if it cannot.
    pub(super) fn write_over(&mut self, path: &Path, text: &str) -> bool {
        match replace(path, text) {
            Ok(()) => true,
            Err(error) => {
                self.fail(&format!("cannot write {}: {error}", path.display()));
                false
            }
        }
    }

    /// The bytes of a file, or of standard input for `-`.
    pub(super) fn read(&mut self, path: &Path) -> Option<Vec<u8>> {
        let mut bytes = Vec::new();
        let result = if path.as_os_str() == "-" {
            std::io::stdin().lock().take(MOST_BYTES).read_to_end(&mut bytes)
        } else {
            std::fs::File::open(path).and_then(|file| file.take(MOST_BYTES).read_to_end(&mut bytes))
        };
        match result {
            Ok(_) => Some(bytes),
            Err(error) => {
                self.fail(&format!("cannot read {}: {error}", path.display()));
                None
            }
        }
    }

    /// Adds rulebooks given one by one; false if they cannot be used.
    pub(super) fn add_rulebooks<'p>(&mut self, session: &mut Session, files: impl Iterator<Item = &'p Path>) -> bool {
        let mut diagnostics = Diagnostics::new();
        for file in files {
            let Some(bytes) = self.read(file) else { return false };
            diagnostics.extend(session.add_rulebook(&file.display().to_string(), bytes));
        }
        self.complain(&diagnostics, session);
        !diagnostics.has_errors()
    }

    /// [`Outlet::session`] with the shipped examples beside the shipped rulebooks.
    pub(super) fn session_with_examples(&mut self, rules: &Rules) -> Option<Session> {
        let mut session = self.session(rules)?;
        if rules.folders.is_empty() {
            let diagnostics = session.add_shipped_examples();
            self.complain(&diagnostics, &session);
            if diagnostics.has_errors() {
                return None;
            }
        }
        Some(session)
    }

    /// A session with the rulebooks asked for; none if they cannot be used.
    pub(super) fn session(&mut self, rules: &Rules) -> Option<Session> {
        let (mut session, mut diagnostics) = match rules.folders.is_empty() {
            true => Session::shipped(),
            false => (Session::empty(), Diagnostics::new()),
        };
        for folder in &rules.folders {
            self.load(folder, &mut session, &mut diagnostics)?;
        }
        for path in &rules.own {
            if path.is_dir() {
                self.load(path, &mut session, &mut diagnostics)?;
            } else {
                let bytes = self.read(path)?;
                diagnostics.extend(session.add_rulebook(&path.display().to_string(), bytes));
            }
        }
        self.complain(&diagnostics, &session);
        (!diagnostics.has_errors()).then_some(session)
    }

    /// Adds the rulebooks of a folder; none if it cannot be read.
    fn load(&mut self, folder: &Path, session: &mut Session, diagnostics: &mut Diagnostics) -> Option<()> {
        let mut files = Vec::new();
        if let Err(error) = collect(folder, 0, &mut files) {
            self.fail(&format!("cannot read the folder {}: {error}", folder.display()));
            return None;
        }
        files.sort();
        if files.is_empty() {
            let title = format!("no rulebook in {}", folder.display());
            diagnostics.push(Diagnostic::error(Code::NoRules, title).help("rulebooks end in .rulebook"));
        }
        let mut texts = Vec::new();
        for file in files {
            let bytes = self.read(&file)?;
            texts.push((file.display().to_string(), bytes));
        }
        diagnostics.extend(session.add_rulebooks(texts));
        Some(())
    }
}

fn replace(path: &Path, text: &str) -> std::io::Result<()> {
    // A link stays a link.
    let path = std::fs::canonicalize(path)?;
    let permissions = std::fs::metadata(&path)?.permissions();
    if permissions.readonly() {
        return Err(std::io::Error::new(std::io::ErrorKind::PermissionDenied, "the file is read-only"));
    }
    let name = path.file_name().map_or_else(Default::default, |name| name.to_string_lossy().into_owned());
    let beside = path.with_file_name(format!(".{name}.{}", std::process::id()));
    let mut file = std::fs::File::create_new(&beside)?;
    let done = file
        .write_all(text.as_bytes())
        .and_then(|()| file.set_permissions(permissions))
        .and_then(|()| file.sync_all())
        .and_then(|()| std::fs::rename(&beside, &path));
    if done.is_err() {
        let _ = std::fs::remove_file(&beside);
    }
    done
}

/// All rulebooks below a folder, to a bounded depth.
fn collect(folder: &Path, depth: usize, files: &mut Vec<std::path::PathBuf>) -> std::io::Result<()> {
    for entry in std::fs::read_dir(folder)? {
        let path = entry?.path();
        if path.is_dir() {
            if depth < 8 {
                collect(&path, depth + 1, files)?;
            }
        } else if path.extension().is_some_and(|e| e == "rulebook") {
            files.push(path);
        }
    }
    Ok(())
}

fn terminal_width() -> Option<usize> {
    terminal_size::terminal_size().map(|(width, _)| usize::from(width.0))
}
