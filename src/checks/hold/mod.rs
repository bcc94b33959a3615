//! Headline hold: is there something to hold to, does it carry the pump, and how does it shake?

mod balance;
mod bands;
mod barred;
mod carries;
mod cautions;
mod details;
mod dual;
mod fit;
mod foam;
mod holding;
mod inertia;
mod load;
mod offers;
mod plate;
mod points;
mod program;
mod random;
mod reactions;
mod rests;
mod rock;
mod shake;
mod shopping;
mod strength;
mod tool;
mod walk;

pub use balance::{Carried, Held, Load, Mounting, Unsolved};
pub use cautions::Caution;
pub use details::{CaseResult, HoldDetails, NOT_CERTIFIED, Reaction, RockResult, ShakeResult};
pub use foam::Pressed;
pub use holding::{FRICTION_SIDES, Holding};
pub use inertia::inertia_kg_mm2;
pub use load::{CASES, CRASH, Case, LoadCase, load_factor, start_torque_nm};
pub use offers::{FoamOffer, Offer};
pub use plate::{PatternMatch, Plate, PlateHole};
pub use random::{BODY_PROFILE, density_at, mean_square, miles_rms, octave_db};
pub use reactions::Reactions;
pub use rests::{Packing, Rest};
pub use rock::{ROCK_MOST_G, Rock, rock};
pub use shake::{Mode, Shake, Spring};
pub use shopping::Item;
pub use strength::tie_loop_n;

use super::{Boot, Check, DrawnFixing};
use crate::geometry::Solid;
use crate::model::{Point, Pose, Shape, Spot};
use fit::MountAt;
use points::Fixed;

/// How a spot holds the pump: worked out once for every check that asks.
pub(crate) struct Hold<'a> {
    boot: &'a Boot,
    pump: &'a [Solid],
    pose: Pose,
    spot: &'a Spot,
    centre: Point,
    fixed: Vec<Fixed<'a>>,
    rests: Vec<Rest>,
    packings: Vec<Packing>,
    shake: Option<Shake>,
}

impl<'a> Hold<'a> {
    pub(crate) fn of(boot: &'a Boot, pump: &'a [Solid], pose: &Pose, spot: &'a Spot) -> Hold<'a> {
        let centre = pose * boot.pump().centre_of_gravity;
        let fixed = points::fixed(boot, pump, pose, spot);
        let (rests, packings) = rests::rests(boot, pump);
        let mut hold =
            Hold { boot, pump, pose: *pose, spot, centre, fixed, rests, packings, shake: None };
        // About a centre of gravity that can't be right it would ring at nothing that is.
        if hold.centre_off_mm().is_none() {
            let springs = shake::springs(&boot.layout().limits, &hold.fixed, &hold.rests);
            hold.shake = shake::shake(boot, pump, &centre, &springs, spot.tap_hz);
        }
        hold
    }

    /// How it vibrates; none when the pump's solids enclose no volume, or its centre of gravity can't be
    /// right.
    pub(crate) fn shake(&self) -> Option<&Shake> {
        self.shake.as_ref()
    }

    /// The checks of the hold headline.
    pub(crate) fn checks(&self) -> Vec<Check> {
        let (boot, pump, fixed) = (self.boot, self.pump, &self.fixed);
        let mut checks = vec![
            points::in_reach(boot, pump, &self.pose),
            points::usable(boot, &self.pose, self.spot, fixed),
        ];
        checks.extend(points::farthest(boot, fixed));
        checks.extend(tool::check(boot, pump, fixed));
        checks.extend(cautions::drill(boot, fixed));
        checks.push(carries::check(self));
        let off_mm = self.centre_off_mm();
        checks.push(shake::check(self.shake.as_ref(), off_mm, self.spot.tap_hz, &self.centre));
        checks
    }

    /// The fixings to draw.
    pub(crate) fn drawn(&self) -> Vec<DrawnFixing> {
        let drawn = self.fixed.iter().map(|fixed| DrawnFixing {
            anchor: fixed.anchor.name.clone(),
            from: fixed.mount.at,
            to: fixed.anchor.at,
            in_reach: fixed.in_reach,
        });
        drawn.collect()
    }

    /// Where it rests.
    pub(crate) fn rests(&self) -> Vec<Rest> {
        self.rests.clone()
    }

    /// The surface of accelerations that it stands; none when the solver fails or the centre of gravity
    /// can't be right.
    pub(crate) fn rock(&self) -> Option<Rock> {
        let mut mounting = self.mounting();
        self.centre_off_mm()
            .is_none()
            .then(|| rock(&mut mounting, self.boot.pump().mass_kg).ok())?
    }

    /// What a workshop writes down. `rock` is the surface when it was asked for already.
    pub(crate) fn details(&self, rock: Option<&Rock>) -> HoldDetails {
        let boot = self.boot;
        let mounts: Vec<MountAt> =
            boot.pump().mounts.iter().map(|mount| MountAt::of(mount, &self.pose)).collect();
        let cases = load::cases(boot, &self.pose);
        let worked_out = rock.is_none().then(|| self.rock()).flatten();
        let rock = rock.or(worked_out.as_ref()).map(|rock| {
            let (least_g, towards) = rock.weakest();
            RockResult { least_g, towards }
        });
        let chosen: Vec<_> = self.usable().map(|fixed| fixed.fixing.clone()).collect();
        let rests = self.rests.iter().map(|rest| rest.holding(boot.layout().limits.friction));
        let rests: Vec<Holding> = rests.collect();
        let holdings = self.holdings();
        let sound = self.centre_off_mm().is_none();
        let asked = offers::Asked { boot, pump: self.pump, mounts: &mounts, cases: &cases };
        let more = sound.then(|| asked.more_ties(&holdings, &chosen).ok()).flatten();
        let proposed = sound.then(|| asked.proposed(&rests).ok()).flatten();
        let (more_ties, held) = more.unwrap_or_default();
        let reached = more_ties.last().map_or(held, |offer| offer.factor);
        let advice = match proposed.as_deref() {
            Some([]) if reached < 1.0 => Some(offers::CANT_BE_HELD),
            Some([_, ..]) if more_ties.is_empty() && held < 1.0 => Some(offers::NO_TIE_HELPS),
            _ => None,
        };
        HoldDetails {
            shopping: shopping::shopping(self.usable()),
            crash: carries::results(self, &load::crash_cases(boot.pump())),
            cases: carries::results(self, &cases),
            rock,
            shake: self.shake.as_ref().map(|shake| self.shaken(shake)),
            cautions: cautions::cautions(boot, self.pump, &self.fixed),
            one_more_tie: more_ties.first().filter(|_| more_ties.len() == 1).cloned(),
            more_ties: if more_ties.len() > 1 { more_ties } else { Vec::new() },
            proposed: proposed.unwrap_or_default(),
            packings: self.packings.clone(),
            pressed: self.pressed(),
            advice: advice.map(str::to_string),
            foam: offers::foam(boot, &mounts),
            pattern: plate::pattern_match(boot, &mounts),
            plate: plate::plate(boot, &mounts),
        }
    }

    fn shaken(&self, shake: &Shake) -> ShakeResult {
        let corners = self.pump.iter().flat_map(|solid| solid.bounds().corners());
        let motion_mm = corners
            .flat_map(|corner| {
                [crate::model::Vector::x(), crate::model::Vector::y(), crate::model::Vector::z()]
                    .map(|way| shake.motion_mm(&corner, &way))
            })
            .try_fold(0.0, |most: f64, mm| mm.map(|mm| most.max(mm)));
        ShakeResult {
            hz: shake.modes.map(|mode| mode.hz),
            tapped: self.spot.tap_hz.is_some(),
            rms_m_s2: shake.rms_m_s2(),
            motion_mm,
        }
    }

    fn usable(&self) -> impl Iterator<Item = &Fixed<'a>> {
        self.fixed.iter().filter(|fixed| fixed.in_reach)
    }

