//! Names under rules that the settings do not have.

use crate::intake::{AliasNames, Spelling, is_mark};
use crate::settings::{Marks, NameRules};

/// Hash of the loosest spelling: case folded, zeros before digits and marks left out. Two names that any of the rules
/// makes alike have the same.
pub fn loosest_hash(name: &str) -> u64 {
    const FACTOR: u64 = 0x517C_C1B7_2722_0A95;
    let mut hash = 0_u64;
    let mut mix = |c: char| hash = (hash.rotate_left(5) ^ c as u64).wrapping_mul(FACTOR);
    // As the rules do it, but without a text of its own: this is asked of many names.
    let mut in_number = false;
    let mut rest = name.chars().peekable();
    while let Some(c) = rest.next() {
        let leads = c == '0' && !in_number && rest.peek().is_some_and(char::is_ascii_digit);
        if is_mark(c) {
            in_number = false;
        } else if !leads {
            in_number = c.is_ascii_digit();
            c.to_uppercase().for_each(&mut mix);
        }
    }
    // The first bits choose the sample: all of the name must be in them.
    let mixed = (hash ^ hash >> 32).wrapping_mul(0xD6E8_FEB8_6659_FD93);
    (mixed ^ mixed >> 32).wrapping_mul(0xD6E8_FEB8_6659_FD93)
}

/// Rules that might be added to those of the settings.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Looser {
    /// Capital and small letters are alike.
    pub fold_case: bool,
    /// Zeros before another digit of a number are left out.
    pub drop_zeros: bool,
    /// What blanks and `- _ / . :` count as.
    pub marks: Marks,
}

impl Looser {
    /// All of them.
    pub const LOOSEST: Looser = Looser { fold_case: true, drop_zeros: true, marks: Marks::Dropped };

    /// Every combination of one rule or more, single ones first.
    pub fn all() -> Vec<Looser> {
        let mut all = Vec::new();
        for marks in [Marks::Kept, Marks::Alike, Marks::Dropped] {
            for drop_zeros in [false, true] {
                for fold_case in [false, true] {
                    all.push(Looser { fold_case, drop_zeros, marks });
                }
            }
        }
        all.retain(|rules| rules.count() > 0);
        all.sort_by_key(|rules| rules.count());
        all
    }

    /// How many rules it is.
    pub fn count(self) -> usize {
        usize::from(self.fold_case)
            + usize::from(self.drop_zeros)
            + usize::from(self.marks != Marks::Kept)
    }

    /// The rules, ready to be applied.
    pub fn spelling(self) -> Spelling {
        let Looser { fold_case, drop_zeros, marks } = self;
        let rules = NameRules { fold_case, drop_zeros, marks, ..NameRules::default() };
        Spelling::of(rules, AliasNames::default())
    }

    /// As the settings would have it.
    pub fn typed(self) -> String {
        let marks = match self.marks {
            Marks::Kept => None,
            Marks::Alike => Some("marks = \"alike\""),
            Marks::Dropped => Some("marks = \"drop\""),
        };
        let case = self.fold_case.then_some("fold_case = true");
        let zeros = self.drop_zeros.then_some("leading_zeros = \"drop\"");
        let typed: Vec<&str> = [case, zeros, marks].into_iter().flatten().collect();
        typed.join(", ")
    }
}
