//! What each fixing and rest takes of a load.

use super::balance::{Load, MISS, Mounting, Six, Unsolved};
use super::walk::{End, Walk};
use crate::model::Vector;

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

impl Mounting {
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
