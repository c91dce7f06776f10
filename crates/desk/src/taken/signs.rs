//! Which pencil signs say what was heard? Rings, arrows, brackets and words at their places; nothing where it can't be told.

use super::{TakeAsked, Taken};
use crate::CopyAsked;
use engrave::Edition;
use notation::{Anchor, BarIndex, PencilMark, PencilSign, Pitch, Place};
use std::collections::{BTreeMap, BTreeSet};
use take::heard::{Followed, HeardNote, Reached};
use take::{JumpKind, Was};

/// What is less sure than this is not written on the page: judgement, as likely as not.
const SURE: f64 = 0.5;
/// From so many notes of a kind on, a bar gets one sign for all of them.
const SEVERAL: usize = 3;

/// What a sign says, before it is known how often.
#[derive(Clone, PartialEq, Eq, PartialOrd, Ord, Debug)]
struct Said {
    place: Place,
    sign: PencilSign,
    text: String,
    /// The first of a sentence that says the whole.
    reason: String,
}

/// Signs as they gather: the same one at the same place is written once, with the times through the bar that it is of.
#[derive(Default)]
struct Gathered {
    signs: BTreeMap<Said, Where>,
}

/// Where a sign stands beside its place: the element, the times through its bar, how far it reaches.
#[derive(Default)]
struct Where {
    element: Option<notation::Id>,
    passes: BTreeSet<u32>,
    to: Option<Place>,
}

impl Gathered {
    fn add(&mut self, said: Said, element: Option<notation::Id>, pass: u32, to: Option<Place>) {
        let held = self.signs.entry(said).or_insert_with(|| Where {
            element,
            to,
            ..Where::default()
        });
        held.passes.insert(pass);
    }
}

impl Taken {
    /// The clean part with the signs of what was heard, as the take was asked for.
    #[must_use]
    pub fn copy_asked(&self, asked: &TakeAsked) -> CopyAsked {
        CopyAsked {
            asked: asked.asked.clone(),
            edition: Edition::Clean,
            written_for: asked.written_for.clone(),
            added: self.signs(),
            ..CopyAsked::default()
        }
    }

    /// The signs of what was heard, in the order of the page: what was another note, left out or too many, where it went back or
    /// waited, what was out of time, which notes lie sharp or flat, changes of loudness that did not come, and brackets with
    /// their number round the bars worth working on.
    #[must_use]
    pub fn signs(&self) -> Vec<PencilMark> {
        if !self.heard.tells() {
            return Vec::new();
        }
        let mut gathered = Gathered::default();
        self.pitches(&mut gathered);
        self.time(&mut gathered);
        self.jumps(&mut gathered);
        self.loudness(&mut gathered);
        let mut marks: Vec<PencilMark> = gathered
            .signs
            .into_iter()
            .map(|(said, Where { element, passes, to })| {
                let which = self.which_time(said.place.bar, &passes);
                let anchor = Anchor {
                    place: said.place,
                    element,
                };
                let mut mark = PencilMark::new(said.sign, anchor, format!("{}{which}.", said.reason));
                mark.to = to.map(|place| Anchor { place, element: None });
                mark.text = said.text;
                mark
            })
            .collect();
        marks.extend(self.tuning());
        marks.extend(self.worth_working_on());
        marks.sort_by_key(|mark| (mark.from.place, mark.sign));
        for mark in &mut marks {
            "take".clone_into(&mut mark.question);
            "heard".clone_into(&mut mark.matter);
            mark.worth = 1.0;
            mark.kept = true;
        }
        marks
    }

