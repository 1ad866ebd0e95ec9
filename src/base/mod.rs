//! Foundations: source text and spans, exact numbers, units, dates. No syntax, no meaning.
pub mod date;
pub mod dimension;
pub mod number;
pub(crate) mod printed;
pub mod source;
pub mod unit;
