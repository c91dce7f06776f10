//! Does a value fit our own schema, strictly? The part of JSON Schema 2020-12 that ours uses; members that the schema
//! does not name are faults, too. The reference checks ask a published validator.

use serde_json::Value;
use std::sync::LazyLock;

static SCHEMA: LazyLock<Value> = LazyLock::new(|| serde_json::from_str(&wire::survey_schema()).unwrap());

pub fn misfits(value: &Value) -> Vec<String> {
    let mut found = Vec::new();
    fit(value, &SCHEMA, "", &mut found);
    found
}

fn fit(value: &Value, schema: &Value, at: &str, found: &mut Vec<String>) {
    let Some(rules) = schema.as_object() else {
        return; // `true`: anything.
    };
    for (rule, asked) in rules {
        match rule.as_str() {
            "$ref" => fit(value, target(asked), at, found),
            "anyOf" => {
                let any = asked.as_array().unwrap().iter().any(|one| {
                    let mut faults = Vec::new();
                    fit(value, one, at, &mut faults);
                    faults.is_empty()
                });
                if !any {
                    found.push(format!("{at}: fits none of several"));
                }
            }
            "type" => {
                let kinds: Vec<&str> = match asked {
                    Value::Array(kinds) => kinds.iter().filter_map(Value::as_str).collect(),
                    kind => kind.as_str().into_iter().collect(),
                };
                if !kinds.iter().any(|kind| is(value, kind)) {
                    found.push(format!("{at}: {value} is not {kinds:?}"));
                }
            }
            "minimum" if value.as_f64().is_some_and(|n| n < asked.as_f64().unwrap()) => {
                found.push(format!("{at}: {value} is below {asked}"));
            }
            "maximum" if value.as_f64().is_some_and(|n| n > asked.as_f64().unwrap()) => {
                found.push(format!("{at}: {value} is above {asked}"));
            }
            "required" => {
                for name in asked.as_array().unwrap().iter().filter_map(Value::as_str) {
                    if value.is_object() && value.get(name).is_none() {
                        found.push(format!("{at}.{name} is missing"));
                    }
                }
            }
            "items" => {
                for (index, item) in value.as_array().into_iter().flatten().enumerate() {
                    fit(item, asked, &format!("{at}[{index}]"), found);
                }
            }
            "properties" => members(value, asked, rules.get("additionalProperties"), at, found),
            "additionalProperties" if rules.get("properties").is_none() => {
                for (name, member) in value.as_object().into_iter().flatten() {
                    fit(member, asked, &format!("{at}.{name}"), found);
                }
            }
            "minimum"
            | "maximum"
            | "format"
            | "title"
            | "description"
            | "$schema"
            | "$defs"
            | "additionalProperties" => {}
            other => panic!("the schema uses {other:?}, which this check does not know"),
        }
    }
}

fn members(value: &Value, known: &Value, more: Option<&Value>, at: &str, found: &mut Vec<String>) {
    for (name, member) in value.as_object().into_iter().flatten() {
        let here = format!("{at}.{name}");
        match known.get(name).or(more) {
            Some(schema) => fit(member, schema, &here, found),
            None => found.push(format!("{here} is not in the schema")),
        }
    }
}

fn target(reference: &Value) -> &'static Value {
    let name = reference.as_str().unwrap().strip_prefix("#/$defs/").unwrap();
    &SCHEMA["$defs"][name]
}

fn is(value: &Value, kind: &str) -> bool {
    match kind {
        "object" => value.is_object(),
        "array" => value.is_array(),
        "string" => value.is_string(),
        "boolean" => value.is_boolean(),
        "null" => value.is_null(),
        "number" => value.is_number(),
        "integer" => value.is_i64() || value.is_u64(),
        other => panic!("no such type: {other}"),
    }
}
