//! What does a person want to drill? Her words become offers, and offers files: notation, sound, pages.

use crate::listen::{ListenAsked, SoundForm, listen, to_file};
use crate::print::{For, Form, alone_for, write_pages};
use crate::survey_piece::survey_part;
use crate::{Asked, ConvertAsked, DeskError, Opened, Shown, Target, WholeFile, convert};
use engrave::{Edition, Look, Paper, StripItem};
use load::Study;
use notation::Finding;
use practice::BarSpan;
use practice::drill::{self, Booklet, Drill, DrillKind, Matter, Offer, Order, Source};
use printer::Printer;
use std::path::{Path, PathBuf};
use survey::{Context, Question};

/// What was asked.
#[derive(Clone, Debug, Default)]
pub struct DrillAsked {
    /// The part, the player and her wishes.
    pub asked: Asked,
    /// For whom the part is written, instead of its own player.
    pub written_for: For,
    /// Made from what.
    pub pick: DrillPick,
    /// Kinds by their names; empty for all that fit.
    pub kinds: Vec<String>,
    /// Through the keys by semitones instead of fourths.
    pub by_semitones: bool,
}

/// What drills are made from.
#[derive(Clone, PartialEq, Eq, Debug, Default)]
pub enum DrillPick {
    /// Everything that the piece offers.
    #[default]
    Everything,
    /// What fits in one sitting: the piece's own scale, the spots to read slowly first, two look-alikes.
    Sitting,
    /// The trouble spot with a number from 1.
    Spot(usize),
    /// Bars by their printed numbers: `5-8`.
    Bars(String),
    /// Scales and broken chords.
    Scales,
    /// Bars that look alike.
    LookAlikes,
}

/// The drills of a part for a player.
#[derive(Debug)]
pub struct Drills {
    /// The part alone.
    pub alone: Opened,
    /// Its survey and study.
    pub shown: Shown,
    /// What is offered, the most useful first.
    pub offers: Vec<Offer>,
}

/// Drills per spot in one sitting. Source: common practice of short turns; at most six repetitions each.
const PER_SPOT: usize = 3;
/// Scales and broken chords in one sitting.
const SCALES: usize = 3;
/// Look-alikes in one sitting.
const LOOK_ALIKES: usize = 2;

/// Finds the drills that were asked for.
///
/// # Errors
/// If there is no such part, bar, spot or kind, or the player's file can't be understood.
pub fn drills(opened: &Opened, asked: &DrillAsked) -> Result<Drills, DeskError> {
    let kinds = kinds(&asked.kinds)?;
    let alone = alone_for(opened, asked.asked.part.as_deref(), &asked.written_for)?;
    let mut for_anybody = asked.asked.clone();
    for_anybody.study.for_anybody = true;
    let shown = survey_part(&alone, 0, None, &Question::ALL, &for_anybody)?;
    let mut offers = with_source(&alone, &shown, |source| picked(source, asked))??;
    if !kinds.is_empty() {
        let before = offers.len();
        offers.retain(|offer| kinds.contains(&offer.kind));
        if offers.is_empty() {
            return Err(none_of_kind(&kinds, before));
        }
    }
    if asked.by_semitones {
        for offer in offers
            .iter_mut()
            .filter(|offer| offer.kind == DrillKind::ThroughKeys)
        {
            offer.matter = Matter::Through(Order::Semitones);
        }
    }
    Ok(Drills { alone, shown, offers })
}

fn none_of_kind(kinds: &[DrillKind], others: usize) -> DeskError {
    let names: Vec<&str> = kinds.iter().map(|kind| kind.id()).collect();
    DeskError::Player {
        what: format!("no drill of the kind {} fits here", names.join(", ")),
        advice: if others == 0 {
            "nothing here gives a drill; choose other bars".to_owned()
        } else {
            "leave out --kind to see which do".to_owned()
        },
    }
}

