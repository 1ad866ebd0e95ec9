//! The linear scan before the grammar: bounds on size, line length and nesting, pairing of brackets and quotes, bytes and
//! typography that never belong, and the comments.
//!
//! It returns a copy of the text of the same length in which comments, tabs, line ends inside ( ) and line ends after a comma
//! are blank, so the grammar sees only line ends that end a clause and offsets stay true. Of words it knows only those that
//! nest without a bracket.

use crate::base::source::{SourceId, Span};
use crate::diag::{Code, Diagnostic, Diagnostics};

/// The most bytes a file may have.
pub const MOST_BYTES: usize = 16 << 20;
/// The most bytes a line may have.
pub const MOST_LINE: usize = 64 << 10;
/// The deepest nesting of brackets.
pub const MOST_DEPTH: usize = 48;
/// The deepest nesting of brackets and of the words that nest without one.
pub const MOST_STEPS: usize = 160;
/// The most mistakes told one by one.
const MOST_BAD: usize = 20;

/// A comment and where it stands.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Comment {
    /// The text with its `#`.
    pub text: String,
    /// Its place.
    pub span: Span,
}

/// Bytes that the scan has nothing to say about: what words and numbers are made of.
const PLAIN: [bool; 256] = {
    let mut plain = [false; 256];
    let mut byte = 0;
    while byte < 128 {
        plain[byte as usize] = matches!(byte, b'a'..=b'z' | b'A'..=b'Z' | b'0'..=b'9' | b'-' | b'.' | b'/');
        byte += 1;
    }
    plain
};

/// What the scan leaves behind.
pub(super) struct Guarded {
    /// The text for the grammar; none if it must not be parsed.
    pub(super) clean: Option<String>,
    /// Comments in order.
    pub(super) comments: Vec<Comment>,
    /// How deep its brackets nest, and the words that nest without one.
    pub(super) depth: usize,
    /// What was wrong.
    pub(super) diagnostics: Diagnostics,
}

/// Text from bytes, or a diagnostic that names the first byte that is not UTF-8. The lossy text is for showing only.
#[allow(clippy::result_large_err)] // at most once a file
pub fn decode(source: SourceId, bytes: Vec<u8>) -> Result<String, (String, Diagnostic)> {
    String::from_utf8(bytes).map_err(|error| {
        let at = error.utf8_error().valid_up_to();
        let lossy = String::from_utf8_lossy(error.as_bytes()).into_owned();
        let diagnostic = Diagnostic::error(Code::BadBytes, "the file is not UTF-8 text")
            .at(Span::new(source, at, at + 1), "the first byte that cannot be read")
            .help("save the file as UTF-8");
        (lossy, diagnostic)
    })
}

struct Scan<'t> {
    source: SourceId,
    text: &'t str,
    /// Open brackets: which, where, and how many words on their lines nest.
    open: Vec<(u8, usize, usize)>,
    /// Words that nest, on this line and the lines of the open brackets.
    steps: usize,
    deepest: usize,
    diagnostics: Diagnostics,
    bad: usize,
    stop: bool,
}

impl Scan<'_> {
    fn say(&mut self, diagnostic: Diagnostic) {
        self.bad += 1;
        if self.bad <= MOST_BAD {
            self.diagnostics.push(diagnostic);
        }
    }

    fn control(&mut self, at: usize, byte: u8) {
        let diagnostic = Diagnostic::error(Code::BadBytes, "a control byte in the text")
            .at(self.span(at, at + 1), format!("byte {byte:#04x}"))
            .help("remove it");
        self.say(diagnostic);
    }

    fn fatal(&mut self, diagnostic: Diagnostic) {
        self.stop = true;
        self.diagnostics.push(diagnostic);
    }

    fn span(&self, start: usize, end: usize) -> Span {
        Span::new(self.source, start, end)
    }

    fn opened(&mut self, byte: u8, at: usize) {
        self.open.push((byte, at, self.steps));
        self.deepest = self.deepest.max(self.open.len() + self.steps);
        if self.open.len() == MOST_DEPTH + 1 {
            let diagnostic = Diagnostic::error(Code::TooDeep, format!("brackets nest deeper than {MOST_DEPTH}"))
                .at(self.span(at, at + 1), "this one is one too many")
                .help("name an inner part with `kind` or `define` and use the name");
            self.fatal(diagnostic);
        }
    }

    /// A word that may nest what follows it.
    fn step(&mut self, at: usize, word: &[u8]) {
        if !matches!(word, b"if" | b"where" | b"every" | b"some" | b"no" | b"of") {
            return;
        }
        self.steps += 1;
        let depth = self.open.len() + self.steps;
        self.deepest = self.deepest.max(depth);
        if depth == MOST_STEPS + 1 {
            let diagnostic = Diagnostic::error(Code::TooDeep, "a statement that nests too deep")
                .at(self.span(at, at + word.len()), "one `if`, `where`, `every`, `some`, `no` or `of` too many")
                .help("name an inner part with `kind` or `define` and use the name");
            self.fatal(diagnostic);
        }
    }

    fn closed(&mut self, byte: u8, at: usize) {
        let wanted = if byte == b'}' { b'{' } else { b'(' };
        match self.open.last().copied() {
            Some((open, _, steps)) if open == wanted => {
                self.open.pop();
                self.steps = steps;
            }
            Some((_, from, _)) => {
                let diagnostic = Diagnostic::error(Code::Unclosed, "brackets do not pair")
                    .at(self.span(at, at + 1), format!("`{}` does not close", char::from(byte)))
                    .at(self.span(from, from + 1), "what is open here");
                self.fatal(diagnostic);
            }
            None => {
                let diagnostic = Diagnostic::error(Code::Unclosed, format!("`{}` closes nothing", char::from(byte)))
                    .at(self.span(at, at + 1), "nothing is open here")
                    .help("remove it, or find the opening bracket that is missing above");
                self.fatal(diagnostic);
            }
        }
    }
}

