//! The syntax tree of rulebooks and facts. It owns its text, keeps every place, and decides nothing: words are not
//! resolved here, quantities not converted, section numbers are text. Comments live beside it in [`crate::syntax::Parsed`].

pub use super::beside::{
    Answer, AnswerBy, Beside, Claim, ClaimAnswer, ClaimVerb, Example, Expect, ExpectKind, Fixture, Given, GridRow,
    PublishedTable, Said, Survives, Target, Under, Whereabouts, YearSpan,
};
pub use super::jurisdiction::*;
use crate::base::source::Span;
use compact_str::CompactString;

/// A written word with its place.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Name {
    /// The word as written.
    pub text: CompactString,
    /// Where it stands.
    pub span: Span,
}

/// A printed number of a section or table with its labels, such as `250.118(5)(c)`.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Address {
    /// The whole number as printed.
    pub text: CompactString,
    /// Where it stands.
    pub span: Span,
}

/// Where a statement comes from and how sure we are of it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Mark {
    /// Seen in a published source, named by its key.
    Seen(CompactString),
    /// From memory only.
    Memory,
    /// Sources disagree; says how.
    Disputed(CompactString),
    /// Carried into the document named here, and nobody looked whether it stands there so. Never written: `carry … unchecked`
    /// makes it.
    Unchecked(CompactString),
}

/// A whole rulebook file.
#[derive(Debug, Clone, Default)]
pub struct Rulebook {
    /// Items in file order.
    pub items: Vec<Item>,
    /// Findings of a review that are as they should be, in file order.
    pub intentions: Vec<Intention>,
}

/// `intended F0102 "the book says so twice"`: a finding of a review that is as it should be.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Intention {
    /// The code of the finding.
    pub code: Name,
    /// Why it is as it should be.
    pub reason: Name,
    /// What it stands for: the line it ends, or the block it stands in or behind.
    pub covers: Span,
    /// Place of the whole.
    pub span: Span,
}

/// A top-level item of a rulebook.
#[derive(Debug, Clone)]
pub enum Item {
    /// `terms for nec "…"`: the items below belong to this family's vocabulary.
    Terms(TermsHeader),
    /// `edition nec 2017 "…"`: the items below belong to this edition.
    Edition(EditionHeader),
    /// An unordered list of values.
    Choice(Choice),
    /// An ordered list of values.
    Scale(Scale),
    /// A kind of thing with its fields.
    Thing(Thing),
    /// A section with its rules.
    Section(Section),
    /// A named condition on one thing.
    Kind(Kind),
    /// A named expression on one thing.
    Define(Define),
    /// A named quantity.
    Limit(Limit),
    /// A table of values.
    Table(Table),
    /// A disputed text with its readings.
    Reading(Reading),
    /// An itemised total.
    Amount(Amount),
    /// Standard values in rising order.
    Series(Series),
    /// Changes to a book: an edition that follows another, an interim or a local amendment.
    Changes(ChangeSet),
    /// A place and the editions it adopted; it belongs to no edition.
    Jurisdiction(Jurisdiction),
    /// An example, a claim or what they share: belongs to no edition.
    Beside(Box<Beside>),
}

/// `terms for nec "National Electrical Code"`.
#[derive(Debug, Clone)]
pub struct TermsHeader {
    /// The family of editions.
    pub family: Name,
    /// Its full title.
    pub title: Option<CompactString>,
    /// Source marks.
    pub marks: Vec<Mark>,
    /// Place of the statement.
    pub span: Span,
}

/// How much of an edition stands under a header.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Extent {
    /// The edition.
    Edition,
    /// `excerpt of nec 2005`: a few paragraphs that other books may use; nothing is inspected under it.
    Excerpt,
}

/// `edition nec 2017 "…"`.
#[derive(Debug, Clone)]
pub struct EditionHeader {
    /// The family of editions.
    pub family: Name,
    /// The year or other short name within the family.
    pub year: Name,
    /// Its full title.
    pub title: Option<CompactString>,
    /// Whether only a few paragraphs are given, for other books to use.
    pub extent: Extent,
    /// Source marks.
    pub marks: Vec<Mark>,
    /// Place of the statement.
    pub span: Span,
}

/// `choice material { copper, aluminum  group metal = copper, aluminum }`.
#[derive(Debug, Clone)]
pub struct Choice {
    /// Its name.
    pub name: Name,
    /// One-line description.
    pub about: Option<CompactString>,
    /// Values with their descriptions, in order.
    pub values: Vec<(Name, Option<CompactString>)>,
    /// Named groups of values.
    pub groups: Vec<(Name, Vec<Name>)>,
    /// Place of the whole.
    pub span: Span,
}

/// `scale wire-size { 14 AWG < 12 AWG }`: smallest first.
#[derive(Debug, Clone)]
pub struct Scale {
    /// Its name.
    pub name: Name,
    /// One-line description.
    pub about: Option<CompactString>,
    /// Steps, smallest first, as written with single spaces.
    pub steps: Vec<Name>,
    /// Place of the whole.
    pub span: Span,
}

/// `thing branch-circuit as circuit { … }`.
#[derive(Debug, Clone)]
pub struct Thing {
    /// Its name.
    pub name: Name,
    /// A short name by which nested things call their owner.
    pub alias: Option<Name>,
    /// `where described`: requirements ask for it only where the facts describe one.
    pub where_described: bool,
    /// One-line description.
    pub about: Option<CompactString>,
    /// Fields in order.
    pub fields: Vec<Field>,
    /// Place of the whole.
    pub span: Span,
}

