//! Findings of a review: each where it should be made, not where it should not, and taken out where it is said to be
//! intended; and the shipped rulebooks, which have none left.

#![allow(clippy::unwrap_used, clippy::panic)]

use std::process::{Command, Output};
use whereas::diag::{Code, Look, render};
use whereas::review::Review;
use whereas::session::Session;

/// A review of one text under all its editions.
fn reviewed(rules: &str) -> (Session, Review) {
    let mut session = Session::empty();
    let mut found = session.add_rulebook("a.rulebook", rules.as_bytes().to_vec());
    let (review, more) = session.review(&[]);
    found.extend(more);
    assert!(!found.has_errors(), "{}\n{rules}", render(&found, session.sources(), &Look::default()));
    (session, review)
}

/// Codes and titles of what is found. What has no source or no example is left out: most texts here have neither.
fn found(rules: &str) -> Vec<(Code, String)> {
    let (_, review) = reviewed(rules);
    let all = review.findings.into_iter().map(|f| (f.diagnostic.code, f.diagnostic.title));
    all.filter(|(code, _)| !matches!(code, Code::NoSource | Code::NoExample)).collect()
}

const TERMS: &str = r#"terms for demo "Demo"
choice device { receptacle, switch, luminaire
    group hand-worked = receptacle, switch
}
choice plate { steel, nylon, blank }
scale size { 14 AWG < 12 AWG < 10 AWG }
thing outlet {
    device : device
    cover  : plate, may be absent
    height : length, never negative
    depth  : length
    wet    : yes-no
    wire   : size
    fed-by : circuit, may be absent
    parts  : many part
}
thing part { long : length, never negative   bent : yes-no }
thing circuit { rating : current   spare : yes-no }
edition demo 2017 "Demo code"
section 9 "All fields are read" {
    governs outlet
    when cover is not none, depth more than 1 in, wire is 12 AWG, some part where bent, long more than 1 ft
    requires rating of fed-by at least 15 A, fed-by is spare, height at least 1 ft, wet, device is switch
}
"#;

/// A text after the terms above, which say nothing a review finds.
fn demo(rules: &str) -> String {
    // Fields of one thing stand on lines of their own.
    let terms = TERMS.replace("negative   bent", "negative\n bent").replace("current   spare", "current\n spare");
    format!("{terms}{rules}\n")
}

#[test]
fn the_terms_of_these_tests_have_no_findings() {
    assert_eq!(found(&demo("")), []);
}

