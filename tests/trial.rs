//! Trials: whatever is said, nothing panics, and a line that fails leaves everything as it was.
//!
//! Lines are drawn from a seeded generator: whole statements that mostly fit the shipped vocabulary, the same with a slip,
//! pieces glued together, and noise.

#![allow(clippy::unwrap_used, clippy::panic)]

use whereas::diag::Look;
use whereas::session::Session;
use whereas::trial::{Completion, Fulfilled, Mood, Over, Reply, Request, Trial, is_unfinished, tints};

/// Lines said in all.
const LINES: usize = 20_000;

/// A small generator of numbers (xorshift), so that a failure can be run again.
struct Dice(u64);

impl Dice {
    fn roll(&mut self, sides: usize) -> usize {
        self.0 ^= self.0 << 13;
        self.0 ^= self.0 >> 7;
        self.0 ^= self.0 << 17;
        (self.0 % sides.max(1) as u64) as usize
    }

    fn pick<'a>(&mut self, of: &[&'a str]) -> &'a str {
        of[self.roll(of.len())]
    }
}

/// A small book, so that what ships may grow without being felt here.
const RULES: &str = include_str!("data/trial/demo.rulebook");

const STATEMENTS: &[&str] = &[
    "circuit C1.rating: 20 A",
    "circuit C2.rating: at most 15 A, size: 12 AWG",
    "C1.size: 14 AWG or 12 AWG",
    "C1.outlets.R1.device: receptacle",
    "C1.R1.height: 5 ft",
    "R1.height: unknown",
    "C1.outlets.R2 { device: luminaire, height: 7 ft }",
    "C1.outlets.R3.to-sink: 2 ft from bowl-edge through door",
    "space S1 { wet: yes, made: 2020-01-01 }",
    "C1.serves: S1",
    "circuit C3 { outlets { R1 { device: receptacle, height: 18 in } and maybe more } }",
    "circuit C4 {\n    rating: 20 A,\n    outlets: none\n}",
    "circuit: none",
    "and maybe more circuit",
    "no more circuit",
    "no more outlets of C1",
    "remove C1.rating",
    "remove R1",
    "remove C1.outlets.R2",
    "remove C3",
    "in 1.1: height was at least 4 ft, now at least 3 ft",
    "in 1.1: height was at least 3 ft, now at least 4 ft",
    "in table 1.2: 14 AWG was 15 A, now 10 A",
    "in 1.1: strike Ex. 1",
    "in 1.2(1): strike device",
    "delete 1.2",
    "waive 1.1",
    "kind tall of outlet { height more than 6 ft }",
    "section 9.1 \"Trial\" {\n    governs outlet\n    prohibits tall\n}",
    "section 9.2 \"Sizes\" { governs circuit\n requires size at least 12 AWG }",
    "define margin of circuit = rating x 125 %",
    "limit low = 1 ft",
    "amendment harbor to demo 2017 { in 1.1: title was \"Height\", now \"How high\" }",
    "amendment late to demo 2020 { waive 1.1 }",
    "under 2020",
    "under demo 2017",
    "under 2017 with harbor",
    "under demo 2020 with late",
    "job",
    "job new annex",
    "job annex",
    "job new-job",
    "back",
    "back 2",
    "back 7",
    "ask",
    "1: yes",
    "1: 12 AWG",
    "2: 20 A",
    "why",
    "why 1.1",
    "why not 1.2 for C1",
    "unfold",
    "standing",
    "standing 1.1",
    "standing C1",
    "inspect",
    "inspect full",
    "show 1.1",
    "show table 1.2",
    "show C1",
    "show tall",
    "list",
    "list things",
    "list outlet",
    "list units",
    "list amendments",
    "said",
    "help",
    "help why",
    "help facts",
    "3/4 in + 2 mm",
    "rating x 2 for C1",
    "margin of C1",
    "table 1.2 at 12 AWG",
    "wet for S1",
    "height of R1",
    "figure 1 / 0",
    "save facts to a.facts",
    "save example night to a.rulebook over",
    "save amendment to b.rulebook",
    "load c.facts",
    "load c.rulebook",
    "load c.json",
    "load missing",
    "project \"Night\" { }",
    "project { permit: 2021-09-15, place: bay }",
    "jurisdiction bay \"Bay\" {\n    base fixed by permit\n    demo 2017 from 2018-01-01\n    demo 2020 from 2021-01-01\n}",
    "govern",
    "govern in bay on 2019-01-01",
    "govern in bay by permit",
    "under what governs",
    "under what governs in bay on 2021-05-05",
    "under what governs in nowhere",
    "amount spread of circuit : length in in { (1) each outlet: height }",
    "define double of circuit = rating x 2",
    "work double",
    "work spread for C1",
    "work 1.2",
    "spread",
    "double of C1",
    "table 1.2",
    "show spread",
    "list amounts",
    "list series",
    "list places",
    "save example \"Dusk\" to d.rulebook",
    "save amendment dusk to e.rulebook over",
];

