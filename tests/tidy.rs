//! The layout of rulebooks and facts: it changes nothing that is said, it is settled after one time, and one spelling comes out
//! of all that say the same in the same lines. Over every file of this repository that reads, over drawn rulebooks and facts, and
//! over files whose blanks were disturbed. Then what a person sees of `whereas tidy`.

#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)]

#[path = "law/book.rs"]
#[allow(dead_code)]
mod book;
mod common;
#[path = "law/tape.rs"]
#[allow(dead_code)]
mod tape;
#[path = "law/world.rs"]
#[allow(dead_code)]
mod world;

use common::{root, shell_in};
use proptest::prelude::*;
use std::path::{Path, PathBuf};
use std::sync::LazyLock;
use tape::Tape;
use whereas::base::source::SourceId;
use whereas::diag::{Code, Look, render};
use whereas::session::Session;
use whereas::syntax;
use whereas::tidy::Kind;
use world::{Most, World};

// ---------------------------------------------------------------- what a text says

/// The tree without its places, and its comments; nothing if the text does not read.
fn says(kind: Kind, text: &str) -> Option<(String, Vec<String>)> {
    let (tree, comments) = match kind {
        Kind::Rulebook => {
            let (parsed, found) = syntax::parse_rulebook(SourceId(0), text);
            (!found.has_errors()).then(|| (format!("{:?}", parsed.tree), parsed.comments))?
        }
        Kind::Facts => {
            let (parsed, found) = syntax::parse_facts(SourceId(0), text);
            (!found.has_errors()).then(|| (format!("{:?}", parsed.tree), parsed.comments))?
        }
    };
    let mut parts = tree.split("Span { source: SourceId(0), start: ");
    let mut placeless = parts.next().unwrap().to_string();
    for part in parts {
        placeless.push_str(part.split_once('}').unwrap().1);
    }
    Some((placeless, comments.into_iter().map(|comment| comment.text).collect()))
}

fn tidy(kind: Kind, text: &str) -> String {
    let mut session = Session::empty();
    let (fresh, found) = session.tidy("a text", text.as_bytes().to_vec(), Some(kind));
    let Some(fresh) = fresh else { panic!("{}\n{text}", render(&found, session.sources(), &Look::default())) };
    assert!(found.is_empty());
    fresh
}

/// Lays a text out and holds it against all that is promised.
fn held(kind: Kind, text: &str) -> String {
    let fresh = tidy(kind, text);
    let (old, new) = (says(kind, text).unwrap(), says(kind, &fresh).expect("what was laid out reads"));
    // Numbers and steps keep the blanks they were written with in the tree.
    assert_eq!(single_blanks(&old.0), single_blanks(&new.0), "the tree changed\n{text}\n->\n{fresh}");
    assert_eq!(quoted(text), quoted(&fresh), "a quoted text changed");
    assert_eq!(old.1, new.1, "the comments changed");
    assert_eq!(tidy(kind, &fresh), fresh, "not settled after one time");
    for line in fresh.lines() {
        assert_eq!(line, line.trim_end(), "blanks at the end of a line");
        assert!(!line.trim_start().starts_with('\t'), "a tab");
    }
    assert!(!fresh.contains("\n\n\n") && !fresh.contains('\r') && !fresh.starts_with('\n') && !fresh.ends_with("\n\n"));
    assert!(fresh.is_empty() || fresh.ends_with('\n'));
    fresh
}

fn single_blanks(text: &str) -> String {
    text.split_ascii_whitespace().collect::<Vec<_>>().join(" ")
}

/// The quoted texts, byte by byte.
fn quoted(text: &str) -> Vec<String> {
    pieces(text).into_iter().filter(|p| p.starts_with('"')).collect()
}

/// A text cut into quoted texts, comments, line ends, other blanks, and what lies between.
fn pieces(text: &str) -> Vec<String> {
    let mut pieces = Vec::new();
    let mut rest = text;
    while let Some(first) = rest.chars().next() {
        let length = match first {
            '"' => rest[1..].find('"').map_or(rest.len(), |n| n + 2),
            '#' => rest.find('\n').unwrap_or(rest.len()),
            '\n' => 1,
            ' ' | '\t' | '\r' => rest.find(|c| !matches!(c, ' ' | '\t' | '\r')).unwrap_or(rest.len()),
            _ => rest.find(['"', '#', '\n', ' ', '\t', '\r']).unwrap_or(rest.len()),
        };
        pieces.push(rest[..length].to_string());
        rest = &rest[length..];
    }
    pieces
}

