//! What is kept in docs/ about our formats is what the code says. `FOREREAD_BLESS=1` writes it anew; read the diff.

#![allow(clippy::unwrap_used, reason = "a test that cannot set itself up has failed")]

use std::path::Path;

fn kept_in_docs(name: &str, now: &str) {
    let path = Path::new(env!("CARGO_MANIFEST_DIR"))
        .join("../../docs")
        .join(name);
    if std::env::var_os("FOREREAD_BLESS").is_some() {
        std::fs::create_dir_all(path.parent().unwrap()).unwrap();
        std::fs::write(&path, now).unwrap();
    }
    let kept = std::fs::read_to_string(&path).unwrap_or_default();
    assert!(
        kept == now,
        "docs/{name} differs from the code; run with FOREREAD_BLESS=1 and read the diff"
    );
}

#[test]
fn the_schema_in_docs_is_up_to_date() {
    kept_in_docs("survey.schema.json", &wire::survey_schema());
}

#[test]
fn the_schema_of_drills_in_docs_is_up_to_date() {
    kept_in_docs("drills.schema.json", &wire::drills_schema());
}

#[test]
fn the_schema_of_a_call_in_docs_is_up_to_date() {
    kept_in_docs("call.schema.json", &wire::call_schema());
}

#[test]
fn the_columns_of_the_table_are_up_to_date() {
    kept_in_docs("survey-table.md", &wire::columns_page());
}

#[test]
fn the_schemas_of_plan_and_log_are_up_to_date() {
    kept_in_docs("plan.schema.json", &wire::plan_schema());
    kept_in_docs("practice-log.schema.json", &wire::log_schema());
    kept_in_docs("practice-log-bars.schema.json", &wire::log_summary_schema());
}

#[test]
fn the_schema_of_a_scan_is_up_to_date() {
    kept_in_docs("scan.schema.json", &wire::scan_schema());
}

#[test]
fn the_schema_of_a_take_is_up_to_date() {
    kept_in_docs("take.schema.json", &wire::take_schema());
}

#[test]
fn the_schemas_of_reading_pieces_and_level_tables_are_up_to_date() {
    kept_in_docs("reading.schema.json", &wire::readings_schema());
    kept_in_docs("levels.schema.json", &wire::levels_schema());
}
