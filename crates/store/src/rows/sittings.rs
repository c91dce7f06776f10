//! What is written down of a sitting? Its visits and the setting that says which turns are over: both or neither, whenever it ends.

use super::remove;
use super::visits::{NewVisit, VisitRow, insert_visit};
use crate::ids::VisitId;
use crate::store::{is_json, set_setting};
use crate::{Store, StoreError};

impl Store {
    /// Writes visits down together with the setting that tells of them; `value` makes its JSON, knowing their numbers.
    ///
    /// # Errors
    /// If a line is none of a log, piece or player are gone, or the text is no JSON; nothing is written then.
    pub fn log_sitting(
        &self,
        visits: &[NewVisit],
        setting: &str,
        value: impl FnOnce(&[VisitRow]) -> Result<String, StoreError>,
    ) -> Result<Vec<VisitRow>, StoreError> {
        self.write(|transaction| {
            let rows = visits.iter().map(|new| insert_visit(transaction, new));
            let rows = rows.collect::<Result<Vec<_>, _>>()?;
            let value = value(&rows)?;
            is_json(&value)?;
            set_setting(transaction, setting, &value)?;
            Ok(rows)
        })
    }

    /// Strikes visits out together with the setting that told of them; one that is gone already stays gone.
    ///
    /// # Errors
    /// If the text is no JSON; nothing is struck out then.
    pub fn strike_sitting(&self, visits: &[VisitId], setting: &str, value: &str) -> Result<(), StoreError> {
        is_json(value)?;
        self.write(|transaction| {
            for visit in visits {
                match remove::<VisitRow>(transaction, visit.0) {
                    Err(StoreError::Gone { .. }) | Ok(()) => {}
                    Err(error) => return Err(error),
                }
            }
            set_setting(transaction, setting, value)
        })
    }
}

#[cfg(test)]
#[allow(clippy::unwrap_used, reason = "a test that cannot set itself up has failed")]
mod tests {
    use crate::{NewPiece, NewVisit, PieceId, Store};

    fn visit(piece: PieceId, line: &str) -> NewVisit {
        NewVisit {
            piece,
            player: None,
            line: line.to_owned(),
        }
    }

    #[test]
    fn visits_and_what_tells_of_them_are_written_both_or_neither() {
        let home = std::env::temp_dir().join(format!("foreread-sittings-{}", std::process::id()));
        let store = Store::open_empty(&home).unwrap();
        let new = NewPiece {
            title: "Air".to_owned(),
            file_name: "air.abc".to_owned(),
            bytes: b"X:1\nT:Air\nK:C\nCDEF|\n".to_vec(),
            ..NewPiece::default()
        };
        let piece = store.add_piece(&new).unwrap().id;
        let good = visit(
            piece,
            r#"{"date":"2026-11-26","piece":"Air","from_bar":"1","to_bar":"1"}"#,
        );
        let kept = |rows: usize, value: Option<&str>| {
            assert_eq!(store.visits(piece, None).unwrap().len(), rows);
            assert_eq!(store.setting("sitting").unwrap().as_deref(), value);
        };
        let both = [good.clone(), good.clone()];
        let rows = store
            .log_sitting(&both, "sitting", |rows| Ok(format!("{}", rows.len())))
            .unwrap();
        kept(2, Some("2"));
        // The second line is none: the first is not kept either.
        assert!(
            store
                .log_sitting(&[good.clone(), visit(piece, "{}")], "sitting", |_| Ok(
                    "3".to_owned()
                ))
                .is_err()
        );
        kept(2, Some("2"));
        assert!(
            store
                .log_sitting(&[good], "sitting", |_| Ok("no JSON".to_owned()))
                .is_err()
        );
        kept(2, Some("2"));
        let ids = [rows[0].id, rows[1].id];
        assert!(store.strike_sitting(&ids, "sitting", "no JSON").is_err());
        kept(2, Some("2"));
        store.remove_visit(ids[0]).unwrap();
        store.strike_sitting(&ids, "sitting", "0").unwrap();
        kept(0, Some("0"));
        drop(store);
        std::fs::remove_dir_all(home).unwrap();
    }
}
