//! Rulebook text to syntax tree.
//!
//! Goal: the whole at most 1.2 times the grammar machine alone.

use crate::rounds::{Contender, ratio, shown, take_turns};
use whereas::base::source::SourceId;
use whereas::session::RULEBOOKS;
use whereas::syntax::{parse_rulebook, stages};

/// Size of the generated rulebook.
const BYTES: usize = 5_000_000;
/// Size of the rulebook for one counted run.
const BYTES_COUNTED: usize = 200_000;

/// A rulebook of about `bytes` bytes: the shipped ones over and over, every section renumbered.
fn generated(bytes: usize) -> String {
    let mut text = String::with_capacity(bytes + 20_000);
    for copy in 0.. {
        for (_, book) in RULEBOOKS {
            for line in book.lines() {
                match line.strip_prefix("section ").and_then(|rest| rest.split_once('.')) {
                    Some((article, rest)) => text.push_str(&format!("section {article}{copy}.{rest}")),
                    None => text.push_str(line),
                }
                text.push('\n');
            }
            if text.len() >= bytes {
                return text;
            }
        }
    }
    text
}

pub fn measure() {
    let text = generated(BYTES);
    let clean = stages::scan(&text).expect("the generated rulebook is well formed");
    let (parsed, diagnostics) = parse_rulebook(SourceId(0), &text);
    assert!(diagnostics.is_empty(), "the generated rulebook reads without a mistake");
    assert_eq!(stages::cut(&clean), Some(clean.len()), "the grammar places all of it");
    drop(parsed);
    let mut contenders = [
        Contender::new("scan", || stages::scan(&text)),
        Contender::new("grammar alone", || stages::cut(&clean)),
        Contender::new("text to tree", || parse_rulebook(SourceId(0), &text)),
    ];
    take_turns(&mut contenders, 9);
    let megabytes = text.len() as f64 / 1e6;
    println!("text to tree, {megabytes:.1} MB");
    let alone = contenders[1].median();
    for contender in &contenders {
        let median = contender.median();
        println!(
            "  {:<16} {:>10}  {:>6.1} MB/s  {:>5.2} x the grammar alone",
            contender.name,
            shown(median),
            megabytes / median.as_secs_f64(),
            ratio(median, alone)
        );
    }
}

/// One run of each stage for the counting of instructions.
pub fn count() {
    let text = generated(BYTES_COUNTED);
    println!("bytes {}", text.len());
    counted_whole(&text);
    counted_grammar(&stages::scan(&text).expect("well formed"));
}

#[inline(never)]
fn counted_whole(text: &str) {
    std::hint::black_box(parse_rulebook(SourceId(0), text));
}

#[inline(never)]
fn counted_grammar(clean: &str) {
    std::hint::black_box(stages::cut(clean));
}