/// One field of a thing.
#[derive(Debug, Clone)]
pub struct Field {
    /// Its name.
    pub name: Name,
    /// What it holds.
    pub ty: FieldType,
    /// Modifiers as written.
    pub modifiers: Vec<Modifier>,
    /// What the tool shows when it asks.
    pub about: Option<CompactString>,
    /// Source marks.
    pub marks: Vec<Mark>,
    /// Place of the whole line.
    pub span: Span,
}

/// The written type of a field.
#[derive(Debug, Clone)]
pub enum FieldType {
    /// `yes-no`, `text`, `date`, a dimension, a choice, a scale or a thing, all by name.
    Plain(Name),
    /// `many path`: owned members; `many space by name`: references.
    Many {
        /// The kind of member.
        thing: Name,
        /// True for references to things that stand elsewhere.
        by_name: bool,
    },
    /// `those branch-circuit whose serves is this`.
    Inverse {
        /// The things collected.
        thing: Name,
        /// Their field that points here.
        field: Name,
    },
    /// `length from sink-edge through barrier`: one measurement for each key.
    Keyed {
        /// The dimension measured.
        dimension: Name,
        /// The choice of keys.
        key: Name,
        /// The choice of barriers a path may pass.
        through: Option<Name>,
    },
}

/// A modifier of a field.
#[derive(Debug, Clone)]
pub enum Modifier {
    /// `may be absent`.
    MayBeAbsent(Span),
    /// `never negative`.
    NeverNegative(Span),
    /// `at least N` members.
    AtLeast(Number),
    /// `judgment "who decides, on what"`.
    Judgment(Option<CompactString>, Span),
    /// `external "the document that owns it"`.
    External(Option<CompactString>, Span),
}

/// A number as written, such as `7 1/2` or `0.25`.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Number {
    /// The digits as written.
    pub text: CompactString,
    /// Where they stand.
    pub span: Span,
}

/// Numbers with units that add up: `6 ft 6 in`, `20 A`, `3`.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Measure {
    /// Each number with its unit.
    pub parts: Vec<(Number, Option<Name>)>,
    /// Place of the whole.
    pub span: Span,
}

/// A quantity, perhaps in two systems: `7 1/2 ft (2.3 m)`.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Quantity {
    /// The first statement.
    pub first: Measure,
    /// The same limit in the other system.
    pub second: Option<Measure>,
    /// Place of the whole.
    pub span: Span,
}

/// A written value.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Value {
    /// `2026-09-01`, as text.
    Date(Name),
    /// A quoted text.
    Text(Name),
    /// A quantity, or a step of a scale such as `12 AWG`.
    Quantity(Quantity),
    /// `none`.
    None(Span),
    /// A word and a number, such as `trade 1 1/4`.
    Worded(Name),
    /// A bare word.
    Word(Name),
}

/// A value or `V through V`.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct ValueRange {
    /// The value, or the lower end.
    pub from: Value,
    /// The upper end, included.
    pub through: Option<Value>,
}

/// Words that lead to a field: `overcurrent of circuit`, `to-sink from outside-edge`, `circuit serves patient-care`.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Path {
    /// The words before any `of`, in order; more than one only where they read as subject, verb, predicate.
    pub words: Vec<Name>,
    /// `from KEY` behind the first word.
    pub from: Option<Name>,
    /// The words behind each `of`, innermost owner last.
    pub of: Vec<Name>,
    /// Place of the whole.
    pub span: Span,
}

/// A list of members: `flexible parts of path`.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct ListRef {
    /// Kinds that narrow it, then the list's own name.
    pub words: Vec<Name>,
    /// Owners behind `of`.
    pub of: Vec<Name>,
    /// Place of the whole.
    pub span: Span,
}

/// Arithmetic operators.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Binary {
    /// `+`
    Add,
    /// `-`
    Sub,
    /// `x` or `*`
    Mul,
    /// `/`
    Div,
}

/// How a result is rounded.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Rounding {
    /// To the next whole number up.
    Up,
    /// To the next whole number down.
    Down,
    /// Up from the stated fraction, otherwise down.
    UpFrom(Number),
}

/// Which of two values.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Extreme {
    /// The larger.
    Larger,
    /// The smaller.
    Smaller,
}

/// Where a series is entered from a value.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Way {
    /// `above`
    Above,
    /// `at or above`
    AtOrAbove,
    /// `below`
    Below,
    /// `at or below`
    AtOrBelow,
}

/// How a list is folded into one value.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Fold {
    /// `count of`
    Count,
    /// `sum of F of`
    Sum,
    /// `largest F of`
    Largest,
    /// `smallest F of`
    Smallest,
}

/// An expression.
#[derive(Debug, Clone)]
pub struct Expr {
    /// What it is.
    pub kind: ExprKind,
    /// Place of the whole.
    pub span: Span,
}

