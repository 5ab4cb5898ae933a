//! Tries the marks that a text may be cut by and takes the best.

use std::collections::BTreeMap;

use super::kind::Kind;
use super::score::{Scored, scored, worth};
use crate::settings::{LineEnd, Separator};
use crate::tabular::detect::LineEnds;
use crate::tabular::text::marks::{Cell, Marks};
use crate::tabular::text::mend::mended;
use crate::tabular::text::take::{Behind, take};

/// Bytes on which separators are tried.
const TRIED: usize = 64 * 1024;
/// Bytes on which quotes, escapes and line ends are compared.
const COMPARED: usize = 1 << 20;
/// Worth of reading lines as one column, of values and of text.
const ONE_OF_VALUES: f64 = 0.45;
const ONE_OF_TEXT: f64 = 0.25;

/// Separators of one byte. The first four need no more than one occurrence.
const BYTES: [u8; 17] = [
    b',', b';', b'\t', b'|', b' ', b':', b'^', b'~', b'!', b'#', b'*', b'=', b'&', b'$', 0x1F,
    0x1E, 0x01,
];
/// Separators of several characters.
const TEXTS: [&str; 17] = [
    ", ", "; ", " | ", "| ", " ; ", " , ", "||", "::", ";;", "~|~", "|~|", "#|#", "$$", "@@", "%%",
    "^^", "~~",
];

/// The marks found.
pub struct Found {
    pub best: Scored,
    /// The next best separator.
    pub second: Option<Scored>,
    /// The lines are read as one column.
    pub one_column: bool,
}

/// Finds the marks of a text. `given`: the separator, if the text itself names it.
pub fn search(text: &str, line_ends: LineEnds, given: Option<Separator>) -> Found {
    let ends = line_end_choices(line_ends);
    let beginning = up_to_line(text, TRIED);
    let mut tried: Vec<Scored> = Vec::new();
    for separator in given.map_or_else(|| separators(beginning), |given| vec![given]) {
        for quote in quotes(beginning, &separator) {
            let marks = Marks {
                separator: separator.clone(),
                quote: Some(quote),
                escape: escape_of(beginning, quote, &separator),
                line_end: *ends.last().unwrap_or(&LineEnd::Lf),
            };
            tried.push(scored(beginning, marks));
        }
    }
    // Stable: of equals the first one, which is the more usual one.
    tried.sort_by(|a, b| b.score.total_cmp(&a.score));
    let first = tried.first().cloned();
    let second = tried.into_iter().find(|other| {
        first.as_ref().is_some_and(|first| first.marks.separator != other.marks.separator)
    });
    let alone = one_column(beginning, &ends);
    match first {
        Some(first) if first.score >= alone.score && first.width > 1 => {
            let best = refined(up_to_line(text, COMPARED), &first, &ends);
            Found { best, second, one_column: false }
        }
        other => {
            let second = other.filter(|other| other.width > 1);
            let best = refined(up_to_line(text, COMPARED), &alone, &ends);
            Found { best, second, one_column: true }
        }
    }
}

/// The text up to a line end near `most` bytes; all of it if it is shorter.
fn up_to_line(text: &str, most: usize) -> &str {
    if text.len() <= most {
        return text;
    }
    let bytes = &text.as_bytes()[..most];
    let end = memchr::memrchr2(b'\n', b'\r', bytes).map_or(0, |at| at + 1);
    let end = if end > 0 {
        end
    } else {
        (0..=most).rev().find(|at| text.is_char_boundary(*at)).unwrap_or(0)
    };
    &text[..end]
}

/// The kinds of line end to try, the simplest first.
fn line_end_choices(ends: LineEnds) -> Vec<LineEnd> {
    match (ends.cr, ends.lf + ends.crlf) {
        (0, _) => vec![LineEnd::Lf],
        (_, 0) => vec![LineEnd::Cr],
        (cr, lf) if cr > lf => vec![LineEnd::Cr, LineEnd::Any],
        _ => vec![LineEnd::Lf, LineEnd::Any],
    }
}

