//! What shells and readers of manuals are given, and the width of help.

use std::fs;

use super::{run, text};

#[test]
fn completions_of_every_shell_know_every_command() {
    let folder = tempfile::tempdir().unwrap();
    for shell in ["bash", "zsh", "fish", "elvish", "powershell"] {
        let done = run(folder.path(), &["completions", shell]);
        assert_eq!(done.status.code(), Some(0), "{}", text(&done.stderr));
        let script = text(&done.stdout);
        for command in ["init", "review", "rejected", "peek"] {
            assert!(script.contains(command), "{shell} does not know {command}");
        }
    }
}

#[test]
fn manual_pages_are_written_one_a_command() {
    let folder = tempfile::tempdir().unwrap();
    let done = run(folder.path(), &["man", "pages"]);
    assert_eq!(done.status.code(), Some(0), "{}", text(&done.stderr));
    for page in ["motetrail.1", "motetrail-init.1", "motetrail-review.1"] {
        let text = fs::read_to_string(folder.path().join("pages").join(page)).unwrap();
        assert!(text.starts_with(".ie") || text.contains(".TH motetrail"), "{page}: {text}");
    }
}

#[test]
fn help_is_no_wider_than_80_columns() {
    let folder = tempfile::tempdir().unwrap();
    for command in ["init", "review", "intake", "peek", "map", "rejected", "verify"] {
        let help = text(&run(folder.path(), &[command, "--help"]).stdout);
        let wide =
            help.lines().find(|line| line.chars().count() > 80 && !line.starts_with("  motetrail"));
        assert_eq!(wide, None, "{command}");
    }
}

#[test]
fn a_reader_that_has_read_enough_ends_peek_quietly() {
    use std::io::{BufRead, BufReader};
    use std::process::{Command, Stdio};
    let folder = tempfile::tempdir().unwrap();
    let rows: String = (0..200_000).map(|row| format!("{row},b{row},{}\n", row % 7)).collect();
    fs::write(folder.path().join("big.csv"), format!("id,name,z\n{rows}")).unwrap();
    let mut child = Command::new(env!("CARGO_BIN_EXE_motetrail"))
        .args(["peek", "--csv", "big.csv"])
        .current_dir(folder.path())
        .stdout(Stdio::piped())
        .stderr(Stdio::piped())
        .spawn()
        .unwrap();
    let mut first = String::new();
    BufReader::new(child.stdout.take().unwrap()).read_line(&mut first).unwrap();
    assert_eq!(first.trim(), "id,name,z");
    let done = child.wait_with_output().unwrap();
    assert_eq!(done.status.code(), Some(0));
    assert!(!text(&done.stderr).contains("pipe"), "{}", text(&done.stderr));
}

#[test]
fn a_reader_that_has_gone_ends_init_quietly_and_the_settings_are_written() {
    use std::process::{Command, Stdio};
    let folder = super::fleet(super::SETTINGS, super::LOOKS);
    let mut child = Command::new(env!("CARGO_BIN_EXE_motetrail"))
        .args(["init", ".", "--settings", "new.toml"])
        .current_dir(folder.path())
        .stdout(Stdio::piped())
        .stderr(Stdio::piped())
        .spawn()
        .unwrap();
    drop(child.stdout.take());
    let done = child.wait_with_output().unwrap();
    assert_eq!(done.status.code(), Some(0), "{}", text(&done.stderr));
    assert!(!text(&done.stderr).contains("panicked"), "{}", text(&done.stderr));
    assert!(folder.path().join("new.toml").exists());
}
