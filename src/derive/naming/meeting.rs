//! Which names meet: per site and pair of voices, both ways; what each rule not in the settings would bring to meet, and
//! how many names of one voice it would merge, which speaks against it; which names look most alike.

use std::cmp::Reverse;
use std::collections::BTreeMap;

use rustc_hash::{FxHashMap, FxHashSet};

use super::heard::{Heard, NamesOf, Voice};
use super::listen::listen;
use super::looser::{Looser, loosest_hash};
use crate::derive::DeriveError;
use crate::derive::scan::names::{Lists, Names};
use crate::intake::{AliasAccount, Spelling, Spellings};
use crate::records::Table;
use crate::settings::Plan;
use crate::store::Store;

/// Pairs of names that look alike which are shown of two voices.
const MOST_ALIKE: usize = 3;
/// Names without a partner for which a look-alike is searched, of one pair of voices.
const MOST_SEARCHED: usize = 48;
/// Neighbours in the order of letters that a name is compared with, on either side.
const NEIGHBOURS: usize = 12;
/// Share of names that meet from which on no look-alikes are shown, unless a rule would bring more to meet.
const MOST_TOLD: f64 = 0.5;
/// Part of what the loosest rules bring that a rule must bring to be taken.
const NEARLY: f64 = 0.95;
/// Names less alike than this are not shown.
const LEAST_ALIKE: f64 = 0.5;

/// One table of one source, as readers know it.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub struct Speaker {
    /// Name of the source.
    pub source: String,
    /// What its records are.
    pub table: Table,
}

/// How the names of two tables meet at one site.
#[derive(Clone, Debug, PartialEq)]
pub struct PairMeeting {
    /// The site.
    pub site: String,
    /// Who names end faces.
    pub speakers: [Speaker; 2],
    /// Distinct end faces that each names.
    pub names: [u64; 2],
    /// Those that both name.
    pub met: u64,
    /// Names of each that the other writes alike, and yet means another end face by: `end_face_names` or
    /// `one_name_both_sides` differ.
    pub told_apart: [u64; 2],
    /// Rules not in the settings that would bring names to meet.
    pub rules: Vec<RuleTried>,
    /// Names that do not meet and look most alike, the most alike first.
    pub alike: Vec<Alike>,
}

/// A rule, or several, that the settings do not have.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct RuleTried {
    /// As the settings would have it.
    pub typed: String,
    /// Names of each that would meet one of the other's, and do not now.
    pub brings: [u64; 2],
    /// Names of each that it would merge with another name of the same: evidence that the difference means something.
    pub merges: [u64; 2],
}

/// Two names that look alike.
#[derive(Clone, Debug, PartialEq)]
pub struct Alike {
    /// As each is spelled.
    pub names: [String; 2],
    /// 1 for the same text, 0 for nothing in common.
    pub likeness: f64,
}

/// Whether the sources of a fleet name end faces alike.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct NamesMeeting {
    /// By site, then by source and table.
    pub pairs: Vec<PairMeeting>,
    /// Of how many names one was compared: 1, unless the fleet is large.
    pub one_in: u64,
    /// What became of the rows of the alias tables.
    pub aliases: Vec<AliasAccount>,
}

impl PairMeeting {
    /// Share of the names of each that the other has too.
    pub fn shares(&self) -> [f64; 2] {
        self.names.map(|names| self.met as f64 / names.max(1) as f64)
    }

    /// Whether it is a sign of another spelling if few names of the one are the other's too.
    pub fn tells(&self, at: usize) -> bool {
        is_telling(self.speakers[at].table, self.speakers[1 - at].table)
    }
}

/// Reads the names of a store and compares them. For who reviews nothing; a review hears the names while it reads.
///
/// # Errors
/// Whatever the store or an alias table reports.
pub fn names_meeting(plan: &Plan, store: &Store) -> Result<NamesMeeting, DeriveError> {
    let (lists, spellings) = (Lists::of(plan), Spellings::read(plan)?);
    let threads = rayon::current_num_threads();
    let heard = listen(plan, store, &Table::ALL, (&lists, &spellings), threads)?;
    let sites = lists.site.into_inner().map_err(|_| DeriveError::Thread)?;
    Ok(compare(&heard, &sites, &source_names(store), &spellings))
}

/// Names of the sources in the store, by place.
pub fn source_names(store: &Store) -> BTreeMap<u16, String> {
    let parts = Table::ALL.into_iter().flat_map(|table| store.parts(table));
    parts.map(|part| (part.source_index as u16, part.source)).collect()
}

