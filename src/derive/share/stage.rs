//! The stages that can be shared out, in their order, and what rows each takes.

use crate::records::code_list;

code_list! {
    /// A stage of the derivation.
    Stage {
        /// Words behind the codes, of the records that stand: workers must agree on codes before any is written.
        Words = "words",
        /// Records become events and matings.
        Scan = "scan",
        /// By end face: visits, and halves of matings.
        PassOne = "pass-one",
        /// By mating: those that tickets may belong to.
        InForce = "in-force",
        /// Visits that waited for the tickets: few, so all at once.
        Deferred = "deferred",
        /// By mating: coverage, follow-up, faults.
        PassTwo = "pass-two",
        /// By site: facts become counts.
        Count = "count",
        /// Trials of carriers by work order.
        Orders = "orders",
        /// Trials of carriers by end face.
        Faces = "faces",
        /// What conspicuous end faces touched.
        TimeLines = "time-lines",
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
        /// Ends of matings, by the number of the mating.
        Halves = "halves",
        /// Visits with their cycles, by site.
        Visits = "visits",
        /// Matings as described, by site.
        MatingFacts = "mating-facts",
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
        /// An export that could not be read, as JSON.
        Unread = "unread",
        /// Nothing: a stage that is not shared out begins.
        Begin = "begin",
    }
}

impl Stage {
    /// The rows that it works on. All rows of one place must come to one worker, and of a file all pieces.
    pub fn takes(self) -> &'static [Kind] {
        match self {
            Stage::Words | Stage::Scan | Stage::Names => &[Kind::File],
            Stage::PassOne => &[Kind::Events],
            Stage::InForce | Stage::PassTwo | Stage::TimeLines => &[Kind::Matings, Kind::Halves],
            Stage::Deferred => &[Kind::Begin],
            Stage::Count => &[Kind::Visits, Kind::MatingFacts, Kind::Touches],
            Stage::Orders => &[Kind::OrderTrials],
            Stage::Faces => &[Kind::FaceTrials],
        }
    }

    /// The rows that it hands on; a stage takes only what stages before it hand on.
    pub fn makes(self) -> &'static [Kind] {
        match self {
            Stage::Scan => &[Kind::Events, Kind::Matings],
            Stage::PassOne => &[Kind::Halves, Kind::Visits],
            Stage::Deferred => &[Kind::Visits],
            Stage::PassTwo => &[Kind::MatingFacts, Kind::Touches, Kind::FaceTrials],
            Stage::Count => &[Kind::OrderTrials],
            Stage::Words
            | Stage::InForce
            | Stage::Orders
            | Stage::Faces
            | Stage::TimeLines
            | Stage::Names => &[],
        }
    }

    /// Whether it goes by what was counted before it.
    pub fn needs_counts(self) -> bool {
        matches!(self, Stage::Orders | Stage::Faces | Stage::Names)
    }
}
