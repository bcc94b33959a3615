//! What more fixings would buy.

use serde::Serialize;

use super::balance::{Held, Load, Mounting, Unsolved};
use super::fit::{MountAt, WEDGE_MM, reach_mm, trouble};
use super::holding::Holding;
use super::load::{Case, MOST};
use super::shopping::{Item, gathered, parts};
use super::strength::tie_working_n;
use crate::checks::Boot;
use crate::geometry::Solid;
use crate::model::{Anchor, AnchorKind, Fixing, FixingKind, Point};

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

fn holding(
    kind: FixingKind,
    anchor: &Anchor,
    mount: &MountAt,
    anchor_n: f64,
    friction: f64,
) -> Option<Holding> {
    let at = mount.at;
    Some(match kind {
        FixingKind::Bolt { working_n } | FixingKind::Clamp { working_n } => {
            Holding::Bolt { at, working_n: working_n.min(anchor_n) }
        }
        FixingKind::Strap { working_n } => {
            let along = (anchor.at - at).try_normalize(1e-6)?;
            Holding::Pull { at, along, working_n: working_n.min(anchor_n) }
        }
        FixingKind::Tie { width_mm } => {
            let along = (anchor.at - at).try_normalize(1e-6)?;
            Holding::Pull { at, along, working_n: tie_working_n(width_mm).min(anchor_n) }
        }
        FixingKind::Wedge { working_n } => {
            let along = anchor.normal.try_normalize(1e-9)?;
            Holding::Wedge { at, along, friction, working_n: working_n.min(anchor_n) }
        }
    })
}

/// A fixing that could be added, what it can do, and what to buy for it.
type Candidate = (Fixing, Holding, Vec<Item>);

/// What is asked about fixings to be added.
pub(super) struct Asked<'a> {
    pub(super) boot: &'a Boot,
    pub(super) pump: &'a [Solid],
    pub(super) mounts: &'a [MountAt<'a>],
    pub(super) cases: &'a [Case],
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

    fn factor(&self, holdings: &[Holding], centre: &Point) -> Result<f64, Unsolved> {
        least(&mut Mounting::of(holdings, centre, self.boot.pump().mass_kg), self.cases)
    }

    /// Every fixing of a kind that isn't chosen yet and would be of use, with what it can do.
    fn candidates(&self, kinds: &[&[FixingKind]], chosen: &[Fixing]) -> Vec<Candidate> {
        let (boot, pump) = (self.boot, self.pump);
        let friction = boot.layout().limits.friction;
        let mut found = Vec::new();
        for anchor in boot.anchors() {
            let used = chosen.iter().filter(|fixing| fixing.anchor == anchor.name).count();
            for mount in self.mounts {
                for choice in kinds {
                    let kind = choice.iter().find(|kind| {
                        (anchor.at - mount.at).norm() <= reach_mm(boot, **kind)
                            && trouble(boot, pump, **kind, anchor, mount).is_none()
                    });
                    let Some(kind) = kind else { continue };
                    let fixing = Fixing {
                        kind: *kind,
                        mount: mount.mount.name.clone(),
                        anchor: anchor.name.clone(),
                    };
                    // A second one beside it would share its anchor and its line.
                    let there = |known: &Fixing| {
                        known.mount == fixing.mount && known.anchor == fixing.anchor
                    };
                    if chosen.iter().any(there) {
                        continue;
                    }
                    let anchor_n = anchor.strength_n / (used + 1) as f64;
                    let Some(holding) = holding(*kind, anchor, mount, anchor_n, friction) else {
                        continue;
                    };
                    let items = gathered(parts(*kind, anchor, mount).into_iter());
                    found.push((fixing, holding, items));
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
            added.holdings.push(holding);
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
            let mut mounting = Mounting::of(holdings, centre, self.boot.pump().mass_kg);
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
            let with: Vec<Holding> = added.holdings.iter().copied().chain([holding]).collect();
            let now = merit(&with)?;
            if now.0 > beaten.0 + 1e-6 || now.0 > beaten.0 - 1e-6 && now.1 > beaten.1 + 1e-6 {
                beaten = now;
                found = Some((Offer { fixing, factor: now.0, items }, holding));
            }
        }
        let Some((offer, holding)) = found else { return Ok(false) };
        added.holdings.push(holding);
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