    fn pitches(&self, gathered: &mut Gathered) {
        for ((bar, pass), notes) in self.by_bar() {
            self.wrong_or_extra(gathered, pass, &notes);
            let missing: Vec<&HeardNote> = notes
                .iter()
                .copied()
                .filter(|note| note.was == Was::Missing && !note.again)
                .collect();
            let label = self.label(bar);
            match missing.as_slice() {
                [] => {}
                [first, .., last] if missing.len() >= SEVERAL => gathered.add(
                    Said {
                        place: first.place,
                        sign: PencilSign::Words,
                        text: format!("{} left out", missing.len()),
                        reason: format!("Bar {label}: {} notes were not heard", missing.len()),
                    },
                    Some(first.event),
                    pass,
                    Some(last.place),
                ),
                few => {
                    for note in few {
                        let written = note.written.map_or_else(|| "a note".to_owned(), Pitch::sign);
                        let said = Said {
                            place: note.place,
                            sign: PencilSign::Words,
                            text: "left out".to_owned(),
                            reason: format!("Bar {label}: {written} was not heard"),
                        };
                        gathered.add(said, Some(note.event), pass, None);
                    }
                }
            }
        }
    }

    fn wrong_or_extra(&self, gathered: &mut Gathered, pass: u32, notes: &[&HeardNote]) {
        for note in notes.iter().filter(|note| note.sure >= SURE && !note.again) {
            let Some(heard) = note.heard else { continue };
            let label = self.label(note.place.bar);
            let name = spoken(heard, note.written, self.signs_letter(note.place, heard));
            let said = match (note.was, note.written) {
                (Was::Wrong, Some(written)) => Said {
                    place: note.place,
                    sign: PencilSign::Circle,
                    text: name.clone(),
                    reason: format!(
                        "Bar {label}: {} is written, {} was heard{}",
                        written.sign(),
                        heard.sign(),
                        self.learned(note)
                    ),
                },
                (Was::Extra, _) => Said {
                    place: note.place,
                    sign: PencilSign::Words,
                    text: format!("+ {name}"),
                    reason: format!("Bar {label}: {} was heard beside what is written", heard.sign()),
                },
                _ => continue,
            };
            let element = (note.was == Was::Wrong).then_some(note.event);
            gathered.add(said, element, pass, None);
        }
    }

    /// Whether the signature in force has a letter with a sign.
    fn signs_letter(&self, place: Place, heard: Pitch) -> bool {
        let part = self.to_play.opened.piece.parts.first();
        let key = part.and_then(|part| part.key_at(1, place));
        key.is_some_and(|key| !key.alter_of(heard.step).is_zero())
    }

