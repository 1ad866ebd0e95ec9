//! The comparison as text, and as Markdown.

use super::Comparison;
use super::classes::{Class, Classified, PartChange};
use super::markup::{Fate, Marked, Run};
use super::outcomes::{ABSENT, Row, weight};
use crate::diag::{Colour, Look};

/// How struck and inserted words are told.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Style {
    /// `[[struck]]` and `__inserted__`, as bills typed without strikes and underlines have it.
    Plain,
    /// Struck through in red, underlined in green.
    Coloured,
    /// `~~struck~~` and `**inserted**`.
    Markdown,
}

/// Draws a comparison: the outcomes that differ, then what the rules changed.
pub fn text(comparison: &Comparison, look: &Look) -> String {
    let mut page = Page { look, text: String::new() };
    page.fill(&comparison.books.join(" | "), "", "  ");
    if !comparison.only.is_empty() {
        page.fill(&format!("Only {} is told here.", comparison.only.join(", ")), "", "  ");
    }
    for state in &comparison.amendments {
        let told = format!("{} in {}: {}; {}", state.name, state.book, state.class.as_str(), state.note);
        page.fill(&told, "", "  ");
    }
    if !comparison.outcomes.is_empty() {
        page.outcomes(comparison);
    }
    for rules in &comparison.rules {
        page.rules(rules);
    }
    if page.style() == Style::Plain && comparison.rules.iter().any(has_signs) {
        page.text.push('\n');
        page.fill("[[struck]] and __inserted__ are words of our rulebooks, not of the code book.", "", "");
    }
    page.text.push('\n');
    page.fill(&comparison.caution, "", "");
    page.text
}

/// Whether some listed line needs signs.
fn has_signs(rules: &Classified) -> bool {
    let partly = |change: &&PartChange| !matches!(change.class, Class::Added | Class::Removed);
    rules.changes.iter().filter(partly).any(|change| !change.lines.is_empty())
}

struct Page<'l> {
    look: &'l Look,
    text: String,
}

