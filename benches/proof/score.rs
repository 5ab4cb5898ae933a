//! What a simulation claims, and how its draws are counted.
//!
//! Promises a Monte Carlo error that is right when one table holds many intervals: it comes from
//! the scatter between tables. Stops at means.

use motetrail::stats::Estimate;
use motetrail::synth::draw::Draw;

/// Monte Carlo errors from the nominal value within which a claim holds.
const SLACK: f64 = 3.0;

/// Coverage this far above nominal is called wide.
const WIDE: f64 = 0.02;

/// What a method promises.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Nominal {
    /// Share of intervals that hold the truth, at least.
    Coverage(f64),
    /// Share of false alarms, at most.
    Alarms(f64),
    /// Nothing; the figure is for the reader.
    Stated,
}

/// One line of the table of results.
#[derive(Clone, Debug)]
pub struct Claim {
    /// Section of the design that uses the method.
    pub part: &'static str,
    /// Method and what it is about.
    pub method: String,
    /// The setting it is tried in.
    pub setting: String,
    /// What it promises.
    pub nominal: Nominal,
}

/// What one invented table says about one claim.
#[derive(Clone, Copy, Debug)]
pub struct Score {
    /// Share of the table's intervals that hold the truth, or of its entries that raise an alarm.
    pub share: f64,
    /// Mean width of the intervals; `None` for alarms and intervals with one end.
    pub width: Option<f64>,
}

/// The scores of one table, claim by claim; `None` where the method gave no answer. Scores beyond
/// the last claim are not counted: a setting may leave out the claims that do not apply to it.
pub type Scores = Vec<Option<Score>>;

/// A way to invent tables, with the claims that they are tried on.
pub struct Setting {
    /// The claims, in the order of the scores.
    pub claims: Vec<Claim>,
    /// Tables that are drawn.
    pub draws: u32,
    /// Tables that a test draws; 0 where the setting is left out there.
    pub quick: u32,
    /// Whether claims are left out on which no table had an answer.
    pub only_answered: bool,
    /// Draws a table and scores it.
    pub draw: Box<dyn Fn(&mut Draw) -> Scores>,
}

impl Setting {
    /// A setting of 4,000 tables.
    pub fn new(claims: Vec<Claim>, draw: impl Fn(&mut Draw) -> Scores + 'static) -> Self {
        Self { claims, draws: 4000, quick: 0, only_answered: false, draw: Box::new(draw) }
    }

    /// With 2,000 tables instead: for methods that cost much.
    #[must_use]
    pub fn costly(self) -> Self {
        Self { draws: 2000, ..self }
    }

    /// With this many tables: for methods that cost a great deal.
    #[must_use]
    pub fn tables(self, draws: u32) -> Self {
        Self { draws, ..self }
    }

    /// Tried in every test run too, on this many tables.
    #[must_use]
    pub fn quick(self, tables: u32) -> Self {
        Self { quick: tables, ..self }
    }

    /// Without the claims on which no table had an answer: for claims that follow from a list of all that may be said.
    #[must_use]
    pub fn only_answered(self) -> Self {
        Self { only_answered: true, ..self }
    }

    /// Results after `draws` tables. The stream hangs on the first claim's words alone, so that a
    /// setting keeps its tables whatever is added before it.
    pub fn run(&self, draws: u32) -> Vec<Found> {
        let mut draw = Draw::stream(SEED, self.claims.first().map_or(0, Claim::stream));
        let mut sums = vec![Sums::default(); self.claims.len()];
        for _ in 0..draws {
            for (sums, score) in sums.iter_mut().zip((self.draw)(&mut draw)) {
                sums.add(score);
            }
        }
        let found = |(claim, sums): (&Claim, &Sums)| sums.found(claim.clone(), draws);
        let found = self.claims.iter().zip(&sums).map(found);
        found.filter(|found| found.share.is_some() || !self.only_answered).collect()
    }
}

/// Seed of all simulations.
const SEED: u64 = 20_260_101;

impl Claim {
    /// A claim of coverage at 95 %.
    pub fn covers(part: &'static str, method: &str, setting: &str) -> Self {
        Self::of(part, method, setting, Nominal::Coverage(0.95))
    }

    /// A claim of coverage, or of another share of tables, of at least this much.
    pub fn covers_at_least(part: &'static str, method: &str, setting: &str, least: f64) -> Self {
        Self::of(part, method, setting, Nominal::Coverage(least))
    }

    /// A claim of at most this share of false alarms.
    pub fn alarms(part: &'static str, method: &str, setting: &str, most: f64) -> Self {
        Self::of(part, method, setting, Nominal::Alarms(most))
    }

    /// A figure without a claim.
    pub fn stated(part: &'static str, method: &str, setting: &str) -> Self {
        Self::of(part, method, setting, Nominal::Stated)
    }

    /// A claim of this nominal value.
    pub fn of(part: &'static str, method: &str, setting: &str, nominal: Nominal) -> Self {
        Self { part, method: method.to_owned(), setting: setting.to_owned(), nominal }
    }

    /// Part, method, setting, promise and nominal value, parted by commas.
    pub fn line(&self) -> String {
        let promise = match self.nominal {
            Nominal::Coverage(least) => format!("coverage,{least}"),
            Nominal::Alarms(most) => format!("alarms,{most}"),
            Nominal::Stated => "stated,".to_owned(),
        };
        format!("{},{},{},{promise}", self.part, self.method, self.setting)
    }

