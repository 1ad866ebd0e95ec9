//! Facts stated line by line: a line to items of a file of facts, and items merged into what was stated before.

use super::naming::{At, Names, Step};
use crate::base::source::{SourceId, Span};
use crate::diag::{Code, Diagnostic, Diagnostics, nearest};
use crate::ir::schema::{FieldType, PROJECT, Schema};
use crate::syntax::ast::{Block, Entry, EntryValue, FactItem, FactsFile, Name};
use crate::syntax::{parse_entries, parse_facts};

/// A statement of facts, read.
pub(super) struct Stated {
    pub(super) items: Vec<FactItem>,
    /// Lists that the statement opens, since something was put in that was not there; and how to close them.
    pub(super) opens: Vec<(String, String)>,
}

/// Whether a line looks like a statement of facts. It is one if it says what something is, or opens a block.
pub(super) fn looks_like_facts(schema: &Schema, line: &str) -> bool {
    let first = first_word(line);
    first == PROJECT && line.len() > first.len()
        || line.starts_with("and maybe more")
        || schema.thing_named(first).is_some() && line.len() > first.len()
        || ends_name(line).is_some()
}

/// The place of the colon or brace that ends the name at the beginning of a line.
fn ends_name(line: &str) -> Option<usize> {
    let at = line.find([':', '{', '"', '(', '#'])?;
    let head = line.get(..at)?.trim_end();
    let plain = !head.is_empty() && head.split_whitespace().count() <= 2;
    (plain && matches!(line.as_bytes().get(at), Some(b':' | b'{'))).then_some(at)
}

fn first_word(line: &str) -> &str {
    line.split(|c: char| c.is_whitespace() || c == ':' || c == '{' || c == '.').next().unwrap_or("")
}

/// Reads a statement of facts.
pub(super) fn read(names: Names, source: SourceId, line: &str) -> Result<Stated, Diagnostics> {
    let first = first_word(line);
    let behind = line.get(first.len()..).unwrap_or("");
    let kind = names.schema.thing_named(first).filter(|_| first != PROJECT);
    let spaced = behind.starts_with(' ');
    let name_at = first.len() + (behind.len() - behind.trim_start().len());
    let end = ends_name(line).unwrap_or(line.len());
    // `feeder F1 { }` where there is no such thing.
    let head = line.get(..end).unwrap_or("");
    if kind.is_none() && first != PROJECT && head.split_whitespace().count() == 2 && !line.starts_with("and maybe more")
    {
        let unknown = Diagnostic::error(Code::FactUnknownThing, format!("there is no thing `{first}`"))
            .at(Span::new(source, 0, first.len()), "the rulebook does not declare it");
        if let Some(field) = head.split_whitespace().nth(1)
            && names.stated().any(|(_, name)| name == first)
        {
            return Err(unknown.help(format!("write `{first}.{field}: …`")).into());
        }
        let known = names.schema.things.iter().flat_map(|t| std::iter::once(&t.name).chain(&t.alias));
        return Err(match nearest(first, known.map(String::as_str)) {
            Some(near) => unknown.help(format!("did you mean `{near}`?")),
            None => unknown.help("`list things` tells what there is"),
        }
        .into());
    }
    let dotted = match (kind, spaced) {
        (Some(_), true) => {
            line.get(name_at..end).is_some_and(|n| n.contains('.')) && line.as_bytes().get(end) == Some(&b':')
        }
        (Some(_), false) => false,
        (None, _) if first == PROJECT => behind.starts_with('.'),
        (None, _) => !line.starts_with("and maybe more"),
    };
    if !dotted {
        let (parsed, diagnostics) = parse_facts(source, line);
        if diagnostics.has_errors() {
            return Err(diagnostics);
        }
        return Ok(Stated { items: parsed.tree.items, opens: Vec::new() });
    }
    // The word for the kind is blanked, so that places stay true.
    let text = match kind {
        Some(_) => format!("{}{}", " ".repeat(name_at), line.get(name_at..).unwrap_or("")),
        None => line.to_string(),
    };
    let (entries, diagnostics) = parse_entries(source, &text);
    if diagnostics.has_errors() {
        return Err(diagnostics);
    }
    let mut entries = entries.into_iter();
    let Some(lead) = entries.next() else { return Ok(Stated { items: Vec::new(), opens: Vec::new() }) };
    placed(names, kind, lead, entries.collect())
}

