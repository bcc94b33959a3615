//! The headless answer: every spot asked for, best first, as one object.

use serde::Serialize;

use crate::checks::{Ask, Boot, Scorecard, Verdict, evaluate_some, tolerance_runs};
use crate::format::FileError;
use crate::model::Spot;

/// The form of the answers of every command.
pub(super) const ANSWER_SCHEMA: u32 = 1;

/// The answer to `check`, in the form that `--json` prints.
#[derive(Debug, Serialize)]
pub(super) struct Answer {
    schema: u32,
    layout: String,
    pump: String,
    options: Vec<String>,
    pub(super) spots: Vec<Scorecard>,
}

/// How often, and from which seed, to measure the boot again.
#[derive(Debug, Clone, Copy)]
pub(super) struct Runs {
    pub(super) count: u32,
    pub(super) seed: u64,
}

impl Answer {
    /// Evaluates one spot by name, or every spot; non-failing first, then by score.
    pub(super) fn of(
        boot: &Boot,
        file: &str,
        wanted: Option<&str>,
        runs: Option<Runs>,
        details: bool,
    ) -> Result<Answer, FileError> {
        let layout = boot.layout();
        let chosen: Vec<&Spot> = match wanted {
            None => layout.spots.iter().collect(),
            Some(name) => vec![layout.spot(name).ok_or_else(|| no_such_spot(boot, file, name))?],
        };
        if chosen.is_empty() {
            return Err(FileError::one(file, "no spot", "at least one spot to check"));
        }
        let card = |spot: &&Spot| match runs {
            Some(runs) => tolerance_runs(boot, spot, runs.count, runs.seed),
            None => evaluate_some(boot, spot, &Ask { details, ..Ask::default() }),
        };
        let mut spots: Vec<Scorecard> = chosen.iter().map(card).collect();
        spots.sort_by(Scorecard::rank);
        Ok(Answer {
            schema: ANSWER_SCHEMA,
            layout: layout.name.clone(),
            pump: boot.pump().name.clone(),
            options: boot.fitted().to_vec(),
            spots,
        })
    }

    /// Whether the named spot, or every spot, fails.
    pub(super) fn fails(&self) -> bool {
        self.spots.iter().all(|card| card.verdict == Verdict::Fail)
    }
}

fn no_such_spot(boot: &Boot, file: &str, name: &str) -> FileError {
    let names = boot.layout().spots.iter().map(|spot| spot.name.as_str());
    let expected = one_of(name, names, "a layout with spots");
    FileError::one(file, format!("no spot `{name}`"), expected)
}

/// What could have been typed instead of `wanted`, the nearest name last; `none` when there is
/// nothing.
pub(super) fn one_of<'a>(
    wanted: &str,
    names: impl Iterator<Item = &'a str> + Clone,
    none: &str,
) -> String {
    let known: Vec<String> = names.clone().map(|name| format!("`{name}`")).collect();
    if known.is_empty() {
        return none.to_string();
    }
    let near = crate::model::nearest_name(wanted, names)
        .map(|near| format!("; did you mean `{near}`?"))
        .unwrap_or_default();
    format!("one of {}{near}", known.join(", "))
}
