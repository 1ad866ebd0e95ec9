//! Every operation of a set of changes, every form of it, and every line of a place stands somewhere in the shipped rulebooks or
//! in the invented places of `examples/places/` and `examples/ordinances/`: states, their counties, cities and villages.
//!
//! The matches are exhaustive: an operation that is new to the tree does not compile here until it is named.
#![allow(clippy::unwrap_used, clippy::panic)]

use std::collections::BTreeSet;
use std::path::Path;
use whereas::session::{RULEBOOKS, Session};
use whereas::syntax::ast::*;

/// All of them. Held against what the matches below can name.
const ALL: &[&str] = &[
    "erratum",
    "interim amendment",
    "amendment",
    "edition that follows",
    "to every base",
    "in a printing",
    "to one base",
    "in force from",
    "in force through",
    "in force before",
    "in a part",
    "in every rule about",
    "in table",
    "in series",
    "insert",
    "insert with moves",
    "delete",
    "delete a range",
    "reserve",
    "replace",
    "renumber",
    "use a text",
    "use a scope",
    "use exceptions",
    "use exceptions without credit",
    "with its definitions",
    "waive",
    "waive when",
    "release",
    "start",
    "start when",
    "lapse",
    "lapse when",
    "carry a part",
    "carry a table",
    "carry a series",
    "delete table",
    "use table",
    "exclude",
    "exclude a range",
    "move",
    "split by items",
    "split by cases",
    "merge",
    "exception becomes item",
    "item becomes exception",
    "read everywhere",
    "settle",
    "notes fall",
    "limit was",
    "delay",
    "fact",
    "add after",
    "added section",
    "added kind",
    "added table",
    "added define",
    "added limit",
    "added reading",
    "added series",
    "added amount",
    "term for one part only",
    "title",
    "enough",
    "add exception",
    "add item",
    "add condition",
    "number",
    "strike exception",
    "add statement",
    "add also when",
    "force",
    "read in a part",
    "also",
    "no longer",
    "strike item",
    "strike condition",
    "value",
    "add line",
    "was now",
    "add row",
    "strike row",
    "cell was",
    "add value",
    "strike value",
    "base fixed by",
    "last wins",
    "strictest wins",
    "no deviation",
    "approval needed",
    "approved",
    "adds",
    "grace",
    "early",
    "early for a class",
    "stay",
    "adoption",
    "adoption in a printing",
    "adoption with an amendment",
    "adoption with an end",
];

