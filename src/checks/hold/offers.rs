//! What one more fixing would buy.

use serde::Serialize;

use super::balance::{Held, Load, Mounting, Unsolved};
use super::fit::{MountAt, WEDGE_MM, reach_mm, trouble};
use super::holding::Holding;
use super::load::{Case, MOST};
use super::shopping::{Item, gathered, parts};
use super::strength::tie_working_n;
use crate::checks::Boot;
use crate::geometry::Solid;
use crate::model::{Anchor, AnchorKind, Fixing, FixingKind};

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

/// Every fixing of a kind that isn't chosen yet and would be of use, with what it can do.
fn candidates(
    boot: &Boot,
    pump: &[Solid],
    mounts: &[MountAt],
    kinds: &[&[FixingKind]],
    chosen: &[Fixing],
) -> Vec<(Fixing, Holding, Vec<Item>)> {
    let friction = boot.layout().limits.friction;
    let mut found = Vec::new();
    for anchor in boot.anchors() {
        let used = chosen.iter().filter(|fixing| fixing.anchor == anchor.name).count();
        for mount in mounts {
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
                let there =
                    |known: &Fixing| known.mount == fixing.mount && known.anchor == fixing.anchor;
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

/// The tie that lifts the smallest load factor most; none when none lifts it.
///
/// `holdings` is what holds it now and `factor` how much. Every mount is tried with every anchor that a
/// tie goes to. Where its anchor is used already, the others keep the share of it that they had.
///
/// # Errors
/// When the solver fails.
pub(super) fn one_more_tie(
    boot: &Boot,
    pump: &[Solid],
    mounts: &[MountAt],
    holdings: &[Holding],
    chosen: &[Fixing],
    cases: &[Case],
) -> Result<Option<Offer>, Unsolved> {
    let ties = WIDTHS_MM.map(|width_mm| FixingKind::Tie { width_mm });
    let found = candidates(boot, pump, mounts, &[&ties], chosen);
    best(boot, mounts, holdings, found, cases)
}

fn best(
    boot: &Boot,
    mounts: &[MountAt],
    holdings: &[Holding],
    candidates: Vec<(Fixing, Holding, Vec<Item>)>,
    cases: &[Case],
) -> Result<Option<Offer>, Unsolved> {
    let Some(centre) = mounting_centre(boot, mounts) else { return Ok(None) };
    let mass_kg = boot.pump().mass_kg;
    let now = least(&mut Mounting::of(holdings, &centre, mass_kg), cases)?;
    let mut offer: Option<Offer> = None;
    for (fixing, holding, items) in candidates {
        let with: Vec<Holding> = holdings.iter().copied().chain([holding]).collect();
        let mut mounting = Mounting::of(&with, &centre, mass_kg);
        let beaten = offer.as_ref().map_or(now, |offer| offer.factor);
        let mut factor = MOST;
        for case in cases {
            factor = factor.min(least(&mut mounting, std::slice::from_ref(case))?);
            if factor <= beaten + 1e-6 {
                break;
            }
        }
        if factor > beaten + 1e-6 {
            offer = Some(Offer { fixing, factor, items });
        }
    }
    Ok(offer)
}

/// Fixings that would hold the pump at this spot from nothing but its rests: bolts and clamps where they
/// fit, then at most four ties, each the one that lifts the factor most, until it is held once over.
///
/// # Errors
/// When the solver fails.
pub(super) fn proposed(
    boot: &Boot,
    pump: &[Solid],
    mounts: &[MountAt],
    rests: &[Holding],
    cases: &[Case],
) -> Result<Vec<Offer>, Unsolved> {
    let bolt = [FixingKind::Bolt { working_n: BOLT_N }];
    let clamp = [FixingKind::Clamp { working_n: CLAMP_N }];
    let wedge = [FixingKind::Wedge { working_n: FOAM_N }];
    let ties = WIDTHS_MM.map(|width_mm| FixingKind::Tie { width_mm });
    let straps = [FixingKind::Strap { working_n: 300.0 }];
    let mut holdings = rests.to_vec();
    let mut chosen: Vec<Fixing> = Vec::new();
    let mut offers = Vec::new();
    let Some(centre) = mounting_centre(boot, mounts) else { return Ok(offers) };
    // A hole is not drilled where something is there already.
    let ready = candidates(boot, pump, mounts, &[&bolt, &clamp], &[]);
    let drilled = |fixing: &Fixing| {
        boot.anchors().any(|it| it.name == fixing.anchor && matches!(it.kind, AnchorKind::Face))
    };
    for (fixing, holding, items) in ready.into_iter().filter(|it| !drilled(&it.0)) {
        let taken = |known: &Fixing| known.mount == fixing.mount || known.anchor == fixing.anchor;
        if chosen.iter().any(taken) {
            continue;
        }
        holdings.push(holding);
        chosen.push(fixing.clone());
        let mut mounting = Mounting::of(&holdings, &centre, boot.pump().mass_kg);
        offers.push(Offer { fixing, factor: least(&mut mounting, cases)?, items });
    }
    for _ in 0..4 {
        let mut mounting = Mounting::of(&holdings, &centre, boot.pump().mass_kg);
        let now = least(&mut mounting, cases)?;
        if now >= 1.0 {
            break;
        }
        // Straps only go round bars here: through slots a tie is less trouble.
        let soft: Vec<_> = candidates(boot, pump, mounts, &[&ties, &straps, &wedge], &chosen)
            .into_iter()
            .filter(|(fixing, ..)| {
                !matches!(fixing.kind, FixingKind::Strap { .. })
                    || boot.anchors().any(|it| {
                        it.name == fixing.anchor && matches!(it.kind, AnchorKind::Bar { .. })
                    })
            })
            .collect();
        let Some(next) = lifting(boot, mounts, &holdings, soft, cases)? else { break };
        holdings.push(next.1);
        chosen.push(next.0.fixing.clone());
        offers.push(next.0);
    }
    Ok(offers)
}

/// The candidate that lifts the factor most, or, while nothing lifts it from nothing, the sum of factors
/// over the cases.
fn lifting(
    boot: &Boot,
    mounts: &[MountAt],
    holdings: &[Holding],
    candidates: Vec<(Fixing, Holding, Vec<Item>)>,
    cases: &[Case],
) -> Result<Option<(Offer, Holding)>, Unsolved> {
    let Some(centre) = mounting_centre(boot, mounts) else { return Ok(None) };
    let merit = |holdings: &[Holding]| -> Result<(f64, f64), Unsolved> {
        let mut mounting = Mounting::of(holdings, &centre, boot.pump().mass_kg);
        let (mut least_of, mut sum) = (MOST, 0.0);
        for case in cases {
            let factor = least(&mut mounting, std::slice::from_ref(case))?;
            least_of = f64::min(least_of, factor);
            sum += factor.min(2.0);
        }
        Ok((least_of, sum))
    };
    let mut beaten = merit(holdings)?;
    let mut found = None;
    for (fixing, holding, items) in candidates {
        let with: Vec<Holding> = holdings.iter().copied().chain([holding]).collect();
        let now = merit(&with)?;
        if now.0 > beaten.0 + 1e-6 || now.0 > beaten.0 - 1e-6 && now.1 > beaten.1 + 1e-6 {
            beaten = now;
            found = Some((Offer { fixing, factor: now.0, items }, holding));
        }
    }
    Ok(found)
}

/// The centre of gravity where the mounts stand; none without a mount.
fn mounting_centre(boot: &Boot, mounts: &[MountAt]) -> Option<crate::model::Point> {
    mounts.first().map(|mount| mount.pose * boot.pump().centre_of_gravity)
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
