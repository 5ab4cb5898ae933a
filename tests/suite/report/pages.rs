//! The pages as files: a front page, a page a question and a site, and their links; the script and its hash.

use std::collections::BTreeSet;
use std::path::Path;
use std::sync::LazyLock;

use motetrail::measures::Review;
use motetrail::report::{Form, Inputs, Written, write_as};
use tempfile::TempDir;

use super::{plain, sample, text};

/// The full sample as pages, written once.
static PAGES: LazyLock<(TempDir, Written)> = LazyLock::new(|| {
    let folder = tempfile::tempdir().unwrap();
    let written = pages(&sample::full(), &folder.path().join("2026-Q2"));
    (folder, written)
});

fn pages(review: &Review, folder: &Path) -> Written {
    let accounts = sample::accounts();
    let inputs = Inputs { review, accounts: &accounts, seed: 7, settings_hash: "ab".repeat(32) };
    write_as(&inputs, folder, Form::Pages).unwrap()
}

/// Names of the pages of a report, in order.
fn named(written: &Written) -> Vec<String> {
    let names = written.files.iter().map(|file| file.to_str().unwrap().to_owned());
    names.filter(|name| name.ends_with(".html")).collect()
}

#[test]
fn there_is_a_page_a_question_a_page_a_site_and_one_of_methods() {
    let names: Vec<String> = named(&PAGES.1);
    let names: Vec<&str> = names.iter().map(String::as_str).collect();
    for name in [
        "report.html",
        "pages/first-pass.html",
        "pages/skipped-cost.html",
        "pages/actions.html",
        "pages/looks-plan.html",
        "pages/trust.html",
        "pages/sites.html",
        "pages/site-tal.html",
        "pages/methods.html",
    ] {
        assert!(names.contains(&name), "{name} is not among {names:?}");
    }
    let of_sites = names.iter().filter(|name| name.starts_with("pages/site-")).count();
    assert_eq!(of_sites, sample::SITES.len());
}

#[test]
fn every_link_leads_to_a_file_of_the_report_and_to_a_part_that_is_in_it() {
    let (_, written) = &*PAGES;
    let files: BTreeSet<String> =
        written.files.iter().map(|file| file.to_str().unwrap().to_owned()).collect();
    let mut followed = 0;
    for name in named(written) {
        let page = text(&written.folder, &name);
        let folder = name.rsplit_once('/').map_or("", |(folder, _)| folder);
        for link in page.split(" href=\"").skip(1) {
            let href = link.split('"').next().unwrap();
            let (path, part) = href.split_once('#').unwrap_or((href, ""));
            let target = match (path, path.strip_prefix("../")) {
                ("", _) => name.clone(),
                (_, Some(above)) => above.to_owned(),
                (path, None) if folder.is_empty() => path.to_owned(),
                (path, None) => format!("{folder}/{path}"),
            };
            assert!(files.contains(&target), "{name}: {href} leads nowhere");
            let is_there = || text(&written.folder, &target).contains(&format!(" id=\"{part}\""));
            assert!(part.is_empty() || is_there(), "{name}: {href} leads to no part");
            followed += 1;
        }
    }
    assert!(followed > 200, "{followed}");
}

#[test]
fn the_front_page_says_six_sentences_at_most_what_to_do_and_where_sites_stand() {
    let (_, written) = &*PAGES;
    let page = plain(&text(&written.folder, "report.html"));
    assert!(page.len() < 300_000, "{} bytes", page.len());
    let short = page.split("<ol class=\"short\">").nth(1).unwrap().split("</ol>").next().unwrap();
    assert!((1..=6).contains(&short.matches("<li>").count()), "{short}");
    for words in [
        "Looking at both ends of every mating is associated with saving 61 k EUR (30 to 98)",
        "Skipped looks ",
        "To buy of the budget: Scopes for Tal",
        "Since 2026-Q1 ",
        "Worst doubt: ",
    ] {
        assert!(short.contains(words), "{words} is not in {short}");
    }
    assert_eq!(page.matches("<figure").count(), 1, "one chart");
    for words in [
        "How far to trust it",
        "Do first",
        "TL-N-LC-2, Tal",
        "210 EUR (90 to 400) in the first month",
        "make sure that the fibre is dark",
        "<a href=\"pages/site-tal.html\">",
        "the whole fleet",
    ] {
        assert!(page.contains(words), "{words} is not on the front page");
    }
}

