//! How does everything leave as files that anybody can read? Pieces as they came and as MusicXML, tables as CSV and JSON, players
//! and calls as their own small files, practice logs as lines, takes as sound.

mod files;
mod table;

use crate::rows::{PieceRow, PlayerRow, RubricRow, list};
use crate::{PieceId, PieceSearch, PlayerId, Store, StoreError};
use files::{Out, plain_name, slug};
use serde_json::{Map, Value};
use std::path::{Path, PathBuf};

/// What was exported.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Exported {
    /// Where.
    pub folder: PathBuf,
    /// How many files were written.
    pub files: usize,
    /// What could not be written in an open format, and stands only as it came.
    pub notes: Vec<String>,
}

impl Store {
    /// Writes everything into a new or empty folder, as open formats; its `README.txt` says what is where. Secrets of paired
    /// devices are left out.
    ///
    /// # Errors
    /// If the folder holds something, can't be written, or something kept is damaged.
    pub fn export(&self, to: &Path) -> Result<Exported, StoreError> {
        let mut out = Out::begin(to)?;
        let mut pieces = self.pieces(&PieceSearch::default())?;
        pieces.extend(self.pieces(&PieceSearch {
            put_away: true,
            ..PieceSearch::default()
        })?);
        let players = self.players(true)?;
        for piece in &pieces {
            self.export_piece(&mut out, piece, &players)?;
        }
        self.export_folder(&mut out, &pieces)?;
        self.export_players(&mut out, &players)?;
        self.export_ahead(&mut out)?;
        self.export_judged(&mut out)?;
        let settings: Map<String, Value> = self
            .settings()?
            .into_iter()
            .map(|(name, text)| {
                let value = serde_json::from_str(&text).unwrap_or(Value::String(text));
                (name, value)
            })
            .collect();
        out.json("studio.json", &Value::Object(settings))?;
        out.table("devices", &self.devices()?)?;
        out.text("README.txt", README)?;
        Ok(out.end())
    }

    fn export_folder(&self, out: &mut Out, pieces: &[PieceRow]) -> Result<(), StoreError> {
        let mut rows = Vec::new();
        for piece in pieces {
            let mut row = serde_json::to_value(piece)?;
            let summary = serde_json::to_value(self.summary(piece.id)?.unwrap_or_default())?;
            if let (Some(row), Value::Object(mut summary)) = (row.as_object_mut(), summary) {
                row.insert("exported_to".to_owned(), folder_of(piece).into());
                summary.retain(|name, _| !row.contains_key(name));
                row.extend(summary);
            }
            rows.push(row);
        }
        out.table("folder", &rows)
    }

    fn export_piece(&self, out: &mut Out, piece: &PieceRow, players: &[PlayerRow]) -> Result<(), StoreError> {
        let folder = folder_of(piece);
        for version in self.versions(piece.id)? {
            let name = plain_name(&version.file_name);
            let place = if version.version == piece.version {
                format!("{folder}/{name}")
            } else {
                format!("{folder}/earlier/{}-{name}", version.version)
            };
            out.bytes(&place, &self.file(&version.file)?)?;
        }
        self.export_musicxml(out, piece, &folder)?;
        out.table(&format!("{folder}/marks"), &self.marks(piece.id, None)?)?;
        out.table(&format!("{folder}/choices"), &self.choices(piece.id, None)?)?;
        out.json(
            &format!("{folder}/steps.json"),
            &serde_json::to_value(self.steps_with_changes(piece.id)?)?,
        )?;
        self.export_paper(out, piece, &folder)?;
        out.table(&format!("{folder}/visits"), &self.visits(piece.id, None)?)?;
        self.export_logs(out, piece, &folder, players)?;
        for take in self.takes(Some(piece.id), None)? {
            let name = plain_name(&take.file_name);
            out.bytes(
                &format!("{folder}/takes/{}-{name}", take.id),
                &self.file(&take.file)?,
            )?;
        }
        out.table(&format!("{folder}/takes"), &self.takes(Some(piece.id), None)?)
    }

