//! The sections of a settings file: where each stands and what its keys are.

use super::action::TypedAction;
use super::codes::TypedCodes;
use super::costs::TypedCosts;
use super::fleet::TypedFleet;
use super::looks::TypedLooks;
use super::proposal::{TypedBelief, TypedBudget, TypedEffect, TypedProposal};
use super::rules::TypedRules;
use super::section::{Described, Given};
use super::source::{TypedCover, TypedNames, TypedNumber, TypedRecord, TypedSource, TypedWhen};
use super::stages::TypedStages;

/// One section, for people.
#[derive(Clone, Copy, Debug)]
pub struct Section {
    /// As it is headed in the file.
    pub heading: &'static str,
    /// What it is about.
    pub about: &'static str,
    /// Keys from the top of the file to it; `*` stands for any.
    pub path: &'static [&'static str],
    /// Its keys, in their order.
    pub keys: fn() -> Vec<Described>,
}

impl Section {
    /// Whether these keys lead to it.
    pub fn is_at(&self, keys: &[&str]) -> bool {
        let same = |(key, wanted): (&&str, &&str)| *wanted == "*" || key == wanted;
        keys.len() == self.path.len() && keys.iter().zip(self.path).all(same)
    }
}

/// Every section, in the order in which they are described.
pub const SECTIONS: [Section; 17] = [
    Section {
        heading: "[fleet]",
        about: "Who and where.",
        path: &["fleet"],
        keys: TypedFleet::described,
    },
    Section {
        heading: "[rules]",
        about: "Thresholds of the review.",
        path: &["rules"],
        keys: TypedRules::described,
    },
    Section {
        heading: "[stages]",
        about: "The lifecycle of end faces.",
        path: &["stages"],
        keys: TypedStages::described,
    },
    Section {
        heading: "[codes]",
        about: "Words that coded columns may hold.",
        path: &["codes"],
        keys: TypedCodes::described,
    },
    Section {
        heading: "[costs]",
        about: "What work and trouble cost; every price must be given, but not discount_rate and exchange.",
        path: &["costs"],
        keys: TypedCosts::described,
    },
    Section {
        heading: "[[source]]",
        about: "One exporter of records: its files and how they are written.",
        path: &["source"],
        keys: TypedSource::described,
    },
    Section {
        heading: "[[source.record]]",
        about: "What the rows of a source become.",
        path: &["source", "record"],
        keys: TypedRecord::described,
    },
    Section {
        heading: "[source.record.when]",
        about: "A condition that rows must satisfy, by exactly one of three tests.",
        path: &["source", "record", "when"],
        keys: TypedWhen::described,
    },
    Section {
        heading: "[source.record.numbers.COLUMN]",
        about: "How the numbers of a column are written and what they mean.",
        path: &["source", "record", "numbers", "*"],
        keys: TypedNumber::described,
    },
    Section {
        heading: "[source.names]",
        about: "What of the spelling of an end-face name is no difference, in the order in which the rules act.",
        path: &["source", "names"],
        keys: TypedNames::described,
    },
    Section {
        heading: "[source.covers.TABLE]",
        about: "Days for which a table of a source is complete.",
        path: &["source", "covers", "*"],
        keys: TypedCover::described,
    },
    Section {
        heading: "[[proposal]]",
        about: "What may be bought.",
        path: &["proposal"],
        keys: TypedProposal::described,
    },
    Section {
        heading: "[[proposal.effect]]",
        about: "What a purchase changes.",
        path: &["proposal", "effect"],
        keys: TypedEffect::described,
    },
    Section {
        heading: "{ low, likely, high }",
        about: "A number of an effect that is not known exactly.",
        path: &["proposal", "effect", "*"],
        keys: TypedBelief::described,
    },
    Section {
        heading: "[budget]",
        about: "What may be spent.",
        path: &["budget"],
        keys: TypedBudget::described,
    },
    Section {
        heading: "[[action]]",
        about: "What was done: the review asks whether it worked.",
        path: &["action"],
        keys: TypedAction::described,
    },
    Section {
        heading: "[looks]",
        about: "What there is to look with.",
        path: &["looks"],
        keys: TypedLooks::described,
    },
];
