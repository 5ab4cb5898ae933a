//! Every export of a large fleet: one plain shape, named as the canonical columns are.

use super::sheet_plan::Field::*;
use super::sheet_plan::{Every, Holds, PLAIN, Shape, Sheet};

/// Every export of a large fleet: one plain shape, named as the canonical columns are.
pub const SHAPE: Shape = Shape {
    sheets: &[
        Sheet {
            name: "looks-{code}",
            holds: Holds::Looks,
            every: Every::Once,
            columns: &[
                ("record", Record),
                ("site", Site),
                ("at", At("*")),
                ("end_face", Face),
                ("stage", Stage),
                ("family", Family),
                ("side", Side),
                ("optic", Optic),
                ("outcome", Outcome),
                ("finding", Finding),
                ("zone", Zone),
                ("capped", Capped),
                ("inspector", Person),
                ("work_order", Order),
                ("supplier", Supplier),
                ("disposition", Disposition),
            ],
        },
        Sheet {
            name: "cleanings-{code}",
            holds: Holds::Cleanings,
            every: Every::Once,
            columns: &[
                ("record", Record),
                ("site", Site),
                ("at", At("*")),
                ("end_face", Face),
                ("stage", Stage),
                ("method", Method),
                ("tool", Tool),
                ("operator", Person),
                ("work_order", Order),
            ],
        },
        Sheet {
            name: "matings-{code}",
            holds: Holds::Matings,
            every: Every::Once,
            columns: &[
                ("record", Record),
                ("site", Site),
                ("at", At("*")),
                ("end_face_a", Face),
                ("end_face_b", Partner),
                ("stage", Stage),
                ("demated_at", Until("*")),
                ("operator", Person),
                ("work_order", Order),
            ],
        },
        Sheet {
            name: "faults-{code}",
            holds: Holds::Tickets,
            every: Every::Once,
            columns: &[
                ("record", Record),
                ("site", Site),
                ("opened", At("*")),
                ("cleared", Until("*")),
                ("mating", Mating),
                ("end_face", Face),
                ("cause", Cause),
                ("remedy", Remedy),
                ("downtime_min", Downtime),
                ("labour_min", Labour),
                ("visits", Visits),
                ("cost", Cost),
            ],
        },
    ],
    map: include_str!("../maps/large.toml"),
    ..PLAIN
};
