//! The shortest way between two ends: bounded bends, through whatever room there is.

use super::corners::Corners;
use super::curve::{Curve, End, free_corners};
use super::room::{Near, Space};
use super::search::{Found, Search, Sought};
use super::taut::Pull;
use crate::geometry::ClearanceField;
use crate::model::Point;

/// What a way is asked for: the ends where bends may begin, and how tight they may be.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Wanted {
    /// Where it begins.
    pub from: End,
    /// Where it ends, and which way it runs there.
    pub to: End,
    /// Smallest bend radius of the centreline, mm.
    pub bend_mm: f64,
    /// Ways longer than this are of no use, mm; infinite when any will do.
    pub longest_mm: f64,
}

/// Why there is no way.
#[derive(Debug, Clone, PartialEq)]
pub enum NoWay {
    /// An end is itself too near to something.
    EndBlocked {
        /// Whether it is the first one.
        first: bool,
        /// What is too near.
        by: Near,
        /// By how much, mm.
        short_mm: f64,
    },
    /// Even with nothing in the way it would be longer than is of use.
    TooLong(Curve),
    /// The ends can't be joined with such bends at all.
    TooClose,
    /// Not even a string was found to pass: what stands between, and where.
    Closed {
        /// What it is, where that could be told.
        by: Option<Near>,
        /// Where.
        at: Point,
    },
    /// A string passes, but no way with such bends was found: where it lacked room.
    TooTight {
        /// What it is too near to there.
        by: Option<Near>,
        /// Where.
        at: Point,
    },
}

/// The shortest way found through a field of obstacles, its centreline `need_mm` from each at least.
///
/// Method: the free way (two arcs and a straight) where it keeps its room; else strings found on the grid,
/// their corners rounded and pulled tight within the room. A way is proven before it is given: corners fit
/// exactly, and room is kept at places so near together that it is kept between them too. The same input
/// gives the same way. It is the shortest near the strings tried, not proven to be the shortest of all.
///
/// # Errors
/// Why there is none.
pub fn shortest_way(field: &ClearanceField, need_mm: f64, wanted: &Wanted) -> Result<Curve, NoWay> {
    find(&Space::of(field, need_mm), wanted, Effort::Whole).map(|corners| corners.curve())
}

/// How much is tried before it is said that there is no way.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub(super) enum Effort {
    /// The free way and the first string.
    Glance,
    /// Wider strings and one that goes another way round, all from the middles of the cells.
    Quick,
    /// Strings from every place of finer cells, where a quick search found no way.
    Last,
    /// All of it.
    Whole,
    /// Only strings from every place of finer cells, for a way short enough where one that isn't is known.
    Shorter,
}

/// Places that a search settles before it gives up, where that there is no way has to be told.
const MOST_PLACES: usize = 40_000;

/// The same where it is a way nicer than need be that is looked for.
const FEW_PLACES: usize = 4_000;

/// The same where it is another way round that is looked for: what is near in length is found early.
const OTHER_PLACES: usize = 1_500;

/// The same where cells are fine.
const MOST_FINE_PLACES: usize = 12_000;

/// Largest cell of a thorough search, mm: with it every window 0.5 mm wider than needed that was tried was
/// found; with twice that, windows 4 mm wider were missed.
const FINE_CELL_MM: f64 = 6.0;

/// Strings sought beside the first, at most.
const OTHERS: usize = 1;

/// Room beyond what is needed that the last strings keep, mm.
const LAST_TRIES_MM: [f64; 4] = [0.0, 1.5, 3.0, 8.0];

/// A way this much longer than the free way is worth looking for another.
const WORTH: f64 = 1.04;

