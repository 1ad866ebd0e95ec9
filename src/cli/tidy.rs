//! `whereas tidy`: files laid out anew, or what would change.

use super::Ended;
use super::args::TidyArguments;
use super::outlet::Outlet;
use crate::diag::{Colour, Look};
use crate::session::Session;
use crate::tidy::Kind;
use similar::TextDiff;
use std::collections::BTreeSet;
use std::path::{Path, PathBuf};

/// Lines shown around a change.
const AROUND: usize = 2;

/// What has been done so far.
#[derive(Default)]
struct Count {
    files: usize,
    untidy: usize,
    failed: usize,
}

pub(super) fn run(arguments: &TidyArguments, outlet: &mut Outlet) -> Ended {
    let mut session = Session::empty();
    let mut count = Count::default();
    let (mut seen, mut input) = (BTreeSet::new(), false);
    for path in &arguments.paths {
        if path.as_os_str() == "-" {
            if !std::mem::replace(&mut input, true) {
                from_input(arguments, &mut session, &mut count, outlet);
            }
            continue;
        }
        let mut files = Vec::new();
        if !path.is_dir() {
            files.push(path.clone());
        } else if let Err(error) = collect(path, 0, &mut files) {
            outlet.fail(&format!("cannot read the folder {}: {error}", path.display()));
            count.failed += 1;
        } else if files.is_empty() {
            outlet.fail(&format!("no rulebook and no facts in {}", path.display()));
            count.failed += 1;
        }
        files.sort();
        for file in files {
            // One file may be named in several ways.
            if seen.insert(std::fs::canonicalize(&file).unwrap_or_else(|_| file.clone())) {
                one(&file, arguments, &mut session, &mut count, outlet);
            }
        }
    }
    if count.files > 0 || count.failed == 0 {
        let ended = summary(&count, arguments);
        if !input || arguments.check {
            outlet.print(&ended);
        }
    }
    match (count.failed, arguments.check && count.untidy > 0) {
        (0, false) => Ended::Well,
        (0, true) => Ended::NotMet,
        (_, _) => Ended::Failed,
    }
}

fn summary(count: &Count, arguments: &TidyArguments) -> String {
    let all = match count.files {
        1 => "1 file".to_string(),
        many => format!("{many} files"),
    };
    let left = match count.failed {
        0 => String::new(),
        failed => format!("; {failed} could not be done"),
    };
    match (count.untidy, arguments.check) {
        (0, _) if count.files == 0 => format!("nothing to tidy{left}\n"),
        (0, _) => format!("{all} tidy{left}\n"),
        (untidy, true) => format!("{untidy} of {all} not tidy{left}\n"),
        (untidy, false) => format!("{untidy} of {all} laid out anew{left}\n"),
    }
}

/// Standard input: printed as it should stand, or what would change.
fn from_input(arguments: &TidyArguments, session: &mut Session, count: &mut Count, outlet: &mut Outlet) {
    let Some((old, fresh)) = laid_out(Path::new("-"), "standard input", None, session, outlet) else {
        count.failed += 1;
        return;
    };
    count.files += 1;
    count.untidy += usize::from(old != fresh);
    if !arguments.check {
        outlet.print(&fresh);
    } else if old != fresh {
        let drawn = difference("standard input", &old, &fresh, &outlet.out_look());
        outlet.print(&drawn);
    }
}

/// One file.
fn one(path: &Path, arguments: &TidyArguments, session: &mut Session, count: &mut Count, outlet: &mut Outlet) {
    let shown = path.display().to_string();
    let Some(kind) = Kind::of_file(&shown) else {
        outlet.fail(&format!("{shown} is neither a rulebook (.rulebook) nor facts (.facts)"));
        count.failed += 1;
        return;
    };
    let Some((old, fresh)) = laid_out(path, &shown, Some(kind), session, outlet) else {
        count.failed += 1;
        return;
    };
    if old != fresh && arguments.check {
        let drawn = difference(&shown, &old, &fresh, &outlet.out_look());
        outlet.print(&drawn);
    } else if old != fresh && outlet.write_over(path, &fresh) {
        outlet.print(&format!("laid out {shown}\n"));
    } else if old != fresh {
        count.failed += 1;
        return;
    }
    count.files += 1;
    count.untidy += usize::from(old != fresh);
}

/// A text and how it should stand; nothing, with the reasons told, if that cannot be said.
fn laid_out(
    path: &Path,
    shown: &str,
    kind: Option<Kind>,
    session: &mut Session,
    outlet: &mut Outlet,
) -> Option<(String, String)> {
    let bytes = outlet.read(path)?;
    let (fresh, diagnostics) = session.tidy(shown, bytes.clone(), kind);
    outlet.complain(&diagnostics, session);
    let old = String::from_utf8(bytes).ok()?;
    fresh.map(|fresh| (old, fresh))
}

/// Rulebooks and facts below a folder, to a bounded depth; what is hidden is left alone.
fn collect(folder: &Path, depth: usize, files: &mut Vec<PathBuf>) -> std::io::Result<()> {
    for entry in std::fs::read_dir(folder)? {
        let path = entry?.path();
        if path.file_name().is_some_and(|name| name.to_string_lossy().starts_with('.')) {
            continue;
        }
        if path.is_dir() {
            if depth < 8 {
                collect(&path, depth + 1, files)?;
            }
        } else if Kind::of_file(&path.to_string_lossy()).is_some() {
            files.push(path);
        }
    }
    Ok(())
}

/// Lines that go and lines that come, with those around them.
fn difference(name: &str, old: &str, fresh: &str, look: &Look) -> String {
    let lines = TextDiff::from_lines(old, fresh);
    let plain = lines.unified_diff().context_radius(AROUND).header(name, name).to_string();
    let mut drawn = String::new();
    for line in plain.split_inclusive('\n') {
        let (line, end) = line.strip_suffix('\n').map_or((line, ""), |line| (line, "\n"));
        let colour = match (look.colour, line.as_bytes().first()) {
            (Colour::On, Some(b'-')) => "\u{1b}[31m",
            (Colour::On, Some(b'+')) => "\u{1b}[32m",
            (Colour::On, Some(b'@')) => "\u{1b}[36m",
            (Colour::On | Colour::Off, _) => "",
        };
        drawn.push_str(colour);
        for c in line.chars() {
            // What a comment holds must not reach the terminal as a command; a carriage return is why a line is told at all.
            match c {
                '\r' => drawn.push_str("\\r"),
                c if c.is_control() && c != '\t' => drawn.push('\u{fffd}'),
                c => drawn.push(c),
            }
        }
        if !colour.is_empty() {
            drawn.push_str("\u{1b}[0m");
        }
        drawn.push_str(end);
    }
    drawn
}
