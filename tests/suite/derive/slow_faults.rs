//! The slow formulation of what tickets do, straight from the sentences of section 4: F2 and F3, V7's
//! `prompted`, C3's reseats. It shares no code with the program. Times are half-hours.

use super::random::{Case, Names, Ticket};
use super::slow::{What, in_force_end, ordered, visits};

/// A ticket's mating by its place among the matings, and when it counts there.
type Attached = Option<(usize, i64)>;

/// F2.
fn attached(case: &Case, ticket: &Ticket) -> Attached {
    match ticket.names {
        Names::Neither => None,
        Names::Mating(mating) => Some((mating, opened(case, ticket))),
        Names::Face(face) => {
            let on_face: Vec<usize> = matings_of(case, face);
            let began = |mating: usize| 2 * case.matings[mating].at;
            let ended = |mating: usize| in_force_end(case, &case.matings[mating]).map(|at| 2 * at);
            // Tickets that name an end face are never of the instant of a mating here, so that of all
            // matings of the end face one at most is in force.
            let place = on_face.iter().position(|mating| {
                began(*mating) < ticket.opened
                    && ended(*mating).is_none_or(|end| ticket.opened <= end)
            })?;
            let young = ticket.opened - began(on_face[place]) < 2 * 12;
            match place.checked_sub(1).map(|before| on_face[before]) {
                // All of a case lies within seven days: whatever was before was replaced.
                Some(before) if young => Some((before, ended(before).unwrap())),
                _ => Some((on_face[place], ticket.opened)),
            }
        }
    }
}

/// Matings of an end face in order, as places among the matings.
fn matings_of(case: &Case, face: usize) -> Vec<usize> {
    let events = ordered(case, face);
    let made = events.iter().filter_map(|event| match event.what {
        What::Mating(mating) => case.matings.iter().position(|own| own.record == mating.record),
        _ => None,
    });
    made.collect()
}

/// `opened` as written; known to the day, it is the day's start, or the mating that it names where that
/// is of that day.
fn opened(case: &Case, ticket: &Ticket) -> i64 {
    match ticket.names {
        Names::Mating(mating) if ticket.by_day => {
            let made = 2 * case.matings[mating].at;
            if made / 48 == ticket.opened / 48 { made } else { ticket.opened }
        }
        _ => ticket.opened,
    }
}

/// F3: by mating, when its faults count and of how many tickets each is.
pub fn faults(case: &Case) -> Vec<Vec<(i64, u32)>> {
    let of = |mating: usize| {
        let mut times = times_on(case, mating);
        times.sort();
        let mut faults: Vec<(i64, u32)> = Vec::new();
        for time in times {
            match faults.last_mut() {
                Some((first, tickets)) if time - *first <= 2 * 24 => *tickets += 1,
                _ => faults.push((time, 1)),
            }
        }
        faults
    };
    (0..case.matings.len()).map(of).collect()
}

/// When each ticket of a mating counts.
fn times_on(case: &Case, mating: usize) -> Vec<i64> {
    let all = case.tickets.iter().filter_map(|ticket| attached(case, ticket));
    all.filter(|(own, _)| *own == mating).map(|(_, time)| time).collect()
}

/// C3, by mating.
pub fn reseats(case: &Case) -> Vec<bool> {
    let of = |place: usize| {
        let mating = &case.matings[place];
        let (Some(demated), [Some(a), Some(b)]) = (mating.demated, mating.ends) else {
            return false;
        };
        let next = |face: usize| {
            let on_face = matings_of(case, face);
            let own = on_face.iter().position(|other| *other == place).unwrap();
            on_face.get(own + 1).copied()
        };
        let rejoined = next(a).filter(|again| next(b) == Some(*again));
        rejoined.is_some_and(|again| (0..=24).contains(&(case.matings[again].at - demated)))
            && times_on(case, place).iter().all(|time| *time < 2 * (demated - 24))
    };
    (0..case.matings.len()).map(of).collect()
}

/// V7: start and stage of every visit of an end face, and whether a fault prompted it.
pub fn prompted(case: &Case, face: usize) -> Vec<(i64, usize, bool)> {
    let events = ordered(case, face);
    let of_work = |event: &What, record: usize| match event {
        What::Work(work) => work.record == record,
        _ => false,
    };
    let tell = |visit: &Vec<super::random::Work>| {
        let first = visit[0];
        let place = events.iter().position(|event| of_work(&event.what, first.record)).unwrap();
        let last_mating = events[..place].iter().rev().find_map(|event| match event.what {
            What::Mating(mating) => {
                case.matings.iter().position(|other| other.record == mating.record)
            }
            _ => None,
        });
        let readable = visit.iter().filter(|work| work.done != super::random::Done::Unreadable);
        let order = readable.map(|work| work.order).rfind(|order| *order != 0);
        let start = 2 * first.at;
        let prompts = |ticket: &Ticket| {
            if order.is_some_and(|order| order == ticket.order) {
                return true;
            }
            let of_mating = attached(case, ticket).is_some_and(|(own, _)| last_mating == Some(own));
            let from = opened(case, ticket);
            let before = ticket.cleared.unwrap_or(from + 2 * 24 * 30);
            let is_open = from <= start && start < before;
            let soon = start <= from && from <= start + 2 * 24;
            (ticket.names == Names::Face(face) || of_mating) && (is_open || soon)
        };
        (first.at, first.stage, case.tickets.iter().any(prompts))
    };
    visits(&events).iter().map(tell).collect()
}
