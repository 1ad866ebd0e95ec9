//! Every page of a diagnostic is true: its failing block leads to its code and to no other error, its mended block to
//! no diagnostic at all.
//!
//! A block's first word tells how it is read: `rulebook`, `facts`, `json`, `reading` (as `--reading` takes it) or `edition`
//! (as `--under` takes it), `place` (a place and a date, then facts), `work` (what `work` takes, then facts), `carry` (an amendment ` to ` a book) or `try` (lines of a trial); `rulebook given` is what
//! the other blocks of a page stand on. Blocks of `text` describe inputs
//! that no page can show; those inputs are built here.

#![allow(clippy::unwrap_used, clippy::panic)]

use std::path::PathBuf;
use std::process::{Command, Output};
use whereas::diag::{Code, Diagnostics, Look, render};
use whereas::rehearse::Wish;
use whereas::session::{Asked, FactsForm, Session, choose};
use whereas::trial::{Fulfilled, Mood, Over, Request, Trial, is_unfinished};

struct Block<'p> {
    reads: &'p str,
    role: &'p str,
    text: String,
}

fn blocks(page: &str) -> Vec<Block<'_>> {
    let mut found = Vec::new();
    let mut lines = page.lines();
    while let Some(line) = lines.next() {
        let Some(info) = line.strip_prefix("```") else { continue };
        let (reads, role) = info.split_once(' ').unwrap_or((info, ""));
        let text = lines.by_ref().take_while(|line| *line != "```").map(|line| format!("{line}\n")).collect();
        found.push(Block { reads, role, text });
    }
    found
}

fn run(page: Code, given: &str, block: &Block) -> (Session, Diagnostics) {
    let mut session = Session::empty();
    let rules = if block.reads == "rulebook" { &block.text } else { given };
    let mut found = session.add_rulebook("page.rulebook", rules.as_bytes().to_vec());
    if found.has_errors() {
        return (session, found);
    }
    let mut books: Vec<String> = session.editions().iter().map(|b| format!("{} {}", b.family, b.year)).collect();
    if block.reads == "edition" {
        books = vec![block.text.trim().to_string()];
    }
    // The facts of a page are read under its last edition.
    let mut program = Default::default();
    for book in books {
        let (opened, more) = session.open(&book);
        let news: Vec<_> = more.into_iter().filter(|d| !found.iter().any(|known| known == d)).collect();
        found.extend(news);
        program = opened;
    }
    if block.reads == "rulebook" {
        let news: Vec<_> = session.places().1.into_iter().filter(|d| !found.iter().any(|known| known == d)).collect();
        found.extend(news);
    }
    found.extend(session.rehearse(&[], &[], Wish::Run).1);
    if block.role != "given" && page.is_finding() {
        // What has no source or no example is told on the pages that are about that.
        let elsewhere = |code: Code| matches!(code, Code::NoSource | Code::NoExample) && code != page;
        let (review, more) = session.review(&[]);
        found.extend(more);
        found.extend(review.findings.into_iter().map(|f| f.diagnostic).filter(|d| !elsewhere(d.code)));
    }
    if found.has_errors() {
        return (session, found);
    }
    if block.reads == "place" {
        found.extend(governed(&mut session, &block.text));
    }
    if block.reads == "carry"
        && let Some((amendment, to)) = block.text.trim().split_once(" to ")
    {
        found.extend(session.carry(amendment, to).1);
        return (session, found);
    }
    let form = match block.reads {
        "facts" => FactsForm::Native,
        "json" => FactsForm::Json,
        "work" => {
            let (what, facts) = block.text.split_once('\n').unwrap();
            let (file, more) = session.read_facts("page", facts.as_bytes().to_vec(), FactsForm::Native);
            found.extend(more);
            let (installation, more) = session.install(&program, &[file]);
            found.extend(more);
            let choices = choose(&program, &[]).0;
            found.extend(session.work(&program, &installation, &choices, what).1);
            return (session, found);
        }
        "reading" => {
            found.extend(choose(&program, &[block.text.trim().to_string()]).1);
            return (session, found);
        }
        _ => return (session, found),
    };
    let (file, more) = session.read_facts("page", block.text.as_bytes().to_vec(), form);
    found.extend(more);
    if !found.has_errors() {
        found.extend(session.install(&program, &[file]).1);
    }
    (session, found)
}