/// For each code a text with that finding and no other; `<>` is where it is said to be intended.
const CASES: &[(Code, &str)] = &[
    (
        Code::ExceptionNever,
        "section 1 { governs outlet\n when wet\n requires height at least 1 ft\n unless Ex. 1 when not wet <>\n}",
    ),
    (
        Code::ExceptionNever,
        "section 1 { governs outlet\n requires height at least 1 ft\n unless Ex. 1 when height more than 2 ft <>\n}",
    ),
    (
        Code::ExceptionNever,
        "section 1 { governs outlet\n when wet\n requires height at least 1 ft\n \
         Ex. 1 when not wet instead requires height at least 2 ft <>\n}",
    ),
    (
        Code::ItemCovered,
        "section 1 { governs outlet\n requires height at least 1 ft where any of {\n (1) hand-worked\n \
         (2) device is switch, wet <>\n }\n}",
    ),
    (
        Code::ItemCovered,
        "section 1 { governs outlet\n when any of {\n height more than 2 ft\n height more than 3 ft <>\n }\n \
         requires wet\n}",
    ),
    (
        Code::ItemCovered,
        "section 1 { governs outlet\n requires wet\n unless Ex. 1 when wire at least 12 AWG\n \
         unless Ex. 2 when wire is 10 AWG <>\n}",
    ),
    (Code::AlwaysHolds, "section 1 { governs outlet\n when height at least 0 ft <>\n requires wet\n}"),
    (
        Code::AlwaysHolds,
        "section 1 { governs outlet\n when height more than 3 ft, height more than 2 ft <>\n requires wet\n}",
    ),
    (Code::AlwaysHolds, "section 1 { governs outlet\n when hand-worked\n requires device is not luminaire <>\n}"),
    (Code::AlwaysHolds, "section 1 { governs outlet\n requires any of {\n wet\n not wet\n } <>\n}"),
    (
        Code::NeverHolds,
        "section 1 { governs outlet\n when depth at least 5 ft, depth less than 3 ft <>\n requires wet\n}",
    ),
    (Code::NeverHolds, "section 1 { governs outlet\n when wire smaller than 14 AWG <>\n requires wet\n}"),
    (
        Code::NeverHolds,
        "section 1 { governs outlet\n when hand-worked\n requires any of {\n wet\n device is luminaire <>\n }\n}",
    ),
    (
        Code::NeverHolds,
        "section 1 { governs outlet\n when some part where long more than 2 ft, long less than 1 ft <>\n requires wet\n}",
    ),
    (
        Code::NeverHolds,
        "section 1 { governs outlet\n when low\n (A) { when height at least 5 ft <>\n requires wet }\n}\n\
         kind low of outlet { height less than 5 ft }",
    ),
    (
        Code::NeverHolds,
        "section 1 { governs outlet\n when at least 3 of parts where bent\n when fewer than 2 of parts where bent <>\n requires wet\n}",
    ),
    (Code::KindUnused, "kind low of outlet { height less than 5 ft } <>"),
    (Code::DefinitionUnused, "define twice of outlet = 2 x height <>"),
    (Code::TableUnread, "table 1.2 by device: device, no other size, gives length in in {\n switch | 15\n} <>"),
    (Code::TableUnread, "series 1.3 : current { 15 A, 20 A } <>"),
    (Code::LimitUnused, "limit reach = 6 ft (1.8 m) <>"),
    (
        Code::LimitRepeated,
        "limit reach = 6 ft (1.8 m)\nsection 1 { governs outlet\n (A) { when wet\n requires height at most reach }\n \
         (B) { when not wet\n requires height at most 6 ft (1.8 m) <> }\n}",
    ),
    (
        Code::RowOutOfReach,
        "section 1 { governs outlet\n requires height at least table 1.2 at switch\n}\n\
         table 1.2 by device: device, no other size, gives length in in {\n switch | 15\n luminaire | 20 <>\n}",
    ),
    (Code::NumberGap, "section 1 { governs outlet\n requires any of {\n (1) wet\n (3) height at least 1 ft <>\n }\n}"),
    (
        Code::NumberGap,
        "section 1 { governs outlet\n (a) { when wet\n requires height at least 1 ft }\n \
         (c) { when not wet\n requires height at least 2 ft\n <>\n }\n}",
    ),
    (Code::NumberGap, "section 1 { governs outlet\n requires wet\n unless Ex. 2 when hand-worked <>\n}"),
    (Code::DualDiffers, "section 1 { governs outlet\n requires height at least 3.5 ft (1.0 m) <>\n}"),
    (Code::VagueWord, "section 1 \"Adequate height\" { governs outlet\n requires height at least 3 ft\n <>\n}"),
    (
        Code::VagueWord,
        "section 1 { governs outlet\n requires high\n}\nkind high of outlet \"sufficiently high\" { height at least 3 ft } <>",
    ),
];

#[test]
fn each_finding_is_made_and_can_be_said_to_be_intended() {
    let mut wrong = String::new();
    for (code, text) in CASES {
        let bare = demo(&text.replace("<>", ""));
        let said = found(&bare);
        if said.len() != 1 || said[0].0 != *code {
            wrong += &format!("{code}: {said:?}\n{text}\n\n");
            continue;
        }
        let settled = demo(&text.replace("<>", &format!("intended {code} \"as the book has it\"")));
        let (session, review) = reviewed(&settled);
        let shown = review.text(session.sources(), &Look::default());
        let left: Vec<_> = review.findings.iter().map(|f| f.diagnostic.code).collect();
        let reasons: Vec<&str> = review.intended.iter().map(|one| one.reason.as_str()).collect();
        let counted = shown.trim_end().ends_with(&format!("1 intended: {code} 1"));
        if left.contains(code) || left.contains(&Code::IntendedIdle) || reasons != ["as the book has it"] || !counted {
            wrong += &format!("{code}, intended:\n{shown}\n{text}\n\n");
        }
    }
    assert!(wrong.is_empty(), "{wrong}");
}