impl Page<'_> {
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

    fn style(&self) -> Style {
        if self.look.colour == Colour::On { Style::Coloured } else { Style::Plain }
    }

    fn inked(&self, text: &str, code: &str) -> String {
        match self.look.colour {
            Colour::On if !code.is_empty() => format!("\u{1b}[{code}m{text}\u{1b}[0m"),
            Colour::On | Colour::Off => text.to_string(),
        }
    }

    // -------------------------------------------------------------------------------------------- rules

    fn rules(&mut self, rules: &Classified) {
        let heading = format!("What {} changed in {}", rules.to, rules.from);
        self.text.push('\n');
        self.text.push_str(&self.inked(&heading, "1"));
        self.text.push('\n');
        self.fill(&counted(rules), "  ", "    ");
        if rules.by_number {
            self.fill("these books share no lineage: parts were matched by their printed numbers", "  ", "    ");
        }
        let listed_ones: Vec<&PartChange> =
            rules.changes.iter().filter(|c| c.class != Class::CarriedUnchecked).collect();
        let mut next = 0;
        while let Some(change) = listed_ones.get(next) {
            let run = row_of_moves(&listed_ones[next..]);
            next += run;
            let (title, went) = match (run, listed_ones.get(next - 1)) {
                (2.., Some(last)) => (
                    format!("{} through {}", change.at, last.at),
                    format!("moved, were {} through {}", change.was_at, last.was_at),
                ),
                _ => (title(change), went(change)),
            };
            let head = format!("{}  {}", self.inked(&title, "1"), self.inked(&went, "2"));
            let mut lines = vec![head];
            lines.extend(change.lines.iter().map(|line| listed(line, change.class, self.style())));
            if !change.note.is_empty() {
                lines.push(change.note.clone());
            }
            if let Some(last) = lines.last_mut() {
                last.push_str(&sources(change));
            }
            for (at, line) in lines.iter().enumerate() {
                let (first, rest) = if at == 0 { ("  ", "      ") } else { ("      ", "        ") };
                self.fill(line, first, rest);
            }
        }
        let copied = unchecked(rules);
        if !copied.is_empty() {
            self.fill(&format!("carried without being checked: {}", copied.join(", ")), "  ", "      ");
        }
    }

    // -------------------------------------------------------------------------------------------- outcomes

    fn outcomes(&mut self, comparison: &Comparison) {
        let entries = entries(&comparison.outcomes);
        self.text.push('\n');
        if entries.is_empty() {
            self.fill(&format!("No outcome differs: {}", folded(comparison)), "", "  ");
            return;
        }
        let (names, legend) = columns(&comparison.books);
        let words: Vec<Vec<&str>> =
            entries.iter().map(|entry| entry.row.verdicts.iter().map(|v| short(v)).collect()).collect();
        let widths: Vec<usize> = names
            .iter()
            .enumerate()
            .map(|(at, name)| {
                words.iter().filter_map(|w| w.get(at)).map(|w| w.len()).max().unwrap_or(0).max(name.len())
            })
            .collect();
        // As many books side by side as fit beside a label of readable width.
        let room = self.look.width.saturating_sub(24);
        let mut blocks: Vec<std::ops::Range<usize>> = Vec::new();
        let mut start = 0;
        while start < names.len() {
            let mut end = start;
            let mut used = 0;
            while end < names.len() && (end < start + 2 || used + widths[end] + 2 <= room) {
                used += widths[end] + 2;
                end += 1;
            }
            blocks.push(start..end);
            // The next block begins with the book the last one ended with, so that every step shows.
            start = if end < names.len() && end - start > 1 { end - 1 } else { end };
        }
        for line in legend {
            self.fill(&line, "", "  ");
        }
        for block in blocks {
            let goes = |words: &Vec<&str>| block.clone().skip(1).any(|at| words[at] != words[at - 1]);
            if !words.iter().any(goes) {
                continue;
            }
            let label = self.look.width.saturating_sub(block.clone().map(|at| widths[at] + 2).sum()).min(48);
            let head: String = block.clone().map(|at| format!("{:<1$}  ", names[at], widths[at])).collect();
            let whole = format!("{:<label$}{}", "Outcomes that differ", head.trim_end());
            self.text.push_str(&self.inked(&whole, "1"));
            self.text.push('\n');
            for (entry, words) in entries.iter().zip(&words) {
                if !goes(words) {
                    continue;
                }
                self.fill(&format!("{}  {}", numbers(entry.row), entry.row.title), "", "    ");
                let cells: String = block
                    .clone()
                    .map(|at| {
                        let pad = " ".repeat(widths[at] - words[at].len() + 2);
                        format!("{}{pad}", self.inked(words[at], ink(&entry.row.verdicts[at])))
                    })
                    .collect();
                let subjects = entry.subjects.join(", ");
                let subjects = textwrap::wrap(&subjects, label.saturating_sub(4).max(12));
                for (nth, subject) in subjects.iter().enumerate() {
                    let cells = if nth == 0 { cells.trim_end() } else { "" };
                    let line = format!("  {subject:<room$}{cells}", room = label - 2);
                    self.text.push_str(line.trim_end());
                    self.text.push('\n');
                }
                for change in entry.row.because.iter().filter(|c| within(comparison, &block, c)) {
                    let told = because(change, &comparison.books, self.style());
                    self.fill(&told, "    ", "      ");
                }
            }
        }
        self.fill(&format!("Stay as they were: {}", folded(comparison)), "", "  ");
        let used: Vec<&str> = words.iter().flatten().copied().collect();
        let mut notes = Vec::new();
        if used.contains(&"n/a") {
            notes.push("n/a: does not apply");
        }
        if used.contains(&"no rule") {
            notes.push("no rule: the book has no such requirement");
        }
        if used.contains(&"authority") {
            notes.push("authority: only judgments not on record stand between the facts and a verdict");
        }
        if !notes.is_empty() {
            self.fill(&notes.join("; "), "", "  ");
        }
    }
}

/// Rows of one requirement that went the same way.
struct Entry<'e> {
    row: &'e Row,
    subjects: Vec<&'e str>,
}

fn entries(rows: &[Row]) -> Vec<Entry<'_>> {
    let mut all: Vec<Entry> = Vec::new();
    for row in rows.iter().filter(|row| row.differs) {
        let like = all.iter_mut().find(|entry| {
            entry.row.sections == row.sections && entry.row.verdicts == row.verdicts && entry.row.because == row.because
        });
        match like {
            Some(entry) => entry.subjects.push(&row.subject),
            None => all.push(Entry { row, subjects: vec![&row.subject] }),
        }
    }
    all
}