    /// `; the same each time: learned, not slipped`
    fn learned(&self, note: &HeardNote) -> &'static str {
        let same =
            |known: &&take::heard::Learned| known.place == note.place && Some(known.heard) == note.heard;
        if self.heard.learned.iter().any(|known| same(&known)) {
            "; the same each time: learned, not slipped"
        } else {
            ""
        }
    }

    fn time(&self, gathered: &mut Gathered) {
        for ((bar, pass), notes) in self.by_bar() {
            let off: Vec<&HeardNote> = notes
                .into_iter()
                .filter(|note| note.out_of_time() && note.sure >= SURE)
                .collect();
            let word = |note: &HeardNote| {
                if note.late_secs.is_some_and(|late| late > 0.0) {
                    "late"
                } else {
                    "early"
                }
            };
            let label = self.label(bar);
            let several = off.len() >= SEVERAL;
            for note in off.iter().take(if several { 1 } else { SEVERAL }) {
                let all_alike = off.iter().all(|other| word(other) == word(note));
                let (text, reason) = if !several {
                    let by = note.late_secs.unwrap_or_default().abs() * 1000.0;
                    (
                        word(note).to_owned(),
                        format!(
                            "Bar {label}: {by:.0} ms {} against the pulse around it",
                            word(note)
                        ),
                    )
                } else if all_alike {
                    (
                        word(note).to_owned(),
                        format!("Bar {label}: {} notes came {}", off.len(), word(note)),
                    )
                } else {
                    (
                        "uneven".to_owned(),
                        format!("Bar {label}: {} notes came early or late", off.len()),
                    )
                };
                let said = Said {
                    place: note.place,
                    sign: PencilSign::Words,
                    text,
                    reason,
                };
                gathered.add(said, Some(note.event), pass, None);
            }
        }
        for wait in &self.heard.hesitations {
            let said = Said {
                place: wait.place,
                sign: PencilSign::Words,
                text: "waited".to_owned(),
                reason: format!(
                    "Bar {}: {:.1} s longer than the music has it before this note",
                    self.label(wait.place.bar),
                    wait.secs
                ),
            };
            let pass = self.pass_of(wait.before);
            gathered.add(said, None, pass, None);
        }
    }

    fn jumps(&self, gathered: &mut Gathered) {
        for jump in &self.heard.restarts {
            let (from, to) = (self.label(jump.from.bar), self.label(jump.to.bar));
            let reason = match jump.kind {
                JumpKind::Back => format!("Here it broke off in bar {from} and went back to bar {to}"),
                JumpKind::On => {
                    format!("From bar {from} it went on with bar {to}: what lies between was left out")
                }
                JumpKind::Page => {
                    format!("From bar {from} it went to bar {to}, not as the repeats are written")
                }
            };
            let said = Said {
                place: jump.from,
                sign: PencilSign::JumpArrow,
                text: to,
                reason,
            };
            gathered.add(said, None, 1, None);
        }
        for (bar, word) in self.ends() {
            let said = Said {
                place: Place {
                    bar,
                    ..Place::default()
                },
                sign: PencilSign::Words,
                text: format!("{word} here"),
                reason: format!("The take {word} in bar {}", self.label(bar)),
            };
            gathered.add(said, None, 1, None);
        }
    }

    /// Where the take begins and ends, if that is not where the music does.
    fn ends(&self) -> Vec<(BarIndex, &'static str)> {
        let bars = &self.heard.bars;
        let sounds = |bar: &&take::heard::HeardBar| bar.expected > 0;
        let reached = |bar: &&take::heard::HeardBar| bar.reached != Reached::Not;
        let mut ends = Vec::new();
        let edge = |first: Option<&take::heard::HeardBar>, heard: Option<&take::heard::HeardBar>| match (
            first, heard,
        ) {
            (Some(first), Some(heard)) if !std::ptr::eq(first, heard) => Some(heard.bar),
            _ => None,
        };
        ends.extend(edge(bars.iter().find(sounds), bars.iter().find(reached)).map(|bar| (bar, "begins")));
        ends.extend(
            edge(bars.iter().rev().find(sounds), bars.iter().rev().find(reached)).map(|bar| (bar, "ends")),
        );
        ends
    }

    fn loudness(&self, gathered: &mut Gathered) {
        for change in self
            .heard
            .dynamics
            .iter()
            .filter(|change| change.followed == Followed::No)
        {
            let word = if change.asked_db > 0.0 {
                "louder!"
            } else {
                "softer!"
            };
            let said = Said {
                place: change.place,
                sign: PencilSign::Words,
                text: word.to_owned(),
                reason: format!(
                    "Bar {}: the loudness changes here on the page, and hardly in the take",
                    self.label(change.place.bar)
                ),
            };
            gathered.add(said, None, 1, None);
        }
    }

    /// Notes that matter: at the first of each, which way and how far.
    fn tuning(&self) -> Vec<PencilMark> {
        let off = self.heard.intonation.iter().filter(|note| note.matters);
        off.filter_map(|off| {
            let first = self
                .heard
                .notes
                .iter()
                .filter(|note| note.was == Was::Right && note.written == Some(off.written))
                .min_by_key(|note| note.place)?;
            let word = if off.cents > 0.0 { "sharp" } else { "flat" };
            let mut mark = PencilMark::new(
                PencilSign::Words,
                Anchor {
                    place: first.place,
                    element: Some(first.event),
                },
                format!(
                    "{} lies {:.0} cents {word}, heard {} times in this take.",
                    off.written.sign(),
                    off.cents.abs(),
                    off.count
                ),
            );
            mark.text = format!("{word} {:.0}", off.cents.abs());
            Some(mark)
        })
        .collect()
    }

    fn worth_working_on(&self) -> Vec<PencilMark> {
        let named = self
            .heard
            .work
            .iter()
            .zip(1..)
            .filter_map(|(work, number)| Some((work, work.bars?, number)));
        named
            .map(|(work, (from, to), number): (_, _, usize)| {
                let at = |bar: BarIndex| Anchor {
                    place: Place {
                        bar,
                        ..Place::default()
                    },
                    element: None,
                };
                let reason = format!("Worth working on, {number}: {}. {}.", work.why, work.how);
                let mut mark = PencilMark::new(PencilSign::SpotBracket, at(from), reason);
                mark.to = Some(at(to));
                mark
            })
            .collect()
    }

    /// The notes of each bar as played, bars by their place and time through.
    fn by_bar(&self) -> BTreeMap<(BarIndex, u32), Vec<&HeardNote>> {
        let mut bars: BTreeMap<(BarIndex, u32), Vec<&HeardNote>> = BTreeMap::new();
        for note in &self.heard.notes {
            let pass = self.pass_of(note.expected);
            bars.entry((note.place.bar, pass)).or_default().push(note);
        }
        bars
    }

    fn pass_of(&self, expected: usize) -> u32 {
        let slot = self.to_play.line.get(expected).map(|note| note.slot);
        slot.and_then(|slot| self.heard.bars.get(slot))
            .map_or(1, |bar| bar.pass)
    }

    /// `, the second time`: only where a bar is played more than once.
    fn which_time(&self, bar: BarIndex, passes: &BTreeSet<u32>) -> String {
        let times = self
            .heard
            .bars
            .iter()
            .filter(|one| one.bar == bar && one.reached != Reached::Not)
            .count();
        match (times, passes.len()) {
            (0 | 1, _) => String::new(),
            (_, one) if one > 1 => ", each time".to_owned(),
            _ => {
                let first = passes.first().copied().unwrap_or(1);
                let word = ["first", "second", "third", "fourth"];
                let index = usize::try_from(first.saturating_sub(1)).unwrap_or(0);
                word.get(index)
                    .map_or_else(|| format!(", time {first}"), |word| format!(", the {word} time"))
            }
        }
    }
}

