//! From exit to port round whatever stands in the way.

use super::along::{Nearest, holders, nearest_along};
use super::curve::{Curve, End};
use super::room::{Held, Holder, Near, OwnPump, Sheets, Space};
use super::search::Searches;
use super::way::{Effort, NoWay, Wanted, find};
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
    /// Why not, what it concerns by name, and where.
    pub(crate) blocked_by: Option<(String, Point)>,
    /// Runs between supports: exit, clips, fitting, mm.
    pub(crate) spans_mm: Vec<f64>,
}

/// One line's question: its ends, its skin, the gap that it keeps.
#[derive(Clone)]
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
    /// What holds the line at its exit and in its clips.
    pub(super) holders: Vec<Holder>,
    /// Where it goes through clips, and how it runs there.
    pub(super) clips: Vec<End>,
    /// How searches for it ended so far.
    pub(super) searches: Searches,
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
        spot: &str,
    ) -> Option<Quest<'a>> {
        let lead_mm = line.lead_mm();
        let leave = line.from.towards.try_normalize(1e-9)?;
        let radius_mm = line.od_mm / 2.0;
        let gap_mm = boot.layout().limits.gap_line_mm;
        let exit = End { at: line.from.at + leave * lead_mm, towards: leave };
        let clips = clips_of(boot, line, spot);
        let near_mm = radius_mm + gap_mm;
        let held = Held { radius_mm, through_mm: lead_mm };
        let mut holders = holders(boot, &[line.from.at, exit.at], near_mm, held);
        for clip in &clips {
            holders.extend(super::along::holders(boot, &[clip.at], near_mm, held));
        }
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
            holders,
            exit,
            clips,
            searches: Searches::default(),
        })
    }

    /// The same where only ways of `usable_mm` at most, leads counted, are of use.
    pub(super) fn within(&self, usable_mm: f64) -> Quest<'a> {
        let longest_mm = (usable_mm - 2.0 * self.lead_mm).max(0.0).min(self.longest_mm);
        Quest { longest_mm, ..self.clone() }
    }

    /// What the line keeps away from; `hidden` lines keep from trim surfaces too.
    pub(super) fn space(&self, hidden: bool) -> Space<'_> {
        let port = self.port.at + self.port.towards * self.lead_mm;
        Space {
            field: &self.boot.field,
            need_mm: self.radius_mm + self.gap_mm,
            holders: &self.holders,
            pump: Some(OwnPump { solids: self.pump, pile: self.pile, port }),
            pump_mm: self.radius_mm,
            laid: Some(self.laid),
            laid_mm: self.radius_mm,
            sheets: hidden.then_some(Sheets {
                field: &self.boot.trim_field,
                need_mm: self.radius_mm,
                ends: [self.exit.at, self.port.at],
                let_be_mm: self.lead_mm.max(TRIM_LET_BE_MM),
            }),
            searches: Some(&self.searches),
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
        let exit = self.exit.at - self.exit.towards * self.lead_mm;
        let here = Held { radius_mm: self.radius_mm, through_mm: self.lead_mm };
        let held = holders(self.boot, &[exit], self.radius_mm + self.gap_mm, here);
        let space = Space { holders: &held, ..open.clone() };
        let port = self.port.at + self.port.towards * self.lead_mm;
        let ends = [(true, exit, self.exit.at), (false, self.port.at, port)];
        ends.into_iter().find_map(|(first, from, to)| {
            let at = space.blocked(&from, &to, 0.5)?;
            let room = space.room(&at, 1.0);
            Some(NoWay::EndBlocked { first, by: room.near?, short_mm: -room.mm })
        })
    }

    /// The shortest way found: one that leaves trim alone if there is one, else any that is clear, else the
    /// free one with what stands in its way. None where the ends can't be joined at all. Only a quick search
    /// looks for a way that leaves trim alone: the last one is for where a quick one found none.
    pub(super) fn route(&self, effort: Effort) -> Option<Route> {
        let mut why_not = self.lead_blocked();
        let passes: &[bool] = match (&why_not, effort) {
            (Some(_), _) => &[],
            (None, Effort::Glance | Effort::Quick) => &[true, false],
            (None, Effort::Last | Effort::Whole | Effort::Shorter) => &[false],
        };
        for hidden in passes {
            match self.legs(&self.space(*hidden), effort) {
                Ok((curve, spans_mm)) => {
                    return Some(Route { spans_mm, ..self.whole(curve, None) });
                }
                Err(NoWay::TooClose) => return None,
                Err(NoWay::TooLong(curve)) => {
                    return Some(self.whole(curve.clone(), Some(NoWay::TooLong(curve))));
                }
                Err(other) => why_not = Some(other),
            }
        }
        let free = super::curve::free_corners(&self.exit, &self.port, self.bend_mm)?;
        Some(self.whole(free.curve(), why_not))
    }

    /// The ways from exit through each clip to port, joined.
    fn legs(&self, space: &Space, effort: Effort) -> Result<(Curve, Vec<f64>), NoWay> {
        let mut from = self.exit;
        let mut whole: Option<Curve> = None;
        let mut spans_mm = Vec::new();
        for to in self.clips.iter().chain([&self.port]) {
            let gone_mm = whole.as_ref().map_or(0.0, |curve| curve.length_mm);
            let longest_mm = self.longest_mm - gone_mm;
            let wanted = Wanted { from, to: *to, bend_mm: self.bend_mm, longest_mm };
            let leg = find(space, &wanted, effort)?.curve();
            spans_mm.push(leg.length_mm);
            whole = Some(match whole {
                Some(before) => before.and(leg),
                None => leg,
            });
            from = *to;
        }
        // The straight leads belong to the first and the last run.
        if let Some(first) = spans_mm.first_mut() {
            *first += self.lead_mm;
        }
        if let Some(last) = spans_mm.last_mut() {
            *last += self.lead_mm;
        }
        whole.map(|whole| (whole, spans_mm)).ok_or(NoWay::TooClose)
    }

    /// Adds the leads and measures what the line comes near to.
    fn whole(&self, curve: Curve, why_not: Option<NoWay>) -> Route {
        let whole = curve.with_leads(
            self.exit.at - self.exit.towards * self.lead_mm,
            self.port.at + self.port.towards * self.lead_mm,
        );
        let (nearest, on_pump) = nearest_along(self, &whole);
        let named = |by: Near, at: Point| (self.name_of(by), at);
        let blocked_by = match &why_not {
            Some(NoWay::EndBlocked { first, by, .. }) => {
                Some(named(*by, if *first { self.exit.at } else { self.port.at }))
            }
            Some(NoWay::Closed { by: Some(by), at } | NoWay::TooTight { by: Some(by), at }) => {
                Some(named(*by, *at))
            }
            _ => None,
        };
        Route { curve: whole, nearest, on_pump, why_not, blocked_by, spans_mm: Vec::new() }
    }
}

