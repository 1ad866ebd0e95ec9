//! Conditions, expressions, tables, kinds and duties of one book.
//!
//! Deliberately absent: names still to be resolved, units, dual limits (resolved by their use when lowered), editions.

use super::schema::{DomainId, FieldId, Schema, ThingId, ValueSet};
use crate::base::dimension::Dimension;
use crate::base::number::Number;
use crate::base::source::Span;
use crate::base::unit::Unit;

macro_rules! ids {
    ($($(#[$doc:meta])* $name:ident;)*) => {$(
        $(#[$doc])*
        #[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
        pub struct $name(pub u32);
        impl $name {
            /// As an index.
            #[inline]
            pub fn index(self) -> usize {
                self.0 as usize
            }
        }
    )*};
}

ids! {
    /// Number of a [`Test`].
    TestId;
    /// Number of an [`Expr`].
    ExprId;
    /// Number of a [`Kind`].
    KindId;
    /// Number of a [`Formula`].
    FormulaId;
    /// Number of a [`Table`].
    TableId;
    /// Number of a [`Series`].
    SeriesId;
    /// Number of a [`Reading`].
    ReadingId;
    /// Number of an [`Origin`].
    OriginId;
    /// Number of a [`Duty`].
    DutyId;
}

/// A whole book, ready to run.
#[derive(Debug, Clone, Default)]
pub struct Program {
    /// `nec 2017`.
    pub edition: String,
    /// Its title.
    pub title: String,
    /// What facts may say.
    pub schema: Schema,
    /// Conditions; `test_origins` runs beside it.
    pub tests: Vec<Test>,
    /// Where each condition was written.
    pub test_origins: Vec<OriginId>,
    /// Expressions; `expr_origins` runs beside it.
    pub exprs: Vec<Expr>,
    /// Where each expression was written.
    pub expr_origins: Vec<OriginId>,
    /// What each expression gives, as far as it was asked.
    pub expr_types: Vec<Gives>,
    /// Places in the text.
    pub origins: Vec<Origin>,
    /// Named conditions.
    pub kinds: Vec<Kind>,
    /// Named expressions.
    pub formulas: Vec<Formula>,
    /// Tables.
    pub tables: Vec<Table>,
    /// Standard values.
    pub series: Vec<Series>,
    /// Disputed texts.
    pub readings: Vec<Reading>,
    /// What is demanded, in printed order.
    pub duties: Vec<Duty>,
    /// `permits part as grounding-conductor`: answered for every such thing as qualifies or does not.
    pub permissions: Vec<Permission>,
    /// Duties of amendments that ask for more than a permission of the book allows.
    pub contested: Vec<Contested>,
    /// Notes and reserved numbers, for the record.
    pub notes: Vec<Note>,
    /// Sections in printed order.
    pub sections: Vec<Section>,
}

/// Where a condition or expression was written.
#[derive(Debug, Clone, Default)]
pub struct Origin {
    /// The number to cite, to list-item depth; empty if it has none of its own.
    pub cite: String,
    /// The words as written, on one line.
    pub words: String,
    /// Their place.
    pub span: Span,
    /// Marks on this line.
    pub marks: Vec<Mark>,
}

/// Where a statement comes from and how sure we are of it.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
pub enum Mark {
    /// Seen in a published source, named by its key.
    Seen(String),
    /// From memory only.
    Memory,
    /// Sources disagree; says how.
    Disputed(String),
    /// Carried into the document named here, and nobody looked whether it stands there so.
    Unchecked(String),
}

/// A section for reports.
#[derive(Debug, Clone)]
pub struct Section {
    /// Printed number.
    pub address: String,
    /// Title in our words.
    pub title: String,
    /// Marks of the section.
    pub marks: Vec<Mark>,
}

/// A place in the facts, seen from a condition: start at a variable, go up owners, follow references.
///
/// Variables: 0 is the thing judged (or the thing a kind or formula is asked of); each quantifier, fold or half binds the
/// next one. The result is an object.
#[derive(Debug, Clone, PartialEq, Eq, Hash)]
pub struct Object {
    /// The variable started from.
    pub var: u8,
    /// Steps from there.
    pub steps: Box<[Step]>,
    /// The thing arrived at.
    pub thing: ThingId,
}

/// A step from one thing to another.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Step {
    /// To the owner.
    Owner,
    /// To the thing a [`super::schema::FieldType::Ref`] field of this thing names.
    Follow(FieldId),
    /// To the one project.
    Project,
}

/// A field of an object.
#[derive(Debug, Clone, PartialEq, Eq, Hash)]
pub struct Place {
    /// Whose.
    pub object: Object,
    /// Which field.
    pub field: FieldId,
}

/// A list of members of an object (`Many`, `ManyRef` or `Inverse`), narrowed.
#[derive(Debug, Clone)]
pub struct List {
    /// Where the list stands.
    pub place: Place,
    /// The thing its members are.
    pub thing: ThingId,
    /// The variable a member is bound to while the filter and what is asked of it are read.
    pub var: u8,
    /// Which members are meant; none: all.
    pub filter: Option<TestId>,
}

/// Comparison.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Compare {
    /// `at least`
    AtLeast,
    /// `at most`
    AtMost,
    /// `more than`
    MoreThan,
    /// `less than`
    LessThan,
    /// equal
    Equal,
}

