//! A depot that keeps a spreadsheet: the cleaning stands beside the look after it.

use super::sheet_plan::Field::*;
use super::sheet_plan::{Every, Holds, PLAIN, Shape, Sheet};

/// A depot that keeps a spreadsheet: the cleaning stands beside the look after it.
pub const SHAPE: Shape = Shape {
    folder: "thornmoor",
    ending: "xlsx",
    separator: b';',
    zone: chrono_tz::Europe::Vienna,
    preface: "Thornmoor depot: connector care\n",
    sheets: &[
        Sheet {
            name: "care",
            holds: Holds::Looks,
            every: Every::Quarter,
            columns: &[
                ("No", Record),
                ("Date", At("%d-%m-%y")),
                ("Time", At("%H:%M")),
                ("Port", Face),
                ("Type", Family),
                ("Work", Stage),
                ("Cleaned first", CleanedFirst),
                ("Tool", CleanedTool),
                ("Result", Outcome),
                ("Why", Finding),
                ("Cap on", Capped),
                ("Name", Person),
                ("Work order", Order),
                ("What next", Disposition),
            ],
        },
        Sheet {
            name: "patching",
            holds: Holds::Matings,
            every: Every::HalfYear,
            columns: &[
                ("No", Record),
                ("Date", At("%d-%m-%y")),
                ("Undone", Until("%d-%m-%y")),
                ("Plug", Face),
                ("Port", Partner),
                ("Work", Stage),
                ("Work order", Order),
            ],
        },
    ],
    words: &[
        ("pass", "good"),
        ("fail", "bad"),
        ("unreadable", "?"),
        ("contamination", "dirty"),
        ("defect", "damaged"),
        ("depot-stores", "delivery"),
        ("lineside-fitting", "build"),
        ("line-upkeep", "service"),
    ],
    map: include_str!("../maps/sheet.toml"),
    ..PLAIN
};
