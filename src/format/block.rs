//! Sets of changes over several lines: what is written here reads back as the same tree.

use super::line;
use crate::syntax::ast::*;

/// A line of a list or body is indented by this for each level.
const STEP: &str = "    ";

/// A whole set of changes. `between` gives the comment lines to put before each change, by its place in the set.
pub fn change_set(set: &ChangeSet, between: &dyn Fn(usize) -> Vec<String>) -> String {
    let mut text = set_head(set);
    text.push_str(" {\n");
    for (at, change) in set.changes.iter().enumerate() {
        for comment in between(at) {
            text.push_str(&format!("{STEP}# {comment}\n"));
        }
        text.push_str(&format!("{STEP}{}\n", self::change(change, 1)));
    }
    text.push_str("}\n");
    text
}

/// The head of a set of changes, with its marks, before the brace.
pub fn set_head(set: &ChangeSet) -> String {
    let to = |base: Option<&EditionName>| match base {
        Some(base) => format!(" to {} {}", base.family.text, base.year.text),
        None => " to every base".to_string(),
    };
    let title = line::titled(set.title.as_deref());
    let printing = set.printing.as_ref().map_or_else(String::new, |p| format!(", in the {} printing", p.text));
    let head = match (set.kind.clone(), &set.edition, &set.base) {
        (SetKind::Edition, Some(own), Some(base)) => format!(
            "edition {} {} follows {} {}{title}",
            own.family.text, own.year.text, base.family.text, base.year.text
        ),
        (SetKind::Interim, ..) => {
            format!("interim amendment {}{title}{}{printing}", set.name.text, to(set.base.as_ref()))
        }
        (SetKind::Erratum, ..) => format!("erratum {}{title}{}{printing}", set.name.text, to(set.base.as_ref())),
        (SetKind::Amendment | SetKind::Edition, ..) => {
            format!("amendment {}{title}{}", set.name.text, to(set.base.as_ref()))
        }
    };
    match set.marks.as_slice() {
        [] => head,
        marks => format!("{head} {}", line::marks(marks)),
    }
}

/// What ends a line: four blanks and its marks, or nothing.
fn marked(marks: &[Mark]) -> String {
    if marks.is_empty() { String::new() } else { format!("{STEP}{}", line::marks(marks)) }
}

fn indent(depth: usize) -> String {
    STEP.repeat(depth)
}

fn braced(lines: &[String], depth: usize) -> String {
    let inner = indent(depth + 1);
    let body: String = lines.iter().map(|line| format!("{inner}{line}\n")).collect();
    format!("{{\n{body}{}}}", indent(depth))
}

/// One change with its marks; `depth` is how deep its first line stands.
pub fn change(change: &Change, depth: usize) -> String {
    format!("{}{}", change_kind(&change.kind, depth), marked(&change.marks))
}

fn addresses(all: &[Address]) -> String {
    all.iter().map(|a| a.text.as_str()).collect::<Vec<_>>().join(", ")
}

