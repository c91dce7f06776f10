//! In which fields do two surveys differ?

use serde_json::Value;
use std::fmt;

/// Numbers this close are the same: certainties are sums of floats.
const CLOSE: f64 = 1e-9;

/// One field that differs.
#[derive(Debug)]
pub struct Difference {
    path: String,
    here: String,
    there: String,
}

impl Difference {
    /// True if it stands in a field, or in what that field holds: `road_map.leaps` holds `road_map.leaps[0].to.bar`.
    pub fn stands_in(&self, field: &str) -> bool {
        let bare: String = without_indices(&self.path);
        bare.strip_prefix(field)
            .is_some_and(|rest| rest.is_empty() || rest.starts_with('.'))
    }
}

fn without_indices(path: &str) -> String {
    let mut inside = false;
    path.chars()
        .filter(|c| {
            let keep = !inside && *c != '[';
            inside = (inside || *c == '[') && *c != ']';
            keep
        })
        .collect()
}

impl fmt::Display for Difference {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}: {} in MusicXML, {} here", self.path, self.here, self.there)
    }
}

/// Every field in which two surveys differ, what names the source itself left out.
pub fn differences(here: &Value, there: &Value) -> Vec<Difference> {
    let mut found = Vec::new();
    walk("", here, there, &mut found);
    found
}

/// Ids are given in reading order; a source's name, digest, standard and tune are its own; the readers' findings speak of each standard.
fn is_of_the_source(path: &str) -> bool {
    path.ends_with(".element")
        || matches!(
            path,
            "piece.source" | "piece.sha256" | "piece.format" | "piece.tune" | "reader_findings"
        )
}

fn walk(path: &str, here: &Value, there: &Value, found: &mut Vec<Difference>) {
    if is_of_the_source(path) {
        return;
    }
    match (here, there) {
        (Value::Object(a), Value::Object(b)) => {
            let inside = |key: &str| {
                if path.is_empty() {
                    key.to_owned()
                } else {
                    format!("{path}.{key}")
                }
            };
            for (key, value) in a {
                walk(&inside(key), value, b.get(key).unwrap_or(&Value::Null), found);
            }
            for (key, value) in b.iter().filter(|(key, _)| !a.contains_key(*key)) {
                walk(&inside(key), &Value::Null, value, found);
            }
        }
        (Value::Array(a), Value::Array(b)) => {
            if a.len() != b.len() {
                found.push(of(path, here, there));
                return;
            }
            for (index, (one, other)) in a.iter().zip(b).enumerate() {
                walk(&format!("{path}[{index}]"), one, other, found);
            }
        }
        (Value::Number(a), Value::Number(b)) => {
            let close = a
                .as_f64()
                .zip(b.as_f64())
                .is_some_and(|(a, b)| (a - b).abs() <= CLOSE);
            if !close {
                found.push(of(path, here, there));
            }
        }
        _ if here == there => {}
        _ => found.push(of(path, here, there)),
    }
}

fn of(path: &str, here: &Value, there: &Value) -> Difference {
    let short = |value: &Value| -> String {
        let text = value.to_string();
        if text.chars().count() > 240 {
            text.chars().take(240).chain("…".chars()).collect()
        } else {
            text
        }
    };
    Difference {
        path: path.to_owned(),
        here: short(here),
        there: short(there),
    }
}

#[test]
fn differences_are_found_and_told_by_field() {
    let here = serde_json::json!({"key": {"certainty": 0.5, "tonic": "C"}, "terms": [{"at": 1}], "x": {"element": "e1"}});
    let same = serde_json::json!({"key": {"certainty": 0.5 + 1e-12, "tonic": "C"}, "terms": [{"at": 1}], "x": {"element": "e9"}});
    assert!(differences(&here, &same).is_empty());
    let other =
        serde_json::json!({"key": {"certainty": 0.6, "tonic": "G"}, "terms": [{"at": 2}], "x": {}, "y": 1});
    let found = differences(&here, &other);
    let paths: Vec<&str> = found.iter().map(|one| one.path.as_str()).collect();
    assert_eq!(paths, ["key.certainty", "key.tonic", "terms[0].at", "y"]);
    assert!(found[2].stands_in("terms.at") && found[2].stands_in("terms") && !found[2].stands_in("term"));
}
