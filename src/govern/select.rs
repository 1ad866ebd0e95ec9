//! All books that the facts leave possible, and which facts select among them.
//!
//! Only finitely many points matter: between two days on which something starts or ends, every day is like every other. Each
//! combination of what is still open is looked up by itself, so whatever becomes known later only takes books away.

use super::calendar::{Adopted, Adoption, Place, Places};
use super::known::{Declared, Known, Reach, fields_with};
use super::point::{self, At, Because, Point};
use super::{DECLARES, PLACE};
use crate::diag::{Code, Diagnostic, Diagnostics, nearest};
use crate::edition::BaseSet;
use crate::ir::schema::{PROJECT, Schema};
use crate::syntax::ast::LayerPolicy;
use std::collections::{BTreeMap, BTreeSet};

/// The most points looked up.
const MOST_POINTS: usize = 20_000;

/// What is asked: a place and a family of editions.
#[derive(Debug, Clone)]
pub struct Wanted<'w> {
    /// The place.
    pub place: &'w str,
    /// The family, such as `nec`.
    pub family: &'w str,
    /// Its vocabulary.
    pub schema: &'w Schema,
}

/// The books that may govern.
#[derive(Debug, Clone, Default)]
pub struct Selection {
    /// The place, or empty where a book was named.
    pub place: String,
    /// Its title.
    pub title: String,
    /// What is known, such as `permit-application is 2021-09-15`.
    pub stated: Vec<String>,
    /// One entry if it is settled.
    pub possible: Vec<Possible>,
    /// The facts that select among them.
    pub ask: Vec<Ask>,
}

/// A possible outcome of the selection.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Possible {
    /// Books that are in force together; empty: nothing is adopted.
    pub books: Vec<BaseSet>,
    /// What must be the case, in words; empty where it is settled.
    pub when: Vec<String>,
    /// Why.
    pub because: Vec<Because>,
}

/// A fact that selects.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Ask {
    /// Of what: the project, or the amendment whose approval is not on record.
    pub of: String,
    /// The field of the project, or `approval`.
    pub field: String,
    /// What it is, in words.
    pub question: String,
    /// How to say it.
    pub say: String,
}

/// Selects the books that govern in a place.
pub fn select(places: &Places, wanted: &Wanted, known: &Known) -> (Selection, Diagnostics) {
    let mut found = Diagnostics::new();
    let Some(place) = places.all.get(wanted.place) else {
        let near = nearest(wanted.place, places.all.keys().map(String::as_str)).map(str::to_string);
        let diagnostic = Diagnostic::error(Code::NoSuchPlace, format!("there is no place `{}`", wanted.place));
        let all: Vec<&str> = places.all.keys().map(String::as_str).collect();
        found.push(match near {
            Some(near) => diagnostic.help(format!("did you mean `{near}`?")),
            None if all.is_empty() => {
                diagnostic.help("no place is loaded; write `jurisdiction NAME { … }` in a rulebook")
            }
            None => diagnostic.help(format!("loaded: {}", all.join(", "))),
        });
        return (Selection::default(), found);
    };
    let chain = places.chain(wanted.place);
    let open = Open::of_chain(places, &chain, wanted, known);
    let look = |point: &Point| point::at(places, &chain, wanted.family, point);
    let Some(mut selection) = open.look_up(known, &look, &mut found) else { return (Selection::default(), found) };
    selection.place.clone_from(&place.name);
    selection.title.clone_from(&place.title);
    if let [Possible { books, .. }] = selection.possible.as_slice()
        && books.is_empty()
    {
        found.push(outside(&chain, wanted, &selection));
    }
    if let Declared::Edition(edition) = &known.declares
        && !open.offered.get()
        && !found.has_errors()
    {
        let title = format!("{edition} is declared, but {} offers no choice of it", place.name);
        let diagnostic = Diagnostic::warning(Code::NotOffered, title);
        found.push(diagnostic.help("check the edition, the date and the place; the declaration has no effect"));
    }
    (selection, found)
}

