//! What faults cost (5.5), one way for every figure of money.
//!
//! A stated cost is a ticket's price; else the parts that it states (downtime, labour, trips) at the fleet's rates. A
//! part that it lacks is taken at the mean of the stated ones of the same source, stage and family, else of that stage
//! and family, else of the fleet; a part that no source states is outside the price. A ticket that states nothing is
//! `unpriced` and taken at the mean price of the others, in the same order. Means are of the faults that the money is
//! of, and are formed anew in every resample ([`Tariff::of`] over weighted sums).

use std::collections::BTreeMap;

use super::flag::Flag;
use super::results::Group;
use super::skipped_cost::places::{Key, Place, Places, keys};
pub(in crate::measures) use crate::derive::PricePart;
use crate::derive::counts::{
    Coverage, Family, FaultSource, Level, Site, Stage, fault_prices, week_prices,
};
use crate::derive::{Derived, Listing};

/// What some tickets say of their price, and what they do not. Money in minor units.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub(in crate::measures) struct Sums {
    /// Faults.
    pub faults: f64,
    /// Their tickets.
    pub tickets: f64,
    /// Tickets that state nothing.
    pub unpriced: f64,
    /// What the others state.
    pub stated: f64,
    /// By part: tickets that lack it though they state another, tickets that state it, and its price in these.
    pub parts: [[f64; 3]; 3],
}

impl Sums {
    /// Of a count.
    pub fn of(row: &week_prices::Row) -> Sums {
        Sums {
            faults: row.faults as f64,
            tickets: row.tickets as f64,
            unpriced: row.unpriced as f64,
            stated: row.stated as f64,
            parts: std::array::from_fn(|at| row.part(PricePart::ALL[at]).map(|count| count as f64)),
        }
    }

    /// Adds others, so many times.
    pub fn add(&mut self, more: &Sums, times: f64) {
        self.faults += times * more.faults;
        self.tickets += times * more.tickets;
        self.unpriced += times * more.unpriced;
        self.stated += times * more.stated;
        for (own, more) in self.parts.iter_mut().flatten().zip(more.parts.iter().flatten()) {
            *own += times * more;
        }
    }

    /// Whether a mean has to stand for something.
    pub fn has_gaps(&self) -> bool {
        self.unpriced > 0.0 || self.parts.iter().any(|[missing, ..]| *missing > 0.0)
    }

    /// Tickets that state something.
    fn priced(&self) -> f64 {
        self.tickets - self.unpriced
    }
}

/// Means that stand for what tickets do not state, minor units.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub(in crate::measures) struct Means {
    /// By part; none where no source states it.
    pub parts: [Option<f64>; 3],
    /// Of a ticket; none where no ticket states anything.
    pub ticket: Option<f64>,
}

impl Means {
    /// What means put in the place of what is not stated; none where something is and nothing can be put there.
    pub fn put_in(&self, sums: &Sums) -> Option<f64> {
        let parts = self.parts.iter().zip(&sums.parts);
        let parts: f64 = parts.map(|(mean, [missing, ..])| missing * mean.unwrap_or(0.0)).sum();
        match (sums.unpriced != 0.0, self.ticket) {
            (false, _) => Some(parts),
            (true, mean) => mean.map(|mean| parts + sums.unpriced * mean),
        }
    }

    /// Of sums whose own means come first, those of `wider` where they tell none.
    fn within(sums: &Sums, wider: &Means) -> Means {
        let mean = |at: usize| {
            let [_, known, cost] = sums.parts[at];
            (known > 0.0).then(|| cost / known).or(wider.parts[at])
        };
        Means { parts: [0, 1, 2].map(mean), ticket: None }
    }
}

/// The groups that means are formed in: source, stage and family; stage and family; the fleet.
#[derive(Clone, Debug, Default)]
struct Layout {
    /// Numbers of groups by the places of source, stage and family.
    groups: BTreeMap<[u32; 3], usize>,
    /// Numbers of pairs by the places of stage and family.
    pairs: BTreeMap<[u32; 2], usize>,
    /// By group, its pair.
    pair_of: Vec<usize>,
}

