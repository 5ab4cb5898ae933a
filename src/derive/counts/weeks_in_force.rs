//! Time in force by week. A mating in force for a quarter touches thirteen weeks, so weeks lie next to
//! each other in memory, and become cells of a count table once, at the end.

use rustc_hash::{FxHashMap, FxHashSet};

use super::codes::{Family, QuarterNo, Site, Stage, WeekNo};
use super::rates::{ForceWeeks, MOST_FORCE_PLACES, force_weeks};
use super::table::CountTable;
use crate::calendar::{Calendar, Quarter, SECOND_US};
use crate::derive::mating::describe::{Mating, Span};
use crate::derive::mating::follow_up::{Definition, Followed, Following};

/// Definitions that are counted.
const COUNTED: [Definition; 3] = [Definition::Linked, Definition::Confirmed, Definition::Suspect];

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
        let up_to = |at: i64| (at.min(span.to).max(origin) - origin) / SECOND_US;
        up_to(self.to) - up_to(self.from)
    }
}

/// What one thread has counted so far.
pub struct ForceTally<'a> {
    pieces: &'a Pieces,
    /// Where the weeks of a site, stage and family begin in `cells`.
    places: FxHashMap<(Site, Stage, Family), usize>,
    /// As many a place as there are pieces.
    cells: Vec<force_weeks::Row>,
    off_table: force_weeks::Row,
    /// Places of which weeks were handed on.
    met: FxHashSet<(Site, Stage, Family)>,
}

impl<'a> ForceTally<'a> {
    /// Nothing yet.
    pub fn new(pieces: &'a Pieces) -> Self {
        let off_table = force_weeks::Row::default();
        let met = FxHashSet::default();
        ForceTally { pieces, places: FxHashMap::default(), cells: Vec::new(), off_table, met }
    }

    /// Counts one mating; one never in force in these quarters is off the table.
    pub fn add(&mut self, mating: &Mating, with: &Following) {
        if mating.at >= with.period_end {
            return;
        }
        let span = with.observed(mating);
        let touched = span.map_or(0..0, |span| self.pieces.touched(span));
        let (Some(span), false) = (span, touched.is_empty()) else {
            self.off_table.present += 1;
            return;
        };
        let followed = COUNTED.map(|definition| {
            Followed::of(mating, span, |fault| definition.holds(fault)).map(|own| (definition, own))
        });
        let row = self.row((Site(mating.site), mating.stage.into(), Family(mating.family)));
        for at in touched {
            let piece = &self.pieces.0[at];
            let cell = match row {
                Some(row) => &mut self.cells[row + at],
                None => &mut self.off_table,
            };
            cell.present += 1;
            let whole = piece.seconds(span);
            for (definition, own) in followed.iter().flatten() {
                let Some((faults, seconds)) = cell.first_faults_mut(*definition) else { continue };
                let is_here = (piece.from..piece.to).contains(&own.span.to);
                *faults += i64::from(own.by_fault && is_here);
                *seconds += if own.span == span { whole } else { piece.seconds(own.span) };
            }
        }
    }

    /// Where the pieces of a place begin. Beyond the limit new places are off the table, and the one
    /// place too many tells that all are to be given up.
    fn row(&mut self, place: (Site, Stage, Family)) -> Option<usize> {
        if let Some(row) = self.places.get(&place) {
            return Some(*row);
        }
        if self.places.len() > MOST_FORCE_PLACES {
            return None;
        }
        let row = self.cells.len();
        self.cells.resize(row + self.pieces.0.len(), force_weeks::Row::default());
        self.places.insert(place, row);
        Some(row)
    }

    /// Hands on what was counted, and begins anew. The table is given up once it had more places than the limit.
    pub fn pour(&mut self, table: &mut CountTable<ForceWeeks>) {
        for ((site, stage, family), row) in self.places.drain() {
            for (at, piece) in self.pieces.0.iter().enumerate() {
                let cell = force_weeks::Key {
                    quarter: QuarterNo(piece.quarter),
                    week: WeekNo(piece.week),
                    site,
                    stage,
                    family,
                };
                table.add(Some(cell), self.cells[row + at]);
            }
            if !table.is_given_up() {
                self.met.insert((site, stage, family));
            }
        }
        table.add(None, std::mem::take(&mut self.off_table));
        self.cells.clear();
        if self.met.len() > MOST_FORCE_PLACES {
            table.give_up();
            self.met = FxHashSet::default();
        }
    }
}
