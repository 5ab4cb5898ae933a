//! motetrail: the exports of fibre connector inspections, cleanings, matings and faults of a whole
//! fleet, brought into one columnar store and turned into a quarterly review.
//!
//! Data flows down this list, imports point up it: a part may use what stands above it, never what
//! stands below. A test reads the `crate::` paths and fails on one that points the wrong way.

pub mod calendar;

pub mod records;

pub mod settings;

pub mod tabular;

pub mod intake;

pub mod draft;

pub mod store;

pub mod derive;

pub mod cluster;

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

/// `mi_option_purge_delay` of the allocator's `mimalloc.h`, which its crate does not name.
const PURGE_DELAY: libmimalloc_sys::mi_option_t = 15;

/// Has freed memory given back to the system after half a second instead of ten milliseconds: the
/// buffers of one export or bucket are the next one's. And has memory taken in pages of four kibibytes: where the
/// system hands out two mebibytes at once it clears all of them for the first byte, again each time they were given back
/// (a seventh of the derivation's time, and half of intake's memory). For programs to call first.
#[expect(unsafe_code, reason = "the crate offers this option as a C function alone")]
pub fn tune_memory() {
    // Refused at worst, which costs time alone.
    #[cfg(target_os = "linux")]
    let _ = rustix::thread::disable_transparent_huge_pages(true);
    // SAFETY: sets a number in the allocator's own table of options, from one thread at the start.
    unsafe { libmimalloc_sys::mi_option_set(PURGE_DELAY, 500) }
}
