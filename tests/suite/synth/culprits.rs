//! What stands out is the demo's for its seed and another's for every other, and the truth names it.

use std::collections::BTreeSet;

use motetrail::synth::{Recipe, Truth, write};

use super::demo;

fn truth(recipe: &Recipe) -> Truth {
    let folder = tempfile::tempdir().unwrap();
    write(recipe, folder.path()).unwrap()
}

fn numbered(seed: u64) -> Recipe {
    Recipe { sites: 4, numbered: true, inspections: 1_200, seed, ..Recipe::sound() }
}

#[test]
fn other_seeds_plant_other_cells_carriers_tools_suppliers_and_hazards() {
    let truths: Vec<Truth> = (20..32).map(|seed| truth(&numbered(seed))).collect();
    let different =
        |of: &dyn Fn(&Truth) -> String| truths.iter().map(of).collect::<BTreeSet<_>>().len();
    assert!(different(&|truth| format!("{:?}", truth.linked_faults.worst_cells)) > 6);
    assert!(different(&|truth| format!("{:?}", truth.carriers.leads)) > 6);
    assert!(different(&|truth| format!("{:?}", truth.carriers.tool)) > 4);
    assert!(different(&|truth| truth.dirty_supplier.name.clone()) > 2);
    assert_eq!(different(&|truth| format!("{:?}", truth.entry.steps)), 12);
    for truth in &truths {
        let worst = &truth.linked_faults.worst_cells;
        assert_eq!(worst.len(), 2, "{worst:?}");
        assert!(worst[0].site.is_some() && worst[0].stage != worst[1].stage, "{worst:?}");
        // Two leads a site, of two families.
        assert_eq!(truth.carriers.leads.len(), 8, "{:?}", truth.carriers);
        assert!(truth.carriers.tool.is_some());
        let hazards = truth.entry.steps.iter().map(|step| step.hazard);
        assert!(hazards.into_iter().all(|hazard| (0.0..0.4).contains(&hazard)));
    }
}

#[test]
fn the_seed_of_the_demo_plants_what_it_did_whatever_the_sites() {
    let seven = truth(&numbered(7));
    let usual = &demo().1;
    let hazards = |truth: &Truth| -> Vec<f64> {
        truth
            .entry
            .steps
            .iter()
            .filter(|step| step.from != step.to)
            .map(|step| step.hazard)
            .collect()
    };
    assert_eq!(hazards(usual), [0.05, 0.06, 0.09, 0.24, 0.13]);
    assert_eq!(hazards(&seven), [0.09, 0.24, 0.06, 0.13, 0.05]);
    assert_eq!(seven.dirty_supplier, usual.dirty_supplier);
    assert_eq!(seven.carriers.leads[..2], ["TL-S0001-LC-2", "TL-S0001-SC-4"]);
    assert_eq!(seven.carriers.tool.as_deref(), Some("S0001-DRY-2"));
}

/// One of three tools of its method at one site is worn: there cycles pass less, and the truth of the method says so.
#[test]
fn the_worn_tool_is_in_the_truth_of_its_method() {
    let truth = &demo().1;
    let of = |word: &str| truth.cycles.methods.iter().find(|one| one.method == word).unwrap();
    let (dry, wet_dry) = (of("dry"), of("wet-dry"));
    for cycle in 0..3 {
        let with = dry.pass_with_worn_tool[cycle].unwrap();
        assert!(with < dry.pass[cycle] - 0.005 && with > 0.8 * dry.pass[cycle], "{dry:?}");
        assert!((wet_dry.pass_with_worn_tool[cycle].unwrap() - wet_dry.pass[cycle]).abs() < 1e-5);
    }
}
