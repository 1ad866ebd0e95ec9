//! The arguments as clap reads them. No defaults are looked up here and no files opened.

use clap::{Args, Parser, Subcommand, ValueEnum};
use std::path::PathBuf;

/// Inspect installations against the requirements of a code edition.
///
/// Rules are paraphrased: the adopted text and the authority having jurisdiction govern, and qualified persons do the
/// work.
#[derive(Debug, Parser)]
#[command(name = "whereas", version, max_term_width = 100)]
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
    /// Show what differs between books, and which outcomes of an installation it changes.
    ///
    /// Exit status: 0 no outcome differs; 1 one does; 2 the work could not be done.
    Compare(CompareArguments),
    /// Carry an amendment to another edition: which operations apply, moved, changed underneath or are absorbed; prints a draft.
    ///
    /// Exit status: 0 every operation applies; 3 some are for a person to confirm or to retire; 2 the work could not be done.
    Carry(CarryArguments),
    /// List the facts that a family of rulebooks can ask for.
    Facts(FactsArguments),
    /// Explain a diagnostic by its code, or tell the history of a section under a book.
    Why(WhyArguments),
    /// List the editions that can be inspected under.
    Editions(EditionsArguments),
}

/// Which rulebooks.
#[derive(Debug, Args)]
pub(super) struct Rules {
    /// Load the rulebooks of this folder instead of the shipped ones; may be given several times.
    #[arg(long = "rules", value_name = "DIR")]
    pub(super) folders: Vec<PathBuf>,
}

#[derive(Debug, Args)]
pub(super) struct InspectArguments {
    /// Files of facts (native or .json) about one installation; `-` reads standard input.
    #[arg(required = true, value_name = "FACTS")]
    pub(super) facts: Vec<PathBuf>,
    /// The edition to inspect under, such as "nec 2017".
    #[arg(long, value_name = "EDITION")]
    pub(super) under: String,
    /// Settle a disputed text by a named reading, such as either-path=strict; may be given several times.
    #[arg(long = "reading", value_name = "READING")]
    pub(super) readings: Vec<String>,
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
pub(super) struct CompareArguments {
    /// Two or more books, such as "nec 2017" or 2017 or "nec 2020 with harbor-2021"; then files of facts, if any, and rulebooks (.rulebook) to load besides.
    #[arg(required = true, value_name = "BOOKS AND FACTS")]
    pub(super) what: Vec<String>,
    /// Settle a disputed text by a named reading in the books that have it.
    #[arg(long = "reading", value_name = "READING")]
    pub(super) readings: Vec<String>,
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
    /// A code such as E0301, or with --under a number such as 517.13(B); none: list all codes.
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
