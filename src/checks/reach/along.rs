//! The room along a line: what it comes nearest to, and whether that is too near.

use super::curve::Curve;
use super::room::{Held, Holder, Near, Space};
use super::route::Quest;
use crate::checks::Boot;
use crate::model::Point;

/// Farthest apart that places along a line are looked at, mm.
const STEP_MM: f64 = 4.0;

/// How far from its skin a line looks for what it comes nearest to, mm.
const LOOK_MM: f64 = 30.0;

/// What a line comes nearest to.
#[derive(Debug, Clone)]
pub(crate) struct Nearest {
    /// From the line's skin, mm; negative when it runs through.
    pub(crate) gap_mm: f64,
    /// The gap asked for, mm.
    pub(crate) required_mm: f64,
    /// The body, mover or pump solid.
    pub(crate) name: String,
    /// What it is.
    pub(crate) near: Near,
    /// Where on the centreline.
    pub(crate) at: Point,
    /// By how much the gap falls short of what is asked for there, mm.
    short_mm: f64,
}

/// The bodies within `near_mm` of the first of some places where a line is held, and how far they are from
/// the farthest of the places. What asks for more than the usual gap, such as a terminal, a sharp edge or a
/// mover, holds nothing.
pub(super) fn holders(boot: &Boot, places: &[Point], near_mm: f64, held: Held) -> Vec<Holder> {
    let Some(place) = places.first().copied() else { return Vec::new() };
    let obstacles = boot.field.obstacles().iter().enumerate();
    obstacles
        .filter(|(solid, obstacle)| obstacle.extra_mm <= 0.0 && boot.field_is_body(*solid))
        .filter(|(_, obstacle)| obstacle.solid.bounds().distance_to_point_mm(&place) <= near_mm)
        .filter(|(_, obstacle)| obstacle.solid.distance_to_point_mm(&place) <= near_mm)
        .map(|(solid, obstacle)| {
            let away = places.iter().map(|at| obstacle.solid.distance_to_point_mm(at));
            let away_mm = away.fold(f64::NEG_INFINITY, f64::max);
            Holder { solid, away_mm, place, held }
        })
        .collect()
}

/// What a line comes nearest to among bodies, movers and other lines, measured by the gap asked for; and
/// among the pump's own solids.
pub(super) fn nearest_along(quest: &Quest, curve: &Curve) -> (Option<Nearest>, Option<Nearest>) {
    let space = quest.space(false);
    let mut walk = Walk { quest, space, nearest: None, on_pump: None };
    let mut along_mm = 0.0;
    for piece in curve.points.windows(2) {
        let run_mm = (piece[1] - piece[0]).norm();
        let parts = (run_mm / STEP_MM).ceil().max(1.0) as usize;
        for part in 0..=parts {
            let share = part as f64 / parts as f64;
            let point = piece[0] + (piece[1] - piece[0]) * share;
            walk.visit(&point, curve.length_mm - along_mm - run_mm * share);
        }
        along_mm += run_mm;
    }
    (walk.nearest, walk.on_pump)
}

struct Walk<'a> {
    quest: &'a Quest<'a>,
    space: Space<'a>,
    nearest: Option<Nearest>,
    on_pump: Option<Nearest>,
}

impl Walk<'_> {
    fn visit(&mut self, point: &Point, to_port_mm: f64) {
        self.weigh_bodies(point);
        if to_port_mm > self.quest.lead_mm + self.quest.radius_mm {
            self.weigh_pump(point);
        }
    }

    /// What holds the line at its exit may stay as near as it is there. Everything else asks for its
    /// whole gap from the exit on.
    fn weigh_bodies(&mut self, point: &Point) {
        let quest = self.quest;
        let radius_mm = quest.radius_mm;
        let boot = quest.boot;
        // Nothing here can be nearer than what was found already.
        let least = boot.field.at_least_mm(point).unwrap_or(f64::NEG_INFINITY);
        let known = self.nearest.as_ref().map_or(LOOK_MM, |worst| -worst.short_mm);
        if least - radius_mm - quest.gap_mm <= known {
            let holds = |solid: usize| self.space.held(point).any(|holder| holder.solid == solid);
            let look_mm = radius_mm + quest.gap_mm + LOOK_MM;
            let hit = boot.field.nearest(point, look_mm, holds);
            let held: Vec<Holder> = self.space.held(point).copied().collect();
            if let Some(hit) = hit {
                let required_mm = quest.gap_mm + hit.extra_mm;
                let near = Near::Body(hit.solid);
                self.weigh(point, hit.distance_mm - radius_mm, required_mm, near);
            }
            for holder in held {
                let obstacle = &boot.field.obstacles()[holder.solid];
                let gap_mm = obstacle.solid.distance_to_point_mm(point) - radius_mm;
                let usual_mm = quest.gap_mm + obstacle.extra_mm;
                let required_mm = holder.need_mm(point, usual_mm + radius_mm) - radius_mm;
                // While it is still held, the holder's nearness is no finding of its own.
                let lead = (point - holder.place).norm() <= quest.lead_mm + 1e-6;
                if gap_mm < required_mm && !lead {
                    self.weigh(point, gap_mm, required_mm, Near::Body(holder.solid));
                }
            }
        }
        let look_mm = radius_mm + LOOK_MM;
        if let Some((skin_mm, _, owner)) = quest.laid.nearest(point, look_mm) {
            self.weigh(point, skin_mm - radius_mm, 0.0, Near::Line(owner));
        }
    }

    /// A line may lie along its own pump, but not run through it.
    fn weigh_pump(&mut self, point: &Point) {
        let quest = self.quest;
        let look_mm = quest.radius_mm + quest.gap_mm;
        let solid = |index: usize| (&quest.pump[index], 0.0);
        let Some(hit) = quest.pile.nearest(solid, point, look_mm, |_| false) else { return };
        let gap_mm = hit.distance_mm - quest.radius_mm;
        if gap_mm < quest.gap_mm && self.on_pump.as_ref().is_none_or(|worst| gap_mm < worst.gap_mm)
        {
            let near = Near::Pump(hit.solid);
            self.on_pump = Some(Nearest {
                gap_mm,
                required_mm: 0.0,
                name: quest.name_of(near),
                near,
                at: *point,
                short_mm: -gap_mm,
            });
        }
    }

    fn weigh(&mut self, point: &Point, gap_mm: f64, required_mm: f64, near: Near) {
        let short_mm = required_mm - gap_mm;
        if self.nearest.as_ref().is_none_or(|worst| short_mm > worst.short_mm) {
            let name = self.quest.name_of(near);
            self.nearest = Some(Nearest { gap_mm, required_mm, name, near, at: *point, short_mm });
        }
    }
}
