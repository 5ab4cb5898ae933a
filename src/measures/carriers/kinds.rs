//! The trials of 5.7 as the tests need them: by kind its cells and who made trials in them, in the
//! order of display, so that no sum depends on the order in which threads met the words.

use std::collections::BTreeMap;

use rustc_hash::FxHashMap;

use crate::derive::counts::{carrier_cells, carrier_trials};
use crate::derive::{CarrierKind, Key, Names, TrialCell};
use crate::measures::evidence::Evidence;
use crate::stats::cluster_scatter::{Scatter, ScatterCell, ScatterPair, cluster_scatter};

/// Who may carry dirt.
#[derive(Clone, Debug, PartialEq)]
pub struct Entity {
    /// As records have it; a key's digits where no record tells it any more.
    pub name: String,
    /// Where all its trials were made, if at one site.
    pub site: Option<String>,
    /// Of end faces only.
    pub key: Option<Key>,
    /// Place of the cell, trials, dirty ones.
    pub trials: Vec<(usize, u64, u64)>,
    /// Different partners, and those that came out dirty; of end faces only.
    pub partners: Option<[i64; 2]>,
}

/// One family of tests.
#[derive(Clone, Debug)]
pub struct Kind {
    /// What is tested.
    pub kind: CarrierKind,
    /// By cell: trials and dirty ones.
    pub cells: Vec<(u64, u64)>,
    /// By name.
    pub entities: Vec<Entity>,
    /// Work orders with trials.
    pub orders: i64,
    /// How much more work orders scatter than chance.
    pub scatter: Scatter,
}

/// A kind's cell as the counts have it, with trials and dirty ones.
type Counted = (carrier_cells::Key, carrier_trials::Row);
/// A cell in the order of display.
type Place = [u32; 6];

/// Every kind, in the order of its list.
pub fn kinds(evidence: &Evidence) -> Vec<Kind> {
    let reader = Reader::of(evidence);
    CarrierKind::ALL.iter().map(|kind| reader.kind(*kind)).collect()
}

struct Reader<'a> {
    evidence: &'a Evidence<'a>,
    /// Place of display by code: stage, family, site, method.
    places: [Vec<u32>; 4],
    /// Cells of all kinds as the counts list them.
    cells: Vec<Counted>,
    /// Sums over work orders by the places of cells in that list.
    crossed: FxHashMap<u32, i64>,
    pairs: Vec<([u32; 2], i64)>,
}

impl<'a> Reader<'a> {
    fn of(evidence: &'a Evidence<'a>) -> Self {
        let glossary = &evidence.derived.glossary;
        let counts = &evidence.derived.counts.carriers;
        let lists = [&glossary.stage, &glossary.family, &glossary.site, &glossary.method];
        Reader {
            evidence,
            places: lists.map(|(names, given)| names.places(*given)),
            cells: counts.cells.cells(),
            crossed: counts
                .order_cells
                .cells()
                .into_iter()
                .map(|(cell, row)| (cell.cell.0, row.dirty_trials))
                .collect(),
            pairs: counts
                .order_pairs
                .cells()
                .into_iter()
                .map(|(cell, row)| ([cell.cell.0, cell.other.0], row.products))
                .collect(),
        }
    }

    fn place(&self, cell: carrier_cells::Key) -> Place {
        let [stages, families, sites, methods] = &self.places;
        let at = |places: &[u32], code: u32| places.get(code as usize).copied().unwrap_or(u32::MAX);
        [
            at(stages, cell.stage.0),
            at(families, cell.family.0),
            cell.side as u32,
            at(sites, cell.site.0),
            at(methods, cell.method.0),
            cell.cycle.0,
        ]
    }

    fn kind(&self, kind: CarrierKind) -> Kind {
        let mut listed: Vec<(Place, usize)> = (0..self.cells.len())
            .filter(|at| self.cells[*at].0.kind == kind)
            .map(|at| (self.place(self.cells[at].0), at))
            .collect();
        listed.sort_unstable();
        let ranks: FxHashMap<carrier_cells::Key, usize> =
            listed.iter().map(|(_, at)| self.cells[*at].0).zip(0..).collect();
        let cells = listed.iter().map(|(_, at)| counted(self.cells[*at].1)).collect();
        let counts = &self.evidence.derived.counts.carriers;
        let orders = counts.orders.cells().into_iter().find(|(cell, _)| cell.kind == kind);
        let orders = orders.map(|(_, row)| row).unwrap_or_default();
        let entities = match kind {
            CarrierKind::EndFace => self.faces(&ranks),
            kind => self.coded(kind, &ranks),
        };
        Kind {
            kind,
            cells,
            entities,
            orders: orders.orders,
            scatter: self.scatter(&listed, orders.squares),
        }
    }

