//! How much of a load the fixings and rests can balance at once, as a linear program.

use microlp::{
    ComparisonOp, LinearExpr, OptimizationDirection, Problem, Solution, SolveOptions, Variable,
};

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

/// Forces that balance a load, one for each holding, N, on the pump.
#[derive(Debug, Clone, PartialEq)]
pub struct Reactions {
    /// The factor on the load that they balance.
    pub factor: f64,
    /// The force of each holding.
    pub forces_n: Vec<Vector>,
    /// What is left of forces, N, and of moments about the centre of gravity in N at 100 mm.
    pub residual_n: f64,
}

/// Why a balance of forces has no answer: the solver's own failure.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[error("the balance of forces could not be solved: {0}")]
pub struct Unsolved(String);

/// Factors beyond this are not told from any multiple.
const HIGHEST: f64 = 1.0e4;

/// Lever arm at which a moment counts like a force, mm: it keeps all six balances of one size.
const ARM_MM: f64 = 100.0;

/// How fast virtual motions may become before the load is taken as one that nothing can balance.
const FASTEST: f64 = 1.0e6;

/// How far a force direction may beat the bound kept so far before it is asked for, relative.
const CLOSE: f64 = 1e-10;

/// How far a corner may miss a balance, in weights, and two answers may differ and be one.
const MISS: f64 = 1e-9;
const PROVEN: f64 = 1e-8;

/// Rounds after which no new direction is asked for.
const MOST_ROUNDS: usize = 200;

pub(super) type Six = [f64; 6];

/// One direction of force that a holding can exert, with its moment.
#[derive(Debug, Clone, Copy)]
struct Way {
    holding: usize,
    towards: Vector,
    column: Six,
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
    holdings: Vec<Holding>,
    centre: Point,
    weight_n: f64,
    /// Working strengths over the weight; none for rests.
    strengths: Vec<Option<f64>>,
    /// Each strength's row of the balance, after the six of forces and moments.
    strength_rows: Vec<Option<usize>>,
    ways: Vec<Way>,
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

    fn column(&self, at: &Point, towards: &Vector) -> Six {
        let moment = (at - self.centre).cross(towards) / ARM_MM;
        [towards.x, towards.y, towards.z, moment.x, moment.y, moment.z]
    }