#[test]
fn findings_about_the_vocabulary_can_be_said_to_be_intended() {
    let with = |field: &str, end: &str| {
        format!(
            "terms for demo\nchoice colour {{ green, white }} {end}\nthing outlet {{\n wet : yes-no\n {field}\n}}\n\
             edition demo 2017\nsection 1 {{ governs outlet\n requires wet\n}}\n"
        )
    };
    let codes = |text: &str| found(text).into_iter().map(|(code, _)| code).collect::<Vec<_>>();
    assert_eq!(codes(&with("", "")), [Code::ThingUnused]);
    assert_eq!(codes(&with("", "intended F0207 \"for amendments\"")), []);
    assert_eq!(codes(&with("shade : colour", "")), [Code::FieldUnread]);
    assert_eq!(codes(&with("shade : colour intended F0202 \"for amendments\"", "")), []);
    let vague = with("shade : colour \"suitable shade\"", "").replace("requires wet", "requires wet, green");
    assert_eq!(codes(&vague), [Code::VagueWord]);
    assert_eq!(codes(&vague.replace("shade\"", "shade\" intended F0401 \"the maker's word\"")), []);
    assert_eq!(codes(&vague.replace("colour \"", "colour, judgment \"the authority\" \"")), []);
}

/// Texts of which nothing is to be said.
const QUIET: &[&str] = &[
    // A paragraph narrows what it stands in.
    "section 1 { governs outlet\n when hand-worked\n (A) { when device is switch\n requires height at least 1 ft }\n}",
    // Absent is neither the one nor the other.
    "section 1 { governs outlet\n requires any of {\n cover is steel\n cover is nylon or blank, wet\n cover is none, wet\n }, wet\n}",
    "section 1 { governs outlet\n when cover is not steel or nylon or blank\n requires wet\n}",
    // A thing that may be absent is of no kind, and its fields are not compared.
    "section 1 { governs outlet\n when not fed-by is spare, rating of fed-by at least 15 A\n requires wet\n}",
    "section 1 { governs outlet\n when fed-by is not strong\n requires wet\n}\n\
     kind strong of circuit { not weak }\nkind weak of circuit { rating at most 15 A }",
    // What cannot be met where it applies is a prohibition.
    "section 1 { governs outlet\n when device is switch\n requires device is receptacle\n}",
    "section 1 { governs outlet\n when hand-worked, not wet\n prohibits device is switch\n}",
    // Ranges, bounds that meet, and limits in two systems.
    "section 1 { governs outlet\n when height is 1 ft through 2 ft\n requires depth at most 7 1/2 ft (2.3 m)\n}",
    "section 1 { governs outlet\n when height at most 6 ft (1.8 m)\n requires depth at least 18 in (450 mm)\n}",
    "section 1 { governs outlet\n when any of {\n height at most 3 ft (900 mm)\n height more than 6 ft (1.8 m)\n }\n requires wet\n}",
    // Each member of a list by itself.
    "section 1 { governs outlet\n when some part where bent\n when some part where not bent\n requires wet\n}",
    "section 1 { governs outlet\n when at least 2 of parts where bent\n when at most 3 of parts where bent\n requires wet\n}",
    // Other cases, each in its place.
    "section 1 { governs outlet\n requires all of {\n (1) if hand-worked: wet\n (2) if device is luminaire: height at least 7 ft\n }\n}",
    "section 1 { governs outlet\n requires height at least 1 ft\n unless Ex. 1 when wet\n unless Ex. 2 when hand-worked\n}",
    // An exception with an alternative excuses less than it applies to.
    "section 1 { governs outlet\n requires height at least 4 ft\n unless Ex. 1 when wet then height at least 3 ft is enough\n}",
    // Numbers that are reserved, that stand in a section of their own, or that count in another way.
    "section 1 { governs outlet\n (A) { when wet\n requires height at least 1 ft }\n (B) reserved\n (C) { requires depth at least 2 in }\n}",
    "section 1 { governs outlet\n (A) { when wet\n requires height at least 1 ft }\n (C) { requires depth at least 2 in }\n}\n\
     section 1(B) { governs outlet\n requires height at least 2 in\n}",
    "section 1 { governs outlet\n requires any of {\n (i) wet\n (ii) hand-worked\n (iii) height at least 1 ft\n }\n}",
    "section 1 { governs outlet\n requires any of {\n (1) wet\n (B) hand-worked\n }\n}",
    "section 1 { governs outlet\n requires all of {\n (1) height at least 1 ft\n (2) depth at least 2 in\n }\n \
     unless Ex. 2 to (1) when wet\n unless Ex. 1 to (2) when wet\n}",
    // A result that people want, and a limit that is named.
    "define twice of outlet, per 1.2 = 2 x height",
    "limit reach = 6 ft (1.8 m)\nsection 1 { governs outlet\n requires height at most reach\n}\nsection 2 { governs outlet\n requires depth at most 6 ft (1.8 m)\n}",
    // Every row of a table that is looked up by a field, or backwards.
    "section 1 { governs outlet\n requires height at least table 1.2 at device\n}\n\
     table 1.2 by device: device, no other size, gives length in in {\n switch | 15\n luminaire | 20\n}",
    // Trade words with a defined meaning.
    "section 1 \"Readily accessible and identified\" { governs outlet\n requires height at least 3 ft\n}",
];

