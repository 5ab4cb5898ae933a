//! Intake on a file system without room: it ends with code 3 and a message, the store is as it was, and
//! with room again the next run ends with the bytes of a run that never failed.
//!
//! Where the test may mount, the store stands on a small file system of its own, filled up but for some
//! pages; everywhere else, and beside that, the system refuses to let files grow beyond a limit.

use std::fs;
use std::io::{self, Write};
use std::path::Path;
use std::process::{Command, Output, Stdio};

use super::live_fleet::{LiveFleet, are_of_a_new_store};

/// Bytes of a page of the small file system.
const PAGE: u64 = 4096;

fn output(mut run: Command) -> Output {
    run.stderr(Stdio::piped()).output().unwrap()
}

/// The run must have failed for want of room and have said so.
fn assert_refused(done: &Output, store: &str, why: &str) {
    let told = String::from_utf8_lossy(&done.stderr);
    assert_eq!(done.status.code(), Some(3), "{told}");
    assert!(told.starts_with("error: ") && told.lines().count() == 1, "{told}");
    assert!(
        told.contains(store) && told.contains(why) && told.contains("check the disk"),
        "{told}"
    );
}

#[test]
fn files_that_may_not_grow_leave_the_store_as_it_was() {
    let fleet = LiveFleet::new();
    let before = fleet.taken();
    fleet.grow();
    let mut refused = 0;
    for blocks in 0..60 {
        let set_up = format!("trap '' XFSZ; ulimit -f {blocks}");
        let done = output(fleet.intake_after(&set_up));
        if done.status.code() == Some(0) {
            break;
        }
        assert_refused(&done, "store", "File too large");
        assert!(fleet.bytes() == before, "limit {blocks} changed the store");
        refused += 1;
    }
    assert!((5..60).contains(&refused), "{refused} refusals");
    assert!(fleet.taken() == LiveFleet::grown().taken(), "with room it ended elsewhere");
}

#[test]
fn a_new_store_without_room_is_no_store_and_later_a_whole_one() {
    let fleet = LiveFleet::grown();
    let mut refused = 0;
    for blocks in 0..60 {
        let set_up = format!("trap '' XFSZ; ulimit -f {blocks}");
        let done = output(fleet.intake_after(&set_up));
        if done.status.code() == Some(0) {
            break;
        }
        assert_refused(&done, "store", "File too large");
        assert!(
            are_of_a_new_store(&fleet.bytes()),
            "limit {blocks} left {:?}",
            fleet.bytes().keys()
        );
        refused += 1;
    }
    assert!((5..60).contains(&refused), "{refused} refusals");
    assert!(fleet.taken() == LiveFleet::grown().taken(), "with room it ended elsewhere");
}

/// With many exports of one row each, the manifest is the largest file and the last to be written.
#[test]
fn a_manifest_that_may_not_grow_leaves_nothing_of_its_exports() {
    let fleet = LiveFleet::new();
    let before = fleet.taken();
    fleet.scatter(60);
    let largest = before.values().map(Vec::len).max().unwrap();
    let done =
        output(fleet.intake_after(&format!("trap '' XFSZ; ulimit -f {}", largest / 512 + 2)));
    assert_refused(&done, "manifest.json", "File too large");
    assert!(fleet.bytes() == before, "left {:?}", fleet.bytes().keys());
    let after = fleet.taken();
    assert!(after["manifest.json"].len() > largest + 2048, "the manifest was not the largest");
}

/// A small file system in memory, gone when dropped.
struct SmallDisk<'a>(&'a Path);

impl<'a> SmallDisk<'a> {
    /// None where this process may not mount.
    fn mount(at: &'a Path, pages: u64) -> Option<Self> {
        fs::create_dir_all(at).unwrap();
        let mut mount = Command::new("mount");
        mount.args(["-t", "tmpfs", "-o", &format!("size={}", pages * PAGE), "tmpfs"]).arg(at);
        let done = mount.stderr(Stdio::null()).status().ok()?;
        done.success().then_some(Self(at))
    }

    /// Fills it up but for so many pages; a file beside the store takes the rest.
    fn leave(&self, pages: u64) {
        let filler = self.0.join("filler");
        let mut file = fs::File::create(&filler).unwrap();
        let page = [1; PAGE as usize];
        let mut filled = 0;
        let full = loop {
            match file.write_all(&page) {
                Ok(()) => filled += PAGE,
                Err(error) => break error,
            }
        };
        assert_eq!(full.kind(), io::ErrorKind::StorageFull);
        file.set_len(filled.saturating_sub(pages * PAGE)).unwrap();
    }
}

impl Drop for SmallDisk<'_> {
    fn drop(&mut self) {
        let unmounted = Command::new("umount").arg(self.0).status();
        // A panic on the way out of a failed test would hide why it failed.
        if !unmounted.is_ok_and(|status| status.success()) {
            eprintln!("{} stays mounted", self.0.display());
        }
    }
}

#[test]
fn a_full_disk_leaves_the_store_as_it_was() {
    let fleet = LiveFleet::new();
    let settings = fleet.path().join("fleet.toml");
    let text = fs::read_to_string(&settings).unwrap();
    fs::write(&settings, text.replace("as_of", "store = \"disk/store\"\nas_of")).unwrap();
    let place = fleet.path().join("disk");
    // Where mounting is not allowed, the limits of the tests above stand in for the full disk.
    let Some(disk) = SmallDisk::mount(&place, 256) else {
        return;
    };
    let before = fleet.taken();
    fleet.grow();
    let mut refused = 0;
    for pages in 0..80 {
        disk.leave(pages);
        let done = output(fleet.intake());
        if done.status.code() == Some(0) {
            break;
        }
        assert_refused(&done, "disk/store", "No space left on device");
        assert!(fleet.bytes() == before, "{pages} pages of room changed the store");
        refused += 1;
    }
    assert!((5..80).contains(&refused), "{refused} refusals");
    fs::remove_file(place.join("filler")).unwrap();
    let never_full = LiveFleet::grown();
    assert!(fleet.taken() == never_full.taken(), "with room it ended elsewhere");
}
