//! Seventeen cases that an overlay language must not get wrong, as far as composition decides them.
//!
//! Each is named T1 to T17 after the collection of public amendments that `tests/amendments/` draws on; its base books are
//! used. Four depend on more than composition and are tested where that is decided: T11, policies of layers, in `govern.rs`
//! (`last_wins_strictest_wins_and_no_deviation`, `without_a_policy_two_layers_on_one_part_are_an_error_with_both_places`); T12, which book
//! and grace periods, there too (`some_occupancies_stay_on_the_older_edition`, `the_choice_is_for_the_whole_project`,
//! `a_grace_period_is_a_choice_that_must_be_declared`); T13, rebasing, in `carry.rs`; T15, no worse than before, in `existing_work.rs`
//! and as row A13 of `tests/amendments/`.
#![allow(clippy::unwrap_used, clippy::panic)]

use std::path::Path;
use whereas::diag::{Diagnostics, Look, render};
use whereas::report;
use whereas::session::{self, FactsForm, Session};

/// Books with overlays on them, and what they say.
struct Books {
    session: Session,
}

fn books(overlays: &str) -> Books {
    let mut session = Session::empty();
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/amendments/base");
    for name in ["terms", "2005", "later"] {
        let text = std::fs::read(folder.join(format!("{name}.rulebook"))).unwrap();
        let found = session.add_rulebook(&format!("{name}.rulebook"), text);
        assert!(found.is_empty());
    }
    let found = session.add_rulebook("overlays", overlays.as_bytes().to_vec());
    assert!(found.is_empty(), "{}", render(&found, session.sources(), &Look::default()));
    Books { session }
}

impl Books {
    fn found(&self, under: &str) -> Diagnostics {
        self.session.open(under).1
    }

    fn codes(&self, under: &str) -> Vec<&'static str> {
        self.found(under).iter().map(|d| d.code.as_str()).collect()
    }

    fn history(&self, under: &str, address: &str) -> Vec<String> {
        let (composed, _) = self.session.compose(under);
        composed.history_of(address).into_iter().map(|(at, event)| format!("{at}: {}", event.what)).collect()
    }

    /// All verdicts, as `SECTION VERDICT`.
    fn verdicts(&self, under: &str, facts: &str) -> Vec<String> {
        let mut session = self.session.clone();
        let (program, mut found) = session.open(under);
        let (file, more) = session.read_facts("facts", facts.as_bytes().to_vec(), FactsForm::Native);
        found.extend(more);
        let (installation, more) = session.install(&program, &[file]);
        found.extend(more);
        assert!(!found.has_errors(), "{under}\n{}", render(&found, session.sources(), &Look::default()));
        let (choices, _) = session::choose(&program, &[]);
        let report = report::inspection(&program, &installation, &choices);
        report.verdicts.iter().map(|v| format!("{} {}", v.section, v.verdict)).collect()
    }

    /// The verdict of one section; `absent` if it demands nothing.
    fn says(&self, under: &str, section: &str, facts: &str) -> String {
        let all = self.verdicts(under, facts);
        let own: Vec<&str> =
            all.iter().filter_map(|v| v.strip_prefix(section).and_then(|rest| rest.strip_prefix(' '))).collect();
        own.iter().find(|v| **v == "not met").or(own.first()).map_or("absent", |v| v).to_string()
    }
}

fn receptacle(changed: &str) -> String {
    let fields = [
        ("occupancy", "one-family"),
        ("room", "garage"),
        ("finished", "no"),
        ("voltage", "125 V"),
        ("volts-to-ground", "120 V"),
        ("rating", "20 A"),
        ("three-phase", "no"),
        ("gfci", "none"),
        ("alarm-only", "no"),
        ("snow-melting", "no"),
        ("readily-accessible", "yes"),
        ("dedicated-appliance", "no"),
        ("has-sink", "no"),
        ("prepares-food", "no"),
        ("cooks", "no"),
    ];
    with(&fields, changed, "receptacle R")
}

