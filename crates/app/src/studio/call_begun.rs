//! How is a call begun by whoever has its list on paper? Its name, its day, its pieces with their cuts: written down as the text that a call is.

use super::calls::understood;
use crate::error::AppError;
use crate::screen::capital;
use crate::state::App;
use crate::studio::form::{self, Go};
use axum::Json;
use axum::extract::State;
use maud::{Markup, html};
use serde::Deserialize;
use std::collections::BTreeMap;
use std::sync::Arc;
use store::{NewCall, PieceId, PieceRow, PieceSearch};

/// Pieces that can be said at once; more are written into the call's text.
const PIECES: usize = 4;
/// Cuts of a piece, and scales.
const MOST: usize = 40;

/// The fields by their names: `name`, `date`, `sight`, `scales`, and of each piece `piece.0`, `cuts.0`, `memory.0`.
#[derive(Debug, Default, Deserialize)]
pub(crate) struct Filled {
    #[serde(flatten)]
    fields: BTreeMap<String, serde_json::Value>,
}

/// Begins a call.
pub(crate) async fn begin(
    State(app): State<Arc<App>>,
    Json(filled): Json<Filled>,
) -> Result<Json<Go>, AppError> {
    app.aside(move |app| {
        let folder = app.store.pieces(&PieceSearch::default())?;
        let row = app.store.add_call(&filled.to_call(&folder)?)?;
        Ok(Go::to(format!("/studio/call/{}", row.id)))
    })
    .await
}

impl Filled {
    fn said(&self, field: &str) -> String {
        let words = self.fields.get(field).and_then(serde_json::Value::as_str);
        words.unwrap_or_default().trim().to_owned()
    }

    fn lines(&self, field: &str) -> Result<Vec<String>, AppError> {
        let all = self.said(field);
        let lines: Vec<String> = all
            .lines()
            .map(str::trim)
            .filter(|line| !line.is_empty())
            .map(str::to_owned)
            .collect();
        if lines.len() > MOST {
            return Err(AppError::Asked(format!(
                "more than {MOST} lines are not read at once — write the others into the call’s text"
            )));
        }
        Ok(lines)
    }

    fn to_call(&self, folder: &[PieceRow]) -> Result<NewCall, AppError> {
        let name = form::name(&self.said("name"), "the call's name")?;
        let date = form::day(&self.said("date"), "the day")?;
        let mut text = format!("name = {}\n", quoted(&name));
        if let Some(date) = &date {
            text.push_str(&format!("date = {date}\n"));
        }
        let sight = form::text(&self.said("sight"), form::TEXT, "the sight-reading")?;
        if !sight.is_empty() {
            text.push_str(&format!("sight_reading = {}\n", quoted(&sight)));
        }
        let mut pieces: Vec<(String, PieceId)> = Vec::new();
        for number in 0..PIECES {
            let cuts = self.lines(&format!("cuts.{number}"))?;
            let Some(row) = chosen(folder, &self.said(&format!("piece.{number}")))? else {
                if cuts.is_empty() {
                    continue;
                }
                return Err(AppError::Asked(format!(
                    "no piece is chosen for “{}” — choose it above its cuts",
                    cuts.first().map_or("", String::as_str)
                )));
            };
            let file = file_of(row, &pieces);
            text.push_str(&format!("\n[[pieces]]\nfile = {}\n", quoted(&file)));
            let memory = self.fields.get(&format!("memory.{number}"));
            if memory.and_then(serde_json::Value::as_bool) == Some(true) {
                text.push_str("memorised = true\n");
            }
            for (at, line) in cuts.iter().enumerate() {
                text.push_str(&cut(line, at)?);
            }
            pieces.push((file, row.id));
        }
        for line in self.lines("scales")? {
            text.push_str(&scale(&line)?);
        }
        let call = understood(&text)?.call;
        Ok(NewCall {
            name: call.name,
            date,
            text,
            pieces,
        })
    }
}

/// The piece that was chosen; none for no piece.
fn chosen<'a>(folder: &'a [PieceRow], said: &str) -> Result<Option<&'a PieceRow>, AppError> {
    if said.is_empty() {
        return Ok(None);
    }
    let id: Option<i64> = said.parse().ok();
    let row = folder.iter().find(|row| Some(row.id.0) == id);
    row.map(Some).ok_or(AppError::NotFound)
}

/// What the call calls the piece: its file, or where two pieces have one of the same name, with its number.
fn file_of(row: &PieceRow, before: &[(String, PieceId)]) -> String {
    let plain = row.file_name.clone();
    if before.iter().any(|(file, _)| *file == plain) {
        format!("{}/{plain}", row.id)
    } else {
        plain
    }
}

/// `A: pickup to 5 through downbeat of 13, q = 66-72`, as the text of a call; a cut without a name has the next letter.
fn cut(line: &str, at: usize) -> Result<String, AppError> {
    let letter = char::from(b'A' + u8::try_from(at % 26).unwrap_or(0)).to_string();
    let (name, rest) = match line.split_once(':') {
        Some((name, rest)) if !name.trim().is_empty() => (name.trim().to_owned(), rest.trim()),
        _ => (letter, line.trim_start_matches(':').trim()),
    };
    let (bars, tempo) = tempo_of(rest);
    let mut text = format!(
        "\n  [[pieces.cuts]]\n  name = {}\n  bars = {}\n",
        quoted(&name),
        quoted(bars)
    );
    if let Some(tempo) = tempo {
        text.push_str(&format!("  tempo = {}\n", quoted(&tempo)));
    }
    tried(&format!("name = \"x\"\n[[pieces]]\nfile = \"x\"\n{text}"), line)?;
    Ok(text)
}

