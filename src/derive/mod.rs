//! Rows in, mergeable count tables out: section 4 of the design.
//!
//! Pass one works by end face: the order of events, visits, the state of each end at each mating.
//! Pass two works by mating: it joins the two halves, attaches the faults, follows up. Both work
//! bucket by bucket on events spilled to disk, so memory does not grow with the fleet's history,
//! and each is a function of one bucket's rows that touches nothing else. Nothing after this part
//! reads rows.

mod arrow_table;
mod calendar;
mod carrier_counts;
mod carrier_faces;
mod carrier_orders;
mod carrier_touches;
mod carrier_trial;
mod cluster_counts;
mod columns;
mod compared;
mod count_kinds;
mod count_table;
mod counts;
mod cover;
mod day;
mod end_state;
mod error;
mod event;
mod exposure;
mod face;
mod face_names;
mod fault;
mod force_weeks;
mod frames;
mod key;
mod left_failing;
mod mating;
mod mating_services;
mod names;
mod order;
mod pair;
mod passage_counts;
mod passes;
mod period;
mod rate_counts;
mod read_looks;
mod read_matings;
mod read_records;
mod read_tickets;
mod record_columns;
mod run;
mod run_carriers;
mod run_faults;
mod scan;
mod shortlist;
mod site_facts;
mod tally;
mod tally_carriers;
mod tally_exposure;
mod tally_mating;
mod tally_passages;
mod tally_rates;
mod ticket;
mod unseen_matings;
mod variant;
mod visit;
mod visits;
mod worklist;

pub use arrow_table::{all_to_arrow, to_arrow};
pub use calendar::{Calendar, Quarter};
pub use carrier_counts::{CarrierCounts, FATES};
pub use carrier_faces::CarrierFace;
pub use carrier_touches::{TimeLine, Touch};
pub use carrier_trial::{CARRIER_KINDS, TrialCell, carrier};
pub use compared::{compared, compared_quarters};
pub use count_table::{CountTable, Dimension};
pub use counts::{CAPPED, Counts, DEFINITIONS, VISIT_ROWS};
pub use end_state::{EndState, WINDOWS_HOURS};
pub use error::DeriveError;
pub use exposure::{Exposure, Later};
pub use face_names::{FaceName, FaceNames};
pub use fault::{Fault, How};
pub use frames::{Cell, Frame, Only};
pub use key::Key;
pub use left_failing::{LeftFailing, MOST_CYCLES_TRIED};
pub use mating::{Coverage, Mating, Span};
pub use mating_services::Services;
pub use names::{Glossary, MIXED, Names};
pub use passage_counts::{DAY_CLASSES, MATING_CLASSES, PASSAGE_KINDS, PassageCounts};
pub use passes::{Derived, Witness, derive, derive_with};
pub use period::Period;
pub use rate_counts::{MOST_FORCE_PLACES, RateCounts};
pub use scan::Precision;
pub use shortlist::Shortlist;
pub use tally::{MOST_WORK_ORDERS, has_too_many_work_orders};
pub use unseen_matings::UnseenMating;
pub use variant::Variant;
pub use visit::{
    CleanedWhileClean, Cycle, Earlier, Ending, Face, Failing, Look, SecondLooks, Visit,
};
pub use worklist::Worklist;
