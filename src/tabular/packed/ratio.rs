//! Bounds what packed bytes may become. What is unpacked is never held as a whole, so a bomb costs
//! time and no memory; this ends it.

use std::cell::Cell;
use std::io::{self, Read};
use std::rc::Rc;

use crate::tabular::table_error::TableError;

/// Most unpacked bytes a packed one; real tables stay below a hundred.
const MOST: u64 = 1000;

/// Unpacked bytes that are always let through, 64 MiB: little of very repetitive text is harmless.
const FREE: u64 = 64 << 20;

/// Says no to bytes that become far too many.
///
/// # Errors
/// [`TableError::Bomb`].
pub fn check_ratio(packed: u64, unpacked: u64) -> Result<(), TableError> {
    if unpacked > FREE && unpacked / MOST > packed {
        return Err(TableError::Bomb { packed, unpacked, most: MOST });
    }
    Ok(())
}

/// Counts what is read through it.
pub struct Counted<R> {
    inner: R,
    count: Rc<Cell<u64>>,
}

impl<R> Counted<R> {
    /// Counts from nought; the second value shows how far it is.
    pub fn of(inner: R) -> (Self, Rc<Cell<u64>>) {
        let count = Rc::new(Cell::new(0));
        (Self { inner, count: Rc::clone(&count) }, count)
    }
}

impl<R: Read> Read for Counted<R> {
    fn read(&mut self, out: &mut [u8]) -> io::Result<usize> {
        let n = self.inner.read(out)?;
        self.count.set(self.count.get().saturating_add(n as u64));
        Ok(n)
    }
}

/// An unpacked stream that ends in an error once it is far too long for its packed bytes.
pub struct Bounded<R> {
    unpacker: R,
    packed: Rc<Cell<u64>>,
    unpacked: u64,
}

impl<R> Bounded<R> {
    /// `packed` counts what `unpacker` has read.
    pub fn of(unpacker: R, packed: Rc<Cell<u64>>) -> Self {
        Self { unpacker, packed, unpacked: 0 }
    }
}

impl<R: Read> Read for Bounded<R> {
    fn read(&mut self, out: &mut [u8]) -> io::Result<usize> {
        let n = self.unpacker.read(out)?;
        self.unpacked = self.unpacked.saturating_add(n as u64);
        check_ratio(self.packed.get(), self.unpacked)?;
        Ok(n)
    }
}
