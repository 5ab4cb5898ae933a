//! Small random fleets with many ties, as rows that a plain formulation can read and as CSV text.

use proptest::collection::vec;
use proptest::prelude::*;

use super::fleet::{Fleet, fleet};

/// Names of the end faces.
pub const FACES: [&str; 4] = ["p", "q", "r", "s"];
/// Names of the stages.
pub const STAGES: [&str; 2] = ["incoming", "installation"];
/// Methods.
pub const METHODS: [&str; 2] = ["dry", "wet"];
/// Names of the sources that look and clean.
pub const SOURCES: [&str; 2] = ["a", "b"];
/// Hours after 27 February 2026 00:00 at which the cases begin; they end in the first days of
/// March, so that a month turns on the way.
const HOURS: i64 = 110;

/// What a row says happened.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Done {
    Pass,
    Fail,
    Unreadable,
    /// Method.
    Clean(usize),
}

/// A look or a cleaning.
#[derive(Clone, Copy, Debug)]
pub struct Work {
    /// Place among all rows: its record id is written from it.
    pub record: usize,
    pub source: usize,
    /// Hours.
    pub at: i64,
    pub seq: i64,
    pub face: usize,
    pub stage: usize,
    /// 0 for none.
    pub order: usize,
    pub done: Done,
    /// A disposition that takes the end face out of use; of looks only.
    pub reject: bool,
}

/// A mating. Ends may be the same end face only by mistake, so they never are here.
#[derive(Clone, Copy, Debug)]
pub struct Mated {
    pub record: usize,
    pub at: i64,
    pub seq: i64,
    /// None: not identified.
    pub ends: [Option<usize>; 2],
    pub demated: Option<i64>,
}

/// What a ticket names: a mating by its place as drawn, an end face, or neither.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Names {
    Mating(usize),
    Face(usize),
    Neither,
}

/// A trouble ticket. Times are half-hours after the hours' beginning.
#[derive(Clone, Copy, Debug)]
pub struct Ticket {
    pub record: usize,
    /// A full hour, or the start of a day; a half-hour where it names an end face, so that no mating
    /// is of that instant.
    pub opened: i64,
    pub by_day: bool,
    pub cleared: Option<i64>,
    pub names: Names,
    /// 0 for none.
    pub order: usize,
}

/// One random fleet.
#[derive(Clone, Debug)]
pub struct Case {
    pub work: Vec<Work>,
    pub matings: Vec<Mated>,
    pub tickets: Vec<Ticket>,
}

fn work() -> impl Strategy<Value = Work> {
    let done = prop_oneof![
        3 => Just(Done::Pass),
        3 => Just(Done::Fail),
        1 => Just(Done::Unreadable),
        2 => Just(Done::Clean(0)),
        1 => Just(Done::Clean(1)),
    ];
    let place = (0usize..2, 0..HOURS, 1i64..3, 0..FACES.len());
    let kind = (
        prop_oneof![5 => Just(0usize), 1 => Just(1)],
        prop_oneof![4 => Just(0usize), 1 => Just(1), 1 => Just(2)],
        done,
        0u32..5,
    );
    (place, kind).prop_map(|((source, at, seq, face), (stage, order, done, reject))| Work {
        record: 0,
        source,
        at,
        seq,
        face,
        stage,
        order,
        done,
        reject: reject == 0 && !matches!(done, Done::Clean(_)),
    })
}

fn mated() -> impl Strategy<Value = Mated> {
    let ends = (0..FACES.len(), 1..FACES.len() + 1);
    let times = (0..HOURS, 1i64..3, proptest::option::of(0i64..30));
    (ends, times).prop_map(|((a, step), (at, seq, lasts))| Mated {
        record: 0,
        at,
        seq,
        ends: [Some(a), (step < FACES.len()).then_some((a + step) % FACES.len())],
        demated: lasts.map(|hours| at + hours),
    })
}

fn ticket() -> impl Strategy<Value = Ticket> {
    let names = prop_oneof![
        4 => (0usize..10).prop_map(Names::Mating),
        3 => (0..FACES.len()).prop_map(Names::Face),
        1 => Just(Names::Neither),
    ];
    let times = (0..HOURS, 0u32..4, proptest::option::of(0i64..60));
    // A third work order is no visit's.
    let order = prop_oneof![6 => Just(0usize), 1 => Just(1), 1 => Just(2), 1 => Just(3)];
    (names, times, order).prop_map(|(names, (hour, precision, lasts), order)| {
        let by_day = precision == 0 && !matches!(names, Names::Face(_));
        let opened = match names {
            Names::Face(_) => 2 * hour + 1,
            _ if by_day => hour / 24 * 48,
            _ => 2 * hour,
        };
        let cleared = lasts.map(|halves| opened + halves);
        Ticket { record: 0, opened, by_day, cleared, names, order }
    })
}

/// Any small fleet. Some events are gathered on every fourth hour, so that many are of one instant.
pub fn case() -> impl Strategy<Value = Case> {
    (vec(work(), 1..40), vec(mated(), 1..10), vec(ticket(), 0..8), any::<bool>()).prop_map(
        |(mut work, mut matings, mut tickets, gather)| {
            for (record, row) in tickets.iter_mut().enumerate() {
                row.record = record;
                if let Names::Mating(mating) = row.names {
                    row.names = Names::Mating(mating % matings.len());
                }
            }
            let hour = |at: i64| if gather { at / 4 * 4 } else { at };
            for (record, row) in work.iter_mut().enumerate() {
                (row.record, row.at) = (record, hour(row.at));
            }
            for (record, row) in matings.iter_mut().enumerate() {
                let lasts = row.demated.map(|demated| hour(demated - row.at));
                (row.record, row.at) = (record, hour(row.at));
                row.demated = lasts.map(|hours| row.at + hours);
            }
            Case { work, matings, tickets }
        },
    )
}

