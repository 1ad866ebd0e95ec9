//! The arguments as clap reads them. No defaults are looked up here and no files opened.

use clap::{Args, Parser, Subcommand, ValueEnum};
use std::path::PathBuf;

/// Inspect installations against the requirements of a code edition.
///
/// Rules are paraphrased: the adopted text and the authority having jurisdiction govern, and qualified persons do the
/// work.
#[derive(Debug, Parser)]
#[command(name = "whereas", version, max_term_width = 100, after_long_help = super::manual::epilogue())]
pub(super) struct Line {
    /// When to use colour.
    #[arg(long, global = true, value_enum, default_value_t = ColourWhen::Auto)]
    pub(super) color: ColourWhen,
    /// Columns to fill; as wide as the terminal if not given.
    #[arg(long, global = true, value_name = "COLUMNS")]
    pub(super) width: Option<usize>,
    #[command(subcommand)]
    pub(super) command: Command,
}

/// When to use colour.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub(super) enum ColourWhen {
    /// On a terminal, unless NO_COLOR is set.
    Auto,
    /// Always.
    Always,
    /// Never.
    Never,
}

#[derive(Debug, Subcommand)]
pub(super) enum Command {
    /// Say of each requirement whether an installation meets it, and where it is written.
    ///
    /// Exit status: 0 all that applies is met; 1 something is not met; 2 the work could not be done; 3 nothing is
    /// violated, but something is undecided or for the authority.
    Inspect(InspectArguments),
    /// Say which edition, with which amendments, governs in a place, and why.
    ///
    /// Exit status: 0 it is settled; 2 the work could not be done; 3 several may govern, and what selects is named.
    Govern(GovernArguments),
    /// Work a value out line by line, with the tables and the rounding used, and what is missing.
    ///
    /// Exit status: 0 all values are known; 2 the work could not be done; 3 something is missing or disputed.
    Work(WorkArguments),
    /// Show what differs between books, and which outcomes of an installation it changes.
    ///
    /// Exit status: 0 no outcome differs; 1 one does; 2 the work could not be done.
    Compare(CompareArguments),
    /// Try facts and rules line by line, and see at once which verdicts they change.
    ///
    /// Lines are typed at a prompt, or read from standard input if that is no terminal. `help` at the prompt tells what can be
    /// said. Exit status: 0 all lines were understood, and always at a terminal; 2 one was not, or the work could not be done.
    Try(TryArguments),
    /// Carry an amendment to another edition: which operations apply, moved, changed underneath or are absorbed; prints a draft.
    ///
    /// Exit status: 0 every operation applies; 3 some are for a person to confirm or to retire; 2 the work could not be done.
    Carry(CarryArguments),
    /// List the facts that a family of rulebooks can ask for.
    Facts(FactsArguments),
    /// Explain a diagnostic by its code, or tell the history of a part of a book.
    Why(WhyArguments),
    /// Run the examples and claims that stand beside the rules.
    ///
    /// Exit status: 0 everything came out as written; 1 something came out otherwise; 2 the work could not be done.
    Rehearse(RehearseArguments),
    /// Lay rulebooks and facts out in the one way there is, in place; what they say and every comment stay.
    ///
    /// Exit status: 0 all is tidy; 1 with --check, something is not; 2 something does not read or could not be written.
    Tidy(TidyArguments),
    /// Look through rulebooks for what can be run, and probably does not say what was meant.
    ///
    /// Exit status: 0 nothing found; 1 something found; 2 the work could not be done.
    Review(ReviewArguments),
    /// List the editions that can be inspected under.
    Editions(EditionsArguments),
    /// Print the completions of a shell for this program.
    Completions(CompletionsArguments),
    /// Print the manual page of this program, or of one of its commands.
    Man(ManArguments),
}

/// Which rulebooks.
#[derive(Debug, Args)]
pub(super) struct Rules {
    /// Load the rulebooks of this folder instead of the shipped ones; may be given several times.
    #[arg(long = "rules", value_name = "DIR")]
    pub(super) folders: Vec<PathBuf>,
    /// Load this rulebook, or the rulebooks of this folder, beside the others; may be given several times.
    #[arg(long = "beside", value_name = "FILE OR DIR")]
    pub(super) own: Vec<PathBuf>,
}

/// Which part of the report is wanted. The exit status tells of that part alone.
#[derive(Debug, Args)]
pub(super) struct Only {
    /// Only this section, article or paragraph, such as 210.8(A) or 210, by the number it has in any of the books; may be given several
    /// times.
    #[arg(long = "section", value_name = "NUMBER")]
    pub(super) sections: Vec<String>,
    /// Only rules about this subject, such as gfci; may be given several times.
    #[arg(long = "about", value_name = "SUBJECT")]
    pub(super) subjects: Vec<String>,
}

