//! The same shape through every format.

use serde_json::json;

use crate::files::{Bench, Faces, area, f};

/// 0.3 × 0.2 × 0.1 m of the scan's x, y, z: y is up.
fn cuboid() -> Faces {
    Faces::cuboid([0.125, 0.25, 0.5], [0.425, 0.45, 0.6])
}

#[test]
fn a_box_has_the_same_volume_through_every_format() {
    let bench = Bench::new();
    for (name, bytes) in cuboid().every_format() {
        bench.write(name, bytes);
        let (report, body) = bench.taken(name, &[]);
        assert_eq!(report["closed"], true, "{name}: {report}");
        assert_eq!(report["written"], json!({ "triangles": 12, "corners": 8 }), "{name}");
        assert!((f(&report["litres"]) - 6.0).abs() < 1e-5, "{name}: {report}");
        assert!((body.volume_mm3() - 6e6).abs() < 10.0, "{name}");
        assert!((area(&body) - 2.0 * 110_000.0).abs() < 1.0, "{name}");
        // x left, y up, z forward in the scan; x forward, y left, z up in the body.
        let around = body.bounds().expect("a body");
        let low = [500.0, 125.0, 250.0];
        for axis in 0..3 {
            assert!((around.low[axis] - low[axis]).abs() < 1e-4, "{name}: {around:?}");
            assert!((f(&report["low"][axis]) - around.low[axis]).abs() < 1e-9, "{name}");
        }
    }
}

#[test]
fn units_and_the_axis_that_points_up_are_as_asked() {
    let bench = Bench::new();
    bench.write("scan.ply", cuboid().ply_text());
    for (unit, mm) in [("mm", 1.0), ("cm", 10.0), ("m", 1000.0), ("inch", 25.4)] {
        let (report, body) = bench.taken("scan.ply", &["--unit", unit, "--up", "z"]);
        let around = body.bounds().expect("a body");
        for (axis, low) in [0.125, 0.25, 0.5].into_iter().enumerate() {
            assert!((around.low[axis] - low * mm).abs() < 1e-4 * mm, "{unit}: {around:?}");
        }
        assert_eq!((&report["unit"], &report["unit_supposed"]), (&json!(unit), &json!(false)));
        assert_eq!(report["up"], "z");
    }
    let run = bench.run(&["scan.ply", "-o", "body.glb"]);
    assert!(run.err.contains("doesn't say its unit"), "{}", run.err);
    assert!(run.out.contains("in metres (supposed)"), "{}", run.out);
    assert!(!run.err.contains('\u{1b}') && !run.err.contains("reading"), "a bar without terminal");
    bench.write("scan.glb", cuboid().glb());
    let refused = bench.run(&["scan.glb", "-o", "body.glb", "--unit", "mm"]);
    assert_eq!(refused.refusal(&["scan.glb: found ", "metres"]), "");
}

#[test]
fn several_solids_groups_and_elements_are_all_read() {
    let bench = Bench::new();
    let apart = |at: f64| Faces::cuboid([at; 3], [at + 0.1; 3]);
    let two = [apart(0.0).stl_text(), apart(1.0).stl_text().to_uppercase()].join("\n\n");
    bench.write("two.stl", two);
    assert!((f(&bench.taken("two.stl", &[]).0["litres"]) - 2.0).abs() < 1e-5);
    // Groups of an OBJ number their corners through.
    let later = apart(1.0);
    let faces = later.faces.iter().map(|face| {
        let corners: Vec<String> = face.iter().map(|one| (one + 9).to_string()).collect();
        format!("f {}\n", corners.join(" "))
    });
    let corners = later.corners.iter().map(|[x, y, z]| format!("v {x} {y} {z}\n"));
    let more: String = corners.chain(["g other\n".to_string()]).chain(faces).collect();
    bench.write("two.obj", apart(0.0).obj() + &more);
    assert!((f(&bench.taken("two.obj", &[]).0["litres"]) - 2.0).abs() < 1e-5);
    // Colours beside the corners, as some phones write them.
    let coloured: Vec<String> = apart(0.0)
        .obj()
        .lines()
        .map(|line| line.to_string() + if line.starts_with("v ") { " 0.5 0.4 1.0" } else { "" })
        .collect();
    bench.write("coloured.obj", coloured.join("\n"));
    assert!((f(&bench.taken("coloured.obj", &[]).0["litres"]) - 1.0).abs() < 1e-5);
    // Materials without a name or with one in another alphabet; a face over two lines.
    let odd = b"o \xe9t\xe9\nusemtl \nmtllib\nusemtl caf\xe9 1 \\\r\nf 1 2 3\n".to_vec();
    let broken_line = apart(0.0).obj().replacen("f 1 3", "f 1 \\\n 3", 1);
    assert!(broken_line.contains('\\'), "{broken_line}");
    bench.write("odd.obj", [odd, broken_line.into_bytes()].concat());
    assert!((f(&bench.taken("odd.obj", &[]).0["litres"]) - 1.0).abs() < 1e-5);
    // Elements that nobody asked for, before and after.
    let sound = String::from_utf8(apart(0.0).ply_text()).expect("text");
    let with = sound
        .replace("element vertex", "element camera 1\nproperty float f\nelement vertex")
        .replace("end_header\n", "element edge 1\nproperty list uchar int ends\nend_header\n7.5\n");
    bench.write("more.ply", with + "2 0 1\n");
    assert!((f(&bench.taken("more.ply", &[]).0["litres"]) - 1.0).abs() < 1e-5);
}