// ---------------------------------------------------------------- the files of this repository

fn below(folder: &Path, found: &mut Vec<PathBuf>) {
    let mut entries: Vec<_> = std::fs::read_dir(folder).unwrap().map(|e| e.unwrap().path()).collect();
    entries.sort();
    for path in entries {
        if path.is_dir() {
            below(&path, found);
        } else if Kind::of_file(&path.to_string_lossy()).is_some() {
            found.push(path);
        }
    }
}

/// Every file that reads, with its kind and text.
static FILES: LazyLock<Vec<(PathBuf, Kind, String)>> = LazyLock::new(|| {
    let mut paths = Vec::new();
    for folder in ["rulebooks", "examples", "tests"] {
        below(&root().join(folder), &mut paths);
    }
    let all = paths.into_iter().filter_map(|path| {
        let kind = Kind::of_file(&path.to_string_lossy())?;
        let text = std::fs::read_to_string(&path).ok()?;
        says(kind, &text).map(|_| (path, kind, text))
    });
    all.collect()
});

#[test]
fn every_file_says_the_same_when_it_is_tidy() {
    assert!(FILES.len() > 120, "{} files", FILES.len());
    for (path, kind, text) in FILES.iter() {
        println!("{}", path.display());
        let fresh = held(*kind, text);
        if !text.contains('\t') && !text.contains('\r') {
            assert_eq!(tidy(*kind, &text.replace('\n', "\r\n").replace("\r\n    ", "\r\n\t")), fresh);
        }
    }
}

#[test]
fn shipped_files_are_tidy() {
    let said = shell_in(&root(), "whereas tidy --check rulebooks examples");
    assert!(said.ends_with(" files tidy\n"), "{said}\nmend it with: whereas tidy rulebooks examples");
}

// ---------------------------------------------------------------- drawn texts

/// The same in the same lines with other blanks.
fn disturbed(text: &str, tape: &mut Tape) -> String {
    let mut all = String::new();
    if tape.chance(1) {
        all.push('\u{feff}');
    }
    let blanks = |tape: &mut Tape, least: usize| -> String {
        (0..least + tape.below(4)).map(|_| if tape.chance(1) { '\t' } else { ' ' }).collect()
    };
    let pieces = pieces(text);
    let mut at = 0;
    while at < pieces.len() {
        let piece = &pieces[at];
        if piece == "\n" {
            let ends = pieces[at..].iter().take_while(|p| *p == "\n").count();
            for _ in 0..if ends > 1 { 2 + tape.below(3) } else { 1 } {
                all.push_str(&blanks(tape, 0));
                all.push_str(if tape.chance(2) { "\r\n" } else { "\n" });
            }
            all.push_str(&blanks(tape, 0));
            at += ends;
            continue;
        }
        if piece.trim().is_empty() {
            all.push_str(&blanks(tape, 1));
        } else if piece.starts_with('"') || piece.starts_with('#') {
            all.push_str(piece);
        } else {
            for c in piece.chars() {
                if matches!(c, ',' | ';') && tape.chance(2) {
                    all.push_str(&blanks(tape, 0));
                }
                all.push(c);
            }
        }
        at += 1;
    }
    all
}

