//! Water that must not be taken for that of another place, and drips that must go over what they meet. The
//! boots lie in the folder `attacks`; every expected number is a closed form of their sizes.

use dryberth::checks::water::{SLOPES, TrackEnd};
use dryberth::checks::{Boot, Scorecard, Verdict, evaluate};

use super::attacks::{boot, expect};
use super::{ask, check, near};

fn spot(boot: &Boot, name: &str) -> Scorecard {
    evaluate(boot, boot.layout().spots.iter().find(|spot| spot.name == name).unwrap())
}

#[test]
fn drips_that_land_on_the_pump_run_over_its_edge_onto_the_plug() {
    // They fall on the cube's top 80 mm behind its front edge. Nose down they run over it and drop 60 mm onto
    // the plug that sticks out below; straight through the cube they would pass it by at some 80 mm.
    let boot = boot("14-drip-on-pump");
    let card = spot(&boot, "s0");
    expect(&card, "drips", "leaks", 0.0, 0.0, Verdict::Fail);
    let why = &check(&card, "drips", "leaks").why;
    assert!(why.contains("run over the pump's feed plug nose down 20 %"), "{why}");
    // Every slope is turned aside, and on level ground they stay on top.
    let aside = &card.drawn.drips;
    assert_eq!(aside.len(), SLOPES.len());
    assert_eq!(aside[0].end, TrackEnd::OnPump(0));
    let solids: Vec<_> = boot.pump_at(&boot.layout().spots[0].place);
    for track in aside {
        for pair in track.points.windows(2) {
            for share in [0.0, 0.25, 0.5, 0.75, 1.0] {
                let at = pair[0] + (pair[1] - pair[0]) * share;
                for solid in &solids {
                    assert!(solid.distance_to_point_mm(&at) > -1e-6, "{track:?}");
                }
            }
        }
    }
    // Out from under the leak it is dry: 300 mm aside, nothing is turned.
    let mut moved = boot.layout().spots[0].clone();
    moved.place.at.y += 300.0;
    let card = evaluate(&boot, &moved);
    assert!(card.drawn.drips.is_empty());
    assert_ne!(check(&card, "drips", "leaks").verdict, Verdict::Fail);
}

#[test]
fn a_low_place_parted_by_a_ridge_is_two_pools_with_their_own_levels() {
    // One floor, folded up to a ridge of 60 mm, whose top lies on a line of the grid: there it once counted
    // 7.5 mm too low. On the left a drain in the rim at 30 mm; the right stands to the ridge, over 980 mm of
    // width: (490 − 20) × 60 + 20 × 60 / 2 mm² of section.
    let boot = boot("15-ridge");
    let level = &boot.water()[0];
    let levels: Vec<f64> = level.pools.iter().map(|pool| pool.level_mm).collect();
    assert_eq!(levels.len(), 2, "{:?}", level.pools);
    assert!((levels[0] - 60.0).abs() < 1e-9 && (levels[1] - 30.0).abs() < 1e-9, "{levels:?}");
    let litres = 980.0 * (470.0 * 60.0 + 600.0) / 1e6;
    assert!((level.pools[0].litres / litres - 1.0).abs() < 0.03, "{:?}", level.pools[0]);
    // The plug at 80 mm: over the right pool's level by 20 mm at the most, over the left one's by 50.
    let least =
        |name: &str| check(&spot(&boot, name), "freeboard", "drains as found").figure.unwrap();
    let (right, left) = (least("right"), least("left"));
    assert!(right <= 21.5 && right < left && left > 30.0, "{right} {left}");
    let grid = boot.floor().unwrap();
    for (x, expected) in [(250.0, 60.0), (-250.0, 30.0)] {
        let cell = grid.cell(x, 0.0).unwrap();
        assert!((level.floods.level_mm[cell] - expected).abs() < 1.5, "at {x}");
    }
}

