//! How does a table read as CSV? By RFC 4180, the head from the rows' own names.

use serde_json::Value;
use std::collections::BTreeSet;

/// Rows (a JSON list of objects) as CSV.
///
/// Source: RFC 4180: fields with a comma, a quote or a line end stand in quotes, quotes are doubled, lines end with CR LF.
pub(super) fn csv(rows: &Value) -> String {
    let rows = rows.as_array().map_or(&[][..], Vec::as_slice);
    let head: BTreeSet<&str> = rows
        .iter()
        .filter_map(Value::as_object)
        .flat_map(|row| row.keys().map(String::as_str))
        .collect();
    // Its number first, then by name.
    let mut head: Vec<&str> = head.into_iter().collect();
    head.sort_by_key(|name| (*name != "id", *name));
    let mut text = line(head.iter().map(|name| (*name).to_owned()));
    for row in rows {
        text.push_str(&line(head.iter().map(|name| cell(row.get(*name)))));
    }
    text
}

fn line(cells: impl Iterator<Item = String>) -> String {
    let mut line = cells.map(|cell| quoted(&cell)).collect::<Vec<_>>().join(",");
    line.push_str("\r\n");
    line
}

/// A value as a cell. A text that a spreadsheet would take for a formula gets an apostrophe: titles come from strangers' files.
fn cell(value: Option<&Value>) -> String {
    match value {
        None | Some(Value::Null) => String::new(),
        Some(Value::String(text)) if text.starts_with(['=', '+', '-', '@', '\t', '\r']) => format!("'{text}"),
        Some(Value::String(text)) => text.clone(),
        Some(other) => other.to_string(),
    }
}

fn quoted(cell: &str) -> String {
    if cell.contains([',', '"', '\n', '\r']) {
        format!("\"{}\"", cell.replace('"', "\"\""))
    } else {
        cell.to_owned()
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use serde_json::json;

    /// Source: RFC 4180, section 2, rules 1, 5, 6 and 7.
    #[test]
    fn a_table_reads_back() {
        let rows = json!([
            {"id": 1, "title": "Air, slow", "note": null, "load": 2.5, "from": {"bar": 3}},
            {"id": 2, "title": "say \"ah\"\nand go", "note": "=1+1", "load": -1},
        ]);
        assert_eq!(
            csv(&rows),
            "id,from,load,note,title\r\n1,\"{\"\"bar\"\":3}\",2.5,,\"Air, slow\"\r\n2,,-1,'=1+1,\"say \"\"ah\"\"\nand go\"\r\n"
        );
        assert_eq!(csv(&json!([])), "\r\n");
    }
}