/// Selects by the windows of amendments alone, where a book is named: an edition and amendments.
pub fn named(
    places: &Places,
    (family, year): (&str, &str),
    amendments: &[String],
    known: &Known,
) -> (Selection, Diagnostics) {
    let mut found = Diagnostics::new();
    let set = Adopted { family: family.to_string(), year: year.to_string(), with: amendments.to_vec() };
    let mut open = Open::default();
    open.window_days(places, amendments);
    let look = |point: &Point| point::at_named(places, &set, point);
    let open = open.variables(known);
    let selection = open.look_up(known, &look, &mut found).unwrap_or_default();
    (selection, found)
}

fn outside(chain: &[&Place], wanted: &Wanted, selection: &Selection) -> Diagnostic {
    let stated = match selection.stated.as_slice() {
        [] => "this date".to_string(),
        stated => stated.join(", "),
    };
    let title = match wanted.family {
        "" => format!("nothing is adopted in {}", wanted.place),
        family => format!("{stated}: nothing of {family} is adopted in {} then", wanted.place),
    };
    let mut diagnostic = Diagnostic::error(Code::OutsideAdoptions, title);
    let mut any = false;
    for place in chain {
        let own: Vec<&Adoption> = place.adoptions.iter().filter(|a| a.set.family == wanted.family).collect();
        for adoption in own {
            any = true;
            let end = adoption.end.map_or(String::new(), |end| format!(" through {}", point::date(end - 1)));
            diagnostic = diagnostic
                .at(adoption.span, format!("{} from {}{end}", adoption.set.edition(), point::date(adoption.from)));
        }
    }
    match any {
        true => diagnostic.help("check the date, or add the adoption that covers it"),
        false => {
            diagnostic.help("write an adoption, such as `nec 2020 from 2021-07-01`, in the place or one around it")
        }
    }
}

/// What a fact that is not settled may turn out to be.
#[derive(Debug, Clone, PartialEq, Eq)]
enum Turn {
    /// A span of days that are all alike; the first and the last, if there are such.
    Days(Option<i64>, Option<i64>),
    /// There is no such date.
    NoDate,
    /// Values that are all alike.
    Values(Vec<String>),
    /// Of many values, those that are not named elsewhere.
    OtherValues(String),
    Declared(Option<String>),
    Approved(bool),
}

/// A fact that may select, with all it may turn out to be.
#[derive(Debug, Clone)]
struct Variable {
    name: String,
    question: String,
    turns: Vec<Turn>,
}

#[derive(Default)]
struct Open {
    /// Days on which something starts or ends, by clock.
    days: BTreeMap<String, BTreeSet<i64>>,
    /// Words that sort the uses of the project.
    classes: Vec<Vec<String>>,
    fields: Vec<(String, Vec<String>)>,
    editions: BTreeSet<String>,
    approvals: BTreeSet<String>,
    all: Vec<Variable>,
    offered: std::cell::Cell<bool>,
}

impl Open {
    fn of_chain(places: &Places, chain: &[&Place], wanted: &Wanted, known: &Known) -> Open {
        let mut open = Open::default();
        let clocks = point::clocks(chain);
        for (place, clock) in chain.iter().zip(clocks) {
            let mut days = BTreeSet::new();
            for adoption in place.adoptions.iter().filter(|a| a.set.family == wanted.family) {
                days.insert(adoption.from);
                days.extend(adoption.end);
                open.window_days(places, &adoption.set.with);
                for (set, end, _) in &adoption.graces {
                    days.insert(*end);
                    open.editions.insert(set.edition());
                    open.window_days(places, &set.with);
                }
                if let Some((from, classes, _)) = &adoption.early {
                    days.insert(*from);
                    open.editions.insert(adoption.set.edition());
                    if !classes.is_empty() {
                        open.classes.push(classes.clone());
                    }
                }
                for (classes, set, end, _) in &adoption.stays {
                    days.extend(*end);
                    open.classes.push(classes.clone());
                    open.window_days(places, &set.with);
                }
                if let Some((LayerPolicy::ApprovalNeeded, _)) = place.over {
                    let all: Vec<String> =
                        std::iter::once(adoption.set.edition()).chain(adoption.set.with.iter().cloned()).collect();
                    open.approvals(chain, &all, &mut days);
                }
            }
            for addition in &place.adds {
                days.extend(addition.days.from);
                days.extend(addition.days.end);
                open.window_days(places, &addition.with);
                if let Some((LayerPolicy::ApprovalNeeded, _)) = place.over {
                    open.approvals(chain, &addition.with, &mut days);
                }
            }
            if let Some(clock) = clock {
                open.days.entry(clock.to_string()).or_default().extend(days);
            }
        }
        let named: Vec<String> = open.classes.iter().flatten().cloned().collect();
        open.fields = fields_with(wanted.schema, &named);
        open.variables(known)
    }

