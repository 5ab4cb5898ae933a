//! Each kind of effect, worked out by hand.

use motetrail::measures::carriers::Carrier;
use motetrail::measures::payback::{
    CarrierExcess, CarriersUsed, Contrast, FleetFlows, Place, Quantity, Source, StepHazard,
    carrier_excess, entry_hazards,
};
use motetrail::measures::{Flag, Group, carriers, entry};
use motetrail::settings::{Effect, EffectKind, Proposal, Stated};
use motetrail::stats::PersonTime;
use motetrail::stats::shifted_odds::{Exit, course};

use super::{effect, exits, flows, proposal, row, table, value};

pub fn step() -> StepHazard {
    StepHazard {
        from: "incoming".into(),
        to: "installation".into(),
        hazard: 0.25,
        low: 0.25,
        high: 0.25,
        flags: Vec::new(),
    }
}

pub fn excess() -> Vec<CarrierExcess> {
    let used = |site: &str, part| (site.to_owned(), "installation".to_owned(), part);
    let used = || vec![used("North", 2.0 / 3.0), used("South", 1.0 / 3.0)];
    let of = |kind, excess| CarrierExcess { kind, used: used(), excess, below: 0.0, above: 0.0 };
    vec![
        of(Carrier::EndFace, 60.0),
        of(Carrier::ToolSoiling, 15.0),
        of(Carrier::ToolCleaning, 45.0),
    ]
}

fn entry(times: f64) -> Proposal {
    let times = Stated::known(times);
    let (from, to) = ("incoming".to_owned(), "installation".to_owned());
    proposal("training", EffectKind::Entry { from, to, times })
}

/// Labour, material, looks again and rejects of both places.
const CLEANING: f64 = 1.5 * (351_000.0 + 54_000.0 + 208_000.0);
const REJECTS: f64 = 1.5 * 70_000.0;

fn associated() -> f64 {
    flows().skipped.iter().flatten().map(|own| own.associated / 400.0).sum()
}

#[test]
fn less_dirt_at_a_step_avoids_its_cleanings_rejects_and_faults() {
    let mut flows = flows();
    flows.entry = Some(vec![step()]);
    let table = table(&flows, &[entry(0.5)], None);
    // 1,500 end faces pass; 750 first looks there find dirt in a year.
    let share = 1500.0 * ((-0.125_f64).exp() - (-0.25_f64).exp()) / 750.0;
    let saving = share * (CLEANING + REJECTS + associated());
    assert!((value(&table, "training", Quantity::Saving) - saving).abs() <= 1.0);
}

#[test]
fn a_step_at_one_site_has_that_sites_part_of_the_fleets_passages() {
    let mut flows = flows();
    flows.entry = Some(vec![step()]);
    let mut own = entry(0.5);
    own.effects[0].sites = vec!["South".into()];
    // A third of the first looks, and of everything else: the same share of a third of the money.
    let part = value(&table(&flows, &[own], None), "training", Quantity::Saving);
    let all = value(&table(&flows, &[entry(0.5)], None), "training", Quantity::Saving);
    assert!((3.0 * part - all).abs() <= 3.0, "{part} {all}");
}

/// What passes the step and is looked at later only brings no dirt to this stage.
#[test]
fn a_step_is_passed_by_ends_from_every_earlier_stage_that_are_looked_at_after_it() {
    let saving = |change: fn(&mut Place)| {
        let mut flows = flows();
        flows.entry = Some(vec![step()]);
        flows.places.iter_mut().for_each(change);
        value(&table(&flows, &[entry(0.5)], None), "training", Quantity::Saving)
    };
    let usual = saving(|_| ());
    let from_farther = saving(|place| {
        let all = place.passages.remove("incoming").unwrap();
        place.passages.insert("production".into(), all);
    });
    assert!((from_farther - usual).abs() <= 1.0, "{from_farther} {usual}");
    let again = saving(|place| {
        place.passages.insert("installation".into(), 1e3);
    });
    assert!((again - usual).abs() <= 1.0, "{again} {usual}");
    assert!(saving(|place| place.passages.clear()).abs() <= 1.0);
}

