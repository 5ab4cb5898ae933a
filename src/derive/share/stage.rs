//! The stages that can be shared out, in their order, and what rows each takes.

use crate::records::code_list;

code_list! {
    /// A stage of the derivation.
    Stage {
        /// Words behind the codes, of the records that stand: workers must agree on codes before any is written.
        Words = "words",
        /// What tickets name, for those who read records.
        Tickets = "tickets",
        /// Records become events and matings.
        Scan = "scan",
        /// By end face: visits, and halves of matings.
        PassOne = "pass-one",
        /// By mating: those that tickets may belong to.
        InForce = "in-force",
        /// Which tickets hang together, by matings and end faces: all tickets pass by one worker, which holds none.
        Groups = "groups",
        /// By group: what tickets show of how late they come.
        Signs = "signs",
        /// By group: tickets find their matings, and the visits that waited for that are told.
        Attach = "attach",
        /// By mating: coverage, follow-up, faults.
        PassTwo = "pass-two",
        /// By site: facts become counts.
        Count = "count",
        /// Trials of carriers by end face.
        Faces = "faces",
        /// What conspicuous end faces touched.
        TimeLines = "time-lines",
        /// Trials of carriers by work order.
        Orders = "orders",
        /// Names of what the report names.
        Names = "names",
    }
}

code_list! {
    /// What the rows of a stream are.
    Kind {
        /// A piece of a file of the store.
        File = "file",
        /// Events of end faces, by end face.
        Events = "events",
        /// Matings, by their number.
        Matings = "matings",
        /// Tickets, to where groups are told apart.
        Tickets = "tickets",
        /// Tickets that name an end face, by end face.
        Named = "named",
        /// Matings by the record that tickets name.
        Hits = "hits",
        /// Ends of matings, by the number of the mating.
        Halves = "halves",
        /// Visits that a fault may have prompted.
        Waiting = "waiting",
        /// Matings of the end faces that tickets may touch.
        Asked = "asked",
        /// The last matings of an end face that a ticket names.
        Candidates = "candidates",
        /// Numbers of matings that tickets may belong to, by number.
        Wanted = "wanted",
        /// Those matings.
        InForce = "in-force",
        /// Tickets, by group; as all that begins so.
        GroupTickets = "group-tickets",
        /// Matings by the record that tickets name.
        GroupHits = "group-hits",
        /// The last matings of an end face that a ticket names.
        GroupCandidates = "group-candidates",
        /// Matings that tickets may belong to.
        GroupMatings = "group-matings",
        /// Visits that a fault may have prompted.
        GroupVisits = "group-visits",
        /// Matings of the end faces that tickets may touch.
        GroupAsked = "group-asked",
        /// Faults, by the mating that they are attached to.
        Faults = "faults",
        /// When faults count on the end faces of a mating, by mating.
        FaceTimes = "face-times",
        /// Matings and their ends whose first look afterwards a fault was behind, by mating.
        Prompted = "prompted",
        /// Visits with their cycles, by site.
        Visits = "visits",
        /// Matings as described, by site.
        MatingFacts = "mating-facts",
        /// Faults of those matings, by site.
        SiteFaults = "site-faults",
        /// Touches of carriers, by site.
        Touches = "touches",
        /// Trials of end faces, by end face.
        FaceTrials = "face-trials",
        /// Trials, by work order.
        OrderTrials = "order-trials",
        /// What the workers of a stage came to, apart from rows.
        State = "state",
        /// What they counted.
        Counts = "counts",
        /// Of that, joined, what stages after them go by.
        Cells = "cells",
        /// What became of an export, as JSON.
        Entry = "entry",
        /// Records as settling sees them, by source, table and identity.
        Claims = "claims",
        /// Records that do not stand, by export.
        Verdicts = "verdicts",
        /// An export that could not be read, as JSON.
        Unread = "unread",
        /// Nothing: a stage that is not shared out begins.
        Begin = "begin",
    }
}

/// Tickets by group and all that attaching them goes by; the first four tell where a ticket may belong.
const BY_GROUP: &[Kind] = &[
    Kind::GroupTickets,
    Kind::GroupHits,
    Kind::GroupCandidates,
    Kind::GroupMatings,
    Kind::GroupVisits,
    Kind::GroupAsked,
];
const OF_CLUES: usize = 4;

impl Stage {
    /// The rows that it works on. All rows of one place must come to one worker, and of a file all pieces.
    pub fn takes(self) -> &'static [Kind] {
        match self {
            Stage::Words | Stage::Tickets | Stage::Scan | Stage::Names => &[Kind::File],
            Stage::PassOne => &[Kind::Events, Kind::Named],
            Stage::InForce => &[Kind::Matings, Kind::Halves, Kind::Wanted],
            Stage::Groups => &[
                Kind::Tickets,
                Kind::Hits,
                Kind::Candidates,
                Kind::InForce,
                Kind::Waiting,
                Kind::Asked,
            ],
            Stage::Signs => BY_GROUP.split_at(OF_CLUES).0,
            Stage::Attach => BY_GROUP,
            Stage::PassTwo => {
                &[Kind::Matings, Kind::Halves, Kind::Faults, Kind::FaceTimes, Kind::Prompted]
            }
            Stage::TimeLines => &[Kind::Matings, Kind::Halves, Kind::Prompted],
            Stage::Count => &[Kind::Visits, Kind::MatingFacts, Kind::SiteFaults, Kind::Touches],
            Stage::Orders => &[Kind::OrderTrials],
            Stage::Faces => &[Kind::FaceTrials],
        }
    }

    /// The rows that it hands on; a stage takes only what stages before it hand on.
    pub fn makes(self) -> &'static [Kind] {
        match self {
            Stage::Tickets => &[Kind::Tickets, Kind::Named],
            Stage::Scan => &[Kind::Events, Kind::Matings, Kind::Hits, Kind::Wanted],
            Stage::PassOne => &[
                Kind::Halves,
                Kind::Visits,
                Kind::Waiting,
                Kind::Asked,
                Kind::Candidates,
                Kind::Wanted,
            ],
            Stage::InForce => &[Kind::InForce],
            Stage::Groups => BY_GROUP,
            Stage::Attach => &[Kind::Visits, Kind::Faults, Kind::FaceTimes, Kind::Prompted],
            Stage::PassTwo => {
                &[Kind::MatingFacts, Kind::SiteFaults, Kind::Touches, Kind::FaceTrials]
            }
            Stage::Count => &[Kind::OrderTrials],
            Stage::Words
            | Stage::Signs
            | Stage::Orders
            | Stage::Faces
            | Stage::TimeLines
            | Stage::Names => &[],
        }
    }

    /// Whether of the store's files it takes those of tickets alone.
    pub fn is_of_tickets(self) -> bool {
        self == Stage::Tickets
    }

    /// Whether all its rows must come to one worker.
    pub fn is_one_task(self) -> bool {
        self == Stage::Groups
    }

    /// Whether it goes by what was counted before it.
    pub fn needs_counts(self) -> bool {
        matches!(self, Stage::Orders | Stage::Faces | Stage::Names)
    }
}