/// What was heard, as one writes it beside what is written: a natural only where the signature or the written note has the letter
/// with another sign, the direction only where the name alone would be the same.
fn spoken(heard: Pitch, written: Option<Pitch>, signed: bool) -> String {
    let name = heard.class_sign();
    let beside = written.filter(|written| written.step == heard.step);
    match beside {
        Some(written) if written.alter == heard.alter => {
            let way = if heard.semitones() > written.semitones() {
                "above"
            } else {
                "below"
            };
            format!("{name} {way}")
        }
        _ if heard.alter.is_zero() && (signed || beside.is_some()) => format!("{name}♮"),
        _ => name,
    }
}

#[cfg(test)]
mod tests {
    use super::spoken;
    use notation::Pitch;

    #[test]
    fn what_was_heard_is_named_as_a_teacher_writes_it() {
        let say =
            |heard: &str, written: &str| spoken(Pitch::parse(heard).unwrap(), Pitch::parse(written), false);
        assert_eq!(say("F4", "F#4"), "F♮");
        assert_eq!(say("F#4", "F4"), "F♯");
        assert_eq!(say("G4", "F#4"), "G");
        assert_eq!(say("F5", "F4"), "F above");
        assert_eq!(say("Bb3", "Bb4"), "B♭ below");
        assert_eq!(
            spoken(Pitch::parse("F5").unwrap(), Pitch::parse("E5"), true),
            "F♮"
        );
    }
}
