//! A copy of the part: which player's, which edition, with which marks.

use crate::survey_piece::survey_part;
use crate::{Asked, DeskError, Opened, OrnamentsAsked, Shown, choose_part, part_of, small_file};
use engrave::{Edition, Laid, Look, Paper, StripItem};
use notation::{Finding, PencilMark, PencilMeaning, Piece, Place};
use pencil::{Legend, Matter, Most};
use printer::Printer;
use std::collections::BTreeSet;
use std::path::PathBuf;
use survey::{Context, Question};

/// How the copy is to be.
#[derive(Clone, Debug, Default)]
pub struct CopyAsked {
    /// The part, the player and her wishes.
    pub asked: Asked,
    /// What the copy is for.
    pub edition: Edition,
    /// The paper.
    pub paper: Paper,
    /// Whether the long side lies across; `None` as is usual for the edition.
    pub landscape: Option<bool>,
    /// Height of a staff in millimetres; `None` as is usual for the edition.
    pub staff_mm: Option<f64>,
    /// The teacher's own legend.
    pub legend: Option<PathBuf>,
    /// Whether the legend's meaning is printed at the end.
    pub legend_block: bool,
    /// How many marks at most on a page, instead of the legend's; `Some(0)` is none.
    pub most_marks: Option<u32>,
    /// Whether pages are printed on both sides.
    pub double_sided: bool,
    /// For whom it is written, instead of the part's own player.
    pub written_for: For,
    /// Marks beside those that the legend asks for.
    pub added: Vec<PencilMark>,
    /// Lines at the foot of the last page that say what marks of `added` mean.
    pub foot: Vec<PencilMeaning>,
    /// Marks that the legend asks for and the teacher does not want.
    pub erased: Vec<OurMark>,
    /// Marks that the legend asks for and the teacher keeps: they are never left out.
    pub confirmed: Vec<OurMark>,
    /// Ornaments written out in small notes, played by these rules; `None` only if the legend wants them.
    pub ornaments: Option<OrnamentsAsked>,
}

/// Which of the marks that a legend asks for is meant.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct OurMark {
    /// What it is about, by the legend's name of the matter.
    pub matter: String,
    /// From where.
    pub from: Place,
    /// To where, for a mark that reaches.
    pub to: Option<Place>,
}

impl OurMark {
    /// Which mark this is.
    #[must_use]
    pub fn of(mark: &PencilMark) -> Self {
        Self {
            matter: mark.matter.clone(),
            from: mark.from.place,
            to: mark.to.map(|to| to.place),
        }
    }
}

/// For whom a part is written.
#[derive(Clone, PartialEq, Eq, Debug, Default)]
pub enum For {
    /// Its own player.
    #[default]
    Itself,
    /// At concert pitch, as it sounds.
    Concert,
    /// For another instrument, by its name.
    Instrument(String),
}

/// A copy, laid out.
#[derive(Debug)]
pub struct Copy {
    /// The part alone, as printed.
    pub piece: Piece,
    /// Its title.
    pub title: String,
    /// Who wrote it.
    pub author: String,
    /// Its survey and study.
    pub shown: Shown,
    /// The pages.
    pub laid: Laid,
    /// All marks that the legend asks for; [`engrave::Places::marks`] says which found room.
    pub marks: Vec<PencilMark>,
    /// What the player should know.
    pub findings: Vec<Finding>,
}

