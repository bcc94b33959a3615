//! Broken scans and plans: refused with exit status 2 and the file, what was found and what was
//! expected, within bounded time and memory.

use crate::files::{Bench, Faces};

fn refused(file: &str, cases: Vec<(&str, Vec<u8>, &str)>) {
    let bench = Bench::new();
    let mut wrong = Vec::new();
    let count = cases.len();
    for (name, bytes, wanted) in cases {
        bench.write(file, bytes);
        let run = bench.run(&[file, "-o", "body.glb"]);
        let what = run.refusal(&[&format!("{file}:"), "found ", "expected ", wanted]);
        if !what.is_empty() || bench.path("body.glb").exists() {
            wrong.push(format!("{name}:{what}"));
        }
    }
    assert!(wrong.is_empty(), "{} of {count} cases:\n{}", wrong.len(), wrong.join("\n"));
}

fn cuboid() -> Faces {
    Faces::cuboid([0.1; 3], [0.3; 3])
}

fn text(sound: &[u8], from: &str, to: &str) -> Vec<u8> {
    let sound = String::from_utf8(sound.to_vec()).expect("text");
    assert!(sound.contains(from), "`{from}` isn't in the sound file");
    sound.replacen(from, to, 1).into_bytes()
}

#[test]
fn broken_obj_files_are_refused() {
    let sound = cuboid().obj().into_bytes();
    let edit = |from: &str, to: &str| text(&sound, from, to);
    let long: String = (0..2_000).map(|_| " 1").collect();
    refused(
        "scan.obj",
        vec![
            ("nothing", Vec::new(), "no triangle"),
            ("blanks", b"\n\n\n".to_vec(), "no triangle"),
            ("only points", b"v 0 0 0\nv 1 0 0\n".to_vec(), "no triangle"),
            ("a word for a number", edit("v 0.3 0.1 0.1", "v one 0.1 0.1"), "scan.obj:5:1: "),
            ("two numbers", edit("v 0.3 0.1 0.1", "v 0.3 0.1"), "scan.obj:5:1: "),
            ("not a number", edit("v 0.3 0.1 0.1", "v NaN 0.1 0.1"), "a corner at (NaN"),
            ("no end of a number", edit("v 0.3 0.1 0.1", "v 1e999 0.1 0.1"), "a corner at (inf"),
            ("far away", edit("v 0.3 0.1 0.1", "v 1e30 0.1 0.1"), "within 1000000"),
            ("a corner that isn't there", edit("f 1 ", "f 99 "), "out of bounds"),
            ("corner zero", edit("f 1 ", "f 0 "), "OBJ file that can't be read"),
            ("the last corner but 99", edit("f 1 ", "f -99 "), "OBJ file that can't be read"),
            ("a corner of 30 digits", edit("f 1 ", "f 999999999999999999999999999999 "), "face"),
            ("a face of words", edit("f 1 ", "f a b c "), "face"),
            ("four slashes", edit("f 1 ", "f 1/1/1/1 "), "face"),
            ("a face of 2,000 corners", edit("f 1 ", &format!("f{long}\nf 1 ")), "at most 1000"),
            ("UTF-16", b"\xff\xfev\0 \x000\0".to_vec(), "UTF-16"),
            ("not UTF-8", b"v 0 0 0\nv \xff\xfe 0 0\n".to_vec(), "found "),
            ("a picture", [b"\x89PNG\r\n\x1a\n".as_slice(), &[0; 500]].concat(), "found "),
            ("zeros", vec![0; 100_000], "found "),
        ],
    );
}

#[test]
fn broken_stl_files_are_refused() {
    let words = cuboid().stl_text().into_bytes();
    let edit = |from: &str, to: &str| text(&words, from, to);
    let sound = cuboid().stl_binary();
    let with = |at: usize, bytes: &[u8]| {
        let mut broken = sound.clone();
        broken[at..at + bytes.len()].copy_from_slice(bytes);
        // The start that says text is for text.
        broken[..5].copy_from_slice(b"model");
        broken
    };
    refused(
        "scan.stl",
        vec![
            ("nothing", Vec::new(), "an STL file"),
            ("a word", b"solid".to_vec(), "found "),
            ("a solid without end", b"solid x\n".to_vec(), "scan.stl:1:1: "),
            ("a solid of nothing", b"solid x\nendsolid x\n".to_vec(), "no triangle"),
            ("83 bytes", vec![1; 83], "an STL file"),
            ("84 bytes", vec![0; 84], "no triangle"),
            ("4e9 triangles", with(80, &u32::MAX.to_le_bytes()), "its header promises"),
            ("one more than there are", with(80, &13_u32.to_le_bytes()), "its header promises"),
            ("not a number", with(96, &f32::NAN.to_le_bytes()), "a corner at (NaN"),
            ("infinite", with(100, &f32::INFINITY.to_le_bytes()), "inf"),
            ("beyond the moon", with(100, &1e30_f32.to_le_bytes()), "within 1000000"),
            ("half", sound[..sound.len() / 2].to_vec(), "found "),
            ("no normal", edit("facet normal 0 0 0", "facet"), "scan.stl:2:1: "),
            ("two numbers", edit("1e-1 0.1 0.3\n", "1e-1 0.1\n"), "scan.stl:"),
            ("a word for a number", edit("1e-1 0.1 0.3\n", "1e-1 0.1 high\n"), "scan.stl:"),
            ("NaN", edit("1e-1 0.1 0.3\n", "1e-1 0.1 nan\n"), "finite"),
            ("four corners", edit("    endloop", "vertex 0 0 0\n    endloop"), "endloop"),
            ("no end", edit("endsolid\n", ""), "scan.stl:"),
            ("something behind", edit("endsolid\n", "endsolid\nrubbish\n"), "rubbish"),
            ("not UTF-8", edit("endloop", "end").into_iter().chain([0xff]).collect(), "found "),
        ],
    );
}

