//! The inspection as text for a terminal or a pipe.
//!
//! What must be acted on comes first; requirements with one verdict and the same reasons share an entry. Lines fill the
//! width given. Nothing here looks at the environment.

use super::runs::runs;
use super::view::{Inspection, Missing, Overall, Reason, Relied, Verdict};
use crate::diag::{Charset, Colour, Look};
use std::collections::BTreeMap;

/// How much to show.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Depth {
    /// Reasons for what is not met or open; the rest in short.
    Brief,
    /// Everything.
    Full,
}

const ORDER: [(&str, &str, Ink); 5] = [
    ("not met", "Not met", Ink::Bad),
    ("undecided", "Undecided", Ink::Open),
    ("for the authority", "For the authority", Ink::Open),
    ("met", "Met", Ink::Good),
    ("not applicable", "Does not apply", Ink::Faint),
];

#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Ink {
    Bad,
    Open,
    Good,
    Faint,
    Strong,
}

struct Page<'l> {
    look: &'l Look,
    text: String,
}

/// Draws the inspection.
pub fn text(inspection: &Inspection, depth: Depth, look: &Look) -> String {
    let mut page = Page { look, text: String::new() };
    if let Some(selection) = &inspection.governing.selection {
        super::selection::body(&mut page.text, selection, look);
        page.blank();
    }
    page.heading(inspection);
    for (verdict, title, ink) in ORDER {
        let of: Vec<&Verdict> = inspection.verdicts.iter().filter(|v| v.verdict == verdict).collect();
        if of.is_empty() {
            continue;
        }
        let brief = depth == Depth::Brief && matches!(ink, Ink::Good | Ink::Faint);
        page.blank();
        let title = page.inked(title, ink);
        page.text.push_str(&title);
        page.text.push('\n');
        match (brief, ink) {
            (true, Ink::Faint) => page.sections(&of, &inspection.verdicts),
            (true, _) => page.short(&of),
            (false, _) => page.entries(&of, depth),
        }
    }
    page.ask_first(inspection);
    page.not_described(inspection);
    page.not_looked_at(inspection);
    page.readings(inspection, depth);
    page.blank();
    page.fill(&inspection.caution, "", "");
    page.text
}

/// Draws some requirements as the inspection draws them, without the rest of it.
pub fn entries(verdicts: &[Verdict], depth: Depth, look: &Look) -> String {
    let mut page = Page { look, text: String::new() };
    for (verdict, title, ink) in ORDER {
        let of: Vec<&Verdict> = verdicts.iter().filter(|v| v.verdict == verdict).collect();
        if !of.is_empty() {
            let title = page.inked(title, ink);
            page.text.push_str(&title);
            page.text.push('\n');
            page.entries(&of, depth);
        }
    }
    page.text
}

