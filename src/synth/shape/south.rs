//! Two depots: tabs, month first, a twelve-hour clock, western time, gzip.

use super::sheet_plan::Field::*;
use super::sheet_plan::{Every, Holds, PLAIN, Shape, Sheet};

/// Two depots: tabs, month first, a twelve-hour clock, western time, gzip.
pub const SHAPE: Shape = Shape {
    folder: "south",
    ending: "txt.gz",
    separator: b'\t',
    carriage_return: true,
    zone: chrono_tz::Europe::Lisbon,
    sheets: &[
        Sheet {
            name: "checks",
            holds: Holds::Looks,
            every: Every::Quarter,
            columns: &[
                ("Check", Record),
                ("Depot", Site),
                ("When", At("%m/%d/%Y %I:%M %p")),
                ("End face", Face),
                ("Activity", Stage),
                ("Verdict", Outcome),
                ("Reason", Finding),
                ("Ring", Zone),
                ("Capped on arrival", Capped),
                ("By", Person),
                ("Job", Order),
                ("Then", Disposition),
            ],
        },
        Sheet {
            name: "cleans",
            holds: Holds::Cleanings,
            every: Every::HalfYear,
            columns: &[
                ("Clean", Record),
                ("Depot", Site),
                ("When", At("%m/%d/%Y %I:%M %p")),
                ("End face", Face),
                ("Activity", Stage),
                ("How", Method),
                ("Tool", Tool),
                ("By", Person),
                ("Job", Order),
            ],
        },
        Sheet {
            name: "connections",
            holds: Holds::Matings,
            every: Every::HalfYear,
            columns: &[
                ("Connection", Record),
                ("Depot", Site),
                ("Made", At("%m/%d/%Y %I:%M %p")),
                ("Broken", Until("%m/%d/%Y %I:%M %p")),
                ("End face A", Face),
                ("End face B", Partner),
                ("Activity", Stage),
                ("By", Person),
                ("Job", Order),
                ("Circuit", Service),
            ],
        },
    ],
    words: &[
        ("Quillmere", "QM"),
        ("Hollowick", "HW"),
        ("pass", "clean"),
        ("fail", "not clean"),
        ("unreadable", "no picture"),
        ("contamination", "dirt"),
        ("yes", "Y"),
        ("no", "N"),
        ("depot-stores", "goods in"),
        ("lineside-fitting", "fitting"),
        ("line-upkeep", "upkeep"),
        ("wet-dry", "wet then dry"),
    ],
    map: include_str!("../maps/south.toml"),
    ..PLAIN
};
