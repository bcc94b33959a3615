//! How much of a load the fixings and rests can balance at once, as a linear program.

use super::dual::Slowest;
use super::holding::{Holding, bolt_way, cone_edge, cone_side};
use super::walk::{End, Walk};
use crate::model::{Point, Vector};
use crate::units::STANDARD_GRAVITY_M_S2;

/// A force through the pump's centre of gravity and a moment about it.
#[derive(Debug, Clone, Copy, Default, PartialEq)]
pub struct Load {
    /// Force on the pump, N, vehicle frame.
    pub force_n: Vector,
    /// Moment on the pump, N mm, right-handed about each axis.
    pub moment_nmm: Vector,
}

impl Load {
    /// The weight of `mass_kg` times an acceleration in g.
    pub fn of_g(mass_kg: f64, load_g: [f64; 3]) -> Load {
        let force_n = Vector::from(load_g) * (mass_kg * STANDARD_GRAVITY_M_S2);
        Load { force_n, moment_nmm: Vector::zeros() }
    }
}

/// How much of a load is held.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Held {
    /// What is always there can't be balanced, whatever part of the growing load is added.
    Nothing,
    /// The largest factor at which all is balanced; 0 when the first trace of the load moves the pump.
    Factor(f64),
    /// Any multiple: the load presses the pump against what it rests on.
    AnyMultiple,
}

/// The answer to [`Mounting::carries`].
#[derive(Debug, Clone, PartialEq)]
pub struct Carried {
    /// How much.
    pub held: Held,
    /// The holdings that give out first, by index, the one that counts most first; empty when the
    /// pump moves without any of them reaching its strength.
    pub governing: Vec<usize>,
    /// How the pump begins to move under a little more: velocity of its centre of gravity and turn
    /// about it, together of length 1 with turns counted in 100 mm; zero for any multiple.
    pub moves: (Vector, Vector),
}

/// Why a balance of forces has no answer: the solver's own failure.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[error("the balance of forces could not be solved: {0}")]
pub struct Unsolved(pub(super) String);

/// Factors beyond this are not told from any multiple.
pub(super) const HIGHEST: f64 = 1.0e4;

/// Lever arm at which a moment counts like a force, mm: it keeps all six balances of one size.
const ARM_MM: f64 = 100.0;

/// How far a corner may miss a balance, in weights, and two answers may differ and be one.
pub(super) const MISS: f64 = 1e-9;
const PROVEN: f64 = 1e-8;

pub(super) type Six = [f64; 6];

/// One direction of force that a holding can exert, with its moment.
#[derive(Debug, Clone, Copy)]
pub(super) struct Way {
    pub(super) holding: usize,
    pub(super) towards: Vector,
    pub(super) column: Six,
}

/// Fixings and rests of a pump made ready for many loads.
///
/// Method: the linear program `largest f with forces of the holdings + always + f · growing = 0`. A
/// simplex walk that finds each holding's best direction of force (of 26 of a bolt, 64 of a rest's
/// friction pyramid) in closed form ends at the few directions that act; microlp solves the program over
/// these, and its answer counts when it equals the walk's upper bound, which holds over every direction.
/// Where they differ, microlp solves the dual program, to which directions are added until none is
/// left that would change it.
///
/// A bolt's 26 directions reach at least 88.6 % of its strength, a pyramid's 64 sides at least
/// cos(π/64) = 99.88 % of the friction: both lie inside, so that the factor errs to the safe side.
#[derive(Debug, Clone)]
pub struct Mounting {
    pub(super) holdings: Vec<Holding>,
    pub(super) centre: Point,
    pub(super) weight_n: f64,
    /// Working strengths over the weight; none for rests.
    pub(super) strengths: Vec<Option<f64>>,
    /// Each strength's row of the balance, after the six of forces and moments.
    strength_rows: Vec<Option<usize>>,
    pub(super) ways: Vec<Way>,
}

