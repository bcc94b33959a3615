//! The file that says what is to be done with a scan.

use std::path::Path;

use crate::format::error::FileError;
use crate::format::read::scan_plan_from_text;
use crate::model::{ScanPlan, Step};

/// Longest plan, bytes.
const LONGEST_PLAN: u64 = 1 << 20;

/// A plan, with its text to say where something stands in it.
#[derive(Default)]
pub(super) struct PlanFile {
    name: String,
    text: String,
    pub(super) plan: ScanPlan,
}

impl PlanFile {
    pub(super) fn read(path: &Path) -> Result<PlanFile, FileError> {
        let name = path.display().to_string();
        let fail = |found: String, expected: &str| FileError::one(&name, found, expected);
        let about = std::fs::metadata(path).map_err(|error| {
            fail(format!("a file that can't be read ({error})"), "a plan: a RON file")
        })?;
        if !about.is_file() || about.len() > LONGEST_PLAN {
            let found = format!("{} bytes, or no plain file", about.len());
            return Err(fail(found, "a plan: a RON file of at most 1 MiB"));
        }
        let bytes = std::fs::read(path).map_err(|error| {
            fail(format!("a file that can't be read ({error})"), "a plan: a RON file")
        })?;
        let text = String::from_utf8(bytes).map_err(|error| {
            let line = 1 + error.as_bytes()[..error.utf8_error().valid_up_to()]
                .iter()
                .filter(|&&byte| byte == b'\n')
                .count();
            fail(format!("bytes that are not UTF-8 in line {line}"), "text in UTF-8")
        })?;
        let plan = scan_plan_from_text(&name, text.trim_start_matches('\u{feff}'))?;
        Ok(PlanFile { name, text, plan })
    }

    /// An error about a field of the plan, with its line.
    pub(super) fn fail<T>(
        &self,
        field: &'static str,
        found: String,
        expected: &str,
    ) -> Result<T, FileError> {
        let path = [Step::Field(field)];
        Err(FileError::one(&self.name, found, expected).at(&self.text, &path))
    }
}
