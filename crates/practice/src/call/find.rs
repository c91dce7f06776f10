//! Where in a piece does a cut begin and end? Words found on the page, with what had to be assumed said beside.

use super::words::{By, Point, Range, Repeats};
use crate::BarSpan;
use notation::{BarIndex, DirectionKind, Finding, Place, Quarters, Rational, Severity};
use survey::Context;
use survey::metre::BeatGrid;
use survey::phrases::PhrasesAnswer;

/// A cut as found in a piece.
#[derive(Clone, PartialEq, Debug)]
pub struct Found {
    /// Where its first note begins.
    pub from: Place,
    /// Where its last note is over: nothing sounds or counts from here on. May be the end of a bar.
    pub until: Place,
    /// The bars it touches.
    pub bars: BarSpan,
    /// Whether repeats inside are taken.
    pub repeats: bool,
    /// From where through where, in printed numbers and beats.
    pub says: String,
    /// What was assumed, and what the teacher should look at.
    pub findings: Vec<Finding>,
}

/// What a cut is looked for in.
#[derive(Clone, Copy, Debug)]
pub struct Page<'a> {
    /// The part.
    pub ctx: &'a Context<'a>,
    /// The beats of each bar.
    pub grids: &'a [BeatGrid],
    /// Phrases, by which a pickup is told.
    pub phrases: &'a PhrasesAnswer,
}

/// Finds a cut.
///
/// # Errors
/// A finding that says which words lead nowhere in this piece.
pub fn find(page: &Page, range: &Range) -> Result<Found, Box<Finding>> {
    let piece = page.ctx.piece;
    let mut findings = Vec::new();
    if piece.bars.is_empty() {
        return Err(wrong(
            "the piece has no bars",
            "look whether this is the file that the list means",
        ));
    }
    let first = page.bar(&range.from, &mut findings)?;
    let last = page.bar(&range.through, &mut findings)?;
    let from = if range.from.pickup {
        page.pickup(first, range.from.beat, &mut findings)?
    } else {
        let at = page.beat(first, range.from.beat, &mut findings)?;
        page.begun(at, &mut findings)
    };
    let until = match (range.up_to, range.through.beat) {
        (true, beat) if range.through.pickup => page.pickup(last, beat, &mut findings)?,
        (true, beat) => page.beat(last, beat, &mut findings)?,
        (false, Some(_)) => page.note_end(page.beat(last, range.through.beat, &mut findings)?),
        (false, None) if range.through.pickup => Place::start_of(last),
        (false, None) => page.end_of(last),
    };
    if until <= from {
        return Err(wrong(
            &format!("“{}” ends before it begins", range.said),
            "give the first point first",
        ));
    }
    // An end on a bar line belongs to the bar before it.
    let last_bar = match until.bar.0.checked_sub(1) {
        Some(before) if until.offset.is_zero() => BarIndex(before),
        _ => until.bar,
    };
    let until = if until.offset.is_zero() {
        page.end_of(last_bar)
    } else {
        until
    };
    let has_repeats = piece
        .barlines
        .iter()
        .any(|line| line.repeat.is_some() && line.place.bar >= from.bar && line.place.bar <= last_bar);
    if has_repeats && range.repeats == Repeats::NotTaken {
        findings.push(note(
            "the list doesn't say whether repeats are taken: they are not, and the last ending is played, as is usual at auditions",
            "ask whoever sent the list; write “with repeats” beside the cut if they are",
        ));
    }
    Ok(Found {
        from,
        until,
        bars: BarSpan::new(from.bar, last_bar),
        repeats: range.repeats == Repeats::Taken,
        says: page.in_words(from, until),
        findings,
    })
}

fn wrong(what: &str, advice: &str) -> Box<Finding> {
    Box::new(Finding::new(Severity::Problem, "call", what, advice))
}

fn note(what: &str, advice: &str) -> Finding {
    Finding::new(Severity::Note, "call", what, advice)
}