impl Mounting {
    /// Makes `holdings` ready for a pump of `mass_kg` with its centre of gravity at `centre`.
    pub fn of(holdings: &[Holding], centre: &Point, mass_kg: f64) -> Mounting {
        let weight_n = mass_kg * STANDARD_GRAVITY_M_S2;
        let strengths = holdings.iter().map(|it| it.working_n().map(|n| n / weight_n)).collect();
        let mut next_row = 6;
        let row_of = |holding: &Holding| {
            holding.working_n().map(|_| {
                next_row += 1;
                next_row - 1
            })
        };
        let strength_rows = holdings.iter().map(row_of).collect();
        let mut mounting = Mounting {
            holdings: holdings.to_vec(),
            centre: *centre,
            weight_n,
            strengths,
            strength_rows,
            ways: Vec::new(),
        };
        for (index, holding) in holdings.iter().enumerate() {
            for towards in holding.first_ways() {
                mounting.add_way(index, towards);
            }
        }
        mounting
    }

    /// What it was made of.
    pub fn holdings(&self) -> &[Holding] {
        &self.holdings
    }

    /// The pump's centre of gravity.
    pub fn centre(&self) -> Point {
        self.centre
    }

    fn add_way(&mut self, holding: usize, towards: Vector) {
        let column = self.column(&self.holdings[holding].at(), &towards);
        self.ways.push(Way { holding, towards, column });
    }

    /// Working strengths over the weight; none for rests.
    pub(super) fn strengths(&self) -> &[Option<f64>] {
        &self.strengths
    }

    /// The row of a holding's strength in the balance.
    pub(super) fn strength_row(&self, holding: usize) -> Option<usize> {
        self.strength_rows[holding]
    }

    /// Force and moment of a holding's unit force along `towards`.
    pub(super) fn column_of(&self, holding: usize, towards: &Vector) -> Six {
        self.column(&self.holdings[holding].at(), towards)
    }

    pub(super) fn column(&self, at: &Point, towards: &Vector) -> Six {
        let moment = (at - self.centre).cross(towards) / ARM_MM;
        [towards.x, towards.y, towards.z, moment.x, moment.y, moment.z]
    }

    pub(super) fn scaled(&self, load: &Load) -> Six {
        let force = load.force_n / self.weight_n;
        let moment = load.moment_nmm / (self.weight_n * ARM_MM);
        [force.x, force.y, force.z, moment.x, moment.y, moment.z]
    }

    /// How much of `growing` is held on top of `always`.
    ///
    /// Units: loads in N and N mm. No holdings hold nothing. Cost: bench `hold`.
    ///
    /// # Errors
    /// When the solver fails.
    ///
    /// ```
    /// use dryberth::checks::hold::{Held, Holding, Load, Mounting};
    /// use dryberth::model::{Point, Vector};
    /// // 4 kg hanging on one tie straight above that takes 80 N: 80 / 39.2266.
    /// let tie = Holding::Pull { at: Point::origin(), along: Vector::z(), working_n: 80.0 };
    /// let mut mounting = Mounting::of(&[tie], &Point::new(0.0, 0.0, -50.0), 4.0);
    /// let hanging = Load::of_g(4.0, [0.0, 0.0, -1.0]);
    /// let Held::Factor(factor) = mounting.carries(&Load::default(), &hanging).unwrap().held else {
    ///     panic!("a tie has a strength")
    /// };
    /// assert!((factor - 80.0 / 39.2266).abs() < 1e-9);
    /// ```
    pub fn carries(&mut self, always: &Load, growing: &Load) -> Result<Carried, Unsolved> {
        let (fixed, more) = (self.scaled(always), self.scaled(growing));
        let mut walk = Walk::start(self, &fixed);
        walk.grow(&more);
        let motion = match walk.end(self) {
            End::Endless { ways } if self.solved(&ways, &fixed, &more)?.0 >= HIGHEST => {
                return Ok(Carried {
                    held: Held::AnyMultiple,
                    governing: Vec::new(),
                    moves: Default::default(),
                });
            }
            End::Corner { factor, prices, ways, miss }
                if miss <= MISS
                    && (self.solved(&ways, &fixed, &more)?.0 - factor).abs()
                        <= PROVEN * factor.max(1.0) =>
            {
                self.priced(factor, &prices)
            }
            _ => self.slowest(&fixed, &more)?,
        };
        let speed = motion.moves.0.norm().hypot(motion.moves.1.norm());
        let moves = if speed > 0.0 {
            (-motion.moves.0 / speed, -motion.moves.1 / speed)
        } else {
            Default::default()
        };
        let held = if motion.value < -1e-7 {
            Held::Nothing
        } else if motion.value >= HIGHEST * (1.0 - 1e-9) {
            return Ok(Carried {
                held: Held::AnyMultiple,
                governing: Vec::new(),
                moves: Default::default(),
            });
        } else {
            Held::Factor(motion.value.max(0.0))
        };
        let mut governing: Vec<(usize, f64)> = motion
            .spent
            .iter()
            .enumerate()
            .filter(|(_, spent)| **spent > 1e-9 * motion.value.abs().max(1.0))
            .map(|(index, spent)| (index, *spent))
            .collect();
        governing.sort_by(|a, b| b.1.total_cmp(&a.1).then(a.0.cmp(&b.0)));
        let governing = governing.into_iter().map(|(index, _)| index).collect();
        Ok(Carried { held, governing, moves })
    }

