//! Printed lines before and after, as legislative mark-up: words struck and words inserted.
//!
//! The comparison of sequences is the crate `similar`'s; what counts as a word is decided here.

use crate::edition::Line;
use serde::Serialize;
use similar::{Algorithm, ChangeTag, DiffOp, TextDiff, capture_diff_slices};

/// What became of a run of words.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Fate {
    /// Stands in both.
    Same,
    /// Stands in the earlier book only.
    Struck,
    /// Stands in the later book only.
    Inserted,
}

/// Words with one fate.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Run {
    /// What became of them.
    pub fate: Fate,
    /// The words.
    pub text: String,
}

/// A printed line, marked up.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Marked {
    /// Its words, in order.
    pub runs: Vec<Run>,
    /// Whether the line can change a verdict: titles and notes cannot.
    pub binds: bool,
}

/// Below this share of common words a line is another line, not a changed one.
const LEAST_COMMON: f32 = 0.3;

impl Marked {
    /// A whole line with one fate.
    pub fn whole(line: &Line, fate: Fate) -> Marked {
        Marked { runs: vec![Run { fate, text: line.text.clone() }], binds: line.binds }
    }
}

/// The lines that differ, marked up, in the order of the later text; what was struck as a whole stands before what replaced it.
pub fn marked(old: &[Line], new: &[Line]) -> Vec<Marked> {
    let (old_texts, new_texts): (Vec<&str>, Vec<&str>) =
        (old.iter().map(|l| l.text.as_str()).collect(), new.iter().map(|l| l.text.as_str()).collect());
    let mut all = Vec::new();
    for op in capture_diff_slices(Algorithm::Myers, &old_texts, &new_texts) {
        let (struck, inserted) = match op {
            DiffOp::Equal { .. } => continue,
            DiffOp::Delete { .. } | DiffOp::Insert { .. } | DiffOp::Replace { .. } => (op.old_range(), op.new_range()),
        };
        let mut left: Vec<&Line> = old.get(struck).unwrap_or_default().iter().collect();
        let mut later = Vec::new();
        for line in new.get(inserted).unwrap_or_default() {
            let like = left.iter().position(|old| alike(&old.text, &line.text));
            later.push(match like.map(|at| left.remove(at)) {
                Some(before) => words(before, line),
                None => Marked::whole(line, Fate::Inserted),
            });
        }
        all.extend(left.into_iter().map(|line| Marked::whole(line, Fate::Struck)));
        all.extend(later);
    }
    all
}

/// Words as a reader takes them: a comma or bracket at the end of a word is a word of its own, a number keeps its unit.
fn tokens(text: &str) -> Vec<&str> {
    let mut all = Vec::new();
    let mut rest = text;
    while !rest.is_empty() {
        let blank = rest.len() - rest.trim_start_matches(' ').len();
        if blank > 0 {
            let (space, more) = rest.split_at(blank);
            all.push(space);
            rest = more;
            continue;
        }
        let first = rest.chars().next().map_or(1, char::len_utf8);
        let mut end = match rest.find(' ').unwrap_or(rest.len()) {
            _ if rest.starts_with(['"', ',', ';', '{', '}']) => first,
            // The other system's value of a dual limit.
            _ if rest.starts_with('(') && rest[1..].starts_with(|c: char| c.is_ascii_digit()) => {
                rest.find(')').map_or(rest.len(), |close| close + 1)
            }
            space => {
                let word = &rest[..space];
                let bare = word.trim_end_matches([',', ';', '"', ':']);
                if bare.is_empty() { space } else { bare.len() }
            }
        };
        // `4 1/2 ft` and `125 V` change as a whole.
        let digits = |text: &str| !text.is_empty() && text.bytes().all(|b| b.is_ascii_digit());
        if digits(&rest[..end])
            && let Some(fraction) = rest[end..].strip_prefix(' ')
        {
            let length = fraction.find([' ', ',', ';', ')']).unwrap_or(fraction.len());
            if fraction[..length].split_once('/').is_some_and(|(a, b)| digits(a) && digits(b)) {
                end += 1 + length;
            }
        }
        if rest[..end].starts_with(|c: char| c.is_ascii_digit())
            && let Some(unit) = rest[end..].strip_prefix(' ')
        {
            let letters = unit.bytes().take_while(u8::is_ascii_alphanumeric).count();
            let word = &unit[..letters];
            if word.starts_with(|c: char| c.is_ascii_alphabetic()) && !WORDS.contains(&word) {
                end += 1 + letters;
            }
        }
        let (word, more) = rest.split_at(end);
        all.push(word);
        rest = more;
    }
    all
}

/// Words that may stand behind a number without being its unit.
const WORDS: [&str; 9] = ["or", "and", "through", "of", "by", "is", "where", "x", "per"];

