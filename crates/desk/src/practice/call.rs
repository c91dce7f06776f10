//! What does a call ask for, and what does it come to? Its pieces opened, its cuts found, timed and written.

use super::call_errata::{errata_lines, in_excerpt, on_part};
use super::call_file;
use crate::listen::{ListenAsked, SoundForm, listen, to_file};
use crate::print::{CopyAsked, For, Form, alone_for, copy, write_copy};
use crate::{ConvertAsked, DeskError, Opened, Target, WholeFile, convert, open};
use chrono::NaiveDate;
use engrave::{Edition, Paper};
use notation::{Anchor, Finding, PencilMark, PencilSign, Piece, Place, Quarters, Rational};
use performance::play::{PlayOptions, PlayTempo, Repeats, perform};
use practice::call::errata::{Corrected, apply};
use practice::call::excerpt::{excerpt, with_tempo};
use practice::call::find::{Found, Page, find};
use practice::call::tempo::Asked as TempoAsked;
use practice::call::words::Range;
use practice::call::{Call, CallPiece, Cut};
use printer::Printer;
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

/// How a cut or a part is written.
#[derive(Clone, Debug, Default)]
pub struct CallTo {
    /// The paper.
    pub paper: Paper,
    /// Dots an inch of a picture.
    pub dots_per_inch: f64,
    /// The tempo to hear it at; `None` for the slowest asked for.
    pub tempo: Option<String>,
}

impl CallOpened {
    /// The cut of a name (`1`; of several pieces `2.1` for the first cut of the second piece, or its own name).
    ///
    /// # Errors
    /// If there is none of that name, several, or it was not found in its piece.
    pub fn cut(&self, name: &str) -> Result<(&CallPieceOpened, &CutFound, &Found), DeskError> {
        let all = self
            .pieces
            .iter()
            .enumerate()
            .flat_map(|(at, piece)| piece.cuts.iter().map(move |cut| (at, piece, cut)));
        let wanted = name.trim();
        let matching: Vec<_> = all
            .filter(|(at, _, cut)| {
                cut.cut.name.eq_ignore_ascii_case(wanted)
                    || format!("{}.{}", at + 1, cut.cut.name).eq_ignore_ascii_case(wanted)
            })
            .collect();
        let names = || {
            let all = self.pieces.iter().enumerate();
            let all = all.flat_map(|(at, piece)| {
                piece
                    .cuts
                    .iter()
                    .map(move |cut| format!("{}.{}", at + 1, cut.cut.name))
            });
            all.collect::<Vec<_>>().join(", ")
        };
        let wrong = |what: String| DeskError::Player {
            what,
            advice: format!("there are {}", names()),
        };
        match matching.as_slice() {
            [] => Err(wrong(format!("the call has no cut {wanted}"))),
            [(_, piece, cut)] => match &cut.found {
                Some(found) => Ok((piece, cut, found)),
                None => Err(wrong(format!("cut {wanted} was not found in its piece"))),
            },
            _ => Err(wrong(format!("several pieces have a cut {wanted}"))),
        }
    }

    /// Writes a cut, errata in it and nothing after its end: notation, sound or pages, by the ending.
    ///
    /// # Errors
    /// As [`Self::cut`], or if it can't be written.
    pub fn write_cut(
        &self,
        name: &str,
        to: &Path,
        how: &CallTo,
    ) -> Result<(Vec<PathBuf>, Vec<Finding>), DeskError> {
        let (piece, cut, found) = self.cut(name)?;
        let Some(whole) = &piece.corrected else {
            return Err(DeskError::NotFound {
                path: self.path.clone(),
            });
        };
        let sound = SoundForm::of(to).is_ok();
        let tempo = cut.cut.tempo.clone().map(|asked| TempoAsked {
            // What is heard has one tempo: the slowest.
            fastest: if sound { asked.slowest } else { asked.fastest },
            ..asked
        });
        let mut alone = Opened {
            path: whole.path.clone(),
            tune: None,
            piece: with_tempo(&whole.piece, found, tempo.as_ref()),
            findings: Vec::new(),
        };
        alone.piece.credits.title = Some(format!("{}, cut {}", piece.title, cut.cut.name));
        alone.piece.credits.movement = None;
        if sound {
            let heard = listen(
                &alone,
                &ListenAsked {
                    straight: !found.repeats,
                    tempo: how.tempo.clone(),
                    ..ListenAsked::default()
                },
            )?;
            to_file(&heard, to)?;
            return Ok((vec![to.to_path_buf()], heard.findings));
        }
        if Form::of(to).is_ok() {
            let marks = in_excerpt(&piece.marks, &alone.piece, found.bars.from);
            let asked = CopyAsked {
                edition: Edition::Clean,
                paper: how.paper,
                foot: errata_lines(&marks),
                added: marks,
                ..CopyAsked::default()
            };
            return write_pages(&alone, &asked, to, how.dots_per_inch);
        }
        let target = notated(to)?;
        let converted = convert(&alone, target, &ConvertAsked::default())?;
        WholeFile::write(to, &converted.bytes)?;
        Ok((vec![to.to_path_buf()], converted.findings))
    }