    /// Days on which approvals count from; those not on record are open.
    fn approvals(&mut self, chain: &[&Place], what: &[String], days: &mut BTreeSet<i64>) {
        for what in what {
            match chain.iter().find_map(|p| p.approved.get(what)) {
                Some((since, _)) => {
                    days.insert(*since);
                }
                None => {
                    self.approvals.insert(what.clone());
                }
            }
        }
    }

    fn window_days(&mut self, places: &Places, amendments: &[String]) {
        for window in amendments.iter().filter_map(|name| places.windows.get(name)).flatten() {
            let days = self.days.entry(window.clock.clone()).or_default();
            days.extend(window.days.from);
            days.extend(window.days.end);
        }
    }

    /// Lists what each fact may turn out to be.
    fn variables(mut self, known: &Known) -> Open {
        let question = |field: &str| known.questions.get(field).cloned().unwrap_or_default();
        let mut all = Vec::new();
        for (clock, days) in &self.days {
            let reach = known.dates.get(clock).copied().unwrap_or_default();
            let mut turns = if reach.absent { Vec::new() } else { spans(days, reach) };
            if reach.absent || known.optional.contains(clock) {
                turns.push(Turn::NoDate);
            }
            all.push(Variable { name: clock.clone(), question: question(clock), turns });
        }
        for (field, values) in &self.fields {
            let may = known.values.get(field).unwrap_or(values);
            let mut turns: Vec<(Vec<bool>, Vec<String>)> = Vec::new();
            for value in may {
                let sorts: Vec<bool> = self.classes.iter().map(|class| class.contains(value)).collect();
                match turns.iter_mut().find(|(known, _)| *known == sorts) {
                    Some((_, values)) => values.push(value.clone()),
                    None => turns.push((sorts, vec![value.clone()])),
                }
            }
            let several = turns.len() > 1;
            let turns = turns
                .into_iter()
                .map(|(sorts, values)| match values.first() {
                    Some(first) if several && values.len() > 4 && !sorts.contains(&true) => {
                        Turn::OtherValues(first.clone())
                    }
                    _ => Turn::Values(values),
                })
                .collect();
            all.push(Variable { name: field.clone(), question: question(field), turns });
        }
        // What is declared is looked at even where no choice is left, so that it can be told.
        if !self.editions.is_empty() || matches!(known.declares, Declared::Edition(_)) {
            let turns = match &known.declares {
                Declared::Edition(edition) => vec![Turn::Declared(Some(edition.clone()))],
                Declared::Nothing => vec![Turn::Declared(None)],
                Declared::Unknown => std::iter::once(Turn::Declared(None))
                    .chain(self.editions.iter().map(|edition| Turn::Declared(Some(edition.clone()))))
                    .collect(),
            };
            all.push(Variable { name: DECLARES.to_string(), question: question(DECLARES), turns });
        }
        for what in &self.approvals {
            all.push(Variable {
                name: format!("approval of {what}"),
                question: "whether the place around it approved it".to_string(),
                turns: vec![Turn::Approved(true), Turn::Approved(false)],
            });
        }
        self.all = all;
        self
    }