fn change_kind(kind: &ChangeKind, depth: usize) -> String {
    match kind {
        ChangeKind::InForce { from, until, clock } => {
            let from = from.as_ref().map_or_else(String::new, |d| format!(" {}", d.text));
            let until = until.as_ref().map_or_else(String::new, |end| {
                let word = if end.side == DateSide::Before { "before" } else { "through" };
                format!(" {word} {}", end.date.text)
            });
            format!("in force{from}{until} by {}", clock.text)
        }
        ChangeKind::In(target, edits) => {
            let target = match target {
                ChangeTarget::At(address) => address.text.to_string(),
                ChangeTarget::About(subject) => format!("every rule about {}", subject.text),
            };
            let edits: Vec<String> = edits.iter().map(|e| edit(e, depth)).collect();
            format!("in {target}: {}", edits.join("; "))
        }
        ChangeKind::InTable(address, edits) => {
            let edits: Vec<String> = edits.iter().map(table_edit).collect();
            format!("in table {}: {}", address.text, edits.join("; "))
        }
        ChangeKind::InSeries(address, edits) => {
            let edits: Vec<String> = edits
                .iter()
                .map(|edit| match edit {
                    SeriesEdit::Add(value) => format!("add {}", line::value(value)),
                    SeriesEdit::Strike(value) => format!("strike {}", line::value(value)),
                })
                .collect();
            format!("in series {}: {}", address.text, edits.join("; "))
        }
        ChangeKind::Insert { at, name, title, content, moves } => {
            let moves: Vec<String> =
                moves.iter().map(|(from, to)| format!("({}) moves to ({})", from.text, to.text)).collect();
            let moves = if moves.is_empty() { String::new() } else { format!("; {}", moves.join(", ")) };
            let head = format!("insert {}{}{}", at.text, line::named(name.as_ref()), line::titled(title.as_deref()));
            format!("{head} {}{moves}", self::content(content, depth))
        }
        ChangeKind::Delete(from, Some(through)) => format!("delete {} through {}", from.text, through.text),
        ChangeKind::Delete(from, None) => format!("delete {}", from.text),
        ChangeKind::Reserve(address) => format!("reserve {}", address.text),
        ChangeKind::Replace { at, title, content } => {
            format!("replace {}{} {}", at.text, line::titled(title.as_deref()), self::content(content, depth))
        }
        ChangeKind::Renumber(from, to) => format!("renumber {} as {}", from.text, to.text),
        ChangeKind::Use { what, at, edition, words } => {
            let (what, uncounted) = match what {
                Used::Text => (String::new(), String::new()),
                Used::Scope => ("the scope of ".to_string(), String::new()),
                Used::Exceptions(all, toward) => {
                    let names: Vec<String> = all.iter().map(exception_name).collect();
                    let toward =
                        toward.as_ref().map_or_else(String::new, |a| format!(", not counted toward {}", a.text));
                    (format!("{} of ", names.join(", ")), toward)
                }
            };
            let brought = match words {
                Definitions::Here => "",
                Definitions::Brought => ", with its definitions",
            };
            let edition = format!("{} {}", edition.family.text, edition.year.text);
            format!("use {what}{} of {edition}{uncounted}{brought}", at.text)
        }
        ChangeKind::DeleteTable(address) => format!("delete table {}", address.text),
        ChangeKind::UseTable(address, edition) => {
            format!("use table {} of {} {}", address.text, edition.family.text, edition.year.text)
        }
        ChangeKind::Exclude(ranges) => {
            let all: Vec<String> = ranges
                .iter()
                .map(|(from, through)| match through {
                    Some(through) => format!("{} through {}", from.text, through.text),
                    None => from.text.to_string(),
                })
                .collect();
            format!("exclude {}", all.join(", "))
        }
        ChangeKind::Move(from, to) => format!("move {} to {}", from.text, to.text),
        ChangeKind::Split(from, parts) => {
            let parts: Vec<String> = parts.iter().map(|part| split_part(part, depth)).collect();
            format!("split {} into {}", from.text, parts.join("; "))
        }
        ChangeKind::Merge(parts, to) => format!("merge {} as {}", addresses(parts), to.text),
        ChangeKind::Becomes(part, place) => {
            let part = match part {
                PartName::At(address) => address.text.to_string(),
                PartName::Exception(exception, of) => format!("{} of {}", exception_name(exception), of.text),
            };
            let place = match place {
                NewPlace::Item(address) => address.text.to_string(),
                NewPlace::Exception(head) => line::exception_head(head),
            };
            format!("{part} becomes {place}")
        }
        ChangeKind::ReadEverywhere(old, new) => format!("read {} as {} everywhere", read_term(old), read_term(new)),
        ChangeKind::Settle(reading, option) => format!("settle {} as {}", reading.text, option.text),
        ChangeKind::NotesFall => "notes are not adopted".to_string(),
        ChangeKind::LimitWas(name, old, new) => {
            format!("limit {} was {}, now {}", name.text, line::quantity(old), line::quantity(new))
        }
        ChangeKind::Delay { at, old, new, clock } => {
            format!("delay {} from {} to {} by {}", at.text, old.text, new.text, clock.text)
        }
        ChangeKind::Waive(all, Some(case)) => format!("waive {} when {}", addresses(all), clauses(case, depth)),
        ChangeKind::Waive(all, None) => format!("waive {}", addresses(all)),
        ChangeKind::Release(all, provided) => {
            format!("release {}, if provided: {}", addresses(all), clauses(provided, depth))
        }
        ChangeKind::Start(address, date, clock, case) => {
            let case = case.as_ref().map_or_else(String::new, |case| format!(" when {}", clauses(case, depth)));
            format!("start {} on {} by {}{case}", address.text, date.text, clock.text)
        }
        ChangeKind::Lapse(address, date, clock, case) => {
            let case = case.as_ref().map_or_else(String::new, |case| format!(" when {}", clauses(case, depth)));
            format!("lapse {} on {} by {}{case}", address.text, date.text, clock.text)
        }
        ChangeKind::Carry(all) => {
            let all: Vec<String> = all
                .iter()
                .map(|carried| match carried {
                    Carried::Part(address) => address.text.to_string(),
                    Carried::Table(address) => format!("table {}", address.text),
                    Carried::Series(address) => format!("series {}", address.text),
                })
                .collect();
            format!("carry {} unchecked", all.join(", "))
        }
        ChangeKind::Declare { thing, field } => {
            let modifiers: String = field.modifiers.iter().map(|m| format!(", {}", modifier(m))).collect();
            let about = line::titled(field.about.as_deref());
            format!("fact {} of {}: {}{modifiers}{about}", field.name.text, thing.text, field_type(&field.ty))
        }
        ChangeKind::AddAfter { name, after, section } => {
            let head = format!("add as {} after {}{}", name.text, after.text, line::titled(section.title.as_deref()));
            format!("{head}{} {}", about(&section.about), body(&section.body, depth))
        }
        ChangeKind::Added(item) => format!("add {}", self::item(item, depth)),
    }
}

