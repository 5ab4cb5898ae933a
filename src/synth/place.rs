//! The invented sites: their names, the shape of their exports and their habits.

use super::event::Method;

/// How the exports of a site are shaped; see `shape`.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Kind {
    /// The works: comma, ISO times in UTC, gzip.
    Works,
    /// Tab, month first, twelve-hour clock, gzip, western time zone.
    South,
    /// Semicolon, day first, German headings, windows-1252.
    West,
    /// One action log with looks, cleanings and matings.
    Log,
    /// A spreadsheet with "cleaned first" beside the result; matings by the day.
    Sheet,
    /// Names of its own, one for both sides of an adapter; its own fault log.
    Local,
    /// One plain shape for everything, for large fleets.
    Plain,
}

/// One site.
#[derive(Clone, Debug)]
pub struct Place {
    /// Name as in the settings.
    pub name: String,
    /// Short form in record ids and names of end faces.
    pub code: String,
    /// Shape of its exports.
    pub kind: Kind,
    /// Added to the probability of skipping a look before mating.
    pub skip: f64,
    /// Weights of the methods dry, wet-dry, wet, non-contact.
    pub methods: [f64; 4],
    /// Share of dematings that are written down.
    pub demating_recorded: f64,
    /// Connections against those of an ordinary site.
    pub size: f64,
}

impl Place {
    /// Whether its matings are known only to the day.
    pub fn by_day(&self) -> bool {
        self.kind == Kind::Sheet
    }

    /// Whether a cleaning can be exported without a look after it.
    pub fn lone_cleanings(&self) -> bool {
        self.kind != Kind::Sheet
    }
}

/// Name, code, shape, skip, methods, dematings recorded, size.
type Row = (&'static str, &'static str, Kind, f64, [f64; 4], f64, f64);

const DEMO: [Row; 10] = [
    ("Central Works", "CW", Kind::Works, -0.1, [5.0, 3.0, 0.0, 2.0], 1.0, 0.0),
    ("Quillmere", "QM", Kind::South, -0.08, [6.0, 3.0, 1.0, 0.0], 0.95, 1.0),
    ("Hollowick", "HW", Kind::South, 0.1, [4.0, 4.0, 2.0, 0.0], 0.95, 0.9),
    ("Velbrück", "VB", Kind::West, 0.0, [3.0, 6.0, 1.0, 0.0], 0.6, 1.1),
    ("Kaltrein", "KR", Kind::West, 0.05, [5.0, 3.0, 2.0, 0.0], 0.6, 0.8),
    ("Grünhag", "GH", Kind::West, -0.05, [4.0, 5.0, 1.0, 0.0], 0.6, 0.7),
    ("Sandrelle", "SR", Kind::Log, 0.0, [7.0, 2.0, 1.0, 0.0], 0.9, 1.2),
    ("Pellorin", "PL", Kind::Log, 0.2, [5.0, 3.0, 2.0, 0.0], 0.9, 1.8),
    ("Thornmoor", "TM", Kind::Sheet, 0.05, [4.0, 4.0, 0.0, 2.0], 0.8, 0.8),
    ("Wyndrake", "WD", Kind::Local, 0.0, [5.0, 4.0, 1.0, 0.0], 0.9, 0.7),
];

/// The sites of a recipe: those of the demo, at most ten, or numbered ones of one plain shape.
pub fn places(sites: usize, demo: bool) -> Vec<Place> {
    if demo {
        DEMO[..sites].iter().map(demo_place).collect()
    } else {
        (0..sites).map(numbered_place).collect()
    }
}

/// Names of the demo's sites.
pub fn demo_names() -> impl Iterator<Item = &'static str> {
    DEMO.iter().map(|(name, ..)| *name)
}

/// Whether a number of sites is drawn with the demo's places.
pub fn is_demo(sites: usize) -> bool {
    sites <= DEMO.len()
}

fn demo_place(&(name, code, kind, skip, methods, demating_recorded, size): &Row) -> Place {
    Place {
        name: name.to_string(),
        code: code.to_string(),
        kind,
        skip,
        methods,
        demating_recorded,
        size,
    }
}

fn numbered_place(index: usize) -> Place {
    Place {
        name: format!("Site {:04}", index + 1),
        code: format!("S{:04}", index + 1),
        kind: Kind::Plain,
        skip: [-0.08, 0.0, 0.1, 0.05][index % 4],
        methods: [5.0, 3.0, 1.0, 1.0],
        demating_recorded: 0.9,
        size: 1.0,
    }
}

/// Invented people; a site has four of them.
const PEOPLE: [&str; 24] = [
    "Ada Lorne",
    "Bertil Oswin",
    "Carla Venn",
    "Dario Muhl",
    "Edda Tarrow",
    "Fenn Abelin",
    "Greta Solk",
    "Hanno Pryde",
    "Ilka Dorran",
    "Jory Wessel",
    "Kaja Brenn",
    "Lutz Amery",
    "Mira Osk",
    "Nils Torvane",
    "Olea Finch",
    "Pavo Ristel",
    "Quin Harrow",
    "Runa Delft",
    "Sven Ackroyd",
    "Tilda Mearn",
    "Uwe Lindqvar",
    "Vera Stolt",
    "Wim Karsten",
    "Yara Nolde",
];

/// The person with a number below 4 at a site.
pub fn person(site: usize, number: u8) -> &'static str {
    PEOPLE[(site * 5 + usize::from(number)) % PEOPLE.len()]
}

/// Method by its position in [`Place::methods`].
pub fn method(index: usize) -> Method {
    [Method::Dry, Method::WetDry, Method::Wet, Method::NonContact][index.min(3)]
}