/// Receipt has no matings and a tenth of the first looks that installation has.
#[test]
fn looking_on_receipt_spares_the_next_stage_the_dirt_that_came_before() {
    let mut flows = flows();
    // So many that the share looked at on receipt is known.
    for place in &mut flows.places {
        place.counted_ends *= 1e12;
        place.looked_before *= 1e12;
    }
    let mut receipt = flows.places[0].clone();
    receipt.stage = "incoming".into();
    (receipt.known, receipt.first_looks, receipt.dirty) = (0.0, 0.0, 0.0);
    flows.places.push(receipt);
    flows.skipped.iter_mut().for_each(|draw| draw.push(Default::default()));
    let mut own = proposal("receipt", EffectKind::Inspection(Stated::known(0.9)));
    own.effects[0].stages = vec!["incoming".into()];
    let reason = |flows: &FleetFlows| {
        let lacking = table(flows, std::slice::from_ref(&own), None);
        let reason = &row(&lacking, "receipt", Quantity::NetPresentValue).own.reason;
        reason.clone().unwrap_or_default()
    };
    assert!(reason(&flows).ends_with("dirt found at incoming: nobody looks there now"));
    // So many that the share is known.
    let receipt = flows.places.last_mut().unwrap();
    (receipt.first_looks, receipt.dirty) = (5e14, 1e14);
    assert!(reason(&flows).ends_with("dirt entering from incoming to installation"));
    flows.entry = Some(vec![step()]);
    let found = table(&flows, std::slice::from_ref(&own), None);
    // 0.8 of 3,000 end faces more (300 of 3,000 are looked at now); a fifth is dirty then, and would be nothing but that
    // at installation.
    let fewer = 0.8 * 3000.0 * 0.2 * (-0.25_f64).exp();
    let saving = fewer / 750.0 * (CLEANING + REJECTS + associated()) - 0.8 * 900_000.0;
    assert!((value(&found, "receipt", Quantity::Saving) - saving).abs() <= 3.0);
    // Of fewer ends the share is not known so well: what rests on it has an interval.
    let mut few = flows.clone();
    few.places.iter_mut().for_each(|place| {
        (place.counted_ends, place.looked_before) = (40.0, 4.0);
    });
    let own_share = table(&few, std::slice::from_ref(&own), None);
    let worth = row(&own_share, "receipt", Quantity::NetPresentValue);
    assert!(worth.low < worth.estimate && worth.estimate < worth.high, "{worth:?}");
    // Half of them can be looked at.
    own.effects[0].capacity = Some(1200.0);
    let half = table(&flows, &[own], None);
    assert!((value(&half, "receipt", Quantity::Saving) - 0.5 * saving).abs() <= 3.0);
}

/// A clean end face that a cleaning soiled is cleaned again, as one whose first cycle failed: 220 of 500 go on there. 90 ends
/// stand beside 2,160 cleanings and 60 rejects of visits that began contaminated; their 90 second cycles are among the
/// cleanings of the place, and more odds spare none of these, but rejects.
#[test]
fn better_odds_spare_what_follows_cleanings_that_soiled() {
    let odds = Some(Stated::known(2.0));
    let own = proposal("tool", EffectKind::Cleaning { contrast: None, odds });
    let mut flows = flows();
    let saving = |flows: &FleetFlows| {
        value(&table(flows, std::slice::from_ref(&own), None), "tool", Quantity::Saving)
    };
    let before = saving(&flows);
    for place in &mut flows.places {
        place.soiled = [("dry".to_owned(), 60.0), ("wet-dry".to_owned(), 30.0)].into();
    }
    let (now, then) = (course(&exits(), 1.0).unwrap(), course(&exits(), 2.0).unwrap());
    let cleanings = CLEANING * (2160.0 / 2250.0 - 1.0) * (1.0 - then.trials / now.trials);
    // At odds of 2 the second cycle passes two of three: of 10 in 220 a third less are rejected.
    let rejects = REJECTS * (90.0 / 60.0) * (10.0 / 220.0) * (1.0 - 1.0 / 1.5);
    let more = saving(&flows) - before;
    assert!((more - cleanings - rejects).abs() <= 2.0, "{more} {cleanings} {rejects}");
}