impl Page<'_> {
    fn inked(&self, text: &str, ink: Ink) -> String {
        if self.look.colour == Colour::Off {
            return text.to_string();
        }
        let code = match ink {
            Ink::Bad => "1;31",
            Ink::Open => "33",
            Ink::Good => "32",
            Ink::Faint => "2",
            Ink::Strong => "1",
        };
        format!("\u{1b}[{code}m{text}\u{1b}[0m")
    }

    fn blank(&mut self) {
        self.text.push('\n');
    }

    fn fill(&mut self, text: &str, first: &str, rest: &str) {
        let options = textwrap::Options::new(self.look.width)
            .initial_indent(first)
            .subsequent_indent(rest)
            .break_words(false)
            .word_separator(textwrap::WordSeparator::AsciiSpace)
            .word_splitter(textwrap::WordSplitter::NoHyphenation);
        for line in textwrap::wrap(text, options) {
            self.text.push_str(line.trim_end());
            self.text.push('\n');
        }
    }

    fn heading(&mut self, inspection: &Inspection) {
        let project = if inspection.project.is_empty() { "This installation" } else { &inspection.project };
        let title = match inspection.governing.title.as_str() {
            "" => String::new(),
            title => format!(" ({title})"),
        };
        let line = format!("{project}, under {}{title}", inspection.governing.edition);
        let width = self.look.width;
        for line in textwrap::wrap(&line, width) {
            let line = self.inked(&line, Ink::Strong);
            self.text.push_str(&line);
            self.text.push('\n');
        }
        if !inspection.only.is_empty() {
            self.fill(&format!("Only {} is told here.", inspection.only.join(", ")), "", "  ");
        }
        let counts = &inspection.counts;
        let said: Vec<String> = [
            (counts.not_met, "not met"),
            (counts.undecided, "undecided"),
            (counts.for_the_authority, "for the authority"),
            (counts.met, "met"),
            (counts.not_applicable, "not applicable"),
        ]
        .into_iter()
        .filter(|(count, _)| *count > 0)
        .map(|(count, word)| format!("{count} {word}"))
        .collect();
        let whole = match inspection.outcome {
            Overall::Met => "All that applies is met",
            Overall::NotMet => "Something is not met",
            Overall::Open if said.is_empty() && inspection.not_described.is_empty() => "Nothing was looked at",
            Overall::Open => "Nothing is violated for certain, but not all is settled",
        };
        let counted = if said.is_empty() { "no requirement concerns it".to_string() } else { said.join(", ") };
        self.fill(&format!("{whole}: {counted}."), "", "");
        self.unchecked(&inspection.verdicts);
    }

    /// How much of what applies rests on words that nobody looked up in the book that governs.
    fn unchecked(&mut self, verdicts: &[Verdict]) {
        let mut documents: BTreeMap<&str, usize> = BTreeMap::new();
        for verdict in verdicts.iter().filter(|v| v.verdict != "not applicable" && !v.unchecked.is_empty()) {
            *documents.entry(&verdict.unchecked).or_insert(0) += 1;
        }
        for (document, count) in documents {
            let rest = if count == 1 { "1 of these rests" } else { &format!("{count} of these rest") };
            self.fill(
                &format!(
                    "{rest} on words carried into {document} unchecked: nobody looked whether they still stand there."
                ),
                "",
                "  ",
            );
        }
    }

    /// One line for each requirement, subjects behind it.
    fn short(&mut self, verdicts: &[&Verdict]) {
        for (section, group) in grouped(verdicts, |v| (v.section.clone(), v.by.clone())) {
            let mut subjects: Vec<&str> = group.iter().map(|v| v.subject.as_str()).collect();
            subjects.dedup();
            let by = if section.1.is_empty() { String::new() } else { format!(", by {}", section.1) };
            let title = group.first().map_or("", |v| v.title.as_str());
            self.fill(&format!("{}  {title}: {}{by}", section.0, few(&subjects)), "  ", "      ");
        }
    }

    /// Only the numbers of what applies to no subject; the rest is told where it applies.
    fn sections(&mut self, verdicts: &[&Verdict], all: &[Verdict]) {
        let mut sections: Vec<&str> = verdicts.iter().map(|v| v.section.as_str()).collect();
        sections.retain(|s| !all.iter().any(|v| v.section == **s && v.verdict != "not applicable"));
        sections.dedup();
        let elsewhere = if sections.is_empty() { "nothing else" } else { "" };
        self.fill(&format!("{}{elsewhere} (--full says why)", runs(&sections).join(", ")), "  ", "  ");
    }

    fn entries(&mut self, verdicts: &[&Verdict], depth: Depth) {
        let key = |v: &Verdict| {
            let shape = serde_json::to_string(&(&v.because, &v.missing, &v.readings, &v.lean, &v.by, &v.under))
                .unwrap_or_default();
            (v.section.clone(), shape)
        };
        for ((section, _), group) in grouped(verdicts, key) {
            let Some(first) = group.first() else { continue };
            let subjects: Vec<&str> = group.iter().map(|v| v.subject.as_str()).collect();
            let head = if first.title.is_empty() { String::new() } else { format!("  {}", first.title) };
            let section = self.inked(&section, Ink::Strong);
            self.fill(&format!("{section}{head}"), "  ", "      ");
            self.pair(&first.thing, &subjects.join(", "));
            if let Some(item) = item_of(&first.asks) {
                self.pair("where", item);
            }
            if !first.lean.is_empty() {
                self.pair("so far", &first.lean);
            }
            if !first.by.is_empty() {
                self.pair("by", &first.by);
            }
            // What is missing, or what each reading gives, says enough of an open requirement.
            let open = matches!(first.verdict.as_str(), "undecided" | "for the authority");
            let told = open && (!first.missing.is_empty() || !first.readings.is_empty());
            if depth == Depth::Full || !told {
                let follows = first.because.iter().any(|r| r.found.starts_with("follows from"));
                for reason in &first.because {
                    // What only follows from another requirement needs no more reasons.
                    if !follows || reason.role == "asks" {
                        self.reason(reason);
                    }
                }
            }
            for permission in &first.beyond {
                self.pair("although", permission);
            }
            page_under(self, &first.under);
            for effect in &first.readings {
                let chosen = if effect.chosen { " (chosen)" } else { "" };
                let line =
                    format!("{}={}: {}{chosen} - {}", effect.reading, effect.option, effect.verdict, effect.about);
                self.pair("reading", &line);
            }
            self.missing(&first.missing);
            self.relied_on(&first.relied_on);
            if first.cites.len() > 1 {
                let arrow = match self.look.charset {
                    Charset::Unicode => " \u{2192} ",
                    Charset::Ascii => " -> ",
                };
                self.pair("through", &first.cites.join(arrow));
            }
            if !first.marks.is_empty() {
                self.pair("sources", &first.marks.join("; "));
            }
        }
    }

    /// A word in the margin and what belongs to it.
    fn pair(&mut self, word: &str, text: &str) {
        let first = format!("    {word:<9} ");
        self.fill(text, &first, "              ");
    }

    /// Facts relied on, by their owner.
    fn relied_on(&mut self, relied: &[Relied]) {
        let mut owners: Vec<(&str, Vec<String>)> = Vec::new();
        for fact in relied {
            let said = format!("{} {}", fact.field, fact.value);
            match owners.iter_mut().find(|(of, _)| *of == fact.of) {
                Some((_, facts)) => facts.push(said),
                None => owners.push((&fact.of, vec![said])),
            }
        }
        let all: Vec<String> = owners.into_iter().map(|(of, facts)| format!("{of}: {}", facts.join(", "))).collect();
        if !all.is_empty() {
            self.pair("rests on", &all.join("; "));
        }
    }

    /// Missing facts by their owner; judgments with who may make them.
    fn missing(&mut self, missing: &[Missing]) {
        let mut owners: Vec<(&str, Vec<&str>)> = Vec::new();
        for fact in missing.iter().filter(|m| m.judgment.is_empty()) {
            match owners.iter_mut().find(|(of, _)| *of == fact.of) {
                Some((_, fields)) => fields.push(&fact.field),
                None => owners.push((&fact.of, vec![&fact.field])),
            }
        }
        for (of, fields) in owners {
            self.pair("missing", &format!("{} of {of}", fields.join(", ")));
        }
        for fact in missing.iter().filter(|m| !m.judgment.is_empty()) {
            self.pair("judgment", &format!("{} of {}: {} ({})", fact.field, fact.of, fact.question, fact.judgment));
        }
    }

    /// A reason at the margin, and what lies below it.
    fn reason(&mut self, reason: &Reason) {
        match (reason.role.as_str(), reason.answer) {
            ("scope", _) => self.tree("applies", reason),
            ("asks" | "", _) => self.tree("asks", reason),
            // Why an exception does not help takes one line.
            (label, "no") => {
                let mut found = Vec::new();
                leaves(reason, &mut found);
                let why = if found.is_empty() { String::new() } else { format!(": {}", found.join(", ")) };
                self.pair("relief", &format!("{label} does not help{why}"));
            }
            (label, _) => {
                self.pair("relief", label);
                self.tree("", &Reason { role: String::new(), ..reason.clone() });
            }
        }
    }

    fn tree(&mut self, word: &str, reason: &Reason) {
        let lines = simplified(reason);
        for (at, line) in lines.iter().enumerate() {
            let text = self.line(line);
            self.pair(if at == 0 { word } else { "" }, &text);
            for part in &line.because {
                self.branch(part, 1);
            }
        }
    }

    fn branch(&mut self, reason: &Reason, depth: usize) {
        for reason in simplified(reason) {
            let text = self.line(&reason);
            let indent = " ".repeat(12 + 2 * depth.min(12));
            self.fill(&text, &indent, &format!("{indent}  "));
            for part in &reason.because {
                self.branch(part, depth + 1);
            }
        }
    }

    fn line(&self, reason: &Reason) -> String {
        let mut line = String::new();
        if !matches!(reason.role.as_str(), "" | "asks" | "scope") {
            line.push_str(&format!("{}: ", reason.role));
        }
        line.push_str(match reason.answer {
            "no" => "no, ",
            "yes" => "yes, ",
            _ => "open, ",
        });
        line.push_str(&reason.text);
        if !reason.cite.is_empty() {
            line.push_str(&format!(" [{}]", reason.cite));
        }
        if !reason.found.is_empty() {
            line.push_str(&format!(": {}", reason.found));
        }
        line
    }

    fn ask_first(&mut self, inspection: &Inspection) {
        const SHOWN: usize = 8;
        if inspection.ask_first.len() < 2 {
            return;
        }
        self.blank();
        let title = self.inked("Find out first", Ink::Strong);
        self.text.push_str(&title);
        self.text.push('\n');
        for ask in inspection.ask_first.iter().take(SHOWN) {
            let question = if ask.question.is_empty() { String::new() } else { format!(": {}", ask.question) };
            let open = format!("{} open", ask.keeps_open);
            self.pair(&open, &format!("{} of {}{question}", ask.field, ask.of));
        }
        if inspection.ask_first.len() > SHOWN {
            let more = inspection.ask_first.len() - SHOWN;
            self.fill(&format!("and {more} more"), "  ", "      ");
        }
    }

    fn not_described(&mut self, inspection: &Inspection) {
        if inspection.not_described.is_empty() {
            return;
        }
        self.blank();
        let title = self.inked("Not described", Ink::Open);
        self.text.push_str(&title);
        self.text.push('\n');
        for one in &inspection.not_described {
            let sections: Vec<&str> = one.sections.iter().map(String::as_str).collect();
            let line = format!("{}: may be bound by {}; if there is none, say `{}`", one.what, few(&sections), one.say);
            self.fill(&line, "  ", "      ");
        }
    }

    fn not_looked_at(&mut self, inspection: &Inspection) {
        if inspection.not_looked_at.is_empty() {
            return;
        }
        self.blank();
        let kinds = inspection.not_looked_at.join(", ");
        self.fill(&format!("Not looked at, for the facts describe none: {kinds}."), "", "");
    }

    fn readings(&mut self, inspection: &Inspection, depth: Depth) {
        let chosen: Vec<_> = inspection.governing.readings.iter().filter(|r| r.chosen.is_some()).collect();
        let open: Vec<_> = inspection
            .governing
            .readings
            .iter()
            .filter(|r| r.chosen.is_none())
            .filter(|r| {
                depth == Depth::Full
                    || inspection.verdicts.iter().any(|v| v.readings.iter().any(|e| e.reading == r.name))
            })
            .collect();
        if chosen.is_empty() && open.is_empty() {
            return;
        }
        self.blank();
        let title = self.inked("Disputed texts", Ink::Strong);
        self.text.push_str(&title);
        self.text.push('\n');
        for reading in chosen {
            let option = reading.chosen.as_deref().unwrap_or("");
            self.fill(&format!("{}: read as {option}, as you chose", reading.name), "  ", "      ");
        }
        for reading in open {
            let options: Vec<String> = reading.options.iter().map(|o| format!("{} ({})", o.name, o.about)).collect();
            let line = format!("{}: {}; all were run: {}", reading.name, reading.question, options.join("; "));
            self.fill(&line, "  ", "      ");
        }
    }
}

