//! From exit to port round whatever stands in the way.

use super::along::{Nearest, holders, nearest_along};
use super::curve::{Curve, End};
use super::room::{Near, OwnPump, Sheets, Space};
use super::way::{NoWay, Wanted, find};
use crate::checks::Boot;
use crate::geometry::{Pile, RodTree, Solid};
use crate::model::{Line, Point};

/// Ways that need more than this share of a line's free length are not looked for.
const USEFUL_SHARE: f64 = 1.25;

/// What a line may come near trim round its ends, mm.
const TRIM_LET_BE_MM: f64 = 20.0;

/// A line's way through the boot.
#[derive(Debug, Clone)]
pub(crate) struct Route {
    /// Leads, arcs and straights from exit to port.
    pub(crate) curve: Curve,
    /// What it comes nearest to, measured by the gap asked for there; its own pump left out.
    pub(crate) nearest: Option<Nearest>,
    /// Where it comes nearest to its own pump, if that is nearer than the gap to other things.
    pub(crate) on_pump: Option<Nearest>,
    /// Why there is no way that keeps its gaps; the curve then is the free one.
    pub(crate) why_not: Option<NoWay>,
}

/// One line's question: its ends, its skin, the gap that it keeps.
pub(super) struct Quest<'a> {
    pub(super) boot: &'a Boot,
    pub(super) pump: &'a [Solid],
    pub(super) pile: &'a Pile,
    pub(super) laid: &'a RodTree,
    pub(super) radius_mm: f64,
    pub(super) gap_mm: f64,
    pub(super) bend_mm: f64,
    pub(super) lead_mm: f64,
    pub(super) exit: End,
    pub(super) port: End,
    /// Ways longer than this are of no use, mm; leads left out.
    pub(super) longest_mm: f64,
    /// What holds the line at its exit, and how near it is there.
    pub(super) holders: Vec<(usize, f64)>,
}

impl<'a> Quest<'a> {
    /// The question of `line` to the port at `port` (where the line arrives, pointing out of the pump);
    /// none where a direction has no length.
    pub(super) fn new(
        boot: &'a Boot,
        pump: &'a [Solid],
        pile: &'a Pile,
        laid: &'a RodTree,
        line: &Line,
        port: &End,
    ) -> Option<Quest<'a>> {
        let lead_mm = line.lead_mm();
        let leave = line.from.towards.try_normalize(1e-9)?;
        let radius_mm = line.od_mm / 2.0;
        let gap_mm = boot.layout().limits.gap_line_mm;
        let exit = End { at: line.from.at + leave * lead_mm, towards: leave };
        Some(Quest {
            boot,
            pump,
            pile,
            laid,
            radius_mm,
            gap_mm,
            bend_mm: line.bend_centre_mm(),
            lead_mm,
            port: End { at: port.at + port.towards * lead_mm, towards: -port.towards },
            longest_mm: (line.free_mm * USEFUL_SHARE - 2.0 * lead_mm).max(0.0),
            holders: holders(boot, &[line.from.at, exit.at], radius_mm + gap_mm),
            exit,
        })
    }

    /// What the line keeps away from; `hidden` lines keep from trim surfaces too.
    pub(super) fn space(&self, hidden: bool) -> Space<'_> {
        let port = self.port.at + self.port.towards * self.lead_mm;
        Space {
            field: &self.boot.field,
            need_mm: self.radius_mm + self.gap_mm,
            holders: &self.holders,
            exit: self.exit.at - self.exit.towards * self.lead_mm,
            pump: Some(OwnPump {
                solids: self.pump,
                pile: self.pile,
                port,
                let_be_mm: self.lead_mm + self.radius_mm,
            }),
            pump_mm: self.radius_mm,
            laid: Some(self.laid),
            laid_mm: self.radius_mm,
            sheets: hidden.then_some(Sheets {
                field: &self.boot.trim_field,
                need_mm: self.radius_mm,
                ends: [self.exit.at, self.port.at],
                let_be_mm: self.lead_mm.max(TRIM_LET_BE_MM),
            }),
        }
    }

    /// What is near, in words.
    pub(super) fn name_of(&self, near: Near) -> String {
        match near {
            Near::Body(solid) => self.boot.field_name(solid).to_string(),
            Near::Pump(solid) => format!("the pump's {}", self.boot.pump().solids[solid].name),
            Near::Line(line) => self.boot.layout().lines[line].name.clone(),
            Near::Trim(trim) => self.boot.trim_name(trim).to_string(),
        }
    }

    /// What stands in a straight lead, and whether it is the one at the exit.
    fn lead_blocked(&self) -> Option<NoWay> {
        let open = self.space(false);
        let held = holders(self.boot, &[open.exit], self.radius_mm + self.gap_mm);
        let space = Space { holders: &held, ..open.clone() };
        let port = self.port.at + self.port.towards * self.lead_mm;
        let ends = [(true, open.exit, self.exit.at), (false, self.port.at, port)];
        ends.into_iter().find_map(|(first, from, to)| {
            let at = space.blocked(&from, &to, 0.5)?;
            let room = space.room(&at, 1.0);
            Some(NoWay::EndBlocked { first, by: room.near?, short_mm: -room.mm })
        })
    }

    /// The shortest way found: one that leaves trim alone if there is one, else any that is clear, else the
    /// free one with what stands in its way. None where the ends can't be joined at all.
    pub(super) fn route(&self) -> Option<Route> {
        let wanted = Wanted {
            from: self.exit,
            to: self.port,
            bend_mm: self.bend_mm,
            longest_mm: self.longest_mm,
        };
        let mut why_not = self.lead_blocked();
        for hidden in [true, false] {
            if why_not.as_ref().is_some_and(|why| matches!(why, NoWay::EndBlocked { .. })) && hidden {
                break;
            }
            match find(&self.space(hidden), &wanted) {
                Ok(corners) => return Some(self.whole(corners.curve(), None)),
                Err(NoWay::TooClose) => return None,
                Err(NoWay::TooLong(curve)) => {
                    return Some(self.whole(curve.clone(), Some(NoWay::TooLong(curve))));
                }
                Err(other) => why_not = Some(other),
            }
        }
        let free = super::curve::unobstructed(&self.exit, &self.port, self.bend_mm)?;
        Some(self.whole(free, why_not))
    }

    /// Adds the leads and measures what the line comes near to.
    fn whole(&self, curve: Curve, why_not: Option<NoWay>) -> Route {
        let whole = curve.with_leads(
            self.exit.at - self.exit.towards * self.lead_mm,
            self.port.at + self.port.towards * self.lead_mm,
        );
        let (nearest, on_pump) = nearest_along(self, &whole);
        Route { curve: whole, nearest, on_pump, why_not }
    }
}

impl Route {
    /// Whether it keeps its gap to everything.
    pub(crate) fn clear(&self) -> bool {
        self.why_not.is_none()
    }

    /// The middle of its points.
    pub(crate) fn middle(&self) -> Option<Point> {
        self.curve.points.get(self.curve.points.len() / 2).copied()
    }
}