#[test]
fn the_fleets_own_contrast_goes_before_a_stated_one() {
    let contrast = ("wet-dry".to_owned(), "dry".to_owned());
    let odds = Some(Stated::known(1.0));
    let own = proposal("tool", EffectKind::Cleaning { contrast: Some(contrast.clone()), odds });
    let mut flows = flows();
    let stated = table(&flows, std::slice::from_ref(&own), None);
    assert_eq!(value(&stated, "tool", Quantity::Saving), 0.0);
    flows
        .contrasts
        .insert(contrast, Contrast { log_odds: 2.0_f64.ln(), se: 0.0, shifts: Vec::new() });
    let known = table(&flows, std::slice::from_ref(&own), None);
    // Dry makes two thirds of the cleanings.
    let (now, then) = (course(&exits(), 1.0).unwrap(), course(&exits(), 2.0).unwrap());
    let cleaning = CLEANING * 2.0 / 3.0 * (1.0 - then.trials / now.trials);
    let rejects = REJECTS * 2.0 / 3.0 * (1.0 - then.taken_out / now.taken_out);
    let saving = value(&known, "tool", Quantity::Saving);
    assert!((saving - cleaning - rejects).abs() <= 1.0, "{saving}");
    // What it comes from is in the table.
    flows.contrasts.values_mut().for_each(|own| own.se = 0.1);
    let known = table(&flows, &[own], None);
    let bars = known.quantity(Quantity::Tornado);
    let sources: Vec<Option<Source>> = bars.map(|row| row.own.source).collect();
    assert_eq!(sources, [Some(Source::OddsRatio)]);
}

/// Better odds of the first method leave fewer visits to turn to another: what that other cleans and loses goes too.
#[test]
fn what_follows_a_switch_of_method_is_spared_as_often_as_the_switch() {
    let mut flows = flows();
    let exit = |succeeded, taken_out, censored| Exit { succeeded, taken_out, gave_up: 0, censored };
    let dry = vec![Exit::default(), exit(60, 0, 40)];
    for place in &mut flows.places {
        // Of 40 that turn to wet-dry after one cycle by dry, 30 pass the second and 10 are rejected.
        place.exits = vec![Exit::default(), exit(60, 0, 0), exit(30, 10, 0)];
        place.exits_by_method = [("dry".to_owned(), dry.clone())].into();
    }
    let contrast = ("wet-dry".to_owned(), "dry".to_owned());
    flows
        .contrasts
        .insert(contrast.clone(), Contrast { log_odds: 2.0_f64.ln(), se: 0.0, shifts: Vec::new() });
    let kind = EffectKind::Cleaning { contrast: Some(contrast), odds: None };
    let found = table(&flows, &[proposal("tool", kind)], None);
    // Odds of 1.5 become 3: 25 of 100 turn, not 40. Of 140 cleanings 40 follow a switch, of the rejects all.
    let less = 1.0 - 25.0 / 40.0;
    let expected = CLEANING * 40.0 / 140.0 * less + REJECTS * less;
    let saving = value(&found, "tool", Quantity::Saving);
    assert!((saving - expected).abs() <= 1.0, "{saving} {expected}");
}

#[test]
fn carriers_of_ends_and_of_cycles_keep_out_their_shares() {
    let mut flows = flows();
    flows.carriers = Some(excess());
    let kind = |kinds: &[&str], share| EffectKind::Carriers {
        share: Stated::known(share),
        kinds: kinds.iter().map(|kind| (*kind).to_owned()).collect(),
    };
    let saving =
        |kind| value(&table(&flows, &[proposal("new", kind)], None), "new", Quantity::Saving);
    // 75 of 750 dirty first looks; 45 of 1,350 cleanings.
    let ends = 0.1 * (CLEANING + REJECTS + associated());
    assert!((saving(kind(&["end-face", "tool-soiling"], 1.0)) - ends).abs() <= 1.0);
    let cycles = 45.0 / 1350.0 * CLEANING;
    assert!((saving(kind(&["tool-cleaning"], 1.0)) - cycles).abs() <= 1.0);
    assert!((saving(kind(&["tool-cleaning"], 0.5)) - 0.5 * cycles).abs() <= 1.0);
    let all = 0.1 * (REJECTS + associated()) + (1.0 - 0.9 * (1.0 - 45.0 / 1350.0)) * CLEANING;
    assert!((saving(kind(&[], 1.0)) - all).abs() <= 1.0);
}