/// Compares what was heard.
pub fn compare(
    heard: &Heard,
    sites: &Names,
    sources: &BTreeMap<u16, String>,
    spellings: &Spellings,
) -> NamesMeeting {
    let speaker = |voice: Voice| Speaker {
        source: sources.get(&voice.source).cloned().unwrap_or_default(),
        table: voice.table,
    };
    let mut voices: Vec<(String, Speaker, Spoken)> = heard
        .voices()
        .iter()
        .filter(|(_, names)| !names.is_empty())
        .map(|(voice, names)| {
            (sites.word(voice.site).to_owned(), speaker(*voice), Spoken::of(names))
        })
        .collect();
    voices.sort_by(|a, b| (&a.0, &a.1).cmp(&(&b.0, &b.1)));
    let mut pairs = Vec::new();
    for at_site in voices.chunk_by(|a, b| a.0 == b.0) {
        for (site, one, names) in at_site {
            for (_, other, others) in at_site {
                if are_compared(one.table, other.table) {
                    let speakers = [one.clone(), other.clone()];
                    pairs.push(pair(site, speakers, [names, others]));
                }
            }
        }
    }
    NamesMeeting { pairs, one_in: heard.one_in(), aliases: spellings.accounts().to_vec() }
}

/// The names of one voice, and which of them any rule might make alike: only names of one loosest spelling can be.
struct Spoken<'n> {
    names: &'n NamesOf,
    by_loosest: FxHashMap<u64, Vec<&'n str>>,
}

