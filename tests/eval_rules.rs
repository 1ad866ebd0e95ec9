//! Each rule of the meaning on the smallest book that shows it. Expected answers follow from the rules as stated in the
//! documentation of the language; no outside source.

mod eval_build;

use eval_build::*;
use whereas::base::number::Number;
use whereas::eval::*;
use whereas::facts::installation::Standing;
use whereas::ir::program::*;
use whereas::ir::schema::{DomainId, NO, YES};

fn outcome(book: &Book, draft: &Draft, duty: DutyId) -> Outcome {
    let (inst, subject) = draft.build();
    judge(&book.program, &inst, &Choices::none(&book.program), duty, subject)
}

fn verdict(book: &Book, draft: BoxDraft, duty: DutyId) -> Verdict {
    outcome(book, &Draft::one(draft), duty).verdict
}

fn why(book: &Book, draft: BoxDraft, duty: DutyId) -> Explanation {
    let (inst, subject) = Draft::one(draft).build();
    explain(&book.program, &inst, &Choices::none(&book.program), duty, subject)
}

fn closed() -> BoxDraft {
    BoxDraft { open: false, ..BoxDraft::unknown() }
}

fn with_parts(parts: &[PartDraft]) -> BoxDraft {
    BoxDraft { parts: parts.to_vec(), ..closed() }
}

fn long(length: i64) -> PartDraft {
    PartDraft { length: Bounds::exactly(length), ..PartDraft::unknown() }
}

const RED: u128 = 1;
const GREEN: u128 = 2;
const BLUE: u128 = 4;

use Verdict::{ForTheAuthority, Met, NotApplicable, NotMet, Undecided};

#[test]
fn a_set_of_values() {
    let mut book = Book::new();
    let test = book.is_in(box_place(of_box::COLOR), RED | GREEN);
    let duty = book.demand(test);
    let color = |set, absent| BoxDraft { color: Known { set, absent }, ..closed() };
    assert_eq!(verdict(&book, color(RED, false), duty), Met);
    assert_eq!(verdict(&book, color(RED | GREEN, false), duty), Met);
    assert_eq!(verdict(&book, color(BLUE, false), duty), NotMet);
    assert_eq!(verdict(&book, color(GREEN | BLUE, false), duty), Undecided);
    // Absent compares false, so perhaps absent is never certain.
    assert_eq!(verdict(&book, color(RED, true), duty), Undecided);
    assert_eq!(verdict(&book, color(BLUE, true), duty), NotMet);
    assert_eq!(verdict(&book, color(0, false), duty), NotMet);
}

#[test]
fn an_unknown_field_that_allows_all_or_no_values() {
    let mut book = Book::new();
    let any = book.is_in(box_place(of_box::READY), YES | NO);
    let any = book.demand(any);
    let none = book.is_in(box_place(of_box::READY), 0);
    let none = book.demand(none);
    let colored = book.is_in(box_place(of_box::COLOR), RED | GREEN | BLUE);
    let colored = book.demand(colored);
    assert_eq!(verdict(&book, closed(), any), Met);
    assert_eq!(verdict(&book, closed(), none), NotMet);
    assert_eq!(verdict(&book, closed(), colored), Undecided);
}

#[test]
fn absent_values_compare_false_both_ways() {
    let mut book = Book::new();
    let at_most = book.test(Test::CompareConst(box_place(of_box::HEIGHT), Compare::AtMost, Number::from(2)));
    let more = book.test(Test::CompareConst(box_place(of_box::HEIGHT), Compare::MoreThan, Number::from(2)));
    let not_at_most = book.not(at_most);
    let none = book.test(Test::IsNone(box_place(of_box::HEIGHT)));
    let duties = [at_most, more, not_at_most, none].map(|test| book.demand(test));
    let absent = BoxDraft { height: Bounds { there: false, ..Bounds::ANY }, ..closed() };
    assert_eq!(duties.map(|duty| verdict(&book, absent.clone(), duty)), [NotMet, NotMet, Met, Met]);
    let perhaps = BoxDraft { height: Bounds::exactly(1).or_absent(), ..closed() };
    assert_eq!(duties.map(|duty| verdict(&book, perhaps.clone(), duty)), [Undecided, NotMet, Undecided, Undecided]);
    let there = BoxDraft { height: Bounds::exactly(3), ..closed() };
    assert_eq!(duties.map(|duty| verdict(&book, there.clone(), duty)), [NotMet, Met, Met, NotMet]);
}

