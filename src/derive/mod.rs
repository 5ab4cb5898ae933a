//! Rows in, mergeable count tables out: section 4 of the design.
//!
//! Pass one works by end face: the order of events, visits, the state of each end at each mating.
//! Pass two works by mating: it joins the two halves, attaches the faults, follows up. Both work
//! bucket by bucket on events spilled to disk, so memory does not grow with the fleet's history,
//! and each is a function of one bucket's rows that touches nothing else. Nothing after this part
//! reads rows.

#![warn(missing_docs)]

mod carriers;
mod compared;
pub mod counts;
mod error;
mod face;
mod facts;
mod frames;
mod gathered;
mod grouping;
mod mating;
mod naming;
mod passes;
mod period;
mod pick;
mod read;
mod run;
mod scan;
pub mod share;
mod witness;

pub use crate::calendar::{Calendar, Quarter};
pub use carriers::faces::CarrierFace;
pub use carriers::touches::{TimeLine, Touch};
pub use carriers::trial::{CarrierKind, TrialCell};
pub use compared::{Compared, compared, compared_quarters};
pub use counts::{Counts, all_to_arrow, to_arrow};
pub use error::DeriveError;
pub use face::end_state::{EndState, WINDOWS_HOURS};
pub use face::left_failing::{LeftFailing, MOST_CYCLES_TRIED};
pub use face::visit::{CleanedWhileClean, Cycle, Earlier, Ending, Face, Look, SecondLooks, Visit};
pub use frames::Frame;
pub use gathered::{cells_of, merge_states};
pub use mating::describe::{Coverage, Mating, Span};
pub use mating::exposure::{Exposure, Later};
pub use mating::fault::{Fault, How};
pub use mating::follow_up::{Bands, Definition, ESCAPE_DAYS, band_days};
pub use mating::judged::{GradedBy, Judged};
pub use mating::late::LATEST_HOURS;
pub use mating::price::{Bill, PricePart, Stated};
pub use mating::unseen::UnseenMating;
pub use mating::variant::{HORIZONS_DAYS, Variant};
pub use mating::window::{Basis, LAGS_HOURS, MOST_HOURS, Window, Windows};
pub use naming::meeting::{
    Alike, NamesMeeting, PairMeeting, RuleTried, Speaker, is_telling, names_meeting,
};
pub use passes::{Derived, derive, derive_with, derive_work};
pub use period::Period;
pub use pick::face_names::{FaceName, FaceNames};
pub use pick::services::Services;
pub use pick::shortlist::Shortlist;
pub use pick::worklist::Worklist;
pub use read::{Along, ByColumns, Clusters, Group, Rows, TableFrame};
pub use scan::cover::{Attaching, Withdrawn};
pub use scan::key::Key;
pub use scan::names::{Glossary, Listing, MIXED, Names};
pub use scan::shared::Precision;
pub use share::stage::Stage;
pub use witness::Witness;
