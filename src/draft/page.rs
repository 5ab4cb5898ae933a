//! The draft's text: TOML whose every open question stands in a comment that begins with `# ?`.
//!
//! A text of the export only gets here through [`quoted`] or [`plain`], so that it cannot end the
//! string or the comment it stands in.

use std::fmt::Write;

use super::lifted::Lifted;
pub use super::lifted::{LiftedQuestion, Question, UNKNOWN, site_of};
use crate::settings::{ANSWER, ASKED};

/// How the sentence of the words begins that may answer a question.
const ONE_OF: &str = " One of ";
/// Longest text of an export that is shown in a comment, characters.
const LONGEST_SHOWN: usize = 60;

/// How sure a line is.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Standing {
    Sure,
    /// A proposal that stands, with what is to be asked.
    Proposed(Question),
    /// Nothing that could stand: the line is a comment until the question is answered.
    Open(Question),
}

/// The text in the making.
#[derive(Debug, Default)]
pub struct Page {
    text: String,
    path: String,
    doubts: Vec<DraftDoubt>,
    lifted: Option<Lifted>,
}

impl Page {
    /// A page whose questions are gathered, for settings that have the answers `before`, keys with values.
    pub fn lifting(before: Vec<(String, String)>) -> Self {
        Self { lifted: Some(Lifted { before, ..Lifted::default() }), ..Self::default() }
    }

    /// The source that the next lines belong to, the folder of its files, and whether a site of theirs is that of the
    /// folder.
    pub fn of_source(&mut self, source: &str, folder: &str, is_site_of_folder: bool) {
        if let Some(lifted) = &mut self.lifted {
            source.clone_into(&mut lifted.source);
            folder.clone_into(&mut lifted.folder);
            lifted.is_site_of_folder = is_site_of_folder;
        }
    }

    /// Whether it gathers its questions.
    pub fn is_lifting(&self) -> bool {
        self.lifted.is_some()
    }

    /// The text, and the questions that were gathered.
    pub fn finish_lifted(self) -> (String, Vec<LiftedQuestion>) {
        (self.text, self.lifted.map(|lifted| lifted.asked).unwrap_or_default())
    }

    /// A comment of its own.
    pub fn comment(&mut self, text: &str) {
        self.push(&format!("# {}", plain(text)));
    }

    /// An empty line.
    pub fn blank(&mut self) {
        self.push("");
    }

    /// The header of a table; `path` leads to it from the source.
    pub fn section(&mut self, header: &str, path: &str) {
        self.push(header);
        path.clone_into(&mut self.path);
    }

    /// A key with its value, which is TOML already, and perhaps a remark behind it.
    pub fn line(&mut self, name: &str, value: &str, standing: &Standing, remark: Option<&str>) {
        if let (Standing::Proposed(asked) | Standing::Open(asked), Some(lifted)) =
            (standing, &mut self.lifted)
        {
            let is_open = matches!(standing, Standing::Open(_));
            let answer = lifted.lift(&self.path, (name, value), is_open, asked);
            return self.push(&format!("{} = {}", key(name), reference(&answer)));
        }
        let mut text = format!("{} = {value}", key(name));
        if let Some(remark) = remark {
            text.push_str("   # ");
            text.push_str(&plain(remark));
        }
        if let Standing::Proposed(asked) | Standing::Open(asked) = standing {
            self.doubt(name, asked);
        }
        let open = matches!(standing, Standing::Open(_));
        self.push(&if open { format!("# {text}") } else { text });
    }

    /// A question about a key without a line of its own; no name: about the table as a whole.
    pub fn doubt(&mut self, name: &str, asked: &Question) {
        if let Some(lifted) = &mut self.lifted {
            lifted.note(&self.path, name, asked);
            return;
        }
        let Question { question, evidence } = asked;
        self.push(&format!("{ASKED} {} (evidence: {})", plain(question), plain(evidence)));
        let dot = if self.path.is_empty() || name.is_empty() { "" } else { "." };
        let name = if name.is_empty() { String::new() } else { key(name) };
        self.doubts.push(DraftDoubt {
            key: format!("{}{dot}{name}", self.path),
            question: plain(question),
            evidence: plain(evidence),
        });
    }