/// Entries under the thing that the first one's dotted name leads to.
fn placed(
    names: Names,
    kind: Option<crate::ir::schema::ThingId>,
    lead: Entry,
    others: Vec<Entry>,
) -> Result<Stated, Diagnostics> {
    let span = lead.name.span;
    let whole = lead.span;
    let dotted = lead.name.text.to_string();
    let mut opens = Vec::new();
    let new = |text: &str| Name { text: text.into(), span };
    // The path from the top: kind and name, then lists and members.
    let (mut path, mut at, mut rest): (Vec<(String, String)>, At, Option<&str>) = match names.head(kind, &dotted, span)
    {
        Ok((id, rest)) => (names.path(id).unwrap_or_default(), At::Stated(id), rest),
        Err(diagnostic) => {
            let Some(kind) = kind else { return Err(diagnostic.into()) };
            let Some((name, rest)) = dotted.split_once('.') else { return Err(diagnostic.into()) };
            let thing = names.schema.thing(kind);
            if !names.schema.top_things().contains(&kind) {
                let owned = Diagnostic::error(Code::NotNamed, format!("nothing here is called `{name}`"))
                    .at(span, format!("{} stands inside another thing", thing.name))
                    .help(format!("name its owner first, as in `OWNER.LIST.{name}.FIELD: …`"));
                return Err(owned.into());
            }
            // The first of its kind leaves room for others; a list that was closed stays so.
            if names.facts.stated.get(usize::from(kind.0)).is_none_or(Vec::is_empty) {
                opens.push((thing.name.clone(), format!("no more {}", thing.name)));
            }
            (vec![(thing.name.clone(), name.to_string())], At::New(kind), Some(rest))
        }
    };
    let mut field = None;
    while let Some(more) = rest {
        match names.step(at, more, span)? {
            Step::Into((list_id, member), to, after) => {
                let list = names.schema.field(names.thing(at), list_id).name.clone();
                if matches!(to, At::New(_)) && names.is_unknown(at, list_id) {
                    let owner = path.last().map_or("", |(_, name)| name.as_str());
                    opens.push((list.clone(), format!("no more {list} of {owner}")));
                }
                path.push((list, member.to_string()));
                at = to;
                rest = after;
            }
            Step::Through(id, after) => {
                path = names.path(id).unwrap_or_default();
                at = At::Stated(id);
                rest = after;
            }
            Step::Field(word) => {
                field = Some(word.to_string());
                rest = None;
            }
        }
    }
    let mut block = Block { entries: Vec::new(), more: None, span: whole };
    match (field, lead.value) {
        (Some(field), value) => block.entries.push(Entry { name: new(&field), value, span: whole }),
        (None, EntryValue::Block(inner)) => block = inner,
        (None, EntryValue::Value(..)) => {
            let thing = &names.schema.thing(names.thing(at)).name;
            let diagnostic = Diagnostic::error(Code::NotNamed, format!("`{dotted}` is {thing}, not a field"))
                .at(span, "what of it?")
                .help(format!("name a field, as in `{dotted}.FIELD: …`; `list {thing}` tells them"));
            return Err(diagnostic.into());
        }
    }
    block.entries.extend(others);
    // From the inside out.
    let mut links = path.into_iter();
    let Some((thing, name)) = links.next() else { return Ok(Stated { items: Vec::new(), opens }) };
    let inner: Vec<(String, String)> = links.collect();
    for (list, member) in inner.into_iter().rev() {
        let more = opens.iter().any(|(opened, _)| *opened == list).then_some(whole);
        let named = Entry { name: new(&member), value: EntryValue::Block(block), span: whole };
        let held = Block { entries: vec![named], more, span: whole };
        let entry = Entry { name: new(&list), value: EntryValue::Block(held), span: whole };
        block = Block { entries: vec![entry], more: None, span: whole };
    }
    let mut items = Vec::new();
    if thing == PROJECT {
        items.push(FactItem::Project { title: None, block, span: whole });
    } else {
        if opens.iter().any(|(opened, _)| *opened == thing) {
            items.push(FactItem::MaybeMore { thing: new(&thing), span: whole });
        }
        items.push(FactItem::Instance { thing: new(&thing), name: new(&name), block, span: whole });
    }
    Ok(Stated { items, opens })
}

