//! Which thing of an installation a person means: `EX4-1`, `EX4-1.outlets.R1`, `EX4-1.R1`, `R1 of EX4-1`, `project`.

use crate::base::source::Span;
use crate::diag::{Code, Diagnostic, nearest};
use crate::facts::installation::{Cell, Installation, ObjectId, Standing};
use crate::ir::schema::{FieldId, FieldType, PROJECT, Schema, ThingId};

/// An installation with the schema of its book.
#[derive(Clone, Copy)]
pub(super) struct Names<'a> {
    pub(super) schema: &'a Schema,
    pub(super) facts: &'a Installation,
}

/// A thing that is stated, or one that a statement would make.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum At {
    Stated(ObjectId),
    New(ThingId),
}

impl<'a> Names<'a> {
    /// Every named thing that is stated.
    pub(super) fn stated(self) -> impl Iterator<Item = (ObjectId, &'a str)> {
        self.facts
            .objects
            .iter()
            .enumerate()
            .filter(|(_, object)| object.standing == Standing::Stated && !object.name.is_empty())
            .filter_map(|(at, object)| Some((ObjectId(u32::try_from(at).ok()?), &*object.name)))
    }

    /// What kind of thing it is.
    pub(super) fn thing(self, at: At) -> ThingId {
        match at {
            At::Stated(id) => self.facts.object(id).thing,
            At::New(thing) => thing,
        }
    }

    /// The thing that a whole text names, alone or behind the word for its kind.
    pub(super) fn whole(self, text: &str, span: Span) -> Result<ObjectId, Diagnostic> {
        let text = text.trim();
        let (kind, text) = match text.split_once(char::is_whitespace) {
            Some((first, rest)) if first != "of" && !rest.starts_with("of ") => match self.schema.thing_named(first) {
                Some(thing) => (Some(thing), rest.trim()),
                None => (None, text),
            },
            _ => (None, text),
        };
        if text == PROJECT
            && let Some(project) = self.facts.project
        {
            return Ok(project);
        }
        // `R1 of EX4-1` from the outside in.
        let links: Vec<&str> = text.split(" of ").map(str::trim).collect();
        if links.len() > 1 {
            let fits: Vec<ObjectId> = (self.stated())
                .filter(|(id, name)| Some(*name) == links.first().copied() && self.owned_so(*id, &links))
                .map(|(id, _)| id)
                .collect();
            return self.one(fits, text, span);
        }
        let (head, rest) = self.head(kind, text, span)?;
        let mut at = head;
        let mut rest = rest;
        while let Some(more) = rest {
            match self.step(At::Stated(at), more, span)? {
                Step::Into(_, At::Stated(member), after) => {
                    at = member;
                    rest = after;
                }
                Step::Through(member, after) => {
                    at = member;
                    rest = after;
                }
                Step::Into(..) | Step::Field(..) => return Err(self.unknown(text, span)),
            }
        }
        Ok(at)
    }

    fn owned_so(self, id: ObjectId, links: &[&str]) -> bool {
        let mut at = Some(id);
        for link in links {
            // Owners in between may be left out.
            loop {
                let Some(here) = at else { return false };
                let object = self.facts.object(here);
                at = object.owner;
                if &*object.name == *link {
                    break;
                }
            }
        }
        true
    }

    fn one(self, fits: Vec<ObjectId>, text: &str, span: Span) -> Result<ObjectId, Diagnostic> {
        match fits.as_slice() {
            [one] => Ok(*one),
            [] => Err(self.unknown(text, span)),
            several => {
                let names: Vec<String> =
                    several.iter().take(8).map(|id| self.facts.full_name(self.schema, *id)).collect();
                Err(Diagnostic::error(Code::SeveralMeant, format!("several things are called `{text}`"))
                    .at(span, "which one?")
                    .help(format!("write one of: {}", names.join(", "))))
            }
        }
    }