fn kinds(names: &[String]) -> Result<Vec<DrillKind>, DeskError> {
    names
        .iter()
        .flat_map(|names| names.split(','))
        .map(|name| {
            DrillKind::from_id(name.trim()).ok_or_else(|| DeskError::Player {
                what: format!("no kind of drill is called “{}”", name.trim()),
                advice: format!("there are {}", DrillKind::ALL.map(DrillKind::id).join(", ")),
            })
        })
        .collect()
}

/// Runs something on the part with its survey and study.
fn with_source<T>(alone: &Opened, shown: &Shown, run: impl FnOnce(&Source) -> T) -> Result<T, DeskError> {
    let none = || DeskError::NoParts {
        path: alone.path.clone(),
    };
    let ctx = Context::new(&alone.piece, 0).ok_or_else(none)?;
    let study: &Study = shown.study.as_ref().ok_or_else(none)?;
    Ok(run(&Source {
        ctx: &ctx,
        survey: &shown.survey,
        study,
    }))
}

fn picked(source: &Source, asked: &DrillAsked) -> Result<Vec<Offer>, DeskError> {
    Ok(match &asked.pick {
        DrillPick::Everything => drill::offers(source),
        DrillPick::Sitting => sitting(source),
        DrillPick::Scales => drill::scales(source),
        DrillPick::LookAlikes => drill::look_alikes(source),
        DrillPick::Spot(number) => {
            let spots = &source.study.spots;
            let spot = number.checked_sub(1).and_then(|at| spots.get(at));
            let spot = spot.ok_or_else(|| DeskError::Player {
                what: format!("there is no trouble spot {number}"),
                advice: match spots.len() {
                    0 => "this piece has none; name bars with --bars instead".to_owned(),
                    count => format!("there are {count}, the worst is 1; `foreread spots` shows them"),
                },
            })?;
            drill::for_bars(source, BarSpan::new(spot.from, spot.to), number.checked_sub(1))
        }
        DrillPick::Bars(bars) => {
            let (from, to) = crate::listen::bars(source.ctx.piece, bars)?;
            drill::for_bars(source, BarSpan::new(from, to), None)
        }
    })
}

/// What fits in one sitting, in the order in which it is practised.
fn sitting(source: &Source) -> Vec<Offer> {
    let mut all: Vec<Offer> = drill::scales(source).into_iter().take(SCALES).collect();
    let slowly = source
        .study
        .spots
        .iter()
        .enumerate()
        .filter(|(_, spot)| spot.slowly_first);
    for (index, spot) in slowly {
        let fitting = drill::for_bars(source, BarSpan::new(spot.from, spot.to), Some(index));
        let mut taken: Vec<DrillKind> = Vec::new();
        for offer in fitting {
            if taken.len() < PER_SPOT && !taken.iter().any(|kind| kin(*kind) == kin(offer.kind)) {
                taken.push(offer.kind);
                all.push(offer);
            }
        }
    }
    all.extend(drill::look_alikes(source).into_iter().take(LOOK_ALIKES));
    all
}

/// Kinds that are too much alike for one sitting stand under one of them.
const fn kin(kind: DrillKind) -> DrillKind {
    match kind {
        DrillKind::AddFromStart => DrillKind::AddFromEnd,
        DrillKind::ReverseDotted | DrillKind::Triplets => DrillKind::Dotted,
        other => other,
    }
}

/// What can be written of drills.
enum Goal {
    Notation(Target),
    Sound,
    Pages,
}

fn target(to: &Path) -> Result<Goal, DeskError> {
    // Sound comes before notation: a MIDI file of a drill is to be heard at its tempo.
    if SoundForm::of(to).is_ok() {
        return Ok(Goal::Sound);
    }
    if Form::of(to).is_ok() {
        return Ok(Goal::Pages);
    }
    match Target::of(to) {
        Ok(target) => Ok(Goal::Notation(target)),
        Err(DeskError::NotWritten { path, ending, .. }) => Err(DeskError::NotWritten {
            path,
            ending,
            known: ".musicxml, .xml, .mxl, .mei, .mid, .wav, .flac, .pdf, .svg, .png".to_owned(),
        }),
        Err(other) => Err(other),
    }
}

