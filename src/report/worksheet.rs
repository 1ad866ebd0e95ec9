//! The shape of worked-out values as `whereas work --json` prints it, and its text. Version 1; fields are only added.

use super::CAUTION;
use super::view::Governing;
use crate::diag::{Charset, Colour, Look};
use crate::eval::{self, Choices, Sought, Working};
use crate::facts::installation::{Installation, ObjectId};
use crate::ir::program::Program;
use serde::Serialize;

/// The version of the shape.
pub const VERSION: u32 = 1;

/// Values worked out for the things of one installation under one book.
#[derive(Debug, Clone, Serialize)]
pub struct Worksheets {
    /// [`VERSION`].
    pub version: u32,
    /// What governs.
    pub governing: Governing,
    /// The project's title, or empty.
    pub project: String,
    /// What was asked for.
    pub asked: String,
    /// One for each value and thing.
    pub worksheets: Vec<Worksheet>,
    /// Whether all of them are wholly known.
    pub known: bool,
    /// The usual caution.
    pub caution: String,
}

/// One value worked out for one thing.
#[derive(Debug, Clone, Serialize)]
pub struct Worksheet {
    /// The value's name.
    pub name: String,
    /// Its title in our words, or empty.
    pub title: String,
    /// The section or table it comes from, or empty.
    pub cite: String,
    /// The thing it is worked out for, in full.
    pub subject: String,
    /// What comes out, with its unit; an interval where not all is known.
    pub value: String,
    /// Whether it is wholly known.
    pub known: bool,
    /// Facts that went in.
    pub given: Vec<Given>,
    /// The lines, each after those it needs; the last is the value itself.
    pub lines: Vec<Line>,
    /// What the value lacks, in words.
    pub lacks: Vec<String>,
    /// Facts that would settle it.
    pub missing: Vec<Wanted>,
    /// What comes out under each reading of the disputed texts it hangs on.
    pub readings: Vec<Under>,
}

/// A fact that went in.
#[derive(Debug, Clone, Serialize)]
pub struct Given {
    /// Whose; empty for the thing itself.
    pub of: String,
    /// Which field.
    pub field: String,
    /// What is known of it.
    pub value: String,
}

/// One line of a working.
#[derive(Debug, Clone, Serialize)]
pub struct Line {
    /// The value's name, or the number of an amount's line.
    pub name: String,
    /// Whose; empty for the thing itself.
    pub of: String,
    /// How it is worked out, as written.
    pub words: String,
    /// The same with the numbers put in; empty where that says no more.
    pub with: String,
    /// What comes out.
    pub value: String,
    /// Whether it is wholly known.
    pub known: bool,
    /// Table rows used, cases that hold, readings.
    pub note: String,
    /// The section it paraphrases, or empty.
    pub cite: String,
    /// Sources and their marks.
    pub marks: Vec<String>,
}

/// A fact that would settle a value.
#[derive(Debug, Clone, Serialize)]
pub struct Wanted {
    /// Whose, in full.
    pub of: String,
    /// Which field.
    pub field: String,
    /// What is asked.
    pub question: String,
}

/// A value under one reading of a disputed text.
#[derive(Debug, Clone, Serialize)]
pub struct Under {
    /// The reading's name.
    pub reading: String,
    /// The question.
    pub question: String,
    /// The option's name.
    pub option: String,
    /// What it says.
    pub about: String,
    /// What comes out.
    pub value: String,
}

/// Works values out, each for every stated thing of its kind.
pub(crate) fn worksheets(
    program: &Program,
    facts: &Installation,
    choices: &Choices,
    asked: &str,
    sought: &[Sought],
) -> Worksheets {
    let mut all = Vec::new();
    for one in sought {
        for object in facts.stated.get(usize::from(one.thing.0)).into_iter().flatten() {
            all.push(worksheet(program, facts, choices, one, *object));
        }
    }
    Worksheets {
        version: VERSION,
        governing: super::build::governing(program, choices),
        project: facts.title.clone(),
        asked: asked.to_string(),
        known: all.iter().all(|w| w.known),
        worksheets: all,
        caution: CAUTION.to_string(),
    }
}