    /// Looks up every point; none if there are too many.
    fn look_up(&self, known: &Known, look: &dyn Fn(&Point) -> At, found: &mut Diagnostics) -> Option<Selection> {
        let points = self.all.iter().try_fold(1usize, |all, v| all.checked_mul(v.turns.len()));
        let Some(points) = points.filter(|points| *points <= MOST_POINTS) else {
            let names: Vec<&str> = self.all.iter().filter(|v| v.turns.len() > 1).map(|v| v.name.as_str()).collect();
            let diagnostic = Diagnostic::error(Code::TooMuchOpen, "too much is unknown to list the books");
            found.push(diagnostic.help(format!("state one of: {}", names.join(", "))));
            return None;
        };
        let mut outcomes: Vec<(Vec<BaseSet>, Vec<Because>, Vec<usize>)> = Vec::new();
        let mut of_point: Vec<usize> = Vec::with_capacity(points);
        for number in 0..points {
            let at = look(&self.point(number));
            if at.offered {
                self.offered.set(true);
            }
            for diagnostic in at.found {
                if !found.iter().any(|known| *known == diagnostic) {
                    found.push(diagnostic);
                }
            }
            let group = outcomes.iter().position(|(books, ..)| *books == at.books).unwrap_or_else(|| {
                outcomes.push((at.books, at.because, Vec::new()));
                outcomes.len() - 1
            });
            if let Some((.., points)) = outcomes.get_mut(group) {
                points.push(number);
            }
            of_point.push(group);
        }
        let selecting: Vec<usize> = (0..self.all.len()).filter(|at| self.selects(*at, &of_point)).collect();
        let settled = outcomes.len() == 1;
        let possible = outcomes
            .into_iter()
            .flat_map(|(books, because, points)| {
                if settled {
                    return vec![Possible { books, when: Vec::new(), because }];
                }
                let boxes = self.boxes(&points, &selecting);
                let told = boxes.into_iter().map(|turns| Possible {
                    books: books.clone(),
                    when: selecting.iter().filter_map(|at| self.words(*at, turns.get(at)?)).collect(),
                    because: look(&self.point(self.first(&turns))).because,
                });
                told.collect()
            })
            .collect();
        let ask = selecting.iter().filter_map(|at| self.all.get(*at)).map(asked).collect();
        Some(Selection { stated: self.stated(known), possible, ask, ..Selection::default() })
    }

    /// How far apart two points are that differ in one turn of a variable.
    fn stride(&self, at: usize) -> usize {
        self.all.iter().skip(at + 1).map(|v| v.turns.len()).product()
    }

    /// Which turn a variable takes at a point.
    fn turn(&self, at: usize, number: usize) -> usize {
        let turns = self.all.get(at).map_or(1, |v| v.turns.len()).max(1);
        (number / self.stride(at).max(1)) % turns
    }

    fn point(&self, number: usize) -> Point {
        let mut point = Point::default();
        for (at, variable) in self.all.iter().enumerate() {
            let Some(turn) = variable.turns.get(self.turn(at, number)) else { continue };
            let name = variable.name.clone();
            match turn {
                Turn::Days(first, last) => {
                    // The days of a span are alike; one without a first and last day means that no day matters.
                    point.days.insert(name, Some(first.or(*last).unwrap_or(0)));
                }
                Turn::NoDate => {
                    point.days.insert(name, None);
                }
                Turn::Values(values) => {
                    if let Some(value) = values.first() {
                        point.values.insert(name, value.clone());
                    }
                }
                Turn::OtherValues(value) => {
                    point.values.insert(name, value.clone());
                }
                Turn::Declared(edition) => point.declared.clone_from(edition),
                Turn::Approved(approved) => {
                    let what = name.strip_prefix("approval of ").unwrap_or(&name).to_string();
                    point.approved.insert(what, *approved);
                }
            }
        }
        point
    }

    /// Whether the outcome ever hangs on a variable alone.
    fn selects(&self, at: usize, of_point: &[usize]) -> bool {
        let stride = self.stride(at);
        (0..of_point.len()).any(|number| {
            self.turn(at, number) > 0
                && number.checked_sub(stride).and_then(|before| of_point.get(before)) != of_point.get(number)
        })
    }

