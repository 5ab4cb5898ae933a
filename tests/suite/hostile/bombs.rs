//! Small files that unpack to very large ones.

use std::io::Write;

use flate2::write::GzEncoder;

use super::{Done, LOOKS, LOOKS_HEADER, Place};

/// Unpacked bytes; fewer in a build that is slow because it checks everything.
const UNPACKED: usize = if cfg!(debug_assertions) { 256 << 20 } else { 1 << 30 };
/// Bytes of one packed piece; a packed file may consist of many.
const PIECE: usize = 16 << 20;
/// Most memory that a run may take, MiB: what the settings allow it to plan for, and the program itself.
const MOST_MIB: u64 = 384;

/// A header, then nothing but one byte again and again.
fn bomb(byte: u8, pack: fn(&[u8]) -> Vec<u8>) -> Vec<u8> {
    let piece = pack(&vec![byte; PIECE]);
    let mut packed = pack(LOOKS_HEADER.as_bytes());
    (0..UNPACKED / PIECE).for_each(|_| packed.extend_from_slice(&piece));
    packed.extend(pack(b"\n1,2026-02-01 08:00,North,A1,installation,pass,,,\n"));
    assert!(packed.len() < UNPACKED / 500);
    packed
}

fn gzip(bytes: &[u8]) -> Vec<u8> {
    let mut packed = GzEncoder::new(Vec::new(), flate2::Compression::best());
    packed.write_all(bytes).unwrap();
    packed.finish().unwrap()
}

fn zstd(bytes: &[u8]) -> Vec<u8> {
    zstd::encode_all(bytes, 3).unwrap()
}

/// Either the whole file is refused by name, or the line that is too long is one row in quarantine and
/// the row behind it is read.
fn assert_harmless(place: &Place, done: &Done, name: &str) {
    assert!(done.peak_mib > 0 && done.peak_mib < MOST_MIB, "{} MiB", done.peak_mib);
    if done.code == Some(3) {
        assert!(done.stderr.contains(name) && done.stderr.len() < 2000, "{}", done.stderr);
        assert!(place.quarantine().is_empty());
    } else {
        assert_eq!(done.rows(), [2, 1, 1]);
        assert!(place.quarantine()[0].reason.starts_with("found a row longer than"));
    }
}

#[test]
fn a_gzip_bomb_of_one_endless_line_takes_little_memory() {
    let place = Place::new(&[LOOKS]);
    place.write("looks.csv.gz", bomb(0, gzip));
    assert_harmless(&place, &place.intake(), "looks.csv.gz");
}

#[test]
fn a_zstd_bomb_of_one_endless_line_takes_little_memory() {
    let place = Place::new(&[LOOKS]);
    place.write("looks.csv.zst", bomb(b'x', zstd));
    assert_harmless(&place, &place.intake(), "looks.csv.zst");
}

/// Frame header by RFC 8878, section 3.1.1.1: no single segment, window of 2 GiB.
#[test]
fn a_zstd_frame_that_wants_a_window_of_two_gibibytes_is_refused() {
    let place = Place::new(&[LOOKS]);
    let window = (31 - 10) << 3;
    let raw_block = [0x09, 0, 0, b'x'];
    place.write("looks.csv.zst", [&[0x28, 0xB5, 0x2F, 0xFD, 0, window], &raw_block[..]].concat());
    let done = place.intake();
    assert_eq!(done.code, Some(3));
    assert!(done.stderr.contains("looks.csv.zst"), "{}", done.stderr);
    assert!(done.peak_mib < MOST_MIB, "{} MiB", done.peak_mib);
}
