//! A second, slower formulation of the order of events, V1 to V5, C1, C2 and the end of a mating,
//! straight from the sentences of section 4. It shares no code with the program and compares
//! every event with every other.

use super::random::{Case, Done, METHODS, Mated, Work};

/// What happened to one end face.
#[derive(Clone, Copy, Debug)]
pub enum What {
    Work(Work),
    Mating(Mated),
    /// Of the mating given.
    Demating(Mated),
}

#[derive(Clone, Copy, Debug)]
pub struct Happened {
    pub at: i64,
    pub what: What,
}

/// A visit in words: start, stage, first outcome, cycles, `passed_at`, ending, cleanings.
pub type Told =
    (i64, usize, Option<bool>, Vec<(String, usize, bool)>, Option<usize>, &'static str, usize);

/// Whether `a` comes before `b`, two events of one end face; `all` are its events.
fn before(a: &Happened, b: &Happened, all: &[Happened]) -> bool {
    if a.at != b.at {
        return a.at < b.at;
    }
    let class = |event: &Happened| match event.what {
        What::Demating(mating) if mating.at < event.at => 0,
        What::Work(_) => 1,
        _ => 2,
    };
    if class(a) != class(b) {
        return class(a) < class(b);
    }
    match (a.what, b.what) {
        (What::Work(x), What::Work(y)) if x.source == y.source => inside(&x) < inside(&y),
        (What::Work(x), What::Work(y)) => {
            let begins_with_look = |work: Work| {
                let same = all.iter().filter_map(|event| match event.what {
                    What::Work(other) => Some(other),
                    _ => None,
                });
                let same = same.filter(|other| (other.source, other.at) == (work.source, work.at));
                let first = same.min_by_key(inside);
                first.is_some_and(|first| !matches!(first.done, Done::Clean(_)))
            };
            (begins_with_look(x), x.source) < (begins_with_look(y), y.source)
        }
        _ => mating_rank(a) < mating_rank(b),
    }
}

/// Inside a source: seq, cleaning before inspection, record.
fn inside(work: &Work) -> (i64, bool, usize) {
    (work.seq, !matches!(work.done, Done::Clean(_)), work.record)
}

/// Matings by seq (then record), each followed by its own demating.
fn mating_rank(event: &Happened) -> (i64, usize, bool) {
    match event.what {
        What::Mating(mating) => (mating.seq, mating.record, false),
        What::Demating(mating) => (mating.seq, mating.record, true),
        What::Work(work) => (work.seq, work.record, false),
    }
}

/// The events of one end face in order: each goes where as many come before it.
pub fn ordered(case: &Case, face: usize) -> Vec<Happened> {
    let mut all = Vec::new();
    for work in case.work.iter().filter(|work| work.face == face) {
        all.push(Happened { at: work.at, what: What::Work(*work) });
    }
    for mating in case.matings.iter().filter(|mating| mating.ends.contains(&Some(face))) {
        all.push(Happened { at: mating.at, what: What::Mating(*mating) });
        if let Some(at) = mating.demated {
            all.push(Happened { at, what: What::Demating(*mating) });
        }
    }
    let mut placed: Vec<(usize, Happened)> = all
        .iter()
        .map(|event| (all.iter().filter(|other| before(other, event, &all)).count(), *event))
        .collect();
    placed.sort_by_key(|(place, _)| *place);
    placed.into_iter().map(|(_, event)| event).collect()
}

/// V1 for one end face: its events cut into visits, unreadable looks left in their places.
pub fn visits(events: &[Happened]) -> Vec<Vec<Work>> {
    let mut visits: Vec<Vec<Work>> = Vec::new();
    let mut fresh = true;
    for event in events {
        match event.what {
            What::Mating(_) => fresh = true,
            What::Demating(_) => {}
            What::Work(work) => {
                let joins = !fresh && visits.last().is_some_and(|visit| belongs(&work, visit));
                match (work.done == Done::Unreadable, joins) {
                    (_, true) => visits.last_mut().unwrap().push(work),
                    (true, false) => {}
                    (false, false) => {
                        visits.push(vec![work]);
                        fresh = false;
                    }
                }
            }
        }
    }
    visits
}

fn belongs(work: &Work, visit: &[Work]) -> bool {
    let events: Vec<&Work> = visit.iter().filter(|event| event.done != Done::Unreadable).collect();
    let known = events.iter().rev().map(|event| event.order).find(|order| *order != 0);
    let last = events[events.len() - 1];
    work.at - last.at <= 8
        && work.stage == last.stage
        && (work.order == 0 || known.is_none_or(|known| known == work.order))
}

/// Every visit of an end face.
pub fn told(case: &Case, face: usize) -> Vec<Told> {
    visits(&ordered(case, face)).iter().map(|visit| tell(visit)).collect()
}

fn tell(visit: &[Work]) -> Told {
    let events: Vec<&Work> = visit.iter().filter(|event| event.done != Done::Unreadable).collect();
    let passed = |event: &Work| match event.done {
        Done::Pass => Some(true),
        Done::Fail => Some(false),
        _ => None,
    };
    let is_cleaning = |event: &Work| matches!(event.done, Done::Clean(_));
    let mut cycles = Vec::new();
    let mut passed_at = None;
    let mut any_pass = false;
    for (place, event) in events.iter().enumerate() {
        let Some(pass) = passed(event) else { continue };
        let run: Vec<&&Work> =
            events[..place].iter().rev().take_while(|event| is_cleaning(event)).collect();
        if !run.is_empty() {
            cycles.push((method(&run), run.len(), pass));
        }
        if pass && !any_pass {
            any_pass = true;
            passed_at = (place == 0 || !run.is_empty()).then_some(cycles.len());
        }
    }
    let cleanings = events.iter().filter(|event| is_cleaning(event)).count();
    let first = passed(events[0]);
    (events[0].at, events[0].stage, first, cycles, passed_at, ending(visit, &events), cleanings)
}

fn method(run: &[&&Work]) -> String {
    let all: Vec<&str> = run
        .iter()
        .filter_map(|event| match event.done {
            Done::Clean(method) => Some(METHODS[method]),
            _ => None,
        })
        .collect();
    if all.iter().all(|method| *method == all[0]) { all[0].to_owned() } else { "mixed".to_owned() }
}

/// 4.4: pairs of consecutive visits, and of the usable ones those clean and dirty. Fails of these cases
/// are without a finding, so none is dirty.
pub fn passages(by_face: &[Vec<Told>]) -> [i64; 3] {
    let pairs = || by_face.iter().flat_map(|visits| visits.windows(2));
    let clean = pairs().filter(|pair| {
        let (earlier, later) = (&pair[0], &pair[1]);
        earlier.5 == "passed" && later.2 == Some(true) && later.1 >= earlier.1
    });
    [pairs().count() as i64, clean.count() as i64, 0]
}

/// V5. An unreadable look counts where it was rejected and nothing but unreadable looks follows.
fn ending(visit: &[Work], events: &[&Work]) -> &'static str {
    let last = events[events.len() - 1];
    let after = visit.iter().rev().take_while(|event| event.done == Done::Unreadable);
    if last.reject || after.into_iter().any(|event| event.reject) {
        return "rejected";
    }
    match last.done {
        Done::Pass => "passed",
        Done::Fail => "left-failing",
        _ => "unverified",
    }
}

