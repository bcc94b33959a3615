//! In which order do the lines of a spot lie, and where?

use super::route::{Quest, Route};
use super::way::Effort;
use super::{Curve, End, usable_mm};
use crate::checks::Boot;
use crate::geometry::{Pile, Rod, RodTree, Solid};
use crate::model::{Line, Pose};

/// Farthest apart that places of a way are held against lines laid before, mm.
const STEP_MM: f64 = 4.0;

/// How near a way comes to lines laid before that hold it off, mm.
const AGAINST_MM: f64 = 2.0;

/// What the lines of one spot have in common.
#[derive(Clone, Copy)]
pub(super) struct Standing<'a> {
    pub(super) boot: &'a Boot,
    pub(super) pump: &'a [Solid],
    pub(super) pile: &'a Pile,
    pub(super) pose: &'a Pose,
    pub(super) spot: &'a str,
}

/// A line where it lies.
#[derive(Clone)]
pub(super) struct Laid<'a> {
    /// Its place in the layout.
    pub(super) index: usize,
    pub(super) line: &'a Line,
    /// None where its ends can't be joined, or the pump lacks its port.
    pub(super) route: Option<Route>,
    /// What was laid before it, and it keeps away from.
    pub(super) before: RodTree,
}

impl Standing<'_> {
    fn quest<'b>(&'b self, line: &Line, before: &'b RodTree) -> Option<Quest<'b>> {
        let port = self.boot.pump().ports.iter().find(|port| port.name == line.to)?;
        let towards = (self.pose * port.towards).try_normalize(1e-9)?;
        let end = End { at: self.pose * port.at, towards };
        Quest::new(self.boot, self.pump, self.pile, before, line, &end, self.spot)
    }

    /// One line's way past what was laid before it.
    pub(super) fn route(&self, line: &Line, before: &RodTree, effort: Effort) -> Option<Route> {
        self.quest(line, before)?.route(effort)
    }

    /// One line's way where a glance gave `glanced`. A clear one that is too long stays where none is found
    /// among those that are short enough, which are looked for by themselves: a string that may be longer
    /// soon goes elsewhere.
    fn beyond(
        &self,
        line: &Line,
        quest: Option<&Quest>,
        glanced: Option<Route>,
        effort: Effort,
    ) -> Option<Route> {
        let unclear = |route: &Option<Route>| route.as_ref().is_some_and(|route| !route.clear());
        let mut route = glanced;
        for more in [Effort::Quick, Effort::Last] {
            if more <= effort && unclear(&route) {
                route = quest.and_then(|quest| quest.route(more));
            }
        }
        let too_long = !unclear(&route) && !self.reaches(line, route.as_ref());
        if too_long
            && effort == Effort::Last
            && let Some(quest) = quest
        {
            let shorter = quest.within(usable_mm(self.boot, line)).route(Effort::Shorter);
            if self.reaches(line, shorter.as_ref()) {
                return shorter;
            }
        }
        route
    }

    fn count(&self, laid: &[Laid]) -> usize {
        laid.iter().filter(|it| self.reaches(it.line, it.route.as_ref())).count()
    }

    /// Whether a line lies clear of everything and is long enough for it.
    pub(super) fn reaches(&self, line: &Line, route: Option<&Route>) -> bool {
        let usable_mm = usable_mm(self.boot, line);
        route.is_some_and(|route| route.clear() && route.curve.length_mm <= usable_mm)
    }
}