    /// FNV-1a of the claim's words.
    fn stream(&self) -> u64 {
        let words = [self.part, &self.method, &self.setting];
        let bytes = words.iter().flat_map(|word| word.bytes().chain([b'|']));
        bytes.fold(0xcbf2_9ce4_8422_2325, |hash, byte| {
            (hash ^ u64::from(byte)).wrapping_mul(0x0100_0000_01b3)
        })
    }
}

/// Sums over tables.
#[derive(Clone, Copy, Debug, Default)]
struct Sums {
    answered: f64,
    share: f64,
    squares: f64,
    width: f64,
    widths: f64,
}

impl Sums {
    fn add(&mut self, score: Option<Score>) {
        let Some(score) = score else {
            return;
        };
        self.answered += 1.0;
        self.share += score.share;
        self.squares += score.share * score.share;
        if let Some(width) = score.width {
            self.width += width;
            self.widths += 1.0;
        }
    }

    fn found(&self, claim: Claim, draws: u32) -> Found {
        let mean = self.share / self.answered;
        let variance = (self.squares / self.answered - mean * mean).max(0.0);
        Found {
            claim,
            draws,
            answered: self.answered / f64::from(draws),
            share: (self.answered > 0.0).then_some(mean),
            error: (variance / self.answered).sqrt(),
            width: (self.widths > 0.0).then(|| self.width / self.widths),
        }
    }
}

/// The result of one claim.
#[derive(Clone, Debug)]
pub struct Found {
    /// The claim.
    pub claim: Claim,
    /// Tables drawn.
    pub draws: u32,
    /// Share of them that had an answer.
    pub answered: f64,
    /// Mean share over the tables with an answer; `None` without any.
    pub share: Option<f64>,
    /// Its Monte Carlo error; not a number without an answer.
    pub error: f64,
    /// Mean width of the intervals.
    pub width: Option<f64>,
}

impl Found {
    /// Whether the method keeps its promise, Monte Carlo error allowed for.
    pub fn verdict(&self) -> &'static str {
        // What one table says has no error.
        let Some(share) = self.share.filter(|_| self.answered * f64::from(self.draws) > 1.5) else {
            return "none";
        };
        let (above, below) = (share - SLACK * self.error, share + SLACK * self.error);
        match self.claim.nominal {
            Nominal::Stated => "stated",
            Nominal::Coverage(least) if below < least => "BELOW",
            Nominal::Coverage(least) if above > least + WIDE => "wide",
            Nominal::Alarms(most) if above > most => "ABOVE",
            Nominal::Alarms(_) | Nominal::Coverage(_) => "holds",
        }
    }
}

/// Whether an interval holds the truth, a missing end being open. `None` without any end, and
/// where there was nothing to estimate from.
pub fn covered(estimate: &Estimate, truth: f64) -> Option<Score> {
    let nothing = estimate.n <= 0.0 || (estimate.low.is_none() && estimate.high.is_none());
    (!nothing).then(|| between([estimate.low, estimate.high], truth))
}

/// Whether the truth lies between two ends, a missing one being open.
pub fn between([low, high]: [Option<f64>; 2], truth: f64) -> Score {
    let inside = low.is_none_or(|low| low <= truth) && high.is_none_or(|high| truth <= high);
    let width = low.zip(high).map(|(low, high)| high - low);
    Score { share: f64::from(u8::from(inside)), width }
}

/// The same; `None` without both ends.
pub fn held(ends: [Option<f64>; 2], truth: f64) -> Option<Score> {
    ends.iter().all(Option::is_some).then(|| between(ends, truth))
}

/// Mean over the intervals of one table.
pub fn covered_on_average<'a>(pairs: impl Iterator<Item = (&'a Estimate, f64)>) -> Option<Score> {
    mean(pairs.map(|(estimate, truth)| covered(estimate, truth)))
}

/// Mean over the answers of one table; its width only where all have one.
pub fn mean(scores: impl Iterator<Item = Option<Score>>) -> Option<Score> {
    let scores: Vec<Score> = scores.flatten().collect();
    let count = scores.len() as f64;
    let widths: Option<Vec<f64>> = scores.iter().map(|score| score.width).collect();
    (count > 0.0).then(|| Score {
        share: scores.iter().map(|score| score.share).sum::<f64>() / count,
        width: widths.map(|widths| widths.iter().sum::<f64>() / count),
    })
}

/// An alarm or none.
pub fn alarm(raised: bool) -> Option<Score> {
    Some(Score { share: f64::from(u8::from(raised)), width: None })
}

/// Share of entries that raise an alarm; `None` without entries.
pub fn alarms(raised: impl Iterator<Item = bool>) -> Option<Score> {
    let (count, all) = raised
        .fold((0.0, 0.0), |(count, all), raised| (count + f64::from(u8::from(raised)), all + 1.0));
    (all > 0.0).then(|| Score { share: count / all, width: None })
}

/// Whether an interval leaves out a value.
pub fn leaves_out(estimate: &Estimate, value: f64) -> bool {
    covered(estimate, value).is_some_and(|score| score.share < 1.0)
}