/// What each of several books says.
fn page_under(page: &mut Page, under: &[super::view::Under]) {
    let mut said: Vec<String> = Vec::new();
    for one in under {
        let binds = if one.binds && under.iter().any(|other| !other.binds) { " (binds)" } else { "" };
        let line = format!("{}: {}{binds}", one.book, one.verdict);
        if !said.contains(&line) {
            page.pair(if said.is_empty() { "by book" } else { "" }, &line);
            said.push(line);
        }
    }
}

/// A reason without the steps that say nothing of their own: lists stand for their lines, and a step that hands on to
/// one finer step shares its line.
fn simplified(reason: &Reason) -> Vec<Reason> {
    let silent = reason.found.is_empty() && !reason.because.is_empty();
    if silent && (reason.role == "scope" || (reason.role.is_empty() && reason.text.ends_with('\u{2026}'))) {
        return reason.because.iter().flat_map(simplified).collect();
    }
    if let [part] = reason.because.as_slice()
        && reason.found.is_empty()
        && part.role.is_empty()
        && part.answer == reason.answer
    {
        let text = if reason.text.ends_with('\u{2026}') || part.text == reason.text {
            part.text.clone()
        } else if part.text.ends_with('\u{2026}') {
            reason.text.clone()
        } else {
            format!("{} - {}", reason.text, part.text)
        };
        let cite = if part.cite.is_empty() { reason.cite.clone() } else { part.cite.clone() };
        return simplified(&Reason { role: reason.role.clone(), text, cite, ..part.clone() });
    }
    vec![reason.clone()]
}

