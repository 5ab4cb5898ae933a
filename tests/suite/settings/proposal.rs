//! What may be bought: prices, lives, effects, the budget.

use motetrail::settings::{EffectKind, Stated};

use super::{least_and, plan, problems};

const COSTS: &str = "[costs]\nlook_minutes = 2\ncleaning_minutes = 3\ncleaning_material = 0.6\nlabour_hour = 78\n\
                     downtime_hour = 450\nvisit = 120\nreject = 35\ndiscount_rate = 0.05\n";

/// A proposal at line 16 with one effect whose keys these are, from line 21 on.
fn with_effect(keys: &str) -> String {
    least_and(&format!(
        "{COSTS}[[proposal]]\nname = \"P\"\nprice = 100\nlife_months = 12\n[[proposal.effect]]\n{keys}\n"
    ))
}

#[test]
fn a_proposal_means_what_it_says() {
    let text = least_and(&format!(
        "{COSTS}[budget]\namount = 1500.5\n[[proposal]]\nname = \"Scopes\"\nprice = 2400.25\nunits = 3\n\
         life_months = 60\nstarts_after_months = 2\nrunning_cost = 10\n[[proposal.effect]]\nkind = \"coverage\"\n\
         coverage = {{ low = 0.8, likely = 0.9, high = 1 }}\nstages = [\"installation\"]\nsites = [\"Works\"]\n\
         capacity = 900\n[[proposal.effect]]\nkind = \"entry\"\nfrom = \"incoming\"\nto = \"installation\"\ntimes = 0.5\n"
    ));
    let plan = plan(&text);
    assert_eq!((plan.budget, plan.costs.discount_rate), (Some(150_050), 0.05));
    let [own] = &plan.proposals[..] else { panic!("one proposal") };
    assert_eq!((own.name.as_str(), own.price, own.units), ("Scopes", 240_025, 3));
    assert_eq!((own.life_months, own.starts_after_months, own.running_cost), (60, 2, 1_000));
    assert_eq!(text.lines().nth(own.line - 1), Some("[[proposal]]"));
    let [look, entry] = &own.effects[..] else { panic!("two effects") };
    let range = Stated { low: 0.8, likely: 0.9, high: 1.0 };
    assert_eq!(look.kind, EffectKind::Coverage(range));
    assert_eq!(
        (&look.stages[..], &look.sites[..]),
        (&["installation".to_owned()][..], &["Works".to_owned()][..])
    );
    assert_eq!((look.capacity, entry.capacity), (Some(900.0), None));
    let (from, to) = ("incoming".to_owned(), "installation".to_owned());
    assert_eq!(entry.kind, EffectKind::Entry { from, to, times: Stated::known(0.5) });
}

#[test]
fn what_a_proposal_says_of_others_and_of_how_it_is_paid() {
    let proposal = |name: &str, keys: &str| {
        format!(
            "[[proposal]]\nname = \"{name}\"\nprice = 0\nlife_months = 12\n{keys}[[proposal.effect]]\nkind = \"minutes\"\n\
             minutes = 2\nmeans = \"a stand\"\n"
        )
    };
    let both =
        |keys: &str| least_and(&format!("{COSTS}{}{}", proposal("A", keys), proposal("B", "")));
    let leased =
        plan(&both("units = 3\nmonthly_price = 20.5\ntraining_cost = 900\nneeds = [\"B\"]\n"));
    let own = &leased.proposals[0];
    assert_eq!((own.outlay(), own.yearly_cost()), (Some(90_000), Some(3 * 12 * 2_050)));
    assert_eq!(own.needs, ["B"]);
    assert_eq!(own.effects[0].means.as_deref(), Some("a stand"));
    for (keys, said) in [
        ("excludes = [\"C\"]\n", "found \"C\""),
        ("needs = [\"A\"]\n", "found \"A\", the proposal itself"),
        ("needs = [\"B\"]\nexcludes = [\"B\"]\n", "which `excludes` keeps apart from it"),
    ] {
        let found = problems(&both(keys));
        assert!(found.contains(said), "{found}");
    }
    // A million units at the dearest price.
    let dear = proposal("A", "units = 1000000\n").replace("price = 0", "price = 1000000000000");
    let found = problems(&least_and(&format!("{COSTS}{dear}")));
    assert!(found.contains(":15 proposal") && found.contains("cannot be counted"), "{found}");
}