/// A condition. Every comparison with an absent value is false.
#[derive(Debug, Clone)]
pub enum Test {
    /// Holds always.
    Always,
    /// Holds never.
    Never,
    /// The opposite.
    Not(TestId),
    /// All hold (yes if empty).
    All(Box<[TestId]>),
    /// At least one holds (no if empty).
    Any(Box<[TestId]>),
    /// `then` where `case` holds, `otherwise` where it does not; unknown case: definite only if both agree.
    Choose {
        /// The case.
        case: TestId,
        /// If it holds.
        then: TestId,
        /// If it does not.
        otherwise: TestId,
    },
    /// A yes-no, choice or scale field lies in the set.
    In(Place, ValueSet),
    /// A text field equals the text.
    TextIs(Place, Box<str>),
    /// The field holds `none`.
    IsNone(Place),
    /// Two numbers (or days) compared, in base units.
    Compare(ExprId, Compare, ExprId),
    /// A number field compared with a constant: the same as `Compare`, kept apart because it is the commonest.
    CompareConst(Place, Compare, Number),
    /// Two steps of one scale compared.
    CompareSteps(ExprId, Compare, ExprId),
    /// The object is of a kind.
    IsKind(Object, KindId),
    /// At least one member satisfies the test (`no` is `Not(Some)`, never the other way round).
    Some(List, TestId),
    /// Every member satisfies the test; true of an empty list.
    Every(List, TestId),
    /// The number of members satisfying the test compared with a number.
    Count(List, TestId, Compare, ExprId),
    /// Distinct members can be found, one for each half (see SEMANTICS: decided by matching). Each half names the list
    /// and the test of the member bound to the list's `var`. All halves of one list share one pool of members.
    Different(Box<[(List, TestId)]>),
    /// A disputed condition: one test for each of the reading's options.
    Reading(ReadingId, Box<[TestId]>),
}

