//! Prints whether sources name end faces alike.

use super::printable::printable;
use super::say::say;
use crate::derive::{NamesMeeting, PairMeeting, Speaker, names_meeting};
use crate::intake::AliasAccount;
use crate::records::Table;
use crate::settings::Plan;
use crate::store::Store;

/// Pairs that are printed after an intake.
const MOST_PAIRS: usize = 6;
/// Names of a table below this prove nothing.
const LEAST_NAMES: u64 = 20;

/// Everything: alias tables, then every pair with what would bring more to meet.
///
/// # Errors
/// An alias table or the store.
pub(super) fn print_all(plan: &Plan, store: &Store) -> anyhow::Result<()> {
    let meeting = names_meeting(plan, store)?;
    for account in &meeting.aliases {
        print_aliases(account);
    }
    if meeting.one_in > 1 {
        say!("compared: one name in {}, of all sources the same ones", meeting.one_in);
    }
    say!("{:>9} {:>9} {:>9}", "named", "also", "share");
    for pair in &meeting.pairs {
        print_pair(pair);
        print_remedies(pair);
    }
    Ok(())
}

/// After an intake: the pairs of sources whose names meet least, or that all do. Whether some stand apart, which is
/// meeting in neither direction.
///
/// # Errors
/// An alias table or the store.
pub(super) fn print_low(plan: &Plan, store: &Store) -> anyhow::Result<bool> {
    let meeting = names_meeting(plan, store)?;
    for account in &meeting.aliases {
        print_aliases(account);
    }
    let least = plan.rules.least_meeting;
    let low = low(&meeting, least);
    for pair in low.iter().take(MOST_PAIRS) {
        print_pair(pair);
        print_remedies(pair);
    }
    match low.len() {
        0 if meeting.pairs.is_empty() => {}
        0 => say!("names of end faces meet at every site, for every pair of sources"),
        found => say!(
            "{found} pairs of sources of which less than {:.0} % of the names meet in one direction or both; see all with \
             motetrail spellings",
            100.0 * least
        ),
    }
    Ok(low.iter().any(|pair| pair.shares().iter().all(|share| *share < least)))
}

/// Pairs that hardly meet where they should, those first that meet in neither direction.
fn low(meeting: &NamesMeeting, least: f64) -> Vec<&PairMeeting> {
    let is_low = |pair: &&PairMeeting| {
        // A register may be of few end faces; then it names none but others do.
        let shares = pair.shares();
        let registers = pair.speakers[1].table == Table::EndFaces;
        let low =
            |at: usize| pair.tells(at) && shares[at] < least && !(registers && shares[1] >= least);
        pair.names.iter().all(|names| *names >= LEAST_NAMES) && (low(0) || low(1))
    };
    let mut low: Vec<&PairMeeting> = meeting.pairs.iter().filter(is_low).collect();
    let best = |pair: &PairMeeting| pair.shares().into_iter().fold(0.0, f64::max);
    low.sort_by(|a, b| best(a).total_cmp(&best(b)));
    low
}

fn print_aliases(account: &AliasAccount) {
    let AliasAccount { source, file, read, used, doubled, refused, reasons, .. } = account;
    let line = format!(
        "{source}: {file}: {read} rows of aliases read, {used} used, {doubled} doubled, {refused} refused"
    );
    say!("{}", printable(&line));
    for (line, reason) in reasons {
        say!("{:>9} {}", "", printable(&format!("{file}:{line} {reason}")));
    }
}

fn print_pair(pair: &PairMeeting) {
    for at in [0, 1] {
        let line = format!(
            "{:>9} {:>9} {:>7.1} %  {}: {} in {}",
            pair.names[at],
            pair.met,
            100.0 * pair.shares()[at],
            pair.site,
            speaker(&pair.speakers[at]),
            speaker(&pair.speakers[1 - at]),
        );
        say!("{}", printable(&line));
    }
}

/// What would bring more to meet, and names side by side.
fn print_remedies(pair: &PairMeeting) {
    let indent = " ".repeat(31);
    if pair.told_apart != [0, 0] {
        let [one, other] = pair.told_apart;
        say!(
            "{indent}{one} and {other} are written alike, but told apart: the sources differ in end_face_names or \
             one_name_both_sides"
        );
    }
    for rule in &pair.rules {
        let ([brings, also], [merges, others]) = (rule.brings, rule.merges);
        say!(
            "{indent}names = {{ {} }} would bring {brings} and {also} more to meet, and merge {merges} and {others}",
            rule.typed
        );
    }
    for alike in &pair.alike {
        let [one, other] = &alike.names;
        say!("{indent}{}", printable(&format!("{one:?} looks like {other:?}")));
    }
}

fn speaker(speaker: &Speaker) -> String {
    format!("{} ({})", speaker.source, speaker.table.name())
}
