//! Says which questions the exports can answer.

use crate::draft::{Standing, needs};
use crate::settings::Plan;

/// A line a question, then the one export or column that would open most. `apart` as of `draft::needs`.
pub(super) fn needs_text(plan: &Plan, apart: bool) -> String {
    let (needs, most) = needs(plan, apart);
    let mut text = format!("{:<9} question", "answered");
    for need in &needs {
        let why = match need.standing {
            Standing::Yes => String::new(),
            Standing::No => format!("; needs {}", need.lacks.join(", ")),
            Standing::Partly => format!("; more with {}", need.would_add.join(", ")),
        };
        text += &format!("\n{:<9} {}{why}", need.standing.word(), need.question);
    }
    if let Some(most) = most {
        text += &format!("\nwould open most: {most}");
    }
    text
}