/// What to write instead of a pasted character, if it is one that is pasted often.
fn replacement(c: char) -> Option<&'static str> {
    Some(match c {
        '\u{a0}' | '\u{2007}' | '\u{2009}' | '\u{202f}' => "a plain space",
        '\u{201c}' | '\u{201d}' | '\u{201e}' | '\u{2033}' => "\" for a text, or the unit `in` for inches",
        '\u{2018}' | '\u{2019}' | '\u{2032}' => "' in a text, or the unit `ft` for feet",
        '\u{2010}' | '\u{2011}' | '\u{2012}' | '\u{2013}' | '\u{2014}' | '\u{2212}' => "a plain hyphen -",
        '\u{bd}' => "1/2",
        '\u{bc}' => "1/4",
        '\u{be}' => "3/4",
        '\u{215b}' => "1/8",
        '\u{215c}' => "3/8",
        '\u{215d}' => "5/8",
        '\u{215e}' => "7/8",
        '\u{b2}' => "2 behind the unit, as in ft2",
        '\u{b3}' => "3 behind the unit, as in in3",
        '\u{d7}' => "x",
        '\u{f7}' => "/",
        '\u{2264}' => "at most",
        '\u{2265}' => "at least",
        '\u{b0}' => "the unit degC or degF",
        '\u{3a9}' | '\u{2126}' => "the unit ohm",
        '\u{200b}' | '\u{feff}' | '\u{200e}' | '\u{200f}' => "nothing: it is invisible",
        _ => return None,
    })
}