fn exception_name(name: &ExceptionName) -> String {
    let number = name.number.as_ref().map_or_else(String::new, |n| format!(" {}", n.text));
    let runs: Vec<String> = name.to.iter().map(|run| line::labels(run)).collect();
    let to = if runs.is_empty() { String::new() } else { format!(" to {}", runs.join(", ")) };
    format!("Ex.{number}{to}")
}

fn split_part(part: &SplitPart, depth: usize) -> String {
    let gets = match &part.gets {
        SplitShare::Whole => String::new(),
        SplitShare::Items(labels) => {
            let all: Vec<String> = labels.iter().map(|l| format!("({})", l.text)).collect();
            format!(" taking {}", all.join(", "))
        }
        SplitShare::Where(case) => format!(" when {}", clauses(case, depth)),
    };
    format!("{}{}{gets}", part.at.text, line::titled(part.title.as_deref()))
}

fn read_term(term: &ReadTerm) -> String {
    match term {
        ReadTerm::Word(word) => word.text.to_string(),
        ReadTerm::Quantity(quantity) => line::quantity(quantity),
        ReadTerm::Number(address) => format!("section {}", address.text),
        ReadTerm::Text(text, _) => format!("\"{text}\""),
    }
}

fn force(force: StatementForce) -> &'static str {
    match force {
        StatementForce::Requires => "requires",
        StatementForce::Prohibits => "prohibits",
        StatementForce::PermitsOnly => "permits only",
        StatementForce::Notes => "notes",
    }
}

fn content(content: &Content, depth: usize) -> String {
    match content {
        Content::Body(own) => body(own, depth),
        Content::Items(own) => items(own, depth),
    }
}

