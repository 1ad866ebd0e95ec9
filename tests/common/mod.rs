//! Transcripts: shell commands with what they print, run again and compared.
//!
//! A transcript is a text in which each line that starts with `$ ` is a command; lines that start with `> ` continue it.
//! What follows, up to the next command, is what it prints to either stream, and `[exit status N]` where N is not zero.
//! With WHEREAS_BLESS=1 set, the texts are written anew instead of compared; read them before they are committed.

#![allow(dead_code, clippy::unwrap_used)]

use std::path::{Path, PathBuf};
use std::process::{Command, Stdio};

pub fn root() -> PathBuf {
    PathBuf::from(env!("CARGO_MANIFEST_DIR"))
}

/// Whether texts are to be written anew.
pub fn blessing() -> bool {
    std::env::var_os("WHEREAS_BLESS").is_some_and(|v| v == "1")
}

/// What a shell prints, in the project's folder, for a command in which `whereas` is the program under test.
pub fn shell(command: &str) -> String {
    shell_in(&root(), command)
}

/// The same in another folder.
pub fn shell_in(folder: &Path, command: &str) -> String {
    let program = Path::new(env!("CARGO_BIN_EXE_whereas"));
    let mut path = program.parent().unwrap().as_os_str().to_owned();
    path.push(":");
    path.push(std::env::var_os("PATH").unwrap_or_default());
    let output = Command::new("sh")
        .args(["-c", &format!("exec 2>&1\n{command}")])
        .current_dir(folder)
        .env_remove("NO_COLOR")
        .env("PATH", path)
        .env("LC_ALL", "C.UTF-8")
        .env("TERM", "xterm")
        .env("COLUMNS", "100")
        .env("SCRATCH", env!("CARGO_TARGET_TMPDIR"))
        .stdin(Stdio::null())
        .output()
        .unwrap();
    let mut text = String::from_utf8(output.stdout).unwrap();
    if !text.is_empty() && !text.ends_with('\n') {
        text.push('\n');
    }
    match output.status.code() {
        Some(0) => {}
        Some(status) => text += &format!("[exit status {status}]\n"),
        None => text += "[killed]\n",
    }
    text
}

/// The transcript with the output that its commands have now.
pub fn rerun(transcript: &str) -> String {
    rerun_in(&root(), transcript)
}

/// The same in another folder.
pub fn rerun_in(folder: &Path, transcript: &str) -> String {
    let mut fresh = String::new();
    let mut lines = transcript.lines().peekable();
    while let Some(line) = lines.next() {
        let Some(first) = line.strip_prefix("$ ") else { continue };
        if !fresh.is_empty() {
            fresh.push('\n');
        }
        fresh += &format!("$ {first}\n");
        let mut command = first.to_string();
        while let Some(more) = lines.next_if(|line| line.starts_with("> ")) {
            fresh += &format!("{more}\n");
            command += &format!("\n{}", &more[2..]);
        }
        fresh += &shell_in(folder, &command);
    }
    fresh
}

/// Compares a text with what a file holds, or writes the file.
pub fn golden(file: &Path, fresh: &str) -> Result<(), String> {
    let held = std::fs::read_to_string(file).unwrap_or_default();
    if held == fresh {
        return Ok(());
    }
    if blessing() {
        std::fs::write(file, fresh).unwrap();
        return Ok(());
    }
    Err(difference(&file.display().to_string(), &held, fresh))
}

/// The first lines in which two texts differ.
pub fn difference(what: &str, held: &str, fresh: &str) -> String {
    let (mut held_lines, mut fresh_lines) = (held.lines(), fresh.lines());
    let mut number = 0;
    loop {
        number += 1;
        match (held_lines.next(), fresh_lines.next()) {
            (None, None) => return format!("{what}: line ends differ\n"),
            (one, two) if one == two => {}
            (one, two) => {
                let show = |line: Option<&str>| line.unwrap_or("(the end)").to_string();
                return format!(
                    "{what}:{number}\n  held  {}\n  now   {}\n  (WHEREAS_BLESS=1 cargo test writes it anew)\n",
                    show(one),
                    show(two)
                );
            }
        }
    }
}
