//! The headless answer has exactly the form that other programs were promised.

use serde_json::Value;

use crate::runs::{bench_boot, folder, json};

/// The keys of an object, in their order.
fn keys(value: &Value) -> Vec<&str> {
    value.as_object().expect("an object").keys().map(String::as_str).collect()
}

fn sorted<'a>(names: &[&'a str]) -> Vec<&'a str> {
    let mut names = names.to_vec();
    names.sort_unstable();
    names
}

/// A number, finite as JSON's are; `null` only where it may be.
fn number(value: &Value, or_null: bool) -> Option<f64> {
    assert!(value.is_number() || or_null && value.is_null(), "{value}");
    value.as_f64()
}

fn verdict(value: &Value) -> &str {
    let verdict = value.as_str().expect("a verdict is text");
    assert!(["pass", "tight", "fail", "unknown"].contains(&verdict), "{verdict}");
    verdict
}

fn holds_is_sound(holds: &Value) {
    assert_eq!(keys(holds), sorted(&["chance", "low", "high", "runs"]));
    let [chance, low, high] =
        ["chance", "low", "high"].map(|name| number(&holds[name], false).expect("a share"));
    assert!(0.0 <= low && low <= chance && chance <= high && high <= 1.0, "{holds}");
}

fn check_is_sound(check: &Value) {
    let mut wanted = vec![
        "id",
        "subject",
        "figure",
        "unit",
        "limit",
        "comfort",
        "tolerance",
        "margin",
        "score",
        "verdict",
        "why",
        "at",
    ];
    if !check["holds"].is_null() {
        wanted.push("holds");
        holds_is_sound(&check["holds"]);
    }
    assert_eq!(keys(check), sorted(&wanted));
    for name in ["id", "subject", "unit", "why"] {
        assert!(check[name].is_string(), "{name}: {check}");
    }
    assert!(!check["id"].as_str().unwrap_or_default().is_empty(), "{check}");
    assert!(!check["why"].as_str().unwrap_or_default().is_empty(), "{check}");
    let limit = number(&check["limit"], false).expect("a limit");
    let comfort = number(&check["comfort"], false).expect("a comfort value");
    assert!(number(&check["tolerance"], false).is_some_and(|tolerance| tolerance >= 0.0));
    let open = [&check["figure"], &check["margin"], &check["score"]].map(|v| number(v, true));
    match (verdict(&check["verdict"]), open) {
        ("unknown", open) => assert_eq!(open, [None; 3], "{check}"),
        (verdict, [Some(figure), Some(margin), Some(score)]) => {
            let good = if comfort < limit { -1.0 } else { 1.0 };
            assert!((margin - (figure - limit) * good).abs() < 1e-9, "{check}");
            assert!((0.0..=100.0).contains(&score), "{check}");
            assert_eq!(verdict == "fail", margin < 0.0, "{check}");
        }
        (_, open) => panic!("a verdict without a figure: {open:?} in {check}"),
    }
    if let Value::Array(at) = &check["at"] {
        assert_eq!(at.len(), 3, "{check}");
        assert!(at.iter().all(Value::is_number), "{check}");
    } else {
        assert!(check["at"].is_null(), "{check}");
    }
}

/// Worst first: fail, unknown, tight, pass.
fn gravity(verdict: &str) -> usize {
    ["pass", "tight", "unknown", "fail"].iter().position(|word| *word == verdict).expect("a word")
}

fn answer_is_sound(answer: &Value) {
    assert_eq!(keys(answer), sorted(&["schema", "layout", "pump", "options", "spots"]));
    assert_eq!(answer["schema"], 1);
    assert!(answer["layout"].is_string() && answer["pump"].is_string());
    assert!(answer["options"].as_array().expect("options").iter().all(Value::is_string));
    for spot in answer["spots"].as_array().expect("spots") {
        let mut wanted = vec!["name", "verdict", "score", "headlines"];
        if !spot["holds"].is_null() {
            wanted.push("holds");
            holds_is_sound(&spot["holds"]);
        }
        assert_eq!(keys(spot), sorted(&wanted));
        assert!(spot["name"].is_string());
        let headlines = spot["headlines"].as_array().expect("headlines");
        let ids: Vec<&Value> = headlines.iter().map(|headline| &headline["id"]).collect();
        assert_eq!(ids, ["reach", "carpet", "feed", "water", "hold"]);
        let mut worst = 0;
        for headline in headlines {
            assert_eq!(keys(headline), sorted(&["id", "score", "verdict", "checks"]));
            let checks = headline["checks"].as_array().expect("checks");
            assert!(!checks.is_empty(), "{headline}");
            checks.iter().for_each(check_is_sound);
            let of_checks = checks.iter().map(|check| gravity(verdict(&check["verdict"]))).max();
            assert_eq!(Some(gravity(verdict(&headline["verdict"]))), of_checks, "{headline}");
            worst = worst.max(gravity(verdict(&headline["verdict"])));
            let score = number(&headline["score"], true);
            assert!(score.is_none_or(|score| (0.0..=100.0).contains(&score)));
        }
        assert_eq!(gravity(verdict(&spot["verdict"])), worst, "{}", spot["name"]);
        let score = number(&spot["score"], true);
        assert!(score.is_none_or(|score| (0.0..=100.0).contains(&score)));
        assert_eq!(score.is_none(), spot["verdict"] == "unknown", "{}", spot["name"]);
        if spot["verdict"] == "fail" {
            assert_eq!(score, Some(0.0));
        }
    }
}

