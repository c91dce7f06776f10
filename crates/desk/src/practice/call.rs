//! What does a call ask for, and where is it? Its pieces opened, its cuts found and timed.

use super::call_errata::on_part;
use super::call_file;
use crate::print::{For, alone_for};
use crate::{DeskError, Opened, open};
use notation::{Anchor, Finding, PencilMark, PencilSign, Piece, Place, Quarters, Rational};
use performance::play::{PlayOptions, PlayTempo, Repeats, perform};
use practice::call::errata::{Corrected, apply};
use practice::call::excerpt::excerpt;
use practice::call::find::{Found, Page, find};
use practice::call::tempo::Asked as TempoAsked;
use practice::call::words::Range;
use practice::call::{Call, CallPiece, Cut};
use std::path::{Path, PathBuf};
use survey::metre::BeatGrid;

/// A call with its pieces.
#[derive(Debug)]
pub struct CallOpened {
    /// Its file.
    pub path: PathBuf,
    /// What it asks for.
    pub call: Call,
    /// Its pieces, in its order.
    pub pieces: Vec<CallPieceOpened>,
}

/// A piece of a call.
#[derive(Debug)]
pub struct CallPieceOpened {
    /// Its title.
    pub title: String,
    /// The part alone with the errata in it; `None` if the file can't be opened.
    pub corrected: Option<Opened>,
    /// A pencil mark for each erratum, and where each cut begins and ends.
    pub marks: Vec<PencilMark>,
    /// Its cuts; one of all of it where the call names none.
    pub cuts: Vec<CutFound>,
    /// What could not be opened or applied.
    pub findings: Vec<Finding>,
}

/// A cut of a call.
#[derive(Clone, Debug)]
pub struct CutFound {
    /// As the call says it.
    pub cut: Cut,
    /// Where it is; `None` if that is not found: a finding says why.
    pub found: Option<Found>,
    /// How long it lasts, in seconds, at the slowest and at the fastest tempo asked for; the same twice where one tempo is.
    pub seconds: Option<(f64, f64)>,
    /// Why it was not found, and what was assumed.
    pub findings: Vec<Finding>,
}

/// Opens a call and everything it names.
///
/// # Errors
/// If the call itself can't be read or understood. A piece that can't be opened is told among its findings.
pub fn open_call(path: &Path) -> Result<CallOpened, DeskError> {
    let folder = path.parent().unwrap_or_else(|| Path::new(""));
    let call = call_file::read(path)?;
    Ok(with_pieces(call, path, &mut |file| open(&folder.join(file))))
}

/// Opens a call by its text; the pieces that it names are opened by whoever keeps them.
///
/// # Errors
/// If a line of the text can't be understood. A piece that can't be opened is told among its findings.
pub fn open_call_text(
    text: &str,
    open_piece: &mut dyn FnMut(&str) -> Result<Opened, DeskError>,
) -> Result<CallOpened, DeskError> {
    let path = Path::new("the call");
    Ok(with_pieces(call_file::understood(text, path)?, path, open_piece))
}

fn with_pieces(
    call: Call,
    path: &Path,
    open_piece: &mut dyn FnMut(&str) -> Result<Opened, DeskError>,
) -> CallOpened {
    let pieces = call
        .pieces
        .iter()
        .map(|piece| piece_of(piece, open_piece(&piece.file)))
        .collect();
    CallOpened {
        path: path.to_path_buf(),
        call,
        pieces,
    }
}

fn piece_of(listed: &CallPiece, whole: Result<Opened, DeskError>) -> CallPieceOpened {
    match whole.and_then(|whole| opened_piece(listed, &whole)) {
        Ok(piece) => piece,
        Err(error) => CallPieceOpened {
            title: listed.file.clone(),
            corrected: None,
            marks: Vec::new(),
            cuts: listed
                .cuts
                .iter()
                .map(|cut| CutFound {
                    cut: cut.clone(),
                    found: None,
                    seconds: None,
                    findings: Vec::new(),
                })
                .collect(),
            findings: vec![Finding::new(
                notation::Severity::Problem,
                "call",
                error.to_string(),
                "the file's name is looked for beside the call",
            )],
        },
    }
}

fn opened_piece(listed: &CallPiece, whole: &Opened) -> Result<CallPieceOpened, DeskError> {
    let alone = alone_for(whole, listed.part.as_deref(), &For::Itself)?;
    let (corrected, cuts, marks) = on_part(&alone, |page| corrected_with_cuts(listed, page))?;
    let title = alone.piece.credits.name().unwrap_or_else(|| listed.file.clone());
    Ok(CallPieceOpened {
        title,
        corrected: Some(Opened {
            path: alone.path.clone(),
            tune: alone.tune.clone(),
            piece: corrected.piece,
            findings: alone.findings.clone(),
        }),
        marks,
        cuts,
        findings: corrected.findings,
    })
}

