//! What a rehearsal found, as it is printed and as `--json` gives it.

use serde::Serialize;

/// The version of the JSON form. Members are only added; anything else raises it.
pub(super) const VERSION: u32 = 1;

/// A whole rehearsal.
#[derive(Debug, Clone, Serialize)]
pub struct Rehearsal {
    /// The version of this form.
    pub version: u32,
    /// The books in which something was run.
    pub books: Vec<String>,
    /// Examples, in the order of files.
    pub examples: Vec<ExampleResult>,
    /// Claims, in the order of files.
    pub claims: Vec<ClaimResult>,
    /// What examples say of each rule.
    pub rules: Vec<Rehearsed>,
    /// Rules, items, exceptions and table rows that could be struck and no example would notice; only if asked for.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub gaps: Option<Vec<Gap>>,
    /// What became of disturbances; only if asked for.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub disturbances: Option<Disturbances>,
    /// Whether every expectation and every claim came out as written.
    pub as_expected: bool,
    /// What this does not say.
    pub caution: String,
}

/// An example and what came out of it.
#[derive(Debug, Clone, Serialize)]
pub struct ExampleResult {
    /// Its title.
    pub title: String,
    /// File and line.
    pub place: String,
    /// The books it was run under.
    pub under: Vec<String>,
    /// How many expectations were held against what came out, over all books.
    pub checks: usize,
    /// Those that failed.
    pub failures: Vec<Failure>,
}

/// An expectation that failed.
#[derive(Debug, Clone, Serialize)]
pub struct Failure {
    /// The book.
    pub under: String,
    /// What was asked, with the values varied.
    pub asked: String,
    /// What was expected.
    pub expected: String,
    /// What came out.
    pub got: String,
    /// File and line of the expectation.
    pub place: String,
    /// File and line of the rule, if there is one.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub rule: Option<String>,
}

/// A claim and what the installations at hand make of it.
#[derive(Debug, Clone, Serialize)]
pub struct ClaimResult {
    /// What people say.
    pub title: String,
    /// The same as a statement about a rule.
    pub statement: String,
    /// File and line.
    pub place: String,
    /// The answer under each book.
    pub under: Vec<Witness>,
}

/// What the installations at hand make of a claim under one book.
#[derive(Debug, Clone, Serialize)]
pub struct Witness {
    /// The book.
    pub book: String,
    /// `refuted`, `supported` or `not settled`. None of them is a proof that it holds.
    pub answer: String,
    /// What was expected, if anything was.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub expected: Option<String>,
    /// Whether that came out.
    pub as_expected: bool,
    /// How many installations speak for it.
    pub supporting: usize,
    /// How many contradict it.
    pub contradicting: usize,
    /// In how many the verdict on something it speaks of is open.
    pub open: usize,
    /// One that contradicts it: the example and the thing.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub witness: Option<String>,
}

/// What examples say of one rule.
#[derive(Debug, Clone, Serialize)]
pub struct Rehearsed {
    /// Its number.
    pub rule: String,
    /// Its title.
    pub title: String,
    /// The verdicts that some expectation asserts, `met by Ex. 2` apart from `met`.
    pub verdicts: Vec<String>,
}

/// A part that could be struck and no example would notice.
#[derive(Debug, Clone, Serialize)]
pub struct Gap {
    /// Its number.
    pub at: String,
    /// What kind of part: `condition`, `exception`, `table row`.
    pub part: String,
    /// Its words.
    pub words: String,
    /// The books in which that is so.
    pub under: Vec<String>,
}

/// What became of disturbances.
#[derive(Debug, Clone, Serialize)]
pub struct Disturbances {
    /// For each book: its name, how many were tried, and how many some example noticed.
    pub under: Vec<(String, usize, usize)>,
    /// The same for each file of rules.
    pub files: Vec<(String, usize, usize)>,
    /// How many were tried, over all books.
    pub tried: usize,
    /// How many some example noticed.
    pub noticed: usize,
    /// Those that no example noticed and nobody waived.
    pub unnoticed: Vec<Unnoticed>,
    /// Those that were waived beside the examples.
    pub waived: Vec<Waived>,
    /// Waivers that waive nothing now: some example notices, or the place is gone.
    pub idle_waivers: Vec<String>,
}

/// A disturbance that no example noticed.
#[derive(Debug, Clone, Serialize)]
pub struct Unnoticed {
    /// The number or name of the part.
    pub at: String,
    /// What was done.
    pub done: String,
    /// The words it was done to.
    pub words: String,
    /// File and line.
    pub place: String,
    /// The books in which no example noticed.
    pub under: Vec<String>,
}

/// A disturbance that was waived.
#[derive(Debug, Clone, Serialize)]
pub struct Waived {
    /// The disturbance.
    #[serde(flatten)]
    pub disturbance: Unnoticed,
    /// The reason given.
    pub reason: String,
}
