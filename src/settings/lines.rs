//! The settings as a tree whose values know where in the text they stand.

use std::ops::Range;

use memchr::memchr_iter;
use toml_edit::{Document, Item, TomlError};

use super::place::{Place, Step};

/// The text of a settings file and its tree.
pub struct Lines<'t> {
    text: &'t str,
    /// Where its line ends stand, in order: every source and record asks for a line.
    ends: Vec<usize>,
    root: Item,
}

impl<'t> Lines<'t> {
    /// Parses the text.
    pub fn of(text: &'t str) -> Result<Self, TomlError> {
        let root = Document::parse(text)?.into_item();
        let ends = memchr_iter(b'\n', text.as_bytes()).collect();
        Ok(Self { text, ends, root })
    }

    /// The tree.
    pub fn root(&self) -> &Item {
        &self.root
    }

    /// The tree, to change it.
    pub fn root_mut(&mut self) -> &mut Item {
        &mut self.root
    }

    /// Line, from 1, of the value at `place`; where there is no such value, of the nearest one above.
    pub fn line_of(&self, place: &Place) -> usize {
        let mut item = &self.root;
        let mut start = 0;
        for step in place.steps() {
            let Some((span, next)) = follow(item, step) else {
                break;
            };
            start = span.map_or(start, |span| span.start);
            item = next;
        }
        self.ends.partition_point(|end| *end < start) + 1
    }

    /// The value written over exactly these bytes; of several, the deepest.
    pub fn find(&self, span: &Range<usize>) -> Option<Place> {
        find(&self.root, &Place::default(), span)
    }

    /// The value at `place`.
    pub fn item(&self, place: &Place) -> Option<&Item> {
        place.steps().iter().try_fold(&self.root, |item, step| Some(follow(item, step)?.1))
    }

    /// What is written at `place`, its first line, at most 40 characters.
    pub fn written(&self, place: &Place) -> &str {
        let span = self.item(place).and_then(Item::span).unwrap_or(0..0);
        let text = self.text.get(span).unwrap_or_default().lines().next().unwrap_or_default();
        let end = text.char_indices().nth(40).map_or(text.len(), |(at, _)| at);
        &text[..end]
    }

    /// Takes the value at `place` out of the tree, so that the rest can be looked at. The tree's
    /// positions then are those of what is left, and so are the places that `typed` yields.
    pub fn remove(&mut self, place: &Place) {
        let Some((above, last)) = place.split() else {
            return;
        };
        let holder = above.steps().iter().try_fold(&mut self.root, |item, step| match step {
            Step::Key(key) => item.get_mut(key.as_str()),
            Step::Index(index) => item.get_mut(*index),
        });
        match (holder, last) {
            (Some(item), Step::Key(key)) => {
                item.as_table_like_mut().and_then(|table| table.remove(key));
            }
            (Some(Item::ArrayOfTables(tables)), Step::Index(index)) => {
                tables.remove(*index);
            }
            (Some(item), Step::Index(index)) => {
                item.as_array_mut().map(|array| array.remove(*index));
            }
            (None, _) => {}
        }
    }
}

/// The next value down and the bytes by which to show it: those of its key, or its own in an array.
fn follow<'i>(item: &'i Item, step: &Step) -> Option<(Option<Range<usize>>, &'i Item)> {
    match step {
        Step::Key(key) => {
            let (key, next) = item.as_table_like()?.get_key_value(key)?;
            Some((key.span().or_else(|| next.span()), next))
        }
        Step::Index(index) => {
            let next = item.get(*index)?;
            Some((next.span(), next))
        }
    }
}

fn find(item: &Item, here: &Place, span: &Range<usize>) -> Option<Place> {
    children(item)
        .into_iter()
        .find_map(|(step, child)| find(child, &here.step(step), span))
        .or_else(|| (item.span().as_ref() == Some(span)).then(|| here.clone()))
}

fn children(item: &Item) -> Vec<(Step, &Item)> {
    if let Some(table) = item.as_table_like() {
        return table.iter().map(|(key, child)| (Step::Key(key.to_owned()), child)).collect();
    }
    (0..).map_while(|index| Some((Step::Index(index), item.get(index)?))).collect()
}

/// Line and column (in characters) of a byte, both from 1.
pub fn position(text: &str, byte: usize) -> (usize, usize) {
    let mut end = byte.min(text.len());
    while !text.is_char_boundary(end) {
        end += 1;
    }
    let before = &text[..end];
    let line_start = before.rfind('\n').map_or(0, |at| at + 1);
    let line = memchr_iter(b'\n', before.as_bytes()).count() + 1;
    (line, before[line_start..].chars().count() + 1)
}