#[test]
fn ranges_decide_where_all_values_agree() {
    let mut book = Book::new();
    let duties =
        [Compare::AtLeast, Compare::MoreThan, Compare::AtMost, Compare::LessThan, Compare::Equal].map(|compare| {
            let test = book.test(Test::CompareConst(box_place(of_box::VOLUME), compare, Number::from(2)));
            book.demand(test)
        });
    let volume = |volume| BoxDraft { volume, ..closed() };
    let all = |draft: BoxDraft| duties.map(|duty| verdict(&book, draft.clone(), duty));
    assert_eq!(all(volume(Bounds::between(2, 4))), [Met, Undecided, Undecided, NotMet, Undecided]);
    assert_eq!(all(volume(Bounds::at_least(3))), [Met, Met, NotMet, NotMet, NotMet]);
    assert_eq!(all(volume(Bounds::exactly(2))), [Met, NotMet, Met, NotMet, Met]);
    // Never negative, so unknown is at least nought.
    let test = book.test(Test::CompareConst(box_place(of_box::VOLUME), Compare::AtLeast, Number::ZERO));
    let duty = book.demand(test);
    assert_eq!(verdict(&book, closed(), duty), Met);
}

#[test]
fn references() {
    let mut book = Book::new();
    let new = book.is_in(circuit_place(of_circuit::NEW), YES);
    let duty = book.demand(new);
    let not_new = book.not(new);
    let not_new = book.demand(not_new);
    let draft = |set, absent, first, second| {
        let mut draft = Draft::one(BoxDraft { circuit: Known { set, absent }, ..closed() });
        draft.circuits[0].new = first;
        draft.circuits[1].new = second;
        draft
    };
    let ask = |draft: Draft, duty| outcome(&book, &draft, duty).verdict;
    assert_eq!(ask(draft(1, false, YES, NO), duty), Met);
    assert_eq!(ask(draft(2, false, YES, NO), duty), NotMet);
    assert_eq!(ask(draft(3, false, YES, YES), duty), Met);
    assert_eq!(ask(draft(3, false, YES, NO), duty), Undecided);
    assert_eq!(ask(draft(3, true, NO, NO), duty), Undecided);
    // A field of an absent reference is absent.
    assert_eq!(ask(draft(0, false, YES, YES), duty), NotMet);
    assert_eq!(ask(draft(0, false, YES, YES), not_new), Met);
    let asked = why(&book, closed(), duty);
    assert_eq!(asked.missing.iter().map(|m| m.name.as_str()).collect::<Vec<_>>(), ["circuit"]);
}

#[test]
fn some_every_and_no_over_an_open_list() {
    let mut book = Book::new();
    let listed = book.is_in(part_place(of_part::LISTED), YES);
    let some = book.test(Test::Some(parts(None), listed));
    let every = book.test(Test::Every(parts(None), listed));
    let no = book.not(some);
    let duties = [some, every, no].map(|test| book.demand(test));
    let ask = |parts: &[u128], open| {
        let parts: Vec<PartDraft> = parts.iter().map(|set| PartDraft::listed(*set)).collect();
        let draft = BoxDraft { open, ..with_parts(&parts) };
        duties.map(|duty| verdict(&book, draft.clone(), duty))
    };
    assert_eq!(ask(&[], false), [NotMet, Met, Met]);
    assert_eq!(ask(&[], true), [Undecided, Undecided, Undecided]);
    assert_eq!(ask(&[YES], false), [Met, Met, NotMet]);
    assert_eq!(ask(&[YES], true), [Met, Undecided, NotMet]);
    assert_eq!(ask(&[NO], true), [Undecided, NotMet, Undecided]);
    assert_eq!(ask(&[YES | NO, NO], false), [Undecided, NotMet, Undecided]);
}

