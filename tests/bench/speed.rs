//! How fast it is: measured, never asserted. `cargo bench` runs all parts; `cargo bench -- text`, `inspection`, `books`,
//! `trial` or `startup` runs one. `tests/bench/instructions.sh` counts instructions instead of time.
//!
//! - text: rulebook text to syntax tree, held against the grammar machine alone on the same text.
//! - inspection: one installation under the shipped rulebooks, held against the same checks written by hand.
//! - books: an edition composed, two compared, an amendment carried.
//! - trial: from a line typed to its reply, and completion.
//! - startup: the whole program as a process.
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic, missing_docs)]

mod books;
mod hand;
mod inspection;
mod plain;
mod rounds;
mod startup;
mod text;
mod trial;

fn main() {
    let wanted: Vec<String> = std::env::args().skip(1).filter(|a| !a.starts_with("--")).collect();
    let all = wanted.is_empty();
    let chosen = |part: &str| all || wanted.iter().any(|w| w == part);
    if chosen("text") {
        text::measure();
    }
    if chosen("inspection") {
        inspection::measure();
    }
    if chosen("books") {
        books::measure();
    }
    if chosen("startup") {
        startup::measure();
    }
    if chosen("trial") {
        trial::measure();
    }
    // Single runs for the counting of instructions.
    match wanted.first().map(String::as_str) {
        Some("count-text") => text::count(),
        Some("count-inspection") => inspection::count(),
        _ => {}
    }
}
