//! The shape of an inspection as `--json` prints it. Version 1.
//!
//! Fields are only added within a version; a change of meaning or a removal raises [`VERSION`].

use serde::Serialize;

/// The version of the shape.
pub const VERSION: u32 = 1;

/// An inspection of one installation under one book.
#[derive(Debug, Clone, Serialize)]
pub struct Inspection {
    /// [`VERSION`].
    pub version: u32,
    /// What governs.
    pub governing: Governing,
    /// The project's title, or empty.
    pub project: String,
    /// The whole in one word.
    pub outcome: Overall,
    /// How many requirements came out how, stated subjects only.
    pub counts: Counts,
    /// One entry for each requirement and subject, in the book's order, then in the order of the facts.
    pub verdicts: Vec<Verdict>,
    /// The facts that keep requirements open, those that touch most of them first.
    pub ask_first: Vec<AskFirst>,
    /// What sections that grant a standing say of each thing.
    pub qualifies: Vec<Qualifies>,
    /// What was not described, though a requirement may bind it.
    pub not_described: Vec<NotDescribed>,
    /// Kinds of things that are asked for only where described, and of which the facts describe none.
    pub not_looked_at: Vec<String>,
    /// What the report is narrowed to, such as `210.8` or `about gfci`; empty: everything.
    pub only: Vec<String>,
    /// The usual caution.
    pub caution: String,
}

/// The book and the readings chosen.
#[derive(Debug, Clone, Serialize)]
pub struct Governing {
    /// `nec 2017`.
    pub edition: String,
    /// Its full title.
    pub title: String,
    /// Disputed texts of the book.
    pub readings: Vec<Reading>,
    /// How the book was found from the place and the facts; none where it was named and nothing selects.
    pub selection: Option<Selection>,
}

/// A selection by itself, as `whereas govern --json` prints it.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Governed {
    /// [`VERSION`].
    pub version: u32,
    /// Which books govern, and why.
    pub selection: Selection,
    /// The usual caution.
    pub caution: String,
}

/// Which books govern in a place, and why.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Selection {
    /// The place, or empty where a book was named.
    pub place: String,
    /// Its title, or empty.
    pub title: String,
    /// What the facts say that bears on it.
    pub stated: Vec<String>,
    /// One entry if it is settled.
    pub possible: Vec<PossibleBooks>,
    /// The facts that select among them.
    pub ask: Vec<SelectingFact>,
}

/// Books that may govern.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct PossibleBooks {
    /// In force together; empty: nothing is adopted.
    pub books: Vec<String>,
    /// What must be the case; empty where it is settled.
    pub when: Vec<String>,
    /// Why.
    pub because: Vec<SelectedBy>,
}

/// A reason of a selection.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct SelectedBy {
    /// In words.
    pub words: String,
    /// File and line.
    pub written: String,
}

/// A fact that selects a book.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct SelectingFact {
    /// Of what: the project, or the amendment whose approval is not on record.
    pub of: String,
    /// The field of the project, or `approval`.
    pub field: String,
    /// What it is, in words.
    pub question: String,
    /// How to state it.
    pub say: String,
}

/// A disputed text.
#[derive(Debug, Clone, Serialize)]
pub struct Reading {
    /// Its name.
    pub name: String,
    /// The question.
    pub question: String,
    /// What disagrees.
    pub disputed: String,
    /// The reading chosen; none: all were run.
    pub chosen: Option<String>,
    /// Names and descriptions of the readings.
    pub options: Vec<ReadingOption>,
}

/// One reading.
#[derive(Debug, Clone, Serialize)]
pub struct ReadingOption {
    /// Its name.
    pub name: String,
    /// What it says.
    pub about: String,
}

/// The whole in one word.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Overall {
    /// All that applies is met.
    Met,
    /// Something is not met.
    NotMet,
    /// Nothing is violated for certain, but something is undecided or for the authority.
    Open,
}

/// How many requirements came out how.
#[derive(Debug, Clone, Default, PartialEq, Eq, Serialize)]
pub struct Counts {
    /// Met.
    pub met: usize,
    /// Not met.
    pub not_met: usize,
    /// Undecided.
    pub undecided: usize,
    /// For the authority.
    pub for_the_authority: usize,
    /// Not applicable.
    pub not_applicable: usize,
}

