//! Drips that come to the pump from the edge of a panel, or down the floor. The boots lie in the folder
//! `attacks`; every expected number is a closed form of their sizes.

use dryberth::checks::water::{DripTrack, SLOPES};
use dryberth::checks::{Boot, Scorecard, Verdict, evaluate};
use dryberth::model::Point;

use super::attacks::{boot, expect};
use super::check;

fn spot(boot: &Boot, name: &str) -> Scorecard {
    evaluate(boot, boot.layout().spots.iter().find(|spot| spot.name == name).unwrap())
}

fn track(tracks: &[DripTrack], leak: usize, slope: usize) -> &DripTrack {
    tracks.iter().find(|track| (track.leak, track.slope) == (leak, slope)).expect("a track")
}

/// The falls of a track after that from the leak, the one off a panel's edge first; where one runs down the
/// edge's own end face, that is a fall of its own.
fn off_edge(track: &DripTrack) -> [Point; 2] {
    let landed = |fall: &&usize| track.points[**fall + 1].z < 100.0;
    let fall = *track.falls.iter().skip(1).find(landed).expect("it falls");
    [track.points[fall], track.points[fall + 1]]
}

#[test]
fn drips_fall_over_a_panels_edge_along_gravity() {
    // A panel that slopes at 45° ends at x = 65, z = 120. Half a drop hangs out over the edge, so it falls
    // from x = 65.5, and 20 % of slope take it 24 mm aside until it is down: 0.6 mm less where it first
    // comes to the end face, 3 mm high.
    let boot = boot("19-drip-off-panel");
    for (slope, aside_mm) in [(0, 0.0), (1, -24.0), (2, 24.0)] {
        let [from, to] = off_edge(track(boot.drips(), 0, slope));
        assert!((from.x - 65.5).abs() < 0.2 && (116.9..120.1).contains(&from.z), "{slope}: {from}");
        assert!((to.x - 65.5 - aside_mm).abs() < 0.8 && to.z.abs() < 1e-6, "{slope}: {to}");
    }
    // A level tray 150 mm up, from whose edge at x = −165 they fall nose down, 30 mm on until the floor.
    let [from, to] = off_edge(track(boot.drips(), 1, 2));
    assert!((from.x + 164.5).abs() < 1e-6 && (to.x + 134.5).abs() < 1e-6, "{from} {to}");
    // Nose up they run over the other edge, x = −300, and fall away from it.
    let [from, to] = off_edge(track(boot.drips(), 1, 1));
    assert!((from.x + 300.5).abs() < 1e-6 && (to.x + 330.5).abs() < 1e-6, "{from} {to}");
}

#[test]
fn drips_off_a_panels_edge_fall_onto_the_pump_under_it() {
    // The plug lies 50 mm under the edge, from x = 50 to 80 and 30 mm either way: from x = 65.5 a fall of 50 mm
    // comes onto it at some 55.5 to 75.5, on every slope.
    let boot = boot("19-drip-off-panel");
    let under = spot(&boot, "under");
    expect(&under, "drips", "leaks", 0.0, 0.0, Verdict::Fail);
    let why = &check(&under, "drips", "leaks").why;
    assert!(why.contains("run over the pump's feed plug on level ground"), "{why}");
    for slope in 0..SLOPES.len() {
        let aside = track(&under.drawn.drips, 0, slope);
        let &(first, solid) = aside.on_pump.first().expect("it lands on the pump");
        assert_eq!(solid, 1, "{slope}: on the plug");
        let lean = [0.0, -10.0, 10.0, 0.0, 0.0, -10.0, -10.0, 10.0, 10.0][slope];
        let at = aside.points[first];
        assert!((at.x - 65.5 - lean).abs() < 0.8 && (at.z - 70.0).abs() < 1e-6, "{slope}: {at}");
        // What it does then is done outside the pump: it goes on over it and off it.
        let solids = boot.pump_at(&boot.layout().spots[0].place);
        for at in &aside.points {
            assert!(solids.iter().all(|solid| solid.distance_to_point_mm(at) > -1e-6), "{slope}");
        }
    }
    // 300 mm aside they only pass by on the floor, across the slope.
    let beside = check(&spot(&boot, "beside"), "drips", "leaks").figure.unwrap();
    assert!(beside > 50.0, "{beside}");
    // Under the tray, whose edge is at x = −165: the plug reaches from −170 to −140, 80 mm lower.
    let tray = spot(&boot, "by the tray");
    expect(&tray, "drips", "leaks", 0.0, 0.0, Verdict::Fail);
    assert!(track(&tray.drawn.drips, 1, 2).on_pump.iter().any(|on| on.1 == 1));
}

#[test]
fn drips_that_run_down_the_floor_come_to_the_foot_that_stands_there() {
    // The motor stands on the floor, 100 mm either way; nose down the drip runs along y = 80 from x = −149
    // and meets its face at x = 100. The seam is √(80² + 60²) = 100 mm from there: without the foot it passed.
    let boot = boot("20-drip-at-foot");
    let card = spot(&boot, "in the way");
    expect(&card, "drips", "leaks", 0.0, 0.0, Verdict::Fail);
    let found = check(&card, "drips", "leaks");
    assert!(
        found.why.contains("run down the floor against the pump's motor nose down"),
        "{found:?}"
    );
    let at = found.at.unwrap();
    assert!((at[0] - 100.0).abs() < 0.11 && (at[1] - 80.0).abs() < 1e-6, "{at:?}");
    // 180 mm beside that way, 80 mm from the motor at the least, it stays dry.
    let aside = check(&spot(&boot, "aside"), "drips", "leaks").clone();
    assert!(aside.verdict == Verdict::Pass && aside.figure.unwrap() > 100.0, "{aside:?}");
}