impl Layout {
    fn of(found: impl Iterator<Item = [u32; 3]>) -> Layout {
        let groups = found.map(|group| (group, 0)).collect();
        let mut layout = Layout { groups, ..Layout::default() };
        for (number, (group, at)) in layout.groups.iter_mut().enumerate() {
            let (next, [_, stage, family]) = (layout.pairs.len(), *group);
            *at = number;
            layout.pair_of.push(*layout.pairs.entry([stage, family]).or_insert(next));
        }
        layout
    }
}

/// The means of every group.
#[derive(Clone, Debug, Default)]
pub(in crate::measures) struct Tariff {
    groups: Vec<Means>,
    pairs: Vec<Means>,
    fleet: Means,
}

impl Tariff {
    /// Of what the tickets of every group say.
    fn of(layout: &Layout, groups: &[Sums]) -> Tariff {
        let (mut fleet, mut pairs) = (Sums::default(), vec![Sums::default(); layout.pairs.len()]);
        for (sums, pair) in groups.iter().zip(&layout.pair_of) {
            pairs[*pair].add(sums, 1.0);
            fleet.add(sums, 1.0);
        }
        let mut tariff =
            Tariff { fleet: Means::within(&fleet, &Means::default()), ..Tariff::default() };
        tariff.pairs = pairs.iter().map(|sums| Means::within(sums, &tariff.fleet)).collect();
        let own = groups.iter().zip(&layout.pair_of);
        tariff.groups = own.map(|(sums, pair)| Means::within(sums, &tariff.pairs[*pair])).collect();
        // The mean ticket needs the parts: a priced ticket may lack some.
        let mean = |price: f64, sums: &Sums| (sums.priced() > 0.0).then(|| price / sums.priced());
        let (mut of_fleet, mut of_pairs) = (0.0, vec![0.0; pairs.len()]);
        for ((sums, means), pair) in groups.iter().zip(&mut tariff.groups).zip(&layout.pair_of) {
            let priced = Sums { unpriced: 0.0, ..*sums };
            let price = sums.stated + means.put_in(&priced).unwrap_or(0.0);
            means.ticket = mean(price, sums);
            of_pairs[*pair] += price;
            of_fleet += price;
        }
        tariff.fleet.ticket = mean(of_fleet, &fleet);
        for ((means, sums), price) in tariff.pairs.iter_mut().zip(&pairs).zip(of_pairs) {
            means.ticket = mean(price, sums).or(tariff.fleet.ticket);
        }
        for (means, pair) in tariff.groups.iter_mut().zip(&layout.pair_of) {
            means.ticket = means.ticket.or(tariff.pairs[*pair].ticket);
        }
        tariff
    }

    /// What means put in the place of what tickets of a group do not state.
    pub fn put_in(&self, group: u32, sums: &Sums) -> Option<f64> {
        self.groups[group as usize].put_in(sums)
    }
}

/// What the tickets of some faults say.
#[derive(Clone, Copy, Debug)]
pub(in crate::measures) struct Line {
    /// Where their site, stage and family stand.
    pub place: Place,
    /// What was seen of the ends of their matings; none where it was not asked.
    pub coverage: Option<Coverage>,
    /// Week of the mating, or quarter of the fault, counted from the calendar's first.
    pub time: u32,
    /// Quarter of the mating or of the fault, counted from the calendar's first.
    pub quarter: u32,
    /// Number of their source, stage and family.
    pub group: u32,
    /// What they say.
    pub sums: Sums,
}

/// What some faults cost, and how much of that rests on what they state.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(in crate::measures) struct Price {
    /// Minor units; none where no ticket of the fleet states anything.
    pub cost: Option<f64>,
    /// Part of it that means put in the place of what tickets do not state.
    pub put_in: Option<f64>,
    /// What they say.
    pub sums: Sums,
}

impl Default for Price {
    /// That of no fault.
    fn default() -> Price {
        Price { cost: Some(0.0), put_in: Some(0.0), sums: Sums::default() }
    }
}

impl Price {
    /// Adds tickets with what means put in the place of what they do not state.
    pub fn add(&mut self, sums: &Sums, put_in: Option<f64>) {
        self.add_times(sums, put_in, 1.0);
    }

