//! What words mean: terms for some parts only, terms read as others, limits, and readings that are settled.

use super::apply::Work;
use super::site;
use super::words::{Leaf, Words};
use crate::base::source::Span;
use crate::diag::{Code, Diagnostic, nearest};
use crate::format::line;
use crate::syntax::ast::*;

impl Work<'_, '_> {
    /// Adds a kind, definition or limit that is meant for some parts only: those parts read it, all others do not.
    pub(super) fn scoped(&mut self, item: &Item) -> Option<Vec<String>> {
        let (name, only) = match item {
            Item::Kind(kind) => (kind.name.clone(), kind.only.clone()),
            Item::Define(define) => (define.name.clone(), define.only.clone()),
            Item::Limit(limit) => (limit.name.clone(), limit.only.clone()),
            _ => return None,
        };
        let known = self.book.items.iter().any(|own| match own {
            Item::Kind(kind) => kind.name.text == name.text,
            _ => false,
        });
        let mut numbers = Vec::new();
        for address in &only {
            numbers.extend(self.number(address));
        }
        let inner = format!("{} for {}", name.text, numbers.join(" and "));
        for (address, number) in only.iter().zip(&numbers) {
            let mut swap = |leaf: Leaf<'_>| match leaf {
                Leaf::Word(word) if word.text == name.text => {
                    word.text = inner.as_str().into();
                    true
                }
                Leaf::Value(word) if word.text == name.text && (known || matches!(item, Item::Limit(_))) => {
                    word.text = inner.as_str().into();
                    true
                }
                _ => false,
            };
            let as_kind = (matches!(item, Item::Kind(_)) && !known).then(|| (name.text.to_string(), inner.clone()));
            let mut words = Words { leaf: &mut swap, as_kind, reworded: None, changed: 0 };
            if let Some(found) = site::find(&mut self.book.items, &address.text) {
                words.site(found);
            }
            if words.changed == 0 {
                self.not_used(&name.text, number, name.span, address.span);
            }
        }
        let mut item = item.clone();
        let word = Name { text: inner.as_str().into(), span: name.span };
        match &mut item {
            Item::Kind(kind) => {
                (kind.name, kind.only) = (word, Vec::new());
                kind.per = kind.per.clone().or_else(|| only.first().cloned());
            }
            Item::Define(define) => {
                (define.name, define.only) = (word, Vec::new());
                define.per = define.per.clone().or_else(|| only.first().cloned());
            }
            Item::Limit(limit) => (limit.name, limit.only) = (word, Vec::new()),
            _ => {}
        }
        self.book.items.push(item);
        Some(numbers)
    }

    fn not_used(&mut self, word: &str, number: &str, span: Span, place: Span) {
        self.say(
            Diagnostic::error(Code::NotUsedThere, format!("{number} does not speak of `{word}`"))
                .at(span, "has nothing to change there")
                .at(place, "looked for in this part")
                .help("name the part whose conditions use the word; `whereas why` shows them"),
        );
    }

    /// `in A: read X as Y`
    pub(super) fn read(&mut self, number: &str, target: &Address, old: &ReadTerm, new: &ReadTerm, change: &Change) {
        let mut swap = swapping(old, new);
        let mut words = Words { leaf: &mut *swap, as_kind: None, reworded: Some(&mut self.book.reworded), changed: 0 };
        if let Some(found) = site::find(&mut self.book.items, &target.text) {
            words.site(found);
        }
        let mut changed = words.changed;
        drop(swap);
        if let (ReadTerm::Number(old), ReadTerm::Number(new)) = (old, new)
            && let Some(at) = site::home(&self.book.items, number)
            && let Some(own) = self.book.items.get_mut(at..=at)
        {
            changed += numbers(own, old, new);
        }
        if let (ReadTerm::Text(old, _), ReadTerm::Text(new, _)) = (old, new)
            && let Some(site::Site::Section(section)) = site::find(&mut self.book.items, &target.text)
        {
            changed += texts(section, old, new);
        }
        if changed == 0 {
            self.not_used(&words_of(old), number, span_of(old), target.span);
            return;
        }
        self.event(number, format!("{} is read as {}", words_of(old), words_of(new)), change);
    }

    /// `read X as Y everywhere`
    pub(super) fn read_everywhere(&mut self, old: &ReadTerm, new: &ReadTerm, change: &Change) {
        let mut touched = Vec::new();
        for item in &mut self.book.items {
            let mut swap = swapping(old, new);
            let mut words =
                Words { leaf: &mut *swap, as_kind: None, reworded: Some(&mut self.book.reworded), changed: 0 };
            words.item(item);
            let mut changed = words.changed;
            drop(swap);
            if let (ReadTerm::Number(old), ReadTerm::Number(new)) = (old, new) {
                changed += numbers(std::slice::from_mut(item), old, new);
            }
            if let (Item::Section(section), ReadTerm::Text(old, _), ReadTerm::Text(new, _)) = (&mut *item, old, new) {
                changed += texts(section, old, new);
            }
            if changed > 0 {
                touched.push(match item {
                    Item::Section(section) => section.address.text.to_string(),
                    Item::Table(table) => format!("table {}", table.address.text),
                    Item::Kind(kind) => kind.name.text.to_string(),
                    Item::Define(define) => define.name.text.to_string(),
                    Item::Limit(limit) => limit.name.text.to_string(),
                    Item::Reading(reading) => reading.name.text.to_string(),
                    Item::Terms(_)
                    | Item::Edition(_)
                    | Item::Choice(_)
                    | Item::Scale(_)
                    | Item::Thing(_)
                    | Item::Changes(_) => continue,
                });
            }
        }
        if touched.is_empty() {
            let title = format!("{} never says {}", self.book.name, words_of(old));
            self.say(
                Diagnostic::error(Code::NotUsedThere, title)
                    .at(span_of(old), "nothing to read otherwise")
                    .help("spell it as the rules do"),
            );
        }
        for at in touched {
            self.event(&at, format!("{} is read as {}", words_of(old), words_of(new)), change);
        }
    }

    /// `limit reach was 6 ft, now 5 ft`
    pub(super) fn limit_was(&mut self, name: &Name, old: &Quantity, new: &Quantity, change: &Change) {
        if !self.claim(&format!("limit {}", name.text), name.span) {
            return;
        }
        let found = self.book.items.iter_mut().find_map(|item| match item {
            Item::Limit(limit) if limit.name.text == name.text => Some(limit),
            _ => None,
        });
        match found {
            Some(limit) if line::quantity(&limit.quantity) == line::quantity(old) => {
                limit.quantity = new.clone();
                let at = limit.per.as_ref().map_or_else(|| name.text.to_string(), |per| per.text.to_string());
                let what = format!("limit {} was {}, now {}", name.text, line::quantity(old), line::quantity(new));
                self.event(&at, what, change);
            }
            Some(limit) => {
                let place = (limit.quantity.span, format!("says {}", line::quantity(&limit.quantity)));
                let title = format!("the limit `{}` is another", name.text);
                self.mismatch(old.span, title, &line::quantity(old), Some(place));
            }
            None => {
                let known: Vec<String> = self
                    .book
                    .items
                    .iter()
                    .filter_map(|item| match item {
                        Item::Limit(limit) => Some(limit.name.text.to_string()),
                        _ => None,
                    })
                    .collect();
                let near = nearest(&name.text, known.iter().map(String::as_str)).map(str::to_string);
                let title = format!("there is no limit `{}` in {}", name.text, self.book.name);
                let diagnostic = Diagnostic::error(Code::NoSuchTarget, title).at(name.span, "not there");
                self.say(match near {
                    Some(near) => diagnostic.help(format!("did you mean `{near}`?")),
                    None => diagnostic.help("a number within a rule is changed with `in …: … was …, now …`"),
                });
            }
        }
    }

    /// `settle READING as OPTION`: an authority has said which reading holds.
    pub(super) fn settle(&mut self, name: &Name, option: &Name, change: &Change) {
        if !self.claim(&format!("reading {}", name.text), name.span) {
            return;
        }
        let found = self.book.items.iter_mut().find_map(|item| match item {
            Item::Reading(reading) if reading.name.text == name.text => Some(reading),
            _ => None,
        });
        let Some(reading) = found else {
            let title = format!("{} has no reading `{}`", self.book.name, name.text);
            self.say(
                Diagnostic::error(Code::NoSuchTarget, title)
                    .at(name.span, "nothing is disputed under this name")
                    .help("only a text with several readings can be settled"),
            );
            return;
        };
        if !reading.options.iter().any(|own| own.name.text == option.text) {
            let known: Vec<String> = reading.options.iter().map(|own| own.name.text.to_string()).collect();
            let place = (reading.name.span, format!("its readings are {}", known.join(", ")));
            self.mismatch(option.span, format!("`{}` has no such reading", name.text), &option.text, Some(place));
            return;
        }
        reading.options.retain(|own| own.name.text == option.text);
        let of = reading.of.text.to_string();
        let at = site::number_of(&self.book.items, &of).unwrap_or_else(|| name.text.to_string());
        self.event(&at, format!("{} is settled as {}", name.text, option.text), change);
    }
}

