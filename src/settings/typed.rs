//! The tree as what each section is typed as, whatever is wrong with single values.
//!
//! A value of a wrong type is noted and taken out, and the rest is tried again, so that one run
//! tells of every such value. Keys that no type reads are noted too.

use serde::Deserialize;
use serde::de::IntoDeserializer;
use serde_ignored::Path;
use toml_edit::{DocumentMut, Item, Table};

use super::action::TypedAction;
use super::codes::TypedCodes;
use super::costs::TypedCosts;
use super::fleet::TypedFleet;
use super::keys;
use super::looks::TypedLooks;
use super::place::{Place, Step};
use super::problems::Problems;
use super::proposal::{TypedBudget, TypedProposal};
use super::rules::TypedRules;
use super::source::TypedSource;
use super::stages::TypedStages;

/// Most values of a wrong type that are told of in one run: each costs a round over the whole tree.
const MOST_MISTYPED: usize = 100;

/// The whole file as typed; nothing understood yet.
#[derive(Debug, Default, Deserialize)]
pub struct Settings {
    /// `[fleet]`
    pub fleet: Option<TypedFleet>,
    /// `[rules]`
    pub rules: Option<TypedRules>,
    /// `[stages]`
    pub stages: Option<TypedStages>,
    /// `[codes]`
    pub codes: Option<TypedCodes>,
    /// `[costs]`
    pub costs: Option<TypedCosts>,
    /// `[[source]]`
    pub source: Option<Vec<TypedSource>>,
    /// `[[proposal]]`
    pub proposal: Option<Vec<TypedProposal>>,
    /// `[budget]`
    pub budget: Option<TypedBudget>,
    /// `[[action]]`
    pub action: Option<Vec<TypedAction>>,
    /// `[looks]`
    pub looks: Option<TypedLooks>,
}

/// What was typed, as far as its types fit. Ends, because each round takes a value out.
pub fn typed(problems: &mut Problems) -> Settings {
    for _ in 0..MOST_MISTYPED {
        let root = problems.lines().root().as_table().cloned().unwrap_or_default();
        let mut unread = Vec::new();
        match deserialize(root, &mut unread) {
            Ok(settings) => {
                unread.iter().for_each(|place| keys::report(place, problems));
                return settings;
            }
            Err(error) => {
                let found = error.span().and_then(|span| problems.lines().find(&span));
                let Some(place) = found.filter(|place| !place.steps().is_empty()) else {
                    problems.add(&Place::default(), expected(error.message()));
                    return Settings::default();
                };
                let message = mistyped(&place, error.message(), problems);
                problems.add_mistyped(&place, message);
            }
        }
    }
    // What else is wrong cannot be told from what was taken out.
    let more = format!("stopped after {MOST_MISTYPED} values of a wrong type; correct these first");
    problems.add_mistyped(&Place::default(), more);
    Settings::default()
}

fn deserialize(root: Table, unread: &mut Vec<Place>) -> Result<Settings, toml_edit::de::Error> {
    let deserializer = DocumentMut::from(root).into_deserializer();
    serde_ignored::deserialize(deserializer, |path| unread.push(place(&path)))
}

fn place(path: &Path) -> Place {
    match path {
        Path::Root => Place::default(),
        Path::Seq { parent, index } => place(parent).index(*index),
        Path::Map { parent, key } => place(parent).key(key),
        Path::Some { parent }
        | Path::NewtypeStruct { parent }
        | Path::NewtypeVariant { parent } => place(parent),
    }
}

/// What was found where another type was expected, and what to do if that is known.
fn mistyped(place: &Place, message: &str, problems: &Problems) -> String {
    let lines = problems.lines();
    let kind = lines.item(place).map_or("nothing", Item::type_name);
    let found = match kind {
        "string" | "integer" | "float" | "boolean" | "datetime" => {
            format!("{kind} {}", lines.written(place))
        }
        _ => kind.to_owned(),
    };
    let expected = expected(message);
    let hint = match (kind, place.steps().last()) {
        ("table", Some(Step::Key(_))) if expected == "an array" => format!("; write `[[{place}]]`"),
        _ => String::new(),
    };
    format!("found {found}, expected {expected}{hint}")
}

/// The end of a type error in the words of the file's user.
fn expected(message: &str) -> String {
    let wanted = message.split_once(", expected ").map_or(message, |(_, wanted)| wanted).trim_end();
    match wanted {
        "i64" => "a whole number".to_owned(),
        "f64" => "a number".to_owned(),
        "a boolean" => "true or false".to_owned(),
        "a sequence" => "an array".to_owned(),
        "a map" => "a table".to_owned(),
        wanted if wanted.starts_with("struct ") => "a table".to_owned(),
        wanted => wanted.to_owned(),
    }
}