/// The lines of a trial, said one after another: the codes of the last one's errors, if it is the only one that fails.
fn tried(given: &str, block: &Block) -> Result<String, String> {
    let mut session = Session::empty();
    let found = session.add_rulebook("page.rulebook", given.as_bytes().to_vec());
    assert!(!found.has_errors());
    let mut trial = Trial::new(session, "demo 2017").map_err(|_| "the book does not open".to_string())?;
    let look = Look::default();
    let mut statement = String::new();
    let mut failed = String::new();
    for line in block.text.lines() {
        statement += &format!("{line}\n");
        if is_unfinished(&statement) {
            continue;
        }
        if !failed.is_empty() {
            return Err(format!("a line fails before the last:\n{failed}"));
        }
        let mut reply = trial.line(&std::mem::take(&mut statement), &look);
        while let Some(request) = reply.request.take() {
            let by = match &request {
                Request::Read { .. } => Fulfilled::Failed("no such file".to_string()),
                Request::Write { path, over: Over::Refused, .. } if path.starts_with("there") => Fulfilled::Exists,
                Request::Write { .. } => Fulfilled::Written,
            };
            reply = trial.fulfilled(&request, by, &look);
        }
        if reply.mood == Mood::Failed {
            failed = reply.text;
        }
    }
    if !statement.is_empty() {
        failed = trial.broken_off(&statement, &look).text;
    }
    Ok(failed)
}

/// A place and a date, then facts: what governs there.
fn governed(session: &mut Session, text: &str) -> Diagnostics {
    let (first, facts) = text.split_once('\n').unwrap();
    let (place, date) = first.split_once(' ').unwrap();
    let (file, mut found) = session.read_facts("page", facts.as_bytes().to_vec(), FactsForm::Native);
    let asked = Asked { place: Some(place.to_string()), date: Some(date.to_string()), ..Asked::default() };
    let (selection, more) = session.govern(&asked, &mut vec![file]);
    found.extend(more);
    for book in selection.iter().flat_map(|s| &s.possible).flat_map(|p| &p.books) {
        found.extend(session.open_set(book).2);
    }
    found
}

fn drawn(session: &Session, found: &Diagnostics) -> String {
    render(found, session.sources(), &Look::default())
}

#[test]
fn failing_blocks_give_the_code_and_mended_blocks_nothing() {
    let mut wrong = String::new();
    for code in Code::all().iter() {
        let blocks = blocks(code.page());
        let given = blocks.iter().find(|b| b.role == "given").map_or("", |b| b.text.as_str());
        for block in &blocks {
            if block.reads == "try" {
                let errors: Vec<String> = match tried(given, block) {
                    Ok(text) => {
                        text.lines().filter_map(|l| l.split_once("error ")).map(|(_, e)| e.to_string()).collect()
                    }
                    Err(why) => vec![why],
                };
                let right = match block.role {
                    "fails" => !errors.is_empty() && errors.iter().all(|e| e.starts_with(code.as_str())),
                    _ => errors.is_empty(),
                };
                if !right {
                    wrong += &format!("{code}, try {}: {errors:?}\n", block.role);
                }
                continue;
            }
            let (session, found) = match block.role {
                "fails" | "mended" => run(*code, given, block),
                "given" => run(*code, "", block),
                "" if block.reads == "text" => continue,
                other => {
                    wrong += &format!("{code}: what is a block that is `{other}`?\n");
                    continue;
                }
            };
            let right = match block.role {
                "fails" => !found.is_empty() && found.iter().all(|d| d.code == *code),
                _ => found.is_empty(),
            };
            if !right {
                wrong += &format!("{code}, {} {}:\n{}\n", block.reads, block.role, drawn(&session, &found));
            }
        }
    }
    assert!(wrong.is_empty(), "{wrong}");
}

#[test]
fn every_code_is_shown_failing_here_or_on_its_page() {
    const BUILT_HERE: [Code; 8] = [
        Code::TooDeep,
        Code::FileTooLarge,
        Code::LineTooLong,
        Code::BadBytes,
        Code::NoFacts,
        Code::NoRules,
        Code::TooMuchOpen,
        Code::LayoutRefused,
    ];
    for code in Code::all() {
        let shown = blocks(code.page()).iter().any(|b| b.role == "fails");
        assert!(shown != BUILT_HERE.contains(code), "{code}");
    }
}