/// As [`shortest_way`], in any space.
pub(super) fn find(space: &Space, wanted: &Wanted, effort: Effort) -> Result<Corners, NoWay> {
    for (first, end) in [(true, &wanted.from), (false, &wanted.to)] {
        let room = space.room(&end.at, 5.0);
        if let (true, Some(by)) = (room.mm < 0.0, room.near) {
            return Err(NoWay::EndBlocked { first, by, short_mm: -room.mm });
        }
    }
    let free = free_corners(&wanted.from, &wanted.to, wanted.bend_mm).ok_or(NoWay::TooClose)?;
    let least_mm = free.measures().length_mm;
    if least_mm > wanted.longest_mm {
        return Err(NoWay::TooLong(free.curve()));
    }
    let pull = Pull { space, from: wanted.from, to: wanted.to };
    if pull.proven(&free).is_ok() {
        return Ok(free);
    }
    Finder { space, wanted, effort, pull, least_mm, best: None, lacked: None }.find(free)
}

struct Finder<'a> {
    space: &'a Space<'a>,
    wanted: &'a Wanted,
    effort: Effort,
    pull: Pull<'a>,
    /// Length of the free way, mm.
    least_mm: f64,
    best: Option<(f64, Corners)>,
    /// Where the last try lacked room.
    lacked: Option<Point>,
}