    /// The pages that it was read from, what was read and what was put right; a test page of the teacher's own once more, where all
    /// of them stand together: the page, and beside it what stands on it.
    fn export_paper(&self, out: &mut Out, piece: &PieceRow, folder: &str) -> Result<(), StoreError> {
        let Some(paper) = self.paper(piece.id)? else {
            return Ok(());
        };
        let bytes = self.file(&paper.file)?;
        let name = plain_name(&paper.file_name);
        out.bytes(&format!("{folder}/paper/{name}"), &bytes)?;
        out.text(&format!("{folder}/paper/reading.json"), &paper.document)?;
        out.json(
            &format!("{folder}/paper/put-right.json"),
            &serde_json::to_value(self.paper_edits(piece.id)?)?,
        )?;
        if paper.test_page {
            let ending = Path::new(&name)
                .extension()
                .map(|ending| ending.to_string_lossy().into_owned());
            let stem = format!("test-pages/{}-{}", piece.id, slug(&piece.title));
            out.bytes(
                &format!("{stem}.{}", ending.unwrap_or_else(|| "page".to_owned())),
                &bytes,
            )?;
            out.bytes(&format!("{stem}.musicxml"), &self.file(&piece.file)?)?;
        }
        Ok(())
    }

    /// The piece as MusicXML, unless it came as that.
    fn export_musicxml(&self, out: &mut Out, piece: &PieceRow, folder: &str) -> Result<(), StoreError> {
        let lower = piece.file_name.to_lowercase();
        if lower.ends_with(".musicxml") || lower.ends_with(".xml") {
            return Ok(());
        }
        let bytes = self.file(&piece.file)?;
        let read = formats::Source::open(&bytes, &piece.file_name)
            .and_then(|source| source.read(piece.tune.as_deref()));
        match read {
            Ok((music, _)) => out.text(
                &format!("{folder}/{}.musicxml", slug(&piece.title)),
                &formats::write_musicxml(&music).0,
            ),
            Err(error) => {
                out.note(format!("“{}” stands only as it came: {error}", piece.title));
                Ok(())
            }
        }
    }

    /// The practice logs, one for each player, as `foreread log` and `foreread plan` read them.
    fn export_logs(
        &self,
        out: &mut Out,
        piece: &PieceRow,
        folder: &str,
        players: &[PlayerRow],
    ) -> Result<(), StoreError> {
        let mut log = |name: &str, visits: Vec<crate::VisitRow>| {
            let lines: String = visits.iter().map(|visit| format!("{}\n", visit.line)).collect();
            if lines.is_empty() {
                Ok(())
            } else {
                out.text(&format!("{folder}/{name}.practice.jsonl"), &lines)
            }
        };
        for player in players {
            log(&slug(&player.name), self.visits(piece.id, Some(player.id))?)?;
        }
        let nobody = self
            .visits(piece.id, None)?
            .into_iter()
            .filter(|visit| visit.player.is_none());
        log("nobody-named", nobody.collect())
    }

    fn export_players(&self, out: &mut Out, players: &[PlayerRow]) -> Result<(), StoreError> {
        let mut assignments = Vec::new();
        let mut cuts = Vec::new();
        let mut looks = Vec::new();
        for player in players {
            out.text(&format!("players/{}", file_of(player)), &player.file)?;
            for assignment in self.assignments_of_player(player.id)? {
                cuts.extend(self.cuts(assignment.id)?);
                assignments.push(assignment);
            }
        }
        for look in self.look_firsts(None, None)? {
            let mut row = serde_json::to_value(&look)?;
            if let Some(row) = row.as_object_mut() {
                row.insert("missed".to_owned(), serde_json::to_value(self.misses(look.id)?)?);
            }
            looks.push(row);
        }
        out.table("players", players)?;
        out.table("working-on", &assignments)?;
        out.table("cuts", &cuts)?;
        out.table("looked-first", &looks)
    }

