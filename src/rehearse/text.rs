//! The rehearsal as text: what came out otherwise first, then claims, then what no example speaks of.

use super::view::{ClaimResult, Disturbances, ExampleResult, Failure, Gap, Rehearsal, Unnoticed, Witness};
use crate::diag::{Colour, Look};
use std::collections::{BTreeMap, BTreeSet};

#[derive(Clone, Copy)]
enum Ink {
    Bad,
    Good,
    Open,
    Strong,
}

struct Page<'l> {
    look: &'l Look,
    text: String,
}

/// Draws a rehearsal.
pub fn text(rehearsal: &Rehearsal, look: &Look) -> String {
    let mut page = Page { look, text: String::new() };
    page.fill(&format!("Rehearsed under {}", spans(&rehearsal.books)), "", "    ");
    page.examples(&rehearsal.examples);
    page.claims(&rehearsal.claims);
    let silent: Vec<&str> = rehearsal.rules.iter().filter(|r| r.verdicts.is_empty()).map(|r| r.rule.as_str()).collect();
    if !silent.is_empty() {
        page.heading("No example speaks of", Ink::Open);
        page.fill(&silent.join(", "), "  ", "  ");
    }
    if let Some(gaps) = &rehearsal.gaps {
        page.gaps(gaps);
    }
    if let Some(disturbances) = &rehearsal.disturbances {
        page.disturbances(disturbances);
    }
    page.text.push('\n');
    page.fill(&rehearsal.caution, "", "");
    page.text
}

impl Page<'_> {
    fn inked(&self, text: &str, ink: Ink) -> String {
        if self.look.colour == Colour::Off {
            return text.to_string();
        }
        let code = match ink {
            Ink::Bad => "1;31",
            Ink::Good => "32",
            Ink::Open => "33",
            Ink::Strong => "1",
        };
        format!("\u{1b}[{code}m{text}\u{1b}[0m")
    }

    fn heading(&mut self, text: &str, ink: Ink) {
        let text = self.inked(text, ink);
        self.text.push_str(&format!("\n{text}\n"));
    }

    fn fill(&mut self, text: &str, first: &str, then: &str) {
        let options = textwrap::Options::new(self.look.width)
            .initial_indent(first)
            .subsequent_indent(then)
            .word_separator(textwrap::WordSeparator::AsciiSpace)
            .word_splitter(textwrap::WordSplitter::NoHyphenation);
        for line in textwrap::wrap(text, options) {
            self.text.push_str(&line);
            self.text.push('\n');
        }
    }

    fn examples(&mut self, examples: &[ExampleResult]) {
        let checks: usize = examples.iter().map(|e| e.checks).sum();
        let failures: usize = examples.iter().map(|e| e.failures.len()).sum();
        if failures > 0 {
            self.heading("Came out otherwise", Ink::Bad);
            for example in examples.iter().filter(|e| !e.failures.is_empty()) {
                let title = self.inked(&format!("\"{}\"", example.title), Ink::Strong);
                self.text.push_str(&format!("  {title}  {}\n", example.place));
                for (failure, books) in alike(&example.failures) {
                    self.fill(&format!("{}: {}", spans(&books), failure.asked), "    ", "        ");
                    self.fill(
                        &format!("expected  {}  ({})", failure.expected, failure.place),
                        "      ",
                        "                ",
                    );
                    let rule = failure.rule.as_ref().map_or(String::new(), |rule| format!("  (rule: {rule})"));
                    self.fill(&format!("came out  {}{rule}", failure.got), "      ", "                ");
                }
            }
        }
        self.heading("Examples", Ink::Strong);
        let (all, which) = (examples.len(), if examples.len() == 1 { "example" } else { "examples" });
        let outcome = match failures {
            0 => self.inked("all came out as written", Ink::Good),
            n => self.inked(&format!("{n} came out otherwise"), Ink::Bad),
        };
        let expectations = if checks == 1 { "expectation" } else { "expectations" };
        self.text.push_str(&format!("  {all} {which}, {checks} {expectations}: {outcome}\n"));
    }

    fn claims(&mut self, claims: &[ClaimResult]) {
        if claims.is_empty() {
            return;
        }
        self.heading("Claims", Ink::Strong);
        for claim in claims {
            self.fill(&format!("\"{}\"  ({})", claim.title, claim.statement), "  ", "      ");
            // Books that answer alike share a line.
            let mut alike: Vec<(String, Vec<String>)> = Vec::new();
            for witness in &claim.under {
                let told = answered(witness);
                match alike.iter_mut().find(|(known, _)| *known == told) {
                    Some((_, books)) => books.push(witness.book.clone()),
                    None => alike.push((told, vec![witness.book.clone()])),
                }
            }
            for (told, books) in alike {
                self.fill(&format!("{}: {told}", spans(&books)), "    ", "        ");
            }
        }
    }

    fn gaps(&mut self, gaps: &[Gap]) {
        if gaps.is_empty() {
            self.heading("Nothing could be struck unnoticed", Ink::Good);
            return;
        }
        self.heading("Could be struck, and no example would notice", Ink::Open);
        for gap in gaps {
            self.fill(&format!("{}  {} `{}`  ({})", gap.at, gap.part, gap.words, spans(&gap.under)), "  ", "      ");
        }
    }

    fn disturbances(&mut self, all: &Disturbances) {
        let title =
            format!("Disturbed {} times, noticed {} ({})", all.tried, all.noticed, share(all.noticed, all.tried));
        self.heading(&title, Ink::Strong);
        for (book, tried, noticed) in &all.under {
            self.text.push_str(&format!("  {book}: {noticed} of {tried} ({})\n", share(*noticed, *tried)));
        }
        for (file, tried, noticed) in &all.files {
            self.text.push_str(&format!("  {file}: {noticed} of {tried} ({})\n", share(*noticed, *tried)));
        }
        if !all.unnoticed.is_empty() {
            self.heading("No example notices", Ink::Open);
            all.unnoticed.iter().for_each(|one| self.unnoticed(one));
        }
        let mut reasons: BTreeMap<&str, (usize, BTreeSet<&str>)> = BTreeMap::new();
        for waived in &all.waived {
            let of = reasons.entry(waived.reason.as_str()).or_default();
            of.0 += waived.disturbance.under.len();
            of.1.insert(waived.disturbance.at.as_str());
        }
        if !reasons.is_empty() {
            self.heading("Waived", Ink::Strong);
        }
        for (reason, (times, places)) in reasons {
            let places = places.into_iter().collect::<Vec<_>>().join(", ");
            self.fill(&format!("{times} in {places}: {reason}"), "  ", "      ");
        }
        if !all.idle_waivers.is_empty() {
            self.heading("Waivers that waive nothing now", Ink::Open);
            all.idle_waivers.iter().for_each(|idle| self.fill(idle, "  ", "      "));
        }
    }

    fn unnoticed(&mut self, one: &Unnoticed) {
        let at = if one.at.is_empty() { String::new() } else { format!("{}  ", one.at) };
        let told = format!("{at}`{}` {}  ({}; {})", one.words, one.done, spans(&one.under), one.place);
        self.fill(&told, "  ", "      ");
    }
}