/// The part corrected, with its cuts found, and the marks of both.
fn corrected_with_cuts(listed: &CallPiece, page: &Page) -> (Corrected, Vec<CutFound>, Vec<PencilMark>) {
    let corrected = apply(page, &listed.errata);
    let mut cuts = listed.cuts.clone();
    if cuts.is_empty() {
        cuts.push(all_of_it());
    }
    let mut marks = corrected.marks.clone();
    let cuts: Vec<CutFound> = cuts
        .into_iter()
        .map(|cut| match find(page, &cut.range) {
            Ok(found) => {
                if !listed.cuts.is_empty() {
                    marks.extend(ends(&corrected.piece, &cut, &found));
                }
                let seconds = lasts(&corrected.piece, &found, cut.tempo.as_ref(), page.grids);
                let findings = found.findings.clone();
                CutFound {
                    cut,
                    found: Some(found),
                    seconds,
                    findings,
                }
            }
            Err(finding) => CutFound {
                cut,
                found: None,
                seconds: None,
                findings: vec![*finding],
            },
        })
        .collect();
    (corrected, cuts, marks)
}

/// Without a cut all of a piece is asked for.
fn all_of_it() -> Cut {
    // "all" is always understood.
    let range = Range::read("all").unwrap_or_else(|_| unreachable!("a fixed word"));
    Cut {
        name: "all".to_owned(),
        range,
        tempo: None,
        notes: String::new(),
    }
}

/// Words where a cut begins and where it ends.
fn ends(piece: &Piece, cut: &Cut, found: &Found) -> [PencilMark; 2] {
    let events = piece.parts.first().map_or(&[][..], |part| &part.events);
    let notes = || events.iter().filter(|event| !event.is_grace() && !event.cue);
    let first = notes().find(|event| event.place >= found.from);
    let last = notes().rfind(|event| event.place < found.until);
    let anchor = |event: Option<&notation::Event>, place: Place| Anchor {
        place: event.map_or(place, |event| event.place),
        element: event.map(|event| event.id),
    };
    let mark = |anchor: Anchor, text: String, reason: String| {
        let mut mark = PencilMark::new(PencilSign::Words, anchor, reason);
        mark.text = text;
        "call".clone_into(&mut mark.question);
        "cuts".clone_into(&mut mark.matter);
        mark.worth = 1.0;
        mark.kept = true;
        mark
    };
    let name = &cut.name;
    [
        mark(
            anchor(first, found.from),
            format!("cut {name}: from here"),
            format!("Cut {name} of the call, {}: it begins here.", found.says),
        ),
        mark(
            anchor(last, found.until),
            format!("cut {name}: to here"),
            format!("Cut {name} of the call, {}: its last note.", found.says),
        ),
    ]
}

/// How long a cut lasts at the slowest and at the fastest tempo.
fn lasts(piece: &Piece, found: &Found, tempo: Option<&TempoAsked>, grids: &[BeatGrid]) -> Option<(f64, f64)> {
    let cut = excerpt(piece, found);
    let felt = grids
        .get(found.from.bar.get())
        .and_then(|grid| grid.felt.first())
        .map_or(Quarters::ONE, |beat| beat.length);
    let at = |tempo: PlayTempo| {
        let options = PlayOptions {
            tempo,
            repeats: if found.repeats {
                Repeats::Taken
            } else {
                Repeats::StraightThrough
            },
            ..PlayOptions::default()
        };
        perform(&cut, 0, &options).map(|played| played.seconds())
    };
    match tempo {
        None => {
            // The tempo in force where it begins stands perhaps before it: of the whole piece played from there.
            let whole = PlayOptions {
                bars: Some((found.bars.from, found.bars.to)),
                repeats: if found.repeats {
                    Repeats::Taken
                } else {
                    Repeats::StraightThrough
                },
                ..PlayOptions::default()
            };
            let speed = perform(piece, 0, &whole)?
                .clock
                .stretches()
                .first()
                .map(|stretch| stretch.start)?;
            let starts = PlayTempo::Starts {
                note: Rational::ONE,
                per_minute: speed,
            };
            let seconds = at(starts)?;
            Some((seconds, seconds))
        }
        Some(asked) => {
            let note = asked.note.unwrap_or(felt);
            let of = |per_minute| at(PlayTempo::Starts { note, per_minute });
            Some((of(asked.slowest)?, of(asked.fastest)?))
        }
    }
}
