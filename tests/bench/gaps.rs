//! How long does a gap query take, beside coal and parry's own?
//!
//! A box over, on and in rough ground of 102,146 triangles in 1,000 poses (tests/referees/terrain.py),
//! asked as far as 60 mm and without a bound. Beside it stand parry's own closest points and distance
//! on the same mesh and, when the environment variable `DRYBERTH_COAL_PYTHON` names a Python with coal,
//! coal's distance on the same poses, run by the same script in the same minute. Prints how far the
//! answers are from the referee's, too.

#![allow(missing_docs, clippy::print_stdout, reason = "a bench prints its table")]

#[path = "../referees/shapes.rs"]
#[allow(dead_code, reason = "only the terrain is wanted")]
mod shapes;

use std::hint::black_box;
use std::process::Command;
use std::time::Instant;

use dryberth::geometry::{Solid, Triangles, gap, rough_gap};
use dryberth::model::{Point, Pose, Shape};
use nalgebra::{Quaternion, Translation3, UnitQuaternion};
use parry3d::query::{ClosestPoints, closest_points, distance};
use parry3d::shape::{Cuboid, TriMesh};

/// Medians of this many rounds over all poses.
const ROUNDS: usize = 3;

fn main() {
    let rows: Vec<[f64; 8]> =
        serde_json::from_str(include_str!("../referees/data/terrain.json")).expect("sound data");
    let ground = shapes::mesh(shapes::terrain());
    let cuboid = shapes::boxed([-110.0, -60.0, -55.0], [110.0, 60.0, 55.0]);
    let poses: Vec<(Pose, f64)> = rows
        .iter()
        .map(|&[x, y, z, i, j, k, w, expected]| {
            let turn = UnitQuaternion::from_quaternion(Quaternion::new(w, i, j, k));
            (Pose::from_parts(Translation3::new(x, y, z), turn), expected)
        })
        .collect();
    let apart: Vec<&Pose> = poses.iter().filter(|p| p.1 >= 0.0).map(|p| &p.0).collect();
    let deep: Vec<&Pose> = poses.iter().filter(|p| p.1 < 0.0).map(|p| &p.0).collect();
    let all: Vec<&Pose> = poses.iter().map(|p| &p.0).collect();
    let ask = |pose: &Pose, up_to_mm: f64| gap(&cuboid.moved(pose), &ground, up_to_mm);

    let begun = Instant::now();
    let mut errors: Vec<f64> = poses
        .iter()
        .map(|(pose, expected)| {
            ask(pose, 1000.0).map_or(f64::NAN, |gap| gap.distance_mm - expected)
        })
        .collect();
    println!("all poses once: {:.1} s", begun.elapsed().as_secs_f64());
    errors.sort_by(|a, b| a.abs().total_cmp(&b.abs()));
    let at = |share: f64| errors[((errors.len() - 1) as f64 * share) as usize];
    println!(
        "off the referee by, mm: half {:.1e}, 75 % {:.1e}, 99 % {:.1e}, most {:.1e}",
        at(0.5),
        at(0.75),
        at(0.99),
        at(1.0)
    );

    let (mesh, brick) = parrys(&ground);
    let here = parry3d::math::Pose::IDENTITY;
    let placed = |pose: &Pose| {
        let turn = pose.rotation.coords;
        let at = pose.translation.vector;
        parry3d::math::Pose::from_parts(
            parry3d::math::Vector::new(at.x, at.y, at.z),
            parry3d::math::Rotation::from_xyzw(turn.x, turn.y, turn.z, turn.w),
        )
    };
    let bounded = |pose: &Pose| {
        matches!(
            closest_points(&placed(pose), &brick, &here, &mesh, 60.0),
            Ok(ClosestPoints::WithinMargin(..))
        )
    };
    let unbounded = |pose: &Pose| distance(&placed(pose), &brick, &here, &mesh).map(|d| d.distance);
    // A way out takes milliseconds: every fifth will do.
    let some_deep: Vec<&Pose> = deep.iter().copied().step_by(5).collect();
    let mut table = vec![
        ("gap, not farther than 60 mm: poses apart", per_query_us(&apart, |p| ask(p, 60.0))),
        ("gap, no bound: poses apart", per_query_us(&apart, |p| ask(p, 1e6))),
        (
            "gap with the shortest way out: poses overlapping",
            per_query_us(&some_deep, |p| ask(p, 60.0)),
        ),
        ("parry3d closest_points, 60 mm: poses apart", per_query_us(&apart, bounded)),
        ("parry3d distance, no bound: poses apart", per_query_us(&apart, unbounded)),
        ("parry3d distance, no bound: every tenth pose", per_query_us(&all[..100], unbounded)),
    ];
    if let Some(coal) = coals() {
        table.extend([
            ("coal distance, no bound: poses apart", coal.distance_ns / 1e3),
            ("coal collide with a margin of 60 mm: all poses", coal.within_60_ns / 1e3),
            ("coal collide: all poses", coal.overlap_ns / 1e3),
        ]);
        println!(
            "ours beside coal's distance: {:.3} not farther than 60 mm, {:.3} without a bound",
            table[0].1 * 1e3 / coal.distance_ns,
            table[1].1 * 1e3 / coal.distance_ns
        );
    } else {
        println!("coal: skipped, DRYBERTH_COAL_PYTHON names no Python with coal");
    }
    table.extend(buried());
    println!("\n{:<56} {:>12}", "box against 102,146 triangles", "µs a query");
    for (name, us) in table {
        println!("{name:<56} {us:>12.2}");
    }
}

