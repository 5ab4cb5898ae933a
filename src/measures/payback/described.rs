//! A proposal in words: what it changes, and where.

use crate::settings::{Effect, EffectKind, Proposal, Stated};

/// What a proposal changes, effect by effect.
pub fn what(proposal: &Proposal) -> String {
    let all: Vec<String> = proposal.effects.iter().map(effect).collect();
    all.join("; ")
}

/// Where its effects work: each place once, in the order of the effects.
pub fn places(proposal: &Proposal) -> String {
    let mut all: Vec<String> = Vec::new();
    for place in proposal.effects.iter().map(place) {
        if !all.contains(&place) {
            all.push(place);
        }
    }
    all.join("; ")
}

fn effect(effect: &Effect) -> String {
    match &effect.kind {
        EffectKind::Coverage(share) => {
            format!("matings with both ends seen rise to a share of {}", number(share))
        }
        EffectKind::Inspection(share) => {
            format!(
                "a share of {} of end faces is looked at where looks are skipped",
                number(share)
            )
        }
        EffectKind::Cleaning { contrast: Some((method, other)), .. } => {
            format!("{method} takes the place of {other} in cleaning")
        }
        EffectKind::Cleaning { odds, .. } => {
            let odds = odds.as_ref().map(number).unwrap_or_default();
            format!("the odds of passing a cleaning cycle are multiplied by {odds}")
        }
        EffectKind::Entry { from, to, times } => {
            format!(
                "the hazard of dirt entering from {from} to {to} is multiplied by {}",
                number(times)
            )
        }
        EffectKind::Minutes { minutes, instead_of } => {
            let of = instead_of.as_ref().map(|method| format!(" by {method}")).unwrap_or_default();
            format!("a cleaning{of} takes {} minutes", number(minutes))
        }
        EffectKind::Carriers { share, kinds } => {
            let of =
                if kinds.is_empty() { String::new() } else { format!(" ({})", kinds.join(", ")) };
            format!("a share of {} of what carriers{of} pass on beyond others goes", number(share))
        }
    }
}

fn place(effect: &Effect) -> String {
    let stages = match (&effect.kind, effect.stages.is_empty()) {
        (EffectKind::Entry { from, to, .. }, _) => format!("between {from} and {to}"),
        (EffectKind::Carriers { .. }, _) => "where these carriers are used".to_owned(),
        (_, true) => "at every stage".to_owned(),
        (_, false) => format!("at {}", effect.stages.join(", ")),
    };
    match effect.sites.is_empty() {
        true => format!("{stages}, all sites"),
        false => format!("{stages}, {}", effect.sites.join(", ")),
    }
}

fn number(stated: &Stated) -> String {
    let Stated { low, likely, high } = stated;
    match stated.is_known() {
        true => likely.to_string(),
        false => format!("{likely} (stated as {low} to {high})"),
    }
}
