//! Where a value stands in the settings: the keys and positions that lead to it.

use std::fmt;

/// One step down from a table or an array.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Step {
    /// Into a table.
    Key(String),
    /// Into an array, from 0.
    Index(usize),
}

/// The way from the top of the file to a value, whether or not the value is there.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Place(Vec<Step>);

impl Place {
    /// The value under `key` of the table that stands here.
    pub fn key(&self, key: &str) -> Place {
        self.step(Step::Key(key.to_owned()))
    }

    /// The value at `index` of the array that stands here.
    pub fn index(&self, index: usize) -> Place {
        self.step(Step::Index(index))
    }

    /// The value one step further.
    pub fn step(&self, step: Step) -> Place {
        let mut steps = self.0.clone();
        steps.push(step);
        Place(steps)
    }

    /// The steps, from the top.
    pub fn steps(&self) -> &[Step] {
        &self.0
    }

    /// Whether this is `other` or lies below it.
    pub fn is_within(&self, other: &Place) -> bool {
        self.0.starts_with(&other.0)
    }

    /// The place above and the last step, none at the top.
    pub fn split(&self) -> Option<(Place, &Step)> {
        let (last, above) = self.0.split_last()?;
        Some((Place(above.to_vec()), last))
    }
}

/// Dotted keys. Positions in arrays are left out: the line says which element is meant.
impl fmt::Display for Place {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let mut dot = "";
        for step in &self.0 {
            if let Step::Key(key) = step {
                let bare = |c: char| c.is_ascii_alphanumeric() || c == '-' || c == '_';
                if !key.is_empty() && key.chars().all(bare) {
                    write!(f, "{dot}{key}")?;
                } else {
                    write!(f, "{dot}{key:?}")?;
                }
                dot = ".";
            }
        }
        Ok(())
    }
}
