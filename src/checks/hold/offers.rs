//! What more fixings would buy.

use serde::Serialize;

use super::balance::{Held, Load, Mounting, Unsolved};
use super::bands::{Taken, crowded, unsure};
use super::fit::{MountAt, Tried, WEDGE_MM, reach_mm, trouble};
use super::foam::{self, jams};
use super::holding::Holding;
use super::load::{Case, MOST};

use super::shopping::{Item, gathered, parts};
use super::strength::tie_working_n;
use crate::checks::Boot;
use crate::geometry::Solid;
use crate::model::{Anchor, AnchorKind, Fixing, FixingKind, Limits, Point};

/// A fixing that could be added.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Offer {
    /// What, from which mount to which anchor.
    pub fixing: Fixing,
    /// The smallest load factor with it, at most 50.
    pub factor: f64,
    /// What to buy for it.
    pub items: Vec<Item>,
}

/// A block of foam that would go in between the pump and a body, measured from the geometry.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct FoamOffer {
    /// The mount that it would press on.
    pub mount: String,
    /// The body that it would stand against.
    pub body: String,
    /// Room for it, mm.
    pub room_mm: f64,
}

/// Widths of ties on offer, mm: the strongest that goes through is taken.
const WIDTHS_MM: [f64; 3] = [9.0, 7.6, 4.8];

/// Working strength of what is offered, N: a bolt M6 on rubber, an edge clamp, foam by hand. Common
/// practice, no source.
const BOLT_N: f64 = 200.0;
const CLAMP_N: f64 = 150.0;
const FOAM_N: f64 = 50.0;

/// The smallest factor over cases, at most 50.
pub(super) fn least(mounting: &mut Mounting, cases: &[Case]) -> Result<f64, Unsolved> {
    let mut least = MOST;
    for case in cases {
        least = least.min(match mounting.carries(&Load::default(), &case.load)?.held {
            Held::Nothing => 0.0,
            Held::Factor(factor) => factor,
            Held::AnyMultiple => MOST,
        });
    }
    Ok(least)
}

fn holdings(
    tried: Tried,
    anchor: &Anchor,
    mount: &MountAt,
    anchor_n: f64,
    limits: &Limits,
) -> Vec<Holding> {
    let at = mount.at;
    let pull = |working_n: f64| {
        let along = (anchor.at - at).try_normalize(1e-6)?;
        Some(Holding::Pull { at, along, working_n: working_n.min(anchor_n) })
    };
    let one = match tried.kind {
        FixingKind::Bolt { working_n } | FixingKind::Clamp { working_n } => {
            Some(Holding::Bolt { at, working_n: working_n.min(anchor_n) })
        }
        FixingKind::Strap { working_n } => pull(working_n),
        FixingKind::Tie { width_mm } => pull(tie_working_n(width_mm)),
        FixingKind::Wedge { working_n } => {
            let Some(along) = anchor.normal.try_normalize(1e-9) else { return Vec::new() };
            let squeeze_n = tried.squeeze_mm.unwrap_or(0.0) * limits.wedge_n_mm;
            return foam::foam(&at, &along, limits.friction, squeeze_n, working_n.min(anchor_n));
        }
    };
    one.into_iter().collect()
}

/// A fixing that could be added, what it can do, and what to buy for it.
type Candidate = (Fixing, Vec<Holding>, Vec<Item>);

/// What is asked about fixings to be added.
pub(super) struct Asked<'a> {
    pub(super) boot: &'a Boot,
    pub(super) pump: &'a [Solid],
    pub(super) mounts: &'a [MountAt<'a>],
    pub(super) cases: &'a [Case],
}

/// Most that foam on offer is pressed, as a share of its gap. Common practice, no source.
const PRESSED: f64 = 0.25;

/// The ways in which a kind may be put on an anchor, the plainest first: round a stud bare, or under a nut;
/// foam pressed as much as makes its push, and no more than a quarter over its gap.
fn ways(kind: FixingKind, anchor: &Anchor, mount: &MountAt, limits: &Limits) -> Vec<Tried> {
    let plain = Tried::plain(kind);
    let stud = matches!(anchor.kind, AnchorKind::Stud { .. });
    match kind {
        FixingKind::Tie { .. } | FixingKind::Strap { .. } if stud => {
            vec![plain, Tried { nut: true, ..plain }]
        }
        FixingKind::Wedge { working_n } => {
            let out = anchor.normal.try_normalize(1e-9);
            let gap_mm = out.map_or(0.0, |out| out.dot(&(mount.at - anchor.at)).abs());
            let push_n = working_n.min(anchor.strength_n);
            let squeeze_mm = (push_n / limits.wedge_n_mm).min(PRESSED * gap_mm);
            vec![Tried { squeeze_mm: Some(squeeze_mm), ..plain }]
        }
        _ => vec![plain],
    }
}

/// Said where no ties lift the load factor, but something else would.
pub(super) const NO_TIE_HELPS: &str = "no one, two or three more ties to the anchors in reach lift the \
load factor: take what is listed from nothing, rest it on something, or take another spot";