fn worksheet(
    program: &Program,
    facts: &Installation,
    choices: &Choices,
    sought: &Sought,
    object: ObjectId,
) -> Worksheet {
    let Working { given, steps, value, known, lacks, missing, readings } =
        eval::work(program, facts, choices, sought, object);
    let schema = &program.schema;
    Worksheet {
        name: sought.name.clone(),
        title: sought.title.clone(),
        cite: sought.cite.clone(),
        subject: facts.full_name(&program.schema, object),
        value,
        known,
        given: given.into_iter().map(|g| Given { of: g.of, field: g.field, value: g.value }).collect(),
        lines: steps
            .into_iter()
            .map(|step| Line {
                name: step.name,
                of: step.of,
                words: step.words,
                with: step.with,
                value: step.value,
                known: step.known,
                note: step.note,
                cite: step.cite,
                marks: super::build::marks(step.marks.iter()),
            })
            .collect(),
        lacks: lacks.into_iter().map(str::to_string).collect(),
        missing: missing
            .into_iter()
            .map(|missing| Wanted {
                of: missing.of(schema, facts),
                field: missing.name(schema, facts).into_owned(),
                question: missing.question(schema, facts).into_owned(),
            })
            .collect(),
        readings: readings
            .into_iter()
            .filter_map(|(reading, option, value)| {
                let known = program.readings.get(reading)?;
                let (name, about) = known.options.get(option)?;
                Some(Under {
                    reading: known.name.clone(),
                    question: known.question.clone(),
                    option: name.clone(),
                    about: about.clone(),
                    value,
                })
            })
            .collect(),
    }
}

/// Draws the worksheets.
pub fn worksheet_text(sheets: &Worksheets, look: &Look) -> String {
    let mut text = String::new();
    let title = match sheets.governing.title.is_empty() {
        true => sheets.governing.edition.clone(),
        false => format!("{} ({})", sheets.governing.edition, sheets.governing.title),
    };
    text.push_str(&match sheets.project.is_empty() {
        true => format!("Worked out under {title}\n"),
        false => format!("{}: worked out under {title}\n", sheets.project),
    });
    for sheet in &sheets.worksheets {
        draw(&mut text, sheet, look);
    }
    text.push('\n');
    for line in textwrap::wrap(&sheets.caution, look.width.clamp(40, 1000)) {
        text.push_str(&line);
        text.push('\n');
    }
    text
}

/// Draws the values alone, without heading and caution, for a reader who knows the book.
pub fn worksheet_entries(sheets: &Worksheets, look: &Look) -> String {
    let mut text = String::new();
    for sheet in &sheets.worksheets {
        draw(&mut text, sheet, look);
    }
    text.trim_start_matches('\n').to_string()
}

/// Appends words over as many lines as they need.
fn fill(text: &mut String, words: &str, first: &str, rest: &str, look: &Look) {
    let options = textwrap::Options::new(look.width.clamp(40, 1000))
        .initial_indent(first)
        .subsequent_indent(rest)
        .break_words(false)
        .word_separator(textwrap::WordSeparator::AsciiSpace)
        .word_splitter(textwrap::WordSplitter::NoHyphenation);
    for line in textwrap::wrap(words, options) {
        text.push_str(line.trim_end());
        text.push('\n');
    }
}

