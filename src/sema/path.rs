//! What words lead to: objects, fields, definitions, lists, and conditions named by a bare word.
//!
//! Words are looked up on the innermost variable first, then outwards. Owners are reached only by their name.

use super::lower::{Frame, Lower, Side};
use crate::base::source::Span;
use crate::diag::{Code, Diagnostic, nearest};
use crate::ir::program::{List, Object, Place, Step, Test, TestId};
use crate::ir::schema::{FieldType, PROJECT, ThingId, ValueSet, YES};
use crate::syntax::ast;

/// What a path leads to.
#[derive(Debug, Clone)]
pub(super) enum Found {
    Field(Place),
    Object(Object),
    Formula(Object, usize),
    Limit(String),
}

/// What is read while a member is bound.
type Inside<'c, L, T> = Box<dyn FnOnce(&mut L) -> T + 'c>;

fn sibling_tested(word: &ast::Name) -> Diagnostic {
    Diagnostic::error(Code::SiblingTested, format!("a half may not test its sibling `{}`", word.text))
        .at(word.span, "another half")
        .help("test for a *kind* of path instead, such as `runs-in is metal-path`")
}

impl<'a> Lower<'a> {
    fn step(&self, object: &Object, step: Step, thing: ThingId) -> Object {
        let mut steps = object.steps.to_vec();
        steps.push(step);
        Object { var: object.var, steps: steps.into(), thing }
    }

    fn names_thing(&self, thing: ThingId, word: &str) -> bool {
        let thing = self.schema().thing(thing);
        thing.name == word || thing.alias.as_deref() == Some(word)
    }

    /// The object a word names: a variable, an owner, the project, or what a reference field leads to.
    pub(super) fn find_object(&self, word: &str) -> Option<Object> {
        let inward: Vec<Frame> = self.frames.iter().rev().cloned().collect();
        for frame in &inward {
            if frame.slot.as_deref() == Some(word) || self.names_thing(frame.thing, word) {
                return Some(self.object(frame));
            }
        }
        for frame in &inward {
            let mut object = self.object(frame);
            while let Some(owner) = self.owners.get(object.thing.0 as usize).copied().flatten() {
                object = self.step(&object, Step::Owner, owner);
                if self.names_thing(owner, word) {
                    return Some(object);
                }
            }
        }
        if let Some(project) = self.schema().thing_named(PROJECT)
            && self.names_thing(project, word)
        {
            return Some(Object { var: 0, steps: Box::new([Step::Project]), thing: project });
        }
        inward.iter().find_map(|frame| self.follow(&self.object(frame), word))
    }

    /// What a reference field of an object leads to.
    pub(super) fn follow(&self, object: &Object, word: &str) -> Option<Object> {
        let field = self.schema().field_named(object.thing, word)?;
        match self.schema().field(object.thing, field).ty {
            FieldType::Ref(thing) => Some(self.step(object, Step::Follow(field), thing)),
            _ => None,
        }
    }

    pub(super) fn field_of(&self, object: &Object, name: &str) -> Option<Place> {
        let field = self.schema().field_named(object.thing, name)?;
        Some(Place { object: object.clone(), field })
    }

    pub(super) fn field_type(&self, place: &Place) -> &FieldType {
        &self.schema().field(place.object.thing, place.field).ty
    }

    /// The object behind `of … of …`, innermost owner last.
    pub(super) fn behind_of(&mut self, of: &[ast::Name]) -> Option<Object> {
        let (base, inner) = of.split_last()?;
        let Some(mut object) = self.find_object(&base.text) else {
            if self.siblings.iter().any(|s| *s == base.text) {
                let diagnostic = sibling_tested(base);
                self.say(diagnostic);
                return None;
            }
            if self.frames.iter().any(|frame| self.list_on(&self.object(frame), &base.text).is_some()) {
                self.say(
                    Diagnostic::error(Code::ListMismatch, format!("`{}` is a list", base.text))
                        .at(base.span, "of which of its members?")
                        .help(format!("say how many: `every {} …: …`, `some {} where …`", base.text, base.text)),
                );
                return None;
            }
            let known = self.object_words();
            let near = nearest(&base.text, known.iter().map(String::as_str)).map(str::to_string);
            let is_thing = self.schema().thing_named(&base.text).is_some();
            let code = if is_thing { Code::OwnerNotReachable } else { Code::UnknownName };
            let title = if is_thing {
                format!("no `{}` is reachable from here", base.text)
            } else {
                format!("there is no `{}` here", base.text)
            };
            let diagnostic =
                Diagnostic::error(code, title).at(base.span, "not the thing at hand, an owner or a reference");
            self.say(match near {
                Some(near) => diagnostic.help(format!("did you mean `{near}`?")),
                None => diagnostic.help(format!("reachable: {}", known.join(", "))),
            });
            return None;
        };
        for word in inner.iter().rev() {
            match self.follow(&object, &word.text) {
                Some(next) => object = next,
                None => {
                    let diagnostic = self.unknown_field(&object, word);
                    self.say(diagnostic.note("only a field that refers to another thing can stand here"));
                    return None;
                }
            }
        }
        Some(object)
    }

