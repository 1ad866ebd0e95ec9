//! The README does what it says: every block of its tour is run.
//!
//! A block of `facts` or `rulebook` is saved under the name beside that word; a block of `console` is a transcript that runs in
//! the folder of these files, with `examples` and `rulebooks` in reach. WHEREAS_BLESS=1 writes outputs anew.

#![allow(clippy::unwrap_used, clippy::panic)]

mod common;

use common::{blessing, difference, rerun_in, root, shell};
use serde_json::Value;
use std::path::PathBuf;

/// A fresh folder for the tour.
fn folder() -> PathBuf {
    let folder = PathBuf::from(env!("CARGO_TARGET_TMPDIR")).join("tour");
    let _ = std::fs::remove_dir_all(&folder);
    std::fs::create_dir_all(&folder).unwrap();
    for shared in ["examples", "rulebooks"] {
        std::os::unix::fs::symlink(root().join(shared), folder.join(shared)).unwrap();
    }
    folder
}

#[test]
fn every_block_of_the_readme_runs() {
    let readme = std::fs::read_to_string(root().join("README.md")).unwrap();
    let folder = folder();
    let mut fresh = String::new();
    let mut lines = readme.lines();
    let mut consoles = 0;
    while let Some(line) = lines.next() {
        fresh += &format!("{line}\n");
        let Some(info) = line.strip_prefix("```") else { continue };
        let block: String = lines.by_ref().take_while(|line| *line != "```").map(|line| format!("{line}\n")).collect();
        match info.split_once(' ') {
            Some(("facts" | "rulebook", name)) => {
                let file = folder.join(name);
                std::fs::create_dir_all(file.parent().unwrap()).unwrap();
                std::fs::write(file, &block).unwrap();
                fresh += &block;
            }
            None if info == "console" => {
                consoles += 1;
                fresh += &rerun_in(&folder, &block);
            }
            None if info == "sh" => fresh += &block,
            _ => panic!("what is a block of `{info}`?"),
        }
        fresh += "```\n";
    }
    assert!(consoles > 5);
    if fresh != readme {
        if blessing() {
            std::fs::write(root().join("README.md"), fresh).unwrap();
        } else {
            panic!("{}", difference("README.md", &readme, &fresh));
        }
    }
}

/// The first block holds the two commands that a newcomer types; cargo builds what they run in another profile.
#[test]
fn the_first_command_of_the_readme_is_true() {
    let readme = std::fs::read_to_string(root().join("README.md")).unwrap();
    let first = readme.split("```sh\n").nth(1).unwrap().lines().next().unwrap();
    let arguments = first.strip_prefix("cargo run --release -- ").unwrap();
    let said = shell(&format!("whereas {arguments}"));
    assert!(said.ends_with("[exit status 1]\n"), "{said}");
}

fn members(value: &Value, found: &mut std::collections::BTreeSet<String>) {
    match value {
        Value::Object(all) => {
            for (name, inner) in all {
                found.insert(name.clone());
                members(inner, found);
            }
        }
        Value::Array(all) => all.iter().for_each(|inner| members(inner, found)),
        _ => {}
    }
}

#[test]
fn every_member_of_the_json_is_described() {
    let readme = std::fs::read_to_string(root().join("README.md")).unwrap();
    let section = readme.split("\n## JSON\n").nth(1).unwrap().split("\n## ").next().unwrap();
    let mut found = std::collections::BTreeSet::new();
    for lesson in ["01-ordinary-metal-clad", "10-box-nobody-opened", "11-tall-luminaire"] {
        let said = shell(&format!("whereas inspect examples/clinic/{lesson}.facts --under 'nec 2017' --json"));
        let json = said.rsplit_once("[exit status").map_or(said.as_str(), |(json, _)| json);
        members(&serde_json::from_str(json).unwrap(), &mut found);
    }
    let missing: Vec<_> = found.iter().filter(|name| !section.contains(&format!("`{name}`"))).collect();
    assert!(missing.is_empty(), "the README does not describe {missing:?}");
}