#[test]
fn nothing_is_said_of_what_is_in_order() {
    let mut wrong = String::new();
    for text in QUIET {
        let said = found(&demo(text));
        if !said.is_empty() {
            wrong += &format!("{said:?}\n{text}\n\n");
        }
    }
    assert!(wrong.is_empty(), "{wrong}");
}

#[test]
fn what_one_edition_no_longer_uses_another_may() {
    let two = demo(
        "section 1 { governs outlet\n when low\n requires wet\n}\nkind low of outlet { height less than 5 ft }\n\
         edition demo 2020 follows demo 2017 {\n delete 1\n}",
    );
    assert_eq!(found(&two), []);
    // It holds in the later one only: the finding says under which.
    let later = demo(
        "section 1 { governs outlet\n when height more than 2 ft, depth at least 2 ft\n requires wet\n (A) { when depth less than 6 ft\n requires hand-worked }\n}\n\
         edition demo 2020 follows demo 2017 {\n in 1(A): depth was less than 6 ft, now less than 1 ft\n}",
    );
    let (session, review) = reviewed(&later);
    let text = review.text(session.sources(), &Look::default());
    assert!(text.contains("F0104") && text.contains("note: under demo 2020"), "{text}");
    let (only, _) = session.review(&["2017".to_string()]);
    assert_eq!(only.books, ["demo 2017"]);
    assert!(only.findings.iter().all(|f| f.diagnostic.code != Code::NeverHolds));
}

#[test]
fn a_paragraph_without_a_source_or_an_example() {
    let rules = |mark: &str, example: &str| {
        format!(
            "terms for demo\nthing outlet {{ wet : yes-no }}\nedition demo 2017\n\
             section 1 {{ governs outlet\n requires wet {mark}\n}}\nsection 2 {{ governs outlet\n prohibits dry {mark}\n}}\n\
             kind dry of outlet {{ not wet }}\nsection 3 {{ governs outlet\n notes \"marked\"  memory\n}}\n{example}"
        )
    };
    let codes = |text: &str| {
        let (_, review) = reviewed(text);
        review.findings.iter().map(|f| f.diagnostic.code).collect::<Vec<_>>()
    };
    assert_eq!(codes(&rules("", "")), [Code::NoSource, Code::NoSource, Code::NoExample]);
    assert_eq!(codes(&rules("memory", "")), [Code::NoExample]);
    // Where nothing at all has a mark it is said once.
    assert_eq!(codes(&rules("", "").replace("  memory", "")), [Code::NoSource, Code::NoExample]);
    let example = "example \"Dry\" {\n given outlet O { wet: no }\n expect 1 of O: not met\n expect everything else: not met\n}\n";
    assert_eq!(codes(&rules("memory", example)), [Code::NoExample]);
    assert_eq!(codes(&rules("memory", &example.replace("everything else", "2 of O"))), []);
    let settled = rules("memory", example).replace("prohibits dry", "intended F0403 \"drawn from 1\"\n prohibits dry");
    assert_eq!(codes(&settled), []);
    let unmarked = rules("", &example.replace("everything else", "2 of O"));
    let settled = unmarked
        .replace("requires wet", "intended F0402 \"our own rule\"\n requires wet")
        .replace("prohibits dry", "intended F0402 \"our own rule\"\n prohibits dry");
    assert_eq!(codes(&settled), []);
}