/// Separators that occur often enough to be tried.
fn separators(text: &str) -> Vec<Separator> {
    let lines = text.lines().filter(|line| !line.trim().is_empty()).count().max(1);
    let mut counts = [0_usize; 256];
    text.bytes().for_each(|byte| counts[usize::from(byte)] += 1);
    let least = |place: usize| if place < 4 { 1 } else { lines.div_ceil(2) };
    let bytes = BYTES.iter().enumerate();
    let mut found: Vec<Separator> = bytes
        .filter(|(place, byte)| counts[usize::from(**byte)] >= least(*place))
        .map(|(_, byte)| Separator::Byte(*byte))
        .collect();
    let texts = TEXTS.iter().filter(|text_| text.matches(**text_).count() >= lines.div_ceil(2));
    found.extend(texts.map(|text| Separator::Text((*text).into())));
    if text.contains("  ") {
        found.push(Separator::Blanks);
    }
    found.extend(beyond_ascii(text, lines));
    found
}

/// Signs beyond ASCII that occur in at least every other line.
fn beyond_ascii(text: &str, lines: usize) -> Vec<Separator> {
    let mut counts: Vec<(char, usize)> = Vec::new();
    let signs = text.chars().filter(|c| !c.is_ascii() && !c.is_alphanumeric() && *c != '\u{FFFD}');
    for sign in signs {
        let room = counts.len() < 64;
        match counts.iter_mut().find(|(known, _)| *known == sign) {
            Some((_, count)) => *count += 1,
            None if room => counts.push((sign, 1)),
            None => {}
        }
    }
    let often = counts.into_iter().filter(|(_, count)| *count >= lines.div_ceil(2));
    often.map(|(sign, _)| Separator::Text(sign.to_string().into())).collect()
}

/// Quotes to try: the double one, and the single one where a cell begins with it.
fn quotes(text: &str, separator: &Separator) -> Vec<u8> {
    let (before, sign) = match separator {
        Separator::Byte(byte) => (vec![*byte], ""),
        Separator::Text(text) => (Vec::new(), &**text),
        Separator::Blanks => (vec![b' ', b'\t'], ""),
    };
    let bytes = text.as_bytes();
    let begins = memchr::memchr_iter(b'\'', bytes).any(|at| {
        let front = text[..at].trim_end_matches(' ');
        let last = front.as_bytes().last();
        at == 0
            || !sign.is_empty() && (text[..at].ends_with(sign) || front.ends_with(sign))
            || last.is_none_or(|last| before.contains(last) || b"\r\n".contains(last))
            || before.contains(&bytes[at - 1])
    });
    if begins { vec![b'"', b'\''] } else { vec![b'"'] }
}

/// The backslash, if it stands before a quote or a separator.
fn escape_of(text: &str, quote: u8, separator: &Separator) -> Option<u8> {
    let before = |sign: u8| text.as_bytes().windows(2).any(|pair| *pair == [b'\\', sign]);
    let separator = match separator {
        Separator::Byte(byte) => before(*byte),
        _ => false,
    };
    (separator || before(quote)).then_some(b'\\')
}

/// The reading of a text as one column.
fn one_column(text: &str, ends: &[LineEnd]) -> Scored {
    let unused = |byte: &&u8| !text.as_bytes().contains(byte);
    let separator =
        [b',', b';', b'\t', b'|', 0x1F, 0x1E].iter().find(unused).copied().unwrap_or(0x1F);
    let marks = Marks {
        separator: Separator::Byte(separator),
        quote: Some(b'"'),
        escape: None,
        line_end: *ends.last().unwrap_or(&LineEnd::Lf),
    };
    let split = |c: char| c == '\n' || c == '\r';
    let lines: Vec<&str> =
        text.split(split).map(str::trim).filter(|line| !line.is_empty()).take(300).collect();
    // The first line may be a name.
    let values = lines.iter().skip(usize::from(lines.len() > 1));
    let strict = values.clone().filter(|line| Kind::of(line.as_bytes()).is_strict()).count();
    let most = if strict * 10 >= values.len() * 9 { ONE_OF_VALUES } else { ONE_OF_TEXT };
    let known: f64 =
        lines.iter().map(|line| worth_of_line(line)).sum::<f64>() / lines.len().max(1) as f64;
    Scored { marks, score: most * known, width: 1 }
}

