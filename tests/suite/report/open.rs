//! Questions of the settings that nobody answered: on the front page, under trust, in the findings.

use motetrail::settings::OpenQuestion;
use serde_json::Value;

use super::{report, sample, text};

fn question(line: usize, text: &str, changes: &str) -> OpenQuestion {
    OpenQuestion { line, text: text.to_owned(), changes: changes.to_owned(), answers: Vec::new() }
}

#[test]
fn the_report_says_which_questions_are_open_and_what_they_could_change() {
    let folder = tempfile::tempdir().unwrap();
    let mut review = sample::full();
    review.open_questions = vec![
        question(4, "1. Is a name unique in the fleet?", "coverage"),
        question(9, "2. Which zone?", "the order of records"),
        question(12, "3. Cents or whole <amounts>?", "every amount"),
        question(15, "Dirt or damage?", ""),
    ];
    report(&review, folder.path());
    let page = text(folder.path(), "report.html");
    let first = page.split("<section id=").next().unwrap();
    assert!(first.contains("4 questions of the settings are open"), "{first}");
    assert!(
        first.contains(
            "Question 1 (line 4): Is a name unique in the fleet? It could change coverage."
        )
    );
    assert!(first.contains("Cents or whole &lt;amounts&gt;?") && first.contains("And 1 more"));
    assert!(!first.contains("Dirt or damage"));
    assert!(page.contains("Line 15: Dirt or damage?"));
    let findings: Value = serde_json::from_str(&text(folder.path(), "findings.json")).unwrap();
    assert_eq!(findings["open_questions"].as_array().unwrap().len(), 4);
    assert_eq!(findings["open_questions"][1]["changes"], "the order of records");
}

#[test]
fn a_report_of_settings_without_open_questions_says_nothing_of_them() {
    let folder = tempfile::tempdir().unwrap();
    report(&sample::full(), folder.path());
    assert!(!text(folder.path(), "report.html").contains("Not answered."));
    let findings: Value = serde_json::from_str(&text(folder.path(), "findings.json")).unwrap();
    assert!(findings.get("open_questions").is_none());
}