#[test]
fn an_intention_that_stands_for_nothing_is_a_finding() {
    let text = demo("section 1 { governs outlet\n requires wet    intended F0102 \"so the book\"\n}");
    let said = found(&text);
    assert_eq!(said.iter().map(|(code, _)| *code).collect::<Vec<_>>(), [Code::IntendedIdle]);
    assert!(said[0].1.contains("F0102"), "{said:?}");
    let said = found(&demo("section 1 { governs outlet\n requires wet    intended F0999 \"so the book\"\n}"));
    assert_eq!(said, [(Code::IntendedIdle, "there is no finding F0999".to_string())]);
    let said = found(&demo(
        "section 1 { governs outlet\n when height at least 0 ft    intended F0103 \" \"\n requires wet\n}",
    ));
    assert_eq!(said.iter().map(|(code, _)| *code).collect::<Vec<_>>(), [Code::IntendedIdle]);
    // Under one book only it is not known whether another needs it.
    let (session, _) = reviewed(&text);
    let (one, _) = session.review(&["demo 2017".to_string()]);
    assert!(one.findings.iter().all(|f| f.diagnostic.code != Code::IntendedIdle));
}

#[test]
fn an_intention_is_no_word_of_the_rule() {
    let rules = demo(
        "section 1 { governs outlet\n when height at least 0 ft  memory  intended F0103 \"so\"\n requires wet  seen \"a\"  intended F0102 \"b\"\n}",
    );
    let (session, _) = reviewed(&rules);
    let (program, _) = session.open("demo 2017");
    let words: Vec<&str> = program.origins.iter().map(|o| o.words.as_str()).collect();
    assert!(words.iter().all(|w| !w.contains("intended")), "{words:?}");
    // The word stays free for other uses.
    let named = "terms for demo\nthing outlet {\n intended : yes-no\n F0102 : yes-no\n}\nedition demo 2017\n\
                 section 1 { governs outlet\n when intended\n requires F0102\n}\n";
    assert_eq!(found(named), []);
}

#[test]
fn a_review_is_the_same_twice_and_whichever_file_comes_first() {
    let text = demo(
        "section 1 { governs outlet\n when depth at least 5 ft, depth less than 3 ft\n requires wet\n}\nlimit reach = 6 ft",
    );
    let (session, review) = reviewed(&text);
    let (_, again) = reviewed(&text);
    let json = review.json(session.sources());
    assert_eq!(json, again.json(session.sources()));
    assert_eq!(json["version"], 1);
    assert_eq!(json["books"][0], "demo 2017");
    assert_eq!(json["counts"]["F0104"]["found"], 1);
    let finding = &json["findings"][0];
    assert_eq!(finding["code"], "F0104");
    assert_eq!(finding["meaning"], Code::NeverHolds.meaning());
    assert_eq!(finding["severity"], "warning");
    assert_eq!(finding["books"][0], "demo 2017");
    assert_eq!(finding["labels"][0]["source"], "a.rulebook");
    assert!(finding["labels"][0]["line"].as_u64().is_some_and(|line| line > 20), "{finding:#}");
    assert_eq!(finding["page"], "whereas why F0104");
    assert!(json["caution"].as_str().is_some_and(|c| !c.is_empty()));
    let settled = text.replace("limit reach = 6 ft", "limit reach = 6 ft  intended F0205 \"for amendments\"");
    let (session, review) = reviewed(&settled);
    let json = review.json(session.sources());
    assert_eq!(json["intended"][0]["reason"], "for amendments");
    assert_eq!(json["intended"][0]["code"], "F0205");
    assert!(json["intended"][0]["said"]["line"].as_u64().is_some());
    assert_eq!(json["counts"]["F0205"]["intended"], 1);
}

