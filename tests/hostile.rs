//! No input makes the reader, the checker or the evaluator panic, hang or overflow; each gives a clear mistake, soon.
//!
//! Every case runs on a thread of 2 MiB, the least a test or a program may have, in whatever build the tests are.
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)]

use proptest::prelude::*;
use std::fmt::Write;
use std::sync::OnceLock;
use std::time::{Duration, Instant};
use whereas::diag::{Diagnostics, Severity};
use whereas::eval::{self, Choices};
use whereas::ir::program::Program;
use whereas::session::{FactsForm, RULEBOOKS, Session};

/// A bound against hanging only: machines are noisy. With HOSTILE_TIMES set, the times themselves are told.
const SOON: Duration = Duration::from_secs(120);

const TERMS: &str = "terms for demo \"Demo\"\nchoice colour { red, green }\nthing project \"p\" { built : date }\n\
    thing part \"q\" { ok : yes-no, judgment \"x\"\n len : length, never negative\n next : part, may be absent }\n\
    thing path \"r\" { ok : yes-no\n tint : colour\n len : length\n load : current\n runs-in : path, may be absent\n parts : many part }\n\
    edition demo 1 \"first\"\n";

/// Runs on a thread of 2 MiB and passes on what it gives.
fn small<T: Send + 'static>(name: &str, run: impl FnOnce() -> T + Send + 'static) -> T {
    let begun = Instant::now();
    let (done, wait) = std::sync::mpsc::channel();
    let thread = std::thread::Builder::new().stack_size(2 << 20).spawn(move || done.send(run()));
    drop(thread);
    let result = match wait.recv_timeout(SOON) {
        Ok(result) => result,
        Err(std::sync::mpsc::RecvTimeoutError::Timeout) => panic!("{name}: still at it after {SOON:?}"),
        Err(std::sync::mpsc::RecvTimeoutError::Disconnected) => panic!("{name}: panicked"),
    };
    if std::env::var("HOSTILE_TIMES").is_ok() && begun.elapsed() > Duration::from_millis(500) {
        eprintln!("{name:?}: {:?}", begun.elapsed());
    }
    result
}

fn errors(found: &Diagnostics) -> usize {
    found.iter().filter(|d| d.severity == Severity::Error).count()
}

fn clear(name: &str, found: &Diagnostics) {
    for diagnostic in found {
        assert!(!diagnostic.title.is_empty(), "{name}: a mistake without a title");
    }
}

/// Everything a program does with a rulebook and facts. Returns the number of errors in each.
fn whole(book: Vec<u8>, under: &str, facts: Option<(Vec<u8>, FactsForm)>) -> (usize, usize) {
    let mut session = Session::empty();
    let mut found = session.add_rulebook("hostile.rulebook", book);
    let (program, more) = session.open(under);
    found.extend(more);
    clear("rulebook", &found);
    let wrong = errors(&found);
    let Some((facts, form)) = facts else { return (wrong, 0) };
    if wrong > 0 {
        return (wrong, 0);
    }
    (0, judged(&mut session, &program, facts, form))
}

fn judged(session: &mut Session, program: &Program, facts: Vec<u8>, form: FactsForm) -> usize {
    let (file, mut found) = session.read_facts("hostile.facts", facts, form);
    let (installation, more) = session.install(program, &[file]);
    found.extend(more);
    clear("facts", &found);
    let choices = Choices::none(program);
    // What could be read is judged even where mistakes are reported, as an editor would.
    for finding in eval::inspect(program, &installation, &choices) {
        let _ = eval::explain(program, &installation, &choices, finding.duty, finding.subject);
    }
    errors(&found)
}

fn book(text: impl Into<String>) -> (usize, usize) {
    let text = text.into();
    let name: String = text.chars().skip(TERMS.len()).take(60).collect();
    small(&name, move || whole(text.into_bytes(), "demo 1", None))
}

