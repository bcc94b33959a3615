//! Where a string could go: an any-angle search on cells that adapt to the room.

use std::cell::RefCell;
use std::collections::BinaryHeap;

use super::cells::Cells;
use super::room::{Near, Space};
use crate::geometry::Reached;
use crate::model::{Point, Vector};

/// Places that searches settle before they are begun again from the other end, and then again: what is
/// shut in is found out from within, and few of them suffice for that.
const ROUNDS: [(usize, bool); 4] = [(500, false), (500, true), (4_000, false), (4_000, true)];

/// Farthest apart that places on a straight are looked at where there is little room, mm.
const LOOK_STEP_MM: f64 = 1.0;

/// Times that a way round is sought between two neighbours.
const ROUND_BY: usize = 6;

/// Coarsest step between cells: 2 to this power.
const COARSEST: u32 = 2;

/// How a search ended.
#[derive(Clone)]
pub(super) enum Found {
    /// Bends of a string from start to goal, both included.
    String(Vec<Point>),
    /// Every place that a string can get to was visited: what stands between the nearest of them and the
    /// goal, and where.
    Closed(Option<Near>, Point),
    /// It gave up.
    Unknown,
}

/// What one search was asked for, beside the space that it went through.
#[derive(Clone, PartialEq)]
pub(super) struct Sought {
    pub(super) start: Point,
    pub(super) goal: Point,
    pub(super) longest_mm: f64,
    pub(super) thorough: bool,
    /// What is kept from obstacles, mm, and whether trim is left alone.
    pub(super) kept: (f64, bool),
}

/// Searches and how they ended: those of one line through one space, which more effort begins with again.
#[derive(Clone, Default)]
pub(super) struct Searches(RefCell<Vec<(Sought, Found)>>);

impl Searches {
    /// How a search ended, if it was made.
    pub(super) fn ended(&self, sought: &Sought) -> Option<Found> {
        self.0.borrow().iter().find(|(known, _)| known == sought).map(|(_, found)| found.clone())
    }

    /// Keeps how one ended.
    pub(super) fn keep(&self, sought: Sought, found: &Found) {
        self.0.borrow_mut().push((sought, found.clone()));
    }
}

/// What a search keeps to.
pub(super) struct Search<'a> {
    pub(super) space: &'a Space<'a>,
    pub(super) start: Point,
    pub(super) goal: Point,
    /// Strings longer than this are of no use, mm.
    pub(super) longest_mm: f64,
    /// Places that are to be gone round, with how far from each counts, mm: going there costs more.
    pub(super) avoid: &'a [Point],
    pub(super) avoid_mm: f64,
    /// Whether a cell is searched from 27 places instead of its middle: for openings hardly wider than the
    /// line needs.
    pub(super) thorough: bool,
    /// How often the field's cells are halved for this search: narrow openings need finer ones.
    pub(super) halved: u32,
    /// Places that it may settle before it gives up.
    pub(super) most_places: usize,
}

/// A place that a string might come to, not yet looked at.
struct Offer {
    cell: u32,
    cost_mm: f64,
    /// The settled place that it is thought to be seen from, and the one next to it.
    parent: u32,
    beside: u32,
    checked: bool,
}

/// A place that is settled.
struct Settled {
    at: Point,
    room_mm: f64,
    cost_mm: f64,
    parent: u32,
    cell: u32,
}

const START: u32 = u32::MAX;
const GOAL: u32 = u32::MAX - 1;

/// A cell's place and room; none where no place of it has room.
type Spot = Option<(Point, f64)>;

