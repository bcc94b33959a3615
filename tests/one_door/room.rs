//! Litres and luggage blocks lost to the pump.

use dryberth::checks::Meshes;

use super::{ask, check, near, ready};

fn space(from: &str, to: &str) -> String {
    format!("boot_space: [Box(from: {from}, to: {to})],")
}

#[test]
fn a_cube_half_inside_takes_half_its_litre() {
    let half = space("(-500, -500, 0)", "(0, 500, 600)");
    near(check(&ask("", &half, "at: (0, 0, 300)", ""), "space", "boot"), 0.5, 0.005);
    // Turned about its middle it is still cut in half.
    let turned = "at: (0, 0, 300), turn_deg: (0, 0, 33)";
    near(check(&ask("", &half, turned, ""), "space", "boot"), 0.5, 0.005);
    // 20 mm of its 100 stand above the space.
    let low = space("(-500, -500, 0)", "(500, 500, 380)");
    near(check(&ask("", &low, "at: (0, 0, 300)", ""), "space", "boot"), 0.8, 0.008);
    // Two solids that overlap count once.
    let twice = "boot_space: [Box(from: (-500, -500, 0), to: (10, 500, 600)), \
        Box(from: (-10, -500, 0), to: (500, 500, 600))],";
    near(check(&ask("", twice, "at: (0, 0, 300)", ""), "space", "boot"), 1.0, 0.01);
}

#[test]
fn thirty_blocks_fill_a_box_of_thirty_litres() {
    // 400 × 300 × 250 mm = 2 × 3 × 5 blocks. The pump stands elsewhere, then against it.
    for (from, to) in [("(200, 0, 300)", "(600, 300, 550)"), ("(50, -150, 300)", "(450, 150, 550)")]
    {
        let (boot, spot) = ready("", &space(from, to), "at: (0, 0, 300)", "", &Meshes::new());
        let (litres, blocks) = boot.luggage().unwrap();
        assert_eq!(blocks, 30);
        assert!((litres - 30.0).abs() < 0.3, "{litres}");
        let card = dryberth::checks::evaluate(&boot, &spot);
        near(check(&card, "blocks", "boot"), 0.0, 0.0);
        near(check(&card, "space", "boot"), 0.0, 0.0);
    }
}

#[test]
fn a_pump_that_pokes_in_displaces_a_block() {
    // It reaches 10 mm into the box: 0.1 l, so at most 29 go in; the row beside it can be kept.
    let poked = space("(40, -150, 300)", "(440, 150, 550)");
    let card = ask("", &poked, "at: (0, 0, 300)", "");
    near(check(&card, "space", "boot"), 0.1, 0.005);
    let lost = check(&card, "blocks", "boot").figure.unwrap();
    assert!((1.0..=2.0).contains(&lost), "{lost}");
}

#[test]
fn a_body_in_the_space_takes_its_blocks() {
    // A case of 200 × 100 × 50 mm in the corner leaves 29 litres and room for just 29 blocks.
    let case =
        r#"(name: "case", role: Other, shape: Box(from: (200, 0, 300), to: (400, 100, 350))),"#;
    let rest = space("(200, 0, 300)", "(600, 300, 550)");
    let (boot, _) = ready(case, &rest, "at: (0, 0, 300)", "", &Meshes::new());
    assert_eq!(boot.luggage().unwrap().1, 29);
    // A space too low for any block holds none.
    let flat = space("(200, 0, 300)", "(600, 300, 349)");
    let (boot, _) = ready("", &flat, "at: (0, 0, 300)", "", &Meshes::new());
    assert_eq!(boot.luggage().unwrap().1, 0);
}

#[test]
fn a_hollow_sided_space_holds_what_its_two_halves_hold() {
    // An L of 400 × 400 less 200 × 200, 100 mm high: 12 litres, four blocks to each square of it.
    let ell = "boot_space: [Prism(along: Z, from_mm: 300, to_mm: 400, outline: \
        [(200, 0), (600, 0), (600, 200), (400, 200), (400, 400), (200, 400)])],";
    let (boot, _) = ready("", ell, "at: (0, 0, 300)", "", &Meshes::new());
    let (litres, blocks) = boot.luggage().unwrap();
    assert_eq!(blocks, 12);
    assert!((litres - 12.0).abs() < 0.15, "{litres}");
}
