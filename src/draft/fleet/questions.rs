//! The block of questions at the top of drafted settings.

use std::collections::BTreeMap;

use super::order::{gathered, order};
use crate::draft::page::{LiftedQuestion, key, plain};
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
    let values = first.path.strip_prefix("values.");
    let several = group.len() > 1 && (values.is_some() || first.path == "durations");
    let asked = match values {
        None if several => {
            format!("In which unit are the lengths of time of these {} columns?", group.len())
        }
        Some(column) if group.len() > 1 => {
            format!("What do these {} words of `{column}` mean?", group.len())
        }
        Some(column) => format!("`{column}`: {}", first.asked.question),
        None => first.asked.question.clone(),
    };
    remark(text, &format!("{ASKED} {number}. "), &plain(&asked));
    remark(text, &format!("#      {CHANGES}"), order(first).1);
    let mut sources: Vec<&str> = group.iter().map(|one| one.source.as_str()).collect();
    sources.dedup();
    let of = sources.iter().filter(|source| !source.is_empty()).copied().collect::<Vec<_>>();
    if !several {
        remark(text, "#      Evidence: ", &plain(&first.asked.evidence));
    }
    if !of.is_empty() {
        remark(text, "#      Sources: ", &plain(&of.join(", ")));
    }
    match (first.answer.is_some(), first.stands) {
        (false, _) => {
            let how =
                "change the source below, or leave it so, and take the \"?\" off this question";
            remark(text, "#      To answer: ", how);
        }
        (true, true) => remark(
            text,
            "#      Likely: ",
            "what stands below, which counts until there is an answer",
        ),
        (true, false) => {
            let how = "nothing; until the line below is filled in and its # taken off, the key counts as left out";
            remark(text, "#      Likely: ", how);
        }
    }
    for one in group {
        let Some(answer) = &one.answer else { continue };
        let off = if one.stands { "" } else { "# " };
        let why = if several {
            format!("   # {} ({})", plain(&one.asked.question), plain(&one.asked.evidence))
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