/// Whether a change belongs to a book of the block, other than its first.
fn within(comparison: &Comparison, block: &std::ops::Range<usize>, change: &PartChange) -> bool {
    let at = comparison.books.iter().position(|book| *book == change.book);
    at.is_some_and(|at| block.contains(&at) && (at > block.start || block.len() == 1))
}

/// Short names of the books for the heads of columns, and what they stand for where that is not plain.
fn columns(books: &[String]) -> (Vec<String>, Vec<String>) {
    let family = books.first().and_then(|b| b.split(' ').next()).unwrap_or("");
    let bare: Vec<String> =
        books.iter().map(|book| book.strip_prefix(family).map_or(book.as_str(), str::trim_start).to_string()).collect();
    if books.iter().all(|book| book.split(' ').next() == Some(family)) && bare.iter().all(|name| name.len() <= 12) {
        return (bare, Vec::new());
    }
    let letters: Vec<String> = (0..books.len()).map(|at| format!("[{}]", at + 1)).collect();
    let legend = letters.iter().zip(books).map(|(letter, book)| format!("{letter} {book}")).collect();
    (letters, legend)
}

fn short(verdict: &str) -> &str {
    match verdict {
        "not applicable" => "n/a",
        "for the authority" => "authority",
        ABSENT => "no rule",
        other => other,
    }
}

fn ink(verdict: &str) -> &'static str {
    match verdict {
        "not met" => "1;31",
        "met" => "32",
        "undecided" | "for the authority" => "33",
        _ => "2",
    }
}

/// The number of a requirement, with the older ones where it moved.
fn numbers(row: &Row) -> String {
    let mut seen: Vec<&str> = Vec::new();
    for section in row.sections.iter().rev().filter(|s| !s.is_empty()) {
        if !seen.contains(&section.as_str()) {
            seen.push(section);
        }
    }
    match seen.split_first() {
        Some((now, [])) => (*now).to_string(),
        Some((now, before)) => format!("{now} (was {})", before.join(", ")),
        None => String::new(),
    }
}

/// How many rows stay, by their verdict in the last book.
fn folded(comparison: &Comparison) -> String {
    let stay: Vec<&Row> = comparison.outcomes.iter().filter(|row| !row.differs).collect();
    if stay.is_empty() {
        return "none".to_string();
    }
    let order = ["not met", "undecided", "for the authority", "met", "not applicable"];
    let parts: Vec<String> = order
        .iter()
        .filter_map(|word| {
            let count = stay.iter().filter(|row| row.verdicts.last().is_some_and(|v| weight(v) == *word)).count();
            (count > 0).then(|| format!("{count} {word}"))
        })
        .collect();
    format!("{} ({})", stay.len(), parts.join(", "))
}

/// How many parts went which way, what is listed first.
fn counted(rules: &Classified) -> String {
    let order = [
        Class::Changed,
        Class::MovedAndChanged,
        Class::Moved,
        Class::Added,
        Class::Removed,
        Class::Reserved,
        Class::NumberReused,
        Class::NoteOnly,
        Class::DanglingReference,
        Class::TargetSubjectChanged,
        Class::Expired,
        Class::CarriedUnchecked,
        Class::Unchanged,
    ];
    let parts: Vec<String> = order
        .iter()
        .filter_map(|class| {
            let count = rules.counts.get(class.as_str()).copied().unwrap_or(0);
            let plural = match class {
                Class::DanglingReference if count != 1 => "dangling references",
                other => other.as_str(),
            };
            (count > 0).then(|| format!("{count} {plural}"))
        })
        .collect();
    match rules.changes.is_empty() {
        true if parts.is_empty() => "nothing".to_string(),
        true => format!("nothing; {}", parts.join(", ")),
        false => parts.join(", "),
    }
}

