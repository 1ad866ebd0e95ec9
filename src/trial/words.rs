//! The words that start a command, with what `help` says of them.

use crate::diag::nearest;

/// A command.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Word {
    Help,
    Ask,
    Why,
    Unfold,
    Standing,
    Inspect,
    Show,
    List,
    Under,
    Read,
    Job,
    Load,
    Save,
    Said,
    Back,
    Remove,
    NoMore,
    Figure,
    Work,
    Govern,
    End,
}

/// A word with its shape, what it does, and examples.
pub(super) struct Told {
    pub(super) word: Word,
    /// How it is typed.
    pub(super) name: &'static str,
    /// What follows it.
    pub(super) shape: &'static str,
    /// One line.
    pub(super) about: &'static str,
    /// More, and examples: a line that starts with two blanks is one.
    pub(super) more: &'static str,
}

/// All commands, in the order of `help`.
pub(super) const WORDS: &[Told] = &[
    Told {
        word: Word::Ask,
        name: "ask",
        shape: "",
        about: "what to find out next: open questions by how many verdicts they decide",
        more: "Every possible answer is tried. \"decides 3\" means that 3 undecided verdicts are settled whatever the answer \
is; \"up to 5\" that some answer settles 5. Answer by number:\n  ask\n  1: yes\n  2: 12 AWG",
    },
    Told {
        word: Word::Why,
        name: "why",
        shape: "[not] SECTION [for NAME]",
        about: "the reasons of a verdict, folded to what decides; alone: of what flipped last",
        more: "`why not` leaves out what is met. The finer reasons are folded away; `unfold` shows them.\n  why 517.13(A)\n  why not \
210.8(A) for R1\n  unfold",
    },
    Told { word: Word::Unfold, name: "unfold", shape: "", about: "the last reasons in full", more: "  unfold" },
    Told {
        word: Word::Standing,
        name: "standing",
        shape: "[SECTION or NAME]",
        about: "the verdicts as they stand, in short",
        more: "With a section or the name of a thing, only of that.\n  standing\n  standing 517.13\n  standing EX4-1",
    },
    Told {
        word: Word::Inspect,
        name: "inspect",
        shape: "[full]",
        about: "the whole report on the job at hand",
        more: "  inspect\n  inspect full",
    },
    Told {
        word: Word::Show,
        name: "show",
        shape: "SECTION, TABLE, KIND, AMOUNT or NAME",
        about: "a part of the book as it stands, with its history; or a thing as stated",
        more: "  show 210.8(A)\n  show table 250.122\n  show metal-path\n  show box-fill\n  show EX4-1",
    },
    Told {
        word: Word::List,
        name: "list",
        shape: "[TOPIC]",
        about: "things, a thing's fields, a choice's values, editions, sections, units, …",
        more: "Topics: things, choices, editions, amendments, sections, tables, kinds, amounts, series, places, readings, units, jobs; or the name of \
one thing, choice or field.\n  list things\n  list outlet\n  list wire-size\n  list sections 250",
    },
    Told {
        word: Word::Under,
        name: "under",
        shape: "EDITION [with AMENDMENT, …], or what governs [in PLACE] [on DATE]",
        about: "take another book, and see which verdicts flip",
        more: "Changes on trial stay on trial if they fit the other book. `under what governs` takes the book that governs the job at \
hand; a place and a date given there are stated of its project.\n  under nec 2023\n  under nec 2020 with harbor-2021\n  under what \
governs in harbor-county on 2021-09-15",
    },
    Told {
        word: Word::Govern,
        name: "govern",
        shape: "[in PLACE] [on DATE [by CLOCK]]",
        about: "which book governs the job at hand, and why; the trial stays under the one it has",
        more: "Without a place and a date it goes by what the project states.\n  govern\n  govern in harbor-county on \
2021-09-15\n  under what governs",
    },
    Told {
        word: Word::Read,
        name: "read",
        shape: "READING as OPTION, or READING both ways",
        about: "settle a disputed text, or open it again",
        more: "  list readings\n  read either-path as strict\n  read either-path both ways",
    },
    Told {
        word: Word::Figure,
        name: "figure",
        shape: "EXPRESSION [for NAME]",
        about: "what an expression or a condition comes to; the word itself may be left out",
        more: "  3/4 in + 2 mm\n  table 250.122 at 60 A across copper\n  overcurrent x 125 % for EX4-1\n  height of R1\n  figure \
material is copper for green\nA table without its column tells the whole row:\n  table 250.122 at 60 A",
    },
    Told {
        word: Word::Work,
        name: "work",
        shape: "WHAT [for NAME]",
        about: "a value worked out line by line: an amount, a definition, what reads a table",
        more: "A bare name tells only what comes out.\n  list amounts\n  work box-fill\n  work box-fill for B1\n  work 314.16",
    },
    Told {
        word: Word::Job,
        name: "job",
        shape: "[NAME]",
        about: "turn to another installation, or start one of that name with `job new NAME`",
        more: "Facts go to the job at hand; changes of the rules show on all of them.\n  job\n  job birch\n  job new annex",
    },
    Told {
        word: Word::Load,
        name: "load",
        shape: "FILE",
        about: "read facts as a job of their own, or a rulebook",
        more: "  load examples/clinic/01-ordinary-metal-clad.facts\n  load harbor.rulebook",
    },
    Told {
        word: Word::Save,
        name: "save",
        shape: "facts, example or amendment to FILE [over]",
        about: "write what was stated; an existing file only with `over`",
        more: "Facts: the job at hand. Example: the same with the verdicts it has now, to be held to them. Amendment: the changes \
on trial, to this edition.\n  save facts to birch.facts\n  save amendment to harbor.rulebook over\n  save amendment harbor-2026 to \
harbor.rulebook",
    },
    Told { word: Word::Said, name: "said", shape: "", about: "the statements made so far", more: "  said" },
    Told {
        word: Word::Back,
        name: "back",
        shape: "[HOW MANY]",
        about: "take back the last statement, or several",
        more: "  back\n  back 3",
    },
    Told {
        word: Word::Remove,
        name: "remove",
        shape: "NAME or NAME.FIELD",
        about: "leave out a thing, a member or a fact of the job at hand, as if never stated",
        more: "To say that something does not exist, state `none` instead.\n  remove EX4-1.overcurrent\n  remove EX4-1.outlets.R2",
    },
    Told {
        word: Word::NoMore,
        name: "no more",
        shape: "THING, or LIST of NAME",
        about: "a list is the whole story: nothing `and maybe more` is left in it",
        more: "A thing or member stated by a dotted line leaves room for others, since one line seldom says all.\n  no more \
branch-circuit\n  no more outlets of EX4-1",
    },
    Told {
        word: Word::Help,
        name: "help",
        shape: "[WORD]",
        about: "this, or more of one word; `help facts` and `help rules` tell how to state them",
        more: "  help why\n  help facts\n  help rules",
    },
    Told { word: Word::End, name: "end", shape: "", about: "leave (so does Ctrl-D)", more: "  end" },
];

