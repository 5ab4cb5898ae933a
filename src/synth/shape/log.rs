//! Two depots with one log of actions each.

use super::sheet_plan::Field::*;
use super::sheet_plan::{Every, Holds, PLAIN, Shape, Sheet};

/// Two depots with one log of actions each.
pub const SHAPE: Shape = Shape {
    folder: "{code}",
    separator: b'|',
    zone: chrono_tz::Europe::Vienna,
    sheets: &[Sheet {
        name: "actions",
        holds: Holds::Actions,
        every: Every::Month,
        columns: &[
            ("action", Action),
            ("ref", Record),
            ("time", At("%Y/%m/%d %H:%M")),
            ("point", Face),
            ("to", Partner),
            ("phase", Stage),
            ("type", Family),
            ("outcome", Outcome),
            ("cause", Finding),
            ("zone", Zone),
            ("cap", Capped),
            ("method", Method),
            ("tool", Tool),
            ("undone", Until("%Y/%m/%d %H:%M")),
            ("who", Person),
            ("order", Order),
            ("decision", Disposition),
        ],
    }],
    words: &[
        ("pass", "ok"),
        ("fail", "nok"),
        ("unreadable", "blurred"),
        ("look", "view"),
        ("yes", "1"),
        ("no", "0"),
        ("depot-stores", "R"),
        ("lineside-fitting", "I"),
        ("line-upkeep", "M"),
    ],
    map: include_str!("../maps/log.toml"),
    ..PLAIN
};