/// Puts items into a file of facts: what is stated again replaces what was stated before.
pub(super) fn merge(schema: &Schema, file: &mut FactsFile, items: Vec<FactItem>) {
    let same = |a: &Name, b: &Name| {
        a.text == b.text || schema.thing_named(&a.text).is_some_and(|t| schema.thing_named(&b.text) == Some(t))
    };
    for item in items {
        match item {
            FactItem::Project { title, block, span } => {
                let found = file.items.iter_mut().find_map(|known| match known {
                    FactItem::Project { title, block, .. } => Some((title, block)),
                    _ => None,
                });
                match found {
                    Some((known_title, known)) => {
                        if title.is_some() {
                            *known_title = title;
                        }
                        merge_block(known, block);
                    }
                    None => file.items.insert(0, FactItem::Project { title, block, span }),
                }
            }
            FactItem::Instance { thing, name, block, span } => {
                file.items.retain(|known| !matches!(known, FactItem::Absent { thing: t, .. } if same(t, &thing)));
                let found = file.items.iter_mut().find_map(|known| match known {
                    FactItem::Instance { thing: t, name: n, block, .. } if n.text == name.text && same(t, &thing) => {
                        Some(block)
                    }
                    _ => None,
                });
                match found {
                    Some(known) => merge_block(known, block),
                    None => file.items.push(FactItem::Instance { thing, name, block, span }),
                }
            }
            FactItem::Absent { thing, span } => {
                file.items.retain(|known| {
                    !matches!(known, FactItem::Absent { thing: t, .. } | FactItem::MaybeMore { thing: t, .. } if same(t, &thing))
                });
                file.items.push(FactItem::Absent { thing, span });
            }
            FactItem::MaybeMore { thing, span } => {
                file.items.retain(|known| {
                    !matches!(known, FactItem::Absent { thing: t, .. } | FactItem::MaybeMore { thing: t, .. } if same(t, &thing))
                });
                file.items.push(FactItem::MaybeMore { thing, span });
            }
            FactItem::Before { state, span } => {
                file.items.retain(|known| !matches!(known, FactItem::Before { .. }));
                file.items.push(FactItem::Before { state, span });
            }
        }
    }
}

fn merge_block(known: &mut Block, new: Block) {
    if new.more.is_some() {
        known.more = new.more;
    }
    for entry in new.entries {
        // Twice in one statement stays twice, so that the reader of facts may complain.
        match known.entries.iter().position(|e| e.name.text == entry.name.text && e.span.source != entry.span.source) {
            Some(at) => {
                let Some(old) = known.entries.get_mut(at) else { continue };
                match (&mut old.value, entry.value) {
                    (EntryValue::Block(old), EntryValue::Block(new)) => merge_block(old, new),
                    (old, new) => *old = new,
                }
                old.name = entry.name;
                old.span = entry.span;
            }
            None => known.entries.push(entry),
        }
    }
}

