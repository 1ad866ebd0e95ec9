//! Every page of a diagnostic is true: its failing block leads to its code and to no other error, its mended block to
//! no diagnostic at all.
//!
//! A block's first word tells how it is read: `rulebook`, `facts`, `json`, `reading` (as `--reading` takes it) or `edition`
//! (as `--under` takes it), `carry` (an amendment ` to ` a book); `rulebook given` is what the other blocks of a page stand on. Blocks of `text` describe inputs
//! that no page can show; those inputs are built here.

#![allow(clippy::unwrap_used, clippy::panic)]

use std::path::PathBuf;
use std::process::{Command, Output};
use whereas::diag::{Code, Diagnostics, Look, render};
use whereas::session::{FactsForm, Session, choose};

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

fn run(given: &str, block: &Block) -> (Session, Diagnostics) {
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
    if found.has_errors() {
        return (session, found);
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
            let (session, found) = match block.role {
                "fails" | "mended" => run(given, block),
                "given" => run("", block),
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
    const BUILT_HERE: [Code; 6] =
        [Code::TooDeep, Code::FileTooLarge, Code::LineTooLong, Code::BadBytes, Code::NoFacts, Code::NoRules];
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