    fn export_ahead(&self, out: &mut Out) -> Result<(), StoreError> {
        let mut calls = Vec::new();
        for call in self.calls()? {
            out.text(
                &format!("calls/{:03}-{}.toml", call.id.0, slug(&call.name)),
                &call.text,
            )?;
            let mut row = serde_json::to_value(&call)?;
            if let Some(row) = row.as_object_mut() {
                row.insert(
                    "pieces".to_owned(),
                    serde_json::to_value(self.call_pieces(call.id)?)?,
                );
            }
            calls.push(row);
        }
        out.table("calls", &calls)?;
        out.table("days", &self.occasions(None)?)?;
        let plans = self.plans(None, None)?;
        for plan in &plans {
            out.text(&format!("plans/{:03}.json", plan.id.0), &plan.document)?;
        }
        out.table("plans", &plans)
    }

    fn export_judged(&self, out: &mut Out) -> Result<(), StoreError> {
        let rubrics: Vec<RubricRow> = self.rubrics()?;
        for rubric in &rubrics {
            out.text(
                &format!("rubrics/{:03}-{}.json", rubric.id.0, slug(&rubric.name)),
                &rubric.document,
            )?;
        }
        out.table("rubrics", &rubrics)?;
        out.table("judged", &self.judgements(None, None)?)
    }

    /// Every gesture with its rows before and after.
    fn steps_with_changes(&self, piece: PieceId) -> Result<Vec<Value>, StoreError> {
        self.read(|connection| {
            let steps: Vec<crate::StepRow> = list(connection, "WHERE piece = ?1 ORDER BY id", [piece])?;
            let mut changes = connection.prepare_cached("SELECT changes FROM step WHERE id = ?1")?;
            steps
                .iter()
                .map(|step| {
                    let text: String = changes.query_row([step.id], |row| row.get(0))?;
                    let mut value = serde_json::to_value(step)?;
                    if let Some(row) = value.as_object_mut() {
                        row.insert("changes".to_owned(), serde_json::from_str(&text)?);
                    }
                    Ok(value)
                })
                .collect()
        })
    }
}

fn folder_of(piece: &PieceRow) -> String {
    let PieceId(number) = piece.id;
    format!("pieces/{number:03}-{}", slug(&piece.title))
}

fn file_of(player: &PlayerRow) -> String {
    let PlayerId(number) = player.id;
    format!("{number:03}-{}.toml", slug(&player.name))
}

const README: &str = "\
Everything that this Foreread kept, as files that anybody can read.

folder.csv, .json      every piece: title, purpose, file, what the survey says; exported_to names its folder
pieces/NNN-title/      the piece's file as it came; its earlier files in earlier/; as MusicXML if it came as something else
  marks, choices       the teacher's pencil and choices; from and to say bar, offset in quarter notes, and note
  paper/               the pages that it was read from, what was read, and what was put right
  steps.json           every gesture with each row before and after, undone ones too
  visits               what was practised; NAME.practice.jsonl is the same as a log that foreread log and foreread plan read
  takes/               recordings as they came; takes.csv and .json say what was heard
players.csv, .json     the studio's players with the teacher's notes; players/ holds each one's own file (foreread survey --player)
working-on, cuts       who works on what since when, and on which bars
looked-first           what was seen and missed before playing
calls.csv, .json       calls; calls/ holds each as foreread call reads it
days, plans            dates to be ready for; plans as JSON in plans/
rubrics, judged        rubrics, and what was judged by each
test-pages/            the teacher's own test pages: each page, and beside it what stands on it (foreread scan --check)
studio.json            settings
devices                paired devices, without their secrets

Text is UTF-8. Tables stand as CSV (RFC 4180) and JSON. In CSV a text that a spreadsheet would take for a formula has an apostrophe
before it; JSON has it as it is.
";