/// The same with further lines: behind braces and commas, before braces, and blank ones.
fn broken_up(text: &str, tape: &mut Tape) -> String {
    let mut all = String::new();
    for piece in pieces(text) {
        if piece.starts_with('"') || piece.starts_with('#') {
            all.push_str(&piece);
            continue;
        }
        for c in piece.chars() {
            if c == '}' && tape.chance(2) {
                all.push('\n');
            }
            all.push(c);
            let more = match c {
                '{' | ',' => tape.chance(2),
                '\n' => tape.chance(1),
                _ => false,
            };
            if more {
                all.push_str(if tape.chance(2) { "\n# so\n" } else { "\n" });
            }
        }
    }
    all
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 48, max_shrink_iters: 64, failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn one_spelling_comes_out_of_all(file in 0_usize..1000, tape in prop::collection::vec(any::<u8>(), 4000..8000)) {
        let (_, kind, text) = &FILES[file % FILES.len()];
        let other = disturbed(text, &mut Tape::new(&tape));
        prop_assert_eq!(held(*kind, &other), tidy(*kind, text));
    }

    #[test]
    fn lines_broken_anywhere_still_say_the_same(file in 0_usize..1000, tape in prop::collection::vec(any::<u8>(), 4000..8000)) {
        let (_, kind, text) = &FILES[file % FILES.len()];
        let other = broken_up(text, &mut Tape::new(&tape));
        prop_assert!(says(*kind, &other).is_some(), "the disturbance is wrong: {}", other);
        held(*kind, &other);
    }

    #[test]
    fn drawn_rulebooks_and_facts_hold(tape in prop::collection::vec(any::<u8>(), 200..1500)) {
        let mut drawn = Tape::new(&tape);
        let text = book::Book::draw(&mut drawn);
        let fresh = held(Kind::Rulebook, &text);
        prop_assert_eq!(held(Kind::Rulebook, &disturbed(&text, &mut drawn)), fresh);
        let mut world = World::draw(&mut drawn, Most { rooms: 2, circuits: 2, paths: 3, parts: 2 });
        world.learn(&mut drawn, 5);
        let facts = world.text();
        let fresh = held(Kind::Facts, &facts);
        prop_assert_eq!(held(Kind::Facts, &disturbed(&facts, &mut drawn)), fresh);
    }
}

// ---------------------------------------------------------------- how it looks

#[track_caller]
fn becomes(kind: Kind, text: &str, wanted: &str) {
    let fresh = held(kind, text);
    assert!(fresh == wanted, "{}", common::difference("the layout", wanted, &fresh));
}

#[test]
fn statements_are_set_in_and_their_marks_stand_in_a_margin() {
    becomes(
        Kind::Rulebook,
        r#"# Rules.


edition demo 2017   "Demo" memory
section 1.1 "Height"   about height{
  governs outlet
    when wet,dry seen "a"

      requires height at least  4 ft(1.2 m)   memory  disputed "b  c"

  unless Ex. 1 as high-up when in-a-place-that-is-so-high-up-that-nobody-gets-there is yes memory
(A)"One" { notes "x"  memory }
}
limit near=6 ft ( 1.8 m )
limit far = 20 ft
"#,
        r#"# Rules.

edition demo 2017 "Demo"                                                    memory

section 1.1 "Height" about height {
    governs outlet
    when wet, dry                                                           seen "a"

    requires height at least 4 ft (1.2 m)                                   memory  disputed "b  c"

    unless Ex. 1 as high-up when in-a-place-that-is-so-high-up-that-nobody-gets-there is yes    memory
    (A) "One" { notes "x"                                                   memory }
}

limit near = 6 ft (1.8 m)
limit far = 20 ft
"#,
    );
}

#[test]
fn what_spans_lines_has_its_braces_at_their_ends() {
    becomes(
        Kind::Rulebook,
        r#"kind k of outlet { any of { wet
dry } } memory
kind l of outlet { wet, dry }
kind m of outlet
  "both" { wet,

# and

      dry
   all of { (a)wet
   }}
"#
        .replace("kind m of outlet\n", "kind m of outlet")
        .as_str(),
        r#"kind k of outlet {
    any of {
        wet
        dry
    }
}    memory

kind l of outlet { wet, dry }

kind m of outlet "both" {
    wet,
        # and
        dry
    all of {
        (a) wet
    }
}
"#,
    );
}

#[test]
fn tables_things_and_readings_stand_in_columns() {
    becomes(
        Kind::Rulebook,
        r#"thing outlet as o "an outlet" {
  height: length,never negative "height"
    wet :yes-no
  a-name-that-is-far-too-long-for-this : yes-no "so"
}
thing room { wet: yes-no }
table 1 "T" by rating: current next row up, across metal: material, gives wire-size {
|copper|aluminum or copper-clad
15 A|14 AWG|12 AWG memory
100 A|8 AWG|-   memory
}
amount load of room: area in ft2 { each outlet:2 x 3 ft2 memory
}
reading r of outlet "Which?", disputed "x" {
one "first"{ wet }
three "the third"{ dry }
}
example "E" { given k
expect 1.1 of O1 {
wet|verdict
yes|not met
no|met
}
expect 1.1:2014 met|2017 not met
}
"#,
        r#"thing outlet as o "an outlet" {
    height : length, never negative "height"
    wet    : yes-no
    a-name-that-is-far-too-long-for-this : yes-no "so"
}

