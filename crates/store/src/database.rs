//! In which form is it kept? The connection, and numbered migrations that each happen whole or not at all.

use crate::StoreError;
use crate::home::Home;
use rusqlite::{Connection, ErrorCode, OpenFlags};
use std::time::Duration;

/// The migrations in order: number `n` stands at `n - 1`. Never change one that has landed; add another.
pub(crate) const MIGRATIONS: &[&str] = &[
    include_str!("../migrations/0001_studio.sql"),
    include_str!("../migrations/0002_paper.sql"),
];

/// How long another program's write is waited for (a backup reads beside the app).
const PATIENCE: Duration = Duration::from_secs(10);

/// Opens the database to read and write, brought to the newest form.
pub(crate) fn open(home: &Home, migrations: &[&str]) -> Result<Connection, StoreError> {
    let mut connection = Connection::open(home.database()).map_err(|error| told(home, error))?;
    settle(&connection).map_err(|error| told(home, error))?;
    migrate(home, &mut connection, migrations)?;
    Ok(connection)
}

/// Opens it to read only, beside whoever writes.
pub(crate) fn open_to_read(home: &Home, migrations: &[&str]) -> Result<Connection, StoreError> {
    let connection = reader(home)?;
    let (form, known) = (
        form(&connection).map_err(|error| told(home, error))?,
        count(migrations),
    );
    if form > known {
        return Err(newer(home, form, known));
    }
    if form < known {
        return Err(StoreError::refused(
            "it is still in the form of an older Foreread",
            "close that one and start this one once",
        ));
    }
    Ok(connection)
}

/// The form that the database of a home is in.
pub(crate) fn form_of(home: &Home) -> Result<i64, StoreError> {
    form(&reader(home)?).map_err(|error| told(home, error))
}

fn reader(home: &Home) -> Result<Connection, StoreError> {
    if !home.database().is_file() {
        return Err(StoreError::NothingKept {
            home: home.root.clone(),
        });
    }
    let flags = OpenFlags::SQLITE_OPEN_READ_ONLY | OpenFlags::SQLITE_OPEN_NO_MUTEX;
    let connection =
        Connection::open_with_flags(home.database(), flags).map_err(|error| told(home, error))?;
    connection.busy_timeout(PATIENCE)?;
    Ok(connection)
}

/// What each connection keeps to.
/// Source: the SQLite documentation, "Pragma statements" and "Write-Ahead Logging" (synchronous = FULL: a commit in WAL mode is
/// synced before it returns, so that what was confirmed survives a power cut, too).
fn settle(connection: &Connection) -> rusqlite::Result<()> {
    connection.busy_timeout(PATIENCE)?;
    connection.pragma_update(None, "journal_mode", "WAL")?;
    connection.pragma_update(None, "synchronous", "FULL")?;
    connection.pragma_update(None, "foreign_keys", true)?;
    // What was deleted is overwritten, not only forgotten.
    connection.pragma_update(None, "secure_delete", true)
}

pub(crate) fn form(connection: &Connection) -> rusqlite::Result<i64> {
    connection.pragma_query_value(None, "user_version", |row| row.get(0))
}

pub(crate) fn count(migrations: &[&str]) -> i64 {
    i64::try_from(migrations.len()).unwrap_or(i64::MAX)
}

fn newer(home: &Home, found: i64, known: i64) -> StoreError {
    StoreError::Newer {
        home: home.root.clone(),
        found,
        known,
    }
}

/// Brings the database to the newest form. What it was before an existing one is changed stays beside it.
fn migrate(home: &Home, connection: &mut Connection, migrations: &[&str]) -> Result<(), StoreError> {
    let (found, known) = (
        form(connection).map_err(|error| told(home, error))?,
        count(migrations),
    );
    if found > known {
        return Err(newer(home, found, known));
    }
    if found > 0 && found < known {
        let beside = home.root.join(format!("before-form-{}.sqlite3", found + 1));
        let _ = std::fs::remove_file(&beside);
        copy_into(connection, &beside)?;
    }
    for (number, sql) in (1_i64..).zip(migrations).filter(|(number, _)| *number > found) {
        let transaction = connection.transaction()?;
        transaction.execute_batch(sql)?;
        transaction.pragma_update(None, "user_version", number)?;
        transaction.commit()?;
    }
    Ok(())
}

/// Writes a whole, compact copy of the database as it stands into a new file.
pub(crate) fn copy_into(connection: &Connection, path: &std::path::Path) -> Result<(), StoreError> {
    let name = path.to_str().ok_or_else(|| {
        StoreError::refused(
            format!("the name {} can't be used for a database", path.display()),
            "choose a folder whose name is plain text",
        )
    })?;
    connection.execute("VACUUM INTO ?1", [name])?;
    Ok(())
}

/// Whether the database is whole: every page, every key.
pub(crate) fn check(connection: &Connection) -> Result<Result<(), String>, StoreError> {
    let said: String = connection.pragma_query_value(None, "integrity_check", |row| row.get(0))?;
    if said != "ok" {
        return Ok(Err(said));
    }
    let mut orphans = connection.prepare("PRAGMA foreign_key_check")?;
    let table: Option<String> = orphans.query_map([], |row| row.get(0))?.next().transpose()?;
    Ok(table.map_or(Ok(()), |table| {
        Err(format!("a row of {table} belongs to nothing"))
    }))
}

