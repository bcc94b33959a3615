//! Older layouts in today's form.

use super::error::FileError;
use super::read::layout_from_text;
use super::ron_text::find;
use crate::model::{SCHEMA, Step};

/// The text of a layout in the newest schema, comments and all; none when it is that already. Reading it
/// gives the same layout but for the schema.
///
/// 1 → 2: an `option` holds a rule over options instead of one plain name. A plain name means the same
/// in both, whatever words it has, so only the number changes.
///
/// # Errors
/// When the text is no sound layout, or of a schema that isn't known.
pub fn upgraded_text(file: &str, text: &str) -> Result<Option<String>, FileError> {
    let layout = layout_from_text(file, text)?;
    if layout.schema == SCHEMA {
        return Ok(None);
    }
    let changed = find(text, &[Step::Field("schema")])
        .map(|range| format!("{}{SCHEMA}{}", &text[..range.start], &text[range.end..]));
    let expected = crate::model::Layout { schema: SCHEMA, ..layout };
    let same = |text: &String| layout_from_text(file, text).is_ok_and(|again| again == expected);
    changed.filter(same).map(Some).ok_or_else(|| {
        FileError::one(
            file,
            "a schema that can't be changed in place",
            format!("`schema: {SCHEMA}` as a field of the layout; nothing was written"),
        )
    })
}