    fn scatter(&self, listed: &[(Place, usize)], squares: i64) -> Scatter {
        let cell = |(_, at): &(Place, usize)| {
            let row = self.cells[*at].1;
            let crossed = self.crossed.get(&(*at as u32)).copied().unwrap_or(0) as f64;
            ScatterCell { total: row.trials as f64, marked: row.dirty as f64, crossed }
        };
        let rank: FxHashMap<usize, usize> = listed.iter().map(|(_, at)| *at).zip(0..).collect();
        let mut pairs: Vec<([usize; 2], i64)> = self
            .pairs
            .iter()
            .filter_map(|([a, b], product)| {
                let (a, b) = (*rank.get(&(*a as usize))?, *rank.get(&(*b as usize))?);
                Some(([a.min(b), a.max(b)], *product))
            })
            .collect();
        pairs.sort_unstable();
        let pairs: Vec<ScatterPair> = pairs
            .into_iter()
            .map(|(cells, product)| ScatterPair { cells, product: product as f64 })
            .collect();
        let cells: Vec<ScatterCell> = listed.iter().map(cell).collect();
        cluster_scatter(squares as f64, &cells, &pairs)
    }

    fn faces(&self, ranks: &FxHashMap<carrier_cells::Key, usize>) -> Vec<Entity> {
        let faces = &self.evidence.derived.counts.carriers.faces;
        let entity = |face: &crate::derive::CarrierFace| {
            let listed = |(cell, counts): &(TrialCell, carrier_trials::Row)| {
                Some((cell.of_kind(CarrierKind::EndFace), *counts))
                    .filter(|(at, _)| ranks.contains_key(at))
            };
            let cells: Vec<Counted> = face.cells.iter().filter_map(listed).collect();
            Entity {
                name: self.evidence.face_name(face.key),
                site: self.only_site(&cells),
                key: Some(face.key),
                trials: ranked(&cells, ranks),
                partners: Some([face.partners, face.dirty_partners]),
            }
        };
        let mut entities: Vec<Entity> = faces.iter().map(entity).collect();
        entities.sort_by(|a, b| (&a.name, a.key).cmp(&(&b.name, b.key)));
        entities
    }

    fn coded(
        &self,
        kind: CarrierKind,
        ranks: &FxHashMap<carrier_cells::Key, usize>,
    ) -> Vec<Entity> {
        let glossary = &self.evidence.derived.glossary;
        let names: &Names = match kind {
            CarrierKind::Operator => &glossary.operator.0,
            CarrierKind::Supplier => &glossary.supplier.0,
            _ => &glossary.device.0,
        };
        let mut by_code: BTreeMap<u32, Vec<Counted>> = BTreeMap::new();
        for (cell, counts) in self.evidence.derived.counts.carriers.trials.cells() {
            if cell.kind == kind {
                by_code.entry(cell.entity.0).or_default().push((cell.without_entity(), counts));
            }
        }
        let entity = |(code, cells): (u32, Vec<Counted>)| Entity {
            name: names.word(code).to_owned(),
            site: self.only_site(&cells),
            key: None,
            trials: ranked(&cells, ranks),
            partners: None,
        };
        let mut entities: Vec<Entity> = by_code.into_iter().map(entity).collect();
        entities.sort_by(|a, b| a.name.cmp(&b.name));
        entities
    }

    fn only_site(&self, cells: &[Counted]) -> Option<String> {
        let first = cells.first()?.0.site;
        let same = cells.iter().all(|(cell, _)| cell.site == first);
        same.then(|| self.evidence.derived.glossary.site.0.word(first.0).to_owned())
    }
}

/// Counts as whole numbers; nothing negative is counted.
fn counted(row: carrier_trials::Row) -> (u64, u64) {
    (row.trials.max(0) as u64, row.dirty.max(0) as u64)
}

/// Trials by the rank of their cell, in its order.
fn ranked(
    cells: &[Counted],
    ranks: &FxHashMap<carrier_cells::Key, usize>,
) -> Vec<(usize, u64, u64)> {
    let mut trials: Vec<(usize, u64, u64)> = cells
        .iter()
        .filter_map(|(cell, counts)| {
            let (trials, dirty) = counted(*counts);
            Some((*ranks.get(cell)?, trials, dirty))
        })
        .collect();
    trials.sort_unstable();
    trials
}