/// Scans a text.
pub(super) fn scan(source: SourceId, text: &str) -> Guarded {
    let mut scan = Scan {
        source,
        text,
        open: Vec::new(),
        steps: 0,
        deepest: 0,
        diagnostics: Diagnostics::new(),
        bad: 0,
        stop: false,
    };
    if text.len() > MOST_BYTES {
        let title = format!("the file is larger than {} MiB", MOST_BYTES >> 20);
        scan.fatal(Diagnostic::error(Code::FileTooLarge, title).at(scan.span(0, 0), "starts here").help("split it"));
        return Guarded { clean: None, comments: Vec::new(), depth: 0, diagnostics: scan.diagnostics };
    }
    let bytes = text.as_bytes();
    let mut clean = bytes.to_vec();
    let mut comments = Vec::new();
    let mut at = 0;
    let mut line_start = 0;
    let mut last_solid = b'\n';
    if text.starts_with('\u{feff}') {
        clean[..3].fill(b' ');
        at = 3;
    }
    while at < bytes.len() && !scan.stop {
        let byte = bytes[at];
        match byte {
            b'\n' => {
                if at - line_start > MOST_LINE {
                    break;
                }
                line_start = at + 1;
                if matches!(scan.open.last(), Some((b'(', _, _))) || last_solid == b',' {
                    clean[at] = b' ';
                } else {
                    scan.steps = scan.open.last().map_or(0, |(_, _, steps)| *steps);
                }
            }
            b' ' => {}
            b'\t' | b'\r' => clean[at] = b' ',
            b'#' => {
                let end = bytes[at..].iter().position(|b| *b == b'\n').map_or(bytes.len(), |n| at + n);
                comments.push(Comment {
                    text: text.get(at..end).unwrap_or("").trim_end().to_string(),
                    span: scan.span(at, end),
                });
                clean[at..end].fill(b' ');
                at = end;
                continue;
            }
            b'"' => {
                let rest = &bytes[at + 1..];
                match rest.iter().position(|b| *b == b'"' || *b == b'\n') {
                    Some(n) if rest[n] == b'"' => {
                        if let Some(bad) = rest[..n].iter().position(|b| matches!(b, 0..=0x1f | 0x7f) && *b != b'\t') {
                            scan.control(at + 1 + bad, rest[bad]);
                        }
                        at += n + 1;
                    }
                    _ => {
                        let end = rest.iter().position(|b| *b == b'\n').map_or(bytes.len(), |n| at + 1 + n);
                        let diagnostic = Diagnostic::error(Code::Unclosed, "a quoted text does not end on its line")
                            .at(scan.span(at, end), "no closing quote on this line")
                            .help("close it with \"; a text stays on one line");
                        scan.fatal(diagnostic);
                    }
                }
                last_solid = b'"';
            }
            b'{' | b'(' => {
                if byte == b'{'
                    && let Some((b'(', from, _)) = scan.open.last().copied()
                {
                    // A label such as `(A)` that was not closed would swallow everything behind it.
                    let line_of_open = text[..from].bytes().filter(|b| *b == b'\n').count();
                    let line_here = text[..at].bytes().filter(|b| *b == b'\n').count();
                    if line_of_open != line_here {
                        let diagnostic = Diagnostic::error(Code::Unclosed, "a parenthesis is not closed")
                            .at(scan.span(from, from + 1), "opened here")
                            .help("close it with )");
                        scan.fatal(diagnostic);
                        continue;
                    }
                }
                scan.opened(byte, at);
                last_solid = byte;
            }
            b'}' | b')' => {
                scan.closed(byte, at);
                last_solid = byte;
            }
            b',' => {
                let three = bytes.get(at + 1..at + 4).is_some_and(|d| d.iter().all(u8::is_ascii_digit));
                let fourth = bytes.get(at + 4).is_some_and(u8::is_ascii_digit);
                if at > 0 && bytes[at - 1].is_ascii_digit() && three && !fourth {
                    let from = bytes[..at].iter().rposition(|b| !b.is_ascii_digit()).map_or(0, |n| n + 1);
                    let (head, tail) = (text.get(from..at).unwrap_or(""), text.get(at + 1..at + 4).unwrap_or(""));
                    let diagnostic = Diagnostic::error(Code::ThousandsSeparator, "a number with a thousands separator")
                        .at(scan.span(from, at + 4), "a comma means `and` here")
                        .help(format!("write {head}{tail}"));
                    scan.say(diagnostic);
                    clean[at] = b' ';
                }
                last_solid = b',';
            }
            0..=0x1f | 0x7f => {
                scan.control(at, byte);
                clean[at] = b' ';
            }
            0x80.. => {
                let c = scan.text.get(at..).and_then(|rest| rest.chars().next()).unwrap_or('?');
                let end = at + c.len_utf8();
                if let Some(instead) = replacement(c) {
                    let diagnostic = Diagnostic::error(Code::PastedTypography, format!("pasted typography: `{c}`"))
                        .at(scan.span(at, end), format!("U+{:04X}", u32::from(c)))
                        .help(format!("write {instead}"));
                    scan.say(diagnostic);
                    clean[at..end.min(bytes.len())].fill(b' ');
                }
                last_solid = b'a';
                at = end;
                continue;
            }
            _ => {
                let from = at;
                while bytes.get(at + 1).is_some_and(|next| PLAIN[usize::from(*next)]) {
                    at += 1;
                }
                last_solid = bytes[at];
                scan.step(from, &bytes[from..=at]);
            }
        }
        at += 1;
    }
    let line_end = bytes[line_start..].iter().position(|b| *b == b'\n').map_or(bytes.len(), |n| line_start + n);
    if !scan.stop && line_end - line_start > MOST_LINE {
        let title = format!("a line is longer than {} KiB", MOST_LINE >> 10);
        let diagnostic = Diagnostic::error(Code::LineTooLong, title)
            .at(scan.span(line_start, line_start), "this line")
            .help("break it into several lines");
        scan.fatal(diagnostic);
    }
    if !scan.stop
        && let Some((byte, from, _)) = scan.open.last().copied()
    {
        let close = if byte == b'{' { '}' } else { ')' };
        let diagnostic = Diagnostic::error(Code::Unclosed, format!("`{}` is never closed", char::from(byte)))
            .at(scan.span(from, from + 1), "opened here")
            .help(format!("add the missing {close}"));
        scan.fatal(diagnostic);
    }
    if scan.bad > MOST_BAD {
        let more = scan.bad - MOST_BAD;
        if let Some(last) = scan.diagnostics.iter().last().cloned() {
            scan.diagnostics.push(Diagnostic { notes: vec![format!("and {more} more such places")], ..last });
        }
    }
    let clean = if scan.stop { None } else { String::from_utf8(clean).ok() };
    Guarded { clean, comments, depth: scan.deepest, diagnostics: scan.diagnostics }
}