/// What swaps one term for another.
fn swapping<'t>(old: &'t ReadTerm, new: &'t ReadTerm) -> Box<dyn FnMut(Leaf<'_>) -> bool + 't> {
    Box::new(move |leaf| match (leaf, old, new) {
        (Leaf::Word(word) | Leaf::Value(word), ReadTerm::Word(from), ReadTerm::Word(to)) if word.text == from.text => {
            word.text = to.text.clone();
            true
        }
        (Leaf::Quantity(quantity), ReadTerm::Quantity(from), ReadTerm::Quantity(to))
            if line::quantity(quantity) == line::quantity(from) =>
        {
            *quantity = to.clone();
            true
        }
        _ => false,
    })
}

/// Swaps a number that items refer to, and those below it; how many references changed.
fn numbers(items: &mut [Item], old: &Address, new: &Address) -> usize {
    let mut changed = 0;
    super::walk::references(items, &mut |address| {
        let rest = address.text.strip_prefix(old.text.as_str());
        if let Some(rest) = rest.filter(|rest| rest.is_empty() || rest.starts_with('(')) {
            address.text = format!("{}{rest}", new.text).as_str().into();
            changed += 1;
        }
    });
    changed
}

/// Swaps words in titles and notes of a section; how many texts changed.
fn texts(section: &mut Section, old: &str, new: &str) -> usize {
    fn in_body(body: &mut Body, old: &str, new: &str) -> usize {
        let mut changed = 0;
        for statement in &mut body.statements {
            match &mut statement.kind {
                StatementKind::Notes(text) if text.contains(old) => {
                    *text = text.replace(old, new).as_str().into();
                    changed += 1;
                }
                StatementKind::Paragraph { title, body, .. } => {
                    if let Some(title) = title.as_mut().filter(|t| t.contains(old)) {
                        *title = title.replace(old, new).as_str().into();
                        changed += 1;
                    }
                    if let Some(body) = body {
                        changed += in_body(body, old, new);
                    }
                }
                _ => {}
            }
        }
        changed
    }
    let mut changed = in_body(&mut section.body, old, new);
    if let Some(title) = section.title.as_mut().filter(|t| t.contains(old)) {
        *title = title.replace(old, new).as_str().into();
        changed += 1;
    }
    changed
}

fn words_of(term: &ReadTerm) -> String {
    match term {
        ReadTerm::Word(word) => format!("`{}`", word.text),
        ReadTerm::Quantity(quantity) => line::quantity(quantity),
        ReadTerm::Number(address) => address.text.to_string(),
        ReadTerm::Text(text, _) => format!("\"{text}\""),
    }
}

fn span_of(term: &ReadTerm) -> Span {
    match term {
        ReadTerm::Word(word) => word.span,
        ReadTerm::Quantity(quantity) => quantity.span,
        ReadTerm::Number(address) => address.span,
        ReadTerm::Text(_, span) => *span,
    }
}
