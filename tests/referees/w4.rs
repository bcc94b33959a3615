//! Workload W4: a tank of 220 triangles, a ball of 12,800 and a thousand planes (`w4.py`).

use dryberth::geometry::{Solid, Triangles};
use dryberth::model::{Axis, Point, Pose, Shape, Vector};
use serde::Deserialize;

/// Planes, and the volumes below them by manifold3d.
#[derive(Deserialize)]
pub(crate) struct W4 {
    planes: Vec<[f64; 4]>,
    pub(crate) tank: Vec<f64>,
    pub(crate) ball: Vec<f64>,
    tank_mm3: f64,
    ball_mm3: f64,
}

impl W4 {
    pub(crate) fn read() -> W4 {
        serde_json::from_str(include_str!("data/w4.json")).expect("sound data")
    }

    /// Volume of the tank and of the ball, by trimesh.
    pub(crate) fn wholes_mm3(&self) -> [f64; 2] {
        [self.tank_mm3, self.ball_mm3]
    }

    /// Up, unit length, and height of each plane.
    pub(crate) fn planes(&self) -> Vec<(Vector, f64)> {
        let plane = |[x, y, z, height]: &[f64; 4]| (Vector::new(*x, *y, *z).normalize(), *height);
        self.planes.iter().map(plane).collect()
    }
}

/// The tank: a hollow-sided outline of 56 corners drawn out along x.
pub(crate) fn tank() -> Triangles {
    let corner = |index: u32| {
        let a = std::f64::consts::TAU * f64::from(index) / 56.0;
        let r = 50.0 + 14.0 * (3.0 * a).cos() + 6.0 * (5.0 * a).sin();
        (r * a.cos(), r * a.sin())
    };
    let shape = Shape::Prism {
        along: Axis::X,
        outline: (0..56).map(corner).collect(),
        from_mm: -60.0,
        to_mm: 60.0,
    };
    let solid = Solid::of(&shape, &Pose::identity(), |_| None).expect("a tank");
    solid.triangles().clone()
}

/// The ball of 81 × 80 facets.
pub(crate) fn ball() -> Triangles {
    const RINGS: usize = 81;
    const AROUND: usize = 80;
    const RADIUS_MM: f64 = 73.0;
    let mut vertices = vec![Point::new(0.0, 0.0, RADIUS_MM)];
    for ring in 1..RINGS {
        let (across, up) = (std::f64::consts::PI * ring as f64 / RINGS as f64).sin_cos();
        vertices.extend((0..AROUND).map(|place| {
            let (y, x) = (std::f64::consts::TAU * place as f64 / AROUND as f64).sin_cos();
            Point::new(RADIUS_MM * across * x, RADIUS_MM * across * y, RADIUS_MM * up)
        }));
    }
    vertices.push(Point::new(0.0, 0.0, -RADIUS_MM));
    let last = vertices.len() as u32 - 1;
    let at = |ring: usize, place: usize| (1 + (ring - 1) * AROUND + place % AROUND) as u32;
    let mut indices = Vec::new();
    for place in 0..AROUND {
        indices.push([0, at(1, place), at(1, place + 1)]);
        indices.push([last, at(RINGS - 1, place + 1), at(RINGS - 1, place)]);
        for ring in 1..RINGS - 1 {
            let (a, b) = (at(ring, place), at(ring + 1, place));
            let (c, d) = (at(ring + 1, place + 1), at(ring, place + 1));
            indices.push([a, b, c]);
            indices.push([a, c, d]);
        }
    }
    Triangles { vertices, indices }
}
