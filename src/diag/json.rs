//! Diagnostics as JSON for programs.

use serde_json::{Value, json};

use super::excerpt::{Excerpts, excerpts};
use super::{Diagnostics, Label};
use crate::base::source::Sources;

/// The diagnostics for programs, in the order of their places and all of them: a list of objects with `code`, `severity`, `title`, `labels`, `help`, `notes`
/// and `page`. Lines and columns count from 1, columns in characters; offset and length are bytes. A label whose source is unknown
/// has `null` for its place.
pub fn to_json(diagnostics: &Diagnostics, sources: &Sources) -> Value {
    let sorted = diagnostics.sorted();
    let excerpts = excerpts(&sorted, sources);
    let all = sorted.iter().map(|d| {
        json!({
            "code": d.code.as_str(),
            "severity": d.severity.as_str(),
            "title": d.title,
            "labels": d.labels.iter().map(|label| label_json(label, sources, &excerpts)).collect::<Vec<_>>(),
            "help": d.help,
            "notes": d.notes,
            "page": d.page_command(),
        })
    });
    Value::Array(all.collect())
}

fn label_json(label: &Label, sources: &Sources, excerpts: &Excerpts) -> Value {
    let (Some(source), Some(excerpt)) = (sources.get(label.span.source), excerpts.get(&label.span.source)) else {
        return json!({
            "source": null, "line": null, "column": null, "end_line": null, "end_column": null,
            "offset": null, "length": null, "text": label.text,
        });
    };
    let (start, end) = excerpt.range(label.span);
    let (line, column) = excerpt.line_column(start);
    let (end_line, end_column) = excerpt.line_column(end);
    json!({
        "source": source.name, "line": line, "column": column, "end_line": end_line, "end_column": end_column,
        "offset": start, "length": end - start, "text": label.text,
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::base::source::Span;
    use crate::diag::{Code, Diagnostic};

    #[test]
    fn json_counts_lines_from_one_and_columns_in_characters() {
        let mut sources = Sources::default();
        let id = sources.add("a", "one\n\u{bd} two\n");
        let found = Diagnostic::error(Code::WrongType, "t").at(Span::new(id, 7, 10), "l").help("h").note("n");
        let expected = json!([{
            "code": "E0301", "severity": "error", "title": "t", "help": "h", "notes": ["n"], "page": "whereas why E0301",
            "labels": [{
                "source": "a", "line": 2, "column": 3, "end_line": 2, "end_column": 6, "offset": 7, "length": 3, "text": "l",
            }],
        }]);
        assert_eq!(to_json(&found.into(), &sources), expected);
    }
}