fn about(subjects: &[Name]) -> String {
    let all: Vec<&str> = subjects.iter().map(|n| n.text.as_str()).collect();
    if all.is_empty() { String::new() } else { format!(" about {}", all.join(", ")) }
}

/// One edit of a part, as it stands behind `in …:`.
pub fn edit(edit: &Edit, depth: usize) -> String {
    match edit {
        Edit::Title(old, new, _) => format!("title was \"{old}\", now \"{new}\""),
        Edit::Enough(old, new, _) => format!("enough was {}, now {}", line::enough(old), line::enough(new)),
        Edit::AddException(kind, span) => {
            let statement = Statement { kind: kind.as_ref().clone(), marks: Vec::new(), span: *span };
            let text = self::statement(&statement, depth);
            format!("add {}", text.strip_prefix("unless ").unwrap_or(&text))
        }
        Edit::AddItem(item) => format!("add {}", self::list_item(item, depth)),
        Edit::AddConditions(own) => format!("add {}", clauses(own, depth)),
        Edit::Number(Some(old), new) => format!("number was Ex. {}, now Ex. {}", old.text, new.text),
        Edit::Number(None, new) => format!("number was Ex., now Ex. {}", new.text),
        Edit::StrikeException(exception) => format!("strike {}", exception_name(exception)),
        Edit::AddStatement(own) => format!("add {}", statement(own, depth)),
        Edit::Force { old, new, clauses: asked, text, .. } => {
            let asked = asked.as_ref().map_or_else(String::new, |own| format!(" {}", clauses(own, depth)));
            let text = line::titled(text.as_deref());
            format!("force was {}, now {}{text}{asked}", force(*old), force(*new))
        }
        Edit::Read(old, new) => format!("read {} as {}", read_term(old), read_term(new)),
        Edit::Also(path, values, _) => format!("{} is also {}", line::path(path), line::values(values)),
        Edit::NoLonger(path, values, _) => format!("{} is no longer {}", line::path(path), line::values(values)),
        Edit::StrikeItem(labels) => format!("strike {}", line::labels(labels)),
        Edit::StrikeCondition(own, was) => {
            let was = was.as_ref().map_or_else(String::new, |v| format!(", was {}", line::change_value(v)));
            format!("strike {}{was}", clause(own, depth))
        }
        Edit::Value(old, new, _) => format!("was {}, now {}", line::expr(old), line::expr(new)),
        Edit::AddLine(added) => format!("add line {}", line::amount_line(added)),
        Edit::WasNow(path, old, new, _) => {
            format!("{} was {}, now {}", line::path(path), line::change_value(old), line::change_value(new))
        }
    }
}

/// One edit of a table, as it stands behind `in table …:`.
pub fn table_edit(edit: &TableEdit) -> String {
    let keys = |all: &[CellKey]| all.iter().map(line::cell_key).collect::<Vec<_>>().join(", ");
    match edit {
        TableEdit::AddRow(row) => format!("add row {}{}", line::row(row), marked(&row.marks)),
        TableEdit::StrikeRow(of, _) => format!("strike row {}", keys(of)),
        TableEdit::CellWas { keys: of, old, new, .. } => {
            format!("{} was {}, now {}", keys(of), line::cell(old.as_ref()), line::cell(new.as_ref()))
        }
    }
}

fn field_type(ty: &FieldType) -> String {
    match ty {
        FieldType::Plain(name) => name.text.to_string(),
        FieldType::Many { thing, by_name: true } => format!("many {} by name", thing.text),
        FieldType::Many { thing, by_name: false } => format!("many {}", thing.text),
        FieldType::Inverse { thing, field } => format!("those {} whose {} is this", thing.text, field.text),
        FieldType::Keyed { dimension, key, through: Some(through) } => {
            format!("{} from {} through {}", dimension.text, key.text, through.text)
        }
        FieldType::Keyed { dimension, key, through: None } => format!("{} from {}", dimension.text, key.text),
    }
}