fn outdoor_outlet(changed: &str) -> String {
    let fields = [
        ("occupancy", "one-family"),
        ("room", "outdoors"),
        ("three-phase", "no"),
        ("volts-to-ground", "120 V"),
        ("overcurrent", "30 A"),
        ("luminaire", "no"),
        ("gfci", "none"),
        ("inverter-driven", "no"),
    ];
    with(&fields, changed, "outlet O")
}

fn with(fields: &[(&str, &str)], changed: &str, head: &str) -> String {
    let mut own: Vec<(String, String)> = fields.iter().map(|(a, b)| (a.to_string(), b.to_string())).collect();
    for one in changed.split(", ").filter(|one| !one.is_empty()) {
        let (name, value) = one.split_once(": ").unwrap();
        match own.iter_mut().find(|(known, _)| known == name) {
            Some(known) => known.1 = value.to_string(),
            None => own.push((name.to_string(), value.to_string())),
        }
    }
    let fields: Vec<String> = own.iter().map(|(a, b)| format!("{a}: {b}")).collect();
    format!("{head} {{ {} }}\n", fields.join(", "))
}

/// T1, its half of composition: a name follows an exception through renumbering; a number that moved is refused, never
/// matched by chance.
#[test]
fn t1_an_exception_is_itself_whatever_its_number() {
    let books = books(
        "amendment by-name to nec 2020 { delete alarm-outlet }
         amendment by-name-later to nec 2023 { delete alarm-outlet }
         amendment by-number to nec 2020 { in 210.8(A): strike Ex. to (5) }
         amendment by-number-later to nec 2023 { in 210.8(A): strike Ex. to (5) }",
    );
    let alarm = receptacle("room: basement, alarm-only: yes");
    let snow = receptacle("room: outdoors, snow-melting: yes, readily-accessible: no");
    for (year, name) in [("2020", "by-name"), ("2020", "by-number"), ("2023", "by-name-later")] {
        assert_eq!(books.says(&format!("nec {year}"), "210.8(A)(5)", &alarm), "met");
        let under = format!("nec {year} with {name}");
        assert_eq!(books.says(&under, "210.8(A)(5)", &alarm), "not met");
        assert_eq!(books.says(&under, "210.8(A)(3)", &snow), "met", "the other exception stays");
    }
    let found = books.found("nec 2023 with by-number-later");
    let one: Vec<_> = found.iter().collect();
    assert_eq!(one.len(), 1);
    assert_eq!(one[0].code.as_str(), "E0701");
    assert_eq!(one[0].help.as_deref(), Some("it has Ex. 1 to (3), Ex. 2 to (5)"));
    assert!(books.found("nec 2023 with by-name").iter().any(|d| d.code.as_str() == "E0705"), "its base is declared");
}

/// T2: to strike words is not to fall back on an older edition.
#[test]
fn t2_striking_words_differs_from_using_older_text() {
    let books = books(
        "amendment struck to nec 2020 { in 210.8(A): voltage was 125 V through 250 V, now 125 V }
         amendment older to nec 2020 { use the scope of 210.8(A) of nec 2017 }
         amendment restated to nec 2020 {
             in 210.8(A): voltage was 125 V through 250 V, now 125 V
             in 210.8(A): add rating is 15 A or 20 A
         }",
    );
    let verdicts = |facts: &str| {
        ["struck", "older", "restated"].map(|name| books.says(&format!("nec 2020 with {name}"), "210.8(A)(2)", facts))
    };
    let (no, yes) = ("not applicable", "not met");
    assert_eq!(verdicts(&receptacle("voltage: 240 V, rating: 30 A")), [no, no, no]);
    assert_eq!(verdicts(&receptacle("rating: 30 A")), [yes, no, no]);
    assert_eq!(verdicts(&receptacle("")), [yes, yes, yes]);
    assert_eq!(books.says("nec 2020", "210.8(A)(2)", &receptacle("voltage: 240 V, rating: 30 A")), yes);
}