#[test]
fn a_face_with_a_bay_is_cut_along_its_outline() {
    // An L of 7 units of area, as one six-sided face, and its prism of height 1.
    let outline = [[0.0, 0.0], [4.0, 0.0], [4.0, 1.0], [1.0, 1.0], [1.0, 4.0], [0.0, 4.0]];
    let at = |z: f64| outline.iter().map(move |&[x, y]| [x, y, z]);
    let mut faces: Vec<Vec<u32>> = vec![(0..6).rev().collect(), (6..12).collect()];
    faces.extend((0..6).map(|i| vec![i, (i + 1) % 6, (i + 1) % 6 + 6, i + 6]));
    let prism = Faces { corners: at(0.0).chain(at(1.0)).collect(), faces };
    let bench = Bench::new();
    for (name, bytes) in
        [("scan.obj", prism.obj().into_bytes()), ("scan.ply", prism.ply_binary(true))]
    {
        bench.write(name, bytes);
        let (report, body) = bench.taken(name, &["--unit", "cm"]);
        assert_eq!(report["closed"], true, "{name}: {report}");
        assert!((body.volume_mm3() - 7_000.0).abs() < 0.1, "{name}: {}", body.volume_mm3());
        assert!((area(&body) - (2.0 * 700.0 + 16.0 * 100.0)).abs() < 0.1, "{name}");
    }
}

#[test]
fn what_is_twice_flat_or_inside_out_is_put_right_and_said() {
    let mut faces = cuboid().triangulated();
    faces.faces.iter_mut().for_each(|face| face.reverse());
    faces.faces.push(faces.faces[3].clone());
    faces.faces.push(vec![1, 2, 2]);
    faces.corners.push([9.0, 9.0, 9.0]);
    let bench = Bench::new();
    bench.write("scan.ply", faces.ply_binary(false));
    let (report, body) = bench.taken("scan.ply", &[]);
    let cleaned = json!({ "equal_corners": 0, "without_area": 1, "twice": 1, "unused_corners": 1 });
    assert_eq!(report["cleaned"], cleaned);
    assert_eq!((&report["closed"], &report["turned"]), (&json!(true), &json!(true)));
    assert!((body.volume_mm3() - 6e6).abs() < 10.0);
    // A soup of corners is welded: 36 become 8.
    bench.write("scan.stl", cuboid().stl_binary());
    assert_eq!(bench.taken("scan.stl", &[]).0["cleaned"]["equal_corners"], 28);
    // Without its last face it is a skin, and the hole's rim is counted.
    let mut open = cuboid();
    open.faces.pop();
    bench.write("open.ply", open.ply_binary(false));
    let (report, _) = bench.taken("open.ply", &[]);
    assert_eq!((&report["closed"], &report["litres"]), (&json!(false), &json!(null)));
    assert_eq!(report["edges"], json!({ "all": 17, "open": 4, "crowded": 0, "at_odds": 0 }));
    let run = bench.run(&["open.ply", "-o", "body.glb"]);
    assert!(run.out.contains("4 open") && run.out.contains("a skin without an inside"));
}
