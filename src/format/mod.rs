//! Tree to text. [`line`] writes conditions, expressions and values on one line, as a person would; two parts that mean
//! the same letters give the same line, whatever their spacing and places were. [`facts`] writes facts; [`block`] writes sets
//! of changes and what stands in them over several lines, so that they can be read again. The whole-file formatter is not
//! here yet, and comments are not kept.

pub mod block;
pub mod facts;
pub mod line;
pub mod section;