const PIECES: &[&str] = &[
    "C1",
    ".",
    ":",
    "{",
    "}",
    "(",
    ")",
    ",",
    " ",
    "\n",
    "\"",
    "#",
    "20 A",
    "4 ft",
    "at least",
    "is",
    "not",
    "1.1",
    "in",
    "R1",
    "outlets",
    "was",
    "now",
    "for",
    "of",
    "table",
    "\u{e9}\u{f6}",
    "\u{1f4a1}",
    "\0",
    "\t",
    "-",
    "..",
    "typed..1",
    "x",
    "unknown",
    "none",
    "or",
    "99999999999",
    "1/0",
    "with",
    "save",
    "to",
    "why",
    "remove",
    "section",
    "amendment",
];

fn line(dice: &mut Dice) -> String {
    // Facts and changes more often than they are many: they are what flips.
    let whole = match dice.roll(3) {
        0 => dice.pick(&STATEMENTS[..32]).to_string(),
        _ => dice.pick(STATEMENTS).to_string(),
    };
    match dice.roll(10) {
        0..=6 => whole,
        7 => {
            // A slip: a letter lost, doubled or put in.
            let mut letters: Vec<char> = whole.chars().collect();
            let at = dice.roll(letters.len());
            match dice.roll(3) {
                0 => drop(letters.remove(at)),
                1 => letters.insert(at, letters[at]),
                _ => letters[at] = dice.pick(PIECES).chars().next().unwrap(),
            }
            letters.into_iter().collect()
        }
        8 => format!("{whole}{}{}", dice.pick(PIECES), dice.pick(STATEMENTS)),
        _ => (0..dice.roll(9)).map(|_| dice.pick(PIECES)).collect::<Vec<_>>().join(if dice.roll(2) == 0 {
            " "
        } else {
            ""
        }),
    }
}

/// What a place needs of the project, and a table with columns.
const MORE: &str = r#"
terms for demo
choice metal { copper, aluminum }
thing project { permit: date
    place: text
    declares: text, may be absent }
edition demo 2017
table 1.3 "Smallest" by rating: current next row up, across metal: metal, gives wire-size {
           | copper | aluminum
    15 A   | 14 AWG | 12 AWG
    20 A   | 12 AWG | 10 AWG
}
"#;

fn trial() -> Trial {
    let mut session = Session::empty();
    let found = session.add_rulebooks(vec![
        ("demo.rulebook".to_string(), RULES.as_bytes().to_vec()),
        ("more.rulebook".to_string(), MORE.as_bytes().to_vec()),
    ]);
    assert!(!found.has_errors(), "{}", whereas::diag::render(&found, session.sources(), &Look::default()));
    Trial::new(session, "demo 2017").unwrap_or_else(|(session, found)| {
        panic!("{}", whereas::diag::render(&found, session.sources(), &Look::default()))
    })
}