#[test]
fn a_sites_page_has_its_worklist_with_boxes_to_tick_and_the_caution_above_it() {
    let (_, written) = &*PAGES;
    let page = text(&written.folder, "pages/site-tal.html");
    let caution = page.find("make sure that the fibre is dark").unwrap();
    let list = page.find("Worklist of this site").unwrap();
    assert!(caution < list);
    assert!(page.contains("TL-N-LC-2") && !page.contains("PX-40"), "another site's work");
    let rows = page[list..].split("</table>").next().unwrap().matches("class=\"tick\"").count();
    assert!(rows > 0);
    let without = text(&written.folder, "pages/site-weiher.html");
    assert!(without.contains("Nothing of this site is on the worklist"));
}

/// What skipped looks cost is held against zero and a change against the quarter before: neither is worse than the fleet.
#[test]
fn a_sites_heading_says_against_what_it_stands_apart() {
    let folder = tempfile::tempdir().unwrap();
    let mut review = sample::full();
    review.sites.push("Nowhere".to_owned());
    let written = pages(&review, &folder.path().join("r"));
    let heading = |name: &str| {
        let page = text(&written.folder, name);
        let said = page.split("class=\"answer\">").nth(1).unwrap().split("</span>").next().unwrap();
        said.to_owned()
    };
    assert_eq!(heading("pages/site-nowhere.html"), "Nowhere: too little is known to compare it");
    for name in named(&written).iter().filter(|name| name.starts_with("pages/site-")) {
        let said = heading(name);
        for clause in said.split("; ").filter(|clause| clause.contains("than the fleet")) {
            assert!(!clause.contains("cost") && !clause.contains("changed"), "{said}");
        }
    }
}

#[test]
fn sites_beyond_the_limit_stand_in_the_table_without_a_page() {
    let mut review = sample::full();
    review.site_pages = 1;
    let folder = tempfile::tempdir().unwrap();
    let written = pages(&review, &folder.path().join("r"));
    let names = named(&written);
    assert_eq!(names.iter().filter(|name| name.starts_with("pages/site-")).count(), 1);
    let table = text(&written.folder, "pages/sites.html");
    for site in sample::SITES {
        assert!(table.contains(site), "{site}");
    }
}

/// Names that would make the same file name, or none at all, have pages of their own.
#[test]
fn sites_of_like_names_do_not_share_a_page() {
    let mut review = sample::full();
    review.sites = ["Tal", "TAL", "täl", "駅", "../x", ""].map(str::to_owned).to_vec();
    let folder = tempfile::tempdir().unwrap();
    let written = pages(&review, &folder.path().join("r"));
    let names = named(&written);
    let of_sites: BTreeSet<&String> =
        names.iter().filter(|name| name.starts_with("pages/site-")).collect();
    assert_eq!(of_sites.len(), 6, "{names:?}");
    assert!(of_sites.iter().all(|name| !name.contains("..")), "{names:?}");
}

#[test]
fn the_policy_of_every_page_names_the_hash_of_its_script_and_allows_nothing_else() {
    let (_, written) = &*PAGES;
    let mut scripts = BTreeSet::new();
    for name in named(written) {
        let page = text(&written.folder, &name);
        let policy = page.split("Content-Security-Policy\" content=\"").nth(1).unwrap();
        let policy = policy.split('"').next().unwrap();
        assert!(policy.starts_with("default-src 'none';"), "{policy}");
        let script = page.split("<script>").nth(1).unwrap().split("</script>").next().unwrap();
        let hash = format!("script-src 'sha256-{}'", base64(&sha256(script.as_bytes())));
        assert!(
            policy.contains(&hash),
            "{name}: the script's hash is {hash}, the page says {policy}"
        );
        scripts.insert(script.to_owned());
    }
    assert_eq!(scripts.len(), 1);
}

