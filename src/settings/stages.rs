//! `[stages]`: the lifecycle.

use super::place::Place;
use super::problems::Problems;
use super::ranges::Words;
use super::section::{Range, section};
use super::words;

/// Most stages: events keep a stage in one byte.
const MOST_STAGES: usize = 200;

section! {
    TypedStages:
    /// The lifecycle.
    Stages {
        /// Stages, earliest first (common practice); the fleet's own list replaces this.
        order: Vec<String> = words::texts(&[
            "production", "incoming", "installation", "acceptance", "change", "repair",
        ]), StageOrder;
        /// Stages without light, where no fault can show (left out of 5.4 and 5.5); of the default those in `order`.
        dark: Vec<String> = words::texts(&["production", "incoming"]), Words;
    }
}

impl Default for Stages {
    fn default() -> Self {
        Self::left_out()
    }
}

/// The stages of what was typed.
pub fn stages(typed: Option<&TypedStages>, place: &Place, problems: &mut Problems) -> Stages {
    let absent = TypedStages::default();
    let typed = typed.unwrap_or(&absent);
    let mut stages = Stages::read(typed, place, problems);
    if typed.dark.is_none() {
        stages.dark.retain(|stage| stages.order.contains(stage));
    } else if !stages.order.is_empty() {
        let known: Vec<&str> = stages.order.iter().map(String::as_str).collect();
        let here = place.key("dark");
        for (index, stage) in stages.dark.iter().enumerate() {
            words::one_of(stage, &known, &here.index(index), problems);
        }
    }
    stages
}

/// At least one stage, each once; none where what was typed was no list, so that any goes.
pub struct StageOrder;

impl Range for StageOrder {
    type Typed = Vec<String>;
    type Value = Vec<String>;

    fn read(&self, typed: &Vec<String>, place: &Place, problems: &mut Problems) -> Vec<String> {
        if typed.is_empty() {
            problems.add(place, "is empty; name at least one stage, or leave it out");
        }
        if typed.len() > MOST_STAGES {
            let found = format!("found {} stages, expected at most {MOST_STAGES}", typed.len());
            problems.add(place, found);
        }
        Words.read(typed, place, problems)
    }

    fn left_out(&self, default: Vec<String>, place: &Place, problems: &Problems) -> Vec<String> {
        if problems.is_mistyped(place) { Vec::new() } else { default }
    }

    fn text(&self) -> String {
        format!("1 to {MOST_STAGES} words, each once")
    }

    fn written(&self, value: &Vec<String>) -> String {
        Words.written(value)
    }
}
