//! What does the table beside the fixtures say? Features by standard, and the fields in which they may differ.

/// The two tables of `fixtures/same/README.md`.
#[derive(Debug, Default)]
pub struct Table {
    /// One row for each feature.
    pub features: Vec<Feature>,
    /// One row for each field that may differ.
    pub excuses: Vec<Excuse>,
}

/// A feature, and which standards can say it.
#[derive(Debug)]
pub struct Feature {
    /// The fixtures' name without its end.
    pub name: String,
    formats: Vec<&'static str>,
    /// Why not all of them; empty if all.
    pub why: String,
}

impl Feature {
    /// True if there is a fixture in a standard, by the end of its name.
    pub fn says(&self, format: &str) -> bool {
        self.formats.contains(&format)
    }
}

/// A field that may differ from the MusicXML fixture's.
#[derive(Debug)]
pub struct Excuse {
    /// Features by name, or `all`.
    pub features: Vec<String>,
    /// Ends of names, or `all`.
    pub formats: Vec<String>,
    /// A field of the survey's JSON, or `page: ` and one of the names in `page.rs`.
    pub field: String,
    /// Why.
    pub why: String,
    /// The line of the table.
    pub line: usize,
}

impl Excuse {
    /// True if it is about the page model rather than the survey.
    pub fn is_of_page(&self) -> bool {
        self.field.starts_with("page: ")
    }
}

/// Reads the tables: rows of six cells are features, rows of four are excuses.
pub fn parse(text: &str) -> Table {
    let mut table = Table::default();
    for (index, line) in text.lines().enumerate() {
        let Some(row) = line
            .trim()
            .strip_prefix('|')
            .and_then(|row| row.strip_suffix('|'))
        else {
            continue;
        };
        let cells: Vec<&str> = row.split('|').map(str::trim).collect();
        let ticked = |cell: &str| cell.trim_matches('`').to_owned();
        let listed = |cell: &str| cell.split(',').map(|one| ticked(one.trim())).collect();
        if cells.iter().any(|cell| cell.starts_with("---")) || !cells[0].starts_with('`') {
            continue;
        }
        match cells.as_slice() {
            [name, says @ .., why] if says.len() == 4 => table.features.push(Feature {
                name: ticked(name),
                formats: super::FORMATS
                    .into_iter()
                    .zip(says)
                    .filter(|(_, cell)| **cell == "yes")
                    .map(|(format, _)| format)
                    .collect(),
                why: (*why).to_owned(),
            }),
            [features, formats, field, why] => table.excuses.push(Excuse {
                features: listed(features),
                formats: listed(formats),
                field: ticked(field),
                why: (*why).to_owned(),
                line: index + 1,
            }),
            _ => panic!("line {}: a row of {} cells", index + 1, cells.len()),
        }
    }
    assert!(!table.features.is_empty(), "no features in the table");
    table
}

/// What the survey of a fixture must not leave empty, as a JSON pointer.
pub const SHOWN: &[(&str, &str)] = &[
    ("pickup", "/metre_more/anacrusis"),
    ("tuplets", "/rhythm/tuplets/1"),
    ("nested_tuplets", "/rhythm/tuplets/0/nested"),
    ("dotted", "/rhythm/dotted"),
    ("ties", "/rhythm/ties/over_bar_lines"),
    ("tied_accidentals", "/accidentals/ledger"),
    ("double_accidentals", "/accidentals/enharmonic"),
    ("courtesy", "/accidentals/courtesy_printed"),
    ("graces", "/ornaments/3"),
    ("ornaments", "/ornaments/5"),
    ("ornament_accidentals", "/ornaments/0/above"),
    ("articulations", "/articulation/3"),
    ("slurs", "/articulation_more/slurs_over_bar_lines"),
    ("dynamics", "/dynamics/3"),
    ("tempo", "/tempo/metronome"),
    ("fermatas", "/road_map/fermatas/2"),
    ("breath", "/road_map/breaks/1"),
    ("caesura", "/road_map/breaks"),
    ("repeats", "/road_map/repeats/2"),
    ("endings", "/road_map/endings/1"),
    ("ending_lists", "/road_map/endings/1"),
    ("dc_al_fine", "/road_map/jumps"),
    ("ds_al_coda", "/road_map/codas"),
    ("metres", "/metre/5"),
    ("key_changes", "/key/signatures/3"),
    ("clefs", "/clefs/3"),
    ("double_stops", "/range/double_stops"),
    ("multi_rest", "/rhythm/silent_bars/3"),
];
