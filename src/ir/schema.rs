//! What facts can be asked for: things, their fields and the values fields may take.

use crate::base::dimension::Dimension;
use std::collections::BTreeMap;

/// Number of a [`Thing`].
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct ThingId(pub u16);

/// Number of a [`Domain`].
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct DomainId(pub u16);

/// Number of a field within its thing.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct FieldId(pub u16);

/// A set of values of one [`Domain`], bit n for value n. Yes-no fields use bit 0 for no and bit 1 for yes.
pub type ValueSet = u128;

/// The bit of `no` in a yes-no set.
pub const NO: ValueSet = 1;
/// The bit of `yes` in a yes-no set.
pub const YES: ValueSet = 2;
/// The most values a choice or scale may have.
pub const MOST_VALUES: usize = 128;

/// Everything facts may say.
#[derive(Debug, Clone, Default)]
pub struct Schema {
    /// Short name of the family, such as `nec`.
    pub family: String,
    /// Full title of the family.
    pub title: String,
    /// Things in order of declaration. The thing named `project` has one instance and no owner.
    pub things: Vec<Thing>,
    /// Choices and scales in order of declaration.
    pub domains: Vec<Domain>,
    /// Things by name and by short name.
    pub thing_names: BTreeMap<String, ThingId>,
}

/// The name of the thing of which every installation has exactly one.
pub const PROJECT: &str = "project";

/// A choice (unordered) or a scale (ordered, smallest first).
#[derive(Debug, Clone)]
pub struct Domain {
    /// Its name.
    pub name: String,
    /// One-line description, or empty.
    pub about: String,
    /// True for a scale.
    pub ordered: bool,
    /// Value names in order; a scale's are smallest first. At most [`MOST_VALUES`].
    pub values: Vec<String>,
    /// One-line descriptions beside the values, or empty.
    pub value_notes: Vec<String>,
    /// Named groups of values.
    pub groups: Vec<(String, ValueSet)>,
}

impl Domain {
    /// The set of all values.
    pub fn all(&self) -> ValueSet {
        if self.values.len() >= MOST_VALUES { ValueSet::MAX } else { (1 << self.values.len()) - 1 }
    }
}

/// A kind of thing.
#[derive(Debug, Clone)]
pub struct Thing {
    /// Its name.
    pub name: String,
    /// The short name by which nested things call it.
    pub alias: Option<String>,
    /// An inspection looks at it only where the facts describe one: never to mention any leaves nothing open.
    pub where_described: bool,
    /// One-line description, or empty.
    pub about: String,
    /// Its fields.
    pub fields: Vec<Field>,
}

/// A field of a thing.
#[derive(Debug, Clone)]
pub struct Field {
    /// Its name. Keyed measurements are laid out flat: `to-sink from outside-edge` (a length) and
    /// `to-sink from outside-edge through door` (yes-no).
    pub name: String,
    /// What the tool shows when it asks, or empty.
    pub about: String,
    /// What it holds.
    pub ty: FieldType,
    /// `none` is a possible value.
    pub may_be_absent: bool,
    /// Cannot be below zero.
    pub never_negative: bool,
    /// Least number of members of a list.
    pub at_least: u32,
    /// Only the authority can decide it: who, and on what evidence.
    pub judgment: Option<String>,
    /// The document that owns it.
    pub external: Option<String>,
    /// For the parts of a keyed measurement.
    pub keyed: Option<Keyed>,
}

/// The part of a keyed measurement that a flat field holds.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Keyed {
    /// The measurement's written name.
    pub name: String,
    /// The key it is measured from.
    pub from: String,
    /// The barrier asked about; none for the measurement itself.
    pub through: Option<String>,
}

/// What a field holds.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum FieldType {
    /// Yes or no.
    YesNo,
    /// One value of a choice or scale.
    OneOf(DomainId),
    /// A number in the base unit of its dimension.
    Quantity(Dimension),
    /// A day, as a count of days.
    Date,
    /// Text.
    Text,
    /// One other thing, by name.
    Ref(ThingId),
    /// Members that stand inside this thing.
    Many(ThingId),
    /// Other things, by name.
    ManyRef(ThingId),
    /// All things of a kind whose field refers to this one. Never stated.
    Inverse(ThingId, FieldId),
}

impl Schema {
    /// The thing with that number.
    pub fn thing(&self, id: ThingId) -> &Thing {
        &self.things[id.0 as usize]
    }

    /// The domain with that number.
    pub fn domain(&self, id: DomainId) -> &Domain {
        &self.domains[id.0 as usize]
    }

    /// The field with that number.
    pub fn field(&self, thing: ThingId, field: FieldId) -> &Field {
        &self.thing(thing).fields[field.0 as usize]
    }

    /// The thing with that name or short name.
    pub fn thing_named(&self, name: &str) -> Option<ThingId> {
        self.thing_names.get(name).copied()
    }

    /// The field with that name.
    pub fn field_named(&self, thing: ThingId, name: &str) -> Option<FieldId> {
        let at = self.thing(thing).fields.iter().position(|f| f.name == name)?;
        u16::try_from(at).ok().map(FieldId)
    }

    /// Things that nest inside no other thing: the ones a facts file states at its top level, `project` apart.
    pub fn top_things(&self) -> Vec<ThingId> {
        let nested: std::collections::BTreeSet<ThingId> = self
            .things
            .iter()
            .flat_map(|t| &t.fields)
            .filter_map(|f| match f.ty {
                FieldType::Many(t) => Some(t),
                _ => None,
            })
            .collect();
        (0..self.things.len())
            .filter_map(|i| u16::try_from(i).ok().map(ThingId))
            .filter(|id| !nested.contains(id) && self.thing(*id).name != PROJECT)
            .collect()
    }
}
