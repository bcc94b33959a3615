//! Broken openings, trials, rules, settings and jobs: refused with place, found and expected.

use dryberth::format::{job_from_text, layout_from_text, workshop_from_text};

/// The Sandlark demo's text with one thing changed.
fn changed(from: &str, to: &str) -> String {
    let text = include_str!("../../layouts/sandlark-cabriolet.ron");
    assert_eq!(text.matches(from).count(), 1, "`{from}` must stand once");
    text.replacen(from, to, 1)
}

#[track_caller]
fn refused(from: &str, to: &str, said: &[&str]) {
    let error = layout_from_text("x.ron", &changed(from, to)).expect_err(to).to_string();
    assert!(error.starts_with("x.ron:"), "{error}");
    for said in said {
        assert!(error.contains(said), "`{said}` is not in: {error}");
    }
}

#[test]
fn what_cannot_be_used_is_told_with_its_place() {
    refused(
        "[(2, 2), (166, 2), (166, 334),",
        "[(2, 2), (166, 334), (166, 2),",
        &["openings[1].outline", "crossing"],
    );
    refused(
        "Measured([(2, 2), (166, 2), (166, 334), (150, 338), (150, 345), (2, 345)])",
        "Measured([(2, 2)])",
        &["openings[1].outline", "1 corners"],
    );
    refused(
        "carpet_mm: 3, fit_mm: 1,",
        "carpet_mm: 3000, fit_mm: 1,",
        &["openings[1].carpet_mm: found 3000", "30"],
    );
    refused(
        "notch: (near: (60, 345))",
        "notch: (near: (60, 345), width_mm: 40, depth_mm: 5)",
        &["openings[1].notch.depth_mm", "20"],
    );
    refused(
        "before: \"In its well, as built\"",
        "before: \"In its wall, as built\"",
        &["handover.before", "did you mean `In its well, as built`?"],
    );
    refused(
        "(body: \"parking aid module\", how",
        "(body: \"parking aid modul\", how",
        &["handover.unbolt[0].body", "did you mean `parking aid module`?"],
    );
    refused(
        "\"not (tow and wheel)\"",
        "\"not (tow and wheel\"",
        &["option_rules[0]", "expected `)`"],
    );
    refused(
        "\"not (tow and wheel)\"",
        "\"not (tow and whele)\"",
        &["`whele` at character 14", "did you mean `wheel`?"],
    );
    refused("code: \"amp\"", "code: \"tow\"", &["options[2].code", "a second time"]);
    refused("code: \"amp\"", "code: \"a mp\"", &["options[2].code", "without blanks"]);
    refused("code: \"amp\"", "code: \"not\"", &["options[2].code"]);
    refused(
        "options: [\"pdc\", \"tow\", \"amp\"]",
        "options: [\"pdc\", \"towing\"]",
        &["cars[2].options[1]", "`towing`"],
    );
    refused(
        "said: Gap(body: \"parking aid module\", mm: 9)",
        "said: Gap(body: \"parking aid module\", mm: -9)",
        &["trials[0].remarks[1].said.mm", "-9"],
    );
    refused("said: Rocked(false)", "said: Rokced(false)", &["`Rokced`", "did you mean `Rocked`?"]);
    refused("tape_edges: [", "tape_edgse: [", &["`tape_edgse`", "did you mean `tape_edges`?"]);
}

#[test]
fn jobs_and_settings_say_what_is_wrong_with_them() {
    for (text, said) in [
        ("(schema: 2)", "no field `car`"),
        ("(schema: 9, car: \"x\")", "newer version"),
        ("(schema: 2, car: \"\")", "car: found an empty text"),
        ("(schema: 2, car: \"x\", fuond: [])", "did you mean `found`?"),
        (
            "(schema: 2, car: \"x\", readings: [(what: \"volts\", figure: \"\")])",
            "readings[0].figure",
        ),
    ] {
        let error = job_from_text("job.ron", text).expect_err(text).to_string();
        assert!(error.starts_with("job.ron") && error.contains(said), "{error}");
    }
    for (text, said) in [
        ("(schema: 2)", "no field `name`"),
        ("(schema: 2, name: \"\")", "name: found an empty name"),
        (
            "(schema: 2, name: \"x\", lines: [\"1\",\"2\",\"3\",\"4\",\"5\",\"6\"])",
            "at most 5 lines",
        ),
        ("(schema: 2, name: \"x\", colour: (300, 0, 0))", "300"),
    ] {
        let error = workshop_from_text("shop.ron", text).expect_err(text).to_string();
        assert!(error.starts_with("shop.ron") && error.contains(said), "{error}");
    }
}
