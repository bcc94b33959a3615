//! The balance of forces over a few directions as a linear program.

use microlp::{ComparisonOp, OptimizationDirection, Problem, SolveOptions, Variable};

use super::balance::{HIGHEST, Mounting, Six, Unsolved};
use crate::model::Vector;

impl Mounting {
    /// The program over some directions only: the factor, at most [`HIGHEST`], and the amount of each;
    /// below 0 when `fixed` can't be balanced by them.
    pub(super) fn solved(
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
}

/// How microlp is asked: what it would do before solving takes longer than solving.
pub(super) fn plain() -> SolveOptions {
    let mut options = SolveOptions::default();
    options.presolve = false;
    options
}
