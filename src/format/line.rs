//! One-line forms.

use crate::syntax::ast::*;

/// Conditions joined by commas.
pub fn clauses(clauses: &Clauses) -> String {
    joined(&clauses.all, ", ", clause)
}

fn joined<T>(all: &[T], between: &str, one: impl Fn(&T) -> String) -> String {
    all.iter().map(one).collect::<Vec<_>>().join(between)
}

/// One condition.
pub fn clause(clause: &Clause) -> String {
    let text = match &clause.kind {
        ClauseKind::AnyOf(list) => format!("any of {}", items(list)),
        ClauseKind::AllOf(list) => match list.all.as_slice() {
            [ListItem { label: None, name: None, clauses: inner, .. }] if inner.all.len() > 1 => {
                format!("({})", clauses(inner))
            }
            _ => format!("all of {}", items(list)),
        },
        ClauseKind::NoneOf(list) => format!("none of {}", items(list)),
        ClauseKind::If(case, then) => format!("if {}: {}", clauses(case), clauses(then)),
        ClauseKind::NoWorse(by) => format!("no worse than before by {}", expr(by)),
        ClauseKind::Quantified { quantifier, list: of, filter, consequence, predicate: said } => {
            let mut text = match quantifier {
                Quantifier::Every => "every ".to_string(),
                Quantifier::Some => "some ".to_string(),
                Quantifier::No => "no ".to_string(),
                Quantifier::Bound(bound, count) => format!("{} {} of ", bound_words(*bound), atom(count)),
            };
            text.push_str(&list(of));
            if let Some(filter) = filter {
                text.push_str(&format!(" where {}", clauses(filter)));
            }
            if let Some(said) = said {
                text.push_str(&format!(" {}", predicate(said)));
            }
            if let Some(consequence) = consequence {
                text.push_str(&format!(": {}", clauses(consequence)));
            }
            text
        }
        ClauseKind::Dated(side, date, clock) => dated(*side, date, clock.as_ref()),
        ClauseKind::Compare(left, None) => expr(left),
        ClauseKind::Compare(left, Some(said)) => format!("{} {}", expr(left), predicate(said)),
    };
    if clause.negated { format!("not {text}") } else { text }
}

fn dated(side: DateSide, date: &Name, clock: Option<&Name>) -> String {
    let word = match side {
        DateSide::Before => "before",
        DateSide::After => "after",
        DateSide::Through => "through",
        DateSide::From => "from",
    };
    match clock {
        Some(clock) => format!("{word} {} by {}", date.text, clock.text),
        None => format!("{word} {}", date.text),
    }
}

/// A list in braces, lines apart by semicolons.
pub fn items(items: &Items) -> String {
    format!("{{ {} }}", joined(&items.all, "; ", item))
}

/// One line of a list.
pub fn item(item: &ListItem) -> String {
    let label = item.label.as_ref().map_or_else(String::new, |l| format!("({}) ", l.text));
    let name = item.name.as_ref().map_or_else(String::new, |n| format!("as {}: ", n.text));
    format!("{label}{name}{}", clauses(&item.clauses))
}

/// A direction.
pub fn bound_words(bound: Bound) -> &'static str {
    match bound {
        Bound::AtLeast => "at least",
        Bound::AtMost => "at most",
        Bound::Exactly => "exactly",
        Bound::MoreThan => "more than",
        Bound::LessThan => "less than",
    }
}

/// What is said of an operand.
pub fn predicate(predicate: &Predicate) -> String {
    match &predicate.kind {
        PredicateKind::Is(all) => format!("is {}", values(all)),
        PredicateKind::IsNot(all) => format!("is not {}", values(all)),
        PredicateKind::Bound(bound, right) => format!("{} {}", bound_words(*bound), expr(right)),
        PredicateKind::Dated(side, date, clock) => dated(*side, date, clock.as_ref()),
        PredicateKind::Passes(all) => format!("through {}", joined(all, " or ", |n| n.text.to_string())),
        PredicateKind::PassesNot(all) => format!("not through {}", joined(all, " or ", |n| n.text.to_string())),
    }
}

/// Values joined by `or`.
pub fn values(values: &[ValueRange]) -> String {
    joined(values, " or ", |range| match &range.through {
        Some(through) => format!("{} through {}", value(&range.from), value(through)),
        None => value(&range.from),
    })
}

/// One value.
pub fn value(value: &Value) -> String {
    match value {
        Value::Date(name) | Value::Worded(name) | Value::Word(name) => name.text.to_string(),
        Value::Text(name) => format!("\"{}\"", name.text),
        Value::Quantity(whole) => quantity(whole),
        Value::None(_) => "none".to_string(),
    }
}

