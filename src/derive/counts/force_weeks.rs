//! Time in force by week. A mating in force for a quarter touches thirteen weeks, so weeks lie beside
//! each other in memory, and become cells of a count table once, at the end.

use rustc_hash::FxHashMap;

use super::all::Counts;
use super::rate_counts::MOST_FORCE_PLACES;
use super::tally_mating::{Following, followed};
use crate::derive::calendar::pieces::{Calendar, Quarter, SECOND};
use crate::derive::mating::describe::{Mating, Span};

/// Levels that are counted: the first of `DEFINITIONS`.
const LEVELS: usize = 3;

/// The part of a week that lies in one quarter.
#[derive(Clone, Copy, Debug)]
struct Piece {
    quarter: u32,
    week: u32,
    from: i64,
    /// First instant after it.
    to: i64,
    /// First instant of its quarter.
    quarter_from: i64,
}

/// The weeks of some quarters, oldest first.
#[derive(Clone, Debug)]
pub struct Pieces(Vec<Piece>);

impl Pieces {
    /// The weeks of those quarters that the calendar has.
    pub fn of(calendar: &Calendar, quarters: &[Quarter]) -> Pieces {
        let mut known: Vec<u32> =
            quarters.iter().filter_map(|quarter| calendar.piece_of(*quarter)).collect();
        known.sort_unstable();
        known.dedup();
        let mut pieces = Vec::new();
        for quarter in known {
            let (starts, ends) =
                (calendar.quarters.start(quarter), calendar.quarters.start(quarter + 1));
            let first = calendar.weeks.piece(starts).unwrap_or(0);
            for week in first..calendar.weeks.count() {
                let from = calendar.weeks.start(week).max(starts);
                let to = calendar.weeks.start(week + 1).min(ends);
                if from >= ends {
                    break;
                }
                pieces.push(Piece { quarter, week, from, to, quarter_from: starts });
            }
        }
        Pieces(pieces)
    }

    fn touched(&self, span: Span) -> std::ops::Range<usize> {
        let first = self.0.partition_point(|piece| piece.to <= span.from);
        let after = self.0.partition_point(|piece| piece.from <= span.to);
        first..after.max(first)
    }
}

impl Piece {
    /// Whole seconds of a span in this piece, so cut that the pieces of a quarter add up to what is
    /// counted of the quarter itself.
    fn seconds(&self, span: Span) -> i64 {
        let origin = span.from.max(self.quarter_from);
        let up_to = |at: i64| (at.min(span.to).max(origin) - origin) / SECOND;
        up_to(self.to) - up_to(self.from)
    }
}

/// What one thread has counted so far.
pub struct ForceTally<'a> {
    pieces: &'a Pieces,
    places: FxHashMap<[u32; 3], usize>,
    /// As many a place as there are pieces: matings, then faults and seconds of each level.
    cells: Vec<[i64; 1 + 2 * LEVELS]>,
    off_table: [i64; 1 + 2 * LEVELS],
}

impl<'a> ForceTally<'a> {
    /// Nothing yet.
    pub fn new(pieces: &'a Pieces) -> Self {
        let off_table = [0; 1 + 2 * LEVELS];
        ForceTally { pieces, places: FxHashMap::default(), cells: Vec::new(), off_table }
    }

    /// Counts one mating; one never in force in these quarters is off the table.
    pub fn add(&mut self, mating: &Mating, with: &Following) {
        if mating.at >= with.period_end {
            return;
        }
        let span = mating.observed.filter(|_| !with.is_dark(mating.stage));
        let touched = span.map_or(0..0, |span| self.pieces.touched(span));
        let (Some(span), false) = (span, touched.is_empty()) else {
            self.off_table[0] += 1;
            return;
        };
        let levels: [Option<(Span, bool)>; LEVELS] = if mating.faults.is_empty() {
            [Some((span, false)); LEVELS]
        } else {
            std::array::from_fn(|level| followed(mating, span, level))
        };
        let row = self.row([mating.site, mating.stage.into(), mating.family]);
        for at in touched {
            let piece = &self.pieces.0[at];
            let cell = match row {
                Some(row) => &mut self.cells[row + at],
                None => &mut self.off_table,
            };
            cell[0] += 1;
            for (level, followed) in levels.iter().enumerate() {
                let Some((span, event)) = followed else { continue };
                let is_here = (piece.from..piece.to).contains(&span.to);
                cell[1 + 2 * level] += i64::from(*event && is_here);
                cell[2 + 2 * level] += piece.seconds(*span);
            }
        }
    }

    /// Where the pieces of a place begin. Beyond the limit new places are off the table, and the one
    /// place too many tells that all are to be given up.
    fn row(&mut self, place: [u32; 3]) -> Option<usize> {
        if let Some(row) = self.places.get(&place) {
            return Some(*row);
        }
        if self.places.len() > MOST_FORCE_PLACES {
            return None;
        }
        let row = self.cells.len();
        self.cells.resize(row + self.pieces.0.len(), [0; 1 + 2 * LEVELS]);
        self.places.insert(place, row);
        Some(row)
    }

    /// Hands on what was counted.
    pub fn pour(self, counts: &mut Counts) {
        let table = &mut counts.rates.force_weeks;
        for ([site, stage, family], row) in &self.places {
            for (at, piece) in self.pieces.0.iter().enumerate() {
                let counted = self.cells[row + at];
                if counted != [0; 1 + 2 * LEVELS] {
                    let cell = [piece.quarter, piece.week, *site, *stage, *family];
                    table.add(Some(cell), counted);
                }
            }
        }
        table.add(None, self.off_table);
    }
}
