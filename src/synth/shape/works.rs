//! The works: comma, ISO times in UTC, packed with gzip.

use super::sheet_plan::Field::*;
use super::sheet_plan::{Every, Holds, PLAIN, Shape, Sheet};

/// The works: comma, ISO times in UTC, packed with gzip.
pub const SHAPE: Shape = Shape {
    folder: "works",
    ending: "csv.gz",
    sheets: &[
        Sheet {
            name: "inspections",
            holds: Holds::Looks,
            every: Every::Quarter,
            columns: &[
                ("id", Record),
                ("timestamp", At("*")),
                ("connector", Face),
                ("fibre", Fibre),
                ("step", Stage),
                ("family", Family),
                ("side", Side),
                ("optic", Optic),
                ("result", Outcome),
                ("finding", Finding),
                ("zone", Zone),
                ("cap", Capped),
                ("rules", Criteria),
                ("graded", Grading),
                ("inspector", Person),
                ("microscope", Instrument),
                ("order", Order),
                ("supplier", Supplier),
                ("disposition", Disposition),
            ],
        },
        Sheet {
            name: "cleanings",
            holds: Holds::Cleanings,
            every: Every::HalfYear,
            columns: &[
                ("id", Record),
                ("timestamp", At("*")),
                ("connector", Face),
                ("step", Stage),
                ("method", Method),
                ("tool", Tool),
                ("operator", Person),
                ("order", Order),
            ],
        },
        Sheet {
            name: "joins",
            holds: Holds::Matings,
            every: Every::HalfYear,
            columns: &[
                ("id", Record),
                ("joined", At("*")),
                ("parted", Until("*")),
                ("plug", Face),
                ("port", Partner),
                ("step", Stage),
                ("operator", Person),
                ("order", Order),
            ],
        },
    ],
    words: &[
        ("pass", "PASS"),
        ("fail", "FAIL"),
        ("unreadable", "UNREADABLE"),
        ("plug", "P"),
        ("bulkhead", "B"),
    ],
    map: include_str!("../maps/works.toml"),
    ..PLAIN
};
