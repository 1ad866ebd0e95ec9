//! The tree of what stands beside the rules and belongs to no edition: examples, the fixtures they share, claims, and
//! lists of places that examples leave alone. Re-exported by [`super::ast`].

use super::ast::{Address, CellKey, Clauses, FactItem, FactValue, Mark, Name, TableRow};
use crate::base::source::Span;
use compact_str::CompactString;

/// What stands beside the rules.
#[derive(Debug, Clone)]
pub enum Beside {
    /// Facts that several examples share.
    Fixture(Fixture),
    /// Facts with the verdicts they should get.
    Example(Example),
    /// A belief about the rules.
    Claim(Claim),
    /// Places whose disturbance no example has to notice.
    Survives(Survives),
}

impl Beside {
    /// Place of its head.
    pub fn span(&self) -> Span {
        match self {
            Beside::Fixture(fixture) => fixture.name.span,
            Beside::Example(example) => example.title.span,
            Beside::Claim(claim) => claim.title.span,
            Beside::Survives(survives) => survives.reason.span,
        }
    }
}

/// `fixture exam-room { … }`.
#[derive(Debug, Clone)]
pub struct Fixture {
    /// Its name.
    pub name: Name,
    /// What it is, in a line.
    pub about: Option<CompactString>,
    /// What it holds, in order.
    pub givens: Vec<Given>,
}

/// One step on the way to an installation.
#[derive(Debug, Clone)]
pub enum Given {
    /// `given exam-room`: all of a fixture.
    Fixture(Name),
    /// `given as in "…"`: all that is given in another example.
    AsIn(Name),
    /// Facts, laid over what is given so far.
    Facts(FactItem),
    /// `but size of green: 14 AWG`: another value.
    But(Whereabouts, FactValue, Span),
    /// `without green`: a thing taken away.
    Without(Whereabouts),
}

/// A field or thing by its name and those of its owners, innermost first: `size of green of EX4-1`.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Whereabouts {
    /// The field or thing.
    pub name: Name,
    /// Its owners.
    pub of: Vec<Name>,
}

impl Whereabouts {
    /// As written.
    pub fn words(&self) -> String {
        std::iter::once(&self.name).chain(&self.of).map(|n| n.text.as_str()).collect::<Vec<_>>().join(" of ")
    }

    /// Place of the whole.
    pub fn span(&self) -> Span {
        self.of.last().map_or(self.name.span, |last| self.name.span.to(last.span))
    }
}

/// `under nec 2014 through 2020 or 2026 with harbor-2021`.
#[derive(Debug, Clone)]
pub struct Under {
    /// The family.
    pub family: Name,
    /// Its editions.
    pub years: Vec<YearSpan>,
    /// Amendments on top of each.
    pub with: Vec<Name>,
    /// Place of the whole.
    pub span: Span,
}

/// One edition, or all from one through another.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct YearSpan {
    /// The first.
    pub from: Name,
    /// The last.
    pub through: Option<Name>,
}

/// `example "…" { given … expect … }`.
#[derive(Debug, Clone)]
pub struct Example {
    /// Its title.
    pub title: Name,
    /// The books it is run under; none: all editions of the family.
    pub under: Option<Under>,
    /// The way to its installation.
    pub givens: Vec<Given>,
    /// What should come out.
    pub expects: Vec<Expect>,
    /// Source marks.
    pub marks: Vec<Mark>,
}

/// One line of expectations.
#[derive(Debug, Clone)]
pub struct Expect {
    /// What is asked; none: the section it stands beside.
    pub target: Option<Target>,
    /// In which form.
    pub kind: ExpectKind,
    /// Source marks.
    pub marks: Vec<Mark>,
    /// Place of the whole.
    pub span: Span,
}

/// What an expectation asks about.
#[derive(Debug, Clone)]
pub enum Target {
    /// Every duty no other line of the example asks about; of these articles and sections, where any are named.
    EverythingElse(Vec<Address>),
    /// A section, paragraph, item, kind or standing, by number or name; and of which thing.
    At(Address, Vec<Name>),
}

/// The forms of an expectation.
#[derive(Debug, Clone)]
pub enum ExpectKind {
    /// `2014 met | 2017 through 2026 not met`
    Plain(Vec<(Option<YearSpan>, Answer)>),
    /// `depth 42 in: met | 36 in: undecided`
    Varied(Whereabouts, Vec<(FactValue, Span, Answer)>),
    /// Rows of values with their answers, one for each column of answers.
    Grid {
        /// The fields varied.
        fields: Vec<Whereabouts>,
        /// The columns of answers; none: all editions of the example.
        answers: Vec<Option<YearSpan>>,
        /// The rows.
        rows: Vec<GridRow>,
    },
    /// Rows of a table as published, to be held against the table of the book.
    Table(Box<PublishedTable>),
}

