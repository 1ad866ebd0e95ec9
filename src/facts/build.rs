//! What the facts leave open: possible objects, objects of which nothing is known, computed lists, rings of references.

use super::check::{Draft, Ending, containers};
use super::installation::{Cell, Installation, ListCell, Object, ObjectId, Standing};
use crate::diag::{Code, Diagnostic, Diagnostics};
use crate::ir::schema::{FieldId, FieldType, Schema, ThingId};
use std::collections::{BTreeMap, BTreeSet};

/// Possible objects nest this deep; further down stand objects of which nothing is known. A language limit keeps things
/// from nesting deeper than three levels.
const DEEPEST: usize = 4;
/// A computed list names so many possible members one by one; beyond, one object stands for all of them.
const MOST_NAMED: usize = 1000;

/// The installation of what is stated, with all that may exist besides.
pub(super) fn complete(schema: &Schema, draft: Draft, found: &mut Diagnostics) -> Installation {
    let things = schema.things.len();
    let mut build = Build {
        schema,
        installation: Installation {
            stated: vec![Vec::new(); things],
            possible: vec![Vec::new(); things],
            project: draft.project,
            title: draft.title.clone(),
            ..Installation::default()
        },
        draft,
    };
    build.installation.objects = std::mem::take(&mut build.draft.objects);
    build.index_stated();
    build.anything();
    build.rings(found);
    build.open_lists();
    build.top_level();
    build.inverse_lists();
    build.installation
}

struct Build<'a> {
    schema: &'a Schema,
    draft: Draft,
    installation: Installation,
}

/// What a computed list holds, per object referred to.
#[derive(Default)]
struct Referring {
    certain: BTreeMap<ObjectId, Vec<ObjectId>>,
    perhaps: BTreeMap<ObjectId, Vec<ObjectId>>,
    /// Whose reference may lead to any object.
    anywhere: Vec<ObjectId>,
}

