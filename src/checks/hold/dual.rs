//! The slowest virtual motion by which a load gains, against what holds: the dual program.

use microlp::{ComparisonOp, LinearExpr, OptimizationDirection, Problem, Solution, Variable};

use super::balance::{HIGHEST, Mounting, Six, Unsolved, Way};
use super::holding::Holding;
use super::program::plain;
use crate::model::Vector;

/// How fast virtual motions may become before the load is taken as one that nothing can balance.
const FASTEST: f64 = 1.0e6;

/// How far a force direction may beat the bound kept so far before it is asked for, relative.
const CLOSE: f64 = 1e-10;

/// Rounds after which no new direction is asked for.
const MOST_ROUNDS: usize = 200;

impl Mounting {
    /// The slowest virtual motion by which the load gains 1, against what holds.
    pub(super) fn slowest(&mut self, fixed: &Six, more: &Six) -> Result<Slowest, Unsolved> {
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
}

/// The dual program while directions are added to it.
struct Dual {
    problem: Problem,
    motion: [Variable; 6],
    /// What each fixing with a strength resists at most; none for rests, which resist nothing.
    bounds: Vec<Option<Variable>>,
}

/// The slowest motion and what it costs.
pub(super) struct Slowest {
    pub(super) value: f64,
    pub(super) moves: (Vector, Vector),
    /// What each holding's strength contributes to the value.
    pub(super) spent: Vec<f64>,
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

fn terms<'a>(
    variables: &'a [Variable; 6],
    values: &'a Six,
) -> impl Iterator<Item = (Variable, f64)> + 'a {
    variables.iter().zip(values).filter(|(_, value)| **value != 0.0).map(|(v, value)| (*v, *value))
}

fn dot(a: &Six, b: &Six) -> f64 {
    a.iter().zip(b).map(|(a, b)| a * b).sum()
}