/// How sure it is that a line is one whole cell: a comma with a blank behind it is prose.
fn worth_of_line(line: &str) -> f64 {
    let prose = line.replace(", ", " ");
    let worth = worth(Kind::of(prose.as_bytes()), prose.as_bytes());
    if prose.contains(',') { worth / 2.0 } else { worth }
}

/// The same marks with the line end, escape and quote under which the fewest rows are no rows.
fn refined(text: &str, found: &Scored, ends: &[LineEnd]) -> Scored {
    let mut best = Marks {
        line_end: ends.first().copied().unwrap_or(LineEnd::Lf),
        escape: None,
        ..found.marks.clone()
    };
    let mut least = misfits(text, &best);
    let mut take_if_better = |marks: Marks| {
        let count = misfits(text, &marks);
        if count.rows < least.rows {
            (best, least) = (marks, count);
        }
    };
    let escapes = if text.contains('\\') { &[None, Some(b'\\')][..] } else { &[None] };
    for line_end in ends {
        for escape in escapes {
            take_if_better(Marks { line_end: *line_end, escape: *escape, ..found.marks.clone() });
        }
    }
    // More cells that no quote closes than such as stand in quotes: the quotes are text.
    if least.faulty > least.quoted {
        for escape in escapes {
            let bare = Marks { quote: None, escape: *escape, ..best.clone() };
            let count = misfits(text, &bare);
            let real = 2 * wrapped(text, &bare, best.quote) > least.faulty;
            if !real && count.rows < least.rows && count.rows <= least.hopeless {
                (best, least) = (bare, count);
            }
        }
    }
    Scored { marks: best, score: found.score, width: least.width }
}

/// Cells that begin and end with a quote.
fn wrapped(text: &str, bare: &Marks, quote: Option<u8>) -> usize {
    let mut count = 0;
    each_row(text, bare, |row, cells, _| {
        let both = |cell: &&Cell| {
            let text = row[cell.start..cell.end].trim_ascii();
            text.len() > 1 && text.first() == quote.as_ref() && text.last() == quote.as_ref()
        };
        count += cells.iter().filter(both).count();
    });
    count
}

/// Rows that are not cut as they should be.
#[derive(Clone, Copy, Default)]
struct Misfits {
    /// Cells of most rows.
    width: usize,
    rows: usize,
    faulty: usize,
    /// Rows that do not even fit when mended.
    hopeless: usize,
    /// Cells that stand in quotes.
    quoted: usize,
}

fn misfits(text: &str, marks: &Marks) -> Misfits {
    let mut found = Misfits::default();
    let mut widths: BTreeMap<usize, usize> = BTreeMap::new();
    let mut faulty = Vec::new();
    each_row(text, marks, |row, cells, fault| {
        if fault {
            found.faulty += 1;
            faulty.push(row);
        } else if !row.trim_ascii().is_empty() {
            *widths.entry(cells.len()).or_default() += 1;
            let quoted = |cell: &&Cell| cell.start > 0 && marks.quote == Some(row[cell.start - 1]);
            found.quoted += cells.iter().filter(quoted).count();
        }
    });
    let most = widths.iter().max_by_key(|(width, rows)| (**rows, **width));
    let (width, fitting) = most.map_or((1, 0), |(width, rows)| (*width, *rows));
    let uneven = widths.values().sum::<usize>() - fitting;
    let lost = faulty.iter().filter(|row| mended(row, marks, width).len() != width).count();
    Misfits { width, rows: found.faulty + uneven, hopeless: lost + uneven, ..found }
}

/// Shows every row: its bytes, its cells and whether it is faulty.
fn each_row<'a>(text: &'a str, marks: &Marks, mut see: impl FnMut(&'a [u8], &[Cell], bool)) {
    let bytes = text.as_bytes();
    let (mut at, mut cells) = (0, Vec::new());
    while at < bytes.len() {
        let Some(taken) = take(&bytes[at..], Behind::Nothing, marks, &mut cells) else { break };
        see(&bytes[at..at + taken.end], &cells, taken.fault.is_some());
        at += taken.next;
    }
}
