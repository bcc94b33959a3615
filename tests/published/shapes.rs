//! Distances, depths and volumes that other libraries test themselves with, and closed forms.

use dryberth::geometry::{Solid, Triangles, gap};
use dryberth::model::{Place, Point, Pose, Shape, Vector};

use crate::near;
use crate::small_boot::boxed;

fn solid(shape: &Shape) -> Solid {
    Solid::of(shape, &Pose::identity(), |_| None).expect("a sound shape")
}

fn cube_at(x: f64, y: f64, z: f64) -> Solid {
    solid(&boxed([x - 1.0, y - 1.0, z - 1.0], [x + 1.0, y + 1.0, z + 1.0]))
}

/// A bar of radius 1 along z, long enough that its ends don't matter.
fn bar_at(x: f64) -> Solid {
    let (from, to) = (Point::new(x, 0.0, -50.0), Point::new(x, 0.0, 50.0));
    solid(&Shape::Cylinder { from, to, radius_mm: 1.0 })
}

fn apart(a: &Solid, b: &Solid) -> f64 {
    gap(a, b, 100.0).expect("near").distance_mm
}

#[test]
fn g1_box_and_the_centre_of_a_ball() {
    // Ball about (4, 4, 0), radius √8 + 0.01, against the box (1, 1, −2) to (2, 2, 2): nearest point
    // (2, 2, 0), so it goes in by 0.01. A physics library's test, READ; distance CALC 2.8284. ± 1e-9.
    let block = solid(&boxed([1.0, 1.0, -2.0], [2.0, 2.0, 2.0]));
    let (distance, nearest) = block.nearest(&Point::new(4.0, 4.0, 0.0));
    near(distance, 8.0_f64.sqrt(), 1e-9);
    near((nearest - Point::new(2.0, 2.0, 0.0)).norm(), 0.0, 1e-9);
    near(distance - (8.0_f64.sqrt() + 0.01), -0.01, 1e-9);
}

#[test]
fn g2_g3_round_on_round() {
    // Balls of radius 1, centres 1.8 apart, overlap by 0.2 (a collision library's test, READ); 0.5
    // apart, by 1.5 (CALC). We have no balls: bars side by side are the same question. ± 1e-6.
    near(apart(&bar_at(0.0), &bar_at(1.8)), -0.2, 1e-6);
    near(apart(&bar_at(0.0), &bar_at(0.5)), -1.5, 1e-6);
    near(apart(&bar_at(0.0), &bar_at(3.7)), 1.7, 1e-6);
}

#[test]
fn g4_g5_boxes() {
    // Half-extent 1: centres 3 apart, gap 1; centre at (1.5, 0.5, 0), depth 0.5. CALC. ± 1e-9.
    near(apart(&cube_at(0.0, 0.0, 0.0), &cube_at(3.0, 0.0, 0.0)), 1.0, 1e-9);
    near(apart(&cube_at(0.0, 0.0, 0.0), &cube_at(1.5, 0.5, 0.0)), -0.5, 1e-9);
    // Corner to corner: √3 × 1.
    near(apart(&cube_at(0.0, 0.0, 0.0), &cube_at(3.0, 3.0, 3.0)), 3.0_f64.sqrt(), 1e-9);
}

#[test]
fn a_turned_box_points_its_edge_at_a_face() {
    // Closed form: turned 45° about z its edge stands √2 out; centres 4 apart: gap 3 − √2. ± 1e-9.
    let turned = |turn_deg: (f64, f64, f64)| Place { at: Point::new(4.0, 0.0, 0.0), turn_deg };
    let cube = cube_at(0.0, 0.0, 0.0);
    let edge = cube.moved(&turned((0.0, 0.0, 45.0)).pose());
    near(apart(&cube, &edge), 3.0 - 2.0_f64.sqrt(), 1e-9);
    // Both turned so that edges cross at right angles: roll 45° after yaw 45° of one about x.
    let a = cube.moved(&Place { at: Point::origin(), turn_deg: (0.0, 45.0, 0.0) }.pose());
    near(apart(&a, &edge), 4.0 - 2.0 * 2.0_f64.sqrt(), 1e-9);
}