/// T3: the base revives when an amendment has ended, and the end is said to be in or out.
#[test]
fn t3_an_amendment_ends_and_the_base_revives() {
    let books = books(
        "amendment before to nec 2008 { waive 210.12(B) when room is not bedroom, before 2010-01-01 by permit-issue }
         amendment through to nec 2008 { waive 210.12(B) when room is not bedroom, through 2010-01-01 by permit-issue }",
    );
    let on = |date: &str, name: &str| {
        let facts = format!(
            "project {{ permit-issue: {date} }}\nbranch-circuit C {{ occupancy: one-family, room: living-room, \
             voltage: 125 V, rating: 20 A, extended: no, afci: none }}"
        );
        books.says(&format!("nec 2008 with {name}"), "210.12(B)", &facts)
    };
    assert_eq!(
        ["2009-12-31", "2010-01-01", "2010-01-02"].map(|d| on(d, "before")),
        ["not applicable", "not met", "not met"]
    );
    assert_eq!(["2010-01-01", "2010-01-02"].map(|d| on(d, "through")), ["not applicable", "not met"]);
}

/// T4: two clocks on one rule.
#[test]
fn t4_two_clocks_on_one_rule() {
    let books = books("amendment houston to nec 2020 { start outdoor-outlets on 2023-01-01 by permit-application }");
    let on = |date: &str, inverter: &str, under: &str| {
        let facts = outdoor_outlet(&format!("inverter-driven: {inverter}"));
        let facts = format!("project {{ installation: {date}, permit-application: {date} }}\n{facts}");
        books.says(under, "210.8(F)", &facts)
    };
    let (none, gfci) = ("not applicable", "not met");
    assert_eq!(on("2022-06-01", "no", "nec 2020 with tia-1529"), gfci);
    assert_eq!(on("2022-06-01", "no", "nec 2020 with tia-1529, houston"), none);
    assert_eq!(on("2022-06-01", "yes", "nec 2020 with tia-1529"), none);
    assert_eq!(on("2022-06-01", "yes", "nec 2020 with tia-1529, houston"), none);
    for inverter in ["no", "yes"] {
        for under in ["nec 2020 with tia-1529", "nec 2020 with tia-1529, houston"] {
            assert_eq!(on("2023-02-01", inverter, under), gfci);
        }
    }
    // A base without the interim amendment.
    assert_eq!(on("2022-06-01", "yes", "nec 2020"), gfci);
}

/// T5: one number, another subject: removed and added, and what referred to the number is told.
#[test]
fn t5_a_number_is_taken_by_another_subject() {
    let books = books(
        "amendment or to nec 2020 {
             delete 210.8(F)
             add section 210.8(F) as or-240 \"240 V receptacles outside dwellings\" {
                 governs receptacle
                 when occupancy is not dwelling, voltage is 240 V, rating at most 50 A
                 requires gfci is class-a
             }
         }
         amendment note to nec 2020 {
             add section 440.9 \"Mini-splits\" {
                 governs outlet
                 waives 210.8(F) when inverter-driven
             }
         }
         amendment gone to nec 2020 { delete 210.8(F) }",
    );
    let shop = receptacle("occupancy: shop, room: service-bay, voltage: 240 V, rating: 30 A");
    let all = books.verdicts("nec 2020 with or", &format!("{}{shop}", outdoor_outlet("")));
    assert_eq!(all.iter().filter(|v| v.starts_with("210.8(F)")).collect::<Vec<_>>(), ["210.8(F) not met"]);
    assert_eq!(
        books.history("nec 2020 with or", "210.8(F)"),
        ["210.8(F): added", "210.8(F): deleted", "210.8(F): added"]
    );
    let (composed, _) = books.session.compose("nec 2020 with or");
    assert_eq!(composed.identity.get("210.8(F)").map(String::as_str), Some("or / 210.8(F)"));
    // The reference survives as a number only.
    let found = books.found("nec 2020 with note, or");
    assert!(found.iter().any(|d| d.code.as_str() == "E0714" && d.title.contains("another subject")), "{found:?}");
    assert_eq!(books.codes("nec 2020 with note, gone"), ["E0714"]);
    assert!(books.codes("nec 2020 with note").is_empty());
}