#[test]
fn water_behind_a_thin_wall_is_not_that_of_the_plug_outside() {
    // A well of sheet 1 mm thick and 150 mm high stands full on an open floor; the plug at 80 mm is 3 mm
    // outside it, or 3 mm inside. Then the well turned by 30°, its walls across the grid, 2.5 mm outside.
    for name in ["16-thin-wall", "16b-thin-wall"] {
        let boot = boot(name);
        // Outside nothing stands: 80 mm over the floor, less what the slopes' lean takes.
        let outside = spot(&boot, "outside");
        for subject in ["drains as found", "all drains blocked"] {
            let found = check(&outside, "freeboard", subject);
            assert!((60.0..=105.0).contains(&found.figure.unwrap()), "{name}: {found:#?}");
            assert_eq!(found.verdict, Verdict::Pass, "{name}: {found:#?}");
        }
        let inside = spot(&boot, "inside");
        let found = check(&inside, "freeboard", "all drains blocked");
        assert!((-73.0..=-68.0).contains(&found.figure.unwrap()), "{name}: {found:#?}");
    }
}

#[test]
fn drips_go_along_what_stands_in_their_way() {
    // A shelf that ends at a wall 2 mm thick: nothing of what falls on it comes out behind the wall.
    let boot = boot("17-shelf-at-wall");
    for track in boot.drips() {
        if track.leak == 0 || track.leak == 2 {
            // As far as the wall goes; round its end they may run on.
            let along = track.points.iter().filter(|at| at.y.abs() < 299.0);
            let far = along.take_while(|at| at.z >= 0.0).map(|at| at.x).fold(f64::MIN, f64::max);
            assert!(far <= 100.0 + 1e-6, "{far}: {track:?}");
        }
        // No way leads through sheet.
        for pair in track.points.windows(2) {
            for share in [0.1, 0.3, 0.5, 0.7, 0.9] {
                let at = pair[0] + (pair[1] - pair[0]) * share;
                for (body, solid) in boot.bodies() {
                    let deep_mm = -solid.distance_to_point_mm(&at);
                    assert!(deep_mm < 1e-3, "{deep_mm} mm in {}: {pair:?} {track:?}", body.name);
                }
            }
        }
    }
}

#[test]
fn drips_run_down_plane_sheet_as_it_lies() {
    // A sheet 200 mm long, 300 mm wide and 3 mm thick falls by 0.3 to its edge at x = 140, z = 600. Nose up
    // 20 % it still falls by 0.1 there: the drop hangs 0.5 mm off the edge, and its fall passes the plug at
    // z = 330 at (140.5 − 0.2 × 270) / √1.04 mm. The diagonal of its top lies across the way, and is no wall.
    let expected = (140.5 - 0.2 * 270.0) / 1.04_f64.sqrt();
    // Over what holds no water it is followed in steps of 4 mm.
    for (role, within_mm) in [("Panel", 0.6), ("Floor", 0.6), ("Bracket", 4.0)] {
        for leak_x in [0, 20, 35] {
            let sheet = format!(
                r#"(name: "sheet", role: {role}, shape: Prism(along: Y, from_mm: -150, to_mm: 150,
                    outline: [(660, -60), (600, 140), (597, 140), (657, -60)])),"#
            );
            let leak = format!(r#"leaks: [(name: "seal", at: ({leak_x}, 0.2, 670))],"#);
            let card = ask(&sheet, &leak, "at: (0, 0, 300)", "");
            near(check(&card, "drips", "leaks"), expected, within_mm);
        }
    }
}

#[test]
fn a_shelf_over_the_pump_is_not_the_floor_under_it() {
    // Beyond the tray no floor was measured: with and without a shelf 200 mm over the pump nobody knows.
    let shelf = r#"(name: "shelf", role: Panel, shape: Box(from: (1001, -200, 600), to: (1400, 200, 603))),"#;
    for bodies in ["", shelf] {
        let card = ask(bodies, "", "at: (1200, 0, 300)", "");
        let found = check(&card, "freeboard", "all drains blocked");
        assert_eq!(found.verdict, Verdict::Unknown, "{found:#?}");
        assert!(found.why.contains("measure the floor there"), "{}", found.why);
    }
    // Over the tray the shelf changes nothing: it stands full to 150, the plug at 330.
    let shelf = shelf.replace("1001", "-200");
    let card = ask(&shelf, "", "at: (0, 0, 300)", "");
    near(check(&card, "freeboard", "all drains blocked"), 180.0, 1e-6);
    // Nor is it known on a floor that ends before the plug.
    let card = ask(&shelf, "", "at: (1003, 0, 300)", "");
    assert_eq!(check(&card, "freeboard", "all drains blocked").verdict, Verdict::Unknown);
}