thing room { wet : yes-no }

table 1 "T" by rating: current next row up, across metal: material, gives wire-size {
          | copper | aluminum or copper-clad
     15 A | 14 AWG | 12 AWG    memory
    100 A | 8 AWG  | -         memory
}

amount load of room : area in ft2 {
    each outlet: 2 x 3 ft2                                                  memory
}

reading r of outlet "Which?", disputed "x" {
    one   "first"      { wet }
    three "the third"  { dry }
}

example "E" {
    given k
    expect 1.1 of O1 {
        wet | verdict
        yes | not met
        no  | met
    }
    expect 1.1: 2014 met | 2017 not met
}
"#,
    );
}

#[test]
fn what_is_granted_around_an_adoption_stands_under_it() {
    becomes(
        Kind::Rulebook,
        r#"jurisdiction lindal "State of Lindal" {
        base fixed by permit-application
    early from 2014-01-01 for the whole project if declared
  nec 2017 from 2018-07-01 memory
# so that nobody starts anew
early from 2018-04-01 for the whole project if declared
one-family,two-family stay on nec 2014
  nec 2020 from 2021-07-01
}
"#,
        r#"jurisdiction lindal "State of Lindal" {
    base fixed by permit-application
    early from 2014-01-01 for the whole project if declared
    nec 2017 from 2018-07-01                                                memory
        # so that nobody starts anew
        early from 2018-04-01 for the whole project if declared
        one-family, two-family stay on nec 2014
    nec 2020 from 2021-07-01
}
"#,
    );
}

#[test]
fn facts_keep_their_lines_and_comments_stand_under_one_another() {
    becomes(
        Kind::Facts,
        "\u{feff}\tproject \"Alder Street Clinic\"{ installation:2021-09-15 }\r\nspace exam-4 {\r\n\tuse: exam-room # by  its use\r\n\
         bed:none,\r\n wet:no      # told\r\n# alone\r\n   spaces: a,\r\n b}\r\nservice:none\r\n\r\n\r\n",
        "project \"Alder Street Clinic\" { installation: 2021-09-15 }\n\nspace exam-4 {\n    use: exam-room     # by  its use\n    \
         bed: none,\n    wet: no     # told\n    # alone\n    spaces: a,\n        b\n}\n\nservice: none\n",
    );
    becomes(Kind::Facts, "\n\n", "");
    becomes(Kind::Facts, "  # only this", "# only this\n");
}

#[test]
fn a_text_without_a_name_tells_what_it_is() {
    for (text, kind) in [
        ("# so\nedition demo 2017\n", Kind::Rulebook),
        ("project { place: \"Harbor\" }\n", Kind::Facts),
        ("thing outlet { wet: yes-no }\n", Kind::Rulebook),
        // Something may be called a section.
        ("section north { use: yes }\n", Kind::Facts),
        ("outlet O1 { wet: yes }\n", Kind::Facts),
        ("", Kind::Facts),
    ] {
        assert_eq!(Kind::of_text(text), kind, "{text}");
    }
}

#[test]
fn what_does_not_read_is_told_whole() {
    let text = "section 1.1 \"A\" {\n    requires requires\n    when when\n}\n";
    let (fresh, found) = Session::empty().tidy("x.rulebook", text.as_bytes().to_vec(), None);
    assert_eq!(fresh, None);
    assert_eq!(found.iter().map(|d| d.code).collect::<Vec<_>>(), [Code::UnexpectedText, Code::UnexpectedText]);
    let (fresh, found) = Session::empty().tidy("x.rulebook", b"terms \xff".to_vec(), None);
    assert_eq!(fresh, None);
    assert_eq!(found.iter().map(|d| d.code).collect::<Vec<_>>(), [Code::BadBytes]);
}

// ---------------------------------------------------------------- the command