/// How many of the first changes are items that moved along in a row: `(8)` to `(12)`, which were `(7)` to `(11)`.
fn row_of_moves(changes: &[&PartChange]) -> usize {
    let place = |number: &str| -> Option<(String, u32)> {
        let (outer, label) = number.strip_suffix(')')?.rsplit_once('(')?;
        Some((outer.to_string(), label.parse().ok()?))
    };
    let plain = |change: &PartChange| {
        let quiet = change.lines.is_empty() && change.note.is_empty() && change.within == 0;
        let (now, was) = (place(&change.at)?, place(&change.was_at)?);
        (change.class == Class::Moved && quiet).then_some((now, was))
    };
    let follows = |a: &PartChange, b: &PartChange| match (plain(a), plain(b)) {
        (Some((now, was)), Some((next_now, next_was))) => {
            now.0 == next_now.0
                && was.0 == next_was.0
                && now.1 + 1 == next_now.1
                && was.1 + 1 == next_was.1
                && sources(a) == sources(b)
        }
        _ => false,
    };
    1 + changes.windows(2).take_while(|pair| follows(pair[0], pair[1])).count()
}

fn title(change: &PartChange) -> String {
    if change.name.is_empty() { change.at.clone() } else { format!("{} {}", change.at, change.name) }
}

fn went(change: &PartChange) -> String {
    let was = match (change.was_at.is_empty(), change.class) {
        (true, _) => String::new(),
        (false, _) => format!(", was {}", change.was_at),
    };
    let within = match (change.within, change.class) {
        (0, _) => String::new(),
        (n, Class::Moved | Class::MovedAndChanged) => format!(", with the {n} parts in it"),
        (n, _) => format!(", {n} parts in it"),
    };
    let within = if change.within == 1 { within.replace("1 parts", "1 part") } else { within };
    format!("{}{was}{within}", change.class.as_str())
}

/// The documents where the book's name does not say it, and the marks.
fn sources(change: &PartChange) -> String {
    let documents: Vec<&str> =
        change.documents.iter().map(String::as_str).filter(|document| *document != change.book).collect();
    let mut parts: Vec<String> = Vec::new();
    if !documents.is_empty() {
        parts.push(documents.join(", "));
    }
    // Sources seen are told in one, each once.
    let mut seen: Vec<&str> = Vec::new();
    for key in change.marks.iter().filter_map(|mark| mark.strip_prefix("seen ")).flat_map(str::split_whitespace) {
        if !seen.contains(&key) {
            seen.push(key);
        }
    }
    if !seen.is_empty() {
        parts.push(format!("seen {}", seen.join(" ")));
    }
    parts.extend(change.marks.iter().filter(|mark| !mark.starts_with("seen ")).cloned());
    if parts.is_empty() { String::new() } else { format!("  [{}]", parts.join("; ")) }
}

fn unchecked(rules: &Classified) -> Vec<&str> {
    rules.changes.iter().filter(|c| c.class == Class::CarriedUnchecked).map(|c| c.at.as_str()).collect()
}

/// One line on the change behind an outcome.
fn because(change: &PartChange, books: &[String], style: Style) -> String {
    let (names, _) = columns(books);
    let book = books.iter().position(|b| *b == change.book).and_then(|at| names.get(at));
    // A line that was said anew as a whole is left to the list of changes below.
    let partly = |line: &&Marked| line.binds && line.runs.iter().any(|run| run.fate == Fate::Same);
    let whole = change.lines.iter().filter(|line| line.binds).count();
    let lines = match (change.lines.iter().find(partly), change.lines.iter().find(|l| l.binds), whole) {
        (Some(line), _, 1) => format!(": {}", marked(line, style)),
        (Some(line), _, _) => format!(": {} …", marked(line, style)),
        (None, Some(line), 1) => format!(": {}", listed(line, change.class, style)),
        (None, ..) => String::new(),
    };
    let book = book.map_or(change.book.as_str(), String::as_str);
    format!("{book}: {} {}{lines}{}", title(change), change.class.as_str(), sources(change))
}

/// A line with signs for its struck and inserted words, or with colours.
pub fn signed_line(line: &Marked, colour: Colour) -> String {
    marked(line, if colour == Colour::On { Style::Coloured } else { Style::Plain })
}

/// A line as it is listed: what is added or removed as a whole needs no signs where there is no colour.
fn listed(line: &Marked, class: Class, style: Style) -> String {
    match (class, style) {
        (Class::Added | Class::Removed, Style::Plain) => line.runs.iter().map(|run| run.text.as_str()).collect(),
        _ => marked(line, style),
    }
}