/// A quantity, perhaps in two systems.
pub fn quantity(quantity: &Quantity) -> String {
    match &quantity.second {
        Some(second) => format!("{} ({})", measure(&quantity.first), measure(second)),
        None => measure(&quantity.first),
    }
}

/// A measure as written.
pub fn measure(measure: &Measure) -> String {
    joined(&measure.parts, " ", |(number, unit)| {
        let number = number.text.split_ascii_whitespace().collect::<Vec<_>>().join(" ");
        match unit {
            Some(unit) if unit.text == "%" => format!("{number} %"),
            Some(unit) => format!("{number} {}", unit.text),
            None => number,
        }
    })
}

/// Words that lead to a field.
pub fn path(path: &Path) -> String {
    let mut text = match (path.words.split_first(), &path.from) {
        (Some((first, rest)), Some(key)) => {
            let rest: String = rest.iter().map(|w| format!(" {}", w.text)).collect();
            format!("{} from {}{rest}", first.text, key.text)
        }
        _ => joined(&path.words, " ", |w| w.text.to_string()),
    };
    for of in &path.of {
        text.push_str(&format!(" of {}", of.text));
    }
    text
}

/// A list of members.
pub fn list(list: &ListRef) -> String {
    let mut text = joined(&list.words, " ", |w| w.text.to_string());
    for of in &list.of {
        text.push_str(&format!(" of {}", of.text));
    }
    text
}

/// How tightly an expression holds together: sums, products, the rest.
fn level(expr: &Expr) -> u8 {
    match &expr.kind {
        ExprKind::Rounded(..) => 0,
        ExprKind::Binary(Binary::Add | Binary::Sub, ..) => 1,
        ExprKind::Binary(Binary::Mul | Binary::Div, ..) => 2,
        ExprKind::Beyond(..) | ExprKind::PerOrFraction(..) => 3,
        ExprKind::Fold { filter: Some(_), .. } => 0,
        ExprKind::Provided(..) | ExprKind::Each { .. } => 0,
        _ => 4,
    }
}

fn within(inner: &Expr, least: u8) -> String {
    if level(inner) < least { format!("({})", expr(inner)) } else { expr(inner) }
}

fn atom(expr: &Expr) -> String {
    match &expr.kind {
        ExprKind::Quantity(_) | ExprKind::Lookup { .. } => self::expr(expr),
        _ => format!("({})", self::expr(expr)),
    }
}

/// An expression.
pub fn expr(expr: &Expr) -> String {
    match &expr.kind {
        ExprKind::Quantity(whole) => quantity(whole),
        ExprKind::Worded(name) | ExprKind::Date(name) => name.text.to_string(),
        ExprKind::Path(words) => path(words),
        ExprKind::Lookup { table, keys, across } => {
            let mut text = format!("table {}", table.text);
            for (at, key) in keys.iter().enumerate() {
                let word = match (at, *across && at + 1 == keys.len()) {
                    (_, true) => "across",
                    (0, false) => "at",
                    (_, false) => "and",
                };
                text.push_str(&format!(" {word} {}", self::expr(key)));
            }
            text
        }
        ExprKind::Fold { fold, field, list: of, filter } => {
            let word = match fold {
                Fold::Count => "count of",
                Fold::Sum => "sum of",
                Fold::Largest => "largest",
                Fold::Smallest => "smallest",
            };
            let field = field.as_ref().map_or_else(String::new, |f| format!("{} of ", path(f)));
            let filter = filter.as_ref().map_or_else(String::new, |f| format!(" where {}", clauses(f)));
            format!("{word} {field}{}{filter}", list(of))
        }
        ExprKind::Binary(binary, left, right) => {
            let (sign, own) = match binary {
                Binary::Add => ("+", 1),
                Binary::Sub => ("-", 1),
                Binary::Mul => ("x", 2),
                Binary::Div => ("/", 2),
            };
            format!("{} {sign} {}", within(left, own), within(right, own + 1))
        }
        ExprKind::Beyond(left, right) => format!("{} beyond {}", within(left, 3), within(right, 4)),
        ExprKind::PerOrFraction(left, right) => format!("{} per {} or fraction", within(left, 3), within(right, 4)),
        ExprKind::Rounded(inner, rounding) => {
            let how = match rounding {
                Rounding::Up => "up".to_string(),
                Rounding::Down => "down".to_string(),
                Rounding::UpFrom(number) => format!("up from {}", number.text),
            };
            format!("{} rounded {how}", within(inner, 1))
        }
        ExprKind::Clauses(inner) => format!("({})", clauses(inner)),
        ExprKind::Either(which, one, two) => {
            let word = match which {
                Extreme::Larger => "larger",
                Extreme::Smaller => "smaller",
            };
            format!("{word} of {} and {}", key(one), key(two))
        }
        ExprKind::Next { series, way, of } => {
            format!("next of series {} {} {}", series.text, way_words(*way), key(of))
        }
        ExprKind::FirstRow { table, keys, across, bound, limit } => {
            let mut text = format!("first row of table {}", table.text);
            for (at, one) in keys.iter().enumerate() {
                text.push_str(&format!(" {} {}", if at == 0 { "at" } else { "and" }, key(one)));
            }
            if let Some(column) = across {
                text.push_str(&format!(" across {}", key(column)));
            }
            format!("{text} where {} {}", bound_words(*bound), key(limit))
        }
        ExprKind::Provided(inner, case, otherwise) => {
            let mut text = format!("{} if {}", self::expr(inner), clauses(case));
            if let Some(other) = otherwise {
                text.push_str(&format!(", otherwise {}", self::expr(other)));
            }
            text
        }
        ExprKind::Each { list: of, filter, of: inner } => {
            let filter = filter.as_ref().map_or_else(String::new, |f| format!(" where {}", clauses(f)));
            format!("each {}{filter}: {}", list(of), self::expr(inner))
        }
    }
}