/// `G major, two octaves, q = 96`, as the text of a call.
fn scale(line: &str) -> Result<String, AppError> {
    let (says, tempo) = tempo_of(line);
    let mut text = format!("\n[[scales]]\nsays = {}\n", quoted(says));
    if let Some(tempo) = tempo {
        text.push_str(&format!("tempo = {}\n", quoted(&tempo)));
    }
    tried(&format!("name = \"x\"\n{text}"), line)?;
    Ok(text)
}

/// What stands before a tempo, and the tempo as a call says it: `q = 66-72`.
fn tempo_of(line: &str) -> (&str, Option<String>) {
    match line.rsplit_once(',') {
        Some((before, tempo)) if tempo.contains('=') => {
            let plain = tempo.replace('♩', "q").replace(['–', '—'], "-");
            (before.trim(), Some(plain.trim().to_owned()))
        }
        _ => (line.trim(), None),
    }
}

/// Says of her own line what is wrong with it, rather than of a text that she has not written.
fn tried(text: &str, line: &str) -> Result<(), AppError> {
    let Err(error) = understood(text) else {
        return Ok(());
    };
    let said = error.to_string();
    // `the call, line 7: what — advice`
    let what = said.split_once(": ").map_or(said.as_str(), |(_, what)| what);
    Err(AppError::Asked(format!("“{line}”: {what}")))
}

/// Words as they stand in the text of a call. Source: TOML 1.0, basic strings; JSON writes them the same way.
fn quoted(words: &str) -> String {
    let plain: String = words.chars().filter(|sign| !sign.is_control()).collect();
    serde_json::Value::String(plain).to_string()
}

/// The form.
pub(super) fn form(folder: &[PieceRow]) -> Markup {
    let mut among = vec![(String::new(), "none".to_owned())];
    among.extend(folder.iter().map(|row| (row.id.to_string(), row.title.clone())));
    form::form(
        "/studio/calls/begun",
        "Begin the call",
        &html! {
            div class="fields" {
                (form::line("What it is called", "name", "", "Youth orchestra, second bassoon"))
                (form::date("The day", "date", ""))
            }
            @for number in 0..PIECES {
                fieldset class="several" {
                    legend { "Piece " (number + 1) }
                    (form::choice("Piece of the folder", &format!("piece.{number}"), &among, ""))
                    (form::lines(
                        "Its cuts, one a line as the list says them, with a tempo if one is asked for (A: pickup to 5 through downbeat of 13, ♩ = 66–72); none for all of it",
                        &format!("cuts.{number}"), "", 2))
                    (form::tick("from memory", &format!("memory.{number}"), false))
                }
            }
            (form::lines("Scales, one a line (G major, two octaves, ♩ = 96)", "scales", "", 2))
            (form::line(&capital("at sight"), "sight", "", "eight bars, half a minute to look"))
        },
    )
}

#[cfg(test)]
#[allow(clippy::unwrap_used, reason = "a test that cannot set itself up has failed")]
mod tests {
    use super::{cut, quoted, scale, tempo_of};

    #[test]
    fn a_line_of_a_list_is_a_cut_with_its_tempo() {
        let text = cut("B: beat 3 of 21 to 28, ♩ = 80–88", 0).unwrap();
        assert!(
            text.contains("name = \"B\"") && text.contains("bars = \"beat 3 of 21 to 28\""),
            "{text}"
        );
        assert!(text.contains("tempo = \"q = 80-88\""), "{text}");
        // Without a name the next letter, without a tempo the marked one; commas in the words stay.
        let text = cut("last 4 bars", 1).unwrap();
        assert!(text.contains("name = \"B\"") && !text.contains("tempo"), "{text}");
        assert_eq!(
            tempo_of("seven major scales, two octaves"),
            ("seven major scales, two octaves", None)
        );
        assert!(
            scale("G major, two octaves, ♩ = 96")
                .unwrap()
                .contains("says = \"G major, two octaves\"\ntempo = \"q = 96\"")
        );
    }

    #[test]
    fn what_is_wrong_is_said_of_her_own_line() {
        let said = cut("A: somewhere nice", 0).unwrap_err().to_string();
        assert!(
            said.starts_with("“A: somewhere nice”: ") && !said.contains("line 5"),
            "{said}"
        );
        let said = scale("G major, q = fast").unwrap_err().to_string();
        assert!(said.contains("“G major, q = fast”"), "{said}");
    }

    #[test]
    fn words_are_never_the_text_around_them() {
        assert_eq!(quoted("a\"\n[[pieces]]\\"), "\"a\\\"[[pieces]]\\\\\"");
        let text = cut("A\" = 1\n: 5 to 8", 0);
        assert!(text.is_ok(), "{text:?}");
    }
}