fn modifier(modifier: &Modifier) -> String {
    match modifier {
        Modifier::MayBeAbsent(_) => "may be absent".to_string(),
        Modifier::NeverNegative(_) => "never negative".to_string(),
        Modifier::AtLeast(number) => format!("at least {}", number.text),
        Modifier::Judgment(who, _) => format!("judgment{}", line::titled(who.as_deref())),
        Modifier::External(what, _) => format!("external{}", line::titled(what.as_deref())),
    }
}

fn only(parts: &[Address]) -> String {
    if parts.is_empty() { String::new() } else { format!(" for {} only", addresses(parts)) }
}

fn per(address: Option<&Address>) -> String {
    address.map_or_else(String::new, |a| format!(", per {}", a.text))
}

/// An item that may be added. Vocabulary and headers have no place in a set of changes and give nothing.
fn item(item: &Item, depth: usize) -> String {
    match item {
        Item::Section(own) => {
            let head = format!("section {}{}", own.address.text, line::named(own.name.as_ref()));
            let title = line::titled(own.title.as_deref());
            format!("{head}{title}{} {}", about(&own.about), body(&own.body, depth))
        }
        Item::Kind(own) => {
            let head =
                format!("kind {} of {}{}{}", own.name.text, own.thing.text, only(&own.only), per(own.per.as_ref()));
            let title = line::titled(own.about.as_deref());
            format!("{head}{title} {}{}", items(&own.items, depth), marked(&own.marks))
        }
        Item::Define(own) => {
            let head =
                format!("define {} of {}{}{}", own.name.text, own.thing.text, only(&own.only), per(own.per.as_ref()));
            format!("{head} = {}{}", line::expr(&own.expr), marked(&own.marks))
        }
        Item::Limit(own) => {
            let head = format!("limit {}{}{}", own.name.text, only(&own.only), per(own.per.as_ref()));
            format!("{head} = {}{}", line::quantity(&own.quantity), marked(&own.marks))
        }
        Item::Table(own) => table(own, depth),
        Item::Reading(own) => reading(own, depth),
        Item::Amount(own) => {
            let unit = own.unit.as_ref().map_or_else(String::new, |u| format!(" in {}", u.text));
            let head = format!("amount {} of {}: {}{unit}", own.name.text, own.thing.text, own.ty.text);
            let title = line::titled(own.title.as_deref());
            let lines: Vec<String> =
                own.lines.iter().map(|l| format!("{}{}", line::amount_line(l), marked(&l.marks))).collect();
            format!("{head}{}{title} {}{}", per(own.per.as_ref()), braced(&lines, depth), marked(&own.marks))
        }
        Item::Series(own) => {
            let values: Vec<String> = own.values.iter().map(line::value).collect();
            let title = line::titled(own.title.as_deref());
            let head = format!("series {}{title}: {}", own.address.text, own.ty.text);
            format!("{head} {{ {} }}{}", values.join(", "), marked(&own.marks))
        }
        Item::Choice(_)
        | Item::Scale(_)
        | Item::Thing(_)
        | Item::Terms(_)
        | Item::Edition(_)
        | Item::Jurisdiction(_)
        | Item::Beside(_)
        | Item::Changes(_) => String::new(),
    }
}

fn table_key(key: &TableKey) -> String {
    let mode = match key.mode {
        RowMode::Exact => "",
        RowMode::NextUp => " next row up",
        RowMode::NextDown => " next row down",
    };
    format!("{}: {}{mode}", key.name.text, key.ty.text)
}

fn table(table: &Table, depth: usize) -> String {
    format!("{} {}{}", table_head(table), table_body(table, depth), marked(&table.marks))
}

