//! What kind of column it is.

use super::column_profile::Guess;
use super::date_fit::DateFit;
use super::day_month::with_hour;
use super::number_tally::NumberTally;

/// Different dates in digits alone that are no chance.
const ENOUGH_COMPACT: usize = 3;
/// Most characters of words and of names.
const LONGEST_WORD: usize = 60;
const LONGEST_NAME: usize = 40;
/// Most blanks a name has on average.
const NAME_BLANKS: usize = 2;
/// Most different words.
const MOST_WORDS: usize = 200;

/// What is known of a column's given texts.
#[derive(Debug)]
pub struct Known<'a> {
    pub given: usize,
    /// Different ones.
    pub distinct: usize,
    /// Characters of the longest.
    pub longest: usize,
    /// Blanks in all of them.
    pub blanks: usize,
    /// They are a pair of words for yes and no.
    pub is_flag: bool,
    pub numbers: &'a NumberTally,
    pub date: Option<&'a DateFit>,
}

/// The kind of column.
pub fn guess(known: &Known) -> Guess {
    let numbers = known.numbers;
    let digits_alone = numbers.numbers == known.given && numbers.is_whole();
    if known.given == 0 {
        return Guess::Empty;
    }
    if let Some(date) = known.date.filter(|_| !digits_alone || known.distinct >= ENOUGH_COMPACT) {
        return if with_hour(date) { Guess::Instant } else { Guess::Day };
    }
    if known.is_flag {
        return Guess::Flag;
    }
    if numbers.are_nearly_all(known.given) {
        return match numbers.is_whole() {
            true => Guess::Integer,
            false => Guess::Decimal { mark: numbers.mark() },
        };
    }
    let repeated = |times: usize| known.given >= known.distinct * times;
    let few = known.distinct <= MOST_WORDS / 4 && repeated(2)
        || known.distinct <= MOST_WORDS && repeated(5)
        || known.distinct == 1;
    if few && known.longest <= LONGEST_WORD {
        return Guess::Words;
    }
    let named = known.longest <= LONGEST_NAME && known.blanks <= known.given * NAME_BLANKS;
    if named { Guess::Name } else { Guess::Text }
}