fn of_change(kind: &ChangeKind, found: &mut BTreeSet<&'static str>) {
    let name = match kind {
        ChangeKind::InForce { from, until, .. } => {
            if from.is_some() {
                found.insert("in force from");
            }
            match until.as_ref().map(|end| end.side) {
                Some(DateSide::Through) => "in force through",
                Some(_) => "in force before",
                None => return,
            }
        }
        ChangeKind::In(target, edits) => {
            edits.iter().for_each(|edit| of_edit(edit, found));
            match target {
                ChangeTarget::At(_) => "in a part",
                ChangeTarget::About(_) => "in every rule about",
            }
        }
        ChangeKind::InTable(_, edits) => {
            found.extend(edits.iter().map(|edit| match edit {
                TableEdit::AddRow(_) => "add row",
                TableEdit::StrikeRow(..) => "strike row",
                TableEdit::CellWas { .. } => "cell was",
            }));
            "in table"
        }
        ChangeKind::InSeries(_, edits) => {
            found.extend(edits.iter().map(|edit| match edit {
                SeriesEdit::Add(_) => "add value",
                SeriesEdit::Strike(_) => "strike value",
            }));
            "in series"
        }
        ChangeKind::Insert { moves, .. } if moves.is_empty() => "insert",
        ChangeKind::Insert { .. } => "insert with moves",
        ChangeKind::Delete(_, None) => "delete",
        ChangeKind::Delete(_, Some(_)) => "delete a range",
        ChangeKind::Reserve(_) => "reserve",
        ChangeKind::Replace { .. } => "replace",
        ChangeKind::Renumber(..) => "renumber",
        ChangeKind::Use { what, words, .. } => {
            if *words == Definitions::Brought {
                found.insert("with its definitions");
            }
            match what {
                Used::Text => "use a text",
                Used::Scope => "use a scope",
                Used::Exceptions(_, None) => "use exceptions",
                Used::Exceptions(_, Some(_)) => "use exceptions without credit",
            }
        }
        ChangeKind::Waive(_, None) => "waive",
        ChangeKind::Waive(_, Some(_)) => "waive when",
        ChangeKind::Release(..) => "release",
        ChangeKind::Start(.., None) => "start",
        ChangeKind::Start(.., Some(_)) => "start when",
        ChangeKind::Lapse(.., None) => "lapse",
        ChangeKind::Lapse(.., Some(_)) => "lapse when",
        ChangeKind::Carry(all) => {
            found.extend(all.iter().map(|carried| match carried {
                Carried::Part(_) => "carry a part",
                Carried::Table(_) => "carry a table",
                Carried::Series(_) => "carry a series",
            }));
            return;
        }
        ChangeKind::DeleteTable(_) => "delete table",
        ChangeKind::UseTable(..) => "use table",
        ChangeKind::Exclude(all) => {
            found.extend(all.iter().map(|(_, through)| if through.is_some() { "exclude a range" } else { "exclude" }));
            return;
        }
        ChangeKind::Move(..) => "move",
        ChangeKind::Split(_, parts) => {
            if parts.iter().any(|part| matches!(part.gets, SplitShare::Where(_))) {
                "split by cases"
            } else {
                "split by items"
            }
        }
        ChangeKind::Merge(..) => "merge",
        ChangeKind::Becomes(_, NewPlace::Item(_)) => "exception becomes item",
        ChangeKind::Becomes(_, NewPlace::Exception(_)) => "item becomes exception",
        ChangeKind::ReadEverywhere(..) => "read everywhere",
        ChangeKind::Settle(..) => "settle",
        ChangeKind::NotesFall => "notes fall",
        ChangeKind::LimitWas(..) => "limit was",
        ChangeKind::Delay { .. } => "delay",
        ChangeKind::Declare { .. } => "fact",
        ChangeKind::AddAfter { .. } => "add after",
        ChangeKind::Added(item) => match item.as_ref() {
            Item::Kind(Kind { only, .. }) | Item::Define(Define { only, .. }) | Item::Limit(Limit { only, .. })
                if !only.is_empty() =>
            {
                "term for one part only"
            }
            Item::Section(_) => "added section",
            Item::Kind(_) => "added kind",
            Item::Define(_) => "added define",
            Item::Limit(_) => "added limit",
            Item::Table(_) => "added table",
            Item::Series(_) => "added series",
            Item::Amount(_) => "added amount",
            Item::Reading(_) => "added reading",
            Item::Terms(_)
            | Item::Edition(_)
            | Item::Choice(_)
            | Item::Scale(_)
            | Item::Thing(_)
            | Item::Beside(_)
            | Item::Changes(_)
            | Item::Jurisdiction(_) => return,
        },
    };
    found.insert(name);
}

fn of_edit(edit: &Edit, found: &mut BTreeSet<&'static str>) {
    found.insert(match edit {
        Edit::Title(..) => "title",
        Edit::Enough(..) => "enough",
        Edit::AddException(..) => "add exception",
        Edit::AddItem(_) => "add item",
        Edit::AddConditions(_) => "add condition",
        Edit::Number(..) => "number",
        Edit::StrikeException(_) => "strike exception",
        Edit::AddStatement(statement) if matches!(statement.kind, StatementKind::AlsoWhen(_)) => "add also when",
        Edit::AddStatement(_) => "add statement",
        Edit::Force { .. } => "force",
        Edit::Read(..) => "read in a part",
        Edit::Also(..) => "also",
        Edit::NoLonger(..) => "no longer",
        Edit::StrikeItem(_) => "strike item",
        Edit::StrikeCondition(..) => "strike condition",
        Edit::Value(..) => "value",
        Edit::AddLine(_) => "add line",
        Edit::WasNow(..) => "was now",
    });
}

fn of_place(kind: &PlaceLineKind, found: &mut BTreeSet<&'static str>) {
    let name = match kind {
        PlaceLineKind::FixedBy(_) => "base fixed by",
        PlaceLineKind::Over(_, LayerPolicy::LastWins) => "last wins",
        PlaceLineKind::Over(_, LayerPolicy::StrictestWins) => "strictest wins",
        PlaceLineKind::Over(_, LayerPolicy::NoDeviation) => "no deviation",
        PlaceLineKind::Over(_, LayerPolicy::ApprovalNeeded) => "approval needed",
        PlaceLineKind::Approved { .. } => "approved",
        PlaceLineKind::Adds { .. } => "adds",
        PlaceLineKind::Grace { .. } => "grace",
        PlaceLineKind::Early { classes, .. } if classes.is_empty() => "early",
        PlaceLineKind::Early { .. } => "early for a class",
        PlaceLineKind::Stay { .. } => "stay",
        PlaceLineKind::Adoption { set, until, .. } => {
            if set.printing.is_some() {
                found.insert("adoption in a printing");
            }
            if !set.with.is_empty() {
                found.insert("adoption with an amendment");
            }
            if until.is_some() {
                found.insert("adoption with an end");
            }
            "adoption"
        }
    };
    found.insert(name);
}

