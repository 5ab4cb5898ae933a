//! Names of months in eight languages: English, German, French, Spanish, Italian, Dutch, Polish,
//! Portuguese.
//!
//! One list for all of them, since no short name means two months in two of these languages; the
//! French "jui", which could be either of two, is left out. Polish names stand in the nominative
//! and in the genitive that dates use; accented names also stand without their accents, as
//! keyboards without them write. Names from the Unicode Common Locale Data Repository's calendar
//! data and from everyday abbreviations [from memory].

/// Longest name, bytes.
const LONGEST: usize = 14;

/// The month, 1 to 12, of a name, short or long, in small or capital letters. None for others.
pub fn month_of(name: &str) -> Option<i64> {
    let (month, length) = leading_month(name.as_bytes())?;
    (length == name.len()).then_some(month)
}

/// The month of the longest name that a text begins with, and that name's bytes.
pub fn leading_month(text: &[u8]) -> Option<(i64, usize)> {
    if let [a, b, c, rest @ ..] = text
        && [a, b, c].iter().all(|letter| letter.is_ascii_alphabetic())
        && rest.first().is_none_or(|next| next.is_ascii() && !next.is_ascii_alphabetic())
    {
        let month = SHORT_NAMES[place([*a, *b, *c])];
        return (month > 0).then_some((i64::from(month), 3));
    }
    any_leading_month(text)
}

fn any_leading_month(text: &[u8]) -> Option<(i64, usize)> {
    let begin = text.get(..LONGEST).unwrap_or(text).utf8_chunks().next()?.valid();
    let (mut small, mut length) = ([0; LONGEST], 0);
    // Where each letter ends: a name ends at one of these places.
    let (mut ends, mut letters) = ([0; LONGEST], 0);
    for letter in begin.chars().map_while(small_letter) {
        let written = letter.len_utf8();
        letter.encode_utf8(small.get_mut(length..length + written)?);
        length += written;
        ends[letters] = length;
        letters += 1;
    }
    let known = |end: usize| {
        let at = MONTH_NAMES.binary_search_by(|(name, _)| name.as_bytes().cmp(&small[..end]));
        at.ok().map(|at| (MONTH_NAMES[at].1, end))
    };
    ends[..letters].iter().rev().find_map(|end| known(*end))
}

/// The small form of a letter if it takes as many bytes, as all letters of the names do. None for
/// what is no letter.
fn small_letter(letter: char) -> Option<char> {
    if letter.is_ascii() {
        return letter.is_ascii_alphabetic().then(|| letter.to_ascii_lowercase());
    }
    let mut small = letter.to_lowercase();
    let first = small.next().filter(|first| first.is_alphabetic())?;
    (small.next().is_none() && first.len_utf8() == letter.len_utf8()).then_some(first)
}

/// Months of the names of three ASCII letters, each at its [`place`]; 0 where no name is. Nearly all
/// exports write such names, and a search of the list for every row would take ten times as long as
/// the rest of a date.
static SHORT_NAMES: [u8; 1 << 15] = {
    let mut months = [0; 1 << 15];
    let mut at = 0;
    while at < MONTH_NAMES.len() {
        let (name, month) = MONTH_NAMES[at];
        if let [a, b, c] = *name.as_bytes() {
            months[place([a, b, c])] = month as u8;
        }
        at += 1;
    }
    months
};

/// Five bits a letter, which small and capital ASCII letters have alike.
const fn place([a, b, c]: [u8; 3]) -> usize {
    ((a & 31) as usize) << 10 | ((b & 31) as usize) << 5 | (c & 31) as usize
}

