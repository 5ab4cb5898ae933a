//! Globs that mean the files of a group, and those that will come, and no other file of the folder.

use glob::{MatchOptions, Pattern};

/// The globs of a source; `all` are the files of the folder.
pub fn globs(files: &[String], all: &[String]) -> Vec<String> {
    let mut globs: Vec<String> = Vec::new();
    for file in files {
        let wide = widened(file);
        let fits = |other: &&String| matches(&wide, other);
        let only_ours = all.iter().filter(fits).all(|other| files.contains(other));
        let glob = if only_ours { wide } else { escaped(file) };
        if !globs.contains(&glob) {
            globs.push(glob);
        }
    }
    globs
}

/// Whether a glob of the settings means a file.
pub fn matches(glob: &str, file: &str) -> bool {
    let options = MatchOptions { require_literal_separator: true, ..MatchOptions::default() };
    Pattern::new(glob).is_ok_and(|pattern| pattern.matches_with(file, options))
}

/// Everything in the file's own name from its first digit to its last may be another time.
fn widened(file: &str) -> String {
    let (folder, name) = file.rsplit_once('/').map_or(("", file), |(folder, name)| (folder, name));
    // Behind the first dot stand endings, in which numbers mean something else.
    let stem = name.find('.').map_or(name, |dot| &name[..dot]);
    let digit = |c: char| c.is_ascii_digit();
    let slash = if folder.is_empty() { "" } else { "/" };
    match (stem.find(digit), stem.rfind(digit)) {
        (Some(first), Some(last)) => {
            let (before, behind) = (&name[..first], &name[last + 1..]);
            format!("{}{slash}{}*{}", escaped(folder), escaped(before), escaped(behind))
        }
        _ => escaped(file),
    }
}

/// A text as a glob that means only it.
fn escaped(text: &str) -> String {
    let mut glob = String::new();
    for c in text.chars() {
        match c {
            '*' | '?' | '[' | ']' => glob.extend(['[', c, ']']),
            _ => glob.push(c),
        }
    }
    glob
}
