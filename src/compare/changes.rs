//! What changed between two versions of a layout, in words.

use serde::Serialize;
use serde_json::{Map, Value};

use super::renamed::renamed;
use crate::model::Layout;

/// One difference.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Change {
    /// The thing it is about: ``body `battery` ``; empty for the layout itself.
    pub about: String,
    /// What happened to it, in words.
    pub text: String,
}

impl std::fmt::Display for Change {
    fn fmt(&self, out: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        if self.about.is_empty() {
            write!(out, "{}", self.text)
        } else {
            write!(out, "{}: {}", self.about, self.text)
        }
    }
}

/// Every difference between two versions of a layout, in the order of the layout's fields; none exactly
/// when they are equal. Things are matched by name; one that is gone and one that is new but says nearly the
/// same are told as one thing that got another name, with whatever else differs.
///
/// ```
/// let old = dryberth::format::open_demo(None)?.layout;
/// let mut new = old.clone();
/// new.spots[0].place.at.x += 12.0;
/// let told = dryberth::compare::changes(&old, &new);
/// assert_eq!(told.len(), 1);
/// assert!(told[0].text.contains("12 mm forward"), "{}", told[0].text);
/// # Ok::<(), dryberth::format::FileError>(())
/// ```
pub fn changes(old: &Layout, new: &Layout) -> Vec<Change> {
    let value = |layout: &Layout| serde_json::to_value(layout).unwrap_or_default();
    let (old, new) = (value(old), value(new));
    let mut told = Vec::new();
    let (Value::Object(old), Value::Object(new)) = (&old, &new) else { return told };
    for (field, before) in old {
        let Some(after) = new.get(field).filter(|after| *after != before) else { continue };
        match (before, after) {
            (Value::Array(before), Value::Array(after)) if named(before) && named(after) => {
                lists(kind(field), before, after, &mut told);
            }
            _ => within("", field, before, after, &mut told),
        }
    }
    followed(&mut told);
    told
}

/// Places that only follow a thing to its new name are counted with it, not told one by one.
fn followed(told: &mut Vec<Change>) {
    let renamed: Vec<Change> =
        told.iter().filter(|change| change.text.starts_with(RENAMED)).cloned().collect();
    for thing in renamed {
        let (Some((_, new)), Some(was)) =
            (thing.about.split_once('`'), thing.text.strip_prefix(RENAMED))
        else {
            continue;
        };
        let follows = format!(": `{new}, was {was}");
        let before = told.len();
        told.retain(|change| !change.text.ends_with(&follows));
        let words = match before - told.len() {
            0 => continue,
            1 => "; one place names it accordingly".to_string(),
            count => format!("; {count} places name it accordingly"),
        };
        if let Some(change) = told.iter_mut().find(|change| **change == thing) {
            change.text.push_str(&words);
        }
    }
}

/// What a changed name is told as, before the old one in quotes.
const RENAMED: &str = "has another name, was ";

/// What the entries of a list are called, one of them.
fn kind(list: &str) -> &str {
    match list {
        "bodies" => "body",
        "cars" => "car",
        "anchors" | "drains" | "leaks" | "lines" | "movers" | "openings" | "options" | "rams"
        | "spots" | "trims" | "viewpoints" => &list[..list.len() - 1],
        other => other,
    }
}

/// Whether every entry has a name of its own.
fn named(list: &[Value]) -> bool {
    let mut names: Vec<&str> = list.iter().filter_map(name).collect();
    names.sort_unstable();
    names.dedup();
    names.len() == list.len()
}

fn name(value: &Value) -> Option<&str> {
    value.get("name").and_then(Value::as_str)
}

fn lists(kind: &str, before: &[Value], after: &[Value], told: &mut Vec<Change>) {
    let find = |list: &[Value], wanted: &Value| {
        list.iter().find(|entry| name(entry) == name(wanted)).cloned()
    };
    let about = |entry: &Value| format!("{kind} `{}`", name(entry).unwrap_or_default());
    let tell = |entry: &Value, text: &str| Change { about: about(entry), text: text.to_string() };
    let lacking = |list: &'_ [Value], other: &[Value]| -> Vec<Value> {
        list.iter().filter(|entry| find(other, entry).is_none()).cloned().collect()
    };
    let (gone, fresh) = (lacking(before, after), lacking(after, before));
    let pairs: Vec<(&Value, &Value)> =
        renamed(&gone, &fresh).into_iter().map(|(old, new)| (&gone[old], &fresh[new])).collect();
    for old in before {
        match find(after, old) {
            Some(new) if new == *old => {}
            Some(new) => within(&about(old), "", old, &new, told),
            None => match pairs.iter().find(|(from, _)| name(from) == name(old)) {
                None => told.push(tell(old, "gone")),
                Some((_, new)) => {
                    let was = name(old).unwrap_or_default();
                    told.push(tell(new, &format!("{RENAMED}`{was}`")));
                    let mut called = old.clone();
                    called["name"] = new["name"].clone();
                    within(&about(new), "", &called, new, told);
                }
            },
        }
    }
    let named_anew = |entry: &&Value| pairs.iter().any(|(_, to)| to == entry);
    for new in fresh.iter().filter(|entry| !named_anew(entry)) {
        told.push(tell(new, "new"));
    }
    let common = |list: &[Value], other: &[Value]| -> Vec<String> {
        let kept = list.iter().filter(|entry| find(other, entry).is_some());
        kept.filter_map(|entry| name(entry).map(str::to_string)).collect()
    };
    if common(before, after) != common(after, before) {
        let text = format!("stand in another order in the list of every {kind}");
        told.push(Change { about: String::new(), text });
    }
}