/// What the front would make of a request, drawn at random.
fn fulfil(request: &Request, dice: &mut Dice) -> Fulfilled {
    match request {
        Request::Read { path } if path.starts_with("missing") => Fulfilled::Failed("no such file".to_string()),
        Request::Read { path } => Fulfilled::Read(match (path.rsplit('.').next(), dice.roll(3)) {
            (_, 0) => vec![0xff, b'{', 0],
            (Some("rulebook"), _) => b"amendment read to demo 2017 { waive 1.2 }".to_vec(),
            (Some("json"), _) => br#"{"circuit": {"J1": {"rating": "20 A"}}}"#.to_vec(),
            _ => b"circuit F1 { rating: 15 A }".to_vec(),
        }),
        Request::Write { over: Over::Refused, .. } if dice.roll(2) == 0 => Fulfilled::Exists,
        Request::Write { text, .. } => {
            assert!(text.ends_with('\n'));
            Fulfilled::Written
        }
    }
}

fn say(trial: &mut Trial, line: &str, dice: &mut Dice) -> Reply {
    let look = Look::default();
    let mut reply = trial.line(line, &look);
    while let Some(request) = reply.request.take() {
        reply = trial.fulfilled(&request, fulfil(&request, dice), &look);
    }
    reply
}

#[test]
fn nothing_panics_and_what_fails_changes_nothing() {
    const SEEDS: &[u64] = &[0x5eed_7a1e, 0x0dd_ba11, 0xf00d_cafe, 0xca11_ab1e];
    let counts: Vec<[usize; 3]> = std::thread::scope(|scope| {
        let running: Vec<_> = SEEDS.iter().map(|seed| scope.spawn(|| drawn(*seed, LINES / SEEDS.len()))).collect();
        running.into_iter().map(|thread| thread.join().unwrap()).collect()
    });
    let [failed, done, flips] = [0, 1, 2].map(|at| counts.iter().map(|count| count[at]).sum::<usize>());
    // The generator says what matters: most lines are understood, many are not, and verdicts flip.
    assert!(failed > LINES / 10 && done > LINES / 4 && flips > LINES / 100, "{failed} {done} {flips}");
}

/// Says so many drawn lines; how many failed, were done, and flipped something.
fn drawn(seed: u64, lines: usize) -> [usize; 3] {
    let mut dice = Dice(seed);
    let (mut failed, mut done, mut flips) = (0, 0, 0);
    let mut said = 0;
    while said < lines {
        let mut trial = trial();
        let mut before = trial.stands();
        for _ in 0..200 {
            let line = line(&mut dice);
            said += 1;
            let reply = say(&mut trial, &line, &mut dice);
            let after = trial.stands();
            match reply.mood {
                Mood::Failed => {
                    failed += 1;
                    assert!(reply.text.contains("error E"), "{line:?}: {}", reply.text);
                    assert_eq!(before, after, "after {line:?}");
                }
                Mood::Done => done += 1,
                Mood::Ended => break,
            }
            assert!(reply.text.is_empty() || reply.text.ends_with('\n'), "{line:?}");
            flips += usize::from(reply.text.contains('\u{2192}'));
            before = after;
            // While it is typed, and afterwards.
            let cut = line.char_indices().map(|(at, _)| at).nth(dice.roll(12)).unwrap_or(0);
            for text in [&line[..cut], &line] {
                let (Completion::Words(from, _) | Completion::File(from)) = trial.complete(text);
                assert!(from <= text.len() && text.is_char_boundary(from), "{text:?}");
                trial.hint(text);
                is_unfinished(text);
                assert_eq!(tints(text).iter().map(|p| p.text).collect::<String>(), *text);
            }
        }
    }
    [failed, done, flips]
}

#[test]
fn taking_everything_back_leads_to_the_beginning() {
    let mut dice = Dice(0xbac_cbac);
    for _ in 0..20 {
        let mut trial = trial();
        let first = standing_part(&trial.stands());
        let mut depth = 0;
        for _ in 0..60 {
            let line = line(&mut dice);
            if line.contains("back") {
                continue;
            }
            let past = depth_of(&trial.stands());
            say(&mut trial, &line, &mut dice);
            depth = depth_of(&trial.stands());
            assert!(depth == past || depth == past + 1, "{line:?}");
        }
        if depth > 0 {
            let reply = say(&mut trial, &format!("back {depth}"), &mut dice);
            assert_eq!(reply.mood, Mood::Done);
        }
        assert_eq!(standing_part(&trial.stands()), first);
    }
}

