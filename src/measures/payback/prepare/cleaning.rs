//! Cycles that pass more often, and cleanings that take other minutes.

use std::sync::Arc;

use rayon::prelude::*;

use super::{Preparing, Reason, lacking};
use crate::measures::actions::Moves;
use crate::measures::cycles::Contrast;
use crate::measures::flag::Flag;
use crate::measures::payback::declared::Source;
use crate::measures::payback::effect::{Change, DrawnCourse, Planned};
use crate::measures::payback::input::Input;
use crate::measures::payback::resting::Resting;
use crate::measures::payback::visits::{Left, add};
use crate::settings::Stated;
use crate::stats::bootstrap::Replicate;
use crate::stats::shifted_odds::{Exit, course};

impl Preparing<'_> {
    pub(super) fn minutes(
        &self,
        places: Vec<usize>,
        minutes: &Stated,
        instead_of: &Option<String>,
    ) -> Result<Planned, Reason> {
        let usual = self.flows.cleaning_minutes;
        if usual <= 0.0 {
            return Err(lacking("the minutes of a cleaning: [costs] says 0"));
        }
        let means = self.key(&format!("minutes of {instead_of:?}"), minutes);
        let minutes = self.stated("minutes", "minutes of a cleaning", minutes);
        let change = Change::Minutes { minutes, usual, method: instead_of.clone() };
        Ok(self.of(change, places, &means, Vec::new()))
    }

    pub(super) fn cleaning(
        &self,
        places: Vec<usize>,
        contrast: &Option<(String, String)>,
        odds: &Option<Stated>,
    ) -> Result<Planned, Reason> {
        let method = contrast.as_ref().map(|(_, instead_of)| instead_of.clone());
        let counted = places.iter().map(|place| self.flows.places[*place].left());
        let exits = together(counted.map(|left| left.exits(method.as_deref())));
        if course(&exits, 1.0).is_none_or(|course| course.trials <= 0.0) {
            return Err(lacking("cycles to pass: no cleaning there that was looked at after"));
        }
        let known =
            contrast.as_ref().and_then(|pair| Some((pair, self.flows.contrasts.get(pair)?)));
        // A method takes another's place once, whoever proposes it.
        let means = match (contrast, odds) {
            (Some((method, other)), _) => format!("{method} for {other}"),
            (None, Some(odds)) => self.key("odds", odds),
            (None, None) => String::new(),
        };
        let odds = match (known, odds, contrast) {
            (Some(((method, other), known)), _, _) => {
                let name = format!("odds of passing a cycle, {method} against {other}");
                self.contrast(name, known)
            }
            (None, Some(odds), _) => {
                let (moves, name) = (Moves::PassedFirstCycle, "odds of passing a cycle, times");
                self.judged(moves, "odds", name, odds)?
            }
            (None, None, Some((method, other))) => {
                return Err(lacking(&format!(
                    "the odds of {method} against {other}, and none is stated"
                )));
            }
            (None, None, None) => return Err(lacking("the odds, and none is stated")),
        };
        let drawn = self.drawn_courses(&places, method.as_deref());
        let change = Change::Cleaning { odds, exits: Arc::from(exits), drawn, method };
        // By whole fleets like the demo the interval holds the truth a little less often than promised.
        Ok(self.of(change, places, &means, vec![Flag::Narrow]))
    }

    /// Odds as the fleet's own records compare the methods, by the resamples that visits are drawn by.
    fn contrast(&self, name: String, known: &Contrast) -> Input {
        let Contrast { log_odds, se, shifts } = known;
        let (sum, away) = (shifts.iter().map(|(_, shift)| shift * shift).sum::<f64>(), |draw| {
            let resample = Replicate::of(self.drawing.seed, draw);
            let more = |(cluster, shift): &(u64, f64)| {
                (f64::from(resample.weight(*cluster)) - 1.0) * shift
            };
            shifts.iter().map(more).sum::<f64>()
        });
        let spread = sum.sqrt();
        if spread <= 0.0 {
            return self.drawing.ratio(name, Source::OddsRatio, *log_odds, *se);
        }
        let draws = (0..u64::from(self.drawing.draws)).into_par_iter();
        let away: Vec<f64> = draws.map(|draw| away(draw) / spread).collect();
        // Where luck lasts longer than the weeks of the regression its error is the larger one.
        let log = (*log_odds, se.max(spread));
        self.drawing.resampled_ratio(name, Source::OddsRatio, log, &away)
    }

    /// Draw by draw how the visits of these places leave.
    fn drawn_courses(&self, places: &[usize], method: Option<&str>) -> Vec<DrawnCourse> {
        let Some(weeks) = &self.flows.visits else { return Vec::new() };
        let soiled: Vec<[f64; 2]> =
            places.iter().map(|place| self.flows.places[*place].soiled_by(method)).collect();
        let draw = |draw: usize| {
            let drawn = weeks.drawn(draw);
            let of_places: Vec<Left> = places.iter().map(|place| drawn.at(*place)).collect();
            DrawnCourse {
                exits: Arc::from(together(of_places.iter().map(|left| left.exits(method)))),
                rests: of_places
                    .iter()
                    .zip(&soiled)
                    .map(|(left, soiled)| Resting::of(left, method).with_soiled(*soiled, left))
                    .collect(),
            }
        };
        (0..self.drawing.draws as usize).into_par_iter().map(draw).collect()
    }
}

/// Exits of several places together.
fn together<'e>(places: impl Iterator<Item = &'e [Exit]>) -> Vec<Exit> {
    let mut sums: Vec<Exit> = Vec::new();
    for exits in places {
        sums.resize(sums.len().max(exits.len()), Exit::default());
        sums.iter_mut().zip(exits).for_each(|(sum, exit)| add(sum, exit, 1));
    }
    sums
}
