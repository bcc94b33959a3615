//! How much of the pump is seen, and the way to its filler.

use dryberth::checks::Verdict;

use super::{ask, check, near};

/// An eye straight ahead of the pump's front face sees that face alone: a sixth of the cube.
const AHEAD: &str = r#"viewpoints: [(name: "ahead", at: (550, 0, 350))],"#;

#[test]
fn one_face_of_a_cube_is_a_sixth_of_it() {
    let card = ask("", AHEAD, "at: (0, 0, 300)", "");
    near(check(&card, "seen", "pump"), 100.0 / 6.0, 0.5);
    assert_eq!(check(&card, "seen", "pump").verdict, Verdict::Fail);
    // From ahead, left and above: three faces.
    let corner = AHEAD.replace("(550, 0, 350)", "(550, 550, 850)");
    near(check(&ask("", &corner, "at: (0, 0, 300)", ""), "seen", "pump"), 50.0, 0.7);
}

#[test]
fn a_plate_over_half_of_the_face_hides_half_of_it() {
    // The plate's edge lies in the plane of the eye: what is left of the middle is hidden.
    let plate =
        r#"(name: "plate", role: Other, shape: Box(from: (60, 0, 280), to: (62, 80, 420))),"#;
    near(check(&ask(plate, AHEAD, "at: (0, 0, 300)", ""), "seen", "pump"), 100.0 / 12.0, 0.4);
    // An edge at y = 25, 490 mm from the eye, shades the face 500 mm from it beyond 25.51.
    let plate = plate.replace("(60, 0, 280)", "(60, 25, 280)");
    let expected = 100.0 / 6.0 * (50.0 + 25.0 * 500.0 / 490.0) / 100.0;
    near(check(&ask(&plate, AHEAD, "at: (0, 0, 300)", ""), "seen", "pump"), expected, 0.5);
}

#[test]
fn trim_hides_and_the_share_without_it_is_told() {
    let trim = r#"viewpoints: [(name: "ahead", at: (550, 0, 350))],
        trims: [(name: "carpet", kind: Carpet, thickness_mm: 5, give_mm: 8, faces: [[
            (80, -300, 0), (80, 300, 0), (80, 300, 800), (80, -300, 800)]])],"#;
    let card = ask("", trim, "at: (0, 0, 300)", "");
    let seen = check(&card, "seen", "pump");
    near(seen, 0.0, 0.0);
    assert!(seen.verdict == Verdict::Pass && seen.why.contains("17 %"), "{seen:#?}");
}

#[test]
fn the_way_between_two_plates_is_as_wide_as_their_gap() {
    let plates = r#"
        (name: "left", role: Other, shape: Box(from: (-600, 40, 405), to: (600, 42, 900))),
        (name: "right", role: Other, shape: Box(from: (-600, -43, 405), to: (600, -41, 900))),"#;
    let card = ask(plates, "", "at: (0, 0, 300)", "");
    // The filler is 40 from one and 41 from the other: the bar's axis starts at the filler.
    near(check(&card, "service", "filler"), 80.0, 1e-6);
    let free = ask("", "", "at: (0, 0, 300)", "");
    near(check(&free, "service", "filler"), 150.0, 1e-6);
}

#[test]
fn a_lid_over_the_filler_leaves_no_way() {
    let lid = r#"(name: "shelf", role: Other, shape: Box(from: (-900, -900, 420), to: (900, 900, 430))),"#;
    let card = ask(lid, "", "at: (0, 0, 300)", "");
    let service = check(&card, "service", "filler");
    near(service, 0.0, 1e-9);
    assert!(service.verdict == Verdict::Fail && service.why.contains("shelf"), "{service:#?}");
}