/// Where a line goes through the clips that it has at a spot: half its thickness off each anchor.
fn clips_of(boot: &Boot, line: &Line, spot: &str) -> Vec<End> {
    let here = line.clips.iter().filter(|clip| clip.spot.as_deref().is_none_or(|own| own == spot));
    here.filter_map(|clip| {
        let anchor = boot.anchors().find(|anchor| anchor.name == clip.anchor)?;
        let out = anchor.normal.try_normalize(1e-9)?;
        let at = anchor.at + out * (line.od_mm / 2.0);
        Some(End { at, towards: clip.towards.try_normalize(1e-9)? })
    })
    .collect()
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

    /// Why there is no way, in one sentence, and where; none where there is one or it would be too long.
    pub(crate) fn reason(&self, line: &Line) -> Option<(String, Point)> {
        let (name, at) = self.blocked_by.clone()?;
        let words = match self.why_not.as_ref()? {
            NoWay::EndBlocked { first: true, short_mm, .. } => format!(
                "{} can't leave its exit: {name} stands {short_mm:.1} mm too near to its straight lead; \
                 look at where its exit was measured",
                line.name
            ),
            NoWay::EndBlocked { short_mm, .. } => format!(
                "{} can't come to {}: {name} stands {short_mm:.1} mm too near to the fitting's straight \
                 lead; turn the pump or move it away",
                line.name, line.to
            ),
            NoWay::Closed { .. } => format!(
                "no clear way found for {}: {name} is in the way, and no string was found to get round it",
                line.name
            ),
            _ => format!(
                "no clear way found for {}: {name} is in the way of bends of its radius",
                line.name
            ),
        };
        Some((words, at))
    }
}
