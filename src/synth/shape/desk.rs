//! The desk that takes tickets for every site without a fault log.

use super::sheet_plan::Field::*;
use super::sheet_plan::{Every, Holds, PLAIN, Shape, Sheet};

/// The desk that takes tickets for every site without a fault log.
pub const SHAPE: Shape = Shape {
    folder: "desk",
    separator: b';',
    decimal_mark: ',',
    zone: chrono_tz::Europe::Vienna,
    sheets: &[Sheet {
        name: "tickets",
        holds: Holds::Tickets,
        every: Every::HalfYear,
        columns: &[
            ("ticket", Record),
            ("location", Site),
            ("raised", At("%Y-%m-%dT%H:%M:%S%z")),
            ("closed", Until("%Y-%m-%dT%H:%M:%S%z")),
            ("connection", Mating),
            ("point", Face),
            ("cause", Cause),
            ("action", Remedy),
            ("found in", Stage),
            ("order", Order),
            ("down min", Downtime),
            ("work min", Labour),
            ("trips", Visits),
            ("cost EUR", Cost),
            ("circuits", Services),
        ],
    }],
    words: &[
        ("contamination", "C10 dirt"),
        ("end-face-defect", "C20 end face"),
        ("break", "C30 break"),
        ("bend", "C31 bend"),
        ("equipment", "C40 equipment"),
        ("no-fault-found", "C90 nothing found"),
        ("unknown", "C99 open"),
        ("cleaned", "clean"),
        ("reseated", "reseat"),
        ("replaced", "swap"),
        ("none", "no action"),
    ],
    map: include_str!("../maps/desk.toml"),
    ..PLAIN
};
