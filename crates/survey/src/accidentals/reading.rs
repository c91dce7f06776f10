//! What does a reader make of each head? Signature, accidentals of the bar, ties: one pass over the page.

use crate::Context;
use crate::walk::InForce;
use notation::{Alter, BarIndex, Clef, Event, Finding, Head, Part, Pitch, Place, Severity};
use std::collections::BTreeMap;

/// How the reader knows the alteration of a note.
#[derive(Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord, Debug)]
pub enum How {
    /// By the accidental printed before it.
    Printed,
    /// By an accidental earlier in the bar.
    Bar,
    /// By the tie from the note before.
    Tie,
    /// By the signature.
    Signature,
    /// Not at all: the source sounds it so, but nothing on the page says so.
    Unmarked,
}

impl How {
    /// The word used in JSON and on screen.
    #[must_use]
    pub const fn word(self) -> &'static str {
        match self {
            Self::Printed => "printed",
            Self::Bar => "bar",
            Self::Tie => "tie",
            Self::Signature => "signature",
            Self::Unmarked => "unmarked",
        }
    }
}

/// A place on a staff where accidentals act: staff, letter with octave, own notes and cues apart.
pub(super) type Slot = (u8, i32, bool);

/// One pitched head as it is read.
#[derive(Clone, Copy)]
pub(super) struct Note<'a> {
    pub(super) event: &'a Event,
    pub(super) head: &'a Head,
    pub(super) pitch: Pitch,
    pub(super) slot: Slot,
    /// What the signature makes of its letter.
    pub(super) signature: Alter,
    /// What a reader would read here without a sign at this note.
    pub(super) implied: Alter,
    /// The clef where the accidental in force was printed, if one is.
    pub(super) live_clef: Option<Clef>,
    pub(super) clef: Option<Clef>,
    pub(super) tied: bool,
    pub(super) printed: bool,
    pub(super) how: How,
}

impl Note<'_> {
    /// Altered from the signature.
    pub(super) fn altered(&self) -> bool {
        self.pitch.alter != self.signature
    }

    /// A sign is printed though the reader would have read the note rightly without.
    pub(super) fn says_nothing_new(&self) -> bool {
        self.printed && self.implied == self.pitch.alter
    }

    /// The player's own printed note.
    pub(super) fn own(&self) -> bool {
        !self.event.cue && self.event.printed
    }

    pub(super) fn bar(&self) -> BarIndex {
        self.event.place.bar
    }
}

/// Everything read, with what contradicts itself.
pub(super) struct Page<'a> {
    pub(super) notes: Vec<Note<'a>>,
    /// The source prints no accidental at all; signs were worked out by the rules.
    pub(super) worked_out: bool,
    pub(super) findings: Vec<Finding>,
}

/// An accidental in force.
#[derive(Clone, Copy)]
struct Live {
    alter: Alter,
    clef: Option<Clef>,
}

/// The accidentals in force in a bar, as a reader keeps them in mind.
#[derive(Default)]
struct InBar {
    /// Printed earlier in the bar.
    live: BTreeMap<Slot, Live>,
    /// From the first half of a bar that the source splits in two.
    split: BTreeMap<Slot, Live>,
    /// Printed in another voice at this very moment.
    together: BTreeMap<Slot, Live>,
}

impl InBar {
    /// What holds at a slot. What stands in a first half or beside the note is taken to hold where the source sounds
    /// it so: editions differ, and the player sees the sign.
    fn at(&self, slot: Slot, pitch: Pitch, signature: Alter, has_sign: bool) -> Option<Live> {
        let seen =
            |signs: &BTreeMap<Slot, Live>| signs.get(&slot).copied().filter(|live| live.alter == pitch.alter);
        self.live
            .get(&slot)
            .copied()
            .filter(|live| live.alter == pitch.alter)
            .or_else(|| seen(&self.together).filter(|_| !has_sign))
            .or_else(|| seen(&self.split).filter(|_| pitch.alter != signature))
            .or_else(|| self.live.get(&slot).copied())
    }