/// An expression. Numbers are in base units; steps of scales are sets of one domain; days are numbers.
#[derive(Debug, Clone)]
pub enum Expr {
    /// A constant.
    Number(Number),
    /// A constant step or choice value.
    Value(DomainId, ValueSet),
    /// A field.
    Read(Place),
    /// Sum.
    Add(ExprId, ExprId),
    /// Difference.
    Sub(ExprId, ExprId),
    /// Product.
    Mul(ExprId, ExprId),
    /// Quotient; by zero is a gap.
    Div(ExprId, ExprId),
    /// What the first exceeds the second by, never below zero.
    Beyond(ExprId, ExprId),
    /// The next whole number up.
    RoundUp(ExprId),
    /// The next whole number down.
    RoundDown(ExprId),
    /// Up where the fraction reaches the number, else down.
    RoundUpFrom(ExprId, Number),
    /// Number of members.
    Count(List),
    /// Sum over members, which are read with the list's `var` bound. `never_negative` says that no member can lower it.
    Sum {
        /// The list.
        list: List,
        /// The summand.
        of: ExprId,
        /// No member can lower it.
        never_negative: bool,
    },
    /// Largest over members; of nothing is a gap.
    Largest(List, ExprId),
    /// Smallest over members; of nothing is a gap.
    Smallest(List, ExprId),
    /// A table's cell.
    Lookup(TableId, Box<[ExprId]>),
    /// A named expression of an object.
    Formula(Object, FormulaId),
    /// What an expression was before the work, the things bound to so many variables taken as they were then. Of a thing that
    /// was not there it is absent.
    Before(ExprId, u8),
    /// `then` where the case holds, `otherwise` where it does not; either, where that is unknown.
    Provided {
        /// The case.
        case: TestId,
        /// If it holds.
        then: ExprId,
        /// If it does not.
        otherwise: ExprId,
    },
    /// The larger of two, numbers or steps of one scale.
    Larger(ExprId, ExprId),
    /// The smaller of two.
    Smaller(ExprId, ExprId),
    /// The nearest value of a series on one side; beyond its ends is a gap.
    Next(SeriesId, Way, ExprId),
    /// The last key of the first row whose cell reaches a limit; none does: a gap.
    FirstRow(Box<FirstRow>),
    /// A disputed value: one expression for each of the reading's options.
    Reading(ReadingId, Box<[ExprId]>),
}

/// What an expression gives.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Gives {
    /// Never asked for its type.
    #[default]
    Untold,
    /// A number of a dimension.
    Number(Dimension),
    /// A value of a choice or scale.
    Value(DomainId),
    /// A day.
    Date,
}

/// Where a series is entered from a value.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Way {
    /// Above it.
    Above,
    /// At it or above.
    AtOrAbove,
    /// Below it.
    Below,
    /// At it or below.
    AtOrBelow,
}

/// A table read backwards: from a cell to the row it stands in.
#[derive(Debug, Clone)]
pub struct FirstRow {
    /// The table.
    pub table: TableId,
    /// All row keys but the last.
    pub keys: Box<[ExprId]>,
    /// The column, if the table has columns.
    pub column: Option<ExprId>,
    /// [`Compare::AtLeast`] or [`Compare::MoreThan`].
    pub compare: Compare,
    /// What the cell must reach.
    pub limit: ExprId,
}

/// Standard values in rising order.
#[derive(Debug, Clone)]
pub struct Series {
    /// Printed number.
    pub address: String,
    /// Title in our words.
    pub title: String,
    /// What they are.
    pub dimension: Dimension,
    /// The values in base units, rising.
    pub values: Vec<Number>,
    /// Where it was written.
    pub origin: OriginId,
}

/// One line of an amount.
#[derive(Debug, Clone)]
pub struct AmountLine {
    /// Its label with parentheses, or its name, or nothing.
    pub label: String,
    /// Its number, such as `314.16(B)(5)`, or its name.
    pub cite: String,
    /// What it adds.
    pub expr: ExprId,
    /// Where it was written, with its marks.
    pub origin: OriginId,
}

/// A named condition on one thing.
#[derive(Debug, Clone)]
pub struct Kind {
    /// Its name.
    pub name: String,
    /// The thing it sorts (variable 0 of the test).
    pub thing: ThingId,
    /// The section it paraphrases, or empty.
    pub cite: String,
    /// The condition.
    pub test: TestId,
    /// Where it was written.
    pub origin: OriginId,
    /// Readings it depends on, directly or through others.
    pub readings: Box<[ReadingId]>,
}

