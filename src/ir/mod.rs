//! The core program: small, typed, without sugar. Nodes live in arenas and are named by typed ids; every condition knows
//! where it was written. It cannot be printed back as text and does not know the grammar, files or facts.

pub mod program;
pub mod schema;
