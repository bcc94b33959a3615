//! The shapes that the scripts build by formula, built again.

use std::f64::consts::{PI, TAU};

use dryberth::geometry::{Solid, Triangles};
use dryberth::model::{Point, Pose, Shape, Vector};

/// A lumpy ring of 4,096 triangles (`gaps.py`, `inside.py`).
pub(crate) fn ring() -> Triangles {
    torus((64, 32), 150.0, |u, v| 50.0 + 8.0 * (3.0 * u).sin() * (2.0 * v).cos())
}

/// A ring about z of as many corners around and across; `tube` gives its half thickness at two angles, mm.
pub(crate) fn torus(
    (around, across): (u32, u32),
    out: f64,
    tube: impl Fn(f64, f64) -> f64,
) -> Triangles {
    let mut surface = Triangles::default();
    for i in 0..around {
        let u = TAU * f64::from(i) / f64::from(around);
        for j in 0..across {
            let v = TAU * f64::from(j) / f64::from(across);
            let thick = tube(u, v);
            let far = out + thick * v.cos();
            surface.vertices.push(Point::new(far * u.cos(), far * u.sin(), thick * v.sin()));
        }
    }
    for i in 0..around {
        for j in 0..across {
            let next = (i + 1) % around * across;
            let (a, b) = (i * across + j, next + j);
            let (c, d) = (next + (j + 1) % across, i * across + (j + 1) % across);
            surface.indices.extend([[a, b, c], [a, c, d]]);
        }
    }
    surface
}

/// A ball of 24 × 48 facets (`volumes.py`).
pub(crate) fn ball() -> Triangles {
    let (rings, around) = (24_u32, 48_u32);
    let (radius, centre) = (73.0, Vector::new(20.0, -35.0, 61.0));
    let mut surface = Triangles::default();
    surface.vertices.push(Point::from(centre + Vector::z() * radius));
    for i in 1..rings {
        let t = PI * f64::from(i) / f64::from(rings);
        for j in 0..around {
            let p = TAU * f64::from(j) / f64::from(around);
            let way = Vector::new(t.sin() * p.cos(), t.sin() * p.sin(), t.cos());
            surface.vertices.push(Point::from(centre + way * radius));
        }
    }
    surface.vertices.push(Point::from(centre - Vector::z() * radius));
    let last = (rings - 1) * around + 1;
    let at = |i: u32, j: u32| 1 + (i - 1) * around + j % around;
    for j in 0..around {
        surface.indices.push([0, at(1, j), at(1, j + 1)]);
        surface.indices.push([last, at(rings - 1, j + 1), at(rings - 1, j)]);
        for i in 1..rings - 1 {
            surface.indices.push([at(i, j), at(i + 1, j), at(i + 1, j + 1)]);
            surface.indices.push([at(i, j), at(i + 1, j + 1), at(i, j + 1)]);
        }
    }
    surface
}

/// A shape made ready where it was measured.
pub(crate) fn solid(shape: &Shape) -> Solid {
    Solid::of(shape, &Pose::identity(), |_| None).expect("a sound shape")
}

/// A closed mesh made ready.
pub(crate) fn mesh(surface: Triangles) -> Solid {
    Solid::of(&Shape::Mesh { file: "mesh".into() }, &Pose::identity(), |_| Some(surface))
        .expect("a sound mesh")
}

/// A box between two corners.
pub(crate) fn boxed(from: [f64; 3], to: [f64; 3]) -> Solid {
    solid(&Shape::Box { from: Point::from(from), to: Point::from(to) })
}

/// The hull of some points.
pub(crate) fn hull(points: &[[f64; 3]]) -> Solid {
    solid(&Shape::Hull { points: points.iter().map(|&point| Point::from(point)).collect() })
}

/// The ground of `terrain.py` made solid: 225 × 225 corners over 2 m × 2 m, rounded to single precision,
/// walls, a floor at z = −200.
pub(crate) fn terrain() -> Triangles {
    const SIDE: u32 = 225;
    let at = |i: u32| if i == SIDE - 1 { 1000.0 } else { f64::from(i) * (2000.0 / 224.0) - 1000.0 };
    let height = |x: f64, y: f64| {
        60.0 * (x / 130.0).sin() * (y / 170.0).cos()
            + 25.0 * (x / 37.0 + 1.0).sin() * (y / 41.0).sin()
            + 8.0 * ((x + 2.0 * y) / 11.0).sin()
    };
    let single = |value: f64| f64::from(value as f32);
    let mut surface = Triangles::default();
    for i in 0..SIDE {
        for j in 0..SIDE {
            let (x, y) = (at(i), at(j));
            surface.vertices.push(Point::new(single(x), single(y), single(height(x, y))));
        }
    }
    for i in 0..SIDE - 1 {
        for j in 0..SIDE - 1 {
            let a = i * SIDE + j;
            let (b, c, d) = (a + SIDE, a + 1, a + SIDE + 1);
            surface.indices.extend([[a, b, d], [a, d, c]]);
        }
    }
    let last = SIDE - 1;
    let ring: Vec<u32> = (0..SIDE)
        .map(|i| i * SIDE)
        .chain((1..SIDE).map(|j| last * SIDE + j))
        .chain((0..last).rev().map(|i| i * SIDE + last))
        .chain((1..last).rev())
        .collect();
    let base = surface.vertices.len() as u32;
    let count = ring.len() as u32;
    for &corner in &ring {
        let Point { coords } = surface.vertices[corner as usize];
        surface.vertices.push(Point::new(coords.x, coords.y, -200.0));
    }
    surface.vertices.push(Point::new(0.0, 0.0, -200.0));
    for k in 0..count {
        let (here, there) = (ring[k as usize], ring[((k + 1) % count) as usize]);
        let (below, beyond) = (base + k, base + (k + 1) % count);
        surface.indices.extend([
            [beyond, there, here],
            [below, beyond, here],
            [beyond, below, base + count],
        ]);
    }
    surface
}
