//! Things that got another name between two versions of a list.

use serde_json::Value;

/// Least share of what two things say that must agree for one to count as the other under a new name.
/// Our own rule, no source: a body keeps its place or its shape when it is called something else.
const LEAST_ALIKE: f64 = 0.7;

/// Fewest things said that must agree; below it anything is like anything.
const FEWEST_ALIKE: usize = 3;

/// Pairs of one of `gone` and one of `new` (as places in those lists) that are the same thing under two names:
/// alike in everything but the name first, then those most alike. What is left out, zero, empty or `false` in
/// both says nothing. Of equals the earlier; each is in one pair at most.
pub(super) fn renamed(gone: &[Value], new: &[Value]) -> Vec<(usize, usize)> {
    let mut found: Vec<(f64, usize, usize)> = Vec::new();
    for (at, old) in gone.iter().enumerate() {
        for (to, value) in new.iter().enumerate() {
            let mut count = Alike::default();
            count.compare(Some(old), Some(value), true);
            let share = count.same as f64 / count.said.max(1) as f64;
            if share >= LEAST_ALIKE && count.same >= FEWEST_ALIKE {
                found.push((share, at, to));
            }
        }
    }
    found.sort_by(|a, b| b.0.total_cmp(&a.0).then((a.1, a.2).cmp(&(b.1, b.2))));
    let mut pairs: Vec<(usize, usize)> = Vec::new();
    for (_, at, to) in found {
        if pairs.iter().all(|(other, another)| *other != at && *another != to) {
            pairs.push((at, to));
        }
    }
    pairs.sort_unstable();
    pairs
}

#[derive(Default)]
struct Alike {
    said: usize,
    same: usize,
}

impl Alike {
    /// Counts the single values that either says, and those in which both agree; names at the top aside.
    fn compare(&mut self, old: Option<&Value>, new: Option<&Value>, top: bool) {
        match (old, new) {
            (Some(Value::Object(old)), Some(Value::Object(new))) => {
                let more = new.keys().filter(|key| !old.contains_key(*key));
                for key in old.keys().chain(more).filter(|key| !top || *key != "name") {
                    self.compare(old.get(key), new.get(key), false);
                }
            }
            (Some(Value::Array(old)), Some(Value::Array(new))) => {
                for at in 0..old.len().max(new.len()) {
                    self.compare(old.get(at), new.get(at), false);
                }
            }
            (old, new) if old == new => {
                let said = old.map_or(0, said);
                self.said += said;
                self.same += said;
            }
            (old, new) => self.said += old.map_or(0, said).max(new.map_or(0, said)).max(1),
        }
    }
}

/// How many single values something says.
fn said(value: &Value) -> usize {
    match value {
        Value::Null | Value::Bool(false) => 0,
        Value::Bool(true) => 1,
        Value::Number(number) => usize::from(number.as_f64() != Some(0.0)),
        Value::String(text) => usize::from(!text.is_empty()),
        Value::Array(list) => list.iter().map(said).sum(),
        Value::Object(fields) => fields.values().map(said).sum(),
    }
}

#[cfg(test)]
mod tests {
    use super::renamed;
    use serde_json::json;

    #[test]
    fn the_same_thing_under_another_name_is_found_and_a_different_one_is_not() {
        let battery =
            json!({"name": "battery", "at": [100, 200, 30], "role": "Module", "sharp": false});
        let moved =
            json!({"name": "accumulator", "at": [100, 212, 30], "role": "Module", "sharp": false});
        let same =
            json!({"name": "accumulator", "at": [100, 200, 30], "role": "Module", "sharp": false});
        let other = json!({"name": "wheel", "at": [5, 6, 7], "role": "Panel", "sharp": true});
        let gone = std::slice::from_ref(&battery);
        assert_eq!(renamed(gone, &[other.clone(), same.clone()]), [(0, 1)]);
        assert_eq!(renamed(gone, std::slice::from_ref(&moved)), [(0, 0)]);
        assert_eq!(renamed(gone, &[moved, same]), [(0, 1)]);
        assert!(renamed(gone, &[other]).is_empty());
        // Things that say next to nothing are not the same for that.
        let [a, b] = ["a", "b"].map(|name| json!({"name": name, "at": [0, 0, 0]}));
        assert!(renamed(&[a], &[b]).is_empty());
    }
}