/// The forms of an expression.
#[derive(Debug, Clone)]
pub enum ExprKind {
    /// A literal quantity or scale step.
    Quantity(Quantity),
    /// A literal such as `trade 1 1/4`.
    Worded(Name),
    /// A literal date.
    Date(Name),
    /// A field, a definition, a limit, or several words that make a condition.
    Path(Path),
    /// `table 250.122 at K and K across K`.
    Lookup {
        /// The table.
        table: Address,
        /// Keys in the table's order; empty: by the names of the table's keys.
        keys: Vec<Expr>,
        /// True if the last key was given with `across`.
        across: bool,
    },
    /// A fold over a list.
    Fold {
        /// Which.
        fold: Fold,
        /// The member's field folded; none for a count.
        field: Option<Path>,
        /// The list.
        list: ListRef,
        /// Which members count.
        filter: Option<Clauses>,
    },
    /// Two operands.
    Binary(Binary, Box<Expr>, Box<Expr>),
    /// `E beyond Q`: what exceeds Q, never below zero.
    Beyond(Box<Expr>, Box<Expr>),
    /// `E per Q or fraction`: the quotient rounded up.
    PerOrFraction(Box<Expr>, Box<Expr>),
    /// Rounded.
    Rounded(Box<Expr>, Rounding),
    /// `larger of A and B`, `smaller of A and B`.
    Either(Extreme, Box<Expr>, Box<Expr>),
    /// `next of series 240.6(A) above X`.
    Next {
        /// The series.
        series: Address,
        /// Which way from the value, and whether the value itself counts.
        way: Way,
        /// The value.
        of: Box<Expr>,
    },
    /// `first row of table 310.16 at K across C where at least X`.
    FirstRow {
        /// The table.
        table: Address,
        /// Keys in the table's order, the last left out: it is what is sought.
        keys: Vec<Expr>,
        /// The column.
        across: Option<Box<Expr>>,
        /// [`Bound::AtLeast`] or [`Bound::MoreThan`].
        bound: Bound,
        /// What the cell must reach.
        limit: Box<Expr>,
    },
    /// `A if CLAUSES, otherwise B`; without the other case only a line of an amount.
    Provided(Box<Expr>, Clauses, Option<Box<Expr>>),
    /// `each LIST where CLAUSES: E`: the sum over the members; only a line of an amount.
    Each {
        /// The list.
        list: ListRef,
        /// Which members count.
        filter: Option<Clauses>,
        /// What each adds.
        of: Box<Expr>,
    },
    /// Conditions in parentheses.
    Clauses(Clauses),
}

/// Clauses joined by commas: all must hold.
#[derive(Debug, Clone)]
pub struct Clauses {
    /// The clauses.
    pub all: Vec<Clause>,
    /// Place of the whole.
    pub span: Span,
}

/// One condition.
#[derive(Debug, Clone)]
pub struct Clause {
    /// True if an odd number of `not` stands before it.
    pub negated: bool,
    /// What it says.
    pub kind: ClauseKind,
    /// Place of the whole.
    pub span: Span,
}

/// The forms of a condition.
#[derive(Debug, Clone)]
pub enum ClauseKind {
    /// `any of { }`
    AnyOf(Items),
    /// `all of { }`
    AllOf(Items),
    /// `none of { }`
    NoneOf(Items),
    /// `if A: B`
    If(Clauses, Clauses),
    /// `no worse than before by E`: E has not grown by the work
    NoWorse(Box<Expr>),
    /// A statement about the members of a list.
    Quantified {
        /// How many.
        quantifier: Quantifier,
        /// Of what.
        list: ListRef,
        /// Which members are meant.
        filter: Option<Clauses>,
        /// What each must satisfy (`: …`).
        consequence: Option<Clauses>,
        /// `is …` or another predicate each must satisfy.
        predicate: Option<Predicate>,
    },
    /// `before 2026-09-01 by installation`
    Dated(DateSide, Name, Option<Name>),
    /// An expression alone, or compared.
    Compare(Expr, Option<Predicate>),
}

/// How many members.
#[derive(Debug, Clone)]
pub enum Quantifier {
    /// All of them.
    Every,
    /// At least one.
    Some,
    /// None of them.
    No,
    /// A bound on the number.
    Bound(Bound, Box<Expr>),
}

/// Direction of a comparison.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Bound {
    /// `at least`
    AtLeast,
    /// `at most`
    AtMost,
    /// `exactly`
    Exactly,
    /// `more than`, `larger than`
    MoreThan,
    /// `less than`, `fewer than`, `smaller than`
    LessThan,
}

/// Which side of a date.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum DateSide {
    /// Excludes the day.
    Before,
    /// Excludes the day.
    After,
    /// Includes the day.
    Through,
    /// `from 2023-01-01`: on that day and later.
    From,
}

/// What is said of an operand.
#[derive(Debug, Clone)]
pub struct Predicate {
    /// What.
    pub kind: PredicateKind,
    /// Place of the whole.
    pub span: Span,
}

/// The forms of a predicate.
#[derive(Debug, Clone)]
pub enum PredicateKind {
    /// `is A or B`
    Is(Vec<ValueRange>),
    /// `is not A or B`
    IsNot(Vec<ValueRange>),
    /// `at least E` and its kin.
    Bound(Bound, Box<Expr>),
    /// `before 2026-09-01 by installation`
    Dated(DateSide, Name, Option<Name>),
    /// `through door or wall`
    Passes(Vec<Name>),
    /// `not through door or wall`
    PassesNot(Vec<Name>),
}

/// The lines of a `{ }` list.
#[derive(Debug, Clone)]
pub struct Items {
    /// The lines.
    pub all: Vec<ListItem>,
    /// Place of the whole.
    pub span: Span,
}

