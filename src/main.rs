//! The command line of Whereas.
fn main() {}
