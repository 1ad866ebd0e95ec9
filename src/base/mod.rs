//! Foundations: source text and spans, exact numbers, units, dates. No syntax, no meaning.
pub mod source;