    /// A walk's end in the terms of [`Slowest`].
    fn priced(&self, factor: f64, prices: &[f64]) -> Slowest {
        let spent = self
            .strengths
            .iter()
            .zip(&self.strength_rows)
            .map(|(strength, row)| strength.zip(*row).map_or(0.0, |(it, row)| it * prices[row]))
            .collect();
        Slowest {
            value: factor,
            moves: (
                -Vector::new(prices[0], prices[1], prices[2]),
                -Vector::new(prices[3], prices[4], prices[5]),
            ),
            spent,
        }
    }

    /// Whether no force that a holding can exert works against a motion.
    pub(super) fn lets(&self, index: usize, motion: &Six) -> bool {
        let towards = self.resisting(index, &motion.map(|part| -part));
        let work: f64 =
            self.column_of(index, &towards).iter().zip(motion).map(|(a, b)| a * b).sum();
        work >= -1e-9
    }

    /// The direction of a holding's force that resists a motion most.
    pub(super) fn resisting(&self, index: usize, motion: &Six) -> Vector {
        let holding = &self.holdings[index];
        let arm = (holding.at() - self.centre) / ARM_MM;
        let turn = Vector::new(motion[3], motion[4], motion[5]);
        let here = Vector::new(motion[0], motion[1], motion[2]) + turn.cross(&arm);
        match holding {
            Holding::Pull { along, .. } => *along,
            Holding::Bolt { .. } => bolt_way(&here),
            Holding::Push { along, friction, .. } | Holding::Wedge { along, friction, .. } => {
                if *friction > 0.0 {
                    cone_edge(along, *friction, cone_side(along, &here))
                } else {
                    *along
                }
            }
        }
    }

    /// How much of each of `growing` is held on top of `always`; none when `always` isn't held.
    /// Like [`carries`](Self::carries) for many loads, at a fraction of the cost each: the walk begins
    /// where `always` is balanced, and only where its end isn't certain is microlp asked.
    ///
    /// # Errors
    /// When the solver fails.
    pub fn carries_each(
        &mut self,
        always: &Load,
        growing: &[Load],
    ) -> Result<Option<Vec<Held>>, Unsolved> {
        let hangs = match self.carries(&Load::default(), always)?.held {
            Held::Nothing => false,
            Held::Factor(factor) => factor >= 1.0,
            Held::AnyMultiple => true,
        };
        if !hangs {
            return Ok(None);
        }
        let mut hanging = Walk::start(self, &self.scaled(always));
        let ready = matches!(hanging.end(self), End::Corner { miss, .. } if miss <= MISS);
        let mut found = Vec::with_capacity(growing.len());
        for load in growing {
            let mut walk = hanging.clone();
            walk.grow(&self.scaled(load));
            found.push(match walk.end(self) {
                End::Corner { factor, miss, .. } if ready && miss <= MISS => Held::Factor(factor),
                End::Endless { .. } if ready => Held::AnyMultiple,
                _ => self.carries(always, load)?.held,
            });
        }
        Ok(Some(found))
    }
}