/// The pump's box dragged deep through solid ground of half a million triangles: what each frame would
/// wait for.
fn buried() -> Vec<(&'static str, f64)> {
    const SIDE: u32 = 500;
    let top = |x: f64, y: f64| 30.0 * (x / 90.0).sin() * (y / 110.0).cos() + 3.0 * (x / 9.0).sin();
    let mut ground = Triangles::default();
    let at = |i: u32| f64::from(i) * (1000.0 / f64::from(SIDE)) - 500.0;
    for i in 0..=SIDE {
        for j in 0..=SIDE {
            ground.vertices.push(Point::new(at(i), at(j), top(at(i), at(j))));
        }
    }
    for i in 0..SIDE {
        for j in 0..SIDE {
            let a = i * (SIDE + 1) + j;
            let b = a + SIDE + 1;
            ground.indices.extend([[a, b, b + 1], [a, b + 1, a + 1]]);
        }
    }
    // Closed by walls down to one point far below.
    let rim: Vec<u32> = (0..SIDE)
        .map(|i| i * (SIDE + 1))
        .chain((0..SIDE).map(|j| SIDE * (SIDE + 1) + j))
        .chain((1..=SIDE).rev().map(|i| i * (SIDE + 1) + SIDE))
        .chain((1..=SIDE).rev())
        .collect();
    let below = ground.vertices.len() as u32;
    ground.vertices.push(Point::new(0.0, 0.0, -900.0));
    for k in 0..rim.len() {
        ground.indices.push([rim[(k + 1) % rim.len()], rim[k], below]);
    }
    let ground = shapes::mesh(ground);
    assert!(ground.triangles().closed(), "the ground is a solid");
    let pump = shapes::boxed([-110.0, -60.0, -55.0], [110.0, 60.0, 55.0]);
    let motor = shapes::solid(&Shape::Cylinder {
        from: Point::new(-80.0, 0.0, 0.0),
        to: Point::new(80.0, 0.0, 0.0),
        radius_mm: 40.0,
    });
    let poses: Vec<Pose> = (0..24)
        .map(|k| {
            let k = f64::from(k);
            let turn = UnitQuaternion::from_euler_angles(0.3 * (k * 1.7).sin(), 0.25 * k.cos(), k);
            let at = Translation3::new(190.0 * k.sin(), 170.0 * (k * 2.1).cos(), 20.0 - 9.0 * k);
            Pose::from_parts(at, turn)
        })
        .collect();
    let poses: Vec<&Pose> = poses.iter().collect();
    let mut rows = Vec::new();
    for (solid, names) in [
        (&pump, ["buried box, 500,000: depth", "buried box, 500,000: bound below it"]),
        (&motor, ["buried cylinder, 500,000: depth", "buried cylinder, 500,000: bound below it"]),
    ] {
        let slowest = poses
            .iter()
            .map(|pose| {
                let begun = Instant::now();
                black_box(gap(&solid.moved(pose), &ground, 60.0));
                begun.elapsed().as_secs_f64() * 1e6
            })
            .fold(0.0, f64::max);
        println!("{}: slowest {slowest:.0} µs", names[0]);
        let whole = |pose: &Pose| gap(&solid.moved(pose), &ground, 60.0);
        let most =
            poses.iter().filter_map(|pose| Some(whole(pose)?.distance_mm)).fold(0.0, f64::min);
        println!("{}: deepest {most:.1} mm", names[0]);
        rows.push((names[0], per_query_us(&poses, whole)));
        rows.push((
            names[1],
            per_query_us(&poses, |pose| rough_gap(&solid.moved(pose), &ground, 60.0)),
        ));
    }
    rows
}

fn per_query_us<T>(poses: &[&Pose], work: impl Fn(&Pose) -> T) -> f64 {
    let mut rounds: Vec<f64> = (0..ROUNDS)
        .map(|_| {
            let start = Instant::now();
            for pose in poses {
                black_box(work(pose));
            }
            start.elapsed().as_secs_f64() * 1e6 / poses.len() as f64
        })
        .collect();
    rounds.sort_by(f64::total_cmp);
    rounds[ROUNDS / 2]
}

fn parrys(ground: &Solid) -> (TriMesh, Cuboid) {
    let surface = ground.triangles();
    let corners = surface.vertices.iter().map(|at| parry3d::math::Vector::new(at.x, at.y, at.z));
    let mesh = TriMesh::new(corners.collect(), surface.indices.clone()).expect("a surface");
    (mesh, Cuboid::new(parry3d::math::Vector::new(110.0, 60.0, 55.0)))
}

#[derive(serde::Deserialize)]
struct Coal {
    distance_ns: f64,
    within_60_ns: f64,
    overlap_ns: f64,
}

/// coal's own times from `terrain.py --time`.
fn coals() -> Option<Coal> {
    let python = std::env::var_os("DRYBERTH_COAL_PYTHON")?;
    let script = concat!(env!("CARGO_MANIFEST_DIR"), "/tests/referees/terrain.py");
    let ran = Command::new(python).args([script, "--time"]).output().ok()?;
    serde_json::from_slice(&ran.stdout).ok()
}