fn depth_of(stands: &str) -> usize {
    stands.lines().nth(2).unwrap().parse().unwrap()
}

/// All but the count of texts, which may only grow.
fn standing_part(stands: &str) -> String {
    stands.lines().filter(|l| !l.ends_with(" texts")).collect::<Vec<_>>().join("\n")
}

fn all(trial: &mut Trial, lines: &[&str]) -> String {
    let mut dice = Dice(1);
    lines
        .iter()
        .map(|line| {
            let reply = say(trial, line, &mut dice);
            assert_eq!(reply.mood, Mood::Done, "{line}: {}", reply.text);
            reply.text
        })
        .collect()
}

/// The text a `save` line would write.
fn saved(trial: &mut Trial, line: &str) -> String {
    match trial.line(line, &Look::default()).request {
        Some(Request::Write { text, .. }) => text,
        other => panic!("{line}: {other:?}"),
    }
}

#[test]
fn saved_facts_say_what_was_stated() {
    let mut one = trial();
    all(
        &mut one,
        &[
            "project \"Night\" { }",
            "space S1 { wet: yes, made: before 2020-01-01 }",
            "circuit C1.rating: at least 15 A and at most 20 A, size: none",
            "C1.serves: S1",
            "C1.outlets.R1.device: receptacle or luminaire, height: 5 ft 6 in",
            "C1.outlets.R1.to-sink: 2 ft from bowl-edge through door, at least 3 ft from outside-edge",
            "circuit C2 { size: not 12 AWG, outlets: none }",
            "no more circuit",
        ],
    );
    let text = saved(&mut one, "save facts to x.facts");
    let mut two = trial();
    let look = Look::default();
    let request = two.line("load new-job.facts", &look).request.unwrap();
    let reply = two.fulfilled(&request, Fulfilled::Read(text.clone().into_bytes()), &look);
    assert_eq!(reply.mood, Mood::Done, "{}", reply.text);
    assert_eq!(saved(&mut two, "save facts to x.facts"), text);
    let verdicts =
        |t: &Trial| t.stands().lines().filter(|l| l.starts_with("(\"")).map(str::to_string).collect::<Vec<_>>();
    assert!(!verdicts(&one).is_empty());
    assert_eq!(verdicts(&one), verdicts(&two));
}

#[test]
fn saved_amendments_make_the_book_that_was_tried() {
    let mut one = trial();
    let facts = ["circuit C1 { rating: 20 A, size: 14 AWG, outlets { R1 { device: receptacle, height: 3 ft } } }"];
    all(&mut one, &facts);
    all(
        &mut one,
        &[
            "in 1.1: height was at least 4 ft, now at least 3 ft",
            "in table 1.2: 14 AWG was 15 A, now 20 A",
            // Reads what the first change wrote, so it needs an amendment of its own.
            "in 1.1: height was at least 3 ft, now at least 2 ft",
            "kind tall of outlet { height more than 6 ft }",
        ],
    );
    let text = saved(&mut one, "save amendment dusk to x.rulebook");
    assert!(
        text.contains("amendment dusk-1 to demo 2017 {") && text.contains("amendment dusk-2 to demo 2017 {"),
        "{text}"
    );
    let mut session = Session::empty();
    for (name, text) in [("demo.rulebook", RULES), ("more.rulebook", MORE)] {
        assert!(!session.add_rulebook(name, text.as_bytes().to_vec()).has_errors());
    }
    assert!(!session.add_rulebook("dusk.rulebook", text.into_bytes()).has_errors());
    let mut two = Trial::new(session, "demo 2017 with dusk-1, dusk-2").unwrap_or_else(|_| panic!("it does not open"));
    all(&mut two, &facts);
    let verdicts =
        |t: &Trial| t.stands().lines().filter(|l| l.starts_with("(\"")).map(str::to_string).collect::<Vec<_>>();
    assert_eq!(verdicts(&one), verdicts(&two));
}