/// Makes a copy of one part.
///
/// # Errors
/// If there is no such part, the player's or the legend's file can't be understood, or the press fails.
pub fn copy(opened: &Opened, asked: &CopyAsked, printer: &mut Printer) -> Result<Copy, DeskError> {
    let alone = alone(opened, asked)?;
    let (studied, begun) = studied_and_begun(alone, asked, printer)?;
    let mut legend = legend(asked)?;
    if asked.ornaments.is_some() {
        legend = legend.with(Matter::Ornaments);
    }
    let mut marks = match asked.edition {
        Edition::Clean => Vec::new(),
        _ => studied.marks_with(&legend, asked.ornaments.as_ref())?,
    };
    marks.retain(|mark| !asked.erased.contains(&OurMark::of(mark)));
    for mark in &mut marks {
        mark.kept |= asked.confirmed.contains(&OurMark::of(mark));
    }
    marks.extend(asked.added.iter().cloned());
    let Studied { alone, shown } = studied;
    let piece = alone.piece;
    let ctx = context(&piece, opened)?;
    let mut look = look(asked, &ctx, &shown, &legend);
    let mut set = set(&piece, &look, &marks, printer, begun)?;
    if asked.staff_mm.is_none() && nearly_empty_end(asked.edition, &set.laid) {
        look.staff_height_mm -= CLOSER_MM;
        let closer = self::set(&piece, &look, &marks, printer, None)?;
        if closer.laid.pages.len() < set.laid.pages.len() {
            set = closer;
        } else {
            look.staff_height_mm += CLOSER_MM;
        }
    }
    let Set {
        printable,
        engraved,
        svgs,
        mut laid,
    } = set;
    if asked.legend_block {
        // The block tells what stands on the pages, which is known only now.
        let drawn = marks
            .iter()
            .zip(&laid.places.marks)
            .filter(|(_, spots)| !spots.is_empty());
        look.legend = legend.entries(&drawn.map(|(mark, _)| mark).collect::<Vec<_>>());
        look.legend.extend(asked.foot.iter().cloned());
        laid = engrave::lay_out(&piece, &look, &printable, &engraved, &svgs, &marks);
    }
    let mut findings = shown.findings.clone();
    findings.extend(printable.findings);
    findings.extend(laid.findings.iter().cloned());
    Ok(Copy {
        title: title(&piece, opened),
        author: author(&piece),
        piece,
        shown,
        laid,
        marks,
        findings,
    })
}

/// A part as engraved and laid out.
struct Set {
    printable: engrave::Printable,
    engraved: job::Engraved,
    svgs: Vec<String>,
    laid: Laid,
}

/// A part as engraved before anything was known of what it asks.
struct Begun {
    printable: engrave::Printable,
    engraved: job::Engraved,
    svgs: Vec<String>,
}

/// Studies the part, and has it engraved meanwhile: the engraver asks for nothing that a study finds, except where only hard
/// bars are printed.
fn studied_and_begun(
    alone: Opened,
    asked: &CopyAsked,
    printer: &mut Printer,
) -> Result<(Studied, Option<Begun>), DeskError> {
    if matches!(asked.edition, Edition::Strip | Edition::Spaced) {
        return Ok((studied(alone, asked)?, None));
    }
    // What only looks at what is kept knows at once whether that is enough.
    let known_first = !printer.asks();
    let mut begin = || {
        let printable = engrave::to_job(&alone.piece, &sized(asked));
        let (engraved, svgs) = printer.engrave(&printable.mei, printable.ask.clone())?;
        Ok::<Begun, DeskError>(Begun {
            printable,
            engraved,
            svgs,
        })
    };
    if known_first {
        let begun = begin()?;
        return Ok((studied(alone, asked)?, Some(begun)));
    }
    let (shown, begun) = std::thread::scope(|both| {
        let studying = std::thread::Builder::new().spawn_scoped(both, || shown(&alone, asked));
        let begun = begin();
        let shown = match studying.map(std::thread::ScopedJoinHandle::join) {
            Ok(Ok(shown)) => shown,
            Ok(Err(accident)) => std::panic::resume_unwind(accident),
            // The machine gives no second thread: one thing after the other.
            Err(_) => shown(&alone, asked),
        };
        (shown, begun)
    });
    Ok((Studied { shown: shown?, alone }, Some(begun?)))
}

fn set(
    piece: &Piece,
    look: &Look,
    marks: &[PencilMark],
    printer: &mut Printer,
    begun: Option<Begun>,
) -> Result<Set, DeskError> {
    let mut printable = engrave::to_job(piece, look);
    let begun = begun.filter(|begun| begun.printable == printable);
    let (mut engraved, mut svgs) = match begun {
        Some(begun) => (begun.engraved, begun.svgs),
        None => printer.engrave(&printable.mei, printable.ask.clone())?,
    };
    if let Some(second) = engrave::again(piece, look, &printable, &engraved, &svgs) {
        (engraved, svgs) = printer.engrave(&second.mei, second.ask.clone())?;
        printable = second;
    }
    let laid = engrave::lay_out(piece, look, &printable, &engraved, &svgs, marks);
    Ok(Set {
        printable,
        engraved,
        svgs,
        laid,
    })
}

/// By how much staves may be made lower to save a page that would hold next to nothing, in millimetres: to 6.5 from the usual 7.
/// Common practice: parts are printed with staves from 6.5 to 7.5 mm.
const CLOSER_MM: f64 = 0.5;
/// Systems on a last page that holds next to nothing.
const NEXT_TO_NOTHING: usize = 3;
/// In a longer part one page more or less is no matter.
const SHORT_PART: usize = 3;