/// A line with its struck and inserted words.
fn marked(line: &Marked, style: Style) -> String {
    let mut text = String::new();
    let mut last = Fate::Same;
    for Run { fate, text: own } in &line.runs {
        let bare = own.trim_matches(' ');
        let (lead, tail) =
            (&own[..own.len() - own.trim_start_matches(' ').len()], &own[own.trim_end_matches(' ').len()..]);
        if *fate == Fate::Same {
            text.push_str(own);
        } else {
            if *fate == Fate::Inserted && last == Fate::Struck && lead.is_empty() && !text.ends_with(' ') {
                text.push(' ');
            }
            if !text.ends_with(' ') || lead.is_empty() {
                text.push_str(lead);
            }
            if !bare.is_empty() {
                text.push_str(&signed(bare, *fate, style));
            }
            text.push_str(tail);
        }
        last = *fate;
    }
    text.trim_end().to_string()
}

fn signed(text: &str, fate: Fate, style: Style) -> String {
    match (style, fate) {
        (_, Fate::Same) => text.to_string(),
        (Style::Plain, Fate::Struck) => format!("[[{text}]]"),
        (Style::Plain, Fate::Inserted) => format!("__{text}__"),
        (Style::Markdown, Fate::Struck) => format!("~~{text}~~"),
        (Style::Markdown, Fate::Inserted) => format!("**{text}**"),
        // Word by word, so that the indent of a wrapped line is not struck.
        (Style::Coloured, fate) => {
            let code = if fate == Fate::Struck { "9;31" } else { "4;32" };
            text.split(' ').map(|word| format!("\u{1b}[{code}m{word}\u{1b}[0m")).collect::<Vec<_>>().join(" ")
        }
    }
}

/// The comparison as Markdown: the outcomes as a table, the changes as a list.
pub fn markdown(comparison: &Comparison) -> String {
    let cell = |text: &str| text.replace('|', "\\|");
    let mut text = format!("# {}\n", comparison.books.join(" / "));
    if !comparison.only.is_empty() {
        text.push_str(&format!("\nOnly {} is told here.\n", comparison.only.join(", ")));
    }
    for state in &comparison.amendments {
        text.push_str(&format!("\n- {} in {}: *{}*; {}\n", state.name, state.book, state.class.as_str(), state.note));
    }
    if !comparison.outcomes.is_empty() {
        let (names, legend) = columns(&comparison.books);
        text.push_str("\n## Outcomes\n\n");
        for line in &legend {
            text.push_str(&format!("- {line}\n"));
        }
        if !legend.is_empty() {
            text.push('\n');
        }
        let entries = entries(&comparison.outcomes);
        if !entries.is_empty() {
            text.push_str(&format!("| requirement | subject | {} | because |\n", names.join(" | ")));
            text.push_str(&format!("|---|---|{}---|\n", "---|".repeat(names.len())));
        }
        for entry in &entries {
            let verdicts: Vec<String> = entry.row.verdicts.iter().map(|v| format!("**{v}**")).collect();
            let because: Vec<String> =
                entry.row.because.iter().map(|c| cell(&because(c, &comparison.books, Style::Markdown))).collect();
            text.push_str(&format!(
                "| {} {} | {} | {} | {} |\n",
                numbers(entry.row),
                cell(&entry.row.title),
                cell(&entry.subjects.join(", ")),
                verdicts.join(" | "),
                because.join("<br>")
            ));
        }
        let lead = if entries.is_empty() { "No outcome differs" } else { "\nStay as they were" };
        text.push_str(&format!("{lead}: {}\n", folded(comparison)));
    }
    for rules in &comparison.rules {
        text.push_str(&format!("\n## What {} changed in {}\n\n{}\n\n", rules.to, rules.from, counted(rules)));
        for change in rules.changes.iter().filter(|c| c.class != Class::CarriedUnchecked) {
            text.push_str(&format!("- {} *{}*{}\n", title(change), went(change), sources(change)));
            for line in &change.lines {
                text.push_str(&format!("  - {}\n", marked(line, Style::Markdown)));
            }
            if !change.note.is_empty() {
                text.push_str(&format!("  - {}\n", change.note));
            }
        }
        let copied = unchecked(rules);
        if !copied.is_empty() {
            text.push_str(&format!("- carried without being checked: {}\n", copied.join(", ")));
        }
    }
    text + "\n" + &comparison.caution + "\n"
}
