//! What could stand where a line breaks off, and a hint of what is expected there.

use super::governing::WHAT_GOVERNS;
use super::listing::TOPICS;
use super::naming::{At, Names, Step};
use super::words::{self, WORDS};
use super::{CHANGES, DOCUMENTS, Trial};
use crate::base::source::Span;
use crate::base::unit;
use crate::facts;
use crate::ir::schema::{Field, FieldType, PROJECT, Schema, ThingId};
use crate::syntax::ast::Item;

/// One way to go on.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
pub struct Candidate {
    /// What would stand there.
    pub text: String,
    /// What it is, in a few words, or empty.
    pub about: String,
}

/// Ways to go on.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Completion {
    /// One of these in place of what stands from that byte on; none may fit.
    Words(usize, Vec<Candidate>),
    /// The name of a file, which the front knows, from that byte on.
    File(usize),
}

/// The most candidates offered.
const MOST: usize = 400;

impl Trial {
    /// Ways to go on behind a text, which may be several lines.
    pub fn complete(&self, text: &str) -> Completion {
        let word_at = text
            .char_indices()
            .rev()
            .find(|(_, c)| c.is_whitespace() || "{}(),:".contains(*c))
            .map_or(0, |(at, c)| at + c.len_utf8());
        // The labels of a section belong to its number.
        let section_at = text.rfind(|c: char| c.is_whitespace()).map_or(0, |at| at + 1);
        let line = text.rsplit('\n').next().unwrap_or("");
        let before = text.get(..word_at).unwrap_or("");
        let word = text.get(word_at..).unwrap_or("");
        let mut found = Vec::new();
        if before.trim().is_empty() {
            return self.dotted_or(word, word_at, |found| self.leads(found));
        }
        if let Some((told, rest)) = words::find(text.trim_start())
            && !text.contains('{')
        {
            return self.argument(told.word, rest, text, word_at, section_at);
        }
        let first = text.split_whitespace().next().unwrap_or("");
        let in_facts = !CHANGES.contains(&first) && !DOCUMENTS.contains(&first);
        if in_facts {
            if let Some(completion) = self.fact(text, before, word, word_at) {
                return completion;
            }
        } else {
            let section = line.get(..line.len() - (text.len() - section_at)).unwrap_or("");
            let addressed = section.trim_end();
            if ADDRESSED.iter().any(|lead| addressed.trim_start() == *lead)
                || addressed.ends_with(" as") && first == "renumber"
            {
                self.addresses(&mut found);
                return picked(text, section_at, found);
            }
            if addressed.trim_start() == "in table" {
                self.tables(&mut found);
                return picked(text, section_at, found);
            }
        }
        let things = self.spoken_of(before);
        if things.is_empty() {
            if after_number(before) {
                units(&mut found);
            }
            // `governs` and the like: the name of a thing comes next.
            if THINGS_FOLLOW.iter().any(|lead| before.trim_end().ends_with(lead)) {
                found.extend(self.schema().things.iter().map(|thing| said(&thing.name, &thing.about)));
            } else {
                self.conditions(&mut found);
            }
        } else {
            self.conditions_on(&things, before, &mut found);
        }
        picked(text, word_at, found)
    }

    /// A hint for what is expected behind a text, or nothing.
    pub fn hint(&self, text: &str) -> Option<String> {
        if text.contains('\n') {
            return None;
        }
        if let Some((told, "")) = words::find(text.trim_start()) {
            let gap = if text.ends_with(' ') { "" } else { " " };
            return (!told.shape.is_empty()).then(|| format!("{gap}{}", told.shape));
        }
        // Behind the colon of a dotted fact: what the field holds.
        let (name, value) = text.rsplit_once(':')?;
        if !value.trim().is_empty() || name.contains('{') {
            return None;
        }
        let (thing, field) = self.field_at(name.trim())?;
        let described = self.schema().thing(thing).fields.get(field)?;
        let gap = if value.is_empty() { " " } else { "" };
        Some(format!("{gap}{}", facts::expectation(self.schema(), described)))
    }