#[test]
fn counting() {
    let mut book = Book::new();
    let listed = book.is_in(part_place(of_part::LISTED), YES);
    let two = book.number(2);
    let duties = [Compare::AtLeast, Compare::AtMost, Compare::Equal].map(|compare| {
        let test = book.test(Test::Count(parts(None), listed, compare, two));
        book.demand(test)
    });
    let ask = |parts: &[u128], open| {
        let parts: Vec<PartDraft> = parts.iter().map(|set| PartDraft::listed(*set)).collect();
        let draft = BoxDraft { open, ..with_parts(&parts) };
        duties.map(|duty| verdict(&book, draft.clone(), duty))
    };
    assert_eq!(ask(&[YES, YES], false), [Met, Met, Met]);
    assert_eq!(ask(&[YES, YES], true), [Met, Undecided, Undecided]);
    assert_eq!(ask(&[YES, YES, YES], true), [Met, NotMet, NotMet]);
    assert_eq!(ask(&[YES, YES | NO], false), [Undecided, Met, Undecided]);
    assert_eq!(ask(&[NO, NO], true), [Undecided, Undecided, Undecided]);
}

#[test]
fn a_list_that_has_at_least_one_member() {
    let mut book = Book::new();
    book.program.schema.things[1].fields[6].at_least = 1;
    let always = book.always();
    let some = book.test(Test::Some(parts(None), always));
    let duty = book.demand(some);
    assert_eq!(verdict(&book, BoxDraft::unknown(), duty), Met);
}

#[test]
fn sums_and_extremes() {
    let mut book = Book::new();
    let length = book.read(part_place(of_part::LENGTH));
    let sum = book.expr(Expr::Sum { list: parts(None), of: length, never_negative: true });
    let largest = book.expr(Expr::Largest(parts(None), length));
    let smallest = book.expr(Expr::Smallest(parts(None), length));
    let six = book.number(6);
    let mut demand = |expr, compare| {
        let test = book.compare(expr, compare, six);
        book.demand(test)
    };
    let duties = [
        demand(sum, Compare::AtMost),
        demand(sum, Compare::AtLeast),
        demand(largest, Compare::AtLeast),
        demand(smallest, Compare::AtMost),
    ];
    let ask = |parts: &[PartDraft], open| {
        let draft = BoxDraft { open, ..with_parts(parts) };
        duties.map(|duty| verdict(&book, draft.clone(), duty))
    };
    assert_eq!(ask(&[long(2), long(3)], false), [Met, NotMet, NotMet, Met]);
    assert_eq!(ask(&[long(2), long(3)], true), [Undecided, Undecided, Undecided, Met]);
    assert_eq!(ask(&[long(2), long(7)], true), [NotMet, Met, Met, Met]);
    assert_eq!(ask(&[long(7), PartDraft::unknown()], false), [NotMet, Met, Met, Undecided]);
    // The sum of nothing is nought; the largest of nothing is a gap, with no fact to ask for.
    let empty = outcome(&book, &Draft::one(closed()), duties[2]);
    assert_eq!((empty.verdict, empty.lack), (Undecided, Lack::GAP));
    assert!(why(&book, closed(), duties[2]).missing.is_empty());
    assert_eq!(ask(&[], false)[..2], [Met, NotMet]);
}

#[test]
fn division_by_nought_is_a_gap() {
    let mut book = Book::new();
    let volume = book.read(box_place(of_box::VOLUME));
    let one = book.number(1);
    let quotient = book.expr(Expr::Div(one, volume));
    let zero = book.number(0);
    let test = book.compare(quotient, Compare::AtLeast, zero);
    let duty = book.demand(test);
    let ask = |volume| outcome(&book, &Draft::one(BoxDraft { volume, ..closed() }), duty);
    assert_eq!(ask(Bounds::exactly(2)).verdict, Met);
    assert_eq!(ask(Bounds::exactly(0)).lack, Lack::GAP);
    // Not negative in any completion, but one completion is a gap.
    assert_eq!(ask(Bounds::at_least(0)).verdict, Undecided);
    assert_eq!(ask(Bounds::at_least(1)).verdict, Met);
}

#[test]
fn rounding_keeps_ends_exact() {
    let mut book = Book::new();
    let volume = book.read(box_place(of_box::VOLUME));
    let half = book.expr(Expr::Number(Number::decimal(5, 1)));
    let halved = book.expr(Expr::Mul(volume, half));
    let up = book.expr(Expr::RoundUp(halved));
    let from = book.expr(Expr::RoundUpFrom(halved, Number::decimal(8, 1)));
    let two = book.number(2);
    let up = book.compare(up, Compare::Equal, two);
    let from = book.compare(from, Compare::Equal, two);
    let (up, from) = (book.demand(up), book.demand(from));
    let at = |volume| BoxDraft { volume, ..closed() };
    assert_eq!(verdict(&book, at(Bounds::exactly(3)), up), Met);
    assert_eq!(verdict(&book, at(Bounds::between(3, 4)), up), Met);
    assert_eq!(verdict(&book, at(Bounds::exactly(3)), from), NotMet);
    assert_eq!(verdict(&book, at(Bounds::between(4, 5)), from), Met);
}

