//! Trial fits: beside the prediction, adjusting tolerances, kept with the layout.

use dryberth::checks::{Boot, evaluate};
use dryberth::compare::{adjusted, adjustments, changes, predicted};
use dryberth::format::{open, open_demo};
use dryberth::model::{Remark, Said, Trial};

fn trial(remarks: Vec<Remark>) -> Trial {
    Trial {
        spot: "On the jack bracket".to_string(),
        when: "second car, \"May\"".to_string(),
        by: String::new(),
        options: Vec::new(),
        remarks,
    }
}

fn remark(said: Said, predicted: f64, tolerance: f64) -> Remark {
    Remark {
        said,
        predicted: Some(predicted),
        tolerance: Some(tolerance),
        verdict: "pass".to_string(),
        note: String::new(),
    }
}

#[test]
fn the_prediction_is_the_scorecards() {
    let mut opened = open_demo(Some("sandlark-cabriolet")).expect("the demo");
    opened.layout.limits.water_step_mm = 20.0;
    let boot = opened.boot(&Boot::usual_options(&opened.layout)).expect("a boot");
    let card = evaluate(&boot, opened.layout.spot("On the jack bracket").expect("the spot"));
    for (said, id, subject) in [
        (Said::Proud { trim: "side carpet, right".into(), mm: 0.0 }, "lift", "side carpet, right"),
        (
            Said::Gap { body: "parking aid module".into(), mm: 9.0 },
            "clearance",
            "parking aid module",
        ),
        (Said::Slack { line: "feed cable".into(), mm: 120.0 }, "slack", "feed cable"),
        (Said::Touched { line: "release cord".into() }, "line-gap", "release cord"),
    ] {
        let check = card.check(id, subject).unwrap_or_else(|| panic!("{id} {subject}"));
        let made = predicted(&card, said, "");
        assert_eq!((made.predicted, made.tolerance), (check.figure, Some(check.tolerance)));
        assert_eq!(made.verdict, check.verdict.word());
    }
    assert_eq!(predicted(&card, Said::Rocked(false), "").borne_out(), Some(true));
    assert_eq!(predicted(&card, Said::Rocked(true), "").borne_out(), Some(false));
    let other = predicted(&card, Said::Other("it hums".into()), "");
    assert_eq!((other.predicted, other.borne_out()), (None, None));
}

#[test]
fn a_tolerance_grows_to_what_the_car_showed() {
    let layout = open_demo(Some("sandlark-cabriolet")).expect("the demo").layout;
    // Tape 3 and bench 1: t = √10. Off by 6: √(9 + 36 − 10) = 5.916, up to 6.0.
    let gap = |mm| Said::Gap { body: "parking aid module".into(), mm };
    let t = 10_f64.sqrt();
    let found = adjustments(&layout, &trial(vec![remark(gap(6.0), 12.0, t)]));
    assert_eq!(found.len(), 1);
    assert_eq!(found[0].body.as_deref(), Some("parking aid module"));
    assert!(
        (found[0].now_mm - 3.0).abs() < 1e-12 && (found[0].to_mm - 6.0).abs() < 1e-12,
        "{found:?}"
    );
    // That is enough: with it the check's tolerance covers the difference.
    let body = found[0].to_mm;
    assert!((body * body + 1.0).sqrt() >= 6.0);
    // Within the tolerance nothing grows, and nothing ever shrinks.
    assert!(adjustments(&layout, &trial(vec![remark(gap(9.0), 12.0, t)])).is_empty());
    assert!(adjustments(&layout, &trial(vec![remark(gap(12.0), 12.0, t)])).is_empty());
    // A trim that lay flat bears out any figure below zero.
    let flat = Said::Proud { trim: "side carpet, right".into(), mm: 0.0 };
    assert!(adjustments(&layout, &trial(vec![remark(flat.clone(), -22.0, 3.2)])).is_empty());
    assert_eq!(remark(flat, -22.0, 3.2).borne_out(), Some(true));
    // What isn't a gap to a body is laid at the tape; the largest counts.
    let proud = |mm| Said::Proud { trim: "side carpet, right".into(), mm };
    let found = adjustments(
        &layout,
        &trial(vec![remark(proud(5.0), 0.0, 3.0), remark(proud(9.0), 0.0, 3.0)]),
    );
    assert_eq!(found.len(), 1);
    assert!(found[0].body.is_none() && (found[0].to_mm - 9.0).abs() < 1e-12, "{found:?}");
    let after = adjusted(layout.clone(), &found);
    assert!((after.limits.tape_mm - 9.0).abs() < 1e-12);
    assert_eq!(changes(&layout, &after).len(), 1);
}