/// The head of a table, before its rows.
pub fn table_head(table: &Table) -> String {
    let by: Vec<String> = table.by.iter().map(table_key).collect();
    let across = table.across.as_ref().map_or_else(String::new, |key| format!(", across {}", table_key(key)));
    let closed = if table.closed { ", no other size" } else { "" };
    let closed = format!("{closed}{}", if table.gaps { ", gaps intended" } else { "" });
    let unit = table.unit.as_ref().map_or_else(String::new, |u| format!(" in {}", u.text));
    let head = format!("table {}{} by {}", table.address.text, line::titled(table.title.as_deref()), by.join(", "));
    format!("{head}{across}{closed}, gives {}{unit}", table.gives.text)
}

fn table_body(table: &Table, depth: usize) -> String {
    let mut lines = Vec::new();
    if table.across.is_some() {
        let columns: String = table.columns.iter().map(|(key, _)| format!(" | {}", line::cell_key(key))).collect();
        lines.push(columns.trim_start().to_string());
    }
    lines.extend(table.rows.iter().map(|row| format!("{}{}", line::row(row), marked(&row.marks))));
    braced(&lines, depth)
}

fn reading(reading: &Reading, depth: usize) -> String {
    let disputed = reading.disputed.as_ref().map_or_else(String::new, |how| format!(", disputed \"{how}\""));
    let head = format!("reading {} of {}", reading.name.text, reading.of.text);
    let title = line::titled(reading.about.as_deref());
    let options: Vec<String> = reading
        .options
        .iter()
        .map(|option| {
            let says = match &option.says {
                ReadingSays::Enough(runs, _) => format!("{{ {} is enough }}", line::enough(runs)),
                ReadingSays::Items(own) => items(own, depth + 1),
                ReadingSays::Value(value) => format!("= {}", line::expr(value)),
            };
            format!("{} \"{}\" {says}", option.name.text, option.about)
        })
        .collect();
    format!("{head}{title}{disputed} {}{}", braced(&options, depth), marked(&reading.marks))
}

fn body(body: &Body, depth: usize) -> String {
    let lines: Vec<String> = body
        .statements
        .iter()
        .map(|s| match s.kind {
            StatementKind::Marks => line::marks(&s.marks),
            _ => format!("{}{}", statement(s, depth + 1), marked(&s.marks)),
        })
        .collect();
    braced(&lines, depth)
}

/// A statement without its marks.
fn statement(statement: &Statement, depth: usize) -> String {
    match &statement.kind {
        StatementKind::Paragraph { body: Some(own), .. } => {
            format!("{} {}", line::statement(statement), body(own, depth))
        }
        StatementKind::When(case) => format!("when {}", clauses(case, depth)),
        StatementKind::AlsoWhen(case) => format!("also when {}", clauses(case, depth)),
        StatementKind::Different(halves) => {
            let lines: Vec<String> = halves.iter().map(|h| format!("{}{}", line::half(h), marked(&h.marks))).collect();
            format!("requires different {}", braced(&lines, depth))
        }
        StatementKind::Requires(asked, triggers) => {
            format!("requires {}{}", clauses(asked, depth), triggered(triggers.as_ref(), depth))
        }
        StatementKind::Prohibits(asked, triggers) => {
            format!("prohibits {}{}", clauses(asked, depth), triggered(triggers.as_ref(), depth))
        }
        StatementKind::PermitsAs { thing, kind, clauses: case } => {
            format!("permits {} as {}, {}", thing.text, kind.text, clauses(case, depth))
        }
        StatementKind::PermitsOnly(asked) => format!("permits only {}", clauses(asked, depth)),
        StatementKind::Permits(case, lifted) => {
            let lifted = lifted.as_ref().map_or_else(String::new, |a| format!(" notwithstanding {}", a.text));
            format!("permits {}{lifted}", clauses(case, depth))
        }
        StatementKind::IfProvided(what, asked) => {
            format!("if provided {}, requires {}", line::path(what), clauses(asked, depth))
        }
        StatementKind::Unless(head, case, alternative) => {
            let alternative = match alternative {
                Some(Enough::Labels(runs, _)) => format!(" then {} is enough", line::enough(runs)),
                Some(Enough::Clauses(said)) => format!(" then {} is enough", clauses(said, depth)),
                None => String::new(),
            };
            format!("unless {} when {}{alternative}", line::exception_head(head), clauses(case, depth))
        }
        StatementKind::Exception(head, case, instead) => {
            let head = line::exception_head(head);
            format!("{head} when {} instead requires {}", clauses(case, depth), clauses(instead, depth))
        }
        StatementKind::Modifies(what, case, instead) => {
            let (case, instead) = (clauses(case, depth), clauses(instead, depth));
            format!("modifies {} when {case} instead requires {instead}", what.text)
        }
        StatementKind::Waives(what, Some(case)) => format!("waives {} when {}", what.text, clauses(case, depth)),
        StatementKind::Marks
        | StatementKind::Paragraph { body: None, .. }
        | StatementKind::Governs { .. }
        | StatementKind::Notes(_)
        | StatementKind::Waives(_, None)
        | StatementKind::Tally(..) => line::statement(statement),
    }
}