#[test]
fn different_paths_need_members_of_their_own() {
    let mut book = Book::new();
    let listed = book.is_in(part_place(of_part::LISTED), YES);
    let large = book.is_in(part_place(of_part::SIZE), 4);
    let test = book.test(Test::Different(Box::new([(parts(None), listed), (parts(None), large)])));
    let duty = book.demand(test);
    let part = |listed, size| PartDraft { listed, size, ..PartDraft::unknown() };
    let ask = |parts: &[PartDraft]| verdict(&book, with_parts(parts), duty);
    assert_eq!(ask(&[part(YES, 4)]), NotMet);
    assert_eq!(ask(&[part(YES, 4), part(NO, 1)]), NotMet);
    assert_eq!(ask(&[part(YES, 4), part(YES, 1)]), Met);
    assert_eq!(ask(&[part(YES, 4), part(YES | NO, 1)]), Undecided);
    // Each half may be served by the doubtful one, both cannot.
    assert_eq!(ask(&[part(YES | NO, 7)]), NotMet);
    // The other member need not be known to be the one that helps: either way the two halves are served.
    assert_eq!(ask(&[part(YES, 4), part(YES, 4), part(NO, 7)]), Met);
    let open = BoxDraft { open: true, ..with_parts(&[part(YES, 4)]) };
    assert_eq!(verdict(&book, open, duty), Undecided);
    let told = why(&book, with_parts(&[part(YES, 4)]), duty);
    assert!(
        told.because[0].found_opt().is_some_and(|found| found.contains("would have to serve for all of them at once"))
    );
    assert_eq!(told.because[0].parts.len(), 2);
}

#[test]
fn a_replacement_whose_case_is_unknown_counts_if_both_branches_agree() {
    let mut book = Book::new();
    let case = book.is_in(box_place(of_box::READY), YES);
    let then = book.is_in(box_place(of_box::COLOR), RED);
    let otherwise = book.is_in(box_place(of_box::COLOR), RED | GREEN);
    let test = book.test(Test::Choose { case, then, otherwise });
    let duty = book.demand(test);
    let color = |set| BoxDraft { color: Known { set, absent: false }, ..closed() };
    assert_eq!(verdict(&book, color(RED), duty), Met);
    assert_eq!(verdict(&book, color(GREEN), duty), Undecided);
    assert_eq!(verdict(&book, color(BLUE), duty), NotMet);
}

#[test]
fn the_normal_form() {
    let mut book = Book::new();
    let ready = book.is_in(box_place(of_box::READY), YES);
    let red = book.is_in(box_place(of_box::COLOR), RED);
    let green = book.is_in(box_place(of_box::COLOR), GREEN);
    let duty = book.duty(ready, red, &[green]);
    let ask = |ready, set| {
        let draft = BoxDraft { ready, color: Known { set, absent: false }, ..closed() };
        outcome(&book, &Draft::one(draft), duty)
    };
    assert_eq!(ask(NO, BLUE).verdict, NotApplicable);
    assert_eq!(ask(YES, RED).by, Some(By::Main));
    assert_eq!((ask(YES, GREEN).verdict, ask(YES, GREEN).by), (Met, Some(By::Relief(0))));
    assert_eq!(ask(YES, BLUE).verdict, NotMet);
    assert_eq!((ask(3, RED).verdict, ask(3, RED).lean), (Undecided, Lean::NoViolationPossible));
    assert_eq!((ask(3, BLUE).verdict, ask(3, BLUE).lean), (Undecided, Lean::ViolatedIfItApplies));
    assert_eq!((ask(3, 7).verdict, ask(3, 7).lean), (Undecided, Lean::None));
    // What settles alone comes first: that it does not apply.
    let asked = why(&book, closed(), duty);
    assert_eq!(asked.missing.iter().map(|m| m.name.as_str()).collect::<Vec<_>>(), ["ready", "color"]);
    let excused = why(&book, BoxDraft { ready: YES, color: Known { set: GREEN, absent: false }, ..closed() }, duty);
    let _roles: Vec<&Role> = excused.because.iter().map(|reason| &reason.role).collect();
    let relied: Vec<(&str, &str)> = excused.relied_on.iter().map(|r| (r.name.as_str(), r.value.as_str())).collect();
    assert_eq!(relied, [("ready", "yes"), ("color", "green")]);
}

