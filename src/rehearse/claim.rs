//! Claims held against installations: what contradicts them, and what speaks for them. Never a proof.

use super::book::Book;
use crate::eval::{self, Choices, Truth, Verdict};
use crate::facts::installation::{Installation, ObjectId};
use crate::ir::program::{DutyId, KindId};
use crate::syntax::ast::{Claim, ClaimAnswer, ClaimVerb};
use std::collections::BTreeMap;

/// Verdicts found so far, by the installation's position: many claims speak of one rule.
pub(super) type Known = BTreeMap<(usize, DutyId, ObjectId), Verdict>;

/// A claim as one book reads it: the duties of its rule, the kind it speaks of and the kind it keeps to.
pub(super) struct AskedOf<'a> {
    pub(super) book: &'a Book,
    pub(super) claim: &'a Claim,
    pub(super) duties: &'a [DutyId],
    pub(super) kinds: (KindId, Option<KindId>),
}

/// What installations say of a claim under one book.
#[derive(Default)]
pub(super) struct Tally {
    /// Things that bear it out.
    pub(super) supporting: usize,
    /// Installations in which something contradicts it.
    pub(super) contradicting: usize,
    /// The first of those, with the thing.
    pub(super) witness: Option<(usize, String)>,
    /// Installations in which the verdict on something it speaks of is open.
    pub(super) open: usize,
    /// For `demands`: something meets the rule and has it.
    had: bool,
    /// For `demands`: something lacks it and does not meet the rule.
    lacked: bool,
}

impl Tally {
    /// The answer so far.
    pub(super) fn answer(&self, claim: &Claim) -> ClaimAnswer {
        let settled = match claim.verb {
            ClaimVerb::Demands => self.had && self.lacked,
            ClaimVerb::ContentWith | ClaimVerb::Binds | ClaimVerb::Spares => self.supporting > 0,
        };
        match (self.contradicting, settled) {
            (0, true) => ClaimAnswer::Supported,
            (0, false) => ClaimAnswer::NotSettled,
            _ => ClaimAnswer::Refuted,
        }
    }

    /// Holds the claim against one installation, whose position is told to name it later.
    pub(super) fn hear(&mut self, asked: &AskedOf<'_>, position: usize, facts: &Installation, known: &mut Known) {
        let AskedOf { book, claim, duties, kinds: (says, only) } = *asked;
        let program = &book.program;
        let choices = Choices::none(program);
        let (mut spoke, mut open, mut against) = (false, false, None);
        for duty in duties.iter().copied() {
            let Some(declared) = program.duties.get(duty.index()) else { continue };
            for subject in facts.stated.get(usize::from(declared.subject.0)).into_iter().flatten().copied() {
                let holds = |kind| eval::qualifies(program, facts, &choices, kind, subject);
                if only.is_some_and(|only| holds(only) != Truth::Yes) {
                    continue;
                }
                let has = match holds(says) {
                    Truth::Yes => true,
                    Truth::No => false,
                    Truth::Unknown(_) => continue,
                };
                let verdict = *known
                    .entry((position, duty, subject))
                    .or_insert_with(|| eval::judge(program, facts, &choices, duty, subject).verdict);
                let tells = match claim.verb {
                    ClaimVerb::Demands => !has,
                    ClaimVerb::ContentWith | ClaimVerb::Binds | ClaimVerb::Spares => has,
                };
                open |= tells && !verdict.is_definite();
                let speaks = match (claim.verb, verdict, has) {
                    (ClaimVerb::Demands, Verdict::Met, true) => {
                        self.had = true;
                        Some(true)
                    }
                    (ClaimVerb::Demands, Verdict::NotMet, false) => {
                        self.lacked = true;
                        Some(true)
                    }
                    (ClaimVerb::Demands, Verdict::Met, false) => Some(false),
                    (ClaimVerb::ContentWith, Verdict::Met, true) => Some(true),
                    (ClaimVerb::ContentWith, Verdict::NotMet, true) => Some(false),
                    (ClaimVerb::Binds, Verdict::Met | Verdict::NotMet, true) => Some(true),
                    (ClaimVerb::Binds, Verdict::NotApplicable, true) => Some(false),
                    (ClaimVerb::Spares, Verdict::NotApplicable, true) => Some(true),
                    (ClaimVerb::Spares, Verdict::Met | Verdict::NotMet, true) => Some(false),
                    (
                        ClaimVerb::Demands | ClaimVerb::ContentWith | ClaimVerb::Binds | ClaimVerb::Spares,
                        Verdict::Met
                        | Verdict::NotMet
                        | Verdict::NotApplicable
                        | Verdict::Undecided
                        | Verdict::ForTheAuthority,
                        _,
                    ) => None,
                };
                match speaks {
                    Some(true) => spoke = true,
                    Some(false) if against.is_none() => against = Some(facts.full_name(&program.schema, subject)),
                    Some(false) | None => {}
                }
            }
        }
        self.open += usize::from(open);
        self.supporting += usize::from(spoke && against.is_none());
        if let Some(thing) = against {
            self.contradicting += 1;
            self.witness.get_or_insert((position, thing));
        }
    }
}
