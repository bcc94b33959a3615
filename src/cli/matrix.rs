//! `matrix`: every spot on every car.

use std::process::ExitCode;

use clap::Args;

use super::answer::ANSWER_SCHEMA;
use super::arguments::{CAUTION, LayoutArguments, complain, opened, say};
use super::table::{Style, csv, folded};
use crate::compare::{CarOptions, CarsError, Matrix, every_car, matrix, stated_cars};
use crate::format::{FileError, Opened};

#[derive(Debug, Args)]
pub(super) struct MatrixArguments {
    /// A layout file, or the name of a built-in demo; the first demo when left out.
    layout: Option<std::path::PathBuf>,
    /// A car by its options, such as `tow,amplifier`; may be given several times; `none` for a car
    /// without any. Every combination that the layout's rules allow when left out.
    #[arg(long = "car", value_name = "CODES")]
    car: Vec<String>,
    /// The cars that the layout states in `cars`.
    #[arg(long, conflicts_with = "car")]
    stated: bool,
    /// Don't look for what could be unbolted where a spot fails.
    #[arg(long)]
    no_unbolting: bool,
    /// Print comma-separated values.
    #[arg(long, conflicts_with = "json")]
    csv: bool,
    /// Print one JSON object.
    #[arg(long)]
    json: bool,
}

pub(super) fn run(arguments: &MatrixArguments) -> Result<ExitCode, FileError> {
    let opened = opened(&LayoutArguments::of(arguments.layout.clone()))?;
    let cars = cars(&opened, arguments)?;
    for car in &cars {
        for rule in car.breaks(&opened.layout) {
            complain(&format!("a car with {} breaks the layout's rule `{rule}`", car.name));
        }
    }
    let unbolt = !arguments.no_unbolting;
    let found =
        matrix(&opened.layout, &opened.pump, &opened.meshes, &cars, unbolt).map_err(|error| {
            FileError::one(opened.file.name(), error.to_string(), "shapes with a volume")
        })?;
    let out = if arguments.json {
        json(&opened, &found)?
    } else if arguments.csv {
        as_csv(&found)
    } else {
        text(&found)
    };
    say(&out);
    Ok(ExitCode::from(u8::from(found.serves_most.is_none())))
}

fn cars(opened: &Opened, arguments: &MatrixArguments) -> Result<Vec<CarOptions>, FileError> {
    let layout = &opened.layout;
    let refused = |error: CarsError| {
        let expected = "options of the layout, by name or code; --car takes them with commas";
        FileError::one(opened.file.name(), error.to_string(), expected)
    };
    if arguments.stated {
        let stated = stated_cars(layout).map_err(refused)?;
        if stated.is_empty() {
            return Err(FileError::one(
                opened.file.name(),
                "no `cars`",
                "cars that the layout states",
            ));
        }
        return Ok(stated);
    }
    if arguments.car.is_empty() {
        return every_car(layout).map_err(refused);
    }
    let chosen = |text: &String| {
        let names: Vec<String> = text
            .split(',')
            .map(|name| name.trim().to_string())
            .filter(|name| !name.is_empty() && name != "none")
            .collect();
        CarOptions::chosen(layout, &names).map_err(refused)
    };
    arguments.car.iter().map(chosen).collect()
}

fn json(opened: &Opened, found: &Matrix) -> Result<String, FileError> {
    #[derive(serde::Serialize)]
    struct Answer<'a> {
        schema: u32,
        #[serde(flatten)]
        matrix: &'a Matrix,
    }
    let answer = Answer { schema: ANSWER_SCHEMA, matrix: found };
    serde_json::to_string_pretty(&answer).map(|text| format!("{text}\n")).map_err(|error| {
        FileError::one(opened.file.name(), error.to_string(), "an answer that can be written")
    })
}

fn as_csv(found: &Matrix) -> String {
    let head = ["spot", "car", "verdict", "score", "why", "unbolt"].map(String::from).to_vec();
    let mut rows = vec![head];
    for row in &found.spots {
        for (car, cell) in found.cars.iter().zip(&row.cells) {
            let unbolt = cell.unbolting.iter().flat_map(|unbolting| &unbolting.bodies);
            let unbolt: Vec<&str> = unbolt.map(|body| body.body.as_str()).collect();
            rows.push(vec![
                row.spot.clone(),
                car.name.clone(),
                cell.verdict.word().to_string(),
                cell.score.map_or(String::new(), |score| format!("{score:.1}")),
                cell.why.clone(),
                unbolt.join(" + "),
            ]);
        }
    }
    csv(&rows)
}

fn text(found: &Matrix) -> String {
    let style = Style::of_output();
    let mut out =
        format!("{}\n\n", folded(&format!("{} · {}", found.layout, found.pump), style.width));
    for (index, car) in found.cars.iter().enumerate() {
        out.push_str(&format!("{:>3}  {}\n", index + 1, folded(&car.name, style.width - 6)));
    }
    let mut table = style.table();
    let mut head = vec!["spot".to_string()];
    head.extend((1..=found.cars.len()).map(|number| number.to_string()));
    head.push("serves".to_string());
    table.set_header(head);
    for row in &found.spots {
        let mut cells = vec![comfy_table::Cell::new(&row.spot)];
        for cell in &row.cells {
            cells.push(style.mark(cell.verdict, cell.unbolting.is_some()));
        }
        let more = if row.serves_unbolted > 0 {
            format!(" +{}", row.serves_unbolted)
        } else {
            String::new()
        };
        cells.push(comfy_table::Cell::new(format!("{}/{}{more}", row.serves, row.cells.len())));
        table.add_row(cells);
    }
    out.push_str(&format!("\n{table}\n"));
    let key =
        "● pass   ◐ tight   ✖ fail   ? unknown   ⚒ fails, and would serve with something unbolted";
    out.push_str(&format!("{}\n", folded(key, style.width)));
    let most = match &found.serves_most {
        Some(spot) => {
            let row = found.spots.iter().find(|row| row.spot == *spot);
            let serves = row.map_or(0, |row| row.serves);
            format!("`{spot}` serves most cars: {serves} of {}.", found.cars.len())
        }
        None => "No spot serves any of these cars.".to_string(),
    };
    out.push_str(&format!("\n{}\n", folded(&most, style.width)));
    out.push_str(&unbolted(found, style.width));
    out.push_str(&format!("\n{}\n", folded(CAUTION, style.width)));
    out
}

/// What has to be unbolted for which spot, each way once.
fn unbolted(found: &Matrix, width: u16) -> String {
    let mut told: Vec<(String, Vec<usize>)> = Vec::new();
    for row in &found.spots {
        for (index, cell) in row.cells.iter().enumerate() {
            let Some(unbolting) = &cell.unbolting else { continue };
            let bodies: Vec<String> = unbolting
                .bodies
                .iter()
                .map(|body| format!("unbolt {} ({}), fit it {}", body.body, body.how, body.refit))
                .collect();
            let text =
                format!("{}: {}; then {}", row.spot, bodies.join("; "), unbolting.verdict.word());
            match told.iter_mut().find(|(known, _)| *known == text) {
                Some((_, cars)) => cars.push(index + 1),
                None => told.push((text, vec![index + 1])),
            }
        }
    }
    let line = |(text, cars): (String, Vec<usize>)| {
        let cars: Vec<String> = cars.iter().map(ToString::to_string).collect();
        format!("\n{}\n", folded(&format!("{text}. On cars {}.", cars.join(", ")), width))
    };
    told.into_iter().map(line).collect()
}