#[test]
fn a_change_of_the_rules_flips_every_job_it_concerns() {
    let mut trial = trial();
    all(&mut trial, &["circuit C1 { outlets { R1 { device: receptacle, height: 54 in } } }", "job new annex"]);
    all(&mut trial, &["circuit C1 { outlets { R1 { device: receptacle, height: 70 in } } }"]);
    let text = all(&mut trial, &["under 2020"]);
    assert!(text.contains("new-job\nmet \u{2192} undecided\n  1.1  Height: R1 of C1\n"), "{text}");
    assert!(text.contains("No verdict changes in annex."), "{text}");
}

#[test]
fn questions_are_ranked_by_what_an_answer_decides() {
    let mut trial = trial();
    let text = all(
        &mut trial,
        &[
            "circuit C1 { serves: S1, outlets {\n R1 { height: 18 in }\n R2 { device: receptacle, height: 1 in }\n } }\nspace S1 { }",
            "ask",
        ],
    );
    let first = text.lines().find(|l| l.starts_with("  1  ")).unwrap();
    assert!(first.contains("decides"), "{text}");
    let answered = all(&mut trial, &["1: unknown"]);
    assert!(answered.contains("No verdict changes"), "{answered}");
}

#[test]
fn completion_knows_where_it_stands() {
    let mut trial = trial();
    all(&mut trial, &["circuit C1 { rating: 20 A, outlets { R1 { device: receptacle } } }", "space S1 { wet: yes }"]);
    let words = |text: &str| match trial.complete(text) {
        Completion::Words(from, found) => (from, found.into_iter().map(|c| c.text).collect::<Vec<_>>()),
        Completion::File(_) => panic!("{text}"),
    };
    for (text, wanted) in [
        ("wh", "why"),
        ("cir", "circuit"),
        ("C", "C1"),
        ("C1.ra", "rating"),
        ("C1.outlets.", "R1"),
        ("C1.R1.he", "height"),
        ("circuit C1.si", "size"),
        ("C1.rating: 20 ", "A"),
        ("C1.serves: ", "S1"),
        ("C1.size: 12 ", "AWG"),
        ("R1.device: lum", "luminaire"),
        ("R1.device: receptacle, hei", "height"),
        ("circuit C9 {\n    ra", "rating"),
        ("circuit C9 { outlets { R9 { device: rec", "receptacle"),
        ("circuit C9 { outlets { R9 { height: 4 f", "ft"),
        ("why 1.", "1.2(1)"),
        ("why 1.2(", "1.2(2)"),
        ("why 1.1 for ", "R1"),
        ("show table ", "1.2"),
        ("in 1.", "1.1"),
        ("in 1.1: hei", "height"),
        ("in 1.1: height was 4 f", "ft"),
        ("under demo ", "2020"),
        ("list ", "things"),
        ("help wh", "why"),
        ("save ", "amendment"),
    ] {
        let (from, found) = words(text);
        assert!(found.iter().any(|w| w == wanted), "{text:?}: {found:?}");
        assert!(found.iter().all(|w| w.starts_with(&text[from..])), "{text:?}: {found:?}");
    }
    assert_eq!(trial.complete("load exam"), Completion::File(5));
    assert_eq!(trial.complete("save facts to x"), Completion::File(14));
    assert!(trial.hint("C1.rating:").is_some_and(|h| h.contains("current")), "{:?}", trial.hint("C1.rating:"));
    assert!(trial.hint("why").is_some_and(|h| h.contains("SECTION")));
}