/// Where and when: what selects the book.
#[derive(Debug, Args)]
pub(super) struct Whereabouts {
    /// The place whose adopted edition governs; the `place` of the project if not given. `govern` takes several, with commas
    /// between them.
    #[arg(long = "in", value_name = "PLACE")]
    pub(super) place: Option<String>,
    /// The date that fixes the edition there, as the facts would state it.
    #[arg(long, value_name = "YYYY-MM-DD")]
    pub(super) date: Option<String>,
    /// Which date of the project --date is; that of the place if not given.
    #[arg(long, value_name = "CLOCK", requires = "date")]
    pub(super) clock: Option<String>,
    /// The family of editions, where the place adopts several.
    #[arg(long = "of", value_name = "FAMILY")]
    pub(super) family: Option<String>,
}

#[derive(Debug, Args)]
pub(super) struct GovernArguments {
    /// Files of facts (native or .json), of which only the project matters; `-` reads standard input.
    #[arg(value_name = "FACTS")]
    pub(super) facts: Vec<PathBuf>,
    #[command(flatten)]
    pub(super) whereabouts: Whereabouts,
    #[command(flatten)]
    pub(super) rules: Rules,
    /// Print JSON instead of text.
    #[arg(long)]
    pub(super) json: bool,
}

#[derive(Debug, Args)]
pub(super) struct InspectArguments {
    /// Files of facts (native or .json) about one installation; `-` reads standard input.
    #[arg(required = true, value_name = "FACTS")]
    pub(super) facts: Vec<PathBuf>,
    /// The edition to inspect under, such as "nec 2017"; if not given, the one that governs in the place.
    #[arg(long, value_name = "EDITION", conflicts_with_all = ["place", "family"])]
    pub(super) under: Option<String>,
    #[command(flatten)]
    pub(super) whereabouts: Whereabouts,
    /// Settle a disputed text by a named reading, such as either-path=strict; may be given several times.
    #[arg(long = "reading", value_name = "READING")]
    pub(super) readings: Vec<String>,
    #[command(flatten)]
    pub(super) only: Only,
    #[command(flatten)]
    pub(super) rules: Rules,
    /// List every requirement with its reasons, also those met and those that do not apply.
    #[arg(long)]
    pub(super) full: bool,
    /// Print JSON instead of text.
    #[arg(long)]
    pub(super) json: bool,
}

#[derive(Debug, Args)]
pub(super) struct WorkArguments {
    /// A definition or an amount such as box-fill, or the number of a section, a table or a series.
    pub(super) what: String,
    /// Files of facts (native or .json) about one installation; `-` reads standard input.
    #[arg(required = true, value_name = "FACTS")]
    pub(super) facts: Vec<PathBuf>,
    /// The edition to work under, such as "nec 2017".
    #[arg(long, value_name = "EDITION")]
    pub(super) under: String,
    /// Settle a disputed text by a named reading; may be given several times.
    #[arg(long = "reading", value_name = "READING")]
    pub(super) readings: Vec<String>,
    #[command(flatten)]
    pub(super) rules: Rules,
    /// Print JSON instead of text.
    #[arg(long)]
    pub(super) json: bool,
}

#[derive(Debug, Args)]
pub(super) struct CompareArguments {
    /// Two or more books, such as "nec 2017" or 2017 or "nec 2020 with harbor-2021"; then files of facts, if any, and rulebooks (.rulebook) to load besides.
    #[arg(required = true, value_name = "BOOKS AND FACTS")]
    pub(super) what: Vec<String>,
    /// Settle a disputed text by a named reading in the books that have it.
    #[arg(long = "reading", value_name = "READING")]
    pub(super) readings: Vec<String>,
    #[command(flatten)]
    pub(super) only: Only,
    #[command(flatten)]
    pub(super) rules: Rules,
    /// Print Markdown instead of text.
    #[arg(long, conflicts_with = "json")]
    pub(super) markdown: bool,
    /// Print JSON instead of text.
    #[arg(long)]
    pub(super) json: bool,
}

#[derive(Debug, Args)]
pub(super) struct TryArguments {
    /// Files to begin with: facts (native or .json), each an installation of its own, and rulebooks.
    #[arg(value_name = "FILE")]
    pub(super) files: Vec<PathBuf>,
    /// The edition to begin under, such as "nec 2020"; if not given, the one that governs in the place, or the latest.
    #[arg(long, value_name = "EDITION", conflicts_with_all = ["place", "date", "clock", "family"])]
    pub(super) under: Option<String>,
    #[command(flatten)]
    pub(super) whereabouts: Whereabouts,
    #[command(flatten)]
    pub(super) rules: Rules,
}

