//! How much room a place of the boot leaves for the middle of a line.

use super::search::Searches;
use crate::geometry::{ClearanceField, Pile, RodTree, Solid};
use crate::model::{Point, Vector};

/// How far from the exit a line may still be as near to what holds it as it is at the exit, mm.
pub(super) const HELD_MM: f64 = 100.0;

/// How much nearer it may come there to what holds it than it already was, mm.
pub(super) const HELD_SLACK_MM: f64 = 1.0;

/// What a line keeps from its own pump near the port, as a share of how far it is from the port: a line that
/// leans by 60° from the face's normal is let be.
const PORT_SLOPE: f64 = 0.5;

/// What a place is too near to, or nearest to.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Near {
    /// An obstacle of the field, by its index.
    Body(usize),
    /// A solid of the pump.
    Pump(usize),
    /// A line laid before.
    Line(usize),
    /// A trim surface.
    Trim(usize),
}

/// The room at a place: how much nearer everything may come.
#[derive(Debug, Clone, Copy)]
pub(super) struct Room {
    /// By how much the nearest thing is farther away than it need be, mm; negative where it is too near.
    pub(super) mm: f64,
    /// The way that makes it more, unit length; zero where that isn't known.
    pub(super) out: Vector,
    /// What is nearest; none where nothing is within the look.
    pub(super) near: Option<Near>,
}

/// The pump as a line sees it.
#[derive(Clone, Copy)]
pub(super) struct OwnPump<'a> {
    pub(super) solids: &'a [Solid],
    pub(super) pile: &'a Pile,
    /// The port that the line meets.
    pub(super) port: Point,
}

/// Trim surfaces that a line stays on one side of.
#[derive(Clone, Copy)]
pub(super) struct Sheets<'a> {
    pub(super) field: &'a ClearanceField,
    /// What the middle of the line keeps from them, mm.
    pub(super) need_mm: f64,
    /// Places near which they are let be, and how far, mm.
    pub(super) ends: [Point; 2],
    pub(super) let_be_mm: f64,
}

/// An obstacle that holds a line somewhere.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Holder {
    /// Its index in the field.
    pub(super) solid: usize,
    /// How far the middle of the line is from it there, mm.
    pub(super) away_mm: f64,
    /// Where.
    pub(super) place: Point,
    /// What it holds.
    pub(super) held: Held,
}

/// A line where it is held.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Held {
    /// Half its thickness, mm.
    pub(super) radius_mm: f64,
    /// As far as this from the place it may run through what holds it, as through a hole in a panel, mm.
    pub(super) through_mm: f64,
}

impl Holder {
    /// What the middle of the line keeps from it at a point, where it would keep `usual_mm` from
    /// anything else, mm: as near as where it is held, but through it only right there.
    pub(super) fn need_mm(&self, point: &Point, usual_mm: f64) -> f64 {
        let held_mm = self.away_mm - HELD_SLACK_MM;
        let there = (point - self.place).norm() <= self.held.through_mm + 1e-6;
        let least_mm = self.held.radius_mm - HELD_SLACK_MM;
        usual_mm.min(if there { held_mm } else { held_mm.max(least_mm) })
    }
}

/// Everything that one line keeps away from.
#[derive(Clone)]
pub(super) struct Space<'a> {
    pub(super) field: &'a ClearanceField,
    /// What the middle of the line keeps from the field's obstacles, mm.
    pub(super) need_mm: f64,
    /// Obstacles that hold the line at its exit and in its clips.
    pub(super) holders: &'a [Holder],
    pub(super) pump: Option<OwnPump<'a>>,
    /// What the middle of the line keeps from the pump, mm.
    pub(super) pump_mm: f64,
    pub(super) laid: Option<&'a RodTree>,
    /// What the middle of the line keeps from the skins of lines laid before, mm.
    pub(super) laid_mm: f64,
    pub(super) sheets: Option<Sheets<'a>>,
    /// How searches through it ended so far, if that is kept.
    pub(super) searches: Option<&'a Searches>,
}

impl<'a> Space<'a> {
    /// A space with obstacles only.
    pub(super) fn of(field: &'a ClearanceField, need_mm: f64) -> Space<'a> {
        Space {
            field,
            need_mm,
            holders: &[],
            pump: None,
            pump_mm: 0.0,
            laid: None,
            laid_mm: 0.0,
            sheets: None,
            searches: None,
        }
    }

    /// The same with `extra_mm` more kept from everything.
    pub(super) fn wider(&self, extra_mm: f64) -> Space<'a> {
        Space {
            need_mm: self.need_mm + extra_mm,
            pump_mm: self.pump_mm + extra_mm,
            laid_mm: self.laid_mm + extra_mm,
            ..self.clone()
        }
    }

    /// What holds the line near a point.
    pub(super) fn held(&self, point: &Point) -> impl Iterator<Item = &Holder> {
        self.holders.iter().filter(move |holder| (point - holder.place).norm() < HELD_MM)
    }

    /// What the middle of the line keeps from its own pump at a point, mm: the less the nearer the port, so
    /// that a fitting may stand in its face, but never to run through the pump.
    fn pump_need_mm(&self, own: &OwnPump, point: &Point) -> f64 {
        self.pump_mm.min(PORT_SLOPE * (point - own.port).norm() - HELD_SLACK_MM)
    }