    /// The thing a dotted name begins with, and the rest behind its dot. Names may hold dots themselves.
    pub(super) fn head(
        self,
        kind: Option<ThingId>,
        text: &str,
        span: Span,
    ) -> Result<(ObjectId, Option<&str>), Diagnostic> {
        for (name, rest) in beginnings(text) {
            if name == PROJECT
                && let Some(project) = self.facts.project
            {
                return Ok((project, rest));
            }
            let fits = |top: bool| -> Vec<ObjectId> {
                self.stated()
                    .filter(|(id, known)| {
                        let object = self.facts.object(*id);
                        *known == name && kind.is_none_or(|k| k == object.thing) && (!top || object.owner.is_none())
                    })
                    .map(|(id, _)| id)
                    .collect()
            };
            let mut found = fits(true);
            if found.is_empty() {
                found = fits(false);
            }
            if !found.is_empty() {
                return Ok((self.one(found, name, span)?, rest));
            }
        }
        Err(self.unknown(text.split('.').next().unwrap_or(text), span))
    }

    /// One step of a dotted name from a thing.
    pub(super) fn step<'t>(self, at: At, text: &'t str, span: Span) -> Result<Step<'t>, Diagnostic> {
        let thing = self.thing(at);
        let described = self.schema.thing(thing);
        let (word, rest) = match text.split_once('.') {
            Some((word, rest)) => (word, Some(rest)),
            None => (text, None),
        };
        if let Some(field) = self.schema.field_named(thing, word) {
            match (&described.fields[usize::from(field.0)].ty, rest) {
                (FieldType::Many(member), Some(rest)) => {
                    for (name, after) in beginnings(rest) {
                        if let Some(id) = self.member(at, field, name) {
                            return Ok(Step::Into((field, name), At::Stated(id), after));
                        }
                    }
                    let (name, after) = match rest.split_once('.') {
                        Some((name, after)) => (name, Some(after)),
                        None => (rest, None),
                    };
                    return Ok(Step::Into((field, name), At::New(*member), after));
                }
                (FieldType::Ref(_), Some(rest)) => {
                    return match self.referred(at, field) {
                        Some(id) => Ok(Step::Through(id, Some(rest))),
                        None => Err(Diagnostic::error(
                            Code::NotNamed,
                            format!(
                                "it is not stated which {} `{word}` refers to",
                                described.fields[usize::from(field.0)].name
                            ),
                        )
                        .at(span, "leads nowhere yet")
                        .help(format!("state it first: `{word}: NAME`"))),
                    };
                }
                (_, None) => return Ok(Step::Field(word)),
                (_, Some(rest)) => {
                    return Err(Diagnostic::error(
                        Code::NotNamed,
                        format!("`{word}` has nothing called `{rest}` in it"),
                    )
                    .at(span, "this field holds one value")
                    .help(format!("state the field itself: `{word}: …`")));
                }
            }
        }
        // A member named without its list.
        for (name, after) in beginnings(text) {
            for (at_field, field) in described.fields.iter().enumerate() {
                if let (FieldType::Many(_), Ok(id)) = (&field.ty, u16::try_from(at_field))
                    && let Some(member) = self.member(at, FieldId(id), name)
                {
                    return Ok(Step::Into((FieldId(id), name), At::Stated(member), after));
                }
            }
        }
        match rest {
            // The reader of facts knows best what the field should have been, keyed measurements among them.
            None => Ok(Step::Field(word)),
            Some(_) => {
                let known = self.within(at);
                let diagnostic = Diagnostic::error(
                    Code::NotNamed,
                    format!("{} has no list and no member called `{word}`", described.name),
                )
                .at(span, "leads nowhere");
                Err(match nearest(word, known.iter().map(String::as_str)) {
                    Some(near) => diagnostic.help(format!("did you mean `{near}`?")),
                    None => diagnostic.help(format!("`list {}` tells its fields", described.name)),
                })
            }
        }
    }

    /// Fields of a thing, and names of its stated members.
    pub(super) fn within(self, at: At) -> Vec<String> {
        let thing = self.thing(at);
        let mut all: Vec<String> = Vec::new();
        for field in &self.schema.thing(thing).fields {
            let name = field.keyed.as_ref().map_or(&field.name, |keyed| &keyed.name);
            if !matches!(field.ty, FieldType::Inverse(..)) && !all.contains(name) {
                all.push(name.clone());
            }
        }
        if let At::Stated(id) = at {
            let members = self.stated().filter(|(member, _)| self.facts.object(*member).owner == Some(id));
            all.extend(members.map(|(_, name)| name.to_string()));
        }
        all
    }

    fn member(self, at: At, field: FieldId, name: &str) -> Option<ObjectId> {
        let At::Stated(id) = at else { return None };
        match self.facts.object(id).cells.get(usize::from(field.0)) {
            Some(Cell::List(list)) => list.members.iter().copied().find(|m| &*self.facts.object(*m).name == name),
            _ => None,
        }
    }

    /// Whether nothing is known of a list yet: no member, and not that there is none.
    pub(super) fn is_unknown(self, at: At, field: FieldId) -> bool {
        let At::Stated(id) = at else { return true };
        match self.facts.object(id).cells.get(usize::from(field.0)) {
            Some(Cell::List(list)) => list.members.is_empty() && list.more.is_some(),
            _ => true,
        }
    }

    fn referred(self, at: At, field: FieldId) -> Option<ObjectId> {
        let At::Stated(id) = at else { return None };
        match self.facts.object(id).cells.get(usize::from(field.0)) {
            Some(Cell::Object(to)) => Some(*to),
            _ => None,
        }
    }

    fn unknown(self, text: &str, span: Span) -> Diagnostic {
        let known: Vec<&str> = self.stated().map(|(_, name)| name).collect();
        let diagnostic =
            Diagnostic::error(Code::NotNamed, format!("nothing here is called `{text}`")).at(span, "not stated");
        match nearest(text, known.iter().copied()) {
            Some(near) => diagnostic.help(format!("did you mean `{near}`?")),
            None if known.is_empty() => diagnostic
                .help("state a thing first, such as `branch-circuit B-7 { }` or `circuit B-7.overcurrent: 20 A`"),
            None => diagnostic.help("`list jobs` and `show NAME` tell what is stated"),
        }
    }

    /// The path to a stated thing from the top: its own kind and name first for a top-level thing, then lists and members.
    pub(super) fn path(self, id: ObjectId) -> Option<Vec<(String, String)>> {
        let object = self.facts.object(id);
        let thing = self.schema.thing(object.thing);
        let Some(owner) = object.owner else {
            return Some(vec![(thing.name.clone(), object.name.to_string())]);
        };
        let mut path = self.path(owner)?;
        let holder = self.facts.object(owner);
        let list =
            self.schema.thing(holder.thing).fields.iter().zip(&holder.cells).find_map(|(field, cell)| match cell {
                Cell::List(list) if matches!(field.ty, FieldType::Many(_)) && list.members.contains(&id) => Some(field),
                _ => None,
            })?;
        path.push((list.name.clone(), object.name.to_string()));
        Some(path)
    }
}

/// What a step of a dotted name leads to, and what is left of the name.
pub(super) enum Step<'t> {
    /// Into a member of a list.
    Into((FieldId, &'t str), At, Option<&'t str>),
    /// Through a reference to another thing.
    Through(ObjectId, Option<&'t str>),
    /// To a field, the last word of the name.
    Field(&'t str),
}

/// Each beginning of a dotted name that ends before a dot or at its end, the longest first, with what follows.
fn beginnings(text: &str) -> impl Iterator<Item = (&str, Option<&str>)> {
    let dots = text.match_indices('.').map(|(at, _)| at).rev();
    std::iter::once((text, None)).chain(dots.filter_map(|at| Some((text.get(..at)?, text.get(at + 1..)))))
}
