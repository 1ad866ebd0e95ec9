//! Three truth values, the third with what it lacks.

/// What an unknown answer lacks: a set.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Default)]
pub struct Lack(u8);

impl Lack {
    /// Nothing.
    pub const NOTHING: Lack = Lack(0);
    /// A fact that could be found out.
    pub const FACT: Lack = Lack(1);
    /// A judgment that only the authority can make.
    pub const JUDGMENT: Lack = Lack(2);
    /// The book does not say: no fact could settle it.
    pub const GAP: Lack = Lack(4);
    /// The choice of a reading.
    pub const READING: Lack = Lack(8);

    /// Both together.
    #[inline]
    #[must_use]
    pub fn and(self, other: Lack) -> Lack {
        Lack(self.0 | other.0)
    }

    /// Whether all of `other` is in it.
    pub fn includes(self, other: Lack) -> bool {
        self.0 & other.0 == other.0
    }
}

/// An answer.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Truth {
    /// It does not hold, whatever the unknowns turn out to be.
    No,
    /// It holds, whatever the unknowns turn out to be.
    Yes,
    /// It depends on what is lacking.
    Unknown(Lack),
}

impl Truth {
    /// Yes for true.
    #[inline]
    pub fn known(holds: bool) -> Truth {
        if holds { Truth::Yes } else { Truth::No }
    }

    /// The opposite.
    #[inline]
    #[must_use]
    #[allow(clippy::should_implement_trait)]
    pub fn not(self) -> Truth {
        match self {
            Truth::No => Truth::Yes,
            Truth::Yes => Truth::No,
            unknown => unknown,
        }
    }

    /// Both.
    #[inline]
    #[must_use]
    pub fn and(self, other: Truth) -> Truth {
        match (self, other) {
            (Truth::No, _) | (_, Truth::No) => Truth::No,
            (Truth::Yes, other) => other,
            (unknown, Truth::Yes) => unknown,
            (Truth::Unknown(a), Truth::Unknown(b)) => Truth::Unknown(a.and(b)),
        }
    }

    /// At least one.
    #[inline]
    #[must_use]
    pub fn or(self, other: Truth) -> Truth {
        self.not().and(other.not()).not()
    }

    /// The answer if it is the same either way; what is lacking decides otherwise.
    #[must_use]
    pub fn join(self, other: Truth, between: Lack) -> Truth {
        if self == other && self.is_known() {
            return self;
        }
        Truth::Unknown(self.lack().and(other.lack()).and(between))
    }

    /// What it lacks.
    #[inline]
    pub fn lack(self) -> Lack {
        match self {
            Truth::Unknown(lack) => lack,
            Truth::No | Truth::Yes => Lack::NOTHING,
        }
    }

    /// Whether it is yes or no.
    #[inline]
    pub fn is_known(self) -> bool {
        !matches!(self, Truth::Unknown(_))
    }
}