/// An hour of the cases as it is written.
pub fn written(hour: i64) -> String {
    let start = chrono::NaiveDate::from_ymd_opt(2026, 2, 27).unwrap().and_time(Default::default());
    (start + chrono::Duration::hours(hour)).format("%Y-%m-%d %H:%M:%S").to_string()
}

/// A half-hour of the cases as it is written.
pub fn written_half(half: i64) -> String {
    let minutes = if half % 2 == 0 { ":00:00" } else { ":30:00" };
    written(half / 2).replace(":00:00", minutes)
}

/// Microseconds UTC of an hour of the cases.
pub fn instant(hour: i64) -> i64 {
    1_772_150_400_000_000 + hour * 3_600_000_000
}

const WORK: &str = "no,at,seq,face,stage,order,said,method,disposition";
const MATINGS: &str = "record,at,seq,end_face_a,end_face_b,demated_at";
const TICKETS: &str = "record,opened,cleared,mating,end_face,work_order";

fn work_line(row: &Work) -> String {
    let (said, method) = match row.done {
        Done::Pass => ("pass", ""),
        Done::Fail => ("fail", ""),
        Done::Unreadable => ("unreadable", ""),
        Done::Clean(method) => ("wiped", METHODS[method]),
    };
    let order = if row.order == 0 { String::new() } else { format!("W{}", row.order) };
    let reject = if row.reject { "reject" } else { "" };
    let (face, stage) = (FACES[row.face], STAGES[row.stage]);
    let at = written(row.at);
    format!("R{:03},{at},{},{face},{stage},{order},{said},{method},{reject}", row.record, row.seq)
}

fn mated_line(row: &Mated) -> String {
    let [a, b] = row.ends.map(|end| end.map_or("", |end| FACES[end]));
    let demated = row.demated.map_or(String::new(), written);
    format!("M{:03},{},{},{a},{b},{demated}", row.record, written(row.at), row.seq)
}

fn ticket_line(row: &Ticket) -> String {
    let opened = written_half(row.opened);
    let opened = if row.by_day { opened[..10].to_owned() } else { opened };
    let cleared = row.cleared.map_or(String::new(), written_half);
    let (mating, face) = match row.names {
        Names::Mating(mating) => (format!("M{mating:03}"), ""),
        Names::Face(face) => (String::new(), FACES[face]),
        Names::Neither => (String::new(), ""),
    };
    let order = if row.order == 0 { String::new() } else { format!("W{}", row.order) };
    format!("T{:03},{opened},{cleared},{mating},{face},{order}", row.record)
}

/// The map of a source that looks and cleans.
fn parts() -> String {
    let part = |table: &str, is: &str, more: &str| {
        format!(
            "[[source.record]]\ntable = {table:?}
            when = {{ column = \"said\", {is} = [\"wiped\"] }}
            columns = {{ record = \"no\", at = \"at\", seq = \"seq\", end_face = \"face\", \
             stage = \"stage\", work_order = \"order\", {more} }}
            dates = {{ at = \"%Y-%m-%d %H:%M:%S\" }}\n"
        )
    };
    part("inspections", "is_not", "outcome = \"said\", disposition = \"disposition\"")
        + &part("cleanings", "is", "method = \"method\"")
}

fn lines<T>(header: &str, rows: &[T], line: impl Fn(&T) -> String) -> String {
    rows.iter().fold(header.to_owned(), |text, row| text + "\n" + &line(row))
}

impl Case {
    /// As a fleet. Each source's rows in the order given, in so many exports.
    pub fn fleet(&self, exports: usize) -> Fleet {
        // Stated, for five tickets that name what had been replaced would widen it (`late` tests that), and the slow
        // formulation takes it as it is.
        let mut fleet = fleet().also("[rules]\nticket_lag_hours = 12");
        for (place, name) in SOURCES.iter().enumerate() {
            let rows: Vec<Work> =
                self.work.iter().filter(|row| row.source == place).copied().collect();
            let size = rows.len().div_ceil(exports).max(1);
            let mut shares = rows.chunks(size);
            let first = shares.next().unwrap_or_default();
            fleet = fleet.raw(name, &lines(WORK, first, work_line), &parts());
            for share in shares {
                fleet = fleet.again(&lines("", share, work_line));
            }
        }
        let size = self.matings.len().div_ceil(exports).max(1);
        let mut shares = self.matings.chunks(size);
        let first = shares.next().unwrap_or_default();
        fleet = fleet.matings(&lines(MATINGS, first, mated_line));
        fleet = shares.fold(fleet, |fleet, share| fleet.again(&lines("", share, mated_line)));
        let size = self.tickets.len().div_ceil(exports).max(1);
        let mut shares = self.tickets.chunks(size);
        let first = shares.next().unwrap_or_default();
        fleet = fleet.faults(&lines(TICKETS, first, ticket_line));
        shares.fold(fleet, |fleet, share| fleet.again(&lines("", share, ticket_line)))
    }
}
