//! `motetrail settings`: every key that a settings file may have.

use std::fmt::Write as _;
use std::io::{self, Write as _};

use clap::Args;

use super::log::Log;
use super::outcome::{Outcome, WrongArgument};
use crate::settings::{Described, SECTIONS, Section, nearest};

/// Widest line, characters.
const WIDTH: usize = 100;
/// Blanks before what belongs to a key.
const INDENT: &str = "    ";

/// Print every key of a settings file: what it means, what it may be, its default.
#[derive(Args, Debug)]
#[command(after_help = "Example:\n  motetrail settings rules")]
pub struct Settings {
    /// Only this section, such as `rules` or `source.record`.
    #[arg(value_name = "SECTION")]
    section: Option<String>,
}

impl Settings {
    /// Runs the command.
    ///
    /// # Errors
    /// There is no such section, or standard output cannot be written.
    pub fn run(self, _: &Log) -> anyhow::Result<Outcome> {
        let wanted = self.section.as_deref();
        let sections: Vec<&Section> = SECTIONS
            .iter()
            .filter(|section| wanted.is_none_or(|wanted| wanted == name(section)))
            .collect();
        if sections.is_empty() {
            let names: Vec<String> = SECTIONS.iter().map(name).collect();
            let word = wanted.unwrap_or_default();
            let hint = nearest(word, names.iter().map(String::as_str))
                .map(|meant| format!("; did you mean {meant:?}?"))
                .unwrap_or_default();
            let expected = format!("a section, one of {}{hint}", names.join(", ")).into();
            return Err(
                WrongArgument { argument: "SECTION", found: word.to_owned(), expected }.into()
            );
        }
        let texts: Vec<String> = sections.into_iter().map(text).collect();
        io::stdout().write_all(texts.join("\n").as_bytes())?;
        Ok(Outcome::Done)
    }
}

/// The keys that lead to a section, dotted.
fn name(section: &Section) -> String {
    section.path.join(".")
}

/// A section with its keys.
fn text(section: &Section) -> String {
    let mut text = String::new();
    let _ = writeln!(text, "{}\n{}", section.heading, section.about);
    for key in (section.keys)() {
        let _ = writeln!(text, "\n  {}", key.key);
        for line in wrapped(&sentences(&key)) {
            let _ = writeln!(text, "{INDENT}{line}");
        }
    }
    text
}

/// What a key means, what it may be, and what it is where it is left out.
fn sentences(key: &Described) -> String {
    let default = match (key.required, key.default.as_str()) {
        (true, _) => "Must be given.".to_owned(),
        (false, "") => "May be left out.".to_owned(),
        (false, default) => format!("Default: {default}."),
    };
    format!("{} Takes {}. {default}", key.sentence, key.range)
}

/// Lines of whole words.
fn wrapped(text: &str) -> Vec<String> {
    let mut lines = vec![String::new()];
    for word in text.split_whitespace() {
        let last = lines.len() - 1;
        let line = &mut lines[last];
        if !line.is_empty()
            && INDENT.len() + line.chars().count() + 1 + word.chars().count() > WIDTH
        {
            lines.push(word.to_owned());
        } else {
            line.push_str(if line.is_empty() { "" } else { " " });
            line.push_str(word);
        }
    }
    lines
}
