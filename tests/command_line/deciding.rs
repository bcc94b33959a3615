//! `matrix`, `compare`, `find`, `new`, `changes`, `upgrade`, `trial`, `sheet`, `template`, `picture`,
//! `export` as a person runs them.

use std::fs;

use crate::runs::{bench_boot, err, folder, json, out, run};

/// The bench boot with a code for one of its two options.
fn with_options(text: String) -> String {
    assert!(text.contains("(name: \"tow module\", fitted"));
    text.replacen(
        "(name: \"tow module\", fitted",
        "(name: \"tow module\", code: \"tow\", fitted",
        1,
    )
}

#[test]
fn option_means_exactly_these() {
    let folder = folder();
    let file = bench_boot(folder.path(), with_options);
    let options =
        |arguments: &[&str]| json(&[&["check", &file], arguments].concat())["options"].clone();
    let (amplifier, tow) = ("spare amplifier", "tow module");
    assert_eq!(options(&[]), serde_json::json!([tow]));
    assert_eq!(options(&["--option", amplifier]), serde_json::json!([amplifier]));
    assert_eq!(
        options(&["--option", "tow", "--option", amplifier]),
        serde_json::json!([amplifier, tow])
    );
    assert_eq!(options(&["--option", "none"]), serde_json::json!([]));
    assert_eq!(options(&["--without", "tow"]), serde_json::json!([]), "codes do as names");
    let wrong = run(&["check", &file, "--option", "tow modul"]);
    assert_eq!(wrong.status.code(), Some(2));
    assert!(err(&wrong).contains("did you mean `tow module`?"), "{}", err(&wrong));
    assert_eq!(
        run(&["check", &file, "--option", "tow", "--with", amplifier]).status.code(),
        Some(2)
    );
}

#[test]
fn a_matrix_is_text_csv_or_json_and_says_the_same() {
    let folder = folder();
    let file = bench_boot(folder.path(), with_options);
    let found = json(&["matrix", &file]);
    assert_eq!(found["schema"], 1);
    let cars = found["cars"].as_array().expect("cars");
    assert_eq!(cars.len(), 4);
    let spots = found["spots"].as_array().expect("spots");
    for (index, car) in cars.iter().enumerate() {
        let mut arguments = vec!["check", file.as_str()];
        let names: Vec<&str> = car["options"]
            .as_array()
            .expect("options")
            .iter()
            .filter_map(|name| name.as_str())
            .collect();
        for name in if names.is_empty() { vec!["none"] } else { names } {
            arguments.extend(["--option", name]);
        }
        let alone = json(&arguments);
        for row in spots {
            let cards = alone["spots"].as_array().expect("spots");
            let card = cards.iter().find(|card| card["name"] == row["spot"]).expect("its card");
            let cell = &row["cells"][index];
            assert_eq!((&cell["verdict"], &cell["score"]), (&card["verdict"], &card["score"]));
        }
    }
    let table = out(&run(&["matrix", &file, "--csv"]));
    assert_eq!(table.lines().count(), 1 + cars.len() * spots.len());
    assert!(table.starts_with("spot,car,verdict,score,why,unbolt\r\n"));
    let text = out(&run(&["matrix", &file, "--car", "tow,spare amplifier", "--car", "none"]));
    assert!(text.contains("spare amplifier + tow module") && text.contains("no options"), "{text}");
    assert_eq!(run(&["matrix", &file, "--car", "sunroof"]).status.code(), Some(2));
    assert_eq!(run(&["matrix", &file, "--stated"]).status.code(), Some(2), "it states no cars");
}

#[test]
fn a_comparison_is_text_csv_or_json() {
    let folder = folder();
    let file = bench_boot(folder.path(), |text| text);
    let found = json(&["compare", &file, "--weights", "water=3"]);
    assert_eq!(found["weights"]["water"], 3.0);
    let spots = found["spots"].as_array().expect("spots").len();
    assert!(spots >= 2);
    let last = found["spots"][spots - 1]["name"].as_str().expect("a name").to_string();
    assert_eq!(json(&["compare", &file, "--to", &last])["to"], last.as_str());
    let table = out(&run(&["compare", &file, "--csv"]));
    assert!(table.starts_with("headline,check,subject,unit,spot,figure,margin,margin_difference,"));
    assert!(table.lines().count() > 10);
    let text = out(&run(&["compare", &file, "--tolerance-runs", "3"]));
    assert!(text.contains("chance") && text.contains("planning aids"), "{text}");
    for wrong in [["--weights", "watr=2"], ["--to", "nowhere"], ["--spot", "nowhere"]] {
        let output = run(&[&["compare", file.as_str()], &wrong[..]].concat());
        assert_eq!(output.status.code(), Some(2), "{wrong:?}");
    }
}