impl Finder<'_> {
    fn find(mut self, free: Corners) -> Result<Corners, NoWay> {
        self.attempt(free, 0);
        if self.effort == Effort::Shorter {
            return self.shorter();
        }
        let thorough = self.effort >= Effort::Last && self.space.sheets.is_none();
        let first = match self.string(0.0, &[], false) {
            Found::Closed(by, at) if self.best.is_none() && !thorough => {
                return Err(NoWay::Closed { by, at });
            }
            Found::Closed(by, at) if self.best.is_none() => match self.string(0.0, &[], true) {
                Found::Closed(by, at) => return Err(NoWay::Closed { by, at }),
                Found::String(string) => Some(string),
                Found::Unknown => return Err(NoWay::Closed { by, at }),
            },
            Found::String(string) => Some(string),
            Found::Closed(..) | Found::Unknown => None,
        };
        if let Some(string) = &first {
            self.attempt_string(string);
        }
        if self.best.is_none() && self.effort == Effort::Glance {
            return self.none();
        }
        // Where a string passes but not its bends, a string that keeps more room may be rounder.
        for extra_mm in [6.0, 15.0] {
            if self.best.is_some() || first.is_none() || self.effort == Effort::Last {
                break;
            }
            match self.string(extra_mm, &[], false) {
                Found::String(string) => self.attempt_string(&string),
                // What is too narrow for this one is too narrow for the next.
                Found::Closed(..) | Found::Unknown => break,
            }
        }
        let mut avoid: Vec<Point> = Vec::new();
        for _ in 0..OTHERS {
            let worth = match &self.best {
                Some((mm, _)) => *mm > WORTH * self.least_mm,
                None => self.effort != Effort::Last,
            };
            if !worth {
                break;
            }
            let passed = self.best.as_ref().map(|(_, corners)| corners.curve().points);
            let Some(passed) = passed.or_else(|| first.as_ref().map(|string| dense(string))) else {
                break;
            };
            let far_mm = self.wanted.bend_mm.max(50.0);
            avoid.extend(passed.iter().step_by(5).filter(|at| {
                (*at - self.wanted.from.at).norm() > far_mm
                    && (*at - self.wanted.to.at).norm() > far_mm
            }));
            if avoid.is_empty() {
                break;
            }
            match self.string(0.0, &avoid, false) {
                Found::String(string) => self.attempt_string(&string),
                Found::Closed(..) | Found::Unknown => break,
            }
        }
        // Before it is said that there is none, strings from every place of the cells.
        if thorough && first.is_some() {
            return self.shorter();
        }
        match self.best {
            Some((_, corners)) => Ok(corners),
            None => self.none(),
        }
    }

    /// Strings from every place of the cells until a way isn't too long; what is too narrow for one is too
    /// narrow for the next.
    fn shorter(mut self) -> Result<Corners, NoWay> {
        for extra_mm in LAST_TRIES_MM {
            if self.found() {
                break;
            }
            match self.string(extra_mm, &[], true) {
                Found::String(string) => self.attempt_string(&string),
                Found::Closed(..) | Found::Unknown => break,
            }
        }
        match self.best {
            Some((_, corners)) => Ok(corners),
            None => self.none(),
        }
    }

    /// Whether there is a way that isn't too long.
    fn found(&self) -> bool {
        self.best.as_ref().is_some_and(|(mm, _)| *mm <= self.wanted.longest_mm)
    }

    fn none(&self) -> Result<Corners, NoWay> {
        let at = self.lacked.unwrap_or(self.wanted.from.at);
        Err(NoWay::TooTight { by: self.space.room(&at, 2.0).near, at })
    }

    fn attempt(&mut self, corners: Corners, more: usize) {
        let longest_mm = self.best.as_ref().map_or(self.wanted.longest_mm, |(mm, _)| *mm * 1.2);
        match self.pull.tight(corners, longest_mm * 1.1, more) {
            Ok(corners) => {
                let length_mm = corners.measures().length_mm;
                if self.best.as_ref().is_none_or(|(best, _)| length_mm < best - 1e-6) {
                    self.best = Some((length_mm, corners));
                }
            }
            Err(at) => self.lacked = Some(at),
        }
    }

    fn attempt_string(&mut self, string: &[Point]) {
        let inner = &string[1..string.len() - 1];
        let corners = Corners::past(&self.wanted.from, inner, &self.wanted.to, self.wanted.bend_mm);
        self.attempt(corners, 3);
    }

    /// A string between places a little ahead of the ends, where a bend would bring the line anyway.
    fn string(&self, extra_mm: f64, avoid: &[Point], thorough: bool) -> Found {
        let space = self.space.wider(extra_mm);
        let ahead = |at: &Point, towards: crate::model::Vector| {
            let mut best = *at;
            for step in 1..=6 {
                let next = at + towards * (self.wanted.bend_mm * 0.1 * f64::from(step));
                if self.space.room_mm(&next, 1.0) < 0.0 {
                    break;
                }
                best = next;
            }
            best
        };
        let nicer = extra_mm > 0.0 || !avoid.is_empty() || space.sheets.is_some();
        let search = Search {
            space: &space,
            start: ahead(&self.wanted.from.at, self.wanted.from.towards),
            goal: ahead(&self.wanted.to.at, -self.wanted.to.towards),
            longest_mm: self.wanted.longest_mm,
            avoid,
            avoid_mm: 30.0,
            thorough,
            halved: if thorough { halvings(space.field.step_mm()) } else { 0 },
            most_places: match (thorough, avoid.is_empty()) {
                (true, _) if self.effort == Effort::Shorter => FEW_PLACES,
                (true, _) => MOST_FINE_PLACES,
                (false, false) => OTHER_PLACES,
                (false, true) if nicer => FEW_PLACES,
                (false, true) => MOST_PLACES,
            },
        };
        let Some(searches) = self.space.searches.filter(|_| avoid.is_empty()) else {
            return search.run();
        };
        let Search { start, goal, longest_mm, .. } = search;
        let kept = (space.need_mm, space.sheets.is_some());
        let sought = Sought { start, goal, longest_mm, thorough, kept };
        searches.ended(&sought).unwrap_or_else(|| {
            let found = search.run();
            searches.keep(sought, &found);
            found
        })
    }
}

/// How often cells are halved until they are as fine as a thorough search needs.
fn halvings(step_mm: f64) -> u32 {
    (0..4).find(|halved| step_mm / f64::from(1_u32 << halved) <= FINE_CELL_MM).unwrap_or(4)
}

/// A string's places, 4 mm apart.
fn dense(string: &[Point]) -> Vec<Point> {
    let mut all = Vec::new();
    for pair in string.windows(2) {
        let parts = ((pair[1] - pair[0]).norm() / 4.0).ceil().max(1.0) as usize;
        all.extend(
            (0..parts).map(|part| pair[0] + (pair[1] - pair[0]) * (part as f64 / parts as f64)),
        );
    }
    all
}