#[test]
fn both_demos_answer_in_the_promised_form() {
    for demo in ["wrenfield-drop-top", "sandlark-cabriolet"] {
        let answer = json(&["check", demo]);
        answer_is_sound(&answer);
        assert!(answer["spots"].as_array().is_some_and(|spots| spots.len() >= 4));
    }
}

#[test]
fn what_is_unknown_is_null_and_every_key_is_there() {
    let folder = folder();
    let path = bench_boot(folder.path(), |text| {
        // Without a sheet that could hold water nothing is known of it.
        let text = text.replace("role: Floor", "role: Other").replace("role: Panel", "role: Other");
        text.replace("role: WheelArch", "role: Other")
    });
    let answer = json(&["check", &path]);
    answer_is_sound(&answer);
    let text = answer.to_string();
    assert!(text.contains("\"figure\":null") && text.contains("\"score\":null"), "{text}");
}

#[test]
fn spots_are_listed_non_failing_first_then_by_score() {
    for demo in ["wrenfield-drop-top", "sandlark-cabriolet"] {
        let answer = json(&["check", demo]);
        let ranks: Vec<(bool, f64)> = answer["spots"]
            .as_array()
            .expect("spots")
            .iter()
            .map(|spot| (spot["verdict"] == "fail", -spot["score"].as_f64().unwrap_or(-1.0)))
            .collect();
        assert!(ranks.is_sorted(), "{demo}: {ranks:?}");
    }
}

#[test]
fn one_spot_gives_what_the_list_gives() {
    let all = json(&["check"]);
    let spots = all["spots"].as_array().expect("spots");
    for spot in [&spots[0], &spots[spots.len() - 1]] {
        let one = json(&["check", "--spot", spot["name"].as_str().expect("a name")]);
        answer_is_sound(&one);
        assert_eq!(one["spots"], Value::Array(vec![spot.clone()]));
    }
}

#[test]
fn the_answer_is_the_librarys() {
    let opened = dryberth::format::open_demo(None).expect("the demo");
    let fitted = dryberth::checks::Boot::usual_options(&opened.layout);
    let boot = opened.boot(&fitted).expect("a boot");
    let answer = json(&["check"]);
    let spots = answer["spots"].as_array().expect("spots");
    assert_eq!(spots.len(), opened.layout.spots.len());
    for spot in &opened.layout.spots {
        let card = dryberth::checks::evaluate(&boot, spot);
        let listed = spots.iter().find(|listed| listed["name"] == *spot.name).expect("the spot");
        let text = serde_json::to_string(&card).expect("a card as JSON");
        assert_eq!(&serde_json::from_str::<Value>(&text).expect("JSON"), listed);
    }
}

#[test]
fn chances_are_there_only_when_asked_for() {
    let spot = ["check", "--spot", "On the amplifier bracket"];
    let plain = json(&spot);
    assert!(!plain.to_string().contains("\"holds\":"));
    let ask = |seed: &str| json(&[&spot[..], &["--tolerance-runs", "12", "--seed", seed]].concat());
    let first = ask("5");
    answer_is_sound(&first);
    assert_eq!(first, ask("5"));
    assert_eq!(first["spots"][0]["holds"]["runs"], 12);
    let checks = first["spots"][0]["headlines"].as_array().expect("headlines");
    for check in checks.iter().flat_map(|headline| headline["checks"].as_array().expect("checks")) {
        assert_eq!(check["holds"].is_object(), check["figure"].is_number(), "{check}");
    }
    // But for the chances it is the same answer.
    let mut stripped = first;
    let spot = stripped["spots"][0].as_object_mut().expect("a spot");
    spot.remove("holds");
    for headline in spot["headlines"].as_array_mut().expect("headlines") {
        for check in headline["checks"].as_array_mut().expect("checks") {
            check.as_object_mut().expect("a check").remove("holds");
        }
    }
    assert_eq!(stripped, plain);
}
