//! Mistakes in rulebooks, each told where it is made: the files of `tests/diagnostics/`.
//!
//! Beside the line that causes it stands `#! CODE` and, if wanted, words that its title, labels or help must hold.
//! `#!^` speaks of the line above. A file gives exactly the diagnostics so announced. `house.rulebook` is loaded before
//! each of them.

#![allow(clippy::unwrap_used, clippy::panic)]

use std::path::{Path, PathBuf};
use whereas::diag::{Diagnostic, Look, render};
use whereas::session::Session;

fn folder() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/diagnostics")
}

struct Announced {
    line: usize,
    code: String,
    words: String,
}

fn announced(text: &str) -> Vec<Announced> {
    let mut all = Vec::new();
    for (number, line) in (1..).zip(text.lines()) {
        for said in line.split("#!").skip(1) {
            let (number, said) = match said.strip_prefix('^') {
                Some(said) => (number - 1, said),
                None => (number, said),
            };
            let (code, words) = said.trim().split_once(' ').unwrap_or((said.trim(), ""));
            all.push(Announced { line: number, code: code.to_string(), words: words.trim().to_string() });
        }
    }
    all
}

fn line_of(found: &Diagnostic, text: &str) -> usize {
    let at = found.place().map_or(0, |span| span.start as usize).min(text.len());
    1 + text[..at].matches('\n').count()
}

fn words_of(found: &Diagnostic) -> String {
    let labels = found.labels.iter().map(|l| l.text.as_str());
    let all: Vec<&str> = [found.title.as_str()].into_iter().chain(labels).chain(found.help.as_deref()).collect();
    all.join("\n")
}

#[test]
fn every_file_gives_what_it_announces() {
    let house = std::fs::read(folder().join("house.rulebook")).unwrap();
    let mut files: Vec<PathBuf> = std::fs::read_dir(folder()).unwrap().map(|entry| entry.unwrap().path()).collect();
    files.sort();
    let mut wrong = String::new();
    let mut cases = 0;
    for file in files.iter().filter(|f| !f.ends_with("house.rulebook")) {
        let text = std::fs::read_to_string(file).unwrap();
        let mut session = Session::empty();
        let clean = session.add_rulebook("house.rulebook", house.clone());
        assert!(clean.is_empty(), "{}", render(&clean, session.sources(), &Look::default()));
        let mut found = session.add_rulebook("case.rulebook", text.clone().into_bytes());
        if !found.has_errors() {
            found.extend(session.open("demo 2017").1);
        }
        let mut open: Vec<&Diagnostic> = found.iter().collect();
        let mut complaints = String::new();
        for wanted in announced(&text) {
            cases += 1;
            let at = open.iter().position(|d| {
                d.code.as_str() == wanted.code
                    && line_of(d, &text) == wanted.line
                    && words_of(d).contains(&wanted.words)
            });
            match at {
                Some(at) => drop(open.remove(at)),
                None => complaints += &format!("line {}: no {} {}\n", wanted.line, wanted.code, wanted.words),
            }
        }
        for left in open {
            complaints +=
                &format!("line {}: {} is not announced: {}\n", line_of(left, &text), left.code, words_of(left));
        }
        if !complaints.is_empty() {
            wrong += &format!("== {}\n{complaints}", file.file_name().unwrap().display());
        }
    }
    assert!(wrong.is_empty(), "{wrong}");
    assert!(cases >= 40, "{cases} cases");
}