fn with_facts(rules: &str, facts: impl Into<Vec<u8>>, form: FactsForm) -> (usize, usize) {
    let text = format!("{TERMS}{rules}");
    let facts = facts.into();
    let name = String::from_utf8_lossy(&facts[..facts.len().min(60)]).into_owned();
    small(&name, move || whole(text.into_bytes(), "demo 1", Some((facts, form))))
}

fn section(clause: &str) -> String {
    format!("{TERMS}section 1.1 \"t\" {{\ngoverns path\nrequires {clause}\n}}\n")
}

fn shipped() -> &'static (Session, Program) {
    static SHIPPED: OnceLock<(Session, Program)> = OnceLock::new();
    SHIPPED.get_or_init(|| {
        let (session, found) = Session::shipped();
        assert_eq!(errors(&found), 0);
        let (program, found) = session.open("nec 2017");
        assert_eq!(errors(&found), 0);
        (session, program)
    })
}

#[test]
fn every_bracket_100_000_deep() {
    for (open, close) in [("(", ")"), ("{", "}"), ("any of {\n", "}\n"), ("all of { ", " }"), ("[", "]"), ("\"", "\"")]
    {
        for ends in [true, false] {
            let mut clause = open.repeat(100_000);
            clause.push_str("ok");
            if ends {
                clause.push_str(&close.repeat(100_000));
            }
            assert!(book(section(&clause)).0 > 0, "{open}");
            assert!(book(clause.clone()).0 > 0, "{open}");
            assert!(with_facts("", clause.clone(), FactsForm::Native).1 > 0, "{open}");
            assert!(with_facts("", clause.clone(), FactsForm::Json).1 > 0, "{open}");
            let _ = with_facts("", format!("path p {{ tint: {clause} }}"), FactsForm::Native);
        }
    }
}

#[test]
fn many_words_in_a_row() {
    for word in [
        "not ",
        "no ",
        "some ",
        "every ",
        "if ",
        "any of ",
        "count of ",
        "sum of ",
        "- ",
        "at least ",
        "of ",
        "1 + ",
        "ok, ",
        "ok or ",
        "table 1.1 at ",
        "if ok: ",
        "some parts where ",
        "every parts where ok: ",
        "largest len of ",
        "len beyond ",
        "part of ",
        "(A) ",
        "as x: ",
        "x ",
        "1 ft ",
        "per ",
        "not",
    ] {
        for count in [100, 5_000] {
            let text = format!("{}ok", word.repeat(count));
            let _ = book(section(&text));
            let _ = with_facts("", format!("path p {{ ok: {text} }}"), FactsForm::Native);
        }
        // One on each line.
        let lines = format!("{word}\n").repeat(5_000);
        let _ = book(section(&lines));
        let _ = with_facts("", lines, FactsForm::Native);
    }
    assert!(book(section(&format!("{}ok", "not ".repeat(100_000)))).0 > 0);
}

/// Nesting just within the guard's limit, of everything that nests: the deepest call stacks there are.
#[test]
fn nesting_at_the_limit() {
    let limit = whereas::syntax::guard::MOST_DEPTH;
    let nests = [
        ("any of {\n", "\n}"),
        ("all of { not all of {\n", "\n}\n}"),
        ("(", ", ok)"),
        ("not (", ", ok)"),
        ("1 ft + (", ")"),
        ("all of { if ok: ", "\n}"),
        ("all of { some parts where ", "\n}"),
        ("all of { at least (count of parts) of paths where ", "\n}"),
        ("((sum of len of parts where ok) at least 1 ft, ", ")"),
    ];
    for (open, close) in nests {
        let each = open.matches(['{', '(']).count() - open.matches([')', '}']).count();
        for deep in [(limit - 3) / each, limit / each, limit / each + 1] {
            let clause = format!("{}ok{}", open.repeat(deep), close.repeat(deep));
            let text = section(&clause);
            let name = format!("{open} x {deep}");
            let (wrong, _) = small(&name, move || {
                whole(text.into_bytes(), "demo 1", Some((b"path p { ok: unknown }".to_vec(), FactsForm::Native)))
            });
            assert!(deep <= limit / each && deep < limit || wrong > 0, "{name}");
        }
    }
    let block = |deep: usize| format!("{}{}", "path p { parts { ".repeat(deep), "} }".repeat(deep));
    for deep in [limit / 2 - 1, limit / 2, limit / 2 + 1] {
        let _ = with_facts("", block(deep), FactsForm::Native);
    }
}