#[test]
fn a_dotted_line_leaves_a_list_as_open_or_closed_as_it_was() {
    let mut trial = trial();
    let text = all(&mut trial, &["circuit C1.outlets.R1.height: 5 ft"]);
    assert!(text.contains("there may be more circuit") && text.contains("there may be more outlets"), "{text}");
    let text = all(&mut trial, &["C1.outlets.R2.height: 5 ft", "circuit C2.rating: 20 A"]);
    assert!(!text.contains("there may be more"), "{text}");
    all(&mut trial, &["no more outlets of C1", "no more circuit"]);
    all(&mut trial, &["C1.outlets.R3.height: 5 ft", "circuit C3.rating: 20 A"]);
    let facts = saved(&mut trial, "save facts to x.facts");
    assert!(facts.contains("R3") && facts.contains("C3") && !facts.contains("and maybe more"), "{facts}");
}

/// The book that a trial began with, and a rulebook it saved, rehearsed.
fn rehearsed(text: &str) -> whereas::rehearse::Rehearsal {
    let mut session = Session::empty();
    for (name, text) in [("demo.rulebook", RULES), ("more.rulebook", MORE), ("saved.rulebook", text)] {
        let found = session.add_rulebook(name, text.as_bytes().to_vec());
        assert!(!found.has_errors(), "{}", whereas::diag::render(&found, session.sources(), &Look::default()));
    }
    let (rehearsal, found) = session.rehearse(&[], &[], whereas::rehearse::Wish::Run);
    assert!(!found.has_errors(), "{}", whereas::diag::render(&found, session.sources(), &Look::default()));
    rehearsal
}

#[test]
fn a_saved_example_runs_and_comes_out_as_it_stood() {
    let facts = [
        "space S1 { wet: no }",
        "circuit C1 { serves: S1, rating: 20 A, size: 12 AWG, outlets { R1 { device: receptacle, height: 3 ft }\nL1 { device: luminaire, height: 8 ft } } }",
        "circuit C2 { rating: 30 A, size: 12 AWG, outlets: none }",
    ];
    // Nothing on trial.
    let mut one = trial();
    all(&mut one, &facts);
    let plain = saved(&mut one, "save example Dusk to x.rulebook");
    let rehearsal = rehearsed(&plain);
    assert!(rehearsal.as_expected, "{plain}");
    assert!(plain.contains("expect 1.1 of R1 of C1: not met"), "{plain}");
    // A change on trial goes with it, and is noticed.
    all(
        &mut one,
        &["in 1.1: height was at least 4 ft, now at least 3 ft", "in 1.1: height was at least 3 ft, now at least 2 ft"],
    );
    all(&mut one, &["amendment late to demo 2017 { waive 1.2(1) }"]);
    let tried = saved(&mut one, "save example \"Late dusk\" to x.rulebook");
    assert!(tried.contains("with late-dusk-1, late-dusk-2, late {"), "{tried}");
    assert!(tried.contains("expect 1.1 of R1 of C1: met"), "{tried}");
    assert!(rehearsed(&tried).as_expected, "{tried}");
    let other = tried.replace("now at least 2 ft", "now at least 5 ft");
    assert!(!rehearsed(&other).as_expected, "{other}");
    // Saved before, it is called by its name and not written again.
    let amendment = saved(&mut one, "save amendment dusk to y.rulebook");
    let look = Look::default();
    let request = one.line("save amendment dusk to y.rulebook", &look).request.unwrap();
    assert_eq!(one.fulfilled(&request, Fulfilled::Written, &look).mood, Mood::Done);
    let named = saved(&mut one, "save example Named to x.rulebook");
    assert!(named.starts_with("example \"Named\" under demo 2017 with dusk-1, dusk-2, late {"), "{named}");
    assert!(rehearsed(&format!("{amendment}\n{named}")).as_expected, "{amendment}{named}");
}