    fn next_bar(&mut self, goes_on: bool) {
        self.split = if goes_on {
            std::mem::take(&mut self.live)
        } else {
            BTreeMap::new()
        };
        self.live.clear();
    }

    /// A change of key ends what was in force on its staff.
    fn new_key(&mut self, staff: u8) {
        self.live.retain(|(of, ..), _| *of != staff);
        self.split.retain(|(of, ..), _| *of != staff);
    }
}

/// Reads a part head by head.
pub(super) fn read<'a>(ctx: &Context<'a>) -> Page<'a> {
    let part = ctx.part;
    let worked_out = prints_none(part);
    let mut page = Page {
        notes: Vec::with_capacity(part.events.len()),
        worked_out,
        findings: Vec::new(),
    };
    let mut walk = InForce::new(part);
    let mut in_bar = InBar::default();
    let mut place = Place::default();
    let mut key_of_staff = vec![None; usize::from(part.staves).max(1)];
    for (index, event) in part.events.iter().enumerate() {
        if event.place.bar != place.bar {
            in_bar.next_bar(event.place.bar == place.bar.next() && is_second_half(ctx, event.place.bar));
        }
        if event.place != place || index == 0 {
            in_bar.together = if part.voices.len() > 1 {
                together(&part.events[index..])
            } else {
                BTreeMap::new()
            };
        }
        place = event.place;
        walk.advance(place);
        for head in event.heads() {
            let Some(pitch) = head.pitch() else { continue };
            let key = walk.key(head.staff);
            if let Some(before) = key_of_staff.get_mut(usize::from(head.staff).saturating_sub(1))
                && *before != key
            {
                *before = key;
                in_bar.new_key(head.staff);
            }
            let slot = (head.staff, pitch.diatonic(), event.cue);
            let signature = key.map_or(Alter::ZERO, |key| key.alter_of(pitch.step));
            let in_force = in_bar.at(slot, pitch, signature, head.accidental.is_some());
            let note = judge(event, head, pitch, slot, signature, in_force, worked_out);
            let note = Note {
                clef: walk.clef(head.staff),
                ..note
            };
            if note.printed || note.how == How::Unmarked {
                let live = Live {
                    alter: pitch.alter,
                    clef: note.clef,
                };
                in_bar.live.insert(slot, live);
            }
            page.notes.push(note);
        }
    }
    page.findings = findings(ctx, &page);
    page
}

/// Signs printed at the place of the first event, in any voice (grace notes come before).
fn together(events: &[Event]) -> BTreeMap<Slot, Live> {
    let Some(first) = events.first() else {
        return BTreeMap::new();
    };
    events
        .iter()
        .take_while(|event| event.place == first.place)
        .filter(|event| !event.is_grace())
        .flat_map(|event| event.heads().iter().map(move |head| (event, head)))
        .filter(|(_, head)| head.accidental.is_some())
        .filter_map(|(event, head)| {
            let pitch = head.pitch()?;
            let live = Live {
                alter: pitch.alter,
                clef: None,
            };
            Some(((head.staff, pitch.diatonic(), event.cue), live))
        })
        .collect()
}

fn judge<'a>(
    event: &'a Event,
    head: &'a Head,
    pitch: Pitch,
    slot: Slot,
    signature: Alter,
    in_force: Option<Live>,
    worked_out: bool,
) -> Note<'a> {
    let tied = head.tie_stop;
    let by_rule = in_force.map_or(signature, |live| live.alter);
    let implied = if tied { pitch.alter } else { by_rule };
    let printed = if worked_out {
        implied != pitch.alter
    } else {
        head.accidental.is_some()
    };
    let how = if printed {
        How::Printed
    } else if tied {
        How::Tie
    } else if implied != pitch.alter {
        How::Unmarked
    } else if in_force.is_some() {
        How::Bar
    } else {
        How::Signature
    };
    Note {
        event,
        head,
        pitch,
        slot,
        signature,
        implied,
        live_clef: in_force.and_then(|live| live.clef),
        clef: None,
        tied,
        printed,
        how,
    }
}

