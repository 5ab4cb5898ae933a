//! 5.1, 5.3, 5.9: shares whose units share luck for longer than a work order or a week.
//!
//! Drawn on the scale of log odds, normal; fitted are counts over a scatter. Spells begin in no week of the calendar in
//! common. Each row is tried on what the review takes of it, whether it says `narrow` where that does not hold, and on the
//! shortest clusters alone.

use std::collections::BTreeMap;

use super::chance::{binomial, normal, poisson, uneven};
use super::score::{Claim, Score, Setting, covered, covered_on_average};
use motetrail::stats::clustered::{effective_share, resembling_share};
use motetrail::stats::{ClusterSums, Estimate, Lasting, Piece, Span};
use motetrail::synth::draw::Draw;

const LEVEL: f64 = 0.95;
/// Fewest clusters that a row's own scatter rests on.
const FEW: u64 = 10;
/// Weeks of a quarter, and the quarters whose clusters a review keeps, the last of them reviewed.
const WEEKS: u32 = 13;
const QUARTERS: u32 = 3;

/// Whose luck lasts.
#[derive(Clone, Copy, Debug)]
enum Lucky {
    /// Of no more than a work order.
    Order,
    /// A site for so many weeks.
    Site(u32),
    /// One of the two crews of a site, for good: what a site is asked about is these crews.
    Crew,
}

/// One kind of fleet.
#[derive(Clone, Copy, Debug)]
struct Fleet {
    sites: u32,
    /// Work orders of a site and week, on average.
    orders: f64,
    /// Share that fails, in two strata.
    failing: [f64; 2],
    lucky: Lucky,
    /// Standard deviation of what lasts, and of a work order, on the scale of log odds.
    spread: [f64; 2],
}

pub fn settings() -> Vec<Setting> {
    let mut all = Vec::new();
    let of = |sites, (orders, failing), (lucky, lasts)| {
        shares(Fleet { sites, orders, failing, lucky, spread: [lasts, 0.5] })
    };
    for shape in [(3.0, [0.15, 0.05]), (1.0, [0.15, 0.05]), (3.0, [0.6, 0.3])] {
        all.push(of(6, shape, (Lucky::Order, 0.0)));
        for weeks in [1, 4, WEEKS] {
            all.push(of(6, shape, (Lucky::Site(weeks), 0.6)));
        }
        all.push(of(6, shape, (Lucky::Crew, 0.6)));
    }
    for lucky in [(Lucky::Order, 0.0), (Lucky::Site(WEEKS), 0.6)] {
        all.push(of(30, (3.0, [0.15, 0.05]), lucky));
    }
    all
}

impl Fleet {
    fn words(&self) -> String {
        let Fleet { sites, orders, failing: [a, b], lucky, spread: [lasts, order] } = self;
        let lucky = match lucky {
            Lucky::Order => "no luck beyond them".to_owned(),
            Lucky::Site(weeks) => format!("spells of {weeks} weeks of a site {lasts}"),
            Lucky::Crew => format!("two crews a site {lasts}"),
        };
        format!(
            "{sites} sites; {orders} work orders a week; {a} and {b} failing; log odds of work orders {order}; {lucky}"
        )
    }

    /// Log odds of failing at a site's stratum; half of the sites are worse.
    fn log_odds(&self, site: u32, stratum: usize) -> f64 {
        let p = self.failing[stratum];
        (p / (1.0 - p)).ln() + if site.is_multiple_of(2) { 0.0 } else { 0.2 }
    }

    /// Everything that the review keeps, and of every site and stratum the share expected.
    fn drawn(&self, draw: &mut Draw) -> (Vec<Piece>, Vec<[f64; 2]>) {
        let [lasts, of_order] = self.spread;
        let (mut pieces, mut truths) = (Vec::new(), Vec::new());
        let mut order = 0;
        for site in 0..self.sites {
            let spell = if let Lucky::Site(weeks) = self.lucky { weeks } else { u32::MAX };
            let begins = (draw.unit() * f64::from(spell.min(WEEKS))) as u32;
            let crews = [(); 2].map(|()| lasts * normal(draw));
            let mut luck = lasts * normal(draw);
            for week in 0..WEEKS * QUARTERS {
                if (week + begins).is_multiple_of(spell) {
                    luck = lasts * normal(draw);
                }
                for _ in 0..poisson(draw, self.orders) {
                    order += 1;
                    let own = of_order * normal(draw);
                    let lasting = match self.lucky {
                        Lucky::Order => 0.0,
                        Lucky::Site(_) => luck,
                        Lucky::Crew => crews[usize::from(draw.chance(0.5))],
                    };
                    let stratum = usize::from(draw.chance(0.5));
                    let n = uneven(draw, 6.0);
                    let events =
                        binomial(draw, n, odds(self.log_odds(site, stratum) + lasting + own));
                    let number = u64::from(site) * 2 + stratum as u64;
                    let quarter = week / WEEKS;
                    pieces.push(Piece { site, quarter, week, order, stratum: number, n, events });
                }
            }
            truths.push([0, 1].map(|stratum| {
                let at = self.log_odds(site, stratum);
                let mean = |of: f64, spread: f64| expected(at + of, spread);
                match self.lucky {
                    Lucky::Crew => 0.5 * (mean(crews[0], of_order) + mean(crews[1], of_order)),
                    Lucky::Site(_) => mean(0.0, lasts.hypot(of_order)),
                    Lucky::Order => mean(0.0, of_order),
                }
            }));
        }
        (pieces, truths)
    }
}

