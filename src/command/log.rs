//! Messages on standard error, as text or as one JSON object a line.

use std::io::IsTerminal;

use clap::ValueEnum;

use super::printable::{escaped, printable_lines};

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
        let mut text = String::new();
        for cause in error.chain().map(ToString::to_string) {
            // Most of our messages have their cause in them already.
            if !text.contains(&cause) {
                let colon = if text.is_empty() { "" } else { ": " };
                text += &format!("{colon}{cause}");
            }
        }
        self.write("error", &text);
    }

    /// What went wrong while the rest goes on; said even when quiet, since the exit code tells of it.
    pub fn fault(&self, message: &str) {
        self.write("error", message);
    }

    /// Whether nothing but results and errors is said.
    pub fn is_quiet(&self) -> bool {
        self.quiet
    }

    /// Whether progress may be drawn.
    pub fn shows_progress(&self) -> bool {
        !self.quiet && self.format == LogFormat::Text && std::io::stderr().is_terminal()
    }

    fn write(&self, kind: &str, message: &str) {
        match self.format {
            LogFormat::Text if kind == "note" => eprintln!("{}", printable_lines(message)),
            LogFormat::Text => eprintln!("{kind}: {}", printable_lines(message)),
            LogFormat::Json => {
                let line = serde_json::json!({ "kind": kind, "message": message });
                eprintln!("{}", escaped(&line.to_string()));
            }
        }
    }
}