#[test]
fn long_lines_and_large_files() {
    let long = "a".repeat(4 << 20);
    for text in [long.clone(), format!("# {long}"), format!("\"{long}\""), " ".repeat(4 << 20), "1 ".repeat(2 << 20)] {
        assert!(book(format!("{TERMS}{text}")).0 > 0);
        assert!(with_facts("", text.clone(), FactsForm::Native).1 > 0);
        assert!(with_facts("", format!("{{\"path\": \"{}\"}}", text.replace('"', "")), FactsForm::Json).1 > 0);
    }
    assert!(book("\n".repeat(17 << 20)).0 > 0);
    let _ = with_facts("", "\n".repeat(4 << 20), FactsForm::Native);
    // Many right lines are no mistake.
    let mut many = String::new();
    for at in 0..3_000 {
        let _ = writeln!(many, "path p{at} {{ ok: yes, runs-in: p{} }}", (at + 1) % 3_000);
    }
    let _ = with_facts("", many, FactsForm::Native);
}

#[test]
fn nothing_much_in_a_file() {
    for text in ["", "\n", "\u{feff}", "# only a comment", "#\n#\n\r\n# x", "   ", "\t\t\n", ",", "\0", "\r"] {
        let _ = book(text);
        let _ = with_facts("", text, FactsForm::Native);
        assert!(with_facts("", text, FactsForm::Json).1 > 0 || text.is_empty(), "{text:?}");
    }
    assert_eq!(with_facts("", "", FactsForm::Native).1, 0);
    assert_eq!(with_facts("", "# only a comment", FactsForm::Native).1, 0);
    // A mark of byte order and line ends of another system change nothing.
    let good = section("ok").replace('\n', "\r\n");
    assert_eq!(book(good.clone()).0, 0);
    assert_eq!(book(format!("\u{feff}{good}")).0, 0);
    assert_eq!(with_facts("", "\u{feff}path p {\r\n ok: yes\r\n}\r\n", FactsForm::Native).1, 0);
}

#[test]
fn rings_are_reported_and_end() {
    for text in [
        "kind a of path { b }\nkind b of path { a }",
        "kind a of path { a }",
        "kind a of path { some paths where a }",
        "define a of path = b + 1 ft\ndefine b of path = a",
        "define a of path = a",
        "kind a of path { c at least 1 ft }\ndefine c of path = sum of len of parts where not d\nkind d of part { a of path }",
        "reading a of path \"q\", disputed \"x\" {\n y \"1\" { a }\n z \"2\" { ok }\n}",
    ] {
        let (wrong, _) = book(format!("{TERMS}{text}\nsection 1.1 \"t\" {{\ngoverns path\nrequires a\n}}\n"));
        assert!(wrong > 0, "{text}");
    }
    let _ = with_facts("", "path p { runs-in: p }", FactsForm::Native);
    let _ = with_facts("", "path p { runs-in: q }\npath q { runs-in: r }\npath r { runs-in: p }", FactsForm::Native);
}