fn nearly_empty_end(edition: Edition, laid: &Laid) -> bool {
    let last = laid.pages.len().saturating_sub(1);
    let usual = matches!(edition, Edition::Practice | Edition::Clean);
    let spots = laid.places.of.values().flatten().filter(|spot| spot.page == last);
    let systems: BTreeSet<usize> = spots.map(|spot| spot.system).collect();
    usual && (1..SHORT_PART).contains(&last) && systems.len() <= NEXT_TO_NOTHING
}

/// A part alone, with its survey and study.
pub(crate) struct Studied {
    pub alone: Opened,
    pub shown: Shown,
}

impl Studied {
    /// All marks that a legend asks for, ornaments played by these rules.
    fn marks_with(
        &self,
        legend: &Legend,
        ornaments: Option<&OrnamentsAsked>,
    ) -> Result<Vec<PencilMark>, DeskError> {
        let mut marks = self.marks(legend)?;
        if legend.rule(Matter::Ornaments).wanted {
            let ctx = context(&self.alone.piece, &self.alone)?;
            let usual = OrnamentsAsked::default();
            let rules = ornaments.unwrap_or(&usual);
            let played = crate::ornaments::played(&self.alone.piece, &ctx, &self.shown.survey, rules)?;
            marks.extend(pencil::written_out(&ctx, &played, legend));
            marks.sort_by_key(|mark| mark.from.place);
        }
        Ok(marks)
    }

    /// All marks that a legend asks for.
    pub(super) fn marks(&self, legend: &Legend) -> Result<Vec<PencilMark>, DeskError> {
        let ctx = context(&self.alone.piece, &self.alone)?;
        Ok(pencil::marks(
            &ctx,
            &self.shown.survey,
            self.shown.study.as_ref(),
            legend,
        ))
    }

    /// What was found on the way.
    pub(crate) fn findings(&self) -> Vec<Finding> {
        self.shown.findings.clone()
    }
}

/// Takes the part asked for out of its score and studies it; for a usual player of its instrument if none is named.
pub(crate) fn study_alone(opened: &Opened, asked: &CopyAsked) -> Result<Studied, DeskError> {
    studied(alone(opened, asked)?, asked)
}

fn studied(alone: Opened, asked: &CopyAsked) -> Result<Studied, DeskError> {
    let shown = shown(&alone, asked)?;
    Ok(Studied { alone, shown })
}

fn shown(alone: &Opened, asked: &CopyAsked) -> Result<Shown, DeskError> {
    survey_part(alone, 0, None, &Question::ALL, &for_anybody(&asked.asked))
}

fn context<'a>(piece: &'a Piece, opened: &Opened) -> Result<Context<'a>, DeskError> {
    Context::new(piece, 0).ok_or_else(|| DeskError::NoParts {
        path: opened.path.clone(),
    })
}

/// The part alone, written for whom it is wanted.
fn alone(opened: &Opened, asked: &CopyAsked) -> Result<Opened, DeskError> {
    alone_for(opened, asked.asked.part.as_deref(), &asked.written_for)
}

/// One part of a score alone, written for whom it is wanted.
///
/// # Errors
/// If there is no such part or instrument.
pub(crate) fn alone_for(opened: &Opened, part: Option<&str>, written_for: &For) -> Result<Opened, DeskError> {
    let choice = choose_part(opened, part)?;
    let none = || DeskError::NoParts {
        path: opened.path.clone(),
    };
    let piece = part_of(&opened.piece, choice.index).ok_or_else(none)?;
    let name = crate::survey_piece::part_name(&opened.piece, choice.index);
    let concerns = |finding: &&Finding| finding.part.as_ref().is_none_or(|part| *part == name);
    let mut findings: Vec<Finding> = choice.finding.into_iter().collect();
    findings.extend(opened.findings.iter().filter(concerns).cloned());
    findings.extend(crate::part_of::concert::finding(&opened.piece, choice.index));
    let reader = match written_for {
        For::Itself => None,
        For::Concert => Some(engrave::Reader::Concert),
        For::Instrument(name) => Some(engrave::Reader::Instrument(crate::player::instrument(name)?)),
    };
    let piece = match reader {
        Some(reader) => {
            let written = engrave::rewritten(&piece, reader);
            findings.extend(written.findings);
            written.piece
        }
        None => piece,
    };
    Ok(Opened {
        path: opened.path.clone(),
        tune: opened.tune.clone(),
        piece,
        findings,
    })
}

