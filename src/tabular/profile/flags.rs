//! Pairs of words that mean yes and no.

/// Yes and no, in small letters.
const PAIRS: [[&str; 2]; 20] = [
    ["yes", "no"],
    ["y", "n"],
    ["ja", "nein"],
    ["j", "n"],
    ["ja", "nee"],
    ["oui", "non"],
    ["o", "n"],
    ["si", "no"],
    ["sí", "no"],
    ["sì", "no"],
    ["s", "n"],
    ["tak", "nie"],
    ["t", "n"],
    ["sim", "não"],
    ["sim", "nao"],
    ["true", "false"],
    ["t", "f"],
    ["wahr", "falsch"],
    ["vrai", "faux"],
    ["1", "0"],
];
/// No such word is longer, bytes.
const LONGEST: usize = 6;

/// Share of texts that must be one of a pair, in hundredths.
const NEEDED_HUNDREDTHS: usize = 98;

/// The pair among different texts with their counts, if it makes up nearly all of them: how many
/// texts are neither. One of its words alone must have several letters to be taken for it.
pub fn beside_pair<'t>(texts: impl Iterator<Item = (&'t str, usize)>) -> Option<usize> {
    let (mut counts, mut all) = (vec![[0; 2]; PAIRS.len()], 0);
    for (text, count) in texts {
        all += count;
        let small = if text.len() <= LONGEST { text.to_lowercase() } else { continue };
        for (pair, counts) in PAIRS.iter().zip(&mut counts) {
            for (word, counted) in pair.iter().zip(counts) {
                *counted += if *word == small { count } else { 0 };
            }
        }
    }
    let taken = PAIRS.iter().zip(&counts).filter(|(pair, counts)| match counts {
        [0, 0] => false,
        [_, 0] => pair[0].len() > 1,
        [0, _] => pair[1].len() > 1,
        _ => true,
    });
    let most = taken.map(|(_, [yes, no])| yes + no).max()?;
    (most * 100 >= all * NEEDED_HUNDREDTHS).then_some(all - most)
}
