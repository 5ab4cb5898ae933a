//! How long the luck lasts that the units of a share have in common, and what rows of such a share rest on.
//!
//! Promises one length of clusters for all rows, and for a row with few of its own clusters what all sites tell of the
//! resemblance within them. Stops at the sums of clusters: limits are those of `clustered`.

use super::clustered::{ClusterSums, Resemblance, mean_size};
use crate::stats::rates::lasting::{BLOCK_WEEKS, lasting};
use crate::stats::rates::shared_scatter::{Part, Scatter, scatter};
use crate::stats::special::input;

/// How long a cluster lasts, shortest first.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Span {
    /// A work order, or a day of a site.
    Order,
    /// A week of a site.
    Week,
    /// Four weeks of a site.
    Month,
    /// A quarter of a site.
    Quarter,
}

impl Span {
    /// All of them, shortest first.
    pub const ALL: [Span; 4] = [Span::Order, Span::Week, Span::Month, Span::Quarter];

    /// Number of the block of a week within its site and quarter; an order counts as its week.
    pub fn block(self, week: u32) -> u32 {
        match self {
            Span::Order | Span::Week => week / BLOCK_WEEKS[0],
            Span::Month => week / BLOCK_WEEKS[1],
            Span::Quarter => 0,
        }
    }
}

/// What tells one cluster from another: site, quarter, and the block within it or the work order.
pub type Cluster = (u32, u32, u64);

/// Units of one stratum in one work order and week of a site, and the events among them. Several of the same are one.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, PartialOrd, Ord)]
pub struct Piece {
    /// Number of the site; the numbers themselves mean nothing, as those of order and stratum.
    pub site: u32,
    /// Number of the quarter.
    pub quarter: u32,
    /// Number of the week, counted through all quarters.
    pub week: u32,
    /// Number of the work order or day at the site; one number for all where weeks are the shortest that is known.
    pub order: u64,
    /// Number of the site and of what else may move the share.
    pub stratum: u64,
    /// Units.
    pub n: u64,
    /// Events among them.
    pub events: u64,
}

impl Piece {
    /// The cluster of this length that it is in.
    pub fn cluster(&self, span: Span) -> Cluster {
        match span {
            Span::Order => (self.site, 0, self.order),
            _ => (self.site, self.quarter, span.block(self.week).into()),
        }
    }
}

/// So many times the fewest clusters that tell must quarters be to tell how long luck lasts.
const ENOUGH_TIMES: u64 = 2;

/// How long luck lasts, and how much the units of a cluster of that length resemble each other.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Lasting {
    /// Length of clusters.
    pub span: Span,
    /// Correlation of the units of a cluster about the shares of their site and stratum, in [0, 1].
    pub correlation: f64,
    /// Clusters of all sites that it rests on.
    pub clusters: u64,
    /// Degrees of freedom of the scatter that it comes from.
    pub df: f64,
    /// Quarters scatter more than the clusters taken and are too few to tell whether luck lasts that long: clusters may be too
    /// short.
    pub narrow: bool,
    /// Fewest clusters that a row's own resemblance rests on.
    least: u64,
}

/// What one row's interval takes.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Rests {
    /// Of the units of a cluster.
    pub resemblance: Resemblance,
    /// Clusters that this rests on: the row's own, or those of all sites.
    pub clusters: u64,
}

impl Rests {
    /// Of a row as its own clusters have it, with nothing known of others.
    pub fn of(row: &ClusterSums) -> Rests {
        Rests { resemblance: Resemblance::of(row), clusters: row.clusters }
    }

    /// Of each of several rows as its own clusters have it, drawn to that of the other rows.
    pub fn among(rows: &[ClusterSums]) -> Vec<Rests> {
        let of = |(sums, resemblance): (&ClusterSums, Resemblance)| Rests {
            resemblance,
            clusters: sums.clusters,
        };
        rows.iter().zip(Resemblance::among(rows)).map(of).collect()
    }
}