const LEGEND_FILE: small_file::Kind = small_file::Kind {
    missing: |path| DeskError::NoLegend { path },
    name: "legend",
    example: "legend.toml",
    most_bytes: 1_000_000,
};

pub(crate) fn legend(asked: &CopyAsked) -> Result<Legend, DeskError> {
    let Some(path) = &asked.legend else {
        return Ok(Legend::default());
    };
    let text = small_file::read(path, &LEGEND_FILE)?;
    Legend::parse(&text).map_err(|error| DeskError::Profile {
        path: path.clone(),
        line: error.line,
        what: error.what,
        advice: error.advice,
    })
}

/// What is pencilled needs a player: breaths, fingerings, spots. If none is named, a usual one of the part's instrument.
fn for_anybody(asked: &Asked) -> Asked {
    let mut asked = asked.clone();
    asked.study.for_anybody = true;
    asked
}

/// The look as far as it is said beforehand: edition, paper and sizes.
fn sized(asked: &CopyAsked) -> Look {
    let mut look = Look::of(asked.edition);
    look.paper = asked.paper;
    look.landscape = asked.landscape.unwrap_or(look.landscape);
    look.staff_height_mm = asked.staff_mm.unwrap_or(look.staff_height_mm);
    look.double_sided = asked.double_sided;
    // A clean copy stays clean but for what somebody else put there.
    look.hand |= !asked.added.is_empty();
    look
}

fn look(asked: &CopyAsked, ctx: &Context, shown: &Shown, legend: &Legend) -> Look {
    let mut look = sized(asked);
    look.most_marks_per_page = asked.most_marks.or(most_per_page(legend));
    look.pencils = legend.pencils.clone();
    look.legend.clone_from(&asked.foot);
    if asked.edition != Edition::Clean {
        look.play_order = pencil::play_order(ctx, &shown.survey).unwrap_or_default();
    }
    look.quarters_per_minute = quarters_per_minute(shown);
    if let Some(study) = &shown.study {
        look.phrase_starts = study.phrases.phrases.iter().map(|phrase| phrase.from).collect();
    }
    look.strip = strip(shown);
    look
}

fn most_per_page(legend: &Legend) -> Option<u32> {
    match legend.most {
        Most::At(most) => Some(most),
        Most::All => None,
    }
}

/// The bars of the strip: the player's trouble spots in the order of the page.
fn strip(shown: &Shown) -> Vec<StripItem> {
    let mut items: Vec<StripItem> = match &shown.study {
        Some(study) => study
            .spots
            .iter()
            .map(|spot| StripItem {
                from: spot.from,
                to: spot.to,
                heading: None,
                reason: said(&spot.reasons, spot.suggestion),
            })
            .collect(),
        None => shown
            .survey
            .look_first
            .iter()
            .map(|look| {
                let reasons: Vec<String> = look.reasons.iter().map(|reason| reason.says.clone()).collect();
                StripItem {
                    from: look.from,
                    to: look.to,
                    heading: None,
                    reason: said(&reasons, look.suggestion),
                }
            })
            .collect(),
    };
    items.sort_by_key(|item| (item.from, item.to));
    items
}

fn said(reasons: &[String], suggestion: &str) -> String {
    let mut words = reasons.iter().take(2).cloned().collect::<Vec<_>>().join("; ");
    if !suggestion.is_empty() {
        words.push_str(" — ");
        words.push_str(suggestion);
    }
    words
}

/// The tempo that the page is played at, where one is marked.
fn quarters_per_minute(shown: &Shown) -> Option<f64> {
    let goal = shown.study.as_ref()?.goal.as_ref()?;
    Some(goal.bpm * goal.beat.quarters().to_f64())
}

pub(crate) fn title(piece: &Piece, opened: &Opened) -> String {
    let name = || {
        opened
            .path
            .file_stem()
            .map(|name| name.to_string_lossy().into_owned())
            .unwrap_or_default()
    };
    piece.credits.name().unwrap_or_else(name)
}

/// The composers, as the file names them.
fn author(piece: &Piece) -> String {
    let composers = piece
        .credits
        .people
        .iter()
        .filter(|(role, _)| role.eq_ignore_ascii_case("composer"));
    composers
        .map(|(_, name)| name.as_str())
        .collect::<Vec<_>>()
        .join(", ")
}