/// The lines of a spot, in the order of the layout, each clear of those laid before it where there is a way.
///
/// Method: they are laid in the order of the layout. One that doesn't reach past those before it, but
/// would without them, is laid before the first of them that lies in its way, and those are laid anew; each
/// line once at most, and one that gave way searches thoroughly before it takes its place back. If
/// that leaves no fewer lines without a way than the order of the layout does, that order stands.
pub(super) fn laid<'a>(standing: &Standing<'a>) -> Vec<Laid<'a>> {
    let lines: Vec<(usize, &Line)> = standing.boot.numbered_lines().collect();
    let listed: Vec<usize> = (0..lines.len()).collect();
    let mut order = listed.clone();
    let mut moved = vec![false; lines.len()];
    let mut laid: Vec<Laid> = Vec::new();
    let mut as_listed: Option<Vec<Laid>> = None;
    while laid.len() < order.len() {
        let next = order[laid.len()];
        let (index, line) = lines[next];
        let before = RodTree::of(rods(&laid));
        let reaches = |route: &Option<Route>| standing.reaches(line, route.as_ref());
        let quest = standing.quest(line, &before);
        let glance = |quest: &Quest| quest.route(Effort::Glance);
        let mut route = quest.as_ref().and_then(glance);
        let mut way = None;
        if !reaches(&route) {
            let nothing = RodTree::default();
            let hindered = !moved[next] && hindered(line, route.as_ref(), &before);
            let free = if hindered { standing.quest(line, &nothing) } else { None };
            let alone = hindered.then(|| free.as_ref().and_then(glance));
            let gave_way = moved.contains(&true);
            if !gave_way && let Some(alone) = &alone {
                way = alone.clone().filter(|alone| standing.reaches(line, Some(alone)));
            }
            if way.is_none() {
                route = standing.beyond(line, quest.as_ref(), route, Effort::Last);
                if !reaches(&route)
                    && let Some(alone) = alone
                {
                    let alone = standing.beyond(line, free.as_ref(), alone, Effort::Quick);
                    way = alone.filter(|alone| standing.reaches(line, Some(alone)));
                }
            }
        }
        if let Some(way) = way {
            let place = first_crossed(&laid, line, &way.curve);
            moved[next] = true;
            order.remove(laid.len());
            order.insert(place, next);
            as_listed.get_or_insert_with(|| laid.clone());
            laid.truncate(place);
        } else {
            laid.push(Laid { index, line, route, before });
        }
    }
    if let Some(mut listed_first) = as_listed.filter(|_| standing.count(&laid) < lines.len()) {
        for next in &listed[listed_first.len()..] {
            let (index, line) = lines[*next];
            let before = RodTree::of(rods(&listed_first));
            let quest = standing.quest(line, &before);
            let route = quest.as_ref().and_then(|quest| quest.route(Effort::Glance));
            let route = standing.beyond(line, quest.as_ref(), route, Effort::Last);
            listed_first.push(Laid { index, line, route, before });
        }
        if standing.count(&listed_first) >= standing.count(&laid) {
            laid = listed_first;
        }
    }
    laid.sort_by_key(|it| it.index);
    laid
}

/// The lines that lie clear, as rods: one without a way lies nowhere and is in nothing's way.
fn rods(laid: &[Laid]) -> Vec<Rod> {
    let mut rods = Vec::new();
    for it in laid {
        let Some(route) = it.route.as_ref().filter(|route| route.clear()) else { continue };
        let radius_mm = it.line.od_mm / 2.0;
        rods.extend(route.curve.points.windows(2).map(|pair| Rod {
            from: pair[0],
            to: pair[1],
            radius_mm,
            owner: it.index,
        }));
    }
    rods
}

/// Whether lines laid before may be what keeps a line from its way: it has none, or it lies against them.
fn hindered(line: &Line, route: Option<&Route>, before: &RodTree) -> bool {
    let Some(route) = route else { return false };
    let near_mm = line.od_mm / 2.0 + AGAINST_MM;
    !before.is_empty() && (!route.clear() || comes_near(&route.curve, before, near_mm))
}

/// The first of some lines that a way would run through; the last of them if it runs through none.
fn first_crossed(laid: &[Laid], line: &Line, way: &Curve) -> usize {
    let crossed = (0..laid.len()).find(|place| {
        let tree = RodTree::of(rods(&laid[*place..=*place]));
        comes_near(way, &tree, line.od_mm / 2.0)
    });
    crossed.unwrap_or(laid.len().saturating_sub(1))
}

/// Whether a way's middle comes nearer than this to the skin of some lines.
fn comes_near(way: &Curve, lines: &RodTree, near_mm: f64) -> bool {
    way.sampled(STEP_MM)
        .iter()
        .any(|at| lines.nearest(at, near_mm).is_some_and(|(skin_mm, ..)| skin_mm < near_mm))
}
