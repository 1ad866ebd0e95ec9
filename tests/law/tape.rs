//! A tape of bytes from which rulebooks and facts are drawn. Past its end every choice is the first one, so a shorter tape
//! with smaller bytes makes a simpler case, and proptest can shrink.

/// Choices still to be made.
pub struct Tape<'b> {
    bytes: &'b [u8],
    at: usize,
}

impl<'b> Tape<'b> {
    pub fn new(bytes: &'b [u8]) -> Tape<'b> {
        Tape { bytes, at: 0 }
    }

    fn next(&mut self) -> u8 {
        let byte = self.bytes.get(self.at).copied().unwrap_or(0);
        self.at += 1;
        byte
    }

    /// A number below `n`.
    pub fn below(&mut self, n: usize) -> usize {
        usize::from(self.next()) % n.max(1)
    }

    /// One of several.
    pub fn one<T: Copy>(&mut self, of: &[T]) -> T {
        of[self.below(of.len())]
    }

    /// Yes in `n` of 8 cases, and never past the end.
    pub fn chance(&mut self, n: usize) -> bool {
        self.below(8) >= 8 - n
    }
}