/// An operand that stands as it is, or in parentheses.
fn key(expr: &Expr) -> String {
    match &expr.kind {
        ExprKind::Quantity(_) | ExprKind::Worded(_) | ExprKind::Path(_) | ExprKind::Clauses(_) => self::expr(expr),
        _ => format!("({})", self::expr(expr)),
    }
}

/// Where a series is entered.
pub fn way_words(way: Way) -> &'static str {
    match way {
        Way::Above => "above",
        Way::AtOrAbove => "at or above",
        Way::Below => "below",
        Way::AtOrBelow => "at or below",
    }
}

/// The key of a row or column.
pub fn cell_key(key: &CellKey) -> String {
    match key {
        CellKey::Values(all) => values(all),
        CellKey::UpTo(end) => format!("up to {}", value(end)),
        CellKey::Over(end) => format!("over {}", value(end)),
    }
}

/// A cell.
pub fn cell(cell: Option<&Value>) -> String {
    cell.map_or_else(|| "-".to_string(), value)
}

/// Labels: `(A)`, `(2)(c)`.
pub fn labels(labels: &[Name]) -> String {
    labels.iter().map(|l| format!("({})", l.text)).collect()
}

/// Which items are enough.
pub fn enough(runs: &[Vec<Name>]) -> String {
    joined(runs, " or ", |run| labels(run))
}

/// A statement on one line. A paragraph is told by its labels and title alone.
pub fn statement(statement: &Statement) -> String {
    match &statement.kind {
        StatementKind::Marks => String::new(),
        StatementKind::Paragraph { labels: own, name, title, body } => {
            let reserved = if body.is_none() { " reserved" } else { "" };
            format!("{}{}{}{reserved}", labels(own), named(name.as_ref()), titled(title.as_deref()))
        }
        StatementKind::Governs { thing, owner: Some(owner) } => {
            format!("governs each {} of {}", thing.text, owner.text)
        }
        StatementKind::Governs { thing, owner: None } => format!("governs {}", thing.text),
        StatementKind::When(case) => format!("when {}", clauses(case)),
        StatementKind::AlsoWhen(case) => format!("also when {}", clauses(case)),
        StatementKind::Different(halves) => format!("requires different {{ {} }}", joined(halves, "; ", half)),
        StatementKind::Requires(asked, triggers) => {
            format!("requires {}{}", clauses(asked), triggered(triggers.as_ref()))
        }
        StatementKind::Prohibits(asked, triggers) => {
            format!("prohibits {}{}", clauses(asked), triggered(triggers.as_ref()))
        }
        StatementKind::PermitsAs { thing, kind, clauses: case } => {
            format!("permits {} as {}, {}", thing.text, kind.text, clauses(case))
        }
        StatementKind::PermitsOnly(asked) => format!("permits only {}", clauses(asked)),
        StatementKind::Permits(case, Some(lifted)) => {
            format!("permits {} notwithstanding {}", clauses(case), lifted.text)
        }
        StatementKind::Permits(case, None) => format!("permits {}", clauses(case)),
        StatementKind::Notes(text) => format!("notes \"{text}\""),
        StatementKind::IfProvided(what, asked) => format!("if provided {}, requires {}", path(what), clauses(asked)),
        StatementKind::Unless(head, case, alternative) => {
            format!("unless {} when {}{}", exception_head(head), clauses(case), enough_instead(alternative.as_ref()))
        }
        StatementKind::Exception(head, case, instead) => {
            format!("{} when {} instead requires {}", exception_head(head), clauses(case), clauses(instead))
        }
        StatementKind::Modifies(what, case, instead) => {
            format!("modifies {} when {} instead requires {}", what.text, clauses(case), clauses(instead))
        }
        StatementKind::Waives(what, Some(case)) => format!("waives {} when {}", what.text, clauses(case)),
        StatementKind::Waives(what, None) => format!("waives {}", what.text),
        StatementKind::Tally(name, of, filter) => {
            let filter = filter.as_ref().map_or_else(String::new, |f| format!(" where {}", clauses(f)));
            format!("tally {} = {}{filter}", name.text, list(of))
        }
    }
}