/// C2 and the end of the time in force (none where it lasts), for every mating.
pub fn matings(case: &Case) -> Vec<(&'static str, Option<i64>)> {
    case.matings.iter().map(|mating| (coverage(case, mating), in_force_end(case, mating))).collect()
}

fn coverage(case: &Case, mating: &Mated) -> &'static str {
    let ends: Vec<Option<bool>> =
        mating.ends.iter().flatten().map(|face| seen(case, mating, *face)).collect();
    let unseen = ends.iter().filter(|end| end.is_none()).count();
    let looks = || case.work.iter().filter(|work| !matches!(work.done, Done::Clean(_)));
    let covered = looks().any(|look| look.at <= mating.at - 24);
    // February has 48 hours left when the cases begin.
    let month = |at: i64| at >= 48;
    let silent = !looks().any(|look| month(look.at) == month(mating.at));
    if ends.contains(&Some(false)) {
        "despite-fail"
    } else if ends.len() < 2 || (unseen > 0 && (!covered || silent)) {
        "unknown"
    } else {
        ["both", "one", "none"][unseen]
    }
}

/// C1: whether the last look that still counts passed.
fn seen(case: &Case, mating: &Mated, face: usize) -> Option<bool> {
    let events = ordered(case, face);
    let own = |event: &Happened| matches!(event.what, What::Mating(m) if m.record == mating.record);
    let place = events.iter().position(own).unwrap();
    let last = events[..place].iter().rev().find_map(|event| match event.what {
        What::Work(work) if work.done == Done::Unreadable => None,
        What::Work(work) => Some(Some(work)),
        _ => Some(None),
    });
    let look = last.flatten().filter(|look| mating.at - look.at <= 24)?;
    match look.done {
        Done::Pass => Some(true),
        Done::Fail => Some(false),
        _ => None,
    }
}

/// The earliest of its demating and the next mating of either end.
pub fn in_force_end(case: &Case, mating: &Mated) -> Option<i64> {
    let next = mating.ends.iter().flatten().filter_map(|face| {
        let events = ordered(case, *face);
        let mut matings = events.iter().filter_map(|event| match event.what {
            What::Mating(other) => Some(other),
            _ => None,
        });
        matings.find(|other| other.record == mating.record)?;
        matings.next().map(|next| next.at)
    });
    next.chain(mating.demated).min()
}