impl Page<'_> {
    fn end_of(&self, bar: BarIndex) -> Place {
        let length = self
            .ctx
            .piece
            .bars
            .get(bar.get())
            .map_or(Quarters::ZERO, |bar| bar.length);
        Place { bar, offset: length }
    }

    fn last_bar(&self) -> BarIndex {
        BarIndex::from_usize(self.ctx.piece.bars.len().saturating_sub(1))
    }

    /// The bar of a point.
    fn bar(&self, point: &Point, findings: &mut Vec<Finding>) -> Result<BarIndex, Box<Finding>> {
        let (anchor, letter) = self.anchor(point, findings)?;
        let at = i64::from(anchor.0) + i64::from(point.bars);
        let bar = u32::try_from(at)
            .ok()
            .map(BarIndex)
            .filter(|bar| *bar <= self.last_bar());
        let bar = bar.ok_or_else(|| {
            wrong(
                &format!("{} lies outside of the piece", self.point_in_words(point)),
                "look at the number in the list, and whether its edition numbers bars like this file",
            )
        })?;
        if point.counted_after && letter && point.bars > 0 {
            let before = BarIndex(bar.0.saturating_sub(1));
            findings.push(note(
                &format!(
                    "{} is taken as bar {}: the bar of the mark is not counted",
                    self.point_in_words(point),
                    self.label(bar)
                ),
                &format!(
                    "lists differ; if yours counts the bar of the mark as 1, write bar {} instead",
                    self.label(before)
                ),
            ));
        }
        Ok(bar)
    }

    /// The bar that a point is told by, and whether that is a rehearsal mark.
    fn anchor(&self, point: &Point, findings: &mut Vec<Finding>) -> Result<(BarIndex, bool), Box<Finding>> {
        let missing = |what: String, advice: &str| wrong(&what, advice);
        match &point.by {
            By::Beginning => Ok((BarIndex(0), false)),
            By::End => Ok((self.last_bar(), false)),
            By::Bar(label) => self
                .numbered(label, findings)
                .map(|bar| (bar, false))
                .ok_or_else(|| {
                    missing(
                        format!("there is no bar {label}"),
                        "look whether the list's edition numbers bars like this file",
                    )
                }),
            By::Letter(label) => self.marked(label).map(|bar| (bar, true)).ok_or_else(|| {
                let marks = self.marks();
                missing(
                    format!("there is no rehearsal mark {label}"),
                    &if marks.is_empty() {
                        "this file has no rehearsal marks: give bar numbers".to_owned()
                    } else {
                        format!("there are {}", marks.join(", "))
                    },
                )
            }),
            By::Number(label) => {
                let (bar, mark) = (self.numbered(label, findings), self.marked(label));
                match (bar, mark) {
                    // `4 after 12` is how rehearsal numbers are spoken of.
                    (Some(bar), Some(mark)) if point.bars != 0 => {
                        findings.push(note(
                            &format!("{label} is both a rehearsal mark and a bar number: the mark is taken"),
                            &format!(
                                "write “bar {label}” if the bar is meant (it is bar {})",
                                self.label(bar)
                            ),
                        ));
                        Ok((mark, true))
                    }
                    (Some(bar), Some(_)) => {
                        findings.push(note(
                            &format!("{label} is both a bar number and a rehearsal mark: the bar is taken"),
                            &format!("write “rehearsal {label}” if the mark is meant"),
                        ));
                        Ok((bar, false))
                    }
                    (Some(bar), None) => Ok((bar, false)),
                    (None, Some(mark)) => Ok((mark, true)),
                    (None, None) => Err(missing(
                        format!("there is no bar {label}"),
                        "look whether the list's edition numbers bars like this file",
                    )),
                }
            }
            By::Segno => self
                .sign(&DirectionKind::Segno)
                .map(|bar| (bar, false))
                .ok_or_else(|| missing("there is no segno".to_owned(), "give a bar number instead")),
            By::Coda => self
                .sign(&DirectionKind::Coda)
                .map(|bar| (bar, false))
                .ok_or_else(|| missing("there is no coda".to_owned(), "give a bar number instead")),
        }
    }

    fn label(&self, bar: BarIndex) -> String {
        survey::road_map::counted_label(self.ctx.piece, bar)
    }

    /// The first bar with a printed number; a finding if there are several.
    fn numbered(&self, label: &str, findings: &mut Vec<Finding>) -> Option<BarIndex> {
        let same = |bar: &BarIndex| self.ctx.piece.label(*bar).eq_ignore_ascii_case(label);
        let mut bars = (0..self.ctx.piece.bars.len())
            .map(BarIndex::from_usize)
            .filter(same);
        let first = bars.next()?;
        if bars.next().is_some() {
            findings.push(note(
                &format!("several bars are numbered {label}: the first is taken"),
                "take a file of the one movement that is meant",
            ));
        }
        Some(first)
    }

    fn marked(&self, label: &str) -> Option<BarIndex> {
        let same = |text: &str| text.trim().eq_ignore_ascii_case(label);
        self.all_marks().find(|(text, _)| same(text)).map(|(_, bar)| bar)
    }

    fn all_marks(&self) -> impl Iterator<Item = (&str, BarIndex)> {
        self.ctx
            .part
            .directions
            .iter()
            .filter_map(|direction| match &direction.kind {
                DirectionKind::Rehearsal(text) => Some((text.as_str(), direction.place.bar)),
                _ => None,
            })
    }

    fn marks(&self) -> Vec<String> {
        self.all_marks()
            .map(|(text, _)| text.trim().to_owned())
            .take(40)
            .collect()
    }

    /// The last of the signs: the one that stands where the music goes on, not the one that sends there.
    fn sign(&self, kind: &DirectionKind) -> Option<BarIndex> {
        let places = self
            .ctx
            .part
            .directions
            .iter()
            .filter(|direction| direction.kind == *kind);
        let bars = places.map(|direction| direction.place.bar);
        let on_lines = self.ctx.piece.barlines.iter().filter(|line| match kind {
            DirectionKind::Segno => line.segno.is_some(),
            _ => line.coda.is_some(),
        });
        let all: Vec<BarIndex> = bars.chain(on_lines.map(|line| line.place.bar)).collect();
        match kind {
            DirectionKind::Segno => all.into_iter().min(),
            _ => all.into_iter().max(),
        }
    }

    fn point_in_words(&self, point: &Point) -> String {
        let what = match &point.by {
            By::Beginning => "the beginning".to_owned(),
            By::End => "the end".to_owned(),
            By::Bar(label) => format!("bar {label}"),
            By::Letter(label) | By::Number(label) => label.clone(),
            By::Segno => "the segno".to_owned(),
            By::Coda => "the coda".to_owned(),
        };
        match point.bars {
            0 => what,
            bars if bars > 0 => format!("{bars} after {what}"),
            bars => format!("{} before {what}", bars.unsigned_abs()),
        }
    }

    /// A beat of a bar, as felt; where there are fewer felt beats, as the signature counts.
    fn beat(
        &self,
        bar: BarIndex,
        beat: Option<Rational>,
        findings: &mut Vec<Finding>,
    ) -> Result<Place, Box<Finding>> {
        let Some(beat) = beat else {
            return Ok(Place::start_of(bar));
        };
        let length = self.end_of(bar).offset;
        let metre = self
            .ctx
            .part
            .metre_at(Place::start_of(bar))
            .and_then(notation::Metre::simple);
        let printed = metre.map(|(count, kind)| {
            (
                Rational::whole(i64::from(count)),
                Quarters::new(4, i64::from(kind.max(1))),
            )
        });
        let grid = self.grids.get(bar.get());
        let felt_count = grid.map_or(0, |grid| grid.felt.len());
        let lead = grid.map_or(Quarters::ZERO, |grid| grid.lead);
        let felt = |beat: Rational| {
            let grid = grid?;
            let nth = usize::try_from(beat.floor().checked_sub(1)?).ok()?;
            let felt = grid.felt.get(nth)?;
            Some(felt.start + felt.length * (beat - Rational::whole(beat.floor())) - lead)
        };
        let by_signature = |beat: Rational| printed.map(|(_, value)| value * (beat - Rational::ONE) - lead);
        let many = printed.map_or(0, |(count, _)| usize::try_from(count.num()).unwrap_or(0));
        let offset = match felt(beat) {
            Some(offset) => {
                if many > felt_count && beat > Rational::ONE {
                    let (count, _) = printed.unwrap_or((Rational::ZERO, Quarters::ZERO));
                    findings.push(note(
                        &format!("beat {beat} of bar {} is counted in {felt_count}, as the bar is felt", self.label(bar)),
                        &format!("if the list counts in {count}, give the felt beat with its fraction, for example 1.67"),
                    ));
                }
                Some(offset)
            }
            None => by_signature(beat),
        };
        let inside = offset.filter(|offset| *offset >= Quarters::ZERO && *offset < length);
        inside.map(|offset| Place { bar, offset }).ok_or_else(|| {
            wrong(
                &format!("bar {} has no beat {beat}", self.label(bar)),
                "look at the beat in the list, and whether its edition numbers bars like this file",
            )
        })
    }

    /// Where the first note or rest at or after a place inside a bar begins: half a note is never begun with.
    fn begun(&self, at: Place, findings: &mut Vec<Finding>) -> Place {
        let events = self
            .ctx
            .part
            .events
            .iter()
            .filter(|event| !event.is_grace() && !event.cue);
        let next = events.map(|event| event.place).find(|place| *place >= at);
        match next {
            Some(next) if !at.offset.is_zero() && next > at => {
                findings.push(note(
                    &format!(
                        "no note begins on {}: the cut begins with the next, on {}",
                        self.place_in_words(at),
                        self.place_in_words(next)
                    ),
                    "look at the beat in the list",
                ));
                next
            }
            _ => at,
        }
    }

    /// Where the notes begin that lead into a bar (or into a beat of it).
    fn pickup(
        &self,
        bar: BarIndex,
        beat: Option<Rational>,
        findings: &mut Vec<Finding>,
    ) -> Result<Place, Box<Finding>> {
        let target = self.beat(bar, beat, findings)?;
        let before = self
            .ctx
            .line
            .iter()
            .filter_map(|note| Some((self.ctx.event(note)?, note)));
        let before: Vec<_> = before.filter(|(event, _)| event.place < target).collect();
        let none = || {
            wrong(
                &format!("nothing leads into bar {}", self.label(bar)),
                "leave out “pickup to”",
            )
        };
        let (last, _) = before.last().ok_or_else(none)?;
        // Within the bar before, or within the same bar for a beat.
        let earliest = if target.offset.is_zero() {
            Place::start_of(BarIndex(target.bar.0.saturating_sub(1)))
        } else {
            Place::start_of(target.bar)
        };
        if last.place < earliest {
            return Err(none());
        }
        let (place, why) = self.phrase_start(earliest, target).map_or_else(
            || {
                self.after_silence(earliest, target).map_or_else(
                    || {
                        (
                            self.last_beat(earliest, target, last.place),
                            "as the last beat before it, for want of a rest or a new phrase there",
                        )
                    },
                    |place| (place, "after the rest"),
                )
            },
            |place| (place, "where the phrase begins"),
        );
        findings.push(note(
            &format!(
                "the pickup to bar {} is taken from {}, {why}",
                self.label(bar),
                self.place_in_words(place)
            ),
            "if the list means another note, give its bar and beat",
        ));
        Ok(place)
    }

    fn phrase_start(&self, earliest: Place, target: Place) -> Option<Place> {
        let mut starts = self.phrases.phrases.iter().map(|phrase| phrase.from);
        starts.rfind(|from| *from > earliest && *from < target)
    }

    /// The first note after the last rest before the target.
    fn after_silence(&self, earliest: Place, target: Place) -> Option<Place> {
        let events = self
            .ctx
            .part
            .events
            .iter()
            .filter(|event| !event.is_grace() && !event.cue);
        let inside: Vec<_> = events
            .filter(|event| event.place >= earliest && event.place < target)
            .collect();
        let rest = inside.iter().rposition(|event| !event.is_note())?;
        inside.get(rest + 1).map(|event| event.place)
    }

    fn last_beat(&self, earliest: Place, target: Place, last: Place) -> Place {
        let end = if target.offset.is_zero() {
            self.end_of(earliest.bar).offset
        } else {
            target.offset
        };
        let grid = self.grids.get(earliest.bar.get());
        let mut starts = grid
            .into_iter()
            .flat_map(|grid| grid.felt.iter().map(move |beat| beat.start - grid.lead));
        let beat = starts.rfind(|start| *start >= Quarters::ZERO && *start < end);
        // The first note of that beat, or the last note if it began before.
        let from = Place {
            bar: earliest.bar,
            offset: beat.unwrap_or_default(),
        };
        let notes = self.ctx.line.iter().filter_map(|note| self.ctx.event(note));
        let place = notes
            .map(|event| event.place)
            .find(|place| *place >= from && *place < target);
        place.unwrap_or(last)
    }

    /// Where the note is over that sounds at a place; the place itself if none does.
    fn note_end(&self, at: Place) -> Place {
        let ends = self
            .ctx
            .part
            .events
            .iter()
            .filter(|event| !event.is_grace() && event.place.bar == at.bar);
        let sounding = ends.filter(|event| {
            event.place.offset <= at.offset && event.place.offset + event.duration > at.offset
        });
        let end = sounding.map(|event| event.place.offset + event.duration).max();
        let offset = end.unwrap_or(at.offset).min(self.end_of(at.bar).offset);
        if offset > at.offset {
            Place { bar: at.bar, offset }
        } else {
            self.end_of(at.bar)
        }
    }

    fn place_in_words(&self, place: Place) -> String {
        let beat = self
            .grids
            .get(place.bar.get())
            .map_or(1.0, |grid| grid.said_beat(place.offset));
        let said = format!("{beat:.2}");
        let said = said.trim_end_matches('0').trim_end_matches('.');
        format!("beat {said} of bar {}", self.label(place.bar))
    }

    fn in_words(&self, from: Place, until: Place) -> String {
        let begins = if from.offset.is_zero() {
            format!("bar {}", self.label(from.bar))
        } else {
            self.place_in_words(from)
        };
        let length = self.end_of(until.bar).offset;
        let ends = if until.offset >= length {
            format!("the end of bar {}", self.label(until.bar))
        } else {
            let notes = self
                .ctx
                .part
                .events
                .iter()
                .filter(|event| event.is_note() && !event.is_grace());
            let last = notes
                .map(|event| event.place)
                .filter(|place| *place < until)
                .max();
            format!("the note on {}", self.place_in_words(last.unwrap_or(until)))
        };
        format!("{begins} through {ends}")
    }
}