/// One line of a list.
#[derive(Debug, Clone)]
pub struct ListItem {
    /// `(5)`
    pub label: Option<Name>,
    /// `as name:`
    pub name: Option<Name>,
    /// What it says.
    pub clauses: Clauses,
    /// Source marks.
    pub marks: Vec<Mark>,
    /// Place of the whole.
    pub span: Span,
}

/// A section with its rules.
#[derive(Debug, Clone)]
pub struct Section {
    /// Its printed number.
    pub address: Address,
    /// A name given to it.
    pub name: Option<Name>,
    /// Its title, in our words.
    pub title: Option<CompactString>,
    /// Subjects amendments can name.
    pub about: Vec<Name>,
    /// What it says.
    pub body: Body,
    /// Place of the whole.
    pub span: Span,
}

/// The statements between the braces of a section or paragraph.
#[derive(Debug, Clone, Default)]
pub struct Body {
    /// Statements in order.
    pub statements: Vec<Statement>,
}

/// A statement with its marks.
#[derive(Debug, Clone)]
pub struct Statement {
    /// What it says.
    pub kind: StatementKind,
    /// Source marks.
    pub marks: Vec<Mark>,
    /// Place of the whole.
    pub span: Span,
}

/// The forms of a statement.
#[derive(Debug, Clone)]
pub enum StatementKind {
    /// A line that holds only marks: they stand for the whole body.
    Marks,
    /// `(B)(1) "Title" { … }`
    Paragraph {
        /// Its labels.
        labels: Vec<Name>,
        /// A name given to it.
        name: Option<Name>,
        /// Its title.
        title: Option<CompactString>,
        /// What it says; none if `reserved`.
        body: Option<Body>,
    },
    /// `governs each outlet of branch-circuit`
    Governs {
        /// The thing judged.
        thing: Name,
        /// The owner it must be nested in.
        owner: Option<Name>,
    },
    /// `when …`
    When(Clauses),
    /// `also when …`: a case that the scope holds besides
    AlsoWhen(Clauses),
    /// `requires different { … }`
    Different(Vec<Half>),
    /// `requires …` with numbered triggers
    Requires(Clauses, Option<Items>),
    /// `prohibits …`
    Prohibits(Clauses, Option<Items>),
    /// `permits part as grounding-conductor, …`
    PermitsAs {
        /// The thing that may qualify.
        thing: Name,
        /// The name of what it qualifies as.
        kind: Name,
        /// On which conditions.
        clauses: Clauses,
    },
    /// `permits only …`
    PermitsOnly(Clauses),
    /// `permits … notwithstanding 300.22(C)`
    Permits(Clauses, Option<Address>),
    /// `notes "…"`
    Notes(CompactString),
    /// `if provided X, requires …`
    IfProvided(Path, Clauses),
    /// `unless Ex. 2 when … then … is enough`
    Unless(ExceptionHead, Clauses, Option<Enough>),
    /// `Ex. 1 when … instead requires …`
    Exception(ExceptionHead, Clauses, Clauses),
    /// `modifies 110.26(A)(1) when … instead requires …`
    Modifies(Address, Clauses, Clauses),
    /// `waives 210.12(A) when …`
    Waives(Address, Option<Clauses>),
    /// `tally required = outlets where …`
    Tally(Name, ListRef, Option<Clauses>),
}

/// `(A) path A of kind metal-path`
#[derive(Debug, Clone)]
pub struct Half {
    /// Its label.
    pub label: Name,
    /// The thing sought.
    pub thing: Name,
    /// The letter or word it is called by.
    pub slot: Name,
    /// The kind it must be.
    pub kind: Option<Name>,
    /// Further or other conditions.
    pub clauses: Option<Clauses>,
    /// Source marks.
    pub marks: Vec<Mark>,
    /// Place of the whole.
    pub span: Span,
}

/// The head of an exception.
#[derive(Debug, Clone)]
pub struct ExceptionHead {
    /// Its printed number.
    pub number: Option<Name>,
    /// The items it is bound to, each a run of labels; empty: all.
    pub to: Vec<Vec<Name>>,
    /// A name given to it.
    pub name: Option<Name>,
    /// What a member that needs it is not counted toward.
    pub uncounted: Option<Address>,
    /// Place of the head.
    pub span: Span,
}

/// What is enough under an exception.
#[derive(Debug, Clone)]
pub enum Enough {
    /// `(A) or (B) is enough`
    Labels(Vec<Vec<Name>>, Span),
    /// `gfci is class-C is enough`
    Clauses(Clauses),
}

/// A named condition on one thing.
#[derive(Debug, Clone)]
pub struct Kind {
    /// Its name.
    pub name: Name,
    /// The thing it sorts.
    pub thing: Name,
    /// The parts it is meant for; none: everywhere.
    pub only: Vec<Address>,
    /// The section it paraphrases.
    pub per: Option<Address>,
    /// One-line description.
    pub about: Option<CompactString>,
    /// Lines that must all hold.
    pub items: Items,
    /// Source marks.
    pub marks: Vec<Mark>,
    /// Place of the whole.
    pub span: Span,
}

/// A named expression on one thing.
#[derive(Debug, Clone)]
pub struct Define {
    /// Its name.
    pub name: Name,
    /// The thing it is computed for.
    pub thing: Name,
    /// The parts it is meant for; none: everywhere.
    pub only: Vec<Address>,
    /// The section it paraphrases.
    pub per: Option<Address>,
    /// What it is.
    pub expr: Expr,
    /// Source marks.
    pub marks: Vec<Mark>,
    /// Place of the whole.
    pub span: Span,
}