/// Words that begin a statement of one sort.
const STATEMENTS: [&str; 9] = ["about", "governs", "if", "notes", "of", "permits", "prohibits", "requires", "when"];

fn alike(old: &str, new: &str) -> bool {
    let sort = |text: &str| {
        let first = text.split(' ').next().unwrap_or("");
        if text.starts_with('"') { Some("\"") } else { STATEMENTS.iter().copied().find(|word| *word == first) }
    };
    if sort(old) != sort(new) {
        return false;
    }
    let word = |t: &&str| !t.trim().is_empty();
    let (old, new): (Vec<&str>, Vec<&str>) =
        (tokens(old).into_iter().filter(word).collect(), tokens(new).into_iter().filter(word).collect());
    TextDiff::from_slices(&old, &new).ratio() >= LEAST_COMMON
}

fn words(old: &Line, new: &Line) -> Marked {
    let (before, after) = (tokens(&old.text), tokens(&new.text));
    let diff = TextDiff::from_slices(&before, &after);
    let mut steps: Vec<(Fate, &str)> = diff
        .iter_all_changes()
        .map(|change| {
            let fate = match change.tag() {
                ChangeTag::Equal => Fate::Same,
                ChangeTag::Delete => Fate::Struck,
                ChangeTag::Insert => Fate::Inserted,
            };
            (fate, change.value())
        })
        .collect();
    // A lone blank or comma between two changes belongs to them.
    let mut split = Vec::new();
    for (at, (fate, text)) in steps.iter().enumerate() {
        let between = at > 0
            && steps.get(at - 1).is_some_and(|s| s.0 != Fate::Same)
            && steps.get(at + 1).is_some_and(|s| s.0 != Fate::Same);
        if *fate == Fate::Same && between && !text.contains(char::is_alphanumeric) {
            split.extend([(Fate::Struck, *text), (Fate::Inserted, *text)]);
        } else {
            split.push((*fate, *text));
        }
    }
    steps = split;
    let mut runs: Vec<Run> = Vec::new();
    let mut struck = String::new();
    let mut inserted = String::new();
    let flush = |struck: &mut String, inserted: &mut String, runs: &mut Vec<Run>| {
        for (fate, text) in [(Fate::Struck, struck), (Fate::Inserted, inserted)] {
            if !text.is_empty() {
                runs.push(Run { fate, text: std::mem::take(text) });
            }
        }
    };
    for (fate, text) in steps {
        match fate {
            Fate::Struck => struck.push_str(text),
            Fate::Inserted => inserted.push_str(text),
            Fate::Same => {
                flush(&mut struck, &mut inserted, &mut runs);
                match runs.last_mut() {
                    Some(run) if run.fate == Fate::Same => run.text.push_str(text),
                    _ => runs.push(Run { fate, text: text.to_string() }),
                }
            }
        }
    }
    flush(&mut struck, &mut inserted, &mut runs);
    Marked { runs, binds: old.binds || new.binds }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn shown(old: &str, new: &str) -> String {
        let line = |text: &str| Line { text: text.to_string(), binds: true };
        let all = marked(&[line(old)], &[line(new)]);
        let sign = |run: &Run| match run.fate {
            Fate::Same => run.text.clone(),
            Fate::Struck => format!("-{}-", run.text),
            Fate::Inserted => format!("+{}+", run.text),
        };
        all.iter().map(|m| m.runs.iter().map(sign).collect::<String>()).collect::<Vec<_>>().join(" / ")
    }

    #[test]
    fn a_number_changes_with_its_unit() {
        assert_eq!(shown("volts is 125 V", "volts is 125 V through 250 V"), "volts is 125 V+ through 250 V+");
        assert_eq!(shown("at most 6 ft (1.8 m)", "at most 4 ft (1.2 m)"), "at most -6 ft (1.8 m)-+4 ft (1.2 m)+");
        assert_eq!(shown("length at most 20 A", "length at most 30 A"), "length at most -20 A-+30 A+");
        assert_eq!(shown("at most trade 1 1/4, listed", "at most trade 1, listed"), "at most trade -1 1/4-+1+, listed");
        assert_eq!(shown("height at most 7 1/2 ft", "height at most 7 ft"), "height at most -7 1/2 ft-+7 ft+");
    }

    #[test]
    fn a_line_with_little_in_common_is_struck_whole() {
        assert_eq!(shown("listed", "gfci is class-a"), "-listed- / +gfci is class-a+");
        assert_eq!(shown("(A) is enough", "(A) or (B) is enough"), "(A) +or (B) +is enough");
    }

    #[test]
    fn what_is_the_same_gives_nothing() {
        let line = Line { text: "listed".to_string(), binds: true };
        assert!(marked(std::slice::from_ref(&line), std::slice::from_ref(&line)).is_empty());
        assert!(marked(&[], &[]).is_empty());
    }
}
