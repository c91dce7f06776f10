//! How do printed pages get into the folder? Looked at by a press of their own, read, and kept as what was read.

use super::change::{Added, Came, keep};
use crate::error::AppError;
use crate::state::App;
use axum::body::Bytes;
use desk::{DeskError, Printer, Scanned};
use std::path::Path;
use std::sync::Arc;
use store::{NewPaper, PieceId};

/// So many pages of a file are read: a page takes some seconds, and a browser does not wait for ever.
const MOST_PAGES: u32 = 12;

/// Reads pages into a piece of the folder. One file at a time; whoever else looks at a part meanwhile has the other press.
///
/// # Errors
/// If there is no music on them, or most of it is doubtful, or the press can't be run.
pub(super) async fn read(app: &Arc<App>, name: String, bytes: Bytes) -> Result<Came, AppError> {
    let _one = app.reading.lock().await;
    app.aside(move |app| {
        // The same page again is the same piece, whatever was put right in it since.
        if let Some(known) = app.store.piece_with_paper(&bytes)? {
            if known.put_away.is_some() {
                app.store.put_piece_away(known.id, false)?;
            }
            return Ok(Came::added(vec![Added::known(known.id.0, known.title)]));
        }
        let mut printer = Printer::find().map_err(DeskError::Press)?;
        let scanned = desk::scan_bytes(Path::new(&name), &bytes, MOST_PAGES, &mut printer)?;
        taken(app, &name, &bytes, &scanned).map(|added| Came::added(vec![added]))
    })
    .await
}

fn taken(app: &App, name: &str, pages: &[u8], scanned: &Scanned) -> Result<Added, AppError> {
    let read = &scanned.read;
    if read.doubtful * 2 > read.signs {
        return Err(AppError::Asked(format!(
            "{name}: {} of the {} signs that were seen are doubtful, so nothing was kept — scan the page upright, flat and with even light",
            read.doubtful, read.signs
        )));
    }
    let stem = Path::new(name)
        .file_stem()
        .map_or_else(|| "pages".to_owned(), |stem| stem.to_string_lossy().into_owned());
    let file = format!("{stem}.musicxml");
    let (text, _) = desk::musicxml(&read.piece);
    let bytes = text.as_bytes();
    let is_known = !app.store.pieces_with_file(bytes)?.is_empty();
    let mut added = keep(app, &file, bytes, None, || {
        Ok(desk::open_bytes(Path::new(&file), bytes)?)
    })?;
    let piece = PieceId(added.id);
    if app.store.paper(piece)?.is_none() {
        app.store.add_paper(&NewPaper {
            piece,
            file_name: name.to_owned(),
            bytes: pages.to_vec(),
            document: scanned.reading().text(),
            strips: scanned.strips.clone(),
        })?;
    }
    if !is_known {
        added.said = said(scanned);
    }
    added.paper = true;
    Ok(added)
}

fn said(scanned: &Scanned) -> String {
    let read = &scanned.read;
    let pages = match scanned.pages {
        1 => "1 page".to_owned(),
        many => format!("{many} pages"),
    };
    let off = match read.bars_off {
        0 => "all bars add up".to_owned(),
        1 => "1 bar does not add up".to_owned(),
        many => format!("{many} bars do not add up"),
    };
    let left_out = read
        .findings
        .iter()
        .find(|finding| finding.kind == "pages-left-out");
    let left_out = left_out.map_or_else(String::new, |finding| {
        format!("{}. ", crate::screen::capital(&finding.to_string()))
    });
    format!(
        "Read from {pages}: {} signs, {} of them doubtful; {off}. {left_out}Hold it against the page before you rely on it: there are {} places to look at. \
         The page is kept beside it, on this machine alone. Copy printed music only as far as the law where \
         you live allows it.",
        read.signs,
        read.doubtful,
        read.look.len()
    )
}