/// How pages are to be.
#[derive(Clone, Copy, PartialEq, Debug)]
pub struct DrillPages {
    /// The paper.
    pub paper: Paper,
    /// Height of a staff in millimetres; `None` as usual.
    pub staff_mm: Option<f64>,
    /// Dots an inch of a picture.
    pub dots_per_inch: f64,
}

/// Whether a file's ending is one that drills are written in.
///
/// # Errors
/// If it isn't; the message names those that are.
pub fn drill_form(to: &Path) -> Result<(), DeskError> {
    target(to).map(|_| ())
}

/// Writes all drills to a file; a printed one may become several.
///
/// # Errors
/// If nothing can be made, or the file can't be written.
pub fn write_drills(
    drills: &Drills,
    to: &Path,
    pages: &DrillPages,
) -> Result<(Vec<PathBuf>, Vec<Finding>), DeskError> {
    let target = target(to)?;
    let headed = matches!(target, Goal::Notation(_));
    let (booklet, mut findings) = bound(drills, headed)?;
    let files = match target {
        Goal::Notation(target) => {
            let opened = opened(drills, booklet);
            let converted = convert(&opened, target, &ConvertAsked::default())?;
            findings.extend(converted.findings);
            WholeFile::write(to, &converted.bytes)?;
            vec![to.to_path_buf()]
        }
        Goal::Sound => {
            let heard = listen(&opened(drills, booklet), &ListenAsked::default())?;
            findings.extend(heard.findings.iter().cloned());
            to_file(&heard, to)?;
            vec![to.to_path_buf()]
        }
        Goal::Pages => {
            let mut printer = Printer::find()?;
            let laid = laid(&booklet, pages, &mut printer)?;
            findings.extend(laid.findings.iter().cloned());
            let title = booklet.piece.credits.title.clone().unwrap_or_default();
            write_pages(&laid, &title, "", to, pages.dots_per_inch, &mut printer)?.files
        }
    };
    Ok((files, findings))
}

fn opened(drills: &Drills, booklet: Booklet) -> Opened {
    Opened {
        path: drills.alone.path.clone(),
        tune: None,
        piece: booklet.piece,
        findings: Vec::new(),
    }
}

/// All drills as one piece.
fn bound(drills: &Drills, headed: bool) -> Result<(Booklet, Vec<Finding>), DeskError> {
    with_source(&drills.alone, &drills.shown, |source| {
        let mut findings: Vec<Finding> = Vec::new();
        let mut made: Vec<Drill> = Vec::new();
        for offer in &drills.offers {
            match drill::make(source, offer) {
                Ok(drill) => {
                    let new = drill
                        .findings
                        .iter()
                        .filter(|finding| !findings.contains(finding));
                    findings.extend(new.cloned().collect::<Vec<_>>());
                    made.push(drill);
                }
                Err(finding) => findings.push(*finding),
            }
        }
        if made.is_empty() {
            return Err(DeskError::Player {
                what: "there is nothing to drill here".to_owned(),
                advice: "choose other bars with --bars, or scales with --scales".to_owned(),
            });
        }
        let title = title(drills, &made);
        Ok((drill::booklet(source, &made, &title, headed), findings))
    })?
}

/// One drill is called by its own title, several by the piece's.
fn title(drills: &Drills, made: &[Drill]) -> String {
    let piece = drills.alone.piece.credits.name();
    match (made, piece) {
        ([one], _) => one.offer.title.clone(),
        (_, Some(name)) => format!("Drills for {name}"),
        (_, None) => "Drills".to_owned(),
    }
}

/// The drills on pages, each with its title and words over it.
fn laid(booklet: &Booklet, pages: &DrillPages, printer: &mut Printer) -> Result<engrave::Laid, DeskError> {
    let mut look = Look::of(Edition::Strip);
    look.hand = false;
    look.bar_numbers = false;
    look.paper = pages.paper;
    look.staff_height_mm = pages.staff_mm.unwrap_or(STAFF_MM);
    look.footer = FOOTER.to_owned();
    look.strip = booklet
        .drills
        .iter()
        .map(|(span, offer, findings)| StripItem {
            from: span.from,
            to: span.to,
            heading: Some(offer.title.clone()),
            reason: said(offer, findings),
        })
        .collect();
    let printable = engrave::to_job(&booklet.piece, &look);
    let (engraved, svgs) = printer.engrave(&printable.mei, printable.ask.clone())?;
    Ok(engrave::lay_out(
        &booklet.piece,
        &look,
        &printable,
        &engraved,
        &svgs,
        &[],
    ))
}

