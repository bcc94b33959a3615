//! The cars that a layout allows: combinations of options.

use serde::Serialize;

use crate::model::{Layout, OptionRule};

/// Most combinations that are worked through.
pub const MOST_CARS: usize = 1_024;

/// A car: some of the layout's options.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct CarOptions {
    /// What it is called; its options in words when nobody named it.
    pub name: String,
    /// The options it has, in the layout's order, by name.
    pub options: Vec<String>,
}

/// Why the cars can't be listed.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum CarsError {
    /// More combinations than are worked through.
    #[error(
        "{options} options make {combinations} combinations, and at most {MOST_CARS} are worked \
         through; state the cars that the workshop meets in the layout's `cars`, or name some"
    )]
    Many {
        /// How many options there are.
        options: usize,
        /// How many combinations they make, before the rules are asked.
        combinations: String,
    },
    /// The layout's rules leave no car.
    #[error("the layout's option_rules allow no car at all; correct the rules")]
    NoCar,
    /// A name that no option has.
    #[error("`{0}` is neither the name nor the code of an option of this layout")]
    Unknown(String),
}

/// Every combination of options that breaks none of the layout's rules; no option first, then
/// counting up with the first option as the lowest place.
///
/// # Errors
/// When there are more than [`MOST_CARS`] combinations, or none.
pub fn every_car(layout: &Layout) -> Result<Vec<CarOptions>, CarsError> {
    let count = layout.options.len();
    let many = count >= usize::BITS as usize || 1_usize << count > MOST_CARS;
    if many {
        let combinations = format!("2^{count}");
        return Err(CarsError::Many { options: count, combinations });
    }
    let rules = rules(layout);
    let cars: Vec<CarOptions> = (0..1_usize << count)
        .filter(|set| rules.iter().all(|rule| rule.holds(&|option| set >> option & 1 == 1)))
        .map(|set| {
            let has = (0..count).filter(|option| set >> option & 1 == 1);
            CarOptions::of(has.map(|option| layout.options[option].name.clone()).collect())
        })
        .collect();
    if cars.is_empty() { Err(CarsError::NoCar) } else { Ok(cars) }
}

/// The cars that the layout states, with their options in the layout's order.
///
/// # Errors
/// When one names an option that the layout doesn't list.
pub fn stated_cars(layout: &Layout) -> Result<Vec<CarOptions>, CarsError> {
    let car = |car: &crate::model::Car| {
        CarOptions::chosen(layout, &car.options)
            .map(|chosen| CarOptions { name: car.name.clone(), ..chosen })
    };
    layout.cars.iter().map(car).collect()
}

impl CarOptions {
    fn of(options: Vec<String>) -> CarOptions {
        let name = if options.is_empty() { "no options".to_string() } else { options.join(" + ") };
        CarOptions { name, options }
    }

    /// The car with the options of these names or codes and none of the others.
    ///
    /// # Errors
    /// When the layout doesn't list one of them.
    pub fn chosen(layout: &Layout, wanted: &[String]) -> Result<CarOptions, CarsError> {
        let mut names: Vec<&str> = Vec::new();
        for name in wanted {
            let option = layout.option_called(name);
            names.push(&option.ok_or_else(|| CarsError::Unknown(name.clone()))?.name);
        }
        let listed = layout.options.iter().map(|option| &option.name);
        Ok(CarOptions::of(listed.filter(|name| names.contains(&name.as_str())).cloned().collect()))
    }

    /// The rules of the layout that this car breaks, as written.
    pub fn breaks<'a>(&self, layout: &'a Layout) -> Vec<&'a str> {
        let has = |option: usize| self.options.contains(&layout.options[option].name);
        let broken = |text: &&String| {
            OptionRule::read(text, &layout.options).is_ok_and(|rule| !rule.holds(&has))
        };
        layout.option_rules.iter().filter(broken).map(String::as_str).collect()
    }
}

/// The layout's rules; one that can't be read is among its problems and left out here.
fn rules(layout: &Layout) -> Vec<OptionRule> {
    layout
        .option_rules
        .iter()
        .filter_map(|text| OptionRule::read(text, &layout.options).ok())
        .collect()
}