#[test]
fn every_kind_has_its_own_keys_and_defaults() {
    let kind = |keys: &str| plan(&with_effect(keys)).proposals[0].effects[0].kind.clone();
    let all = Stated::known(1.0);
    assert_eq!(kind("kind = \"inspection\"\nstages = [\"incoming\"]"), EffectKind::Inspection(all));
    let contrast = Some(("wet-dry".to_owned(), "dry".to_owned()));
    assert_eq!(
        kind("kind = \"cleaning\"\nmethod = \"wet-dry\"\ninstead_of = \"dry\""),
        EffectKind::Cleaning { contrast, odds: None }
    );
    let minutes = Stated::known(2.0);
    assert_eq!(
        kind("kind = \"minutes\"\nminutes = 2"),
        EffectKind::Minutes { minutes, instead_of: None }
    );
    assert_eq!(kind("kind = \"carriers\""), EffectKind::Carriers { share: all, kinds: Vec::new() });
}

#[test]
fn what_is_wrong_with_an_effect_is_told_at_its_line() {
    let cases = [
        (
            "",
            "fleet.toml:19 proposal.effect.kind: missing; expected one of coverage, inspection, cleaning, entry, minutes, carriers",
        ),
        (
            "kind = \"covrage\"",
            "fleet.toml:20 proposal.effect.kind: found \"covrage\", expected one of coverage, inspection, cleaning, entry, minutes, carriers; did you mean \"coverage\"?",
        ),
        (
            "kind = \"coverage\"\ncoverage = 1.2",
            "fleet.toml:21 proposal.effect.coverage: found 1.2, expected numbers from 0 to 1",
        ),
        (
            "kind = \"coverage\"\ncoverage = { low = 0.9, likely = 0.8, high = 1 }",
            "fleet.toml:21 proposal.effect.coverage: found 0.9, 0.8, 1, expected low <= likely <= high",
        ),
        (
            "kind = \"coverage\"\ncoverage = { low = 0.9, likly = 0.8, high = 1 }",
            "fleet.toml:21 proposal.effect.coverage.likly: unknown key; did you mean `likely`? (known: low, likely, high)",
        ),
        (
            "kind = \"coverage\"\ncoverage = \"much\"",
            "fleet.toml:21 proposal.effect.coverage: found string \"much\", expected a number or { low, likely, high }",
        ),
        (
            "kind = \"coverage\"\ncoverage = 0.9\nstages = [\"instalation\"]",
            "fleet.toml:22 proposal.effect.stages: found \"instalation\", expected one of production, incoming, installation, acceptance, change, repair; did you mean \"installation\"?",
        ),
        (
            "kind = \"coverage\"\ncoverage = 0.9\nminutes = 3",
            "fleet.toml:22 proposal.effect.minutes: an effect of kind \"coverage\" has no use for it; remove it",
        ),
        (
            "kind = \"inspection\"",
            "fleet.toml:19 proposal.effect.stages: missing; expected the stages at which end faces are to be looked at",
        ),
        (
            "kind = \"cleaning\"",
            "fleet.toml:19 proposal.effect.odds: missing; expected what it multiplies the odds of passing a cycle by, or `method` and `instead_of`",
        ),
        (
            "kind = \"cleaning\"\nmethod = \"dry\"",
            "fleet.toml:19 proposal.effect.instead_of: missing; expected the method whose place it takes",
        ),
        (
            "kind = \"cleaning\"\nmethod = \"dry\"\ninstead_of = \"dri\"",
            "fleet.toml:22 proposal.effect.instead_of: found \"dri\", expected one of dry, wet-dry, wet, non-contact; did you mean \"dry\"?",
        ),
        (
            "kind = \"entry\"\nfrom = \"incoming\"\nto = \"change\"\ntimes = 0.5",
            "fleet.toml:22 proposal.effect.to: found \"change\", expected the stage after `from`, or `from` itself",
        ),
        (
            "kind = \"minutes\"\nminutes = 2\ncapacity = -1",
            "fleet.toml:22 proposal.effect.capacity: found -1, expected what a unit serves in a year, from 0 to 1000000000",
        ),
        (
            "kind = \"carriers\"\nkinds = [\"tool\"]",
            "fleet.toml:21 proposal.effect.kinds: found \"tool\", expected one of end-face, tool-cleaning, tool-soiling",
        ),
        (
            "kind = \"minutes\"\nminits = 2\nminutes = 2",
            "fleet.toml:21 proposal.effect.minits: unknown key; did you mean `minutes`?",
        ),
    ];
    for (keys, said) in cases {
        let found = problems(&with_effect(keys));
        assert!(found.lines().any(|line| line.starts_with(said)), "{keys}\n{found}");
    }
}

