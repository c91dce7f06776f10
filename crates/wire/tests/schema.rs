//! The schema kept in docs/ is the schema of the code. `FOREREAD_BLESS=1` writes it anew; read the diff.

use std::path::Path;

#[test]
fn the_schema_in_docs_is_up_to_date() {
    let path = Path::new(env!("CARGO_MANIFEST_DIR")).join("../../docs/survey.schema.json");
    let now = wire::survey_schema();
    if std::env::var_os("FOREREAD_BLESS").is_some() {
        std::fs::create_dir_all(path.parent().unwrap()).unwrap();
        std::fs::write(&path, &now).unwrap();
    }
    let kept = std::fs::read_to_string(&path).unwrap_or_default();
    assert!(
        kept == now,
        "docs/survey.schema.json differs from the code; run with FOREREAD_BLESS=1 and read the diff"
    );
}