    /// Writes the part of a piece (from 1) with its errata and where its cuts begin and end, pencilled beside the usual marks.
    ///
    /// # Errors
    /// If there is no such piece, or it can't be printed.
    pub fn write_part(
        &self,
        number: usize,
        to: &Path,
        how: &CallTo,
    ) -> Result<(Vec<PathBuf>, Vec<Finding>), DeskError> {
        let piece = number.checked_sub(1).and_then(|at| self.pieces.get(at));
        let piece = piece.ok_or_else(|| DeskError::Player {
            what: format!("the call has no piece {number}"),
            advice: format!("give a number from 1 to {}", self.pieces.len().max(1)),
        })?;
        let Some(whole) = &piece.corrected else {
            return Err(DeskError::NotFound {
                path: self.path.clone(),
            });
        };
        if Form::of(to).is_err() {
            let converted = convert(whole, notated(to)?, &ConvertAsked::default())?;
            WholeFile::write(to, &converted.bytes)?;
            return Ok((vec![to.to_path_buf()], converted.findings));
        }
        let asked = CopyAsked {
            paper: how.paper,
            foot: errata_lines(&piece.marks),
            added: piece.marks.clone(),
            ..CopyAsked::default()
        };
        write_pages(whole, &asked, to, how.dots_per_inch)
    }
}

fn notated(to: &Path) -> Result<Target, DeskError> {
    Target::of(to).map_err(|error| match error {
        DeskError::NotWritten { path, ending, .. } => DeskError::NotWritten {
            path,
            ending,
            known: ".musicxml, .xml, .mxl, .mei, .mid, .wav, .flac, .pdf, .svg, .png".to_owned(),
        },
        other => other,
    })
}

fn write_pages(
    opened: &Opened,
    asked: &CopyAsked,
    to: &Path,
    dpi: f64,
) -> Result<(Vec<PathBuf>, Vec<Finding>), DeskError> {
    let mut printer = Printer::find()?;
    let copy = copy(opened, asked, &mut printer)?;
    let written = write_copy(&copy, to, dpi, &mut printer)?;
    Ok((written.files, copy.findings))
}

/// Minutes and seconds.
fn time(seconds: f64) -> String {
    let whole = seconds.round().clamp(0.0, 86_400.0);
    format!("{:.0}:{:02.0}", (whole / 60.0).floor(), whole % 60.0)
}