#[test]
fn what_is_wrong_with_a_proposal_is_told_at_its_line() {
    let text = least_and(&format!("{COSTS}[budget]\n[[proposal]]\nunits = 0\nprise = 3\n"));
    assert_eq!(
        problems(&text),
        "\
fleet.toml:15 budget.amount: missing; expected what may be spent
fleet.toml:16 proposal.effect: missing; expected at least one [[proposal.effect]]
fleet.toml:16 proposal.life_months: missing; expected the months that it works
fleet.toml:16 proposal.name: missing; expected a name
fleet.toml:16 proposal.price: missing; expected the price of one unit
fleet.toml:17 proposal.units: found 0, expected a whole number from 1 to 1000000
fleet.toml:18 proposal.prise: unknown key; did you mean `price`? (known: name, price, units, life_months, starts_after_months, running_cost, excludes, needs, monthly_price, training_cost, effect)"
    );
}

#[test]
fn names_are_told_apart_and_twenty_is_the_most() {
    let one = |name: &str| {
        format!(
            "[[proposal]]\nname = \"{name}\"\nprice = 1\nlife_months = 1\n[[proposal.effect]]\nkind = \"carriers\"\n"
        )
    };
    let twice = least_and(&format!("{COSTS}{}{}", one("A"), one("A")));
    let said = "fleet.toml:22 proposal.name: found \"A\" a second time; name it otherwise";
    assert_eq!(problems(&twice), said);
    let many: String = (0..21).map(|number| one(&format!("P{number}"))).collect();
    let said = problems(&least_and(&format!("{COSTS}{many}")));
    let expected = "found 21 proposals, expected at most 20: every set of them is tried for the best one under a budget";
    assert!(said.contains(expected), "{said}");
}

#[test]
fn a_proposal_needs_prices_and_a_discount_rate() {
    let whole = with_effect("kind = \"carriers\"");
    let said = problems(&whole.replace("discount_rate = 0.05\n", ""));
    assert!(
        said.starts_with(
            "fleet.toml:6 costs.discount_rate: missing; expected the discount rate a year"
        ),
        "{said}"
    );
    let said = problems(&whole.replace(COSTS, ""));
    assert!(
        said.contains("costs: missing; a [[proposal]] is judged by the prices of [costs]"),
        "{said}"
    );
    let said = problems(&whole.replace("discount_rate = 0.05", "discount_rate = 5"));
    assert_eq!(
        said,
        "fleet.toml:14 costs.discount_rate: found 5, expected a share a year from 0 to 1"
    );
}