// ------------------------------------------------------------------------------------------------ as shipped

/// Paragraphs that no shipped example speaks of yet. The list may only shrink.
const SILENT: &str = include_str!("data/review-without-example.txt");

#[test]
fn the_shipped_rulebooks_have_no_findings_left() {
    let (mut session, mut trouble) = Session::shipped();
    trouble.extend(session.add_shipped_examples());
    let (review, more) = session.review(&[]);
    trouble.extend(more);
    assert!(trouble.is_empty(), "{}", render(&trouble, session.sources(), &Look::default()));
    let (silent, other): (Vec<_>, Vec<_>) = review.findings.iter().partition(|f| f.diagnostic.code == Code::NoExample);
    let other: Vec<_> = other.iter().map(|f| (f.diagnostic.code, &f.diagnostic.title)).collect();
    assert!(other.is_empty(), "{other:#?}");
    let known: Vec<&str> = SILENT.lines().collect();
    let new: Vec<&str> =
        silent.iter().map(|f| f.diagnostic.title.as_str()).filter(|title| !known.contains(title)).collect();
    assert!(
        new.is_empty(),
        "no example speaks of these; write one, or list them in tests/data/review-without-example.txt: {new:#?}"
    );
    assert!(review.intended.len() > 20);
    assert!(review.intended.iter().all(|one| one.reason.len() > 9));
}

fn whereas(arguments: &[&str]) -> Output {
    Command::new(env!("CARGO_BIN_EXE_whereas")).args(arguments).output().unwrap()
}

#[test]
fn the_command_says_with_its_status_whether_anything_was_found() {
    let folder = std::path::PathBuf::from(env!("CARGO_TARGET_TMPDIR")).join("review");
    std::fs::create_dir_all(&folder).unwrap();
    let file = folder.join("a.rulebook");
    let run = |text: &str, more: &[&str]| {
        std::fs::write(&file, text).unwrap();
        let folder = folder.display().to_string();
        let mut arguments = vec!["review", "--rules", &folder];
        arguments.extend(more);
        let ended = whereas(&arguments);
        let out = String::from_utf8(ended.stdout).unwrap() + &String::from_utf8(ended.stderr).unwrap();
        (ended.status.code(), out)
    };
    let quiet = "terms for demo\nthing outlet { wet : yes-no }\nedition demo 2017\nsection 1 { governs outlet\n requires wet  memory\n}\n\
                 example \"Dry\" {\n given outlet O { wet: no }\n expect 1 of O: not met\n}\n";
    assert_eq!(run(quiet, &[]), (Some(0), "Nothing found\n".to_string()));
    let (status, out) = run(&quiet.replace("  memory", ""), &[]);
    assert_eq!(status, Some(1));
    assert!(out.ends_with("1 finding: F0402 1\n") && out.contains("whereas why F0402"), "{out}");
    let (status, out) = run(&quiet.replace("  memory", ""), &["--json"]);
    assert_eq!(status, Some(1));
    let json: serde_json::Value = serde_json::from_str(&out).unwrap();
    assert_eq!(json["counts"]["F0402"]["found"], 1);
    let (status, out) = run(&quiet.replace("requires wet", "requires wett"), &[]);
    assert_eq!(status, Some(2));
    assert!(out.contains("E02"), "{out}");
    let (status, out) = run(quiet, &["--under", "demo 2018"]);
    assert_eq!(status, Some(2));
    assert!(out.contains("E0601"), "{out}");
}
