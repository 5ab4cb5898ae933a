//! Same recipe, same bytes.

use std::path::Path;

use motetrail::synth::{Recipe, write};

use super::{demo, files, small};

#[test]
fn same_recipe_gives_the_same_bytes() {
    let [a, b] = [(); 2].map(|()| tempfile::tempdir().unwrap());
    write(&small(), a.path()).unwrap();
    write(&small(), b.path()).unwrap();
    assert!(files(a.path()).len() > 20);
    assert_eq!(files(a.path()), files(b.path()));
}

#[test]
fn another_seed_gives_other_exports_in_the_same_shapes() {
    let [a, b] = [(); 2].map(|()| tempfile::tempdir().unwrap());
    write(&small(), a.path()).unwrap();
    write(&Recipe { seed: 8, ..small() }, b.path()).unwrap();
    let (one, other) = (files(a.path()), files(b.path()));
    assert!(one.keys().eq(other.keys()));
    let same: Vec<&Path> =
        one.iter().filter(|(k, v)| other[*k] == **v).map(|(k, _)| k.as_path()).collect();
    assert_eq!(same, [Path::new("fleet.toml")]);
}

#[test]
fn demo_in_the_repository_is_what_the_generator_writes() {
    let kept = files(&Path::new(env!("CARGO_MANIFEST_DIR")).join("data-demo"));
    for (path, bytes) in files(demo().0.path()) {
        assert!(kept.get(&path) == Some(&bytes), "{} differs; write the demo anew", path.display());
    }
}

#[test]
fn demo_stays_under_twelve_megabytes() {
    let size: usize = files(demo().0.path()).values().map(Vec::len).sum();
    assert!(size < 12_000_000, "{size}");
}
