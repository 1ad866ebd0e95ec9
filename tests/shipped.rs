//! The rulebooks that are shipped: all of them, and without a blemish.

#![allow(clippy::unwrap_used, clippy::panic)]

use std::collections::BTreeMap;
use std::path::Path;
use whereas::diag::{Look, render};
use whereas::session::{EXAMPLES, RULEBOOKS, Session};

fn below(folder: &Path, prefix: &str, found: &mut BTreeMap<String, String>) {
    for entry in std::fs::read_dir(folder).unwrap() {
        let path = entry.unwrap().path();
        let name = format!("{prefix}{}", path.file_name().unwrap().to_str().unwrap());
        if path.is_dir() {
            below(&path, &format!("{name}/"), found);
        } else if name.ends_with(".rulebook") {
            found.insert(name, std::fs::read_to_string(&path).unwrap());
        }
    }
}

#[test]
fn every_file_is_shipped_as_it_stands() {
    let mut files = BTreeMap::new();
    below(&Path::new(env!("CARGO_MANIFEST_DIR")).join("rulebooks"), "", &mut files);
    let shipped: BTreeMap<String, String> =
        RULEBOOKS.iter().chain(EXAMPLES).map(|(name, text)| (name.to_string(), text.to_string())).collect();
    let listed = RULEBOOKS.len() + EXAMPLES.len();
    assert_eq!(shipped.len(), listed, "a file is listed twice in src/session/shipped.rs");
    let names = |map: &BTreeMap<String, String>| map.keys().cloned().collect::<Vec<_>>();
    assert_eq!(names(&files), names(&shipped), "list every rulebook in src/session/shipped.rs");
    assert!(files == shipped, "a rulebook differs from the embedded one");
}

#[test]
fn no_rulebook_and_no_edition_gives_any_diagnostic() {
    let (session, found) = Session::shipped();
    assert!(found.is_empty(), "{}", render(&found, session.sources(), &Look::default()));
    let editions = session.editions();
    assert!(!editions.is_empty());
    for book in editions {
        let (program, found) = session.open(&format!("{} {}", book.family, book.year));
        assert!(found.is_empty(), "{}", render(&found, session.sources(), &Look::default()));
        assert!(!program.sections.is_empty(), "{} {} is empty", book.family, book.year);
    }
}
