//! The settings file of the invented fleet, put together from one piece a shape.

use chrono::NaiveDate;

use super::lifecycle::Lifecycle;
use super::place::{Kind, Place, demo_names};
use super::shape::{ASSETS, DESK, shape};
use super::spoil::SECOND;

const HEAD: &str = include_str!("maps/head.toml");
const PURCHASE: &str = include_str!("maps/purchase.toml");
/// Proposals of numbered sites: one of each kind of effect.
pub const STANDARD: &str = include_str!("maps/standard.toml");
/// Site of the demo that a proposal names.
const PROPOSED_FOR: &str = "Pellorin";

/// The rule of names that makes small letters and blanks no difference.
const NAMES_RULE: &str = "names = { fold_case = true, marks = \"alike\" }";

/// The rule of names that makes small letters no difference.
const LETTERS_RULE: &str =
    "names = { fold_case = true }   # some of its matings are written in small letters";

/// Settings in which the source of the second site's matings has the rule of small letters.
pub fn with_letters_rule(settings: &str, places: &[Place]) -> String {
    let kind = places.get(SECOND).map_or(Kind::Plain, |place| place.kind);
    let source =
        if kind == Kind::South { "name = \"south-connections\"" } else { "name = \"matings\"" };
    let mut is_in = false;
    let mut text = String::new();
    for line in settings.split_inclusive('\n') {
        is_in |= line.starts_with(source);
        text += line;
        if is_in && line.starts_with("end_face_names") {
            text += &format!("{LETTERS_RULE}\n");
            is_in = false;
        }
    }
    text
}

/// Settings in which every source has the rule of names.
pub fn with_names_rule(settings: &str) -> String {
    let line = |line: &str| match line.starts_with("end_face_names") {
        true => format!("{line}{NAMES_RULE}\n"),
        false => line.to_owned(),
    };
    settings.split_inclusive('\n').map(line).collect()
}

/// The text of `fleet.toml` for these sites; the demo's names its operator's stages. Records run from `from` to `to`, both included.
pub fn settings(
    (places, stages): (&[Place], Option<&Lifecycle>),
    from: NaiveDate,
    to: NaiveDate,
) -> String {
    let demo = stages.is_some();
    let mut pieces = vec![head(places, stages, to)];
    if demo && places.iter().any(|place| place.name == PROPOSED_FOR) {
        pieces.push(PURCHASE.to_string());
    }
    let mut written: Vec<String> = Vec::new();
    for place in places {
        let shape = shape(place.kind);
        let folder = shape.folder.replace("{code}", &place.code.to_lowercase());
        if !written.contains(&folder) {
            let piece = shape.map.replace("{site}", &place.name).replace("{folder}", &folder);
            pieces.push(without_absent(&piece, places));
            written.push(folder);
        }
    }
    if demo && places.iter().any(|place| place.kind != Kind::Local) {
        pieces.extend([DESK.map.to_string(), ASSETS.map.to_string()]);
    }
    pieces.join("\n").replace("{from}", &from.to_string()).replace("{to}", &to.to_string())
}

/// A map without the words for sites that this fleet does not have: settings may not name them.
fn without_absent(map: &str, places: &[Place]) -> String {
    let absent: Vec<String> = demo_names()
        .filter(|name| !places.iter().any(|place| place.name == *name))
        .map(|name| format!(" = \"{name}\"\n"))
        .collect();
    let stands = |line: &&str| !absent.iter().any(|end| line.ends_with(end));
    map.split_inclusive('\n').filter(stands).collect()
}

fn head(places: &[Place], stages: Option<&Lifecycle>, to: NaiveDate) -> String {
    let as_of = to.checked_add_days(chrono::Days::new(5)).unwrap_or(to);
    let lines: Vec<String> = places.iter().map(|p| format!("    \"{}\",\n", p.name)).collect();
    let stages = stages.map(named).unwrap_or_default();
    HEAD.replace("{stages}", &stages)
        .replace("{sites}", &lines.concat())
        .replace("{as_of}", &as_of.to_string())
}

/// The section that names the operator's stages.
fn named(life: &Lifecycle) -> String {
    let words: Vec<String> = life.stages.iter().map(|s| format!("\"{}\"", s.word)).collect();
    let (all, dark) = (words.join(", "), words[..life.dark].join(", "));
    format!(
        "[stages]                     # in this operator's words, from the works to the line\n\
         order = [{all}]\n\
         dark = [{dark}]   # without light: no fault can be seen there\n\n"
    )
}
