//! What stands on the page.

use motetrail::measures::Flag;
use motetrail::report::{Form, Inputs, write_as};

use super::{full, plain, report, sample, text};

#[test]
fn each_headline_stands_on_its_questions_page_with_its_interval_and_the_quarter_before() {
    let page = plain(&full("report.html"));
    let headlines = [
        ("first_pass", "81.2 %", "95 %: 80.4 to 82.0", "2026-Q1: 79.5 % (78.7 to 80.3)."),
        ("fault_rates", "1.4", "95 %: 0.9 to 2.0", "2026-Q1: 1.48 (1.18 to 1.85)."),
        ("skipped_cost", "61 k EUR", "95 %: 30 to 98", "Rate of linked faults"),
    ];
    for (measure, value, interval, note) in headlines {
        let section = page.split(&format!("<section id=\"{measure}\">")).nth(1).unwrap();
        let strip = section.split("<div class=\"strip\">").nth(1).unwrap();
        let strip = strip.split("</div>").next().unwrap();
        assert!(strip.contains(&format!("<p class=\"value\">{value}</p>")), "{strip}");
        assert!(strip.contains(interval) && strip.contains(note), "{strip}");
    }
}

#[test]
fn every_question_has_a_finding_a_picture_a_method_and_the_cautions_follow() {
    let page = full("report.html");
    let sections = [
        "first_pass",
        "cycles",
        "coverage",
        "fault_rates",
        "skipped_cost",
        "entry",
        "carriers",
        "payback",
        "changes",
        "worklist",
        "trust",
        "intake",
    ];
    for measure in sections {
        let start = page.find(&format!("<section id=\"{measure}\">")).unwrap();
        let section = page[start..].split("</section>").next().unwrap();
        // These are answered by their tables alone.
        let picture =
            if ["trust", "worklist", "intake"].contains(&measure) { "<h2>" } else { "<figure" };
        for part in
            ["<h2><span class=\"asked\">", picture, "<table class=\"data\"", "How it is counted"]
        {
            assert!(section.contains(part), "{measure} has no {part}");
        }
    }
    for caution in ["IEC 60825-2", "flammable", "fragments", "qualified people"] {
        assert!(page.contains(caution), "no word of {caution}");
    }
}

#[test]
fn fault_rates_tell_of_sites_recurrences_restoring_and_the_trend() {
    let page = plain(&full("report.html"));
    let start = page.find("<section id=\"fault_rates\">").unwrap();
    let section = page[start..].split("</section>").next().unwrap();
    for words in [
        "<figure id=\"fault-rates-by-site\">",
        "<figure id=\"faults-coming-back\">",
        "mix of stages and families, per time in force",
        "All linked faults within 90 days, first or not",
        "from opening to clearing",
        "How faults of one site and time come together",
        "No trend beyond chance over 6 quarters: growth 1.04 (0.90 to 1.19), where 1 is none; p 0.410.",
        "as connections grow older",
        "<li>partial: ",
    ] {
        assert!(section.contains(words), "no {words}");
    }
}

#[test]
fn cycles_tell_when_to_stop_cleaning_and_what_cleaning_unseen_costs() {
    let page = plain(&full("report.html"));
    let start = page.find("<section id=\"cycles\">").unwrap();
    let section = page[start..].split("</section>").next().unwrap();
    for words in [
        "Give up after 4 cycles: up to 6 cycles, as far as the records reach, costs cannot be told apart; the present \
         practice costs 2.1 EUR (0.9 to 3.4) an end face more, 3 400 EUR (1 500 to 5 600) a year",
        "<figure id=\"cost-by-cycle-limit\">",
        "When to stop cleaning: cost per end face",
        "<td class=\"number\">4</td><td class=\"number\">6</td><td>at least 6</td><td>4 or more</td>",
        "Cost per end face by the cycle after which it is given up, all methods",
        "What cleaning without a look costs",
        "zone: B",
        "<li>beyond-data: ",
    ] {
        assert!(section.contains(words), "no {words}");
    }
}

#[test]
fn the_page_needs_no_network_and_runs_one_script_that_asks_for_nothing() {
    let page = full("report.html");
    let page = page.replace("http://www.w3.org/2000/svg", "");
    for part in ["http:", "https:", " src=", "url(", "@import", "<link", "javascript"] {
        let found = page.find(part).map(|at| page[at..].chars().take(40).collect::<String>());
        assert!(found.is_none(), "{part} is on the page: {found:?}");
    }
    assert_eq!(page.matches("<script>").count(), 1);
    let script = page.split("<script>").nth(1).unwrap().split("</script>").next().unwrap();
    for word in
        ["fetch", "XMLHttpRequest", "import(", "eval", "innerHTML", "localStorage", "cookie"]
    {
        assert!(!script.contains(word), "{word} is in the script");
    }
}

#[test]
fn a_refused_row_is_shown_with_its_place_and_its_markup_is_harmless() {
    let page = full("report.html");
    let start = page.find("<section id=\"intake\">").unwrap();
    let section = page[start..].split("</section>").next().unwrap();
    for words in ["inspections \u{201c}Result\u{201d}", "17", "=1+1;&lt;b&gt;P7&lt;/b&gt;"] {
        assert!(section.contains(words), "{words} is not in the section");
    }
    assert!(!section.contains("<b>P7</b>"));
}

