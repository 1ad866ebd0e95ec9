//! Tree to text. [`line`] writes conditions, expressions and values on one line, as a person would; two parts that mean
//! the same letters give the same line, whatever their spacing and places were. [`fact`] does so for stated values. The
//! whole-file formatter is not here yet.

pub mod fact;
pub mod line;