    fn schema(&self) -> &Schema {
        &self.now.opened.program.schema
    }

    fn names(&self) -> Option<Names<'_>> {
        let found = &self.now.job()?.found;
        Some(Names { schema: self.schema(), facts: &found.installation })
    }

    fn leads(&self, found: &mut Vec<Candidate>) {
        found.extend(WORDS.iter().map(|t| said(t.name, t.about)));
        let schema = self.schema();
        for id in schema.top_things() {
            let thing = schema.thing(id);
            found.push(said(&thing.name, &thing.about));
            found.extend(thing.alias.iter().map(|alias| said(alias, &thing.name)));
        }
        found.push(said(PROJECT, "the project"));
        found.extend(CHANGES.iter().chain(DOCUMENTS).map(|w| said(w, "a rule")));
        self.named(found);
    }

    fn named(&self, found: &mut Vec<Candidate>) {
        if let Some(names) = self.names() {
            found.extend(
                names.stated().map(|(id, name)| said(name, &names.schema.thing(names.facts.object(id).thing).name)),
            );
        }
    }

    fn addresses(&self, found: &mut Vec<Candidate>) {
        let program = &self.now.opened.program;
        found.extend(program.sections.iter().map(|s| said(&s.address, &s.title)));
        found.extend(program.duties.iter().map(|d| said(&d.address, &d.title)));
        found.extend(program.duties.iter().filter(|d| !d.name.is_empty()).map(|d| said(&d.name, &d.address)));
    }

    fn tables(&self, found: &mut Vec<Candidate>) {
        found.extend(self.now.opened.program.tables.iter().map(|t| said(&t.address, &t.title)));
        found.extend(self.now.opened.program.series.iter().map(|s| said(&s.address, "a series of standard values")));
    }

    fn kinds(&self, found: &mut Vec<Candidate>) {
        let program = &self.now.opened.program;
        found.extend(program.kinds.iter().map(|k| said(&k.name, &k.cite)));
        found.extend(program.formulas.iter().map(|f| said(&f.name, &f.cite)));
        self.limits(found);
    }

    pub(super) fn limits(&self, found: &mut Vec<Candidate>) {
        for item in &self.now.opened.composed.items {
            if let Item::Limit(limit) = item {
                found.push(said(&limit.name.text, "a limit"));
            }
        }
    }

    /// Words of conditions: fields, kinds, choices, names.
    fn conditions(&self, found: &mut Vec<Candidate>) {
        let schema = self.schema();
        for thing in &schema.things {
            for field in &thing.fields {
                let name = field.keyed.as_ref().map_or(&field.name, |k| &k.name);
                found.push(said(name, &field.about));
            }
            found.push(said(&thing.name, &thing.about));
            found.extend(thing.alias.iter().map(|alias| said(alias, &thing.name)));
        }
        for domain in &schema.domains {
            found.extend(domain.values.iter().filter(|v| !v.contains(' ')).map(|v| said(v, &domain.name)));
            found.extend(domain.groups.iter().map(|(group, _)| said(group, &domain.name)));
        }
        self.kinds(found);
        self.named(found);
    }

    fn argument(&self, word: words::Word, rest: &str, text: &str, word_at: usize, section_at: usize) -> Completion {
        use words::Word;
        let mut found = Vec::new();
        let nth = rest.split_whitespace().count() + usize::from(rest.is_empty() || text.ends_with(' '));
        match word {
            Word::Help => {
                found.extend(WORDS.iter().map(|t| said(t.name, t.about)));
                found.extend([said("facts", "how facts are stated"), said("rules", "how rules are tried")]);
            }
            Word::Why | Word::Standing if nth <= 1 || rest == "not" || rest.starts_with("not ") && nth <= 2 => {
                self.addresses(&mut found);
                if word == Word::Why {
                    found.push(said("not", "leave out what is met"));
                } else {
                    self.named(&mut found);
                }
            }
            Word::Why | Word::Standing => {
                found.push(said("for", "one thing only"));
                self.named(&mut found);
            }
            Word::Show => {
                self.addresses(&mut found);
                self.tables(&mut found);
                self.kinds(&mut found);
                self.named(&mut found);
                found.push(said("table", "a table"));
            }
            Word::List => {
                found.extend(TOPICS.iter().map(|t| said(t, "")));
                let schema = self.schema();
                found.extend(schema.things.iter().map(|t| said(&t.name, &t.about)));
                found.extend(schema.domains.iter().map(|d| said(&d.name, &d.about)));
                if rest.starts_with("sections") {
                    self.addresses(&mut found);
                }
            }
            Word::Under => {
                let editions = self.session.editions_over(&self.now.over());
                if let Some(rest) = rest.strip_prefix(WHAT_GOVERNS) {
                    self.whereabouts(rest, &mut found);
                } else if "what governs".starts_with(rest) && rest.contains(' ') {
                    found.push(said("governs", "the book that governs the job at hand"));
                } else if nth <= 1 {
                    found.push(said("what", "governs: the book that governs the job at hand"));
                    found.extend(editions.iter().map(|b| said(&b.family, &b.title)));
                    found.extend(editions.iter().map(|b| said(&b.year, &b.title)));
                } else if rest.contains(" with") {
                    found.extend(self.amendments().into_iter().map(|(name, about)| said(&name, &about)));
                } else {
                    found.extend(editions.iter().map(|b| said(&b.year, &b.title)));
                    found.push(said("with", "amendments on top"));
                }
            }
            Word::Read => {
                for reading in &self.now.opened.program.readings {
                    found.push(said(&reading.name, &reading.question));
                    if rest.starts_with(reading.name.as_str()) {
                        found.extend(reading.options.iter().map(|(name, about)| said(name, about)));
                    }
                }
                found.extend([said("as", ""), said("both", "run all readings"), said("ways", "")]);
            }
            Word::Job => {
                found.extend(self.now.jobs.iter().map(|j| said(&j.name, "")));
                found.push(said("new", "start one"));
            }
            Word::Load => return Completion::File(text.len() - rest.len()),
            Word::Save => {
                if let Some(at) = rest.find(" to ") {
                    return Completion::File(text.len() - rest.len() + at + 4);
                }
                found.extend([
                    said("facts", "the job at hand"),
                    said("example", "with the verdicts it has"),
                    said("amendment", "the changes on trial"),
                    said("to", "a file"),
                ]);
            }
            Word::Remove => {
                return self.dotted_or(text.get(word_at..).unwrap_or(""), word_at, |found| self.named(found));
            }
            Word::NoMore => {
                let schema = self.schema();
                found.extend(schema.things.iter().map(|t| said(&t.name, &t.about)));
                let lists = schema.things.iter().flat_map(|t| &t.fields).filter(|f| matches!(f.ty, FieldType::Many(_)));
                found.extend(lists.map(|f| said(&f.name, &f.about)));
                self.named(&mut found);
            }
            Word::Figure => self.conditions(&mut found),
            Word::Work => {
                if rest.contains(" for") {
                    self.named(&mut found);
                } else {
                    let program = &self.now.opened.program;
                    found.extend(
                        program
                            .formulas
                            .iter()
                            .map(|f| said(&f.name, if f.title.is_empty() { &f.cite } else { &f.title })),
                    );
                    self.addresses(&mut found);
                    found.push(said("for", "one thing only"));
                }
            }
            Word::Govern => self.whereabouts(rest, &mut found),
            Word::Inspect => found.push(said("full", "with all reasons")),
            Word::Ask | Word::Unfold | Word::Said | Word::Back | Word::End => {}
        }
        let sectioned = matches!(word, Word::Why | Word::Standing | Word::Show | Word::List);
        picked(text, if sectioned { section_at } else { word_at }, found)
    }

    /// Behind `govern`: places, and clocks.
    fn whereabouts(&self, rest: &str, found: &mut Vec<Candidate>) {
        let typed = rest.split_whitespace().last().unwrap_or("");
        let before = rest.split_whitespace().rev().nth(1).unwrap_or("");
        if typed == "in" || before == "in" {
            let (places, _) = self.session.places_over(&self.now.over());
            found.extend(places.names().into_iter().map(|(name, title)| said(name, title)));
        }
        if typed == "by" || before == "by" {
            let schema = self.schema();
            let dates = schema.thing_named(PROJECT).map(|id| &schema.thing(id).fields);
            let dates = dates.into_iter().flatten().filter(|field| matches!(field.ty, FieldType::Date));
            found.extend(dates.map(|field| said(&field.name, &field.about)));
        }
        found.extend([said("in", "a place"), said("on", "a date"), said("by", "which date it is")]);
    }

    /// What lies within the thing a dotted word leads to; without a dot, other words.
    fn dotted_or(&self, word: &str, at: usize, others: impl FnOnce(&mut Vec<Candidate>)) -> Completion {
        let mut found = Vec::new();
        if let Some((owner, last)) = word.rsplit_once('.')
            && let Some(to) = self.reached(None, owner)
        {
            self.fields_of(to, &mut found);
            let from = at + word.len() - last.len();
            let text = format!("{}{last}", " ".repeat(from));
            return picked(&text, from, found);
        }
        others(&mut found);
        let text = format!("{}{word}", " ".repeat(at));
        picked(&text, at, found)
    }

    fn fields_of(&self, to: Reached, found: &mut Vec<Candidate>) {
        let schema = self.schema();
        let at = match to {
            Reached::Thing(at) => at,
            Reached::List(at, field) => {
                let Some(names) = self.names() else { return };
                if let At::Stated(id) = at {
                    let Some(FieldType::Many(member)) =
                        schema.thing(names.thing(at)).fields.get(field).map(|f| f.ty.clone())
                    else {
                        return;
                    };
                    let members = names.stated().filter(|(m, _)| {
                        names.facts.object(*m).owner == Some(id) && names.facts.object(*m).thing == member
                    });
                    found.extend(members.map(|(_, name)| said(name, &schema.thing(member).name)));
                }
                return;
            }
        };
        let Some(names) = self.names() else { return };
        for name in names.within(at) {
            let field = schema.thing(names.thing(at)).fields.iter().find(|f| f.name == name);
            found.push(said(&name, field.map_or("", |f| f.about.as_str())));
        }
    }

    /// Where a dotted name leads.
    fn reached(&self, kind: Option<ThingId>, name: &str) -> Option<Reached> {
        let names = self.names()?;
        let span = Span::default();
        let (id, mut rest) = names.head(kind, name, span).ok()?;
        let mut at = At::Stated(id);
        while let Some(more) = rest {
            match names.step(at, more, span).ok()? {
                Step::Into(_, to, after) => {
                    at = to;
                    rest = after;
                }
                Step::Through(to, after) => {
                    at = At::Stated(to);
                    rest = after;
                }
                Step::Field(word) => {
                    let thing = names.thing(at);
                    let field = names.schema.field_named(thing, word)?;
                    return match names.schema.field(thing, field).ty {
                        FieldType::Many(_) => Some(Reached::List(at, usize::from(field.0))),
                        _ => None,
                    };
                }
            }
        }
        Some(Reached::Thing(at))
    }

    /// The thing and the field that a dotted name ends in.
    fn field_at(&self, name: &str) -> Option<(ThingId, usize)> {
        let names = self.names()?;
        let (kind, name) = match name.split_once(' ') {
            Some((kind, rest)) => (names.schema.thing_named(kind), rest.trim()),
            None => (None, name),
        };
        let (owner, field) = name.rsplit_once('.')?;
        let thing = match self.reached(kind, owner) {
            Some(Reached::Thing(at)) => names.thing(at),
            Some(Reached::List(..)) => return None,
            None => kind?,
        };
        field_of(names.schema, thing, field).map(|at| (thing, at))
    }

    /// Within a statement of facts.
    fn fact(&self, text: &str, before: &str, word: &str, word_at: usize) -> Option<Completion> {
        let schema = self.schema();
        let mut found = Vec::new();
        // In a block: the heads of the blocks that are open tell which thing is described.
        if let Some(thing) = self.open_block(before) {
            let line = before.rsplit(['\n', '{', '}']).next().unwrap_or("");
            let entry = last_entry(line);
            return Some(match entry.split_once(':') {
                Some((field, value)) => {
                    let field = field_of(schema, thing, field.trim())?;
                    self.values(&schema.thing(thing).fields[field], value, &mut found);
                    picked(text, word_at, found)
                }
                None => {
                    for field in &schema.thing(thing).fields {
                        let name = field.keyed.as_ref().map_or(&field.name, |k| &k.name);
                        if !matches!(field.ty, FieldType::Inverse(..)) {
                            found.push(said(name, &field.about));
                        }
                    }
                    picked(text, word_at, found)
                }
            });
        }
        if text.contains('{') {
            return None;
        }
        match before.split_once(':') {
            Some((name, value)) => {
                let (thing, mut field) = self.field_at(name.trim())?;
                // Several facts of one thing on a line.
                let entry = last_entry(value);
                let mut value = value;
                if let Some((other, after)) = entry.split_once(':') {
                    field = field_of(schema, thing, other.trim())?;
                    value = after;
                } else if entry.len() < value.len() {
                    for field in &schema.thing(thing).fields {
                        found.push(said(&field.name, &field.about));
                    }
                }
                self.values(&schema.thing(thing).fields[field], value, &mut found);
                Some(picked(text, word_at, found))
            }
            None => {
                // `circuit EX4-1.` and `circuit `
                let first = before.split_whitespace().next().unwrap_or("");
                let kind = schema.thing_named(first)?;
                if word.contains('.') {
                    return Some(self.dotted_or(word, word_at, |_| {}));
                }
                let names = self.names()?;
                let of_kind = names.stated().filter(|(id, _)| names.facts.object(*id).thing == kind);
                found.extend(of_kind.map(|(_, name)| said(name, &schema.thing(kind).name)));
                Some(picked(text, word_at, found))
            }
        }
    }

    /// The thing whose block is open at the end of a text.
    fn open_block(&self, before: &str) -> Option<ThingId> {
        let schema = self.schema();
        let mut open: Vec<&str> = Vec::new();
        let mut from = 0;
        let mut quoted = false;
        for (at, c) in before.char_indices() {
            match c {
                '"' => quoted = !quoted,
                '{' if !quoted => {
                    open.push(before.get(from..at).unwrap_or("").trim());
                    from = at + 1;
                }
                '}' if !quoted => {
                    open.pop();
                    from = at + 1;
                }
                '\n' | ',' if !quoted => {
                    from = at + 1;
                    if c == '\n' {
                        quoted = false;
                    }
                }
                _ => {}
            }
        }
        let mut heads = open.into_iter();
        let top = heads.next()?;
        let first = top.split_whitespace().next()?;
        let mut thing = match schema.thing_named(first) {
            Some(thing) => thing,
            None => match self.reached(None, first)? {
                Reached::Thing(at) => self.names()?.thing(at),
                Reached::List(at, field) => {
                    // The block of a list: its members come next.
                    let FieldType::Many(member) = schema.thing(self.names()?.thing(at)).fields.get(field)?.ty else {
                        return None;
                    };
                    heads.next()?;
                    member
                }
            },
        };
        while let Some(list) = heads.next() {
            let field = schema.field_named(thing, list)?;
            match schema.field(thing, field).ty {
                FieldType::Many(member) => {
                    heads.next()?;
                    thing = member;
                }
                FieldType::Ref(to) => thing = to,
                _ => return None,
            }
        }
        Some(thing)
    }

    /// Values of a field.
    fn values(&self, field: &Field, typed: &str, found: &mut Vec<Candidate>) {
        let schema = self.schema();
        match &field.ty {
            FieldType::YesNo => found.extend([said("yes", ""), said("no", "")]),
            FieldType::OneOf(id) => {
                let domain = schema.domain(*id);
                for (value, about) in domain.values.iter().zip(&domain.value_notes) {
                    // A step such as `12 AWG` is completed behind its number too.
                    match value.split_once(' ') {
                        Some((number, rest)) if typed.trim_end().ends_with(number) => found.push(said(rest, about)),
                        _ => found.push(said(value, about)),
                    }
                }
                found.extend(domain.groups.iter().map(|(group, _)| said(group, "a group")));
            }
            FieldType::Quantity(dimension) => {
                if after_number(typed) {
                    let of = unit::all().filter(|u| u.dimension == *dimension);
                    found.extend(of.map(|u| said(u.symbol, &dimension.name())));
                } else {
                    found.extend(["at least", "at most", "more than", "less than"].map(|w| said(w, "")));
                }
            }
            FieldType::Date => found.extend(["before", "after", "through"].map(|w| said(w, ""))),
            FieldType::Ref(thing) | FieldType::ManyRef(thing) => {
                if let Some(names) = self.names() {
                    let of_kind = names.stated().filter(|(id, _)| names.facts.object(*id).thing == *thing);
                    found.extend(of_kind.map(|(_, name)| said(name, &schema.thing(*thing).name)));
                }
            }
            FieldType::Text | FieldType::Many(_) | FieldType::Inverse(..) => {}
        }
        found.push(said("unknown", ""));
        if field.may_be_absent {
            found.push(said("none", "there is none"));
        }
    }
}

