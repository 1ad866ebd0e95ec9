//! The one layout of rulebooks and facts.
//!
//! It works on the text, token by token and line by line, and not on the tree: what a line holds is the writer's choice, how it
//! stands there is not. So nothing is ever said in other words, and comments stay where they were. Whether the new text says
//! the same is not taken on trust: both texts are read, and have to have the same tokens, the same comments and the same
//! syntax; otherwise there is no new text. Deliberately absent: choices, and the breaking of long lines.
//!
//! | what | how |
//! |---|---|
//! | indentation | four blanks for each open brace; one step more for what continues a line, but not for further values or entries |
//! | braces | what spans lines has its braces at the end and at the start of a line |
//! | blank lines | one at most, none behind `{` and before `}`; one around what spans lines at the top level, comments above it included |
//! | marks | in a margin, or four blanks behind a line that is too long for it |
//! | rows of tables and grids, fields, one-line readings | in columns |

mod columns;
mod join;
mod lines;
mod token;

use crate::base::source::{SourceId, Span};
use crate::diag::{Code, Diagnostic, Diagnostics};
use crate::syntax::{self, Outline};

/// What a text is.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Kind {
    /// A rulebook.
    Rulebook,
    /// Facts in the native form.
    Facts,
}

/// Words that begin the items of a rulebook.
const ITEMS: &[&str] = &[
    "terms",
    "examples",
    "edition",
    "excerpt",
    "interim",
    "erratum",
    "amendment",
    "jurisdiction",
    "fixture",
    "example",
    "claim",
    "survives",
    "choice",
    "scale",
    "thing",
    "section",
    "kind",
    "define",
    "limit",
    "table",
    "reading",
    "amount",
    "series",
];

impl Kind {
    /// By the end of a file's name; nothing if it is neither.
    pub fn of_file(name: &str) -> Option<Kind> {
        match name.rsplit_once('.') {
            Some((_, "rulebook")) => Some(Kind::Rulebook),
            Some((_, "facts")) => Some(Kind::Facts),
            _ => None,
        }
    }

    /// By the first word of a text that has no name. A thing may be called like an item of a rulebook, so where the text
    /// does not read as what it looks like, it is what it reads as.
    pub fn of_text(text: &str) -> Kind {
        let first = token::cut(text).into_iter().find(|t| !t.is_comment());
        let (likely, other) = match first {
            Some(first) if ITEMS.contains(&first.text) => (Kind::Rulebook, Kind::Facts),
            _ => (Kind::Facts, Kind::Rulebook),
        };
        let fails = |kind: Kind| kind.read(SourceId(0), text).has_errors();
        if fails(likely) && !fails(other) { other } else { likely }
    }

    /// What is wrong with a text of this kind.
    fn read(self, source: SourceId, text: &str) -> Diagnostics {
        match self {
            Kind::Rulebook => syntax::parse_rulebook(source, text).1,
            Kind::Facts => syntax::parse_facts(source, text).1,
        }
    }

    fn outline(self, text: &str) -> Option<Outline> {
        match self {
            Kind::Rulebook => Outline::of_rulebook(text),
            Kind::Facts => Outline::of_facts(text),
        }
    }

    /// The text as it should stand, equal to `text` if that is tidy; nothing, beside all its mistakes, if it does not read.
    pub fn tidy(self, source: SourceId, text: &str) -> (Option<String>, Diagnostics) {
        let mut diagnostics = self.read(source, text);
        if diagnostics.has_errors() {
            return (None, diagnostics);
        }
        let old = token::cut(text);
        let fresh = columns::set(lines::lay(&old, self), self);
        let same = token::cut(&fresh).iter().map(|t| t.text).eq(old.iter().map(|t| t.text))
            && self.outline(&fresh).is_some_and(|new| self.outline(text) == Some(new));
        if !same {
            let what = match self {
                Kind::Rulebook => "rulebook",
                Kind::Facts => "text of facts",
            };
            let refused = Diagnostic::error(Code::LayoutRefused, format!("this {what} cannot be laid out safely"))
                .at(Span::new(source, 0, 0), "left as it is")
                .help("a very long line may have no room to be moved: break it behind a comma");
            diagnostics.push(refused);
            return (None, diagnostics);
        }
        (Some(fresh), diagnostics)
    }
}