/// A ratio of few faults makes what rests on it thin, and nothing else.
#[test]
fn a_thin_ratio_flags_only_where_faults_rest_on_it() {
    let mut flows = flows();
    flows.carriers = Some(excess());
    for place in &mut flows.places {
        place.strata = vec![PersonTime { d1: 1, t1: 100.0, d0: 1, t0: 200.0 }];
    }
    let share = Stated::known(1.0);
    let own = |kind| EffectKind::Carriers { share, kinds: vec![kind] };
    let all = [
        proposal("leads", own("end-face".into())),
        proposal("cleaners", own("tool-cleaning".into())),
        proposal("looks", EffectKind::Coverage(share)),
    ];
    let thin = |flows: &FleetFlows| {
        let found = table(flows, &all, None);
        let flagged = |own: &Proposal| {
            row(&found, &own.name, Quantity::NetPresentValue).flags.contains(&Flag::Thin)
        };
        [0, 1, 2].map(|at| flagged(&all[at]))
    };
    assert_eq!(thin(&flows), [true, false, true]);
    for place in flows.skipped.iter_mut().flatten() {
        (place.cost, place.associated, place.faults) = (0.0, 0.0, 0.0);
    }
    assert_eq!(thin(&flows), [false, false, true]);
}

/// Leads that are used at one site change nothing elsewhere, whether or not the site is named.
#[test]
fn carriers_act_only_where_they_are_used() {
    let mut flows = flows();
    let used = vec![("North".to_owned(), "installation".to_owned(), 1.0)];
    flows.carriers =
        Some(excess().into_iter().map(|own| CarrierExcess { used: used.clone(), ..own }).collect());
    let own = |sites: &[&str]| {
        let share = Stated::known(1.0);
        let mut own =
            proposal("leads", EffectKind::Carriers { share, kinds: vec!["end-face".into()] });
        own.effects[0].sites = sites.iter().map(|site| (*site).to_owned()).collect();
        own
    };
    let found = table(&flows, &[own(&[])], None);
    // 60 of the 500 dirty first looks of North; the site has two thirds of all money.
    let associated = flows.skipped.iter().map(|draw| draw[0].associated / 400.0).sum::<f64>();
    let north = 60.0 / 500.0 * ((CLEANING + REJECTS) / 1.5 + associated);
    assert!((value(&found, "leads", Quantity::Saving) - north).abs() <= 1.0);
    let named = table(&flows, &[own(&["North"])], None);
    assert!((value(&named, "leads", Quantity::Saving) - north).abs() <= 1.0);
    let elsewhere = table(&flows, &[own(&["South"])], None);
    let reason = row(&elsewhere, "leads", Quantity::NetPresentValue).own.reason.as_deref();
    assert!(reason.is_some_and(|reason| reason.ends_with("none of these kinds stands out there")));
}

#[test]
fn two_effects_of_one_proposal_share_a_pool() {
    let halved = || effect(EffectKind::Minutes { minutes: Stated::known(1.5), instead_of: None });
    let saving = |means: [&str; 2]| {
        let mut own = proposal("both", halved().kind);
        own.effects = means
            .iter()
            .map(|means| Effect { means: Some((*means).to_owned()), ..halved() })
            .collect();
        value(&table(&flows(), &[own], None), "both", Quantity::Saving)
    };
    // Each takes its half of the minutes that are left; what works by the same means takes them once.
    assert!((saving(["a stand", "a cutter"]) - 0.75 * 1.5 * 351_000.0).abs() <= 1.0);
    assert!((saving(["a stand", "a stand"]) - 0.5 * 1.5 * 351_000.0).abs() <= 1.0);
}

#[test]
fn what_the_fleet_cannot_say_is_not_guessed() {
    let contrast = Some(("wet".to_owned(), "dry".to_owned()));
    let carriers = EffectKind::Carriers { share: Stated::known(1.0), kinds: Vec::new() };
    let mut nowhere = proposal("nowhere", EffectKind::Coverage(Stated::known(1.0)));
    nowhere.effects[0].sites = vec!["East".into()];
    let all = [
        (entry(0.5), "the hazard of dirt entering from incoming to installation"),
        (proposal("leads", carriers), "what carriers pass on"),
        (
            proposal("tool", EffectKind::Cleaning { contrast, odds: None }),
            "the odds of wet against dry, and none is stated",
        ),
        (nowhere, "coverage: no mating of known coverage there"),
    ];
    let proposals: Vec<Proposal> = all.iter().map(|(own, _)| own.clone()).collect();
    let table = table(&flows(), &proposals, Some(1_000_000));
    assert_eq!(table.rows.len(), 4, "a row each, and no ladder");
    for (own, lacks) in all {
        let row = row(&table, &own.name, Quantity::NetPresentValue);
        assert_eq!((row.estimate, row.flags.as_slice()), (None, &[Flag::NotIdentified][..]));
        let reason = format!("cannot be valued: the fleet has no estimate of {lacks}");
        assert_eq!(row.own.reason.as_deref(), Some(reason.as_str()));
    }
}

