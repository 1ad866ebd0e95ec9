//! A finding about conditions is true of every installation: put `never` or `always` in the place it speaks of, or strike the
//! exception, and no verdict changes. Held against drawn rules and all installations of a small world.

#![allow(clippy::unwrap_used, clippy::panic)]

use std::collections::{BTreeMap, BTreeSet};
use whereas::base::source::Span;
use whereas::diag::{Code, Look, render};
use whereas::eval::{self, Verdict};
use whereas::facts::installation::Standing;
use whereas::review::Review;
use whereas::session::{self, FactsForm, Session};

const TERMS: &str = "terms for demo
choice color { red, green, blue }
scale size { small < middle < large }
thing box {
 color : color, may be absent
 size : size
 wet : yes-no
 depth : length, never negative
 lamps : many lamp
}
thing lamp { spare : yes-no }
edition demo 1
";

/// Numbers that look drawn, and are the same each time.
struct Dice(u64);

impl Dice {
    fn below(&mut self, most: usize) -> usize {
        self.0 = self.0.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
        usize::try_from(self.0 >> 33).unwrap() % most
    }

    fn one_of<'t>(&mut self, of: &[&'t str]) -> &'t str {
        of[self.below(of.len())]
    }
}

const PLAIN: &[&str] = &[
    "red",
    "color is red or green",
    "color is not blue",
    "color is none",
    "color is not none",
    "size at least middle",
    "size smaller than large",
    "size is small or middle or large",
    "wet",
    "not wet",
    "depth at least 1 ft",
    "depth at least 0 ft",
    "depth less than 2 ft",
    "depth more than 1 ft",
    "depth is 1 ft through 2 ft",
    "deep",
    "not deep",
    "lit",
    "(count of lamps) at least 2",
];
const LISTS: &[&str] = &["any of", "all of", "none of"];
const LAMPS: &[&str] = &[
    "some lamp where spare",
    "no lamp where spare",
    "some lamp where not spare",
    "at least 2 of lamps where spare",
    "every lamp where spare: wet",
];

fn condition(dice: &mut Dice, depth: usize) -> String {
    match dice.below(10) {
        0..=5 => dice.one_of(PLAIN).to_string(),
        6 => dice.one_of(LAMPS).to_string(),
        _ if depth == 0 => dice.one_of(PLAIN).to_string(),
        7 => format!("if {}: {}", dice.one_of(PLAIN), dice.one_of(PLAIN)),
        _ => {
            let lines: Vec<String> =
                (0..2 + dice.below(2)).map(|_| format!(" {}\n", condition(dice, depth - 1))).collect();
            format!("{} {{\n{} }}", dice.one_of(LISTS), lines.concat())
        }
    }
}

fn rules(dice: &mut Dice) -> String {
    let mut text = TERMS.to_string();
    for section in 1..=6 {
        text += &format!("section {section} {{\n governs box\n");
        for _ in 0..1 + dice.below(2) {
            text += &format!(" when {}\n", condition(dice, 1));
        }
        match dice.below(3) {
            0 => text += &format!(" prohibits {}\n", condition(dice, 1)),
            1 => {
                text += &format!(" requires {} where any of {{\n", condition(dice, 1));
                for item in 1..=3 {
                    text += &format!("  ({item}) {}\n", condition(dice, 1));
                }
                text += " }\n";
            }
            _ => text += &format!(" requires {}\n", condition(dice, 2)),
        }
        for number in 1..=dice.below(3) {
            text += &format!(" unless Ex. {number} when {}\n", condition(dice, 1));
        }
        text += "}\n";
    }
    text + "kind deep of box { depth more than 1 ft }\nkind lit of box {\n some lamp\n size at least middle\n}\n"
}

/// Every installation of the world, as far as the rules above can tell them apart.
fn facts() -> String {
    let mut text = String::new();
    let mut number = 0;
    for color in ["red", "green", "blue", "none"] {
        for size in ["small", "middle", "large"] {
            for wet in ["yes", "no"] {
                for depth in ["0 ft", "1 ft", "18 in", "3 ft"] {
                    for lamps in [
                        ": none",
                        " { a { spare: yes } }",
                        " { a { spare: no } }",
                        " { a { spare: yes }\n b { spare: yes } }",
                    ] {
                        number += 1;
                        text += &format!(
                            "box b{number} {{ color: {color}, size: {size}, wet: {wet}, depth: {depth}\n lamps{lamps} }}\n"
                        );
                    }
                }
            }
        }
    }
    text
}

