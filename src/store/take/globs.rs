//! Walks the folders that a file pattern leads through.
//!
//! Our own walk, since the library's leaves out every name that is not UTF-8 without a word. Patterns
//! mean what they mean there: `*`, `?`, `[...]` within a name, `**` alone for any depth of folders.

use std::fs;
use std::io;
use std::path::{Path, PathBuf};

use glob::{Pattern, PatternError};

/// A path that a pattern matches, whatever it is; or a folder that could not be looked into.
pub(in crate::store) type Found = Result<PathBuf, (PathBuf, io::Error)>;

/// One part of a pattern between slashes.
enum Step {
    Name(String),
    Like(Pattern),
    AnyDepth,
}

/// Everything below `folder` that the pattern matches, folders too, in no order and perhaps twice.
pub(in crate::store) fn expand(folder: &Path, pattern: &str) -> Result<Vec<Found>, PatternError> {
    let mut steps: Vec<Step> = Vec::new();
    for part in pattern.split('/').filter(|part| !matches!(*part, "" | ".")) {
        let repeated = part == "**" && matches!(steps.last(), Some(Step::AnyDepth));
        if !repeated {
            steps.push(step(part)?);
        }
    }
    let base = if pattern.starts_with('/') { Path::new("/") } else { folder };
    let base = if base == Path::new(".") { Path::new("") } else { base };
    let mut walk = Walk { found: Vec::new(), above: Vec::new() };
    walk.go(base, &steps);
    Ok(walk.found)
}

fn step(part: &str) -> Result<Step, PatternError> {
    Ok(match part {
        "**" => Step::AnyDepth,
        _ if part.contains(['*', '?', '[']) => Step::Like(Pattern::new(part)?),
        _ => Step::Name(part.to_owned()),
    })
}

struct Walk {
    found: Vec<Found>,
    /// Folders, as they really are, that `**` is inside of: a link back to one of them is a circle.
    above: Vec<PathBuf>,
}

impl Walk {
    fn go(&mut self, at: &Path, steps: &[Step]) {
        match steps {
            [] => {}
            [Step::Name(name), rest @ ..] => {
                let path = at.join(name);
                match fs::symlink_metadata(&path) {
                    Ok(_) => self.match_one(path, rest),
                    Err(error) if is_nothing(&error) => {}
                    Err(error) => self.found.push(Err((path, error))),
                }
            }
            [Step::Like(pattern), rest @ ..] => {
                for path in self.listed(at) {
                    // A byte that is no text counts as one character.
                    let name = path.file_name().unwrap_or_default().to_string_lossy();
                    if pattern.matches(&name) {
                        self.match_one(path, rest);
                    }
                }
            }
            [Step::AnyDepth, rest @ ..] => {
                self.go(at, rest);
                let real = fs::canonicalize(here(at)).unwrap_or_else(|_| at.to_owned());
                if self.above.contains(&real) {
                    return;
                }
                self.above.push(real);
                for path in self.listed(at).into_iter().filter(|path| path.is_dir()) {
                    self.go(&path, steps);
                }
                self.above.pop();
            }
        }
    }

    /// A path whose name matches: the last step's is found, any other must be a folder.
    fn match_one(&mut self, path: PathBuf, rest: &[Step]) {
        if rest.is_empty() {
            self.found.push(Ok(path));
        } else if path.is_dir() {
            self.go(&path, rest);
        }
    }

    /// What is in a folder; a folder that is gone or none has nothing.
    fn listed(&mut self, at: &Path) -> Vec<PathBuf> {
        let listed = fs::read_dir(here(at)).and_then(|entries| {
            let path = |entry: io::Result<fs::DirEntry>| Ok(at.join(entry?.file_name()));
            entries.map(path).collect::<io::Result<Vec<_>>>()
        });
        listed.unwrap_or_else(|error| {
            if !is_nothing(&error) {
                self.found.push(Err((at.to_owned(), error)));
            }
            Vec::new()
        })
    }
}

fn here(at: &Path) -> &Path {
    if at.as_os_str().is_empty() { Path::new(".") } else { at }
}

fn is_nothing(error: &io::Error) -> bool {
    matches!(error.kind(), io::ErrorKind::NotFound | io::ErrorKind::NotADirectory)
}