/// Long chains of names do not end in a deep call stack, whichever end is written first.
#[test]
fn long_chains_of_names() {
    for (count, nests, right) in
        [(20usize, 1usize, true), (150, 1, false), (20, 20, false), (150, 20, false), (5_000, 1, false)]
    {
        for forwards in [true, false] {
            let (open, close) = ("any of {\n not all of {\n".repeat(nests), "\n}\n}".repeat(nests));
            let mut kinds: Vec<String> =
                (0..count).map(|at| format!("kind k{at} of path {{\n{open}k{}{close}\n}}\n", at + 1)).collect();
            let mut formulas: Vec<String> =
                (0..count).map(|at| format!("define f{at} of path = f{} + 1 ft\n", at + 1)).collect();
            kinds.push(format!("kind k{count} of path {{ ok }}\n"));
            formulas.push(format!("define f{count} of path = len\n"));
            if !forwards {
                kinds.reverse();
                formulas.reverse();
            }
            let demand = "section 1.1 \"t\" {\ngoverns path\nrequires k0\nrequires f0 at least 1 ft\n}\n";
            let rules = format!("{}{}{demand}", kinds.concat(), formulas.concat());
            let (wrong, _) = with_facts(&rules, "path p { ok: yes, len: 1 ft }", FactsForm::Native);
            assert_eq!(wrong == 0, right, "{count} names, {nests} nested: {wrong} mistakes");
        }
    }
}

/// Sums of many terms are read and added one after another.
#[test]
fn long_sums() {
    for (terms, right) in [(60, true), (70, false), (9_000, false)] {
        for sign in ["+", "-", "x"] {
            let sum = vec!["len"; terms].join(&format!(" {sign} "));
            let unit = if sign == "x" { continue } else { "ft" };
            let rules = format!("section 1.1 \"t\" {{\ngoverns path\nrequires ({sum}) at least 1 {unit}\n}}\n");
            assert_eq!(with_facts(&rules, "path p { len: 1.5 ft }", FactsForm::Native).0 == 0, right, "{terms} {sign}");
        }
        let _ = book(section(&format!("({}) at least 1", vec!["len"; terms].join(" x "))));
        let _ = book(section(&format!("(len{}) at least 1 ft", " beyond 1 ft".repeat(terms))));
    }
}

#[test]
fn numbers_beyond_measure() {
    let nines = "9".repeat(30_000);
    for number in [
        nines.clone(),
        format!("0.{nines}"),
        format!("1/{nines}"),
        format!("{nines}/1"),
        "1/0".to_string(),
        "0/0".to_string(),
        "-0".to_string(),
        "1e999999999".to_string(),
        "99999999999999999999999999".to_string(),
        "1 1/0".to_string(),
    ] {
        let _ = book(section(&format!("len at least {number} ft")));
        let _ = book(section(&format!("at least {number} of parts where ok")));
        let _ = book(format!("{TERMS}limit l = {number} ft"));
        let _ = with_facts("", format!("path p {{ len: {number} ft }}"), FactsForm::Native);
        let _ = with_facts("", format!("{{\"path\": {{\"p\": {{\"len\": {number}}}}}}}"), FactsForm::Json);
        let _ = with_facts("", format!("{{\"path\": {{\"p\": {{\"len\": \"{number} ft\"}}}}}}"), FactsForm::Json);
        let _ = with_facts("", format!("project \"P\" {{ built: {number} }}"), FactsForm::Native);
    }
    for (rules, facts) in [
        ("len / 0 at least 1 ft", "path p { len: 1 ft }"),
        ("(len / (len - len)) at least 1", "path p { len: 1 ft }"),
        ("(len / len) at least 1", "path p { len: 0 ft }"),
        ("(len per 0 ft or fraction) at least 1", "path p { len: 1 ft }"),
        ("(largest len of parts) at least 1 ft", "path p { parts: none }"),
    ] {
        let rules = format!("section 1.1 \"t\" {{\ngoverns path\nrequires {rules}\n}}\n");
        let _ = with_facts(&rules, facts, FactsForm::Native);
    }
    // Squared again and again, a number would have a million digits.
    let mut squares = String::from("define n0 of path = len / 1 ft\n");
    for at in 0..24 {
        let _ = writeln!(squares, "define n{} of path = n{at} x n{at}", at + 1);
    }
    for (last, right) in [(5, true), (24, false)] {
        let lines: Vec<&str> = squares.lines().take(last + 1).collect();
        let rules =
            format!("{}\nsection 1.1 \"t\" {{\ngoverns path\nrequires n{last} at least 1\n}}\n", lines.join("\n"));
        let (wrong, _) = with_facts(&rules, "path p { len: 12345.678 ft }", FactsForm::Native);
        assert_eq!(wrong == 0, right, "squared {last} times");
    }
}

