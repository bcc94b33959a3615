//! Openings narrower than a tape tells: water counts as held, and that is said. Every expected number is a
//! closed form of the sizes.

use dryberth::checks::Verdict;

use super::{ask, check, near};

/// A well of 400 × 300 mm, 100 mm deep, whose right wall begins at `from` and ends at `to` across.
fn well(from_mm: f64, right_mm: f64) -> String {
    format!(
        r#"(name: "rear", role: Panel, shape: Box(from: (-206,-150,0), to: (-200,150,100))),
           (name: "front", role: Panel, shape: Box(from: (200,-157,0), to: (206,150,100))),
           (name: "left", role: Panel, shape: Box(from: (-206,150,0), to: (206,156,100))),
           (name: "right", role: Panel, shape: Box(from: ({from_mm},-157,0), to: (200,{right_mm},100))),"#
    )
}

const DRAIN: &str = r#"(name: "outside", at: (-900, 0, 0), diameter_mm: 40),"#;

/// The plug is 70 mm up: 30 mm under the well's rim.
const AT: &str = "at: (0, 0, 40)";

#[test]
fn an_opening_that_no_tape_can_tell_holds_water_and_is_told() {
    for (from_mm, right_mm, wide) in [
        (-200.0, -150.0, None),
        (-199.0, -150.0, Some("1.0")),
        (-197.1, -150.0, Some("2.9")),
        // Over the corner: 1 mm along and 1 mm across, and 2 mm across alone.
        (-199.0, -151.0, Some("1.4")),
        (-200.0, -152.0, Some("2.0")),
    ] {
        let card = ask(&well(from_mm, right_mm), &format!("drains: [{DRAIN}],"), AT, "");
        let found = check(&card, "freeboard", "drains as found");
        let figure = found.figure.unwrap();
        assert!((-70.0..=-30.0 + 1e-9).contains(&figure), "{from_mm} {right_mm}: {found:#?}");
        assert_eq!(found.verdict, Verdict::Fail);
        match wide {
            Some(wide) => {
                let words = format!("an opening of {wide} mm at (-");
                assert!(found.why.contains(&words), "{from_mm} {right_mm}: {found:#?}");
            }
            None => assert!(!found.why.contains("opening"), "{found:#?}"),
        }
    }
}

#[test]
fn an_opening_that_a_tape_tells_or_that_is_listed_lets_water_out() {
    // 4 mm are more than the ± 3 mm of a tape; 1 mm that is listed as a drain is one.
    let listed = r#"(name: "slot", at: (-199.5, -153, 0), diameter_mm: 8),"#;
    for (from_mm, drains) in [(-196.0, DRAIN.to_string()), (-199.0, format!("{DRAIN}{listed}"))] {
        let card = ask(&well(from_mm, -150.0), &format!("drains: [{drains}],"), AT, "");
        let found = check(&card, "freeboard", "drains as found");
        // Dry on level ground; what a slope keeps in a corner doesn't come near 30 mm under the plug.
        assert!(found.figure.unwrap() > 0.0 && !found.why.contains("opening"), "{found:#?}");
    }
}

#[test]
fn a_space_isnt_sealed_by_what_counts_as_shut() {
    // A lid on the well, with 1 mm open at a corner as its only opening: with all drains blocked water stands
    // to the floor's rim, 150 mm, and comes in: the plug is 80 mm under it.
    let lid =
        r#"(name: "lid", role: Panel, shape: Box(from: (-206,-157,100), to: (206,156,103))),"#;
    let bodies = format!("{}{lid}", well(-199.0, -150.0));
    let card = ask(&bodies, &format!("drains: [{DRAIN}],"), AT, "");
    let found = check(&card, "freeboard", "all drains blocked");
    assert!(found.figure.unwrap() < -79.0, "{found:#?}");
}