    /// Words that name an object here.
    fn object_words(&self) -> Vec<String> {
        let mut words = Vec::new();
        for frame in self.frames.iter().rev() {
            words.extend(frame.slot.clone());
            let mut thing = Some(frame.thing);
            while let Some(at) = thing {
                let declared = self.schema().thing(at);
                words.push(declared.alias.clone().unwrap_or_else(|| declared.name.clone()));
                thing = self.owners.get(at.0 as usize).copied().flatten();
            }
        }
        words
    }

    pub(super) fn unknown_field(&self, object: &Object, word: &ast::Name) -> Diagnostic {
        let thing = self.schema().thing(object.thing);
        let near = nearest(&word.text, thing.fields.iter().map(|f| f.name.as_str()));
        let diagnostic =
            Diagnostic::error(Code::UnknownField, format!("`{}` has no field `{}`", thing.name, word.text))
                .at(word.span, "not a field of it");
        match near {
            Some(near) => diagnostic.help(format!("did you mean `{near}`?")),
            None => diagnostic.help(format!("declare it in `thing {}`, or see `whereas facts`", thing.name)),
        }
    }

    /// What a path with one word before any `of` leads to.
    pub(super) fn find(&mut self, path: &ast::Path) -> Option<Found> {
        let word = path.words.first()?;
        let written = match &path.from {
            Some(key) => format!("{} from {}", word.text, key.text),
            None => word.text.to_string(),
        };
        if !path.of.is_empty() {
            let object = self.behind_of(&path.of)?;
            return match self.on_object(&object, &written) {
                Some(found) => Some(found),
                None => {
                    let diagnostic = self.unknown_field(&object, word);
                    self.say(diagnostic);
                    None
                }
            };
        }
        if let Some(found) = self.on_frames(&written) {
            return Some(found);
        }
        if self.limits.contains_key(&written) {
            return Some(Found::Limit(written));
        }
        if path.from.is_none()
            && let Some(object) = self.find_object(&written)
        {
            return Some(Found::Object(object));
        }
        let diagnostic = self.unknown_word(word, "a field, a definition, a limit or an owner");
        self.say(diagnostic);
        None
    }

    /// A field or definition of the thing at hand, or of what surrounds it.
    pub(super) fn on_frames(&self, name: &str) -> Option<Found> {
        self.frames.iter().rev().find_map(|frame| self.on_object(&self.object(frame), name))
    }

    fn on_object(&self, object: &Object, name: &str) -> Option<Found> {
        if let Some(place) = self.field_of(object, name) {
            return Some(Found::Field(place));
        }
        let at = self.define_names.get(&(object.thing, name.to_string()))?;
        Some(Found::Formula(object.clone(), *at))
    }

    /// A word nothing answers to.
    pub(super) fn unknown_word(&self, word: &ast::Name, expected: &str) -> Diagnostic {
        if self.siblings.iter().any(|s| *s == word.text) {
            return sibling_tested(word);
        }
        let mut known: Vec<&str> = Vec::new();
        let mut things: Vec<ThingId> = Vec::new();
        for frame in &self.frames {
            things.push(frame.thing);
        }
        for thing in &things {
            for field in &self.schema().thing(*thing).fields {
                known.push(&field.name);
                if let FieldType::OneOf(domain) = field.ty {
                    let domain = self.schema().domain(domain);
                    known.extend(domain.values.iter().map(String::as_str));
                    known.extend(domain.groups.iter().map(|(name, _)| name.as_str()));
                }
            }
        }
        known.extend(self.conditions.keys().filter(|(t, _)| things.contains(t)).map(|(_, n)| n.as_str()));
        known.extend(self.define_names.keys().filter(|(t, _)| things.contains(t)).map(|(_, n)| n.as_str()));
        known.extend(self.limits.keys().map(String::as_str));
        let near = nearest(&word.text, known);
        let on: Vec<&str> = things.iter().rev().map(|t| self.schema().thing(*t).name.as_str()).collect();
        let diagnostic = Diagnostic::error(Code::UnknownName, format!("`{}` means nothing here", word.text))
            .at(word.span, format!("not {expected} of {}", on.join(" or ")));
        match near {
            Some(near) => diagnostic.help(format!("did you mean `{near}`?")),
            None => diagnostic.help("see `whereas facts` for the fields, or declare a `kind`"),
        }
    }

