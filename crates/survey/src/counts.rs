//! How many of everything stand on the page? Plain counts by the standard's names, for checking against others.
//!
//! Everything is counted as written: repeats not unfolded, hidden, cue and grace notes included (the hidden ones are
//! also counted apart). Marks go by their element names in MusicXML 4.0. The definitions are those of
//! `reference/COUNTS.md`, recovered from music21 10.5.1 and from the bare XML.

use crate::Context;
use crate::walk::InForce;
use notation::{
    Alter, ArticulationKind, Clef, ClefSign, DirectionKind, Event, EventKind, Head, OrnamentKind, Part,
    Pitch, SpanKind,
};
use std::collections::BTreeMap;

/// The counts of a part, and of each of its staves where it has several.
#[derive(Clone, PartialEq, Debug, Default)]
pub struct PartCounts {
    /// The whole part.
    pub whole: Counts,
    /// By staff from 1, where there are several. Slurs, hairpins and lines belong to the part and are not here.
    pub staves: Vec<(u8, Counts)>,
}

/// Marks by name.
pub type Marks = BTreeMap<String, usize>;

/// Counts of a part or staff.
#[derive(Clone, PartialEq, Debug, Default)]
pub struct Counts {
    /// Notes and chords, a chord once; unpitched, grace, cue and hidden ones too.
    pub events: usize,
    /// Pitched heads.
    pub heads: usize,
    /// Events with two heads or more.
    pub chords: usize,
    /// Grace events.
    pub grace: usize,
    /// Notes, chords and rests in a tuplet.
    pub tuplet_members: usize,
    /// Events in which a tie starts.
    pub ties: usize,
    /// Heads altered from the signature.
    pub altered: usize,
    /// Heads with a printed accidental.
    pub shown_acc: usize,
    /// Heads altered by two semitones or more.
    pub double_acc: usize,
    /// Rests.
    pub rests: usize,
    /// Slurs that end.
    pub slurs: usize,
    /// Ornaments.
    pub ornaments: Marks,
    /// Articulation marks.
    pub articulations: Marks,
    /// Technical marks.
    pub technical: Marks,
    /// Dynamic marks of directions, by element; letters that the standard has no element for as `other-dynamics`.
    pub dynamics: Marks,
    /// Dynamic marks that the source attaches to notes (the library leaves these out).
    pub note_dynamics: Marks,
    /// Hairpins, `crescendo` and `diminuendo`.
    pub hairpins: Marks,
    /// Fermatas over notes; one for a chord.
    pub fermatas: usize,
    /// Fermatas on rests and bar lines.
    pub fermatas_elsewhere: usize,
    /// Events with an arpeggio sign.
    pub arpeggios: usize,
    /// Heads that the source says are not printed.
    pub hidden_heads: usize,
    /// Rests that the source says are not printed.
    pub hidden_rests: usize,
    /// Heads of cue notes.
    pub cue_heads: usize,
    /// The lowest written pitch, hidden and cue notes included; the first of equals.
    pub lowest: Option<Pitch>,
    /// The highest written pitch.
    pub highest: Option<Pitch>,
    /// Every clef of the source in order.
    pub clefs: Vec<Clef>,
}

/// Counts a part.
#[must_use]
pub fn count(ctx: &Context) -> PartCounts {
    let part = ctx.part;
    let mut counts = PartCounts::default();
    if part.staves > 1 {
        counts.staves = (1..=part.staves)
            .map(|staff| (staff, Counts::default()))
            .collect();
    }
    let mut walk = InForce::new(part);
    for event in &part.events {
        walk.advance(event.place);
        let signature = |head: &Head, pitch: Pitch| {
            walk.key(head.staff)
                .map_or(Alter::ZERO, |key| key.alter_of(pitch.step))
        };
        for_each(&mut counts, event.staff, |c| c.add_event(event));
        counts.whole.ties += usize::from(event.heads().iter().any(|head| head.tie_start));
        for (staff, of_staff) in &mut counts.staves {
            // In a chord over two staves the tie belongs to the staff of its head.
            let tied = |head: &Head| head.tie_start && head.staff == *staff;
            of_staff.ties += usize::from(event.heads().iter().any(tied));
        }
        for head in event.heads() {
            for_each(&mut counts, head.staff, |c| c.add_head(event, head, signature));
        }
    }
    for direction in &part.directions {
        if let DirectionKind::Dynamic(letters) = &direction.kind {
            for_each(&mut counts, direction.staff.unwrap_or(0), |c| {
                add(&mut c.dynamics, dynamics_element(letters))
            });
        }
    }
    for change in &part.clefs {
        for_each(&mut counts, change.staff.unwrap_or(0), |c| {
            c.clefs.push(change.value)
        });
    }
    counts.whole.add_spans(part);
    let of_part = ctx
        .piece
        .barlines
        .iter()
        .filter(|barline| barline.part == ctx.part_index);
    counts.whole.fermatas_elsewhere += of_part.map(|barline| barline.fermatas.len()).sum::<usize>();
    counts
}