    /// What usable fixings and rests can do, fixings first, each in words.
    fn named_holdings(&self) -> Vec<(Holding, String)> {
        let friction = self.boot.layout().limits.friction;
        let fixings = self.usable().flat_map(|fixed| {
            let fixing = fixed.fixing;
            let kind = fixing.kind.words();
            let words = format!("the {kind} from {} to {}", fixing.mount, fixing.anchor);
            let parts = fixed.holdings().into_iter().enumerate();
            parts.map(move |(part, holding)| {
                let beyond = if part == 0 { "" } else { ", beyond its squeeze" };
                (holding, format!("{words}{beyond}"))
            })
        });
        let rests =
            self.rests.iter().enumerate().map(|(index, rest)| {
                (rest.holding(friction), format!("point of rest {}", index + 1))
            });
        let all: Vec<(Holding, String)> = fixings.chain(rests).collect();
        let jams = foam::jams(all.iter().map(|(holding, _)| holding));
        all.into_iter().zip(jams).filter(|(_, jams)| !jams).map(|(named, _)| named).collect()
    }

    /// What usable fixings and rests can do, fixings first.
    fn holdings(&self) -> Vec<Holding> {
        self.named_holdings().into_iter().map(|(holding, _)| holding).collect()
    }

    fn mounting(&self) -> Mounting {
        Mounting::of(&self.holdings(), &self.centre, self.boot.pump().mass_kg)
    }

    /// The holdings in words, in their order.
    fn words(&self) -> Vec<String> {
        self.named_holdings().into_iter().map(|(_, words)| words).collect()
    }

    /// What each usable block of foam is counted on.
    fn pressed(&self) -> Vec<Pressed> {
        self.usable().filter_map(Fixed::pressed).collect()
    }

    /// How far the centre of gravity lies outside the hull of the pump's solids, mm; none when it's
    /// inside, where every centre of gravity is.
    fn centre_off_mm(&self) -> Option<f64> {
        if self.pump.iter().any(|solid| solid.holds(&self.centre)) {
            return None;
        }
        let points: Vec<Point> =
            self.pump.iter().flat_map(|solid| solid.triangles().vertices.clone()).collect();
        let hull = Solid::of(&Shape::Hull { points }, &Pose::identity(), |_| None).ok()?;
        let off_mm = hull.distance_to_point_mm(&self.centre);
        (off_mm > self.boot.layout().limits.bench_mm).then_some(off_mm)
    }
}