    // -------------------------------------------------------------------------------------------- bare words

    /// A condition named by one word on an object; none if the word means nothing there.
    pub(super) fn predicate_on(&mut self, object: &Object, word: &ast::Name, side: Side, span: Span) -> Option<TestId> {
        if let Some(place) = self.field_of(object, &word.text) {
            match self.field_type(&place) {
                FieldType::YesNo => return Some(self.emit(Test::In(place, YES), span)),
                FieldType::Ref(_)
                | FieldType::OneOf(_)
                | FieldType::Quantity(_)
                | FieldType::Date
                | FieldType::Text => {
                    self.say(
                        Diagnostic::error(Code::WrongType, format!("`{}` is not a yes-no field", word.text))
                            .at(word.span, "a condition is expected here")
                            .help(format!("say what it must be: `{} is …` or `{} at least …`", word.text, word.text)),
                    );
                    return Some(self.never(span));
                }
                FieldType::Many(_) | FieldType::ManyRef(_) | FieldType::Inverse(..) => {
                    self.say(
                        Diagnostic::error(Code::ListMismatch, format!("`{}` is a list", word.text))
                            .at(word.span, "a condition is expected here")
                            .help(format!("say how many: `some {}`, `every {} is …`", word.text, word.text)),
                    );
                    return Some(self.never(span));
                }
            }
        }
        if let Some(at) = self.conditions.get(&(object.thing, word.text.to_string())).copied() {
            return Some(match self.kind(at, side) {
                Some(kind) => self.emit(Test::IsKind(object.clone(), kind), span),
                None => self.never(span),
            });
        }
        let found = self.fields_with_value(object, &word.text);
        match found.as_slice() {
            [] => None,
            [(place, set)] => Some(self.emit(Test::In(place.clone(), *set), span)),
            several => {
                let names: Vec<String> = several
                    .iter()
                    .map(|(p, _)| format!("`{} is {}`", self.schema().field(object.thing, p.field).name, word.text))
                    .collect();
                self.say(
                    Diagnostic::error(
                        Code::AmbiguousName,
                        format!("`{}` could be a value of several fields", word.text),
                    )
                    .at(word.span, "which one?")
                    .help(format!("write {}", names.join(" or "))),
                );
                Some(self.never(span))
            }
        }
    }

    fn fields_with_value(&self, object: &Object, word: &str) -> Vec<(Place, ValueSet)> {
        let mut found = Vec::new();
        for field in &self.schema().thing(object.thing).fields {
            if let FieldType::OneOf(domain) = field.ty
                && let Some(set) = self.value_of(domain, word)
                && let Some(place) = self.field_of(object, &field.name)
            {
                found.push((place, set));
            }
        }
        found
    }