/// How the units of all sites scatter in clusters of one length.
struct Scattered {
    scatter: Scatter,
    /// Units of the cluster that a unit is in.
    size: f64,
}

impl Lasting {
    /// Of the units of all sites, the shortest clusters being of `shortest`, where at least `least` of them tell.
    ///
    /// The length is that of [`lasting`], work orders where weeks scatter no more than they: by the scatter about the shares of each site and stratum, since sites that
    /// differ are no luck. Chance counts as Poisson there, which is out by the same factor at every length. The
    /// correlation is `(d - 1) / (m - 1)`, `d` the scatter over that of binomial counts and `m` the units of the
    /// cluster that a unit is in. Fewer quarters than twice `least` often miss luck that lasts as long: eighteen of six sites
    /// do (`tests/reference/proof.csv`).
    ///
    /// Source: the rule of [`lasting`]; Kish (1965), Survey Sampling, for the correlation [from memory].
    pub fn of(pieces: &[Piece], shortest: Span, least: u64) -> Lasting {
        let (n, events) = pieces.iter().fold((0_u64, 0_u64), |(n, events), piece| {
            (n.saturating_add(piece.n), events.saturating_add(piece.events))
        });
        // The rarer outcome is what counts: near 0 a share is nearly Poisson, near 1 it is not.
        let rarer: Vec<Piece> = match events > n / 2 {
            true => pieces
                .iter()
                .map(|p| Piece { events: p.n.saturating_sub(p.events), ..*p })
                .collect(),
            false => pieces.to_vec(),
        };
        let spans: Vec<Span> = Span::ALL.into_iter().filter(|span| *span >= shortest).collect();
        // Longer blocks are put together of weeks, of which there are far fewer than pieces.
        let weeks = merged(cells(&rarer, Span::Week));
        let of_span = |span: &Span| match span {
            Span::Order => scattered(&merged(cells(&rarer, Span::Order))),
            Span::Week => scattered(&weeks),
            Span::Month | Span::Quarter => scattered(&merged(of_blocks(&weeks, *span))),
        };
        let all: Vec<Scattered> = spans.iter().map(of_span).collect();
        let over_poisson = over_poisson(&weeks);
        let scatters: Vec<Scatter> = all.iter().map(|of| of.scatter).collect();
        // Work orders last where not even weeks scatter more. Asked last: in weeks of few orders longer luck hardly shows.
        let weeks = spans.iter().position(|span| *span == Span::Week).unwrap_or(0);
        let at = match lasting(&scatters[weeks..], least) {
            0 => lasting(&scatters[..=weeks], least),
            longer => weeks + longer,
        };
        let Scattered { scatter, size } = all[at];
        let deff = scatter.phi.unwrap_or(1.0) / over_poisson;
        let correlation = input::finite((deff - 1.0) / (size - 1.0)).unwrap_or(0.0).clamp(0.0, 1.0);
        let narrow = all.last().is_some_and(|longest| {
            let longer = longest.scatter;
            longer.clusters < ENOUGH_TIMES * least && longer.phi > scatter.phi
        });
        let (span, Scatter { clusters, df, .. }) = (spans[at], scatter);
        Lasting { span, correlation, clusters, df, narrow, least }
    }

    /// The same for a table whose clusters are not shorter than this: of those that are longer than luck lasts a row tells
    /// itself, however few.
    #[must_use]
    pub fn at_least(self, span: Span) -> Lasting {
        if self.span < span { Lasting { span, least: 0, ..self } } else { self }
    }

    /// What each of several rows rests on, by the sums over its clusters of this length. Work orders tell of themselves
    /// however few they are; of longer clusters a row with few takes the correlation of all sites, which is known
    /// from all quarters, and the sizes of its own.
    pub fn rests(&self, rows: &[ClusterSums]) -> Vec<Rests> {
        rows.iter().zip(Rests::among(rows)).map(|(sums, own)| self.taken(sums, own)).collect()
    }

