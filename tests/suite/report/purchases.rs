//! The section of purchases, on the report's page and on a page of its own.

use motetrail::measures::payback::{By, Quantity, Row};
use motetrail::report::{Inputs, payback_lines, write_payback};

use super::{full, plain, sample, text};

fn section(page: &str) -> String {
    let after = page.split("<section id=\"payback\">").nth(1).unwrap();
    plain(after.split("</section>").next().unwrap())
}

#[test]
fn the_finding_is_the_set_for_the_budget_with_its_range() {
    let section = section(&full("report.html"));
    let said = "<span class=\"answer\">Of 6 000 EUR, 4 800 EUR buys most: Scopes for Tal, worth 19 k EUR (3 to 41) after its price, \
                with 98 % chance of paying for itself.</span></h2>";
    assert!(section.contains(said), "{section}");
}

#[test]
fn tables_have_money_to_the_cent_and_months_with_their_range() {
    let section = section(&full("report.html"));
    for words in [
        "18 600.00",
        "3 100.00 to 41 200.00",
        "11.9 to 41.2",
        "21 000.00",
        "cannot be valued: the fleet has no estimate of what carriers pass on",
        "31.0 %",
        "3 875.00",
    ] {
        assert!(section.contains(words), "{words}");
    }
    for picture in ["purchase-cash", "purchase-tornado", "purchase-ladder"] {
        assert!(section.contains(&format!("<figure id=\"{picture}\">")), "{picture}");
    }
}

#[test]
fn without_proposals_the_section_says_how_to_add_one() {
    let folder = tempfile::tempdir().unwrap();
    super::report(&sample::empty(), &folder.path().join("r"));
    let section = section(&text(&folder.path().join("r"), "report.html"));
    let said = "<span class=\"answer\">No purchase is proposed: add one";
    assert!(section.contains(said), "{section}");
    assert!(section.contains("[[proposal.effect]]") && !section.contains("<figure"));
}

#[test]
fn the_page_alone_has_the_same_section_and_a_sentence_a_proposal() {
    let folder = tempfile::tempdir().unwrap();
    let (review, accounts) = (sample::full(), sample::accounts());
    let inputs =
        Inputs { review: &review, accounts: &accounts, seed: 7, settings_hash: "ab".repeat(32) };
    let written = write_payback(&inputs, &folder.path().join("p")).unwrap();
    let page = text(&written.folder, "payback.html");
    assert_eq!(
        section(&page),
        section(&full("report.html"))
            .replace("<span class=\"asked\">8 ", "<span class=\"asked\">1 ")
    );
    let page = plain(&page);
    for words in [
        "<li>Scopes for Tal: 4 800 EUR pays for itself by these records: worth 19 k EUR (3 to 41) over 60 months, \
         after its price; pays back after 19 months (12 to 41); 93 % chance of paying back in that time.</li>",
        "Not firm (thin): in no ranking.",
        "<li>New leads: cannot be valued",
    ] {
        assert!(page.contains(words), "{words}\n{page}");
    }
    assert_eq!(page.matches("<script").count(), 1, "the page's own alone");
    for part in ["http:", " src=", "{{"] {
        assert!(!page.replace("http://www.w3.org/2000/svg", "").contains(part), "{part}");
    }
    let csv = text(&written.folder, "tables/payback.csv");
    assert_eq!(csv, full("tables/payback.csv"));
    assert!(written.files.iter().any(|file| file.ends_with("charts/purchase-cash.png")));
    assert!(!written.files.iter().any(|file| file.ends_with("case.html")), "of one proposal alone");
}

/// The page to sign is of one proposal alone, and says of a rate beyond all use only that.
#[test]
fn a_single_proposal_has_a_page_to_sign() {
    let folder = tempfile::tempdir().unwrap();
    let mut review = sample::full();
    let accounts = sample::accounts();
    let of_one =
        |row: &Row| row.own.proposal.as_deref().is_none_or(|name| name == "Scopes for Tal");
    review.payback.rows.retain(of_one);
    let worth = review.payback.rows_of(By::Proposal, Quantity::NetPresentValue).next().unwrap();
    let rate = Row { quantity: Quantity::InternalRate, estimate: Some(438.0), ..worth.clone() };
    review.payback.rows.push(rate);
    let inputs =
        Inputs { review: &review, accounts: &accounts, seed: 7, settings_hash: "ab".repeat(32) };
    let written = write_payback(&inputs, &folder.path().join("p")).unwrap();
    let page = plain(&text(&written.folder, "case.html"));
    for words in [
        "<h1>Scopes for Tal</h1>",
        "4 800 EUR (all units, training included), working for 60 months",
        "<h2>Where</h2>",
        "Paying back within its life: 93 % chance",
        "<h2>What it rests on</h2>\n<ul>\n<li>",
        "Most depends on share of the faults&#39; cost that goes with skipping (rate ratio)",
        "Internal rate of a year: over 1 000 %.",
        "worth 3 100 EUR at its low end, 41.2 k EUR at its high end",
        "if faults do not fall within a year of buying, it was wrong.",
        "make sure that the fibre is dark",
        "; settings abababababab; seed 7.",
    ] {
        assert!(page.contains(words), "{words}\n{page}");
    }
    assert!(!page.contains("{{") && page.ends_with("</html>\n"), "{page}");
    let page = plain(&text(&written.folder, "payback.html"));
    assert!(page.contains(">over 1 000 %</td>"), "{page}");
}

#[test]
fn a_terminal_gets_the_same_sentences_and_nothing_that_does_not_print() {
    let lines = payback_lines(&sample::full());
    let page = plain(&lines.join("\n"));
    assert!(page.starts_with("Of 6 000 EUR, 4 800 EUR buys most: Scopes for Tal"), "{page}");
    assert!(page.contains("\n  break-even price of a unit (2): 21 k EUR (6 to 44)\n"), "{page}");
    assert!(page.contains("\n  faults avoided a year: 12 (6 to 20)\n"), "{page}");
    let mut review = sample::full();
    for row in &mut review.payback.rows {
        let own = &mut row.own;
        for text in [&mut own.proposal, &mut own.input, &mut own.set, &mut own.reason] {
            text.iter_mut().for_each(|text| text.push_str("\u{1b}[2J"));
        }
    }
    assert!(payback_lines(&review).iter().all(|line| !line.contains(char::is_control)));
}
