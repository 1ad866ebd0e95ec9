//! The whole program as a process: shipped rulebooks read and checked, facts read, verdicts printed.
//!
//! Goal: under 30 ms.

use crate::rounds::{Contender, shown, take_turns};
use std::process::{Command, Stdio};

const PROGRAM: &str = env!("CARGO_BIN_EXE_whereas");
const FACTS: &str = concat!(env!("CARGO_MANIFEST_DIR"), "/examples/clinic/01-ordinary-metal-clad.facts");

fn run(arguments: &[&str]) -> Option<i32> {
    Command::new(PROGRAM).args(arguments).stdout(Stdio::null()).stderr(Stdio::null()).status().expect("it runs").code()
}

pub fn measure() {
    let inspect = ["inspect", FACTS, "--under", "nec 2017"];
    assert_eq!(run(&inspect), Some(1), "the ordinary cable is one path only");
    let mut contenders = [
        Contender::new("--help", || run(&["--help"])),
        Contender::new("editions", || run(&["editions"])),
        Contender::new("inspect", || run(&inspect)),
    ];
    take_turns(&mut contenders, 41);
    println!("start to end, as a process");
    for contender in &contenders {
        println!("  {:<16} {:>10}", contender.name, shown(contender.median()));
    }
}
