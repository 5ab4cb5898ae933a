//! What a form of `forms` is made of.

/// A piece of a composed text.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Piece {
    /// As it stands.
    Text(String),
    /// The cell of this export column.
    Column(String),
}

/// Texts and columns in braces; none where a brace has no other, or nothing stands in a pair.
pub fn pieces(form: &str) -> Option<Vec<Piece>> {
    let (mut pieces, mut rest) = (Vec::new(), form);
    while let Some(at) = rest.find(['{', '}']) {
        let (before, behind) = rest.split_at(at);
        if !before.is_empty() {
            pieces.push(Piece::Text(before.to_owned()));
        }
        let (column, after) = behind.strip_prefix('{')?.split_once('}')?;
        if column.is_empty() || column.contains('{') {
            return None;
        }
        pieces.push(Piece::Column(column.to_owned()));
        rest = after;
    }
    if !rest.is_empty() {
        pieces.push(Piece::Text(rest.to_owned()));
    }
    pieces.iter().any(|piece| matches!(piece, Piece::Column(_))).then_some(pieces)
}