impl Build<'_> {
    fn things(&self) -> impl Iterator<Item = ThingId> + use<> {
        let things = u16::try_from(self.schema.things.len()).unwrap_or(u16::MAX);
        (0..things).map(ThingId)
    }

    fn ids(&self) -> impl Iterator<Item = ObjectId> + use<> {
        let objects = u32::try_from(self.installation.objects.len()).unwrap_or(u32::MAX);
        (0..objects).map(ObjectId)
    }

    fn set(&mut self, object: ObjectId, field: FieldId, cell: Cell) {
        let cells = self.installation.objects.get_mut(object.index()).map(|object| &mut object.cells);
        if let Some(slot) = cells.and_then(|cells| cells.get_mut(usize::from(field.0))) {
            *slot = cell;
        }
    }

    /// The list fields of a thing.
    fn lists(&self, thing: ThingId) -> Vec<(FieldId, FieldType)> {
        let fields = self.schema.thing(thing).fields.iter().enumerate();
        let lists = fields.filter(|(_, field)| {
            matches!(field.ty, FieldType::Many(_) | FieldType::ManyRef(_) | FieldType::Inverse(..))
        });
        lists.filter_map(|(at, field)| u16::try_from(at).ok().map(|at| (FieldId(at), field.ty.clone()))).collect()
    }

    fn push_possible(&mut self, thing: ThingId, owner: Option<ObjectId>) -> ObjectId {
        let id = ObjectId(u32::try_from(self.installation.objects.len()).unwrap_or(u32::MAX));
        let unknown = self.schema.thing(thing).fields.iter().map(|field| match &field.ty {
            FieldType::Many(of) | FieldType::ManyRef(of) | FieldType::Inverse(of, _) => {
                open_list(&[], self.installation.anything.get(usize::from(of.0)).copied())
            }
            _ => Cell::Unknown,
        });
        let cells = unknown.collect();
        self.installation.objects.push(Object { thing, standing: Standing::Possible, name: "".into(), owner, cells });
        id
    }

    fn index_stated(&mut self) {
        for id in self.ids() {
            let thing = self.installation.object(id).thing;
            self.installation.stated[usize::from(thing.0)].push(id);
        }
    }

    fn anything(&mut self) {
        let first = self.installation.objects.len();
        let of = |thing: ThingId| ObjectId(u32::try_from(first + usize::from(thing.0)).unwrap_or(u32::MAX));
        self.installation.anything = self.things().map(of).collect();
        for thing in self.things() {
            self.push_possible(thing, None);
        }
        for thing in self.things() {
            let owner = containers(self.schema, thing).first().copied();
            if let Some(owner) = owner
                && !self.is_owned_by(of(owner), of(thing))
            {
                self.own(of(thing), of(owner));
            }
        }
        for (adrift, owner) in std::mem::take(&mut self.draft.adrift) {
            self.own(adrift, of(owner));
        }
    }

    fn own(&mut self, object: ObjectId, owner: ObjectId) {
        if let Some(object) = self.installation.objects.get_mut(object.index()) {
            object.owner = Some(owner);
        }
    }

    /// Whether walking up from `object` meets `owner`: such a ring would never end.
    fn is_owned_by(&self, object: ObjectId, owner: ObjectId) -> bool {
        let mut at = Some(object);
        while let Some(id) = at {
            if id == owner {
                return true;
            }
            at = self.installation.object(id).owner;
        }
        false
    }

    fn open_lists(&mut self) {
        let stated: Vec<ObjectId> =
            self.installation.stated.iter().flatten().copied().collect::<BTreeSet<_>>().into_iter().collect();
        for object in stated {
            for (field, ty) in self.lists(self.installation.object(object).thing) {
                let given = self.draft.lists.get(&(object, field)).map(|(_, ending)| *ending);
                let more = match (&ty, given) {
                    (_, Some(Ending::Closed)) => None,
                    (FieldType::Many(member), None) if self.draft.absent.contains_key(member) => None,
                    (FieldType::Many(member), _) => Some(self.possible(*member, Some(object), &mut Vec::new())),
                    (FieldType::ManyRef(member), _) => self.installation.anything.get(usize::from(member.0)).copied(),
                    _ => continue,
                };
                let members = self.members(object, field);
                self.set(object, field, open_list(&members, more));
            }
        }
    }

    fn members(&self, object: ObjectId, field: FieldId) -> Vec<ObjectId> {
        match self.installation.object(object).cells.get(usize::from(field.0)) {
            Some(Cell::List(list)) => list.members.to_vec(),
            _ => Vec::new(),
        }
    }

    /// A possible object with possible members of its own. `above` are the possible things it stands in.
    fn possible(&mut self, thing: ThingId, owner: Option<ObjectId>, above: &mut Vec<ThingId>) -> ObjectId {
        let id = self.push_possible(thing, owner);
        self.installation.possible[usize::from(thing.0)].push(id);
        above.push(thing);
        for (field, ty) in self.lists(thing) {
            let FieldType::Many(member) = ty else { continue };
            if self.draft.absent.contains_key(&member) {
                self.set(id, field, open_list(&[], None));
            } else if above.len() < DEEPEST && !above.contains(&member) {
                let more = self.possible(member, Some(id), above);
                self.set(id, field, open_list(&[], Some(more)));
            }
        }
        above.pop();
        id
    }

    fn top_level(&mut self) {
        let top: BTreeSet<ThingId> = self.schema.top_things().into_iter().collect();
        for thing in self.things() {
            let said_open = self.draft.open.contains(&thing);
            let absent = self.draft.absent.contains_key(&thing);
            let never_mentioned = top.contains(&thing) && !self.draft.mentioned.contains_key(&thing);
            let silent = never_mentioned && !absent && !said_open;
            self.installation.silent.push(silent);
            if said_open || silent {
                let owner = containers(self.schema, thing).first().copied();
                let owner = owner.and_then(|owner| self.installation.anything.get(usize::from(owner.0)).copied());
                self.possible(thing, owner, &mut Vec::new());
            }
        }
    }

    // -------------------------------------------------------------------------------------------- computed lists

    fn inverse_lists(&mut self) {
        let mut referring: BTreeMap<(ThingId, FieldId), Referring> = BTreeMap::new();
        let anything: BTreeSet<ObjectId> = self.installation.anything.iter().copied().collect();
        for object in self.ids().filter(|id| !anything.contains(id)) {
            for (field, ty) in self.lists(self.installation.object(object).thing) {
                let FieldType::Inverse(thing, by) = ty else { continue };
                let refer = referring.entry((thing, by)).or_insert_with(|| self.referring(thing, by));
                let cell = self.inverse_list(object, thing, refer);
                self.set(object, field, cell);
            }
        }
    }

    fn referring(&self, thing: ThingId, by: FieldId) -> Referring {
        let mut referring = Referring::default();
        for member in self.installation.stated.get(usize::from(thing.0)).into_iter().flatten().copied() {
            match self.installation.object(member).cells.get(usize::from(by.0)) {
                Some(Cell::Object(to)) => referring.certain.entry(*to).or_default().push(member),
                Some(Cell::OneOfObjects(to, _)) => {
                    for to in to {
                        referring.perhaps.entry(*to).or_default().push(member);
                    }
                }
                Some(Cell::List(list)) => {
                    for to in &list.members {
                        referring.certain.entry(*to).or_default().push(member);
                    }
                    for to in &list.perhaps {
                        referring.perhaps.entry(*to).or_default().push(member);
                    }
                    if list.more.is_some() {
                        referring.anywhere.push(member);
                    }
                }
                Some(Cell::Unknown) | None => referring.anywhere.push(member),
                Some(Cell::Absent | Cell::Values(..) | Cell::Number(_) | Cell::Range(..) | Cell::Text(_)) => {}
            }
        }
        referring
    }

    fn inverse_list(&self, object: ObjectId, thing: ThingId, referring: &Referring) -> Cell {
        let members = referring.certain.get(&object).cloned().unwrap_or_default();
        let mut perhaps: BTreeSet<ObjectId> = referring.perhaps.get(&object).into_iter().flatten().copied().collect();
        let anything = self.installation.anything.get(usize::from(thing.0)).copied();
        let mut more = match self.installation.possible.get(usize::from(thing.0)).map(Vec::as_slice) {
            None | Some([]) => None,
            Some([one]) => Some(*one),
            Some(_) => anything,
        };
        if referring.anywhere.len() > MOST_NAMED {
            more = anything;
        } else {
            perhaps.extend(&referring.anywhere);
        }
        for member in &members {
            perhaps.remove(member);
        }
        Cell::List(Box::new(ListCell {
            members: members.into_boxed_slice(),
            perhaps: perhaps.into_iter().collect(),
            more,
        }))
    }

    // -------------------------------------------------------------------------------------------- rings

    /// Warns of each ring of one field, such as `runs-in`. Two fields that point at one another are no ring.
    fn rings(&self, found: &mut Diagnostics) {
        for thing in self.things() {
            for (at, field) in self.schema.thing(thing).fields.iter().enumerate() {
                if field.ty == FieldType::Ref(thing)
                    && let Ok(at) = u16::try_from(at)
                {
                    self.rings_of(thing, FieldId(at), found);
                }
            }
        }
    }

    fn rings_of(&self, thing: ThingId, field: FieldId, found: &mut Diagnostics) {
        let next = |id: ObjectId| match self.installation.object(id).cells.get(usize::from(field.0)) {
            Some(Cell::Object(to)) => Some(*to),
            _ => None,
        };
        let mut walked: BTreeMap<ObjectId, ObjectId> = BTreeMap::new();
        for start in self.installation.stated[usize::from(thing.0)].iter().copied() {
            let mut at = Some(start);
            while let Some(id) = at {
                match walked.get(&id) {
                    Some(walk) if *walk == start => {
                        found.push(self.ring(field, id, next));
                        break;
                    }
                    Some(_) => break,
                    None => walked.insert(id, start),
                };
                at = next(id);
            }
        }
    }

    fn ring(&self, field: FieldId, start: ObjectId, next: impl Fn(ObjectId) -> Option<ObjectId>) -> Diagnostic {
        const SHOWN: usize = 8;
        let mut ring = vec![start];
        while let Some(to) = next(ring.last().copied().unwrap_or(start)).filter(|to| *to != start) {
            ring.push(to);
        }
        let name = |id: ObjectId| self.installation.full_name(self.schema, id);
        let thing = self.installation.object(start).thing;
        let field_name = &self.schema.field(thing, field).name;
        let mut names: Vec<String> = ring.iter().copied().take(SHOWN).map(name).collect();
        if ring.len() > SHOWN {
            names.push(format!("{} more", ring.len() - SHOWN));
        }
        names.push(name(start));
        let mut diagnostic =
            Diagnostic::warning(Code::ReferenceCycle, format!("`{field_name}` goes round in a circle"));
        for id in ring.iter().take(SHOWN) {
            if let Some(span) = self.draft.places.get(&(*id, field)) {
                diagnostic = diagnostic.at(*span, format!("from {}", name(*id)));
            }
        }
        diagnostic.help("check which of them was meant otherwise").note(names.join(" -> "))
    }
}

fn open_list(members: &[ObjectId], more: Option<ObjectId>) -> Cell {
    Cell::List(Box::new(ListCell { members: members.into(), perhaps: Box::default(), more }))
}