    /// The same, its money so many times: that of a year. Tickets count once.
    pub fn add_times(&mut self, sums: &Sums, put_in: Option<f64>, times: f64) {
        let more = put_in.map(|put_in| (sums.stated + put_in) * times);
        self.cost = self.cost.zip(more).map(|(cost, more)| cost + more);
        self.put_in = self.put_in.zip(put_in).map(|(sum, more)| sum + more * times);
        self.sums.add(sums, 1.0);
    }

    /// Tickets that lack a part though they state another, by part.
    pub fn lacking(&self) -> impl Iterator<Item = (PricePart, f64)> {
        PricePart::ALL.iter().copied().zip(self.sums.parts.map(|[missing, ..]| missing))
    }

    /// Mean price of a fault, minor units.
    pub fn mean(&self) -> Option<f64> {
        self.cost.filter(|_| self.sums.faults > 0.0).map(|cost| cost / self.sums.faults)
    }

    /// Share of the tickets that state nothing; 0 where there is none.
    pub fn unpriced(&self) -> f64 {
        if self.sums.tickets > 0.0 { self.sums.unpriced / self.sums.tickets } else { 0.0 }
    }
}

/// A cell of a count table: where, whose, what was seen, when, and what the tickets say.
type Found = ((Site, Stage, Family), FaultSource, Option<Coverage>, [u32; 2], week_prices::Row);

/// The same with the places of display.
type Counted = (Place, u32, Option<Coverage>, [u32; 2], week_prices::Row);

/// Prices of faults, ready to be added up over any cell.
pub(in crate::measures) struct PriceBook {
    /// In the order of display.
    pub lines: Vec<Line>,
    /// Where the words of sites, stages and families stand.
    pub places: Places,
    /// The means of all lines, each counted once.
    pub tariff: Tariff,
    /// By the groupings that have ratios: places of lines.
    index: BTreeMap<Key, Vec<usize>>,
    all: Price,
    layout: Layout,
    of_source: Listing,
}

impl PriceBook {
    /// Of the linked faults of 5.5's site-weeks.
    pub fn of_matings(derived: &Derived) -> PriceBook {
        let cells = derived.counts.prices.week_prices.cells().into_iter();
        let found = cells.map(|(cell, row)| {
            let week_prices::Key { week, quarter, site, stage, family, coverage, source } = cell;
            ((site, stage, family), source, Some(coverage), [week.0, quarter.0], row)
        });
        PriceBook::of(derived, found)
    }

    /// Of the linked faults of the months looked back, attached to a mating or not.
    pub fn of_faults(derived: &Derived) -> PriceBook {
        let back = &derived.period.look_back;
        let counted = |cell: &fault_prices::Key| {
            let linked = matches!(cell.level, Level::Probable | Level::Confirmed);
            linked && back.contains(&derived.calendar.quarter(cell.quarter.0))
        };
        let cells = derived.counts.prices.fault_prices.cells().into_iter();
        let found = cells.filter(|(cell, _)| counted(cell)).map(|(cell, row)| {
            let fault_prices::Key { quarter, site, stage, family, source, .. } = cell;
            ((site, stage, family), source, None, [quarter.0; 2], row)
        });
        PriceBook::of(derived, found)
    }

    fn of(derived: &Derived, found: impl Iterator<Item = Found>) -> PriceBook {
        let (places, of_source) =
            (Places::of(&derived.glossary), Listing::of(&derived.glossary.source));
        let found: Vec<Counted> = found
            .map(|((site, stage, family), source, coverage, time, row)| {
                (places.place(site, stage, family), of_source.place(source.0), coverage, time, row)
            })
            .collect();
        let group = |place: &Place, source: u32| [source, place[1], place[2]];
        let layout = Layout::of(found.iter().map(|(place, source, ..)| group(place, *source)));
        let line =
            |(place, source, coverage, [time, quarter], row): (Place, u32, _, [u32; 2], _)| Line {
                place,
                coverage,
                time,
                quarter,
                group: layout.groups.get(&group(&place, source)).copied().unwrap_or(0) as u32,
                sums: Sums::of(&row),
            };
        let mut lines: Vec<Line> = found.into_iter().map(line).collect();
        // Sums of money that is no whole number depend on their order, and codes on which thread met a word first.
        lines.sort_by_key(|line| (line.place, line.group, line.coverage, line.time, line.quarter));
        let mut index: BTreeMap<Key, Vec<usize>> = BTreeMap::new();
        for (at, line) in lines.iter().enumerate() {
            for key in keys(line.place) {
                index.entry(key).or_default().push(at);
            }
        }
        let (tariff, all) = (Tariff::default(), Price::default());
        let mut book = PriceBook { lines, places, tariff, index, all, layout, of_source };
        book.tariff = book.resampled(|_| 1.0);
        book.all = book.sum(book.lines.iter(), |_| 1.0);
        book
    }

