//! A short walk to the corner of a balance that holds most: which directions of force matter.

use super::balance::{Mounting, Six};
use crate::model::Vector;

/// What stands for a force that nothing provides: it costs this much, so that it is used only where
/// nothing else balances. Virtual motions stay below it.
const DEAR: f64 = 1.0e4;

/// How much strengths and loads are made uneven, so that no step of the walk stands still.
const UNEVEN: f64 = 1e-9;

/// Gains and pivots below this are rounding.
const ROUNDING: f64 = 1e-11;

/// Steps after which the walk is given up.
const MOST_STEPS: usize = 400;

/// What a column of the basis is.
#[derive(Debug, Clone, Copy, PartialEq)]
enum Column {
    /// The growing load.
    Growing,
    /// A direction of a holding's force.
    Way(usize, Vector),
    /// What is left of a strength, by row.
    Left(usize),
    /// A force or moment that nothing provides, by row, with its sign.
    Missing(usize, f64),
}

/// A corner of the balance: as many columns as rows, and the inverse of their matrix.
///
/// Rows: the six balances, then a strength each. Method: revised simplex with the inverse kept, the
/// column to enter found in closed form for each holding. It only walks: what it ends at is proven by
/// its caller.
#[derive(Debug, Clone)]
pub(super) struct Walk {
    rows: usize,
    basis: Vec<Column>,
    inverse: Vec<f64>,
    amounts: Vec<f64>,
    exact: Vec<f64>,
    growing: Option<Six>,
}

/// Where a walk ends.
#[derive(Debug, Clone)]
pub(super) enum End {
    /// No step gains: the factor, the price of each row, and the directions that act.
    Corner {
        factor: f64,
        /// The motion by which the load gains 1, and what each strength is worth.
        prices: Vec<f64>,
        ways: Vec<(usize, Vector)>,
        /// How far the corner misses the balance of the even loads.
        miss: f64,
    },
    /// The load can grow for ever, by these directions.
    Endless { ways: Vec<(usize, Vector)> },
    /// It didn't end in time.
    Lost,
}

impl Walk {
    /// At the start: nothing acts, all of `fixed` is missing.
    pub(super) fn start(mounting: &Mounting, fixed: &Six) -> Walk {
        let strengths = mounting.strengths();
        let capped = strengths.iter().flatten();
        let exact: Vec<f64> = fixed.iter().map(|part| -part).chain(capped.copied()).collect();
        let rows = exact.len();
        let amounts: Vec<f64> = exact
            .iter()
            .enumerate()
            .map(|(row, value)| value.abs() + UNEVEN * (1.0 + 0.37 * row as f64).sqrt())
            .collect();
        let sign = |row: usize| if row < 6 && exact[row] < 0.0 { -1.0 } else { 1.0 };
        let mut inverse = vec![0.0; rows * rows];
        for row in 0..rows {
            inverse[row * rows + row] = sign(row);
        }
        let basis = (0..rows)
            .map(|row| if row < 6 { Column::Missing(row, sign(row)) } else { Column::Left(row) })
            .collect();
        Walk { rows, basis, inverse, amounts, exact, growing: None }
    }

    /// Lets `growing` grow from here on.
    pub(super) fn grow(&mut self, growing: &Six) {
        self.growing = Some(*growing);
    }

    fn cost(&self, column: &Column) -> f64 {
        match column {
            Column::Growing => 1.0,
            Column::Missing(..) => -DEAR,
            _ => 0.0,
        }
    }

    fn entries(&self, mounting: &Mounting, column: &Column) -> Vec<f64> {
        let mut entries = vec![0.0; self.rows];
        match column {
            Column::Growing => {
                if let Some(growing) = &self.growing {
                    entries[..6].copy_from_slice(growing);
                }
            }
            Column::Way(holding, towards) => {
                entries[..6].copy_from_slice(&mounting.column_of(*holding, towards));
                if let Some(row) = mounting.strength_row(*holding) {
                    entries[row] = 1.0;
                }
            }
            Column::Left(row) => entries[*row] = 1.0,
            Column::Missing(row, sign) => entries[*row] = *sign,
        }
        entries
    }