#[test]
fn hazards_come_from_single_steps_of_the_table_of_entry() {
    use entry::{By, Own, Quantity, Reason, Row, Table};
    let row = |from: &str, to: &str, reason: Option<Reason>, hazard: Option<f64>| {
        let group = Group { stage: Some(to.to_owned()), ..Group::default() };
        let own = Own {
            from: Some(from.to_owned()),
            reason,
            hazard,
            hazard_low: Some(0.1),
            hazard_high: Some(0.4),
            ..Own::default()
        };
        let row = Row::figure(By::Step, group, Quantity::Entry, 0.2, "profile", own);
        row.flagged([Flag::Thin])
    };
    let rows = vec![
        row("a", "b", None, Some(0.22)),
        row("b", "d", Some(Reason::Summed), Some(0.3)),
        row("d", "e", None, None),
    ];
    let found = entry_hazards(&Table { rows });
    let expected = StepHazard {
        from: "a".into(),
        to: "b".into(),
        hazard: 0.22,
        low: 0.1,
        high: 0.4,
        flags: vec![Flag::Thin],
    };
    assert_eq!(found, [expected]);
}

/// 20 dirty of 40 trials at five times the others' share: 4 were to be expected. Its limits are those of a count, times the root
/// of half of the trials being clean; the upper one reaches as far beyond as the ratio was drawn towards 1.
#[test]
fn carriers_are_those_listed_and_their_excess_is_of_the_shrunken_ratio_over_all_that_they_touched()
{
    use carriers::{By, Own, Quantity, Row, Table, Verdict};
    let reach = 1.959964;
    let site = || Some("North".to_owned());
    let group = || Group { site: site(), ..Group::default() };
    let row = |carrier: Verdict| {
        let own = Own {
            kind: Some(Carrier::EndFace),
            entity: Some("TL-1".into()),
            carrier: Some(carrier),
            trials: Some(50),
            // What the totals of the cells lead one to expect has its own dirt in it, so that no ratio is over it.
            expected: Some(8.0),
            shrunken: Some(3.0),
            shrunken_low: Some(2.0),
            shrunken_high: Some(3.0 + reach),
            ..Own::default()
        };
        let row = Row::figure(By::KindEntity, group(), Quantity::AgainstOthers, 5.0, "exact", own);
        Row { n: 40.0, events: Some(20), ..row }
    };
    let touch = |entity: &str| {
        let own = Own { entity: Some(entity.to_owned()), ..Own::default() };
        Row::figure(By::EntityPartner, group(), Quantity::Touch, f64::NAN, "as recorded", own)
    };
    let listed = || [Verdict::Listed, Verdict::NotListed, Verdict::NotTested].map(row).to_vec();
    let at = vec![("North".to_owned(), "installation".to_owned(), 1.0)];
    let used = CarriersUsed([((Carrier::EndFace, "TL-1".to_owned(), site()), at.clone())].into());
    // As often as it has trials, or as it touched ends.
    for (touches, expected) in [(0, 5.0), (80, 8.0)] {
        let mut rows = listed();
        rows.extend((0..touches).map(|_| touch("TL-1")));
        rows.push(touch("TL-2"));
        let found = carrier_excess(&Table { rows }, &used, 0.95);
        assert_eq!(found.len(), 1);
        assert_eq!((found[0].kind, &found[0].used), (Carrier::EndFace, &at));
        assert!((found[0].excess - expected * 2.0).abs() < 1e-9);
        let half = 0.5_f64.sqrt();
        assert!((found[0].below - expected * half / reach).abs() < 1e-5);
        assert!((found[0].above - expected * (half + 2.0 / reach)).abs() < 1e-5);
    }
}