/// What a database of a form holds apart from its rows: tables, indexes, and nothing that acts by itself.
pub(crate) fn schema(connection: &Connection) -> Result<Vec<(String, String, String)>, StoreError> {
    let mut rows = connection.prepare(
        "SELECT type, name, COALESCE(sql, '') FROM sqlite_schema WHERE name NOT LIKE 'sqlite_stat%' ORDER BY type, name",
    )?;
    let rows = rows.query_map([], |row| Ok((row.get(0)?, row.get(1)?, row.get(2)?)))?;
    Ok(rows.collect::<Result<_, _>>()?)
}

/// The same of a new database of that form.
pub(crate) fn schema_of_form(form: usize) -> Result<Vec<(String, String, String)>, StoreError> {
    let connection = Connection::open_in_memory()?;
    for sql in MIGRATIONS.iter().take(form) {
        connection.execute_batch(sql)?;
    }
    schema(&connection)
}

/// A damaged file is said to be one.
fn told(home: &Home, error: rusqlite::Error) -> StoreError {
    match error.sqlite_error_code() {
        Some(ErrorCode::DatabaseCorrupt | ErrorCode::NotADatabase) => StoreError::Damaged {
            home: home.root.clone(),
            what: error.to_string(),
        },
        _ => error.into(),
    }
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used, reason = "tests")]

    use super::*;

    struct Folder(std::path::PathBuf);
    impl Drop for Folder {
        fn drop(&mut self) {
            let _ = std::fs::remove_dir_all(&self.0);
        }
    }

    fn home(name: &str) -> (Home, Folder) {
        let path = std::env::temp_dir().join(format!("foreread-database-{name}-{}", std::process::id()));
        let _ = std::fs::remove_dir_all(&path);
        let home = Home::new(&path);
        home.create().unwrap();
        (home, Folder(path))
    }

    const FIRST: &str = "CREATE TABLE a (x INTEGER); INSERT INTO a VALUES (1);";

    #[test]
    fn each_migration_happens_once_and_the_earlier_form_stays_beside_it() {
        let (home, _folder) = home("migrate");
        drop(open(&home, &[FIRST]).unwrap());
        let connection = open(
            &home,
            &[
                FIRST,
                "ALTER TABLE a ADD COLUMN y INTEGER; UPDATE a SET y = x + 1",
            ],
        )
        .unwrap();
        let row: (i64, i64) = connection
            .query_row("SELECT x, y FROM a", [], |row| Ok((row.get(0)?, row.get(1)?)))
            .unwrap();
        assert_eq!(row, (1, 2));
        let before = Connection::open(home.root.join("before-form-2.sqlite3")).unwrap();
        assert_eq!(form(&before).unwrap(), 1);
        assert_eq!(check(&connection).unwrap(), Ok(()));
    }

    #[test]
    fn a_migration_that_fails_changes_nothing() {
        let (home, _folder) = home("fails");
        drop(open(&home, &[FIRST]).unwrap());
        assert!(open(&home, &[FIRST, "UPDATE a SET x = 9; SELECT nonsense"]).is_err());
        let connection = open(&home, &[FIRST]).unwrap();
        let x: i64 = connection
            .query_row("SELECT x FROM a", [], |row| row.get(0))
            .unwrap();
        assert_eq!(x, 1);
    }

    #[test]
    fn what_a_newer_program_kept_or_what_is_no_database_is_refused() {
        let (home, _folder) = home("newer");
        drop(open(&home, &[FIRST, "CREATE TABLE b (x)"]).unwrap());
        assert!(matches!(
            open(&home, &[FIRST]),
            Err(StoreError::Newer {
                found: 2,
                known: 1,
                ..
            })
        ));
        for extra in ["-wal", "-shm"] {
            let _ = std::fs::remove_file(home.root.join(format!("foreread.sqlite3{extra}")));
        }
        std::fs::write(
            home.database(),
            "this is a letter to a friend, not a database, and long enough to be read",
        )
        .unwrap();
        assert!(matches!(open(&home, &[FIRST]), Err(StoreError::Damaged { .. })));
    }

    /// A migration that somebody's home has been through is never changed: add another instead.
    #[test]
    fn migrations_stay_what_they_were() {
        let known = [
            "57fe7b451db103f962cef2ae943ba04166c63455cd0bd4e4eb6e0fecc17fbc57",
            "c4ba61391197d46c518ad298eecf5f93993d46e2f51d3cfc4eceef3973113977",
        ];
        let hashes: Vec<String> = MIGRATIONS
            .iter()
            .map(|sql| crate::files::hash(sql.as_bytes()))
            .collect();
        assert_eq!(hashes, known);
    }

    #[test]
    fn commits_are_synced_and_keys_are_checked() {
        let (home, _folder) = home("settled");
        let connection = open(&home, MIGRATIONS).unwrap();
        let pragma = |name: &str| -> String {
            connection
                .pragma_query_value(None, name, |row| row.get::<_, rusqlite::types::Value>(0))
                .map(|value| match value {
                    rusqlite::types::Value::Text(text) => text,
                    other => format!("{other:?}"),
                })
                .unwrap()
        };
        assert_eq!(pragma("journal_mode"), "wal");
        assert_eq!(pragma("synchronous"), "Integer(2)");
        assert_eq!(pragma("foreign_keys"), "Integer(1)");
    }
}
