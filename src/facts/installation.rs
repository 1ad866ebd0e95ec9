//! Objects, their cells, and what is known of them.

use crate::base::number::Number;
use crate::ir::schema::{Schema, ThingId, ValueSet};

/// Number of an [`Object`] within an [`Installation`].
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct ObjectId(pub u32);

impl ObjectId {
    /// As an index.
    #[inline]
    pub fn index(self) -> usize {
        self.0 as usize
    }
}

/// What is known of one field of one object.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Cell {
    /// Nothing is known: any value the field allows, `none` included where the field may be absent.
    Unknown,
    /// Known absence.
    Absent,
    /// One of these values of a yes-no, choice or scale field (never empty; one bit: known), perhaps absent.
    Values(ValueSet, MaybeAbsent),
    /// A known number in base units, or a day.
    Number(Number),
    /// A number between bounds.
    Range(Box<Range>, MaybeAbsent),
    /// A known text.
    Text(Box<str>),
    /// The object a reference names.
    Object(ObjectId),
    /// A reference to one of these.
    OneOfObjects(Box<[ObjectId]>, MaybeAbsent),
    /// Members of a list. Cells of list fields (`Many`, `ManyRef`, `Inverse`) always hold this, known or not.
    List(Box<ListCell>),
}

/// The members of a list, known and possible.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct ListCell {
    /// Certain members, in the order stated.
    pub members: Box<[ObjectId]>,
    /// Objects that may or may not be members (an inverse list whose reference is not known).
    pub perhaps: Box<[ObjectId]>,
    /// The list is not the whole story: a [`Standing::Possible`] object that stands for any member not stated.
    pub more: Option<ObjectId>,
}

/// Whether a partly known value may also be `none`.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum MaybeAbsent {
    /// It is there.
    Present,
    /// It may be absent.
    Perhaps,
}

/// Whether an object was stated.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Standing {
    /// The facts state it.
    Stated,
    /// It stands for one that may exist: all its cells are unknown.
    Possible,
}

/// A range of numbers. `None` is unbounded on that side.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Range {
    /// Lower end.
    pub low: Option<Number>,
    /// The lower end itself is excluded.
    pub above_low: bool,
    /// Upper end.
    pub high: Option<Number>,
    /// The upper end itself is excluded.
    pub below_high: bool,
}

/// A thing of the installation.
#[derive(Debug, Clone)]
pub struct Object {
    /// What kind of thing.
    pub thing: ThingId,
    /// Whether it was stated.
    pub standing: Standing,
    /// Its name; empty for the project or an unnamed member.
    pub name: Box<str>,
    /// The object it is nested in.
    pub owner: Option<ObjectId>,
    /// One cell for each field of its thing, in the schema's order.
    pub cells: Box<[Cell]>,
}

/// All that is stated of one installation.
#[derive(Debug, Clone, Default)]
pub struct Installation {
    /// Its objects, in the order stated; nested ones after their owner.
    pub objects: Vec<Object>,
    /// Per thing (by number): its stated objects in the order stated, wherever nested.
    pub stated: Vec<Vec<ObjectId>>,
    /// Per thing: possible objects that stand for ones not stated: one for each open or unknown list on a stated owner,
    /// one at the top level if the thing is top-level and was never mentioned or `maybe more` was said.
    pub possible: Vec<Vec<ObjectId>>,
    /// Per thing: it is top-level and the facts never mention any, not even that there is none.
    pub silent: Vec<bool>,
    /// Per thing: one possible object of which nothing is known, not even its owner: what an unknown reference leads to.
    /// Its owner and lists are again such objects, so walking never ends in nothing.
    pub anything: Vec<ObjectId>,
    /// The project.
    pub project: Option<ObjectId>,
    /// The project's title, or empty.
    pub title: String,
}

impl Installation {
    /// The object with that number.
    #[inline]
    pub fn object(&self, id: ObjectId) -> &Object {
        &self.objects[id.index()]
    }

    /// The thing an object would belong to if it existed, where the facts never mention any of that thing and the
    /// vocabulary asks for it only where described.
    pub fn not_looked_at(&self, schema: &Schema, id: ObjectId) -> Option<ThingId> {
        let mut root = id;
        while let Some(owner) = self.object(root).owner {
            root = owner;
        }
        let Object { thing, standing, .. } = self.object(root);
        let silent = self.silent.get(usize::from(thing.0)).copied().unwrap_or(false);
        (*standing == Standing::Possible && silent && schema.thing(*thing).where_described).then_some(*thing)
    }

    /// A name a person recognises: `armor of ER4-1`.
    pub fn full_name(&self, schema: &Schema, id: ObjectId) -> String {
        let mut full = String::with_capacity(32);
        let mut at = Some(id);
        while let Some(id) = at {
            let object = self.object(id);
            if !full.is_empty() {
                full.push_str(" of ");
            }
            full.push_str(if object.name.is_empty() { &schema.thing(object.thing).name } else { &object.name });
            at = object.owner;
        }
        full
    }
}
