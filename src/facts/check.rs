//! Stated facts to objects: names are resolved, every value is held against its field, every mistake is collected.
//!
//! Two passes: the first makes an object for each thing stated, so that the second may resolve names that stand further
//! down. What the facts leave open is added by [`super::build`].

use super::build;
use super::installation::{Cell, Installation, ListCell, Object, ObjectId, Standing};
use super::value::{self, Asked, named};
use crate::base::source::Span;
use crate::diag::{Code, Diagnostic, Diagnostics, nearest};
use crate::ir::schema::{Field, FieldId, FieldType, PROJECT, Schema, ThingId};
use crate::syntax::ast::{Block, Entry, EntryValue, FactItem, FactRange, FactTerm, FactValue, KeyedFact, Name};
use std::collections::{BTreeMap, BTreeSet};

/// One state of an installation.
///
/// Mistakes are collected; what is stated without a mistake is kept. A thing stated twice keeps its first statement.
pub(super) fn state(schema: &Schema, items: &[&FactItem]) -> (Installation, Diagnostics) {
    let mut stated = Stating::new(schema);
    for item in items {
        stated.item(item);
    }
    stated.resolve();
    stated.contradictions();
    let Stating { draft, mut found, .. } = stated;
    let installation = build::complete(schema, draft, &mut found);
    (installation, found)
}

/// What the facts state, before anything open is added.
#[derive(Default)]
pub(super) struct Draft {
    pub objects: Vec<Object>,
    pub project: Option<ObjectId>,
    pub title: String,
    /// Lists that were given, with their place, and whether they are open.
    pub lists: BTreeMap<(ObjectId, FieldId), (Span, Ending)>,
    /// Where values were given.
    pub places: BTreeMap<(ObjectId, FieldId), Span>,
    /// Things stated at the top level.
    pub mentioned: BTreeMap<ThingId, Span>,
    /// Things of which more may exist than stated.
    pub open: BTreeSet<ThingId>,
    /// Things that do not exist.
    pub absent: BTreeMap<ThingId, Span>,
    /// Objects whose owner is not known, but is of that thing.
    pub adrift: Vec<(ObjectId, ThingId)>,
}

/// Whether a given list is the whole story.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Ending {
    /// It is.
    Closed,
    /// There may be more.
    Open,
}

