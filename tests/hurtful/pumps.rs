//! Broken pumps.

use dryberth::checks::{Ask, Boot, Verdict, evaluate, evaluate_some};
use dryberth::format::glb_from_triangles;
use dryberth::geometry::Triangles;
use dryberth::model::Point;

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
        "scanned case",
        "Box(from: (-110, -45, 10), to: (10, 45, 110))",
        "§Mesh(file: \"bump.glb\")",
        "the mesh `bump.glb`",
        "not scanned",
    ),
    (
        "scanned reservoir that isn't there",
        "Box(from: (-107, -42, 30), to: (-10, 42, 107))",
        "Mesh(file: §\"inside.glb\")",
        "`inside.glb`, which doesn't exist",
        "in the layout's folder",
    ),
    (
        "scanned reservoir somewhere else",
        "Box(from: (-107, -42, 30), to: (-10, 42, 107))",
        "Mesh(file: §\"../inside.glb\")",
        "the path `../inside.glb`",
        "stays inside",
    ),
    (
        "open top without a height",
        "inlet: (-10, 0, 40)",
        "openings: [§(0, 0, NaN)], inlet: (-10, 0, 40)",
        "a coordinate of NaN",
        "within 20000",
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

/// The sound pump with its reservoir's inside as a mesh, and that mesh.
fn with_mesh(workshop: &Workshop, inside: &Triangles) -> Option<(usize, usize)> {
    let (text, place) = edited(
        PUMP,
        "Box(from: (-107, -42, 30), to: (-10, 42, 107))",
        "§Mesh(file: \"inside.glb\")",
    );
    workshop.write("pump.ron", text.as_bytes());
    workshop.write("inside.glb", &glb_from_triangles("inside", "inside", inside).expect("a mesh"));
    place
}

/// The reservoir's inside of the sound pump.
fn inside() -> Triangles {
    Triangles::cuboid(&Point::new(-107.0, -42.0, 30.0), &Point::new(-10.0, 42.0, 107.0))
}

#[test]
fn a_closed_mesh_of_the_reservoir_is_answered_like_the_box_that_it_is() {
    let workshop = Workshop::new();
    let cards = |workshop: &Workshop| {
        let opened = dryberth::format::open(&workshop.path("layout.ron")).unwrap();
        let boot = opened.boot(&Boot::usual_options(&opened.layout)).unwrap();
        let ask = Ask { details: true, ..Ask::default() };
        evaluate_some(&boot, &opened.layout.spots[0], &ask)
    };
    let boxed = cards(&workshop);
    with_mesh(&workshop, &inside());
    let meshed = cards(&workshop);
    let (a, b) = (boxed.details.unwrap().feed, meshed.details.unwrap().feed);
    // A GLB holds 32-bit floats in metres: half a micrometre.
    assert!((a.fill_ml - b.fill_ml).abs() < 1e-2, "{} {}", a.fill_ml, b.fill_ml);
    for (a, b) in a.cases.iter().zip(&b.cases) {
        assert!((a.head_mm - b.head_mm).abs() < 1e-3 && a.case == b.case, "{a:?} {b:?}");
    }
}

#[test]
fn a_reservoirs_mesh_with_a_hole_is_refused_and_the_hole_is_named() {
    let workshop = Workshop::new();
    let mut surface = inside();
    // The last two triangles are the face at the lowest x.
    surface.indices.truncate(surface.indices.len() - 2);
    let (line, column) = with_mesh(&workshop, &surface).expect("a marked place");
    let wanted = [
        &format!("pump.ron:{line}:{column}: ")[..],
        "the reservoir's mesh `inside.glb` is not closed: 4 open edges",
        "one at (-107, ",
        "a mesh without a hole",
    ];
    assert_eq!(workshop.check().refusal(&wanted), "");
    // Inside out at one face: closed, but its sides don't agree.
    let mut surface = inside();
    surface.indices[0].swap(1, 2);
    with_mesh(&workshop, &surface);
    let wanted = ["is not closed: 0 open edges, 3 where triangles face opposite ways"];
    assert_eq!(workshop.check().refusal(&wanted), "");
}

#[test]
fn an_inlet_outside_the_reservoir_is_a_finding() {
    let workshop = Workshop::new();
    let (text, _) = edited(PUMP, "inlet: (-10, 0, 40)", "inlet: (50, 0, 40)");
    workshop.write("pump.ron", text.as_bytes());
    let opened = dryberth::format::open(&workshop.path("layout.ron")).unwrap();
    let boot = opened.boot(&Boot::usual_options(&opened.layout)).unwrap();
    let card = evaluate(&boot, &opened.layout.spots[0]);
    let head = card.check("head", "reservoir").unwrap();
    assert_eq!(head.verdict, Verdict::Unknown);
    // 60 mm from the end wall at x = −10.
    assert!(head.why.contains("the inlet 60 mm outside the reservoir"), "{}", head.why);
}
