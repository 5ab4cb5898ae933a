//! motetrail: the exports of fibre connector inspections, cleanings, matings and faults of a whole
//! fleet, brought into one columnar store and turned into a quarterly review.
//!
//! Data flows down this list, imports point up it: a part may use what stands above it, never what
//! stands below. A test reads the `crate::` paths and fails on one that points the wrong way.

pub mod records;

pub mod settings;

pub mod tabular;

pub mod intake;

pub mod draft;

pub mod store;

pub mod derive;

pub mod stats;

pub mod measures;

pub mod charts;

pub mod report;

pub mod synth;

pub mod command;

/// Passes free and take buffers of some megabytes bucket after bucket; the system's allocator gives
/// such memory back each time and has every page zeroed anew.
#[global_allocator]
static ALLOCATOR: mimalloc::MiMalloc = mimalloc::MiMalloc;
