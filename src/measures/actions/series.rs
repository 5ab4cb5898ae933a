//! An action that began at all sites at once: the fleet's own months before and since, with nothing to compare them with.

use super::declared::Moves;
use super::site_months::SiteMonths;
use crate::stats::effects::Found;
use crate::stats::effects::interrupted::interrupted;
use crate::stats::quantile::normal_two_sided;

/// Months apart that values may still go together.
const LAG: usize = 3;

/// The change of the fleet's months; none where either side has fewer than four.
pub(super) fn series(months: &SiteMonths, moves: Moves, level: f64) -> Option<Found> {
    let start = months.earliest();
    let mut rows: Vec<[f64; 3]> = (0..months.months())
        .map(|month| {
            let mut sum = [0.0; 3];
            let cells = months.cells.iter().map(|cells| cells[month]);
            cells.for_each(|cell| sum.iter_mut().zip(cell).for_each(|(sum, own)| *sum += own));
            sum
        })
        .collect();
    // The month of the start belongs to neither side; the line goes on as if it had not been.
    rows.remove(start);
    // Where more is good what fails is counted: rare events scatter as a Poisson regression expects.
    let turned = moves.more_is_better();
    let events: Vec<f64> = rows.iter().map(|[n, y, _]| if turned { n - y } else { *y }).collect();
    let expected: Vec<f64> = rows.iter().map(|[n, _, e]| if turned { n - e } else { *e }).collect();
    let first = rows.iter().position(|[n, ..]| *n > 0.0)?;
    let last = rows.iter().rposition(|[n, ..]| *n > 0.0)?;
    let split = start.checked_sub(first)?;
    let fit =
        interrupted(&events[first..=last], &expected[first..=last], split, (LAG, None)).ok()??;
    let [low, ratio, high] = fit.ratio(level);
    let (log, se) = fit.log_ratio;
    let p = if se > 0.0 { normal_two_sided(log / se) } else { 1.0 };
    let since: f64 = rows[first + split..=last].iter().map(|[n, ..]| n).sum();
    let cells = (last + 1 - first - split) as u64;
    let of = |value, low, high, without| Found {
        value,
        low: Some(low),
        high: Some(high),
        level,
        p,
        smallest_p: 0.0,
        arrangements: 0,
        cells,
        without,
    };
    if moves == Moves::LinkedFaults {
        return Some(of(ratio, low, high, Some(fit.without)));
    }
    // Events since, less what they would be without the break, over the units.
    let seen = fit.observed / since;
    let change = |ratio: f64| seen * (1.0 - 1.0 / ratio);
    let ends = [change(low), change(ratio), change(high)];
    let [low, value, high] = if turned { [-ends[2], -ends[1], -ends[0]] } else { ends };
    Some(of(value, low, high, None))
}
