//! Known keys: which there are, which one was probably meant.

use super::nearest::unknown;
use super::place::{Place, Step};
use super::problems::Problems;
use super::sections::SECTIONS;

/// Reports the unknown key at `place`.
pub fn report(place: &Place, problems: &mut Problems) {
    if let Some((above, Step::Key(key))) = place.split() {
        problems.add(place, unknown("unknown key", key, &known_at(&above)));
    }
}

/// Keys of the table at `place`.
fn known_at(place: &Place) -> Vec<&'static str> {
    let keys: Vec<&str> = place
        .steps()
        .iter()
        .filter_map(|step| if let Step::Key(key) = step { Some(key.as_str()) } else { None })
        .collect();
    match SECTIONS.iter().find(|section| section.is_at(&keys)) {
        Some(section) => (section.keys)().iter().map(|key| key.key).collect(),
        None => SECTIONS.iter().filter(|one| one.path.len() == 1).map(|one| one.path[0]).collect(),
    }
}
