//! Answers written into settings, question by question.

use chrono::NaiveDate;
use toml_edit::Document;

use crate::draft::page::{key, list, quoted};
use crate::settings::{ANSWERS, ASKED, Answer, GOES_ON, answer_of};

/// An open question with the lines that answer it.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Asked {
    /// What is asked, with its number.
    pub question: String,
    /// What else is said of it: what it changes, its evidence, what is likely.
    pub remarks: Vec<String>,
    /// Keys of its answers; none where the source itself must be changed.
    pub answers: Vec<Answer>,
}

/// The open questions of a settings text, in its order.
pub fn asked(text: &str) -> Vec<Asked> {
    let mut found: Vec<Asked> = Vec::new();
    let mut open = false;
    for line in text.lines() {
        if let Some(question) = line.strip_prefix(ASKED) {
            let question = question.trim().to_owned();
            found.push(Asked { question, remarks: Vec::new(), answers: Vec::new() });
            open = true;
        } else if let (Some(asked), true) = (found.last_mut(), open) {
            if let Some(answer) = answer_of(line) {
                asked.answers.push(answer);
            } else if let Some(remark) =
                line.strip_prefix('#').filter(|rest| !rest.trim().is_empty())
            {
                match asked.remarks.last_mut() {
                    // Remarks begin further left than the lines that go on with them.
                    Some(last) if remark.starts_with(GOES_ON) => {
                        last.push(' ');
                        last.push_str(remark.trim());
                    }
                    _ if remark.starts_with(GOES_ON) => {
                        asked.question.push(' ');
                        asked.question.push_str(remark.trim());
                    }
                    _ => asked.remarks.push(remark.trim().to_owned()),
                }
            } else {
                open = false;
            }
        }
    }
    found
}

/// The settings with these answers, keys with TOML; a question whose answers are all given is no longer open. Keys that
/// answer no open question are the error.
///
/// # Errors
/// The first key that no line of an open question has.
pub fn answer(text: &str, given: &[(String, String)]) -> Result<String, String> {
    let known: Vec<String> =
        asked(text).into_iter().flat_map(|asked| asked.answers).map(|answer| answer.key).collect();
    if let Some((key, _)) = given.iter().find(|(key, _)| !known.contains(key)) {
        return Err(key.clone());
    }
    let mut lines: Vec<String> = text.lines().map(str::to_owned).collect();
    // Line of the open question, and whether all its answers so far are given.
    let mut open: Option<(usize, bool, bool)> = None;
    let mut closed: Vec<usize> = Vec::new();
    let mut close = |open: &mut Option<(usize, bool, bool)>| {
        if let Some((line, true, true)) = open.take() {
            closed.push(line);
        }
    };
    for (at, line) in text.lines().enumerate() {
        if line.starts_with(ASKED) {
            close(&mut open);
            open = Some((at, true, false));
        } else if let Some(found) = answer_of(line) {
            let new = given.iter().find(|(key, _)| *key == found.key);
            if let Some((_, value)) = new {
                let key = key(&found.key);
                lines[at] = format!("{ANSWERS}.{key} = {value}");
            }
            open = open.map(|(line, all, _)| (line, all && new.is_some(), true));
        } else if !line.starts_with('#') || line.trim() == "#" {
            close(&mut open);
        }
    }
    close(&mut open);
    for line in closed {
        lines[line] = lines[line].replacen(ASKED, "#", 1);
    }
    Ok(lines.join("\n") + "\n")
}

/// What a person typed as TOML: as it is where it is of the kind of what stands there, else a text; names with commas
/// between them where several columns may stand, and two days where a span does.
pub fn typed(text: &str, instead_of: &str) -> String {
    let parses = |value: &str| Document::parse(format!("x = {value}")).is_ok();
    let days: Vec<&str> = text
        .split(|c: char| c.is_whitespace() || c == ',')
        .filter(|word| NaiveDate::parse_from_str(word, "%Y-%m-%d").is_ok())
        .collect();
    let is_text = instead_of.starts_with('"');
    match (instead_of.split_once("from = "), days.as_slice()) {
        (Some((before, _)), [from, to]) if !text.contains('{') => {
            let closed = "}".repeat(before.matches('{').count());
            return format!("{before}from = {}, to = {} {closed}", quoted(from), quoted(to));
        }
        _ => {}
    }
    if parses(text) && (!is_text || text.starts_with('"')) {
        text.to_owned()
    } else if instead_of.starts_with('[') && text.contains(',') {
        list(&text.split(',').map(|name| name.trim().to_owned()).collect::<Vec<_>>())
    } else {
        quoted(text)
    }
}
