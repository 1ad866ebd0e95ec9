//! Tree to text. [`line`] writes conditions, expressions and values on one line, as a person would; two parts that mean
//! the same letters give the same line, whatever their spacing and places were. [`facts`] writes facts. The
//! whole-file formatter is not here yet.

pub mod facts;
pub mod line;
pub mod section;