/// A named expression on one thing.
#[derive(Debug, Clone)]
pub struct Formula {
    /// Its name.
    pub name: String,
    /// The thing it is computed for (variable 0 of the expression).
    pub thing: ThingId,
    /// The section it paraphrases, or empty.
    pub cite: String,
    /// The expression; for an amount the sum of its lines.
    pub expr: ExprId,
    /// The lines of an amount; none for a definition.
    pub lines: Vec<AmountLine>,
    /// The unit it is told in, if one was stated.
    pub unit: Option<&'static Unit>,
    /// Its title in our words, or empty.
    pub title: String,
    /// Where it was written, with its marks.
    pub origin: OriginId,
}

/// The key of a row or column.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum RowKey {
    /// A set of values of the key's domain.
    Set(ValueSet),
    /// Numbers in base units, both ends included; an open end is `None`.
    Numbers(Vec<(Option<Number>, Option<Number>)>),
    /// Numbers above this one.
    Over(Number),
}

/// How a key finds its row.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum RowMode {
    /// The row that contains the value.
    Exact,
    /// The first row (in rising order) whose key is not below the value. `up to` rows use this too.
    NextUp,
    /// The last row whose key is not above the value.
    NextDown,
}

/// A key of a table.
#[derive(Debug, Clone)]
pub struct TableKey {
    /// Its name.
    pub name: String,
    /// The domain of a choice or scale key; none for numbers.
    pub domain: Option<DomainId>,
    /// How it finds its row.
    pub mode: RowMode,
}

/// A cell.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum CellValue {
    /// `-`: not permitted. Reads as an absent value.
    NotPermitted,
    /// A number in base units.
    Number(Number),
    /// A step or choice value.
    Value(ValueSet),
}

/// A table. Rows run over `keys` except the last if `across` is set, which runs over `columns`.
#[derive(Debug, Clone)]
pub struct Table {
    /// Printed number.
    pub address: String,
    /// Title in our words.
    pub title: String,
    /// Keys in look-up order; the column key, if any, last.
    pub keys: Vec<TableKey>,
    /// True if the last key chooses the column.
    pub across: bool,
    /// Column keys; one empty set if there is no column key.
    pub columns: Vec<RowKey>,
    /// Row keys (one for each row key of the table) and cells (one for each column).
    pub rows: Vec<TableRow>,
    /// Outside the rows reads as not permitted instead of a gap.
    pub closed: bool,
    /// The domain of choice or scale cells; none for numbers.
    pub gives: Option<DomainId>,
    /// The dimension of number cells.
    pub dimension: Option<Dimension>,
    /// The unit bare cells are stated in.
    pub unit: Option<&'static Unit>,
    /// Where it was written.
    pub origin: OriginId,
}

/// A row.
#[derive(Debug, Clone)]
pub struct TableRow {
    /// Keys.
    pub keys: Vec<RowKey>,
    /// Cells.
    pub cells: Vec<CellValue>,
    /// Where it was written, with its marks.
    pub origin: OriginId,
}

/// A disputed text.
#[derive(Debug, Clone)]
pub struct Reading {
    /// Its name.
    pub name: String,
    /// The question.
    pub question: String,
    /// What disagrees.
    pub disputed: String,
    /// Names and one-line descriptions of the readings.
    pub options: Vec<(String, String)>,
    /// Where it was written.
    pub origin: OriginId,
}

/// With what force a duty binds.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Force {
    /// Must.
    Requires,
    /// Must not.
    Prohibits,
    /// Not required, but if provided it must conform.
    IfProvided,
    /// Only what is listed.
    PermitsOnly,
}