/// A named quantity.
#[derive(Debug, Clone)]
pub struct Limit {
    /// Its name.
    pub name: Name,
    /// The parts it is meant for; none: everywhere.
    pub only: Vec<Address>,
    /// The section it paraphrases.
    pub per: Option<Address>,
    /// What it is.
    pub quantity: Quantity,
    /// Source marks.
    pub marks: Vec<Mark>,
    /// Place of the whole.
    pub span: Span,
}

/// How a key finds its row.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum RowMode {
    /// The row whose key is or contains the value.
    Exact,
    /// The smallest row not below the value.
    NextUp,
    /// The largest row not above the value.
    NextDown,
}

/// A key of a table.
#[derive(Debug, Clone)]
pub struct TableKey {
    /// Its name; also the path read when a look-up gives no keys.
    pub name: Name,
    /// Its type, by name.
    pub ty: Name,
    /// How it finds its row.
    pub mode: RowMode,
}

/// The key of a row or column.
#[derive(Debug, Clone)]
pub enum CellKey {
    /// Values or ranges.
    Values(Vec<ValueRange>),
    /// `up to V`
    UpTo(Value),
    /// `over V`
    Over(Value),
}

/// A table of values.
#[derive(Debug, Clone)]
pub struct Table {
    /// Its printed number.
    pub address: Address,
    /// Its title, in our words.
    pub title: Option<CompactString>,
    /// Row keys, in order.
    pub by: Vec<TableKey>,
    /// The column key.
    pub across: Option<TableKey>,
    /// `no other size`: outside the rows is not permitted, not a gap.
    pub closed: bool,
    /// `gaps intended`: the printed ranges leave values out, and the book means it.
    pub gaps: bool,
    /// The type of the cells, by name.
    pub gives: Name,
    /// The unit of bare numbers.
    pub unit: Option<Name>,
    /// Column keys.
    pub columns: Vec<(CellKey, Span)>,
    /// Rows.
    pub rows: Vec<TableRow>,
    /// Source marks.
    pub marks: Vec<Mark>,
    /// Place of the whole.
    pub span: Span,
}

/// A row of a table.
#[derive(Debug, Clone)]
pub struct TableRow {
    /// Its keys, one for each `by`.
    pub keys: Vec<CellKey>,
    /// Its cells; `None` is `-`, not permitted.
    pub cells: Vec<(Option<Value>, Span)>,
    /// Source marks.
    pub marks: Vec<Mark>,
    /// Place of the whole.
    pub span: Span,
}

/// A disputed text with its readings.
#[derive(Debug, Clone)]
pub struct Reading {
    /// Its name.
    pub name: Name,
    /// The thing it sorts, or the exception it belongs to.
    pub of: Name,
    /// The question in one line.
    pub about: Option<CompactString>,
    /// What disagrees.
    pub disputed: Option<CompactString>,
    /// The readings.
    pub options: Vec<ReadingOption>,
    /// Source marks.
    pub marks: Vec<Mark>,
    /// Place of the whole.
    pub span: Span,
}

/// One reading of a disputed text.
#[derive(Debug, Clone)]
pub struct ReadingOption {
    /// Its name.
    pub name: Name,
    /// What it says, in one line.
    pub about: CompactString,
    /// What it makes of the text.
    pub says: ReadingSays,
    /// Place of the whole.
    pub span: Span,
}

/// What a reading makes of the text.
#[derive(Debug, Clone)]
pub enum ReadingSays {
    /// Which items are enough.
    Enough(Vec<Vec<Name>>, Span),
    /// Lines that must all hold.
    Items(Items),
    /// The value that the text then gives.
    Value(Expr),
}

/// `amount box-fill of box : volume in in3, per 314.16(B) "…" { … }`: a total of lines.
#[derive(Debug, Clone)]
pub struct Amount {
    /// Its name.
    pub name: Name,
    /// The thing it is computed for.
    pub thing: Name,
    /// What kind of quantity it is, by name.
    pub ty: Name,
    /// The unit it is told in.
    pub unit: Option<Name>,
    /// The section it paraphrases.
    pub per: Option<Address>,
    /// Its title, in our words.
    pub title: Option<CompactString>,
    /// What adds up.
    pub lines: Vec<AmountLine>,
    /// Source marks.
    pub marks: Vec<Mark>,
    /// Place of the whole.
    pub span: Span,
}

/// One line of an amount.
#[derive(Debug, Clone)]
pub struct AmountLine {
    /// `(5)`
    pub label: Option<Name>,
    /// `as name:`
    pub name: Option<Name>,
    /// What it adds.
    pub expr: Expr,
    /// Source marks.
    pub marks: Vec<Mark>,
    /// Place of the whole.
    pub span: Span,
}

/// `series 240.6(A) "…" : current { 15 A, 20 A }`: standard values.
#[derive(Debug, Clone)]
pub struct Series {
    /// Its printed number.
    pub address: Address,
    /// Its title, in our words.
    pub title: Option<CompactString>,
    /// What kind of quantity they are, by name.
    pub ty: Name,
    /// The values, smallest first.
    pub values: Vec<Value>,
    /// Source marks.
    pub marks: Vec<Mark>,
    /// Place of the whole.
    pub span: Span,
}

// ------------------------------------------------------------------------------------------------ changes

/// An edition by name: `nec 2017`.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct EditionName {
    /// The family.
    pub family: Name,
    /// The year or other short name.
    pub year: Name,
}