/// A table as somebody else printed it.
#[derive(Debug, Clone)]
pub struct PublishedTable {
    /// Its number.
    pub address: Address,
    /// The unit of bare numbers, if it is not that of the book's table.
    pub unit: Option<Name>,
    /// Column keys; none: those of the book's table.
    pub columns: Vec<(CellKey, Span)>,
    /// Rows; the book's table has these and no others.
    pub rows: Vec<TableRow>,
    /// What is expected: that the two are the same (`met`).
    pub answer: Answer,
    /// Place of the whole.
    pub span: Span,
}

/// A row of a grid.
#[derive(Debug, Clone)]
pub struct GridRow {
    /// The values; none: as given.
    pub values: Vec<(Option<FactValue>, Span)>,
    /// What comes out, one for each column of answers.
    pub answers: Vec<Answer>,
    /// Place of the whole.
    pub span: Span,
}

/// What should come out.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Said {
    /// `met`
    Met,
    /// `not met`
    NotMet,
    /// `not applicable`
    NotApplicable,
    /// `met or not applicable`
    NoViolation,
    /// `undecided`
    Undecided,
    /// `for the authority`
    ForTheAuthority,
    /// `qualifies`
    Qualifies,
    /// `does not qualify`
    DoesNotQualify,
    /// `no such rule`
    NoSuchRule,
}

impl Said {
    /// As written.
    pub fn words(self) -> &'static str {
        match self {
            Said::Met => "met",
            Said::NotMet => "not met",
            Said::NotApplicable => "not applicable",
            Said::NoViolation => "met or not applicable",
            Said::Undecided => "undecided",
            Said::ForTheAuthority => "for the authority",
            Said::Qualifies => "qualifies",
            Said::DoesNotQualify => "does not qualify",
            Said::NoSuchRule => "no such rule",
        }
    }
}

/// What an answer names behind `by`.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum AnswerBy {
    /// `Ex. 2`, `Ex.`
    Exception(Option<Name>),
    /// An exception's name, a reading, or a quoted label.
    Named(Name),
}

/// An expected answer: `met by Ex. 2`, `undecided by either-path, needs facing`, `not met as strict`.
#[derive(Debug, Clone)]
pub struct Answer {
    /// The verdict.
    pub said: Said,
    /// By which exception it is met, or by which reading it is undecided.
    pub by: Option<AnswerBy>,
    /// The chosen reading: the option, and the reading where several have it.
    pub reading: Option<(Name, Option<Name>)>,
    /// The facts that would settle it.
    pub needs: Vec<Whereabouts>,
    /// Place of the whole.
    pub span: Span,
}

/// What a claim says of a rule.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum ClaimVerb {
    /// Nothing meets the rule without it.
    Demands,
    /// Whatever has it meets the rule.
    ContentWith,
    /// The rule applies to whatever has it.
    Binds,
    /// The rule does not apply to whatever has it.
    Spares,
}

impl ClaimVerb {
    /// As written.
    pub fn words(self) -> &'static str {
        match self {
            ClaimVerb::Demands => "demands",
            ClaimVerb::ContentWith => "is content with",
            ClaimVerb::Binds => "binds where",
            ClaimVerb::Spares => "spares where",
        }
    }
}

/// What the installations at hand make of a claim.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum ClaimAnswer {
    /// An installation contradicts it.
    Refuted,
    /// Some speak for it and none against it. That is no proof.
    Supported,
    /// None speaks of it.
    NotSettled,
}

impl ClaimAnswer {
    /// As written.
    pub fn words(self) -> &'static str {
        match self {
            ClaimAnswer::Refuted => "refuted",
            ClaimAnswer::Supported => "supported",
            ClaimAnswer::NotSettled => "not settled",
        }
    }
}

/// `claim "…" { 517.13 demands: …  expect refuted }`.
#[derive(Debug, Clone)]
pub struct Claim {
    /// What people say.
    pub title: Name,
    /// The books it is held against; none: all editions of the family.
    pub under: Option<Under>,
    /// The rule it speaks of.
    pub rule: Address,
    /// What it says of it.
    pub verb: ClaimVerb,
    /// The condition, on the thing the rule judges.
    pub says: Clauses,
    /// Only things of which this holds are looked at.
    pub only: Option<Clauses>,
    /// What should come out.
    pub expects: Vec<(Option<YearSpan>, ClaimAnswer, Span)>,
    /// Source marks.
    pub marks: Vec<Mark>,
    /// Place of the whole.
    pub span: Span,
}

/// `survives "reason" { 250.118(7)(d)  table 8: "row" }`.
#[derive(Debug, Clone)]
pub struct Survives {
    /// Why no example notices.
    pub reason: Name,
    /// The places: a number or name with all below it, and words the disturbance must contain.
    pub places: Vec<(Name, Option<Name>)>,
}