/// T6: a number for an exception collides with one that the base gets later: both hold, and the collision is told.
#[test]
fn t6_an_exception_keeps_its_name_when_its_number_collides() {
    let sump = "fact sump of receptacle: yes-no
         fact protected-beside of receptacle: yes-no
         in 210.8(A): add Ex. 5 as oh-sump when sump, protected-beside";
    let books = books(&format!(
        "edition nec 2026 follows nec 2023 {{ in 210.8(A): add Ex. 5 to (2), (5) as base-fifth when on-ceiling }}
         amendment oh to nec 2023 {{ {sump} }}
         amendment oh-next to nec 2026 {{ {sump} }}"
    ));
    assert!(books.codes("nec 2023 with oh").is_empty());
    assert_eq!(books.codes("nec 2026 with oh-next"), ["E0715"]);
    let pump =
        |beside: &str| receptacle(&format!("room: basement, sump: yes, protected-beside: {beside}, on-ceiling: no"));
    for under in ["nec 2023 with oh", "nec 2026 with oh-next"] {
        assert_eq!(books.says(under, "210.8(A)(5)", &pump("no")), "not met");
        assert_eq!(books.says(under, "210.8(A)(5)", &pump("yes")), "met");
    }
    let opener = receptacle("on-ceiling: yes, sump: no, protected-beside: no");
    assert_eq!(books.says("nec 2026 with oh-next", "210.8(A)(2)", &opener), "met");
}

/// T7: an exception that takes credit away in another rule.
#[test]
fn t7_an_exception_takes_credit_away() {
    let books =
        books("amendment nj to nec 2008 { use Ex. 1, Ex. 2 of 210.8(A) of nec 2005, not counted toward 210.52(G) }");
    let member = |name: &str, changed: &str| {
        receptacle(&format!("room: basement, {changed}")).replace("receptacle R", name).trim().to_string()
    };
    let home = |members: &str| {
        format!("dwelling H {{ occupancy: one-family, has-basement: yes\n receptacles {{ {members} }} }}")
    };
    let alone = home(&member("pump", "dedicated-appliance: yes"));
    assert_eq!(books.says("nec 2008 with nj", "210.8(A)(5)", &alone), "met");
    assert_eq!(books.says("nec 2008 with nj", "210.52(G)", &alone), "not met");
    assert_eq!(books.says("nec 2008", "210.8(A)(5)", &alone), "not met");
    assert_eq!(books.says("nec 2008", "210.52(G)", &alone), "met");
    let both = home(&format!("{}\n{}", member("pump", "dedicated-appliance: yes"), member("wall", "gfci: class-a")));
    assert_eq!(books.says("nec 2008 with nj", "210.8(A)(5)", &both), "met");
    assert_eq!(books.says("nec 2008 with nj", "210.52(G)", &both), "met");
}

/// T8: a term redefined for one rule leaves every other use of it alone, and goes when the overlay goes.
#[test]
fn t8_a_term_has_one_meaning_in_one_rule() {
    let books = books(
        "amendment wa to nec 2020 {
             fact washes-dishes of receptacle: yes-no
             kind kitchen of receptacle for 210.8(B) only { any of {
                 washes-dishes
                 prepares-food
             } }
             add section 210.99 \"Another use of the word\" {
                 governs receptacle
                 when kitchen
                 requires tamper-resistant
             }
         }
         amendment other to nec 2020 {
             add section 210.99 \"Another use of the word\" {
                 governs receptacle
                 when kitchen
                 requires tamper-resistant
             }
         }",
    );
    let coffee = "occupancy: office, room: food-area, has-sink: yes, prepares-food: yes, tamper-resistant: no";
    let with_dishes = receptacle(&format!("{coffee}, washes-dishes: yes"));
    assert_eq!(books.says("nec 2020 with wa", "210.8(B)(2)", &with_dishes), "not met");
    assert_eq!(books.says("nec 2020 with wa", "210.99", &with_dishes), "not applicable");
    let without = receptacle(coffee);
    assert_eq!(books.says("nec 2020", "210.8(B)(2)", &without), "not applicable");
    assert_eq!(books.says("nec 2020 with other", "210.99", &without), "not applicable");
}