/// True if the source gives no printed accidental anywhere, as programs that only play do.
fn prints_none(part: &Part) -> bool {
    !part
        .events
        .iter()
        .flat_map(Event::heads)
        .any(|head| head.accidental.is_some())
}

/// The second half of a bar that the source splits in two: uncounted, and the two together fill the metre.
fn is_second_half(ctx: &Context, bar: BarIndex) -> bool {
    let bars = &ctx.piece.bars;
    let (Some(this), Some(before)) = (
        bars.get(bar.get()),
        bar.get().checked_sub(1).and_then(|b| bars.get(b)),
    ) else {
        return false;
    };
    this.implicit
        && ctx
            .part
            .metre_at(notation::Place::start_of(bar))
            .and_then(notation::Metre::length)
            .is_some_and(|full| before.length + this.length == full)
}

fn findings(ctx: &Context, page: &Page) -> Vec<Finding> {
    let name = &ctx.part.name;
    let mut findings = Vec::new();
    if page.worked_out && page.notes.iter().any(Note::altered) {
        findings.push(
            Finding::new(
                Severity::Note,
                "accidentals-worked-out",
                "the file gives pitches but prints no accidental anywhere",
                "printed and carried accidentals were worked out by the usual rules",
            )
            .in_part(name),
        );
        return findings;
    }
    for (index, note) in page.notes.iter().enumerate() {
        let place = note.event.place;
        let at = |finding: Finding| {
            finding
                .in_part(name)
                .at_bar(place.bar, ctx.label(place.bar))
                .at_offset(place.offset)
                .about(note.event.id)
        };
        let sign = note.head.accidental.as_ref();
        if let Some(sign) = sign
            && let Some(alter) = sign.alter
            && alter != note.pitch.alter
        {
            findings.push(at(Finding::new(
                Severity::Problem,
                "accidental-contradicts-pitch",
                format!(
                    "the sign printed before the note is a {}, but the file sounds {}",
                    sign.sign.replace('-', " "),
                    sounded(note.pitch)
                ),
                "compare with another edition which is meant",
            )));
        } else if note.how == How::Unmarked {
            let after_tie = was_tied_over(page, index);
            let (what, advice) = if after_tie {
                (
                    format!(
                        "nothing is printed before {} after a tie over the bar line, where the accidental no longer holds",
                        sounded(note.pitch)
                    ),
                    "ask which is meant: by the rule the note goes back to the signature",
                )
            } else {
                (
                    format!(
                        "the file sounds {}, but by what is printed a reader plays {}",
                        sounded(note.pitch),
                        sounded(Pitch {
                            alter: note.implied,
                            ..note.pitch
                        })
                    ),
                    "compare with another edition which is meant",
                )
            };
            findings.push(at(Finding::new(
                Severity::Caution,
                "accidental-missing",
                what,
                advice,
            )));
        }
    }
    findings
}

/// `F♯4`, `F natural 4` said as `F♮4`.
fn sounded(pitch: Pitch) -> String {
    if pitch.alter.is_zero() {
        format!("{}♮{}", pitch.step.letter(), pitch.octave)
    } else {
        pitch.sign()
    }
}

/// True if the same staff position was tied into this bar earlier with this note's alteration.
fn was_tied_over(page: &Page, index: usize) -> bool {
    let Some(note) = page.notes.get(index) else {
        return false;
    };
    page.notes[..index]
        .iter()
        .rev()
        .take_while(|before| before.bar() == note.bar())
        .any(|before| before.tied && before.slot == note.slot && before.pitch == note.pitch)
}