#[test]
fn associations_are_never_called_causes() {
    let page = full("report.html").to_lowercase();
    assert!(page.contains("associated with"));
    for word in ["caused by", "because of", "due to"] {
        assert!(!page.contains(word), "{word}");
    }
}

#[test]
fn flags_on_the_page_are_explained_below_their_table() {
    let page = full("report.html");
    let section = page.split("<section id=\"skipped_cost\">").nth(1).unwrap();
    let section = section.split("</section>").next().unwrap();
    for flag in [Flag::Thin, Flag::Borrowed, Flag::Confounded] {
        assert!(section.contains(&format!("<li>{}: ", flag.word())), "{}", flag.word());
    }
    assert!(!section.contains("<li>partial: "), "a flag that does not occur is explained");
}

#[test]
fn a_flagged_number_makes_no_headline() {
    let mut review = sample::empty();
    let mut table = super::sample_looks::first_pass();
    table.rows.truncate(1);
    table.rows[0].flags = vec![Flag::Selective];
    review.first_pass = table;
    let folder = tempfile::tempdir().unwrap();
    report(&review, &folder.path().join("r"));
    let page = plain(&text(&folder.path().join("r"), "report.html"));
    assert!(page.contains("<p class=\"value\">not firm</p><p class=\"interval\">selective</p>"));
    assert!(!page.split("<section id=").next().unwrap().contains("81.2"));
    assert!(page.contains("Too little is known to say how clean end faces arrive"));
}

#[test]
fn settings_without_prices_are_told_beside_the_money() {
    let told = "The settings give no prices";
    assert!(!full("report.html").contains(told));
    let mut review = sample::empty();
    review.priced = false;
    let folder = tempfile::tempdir().unwrap();
    report(&review, &folder.path().join("r"));
    assert!(text(&folder.path().join("r"), "report.html").contains(told));
}

#[test]
fn a_ratio_without_events_on_one_side_is_given_by_its_limit() {
    let page = plain(&full("report.html"));
    assert!(page.contains("<th scope=\"row\">despite-fail, linked faults</th>"));
    assert!(page.contains(">over 1.80</td>"));
}

#[test]
fn a_review_without_records_says_so_at_every_question() {
    let review = sample::empty();
    let folder = tempfile::tempdir().unwrap();
    let inputs = Inputs { review: &review, accounts: &[], seed: 7, settings_hash: String::new() };
    let written = write_as(&inputs, &folder.path().join("r"), Form::OneFile).unwrap();
    // What could be bought and what was done are no matter of records.
    let of_records = |finding: &&String| {
        !finding.starts_with("No purchase is proposed")
            && !finding.starts_with("The settings name nothing that was done")
    };
    let findings: Vec<&String> = written.findings.iter().filter(of_records).collect();
    assert_eq!(findings.len() + 2, written.findings.len());
    assert!(findings.iter().all(|finding| *finding == "No records to answer this from."));
    let page = text(&written.folder, "report.html");
    assert_eq!(
        page.matches("<span class=\"answer\">No records to answer this from.</span>").count(),
        12
    );
    assert_eq!(page.matches("<p class=\"value\">no records</p>").count(), 3);
    assert!(page.contains("For nothing in the worklist can a saving be told"));
}

#[test]
fn words_from_records_are_never_markup_however_hostile_or_long() {
    let evil = "<script>alert('x')</script>\"&{{sections}}\u{202E}\u{7}=1+1";
    let long = "Überlandvermittlungsstelle".repeat(12);
    let review = sample::reworded(sample::full(), |word| {
        if word == "LC" { long.clone() } else { format!("{word}{evil}") }
    });
    let folder = tempfile::tempdir().unwrap();
    let written = report(&review, &folder.path().join("r"));
    let page = text(&written.folder, "report.html");
    assert_eq!(page.matches("<script").count(), 1, "the page's own alone");
    assert!(!page.contains('\u{202E}') && !page.contains('\u{7}'));
    assert!(
        page.contains("&lt;script&gt;alert(&#39;x&#39;)&lt;/script&gt;&quot;&amp;{{sections}}")
    );
    assert_eq!(page.matches("<section id=\"trust\">").count(), 1);
    for file in written.files.iter().filter(|file| file.extension().is_some_and(|e| e == "svg")) {
        let svg = std::fs::read_to_string(written.folder.join(file)).unwrap();
        assert!(!svg.contains("<script"), "{}", file.display());
    }
}

/// Q6: the step named is the first in rank, with its saving, how sure that is, and what enters there by both fits: 24.0 %
/// (21.7 to 26.3) as looked, 21.6 % (19.4 to 23.8) less false alarms.
#[test]
fn entry_names_the_step_where_an_avoided_point_saves_most() {
    let page = full("report.html");
    let section = page.split("<section id=\"entry\">").nth(1).unwrap();
    let section = section.split("</section>").next().unwrap();
    let finding = plain(section.split("<h2>").nth(1).unwrap().split("</h2>").next().unwrap());
    for words in [
        "on the way from depot-stores to lineside-fitting",
        "4 100 EUR (2 900 to 5 800) over the 12 months to 2026-06-30; first in 93 % of resamples",
        "Dirt enters there in 22.8 % (19.4 to 26.3) of passages, 36.0 % (32.3 to 39.7) of all dirt",
    ] {
        assert!(finding.contains(words), "{words} is not in: {finding}");
    }
    // A step that nothing parts from its neighbours is shown with its limits and its reason.
    assert!(section.contains("no passage parts it from its neighbours"));
    assert!(section.contains("not-identified: "));
}