    /// Points of one outcome as few boxes: for each selecting variable a set of turns, every combination of which comes out
    /// so. The facts other than dates are made as wide as they go first.
    fn boxes(&self, points: &[usize], selecting: &[usize]) -> Vec<BTreeMap<usize, BTreeSet<usize>>> {
        let inside: BTreeSet<usize> = points.iter().copied().collect();
        let mut left = inside.clone();
        let mut boxes = Vec::new();
        let is_date = |at: &usize| {
            self.all.get(*at).is_some_and(|v| matches!(v.turns.first(), Some(Turn::Days(..) | Turn::NoDate)))
        };
        let mut order: Vec<usize> = selecting.iter().copied().filter(|at| !is_date(at)).collect();
        order.extend(selecting.iter().copied().filter(is_date));
        while let Some(start) = left.first().copied() {
            let mut turns: BTreeMap<usize, BTreeSet<usize>> =
                selecting.iter().map(|at| (*at, BTreeSet::from([self.turn(*at, start)]))).collect();
            for at in &order {
                let count = self.all.get(*at).map_or(0, |v| v.turns.len());
                for turn in 0..count {
                    let mut wider = turns.clone();
                    wider.insert(*at, BTreeSet::from([turn]));
                    if self.numbers(&wider).iter().all(|number| inside.contains(number)) {
                        turns.entry(*at).or_default().insert(turn);
                    }
                }
            }
            let covered = self.numbers(&turns);
            left.remove(&start);
            for number in &covered {
                left.remove(number);
            }
            // Points that differ only in what does not select come out alike.
            left.retain(|number| {
                !selecting.iter().all(|at| turns.get(at).is_some_and(|t| t.contains(&self.turn(*at, *number))))
            });
            boxes.push(turns);
        }
        boxes
    }

    /// The points of a box, with the first turn of every variable that it does not name.
    fn numbers(&self, turns: &BTreeMap<usize, BTreeSet<usize>>) -> Vec<usize> {
        let mut numbers = vec![0];
        for at in 0..self.all.len() {
            let stride = self.stride(at);
            let first = BTreeSet::from([0]);
            let own = turns.get(&at).unwrap_or(&first);
            numbers = numbers.iter().flat_map(|n| own.iter().map(move |turn| n + turn * stride)).collect();
        }
        numbers
    }

    fn first(&self, turns: &BTreeMap<usize, BTreeSet<usize>>) -> usize {
        self.numbers(turns).first().copied().unwrap_or(0)
    }

    /// What a variable must be; none if it may be anything.
    fn words(&self, at: usize, turns: &BTreeSet<usize>) -> Option<String> {
        let variable = self.all.get(at)?;
        if turns.len() == variable.turns.len() {
            return None;
        }
        let mut said: Vec<String> = Vec::new();
        let mut run: Option<(Option<i64>, Option<i64>, usize)> = None;
        let flush = |run: &mut Option<(Option<i64>, Option<i64>, usize)>, said: &mut Vec<String>| {
            if let Some((first, last, _)) = run.take() {
                said.push(match (first, last) {
                    (Some(first), Some(last)) if first == last => format!("is {}", point::date(first)),
                    (Some(first), Some(last)) => format!("is {} through {}", point::date(first), point::date(last)),
                    (Some(first), None) => format!("is {} or later", point::date(first)),
                    (None, Some(last)) => format!("is before {}", point::date(last + 1)),
                    (None, None) => "is any day".to_string(),
                });
            }
        };
        for turn in turns.iter().copied() {
            match variable.turns.get(turn)? {
                Turn::Days(first, last) => match &mut run {
                    // Spans that follow one another are told as one.
                    Some((_, end, before)) if *before + 1 == turn => {
                        *end = *last;
                        *before = turn;
                    }
                    _ => {
                        flush(&mut run, &mut said);
                        run = Some((*first, *last, turn));
                    }
                },
                Turn::NoDate => said.push("is none".to_string()),
                Turn::Values(values) => said.push(format!("is {}", values.join(" or "))),
                Turn::OtherValues(_) => said.push("is any other".to_string()),
                Turn::Declared(Some(edition)) => said.push(format!("is {edition}")),
                Turn::Declared(None) => said.push("is none".to_string()),
                Turn::Approved(true) => said.push("is on record".to_string()),
                Turn::Approved(false) => said.push("was not given".to_string()),
            }
        }
        flush(&mut run, &mut said);
        let said: Vec<&str> = said.iter().map(|s| s.strip_prefix("is ").unwrap_or(s)).collect();
        let is = if said.iter().any(|s| s.starts_with("was ")) { "" } else { "is " };
        Some(format!("{} {is}{}", variable.name, said.join(" or ")))
    }