/// How facts are stated.
pub(super) const FACTS: &str = "One fact a line, through a thing's name; or whole blocks as in a file of facts. What is stated again \
replaces what was stated before.\n  circuit EX4-1.overcurrent: 20 A\n  EX4-1.outlets.R1.height: 18 in, in-vicinity: yes\n  \
R1.height: at least 6 ft\n  project.permit-application: 2021-09-15\n  space exam-4 { use: exam-room }\n  feeder: none";

/// How rules are tried.
pub(super) const RULES: &str = "\
Any line of an amendment, or a whole item; every job is judged anew and the flips are shown.
  in table 250.122: 20 A, copper was 12 AWG, now 10 AWG
  in out-of-reach: height was more than 7 1/2 ft (2.3 m), now more than 6 ft (1.8 m)
  waive 517.13(A)
  kind tall of outlet { height more than 6 ft }
  section 9.1 \"Trial\" { governs outlet ... }
  amendment harbor-2026 to nec 2020 { ... }
A line that ends in an open brace or a comma goes on.";

/// The command a line starts with, and what follows it.
pub(super) fn find(line: &str) -> Option<(&'static Told, &str)> {
    let mut known: Vec<&Told> = WORDS.iter().collect();
    known.sort_by_key(|told| std::cmp::Reverse(told.name.len()));
    known.into_iter().find_map(|told| {
        let rest = line.strip_prefix(told.name)?;
        (rest.is_empty() || rest.starts_with(char::is_whitespace)).then_some((told, rest.trim()))
    })
}

/// The name of a command near to what was typed.
pub(super) fn near(typed: &str) -> Option<&'static str> {
    nearest(typed, WORDS.iter().map(|told| told.name))
}