/// Names that double at every step would be asked for without end.
#[test]
fn doubling_kinds() {
    for (count, right) in [(8, true), (20, false), (40, false)] {
        let mut kinds = String::from("kind k0 of path { ok }\ndefine f0 of path = len\n");
        for at in 0..count {
            let _ =
                writeln!(kinds, "kind k{} of path {{ any of {{\nall of {{ k{at}\n tint is red }}\nk{at} }} }}", at + 1);
            let _ = writeln!(kinds, "define f{} of path = (largest len of parts) + f{at}", at + 1);
        }
        let rules = format!("{kinds}section 1.1 \"t\" {{\ngoverns path\nrequires k{count}\n}}\n");
        let (wrong, _) = with_facts(&rules, "path p { ok: unknown }", FactsForm::Native);
        assert_eq!(wrong == 0, right, "{count} times doubled");
    }
    // Four elements per name make sums double too.
    let mut formulas = String::from("define f0 of path = len\n");
    for at in 0..40 {
        let _ = writeln!(formulas, "define f{} of path = f{at} + f{at}", at + 1);
    }
    assert!(book(format!("{TERMS}{formulas}")).0 > 0);
}

#[test]
fn bombs_in_json() {
    let deep = |open: &str, close: &str| format!("{}1{}", open.repeat(100_000), close.repeat(100_000));
    for text in [
        deep("[", "]"),
        deep("{\"a\":", "}"),
        deep("{\"path\":", "}"),
        "[".repeat(100_000),
        "{\"a\":".repeat(100_000),
        format!("{{\"path\": {{{}}}}}", "\"p\": {},".repeat(50_000)),
        format!("{{\"path\": [{}]}}", vec!["{\"name\": \"p\"}"; 20_000].join(",")),
        "{\"path\": {\"p\": {\"len\": 1e400}}}".to_string(),
        "{\"path\": {\"p\": {\"len\": 1e-999999999}}}".to_string(),
        "{\"path\": {\"p\": {\"len\": \"1e999999999 ft\"}}}".to_string(),
        "{\"path\": null}".to_string(),
        "null".to_string(),
        "{\"path\": {\"p\": {\"ok\": \"\\ud800\"}}}".to_string(),
        "{\"project\": {\"project\": {}}} {}".to_string(),
    ] {
        let _ = with_facts("", text, FactsForm::Json);
    }
}

fn examples() -> Vec<(String, String)> {
    let mut all = Vec::new();
    for file in std::fs::read_dir("examples/clinic").unwrap() {
        let path = file.unwrap().path();
        if path.extension().is_some_and(|e| e == "facts") {
            all.push((path.display().to_string(), std::fs::read_to_string(&path).unwrap()));
        }
    }
    all.sort();
    all
}

fn cut(text: &str, at: usize) -> Vec<u8> {
    text.as_bytes()[..at.min(text.len())].to_vec()
}

/// Every beginning of the shipped texts, at every 97th byte of a different offset each; a plain build takes fewer.
#[test]
fn shipped_texts_cut_short() {
    let step = if cfg!(debug_assertions) { 97 * 7 } else { 97 };
    for (name, text) in RULEBOOKS {
        for at in (0..text.len()).step_by(step) {
            let part = cut(text, at);
            let name = format!("{name} to {at}");
            small(&name, move || {
                let mut session = Session::empty();
                let mut found = session.add_rulebook("cut", part);
                let (_, more) = session.open("nec 2017");
                found.extend(more);
                clear("cut", &found);
            });
        }
    }
    for (name, text) in examples() {
        for at in (0..text.len()).step_by(97) {
            let part = cut(&text, at);
            let name = format!("{name} to {at}");
            small(&name, move || {
                let (session, program) = shipped();
                judged(&mut session.clone(), program, part, FactsForm::Native)
            });
        }
    }
}