/// The texts of the invented places, by name.
fn places() -> Vec<(String, String)> {
    let root = Path::new(env!("CARGO_MANIFEST_DIR"));
    let folders =
        ["examples/places", "examples/ordinances"].map(|folder| std::fs::read_dir(root.join(folder)).unwrap());
    let mut files: Vec<_> = folders.into_iter().flatten().map(|entry| entry.unwrap().path()).collect();
    files.retain(|file| file.extension().is_some_and(|kind| kind == "rulebook"));
    files.sort();
    files
        .into_iter()
        .map(|file| (file.file_name().unwrap().to_str().unwrap().to_string(), std::fs::read_to_string(&file).unwrap()))
        .collect()
}

#[test]
fn every_operation_is_written_somewhere() {
    let mut found: BTreeSet<&'static str> = BTreeSet::new();
    let shipped = RULEBOOKS.iter().map(|(name, text)| ((*name).to_string(), (*text).to_string()));
    for (name, text) in shipped.chain(places()) {
        let (parsed, diagnostics) = whereas::syntax::parse_rulebook(whereas::base::source::SourceId(0), &text);
        assert!(diagnostics.is_empty(), "{name}: {diagnostics:?}");
        for item in &parsed.tree.items {
            match item {
                Item::Changes(set) => {
                    found.insert(match set.kind {
                        SetKind::Edition => "edition that follows",
                        SetKind::Interim => "interim amendment",
                        SetKind::Erratum => "erratum",
                        SetKind::Amendment => "amendment",
                    });
                    found.insert(if set.base.is_some() { "to one base" } else { "to every base" });
                    if set.printing.is_some() {
                        found.insert("in a printing");
                    }
                    set.changes.iter().for_each(|change| of_change(&change.kind, &mut found));
                }
                Item::Jurisdiction(place) => place.lines.iter().for_each(|line| of_place(&line.kind, &mut found)),
                _ => {}
            }
        }
    }
    let missing: Vec<&&str> = ALL.iter().filter(|name| !found.contains(**name)).collect();
    assert!(missing.is_empty(), "no rulebook and no place writes {missing:?}");
    let unknown: Vec<&&str> = found.iter().filter(|name| !ALL.contains(name)).collect();
    assert!(unknown.is_empty(), "{unknown:?} are not in the list");
}

/// Every amendment of the places composes on its base without a complaint, opens, and leaves a trace.
#[test]
fn every_amendment_of_the_places_composes() {
    let mut session = Session::shipped().0;
    let mut sets: Vec<(String, String)> = Vec::new();
    for (name, text) in places() {
        let diagnostics = session.add_rulebook(&name, text.clone().into_bytes());
        assert!(
            diagnostics.is_empty(),
            "{name}: {}",
            whereas::diag::render(&diagnostics, session.sources(), &Default::default())
        );
        let (parsed, _) = whereas::syntax::parse_rulebook(whereas::base::source::SourceId(0), &text);
        for item in &parsed.tree.items {
            if let Item::Changes(set) = item {
                let base =
                    set.base.as_ref().map_or("nec 2023".to_string(), |b| format!("{} {}", b.family.text, b.year.text));
                sets.push((base, set.name.text.to_string()));
            }
        }
    }
    assert!(sets.len() > 8, "{sets:?}");
    let mut wrong = String::new();
    for (base, name) in sets {
        let under = format!("{base} with {name}");
        let (composed, mut diagnostics) = session.compose(&under);
        diagnostics.extend(session.open(&under).1);
        if !diagnostics.is_empty() {
            wrong +=
                &format!("{under}\n{}", whereas::diag::render(&diagnostics, session.sources(), &Default::default()));
        }
        if !composed.history.values().flatten().any(|event| event.document == name) {
            wrong += &format!("{under} leaves no trace\n");
        }
    }
    assert!(wrong.is_empty(), "{wrong}");
}