fn draw(text: &mut String, sheet: &Worksheet, look: &Look) {
    text.push('\n');
    let cite = if sheet.cite.is_empty() { String::new() } else { format!("   {}", sheet.cite) };
    let title = if sheet.title.is_empty() { String::new() } else { format!(", {}", sheet.title) };
    text.push_str(&format!("{} of {}{title}{cite}\n", sheet.name, sheet.subject));
    let value = match look.colour {
        Colour::On => format!("\u{1b}[1m{}\u{1b}[0m", sheet.value),
        Colour::Off => sheet.value.clone(),
    };
    text.push_str(&format!("  {value}\n"));
    if !sheet.given.is_empty() {
        let mut groups: Vec<(&str, Vec<String>)> = Vec::new();
        for given in &sheet.given {
            let said = format!("{} {}", given.field, given.value);
            match groups.iter_mut().find(|(of, _)| *of == given.of) {
                Some((_, all)) => all.push(said),
                None => groups.push((&given.of, vec![said])),
            }
        }
        // Things with the same facts are told together.
        let mut told: Vec<(Vec<&str>, String)> = Vec::new();
        for (of, all) in groups {
            let said = all.join(", ");
            match told.iter_mut().find(|(_, known)| *known == said) {
                Some((names, _)) => names.push(of),
                None => told.push((vec![of], said)),
            }
        }
        let lines: Vec<String> = told
            .into_iter()
            .map(|(names, said)| match names.as_slice() {
                [""] => said,
                names => {
                    let short: Vec<&str> = names.iter().map(|n| n.split(" of ").next().unwrap_or(n)).collect();
                    format!("{}: {said}", short.join(", "))
                }
            })
            .collect();
        fill(text, &lines.join("; "), "  given   ", "          ", look);
    }
    let rule = match look.charset {
        Charset::Unicode => "\u{2500}",
        Charset::Ascii => "-",
    };
    let wide = |line: &Line| {
        let of = if line.of.is_empty() { 0 } else { line.of.chars().count() + 4 };
        line.name.chars().count() + of
    };
    let names = sheet.lines.iter().map(wide).max().unwrap_or(0).min(34);
    for (at, line) in sheet.lines.iter().enumerate() {
        if at + 1 == sheet.lines.len() && sheet.lines.len() > 1 {
            text.push_str(&format!("  {}\n", rule.repeat(names + 2)));
        }
        let name = if line.of.is_empty() { line.name.clone() } else { format!("{} of {}", line.name, line.of) };
        let pad = " ".repeat(names.saturating_sub(name.chars().count()));
        let worked =
            if line.with.is_empty() || line.with == line.value { String::new() } else { format!("{} = ", line.with) };
        let first = format!("  {name}{pad}  ");
        let rest = " ".repeat(names + 4);
        fill(text, &format!("{worked}{}", line.value), &first, &rest, look);
        // Where a row was looked up and nothing else done, the row says it all.
        let looked_up = line.with.is_empty() && line.note.starts_with("table ");
        let mut beneath: Vec<String> = Vec::new();
        let says_more = line.words != line.name && line.words != line.value && line.words != "the sum of these";
        if says_more && !line.words.is_empty() && !looked_up {
            beneath.push(line.words.clone());
        }
        if !line.note.is_empty() {
            beneath.push(line.note.clone());
        }
        let mut sources: Vec<String> = Vec::new();
        if !line.cite.is_empty() {
            sources.push(line.cite.clone());
        }
        sources.extend(line.marks.iter().cloned());
        if !sources.is_empty() {
            beneath.push(format!("[{}]", sources.join("; ")));
        }
        fill(text, &beneath.join("; "), &format!("{rest}  "), &format!("{rest}    "), look);
    }
    if !sheet.known {
        if !sheet.lacks.is_empty() {
            fill(text, &sheet.lacks.join(", "), "  open    ", "          ", look);
        }
        for missing in &sheet.missing {
            let words = match missing.question.is_empty() {
                true => format!("{} of {}", missing.field, missing.of),
                false => format!("{} of {}: {}", missing.field, missing.of, missing.question),
            };
            fill(text, &words, "  missing ", "            ", look);
        }
    }
    let mut before = "";
    for under in &sheet.readings {
        if before != under.reading {
            fill(text, &format!("{}: {}", under.reading, under.question), "  disputed  ", "            ", look);
            before = &under.reading;
        }
        fill(
            text,
            &format!("{}={} ({}): {}", under.reading, under.option, under.about, under.value),
            "            ",
            "              ",
            look,
        );
    }
}