/// Said where nothing within reach holds the pump.
pub(super) const CANT_BE_HELD: &str = "nothing that goes to the anchors in reach, bolts, clamps, straps, \
ties or foam, four of the soft ones at the most, would hold it here: make a bracket or take another spot";

/// A lift of the load factor smaller than this is none: it doesn't show in two figures.
pub(super) const LIFT: f64 = 0.005;

/// Most ties that are offered together.
const TOGETHER: usize = 3;

/// Most soft fixings that are proposed.
const SOFT: usize = 4;

/// Fixings added one after another, each with what it can do.
#[derive(Default)]
struct Added {
    offers: Vec<Offer>,
    holdings: Vec<Holding>,
    chosen: Vec<Fixing>,
}

impl Asked<'_> {
    /// The centre of gravity where the mounts stand; none without a mount.
    fn centre(&self) -> Option<Point> {
        self.mounts.first().map(|mount| mount.pose * self.boot.pump().centre_of_gravity)
    }

    fn mounting(&self, holdings: &[Holding], centre: &Point) -> Mounting {
        let jams = jams(holdings.iter());
        let holdings = holdings.iter().zip(jams).filter(|(_, jams)| !jams);
        let holdings: Vec<Holding> = holdings.map(|(holding, _)| *holding).collect();
        Mounting::of(&holdings, centre, self.boot.pump().mass_kg)
    }

    fn factor(&self, holdings: &[Holding], centre: &Point) -> Result<f64, Unsolved> {
        least(&mut self.mounting(holdings, centre), self.cases)
    }

    /// Every fixing of a kind that isn't chosen yet and would be of use, with what it can do.
    fn candidates(&self, kinds: &[&[FixingKind]], chosen: &[Fixing]) -> Vec<Candidate> {
        let (boot, pump) = (self.boot, self.pump);
        let limits = &boot.layout().limits;
        let there: Vec<Taken> = chosen.iter().map(Taken::of).collect();
        let mut found = Vec::new();
        for anchor in boot.anchors() {
            let used = chosen.iter().filter(|fixing| fixing.anchor == anchor.name).count();
            for mount in self.mounts {
                for choice in kinds {
                    let tried = choice
                        .iter()
                        .flat_map(|kind| ways(*kind, anchor, mount, limits))
                        .find(|tried| {
                            (anchor.at - mount.at).norm() <= reach_mm(boot, tried.kind)
                                && crowded(tried.kind, anchor, mount, &there).is_none()
                                && unsure(tried.kind, anchor).is_none()
                                && trouble(boot, pump, *tried, anchor, mount).is_none()
                        });
                    let Some(tried) = tried else { continue };
                    let fixing = Fixing {
                        nut: tried.nut,
                        squeeze_mm: tried.squeeze_mm,
                        ..Fixing::new(tried.kind, &mount.mount.name, &anchor.name)
                    };
                    // A second one beside it would share its anchor and its line.
                    let there = |known: &Fixing| {
                        known.mount == fixing.mount && known.anchor == fixing.anchor
                    };
                    if chosen.iter().any(there) {
                        continue;
                    }
                    let anchor_n = anchor.strength_n / (used + 1) as f64;
                    let holdings = holdings(tried, anchor, mount, anchor_n, limits);
                    if holdings.is_empty() {
                        continue;
                    }
                    let items = gathered(parts(tried, anchor, mount).into_iter());
                    found.push((fixing, holdings, items));
                }
            }
        }
        found
    }

    /// The fewest ties, three at the most, that lift the smallest load factor, the last with the factor
    /// that all together give, and the factor as it is; no tie where none lift it.
    ///
    /// `holdings` is what holds it now. Every mount is tried with every anchor that a tie goes to. Where its
    /// anchor is used already, the others keep the share of it that they had. Several are found one after
    /// another, each the one that helps most: others together may help more.
    ///
    /// # Errors
    /// When the solver fails.
    pub(super) fn more_ties(
        &self,
        holdings: &[Holding],
        chosen: &[Fixing],
    ) -> Result<(Vec<Offer>, f64), Unsolved> {
        let Some(centre) = self.centre() else { return Ok((Vec::new(), 0.0)) };
        let now = self.factor(holdings, &centre)?;
        let ties = WIDTHS_MM.map(|width_mm| FixingKind::Tie { width_mm });
        let mut added =
            Added { holdings: holdings.to_vec(), chosen: chosen.to_vec(), ..Added::default() };
        for _ in 0..TOGETHER {
            let found = self.candidates(&[&ties], &added.chosen);
            if !self.add_best(&mut added, &centre, found)? {
                break;
            }
            if added.offers.last().is_some_and(|offer| offer.factor > now + LIFT) {
                return Ok((added.offers, now));
            }
        }
        Ok((Vec::new(), now))
    }

    /// Fixings that would hold the pump at this spot from nothing but its rests: bolts and clamps where they
    /// fit, then at most four ties, straps and wedges, each the one that lifts the factor most, until it is
    /// held once over. What lifts nothing, even together, is left out.
    ///
    /// # Errors
    /// When the solver fails.
    pub(super) fn proposed(&self, rests: &[Holding]) -> Result<Vec<Offer>, Unsolved> {
        let boot = self.boot;
        let bolt = [FixingKind::Bolt { working_n: BOLT_N }];
        let clamp = [FixingKind::Clamp { working_n: CLAMP_N }];
        let wedge = [FixingKind::Wedge { working_n: FOAM_N }];
        let ties = WIDTHS_MM.map(|width_mm| FixingKind::Tie { width_mm });
        let straps = [FixingKind::Strap { working_n: 300.0 }];
        let Some(centre) = self.centre() else { return Ok(Vec::new()) };
        let from = self.factor(rests, &centre)?;
        let mut added = Added { holdings: rests.to_vec(), ..Added::default() };
        let kind_of = |fixing: &Fixing| {
            boot.anchors().find(|it| it.name == fixing.anchor).map(|anchor| anchor.kind)
        };
        // A hole is not drilled where something is there already.
        let drilled = |fixing: &Fixing| matches!(kind_of(fixing), Some(AnchorKind::Face));
        let ready = self.candidates(&[&bolt, &clamp], &[]);
        for (fixing, holding, items) in ready.into_iter().filter(|it| !drilled(&it.0)) {
            let taken =
                |known: &Fixing| known.mount == fixing.mount || known.anchor == fixing.anchor;
            if added.chosen.iter().any(taken) {
                continue;
            }
            added.holdings.extend(holding);
            added.chosen.push(fixing.clone());
            let factor = self.factor(&added.holdings, &centre)?;
            added.offers.push(Offer { fixing, factor, items });
        }
        for _ in 0..SOFT {
            if self.factor(&added.holdings, &centre)? >= 1.0 {
                break;
            }
            // Straps only go round bars here: through slots a tie is less trouble.
            let soft: Vec<Candidate> = self
                .candidates(&[&ties, &straps, &wedge], &added.chosen)
                .into_iter()
                .filter(|(fixing, ..)| {
                    !matches!(fixing.kind, FixingKind::Strap { .. })
                        || matches!(kind_of(fixing), Some(AnchorKind::Bar { .. }))
                })
                .collect();
            if !self.add_best(&mut added, &centre, soft)? {
                break;
            }
        }
        // What comes after the last lift helps nothing.
        let mut known = from;
        let mut kept = 0;
        for (index, offer) in added.offers.iter().enumerate() {
            if offer.factor > known + LIFT {
                known = offer.factor;
                kept = index + 1;
            }
        }
        added.offers.truncate(kept);
        Ok(added.offers)
    }

    /// Adds the candidate that lifts the factor most, or, while nothing lifts it, the sum of factors over the
    /// cases. Whether there was one.
    fn add_best(
        &self,
        added: &mut Added,
        centre: &Point,
        candidates: Vec<Candidate>,
    ) -> Result<bool, Unsolved> {
        let merit = |holdings: &[Holding]| -> Result<(f64, f64), Unsolved> {
            let mut mounting = self.mounting(holdings, centre);
            let (mut least_of, mut sum) = (MOST, 0.0);
            for case in self.cases {
                let factor = least(&mut mounting, std::slice::from_ref(case))?;
                least_of = f64::min(least_of, factor);
                sum += factor.min(2.0);
            }
            Ok((least_of, sum))
        };
        let mut beaten = merit(&added.holdings)?;
        let mut found = None;
        for (fixing, holding, items) in candidates {
            let with: Vec<Holding> =
                added.holdings.iter().copied().chain(holding.iter().copied()).collect();
            let now = merit(&with)?;
            if now.0 > beaten.0 + 1e-6 || now.0 > beaten.0 - 1e-6 && now.1 > beaten.1 + 1e-6 {
                beaten = now;
                found = Some((Offer { fixing, factor: now.0, items }, holding));
            }
        }
        let Some((offer, holding)) = found else { return Ok(false) };
        added.holdings.extend(holding);
        added.chosen.push(offer.fixing.clone());
        added.offers.push(offer);
        Ok(true)
    }
}

/// Rooms beside the pump that a block of foam would fill, from each mount out to the first body.
pub(super) fn foam(boot: &Boot, mounts: &[MountAt]) -> Vec<FoamOffer> {
    let room = |mount: &MountAt| {
        let hits = boot.bodies().filter_map(|(body, solid)| {
            let hit = solid.ray(&mount.at, &mount.towards, WEDGE_MM.1)?;
            Some((hit, &body.name))
        });
        let (hit, body) = hits.min_by(|a, b| a.0.distance_mm.total_cmp(&b.0.distance_mm))?;
        let square = -hit.normal.dot(&mount.towards) >= 0.9;
        (square && hit.distance_mm >= WEDGE_MM.0).then(|| FoamOffer {
            mount: mount.mount.name.clone(),
            body: body.clone(),
            room_mm: hit.distance_mm,
        })
    };
    mounts.iter().filter_map(room).collect()
}
