//! What does a reader make of each head? Signature, accidentals of the bar, ties: one pass over the page.

use crate::Context;
use crate::walk::InForce;
use notation::{Alter, BarIndex, Clef, Event, Finding, Head, Part, Pitch, Severity};
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
    let mut live: BTreeMap<Slot, Live> = BTreeMap::new();
    let mut split: BTreeMap<Slot, Live> = BTreeMap::new();
    let mut bar = BarIndex::default();
    let mut key_of_staff = vec![None; usize::from(part.staves).max(1)];
    for event in &part.events {
        if event.place.bar != bar {
            let goes_on = event.place.bar == bar.next() && is_second_half(ctx, event.place.bar);
            split = if goes_on {
                std::mem::take(&mut live)
            } else {
                BTreeMap::new()
            };
            live.clear();
            bar = event.place.bar;
        }
        walk.advance(event.place);
        for head in event.heads() {
            let Some(pitch) = head.pitch() else { continue };
            let key = walk.key(head.staff);
            if let Some(before) = key_of_staff.get_mut(usize::from(head.staff).saturating_sub(1))
                && *before != key
            {
                // A change of key ends what was in force on its staff.
                *before = key;
                live.retain(|(staff, ..), _| *staff != head.staff);
                split.clear();
            }
            let slot = (head.staff, pitch.diatonic(), event.cue);
            let signature = key.map_or(Alter::ZERO, |key| key.alter_of(pitch.step));
            let note = judge(
                event,
                head,
                pitch,
                slot,
                signature,
                &live,
                &split,
                walk.clef(head.staff),
                worked_out,
            );
            if note.printed || note.how == How::Unmarked {
                live.insert(
                    slot,
                    Live {
                        alter: pitch.alter,
                        clef: note.clef,
                    },
                );
            }
            page.notes.push(note);
        }
    }
    page.findings = findings(ctx, &page);
    page
}

#[expect(
    clippy::too_many_arguments,
    reason = "everything a reader has before the eyes at one head"
)]
fn judge<'a>(
    event: &'a Event,
    head: &'a Head,
    pitch: Pitch,
    slot: Slot,
    signature: Alter,
    live: &BTreeMap<Slot, Live>,
    split: &BTreeMap<Slot, Live>,
    clef: Option<Clef>,
    worked_out: bool,
) -> Note<'a> {
    let tied = head.tie_stop;
    let own = live.get(&slot).copied();
    // The second half of a split bar: what held in the first half is taken to hold on where the source sounds it so.
    let before = split
        .get(&slot)
        .copied()
        .filter(|l| l.alter == pitch.alter && pitch.alter != signature);
    let in_force = own.or(before);
    let by_rule = in_force.map_or(signature, |l| l.alter);
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
        live_clef: in_force.and_then(|l| l.clef),
        clef,
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
