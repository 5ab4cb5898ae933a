//! The spelling of every source of a fleet.

use std::collections::BTreeMap;

use super::aliases::{AliasAccount, read_aliases};
use super::rules::{AliasNames, Spelling};
use crate::intake::IntakeError;
use crate::settings::Plan;

/// How each source's end-face names are spelled.
#[derive(Clone, Debug, Default)]
pub struct Spellings {
    by_source: BTreeMap<String, Spelling>,
    accounts: Vec<AliasAccount>,
    plain: Spelling,
}

impl Spellings {
    /// Those of the settings; reads their alias tables.
    ///
    /// # Errors
    /// An alias table that cannot be read.
    pub fn read(plan: &Plan) -> Result<Spellings, IntakeError> {
        let mut spellings = Spellings::default();
        for source in plan.sources.iter().filter(|source| !source.names.are_none()) {
            let mut names = AliasNames::default();
            if let Some(file) = &source.names.aliases {
                let account;
                (names, account) = read_aliases(&source.name, &plan.fleet.folder, file)?;
                spellings.accounts.push(account);
            }
            let spelling = Spelling::of(source.names.clone(), names);
            spellings.by_source.insert(source.name.clone(), spelling);
        }
        Ok(spellings)
    }

    /// That of a source; of one that the settings do not have, names stay as they are written.
    pub fn of_source(&self, source: &str) -> &Spelling {
        self.by_source.get(source).unwrap_or(&self.plain)
    }

    /// What became of the rows of the alias tables, by source.
    pub fn accounts(&self) -> &[AliasAccount] {
        &self.accounts
    }

    /// Whether every name stays as it is written.
    pub fn are_plain(&self) -> bool {
        self.by_source.values().all(Spelling::is_plain)
    }
}
