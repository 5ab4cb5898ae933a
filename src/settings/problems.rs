//! Collects what is wrong while the check goes on.

use super::error::Problem;
use super::lines::Lines;
use super::place::{Place, Step};

/// The problems of one settings file.
pub struct Problems<'t> {
    file: String,
    lines: Lines<'t>,
    /// Values of a wrong type, already reported and taken out: what follows from that is no news.
    mistyped: Vec<Place>,
    list: Vec<Problem>,
}

impl<'t> Problems<'t> {
    /// None so far in the file that messages call `file`.
    pub fn new(file: &str, lines: Lines<'t>) -> Self {
        Self { file: file.to_owned(), lines, mistyped: Vec::new(), list: Vec::new() }
    }

    /// The tree that is being checked.
    pub fn lines(&self) -> &Lines<'t> {
        &self.lines
    }

    /// Notes a problem at `place`, unless a wrong type there or above has been noted.
    pub fn add(&mut self, place: &Place, message: impl Into<String>) {
        if !self.is_mistyped(place) {
            self.note(place, message.into());
        }
    }

    /// Notes a value of a wrong type and takes it out of the tree.
    ///
    /// An array that loses its last element counts as mistyped itself: that it is empty is no fault
    /// of the user's.
    pub fn add_mistyped(&mut self, place: &Place, message: String) {
        self.note(place, message);
        self.lines.remove(place);
        match place.split() {
            Some((above, Step::Index(_))) => {
                if self.lines.item(&above.index(0)).is_none() {
                    self.mistyped.push(above);
                }
            }
            _ => self.mistyped.push(place.clone()),
        }
    }

    /// Whether a value was written at `place` or above it that had to be taken out.
    pub fn is_mistyped(&self, place: &Place) -> bool {
        self.mistyped.iter().any(|mistyped| place.is_within(mistyped))
    }

    /// Line of the value at `place`, from 1.
    pub fn line_of(&self, place: &Place) -> usize {
        self.lines.line_of(place)
    }

    /// Every problem, by line, then key, then message.
    pub fn into_sorted(mut self) -> Vec<Problem> {
        self.list.sort();
        self.list.dedup();
        self.list
    }

    fn note(&mut self, place: &Place, message: String) {
        self.list.push(Problem {
            line: self.lines.line_of(place),
            column: None,
            key: place.to_string(),
            message,
            file: self.file.clone(),
        });
    }
}
