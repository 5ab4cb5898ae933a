//! Which bucket a site's facts go to: small sites share one, a large one has several, cut by time.

use crate::calendar::Calendar;
use crate::derive::scan::site_facts::SiteFacts;

/// Rows that a bucket should hold: the cells that they are counted in stay in the cache.
const BUCKET_ROWS: u64 = 16_384;

/// The buckets of every site.
pub struct Places {
    /// By code of the site: from when on which bucket, rising.
    sites: Vec<Vec<(i64, u32)>>,
    count: usize,
}

impl Places {
    /// Of what the scan saw: about as many rows in every bucket, and roughly `most_buckets` at most, since each costs a
    /// buffer in every writer.
    pub fn of(facts: &SiteFacts, calendar: &Calendar, most_buckets: usize) -> Places {
        let months = facts.by_month();
        let all: u64 = months.values().map(|rows| rows.rows()).sum();
        let most = BUCKET_ROWS.max(all / most_buckets as u64);
        let mut places = Places { sites: Vec::new(), count: 1 };
        let mut filled = 0;
        let months: Vec<_> = months.into_iter().collect();
        for site in months.chunk_by(|(a, _), (b, _)| a.0 == b.0) {
            let code = site[0].0.0 as usize;
            let rows: u64 = site.iter().map(|(_, rows)| rows.rows()).sum();
            if filled > 0 && filled + rows > most {
                places.count += 1;
                filled = 0;
            }
            if places.sites.len() <= code {
                places.sites.resize(code + 1, Vec::new());
            }
            places.sites[code].push((i64::MIN, places.count as u32 - 1));
            if rows <= most {
                filled += rows;
                continue;
            }
            for ((_, month), rows) in site {
                let rows = rows.rows();
                let Some(piece) = calendar.month_piece(*month) else { continue };
                let (start, end) = (calendar.months.start(piece), calendar.months.start(piece + 1));
                let parts = rows.div_ceil(most).max(1);
                for part in 0..parts {
                    if filled > 0 && filled + rows / parts > most {
                        let from = start + (end - start) / parts as i64 * part as i64;
                        places.sites[code].push((from, places.count as u32));
                        places.count += 1;
                        filled = 0;
                    }
                    filled += rows / parts;
                }
            }
        }
        places
    }

    /// How many buckets there are.
    pub fn count(&self) -> usize {
        self.count
    }

    /// The bucket of what happened at a site.
    pub fn bucket(&self, site: u32, at: i64) -> usize {
        let Some(cuts) = self.sites.get(site as usize) else { return 0 };
        let after = cuts.partition_point(|(from, _)| *from <= at);
        after.checked_sub(1).map_or(0, |place| cuts[place].1 as usize)
    }
}