/// T9: one rule is waived, another keeps its duty.
#[test]
fn t9_a_waiver_cancels_one_duty_only() {
    let books = books("amendment wa to nec 2017 { waive 210.8(B) when three-phase }");
    let three = "occupancy: restaurant, three-phase: yes, voltage: 208 V, rating: 60 A";
    let bathroom = receptacle(&format!("{three}, room: bathroom"));
    let dock = receptacle(&format!("{three}, room: dock"));
    assert_eq!(books.says("nec 2017", "210.8(B)(1)", &bathroom), "not met");
    assert_eq!(books.says("nec 2017 with wa", "210.8(B)(1)", &bathroom), "not applicable");
    let all = books.verdicts("nec 2017 with wa", &dock);
    let failed: Vec<&String> = all.iter().filter(|v| v.ends_with(" not met")).collect();
    assert_eq!(failed, ["590.6(A) not met"]);
}

/// T10: an edit here, a permission there: the duty is added, the permission stands, and both are cited.
#[test]
fn t10_an_added_duty_leaves_the_permission_alone() {
    let books = books(
        "amendment mattoon to nec 2008 {
             add as wire-always after 250.122 \"A wire in any case\" {
                 governs feeder
                 requires some paths where method is wire
             }
         }
         amendment same to nec 2008 {
             add as wire-always after 250.122 \"A ground of any kind\" {
                 governs feeder
                 requires at least 2 of paths where equipment-ground
             }
         }
         amendment wrong to nec 2008 { replace 250.122 \"Size\" { notes \"metal raceway is not accepted\" } }",
    );
    let tubing = "feeder F { paths { tubing { method: electrical-metallic-tubing } } }";
    assert_eq!(books.says("nec 2008 with mattoon", "wire-always", tubing), "not met");
    assert_eq!(books.says("nec 2008 with mattoon", "215.6", tubing), "met");
    // The report names the permission that the duty goes beyond, and says which of both decides.
    let told = |under: &str, facts: &str| {
        let mut session = books.session.clone();
        let (program, _) = session.open(under);
        let (file, _) = session.read_facts("facts", facts.as_bytes().to_vec(), FactsForm::Native);
        let (installation, _) = session.install(&program, &[file]);
        let (choices, _) = session::choose(&program, &[]);
        let report = report::inspection(&program, &installation, &choices);
        let own = report.verdicts.iter().find(|v| v.section == "wire-always").unwrap().beyond.clone();
        (own, report::text(&report, report::Depth::Brief, &Look::default()))
    };
    let (beyond, text) = told("nec 2008 with mattoon", tubing);
    assert_eq!(
        beyond,
        ["250.118 permits method rigid-metal-conduit or intermediate-metal-conduit or electrical-metallic-tubing as \
          equipment-ground: that stands, and this requirement of mattoon decides"]
    );
    assert!(text.contains("although  250.118 permits"), "{text}");
    let wired = "feeder F { paths { tubing { method: electrical-metallic-tubing }\n green { method: wire } } }";
    assert!(told("nec 2008 with mattoon", wired).0.is_empty(), "what is met conflicts with nothing");
    // On the shipped rulebooks: the section grants two standings, and the duty takes one of them.
    let mut shipped = Session::shipped().0;
    let rules = "amendment wired to nec 2020 { add as wire-always after 250.122 { governs branch-circuit
        requires some path is wire-grounding } }";
    assert!(shipped.add_rulebook("wired", rules.as_bytes().to_vec()).is_empty());
    let (program, found) = shipped.open("nec 2020 with wired");
    assert!(found.is_empty());
    let beside: Vec<&str> = program.contested.iter().map(|c| c.standing.as_str()).collect();
    assert_eq!(beside, ["grounding-conductor"]);
    // A duty that rests on the permission itself does not go beyond it.
    assert!(told("nec 2008 with same", tubing).0.is_empty());
    // What the wrong tool gives: nothing at all.
    assert!(!books.verdicts("nec 2008 with wrong", tubing).iter().any(|v| v.ends_with("not met")));
}