struct Stating<'a> {
    schema: &'a Schema,
    draft: Draft,
    found: Diagnostics,
    /// Values still to be read: forward references are allowed.
    values: Vec<(ObjectId, FieldId, &'a FactValue, Span)>,
    /// Keyed measurements still to be read.
    keyed: Vec<(ObjectId, &'a Entry, &'a FactValue, Span)>,
    /// Blocks of lists of references still to be read.
    blocks: Vec<(ObjectId, FieldId, &'a Block)>,
    top: BTreeMap<(ThingId, &'a str), (ObjectId, Span)>,
    members: BTreeMap<(ObjectId, ThingId, &'a str), Vec<ObjectId>>,
    anywhere: BTreeMap<(ThingId, &'a str), Vec<ObjectId>>,
    fields_seen: BTreeMap<(ObjectId, &'a str), Span>,
    /// References to nothing for which a near name was sought.
    sought: std::cell::Cell<usize>,
}

/// Blocks nested deeper than this are not read; readers of text bound nesting long before.
const DEEPEST: usize = 64;
/// For so many references to nothing a near name is sought.
const MOST_SOUGHT: usize = 100;

impl<'a> Stating<'a> {
    fn new(schema: &'a Schema) -> Stating<'a> {
        let mut stating = Stating {
            schema,
            draft: Draft::default(),
            found: Diagnostics::new(),
            values: Vec::new(),
            keyed: Vec::new(),
            blocks: Vec::new(),
            top: BTreeMap::new(),
            members: BTreeMap::new(),
            anywhere: BTreeMap::new(),
            fields_seen: BTreeMap::new(),
            sought: std::cell::Cell::new(0),
        };
        if let Some(thing) = schema.thing_named(PROJECT) {
            stating.draft.project = Some(stating.object(thing, "", None));
        }
        stating
    }

    fn object(&mut self, thing: ThingId, name: &str, owner: Option<ObjectId>) -> ObjectId {
        let id = ObjectId(u32::try_from(self.draft.objects.len()).unwrap_or(u32::MAX));
        let cells = self.schema.thing(thing).fields.iter().map(|field| empty_cell(&field.ty)).collect();
        self.draft.objects.push(Object { thing, standing: Standing::Stated, name: name.into(), owner, cells });
        id
    }

    fn set(&mut self, object: ObjectId, field: FieldId, cell: Cell) {
        let cells = self.draft.objects.get_mut(object.index()).map(|object| &mut object.cells);
        if let Some(slot) = cells.and_then(|cells| cells.get_mut(usize::from(field.0))) {
            *slot = cell;
        }
    }

    // -------------------------------------------------------------------------------------------- first pass

    fn item(&mut self, item: &'a FactItem) {
        match item {
            FactItem::Project { title, block, span } => self.project(title.as_ref(), block, *span),
            FactItem::Instance { thing, name, block, span: _ } => self.instance(thing, name, block),
            FactItem::Absent { thing, span } => {
                if let Some(id) = self.thing(thing) {
                    self.draft.absent.entry(id).or_insert(*span);
                }
            }
            FactItem::MaybeMore { thing, span: _ } => {
                if let Some(id) = self.thing(thing) {
                    self.draft.open.insert(id);
                }
            }
            // Another state of the installation: `past` reads it by itself.
            FactItem::Before { .. } => {}
        }
    }

    fn project(&mut self, title: Option<&Name>, block: &'a Block, span: Span) {
        if let Some(title) = title {
            if !self.draft.title.is_empty() && self.draft.title != title.text.as_str() {
                let first = self.draft.title.clone();
                self.found.push(
                    Diagnostic::error(Code::FactNameTwice, "two projects in one installation")
                        .at(title.span, format!("the project is already called \"{first}\""))
                        .help("inspect one project at a time, or give both blocks the same title"),
                );
                return;
            }
            self.draft.title = title.text.to_string();
        }
        if let Some(project) = self.draft.project {
            self.entries(project, block, 0);
        } else if let Some(entry) = block.entries.first() {
            self.found.push(
                Diagnostic::error(Code::FactUnknownField, "this rulebook asks nothing of the project")
                    .at(entry.name.span, format!("`{}` cannot be used", entry.name.text))
                    .at(span, "in this block")
                    .help("leave the block empty"),
            );
        }
        self.no_maybe_more(block);
    }

    fn thing(&mut self, name: &Name) -> Option<ThingId> {
        let found = self.schema.thing_named(&name.text).filter(|id| self.schema.thing(*id).name != PROJECT);
        if found.is_none() {
            let known = self.schema.thing_names.iter().filter(|(known, _)| known.as_str() != PROJECT);
            let names: Vec<String> = known.map(|(known, _)| known.clone()).collect();
            let help = match nearest(&name.text, names.iter().map(String::as_str)) {
                Some(near) => format!("did you mean `{near}`?"),
                None => format!("the things of this rulebook: {}", value::listed(&names)),
            };
            let diagnostic = Diagnostic::error(Code::FactUnknownThing, format!("there is no thing `{}`", name.text))
                .at(name.span, "the rulebook does not declare it");
            self.found.push(diagnostic.help(help));
        }
        found
    }

    fn instance(&mut self, thing: &'a Name, name: &'a Name, block: &'a Block) {
        let Some(id) = self.thing(thing) else { return };
        self.draft.mentioned.entry(id).or_insert(thing.span);
        if let Some((_, first)) = self.top.get(&(id, name.text.as_str())) {
            let diagnostic = self.named_twice(id, name, *first);
            self.found.push(diagnostic);
            return;
        }
        let owner_thing = containers(self.schema, id).first().copied();
        let object = self.object(id, &name.text, None);
        if let Some(owner) = owner_thing {
            self.draft.adrift.push((object, owner));
        }
        if !name.text.is_empty() {
            self.top.insert((id, &name.text), (object, name.span));
            self.anywhere.entry((id, &name.text)).or_default().push(object);
        }
        self.entries(object, block, 0);
        self.no_maybe_more(block);
    }

    fn named_twice(&self, thing: ThingId, name: &Name, first: Span) -> Diagnostic {
        let thing = &self.schema.thing(thing).name;
        Diagnostic::error(Code::FactNameTwice, format!("two of {thing} are called `{}`", name.text))
            .at(name.span, "again here")
            .at(first, "first here")
            .help("give each a name of its own, or make one statement of both")
    }

    fn no_maybe_more(&mut self, block: &Block) {
        if let Some(span) = block.more {
            self.found.push(
                Diagnostic::error(Code::FactListMismatch, "`and maybe more` belongs to a list")
                    .at(span, "this block is one thing with its fields")
                    .help("what is not said of a thing is unknown anyway; put the words into the list they are about"),
            );
        }
    }

    fn entries(&mut self, object: ObjectId, block: &'a Block, depth: usize) {
        for entry in &block.entries {
            self.entry(object, entry, depth);
        }
    }

    fn entry(&mut self, object: ObjectId, entry: &'a Entry, depth: usize) {
        let schema = self.schema;
        let thing = self.draft.objects[object.index()].thing;
        if let Some(first) = self.fields_seen.get(&(object, entry.name.text.as_str())) {
            let title = format!("`{}` is given twice", entry.name.text);
            let diagnostic = Diagnostic::error(Code::FactFieldTwice, title)
                .at(entry.name.span, "again here")
                .at(*first, "first here");
            self.found.push(diagnostic.help("keep the right one; join values with `or` if both are possible"));
            return;
        }
        self.fields_seen.insert((object, &entry.name.text), entry.name.span);
        let Some(field_id) = schema.field_named(thing, &entry.name.text) else {
            self.keyed_or_unknown(object, thing, entry);
            return;
        };
        let field = schema.field(thing, field_id);
        match (&entry.value, &field.ty) {
            (EntryValue::Block(block), FieldType::Many(member)) => {
                self.list(object, field_id, *member, block, entry.span, depth);
            }
            (EntryValue::Block(block), FieldType::ManyRef(_)) => {
                let ending = if block.more.is_some() { Ending::Open } else { Ending::Closed };
                self.draft.lists.insert((object, field_id), (entry.span, ending));
                self.blocks.push((object, field_id, block));
            }
            (EntryValue::Block(block), FieldType::Ref(inner)) => {
                if let Some(inline) = self.nested(object, *inner, "", block, depth) {
                    self.set(object, field_id, Cell::Object(inline));
                    self.draft.places.insert((object, field_id), entry.span);
                    self.no_maybe_more(block);
                }
            }
            (EntryValue::Block(_), _) => {
                let expected = value::expectation(schema, field);
                let title = format!("`{}` of {} is one value, not a block", field.name, schema.thing(thing).name);
                self.found.push(
                    Diagnostic::error(Code::FactListMismatch, title)
                        .at(entry.span, "a block in braces")
                        .help(format!("write `{}: ` and {expected}", field.name)),
                );
            }
            (EntryValue::Value(value, span), _) => self.values.push((object, field_id, value, *span)),
        }
    }

    fn keyed_or_unknown(&mut self, object: ObjectId, thing: ThingId, entry: &'a Entry) {
        let fields = &self.schema.thing(thing).fields;
        let keyed = |field: &&Field| field.keyed.as_ref().is_some_and(|keyed| keyed.name == entry.name.text.as_str());
        match (&entry.value, fields.iter().find(keyed)) {
            (EntryValue::Value(value, span), Some(_)) => self.keyed.push((object, entry, value, *span)),
            (EntryValue::Block(_), Some(_)) => {
                let title = format!("`{}` is a measurement, not a block", entry.name.text);
                let help = format!("write `{}: 2 ft from …`", entry.name.text);
                self.found.push(
                    Diagnostic::error(Code::FactListMismatch, title).at(entry.span, "a block in braces").help(help),
                );
            }
            (_, None) => {
                let names = written_names(self.schema, thing);
                let help = match nearest(&entry.name.text, names.iter().map(String::as_str)) {
                    Some(near) => format!("did you mean `{near}`?"),
                    None => format!("its fields: {}", value::listed(&names)),
                };
                let name = &self.schema.thing(thing).name;
                let title = format!("{name} has no field `{}`", entry.name.text);
                self.found.push(
                    Diagnostic::error(Code::FactUnknownField, title).at(entry.name.span, "no such field").help(help),
                );
            }
        }
    }

    fn list(&mut self, object: ObjectId, field: FieldId, member: ThingId, block: &'a Block, span: Span, depth: usize) {
        let mut ending = if block.more.is_some() { Ending::Open } else { Ending::Closed };
        let (mut ids, mut names): (Vec<ObjectId>, BTreeMap<&str, Span>) = (Vec::new(), BTreeMap::new());
        for entry in &block.entries {
            let EntryValue::Block(inner) = &entry.value else {
                ending = Ending::Open;
                let list = &self.schema.field(self.draft.objects[object.index()].thing, field).name;
                let title = format!("`{}` in the list `{list}` is a value, not a member", entry.name.text);
                let help =
                    format!("every member has a name and braces: `{list} {{ name {{ {}: … }} }}`", entry.name.text);
                self.found
                    .push(Diagnostic::error(Code::FactListMismatch, title).at(entry.span, "a single value").help(help));
                continue;
            };
            if let Some(first) = names.get(entry.name.text.as_str()) {
                let diagnostic = self.named_twice(member, &entry.name, *first);
                self.found.push(diagnostic);
                ending = Ending::Open;
                continue;
            }
            let Some(id) = self.nested(object, member, &entry.name.text, inner, depth) else { continue };
            self.no_maybe_more(inner);
            ids.push(id);
            if !entry.name.text.is_empty() {
                names.insert(&entry.name.text, entry.name.span);
                self.members.entry((object, member, &entry.name.text)).or_default().push(id);
                self.anywhere.entry((member, &entry.name.text)).or_default().push(id);
            }
        }
        self.draft.lists.insert((object, field), (span, ending));
        let cell = ListCell { members: ids.into_boxed_slice(), ..ListCell::default() };
        self.set(object, field, Cell::List(Box::new(cell)));
    }

    fn nested(
        &mut self,
        owner: ObjectId,
        thing: ThingId,
        name: &str,
        block: &'a Block,
        depth: usize,
    ) -> Option<ObjectId> {
        if depth >= DEEPEST {
            self.found.push(
                Diagnostic::error(Code::TooDeep, "facts are nested too deep")
                    .at(block.span, format!("more than {DEEPEST} levels"))
                    .help("state inner things at the top level and refer to them by name"),
            );
            return None;
        }
        let containers = containers(self.schema, thing);
        let owner_thing = self.draft.objects[owner.index()].thing;
        // A condition that walks to the owner expects the thing that lists such members; another owner would mislead it.
        let fitting = containers.is_empty() || containers.contains(&owner_thing);
        let id = self.object(thing, name, fitting.then_some(owner));
        if let (false, Some(container)) = (fitting, containers.first()) {
            self.draft.adrift.push((id, *container));
        }
        self.entries(id, block, depth + 1);
        Some(id)
    }

    // -------------------------------------------------------------------------------------------- second pass

    fn resolve(&mut self) {
        for (object, field, block) in std::mem::take(&mut self.blocks) {
            self.reference_block(object, field, block);
        }
        // Reading blocks may have stated further things with values of their own.
        for (object, field, value, span) in std::mem::take(&mut self.values) {
            self.value(object, field, value, span);
        }
        for (object, entry, value, span) in std::mem::take(&mut self.keyed) {
            self.keyed_value(object, entry, value, span);
        }
    }

    fn value(&mut self, object: ObjectId, field_id: FieldId, stated: &'a FactValue, span: Span) {
        let thing = self.draft.objects[object.index()].thing;
        let field = self.schema.field(thing, field_id);
        self.draft.places.insert((object, field_id), span);
        match field.ty {
            FieldType::Many(_) => self.list_value(object, field_id, None, stated, span),
            FieldType::ManyRef(target) => self.list_value(object, field_id, Some(target), stated, span),
            _ => {
                let mut found = std::mem::take(&mut self.found);
                let asked = Asked { schema: self.schema, thing, field, span };
                let resolve = |target: ThingId, name: &str, at: Span| self.find(object, target, name, at);
                let cell = value::cell(&asked, stated, &resolve, &mut found);
                self.found = found;
                if let Some(cell) = cell {
                    self.set(object, field_id, cell);
                }
            }
        }
    }

    fn list_value(
        &mut self,
        object: ObjectId,
        id: FieldId,
        refers_to: Option<ThingId>,
        stated: &FactValue,
        span: Span,
    ) {
        let thing = self.draft.objects[object.index()].thing;
        let asked = Asked { schema: self.schema, thing, field: self.schema.field(thing, id), span };
        let terms: Vec<&FactTerm> = match stated {
            FactValue::Unknown => return,
            FactValue::List(terms) => terms.iter().collect(),
            FactValue::OneOf(ranges) => match ranges.as_slice() {
                [FactRange { from, through: None }] => vec![from],
                _ => return self.found.push(asked.members_only()),
            },
            FactValue::Not(_) | FactValue::Bounds(_) | FactValue::Keyed(_) => {
                return self.found.push(asked.members_only());
            }
        };
        let target = match (terms.as_slice(), refers_to) {
            ([FactTerm::None(_)], _) => {
                self.draft.lists.insert((object, id), (span, Ending::Closed));
                return;
            }
            (_, Some(target)) => target,
            (_, None) => return self.found.push(asked.members_only()),
        };
        let (mut members, mut mistakes, mut ending) = (Vec::new(), Vec::new(), Ending::Closed);
        let mut seen = BTreeSet::new();
        for term in terms {
            match named(&asked, target, term, &|target, name, at| self.find(object, target, name, at)) {
                Ok(member) if !seen.insert(member) => mistakes.push(self.listed_twice(member, value::term_span(term))),
                Ok(member) => members.push(member),
                // A member that could not be read is one that is not known: the list stays open.
                Err(mistake) => {
                    ending = Ending::Open;
                    mistakes.push(mistake);
                }
            }
        }
        self.found.extend(mistakes);
        self.draft.lists.insert((object, id), (span, ending));
        let cell = ListCell { members: members.into_boxed_slice(), ..ListCell::default() };
        self.set(object, id, Cell::List(Box::new(cell)));
    }

    fn listed_twice(&self, member: ObjectId, span: Span) -> Diagnostic {
        let name = self.draft.objects.get(member.index()).map_or("", |object| &object.name);
        Diagnostic::error(Code::FactNameTwice, format!("`{name}` is listed twice"))
            .at(span, "again here")
            .help("a thing is a member once")
    }

    /// `spaces { kitchen { } and maybe more }`: an empty member is a reference, one with fields is stated there.
    fn reference_block(&mut self, object: ObjectId, id: FieldId, block: &'a Block) {
        let schema = self.schema;
        let thing = self.draft.objects[object.index()].thing;
        let FieldType::ManyRef(target) = schema.field(thing, id).ty else { return };
        let (mut members, mut known) = (Vec::new(), true);
        let mut seen = BTreeSet::new();
        for entry in &block.entries {
            let member = match &entry.value {
                EntryValue::Block(inner) if inner.entries.is_empty() => {
                    self.find(object, target, &entry.name.text, entry.name.span)
                }
                EntryValue::Block(inner) => match self.nested(object, target, &entry.name.text, inner, 0) {
                    Some(inline) => {
                        self.anywhere.entry((target, &entry.name.text)).or_default().push(inline);
                        self.reference_blocks_within();
                        Ok(inline)
                    }
                    None => continue,
                },
                EntryValue::Value(_, span) => Err(Diagnostic::error(
                    Code::FactListMismatch,
                    format!("`{}` is a value, not a member of the list", entry.name.text),
                )
                .at(*span, "a single value")
                .help("list names with commas, or members in braces")),
            };
            match member {
                Ok(member) if !seen.insert(member) => {
                    let twice = self.listed_twice(member, entry.name.span);
                    self.found.push(twice);
                }
                Ok(member) => members.push(member),
                Err(mistake) => {
                    known = false;
                    self.found.push(mistake);
                }
            }
        }
        if !known && let Some(list) = self.draft.lists.get_mut(&(object, id)) {
            list.1 = Ending::Open;
        }
        let cell = ListCell { members: members.into_boxed_slice(), ..ListCell::default() };
        self.set(object, id, Cell::List(Box::new(cell)));
    }

    fn reference_blocks_within(&mut self) {
        for (object, field, block) in std::mem::take(&mut self.blocks) {
            self.reference_block(object, field, block);
        }
    }

    fn find(&self, from: ObjectId, thing: ThingId, name: &str, span: Span) -> Result<ObjectId, Diagnostic> {
        let mut at = Some(from);
        while let Some(id) = at {
            match self.members.get(&(id, thing, name)).map(Vec::as_slice) {
                Some([one]) => return Ok(*one),
                Some([_, ..]) => return Err(self.ambiguous(thing, name, span)),
                Some([]) | None => at = self.draft.objects.get(id.index()).and_then(|object| object.owner),
            }
        }
        if let Some((id, _)) = self.top.get(&(thing, name)) {
            return Ok(*id);
        }
        match self.anywhere.get(&(thing, name)).map(Vec::as_slice) {
            Some([one]) => Ok(*one),
            Some([_, ..]) => Err(self.ambiguous(thing, name, span)),
            Some([]) | None => Err(self.dangling(thing, name, span)),
        }
    }

    fn ambiguous(&self, thing: ThingId, name: &str, span: Span) -> Diagnostic {
        let thing = &self.schema.thing(thing).name;
        Diagnostic::error(Code::DanglingReference, format!("several of {thing} are called `{name}`"))
            .at(span, "which one is not clear")
            .help("give the one that is meant a name of its own")
    }

    fn dangling(&self, thing: ThingId, name: &str, span: Span) -> Diagnostic {
        let kind = &self.schema.thing(thing).name;
        let diagnostic =
            Diagnostic::error(Code::DanglingReference, format!("the facts have no {kind} called `{name}`"))
                .at(span, "not described");
        // Each search costs as much as there are names; nobody reads the hundredth suggestion.
        if self.sought.replace(self.sought.get() + 1) >= MOST_SOUGHT {
            return diagnostic.help(format!("describe it: `{kind} {name} {{ }}`"));
        }
        let other = self.anywhere.keys().find(|(_, known)| *known == name).map(|(other, _)| other);
        if let Some(other) = other {
            let other = &self.schema.thing(*other).name;
            return diagnostic.help(format!("`{name}` is of {other}; {kind} is expected here"));
        }
        let names = self.anywhere.keys().filter(|(of, _)| *of == thing).map(|(_, known)| *known);
        match nearest(name, names) {
            Some(near) => diagnostic.help(format!("did you mean `{near}`?")),
            None => diagnostic.help(format!("describe it: `{kind} {name} {{ }}`")),
        }
    }

    // -------------------------------------------------------------------------------------------- keyed measurements

    fn keyed_value(&mut self, object: ObjectId, entry: &Entry, stated: &FactValue, span: Span) {
        let thing = self.draft.objects[object.index()].thing;
        match stated {
            FactValue::Unknown => {}
            FactValue::Keyed(parts) => {
                let mut seen: BTreeMap<&str, Span> = BTreeMap::new();
                for part in parts {
                    if let Some(first) = seen.insert(&part.from.text, part.from.span) {
                        let title = format!("`{}` is measured from `{}` twice", entry.name.text, part.from.text);
                        self.found.push(
                            Diagnostic::error(Code::FactFieldTwice, title)
                                .at(part.from.span, "again here")
                                .at(first, "first here")
                                .help("keep the right one; a range tells of doubt"),
                        );
                        continue;
                    }
                    self.keyed_part(object, thing, &entry.name.text, part);
                }
            }
            FactValue::OneOf(ranges)
                if matches!(ranges.as_slice(), [FactRange { from: FactTerm::None(_), through: None }]) =>
            {
                for (id, field) in keyed_fields(self.schema, thing, &entry.name.text) {
                    if field.keyed.as_ref().is_some_and(|keyed| keyed.through.is_none()) {
                        self.value_of(object, thing, id, stated, span);
                    }
                }
            }
            FactValue::OneOf(_) | FactValue::List(_) | FactValue::Not(_) | FactValue::Bounds(_) => {
                let keys = self.keys(thing, &entry.name.text);
                let from = keys.first().cloned().unwrap_or_default();
                self.found.push(
                    Diagnostic::error(Code::FactWrongType, format!("`{}` is measured from a place", entry.name.text))
                        .at(span, "from where is not said")
                        .help(format!("write for example `2 ft from {from}`; places: {}", value::listed(&keys))),
                );
            }
        }
    }

    fn value_of(&mut self, object: ObjectId, thing: ThingId, id: FieldId, stated: &FactValue, span: Span) {
        let asked = Asked { schema: self.schema, thing, field: self.schema.field(thing, id), span };
        let no_names = |_: ThingId, name: &str, at: Span| Err(self.dangling(thing, name, at));
        let mut found = Diagnostics::new();
        let cell = value::cell(&asked, stated, &no_names, &mut found);
        self.found.extend(found);
        if let Some(cell) = cell {
            self.set(object, id, cell);
            self.draft.places.insert((object, id), span);
        }
    }

    fn keys(&self, thing: ThingId, name: &str) -> Vec<String> {
        let keyed = keyed_fields(self.schema, thing, name).filter_map(|(_, field)| field.keyed.as_ref());
        keyed.filter(|keyed| keyed.through.is_none()).map(|keyed| keyed.from.clone()).collect()
    }

    fn keyed_part(&mut self, object: ObjectId, thing: ThingId, name: &str, part: &KeyedFact) {
        let schema = self.schema;
        let here = |through: Option<&str>| {
            keyed_fields(schema, thing, name).find(|(_, field)| {
                field
                    .keyed
                    .as_ref()
                    .is_some_and(|keyed| keyed.from == part.from.text.as_str() && keyed.through.as_deref() == through)
            })
        };
        let Some((measured, _)) = here(None) else {
            let keys = self.keys(thing, name);
            let help = match nearest(&part.from.text, keys.iter().map(String::as_str)) {
                Some(near) => format!("did you mean `{near}`?"),
                None => format!("it is measured from: {}", value::listed(&keys)),
            };
            let title = format!("`{name}` is not measured from `{}`", part.from.text);
            self.found
                .push(Diagnostic::error(Code::FactWrongType, title).at(part.from.span, "no such place").help(help));
            return;
        };
        self.value_of(object, thing, measured, &part.value, part.span);
        let barriers: Vec<(FieldId, &str)> = keyed_fields(schema, thing, name)
            .filter_map(|(id, field)| field.keyed.as_ref().map(|keyed| (id, keyed)))
            .filter(|(_, keyed)| keyed.from == part.from.text.as_str())
            .filter_map(|(id, keyed)| keyed.through.as_deref().map(|through| (id, through)))
            .collect();
        if part.through.is_empty() {
            return;
        }
        let nothing = part.through.len() == 1 && part.through.iter().any(|word| word.text == "nothing");
        let mut mistaken = false;
        for word in part.through.iter().filter(|_| !nothing) {
            if barriers.iter().any(|(_, barrier)| *barrier == word.text.as_str()) {
                continue;
            }
            mistaken = true;
            let names: Vec<String> = barriers.iter().map(|(_, barrier)| (*barrier).to_string()).collect();
            let known = names.iter().map(String::as_str).chain(["nothing"]);
            let help = match nearest(&word.text, known) {
                Some(near) => format!("did you mean `{near}`?"),
                None if names.is_empty() => format!("what `{name}` passes through is not asked: leave it out"),
                None => format!("write `nothing`, or some of: {}", value::listed(&names)),
            };
            let title = format!("`{}` is nothing that `{name}` may pass through", word.text);
            self.found.push(Diagnostic::error(Code::FactWrongType, title).at(word.span, "no such barrier").help(help));
        }
        if mistaken {
            return;
        }
        for (id, barrier) in barriers {
            let passes = part.through.iter().any(|word| word.text.as_str() == barrier);
            let set = if passes { crate::ir::schema::YES } else { crate::ir::schema::NO };
            self.set(object, id, Cell::Values(set, super::installation::MaybeAbsent::Present));
            self.draft.places.insert((object, id), part.span);
        }
    }

    // -------------------------------------------------------------------------------------------- after both passes

    fn contradictions(&mut self) {
        for (thing, none) in &self.draft.absent {
            let name = &self.schema.thing(*thing).name;
            let stated = self.draft.mentioned.get(thing).map(|span| (*span, "but one is described here"));
            if let Some((span, text)) = stated {
                self.found.push(
                    Diagnostic::error(Code::NoValueLeft, format!("there is no {name}, and yet there is one"))
                        .at(*none, "there is none, it says here")
                        .at(span, text)
                        .help("keep one of the two"),
                );
            }
            if stated.is_none() && self.draft.open.contains(thing) {
                self.found.push(
                    Diagnostic::error(Code::NoValueLeft, format!("there is no {name}, and yet maybe more"))
                        .at(*none, "there is none, it says here")
                        .help("keep one of the two"),
                );
            }
        }
        for ((object, field), (span, ending)) in &self.draft.lists {
            let stated = &self.draft.objects[object.index()];
            let field_type = self.schema.field(stated.thing, *field);
            let members = match stated.cells.get(usize::from(field.0)) {
                Some(Cell::List(list)) => list.members.len(),
                _ => 0,
            };
            let least = field_type.at_least as usize;
            if *ending == Ending::Closed && members < least {
                let title = format!("`{}` has at least {least}, the facts give {members}", field_type.name);
                self.found.push(
                    Diagnostic::error(Code::TooFewMembers, title)
                        .at(*span, "the list ends the story")
                        .help("describe the others, or end the list with `and maybe more`"),
                );
            }
        }
    }
}

fn empty_cell(ty: &FieldType) -> Cell {
    match ty {
        FieldType::Many(_) | FieldType::ManyRef(_) | FieldType::Inverse(..) => Cell::List(Box::default()),
        FieldType::YesNo
        | FieldType::OneOf(_)
        | FieldType::Quantity(_)
        | FieldType::Date
        | FieldType::Text
        | FieldType::Ref(_) => Cell::Unknown,
    }
}

/// The things that list members of `thing`, in order of declaration.
pub(super) fn containers(schema: &Schema, thing: ThingId) -> Vec<ThingId> {
    let lists = |of: &crate::ir::schema::Thing| of.fields.iter().any(|field| field.ty == FieldType::Many(thing));
    let at = schema.things.iter().enumerate().filter(|(_, of)| lists(of));
    at.filter_map(|(at, _)| u16::try_from(at).ok().map(ThingId)).collect()
}

fn keyed_fields<'s>(schema: &'s Schema, thing: ThingId, name: &str) -> impl Iterator<Item = (FieldId, &'s Field)> {
    let of = move |field: &Field| field.keyed.as_ref().is_some_and(|keyed| keyed.name == name);
    let fields = schema.thing(thing).fields.iter().enumerate().filter(move |(_, field)| of(field));
    fields
        .filter_map(|(at, field)| u16::try_from(at).ok().map(|at| (FieldId(at), field)))
        .collect::<Vec<_>>()
        .into_iter()
}

/// The names by which facts may state the fields of a thing, keyed measurements once each, computed lists left out.
fn written_names(schema: &Schema, thing: ThingId) -> Vec<String> {
    let mut names: Vec<String> = Vec::new();
    for field in &schema.thing(thing).fields {
        let name = field.keyed.as_ref().map_or(&field.name, |keyed| &keyed.name);
        if !matches!(field.ty, FieldType::Inverse(..)) && !names.contains(name) {
            names.push(name.clone());
        }
    }
    names
}