/// Differences inside one value at `path` within the thing `about`.
fn within(about: &str, path: &str, before: &Value, after: &Value, told: &mut Vec<Change>) {
    let mut tell = |text: String| told.push(Change { about: about.to_string(), text });
    match (before, after) {
        (Value::Object(old), Value::Object(new)) if same_keys(old, new) => {
            for (field, before) in old {
                let after = &new[field];
                if before != after {
                    within(about, &joined(path, field), before, after, told);
                }
            }
        }
        (Value::Array(_), Value::Array(_)) if triple(before).zip(triple(after)).is_some() => {
            if let (Some(old), Some(new)) = (triple(before), triple(after)) {
                tell(moved(path, old, new));
            }
        }
        (Value::Array(old), Value::Array(new)) if named(old) && named(new) && !old.is_empty() => {
            let mut inner = Vec::new();
            lists(path, old, new, &mut inner);
            let prefixed = |change: Change| Change {
                about: about.to_string(),
                text: if change.about.is_empty() {
                    change.text
                } else {
                    format!("{}: {}", change.about, change.text)
                },
            };
            told.extend(inner.into_iter().map(prefixed));
        }
        (Value::Array(old), Value::Array(new)) if old.len() == new.len() => {
            for (index, (before, after)) in old.iter().zip(new).enumerate() {
                if before != after {
                    within(about, &format!("{path}[{index}]"), before, after, told);
                }
            }
        }
        (Value::Array(old), Value::Array(new)) => {
            tell(format!("{path}: {} entries, were {}", new.len(), old.len()));
        }
        (Value::Number(old), Value::Number(new)) => {
            let difference = new.as_f64().zip(old.as_f64()).map(|(new, old)| new - old);
            let by = difference.map_or(String::new(), |by| format!(" ({})", signed(by)));
            tell(format!("{path}: {new}{}, was {old}{by}", unit(path)));
        }
        (Value::Null, _) => tell(format!("{path}: {}, was not stated", shown(after))),
        (_, Value::Null) => tell(format!("{path}: no longer stated, was {}", shown(before))),
        _ => tell(format!("{path}: {}, was {}", shown(after), shown(before))),
    }
}

fn joined(path: &str, field: &str) -> String {
    if path.is_empty() { field.to_string() } else { format!("{path}.{field}") }
}

fn same_keys(old: &Map<String, Value>, new: &Map<String, Value>) -> bool {
    old.len() == new.len() && old.keys().all(|key| new.contains_key(key))
}

fn triple(value: &Value) -> Option<[f64; 3]> {
    let list = value.as_array().filter(|list| list.len() == 3)?;
    Some([list[0].as_f64()?, list[1].as_f64()?, list[2].as_f64()?])
}

/// A point or direction that changed; of a point, which way it went.
fn moved(path: &str, old: [f64; 3], new: [f64; 3]) -> String {
    let last = path.rsplit(['.', '[']).next().unwrap_or(path);
    let shown = |[x, y, z]: [f64; 3]| format!("({x}, {y}, {z})");
    if !["at", "from", "to", "through"].contains(&last) {
        return format!("{path}: {}, was {}", shown(new), shown(old));
    }
    let ways = [["forward", "back"], ["left", "right"], ["up", "down"]];
    let parts: Vec<String> = (0..3)
        .filter(|axis| new[*axis].to_bits() != old[*axis].to_bits())
        .map(|axis| {
            let by = new[axis] - old[axis];
            format!("{} mm {}", short(by.abs()), ways[axis][usize::from(by < 0.0)])
        })
        .collect();
    format!("{path}: moved {} to {}", parts.join(", "), shown(new))
}

fn short(value: f64) -> String {
    format!("{}", (value * 1e6).round() / 1e6)
}

fn signed(value: f64) -> String {
    let rounded = (value * 1e6).round() / 1e6;
    if rounded < 0.0 { format!("−{}", -rounded) } else { format!("+{rounded}") }
}

/// The unit that a field's name ends in.
fn unit(path: &str) -> &'static str {
    let last = path.rsplit('.').next().unwrap_or(path);
    for (ending, unit) in [
        ("_mm", " mm"),
        ("_mm2", " mm²"),
        ("_deg", "°"),
        ("_n", " N"),
        ("_v", " V"),
        ("_a", " A"),
        ("_pct", " %"),
        ("_kg", " kg"),
        ("_litres", " l"),
    ] {
        if last.ends_with(ending) {
            return unit;
        }
    }
    ""
}

/// A value as a line of text; long ones are cut.
fn shown(value: &Value) -> String {
    let text = match value {
        Value::String(text) => format!("`{text}`"),
        Value::Bool(true) => "yes".to_string(),
        Value::Bool(false) => "no".to_string(),
        other => other.to_string(),
    };
    if text.chars().count() <= 90 {
        return text;
    }
    let cut: String = text.chars().take(88).collect();
    format!("{cut} …")
}