#[test]
fn broken_ply_files_are_refused() {
    let words = cuboid().ply_text();
    let edit = |from: &str, to: &str| text(&words, from, to);
    let sound = cuboid().ply_binary(false);
    let header = sound.windows(11).position(|part| part == b"end_header\n").expect("one") + 11;
    let replaced = |from: &str, to: &str| {
        let head = text(&sound[..header], from, to);
        [&head, &sound[header..]].concat()
    };
    let with = |at: usize, bytes: &[u8]| {
        let mut broken = sound.clone();
        broken[header + at..header + at + bytes.len()].copy_from_slice(bytes);
        broken
    };
    let faces = 8 * 13;
    let many: String = (0..200_000).map(|_| "comment x\n").collect();
    refused(
        "scan.ply",
        vec![
            ("nothing", Vec::new(), "PLY"),
            ("another word", edit("ply", "plu"), "PLY"),
            ("no header's end", edit("end_header", "end"), "PLY"),
            ("no format", edit("format ascii 1.0\n", ""), "PLY"),
            ("a format of the future", edit("ascii 1.0", "ascii 99999999.0"), "PLY"),
            ("no vertices", edit("element vertex", "element thing"), "no vertices"),
            ("no x", edit("float x", "float w"), "without `x`"),
            ("x a list", edit("property float x", "property list uchar float x"), "without `x`"),
            ("no faces", edit("element face", "element thing"), "no faces"),
            ("strips", edit("element face", "element tristrips"), "strips"),
            ("1e18 vertices", edit("vertex 8", "vertex 1000000000000000000"), "promises"),
            ("1e30 vertices", edit("vertex 8", "vertex 1000000000000000000000000000000"), "PLY"),
            ("4e6 vertices", replaced("vertex 8", "vertex 4000000"), "promises"),
            ("minus 8 vertices", edit("vertex 8", "vertex -8"), "PLY"),
            ("nine vertices", edit("vertex 8", "vertex 9"), "PLY"),
            ("4e9 faces", replaced("face 6", "face 4000000000"), "promises"),
            ("4e6 faces", replaced("face 6", "face 4000000"), "promises"),
            ("seven faces", replaced("face 6", "face 7"), "PLY"),
            (
                "1e9 elements of nothing",
                replaced("element vertex", "element nothing 1000000000\nelement vertex"),
                "promises",
            ),
            (
                "14 million elements of nothing",
                replaced("element vertex", "element nothing 14000000\nelement vertex"),
                "promises",
            ),
            ("faces of floats", replaced("uchar int vertex", "uchar float vertex"), "found "),
            ("lists counted in floats", replaced("uchar int vertex", "float int vertex"), "PLY"),
            ("a face of 2^32 corners", replaced("list uchar", "list uint"), "found "),
            ("an unknown type", edit("float z", "quaternion z"), "PLY"),
            ("a corner that isn't there", with(faces + 1, &99_u32.to_le_bytes()), "corner 99 of 8"),
            ("corner minus one", with(faces + 1, &(-1_i32).to_le_bytes()), "of 8"),
            ("not a number", with(0, &f32::NAN.to_le_bytes()), "a corner at (NaN"),
            ("far", with(4, &(-1e25_f32).to_le_bytes()), "within 1000000"),
            ("a face of 255", with(faces, &[255]), "PLY"),
            ("cut short", sound[..sound.len() - 1].to_vec(), "PLY"),
            ("cut in the header", sound[..60].to_vec(), "PLY"),
            ("a word for a number", edit("0.3 0.1 0.1 200", "0.3 high 0.1 200"), "PLY"),
            ("a number too few", edit("0.3 0.1 0.1 200", "0.3 0.1"), "PLY"),
            ("comments without end", edit("comment a box\n", &many)[..1_900_000].to_vec(), "PLY"),
        ],
    );
}

