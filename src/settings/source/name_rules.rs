//! What of the spelling of an end-face name is no difference (R8).

use regex::{Regex, RegexBuilder};

/// Most bytes that a compiled pattern may take.
const PATTERN_BYTES: usize = 1 << 20;

/// Rules that act on the written form of a source's end-face names, in the order of the fields. By default a name
/// is what is written, to the letter.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct NameRules {
    /// File of two columns, relative to the settings' folder, that gives names another spelling.
    pub aliases: Option<String>,
    /// A shape of names, and the form to write such names in.
    pub pattern: Option<NamePattern>,
    /// Capital and small letters are alike.
    pub fold_case: bool,
    /// Zeros before another digit of a number are left out.
    pub drop_zeros: bool,
    /// What blanks and `- _ / . :` count as.
    pub marks: Marks,
}

/// What becomes of blanks and `- _ / . :` in names.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Marks {
    /// Each counts as what it is.
    #[default]
    Kept,
    /// All are one mark, and several in a row are one.
    Alike,
    /// None counts.
    Dropped,
}

/// A regular expression for whole names, with the form that its groups are written in.
#[derive(Clone, Debug)]
pub struct NamePattern {
    regex: Regex,
    form: Vec<Piece>,
}

/// A piece of a form.
#[derive(Clone, Debug, PartialEq, Eq)]
enum Piece {
    Text(String),
    /// A group of the pattern, by its number.
    Group(usize),
}

/// What is wrong with a pattern or a form.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum PatternFault {
    /// No regular expression; why, in a line.
    Pattern(String),
    /// A pattern without a named group.
    NoGroup,
    /// A brace of the form that nothing closes or opens.
    Brace,
    /// A group that the pattern does not have, and those that it has.
    NoSuchGroup(String, Vec<String>),
}

impl NameRules {
    /// Whether a name is what is written, to the letter.
    pub fn are_none(&self) -> bool {
        let NameRules { aliases, pattern, fold_case, drop_zeros, marks } = self;
        aliases.is_none() && pattern.is_none() && !fold_case && !drop_zeros && *marks == Marks::Kept
    }
}

impl PartialEq for NamePattern {
    fn eq(&self, other: &Self) -> bool {
        self.regex.as_str() == other.regex.as_str() && self.form == other.form
    }
}

impl NamePattern {
    /// A pattern with named groups, `(?<rack>\d+)`, that a whole name must fit, and a form that names them in braces:
    /// `{rack}-{port}`.
    ///
    /// # Errors
    /// The first thing that is wrong with either.
    pub fn of(pattern: &str, form: &str) -> Result<NamePattern, PatternFault> {
        let whole = format!("^(?:{pattern})$");
        let built = RegexBuilder::new(&whole).size_limit(PATTERN_BYTES).build();
        // The error of the pattern as typed: its places are those that the user counts.
        let regex = built.map_err(|error| {
            let typed = Regex::new(pattern).err().unwrap_or(error);
            let text = typed.to_string();
            let last = text.lines().last().unwrap_or_default();
            PatternFault::Pattern(last.trim_start_matches("error: ").to_owned())
        })?;
        let groups: Vec<Option<&str>> = regex.capture_names().collect();
        if groups.iter().flatten().next().is_none() {
            return Err(PatternFault::NoGroup);
        }
        let form = pieces(form, &groups)?;
        Ok(NamePattern { regex, form })
    }

    /// The name in the form; none where it does not fit the pattern.
    pub fn written(&self, name: &str) -> Option<String> {
        let found = self.regex.captures(name)?;
        let mut text = String::new();
        for piece in &self.form {
            match piece {
                Piece::Text(piece) => text.push_str(piece),
                Piece::Group(group) => {
                    text.push_str(found.get(*group).map_or("", |group| group.as_str()))
                }
            }
        }
        Some(text)
    }
}

fn pieces(form: &str, groups: &[Option<&str>]) -> Result<Vec<Piece>, PatternFault> {
    let mut pieces = Vec::new();
    let mut rest = form;
    while let Some((text, behind)) = rest.split_once('{') {
        let (name, after) = behind.split_once('}').ok_or(PatternFault::Brace)?;
        let group = groups.iter().position(|group| *group == Some(name)).ok_or_else(|| {
            let known = groups.iter().flatten().map(|group| (*group).to_owned()).collect();
            PatternFault::NoSuchGroup(name.to_owned(), known)
        })?;
        pieces.push(Piece::Text(text.to_owned()));
        pieces.push(Piece::Group(group));
        rest = after;
    }
    pieces.push(Piece::Text(rest.to_owned()));
    let stray = |piece: &Piece| matches!(piece, Piece::Text(text) if text.contains('}'));
    if pieces.iter().any(stray) { Err(PatternFault::Brace) } else { Ok(pieces) }
}