    /// The means of a resample, in which each line counts so many times.
    pub fn resampled(&self, times: impl Fn(usize) -> f64) -> Tariff {
        let mut groups = vec![Sums::default(); self.layout.pair_of.len()];
        for (at, line) in self.lines.iter().enumerate() {
            groups[line.group as usize].add(&line.sums, times(at));
        }
        Tariff::of(&self.layout, &groups)
    }

    /// How many means a tariff has.
    pub fn means(&self) -> usize {
        self.layout.pair_of.len() + self.layout.pairs.len() + 1
    }

    /// What the faults of a group of sites, stages and families cost, of those lines that hold.
    pub fn price(&self, group: &Group, holds: impl Fn(&Line) -> bool) -> Price {
        self.price_times(group, holds, |_| 1.0)
    }

    /// The same as money of a year: by the place of a site, what its money is multiplied by. Tickets count once.
    pub fn price_times(
        &self,
        group: &Group,
        holds: impl Fn(&Line) -> bool,
        times: impl Fn(u32) -> f64,
    ) -> Price {
        let found = self.index.get(&self.places.key(group)).into_iter().flatten();
        self.sum(found.map(|at| &self.lines[*at]).filter(|line| holds(line)), times)
    }

    /// What all of them cost.
    pub fn fleet(&self) -> Price {
        self.all
    }

    fn sum<'l>(&self, lines: impl Iterator<Item = &'l Line>, times: impl Fn(u32) -> f64) -> Price {
        let mut price = Price::default();
        for line in lines {
            let [site, ..] = line.place;
            let put_in = self.tariff.put_in(line.group, &line.sums);
            price.add_times(&line.sums, put_in, times(site));
        }
        price
    }

    /// What faults of another count cost, by the means of this one: by source and the places of stage and family.
    pub fn other(
        &self,
        source: FaultSource,
        [stage, family]: [u32; 2],
        sums: &Sums,
    ) -> Option<f64> {
        let group = [self.of_source.place(source.0), stage, family];
        let means = match (self.layout.groups.get(&group), self.layout.pairs.get(&[stage, family]))
        {
            (Some(group), _) => &self.tariff.groups[*group],
            (None, Some(pair)) => &self.tariff.pairs[*pair],
            (None, None) => &self.tariff.fleet,
        };
        means.put_in(sums)
    }

    /// What the faults of each source cost, by its name, in the order of display.
    pub fn by_source(&self) -> Vec<(&str, Price)> {
        let mut found: BTreeMap<u32, Price> = BTreeMap::new();
        let sources: BTreeMap<usize, u32> =
            self.layout.groups.iter().map(|([source, ..], number)| (*number, *source)).collect();
        for line in &self.lines {
            let source = sources.get(&(line.group as usize)).copied().unwrap_or(0);
            let put_in = self.tariff.put_in(line.group, &line.sums);
            found.entry(source).or_default().add(&line.sums, put_in);
        }
        let name =
            |source: u32| self.of_source.words.get(source as usize).map_or("", String::as_str);
        found.into_iter().map(|(source, price)| (name(source), price)).collect()
    }

    /// Whether no source states a part, so that it is outside the price of tickets that state no cost.
    pub fn is_outside(&self, part: PricePart) -> bool {
        self.tariff.fleet.parts[part as usize].is_none()
    }

    /// Whether so few of the tickets state a price, of the fleet or of some faults, that their money is not to be ranked or
    /// to stand in a headline.
    pub fn flag(&self, of: &Price, limit: f64) -> Option<Flag> {
        let known = |price: &Price| price.cost.is_some() && price.unpriced() <= limit;
        (!known(of) || !known(&self.all)).then_some(Flag::Unpriced)
    }
}
