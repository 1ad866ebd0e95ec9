//! The layers, as DEVELOPERS.md has them: who may use whom, who alone knows a library, and who alone touches the world.

#![allow(clippy::unwrap_used, clippy::panic)]

use std::path::{Path, PathBuf};

/// Each module and the modules it may name.
const LAYERS: &[(&str, &[&str])] = &[
    ("base", &[]),
    ("diag", &["base"]),
    ("syntax", &["base", "diag"]),
    ("ir", &["base"]),
    ("format", &["base", "syntax"]),
    // `edition` shares with `sema` how marks and numbers are read; nothing else.
    ("edition", &["base", "diag", "syntax", "format", "ir", "sema"]),
    ("sema", &["base", "diag", "syntax", "format", "edition", "ir"]),
    ("facts", &["base", "diag", "syntax", "ir"]),
    ("eval", &["base", "ir", "facts"]),
    ("report", &["base", "diag", "ir", "facts", "eval"]),
    ("govern", &["base", "diag", "syntax", "edition", "sema", "ir", "facts", "report"]),
    ("compare", &["base", "diag", "ir", "edition", "report"]),
    ("rehearse", &["base", "diag", "syntax", "format", "edition", "sema", "ir", "facts", "eval"]),
    ("carry", &["base", "diag", "syntax", "format", "edition", "compare", "report"]),
    ("tidy", &["base", "diag", "syntax"]),
    ("review", &["base", "diag", "syntax", "edition", "sema", "ir"]),
    (
        "session",
        &[
            "base", "diag", "syntax", "format", "edition", "sema", "ir", "facts", "eval", "report", "govern",
            "compare", "carry", "rehearse", "tidy", "review",
        ],
    ),
    (
        "trial",
        &[
            "base", "diag", "syntax", "format", "edition", "sema", "ir", "facts", "eval", "report", "compare",
            "govern", "session",
        ],
    ),
    (
        "cli",
        &["diag", "facts", "report", "compare", "carry", "govern", "rehearse", "tidy", "review", "session", "trial"],
    ),
];

/// Words that only these modules may contain.
const ALONE: &[(&str, &[&str])] = &[
    ("pest", &["syntax"]),
    ("miette", &["diag"]),
    ("quick_xml", &["rehearse"]),
    ("similar", &["compare", "cli"]),
    ("clap", &["cli"]),
    ("terminal_size", &["cli"]),
    ("rustyline", &["cli"]),
    ("clap_complete", &["cli"]),
    ("clap_mangen", &["cli"]),
    ("std::fs", &["cli"]),
    ("std::env", &["cli"]),
    ("std::io", &["cli"]),
    ("std::time", &[]),
    ("std::thread", &["syntax", "session", "cli"]),
    ("println!", &[]),
    ("eprintln!", &[]),
    ("HashMap", &[]),
    ("HashSet", &[]),
];

fn files(folder: &Path, found: &mut Vec<PathBuf>) {
    for entry in std::fs::read_dir(folder).unwrap() {
        let path = entry.unwrap().path();
        if path.is_dir() {
            files(&path, found);
        } else if path.extension().is_some_and(|e| e == "rs") {
            found.push(path);
        }
    }
}

/// The code of a file without its comments and its unit tests.
fn code(path: &Path) -> String {
    let text = std::fs::read_to_string(path).unwrap();
    let text = text.split("#[cfg(test)]\nmod tests {").next().unwrap();
    text.lines().filter(|line| !line.trim_start().starts_with("//")).map(|line| format!("{line}\n")).collect()
}

#[test]
fn modules_name_only_layers_below_them() {
    let src = Path::new(env!("CARGO_MANIFEST_DIR")).join("src");
    let mut wrong = Vec::new();
    let mut seen = 0;
    for (module, may) in LAYERS {
        let mut all = Vec::new();
        if src.join(module).exists() {
            files(&src.join(module), &mut all);
        }
        for path in all.iter().filter(|p| !p.ends_with("tests.rs") && !p.ends_with("testing.rs")) {
            seen += 1;
            let code = code(path);
            for part in code.split("crate::").skip(1) {
                let named: String = part.chars().take_while(|c| c.is_ascii_lowercase()).collect();
                let known = LAYERS.iter().any(|(layer, _)| *layer == named);
                if known && named != *module && !may.contains(&named.as_str()) {
                    wrong.push(format!("{}: `{module}` names `{named}`", path.display()));
                }
                if matches!(*module, "sema" | "facts") && named == "syntax" && !part.starts_with("syntax::ast") {
                    wrong.push(format!("{}: of `syntax` only `ast` is for `{module}`", path.display()));
                }
            }
            for (word, owners) in ALONE {
                let uses =
                    code.split(word).skip(1).any(|rest| !rest.starts_with(|c: char| c == '_' || c.is_alphanumeric()));
                if uses && !owners.contains(module) {
                    wrong.push(format!("{}: `{word}` is not for `{module}`", path.display()));
                }
            }
        }
    }
    for entry in std::fs::read_dir(&src).unwrap() {
        let path = entry.unwrap().path();
        let module = path.file_stem().unwrap().to_str().unwrap();
        let known = !path.is_dir() || LAYERS.iter().any(|(layer, _)| *layer == module);
        assert!(known, "`{module}` has no place among the layers");
    }
    assert!(seen > 40, "{seen} files");
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
}
