//! Questions of the settings that nobody has answered, and what their answers could change.

use crate::charts::number::count;
use crate::measures::Review;
use crate::settings::OpenQuestion;

/// Most questions that the first page names.
const MOST_NAMED: usize = 3;

/// How many questions are open and what they could change, the one that changes most first. Nothing where none is.
pub(in crate::report) fn still_open(review: &Review) -> Option<String> {
    let open = &review.open_questions;
    let named: Vec<String> = open.iter().take(MOST_NAMED).map(sentence).collect();
    let more = match open.len().saturating_sub(MOST_NAMED) {
        0 => String::new(),
        more => format!(" And {} more, all named under how far to trust it.", count(more as u64)),
    };
    let many = match open.len() {
        0 => return None,
        1 => "One question of the settings is open; what stands there counts as if it were true."
            .to_owned(),
        many => format!(
            "{} questions of the settings are open; what stands there counts as if it were true.",
            count(many as u64)
        ),
    };
    Some(format!("{many} {}{more}", named.join(" ")))
}

/// A question with what its answer could change.
pub(in crate::report) fn sentence(open: &OpenQuestion) -> String {
    let changes = match open.changes.as_str() {
        "" => String::new(),
        changes => format!(" It could change {changes}."),
    };
    let end = if open.text.ends_with(['?', '.', '!']) { "" } else { "." };
    let numbered = open.text.split_once(". ");
    let numbered = numbered.filter(|(number, _)| number.bytes().all(|b| b.is_ascii_digit()));
    match numbered {
        Some((number, text)) => {
            format!("Question {number} (line {}): {text}{end}{changes}", open.line)
        }
        None => format!("Line {}: {}{end}{changes}", open.line, open.text),
    }
}
