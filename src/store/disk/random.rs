//! The system's random source.

use std::fs::File;
use std::io::Read;
use std::path::Path;

use crate::store::StoreError;

/// A file, so that no further package is needed.
const SOURCE: &str = "/dev/urandom";

/// So many random bytes.
pub(in crate::store) fn random<const BYTES: usize>() -> Result<[u8; BYTES], StoreError> {
    let source = Path::new(SOURCE);
    let mut bytes = [0; BYTES];
    File::open(source)
        .and_then(|mut file| file.read_exact(&mut bytes))
        .map_err(StoreError::io(source, "read random bytes from"))?;
    Ok(bytes)
}

/// Random bytes as hex: a name that nothing else has.
pub(in crate::store) fn random_name<const BYTES: usize>() -> Result<String, StoreError> {
    Ok(random::<BYTES>()?.iter().map(|byte| format!("{byte:02x}")).collect())
}