#[test]
fn only_judgments_missing() {
    let mut book = Book::new();
    let suitable = book.is_in(box_place(of_box::SUITABLE), YES);
    let ready = book.is_in(box_place(of_box::READY), YES);
    let both = book.all(&[suitable, ready]);
    let duty = book.demand(both);
    assert_eq!(verdict(&book, BoxDraft { ready: YES, ..closed() }, duty), ForTheAuthority);
    assert_eq!(verdict(&book, closed(), duty), Undecided);
    let asked = why(&book, BoxDraft { ready: YES, ..closed() }, duty);
    assert_eq!(asked.missing[0].judgment.as_deref(), Some("the authority"));
}

#[test]
fn readings_nobody_chose() {
    let mut book = Book::new();
    let reading = book.reading(2);
    let red = book.is_in(box_place(of_box::COLOR), RED);
    let green = book.is_in(box_place(of_box::COLOR), RED | GREEN);
    let test = book.test(Test::Reading(reading, Box::new([red, green])));
    let not = book.not(test);
    let either = book.any(&[test, not]);
    let (duty, either) = (book.demand(test), book.demand(either));
    for duty in &mut book.program.duties {
        duty.readings = Box::new([reading]);
    }
    let color = |set| BoxDraft { color: Known { set, absent: false }, ..closed() };
    assert_eq!(verdict(&book, color(RED), duty), Met);
    assert_eq!(verdict(&book, color(BLUE), duty), NotMet);
    let differ = outcome(&book, &Draft::one(color(GREEN)), duty);
    assert_eq!((differ.verdict, differ.lack), (Undecided, Lack::READING));
    // The text differs, the verdict does not.
    assert_eq!(verdict(&book, color(GREEN), either), Met);
    let told = why(&book, color(GREEN), duty);
    assert_eq!(told.readings.iter().map(|r| r.verdict).collect::<Vec<_>>(), [NotMet, Met]);
    let mut choices = Choices::none(&book.program);
    choices.set(0, 1);
    let (inst, subject) = Draft::one(color(GREEN)).build();
    assert_eq!(judge(&book.program, &inst, &choices, duty, subject).verdict, Met);
}

fn numbers(low: Option<i64>, high: Option<i64>) -> RowKey {
    RowKey::Numbers(vec![(low.map(Number::from), high.map(Number::from))])
}

fn table(mode: RowMode, rows: &[(RowKey, i64)], closed: bool) -> Table {
    Table {
        address: "1".to_string(),
        title: String::new(),
        keys: vec![TableKey { name: "volume".to_string(), domain: None, mode }],
        across: false,
        columns: vec![RowKey::Set(0)],
        rows: rows
            .iter()
            .map(|(key, cell)| TableRow {
                keys: vec![key.clone()],
                cells: vec![if *cell < 0 { CellValue::NotPermitted } else { CellValue::Number(Number::from(*cell)) }],
                origin: OriginId(0),
            })
            .collect(),
        closed,
        gives: None,
        origin: OriginId(0),
    }
}

/// What a look-up by volume can be told to be: `at least` and `at most` the number.
fn looked_up(table: Table, volume: Bounds, number: i64) -> (Outcome, Outcome) {
    let mut book = Book::new();
    let id = book.table(table);
    let key = book.read(box_place(of_box::VOLUME));
    let found = book.expr(Expr::Lookup(id, Box::new([key])));
    let number = book.number(number);
    let low = book.compare(found, Compare::AtLeast, number);
    let high = book.compare(found, Compare::AtMost, number);
    let (low, high) = (book.demand(low), book.demand(high));
    let draft = Draft::one(BoxDraft { volume, ..closed() });
    (outcome(&book, &draft, low), outcome(&book, &draft, high))
}

