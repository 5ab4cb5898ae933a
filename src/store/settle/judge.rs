//! R1 and promise 2: which record stands where exports of a source overlap, repeat or correct.
//!
//! Works on the identity columns of all parts of one source and table. The order of exports is
//! theirs (newest time, file name, hash), not that of their taking, so the outcome depends on what is
//! in the store alone. Records go to hash buckets by identity, and each bucket is sorted in memory.

use std::path::{Path, PathBuf};

use arrow::array::{AsArray, RecordBatch};
use arrow::datatypes::UInt64Type;
use bytemuck::{Pod, Zeroable};

use crate::records::{IDENTITY_COLUMNS, Table, schema};

use super::fates::{Fate, Fates};
use crate::store::StoreError;
use crate::store::disk::spill::{Buckets, Spill};
use crate::store::read::{BATCH_ROWS, open_part};

/// Bytes of records that a bucket should hold: measured, 4 MiB sort in half the time of 16 MiB, since
/// the processor's cache holds them.
const BUCKET_BYTES: u64 = 4 << 20;

/// Width of an identity.
const IDENTITY_BYTES: usize = 16;

/// Most buckets: their write buffers take 64 KiB each. Beyond 50 million records buckets grow instead.
const MOST_BUCKETS: u64 = 512;

/// One record as settling sees it.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Pod, Zeroable)]
#[repr(C)]
pub(in crate::store) struct Claim {
    /// Hash of the record id, else of the content.
    pub identity: [u64; 2],
    /// Hash of end face and fibre.
    member: u64,
    /// Hash of the content.
    content: u64,
    /// Rank of its export: a higher one is later.
    pub export: u32,
    /// Number of the record in its part.
    pub record: u32,
}

/// A part to be settled.
pub(in crate::store) struct Candidate {
    pub path: PathBuf,
    /// Sums of its column chunks, as the manifest has them.
    pub sums: String,
    pub records: u64,
}

/// Settles the parts of one source and table, given from the earliest export to the latest.
/// Gives the fates of each part's records, in the same order.
pub(in crate::store) fn settle(
    work: &Path,
    table: Table,
    parts: &[Candidate],
) -> Result<Vec<Fates>, StoreError> {
    let mut fates = parts
        .iter()
        .map(|part| {
            let records = usize::try_from(part.records);
            records.map(Fates::standing).map_err(|error| StoreError::damaged(&part.path, error))
        })
        .collect::<Result<Vec<_>, _>>()?;
    let buckets = scatter(work, table, parts)?;
    for bucket in 0..buckets.count() {
        judge(&buckets.read(bucket)?, |claim, fate| {
            fates[claim.export as usize].mark(claim.record as usize, fate);
        });
    }
    Ok(fates)
}

fn scatter(work: &Path, table: Table, parts: &[Candidate]) -> Result<Buckets<Claim>, StoreError> {
    let bytes = parts.iter().map(|part| part.records).sum::<u64>() * size_of::<Claim>() as u64;
    let buckets = bytes.div_ceil(BUCKET_BYTES).next_power_of_two().min(MOST_BUCKETS);
    let mut spill = Spill::new(work, buckets as usize)?;
    for (export, part) in (0..).zip(parts) {
        claims_of(table, (export, part), |claim| spill.push(claim.identity[0] as usize, claim))?;
    }
    spill.finish()
}

/// The claims of one part, whose export has this rank.
pub(in crate::store) fn claims_of(
    table: Table,
    (export, part): (u32, &Candidate),
    mut each: impl FnMut(&Claim) -> Result<(), StoreError>,
) -> Result<(), StoreError> {
    let schema = schema(table);
    let mut record = 0;
    for batch in
        open_part(&part.path, &schema, &part.sums)?.batches(&IDENTITY_COLUMNS, BATCH_ROWS)?
    {
        let batch = batch?;
        claims_in(&batch, export, record, &mut each)?;
        record += batch.num_rows() as u32;
    }
    if u64::from(record) != part.records {
        let why = format!("found {record} records, expected {}", part.records);
        return Err(StoreError::damaged(&part.path, why));
    }
    Ok(())
}

/// The claims of a batch of the identity columns whose first record has number `first`.
fn claims_in(
    batch: &RecordBatch,
    export: u32,
    first: u32,
    each: &mut impl FnMut(&Claim) -> Result<(), StoreError>,
) -> Result<(), StoreError> {
    let identities =
        batch.column(0).as_fixed_size_binary().value_data().chunks_exact(IDENTITY_BYTES);
    let members = batch.column(1).as_primitive::<UInt64Type>().values();
    let contents = batch.column(2).as_primitive::<UInt64Type>().values();
    let hashes = members.iter().zip(contents);
    for (record, (identity, (member, content))) in (first..).zip(identities.zip(hashes)) {
        let identity: [u64; 2] = bytemuck::pod_read_unaligned(identity);
        each(&Claim { identity, member: *member, content: *content, export, record })?;
    }
    Ok(())
}

/// Decides over all claims of a bucket, given in the order of exports and records; calls `drop` for
/// each that does not stand.
///
/// Most records stand alone. So what is sorted is half the identity with the place, 16 bytes instead of
/// 40, and only claims that share that half are looked at. The place keeps their order.
pub(in crate::store) fn judge(claims: &[Claim], mut drop: impl FnMut(&Claim, Fate)) {
    let mut places: Vec<(u64, usize)> =
        claims.iter().enumerate().map(|(at, claim)| (claim.identity[1], at)).collect();
    places.sort_unstable();
    let mut alike = Vec::new();
    let mut standing = Vec::new();
    for same_half in places.chunk_by(|a, b| a.0 == b.0).filter(|same| same.len() > 1) {
        alike.clear();
        alike.extend(same_half.iter().map(|(_, at)| claims[*at]));
        alike.sort_by_key(|claim| claim.identity);
        for same in alike.chunk_by_mut(|a, b| a.identity == b.identity) {
            judge_identity(same, &mut standing, &mut drop);
        }
    }
}

/// Decides over the claims of one identity, ordered by export. `standing` is room to work in.
fn judge_identity(
    claims: &mut [Claim],
    standing: &mut Vec<(u64, u64)>,
    drop: &mut impl FnMut(&Claim, Fate),
) {
    let latest = match claims {
        [] | [_] => return,
        [.., last] => last.export,
    };
    let (earlier, latest) =
        claims.split_at_mut(claims.partition_point(|claim| claim.export < latest));
    standing.clear();
    judge_within(latest, standing, drop);
    for claim in earlier {
        let repeated = standing.binary_search(&(claim.member, claim.content)).is_ok();
        drop(claim, if repeated { Fate::Duplicate } else { Fate::Superseded });
    }
}

/// The claims of the latest export: each member of the set stands once, with its last content, in the
/// first record that has it. Adds member and content of those to `standing`, in order.
fn judge_within(
    claims: &mut [Claim],
    standing: &mut Vec<(u64, u64)>,
    drop: &mut impl FnMut(&Claim, Fate),
) {
    claims.sort_unstable_by_key(|claim| (claim.member, claim.record));
    for same in claims.chunk_by(|a, b| a.member == b.member) {
        let Some(last) = same.last() else { continue };
        let mut stands = false;
        for claim in same {
            match (claim.content == last.content, stands) {
                (true, false) => stands = true,
                (true, true) => drop(claim, Fate::Duplicate),
                (false, _) => drop(claim, Fate::Superseded),
            }
        }
        standing.push((last.member, last.content));
    }
}