#[test]
fn a_bar_tilted_over_a_plate() {
    // Closed form: a bar of radius r, half length l, leaning θ from the plate's normal reaches
    // l cos θ + r sin θ below its middle. ± 5e-6 mm: on a round skin GJK closes in from above.
    let plate = solid(&boxed([-500.0, -500.0, -10.0], [500.0, 500.0, 0.0]));
    let shape = Shape::Cylinder {
        from: Point::new(0.0, 0.0, -58.0),
        to: Point::new(0.0, 0.0, 58.0),
        radius_mm: 38.0,
    };
    for lean in [0.0_f64, 10.0, 30.0, 45.0, 77.0, 90.0] {
        let place = Place { at: Point::new(12.0, -7.0, 120.0), turn_deg: (lean, 0.0, 25.0) };
        let (sin, cos) = lean.to_radians().sin_cos();
        let expected = 120.0 - (58.0 * cos + 38.0 * sin);
        near(apart(&solid(&shape).moved(&place.pose()), &plate), expected, 5e-6);
    }
}

#[test]
fn a_luggage_block_is_one_litre() {
    // ISO 3832: blocks of 200 × 100 × 50 mm, 1 L each (READ, two pages). CALC 1,000,000 mm³, exact.
    let block = Triangles::cuboid(&Point::origin(), &Point::new(200.0, 100.0, 50.0));
    near(block.volume_mm3() / dryberth::units::MM3_PER_LITRE, 1.0, 1e-12);
}

#[test]
fn steel_tube_weighs_what_its_table_says() {
    // kg per metre of tube, outside × wall mm: a metric tube catalogue, READ; matched with 7850
    // kg/m³. ± 0.0008 (three decimals; 8×1 is printed 0.172 for 0.1726).
    for (outside, wall, kg) in [
        (4.0, 1.0, 0.074),
        (6.0, 1.0, 0.123),
        (8.0, 1.0, 0.172),
        (6.0, 1.5, 0.166),
        (10.0, 1.0, 0.222),
    ] {
        let bar = |radius: f64| {
            Triangles::cylinder(&Point::origin(), &Point::new(0.0, 1000.0, 0.0), radius)
                .volume_mm3()
        };
        let steel = bar(outside / 2.0) - bar(outside / 2.0 - wall);
        near(steel * 7850.0 / 1e9, kg, 8e-4);
    }
}

#[test]
fn volumes_of_solids() {
    // Textbook: box a b c, bar π r² l, prism area × length, tetrahedron a³ / (6 √2). ± 1e-9 of each.
    let bar = Shape::Cylinder {
        from: Point::new(1.0, 2.0, 3.0),
        to: Point::new(31.0, 42.0, 3.0),
        radius_mm: 7.0,
    };
    near(solid(&bar).triangles().volume_mm3(), std::f64::consts::PI * 49.0 * 50.0, 1e-6);
    let s = 1.0 / 2.0_f64.sqrt();
    let points = vec![
        Point::new(1.0, 0.0, -s),
        Point::new(-1.0, 0.0, -s),
        Point::new(0.0, 1.0, s),
        Point::new(0.0, -1.0, s),
    ];
    let tetrahedron = solid(&Shape::Hull { points });
    near(tetrahedron.triangles().volume_mm3(), 8.0 / (6.0 * 2.0_f64.sqrt()), 1e-12);
    // A point at its middle is r = a / (2 √6) = 0.408 inside.
    near(tetrahedron.distance_to_point_mm(&Point::origin()), -2.0 / (2.0 * 6.0_f64.sqrt()), 1e-9);
}

#[test]
fn a_ray_meets_a_slanted_face() {
    // Closed form: from 100 above, down, onto a cube turned 45° about x: 100 − √2.
    let place = Place { at: Point::origin(), turn_deg: (45.0, 0.0, 0.0) };
    let cube = cube_at(0.0, 0.0, 0.0).moved(&place.pose());
    let hit = cube.ray(&Point::new(0.2, 0.0, 100.0), &-Vector::z(), 500.0).expect("met");
    near(hit.distance_mm, 100.0 - 2.0_f64.sqrt(), 1e-9);
    assert!(cube.ray(&Point::new(0.2, 0.0, 100.0), &Vector::z(), 500.0).is_none());
}