/// A requirement's verdict on one subject.
#[derive(Debug, Clone, Serialize)]
pub struct Verdict {
    /// The number to cite, to list-item depth.
    pub section: String,
    /// The heading, in our words.
    pub title: String,
    /// A name given to the requirement, or empty.
    pub name: String,
    /// The thing judged: its name, and its owners' names.
    pub subject: String,
    /// What kind of thing it is.
    pub thing: String,
    /// `met`, `not met`, `not applicable`, `undecided`, `for the authority`.
    pub verdict: String,
    /// What is certain of an undecided verdict: `no violation possible`, `violated if it applies`, or empty.
    pub lean: String,
    /// What satisfied it if not the main text: `Ex. 2 high-luminaire`, or empty.
    pub by: String,
    /// Its force: `requires`, `prohibits`, `if provided, requires`, `permits only`.
    pub force: String,
    /// The words asked, as the rulebook has them.
    pub asks: String,
    /// The deciding branches.
    pub because: Vec<Reason>,
    /// The sections the reasons pass through, in that order.
    pub cites: Vec<String>,
    /// The facts without which it stays open, whatever the others are.
    pub missing: Vec<Missing>,
    /// The facts the verdict rests on.
    pub relied_on: Vec<Relied>,
    /// Disputed texts it depends on, with what each reading gives.
    pub readings: Vec<ReadingEffect>,
    /// Sources and their marks: `seen f4`, `memory`, `disputed: …`, `carried into nec 2026 unchecked`.
    pub marks: Vec<String>,
    /// The last document that carried some of its words without anyone looking whether they still stand there, or empty.
    pub unchecked: String,
    /// Permissions of the book that an amendment's requirement goes beyond, and which of both decides; only where it is not met.
    pub beyond: Vec<String>,
    /// What each book says where several may govern or are in force together; else empty.
    pub under: Vec<Under>,
}

/// A requirement in one of several books.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Under {
    /// The book.
    pub book: String,
    /// The number it has there; empty if the book has no such requirement.
    pub section: String,
    /// The verdict there, or `no such requirement`.
    pub verdict: String,
    /// True if the verdict rests on this book, where several are in force together.
    pub binds: bool,
}

/// One step of the reasons.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Reason {
    /// What part it plays, such as `scope`, `asks`, `Ex. 2`, or a candidate's name.
    pub role: String,
    /// The rulebook's words.
    pub text: String,
    /// The number to cite, or empty.
    pub cite: String,
    /// `yes`, `no`, `unknown`.
    pub answer: &'static str,
    /// What the facts say, or empty.
    pub found: String,
    /// Finer reasons.
    pub because: Vec<Reason>,
}

/// A fact that is missing.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Missing {
    /// Whose.
    pub of: String,
    /// Which field.
    pub field: String,
    /// What it is, in words.
    pub question: String,
    /// Who may decide it, if only the authority can; else empty.
    pub judgment: String,
}

/// A missing fact and how many open requirements wait for it.
#[derive(Debug, Clone, Serialize)]
pub struct AskFirst {
    /// Whose.
    pub of: String,
    /// Which field.
    pub field: String,
    /// What it is, in words.
    pub question: String,
    /// Who may decide it, if only the authority can; else empty.
    pub judgment: String,
    /// How many open requirements it keeps open.
    pub keeps_open: usize,
}

/// A fact that was relied on.
#[derive(Debug, Clone, Serialize)]
pub struct Relied {
    /// Whose.
    pub of: String,
    /// Which field.
    pub field: String,
    /// Its value.
    pub value: String,
}

/// What one reading of a disputed text gives.
#[derive(Debug, Clone, Serialize)]
pub struct ReadingEffect {
    /// The disputed text.
    pub reading: String,
    /// The option.
    pub option: String,
    /// What it says.
    pub about: String,
    /// The verdict under it.
    pub verdict: String,
    /// True if this option was chosen by the user.
    pub chosen: bool,
}

/// Whether a thing has a standing that a section grants.
#[derive(Debug, Clone, Serialize)]
pub struct Qualifies {
    /// The section.
    pub section: String,
    /// The standing, such as `grounding-conductor`.
    pub standing: String,
    /// The thing.
    pub subject: String,
    /// `qualifies`, `does not qualify`, `undecided`.
    pub answer: String,
    /// The deciding branches.
    pub because: Vec<Reason>,
    /// The sections the reasons pass through.
    pub cites: Vec<String>,
    /// The facts without which it stays open.
    pub missing: Vec<Missing>,
}

/// Something the facts do not describe though a requirement may bind it.
#[derive(Debug, Clone, Serialize)]
pub struct NotDescribed {
    /// What, such as `outlet of ER4-1`.
    pub what: String,
    /// How to say that there is none.
    pub say: String,
    /// The requirements that may bind it.
    pub sections: Vec<String>,
}
