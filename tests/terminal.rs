//! A trial at a real terminal: the program runs behind a pseudo-terminal, keys go in, and what it shows is read.
#![cfg(unix)]
#![allow(clippy::unwrap_used, clippy::panic)]

use expectrl::process::unix::{PtyStream, UnixProcess};
use expectrl::{Eof, Expect, Session};
use std::path::PathBuf;
use std::process::Command;
use std::time::Duration;

type Terminal = Session<UnixProcess, PtyStream>;

/// A folder of its own for the state of one test.
fn state(name: &str) -> PathBuf {
    let folder = PathBuf::from(env!("CARGO_TARGET_TMPDIR")).join("terminal").join(name);
    let _ = std::fs::remove_dir_all(&folder);
    std::fs::create_dir_all(&folder).unwrap();
    folder
}

fn open(state: &PathBuf, with: &[&str]) -> Terminal {
    let mut command = Command::new(env!("CARGO_BIN_EXE_whereas"));
    command
        .args(["try", "examples/clinic/01-ordinary-metal-clad.facts", "--under", "nec 2017"])
        .args(with)
        .current_dir(env!("CARGO_MANIFEST_DIR"))
        .env("XDG_STATE_HOME", state)
        .env("TERM", "xterm")
        .env("LC_ALL", "C.UTF-8")
        .env("NO_COLOR", "1")
        .env_remove("COLUMNS");
    let mut terminal = Session::spawn(command).unwrap();
    // Generous: the machine may be busy. A wait ends as soon as the text is there.
    terminal.set_expect_timeout(Some(Duration::from_secs(60)));
    terminal.get_process_mut().set_window_size(100, 40).unwrap();
    terminal.expect("On trial: nec 2017").unwrap();
    prompt(&mut terminal);
    terminal
}

fn prompt(terminal: &mut Terminal) {
    terminal.expect("01-ordinary-metal-clad> ").unwrap();
}

/// Types a line and waits for what it must show.
fn say(terminal: &mut Terminal, line: &str, shows: &str) {
    terminal.send(format!("{line}\r")).unwrap();
    if let Err(error) = terminal.expect(shows) {
        panic!("{line}: {shows}: {error}");
    }
    prompt(terminal);
}

#[test]
fn a_line_is_answered_and_control_d_ends() {
    let mut terminal = open(&state("ends"), &[]);
    say(&mut terminal, "3/4 in + 2 mm", "21.05 mm");
    terminal.send("\u{4}").unwrap();
    terminal.expect(Eof).unwrap();
    let status = terminal.get_process().wait().unwrap();
    assert!(format!("{status:?}").contains("Exited") && format!("{status:?}").contains(" 0)"), "{status:?}");
}

#[test]
fn tab_completes_names_fields_values_units_and_sections() {
    let mut terminal = open(&state("completes"), &[]);
    // EX4-1 alone begins so, and overcurrent-type besides overcurrent.
    terminal.send("EX\t.volt\t: 120 \u{15}").unwrap();
    terminal.send("EX\t.R1.hei\t: unk\t\r").unwrap();
    terminal.expect("EX4-1.R1.height: unknown").unwrap();
    terminal.expect("No verdict changes").or_else(|_| terminal.expect("Now:")).unwrap();
    prompt(&mut terminal);
    terminal.send("R1.device: lum\t\r").unwrap();
    terminal.expect("R1.device: luminaire").unwrap();
    terminal.expect("Now:").unwrap();
    prompt(&mut terminal);
    terminal.send("show 517.13(B)(2\t\r").unwrap();
    terminal.expect("517.13(B)(2)").unwrap();
    terminal.expect("Size of the insulated conductor").unwrap();
    prompt(&mut terminal);
}

#[test]
fn an_open_brace_goes_on_and_control_c_gives_it_up() {
    let mut terminal = open(&state("goes-on"), &[]);
    terminal.send("space exam-9 {\r").unwrap();
    terminal.send("use: exam-room }\r").unwrap();
    terminal.expect("Now:").unwrap();
    prompt(&mut terminal);
    say(&mut terminal, "exam-9.use", "exam-room");
    // Given up: nothing of it is stated.
    terminal.send("space exam-10 {\r").unwrap();
    terminal.send("use: corri").unwrap();
    terminal.send("\u{3}").unwrap();
    prompt(&mut terminal);
    say(&mut terminal, "exam-10.use", "nothing here is called");
    say(&mut terminal, "said", "2  space exam-9");
}

#[test]
fn the_width_of_the_terminal_is_kept_to_as_it_changes() {
    let mut terminal = open(&state("width"), &[]);
    terminal.get_process_mut().set_window_size(44, 30).unwrap();
    terminal.send("standing 517.13(A)\r").unwrap();
    terminal.expect("Not met").unwrap();
    let shown = terminal.expect("01-ordinary-metal-clad> ").unwrap();
    let text = String::from_utf8_lossy(shown.before()).into_owned();
    let lines: Vec<&str> = text.lines().map(str::trim_end).filter(|l| !l.is_empty()).collect();
    assert!(lines.len() > 1 && lines.iter().all(|l| l.chars().count() <= 44), "{text}");
    terminal.get_process_mut().set_window_size(100, 30).unwrap();
    say(
        &mut terminal,
        "standing 517.13(A)",
        "517.13\\(A\\)  Receptacles and fixed equipment: two grounding paths: R1 of EX4-1".replace('\\', "").as_str(),
    );
}

#[test]
fn lines_are_kept_for_the_next_trial_and_a_folder_that_cannot_be_written_does_not_matter() {
    let folder = state("kept");
    let mut terminal = open(&folder, &[]);
    assert!(!folder.join("whereas").exists(), "begun before anything was said");
    say(&mut terminal, "2 ft + 2 in", "26 in");
    terminal.send("\u{4}").unwrap();
    terminal.expect(Eof).unwrap();
    assert!(folder.join("whereas/history").exists());
    let mut terminal = open(&folder, &[]);
    // The arrow up brings the line back.
    terminal.send("\u{1b}[A\r").unwrap();
    terminal.expect("26 in").unwrap();
    prompt(&mut terminal);

    let blocked = state("blocked");
    std::fs::write(blocked.join("whereas"), "a file where the folder would be").unwrap();
    let mut terminal = open(&blocked, &[]);
    say(&mut terminal, "2 ft + 2 in", "26 in");
}

#[test]
fn no_colour_where_it_is_refused() {
    let mut terminal = open(&state("colour"), &[]);
    terminal.send("why 517.13(A)\r").unwrap();
    let shown = terminal.expect("sources").unwrap();
    let text = String::from_utf8_lossy(shown.before()).into_owned();
    assert!(text.contains("Not met") && !text.contains("\u{1b}[1;31m"), "{text:?}");
    let mut coloured = open(&state("coloured"), &["--color", "always"]);
    coloured.send("why 517.13(A)\r").unwrap();
    coloured.expect("\u{1b}[1;31mNot met").unwrap();
}