/// What the facts say at the ends of a reason, each once.
fn leaves(reason: &Reason, found: &mut Vec<String>) {
    if !reason.found.is_empty() && !found.contains(&reason.found) {
        found.push(reason.found.clone());
    }
    for part in &reason.because {
        leaves(part, found);
    }
}

/// Up to a handful of names, the rest counted.
fn few(names: &[&str]) -> String {
    const SHOWN: usize = 6;
    if names.len() <= SHOWN {
        return names.join(", ");
    }
    format!("{} and {} more", names[..SHOWN].join(", "), names.len() - SHOWN)
}

/// Groups in order of first appearance.
fn grouped<'v, K: PartialEq>(verdicts: &[&'v Verdict], key: impl Fn(&Verdict) -> K) -> Vec<(K, Vec<&'v Verdict>)> {
    let mut groups: Vec<(K, Vec<&Verdict>)> = Vec::new();
    for verdict in verdicts {
        let key = key(verdict);
        match groups.iter_mut().find(|(known, _)| *known == key) {
            Some((_, group)) => group.push(verdict),
            None => groups.push((key, vec![verdict])),
        }
    }
    groups
}

/// The condition of a named item of a list, which tells it from its neighbours under the same title.
fn item_of(asks: &str) -> Option<&str> {
    let (_, named) = asks.strip_prefix('(')?.split_once(") as ")?;
    named.split_once(": ").map(|(_, condition)| condition)
}