fn reviewed(rules: &str) -> Review {
    let mut session = Session::empty();
    let mut found = session.add_rulebook("drawn", rules.as_bytes().to_vec());
    let (review, more) = session.review(&[]);
    found.extend(more);
    assert!(!found.has_errors(), "{}\n{rules}", render(&found, session.sources(), &Look::default()));
    review
}

/// Which sections and items are violated by which boxes. Of an item the section counts too: of several items that ask the same
/// it does not matter which binds.
#[derive(Debug, PartialEq, Eq)]
struct Violated {
    sections: BTreeSet<(String, u32)>,
    items: BTreeSet<String>,
}

fn violated(rules: &str, facts: &str) -> Violated {
    let mut session = Session::empty();
    let mut found = session.add_rulebook("drawn", rules.as_bytes().to_vec());
    let (program, more) = session.open("demo 1");
    found.extend(more);
    let (file, more) = session.read_facts("facts", facts.as_bytes().to_vec(), FactsForm::Native);
    found.extend(more);
    let (installation, more) = session.install(&program, &[file]);
    found.extend(more);
    assert!(!found.has_errors(), "{}\n{rules}", found.iter().next().map_or("", |d| d.title.as_str()));
    let choices = session::choose(&program, &[]).0;
    let mut all = Violated { sections: BTreeSet::new(), items: BTreeSet::new() };
    for one in eval::inspect(&program, &installation, &choices) {
        if one.standing == Standing::Stated && one.outcome.verdict == Verdict::NotMet {
            let address = program.duties[one.duty.index()].address.clone();
            all.sections.insert((address.split('(').next().unwrap().to_string(), one.subject.0));
            all.items.insert(address);
        }
    }
    all
}

/// The rules with what a finding says carried out; none if it cannot be done by putting in a text.
fn carried_out(rules: &str, code: Code, span: Span, title: &str) -> Option<String> {
    let (start, end) = (span.start as usize, span.end as usize);
    let written = &rules[start..end];
    let line_start = rules[..start].rfind('\n').map_or(0, |at| at + 1);
    let before = rules[line_start..start].trim_start();
    if written.contains(" of") && LISTS.iter().any(|list| written.ends_with(list)) {
        return None;
    }
    let put = |text: &str| format!("{}{text}{}", &rules[..start], &rules[end..]);
    match code {
        Code::ExceptionNever => Some(put_away(rules, line_start, end)),
        Code::ItemCovered if before == "unless " => Some(put_away(rules, line_start, end)),
        Code::ItemCovered if ["(1)", "(2)", "(3)"].iter().any(|label| written.starts_with(label)) => {
            Some(put(&format!("{} depth less than 0 ft", written.split(' ').next().unwrap())))
        }
        Code::ItemCovered | Code::NeverHolds => Some(put("depth less than 0 ft")),
        Code::AlwaysHolds if title.starts_with("nothing can violate") => None,
        Code::AlwaysHolds => Some(put("depth at least 0 ft")),
        _ => None,
    }
}

fn put_away(rules: &str, from: usize, to: usize) -> String {
    format!("{}{}", &rules[..from], &rules[to..])
}

#[test]
fn what_a_finding_says_changes_no_verdict() {
    let facts = facts();
    let mut dice = Dice(20_260_901);
    let mut held: BTreeMap<Code, usize> = BTreeMap::new();
    for _ in 0..10 {
        let rules = rules(&mut dice);
        let before = violated(&rules, &facts);
        for finding in reviewed(&rules).findings {
            let diagnostic = finding.diagnostic;
            let span = diagnostic.place().unwrap();
            if let Some(section) = diagnostic.title.strip_prefix("nothing can violate ") {
                assert!(!before.items.contains(section), "{}\n{rules}", diagnostic.title);
                *held.entry(diagnostic.code).or_default() += 1;
                continue;
            }
            let Some(changed) = carried_out(&rules, diagnostic.code, span, &diagnostic.title) else { continue };
            let after = violated(&changed, &facts);
            let differs: Vec<_> = before.sections.symmetric_difference(&after.sections).take(3).collect();
            assert!(
                differs.is_empty(),
                "{}: {} ({differs:?})\n{rules}\n--- carried out\n{changed}",
                diagnostic.code,
                diagnostic.title
            );
            *held.entry(diagnostic.code).or_default() += 1;
        }
    }
    for code in [Code::ExceptionNever, Code::ItemCovered, Code::AlwaysHolds, Code::NeverHolds] {
        assert!(held.get(&code).is_some_and(|times| *times > 3), "{held:?}");
    }
}