    /// One, two or three words as a condition: `listed`, `circuit wet`, `circuit serves patient-care`.
    pub(super) fn bare(&mut self, path: &ast::Path, side: Side) -> TestId {
        let span = path.span;
        if let Some(key) = &path.from {
            self.say(
                Diagnostic::error(Code::WrongType, "a measurement is not a condition")
                    .at(key.span, "say how far")
                    .help("write `… from KEY at most 6 ft`"),
            );
            return self.never(span);
        }
        if !path.of.is_empty() {
            let Some(object) = self.behind_of(&path.of) else { return self.never(span) };
            return match path.words.as_slice() {
                [word] => self.predicate_or_say(&object, word, side, span),
                _ => self.too_many_words(path),
            };
        }
        match path.words.as_slice() {
            [word] => {
                for at in (0..self.frames.len()).rev() {
                    let object = self.object(&self.frames[at]);
                    if let Some(test) = self.predicate_on(&object, word, side, span) {
                        return test;
                    }
                }
                let diagnostic = self.unknown_word(word, "a yes-no field, a kind or a value of a field");
                self.say(diagnostic);
                self.never(span)
            }
            [first, last] => {
                if let Some(object) = self.find_object(&first.text) {
                    return self.predicate_or_say(&object, last, side, span);
                }
                let diagnostic = self.unknown_word(first, "an owner or a reference field");
                self.say(diagnostic);
                self.never(span)
            }
            [first, verb, last] => {
                let Some(object) = self.find_object(&first.text) else {
                    let diagnostic = self.unknown_word(first, "an owner or a reference field");
                    self.say(diagnostic);
                    return self.never(span);
                };
                match self.field_of(&object, &verb.text).map(|p| (self.field_type(&p).clone(), p)) {
                    Some((FieldType::Ref(_), _)) => match self.follow(&object, &verb.text) {
                        Some(target) => self.predicate_or_say(&target, last, side, span),
                        None => self.never(span),
                    },
                    Some((FieldType::OneOf(domain), place)) => {
                        match self.value_set(domain, &ast::Value::Word(last.clone())) {
                            Some(set) => self.emit(Test::In(place, set), span),
                            None => self.never(span),
                        }
                    }
                    Some(_) => {
                        self.say(
                            Diagnostic::error(Code::WrongType, format!("`{}` refers to no other thing", verb.text))
                                .at(verb.span, "a reference field is expected between the two words"),
                        );
                        self.never(span)
                    }
                    None => {
                        let diagnostic = self.unknown_field(&object, verb);
                        self.say(diagnostic);
                        self.never(span)
                    }
                }
            }
            _ => self.too_many_words(path),
        }
    }

    fn too_many_words(&mut self, path: &ast::Path) -> TestId {
        self.say(
            Diagnostic::error(Code::UnexpectedText, "too many words for one condition")
                .at(path.span, "not understood")
                .help("separate conditions with commas; compare with `is`, `at least` or `at most`"),
        );
        self.never(path.span)
    }

    pub(super) fn predicate_or_say(&mut self, object: &Object, word: &ast::Name, side: Side, span: Span) -> TestId {
        if let Some(test) = self.predicate_on(object, word, side, span) {
            return test;
        }
        let frames =
            std::mem::replace(&mut self.frames, vec![Frame { var: object.var, thing: object.thing, slot: None }]);
        let diagnostic = self.unknown_word(word, "a yes-no field, a kind or a value of a field");
        self.frames = frames;
        self.say(diagnostic);
        self.never(span)
    }

    // -------------------------------------------------------------------------------------------- lists

    /// The list a reference names, narrowed by its adjectives and by `filter`. The member's frame is pushed while the
    /// filter and then `inside` are read, and popped again.
    pub(super) fn with_list<T>(
        &mut self,
        written: &ast::ListRef,
        filter: Option<&'a ast::Clauses>,
        side: Side,
        slot: Option<String>,
        inside: impl FnOnce(&mut Self) -> T,
    ) -> Option<(List, T)> {
        self.list_of(written, filter, side, slot, Box::new(inside))
    }

    fn list_of<T>(
        &mut self,
        written: &ast::ListRef,
        filter: Option<&'a ast::Clauses>,
        side: Side,
        slot: Option<String>,
        inside: Inside<'_, Self, T>,
    ) -> Option<(List, T)> {
        let (name, adjectives) = written.words.split_last()?;
        if let Some(tally) = self.tallies.get(name.text.as_str()).cloned() {
            return self.with_tally(&tally, name, filter, side, inside);
        }
        let (place, thing) = self.find_list(name, &written.of)?;
        let var = self.next_var();
        if var >= 15 {
            self.say(Diagnostic::error(Code::TooDeep, "conditions nest too many lists").at(written.span, "here"));
            return None;
        }
        self.frames.push(Frame { var, thing, slot });
        let mut tests = Vec::new();
        let member = Object { var, steps: Box::default(), thing };
        for word in adjectives {
            tests.push(self.predicate_or_say(&member, word, side, word.span));
        }
        if let Some(filter) = filter {
            tests.push(self.clauses(filter, side));
        }
        let filter = if tests.is_empty() { None } else { Some(self.all(tests, written.span)) };
        let result = inside(self);
        self.frames.pop();
        Some((List { place, thing, var, filter }, result))
    }

