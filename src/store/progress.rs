//! Who hears how far a run is.

/// Hears how far the reading of exports is, and of every durable step. Called from several threads.
pub trait Progress: Sync {
    /// So many bytes will be read in all.
    fn expect(&self, bytes: u64);
    /// So many more bytes have been read.
    fn passed(&self, bytes: u64);
    /// The next step changes the disk: see `open/run.rs`. A run may be stopped before any of them.
    fn step(&self, _what: &str) {}
    /// The reading of an export is at this line of it: some thousands of rows apart, and where the program has a fault.
    fn reached(&self, _file: &str, _line: u64) {}
}

/// Nobody listens.
impl Progress for () {
    fn expect(&self, _: u64) {}
    fn passed(&self, _: u64) {}
}