/// What kind of document changes a book.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum SetKind {
    /// The next edition itself.
    Edition,
    /// An interim amendment between editions.
    Interim,
    /// A correction of a printing.
    Erratum,
    /// A local amendment.
    Amendment,
}

/// A set of changes to a book.
#[derive(Debug, Clone)]
pub struct ChangeSet {
    /// What kind of document.
    pub kind: SetKind,
    /// Its short name; for an edition its year.
    pub name: Name,
    /// The edition it makes, for [`SetKind::Edition`].
    pub edition: Option<EditionName>,
    /// Its title.
    pub title: Option<CompactString>,
    /// The edition it changes; none: every base.
    pub base: Option<EditionName>,
    /// The printing it changes.
    pub printing: Option<Name>,
    /// The changes in order.
    pub changes: Vec<Change>,
    /// Source marks.
    pub marks: Vec<Mark>,
    /// Place of the head.
    pub span: Span,
}

/// One change with its marks.
#[derive(Debug, Clone)]
pub struct Change {
    /// What it does.
    pub kind: ChangeKind,
    /// Source marks.
    pub marks: Vec<Mark>,
    /// Place of the whole.
    pub span: Span,
}

/// The end of a window.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct WindowEnd {
    /// [`DateSide::Before`] or [`DateSide::Through`].
    pub side: DateSide,
    /// The day.
    pub date: Name,
}

/// What a change is applied to.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum ChangeTarget {
    /// A section, paragraph, item, kind or exception, by number or by name.
    At(Address),
    /// Every section about a subject.
    About(Name),
}

/// What is put in.
#[derive(Debug, Clone)]
pub enum Content {
    /// Statements of a section or paragraph.
    Body(Body),
    /// Lines of a list.
    Items(Items),
}

/// The forms of a change.
#[derive(Debug, Clone)]
pub enum ChangeKind {
    /// `in force 2021-07-01 through 2024-06-30 by permit-application`
    InForce {
        /// The first day.
        from: Option<Name>,
        /// The end.
        until: Option<WindowEnd>,
        /// Which date of the project counts.
        clock: Name,
    },
    /// `in 210.8(A): …`
    In(ChangeTarget, Vec<Edit>),
    /// `in table 250.122: …`
    InTable(Address, Vec<TableEdit>),
    /// `in series 240.6(A): …`
    InSeries(Address, Vec<SeriesEdit>),
    /// `insert 250.118(5)(c) "Size" { … }; (c) moves to (d)`
    Insert {
        /// Where.
        at: Address,
        /// A name given to it.
        name: Option<Name>,
        /// Its title.
        title: Option<CompactString>,
        /// What it says.
        content: Content,
        /// Labels that move to make room, in order.
        moves: Vec<(Name, Name)>,
    },
    /// `delete A`, `delete A through B`
    Delete(Address, Option<Address>),
    /// `reserve A`
    Reserve(Address),
    /// `replace A "…" { … }`
    Replace {
        /// What.
        at: Address,
        /// Its new title.
        title: Option<CompactString>,
        /// What it now says.
        content: Content,
    },
    /// `renumber A as B`
    Renumber(Address, Address),
    /// `use A of nec 2017`, `use the scope of A of nec 2017`, `use Ex. 1, Ex. 2 of A of nec 2005`
    Use {
        /// What is taken.
        what: Used,
        /// The part it is taken from, and whose place it takes.
        at: Address,
        /// The edition whose text it is.
        edition: EditionName,
        /// Where its words get their meaning.
        words: Definitions,
    },
    /// `waive A, B when …`
    Waive(Vec<Address>, Option<Clauses>),
    /// `release A, B, if provided: …`
    Release(Vec<Address>, Clauses),
    /// `start A on DATE by CLOCK`, perhaps only `when …`
    Start(Address, Name, Name, Option<Clauses>),
    /// `lapse A on DATE by CLOCK`, perhaps only `when …`
    Lapse(Address, Name, Name, Option<Clauses>),
    /// `carry A, table B unchecked`
    Carry(Vec<Carried>),
    /// `delete table 250.122`
    DeleteTable(Address),
    /// `use table 250.122 of nec 2014`
    UseTable(Address, EditionName),
    /// `exclude 547.1 through 547.10, 110.24`: not adopted, whatever stands there.
    Exclude(Vec<(Address, Option<Address>)>),
    /// `move A to B`: the same text under another number, anywhere.
    Move(Address, Address),
    /// `split A into B taking (1), (2); C taking (3)`
    Split(Address, Vec<SplitPart>),
    /// `merge A, B as C`
    Merge(Vec<Address>, Address),
    /// `alarm-only becomes 8(3)`, `8(3) becomes Ex. 1 as alarm-only`
    Becomes(PartName, NewPlace),
    /// `read X as Y everywhere`
    ReadEverywhere(ReadTerm, ReadTerm),
    /// `settle READING as OPTION`
    Settle(Name, Name),
    /// `notes are not adopted`
    NotesFall,
    /// `limit reach was 6 ft, now 5 ft`
    LimitWas(Name, Quantity, Quantity),
    /// `delay A from DATE to DATE by CLOCK`
    Delay {
        /// What starts later.
        at: Address,
        /// The day it starts in the base.
        old: Name,
        /// The day it now starts.
        new: Name,
        /// By which date of the project.
        clock: Name,
    },
    /// `fact NAME of THING: TYPE`
    Declare {
        /// Of which thing.
        thing: Name,
        /// The field.
        field: Field,
    },
    /// `add as NAME after A "…" { … }`
    AddAfter {
        /// Its name, which is also its number.
        name: Name,
        /// The section it stands behind.
        after: Address,
        /// The new section.
        section: Section,
    },
    /// A section, kind, table or other item that is new.
    Added(Box<Item>),
}

