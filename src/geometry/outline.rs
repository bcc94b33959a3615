//! Flat outlines of straight lines and true arcs: how long, how large, offset, cut into.

use cavalier_contours::polyline::{
    BooleanOp, PlineOffsetOptions, PlineOrientation, PlineSource, PlineSourceMut, PlineVertex,
    Polyline,
};

/// Corners nearer than this are one, mm.
const SAME_MM: f64 = 1e-6;

/// A corner and how the side after it runs.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Corner {
    /// To the right, mm.
    pub x: f64,
    /// Up, mm.
    pub y: f64,
    /// Tangent of a quarter of the angle of the arc to the next corner, positive when it turns
    /// counter-clockwise; 0 for a straight side.
    pub bulge: f64,
}

/// A closed outline, counter-clockwise, not crossing itself.
#[derive(Debug, Clone, PartialEq)]
pub struct Outline {
    /// Its corners in order.
    pub corners: Vec<Corner>,
}

/// Why corners make no outline.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum OutlineError {
    /// Fewer than three corners, or all on a line.
    #[error(
        "{0} corners that enclose no area; expected at least three, in order round the outline"
    )]
    NoArea(usize),
    /// A corner that is no number.
    #[error("the corner {0} at ({1}, {2}); expected two numbers in mm within 20000")]
    Odd(usize, f64, f64),
    /// Two sides that cross or touch.
    #[error(
        "sides {first} and {second} cross or touch at ({x:.1}, {y:.1}); expected corners in order \
         round the outline, no side meeting another but its neighbours"
    )]
    Crossing {
        /// The side after this corner, counted from 0.
        first: usize,
        /// The other.
        second: usize,
        /// Where, mm.
        x: f64,
        /// Where, mm.
        y: f64,
    },
}

impl Outline {
    /// The outline through corners given in either direction.
    ///
    /// ```
    /// use dryberth::geometry::Outline;
    /// let square = Outline::through(&[(0.0, 0.0), (0.0, 10.0), (10.0, 10.0), (10.0, 0.0)]).unwrap();
    /// assert!((square.area_mm2() - 100.0).abs() < 1e-9);
    /// let bow = [(0.0, 0.0), (10.0, 10.0), (10.0, 0.0), (0.0, 12.0)];
    /// assert!(Outline::through(&bow).unwrap_err().to_string().contains("cross"));
    /// ```
    ///
    /// # Errors
    /// When they enclose no area, or two sides meet that are not neighbours. Cost: the square of
    /// the number of corners.
    pub fn through(corners: &[(f64, f64)]) -> Result<Outline, OutlineError> {
        for (index, &(x, y)) in corners.iter().enumerate() {
            if !(x.is_finite() && y.is_finite() && x.abs().max(y.abs()) <= 20_000.0) {
                return Err(OutlineError::Odd(index, x, y));
            }
        }
        let mut kept: Vec<(f64, f64)> = Vec::with_capacity(corners.len());
        for &corner in corners {
            if kept.last().is_none_or(|last| apart(*last, corner) > SAME_MM) {
                kept.push(corner);
            }
        }
        while kept.len() > 1 && apart(kept[0], kept[kept.len() - 1]) <= SAME_MM {
            kept.pop();
        }
        if kept.len() < 3 {
            return Err(OutlineError::NoArea(corners.len()));
        }
        // Sides that cross first: a figure of eight may enclose as much one way round as the other.
        let crossing = (kept.len() > 3).then(|| meeting(&kept)).flatten();
        if let Some((first, second, (x, y))) = crossing {
            return Err(OutlineError::Crossing { first, second, x, y });
        }
        if crate::model::outline_area_mm2(&kept).abs() < 0.01 {
            return Err(OutlineError::NoArea(corners.len()));
        }
        if crate::model::outline_area_mm2(&kept) < 0.0 {
            kept.reverse();
        }
        let corners = kept.into_iter().map(|(x, y)| Corner { x, y, bulge: 0.0 }).collect();
        Ok(Outline { corners })
    }

    /// A circle.
    pub fn circle(x: f64, y: f64, radius_mm: f64) -> Outline {
        let corner = |x| Corner { x, y, bulge: 1.0 };
        Outline { corners: vec![corner(x - radius_mm), corner(x + radius_mm)] }
    }

    /// A slot of a width between the centres of its two round ends.
    pub fn slot(from: (f64, f64), to: (f64, f64), width_mm: f64) -> Outline {
        let length = apart(from, to);
        let radius = width_mm / 2.0;
        if length < SAME_MM {
            return Outline::circle(from.0, from.1, radius);
        }
        let along = ((to.0 - from.0) / length, (to.1 - from.1) / length);
        let side = (-along.1 * radius, along.0 * radius);
        let corner = |(x, y): (f64, f64), sign: f64, bulge| Corner {
            x: x + side.0 * sign,
            y: y + side.1 * sign,
            bulge,
        };
        Outline {
            corners: vec![
                corner(from, -1.0, 0.0),
                corner(to, -1.0, 1.0),
                corner(to, 1.0, 0.0),
                corner(from, 1.0, 1.0),
            ],
        }
    }