    fn scaled(&self, load: &Load) -> Six {
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

    /// The program over some directions only: the factor, at most [`HIGHEST`], and the amount of each;
    /// below 0 when `fixed` can't be balanced by them.
    fn solved(
        &self,
        ways: &[(usize, Vector)],
        fixed: &Six,
        more: &Six,
    ) -> Result<(f64, Vec<f64>), Unsolved> {
        let mut problem = Problem::new(OptimizationDirection::Maximize);
        let factor = problem.add_var(1.0, (0.0, HIGHEST));
        let columns: Vec<Six> =
            ways.iter().map(|(holding, towards)| self.column_of(*holding, towards)).collect();
        let forces: Vec<Variable> = ways
            .iter()
            .map(|(holding, _)| {
                let most = self.strengths[*holding].unwrap_or(f64::INFINITY);
                problem.add_var(0.0, (0.0, most))
            })
            .collect();
        for row in 0..6 {
            let parts = columns.iter().zip(&forces).map(|(column, at)| (*at, column[row]));
            let terms: Vec<(Variable, f64)> =
                parts.chain([(factor, more[row])]).filter(|(_, value)| *value != 0.0).collect();
            if !terms.is_empty() {
                problem.add_constraint(terms.as_slice(), ComparisonOp::Eq, -fixed[row]);
            } else if fixed[row].abs() > 1e-12 {
                return Ok((-1.0, vec![0.0; ways.len()]));
            }
        }
        for (index, strength) in self.strengths.iter().enumerate() {
            let parts = ways.iter().zip(&forces).filter(|((holding, _), _)| *holding == index);
            let terms: Vec<(Variable, f64)> = parts.map(|(_, force)| (*force, 1.0)).collect();
            if let (Some(strength), true) = (strength, terms.len() > 1) {
                problem.add_constraint(terms.as_slice(), ComparisonOp::Le, *strength);
            }
        }
        match problem.solve_with(plain()) {
            Ok(outcome) => {
                let solution = outcome.into_solution().map_err(|_| Unsolved("stopped".into()))?;
                let amounts = forces.iter().map(|force| solution.var_value(*force).max(0.0));
                Ok((solution.var_value(factor), amounts.collect()))
            }
            Err(microlp::Error::Infeasible) => Ok((-1.0, vec![0.0; ways.len()])),
            Err(error) => Err(Unsolved(error.to_string())),
        }
    }

    /// The slowest virtual motion by which the load gains 1, against what holds.
    fn slowest(&mut self, fixed: &Six, more: &Six) -> Result<Slowest, Unsolved> {
        let mut dual = Dual::of(self, fixed, more);
        let mut solution = dual.solve()?;
        for _ in 0..MOST_ROUNDS {
            let motion = dual.motion(&solution);
            let speed = motion.iter().fold(1.0_f64, |most, part| most.max(part.abs()));
            let known = self.ways.len();
            for index in 0..self.holdings.len() {
                let bound = dual.bound(&solution, index);
                if matches!(self.holdings[index], Holding::Pull { .. }) {
                    continue;
                }
                let towards = self.resisting(index, &motion);
                let column = self.column(&self.holdings[index].at(), &towards);
                if dot(&column, &motion) > bound + CLOSE * speed {
                    self.ways.push(Way { holding: index, towards, column });
                }
            }
            if self.ways.len() == known {
                break;
            }
            for way in known..self.ways.len() {
                solution = dual.with_way(solution, &self.ways[way])?;
            }
        }
        Ok(dual.answer(self, &solution))
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

    /// Forces that balance `load`, or as much of it as is held.
    ///
    /// They are one of many sets of forces that do: the one that grows into the largest load that is
    /// held, so no fixing is nearer to its strength than some fixing has to be.
    ///
    /// # Errors
    /// When the solver fails.
    pub fn reactions(&mut self, load: &Load) -> Result<Reactions, Unsolved> {
        let more = self.scaled(load);
        let even = [0.0; 6];
        let mut walk = Walk::start(self, &even);
        walk.grow(&more);
        let ways = match walk.end(self) {
            End::Endless { ways } => ways,
            End::Corner { ways, miss, .. } if miss <= MISS => ways,
            _ => {
                self.slowest(&even, &more)?;
                self.ways.iter().map(|way| (way.holding, way.towards)).collect()
            }
        };
        let (held, amounts) = self.solved(&ways, &even, &more)?;
        let held = held.max(0.0);
        let scale = if held > 1.0 { 1.0 / held } else { 1.0 };
        let mut amounts: Vec<f64> = amounts.iter().map(|amount| amount * scale).collect();
        let most = held.min(1.0);
        let load = more.map(|part| part * most);
        let columns: Vec<Six> =
            ways.iter().map(|(holding, towards)| self.column_of(*holding, towards)).collect();
        for _ in 0..3 {
            settle(&columns, &mut amounts, &load);
        }
        let mut forces_n = vec![Vector::zeros(); self.holdings.len()];
        for ((holding, towards), amount) in ways.iter().zip(&amounts) {
            forces_n[*holding] += towards * (amount * self.weight_n);
        }
        let left = left(&columns, &amounts, &load);
        let residual_n = left.iter().map(|part| part * part).sum::<f64>().sqrt() * self.weight_n;
        Ok(Reactions { factor: most, forces_n, residual_n })
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

/// Takes the solver's rounding out of a balance: the smallest change of the forces that act.
fn settle(columns: &[Six], amounts: &mut [f64], load: &Six) {
    let acting: Vec<usize> = (0..amounts.len()).filter(|&way| amounts[way] > 1e-9).collect();
    if acting.is_empty() {
        return;
    }
    let left = left(columns, amounts, load);
    let matrix =
        nalgebra::DMatrix::from_fn(6, acting.len(), |row, column| columns[acting[column]][row]);
    let wanted = nalgebra::DVector::from_iterator(6, left.iter().map(|part| -part));
    let Ok(change) = matrix.svd(true, true).solve(&wanted, 1e-9) else { return };
    for (index, way) in acting.iter().enumerate() {
        amounts[*way] = (amounts[*way] + change[index]).max(0.0);
    }
}

/// What forces leave of a load.
fn left(columns: &[Six], amounts: &[f64], load: &Six) -> Six {
    let mut left = *load;
    for (column, amount) in columns.iter().zip(amounts) {
        left.iter_mut().zip(column).for_each(|(sum, part)| *sum += part * amount);
    }
    left
}

/// The dual program while directions are added to it.
struct Dual {
    problem: Problem,
    motion: [Variable; 6],
    /// What each fixing with a strength resists at most; none for rests, which resist nothing.
    bounds: Vec<Option<Variable>>,
}

struct Slowest {
    value: f64,
    moves: (Vector, Vector),
    /// What each holding's strength contributes to the value.
    spent: Vec<f64>,
}

impl Dual {
    fn of(mounting: &Mounting, fixed: &Six, more: &Six) -> Dual {
        let mut problem = Problem::new(OptimizationDirection::Minimize);
        let motion = fixed.map(|cost| problem.add_var(cost, (-FASTEST, FASTEST)));
        let bounds = mounting
            .strengths
            .iter()
            .map(|strength| strength.map(|cost| problem.add_var(cost, (0.0, f64::INFINITY))))
            .collect();
        let beyond = problem.add_var(HIGHEST, (0.0, f64::INFINITY));
        let mut gain: Vec<(Variable, f64)> = terms(&motion, more).collect();
        gain.push((beyond, -1.0));
        problem.add_constraint(gain.as_slice(), ComparisonOp::Le, -1.0);
        let mut dual = Dual { problem, motion, bounds };
        for way in &mounting.ways {
            let row = dual.row(way);
            dual.problem.add_constraint(row, ComparisonOp::Le, 0.0);
        }
        dual
    }

    fn row(&self, way: &Way) -> LinearExpr {
        let mut row = LinearExpr::empty();
        terms(&self.motion, &way.column).for_each(|(variable, value)| row.add(variable, value));
        if let Some(bound) = self.bounds[way.holding] {
            row.add(bound, -1.0);
        }
        row
    }

    fn solve(&self) -> Result<Solution, Unsolved> {
        let outcome =
            self.problem.solve_with(plain()).map_err(|error| Unsolved(error.to_string()))?;
        outcome.into_solution().map_err(|_| Unsolved("stopped".into()))
    }

    fn with_way(&mut self, solution: Solution, way: &Way) -> Result<Solution, Unsolved> {
        let outcome = solution
            .add_constraint(self.row(way), ComparisonOp::Le, 0.0)
            .map_err(|error| Unsolved(error.to_string()))?;
        outcome.into_solution().map_err(|_| Unsolved("stopped".into()))
    }

    fn motion(&self, solution: &Solution) -> Six {
        self.motion.map(|variable| solution.var_value(variable))
    }

    fn bound(&self, solution: &Solution, index: usize) -> f64 {
        self.bounds[index].map_or(0.0, |bound| solution.var_value(bound))
    }

    fn answer(&self, mounting: &Mounting, solution: &Solution) -> Slowest {
        let motion = self.motion(solution);
        let spent = mounting
            .strengths
            .iter()
            .enumerate()
            .map(|(index, strength)| strength.unwrap_or(0.0) * self.bound(solution, index))
            .collect();
        Slowest {
            value: solution.objective(),
            moves: (
                Vector::new(motion[0], motion[1], motion[2]),
                Vector::new(motion[3], motion[4], motion[5]),
            ),
            spent,
        }
    }
}

fn plain() -> SolveOptions {
    let mut options = SolveOptions::default();
    options.presolve = false;
    options
}

fn terms<'a>(
    variables: &'a [Variable; 6],
    values: &'a Six,
) -> impl Iterator<Item = (Variable, f64)> + 'a {
    variables.iter().zip(values).filter(|(_, value)| **value != 0.0).map(|(v, value)| (*v, *value))
}

fn dot(a: &Six, b: &Six) -> f64 {
    a.iter().zip(b).map(|(a, b)| a * b).sum()
}