/// What a graft takes of a part of another edition.
#[derive(Debug, Clone)]
pub enum Used {
    /// The whole text.
    Text,
    /// The lines that say where it applies.
    Scope,
    /// Some of its exceptions, and what members that need them are not counted toward.
    Exceptions(Vec<ExceptionName>, Option<Address>),
}

/// Where the words of a grafted text get their meaning.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Definitions {
    /// In the book they are put into.
    Here,
    /// They are brought along from the other edition, for that text only.
    Brought,
}

/// An exception by its printed number and what it is bound to.
#[derive(Debug, Clone)]
pub struct ExceptionName {
    /// Its number; none: the one without a number.
    pub number: Option<Name>,
    /// The items it is bound to.
    pub to: Vec<Vec<Name>>,
    /// Where it is named.
    pub span: Span,
}

/// A part named in a change: by address or name, or an exception by its number.
#[derive(Debug, Clone)]
pub enum PartName {
    /// By number or name.
    At(Address),
    /// `Ex. 2 of 210.8(A)`
    Exception(ExceptionName, Address),
}

/// What a part becomes.
#[derive(Debug, Clone)]
pub enum NewPlace {
    /// A list item under that number.
    Item(Address),
    /// An exception of the part it stood in.
    Exception(ExceptionHead),
}

/// One of the parts a part is split into.
#[derive(Debug, Clone)]
pub struct SplitPart {
    /// Its number.
    pub at: Address,
    /// Its title.
    pub title: Option<CompactString>,
    /// What it gets.
    pub gets: SplitShare,
}

/// What a part gets in a split.
#[derive(Debug, Clone)]
pub enum SplitShare {
    /// The whole text.
    Whole,
    /// These items of the list.
    Items(Vec<Name>),
    /// The text, where these conditions hold.
    Where(Clauses),
}

/// What is read as something else.
#[derive(Debug, Clone)]
pub enum ReadTerm {
    /// A word: a field, a kind, a value.
    Word(Name),
    /// A quantity.
    Quantity(Quantity),
    /// The number of a section or of a part of one: `210.12(B)`, `section 250.118`.
    Number(Address),
    /// Words in titles and notes.
    Text(CompactString, Span),
}

/// The force of a statement.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum StatementForce {
    /// `requires`
    Requires,
    /// `prohibits`
    Prohibits,
    /// `permits only`
    PermitsOnly,
    /// `notes`
    Notes,
}

/// A change within one section, paragraph, item, kind or exception.
#[derive(Debug, Clone)]
pub enum Edit {
    /// `title was "…", now "…"`
    Title(CompactString, CompactString, Span),
    /// `enough was (A), now (A) or (B)`
    Enough(Vec<Vec<Name>>, Vec<Vec<Name>>, Span),
    /// `add Ex. 2 as hvac when …`
    AddException(Box<StatementKind>, Span),
    /// `add (8) …`
    AddItem(ListItem),
    /// `add …`
    AddConditions(Clauses),
    /// `number was Ex. 2, now Ex. 3`; an exception without a number has none: `number was Ex., now Ex. 1`
    Number(Option<Name>, Name),
    /// `strike Ex. 2`, `strike Ex. to (5)`
    StrikeException(ExceptionName),
    /// `add requires …`: a sentence at the end.
    AddStatement(Box<Statement>),
    /// `force was notes, now requires …`
    Force {
        /// The force it has.
        old: StatementForce,
        /// The force it gets.
        new: StatementForce,
        /// What is then asked, where the old text does not say.
        clauses: Option<Clauses>,
        /// What is then noted.
        text: Option<CompactString>,
        /// Place of the whole.
        span: Span,
    },
    /// `read X as Y` in this part only
    Read(ReadTerm, ReadTerm),
    /// `occupancy is also three-family`
    Also(Path, Vec<ValueRange>, Span),
    /// `role is no longer meter-disconnect`
    NoLonger(Path, Vec<ValueRange>, Span),
    /// `strike (7)`
    StrikeItem(Vec<Name>),
    /// `strike rating, was 15 A or 20 A`
    StrikeCondition(Clause, Option<ChangeValue>),
    /// `was E, now E`: the value of an amount's line, or of a definition.
    Value(Expr, Expr, Span),
    /// `add line (6) …`, in an amount.
    AddLine(AmountLine),
    /// `voltage was 125 V, now 125 V through 250 V`
    WasNow(Path, ChangeValue, ChangeValue, Span),
}

/// A value in a change: a comparison, or values alone.
#[derive(Debug, Clone)]
pub enum ChangeValue {
    /// `at most 60 A`
    Bound(Bound, Box<Expr>, Span),
    /// `125 V through 250 V`
    Values(Vec<ValueRange>, Span),
}

/// What is carried into an edition without being checked.
#[derive(Debug, Clone)]
pub enum Carried {
    /// A section, paragraph, definition or amount.
    Part(Address),
    /// `table 310.16`
    Table(Address),
    /// `series 240.6(A)`
    Series(Address),
}

