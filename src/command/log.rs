//! Messages on standard error, as text or as one JSON object a line.

use std::io::IsTerminal;

use clap::ValueEnum;

/// Form of the messages.
#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
pub enum LogFormat {
    Text,
    Json,
}

/// Where messages go.
#[derive(Clone, Copy, Debug)]
pub struct Log {
    quiet: bool,
    format: LogFormat,
}

impl Log {
    /// A log that says only errors when `quiet`.
    pub fn new(quiet: bool, format: LogFormat) -> Log {
        Log { quiet, format }
    }

    /// What is being done, or worth knowing.
    pub fn note(&self, message: &str) {
        if !self.quiet {
            self.write("note", message);
        }
    }

    /// Something that the user should look at.
    pub fn warn(&self, message: &str) {
        if !self.quiet {
            self.write("warning", message);
        }
    }

    /// Why the command ended early, with its causes.
    pub fn error(&self, error: &anyhow::Error) {
        self.write("error", &format!("{error:#}"));
    }

    /// Whether progress may be drawn.
    pub fn shows_progress(&self) -> bool {
        !self.quiet && self.format == LogFormat::Text && std::io::stderr().is_terminal()
    }

    fn write(&self, kind: &str, message: &str) {
        match self.format {
            LogFormat::Text if kind == "note" => eprintln!("{}", printable(message)),
            LogFormat::Text => eprintln!("{kind}: {}", printable(message)),
            LogFormat::Json => {
                eprintln!("{}", serde_json::json!({ "kind": kind, "message": message }));
            }
        }
    }
}

/// A message that a terminal only prints: names of files and columns may hold anything.
pub(super) fn printable(message: &str) -> String {
    let shown = |c: char| {
        if c.is_control() && c != '\n' { '\u{fffd}' } else { c }
    };
    message.chars().map(shown).collect()
}