const TIDY: &str = "section 1.1 \"Height\" {\n    governs outlet\n    requires wet\n}\n";
const UNTIDY: &str = "section 1.1 \"Height\" {\n  governs outlet\n    requires wet\n}\n";
const BROKEN: &str = "section 1.1 \"Height\" {\n  governs governs\n  requires (\n}\n";

/// An empty folder of that name.
fn scratch(name: &str) -> PathBuf {
    let folder = PathBuf::from(env!("CARGO_TARGET_TMPDIR")).join("tidy").join(name);
    let _ = std::fs::remove_dir_all(&folder);
    std::fs::create_dir_all(&folder).unwrap();
    folder
}

fn names(folder: &Path) -> Vec<String> {
    let mut all: Vec<_> =
        std::fs::read_dir(folder).unwrap().map(|e| e.unwrap().file_name().into_string().unwrap()).collect();
    all.sort();
    all
}

#[test]
fn a_check_shows_what_would_change_and_writes_nothing() {
    let folder = scratch("check");
    std::fs::write(folder.join("a.rulebook"), UNTIDY).unwrap();
    std::fs::write(folder.join("b.rulebook"), TIDY).unwrap();
    let said = shell_in(&folder, "whereas tidy --check a.rulebook b.rulebook");
    assert_eq!(
        said,
        "--- a.rulebook\n+++ a.rulebook\n@@ -1,4 +1,4 @@\n section 1.1 \"Height\" {\n-  governs outlet\n+    governs outlet\n     \
         requires wet\n }\n1 of 2 files not tidy\n[exit status 1]\n"
    );
    assert_eq!(std::fs::read_to_string(folder.join("a.rulebook")).unwrap(), UNTIDY);
    assert_eq!(shell_in(&folder, "whereas tidy --check b.rulebook"), "1 file tidy\n");
    // What is shown is a patch.
    let said = shell_in(&folder, "whereas tidy --check . --color always | head -3 | cat -v");
    assert!(said.starts_with("^[[31m--- ./a.rulebook^[[0m\n^[[32m+++ ./a.rulebook^[[0m\n^[[36m@@ "), "{said}");
    // Why a line is told at all, and nothing that a terminal obeys.
    std::fs::write(folder.join("c.facts"), "# a\u{1b}[2Jb\r\nservice: none\n").unwrap();
    let said = shell_in(&folder, "whereas tidy --check c.facts");
    assert!(said.contains("\n-# a\u{fffd}[2Jb\\r\n+# a\u{fffd}[2Jb\n service: none\n"), "{said}");
}

#[test]
fn files_are_laid_out_in_place() {
    use std::os::unix::fs::PermissionsExt;
    let folder = scratch("place");
    std::fs::create_dir_all(folder.join("deep/er")).unwrap();
    std::fs::create_dir_all(folder.join(".hidden")).unwrap();
    std::fs::write(folder.join("a.rulebook"), UNTIDY).unwrap();
    std::fs::set_permissions(folder.join("a.rulebook"), std::fs::Permissions::from_mode(0o640)).unwrap();
    std::fs::write(folder.join("deep/er/b.facts"), "service :none\n").unwrap();
    std::fs::write(folder.join(".hidden/c.rulebook"), UNTIDY).unwrap();
    std::fs::write(folder.join("d.txt"), UNTIDY).unwrap();
    std::os::unix::fs::symlink("a.rulebook", folder.join("link.rulebook")).unwrap();
    let said = shell_in(&folder, "whereas tidy link.rulebook . a.rulebook");
    assert_eq!(said, "laid out link.rulebook\nlaid out ./deep/er/b.facts\n2 of 2 files laid out anew\n");
    assert_eq!(std::fs::read_to_string(folder.join("a.rulebook")).unwrap(), TIDY);
    assert_eq!(std::fs::read_to_string(folder.join("deep/er/b.facts")).unwrap(), "service: none\n");
    assert_eq!(std::fs::read_to_string(folder.join(".hidden/c.rulebook")).unwrap(), UNTIDY);
    assert!(std::fs::symlink_metadata(folder.join("link.rulebook")).unwrap().is_symlink());
    assert_eq!(std::fs::metadata(folder.join("a.rulebook")).unwrap().permissions().mode() & 0o777, 0o640);
    assert_eq!(names(&folder), [".hidden", "a.rulebook", "d.txt", "deep", "link.rulebook"]);
    let written = std::fs::metadata(folder.join("a.rulebook")).unwrap().modified().unwrap();
    assert_eq!(shell_in(&folder, "whereas tidy ."), "2 files tidy\n");
    assert_eq!(std::fs::metadata(folder.join("a.rulebook")).unwrap().modified().unwrap(), written);
}

