//! Books: composing an edition from its base and all that follows, taking two apart and comparing them, carrying an
//! amendment.
//!
//! Goals: composing nec 2023 under 10 ms, comparing two shipped editions under 50 ms.

use crate::rounds::{Contender, ratio, shown, take_turns};
use whereas::compare::{Dates, Overlay, Side, comparison};
use whereas::edition::Atoms;
use whereas::session::Session;

const AMENDMENT: &str = "amendment local to nec 2017 {
    in high-luminaire: enough was (A) or (B), now (A)
    in 320.30(D): add listed
    waive 517.13(B)(1)(2) when receptacle
}";

pub fn measure() {
    let (mut session, diagnostics) = Session::shipped();
    assert!(diagnostics.is_empty());
    let diagnostics = session.add_rulebook("local", AMENDMENT.as_bytes().to_vec());
    assert!(diagnostics.is_empty());
    let (carried, diagnostics) = session.carry("local", "nec 2023");
    assert!(carried.is_some() && !diagnostics.has_errors());
    let parts = Atoms::of(&session.compose("nec 2023").0).all.len();
    let compared = |books: &[&str]| {
        let composed: Vec<_> = books.iter().map(|under| session.compose(under).0).collect();
        let overlays: Vec<Overlay> = Vec::new();
        let sides: Vec<Side> =
            composed.iter().map(|book| Side { book, inspection: None, overlays: &overlays }).collect();
        comparison(&sides, &Dates::new())
    };
    let mut contenders = [
        Contender::new("composing nec 2014", || session.compose("nec 2014")),
        Contender::new("composing nec 2023", || session.compose("nec 2023")),
        Contender::new("compare 2017 2020", || compared(&["nec 2017", "nec 2020"])),
        Contender::new("compare all five", || compared(&["nec 2014", "nec 2017", "nec 2020", "nec 2023", "nec 2026"])),
        Contender::new("carry three lines", || session.carry("local", "nec 2023")),
    ];
    take_turns(&mut contenders, 31);
    println!("books, {parts} parts in nec 2023; against composing nec 2014, which is a copy");
    let base = contenders[0].median();
    for contender in &contenders {
        let median = contender.median();
        println!("    {:<20} {:>10}  {:>6.1} x", contender.name, shown(median), ratio(median, base));
    }
}