/// The words of a text, and what stands between them.
fn words(text: &str) -> Vec<&str> {
    let mut all = Vec::new();
    let mut from = 0;
    let class = |c: char| if c.is_alphanumeric() || c == '-' { 0 } else { 1 + u32::from(c) };
    let mut last = None;
    for (at, c) in text.char_indices() {
        if last.is_some_and(|l| l != class(c)) {
            all.push(&text[from..at]);
            from = at;
        }
        last = Some(class(c));
    }
    all.push(&text[from..]);
    all
}

fn mutated(text: &str, changes: &[(u8, u16, u16)]) -> String {
    let mut all: Vec<String> = words(text).into_iter().map(str::to_string).collect();
    for (how, a, b) in changes {
        let (a, b) = (usize::from(*a) % all.len(), usize::from(*b) % all.len());
        match how % 4 {
            0 => drop(all.remove(a)),
            1 => all.insert(b, all[a].clone()),
            2 => all.swap(a, b),
            _ => all[a] = all[b].clone(),
        }
    }
    all.concat()
}

fn changes() -> impl Strategy<Value = Vec<(u8, u16, u16)>> {
    prop::collection::vec(any::<(u8, u16, u16)>(), 1..6)
}

fn cases(cases: u32) -> ProptestConfig {
    ProptestConfig { cases, failure_persistence: None, max_shrink_iters: 200, ..ProptestConfig::default() }
}

proptest! {
    #![proptest_config(cases(400))]

    #[test]
    fn any_bytes(bytes in prop::collection::vec(any::<u8>(), 0..300)) {
        let (a, b) = (bytes.clone(), bytes.clone());
        small("bytes", move || whole(a, "demo 1", None));
        let _ = with_facts("", b, FactsForm::Native);
        let _ = with_facts("", bytes, FactsForm::Json);
    }

    #[test]
    fn any_letters_of_the_language(
        words in prop::collection::vec(prop::sample::select(vec![
            "section", "1.1", "{", "}", "(", ")", "governs", "path", "requires", "ok", "when", "any of {", "\n", "not", "some",
            "where", "parts", "at least", "2", "ft", "is", "none", "red", "or", "(A)", "unless Ex. 1", "then", "is enough", ",",
            "kind", "define", "=", "table", "|", "-", "gives", "by", ":", "thing", "choice", "\"x\"", "per", "1/2", "(2 m)", "of",
            "through", "prohibits", "waives", "tally", "reading", "edition demo 1", "sum of", "count of", "largest", "x", "/",
        ]), 0..60)
    ) {
        let text = words.join(" ");
        let _ = book(format!("{TERMS}{text}"));
        let _ = book(section(&text));
        let _ = with_facts("", text, FactsForm::Native);
    }
}

proptest! {
    #![proptest_config(cases(40))]

    #[test]
    fn rulebooks_with_words_moved(which in 0..RULEBOOKS.len(), changes in changes()) {
        let text = mutated(RULEBOOKS[which].1, &changes);
        small("moved", move || {
            let mut session = Session::empty();
            for (at, (name, shipped)) in RULEBOOKS.iter().enumerate() {
                let text = if at == which { text.clone() } else { (*shipped).to_string() };
                if at == which || at + 1 == RULEBOOKS.len() {
                    clear(name, &session.add_rulebook(name, text.into_bytes()));
                }
            }
            let (_, found) = session.open("nec 2017");
            clear("moved", &found);
        });
    }

    #[test]
    fn facts_with_words_moved(which in any::<usize>(), changes in changes()) {
        let examples = examples();
        let text = mutated(&examples[which % examples.len()].1, &changes);
        small("moved", move || {
            let (session, program) = shipped();
            judged(&mut session.clone(), program, text.into_bytes(), FactsForm::Native)
        });
    }
}
