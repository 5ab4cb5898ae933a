//! The block of questions at the top of drafted settings.

use std::collections::BTreeMap;

use super::order::{asked_of_all, gathered, order};
use crate::draft::page::{LiftedQuestion, key, parted, plain};
use crate::settings::{ASKED, CHANGES, GOES_ON};

/// Widest line of a comment, characters.
const WIDTH: usize = 100;
/// Longest line that is no more than a head, bytes: a word goes behind it however long it is.
const SHORTEST: usize = 12;

/// The questions as text, the one that changes most first, and how many there are. `before` were asked earlier.
pub fn block(asked: &[LiftedQuestion], before: usize) -> (String, usize) {
    let mut groups: BTreeMap<(u8, String), Vec<&LiftedQuestion>> = BTreeMap::new();
    for one in asked {
        groups.entry((order(one).0, gathered(one))).or_default().push(one);
    }
    let mut text = String::new();
    for (number, group) in groups.values().enumerate() {
        question(&mut text, before + number + 1, group);
    }
    (text, groups.len())
}

fn question(text: &mut String, number: usize, group: &[&LiftedQuestion]) {
    let Some(first) = group.first() else { return };
    let of_all = asked_of_all(group);
    let several = of_all.is_some();
    let asked = of_all.unwrap_or_else(|| match first.path.strip_prefix("values.") {
        Some(column) => format!("`{column}`: {}", first.asked.question),
        None => first.asked.question.clone(),
    });
    remark(text, &format!("{ASKED} {number}. "), &plain(&asked));
    remark(text, &format!("#      {CHANGES}"), order(first).1);
    let mut of: Vec<&str> = Vec::new();
    for source in group.iter().flat_map(|one| &one.sources) {
        if !of.contains(&source.as_str()) {
            of.push(source);
        }
    }
    if !several {
        remark(text, "#      Evidence: ", &plain(&first.asked.evidence));
    }
    if !of.is_empty() {
        remark(text, "#      Sources: ", &plain(&of.join(", ")));
    }
    let stands = group.iter().filter(|one| one.stands).count();
    match (first.answer.is_some(), stands) {
        (false, _) => {
            let how =
                "change the source below, or leave it so, and take the \"?\" off this question";
            remark(text, "#      To answer: ", how);
        }
        (true, 0) => {
            let how = "nothing; until the line below is filled in and its # taken off, the key counts as left out";
            remark(text, "#      Likely: ", how);
        }
        (true, some) => {
            let how = "what stands below, which counts until there is an answer";
            let rest = "; a line with # before it counts as left out until it is filled in";
            let rest = if some < group.len() { rest } else { "" };
            remark(text, "#      Likely: ", &format!("{how}{rest}"));
        }
    }
    for one in group {
        let Some(answer) = &one.answer else { continue };
        let off = if one.stands { "" } else { "# " };
        let why = if several {
            let (question, _) = parted(&one.asked.question);
            format!("   # {} ({})", plain(question), plain(&one.asked.evidence))
        } else {
            String::new()
        };
        text.push_str(&format!("{off}answers.{} = {}{why}\n", key(answer), one.value));
    }
    text.push_str("#\n");
}

/// A remark of a question, the first line behind `head`.
fn remark(text: &mut String, head: &str, words: &str) {
    wrapped(text, head.trim_end(), &format!("#{GOES_ON}"), words);
}

/// A comment in lines of whole words, the first behind `head`, the others behind `go_on`.
pub fn wrapped(text: &mut String, head: &str, go_on: &str, words: &str) {
    let mut line = head.to_owned();
    for word in words.split_whitespace() {
        if line.chars().count() + 1 + word.chars().count() > WIDTH && line.len() > SHORTEST {
            text.push_str(&line);
            text.push('\n');
            go_on.clone_into(&mut line);
        }
        line.push(' ');
        line.push_str(word);
    }
    text.push_str(&line);
    text.push('\n');
}
