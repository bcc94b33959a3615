//! Broken meshes.

use serde_json::{Value, json};

use crate::glb::{Glb, assemble};
use crate::workshop::{Workshop, nothing_went_wrong};

fn refused(cases: Vec<(&str, Vec<u8>, &str)>) {
    let workshop = Workshop::new();
    let mut wrong = Vec::new();
    for (name, bytes, wanted) in &cases {
        workshop.write("bump.glb", bytes);
        let what = workshop.check().refusal(&["bump.glb: found ", "expected ", wanted]);
        if !what.is_empty() {
            wrong.push(format!("{name}:{what}"));
        }
    }
    nothing_went_wrong(cases.len(), &wrong);
}

fn changed(pointer: &str, value: Value) -> Vec<u8> {
    Glb::sound().with(pointer, value).bytes()
}

#[test]
fn the_sound_mesh_is_read() {
    assert_eq!(Workshop::new().check().answer(), "");
}

#[test]
fn broken_headers_are_refused() {
    let sound = Glb::sound().bytes();
    let with = |at: usize, bytes: &[u8]| {
        let mut broken = sound.clone();
        broken[at..at + bytes.len()].copy_from_slice(bytes);
        broken
    };
    let longest = u32::MAX.to_le_bytes();
    refused(vec![
        ("nothing at all", Vec::new(), "begin with `glTF`"),
        ("the wrong first letters", with(0, b"glTf"), "begin with `glTF`"),
        ("version 1", with(4, &1_u32.to_le_bytes()), "GLB version 1"),
        ("version of the future", with(4, &longest), "version 2"),
        ("a header that promises more", with(8, &longest), "cut short"),
        ("a header that promises less", with(8, &20_u32.to_le_bytes()), "GLB"),
        ("a header that promises nothing", with(8, &0_u32.to_le_bytes()), "GLB"),
        ("a text chunk longer than the file", with(12, &longest), "GLB"),
        ("a text chunk of no length", with(12, &0_u32.to_le_bytes()), "GLB"),
        ("a text chunk of another kind", with(16, b"XXXX"), "GLB"),
        ("text that is not JSON", assemble(b"{ not JSON at all", &[]), "GLB"),
        ("JSON that is no glTF", assemble(b"[1, 2, 3]", &[]), "GLB"),
        ("JSON nested 100,000 deep", assemble("[".repeat(100_000).as_bytes(), &[]), "GLB"),
        ("JSON that is not UTF-8", assemble(b"{\"asset\":\"\xff\xfe\"}", &[]), "GLB"),
        ("empty JSON", assemble(b"{}", &[]), "GLB"),
    ]);
}

#[test]
fn broken_scenes_are_refused() {
    let mut without_scenes = Glb::sound();
    let fields = without_scenes.json.as_object_mut().expect("an object");
    fields.remove("scene");
    fields.remove("scenes");
    let required = Glb::sound()
        .with("/extensionsRequired", json!(["KHR_draco_mesh_compression"]))
        .with("/extensionsUsed", json!(["KHR_draco_mesh_compression"]));
    refused(vec![
        ("no scene", without_scenes.bytes(), "no scene"),
        ("a scene without nodes", changed("/scenes/0/nodes", json!([])), "no triangle"),
        ("a scene that isn't there", changed("/scene", json!(7)), "GLB"),
        ("a node that isn't there", changed("/scenes/0/nodes", json!([3])), "GLB"),
        ("a node below itself", changed("/nodes", json!([{ "children": [0] }])), "reached twice"),
        (
            "nodes in a ring",
            changed(
                "/nodes",
                json!([{ "children": [1] }, { "children": [2] }, { "children": [0] }]),
            ),
            "reached twice",
        ),
        (
            "a node of two parents",
            changed("/nodes", json!([{ "children": [1, 2] }, { "children": [2] }, { "mesh": 0 }])),
            "reached twice",
        ),
        ("a mesh that isn't there", changed("/nodes/0/mesh", json!(4)), "GLB"),
        ("a needed extension", required.bytes(), "KHR_draco_mesh_compression"),
        ("a node of infinite size", changed("/nodes/0/scale", json!([1e39, 1, 1])), "not a number"),
        ("a node of great size", changed("/nodes/0/scale", json!([1e30, 1, 1])), "kilometre"),
        ("lines", changed("/meshes/0/primitives/0/mode", json!(1)), "drawn as Lines"),
        ("a strip", changed("/meshes/0/primitives/0/mode", json!(5)), "TriangleStrip"),
        ("a mode that isn't one", changed("/meshes/0/primitives/0/mode", json!(99)), "GLB"),
        ("no positions", changed("/meshes/0/primitives/0/attributes", json!({})), "expected"),
        ("no primitives", changed("/meshes/0/primitives", json!([])), "expected"),
    ]);
}

