use motetrail::stats::clustered::Resemblance;
use motetrail::stats::{ClusterSums, Lasting, Piece, Rests, Span};

/// Fewest clusters that tell.
const FEW: u64 = 10;

/// Twenty sites in three quarters, two work orders of ten units a week; `failing` says how many of an order's fail, by site
/// and week.
fn pieces(failing: impl Fn(u32, u32) -> u64) -> Vec<Piece> {
    let mut all = Vec::new();
    for site in 0..20 {
        for week in 0..39 {
            for half in 0..2 {
                let order = u64::from(week) * 2 + half;
                // Half of the orders have one more, so that no length is without scatter.
                let events = failing(site, week) + (u64::from(site) + order + half) % 2;
                let (quarter, stratum) = (week / 13, site.into());
                all.push(Piece { site, quarter, week, order, stratum, n: 10, events });
            }
        }
    }
    all
}

/// A number from 0 to 3 that looks like luck, always the same of the same spell of a site.
fn luck(site: u32, spell: u32) -> u64 {
    let mixed = u64::from(site * 1_000 + spell + 1).wrapping_mul(0x9E37_79B9_7F4A_7C15);
    (mixed ^ (mixed >> 29)).wrapping_mul(0xBF58_476D_1CE4_E5B9) >> 62
}

fn span(failing: impl Fn(u32, u32) -> u64) -> Span {
    Lasting::of(&pieces(failing), Span::Order, FEW).span
}

#[test]
fn clusters_are_as_long_as_the_luck_of_a_site() {
    assert_eq!(span(|_, _| 2), Span::Order);
    assert_eq!(span(luck), Span::Week);
    assert_eq!(span(|site, week| luck(site, week / 4)), Span::Month);
    assert_eq!(span(|site, week| luck(site, week / 13)), Span::Quarter);
}

#[test]
fn sites_that_differ_are_no_luck() {
    assert_eq!(span(|site, _| u64::from(site % 8)), Span::Order);
}

/// The outcome that is not counted is as lucky as the one that is.
#[test]
fn a_share_and_what_is_missing_to_one_last_alike() {
    let failing = pieces(|site, week| luck(site, week / 4));
    let passing: Vec<Piece> =
        failing.iter().map(|piece| Piece { events: piece.n - piece.events, ..*piece }).collect();
    let [a, b] = [failing, passing].map(|all| Lasting::of(&all, Span::Week, FEW));
    assert_eq!(a, b);
}

fn sums(clusters: &[(u64, u64)]) -> ClusterSums {
    let mut sums = ClusterSums::default();
    clusters.iter().for_each(|(n, events)| sums.add(*n, *events));
    sums
}

/// By hand: three months of 80, 80 and 40 units; a unit is in one of `(80^2 + 80^2 + 40^2) / 200 = 72` on average.
#[test]
fn a_row_of_few_blocks_takes_the_correlation_of_all_sites() {
    let lasting = Lasting::of(&pieces(|site, week| luck(site, week / 4)), Span::Order, FEW);
    assert_eq!(lasting.span, Span::Month);
    assert!((0.02..0.5).contains(&lasting.correlation), "{lasting:?}");
    let few = sums(&[(80, 10), (80, 14), (40, 30)]);
    let deff = 1.0 + 71.0 * lasting.correlation;
    let Rests { resemblance, clusters } = lasting.rests_of(&few);
    assert!((resemblance.deff / deff - 1.0).abs() < 1e-12, "{resemblance:?}");
    assert_eq!((resemblance.df, clusters), (lasting.df, lasting.clusters));
    assert_eq!(lasting.rests(&[few])[0], Rests { resemblance, clusters });
    let many = sums(&[(20, 3); 10]);
    assert_eq!(
        lasting.rests_of(&many),
        Rests { resemblance: Resemblance::of(&many), clusters: 10 }
    );
}

/// A table of weeks alone, where luck lasts no longer than work orders: its rows tell of themselves.
#[test]
fn rows_of_longer_clusters_than_luck_lasts_tell_of_themselves() {
    let lasting = Lasting::of(&pieces(|_, _| 2), Span::Order, FEW);
    assert_eq!(lasting.span, Span::Order);
    let weekly = lasting.at_least(Span::Week);
    assert_eq!(weekly.span, Span::Week);
    let few = sums(&[(80, 10), (80, 14), (40, 30)]);
    assert_eq!(weekly.rests_of(&few), Rests::of(&few));
    let months = Lasting::of(&pieces(|site, week| luck(site, week / 4)), Span::Order, FEW);
    assert_eq!(months.at_least(Span::Week), months);
}

#[test]
fn nothing_at_all_lasts_no_longer_than_the_shortest() {
    for shortest in [Span::Order, Span::Week] {
        let lasting = Lasting::of(&[], shortest, FEW);
        assert_eq!((lasting.span, lasting.correlation), (shortest, 0.0));
    }
}

/// Three sites have nine quarters, too few to be taken: where these scatter more than months, luck may last as long. Where
/// luck lasts a week or a month they do not, nor where it lasts no longer than a work order.
#[test]
fn few_quarters_that_scatter_more_make_rows_narrow() {
    let of = |sites: u32, failing: fn(u32, u32) -> u64| {
        let all: Vec<Piece> = pieces(failing).into_iter().filter(|p| p.site < sites).collect();
        Lasting::of(&all, Span::Order, FEW)
    };
    let few = of(3, |site, week| luck(site, week / 13));
    assert!(few.span == Span::Month && few.narrow, "{few:?}");
    let many = of(20, |site, week| luck(site, week / 13));
    assert!(many.span == Span::Quarter && !many.narrow, "{many:?}");
    for shorter in [|_, _| 2, luck, |site, week| luck(site, week / 4)] {
        assert!(!of(3, shorter).narrow);
    }
}
