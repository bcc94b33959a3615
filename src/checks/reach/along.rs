//! The room along a line: what it comes nearest to, and whether that is too near.

use super::curve::Curve;
use super::route::{Quest, Route};
use crate::checks::Boot;
use crate::model::Point;

/// How far along from the exit a line may still be as near to what holds it as it is at the exit, mm.
const HELD_MM: f64 = 100.0;

/// How much nearer it may come to what holds it than it already was, mm.
const HELD_SLACK_MM: f64 = 1.0;

/// Farthest apart that places along a line are looked at, mm.
const STEP_MM: f64 = 4.0;

/// What a line comes nearest to.
#[derive(Debug, Clone)]
pub(crate) struct Nearest {
    /// From the line's skin, mm; negative when it runs through.
    pub(crate) gap_mm: f64,
    /// The gap asked for, mm.
    pub(crate) required_mm: f64,
    /// The body, mover or pump solid.
    pub(crate) name: String,
    /// Where on the centreline.
    pub(crate) at: Point,
    /// By how much the gap falls short of what is asked for there, mm.
    short_mm: f64,
}

/// The obstacles within `near_mm` of a line's exit, and how near they are: they hold it.
pub(super) fn holders(boot: &Boot, exit: &Point, near_mm: f64) -> Vec<(usize, f64)> {
    let obstacles = boot.field.obstacles().iter().enumerate();
    obstacles
        .filter(|(_, obstacle)| obstacle.solid.bounds().distance_to_point_mm(exit) <= near_mm)
        .map(|(index, obstacle)| (index, obstacle.solid.distance_to_point_mm(exit)))
        .filter(|(_, distance_mm)| *distance_mm <= near_mm)
        .collect()
}

impl Quest<'_> {
    /// Adds the leads and measures the room all along.
    pub(super) fn checked(&self, curve: Curve) -> Route {
        let mut whole = Curve {
            length_mm: curve.length_mm + 2.0 * self.lead_mm,
            points: Vec::with_capacity(curve.points.len() + 2),
            turn_deg: curve.turn_deg,
        };
        whole.points.push(self.exit.at - self.exit.towards * self.lead_mm);
        whole.points.extend(curve.points);
        whole.points.push(self.port.at + self.port.towards * self.lead_mm);
        let (nearest, on_pump) = self.nearest_along(&whole);
        // A rounding error must not turn a line that just keeps its gap into a blocked one.
        let clear = |nearest: &Option<Nearest>| {
            nearest.as_ref().is_none_or(|nearest| nearest.short_mm <= 1e-6)
        };
        let hidden = whole.points.iter().all(|point| {
            let near_mm = self.radius_mm * 0.8;
            self.near_an_end(point)
                || self.boot.trim_field.nearest(point, near_mm, |_| false).is_none()
        });
        Route {
            curve: whole,
            clear: clear(&nearest) && clear(&on_pump),
            nearest,
            on_pump: on_pump.filter(|pump| pump.gap_mm < self.gap_mm),
            hidden,
            searched: true,
        }
    }

    /// What the line comes nearest to among bodies and movers, and among the pump's own solids.
    fn nearest_along(&self, curve: &Curve) -> (Option<Nearest>, Option<Nearest>) {
        let look_mm = self.need_mm() + 30.0;
        // A thin sheet must not slip between two places that are looked at.
        let step_mm = STEP_MM.min(self.need_mm().max(0.5));
        let mut along_mm = 0.0;
        let mut held = self.holders.clone();
        let (mut nearest, mut on_pump) = (None, None);
        for piece in curve.points.windows(2) {
            let run_mm = (piece[1] - piece[0]).norm();
            let parts = (run_mm / step_mm).ceil().max(1.0) as usize;
            for part in 0..=parts {
                let share = part as f64 / parts as f64;
                let point = piece[0] + (piece[1] - piece[0]) * share;
                let here_mm = along_mm + run_mm * share;
                if here_mm >= HELD_MM {
                    held.clear();
                }
                self.weigh_bodies(&point, look_mm, &mut held, &mut nearest);
                if curve.length_mm - here_mm > self.lead_mm + self.radius_mm {
                    self.weigh_pump(&point, look_mm, &mut on_pump);
                }
            }
            along_mm += run_mm;
        }
        (nearest, on_pump)
    }

    /// What holds the line at its exit may stay as near as it is there; once the line has left it, it
    /// may not come back. Everything else asks for its whole gap from the exit on.
    fn weigh_bodies(
        &self,
        point: &Point,
        look_mm: f64,
        held: &mut [(usize, f64)],
        worst: &mut Option<Nearest>,
    ) {
        let holds = |solid: usize| held.iter().any(|(holder, _)| *holder == solid);
        if let Some(hit) = self.boot.field.nearest(point, look_mm, holds) {
            let required_mm = self.gap_mm + hit.extra_mm;
            self.weigh(point, hit.distance_mm, required_mm, worst, || {
                self.boot.field_name(hit.solid).to_string()
            });
        }
        for (holder, farthest_mm) in held {
            let obstacle = &self.boot.field.obstacles()[*holder];
            let distance_mm = obstacle.solid.distance_to_point_mm(point);
            *farthest_mm = farthest_mm.max(distance_mm);
            let usual_mm = self.gap_mm + obstacle.extra_mm;
            let required_mm = usual_mm.min(*farthest_mm - HELD_SLACK_MM - self.radius_mm);
            // While it is still held, the holder's nearness is no finding of its own.
            if distance_mm - self.radius_mm < required_mm {
                self.weigh(point, distance_mm, required_mm, worst, || {
                    self.boot.field_name(*holder).to_string()
                });
            }
        }
    }

    /// A line may lie along its own pump, but not run through it.
    fn weigh_pump(&self, point: &Point, look_mm: f64, worst: &mut Option<Nearest>) {
        if self.pump_bounds.distance_to_point_mm(point) > look_mm {
            return;
        }
        for (index, solid) in self.pump.iter().enumerate() {
            if solid.bounds().distance_to_point_mm(point) <= look_mm {
                let distance_mm = solid.distance_to_point_mm(point);
                self.weigh(point, distance_mm, 0.0, worst, || {
                    format!("the pump's {}", self.boot.pump().solids[index].name)
                });
            }
        }
    }

    fn weigh(
        &self,
        point: &Point,
        distance_mm: f64,
        required_mm: f64,
        worst: &mut Option<Nearest>,
        name: impl FnOnce() -> String,
    ) {
        let gap_mm = distance_mm - self.radius_mm;
        let short_mm = required_mm - gap_mm;
        if worst.as_ref().is_none_or(|worst| short_mm > worst.short_mm) {
            *worst = Some(Nearest { gap_mm, required_mm, name: name(), at: *point, short_mm });
        }
    }
}