/// Drills are read from close by and have many short passages: staves a little lower than a part's.
const STAFF_MM: f64 = 6.5;
/// Said on every page. Source: common practice of performing-arts medicine.
const FOOTER: &str = "Stop at once if anything hurts. If it comes back, ask your teacher and a physician.";

fn capital(text: &str) -> String {
    let mut chars = text.chars();
    chars
        .next()
        .map_or_else(String::new, |first| first.to_uppercase().chain(chars).collect())
}

/// The words over a drill.
fn said(offer: &Offer, findings: &[Finding]) -> String {
    let times = match offer.at_most {
        1 => "Once a sitting".to_owned(),
        n => format!("At most {n} times a sitting"),
    };
    // What the footer says already isn't said again.
    let cautions: Vec<&str> = offer
        .cautions
        .iter()
        .copied()
        .filter(|caution| !caution.starts_with("Stop at once"))
        .collect();
    let mut words = format!("{}\n{} {times}.", offer.what_for, offer.when_to_stop);
    if !cautions.is_empty() {
        words.push(' ');
        words.push_str(&cautions.join(" "));
    }
    // What was changed of the notes must not be found out by ear.
    for finding in findings
        .iter()
        .filter(|finding| finding.kind == "out-of-range" || finding.kind == "keys-left-out")
    {
        words.push_str(&format!("\n{}: {}.", capital(&finding.what), finding.advice));
    }
    words
}

/// Writes what is offered as JSON.
///
/// # Errors
/// What the writer says.
pub fn write_drills_json(drills: &Drills, out: impl std::io::Write) -> std::io::Result<()> {
    wire::write_drills(&drills.written(), out)
}

impl Drills {
    /// What the JSON is made of.
    #[must_use]
    pub fn written(&self) -> wire::DrillsWritten<'_> {
        wire::DrillsWritten {
            survey: self.shown.written(&self.alone),
            offers: &self.offers,
        }
    }

    /// The list of offers as text for the terminal, in so many columns.
    #[must_use]
    pub fn text(&self, columns: usize) -> String {
        if self.offers.is_empty() {
            return "Nothing here gives a drill.\n".to_owned();
        }
        let mut out = String::new();
        for (index, offer) in self.offers.iter().enumerate() {
            let spot = offer
                .spot
                .map_or(String::new(), |spot| format!(", spot {}", spot + 1));
            out.push_str(&format!(
                "{:3}  {}  [{}{spot}]\n",
                index + 1,
                offer.title,
                offer.kind.id()
            ));
            let tempo = offer.tempo.said();
            let words = format!(
                "{} Start at {tempo}, at most {} times a sitting. {}",
                offer.what_for, offer.at_most, offer.when_to_stop
            );
            for line in wrapped(&words, columns.saturating_sub(INDENT)) {
                out.push_str(&format!("{:INDENT$}{line}\n", ""));
            }
        }
        let source = format!("Caps on repetitions and rests: {}.", drill::CAPS_SOURCE);
        out.push('\n');
        for line in wrapped(FOOTER, columns).iter().chain(&wrapped(&source, columns)) {
            out.push_str(&format!("{line}\n"));
        }
        out
    }
}

/// By how much words are set in under their title.
const INDENT: usize = 5;

/// Words in lines of so many columns, at least twenty.
fn wrapped(words: &str, columns: usize) -> Vec<String> {
    let mut lines: Vec<String> = Vec::new();
    for word in words.split_whitespace() {
        match lines.last_mut() {
            Some(line) if line.chars().count() + 1 + word.chars().count() <= columns.max(20) => {
                line.push(' ');
                line.push_str(word);
            }
            _ => lines.push(word.to_owned()),
        }
    }
    lines
}