/// Each name in small letters with its month, 1 to 12; in the order of their bytes.
pub static MONTH_NAMES: [(&str, i64); 161] = [
    ("abr", 4),
    ("abril", 4),
    ("ago", 8),
    ("agosto", 8),
    ("aou", 8),
    ("aout", 8),
    ("aoû", 8),
    ("août", 8),
    ("apr", 4),
    ("april", 4),
    ("aprile", 4),
    ("aug", 8),
    ("august", 8),
    ("augustus", 8),
    ("avr", 4),
    ("avril", 4),
    ("cze", 6),
    ("czerwca", 6),
    ("czerwiec", 6),
    ("dec", 12),
    ("december", 12),
    ("decembre", 12),
    ("dez", 12),
    ("dezember", 12),
    ("dezembro", 12),
    ("dic", 12),
    ("dicembre", 12),
    ("diciembre", 12),
    ("déc", 12),
    ("décembre", 12),
    ("ene", 1),
    ("enero", 1),
    ("feb", 2),
    ("febbr", 2),
    ("febbraio", 2),
    ("feber", 2),
    ("febrero", 2),
    ("februar", 2),
    ("februari", 2),
    ("february", 2),
    ("fev", 2),
    ("fevereiro", 2),
    ("fevr", 2),
    ("fevrier", 2),
    ("fév", 2),
    ("févr", 2),
    ("février", 2),
    ("gen", 1),
    ("gennaio", 1),
    ("giu", 6),
    ("giugno", 6),
    ("gru", 12),
    ("grudnia", 12),
    ("grudzien", 12),
    ("grudzień", 12),
    ("jan", 1),
    ("janeiro", 1),
    ("januar", 1),
    ("januari", 1),
    ("january", 1),
    ("janv", 1),
    ("janvier", 1),
    ("juil", 7),
    ("juillet", 7),
    ("juin", 6),
    ("jul", 7),
    ("julho", 7),
    ("juli", 7),
    ("julio", 7),
    ("july", 7),
    ("jun", 6),
    ("june", 6),
    ("junho", 6),
    ("juni", 6),
    ("junio", 6),
    ("jän", 1),
    ("jänner", 1),
    ("kwi", 4),
    ("kwiecien", 4),
    ("kwiecień", 4),
    ("kwietnia", 4),
    ("lip", 7),
    ("lipca", 7),
    ("lipiec", 7),
    ("lis", 11),
    ("listopad", 11),
    ("listopada", 11),
    ("lug", 7),
    ("luglio", 7),
    ("lut", 2),
    ("lutego", 2),
    ("luty", 2),
    ("maa", 3),
    ("maart", 3),
    ("maerz", 3),
    ("mag", 5),
    ("magg", 5),
    ("maggio", 5),
    ("mai", 5),
    ("maio", 5),
    ("maj", 5),
    ("maja", 5),
    ("mar", 3),
    ("marca", 3),
    ("march", 3),
    ("marco", 3),
    ("mars", 3),
    ("marzec", 3),
    ("marzo", 3),
    ("março", 3),
    ("may", 5),
    ("mayo", 5),
    ("mei", 5),
    ("mrt", 3),
    ("mrz", 3),
    ("mär", 3),
    ("märz", 3),
    ("nov", 11),
    ("november", 11),
    ("novembre", 11),
    ("novembro", 11),
    ("noviembre", 11),
    ("oct", 10),
    ("october", 10),
    ("octobre", 10),
    ("octubre", 10),
    ("okt", 10),
    ("oktober", 10),
    ("ott", 10),
    ("ottobre", 10),
    ("out", 10),
    ("outubro", 10),
    ("paz", 10),
    ("pazdziernik", 10),
    ("pazdziernika", 10),
    ("paź", 10),
    ("październik", 10),
    ("października", 10),
    ("sep", 9),
    ("sept", 9),
    ("september", 9),
    ("septembre", 9),
    ("septiembre", 9),
    ("set", 9),
    ("setembro", 9),
    ("setiembre", 9),
    ("sett", 9),
    ("settembre", 9),
    ("sie", 8),
    ("sierpien", 8),
    ("sierpień", 8),
    ("sierpnia", 8),
    ("sty", 1),
    ("styczen", 1),
    ("styczeń", 1),
    ("stycznia", 1),
    ("wrz", 9),
    ("wrzesien", 9),
    ("wrzesień", 9),
    ("wrzesnia", 9),
    ("września", 9),
];