fn triggered(triggers: Option<&Items>, depth: usize) -> String {
    triggers.map_or_else(String::new, |t| format!(" where any of {}", items(t, depth)))
}

/// A list: on its line if it is one short line without marks, else a line for each item.
fn items(items: &Items, depth: usize) -> String {
    if let [only] = items.all.as_slice()
        && only.marks.is_empty()
    {
        let text = list_item(only, depth);
        if !text.contains('\n') {
            return format!("{{ {text} }}");
        }
    }
    let lines: Vec<String> =
        items.all.iter().map(|item| format!("{}{}", list_item(item, depth + 1), marked(&item.marks))).collect();
    braced(&lines, depth)
}

fn list_item(item: &ListItem, depth: usize) -> String {
    let label = item.label.as_ref().map_or_else(String::new, |l| format!("({}) ", l.text));
    let name = item.name.as_ref().map_or_else(String::new, |n| format!("as {}: ", n.text));
    format!("{label}{name}{}", clauses(&item.clauses, depth))
}

fn clauses(clauses: &Clauses, depth: usize) -> String {
    clauses.all.iter().map(|c| clause(c, depth)).collect::<Vec<_>>().join(", ")
}

/// A condition; lists in it take a line for each item, which only those outside parentheses can have.
fn clause(clause: &Clause, depth: usize) -> String {
    let text = match &clause.kind {
        ClauseKind::AnyOf(list) => format!("any of {}", items(list, depth)),
        ClauseKind::AllOf(list) => match list.all.as_slice() {
            [ListItem { label: None, name: None, clauses: inner, .. }] if inner.all.len() > 1 => {
                return line::clause(clause);
            }
            _ => format!("all of {}", items(list, depth)),
        },
        ClauseKind::NoneOf(list) => format!("none of {}", items(list, depth)),
        ClauseKind::If(case, then) => format!("if {}: {}", clauses(case, depth), clauses(then, depth)),
        ClauseKind::Quantified { quantifier, list, filter, consequence, predicate } => {
            let bare = ClauseKind::Quantified {
                quantifier: quantifier.clone(),
                list: list.clone(),
                filter: None,
                consequence: None,
                predicate: predicate.clone(),
            };
            let mut text = line::clause(&Clause { negated: false, kind: bare, span: clause.span });
            if let Some(filter) = filter {
                text.push_str(&format!(" where {}", clauses(filter, depth)));
            }
            if let Some(consequence) = consequence {
                text.push_str(&format!(": {}", clauses(consequence, depth)));
            }
            text
        }
        ClauseKind::Dated(..) | ClauseKind::NoWorse(_) | ClauseKind::Compare(..) => return line::clause(clause),
    };
    if clause.negated { format!("not {text}") } else { text }
}