#[test]
fn tables_up_to() {
    let up_to = || {
        let rows = [
            (numbers(Some(150), Some(150)), 3),
            (numbers(Some(600), Some(600)), 4),
            (RowKey::Over(Number::from(600)), 5),
        ];
        table(RowMode::NextUp, &rows, false)
    };
    let verdicts = |volume, number| {
        let (low, high) = looked_up(up_to(), volume, number);
        (low.verdict, high.verdict)
    };
    assert_eq!(verdicts(Bounds::exactly(0), 3), (Met, Met));
    assert_eq!(verdicts(Bounds::exactly(150), 3), (Met, Met));
    assert_eq!(verdicts(Bounds::exactly(151), 4), (Met, Met));
    assert_eq!(verdicts(Bounds::exactly(601), 5), (Met, Met));
    // An unknown key ranges over the rows still possible.
    assert_eq!(verdicts(Bounds::between(100, 400), 3), (Met, Undecided));
    assert_eq!(verdicts(Bounds::between(100, 400), 4), (Undecided, Met));
    assert_eq!(verdicts(Bounds::at_least(0), 2), (Met, NotMet));
}

#[test]
fn tables_exact_and_next_down() {
    let rows = [(numbers(Some(1), Some(2)), 10), (numbers(Some(4), Some(4)), -1), (numbers(Some(5), Some(6)), 10)];
    let exact = || table(RowMode::Exact, &rows, false);
    let verdict = |volume| looked_up(exact(), volume, 10).0;
    assert_eq!(verdict(Bounds::exactly(2)).verdict, Met);
    assert_eq!(verdict(Bounds::exactly(3)).lack, Lack::GAP);
    // Not permitted reads as absent.
    assert_eq!(verdict(Bounds::exactly(4)).verdict, NotMet);
    assert_eq!(verdict(Bounds::between(1, 2)).verdict, Met);
    // Between two rows that agree lies what no row covers.
    assert_eq!(verdict(Bounds::between(1, 6)).verdict, Undecided);
    // Outside a closed table nothing is permitted.
    let outside = looked_up(table(RowMode::Exact, &rows, true), Bounds::exactly(3), 10).0;
    assert_eq!(outside.verdict, NotMet);
    let down = || table(RowMode::NextDown, &[(numbers(Some(2), Some(2)), 1), (numbers(Some(5), Some(5)), 2)], false);
    assert_eq!(looked_up(down(), Bounds::exactly(4), 1).1.verdict, Met);
    assert_eq!(looked_up(down(), Bounds::exactly(9), 2).0.verdict, Met);
    assert_eq!(looked_up(down(), Bounds::exactly(1), 1).0.lack, Lack::GAP);
}

/// NEC 110.26(A)(1): depths 3 ft, 3 1/2 ft and 4 ft by condition, 151 to 600 volts to ground (values as printed).
#[test]
fn a_table_across_decides_before_the_column_is_known() {
    let mut book = Book::new();
    let row = |up_to: i64, cells: [Number; 3]| TableRow {
        keys: vec![numbers(Some(up_to), Some(up_to))],
        cells: cells.into_iter().map(CellValue::Number).collect(),
        origin: OriginId(0),
    };
    let id = book.table(Table {
        keys: vec![
            TableKey { name: "volts".to_string(), domain: None, mode: RowMode::NextUp },
            TableKey { name: "facing".to_string(), domain: Some(DomainId(0)), mode: RowMode::Exact },
        ],
        across: true,
        columns: vec![RowKey::Set(RED), RowKey::Set(GREEN), RowKey::Set(BLUE)],
        rows: vec![
            row(150, [Number::from(3), Number::from(3), Number::from(3)]),
            row(600, [Number::from(3), Number::decimal(35, 1), Number::from(4)]),
        ],
        ..table(RowMode::NextUp, &[], false)
    });
    let volts = book.read(box_place(of_box::VOLUME));
    let facing = book.read(box_place(of_box::COLOR));
    let depth = book.read(box_place(of_box::HEIGHT));
    let needed = book.expr(Expr::Lookup(id, Box::new([volts, facing])));
    let test = book.compare(depth, Compare::AtLeast, needed);
    let duty = book.demand(test);
    let at = |halves: i64| BoxDraft {
        volume: Bounds::exactly(277),
        color: Known { set: RED | GREEN, absent: false },
        height: Bounds { low: Some(halves), high: Some(halves), ..Bounds::ANY },
        ..closed()
    };
    assert_eq!(verdict(&book, at(7), duty), Met);
    assert_eq!(verdict(&book, at(6), duty), Undecided);
    assert_eq!(verdict(&book, at(5), duty), NotMet);
    let asked = why(&book, at(6), duty);
    assert_eq!(asked.missing.iter().map(|m| m.name.as_str()).collect::<Vec<_>>(), ["color"]);
}

