//! Normals for corners of triangles.

use crate::geometry::Triangles;
use crate::model::{Point, Vector};

/// A normal for each corner of each triangle: rounded over folds of less than 32°, sharp beyond.
pub(in crate::documents) fn smooth_normals(surface: &Triangles) -> Vec<[Vector; 3]> {
    // Cosine of the fold beyond which an edge is sharp.
    const SHARP: f64 = 0.848;
    let flat: Vec<Vector> = surface
        .each()
        .map(|[a, b, c]| (b - a).cross(&(c - a)).try_normalize(1e-12).unwrap_or_else(Vector::z))
        .collect();
    let key = |point: &Point| point.coords.map(|value| (value * 1000.0).round() as i64);
    let mut around: std::collections::BTreeMap<[i64; 3], Vec<u32>> =
        std::collections::BTreeMap::new();
    for (index, corners) in surface.each().enumerate() {
        for corner in corners {
            around.entry(key(&corner).into()).or_default().push(index as u32);
        }
    }
    surface
        .each()
        .enumerate()
        .map(|(index, corners)| {
            corners.map(|corner| {
                let near = &around[&<[i64; 3]>::from(key(&corner))];
                let alike = near.iter().map(|&other| flat[other as usize]);
                let sum = alike
                    .filter(|normal| normal.dot(&flat[index]) > SHARP)
                    .fold(Vector::zeros(), |sum, normal| sum + normal);
                sum.try_normalize(1e-9).unwrap_or(flat[index])
            })
        })
        .collect()
}
