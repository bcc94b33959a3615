//! A mesh that nobody here wrote, in every format by other libraries' writers (tests/referees/lump.py): marching
//! cubes of scikit-image, written by trimesh, which also says its volume, area and box.

use serde_json::Value;

use crate::files::{Bench, area, f};
use crate::used::{failing_for_a_block, unpacked};

const FILES: [(&str, &[u8]); 4] = [
    ("lump.ply", include_bytes!("../referees/data/lump.ply")),
    ("lump.stl", include_bytes!("../referees/data/lump.stl")),
    ("lump.obj", include_bytes!("../referees/data/lump.obj")),
    ("lump.glb", include_bytes!("../referees/data/lump.glb")),
];

fn facts() -> Value {
    serde_json::from_str(include_str!("../referees/data/lump.json")).expect("sound data")
}

#[test]
fn it_comes_in_with_the_size_that_its_makers_say() {
    let bench = Bench::new();
    let facts = facts();
    for (file, bytes) in FILES {
        bench.write(file, bytes);
        let (report, body) = bench.taken(file, &["--up", "z"]);
        assert_eq!(report["written"]["triangles"], facts["triangles"], "{file}");
        // Corners are single-precision metres in every one, to 1e-8 m in OBJ: 1e-5 mm.
        assert_eq!(report["written"]["corners"], facts["corners"], "{file}");
        assert_eq!(report["closed"], facts["closed"], "{file}");
        let litres = f(&facts["litres"]);
        assert!((f(&report["litres"]) - litres).abs() < 1e-5 * litres, "{file}: {report}");
        let square_mm = f(&facts["area_mm2"]);
        assert!((area(&body) - square_mm).abs() < 1e-5 * square_mm, "{file}: {}", area(&body));
        for side in ["low", "high"] {
            for axis in 0..3 {
                let off = f(&report[side][axis]) - f(&facts[side][axis]);
                assert!(off.abs() < 1e-4, "{file}: {side} {axis} {off}");
            }
        }
    }
}

#[test]
fn placed_by_points_and_simplified_it_is_checked_as_a_body() {
    let bench = Bench::new();
    let (layout, spot) = unpacked(&bench);
    let body = layout.with_file_name("block.glb");
    let at = spot.place.at;
    // Three marks, tape-measured in the boot: the lump's own origin comes to stand where the pump is to be.
    let marks = [("nose", [0.1, 0.0, 0.0]), ("side", [0.0, 0.1, 0.0]), ("top", [0.0, 0.0, 0.1])];
    let points: Vec<String> = marks
        .iter()
        .map(|(name, [x, y, z])| {
            let (bx, by, bz) = (at.x + x * 1e3, at.y + y * 1e3, at.z + z * 1e3);
            format!("(name: \"{name}\", scan: ({x}, {y}, {z}), boot: ({bx}, {by}, {bz}))")
        })
        .collect();
    let plan = format!("(schema: 1, points: [{}], deviation_mm: 0.5)", points.join(", "));
    bench.write("plan.ron", plan);
    for (file, bytes) in FILES {
        bench.write(file, bytes);
        let out = body.to_str().expect("a path");
        let run = bench.run(&[file, "-o", out, "--up", "z", "--plan", "plan.ron", "--json"]);
        assert_eq!(run.status, Some(0), "{file}: {}", run.err);
        let report: Value = serde_json::from_str(&run.out).expect("a report");
        assert!(f(&report["deviation_mm"]) <= 0.5, "{file}: {report}");
        assert!(f(&report["written"]["triangles"]) < f(&report["read"]["triangles"]), "{file}");
    }
    assert!(failing_for_a_block(&layout, &spot) > 0, "the lump stands where the pump is to be");
}

#[test]
fn damaged_it_is_refused_with_a_reason() {
    let bench = Bench::new();
    let [(_, ply), (_, stl), (_, obj), (_, glb)] = FILES;
    let header = ply.windows(11).position(|part| part == b"end_header\n").expect("a header") + 11;
    let mut not_a_number = ply.to_vec();
    not_a_number[header..header + 4].copy_from_slice(&f32::NAN.to_le_bytes());
    let mut wrong_corner = ply.to_vec();
    let last = wrong_corner.len() - 4;
    wrong_corner[last..].copy_from_slice(&9_999_999_i32.to_le_bytes());
    let text = String::from_utf8(obj.to_vec()).expect("text");
    for (file, bytes, wanted) in [
        ("empty.ply", Vec::new(), "found "),
        ("empty.stl", Vec::new(), "found "),
        ("empty.obj", Vec::new(), "no triangle"),
        ("empty.glb", Vec::new(), "found "),
        ("half.ply", ply[..ply.len() / 2].to_vec(), "promises"),
        ("half.stl", stl[..stl.len() / 2].to_vec(), "found "),
        ("half.glb", glb[..glb.len() / 2].to_vec(), "found "),
        ("nan.ply", not_a_number, "NaN"),
        ("corner.ply", wrong_corner, "9999999"),
        ("corner.obj", text.replacen("f ", "f 99999999 1 2\nf ", 1).into_bytes(), "out of bounds"),
    ] {
        bench.write(file, bytes);
        let run = bench.run(&[file, "-o", "body.glb"]);
        assert_eq!(run.refusal(&["found ", "expected ", wanted]), "", "{file}");
    }
    assert!(!bench.path("body.glb").exists());
}
