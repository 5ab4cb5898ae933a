//! What can be wrong with the settings, as a user with the file open wants to read it.

use std::fmt;
use std::io;
use std::path::PathBuf;

use thiserror::Error;

/// Why there is no plan.
#[derive(Debug, Error)]
pub enum SettingsError {
    /// The file could not be read at all.
    #[error("{}: cannot be read: {source}", path.display())]
    Unreadable {
        /// The settings file.
        path: PathBuf,
        /// What the system said.
        source: io::Error,
    },
    /// The file was read and cannot be followed: every problem, by line.
    #[error("{}", one_a_line(problems))]
    Invalid {
        /// Every problem, by line.
        problems: Vec<Problem>,
    },
}

/// One thing to put right.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub struct Problem {
    /// Line in the file, from 1.
    pub line: usize,
    /// Column in characters, from 1; only where the text is not TOML.
    pub column: Option<usize>,
    /// The key it is about, as one would write it dotted; empty where there is none.
    pub key: String,
    /// What was found, what was expected, what to do.
    pub message: String,
    /// The file as the user named it.
    pub file: String,
}

impl fmt::Display for Problem {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}:{}", self.file, self.line)?;
        if let Some(column) = self.column {
            write!(f, ":{column}")?;
        }
        if !self.key.is_empty() {
            write!(f, " {}:", self.key)?;
        }
        write!(f, " {}", self.message)
    }
}

fn one_a_line(problems: &[Problem]) -> String {
    let lines: Vec<String> = problems.iter().map(Problem::to_string).collect();
    lines.join("\n")
}