/// Where a dotted name leads: a thing, or a list of one.
enum Reached {
    Thing(At),
    List(At, usize),
}

/// Words of changes behind which a section's number stands.
const ADDRESSED: &[&str] = &[
    "in", "delete", "reserve", "replace", "renumber", "use", "waive", "release", "start", "lapse", "carry", "insert",
    "waives", "modifies",
];

/// Words behind which a thing is named.
const THINGS_FOLLOW: &[&str] = &["governs", "governs each"];

pub(super) fn said(text: &str, about: &str) -> Candidate {
    Candidate { text: text.to_string(), about: about.to_string() }
}

fn field_of(schema: &Schema, thing: ThingId, name: &str) -> Option<usize> {
    schema.thing(thing).fields.iter().position(|f| f.name == name || f.keyed.as_ref().is_some_and(|k| k.name == name))
}

/// What stands behind the last comma. `a, b` may be a list of names; it is taken for the next entry.
fn last_entry(line: &str) -> &str {
    let at = line.rfind(',').map_or(0, |at| at + 1);
    line.get(at..).unwrap_or(line)
}

/// Whether a text ends in a number and a blank.
pub(super) fn after_number(text: &str) -> bool {
    let last = text.trim_end().rsplit(|c: char| c.is_whitespace() || "{}(),:".contains(c)).next().unwrap_or("");
    let number =
        last.starts_with(|c: char| c.is_ascii_digit()) && last.chars().all(|c| c.is_ascii_digit() || "./-".contains(c));
    number && text.ends_with(' ')
}

pub(super) fn units(found: &mut Vec<Candidate>) {
    found.extend(unit::all().map(|u| said(u.symbol, &u.dimension.name())));
}

/// Those that begin as the word does, each once, in order.
fn picked(text: &str, at: usize, found: Vec<Candidate>) -> Completion {
    let typed = text.get(at..).unwrap_or("");
    let mut kept: Vec<Candidate> =
        found.into_iter().filter(|c| c.text.starts_with(typed) && !c.text.is_empty()).collect();
    kept.sort();
    kept.dedup_by(|a, b| a.text == b.text);
    kept.truncate(MOST);
    Completion::Words(at, kept)
}