impl CallOpened {
    /// The call for the terminal, as of a day; with what was changed since another.
    #[must_use]
    pub fn text(&self, today: NaiveDate, since: Option<NaiveDate>) -> String {
        let mut out = format!("{}\n", self.call.name);
        if let (Some(date), Some(left)) = (self.call.date, self.call.days_left(today)) {
            let when = match left {
                0 => "today".to_owned(),
                1 => "tomorrow".to_owned(),
                left if left > 0 => format!("in {left} days"),
                left => format!("{} days ago", -left),
            };
            out.push_str(&format!("  {date}, {when}\n"));
        }
        if !self.call.notes.is_empty() {
            out.push_str(&format!("  {}\n", self.call.notes.trim()));
        }
        for (at, (listed, piece)) in self.call.pieces.iter().zip(&self.pieces).enumerate() {
            out.push_str(&self.piece_text(at, listed, piece));
        }
        if !self.call.scales.is_empty() {
            out.push_str("\nScales\n");
            for scale in &self.call.scales {
                let tempo = scale
                    .tempo
                    .as_ref()
                    .map_or(String::new(), |tempo| format!(", {}", tempo.in_words()));
                let memory = if scale.memorised { ", from memory" } else { "" };
                out.push_str(&format!("  {}{tempo}{memory}\n", scale.says));
            }
        }
        if let Some(said) = &self.call.sight_reading {
            out.push_str(&format!("\nSight-reading\n  {said}\n"));
        }
        if let Some(since) = since {
            out.push_str(&format!("\nChanged since {since}\n"));
            let changed = self.call.changed_since(since);
            for (date, piece, says) in &changed {
                let piece = piece
                    .and_then(|at| self.pieces.get(at))
                    .map_or(String::new(), |piece| format!("{}: ", piece.title));
                out.push_str(&format!("  {date}  {piece}{says}\n"));
            }
            if changed.is_empty() {
                out.push_str("  nothing\n");
            }
        }
        out
    }

    fn piece_text(&self, at: usize, listed: &CallPiece, piece: &CallPieceOpened) -> String {
        let memory = if listed.memorised { ", from memory" } else { "" };
        let mut out = format!("\n{}. {}{memory}\n", at + 1, piece.title);
        if !listed.edition.is_empty() {
            out.push_str(&format!("   Edition: {}\n", listed.edition));
        }
        for cut in &piece.cuts {
            let says = cut
                .found
                .as_ref()
                .map_or_else(|| cut.cut.range.said.clone(), |found| found.says.clone());
            out.push_str(&format!("   Cut {}: {says}\n", cut.cut.name));
            let tempo = cut
                .cut
                .tempo
                .as_ref()
                .map_or_else(|| "at the marked tempo".to_owned(), TempoAsked::in_words);
            match cut.seconds {
                Some((slow, fast)) if (slow - fast).abs() < 0.5 => {
                    out.push_str(&format!("      {tempo}: {}\n", time(slow)))
                }
                Some((slow, fast)) => {
                    out.push_str(&format!("      {tempo}: {} to {}\n", time(slow), time(fast)))
                }
                None => out.push_str(&format!("      {tempo}\n")),
            }
            if cut.found.as_ref().is_some_and(|found| found.repeats) {
                out.push_str("      with repeats\n");
            }
            if !cut.cut.notes.is_empty() {
                out.push_str(&format!("      {}\n", cut.cut.notes.trim()));
            }
            for finding in &cut.findings {
                out.push_str(&format!("      {}: {finding}\n", finding.severity.word()));
            }
        }
        for erratum in &listed.errata {
            let date = erratum.date.map_or(String::new(), |date| format!("{date}  "));
            out.push_str(&format!("   Erratum: {date}{}\n", erratum.in_words()));
        }
        for finding in &piece.findings {
            out.push_str(&format!("   {}: {finding}\n", finding.severity.word()));
        }
        out
    }

    /// The call as JSON, as of a day.
    #[must_use]
    pub fn json(&self, today: NaiveDate, since: Option<NaiveDate>) -> String {
        let pieces: Vec<wire::CallPieceWritten<'_>> = self
            .pieces
            .iter()
            .map(|piece| wire::CallPieceWritten {
                title: &piece.title,
                piece: piece.corrected.as_ref().map(|opened| &opened.piece),
                cuts: piece
                    .cuts
                    .iter()
                    .map(|cut| wire::CutWritten {
                        cut: &cut.cut,
                        found: cut.found.as_ref(),
                        seconds: cut.seconds,
                        findings: &cut.findings,
                    })
                    .collect(),
                findings: &piece.findings,
            })
            .collect();
        wire::call_json(&self.call, &pieces, today, since)
    }
}

/// Today, by this machine's clock.
#[must_use]
pub fn today() -> NaiveDate {
    super::when::today()
}

/// `2027-02-13`, given with an option.
///
/// # Errors
/// If it is no day.
pub fn day(option: &str, text: &str) -> Result<NaiveDate, DeskError> {
    super::when::date(option, text)
}
