//! A depot that names positions, not end faces, and keeps its own fault log.

use super::sheet_plan::Field::*;
use super::sheet_plan::{Every, Holds, PLAIN, Shape, Sheet};

/// A depot that names positions, not end faces, and keeps its own fault log.
pub const SHAPE: Shape = Shape {
    folder: "wyndrake",
    zone: chrono_tz::Europe::Vienna,
    sheets: &[
        Sheet {
            name: "views",
            holds: Holds::Looks,
            every: Every::HalfYear,
            columns: &[
                ("view", Record),
                ("at", At("%Y-%m-%d %H:%M:%S")),
                ("position", Face),
                ("face", Side),
                ("family", Family),
                ("optic", Optic),
                ("stage", Stage),
                ("outcome", Outcome),
                ("finding", Finding),
                ("zone", Zone),
                ("capped", Capped),
                ("inspector", Person),
                ("work order", Order),
                ("supplier", Supplier),
                ("disposition", Disposition),
            ],
        },
        Sheet {
            name: "cleanings",
            holds: Holds::Cleanings,
            every: Every::HalfYear,
            columns: &[
                ("cleaning", Record),
                ("at", At("%Y-%m-%d %H:%M:%S")),
                ("position", Face),
                ("face", Side),
                ("stage", Stage),
                ("method", Method),
                ("tool", Tool),
                ("operator", Person),
                ("work order", Order),
            ],
        },
        Sheet {
            name: "patches",
            holds: Holds::Matings,
            every: Every::HalfYear,
            columns: &[
                ("patch", Record),
                ("made", At("%Y-%m-%d %H:%M:%S")),
                ("undone", Until("%Y-%m-%d %H:%M:%S")),
                ("front", Face),
                ("front face", Side),
                ("back", Partner),
                ("back face", PartnerSide),
                ("stage", Stage),
                ("operator", Person),
                ("work order", Order),
            ],
        },
        Sheet {
            name: "faults",
            holds: Holds::Tickets,
            every: Every::Once,
            columns: &[
                ("fault", Record),
                ("opened", At("@")),
                ("cleared", Until("@")),
                ("patch", Mating),
                ("position", Face),
                ("face", Side),
                ("cause", Cause),
                ("remedy", Remedy),
                ("work order", Order),
                ("minutes down", Downtime),
                ("minutes worked", Labour),
                ("trips", Visits),
                ("cost", Cost),
            ],
        },
    ],
    words: &[("plug", "front"), ("bulkhead", "back"), ("yes", "true"), ("no", "false")],
    map: include_str!("../maps/local.toml"),
    ..PLAIN
};