#[test]
fn a_trough_of_thin_sloping_sheet_over_the_floor_holds_its_water() {
    // Two sheets 1 mm thick fall 60 mm over 100 mm to a fold at z = 140, over the floor: within a square of
    // 5 mm they fall by 3 mm, three times their thickness. The trough stands to the 200 mm of its rims, the
    // plug at z = 170 is 30 mm under water.
    let sheet = |name: &str, from: f64, to: f64| {
        let corners: Vec<String> = [(from, 200.0), (to, 140.0)]
            .iter()
            .flat_map(|(x, z)| {
                let at = move |y: f64, down: f64| format!("({x},{y},{})", z - down);
                [at(-150.0, 0.0), at(150.0, 0.0), at(-150.0, 1.0), at(150.0, 1.0)]
            })
            .collect();
        format!(r#"(name: "{name}", role: Panel, shape: Hull(points: [{}])),"#, corners.join(","))
    };
    let ends = r#"(name: "left", role: Panel, shape: Box(from: (-100,150,100), to: (100,152,220))),
        (name: "right", role: Panel, shape: Box(from: (-100,-152,100), to: (100,-150,220))),"#;
    let bodies = format!("{}{}{ends}", sheet("rear", -100.0, 0.0), sheet("front", 100.0, 0.0));
    let card = ask(&bodies, &format!("drains: [{DRAIN}],"), "at: (0, 0, 140)", "");
    let found = check(&card, "freeboard", "drains as found");
    let figure = found.figure.unwrap();
    assert!((-30.5..=-27.0).contains(&figure), "{found:#?}");
}

#[test]
fn drips_fall_through_a_slit_in_sheet_over_no_floor() {
    // Two plates at z = 500 beyond the tray's front, with a slit at x = 1200 between. Nose down 20 % a drop
    // runs to the slit and its fall leans on to the front: at the height of the plug, at (1200, 200, 330), it is
    // 34 mm before it. Where the car leans to a side by 10 % too, it has gone half as far aside as
    // it has ahead, less up to 2.5 mm over the last square of 5 mm, which it crosses straight. What it has
    // left to the plug counts square to its way.
    let left = |aside: f64| {
        let (x, y) = (0.2 * 170.0, 200.0 - aside * (80.0 / 0.2 + 170.0));
        let along = (y * aside - x * 0.2) / (1.04 + aside * aside).sqrt();
        (x * x + y * y - along * along).sqrt()
    };
    let expected = [0.0, 0.1, -0.1].map(left).into_iter().fold(f64::INFINITY, f64::min);
    for slit_mm in [1.0, 2.0, 3.0, 4.0] {
        let plate = |name: &str, low: f64, high: f64| {
            format!(
                r#"(name: "{name}", role: Panel, shape: Box(from: ({low},-600,497), to: ({high},600,500))),"#
            )
        };
        let rear = plate("rear", 1050.0, 1200.0 - slit_mm / 2.0);
        let bodies = [rear, plate("front", 1200.0 + slit_mm / 2.0, 1400.0)].concat();
        let leak = r#"leaks: [(name: "seal", at: (1120, 0, 520))],"#;
        let card = ask(&bodies, leak, "at: (1200, 200, 300)", "");
        near(check(&card, "drips", "leaks"), expected, 3.0 + slit_mm / 2.0);
    }
}

#[test]
fn a_slit_with_sheet_all_round_lets_drips_through_too() {
    // As before, but 1 mm wide and closed at both ends, by two strips.
    let plate = |name: &str, x: [f64; 2], y: [f64; 2]| {
        format!(
            r#"(name: "{name}", role: Panel, shape: Box(from: ({},{},497), to: ({},{},500))),"#,
            x[0], y[0], x[1], y[1]
        )
    };
    let bodies = [
        plate("rear", [1050.0, 1199.5], [-600.0, 600.0]),
        plate("front", [1200.5, 1400.0], [-600.0, 600.0]),
        plate("right end", [1199.5, 1200.5], [-600.0, -300.0]),
        plate("left end", [1199.5, 1200.5], [300.0, 600.0]),
    ]
    .concat();
    let leak = r#"leaks: [(name: "seal", at: (1120, 0, 520))],"#;
    let card = ask(&bodies, leak, "at: (1200, 200, 300)", "");
    // 143 mm aside and 34 mm before the plug, square to the way: 146.8 mm.
    near(check(&card, "drips", "leaks"), 146.8, 3.0);
}