#[test]
fn a_trial_is_kept_in_the_file_and_nothing_else_changes() {
    let folder = tempfile::tempdir().expect("a folder");
    let path = dryberth::format::DEMOS[1].unpack(folder.path()).expect("unpacked");
    let before = std::fs::read_to_string(&path).expect("the layout");
    let mut opened = open(&path).expect("a sound layout");
    let gap = Said::Gap { body: "fuse box".into(), mm: 1.0 };
    let made = trial(vec![
        remark(gap, 12.0, 3.2),
        remark(Said::Proud { trim: "boot board".into(), mm: 7.5 }, 0.0, 3.2),
        Remark {
            said: Said::Other("it \"hums\" at\nnight".into()),
            predicted: None,
            tolerance: None,
            verdict: String::new(),
            note: "Käfer ½".into(),
        },
    ]);
    let wanted = adjustments(&opened.layout, &made);
    assert_eq!(wanted.len(), 2);
    for round in 0..2 {
        opened.file.save_trial(&made, &wanted).expect("kept");
        let again = open(&path).expect("a sound layout");
        let mut expected = adjusted(opened.layout.clone(), &wanted);
        expected.trials.extend(vec![made.clone(); round + 1]);
        assert_eq!(again.layout, expected);
    }
    let after = std::fs::read_to_string(&path).expect("the layout");
    let comments = |text: &str| -> Vec<String> {
        text.lines().filter_map(|line| line.find("// ").map(|at| line[at..].to_string())).collect()
    };
    assert_eq!(comments(&after), comments(&before));
    // Without an adjustment only the list of trials grows.
    opened.file.save_trial(&trial(vec![remark(Said::Rocked(false), 2.0, 0.1)]), &[]).expect("kept");
    let last = std::fs::read_to_string(&path).expect("the layout");
    let start = last.find("trials:").expect("the list");
    assert_eq!(last[..start], after[..start]);
}

#[test]
fn a_tolerance_set_where_no_limits_stood_writes_that_one_only() {
    let folder = tempfile::tempdir().expect("a folder");
    let demo = dryberth::format::DEMOS.iter().find(|demo| demo.name == "sandlark-cabriolet");
    let path = demo.expect("the demo").unpack(folder.path()).expect("unpacked");
    let before = std::fs::read_to_string(&path).expect("its text");
    assert!(!before.contains("limits:"), "the demo states no limits");
    let mut opened = dryberth::format::open(&path).expect("the demo");
    opened.layout.limits.tape_mm = 9.0;
    opened.file.save_layout(&opened.layout).expect("saved");
    let after = std::fs::read_to_string(&path).expect("its text");
    let added: Vec<&str> = after.lines().filter(|line| !before.contains(line.trim())).collect();
    assert_eq!(added, ["    limits: (tape_mm: 9),"]);
    assert_eq!(dryberth::format::open(&path).expect("read").layout, opened.layout);
}

#[test]
fn only_lengths_are_told_in_mm() {
    let words = |said, figure| remark(said, figure, 0.1).predicted_words();
    let trim = || Said::Proud { trim: "carpet".to_string(), mm: 4.0 };
    assert_eq!(words(trim(), 2.5), "2.5 ± 0.1 mm (pass)");
    assert_eq!(words(trim(), -26.0), "flat, 26.0 ± 0.1 mm behind (pass)");
    for said in [Said::Rocked(false), Said::LevelSeen(true)] {
        let told = words(said, 18.0);
        assert!(told.contains("18") && !told.contains("mm"), "{told}");
    }
    assert_eq!(predicted_nothing().predicted_words(), "");
}

fn predicted_nothing() -> Remark {
    let said = Said::Other("it hums".to_string());
    Remark { said, predicted: None, tolerance: None, verdict: String::new(), note: String::new() }
}