    fn sheets_here(&self, point: &Point) -> Option<&Sheets<'a>> {
        self.sheets
            .as_ref()
            .filter(|sheets| sheets.ends.iter().all(|end| (point - end).norm() >= sheets.let_be_mm))
    }

    /// Room that a place has at least, mm, from what the grid knows; nothing near is asked.
    pub(super) fn at_least_mm(&self, point: &Point) -> f64 {
        let mut room = self.field.at_least_mm(point).unwrap_or(f64::NEG_INFINITY) - self.need_mm;
        if let Some(own) = &self.pump {
            room = room.min(own.pile.distance_to_bounds_mm(point) - self.pump_need_mm(own, point));
        }
        if let Some(laid) = self.laid {
            room = room.min(laid.distance_to_bounds_mm(point) - self.laid_mm);
        }
        if let Some(sheets) = self.sheets_here(point) {
            let least = sheets.field.at_least_mm(point).unwrap_or(f64::NEG_INFINITY);
            room = room.min(least - sheets.need_mm);
        }
        room
    }

    /// Room at a place, mm: a lower bound if that is `enough_mm` or more, else exact.
    pub(super) fn room_mm(&self, point: &Point, enough_mm: f64) -> f64 {
        let least = self.at_least_mm(point);
        if least >= enough_mm { least } else { self.room(point, enough_mm).mm }
    }

    /// Room at a place: a lower bound without a direction if that is `enough_mm` or more, else exact.
    pub(super) fn near_room(&self, point: &Point, enough_mm: f64) -> Room {
        let least = self.at_least_mm(point);
        if least >= enough_mm {
            return Room { mm: least, out: Vector::zeros(), near: None };
        }
        self.room(point, enough_mm)
    }

    /// Room at a place, exact up to `look_mm` and `look_mm` beyond.
    pub(super) fn room(&self, point: &Point, look_mm: f64) -> Room {
        let mut room = Room { mm: look_mm, out: Vector::zeros(), near: None };
        let mut weigh = |mm: f64, out: Option<Vector>, near: Near| {
            if mm < room.mm {
                room = Room { mm, out: out.unwrap_or_else(Vector::zeros), near: Some(near) };
            }
            room.mm
        };
        // Nothing is asked closely that the cells know to be farther than what was found.
        let mut least_mm = look_mm;
        if let Some(own) = &self.pump {
            let solid = |index: usize| (&own.solids[index], 0.0);
            let need_mm = self.pump_need_mm(own, point);
            if let Some(hit) = own.pile.nearest(solid, point, need_mm + least_mm, |_| false) {
                let near = Near::Pump(hit.solid);
                least_mm = weigh(hit.distance_mm - need_mm, hit.out(point), near);
            }
        }
        if let Some(laid) = self.laid
            && let Some((distance_mm, on, owner)) = laid.nearest(point, self.laid_mm + least_mm)
        {
            let out = (point - on).try_normalize(1e-9);
            least_mm = weigh(distance_mm - self.laid_mm, out, Near::Line(owner));
        }
        for holder in self.held(point) {
            let obstacle = &self.field.obstacles()[holder.solid];
            let (distance_mm, on) = obstacle.solid.nearest(point);
            let need_mm = holder.need_mm(point, self.need_mm + obstacle.extra_mm);
            let way = (point - on).try_normalize(1e-9);
            let out = way.map(|way| if distance_mm < 0.0 { -way } else { way });
            least_mm = weigh(distance_mm - need_mm, out, Near::Body(holder.solid));
        }
        let known_mm =
            |field: &ClearanceField| field.at_least_mm(point).unwrap_or(f64::NEG_INFINITY);
        if known_mm(self.field) - self.need_mm < least_mm {
            let holds = |solid: usize| self.held(point).any(|holder| holder.solid == solid);
            if let Some(hit) = self.field.nearest(point, self.need_mm + least_mm, holds) {
                let mm = hit.distance_mm - hit.extra_mm - self.need_mm;
                least_mm = weigh(mm, hit.out(point), Near::Body(hit.solid));
            }
        }
        if let Some(sheets) = self.sheets_here(point)
            && known_mm(sheets.field) - sheets.need_mm < least_mm
            && let Some(hit) = sheets.field.nearest(point, sheets.need_mm + least_mm, |_| false)
        {
            weigh(hit.distance_mm - sheets.need_mm, hit.out(point), Near::Trim(hit.solid));
        }
        room
    }

    /// Whether the cells already tell that a place has no room.
    fn surely_none(&self, point: &Point) -> bool {
        // The cells hold bounds rounded down by less than this.
        const ROUNDED_MM: f64 = 1e-3;
        let none = |field: &ClearanceField, need_mm: f64| {
            field.between_mm(point).is_some_and(|(_, most)| most + ROUNDED_MM < need_mm)
        };
        let bodies = none(self.field, self.need_mm) && self.held(point).next().is_none();
        bodies || self.sheets_here(point).is_some_and(|it| none(it.field, it.need_mm))
    }

    /// Whether every place of a straight has room; the first that hasn't, if one is found.
    ///
    /// Method: what the cells tell at once; then from place to place by the room that each has, `least_mm`
    /// at least.
    pub(super) fn blocked(&self, from: &Point, to: &Point, least_mm: f64) -> Option<Point> {
        let way = to - from;
        let length = way.norm();
        let parts = (length / self.field.step_mm()).ceil().max(1.0);
        let coarse = (1..parts as usize).map(|part| from + way * (part as f64 / parts));
        if let Some(at) = coarse.into_iter().find(|at| self.surely_none(at)) {
            return Some(at);
        }
        let mut along = 0.0;
        loop {
            let at = if length > 0.0 { from + way * (along / length).min(1.0) } else { *from };
            let known_mm = self.at_least_mm(&at);
            let room_mm = if known_mm >= least_mm {
                known_mm
            } else {
                self.room(&at, 8.0_f64.max(least_mm)).mm
            };
            if room_mm < 0.0 {
                return Some(at);
            }
            if along >= length {
                return None;
            }
            along = (along + room_mm.max(least_mm)).min(length);
        }
    }
}