/// One numbered demand on one kind of subject.
///
/// Does it apply: `applies`. What it asks: `asks` (mandatory exceptions and modifications already folded in with
/// [`Test::Choose`]). Satisfied if `asks` holds or any relief holds.
#[derive(Debug, Clone)]
pub struct Duty {
    /// The number to cite, to list-item depth: `517.13(B)`.
    pub address: String,
    /// The section it belongs to: an index into [`Program::sections`].
    pub section: u32,
    /// Title of the nearest heading, in our words.
    pub title: String,
    /// A name given with `as`, or empty.
    pub name: String,
    /// Subjects amendments can name.
    pub about: Vec<String>,
    /// The thing judged (variable 0).
    pub subject: ThingId,
    /// With what force.
    pub force: Force,
    /// Scope and trigger, less waivers.
    pub applies: TestId,
    /// What it asks.
    pub asks: TestId,
    /// Permissive exceptions, alternatives and permissions.
    pub reliefs: Vec<Relief>,
    /// Mandatory exceptions and modifications, for the trace: their case decides between branches of `asks`.
    pub replacements: Vec<Replacement>,
    /// Waivers, for the trace: their case is already in `applies`.
    pub waivers: Vec<Relief>,
    /// Readings it depends on, directly or through kinds.
    pub readings: Box<[ReadingId]>,
    /// Where it was written, with its marks.
    pub origin: OriginId,
}

/// Something that satisfies a duty instead of what it asks.
#[derive(Debug, Clone)]
pub struct Relief {
    /// How a report calls it: `Ex. 2`, `permitted by 300.22(C)`.
    pub label: String,
    /// A name given with `as`, or empty.
    pub name: String,
    /// Its case alone.
    pub case: TestId,
    /// The whole condition: its case and, where it offers an alternative, the alternative.
    pub test: TestId,
    /// Where it was written, with its marks.
    pub origin: OriginId,
}

/// A mandatory exception or a modification.
#[derive(Debug, Clone)]
pub struct Replacement {
    /// How a report calls it.
    pub label: String,
    /// Its case.
    pub case: TestId,
    /// Where it was written, with its marks.
    pub origin: OriginId,
}

/// `permits part as grounding-conductor`.
#[derive(Debug, Clone)]
pub struct Permission {
    /// The section's number.
    pub address: String,
    /// The section it belongs to: an index into [`Program::sections`].
    pub section: u32,
    /// The kind it grants.
    pub kind: KindId,
}

/// A duty that an amendment added and a permission that stands beside it: both read one field of one thing, and the permission
/// allows values that the duty does not take; or the duty takes one of the standings that a section grants, and not the other.
/// Neither undoes the other, so the duty decides.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Contested {
    /// The duty.
    pub duty: DutyId,
    /// The amendment that added it.
    pub document: String,
    /// The number of the section that permits.
    pub address: String,
    /// The standing it grants, such as `equipment-ground`.
    pub standing: String,
    /// The field that both read, and the values that are permitted and that the duty does not take; none where the section grants
    /// several standings and the duty takes another one.
    pub values: Option<(FieldId, ValueSet)>,
}

/// A note, or a reserved number.
#[derive(Debug, Clone)]
pub struct Note {
    /// Its number.
    pub address: String,
    /// Its text; empty if reserved.
    pub text: String,
}

impl Program {
    /// A condition.
    #[inline]
    pub fn test(&self, id: TestId) -> &Test {
        &self.tests[id.index()]
    }

    /// An expression.
    #[inline]
    pub fn expr(&self, id: ExprId) -> &Expr {
        &self.exprs[id.index()]
    }

    /// Where a condition was written.
    pub fn test_origin(&self, id: TestId) -> &Origin {
        &self.origins[self.test_origins[id.index()].index()]
    }

    /// What an expression gives, where it was asked for its type.
    pub fn gives(&self, id: ExprId) -> Gives {
        self.expr_types.get(id.index()).copied().unwrap_or_default()
    }

    /// Where an expression was written.
    pub fn expr_origin(&self, id: ExprId) -> &Origin {
        &self.origins[self.expr_origins[id.index()].index()]
    }

    /// A place in the text.
    pub fn origin(&self, id: OriginId) -> &Origin {
        &self.origins[id.index()]
    }
}
