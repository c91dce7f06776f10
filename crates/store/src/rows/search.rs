//! Which pieces fit what a teacher asks for? Every wish narrows; what has no summary yet fits only wishes about words.

use super::{PieceRow, list};
use crate::ids::PieceId;
use crate::{Store, StoreError};
use rusqlite::Connection;
use rusqlite::params_from_iter;
use rusqlite::types::Value;
use std::collections::BTreeMap;

/// What a folder is asked for; nothing asked is everything that is not put away.
#[derive(Clone, PartialEq, Debug, Default)]
pub struct PieceSearch {
    /// Words that all stand in title, composer, purpose, instrument, key or file name, large or small letters alike.
    pub words: String,
    /// One of these instruments, by fixed names; empty for any.
    pub instruments: Vec<String>,
    /// No key signature with more flats.
    pub most_flats: Option<i64>,
    /// No key signature with more sharps.
    pub most_sharps: Option<i64>,
    /// It has one of these metres; empty for any.
    pub metres: Vec<String>,
    /// No note below this key number.
    pub not_below: Option<i64>,
    /// No note above this key number.
    pub not_above: Option<i64>,
    /// At least so many bars.
    pub least_bars: Option<i64>,
    /// At most so many bars.
    pub most_bars: Option<i64>,
    /// At least so long, in seconds.
    pub least_seconds: Option<f64>,
    /// At most so long, in seconds.
    pub most_seconds: Option<f64>,
    /// At least this load.
    pub least_load: Option<f64>,
    /// At most this load.
    pub most_load: Option<f64>,
    /// It has all of these features.
    pub features: Vec<String>,
    /// It has none of these features.
    pub without: Vec<String>,
    /// By this table its level's rank is from … to.
    pub level: Option<(String, f64, f64)>,
    /// Those put away, instead of those that are not.
    pub put_away: bool,
}

impl PieceSearch {
    /// A search for words alone.
    #[must_use]
    pub fn words(words: &str) -> Self {
        Self {
            words: words.to_owned(),
            ..Self::default()
        }
    }

    /// The conditions after `WHERE`, and their values.
    fn sql(&self) -> (String, Vec<Value>) {
        let mut wishes = Wishes::default();
        wishes.add(if self.put_away {
            "piece.put_away IS NOT NULL"
        } else {
            "piece.put_away IS NULL"
        });
        wishes.any_of("summary.instrument", &self.instruments);
        let least = [
            ("summary.lowest_key", self.not_below),
            ("summary.bars", self.least_bars),
        ];
        let most = [
            ("summary.most_flats", self.most_flats),
            ("summary.most_sharps", self.most_sharps),
            ("summary.highest_key", self.not_above),
            ("summary.bars", self.most_bars),
        ];
        for (column, value) in least {
            wishes.compared(column, ">=", value.map(Value::from));
        }
        for (column, value) in most {
            wishes.compared(column, "<=", value.map(Value::from));
        }
        wishes.compared("summary.seconds", ">=", self.least_seconds.map(Value::from));
        wishes.compared("summary.seconds", "<=", self.most_seconds.map(Value::from));
        wishes.compared("summary.load", ">=", self.least_load.map(Value::from));
        wishes.compared("summary.load", "<=", self.most_load.map(Value::from));
        if !self.metres.is_empty() {
            let marks = wishes.values(&self.metres);
            wishes.add(&format!(
                "EXISTS (SELECT 1 FROM summary_metre m WHERE m.piece = summary.piece AND m.metre IN ({marks}))"
            ));
        }
        for feature in &self.features {
            let mark = wishes.value(feature.clone());
            wishes.add(&format!(
                "EXISTS (SELECT 1 FROM summary_feature f WHERE f.piece = summary.piece AND f.feature = {mark})"
            ));
        }
        for feature in &self.without {
            let mark = wishes.value(feature.clone());
            wishes.add(&format!(
                "summary.piece IS NOT NULL AND
                 NOT EXISTS (SELECT 1 FROM summary_feature f WHERE f.piece = summary.piece AND f.feature = {mark})"
            ));
        }
        if let Some((table, from, to)) = &self.level {
            let (table, from, to) = (
                wishes.value(table.clone()),
                wishes.value(*from),
                wishes.value(*to),
            );
            wishes.add(&format!(
                "EXISTS (SELECT 1 FROM summary_level l WHERE l.piece = summary.piece AND l.table_name = {table}
                 AND l.rank BETWEEN {from} AND {to})"
            ));
        }
        (wishes.conditions.join(" AND "), wishes.values)
    }
}

#[derive(Default)]
struct Wishes {
    conditions: Vec<String>,
    values: Vec<Value>,
}

impl Wishes {
    fn add(&mut self, condition: &str) {
        self.conditions.push(format!("({condition})"));
    }

    /// Keeps a value; says how the condition names it.
    fn value(&mut self, value: impl Into<Value>) -> String {
        self.values.push(value.into());
        format!("?{}", self.values.len())
    }

    fn values(&mut self, values: &[String]) -> String {
        let marks: Vec<String> = values.iter().map(|value| self.value(value.clone())).collect();
        marks.join(", ")
    }

    fn any_of(&mut self, column: &str, values: &[String]) {
        if !values.is_empty() {
            let marks = self.values(values);
            self.add(&format!("{column} IN ({marks})"));
        }
    }

    fn compared(&mut self, column: &str, how: &str, value: Option<Value>) {
        if let Some(value) = value {
            let mark = self.value(value);
            self.add(&format!("{column} {how} {mark}"));
        }
    }
}

/// All that is said in words about each piece, in small letters.
fn told(connection: &Connection) -> Result<BTreeMap<PieceId, String>, StoreError> {
    let mut rows = connection.prepare_cached(
        "SELECT piece.id, concat_ws(char(10), title, purpose, file_name, composer, instrument_name, key_name)
         FROM piece LEFT JOIN summary ON summary.piece = piece.id AND summary.version = piece.version",
    )?;
    let rows = rows.query_map([], |row| {
        Ok((row.get(0)?, row.get::<_, String>(1)?.to_lowercase()))
    })?;
    Ok(rows.collect::<Result<_, _>>()?)
}

impl Store {
    /// The pieces that fit, by title.
    ///
    /// # Errors
    /// If the database refuses.
    pub fn pieces(&self, search: &PieceSearch) -> Result<Vec<PieceRow>, StoreError> {
        let (conditions, values) = search.sql();
        let words: Vec<String> = search.words.split_whitespace().map(str::to_lowercase).collect();
        self.read(|connection| {
            let rest = format!(
                "LEFT JOIN summary ON summary.piece = piece.id AND summary.version = piece.version
                 WHERE {conditions} ORDER BY piece.id"
            );
            let mut rows: Vec<PieceRow> = list(connection, &rest, params_from_iter(values))?;
            if !words.is_empty() {
                // The database folds only plain letters; a folder is small enough to fold all of them here.
                let said = told(connection)?;
                rows.retain(|row| {
                    let told = said.get(&row.id).map_or("", String::as_str);
                    words.iter().all(|word| told.contains(word.as_str()))
                });
            }
            rows.sort_by_cached_key(|row| (row.title.to_lowercase(), row.id));
            Ok(rows)
        })
    }
}
