//! What a bounded set of matings carries: read from the store once more, since the passes carry no
//! texts. Matings are numbered as the store hands them out, part by part.

use rustc_hash::{FxHashMap, FxHashSet};

use crate::derive::DeriveError;
use crate::derive::scan::columns::Texts;
use crate::records::Table;
use crate::store::Store;

/// Names of services by the number of their mating, where recorded.
pub type Services = FxHashMap<u64, String>;

/// The services of the matings wanted.
///
/// # Errors
/// Whatever the store reports.
pub fn services(store: &Store, wanted: &FxHashSet<u64>) -> Result<Services, DeriveError> {
    let mut numbers: Vec<u64> = wanted.iter().copied().collect();
    numbers.sort_unstable();
    let mut found = Services::default();
    let mut first = 0;
    for part in store.parts(Table::Matings) {
        let after = first + part.rows;
        let from = numbers.partition_point(|number| *number < first);
        let to = numbers.partition_point(|number| *number < after);
        if from < to && store.holds(&part) {
            let mut next = first;
            for batch in store.read(&part, &["service"])? {
                let batch = batch?;
                let services = Texts::of(&batch, "service")?;
                let end = next + batch.num_rows() as u64;
                for number in numbers[from..to].iter().filter(|n| (next..end).contains(*n)) {
                    let service = services.get((number - next) as usize);
                    if !service.is_empty() {
                        found.insert(*number, service.to_owned());
                    }
                }
                next = end;
            }
        }
        first = after;
    }
    Ok(found)
}
