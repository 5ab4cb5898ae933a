//! The first settings of a fleet.

use super::head::{answered, head};
use super::questions::block;
use super::sources::{Sources, sources};
use super::{Exported, FleetAsked, FleetDraft};
use crate::draft::page::{LiftedQuestion, Question, Standing, plain, quoted, shown};

/// The currency of settings of which no export holds an amount.
const ANY_CURRENCY: &str = "EUR";

/// Drafts settings for the exports of a folder.
pub fn first(asked: &FleetAsked, exports: Vec<Exported>) -> FleetDraft {
    let found = sources(asked, exports, &[], Vec::new());
    let (currency, mut lifted) = match &found.currency {
        Some((code, Standing::Proposed(question) | Standing::Open(question))) => {
            (code.clone(), vec![of_fleet("currency", code, question.clone())])
        }
        Some((code, Standing::Sure)) => (code.clone(), Vec::new()),
        None => (ANY_CURRENCY.to_owned(), Vec::new()),
    };
    let currency_line = answered(lifted.first().map(|_| "currency"), &currency);
    let (zone, question) = found.clocks.zone(&currency);
    let timezone_line = answered(Some("timezone"), &zone);
    lifted.push(of_fleet("timezone", &zone, question));
    lifted.extend(found.asked.iter().cloned());
    let (questions, count) = block(&lifted, 0);
    let mut toml = intro(count);
    toml.push_str(&questions);
    toml.push('\n');
    let (sites, are_open) = (&found.sites, found.guessed_sites || found.sites.is_empty());
    toml.push_str(&head(&asked.name, &currency_line, &timezone_line, sites, are_open));
    toml.push_str(&found.text);
    toml.push_str(&left_out(&found, ""));
    FleetDraft { toml, sources: found.told, left_out: found.left_out, questions: count }
}

fn of_fleet(key: &str, value: &str, asked: Question) -> LiftedQuestion {
    LiftedQuestion {
        answer: Some(key.to_owned()),
        value: quoted(value),
        stands: true,
        sources: Vec::new(),
        folder: String::new(),
        path: String::new(),
        key: key.to_owned(),
        asked,
    }
}

fn intro(questions: usize) -> String {
    let count = match questions {
        0 => "No question is open.".to_owned(),
        1 => "1 question is open.".to_owned(),
        many => format!("{many} questions are open, the one that changes most first."),
    };
    format!(
        "# Settings drafted from exports. {count}\n\
         # A question stands in a comment that begins with \"# ?\". Write the answer into the line below it and take the\n\
         # \"?\" away; what stands there counts until then. `{{ answer = \"KEY\" }}` further down stands for that answer.\n#\n"
    )
}

/// Files without a source, so that none disappears; those that `before` names already are left out.
pub fn left_out(found: &Sources, before: &str) -> String {
    let lines = found.left_out.iter().map(|(file, why)| (format!("#   {}: ", shown(file)), why));
    let new = lines.filter(|(file, _)| !before.contains(file.as_str()));
    let text: String = new.map(|(file, why)| format!("{file}{}\n", plain(why))).collect();
    if text.is_empty() { text } else { format!("\n# Files that no source reads:\n{text}") }
}
