//! The list of end faces with fleet-wide names.

use super::sheet_plan::Field::*;
use super::sheet_plan::{Every, Holds, PLAIN, Shape, Sheet};

/// The list of end faces with fleet-wide names.
pub const SHAPE: Shape = Shape {
    folder: "assets",
    ending: "csv.gz",
    zone: chrono_tz::Europe::Vienna,
    sheets: &[Sheet {
        name: "end-faces",
        holds: Holds::Assets,
        every: Every::Once,
        columns: &[
            ("Asset", Face),
            ("Location", Site),
            ("Form", Family),
            ("Position", Side),
            ("Optics", Optic),
            ("Polish", Polish),
            ("Fibre", Mode),
            ("Maker", Supplier),
            ("In use since", At("%d %b %Y")),
            ("Until", Until("%d %b %Y")),
        ],
    }],
    words: &[
        ("plug", "cord end"),
        ("bulkhead", "adapter"),
        ("fibre", "ferrule"),
        ("stub", "transceiver stub"),
        ("recessed-lens", "lens sealed"),
        ("window", "lens flat"),
        ("single-mode", "SM"),
        ("multimode", "MM"),
    ],
    map: include_str!("../maps/assets.toml"),
    ..PLAIN
};