/// Does something to the whole and to a staff (0: to every staff).
fn for_each(counts: &mut PartCounts, staff: u8, mut act: impl FnMut(&mut Counts)) {
    act(&mut counts.whole);
    for (number, of_staff) in &mut counts.staves {
        if staff == 0 || *number == staff {
            act(of_staff);
        }
    }
}

fn add(marks: &mut Marks, name: &str) {
    match marks.get_mut(name) {
        Some(count) => *count += 1,
        None => {
            marks.insert(name.to_owned(), 1);
        }
    }
}

impl Counts {
    fn add_event(&mut self, event: &Event) {
        let in_tuplet = event
            .written
            .as_ref()
            .is_some_and(|written| !written.tuplets.is_empty());
        match &event.kind {
            EventKind::Space => return,
            EventKind::Rest { .. } => {
                self.rests += 1;
                self.hidden_rests += usize::from(!event.printed);
                self.tuplet_members += usize::from(in_tuplet);
                self.fermatas_elsewhere += event.fermatas.len();
                return;
            }
            EventKind::Chord(heads) => {
                self.events += 1;
                self.chords += usize::from(heads.len() > 1);
            }
        }
        self.tuplet_members += usize::from(in_tuplet);
        self.grace += usize::from(event.is_grace());
        // A note can carry two (above and below); a chord's are one, however many heads the source hangs it on.
        self.fermatas += event
            .fermatas
            .len()
            .min(if event.heads().len() > 1 { 1 } else { usize::MAX });
        self.arpeggios += usize::from(event.arpeggio.is_some());
        self.add_marks(event);
        for letters in &event.dynamics {
            add(&mut self.note_dynamics, dynamics_element(letters));
        }
    }

    /// On a single note every mark counts; in a chord each name once, but every fingering, string and fret.
    fn add_marks(&mut self, event: &Event) {
        let chord = event.heads().len() > 1;
        let mut seen: Vec<&str> = Vec::new();
        let mut counts = |name| {
            let again = chord && seen.contains(&name);
            seen.push(name);
            !again
        };
        for ornament in &event.ornaments {
            if let Some(name) = ornament_element(&ornament.kind).filter(|name| counts(name)) {
                add(&mut self.ornaments, name);
            }
        }
        for articulation in &event.articulations {
            let name = articulation_element(&articulation.kind);
            if counts(name) {
                add(&mut self.articulations, name);
            }
        }
        let heads = event.heads().iter().flat_map(|head| &head.technical);
        for mark in event.technical.iter().chain(heads) {
            let name = mark.name.as_str();
            // Hammer-ons and pull-offs reach from note to note.
            let spans = matches!(name, "hammer-on" | "pull-off");
            let every = matches!(name, "fingering" | "string" | "fret");
            if !spans && (counts(name) || every) {
                add(&mut self.technical, name);
            }
        }
    }

    fn add_head(&mut self, event: &Event, head: &Head, signature: impl Fn(&Head, Pitch) -> Alter) {
        self.shown_acc += usize::from(head.accidental.is_some());
        let Some(pitch) = head.pitch() else { return };
        self.heads += 1;
        self.altered += usize::from(pitch.alter != signature(head, pitch));
        self.double_acc += usize::from(pitch.alter.abs() >= Alter::whole(2));
        self.hidden_heads += usize::from(!event.printed);
        self.cue_heads += usize::from(event.cue);
        if self.lowest.is_none_or(|low| pitch.semitones() < low.semitones()) {
            self.lowest = Some(pitch);
        }
        if self
            .highest
            .is_none_or(|high| pitch.semitones() > high.semitones())
        {
            self.highest = Some(pitch);
        }
    }

    fn add_spans(&mut self, part: &Part) {
        for span in &part.spans {
            match (&span.kind, span.start, span.end) {
                (SpanKind::Slur, _, Some(_)) => self.slurs += 1,
                (SpanKind::TrillLine, _, Some(_)) => add(&mut self.ornaments, "wavy-line"),
                (SpanKind::TremoloPair { .. }, _, Some(_)) => add(&mut self.ornaments, "tremolo-spanner"),
                (SpanKind::Crescendo { .. }, Some(_), _) => add(&mut self.hairpins, "crescendo"),
                (SpanKind::Diminuendo { .. }, Some(_), _) => add(&mut self.hairpins, "diminuendo"),
                _ => {}
            }
        }
    }
}

