//! A store whose manifest is any bytes: it opens or says why not, and whatever it names can be asked for.

use std::fs;

use chrono::NaiveDate;
use motetrail::records::Table;
use motetrail::settings::read;
use motetrail::store::{Store, StoreError};

use super::{fuzz_with, settings_with};
use crate::store::{sealed, unsealed};

/// An export with a record that stands, one that is superseded, and a row in quarantine.
const LOOKS: &str = "id,at,face,outcome,finding,who,cap,seq,method
1,2026-02-01 08:00,A1,pass,,Ida,yes,3,dry
1,2026-02-01 08:00,A1,fail,,Ida,yes,3,
2,someday,A2,pass,,,,,
";

#[test]
fn any_manifest_opens_or_is_refused_and_what_it_names_is_damage_at_worst() {
    let folder = tempfile::tempdir_in("/dev/shm").or_else(|_| tempfile::tempdir()).unwrap();
    let settings = folder.path().join("fleet.toml");
    fs::write(&settings, settings_with("")).unwrap();
    let plan = read(&settings).unwrap_or_else(|error| panic!("{error}"));
    let manifest = plan.fleet.store.join("manifest.json");
    fs::write(folder.path().join("looks.csv"), LOOKS).unwrap();
    let mut store = Store::open(&plan).unwrap_or_else(|error| panic!("{error}"));
    store.take(&plan, NaiveDate::default(), &()).unwrap();
    drop(store);
    let of_this_version = unsealed(&fs::read_to_string(&manifest).unwrap()).into_bytes();
    let opened = std::cell::Cell::new(0);
    fuzz_with(vec![of_this_version], "manifest", |input| {
        // Sealed where that can be: what comes behind the seal must hold by itself.
        let text = std::str::from_utf8(input).map(|text| sealed(text).into_bytes());
        fs::write(&manifest, text.unwrap_or_else(|_| input.to_vec())).unwrap();
        let store = match Store::open(&plan) {
            Ok(store) => store,
            // Another test may be starting a process at this moment, which has our files for an instant.
            Err(
                StoreError::Busy { .. }
                | StoreError::Damaged { .. }
                | StoreError::OldManifest { .. }
                | StoreError::Version { .. },
            ) => {
                return;
            }
            Err(error) => panic!("{error}"),
        };
        opened.set(opened.get() + 1);
        let files = store.accounts().len();
        store.verify().unwrap();
        let quarantine = store.quarantine(5);
        assert!(files > 0 || quarantine.is_ok_and(|rows| rows.is_empty()));
        for part in Table::ALL.into_iter().flat_map(|table| store.parts(table)) {
            match store.read(&part, &[]) {
                Ok(batches) => batches.for_each(drop),
                Err(error) => assert!(matches!(error, StoreError::Damaged { .. }), "{error}"),
            }
        }
    });
    assert!(opened.get() > 0, "no manifest was ever opened");
}
