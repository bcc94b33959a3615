//! The checks: one door, five headlines, one folder each, one file a question.

mod boot;
pub mod carpet;
mod details;
pub mod feed;
pub mod hold;
mod placing;
pub mod reach;
mod routing;
mod scorecard;
mod tolerance;
pub mod water;

pub use boot::{
    BOOT_SPACE, Boot, BootBody, BootMover, BootTrim, MOST_RESERVOIR_TRIANGLES, Meshes,
    PrepareError, RESERVOIR,
};
pub(crate) use carpet::clearance::measured_mm as body_tolerance_mm;
pub use details::{Details, Note};
pub use placing::Picked;
pub(crate) use scorecard::Reading;
pub use scorecard::{
    Check, Drawn, DrawnCutOut, DrawnFixing, DrawnLine, DrawnSurface, DrawnWater, Headline,
    HeadlineId, Holds, Scorecard, Verdict,
};
pub use tolerance::{tolerance_runs, tolerance_runs_watched};

use crate::geometry::Solid;
use crate::model::{Pose, Spot};

/// Which headlines are asked for, and whether a failing one ends the questions.
#[derive(Debug, Clone, PartialEq)]
pub struct Ask {
    /// The headlines wanted.
    pub headlines: Vec<HeadlineId>,
    /// Whether to stop after the first headline that fails.
    pub stop_at_fail: bool,
    /// Whether the details are worked out too.
    pub details: bool,
    /// Whether the surface of accelerations that move the pump is to be drawn; see the bench `hold` for
    /// what it costs.
    pub rock: bool,
    /// Whether a bound below the depth will do where the pump overlaps a mesh, as while it is dragged:
    /// found at once, where the depth itself takes a search. The reason then says `at least`; verdicts and
    /// scores stay the same. See the bench `gaps` for what either costs.
    pub rough_depths: bool,
    /// Lines as they were routed before, for the lift of lines, when reach isn't asked for.
    pub lines: Vec<DrawnLine>,
}

impl Default for Ask {
    fn default() -> Self {
        Ask {
            headlines: HeadlineId::ALL.to_vec(),
            stop_at_fail: false,
            details: false,
            rock: false,
            rough_depths: false,
            lines: Vec::new(),
        }
    }
}

/// The cheapest headline first, so that a caller who stops at the first failure waits least.
const CHEAPEST_FIRST: [HeadlineId; 5] =
    [HeadlineId::Feed, HeadlineId::Water, HeadlineId::Hold, HeadlineId::Reach, HeadlineId::Carpet];

/// The one door to the checks: what a spot's five headlines come to.
///
/// Safe to call from many threads; the same boot and spot give the same bytes.
/// Cost: see `evaluate` under tests/bench.
///
/// ```
/// let opened = dryberth::format::open_demo(None).unwrap();
/// let boot = opened.boot(&dryberth::checks::Boot::usual_options(&opened.layout)).unwrap();
/// let card = dryberth::checks::evaluate(&boot, &opened.layout.spots[0]);
/// assert_eq!(card.headlines.len(), 5);
/// ```
pub fn evaluate(boot: &Boot, spot: &Spot) -> Scorecard {
    evaluate_some(boot, spot, &Ask::default())
}

/// Like [`evaluate`], for some of the headlines only. A headline's figures don't depend on which
/// others were asked for, except that the lift of lines counts only when reach is asked for too, or by
/// the lines handed over.
pub fn evaluate_some(boot: &Boot, spot: &Spot, ask: &Ask) -> Scorecard {
    let pose = spot.place.pose();
    let pump = boot.pump_at(&spot.place);
    let mut drawn = Drawn { lines: ask.lines.clone(), ..Drawn::default() };
    let mut details = ask.details.then(Details::default);
    let asked = |id: &HeadlineId| ask.headlines.contains(id);
    // The carpet line needs to know how far the pump shakes.
    let hold = [HeadlineId::Hold, HeadlineId::Carpet]
        .iter()
        .any(asked)
        .then(|| hold::Hold::of(boot, &pump, &pose, spot));
    let mut headlines: Vec<Headline> = Vec::new();
    for id in CHEAPEST_FIRST.into_iter().filter(|id| ask.headlines.contains(id)) {
        let checks = match id {
            HeadlineId::Reach => {
                let wanted = details.as_mut().map(|details| &mut details.reach);
                let (checks, lines) = reach::check(boot, &pump, &pose, &spot.name, wanted);
                drawn.lines = lines;
                checks
            }
            HeadlineId::Carpet => {
                let shake = hold.as_ref().and_then(hold::Hold::shake);
                let fixings = hold.as_ref().map(hold::Hold::drawn).unwrap_or_default();
                let asked = carpet::Asked {
                    pump: &pump,
                    pose: &pose,
                    lines: &drawn.lines,
                    fixings: &fixings,
                    shake,
                    details: ask.details,
                    rough_depths: ask.rough_depths,
                };
                let (checks, gaps, found) = carpet::check(boot, &asked);
                drawn.gaps = gaps;
                drawn.cut_outs = found
                    .lifts
                    .iter()
                    .flat_map(|lift| lift.outlines.iter().map(|outline| (&lift.trim, outline)))
                    .map(|(trim, outline)| DrawnCutOut {
                        trim: trim.clone(),
                        outline: outline.clone(),
                    })
                    .collect();
                if let Some(details) = &mut details {
                    details.carpet = found;
                }
                checks
            }
            HeadlineId::Feed => {
                let found = feed::check(boot, &pose);
                drawn.surface = found.surface;
                drawn.tank = found.tank;
                if let Some(details) = &mut details {
                    details.feed = feed::details(boot, &pose);
                }
                found.checks
            }
            HeadlineId::Water => {
                let solids = (boot.water_error_mm != 0.0).then(|| {
                    let higher = boot.over_water(&Pose::identity());
                    pump.iter().map(|solid| solid.moved(&higher)).collect::<Vec<Solid>>()
                });
                let pose = boot.over_water(&pose);
                let found = water::check(boot, &pose, solids.as_deref().unwrap_or(&pump));
                drawn.water = found.worst;
                drawn.drips = found.drips;
                if let Some(details) = &mut details {
                    details.water = water::details(boot, &pose);
                }
                found.checks
            }
            HeadlineId::Hold => {
                let Some(hold) = &hold else { continue };
                drawn.fixings = hold.drawn();
                drawn.rests = hold.rests();
                if ask.rock {
                    drawn.rock = hold.rock();
                }
                if let Some(details) = &mut details {
                    details.hold = hold.details(drawn.rock.as_ref());
                }
                hold.checks()
            }
        };
        let headline = Headline::of(id, checks);
        let failed = headline.verdict == Verdict::Fail;
        headlines.push(headline);
        if failed && ask.stop_at_fail {
            break;
        }
    }
    headlines.sort_by_key(|headline| headline.id);
    let mut card = Scorecard::of(&spot.name, headlines, &boot.layout().weights, drawn);
    card.details = details;
    card
}
