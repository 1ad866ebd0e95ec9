//! A trial: from a changed fact, and from a changed rule, to what flips, over the shipped rulebooks; and completion.
//!
//! Goals: 5 ms from a fact, 20 ms for completion.

use crate::rounds::{Contender, shown, take_turns};
use std::cell::RefCell;
use whereas::diag::Look;
use whereas::session::Session;
use whereas::trial::{Fulfilled, Mood, Trial};

const LESSON: &str = concat!(env!("CARGO_MANIFEST_DIR"), "/examples/clinic/03-armor-and-green-wire.facts");
/// Rounds of each contender.
const ROUNDS: usize = 31;

fn opened() -> Trial {
    let (session, diagnostics) = Session::shipped();
    assert!(!diagnostics.has_errors());
    let mut trial = Trial::new(session, "nec 2023").unwrap_or_else(|_| panic!("nec 2023 opens"));
    let look = Look::default();
    let request = trial.line("load lesson.facts", &look).request.expect("a request");
    let reply = trial.fulfilled(&request, Fulfilled::Read(std::fs::read(LESSON).expect("the lesson")), &look);
    assert_eq!(reply.mood, Mood::Done, "{}", reply.text);
    trial
}

fn say(trial: &RefCell<Trial>, line: &str) -> usize {
    let reply = trial.borrow_mut().line(line, &Look::default());
    assert_eq!(reply.mood, Mood::Done, "{line}: {}", reply.text);
    reply.text.len()
}

pub fn measure() {
    let trial = RefCell::new(opened());
    let mut turns = 0usize;
    let mut contenders = [
        Contender::new("a changed fact to what flips, and back", || {
            turns += 1;
            let height = if turns.is_multiple_of(2) { "EX4-1.R1.height: 8 ft" } else { "EX4-1.R1.height: 2 ft" };
            say(&trial, height) + say(&trial, "back")
        }),
        Contender::new("a changed rule to what flips, and back", || {
            say(
                &trial,
                "section 9.1 \"Trial\" { governs outlet, requires height at least 4 ft }"
                    .replace(", requires", "\nrequires")
                    .as_str(),
            ) + say(&trial, "back")
        }),
        Contender::new("another edition, and back", || say(&trial, "under 2020") + say(&trial, "back")),
        Contender::new("the open questions, ranked", || say(&trial, "ask")),
        Contender::new("why", || say(&trial, "why 517.13")),
        Contender::new("a figure", || say(&trial, "table 250.122 at 60 A across copper")),
        Contender::new("completion of a field", || trial.borrow().complete("EX4-1.R1.he")),
        Contender::new("completion of a section", || trial.borrow().complete("why 25")),
        Contender::new("completion within a rule", || trial.borrow().complete("section 9.1 \"T\" {\n    governs out")),
    ];
    take_turns(&mut contenders, ROUNDS);
    println!("\na trial, nec 2023 as shipped, lesson 3");
    for contender in &contenders {
        println!("  {:<42} {}", contender.name, shown(contender.median()));
    }
}