#[test]
fn broken_glb_files_and_strange_files_are_refused() {
    let sound = cuboid().glb();
    let mut nan = sound.clone();
    let data = nan.len() - 72 - 96;
    nan[data..data + 4].copy_from_slice(&f32::NAN.to_le_bytes());
    refused(
        "scan.glb",
        vec![
            ("nothing", Vec::new(), "glTF"),
            ("half", sound[..sound.len() / 2].to_vec(), "cut short"),
            ("not a number", nan, "not a number"),
        ],
    );
    refused("scan.gltf", vec![("text", b"{}".to_vec(), ".glb, .obj, .stl or .ply")]);
    refused("scan.e57", vec![("points", b"ASTM-E57".to_vec(), ".glb, .obj, .stl or .ply")]);
    refused("scan", vec![("no ending", sound, ".glb, .obj, .stl or .ply")]);
    refused(
        "flat.obj",
        vec![(
            "no area",
            b"v 0 0 0\nv 1 1 1\nv 2 2 2\nf 1 2 3\nf 1 1 2\n".to_vec(),
            "no triangle with an area",
        )],
    );
    refused(
        "tiny.obj",
        vec![(
            "an atom",
            b"v 1 0 0\nv 1.0000000000001 0 0\nv 1 1e-13 0\nf 1 2 3\n".to_vec(),
            "too small",
        )],
    );
    let bench = Bench::new();
    std::fs::create_dir(bench.path("folder.ply")).expect("a folder");
    for strange in ["missing.ply", "folder.ply"] {
        let run = bench.run(&[strange, "-o", "body.glb"]);
        assert_eq!(run.refusal(&[strange, "found ", "expected "]), "");
    }
    let many = (0..400).map(|at| format!("element e{at} 1\n")).collect::<String>();
    let header = format!("ply\nformat ascii 1.0\n{many}end_header\n");
    refused("many.ply", vec![("elements only", header.into_bytes(), "no vertices")]);
}

#[test]
fn broken_plans_are_refused_where_they_are_wrong() {
    let bench = Bench::new();
    bench.write("scan.obj", cuboid().obj());
    let point =
        |name: &str, at: f64| format!("(name: \"{name}\", scan: ({at}, 0, 0), boot: ({at}, 0, 0))");
    let line = format!("points: [{}, {}, {}]", point("a", 1.0), point("b", 2.0), point("c", 3.0));
    let two = format!("points: [{}, {}]", point("a", 1.0), point("b", 2.0));
    let same = line.replace("\"c\"", "\"a\"");
    let cases = [
        ("", "plan.ron:1:1: "),
        ("(schema: 9)", "newer version"),
        ("(schema: 1, pionts: [])", "did you mean `points`?"),
        ("(schema: 1,\n crop: (from: (0, 0, 0)))", "`to"),
        ("(schema: 1,\n crop: (from: (0, 0, 0), to: (0, 9, 9)))", "plan.ron:2:8: crop: "),
        ("(schema: 1, crop: (from: (0, 0), to: (0, 9, 9)))", "3 numbers"),
        ("(schema: 1, crop: (from: (0, 0, inf), to: (0, 9, 9)))", "crop.from: "),
        ("(schema: 1,\n deviation_mm: -1)", "plan.ron:2:16: deviation_mm: "),
        ("(schema: 1, deviation_mm: NaN)", "deviation_mm: "),
        ("(schema: 1, most_residual_mm: 0)", "most_residual_mm: "),
        ("(schema: 1, free_scale: true)", "without points"),
        (
            "(schema: 1, known_length: (from: (1, 1, 1), to: (1, 1, 1), mm: 5))",
            "two ends at the same point",
        ),
        ("(schema: 1, known_length: (from: (1, 1, 1), to: (1, 1, 2), mm: 0))", "known_length.mm"),
        (&format!("(schema: 1, {two})"), "2 named points"),
        (&format!("(schema: 1, {line})"), "one line"),
        (&format!("(schema: 1, {same})"), "a second time"),
        ("(schema: 1, cut_away: [(from: (0, 0, 0), to: (1e9, 9, 9))])", "cut_away[0].to: "),
    ];
    for (plan, wanted) in cases {
        bench.write("plan.ron", plan);
        let run = bench.run(&["scan.obj", "-o", "body.glb", "--plan", "plan.ron"]);
        assert_eq!(run.refusal(&["plan.ron", "found ", "expected ", wanted]), "", "{plan}");
    }
    bench.write("plan.ron", [b'(', 0xff, b')']);
    let run = bench.run(&["scan.obj", "-o", "body.glb", "--plan", "plan.ron"]);
    assert_eq!(run.refusal(&["UTF-8"]), "");
    let run = bench.run(&["scan.obj", "-o", "body.glb", "--plan", "nowhere.ron"]);
    assert_eq!(run.refusal(&["nowhere.ron"]), "");
    assert!(!bench.path("body.glb").exists());
}
