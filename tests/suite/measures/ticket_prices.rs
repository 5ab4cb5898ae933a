//! What the demo's linked faults cost, worked out a second time from what their tickets say: some tickets state
//! nothing, and money is of the matings whose faults are all known.

use motetrail::derive::counts::week_prices::{Key, Row};

use crate::review::demo::demo;

/// What the tickets of these cells cost, minor units, and their faults. A ticket that states nothing costs the mean of
/// those that do: of the same source, stage and family, else of that stage and family, else of all.
pub fn cost_of(wanted: impl Fn(&Key) -> bool) -> (f64, i64) {
    let cells = demo().derived.counts.prices.week_prices.cells();
    let (mut cost, mut faults) = (0.0, 0);
    for (cell, row) in cells.iter().filter(|(cell, _)| wanted(cell)) {
        // Tickets of the demo that state anything state all of it.
        assert_eq!([row.downtime_missing, row.labour_missing, row.trips_missing], [0; 3]);
        let place = |cell: &Key| (cell.stage, cell.family);
        let silent = || {
            let at_place = |other: &Key| place(other) == place(cell);
            mean(&cells, |other| at_place(other) && other.source == cell.source)
                .or_else(|| mean(&cells, at_place))
                .or_else(|| mean(&cells, |_| true))
                .expect("some ticket states its price")
        };
        cost += row.stated as f64;
        if row.unpriced > 0 {
            cost += row.unpriced as f64 * silent();
        }
        faults += row.faults;
    }
    (cost, faults)
}

/// Mean of what the tickets of these cells state that state anything.
fn mean(cells: &[(Key, Row)], wanted: impl Fn(&Key) -> bool) -> Option<f64> {
    let cells = cells.iter().filter(|(cell, _)| wanted(cell));
    let (money, tickets) =
        cells.fold((0, 0), |(m, t), (_, row)| (m + row.stated, t + row.tickets - row.unpriced));
    (tickets > 0).then(|| money as f64 / tickets as f64)
}

/// The quarters whose matings have all run the horizon of 90 days when the records end with 2026-06-30, by their pieces
/// of the calendar: of the four looked back all but the last, which ends with the records.
pub fn whole_quarters() -> [u32; 3] {
    let derived = &demo().derived;
    let back = &derived.period.look_back;
    assert_eq!(back.len(), 4);
    ["2025-Q3", "2025-Q4", "2026-Q1"].map(|name| {
        let quarter = back.iter().find(|quarter| quarter.to_string() == name).unwrap();
        derived.calendar.piece_of(*quarter).unwrap()
    })
}
