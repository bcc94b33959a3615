//! The GLB file, read back with the gltf crate. tests/referees/glb.mjs asks Khronos' validator.

use dryberth::checks::{Boot, evaluate};
use dryberth::documents::boot_glb;
use dryberth::format::open_demo;
use dryberth::frame::vehicle_from_gltf;
use dryberth::model::{Place, Point};

use crate::sandlark;

/// Where a glTF node's matrix takes a point: columns, as the standard writes them.
fn through(matrix: [[f32; 4]; 4], [x, y, z]: [f64; 3]) -> [f64; 3] {
    let m = matrix.map(|column| column.map(f64::from));
    [0, 1, 2].map(|row| m[0][row] * x + m[1][row] * y + m[2][row] * z + m[3][row])
}

#[test]
fn the_pump_stands_where_the_layout_says() {
    let opened = open_demo(Some("wrenfield-drop-top")).expect("the demo");
    let boot = opened.boot(&Boot::usual_options(&opened.layout)).expect("a boot");
    let mut spot = opened.layout.spots[0].clone();
    let card = evaluate(&boot, &spot);
    for turn_deg in [(0.0, 0.0, 0.0), (0.0, 0.0, 90.0), (5.0, -20.0, 130.0)] {
        spot.place = Place { at: Point::new(310.0, -120.0, 45.0), turn_deg };
        let bytes = boot_glb("x.glb", &boot, &spot, &card).expect("a file");
        let document = gltf::Gltf::from_slice(&bytes).expect("glTF");
        let pump =
            document.nodes().find(|node| node.name() == Some("pump")).expect("the pump's node");
        // Metres, +Y up, +Z forward, +X left.
        let (at, _, _) = pump.transform().decomposed();
        let off = at.iter().zip([-0.12_f32, 0.045, 0.31]).map(|(a, b)| (a - b).abs());
        assert!(off.fold(0.0, f32::max) < 1e-7, "{at:?}");
        // Any point of the pump goes where the layout's pose takes it.
        for point in [Point::new(128.0, 0.0, 60.0), Point::new(-85.0, 17.0, 142.0)] {
            let local = [point.y / 1000.0, point.z / 1000.0, point.x / 1000.0];
            let found = vehicle_from_gltf(through(pump.transform().matrix(), local));
            let wanted = spot.place.pose() * point;
            assert!((found - wanted).norm() < 0.001, "{found} for {wanted}");
        }
        let children: Vec<_> =
            pump.children().filter_map(|node| node.name().map(str::to_string)).collect();
        for solid in &boot.pump().solids {
            assert!(children.contains(&solid.name), "{}", solid.name);
        }
    }
}

#[test]
fn everything_of_the_car_is_a_named_node_at_its_place() {
    let ready = sandlark();
    let bytes = boot_glb("x.glb", &ready.boot, &ready.spot, &ready.card).expect("a file");
    assert_eq!(bytes, boot_glb("x.glb", &ready.boot, &ready.spot, &ready.card).expect("a file"));
    let document = gltf::Gltf::from_slice(&bytes).expect("glTF");
    let blob = document.blob.clone().expect("its data");
    let names: Vec<String> =
        document.nodes().filter_map(|node| node.name().map(str::to_string)).collect();
    for group in ["bodies", "movers", "trim", "pump", "lines", "fixings", "water"] {
        assert!(names.iter().any(|name| name == group), "{group}");
    }
    for (body, solid) in ready.boot.bodies() {
        let node = document.nodes().find(|node| node.name() == Some(&body.name)).expect("a node");
        let mesh = node.mesh().expect("a mesh");
        let primitive = mesh.primitives().next().expect("triangles");
        let reader = primitive.reader(|_| Some(&blob));
        let found: Vec<Point> = reader
            .read_positions()
            .expect("positions")
            .map(|at| vehicle_from_gltf(at.map(f64::from)))
            .collect();
        let bounds = dryberth::geometry::Bounds::of(found.iter()).expect("corners");
        let wanted = solid.bounds();
        assert!(
            (bounds.low - wanted.low).norm() < 0.01 && (bounds.high - wanted.high).norm() < 0.01
        );
        // Normals are unit vectors.
        for normal in reader.read_normals().expect("normals") {
            let length = normal.iter().map(|value| value * value).sum::<f32>().sqrt();
            assert!((length - 1.0).abs() < 1e-4, "{}: {length}", body.name);
        }
    }
    // An option that this car hasn't got is not in the model.
    assert!(!names.iter().any(|name| name == "sound amplifier"));
}
