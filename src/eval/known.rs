//! Answers already given within one inspection: whether an object is of a kind, for kinds on which no disputed text has a
//! say. Such an answer depends on the object alone, so it is looked up the second time. Nothing else is remembered.

use super::truth::Truth;
use crate::facts::installation::{Installation, ObjectId};
use crate::ir::program::{KindId, Program};
use std::cell::Cell;

/// The most answers kept; a larger inspection keeps none.
const MOST_ANSWERS: usize = 4 << 20;

/// Answers for one book and one installation.
#[derive(Debug, Clone, Default)]
pub(super) struct Known {
    objects: usize,
    answers: Vec<Cell<Option<Truth>>>,
}

impl Known {
    pub(super) fn of(program: &Program, facts: &Installation) -> Known {
        let objects = facts.objects.len();
        let size = program.kinds.len().saturating_mul(objects);
        match size <= MOST_ANSWERS {
            true => Known { objects, answers: vec![Cell::new(None); size] },
            false => Known::default(),
        }
    }

    /// The place of an answer; nothing if it is not kept.
    #[inline]
    pub(super) fn slot(&self, kind: KindId, object: ObjectId) -> Option<&Cell<Option<Truth>>> {
        if object.index() >= self.objects {
            return None;
        }
        self.answers.get(kind.index() * self.objects + object.index())
    }
}
