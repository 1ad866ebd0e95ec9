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
    /// Members of a list.
    List(Box<[ObjectId]>, Extent),
}

/// Whether a partly known value may also be `none`.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum MaybeAbsent {
    /// It is there.
    Present,
    /// It may be absent.
    Perhaps,
}

/// Whether a list is the whole story.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Extent {
    /// These and no others.
    Closed,
    /// These, and maybe more.
    Open,
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
    /// Per thing: its objects in the order stated, wherever nested, and whether there may be others.
    pub of_thing: Vec<(Vec<ObjectId>, Extent)>,
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

    /// A name a person recognises: `armor of ER4-1`.
    pub fn full_name(&self, schema: &Schema, id: ObjectId) -> String {
        let mut parts = Vec::new();
        let mut at = Some(id);
        while let Some(id) = at {
            let object = self.object(id);
            let name: &str = if object.name.is_empty() { &schema.thing(object.thing).name } else { &object.name };
            parts.push(name.to_string());
            at = object.owner;
        }
        parts.join(" of ")
    }
}