#[test]
fn the_hash_is_that_of_the_standard() {
    // FIPS 180-4, example of one block: "abc".
    let hex: String = sha256(b"abc").iter().map(|byte| format!("{byte:02x}")).collect();
    assert_eq!(hex, "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad");
}

/// SHA-256 (FIPS 180-4), its constants from the roots of the first primes.
fn sha256(bytes: &[u8]) -> [u8; 32] {
    let is_prime = |n: &u64| (2..*n).all(|d| !n.is_multiple_of(d));
    let primes: Vec<u64> = (2u64..).filter(is_prime).take(64).collect();
    // The first 32 bits of the fraction of a root of a prime, exactly: the root of prime * 2^(32 * power), rounded down.
    let fraction = |prime: u64, power: u32| -> u32 {
        let scaled = u128::from(prime) << (32 * power);
        let mut root = 0u128;
        for bit in (0..40).rev() {
            let tried = root | (1 << bit);
            if tried.pow(power) <= scaled {
                root = tried;
            }
        }
        root as u32
    };
    let k: Vec<u32> = primes.iter().map(|prime| fraction(*prime, 3)).collect();
    let mut h: Vec<u32> = primes.iter().take(8).map(|prime| fraction(*prime, 2)).collect();
    let mut message = bytes.to_vec();
    message.push(0x80);
    while message.len() % 64 != 56 {
        message.push(0);
    }
    message.extend((bytes.len() as u64 * 8).to_be_bytes());
    for block in message.chunks(64) {
        let mut w: Vec<u32> =
            block.chunks(4).map(|four| u32::from_be_bytes(four.try_into().unwrap())).collect();
        for t in 16..64 {
            let (a, b) = (w[t - 15], w[t - 2]);
            let s0 = a.rotate_right(7) ^ a.rotate_right(18) ^ (a >> 3);
            let s1 = b.rotate_right(17) ^ b.rotate_right(19) ^ (b >> 10);
            w.push(w[t - 16].wrapping_add(s0).wrapping_add(w[t - 7]).wrapping_add(s1));
        }
        let mut v = h.clone();
        for t in 0..64 {
            let s1 = v[4].rotate_right(6) ^ v[4].rotate_right(11) ^ v[4].rotate_right(25);
            let choice = (v[4] & v[5]) ^ (!v[4] & v[6]);
            let one =
                [s1, choice, k[t], w[t]].iter().fold(v[7], |sum, part| sum.wrapping_add(*part));
            let s0 = v[0].rotate_right(2) ^ v[0].rotate_right(13) ^ v[0].rotate_right(22);
            let majority = (v[0] & v[1]) ^ (v[0] & v[2]) ^ (v[1] & v[2]);
            v.rotate_right(1);
            v[4] = v[4].wrapping_add(one);
            v[0] = one.wrapping_add(s0).wrapping_add(majority);
        }
        for (part, add) in h.iter_mut().zip(v) {
            *part = part.wrapping_add(add);
        }
    }
    let bytes: Vec<u8> = h.iter().flat_map(|part| part.to_be_bytes()).collect();
    bytes.try_into().unwrap()
}

fn base64(bytes: &[u8]) -> String {
    const LETTERS: &[u8] = b"ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz0123456789+/";
    let mut out = String::new();
    for three in bytes.chunks(3) {
        let bits = three.iter().fold(0u32, |bits, byte| bits << 8 | u32::from(*byte))
            << (8 * (3 - three.len()));
        for at in 0..4 {
            let is_filled = at <= three.len();
            let letter = LETTERS[(bits >> (18 - 6 * at) & 63) as usize];
            out.push(if is_filled { char::from(letter) } else { '=' });
        }
    }
    out
}