/// T14: holes do not close up, and what comes later keeps its number.
#[test]
fn t14_a_range_leaves_holes() {
    let books = books(
        "edition nec 2026 follows nec 2023 { in 210.8(D): add (13) as spas: appliance is spa }
         amendment ut to nec 2023 { delete 210.8(D)(8) through 210.8(D)(12) }
         amendment ut-next to nec 2026 { delete 210.8(D)(8) through 210.8(D)(12) }
         amendment cites to nec 2026 {
             delete 210.8(D)(8) through 210.8(D)(12)
             waive 210.8(D) when luminaire
         }",
    );
    let one = |appliance: &str| outdoor_outlet(&format!("room: laundry, appliance: {appliance}"));
    for (year, name) in [("2023", "ut"), ("2026", "ut-next")] {
        let under = format!("nec {year} with {name}");
        for (label, appliance) in
            [(8, "range"), (9, "wall-oven"), (10, "cooktop"), (11, "clothes-dryer"), (12, "microwave")]
        {
            let section = format!("210.8(D)({label})");
            assert_eq!(books.says(&format!("nec {year}"), &section, &one(appliance)), "not met");
            assert_eq!(books.says(&under, &section, &one(appliance)), "absent");
        }
        assert_eq!(books.says(&under, "210.8(D)(1)", &one("dishwasher")), "not met");
    }
    assert_eq!(books.says("nec 2026 with ut-next", "210.8(D)(13)", &one("spa")), "not met");
    // A citation of the whole means what survives.
    assert_eq!(
        books.says("nec 2026 with cites", "210.8(D)(13)", &outdoor_outlet("appliance: spa, luminaire: yes")),
        "not applicable"
    );
}

/// T16: not required, but if provided it conforms.
#[test]
fn t16_not_required_but_if_provided() {
    let books = books("amendment hud to nec 2005 { release 550.25, if provided: afci is not none }");
    let home = |afci: &str| {
        format!(
            "branch-circuit C {{ occupancy: manufactured-home, room: bathroom, voltage: 125 V, rating: 20 A, \
             extended: no, afci: {afci} }}"
        )
    };
    assert_eq!(books.says("nec 2005", "550.25", &home("none")), "not met");
    assert_eq!(books.says("nec 2005 with hud", "550.25", &home("none")), "not applicable");
    assert_eq!(books.says("nec 2005 with hud", "550.25", &home("wrongly-installed")), "not met");
    assert_eq!(books.says("nec 2005 with hud", "550.25", &home("listed-as-required")), "met");
}

/// T17: a note changes no verdict; neither does an amendment that the base has absorbed; both are told.
#[test]
fn t17_notes_and_absorbed_amendments_change_no_verdict() {
    let alarm = "in 210.8(A): add Ex. 9 to (5) as nj-alarm when alarm-only";
    let books = books(&format!(
        "amendment note to nec 2020 {{ in 210.8(F): add notes \"see the rules of the department\" }}
         amendment nj-2005 to nec 2005 {{ {alarm} }}
         amendment nj-2008 to nec 2008 {{ {alarm} }}"
    ));
    let facts = outdoor_outlet("");
    assert_eq!(books.verdicts("nec 2020", &facts), books.verdicts("nec 2020 with note", &facts));
    assert_eq!(
        books.history("nec 2020 with note", "210.8(F)").last().unwrap(),
        "210.8(F): added notes \"see the rules of the department\""
    );
    let basement = receptacle("room: basement, alarm-only: yes");
    assert_ne!(books.verdicts("nec 2005", &basement), books.verdicts("nec 2005 with nj-2005", &basement));
    assert_eq!(books.verdicts("nec 2008", &basement), books.verdicts("nec 2008 with nj-2008", &basement));
}