#[test]
fn broken_data_is_refused() {
    let sparse = json!({
        "count": 1,
        "indices": { "bufferView": 1, "componentType": 5123 },
        "values": { "bufferView": 0 }
    });
    let mut instances = Glb::sound();
    // A mesh of many corners and one triangle, drawn by very many nodes.
    instances.data.extend(vec![0; 12 * 100_000]);
    let size = instances.data.len();
    let instances = instances
        .with("/buffers/0/byteLength", json!(size))
        .with("/bufferViews/0", json!({ "buffer": 0, "byteOffset": 72, "byteLength": size - 72 }))
        .with("/accessors/0/count", json!(100_000))
        .with("/accessors/1/count", json!(3))
        .with("/nodes", json!(vec![json!({ "mesh": 0 }); 5_000]))
        .with("/scenes/0/nodes", json!((0..5_000).collect::<Vec<usize>>()));
    refused(vec![
        ("more corners than data", changed("/accessors/0/count", json!(5)), "reaches outside"),
        ("more numbers than data", changed("/accessors/1/count", json!(15)), "reaches outside"),
        ("4e9 corners", changed("/accessors/0/count", json!(4_000_000_000_u64)), "expected"),
        ("4e9 numbers", changed("/accessors/1/count", json!(4_000_000_000_u64)), "expected"),
        (
            "1e19 corners",
            changed("/accessors/0/count", json!(10_000_000_000_000_000_000_u64)),
            "expected",
        ),
        ("minus 4 corners", changed("/accessors/0/count", json!(-4)), "GLB"),
        ("a negative offset", changed("/bufferViews/0/byteOffset", json!(-4)), "GLB"),
        (
            "an offset beyond the data",
            changed("/bufferViews/1/byteOffset", json!(4_000)),
            "outside",
        ),
        (
            "offsets that overflow",
            changed("/bufferViews/1/byteOffset", json!(18_446_744_073_709_551_600_u64)),
            "expected",
        ),
        (
            "an accessor's offset that overflows",
            changed("/accessors/0/byteOffset", json!(18_446_744_073_709_551_600_u64)),
            "expected",
        ),
        (
            "a view longer than the data",
            changed("/bufferViews/0/byteLength", json!(4_000)),
            "outside",
        ),
        ("a stride of no sense", changed("/bufferViews/0/byteStride", json!(250)), "expected"),
        (
            "an overflowing stride",
            changed("/bufferViews/0/byteStride", json!(u64::MAX / 2)),
            "expected",
        ),
        ("a view of no buffer", changed("/bufferViews/0/buffer", json!(3)), "GLB"),
        (
            "a corner that isn't there",
            Glb::sound().with_data(48, &9_u16.to_le_bytes()).bytes(),
            "corner 9 of 4",
        ),
        (
            "a corner that is not a number",
            Glb::sound().with_data(4, &f32::NAN.to_le_bytes()).bytes(),
            "not a number",
        ),
        (
            "a corner at infinity",
            Glb::sound().with_data(4, &f32::INFINITY.to_le_bytes()).bytes(),
            "not a number",
        ),
        (
            "a corner in the next country",
            Glb::sound().with_data(4, &1e30_f32.to_le_bytes()).bytes(),
            "kilometre",
        ),
        (
            "corner numbers not by threes",
            changed("/accessors/1/count", json!(11)),
            "three for each triangle",
        ),
        (
            "corner numbers as floats",
            changed("/accessors/1/componentType", json!(5126)),
            "expected",
        ),
        ("positions as bytes", changed("/accessors/0/componentType", json!(5121)), "expected"),
        ("positions in the plane", changed("/accessors/0/type", json!("VEC2")), "expected"),
        ("sparse positions", changed("/accessors/0/sparse", sparse), "expected"),
        ("data in another file", changed("/buffers/0/uri", json!("bump.bin")), "another file"),
        (
            "data in a file of the system",
            changed("/buffers/0/uri", json!("/etc/passwd")),
            "another file",
        ),
        ("a small file that unfolds to 500 million corners", instances.bytes(), "simpler mesh"),
    ]);
}

#[test]
fn a_mesh_cut_short_anywhere_is_refused() {
    let whole = include_bytes!("../../assets/meshes/wheel-arch.glb");
    let cut = (0..whole.len()).step_by(97).map(|length| ("cut", whole[..length].to_vec(), ""));
    refused(cut.collect());
}

#[test]
fn a_chain_of_100_000_nodes_is_walked() {
    let mut nodes: Vec<Value> = (1..100_000).map(|below| json!({ "children": [below] })).collect();
    nodes.push(json!({ "mesh": 0 }));
    let workshop = Workshop::new();
    workshop.write("bump.glb", &changed("/nodes", Value::Array(nodes)));
    assert_eq!(workshop.check().answer(), "");
}

#[test]
fn triangles_without_area_are_refused_where_the_layout_names_them() {
    let flat: Vec<u8> = (0..12).flat_map(|_| 1_u16.to_le_bytes()).collect();
    let workshop = Workshop::new();
    workshop.write("bump.glb", &Glb::sound().with_data(48, &flat).bytes());
    let wanted =
        ["layout.ron:28:9: bodies[5]: found ", "`bump.glb` holds no triangle with an area"];
    assert_eq!(workshop.check().refusal(&wanted), "");
}