fn of_bytes(bytes: Vec<u8>) -> Vec<Code> {
    Session::empty().add_rulebook("built.rulebook", bytes).iter().map(|d| d.code).collect()
}

#[test]
fn too_deep() {
    let deep = format!("terms for demo\nkind k of outlet {}x{}\n", "{ any of ".repeat(300), " }".repeat(300));
    assert_eq!(of_bytes(deep.into_bytes()), [Code::TooDeep]);
}

#[test]
fn file_too_large() {
    let large = "# a comment line\n".repeat((17 << 20) / 17);
    assert_eq!(of_bytes(large.into_bytes()), [Code::FileTooLarge]);
}

#[test]
fn line_too_long() {
    let long = format!("terms for demo \"{}\"\n", "long ".repeat(100_000));
    assert_eq!(of_bytes(long.into_bytes()), [Code::LineTooLong]);
}

#[test]
fn bad_bytes() {
    assert_eq!(of_bytes(b"terms for demo \"caf\xe9\"\n".to_vec()), [Code::BadBytes]);
    assert_eq!(of_bytes(b"terms for demo \"a\x07\"\n".to_vec()), [Code::BadBytes]);
    assert_eq!(of_bytes(b"\xff\xfet\0e\0r\0m\0s\0".to_vec()), [Code::BadBytes]);
}

#[test]
fn too_much_open() {
    let clocks = ["a", "b", "c", "d", "e"];
    let mut text = "terms for demo\nthing project {\n".to_string();
    for clock in clocks {
        text += &format!("    {clock} : date\n");
    }
    text += "}\nthing outlet { height : length }\nedition demo 1\nsection 1 \"Height\" {\n    governs outlet\n";
    text += "    requires height at least 1 ft\n}\n";
    for clock in clocks {
        text += &format!("amendment of-{clock} to demo 1 {{\n");
        for year in 2000..2010 {
            text += &format!("    in force {year}-01-01 through {year}-06-30 by {clock}\n");
        }
        text += "}\n";
    }
    text +=
        "jurisdiction harbor {\n    base fixed by a\n    demo 1 with of-a, of-b, of-c, of-d, of-e from 2000-01-01\n}\n";
    let mut session = Session::empty();
    let mut found = session.add_rulebook("built.rulebook", text.into_bytes());
    let asked = Asked { place: Some("harbor".to_string()), ..Asked::default() };
    found.extend(session.govern(&asked, &mut Vec::new()).1);
    assert_eq!(found.iter().map(|d| d.code).collect::<Vec<_>>(), [Code::TooMuchOpen]);
}

#[test]
fn layout_refused() {
    // As long as a line may be, and then a step further in.
    let long = format!("notes \"{}\"", "x".repeat((64 << 10) - 8));
    let text = format!("section 1.1 \"A\" {{\n{long}\n}}\n");
    let mut session = Session::empty();
    let (fresh, found) = session.tidy("built.rulebook", text.into_bytes(), None);
    assert_eq!(fresh, None);
    assert_eq!(found.iter().map(|d| d.code).collect::<Vec<_>>(), [Code::LayoutRefused]);
}

fn whereas(arguments: &[&str]) -> Output {
    Command::new(env!("CARGO_BIN_EXE_whereas")).args(arguments).output().unwrap()
}

/// An empty folder, or a folder with one empty file, below the folder that cargo keeps for tests.
fn scratch(name: &str) -> PathBuf {
    let folder = PathBuf::from(env!("CARGO_TARGET_TMPDIR")).join(name);
    std::fs::create_dir_all(&folder).unwrap();
    folder
}

#[test]
fn no_facts() {
    let file = scratch("no-facts").join("nothing.facts");
    std::fs::write(&file, "# to be written\n").unwrap();
    let ended = whereas(&["inspect", &file.display().to_string(), "--under", "nec 2017"]);
    let said = String::from_utf8(ended.stderr).unwrap();
    assert_eq!(ended.status.code(), Some(2), "{said}");
    assert!(said.contains("E0602"), "{said}");
}

#[test]
fn no_rules() {
    let folder = scratch("no-rules").display().to_string();
    let ended = whereas(&["editions", "--rules", &folder]);
    let said = String::from_utf8(ended.stderr).unwrap();
    assert_eq!(ended.status.code(), Some(2), "{said}");
    assert!(said.contains("E0603"), "{said}");
}
