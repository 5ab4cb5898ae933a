//! The invented rows that rest on looks: first pass, cycles, coverage.

use motetrail::measures::Group;
use motetrail::measures::coverage::{self, Base, By, Own, Quantity};
use motetrail::measures::cycles;
use motetrail::measures::first_pass;

use super::sample::{FAMILIES, SITES, STAGES, declared, declared_share, group};

pub fn first_pass() -> first_pass::Table {
    use first_pass::{By, Own, VisitKind};
    let mut rows = Vec::new();
    let mut clean = |by: By, group: Group, n: f64, p: f64, visit_kind: Option<VisitKind>| {
        let failed = (n as i64) - (n * p).round() as i64;
        let own = Own {
            visit_kind,
            deff: Some(1.37),
            clusters: Some(212),
            cleaned_unseen: Some(0.081),
            contaminated: Some(failed * 8 / 10),
            defective: Some(failed / 10),
            unclear: Some(failed / 10),
            ..Own::default()
        };
        rows.push(declared_share(by, group, first_pass::Quantity::Clean, (n, p), own));
    };
    clean(By::Fleet, Group::default(), 9_412.0, 0.812, None);
    for (place, stage) in STAGES.iter().enumerate() {
        for (kind, family) in FAMILIES.iter().enumerate() {
            let n = [1_900.0, 310.0, 14.0][kind] - 60.0 * place as f64 * [1.0, 0.5, 0.0][kind];
            let p = 0.93 - 0.05 * place as f64 - 0.04 * kind as f64;
            clean(By::StageFamily, group("stage+family", &[stage, family]), n, p, None);
        }
        let p = 0.91 - 0.05 * place as f64;
        clean(By::Stage, group("stage", &[stage]), 1_900.0, p, None);
    }
    for (place, site) in SITES.iter().enumerate() {
        let (n, p) = (3_900.0 / (place + 1) as f64, 0.80 + 0.02 * place as f64);
        clean(By::Site, group("site", &[site]), n, p, None);
    }
    for (by, word, n, p) in [
        (By::Side, "plug", 5_800.0, 0.83),
        (By::Side, "bulkhead", 3_612.0, 0.78),
        (By::Capped, "yes", 7_100.0, 0.85),
        (By::Capped, "no", 2_312.0, 0.69),
        (By::Supplier, "Harlow Cords", 1_204.0, 0.90),
    ] {
        clean(by, group(by.word(), &[word]), n, p, None);
    }
    for (kind, n, p) in [
        (VisitKind::Routine, 9_412.0, 0.812),
        (VisitKind::Prompted, 402.0, 0.41),
        (VisitKind::Again, 211.0, 0.66),
    ] {
        clean(By::VisitKind, Group::default(), n, p, Some(kind));
    }
    for (quarter, p) in
        [("2025-Q3", 0.781), ("2025-Q4", 0.79), ("2026-Q1", 0.795), ("2026-Q2", 0.812)]
    {
        clean(By::Quarter, group("quarter", &[quarter]), 9_000.0, p, None);
    }
    rows.extend(super::sample_models::sites());
    first_pass::Table { rows }
}

pub fn cycles() -> cycles::Table {
    use cycles::{Bracket, By, Own, Quantity};
    let mut rows = Vec::new();
    let of = |method: Option<&str>| {
        method.map_or_else(Group::default, |method| group("method", &[method]))
    };
    for (by, method, n, pace) in [
        (By::Fleet, None, 1_640.0, 0.55),
        (By::Treatment, Some("dry"), 1_100.0, 0.48),
        (By::Treatment, Some("wet-dry"), 520.0, 0.68),
        (By::Treatment, Some("non-contact"), 12.0, 0.40),
    ] {
        for cycle in 0..8_u32 {
            let passed = 0.93 * (1.0 - (1.0f64 - pace).powi(cycle as i32));
            let at_risk = n * (1.0 - passed);
            for (bracket, scale) in [(Bracket::Censored, 1.0), (Bracket::Competing, 0.94)] {
                let own = |rejected: Option<f64>| Own {
                    cycle: Some(cycle),
                    at_risk: Some(at_risk as u64),
                    bracket: Some(bracket),
                    rejected,
                    ..Own::default()
                };
                let mut add = |quantity, n, p, own| {
                    rows.push(declared_share(by, of(method), quantity, (n, p), own));
                };
                let rejected = 0.01 * f64::from(cycle);
                add(Quantity::PassedByCycle, n, passed * scale, own(Some(rejected)));
                add(Quantity::RejectedByCycle, n, rejected, own(None));
                if cycle > 0 && bracket == Bracket::Censored {
                    let chance = pace * (1.0 - 0.05 * f64::from(cycle));
                    add(Quantity::Hazard, at_risk.max(1.0), chance, own(None));
                }
            }
        }
        let (quantity, median) = (Quantity::MedianCycles, [1.0, 1.0, 2.0]);
        rows.push(declared((by, of(method), quantity), "Wilson", (n, 0), median, Own::default()));
    }
    for (by, method, quantity, n, p) in [
        (By::Fleet, None, Quantity::PassesBeyondFive, 1_480.0, 0.021),
        (By::Fleet, None, Quantity::CleaningsBeyondFive, 3_120.0, 0.064),
        (By::Treatment, Some("dry"), Quantity::LeftContaminated, 2_400.0, 0.49),
        (By::Treatment, Some("wet-dry"), Quantity::LeftContaminated, 700.0, 0.31),
        (By::Fleet, None, Quantity::Soiled, 410.0, 0.034),
        (By::Fleet, None, Quantity::CleanedUnseen, 10_200.0, 0.081),
    ] {
        rows.push(declared_share(by, of(method), quantity, (n, p), Own::default()));
    }
    rows.extend(super::sample_models::cycles());
    cycles::Table { rows }
}

pub fn coverage() -> coverage::Table {
    let mut table = coverage::Table::default();
    let mut classes = |by: By, group: Group, n: f64, skipped: f64| {
        for (quantity, base, n, p) in [
            (Quantity::Both, Base::All, n, 0.92 - skipped),
            (Quantity::One, Base::All, n, skipped * 0.6),
            (Quantity::None, Base::All, n, skipped * 0.4),
            (Quantity::DespiteFail, Base::All, n, 0.02),
            (Quantity::Unknown, Base::All, n, 0.06),
            (Quantity::Skipped, Base::Known, n * 0.94, skipped / 0.94),
        ] {
            table.rows.push(mated(by, group.clone(), quantity, base, n, p));
        }
    };
    classes(By::Fleet, Group::default(), 4_820.0, 0.27);
    for (place, stage) in STAGES.iter().enumerate().skip(1) {
        classes(By::Stage, group("stage", &[stage]), 1_200.0, 0.10 + 0.09 * place as f64);
    }
    for site in SITES {
        classes(By::Site, group("site", &[site]), 900.0, 0.25);
    }
    for class in ["both", "one", "none"] {
        let group = group("coverage", &[class]);
        table.rows.push(mated(By::Coverage, group, Quantity::Reseat, Base::All, 900.0, 0.03));
    }
    let silent = group("site+month", &["Tal", "2026-05"]);
    let own = Own::default();
    let row = coverage::Row::count(By::SiteMonth, silent, Quantity::SilentMonth, 64, own);
    table.rows.push(coverage::Row { events: Some(20), ..row });
    table
}

/// A share of matings with a plausible interval.
fn mated(by: By, group: Group, quantity: Quantity, base: Base, n: f64, p: f64) -> coverage::Row {
    let own = Own { base: Some(base), ..Own::default() };
    declared_share(by, group, quantity, (n, p), own)
}