    fn polyline(&self) -> Polyline<f64> {
        let mut line = Polyline::new_closed();
        for corner in &self.corners {
            line.add_vertex(PlineVertex::new(corner.x, corner.y, corner.bulge));
        }
        line
    }

    fn of(line: &Polyline<f64>) -> Option<Outline> {
        let mut line = line.clone();
        if line.orientation() == PlineOrientation::Clockwise {
            line.invert_direction_mut();
        }
        let line = line.remove_redundant(SAME_MM).unwrap_or(line);
        let corners: Vec<Corner> = line
            .iter_vertexes()
            .map(|vertex| Corner {
                x: vertex.x + 0.0,
                y: vertex.y + 0.0,
                bulge: vertex.bulge + 0.0,
            })
            .collect();
        let outline = Outline { corners };
        (outline.corners.len() >= 2 && outline.area_mm2() > 1e-3).then_some(outline)
    }

    /// Area, mm².
    pub fn area_mm2(&self) -> f64 {
        self.polyline().area()
    }

    /// Length all round, mm.
    pub fn length_mm(&self) -> f64 {
        self.polyline().path_length()
    }

    /// Lowest and highest x and y: left, bottom, right, top.
    pub fn bounds(&self) -> [f64; 4] {
        let box_round = self.polyline().extents();
        box_round.map_or([0.0; 4], |b| [b.min_x, b.min_y, b.max_x, b.max_y])
    }

    /// The outlines that lie `by_mm` outside this one all round, or inside when negative; round at
    /// corners that spread, as a tool of that radius goes. Largest first; none when nothing is left,
    /// several when it falls apart. An outward offset that closes on itself leaves the hole out.
    #[must_use]
    pub fn offset(&self, by_mm: f64) -> Vec<Outline> {
        if by_mm.abs() < SAME_MM {
            return vec![self.clone()];
        }
        let options = PlineOffsetOptions { handle_self_intersects: true, ..Default::default() };
        let found = self.polyline().parallel_offset_opt(-by_mm, &options);
        let own =
            found.iter().filter(|line| line.orientation() == PlineOrientation::CounterClockwise);
        let mut outlines: Vec<Outline> = own.filter_map(Outline::of).collect();
        outlines.sort_by(|a, b| b.area_mm2().total_cmp(&a.area_mm2()));
        if by_mm > 0.0 {
            outlines.truncate(1);
        }
        outlines
    }

    /// What is left of this outline with another taken away, largest piece first; holes are those
    /// parts of the other that lie wholly inside.
    #[must_use]
    pub fn without(&self, other: &Outline) -> (Vec<Outline>, Vec<Outline>) {
        let found = self.polyline().boolean(&other.polyline(), BooleanOp::Not);
        let all = |lines: &[cavalier_contours::polyline::BooleanResultPline<Polyline<f64>>]| {
            let mut outlines: Vec<Outline> =
                lines.iter().filter_map(|line| Outline::of(&line.pline)).collect();
            outlines.sort_by(|a, b| b.area_mm2().total_cmp(&a.area_mm2()));
            outlines
        };
        (all(&found.pos_plines), all(&found.neg_plines))
    }

    /// Whether a point lies inside.
    pub fn holds(&self, (x, y): (f64, f64)) -> bool {
        let at = cavalier_contours::core::math::Vector2::new(x, y);
        self.polyline().winding_number(at) != 0
    }

    /// The nearest point of the outline, and the way out of it there, unit length.
    pub fn nearest(&self, (x, y): (f64, f64)) -> Option<((f64, f64), (f64, f64))> {
        let at = cavalier_contours::core::math::Vector2::new(x, y);
        let line = self.polyline();
        let found = line.closest_point(at, SAME_MM)?;
        let first = line.get(found.seg_start_index)?;
        let next = line.get((found.seg_start_index + 1) % line.vertex_count())?;
        let along = cavalier_contours::polyline::seg_tangent_vector(first, next, found.seg_point)
            .normalize();
        // Counter-clockwise: outside lies to the right.
        Some(((found.seg_point.x, found.seg_point.y), (along.y, -along.x)))
    }

    /// Points along it, no side's arc farther than `off_mm` from them; arcs replaced by chords.
    pub fn points(&self, off_mm: f64) -> Vec<(f64, f64)> {
        let line = self.polyline();
        let straight = line.arcs_to_approx_lines(off_mm.max(1e-6)).unwrap_or(line);
        straight.iter_vertexes().map(|vertex| (vertex.x, vertex.y)).collect()
    }