impl Search<'_> {
    /// The shortest string found, or that there is none.
    ///
    /// Method: A* with lazily checked sight from parent to place (lazy theta*), over cells whose step is
    /// 1, 2 or 4 by the room round them. A cell whose middle lacks room is stood for by a place in it that
    /// has, if pushing away from what is near leads to one; so an opening narrower than a cell is found.
    pub(super) fn run(&self) -> Found {
        let shorter = ROUNDS.into_iter().filter(|(most, _)| *most < self.most_places);
        for (most_places, turned) in shorter {
            let (start, goal) =
                if turned { (self.goal, self.start) } else { (self.start, self.goal) };
            match (Search { start, goal, most_places, ..*self }).once() {
                Found::String(mut string) => {
                    if turned {
                        string.reverse();
                    }
                    return Found::String(string);
                }
                Found::Closed(near, at) => return Found::Closed(near, at),
                Found::Unknown => {}
            }
        }
        self.once()
    }

    fn once(&self) -> Found {
        let mut cells = Cells::new();
        let mut settled: Vec<Settled> = Vec::new();
        let mut offers: Vec<Offer> = Vec::new();
        let mut front = BinaryHeap::new();
        let start_room = self.space.room_mm(&self.start, 60.0);
        settled.push(Settled {
            at: self.start,
            room_mm: start_room,
            cost_mm: 0.0,
            parent: 0,
            cell: START,
        });
        self.offer_round(0, &settled, &mut offers, &mut front, &mut cells);
        while let Some(Reached { cell: number, .. }) = front.pop() {
            let Offer { cell, cost_mm, parent, beside, checked } = offers[number];
            let known = cells.get(cell, || Some((self.goal, 0.0)));
            let Some((at, room_mm)) = known.spot.filter(|_| !known.closed) else { continue };
            if !checked && !self.sees(&settled[parent as usize], &at, room_mm) {
                let from = &settled[beside as usize];
                if beside != parent && self.sees(from, &at, room_mm) {
                    let cost_mm = from.cost_mm + self.price(&from.at, &at);
                    self.push(
                        Offer { cell, cost_mm, parent: beside, beside, checked: true },
                        &at,
                        &mut offers,
                        &mut front,
                    );
                } else if let Some(round) = self.round(&settled[beside as usize], &at, room_mm) {
                    let from_cell = settled[beside as usize].cell;
                    let mut through = beside;
                    for (by, by_room_mm) in round {
                        let before = &settled[through as usize];
                        let cost_mm = before.cost_mm + self.price(&before.at, &by);
                        settled.push(Settled {
                            at: by,
                            room_mm: by_room_mm,
                            cost_mm,
                            parent: through,
                            cell: from_cell,
                        });
                        through = settled.len() as u32 - 1;
                    }
                    let before = &settled[through as usize];
                    let cost_mm = before.cost_mm + self.price(&before.at, &at);
                    let offer =
                        Offer { cell, cost_mm, parent: through, beside: through, checked: true };
                    self.push(offer, &at, &mut offers, &mut front);
                } else if known.best_mm >= cost_mm - 1e-9 {
                    // Another neighbour may still reach it.
                    known.best_mm = f64::INFINITY;
                }
                continue;
            }
            if cell == GOAL {
                let mut string = vec![self.goal];
                let mut index = parent;
                loop {
                    string.push(settled[index as usize].at);
                    if index == 0 {
                        break;
                    }
                    index = settled[index as usize].parent;
                }
                string.reverse();
                return Found::String(if self.avoid.is_empty() {
                    string
                } else {
                    self.fewer(string)
                });
            }
            let index = settled.len() as u32;
            known.closed = true;
            settled.push(Settled { at, room_mm, cost_mm, parent, cell });
            if settled.len() > self.most_places {
                return Found::Unknown;
            }
            self.offer_round(index, &settled, &mut offers, &mut front, &mut cells);
        }
        let nearest = settled
            .iter()
            .min_by(|a, b| (a.at - self.goal).norm().total_cmp(&(b.at - self.goal).norm()))
            .map_or(self.start, |settled| settled.at);
        match self.space.blocked(&nearest, &self.goal, LOOK_STEP_MM) {
            Some(at) => Found::Closed(self.space.room(&at, 1.0).near, at),
            None => Found::Closed(None, nearest),
        }
    }

    /// The string with the bends left out that nothing asks for: where one sees past them at no higher
    /// price.
    fn fewer(&self, string: Vec<Point>) -> Vec<Point> {
        let mut fewer = vec![string[0]];
        let mut paid_mm = 0.0;
        for pair in string.windows(3) {
            let [before, at, after] = pair else { continue };
            let from = fewer[fewer.len() - 1];
            paid_mm += self.price(before, at);
            let round_mm = paid_mm + self.price(at, after);
            let past = self.price(&from, after) <= round_mm + 1e-9
                && self.space.blocked(&from, after, LOOK_STEP_MM).is_none();
            if !past {
                fewer.push(*at);
                paid_mm = 0.0;
            }
        }
        fewer.extend(string.last());
        fewer
    }

    /// Side of this search's cells, mm.
    fn step_mm(&self) -> f64 {
        self.space.field.step_mm() / f64::from(1_u32 << self.halved)
    }

    fn coordinates_of(&self, point: &Point) -> Option<[usize; 3]> {
        let inside = self.space.field.coordinates_of(point)?;
        let whole =
            self.space.field.centre(inside) - Vector::repeat(self.space.field.step_mm() / 2.0);
        let within = (point - whole) / self.step_mm();
        let most = f64::from((1_u32 << self.halved) - 1);
        Some(
            [0, 1, 2]
                .map(|axis| (inside[axis] << self.halved) + within[axis].clamp(0.0, most) as usize),
        )
    }

    fn centre(&self, cell: [usize; 3]) -> Point {
        let first = self.space.field.centre(cell.map(|_| 0));
        let shift = (self.space.field.step_mm() - self.step_mm()) / 2.0;
        let by = Vector::from(cell.map(|steps| steps as f64)) * self.step_mm();
        first - Vector::repeat(shift) + by
    }

    fn price(&self, from: &Point, to: &Point) -> f64 {
        let length_mm = (to - from).norm();
        if self.avoid.is_empty() {
            return length_mm;
        }
        let near = |at: &Point| self.avoid.iter().any(|place| (place - at).norm() < self.avoid_mm);
        let parts = (length_mm / 20.0).ceil().max(1.0);
        let bad = (0..parts as usize)
            .filter(|part| near(&(from + (to - from) * ((*part as f64 + 0.5) / parts))))
            .count();
        length_mm * (1.0 + 0.6 * bad as f64 / parts)
    }

    fn sees(&self, from: &Settled, to: &Point, room_mm: f64) -> bool {
        from.room_mm.max(0.0) + room_mm.max(0.0) >= (to - from.at).norm()
            || self.space.blocked(&from.at, to, LOOK_STEP_MM).is_none()
    }

    fn push(
        &self,
        offer: Offer,
        at: &Point,
        offers: &mut Vec<Offer>,
        front: &mut BinaryHeap<Reached>,
    ) {
        let key = offer.cost_mm + (at - self.goal).norm();
        if key <= self.longest_mm {
            front.push(Reached { key, cell: offers.len() });
            offers.push(offer);
        }
    }

    fn offer_round(
        &self,
        index: u32,
        settled: &[Settled],
        offers: &mut Vec<Offer>,
        front: &mut BinaryHeap<Reached>,
        cells: &mut Cells,
    ) {
        let here = &settled[index as usize];
        let parent = if self.avoid.is_empty() { here.parent } else { index };
        let step_mm = self.step_mm();
        let mut offer = |cell: u32, look: &dyn Fn() -> Spot| {
            let known = cells.get(cell, look);
            let Some((at, _)) = known.spot.filter(|_| !known.closed) else { return };
            let from = &settled[parent as usize];
            let cost_mm = from.cost_mm + self.price(&from.at, &at);
            if cost_mm < known.best_mm - 1e-9 {
                known.best_mm = cost_mm;
                let offer = Offer { cell, cost_mm, parent, beside: index, checked: false };
                self.push(offer, &at, offers, front);
            }
        };
        let coarse = (0..=COARSEST + self.halved)
            .rev()
            .find(|power| step_mm * f64::from(1_u32 << power) * 3.0_f64.sqrt() <= here.room_mm)
            .unwrap_or(0);
        let stride = 1_usize << coarse;
        if (here.at - self.goal).norm() <= (stride as f64 * 2.0 * step_mm).max(3.0 * step_mm) {
            offer(GOAL, &|| Some((self.goal, 0.0)));
        }
        let Some(at) = self.coordinates_of(&here.at) else { return };
        let aligned = here.cell != START && at.iter().all(|step| step % stride == 0);
        let size = self.space.field.size().map(|cells| cells << self.halved);
        let mut visit = |next: [i64; 3]| {
            if (0..3).any(|axis| next[axis] < 0 || next[axis] >= size[axis] as i64) {
                return;
            }
            let next = next.map(|step| step as usize);
            let cell = (next[0] + size[0] * (next[1] + size[1] * next[2])) as u32;
            offer(cell, &|| self.spot(next));
        };
        let at = at.map(|step| step as i64);
        let stride = stride as i64;
        if aligned || stride == 1 {
            for turn in 0..27 {
                let by = [turn % 3 - 1, turn / 3 % 3 - 1, turn / 9 - 1];
                if turn != 13 || here.cell == START {
                    visit([0, 1, 2].map(|axis| at[axis] + by[axis] * stride));
                }
            }
        } else {
            for turn in 0..8 {
                let by = [turn & 1, turn >> 1 & 1, turn >> 2];
                visit([0, 1, 2].map(|axis| (at[axis].div_euclid(stride) + by[axis]) * stride));
            }
        }
    }

    /// A cell's place with room: its middle, or one beside it in the cell.
    fn spot(&self, cell: [usize; 3]) -> Spot {
        let middle = self.centre(cell);
        let half_mm = self.step_mm() / 2.0;
        // What the cell knows of its middle is no guess: a closer look adds nothing but what holds the line.
        let known_mm = self.space.at_least_mm(&middle);
        if known_mm >= 0.0 {
            return Some((middle, known_mm));
        }
        let room_mm = self.space.room_mm(&middle, 20.0);
        if room_mm >= 0.0 {
            return Some((middle, room_mm));
        }
        if room_mm < -half_mm * 3.0_f64.sqrt() {
            return None;
        }
        if let Some(found) = self.pushed(middle, &middle) {
            return Some(found);
        }
        if !self.thorough {
            return None;
        }
        let third = half_mm * 2.0 / 3.0;
        (0..27).filter(|turn| *turn != 13).find_map(|turn| {
            let by = [turn % 3, turn / 3 % 3, turn / 9].map(|step| f64::from(step) - 1.0);
            self.pushed(middle + Vector::from(by) * third, &middle)
        })
    }

    /// Between two neighbours that don't see each other, places past which the one sees the other, if a
    /// thorough search finds some: the middle between them pushed to where there is room, and so on.
    fn round(&self, from: &Settled, to: &Point, room_mm: f64) -> Option<Vec<(Point, f64)>> {
        let near_mm = 2.0 * 3.0_f64.sqrt() * self.step_mm();
        if !self.thorough || (to - from.at).norm() > near_mm {
            return None;
        }
        let mut places = vec![(from.at, from.room_mm), (*to, room_mm)];
        for _ in 0..ROUND_BY {
            let sees = |pair: &[(Point, f64)]| {
                let before = Settled { at: pair[0].0, room_mm: pair[0].1, ..*from };
                self.sees(&before, &pair[1].0, pair[1].1)
            };
            let Some(blind) = places.windows(2).position(|pair| !sees(pair)) else {
                return Some(places[1..places.len() - 1].to_vec());
            };
            let middle = nalgebra::center(&places[blind].0, &places[blind + 1].0);
            places.insert(blind + 1, self.pushed(middle, &middle)?);
        }
        None
    }

    /// A place with room that pushing away from what is near leads to, in the cell round `middle`.
    fn pushed(&self, from: Point, middle: &Point) -> Spot {
        let half_mm = self.step_mm() / 2.0;
        let mut at = from;
        for _ in 0..if self.thorough { 10 } else { 5 } {
            let room = self.space.room(&at, 40.0);
            if room.mm >= 0.0 {
                return Some((at, room.mm));
            }
            if room.out == Vector::zeros() {
                return None;
            }
            at += room.out * (0.05 - room.mm);
            if (at - middle).amax() > half_mm * 1.05 {
                return None;
            }
        }
        None
    }
}
