//! Every spot on every car.

use serde::Serialize;

use super::CarOptions;
use super::unbolting::{Unbolting, what_to_unbolt};
use crate::checks::{Boot, Meshes, PrepareError, Scorecard, Verdict, evaluate};
use crate::model::{Layout, Pump};

/// A spot on a car.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Cell {
    /// What it comes to.
    pub verdict: Verdict,
    /// Its score.
    pub score: Option<f64>,
    /// Why, when it isn't a plain pass: the deciding check of the worst headline.
    pub why: String,
    /// What would have to be unbolted for it not to fail, when that helps.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub unbolting: Option<Unbolting>,
}

/// A spot on every car.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct SpotRow {
    /// The spot's name.
    pub spot: String,
    /// One for each car, in their order.
    pub cells: Vec<Cell>,
    /// On how many cars it passes or is tight.
    pub serves: usize,
    /// On how many more it would, with something unbolted and fitted elsewhere.
    pub serves_unbolted: usize,
}

/// Every spot on every car.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Matrix {
    /// The layout's name.
    pub layout: String,
    /// The pump's name.
    pub pump: String,
    /// The cars, one column each.
    pub cars: Vec<CarOptions>,
    /// The spots, in the layout's order.
    pub spots: Vec<SpotRow>,
    /// The spot that serves most cars; of equals the one with the best mean score, then the first.
    /// None when no spot serves any car.
    pub serves_most: Option<String>,
}

/// Checks every spot on every car. A car's column equals a check with its options.
///
/// Cost: one [`Boot::prepare`] for each car and one evaluation for each cell; with `unbolt` one more
/// prepare for each thing that could be unbolted in a failing cell. Cars are worked on at the same
/// time; the answer doesn't depend on how many threads do so.
///
/// # Errors
/// When a shape can't be made ready or an option isn't listed.
pub fn matrix(
    layout: &Layout,
    pump: &Pump,
    meshes: &Meshes,
    cars: &[CarOptions],
    unbolt: bool,
) -> Result<Matrix, PrepareError> {
    let threads = std::thread::available_parallelism().map_or(1, usize::from).max(1);
    let column = |car: &CarOptions| -> Result<Vec<Cell>, PrepareError> {
        let boot = Boot::prepare(layout.clone(), pump.clone(), meshes, &car.options)?;
        let cell = |spot| {
            let card = evaluate(&boot, spot);
            let fails = card.verdict == Verdict::Fail;
            let unbolting = if unbolt && fails {
                what_to_unbolt(layout, pump, meshes, &car.options, spot)?
            } else {
                None
            };
            let (verdict, score, why) = (card.verdict, card.score, reason(&card));
            Ok(Cell { verdict, score, why, unbolting })
        };
        layout.spots.iter().map(cell).collect()
    };
    let column = &column;
    let share = |thread: usize| cars.iter().enumerate().skip(thread).step_by(threads);
    let mut columns: Vec<(usize, Result<Vec<Cell>, PrepareError>)> = std::thread::scope(|scope| {
        let workers: Vec<_> = (0..threads)
            .map(|thread| {
                scope.spawn(move || {
                    share(thread).map(|(at, car)| (at, column(car))).collect::<Vec<_>>()
                })
            })
            .collect();
        workers.into_iter().filter_map(|worker| worker.join().ok()).flatten().collect()
    });
    columns.sort_by_key(|(at, _)| *at);
    let columns: Vec<Vec<Cell>> =
        columns.into_iter().map(|(_, column)| column).collect::<Result<_, _>>()?;
    let row = |(index, spot): (usize, &crate::model::Spot)| {
        let cells: Vec<Cell> = columns.iter().map(|column| column[index].clone()).collect();
        let serves = cells.iter().filter(|cell| cell.serves()).count();
        let serves_unbolted = cells.iter().filter(|cell| cell.unbolting.is_some()).count();
        SpotRow { spot: spot.name.clone(), cells, serves, serves_unbolted }
    };
    let spots: Vec<SpotRow> = layout.spots.iter().enumerate().map(row).collect();
    let serves_most = spots
        .iter()
        .rev() // of equals, max_by gives the last
        .filter(|row| row.serves > 0)
        .max_by(|a, b| a.serves.cmp(&b.serves).then(a.mean_score().total_cmp(&b.mean_score())))
        .map(|row| row.spot.clone());
    Ok(Matrix {
        layout: layout.name.clone(),
        pump: pump.name.clone(),
        cars: cars.to_vec(),
        spots,
        serves_most,
    })
}

impl Cell {
    /// Whether the spot can be used on the car as it is.
    pub fn serves(&self) -> bool {
        matches!(self.verdict, Verdict::Pass | Verdict::Tight)
    }
}

impl SpotRow {
    /// Mean score over all cars; an unknown one counts nothing.
    pub fn mean_score(&self) -> f64 {
        let sum: f64 = self.cells.iter().filter_map(|cell| cell.score).sum();
        sum / self.cells.len().max(1) as f64
    }
}

/// Why a spot isn't a plain pass; empty when it is.
pub(super) fn reason(card: &Scorecard) -> String {
    if card.verdict == Verdict::Pass {
        return String::new();
    }
    card.headlines
        .iter()
        .filter(|headline| headline.verdict == card.verdict)
        .min_by(|a, b| a.score.unwrap_or(0.0).total_cmp(&b.score.unwrap_or(0.0)))
        .and_then(|headline| headline.deciding())
        .map(|check| check.why.clone())
        .unwrap_or_default()
}