#[test]
fn layouts_are_found_begun_compared_and_upgraded() {
    let folder = folder();
    let file = bench_boot(folder.path(), |text| text);
    let at = folder.path().to_str().expect("a path that is text");
    let found = json(&["find", at, "bench"]);
    assert_eq!(found["layouts"].as_array().expect("layouts").len(), 1);
    assert_eq!(run(&["find", at, "zeppelin"]).status.code(), Some(1));
    let next = folder.path().join("next.ron");
    let next = next.to_str().expect("a path that is text");
    assert_eq!(run(&["new", next, "--from", &file, "--name", "Next boot"]).status.code(), Some(0));
    assert_eq!(run(&["new", next, "--from", &file, "--name", "Next boot"]).status.code(), Some(2));
    let told = out(&run(&["changes", &file, next]));
    assert!(told.contains("name: `Next boot`, was"), "{told}");
    assert!(out(&run(&["changes", &file, &file])).contains("Nothing"));
    let before = fs::read_to_string(&file).expect("the layout");
    assert_eq!(run(&["upgrade", &file]).status.code(), Some(0));
    let kept = folder.path().join("layout.schema-1.ron");
    assert_eq!(fs::read_to_string(kept).expect("the original"), before);
    assert!(out(&run(&["upgrade", &file])).contains("already"));
}

#[test]
fn a_trial_is_kept_or_only_said() {
    let folder = folder();
    let file = bench_boot(folder.path(), |text| text);
    let before = fs::read_to_string(&file).expect("the layout");
    let spot = json(&["check", &file])["spots"][0]["name"].as_str().expect("a name").to_string();
    let tried = ["trial", &file, "--spot", &spot, "--rocked", "no", "--said", "it hums"];
    let only = run(&[&tried[..], &["--dry-run"]].concat());
    assert_eq!(only.status.code(), Some(0), "{}", err(&only));
    assert!(out(&only).contains("it did not rock") && out(&only).contains("Nothing was written"));
    assert_eq!(fs::read_to_string(&file).expect("the layout"), before);
    assert_eq!(run(&tried).status.code(), Some(0));
    assert!(fs::read_to_string(&file).expect("the layout").contains("Rocked(false)"));
    for wrong in [
        &["trial", &file, "--spot", &spot][..],
        &["trial", &file, "--spot", "nowhere", "--rocked", "no"],
        &["trial", &file, "--spot", &spot, "--rocked", "maybe"],
        &["trial", &file, "--spot", &spot, "--gap", "nothing=3"],
        &["trial", &file, "--spot", &spot, "--gap", "floor"],
    ] {
        assert_eq!(run(wrong).status.code(), Some(2), "{wrong:?}");
    }
}

#[test]
fn documents_are_written_and_wrong_wishes_refused() {
    let folder = folder();
    let file = bench_boot(folder.path(), |text| text);
    let at =
        |name: &str| folder.path().join(name).to_str().expect("a path that is text").to_string();
    for (arguments, name, begins) in [
        (&["export", &file][..], "boot.glb", &b"glTF"[..]),
        (&["picture", &file, "--size", "160x100"], "boot.png", b"\x89PNG"),
        (
            &["template", "--plate", "0,0 90,0 90,60 0,60", "--hole", "20,20,6"],
            "plate.pdf",
            b"%PDF",
        ),
        (&["template", "--plate", "0,0 90,0 90,60 0,60"], "plate.svg", b"<svg"),
        (&["template", "--plate", "0,0 90,0 90,60 0,60"], "plate.dxf", b"  0\r\nSECTION"),
    ] {
        let output = run(&[arguments, &["-o", &at(name)]].concat());
        assert_eq!(output.status.code(), Some(0), "{name}: {}", err(&output));
        assert!(fs::read(at(name)).expect("the file").starts_with(begins), "{name}");
    }
    let wrong = [
        vec!["export", &file, "--spot", "nowhere"],
        vec!["picture", &file, "--view", "below"],
        vec!["template", &file],
        vec!["template", "--plate", "0,0 90,0 0,60 90,60"],
        vec!["template", "--plate", "0,0 90,0"],
        vec!["template", "--plate", "0,0 90,0 90,60 0,60", "--hole", "0,0,6"],
        vec!["sheet", "customer", &file, "--job", "nowhere.ron"],
        vec!["sheet", "customer", &file, "--workshop", "nowhere.ron"],
    ];
    for arguments in wrong {
        let output = run(&[&arguments[..], &["-o", &at("never.pdf")]].concat());
        assert_eq!(output.status.code(), Some(2), "{arguments:?}");
        assert!(!fs::exists(at("never.pdf")).expect("known"), "{arguments:?}");
    }
    assert_eq!(run(&["export", &file, "-o", &at("boot.obj")]).status.code(), Some(2), "only .glb");
}