    fn prices(&self) -> Vec<f64> {
        let mut prices = vec![0.0; self.rows];
        for (row, column) in self.basis.iter().enumerate() {
            let cost = self.cost(column);
            if cost != 0.0 {
                let line = &self.inverse[row * self.rows..(row + 1) * self.rows];
                prices.iter_mut().zip(line).for_each(|(price, part)| *price += cost * part);
            }
        }
        prices
    }

    /// The column that gains most, if one gains.
    fn entering(&self, mounting: &Mounting, prices: &[f64]) -> Option<Column> {
        let scale = prices.iter().fold(1.0_f64, |most, price| most.max(price.abs()));
        let mut best = (ROUNDING * scale * 10.0, None);
        let mut offer = |gain: f64, column: Column| {
            if gain > best.0 {
                best = (gain, Some(column));
            }
        };
        if let Some(growing) = &self.growing {
            let worth: f64 = growing.iter().zip(prices).map(|(a, b)| a * b).sum();
            offer(1.0 - worth, Column::Growing);
        }
        let motion: Six = std::array::from_fn(|row| -prices[row]);
        for holding in 0..mounting.holdings().len() {
            let price = mounting.strength_row(holding).map_or(0.0, |row| prices[row]);
            let towards = mounting.resisting(holding, &motion);
            let column = mounting.column_of(holding, &towards);
            let gain: f64 = column.iter().zip(&motion).map(|(a, b)| a * b).sum();
            offer(gain - price, Column::Way(holding, towards));
        }
        for (row, price) in prices.iter().enumerate().skip(6) {
            offer(-price, Column::Left(row));
        }
        best.1
    }

    /// Walks until nothing gains.
    pub(super) fn end(&mut self, mounting: &Mounting) -> End {
        for _ in 0..MOST_STEPS {
            let prices = self.prices();
            let Some(column) = self.entering(mounting, &prices) else {
                return self.corner(prices);
            };
            let entries = self.entries(mounting, &column);
            let rows = self.rows;
            let steps: Vec<f64> = (0..rows)
                .map(|row| {
                    let line = &self.inverse[row * rows..(row + 1) * rows];
                    line.iter().zip(&entries).map(|(a, b)| a * b).sum()
                })
                .collect();
            let leaving = (0..rows)
                .filter(|&row| steps[row] > 1e-9)
                .map(|row| (row, self.amounts[row] / steps[row]))
                .min_by(|a, b| a.1.total_cmp(&b.1));
            let Some((out, far)) = leaving else {
                if self.growing.is_none() {
                    return End::Lost;
                }
                let acting = self.basis.iter().chain([&column]);
                let ways = acting.filter_map(|column| match column {
                    Column::Way(holding, towards) => Some((*holding, *towards)),
                    _ => None,
                });
                return End::Endless { ways: ways.collect() };
            };
            for (row, (amount, step)) in self.amounts.iter_mut().zip(&steps).enumerate() {
                if row != out {
                    *amount = (*amount - far * step).max(0.0);
                }
            }
            self.amounts[out] = far;
            self.basis[out] = column;
            let pivot = 1.0 / steps[out];
            for at in 0..rows {
                self.inverse[out * rows + at] *= pivot;
            }
            for (row, &step) in steps.iter().enumerate() {
                if row != out && step != 0.0 {
                    for at in 0..rows {
                        self.inverse[row * rows + at] -= step * self.inverse[out * rows + at];
                    }
                }
            }
        }
        End::Lost
    }

    fn corner(&self, prices: Vec<f64>) -> End {
        let (mut factor, mut miss, mut ways) = (0.0, 0.0_f64, Vec::new());
        for (row, column) in self.basis.iter().enumerate() {
            let line = &self.inverse[row * self.rows..(row + 1) * self.rows];
            let amount: f64 = line.iter().zip(&self.exact).map(|(a, b)| a * b).sum();
            miss = miss.max(-amount);
            match column {
                Column::Growing => factor = amount,
                Column::Way(holding, towards) => ways.push((*holding, *towards)),
                Column::Missing(..) => miss = miss.max(amount),
                Column::Left(_) => {}
            }
        }
        End::Corner { factor, prices, ways, miss }
    }
}
