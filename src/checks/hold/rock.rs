//! The smallest acceleration that moves the unit, over every direction.

use super::balance::{Held, Load, Mounting, Unsolved};
use crate::model::{Point, Vector};

/// Directions a row and rows from pole to pole: 15° apart at most.
const AROUND: usize = 24;
const ROWS: usize = 12;

/// Accelerations beyond this are not told apart, g.
pub const ROCK_MOST_G: f64 = 50.0;

/// How hard a unit can be shaken each way before it begins to move, as a surface round the pump: from
/// its centre of gravity along `directions[i]` by `g[i]`, at whatever scale is drawn.
#[derive(Debug, Clone, PartialEq)]
pub struct Rock {
    /// The centre of gravity.
    pub centre: Point,
    /// Unit directions of the force on the pump, at most 15° apart.
    pub directions: Vec<Vector>,
    /// The acceleration at which it begins to move along each, on top of 1 g down, in g; at most 50.
    pub g: Vec<f64>,
    /// Three of `directions` each, counter-clockwise as seen from outside.
    pub triangles: Vec<[u32; 3]>,
    /// Which direction it moves in first.
    pub weakest: usize,
}

impl Rock {
    /// The smallest acceleration that moves it, g, and its direction.
    pub fn weakest(&self) -> (f64, Vector) {
        (self.g[self.weakest], self.directions[self.weakest])
    }
}

/// Directions over the whole sphere in rows 15° apart, with the triangles between them.
fn sphere() -> (Vec<Vector>, Vec<[u32; 3]>) {
    let mut directions = vec![Vector::z()];
    for row in 1..ROWS {
        let fall = std::f64::consts::PI * row as f64 / ROWS as f64;
        for turn in 0..AROUND {
            let angle = std::f64::consts::TAU * turn as f64 / AROUND as f64;
            let flat = fall.sin();
            directions.push(Vector::new(flat * angle.cos(), flat * angle.sin(), fall.cos()));
        }
    }
    directions.push(-Vector::z());
    let at = |row: usize, turn: usize| (1 + (row - 1) * AROUND + turn % AROUND) as u32;
    let last = directions.len() as u32 - 1;
    let mut triangles = Vec::new();
    for turn in 0..AROUND {
        triangles.push([0, at(1, turn), at(1, turn + 1)]);
        for row in 1..ROWS - 1 {
            triangles.push([at(row, turn), at(row + 1, turn), at(row + 1, turn + 1)]);
            triangles.push([at(row, turn), at(row + 1, turn + 1), at(row, turn + 1)]);
        }
        triangles.push([at(ROWS - 1, turn), last, at(ROWS - 1, turn + 1)]);
    }
    (directions, triangles)
}

/// How hard a pump of `mass_kg` can be shaken in every direction while it weighs 1 g down.
///
/// 0 everywhere when it doesn't even hang. Error: that of [`Mounting`], and between directions 15°
/// apart the least may be missed by a little. Cost: bench `hold`.
///
/// # Errors
/// When the solver fails.
pub fn rock(mounting: &mut Mounting, mass_kg: f64) -> Result<Rock, Unsolved> {
    let (directions, triangles) = sphere();
    let hanging = Load::of_g(mass_kg, [0.0, 0.0, -1.0]);
    let growing: Vec<Load> =
        directions.iter().map(|way| Load::of_g(mass_kg, (*way).into())).collect();
    let g: Vec<f64> = match mounting.carries_each(&hanging, &growing)? {
        None => vec![0.0; directions.len()],
        Some(held) => held
            .iter()
            .map(|held| match held {
                Held::Nothing => 0.0,
                Held::Factor(most) => most.clamp(0.0, ROCK_MOST_G),
                Held::AnyMultiple => ROCK_MOST_G,
            })
            .collect(),
    };
    let weakest = (0..g.len()).min_by(|&a, &b| g[a].total_cmp(&g[b])).unwrap_or(0);
    Ok(Rock { centre: mounting.centre(), directions, g, triangles, weakest })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn directions_are_at_most_fifteen_degrees_apart() {
        let (directions, triangles) = sphere();
        for [a, b, c] in &triangles {
            for (from, to) in [(a, b), (b, c)] {
                let cos = directions[*from as usize].dot(&directions[*to as usize]);
                assert!(cos.acos().to_degrees() < 21.3, "{from} {to}");
            }
            let [a, b, c] = [*a, *b, *c].map(|corner| directions[corner as usize]);
            assert!((b - a).cross(&(c - a)).dot(&(a + b + c)) > 0.0, "inside out");
            // Every direction has a sample within half of 15° × √2.
            let centre = (a + b + c).normalize();
            let nearest = [a, b, c].iter().map(|it| centre.dot(it)).fold(-1.0, f64::max);
            assert!(nearest.acos().to_degrees() < 10.7);
        }
        let spheres = triangles.len() as i64 - directions.len() as i64 * 2;
        assert_eq!(spheres, -4, "a closed surface: F = 2 V − 4");
    }
}