#[test]
fn what_governs_is_told_and_taken_and_taken_back() {
    let mut one = trial();
    all(
        &mut one,
        &[
            "jurisdiction bay \"Bay\" {\n    base fixed by permit\n    demo 2017 from 2018-01-01\n    demo 2020 with shore from 2021-01-01\n}",
            "amendment shore to demo 2020 { in 1.1: height was at least 5 ft, now at least 6 ft }",
            "circuit C1 { outlets { R1 { device: receptacle, height: 64 in } } }",
        ],
    );
    let told = all(&mut one, &["govern in bay on 2022-02-02"]);
    assert!(told.contains("demo 2020 with shore governs") && told.contains("`under what governs` takes"), "{told}");
    let before = one.stands();
    let open = all(&mut one, &["under what governs in bay"]);
    assert!(open.contains("It is not settled which book governs") && open.contains("permit: YEAR-MONTH-DAY"), "{open}");
    all(&mut one, &["back"]);
    assert_eq!(one.stands().lines().next(), before.lines().next());
    let taken = all(&mut one, &["under what governs in bay on 2022-02-02"]);
    assert!(taken.contains("met \u{2192} undecided\n  1.1  Height: R1 of C1"), "{taken}");
    // The place and the date are stated now.
    assert!(all(&mut one, &["govern"]).contains("demo 2020 with shore governs"));
    let facts = saved(&mut one, "save facts to x.facts");
    assert!(facts.contains("place: bay") && facts.contains("permit: 2022-02-02"), "{facts}");
    // A change on trial reads what the place's amendment wrote.
    all(&mut one, &["in 1.1: height was at least 6 ft, now at least 5 ft"]);
    all(&mut one, &["back 2"]);
    assert_eq!(one.stands().lines().next(), before.lines().next());
}

#[test]
fn a_table_without_its_column_tells_the_row_and_amounts_tell_their_working() {
    let mut one = trial();
    let row = all(&mut one, &["table 1.3 at 16 A"]);
    assert_eq!(row, "  copper    12 AWG\n  aluminum  10 AWG\n");
    all(
        &mut one,
        &[
            "amount spread of circuit : length in in { (1) each outlet: height }",
            "circuit C1 { outlets { R1 { height: 4 ft }\nR2 { height: 6 in } } }",
            "circuit C2 { outlets { R1 { height: 1 ft } } }",
        ],
    );
    let both = all(&mut one, &["spread"]);
    assert!(both.contains("  C1  54 in\n  C2  12 in\n"), "{both}");
    let worked = all(&mut one, &["work spread for C1"]);
    assert!(worked.contains("4 ft + 6 in = 54 in") && !worked.contains("C2"), "{worked}");
    assert!(all(&mut one, &["show spread"]).contains("(1) each outlet: height"));
    assert!(all(&mut one, &["list amounts"]).contains("spread"));
}

#[test]
fn within_a_rule_only_what_can_be_meant_is_offered() {
    let one = trial();
    let words = |text: &str| match one.complete(text) {
        Completion::Words(_, found) => found.into_iter().map(|c| c.text).collect::<Vec<_>>(),
        Completion::File(_) => panic!("{text}"),
    };
    for (text, wanted, unwanted) in [
        ("section 9.1 \"T\" {\n    governs ", "circuit", "height"),
        ("section 9.1 \"T\" {\n    governs space\n    requires ", "wet", "height"),
        ("section 9.1 \"T\" {\n    governs each outlet of circuit\n    when device is ", "receptacle", "copper"),
        ("section 9.1 \"T\" {\n    governs each outlet of circuit\n    requires rating at most 20 ", "A", "ft"),
        ("section 9.1 \"T\" {\n    governs outlet\n    requires height at least 4 ", "ft", "A"),
        ("section 9.1 \"T\" {\n    governs circuit\n    requires some outlets where ", "device", "wet"),
        ("kind low of outlet { ", "height", "wet"),
        ("in 1.1: ", "height", "wet"),
        ("in 1.1: height was at least 4 ", "ft", "AWG"),
        ("in 1.2: ", "rating", "wet"),
    ] {
        let found = words(text);
        assert!(found.iter().any(|w| w == wanted), "{text:?}: {found:?}");
        assert!(found.iter().all(|w| w != unwanted), "{text:?}: {found:?}");
    }
}