/// A change within a series.
#[derive(Debug, Clone)]
pub enum SeriesEdit {
    /// `add 10 A`
    Add(Value),
    /// `strike 601 A`
    Strike(Value),
}

/// A change within a table.
#[derive(Debug, Clone)]
pub enum TableEdit {
    /// `add row …`
    AddRow(TableRow),
    /// `strike row KEY`
    StrikeRow(Vec<CellKey>, Span),
    /// `KEY, COLUMN was V, now V`
    CellWas {
        /// Row keys, then the column's where the table has one.
        keys: Vec<CellKey>,
        /// The old value.
        old: Option<Value>,
        /// The new value.
        new: Option<Value>,
        /// Place of the whole.
        span: Span,
    },
}

// ------------------------------------------------------------------------------------------------ facts

/// A whole file of facts.
#[derive(Debug, Clone, Default)]
pub struct FactsFile {
    /// Items in file order.
    pub items: Vec<FactItem>,
}

/// A top-level item of facts.
#[derive(Debug, Clone)]
pub enum FactItem {
    /// `project "Alder Street Clinic" { … }`
    Project {
        /// The project's name.
        title: Option<Name>,
        /// Its fields.
        block: Block,
        /// Place of the whole.
        span: Span,
    },
    /// `branch-circuit ER4-1 { … }`
    Instance {
        /// The kind of thing.
        thing: Name,
        /// Its own name.
        name: Name,
        /// Its fields.
        block: Block,
        /// Place of the whole.
        span: Span,
    },
    /// `feeder: none`: there is no such thing.
    Absent {
        /// The kind of thing.
        thing: Name,
        /// Place of the whole.
        span: Span,
    },
    /// `before { … }`: the installation before the work.
    Before {
        /// What is said of it.
        state: BeforeState,
        /// Place of the whole.
        span: Span,
    },
    /// `and maybe more branch-circuit`: the list given here is not all.
    MaybeMore {
        /// The kind of thing.
        thing: Name,
        /// Place of the whole.
        span: Span,
    },
}

/// What is said of an installation before the work.
#[derive(Debug, Clone)]
pub enum BeforeState {
    /// `unknown`
    Unknown,
    /// `none`: there was nothing.
    Nothing,
    /// What there was.
    Stated(Vec<FactItem>),
    /// As it is now, but for these.
    SameExcept(Vec<FactItem>),
}

/// What stands between braces in facts.
#[derive(Debug, Clone, Default)]
pub struct Block {
    /// Entries in order.
    pub entries: Vec<Entry>,
    /// `and maybe more`, with its place.
    pub more: Option<Span>,
    /// Place of the whole.
    pub span: Span,
}

/// One entry: a field and its value, or a named member.
#[derive(Debug, Clone)]
pub struct Entry {
    /// The field's or member's name.
    pub name: Name,
    /// What it holds.
    pub value: EntryValue,
    /// Place of the whole.
    pub span: Span,
}

/// What an entry holds.
#[derive(Debug, Clone)]
pub enum EntryValue {
    /// `{ … }`
    Block(Block),
    /// `: …`
    Value(FactValue, Span),
}

/// A stated value, perhaps partial.
#[derive(Debug, Clone)]
pub enum FactValue {
    /// `unknown`, or null in JSON.
    Unknown,
    /// `A or B`, `A through B`, `A`.
    OneOf(Vec<FactRange>),
    /// `A, B`: several at once (references).
    List(Vec<FactTerm>),
    /// `not A or B`
    Not(Vec<FactRange>),
    /// `at least A and at most B`
    Bounds(Vec<FactBound>),
    /// `2 ft from outside-edge through door`, several
    Keyed(Vec<KeyedFact>),
}

/// A value or a range, ends included.
#[derive(Debug, Clone)]
pub struct FactRange {
    /// The value, or the lower end.
    pub from: FactTerm,
    /// The upper end.
    pub through: Option<FactTerm>,
}

/// A single stated value.
#[derive(Debug, Clone)]
pub enum FactTerm {
    /// `none`
    None(Span),
    /// `2021-09-15`
    Date(Name),
    /// `"…"`
    Text(Name),
    /// `20 A`, `12 AWG`, `6 ft 6 in`
    Measure(Measure),
    /// `trade 1 1/4`, or a bare word: a choice, a name, `yes`, `no`
    Word(Name),
}

/// A one-sided bound.
#[derive(Debug, Clone)]
pub struct FactBound {
    /// Which side.
    pub side: FactSide,
    /// Of what.
    pub term: FactTerm,
}

/// The side of a one-sided bound.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum FactSide {
    /// `at least`
    AtLeast,
    /// `at most`, and `through` a date
    AtMost,
    /// `more than`, and `after` a date
    MoreThan,
    /// `less than`, and `before` a date
    LessThan,
}

/// A measurement from a key, through barriers.
#[derive(Debug, Clone)]
pub struct KeyedFact {
    /// The measurement; bounds if partial.
    pub value: Box<FactValue>,
    /// From where.
    pub from: Name,
    /// What the path passes; `nothing` alone says it passes none; empty: not said.
    pub through: Vec<Name>,
    /// Place of the whole.
    pub span: Span,
}

// ------------------------------------------------------------------------------------------------ single lines

/// What a person wants figured in a trial.
#[derive(Debug, Clone)]
pub enum Figure {
    /// One expression, such as `3/4 in + 2 mm`; a bare word is one too.
    Value(Expr),
    /// Conditions that hold or do not.
    Holds(Clauses),
}