impl<'n> Spoken<'n> {
    fn of(names: &'n NamesOf) -> Spoken<'n> {
        let mut by_loosest: FxHashMap<u64, Vec<&str>> = FxHashMap::default();
        for name in names.values() {
            by_loosest.entry(loosest_hash(name)).or_default().push(name);
        }
        for alike in by_loosest.values_mut() {
            // Two end faces may have one name, where it is of one side or site.
            alike.sort_unstable();
            alike.dedup();
        }
        Spoken { names, by_loosest }
    }

    /// Its names of a loosest spelling.
    fn like(&self, hash: u64) -> &[&'n str] {
        self.by_loosest.get(&hash).map_or(&[], Vec::as_slice)
    }

    /// Whether it writes a name so.
    fn writes(&self, name: &str, hash: u64) -> bool {
        self.like(hash).contains(&name)
    }

    /// Names that are the same as another of its names under the rules, less one of each spelling.
    fn merged(&self, rules: &Spelling) -> u64 {
        let several = self.by_loosest.values().filter(|alike| alike.len() > 1);
        let merged = several.map(|alike| {
            let spelled: FxHashSet<_> = alike.iter().map(|name| rules.spelled(name)).collect();
            alike.len() - spelled.len()
        });
        merged.sum::<usize>() as u64
    }
}

/// Whether names of the one table should be in the other too. What is cleaned, mated or has a fault was looked at, and
/// all of it is registered; but few of what was looked at have a fault, and a register holds what nobody touched.
pub fn is_telling(one: Table, other: Table) -> bool {
    match (one, other) {
        (Table::EndFaces, _) => false,
        (_, Table::EndFaces | Table::Inspections) => true,
        (Table::Inspections, Table::Matings) => true,
        _ => false,
    }
}

/// Looks against what was done to end faces, and everything against the register.
fn are_compared(one: Table, other: Table) -> bool {
    match (one, other) {
        (Table::EndFaces, _) | (_, Table::Inspections) => false,
        (Table::Inspections, _) | (_, Table::EndFaces) => true,
        _ => false,
    }
}

fn pair(site: &str, speakers: [Speaker; 2], spoken: [&Spoken; 2]) -> PairMeeting {
    let names = spoken.map(|spoken| spoken.names);
    let met = names[0].keys().filter(|key| names[1].contains_key(key)).count() as u64;
    let counts = names.map(|names| names.len() as u64);
    let mut found = PairMeeting {
        site: site.to_owned(),
        speakers,
        names: counts,
        met,
        told_apart: [0, 0],
        rules: Vec::new(),
        alike: Vec::new(),
    };
    if met == counts[0] || met == counts[1] {
        return found;
    }
    // Names without a partner, with the hashes of their loosest spelling.
    let mut unmet = [0, 1].map(|at: usize| -> Vec<(&str, u64)> {
        let other = names[1 - at];
        let unmet = names[at].iter().filter(|(key, _)| !other.contains_key(key));
        unmet.map(|(_, name)| (&**name, loosest_hash(name))).collect()
    });
    for at in [0, 1] {
        let all = unmet[at].len();
        // Written alike already: no spelling is what keeps these apart.
        unmet[at].retain(|(name, hash)| !spoken[1 - at].writes(name, *hash));
        found.told_apart[at] = (all - unmet[at].len()) as u64;
    }
    found.rules = rules(&unmet, spoken);
    let few = |at: usize| found.tells(at) && found.shares()[at] < MOST_TOLD;
    if !found.rules.is_empty() || few(0) || few(1) {
        found.alike = alike(unmet);
    }
    found
}

/// The single rules that bring anything to meet, and a combination that brings more. The one to take stands first: of
/// those that bring nearly as much as any, the one that merges least.
fn rules(unmet: &[Vec<(&str, u64)>; 2], spoken: [&Spoken; 2]) -> Vec<RuleTried> {
    let likely = [0, 1].map(|at: usize| -> Vec<(&str, u64)> {
        let names = unmet[at].iter().copied();
        names.filter(|(_, hash)| !spoken[1 - at].like(*hash).is_empty()).collect()
    });
    if likely.iter().all(Vec::is_empty) {
        return Vec::new();
    }
    let brings = |rule: &RuleTried| rule.brings.iter().sum::<u64>();
    let merges = |rule: &RuleTried| rule.merges.iter().sum::<u64>();
    let all = Looser::all().into_iter();
    let mut all: Vec<(usize, RuleTried)> = all
        .map(|rules| (rules.count(), tried(rules, &likely, spoken)))
        .filter(|(_, rule)| rule.brings != [0, 0])
        .collect();
    let most = all.iter().map(|(_, rule)| brings(rule)).max().unwrap_or(0);
    let nearly = |rule: &RuleTried| brings(rule) as f64 >= NEARLY * most as f64;
    // Rules of fewer parts come first, and of equals the first is taken.
    let candidates = all.iter().enumerate().filter(|(_, (_, rule))| nearly(rule));
    let best = candidates.min_by_key(|(_, (_, rule))| (merges(rule), Reverse(brings(rule))));
    let Some(best) = best.map(|(at, _)| at) else { return Vec::new() };
    let best = all.remove(best);
    all.retain(|(count, _)| *count == 1);
    all.sort_by_key(|(_, rule)| Reverse(brings(rule)));
    // What merges more names than it brings to meet is no rule of spelling.
    let is_worth_it = best.0 == 1 || brings(&best.1) > merges(&best.1);
    let best = Some(best).filter(|_| is_worth_it);
    best.into_iter().chain(all).map(|(_, rule)| rule).collect()
}

fn tried(rules: Looser, likely: &[Vec<(&str, u64)>; 2], spoken: [&Spoken; 2]) -> RuleTried {
    let spelling = rules.spelling();
    let brings = [0, 1].map(|at: usize| {
        let meets = |(name, hash): &&(&str, u64)| {
            let spelled = spelling.spelled(name);
            spoken[1 - at].like(*hash).iter().any(|other| spelling.spelled(other) == spelled)
        };
        likely[at].iter().filter(meets).count() as u64
    });
    let merges = spoken.map(|spoken| spoken.merged(&spelling));
    RuleTried { typed: rules.typed(), brings, merges }
}

/// The names without a partner that look most alike: each of some of the one is compared with its neighbours among the
/// other's in the order of letters, from the front and from the back, under the loosest spelling.
fn alike(unmet: [Vec<(&str, u64)>; 2]) -> Vec<Alike> {
    let [mut left, right] = unmet;
    left.sort_unstable();
    let loosest = Looser::LOOSEST.spelling();
    let back = |name: &str| name.chars().rev().collect::<String>();
    let sorted = |turn: &dyn Fn(&str) -> String| -> Vec<(String, &str)> {
        let names = right.iter().map(|(name, _)| (turn(&loosest.spelled(name)), *name));
        let mut names: Vec<(String, &str)> = names.collect();
        names.sort_unstable();
        names
    };
    let orders = [sorted(&str::to_owned), sorted(&back)];
    let mut found: Vec<Alike> = Vec::new();
    let step = left.len().div_ceil(MOST_SEARCHED).max(1);
    for (name, _) in left.iter().step_by(step) {
        let loose = loosest.spelled(name);
        let turned = [loose.to_string(), back(&loose)];
        let near = orders.iter().zip(&turned).flat_map(|(order, turned)| {
            let at = order.partition_point(|(other, _)| other < turned);
            &order[at.saturating_sub(NEIGHBOURS)..(at + NEIGHBOURS).min(order.len())]
        });
        // Alike under the loosest spelling and as written: marks weigh less than letters.
        let likeness = |other: &str| {
            let loosely = strsim::normalized_damerau_levenshtein(&loose, &loosest.spelled(other));
            let strictly = strsim::normalized_damerau_levenshtein(name, other);
            (loosely + strictly) / 2.0
        };
        let best = near
            .map(|(_, other)| (likeness(other), *other))
            .max_by(|a, b| a.0.total_cmp(&b.0).then_with(|| b.1.cmp(a.1)));
        if let Some((likeness, other)) = best.filter(|(likeness, _)| *likeness >= LEAST_ALIKE) {
            found.push(Alike { names: [(*name).to_owned(), other.to_owned()], likeness });
        }
    }
    found.sort_by(|a, b| b.likeness.total_cmp(&a.likeness).then_with(|| a.names.cmp(&b.names)));
    found.truncate(MOST_ALIKE);
    found
}