fn odds(log_odds: f64) -> f64 {
    1.0 / (1.0 + (-log_odds).exp())
}

/// Mean share where log odds are normal.
fn expected(log_odds: f64, spread: f64) -> f64 {
    let steps = || (-60..=60).map(|step| f64::from(step) / 10.0);
    let density = |z: f64| (-0.5 * z * z).exp();
    let whole: f64 = steps().map(density).sum();
    steps().map(|z| density(z) * odds(log_odds + spread * z)).sum::<f64>() / whole
}

/// Sums over the clusters of this length.
fn sums<'a>(pieces: impl Iterator<Item = &'a Piece>, span: Span) -> ClusterSums {
    let mut found: BTreeMap<_, (u64, u64)> = BTreeMap::new();
    for piece in pieces {
        let (n, events) = found.entry(piece.cluster(span)).or_default();
        *n += piece.n;
        *events += piece.events;
    }
    found.values().fold(ClusterSums::default(), |mut sums, (n, events)| {
        sums.add(*n, *events);
        sums
    })
}

/// As the review takes it of its quarter, from the clusters of all.
fn taken(lasting: &Lasting, rows: &[ClusterSums]) -> Vec<Estimate> {
    let rests = lasting.rests(rows);
    let of = |(sums, rests): (&ClusterSums, _)| {
        let motetrail::stats::Rests { resemblance, clusters } = rests;
        resembling_share((sums.events, sums.n), clusters, resemblance, LEVEL)
    };
    rows.iter().zip(rests).map(of).collect()
}

fn shares(fleet: Fleet) -> Setting {
    let words = fleet.words();
    let claims = vec![
        Claim::covers("5.1", "share; clusters as long as luck lasts; held or narrow", &words),
        Claim::covers(
            "5.1",
            "share of a site; clusters as long as luck lasts; mean over sites; held or narrow",
            &words,
        ),
        Claim::stated("5.1", "share; clusters as long as luck lasts", &words),
        Claim::stated(
            "5.1",
            "share of a site; clusters as long as luck lasts; mean over sites",
            &words,
        ),
        Claim::stated("5.1", "share; work orders whatever lasts", &words),
        Claim::stated(
            "5.1",
            "share of a site; work orders whatever lasts; mean over sites",
            &words,
        ),
        Claim::covers(
            "5.3",
            "share; clusters as long as luck lasts; weeks at least; held or narrow",
            &words,
        ),
        Claim::stated("5.3", "share; clusters as long as luck lasts; weeks at least", &words),
        Claim::stated("5.3", "share; site-weeks whatever lasts", &words),
    ];
    Setting::new(claims, move |draw| {
        let (pieces, truths) = fleet.drawn(draw);
        let reviewed: Vec<Piece> =
            pieces.iter().filter(|piece| piece.quarter == QUARTERS - 1).copied().collect();
        let of_site = |site: u32| reviewed.iter().filter(move |piece| piece.site == site);
        let truth = |of: &mut dyn Iterator<Item = &Piece>| {
            let (n, sum) = of.fold((0.0, 0.0), |(n, sum), piece| {
                let own = truths[piece.site as usize][(piece.stratum % 2) as usize];
                (n + piece.n as f64, sum + piece.n as f64 * own)
            });
            sum / n
        };
        let whole = truth(&mut reviewed.iter());
        let sites = || (0..fleet.sites).map(|site| truth(&mut of_site(site)));
        let by_order = Lasting::of(&pieces, Span::Order, FEW);
        let by_week = Lasting::of(&pieces, Span::Week, FEW);
        let rows = |span| -> Vec<ClusterSums> {
            (0..fleet.sites).map(|site| sums(of_site(site), span)).collect()
        };
        let of_fleet = |lasting: &Lasting| {
            taken(lasting, &[sums(reviewed.iter(), lasting.span)]).into_iter().next()
        };
        let at = |estimate: Option<Estimate>| estimate.and_then(|found| covered(&found, whole));
        let found = taken(&by_order, &rows(by_order.span));
        let plain: Vec<Estimate> =
            rows(Span::Order).iter().map(|sums| effective_share(sums, LEVEL)).collect();
        let fleet_by_order = at(of_fleet(&by_order));
        let site_by_order = covered_on_average(found.iter().zip(sites()));
        let by_weeks = at(of_fleet(&by_week));
        vec![
            or_narrow(fleet_by_order, &by_order),
            or_narrow(site_by_order, &by_order),
            fleet_by_order,
            site_by_order,
            at(Some(effective_share(&sums(reviewed.iter(), Span::Order), LEVEL))),
            covered_on_average(plain.iter().zip(sites())),
            or_narrow(by_weeks, &by_week),
            by_weeks,
            at(Some(effective_share(&sums(reviewed.iter(), Span::Week), LEVEL))),
        ]
    })
    .costly()
}

/// A row that says that it may be too narrow promises nothing.
fn or_narrow(score: Option<Score>, lasting: &Lasting) -> Option<Score> {
    score.map(|score| if lasting.narrow { Score { share: 1.0, ..score } } else { score })
}