    fn with_tally<T>(
        &mut self,
        tally: &super::lower::TallyDeclared<'a>,
        name: &ast::Name,
        filter: Option<&'a ast::Clauses>,
        side: Side,
        inside: Inside<'_, Self, T>,
    ) -> Option<(List, T)> {
        let key = name.text.to_string();
        let span = name.span;
        let extra = std::cell::Cell::new(None);
        let (mut list, result) = self.list_of(
            tally.list,
            tally.filter,
            side,
            None,
            Box::new(|lower: &mut Self| {
                let frame = lower.frames.last().cloned();
                if let Some(frame) = frame {
                    let mut tests = Vec::new();
                    if let Some(filter) = filter {
                        tests.push(lower.clauses(filter, side));
                    }
                    if let Some(lost) = lower.lost_credit(&key, frame.thing, span) {
                        let object = lower.object(&frame);
                        let is_lost = lower.emit(Test::IsKind(object, lost), span);
                        tests.push(lower.emit(Test::Not(is_lost), span));
                    }
                    if !tests.is_empty() {
                        extra.set(Some(lower.all(tests, span)));
                    }
                }
                inside(lower)
            }),
        )?;
        list.filter = match (list.filter, extra.get()) {
            (Some(one), Some(two)) => Some(self.all(vec![one, two], span)),
            (one, two) => one.or(two),
        };
        Some((list, result))
    }

    /// The list field a word names, by its own name or by the thing of its members, here or on an owner.
    pub(super) fn find_list(&mut self, name: &ast::Name, of: &[ast::Name]) -> Option<(Place, ThingId)> {
        if !of.is_empty() {
            let object = self.behind_of(of)?;
            let found = self.list_on(&object, &name.text);
            if found.is_none() {
                let diagnostic = self.unknown_list(&object, name);
                self.say(diagnostic);
            }
            return found;
        }
        for at in (0..self.frames.len()).rev() {
            let mut object = self.object(&self.frames[at]);
            loop {
                if let Some(found) = self.list_on(&object, &name.text) {
                    return Some(found);
                }
                match self.owners.get(object.thing.0 as usize).copied().flatten() {
                    Some(owner) => object = self.step(&object, Step::Owner, owner),
                    None => break,
                }
            }
        }
        let object = self.frames.last().map(|f| self.object(f))?;
        let diagnostic = self.unknown_list(&object, name);
        self.say(diagnostic);
        None
    }

    fn list_on(&self, object: &Object, word: &str) -> Option<(Place, ThingId)> {
        let fields = &self.schema().thing(object.thing).fields;
        let members = |ty: &FieldType| match ty {
            FieldType::Many(t) | FieldType::ManyRef(t) | FieldType::Inverse(t, _) => Some(*t),
            _ => None,
        };
        if let Some(field) = fields.iter().find(|f| f.name == word)
            && let Some(thing) = members(&field.ty)
        {
            return Some((self.field_of(object, &field.name)?, thing));
        }
        let mut by_thing = fields.iter().filter_map(|f| Some((f, members(&f.ty)?)));
        let (field, thing) = by_thing.find(|(_, thing)| self.names_thing(*thing, word))?;
        let again = by_thing.any(|(_, other)| other == thing);
        if again { None } else { Some((self.field_of(object, &field.name)?, thing)) }
    }

    fn unknown_list(&self, object: &Object, name: &ast::Name) -> Diagnostic {
        let mut known = Vec::new();
        let mut thing = Some(object.thing);
        let mut plain = false;
        while let Some(at) = thing {
            for field in &self.schema().thing(at).fields {
                match field.ty {
                    FieldType::Many(_) | FieldType::ManyRef(_) | FieldType::Inverse(..) => {
                        known.push(field.name.as_str())
                    }
                    _ => plain |= field.name == name.text,
                }
            }
            thing = self.owners.get(at.0 as usize).copied().flatten();
        }
        if plain {
            return Diagnostic::error(Code::ListMismatch, format!("`{}` is a single value", name.text))
                .at(name.span, "a list is expected here");
        }
        let near = nearest(&name.text, known.iter().copied());
        let diagnostic = Diagnostic::error(Code::UnknownName, format!("there is no list `{}` here", name.text))
            .at(name.span, "not a list of the thing at hand or of an owner");
        match near {
            Some(near) => diagnostic.help(format!("did you mean `{near}`?")),
            None if known.is_empty() => diagnostic.help("declare one with `name: many thing`"),
            None => diagnostic.help(format!("lists here: {}", known.join(", "))),
        }
    }
}