#[test]
fn possible_subjects_are_open_whatever_they_satisfy() {
    let mut book = Book::new();
    let always = book.always();
    let never = book.test(Test::Never);
    let met = book.demand(always);
    let none = book.duty(never, always, &[]);
    for duty in &mut book.program.duties {
        duty.subject = PART;
    }
    let (inst, _) = Draft::one(BoxDraft { parts: vec![PartDraft::unknown()], ..BoxDraft::unknown() }).build();
    let findings = inspect(&book.program, &inst, &Choices::none(&book.program));
    let seen: Vec<(DutyId, Standing, Verdict)> =
        findings.iter().map(|f| (f.duty, f.standing, f.outcome.verdict)).collect();
    assert_eq!(
        seen,
        [
            (met, Standing::Stated, Met),
            (met, Standing::Possible, Undecided),
            (none, Standing::Stated, NotApplicable),
            (none, Standing::Possible, NotApplicable),
        ]
    );
    assert_eq!(findings[1].outcome.lean, Lean::NoViolationPossible);
    let told = explain(&book.program, &inst, &Choices::none(&book.program), met, findings[1].subject);
    assert_eq!(told.missing.len(), 1);
    assert_eq!((told.missing[0].name.as_str(), told.missing[0].of.as_str()), ("parts", "B0"));
}

#[test]
fn a_computed_list_keeps_doubtful_members() {
    let mut book = Book::new();
    let ready = book.is_in(place(1, BOX, of_box::READY), YES);
    let boxes = List { place: circuit_place(of_circuit::BOXES), thing: BOX, var: 1, filter: None };
    let two = book.number(2);
    let test = book.test(Test::Count(boxes, ready, Compare::AtLeast, two));
    let duty = book.demand(test);
    let on = |set| BoxDraft { ready: YES, circuit: Known { set, absent: false }, ..closed() };
    let draft = |second| {
        let mut draft = Draft::one(on(1));
        draft.boxes.push(on(second));
        draft
    };
    assert_eq!(outcome(&book, &draft(1), duty).verdict, Met);
    assert_eq!(outcome(&book, &draft(2), duty).verdict, NotMet);
    assert_eq!(outcome(&book, &draft(3), duty).verdict, Undecided);
    let (inst, subject) = draft(3).build();
    let told = explain(&book.program, &inst, &Choices::none(&book.program), duty, subject);
    assert_eq!((told.missing[0].of.as_str(), told.missing[0].name.as_str()), ("B1", "circuit"));
}

#[test]
fn reasons_show_what_decides() {
    let mut book = Book::new();
    let ready = book.is_in(box_place(of_box::READY), YES);
    let rating = book.test(Test::CompareConst(circuit_place(of_circuit::RATING), Compare::AtMost, Number::from(20)));
    let height = book.test(Test::CompareConst(box_place(of_box::HEIGHT), Compare::AtLeast, Number::from(1)));
    let all = book.all(&[ready, rating, height]);
    let duty = book.demand(all);
    let mut draft = Draft::one(BoxDraft {
        ready: YES,
        circuit: Known { set: 1, absent: false },
        height: Bounds::exactly(2),
        ..closed()
    });
    draft.circuits[0].rating = Bounds::exactly(30);
    let (inst, subject) = draft.build();
    let told = explain(&book.program, &inst, &Choices::none(&book.program), duty, subject);
    assert_eq!(told.because.len(), 1);
    assert_eq!(told.because[0].found_opt(), Some("rating of C0 is 30 A"));
    assert_eq!(told.because[0].answer, Answer::No);
    assert!(told.missing.is_empty());
    assert_eq!(told.cites[0], "1.0");
    draft.circuits[0].rating = Bounds::between(15, 30);
    let (inst, subject) = draft.build();
    let told = explain(&book.program, &inst, &Choices::none(&book.program), duty, subject);
    assert_eq!(told.because[0].found_opt(), Some("rating of C0 is at least 15 A and at most 30 A"));
}

trait F {
    fn found_opt(&self) -> Option<&str>;
}
impl F for Reason {
    fn found_opt(&self) -> Option<&str> {
        Some(&self.found)
    }
}
