//! What a seed plants: the seed of the demo what it always did; every other one draws its own cells, carriers and hazards, so
//! that nothing is proved on one place.

use std::borrow::Cow;

use super::culprits::Culprits;
use super::draw::Draw;
use super::event::Method;
use super::lifecycle::{Lifecycle, Stage};
use super::place::Place;
use super::plant::{FAMILIES, FAMILY_SHARES, LEADS_EACH, SUPPLIERS};

/// Seed whose fleets have the usual culprits and hazards: that of the demo.
const USUAL_SEED: u64 = 7;
/// What tells these draws from those of lives.
const STREAM: u64 = 0x6375_6c70_7269_7473;
/// Hazards and rates are drawn within this much of the usual ones, on the scale of logs.
const SPREAD: f64 = 0.35;

/// The lifecycle of the demo's operator, or that of numbered sites, with what a seed plants at these places.
pub fn lifecycle(demo: bool, seed: u64, places: &[Place]) -> Lifecycle {
    let mut life = Lifecycle::of(demo).clone();
    let works = demo.then_some(0);
    let joined = [life.installed, life.changed];
    if let Some((culprits, stages)) = drawn(seed, places, (&life.stages, joined, works)) {
        (life.culprits, life.stages) = (culprits, Cow::Owned(stages));
    }
    life
}

/// Those of any other seed, for these sites and two stages; `works` is the site without a network of its own, where there is one.
fn culprits(
    draw: &mut Draw,
    places: &[Place],
    stages: [usize; 2],
    works: Option<usize>,
) -> Culprits {
    let first = usize::from(works.is_some() && places.len() > 1);
    let worst_site = first + draw.index(places.len() - first);
    let at = draw.index(2);
    let family = draw.weighted(&FAMILY_SHARES);
    let one = draw.weighted(&FAMILY_SHARES);
    let other = (one + 1 + draw.index(FAMILIES.len() - 1)) % FAMILIES.len();
    let tool_site = works.unwrap_or_else(|| draw.index(places.len()));
    let methods = [places[tool_site].methods[0], places[tool_site].methods[1]];
    let method = [Method::Dry, Method::WetDry][draw.weighted(&methods)];
    Culprits {
        worst_cell: (worst_site, stages[at]),
        worst_family: (stages[1 - at], family),
        carriers: [one, other].map(|family| (family, draw.index(LEADS_EACH))),
        worn_tool: (tool_site, method, 1 + draw.index(3)),
        dirty_supplier: draw.index(SUPPLIERS.len()),
    }
}

/// Draws what stands out in a fleet of this seed and how its hazards and rates differ from the usual ones; none for the
/// seed that has the usual ones.
fn drawn(
    seed: u64,
    places: &[Place],
    (stages, joined, works): (&[Stage], [usize; 2], Option<usize>),
) -> Option<(Culprits, Vec<Stage>)> {
    if seed == USUAL_SEED || places.is_empty() {
        return None;
    }
    let mut draw = Draw::stream(seed ^ STREAM, 0);
    let found = culprits(&mut draw, places, joined, works);
    let mut near = |usual: f64| {
        let factor = (SPREAD * (2.0 * draw.unit() - 1.0)).exp();
        // Four decimals: the last digits of a power differ from machine to machine.
        (usual * factor * 1e4).round() / 1e4
    };
    let stage = |stage: &Stage| Stage {
        into: near(stage.into),
        again: near(stage.again),
        linked: near(stage.linked),
        ..*stage
    };
    let stages = stages.iter().map(stage).collect();
    Some((found, stages))
}