#[derive(Debug, Args)]
pub(super) struct CarryArguments {
    /// The name of the amendment.
    #[arg(value_name = "AMENDMENT")]
    pub(super) amendment: String,
    /// Rulebooks to load besides, such as the one the amendment stands in.
    #[arg(value_name = "RULEBOOKS")]
    pub(super) files: Vec<PathBuf>,
    /// The book to carry it to, such as "nec 2023" or "nec 2023 with tia-23-3".
    #[arg(long, value_name = "EDITION")]
    pub(super) to: String,
    #[command(flatten)]
    pub(super) rules: Rules,
    /// Write the draft to this file, which must not exist, instead of printing it behind the report.
    #[arg(long, value_name = "FILE")]
    pub(super) out: Option<PathBuf>,
    /// Print only the draft.
    #[arg(long, conflicts_with_all = ["json", "out"])]
    pub(super) draft: bool,
    /// Print JSON instead of text.
    #[arg(long)]
    pub(super) json: bool,
}

#[derive(Debug, Args)]
pub(super) struct FactsArguments {
    /// The family, such as nec.
    pub(super) family: String,
    /// Only this thing, such as outlet.
    pub(super) thing: Option<String>,
    /// Print a form to fill in, in the native spelling of facts.
    #[arg(long, conflicts_with = "json_schema")]
    pub(super) form: bool,
    /// Print a JSON Schema for facts in JSON.
    #[arg(long)]
    pub(super) json_schema: bool,
    #[command(flatten)]
    pub(super) rules: Rules,
}

#[derive(Debug, Args)]
pub(super) struct WhyArguments {
    /// A code such as E0301; with --under a number such as 517.13(B), `210.8(A) Ex. 1`, `table 250.122, 60 A`, or a name; none: list
    /// all codes.
    pub(super) code: Option<String>,
    /// The book whose section is meant, such as "nec 2017".
    #[arg(long, value_name = "EDITION")]
    pub(super) under: Option<String>,
    #[command(flatten)]
    pub(super) rules: Rules,
}

#[derive(Debug, Args)]
pub(super) struct EditionsArguments {
    #[command(flatten)]
    pub(super) rules: Rules,
}

#[derive(Debug, Args)]
pub(super) struct RehearseArguments {
    /// More examples (.rulebook), and files of facts that examples may be given as in and claims are held against.
    #[arg(value_name = "FILES")]
    pub(super) beside: Vec<PathBuf>,
    /// Only under this book, such as "nec 2017" or 2017; may be given several times.
    #[arg(long, value_name = "EDITION")]
    pub(super) under: Vec<String>,
    #[command(flatten)]
    pub(super) rules: Rules,
    /// Tell also which conditions, exceptions and table rows could be struck without any example noticing.
    #[arg(long, conflicts_with = "disturb")]
    pub(super) gaps: bool,
    /// Disturb the rules one place at a time, and tell which disturbances no example notices.
    #[arg(long)]
    pub(super) disturb: bool,
    /// Print JSON instead of text.
    #[arg(long, conflicts_with = "junit")]
    pub(super) json: bool,
    /// Print JUnit XML instead of text.
    #[arg(long)]
    pub(super) junit: bool,
}

#[derive(Debug, Args)]
pub(super) struct TidyArguments {
    /// Rulebooks (.rulebook), facts (.facts) and folders of them; `-` reads standard input and prints.
    #[arg(required = true, value_name = "FILES OR FOLDERS")]
    pub(super) paths: Vec<PathBuf>,
    /// Write nothing; show what would change, and end with status 1 if anything would.
    #[arg(long)]
    pub(super) check: bool,
}

#[derive(Debug, Args)]
pub(super) struct ReviewArguments {
    /// More rulebooks (.rulebook), such as amendments, their examples among them.
    #[arg(value_name = "FILES")]
    pub(super) files: Vec<PathBuf>,
    /// Only this book, such as "nec 2017" or 2017; may be given several times. Every edition and amendment if not given.
    #[arg(long, value_name = "EDITION")]
    pub(super) under: Vec<String>,
    #[command(flatten)]
    pub(super) rules: Rules,
    /// Print JSON instead of text.
    #[arg(long)]
    pub(super) json: bool,
}

#[derive(Debug, Args)]
pub(super) struct CompletionsArguments {
    /// The shell.
    pub(super) shell: clap_complete::Shell,
}

#[derive(Debug, Args)]
pub(super) struct ManArguments {
    /// A command, such as inspect; none: the program.
    pub(super) command: Option<String>,
}