#[test]
fn what_does_not_read_is_left_and_the_rest_is_done() {
    let folder = scratch("broken");
    std::fs::write(folder.join("a.rulebook"), BROKEN).unwrap();
    std::fs::write(folder.join("b.rulebook"), UNTIDY).unwrap();
    std::fs::write(folder.join("c.rulebook"), "edition edition\nsection section\n").unwrap();
    for command in ["whereas tidy --check .", "whereas tidy ."] {
        let said = shell_in(&folder, command);
        assert!(said.contains("./a.rulebook") && said.contains("error E0111"), "{said}");
        assert_eq!(said.matches("error E0101").count(), 2, "{said}");
        assert!(said.contains("; 2 could not be done\n[exit status 2]\n"), "{said}");
    }
    assert_eq!(std::fs::read_to_string(folder.join("a.rulebook")).unwrap(), BROKEN);
    assert_eq!(std::fs::read_to_string(folder.join("b.rulebook")).unwrap(), TIDY);
    assert_eq!(names(&folder), ["a.rulebook", "b.rulebook", "c.rulebook"]);
}

#[test]
fn a_file_that_must_not_be_written_is_left() {
    use std::os::unix::fs::PermissionsExt;
    let folder = scratch("read-only");
    std::fs::write(folder.join("a.rulebook"), UNTIDY).unwrap();
    std::fs::set_permissions(folder.join("a.rulebook"), std::fs::Permissions::from_mode(0o444)).unwrap();
    let said = shell_in(&folder, "whereas tidy a.rulebook");
    assert_eq!(said, "whereas: cannot write a.rulebook: the file is read-only\n[exit status 2]\n");
    assert_eq!(std::fs::read_to_string(folder.join("a.rulebook")).unwrap(), UNTIDY);
    assert_eq!(names(&folder), ["a.rulebook"]);
}

#[test]
fn standard_input_is_printed() {
    let folder = scratch("input");
    assert_eq!(shell_in(&folder, "printf 'thing room{wet:yes-no}' | whereas tidy -"), "thing room { wet : yes-no }\n");
    assert_eq!(shell_in(&folder, "printf 'room r{wet:yes}' | whereas tidy -"), "room r { wet: yes }\n");
    assert_eq!(shell_in(&folder, "printf '' | whereas tidy -"), "");
    let said = shell_in(&folder, "printf 'room r{wet:yes}' | whereas tidy - --check");
    let missing = "\\ No newline at end of file\n";
    assert_eq!(
        said,
        format!(
            "--- standard input\n+++ standard input\n@@ -1 +1 @@\n-room r{{wet:yes}}\n{missing}+room r {{ wet: yes }}\n1 of 1 file not tidy\n\
             [exit status 1]\n"
        )
    );
    let said = shell_in(&folder, "printf 'room r{wet' | whereas tidy - 2>/dev/null");
    assert_eq!(said, "[exit status 2]\n");
}

#[test]
fn what_is_no_rulebook_and_no_facts_is_refused() {
    let folder = scratch("refused");
    std::fs::write(folder.join("a.json"), "{}").unwrap();
    std::fs::create_dir_all(folder.join("empty")).unwrap();
    assert_eq!(
        shell_in(&folder, "whereas tidy a.json"),
        "whereas: a.json is neither a rulebook (.rulebook) nor facts (.facts)\n[exit status 2]\n"
    );
    assert_eq!(
        shell_in(&folder, "whereas tidy empty"),
        "whereas: no rulebook and no facts in empty\n[exit status 2]\n"
    );
    let said = shell_in(&folder, "whereas tidy not-there.rulebook");
    assert!(
        said.starts_with("whereas: cannot read not-there.rulebook: ") && said.ends_with("[exit status 2]\n"),
        "{said}"
    );
    assert!(shell_in(&folder, "whereas tidy").ends_with("[exit status 2]\n"));
}
