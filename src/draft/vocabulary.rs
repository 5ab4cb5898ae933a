//! The trade words of eight languages: what column names and words in cells usually mean.
//!
//! The lists in `words/` come from common practice, not from a standard; they only propose. They
//! hold no names of products. Form of a list: `[columns]` and `[values]` with lines `key: phrase,
//! phrase`; a `~` before a phrase says that it needs confirmation; `[tokens]` lists small words.

use std::collections::BTreeMap;
use std::sync::LazyLock;

use super::fold::{name_tokens, spelled_out, squeezed};

/// One list a language.
const LISTS: [&str; 8] = [
    include_str!("words/english.txt"),
    include_str!("words/german.txt"),
    include_str!("words/french.txt"),
    include_str!("words/spanish.txt"),
    include_str!("words/italian.txt"),
    include_str!("words/dutch.txt"),
    include_str!("words/polish.txt"),
    include_str!("words/portuguese.txt"),
];

/// A meaning, and whether it needs confirmation.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Meaning {
    /// Canonical column (`record`, or `matings.record` for one table only), or a code.
    pub of: &'static str,
    /// Common, but of other things too.
    pub weak: bool,
}

/// What a small word in a column's name is.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Token {
    /// Number, identifier.
    Id,
    /// Name, label.
    Label,
    /// Date, time.
    Clock,
    /// Articles and the like.
    Stop,
    Minutes,
    Hours,
    /// Something that holds end faces: rack, panel.
    Place,
    /// An end face in such a thing.
    Port,
    /// Before and after a cleaning.
    Before,
    After,
    /// The time zone that all clocks agree about.
    Utc,
    /// Takes back what stands beside it.
    Not,
    /// Names something that no canonical column holds.
    Other,
}

/// All lists, indexed.
#[derive(Debug, Default)]
pub struct Vocabulary {
    names: BTreeMap<String, Vec<Meaning>>,
    words: BTreeMap<&'static str, BTreeMap<String, Vec<Meaning>>>,
    tokens: BTreeMap<String, Vec<Token>>,
}

static VOCABULARY: LazyLock<Vocabulary> = LazyLock::new(Vocabulary::read);

impl Vocabulary {
    /// The one of the program.
    pub fn get() -> &'static Self {
        &VOCABULARY
    }

    /// What a name of these tokens, joined by blanks, means.
    pub fn name(&self, name: &str) -> &[Meaning] {
        self.names.get(name).map_or(&[], Vec::as_slice)
    }

    /// All names in order, each with its meanings.
    pub fn names(&self) -> impl Iterator<Item = (&str, &[Meaning])> {
        self.names.iter().map(|(name, meanings)| (name.as_str(), meanings.as_slice()))
    }

    /// What a squeezed word in a cell of that canonical column means.
    pub fn word(&self, column: &str, word: &str) -> &[Meaning] {
        self.words.get(column).and_then(|words| words.get(word)).map_or(&[], Vec::as_slice)
    }

    /// All squeezed words of a canonical column in order.
    pub fn words(&self, column: &str) -> impl Iterator<Item = (&str, &[Meaning])> {
        let words = self.words.get(column).into_iter().flatten();
        words.map(|(word, meanings)| (word.as_str(), meanings.as_slice()))
    }

    /// Whether a token is a small word of that kind in any of the languages.
    pub fn is(&self, token: &str, kind: Token) -> bool {
        self.tokens.get(token).is_some_and(|kinds| kinds.contains(&kind))
    }

    /// Every key of the lists, for tests of the lists.
    pub fn keys(&self) -> Vec<String> {
        let names = self.names.values().flatten().map(|meaning| meaning.of.to_owned());
        let codes = self.words.iter().flat_map(|(column, words)| {
            let codes = words.values().flatten();
            codes.map(move |meaning| format!("{column}={}", meaning.of))
        });
        let mut keys: Vec<String> = names.chain(codes).collect();
        keys.sort_unstable();
        keys.dedup();
        keys
    }

    fn read() -> Self {
        let mut vocabulary = Self::default();
        // Small words first: names are indexed without them too.
        for tokens in [true, false] {
            for list in LISTS {
                vocabulary.add(list, tokens);
            }
        }
        vocabulary
    }

    fn add(&mut self, list: &'static str, tokens: bool) {
        let mut section = "";
        for line in list.lines().filter(|line| !line.starts_with('#')) {
            match line.split_once(": ") {
                None => section = line,
                Some((key, phrases)) => {
                    for phrase in phrases.split(", ") {
                        match section {
                            "[tokens]" if tokens => self.add_token(key, phrase),
                            "[columns]" if !tokens => self.add_name(key, phrase),
                            "[values]" if !tokens => self.add_word(key, phrase),
                            _ => {}
                        }
                    }
                }
            }
        }
    }

    fn add_token(&mut self, kind: &str, phrase: &str) {
        let kind = match kind {
            "id" => Token::Id,
            "label" => Token::Label,
            "clock" => Token::Clock,
            "stop" => Token::Stop,
            "minutes" => Token::Minutes,
            "hours" => Token::Hours,
            "place" => Token::Place,
            "port" => Token::Port,
            "before" => Token::Before,
            "after" => Token::After,
            "utc" => Token::Utc,
            "not" => Token::Not,
            _ => Token::Other,
        };
        for spelling in [Some(phrase.to_owned()), spelled_out(phrase)].into_iter().flatten() {
            let kinds = self.tokens.entry(squeezed(&spelling)).or_default();
            if !kinds.contains(&kind) {
                kinds.push(kind);
            }
        }
    }

    fn add_name(&mut self, key: &'static str, phrase: &str) {
        let (phrase, weak) = strength(phrase);
        for spelling in [Some(phrase.to_owned()), spelled_out(phrase)].into_iter().flatten() {
            let tokens = name_tokens(&spelling);
            let short = self.without(&tokens, Token::Stop).join(" ");
            // One letter that is left says nothing.
            let short = Some(short).filter(|short| short.len() > 1);
            for form in [Some(tokens.join(" ")), short].into_iter().flatten() {
                add_meaning(self.names.entry(form).or_default(), Meaning { of: key, weak });
            }
        }
    }

    fn add_word(&mut self, key: &'static str, phrase: &str) {
        let Some((column, code)) = key.split_once('.') else { return };
        let (phrase, weak) = strength(phrase);
        for spelling in [Some(phrase.to_owned()), spelled_out(phrase)].into_iter().flatten() {
            let words = self.words.entry(column).or_default();
            let meanings = words.entry(squeezed(&spelling)).or_default();
            add_meaning(meanings, Meaning { of: code, weak });
        }
    }

    /// The tokens that are not small words of that kind; all of them if that leaves none.
    pub fn without(&self, tokens: &[String], kind: Token) -> Vec<String> {
        let rest: Vec<String> =
            tokens.iter().filter(|token| !self.is(token, kind)).cloned().collect();
        if rest.is_empty() { tokens.to_vec() } else { rest }
    }
}

fn strength(phrase: &str) -> (&str, bool) {
    phrase.strip_prefix('~').map_or((phrase, false), |phrase| (phrase, true))
}

/// A meaning counts once, and needs no confirmation if one language gives it without.
fn add_meaning(meanings: &mut Vec<Meaning>, meaning: Meaning) {
    match meanings.iter_mut().find(|known| known.of == meaning.of) {
        Some(known) => known.weak &= meaning.weak,
        None => meanings.push(meaning),
    }
}
