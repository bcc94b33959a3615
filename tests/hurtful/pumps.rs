//! Broken pumps.

use crate::workshop::{PUMP, Workshop, edited, nothing_went_wrong};

/// Name; what to change in the sound pump; to what, `§` marking where the mistake is; what the
/// message must say was found, and expected.
type Case = (&'static str, &'static str, &'static str, &'static str, &'static str);

const CASES: &[Case] = &[
    ("text for a mass", "mass_kg: 4", "mass_kg: §\"four\"", "\"four\"", "expected"),
    ("no mass", "mass_kg: 4", "mass_kg: §0", "found 0", "from 0.05 to 200 kg"),
    ("mass that is not a number", "mass_kg: 4", "mass_kg: §NaN", "NaN", "from 0.05"),
    ("endless current", "running_a: 25", "running_a: §inf", "inf", "from 0.1 to 1000 A"),
    (
        "unknown field",
        "max_tilt_deg: 20",
        "§max_lean_deg: 20",
        "`max_lean_deg`",
        "did you mean `max_tilt_deg`?",
    ),
    ("missing field", "    stall_a: 60,\n", "", "no field `stall_a`", "`stall_a: …`"),
    ("misspelt part", "part: Motor", "part: §Moter", "`Moter`", "did you mean `Motor`?"),
    ("motor without thickness", "radius_mm: 35", "radius_mm: §0", "found 0", "from 0.01"),
    (
        "tank without depth",
        "to: (10, 45, 110)",
        "to: §(10, -45, 110)",
        "120 × 0 × 100 mm",
        "at least 0.01 mm",
    ),
    (
        "plate that crosses itself",
        "outline: [(-100, -50), (100, -50), (100, 50), (-100, 50)]",
        "outline: §[(-100, -50), (100, 50), (100, -50), (-100, 20)]",
        "crossing",
        "corners in order",
    ),
    ("flat plate", "to_mm: 5", "to_mm: §0", "0 mm long", "at least 0.01 mm"),
    (
        "scanned tank",
        "Box(from: (-107, -42, 30), to: (-10, 42, 107))",
        "§Mesh(file: \"bump.glb\")",
        "the mesh `bump.glb`",
        "not scanned",
    ),
    (
        "flat reservoir",
        "to: (-10, 42, 107)",
        "to: §(-10, 42, 30)",
        "97 × 84 × 0 mm",
        "at least 0.01 mm",
    ),
    ("fluid like lead", "density_kg_l: 0.85", "density_kg_l: §11.3", "11.3", "from 0.5 to 2 kg/l"),
    (
        "inlet at infinity",
        "inlet: (-10, 0, 40)",
        "inlet: §(-inf, 0, 40)",
        "a coordinate of -inf",
        "within 20000",
    ),
    (
        "port that leads nowhere",
        "at: (0, 45, 60), towards: (0, 1, 0)",
        "at: (0, 45, 60), towards: §(0, 0, 0)",
        "(0, 0, 0)",
        "not zero",
    ),
    (
        "mount used twice",
        "name: \"foot front\"",
        "name: §\"foot rear\"",
        "`foot rear` a second time",
        "no other entry",
    ),
    (
        "live part without points",
        "points: [(120, 0, 50), (120, 10, 50)]",
        "points: §[]",
        "no point",
        "at least one",
    ),
    (
        "lean beyond all lean",
        "max_tilt_deg: 20",
        "max_tilt_deg: §200",
        "200",
        "from 0 to 180 degrees",
    ),
    ("newer schema", "schema: 1", "schema: §7", "schema 7", "newer version of the program"),
];

#[test]
fn each_broken_pump_is_refused_where_it_is_broken() {
    let workshop = Workshop::new();
    let mut wrong = Vec::new();
    for (name, from, to, found, expected) in CASES {
        let (text, place) = edited(PUMP, from, to);
        workshop.write("pump.ron", text.as_bytes());
        let at = match place {
            Some((line, column)) => format!("pump.ron:{line}:{column}: "),
            None => "pump.ron:".to_string(),
        };
        let what = workshop.check().refusal(&[&at, "found ", found, "expected ", expected]);
        if !what.is_empty() {
            wrong.push(format!("{name}:{what}"));
        }
    }
    nothing_went_wrong(CASES.len(), &wrong);
}

#[test]
fn a_pump_without_solids_is_refused() {
    let (start, end) = (PUMP.find("solids: [").unwrap(), PUMP.find("    reservoir:").unwrap());
    let workshop = Workshop::new();
    let text = format!("{}solids: [],\n{}", &PUMP[..start], &PUMP[end..]);
    workshop.write("pump.ron", text.as_bytes());
    let wanted = ["pump.ron:7:13: solids: found no solid; expected at least one solid"];
    assert_eq!(workshop.check().refusal(&wanted), "");
}

#[test]
fn a_solid_too_thin_to_compute_with_is_laid_at_the_pump() {
    let (pump, place) = edited(
        PUMP,
        "Box(from: (-110, -45, 10), to: (10, 45, 110))",
        "Hull(points: §[(0, 0, 0), (900, 0, 0), (0, 0.00002, 0), (0, 0, 0.02)])",
    );
    let (line, column) = place.expect("a marked place");
    let workshop = Workshop::new();
    workshop.write("pump.ron", pump.as_bytes());
    let wanted = [&format!("pump.ron:{line}:{column}: ")[..], "a volume"];
    assert_eq!(workshop.check().refusal(&wanted), "");
}