    /// Its sides as cubic curves: begin, two handles, end. A straight side's handles lie on it; an
    /// arc is split to at most 30°, which keeps it within 1e-7 of its radius.
    pub fn curves(&self) -> Vec<[(f64, f64); 4]> {
        let count = self.corners.len();
        let mut curves = Vec::new();
        for index in 0..count {
            let (a, b) = (self.corners[index], self.corners[(index + 1) % count]);
            if a.bulge.abs() < 1e-9 {
                let at = |share: f64| (a.x + (b.x - a.x) * share, a.y + (b.y - a.y) * share);
                curves.push([at(0.0), at(1.0 / 3.0), at(2.0 / 3.0), at(1.0)]);
                continue;
            }
            let angle = 4.0 * a.bulge.atan();
            // Centre: half the chord over tan(half the angle), square to the chord.
            let (half_x, half_y) = ((b.x - a.x) / 2.0, (b.y - a.y) / 2.0);
            let rise = 1.0 / (angle / 2.0).tan();
            let centre = (a.x + half_x - half_y * rise, a.y + half_y + half_x * rise);
            let from = (a.x - centre.0, a.y - centre.1);
            let parts = (angle.abs() / 30_f64.to_radians()).ceil().max(1.0);
            let step = angle / parts;
            let handle = 4.0 / 3.0 * (step / 4.0).tan();
            let turned = |turn: f64| {
                let (sin, cos) = turn.sin_cos();
                (from.0 * cos - from.1 * sin, from.0 * sin + from.1 * cos)
            };
            for part in 0..parts as usize {
                let (p, q) = (turned(step * part as f64), turned(step * (part + 1) as f64));
                let place = |x: f64, y: f64| (centre.0 + x, centre.1 + y);
                curves.push([
                    place(p.0, p.1),
                    place(p.0 - p.1 * handle, p.1 + p.0 * handle),
                    place(q.0 + q.1 * handle, q.1 - q.0 * handle),
                    place(q.0, q.1),
                ]);
            }
        }
        curves
    }

    /// The same outline moved.
    #[must_use]
    pub fn moved(&self, (x, y): (f64, f64)) -> Outline {
        let corners =
            self.corners.iter().map(|c| Corner { x: c.x + x, y: c.y + y, ..*c }).collect();
        Outline { corners }
    }
}

fn apart(a: (f64, f64), b: (f64, f64)) -> f64 {
    (a.0 - b.0).hypot(a.1 - b.1)
}

/// The first two sides that meet without being neighbours, or neighbours that fold back on each other.
fn meeting(corners: &[(f64, f64)]) -> Option<(usize, usize, (f64, f64))> {
    let count = corners.len();
    let side = |i: usize| (corners[i], corners[(i + 1) % count]);
    for i in 0..count {
        for j in i + 1..count {
            let ((a, b), (c, d)) = (side(i), side(j));
            let next = j == i + 1 || (i == 0 && j == count - 1);
            if next {
                let (middle, before, after) = if j == i + 1 { (b, a, d) } else { (a, b, c) };
                let (p, q) = (
                    (before.0 - middle.0, before.1 - middle.1),
                    (after.0 - middle.0, after.1 - middle.1),
                );
                let (cross, dot) = (p.0 * q.1 - p.1 * q.0, p.0 * q.0 + p.1 * q.1);
                let lengths = p.0.hypot(p.1) * q.0.hypot(q.1);
                if dot > 0.0 && cross.abs() <= 1e-9 * lengths {
                    return Some((i, j, middle));
                }
            } else if let Some(at) = met((a, b), (c, d)) {
                return Some((i, j, at));
            }
        }
    }
    None
}

/// Where two sides meet or come nearer than [`SAME_MM`].
fn met((a, b): ((f64, f64), (f64, f64)), (c, d): ((f64, f64), (f64, f64))) -> Option<(f64, f64)> {
    let turn = |a: (f64, f64), b: (f64, f64), p: (f64, f64)| {
        (b.0 - a.0) * (p.1 - a.1) - (b.1 - a.1) * (p.0 - a.0)
    };
    let (ta, tb) = (turn(c, d, a), turn(c, d, b));
    if ta * tb < 0.0 && turn(a, b, c) * turn(a, b, d) < 0.0 {
        let share = ta / (ta - tb);
        return Some((a.0 + (b.0 - a.0) * share, a.1 + (b.1 - a.1) * share));
    }
    let near = |p: (f64, f64), (a, b): ((f64, f64), (f64, f64))| {
        let along = (b.0 - a.0, b.1 - a.1);
        let length = along.0 * along.0 + along.1 * along.1;
        let share = ((p.0 - a.0) * along.0 + (p.1 - a.1) * along.1) / length.max(1e-300);
        let share = share.clamp(0.0, 1.0);
        apart(p, (a.0 + along.0 * share, a.1 + along.1 * share)) <= SAME_MM
    };
    let ends = [(a, (c, d)), (b, (c, d)), (c, (a, b)), (d, (a, b))];
    ends.into_iter().find(|(point, side)| near(*point, *side)).map(|(point, _)| point)
}