    /// What is known, in words.
    fn stated(&self, known: &Known) -> Vec<String> {
        let mut all = Vec::new();
        for (clock, reach) in &known.dates {
            if !self.days.contains_key(clock) {
                continue;
            }
            all.push(match (reach.absent, reach.first, reach.last) {
                (true, ..) => format!("{clock} is none"),
                (_, Some(first), Some(last)) if first == last => format!("{clock} is {}", point::date(first)),
                (_, Some(first), Some(last)) => {
                    format!("{clock} is {} through {}", point::date(first), point::date(last))
                }
                (_, Some(first), None) => format!("{clock} is {} or later", point::date(first)),
                (_, None, Some(last)) => format!("{clock} is before {}", point::date(last + 1)),
                (_, None, None) => continue,
            });
        }
        for (field, values) in &known.values {
            if self.fields.iter().any(|(name, _)| name == field) && values.len() <= 4 {
                all.push(format!("{field} is {}", values.join(" or ")));
            }
        }
        if !self.editions.is_empty() {
            match &known.declares {
                Declared::Edition(edition) => all.push(format!("{DECLARES} is {edition}")),
                Declared::Nothing => all.push(format!("{DECLARES} is none")),
                Declared::Unknown => {}
            }
        }
        all
    }
}

/// Spans of days that are all alike, within what a date may be.
fn spans(days: &BTreeSet<i64>, reach: Reach) -> Vec<Turn> {
    let mut spans = Vec::new();
    let mut first: Option<i64> = None;
    let ends = days.iter().map(|day| Some(*day - 1)).chain(std::iter::once(None));
    for last in ends {
        let from = match (first, reach.first) {
            (Some(a), Some(b)) => Some(a.max(b)),
            (a, b) => a.or(b),
        };
        let to = match (last, reach.last) {
            (Some(a), Some(b)) => Some(a.min(b)),
            (a, b) => a.or(b),
        };
        if from.zip(to).is_none_or(|(from, to)| from <= to) {
            spans.push(Turn::Days(from, to));
        }
        first = last.map(|last| last + 1);
    }
    if spans.is_empty() {
        spans.push(Turn::Days(reach.first, reach.last));
    }
    spans
}

fn asked(variable: &Variable) -> Ask {
    let say = match variable.turns.first() {
        Some(Turn::Days(..) | Turn::NoDate) => format!("{}: YEAR-MONTH-DAY", variable.name),
        Some(Turn::Declared(_)) => {
            let editions: Vec<&str> = variable
                .turns
                .iter()
                .filter_map(|turn| match turn {
                    Turn::Declared(Some(edition)) => Some(edition.as_str()),
                    _ => None,
                })
                .collect();
            format!("{}: {}, or none if nothing was declared", variable.name, editions.join(" or "))
        }
        Some(Turn::Approved(_)) => {
            let what = variable.name.strip_prefix("approval of ").unwrap_or(&variable.name);
            format!("approved {what} on YEAR-MONTH-DAY, as a line of the {PLACE} in its rulebook")
        }
        Some(Turn::Values(_) | Turn::OtherValues(_)) | None => {
            let mut known: Vec<String> = variable
                .turns
                .iter()
                .filter_map(|turn| match turn {
                    Turn::Values(values) => Some(values.join(" or ")),
                    _ => None,
                })
                .collect();
            if known.len() < variable.turns.len() {
                known.push("another".to_string());
            }
            format!("{}: {}", variable.name, known.join(" or "))
        }
    };
    let (field, of) = variable.name.split_once(" of ").unwrap_or((&variable.name, PROJECT));
    Ask { of: of.to_string(), field: field.to_string(), question: variable.question.clone(), say }
}