/// The ornament's element in MusicXML 4.0; `None` for what is counted as a span.
fn ornament_element(kind: &OrnamentKind) -> Option<&str> {
    Some(match kind {
        OrnamentKind::Trill => "trill-mark",
        OrnamentKind::Turn => "turn",
        OrnamentKind::DelayedTurn => "delayed-turn",
        OrnamentKind::InvertedTurn => "inverted-turn",
        OrnamentKind::DelayedInvertedTurn => "delayed-inverted-turn",
        OrnamentKind::VerticalTurn => "vertical-turn",
        OrnamentKind::InvertedVerticalTurn => "inverted-vertical-turn",
        OrnamentKind::Shake => "shake",
        OrnamentKind::Mordent { .. } => "mordent",
        OrnamentKind::InvertedMordent { .. } => "inverted-mordent",
        OrnamentKind::Schleifer => "schleifer",
        OrnamentKind::Tremolo { between: false, .. } => "tremolo",
        OrnamentKind::Haydn => "haydn",
        // An accidental by itself belongs to a sign, it is none.
        OrnamentKind::Other(name) if name == "accidental-mark" => return None,
        OrnamentKind::Other(name) => name,
        OrnamentKind::WavyLine | OrnamentKind::Tremolo { between: true, .. } => return None,
    })
}

/// The element for dynamic letters. Source: MusicXML 4.0, dynamics.
fn dynamics_element(letters: &str) -> &str {
    match letters {
        "p" | "pp" | "ppp" | "pppp" | "ppppp" | "pppppp" | "f" | "ff" | "fff" | "ffff" | "fffff"
        | "ffffff" | "mp" | "mf" | "sf" | "sfp" | "sfpp" | "fp" | "rf" | "rfz" | "sfz" | "sffz" | "fz"
        | "n" | "pf" | "sfzp" => letters,
        _ => "other-dynamics",
    }
}

/// A clef as the counts name it: sign, line, octaves (`G2`, `G2-1`, `F4+1`, `TAB5`); `percussion` and `none` bare.
#[must_use]
pub fn clef_name(clef: Clef) -> String {
    let octave = match clef.octave_change {
        0 => String::new(),
        n => format!("{n:+}"),
    };
    match clef.sign {
        ClefSign::G | ClefSign::F | ClefSign::C => format!("{:?}{}{octave}", clef.sign, clef.line),
        ClefSign::Tab => format!("TAB{}{octave}", clef.line),
        ClefSign::Percussion => "percussion".to_owned(),
        ClefSign::Jianpu => "jianpu".to_owned(),
        ClefSign::None => "none".to_owned(),
    }
}

/// The articulation's element in MusicXML 4.0.
fn articulation_element(kind: &ArticulationKind) -> &str {
    match kind {
        ArticulationKind::Marcato => "strong-accent",
        ArticulationKind::Portato => "detached-legato",
        ArticulationKind::BreathMark(_) => "breath-mark",
        ArticulationKind::SoftAccent => "soft-accent",
        other => other.mark(),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use notation::sketch;

    fn counts(text: &str) -> Counts {
        let piece = sketch(text).expect("a sketch");
        count(&Context::new(&piece, 0).expect("a part")).whole
    }

    /// Source: the definitions of reference/COUNTS.md, each number by hand.
    #[test]
    fn each_number_by_its_definition() {
        let c = counts(
            "key:1 metre:4/4 @p ( F4/q F#4/q~ F#4/q ) G4+B4/q!staccato | < g:A4/e C5/e:3 r/e:3 C##5/e:3 . @f r/q \
             D5/q!trill E5/q!marcato,accent |",
        );
        assert_eq!((c.events, c.heads, c.chords, c.grace), (9, 10, 1, 1));
        assert_eq!((c.tuplet_members, c.ties, c.rests, c.slurs), (3, 1, 2, 1));
        // F natural against the signature's sharp, C double sharp; the tied F sharps are the signature's.
        assert_eq!((c.altered, c.shown_acc, c.double_acc), (2, 3, 1));
        assert_eq!(c.ornaments, Marks::from([("trill-mark".to_owned(), 1)]));
        assert_eq!(c.articulations.get("strong-accent"), Some(&1));
        assert_eq!(
            c.dynamics,
            Marks::from([("f".to_owned(), 1), ("p".to_owned(), 1)])
        );
        assert_eq!(c.hairpins, Marks::from([("crescendo".to_owned(), 1)]));
        assert_eq!(c.lowest.expect("a note").to_string(), "F4");
        assert_eq!(c.highest.expect("a note").to_string(), "E5");
    }
}