    /// The same of one row among none.
    pub fn rests_of(&self, row: &ClusterSums) -> Rests {
        self.taken(row, Rests::of(row))
    }

    fn taken(&self, sums: &ClusterSums, own: Rests) -> Rests {
        let few = self.span > Span::Order && sums.clusters < self.least;
        if !few || self.clusters < self.least {
            return own;
        }
        let deff = 1.0 + (mean_size(sums) - 1.0) * self.correlation;
        Rests { resemblance: Resemblance { deff, df: self.df }, clusters: self.clusters }
    }
}

/// Units of one stratum in one cluster, and the events among them.
#[derive(Clone, Copy)]
struct Cell {
    stratum: u64,
    cluster: Cluster,
    n: u64,
    events: u64,
}

/// The pieces that have units, by their clusters of one length.
fn cells(pieces: &[Piece], span: Span) -> Vec<Cell> {
    let cell = |piece: &Piece| Cell {
        stratum: piece.stratum,
        cluster: piece.cluster(span),
        n: piece.n,
        events: piece.events,
    };
    pieces.iter().filter(|piece| piece.n > 0).map(cell).collect()
}

/// The weeks by the longer blocks that they are in.
fn of_blocks(weeks: &[Cell], span: Span) -> Vec<Cell> {
    let of_block = |week: &Cell| {
        let (site, quarter, number) = week.cluster;
        // Numbers of weeks are of 32 bits.
        Cell { cluster: (site, quarter, span.block(number as u32).into()), ..*week }
    };
    weeks.iter().map(of_block).collect()
}

/// Cells of the same stratum and cluster as one, in the order of strata, in them of clusters.
fn merged(mut cells: Vec<Cell>) -> Vec<Cell> {
    cells.sort_unstable_by_key(|cell| (cell.stratum, cell.cluster));
    cells.dedup_by(|next, kept| {
        let is_same = (next.stratum, next.cluster) == (kept.stratum, kept.cluster);
        if is_same {
            kept.n = kept.n.saturating_add(next.n);
            kept.events = kept.events.saturating_add(next.events);
        }
        is_same
    });
    cells
}

/// Of cells as [`merged`] leaves them.
fn scattered(cells: &[Cell]) -> Scattered {
    let mut clusters: Vec<Cluster> = cells.iter().map(|cell| cell.cluster).collect();
    clusters.dedup();
    clusters.sort_unstable();
    clusters.dedup();
    let mut sizes = vec![0_u64; clusters.len()];
    let mut number = 0;
    let part = |cell: &Cell| {
        // Within a stratum clusters rise, mostly by one.
        if clusters.get(number + 1) == Some(&cell.cluster) {
            number += 1;
        } else if clusters.get(number) != Some(&cell.cluster) {
            number = clusters.partition_point(|cluster| *cluster < cell.cluster);
        }
        sizes[number] = sizes[number].saturating_add(cell.n);
        Part {
            cluster: number as u64,
            stratum: cell.stratum,
            events: cell.events,
            exposure: cell.n as f64,
        }
    };
    let parts: Vec<Part> = cells.iter().map(part).collect();
    let mut sums = ClusterSums::default();
    sizes.into_iter().for_each(|n| sums.add(n, 0));
    Scattered { scatter: scatter(&parts), size: mean_size(&sums) }
}

/// Variance of counts that are binomial within strata over that of Poisson ones, of cells in the order of strata; 1 without
/// events.
fn over_poisson(cells: &[Cell]) -> f64 {
    let (mut binomial, mut poisson) = (0.0, 0.0);
    for stratum in cells.chunk_by(|a, b| a.stratum == b.stratum) {
        let n: f64 = stratum.iter().map(|cell| cell.n as f64).sum();
        let events: f64 = stratum.iter().map(|cell| cell.events as f64).sum();
        if n > 0.0 {
            binomial += events * (1.0 - events / n);
            poisson += events;
        }
    }
    input::finite(binomial / poisson).filter(|ratio| *ratio > 0.0).unwrap_or(1.0)
}