    /// The text and the doubts in it.
    pub fn finish(self) -> (String, Vec<DraftDoubt>) {
        (self.text, self.doubts)
    }

    fn push(&mut self, line: &str) {
        self.text.push_str(line);
        self.text.push('\n');
    }
}

/// A TOML key: bare where it may be.
pub fn key(name: &str) -> String {
    let bare = |c: char| c.is_ascii_alphanumeric() || c == '-' || c == '_';
    if !name.is_empty() && name.chars().all(bare) { name.to_owned() } else { quoted(name) }
}

/// The reference to an answer, as TOML.
pub fn reference(answer: &str) -> String {
    format!("{{ {ANSWER} = {} }}", quoted(answer))
}

/// A TOML basic string.
pub fn quoted(text: &str) -> String {
    let mut out = String::from("\"");
    for c in text.chars() {
        match c {
            '"' => out.push_str("\\\""),
            '\\' => out.push_str("\\\\"),
            '\t' => out.push_str("\\t"),
            _ => push_plain(c, &mut out),
        }
    }
    out.push('"');
    out
}

/// A TOML array of strings; one alone stands without brackets.
pub fn one_or_many(texts: &[String]) -> String {
    match texts {
        [one] => quoted(one),
        _ => list(texts),
    }
}

/// A TOML array of strings.
pub fn list(texts: &[String]) -> String {
    let texts: Vec<String> = texts.iter().map(|text| quoted(text)).collect();
    format!("[{}]", texts.join(", "))
}

/// The words that may answer a question, as a sentence behind it; nothing where there is no list.
pub fn one_of<T: AsRef<str>>(words: &[T]) -> String {
    let words: Vec<&str> = words.iter().map(AsRef::as_ref).collect();
    if words.is_empty() { String::new() } else { format!("{ONE_OF}{}", words.join(", ")) }
}

/// A question, and the sentence of the words that may answer it.
pub fn parted(question: &str) -> (&str, &str) {
    question.split_at(question.find(ONE_OF).unwrap_or(question.len()))
}

/// A text on one line without anything that a terminal or an editor would act on.
pub fn plain(text: &str) -> String {
    let mut out = String::new();
    text.chars().for_each(|c| push_plain(c, &mut out));
    out
}

/// A text of the export as shown in a comment: quoted, long ones cut.
pub fn shown(text: &str) -> String {
    let cut: String = text.chars().take(LONGEST_SHOWN).collect();
    let more = if cut.len() < text.len() { "..." } else { "" };
    format!("{}{more}", quoted(&cut))
}

/// Several such texts with their counts.
pub fn counted(words: &[(&str, usize)], most: usize) -> String {
    let first = words.iter().take(most);
    let mut parts: Vec<String> =
        first.map(|(word, count)| format!("{} {count} times", shown(word))).collect();
    if words.len() > most {
        parts.push(format!("{} more", words.len() - most));
    }
    parts.join(", ")
}

/// Control characters, and those that turn the direction of text or hide in it, are written out.
fn push_plain(c: char, out: &mut String) {
    let hidden = matches!(c, '\u{200b}'..='\u{200f}' | '\u{2028}'..='\u{202e}' | '\u{2060}'..='\u{206f}' | '\u{feff}');
    if c.is_control() || hidden {
        // Writing to a string does not fail.
        let _ = write!(out, "\\u{:04x}", u32::from(c));
    } else {
        out.push(c);
    }
}

/// One question that the draft leaves open.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct DraftDoubt {
    /// Where the answer goes, from the source down: `timezone`, `record[0].columns.at`,
    /// `record[0].values.stage."goods in"`.
    pub key: String,
    /// What the person who knows the export is asked.
    pub question: String,
    /// What in the export makes it a question.
    pub evidence: String,
}