/// Takes a thing, a member or a field out of a file of facts; whether there was one.
pub(super) fn remove(
    schema: &Schema,
    file: &mut FactsFile,
    path: &[(String, String)],
    field: Option<&str>,
) -> Option<()> {
    let ((thing, name), inner) = path.split_first()?;
    let wanted = schema.thing_named(thing);
    let at = file.items.iter().position(|item| match item {
        FactItem::Project { .. } => thing == PROJECT,
        FactItem::Instance { thing: t, name: n, .. } => {
            n.text == name.as_str() && schema.thing_named(&t.text) == wanted
        }
        FactItem::Absent { .. } | FactItem::MaybeMore { .. } | FactItem::Before { .. } => false,
    })?;
    if inner.is_empty() && field.is_none() {
        file.items.remove(at);
        return Some(());
    }
    let mut block = match file.items.get_mut(at)? {
        FactItem::Project { block, .. } | FactItem::Instance { block, .. } => block,
        FactItem::Absent { .. } | FactItem::MaybeMore { .. } | FactItem::Before { .. } => return None,
    };
    let (last, above) = match (field, inner.split_last()) {
        (Some(field), _) => ((None, field), inner),
        (None, Some(((list, member), above))) => ((Some(list.as_str()), member.as_str()), above),
        (None, None) => return None,
    };
    for (list, member) in above {
        block = within(within(block, list)?, member)?;
    }
    if let Some(list) = last.0 {
        block = within(block, list)?;
    }
    let before = block.entries.len();
    block.entries.retain(|entry| entry.name.text != last.1);
    let gone = block.entries.len() < before;
    // A list without its last member would say that there is none.
    if gone && last.0.is_some() && block.entries.is_empty() {
        let (list, _) = inner.last()?;
        return remove_list(file, path, list);
    }
    gone.then_some(())
}

/// Takes out the list that held the last thing of a path.
fn remove_list(file: &mut FactsFile, path: &[(String, String)], list: &str) -> Option<()> {
    let ((thing, name), inner) = path.split_first()?;
    let (_, above) = inner.split_last()?;
    let mut block = file.items.iter_mut().find_map(|item| match item {
        FactItem::Project { block, .. } if thing == PROJECT => Some(block),
        FactItem::Instance { name: n, block, .. } if n.text == name.as_str() && block_holds(block, list, above) => {
            Some(block)
        }
        _ => None,
    })?;
    for (list, member) in above {
        block = within(within(block, list)?, member)?;
    }
    block.entries.retain(|entry| entry.name.text != list);
    Some(())
}

fn block_holds(block: &Block, list: &str, above: &[(String, String)]) -> bool {
    let first = above.first().map_or(list, |(list, _)| list);
    block.entries.iter().any(|entry| entry.name.text == first)
}

/// Closes the list of a thing: it is the whole story. Whether it was open.
pub(super) fn close(schema: &Schema, file: &mut FactsFile, path: &[(String, String)], list: &str) -> Option<()> {
    let ((thing, name), inner) = path.split_first()?;
    let wanted = schema.thing_named(thing);
    let mut block = file.items.iter_mut().find_map(|item| match item {
        FactItem::Instance { thing: t, name: n, block, .. }
            if n.text == name.as_str() && schema.thing_named(&t.text) == wanted =>
        {
            Some(block)
        }
        _ => None,
    })?;
    for (list, member) in inner {
        block = within(within(block, list)?, member)?;
    }
    within(block, list)?.more.take().map(|_| ())
}

/// Closes the top level for one kind of thing. Whether it was open.
pub(super) fn close_top(schema: &Schema, file: &mut FactsFile, thing: &str) -> Option<()> {
    let wanted = schema.thing_named(thing)?;
    let before = file.items.len();
    file.items.retain(
        |item| !matches!(item, FactItem::MaybeMore { thing: t, .. } if schema.thing_named(&t.text) == Some(wanted)),
    );
    (file.items.len() < before).then_some(())
}

fn within<'b>(block: &'b mut Block, name: &str) -> Option<&'b mut Block> {
    block.entries.iter_mut().find_map(|entry| match &mut entry.value {
        EntryValue::Block(inner) if entry.name.text == name => Some(inner),
        _ => None,
    })
}

/// The fields of a thing that are lists of members, by name.
pub(super) fn lists(schema: &Schema, thing: crate::ir::schema::ThingId) -> Vec<&str> {
    let fields = schema.thing(thing).fields.iter();
    fields.filter(|f| matches!(f.ty, FieldType::Many(_))).map(|f| f.name.as_str()).collect()
}

/// The place of a whole line.
pub(super) fn whole(source: SourceId, line: &str) -> Span {
    Span::new(source, 0, line.len())
}
