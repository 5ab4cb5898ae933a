//! From a file, or its text, to the plan.

use std::fs::File;
use std::io::Read;
use std::path::Path;

use toml_edit::TomlError;

use super::answers;
use super::error::{Problem, SettingsError};
use super::lines::{Lines, position};
use super::plan::{Plan, plan};
use super::problems::Problems;
use super::typed;

/// Most bytes of a settings file, 4 MiB: some ten thousand sources. Its tree takes many times as much.
const LONGEST: usize = 4 << 20;

/// Reads and checks a settings file.
///
/// Globs and the store are relative to the folder of the file. Errors: the file cannot be read, or
/// it can and is wrong; then every problem is in the error.
pub fn read(path: &Path) -> Result<Plan, SettingsError> {
    read_as(path, &read_text)
}

/// The same for settings that may have no source yet: their sites, stages and codes are what is wanted.
///
/// # Errors
/// As [`read`].
pub fn read_lists(path: &Path) -> Result<Plan, SettingsError> {
    read_as(path, &|text, folder, name| {
        let (plan, mut problems) = checked(text, folder, name)?;
        problems.retain(|problem| !is_without_source(problem));
        if problems.is_empty() { Ok(plan) } else { Err(SettingsError::Invalid { problems }) }
    })
}

/// Whether all that a problem says is that there is no source.
fn is_without_source(problem: &Problem) -> bool {
    problem.key == "source" && problem.message.starts_with("missing; ")
}

/// Reads a text and makes of it what `make` does.
fn read_as(
    path: &Path,
    make: &dyn Fn(&str, &Path, &str) -> Result<Plan, SettingsError>,
) -> Result<Plan, SettingsError> {
    let unreadable = |source| SettingsError::Unreadable { path: path.to_owned(), source };
    let mut bytes = Vec::new();
    let file = File::open(path).map_err(unreadable)?;
    file.take(LONGEST as u64 + 1).read_to_end(&mut bytes).map_err(unreadable)?;
    let folder = match path.parent() {
        Some(folder) if !folder.as_os_str().is_empty() => folder,
        _ => Path::new("."),
    };
    let name = path.display().to_string();
    // Before its text: a character may be cut in two at the bound.
    if bytes.len() > LONGEST {
        return Err(too_long(&name));
    }
    match std::str::from_utf8(&bytes) {
        Ok(text) => make(text, folder, &name),
        Err(error) => {
            let before = String::from_utf8_lossy(&bytes[..error.valid_up_to()]);
            let message = "found a byte that is not UTF-8; save the file as UTF-8".to_owned();
            Err(not_toml(&before, before.len(), message, &name))
        }
    }
}

/// Reads and checks settings that are at hand as text; messages call them `name`.
pub fn read_text(text: &str, folder: &Path, name: &str) -> Result<Plan, SettingsError> {
    let (plan, problems) = checked(text, folder, name)?;
    if problems.is_empty() { Ok(plan) } else { Err(SettingsError::Invalid { problems }) }
}

/// The plan, and what is wrong with it.
fn checked(text: &str, folder: &Path, name: &str) -> Result<(Plan, Vec<Problem>), SettingsError> {
    if text.len() > LONGEST {
        return Err(too_long(name));
    }
    let mut lines = Lines::of(text).map_err(|error| syntax(text, &error, name))?;
    let missing = answers::put_in(&mut lines, text);
    let mut problems = Problems::new(name, lines);
    for (place, key) in missing {
        let wanted = "found no such key, expected one that stands there, or in a comment there";
        problems.add_mistyped(&place, format!("{wanted}: answers.{key:?}"));
    }
    let written = typed::typed(&mut problems);
    let mut plan = plan(&written, folder, &mut problems);
    plan.open = answers::open_questions(text);
    plan.text_blake3 = blake3::hash(text.as_bytes()).to_hex().to_string();
    Ok((plan, problems.into_sorted()))
}

fn too_long(name: &str) -> SettingsError {
    let most = LONGEST >> 20;
    let message = format!(
        "found settings of more than {most} MiB, expected at most {most} MiB; take out comments, or \
         name several exports in one source by `*`"
    );
    not_toml("", 0, message, name)
}

fn syntax(text: &str, error: &TomlError, name: &str) -> SettingsError {
    let at = error.span().map_or(0, |span| span.start);
    let message: Vec<&str> = error.message().lines().collect();
    not_toml(text, at, message.join("; "), name)
}

fn not_toml(text: &str, at: usize, message: String, name: &str) -> SettingsError {
    let (line, column) = position(text, at);
    let problem =
        Problem { line, column: Some(column), key: String::new(), message, file: name.to_owned() };
    SettingsError::Invalid { problems: vec![problem] }
}
