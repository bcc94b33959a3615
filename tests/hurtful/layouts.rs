//! Broken layouts.

use crate::workshop::{LAYOUT, Workshop, edited, nothing_went_wrong};

/// Name; what to change in the sound layout; to what, `§` marking where the mistake is; what the
/// message must say was found, and expected.
type Case = (&'static str, &'static str, &'static str, &'static str, &'static str);

const CASES: &[Case] = &[
    // The wrong type.
    ("text for a number", "bend_mm: 35", "bend_mm: §\"35\"", "\"35\"", "expected"),
    ("number for text", "name: \"floor\"", "name: §17", "`17`", "string"),
    (
        "struct for a list",
        "drains: [(name: \"floor drain\", at: (20, 0, 0), diameter_mm: 14, blocked: false)]",
        "drains: §(name: \"floor drain\", at: (20, 0, 0), diameter_mm: 14)",
        "",
        "expected",
    ),
    ("number for a switch", "blocked: false", "blocked: §0", "`0`", "boolean"),
    ("two coordinates", "at: (20, 0, 0)", "at: (20, 0§)", "", "3"),
    (
        "four coordinates",
        "at: (20, 0, 0)",
        "at: (20, 0, 0, 0§)",
        "more than 3 numbers",
        "(x, y, z)",
    ),
    ("word for a number", "od_mm: 8", "od_mm: §eight", "`eight`", "float"),
    ("negative count", "count: 2", "count: §-2", "-2", "expected"),
    ("count with a fraction", "count: 2", "count: §2.5", "`2.5`", "a whole number"),
    ("decimal comma", "width_mm: 7.6", "width_mm: 7,§6", "", "expected"),
    // Fields and kinds.
    (
        "unknown field",
        "free_mm: 520",
        "§free_length_mm: 520",
        "`free_length_mm`",
        "did you mean `free_mm`?",
    ),
    ("unknown field at the top", "bodies: [", "§bodys: [", "`bodys`", "did you mean `bodies`?"),
    (
        "unknown field in a shape",
        "radius_mm: 10",
        "§radius: 10",
        "`radius`",
        "did you mean `radius_mm`?",
    ),
    (
        "misspelt kind of shape",
        "Cylinder(from",
        "§Cilinder(from",
        "`Cilinder`",
        "did you mean `Cylinder`?",
    ),
    ("misspelt role", "role: Loom", "role: §Lom", "`Lom`", "did you mean `Loom`?"),
    ("misspelt fixing", "Tie(width", "§Ty(width", "`Ty`", "`Tie`"),
    ("kind in small letters", "role: Floor", "role: §floor", "`floor`", "did you mean `Floor`?"),
    ("missing field", ", strength_n: 500", "§", "no field `strength_n`", "`strength_n: …`"),
    ("missing field at the top", "    pump: \"pump.ron\",\n", "", "no field `pump`", "`pump: …`"),
    (
        "field written twice",
        "name: \"arch\"",
        "name: \"arch\", §name: \"arch\"",
        "`name`",
        "each field once",
    ),
    // Numbers.
    ("not a number", "radius_mm: 10", "radius_mm: §NaN", "NaN", "a number from 0.01 to 5000 mm"),
    ("infinite", "radius_mm: 10", "radius_mm: §inf", "inf", "a number from"),
    ("more seen than there is", "gap_mm: 5", "seen_pct: §101, gap_mm: 5", "101", "0 to 100 %"),
    (
        "a scan for the luggage space",
        "boot_space: [Box(from: (0, -190, 206), to: (600, 280, 276))]",
        "boot_space: [§Mesh(file: \"bump.glb\")]",
        "bump.glb",
        "measured, not scanned",
    ),
    ("minus infinite", "gap_mm: 5", "gap_mm: §-inf", "-inf", "a number from 0 to 200 mm"),
    (
        "infinite coordinate",
        "from: (10, -280, 40)",
        "from: §(inf, -280, 40)",
        "a coordinate of inf",
        "within 20000",
    ),
    (
        "coordinate that is not a number",
        "at: (20, 0, 0)",
        "at: §(20, NaN, 0)",
        "a coordinate of NaN",
        "within 20000",
    ),
    (
        "astronomic coordinate",
        "at: (20, 0, 0)",
        "at: §(1e300, 0, 0)",
        "a coordinate of 1",
        "within 20000",
    ),
    ("number beyond all numbers", "at: (20, 0, 0)", "at: §(1e999, 0, 0)", "inf", "within 20000"),
    ("negative radius", "radius_mm: 10", "radius_mm: §-10", "-10", "from 0.01"),
    ("negative diameter", "diameter_mm: 14", "diameter_mm: §-14", "-14", "from 1"),
    (
        "turn that is not a number",
        "turn_deg: (0, 0, 15)",
        "turn_deg: §(0, 0, NaN)",
        "NaN",
        "in degrees",
    ),
    (
        "too fine a water grid",
        "water_step_mm: 20",
        "water_step_mm: §1e-9",
        "found 0.000000001",
        "from 2 to 50 mm",
    ),
    (
        "weights all zero",
        "limits: (gap_mm",
        "weights: §(reach: 0, carpet: 0, feed: 0, water: 0, hold: 0), limits: (gap_mm",
        "weights that are all zero",
        "at least one weight above zero",
    ),
    (
        "negative weight",
        "limits: (gap_mm",
        "weights: (reach: §-1), limits: (gap_mm",
        "-1",
        "from 0",
    ),
    // Shapes.
    (
        "box without thickness",
        "to: (600, 300, 0)",
        "to: §(600, 300, -4)",
        "600 × 600 × 0 mm",
        "at least 0.01 mm",
    ),
    ("prism without length", "to_mm: -200", "to_mm: §-300", "0 mm long", "at least 0.01 mm"),
    (
        "cylinder without length",
        "to: (390, -280, 40)",
        "to: §(10, -280, 40)",
        "the same point as `from`",
        "at least 0.01 mm away",
    ),
    (
        "outline that crosses itself",
        "(150, 450), (150, 600), (0, 600)]",
        "(150, 600), (150, 450), (0, 600)]",
        "outline: found sides",
        "no side crossing another",
    ),
    (
        "outline without area",
        "outline: [(0, 400), (150, 450), (150, 600), (0, 600)]",
        "outline: §[(0, 400), (0, 500), (0, 600)]",
        "without area",
        "corners in order",
    ),
    (
        "outline of two corners",
        "outline: [(0, 400), (150, 450), (150, 600), (0, 600)]",
        "outline: §[(0, 400), (150, 450)]",
        "2 corners",
        "3 to 200",
    ),
    (
        "outline of no corners",
        "outline: [(0, 400), (150, 450), (150, 600), (0, 600)]",
        "outline: §[]",
        "0 corners",
        "3 to 200",
    ),
    (
        "hull on a line",
        "points: [\n            (500, 200, 0),\n            (560, 200, 0),\n            (500, 260, 0),\n            (500, 200, 60),",
        "points: §[(0, 0, 0), (1, 1, 1), (2, 2, 2), (3, 3, 3), (7, 7, 7),",
        "points in one plane",
        "enclose a volume",
    ),
    (
        "hull in a plane",
        "(500, 200, 60)",
        "(560, 260, 0)",
        "points: found points in one plane",
        "enclose a volume",
    ),
    (
        "hull of one point, four times",
        "points: [\n            (500, 200, 0),\n            (560, 200, 0),\n            (500, 260, 0),\n            (500, 200, 60),",
        "points: §[(5, 5, 5), (5, 5, 5), (5, 5, 5), (5, 5, 5),",
        "points in one plane",
        "enclose a volume",
    ),
    ("hull of three points", "            (500, 200, 60),\n", "", "3 points", "at least 4"),
    (
        "trim face of two corners",
        "[(0, -200, 280), (600, -200, 280), (600, 290, 280)]",
        "§[(0, -200, 280), (600, -200, 280)]",
        "2 corners",
        "3 to 200",
    ),
    (
        "trim face on a line",
        "[(0, -200, 280), (600, -200, 280), (600, 290, 280)]",
        "§[(0, 0, 280), (300, 0, 280), (600, 0, 280)]",
        "without area",
        "corners in order",
    ),
    (
        "bent trim face",
        "[(0, -200, 200), (600, -200, 200), (600, 290, 200), (0, 290, 200)]",
        "§[(0, -200, 200), (600, -200, 230), (600, 290, 200), (0, 290, 230)]",
        "out of the plane",
        "a flat face",
    ),
    (
        "board that gives",
        "kind: Board, thickness_mm: 4",
        "kind: Board, give_mm: §3, thickness_mm: 4",
        "3 for a board",
        "doesn't give",
    ),
    // Empty things.
    (
        "mover without a shape",
        "shapes: [Box(from: (0, -200, 330), to: (600, 200, 336))]",
        "shapes: §[]",
        "no shape",
        "at least one",
    ),
    (
        "trim without a face",
        "faces: [[(0, -200, 280), (600, -200, 280), (600, 290, 280)]]",
        "faces: §[]",
        "no face",
        "at least one",
    ),
    // Directions.
    (
        "anchor without a direction",
        "normal: (0, -1, 0)",
        "normal: §(0, 0, 0)",
        "(0, 0, 0)",
        "not zero",
    ),
    (
        "line that leaves nowhere",
        "from: (at: (550, 240, 150), towards: (-1, 0, 0))",
        "from: (at: (550, 240, 150), towards: §(0, 0, 0))",
        "(0, 0, 0)",
        "not zero",
    ),
    (
        "hinge without an axis",
        "along: (0, 1, 0), from_deg",
        "along: §(0, 0, 0), from_deg",
        "(0, 0, 0)",
        "not zero",
    ),
    (
        "tray that slides nowhere",
        "along: (1, 0, 0), from_mm",
        "along: §(0, 0, 0), from_mm",
        "(0, 0, 0)",
        "not zero",
    ),
    // References.
    (
        "unknown option",
        "option: \"spare amplifier\"",
        "option: §\"spare amplifyer\"",
        "`spare amplifyer`",
        "did you mean `spare amplifier`?",
    ),
    (
        "unknown anchor",
        "anchor: \"wall slot\"",
        "anchor: §\"wal slot\"",
        "`wal slot`",
        "did you mean `wall slot`?",
    ),
    ("unknown port", "to: \"port\"", "to: §\"prot\"", "`prot`", "did you mean `port`?"),
    (
        "unknown mount",
        "mount: \"foot rear\"",
        "mount: §\"foot reer\"",
        "`foot reer`",
        "did you mean `foot rear`?",
    ),
    (
        "reference like nothing",
        "anchor: \"wall slot\"",
        "anchor: §\"zzzz\"",
        "`zzzz`",
        "the name of an anchor",
    ),
    (
        "reference with an escape sequence",
        "anchor: \"wall slot\"",
        "anchor: §\"\\u{1b}[2Jgone\"",
        "\\u{1b}",
        "the name of an anchor",
    ),
    // Names.
    (
        "name used twice",
        "name: \"stud, front\"",
        "name: §\"stud, rear\"",
        "`stud, rear` a second time",
        "no other entry",
    ),
    ("empty name", "name: \"lump\"", "name: §\"\"", "an empty name", "says what it is"),
    ("blank name", "name: \"lump\"", "name: §\"   \"", "an empty name", "says what it is"),
    (
        "name with an escape sequence",
        "name: \"lump\"",
        "name: §\"lu\\u{1b}[31mmp\"",
        "control characters",
        "printable",
    ),
    (
        "name over two lines",
        "name: \"lump\"",
        "name: §\"lu\\nmp\"",
        "control characters",
        "one line",
    ),
    // Schema.
    ("newer schema", "schema: 1", "schema: §9", "schema 9", "newer version of the program"),
    ("schema 0", "schema: 1", "schema: §0", "schema 0", "schema 1"),
    ("schema as text", "schema: 1", "schema: §\"1\"", "\"1\"", "integer"),
    ("schema with a fraction", "schema: 1", "schema: §1.5", "`1.5`", "a whole number"),
    // Paths.
    (
        "pump that climbs out",
        "pump: \"pump.ron\"",
        "pump: §\"../../etc/pump.ron\"",
        "`../../etc/pump.ron`",
        "no `..`",
    ),
    (
        "pump that climbs out later",
        "pump: \"pump.ron\"",
        "pump: §\"a/../../pump.ron\"",
        "`a/../../pump.ron`",
        "no `..`",
    ),
    (
        "pump at an absolute path",
        "pump: \"pump.ron\"",
        "pump: §\"/etc/pump.ron\"",
        "`/etc/pump.ron`",
        "no leading `/`",
    ),
    (
        "pump with backslashes",
        "pump: \"pump.ron\"",
        "pump: §\"..\\\\pump.ron\"",
        "pump.ron`",
        "forward slashes",
    ),
    ("pump on a drive", "pump: \"pump.ron\"", "pump: §\"C:pump.ron\"", "`C:pump.ron`", "no drive"),
    (
        "pump from afar",
        "pump: \"pump.ron\"",
        "pump: §\"https://example.org/pump.ron\"",
        "https:",
        "relative path",
    ),
    ("pump without a path", "pump: \"pump.ron\"", "pump: §\"\"", "``", "relative path"),
    (
        "pump with a zero in its path",
        "pump: \"pump.ron\"",
        "pump: §\"pu\\u{0}mp.ron\"",
        "the path",
        "relative path",
    ),
    (
        "missing pump",
        "pump: \"pump.ron\"",
        "pump: §\"pamp.ron\"",
        "`pamp.ron`, which doesn't exist",
        "put it there or correct the path",
    ),
    (
        "pump of the wrong ending",
        "pump: \"pump.ron\"",
        "pump: §\"bump.glb\"",
        "`bump.glb`",
        "ending in .ron",
    ),
    (
        "missing mesh",
        "file: \"bump.glb\"",
        "file: §\"dump.glb\"",
        "`dump.glb`, which doesn't exist",
        "put it there or correct the path",
    ),
    (
        "mesh that climbs out",
        "file: \"bump.glb\"",
        "file: §\"../bump.glb\"",
        "`../bump.glb`",
        "no `..`",
    ),
    (
        "mesh of the wrong ending",
        "file: \"bump.glb\"",
        "file: §\"pump.ron\"",
        "`pump.ron`",
        "ending in .glb",
    ),
    ("mesh without a path", "file: \"bump.glb\"", "file: §\"\"", "an empty path", "a .glb file"),
    // The text itself.
    ("bracket left open", "to: (600, 300, 0)))", "to: (600, 300, 0))", "", "expected"),
    ("bracket too many", "fitted: true)", "fitted: true)§)", "`)`", "expected"),
    ("text left open", "name: \"lump\"", "name: \"lump", "", "expected"),
    ("comment left open", "// A small sound boot", "/* A small sound boot", "", "expected"),
];

#[test]
fn each_broken_layout_is_refused_where_it_is_broken() {
    let workshop = Workshop::new();
    let mut wrong = Vec::new();
    for case in CASES {
        let (name, from, to, found, expected) = *case;
        let (text, place) = edited(LAYOUT, from, to);
        workshop.write("layout.ron", text.as_bytes());
        let at = match place {
            Some((line, column)) => format!("layout.ron:{line}:{column}: "),
            None => "layout.ron:".to_string(),
        };
        let what = workshop.check().refusal(&[&at, "found ", found, "expected ", expected]);
        if !what.is_empty() {
            wrong.push(format!("{name}:{what}"));
        }
    }
    nothing_went_wrong(CASES.len(), &wrong);
}

#[test]
fn a_layout_without_bodies_is_refused() {
    let (start, end) = (LAYOUT.find("bodies: [").unwrap(), LAYOUT.find("    trims: [").unwrap());
    let text = format!("{}bodies: [],\n{}", &LAYOUT[..start], &LAYOUT[end..]);
    let workshop = Workshop::new();
    workshop.write("layout.ron", text.as_bytes());
    let what = workshop.check().refusal(&["layout.ron:12:13: bodies: found no body"]);
    assert!(what.is_empty(), "{what}");
}

#[test]
fn every_problem_of_a_file_is_listed() {
    let mut text = LAYOUT.to_string();
    let mut lines = Vec::new();
    for (from, to) in [
        ("gap_mm: 5", "gap_mm: §-5"),
        ("radius_mm: 10", "radius_mm: §0"),
        ("normal: (0, -1, 0)", "normal: §(0, 0, 0)"),
        ("anchor: \"wall slot\"", "anchor: §\"wal slot\""),
    ] {
        let (changed, place) = edited(&text, from, to);
        text = changed;
        let (line, column) = place.expect("a marked place");
        lines.push(format!("layout.ron:{line}:{column}: "));
    }
    let workshop = Workshop::new();
    workshop.write("layout.ron", text.as_bytes());
    let run = workshop.check();
    let wanted: Vec<&str> = lines.iter().map(String::as_str).collect();
    assert_eq!(run.refusal(&wanted), "");
    assert_eq!(run.err.lines().count(), 4, "{}", run.err);
}

#[test]
fn so_many_problems_that_they_are_only_counted() {
    let entry = "(name: \"\", at: (0, 0, 0), diameter_mm: 14),\n";
    let (text, _) = edited(LAYOUT, "drains: [", &format!("drains: [{}", entry.repeat(4_000)));
    let workshop = Workshop::new();
    workshop.write("layout.ron", text.as_bytes());
    let run = workshop.check();
    assert_eq!(run.refusal(&["layout.ron:43:21: drains[0].name: ", "and 7979 more problems"]), "");
    assert!(run.err.lines().count() < 30);
}