/// Failures that say the same of several books, told once.
fn alike(failures: &[Failure]) -> Vec<(&Failure, Vec<String>)> {
    let mut once: Vec<(&Failure, Vec<String>)> = Vec::new();
    for failure in failures {
        let known = once.iter_mut().find(|(first, _)| {
            (&first.place, &first.asked, &first.got) == (&failure.place, &failure.asked, &failure.got)
        });
        match known {
            Some((_, books)) => books.push(failure.under.clone()),
            None => once.push((failure, vec![failure.under.clone()])),
        }
    }
    once
}

/// An answer with what bears it out. Nothing here is called proved.
fn answered(witness: &Witness) -> String {
    let installations = |n: usize| if n == 1 { "1 installation".to_string() } else { format!("{n} installations") };
    let mut told = match (witness.answer.as_str(), &witness.witness) {
        ("refuted", Some(by)) => format!("refuted by {by}"),
        ("refuted", None) => "refuted".to_string(),
        ("supported", _) => format!("supported by {}, refuted by none", installations(witness.supporting)),
        _ if witness.supporting > 0 => format!(
            "not settled: {} one side of it only",
            match witness.supporting {
                1 => "1 installation shows".to_string(),
                n => format!("{n} installations show"),
            }
        ),
        _ if witness.open > 0 => format!("not settled: open in {} that could tell", installations(witness.open)),
        _ => "not settled: no installation speaks of it".to_string(),
    };
    if let (false, Some(expected)) = (witness.as_expected, &witness.expected) {
        told.push_str(&format!("; EXPECTED {expected}"));
    }
    told
}

/// A share of a whole, in percent to one decimal, rounded down.
fn share(part: usize, whole: usize) -> String {
    match (part * 1000).checked_div(whole) {
        Some(thousandths) => format!("{}.{} %", thousandths / 10, thousandths % 10),
        None => "none tried".to_string(),
    }
}

/// Books in few words: `nec 2014, 2017, 2020`.
fn spans(books: &[String]) -> String {
    let mut text = String::new();
    let mut before = "";
    for book in books {
        let (family, rest) = book.split_once(' ').unwrap_or((book.as_str(), ""));
        if !text.is_empty() {
            text.push_str(", ");
        }
        match family == before {
            true => text.push_str(rest),
            false => text.push_str(book),
        }
        before = family;
    }
    text
}