fn triggered(triggers: Option<&Items>) -> String {
    triggers.map_or_else(String::new, |t| format!(" where any of {}", items(t)))
}

/// ` as name`, or nothing.
pub(super) fn named(name: Option<&Name>) -> String {
    name.map_or_else(String::new, |n| format!(" as {}", n.text))
}

/// ` "Title"`, or nothing.
pub(super) fn titled(title: Option<&str>) -> String {
    title.map_or_else(String::new, |t| format!(" \"{t}\""))
}

/// One half of a pair.
pub fn half(half: &Half) -> String {
    let head = format!("({}) {} {}", half.label.text, half.thing.text, half.slot.text);
    match (&half.kind, &half.clauses) {
        (Some(kind), Some(more)) => format!("{head} of kind {}, {}", kind.text, clauses(more)),
        (Some(kind), None) => format!("{head} of kind {}", kind.text),
        (None, Some(more)) => format!("{head} where {}", clauses(more)),
        (None, None) => head,
    }
}

/// The head of an exception: `Ex. 2 to (3), (5) as name, not counted toward 210.52(G),`.
pub fn exception_head(head: &ExceptionHead) -> String {
    let mut text = "Ex.".to_string();
    if let Some(number) = &head.number {
        text.push_str(&format!(" {}", number.text));
    }
    if !head.to.is_empty() {
        text.push_str(&format!(" to {}", joined(&head.to, ", ", |run| labels(run))));
    }
    text.push_str(&named(head.name.as_ref()));
    if let Some(toward) = &head.uncounted {
        text.push_str(&format!(", not counted toward {},", toward.text));
    }
    text
}

/// ` then … is enough`, or nothing.
fn enough_instead(alternative: Option<&Enough>) -> String {
    match alternative {
        Some(Enough::Labels(runs, _)) => format!(" then {} is enough", enough(runs)),
        Some(Enough::Clauses(said)) => format!(" then {} is enough", clauses(said)),
        None => String::new(),
    }
}

/// Source marks as they end a line, two blanks apart; only those that can be written.
pub fn marks(marks: &[Mark]) -> String {
    let written: Vec<String> = marks
        .iter()
        .filter_map(|mark| match mark {
            Mark::Seen(source) => Some(format!("seen \"{source}\"")),
            Mark::Memory => Some("memory".to_string()),
            Mark::Disputed(how) => Some(format!("disputed \"{how}\"")),
            Mark::Unchecked(_) => None,
        })
        .collect();
    written.join("  ")
}

/// A value in a change.
pub fn change_value(value: &ChangeValue) -> String {
    match value {
        ChangeValue::Bound(bound, limit, _) => format!("{} {}", bound_words(*bound), expr(limit)),
        ChangeValue::Values(all, _) => values(all),
    }
}

/// A row of a table.
pub fn row(row: &TableRow) -> String {
    let keys = joined(&row.keys, ", ", cell_key);
    let cells: String = row.cells.iter().map(|(own, _)| format!(" | {}", cell(own.as_ref()))).collect();
    format!("{keys}{cells}")
}

/// A line of an amount, without its marks.
pub fn amount_line(line: &AmountLine) -> String {
    let label = line.label.as_ref().map_or_else(String::new, |l| format!("({}) ", l.text));
    let name = line.name.as_ref().map_or_else(String::new, |n| format!("as {}: ", n.text));
    format!("{label}{name}{}", expr(&line.expr))
}
