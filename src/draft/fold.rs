//! Texts made comparable: small letters, no accents, no punctuation, cut into tokens.

/// Most characters of a text that are looked at: names and words of the trade are short.
const MOST_CHARS: usize = 120;

/// The tokens of a column's name: also cut between `fooBar` and between letters and digits.
pub fn name_tokens(text: &str) -> Vec<String> {
    cut(text, true)
}

/// The tokens of a word in a cell.
pub fn word_tokens(text: &str) -> Vec<String> {
    cut(text, false)
}

/// A word without anything between its letters: `n.i.O.` and `nio` are one.
pub fn squeezed(text: &str) -> String {
    word_tokens(text).concat()
}

/// The text with the umlauts written out (`ae` for `ä`), as programs without them do; none if
/// it has no umlaut.
pub fn spelled_out(text: &str) -> Option<String> {
    let out = text.replace(['ä', 'Ä'], "ae").replace(['ö', 'Ö'], "oe").replace(['ü', 'Ü'], "ue");
    (out != text).then_some(out)
}

/// Whether two folded texts are nearly the same: one less their Damerau-Levenshtein distance over
/// the longer length is at least `least`.
pub fn alike(one: &str, other: &str, least: f64) -> bool {
    let (short, long) = (one.len().min(other.len()), one.len().max(other.len()));
    // The distance is no smaller than the difference of lengths.
    short as f64 >= least * long as f64
        && strsim::normalized_damerau_levenshtein(one, other) >= least
}

fn cut(text: &str, inside_words: bool) -> Vec<String> {
    let mut tokens = vec![String::new()];
    let mut before: Option<char> = None;
    for c in text.chars().take(MOST_CHARS) {
        if is_mark(c) {
            continue;
        }
        if c == '#' && inside_words {
            tokens.extend(["no".to_owned(), String::new()]);
        }
        if !c.is_alphanumeric() || inside_words && before.is_some_and(|b| breaks(b, c)) {
            tokens.push(String::new());
        }
        if let Some(last) = tokens.last_mut().filter(|_| c.is_alphanumeric()) {
            c.to_lowercase().for_each(|small| fold(small, last));
        }
        before = Some(c);
    }
    tokens.retain(|token| !token.is_empty());
    tokens
}

/// Marks that stand over a letter (decomposed accents), and the raised letters of `Nº`.
fn is_mark(c: char) -> bool {
    matches!(c, '\u{300}'..='\u{36f}' | 'º' | 'ª' | '°')
}

fn breaks(before: char, c: char) -> bool {
    before.is_lowercase() && c.is_uppercase()
        || before.is_alphabetic() && c.is_numeric()
        || before.is_numeric() && c.is_alphabetic()
}

/// Appends a small letter without its accent.
fn fold(c: char, out: &mut String) {
    let plain = match c {
        'à'..='å' | 'ā' | 'ă' | 'ą' => "a",
        'ç' | 'ć' | 'ĉ' | 'ċ' | 'č' => "c",
        'ď' | 'đ' | 'ð' => "d",
        'è'..='ë' | 'ē' | 'ĕ' | 'ė' | 'ę' | 'ě' => "e",
        'ì'..='ï' | 'ĩ' | 'ī' | 'į' | 'ı' => "i",
        'ł' | 'ĺ' | 'ľ' => "l",
        'ñ' | 'ń' | 'ň' => "n",
        'ò'..='ö' | 'ø' | 'ō' | 'ő' => "o",
        'ř' | 'ŕ' => "r",
        'ś' | 'ş' | 'š' => "s",
        'ť' | 'ţ' => "t",
        'ù'..='ü' | 'ū' | 'ů' | 'ű' => "u",
        'ý' | 'ÿ' => "y",
        'ź' | 'ż' | 'ž' => "z",
        'ß' => "ss",
        'æ' => "ae",
        'œ' => "oe",
        other => return out.push(other),
    };
    out.push_str(plain);
}
